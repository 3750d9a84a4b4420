//! What is made here: what there is, until when it keeps, and how much to make.

use crate::domain::drink::{BatchLeft, Larder};
use crate::domain::gauge::Level;
use crate::domain::ledger::Batch;
use crate::domain::measure::Amount;
use crate::domain::par::{Ahead, DayAhead, Demand, Outlook, Stakes};
use crate::domain::usage::Asked;
use crate::domain::venue::{Ingredient, Item, ItemId, Recipe, Setup, Versions};
use chrono::NaiveDate;
use std::collections::HashMap;
use std::ops::RangeInclusive;
use std::sync::Arc;

/// The share of stretches that should not run out of what keeps longer than the stretch, where the item says none: 95 %
/// (common practice, no source).
const SERVICE: f64 = 0.95;
/// A quantile further out than this is all tail.
const MOST: f64 = 0.995;
/// Days one usually makes for, of what keeps longer.
const USUAL_DAYS: i64 = 7;

/// What is made here.
#[derive(Clone, Debug)]
pub struct HouseView {
    /// The bar.
    pub setup: Arc<Setup>,
    /// Costs, contents and allergens of today.
    pub larder: Larder,
    /// Every item with a recipe, by name.
    pub lines: Vec<HouseLine>,
    /// The business days whose sales say what is asked; none without sales.
    pub asked_over: Option<RangeInclusive<NaiveDate>>,
    /// What there should be of every item.
    pub on_hand: HashMap<ItemId, Level>,
}

/// One item made here.
#[derive(Clone, Debug)]
pub struct HouseLine {
    /// What.
    pub item: ItemId,
    /// How much there should be; nothing of one that was never counted.
    pub on_hand: Option<Level>,
    /// What is left of its batches, the newest first.
    pub left: Vec<BatchLeft>,
    /// The batches made lately, the newest first.
    pub batches: Vec<Batch>,
    /// What sales asked of it on the days that are looked at.
    pub asked: Asked,
    /// What is expected of it; nothing where too little is known.
    pub outlook: Option<Outlook>,
    /// The days from the moment on up to which its stock is known.
    pub ahead: Ahead,
}

impl HouseLine {
    /// The day on which the first of what is left goes off.
    pub fn first_use_by(&self) -> Option<NaiveDate> {
        self.left.iter().filter_map(|left| left.use_by).map(|use_by| use_by.day).min()
    }
}

/// How much to make for some days.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MakeAdvice {
    /// For how many business days, the one that runs or comes next among them.
    pub days: u64,
    /// What they are expected to ask.
    pub demand: Demand,
    /// The share of times that should not run out.
    pub ratio: f64,
    /// Whether that weighs what is thrown away against drinks that cannot be made; else it is the service level.
    pub weighed: bool,
    /// The level to have.
    pub level: Amount,
    /// What there is and will be used before its date; nothing known of one that was never counted.
    pub usable: Option<Amount>,
    /// What to make.
    pub make: Amount,
    /// What is expected to be left at the end of the days.
    pub over: Amount,
    /// What is expected to be missing.
    pub short: Amount,
}

impl HouseView {
    /// Whether whoever looks sees costs and prices.
    pub fn sees_costs(&self) -> bool {
        self.setup.venue.rights.sees_costs()
    }

    /// An item's line.
    pub fn line(&self, item: ItemId) -> Option<&HouseLine> {
        self.lines.iter().find(|line| line.item == item)
    }

    /// The recipe of today.
    pub fn recipe(&self, item: ItemId) -> Option<&Recipe> {
        self.setup.recipe(item, self.larder.day)
    }

    /// For how many days one makes it, unless somebody says otherwise: as long as it keeps, a week at most.
    pub fn usual_days(item: &Item) -> u64 {
        item.keeps_days.map_or(USUAL_DAYS, |keeps| keeps.clamp(1, USUAL_DAYS)) as u64
    }

    /// How much to make for so many days. What does not keep past them is a trade-off between running out and throwing
    /// away; of what keeps longer nothing is thrown away at their end, so the item's service level decides. Nothing
    /// where no sales say what is asked.
    pub fn advice(&self, line: &HouseLine, days: u64) -> Option<MakeAdvice> {
        let item = self.setup.item(line.item)?;
        let outlook = line.outlook.as_ref()?;
        let demand = outlook.over(line.ahead.first(usize::try_from(days).ok()?));
        let spoils = item.keeps_days.is_some_and(|keeps| keeps as u64 <= days);
        let stakes = Stakes::of(&self.setup, &self.larder, line.item, &line.asked).filter(|_| spoils);
        let weighed = stakes.and_then(Stakes::ratio);
        let service = item.service_level.map_or(SERVICE, |level| level as f64 / 1_000.0);
        let ratio = weighed.unwrap_or(service).min(MOST);
        let level = demand.quantile(ratio);
        let usable = usable(line, outlook);
        let there = usable.unwrap_or_default();
        let make = (Amount::rounded(level) - there).max(Amount::ZERO);
        Some(MakeAdvice {
            days,
            demand,
            ratio,
            weighed: weighed.is_some(),
            level: Amount::rounded(level),
            usable,
            make,
            over: Amount::rounded(demand.left(level.max(there.as_f64()))),
            short: Amount::rounded(demand.missing(level.max(there.as_f64()))),
        })
    }
}

/// What there is of an item and will be used before its date, the one that goes off first being used first; nothing known
/// of an item that was never counted.
fn usable(line: &HouseLine, outlook: &Outlook) -> Option<Amount> {
    let there = line.on_hand?.amount.max(Amount::ZERO);
    let mut dated: Vec<(NaiveDate, Amount)> =
        line.left.iter().filter_map(|left| Some((left.use_by?.day, left.left?))).collect();
    dated.sort_unstable();
    // What no batch was written down for has no date.
    let undated = there - dated.iter().map(|(_, amount)| *amount).sum();
    let mut used = Amount::ZERO;
    for (use_by, amount) in dated {
        let kept: Vec<DayAhead> = line.ahead.days.iter().take_while(|ahead| ahead.day <= use_by).copied().collect();
        let wanted = match use_by < line.ahead.today {
            true => Amount::ZERO,
            false => (Amount::rounded(outlook.over(&kept).mean) - used).max(Amount::ZERO),
        };
        used += amount.min(wanted);
    }
    Some(used + undated.max(Amount::ZERO))
}

/// What is made by a recipe that is being written.
#[derive(Clone, Debug, PartialEq)]
pub enum Made {
    /// Something the book has.
    Known(ItemId),
    /// Something new, and what one container of it holds, as written.
    New(String, String),
}

/// A recipe as somebody wrote it.
#[derive(Clone, Debug, PartialEq)]
pub struct RecipeDraft {
    /// What is made.
    pub made: Made,
    /// The first business day it is valid; `None` since ever.
    pub from: Option<NaiveDate>,
    /// What one batch makes, as written; nothing where it is computed.
    pub yields: Option<String>,
    /// Water from the tap, as written.
    pub water: Option<String>,
    /// Days it keeps.
    pub keeps_days: Option<i64>,
    /// What it takes; amounts are worked out from what is written.
    pub takes: Vec<Ingredient>,
    /// The recipes of the item as the writer saw them: what somebody else changed since is not written over.
    pub seen: Option<Versions<Recipe>>,
}
