//! Two people at two terminals on one book: each sees the other, and neither writes over the other unasked.
#![allow(clippy::unwrap_used)]

#[path = "support/demo.rs"]
mod demo;
#[path = "support/typing.rs"]
mod typing;

use std::path::Path;
use tantalus::app::App;
use tantalus::domain::venue::Moment;
use tantalus::store::{Store, counts};
use typing::{app_of, drawn, press};

/// Both terminals in the one count that is open.
fn two(book: &Path, now: Moment) -> (App, App) {
    let mut one = app_of(book, Some("OM"), now);
    press(&mut one, "C", now);
    let begun = press(&mut one, "\n", now);
    assert!(begun.contains("of") && begun.contains("lines"), "{begun}");
    let mut two = app_of(book, Some("IP"), now);
    press(&mut two, "C", now);
    press(&mut two, "\n", now);
    one.idle(now);
    (one, two)
}

#[test]
fn each_sees_the_other_and_what_they_enter() {
    let home = tempfile::tempdir().unwrap();
    let book = demo::book(home.path());
    let now = demo::now();
    let (mut one, mut two) = two(&book, now);
    let (first, second) = (drawn(&mut one, now), drawn(&mut two, now));
    assert!(first.contains("also here: IP at") && second.contains("also here: OM at"), "{first}\n{second}");
    // A line of the one is on the sheet of the other at its next look.
    let before = one.sheet().unwrap().progress().done;
    press(&mut two, "e1.4\n", now);
    assert!(one.idle(now), "there is something new to draw");
    assert_eq!(one.sheet().unwrap().progress().done, before + 1);
    // Who leaves is seen to have left.
    drop(two);
    one.idle(now);
    assert!(!drawn(&mut one, now).contains("also here"));
}

#[test]
fn the_same_line_entered_twice_shows_both_and_asks() {
    let home = tempfile::tempdir().unwrap();
    let book = demo::book(home.path());
    let now = demo::now();
    let (mut one, mut two) = two(&book, now);
    let line = two.sheet().unwrap().lines[0].clone();
    let item = two.sheet().unwrap().setup.item_name(line.item).to_owned();
    let in_book = || {
        let store = Store::open(&book).unwrap();
        store
            .read(|conn| {
                let open = counts::open_count(conn)?.unwrap();
                Ok::<_, tantalus::store::StoreError>(
                    counts::row_of(conn, open.id, line.place, line.item)?.unwrap().line,
                )
            })
            .unwrap()
    };
    // Both type before either has looked at the other.
    let typed = |app: &mut App, keys: &str| {
        use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
        for key in keys.chars() {
            let code = if key == '\n' { KeyCode::Enter } else { KeyCode::Char(key) };
            app.key(KeyEvent::new(code, KeyModifiers::NONE), now);
        }
        drawn(app, now)
    };
    typed(&mut one, "ge1.4\n");
    let asked = typed(&mut two, "ge1.7\n");
    let words = asked.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("Which stands?") && asked.contains(&item), "{asked}");
    assert!(words.contains("OM entered 1.4") && words.contains("you 1.7"), "{asked}");
    assert_eq!(in_book().entry.to_string(), "1.4", "nothing is written over unasked");
    // Theirs stays.
    press(&mut two, "\u{1b}", now);
    assert_eq!(in_book().entry.to_string(), "1.4");
    assert_eq!(two.sheet().unwrap().lines[0].entered.as_ref().unwrap().entry.to_string(), "1.4");
    // And once more, where ours does.
    one.idle(now);
    typed(&mut one, "ge1.2\n");
    typed(&mut two, "ge1.9\n");
    press(&mut two, "\n", now);
    let kept = in_book();
    assert_eq!((kept.entry.to_string(), kept.by.as_deref()), ("1.9".to_owned(), Some("IP")));
    one.idle(now);
    assert_eq!(one.sheet().unwrap().lines[0].entered.as_ref().unwrap().entry.to_string(), "1.9");
}
