//! Days that are not as usual: looked at, added, changed, taken away.

use super::drinks::changed_meanwhile;
use super::signing::typed;
use super::{DeskError, refused};
use crate::domain::venue::{DayEffect, Deed, Factor, FactorError, Moment, Setup, SpecialDay, SpecialDayId};
use crate::store::{Connection, Store, setup};
use chrono::NaiveDate;
use std::sync::Arc;

/// The set-up with its special days, and the business day that it is.
///
/// # Errors
/// [`DeskError`].
pub fn view(store: &Store, now: Moment) -> Result<(Arc<Setup>, NaiveDate), DeskError> {
    let setup = store.read(setup::load)?;
    let today = setup.venue.days.day_of(now);
    Ok((Arc::new(setup), today))
}

/// Adds a special day; its handle is not looked at.
///
/// # Errors
/// [`DeskError`]: there is one of that day, name and supplier already, or it makes no sense.
pub fn add(store: &Store, day: &SpecialDay, now: Moment) -> Result<SpecialDayId, DeskError> {
    store.write((Deed::Day, now), |conn| {
        let day = checked(conn, day, None)?;
        Ok(setup::put_special_day(conn, &day)?)
    })
}

/// Keeps a special day in place of what `seen` was, by the handle of `seen`.
///
/// # Errors
/// [`DeskError`]: as [`add`]; or it was changed or taken away elsewhere since it was seen.
pub fn change(store: &Store, seen: &SpecialDay, day: &SpecialDay, now: Moment) -> Result<(), DeskError> {
    store.write((Deed::Day, now), |conn| {
        still(conn, seen)?;
        let day = checked(conn, day, Some(seen.id))?;
        Ok(setup::set_special_day(conn, &SpecialDay { id: seen.id, ..day })?)
    })
}

/// Takes a special day away.
///
/// # Errors
/// [`DeskError`]: it was changed or taken away elsewhere since it was seen.
pub fn remove(store: &Store, seen: &SpecialDay, now: Moment) -> Result<(), DeskError> {
    store.write((Deed::Day, now), |conn| {
        still(conn, seen)?;
        Ok(setup::drop_special_day(conn, seen.id)?)
    })
}

/// Refuses to write over what nobody has seen.
fn still(conn: &Connection, seen: &SpecialDay) -> Result<(), DeskError> {
    match setup::load(conn)?.special.get(seen.id) {
        Some(there) if there == seen => Ok(()),
        Some(_) => Err(changed_meanwhile(&seen.what)),
        None => Err(refused(say!("{what} is not in the book any more", what = seen.what))),
    }
}

/// A special day in the form in which it is kept, if it may be kept beside all but the one that it takes the place of.
fn checked(conn: &Connection, day: &SpecialDay, instead: Option<SpecialDayId>) -> Result<SpecialDay, DeskError> {
    let setup = setup::load(conn)?;
    let what = typed(word!("the name"), &day.what)?;
    if what.is_empty() {
        return Err(refused(word!("say what the day is called").to_owned()));
    }
    let day = SpecialDay { what, ..day.clone() };
    if day.effect.supplier().is_some_and(|supplier| setup.supplier(supplier).is_none()) {
        return Err(refused(word!("this supplier is not in the book any more").to_owned()));
    }
    if let DayEffect::Demand(factor) = day.effect
        && !(Factor::CLOSED..=Factor::MOST).contains(&factor)
    {
        return Err(refused(FactorError.to_string()));
    }
    if let DayEffect::ExtraVan { by, .. } = day.effect {
        by.check(day.days).map_err(|why| refused(say!("ordering by {by}: {why}", by, why)))?;
    }
    let same = |other: &&SpecialDay| Some(other.id) != instead && other.is_same(&day);
    if let Some(other) = setup.special.all().iter().find(same) {
        let (first, what) = (other.days.from(), &other.what);
        return Err(refused(say!(
            "there is “{what}” on {first} already; change that, or give another name",
            what,
            first
        )));
    }
    Ok(day)
}
