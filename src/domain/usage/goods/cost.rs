//! What items cost over a stretch, by the weighted average and first in, first out.

use super::Stretch;
use crate::domain::drink::{Costs, Layers};
use crate::domain::ledger::{Batch, Delivery, taken_by};
use crate::domain::measure::{Amount, ExactCost, UnitCost};
use crate::domain::venue::{ItemId, Moment, Setup};
use std::collections::HashMap;

/// What an item cost over a stretch, by one method.
#[derive(Clone, Copy, Debug)]
pub(super) struct Side {
    /// Of what was there at the beginning.
    pub(super) opening: ExactCost,
    /// Of what is there at the end.
    pub(super) closing: ExactCost,
    /// Of a base unit of what went out in between.
    pub(super) out: UnitCost,
}

/// What an item cost over a stretch.
#[derive(Clone, Copy, Debug)]
pub(super) struct Priced {
    /// Of what was bought, less what went back.
    pub(super) bought: ExactCost,
    /// By the weighted average.
    pub(super) average: Side,
    /// First in, first out.
    pub(super) fifo: Side,
    /// The price of what was there at the beginning is one of later.
    pub(super) later: bool,
}

/// What a batch took of one ingredient.
#[derive(Clone, Copy, Debug)]
pub(super) struct Taken {
    /// What was made.
    pub(super) made: ItemId,
    /// What was taken for it.
    pub(super) item: ItemId,
    /// How much.
    pub(super) amount: Amount,
}

/// Something that came in at a price.
#[derive(Clone, Copy, Debug)]
struct CameIn {
    at: Moment,
    /// Below zero it went back.
    amount: Amount,
    average: UnitCost,
    fifo: UnitCost,
    /// Made here, not bought.
    made: bool,
}

/// What every item cost over a stretch; nothing of those without a known price.
pub(super) struct Prices {
    known: HashMap<ItemId, Option<Priced>>,
    taken: Vec<Taken>,
}

struct Working<'a> {
    setup: &'a Setup,
    stretch: &'a Stretch<'a>,
    deliveries: HashMap<ItemId, Vec<&'a Delivery>>,
    batches: HashMap<ItemId, Vec<(&'a Batch, Vec<Taken>)>>,
    known: HashMap<ItemId, Option<Priced>>,
}

impl Prices {
    /// Works them out, ingredients before what is made of them; batches of what is not `counted` are left out, since what
    /// was sold of it is taken from its ingredients.
    pub(super) fn new(setup: &Setup, stretch: &Stretch, counted: &dyn Fn(ItemId) -> bool) -> Prices {
        let mut work =
            Working { setup, stretch, deliveries: HashMap::new(), batches: HashMap::new(), known: HashMap::new() };
        let mut taken = Vec::new();
        for came in stretch.movements.deliveries.iter().filter(|came| stretch.span.holds(came.at)) {
            work.deliveries.entry(came.item).or_default().push(came);
        }
        let batches = stretch.movements.batches.iter();
        for batch in batches.filter(|batch| counted(batch.item) && stretch.span.holds(batch.at)) {
            let shares = taken_by(setup, counted, batch.item, batch.at).into_iter();
            let takes: Vec<Taken> = shares
                .map(|share| Taken { made: batch.item, item: share.item, amount: share.of(batch.made.0) })
                .collect();
            taken.extend_from_slice(&takes);
            work.batches.entry(batch.item).or_default().push((batch, takes));
        }
        for item in &setup.items {
            work.price(item.id);
        }
        Prices { known: work.known, taken }
    }

    /// What an item cost; nothing where no price is known.
    pub(super) fn of(&self, item: ItemId) -> Option<&Priced> {
        self.known.get(&item)?.as_ref()
    }

    /// What batches took, in the order of time.
    pub(super) fn taken(&self) -> &[Taken] {
        &self.taken
    }
}

