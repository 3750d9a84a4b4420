//! Cost of goods used: value at the beginning, what was bought, value at the end, and where the rest went.

mod cost;
mod net;
mod worth;

pub use net::NetSales;
pub use worth::{ByMethod, GoodsGroup, Worth, goods_by, percent_of};

use super::sold::{Sold, sold};
use super::standing::{Anchor, OnHand, Standing};
use crate::domain::drink::Costs;
use crate::domain::ledger::{Movements, Sale, Span, Spans, flows};
use crate::domain::measure::{Amount, ExactCost, Money};
use crate::domain::venue::{CountId, ItemId, Moment, PlaceId, Setup};
use cost::Prices;
use serde::Serialize;
use std::collections::HashSet;
use worth::Parts;

/// What [`goods`] reckons with.
pub struct Stretch<'a> {
    /// The stretch: after its beginning, up to and with its end.
    pub span: Span,
    /// What was on hand at its beginning.
    pub opening: &'a Standing,
    /// What was on hand at its end.
    pub closing: &'a Standing,
    /// Movements in it.
    pub movements: &'a Movements,
    /// Sales in it.
    pub sales: &'a [Sale],
    /// Items that were counted, came or were made before it: of these, what was never counted by then is not known to have
    /// been nothing.
    pub before: &'a HashSet<ItemId>,
    /// What items cost at its beginning by the weighted average.
    pub average: &'a Costs,
    /// What they cost then first in, first out.
    pub fifo: &'a Costs,
}

/// What rows are summed by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum GoodsBy {
    /// One row an item.
    Item,
    /// By the place an item is poured from.
    Place,
    /// By kind.
    Kind,
}

/// When and in which count an end of a row was last looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Looked {
    /// When.
    pub at: Moment,
    /// In which count.
    pub count: CountId,
}

/// One item over a stretch. Amounts in its base unit.
#[derive(Clone, Debug)]
pub struct GoodsRow {
    /// What it is.
    pub item: ItemId,
    /// The place it is poured from, for sums by place.
    pub home: Option<PlaceId>,
    /// On hand at the beginning.
    pub opening: Amount,
    /// Delivered, less what went back.
    pub bought: Amount,
    /// Made here.
    pub made: Amount,
    /// Taken by batches of what is made here.
    pub batched: Amount,
    /// On hand at the end.
    pub closing: Amount,
    /// opening + bought + made − batched − closing: sold, written off or gone.
    pub used: Amount,
    /// What the specs say the sales took.
    pub sold: Amount,
    /// Recorded losses.
    pub lost: Amount,
    /// used − sold − lost.
    pub gap: Amount,
    /// The look that the beginning is reckoned from; nothing where the item is new.
    pub looked_before: Option<Looked>,
    /// The look that the end is reckoned from.
    pub looked_after: Looked,
    /// What all that is worth; nothing where no price is known.
    pub worth: Option<ByMethod>,
    /// No price was known at the beginning, so what was there then is taken to have cost as what came first after it.
    pub priced_later: bool,
}

impl GoodsRow {
    /// Whether nothing was counted in the stretch: the gap is nothing because nobody looked.
    pub fn nobody_looked(&self) -> bool {
        self.looked_before == Some(self.looked_after)
    }
}

/// Why an item is in no sum.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum LeftOutBecause {
    /// It came, was sold or went into batches, and was never counted.
    NeverCounted,
    /// Nobody had counted it by the beginning, and it was there: it had come before, or more of it is there than came.
    UnknownAtBeginning,
    /// No place where it stands now was counted by the end.
    UnknownAtEnd,
}

/// An item that is in no sum.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LeftOut {
    /// What it is.
    pub item: ItemId,
    /// Why.
    pub because: LeftOutBecause,
    /// What was bought of it, less what went back.
    pub bought: Money,
}

/// Cost of goods used over a stretch.
#[derive(Clone, Debug)]
pub struct Goods {
    /// Items by what was used of them at the weighted average, the most first; those without a price last.
    pub rows: Vec<GoodsRow>,
    /// Items that are in no sum.
    pub left_out: Vec<LeftOut>,
    /// House-made items that are never counted: what was sold of them was taken from their ingredients.
    pub exploded: Vec<ItemId>,
    /// What the sales brought.
    pub net: NetSales,
    /// What sales took, in parts.
    pub sold: Sold,
}

impl Goods {
    /// The sums of all rows.
    pub fn total(&self) -> GoodsGroup {
        worth::total(self)
    }

    /// Rows of which no price is known.
    pub fn unpriced(&self) -> impl Iterator<Item = &GoodsRow> {
        self.rows.iter().filter(|row| row.worth.is_none())
    }
}

