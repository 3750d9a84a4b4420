//! When items must have run dry by what the till rang and what came, and how much of them was rung after that.

use super::facts::{Name, PeriodFacts};
use crate::domain::ledger::Delivery;
use crate::domain::measure::Amount;
use crate::domain::usage::gap::GapRow;
use crate::domain::venue::{ItemId, Moment, SaleKind, Setup, TillId};
use std::collections::{BTreeMap, HashMap, VecDeque};

/// An item that must have run dry.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Dry {
    /// When, by the till.
    pub(super) at: Moment,
    /// How much was rung after that.
    pub(super) rung: Amount,
}

/// What is left of an item as the till rings on.
struct Left<'a> {
    row: &'a GapRow,
    amount: f64,
    /// What comes in between, the earliest first.
    to_come: VecDeque<(Moment, f64)>,
    since: Option<Moment>,
    beyond: f64,
}

impl<'a> Left<'a> {
    /// What there is at the beginning: all that came or went, which nothing says the hour of, is taken from there.
    fn new(setup: &Setup, row: &'a GapRow, deliveries: &[&Delivery]) -> Option<Left<'a>> {
        let size = setup.item(row.item)?.size;
        let within = deliveries.iter().filter(|came| row.from < came.at && came.at <= row.to);
        let mut to_come: Vec<(Moment, f64)> =
            within.map(|came| (came.at, size.times(came.containers, 1).as_f64())).collect();
        to_come.sort_by_key(|(at, _)| *at);
        let delivered: f64 = to_come.iter().map(|(_, amount)| amount).sum();
        let amount = row.opening.amount.as_f64() + row.flow.net().as_f64() - delivered;
        Some(Left { row, amount, to_come: to_come.into(), since: None, beyond: 0.0 })
    }

    fn take(&mut self, at: Moment, amount: f64) {
        if at <= self.row.from || at > self.row.to {
            return;
        }
        while let Some((_, came)) = self.to_come.pop_front_if(|(came, _)| *came <= at) {
            self.amount = self.amount.max(0.0) + came;
        }
        self.amount -= amount;
        if self.amount < 0.0 {
            self.since = self.since.or(Some(at));
            self.beyond -= self.amount;
            self.amount = 0.0;
        }
    }

    /// What the counts cannot tell is not rung beyond what there was.
    fn dry(self) -> Option<Dry> {
        let at = self.since.filter(|_| self.beyond > 2.0 * self.row.u)?;
        Some(Dry { at, rung: Amount::rounded(self.beyond) })
    }
}

/// The items of a period that must have run dry by more than the counts can tell, gone through its sales once. `names` are
/// those on the till over a series of periods, of which it is the one numbered `at`.
pub(super) fn ran_dry(
    setup: &Setup,
    facts: &PeriodFacts,
    names: &BTreeMap<TillId, Name>,
    at: usize,
) -> HashMap<ItemId, Dry> {
    let mut deliveries: HashMap<ItemId, Vec<&Delivery>> = HashMap::new();
    for came in facts.deliveries {
        deliveries.entry(came.item).or_default().push(came);
    }
    let of = |item: ItemId| deliveries.get(&item).map(Vec::as_slice).unwrap_or_default();
    let mut left: Vec<Left> =
        facts.variance.rows.iter().filter_map(|row| Left::new(setup, row, of(row.item))).collect();
    let of_item: HashMap<ItemId, usize> = left.iter().enumerate().map(|(n, left)| (left.row.item, n)).collect();
    // What one thousandth of each name takes of which of them.
    let each = |name: &Name| -> Vec<(usize, f64)> {
        let took = name.took.iter().filter(|(_, took)| name.rung[at] != 0 && took[at] != 0.0);
        took.filter_map(|(item, took)| Some((*of_item.get(item)?, took[at] / name.rung[at] as f64))).collect()
    };
    let each: HashMap<TillId, Vec<(usize, f64)>> = names.iter().map(|(till, name)| (*till, each(name))).collect();
    for sale in facts.sales.iter().filter(|sale| sale.kind != SaleKind::Training) {
        for (n, each) in each.get(&sale.till).into_iter().flatten() {
            left[*n].take(sale.at, each * sale.took() as f64);
        }
    }
    left.into_iter().filter_map(|left| Some((left.row.item, left.dry()?))).collect()
}
