//! What causes are weighed by: the periods around a gap, in the form in which they are asked.

use super::dry::{Dry, ran_dry};
use super::series::Series;
use crate::domain::ledger::{CountLine, Delivery, Sale};
use crate::domain::usage::budget::Spreads;
use crate::domain::usage::gap::{GapRow, Variance};
use crate::domain::usage::sold::{SoldPart, Take, add_takes};
use crate::domain::usage::track::Step;
use crate::domain::venue::{CountMethod, DrinkId, Item, ItemId, Moment, Setup, Shelf, TillId, TillMeaning};
use chrono::NaiveDate;
use std::collections::{BTreeMap, HashMap, HashSet};
use std::ops::Range;

/// What was ordered and is not booked at the end of a period.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Awaited {
    /// What.
    pub item: ItemId,
    /// How many containers.
    pub containers: i64,
    /// The order.
    pub order: String,
}

/// The facts of one period.
#[derive(Clone, Copy, Debug)]
pub struct PeriodFacts<'a> {
    /// What the two counts say.
    pub variance: &'a Variance,
    /// Lines of the opening count.
    pub opening: &'a [CountLine],
    /// Deliveries in it.
    pub deliveries: &'a [Delivery],
    /// Sales in it, in the order of time.
    pub sales: &'a [Sale],
    /// What was ordered and is not booked at its end.
    pub awaited: &'a [Awaited],
}

/// A name on the till with a meaning, over the periods of a series.
#[derive(Clone, Debug)]
pub(super) struct Name {
    /// How many were rung in each, in thousandths.
    pub(super) rung: Vec<i64>,
    /// What that took in each, by item.
    pub(super) took: Vec<(ItemId, Vec<f64>)>,
}

impl Name {
    /// Of so many periods.
    fn nothing(periods: usize) -> Name {
        Name { rung: vec![0; periods], took: Vec::new() }
    }

    fn add(&mut self, period: usize, part: &SoldPart) {
        self.rung[period] = self.rung[period].max(part.quantity);
        let known = self.took.iter().position(|(item, _)| *item == part.item);
        let at = known.unwrap_or_else(|| {
            self.took.push((part.item, vec![0.0; self.rung.len()]));
            self.took.len() - 1
        });
        self.took[at].1[period] += part.amount.as_f64();
    }

    /// What it took of an item in each period; nothing where it never did.
    pub(super) fn took(&self, item: ItemId) -> Option<&[f64]> {
        self.took.iter().find(|(of, _)| *of == item).map(|(_, took)| took.as_slice())
    }
}

/// A period, looked up by item and by till name.
pub(super) struct Looked<'a> {
    pub(super) facts: PeriodFacts<'a>,
    pub(super) rows: HashMap<ItemId, &'a GapRow>,
    /// Names without, and how many were rung.
    pub(super) unmapped: BTreeMap<TillId, i64>,
    /// Items that are counted, so that what is made here is taken as such.
    counted: HashSet<ItemId>,
}

/// What a thousandth of a drink takes of items, in base units: of each once.
pub(super) type Takes = Vec<(ItemId, f64)>;

/// What a thousandth of each drink takes on a business day.
#[derive(Default)]
pub(super) struct Takings {
    pub(super) drinks: Vec<(DrinkId, Takes)>,
    /// Which of these take an item.
    taking: HashMap<ItemId, Vec<usize>>,
}

impl Takings {
    /// The drinks that take an item.
    pub(super) fn of(&self, item: ItemId) -> impl Iterator<Item = &(DrinkId, Takes)> {
        self.taking.get(&item).into_iter().flatten().map(|n| &self.drinks[*n])
    }
}

/// Several periods, the oldest first, each beginning with the count that the one before ends with; `at` is the one that
/// is asked about. What is asked for again and again, item by item, is worked out once.
pub struct Facts<'a> {
    pub(super) setup: &'a Setup,
    pub(super) periods: Vec<Looked<'a>>,
    pub(super) at: usize,
    series: HashMap<ItemId, Series>,
    spots: HashMap<ItemId, Vec<&'a Shelf>>,
    /// In order, so that of causes that are as likely as each other the same one is always named first.
    names: BTreeMap<TillId, Name>,
    /// Items that must have run dry in the period that is asked about.
    dry: HashMap<ItemId, Dry>,
    /// By the business days on which items were looked at last.
    takings: HashMap<NaiveDate, Takings>,
    /// Names that took an item in the period that is asked about, and how much.
    took: HashMap<ItemId, Vec<(TillId, f64)>>,
}

/// A lasting cause is followed back over so many periods.
const BACK: usize = 8;

