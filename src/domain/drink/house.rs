//! What is made here: what of which batch is left, and until when it keeps by the bar's own setting.

use crate::domain::ledger::{Batch, Loss};
use crate::domain::measure::Amount;
use crate::domain::venue::{ItemId, Moment, Setup};
use chrono::{Days, NaiveDate};
use std::collections::HashMap;

/// What is left of a batch.
#[derive(Clone, Debug, PartialEq)]
pub struct BatchLeft {
    /// The batch.
    pub batch: Batch,
    /// The business day it was made.
    pub made: NaiveDate,
    /// What is left of it when the oldest goes first; nothing known of an item that was never counted.
    pub left: Option<Amount>,
    /// The last day it keeps, by the bar's setting; nothing where none is set.
    pub use_by: Option<UseBy>,
}

/// The last day that a batch keeps by the bar's own setting.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct UseBy {
    /// The day.
    pub day: NaiveDate,
    /// The ingredient made here whose own day comes earlier and so sets it.
    pub because_of: Option<ItemId>,
}

/// The last day of something made on a day: that day counts as the first (as the model Food Code of the United States
/// counts, section 3-501.17, read in a state's copy).
pub fn last_day(made: NaiveDate, keeps_days: i64) -> NaiveDate {
    let more = u64::try_from(keeps_days - 1).unwrap_or(0);
    made.checked_add_days(Days::new(more)).unwrap_or(NaiveDate::MAX)
}

/// A batch and until when it keeps.
#[derive(Clone, Debug)]
struct Dated {
    batch: Batch,
    made: NaiveDate,
    use_by: Option<UseBy>,
}

/// All batches by item, in the order of time, and what was written off of each item.
#[derive(Clone, Debug, Default)]
pub struct Batches {
    of: HashMap<ItemId, Vec<Dated>>,
    lost: HashMap<ItemId, Vec<(Moment, NaiveDate, Amount)>>,
}

impl Batches {
    /// Sorts batches by item and time, and works out until when each keeps; `losses` are what was written off since.
    pub fn new(setup: &Setup, mut all: Vec<Batch>, losses: &[Loss]) -> Batches {
        all.sort_by_key(|batch| (batch.at, batch.seq));
        let mut batches = Batches::default();
        for batch in all {
            let made = setup.venue.days.day_of(batch.at);
            let use_by = batches.use_by(setup, batch.item, made);
            batches.of.entry(batch.item).or_default().push(Dated { batch, made, use_by });
        }
        for loss in losses {
            let day = setup.venue.days.day_of(loss.at);
            batches.lost.entry(loss.item).or_default().push((loss.at, day, loss.amount));
        }
        batches
    }

    /// What is left of an item's batches on a day, the newest first, when so much of it is on hand and the oldest goes
    /// first. Of an item that was never counted nobody knows: the newest batch and all that still keep are taken to be
    /// there, but for those that were written off.
    pub fn left(&self, item: ItemId, on_hand: Option<Amount>, today: NaiveDate) -> Vec<BatchLeft> {
        let all = self.of.get(&item).map_or(&[][..], Vec::as_slice);
        match on_hand {
            Some(there) => counted(all, there),
            None => self.uncounted(item, all, today),
        }
    }

    fn uncounted(&self, item: ItemId, all: &[Dated], today: NaiveDate) -> Vec<BatchLeft> {
        // What is taken to be there on a day, of the batches made up to then.
        let is_there = |made: &[Dated], at: usize, day: NaiveDate| {
            at + 1 == made.len() || made[at].use_by.is_some_and(|use_by| use_by.day >= day)
        };
        let mut left: Vec<Amount> = all.iter().map(|of| of.batch.made).collect();
        for (when, day, amount) in self.lost.get(&item).into_iter().flatten() {
            let made = &all[..all.partition_point(|of| of.batch.at <= *when)];
            let there = (0..made.len()).filter(|at| left[*at] > Amount::ZERO && is_there(made, *at, *day));
            // What is written off as a whole is the batch of just that amount; else the oldest goes first.
            let whole = there.clone().find(|at| left[*at] == *amount);
            let from: Vec<usize> = whole.map_or_else(|| there.collect(), |at| vec![at]);
            let mut amount = *amount;
            for at in from {
                let gone = amount.min(left[at]);
                left[at] -= gone;
                amount -= gone;
            }
        }
        let named = |at: &usize| left[*at] > Amount::ZERO && is_there(all, *at, today);
        let mut out: Vec<BatchLeft> = (0..all.len()).filter(named).map(|at| all[at].left(None)).collect();
        out.reverse();
        out
    }

    /// Until when something made on a day keeps: by its own keeping days, or by the earliest day of what is made here
    /// and went into it (a mixture keeps no longer than its oldest part; the same section of the Food Code). Which batch
    /// of an ingredient went in was not written down. It was one of the last two made before: the older one where that
    /// still kept, since the older goes first, or else the newest.
    fn use_by(&self, setup: &Setup, item: ItemId, made: NaiveDate) -> Option<UseBy> {
        let keeps = setup.item(item).and_then(|item| item.keeps_days);
        let own = keeps.map(|days| UseBy { day: last_day(made, days), because_of: None });
        let parts = setup.recipe(item, made).into_iter().flat_map(|recipe| &recipe.takes);
        let inherited = parts.filter_map(|part| {
            let newest = self.of.get(&part.item)?.iter().rev().take(2);
            let days: Vec<NaiveDate> = newest.filter_map(|of| of.use_by).map(|use_by| use_by.day).collect();
            let day = days.iter().rev().find(|day| **day >= made).or(days.first()).copied()?;
            Some(UseBy { day, because_of: Some(part.item) })
        });
        own.into_iter().chain(inherited).min_by_key(|use_by| use_by.day)
    }
}

impl Dated {
    fn left(&self, left: Option<Amount>) -> BatchLeft {
        BatchLeft { batch: self.batch.clone(), made: self.made, left, use_by: self.use_by }
    }
}

fn counted(all: &[Dated], mut there: Amount) -> Vec<BatchLeft> {
    let mut out = Vec::new();
    for of in all.iter().rev() {
        let left = of.batch.made.min(there);
        if left <= Amount::ZERO {
            break;
        }
        there -= left;
        out.push(of.left(Some(left)));
    }
    out
}
