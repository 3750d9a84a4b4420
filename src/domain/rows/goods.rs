//! Cost of goods used over a stretch of time.

use crate::domain::ledger::Count;
use crate::domain::usage::Goods;
use crate::domain::venue::Moment;
use chrono::NaiveDate;

/// What an end of a stretch is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum GoodsEnd {
    /// The last look of a count.
    Count(Count),
    /// Where a business day begins, or, at the end, where it ends.
    Day(NaiveDate),
    /// Within a business day that is not over: now.
    Now(NaiveDate),
}

/// Cost of goods used between two counts, or over some days.
#[derive(Clone, Debug)]
pub struct GoodsView {
    /// What it begins with.
    pub from: GoodsEnd,
    /// When that was.
    pub from_at: Moment,
    /// What it ends with.
    pub to: GoodsEnd,
    /// When that was.
    pub to_at: Moment,
    /// What was used.
    pub goods: Goods,
}
