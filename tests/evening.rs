//! The real binary through a whole evening in a pseudo-terminal: a loss, the count, the variance, a delivery, an order,
//! and out; then the commands say that all of it is in the book.

#![allow(clippy::unwrap_used)]

#[path = "support/demo.rs"]
mod demo;
#[path = "support/pty.rs"]
mod pty;

use portable_pty::PtySize;
use pty::{Session, on_book};
use std::path::Path;
use std::process::Command;

fn run(book: &Path, args: &[&str]) -> String {
    let mut command = Command::new(env!("CARGO_BIN_EXE_tantalus"));
    let done = command.arg("--book").arg(book).args(args).env("TANTALUS_NOW", demo::NOW).output().unwrap();
    assert!(done.status.success(), "{args:?}: {}", String::from_utf8_lossy(&done.stderr));
    String::from_utf8(done.stdout).unwrap()
}

fn json(book: &Path, args: &[&str]) -> serde_json::Value {
    serde_json::from_str(&run(book, args)).unwrap()
}

fn start(book: &Path, by: &str) -> Session {
    let mut command = on_book(book, demo::NOW);
    command.args(["--by", by]);
    command.cwd(book.parent().unwrap());
    Session::start(command, 100, 30)
}

#[test]
fn an_evening() {
    let folder = tempfile::tempdir().unwrap();
    let book = demo::book(folder.path());
    let counts_before = json(&book, &["count", "--json"])["counts"].as_array().unwrap().len();
    let mut bar = start(&book, "TV");
    bar.until_text("Closing count");

    // A glass went over.
    bar.press_until("L", "new loss");
    bar.press("a");
    bar.press("Ostelbrine\r");
    bar.press("60 ml\r");
    bar.press("b\r");
    bar.press("S\r");
    bar.press("\r");
    bar.press_until("knocked over\r", "written down: Ostelbrine Gold Rum, breakage");

    // The rail is counted: typed, one taken back and entered anew, the rest as expected; a resize in between.
    bar.press_until("C", "Choose what to walk");
    bar.press("j");
    bar.until("the cursor on the rail", |s| s.contents().contains("Speed rail"));
    bar.press_until("w", "count sheet Speed rail.pdf, in");
    bar.press("\r");
    bar.until_text("0 of 27 lines");
    if bar.shown().contains("one key,") {
        bar.press_until("m", "typed,");
    }
    bar.press_until("1.4\r", "1 of 27");
    bar.press_until("9.9\r", "2 of 27");
    bar.press_until("u", "taken back");
    bar.press_until(".5\r", "2 of 27");
    bar.master.resize(PtySize { rows: 24, cols: 80, pixel_width: 0, pixel_height: 0 }).unwrap();
    // One more by eye and one on the scale, which says what that is as it is typed.
    bar.press_until(".6\r", "3 of 27");
    bar.press_until("900g", "here");
    bar.press_until("\r", "4 of 27");
    bar.press_until(".45\r", "5 of 27");
    for n in 6..=27 {
        bar.press_until("\r", &format!("{n} of 27"));
    }
    bar.press_until("d", "is done");
    bar.press_until("x", "Once closed it stays");
    bar.press_until("\r", "the count is closed and kept");

    // Four were read by eye: they are weighed as well, one of them first with a slip.
    bar.until_text("Weigh them now?");
    bar.press_until("\r", "How good is the eye of TV?");
    bar.press_until("90\r", "lighter than an empty container");
    bar.press_until("\x1b", "type weight");
    for n in 1..=4 {
        bar.press("900\r");
        bar.until("the weight kept", |s| s.contents().matches("900g").count() == n);
    }
    bar.until_text("Thank you. Your eye");
    bar.press_until("\x1b", "Choose what to walk");

    // What it came to is a manager's.
    bar.press_until("V", "W signs a manager in");
    bar.press_until("W", "Who is at the screen?");
    bar.press_until("om\r", "OM 01:30");
    bar.press_until("V", "as sold");

    // An order goes out.
    bar.press_until("O", "suggested");
    bar.press_until("w", "written:");
    bar.press_until("x", "Enter");
    bar.press_until("\r", "marked as sent");

    // Its van comes at once: booked as ordered, but for one line that is not there and stays on order.
    bar.press_until("R", "rest as ordered");
    bar.press("0\r");
    bar.press("A");
    bar.press("\r");
    bar.press("x");
    bar.press_until("\r", "What of the rest?");
    bar.press_until("\r", "booked into stock");

    bar.press("q");
    bar.end();

    let counts = json(&book, &["count", "--json"]);
    let counts = counts["counts"].as_array().unwrap();
    assert_eq!(counts.len(), counts_before + 1);
    assert!(counts[0]["name"].as_str().unwrap().contains("Speed rail"), "{}", counts[0]);
    let dumped = folder.path().join("dump");
    run(&book, &["dump", dumped.to_str().unwrap()]);
    let file = |name: &str| std::fs::read_to_string(dumped.join(name)).unwrap();
    assert!(file("losses.csv").contains("Ostelbrine Gold Rum,60 ml,breakage,Speed rail,TV,knocked over"));
    assert!(
        file("counts.csv").lines().filter(|l| l.contains("Speed rail,") && l.contains(",expected,TV")).count() == 22
    );
    assert!(!file("counts.csv").contains(",9,.9,"), "what was taken back is not in force");
    assert_eq!(file("counts.csv").lines().filter(|l| l.contains(",0,900g,weight,TV")).count(), 1);
    assert_eq!(file("weighings.csv").lines().filter(|l| l.ends_with("Speed rail,TV")).count(), 4);
    let files: Vec<_> = std::fs::read_dir(folder.path().join("orders")).unwrap().collect();
    assert_eq!(files.len(), 6, "the order in five forms, and the sheet of the rail");
    run(&book, &["check"]);
}

/// A key pressed at the very moment the window gets another size is not kept back until the next one.
#[test]
fn keys_come_through_while_the_window_changes() {
    let folder = tempfile::tempdir().unwrap();
    let book = demo::book(folder.path());
    let mut bar = start(&book, "TV");
    bar.until_text("Closing count");
    bar.press_until("/", "Enter");
    let mut typed = String::new();
    for (n, letter) in ('a'..='z').enumerate() {
        let rows = if n % 2 == 0 { 24 } else { 30 };
        bar.master.resize(PtySize { rows, cols: 100, pixel_width: 0, pixel_height: 0 }).unwrap();
        typed.push(letter);
        bar.press_until(&letter.to_string(), &typed);
    }
    bar.press("\x1b");
    bar.until("the search closed", |s| !s.contents().contains(&typed));
    bar.press("q");
    bar.end();
}
