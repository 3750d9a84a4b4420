//! Files of the till and bills through the real screens: offered, looked at, taken in, explained; and a program that is
//! killed in the middle of a long file.

#![allow(clippy::unwrap_used)]

#[path = "support/demo.rs"]
mod demo;
#[path = "support/pty.rs"]
mod pty;

use pty::{Session, on_book};
use rand::{Rng, SeedableRng};
use std::fmt::Write;
use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;
use tantalus::desk;
use tantalus::domain::venue::Moment;
use tantalus::store::{Store, files, sales};

fn start(book: &Path) -> Session {
    let mut command = on_book(book, demo::NOW);
    command.args(["--by", "OM"]);
    command.env("NO_COLOR", "1");
    Session::start(command, 120, 40)
}

fn run(book: &Path, args: &[&str]) -> String {
    let mut command = Command::new(env!("CARGO_BIN_EXE_tantalus"));
    command.args(args).args(["--book", book.to_str().unwrap()]).env("TANTALUS_NOW", demo::NOW);
    let done = command.output().unwrap();
    assert!(done.status.success(), "{args:?}: {}", String::from_utf8_lossy(&done.stderr));
    String::from_utf8(done.stdout).unwrap()
}

/// Gives the program so much time, and takes in what it shows.
fn pause(session: &mut Session, time: Duration) {
    std::thread::sleep(time);
    session.catch_up();
}

/// A report of the demo's last evening, its last name one that acts on a terminal.
const REPORT: &str = "The Ninth Lantern;;;;\nReport of the till;;;;\n\nDate;Time;Receipt;Item;Quantity;Net\n\
    2026-11-22;21:14;90001;HOUSE PUNCH DBL;2;21.00\n2026-11-22;21:20;90002;BAG;1;0.10\n\
    2026-11-22;21:25;90003;EVIL\u{1b}]52;c;AAAA\u{7}NAME;1;5.00\n;;;Total;4;26.10\n";

#[test]
fn sales_come_in_from_the_watched_folder_and_their_names_are_explained() {
    let home = tempfile::tempdir().unwrap();
    let book = demo::book(home.path());
    let inbox = home.path().join("inbox");
    fs::create_dir(&inbox).unwrap();
    // A semicolon within the planted name would end its cell.
    fs::write(inbox.join("week 47.csv"), REPORT.replace("]52;c;", "]52.c.")).unwrap();
    let setting = home.path().join("setting");
    fs::create_dir(&setting).unwrap();
    fs::write(setting.join("venue.csv"), format!("key,value\nwatch_folder,{}\n", inbox.display())).unwrap();
    run(&book, &["load", setting.to_str().unwrap()]);

    let mut session = start(&book);
    session.until_text("New in the watched folder");
    session.until_text("week 47.csv");
    // From the top down to it.
    for _ in 0..40 {
        if session.screen.screen().contents().contains("Enter shows what it would bring in") {
            break;
        }
        session.press("j");
        pause(&mut session, Duration::from_millis(40));
    }
    session.press("\r");
    session.until_text("the first lines as they would be taken in");
    session.until_text("HOUSE PUNCH DBL");
    session.press("x");
    session.until_text("week 47.csv: 3 lines new");
    session.until_text("names wait");
    // The likeliest drink for the one, no stock for the other.
    session.press("/");
    session.press("\x1b");
    let waiting = desk::till::view(&Store::open(&book).unwrap(), demo::now()).unwrap();
    let names: Vec<String> = waiting.rows[..waiting.waiting()]
        .iter()
        .map(|r| waiting.setup.till_name(r.till).unwrap().name.clone())
        .collect();
    assert!(names.iter().any(|n| n == "HOUSE PUNCH DBL") && names.iter().any(|n| n == "BAG"), "{names:?}");
    let at = names.iter().position(|n| n == "BAG").unwrap();
    session.press(&"j".repeat(at));
    session.press("0");
    pause(&mut session, Duration::from_millis(300));
    let after = desk::till::view(&Store::open(&book).unwrap(), demo::now()).unwrap();
    assert_eq!(after.waiting(), names.len() - 1, "one key explains one name");
    session.press("u");
    pause(&mut session, Duration::from_millis(300));
    let after = desk::till::view(&Store::open(&book).unwrap(), demo::now()).unwrap();
    assert_eq!(after.waiting(), names.len(), "and another takes it back");
    // What a name holds never reaches the terminal as what it is.
    session.press("T");
    session.until_text("Closing count");
    assert!(!session.screen.screen().contents().contains("New in the watched folder"), "it is taken in");
    assert!(!session.raw.windows(5).any(|bytes| bytes == b"\x1b]52."), "a planted sequence came through");
    session.press("q");
    session.end();
}

#[test]
fn a_file_that_nobody_can_read_says_so_and_the_program_goes_on() {
    let home = tempfile::tempdir().unwrap();
    let book = demo::book(home.path());
    let broken = home.path().join("broken.zip");
    fs::write(&broken, b"PK\x03\x04 and then nothing").unwrap();
    let mut session = start(&book);
    session.until_text("Closing count");
    for (screen, says) in [("I", "broken.zip"), ("R", "broken.zip")] {
        session.press(screen);
        session.press("f");
        session.until_text("Enter");
        session.press(broken.to_str().unwrap());
        session.press("\r");
        session.until_text(says);
        pause(&mut session, Duration::from_millis(200));
    }
    session.press("T");
    session.until_text("Closing count");
    session.press("q");
    session.end();
}

/// A report of many lines, which takes long enough to be killed in.
fn long_report(path: &Path, lines: usize) {
    let mut text = "Date;Time;Receipt;Item;Quantity;Net\n".to_owned();
    for n in 0..lines {
        let _ =
            writeln!(text, "2026-11-{:02};{:02}:{:02};{n};Long drink {};1;7.50", 1 + n % 20, n % 24, n % 60, n % 90);
    }
    fs::write(path, text).unwrap();
}

#[test]
fn killed_in_the_middle_of_a_file_the_book_is_as_it_was_or_has_all_of_it() {
    const LINES: usize = 60_000;
    let home = tempfile::tempdir().unwrap();
    let book = demo::book(home.path());
    let report = home.path().join("long.csv");
    long_report(&report, LINES);
    let lines = || -> i64 {
        let store = Store::open(&book).unwrap();
        store.read(|c| sales::rung(c, Moment(0))).unwrap().iter().map(|(_, rung)| rung.lines).sum()
    };
    let before = lines();
    let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(5);
    for _ in 0..12 {
        let mut command = Command::new(env!("CARGO_BIN_EXE_tantalus"));
        command.args(["sales", report.to_str().unwrap(), "--keep-as", "long", "--book", book.to_str().unwrap()]);
        command.env("TANTALUS_NOW", demo::NOW).stdout(Stdio::null()).stderr(Stdio::null());
        let mut child = command.spawn().unwrap();
        std::thread::sleep(Duration::from_millis(random.random_range(5..1_500)));
        child.kill().unwrap();
        child.wait().unwrap();
        let store = Store::open(&book).unwrap();
        let findings = desk::check::check(&store).unwrap();
        assert!(findings.is_empty(), "{findings:?}");
        let taken = store.read(files::in_force).unwrap().len();
        drop(store);
        let now = lines();
        assert!(
            (now, taken) == (before, 0) || (now, taken) == (before + LINES as i64, 1),
            "{now} of {before}, {taken}"
        );
        if taken > 0 {
            break;
        }
    }
    run(&book, &["sales", report.to_str().unwrap(), "--keep-as", "long"]);
    assert_eq!(lines(), before + LINES as i64, "and it comes in afterwards, once");
}
