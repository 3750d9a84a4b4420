//! What the stock was worth at each of the last counts.

use crate::domain::measure::Money;
use crate::domain::venue::{Kind, Moment};
use chrono::NaiveDate;

/// What stock was worth once a count was closed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WorthAt {
    /// The business day of the count.
    pub day: NaiveDate,
    /// Its last look.
    pub at: Moment,
    /// All of it.
    pub total: Money,
    /// Kind by kind, those that are worth anything.
    pub kinds: Vec<(Kind, Money)>,
    /// Items that were there and of no known cost.
    pub without_cost: usize,
}

impl WorthAt {
    /// What a kind was worth.
    pub fn of(&self, kind: Kind) -> Money {
        self.kinds.iter().find(|(of, _)| *of == kind).map_or(Money::ZERO, |(_, worth)| *worth)
    }
}

/// The kinds that were worth anything at any of them, in the order of the book's list.
pub fn worth_kinds(over: &[WorthAt]) -> Vec<Kind> {
    Kind::ALL.iter().copied().filter(|kind| over.iter().any(|at| at.of(*kind) != Money::ZERO)).collect()
}
