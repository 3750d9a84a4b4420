//! How quick the screens are: the real binary in a pseudo-terminal, from the key written to the moment a terminal
//! parser shows what it did. On the demo bar and on a made-up bar with five years of trade.
//!
//! `cargo bench --bench screens` prints a table; see benches/README.md.

#[path = "../tests/support/pty.rs"]
mod pty;

use portable_pty::CommandBuilder;
use pty::Session;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::{Duration, Instant};

const BIN: &str = env!("CARGO_BIN_EXE_tantalus");

/// The program on a book, in a window of 80 by 24.
fn open(book: &str) -> Session {
    let mut command = CommandBuilder::new(BIN);
    command.args(["--book", book]);
    command.env("TERM", "xterm-256color");
    Session::start(command, 80, 24)
}

/// From the key written to the picture wanted.
fn key(screen: &mut Session, bytes: &str, wanted: impl Fn(&str) -> bool) -> Duration {
    screen.press(bytes);
    screen.until(bytes, |s| wanted(&s.contents()))
}

fn quit(mut screen: Session) {
    screen.press("\x03");
    screen.end();
}

/// Median and 99th percentile in milliseconds.
fn told(mut times: Vec<Duration>) -> String {
    times.sort();
    let at = |share: f64| times[((times.len() - 1) as f64 * share).round() as usize].as_secs_f64() * 1_000.0;
    format!("median {:7.2} ms   99th percentile {:7.2} ms   ({} times)", at(0.5), at(0.99), times.len())
}

/// What the harness itself costs: a program that only echoes, in the same kind of terminal.
fn echo() -> Vec<Duration> {
    let mut cat = Session::start(CommandBuilder::new("cat"), 80, 24);
    let echoed = |n: usize| move |s: &str| s.matches('#').count() > n;
    (0..400).map(|n| key(&mut cat, "#", echoed(n))).collect()
}

/// What the disk costs: one row in a file of its own, with the promises of a book (write-ahead log, full sync).
fn commits() -> Vec<Duration> {
    let folder = tempfile::tempdir().expect("a folder");
    let bare = rusqlite::Connection::open(folder.path().join("bare.db")).expect("a file");
    bare.execute_batch("PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL; CREATE TABLE t (a INTEGER) STRICT;")
        .expect("a table");
    let commit = |n: i64| {
        let begun = Instant::now();
        bare.execute("INSERT INTO t VALUES (?1)", [n]).expect("a row");
        begun.elapsed()
    };
    (0..150).map(commit).collect()
}

fn done(screen: &str) -> Option<usize> {
    let line = screen.lines().nth(2)?;
    let at = line.find(" of ")?;
    line[..at].rsplit(' ').next()?.parse().ok()
}

fn measure(name: &str, book: &Path) {
    let book = book.to_str().expect("a path in UTF-8");
    let fresh = std::env::temp_dir().join(format!("tantalus-bench-{}.tantalus", std::process::id()));
    std::fs::copy(book, &fresh).expect("a copy of the book");
    let book = fresh.to_str().expect("a path in UTF-8");
    println!("{name}");

    let starts = (0..25).map(|_| {
        let begun = Instant::now();
        let mut screen = open(book);
        screen.until("the first screen", |s| s.contents().contains("help") && s.contents().contains("Tonight"));
        let took = begun.elapsed();
        quit(screen);
        took
    });
    println!("  start to first full screen   {}", told(starts.collect()));

    let mut screen = open(book);
    screen.until_text("help");
    key(&mut screen, "C", |s| s.contains("Choose what to walk"));
    key(&mut screen, "\r", |s| done(s) == Some(0));
    if screen.shown().contains("one key,") {
        key(&mut screen, "m", |s| s.contains("typed,"));
    }
    let (mut begin, mut digit, mut drop, mut keep) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    for _ in 0..400 {
        begin.push(key(&mut screen, "2", |s| s.contains("Enter keeps it")));
        let before = screen.shown();
        digit.push(key(&mut screen, ".", |s| s != before));
        drop.push(key(&mut screen, "\x1b", |s| !s.contains("Enter keeps it")));
    }
    for n in 0..150 {
        if screen.shown().contains("one key,") {
            key(&mut screen, "m", |s| s.contains("typed,"));
        }
        key(&mut screen, "2", |s| s.contains("Enter keeps it"));
        keep.push(key(&mut screen, "\r", |s| done(s) == Some(n + 1)));
        if screen.shown().contains("n goes on to") {
            key(&mut screen, "n", |s| !s.contains("n goes on to"));
        }
    }
    println!("  the pseudo-terminal's echo   {}", told(echo()));
    println!("  key to painted: begin typing {}", told(begin));
    println!("  key to painted: a digit      {}", told(digit));
    println!("  key to painted: Esc          {}", told(drop));
    println!("  a bare commit of one row     {}", told(commits()));
    println!("  Enter to painted and kept    {}", told(keep));
    quit(screen);

    let command = |args: &[&str]| {
        let begun = Instant::now();
        let done = Command::new(BIN).args(["--book", book]).args(args).output().expect("a command");
        assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
        begun.elapsed()
    };
    let variance = (0..15).map(|_| command(&["variance", "--json"]));
    println!("  one week's variance, command {}", told(variance.collect()));
    let check = (0..5).map(|_| command(&["check"]));
    println!("  the book looked through      {}", told(check.collect()));
    let nothing = (0..15).map(|_| {
        let begun = Instant::now();
        Command::new(BIN).arg("--version").output().expect("version");
        begun.elapsed()
    });
    println!("  of which starting a process  {}", told(nothing.collect()));
    for end in ["", "-wal", "-shm"] {
        let _ = std::fs::remove_file(format!("{book}{end}"));
    }
}

/// A book made once and kept under `target/`.
fn book(name: &str, make: impl Fn(&Path)) -> PathBuf {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("target/bench-books");
    std::fs::create_dir_all(&folder).expect("a folder");
    let path = folder.join(name);
    if !path.exists() {
        make(&path);
    }
    path
}

fn run(command: &mut Command) {
    assert!(command.status().expect("a command").success(), "{command:?}");
}

fn main() {
    let demo = book("demo.tantalus", |path| {
        let folder = path.with_extension("files");
        run(Command::new("cp").arg("-r").arg(concat!(env!("CARGO_MANIFEST_DIR"), "/demo-data")).arg(&folder));
        run(Command::new(BIN).arg("--book").arg(path).args(["init"]).arg(&folder));
    });
    measure("demo bar, ten weeks", &demo);
    let big = book("five-years.tantalus", |path| {
        let folder = path.with_extension("files");
        run(Command::new("cargo")
            .args(["run", "--release", "--quiet", "--example", "make_big_book", "--"])
            .arg(&folder)
            .arg("5"));
        run(Command::new(BIN).arg("--book").arg(path).args(["init"]).arg(&folder));
    });
    measure("made-up bar, five years, 1.5 million sales lines", &big);
}
