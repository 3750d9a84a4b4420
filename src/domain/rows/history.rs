//! What was done to the book, in words: one line for each act, and what became of which rows by it.

mod cells;
mod told;

pub use told::{LineTold, Telling};

use crate::domain::ledger::Act;
use crate::domain::venue::{ActId, Person, Setup};
use std::sync::Arc;

/// One act of the history.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ActRow {
    /// What was done, when and by whom.
    pub act: Act,
    /// What it came to, in a few sentences; the rest is told by number.
    pub said: Vec<String>,
    /// The act that took it back, where one did and was not taken back itself.
    pub undone: Option<ActId>,
}

/// Somebody who signs here.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PersonRow {
    /// Who.
    pub person: Person,
    /// Whether there is a PIN to give.
    pub has_pin: bool,
}

/// The acts that are looked at, the newest first.
#[derive(Clone, Debug)]
pub struct HistoryView {
    /// The set-up as it is.
    pub setup: Arc<Setup>,
    /// The acts.
    pub acts: Vec<ActRow>,
    /// Whether there are earlier ones.
    pub more: bool,
}
