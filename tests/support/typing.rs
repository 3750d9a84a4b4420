//! The application without a terminal: keys in, what is painted out.

#![allow(dead_code, clippy::unwrap_used)]

use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use ratatui::{Terminal, backend::TestBackend};
use std::path::Path;
use tantalus::app::{App, Options, Stage};
use tantalus::domain::venue::Moment;
use tantalus::store::Store;
use tantalus::tui::theme::Look;

const WIDE: u16 = 120;
const HIGH: u16 = 40;

/// The screens on a book.
pub(crate) fn app_of(book: &Path, by: Option<&str>, now: Moment) -> App {
    let options = Options { look: Look::Plain, by: by.map(str::to_owned), ..Options::default() };
    App::new(Store::open(book).unwrap(), options, now).unwrap()
}

/// Types keys, each followed by a pause, and gives what is painted then; a line break is Enter, a control character the
/// letter with Ctrl.
pub(crate) fn press(app: &mut impl Stage, keys: &str, now: Moment) -> String {
    type_in(app, keys, now);
    drawn(app, now)
}

/// As [`press`], without painting.
pub(crate) fn type_in(app: &mut impl Stage, keys: &str, now: Moment) {
    for key in keys.chars() {
        let (code, with) = match key {
            '\n' => (KeyCode::Enter, KeyModifiers::NONE),
            '\t' => (KeyCode::Tab, KeyModifiers::NONE),
            '\u{1b}' => (KeyCode::Esc, KeyModifiers::NONE),
            '\u{8}' => (KeyCode::Backspace, KeyModifiers::NONE),
            '\u{1}'..='\u{1a}' => (KeyCode::Char(char::from(b'`' + key as u8)), KeyModifiers::CONTROL),
            key => (KeyCode::Char(key), KeyModifiers::NONE),
        };
        app.key(KeyEvent::new(code, with), now);
        app.idle(now);
    }
}

/// What is painted.
pub(crate) fn drawn(app: &mut impl Stage, now: Moment) -> String {
    let mut terminal = Terminal::new(TestBackend::new(WIDE, HIGH)).unwrap();
    for _ in 0..2 {
        terminal.draw(|frame| app.draw(frame, now)).unwrap();
    }
    let buffer = terminal.backend().buffer().clone();
    let row = |y| (0..WIDE).map(|x| buffer[(x, y)].symbol()).collect::<String>().trim_end().to_owned();
    (0..HIGH).map(row).collect::<Vec<_>>().join("\n")
}
