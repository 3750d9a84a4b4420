//! Who is at the screen: signing in, PINs, and what each person may do.

use super::{DeskError, refused};
use crate::domain::rows::PersonRow;
use crate::domain::venue::{Deed, Moment, Person, Rights, Role, name_key, parse_pin};
use crate::exchange::plain::checked;
use crate::store::people::{self, Who};
use crate::store::{Connection, Store, history, setup};
use std::path::Path;

/// The longest initials that somebody is taken in with.
const LONGEST_INITIALS: usize = 12;
/// Wrong PINs of one person that are let through at once; what is told of them is forgotten after this long.
const FREE: usize = 3;
const REMEMBERED: i64 = 15 * 60_000;
/// How long the next try has to wait at least, and at most.
const FIRST_WAIT: i64 = 5_000;
const LONGEST_WAIT: i64 = 5 * 60_000;

/// What came of signing in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SignedIn {
    /// The person is at this terminal now.
    In,
    /// That person's PIN is wanted.
    WantsPin,
}

/// Signs somebody in at this terminal. In a book that knows nobody yet, anybody can be; whoever signs first is taken in.
///
/// # Errors
/// [`DeskError`]: the book knows others, the PIN is wrong, or too many wrong ones were typed.
pub fn sign_in(store: &Store, initials: &str, pin: Option<&str>, now: Moment) -> Result<SignedIn, DeskError> {
    if store.known_then().is_some() {
        let said = word!("this is the book as it was known: whoever opens it signs in before, with --by");
        return Err(refused(said.to_owned()));
    }
    let (initials, hash) = store.read(|conn| {
        let initials = signs_as(conn, initials)?;
        let hash = people::pin(conn, &initials)?;
        Ok::<_, DeskError>((initials, hash))
    })?;
    let Some(hash) = hash else {
        store.sign_in(Some(&Who { initials, proven: false }))?;
        return Ok(SignedIn::In);
    };
    let Some(pin) = pin else { return Ok(SignedIn::WantsPin) };
    store.read(|conn| patience(conn, &initials, now))?;
    if people::is_right(pin.trim(), &hash) {
        store.sign_in(Some(&Who { initials, proven: true }))?;
        return Ok(SignedIn::In);
    }
    let before = store.who()?;
    store.sign_in(Some(&Who { initials: initials.clone(), proven: false }))?;
    let kept = store.write((Deed::PinMissed, now), |_| Ok::<_, DeskError>(()));
    store.sign_in(before.as_ref())?;
    match kept {
        Ok(()) | Err(DeskError::Store(_)) => Err(refused(say!("that is not the PIN of {initials}", initials))),
        Err(other) => Err(other),
    }
}

/// The only one who signs in this book, where nobody needs to ask who it is: they are alone, and have no PIN to give.
///
/// # Errors
/// [`DeskError`].
pub fn alone(store: &Store) -> Result<Option<String>, DeskError> {
    Ok(match list(store)?.as_slice() {
        [only] if !only.has_pin => Some(only.person.initials.clone()),
        _ => None,
    })
}

/// Nobody is at this terminal any more.
///
/// # Errors
/// [`DeskError`].
pub fn sign_out(store: &Store) -> Result<(), DeskError> {
    Ok(store.sign_in(None)?)
}

/// The initials as the book has them, or as typed where it knows nobody yet.
fn signs_as(conn: &Connection, initials: &str) -> Result<String, DeskError> {
    let known = find(&setup::people(conn)?, initials)?.map(|person| person.initials.clone());
    Ok(known.unwrap_or_else(|| initials.trim().to_owned()))
}

/// The one with those initials; nobody where the book knows nobody yet.
pub(super) fn find<'a>(all: &'a [Person], initials: &str) -> Result<Option<&'a Person>, DeskError> {
    let initials = initials.trim();
    if let Some(person) = all.iter().find(|p| name_key(&p.initials) == name_key(initials)) {
        return Ok(Some(person));
    }
    if all.is_empty() {
        checked(initials).map_err(|why| refused(say!("the initials: {why}", why)))?;
        return Ok(None);
    }
    let names: Vec<&str> = all.iter().map(|p| p.initials.as_str()).collect();
    Err(refused(say!(
        "nobody here signs as {initials}; one of {names}, or a manager adds them in the Book (B, then p) or with `tantalus people add`",
        initials,
        names = names.join(", ")
    )))
}

/// Refuses another try while too many wrong PINs were typed not long ago: each costs twice the wait of the one before.
fn patience(conn: &Connection, initials: &str, now: Moment) -> Result<(), DeskError> {
    let missed = history::lately(conn, Deed::PinMissed, initials, Moment(now.0 - REMEMBERED))?;
    let Some(last) = missed.first().filter(|_| missed.len() >= FREE) else { return Ok(()) };
    let doubled = u32::try_from(missed.len() - FREE).unwrap_or(u32::MAX).min(16);
    let wait = (FIRST_WAIT << doubled).min(LONGEST_WAIT) - (now.0 - last.0);
    if wait <= 0 {
        return Ok(());
    }
    let seconds = wait / 1_000 + 1;
    Err(refused(say!(
        "too many wrong PINs of {initials} were typed: wait {seconds} seconds before the next",
        initials,
        seconds
    )))
}

