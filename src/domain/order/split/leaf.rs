//! What is left to choose once it is decided with whom and how an order stands: a way for each thing, so that the goods of
//! some suppliers reach a floor.

use super::problem::Problem;

/// A way that is still to be had.
#[derive(Clone, Copy, Debug)]
pub(super) struct Pick {
    /// Which floor its goods count towards; the number of floors where they count towards none.
    pub(super) floor: usize,
    /// Goods in minor units.
    pub(super) goods: i64,
    /// Cost in thousandths of a minor unit.
    pub(super) cost: i64,
    /// Its index among the thing's ways.
    pub(super) way: usize,
}

/// The choice that is left.
#[derive(Debug)]
pub(super) struct Leaf {
    picks: Vec<Pick>,
    starts: Vec<usize>,
    /// What the goods must reach.
    pub(super) floors: Vec<i64>,
    /// The fees, which are paid whatever is chosen.
    pub(super) fees: i64,
}

impl Leaf {
    /// For every supplier that asks for something the place of its stance, `None` for no order.
    pub(super) fn new(problem: &Problem, stances: &[Option<usize>]) -> Leaf {
        let mut leaf = Leaf { picks: Vec::new(), starts: vec![0], floors: Vec::new(), fees: 0 };
        let mut open = Vec::new();
        for (firm, stance) in problem.firms.iter().zip(stances) {
            let Some(stance) = stance.map(|at| firm.stances[at]) else { continue };
            leaf.fees += stance.fee;
            let floor = (stance.floor > 0).then(|| {
                leaf.floors.push(stance.floor);
                leaf.floors.len() - 1
            });
            open.push((firm, floor));
        }
        let none = leaf.floors.len();
        for thing in 0..problem.things() {
            let start = leaf.picks.len();
            // Whatever counts towards no floor stands for one way: the cheapest.
            let loose = open.iter().filter(|(_, floor)| floor.is_none()).filter_map(|(firm, _)| firm.of(thing).first());
            let cheapest = loose.copied().chain(problem.free[thing]).min_by_key(|choice| (choice.cost, choice.way));
            leaf.picks.extend(cheapest.map(|c| Pick { floor: none, goods: 0, cost: c.cost, way: c.way }));
            for (firm, floor) in &open {
                let Some(floor) = *floor else { continue };
                let its = firm.of(thing).iter();
                leaf.picks.extend(its.map(|c| Pick { floor, goods: c.goods, cost: c.cost, way: c.way }));
            }
            // By cost, so that the first is what is taken when nothing binds; of equal ones what helps towards a floor.
            leaf.picks[start..].sort_by_key(|pick| (pick.cost, -pick.goods, pick.way));
            leaf.starts.push(leaf.picks.len());
        }
        leaf
    }

    /// How many things there are.
    pub(super) fn things(&self) -> usize {
        self.starts.len() - 1
    }

    /// What a thing can come from, the cheapest first.
    pub(super) fn of(&self, thing: usize) -> &[Pick] {
        &self.picks[self.starts[thing]..self.starts[thing + 1]]
    }

    /// All of them, one thing after another.
    pub(super) fn each(&self) -> impl Iterator<Item = &[Pick]> {
        self.starts.windows(2).map(|ends| &self.picks[ends[0]..ends[1]])
    }

    /// What is missing to each floor with these picks, by place among those of each thing; below zero where there is more.
    pub(super) fn missing(&self, taken: &[usize]) -> Vec<i64> {
        let mut missing = self.floors.clone();
        for (picks, at) in self.each().zip(taken) {
            if let Some(floor) = missing.get_mut(picks[*at].floor) {
                *floor -= picks[*at].goods;
            }
        }
        missing
    }

    /// Cost of these picks, with the fees.
    pub(super) fn cost(&self, taken: &[usize]) -> i64 {
        self.fees + self.each().zip(taken).map(|(picks, at)| picks[*at].cost).sum::<i64>()
    }

    /// The ways of these picks.
    pub(super) fn ways(&self, taken: &[usize]) -> Vec<usize> {
        self.each().zip(taken).map(|(picks, at)| picks[*at].way).collect()
    }
}
