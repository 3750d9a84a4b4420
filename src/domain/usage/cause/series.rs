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
    wide: f64,
    /// Nothing is more exact than this.
    least: f64,
    /// How far one has come without any cause, before each of the periods and after the last: hundreds of causes are
    /// weighed, and none of them makes anything before it begins.
    quiet: Vec<Come>,
    /// How likely all of them are without any, in logarithms.
    without: f64,
}

/// How likely the gaps of some periods are, and what is expected of the next one. Densities are multiplied as long as that
/// is exact, and only then taken the logarithm of: it is asked for far more often than there are causes.
#[derive(Clone, Copy, Debug)]
struct Come {
    log: f64,
    density: f64,
    before: Option<Expected>,
}

/// A product below this is taken the logarithm of before it becomes too small to be exact; no density of one gap is as small.
const SMALL: f64 = 1e-150;

impl Come {
    const NOWHERE: Come = Come { log: 0.0, density: 1.0, before: None };

    fn times(&mut self, density: f64) {
        self.density *= density;
        if self.density < SMALL {
            (self.log, self.density) = (self.log(), 1.0);
        }
    }

    /// The logarithm of how likely they are.
    fn log(&self) -> f64 {
        self.log + self.density.ln()
    }
}

/// The density of a gap with a cause of its own: of Cauchy, so that one many containers wide is as odd as it is, but never
/// so odd that anything else is likelier.
fn wide(x: f64, scale: f64) -> f64 {
    let share = x / scale;
    1.0 / (PI * scale * (1.0 + share * share))
}

fn normal(x: f64, variance: f64) -> f64 {
    (-0.5 * x * x / variance).exp() / (2.0 * PI * variance).sqrt()
}

/// The same in logarithms: far out the density itself is nothing.
fn log_normal(x: f64, variance: f64) -> f64 {
    -0.5 * (x * x / variance + (2.0 * PI * variance).ln())
}

/// Periods of a series, as far as they do not lie before it.
type Periods = std::ops::Range<usize>;

/// The logarithm of the sum of what two are the logarithms of.
fn both(a: f64, b: f64) -> f64 {
    let most = a.max(b);
    most + ((a - most).exp() + (b - most).exp()).ln()
}

impl Series {
    /// Of periods, the oldest first, of which one is asked about. `wide` says how wide gaps are that have a cause of their
    /// own; nothing is more exact than `least`.
    pub(super) fn new(steps: Vec<Option<Step>>, at: usize, wide: f64, least: f64) -> Series {
        let mut series = Series { steps, at, wide, least, quiet: vec![Come::NOWHERE], without: 0.0 };
        for period in 0..series.steps.len() {
            let next = series.come(series.quiet[period], period..period + 1, &|_| Made::default(), Taken::Any);
            series.without = next.log();
            series.quiet.push(next);
        }
        series
    }

    /// Goes on over some periods, of each of which a cause makes so much. Gaps in a row share a count, so each is measured
    /// against what those before led to expect; one that must have a cause of its own is not carried on.
    fn come(&self, mut come: Come, over: Periods, makes: &impl Fn(usize) -> Made, taken: Taken) -> Come {
        for period in over {
            let Some(step) = &self.steps[period] else {
                come.before = None;
                continue;
            };
            let Made { mean, give } = makes(period);
            let mut now = come.before.unwrap_or_else(|| Expected::from(step.opening));
            let between = step.between + give * give + self.least * self.least;
            let (surprise, variance) = now.take(step.gap - mean, between, step.closing);
            let carried = match if period == self.at { taken } else { Taken::Any } {
                Taken::Made => {
                    come.log += log_normal(surprise, variance);
                    true
                }
                Taken::Unknown => {
                    come.times(wide(surprise, self.wide));
                    false
                }
                Taken::Any => {
                    let quiet = (1.0 - CAUSED) * normal(surprise, variance);
                    let wide = CAUSED * wide(surprise, self.wide);
                    come.times(quiet + wide);
                    quiet >= wide
                }
            };
            come.before = Some(if carried { now } else { Expected::from(step.closing) });
        }
        come
    }