/// What whoever is at this terminal may see and do.
///
/// # Errors
/// [`DeskError`].
pub fn rights(store: &Store) -> Result<Rights, DeskError> {
    Ok(store.rights()?)
}

/// Whether somebody may put a copy in the place of a book: a manager, where it knows one. One that cannot be read has nobody to
/// ask, and one of an older version knew no PIN.
pub fn may_replace(book: &Path, by: Option<&str>, pin: Option<&str>) -> bool {
    people::rights_in(book, by, pin).map_or(true, Rights::sees_costs)
}

/// Everybody whom the book knows.
///
/// # Errors
/// [`DeskError`].
pub fn list(store: &Store) -> Result<Vec<PersonRow>, DeskError> {
    store.read(|conn| {
        let pins = people::with_pin(conn)?;
        let row = |person: Person| PersonRow { has_pin: pins.contains(&person.initials), person };
        Ok(setup::people(conn)?.into_iter().map(row).collect())
    })
}

/// Takes somebody in, or changes what is known of them; a name that is not said stays.
///
/// # Errors
/// [`DeskError`]: the initials or the name cannot be kept, or the last manager would be none any more though others are bound
/// by what a manager may do.
pub fn put(store: &Store, person: &Person, now: Moment) -> Result<(), DeskError> {
    let initials = initials_of(&person.initials)?;
    if initials.is_empty() {
        return Err(refused(word!("give the initials that they sign with").to_owned()));
    }
    let name = person.name.as_deref().map(checked).transpose().map_err(|why| refused(say!("the name: {why}", why)))?;
    store.write((Deed::Person, now), |conn| {
        let all = setup::people(conn)?;
        let had = all.iter().find(|p| name_key(&p.initials) == name_key(&initials));
        let initials = had.map_or(initials, |had| had.initials.clone());
        let others = all.iter().any(|p| p.role == Role::Manager && p.initials != initials);
        if had.is_some_and(|had| had.role == Role::Manager) && person.role == Role::Counter && !others {
            return Err(refused(say!("{initials} is the only manager: make somebody else one first", initials)));
        }
        let name = name.filter(|name| !name.is_empty()).or_else(|| had.and_then(|had| had.name.clone()));
        Ok(setup::put_person(conn, &Person { initials, name, role: person.role })?)
    })
}

/// Sets somebody's PIN; none takes it away.
///
/// # Errors
/// [`DeskError`]: nobody has those initials, or it is no PIN.
pub fn set_pin(store: &Store, initials: &str, pin: Option<&str>, now: Moment) -> Result<String, DeskError> {
    let hash = pin.map(parse_pin).transpose().map_err(refused)?.map(people::hash).transpose()?;
    let person = store.write((Deed::Pin, now), |conn| {
        let person = known(conn, initials)?;
        people::set_pin(conn, &person, hash.as_deref())?;
        Ok::<_, DeskError>(person)
    })?;
    // Whoever sets their own has just shown that they know it.
    if let Some(who) = store.who()?.filter(|who| who.initials == person) {
        store.sign_in(Some(&Who { proven: hash.is_some(), ..who }))?;
    }
    Ok(person)
}

/// Takes a PIN away that was forgotten, whoever asks: who can run commands on this machine could copy the file as well. The
/// history tells of it.
///
/// # Errors
/// [`DeskError`]: nobody has those initials, or they have no PIN.
pub fn forget_pin(store: &Store, initials: &str, now: Moment) -> Result<String, DeskError> {
    store.write((Deed::PinForgotten, now), |conn| {
        let person = known(conn, initials)?;
        if people::pin(conn, &person)?.is_none() {
            return Err(refused(say!("{person} has no PIN", person)));
        }
        people::set_pin(conn, &person, None)?;
        Ok(person)
    })
}

fn known(conn: &Connection, initials: &str) -> Result<String, DeskError> {
    let all = setup::people(conn)?;
    let person = find(&all, initials)?.map(|person| person.initials.clone());
    person
        .ok_or_else(|| refused(word!("the book knows nobody yet: `tantalus people add` takes somebody in").to_owned()))
}

/// Initials that can be kept, and stand in the head of a screen.
fn initials_of(typed: &str) -> Result<String, DeskError> {
    let initials = checked(typed).map_err(|why| refused(say!("the initials: {why}", why)))?;
    match initials.chars().count() <= LONGEST_INITIALS {
        true => Ok(initials),
        false => Err(refused(say!("the initials: expected {LONGEST_INITIALS} characters at most", LONGEST_INITIALS))),
    }
}
