//! What an item is expected to be asked for: how its week goes, at what rate, and how far off that was in the past.

use super::demand::Demand;
use super::past::{Past, WEEK, place_of};
use crate::domain::statistics::{Method, Smoother};
use crate::domain::usage::{Asked, AskedDays, DayTold};
use crate::domain::venue::ItemId;
use chrono::{Datelike, NaiveDate};
use std::collections::HashMap;

/// The ways of smoothing that are tried. A level that remembers a hundred days, down to one that remembers a week; for
/// slow items the two that follow size and chance apart.
const METHODS: &[Method] = &[
    Method::Level { alpha: 0.01 },
    Method::Level { alpha: 0.02 },
    Method::Level { alpha: 0.04 },
    Method::Level { alpha: 0.08 },
    Method::Level { alpha: 0.15 },
    Method::Gaps { alpha: 0.05 },
    Method::Gaps { alpha: 0.1 },
    Method::Gaps { alpha: 0.2 },
    Method::Chance { size: 0.05, chance: 0.02 },
    Method::Chance { size: 0.1, chance: 0.05 },
    Method::Chance { size: 0.1, chance: 0.1 },
];
/// The stretch over which the ways are judged: what an order lasts for, give or take.
const JUDGED_OVER: usize = 7;
/// Fewer days of trade than these say nothing of an item.
pub const KNOWN_DAYS: usize = 7;
/// So much nearer must the forecasts for slow items be, to be preferred to a level.
const CLEARLY: f64 = 0.98;
/// A forecast is judged once it has seen so many days.
const SEEN_DAYS: usize = 14;
/// How much the weeks of items differ from the week of the bar: the standard deviation of a weekday's share (common
/// practice, no source).
const WEEKS_DIFFER: f64 = 0.15;
/// What other items say of how demand scatters counts as so many stretches of the item's own.
const OTHERS_SAY: f64 = 6.0;
/// Scatter where nothing is known yet of any item: guests come in parties, and on some nights more of them (common
/// practice, no source).
const UNKNOWN_SCATTER: f64 = 2.0;
/// The stretches over which scatter is worked out, in days; between them it is taken to change evenly.
const STRETCHES: [usize; 9] = [1, 2, 3, 5, 7, 10, 14, 21, 28];

/// A business day to come, or a part of one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DayAhead {
    /// Which.
    pub day: NaiveDate,
    /// How much of a usual day it is: by what is special about it, and by how much of it is still to come.
    pub share: f64,
}

/// What is to be expected of an item.
#[derive(Clone, Debug, PartialEq)]
pub struct Outlook {
    /// How it is smoothed; the way that was nearest in the past.
    pub method: Method,
    /// What an average day of trade asks, in base units.
    pub rate: f64,
    /// How much of that each weekday asks, Monday first.
    pub week: [f64; WEEK],
    /// The size of one asking, in base units.
    pub piece: f64,
    /// Days of trade since it was first asked for.
    pub days: usize,
    /// Of these, days that say nothing since it was dry.
    pub dry: usize,
    /// Days of trade that weigh in the rate: those it remembers.
    remembers: f64,
    /// By stretch of [`STRETCHES`]: the variance of what came beside what was expected, as a multiple of what pieces at
    /// random would have.
    scatter: [f64; STRETCHES.len()],
}

/// Works out what to expect of every item. `told` says which days of an item say what was asked; an item that is not in it
/// never ran dry. Items that are known for less than [`KNOWN_DAYS`] are left out.
pub fn outlooks(past: &Past, asked: &AskedDays, told: &HashMap<ItemId, Vec<DayTold>>) -> HashMap<ItemId, Outlook> {
    let mut found: Vec<(ItemId, Fitted)> = Vec::new();
    for (item, of_item) in &asked.items {
        if let Some(fitted) = Fitted::new(past, of_item, told.get(item).map(Vec::as_slice)) {
            found.push((*item, fitted));
        }
    }
    // What all items together say of a stretch, each as much as it knows.
    let mut others = [UNKNOWN_SCATTER; STRETCHES.len()];
    for (n, usual) in others.iter_mut().enumerate() {
        let mut known: Vec<(f64, f64)> =
            found.iter().map(|(_, f)| f.scatter[n]).filter(|(_, stretches)| *stretches > 0.0).collect();
        known.sort_by(|a, b| a.0.total_cmp(&b.0));
        let half = 0.5 * known.iter().map(|(_, stretches)| stretches).sum::<f64>();
        let mut sum = 0.0;
        for (scatter, stretches) in known {
            sum += stretches;
            if sum >= half {
                *usual = scatter;
                break;
            }
        }
    }
    found.into_iter().map(|(item, fitted)| (item, fitted.with(&others))).collect()
}

