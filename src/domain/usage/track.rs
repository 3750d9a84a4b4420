//! One item over several periods: what each adds to what the counts before it led to expect.

use super::budget::Spreads;
use super::gap::GapRow;
use crate::domain::statistics::{Cusum, Reference, limit_for};

/// A gap as a chart takes it. Variances in the square of the item's base unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Step {
    /// The gap.
    pub gap: f64,
    /// Variance of the opening's readings.
    pub opening: f64,
    /// Variance of the closing's readings.
    pub closing: f64,
    /// Variance of all that happened in between.
    pub between: f64,
    /// It was told to look into by itself: the chart is for what no single period shows, and goes on after it.
    pub by_itself: bool,
    /// A cause was accepted: the chart starts again after it.
    pub explained: bool,
}

impl Step {
    /// What a row says, with nothing known of it yet.
    pub(super) fn of(row: &GapRow, spreads: &Spreads) -> Step {
        Step {
            gap: row.likely(),
            opening: row.budget.of_opening(spreads),
            closing: row.budget.of_closing(spreads),
            between: row.budget.of_rest(spreads),
            by_itself: false,
            explained: false,
        }
    }
}

/// A period on the chart.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// The gap, as it most likely is.
    pub gap: f64,
    /// What the period adds to what the counts before led to expect.
    pub surprise: f64,
    /// Variance of that.
    pub variance: f64,
    /// The sums with it, in standard deviations.
    pub sums: Cusum,
    /// Left out of the sums.
    pub left_out: bool,
    /// A cause was accepted of it, and the sums began anew after it.
    pub explained: bool,
}

impl Point {
    /// The surprise in standard deviations.
    pub fn standardised(&self) -> f64 {
        if self.variance > 0.0 { self.surprise / self.variance.sqrt() } else { 0.0 }
    }
}

/// An item's chart over the periods; a period of which nothing is known has no point.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Track {
    /// One a period, the oldest first.
    pub points: Vec<Option<Point>>,
    /// Beyond this a sum is an alarm.
    pub limit: f64,
}

/// What goes steadily.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Steady {
    /// The period it began with, by number.
    pub since: usize,
    /// How much goes in a period.
    pub rate: f64,
    /// Standard uncertainty of that.
    pub u: f64,
}

/// A single surprise counts no more than this, so that one of them alone is never an alarm.
const MOST: f64 = 4.0;

/// A whole bar's charts together should cry wolf once in this many periods.
const QUIET: f64 = 20.0;

/// The limit of each of so many charts: all of them together give a false alarm once in twenty periods on average.
pub fn limit_of(charts: usize) -> f64 {
    limit_for(QUIET * charts.max(1) as f64, Reference::STANDARD.slack).max(MOST)
}

/// What the counts before lead to expect, for sums of gaps from some count on.
///
/// Two gaps in a row share a count: a bottle read too low makes the first gap too large and the second too small by as
/// much. So the sum of the gaps is followed, in which only the first and the last reading matter: it is what has
/// really gone beside the sales, plus the first reading's error, less the last one's. What has really gone takes a step of
/// the variance `between` in each period. The best guess of it and that guess's variance are carried along (the local
/// level model with the filter of Kalman; Durbin and Koopman, Time Series Analysis by State Space Methods, ch. 2; from
/// memory); by how much the next sum misses the guess is independent of all before it, which the gaps are not.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Expected {
    sum: f64,
    guess: f64,
    variance: f64,
}

impl Expected {
    pub(super) fn from(opening: f64) -> Expected {
        Expected { sum: 0.0, guess: 0.0, variance: opening }
    }

    /// Takes one more gap; gives the surprise and its variance.
    pub(super) fn take(&mut self, gap: f64, between: f64, closing: f64) -> (f64, f64) {
        let before = self.variance + between;
        let variance = before + closing;
        self.sum += gap;
        let surprise = self.sum - self.guess;
        let share = if variance > 0.0 { before / variance } else { 1.0 };
        self.guess += share * surprise;
        self.variance = (1.0 - share) * before;
        (surprise, variance)
    }
}

impl Track {
    /// Follows an item through periods, each of which begins with the count that the one before ends with.
    pub fn new(steps: &[Option<Step>], limit: f64) -> Track {
        let mut points = Vec::with_capacity(steps.len());
        let (mut expected, mut sums): (Option<Expected>, Cusum) = (None, Cusum::default());
        for step in steps {
            let Some(step) = step else {
                // The count in between was not of this item: there is no reading to go on from.
                expected = None;
                points.push(None);
                continue;
            };
            let mut now = expected.unwrap_or_else(|| Expected::from(step.opening));
            let (surprise, variance) = now.take(step.gap, step.between, step.closing);
            let mut point =
                Point { gap: step.gap, surprise, variance, sums, left_out: step.by_itself, explained: step.explained };
            if !step.by_itself {
                sums = sums.with(point.standardised().clamp(-MOST, MOST), Reference::STANDARD);
                point.sums = sums;
            }
            points.push(Some(point));
            expected = Some(if step.by_itself { Expected::from(step.closing) } else { now });
            if step.explained {
                sums = Cusum::default();
                expected = Some(Expected::from(step.closing));
            }
        }
        Track { points, limit }
    }

