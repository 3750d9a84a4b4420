//! Causes by how likely they are.

use super::facts::Facts;
use super::{Cause, instead, pours, rung, whole};
use crate::domain::venue::{DrinkId, ItemId, TillId};
use std::mem::discriminant;

/// A cause and its weight.
#[derive(Clone, Debug)]
pub(super) struct Weighed {
    log: f64,
    cause: Cause,
}

impl Weighed {
    /// A cause that happens so often, and makes the gaps so much likelier in logarithms.
    pub(super) fn new(often: f64, gain: f64, cause: Cause) -> Weighed {
        Weighed { log: often.ln() + gain, cause }
    }
}

/// A cause and how likely it is.
#[derive(Clone, Debug, PartialEq)]
pub struct Suspect {
    /// What.
    pub cause: Cause,
    /// Its share of the weight of all causes.
    pub share: f64,
}

/// What makes two weighed causes the same: when each began and how many containers it was are details.
#[derive(PartialEq)]
enum Target {
    None,
    Item(ItemId),
    Till(TillId, Option<i64>, Option<DrinkId>),
}

fn target(cause: &Cause) -> Target {
    match cause {
        Cause::Twin { other, .. } => Target::Item(*other),
        Cause::RanDry { dry, .. } => Target::Item(*dry),
        Cause::Portion { till, fits, .. } => Target::Till(*till, Some(*fits), None),
        Cause::OtherDrink { till, drink, .. } => Target::Till(*till, None, Some(*drink)),
        Cause::Unmapped { till, .. } => Target::Till(*till, None, None),
        _ => Target::None,
    }
}

/// Less than this share of the weight is not worth a line.
const LEAST: f64 = 0.01;

/// Everything that may have made an item's gap in the period asked about, the likeliest first. Nothing for an item that the
/// period tells nothing about.
pub fn suspects(facts: &Facts, item: ItemId) -> Vec<Suspect> {
    let mut all: Vec<Weighed> = Vec::new();
    for add in [whole::add, pours::add, instead::add, rung::add] {
        add(facts, item, &mut all);
    }
    let best = all.iter().map(|weighed| weighed.log).fold(f64::NEG_INFINITY, f64::max);
    all.retain(|weighed| weighed.log.is_finite());
    all.sort_by(|a, b| b.log.total_cmp(&a.log));
    let total: f64 = all.iter().map(|weighed| (weighed.log - best).exp()).sum();
    let mut out: Vec<Suspect> = Vec::new();
    for Weighed { log, cause } in all {
        let share = (log - best).exp() / total;
        let same = |known: &&mut Suspect| {
            discriminant(&known.cause) == discriminant(&cause)
                && known.cause.word() == cause.word()
                && target(&known.cause) == target(&cause)
        };
        // The likeliest of its sort stands for it, with the weight of all.
        match out.iter_mut().find(same) {
            Some(known) => known.share += share,
            None => out.push(Suspect { cause, share }),
        }
    }
    out.retain(|suspect| suspect.share >= LEAST);
    out.sort_by(|a, b| b.share.total_cmp(&a.share));
    out
}
