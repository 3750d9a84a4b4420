//! Cost of goods used: opening value, purchases, closing value.

use super::comparing::{self, Choice};
use super::situation::standing_at;
use super::{DeskError, costing, gauging, refused};
use crate::domain::ledger::{Count, Span};
use crate::domain::rows::{GoodsEnd, GoodsView};
use crate::domain::usage::{Standing, Stretch, goods};
use crate::domain::venue::{CountId, DayRule, ItemId, Moment, Setup};
use crate::store::{Connection, Store, counts, journal, sales, setup};
use chrono::NaiveDate;
use std::collections::{HashMap, HashSet};
use std::sync::Arc;

/// An end of the stretch that is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    /// A closed count.
    Count(CountId),
    /// A business day, itself in the stretch.
    Day(NaiveDate),
}

/// Which stretch to look at. Without an end that is a day, the counts are chosen as for a comparison. A stretch that begins
/// with a day and has no end goes on until now.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Asked {
    /// Its beginning.
    pub from: Option<End>,
    /// Its end.
    pub to: Option<End>,
}

/// What goods were used over a stretch and what they had cost.
///
/// What is on hand at either end is reckoned from the last count before: where a count ends there, it is what was counted.
///
/// # Errors
/// [`DeskError`]: there are no such counts, or the stretch does not end after its beginning.
pub fn used(store: &Store, asked: Asked, now: Moment) -> Result<(Arc<Setup>, GoodsView), DeskError> {
    store.read(|conn| {
        let setup = Arc::new(setup::load(conn)?);
        let gauges = gauging::gauges(conn, &setup)?;
        let ((from, from_at), (to, to_at)) = ends(conn, &setup.venue.days, asked, now)?;
        let (opening, closing) =
            (standing_at(conn, &setup, &gauges, from_at, None)?.1, standing_at(conn, &setup, &gauges, to_at, None)?.1);
        let (average, fifo) = costing::by_both(conn, &setup, &gauges, from_at, &opening)?;
        let goods = goods(
            &setup,
            &Stretch {
                span: Span { from: from_at, to: to_at },
                before: &known_before(conn, &setup, &opening, from_at)?,
                opening: &opening,
                closing: &closing,
                movements: &journal::movements(conn, from_at, to_at)?,
                sales: &sales::between(conn, from_at, to_at)?,
                average: &average,
                fifo: &fifo,
            },
        );
        Ok((setup.clone(), GoodsView { from, from_at, to, to_at, goods }))
    })
}

type Placed = (GoodsEnd, Moment);

/// The two ends and when they were.
fn ends(conn: &Connection, days: &DayRule, asked: Asked, now: Moment) -> Result<(Placed, Placed), DeskError> {
    let count = |end| if let Some(End::Count(id)) = end { Some(id) } else { None };
    let day = |end| if let Some(End::Day(day)) = end { Some(day) } else { None };
    let from_day = |day: NaiveDate| (GoodsEnd::Day(day), Moment(days.begins(day).0 - 1));
    let to_day = |day: NaiveDate| {
        let over = day.succ_opt().map(|next| Moment(days.begins(next).0 - 1)).filter(|end| *end <= now);
        over.map_or((GoodsEnd::Now(day), now), |end| (GoodsEnd::Day(day), end))
    };
    let today = days.day_of(now);
    if let Some(day) = [day(asked.from), day(asked.to)].into_iter().flatten().find(|day| *day > today) {
        return Err(refused(say!("{day} is still to come; name a day that has begun", day)));
    }
    let closed = |id: CountId| {
        counts::get(conn, id)?
            .filter(|count| count.closed.is_some())
            .ok_or_else(|| refused(word!("there is no such closed count").to_owned()))
    };
    let placed = |count: Count| {
        let last = counts::lines(conn, count.id)?.iter().map(|line| line.at).max().unwrap_or(count.opened);
        Ok::<_, DeskError>((GoodsEnd::Count(count), last))
    };
    let (from, to) = match (day(asked.from), day(asked.to)) {
        (None, None) => {
            let choice = Choice { opening: count(asked.from), closing: count(asked.to) };
            let (opening, closing) = comparing::choose(conn, choice)?;
            (placed(opening)?, placed(closing)?)
        }
        (Some(from), None) => {
            let to = match count(asked.to) {
                Some(id) => placed(closed(id)?)?,
                None => to_day(today),
            };
            (from_day(from), to)
        }
        (None, Some(to)) => {
            let from =
                count(asked.from).ok_or_else(|| refused(word!("from when on? say --from as well").to_owned()))?;
            (placed(closed(from)?)?, to_day(to))
        }
        (Some(from), Some(to)) => (from_day(from), to_day(to)),
    };
    if from.1 >= to.1 {
        return Err(refused(word!("it ends before it begins; say --from the earlier and --to the later").to_owned()));
    }
    Ok((from, to))
}

/// Items of which something was known before a moment: they were counted, came or were made.
fn known_before(
    conn: &Connection,
    setup: &Setup,
    opening: &Standing,
    at: Moment,
) -> Result<HashSet<ItemId>, DeskError> {
    let mut known: HashSet<ItemId> = opening.items.keys().copied().collect();
    known.extend(counts::latest(conn, at, None)?.iter().map(|line| line.item));
    let unknown = setup.items.iter().map(|item| item.id).filter(|item| !known.contains(item));
    let wanted: HashMap<ItemId, i64> = unknown.map(|item| (item, 1)).collect();
    let came = journal::bought_for(conn, at, &wanted)?;
    known.extend(came.into_iter().filter(|(_, bought)| !bought.is_empty()).map(|(item, _)| item));
    let made_here = wanted.keys().any(|item| setup.recipes.contains_key(item));
    if made_here {
        known.extend(journal::batches(conn, Moment(i64::MIN), at)?.iter().map(|batch| batch.item));
    }
    Ok(known)
}