impl Outlook {
    /// What was asked on each day from the first on which it was asked for, what was expected where that is not known; and
    /// the rate that had been smoothed up to each.
    pub fn walked(&self, past: &Past, asked: &Asked, told: Option<&[DayTold]>) -> (Vec<f64>, Vec<f64>) {
        let days = days_of(past, asked, told, &self.week);
        let (rates, _) = walk(self.method, &days);
        let asked = days.iter().zip(&rates).map(|(day, rate)| match day.told {
            DayTold::Nothing => rate * day.exposure,
            _ => day.at_least(*rate).unwrap_or_default(),
        });
        (asked.collect(), rates)
    }

    /// The same at another rate.
    pub fn at_rate(&self, rate: f64) -> Outlook {
        Outlook { rate, ..self.clone() }
    }

    /// What some days to come will ask.
    pub fn over(&self, days: &[DayAhead]) -> Demand {
        let usual = |day: &DayAhead| self.week[place_of(day.day.weekday())] * day.share;
        let exposure: f64 = days.iter().map(usual).sum();
        let mean = self.rate * exposure;
        let long: f64 = days.iter().map(|day| day.share.min(1.0)).sum();
        // The rate is itself known from so many days only.
        let unsure = 1.0 + exposure / self.remembers.max(1.0);
        Demand { mean, variance: self.scatter_over(long) * self.piece * mean * unsure, piece: self.piece }
    }

    /// The scatter over a stretch of so many days.
    fn scatter_over(&self, days: f64) -> f64 {
        let after = STRETCHES.iter().position(|stretch| *stretch as f64 >= days);
        match after {
            Some(0) => self.scatter[0],
            Some(n) => {
                let (from, to) = (STRETCHES[n - 1] as f64, STRETCHES[n] as f64);
                let part = (days - from) / (to - from);
                self.scatter[n - 1] + part * (self.scatter[n] - self.scatter[n - 1])
            }
            None => self.scatter[STRETCHES.len() - 1],
        }
    }
}

/// An item's outlook before other items had their say on its scatter.
struct Fitted {
    outlook: Outlook,
    /// Scatter, and the number of stretches apart from each other that it is known from.
    scatter: [(f64, f64); STRETCHES.len()],
}

impl Fitted {
    fn new(past: &Past, asked: &Asked, told: Option<&[DayTold]>) -> Option<Fitted> {
        let first = asked.daily.iter().position(|amount| *amount > 0.0)?;
        let said = |at: usize| told.map_or(DayTold::Whole, |told| told[at]);
        let week = week_of(past, asked, first, &said);
        let days = days_of(past, asked, told, &week);
        let traded = days.iter().filter(|day| day.exposure > 0.0).count();
        if traded < KNOWN_DAYS || asked.piece <= 0.0 {
            return None;
        }
        let (method, rate, errors) = nearest(past, &days);
        let mut scatter = [(1.0, 0.0); STRETCHES.len()];
        for (known, stretch) in scatter.iter_mut().zip(STRETCHES) {
            *known = errors.scatter(stretch, asked.piece);
        }
        let dry = days.iter().filter(|day| day.exposure > 0.0 && day.told == DayTold::Nothing).count();
        let memory = match method {
            Method::Level { alpha } => 2.0 / alpha,
            // Counted in askings; each stands for so many days.
            Method::Gaps { alpha } => {
                2.0 / alpha * traded as f64 / days.iter().filter(|d| d.asked > 0.0).count().max(1) as f64
            }
            Method::Chance { chance, .. } => 2.0 / chance,
        };
        let remembers = memory.min((traded - dry) as f64);
        let scatter_of = scatter.map(|(scatter, _)| scatter);
        let piece = asked.piece;
        let outlook = Outlook { method, rate, week, piece, days: traded, dry, remembers, scatter: scatter_of };
        Some(Fitted { outlook, scatter })
    }

