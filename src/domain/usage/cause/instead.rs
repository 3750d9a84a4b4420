//! Causes that lie between two items: the one was poured or rung instead of the other, always or because it ran dry.

use super::Cause;
use super::dry::Dry;
use super::facts::Facts;
use super::ranked::{Weighed, Weights};
use super::series::{GOES_ON, Made, Series, factor};
use crate::domain::measure::Amount;
use crate::domain::usage::gap::GapRow;
use crate::domain::usage::track::Step;
use crate::domain::venue::{ItemId, Shelf};

/// How often such things happen to an item that has a gap at all (common practice, no source).
const TWIN: f64 = 0.1;
const RAN_DRY: f64 = 0.4;
const GIVEN: f64 = 0.03;

/// Two that stand within this many spots of each other are mistaken for each other more often, by this much; so are two
/// of one size.
const NEAR: i64 = 2;
const NEARER: f64 = 8.0;
const SAME_SIZE: f64 = 2.0;

/// The share of what is rung of one that is poured from another, give or take; of what is rung after it ran dry, all of it,
/// give or take.
const OF_SOLD: f64 = 0.4;
const OF_SOLD_GIVE: f64 = 0.2;
const OF_RUNG: f64 = 0.3;

pub(super) fn add(facts: &Facts, item: ItemId, out: &mut Weights) {
    let (Some(series), Some(what)) = (facts.series(item), facts.item(item)) else { return };
    let Some((gap, _)) = series.asked() else { return };
    let at = series.at;
    let once = |mean: f64| series.once(Made::exactly(mean));
    let like: Vec<ItemId> = facts
        .now()
        .facts
        .variance
        .rows
        .iter()
        .map(|row| row.item)
        .filter(|other| {
            let other = facts.item(*other);
            other.is_some_and(|other| other.id != item && other.kind == what.kind && other.basis == what.basis)
        })
        .collect();
    twins(facts, series, (item, gap), &like, out);
    // It ran dry itself, and was rung on: most of what was rung after that was not of it, but perhaps of another.
    if let Some(Dry { at: when, rung }) = facts.dry(item).filter(|_| gap < 0.0) {
        let made = |share: f64| share * rung.as_f64();
        let fits = factor(-1.0, OF_RUNG, &|share| series.gain(at, &once(made(share))));
        out.push(Weighed::new(RAN_DRY / 2.0, fits.gain, Cause::RanDry { dry: item, at: when, rung, other: None }));
        let often = RAN_DRY / 2.0 / like.len().max(1) as f64;
        for &given in &like {
            let Some(over) = facts.series(given) else { continue };
            if over.asked().is_some_and(|(gap, u)| gap > 2.0 * u) {
                let fits = factor(-1.0, OF_RUNG, &|share| {
                    series.gain(at, &once(made(share))) + over.gain_besides(at, &once(-made(share)))
                });
                let cause = Cause::RanDry { dry: item, at: when, rung, other: Some(given) };
                out.push(Weighed::new(often, fits.gain, cause));
            }
        }
    }
    // Another one did, and guests were given this.
    for dry in like.into_iter().filter(|_| gap > 0.0) {
        let Some(short) = facts.series(dry) else { continue };
        if short.asked().is_none_or(|(gap, u)| gap > -2.0 * u) {
            continue;
        }
        if let Some(Dry { at: when, rung }) = facts.dry(dry) {
            let fits = factor(1.0, OF_RUNG, &|share| {
                series.gain(at, &once(share * rung.as_f64())) + short.gain_besides(at, &once(-share * rung.as_f64()))
            });
            let cause = Cause::RanDry { dry, at: when, rung, other: Some(item) };
            out.push(Weighed::new(GIVEN, fits.gain, cause));
        }
    }
}

