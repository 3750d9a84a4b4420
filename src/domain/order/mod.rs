//! What to order from whom, up to par, in whole packs.

mod carry;
mod document;
mod mixed;
mod plan;
mod record;
#[cfg(test)]
pub(crate) mod sample;
mod split;
mod ways;

pub use carry::{Carry, carry_up};
pub use document::{DocumentLine, OrderDocument, Side};
pub use mixed::Filled;
pub use plan::{Elsewhere, Planned, Planning, Why, why};
pub use record::{Record, record};
pub use split::{Short, Split, Terms, Unmet, Way, cheapest, cheapest_of};

use crate::domain::measure::{Amount, Money};
use crate::domain::par::Need;
use crate::domain::venue::{Deadline, ItemId, MixedCase, Offer, Setup, SupplierId};
use chrono::NaiveDate;

/// One line that is suggested or written in an order.
#[derive(Clone, Debug, PartialEq)]
pub struct DraftLine {
    /// What.
    pub item: ItemId,
    /// What is missing; `None` for a line somebody added that has no par.
    pub need: Option<Need>,
    /// Why it is in the order; `None` for a line that somebody added.
    pub why: Option<Why>,
    /// Packs the computing suggests.
    pub suggested: i64,
    /// Packs to order: as suggested until somebody changes it.
    pub packs: i64,
    /// Containers in a pack.
    pub pack: i64,
    /// Price of a pack, without tax.
    pub price: Money,
    /// The supplier's own number.
    pub code: Option<String>,
    /// Fewer packs than would reach par, because the shelf holds no more.
    pub shelf_limits: bool,
    /// The case that it is a part of.
    pub mixed: Option<MixedCase>,
}

impl DraftLine {
    /// What tells it from the other lines of its order: the same item may stand in it in packs of two sizes.
    pub fn key(&self) -> LineKey {
        (self.item, self.pack)
    }

    /// Price of the line.
    pub fn total(&self) -> Money {
        self.price.times(self.packs, 1)
    }

    /// Containers that it orders.
    pub fn containers(&self) -> i64 {
        self.packs.saturating_mul(self.pack)
    }
}

/// An item and the containers in a pack of it.
pub type LineKey = (ItemId, i64);

/// What one supplier would get.
#[derive(Clone, Debug, PartialEq)]
pub struct Draft {
    /// Who.
    pub supplier: SupplierId,
    /// What.
    pub lines: Vec<DraftLine>,
    /// Until when to order for which delivery.
    pub deadline: Option<Deadline>,
}

/// The money of a draft.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Totals {
    /// Sum of the lines.
    pub goods: Money,
    /// The delivery fee that applies.
    pub fee: Money,
    /// How much is missing to the supplier's minimum; zero when it is reached or there is none.
    pub to_minimum: Money,
}

impl Draft {
    /// Sums the lines and applies the supplier's minimum and fee.
    pub fn totals(&self, setup: &Setup) -> Totals {
        let goods: Money = self.lines.iter().map(DraftLine::total).sum();
        let supplier = setup.supplier(self.supplier);
        let free = supplier.and_then(|s| s.free_from).is_some_and(|from| goods >= from);
        let fee = supplier.and_then(|s| s.fee).filter(|_| !free && goods > Money::ZERO).unwrap_or_default();
        let minimum = supplier.and_then(|s| s.minimum).unwrap_or_default();
        Totals { goods, fee, to_minimum: (minimum - goods).max(Money::ZERO) }
    }
}

impl Draft {
    /// The mixed cases in the order, and how full they are.
    pub fn mixed_cases(&self) -> Vec<Filled> {
        mixed::filled_cases(&self.lines)
    }
}

/// Why more is in an order than is short.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FilledUp {
    /// To reach the smallest order.
    Minimum,
    /// To go without the delivery fee.
    Free,
}

