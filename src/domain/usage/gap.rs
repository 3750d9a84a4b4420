//! Usage and gap between two counts, item by item.

use super::budget::{Budget, Spreads, of_loss};
use super::sold::{Sold, sold};
use super::standing::pouring;
use crate::domain::drink::Costs;
use crate::domain::gauge::{Gauges, Level, Tally};
use crate::domain::ledger::{CountLine, Flow, Movements, Sale, Span, Spans, flows};
use crate::domain::measure::{Amount, Money};
use crate::domain::venue::{ItemId, Kind, Moment, PlaceId, Setup};
use serde::Serialize;
use std::collections::{HashMap, HashSet};

/// How much of an item two counts can tell.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "extent", content = "places")]
pub enum Told {
    /// Every place it stands in was counted both times.
    Whole,
    /// These places were not counted both times, but only store it sealed: what was carried from them is on record, and
    /// nothing is poured there.
    StoresLeftOut(Vec<PlaceId>),
}

/// Why two counts tell nothing about an item.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "because", content = "places")]
pub enum Untold {
    /// Not counted the first time.
    NotInOpening,
    /// Not counted the second time.
    NotInClosing,
    /// Sold, and counted neither time.
    NotCounted,
    /// It is also poured in these places, which were not counted both times.
    PouredElsewhere(Vec<PlaceId>),
}

/// What happened to one item between two counts. Amounts in the item's base unit.
#[derive(Clone, Debug, Serialize)]
pub struct GapRow {
    /// What it is.
    pub item: ItemId,
    /// How much of it the counts tell.
    pub told: Told,
    /// The place it is poured from (or stands in), for sums by place.
    pub home: PlaceId,
    /// Who counted it there at the closing.
    pub counted_by: Option<String>,
    /// From its opening look …
    pub from: Moment,
    /// … to its closing look.
    pub to: Moment,
    /// Counted at the opening.
    #[serde(skip)]
    pub opening: Level,
    /// Counted at the closing.
    #[serde(skip)]
    pub closing: Level,
    /// What came and went, but for sales.
    pub flow: Flow,
    /// What really went: opening + in − out − closing.
    pub usage: Amount,
    /// What the specs say the sales took.
    pub sold: Amount,
    /// usage − sold: above zero, more went than was sold.
    pub gap: Amount,
    /// Standard uncertainty of the gap.
    pub u: f64,
    /// What that is made of.
    #[serde(skip)]
    pub budget: Budget,
    /// What in it is the bias of an eye, by the eye's number, signed: shared with other items.
    #[serde(skip)]
    pub of_eyes: Vec<(usize, f64)>,
    /// What the gap cost; below zero when less went than was sold. `None` when the item's cost is not known.
    pub cost: Option<Money>,
    /// What a base unit costs, in minor units of the coin; `None` when that is not known.
    pub unit_cost: Option<f64>,
    /// The gap as a percentage of usage; `None` when nothing was used, or less than nothing.
    pub percent: Option<f64>,
}

impl GapRow {
    /// The gap as it most likely is: with what readings at one and nine tenths are likely to be off by.
    pub fn likely(&self) -> f64 {
        self.gap.as_f64() + self.budget.lean()
    }

    /// Whether zero lies outside two standard uncertainties around the gap, so that the coarseness of the count alone
    /// explains it in one case of twenty at most.
    pub fn beyond_exactness(&self) -> bool {
        self.likely().abs() > 2.0 * self.u
    }
}

/// Two counts compared.
#[derive(Clone, Debug)]
pub struct Variance {
    /// Rows by money at stake, the largest first; rows without a known cost after them, by share of a container.
    pub rows: Vec<GapRow>,
    /// Items in either count, or sold between them, about which nothing can be told.
    pub untold: Vec<(ItemId, Untold)>,
    /// House-made items that were not counted and so were taken from their ingredients.
    pub exploded: Vec<ItemId>,
    /// What sales took, in parts.
    pub sold: Sold,
}

