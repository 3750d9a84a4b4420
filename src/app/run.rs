//! The event loop.

use super::{App, Options};
use crate::clock;
use crate::desk::DeskError;
use crate::desk::book::Store;
use crate::system;
use crate::tui::term::Term;
use ratatui::crossterm::event::{self, Event};
use std::io;
use std::time::Duration;

/// How long another event of the same burst is looked for. Not zero: the reader of the terminal then does not look.
const AT_ONCE: Duration = Duration::from_micros(100);

/// Runs the screens on a book until the person leaves or the terminal goes away.
///
/// # Errors
/// [`DeskError`] when the book cannot be read or there is no terminal to draw on.
pub fn run(store: Store, options: Options) -> Result<(), DeskError> {
    let mut app = App::new(store, options, clock::now())?;
    let mut term = Term::enter().map_err(no_terminal)?;
    let done = turn(&mut app, &mut term);
    drop(term);
    app.end_copies();
    done.map_err(no_terminal)
}

fn no_terminal(source: io::Error) -> DeskError {
    DeskError::Refused(format!(
        "the screens need a terminal: {}; the commands work without one (`tantalus help`)",
        system::words(&source)
    ))
}

fn turn(app: &mut App, term: &mut Term) -> io::Result<()> {
    let mut changed = true;
    loop {
        if changed {
            let now = clock::now();
            term.draw(|frame| app.draw(frame, now))?;
        }
        if term.stop_requested() {
            return Ok(());
        }
        changed = if event::poll(app.patience())? {
            // Every waiting event first, then one drawing: a burst of keys costs one frame.
            loop {
                take(app, event::read()?);
                if !event::poll(AT_ONCE)? {
                    break;
                }
            }
            true
        } else {
            app.idle(clock::now())
        };
        let wants = app.wants();
        if wants.quit {
            return Ok(());
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

fn take(app: &mut App, event: Event) {
    match event {
        Event::Key(key) => app.key(key, clock::now()),
        Event::Paste(text) => app.paste(&text, clock::now()),
        // A new size or a focus needs only another drawing.
        _ => {}
    }
}
