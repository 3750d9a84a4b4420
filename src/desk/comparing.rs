//! Choosing the counts that are compared.

use super::{DeskError, refused};
use crate::domain::ledger::Count;
use crate::domain::venue::{CountId, Setup};
use crate::store::{Connection, Store, counts, setup};
use std::collections::BTreeSet;

/// Which counts to compare.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Choice {
    /// The opening count; the one that suits the closing when not given.
    pub opening: Option<CountId>,
    /// The closing count; the newest that covers the bar when not given.
    pub closing: Option<CountId>,
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
    let closing = closing.ok_or_else(|| {
        refused(
            word!("there is no closed count to compare: C counts, and two closed counts make a variance").to_owned(),
        )
    })?;
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
    let opening = opening.ok_or_else(|| {
        refused(say!(
            "there is no closed count before “{closing}”; a variance needs two: the next one makes it",
            closing = closing.name
        ))
    })?;
    if opening.opened >= closing.opened {
        return Err(refused(say!(
            "“{opening}” was not counted before “{closing}”",
            opening = opening.name,
            closing = closing.name
        )));
    }
    Ok((opening.clone(), closing.clone(), all))
}

/// A review looks back over so many periods: a quarter of a year of weeks.
pub const BACK: usize = 13;

/// The counts of a period and of those around it, in the order of time, each beginning with the count that the one before
/// ends with: as far back as a review looks, of the same places as the opening, and the next one of the same places as the
/// closing. Also which of them is the closing.
pub(super) fn chain(
    conn: &Connection,
    all: &[Count],
    opening: &Count,
    closing: &Count,
) -> Result<(Vec<Count>, usize), DeskError> {
    let sets = counts::place_sets(conn)?;
    let none = BTreeSet::new();
    let places = |count: &Count| sets.get(&count.id).unwrap_or(&none);
    // One place more or less does not end the chain; a count of the rail alone is another sort of count.
    let same = |a: &Count, b: &Count| {
        let both = places(a).intersection(places(b)).count();
        3 * both >= 2 * places(a).union(places(b)).count()
    };
    // The newest is first in the list.
    let before = all.iter().filter(|c| c.opened < opening.opened && same(c, opening)).take(BACK - 1);
    let mut counts: Vec<Count> = before.cloned().collect();
    counts.reverse();
    counts.extend([opening.clone(), closing.clone()]);
    let at = counts.len() - 1;
    counts.extend(all.iter().rfind(|c| c.opened > closing.opened && same(c, closing)).cloned());
    Ok((counts, at))
}

/// A closed count by name.
///
/// # Errors
/// [`DeskError`]: there is none of that name, or it is not closed.
pub fn count_named(store: &Store, name: &str) -> Result<Count, DeskError> {
    let found = store.read(|conn| Ok::<_, DeskError>(counts::find(conn, name)?))?;
    match found {
        Some(count) if count.closed.is_some() => Ok(count),
        Some(count) => Err(refused(say!("the count “{name}” is not closed yet", name = count.name))),
        None => Err(refused(say!("there is no count called “{name}”; `tantalus count` lists them", name))),
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
