//! The calendar ahead: what is left of today and the days to come, and how long an order placed now must last.

use super::outlook::DayAhead;
use crate::domain::ledger::Sale;
use crate::domain::venue::{DayRule, Deadline, Moment};
use chrono::{Days, NaiveDate};

/// How far ahead of today anything is looked at, in days.
pub const AHEAD: usize = 70;
/// What is known of the stock from longer ago than so many days is taken for known since then.
const OLDEST: i64 = 28;
/// Where a supplier has no fixed days: an order comes on the second day, and the next is placed in a week (common practice,
/// no source).
const USUAL_LEAD: u64 = 2;
const USUAL_ROUND: u64 = 7;

/// How the trade of a business day is spread over its hours.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Hours {
    rule: Option<DayRule>,
    /// By quarter of an hour since the day began: what is sold up to its end, as a share of the day.
    upto: Vec<f64>,
}

/// Quarters of an hour in a business day, with the hour that a clock change may add.
const QUARTERS: usize = 100;
const QUARTER: i64 = 900_000;

impl Hours {
    /// As lately sold.
    pub fn new(rule: DayRule, sales: &[Sale]) -> Hours {
        let mut sold = vec![0.0; QUARTERS];
        for sale in sales {
            let into = sale.at.since(rule.begins(rule.day_of(sale.at)));
            if let Some(quarter) = usize::try_from(into / QUARTER).ok().and_then(|at| sold.get_mut(at)) {
                *quarter += sale.took().max(0) as f64;
            }
        }
        let all: f64 = sold.iter().sum();
        let mut sum = 0.0;
        for quarter in &mut sold {
            sum += *quarter;
            *quarter = if all > 0.0 { sum / all } else { 0.0 };
        }
        Hours { rule: Some(rule), upto: if all > 0.0 { sold } else { Vec::new() } }
    }

    /// The share of its business day's trade that is still to come at a moment; all of it where no hours are known.
    pub fn after(&self, at: Moment) -> f64 {
        let Some(rule) = self.rule.filter(|_| !self.upto.is_empty()) else { return 1.0 };
        let into = at.since(rule.begins(rule.day_of(at))).max(0);
        let quarter = usize::try_from(into / QUARTER).unwrap_or(QUARTERS).min(QUARTERS - 1);
        let before = if quarter == 0 { 0.0 } else { self.upto[quarter - 1] };
        let part = (into % QUARTER) as f64 / QUARTER as f64;
        1.0 - (before + part * (self.upto[quarter] - before))
    }
}

/// The business days from the moment on up to which the stock is known.
#[derive(Clone, Debug, PartialEq)]
pub struct Ahead {
    /// Today.
    pub today: NaiveDate,
    /// From the day on which the stock is known to; that day's rest first.
    pub days: Vec<DayAhead>,
}

impl Ahead {
    /// Of a stock that is known up to `known`, looked at on `today`. `rest` says how much of a business day is to come
    /// after a moment, `factor` how much of a usual day each is by what is special about it.
    pub fn new(
        rule: &DayRule,
        known: Moment,
        today: NaiveDate,
        rest: impl Fn(Moment) -> f64,
        factor: impl Fn(NaiveDate) -> f64,
    ) -> Ahead {
        let oldest = today - chrono::TimeDelta::days(OLDEST);
        let known_day = rule.day_of(known);
        let first = known_day.clamp(oldest, today);
        let number = AHEAD + usize::try_from((today - first).num_days()).unwrap_or(0);
        let share =
            |n: usize, day: NaiveDate| if n == 0 && day == known_day { rest(known) * factor(day) } else { factor(day) };
        let days = first.iter_days().take(number).enumerate();
        Ahead { today, days: days.map(|(n, day)| DayAhead { day, share: share(n, day) }).collect() }
    }

    /// Days that have gone since the stock was known.
    pub fn behind(&self) -> usize {
        self.days.iter().take_while(|day| day.day < self.today).count()
    }

    /// The days before a date: a van comes before that day's trade.
    pub fn before(&self, date: NaiveDate) -> &[DayAhead] {
        &self.days[..self.days.partition_point(|day| day.day < date)]
    }

    /// Until the end of so many days, today among them.
    pub fn first(&self, number: usize) -> &[DayAhead] {
        &self.days[..(self.behind() + number).min(self.days.len())]
    }
}

/// How long an order placed now must last.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stretch {
    /// The last moment to order; none where one orders whenever one likes.
    pub by: Option<Moment>,
    /// The day on which it comes.
    pub comes: NaiveDate,
    /// The day on which the order after it comes: until then it must last.
    pub until: NaiveDate,
}

impl Stretch {
    /// From a supplier's deadlines after now, the earliest first. An order that comes no later than the one before it ends
    /// no stretch. Without fixed days, or when a supplier comes just once more, what is usual.
    pub fn new(vans: impl IntoIterator<Item = Deadline>, today: NaiveDate) -> Stretch {
        let mut vans = vans.into_iter();
        let Some(next) = vans.next() else {
            let comes = after(today, USUAL_LEAD);
            return Stretch { by: None, comes, until: after(comes, USUAL_ROUND) };
        };
        let later = vans.find(|van| van.comes > next.comes);
        let until = later.map_or_else(|| after(next.comes, USUAL_ROUND), |van| van.comes);
        Stretch { by: Some(next.by), comes: next.comes, until }
    }

    /// Of what is made here: it is there when it is made, and must last so many days.
    pub fn made(today: NaiveDate, days: u64) -> Stretch {
        Stretch { by: None, comes: today, until: after(today, days) }
    }
}

fn after(date: NaiveDate, days: u64) -> NaiveDate {
    date.checked_add_days(Days::new(days)).unwrap_or(date)
}
