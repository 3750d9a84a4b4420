//! Causes that lie in the names of the till: another portion, another drink, or a name without a meaning.

use super::Cause;
use super::facts::{Facts, Takes, Takings};
use super::ranked::{Weighed, Weights};
use super::series::{Made, Series, factor};
use crate::domain::measure::Basis;
use crate::domain::venue::{CountBy, DrinkId, ItemId, TillId};

/// How often such things happen to an item that has a gap at all (common practice, no source).
const PORTION: f64 = 0.05;
const OTHER_DRINK: f64 = 0.05;
const UNMAPPED: f64 = 0.1;
const UNMAPPED_DRINK: f64 = 0.3;

/// Portions that are sold, in thousandths.
const PORTIONS: [i64; 6] = [500, 1_000, 1_500, 2_000, 3_000, 4_000];

/// What a pour usually is, give or take, in microlitres or milligrams.
const USUAL: f64 = 40_000.0;
const GIVE: f64 = 20_000.0;
const LEAST: f64 = 5_000.0;

/// A gap that a cause would make must be this near, in standard deviations, before all that it touches is looked at.
const NEAR: f64 = 4.0;

pub(super) fn add(facts: &Facts, item: ItemId, out: &mut Weights) {
    let Some(series) = facts.series(item) else { return };
    let Some(asked) = series.asked() else { return };
    let Some(takings) = facts.now().rows.get(&item).and_then(|row| facts.takings(row.to)) else { return };
    let asking = Asking { facts, item, series, asked, takings };
    portions(&asking, out);
    other_drinks(&asking, out);
    unmapped(&asking, out);
}

/// The item that is asked about.
struct Asking<'a> {
    facts: &'a Facts<'a>,
    item: ItemId,
    series: &'a Series,
    asked: (f64, f64),
    /// What drinks take when it was looked at last.
    takings: &'a Takings,
}

impl Asking<'_> {
    /// How much likelier a lasting cause makes all gaps that it touches, in logarithms, in every period; and how many
    /// unusual gaps of the period that is asked about it would settle. `touched` are the items that it touches, each once;
    /// `makes` says how much it makes of the gap of one of them in a period.
    fn over_periods(
        &self,
        touched: impl Iterator<Item = ItemId>,
        makes: impl Fn(usize, ItemId) -> f64,
    ) -> (f64, usize) {
        let (mut gain, mut settles) = (0.0, 0);
        let mut means = vec![0.0; self.series.steps.len()];
        for touched in touched {
            means.iter_mut().enumerate().for_each(|(period, mean)| *mean = makes(period, touched));
            let made = |period: usize| Made { mean: means[period], give: 0.02 * means[period].abs() };
            let begin = means.iter().position(|mean| *mean != 0.0).unwrap_or(self.series.at);
            gain += if touched == self.item {
                self.series.gain_lasting(begin, &made)
            } else {
                // What no count of these periods looked at speaks neither for it nor against it.
                let Some(besides) = self.facts.series(touched) else { continue };
                let of = besides.gain_lasting_besides(begin, &made);
                settles += usize::from(of > 0.0 && besides.asked().is_some_and(|(gap, u)| gap.abs() > 2.0 * u));
                of
            };
        }
        (gain, settles + 1)
    }

    fn is_near(&self, mean: f64) -> bool {
        let (gap, u) = self.asked;
        (gap - mean).abs() < NEAR * u.hypot(0.02 * mean)
    }
}

fn portions(asking: &Asking, out: &mut Weights) {
    let Asking { facts, item, .. } = *asking;
    let (names, at) = (facts.names(), asking.series.at);
    let touching: Vec<TillId> =
        facts.took(item).iter().map(|(till, _)| *till).filter(|till| names[till].rung[at] > 0).collect();
    let often = PORTION / (touching.len().max(1) * (PORTIONS.len() - 1)) as f64;
    for till in touching {
        let Some((_, said)) = facts.meaning(till).filter(|(_, said)| *said > 0) else { continue };
        for fits in PORTIONS.into_iter().filter(|fits| *fits != said) {
            let more = fits as f64 / said as f64 - 1.0;
            let name = &names[&till];
            let makes = |period: usize, of: ItemId| name.took(of).map_or(0.0, |took| took[period] * more);
            if asking.is_near(makes(at, item)) {
                let (gain, settles) = asking.over_periods(name.took.iter().map(|(of, _)| *of), makes);
                let rung = name.rung[at];
                out.push(Weighed::new(often, gain, Cause::Portion { till, rung, said, fits, settles }));
            }
        }
    }
}

