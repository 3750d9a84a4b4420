//! What is due tonight.

use crate::domain::drink::BatchLeft;
use crate::domain::gauge::Level;
use crate::domain::ledger::Count;
use crate::domain::measure::{Amount, Money};
use crate::domain::order::Totals;
use crate::domain::rows::{DryRow, Progress};
use crate::domain::usage::Unmapped;
use crate::domain::venue::{ItemId, Moment, OrderId, PlaceId, SupplierId};
use chrono::NaiveDate;

/// Everything the first screen shows.
#[derive(Clone, Debug, Default)]
pub struct Tonight {
    /// The evening it is.
    pub day: NaiveDate,
    /// A count that was begun and not closed.
    pub open_count: Option<(Count, Progress)>,
    /// Whether this evening was counted already.
    pub counted: bool,
    /// When each place was last counted, in walking order.
    pub places: Vec<(PlaceId, Option<Moment>)>,
    /// Suppliers with a deadline to come, the nearest first.
    pub deadlines: Vec<DeadlineRow>,
    /// Orders sent and not received, the earliest first.
    pub expected: Vec<ExpectedRow>,
    /// What is to be expected is being worked out: nothing is said yet of what runs dry, what is low and what to order.
    pub working_out: bool,
    /// Items that will run dry before anything of them comes, the soonest first.
    pub dry: Vec<DryRow>,
    /// Items below par, those with the least left of it first.
    pub low: Vec<LowRow>,
    /// Batches past their date by the bar's own setting, the oldest first.
    pub past_date: Vec<PastDateRow>,
    /// What is to be claimed, by supplier, the most money first.
    pub claims: Vec<ClaimsRow>,
    /// Till names that mean nothing yet, by sales of the last four weeks.
    pub unmapped: Vec<(String, Unmapped)>,
}

/// What is to be claimed from a supplier.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ClaimsRow {
    /// From whom.
    pub supplier: SupplierId,
    /// How many claims.
    pub claims: usize,
    /// How much, without tax.
    pub money: Money,
    /// When the oldest was put down.
    pub since: Moment,
}

/// Days after its date that a batch of an item that is never counted is still named.
const FORGOTTEN: i64 = 14;

/// A batch past its date.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PastDateRow {
    /// What was made.
    pub item: ItemId,
    /// When it was made.
    pub made: NaiveDate,
    /// The last day it kept.
    pub use_by: NaiveDate,
    /// What is left of it when the oldest goes first; nothing known of an item that was never counted.
    pub left: Option<Amount>,
}

impl PastDateRow {
    /// Of a batch of which something may be left, if its date is past on a business day.
    pub fn of(left: &BatchLeft, day: NaiveDate) -> Option<PastDateRow> {
        let use_by = left.use_by?.day;
        let row = PastDateRow { item: left.batch.item, made: left.made, use_by, left: left.left };
        // Where nobody counts, what is long past its date is most likely gone.
        let forgotten = left.left.is_none() && (day - use_by).num_days() > FORGOTTEN;
        (use_by < day && !forgotten).then_some(row)
    }
}

/// A supplier's next deadline.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DeadlineRow {
    /// Who.
    pub supplier: SupplierId,
    /// The last moment to order.
    pub by: Moment,
    /// When it comes.
    pub comes: NaiveDate,
    /// What would be ordered; nothing while that is being worked out.
    pub order: Option<DeadlineOrder>,
}

/// What would be ordered of a supplier.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DeadlineOrder {
    /// Lines of it.
    pub lines: usize,
    /// What they cost.
    pub totals: Totals,
}

/// A delivery to come.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ExpectedRow {
    /// The order.
    pub order: OrderId,
    /// What it is called.
    pub name: String,
    /// From whom.
    pub supplier: SupplierId,
    /// The date it should come.
    pub expected: Option<NaiveDate>,
    /// Its date is past.
    pub late: bool,
    /// Its lines.
    pub lines: usize,
}

/// An item that is running low.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LowRow {
    /// What.
    pub item: ItemId,
    /// What should be there.
    pub on_hand: Level,
    /// The level to fill up to.
    pub par: Amount,
    /// With a supplier already.
    pub on_order: Amount,
    /// Made here, not bought.
    pub made_here: bool,
}

/// What can be counted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CountChoice {
    /// In words: `All of the bar`, `Speed rail`.
    pub label: String,
    /// Which places.
    pub places: Vec<PlaceId>,
    /// Lines to walk.
    pub lines: usize,
    /// When these places were last counted, all of them.
    pub last: Option<Moment>,
    /// When any of them was last counted: a sheet that was filled in before is older than what the book has.
    pub newest: Option<Moment>,
    /// The mark of a sheet of these places, as it would be printed now.
    pub mark: String,
}

/// One item on the Stock screen.
#[derive(Clone, Debug, PartialEq)]
pub struct StockRow {
    /// What.
    pub item: ItemId,
    /// How much there should be; `None` when it was never counted.
    pub on_hand: Option<Level>,
    /// What it is worth at the price last paid; `None` when no price is known.
    pub value: Option<Money>,
    /// The level to fill up to.
    pub par: Option<Amount>,
    /// With a supplier already.
    pub on_order: Amount,
    /// When it was last counted.
    pub counted: Option<Moment>,
    /// What sales took since.
    pub sold: Amount,
    /// How much there should be in each of its places.
    pub places: Vec<(PlaceId, Amount)>,
}