    /// With what other items say of scatter.
    fn with(self, others: &[f64; STRETCHES.len()]) -> Outlook {
        let mut outlook = self.outlook;
        for (n, (scatter, stretches)) in self.scatter.iter().enumerate() {
            let both = (scatter * stretches + others[n] * OTHERS_SAY) / (stretches + OTHERS_SAY);
            outlook.scatter[n] = both.max(1.0);
        }
        outlook
    }
}

/// A day of the past, as one item saw it.
#[derive(Clone, Copy)]
struct Day {
    asked: f64,
    /// How much of an average day of trade it was; nothing for one without trade.
    exposure: f64,
    told: DayTold,
}

impl Day {
    /// What was asked, at least what was expected where it ran dry in the course of it; nothing of a day that says nothing.
    fn at_least(&self, rate: f64) -> Option<f64> {
        match self.told {
            _ if self.exposure <= 0.0 => None,
            DayTold::Whole => Some(self.asked),
            DayTold::AtLeast => Some(self.asked.max(rate * self.exposure)),
            DayTold::Nothing => None,
        }
    }
}

/// The days from the first on which an item was asked for.
fn days_of(past: &Past, asked: &Asked, told: Option<&[DayTold]>, week: &[f64; WEEK]) -> Vec<Day> {
    let first = asked.daily.iter().position(|amount| *amount > 0.0).unwrap_or(asked.daily.len());
    let day = |at: usize| Day {
        asked: asked.daily[at],
        exposure: past.factor[at] * week[past.weekday(at)],
        told: told.map_or(DayTold::Whole, |told| told[at]),
    };
    (first..asked.daily.len()).map(day).collect()
}

/// How an item's week goes: its own, drawn to the week of the bar as far as its own days cannot tell chance from habit.
fn week_of(past: &Past, asked: &Asked, first: usize, told: &impl Fn(usize) -> DayTold) -> [f64; WEEK] {
    let mut sums = [(0.0, 0.0); WEEK];
    let end = asked.daily.len();
    for at in (first..end).filter(|at| past.factor[*at] > 0.0 && told(*at) == DayTold::Whole) {
        let age = past.weight_of_age(end - 1 - at);
        let (amount, days) = &mut sums[past.weekday(at)];
        *amount += age * asked.daily[at];
        *days += age * past.factor[at];
    }
    // What an average day asks, were each weekday as large as it is for the bar.
    let usual: f64 = sums.iter().zip(past.week).map(|((_, days), week)| days * week).sum();
    let rate = sums.iter().map(|(amount, _)| amount).sum::<f64>() / usual.max(f64::MIN_POSITIVE);
    let mut week = past.week;
    if rate <= 0.0 {
        return week;
    }
    // Askings at random scatter by piece ÷ rate for each day; habits by WEEKS_DIFFER.
    let outweighed = asked.piece / rate / (WEEKS_DIFFER * WEEKS_DIFFER);
    for (weight, (amount, days)) in week.iter_mut().zip(sums).filter(|(weight, _)| **weight > 0.0) {
        *weight = (amount / rate + outweighed * *weight) / (days + outweighed);
    }
    let open: Vec<f64> = week.iter().copied().filter(|weight| *weight > 0.0).collect();
    let average = open.iter().sum::<f64>() / open.len().max(1) as f64;
    week.map(|weight| if average > 0.0 { weight / average } else { weight })
}

/// Sums of what was asked and of exposure up to each day, of days that say all.
struct Sums {
    asked: Vec<f64>,
    exposure: Vec<f64>,
}

