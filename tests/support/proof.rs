//! How a bench that proves something runs: what it is told, and how it ends.

#![allow(dead_code)]

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::process::ExitCode;

/// The numbers on the command line, in their order; `cargo bench` puts a word of its own among them.
pub(crate) fn numbers() -> Vec<u64> {
    std::env::args().skip(1).filter_map(|argument| argument.parse().ok()).collect()
}

/// Runs the proof; what does not hold is said, and the status is 1 then.
pub(crate) fn proves(what: impl FnOnce() -> Result<(), String>) -> ExitCode {
    match catch_unwind(AssertUnwindSafe(what)) {
        Ok(Ok(())) => ExitCode::SUCCESS,
        Ok(Err(refused)) => {
            eprintln!("FAILED: {refused}");
            ExitCode::from(1)
        }
        // The panic has said why.
        Err(_) => ExitCode::from(1),
    }
}
