//! What was asked of items lately, day by day.

use super::ParView;
use crate::domain::par::Prospects;
use crate::domain::usage::{DayTold, LATELY};
use crate::domain::venue::ItemId;
use chrono::{Days, NaiveDate};
use std::collections::HashMap;

/// The last eight weeks of what was asked.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Lately {
    /// The first of the days.
    first: NaiveDate,
    /// Which of them were days of trade.
    open: Vec<bool>,
    /// By item, in base units; one that was never asked for is not in it.
    asked: HashMap<ItemId, Vec<f64>>,
    /// By item that was dry on some of them.
    told: HashMap<ItemId, Vec<DayTold>>,
}

/// A day, and what was asked of an item on it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AskedOn {
    /// Which.
    pub day: NaiveDate,
    /// Whether anything was sold at all.
    pub open: bool,
    /// In base units.
    pub asked: f64,
    /// What the day says of it.
    pub told: DayTold,
}

impl Lately {
    /// The end of what was asked.
    pub fn of(prospects: &Prospects) -> Lately {
        let asked = &prospects.asked;
        let from = asked.rung.len().saturating_sub(LATELY);
        let end = |told: &Vec<DayTold>| told[from.min(told.len())..].to_vec();
        Lately {
            first: asked.first.checked_add_days(Days::new(from as u64)).unwrap_or(asked.first),
            open: asked.rung[from..].iter().map(|rung| *rung > 0).collect(),
            asked: asked.items.iter().map(|(item, asked)| (*item, asked.last_days().to_vec())).collect(),
            told: prospects.told.iter().map(|(item, told)| (*item, end(told))).collect(),
        }
    }
}

impl ParView {
    /// What was asked of an item on each of the last days that the book knows; nothing of one that was never asked for.
    pub fn asked_lately(&self, item: ItemId) -> Vec<AskedOn> {
        let Some(asked) = self.lately.asked.get(&item) else { return Vec::new() };
        let told = self.lately.told.get(&item);
        let day = |(at, day): (usize, NaiveDate)| {
            Some(AskedOn {
                day,
                open: *self.lately.open.get(at)?,
                asked: *asked.get(at)?,
                told: told.and_then(|told| told.get(at)).copied().unwrap_or(DayTold::Whole),
            })
        };
        self.lately.first.iter_days().take(asked.len()).enumerate().map_while(day).collect()
    }
}
