//! Killed with -9 in the middle of a count, again and again: every line that was shown as kept is in the book, and the
//! book is sound.

#![allow(clippy::unwrap_used)]

#[path = "support/demo.rs"]
mod demo;
#[path = "support/pty.rs"]
mod pty;

use pty::{Session, on_book};
use rand::{Rng, SeedableRng};
use std::path::Path;
use std::time::Duration;
use tantalus::desk;
use tantalus::domain::ledger::CountLine;
use tantalus::store::{Store, counts};

const ROUNDS: usize = 50;

fn start(book: &Path) -> Session {
    let mut command = on_book(book, demo::NOW);
    command.env("NO_COLOR", "1");
    Session::start(command, 120, 40)
}

/// The rows of the sheet that carry the mark of a kept line: item and entry, as painted. Where something is being typed,
/// the row shows that instead.
fn marked(screen: &str, typing: Option<usize>) -> Vec<(String, String)> {
    let rows = screen.lines().enumerate().filter(|(at, _)| Some(*at) != typing).map(|(_, row)| row);
    let marked = rows.filter_map(|row| row.strip_prefix("✓ ").or_else(|| row.strip_prefix("= ")));
    let cells = marked.map(|row| {
        // The name is cut at its column's width; the entry is the first word after two blanks.
        let (name, rest) = row.split_once("  ").unwrap_or((row, ""));
        (name.trim_end_matches('…').to_owned(), rest.split_whitespace().next().unwrap_or_default().to_owned())
    });
    cells.collect()
}

fn done(screen: &str) -> usize {
    let line = screen.lines().nth(2).unwrap_or_default();
    let before = line.split(" of ").next().unwrap_or_default();
    before.rsplit(' ').next().and_then(|n| n.parse().ok()).unwrap_or(0)
}

fn in_book(book: &Path) -> Vec<(String, String)> {
    let store = Store::open(book).unwrap();
    let findings = desk::check::check(&store).unwrap();
    assert!(findings.is_empty(), "{findings:?}");
    let setup = desk::comparing::setup(&store).unwrap();
    let lines: Vec<CountLine> = store
        .read(|conn| {
            let open = counts::open_count(conn)?.expect("the count is open");
            counts::lines(conn, open.id)
        })
        .unwrap();
    lines.iter().map(|l| (setup.item_name(l.item).to_owned(), l.entry.to_string())).collect()
}

#[test]
fn what_was_shown_as_kept_is_kept() {
    let folder = tempfile::tempdir().unwrap();
    let book = demo::book(folder.path());
    let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(11);
    let mut session = start(&book);
    session.until_text("help");
    session.press_until("C", "Choose what to walk");
    session.press_until("\r", "0 of ");
    for round in 0..ROUNDS {
        let keys = random.random_range(2..60);
        for _ in 0..keys {
            let entry = match random.random_range(0..4) {
                0 => format!("{}\r", random.random_range(0..9)),
                1 => format!("{}", random.random_range(1..9)),
                2 => "\r".to_owned(),
                _ => format!("1.{}\r", random.random_range(1..9)),
            };
            session.press(&entry);
            std::thread::sleep(Duration::from_micros(random.random_range(0..4_000)));
        }
        session.catch_up();
        session.child.kill().unwrap();
        session.child.wait().unwrap();
        session.catch_up();
        let screen = session.shown();
        let kept = in_book(&book);
        assert!(kept.len() >= done(&screen), "round {round}: {} in the book\n{screen}", kept.len());
        for (name, entry) in marked(&screen, session.typing_row()) {
            let found = kept.iter().any(|(item, kept)| item.starts_with(&name) && *kept == entry);
            assert!(found, "round {round}: “{name} {entry}” was shown as kept and is not in the book\n{screen}");
        }
        session = start(&book);
        session.until_text("help");
        session.press_until("C", "is not closed");
        session.press_until("\r", " of ");
    }
    session.press("\x03");
    session.end();
    assert!(in_book(&book).len() > 50, "the walk got somewhere");
}
