//! What causes are weighed by: the periods around a gap, in the form in which they are asked.

use super::series::Series;
use crate::domain::ledger::{CountLine, Delivery, Sale};
use crate::domain::usage::budget::Spreads;
use crate::domain::usage::gap::{GapRow, Variance};
use crate::domain::usage::sold::{Take, add_takes};
use crate::domain::usage::track::Step;
use crate::domain::venue::{CountMethod, DrinkId, Item, ItemId, Moment, Setup, TillId, TillMeaning};
use std::collections::{HashMap, HashSet};
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

/// What a name on the till took in a period.
#[derive(Clone, Debug, Default)]
pub(super) struct Rung {
    /// How many were rung, in thousandths.
    pub(super) quantity: i64,
    /// What that took, by item.
    pub(super) took: Vec<(ItemId, f64)>,
}

/// A period, looked up by item and by till name.
pub(super) struct Looked<'a> {
    pub(super) facts: PeriodFacts<'a>,
    pub(super) rows: HashMap<ItemId, &'a GapRow>,
    /// Names with a meaning.
    pub(super) rung: HashMap<TillId, Rung>,
    /// Names without, and how many were rung.
    pub(super) unmapped: HashMap<TillId, i64>,
    /// Items that are counted, so that what is made here is taken as such.
    counted: HashSet<ItemId>,
}

/// Several periods, the oldest first, each beginning with the count that the one before ends with; `at` is the one that
/// is asked about.
pub struct Facts<'a> {
    pub(super) setup: &'a Setup,
    pub(super) periods: Vec<Looked<'a>>,
    pub(super) at: usize,
    spreads: Spreads,
}

/// A lasting cause is followed back over so many periods.
const BACK: usize = 8;

impl<'a> Facts<'a> {
    /// Makes the periods ready to be asked.
    pub fn new(setup: &'a Setup, periods: &[PeriodFacts<'a>], at: usize, spreads: Spreads) -> Facts<'a> {
        let looked = |facts: &PeriodFacts<'a>| {
            let mut rung: HashMap<TillId, Rung> = HashMap::new();
            for part in &facts.variance.sold.parts {
                let of_till = rung.entry(part.till).or_default();
                of_till.quantity = of_till.quantity.max(part.quantity);
                of_till.took.push((part.item, part.amount.as_f64()));
            }
            let exploded: HashSet<ItemId> = facts.variance.exploded.iter().copied().collect();
            Looked {
                facts: *facts,
                rows: facts.variance.rows.iter().map(|row| (row.item, row)).collect(),
                rung,
                unmapped: facts.variance.sold.unmapped_tills.iter().map(|(till, sum)| (*till, sum.quantity)).collect(),
                counted: setup.items.iter().map(|item| item.id).filter(|id| !exploded.contains(id)).collect(),
            }
        };
        Facts { setup, periods: periods.iter().map(looked).collect(), at, spreads }
    }

    /// The period that is asked about.
    pub(super) fn now(&self) -> &Looked<'a> {
        &self.periods[self.at]
    }

    /// An item over the last periods up to the one asked about, and the one after it where there is one.
    pub(super) fn series(&self, item: ItemId) -> Series {
        let from = self.begins().start;
        let periods = &self.periods[from..self.periods.len().min(self.at + 2)];
        let step = |period: &Looked| period.rows.get(&item).map(|row| Step::of(row, &self.spreads));
        let steps: Vec<Option<Step>> = periods.iter().map(step).collect();
        let size = self.item(item).map_or(0.0, |item| item.size.as_f64());
        let u = self.now().rows.get(&item).map_or(0.0, |row| row.u);
        // A cause that nobody knows makes gaps of about half a container.
        Series { steps, at: self.at - from, wide: (0.5 * size).max(3.0 * u), least: (1e-3 * size).max(1.0) }
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

    /// What a thousandth of a drink takes at a moment, by item.
    pub(super) fn takes(&self, drink: DrinkId, at: Moment) -> Vec<(ItemId, f64)> {
        let counted = |item: ItemId| self.now().counted.contains(&item);
        let mut takes: Vec<Take> = Vec::new();
        add_takes(self.setup, &counted, (TillId::default(), drink, 1_000), at, &mut takes);
        takes.iter().map(|take| (take.share.item, take.share.of(1_000_000).as_f64() / 1e6)).collect()
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
