//! The mouse on the real screens: clicks, the wheel, a level that is pulled. Each comes to what keys come to.

#![allow(clippy::unwrap_used)]

#[path = "support/bar.rs"]
mod bar;
#[path = "support/typing.rs"]
mod typing;

use bar::{AT as NOW, Bar};
use ratatui::crossterm::event::{KeyModifiers, MouseButton, MouseEvent, MouseEventKind};
use tantalus::app::App;
use typing::{app_of, drawn, press};

fn screens(bar: &Bar) -> App {
    app_of(&bar.0.path().join("bar.tantalus"), None, NOW)
}

/// Where a text stands on the screen: column and row of its first letter.
fn place(shown: &str, text: &str) -> (u16, u16) {
    let found = shown.lines().enumerate().find_map(|(row, line)| {
        let at = line.find(text)?;
        Some((line[..at].chars().count() as u16, row as u16))
    });
    found.unwrap_or_else(|| panic!("{text}: {shown}"))
}

fn mouse(app: &mut App, kind: MouseEventKind, (column, row): (u16, u16)) -> String {
    app.mouse(MouseEvent { kind, column, row, modifiers: KeyModifiers::NONE }, NOW);
    app.idle(NOW);
    drawn(app, NOW)
}

fn click(app: &mut App, text: &str) -> String {
    let shown = drawn(app, NOW);
    mouse(app, MouseEventKind::Down(MouseButton::Left), place(&shown, text))
}

#[test]
fn a_click_goes_where_it_points() {
    let bar = Bar::new();
    let mut app = screens(&bar);
    // A screen by its name, a line, and the same line once more: it opens.
    let stock = click(&mut app, "Stock");
    assert!(stock.contains("on hand"), "{stock}");
    let there = click(&mut app, "Tonic");
    assert!(there.contains("Tonic (200 ml)"), "the line under it is told below: {there}");
    let facts = click(&mut app, "Tonic");
    assert!(facts.contains("close"), "{facts}");
    // A hint is the key that it names.
    let list = click(&mut app, "Esc close");
    assert!(list.contains("new item"), "{list}");
    let card = click(&mut app, "new item");
    assert!(card.contains("a new item"), "{card}");
    // A field of the card; what lies below the card is covered.
    let field = click(&mut app, "Par  ");
    assert!(field.contains("> Par"), "{field}");
    let covered = mouse(&mut app, MouseEventKind::Down(MouseButton::Left), (1, 3));
    assert!(covered.contains("> Par"), "{covered}");
    let still = click(&mut app, "Tonight");
    assert!(still.contains("> Par"), "while one types, no screen is gone to: {still}");
}

#[test]
fn the_wheel_moves_the_list_and_never_what_is_typed() {
    let bar = Bar::new();
    let mut app = screens(&bar);
    press(&mut app, "S", NOW);
    let down = mouse(&mut app, MouseEventKind::ScrollDown, (5, 5));
    assert!(down.contains("Tonic (200 ml)"), "{down}");
    let up = mouse(&mut app, MouseEventKind::ScrollUp, (5, 5));
    assert!(up.contains("Gin (700 ml)"), "{up}");
    press(&mut app, "C\n3", NOW);
    let typed = mouse(&mut app, MouseEventKind::ScrollDown, (5, 5));
    assert!(typed.contains("0 of 1 lines"), "an entry that is typed is not kept by a wheel: {typed}");
}

/// The level of an opened bottle is pulled with the button down; Enter keeps what it says.
#[test]
fn a_level_is_pulled() {
    let bar = Bar::new();
    let mut app = screens(&bar);
    let count = press(&mut app, "C\nm", NOW);
    let (column, row) = place(&count, "opened ");
    let at = |halves: u16| (column + 6 + halves, row);
    let pressed = mouse(&mut app, MouseEventKind::Down(MouseButton::Left), at(8));
    assert!(pressed.contains(".4"), "{pressed}");
    let pulled = mouse(&mut app, MouseEventKind::Drag(MouseButton::Left), at(15));
    assert!(pulled.contains(".75"), "{pulled}");
    // Beyond its ends it stays at them, and a hand that slips off the line still pulls.
    let far = mouse(&mut app, MouseEventKind::Drag(MouseButton::Left), (0, row + 4));
    assert!(far.contains(".05"), "{far}");
    mouse(&mut app, MouseEventKind::Drag(MouseButton::Left), at(14));
    let let_go = mouse(&mut app, MouseEventKind::Up(MouseButton::Left), at(14));
    assert!(let_go.contains(".7"), "{let_go}");
    let moved = mouse(&mut app, MouseEventKind::Drag(MouseButton::Left), at(2));
    assert!(moved.contains(".7"), "let go, it is pulled no more: {moved}");
    let kept = press(&mut app, "\n", NOW);
    assert!(kept.contains("1 of 1 lines"), "{kept}");
}
