//! What things cost, by the rule of the book.

use super::situation::standing_at;
use super::{DeskError, gauging};
use crate::domain::drink::{Costs, Layers, Paid};
use crate::domain::gauge::Gauges;
use crate::domain::ledger::{CountLine, Delivery};
use crate::domain::measure::{Amount, Price, UnitCost};
use crate::domain::usage::Standing;
use crate::domain::venue::{CostRule, ItemId, Moment, PlaceId, Setup};
use crate::store::{Connection, Store, counts, journal, setup};
use std::collections::HashMap;

/// How far back an average reaches: four weeks.
const AVERAGED: i64 = 28 * Moment::DAY;

/// What every item costs at a moment.
///
/// # Errors
/// [`DeskError`].
pub fn costs(store: &Store, now: Moment) -> Result<Costs, DeskError> {
    store.read(|conn| {
        let setup = setup::load(conn)?;
        let gauges = gauging::gauges(conn, &setup)?;
        costs_at(conn, &setup, &gauges, now)
    })
}

/// As [`costs`], where the set-up is at hand.
pub(super) fn costs_at(conn: &Connection, setup: &Setup, gauges: &Gauges, now: Moment) -> Result<Costs, DeskError> {
    Ok(Costs::new(setup, paid(conn, setup, gauges, now, None)?, setup.venue.days.day_of(now)))
}

/// What the rule of the book asks of what was paid; `standing` is what is on hand, where that is known already.
pub(super) fn paid(
    conn: &Connection,
    setup: &Setup,
    gauges: &Gauges,
    now: Moment,
    standing: Option<&Standing>,
) -> Result<Paid, DeskError> {
    let last = journal::last_paid(conn, now)?;
    Ok(match setup.venue.cost_rule {
        CostRule::LastPaid | CostRule::Offer => Paid { last, ..Paid::default() },
        CostRule::Average => Paid { averages: averages(conn, setup, gauges, now)?, last, ..Paid::default() },
        CostRule::Fifo => {
            let computed;
            let standing = match standing {
                Some(standing) => standing,
                None => {
                    computed = standing_at(conn, setup, gauges, now, None)?.1;
                    &computed
                }
            };
            Paid { layers: layers(conn, setup, standing, now)?, last, ..Paid::default() }
        }
    })
}

/// What every item costs at a moment by the weighted average, and first in, first out, whatever the rule of the book;
/// `standing` is what is on hand then.
///
/// # Errors
/// [`DeskError`].
pub(super) fn by_both(
    conn: &Connection,
    setup: &Setup,
    gauges: &Gauges,
    at: Moment,
    standing: &Standing,
) -> Result<(Costs, Costs), DeskError> {
    let (last, day) = (journal::last_paid(conn, at)?, setup.venue.days.day_of(at));
    let layers = layers(conn, setup, standing, at)?;
    let fifo = Paid { layers, last: last.clone(), ..Paid::default() };
    let average = Paid { averages: averages(conn, setup, gauges, at)?, last, ..Paid::default() };
    Ok((Costs::by(CostRule::Average, setup, average, day), Costs::by(CostRule::Fifo, setup, fifo, day)))
}

/// The weighted average cost of each item: of what was on the shelf four weeks ago, at what had last been paid for it
/// then, and of all that came since, at what it was bought for.
fn averages(
    conn: &Connection,
    setup: &Setup,
    gauges: &Gauges,
    now: Moment,
) -> Result<HashMap<ItemId, UnitCost>, DeskError> {
    let then = Moment(now.0 - AVERAGED);
    // What nobody looked at in the four weeks before is not taken to have been there.
    let recent = |line: &CountLine| line.at.0 > then.0 - AVERAGED;
    let mut opening: HashMap<ItemId, Amount> = HashMap::new();
    let mut looked: HashMap<(ItemId, Option<PlaceId>), Moment> = HashMap::new();
    for line in counts::latest(conn, then, None)?.iter().filter(|line| recent(line)) {
        let Some(item) = setup.item(line.item) else { continue };
        *opening.entry(line.item).or_default() += gauges.level(item, &line.entry, line.eye()).amount;
        // What came to no place in particular is on the shelf once all its places were looked at.
        for place in [Some(line.place), None] {
            let at = looked.entry((line.item, place)).or_insert(line.at);
            *at = line.at.max(*at);
        }
    }
    let since = looked.values().min().copied().unwrap_or(then);
    let deliveries = journal::deliveries(conn, since, now)?;
    let is_in_opening = |came: &Delivery| looked.get(&(came.item, came.place)).copied().unwrap_or(then) >= came.at;
    let mut paid = journal::last_paid(conn, since)?;
    // Free goods say nothing of what one costs.
    let says_a_price = |came: &&Delivery| came.containers > 0 && came.unit_price > Price(0);
    for came in deliveries.iter().filter(says_a_price).filter(|came| is_in_opening(came)) {
        paid.insert(came.item, came.unit_price);
    }
    let unit = |item: ItemId, price: Price| UnitCost::new(price, setup.item(item)?.size);
    let mut pools: HashMap<ItemId, Layers> = HashMap::new();
    for (item, amount) in opening {
        if let Some(cost) = paid.get(&item).and_then(|price| unit(item, *price)) {
            pools.entry(item).or_default().receive(amount, cost);
        }
    }
    for came in deliveries.iter().filter(|came| !is_in_opening(came)) {
        let (Some(item), Some(cost)) = (setup.item(came.item), unit(came.item, came.unit_price)) else { continue };
        put(pools.entry(came.item).or_default(), item.size, came.containers, cost);
    }
    Ok(pools.into_iter().filter_map(|(item, pool)| Some((item, pool.average()?))).collect())
}

/// What is on hand of each item by what it was bought for: the newest deliveries that bring so much together.
fn layers(
    conn: &Connection,
    setup: &Setup,
    standing: &Standing,
    now: Moment,
) -> Result<HashMap<ItemId, Layers>, DeskError> {
    let containers = |item: &ItemId, amount: Amount| {
        let size = setup.item(*item).map_or(1, |i| i.size.0.max(1));
        amount.0.max(0).saturating_add(size - 1) / size
    };
    let there = |item: &ItemId| standing.items.get(item).map_or(Amount::ZERO, |on_hand| on_hand.level.amount);
    let wanted = standing.items.keys().map(|item| (*item, containers(item, there(item)))).collect();
    let mut out = HashMap::new();
    for (item, bought) in journal::bought_for(conn, now, &wanted)? {
        let Some(size) = setup.item(item).map(|i| i.size) else { continue };
        let mut layers = Layers::default();
        for came in bought.iter().rev() {
            if let Some(cost) = UnitCost::new(came.unit_price, size) {
                put(&mut layers, size, came.containers, cost);
            }
        }
        layers.keep_newest(there(&item));
        out.insert(item, layers);
    }
    Ok(out)
}

/// Containers that came, or went back where their number is below zero.
fn put(layers: &mut Layers, size: Amount, containers: i64, cost: UnitCost) {
    let amount = size.times(containers.abs(), 1);
    if containers < 0 { layers.give_back(amount, cost) } else { layers.receive(amount, cost) }
}
