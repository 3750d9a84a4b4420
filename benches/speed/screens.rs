//! The screens: the real binary in a pseudo-terminal of 80 by 24, from the key written to the moment a terminal parser shows
//! what it did; beside the barest list that a terminal can scroll.

use crate::books::{BIN, Book, copied, example};
use crate::pty::Session;
use crate::spread::{Spread, in_turn};
use portable_pty::CommandBuilder;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};
use tantalus::tui::keymap::Tab;

fn open(book: &Path, now: &str) -> Session {
    let mut command = CommandBuilder::new(BIN);
    command.args(["--book", book.to_str().expect("a path in UTF-8")]);
    command.env("TERM", "xterm-256color");
    command.env("TANTALUS_NOW", now);
    // What somebody has chosen at the screens of this machine changes nothing here.
    command.env("XDG_CONFIG_HOME", "/nonexistent");
    Session::start(command, 80, 24)
}

/// From the key written to the picture wanted.
fn key(screen: &mut Session, bytes: &str, wanted: impl Fn(&str) -> bool) -> Duration {
    screen.press(bytes);
    screen.until(bytes, |s| wanted(&s.contents()))
}

/// Start to the first full screen, beside a query of nothing by the shell of the database.
pub(crate) fn start(book: &Book) -> (Spread, Spread, f64) {
    let ours = || {
        let begun = Instant::now();
        let mut screen = open(&book.path, book.now);
        screen.until("the first screen", |s| s.contents().contains("help") && s.contents().contains("Tonight"));
        let took = begun.elapsed();
        screen.press("\x03");
        screen.end();
        took
    };
    let shell = || {
        let begun = Instant::now();
        let mut shell = Command::new("sqlite3");
        let done = shell.arg(&book.path).arg("select 1").stdout(Stdio::null()).status().expect("sqlite3");
        assert!(done.success());
        begun.elapsed()
    };
    in_turn(15, ours, shell)
}

/// Going to each screen, from the key to the first of its picture, which comes in one write; the slowest first.
pub(crate) fn visits(book: &Book) -> Vec<(&'static str, Spread)> {
    let copy = Copy::of(book);
    let mut screen = open(&copy.0, book.now);
    screen.until_text("help");
    // What is worked out aside for the first screen is not a part of it.
    screen.until("what is to be ordered", |s| !s.contents().contains("being worked out"));
    let mut visits: Vec<(&'static str, Vec<Duration>)> = Tab::ALL.iter().map(|tab| (tab.title(), Vec::new())).collect();
    for _ in 0..5 {
        // From the last one to the first, so that each is come to from another.
        for (tab, (_, times)) in Tab::ALL.iter().zip(&mut visits).rev() {
            let before = screen.shown();
            times.push(key(&mut screen, &tab.letter().to_string(), |s| s != before));
            // The rest of the picture, if it came in pieces.
            screen.drain(Duration::from_millis(40));
        }
    }
    screen.press("\x03");
    screen.end();
    let mut visits: Vec<_> = visits.into_iter().map(|(title, times)| (title, Spread::of(times))).collect();
    visits.sort_by(|(_, a), (_, b)| b.median().total_cmp(&a.median()));
    visits
}

/// What keys of a count take.
pub(crate) struct Keys {
    /// A digit, until it is painted.
    pub(crate) digit: Spread,
    /// A key of the barest list in the same kind of terminal.
    pub(crate) bare: Spread,
    /// Enter, until the line is kept and painted.
    pub(crate) kept: Spread,
    /// One row of a bare database, kept by the same promises.
    pub(crate) commit: Spread,
    /// Most memory of the program, in MB.
    pub(crate) memory: f64,
}

fn done(screen: &str) -> Option<usize> {
    let line = screen.lines().nth(2)?;
    let at = line.find(" of ")?;
    line[..at].rsplit(' ').next()?.parse().ok()
}

/// A copy that is written into, gone when it is dropped.
struct Copy(PathBuf);

impl Copy {
    fn of(book: &Book) -> Copy {
        let copy = book.path.with_extension("copy.tantalus");
        std::fs::copy(&book.path, &copy).expect("a copy of the book");
        copied(&copy, book);
        Copy(copy)
    }
}

impl Drop for Copy {
    fn drop(&mut self) {
        for end in ["", "-wal", "-shm"] {
            let _ = std::fs::remove_file(format!("{}{end}", self.0.display()));
        }
        for folder in ["here", "copies"] {
            let _ = std::fs::remove_dir_all(format!("{}.{folder}", self.0.display()));
        }
    }
}

pub(crate) fn keys(book: &Book) -> Keys {
    let copy = Copy::of(book);
    let mut screen = open(&copy.0, book.now);
    screen.until_text("help");
    key(&mut screen, "C", |s| s.contains("Choose what to walk"));
    key(&mut screen, "\r", |s| done(s) == Some(0));
    if screen.shown().contains("one key,") {
        key(&mut screen, "m", |s| s.contains("typed,"));
    }
    let mut list = Session::start(CommandBuilder::new(example("bare_list")), 80, 24);
    list.until_text("Item 000");
    let (mut digit, mut bare) = (Vec::new(), Vec::new());
    for n in 0..500 {
        key(&mut screen, "2", |s| s.contains("Enter keeps it"));
        let before = screen.shown();
        digit.push(key(&mut screen, ".", |s| s != before));
        key(&mut screen, "\x1b", |s| !s.contains("Enter keeps it"));
        // Down and up again within the first window: two lines change, as they do when somebody types.
        let before = list.screen.screen().contents_formatted();
        list.press(if n % 2 == 0 { "j" } else { "k" });
        bare.push(list.until("the list", |s| s.contents_formatted() != before));
    }
    let kept = (0..150).map(|n| {
        if screen.shown().contains("one key,") {
            key(&mut screen, "m", |s| s.contains("typed,"));
        }
        key(&mut screen, "2", |s| s.contains("Enter keeps it"));
        let took = key(&mut screen, "\r", |s| done(s) == Some(n + 1));
        if screen.shown().contains("n goes on to") {
            key(&mut screen, "n", |s| !s.contains("n goes on to"));
        }
        took
    });
    let kept = Spread::of(kept.collect::<Vec<_>>());
    let memory = crate::memory::of_process(screen.child.process_id().expect("its number"));
    screen.press("\x03");
    screen.end();
    list.press("q");
    list.end();
    Keys { digit: Spread::of(digit), bare: Spread::of(bare), kept, commit: commits(), memory }
}

fn commits() -> Spread {
    let folder = tempfile::tempdir().expect("a folder");
    let bare = rusqlite::Connection::open(folder.path().join("bare.db")).expect("a file");
    bare.execute_batch("PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL; CREATE TABLE t (a INTEGER) STRICT;")
        .expect("a table");
    let commit = |n: i64| {
        let begun = Instant::now();
        bare.execute("INSERT INTO t VALUES (?1)", [n]).expect("a row");
        begun.elapsed()
    };
    Spread::of((0..150).map(commit))
}
