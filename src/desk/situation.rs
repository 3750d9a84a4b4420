//! Where the bar stands now: what most use cases begin with.

use super::DeskError;
use crate::domain::ledger::{CountLine, Order};
use crate::domain::measure::Amount;
use crate::domain::par::{self, Need};
use crate::domain::usage::{Standing, standing};
use crate::domain::venue::{Costs, CountId, ItemId, Moment, OrderState, PlaceId, Setup};
use crate::store::{Connection, counts, journal, orders, sales, setup};
use std::collections::{HashMap, HashSet};
use std::sync::Arc;

/// The set-up, and what is on hand, on order and known of costs at a moment.
#[derive(Clone, Debug)]
pub struct Situation {
    /// The bar.
    pub setup: Arc<Setup>,
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
    let latest = in_use(&setup, counts::latest(conn, except)?);
    let mut lines = latest.clone();
    lines.extend(earlier_lines(conn, &latest, except)?);
    let since = lines.iter().map(|l| l.at).min().unwrap_or(now);
    let movements = journal::movements(conn, since, now)?;
    let sales = sales::between(conn, since, now)?;
    let standing = standing(&setup, &lines, &movements, &sales, now)?;
    let sent = orders::list(conn, &[OrderState::Sent])?;
    let costs = Costs::new(&setup, &journal::last_paid(conn, now)?, setup.venue.days.day_of(now));
    let on_order = par::on_order(&setup, &sent);
    Ok(Situation { setup, now, latest, standing, sent, on_order, costs })
}

impl Situation {
    /// What every item with a par lacks.
    pub fn needs(&self) -> Vec<Need> {
        par::needs(&self.setup, &self.standing, &self.on_order)
    }
}

/// Leaves out spots that the bar has given up: no shelf any more, and the place was counted again without them.
fn in_use(setup: &Setup, latest: Vec<CountLine>) -> Vec<CountLine> {
    let shelves: HashSet<(PlaceId, ItemId)> = setup.shelves.iter().map(|s| (s.place, s.item)).collect();
    let mut newest: HashMap<PlaceId, (Moment, CountId)> = HashMap::new();
    for line in &latest {
        let known = newest.entry(line.place).or_insert((line.at, line.count));
        if line.at > known.0 {
            *known = (line.at, line.count);
        }
    }
    let keep = |l: &CountLine| {
        shelves.contains(&(l.place, l.item)) || newest.get(&l.place).is_some_and(|(_, count)| *count == l.count)
    };
    latest.into_iter().filter(keep).collect()
}

/// Where the newest lines of an item come from different counts and more than one of them has an opened container, the
/// item must be reckoned from a count that saw them all: fetches the lines among which that count is.
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
        let open: Vec<&&CountLine> = lines.iter().filter(|l| !l.entry.open.is_empty()).collect();
        let poured = if open.is_empty() { lines.iter().collect() } else { open };
        if poured.iter().all(|l| l.count == poured[0].count) {
            continue;
        }
        let Some(since) = poured.iter().map(|l| l.at).min() else { continue };
        let earlier = counts::item_lines_since(conn, item, since)?;
        out.extend(earlier.into_iter().filter(|l| Some(l.count) != except && !latest.contains(l)));
    }
    Ok(out)
}
