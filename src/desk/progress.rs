//! Long work that tells how far it is, and may be stopped.

use crate::exchange::plain::Plain;
use std::ops::ControlFlow;

/// How far a long piece of work is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Progress {
    /// The file at hand.
    pub file: Plain,
    /// Its lines so far.
    pub rows: u64,
    /// Bytes done, of all files.
    pub bytes: u64,
    /// Bytes to do, of all files.
    pub total: u64,
}

/// Told how far the work is, now and then; may stop it.
pub type Watch<'w> = dyn FnMut(Progress) -> ControlFlow<()> + 'w;

/// Told how much of how much is done; may stop the work.
pub type Pace<'p> = dyn FnMut(u64, u64) -> ControlFlow<()> + 'p;

/// Watches nothing and stops nothing.
pub fn unwatched(_: Progress) -> ControlFlow<()> {
    ControlFlow::Continue(())
}
