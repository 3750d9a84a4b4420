//! The terminal: taking it over, drawing on it, giving it back whatever happens.

use ratatui::backend::CrosstermBackend;
use ratatui::crossterm::{
    cursor, event, execute, queue,
    terminal::{self, Clear, ClearType, EnterAlternateScreen, LeaveAlternateScreen},
};
use ratatui::layout::{Position, Rect, Size};
use ratatui::{Frame, Terminal, TerminalOptions, Viewport};
use signal_hook::consts::{SIGHUP, SIGINT, SIGSTOP, SIGTERM};
use signal_hook::iterator::Signals;
use std::cell::RefCell;
use std::io::{self, IsTerminal, Write};
use std::rc::Rc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Once};
use std::time::Duration;

/// Whether the terminal is ours now. Static, because the panic hook has nothing else to ask.
static TAKEN: AtomicBool = AtomicBool::new(false);

/// Mode 2026: the terminal shows what comes between the two marks at once. Terminals without it pass them over.
const BEGIN_FRAME: &[u8] = b"\x1b[?2026h";
const END_FRAME: &[u8] = b"\x1b[?2026l";

/// Clicks, wheel and moves with a button down, by cells beyond the 223rd too (modes 1000, 1002 and 1006 of xterm). Not every
/// move: over a slow line they would go before the keys.
const MOUSE_ON: &[u8] = b"\x1b[?1000h\x1b[?1002h\x1b[?1006h";
const MOUSE_OFF: &[u8] = b"\x1b[?1006l\x1b[?1002l\x1b[?1000l";

/// Keys that cannot be mistaken for each other, Esc above all (the first flag of the kitty keyboard protocol), put on top of
/// what the shell has set, and taken off again. Terminals without it pass them over, so that nobody needs to be asked.
const CLEAR_KEYS: &[u8] = b"\x1b[>1u";
const USUAL_KEYS: &[u8] = b"\x1b[<u";

/// How long the program may take to end by itself once it was told to.
const GRACE: Duration = Duration::from_secs(1);

/// Windows that say they are 0 cells wide (some serial lines and test harnesses) are taken for the classic size.
const CLASSIC: Size = Size { width: 80, height: 24 };

/// The terminal while it is ours. Dropping it gives the terminal back.
pub struct Term {
    inner: Terminal<CrosstermBackend<FrameWriter<io::Stdout>>>,
    frames: FrameWriter<io::Stdout>,
    size: Size,
    stop: Arc<AtomicBool>,
    mouse: bool,
}

impl Term {
    /// Takes the terminal over: raw mode, alternate screen, bracketed paste, no cursor, clear keys where the terminal has them,
    /// and the mouse if `mouse`. Asks the terminal nothing, since
    /// an answer may take seconds over a slow line. Also sees to it that a panic gives the terminal back before its
    /// message is printed, and that SIGTERM, SIGHUP and SIGINT are noticed by [`Term::stop_requested`].
    ///
    /// # Errors
    /// Standard output is no terminal, or a signal handler cannot be set; the terminal is then as it was.
    pub fn enter(mouse: bool) -> io::Result<Term> {
        if !io::stdout().is_terminal() {
            return Err(io::Error::new(io::ErrorKind::Unsupported, word!("standard output is no terminal")));
        }
        let stop = Arc::new(AtomicBool::new(false));
        for signal in [SIGTERM, SIGHUP, SIGINT] {
            signal_hook::flag::register(signal, Arc::clone(&stop))?;
        }
        end_if_deaf()?;
        restore_on_panic();
        let size = window();
        let frames = FrameWriter::new(io::stdout());
        let viewport = Viewport::Fixed(Rect::from((Position::ORIGIN, size)));
        let inner = Terminal::with_options(CrosstermBackend::new(frames.clone()), TerminalOptions { viewport })?;
        take(mouse)?;
        Ok(Term { inner, frames, size, stop, mouse })
    }

    /// Draws one frame. What changed since the last one goes out in a single write; nothing goes out if nothing changed.
    /// A window of another size than before is noticed here, so resize events need no handling but a new draw.
    ///
    /// # Errors
    /// The terminal cannot be written to.
    pub fn draw(&mut self, paint: impl FnOnce(&mut Frame)) -> io::Result<()> {
        if !TAKEN.load(Ordering::SeqCst) {
            // Another thread panicked and gave the terminal back; its message stays on the shell's own screen.
            self.retake()?;
        } else if window() != self.size {
            self.forget()?;
        }
        self.inner.draw(paint)?;
        self.frames.send()
    }