    /// From a period on, at the latest that which is asked about.
    fn from(&self, begin: usize, upto: usize, makes: &impl Fn(usize) -> Made, taken: Taken) -> Come {
        let begin = begin.min(self.at);
        self.come(self.quiet[begin], begin..upto, makes, taken)
    }

    /// The logarithm of how likely all the gaps are when a cause makes so much of each from the period `begin` on.
    fn log(&self, begin: usize, makes: &impl Fn(usize) -> Made, taken: Taken) -> f64 {
        self.from(begin, self.steps.len(), makes, taken).log()
    }

    /// How much likelier a cause makes it, in logarithms, for the item that is asked about; it makes nothing before the
    /// period `begin`.
    pub(super) fn gain(&self, begin: usize, makes: &impl Fn(usize) -> Made) -> f64 {
        self.log(begin, makes, Taken::Made) - self.without
    }

    /// The same for an item that a cause touches besides: something else may be the matter with it as well.
    pub(super) fn gain_besides(&self, begin: usize, makes: &impl Fn(usize) -> Made) -> f64 {
        self.log(begin, makes, Taken::Any) - self.without
    }

    /// The same where the period that is asked about has a cause which nobody knows.
    pub(super) fn gain_unknown(&self) -> f64 {
        self.log(self.at, &|_| Made::default(), Taken::Unknown) - self.without
    }

    /// The same for a cause that lasts: mostly it goes on in the period after the one that is asked about, sometimes it has
    /// ended by then.
    pub(super) fn gain_lasting(&self, begin: usize, makes: &impl Fn(usize) -> Made) -> f64 {
        self.lasting(begin, makes, Taken::Made)
    }

    /// The same for an item that a lasting cause touches besides.
    pub(super) fn gain_lasting_besides(&self, begin: usize, makes: &impl Fn(usize) -> Made) -> f64 {
        self.lasting(begin, makes, Taken::Any)
    }

    fn lasting(&self, begin: usize, makes: &impl Fn(usize) -> Made, taken: Taken) -> f64 {
        let come = self.from(begin, self.at + 1, makes, taken);
        let rest = self.at + 1..self.steps.len();
        let goes_on = self.come(come, rest.clone(), makes, taken).log();
        let log = if rest.is_empty() {
            goes_on
        } else {
            let ended = self.come(come, rest, &|_| Made::default(), taken).log();
            both(goes_on + GOES_ON.ln(), ended + (1.0 - GOES_ON).ln())
        };
        log - self.without
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
    let wide = [APART, APART / f64::from(PARTED)].map(|width| (width / (2.0 * PI).sqrt()).ln());
    let one = |z: f64, wide: f64| {
        let value = usual + z * give;
        (value * usual > 0.0).then(|| (gain(value) - 0.5 * z * z + wide, value))
    };
    let at = |n: i32| f64::from(n) * APART;
    let coarse: Vec<(i32, (f64, f64))> = (-TRIED..=TRIED).filter_map(|n| Some((n, one(at(n), wide[0])?))).collect();
    let likeliest = coarse.iter().max_by(|a, b| a.1.0.total_cmp(&b.1.0)).map_or(0, |(n, _)| *n);
    // Where it is likely it may change much from one value to the next: those around the likeliest are looked at closer.
    let near = |n: i32| (n - likeliest).abs() <= 2;
    let fine = (-TRIED..=TRIED)
        .filter(|n| near(*n))
        .flat_map(|n| (0..PARTED).map(move |part| at(n) + ((f64::from(part) + 0.5) / f64::from(PARTED) - 0.5) * APART));
    let fine = fine.filter_map(|z| one(z, wide[1]));
    let mut tried: Vec<(f64, f64)> =
        coarse.iter().filter(|(n, _)| !near(*n)).map(|(_, tried)| *tried).chain(fine).collect();
    let best = tried.iter().map(|(log, _)| *log).fold(f64::NEG_INFINITY, f64::max);
    tried.iter_mut().for_each(|(log, _)| *log = (*log - best).exp());
    let weights = || tried.iter().copied();
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
        Series::new(steps, gaps.len() - 1, 350.0, 0.0)
    }

