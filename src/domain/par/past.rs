//! What the days of the past have in common for all items: which were days of trade, what was special about them, and how
//! the bar's week goes.

use crate::domain::usage::AskedDays;
use chrono::{Datelike, NaiveDate, Weekday};

/// Weekdays, Monday first.
pub const WEEK: usize = 7;
/// A weekday is one of trade when the bar was open on at least half of so many of them.
const LOOKED_AT: usize = 8;
/// What was half a year ago counts half.
const HALF_LIFE: f64 = 182.0;

/// The place of a weekday in a week that begins on Monday.
pub fn place_of(weekday: Weekday) -> usize {
    weekday.num_days_from_monday() as usize
}

/// What is behind, day by day.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Past {
    /// The first of the days.
    pub first: NaiveDate,
    /// How much of a usual day each was by what was special about it; nothing for a day without trade, of which nothing
    /// can be learned.
    pub factor: Vec<f64>,
    /// How much of the average day of trade each weekday is for the bar as a whole; nothing for one on which it is closed.
    pub week: [f64; WEEK],
    /// What a day counts for, by how old it is in days: asked for so often that it is worth knowing by heart.
    ages: Vec<f64>,
}

impl Past {
    /// Of days of which is known what was rung. `factors` says how much of a usual day each is by what is special about it,
    /// one where nothing is, nothing where the bar is closed.
    pub fn new(asked: &AskedDays, factors: &[f64]) -> Past {
        let days = asked.first.iter_days().take(asked.rung.len());
        let known: Vec<(NaiveDate, f64)> = days.zip(factors.iter().copied()).collect();
        let traded = |at: usize| asked.rung[at] > 0 && known[at].1 > 0.0;
        let factor: Vec<f64> = known.iter().enumerate().map(|(at, (_, f))| if traded(at) { *f } else { 0.0 }).collect();
        let ages: Vec<f64> = (0..=known.len()).map(|days| 0.5_f64.powf(days as f64 / HALF_LIFE)).collect();
        let mut week = [0.0; WEEK];
        let mut open = [false; WEEK];
        for (place, weight) in week.iter_mut().enumerate() {
            let same = |at: &usize| place_of(known[*at].0.weekday()) == place;
            // A day on which the bar was closed for once says nothing of its weekday.
            let lately: Vec<usize> =
                (0..known.len()).rev().filter(same).filter(|at| known[*at].1 > 0.0).take(LOOKED_AT).collect();
            open[place] = 2 * lately.iter().filter(|at| asked.rung[**at] > 0).count() >= lately.len().max(1);
            let (mut sum, mut days) = (0.0, 0.0);
            for at in (0..known.len()).filter(same).filter(|at| factor[*at] > 0.0) {
                let age = ages[known.len() - 1 - at];
                sum += age * asked.rung[at] as f64;
                days += age * factor[at];
            }
            *weight = if open[place] && days > 0.0 { sum / days } else { 0.0 };
        }
        let open: Vec<f64> = week.iter().copied().filter(|weight| *weight > 0.0).collect();
        let average = open.iter().sum::<f64>() / open.len().max(1) as f64;
        if average > 0.0 {
            week.iter_mut().for_each(|weight| *weight /= average);
        }
        Past { first: asked.first, factor, week, ages }
    }

    /// The weekday of a day, by its place among the days.
    pub fn weekday(&self, at: usize) -> usize {
        (place_of(self.first.weekday()) + at) % WEEK
    }

    /// What a day counts for that is so many days old, as far as this goes back.
    pub(super) fn weight_of_age(&self, days: usize) -> f64 {
        self.ages[days]
    }
}
