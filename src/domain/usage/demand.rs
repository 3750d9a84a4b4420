//! What sales asked for, day by day.

use crate::domain::ledger::{DayTotal, Loss, Sale, Share, every_share};
use crate::domain::measure::Amount;
use crate::domain::venue::{DrinkId, ItemId, Setup, TillId, TillMeaning};
use chrono::{Days, NaiveDate};
use std::collections::{BTreeMap, HashMap};
use std::ops::RangeInclusive;

/// How many of each drink were rung, in thousandths: double portions as two.
pub fn sold_drinks(setup: &Setup, sales: &[Sale]) -> HashMap<DrinkId, i64> {
    let mut of_till: HashMap<_, i64> = HashMap::new();
    for sale in sales {
        *of_till.entry(sale.till).or_default() += sale.took();
    }
    let mut out: HashMap<DrinkId, i64> = HashMap::new();
    for (till, took) in of_till {
        if let TillMeaning::Drink { drink, portion } = setup.meaning(till) {
            *out.entry(drink).or_default() += Amount(took).times(portion, 1_000).0;
        }
    }
    out
}

/// What drinks ask is looked at over the last days only, eight weeks: menus change.
pub const LATELY: usize = 56;

/// What was asked of one item.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Asked {
    /// In base units on every day looked at, from the first of them on; nothing on quiet ones.
    pub daily: Vec<f64>,
    /// By drink, over the last [`LATELY`] days: how many were rung, in thousandths, and what they took.
    pub by_drink: BTreeMap<DrinkId, (i64, Amount)>,
    /// The size of one asking, larger ones weighing more: the sum of squares of what each took ÷ the sum of it. What is
    /// asked at random in such pieces has this many times its mean as variance. In base units.
    pub piece: f64,
}

impl Asked {
    /// The same on the last [`LATELY`] days only.
    pub fn lately(&self) -> Asked {
        Asked { daily: self.last_days().to_vec(), by_drink: self.by_drink.clone(), piece: self.piece }
    }

    /// What was asked on each of the last [`LATELY`] days, in base units.
    pub fn last_days(&self) -> &[f64] {
        &self.daily[self.daily.len().saturating_sub(LATELY)..]
    }

    /// What was asked on all days, in base units.
    pub fn sum(&self) -> f64 {
        self.daily.iter().sum()
    }
}

/// What was asked of every item on a run of business days.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct AskedDays {
    /// The first of the days.
    pub first: NaiveDate,
    /// How many drinks were rung on each of them, in thousandths; what stands for no drink is not counted.
    pub rung: Vec<i64>,
    /// By item; one that was never asked for is not in it.
    pub items: HashMap<ItemId, Asked>,
}

/// What was asked, as the sums of the days come in.
pub struct AskedSoFar<'a> {
    setup: &'a Setup,
    days: RangeInclusive<NaiveDate>,
    /// The days on which some spec or recipe changes, in order.
    changes: Vec<NaiveDate>,
    rung: Vec<i64>,
    /// By item, its place in `asked`.
    slots: HashMap<ItemId, usize>,
    asked: Vec<Asked>,
    /// By till name and by how many changes there were before, the place in `ringings`.
    known: HashMap<(TillId, usize), usize>,
    /// In the order in which they were met: sums of floats are to be the same each time.
    ringings: Vec<Ringing>,
}

/// What a till name takes of an item, of one version of its spec.
struct Takes {
    /// The item's place among the items met so far.
    slot: usize,
    drink: DrinkId,
    /// Base units for a thousandth rung.
    each: f64,
}

