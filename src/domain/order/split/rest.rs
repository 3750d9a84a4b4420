//! What the things that come later in a choice cost at least, and what they can add.

use super::leaf::Pick;
use super::open::Open;
use super::pulls::{SHIFT, UNIT, bettered, pulled, whole};
use std::cell::Cell;

/// Each pull is tried by so much larger as well, and without.
const TIMES: [i64; 2] = [0, 4];

/// So many pulls that suit what is left are kept; the oldest go.
const SUITED: usize = 24;

/// What the open things from any place on cost and add.
#[derive(Debug)]
pub(super) struct Rest {
    /// Several pulls: what is best for all things is not best for the last few.
    fan: Vec<Vec<i64>>,
    /// For each of them and each place the least pulled cost from there on.
    least: Vec<Vec<i128>>,
    /// For each place the goods that can be added at most to each floor.
    most: Vec<Vec<i64>>,
    /// For each place what the cheapest picks with the pulls add, and what they cost.
    usual: Vec<(i64, Vec<i64>)>,
    /// How many of the several pulls are there from the beginning.
    basic: usize,
    /// Which of them ruled out the last partial choice that was.
    last: Cell<usize>,
}

/// For each place from one on the least pulled cost from there on.
fn sums(open: &Open, from: usize, pulls: &[i64]) -> Vec<i128> {
    let count = open.things.len();
    let mut sums = vec![0_i128; count + 1];
    for at in (from..count).rev() {
        let cheapest = open.things[at].picks.iter().map(|pick| pulled(pick, pulls)).min();
        sums[at] = sums[at + 1] + cheapest.unwrap_or_default();
    }
    sums
}

impl Rest {
    /// Of what is open.
    pub(super) fn new(open: &Open) -> Rest {
        let floors = open.missing.len();
        let mut fan = vec![open.pulls.clone()];
        let typical = open.pulls.iter().copied().max().unwrap_or_default().max(1);
        for floor in 0..floors {
            for times in TIMES {
                let mut pulls = open.pulls.clone();
                let once = if pulls[floor] == 0 { typical } else { pulls[floor] };
                pulls[floor] = once.saturating_mul(times).min(1 << 62);
                if !fan.contains(&pulls) {
                    fan.push(pulls);
                }
            }
        }
        let count = open.things.len();
        let least = fan.iter().map(|pulls| sums(open, 0, pulls)).collect();
        let (mut most, mut usual) = (vec![vec![0; floors]; count + 1], vec![(0, vec![0; floors]); count + 1]);
        for at in (0..count).rev() {
            let picks = &open.things[at].picks;
            let goods = |floor: usize| picks.iter().filter(|p| p.floor == floor).map(|p| p.goods).max().unwrap_or(0);
            most[at] = (0..floors).map(|floor| most[at + 1][floor] + goods(floor)).collect();
            let (mut cost, mut adds) = usual[at + 1].clone();
            cost += picks[0].cost;
            if let Some(adds) = adds.get_mut(picks[0].floor) {
                *adds += picks[0].goods;
            }
            usual[at] = (cost, adds);
        }
        let basic = fan.len();
        Rest { fan, least, most, usual, basic, last: Cell::new(0) }
    }

    /// Adds pulls that suit what is left from a place on when so much is missing.
    pub(super) fn suit(&mut self, open: &Open, from: usize, missing: &[i64]) {
        let things: Vec<&[Pick]> = open.things[from..].iter().map(|thing| &thing.picks[..]).collect();
        // Where nothing is missing nothing pulls.
        let start = missing.iter().zip(&open.pulls).map(|(m, pull)| if *m > 0 { *pull as f64 / UNIT } else { 0.0 });
        let start: Vec<f64> = start.collect();
        let pulls = whole(&bettered(&things, missing, &start));
        if self.fan.contains(&pulls) {
            return;
        }
        if self.fan.len() > self.basic + SUITED {
            self.fan.remove(self.basic);
            self.least.remove(self.basic);
        }
        self.least.push(sums(open, from, &pulls));
        self.fan.push(pulls);
    }

    /// What a partial choice of the things before a place comes to at least, in the unit of pulled costs; `None` where it
    /// cannot come to less than `below`, or not reach a floor.
    pub(super) fn bound(&self, at: usize, cost: i64, missing: &[i64], below: i64) -> Option<i128> {
        if missing.iter().zip(&self.most[at]).any(|(missing, most)| missing > most) {
            return None;
        }
        let (cost, limit) = (i128::from(cost) << SHIFT, (i128::from(below) - 1) << SHIFT);
        let with = |pulls: usize| {
            let floors = missing.iter().zip(&self.fan[pulls]).map(|(m, p)| i128::from(*m) * i128::from(*p));
            cost + self.least[pulls][at] + floors.sum::<i128>()
        };
        // What ruled the one before out often rules this one out.
        let mut highest = with(self.last.get());
        if highest > limit {
            return None;
        }
        for pulls in (0..self.fan.len()).rev() {
            let bound = with(pulls);
            if bound > limit {
                self.last.set(pulls);
                return None;
            }
            highest = highest.max(bound);
        }
        Some(highest)
    }

    /// What a partial choice comes to when the rest is as it is cheapest with the pulls; `None` where a floor is not
    /// reached then.
    pub(super) fn closed(&self, at: usize, cost: i64, missing: &[i64]) -> Option<i64> {
        let (more, adds) = &self.usual[at];
        missing.iter().zip(adds).all(|(missing, adds)| missing <= adds).then_some(cost + more)
    }
}
