//! Killed with -9 at random moments, in everything that writes: what the program had said it kept is in the book, of what
//! it had not yet said at most one entry is, and the book opens and is sound.
//!
//! `cargo bench --bench kills -- [ROUNDS] [SEED]` (1,000 rounds and seed 1 unless said), or `-- positions [SEED]` to be
//! killed at the calls that write, sync, cut, name or take away a file, one by one (needs strace). Status 1 when
//! anything does not hold.
//!
//! How it is known what must be there: every command is first run to its end on a copy of the book. After a kill the book
//! is either what it was, row by row of all plain files, or what the copy is; and it is what the copy is when the command
//! had said that it was done. On the screens an entry counts as kept once its mark is painted.
//!
//! What this does not prove: a killed program loses nothing that it had handed to the system. What a power cut takes is
//! the matter of the bench `power`.

#[path = "../tests/support/kept.rs"]
mod kept;
#[path = "../tests/support/older.rs"]
mod older;
#[path = "../tests/support/paper.rs"]
mod paper;
#[path = "../tests/support/proof.rs"]
mod proof;
#[path = "../tests/support/pty.rs"]
mod pty;
#[path = "../tests/support/slain.rs"]
mod slain;
#[path = "../tests/support/slain_screens.rs"]
mod slain_screens;
#[path = "../tests/support/walk.rs"]
mod walk;
#[path = "../tests/support/work.rs"]
mod work;

use slain::Slain;
use std::process::ExitCode;
use work::Sort;

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().collect();
    if let [_, word, from, to] = arguments.as_slice()
        && word == "--copy"
    {
        return proof::proves(|| slain::copy(from.as_ref(), to.as_ref()));
    }
    let numbers = proof::numbers();
    proof::proves(|| {
        if arguments.iter().any(|argument| argument == "positions") {
            return positions(numbers.first().copied().unwrap_or(1));
        }
        kills(numbers.first().copied().unwrap_or(1_000), numbers.get(1).copied().unwrap_or(1))
    })
}

/// A round of some sort, which adds to what was found.
type Round = fn(&mut Slain) -> Result<(), String>;

fn kills(rounds: u64, seed: u64) -> Result<(), String> {
    println!("kills: {rounds} rounds, seed {seed}");
    let folder = tempfile::tempdir().map_err(|error| error.to_string())?;
    let mut slain = Slain::new(folder.path(), seed)?;
    // So many of a hundred rounds; what is left goes to the commands.
    let shares: [(u64, Round); 7] = [
        (16, Slain::counting_slowly),
        (14, Slain::counting_fast),
        (8, Slain::ordering),
        (8, Slain::checking),
        (10, Slain::bringing_up_to_date),
        (8, Slain::copying),
        (4, Slain::making),
    ];
    for round in 0..rounds {
        let mut left = round * 37 % 100;
        let chosen = shares.iter().find(|(share, _)| {
            let found = left < *share;
            left = left.saturating_sub(*share);
            found
        });
        let done = match chosen {
            Some((_, round)) => round(&mut slain),
            None => slain.any_command(),
        };
        if let Err(refused) = done {
            let kept = folder.keep();
            return Err(format!("round {round}: {refused}\nthe files are in {}", kept.display()));
        }
    }
    print!("{}", slain.told());
    Ok(())
}

fn positions(seed: u64) -> Result<(), String> {
    println!("kills at the calls that write: seed {seed}");
    let folder = tempfile::tempdir().map_err(|error| error.to_string())?;
    let mut slain = Slain::new(folder.path(), seed)?;
    for sort in Sort::ALL {
        if let Err(refused) = slain.at_every_call(sort) {
            let kept = folder.keep();
            return Err(format!("{sort:?}: {refused}\nthe files are in {}", kept.display()));
        }
    }
    print!("{}", slain.told());
    Ok(())
}
