//! A picture of every screen on the demo bar at half past one at night, at 80x24 and 120x40, with and without colour; of
//! those for tonight, orders, carrying and suppliers at 100x30 and 160x50 too.
//!
//! Pictures are in `tests/snapshots/`; `INSTA_UPDATE=always cargo test --test screens` takes them anew.

#![allow(clippy::unwrap_used)]

#[path = "support/demo.rs"]
mod demo;
#[path = "support/driven.rs"]
mod driven;

use driven::{painted, press, settle};
use ratatui::buffer::Buffer;
use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use ratatui::style::{Color, Modifier};
use std::fmt::Write;
use std::path::{Path, PathBuf};
use tantalus::app::{App, Beginning, Options};
use tantalus::domain::rows::Guess;
use tantalus::store::Store;
use tantalus::tui::theme::{Look, Theme};

/// The screens: name, and the keys that lead there from the first one. `↵` is Enter, `‹name›` a file's path pasted.
const SCREENS: &[(&str, &str)] = &[
    ("tonight", ""),
    ("count-start", "C"),
    ("count-one-key", "C↵n47f+5+"),
    ("count-typed", "C↵m1.2↵.8.3↵0↵1."),
    ("count-blind", "Cb↵m1.2↵"),
    ("count-weight", "C↵m812g"),
    ("count-close", "C↵m1.2↵↵x"),
    ("count-sheet-form", "Cf01:30↵"),
    ("count-sheet", "Cf↵OM↵↵1.2↵↵.8.3↵30:0↵2."),
    ("count-new", "C↵aMerrowhythe gin↵"),
    ("count-new-search", "C↵aQuince"),
    ("eye-check", "C↵47398x↵↵918↵77"),
    ("variance", "V"),
    ("variance-all", "Vz"),
    ("variance-by-place", "Vv"),
    ("variance-line", "V↵"),
    ("orders", "O"),
    ("orders-changed", "O+n"),
    ("orders-send", "Ox"),
    ("orders-why", "O↵"),
    ("orders-budget", "Ob2000↵"),
    ("orders-left-out", "Ob2000↵nnnn"),
    ("carry", "c"),
    ("carry-booked", "cx↵"),
    ("receive", "Ox↵R"),
    ("receive-typed", "Ox↵Ry5"),
    ("receive-none", "R"),
    ("losses", "L"),
    ("losses-form", "La"),
    ("stock", "S"),
    ("stock-item", "S↵"),
    ("stock-worth", "Sw"),
    ("item-card", "Se"),
    ("item-new", "Sa"),
    ("item-list", "Sf‹samples/list-of-items.csv›↵"),
    ("par", "E"),
    ("par-dry", "Es"),
    ("par-item", "E/corvanel dark↵↵"),
    ("par-typed", "E4.5"),
    ("par-many", "Em"),
    ("par-back", "Eb"),
    ("drinks", "D"),
    ("drinks-one", "D↵"),
    ("drinks-form", "De"),
    ("drinks-new", "DaNew one↵↵11↵"),
    ("drinks-corners", "Dc"),
    ("drinks-price", "Dwvarrow↵18"),
    ("drinks-many", "D↵b"),
    ("house", "H"),
    ("house-one", "H/shrub↵"),
    ("house-batch", "Hb"),
    ("house-recipe", "He"),
    ("till", "I"),
    ("till-files", "If‹samples/till/dsfinvk-zwei-abschluesse.zip›↵xi"),
    ("till-known", "Iv"),
    ("till-table", "If‹samples/tables/de_lines_windows1252.csv›↵"),
    ("till-export", "If‹samples/till/dsfinvk-zwei-abschluesse.zip›↵"),
    ("till-names", "If‹samples/till/dsfinvk-zwei-abschluesse.zip›↵x"),
    ("bill", "Ox↵Rf‹samples/bill-of-the-demo.xml›↵"),
    ("bill-looked-at", "Ox↵Rf‹samples/bill-of-the-demo.xml›↵y↵wy5↵11↵"),
    ("bill-doubts", "Ox↵Rf‹samples/bill-of-the-demo.xml›↵v"),
    ("claims", "Ox↵Rf‹samples/bill-of-the-demo.xml›↵y↵wy5↵11↵A↵x↵◉↵m"),
    ("gauging", "U"),
    ("gauging-item", "U/corvanel↵"),
    ("gauging-try", "U/corvanel↵t143mm"),
    ("gauging-shape", "U/corvanel↵m↵↵76.5↵165↵4"),
    ("suppliers", "P"),
    ("suppliers-record", "Pjjjv"),
    ("help", "V?"),
    ("find", "/rum"),
    ("anything", "⌃ostel"),
    ("book", "B"),
    ("set-up", "Bs"),
    ("bar-card", "Bs↵"),
];

/// Those that are drawn in windows of two more sizes.
const MORE_SIZES: &[&str] = &[
    "tonight",
    "orders",
    "orders-why",
    "orders-budget",
    "orders-left-out",
    "carry",
    "carry-booked",
    "suppliers",
    "suppliers-record",
];

/// Those that only whoever signs is shown.
const SIGNED: &[&str] = &["eye-check"];

/// The application on a copy of the demo's book of its own, signed where anybody signs.
fn app(original: &Path, copy: &Path, no_color: bool, signed: bool) -> App {
    std::fs::copy(original, copy).unwrap();
    let by = signed.then(|| "IP".to_owned());
    let look = if no_color { Look::Plain } else { Look::Terminal };
    let options = Options { by, look, orders: PathBuf::from("orders"), ..Options::default() };
    let mut app = App::new(Store::open(copy).unwrap(), options, demo::now()).unwrap();
    settle(&mut app);
    app
}

