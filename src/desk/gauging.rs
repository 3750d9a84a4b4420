//! How containers are gauged: weighings, shapes, and how good each counter's eye is.

use super::signing::{own, typed};
use super::{DeskError, refused};
use crate::domain::gauge::{Eye, Gauges, LevelError, Outline, WeighedAs, Weighing};
use crate::domain::ledger::CountLine;
use crate::domain::rows::{EyeCheck, GaugingView};
use crate::domain::venue::{CountId, Deed, Item, ItemId, ItemShape, Moment, Profile, ProfileId, Seq, Setup, Shape};
use crate::store::{Connection, Store, StoreError, counts, setup, weighings};
use crate::words;
use std::sync::Arc;

/// The instruments of a book.
///
/// # Errors
/// [`DeskError`].
pub(super) fn gauges(conn: &Connection, setup: &Setup) -> Result<Gauges, DeskError> {
    Ok(Gauges::new(setup, &weighings::list(conn)?))
}

/// What is known of every item's containers and every counter's eye.
///
/// # Errors
/// [`DeskError`].
pub fn gauging(store: &Store, now: Moment) -> Result<GaugingView, DeskError> {
    store.read(|conn| {
        let setup = Arc::new(setup::load(conn)?);
        let weighings = weighings::list(conn)?;
        let gauges = Arc::new(Gauges::new(&setup, &weighings));
        // While a blind count is open, what stood in a container last time is nobody's hint.
        let blind = counts::open_count(conn)?.is_some_and(|count| count.blind);
        let latest = if blind { Vec::new() } else { counts::latest(conn, now, None)? };
        Ok(GaugingView::new(setup, gauges, weighings, &latest))
    })
}

/// What is known of a counter's eye.
///
/// # Errors
/// [`DeskError`].
pub fn eye_of(store: &Store, by: &str) -> Result<Eye, DeskError> {
    store.read(|conn| Ok(gauges(conn, &setup::load(conn)?)?.eye_of(Some(by))))
}

/// Keeps a weighing.
///
/// # Errors
/// [`DeskError`]: it cannot be one of this item, or it makes what was counted before impossible.
pub fn weigh(store: &Store, fact: &Weighing, now: Moment) -> Result<Seq, DeskError> {
    store.write((Deed::Weighed, now), |conn| {
        let setup = setup::load(conn)?;
        let item = known(&setup, fact.item)?;
        if let Some(by) = &fact.by
            && !setup.people.iter().any(|p| p.initials == *by)
        {
            return Err(refused(say!("nobody signs as {by}; `people.csv` names who does", by)));
        }
        let before = gauges(conn, &setup)?;
        before.vessel(item.id).map_or(Ok(None), |vessel| before.check_weighing(vessel, fact.state, fact.weight))?;
        let mark = fact.mark.as_deref().map(plain).transpose()?;
        let seq = weighings::add(conn, &Weighing { mark, ..fact.clone() }, now)?;
        if fact.state != WeighedAs::Opened {
            still_read(conn, &setup, item)?;
        }
        Ok(seq)
    })
}

/// Takes a weighing back; says whether it was in force, for another terminal may have done so.
///
/// # Errors
/// [`DeskError`]: what was counted rests on it.
pub fn take_back(store: &Store, seq: Seq, by: Option<&str>, now: Moment) -> Result<bool, DeskError> {
    store.write((Deed::WeighedBack, now), |conn| {
        let setup = setup::load(conn)?;
        let Some(fact) = weighings::list(conn)?.into_iter().find(|w| w.seq == seq) else { return Ok(false) };
        own(conn, fact.by.as_deref())?;
        weighings::reverse(conn, seq, by, now)?;
        still_read(conn, &setup, known(&setup, fact.item)?)?;
        Ok(true)
    })
}

pub(super) fn known(setup: &Setup, item: ItemId) -> Result<&Item, DeskError> {
    setup.item(item).ok_or_else(|| refused(word!("this item is not in the book any more").to_owned()))
}

/// The first count line of an item that can no longer be read, now that something about its containers has changed.
///
/// # Errors
/// [`StoreError`].
pub(super) fn unread(
    conn: &Connection,
    gauges: &Gauges,
    item: &Item,
) -> Result<Option<(CountLine, LevelError)>, StoreError> {
    let lines = counts::item_lines_since(conn, item.id, Moment(i64::MIN))?;
    Ok(lines.into_iter().find_map(|line| gauges.check_kept(item, &line.entry).err().map(|why| (line, why))))
}

/// The first weighing of an item that no longer agrees with all that is known of its containers.
pub(super) fn unweighed<'a>(
    gauges: &Gauges,
    weighings: &'a [Weighing],
    item: ItemId,
) -> Option<(&'a Weighing, LevelError)> {
    let vessel = gauges.vessel(item)?;
    let kept = |w: &Weighing| gauges.check_weighing_kept(vessel, w.state, w.weight);
    weighings.iter().filter(|w| w.item == item).find_map(|w| kept(w).err().map(|why| (w, why)))
}

