use super::*;
use crate::domain::ledger::Act;
use crate::domain::venue::{Deed, Moment, Person, Role};
use crate::tui::keymap::resolve;
use crate::tui::screen::fixture::{at, bar, pressed};
use crate::tui::theme::Theme;
use crate::tui::widget::harness::{at_every_size, shown};
use std::sync::Arc;

fn act(id: i64, deed: Deed, by: Option<&str>, said: &[&str], undone: Option<i64>) -> ActRow {
    let at = Moment(at("2026-11-23 01:30").0 + id * 60_000);
    let by = by.map(str::to_owned);
    ActRow {
        act: Act { id: ActId(id), at, by, deed, undoes: None, changes: id, lines: 0 },
        said: said.iter().map(|s| (*s).to_owned()).collect(),
        undone: undone.map(ActId),
    }
}

fn screen() -> BookScreen {
    let acts = vec![
        act(4, Deed::Undone, Some("OM"), &["act 3", "taken back: 60 ml of Gin: spill"], None),
        act(3, Deed::Loss, Some("IP"), &["60 ml of Gin: spill"], Some(4)),
        act(2, Deed::Par, Some("OM"), &["Gin: par 3 → 4"], None),
        act(1, Deed::Begun, None, &[], None),
    ];
    let row = |initials: &str, role, has_pin| PersonRow {
        person: Person { initials: initials.to_owned(), name: None, role },
        has_pin,
    };
    let known = vec![row("IP", Role::Counter, false), row("OM", Role::Manager, true)];
    let here = vec!["IP at Cellar, since 01:20".to_owned()];
    BookScreen::new(HistoryView { setup: Arc::new(bar()), acts, more: false }, known, here)
}

fn press(screen: &mut BookScreen, keys: &str) -> Vec<Effect> {
    pressed(keys, |event| resolve(screen.scope(), event).map(|action| screen.update(action)))
}

fn picture(screen: &mut BookScreen, wide: u16, high: u16) -> String {
    let theme = Theme::from_env(true);
    shown(wide, high, |frame| screen.draw(frame, frame.area(), Scene { theme: &theme, now: at("2026-11-23 02:00") }))
}

#[test]
fn an_act_is_taken_back_or_done_again() {
    let mut book = screen();
    assert!(matches!(&press(&mut book, "jju")[..], [Effect::Ask { then, .. }] if **then == Effect::UndoAct(ActId(2))));
    assert!(matches!(&press(&mut book, "kr")[..], [Effect::Ask { then, .. }] if **then == Effect::RedoAct(ActId(3))));
    assert!(matches!(&press(&mut book, "u")[..], [Effect::Say(_)]), "it is taken back already");
    assert!(matches!(&press(&mut book, "Gu")[..], [Effect::Say(_)]), "the beginning");
    assert_eq!(press(&mut book, "g\n"), [Effect::ShowAct(ActId(4))]);
}

#[test]
fn people_are_taken_in_and_given_a_pin() {
    let mut book = screen();
    press(&mut book, "p");
    assert_eq!(book.scope(), Scope::People);
    assert_eq!(press(&mut book, "jn"), [Effect::AskNewPin("OM".to_owned())]);
    assert!(
        matches!(&press(&mut book, "x")[..], [Effect::Ask { then, .. }] if **then == Effect::ClearPin("OM".to_owned()))
    );
    assert!(matches!(&press(&mut book, "m")[..], [Effect::Ask { question, .. }] if question.contains("counter")));
    let kept = press(&mut book, "aTZ\nTeresa\n");
    let want = Person { initials: "TZ".to_owned(), name: Some("Teresa".to_owned()), role: Role::Counter };
    assert_eq!(kept, [Effect::PutPerson(want)]);
    // Until the book has kept it, nothing is lost of what was typed.
    assert_eq!(book.scope(), Scope::PersonForm);
    book.person_kept();
    press(&mut book, "\u{1b}");
    assert_eq!(book.scope(), Scope::Book);
}

#[test]
fn the_history_as_it_is_seen() {
    insta::assert_snapshot!(picture(&mut screen(), 80, 10));
    let mut book = screen();
    press(&mut book, "p");
    insta::assert_snapshot!(picture(&mut book, 80, 10));
}

#[test]
fn no_size_panics() {
    let theme = Theme::from_env(true);
    at_every_size(|frame| {
        let mut book = screen();
        let scene = Scene { theme: &theme, now: at("2026-11-23 02:00") };
        book.draw(frame, frame.area(), scene);
        book.show(act(3, Deed::Loss, None, &["60 ml of Gin"], None));
        book.draw(frame, frame.area(), scene);
        press(&mut book, "\u{1b}pa");
        book.draw(frame, frame.area(), scene);
    });
}
