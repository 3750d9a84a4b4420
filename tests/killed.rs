//! Killed with -9 in the middle of commands that write, of an older book that is brought up to date, and of a book that is
//! made: all of it is there, or nothing; and all of it where the program had said so. `kill.rs` is the same for a count on
//! the screens; `cargo bench --bench kills` goes on for a thousand rounds.

#[path = "support/kept.rs"]
mod kept;
#[path = "support/older.rs"]
mod older;
#[path = "support/paper.rs"]
mod paper;
#[path = "support/pty.rs"]
mod pty;
#[path = "support/slain.rs"]
mod slain;
#[path = "support/slain_screens.rs"]
mod slain_screens;
#[path = "support/walk.rs"]
mod walk;
#[path = "support/work.rs"]
mod work;

use slain::Slain;
use work::Sort;

const SEED: u64 = 3;

fn rounds(number: usize, mut round: impl FnMut(&mut Slain, usize) -> Result<(), String>) {
    let folder = tempfile::tempdir().expect("a folder");
    let mut slain = Slain::new(folder.path(), SEED).expect("a bar");
    for n in 0..number {
        if let Err(lost) = round(&mut slain, n) {
            panic!("round {n}: {lost}");
        }
    }
}

#[test]
fn a_command_that_was_killed_did_all_or_nothing() {
    rounds(3 * Sort::ALL.len(), |slain, n| slain.command(Sort::ALL[n % Sort::ALL.len()]));
}

#[test]
fn an_older_book_is_old_or_new_and_whole_and_its_copy_is_there() {
    rounds(8, |slain, _| slain.bringing_up_to_date());
}

#[test]
fn a_book_that_is_made_is_there_with_all_or_not_at_all() {
    rounds(6, |slain, _| slain.making());
}

#[test]
fn an_order_on_the_screens_is_as_it_was_shown() {
    rounds(4, |slain, _| slain.ordering());
}

#[test]
fn a_delivery_on_the_screens_is_looked_at_as_it_was_shown() {
    rounds(4, |slain, _| slain.checking());
}
