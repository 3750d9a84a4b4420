//! One search over everything: screens, what can be done on them, items, drinks, suppliers, the set-up.

#![allow(clippy::unwrap_used)]

#[path = "support/bar.rs"]
mod bar;
#[path = "support/typing.rs"]
mod typing;

use bar::{AT as NOW, Bar};
use tantalus::app::{App, Options};
use tantalus::desk;
use tantalus::store::Store;
use typing::{app_of, press};

fn screens(bar: &Bar) -> App {
    app_of(&bar.0.path().join("bar.tantalus"), None, NOW)
}

/// The lines in the box, what was typed first.
fn found(shown: &str) -> Vec<String> {
    let inside = |line: &str| {
        let (_, rest) = line.split_once('│')?;
        let (inner, _) = rest.rsplit_once('│')?;
        Some(inner.trim().to_owned())
    };
    shown.lines().filter_map(inside).filter(|line| !line.is_empty()).collect()
}

#[test]
fn a_few_letters_lead_anywhere_and_do_anything() {
    let bar = Bar::new();
    let mut app = screens(&bar);
    for (typed, then) in [
        ("\u{10}variance\n", "Variance"),
        // What can be done elsewhere is done there.
        ("\u{10}new loss\n", "Write down a loss"),
        ("\u{10}take in a new item\n", "a new item"),
        ("\u{10}new special day\n", "a new special day"),
        ("\u{10}change quendel\n", "Order by, comes"),
        ("\u{10}change the bar\n", "Blind counts"),
        ("\u{10}cellar\n", "In the walk"),
        ("\u{10}set-up\n", "Places, as they are walked"),
        ("\u{10}who signs\n", "The book knows nobody yet"),
        ("\u{10}gin tonic\n", "Gin Tonic"),
        // Words that others have for it; a word written out is that word, wherever its letters stand far apart.
        ("\u{10}import spreadsheet\n", "A list of items that a spreadsheet wrote"),
        ("\u{10}invoice xml\n", "bill"),
        ("\u{10}breakage\n", "loss"),
        ("\u{10}settings\n", "Places, as they are walked"),
        ("\u{10}rename gin\n", "Counted by      tenths"),
        ("\u{10}staff pin\n", "The book knows nobody yet"),
        // A field of the bar's card, with the cursor in it.
        ("\u{10}day begins\n", "> A day begins at"),
        ("\u{10}quendelbach\n", "Mon 14:00"),
    ] {
        let shown = press(&mut app, typed, NOW);
        assert!(shown.contains(then), "{typed}: {shown}");
        // Out of whatever it opened.
        press(&mut app, "\u{1b}", NOW);
        press(&mut app, "\u{1b}", NOW);
        press(&mut app, "\u{1b}", NOW);
    }
    // Here, what can be done here comes first; what was chosen last before all of it.
    press(&mut app, "S", NOW);
    let shown = press(&mut app, "\u{10}", NOW);
    assert!(found(&shown)[1].contains("Quendelbach"), "{shown}");
    let shown = press(&mut app, "tonic\n", NOW);
    assert!(shown.contains("Tonic"), "{shown}");
    let shown = press(&mut app, "\u{10}", NOW);
    assert!(found(&shown)[1].contains("Tonic"), "{shown}");
    let none = press(&mut app, "nothing at all like it", NOW);
    assert!(none.contains("Nothing is called that"), "{none}");
    press(&mut app, "\u{1b}", NOW);
}

/// Nobody is led to what they may not see or do.
#[test]
fn a_counter_finds_what_a_counter_may() {
    let bar = Bar::with(&[("people.csv", "initials,role\nOM,manager\nIP,counter\n")]);
    let store = Store::open(&bar.0.path().join("bar.tantalus")).unwrap();
    desk::people::sign_in(&store, "IP", None, NOW).unwrap();
    let mut app = App::new(store, Options { by: Some("IP".to_owned()), ..Options::default() }, NOW).unwrap();
    for kept in ["variance", "quendelbach", "take in a new item", "budget"] {
        let shown = press(&mut app, &format!("\u{10}{kept}"), NOW);
        assert!(shown.contains("Nothing is called that"), "{kept}: {shown}");
        press(&mut app, "\u{1b}", NOW);
    }
    assert!(!press(&mut app, "\u{10}change gin", NOW).contains("Change Gin"));
    press(&mut app, "\u{1b}", NOW);
    let shown = press(&mut app, "\u{10}gin\n", NOW);
    assert!(shown.contains("on hand"), "{shown}");
    let shown = press(&mut app, "\u{10}broken\n", NOW);
    assert!(shown.contains("Write down a loss") || shown.contains("No loss is written down"), "{shown}");
}