    #[test]
    fn a_cause_gains_where_it_fits_and_loses_where_it_does_not() {
        let once = |mean: f64| move |period: usize| if period == 2 { Made::exactly(mean) } else { Made::default() };
        assert!(series(&[10.0, -20.0, 700.0]).gain(2, &once(700.0)) > 4.0);
        assert!(series(&[10.0, -20.0, 20.0]).gain(2, &once(700.0)) < -100.0);
        // What it touches besides may have a trouble of its own, so that it never speaks against it without end.
        assert!(series(&[10.0, -20.0, 20.0]).gain_besides(2, &once(700.0)) > -15.0);
    }

    /// A reading in between that errs makes two gaps, equal and opposite: over the two nothing went.
    #[test]
    fn gaps_that_share_a_reading_are_not_taken_twice() {
        let with = |opening: f64, closing: f64, between: f64| {
            let mut steps = series(&[60.0, -60.0]).steps;
            for step in steps.iter_mut().flatten() {
                (step.opening, step.closing, step.between) = (opening, closing, between);
            }
            Series::new(steps, 1, 350.0, 0.0)
        };
        let (both, apart) = (with(900.0, 900.0, 100.0), with(0.0, 0.0, 1_900.0));
        let quiet = |series: &Series| series.log(0, &|_| Made::default(), Taken::Made);
        assert!(quiet(&both) > quiet(&apart) + 0.2, "{} {}", quiet(&both), quiet(&apart));
    }

    /// Where a cause begins is a matter of speed alone: going over the periods before it changes nothing.
    #[test]
    fn what_lies_before_a_cause_is_gone_over_once() {
        let mut steps = series(&[60.0, -20.0, 400.0, 10.0, 90.0, -700.0, 30.0]).steps;
        steps[3] = None;
        for step in steps.iter_mut().flatten() {
            (step.opening, step.closing, step.between) = (500.0, 700.0, 300.0);
        }
        let series = Series::new(steps, 5, 350.0, 1.0);
        for begin in 0..=5 {
            let makes = |period: usize| if period >= begin { Made { mean: 70.0, give: 9.0 } } else { Made::default() };
            assert_eq!(series.gain(begin, &makes), series.gain(0, &makes));
            assert_eq!(series.gain_besides(begin, &makes), series.gain_besides(0, &makes));
            assert_eq!(series.gain_lasting(begin, &makes), series.gain_lasting(0, &makes));
        }
    }

    /// The posterior of a normal factor with a normal prior, in closed form (Gelman et al., Bayesian Data Analysis, ch. 2;
    /// from memory): precision 1/0.05² + Σ size²/u², mean by the same weights.
    #[test]
    fn a_factor_is_weighed_over_all_it_may_be() {
        let (gaps, sizes) = ([110.0, 80.0, 130.0], [1_000.0, 900.0, 1_200.0]);
        let found = factor(0.1, 0.05, &|value| series(&gaps).gain(0, &|period| Made::exactly(value * sizes[period])));
        let precision = 400.0 + sizes.iter().map(|s| s * s / 900.0).sum::<f64>();
        let mean = (40.0 + sizes.iter().zip(gaps).map(|(s, g)| s * g / 900.0).sum::<f64>()) / precision;
        assert!((found.value - mean).abs() < 5e-4, "{found:?} {mean}");
        assert!((found.u - 1.0 / precision.sqrt()).abs() < 5e-4, "{found:?} {}", 1.0 / precision.sqrt());
    }
}