impl Draft {
    /// By how much the order is filled up with what is not short, and to what end; nothing where it is not, or to no end.
    pub fn filled_up(&self, setup: &Setup) -> Option<(Money, FilledUp)> {
        let goods = self.totals(setup).goods;
        let short: Money = (0..self.lines.len()).map(|at| self.wanted(setup, at)).sum();
        let supplier = setup.supplier(self.supplier)?;
        let reaches = |from: Option<Money>| from.is_some_and(|from| goods >= from && short < from);
        let end = match (reaches(supplier.free_from), reaches(supplier.minimum)) {
            (true, _) if supplier.fee.is_some_and(|fee| fee > Money::ZERO) => FilledUp::Free,
            (_, true) => FilledUp::Minimum,
            _ => return None,
        };
        (goods > short).then_some((goods - short, end))
    }

    /// Price of the packs of a line that its par wants, at most of those in it. Of an item in packs of two sizes, what the
    /// lines before it bring is not wanted once more.
    fn wanted(&self, setup: &Setup, at: usize) -> Money {
        let line = &self.lines[at];
        let before: i64 = self.lines[..at].iter().filter(|l| l.item == line.item).map(DraftLine::containers).sum();
        let size = setup.item(line.item).map_or(Amount::ZERO, |item| item.size);
        let short = line.need.and_then(|need| Some((need, need.short()? - size.times(before, 1))));
        let wanted = short.map_or(0, |(need, short)| packs_for(&need, short, size, line.pack, None).0);
        line.price.times(line.packs.min(wanted), 1)
    }
}

/// Why something is not ordered that is short and that somebody offers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Waits {
    /// Ordering it now costs more, fee and all, than it is likely to cost to wait for the next order.
    Cheaper,
    /// The budget: it runs the least risk.
    Budget,
    /// The shelf has no room for a pack of it.
    NoRoom,
    /// Its supplier's smallest order is not reached, by this plan or by any.
    TooSmall,
}

/// Something that is short and waits.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Waiting {
    /// What it lacks.
    pub need: Need,
    /// Why it waits.
    pub why: Waits,
    /// The chance that it runs dry before the order after the next has come; nothing where nobody knows what is asked of it.
    pub risk: Option<f64>,
}

/// Everything that is short, sorted into what can be ordered and what cannot.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Suggestion {
    /// One draft for each supplier, by name; suppliers with nothing to order are in it with no lines.
    pub drafts: Vec<Draft>,
    /// Short, and not ordered though somebody offers it.
    pub waiting: Vec<Waiting>,
    /// Short, and made here.
    pub to_make: Vec<Need>,
    /// Short, and nobody offers it.
    pub without_offer: Vec<Need>,
    /// With a par, but never counted.
    pub never_counted: Vec<ItemId>,
}

/// Whole packs that fill `short` up, and whether the shelf allowed fewer.
pub fn packs_for(need: &Need, short: Amount, size: Amount, pack: i64, shelf_max: Option<Amount>) -> (i64, bool) {
    let per_pack = i128::from(size.0) * i128::from(pack);
    if per_pack <= 0 || short <= Amount::ZERO {
        return (0, false);
    }
    let up = (i128::from(short.0) + per_pack - 1) / per_pack;
    let there = need.on_hand.map_or(Amount::ZERO, |l| l.amount.max(Amount::ZERO)) + need.on_order;
    let fits = shelf_max.map_or(up, |most| i128::from((most - there).0.max(0)) / per_pack);
    let packs = up.min(fits).clamp(0, i64::MAX.into()) as i64;
    (packs, i128::from(packs) < up)
}

/// The offers that a supplier makes for an item on a day, each in packs of another size, the lowest price a container first.
pub fn offers_of(setup: &Setup, supplier: SupplierId, item: ItemId, day: NaiveDate) -> Vec<&Offer> {
    let mut offers: Vec<&Offer> =
        setup.offers_for(item, day).into_iter().filter(|offer| offer.supplier == supplier).collect();
    offers.sort_by_key(|o| (i128::from(o.price.0) * 1_000_000 / i128::from(o.pack.max(1)), o.pack));
    offers
}

/// The offer that a supplier makes for an item on a day: the lowest price a container.
pub fn offer_of(setup: &Setup, supplier: SupplierId, item: ItemId, day: NaiveDate) -> Option<&Offer> {
    offers_of(setup, supplier, item, day).into_iter().next()
}

#[cfg(test)]
mod tests;
