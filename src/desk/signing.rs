//! Who signs what is entered, and what else a person types: in the form that every book can be dumped and loaded in.

use super::{DeskError, people, refused};
use crate::domain::venue::{Deed, Moment, Person, Role, name_key};
use crate::exchange::plain::checked;
use crate::store::people::{rights, signed as people_signed};
use crate::store::{Connection, Store, setup};

/// The initials as the book knows them. In a book that knows nobody yet, whoever signs first is taken in as a counter;
/// in one that does, only those it knows can sign.
///
/// # Errors
/// [`DeskError`]: the book knows others, or the text cannot stand in a file.
pub fn signer(store: &Store, initials: Option<&str>, now: Moment) -> Result<Option<String>, DeskError> {
    // Nobody signs as nobody, and a book that is only looked at is not written to.
    if initials.is_none_or(|initials| initials.trim().is_empty()) {
        return Ok(None);
    }
    let people = store.read(|conn| Ok::<_, DeskError>(setup::people(conn)?))?;
    let known = |typed: &&str| people.iter().find(|p| name_key(&p.initials) == name_key(typed));
    if let Some(person) = initials.as_ref().and_then(known) {
        return Ok(Some(person.initials.clone()));
    }
    store.write((Deed::Person, now), |conn| signed(conn, initials))
}

/// The same within a transaction, for whoever signs; nobody signs as nobody.
pub(super) fn signed(conn: &Connection, by: Option<&str>) -> Result<Option<String>, DeskError> {
    by.map(str::trim).filter(|by| !by.is_empty()).map(|by| known(conn, by)).transpose()
}

pub(super) fn known(conn: &Connection, initials: &str) -> Result<String, DeskError> {
    let initials = typed(word!("the initials"), initials)?;
    if let Some(person) = people::find(&setup::people(conn)?, &initials)? {
        return Ok(person.initials.clone());
    }
    setup::put_person(conn, &Person { initials: initials.clone(), name: None, role: Role::Counter })?;
    Ok(initials)
}

/// Refuses to take back what somebody else entered, for whoever is no manager.
///
/// # Errors
/// [`DeskError`].
pub(super) fn own(conn: &Connection, by: Option<&str>) -> Result<(), DeskError> {
    if rights(conn)?.sees_costs() || people_signed(conn)?.as_deref() == by {
        return Ok(());
    }
    Err(refused(word!("somebody else entered that: only a manager can take it back").to_owned()))
}

/// A text that somebody typed, in the form in which it is kept.
pub(super) fn typed(what: &str, text: &str) -> Result<String, DeskError> {
    checked(text).map_err(|why| refused(format!("{what}: {why}")))
}
