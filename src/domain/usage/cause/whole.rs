//! Causes that come in whole containers: counted wrongly, booked wrongly, or gone.

use super::facts::Facts;
use super::ranked::{Weighed, Weights};
use super::series::Made;
use super::{Cause, End};
use crate::domain::venue::ItemId;

/// How often such things happen to an item that has a gap at all (common practice, no source).
const OVERLOOKED: f64 = 0.05;
const TWICE: f64 = 0.03;
const NOT_COME: f64 = 0.05;
const NOT_BOOKED_ORDER: f64 = 0.2;
const NOT_BOOKED: f64 = 0.01;
const GONE: f64 = 0.03;

/// More containers than this are not overlooked.
const MOST: i64 = 3;

pub(super) fn add(facts: &Facts, item: ItemId, out: &mut Weights) {
    let Some(what) = facts.item(item) else { return };
    let Some(series) = facts.series(item) else { return };
    let (at, size, give) = (series.at, what.size.as_f64(), 0.01 * what.size.as_f64());
    let once = |containers: i64| series.gain(at, &series.once(Made { mean: containers as f64 * size, give }));
    // A slip of a count shows in the periods on both sides of it, the other way round.
    let slip = |end: End, containers: i64| {
        let (first, second) =
            if end == End::Opening { (at.checked_sub(1), Some(at)) } else { (Some(at), Some(at + 1)) };
        let mean = containers as f64 * size;
        let makes = |period: usize| match Some(period) {
            of if of == first => Made { mean, give },
            of if of == second => Made { mean: -mean, give },
            _ => Made::default(),
        };
        let beside = if end == End::Opening { first } else { second };
        let gap = beside.and_then(|beside| series.steps.get(beside).copied().flatten()).map(|step| step.gap);
        let expected = if end == End::Opening { mean } else { -mean };
        (series.gain(first.unwrap_or(at), &makes), gap.map(|gap| (gap - expected).abs() < 0.5 * mean.abs()))
    };
    for end in [End::Opening, End::Closing] {
        for containers in 1..=MOST {
            let rarer = (containers * containers) as f64;
            let (gain, reversed) = slip(end, containers);
            out.push(Weighed::new(OVERLOOKED / rarer, gain, Cause::Overlooked { end, containers, reversed }));
            let (gain, reversed) = slip(end, -containers);
            out.push(Weighed::new(TWICE / rarer, gain, Cause::Twice { end, containers, reversed }));
        }
    }
    for containers in 1..=MOST {
        let gain = once(containers);
        out.push(Weighed::new(GONE / (containers * containers) as f64, gain, Cause::Gone { containers }));
    }
    let packs: Vec<i64> = facts.setup.offers.iter().filter(|offer| offer.item == item).map(|o| o.pack.max(1)).collect();
    for came in facts.now().facts.deliveries.iter().filter(|came| came.item == item && came.containers > 0) {
        for containers in 1..=came.containers {
            // All of it, or whole packs of it; single ones out of many are mostly seen at the door.
            let likely = match () {
                () if containers == came.containers => 1.0,
                () if packs.iter().any(|pack| *pack > 1 && containers % pack == 0) => 0.7,
                () => 0.3 / came.containers as f64,
            };
            let cause = Cause::NotCome {
                document: came.document.clone(),
                supplier: came.supplier,
                at: came.at,
                containers,
                booked: came.containers,
            };
            let gain = once(containers);
            out.push(Weighed::new(NOT_COME * likely, gain, cause));
        }
    }
    let awaited = facts.now().facts.awaited.iter().filter(|awaited| awaited.item == item);
    let awaited: Vec<(i64, Option<String>)> =
        awaited.map(|awaited| (awaited.containers, Some(awaited.order.clone()))).collect();
    let usual = packs.into_iter().map(|pack| (pack, None));
    for (containers, order) in awaited.into_iter().chain(usual) {
        let often = if order.is_some() { NOT_BOOKED_ORDER } else { NOT_BOOKED };
        let gain = once(-containers);
        out.push(Weighed::new(often, gain, Cause::NotBooked { order, containers }));
    }
}
