//! A bar that speaks German: its screens, what is typed on them, its papers; and that what the book holds does not depend on it.

#![allow(clippy::unwrap_used)]

#[path = "support/demo.rs"]
mod demo;
#[path = "support/typing.rs"]
mod typing;

use chrono_tz::Europe::Vienna;
use ratatui::{Terminal, backend::TestBackend};
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use tantalus::app::{App, Beginning, Outcome, Stage};
use tantalus::desk;
use tantalus::domain::rows::Guess;
use tantalus::domain::venue::Country;
use tantalus::store::Store;
use tantalus::tui::theme::Theme;
use tantalus::words::{Language, Speech};
use typing::{app_of, press};

/// The demo's book, in the language of a tag.
fn book(folder: &Path, tag: &str) -> PathBuf {
    let book = demo::book(folder);
    let said = folder.join("said");
    fs::create_dir_all(&said).unwrap();
    fs::write(said.join("venue.csv"), format!("key,value\nlanguage,{tag}\n")).unwrap();
    desk::load::load(&Store::open(&book).unwrap(), &said, demo::now(), &mut desk::unwatched).unwrap();
    book
}

fn app(book: &Path) -> App {
    app_of(book, Some("OM"), demo::now())
}

fn shows(screen: &str, all: &[&str]) {
    for said in all {
        assert!(screen.contains(said), "{said} in\n{screen}");
    }
}

#[test]
fn figures_are_typed_and_shown_as_they_are_written_there() {
    let folder = tempfile::tempdir().unwrap();
    let mut app = app(&book(folder.path(), "de-AT"));
    let now = demo::now();
    // Of the first item, Albarelune Apricot Liqueur.
    shows(&press(&mut app, "E4,5\n", now), &["ist 4,5 und gilt", " 4,5 "]);
    shows(&press(&mut app, "u", now), &["2,0"]);
    // An amount whose point may set thousands apart is asked about, one with a comma is none.
    press(&mut app, "Laostelb\n", now);
    shows(&press(&mut app, "1.500 ml\n", now), &["Punkt vor drei Ziffern kann Tausender"]);
    shows(&press(&mut app, "\u{15}62,5 ml\n", now), &["62,5 ml"]);
    press(&mut app, "\u{1b}\u{1b}", now);
    // A count, with either mark.
    shows(&press(&mut app, "C\nm2,4\n", now), &["2,4"]);
    shows(&press(&mut app, "1.3\n", now), &["1,3"]);
}

#[test]
fn the_card_of_the_bar_changes_the_language_of_all_that_stands_on_the_screen() {
    let folder = tempfile::tempdir().unwrap();
    let book = demo::book(folder.path());
    let mut app = app(&book);
    let now = demo::now();
    shows(&press(&mut app, "Bs", now), &["The Ninth Lantern", "Gauging"]);
    // Up from the first field of the card leads nowhere, so the language is reached by its search.
    press(&mut app, "\u{1b}\u{10}language\n", now);
    let german = press(&mut app, "\u{15}de-AT\u{13}", now);
    shows(&german, &["Vorgang", "Buch"]);
    shows(&press(&mut app, "T", now), &["Schlusszählung", "Sonntag, 22. November"]);
    press(&mut app, "\u{10}sprache\n", now);
    shows(&press(&mut app, "\u{15}en-IE\u{13}", now), &["Closing count", "kept"]);
    shows(&press(&mut app, "T", now), &["Closing count", "Sunday 22 November"]);
    let refused = press(&mut app, "\u{10}language\n\u{15}whatever it is\u{13}", now);
    shows(&refused, &["expected a language tag such as en, de-AT or pt-PT"]);
}

#[test]
fn a_first_evening_in_the_language_of_the_machine() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("bar.tantalus");
    let guess = Guess {
        zone: Some(Vienna),
        currency: "EUR".parse().ok(),
        language: Language::German,
        country: Country::parse("AT").ok(),
        ..Guess::default()
    };
    let mut asked = Beginning::new(&path, guess, Theme::default());
    let now = demo::now();
    shows(&press(&mut asked, "", now), &["Ein erster Abend", "Rückbuffet, Arbeitsplatz", "Enter"]);
    // The first field is the language, one up from the name: English, and German again.
    typing::type_in(&mut asked, "Harbour Six", now);
    let up = ratatui::crossterm::event::KeyEvent::new(
        ratatui::crossterm::event::KeyCode::Up,
        ratatui::crossterm::event::KeyModifiers::NONE,
    );
    asked.key(up, now);
    shows(&press(&mut asked, "E", now), &["A first evening", "Back bar, Speed rail", "a half is written 0,5"]);
    shows(&press(&mut asked, "D", now), &["Ein erster Abend", "Rückbuffet, Arbeitsplatz"]);
    press(&mut asked, "\u{13}", now);
    let Outcome::Book(store, _) = asked.outcome() else { panic!("no book was made") };
    let setup = desk::book::setup(&store).unwrap();
    assert_eq!((setup.venue.language.as_str(), setup.places[0].name.as_str()), ("de-AT", "Rückbuffet"));
    let mut terminal = Terminal::new(TestBackend::new(80, 24)).unwrap();
    let mut app = App::new(*store, tantalus::app::Options::default(), now).unwrap();
    terminal.draw(|frame| app.draw(frame, now)).unwrap();
    let shown: String = terminal.backend().buffer().content.iter().map(|cell| cell.symbol()).collect();
    shows(&shown, &["Schlusszählung", "Rückbuffet"]);
}

