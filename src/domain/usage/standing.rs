//! What is on hand now: the last count of an item, and all that is known to have happened since.

use super::sold::{Sold, sold};
use crate::domain::gauge::{Gauges, Level, Tally};
use crate::domain::ledger::{CountLine, Movements, Sale, Span, Spans, flows};
use crate::domain::measure::Amount;
use crate::domain::venue::{CountId, ItemId, Moment, PlaceId, Setup};
use std::collections::HashMap;

/// The last look at one item: which count it is reckoned from, and what was seen where.
#[derive(Clone, Debug)]
pub struct Anchor {
    /// From when on sales take from it.
    pub at: Moment,
    /// The count that saw the places it is poured from.
    pub count: CountId,
    /// What was seen, place by place, each with the time of its own look.
    pub seen: Vec<Seen>,
}

/// What was seen in one place.
#[derive(Clone, Debug)]
pub struct Seen {
    /// Where.
    pub place: PlaceId,
    /// When movements of this place begin to matter.
    pub at: Moment,
    /// How much.
    pub level: Tally,
    /// Whether it is poured from here.
    pub pours: bool,
}

/// Which of the latest lines of an item are of a place it is poured from: those with an opened container, or all of
/// them when nowhere one is open.
pub fn pouring(lines: &[&CountLine]) -> Vec<bool> {
    let open: Vec<bool> = lines.iter().map(|l| !l.entry.open.is_empty()).collect();
    if open.iter().any(|o| *o) { open } else { vec![true; lines.len()] }
}

/// Finds the anchor of an item from its count lines, any number for each place.
///
/// The places it is poured from must have been seen in one and the same count, because sales do not say from which of
/// them they took; the newest such count is it. A place that only stores sealed containers may have been seen at
/// another time: what it holds changes only by movements, which say where. Without a count that saw all pouring
/// places, each place's newest line is taken.
pub fn anchor(setup: &Setup, gauges: &Gauges, item: ItemId, lines: &[&CountLine]) -> Option<Anchor> {
    let what = setup.item(item)?;
    let mut newest: Vec<&CountLine> = Vec::new();
    for line in lines {
        match newest.iter_mut().find(|n| n.place == line.place) {
            Some(known) if known.at >= line.at => {}
            Some(known) => *known = line,
            None => newest.push(line),
        }
    }
    // In walking order: the first place it is poured from is the first one walks to.
    newest.sort_by_key(|line| setup.places.iter().position(|p| p.id == line.place));
    let pours = pouring(&newest);
    let pouring_places: Vec<PlaceId> = newest.iter().zip(&pours).filter(|(_, p)| **p).map(|(l, _)| l.place).collect();
    let common = lines
        .iter()
        .filter(|l| pouring_places.iter().all(|place| lines.iter().any(|o| o.count == l.count && o.place == *place)))
        .max_by_key(|l| l.at)
        .map(|l| l.count);
    let mut seen = Vec::with_capacity(newest.len());
    for (line, pours) in newest.iter().zip(&pours) {
        let of_common = lines.iter().find(|l| *pours && Some(l.count) == common && l.place == line.place);
        let line = of_common.unwrap_or(line);
        let level = gauges.level(what, &line.entry, line.eye());
        seen.push(Seen { place: line.place, at: line.at, level, pours: *pours });
    }
    // Sales take from the end of the count on, movements in a place from its own look on: as between two counts.
    let at = seen.iter().filter(|s| s.pours).map(|s| s.at).max()?;
    let count = common.or_else(|| newest.iter().max_by_key(|l| l.at).map(|l| l.count)).unwrap_or_default();
    Some(Anchor { at, count, seen })
}

/// What is on hand of one item.
#[derive(Clone, Debug)]
pub struct OnHand {
    /// What it is.
    pub item: ItemId,
    /// The last look.
    pub anchor: Anchor,
    /// How much there should be now. Below zero when more was sold than there was.
    pub level: Level,
    /// What was seen in all places together.
    pub seen: Tally,
    /// What came less what went since, but for sales.
    pub came: Amount,
    /// What sales took since.
    pub sold: Amount,
    /// How much there should be in each place, in the anchor's order.
    pub places: Vec<(PlaceId, Amount)>,
}

/// Everything on hand at a moment.
#[derive(Clone, Debug, Default)]
pub struct Standing {
    /// By item.
    pub items: HashMap<ItemId, OnHand>,
    /// What sales took since each item's anchor, by drink.
    pub sold: Sold,
}

/// Works out what is on hand at `now`.
///
/// `lines` holds, for every item, at least the newest line of each of its places; `movements` and `sales` reach back
/// at least to the earliest of them.
pub fn standing(
    setup: &Setup,
    gauges: &Gauges,
    lines: &[CountLine],
    movements: &Movements,
    sales: &[Sale],
    now: Moment,
) -> Standing {
    let mut by_item: HashMap<ItemId, Vec<&CountLine>> = HashMap::new();
    for line in lines {
        by_item.entry(line.item).or_default().push(line);
    }
    let mut anchors: HashMap<ItemId, Anchor> = HashMap::new();
    for (item, lines) in by_item {
        if let Some(found) = anchor(setup, gauges, item, &lines) {
            anchors.insert(item, found);
        }
    }
    let counted = |item: ItemId| anchors.contains_key(&item);
    let spans: Spans = anchors.iter().map(|(item, a)| (*item, Span { from: a.at, to: now })).collect();
    let sold = sold(setup, sales, &spans, &counted);
    // A movement that says where matters from when that place was seen; one that does not, from when the bar was.
    let scope = |item: ItemId, place: Option<PlaceId>, at: Moment| {
        anchors.get(&item).is_some_and(|anchor| {
            let seen = place.and_then(|place| anchor.seen.iter().find(|s| s.place == place));
            at <= now && at > seen.map_or(anchor.at, |s| s.at)
        })
    };
    let flows = flows(setup, movements, &scope, &counted);
    let mut items = HashMap::new();
    for (&item, anchor) in &anchors {
        let took = sold.by_item.get(&item).copied().unwrap_or_default();
        let seen = anchor.seen.iter().fold(Tally::default(), |sum, s| sum.plus(&s.level));
        let came = flows.of(item).net();
        let amount = seen.amount + came - took;
        let mut stored: Vec<(PlaceId, Amount)> =
            anchor.seen.iter().map(|s| (s.place, s.level.amount + flows.net_in(item, s.place))).collect();
        // What was carried to a place that was never counted stands there and nowhere else.
        for place in flows.places(item) {
            if !stored.iter().any(|(p, _)| *p == place) {
                stored.push((place, flows.net_in(item, place)));
            }
        }
        let places = spread(anchor, stored, amount);
        let level = Level { amount, u: seen.u() };
        items.insert(item, OnHand { item, level, seen, came, sold: took, places, anchor: anchor.clone() });
    }
    Standing { items, sold }
}

/// Shares the total out to the places: stores hold what their movements say, the first place it is poured from holds
/// the rest.
fn spread(anchor: &Anchor, stored: Vec<(PlaceId, Amount)>, total: Amount) -> Vec<(PlaceId, Amount)> {
    let first = anchor.seen.iter().position(|s| s.pours);
    let others: Amount = stored.iter().enumerate().filter(|(n, _)| Some(*n) != first).map(|(_, (_, a))| *a).sum();
    stored
        .into_iter()
        .enumerate()
        .map(|(n, (place, amount))| (place, if Some(n) == first { total - others } else { amount }))
        .collect()
}
