//! What is made here: what of which batch is left, and until when it keeps by the bar's own setting.

use crate::domain::ledger::Batch;
use crate::domain::measure::Amount;
use crate::domain::venue::{Item, ItemId, Setup};
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

/// All batches, in the order of time.
#[derive(Clone, Debug, Default)]
pub struct Batches {
    of: HashMap<ItemId, Vec<Batch>>,
}

impl Batches {
    /// Sorts batches by item and time.
    pub fn new(mut all: Vec<Batch>) -> Batches {
        all.sort_by_key(|batch| (batch.at, batch.seq));
        let mut of: HashMap<ItemId, Vec<Batch>> = HashMap::new();
        for batch in all {
            of.entry(batch.item).or_default().push(batch);
        }
        Batches { of }
    }

    /// What is left of an item's batches, the newest first, when so much of it is on hand and the oldest goes first. Of
    /// an item that was never counted the newest batch is taken to be there, and how much of it is not known.
    pub fn left(&self, setup: &Setup, item: &Item, on_hand: Option<Amount>) -> Vec<BatchLeft> {
        let mut out = Vec::new();
        let mut there = on_hand;
        for batch in self.of.get(&item.id).into_iter().flatten().rev() {
            let left = there.map(|there| batch.made.min(there));
            if left.is_some_and(|left| left <= Amount::ZERO) {
                break;
            }
            there = there.zip(left).map(|(there, left)| there - left);
            out.push(BatchLeft {
                made: setup.venue.days.day_of(batch.at),
                left,
                use_by: self.use_by(setup, batch, 0),
                batch: batch.clone(),
            });
            if on_hand.is_none() {
                break;
            }
        }
        out
    }

    /// Until when a batch keeps: by its own keeping days, or by the earliest day of what is made here and went into it
    /// (a mixture keeps no longer than its oldest part; the same section of the Food Code). Which batch of an ingredient
    /// went in was not written down: the oldest that still kept is taken, or the newest where none did.
    fn use_by(&self, setup: &Setup, batch: &Batch, depth: usize) -> Option<UseBy> {
        let made = setup.venue.days.day_of(batch.at);
        let keeps = setup.item(batch.item).and_then(|item| item.keeps_days);
        let own = keeps.map(|days| UseBy { day: last_day(made, days), because_of: None });
        let recipe = setup.recipe(batch.item, made).filter(|_| depth < super::cost::DEEPEST);
        let parts = recipe.into_iter().flat_map(|recipe| &recipe.takes);
        let inherited = parts.filter_map(|part| {
            let before = self.of.get(&part.item)?.iter().filter(|of| of.at <= batch.at);
            let mut days =
                before.filter_map(|of| self.use_by(setup, of, depth + 1)).map(|use_by| use_by.day).peekable();
            days.peek()?;
            let days: Vec<NaiveDate> = days.collect();
            let day = days.iter().find(|day| **day >= made).or(days.last()).copied()?;
            Some(UseBy { day, because_of: Some(part.item) })
        });
        own.into_iter().chain(inherited).min_by_key(|use_by| use_by.day)
    }
}
