//! The look around with which the invented bar greets: on by Enter, out by any key, which then does what it always does.

#![allow(clippy::unwrap_used)]

#[path = "support/demo.rs"]
mod demo;
#[path = "support/typing.rs"]
mod typing;

use std::path::Path;
use tantalus::app::{App, Options};
use tantalus::store::Store;
use tantalus::tui::keymap::Scope;
use typing::{drawn, press};

fn touring(book: &Path) -> App {
    let options = Options { tour: true, ..Options::default() };
    App::new(Store::open(book).unwrap(), options, demo::now()).unwrap()
}

#[test]
fn from_stop_to_stop_and_out_at_any_key() {
    let folder = tempfile::tempdir().unwrap();
    let book = demo::book(folder.path());
    let now = demo::now();
    let mut app = touring(&book);
    let stops = [
        "The Ninth Lantern",
        "Choose what to walk",
        "used against what was sold",
        "Behind each line",
        "suggested",
        "worth",
        "punch bowl",
        "Lost?",
    ];
    for (n, shows) in stops.iter().enumerate() {
        let shown = drawn(&mut app, now);
        assert!(shown.contains(shows) && shown.contains(&format!("{} of {}", n + 1, stops.len())), "{shown}");
        assert_eq!(app.scope(), Scope::Tour);
        press(&mut app, "\n", now);
    }
    assert_eq!(app.scope(), Scope::Tonight, "after the last stop it is over");
    // Back, and out by Esc.
    let mut app = touring(&book);
    press(&mut app, "\n\n\u{8}", now);
    assert!(drawn(&mut app, now).contains("2 of 8"));
    press(&mut app, "\u{1b}", now);
    assert_eq!(app.scope(), Scope::CountStart);
    // Any other key does what it says.
    let mut app = touring(&book);
    press(&mut app, "S", now);
    assert_eq!(app.scope(), Scope::Stock);
    // Nothing was written by looking around.
    assert_eq!(tantalus::desk::history::view(&Store::open(&book).unwrap(), None, 50).unwrap().acts.len(), 2);
}