/// The first weighing of an item, or else its first count line, that what is known of its containers now contradicts, in
/// words; `when` writes a moment.
///
/// # Errors
/// [`StoreError`].
pub(super) fn contradicted(
    conn: &Connection,
    gauges: &Gauges,
    weighings: &[Weighing],
    item: &Item,
    when: impl Fn(Moment) -> String,
) -> Result<Option<String>, StoreError> {
    if let Some((known, why)) = unweighed(gauges, weighings, item.id) {
        let (weight, state) = (known.weight, known.state);
        let when = when(known.at);
        return Ok(Some(say!(
            "{weight}, weighed {state} on {when}, would not agree any more: {why}",
            weight,
            state,
            when,
            why
        )));
    }
    let said = |(line, why): (CountLine, LevelError)| {
        say!(
            "what was counted on {when}, {entry}, could not be read any more: {why}",
            when = when(line.at),
            entry = line.entry,
            why
        )
    };
    Ok(unread(conn, gauges, item)?.map(said))
}

/// Refuses what would make a count line of an item unreadable, or contradict a weighing of it.
pub(super) fn still_read(conn: &Connection, setup: &Setup, item: &Item) -> Result<(), DeskError> {
    let weighings = weighings::list(conn)?;
    let gauges = Gauges::new(setup, &weighings);
    let said = contradicted(conn, &gauges, &weighings, item, |at| setup.venue.days.short(at))?;
    said.map_or(Ok(()), |said| Err(refused(said)))
}

/// A text that a plain file can hold.
fn plain(text: &str) -> Result<String, DeskError> {
    typed(&words::quoted(text.trim()), text)
}

/// Gives an item's containers the first of some shapes that what was counted allows; `None` is no shape.
///
/// # Errors
/// [`DeskError`]: heights that were counted rest on the shape it has, and none of these allows them.
pub fn set_shape(
    store: &Store,
    item: ItemId,
    shapes: &[Option<ItemShape>],
    now: Moment,
) -> Result<Option<ItemShape>, DeskError> {
    let mut refusal = refused(word!("there is no other shape").to_owned());
    for &shape in shapes {
        let tried = store.write((Deed::Shape, now), |conn| {
            setup::set_shape(conn, item, shape)?;
            let setup = setup::load(conn)?;
            let item = known(&setup, item)?;
            if let Some(ItemShape::Own(id)) = shape
                && let Some(profile) = setup.profile(id)
            {
                Outline::fits(profile, item.size).map_err(|why| refused(format!("“{}”: {why}", profile.name)))?;
            }
            still_read(conn, &setup, item)
        });
        match tried {
            Ok(()) => return Ok(shape),
            Err(DeskError::Refused(why)) => refusal = DeskError::Refused(why),
            Err(other) => return Err(other),
        }
    }
    Err(refusal)
}

/// Keeps a shape under its name and gives it to an item. One of that name is brought to what is said now, for every item
/// that has it.
///
/// # Errors
/// [`DeskError`]: it makes no container, its name is taken by a shape that every book knows, or heights that were counted
/// could not be read any more.
pub fn put_shape(store: &Store, profile: &Profile, item: ItemId, now: Moment) -> Result<ProfileId, DeskError> {
    if Shape::parse(&profile.name).is_ok() {
        return Err(refused(say!("{name} is a shape in every book; give it another name", name = profile.name.trim())));
    }
    store.write((Deed::Shape, now), |conn| {
        let id = setup::put_profile(conn, &plain(&profile.name)?, profile.measures.as_ref())?;
        setup::clear_fillings(conn, id)?;
        for filling in &profile.fillings {
            setup::put_filling(conn, id, *filling)?;
        }
        setup::set_shape(conn, item, Some(ItemShape::Own(id)))?;
        let setup = setup::load(conn)?;
        let kept = setup.profile(id).ok_or_else(|| refused(word!("the shape was not kept").to_owned()))?;
        for item in setup.items.iter().filter(|i| i.shape == Some(ItemShape::Own(id))) {
            Outline::fits(kept, item.size).map_err(|why| refused(format!("“{}”: {why}", kept.name)))?;
            still_read(conn, &setup, item)?;
        }
        Ok(id)
    })
}

/// Pairs after which an eye is known well enough to be asked about only now and then, and how often that is: every four
/// weeks.
const ENOUGH: usize = 20;
const NOW_AND_THEN: i64 = 28 * Moment::DAY;

/// How many containers a check of a counter's eye after a count would be of; nothing when there are too few, or when the
/// eye is known well and was checked not long ago.
///
/// # Errors
/// [`DeskError`].
pub fn eye_check_due(store: &Store, count: CountId, by: &str, now: Moment) -> Result<Option<usize>, DeskError> {
    let all = store.read(|conn| Ok::<_, DeskError>(weighings::list(conn)?))?;
    let pairs = || all.iter().filter(|w| w.state == WeighedAs::Opened && w.by.as_deref() == Some(by));
    let lately = pairs().any(|w| w.at.0 > now.0 - NOW_AND_THEN);
    if lately && pairs().count() >= ENOUGH {
        return Ok(None);
    }
    Ok(eye_check(store, count, by, now)?.map(|check| check.lines.len()))
}

/// A check of a counter's eye after a count; nothing when too few of what they read can be weighed.
///
/// # Errors
/// [`DeskError`].
pub fn eye_check(store: &Store, count: CountId, by: &str, now: Moment) -> Result<Option<EyeCheck>, DeskError> {
    store.read(|conn| {
        let setup = Arc::new(setup::load(conn)?);
        let gauges = Arc::new(gauges(conn, &setup)?);
        let lines = counts::lines(conn, count)?;
        let seed = (now.0 as u64) ^ (count.0 as u64).rotate_left(32);
        Ok(EyeCheck::pick(setup, gauges, count, by, &lines, seed))
    })
}