/// The rows as text, then the runs of each row that have a look of their own.
fn told(buffer: &Buffer, looks: bool) -> String {
    let mut out = String::new();
    let area = buffer.area;
    for y in 0..area.height {
        let row: String = (0..area.width).map(|x| buffer[(x, y)].symbol()).collect();
        writeln!(out, "{}", row.trim_end()).unwrap();
    }
    if !looks {
        return out;
    }
    out.push_str("---\n");
    for y in 0..area.height {
        let mut x = 0;
        while x < area.width {
            let cell = &buffer[(x, y)];
            let look = (cell.fg, cell.modifier);
            let mut text = String::new();
            while x < area.width && (buffer[(x, y)].fg, buffer[(x, y)].modifier) == look {
                text.push_str(buffer[(x, y)].symbol());
                x += 1;
            }
            if look != (Color::Reset, Modifier::empty()) && !text.trim().is_empty() {
                writeln!(out, "{y:>2} {look:?} {}", text.trim()).unwrap();
            }
        }
    }
    out
}

/// Every screen, in the largest window first: what a small one has scrolled to would else stay in the larger one.
fn pictures(no_color: bool) {
    let folder = tempfile::tempdir().unwrap();
    let original = demo::book(folder.path());
    let colour = if no_color { "plain" } else { "colour" };
    for (name, keys) in SCREENS {
        let own = folder.path().join(format!("{name}.tantalus"));
        let mut app = app(&original, &own, no_color, SIGNED.contains(name));
        press(&mut app, keys);
        for (width, height) in [(160, 50), (120, 40), (100, 30), (80, 24)] {
            let usual = matches!(width, 80 | 120);
            let more = no_color && MORE_SIZES.contains(name);
            if !(usual || more) {
                continue;
            }
            let buffer = painted(&mut app, width, height);
            if no_color {
                let coloured = buffer.content.iter().find(|c| c.fg != Color::Reset || c.bg != Color::Reset);
                assert!(coloured.is_none(), "{name}: a cell has a colour");
            }
            insta::assert_snapshot!(format!("{name}-{width}x{height}-{colour}"), told(&buffer, !no_color));
        }
    }
}

#[test]
fn pictures_of_every_screen() {
    pictures(true);
}

#[test]
fn pictures_of_every_screen_in_colour() {
    pictures(false);
}

/// The first screen when something is wrong with the copies of the book: the stick is at home, and no copy can be made.
#[test]
fn pictures_of_copies_that_are_not_made() {
    let folder = tempfile::tempdir().unwrap();
    let original = demo::book(folder.path());
    for (name, keys) in [("tonight-no-stick", "jjjjjjjjjjj"), ("tonight-no-copy", "jjjjjjj")] {
        let own = folder.path().join(format!("{name}.tantalus"));
        std::fs::copy(&original, &own).unwrap();
        let conn = tantalus::store::Connection::open(&own).unwrap();
        conn.execute("INSERT OR REPLACE INTO venue (key, value) VALUES ('copies_to', '/nowhere/stick')", []).unwrap();
        drop(conn);
        if name == "tonight-no-copy" {
            std::fs::write(folder.path().join(format!("{name}.tantalus.copies")), "in the way").unwrap();
        }
        let options = Options { look: Look::Plain, ..Options::default() };
        let mut app = App::new(Store::open(&own).unwrap(), options, demo::now()).unwrap();
        settle(&mut app);
        press(&mut app, keys);
        for (width, height) in [(80, 24), (120, 40)] {
            insta::assert_snapshot!(
                format!("{name}-{width}x{height}-plain"),
                told(&painted(&mut app, width, height), false)
            );
        }
    }
}

/// Where there is no book yet.
#[test]
fn pictures_of_a_beginning() {
    let guess = Guess {
        zone: Some(chrono_tz::Atlantic::Azores),
        currency: "EUR".parse().ok(),
        american: false,
        ..Guess::default()
    };
    let mut asked = Beginning::new(Path::new("/home/om/bar/book.tantalus"), guess, Theme::from_env(true));
    for (width, height) in [(80, 24), (120, 40), (60, 20)] {
        insta::assert_snapshot!(
            format!("beginning-{width}x{height}-plain"),
            told(&painted(&mut asked, width, height), false)
        );
    }
    for (width, height) in [(1, 1), (20, 8), (59, 20), (61, 21), (300, 9)] {
        painted(&mut asked, width, height);
    }
}

/// Every screen at every size a window can be dragged through: nothing panics, and below 60x20 it says why it is empty.
#[test]
fn any_size() {
    let folder = tempfile::tempdir().unwrap();
    let mut app = app(&demo::book(folder.path()), &folder.path().join("own.tantalus"), true, true);
    for (name, keys) in SCREENS {
        press(&mut app, keys);
        for (width, height) in [(1, 1), (20, 8), (59, 20), (60, 19), (60, 20), (61, 21), (79, 23), (200, 60)] {
            let buffer = painted(&mut app, width, height);
            let text = told(&buffer, false);
            assert!(!text.trim().is_empty(), "{name} at {width}x{height}");
        }
        // Out of whatever was opened, without keeping or sending anything.
        for _ in 0..3 {
            app.key(KeyEvent::new(KeyCode::Esc, KeyModifiers::NONE), demo::now());
        }
        press(&mut app, "T");
    }
}
