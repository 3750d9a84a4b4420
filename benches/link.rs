//! The screens over a slow line: the real binary in a pseudo-terminal whose two ways each take 75 ms, as a line of 150 ms there
//! and back. How long after a key its picture is there, beside the line alone; how many bytes a key costs; that keys typed ahead
//! are never lost, at a person's pace, all at once, and after the line stood still.
//!
//! `cargo bench --bench link` prints the figures; see benches/README.md.

#[path = "../tests/support/demo.rs"]
mod demo;
#[path = "../tests/support/pty.rs"]
mod pty;

use portable_pty::CommandBuilder;
use pty::{Session, on_book};
use std::path::Path;
use std::time::{Duration, Instant};

/// Each way.
const ONE_WAY: Duration = Duration::from_millis(75);
/// Between two keys of somebody who types well: 0.12 s, good typist of Card, Moran and Newell (1980).
const PACE: Duration = Duration::from_millis(120);
/// Lines of the demo's speed rail.
const RAIL: usize = 27;

/// The count of the speed rail, entries typed out, over the line.
fn counting(book: &Path) -> Session {
    let mut command = on_book(book, demo::NOW);
    command.args(["--by", "OM"]);
    let mut screen = Session::start_over(ONE_WAY, command, 80, 24);
    screen.until_text("Tonight");
    screen.press("C");
    screen.until_text("Choose what to walk");
    screen.press("j");
    screen.until("the rail", |s| s.contents().contains("Speed rail"));
    screen.press("\r");
    screen.until_text("0 of 27 lines");
    if screen.shown().contains("one key,") {
        screen.press("m");
        screen.until_text("typed,");
    }
    screen
}

fn told(mut times: Vec<Duration>) -> String {
    times.sort();
    let at = |share: f64| times[((times.len() - 1) as f64 * share).round() as usize].as_secs_f64() * 1_000.0;
    format!("median {:6.1} ms, longest {:6.1} ms, of {}", at(0.5), at(1.0), times.len())
}

fn fresh(book: &Path, name: &str) -> std::path::PathBuf {
    let own = book.with_file_name(format!("{name}.tantalus"));
    std::fs::copy(book, &own).expect("a copy of the book");
    own
}

fn main() {
    let folder = tempfile::tempdir().expect("a folder");
    let book = demo::book(folder.path());

    let mut cat = Session::start_over(ONE_WAY, CommandBuilder::new("cat"), 80, 24);
    let bare: Vec<Duration> = (1..=40)
        .map(|n| {
            let begun = Instant::now();
            cat.press("#");
            cat.until("the echo", |s| s.contents().matches('#').count() >= n);
            begun.elapsed()
        })
        .collect();
    println!("a line of 150 ms there and back");
    println!("  a character echoed by it alone          {}", told(bare));

    let mut screen = counting(&fresh(&book, "keys"));
    let sent = screen.raw.len();
    let mut keys = Vec::new();
    for n in 1..=20 {
        let begun = Instant::now();
        screen.press("j");
        let place = format!("{}/27", n + 1);
        screen.until(&place, |s| s.contents().contains(&place));
        keys.push(begun.elapsed());
    }
    println!("  the cursor one line down, painted       {}", told(keys));
    println!("  bytes for it, on average                {}", (screen.raw.len() - sent) / 20);
    screen.press("\x03");
    screen.end();

    let mut screen = counting(&fresh(&book, "entries"));
    let sent = screen.raw.len();
    let mut kept = Vec::new();
    for n in 1..=20 {
        let begun = Instant::now();
        screen.press(".7\r");
        let done = format!("{n} of 27 lines");
        screen.until(&done, |s| s.contents().contains(&done));
        kept.push(begun.elapsed());
    }
    println!("  an entry kept and painted               {}", told(kept));
    println!("  bytes for it, on average                {}", (screen.raw.len() - sent) / 20);
    screen.press("\x03");
    screen.end();

    // Typed ahead at a person's pace, never waiting for the picture.
    let mut screen = counting(&fresh(&book, "ahead"));
    let (begun, mut last) = (Instant::now(), Instant::now());
    for _ in 0..RAIL {
        for key in [".", "7", "\r"] {
            last = Instant::now();
            screen.press(key);
            std::thread::sleep(PACE);
        }
    }
    let typed = last.duration_since(begun).as_secs_f64();
    screen.until_text("27 of 27 lines");
    let behind = last.elapsed().as_secs_f64() * 1_000.0;
    println!("  27 entries typed ahead in {typed:.1} s, all kept; the last one painted {behind:.0} ms after its key");
    screen.press("\x03");
    screen.end();

    // All at once, as after a line that stood still.
    let mut screen = counting(&fresh(&book, "burst"));
    let begun = Instant::now();
    screen.press(&".7\r".repeat(RAIL));
    screen.until_text("27 of 27 lines");
    println!(
        "  27 entries that arrive at once, all kept and painted after {:.0} ms",
        begun.elapsed().as_secs_f64() * 1_000.0
    );
    screen.press("\x03");
    screen.end();

    // One key an entry, ten of them held back by the line: they are asked for, and entered.
    let mut screen = counting(&fresh(&book, "held"));
    screen.press("m");
    screen.until_text("one key,");
    screen.press("7777777777");
    screen.until_text("are no bar code");
    screen.press("\x1b");
    screen.until_text("10 of 27 lines");
    println!("  10 one-key entries that arrive at once are asked about, and kept");
    screen.press("\x03");
    screen.end();
}
