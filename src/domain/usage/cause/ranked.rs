//! Causes by how likely they are.

use super::facts::Facts;
use super::{Cause, instead, pours, rung, whole};
use crate::domain::venue::{CauseWord, DrinkId, ItemId, TillId};
use std::collections::HashMap;
use std::collections::hash_map::Entry;

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

/// The causes of a gap that were weighed so far.
#[derive(Debug)]
pub(super) struct Weights {
    all: Vec<Weighed>,
    best: f64,
}

/// What is so much less likely than the likeliest, in logarithms, is lost when the two are added up.
const LOST: f64 = 40.0;

impl Weights {
    pub(super) fn push(&mut self, weighed: Weighed) {
        if weighed.log.is_finite() {
            self.best = self.best.max(weighed.log);
            self.all.push(weighed);
        }
    }

    /// Whether a cause that happens so often would weigh nothing beside those that are known, were it as good as `gain`: then
    /// it need not be weighed.
    pub(super) fn would_be_lost(&self, often: f64, gain: f64) -> bool {
        often.ln() + gain < self.best - LOST
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
#[derive(PartialEq, Eq, Hash)]
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
    let mut weights = Weights { all: Vec::new(), best: f64::NEG_INFINITY };
    for add in [whole::add, pours::add, instead::add, rung::add] {
        add(facts, item, &mut weights);
    }
    let Weights { mut all, best } = weights;
    all.sort_by(|a, b| b.log.total_cmp(&a.log));
    let total: f64 = all.iter().map(|weighed| (weighed.log - best).exp()).sum();
    let (mut out, mut at): (Vec<Suspect>, HashMap<(CauseWord, Target), usize>) = (Vec::new(), HashMap::new());
    for Weighed { log, cause } in all {
        let share = (log - best).exp() / total;
        // The likeliest of its sort stands for it, with the weight of all.
        match at.entry((cause.word(), target(&cause))) {
            Entry::Occupied(known) => out[*known.get()].share += share,
            Entry::Vacant(new) => {
                new.insert(out.len());
                out.push(Suspect { cause, share });
            }
        }
    }
    out.retain(|suspect| suspect.share >= LEAST);
    out.sort_by(|a, b| b.share.total_cmp(&a.share));
    out
}
