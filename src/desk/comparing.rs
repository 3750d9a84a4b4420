//! Comparing two counts.

use super::{DeskError, costing, gauging, refused};
use crate::domain::drink::Costs;
use crate::domain::gauge::Gauges;
use crate::domain::ledger::{Batch, Count, CountLine, Movements, Sale, taken_by};
use crate::domain::rows::{Evidence, Look, PeriodView};
use crate::domain::usage::{Period, Variance, variance};
use crate::domain::venue::{CountId, ItemId, Setup};
use crate::store::{Connection, Store, counts, journal, sales, setup};
use std::collections::{BTreeSet, HashSet};

/// Which counts to compare.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Choice {
    /// The opening count; the one that suits the closing when not given.
    pub opening: Option<CountId>,
    /// The closing count; the newest that covers the bar when not given.
    pub closing: Option<CountId>,
}

struct Read {
    setup: Setup,
    gauges: Gauges,
    opening: Vec<CountLine>,
    closing: Vec<CountLine>,
    latest: Vec<CountLine>,
    movements: Movements,
    sales: Vec<Sale>,
    costs: Costs,
}

impl Read {
    fn new(conn: &Connection, opening: CountId, closing: CountId) -> Result<Read, DeskError> {
        let setup = setup::load(conn)?;
        let (opening, closing) = (counts::lines(conn, opening)?, counts::lines(conn, closing)?);
        let from = opening.iter().map(|l| l.at).min().unwrap_or_default();
        let to = closing.iter().map(|l| l.at).max().unwrap_or_default();
        let gauges = gauging::gauges(conn, &setup)?;
        let costs = costing::costs_at(conn, &setup, &gauges, to)?;
        Ok(Read {
            latest: counts::latest(conn, to, None)?,
            movements: journal::movements(conn, from, to)?,
            sales: sales::between(conn, from, to)?,
            gauges,
            setup,
            opening,
            closing,
            costs,
        })
    }

    fn compare(&self) -> Variance {
        let period = Period {
            opening: &self.opening,
            closing: &self.closing,
            latest: &self.latest,
            movements: &self.movements,
            sales: &self.sales,
        };
        variance(&self.setup, &self.gauges, &period, &self.costs)
    }

    /// Count lines with what they amount to.
    fn looks(&self, lines: &[CountLine]) -> Vec<Look> {
        let look = |line: &CountLine| {
            let level = self.gauges.level(self.setup.item(line.item)?, &line.entry, line.eye()).level();
            Some(Look { line: line.clone(), level })
        };
        lines.iter().filter_map(look).collect()
    }
}

/// Compares two counts; the last two that cover the bar when none are chosen.
///
/// # Errors
/// [`DeskError`]: there are not two counts, or the closing is not after the opening.
pub fn compare(store: &Store, choice: Choice) -> Result<PeriodView, DeskError> {
    store.read(|conn| {
        let (opening, closing, counts) = choose(conn, choice)?;
        let read = Read::new(conn, opening.id, closing.id)?;
        Ok(PeriodView { variance: read.compare(), opening, closing, counts })
    })
}

/// The facts behind one line of a comparison.
///
/// # Errors
/// [`DeskError`]: the comparison has no line for the item.
pub fn evidence(store: &Store, opening: CountId, closing: CountId, item: ItemId) -> Result<Evidence, DeskError> {
    store.read(|conn| {
        let read = Read::new(conn, opening, closing)?;
        let variance = read.compare();
        let (opening, closing) = (read.looks(&read.opening), read.looks(&read.closing));
        let stocked: HashSet<ItemId> = read.latest.iter().map(|l| l.item).collect();
        let counted = |id: ItemId| stocked.contains(&id);
        let takes = |batch: &Batch| {
            counted(batch.item) && taken_by(&read.setup, &counted, batch.item, batch.at).iter().any(|s| s.item == item)
        };
        let store = read.setup.store_of(item);
        Evidence::gather(item, &variance, &opening, &closing, &read.movements, store, takes)
            .ok_or_else(|| refused(format!("these two counts tell nothing about {}", read.setup.item_name(item))))
    })
}

/// Picks the counts to compare, and lists those that could be.
///
/// # Errors
/// [`DeskError`]: there are not two counts, or the closing is not after the opening.
pub(super) fn choose(conn: &Connection, choice: Choice) -> Result<(Count, Count, Vec<Count>), DeskError> {
    let all: Vec<Count> = counts::list(conn)?.into_iter().filter(|c| c.closed.is_some()).collect();
    let sets = counts::place_sets(conn)?;
    let none = BTreeSet::new();
    let places = |c: &Count| sets.get(&c.id).unwrap_or(&none);
    let size = |c: &Count| places(c).len();
    let by_id = |id: CountId| all.iter().find(|c| c.id == id);
    // Counts that cover the bar are those of as many places as the widest of the last sixty: nightly counts of a rail
    // stand between them and compare with each other, not with the week.
    let widest = all.iter().take(60).map(size).max().unwrap_or(0);
    let closing = match choice.closing {
        Some(id) => by_id(id),
        None => all.iter().find(|c| size(c) == widest),
    };
    let closing = closing.ok_or_else(|| refused("there is no closed count to compare; count first".to_owned()))?;
    let earlier = all.iter().filter(|c| c.opened < closing.opened);
    let opening = match choice.opening {
        Some(id) => by_id(id),
        // The same places best, then a count that saw them among others, then whatever there is.
        None => {
            let same = earlier.clone().find(|c| places(c) == places(closing));
            let more = earlier.clone().find(|c| places(c).is_superset(places(closing)));
            same.or(more).or(earlier.clone().next())
        }
    };
    let opening = opening
        .ok_or_else(|| refused(format!("there is no closed count before “{}”; a variance needs two", closing.name)))?;
    if opening.opened >= closing.opened {
        return Err(refused(format!("“{}” was not counted before “{}”", opening.name, closing.name)));
    }
    Ok((opening.clone(), closing.clone(), all))
}

/// A closed count by name.
///
/// # Errors
/// [`DeskError`]: there is none of that name, or it is not closed.
pub fn count_named(store: &Store, name: &str) -> Result<Count, DeskError> {
    let found = store.read(|conn| Ok::<_, DeskError>(counts::find(conn, name)?))?;
    match found {
        Some(count) if count.closed.is_some() => Ok(count),
        Some(count) => Err(refused(format!("the count “{}” is not closed yet", count.name))),
        None => Err(refused(format!("there is no count called “{name}”; `tantalus count` lists them"))),
    }
}

/// Every count, the newest first.
///
/// # Errors
/// [`DeskError`].
pub fn all_counts(store: &Store) -> Result<Vec<Count>, DeskError> {
    store.read(|conn| Ok(counts::list(conn)?))
}

/// The set-up of a book, for rendering what a use case returned.
///
/// # Errors
/// [`DeskError`].
pub fn setup(store: &Store) -> Result<Setup, DeskError> {
    store.read(|conn| Ok(setup::load(conn)?))
}