    /// The sums at the last period.
    pub fn sums(&self) -> Cusum {
        self.points.last().copied().flatten().map(|point| point.sums).unwrap_or_default()
    }

    /// Whether a sum is beyond the limit at the last period.
    pub fn alarms(&self) -> bool {
        self.sums().reach() > self.limit
    }

    /// The period since which the larger sum has been above nothing.
    fn since(&self) -> Option<usize> {
        let sums = self.sums();
        let of = |point: &Point| if sums.high >= sums.low { point.sums.high } else { point.sums.low };
        if sums.reach() <= 0.0 {
            return None;
        }
        let ends = |p: Point| p.explained || (of(&p) <= 0.0 && !p.left_out);
        let at_nothing = self.points.iter().rposition(|point| point.is_some_and(ends));
        Some(at_nothing.map_or(0, |at| at + 1))
    }

    /// What goes steadily since the sum began to grow, by generalised least squares: the same filter is led over the gaps
    /// and over gaps of one each, and how far each misses what was expected is compared.
    pub fn steady(&self, steps: &[Option<Step>]) -> Option<Steady> {
        let since = self.since()?;
        let mut both: Option<(Expected, Expected)> = None;
        let (mut product, mut square) = (0.0, 0.0);
        for step in steps.get(since..)?.iter().take(self.points.len() - since) {
            let Some(step) = step else {
                both = None;
                continue;
            };
            let from = Expected::from(step.opening);
            let (gaps, ones) = both.get_or_insert((from, from));
            let (surprise, variance) = gaps.take(step.gap, step.between, step.closing);
            let (one, _) = ones.take(1.0, step.between, step.closing);
            if step.by_itself {
                let again = Expected::from(step.closing);
                both = Some((again, again));
            } else if variance > 0.0 {
                product += surprise * one / variance;
                square += one * one / variance;
            }
        }
        (square > 0.0).then(|| Steady { since, rate: product / square, u: 1.0 / square.sqrt() })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn steps(gaps: &[f64]) -> Vec<Option<Step>> {
        let step = |gap: &f64| {
            Some(Step { gap: *gap, opening: 400.0, closing: 400.0, between: 100.0, by_itself: false, explained: false })
        };
        gaps.iter().map(step).collect()
    }

    /// With a gap of g each time the sum grows by g, and the surprise settles at g ÷ share, where the filter's variances
    /// settle: before² = between · (before + closing), so before = 50 + √(50² + 100 · 400) ≈ 256.2 and share ≈ 0.390.
    #[test]
    fn a_steady_loss_surprises_more_than_its_gap() {
        let track = Track::new(&steps(&[30.0; 40]), 5.0);
        let last = track.points[39].unwrap();
        assert!((last.surprise - 30.0 / 0.3904).abs() < 0.1, "{last:?}");
        assert!((last.variance - 656.2).abs() < 0.1, "{last:?}");
        let steady = track.steady(&steps(&[30.0; 40])).unwrap();
        assert!((steady.rate - 30.0).abs() < 1e-9 && steady.since == 0, "{steady:?}");
        assert!(steady.u < 2.0, "{steady:?}");
    }

    /// A bottle read too low once: over by as much, then short by as much. The second is half expected.
    #[test]
    fn a_reading_that_errs_makes_two_gaps_and_is_seen_as_one() {
        let track = Track::new(&steps(&[0.0, 0.0, 40.0, -40.0, 0.0]), 5.0);
        let seen: Vec<f64> = track.points.iter().flatten().map(|p| p.surprise).collect();
        assert!((seen[2] - 40.0).abs() < 1e-9);
        assert!(seen[3].abs() < 30.0 && seen[3] < 0.0, "{seen:?}");
        assert!(!track.alarms());
    }

    #[test]
    fn it_starts_again_after_a_cause_was_accepted_and_goes_on_after_a_large_gap() {
        let mut all = steps(&[60.0; 8]);
        assert!(Track::new(&all, 5.0).alarms());
        if let Some(Some(step)) = all.get_mut(6) {
            step.explained = true;
        }
        let after = Track::new(&all, 5.0);
        assert!(!after.alarms() && after.sums().high < 2.0, "{after:?}");
        // What was accepted is not counted again.
        assert!(after.steady(&all).is_some_and(|steady| steady.since == 7), "{:?}", after.steady(&all));
        let mut all = steps(&[0.0, 0.0, 700.0, 0.0]);
        if let Some(Some(step)) = all.get_mut(2) {
            step.by_itself = true;
        }
        let after = Track::new(&all, 5.0);
        assert!(after.sums().reach() < 0.1 && after.points[3].unwrap().surprise == 0.0, "{after:?}");
    }
}