impl Working<'_> {
    fn price(&mut self, item: ItemId) -> Option<Priced> {
        if let Some(known) = self.known.get(&item) {
            return *known;
        }
        // A recipe that leads back to its own item is refused when it is written; here it would have no price.
        self.known.insert(item, None);
        let priced = self.came_in(item).and_then(|came| self.priced(item, &came));
        self.known.insert(item, priced);
        priced
    }

    /// Everything that came in, in the order of time; nothing where the price of some of it is not known.
    fn came_in(&mut self, item: ItemId) -> Option<Vec<CameIn>> {
        let size = self.setup.item(item)?.size;
        let mut came: Vec<CameIn> = Vec::new();
        for delivery in self.deliveries.get(&item).into_iter().flatten() {
            let unit = UnitCost::new(delivery.unit_price, size)?;
            let amount = size.times(delivery.containers, 1);
            came.push(CameIn { at: delivery.at, amount, average: unit, fifo: unit, made: false });
        }
        for (batch, takes) in self.batches.remove(&item).into_iter().flatten() {
            let (mut average, mut fifo) = (ExactCost::default(), ExactCost::default());
            for taken in &takes {
                let priced = self.price(taken.item)?;
                average = average + priced.average.out.exact(taken.amount);
                fifo = fifo + priced.fifo.out.exact(taken.amount);
            }
            if takes.is_empty() {
                return None;
            }
            let (average, fifo) = (UnitCost::spread(average, batch.made)?, UnitCost::spread(fifo, batch.made)?);
            came.push(CameIn { at: batch.at, amount: batch.made, average, fifo, made: true });
        }
        came.sort_by_key(|came| came.at);
        Some(came)
    }

    fn priced(&self, item: ItemId, came: &[CameIn]) -> Option<Priced> {
        let amount_in =
            |standing: &super::Standing| standing.items.get(&item).map_or(Amount::ZERO, |there| there.level.amount);
        let (opening, closing) = (amount_in(self.stretch.opening), amount_in(self.stretch.closing));
        // Free goods say nothing of what one costs.
        let first =
            came.iter().find(|came| came.amount > Amount::ZERO && (came.made || came.average != UnitCost::FREE));
        let free = came.iter().find(|came| came.amount > Amount::ZERO);
        let first = first.or(free);
        let average = self.stretch.average.of(item).or(first.map(|came| came.average))?;
        let fifo = self.stretch.fifo.of(item).or(first.map(|came| came.fifo))?;
        let later = self.stretch.average.of(item).is_none();
        let bought = came.iter().filter(|came| !came.made).map(|came| came.average.exact(came.amount)).sum();
        Some(Priced {
            bought,
            average: averaged(opening, closing, came, average),
            fifo: first_in_first_out(item, opening, closing, came, self.stretch.fifo, fifo),
            later,
        })
    }
}

/// One price for all: (opening value + what came in) ÷ (opening amount + what came in). Where that is nothing, because all
/// of it went back or more was sold before than there was, the price at the beginning.
fn averaged(opening: Amount, closing: Amount, came: &[CameIn], unit: UnitCost) -> Side {
    let value = unit.exact(opening) + came.iter().map(|came| came.average.exact(came.amount)).sum();
    let amount = opening + came.iter().map(|came| came.amount).sum();
    let pool = UnitCost::spread(value, amount).filter(|_| value >= ExactCost::default());
    let out = pool.unwrap_or(unit);
    Side { opening: unit.exact(opening), closing: out.exact(closing), out }
}

/// What is left is the newest. What went out cost, a base unit, what all of it cost on average: which of it was sold and
/// which was lost nobody knows.
fn first_in_first_out(
    item: ItemId,
    opening: Amount,
    closing: Amount,
    came: &[CameIn],
    costs: &Costs,
    unit: UnitCost,
) -> Side {
    let there = opening.max(Amount::ZERO);
    let mut layers = costs.layers(item, there).unwrap_or_else(|| {
        let mut layers = Layers::default();
        layers.receive(there, unit);
        layers
    });
    let opening_value = if opening < Amount::ZERO { unit.exact(opening) } else { layers.value() };
    let mut value = opening_value;
    for came in came {
        value = value + came.fifo.exact(came.amount);
        match came.amount < Amount::ZERO {
            true => layers.give_back(-came.amount, came.fifo),
            false => layers.receive(came.amount, came.fifo),
        }
    }
    let oldest = layers.next_out().unwrap_or(unit);
    layers.keep_newest(closing);
    // What is found beyond all that came is what was taken to have gone last: the oldest. So is what is owed below zero.
    let closing_value = layers.value() + oldest.exact(closing - layers.amount());
    let amount = opening + came.iter().map(|came| came.amount).sum() - closing;
    let went = UnitCost::spread(value - closing_value, amount);
    let out = went.filter(|_| value >= closing_value).unwrap_or(oldest);
    Side { opening: opening_value, closing: closing_value, out }
}