impl Sums {
    /// `rates` are what was expected before each day.
    fn of(days: &[Day], rates: &[f64]) -> Sums {
        let mut sums = Sums { asked: vec![0.0], exposure: vec![0.0] };
        let (mut asked, mut exposure) = (0.0, 0.0);
        for (day, rate) in days.iter().zip(rates) {
            // A day on which it ran dry was a busy one more often than not: left out, demand would seem to scatter less.
            if let Some(at_least) = day.at_least(*rate) {
                asked += at_least;
                exposure += day.exposure;
            }
            sums.asked.push(asked);
            sums.exposure.push(exposure);
        }
        sums
    }

    /// What was asked over so many days from one on, and their exposure.
    fn over(&self, from: usize, days: usize) -> (f64, f64) {
        (self.asked[from + days] - self.asked[from], self.exposure[from + days] - self.exposure[from])
    }
}

/// Goes over the past with every method, and takes the one whose forecasts were nearest over a stretch; what is long ago
/// counts less. Says what it forecasts now, and how far off it was.
fn nearest<'a>(past: &'a Past, days: &[Day]) -> (Method, f64, Errors<'a>) {
    let mut best: Option<(f64, Method, f64, Errors)> = None;
    for method in METHODS {
        let (rates, rate) = walk(*method, days);
        let sums = Sums::of(days, &rates);
        let mut off = 0.0;
        // Of a book that is younger than that, what there is.
        let stretch = JUDGED_OVER.min(days.len().saturating_sub(SEEN_DAYS));
        for (from, rate) in rates.iter().enumerate().take(days.len() + 1 - stretch).skip(SEEN_DAYS) {
            let (asked, exposure) = sums.over(from, stretch);
            off += past.weight_of_age(days.len() - from) * (asked - rate * exposure).powi(2);
        }
        // The simple level is told from the others only where these are clearly nearer.
        let nearer = if matches!(method, Method::Level { .. }) { 1.0 } else { CLEARLY };
        if best.as_ref().is_none_or(|(least, ..)| off < *least * nearer) {
            best = Some((off, *method, rate, Errors { past, sums, rates }));
        }
    }
    let nothing = || (METHODS[0], 0.0, Errors { past, sums: Sums::of(&[], &[]), rates: Vec::new() });
    best.map_or_else(nothing, |(_, method, rate, errors)| (method, rate, errors))
}

/// The rate that a method had before each day, and has after the last.
fn walk(method: Method, days: &[Day]) -> (Vec<f64>, f64) {
    let mut smoother = Smoother::settling(method);
    let mut rates = Vec::with_capacity(days.len());
    for day in days {
        let rate = smoother.rate();
        rates.push(rate);
        if let Some(asked) = day.at_least(rate) {
            smoother.see(asked, day.exposure);
        }
    }
    let rate = smoother.rate();
    (rates, rate)
}

/// How far off forecasts were.
struct Errors<'a> {
    past: &'a Past,
    sums: Sums,
    /// What was forecast before each day.
    rates: Vec<f64>,
}

impl Errors<'_> {
    /// The variance of what a stretch asked beside its forecast, as a multiple of what pieces at random would have; and from
    /// how many stretches apart from each other it is known.
    fn scatter(&self, stretch: usize, piece: f64) -> (f64, f64) {
        let (mut squares, mut expected, mut weights) = (0.0, 0.0, 0.0);
        let days = self.rates.len();
        for from in SEEN_DAYS..(days + 1).saturating_sub(stretch) {
            let (asked, exposure) = self.sums.over(from, stretch);
            let mean = self.rates[from] * exposure;
            let age = self.past.weight_of_age(days - from);
            squares += age * (asked - mean).powi(2);
            // Where nothing was expected, what came is the measure.
            expected += age * if mean > 0.0 { mean } else { asked };
            weights += age;
        }
        if expected <= 0.0 {
            return (1.0, 0.0);
        }
        (squares / (piece * expected), weights / stretch as f64)
    }
}
