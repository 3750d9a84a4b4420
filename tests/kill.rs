//! Killed with -9 in the middle of a count, again and again: every line that was shown as kept is in the book, and the
//! book is sound. `cargo bench --bench kills` does so a thousand times, with everything else that is written.

#![allow(clippy::unwrap_used)]

#[path = "support/demo.rs"]
mod demo;
#[path = "support/pty.rs"]
mod pty;
#[path = "support/walk.rs"]
mod walk;

use rand::{Rng, SeedableRng};
use std::time::Duration;

const ROUNDS: usize = 16;

#[test]
fn what_was_shown_as_kept_is_kept() {
    let folder = tempfile::tempdir().unwrap();
    let book = demo::book(folder.path());
    let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(11);
    let mut session = walk::start(&book, demo::NOW);
    walk::count(&mut session, None);
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
        let screen = walk::killed(&mut session);
        let kept = walk::in_book(&book).unwrap();
        if let Err(lost) = walk::holds(&screen, session.typing_row(), &kept) {
            panic!("round {round}: {lost}");
        }
        session = walk::start(&book, demo::NOW);
        walk::count(&mut session, Some(kept.len()));
    }
    session.press("\x03");
    session.end();
    let kept = walk::in_book(&book).unwrap().len();
    assert!(kept > 20, "the walk got somewhere: {kept} lines");
}