impl<'a> AskedSoFar<'a> {
    /// Nothing asked yet on a run of business days.
    pub fn new(setup: &'a Setup, days: RangeInclusive<NaiveDate>) -> AskedSoFar<'a> {
        let number = usize::try_from((*days.end() - *days.start()).num_days() + 1).unwrap_or(0);
        AskedSoFar {
            setup,
            days,
            changes: changes(setup),
            rung: vec![0; number],
            slots: HashMap::new(),
            asked: Vec::new(),
            known: HashMap::new(),
            ringings: Vec::new(),
        }
    }

    /// Adds what was rung of a till name on a business day, by the specs and recipes of that day; what is made here of
    /// other things asks for them as well. Other days than those looked at are passed over.
    pub fn add(&mut self, total: &DayTotal) {
        if !self.days.contains(&total.day) {
            return;
        }
        let number = self.rung.len();
        let at = (total.day - *self.days.start()).num_days() as usize;
        let epoch = self.changes.partition_point(|change| *change <= total.day);
        let AskedSoFar { setup, slots, asked, ringings, .. } = self;
        let ringing = *self.known.entry((total.till, epoch)).or_insert_with(|| {
            let mut slot = |item| {
                *slots.entry(item).or_insert_with(|| {
                    asked.push(Asked { daily: vec![0.0; number], ..Asked::default() });
                    asked.len() - 1
                })
            };
            ringings.push(Ringing::of(setup, total.till, total.day, &mut slot));
            ringings.len() - 1
        });
        let ringing = &mut ringings[ringing];
        ringing.rung += total.took;
        ringing.lately += if number - at <= LATELY { total.took } else { 0 };
        self.rung[at] += Amount(total.took).times(ringing.portion, 1_000).0;
        for take in &ringing.takes {
            asked[take.slot].daily[at] += take.each * total.took as f64;
        }
    }

    /// What was asked, when every sum has come in.
    pub fn done(self) -> AskedDays {
        let AskedSoFar { days, rung, slots, mut asked, ringings, .. } = self;
        let mut out = AskedDays { first: *days.start(), rung, items: HashMap::new() };
        let mut squares = vec![0.0; asked.len()];
        let mut by_drink: HashMap<(usize, DrinkId), (i64, f64)> = HashMap::new();
        for Ringing { portion, rung, lately, takes } in &ringings {
            for take in takes {
                let (one, many) = (take.each * 1_000.0, *rung as f64 / 1_000.0);
                squares[take.slot] += one * one * many;
                let (number, took) = by_drink.entry((take.slot, take.drink)).or_default();
                *number += Amount(*lately).times(*portion, 1_000).0;
                *took += take.each * *lately as f64;
            }
        }
        for ((slot, drink), (number, took)) in by_drink.into_iter().filter(|(_, (number, _))| *number != 0) {
            asked[slot].by_drink.insert(drink, (number, Amount::rounded(took)));
        }
        for (of_item, squares) in asked.iter_mut().zip(squares) {
            let sum = of_item.sum();
            of_item.piece = if sum > 0.0 { squares / sum } else { 0.0 };
        }
        let mut asked: Vec<Option<Asked>> = asked.into_iter().map(Some).collect();
        for (item, slot) in slots {
            if let Some(of_item) = asked[slot].take().filter(|asked| asked.daily.iter().any(|amount| *amount > 0.0)) {
                out.items.insert(item, of_item);
            }
        }
        out
    }
}

impl AskedDays {
    /// Adds what was lost on the days: it went, so it has to be had.
    pub fn add_losses(&mut self, setup: &Setup, losses: &[Loss]) {
        for loss in losses {
            let day = setup.venue.days.day_of(loss.at);
            let Ok(at) = usize::try_from((day - self.first).num_days()) else { continue };
            let Some(asked) = self.items.get_mut(&loss.item) else { continue };
            if let Some(of_day) = asked.daily.get_mut(at) {
                *of_day += loss.amount.as_f64();
            }
        }
    }

    /// The last of the days.
    pub fn last(&self) -> NaiveDate {
        let days = (self.rung.len() as u64).saturating_sub(1);
        self.first.checked_add_days(Days::new(days)).unwrap_or(self.first)
    }

    /// The first day on which an item was asked for, as a place among the days: before, it was on no menu.
    pub fn first_asked(&self, item: ItemId) -> Option<usize> {
        self.items.get(&item)?.daily.iter().position(|amount| *amount > 0.0)
    }
}

/// A till name under one version of its spec.
struct Ringing {
    /// How much of its drink it is, in thousandths; nothing where it stands for no drink.
    portion: i64,
    /// How often it was rung, in thousandths.
    rung: i64,
    /// The same on the last days.
    lately: i64,
    takes: Vec<Takes>,
}

impl Ringing {
    /// What a till name takes on a business day.
    fn of(setup: &Setup, till: TillId, day: NaiveDate, slot: &mut dyn FnMut(ItemId) -> usize) -> Ringing {
        let mut out = Ringing { portion: 0, rung: 0, lately: 0, takes: Vec::new() };
        let TillMeaning::Drink { drink, portion } = setup.meaning(till) else { return out };
        out.portion = portion;
        let Some((_, spec)) = setup.drink(drink).and_then(|d| d.specs.at(day)) else { return out };
        let mut shares = Vec::new();
        for part in spec {
            // µl × portion thousandths × (1 + waste), for a thousandth rung.
            let numerator = i128::from(part.amount.0) * i128::from(portion) * i128::from(10_000 + part.waste);
            let share = Share { item: part.item, numerator, denominator: 1_000 * 1_000 * 10_000 };
            every_share(setup, day, share, &mut shares);
        }
        for share in shares {
            let (slot, each) = (slot(share.item), share.numerator as f64 / share.denominator as f64);
            // What takes an item in two ways is one asking for it.
            match out.takes.iter_mut().find(|take| take.slot == slot) {
                Some(take) => take.each += each,
                None => out.takes.push(Takes { slot, drink, each }),
            }
        }
        out
    }
}

/// The business days on which some spec or recipe changes, in order.
fn changes(setup: &Setup) -> Vec<NaiveDate> {
    let specs = setup.drinks.iter().flat_map(|d| d.specs.iter().filter_map(|(from, _)| *from));
    let recipes = setup.recipes.values().flat_map(|r| r.iter().filter_map(|(from, _)| *from));
    let mut out: Vec<NaiveDate> = specs.chain(recipes).collect();
    out.sort_unstable();
    out.dedup();
    out
}

/// The business days of which a book can say what was asked: up to the last one with sales, since what is not imported
/// yet is unknown and not nothing; without the day that runs; from the first one with sales, and at most so many.
pub fn known_days(
    (first, last): (NaiveDate, NaiveDate),
    running: NaiveDate,
    most: u64,
) -> Option<RangeInclusive<NaiveDate>> {
    let last = last.min(running.pred_opt()?);
    let earliest = last.checked_sub_days(Days::new(most.saturating_sub(1)))?;
    (first <= last).then(|| first.max(earliest)..=last)
}
