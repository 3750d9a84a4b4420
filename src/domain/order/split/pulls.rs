//! How much the goods of a supplier are worth beyond themselves because they help to its floor: its pull. With a pull for
//! every floor each thing takes what is cheapest by itself, and what comes of it costs no more than any choice that
//! reaches the floors. The better the pulls, the closer.

use super::leaf::{Leaf, Pick};

/// Pulls are integers of so small a part of a thousandth of a minor unit for each minor unit of goods.
pub(super) const SHIFT: u32 = 20;

/// The same as a float.
pub(super) const UNIT: f64 = (1_u64 << SHIFT) as f64;

/// No pull is larger, so that a pull times goods fits well into 128 bits.
const LARGEST: f64 = (1_u64 << 60) as f64;

/// How often pulls are bettered.
const ROUNDS: usize = 200;

/// The cost of a pick less the pull of its goods. `pulls` has one zero more than there are floors.
pub(super) fn pulled(pick: &Pick, pulls: &[i64]) -> i128 {
    (i128::from(pick.cost) << SHIFT) - i128::from(pulls[pick.floor]) * i128::from(pick.goods)
}

/// What no choice that reaches the floors is below, in the unit of pulled costs, with the fees.
pub(super) fn bound(leaf: &Leaf, pulls: &[i64]) -> i128 {
    let floors: i128 = leaf.floors.iter().zip(pulls).map(|(f, p)| i128::from(*f) * i128::from(*p)).sum();
    let things = leaf.each().map(|picks| picks.iter().map(|pick| pulled(pick, pulls)).min().unwrap_or_default());
    (i128::from(leaf.fees) << SHIFT) + floors + things.sum::<i128>()
}

/// A bound in thousandths of a minor unit, rounded up: costs are whole.
pub(super) fn rounded_up(bound: i128) -> i64 {
    let up = -((-bound) >> SHIFT);
    up.clamp(i64::MIN.into(), i64::MAX.into()) as i64
}

/// Pulls in place of those that floats found, with the zero of what counts towards no floor.
pub(super) fn whole(pulls: &[f64]) -> Vec<i64> {
    pulls.iter().map(|pull| (pull * UNIT).clamp(0.0, LARGEST) as i64).chain([0]).collect()
}

/// The bound by floats and what is missing to each floor then.
fn tried<P: AsRef<[Pick]>>(things: &[P], floors: &[i64], pulls: &[f64], missing: &mut [f64]) -> f64 {
    let mut sum = 0.0;
    for ((missing, floor), pull) in missing.iter_mut().zip(floors).zip(pulls) {
        *missing = *floor as f64;
        sum += *missing * pull;
    }
    for picks in things {
        let picks = picks.as_ref();
        let (mut best, mut least) = (&picks[0], f64::INFINITY);
        for pick in picks {
            let cost = pick.cost as f64 - pulls[pick.floor] * pick.goods as f64;
            if cost < least {
                (best, least) = (pick, cost);
            }
        }
        sum += least;
        if let Some(missing) = missing.get_mut(best.floor) {
            *missing -= best.goods as f64;
        }
    }
    sum
}

/// Betters pulls by going where floors are missed most, in steps that would raise the bound by so much (Polyak's step with
/// a goal that moves: closer when it is not met, further when it is). `start` has one pull for each floor.
pub(super) fn bettered<P: AsRef<[Pick]>>(things: &[P], floors: &[i64], start: &[f64]) -> Vec<f64> {
    let count = floors.len();
    let mut at: Vec<f64> = start.to_vec();
    at.push(0.0);
    let mut missing = vec![0.0; count];
    let (mut best, mut highest) = (at.clone(), f64::NEG_INFINITY);
    let (mut rise, mut idle) = (0.0, 0);
    for round in 0..ROUNDS {
        let mut value = tried(things, floors, &at, &mut missing);
        if round == 0 {
            // What is missing at the start, at the pulls of the start and a little more.
            rise = 1.0 + missing.iter().zip(&at).map(|(m, p)| m.abs() * (p + 1.0)).sum::<f64>();
        }
        if value > highest {
            if value > highest + rise / 2.0 && round > 0 {
                rise *= 1.5;
            }
            (highest, idle) = (value, 0);
            best.clone_from(&at);
        } else {
            idle += 1;
            if idle == 4 {
                (rise, idle) = (rise / 2.0, 0);
                at.clone_from(&best);
                value = tried(things, floors, &at, &mut missing);
            }
        }
        // What is missing counts in floors, so that a large one does not outweigh a small one.
        let size = |n: usize| (floors[n] as f64).max(1.0);
        // A pull of nothing cannot fall, so what is too much there is no way to go.
        let way = |n: usize| if at[n] <= 0.0 { missing[n].max(0.0) / size(n) } else { missing[n] / size(n) };
        let length: f64 = (0..count).map(|n| way(n) * way(n)).sum();
        if length == 0.0 || rise < 1.0 {
            break;
        }
        let step = (highest + rise - value) / length;
        let moved: Vec<f64> = (0..count).map(|n| (at[n] + step * way(n) / size(n)).clamp(0.0, 1e12)).collect();
        at[..count].copy_from_slice(&moved);
    }
    best.truncate(count);
    best
}