/// What [`variance`] compares.
pub struct Period<'a> {
    /// Lines of the opening count.
    pub opening: &'a [CountLine],
    /// Lines of the closing count.
    pub closing: &'a [CountLine],
    /// The newest line of every item and place up to the closing, of whatever count: tells which places only store
    /// sealed containers, and what is stock of its own.
    pub latest: &'a [CountLine],
    /// Movements from the first opening line to the last closing line.
    pub movements: &'a Movements,
    /// Sales of the same stretch.
    pub sales: &'a [Sale],
}

struct Both<'a> {
    item: ItemId,
    told: Told,
    opening: Vec<&'a CountLine>,
    closing: Vec<&'a CountLine>,
    home: PlaceId,
}

/// Compares two counts.
///
/// usage = opening + delivered + made + carried in − recorded losses − taken by batches − closing; gap = usage − sold;
/// u of the gap is that of the two counts' readings, of which what they share cancels (GUM 5.2.2), of the fill of the
/// containers that were opened in between, of the pours, of the waste that specs allow for and of losses by estimate.
pub fn variance(setup: &Setup, gauges: &Gauges, period: &Period, costs: &Costs) -> Variance {
    let (both, untold) = matched(period);
    let looks: HashMap<ItemId, &Both> = both.iter().map(|b| (b.item, b)).collect();
    let spans: Spans = both.iter().map(|b| (b.item, span(b))).collect();
    // What is counted at other times is stock of its own, too: only what is never counted is taken from its ingredients.
    let stocked: HashSet<ItemId> = period.latest.iter().map(|l| l.item).collect();
    let counted = |item: ItemId| looks.contains_key(&item) || stocked.contains(&item);
    let sold = sold(setup, period.sales, &spans, &counted);
    // A movement in a counted place matters between that place's two looks, one that says no place between the item's
    // last looks. Movements in a store that was left out are not seen: only what was carried to the counted places is.
    let scope = |item: ItemId, place: Option<PlaceId>, at: Moment| {
        let Some(both) = looks.get(&item) else { return false };
        let look = |lines: &[&CountLine]| lines.iter().find(|l| Some(l.place) == place).map(|l| l.at);
        match (place, look(&both.opening), look(&both.closing)) {
            (Some(_), Some(from), Some(to)) => Span { from, to }.holds(at),
            (Some(_), ..) => both.told == Told::Whole && spans.get(&item).is_some_and(|s| s.holds(at)),
            (None, ..) => spans.get(&item).is_some_and(|s| s.holds(at)),
        }
    };
    let flows = flows(setup, period.movements, &scope, &counted);
    let mut rows = Vec::with_capacity(both.len());
    for look in &both {
        let Some(item) = setup.item(look.item) else { continue };
        let sum = |lines: &[&CountLine]| {
            let levels = lines.iter().map(|l| gauges.level(item, &l.entry, l.eye()));
            levels.fold(Tally::default(), |sum, level| sum.plus(&level))
        };
        let (opening, closing) = (sum(&look.opening), sum(&look.closing));
        let flow = flows.of(item.id);
        let moved = opening.used(flow.net(), &closing, item.size);
        let usage = moved.amount;
        let took = sold.by_item.get(&item.id).copied().unwrap_or_default();
        let gap = usage - took;
        let lost = period.movements.losses.iter().filter(|loss| loss.item == item.id);
        let lost = lost.filter(|loss| scope(item.id, loss.place, loss.at)).map(|loss| of_loss(item, loss.amount)).sum();
        let poured = sold.poured.get(&item.id).copied().unwrap_or_default();
        let budget = Budget::new(&opening, &closing, &moved, poured, lost);
        let Span { from, to } = span(look);
        rows.push(GapRow {
            item: item.id,
            told: look.told.clone(),
            home: look.home,
            counted_by: look.closing.iter().find(|line| line.place == look.home).and_then(|line| line.by.clone()),
            from,
            to,
            opening: opening.level(),
            closing: closing.level(),
            flow,
            usage,
            sold: took,
            gap,
            u: budget.u(&Spreads::AS_SET),
            budget,
            of_eyes: moved.of_eyes(),
            cost: costs.of(item.id).map(|c| c.of(gap, setup.venue.currency)),
            unit_cost: costs.of(item.id).map(|c| c.exact(Amount(1)).minor(setup.venue.currency)),
            percent: percent_of_used(gap, usage),
        });
    }
    let stake = |row: &GapRow| row.cost.map_or(-1, |c| c.0.saturating_abs());
    let share = |row: &GapRow| setup.item(row.item).map_or(0.0, |i| row.gap.per(i.size).abs());
    rows.sort_by(|a, b| {
        stake(b)
            .cmp(&stake(a))
            .then(share(b).total_cmp(&share(a)))
            .then_with(|| setup.item_name(a.item).cmp(setup.item_name(b.item)))
    });
    let mut untold = untold;
    let told: HashSet<ItemId> = rows.iter().map(|r| r.item).chain(untold.iter().map(|(item, _)| *item)).collect();
    untold.extend(sold.unseen.iter().filter(|item| !told.contains(item)).map(|item| (*item, Untold::NotCounted)));
    let mut exploded: Vec<ItemId> = sold.parts.iter().filter_map(|p| p.through).filter(|i| !counted(*i)).collect();
    exploded.sort_unstable();
    exploded.dedup();
    Variance { rows, untold, exploded, sold }
}

