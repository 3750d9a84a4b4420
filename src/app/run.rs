//! The event loop.

use super::{App, Options, Wants};
use crate::clock;
use crate::desk::DeskError;
use crate::desk::book::Store;
use crate::domain::venue::Moment;
use crate::system;
use crate::tui::term::Term;
use crate::words::Speech;
use ratatui::Frame;
use ratatui::crossterm::event::{self, Event, KeyEvent, MouseEvent};
use std::io;
use std::time::Duration;

/// How long another event of the same burst is looked for. Not zero: the reader of the terminal then does not look.
const AT_ONCE: Duration = Duration::from_micros(100);

/// What the loop drives: keys in, frames out.
pub trait Stage {
    /// A key was pressed.
    fn key(&mut self, event: KeyEvent, now: Moment);
    /// The mouse did something.
    fn mouse(&mut self, event: MouseEvent, now: Moment);
    /// Text came in one piece.
    fn paste(&mut self, pasted: &str, now: Moment);
    /// How long the loop may wait for a key before [`Stage::idle`] is due.
    fn patience(&self) -> Duration;
    /// No key came for so long; says whether there is anything new to draw.
    fn idle(&mut self, now: Moment) -> bool;
    /// What the loop must do.
    fn wants(&mut self) -> Wants;
    /// Draws everything.
    fn draw(&mut self, frame: &mut Frame, now: Moment);
}

/// Runs the screens on a book until the person leaves or the terminal goes away.
///
/// # Errors
/// [`DeskError`] when the book cannot be read or there is no terminal to draw on.
pub fn run(store: Store, options: Options) -> Result<(), DeskError> {
    let mouse = options.mouse;
    let mut app = App::new(store, options, clock::now())?;
    let done = on_terminal(&mut app, mouse);
    app.end_copies();
    Speech::PLAIN.speak();
    done.map_err(no_terminal)
}

/// Takes the terminal over for as long as it takes.
pub(super) fn on_terminal(stage: &mut impl Stage, mouse: bool) -> io::Result<()> {
    let mut term = Term::enter(mouse)?;
    turn(stage, &mut term)
}

/// Says that the screens need a terminal.
pub(super) fn no_terminal(source: io::Error) -> DeskError {
    DeskError::Refused(say!(
        "the screens need a terminal: {source}; the commands work without one (`tantalus help`)",
        source = system::words(&source)
    ))
}

fn turn(stage: &mut impl Stage, term: &mut Term) -> io::Result<()> {
    let mut changed = true;
    loop {
        if changed {
            let now = clock::now();
            term.draw(|frame| stage.draw(frame, now))?;
        }
        if term.stop_requested() {
            return Ok(());
        }
        changed = if event::poll(stage.patience())? {
            // Every waiting event first, then one drawing: a burst of keys costs one frame.
            loop {
                take(stage, event::read()?);
                if !event::poll(AT_ONCE)? {
                    break;
                }
            }
            true
        } else {
            stage.idle(clock::now())
        };
        let wants = stage.wants();
        if wants.quit {
            return Ok(());
        }
        if let Some(mouse) = wants.mouse {
            term.take_mouse(mouse)?;
        }
        if wants.suspend {
            term.suspend()?;
            changed = true;
        }
        if wants.redraw {
            term.forget()?;
            changed = true;
        }
    }
}

fn take(stage: &mut impl Stage, event: Event) {
    match event {
        Event::Key(key) => stage.key(key, clock::now()),
        Event::Paste(text) => stage.paste(&text, clock::now()),
        Event::Mouse(event) => stage.mouse(event, clock::now()),
        // A new size or a focus needs only another drawing.
        _ => {}
    }
}

impl Stage for App {
    fn key(&mut self, event: KeyEvent, now: Moment) {
        App::key(self, event, now);
    }

    fn mouse(&mut self, event: MouseEvent, now: Moment) {
        App::mouse(self, event, now);
    }

    fn paste(&mut self, pasted: &str, now: Moment) {
        App::paste(self, pasted, now);
    }

    fn patience(&self) -> Duration {
        App::patience(self)
    }

    fn idle(&mut self, now: Moment) -> bool {
        App::idle(self, now)
    }

    fn wants(&mut self) -> Wants {
        App::wants(self)
    }

    fn draw(&mut self, frame: &mut Frame, now: Moment) {
        App::draw(self, frame, now);
    }
}
