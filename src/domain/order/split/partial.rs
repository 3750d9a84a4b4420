//! Lists of partial choices: some of the open things are chosen, with what that costs and what is missing to each floor.

use super::leaf::Pick;
use super::open::Open;
use super::pulls::SHIFT;
use std::collections::BTreeMap;

/// A list of partial choices, each with as many missing amounts as there are floors.
#[derive(Debug)]
pub(super) struct Partials {
    floors: usize,
    costs: Vec<i64>,
    bounds: Vec<i128>,
    missing: Vec<i64>,
}

impl Partials {
    /// None.
    pub(super) fn empty(open: &Open) -> Partials {
        Partials { floors: open.missing.len(), costs: Vec::new(), bounds: Vec::new(), missing: Vec::new() }
    }

    /// The one of which nothing is chosen.
    pub(super) fn first(open: &Open) -> Partials {
        let missing = open.missing.clone();
        Partials { floors: missing.len(), costs: vec![open.cost], bounds: vec![i128::MIN], missing }
    }

    pub(super) fn len(&self) -> usize {
        self.costs.len()
    }

    pub(super) fn cost(&self, at: usize) -> i64 {
        self.costs[at]
    }

    /// What is missing to each floor.
    pub(super) fn missing(&self, at: usize) -> &[i64] {
        &self.missing[at * self.floors..(at + 1) * self.floors]
    }

    pub(super) fn clear(&mut self) {
        self.costs.clear();
        self.bounds.clear();
        self.missing.clear();
    }

    /// Adds one of another list with a further pick. More than a floor asks for is as good as what it asks for.
    pub(super) fn push(&mut self, before: &Partials, from: usize, pick: &Pick) {
        let start = self.missing.len();
        self.missing.extend_from_slice(before.missing(from));
        if let Some(missing) = self.missing[start..].get_mut(pick.floor) {
            *missing = (*missing - pick.goods).max(0);
        }
        self.costs.push(before.cost(from) + pick.cost);
        self.bounds.push(i128::MIN);
    }

    /// Takes the last one off.
    pub(super) fn pop(&mut self) {
        self.costs.pop();
        self.bounds.pop();
        self.missing.truncate(self.costs.len() * self.floors);
    }

    /// What the last one comes to at least.
    pub(super) fn set_bound(&mut self, bound: i128) {
        if let Some(last) = self.bounds.last_mut() {
            *last = bound;
        }
    }

    /// Finds all bounds anew; those without one come to more than anything.
    pub(super) fn rebound(&mut self, bound: impl Fn(i64, &[i64]) -> Option<i128>) {
        for at in 0..self.len() {
            let anew = bound(self.costs[at], self.missing(at)).unwrap_or(i128::MAX);
            self.bounds[at] = self.bounds[at].max(anew);
        }
    }

    /// What is missing in some of them: of the most promising, and of others spread over the list.
    pub(super) fn samples(&self, count: usize) -> Vec<Vec<i64>> {
        let best = (0..self.len()).min_by_key(|at| (self.bounds[*at], *at));
        let spread = (1..count).map(|n| n * self.len() / count);
        best.into_iter().chain(spread).map(|at| self.missing(at).to_vec()).collect()
    }

    /// Becomes some of another list.
    pub(super) fn take(&mut self, other: &Partials, kept: &[usize]) {
        self.clear();
        for at in kept {
            self.costs.push(other.costs[*at]);
            self.bounds.push(other.bounds[*at]);
            self.missing.extend_from_slice(other.missing(*at));
        }
    }
}

/// The places of those that may lead to less than `below` and that no other is as good as, at most `width` of them, and
/// the lowest bound of those that are left out for their number.
pub(super) fn thinned(all: &Partials, below: i64, width: usize) -> (Vec<usize>, Option<i128>) {
    let limit = (i128::from(below) - 1) << SHIFT;
    let mut order: Vec<usize> = (0..all.len()).filter(|at| all.bounds[*at] <= limit).collect();
    order.sort_unstable_by(|a, b| (all.costs[*a], all.missing(*a), *a).cmp(&(all.costs[*b], all.missing(*b), *b)));
    match all.floors {
        0 => order.truncate(1),
        1 => {
            let mut least = i64::MAX;
            order.retain(|at| {
                let less = all.missing[*at] < least;
                least = least.min(all.missing[*at]);
                less
            });
        }
        _ => keep_undominated(all, &mut order),
    }
    let mut left_out = None;
    if order.len() > width {
        order.select_nth_unstable_by_key(width, |at| (all.bounds[*at], *at));
        left_out = order[width..].iter().map(|at| all.bounds[*at]).min();
        order.truncate(width);
        order.sort_unstable_by_key(|at| (all.costs[*at], *at));
    }
    (order, left_out)
}

/// Of those with the same missing beyond the first two floors, keeps what none that is as cheap has less missing of. They
/// come by cost.
fn keep_undominated(all: &Partials, order: &mut Vec<usize>) {
    let mut stairs: BTreeMap<&[i64], BTreeMap<i64, i64>> = BTreeMap::new();
    order.retain(|at| {
        let missing = all.missing(*at);
        let stair = stairs.entry(&missing[2..]).or_default();
        let (first, second) = (missing[0], missing[1]);
        if stair.range(..=first).next_back().is_some_and(|(_, least)| *least <= second) {
            return false;
        }
        while let Some((further, _)) = stair.range(first..).next().filter(|(_, least)| **least >= second) {
            let further = *further;
            stair.remove(&further);
        }
        stair.insert(first, second);
        true
    });
}
