//! The screens of the demo bar without a terminal: keys in, cells out.

#![allow(dead_code, clippy::unwrap_used)]

use crate::demo;
use ratatui::buffer::Buffer;
use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use ratatui::{Terminal, backend::TestBackend};
use std::path::Path;
use tantalus::app::{App, Stage};

/// Waits for what is done aside.
pub(crate) fn settle(app: &mut App) {
    while app.is_working() || app.is_copying() {
        std::thread::sleep(std::time::Duration::from_millis(5));
        app.idle(demo::now());
    }
}

/// Types keys, one after the other, what each does aside waited for: `↵` is Enter, `⌃` Ctrl-P, `‹NAME›` pastes the path of a
/// file of the tests.
pub(crate) fn press(app: &mut App, keys: &str) {
    let mut keys = keys.chars();
    while let Some(key) = keys.next() {
        if key == '‹' {
            let name: String = keys.by_ref().take_while(|key| *key != '›').collect();
            let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests").join(name);
            app.paste(path.to_str().unwrap(), demo::now());
            continue;
        }
        // What is agreed to only once it was seen, is drawn first.
        if key == '◉' {
            painted(app, 80, 24);
            continue;
        }
        let event = match key {
            '↵' => KeyEvent::new(KeyCode::Enter, KeyModifiers::NONE),
            '⌃' => KeyEvent::new(KeyCode::Char('p'), KeyModifiers::CONTROL),
            key => KeyEvent::new(KeyCode::Char(key), KeyModifiers::NONE),
        };
        app.key(event, demo::now());
        app.idle(demo::now());
        settle(app);
    }
}

/// What is painted in a window of a size.
pub(crate) fn painted(app: &mut impl Stage, width: u16, height: u16) -> Buffer {
    let mut terminal = Terminal::new(TestBackend::new(width, height)).unwrap();
    // Twice: a window learns from the first drawing how many rows it has.
    for _ in 0..2 {
        terminal.draw(|frame| app.draw(frame, demo::now())).unwrap();
    }
    terminal.backend().buffer().clone()
}
