//! Causes that lie in the pouring, period after period; and those that are what is left when nothing else fits.

use super::Cause;
use super::facts::Facts;
use super::ranked::{Weighed, Weights};
use super::series::{Made, factor};
use crate::domain::measure::Basis;
use crate::domain::venue::ItemId;

/// How often such things happen to an item that has a gap at all (common practice, no source).
const HEAVY: f64 = 0.10;
const LIGHT: f64 = 0.02;
const STEADY: f64 = 0.12;
const OVER: f64 = 0.10;
const SHORT: f64 = 0.02;
const AS_EXPECTED: f64 = 0.5;
const CHANCE: f64 = 0.5;

/// Pours that are off are usually so by a tenth of what the spec says, give or take.
const OFF: f64 = 0.11;
const GIVE: f64 = 0.05;

/// What goes steadily is usually so much of a container in a period, give or take: a glass a week.
const STEADILY: f64 = 0.08;

pub(super) fn add(facts: &Facts, item: ItemId, out: &mut Weights) {
    let Some(series) = facts.series(item) else { return };
    let Some((gap, _)) = series.asked() else { return };
    let size = facts.item(item).map_or(0.0, |item| item.size.as_f64());
    let sold: Vec<f64> =
        (0..series.steps.len()).map(|p| facts.row(p, item).map_or(0.0, |row| row.sold.as_f64())).collect();
    // Pieces are not poured.
    let measured = facts.item(item).is_some_and(|item| item.basis != Basis::Each);
    let starts = (series.at + 1) as f64;
    // From each period on, up to the one after the one asked about: whatever lasts goes on.
    for begin in 0..=series.at {
        let periods = series.at + 1 - begin;
        let since = |value: f64, of: &dyn Fn(usize) -> f64| {
            let makes = |p: usize| if p >= begin { Made::exactly(value * of(p)) } else { Made::default() };
            series.gain_lasting(begin, &makes)
        };
        if measured && sold[series.at] > 0.0 {
            for (often, usual) in [(HEAVY, OFF), (LIGHT, -OFF)] {
                let fits = factor(usual, GIVE, &|value| since(value, &|p| sold[p]));
                let cause = Cause::Pours { percent: 100.0 * fits.value, u: 100.0 * fits.u, periods };
                out.push(Weighed::new(often / starts, fits.gain, cause));
            }
        }
        if size > 0.0 && periods > 1 {
            let usual = STEADILY * size;
            let fits = factor(usual, 0.5 * usual, &|value| since(value, &|_| 1.0));
            let cause = Cause::Steady { rate: fits.value, u: fits.u, periods };
            out.push(Weighed::new(STEADY / starts, fits.gain, cause));
        }
    }
    // Some of it, once, whatever it was. Less went than was sold without a reason more seldom than more.
    let unknown = series.gain_unknown();
    out.push(Weighed::new(if gap > 0.0 { OVER } else { SHORT }, unknown, Cause::Unknown));
    if facts.opening_left_as_expected(item) {
        out.push(Weighed::new(AS_EXPECTED, unknown, Cause::AsExpected));
    }
    out.push(Weighed::new(CHANCE, series.gain(series.at, &|_| Made::default()), Cause::Chance));
}
