//! The cheapest way to split an order over suppliers: which thing from whom, in which packs, when suppliers have a
//! smallest order, a delivery fee, and a value of goods from which that fee falls away.
//!
//! It is exact. Every supplier either gets no order, or one with the fee, or one that is large enough to go without it
//! (`stance`). What a choice of these costs at least is known before anything is chosen (`steps`), so that they are looked
//! at from the most promising on (`search`) until none that is left can be cheaper. Within one choice every thing takes
//! its cheapest way unless a smallest order binds (`leaf`); then the goods of that supplier are valued a little above
//! their price (`pulls`: Lagrangian multipliers; Fisher, The Lagrangian relaxation method for solving integer programming
//! problems, Management Science 27, 1981), and what is left open is chosen thing by thing (`choose`: dynamic programming
//! over lists of partial choices, with the multipliers' bound).
//!
//! All sums are integers. Floats only look for good multipliers: a bound holds with any of them.
//!
//! The search has a limit ([`Split::is_proved`]); what a bar orders stays far below it.

mod choose;
mod effort;
mod leaf;
mod open;
mod partial;
mod problem;
mod pulls;
mod quick;
mod rest;
mod search;
mod stance;
mod steps;
mod ties;

#[cfg(test)]
mod tests;

use crate::domain::measure::Money;
use effort::Limits;

/// One way to get a thing: all of it from one supplier in a certain mix of packs, or nothing of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Way {
    /// From whom, as an index into the terms; `None`: nothing is ordered of it.
    pub supplier: Option<usize>,
    /// What the supplier is paid for it, without tax; not below zero.
    pub goods: Money,
    /// What it is reckoned to cost, in thousandths of a minor unit: what is paid, less what is left over is worth, plus
    /// what holding it costs. It may be below zero.
    pub cost: i64,
}

/// What a supplier asks for. Amounts are without tax and not below zero.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Terms {
    /// The smallest order.
    pub minimum: Option<Money>,
    /// What a delivery costs.
    pub fee: Option<Money>,
    /// The value of goods from which a delivery costs nothing.
    pub free_from: Option<Money>,
}

impl Terms {
    /// The fee of an order of so much: none where nothing is ordered.
    pub fn fee_of(&self, goods: Money) -> Money {
        let free = goods <= Money::ZERO || self.free_from.is_some_and(|from| goods >= from);
        self.fee.filter(|_| !free).unwrap_or_default()
    }

    /// An order of so much is taken: nothing, or at least the smallest order.
    pub fn takes(&self, goods: Money) -> bool {
        goods == Money::ZERO || self.minimum.is_none_or(|minimum| goods >= minimum)
    }
}

/// An order, split over suppliers.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Split {
    /// For each thing the index of its way.
    pub ways: Vec<usize>,
    /// What the ways are reckoned to cost, and the fees, in thousandths of a minor unit.
    pub cost: i64,
    /// No split costs less than this; where it is below `cost`, the search ended before it was through.
    pub least: i64,
    /// What each supplier is paid for goods.
    pub goods: Vec<Money>,
    /// What each supplier is paid for the delivery.
    pub fees: Vec<Money>,
}

impl Split {
    /// That there is nothing cheaper is proved.
    pub fn is_proved(&self) -> bool {
        self.least >= self.cost
    }
}

/// A supplier whose smallest order is out of reach.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Short {
    /// Which.
    pub supplier: usize,
    /// The smallest order.
    pub minimum: Money,
    /// The value of all that could be ordered there, every thing in its dearest way.
    pub most: Money,
}

/// Why there is no split.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Unmet {
    /// A thing has no way, or none that is allowed.
    #[error("there is no way to get thing {thing}")]
    NoWay {
        /// Which.
        thing: usize,
    },
    /// Everything that a thing could come from has a smallest order that all things together do not reach.
    #[error("every supplier of thing {thing} asks for more than can be ordered there")]
    OutOfReach {
        /// Which.
        thing: usize,
        /// Its suppliers.
        suppliers: Vec<Short>,
    },
    /// Each smallest order could be reached by itself, but not all those that are needed.
    #[error("the smallest orders of suppliers {suppliers:?} cannot all be reached at once")]
    NotTogether {
        /// The suppliers of whatever cannot be left out, of those that have a smallest order.
        suppliers: Vec<usize>,
    },
    /// The search ended before it found a split, or knew that there is none.
    #[error("no split was found, though there may be one")]
    NotFound,
    /// A way has goods below zero, or a supplier that there is not.
    #[error("way {way} of thing {thing} has goods below zero or a supplier without terms")]
    WrongWay {
        /// Which thing.
        thing: usize,
        /// Which of its ways.
        way: usize,
    },
    /// A supplier has terms below zero.
    #[error("supplier {supplier} has terms below zero")]
    WrongTerms {
        /// Which.
        supplier: usize,
    },
    /// The sums are beyond what money can be.
    #[error("the amounts are too large to be added up")]
    TooLarge,
}

/// The cheapest split of an order in which each thing has some ways: one way for each thing, so that what the ways are
/// reckoned to cost and the fees come to least, and no supplier gets an order below its smallest.
///
/// The same question has the same answer, always. Of splits that cost the same the one is taken that has orders with
/// fewer suppliers, of those that have terms; and no single thing in it could take an earlier way at the same cost without
/// a further supplier.
///
/// # Errors
/// [`Unmet`].
///
/// # Examples
/// ```
/// use tantalus::domain::{measure::Money, order::{Terms, Way, cheapest}};
/// let way = |supplier, goods| Way { supplier: Some(supplier), goods: Money(goods), cost: 1_000 * goods };
/// // The second supplier is dearer by 1.00, but the first takes no order below 30.00.
/// let wants = [vec![way(0, 2_000), way(1, 2_100)]];
/// let terms = [Terms { minimum: Some(Money(3_000)), ..Terms::default() }, Terms::default()];
/// let split = cheapest(&wants, &terms).expect("a split");
/// assert_eq!((split.ways, split.cost), (vec![1], 2_100_000));
/// ```
pub fn cheapest(wants: &[Vec<Way>], terms: &[Terms]) -> Result<Split, Unmet> {
    cheapest_of(wants, terms, None, |_, _| true)
}

/// The cheapest split of those whose ways `may` be taken. `best`, where it is known, is one of the same things and terms
/// under fewer conditions: nothing under more of them is cheaper, and what is cheapest is most often much like it.
///
/// # Errors
/// [`Unmet`].
pub fn cheapest_of(
    wants: &[Vec<Way>],
    terms: &[Terms],
    best: Option<&Split>,
    may: impl Fn(usize, usize) -> bool,
) -> Result<Split, Unmet> {
    let problem = problem::Problem::new(wants, terms, may)?;
    let least = best.map(|split| split.least);
    let start = best.and_then(|split| problem.likened(&split.ways));
    let (ways, bound) = search::search(&problem, least, start, Limits::USUAL)?;
    let ways = ties::settled(&problem, ways);
    let (goods, fees) = problem.paid(&ways);
    let cost = problem.cost(&ways);
    Ok(Split { ways, cost, least: bound.min(cost), goods, fees })
}