/// Works out what goods were used over a stretch and what they had cost.
///
/// used = opening + bought + made − taken by batches − closing, in amounts and in money. By the weighted average a base
/// unit of an item costs (opening value + bought) ÷ (opening amount + amount bought); first in, first out what is left at
/// the end is the newest (both as accounting texts have them for a periodic inventory). A batch carries what its
/// ingredients cost over to what was made of them; it is no use. Deposits are no part of what goods cost.
///
/// Money is rounded once for each item and column, and what a batch carries over once for each pair of items; all
/// else is sums and differences of those, so that every column and every line of a table adds up to the coin.
pub fn goods(setup: &Setup, stretch: &Stretch) -> Goods {
    let (opening, closing) = (&stretch.opening.items, &stretch.closing.items);
    let counted = |item: ItemId| opening.contains_key(&item) || closing.contains_key(&item);
    let spans: Spans = setup.items.iter().map(|item| (item.id, stretch.span)).collect();
    let sold = sold(setup, stretch.sales, &spans, &counted);
    let within = |_: ItemId, _: Option<PlaceId>, at: Moment| stretch.span.holds(at);
    let flows = flows(setup, stretch.movements, &within, &counted);
    let prices = Prices::new(setup, stretch, &counted);
    let carried = worth::carried(setup, &prices);
    let (mut rows, mut left_out) = (Vec::new(), Vec::new());
    for item in &setup.items {
        let id = item.id;
        let flow = flows.of(id);
        let took = sold.by_item.get(&id).copied().unwrap_or_default();
        let (before, after) = (opening.get(&id), closing.get(&id));
        let ends = match (before, after) {
            (Some(before), Some(after)) => Ok((Some(before), after)),
            // New is what nothing was known of, and of which no more is there than came.
            (None, Some(after))
                if !stretch.before.contains(&id) && after.level.amount <= flow.delivered + flow.made =>
            {
                Ok((None, after))
            }
            (None, Some(_)) => Err(LeftOutBecause::UnknownAtBeginning),
            (Some(_), None) => Err(LeftOutBecause::UnknownAtEnd),
            (None, None) => Err(LeftOutBecause::NeverCounted),
        };
        let moved = [flow.delivered, flow.made, flow.batched, flow.lost, took];
        let (before, after) = match ends {
            Ok(ends) => ends,
            Err(because) => {
                // What is made here and never counted is sold through its ingredients, and stands in their rows.
                let there = before.or(after).map_or(Amount::ZERO, |there| there.level.amount);
                if moved.iter().chain([&there]).any(|amount| *amount != Amount::ZERO) {
                    left_out.push(LeftOut { item: id, because, bought: paid(setup, stretch, id) });
                }
                continue;
            }
        };
        let amount = |there: &OnHand| there.level.amount;
        let (opening, closing) = (before.map_or(Amount::ZERO, amount), amount(after));
        if [opening, closing].iter().chain(&moved).all(|amount| *amount == Amount::ZERO) {
            continue;
        }
        let used = opening + flow.delivered + flow.made - flow.batched - closing;
        let gap = used - took - flow.lost;
        let parts = Parts { sold: took, lost: flow.lost, gap };
        let priced = prices.of(id);
        rows.push(GoodsRow {
            item: id,
            home: home(&after.anchor),
            opening,
            bought: flow.delivered,
            made: flow.made,
            batched: flow.batched,
            closing,
            used,
            sold: took,
            lost: flow.lost,
            gap,
            looked_before: before.map(|there| looked(&there.anchor)),
            looked_after: looked(&after.anchor),
            worth: priced.map(|priced| ByMethod::new(priced, &parts, carried.get(&id), setup.venue.currency)),
            priced_later: priced.is_some_and(|priced| priced.later) && opening != Amount::ZERO,
        });
    }
    rows.sort_by_key(|row| {
        let used = row.worth.map(|worth| worth.average.used);
        (std::cmp::Reverse(used), setup.item_name(row.item).to_owned())
    });
    let mut exploded: Vec<ItemId> = sold.parts.iter().filter_map(|p| p.through).filter(|i| !counted(*i)).collect();
    exploded.sort_unstable();
    exploded.dedup();
    let told: HashSet<ItemId> = rows.iter().filter(|row| row.worth.is_some()).map(|row| row.item).collect();
    let net = net::net_sales(setup, stretch.sales, &sold, |part| {
        let unit = prices.of(part.item).filter(|_| told.contains(&part.item))?.average.out;
        Some(unit.exact(part.amount))
    });
    Goods { rows, left_out, exploded, net, sold }
}

/// What was bought of an item, less what went back.
fn paid(setup: &Setup, stretch: &Stretch, item: ItemId) -> Money {
    let came = stretch.movements.deliveries.iter().filter(|came| came.item == item && stretch.span.holds(came.at));
    let exact = came.map(|came| came.unit_price.exact().times(came.containers)).sum::<ExactCost>();
    exact.round(setup.venue.currency)
}

fn looked(anchor: &Anchor) -> Looked {
    Looked { at: anchor.at, count: anchor.count }
}

/// The first place it is poured from.
fn home(anchor: &Anchor) -> Option<PlaceId> {
    anchor.seen.iter().find(|seen| seen.pours).or(anchor.seen.first()).map(|seen| seen.place)
}
