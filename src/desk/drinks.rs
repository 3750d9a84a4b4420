//! Drinks: as they are, and kept anew from a day on.

use super::signing::typed;
use super::situation::situation;
use super::{DeskError, refused};
use crate::domain::drink::{Larder, amount_of};
use crate::domain::ledger::Sale;
use crate::domain::measure::Money;
use crate::domain::rows::{DrinkDraft, DrinksView};
use crate::domain::usage::{known_days, sold_drinks};
use crate::domain::venue::{DrinkId, Glass, Ingredient, ItemId, Menu, Moment, Setup, name_key};
use crate::store::{Connection, Store, sales, setup};
use chrono::NaiveDate;
use std::collections::HashSet;

/// Days of sales that say how a drink sells: four weeks.
const SOLD_DAYS: u64 = 28;

/// The drinks as they are today, and how they sold lately.
///
/// # Errors
/// [`DeskError`].
pub fn view(store: &Store, now: Moment) -> Result<DrinksView, DeskError> {
    view_over(store, now, SOLD_DAYS)
}

/// As [`view`], with the sales of so many days.
///
/// # Errors
/// [`DeskError`].
pub fn view_over(store: &Store, now: Moment, days: u64) -> Result<DrinksView, DeskError> {
    store.read(|conn| {
        let situation = situation(conn, now, None)?;
        let setup = situation.setup;
        let day = setup.venue.days.day_of(now);
        let mut sales = sales_of(conn, now, days)?;
        let sold_over = known_days(&setup, &sales, day, days);
        let within = |sale: &Sale| sold_over.as_ref().is_some_and(|d| d.contains(&setup.venue.days.day_of(sale.at)));
        sales.retain(within);
        let sold = sold_drinks(&setup, &sales);
        Ok(DrinksView { larder: Larder::with(&setup, situation.costs, day), sold, sold_over, setup })
    })
}

/// The newest sales that reach back so many days from the last of them.
pub(super) fn sales_of(conn: &Connection, now: Moment, days: u64) -> Result<Vec<Sale>, DeskError> {
    let Some(last) = sales::last(conn)? else { return Ok(Vec::new()) };
    let until = last.min(now);
    // One day more than asked, since business days do not begin at midnight.
    let back = i64::try_from(days + 1).unwrap_or(i64::MAX / Moment::DAY) * Moment::DAY;
    Ok(sales::between(conn, Moment(until.0 - back), until)?)
}

/// Keeps a drink, as a new version from its day on or in place of the one that begins on that day; what did not change
/// begins no new version. Sales before it are reckoned by the versions before.
///
/// # Errors
/// [`DeskError`], which says what is wrong with the draft.
pub fn keep(store: &Store, draft: &DrinkDraft) -> Result<DrinkId, DeskError> {
    store.write(|conn| {
        let setup = setup::load(conn)?;
        let name = typed("the name", &draft.name)?;
        if name.is_empty() {
            return Err(refused("give the drink a name".to_owned()));
        }
        let same = setup.drinks.iter().find(|d| name_key(&d.name) == name_key(&name));
        if let Some(other) = same.filter(|other| Some(other.id) != draft.drink) {
            return Err(refused(format!(
                "there is a drink called {} already: open it, or give another name",
                other.name
            )));
        }
        let spec = checked_parts(&setup, &draft.spec)?;
        if spec.is_empty() {
            return Err(refused("a drink takes something from stock: add an ingredient".to_owned()));
        }
        if draft.menu.price < Money::ZERO {
            return Err(refused("expected a price of zero or more".to_owned()));
        }
        let glass = draft.menu.glass.as_deref().map(|glass| typed("the glass", glass)).transpose()?;
        let menu = Menu { glass: glass.filter(|glass| !glass.is_empty()), ..draft.menu.clone() };
        if let Some(glass) = &draft.glass {
            setup::put_glass(conn, &Glass { name: typed("the glass", &glass.name)?, ..glass.clone() })?;
        }
        let id = match draft.drink {
            Some(id) => {
                setup::rename_drink(conn, id, &name)?;
                id
            }
            None => setup::put_drink(conn, &name)?,
        };
        let had = setup.drink(id);
        let on = draft.from.unwrap_or(NaiveDate::MIN);
        let begins = |from: &Option<NaiveDate>| *from == draft.from;
        // An unchanged half of a draft begins no version of its own.
        if had.and_then(|d| d.menu.at(on)).is_none_or(|(_, was)| *was != menu)
            || had.is_some_and(|d| d.menu.iter().any(|(from, _)| begins(from)))
        {
            setup::put_menu(conn, id, draft.from, &menu)?;
        }
        if had.and_then(|d| d.specs.at(on)).is_none_or(|(_, was)| *was != spec)
            || had.is_some_and(|d| d.specs.iter().any(|(from, _)| begins(from)))
        {
            setup::put_spec(conn, id, draft.from, &spec)?;
        }
        Ok(id)
    })
}

/// Takes away the versions of a drink that begin on a day, which must not have come yet: what was sold by a version
/// keeps it.
///
/// # Errors
/// [`DeskError`].
pub fn drop_version(store: &Store, drink: DrinkId, from: NaiveDate, now: Moment) -> Result<(), DeskError> {
    store.write(|conn| {
        let setup = setup::load(conn)?;
        if from <= setup.venue.days.day_of(now) {
            return Err(refused(format!("sales since {from} are reckoned by this version: begin a new one instead")));
        }
        setup::drop_versions(conn, drink, from)?;
        Ok(())
    })
}

/// Ingredients with their amounts worked out from what is written.
pub(super) fn checked_parts(setup: &Setup, parts: &[Ingredient]) -> Result<Vec<Ingredient>, DeskError> {
    let mut seen: HashSet<ItemId> = HashSet::new();
    let part = |part: &Ingredient| {
        let item =
            setup.item(part.item).ok_or_else(|| refused("an ingredient is not in the book any more".to_owned()))?;
        if !seen.insert(part.item) {
            return Err(refused(format!("{} is there twice: put both amounts into one line", item.name)));
        }
        let amount = amount_of(item, &part.written, &setup.venue.small);
        let amount = amount.map_err(|e| refused(format!("{}: {e}", item.name)))?;
        let note = part.note.as_deref().map(|note| typed("the note", note)).transpose()?;
        let written = part.written.trim().to_owned();
        Ok(Ingredient { amount, written, note: note.filter(|note| !note.is_empty()), ..part.clone() })
    };
    parts.iter().map(part).collect()
}
