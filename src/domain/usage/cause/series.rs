//! How likely an item's gaps are, period by period, with and without a cause.

use crate::domain::usage::track::{Expected, Step};
use std::f64::consts::PI;

/// The share of gaps that have a cause of their own which nobody knows.
const CAUSED: f64 = 0.05;

/// How often what lasts goes on from one period to the next.
pub(super) const GOES_ON: f64 = 0.7;

/// What a cause makes of a gap: so much, give or take.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Made {
    /// How much.
    pub(super) mean: f64,
    /// Standard deviation of that.
    pub(super) give: f64,
}

impl Made {
    /// Exactly so much.
    pub(super) fn exactly(mean: f64) -> Made {
        Made { mean, give: 0.0 }
    }
}

/// How the gap of the period that is asked about is taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Taken {
    /// The cause that is weighed makes it, and nothing else does.
    Made,
    /// Something makes it that nobody knows.
    Unknown,
    /// Something else may be the matter as well, as in all other periods.
    Any,
}

/// An item over the periods around the one that is asked about; none where it was not counted.
#[derive(Clone, Debug)]
pub(super) struct Series {
    /// One a period, the oldest first.
    pub(super) steps: Vec<Option<Step>>,
    /// Which of them is asked about.
    pub(super) at: usize,
    /// How wide gaps are that have a cause of their own.
    pub(super) wide: f64,
    /// Nothing is more exact than this.
    pub(super) least: f64,
}

/// The density of a gap with a cause of its own: of Cauchy, so that one many containers wide is as odd as it is, but never
/// so odd that anything else is likelier.
fn log_wide(x: f64, scale: f64) -> f64 {
    -(PI * scale * (1.0 + (x / scale).powi(2))).ln()
}

fn log_normal(x: f64, variance: f64) -> f64 {
    -0.5 * (x * x / variance + variance.ln() + (2.0 * PI).ln())
}

impl Series {
    /// The logarithm of how likely all the gaps are when a cause makes so much of each. Gaps in a row share a count, so each
    /// is measured against what those before led to expect; one that must have a cause of its own is not carried on.
    pub(super) fn log(&self, makes: &dyn Fn(usize) -> Made, taken: Taken) -> f64 {
        let (mut sum, mut before): (f64, Option<Expected>) = (0.0, None);
        for (period, step) in self.steps.iter().enumerate() {
            let Some(step) = step else {
                before = None;
                continue;
            };
            let Made { mean, give } = makes(period);
            let mut now = before.unwrap_or_else(|| Expected::from(step.opening));
            let between = step.between + give * give + self.least * self.least;
            let (surprise, variance) = now.take(step.gap - mean, between, step.closing);
            let quiet = log_normal(surprise, variance);
            let wide = log_wide(surprise, self.wide);
            let asked = if period == self.at { taken } else { Taken::Any };
            let (log, carried) = match asked {
                Taken::Made => (quiet, true),
                Taken::Unknown => (wide, false),
                Taken::Any => {
                    let (quiet, wide) = (quiet + (1.0 - CAUSED).ln(), wide + CAUSED.ln());
                    let most = quiet.max(wide);
                    (most + ((quiet - most).exp() + (wide - most).exp()).ln(), quiet >= wide)
                }
            };
            sum += log;
            before = Some(if carried { now } else { Expected::from(step.closing) });
        }
        sum
    }

    /// As it is without any cause.
    pub(super) fn without(&self) -> f64 {
        self.log(&|_| Made::default(), Taken::Any)
    }

    /// How much likelier a cause makes it, in logarithms, for the item that is asked about.
    pub(super) fn gain(&self, makes: &dyn Fn(usize) -> Made) -> f64 {
        self.log(makes, Taken::Made) - self.without()
    }

    /// The same for an item that a cause touches besides: something else may be the matter with it as well.
    pub(super) fn gain_besides(&self, makes: &dyn Fn(usize) -> Made) -> f64 {
        self.log(makes, Taken::Any) - self.without()
    }

    /// The same for a cause that lasts: mostly it goes on in the period after the one that is asked about, sometimes it has
    /// ended by then.
    pub(super) fn gain_lasting(&self, makes: &dyn Fn(usize) -> Made) -> f64 {
        self.lasting(makes, Taken::Made)
    }

    /// The same for an item that a lasting cause touches besides.
    pub(super) fn gain_lasting_besides(&self, makes: &dyn Fn(usize) -> Made) -> f64 {
        self.lasting(makes, Taken::Any)
    }

    fn lasting(&self, makes: &dyn Fn(usize) -> Made, taken: Taken) -> f64 {
        let goes_on = self.log(makes, taken);
        let log = if self.steps.len() > self.at + 1 {
            let ended = |period: usize| if period > self.at { Made::default() } else { makes(period) };
            let (goes_on, ended) = (goes_on + GOES_ON.ln(), self.log(&ended, taken) + (1.0 - GOES_ON).ln());
            let most = goes_on.max(ended);
            most + ((goes_on - most).exp() + (ended - most).exp()).ln()
        } else {
            goes_on
        };
        log - self.without()
    }

    /// What a cause makes that is there in the period asked about alone.
    pub(super) fn once(&self, made: Made) -> impl Fn(usize) -> Made + use<> {
        let at = self.at;
        move |period| if period == at { made } else { Made::default() }
    }

    /// The gap that is asked about and its standard uncertainty, by itself.
    pub(super) fn asked(&self) -> Option<(f64, f64)> {
        let step = self.steps.get(self.at).copied().flatten()?;
        Some((step.gap, (step.opening + step.between + step.closing + self.least * self.least).sqrt()))
    }
}

