//! A disk that becomes full at every position of the work, a folder or a book that cannot be written: the program says so
//! in words, keeps what it had accepted, and goes on once there is room.
//!
//! `cargo bench --bench full_disk -- [SEED]`. Needs Linux and the right to mount within a namespace of its own: root, or
//! unprivileged user namespaces (`unshare -rm true` must work). Status 1 when anything does not hold.
//!
//! A disk of its own in memory is made so small that 0, 1, 2, 3 … pages of 4,096 bytes are free, until the work needs no
//! more: commands that count, set a par, take a report of the till in; a new book; an older book that is brought up to
//! date; a count on the screens. After every refusal the disk is made larger: the book must hold what it held before,
//! the refused command must be accepted then, and what comes of it must be what comes of it elsewhere. At the end every
//! message that was said is printed, for people to read.
//!
//! What this does not prove: how other file systems run out of room (quotas, room that is promised and then not there), or
//! a disk that fails in another way than by being full.

#[path = "../tests/support/full.rs"]
mod full;
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
#[path = "../tests/support/walk.rs"]
mod walk;
#[path = "../tests/support/work.rs"]
mod work;

use full::Full;
use std::process::{Command, ExitCode};

/// Says to this program that it runs in a namespace of its own.
const INSIDE: &str = "--inside";

fn main() -> ExitCode {
    let seed = proof::numbers().first().copied().unwrap_or(1);
    if std::env::args().any(|argument| argument == INSIDE) {
        return proof::proves(|| all(seed));
    }
    proof::proves(|| {
        let program = std::env::current_exe().map_err(|error| error.to_string())?;
        for options in ["-m", "-rm"] {
            let may = Command::new("unshare").args([options, "true"]).output();
            if may.is_ok_and(|output| output.status.success()) {
                let mut command = Command::new("unshare");
                command.arg(options).arg(&program).args([INSIDE, &seed.to_string()]);
                let status = command.status().map_err(|error| error.to_string())?;
                return if status.success() { Ok(()) } else { Err("see above".to_owned()) };
            }
        }
        Err("a small disk cannot be mounted here: run it as root, or where `unshare -rm true` works".to_owned())
    })
}

fn all(seed: u64) -> Result<(), String> {
    println!("full_disk: seed {seed}");
    let home = tempfile::tempdir().map_err(|error| error.to_string())?;
    let mut full = Full::new(home.path(), seed)?;
    let done = full
        .work()
        .and_then(|()| full.new_book())
        .and_then(|()| full.older())
        .and_then(|()| full.screens())
        .and_then(|()| full.not_to_be_written());
    print!("{}", full.told());
    full.leave();
    done
}