/// Twins: what was rung as the one and poured from the other is a share of what was rung.
fn twins(facts: &Facts, series: &Series, (item, gap): (ItemId, f64), like: &[ItemId], out: &mut Weights) {
    let Some(what) = facts.item(item) else { return };
    let spots = facts.spots(item);
    let starts = (series.at + 1) as f64;
    for &other in like {
        let Some(beside) = facts.series(other) else { continue };
        let turned = |(other, u): (f64, f64)| other.signum() != gap.signum() && other.abs() > u;
        if !beside.asked().is_some_and(turned) {
            continue;
        }
        let short = if gap < 0.0 { item } else { other };
        let beside_each_other = |a: &Shelf, b: &Shelf| a.place == b.place && (a.position - b.position).abs() <= NEAR;
        let near = spots.iter().any(|a| facts.spots(other).iter().any(|b| beside_each_other(a, b)));
        let same = facts.item(other).is_some_and(|other| other.size == what.size);
        let often = TWIN / like.len() as f64 * if near { NEARER } else { 1.0 } * if same { SAME_SIZE } else { 1.0 };
        let other_gap = facts.now().rows.get(&other).map_or(Amount::ZERO, |row| row.gap);
        let moved =
            |p: usize| Moved::new(series.steps.get(p).copied()??, beside.steps.get(p).copied()??, facts.row(p, short)?);
        let moved: Vec<Option<Moved>> = (0..series.steps.len()).map(moved).collect();
        // From each period on; mostly it goes on in the one after the one asked about, sometimes it has ended by then.
        let last = moved.len() - 1;
        let ends: &[(usize, f64)] =
            if last > series.at { &[(last, GOES_ON), (series.at, 1.0 - GOES_ON)] } else { &[(series.at, 1.0)] };
        for (begin, (end, share)) in (0..=series.at).flat_map(|begin| ends.iter().map(move |end| (begin, *end))) {
            let made = |p: usize, sign: f64| match moved[p].filter(|_| (begin..=end).contains(&p)) {
                Some(moved) => Made::exactly(sign * moved.amount),
                None => Made::default(),
            };
            // One way round in all of them.
            if moved[begin..=end].iter().flatten().any(|moved| moved.amount * gap <= 0.0) {
                continue;
            }
            let both = series.gain(begin, &|p| made(p, 1.0)) + beside.gain_besides(begin, &|p| made(p, -1.0));
            // Whatever share it is makes it no likelier.
            if out.would_be_lost(often * share / starts, both) {
                continue;
            }
            let fits = factor(OF_SOLD, OF_SOLD_GIVE, &|share| {
                both + Moved::likely(moved[begin..=end].iter().flatten(), share.min(1.0))
            });
            let cause = Cause::Twin { other, gap: other_gap, periods: series.at + 1 - begin };
            out.push(Weighed::new(often * share / starts, fits.gain, cause));
        }
    }
}

/// What was poured from one in a period and rung as the other.
#[derive(Clone, Copy)]
struct Moved {
    /// How much, as both gaps together say: above nothing, from the item that is asked about.
    amount: f64,
    /// Variance of that.
    variance: f64,
    /// How much was rung, of the one that is short, and in how many pours.
    rung: f64,
    pours: f64,
}

impl Moved {
    fn new(one: Step, other: Step, short: &GapRow) -> Option<Moved> {
        let variance = |step: Step| (step.opening + step.between + step.closing).max(1.0);
        let (a, b) = (1.0 / variance(one), 1.0 / variance(other));
        let (amount, variance) = ((one.gap * a - other.gap * b) / (a + b), 1.0 / (a + b));
        let (rung, pours) = (short.sold.as_f64(), short.budget.pours());
        (rung > 0.0 && pours > 0.0).then_some(Moved { amount, variance, rung, pours })
    }

    /// How likely so much in each of some periods is when each pour is of the other with a chance, in logarithms; beside how
    /// exactly it is known.
    fn likely<'a>(all: impl Iterator<Item = &'a Moved>, chance: f64) -> f64 {
        let (mut narrower, mut squares) = (1.0_f64, 0.0);
        for moved in all {
            let each = moved.rung / moved.pours;
            let spread = moved.pours * chance * (1.0 - chance) * each * each + moved.variance;
            let off = moved.amount.abs() - chance * moved.rung;
            narrower *= moved.variance / spread;
            squares += off * off / spread;
        }
        0.5 * (narrower.ln() - squares)
    }
}