    /// Forgets what is on the screen, so that the next draw paints every cell: after Ctrl-L.
    ///
    /// # Errors
    /// The terminal cannot be written to.
    pub fn forget(&mut self) -> io::Result<()> {
        self.size = window();
        self.frames.forget();
        // Not `Terminal::clear`: that one asks the terminal where its cursor is and waits for the answer.
        self.inner.resize(Rect::from((Position::ORIGIN, self.size)))
    }

    /// Gives the terminal back and stops the process until it is told to go on, then takes the terminal over again; the
    /// next draw paints every cell. SIGSTOP and not SIGTSTP: the latter is dropped where no shell minds the job.
    ///
    /// # Errors
    /// The terminal cannot be taken again.
    pub fn suspend(&mut self) -> io::Result<()> {
        leave();
        signal_hook::low_level::raise(SIGSTOP)?;
        self.retake()
    }

    /// Whether a signal asked the program to end.
    pub fn stop_requested(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }

    /// The window's size as of the last draw.
    pub fn size(&self) -> Size {
        self.size
    }

    fn retake(&mut self) -> io::Result<()> {
        take(self.mouse)?;
        self.forget()
    }

    /// Takes the mouse, or leaves it to the terminal, which then marks text with it.
    ///
    /// # Errors
    /// The terminal cannot be written to.
    pub fn take_mouse(&mut self, mouse: bool) -> io::Result<()> {
        if std::mem::replace(&mut self.mouse, mouse) == mouse {
            return Ok(());
        }
        let mut out = io::stdout();
        out.write_all(if mouse { MOUSE_ON } else { MOUSE_OFF })?;
        out.flush()
    }
}

impl Drop for Term {
    fn drop(&mut self) {
        leave();
    }
}

fn window() -> Size {
    match terminal::size() {
        Ok((width, height)) if width > 0 && height > 0 => Size { width, height },
        _ => CLASSIC,
    }
}

fn take(mouse: bool) -> io::Result<()> {
    terminal::enable_raw_mode()?;
    TAKEN.store(true, Ordering::SeqCst);
    let begun = begin(&mut io::stdout(), mouse);
    if begun.is_err() {
        leave();
    }
    begun
}

/// Gives the terminal back: cursor, paste, screen, line mode. The one way out, for a normal end, a panic, a suspend and
/// a signal; doing it again does nothing. It reports no error, since there is nobody left to act on one.
pub fn leave() {
    if TAKEN.swap(false, Ordering::SeqCst) {
        let _ = end(&mut io::stdout());
        let _ = terminal::disable_raw_mode();
    }
}

fn begin(out: &mut impl Write, mouse: bool) -> io::Result<()> {
    execute!(out, EnterAlternateScreen, event::EnableBracketedPaste, cursor::Hide, Clear(ClearType::All))?;
    // What the keys are is kept apart for each of a terminal's two screens.
    out.write_all(CLEAR_KEYS)?;
    if mouse {
        out.write_all(MOUSE_ON)?;
    }
    out.flush()
}

fn end(out: &mut impl Write) -> io::Result<()> {
    out.write_all(END_FRAME)?;
    out.write_all(MOUSE_OFF)?;
    out.write_all(USUAL_KEYS)?;
    queue!(out, event::DisableBracketedPaste, LeaveAlternateScreen, cursor::Show)?;
    out.flush()
}

/// Waiting for keys does not come back from a terminal that is gone: crossterm reads its end of file over and over. So
/// when the line is hung up or the program is told to end, and it has not ended a little later by itself, it is ended
/// from here. Nothing is lost by that: what was accepted is in the book already.
fn end_if_deaf() -> io::Result<()> {
    static WATCHED: Once = Once::new();
    let mut done = Ok(());
    WATCHED.call_once(|| {
        done = Signals::new([SIGHUP, SIGTERM]).map(|mut signals| {
            std::thread::spawn(move || {
                if let Some(signal) = signals.forever().next() {
                    std::thread::sleep(GRACE);
                    leave();
                    std::process::exit(128 + signal);
                }
            });
        });
    });
    done
}

fn restore_on_panic() {
    static HOOKED: Once = Once::new();
    HOOKED.call_once(|| {
        let previous = std::panic::take_hook();
        std::panic::set_hook(Box::new(move |panic| {
            leave();
            previous(panic);
        }));
    });
}

/// Gathers one frame and writes it at once between the marks of a synchronized update.
///
/// The backend flushes many times a frame (after a clear, after each cursor command); only [`FrameWriter::send`] really
/// writes. The marks are added then, so that a panic half-way through a frame cannot leave the terminal frozen. Clones
/// share one frame.
struct FrameWriter<W: Write>(Rc<RefCell<Frames<W>>>);

struct Frames<W: Write> {
    out: W,
    frame: Vec<u8>,
    sent: Vec<u8>,
}

