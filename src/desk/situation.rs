//! Where the bar stands now: what most use cases begin with.

use super::{DeskError, costing, gauging};
use crate::domain::drink::Costs;
use crate::domain::gauge::Gauges;
use crate::domain::ledger::{CountLine, Order};
use crate::domain::measure::Amount;
use crate::domain::par;
use crate::domain::usage::{Standing, pouring, standing};
use crate::domain::venue::{CountId, ItemId, Moment, OrderState, PlaceId, Setup};
use crate::store::{Connection, counts, journal, orders, sales, setup};
use std::collections::{HashMap, HashSet};
use std::sync::Arc;

/// The set-up, and what is on hand, on order and known of costs at a moment.
#[derive(Clone, Debug)]
pub struct Situation {
    /// The bar.
    pub setup: Arc<Setup>,
    /// Its instruments.
    pub gauges: Arc<Gauges>,
    /// The moment.
    pub now: Moment,
    /// The newest line of every spot.
    pub latest: Vec<CountLine>,
    /// What should be there.
    pub standing: Standing,
    /// Orders that are sent.
    pub sent: Vec<Order>,
    /// Their amounts by item.
    pub on_order: HashMap<ItemId, Amount>,
    /// What items cost.
    pub costs: Costs,
}

/// Reads where the bar stands. Lines of the count `except` are left out, so that a count in progress can be compared
/// with what was expected before it.
///
/// # Errors
/// [`DeskError`].
pub fn situation(conn: &Connection, now: Moment, except: Option<CountId>) -> Result<Situation, DeskError> {
    let setup = Arc::new(setup::load(conn)?);
    let gauges = Arc::new(gauging::gauges(conn, &setup)?);
    let (latest, standing) = standing_at(conn, &setup, &gauges, now, except)?;
    let sent = orders::list(conn, &[OrderState::Sent])?;
    let paid = costing::paid(conn, &setup, &gauges, now, Some(&standing))?;
    let costs = Costs::new(&setup, paid, setup.venue.days.day_of(now));
    let on_order = par::on_order(&setup, &sent);
    Ok(Situation { setup, gauges, now, latest, standing, sent, on_order, costs })
}

/// The newest line of every spot in use at a moment, and what should be there then.
///
/// # Errors
/// [`DeskError`].
pub(super) fn standing_at(
    conn: &Connection,
    setup: &Setup,
    gauges: &Gauges,
    now: Moment,
    except: Option<CountId>,
) -> Result<(Vec<CountLine>, Standing), DeskError> {
    let latest = in_use(setup, counts::latest(conn, now, except)?);
    let mut lines = latest.clone();
    lines.extend(earlier_lines(conn, &latest, except)?);
    let since = lines.iter().map(|l| l.at).min().unwrap_or(now);
    let movements = journal::movements(conn, since, now)?;
    let sales = sales::between(conn, since, now)?;
    let standing = standing(setup, gauges, &lines, &movements, &sales, now);
    Ok((latest, standing))
}

/// Leaves out spots that the bar has given up: the item has shelves, but not there, and the place was counted again
/// without it. An item without any shelf stands where it was last seen, as long as it is stocked.
fn in_use(setup: &Setup, latest: Vec<CountLine>) -> Vec<CountLine> {
    let shelves: HashSet<(PlaceId, ItemId)> = setup.shelves.iter().map(|s| (s.place, s.item)).collect();
    let shelved: HashSet<ItemId> = setup.shelves.iter().map(|s| s.item).collect();
    let mut newest: HashMap<PlaceId, (Moment, CountId)> = HashMap::new();
    for line in &latest {
        let known = newest.entry(line.place).or_insert((line.at, line.count));
        if line.at > known.0 {
            *known = (line.at, line.count);
        }
    }
    let keep = |l: &CountLine| {
        (!shelved.contains(&l.item) && setup.item(l.item).is_none_or(|item| item.stocked))
            || shelves.contains(&(l.place, l.item))
            || newest.get(&l.place).is_some_and(|(_, count)| *count == l.count)
    };
    latest.into_iter().filter(keep).collect()
}

/// How far back a count is looked for that saw all places an item is poured from, before the oldest of their newest
/// looks: a quarter of a year.
const BACK: i64 = 92 * Moment::DAY;

/// Where the newest lines of an item come from different counts, it must be reckoned from a count that saw all places it
/// is poured from: fetches the item's lines of the newest such count.
fn earlier_lines(
    conn: &Connection,
    latest: &[CountLine],
    except: Option<CountId>,
) -> Result<Vec<CountLine>, DeskError> {
    let mut by_item: HashMap<ItemId, Vec<&CountLine>> = HashMap::new();
    for line in latest {
        by_item.entry(line.item).or_default().push(line);
    }
    let mut out = Vec::new();
    for (item, lines) in by_item {
        let poured: Vec<&CountLine> =
            lines.iter().zip(pouring(&lines)).filter(|(_, pours)| *pours).map(|(line, _)| *line).collect();
        if poured.iter().all(|l| l.count == poured[0].count) {
            continue;
        }
        let Some(oldest) = poured.iter().map(|l| l.at).min() else { continue };
        let earlier = counts::item_lines_since(conn, item, Moment(oldest.0 - BACK))?;
        let earlier: Vec<CountLine> = earlier.into_iter().filter(|l| Some(l.count) != except).collect();
        let saw_all =
            |count: CountId| poured.iter().all(|p| earlier.iter().any(|l| l.count == count && l.place == p.place));
        let common = earlier.iter().rev().find(|l| saw_all(l.count)).map(|l| l.count);
        out.extend(earlier.iter().filter(|l| Some(l.count) == common && !latest.contains(l)).cloned());
    }
    Ok(out)
}
