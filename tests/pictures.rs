//! The pictures of the docs are the screens as they are: each is drawn by the program itself on the invented bar.
//! `UPDATE_DOCS=1 cargo test --test pictures` draws them anew.

#![allow(clippy::unwrap_used)]

#[path = "support/demo.rs"]
mod demo;
#[path = "support/driven.rs"]
mod driven;
#[path = "support/picture.rs"]
mod picture;

use ratatui::buffer::Buffer;
use std::fs;
use std::path::{Path, PathBuf};
use tantalus::app::{App, Beginning, Options, Stage};
use tantalus::domain::rows::Guess;
use tantalus::store::Store;
use tantalus::tui::theme::{Depth, Look};

const WIDE: u16 = 100;
const HIGH: u16 = 30;

/// Each picture: its name, the keys that lead to it (`↵` is Enter), and what it shows.
const PICTURES: &[(&str, &str, &str)] = &[
    ("tonight", "", "The first screen: what is due tonight, from the closing count to the vans that are expected"),
    (
        "count",
        "C↵m1.2↵.8.3↵0↵1.",
        "Counting bottle by bottle: an entry is being typed, and beside each line stands what it means",
    ),
    (
        "variance",
        "V",
        "The week's variance: what to look into, sorted by the money at stake, each gap with its whisker",
    ),
    ("variance-line", "V↵", "One line of the variance: what probably made the gap, and what speaks for it"),
    ("orders", "O", "The draft of an order, up to par and in whole cases"),
    ("par", "E/corvanel dark↵↵", "The pars of one item: how long it lasts, and what was asked of it day by day"),
    ("stock", "S", "What is on hand and what it is worth"),
    ("item", "Se", "An item on its card: its places, its par, its prices"),
    ("list", "Sf‹samples/list-of-items.csv›↵", "A list out of a spreadsheet, understood before it is taken in"),
    ("drinks", "D", "The drinks with what they cost and bring in"),
];

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/pictures")
}

/// Types keys, and waits until what is worked out beside the screens is there.
fn press(app: &mut App, keys: &str) {
    driven::press(app, keys);
    for _ in 0..500 {
        app.idle(demo::now());
        std::thread::sleep(std::time::Duration::from_millis(2));
    }
}

fn painted(stage: &mut impl Stage) -> Buffer {
    driven::painted(stage, WIDE, HIGH)
}

fn held(name: &str, buffer: &Buffer, shows: &str) {
    let drawn = picture::svg(buffer, shows);
    let path = folder().join(format!("{name}.svg"));
    if std::env::var_os("UPDATE_DOCS").is_some() {
        fs::create_dir_all(folder()).unwrap();
        fs::write(&path, &drawn).unwrap();
    }
    let there = fs::read_to_string(&path).unwrap_or_default();
    assert!(there == drawn, "docs/pictures/{name}.svg is out of date: run UPDATE_DOCS=1 cargo test --test pictures");
}

#[test]
fn the_pictures_are_the_screens() {
    let home = tempfile::tempdir().unwrap();
    let book = demo::book(home.path());
    for (name, keys, shows) in PICTURES {
        let own = home.path().join(format!("{name}.tantalus"));
        fs::copy(&book, &own).unwrap();
        let options = Options { look: Look::Dark, depth: Depth::True, by: Some("OM".to_owned()), ..Options::default() };
        let mut app = App::new(Store::open(&own).unwrap(), options, demo::now()).unwrap();
        press(&mut app, keys);
        held(name, &painted(&mut app), shows);
    }
    let guess = Guess {
        zone: Some(chrono_tz::Atlantic::Azores),
        currency: "EUR".parse().ok(),
        american: false,
        ..Guess::default()
    };
    let theme = Look::Dark.theme(Depth::True);
    let mut asked = Beginning::new(Path::new("/home/om/bar/book.tantalus"), guess, theme);
    held("beginning", &painted(&mut asked), "The first evening: eight answers make a book");
    // None is left over of a screen that is not shown any more.
    let mut there: Vec<String> = fs::read_dir(folder())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
        .collect();
    let mut wanted: Vec<String> = PICTURES.iter().map(|(name, ..)| format!("{name}.svg")).collect();
    wanted.push("beginning.svg".to_owned());
    there.sort();
    wanted.sort();
    assert_eq!(there, wanted);
}

/// Every picture is shown in the docs, and every one that the docs show is there.
#[test]
fn the_docs_show_them_all() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut docs = fs::read_to_string(root.join("README.md")).unwrap();
    for entry in fs::read_dir(root.join("docs")).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|kind| kind == "md") {
            docs.push_str(&fs::read_to_string(path).unwrap());
        }
    }
    for (name, ..) in PICTURES.iter().chain(&[("beginning", "", "")]) {
        assert!(docs.contains(&format!("pictures/{name}.svg)")), "no doc shows {name}");
    }
    for shown in docs.split("pictures/").skip(1) {
        let name: String = shown.chars().take_while(|c| *c != ')').collect();
        assert!(folder().join(&name).exists(), "{name}");
    }
}
