//! Choosing the counts that are compared.

use super::{DeskError, refused};
use crate::domain::ledger::Count;
use crate::domain::venue::{CountId, Moment, PlaceId, Setup};
use crate::store::counts::Walked;
use crate::store::{Connection, Store, counts, setup};
use std::collections::{BTreeSet, VecDeque};

/// Which counts to compare.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Choice {
    /// The opening count; the one that suits the closing when not given.
    pub opening: Option<CountId>,
    /// The closing count; the newest that covers the bar when not given.
    pub closing: Option<CountId>,
}

/// After every count.
pub(super) const EVER: Moment = Moment(i64::MAX);

/// The last closed count that covers the bar: of as many places as the widest of the last sixty. Nightly counts of a rail
/// stand between such and compare with each other, not with the week.
fn last_wide(conn: &Connection) -> Result<Option<Count>, DeskError> {
    let (mut seen, mut widest): (usize, Option<Walked>) = (0, None);
    counts::last_closed_before(conn, EVER, |walked| {
        if widest.as_ref().is_none_or(|widest| walked.places.len() > widest.places.len()) {
            widest = Some(walked.clone());
        }
        seen += 1;
        seen == 60
    })?;
    Ok(widest.map(|widest| widest.count))
}

/// The count that best opens the period which another one closes: the last one of the same places, else of these among
/// others, else whatever there is.
fn suiting(conn: &Connection, closing: &Count) -> Result<Option<Count>, DeskError> {
    let places = places_of(conn, closing)?;
    let (mut more, mut any): (Option<Count>, Option<Count>) = (None, None);
    let same = counts::last_closed_before(conn, closing.opened, |walked| {
        if more.is_none() && walked.places.is_superset(&places) {
            more = Some(walked.count.clone());
        }
        any.get_or_insert_with(|| walked.count.clone());
        walked.places == places
    })?;
    Ok(same.map(|same| same.count).or(more).or(any))
}

