//! What the stock was worth over time.

use super::DeskError;
use super::situation::situation;
use crate::domain::measure::{Amount, Money};
use crate::domain::rows::WorthAt;
use crate::domain::venue::{Kind, Moment, Setup};
use crate::store::{Connection, Store, counts, setup};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// Counts that are looked at: half a year of weeks.
pub const COUNTS: usize = 26;

/// What stock was worth at the last counts, the earliest first; of several on one business day, at the last of them. On hand
/// is reckoned as it was then, costs as they were then.
///
/// # Errors
/// [`DeskError`].
pub fn over_time(store: &Store, now: Moment) -> Result<(Arc<Setup>, Vec<WorthAt>), DeskError> {
    store.read(|conn| {
        let setup = Arc::new(setup::load(conn)?);
        let mut ends: BTreeMap<_, Moment> = BTreeMap::new();
        let (mut days, mut newest) = (BTreeSet::new(), Vec::new());
        counts::last_closed_before(conn, Moment(now.0 + 1), |walked| {
            days.insert(setup.venue.days.day_of(walked.count.opened));
            newest.push(walked.count.clone());
            days.len() > COUNTS
        })?;
        for count in newest {
            let last = counts::lines(conn, count.id)?.iter().map(|line| line.at).max();
            let Some(last) = last.filter(|last| *last <= now) else { continue };
            let day = setup.venue.days.day_of(count.opened);
            let end = ends.entry(day).or_insert(last);
            *end = (*end).max(last);
        }
        let over: Result<Vec<WorthAt>, DeskError> =
            ends.into_iter().rev().take(COUNTS).rev().map(|(day, at)| worth_at(conn, day, at)).collect();
        Ok((setup, over?))
    })
}

fn worth_at(conn: &Connection, day: chrono::NaiveDate, at: Moment) -> Result<WorthAt, DeskError> {
    let then = situation(conn, at, None)?;
    let mut kinds: Vec<(Kind, Money)> = Vec::new();
    let mut without_cost = 0;
    for (item, there) in &then.standing.items {
        let Some(kind) = then.setup.item(*item).map(|item| item.kind) else { continue };
        let worth = then.costs.value(*item, there.level.amount).map(|value| value.round(then.setup.venue.currency));
        match worth {
            None if there.level.amount == Amount::ZERO => {}
            None => without_cost += 1,
            Some(worth) => match kinds.iter_mut().find(|(of, _)| *of == kind) {
                Some((_, sum)) => *sum += worth,
                None => kinds.push((kind, worth)),
            },
        }
    }
    kinds.retain(|(_, worth)| *worth != Money::ZERO);
    kinds.sort_by_key(|(kind, _)| Kind::ALL.iter().position(|of| of == kind));
    Ok(WorthAt { day, at, total: kinds.iter().map(|(_, worth)| *worth).sum(), kinds, without_cost })
}