/// Every file of the book, but for the line that says its language.
fn dumped(book: &Path, to: &Path) -> BTreeMap<String, String> {
    Speech::PLAIN.speak();
    desk::dump::dump(&Store::open(book).unwrap(), to).unwrap();
    let files = fs::read_dir(to).unwrap().map(|entry| entry.unwrap().path());
    let text = |path: &Path| {
        let text = fs::read_to_string(path).unwrap();
        text.lines().filter(|line| !line.starts_with("language,")).collect::<Vec<_>>().join("\n")
    };
    files.map(|path| (path.file_name().unwrap().to_string_lossy().into_owned(), text(&path))).collect()
}

/// A week's work by the same keys: what is kept is the same, whatever language it was done in.
#[test]
fn what_is_kept_does_not_depend_on_the_language() {
    let work = [
        // A count of the first place, lines as expected and others, the place closed, the count closed.
        "C\n73.8\u{1b}d",
        "C\nx\n",
        // A loss; the reason by its arrow, since its letters differ.
        "La",
        "ostelb\n60 ml\n",
        "\u{1b}\u{1b}",
        // An order sent, a delivery with a line short, the rest kept on order.
        "Ox\n",
        "Ry0\n1\nyAx\n\n",
        // Pars by hand and by demand.
        "E4.5\nd",
        // A batch, a till name that is no stock, a place and a supplier.
        "Hb\n\n\n\n",
        "I0",
        "PaNew hands\u{13}",
        "Bsja\u{1b}",
        // A drink with its spec.
        "DaHarbour fizz\n\n11\n\n\n\n\n\n\u{1b}\u{1b}",
        // Something taken back.
        "Bu\n",
    ];
    let kept = ["en-IE", "de-AT"].map(|tag| {
        let folder = tempfile::tempdir().unwrap();
        let book = book(folder.path(), tag);
        let mut app = app(&book);
        for keys in work {
            press(&mut app, keys, demo::now());
            press(&mut app, "\u{1b}\u{1b}\u{1b}", demo::now());
        }
        drop(app);
        dumped(&book, &folder.path().join("out"))
    });
    for (name, text) in &kept[0] {
        let differs = text.lines().zip(kept[1][name].lines()).find(|(a, b)| a != b);
        assert!(kept[1][name] == *text, "{name}: {differs:?}");
    }
}

#[test]
fn commands_speak_english_and_papers_as_the_bar_does() {
    let folder = tempfile::tempdir().unwrap();
    let book = book(folder.path(), "de-AT");
    let run = |args: &[&str]| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_tantalus"));
        let done = command.arg("--book").arg(&book).args(args).env("TANTALUS_NOW", demo::NOW).output().unwrap();
        assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
        String::from_utf8(done.stdout).unwrap()
    };
    shows(&run(&["stock"]), &["on hand"]);
    assert!(!run(&["stock"]).contains("vorhanden"));
    let to = folder.path().join("papers");
    for args in [&["par", "--into"][..], &["stock", "--over-time", "--into"], &["report", "--into"]] {
        run(&[args, &[to.to_str().unwrap()]].concat());
    }
    let pages: Vec<String> = fs::read_dir(&to)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "html"))
        .map(|path| fs::read_to_string(path).unwrap())
        .collect();
    assert_eq!(pages.len(), 3);
    for page in &pages {
        assert!(page.contains("lang=\"de\""), "{}", &page[..200]);
    }
    let all = pages.concat();
    shows(&all, &["Sollbestände, und wie lange der Bestand reicht", "Was der Bestand wert war", "Nachgehen", "EUR"]);
    for english in ["Par levels", "What the stock was worth", "To look into", "net sales", "likeliest"] {
        assert!(!all.contains(english), "{english}");
    }
}
