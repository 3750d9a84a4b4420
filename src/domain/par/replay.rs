//! A look back: what a par would have done on the days that a book knows.
//!
//! Every order of those days is placed again, with what was known then: the level that had been smoothed up to that day,
//! and the calendar. How an item is smoothed, how its week goes and how its demand scatters are as they are known today.
//! What was asked on a day on which the shelf was empty is not known; it is taken as expected.

use super::ahead::Stretch;
use super::level::{Par, Wishes};
use super::outlook::{DayAhead, Outlook};
use crate::domain::measure::Amount;
use chrono::{Days, NaiveDate};

/// An order of the past: placed in the course of a day, there before the trade of another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PastVan {
    /// The day of the deadline.
    pub ordered: NaiveDate,
    /// The day of the delivery.
    pub comes: NaiveDate,
    /// The day of the delivery after it.
    pub until: NaiveDate,
}

/// What a par is tried on: one item over some days.
#[derive(Clone, Copy, Debug)]
pub struct Trial<'a> {
    /// What is expected of it.
    pub outlook: &'a Outlook,
    /// The first of the days.
    pub first: NaiveDate,
    /// What was asked on each, in base units; what is expected where that is not known.
    pub asked: &'a [f64],
    /// The rate that had been smoothed up to each of them.
    pub rates: &'a [f64],
    /// How much of a usual day each of them is, and of those after them as far as orders look ahead.
    pub shares: &'a [f64],
    /// Orders, in the order of their days.
    pub vans: &'a [PastVan],
    /// What a container holds.
    pub size: Amount,
    /// Containers in a pack.
    pub pack: i64,
}

/// A par as it is tried.
#[derive(Clone, Copy, Debug)]
pub enum Tried<'a> {
    /// Set by hand: always the same.
    Hand(Amount),
    /// Worked out anew before each order.
    Computed(&'a Wishes),
}

/// What it came to.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Replayed {
    /// What was on the shelf at the end of each day, in base units.
    pub stock: Vec<f64>,
    /// Days on which it ran dry, in their order.
    pub dry: Vec<NaiveDate>,
    /// Of all days of trade.
    pub days: usize,
    /// Orders that asked for it.
    pub orders: usize,
    /// What could not be served, in base units.
    pub missed: f64,
}

impl Replayed {
    /// What was on the shelf on average, in base units.
    pub fn average(&self) -> f64 {
        self.stock.iter().sum::<f64>() / self.stock.len().max(1) as f64
    }
}

impl Trial<'_> {
    /// Goes through the days with a par. The shelf is full to it on the first.
    pub fn run(&self, tried: Tried) -> Replayed {
        let mut out = Replayed::default();
        let mut coming: Vec<(NaiveDate, f64)> = Vec::new();
        let mut vans = self.vans.iter().peekable();
        let start = self.vans.first().map(|van| self.level(tried, *van)).unwrap_or_default();
        let mut stock = start.as_f64();
        for (at, day) in self.first.iter_days().take(self.asked.len()).enumerate() {
            coming.retain(|(comes, amount)| {
                let here = *comes <= day;
                stock += if here { *amount } else { 0.0 };
                !here
            });
            while let Some(van) = vans.next_if(|van| van.ordered <= day) {
                let position = stock + coming.iter().map(|(_, amount)| amount).sum::<f64>();
                let pack = self.size.as_f64() * self.pack as f64;
                let packs = ((self.level(tried, *van).as_f64() - position) / pack - 1e-9).ceil();
                if van.ordered == day && packs > 0.0 {
                    coming.push((van.comes, packs * pack));
                    out.orders += 1;
                }
            }
            let asked = self.asked[at];
            let served = asked.min(stock);
            stock -= served;
            out.days += usize::from(self.shares[at] > 0.0);
            // Less than half of an asking is a rounding.
            if asked - served > 0.5 * self.outlook.piece {
                out.dry.push(day);
                out.missed += asked - served;
            }
            out.stock.push(stock);
        }
        out
    }

    /// The level before an order.
    fn level(&self, tried: Tried, van: PastVan) -> Amount {
        match tried {
            Tried::Hand(level) => level,
            Tried::Computed(wishes) => {
                let at = usize::try_from((van.ordered - self.first).num_days()).unwrap_or(0);
                let rate = self.rates.get(at).copied().unwrap_or(self.outlook.rate);
                let outlook = self.outlook.at_rate(rate);
                let stretch = Stretch { by: None, comes: van.comes, until: van.until };
                Par::over(&outlook, stretch, wishes, |until| self.days(at, until)).level
            }
        }
    }

    /// The days from one on and before another.
    fn days(&self, at: usize, until: NaiveDate) -> Vec<DayAhead> {
        let from = self.first.checked_add_days(Days::new(at as u64)).unwrap_or(self.first);
        let days = from.iter_days().take_while(|day| *day < until);
        days.zip(&self.shares[at.min(self.shares.len())..])
            .map(|(day, share)| DayAhead { day, share: *share })
            .collect()
    }
}