fn other_drinks(asking: &Asking, out: &mut Weights) {
    let Asking { facts, item, takings, .. } = *asking;
    // Names that take it and stand for a drink that does not, or the other way round.
    let mut found: Vec<(f64, Cause)> = Vec::new();
    let mut tried = 0_usize;
    for (&till, name) in facts.names() {
        let rung = name.rung[asking.series.at];
        let Some((said, portion)) = facts.meaning(till).filter(|_| rung > 0) else { continue };
        let took = name.took(item).map_or(0.0, |took| took[asking.series.at]);
        let drinks: Vec<&(DrinkId, Takes)> =
            if took == 0.0 { takings.of(item).collect() } else { takings.drinks.iter().collect() };
        for (drink, one) in drinks.into_iter().filter(|(drink, _)| *drink != said) {
            tried += 1;
            let makes = |period: usize, of: ItemId| {
                let would = taken(one, of) * name.rung[period] as f64 * portion as f64 / 1_000.0;
                would - name.took(of).map_or(0.0, |took| took[period])
            };
            if !asking.is_near(makes(asking.series.at, item)) {
                continue;
            }
            let others = one.iter().map(|(of, _)| *of).filter(|of| name.took(*of).is_none());
            let (gain, settles) = asking.over_periods(name.took.iter().map(|(of, _)| *of).chain(others), makes);
            found.push((gain, Cause::OtherDrink { till, rung, drink: *drink, settles }));
        }
    }
    let often = OTHER_DRINK / tried.max(1) as f64;
    found.into_iter().for_each(|(gain, cause)| out.push(Weighed::new(often, gain, cause)));
}

fn unmapped(asking: &Asking, out: &mut Weights) {
    let Asking { facts, item, .. } = *asking;
    let Some(what) = facts.item(item) else { return };
    let unmapped = &facts.now().unmapped;
    let names = unmapped.len().max(1) as f64;
    let drinks: Vec<&(DrinkId, Takes)> = asking.takings.of(item).collect();
    for (&till, &rung) in unmapped.iter().filter(|(_, rung)| **rung > 0) {
        // Some of it each time: as much as a pour usually is, or a whole small container.
        let rung_in = |period: usize| facts.of_series(period).unmapped.get(&till).copied().unwrap_or_default();
        let size = what.size.as_f64();
        let small = what.basis == Basis::Each || size <= 2.0 * USUAL + 4.0 * GIVE && what.count_by == CountBy::Whole;
        let (usual, give) = if small { (size, 0.1 * size) } else { (USUAL, GIVE) };
        let fits = factor(usual, give, &|each| {
            asking.series.gain_lasting(0, &|p| Made::exactly(each * rung_in(p) as f64 / 1_000.0))
        });
        if fits.value > LEAST.min(0.5 * size) {
            let cause = Cause::Unmapped { till, rung, each: fits.value, u: fits.u, drink: None };
            out.push(Weighed::new(UNMAPPED / names, fits.gain, cause));
        }
        for (drink, one) in drinks.iter().copied() {
            let each = taken(one, item) * 1_000.0;
            if asking.is_near(each * rung as f64 / 1_000.0) {
                let makes = |period: usize, of: ItemId| taken(one, of) * rung_in(period) as f64;
                let (gain, _) = asking.over_periods(one.iter().map(|(of, _)| *of), makes);
                let cause = Cause::Unmapped { till, rung, each, u: 0.0, drink: Some(*drink) };
                out.push(Weighed::new(UNMAPPED_DRINK / names / drinks.len() as f64, gain, cause));
            }
        }
    }
}

/// What a thousandth of a drink takes of an item.
fn taken(one: &Takes, item: ItemId) -> f64 {
    one.iter().find(|(of, _)| *of == item).map_or(0.0, |(_, takes)| *takes)
}
