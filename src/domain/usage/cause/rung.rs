//! Causes that lie in the names of the till: another portion, another drink, or a name without a meaning.

use super::Cause;
use super::facts::Facts;
use super::ranked::Weighed;
use super::series::{Made, Series, factor};
use crate::domain::measure::Basis;
use crate::domain::venue::{CountBy, Drink, DrinkId, ItemId, TillId};
use std::collections::{HashMap, HashSet};

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

pub(super) fn add(facts: &Facts, item: ItemId, out: &mut Vec<Weighed>) {
    let series = facts.series(item);
    let Some(asked) = series.asked() else { return };
    let at = facts.now().rows.get(&item).map(|row| row.to).unwrap_or_default();
    let takes = |drink: &Drink| (drink.id, facts.takes(drink.id, at).into_iter().collect());
    let asking = Asking { facts, item, series, asked, takes: facts.setup.drinks.iter().map(takes).collect() };
    portions(&asking, out);
    other_drinks(&asking, out);
    unmapped(&asking, out);
}

/// The item that is asked about.
struct Asking<'a> {
    facts: &'a Facts<'a>,
    item: ItemId,
    series: Series,
    asked: (f64, f64),
    /// What a thousandth of each drink takes.
    takes: Vec<(DrinkId, Makes)>,
}

/// What a cause would make of the gaps of one period: by item, in base units.
type Makes = HashMap<ItemId, f64>;

impl Asking<'_> {
    /// How much likelier a lasting cause makes all gaps that it touches, in logarithms, in every period; and how many
    /// unusual gaps of the period that is asked about it would settle.
    fn over_periods(&self, makes: &dyn Fn(usize) -> Makes) -> (f64, usize) {
        let periods: Vec<Makes> = (0..self.series.steps.len()).map(makes).collect();
        let touched: HashSet<ItemId> = periods.iter().flat_map(|makes| makes.keys().copied()).collect();
        let (mut gain, mut settles) = (0.0, 0);
        for touched in touched {
            let made = |p: usize| {
                let mean = periods[p].get(&touched).copied().unwrap_or_default();
                Made { mean, give: 0.02 * mean.abs() }
            };
            let of = if touched == self.item {
                self.series.gain_lasting(&made)
            } else {
                let besides = self.facts.series(touched);
                let of = besides.gain_lasting_besides(&made);
                settles += usize::from(of > 0.0 && besides.asked().is_some_and(|(gap, u)| gap.abs() > 2.0 * u));
                of
            };
            gain += of;
        }
        (gain, settles + 1)
    }

    fn is_near(&self, mean: f64) -> bool {
        let (gap, u) = self.asked;
        (gap - mean).abs() < NEAR * u.hypot(0.02 * mean)
    }
}

fn portions(asking: &Asking, out: &mut Vec<Weighed>) {
    let Asking { facts, item, .. } = *asking;
    let rung = &facts.now().rung;
    let touching: Vec<TillId> = rung
        .iter()
        .filter(|(_, rung)| rung.quantity > 0 && rung.took.iter().any(|(of, _)| *of == item))
        .map(|(till, _)| *till)
        .collect();
    let often = PORTION / (touching.len().max(1) * (PORTIONS.len() - 1)) as f64;
    for till in touching {
        let Some((_, said)) = facts.meaning(till).filter(|(_, said)| *said > 0) else { continue };
        for fits in PORTIONS.into_iter().filter(|fits| *fits != said) {
            let more = fits as f64 / said as f64 - 1.0;
            let makes = |period: usize| -> Makes {
                let of_till = facts.of_series(period).rung.get(&till);
                let mut makes = Makes::new();
                for (touched, took) in of_till.map(|of| of.took.as_slice()).unwrap_or_default() {
                    *makes.entry(*touched).or_default() += took * more;
                }
                makes
            };
            if makes(asking.series.at).get(&item).is_some_and(|mean| asking.is_near(*mean)) {
                let (gain, settles) = asking.over_periods(&makes);
                let rung = rung[&till].quantity;
                out.push(Weighed::new(often, gain, Cause::Portion { till, rung, said, fits, settles }));
            }
        }
    }
}

