//! What is made here: what there is, until when it keeps, and how much to make.

use crate::domain::drink::making::{Demand, Stakes, expected_rest, level};
use crate::domain::drink::{BatchLeft, Earning, Larder, ServeCost};
use crate::domain::gauge::Level;
use crate::domain::ledger::Batch;
use crate::domain::measure::Amount;
use crate::domain::usage::Asked;
use crate::domain::venue::{DrinkId, Ingredient, Item, ItemId, Recipe, Setup, Versions};
use chrono::{Days, NaiveDate};
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
    /// What sales asked of it.
    pub asked: Asked,
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

    /// What it costs to be wrong by one base unit, in minor units of the coin: a drink that cannot be made does not
    /// bring in its margin; what is left past its date had cost what went into it. Margins are shared out by what each
    /// drink takes. Nothing where no margin is known.
    pub fn stakes(&self, line: &HouseLine) -> Option<Stakes> {
        let currency = self.setup.venue.currency;
        let (mut earned, mut took) = (0.0, 0.0);
        for (drink, (rung, amount)) in &line.asked.by_drink {
            if let Some(earning) = self.earning(*drink) {
                earned += earning.margin.0.max(0) as f64 * *rung as f64 / 1_000.0;
                took += amount.as_f64();
            }
        }
        let unit = self.larder.costs.of(line.item)?.exact(Amount(1_000_000)).minor(currency) / 1e6;
        (took > 0.0).then_some(Stakes { short: earned / took, over: unit })
    }

    /// What a serve of a drink earns today.
    fn earning(&self, drink: DrinkId) -> Option<Earning> {
        let drink = self.setup.drink(drink)?;
        let (_, spec) = drink.specs.at(self.larder.day)?;
        let (_, menu) = drink.menu.at(self.larder.day)?;
        Some(Earning::of(ServeCost::of(&self.larder.costs, spec).whole()?, menu, &self.setup))
    }

    /// How much to make for so many days. What does not keep past them is a trade-off between running out and throwing
    /// away; of what keeps longer nothing is thrown away at their end, so the item's service level decides. Nothing
    /// where no sales say what is asked.
    pub fn advice(&self, line: &HouseLine, days: u64) -> Option<MakeAdvice> {
        let item = self.setup.item(line.item)?;
        if line.asked.daily.is_empty() {
            return None;
        }
        let first = self.larder.day;
        let demand = Demand::expected(&line.asked.daily, first, days);
        let spoils = item.keeps_days.is_some_and(|keeps| keeps as u64 <= days);
        let weighed = if spoils { self.stakes(line).and_then(Stakes::ratio) } else { None };
        let service = item.service_level.map_or(SERVICE, |level| level as f64 / 1_000.0);
        let ratio = weighed.unwrap_or(service).min(MOST);
        let level = level(demand, ratio);
        let usable = usable(line, first, days);
        let there = usable.unwrap_or_default();
        let make = (Amount::rounded(level) - there).max(Amount::ZERO);
        let (over, short) = expected_rest(demand, level.max(there.as_f64()));
        Some(MakeAdvice {
            days,
            demand,
            ratio,
            weighed: weighed.is_some(),
            level: Amount::rounded(level),
            usable,
            make,
            over: Amount::rounded(over),
            short: Amount::rounded(short),
        })
    }
}

/// What there is of an item and will be used before its date within so many days, the one that goes off first being used
/// first; nothing known of an item that was never counted.
fn usable(line: &HouseLine, first: NaiveDate, days: u64) -> Option<Amount> {
    let there = line.on_hand?.amount.max(Amount::ZERO);
    let last = first.checked_add_days(Days::new(days.saturating_sub(1))).unwrap_or(NaiveDate::MAX);
    let mut dated: Vec<(NaiveDate, Amount)> =
        line.left.iter().filter_map(|left| Some((left.use_by?.day, left.left?))).collect();
    dated.sort_unstable();
    // What no batch was written down for has no date.
    let undated = there - dated.iter().map(|(_, amount)| *amount).sum();
    let mut used = Amount::ZERO;
    for (use_by, amount) in dated {
        let wanted = match u64::try_from((use_by - first).num_days() + 1) {
            Ok(kept) if use_by < last => {
                let until = Demand::expected(&line.asked.daily, first, kept);
                (Amount::rounded(until.mean) - used).max(Amount::ZERO)
            }
            Ok(_) => amount,
            Err(_) => Amount::ZERO,
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
