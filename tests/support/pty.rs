//! A program in a pseudo-terminal: keys in, and what its screen shows.

// Each test binary uses a part of it.
#![allow(dead_code)]

use portable_pty::{CommandBuilder, MasterPty, PtySize, native_pty_system};
use std::io::{Read, Write};
use std::num::NonZeroU16;
use std::path::Path;
use std::process::Command;
use std::sync::mpsc::{Receiver, Sender, channel};
use std::time::{Duration, Instant};

/// Longest wait for a picture, before the test fails.
const PATIENCE: Duration = Duration::from_secs(20);

/// A running program and its terminal.
pub(crate) struct Session {
    /// The other end of the terminal.
    pub(crate) master: Box<dyn MasterPty + Send>,
    /// The program.
    pub(crate) child: Box<dyn portable_pty::Child + Send + Sync>,
    keyboard: Box<dyn Write + Send>,
    output: Receiver<(Instant, Vec<u8>)>,
    /// Every byte that came out.
    pub(crate) raw: Vec<u8>,
    /// What the terminal shows.
    pub(crate) screen: vt100::Parser,
    rows: u16,
    cols: u16,
}

/// The program on a book, at a moment.
pub(crate) fn on_book(book: &Path, now: &str) -> CommandBuilder {
    let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_tantalus"));
    command.args(["--book", book.to_str().expect("a path in UTF-8")]);
    command.env("TERM", "xterm-256color");
    command.env("TANTALUS_NOW", now);
    // What somebody has chosen at the screens of this machine is none of a test's.
    command.env("XDG_CONFIG_HOME", "/nonexistent");
    command
}

/// What is written arrives so much later, in the order in which it was written.
fn slowed(mut keyboard: Box<dyn Write + Send>, one_way: Duration) -> Box<dyn Write + Send> {
    struct Line(Sender<(Instant, Vec<u8>)>, Duration);
    impl Write for Line {
        fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
            let sent = self.0.send((Instant::now() + self.1, bytes.to_vec()));
            sent.map(|()| bytes.len()).map_err(|_| std::io::ErrorKind::BrokenPipe.into())
        }
        fn flush(&mut self) -> std::io::Result<()> {
            Ok(())
        }
    }
    if one_way.is_zero() {
        return keyboard;
    }
    let (send, sent) = channel::<(Instant, Vec<u8>)>();
    std::thread::spawn(move || {
        for (due, bytes) in sent {
            std::thread::sleep(due.saturating_duration_since(Instant::now()));
            if keyboard.write_all(&bytes).and_then(|()| keyboard.flush()).is_err() {
                break;
            }
        }
    });
    Box::new(Line(send, one_way))
}

/// A window of at least this size with nothing in it.
fn blank(rows: u16, cols: u16) -> vt100::Parser {
    let cells = |n| NonZeroU16::new(n).expect("a size");
    vt100::Parser::new(cells(rows.max(40)), cells(cols.max(120)), 0)
}

impl Session {
    /// Starts a program in a window of this size.
    pub(crate) fn start(command: CommandBuilder, cols: u16, rows: u16) -> Session {
        Session::start_over(Duration::ZERO, command, cols, rows)
    }

    /// The same over a line on which each way takes so long.
    pub(crate) fn start_over(one_way: Duration, command: CommandBuilder, cols: u16, rows: u16) -> Session {
        let size = PtySize { rows, cols, pixel_width: 0, pixel_height: 0 };
        let pair = native_pty_system().openpty(size).expect("a pseudo-terminal");
        let child = pair.slave.spawn_command(command).expect("the child");
        let mut reader = pair.master.try_clone_reader().expect("its output");
        let (send, output) = channel();
        std::thread::spawn(move || {
            let mut chunk = [0; 65_536];
            while let Ok(n @ 1..) = reader.read(&mut chunk) {
                if send.send((Instant::now() + one_way, chunk[..n].to_vec())).is_err() {
                    break;
                }
            }
        });
        let keyboard = slowed(pair.master.take_writer().expect("its keyboard"), one_way);
        // At least as large as any window here, so that a new size need not be told to it.
        let screen = blank(rows, cols);
        Session { master: pair.master, child, keyboard, output, raw: Vec::new(), screen, rows, cols }
    }