impl<'a> Facts<'a> {
    /// Makes the periods ready to be asked.
    pub fn new(setup: &'a Setup, periods: &[PeriodFacts<'a>], at: usize, spreads: Spreads) -> Facts<'a> {
        let looked = |facts: &PeriodFacts<'a>| {
            let exploded: HashSet<ItemId> = facts.variance.exploded.iter().copied().collect();
            Looked {
                facts: *facts,
                rows: facts.variance.rows.iter().map(|row| (row.item, row)).collect(),
                unmapped: facts.variance.sold.unmapped_tills.iter().map(|(till, sum)| (*till, sum.quantity)).collect(),
                counted: setup.items.iter().map(|item| item.id).filter(|id| !exploded.contains(id)).collect(),
            }
        };
        let mut facts = Facts {
            setup,
            periods: periods.iter().map(looked).collect(),
            at,
            series: HashMap::new(),
            spots: HashMap::new(),
            names: BTreeMap::new(),
            dry: HashMap::new(),
            takings: HashMap::new(),
            took: HashMap::new(),
        };
        if at >= periods.len() {
            return facts;
        }
        for shelf in &setup.shelves {
            facts.spots.entry(shelf.item).or_default().push(shelf);
        }
        let range = facts.begins().start..facts.periods.len().min(at + 2);
        for (n, period) in facts.periods[range.clone()].iter().enumerate() {
            for part in &period.facts.variance.sold.parts {
                facts.names.entry(part.till).or_insert_with(|| Name::nothing(range.len())).add(n, part);
            }
        }
        for (till, name) in &facts.names {
            for (item, took) in name.took.iter().filter(|(_, took)| took[at - range.start] != 0.0) {
                facts.took.entry(*item).or_default().push((*till, took[at - range.start]));
            }
        }
        facts.dry = ran_dry(setup, &facts.periods[at].facts, &facts.names, at - range.start);
        let items: HashSet<ItemId> =
            facts.periods[range.clone()].iter().flat_map(|period| period.rows.keys().copied()).collect();
        facts.series = items.into_iter().map(|item| (item, facts.followed(item, range.clone(), &spreads))).collect();
        let days: HashSet<NaiveDate> = facts.now().rows.values().map(|row| setup.venue.days.day_of(row.to)).collect();
        facts.takings = days.into_iter().map(|day| (day, facts.taken_on(day))).collect();
        facts
    }

    /// An item over some periods.
    fn followed(&self, item: ItemId, range: Range<usize>, spreads: &Spreads) -> Series {
        let at = self.at - range.start;
        let step = |period: &Looked| period.rows.get(&item).map(|row| Step::of(row, spreads));
        let steps: Vec<Option<Step>> = self.periods[range].iter().map(step).collect();
        let size = self.item(item).map_or(0.0, |item| item.size.as_f64());
        let u = self.now().rows.get(&item).map_or(0.0, |row| row.u);
        // A cause that nobody knows makes gaps of about half a container.
        Series::new(steps, at, (0.5 * size).max(3.0 * u), (1e-3 * size).max(1.0))
    }

    fn taken_on(&self, day: NaiveDate) -> Takings {
        let at = self.setup.venue.days.begins(day);
        let counted = |item: ItemId| self.now().counted.contains(&item);
        let mut takings = Takings::default();
        for drink in &self.setup.drinks {
            let mut takes: Vec<Take> = Vec::new();
            add_takes(self.setup, &counted, (TillId::default(), drink.id, 1_000), at, &mut takes);
            let mut one = Takes::new();
            for take in &takes {
                let amount = take.share.of(1_000_000).as_f64() / 1e6;
                // One may take an item twice: by itself, and in what is made here of it.
                match one.iter_mut().find(|(item, _)| *item == take.share.item) {
                    Some((_, sum)) => *sum += amount,
                    None => one.push((take.share.item, amount)),
                }
            }
            for (item, _) in &one {
                takings.taking.entry(*item).or_default().push(takings.drinks.len());
            }
            takings.drinks.push((drink.id, one));
        }
        takings
    }

    /// The period that is asked about.
    pub(super) fn now(&self) -> &Looked<'a> {
        &self.periods[self.at]
    }

    /// An item over the last periods up to the one asked about, and the one after it where there is one; nothing where none
    /// of them tells anything about it.
    pub(super) fn series(&self, item: ItemId) -> Option<&Series> {
        self.series.get(&item)
    }

    /// Where an item stands.
    pub(super) fn spots(&self, item: ItemId) -> &[&'a Shelf] {
        self.spots.get(&item).map(Vec::as_slice).unwrap_or_default()
    }

    /// When an item must have run dry in the period that is asked about, if it did.
    pub(super) fn dry(&self, item: ItemId) -> Option<Dry> {
        self.dry.get(&item).copied()
    }

    /// Names on the till with a meaning, over the periods of a series.
    pub(super) fn names(&self) -> &BTreeMap<TillId, Name> {
        &self.names
    }

    /// Names that took an item in the period that is asked about, and how much.
    pub(super) fn took(&self, item: ItemId) -> &[(TillId, f64)] {
        self.took.get(&item).map(Vec::as_slice).unwrap_or_default()
    }

    /// The row of an item in a period of a series.
    pub(super) fn row(&self, of_series: usize, item: ItemId) -> Option<&'a GapRow> {
        self.of_series(of_series).rows.get(&item).copied()
    }

    /// A period by its number in a series.
    pub(super) fn of_series(&self, of_series: usize) -> &Looked<'a> {
        &self.periods[self.begins().start + of_series]
    }

    /// The item itself.
    pub(super) fn item(&self, item: ItemId) -> Option<&'a Item> {
        self.setup.item(item)
    }

    /// Where a lasting cause can have begun: each of the last periods, up to the one asked about.
    pub(super) fn begins(&self) -> Range<usize> {
        (self.at + 1).saturating_sub(BACK)..self.at + 1
    }

    /// What a thousandth of each drink takes at a moment at which an item was looked at last.
    pub(super) fn takings(&self, at: Moment) -> Option<&Takings> {
        self.takings.get(&self.setup.venue.days.day_of(at))
    }

    /// The drink and the portion in thousandths that a till name stands for.
    pub(super) fn meaning(&self, till: TillId) -> Option<(DrinkId, i64)> {
        match self.setup.meaning(till) {
            TillMeaning::Drink { drink, portion } => Some((drink, portion)),
            TillMeaning::Unknown | TillMeaning::Ignored => None,
        }
    }

    /// Whether the opening of an item was left as expected where it is poured.
    pub(super) fn opening_left_as_expected(&self, item: ItemId) -> bool {
        self.now().facts.opening.iter().any(|line| line.item == item && line.method == CountMethod::Expected)
    }
}
