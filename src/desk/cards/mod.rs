//! The set-up on cards: one thing taken up, changed and kept. What is written goes through the reader of the plain files, so a
//! screen takes what a file takes, and refuses the rest in the same words.

mod lines;
mod reading;

use super::drinks::changed_meanwhile;
use super::load::bring;
use super::{DeskError, refused, unwatched};
use crate::domain::rows::{Card, CardFault, CardKept, CardOf};
use crate::domain::venue::{Deed, ItemId, Moment, PlaceId, Setup, SpecialDayId, SupplierId, name_key};
use crate::exchange::plain::Faults;
use crate::store::{Connection, Store, counts, setup};
use lines::Written;

/// The card of something in the book, or of something new.
///
/// # Errors
/// [`DeskError`]: it is not in the book any more.
pub fn open(store: &Store, of: CardOf, id: Option<i64>, now: Moment) -> Result<Card, DeskError> {
    store.read(|conn| {
        let setup = setup::load(conn)?;
        reading::card(&setup, of, id, now).ok_or_else(|| refused(word!("it is not in the book any more").to_owned()))
    })
}

/// What is wrong with a card; nothing is kept.
///
/// # Errors
/// [`DeskError`], where it cannot even be looked at.
pub fn look(store: &Store, card: &Card, now: Moment) -> Result<Vec<CardFault>, DeskError> {
    let looked = store.write((Deed::SetUp, now), |conn| match put(conn, card, now) {
        Ok(_) => Err(Looked::Faults(Vec::new())),
        Err(other) => Err(other),
    });
    match looked {
        Ok(()) => Ok(Vec::new()),
        Err(Looked::Faults(faults)) => Ok(faults),
        Err(Looked::Failed(error)) => Err(error),
    }
}

/// Keeps a card, or says what is wrong with it; then the book stays as it was.
///
/// # Errors
/// [`DeskError`]: it was changed elsewhere since it was taken up.
pub fn keep(store: &Store, card: &Card, now: Moment) -> Result<Result<CardKept, Vec<CardFault>>, DeskError> {
    match store.write((Deed::SetUp, now), |conn| put(conn, card, now)) {
        Ok(kept) => Ok(Ok(kept)),
        Err(Looked::Faults(faults)) => Ok(Err(faults)),
        Err(Looked::Failed(error)) => Err(error),
    }
}

/// Takes a place, a supplier or a special day away that nothing in the book names; gives what it was called.
///
/// # Errors
/// [`DeskError`]: something names it.
pub fn take_away(store: &Store, of: CardOf, id: i64, now: Moment) -> Result<String, DeskError> {
    store.write((Deed::SetUp, now), |conn| {
        let setup = setup::load(conn)?;
        let gone = || refused(word!("it is not in the book any more").to_owned());
        let (named, name) = match of {
            CardOf::Place => {
                let place = setup.place(PlaceId(id)).ok_or_else(gone)?;
                let spots = setup.shelves.iter().filter(|shelf| shelf.place == place.id).count();
                if spots > 0 {
                    let spots = crate::domain::measure::number_of(spots, word!("item stands"), word!("items stand"));
                    return Err(refused(say!(
                        "{spots} in {place}: give them another place first",
                        spots,
                        place = place.name
                    )));
                }
                (setup::Named::Place(place.id), place.name.clone())
            }
            CardOf::Supplier => {
                let supplier = setup.supplier(SupplierId(id)).ok_or_else(gone)?;
                (setup::Named::Supplier(supplier.id), supplier.name.clone())
            }
            CardOf::Day => {
                let day = setup.special.get(SpecialDayId(id)).ok_or_else(gone)?;
                setup::drop_special_day(conn, day.id)?;
                return Ok(day.what.clone());
            }
            CardOf::Bar | CardOf::Item => return Err(refused(word!("that cannot be taken away").to_owned())),
        };
        match setup::drop_named(conn, named)? {
            true => Ok(name),
            false => Err(refused(say!("{name} stays: counts, deliveries, orders or prices in the book name it", name))),
        }
    })
}

/// Why a card was not put into the book.
enum Looked {
    Faults(Vec<CardFault>),
    Failed(DeskError),
}

impl<E: Into<DeskError>> From<E> for Looked {
    fn from(error: E) -> Looked {
        Looked::Failed(error.into())
    }
}

/// One fault of all of it.
fn fault(field: Option<usize>, said: impl Into<String>) -> Looked {
    Looked::Faults(vec![CardFault { field, said: said.into() }])
}