impl<W: Write> Clone for FrameWriter<W> {
    fn clone(&self) -> Self {
        FrameWriter(Rc::clone(&self.0))
    }
}

impl<W: Write> FrameWriter<W> {
    fn new(out: W) -> Self {
        let frame = BEGIN_FRAME.to_vec();
        FrameWriter(Rc::new(RefCell::new(Frames { out, frame, sent: Vec::new() })))
    }

    /// Writes the gathered frame. One that equals the frame sent before it is left out: a frame moves, styles and prints
    /// from a known state, so sending it twice shows what sending it once does. That is what an idle draw comes to.
    fn send(&self) -> io::Result<()> {
        let frames = &mut *self.0.borrow_mut();
        if frames.frame.len() > BEGIN_FRAME.len() && frames.frame != frames.sent {
            frames.frame.extend_from_slice(END_FRAME);
            let written = frames.out.write_all(&frames.frame).and_then(|()| frames.out.flush());
            frames.frame.truncate(frames.frame.len() - END_FRAME.len());
            std::mem::swap(&mut frames.frame, &mut frames.sent);
            written.inspect_err(|_| frames.sent.clear())?;
        }
        frames.frame.clear();
        frames.frame.extend_from_slice(BEGIN_FRAME);
        Ok(())
    }

    /// Makes the next frame go out whatever it is.
    fn forget(&self) {
        self.0.borrow_mut().sent.clear();
    }
}

impl<W: Write> Write for FrameWriter<W> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.borrow_mut().frame.extend_from_slice(bytes);
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use ratatui::text::Line;

    /// Remembers each write apart, as the terminal's end of the line would see them.
    #[derive(Clone, Default)]
    struct Wire(Rc<RefCell<Vec<Vec<u8>>>>);

    impl Write for Wire {
        fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
            self.0.borrow_mut().push(bytes.to_vec());
            Ok(bytes.len())
        }

        fn flush(&mut self) -> io::Result<()> {
            Ok(())
        }
    }

    #[test]
    fn a_frame_is_one_write_between_marks() {
        let wire = Wire::default();
        let mut frames = FrameWriter::new(wire.clone());
        frames.send().unwrap();
        assert!(wire.0.borrow().is_empty(), "an empty frame is not sent");
        for part in ["a", "b", "c"] {
            frames.write_all(part.as_bytes()).unwrap();
            frames.flush().unwrap();
        }
        frames.send().unwrap();
        assert_eq!(*wire.0.borrow(), [b"\x1b[?2026habc\x1b[?2026l".to_vec()]);
        frames.write_all(b"abc").unwrap();
        frames.send().unwrap();
        assert_eq!(wire.0.borrow().len(), 1, "the same frame again changes nothing");
        frames.forget();
        frames.write_all(b"abc").unwrap();
        frames.send().unwrap();
        assert_eq!(wire.0.borrow().len(), 2);
    }

    #[test]
    fn an_idle_draw_goes_quiet_and_asks_nothing() {
        let wire = Wire::default();
        let frames = FrameWriter::new(wire.clone());
        let viewport = Viewport::Fixed(Rect::new(0, 0, 20, 3));
        let mut term =
            Terminal::with_options(CrosstermBackend::new(frames.clone()), TerminalOptions { viewport }).unwrap();
        for text in ["one", "two", "two", "two", "two"] {
            term.draw(|frame| frame.render_widget(Line::from(text), frame.area())).unwrap();
            frames.send().unwrap();
        }
        let sent = wire.0.borrow();
        assert_eq!(sent.len(), 3, "two changed frames and one that only sets the cursor");
        let all = String::from_utf8(sent.concat()).unwrap();
        for query in ["\x1b[6n", "\x1b[c", "\x1b[?u", "\x1b]10;?", "\x1b]11;?"] {
            assert!(!all.contains(query));
        }
    }

    #[test]
    fn what_is_turned_on_is_turned_off() {
        let (mut on, mut off) = (Vec::new(), Vec::new());
        begin(&mut on, true).unwrap();
        end(&mut off).unwrap();
        let (on, off) = (String::from_utf8(on).unwrap(), String::from_utf8(off).unwrap());
        for mode in ["1049", "2004", "1000", "1002", "1006"] {
            assert!(on.contains(&format!("\x1b[?{mode}h")) && off.contains(&format!("\x1b[?{mode}l")));
        }
        assert!(on.contains("\x1b[>1u") && off.contains("\x1b[<u"));
        assert!(on.contains("\x1b[?25l") && off.contains("\x1b[?25h") && off.starts_with("\x1b[?2026l"));
    }

    #[test]
    fn leaving_what_was_never_entered_does_nothing() {
        leave();
        leave();
        assert!(!TAKEN.load(Ordering::SeqCst));
    }
}