/// Picks the counts to compare: opening and closing.
///
/// # Errors
/// [`DeskError`]: there are not two counts, or the closing is not after the opening.
pub(super) fn choose(conn: &Connection, choice: Choice) -> Result<(Count, Count), DeskError> {
    let by_id = |id: CountId| Ok::<_, DeskError>(counts::get(conn, id)?.filter(|count| count.closed.is_some()));
    let closing = match choice.closing {
        Some(id) => by_id(id)?,
        None => last_wide(conn)?,
    };
    let closing = closing.ok_or_else(|| {
        refused(
            word!("there is no closed count to compare: C counts, and two closed counts make a variance").to_owned(),
        )
    })?;
    let opening = match choice.opening {
        Some(id) => by_id(id)?,
        None => suiting(conn, &closing)?,
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
    Ok((opening, closing))
}

/// A review looks back over so many periods: a quarter of a year of weeks.
pub const BACK: usize = 13;

/// The counts of a period and of those around it, in the order of time, each beginning with the count that the one before
/// ends with: as far back as a review looks, of the same places as the opening, and the next one of the same places as the
/// closing. Also which of them is the closing.
pub(super) fn chain(conn: &Connection, opening: &Count, closing: &Count) -> Result<(Vec<Count>, usize), DeskError> {
    let mut out = back_from(conn, opening, BACK - 1)?;
    out.extend([opening.clone(), closing.clone()]);
    let at = out.len() - 1;
    let wanted = places_of(conn, closing)?;
    let next = counts::first_closed_after(conn, closing.opened, |walked| alike(&walked.places, &wanted))?;
    out.extend(next.map(|next| next.count));
    Ok((out, at))
}

fn places_of(conn: &Connection, count: &Count) -> Result<BTreeSet<PlaceId>, DeskError> {
    Ok(counts::places(conn, count.id)?.into_iter().collect())
}

/// Whether two counts are of one sort: one place more or less does not end a chain; a count of the rail alone is another.
fn alike(a: &BTreeSet<PlaceId>, b: &BTreeSet<PlaceId>) -> bool {
    let both = a.intersection(b).count();
    3 * both >= 2 * a.union(b).count()
}

/// The last closed counts of the same sort before another one, at most so many, the oldest first.
pub(super) fn back_from(conn: &Connection, count: &Count, most: usize) -> Result<Vec<Count>, DeskError> {
    let (mut out, wanted) = (VecDeque::new(), places_of(conn, count)?);
    if most > 0 {
        counts::last_closed_before(conn, count.opened, |walked| {
            if alike(&walked.places, &wanted) {
                out.push_front(walked.count.clone());
            }
            out.len() == most
        })?;
    }
    Ok(out.into())
}

/// The closed counts that were opened within two moments, the oldest first.
pub(super) fn closed_within(conn: &Connection, after: Moment, before: Moment) -> Result<Vec<Count>, DeskError> {
    let mut out = Vec::new();
    counts::first_closed_after(conn, after, |walked| {
        let within = walked.count.opened < before;
        out.extend(Some(walked.count.clone()).filter(|_| within));
        !within
    })?;
    Ok(out)
}

/// The closed count after another one that the last word of its name tells to be of the same extent (`… full`, `… rail`).
pub(super) fn next_alike(conn: &Connection, closing: &Count) -> Result<Option<Count>, DeskError> {
    let extent = |count: &Count| count.name.split_whitespace().next_back().map(str::to_lowercase);
    let wanted = extent(closing);
    let next = counts::first_closed_after(conn, closing.opened, |walked| extent(&walked.count) == wanted)?;
    Ok(next.map(|next| next.count))
}

/// Every closed count, the newest first.
///
/// # Errors
/// [`DeskError`].
pub fn closed_counts(store: &Store) -> Result<Vec<Count>, DeskError> {
    store.read(|conn| Ok(counts::list(conn)?.into_iter().filter(|count| count.closed.is_some()).collect()))
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

#[cfg(test)]
mod tests {
    use super::*;

    /// Two full counts, with counts of the rail before, between and after them.
    #[test]
    fn each_sort_of_count_is_compared_with_its_own() {
        let folder = tempfile::tempdir().expect("a folder");
        let store = Store::create(&folder.path().join("a.tantalus")).expect("a book");
        let names = ["Sun rail", "Mon full", "Tue rail", "Wed rail", "Thu full", "Fri rail"];
        let (all, rail) = ([PlaceId(1), PlaceId(2)], [PlaceId(1)]);
        let put = |conn: &Connection| {
            for place in all {
                let sql = "INSERT INTO place (id, name, name_key, walk) VALUES (?1, ?1, ?1, ?1)";
                conn.execute(sql, [place]).expect("a place");
            }
            for (at, name) in (1..).zip(names) {
                let places: &[PlaceId] = if name.ends_with("full") { &all } else { &rail };
                let id = counts::begin(conn, name, Moment(10 * at), false, None, places)?;
                counts::close(conn, id, Moment(10 * at + 5))?;
            }
            Ok::<_, DeskError>(())
        };
        store.write((crate::domain::venue::Deed::Loaded, Moment(0)), put).expect("counts");
        let said = |count: Option<Count>| count.map_or(String::new(), |count| count.name);
        store
            .read(|conn| {
                let (opening, closing) = choose(conn, Choice::default())?;
                assert_eq!([opening.name.as_str(), &closing.name], ["Mon full", "Thu full"]);
                assert_eq!(said(next_alike(conn, &opening)?), "Thu full", "counts of the rail are stepped over");
                assert_eq!(said(next_alike(conn, &closing)?), "");
                let within = closed_within(conn, opening.opened, closing.opened)?;
                assert_eq!(within.into_iter().map(|count| count.name).collect::<Vec<_>>(), ["Tue rail", "Wed rail"]);
                let friday = counts::find(conn, "Fri rail")?.expect("a count");
                let (opening, closing) = choose(conn, Choice { opening: None, closing: Some(friday.id) })?;
                assert_eq!([opening.name.as_str(), &closing.name], ["Wed rail", "Fri rail"]);
                let chained = chain(conn, &opening, &closing)?;
                let chained: Vec<String> = chained.0.into_iter().map(|count| count.name).collect();
                assert_eq!(chained, ["Sun rail", "Tue rail", "Wed rail", "Fri rail"]);
                // Where nothing of the same places was closed before, whatever saw them is taken.
                let monday = counts::find(conn, "Mon full")?.expect("a count");
                let (opening, _) = choose(conn, Choice { opening: None, closing: Some(monday.id) })?;
                assert_eq!(opening.name, "Sun rail");
                Ok::<_, DeskError>(())
            })
            .expect("the book is read");
    }
}
