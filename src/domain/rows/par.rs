//! Pars as they are looked at and changed, and what they would have done.

use crate::domain::measure::{Amount, Money};
use crate::domain::par::{ItemPar, Replayed};
use crate::domain::venue::{ItemId, Moment, Setup};
use chrono::NaiveDate;
use std::collections::HashMap;
use std::ops::RangeInclusive;
use std::sync::Arc;

/// The Par screen.
#[derive(Clone, Debug)]
pub struct ParView {
    /// The bar.
    pub setup: Arc<Setup>,
    /// When it is looked at.
    pub now: Moment,
    /// Every item, by name.
    pub pars: Vec<ItemPar>,
    /// What one base unit costs, in minor units; nothing where that is not known.
    pub unit: HashMap<ItemId, f64>,
    /// The business days whose sales say what is asked; none without sales.
    pub known: Option<RangeInclusive<NaiveDate>>,
    /// The last sale that the book has.
    pub last_sale: Option<Moment>,
}

impl ParView {
    /// What an amount of an item costs; nothing where that is not known.
    pub fn worth(&self, item: ItemId, amount: Amount) -> Option<Money> {
        self.unit.get(&item).map(|unit| Money((unit * amount.as_f64()).round() as i64))
    }

    /// What all pars together tie up, by hand and by demand, of the items that have both.
    pub fn tied_up(&self) -> (Money, Money) {
        let (mut hand, mut computed) = (Money::ZERO, Money::ZERO);
        for par in &self.pars {
            let Some((by_hand, by_demand)) = par.hand.zip(par.by_demand()) else { continue };
            hand += self.worth(par.item, by_hand).unwrap_or_default();
            computed += self.worth(par.item, by_demand.level).unwrap_or_default();
        }
        (hand, computed)
    }
}

/// What pars by hand and by demand would have done with an item.
#[derive(Clone, Debug, PartialEq)]
pub struct LookBackRow {
    /// What.
    pub item: ItemId,
    /// By hand; nothing of one without a par set by hand.
    pub hand: Option<Replayed>,
    /// By demand.
    pub computed: Replayed,
}

/// All items of one way.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct LookBackSum {
    /// Days of trade of all items.
    pub days: usize,
    /// Those on which one ran dry.
    pub dry: usize,
    /// What was on the shelves on average, in money.
    pub stock: Money,
    /// Lines of orders.
    pub orders: usize,
    /// What could not be served would have cost so much, in money of its ingredients.
    pub missed: Money,
}

impl LookBackSum {
    /// The share of days of trade on which one ran dry.
    pub fn dry_share(&self) -> f64 {
        self.dry as f64 / self.days.max(1) as f64
    }
}

/// A week of both ways.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LookBackWeek {
    /// Its first day.
    pub first: NaiveDate,
    /// What was on the shelves on average, by hand and by demand, in money.
    pub stock: [Money; 2],
    /// Items that ran dry on some day of it, by hand and by demand.
    pub dry: [usize; 2],
}

/// What pars would have done on days that the book knows.
#[derive(Clone, Debug, PartialEq)]
pub struct LookBack {
    /// The days.
    pub days: RangeInclusive<NaiveDate>,
    /// Every item that was looked at, by name.
    pub rows: Vec<LookBackRow>,
    /// Of the items with both pars, by hand and by demand.
    pub sums: [LookBackSum; 2],
    /// Week by week, of the items with both pars.
    pub weeks: Vec<LookBackWeek>,
    /// Items with a par by demand only.
    pub without_hand: usize,
}

impl LookBack {
    /// Sums what was tried. `unit` is what one base unit costs, in minor units.
    pub fn new(days: RangeInclusive<NaiveDate>, rows: Vec<LookBackRow>, unit: impl Fn(ItemId) -> f64) -> LookBack {
        let number = usize::try_from((*days.end() - *days.start()).num_days() + 1).unwrap_or(0);
        let both: Vec<(f64, &Replayed, &Replayed)> =
            rows.iter().filter_map(|row| Some((unit(row.item), row.hand.as_ref()?, &row.computed))).collect();
        let sum = |of: &dyn Fn(&(f64, &Replayed, &Replayed)) -> Replayed| {
            let mut out = LookBackSum::default();
            let (mut stock, mut missed) = (0.0, 0.0);
            for entry in &both {
                let replayed = of(entry);
                out.days += replayed.days;
                out.dry += replayed.dry.len();
                out.orders += replayed.orders;
                stock += entry.0 * replayed.average();
                missed += entry.0 * replayed.missed;
            }
            LookBackSum { stock: Money(stock.round() as i64), missed: Money(missed.round() as i64), ..out }
        };
        let week = |from: usize| {
            let first = *days.start() + chrono::TimeDelta::days(from as i64);
            let last = first + chrono::TimeDelta::days(6);
            let to = (from + 7).min(number);
            let mut out = LookBackWeek { first, stock: [Money::ZERO; 2], dry: [0; 2] };
            let mut stock = [0.0; 2];
            for (unit, hand, computed) in &both {
                for (n, replayed) in [hand, computed].into_iter().enumerate() {
                    // One that was not asked for from the first day on has fewer days; they end together.
                    let late = number - replayed.stock.len();
                    let of_week = &replayed.stock[from.saturating_sub(late)..to.saturating_sub(late)];
                    stock[n] += unit * of_week.iter().sum::<f64>() / (to - from).max(1) as f64;
                    out.dry[n] += usize::from(replayed.dry.iter().any(|day| (first..=last).contains(day)));
                }
            }
            LookBackWeek { stock: stock.map(|stock| Money(stock.round() as i64)), ..out }
        };
        let weeks = (0..number).step_by(7).map(week).collect();
        let sums = [sum(&|(_, hand, _)| (*hand).clone()), sum(&|(_, _, computed)| (*computed).clone())];
        let without_hand = rows.iter().filter(|row| row.hand.is_none()).count();
        LookBack { days, sums, weeks, without_hand, rows }
    }
}
