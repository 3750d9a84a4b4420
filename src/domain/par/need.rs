//! What an item lacks to its par.

use crate::domain::gauge::Level;
use crate::domain::ledger::Order;
use crate::domain::measure::Amount;
use crate::domain::venue::{Item, ItemId, OrderState, ParFrom, Setup};
use std::collections::HashMap;

/// What one item lacks to its par. Amounts in the item's base unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Need {
    /// What.
    pub item: ItemId,
    /// The level to fill up to.
    pub par: Amount,
    /// What should be there now; `None` when it was never counted.
    pub on_hand: Option<Level>,
    /// With a supplier already.
    pub on_order: Amount,
    /// What is less than this is not missing.
    pub least: Amount,
}

impl Need {
    /// Of an item, to the par that rules.
    pub fn new(item: &Item, par: Amount, on_hand: Option<Level>, on_order: Amount) -> Need {
        Need { item: item.id, par, on_hand, on_order, least: least_missing(item) }
    }

    /// par − on hand − on order, not below zero. A shelf cannot hold less than nothing, so an expected amount below
    /// zero (more sold than was there) counts as none. `None` when what is there is not known.
    pub fn short(&self) -> Option<Amount> {
        let there = self.on_hand?.amount.max(Amount::ZERO);
        let short = self.par - there - self.on_order;
        Some(if short < self.least { Amount::ZERO } else { short.max(Amount::ZERO) })
    }
}

/// The least that is missing of an item. A par by hand means bottles as somebody sees them: less than a tenth of one nobody
/// would call missing (common practice, no source). One by demand is exact.
pub(super) fn least_missing(item: &Item) -> Amount {
    match item.par_is_from() {
        ParFrom::Hand => item.size.times(1, 10),
        ParFrom::Demand => Amount::ZERO,
    }
}

/// What is with suppliers and has not come, by item: the packs of all orders sent.
pub fn on_order(setup: &Setup, orders: &[Order]) -> HashMap<ItemId, Amount> {
    let mut out: HashMap<ItemId, Amount> = HashMap::new();
    for line in orders.iter().filter(|o| o.state == OrderState::Sent).flat_map(|o| &o.lines) {
        let size = setup.item(line.item).map_or(Amount::ZERO, |i| i.size);
        *out.entry(line.item).or_default() += size.times(line.containers(), 1);
    }
    out
}
