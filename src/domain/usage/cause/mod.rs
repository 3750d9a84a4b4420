//! What probably made a gap: every cause that the facts allow, weighed against each other.
//!
//! Each cause says what the gap of an item, and of the items that it touches besides, should be in one period or in
//! several. How much likelier it makes the gaps than they are without any cause, times how often such a thing happens at
//! all, is its weight; the weights of all causes of a gap are shares of one (Bayes' rule). How often things happen is
//! common practice, no source: what matters is that the facts soon outweigh it.

mod dry;
mod facts;
mod instead;
mod pours;
mod ranked;
mod rung;
mod series;
mod whole;

pub use facts::{Awaited, Facts, PeriodFacts};
pub use ranked::{Suspect, suspects};

use super::budget::End;
use crate::domain::measure::Amount;
use crate::domain::venue::{CauseWord, DrinkId, ItemId, Moment, SupplierId, TillId};

/// A cause, with the figures that speak for it. Amounts in the item's base unit.
#[derive(Clone, Debug, PartialEq)]
pub enum Cause {
    /// Sealed containers were not seen by one of the counts.
    Overlooked {
        /// Which.
        end: End,
        /// How many.
        containers: i64,
        /// Whether the count beside the period has the gap the other way round; `None` where there is none yet.
        reversed: Option<bool>,
    },
    /// Sealed containers were counted twice by one of the counts.
    Twice {
        /// Which.
        end: End,
        /// How many.
        containers: i64,
        /// As above.
        reversed: Option<bool>,
    },
    /// A delivery is booked, and some of it did not come.
    NotCome {
        /// The delivery's document.
        document: String,
        /// Who brought it.
        supplier: SupplierId,
        /// When.
        at: Moment,
        /// How many of its containers.
        containers: i64,
        /// How many are booked.
        booked: i64,
    },
    /// Something came, and is not booked.
    NotBooked {
        /// The order with which it should have come, if there is one.
        order: Option<String>,
        /// How many containers.
        containers: i64,
    },
    /// Whole containers went that nobody wrote down.
    Gone {
        /// How many.
        containers: i64,
    },
    /// Another item was poured instead, or this one instead of another.
    Twin {
        /// The other.
        other: ItemId,
        /// Its gap in the period.
        gap: Amount,
        /// Periods in a row in which the two are equal and opposite.
        periods: usize,
    },
    /// Pours are heavier than the specs say, or lighter.
    Pours {
        /// By so many percent; below nothing, lighter.
        percent: f64,
        /// Standard uncertainty of that.
        u: f64,
        /// Periods in a row.
        periods: usize,
    },
    /// About the same goes in every period, whatever is sold.
    Steady {
        /// How much in a period.
        rate: f64,
        /// Standard uncertainty of that.
        u: f64,
        /// Periods in a row.
        periods: usize,
    },
    /// A name on the till stands for another portion than it is said to.
    Portion {
        /// The name.
        till: TillId,
        /// How many were rung in the period, in thousandths.
        rung: i64,
        /// What it is said to stand for, in thousandths of a drink.
        said: i64,
        /// What would fit.
        fits: i64,
        /// Items whose gaps that would settle.
        settles: usize,
    },
    /// A name on the till stands for another drink than it is said to.
    OtherDrink {
        /// The name.
        till: TillId,
        /// How many were rung in the period, in thousandths.
        rung: i64,
        /// The drink that would fit.
        drink: DrinkId,
        /// Items whose gaps that would settle.
        settles: usize,
    },
    /// A name on the till that has no meaning yet takes the item.
    Unmapped {
        /// The name.
        till: TillId,
        /// How many were rung in the period, in thousandths.
        rung: i64,
        /// How much of the item each would take.
        each: f64,
        /// Standard uncertainty of that.
        u: f64,
        /// A drink that takes so much, if one fits.
        drink: Option<DrinkId>,
    },
    /// It ran dry, and was rung on.
    RanDry {
        /// The item that did.
        dry: ItemId,
        /// When, by the till.
        at: Moment,
        /// How much of it was rung after that.
        rung: Amount,
        /// What was given instead, or this one instead of it.
        other: Option<ItemId>,
    },
    /// The opening was left as expected: the gap may be of the periods before.
    AsExpected,
    /// Nothing that is written down fits.
    Unknown,
    /// Nothing is the matter: the counts' exactness makes it so.
    Chance,
}

impl Cause {
    /// The word that it is kept under.
    pub fn word(&self) -> CauseWord {
        match self {
            Cause::Overlooked { .. } => CauseWord::Overlooked,
            Cause::Twice { .. } => CauseWord::Twice,
            Cause::NotCome { .. } => CauseWord::NotCome,
            Cause::NotBooked { .. } => CauseWord::NotBooked,
            Cause::Gone { .. } => CauseWord::Gone,
            Cause::Twin { .. } => CauseWord::Twin,
            Cause::Pours { percent, .. } if *percent < 0.0 => CauseWord::Light,
            Cause::Pours { .. } => CauseWord::Heavy,
            Cause::Steady { .. } => CauseWord::Steady,
            Cause::Portion { .. } => CauseWord::Portion,
            Cause::OtherDrink { .. } => CauseWord::OtherDrink,
            Cause::Unmapped { .. } => CauseWord::Unmapped,
            Cause::RanDry { .. } => CauseWord::RanDry,
            Cause::AsExpected => CauseWord::AsExpected,
            Cause::Unknown => CauseWord::Unknown,
            Cause::Chance => CauseWord::Chance,
        }
    }

    /// Whether it is a slip of the count that the period ends with: then looking again settles it.
    pub fn settled_by_looking_again(&self) -> bool {
        matches!(self, Cause::Overlooked { end: End::Closing, .. } | Cause::Twice { end: End::Closing, .. })
    }
}