fn other_drinks(asking: &Asking, out: &mut Vec<Weighed>) {
    let Asking { facts, item, .. } = *asking;
    let takes = &asking.takes;
    // Names that take it and stand for a drink that does not, or the other way round.
    let mut found: Vec<(f64, Cause)> = Vec::new();
    let mut tried = 0_usize;
    for (&till, rung) in &facts.now().rung {
        let Some((said, portion)) = facts.meaning(till).filter(|_| rung.quantity > 0) else { continue };
        let took: f64 = rung.took.iter().filter(|(of, _)| *of == item).map(|(_, took)| took).sum();
        for (drink, makes_of_one) in takes.iter().filter(|(drink, _)| *drink != said) {
            if took == 0.0 && !makes_of_one.contains_key(&item) {
                continue;
            }
            tried += 1;
            let mean = |quantity: i64, of: ItemId, took: f64| {
                makes_of_one.get(&of).copied().unwrap_or_default() * (quantity as f64) * portion as f64 / 1_000.0 - took
            };
            if !asking.is_near(mean(rung.quantity, item, took)) {
                continue;
            }
            let makes = |period: usize| -> Makes {
                let Some(of_till) = facts.of_series(period).rung.get(&till) else { return Makes::new() };
                let mut took: Makes = makes_of_one.keys().map(|of| (*of, 0.0)).collect();
                for (of, amount) in &of_till.took {
                    *took.entry(*of).or_default() += amount;
                }
                took.into_iter().map(|(of, took)| (of, mean(of_till.quantity, of, took))).collect()
            };
            let (gain, settles) = asking.over_periods(&makes);
            found.push((gain, Cause::OtherDrink { till, rung: rung.quantity, drink: *drink, settles }));
        }
    }
    let often = OTHER_DRINK / tried.max(1) as f64;
    out.extend(found.into_iter().map(|(gain, cause)| Weighed::new(often, gain, cause)));
}

fn unmapped(asking: &Asking, out: &mut Vec<Weighed>) {
    let Asking { facts, item, .. } = *asking;
    let Some(what) = facts.item(item) else { return };
    let unmapped = &facts.now().unmapped;
    let names = unmapped.len().max(1) as f64;
    let drinks: Vec<&(DrinkId, Makes)> = asking.takes.iter().filter(|(_, makes)| makes.contains_key(&item)).collect();
    for (&till, &rung) in unmapped.iter().filter(|(_, rung)| **rung > 0) {
        // Some of it each time: as much as a pour usually is, or a whole small container.
        let rung_in = |period: usize| facts.of_series(period).unmapped.get(&till).copied().unwrap_or_default();
        let size = what.size.as_f64();
        let small = what.basis == Basis::Each || size <= 2.0 * USUAL + 4.0 * GIVE && what.count_by == CountBy::Whole;
        let (usual, give) = if small { (size, 0.1 * size) } else { (USUAL, GIVE) };
        let fits = factor(usual, give, &|each| {
            asking.series.gain_lasting(&|p| Made::exactly(each * rung_in(p) as f64 / 1_000.0))
        });
        if fits.value > LEAST.min(0.5 * size) {
            let cause = Cause::Unmapped { till, rung, each: fits.value, u: fits.u, drink: None };
            out.push(Weighed::new(UNMAPPED / names, fits.gain, cause));
        }
        for (drink, makes_of_one) in drinks.iter().copied() {
            let makes = |period: usize| -> Makes {
                makes_of_one.iter().map(|(of, one)| (*of, one * rung_in(period) as f64)).collect()
            };
            let each = makes_of_one[&item] * 1_000.0;
            if asking.is_near(each * rung as f64 / 1_000.0) {
                let (gain, _) = asking.over_periods(&makes);
                let cause = Cause::Unmapped { till, rung, each, u: 0.0, drink: Some(*drink) };
                out.push(Weighed::new(UNMAPPED_DRINK / names / drinks.len() as f64, gain, cause));
            }
        }
    }
}