fn put(conn: &Connection, card: &Card, now: Moment) -> Result<CardKept, Looked> {
    let had = setup::load(conn)?;
    if let Some(id) = card.id.or((card.of == CardOf::Bar).then_some(0)) {
        let there = reading::card(&had, card.of, (card.of != CardOf::Bar).then_some(id), now);
        let there = there.ok_or_else(|| refused(say!("{card} is not in the book any more", card = card.name)))?;
        if there.was != card.was {
            return Err(changed_meanwhile(&card.name).into());
        }
    }
    named(conn, &had, card)?;
    let written = Written::of(card, &setup::load(conn)?, now).map_err(Looked::Faults)?;
    written.take_away(conn)?;
    // What goes was there a moment ago, and must not be taken for what stays.
    let had = setup::load(conn)?;
    let before = had.special.all().len();
    match bring(conn, &written.folder(), Some(had), Faults::default(), now, &mut unwatched) {
        Ok(_) => {}
        Err(DeskError::Faults(faults)) => return Err(Looked::Faults(written.faults(card, &faults))),
        Err(other) => return Err(other.into()),
    }
    let left = setup::load(conn)?;
    if card.of == CardOf::Day && left.special.all().len() == before {
        let at = card.at(crate::domain::rows::CardLine::Day, "day");
        return Err(fault(
            at,
            word!("there is a day of that name and date already: change that, or give another name"),
        ));
    }
    let name = card.named().to_owned();
    let behind = left_behind(conn, &written, &left, now)?;
    let mut said = written.said;
    said.extend(behind);
    said.extend(run_out(card, &left));
    Ok(CardKept { id: handle(&left, card.of, &name), name, said })
}

/// Gives what the card is of its name, where that is another now; refuses one that something else has.
fn named(conn: &Connection, had: &Setup, card: &Card) -> Result<(), Looked> {
    let (name, before) = (card.named(), card.id);
    let other = handle(had, card.of, name).filter(|other| Some(*other) != before);
    if other.is_some() {
        let at = card.fields.iter().position(|field| matches!(field.ask.column, "item" | "place" | "supplier"));
        let what = match card.of {
            CardOf::Place => word!("a place"),
            CardOf::Supplier => word!("a supplier"),
            _ => word!("an item"),
        };
        return Err(fault(
            at,
            say!("there is {what} of this name already: give another name, or change that one", what),
        ));
    }
    let Some(id) = before.filter(|_| !name.is_empty() && name_key(name) != name_key(&card.name)) else { return Ok(()) };
    let named = match card.of {
        CardOf::Item => setup::Named::Item(ItemId(id)),
        CardOf::Place => setup::Named::Place(PlaceId(id)),
        CardOf::Supplier => setup::Named::Supplier(SupplierId(id)),
        CardOf::Bar | CardOf::Day => return Ok(()),
    };
    Ok(setup::rename(conn, named, name)?)
}

/// The handle of what has a name.
fn handle(setup: &Setup, of: CardOf, name: &str) -> Option<i64> {
    let key = name_key(name);
    let same = |other: &str| name_key(other) == key;
    match of {
        CardOf::Item => setup.item_by_name(name).map(|item| item.id.0),
        CardOf::Place => setup.places.iter().find(|place| same(&place.name)).map(|place| place.id.0),
        CardOf::Supplier => setup.suppliers.iter().find(|supplier| same(&supplier.name)).map(|s| s.id.0),
        CardOf::Bar | CardOf::Day => None,
    }
}

/// Where something of an item was counted last that does not stand there any more: it is reckoned with until that place is
/// counted without it.
fn left_behind(conn: &Connection, written: &Written, left: &Setup, now: Moment) -> Result<Option<String>, DeskError> {
    if written.spots().is_empty() {
        return Ok(None);
    }
    let there = counts::latest(conn, now, None)?;
    let some = |(place, item): &&(PlaceId, ItemId)| {
        let line = there.iter().find(|line| (line.place, line.item) == (*place, *item));
        line.is_some_and(|line| line.entry.full > 0 || !line.entry.open.is_empty())
    };
    let places: Vec<&str> = written.spots().iter().filter(some).map(|(place, _)| left.place_name(*place)).collect();
    match places.as_slice() {
        [] => Ok(None),
        [one] => Ok(Some(say!("what was counted in {one} is taken to be there until {one} is counted again", one))),
        many => Ok(Some(say!(
            "what was counted in {many} is taken to be there until they are counted again",
            many = many.join(", ")
        ))),
    }
}

/// Which drinks still take what is run out from now on.
fn run_out(card: &Card, left: &Setup) -> Option<String> {
    let stocked = card.at(crate::domain::rows::CardLine::Stock, "stocked")?;
    if card.fields[stocked].text == card.was[stocked] || card.fields[stocked].text != "no" {
        return None;
    }
    let item = ItemId(handle(left, CardOf::Item, card.named())?);
    let takes = |drink: &&crate::domain::venue::Drink| {
        let newest = drink.specs.iter().last();
        newest.is_some_and(|(_, parts)| parts.iter().any(|part| part.item == item))
    };
    let drinks: Vec<&str> = left.drinks.iter().filter(takes).map(|drink| drink.name.as_str()).collect();
    match drinks.as_slice() {
        [] => None,
        some => Some(say!("still in {some}", some = some.join(", "))),
    }
}
