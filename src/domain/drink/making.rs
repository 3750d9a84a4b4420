//! How much to make: what running out would cost against what is thrown away.

use crate::domain::measure::Amount;
use crate::domain::statistics::{normal_loss, normal_quantile};
use chrono::{Datelike, Days, NaiveDate, Weekday};
use std::collections::BTreeMap;

/// Demand over some days to come, in base units.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Demand {
    /// What is expected.
    pub mean: f64,
    /// Standard deviation.
    pub sd: f64,
}

impl Demand {
    /// Over `days` business days from `first` on, when the past went as `daily`, every day of it there, quiet ones with
    /// zero: each day to come is as the same weekdays were. A weekday seen once or never is taken as all days together.
    pub fn expected(daily: &BTreeMap<NaiveDate, Amount>, first: NaiveDate, days: u64) -> Demand {
        let all = Demand::of(daily.values());
        let of_weekday = |weekday: Weekday| {
            let same = daily.iter().filter(|(day, _)| day.weekday() == weekday);
            if same.clone().count() < 2 { all } else { Demand::of(same.map(|(_, amount)| amount)) }
        };
        let coming = (0..days).filter_map(|n| first.checked_add_days(Days::new(n)));
        let sum = coming.map(|day| of_weekday(day.weekday()));
        let (mean, variance) =
            sum.fold((0.0, 0.0), |(mean, variance), day| (mean + day.mean, variance + day.sd * day.sd));
        Demand { mean, sd: variance.sqrt() }
    }

    /// Mean and sample standard deviation of some days.
    fn of<'a>(days: impl Iterator<Item = &'a Amount> + Clone) -> Demand {
        let number = days.clone().count() as f64;
        if number < 1.0 {
            return Demand::default();
        }
        let mean = days.clone().map(|a| a.as_f64()).sum::<f64>() / number;
        let squares = days.map(|a| (a.as_f64() - mean).powi(2)).sum::<f64>();
        Demand { mean, sd: if number < 2.0 { 0.0 } else { (squares / (number - 1.0)).sqrt() } }
    }
}

/// What it costs to be wrong by one base unit, in any money.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stakes {
    /// Running out: what the drinks that cannot be made would have brought in.
    pub short: f64,
    /// Making too much: what is thrown away had cost.
    pub over: f64,
}

impl Stakes {
    /// The share of times that should not run out, short ÷ (short + over); nothing where neither costs anything.
    pub fn ratio(self) -> Option<f64> {
        let both = self.short + self.over;
        (both > 0.0 && self.short >= 0.0 && self.over >= 0.0).then(|| self.short / both)
    }
}

/// The level to have when a share of times should not run out, for demand that is spread normally: the newsvendor's
/// quantile (L. Snyder, Z.-J. Shen, Fundamentals of Supply Chain Theory, 2nd ed., section 4.3).
pub fn level(demand: Demand, ratio: f64) -> f64 {
    (demand.mean + demand.sd * normal_quantile(ratio)).max(0.0)
}

/// What is expected to be thrown away, and what to be missing, when a level is had.
pub fn expected_rest(demand: Demand, level: f64) -> (f64, f64) {
    if demand.sd <= 0.0 {
        return ((level - demand.mean).max(0.0), (demand.mean - level).max(0.0));
    }
    let z = (level - demand.mean) / demand.sd;
    (demand.sd * normal_loss(-z), demand.sd * normal_loss(z))
}
