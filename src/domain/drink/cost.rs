//! What items cost, by the rule of the book, and what is made here through what goes into it.

use super::layers::Layers;
use crate::domain::measure::{Amount, ExactCost, Price, UnitCost};
use crate::domain::venue::{CostRule, ItemId, Recipe, Setup};
use chrono::NaiveDate;
use std::collections::HashMap;

/// What the book knows of what was paid. Only what its rule asks for need be filled in.
#[derive(Clone, Debug, Default)]
pub struct Paid {
    /// Of one container, last.
    pub last: HashMap<ItemId, Price>,
    /// Weighted averages.
    pub averages: HashMap<ItemId, UnitCost>,
    /// What is on hand, by what it was bought for.
    pub layers: HashMap<ItemId, Layers>,
}

/// What items cost now. What the rule of the book does not find costs what was last paid, else the cheapest offer of
/// the day, else, for what is made here, what its ingredients cost. An item with none of these has no known cost, and
/// figures say so.
#[derive(Clone, Debug, Default)]
pub struct Costs {
    /// Of what is bought.
    bought: HashMap<ItemId, UnitCost>,
    /// Of that and of what is made.
    all: HashMap<ItemId, UnitCost>,
    /// What is on hand by what it was bought for, where the book goes first in, first out.
    layers: HashMap<ItemId, Layers>,
    day: NaiveDate,
}

impl Costs {
    /// The costs on a business day, by the rule of the book.
    pub fn new(setup: &Setup, paid: Paid, day: NaiveDate) -> Costs {
        Costs::by(setup.venue.cost_rule, setup, paid, day)
    }

    /// The same by a rule that may not be that of the book.
    pub fn by(rule: CostRule, setup: &Setup, paid: Paid, day: NaiveDate) -> Costs {
        let currency = setup.venue.currency;
        let mut bought = HashMap::new();
        for item in &setup.items {
            let last = || UnitCost::new(*paid.last.get(&item.id)?, item.size);
            let offered = || {
                let offer = setup.cheapest_offer(item.id, day)?;
                UnitCost::new(Price::from_money(offer.price, currency), item.size.times(offer.pack, 1))
            };
            let cost = match rule {
                CostRule::LastPaid => last().or_else(offered),
                CostRule::Offer => offered().or_else(last),
                CostRule::Average => paid.averages.get(&item.id).copied().or_else(last).or_else(offered),
                CostRule::Fifo => paid.layers.get(&item.id).and_then(Layers::next_out).or_else(last).or_else(offered),
            };
            bought.extend(cost.map(|cost| (item.id, cost)));
        }
        let layers = if rule == CostRule::Fifo { paid.layers } else { HashMap::new() };
        let mut costs = Costs { bought, all: HashMap::new(), layers, day };
        costs.make(setup);
        costs
    }

    /// Works out what is made here from what is bought.
    fn make(&mut self, setup: &Setup) {
        self.all.clone_from(&self.bought);
        for &item in setup.recipes.keys() {
            self.made(setup, item, 0);
        }
    }

    fn made(&mut self, setup: &Setup, item: ItemId, depth: usize) -> Option<UnitCost> {
        if let Some(cost) = self.all.get(&item) {
            return Some(*cost);
        }
        let recipe = setup.recipe(item, self.day).filter(|_| depth <= Recipe::DEEPEST)?;
        let mut total = ExactCost::default();
        for part in &recipe.takes {
            total = total + self.made(setup, part.item, depth + 1)?.exact(part.with_waste());
        }
        let cost = UnitCost::spread(total, recipe.yields)?;
        self.all.insert(item, cost);
        Some(cost)
    }

    /// The same with another price for some of what is bought, and with what is made of it.
    pub fn with(&self, setup: &Setup, prices: impl IntoIterator<Item = (ItemId, UnitCost)>) -> Costs {
        let mut costs = self.clone();
        costs.bought.extend(prices);
        costs.make(setup);
        costs
    }

    /// The unit cost of an item, if it is known.
    pub fn of(&self, item: ItemId) -> Option<UnitCost> {
        self.all.get(&item).copied()
    }

    /// What so much on hand of an item is worth: first in, first out it is what was paid for the newest so much.
    pub fn value(&self, item: ItemId, amount: Amount) -> Option<ExactCost> {
        if amount < Amount::ZERO {
            return Some(self.of(item)?.exact(amount));
        }
        Some(self.layers(item, amount)?.value())
    }

    /// So much on hand of an item by what it was bought for. What there is beyond what is known to have been bought cost
    /// as the oldest of it. By another rule than first in, first out all of it cost the same.
    pub fn layers(&self, item: ItemId, amount: Amount) -> Option<Layers> {
        let unit = self.of(item)?;
        let mut layers = self.layers.get(&item).cloned().unwrap_or_default();
        layers.keep_newest(amount);
        let beyond = amount - layers.amount();
        layers.receive_oldest(beyond, unit);
        Some(layers)
    }
}
