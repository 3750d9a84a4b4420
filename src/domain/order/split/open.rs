//! What is still open in a choice once that is gone which would cost too much whatever else is chosen.

use super::leaf::{Leaf, Pick};
use super::pulls::{SHIFT, bound, pulled};
use std::cmp::Reverse;

/// A thing with more than one pick left.
#[derive(Debug)]
pub(super) struct OpenThing {
    thing: usize,
    /// What is left of its picks, the cheapest with the pulls first; a floor is a place among those that bind.
    pub(super) picks: Vec<Pick>,
    /// Where each stands among the thing's picks.
    places: Vec<usize>,
}

/// What is left open.
#[derive(Debug)]
pub(super) struct Open {
    /// In the order in which they are chosen.
    pub(super) things: Vec<OpenThing>,
    /// For every thing a pick, which counts where it is not open.
    fixed: Vec<usize>,
    /// Cost of the fees and of what is not open.
    pub(super) cost: i64,
    /// What is missing to each floor that binds, without what is open; not below zero.
    pub(super) missing: Vec<i64>,
    /// The pulls of these floors, and zero.
    pub(super) pulls: Vec<i64>,
}

impl Open {
    /// Leaves out whatever cannot be part of anything that costs less than `below`; `None` where nothing can.
    pub(super) fn new(leaf: &Leaf, pulls: &[i64], below: i64) -> Option<Open> {
        let spare = ((i128::from(below) - 1) << SHIFT) - bound(leaf, pulls);
        if spare < 0 {
            return None;
        }
        let none = leaf.floors.len();
        let mut out = Open {
            things: Vec::new(),
            fixed: Vec::new(),
            cost: leaf.fees,
            missing: leaf.floors.clone(),
            pulls: pulls.to_vec(),
        };
        for (thing, picks) in leaf.each().enumerate() {
            let least = picks.iter().map(|pick| pulled(pick, pulls)).min()?;
            let mut places: Vec<usize> =
                (0..picks.len()).filter(|at| pulled(&picks[*at], pulls) - least <= spare).collect();
            places.sort_by_key(|at| (pulled(&picks[*at], pulls), -picks[*at].goods));
            out.fixed.push(places[0]);
            if places.len() == 1 {
                let pick = &picks[places[0]];
                out.cost += pick.cost;
                if let Some(missing) = out.missing.get_mut(pick.floor) {
                    *missing -= pick.goods;
                }
            } else {
                let picks = places.iter().map(|at| picks[*at]).collect();
                out.things.push(OpenThing { thing, picks, places });
            }
        }
        out.keep_what_binds(none)?;
        out.order();
        Some(out)
    }

    /// Floors that are reached whatever is picked are none; `None` where one is out of reach.
    fn keep_what_binds(&mut self, floors: usize) -> Option<()> {
        let of = |thing: &OpenThing, floor: usize, most: bool| -> i64 {
            let goods = thing.picks.iter().map(|pick| if pick.floor == floor { pick.goods } else { 0 });
            if most { goods.max() } else { goods.min() }.unwrap_or_default()
        };
        let mut place = vec![usize::MAX; floors + 1];
        let mut kept = Vec::new();
        for (floor, place) in place.iter_mut().enumerate().take(floors) {
            let sum = |most: bool| self.things.iter().map(|thing| of(thing, floor, most)).sum::<i64>();
            if sum(true) < self.missing[floor] {
                return None;
            }
            if sum(false) < self.missing[floor] {
                *place = kept.len();
                kept.push(floor);
            }
        }
        self.missing = kept.iter().map(|floor| self.missing[*floor]).collect();
        self.pulls = kept.iter().map(|floor| self.pulls[*floor]).chain([0]).collect();
        for pick in self.things.iter_mut().flat_map(|thing| &mut thing.picks) {
            pick.floor = place[pick.floor].min(kept.len());
        }
        Some(())
    }

    /// What is large first: what comes last can still make up for it.
    fn order(&mut self) {
        let floors = self.missing.len();
        let largest = |thing: &OpenThing| {
            let goods = thing.picks.iter().filter(|pick| pick.floor < floors).map(|pick| pick.goods);
            goods.max().unwrap_or_default()
        };
        self.things.sort_by_key(|thing| (Reverse(largest(thing)), thing.thing));
    }

    /// The picks of all things: these of the open ones that come first, and the rest as they are cheapest with the pulls.
    pub(super) fn whole(&self, places: &[usize]) -> Vec<usize> {
        let mut taken = self.fixed.clone();
        for (thing, place) in self.things.iter().zip(places) {
            taken[thing.thing] = thing.places[*place];
        }
        taken
    }
}