/// What a cause says whose size is not known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Factor {
    /// The factor as the gaps have it.
    pub(super) value: f64,
    /// Standard uncertainty of that.
    pub(super) u: f64,
    /// How much likelier it makes them, in logarithms, whatever the factor is.
    pub(super) gain: f64,
}

/// Values of a factor that are tried out, to either side of the usual one, and how far apart, in standard deviations; and
/// into how many each of those around the likeliest is parted.
const TRIED: i32 = 24;
const APART: f64 = 0.125;
const PARTED: i32 = 8;

/// Weighs a cause over everything that its size may be: normal around `usual`, give or take `give`, of one sign only.
pub(super) fn factor(usual: f64, give: f64, gain: &dyn Fn(f64) -> f64) -> Factor {
    let one = |z: f64, width: f64| {
        let value = usual + z * give;
        (value * usual > 0.0).then(|| (gain(value) - 0.5 * z * z + (width / (2.0 * PI).sqrt()).ln(), value))
    };
    let at = |n: i32| f64::from(n) * APART;
    let coarse: Vec<(i32, (f64, f64))> = (-TRIED..=TRIED).filter_map(|n| Some((n, one(at(n), APART)?))).collect();
    let likeliest = coarse.iter().max_by(|a, b| a.1.0.total_cmp(&b.1.0)).map_or(0, |(n, _)| *n);
    // Where it is likely it may change much from one value to the next: those around the likeliest are looked at closer.
    let near = |n: i32| (n - likeliest).abs() <= 2;
    let fine = (-TRIED..=TRIED)
        .filter(|n| near(*n))
        .flat_map(|n| (0..PARTED).map(move |part| at(n) + ((f64::from(part) + 0.5) / f64::from(PARTED) - 0.5) * APART));
    let fine = fine.filter_map(|z| one(z, APART / f64::from(PARTED)));
    let tried: Vec<(f64, f64)> =
        coarse.iter().filter(|(n, _)| !near(*n)).map(|(_, tried)| *tried).chain(fine).collect();
    let best = tried.iter().map(|(log, _)| *log).fold(f64::NEG_INFINITY, f64::max);
    let weights = || tried.iter().map(|(log, value)| ((log - best).exp(), *value));
    let total: f64 = weights().map(|(weight, _)| weight).sum();
    let value = weights().map(|(weight, value)| weight * value).sum::<f64>() / total;
    let square = weights().map(|(weight, of)| weight * (of - value).powi(2)).sum::<f64>() / total;
    // A value stands for all up to half way to the next.
    let step = give * APART / f64::from(PARTED);
    Factor { value, u: (square + step * step / 12.0).sqrt(), gain: best + total.ln() }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Gaps that share no reading, of u = 30 each.
    fn series(gaps: &[f64]) -> Series {
        let step = |gap: &f64| Step {
            gap: *gap,
            opening: 0.0,
            closing: 0.0,
            between: 900.0,
            by_itself: false,
            explained: false,
        };
        let steps = gaps.iter().map(|gap| Some(step(gap))).collect();
        Series { steps, at: gaps.len() - 1, wide: 350.0, least: 0.0 }
    }

    #[test]
    fn a_cause_gains_where_it_fits_and_loses_where_it_does_not() {
        let once = |mean: f64| move |period: usize| if period == 2 { Made::exactly(mean) } else { Made::default() };
        assert!(series(&[10.0, -20.0, 700.0]).gain(&once(700.0)) > 4.0);
        assert!(series(&[10.0, -20.0, 20.0]).gain(&once(700.0)) < -100.0);
        // What it touches besides may have a trouble of its own, so that it never speaks against it without end.
        assert!(series(&[10.0, -20.0, 20.0]).gain_besides(&once(700.0)) > -15.0);
    }

    /// A reading in between that errs makes two gaps, equal and opposite: over the two nothing went.
    #[test]
    fn gaps_that_share_a_reading_are_not_taken_twice() {
        let mut both = series(&[60.0, -60.0]);
        for step in both.steps.iter_mut().flatten() {
            (step.opening, step.closing, step.between) = (900.0, 900.0, 100.0);
        }
        let mut apart = both.clone();
        for step in apart.steps.iter_mut().flatten() {
            (step.opening, step.closing, step.between) = (0.0, 0.0, 1_900.0);
        }
        let quiet = |series: &Series| series.log(&|_| Made::default(), Taken::Made);
        assert!(quiet(&both) > quiet(&apart) + 0.2, "{} {}", quiet(&both), quiet(&apart));
    }

    /// The posterior of a normal factor with a normal prior, in closed form (Gelman et al., Bayesian Data Analysis, ch. 2;
    /// from memory): precision 1/0.05² + Σ size²/u², mean by the same weights.
    #[test]
    fn a_factor_is_weighed_over_all_it_may_be() {
        let (gaps, sizes) = ([110.0, 80.0, 130.0], [1_000.0, 900.0, 1_200.0]);
        let found = factor(0.1, 0.05, &|value| series(&gaps).gain(&|period| Made::exactly(value * sizes[period])));
        let precision = 400.0 + sizes.iter().map(|s| s * s / 900.0).sum::<f64>();
        let mean = (40.0 + sizes.iter().zip(gaps).map(|(s, g)| s * g / 900.0).sum::<f64>()) / precision;
        assert!((found.value - mean).abs() < 5e-4, "{found:?} {mean}");
        assert!((found.u - 1.0 / precision.sqrt()).abs() < 5e-4, "{found:?} {}", 1.0 / precision.sqrt());
    }
}