/// A gap as a percentage of what was used; `None` when nothing was, or less than nothing.
fn percent_of_used(gap: Amount, usage: Amount) -> Option<f64> {
    (usage > Amount::ZERO).then(|| 100.0 * gap.as_f64() / usage.as_f64())
}

/// The stretch whose sales are the item's: between the looks at the places it is poured from, the last of them where
/// there are several. A sale rung while the cellar was still being counted came from a bottle already read.
fn span(look: &Both) -> Span {
    let last = |lines: &[&CountLine]| {
        let poured = lines.iter().zip(pouring(lines)).filter(|(_, pours)| *pours);
        poured.map(|(l, _)| l.at).max().unwrap_or_default()
    };
    Span { from: last(&look.opening), to: last(&look.closing) }
}

/// Pairs the lines of the two counts, item by item, and says what each pair can tell.
fn matched<'a>(period: &Period<'a>) -> (Vec<Both<'a>>, Vec<(ItemId, Untold)>) {
    let by_item = |lines: &'a [CountLine]| {
        let mut map: HashMap<ItemId, Vec<&'a CountLine>> = HashMap::new();
        for line in lines {
            map.entry(line.item).or_default().push(line);
        }
        map
    };
    let (openings, closings, latest) = (by_item(period.opening), by_item(period.closing), by_item(period.latest));
    let mut items: Vec<ItemId> = openings.keys().chain(closings.keys()).copied().collect();
    items.sort_unstable();
    items.dedup();
    let none = Vec::new();
    let (mut both, mut untold) = (Vec::new(), Vec::new());
    for item in items {
        let (opening, closing) = match (openings.get(&item), closings.get(&item)) {
            (Some(opening), Some(closing)) => (opening, closing),
            (None, _) => {
                untold.push((item, Untold::NotInOpening));
                continue;
            }
            (_, None) => {
                untold.push((item, Untold::NotInClosing));
                continue;
            }
        };
        let in_both =
            |place: PlaceId| opening.iter().any(|l| l.place == place) && closing.iter().any(|l| l.place == place);
        // Every place the item was seen in up to the closing: a spot given to it later changes nothing in the past.
        let last = latest.get(&item).unwrap_or(&none);
        let mut places: Vec<PlaceId> = last.iter().chain(opening).chain(closing).map(|l| l.place).collect();
        places.sort_unstable();
        places.dedup();
        let missed: Vec<PlaceId> = places.into_iter().filter(|p| !in_both(*p)).collect();
        let pours = pouring(last);
        let stores_only = |place: &PlaceId| {
            last.iter().zip(&pours).any(|(l, pours)| l.place == *place && !pours)
                && !opening.iter().chain(closing).any(|l| l.place == *place && !l.entry.open.is_empty())
        };
        let poured: Vec<PlaceId> = missed.iter().copied().filter(|p| !stores_only(p)).collect();
        if !poured.is_empty() {
            untold.push((item, Untold::PouredElsewhere(poured)));
            continue;
        }
        let keep = |lines: &[&'a CountLine]| lines.iter().copied().filter(|l| in_both(l.place)).collect::<Vec<_>>();
        let (opening, closing) = (keep(opening), keep(closing));
        let open = closing.iter().chain(&opening).find(|l| !l.entry.open.is_empty());
        let Some(home) = open.or(closing.first()).map(|l| l.place) else { continue };
        let told = if missed.is_empty() { Told::Whole } else { Told::StoresLeftOut(missed) };
        both.push(Both { item, told, opening, closing, home });
    }
    (both, untold)
}

