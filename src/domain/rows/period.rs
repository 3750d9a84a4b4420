//! Two counts compared, and the facts behind one line.

use crate::domain::gauge::Level;
use crate::domain::ledger::{Batch, Count, CountLine, Delivery, Explanation, Loss, Movements, Span, Transfer};
use crate::domain::measure::{Amount, Money};
use crate::domain::usage::{GapRow, GroupRow, Recount, Review, SoldPart, Suspect, Variance, Verdict};
use crate::domain::venue::{ItemId, Moment, PlaceId};
use std::collections::HashMap;

/// The Variance screen.
#[derive(Clone, Debug)]
pub struct PeriodView {
    /// The count it begins with.
    pub opening: Count,
    /// The count it ends with.
    pub closing: Count,
    /// What the comparison says.
    pub variance: Variance,
    /// Whether no count was closed before the opening.
    pub is_first: bool,
    /// The count of the same extent that was closed after this one.
    pub next: Option<Count>,
    /// The counts that the periods of the charts end with, the oldest first; this one is the last.
    pub periods: Vec<Count>,
    /// Which gaps matter.
    pub review: Review,
    /// What probably made those that do, the likeliest first.
    pub suspects: HashMap<ItemId, Vec<Suspect>>,
    /// Causes that were accepted of gaps at this closing.
    pub explained: HashMap<ItemId, Explanation>,
    /// The evenings in between, where some places were counted on them, in the order of time.
    pub evenings: Vec<Evening>,
    /// Where another look is worth most; nothing once there is a later count.
    pub recounts: Vec<Recount>,
    /// Whether the till rang anything between the two counts.
    pub rung: bool,
}

/// A part of the period, between two counts of some of its places.
#[derive(Clone, Debug)]
pub struct Evening {
    /// The count it begins with.
    pub from: Count,
    /// The count it ends with.
    pub to: Count,
    /// The gaps of what both counts looked at.
    pub rows: Vec<GapRow>,
}

impl PeriodView {
    /// Whether a gap is to be looked into, and nobody has accepted a cause of it yet.
    pub fn is_open(&self, item: ItemId) -> bool {
        self.rung && self.review.verdict(item) == Verdict::LookInto && !self.explained.contains_key(&item)
    }

    /// The rows to be looked into of which nobody has accepted a cause yet, what matters most first.
    pub fn open(&self) -> impl Iterator<Item = &GapRow> {
        self.variance.rows.iter().filter(|row| self.is_open(row.item))
    }

    /// The money at stake in them, whichever way it went; nothing of what has no known cost.
    pub fn stake(&self) -> Money {
        self.open().filter_map(|row| self.review.stake(row)).map(|stake| Money(stake.0.saturating_abs())).sum()
    }

    /// What all gaps together cost, and of how many rows no cost is known.
    pub fn cost(&self) -> (Money, usize) {
        let costs = || self.variance.rows.iter().map(|row| row.cost);
        (costs().flatten().sum(), costs().filter(Option::is_none).count())
    }

    /// What probably made a gap, the likeliest first; nothing of one that does not matter.
    pub fn suspects(&self, item: ItemId) -> &[Suspect] {
        self.suspects.get(&item).map_or(&[], Vec::as_slice)
    }
}

/// One of many periods, a line each.
#[derive(Clone, Debug)]
pub struct PastPeriod {
    /// The count it begins with.
    pub opening: Count,
    /// The count it ends with.
    pub closing: Count,
    /// What went in it, over all items or of one; of no items where nothing can be told.
    pub sum: GroupRow,
}

/// A count line and what it amounts to.
#[derive(Clone, Debug)]
pub struct Look {
    /// As it was entered.
    pub line: CountLine,
    /// What that is.
    pub level: Level,
}

/// What one line of a variance rests on, so that each figure can be followed to its source.
#[derive(Clone, Debug)]
pub struct Evidence {
    /// The line.
    pub row: GapRow,
    /// What was seen at the opening, place by place.
    pub opening: Vec<Look>,
    /// What was seen at the closing.
    pub closing: Vec<Look>,
    /// Deliveries and returns.
    pub deliveries: Vec<Delivery>,
    /// Recorded losses.
    pub losses: Vec<Loss>,
    /// Carried from place to place.
    pub transfers: Vec<Transfer>,
    /// Batches made of it or taking it: when, of what, how much of that was made.
    pub batches: Vec<(Moment, ItemId, Amount)>,
    /// What sales took, by till name and drink, the largest first.
    pub sold: Vec<SoldPart>,
}

impl Evidence {
    /// Gathers the facts of one item from those of a period; `store` is where its deliveries stand when they do not say,
    /// `takes` tells which batches took some of it. `None` when the comparison has no line for it.
    pub fn gather(
        item: ItemId,
        variance: &Variance,
        opening: &[Look],
        closing: &[Look],
        movements: &Movements,
        store: Option<PlaceId>,
        takes: impl Fn(&Batch) -> bool,
    ) -> Option<Evidence> {
        let row = variance.rows.iter().find(|r| r.item == item)?.clone();
        let span = Span { from: row.from, to: row.to };
        let looks = |looks: &[Look]| keep(looks, |l| l.line.item == item);
        let (opening, closing) = (looks(opening), looks(closing));
        // As in the sums: what says where it was matters between the looks at that place.
        let at = |looks: &[Look], place| looks.iter().find(|l| Some(l.line.place) == place).map(|l| l.line.at);
        let seen = |place: Option<PlaceId>, when: Moment| match (at(&opening, place), at(&closing, place)) {
            (Some(from), Some(to)) => Span { from, to }.holds(when),
            // In a place that was left out it changes no sum, and is listed so that one can see why.
            _ => span.holds(when),
        };
        let mut sold: Vec<SoldPart> = variance.sold.parts.iter().filter(|p| p.item == item).copied().collect();
        sold.sort_by_key(|p| std::cmp::Reverse(p.amount));
        let made = movements
            .batches
            .iter()
            .filter(|b| (b.item == item && seen(store, b.at)) || (takes(b) && span.holds(b.at)));
        Some(Evidence {
            deliveries: keep(&movements.deliveries, |d| d.item == item && seen(d.place.or(store), d.at)),
            losses: keep(&movements.losses, |l| l.item == item && seen(l.place, l.at)),
            transfers: keep(&movements.transfers, |t| {
                t.item == item && (seen(Some(t.from), t.at) || seen(Some(t.to), t.at))
            }),
            batches: made.map(|b| (b.at, b.item, b.made)).collect(),
            sold,
            row,
            opening,
            closing,
        })
    }
}

fn keep<T: Clone>(all: &[T], wanted: impl Fn(&T) -> bool) -> Vec<T> {
    all.iter().filter(|one| wanted(one)).cloned().collect()
}
