//! What stock was bought for, delivery by delivery: first in, first out, and the weighted average.

use crate::domain::measure::{Amount, ExactCost, UnitCost};

/// So much that was bought at one price.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Layer {
    /// How much of it is left, in the item's base unit.
    pub amount: Amount,
    /// What a base unit cost.
    pub cost: UnitCost,
}

/// Layers of one item, the oldest first.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Layers(Vec<Layer>);

impl Layers {
    /// Something came at a price.
    pub fn receive(&mut self, amount: Amount, cost: UnitCost) {
        if amount > Amount::ZERO {
            self.0.push(Layer { amount, cost });
        }
    }

    /// Something was there before all else.
    pub fn receive_oldest(&mut self, amount: Amount, cost: UnitCost) {
        if amount > Amount::ZERO {
            self.0.insert(0, Layer { amount, cost });
        }
    }

    /// Something went back to the supplier: out of the newest layers of the same price. What went back at a price of which
    /// nothing is left was of a layer that is gone.
    pub fn give_back(&mut self, amount: Amount, cost: UnitCost) {
        let mut left = amount;
        for layer in self.0.iter_mut().rev().filter(|layer| layer.cost == cost) {
            let part = layer.amount.min(left);
            layer.amount -= part;
            left -= part;
        }
        self.0.retain(|layer| layer.amount > Amount::ZERO);
    }

    /// Something was used, the oldest first; gives what that had cost. What is used beyond all layers cost as the last
    /// of them.
    pub fn take(&mut self, amount: Amount) -> ExactCost {
        let (mut left, mut cost) = (amount, ExactCost::default());
        let last = self.0.last().map(|layer| layer.cost);
        for layer in &mut self.0 {
            let part = layer.amount.min(left);
            layer.amount -= part;
            left -= part;
            cost = cost + layer.cost.exact(part);
        }
        self.0.retain(|layer| layer.amount > Amount::ZERO);
        cost + last.map_or(ExactCost::default(), |last| last.exact(left))
    }

    /// All but the newest so much of it was used.
    pub fn keep_newest(&mut self, amount: Amount) {
        let used = self.amount() - amount.max(Amount::ZERO);
        if used > Amount::ZERO {
            self.take(used);
        }
    }

    /// How much there is.
    pub fn amount(&self) -> Amount {
        self.0.iter().map(|layer| layer.amount).sum()
    }

    /// What it cost.
    pub fn value(&self) -> ExactCost {
        self.0.iter().map(|layer| layer.cost.exact(layer.amount)).sum()
    }

    /// What a base unit of it cost on average, weighted by how much came at each price; nothing of nothing.
    pub fn average(&self) -> Option<UnitCost> {
        UnitCost::spread(self.value(), self.amount())
    }

    /// What a base unit of the oldest cost: that of what goes out next.
    pub fn next_out(&self) -> Option<UnitCost> {
        self.0.first().map(|layer| layer.cost)
    }
}