/// What rows are summed under that nobody signed for.
pub const NOBODY: &str = "nobody signed";

/// How rows are summed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Grouping {
    /// One row an item.
    Item,
    /// By the place an item is poured from.
    Place,
    /// By kind.
    Kind,
    /// By who counted it at the closing.
    Counter,
}

/// The sum of the rows of one place or kind. Items differ in basis, so only money adds up everywhere; volumes are
/// summed over the items measured by volume.
#[derive(Clone, Debug, Default, Serialize)]
pub struct GroupRow {
    /// The place or kind.
    pub name: String,
    /// Items in it.
    pub items: usize,
    /// Used, of items by volume.
    pub usage: Amount,
    /// Sold, of items by volume.
    pub sold: Amount,
    /// Gap, of items by volume.
    pub gap: Amount,
    /// Standard uncertainty of that gap.
    pub u: f64,
    /// Cost of the gap, of all items whose cost is known.
    pub cost: Money,
    /// Items whose cost is not known.
    pub without_cost: usize,
}

impl GroupRow {
    /// Whether the gap is more than the counts alone can make: two standard uncertainties.
    pub fn beyond_exactness(&self) -> bool {
        self.gap.as_f64().abs() > 2.0 * self.u
    }

    /// The gap as a percentage of what was used; `None` when nothing was, or less than nothing.
    pub fn percent(&self) -> Option<f64> {
        percent_of_used(self.gap, self.usage)
    }
}

/// Sums rows by place or by kind, in the order of the walk or of the kinds.
pub fn grouped(setup: &Setup, rows: &[GapRow], by: Grouping) -> Vec<GroupRow> {
    let names: Vec<(String, Vec<&GapRow>)> = match by {
        Grouping::Item => rows.iter().map(|r| (setup.item_name(r.item).to_owned(), vec![r])).collect(),
        Grouping::Place => {
            let of = |place: PlaceId| rows.iter().filter(move |r| r.home == place).collect();
            setup.places.iter().map(|p| (p.name.clone(), of(p.id))).collect()
        }
        Grouping::Kind => {
            let of =
                |kind: Kind| rows.iter().filter(move |r| setup.item(r.item).is_some_and(|i| i.kind == kind)).collect();
            Kind::ALL.iter().map(|k| (k.said().to_owned(), of(*k))).collect()
        }
        Grouping::Counter => {
            let mut who: Vec<&Option<String>> = rows.iter().map(|row| &row.counted_by).collect();
            who.sort();
            who.dedup();
            let of = |who: &Option<String>| rows.iter().filter(|row| row.counted_by == *who).collect();
            who.into_iter().map(|by| (by.clone().unwrap_or_else(|| NOBODY.to_owned()), of(by))).collect()
        }
    };
    let named = names.into_iter().filter(|(_, rows)| !rows.is_empty());
    named.map(|(name, rows)| summed(setup, name, &rows)).collect()
}

/// The sum of some rows under a name.
pub fn summed(setup: &Setup, name: String, rows: &[&GapRow]) -> GroupRow {
    let mut group = GroupRow { name, items: rows.len(), ..GroupRow::default() };
    // What items have for themselves adds in quadrature; the bias of an eye is the same in all that it read.
    let (mut own, mut eyes): (f64, HashMap<usize, f64>) = (0.0, HashMap::new());
    for row in rows {
        group.cost += row.cost.unwrap_or_default();
        group.without_cost += usize::from(row.cost.is_none());
        if setup.item(row.item).is_some_and(|i| i.basis == crate::domain::measure::Basis::Volume) {
            group.usage += row.usage;
            group.sold += row.sold;
            group.gap += row.gap;
            own += row.u * row.u;
            for (eye, u) in &row.of_eyes {
                own -= u * u;
                *eyes.entry(*eye).or_default() += u;
            }
        }
    }
    group.u = (own.max(0.0) + eyes.values().map(|u| u * u).sum::<f64>()).sqrt();
    group
}