    /// Kills the program with SIGKILL. The library's own `kill` hangs up first, which the program hears and ends well.
    pub(crate) fn slay(&mut self) {
        let number = self.child.process_id().expect("its number").to_string();
        let killed = std::process::Command::new("kill").args(["-9", &number]).status().expect("`kill` runs");
        let ended = self.child.wait().expect("it ends");
        assert!(killed.success() && !ended.success(), "it was killed: {killed}, {ended:?}");
    }

    /// Types.
    pub(crate) fn press(&mut self, keys: &str) {
        self.keyboard.write_all(keys.as_bytes()).expect("keys go in");
        self.keyboard.flush().expect("keys go in");
    }

    /// The row that the terminal's own cursor stands in, where it is shown: something is being typed there.
    pub(crate) fn typing_row(&self) -> Option<usize> {
        let screen = self.screen.screen();
        (!screen.hide_cursor()).then(|| screen.cursor_position().0.into())
    }

    /// What is on the screen.
    pub(crate) fn shown(&self) -> String {
        self.screen.screen().contents()
    }

    /// Reads on until the screen is as wanted; how long that took. Fails when nothing more comes.
    pub(crate) fn until(&mut self, what: &str, wanted: impl Fn(&vt100::Screen) -> bool) -> Duration {
        let begun = Instant::now();
        while !wanted(self.screen.screen()) {
            match self.output.recv_timeout(PATIENCE.saturating_sub(begun.elapsed())) {
                Ok((due, bytes)) => {
                    std::thread::sleep(due.saturating_duration_since(Instant::now()));
                    self.screen.process(&bytes);
                    self.raw.extend(bytes);
                }
                Err(error) => panic!("{what}: {error}; the screen was\n{}", self.shown()),
            }
        }
        begun.elapsed()
    }

    /// Reads on until a text is on the screen.
    pub(crate) fn until_text(&mut self, text: &str) -> Duration {
        self.until(text, |screen| screen.contents().contains(text))
    }

    /// Types and reads on until a text is on the screen.
    pub(crate) fn press_until(&mut self, keys: &str, text: &str) -> Duration {
        self.press(keys);
        self.until_text(text)
    }

    /// Takes in what has come so far, without waiting for more.
    pub(crate) fn catch_up(&mut self) {
        while let Ok((_, bytes)) = self.output.try_recv() {
            self.screen.process(&bytes);
            self.raw.extend(bytes);
        }
    }

    /// Forgets the frame that was being written when the program was killed: a terminal shows whole ones (mode 2026), and half of
    /// one would set an entry beside the name of another line.
    pub(crate) fn drop_half_frame(&mut self) {
        const END: &[u8] = b"\x1b[?2026l";
        let whole = self.raw.windows(END.len()).rposition(|bytes| bytes == END).map_or(0, |at| at + END.len());
        self.screen = blank(self.rows, self.cols);
        self.screen.process(&self.raw[..whole]);
    }

    /// Takes in everything that comes until the program's side of the terminal is closed, or nothing came for so long.
    pub(crate) fn drain(&mut self, patience: Duration) {
        while let Ok((_, bytes)) = self.output.recv_timeout(patience) {
            self.screen.process(&bytes);
            self.raw.extend(bytes);
        }
    }

    /// Sends a signal by its option of `kill`, such as `-TERM`.
    pub(crate) fn signal(&self, name: &str) {
        let id = self.child.process_id().expect("it runs").to_string();
        assert!(Command::new("kill").args([name, &id]).status().expect("kill").success());
    }

    /// Whether the line discipline is as a shell wants it.
    pub(crate) fn lines_are_cooked(&self) -> bool {
        let termios = self.master.get_termios().expect("line settings");
        let flags = format!("{:?}", termios.local_flags);
        flags.contains("ICANON") && flags.contains("ECHO")
    }

    /// The terminal is as it was before.
    pub(crate) fn is_given_back(&self) {
        let screen = self.screen.screen();
        assert!(!screen.alternate_screen() && !screen.bracketed_paste() && !screen.hide_cursor());
        assert!(self.lines_are_cooked());
    }

    /// Waits for the end and looks whether the terminal was given back; all that came out.
    pub(crate) fn end(mut self) -> Vec<u8> {
        self.child.wait().expect("it ends");
        self.drain(Duration::from_secs(10));
        self.is_given_back();
        self.raw
    }
}
