//! Two people at two terminals on one book: each sees the other, and neither writes over the other unasked.
#![allow(clippy::unwrap_used)]

#[path = "support/demo.rs"]
mod demo;
#[path = "support/typing.rs"]
mod typing;

use std::path::{Path, PathBuf};
use tantalus::app::App;
use tantalus::domain::venue::Moment;
use tantalus::store::{Store, counts};
use typing::{app_of, drawn, press};

/// The demo bar, for as long as its folder is held.
fn bar() -> (tempfile::TempDir, PathBuf, Moment) {
    let home = tempfile::tempdir().unwrap();
    let book = demo::book(home.path());
    (home, book, demo::now())
}

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
    let (_home, book, now) = bar();
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
    let (_home, book, now) = bar();
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

/// What another terminal enters while somebody types is asked about as well, though the screen shows it already.
#[test]
fn a_line_that_another_one_entered_while_it_was_typed_asks_too() {
    let (_home, book, now) = bar();
    let (mut one, mut two) = two(&book, now);
    press(&mut two, "ge2.4", now);
    press(&mut one, "ge1.2\n", now);
    assert!(two.idle(now), "two sees it");
    let asked = press(&mut two, "\n", now);
    let words = asked.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("OM entered 1.2") && words.contains("you 2.4"), "{asked}");
    press(&mut two, "\n", now);
    // Taking back takes one's own back, not what another put there since.
    one.idle(now);
    let refused = press(&mut one, "u", now);
    assert!(refused.contains("IP has entered 2.4 meanwhile, and that stays"), "{refused}");
    assert_eq!(one.sheet().unwrap().lines[0].entered.as_ref().unwrap().entry.to_string(), "2.4");
}

/// Enter that was meant for a line begins no other count.
#[test]
fn a_count_that_is_closed_under_somebodys_fingers_is_told() {
    let (_home, book, now) = bar();
    let (mut one, mut two) = two(&book, now);
    press(&mut one, "ge1.2\n", now);
    two.idle(now);
    press(&mut two, "Ge1.7", now);
    press(&mut one, "x\n", now);
    assert!(two.idle(now));
    let told = drawn(&mut two, now);
    let words = told.replace('│', " ").split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("was closed or given up meanwhile") && words.contains("1.7 for"), "{told}");
    press(&mut two, "\n", now);
    let open = Store::open(&book).unwrap().read(counts::open_count).unwrap();
    assert!(open.is_none(), "{open:?}");
}

#[test]
fn an_order_that_another_one_changed_while_packs_were_typed_asks_too() {
    let (_home, book, now) = bar();
    let (mut one, mut two) = (app_of(&book, Some("OM"), now), app_of(&book, Some("RS"), now));
    press(&mut one, "O", now);
    press(&mut two, "O7", now);
    press(&mut one, "5\n", now);
    assert!(two.idle(now));
    let asked = press(&mut two, "\n", now);
    assert!(asked.contains("was changed at another") && asked.contains("Which stands?"), "{asked}");
    press(&mut two, "\u{1b}", now);
    let store = Store::open(&book).unwrap();
    let drafts = tantalus::desk::ordering::orders(&store, now).unwrap().drafts;
    let first = drafts.iter().find(|draft| draft.order.is_some()).unwrap();
    assert!(first.draft.lines.iter().any(|line| line.packs == 5) && first.draft.lines.iter().all(|l| l.packs != 7));
}

fn sent(book: &Path, now: Moment) -> tantalus::domain::venue::OrderId {
    let store = Store::open(book).unwrap();
    let draft = tantalus::desk::ordering::orders(&store, now).unwrap().drafts.remove(0);
    match tantalus::desk::ordering::send(&store, &draft, now).unwrap() {
        tantalus::domain::rows::DraftKept::Kept(order) => order,
        other => panic!("{other:?}"),
    }
}

fn checks(book: &Path, order: tantalus::domain::venue::OrderId) -> Vec<(i64, i64, Option<String>)> {
    let all = Store::open(book).unwrap().read(|conn| tantalus::store::checks::of(conn, order)).unwrap();
    all.into_iter().map(|check| (check.line, check.came, check.by)).collect()
}

/// What came of a line is in the book once it was said, whoever goes on with it and wherever.
#[test]
fn a_delivery_is_looked_at_by_two_and_nothing_of_it_is_lost() {
    let (_home, book, now) = bar();
    let order = sent(&book, now);
    let (mut one, mut two) = (app_of(&book, Some("OM"), now), app_of(&book, Some("IP"), now));
    press(&mut one, "Ry", now);
    let (om, ip) = (Some("OM".to_owned()), Some("IP".to_owned()));
    let first = checks(&book, order);
    assert_eq!((first.len(), &first[0].2), (1, &om));
    // The other one sees it, and goes on; both see both.
    let shown = press(&mut two, "R", now);
    assert!(shown.contains("1 of") && shown.contains("lines looked at"), "{shown}");
    press(&mut two, "j3\n", now);
    assert_eq!(checks(&book, order)[1], (2, 3, ip.clone()));
    one.idle(now);
    assert!(drawn(&mut one, now).contains("2 of"), "{}", drawn(&mut one, now));
    // The same line, typed by one while the other says something else.
    press(&mut one, "g7", now);
    press(&mut two, "g5\n", now);
    one.idle(now);
    let asked = press(&mut one, "\n", now);
    assert!(asked.contains("as IP said, 5;") && asked.contains("yours, 7"), "{asked}");
    assert_eq!(checks(&book, order)[0], (1, 5, ip.clone()), "nothing is written over unasked");
    press(&mut one, "\n", now);
    assert_eq!(checks(&book, order)[0], (1, 7, om.clone()));
    // Somebody else signs in at the screen, or it is killed: all of it is still there.
    press(&mut one, "WRS\n", now);
    let shown = press(&mut one, "R", now);
    assert!(shown.contains("2 of"), "{shown}");
    drop(one);
    let mut again = app_of(&book, Some("OM"), now);
    assert!(press(&mut again, "R", now).contains("2 of"));
    // Taken in by the one, it is told to the other, and not asked about any more.
    press(&mut again, "A\nx\n", now);
    press(&mut again, "\n", now);
    assert_eq!(checks(&book, order), []);
    two.idle(now);
    let told = drawn(&mut two, now);
    assert!(told.contains("was taken in or given up at another terminal"), "{told}");
    // Taken back in the history, what was looked at is there again.
    let store = Store::open(&book).unwrap();
    let acts = tantalus::desk::history::view(&store, None, 1).unwrap().acts;
    assert_eq!(acts[0].act.deed, tantalus::domain::venue::Deed::Delivery);
    tantalus::desk::undoing::undo(&store, acts[0].act.id, now).unwrap();
    assert_eq!(checks(&book, order)[0], (1, 7, om));
    assert_eq!(tantalus::desk::check::check(&store).unwrap(), []);
}
