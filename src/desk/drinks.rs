//! Drinks: as they are, and kept anew from a day on.

use super::signing::typed;
use super::situation::situation;
use super::{DeskError, refused};
use crate::domain::drink::{Costs, Larder, amount_of};
use crate::domain::ledger::Sale;
use crate::domain::measure::Money;
use crate::domain::rows::{DrinkDraft, DrinksView};
use crate::domain::usage::{known_days, sold_drinks};
use crate::domain::venue::{
    DayRule, Deed, Drink, DrinkId, Glass, Ingredient, ItemId, Menu, Moment, Setup, TillMeaning, TillName, Versions,
    name_key,
};
use crate::store::{Connection, Store, StoreError, sales, setup};
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
        let day_of = |sale: Option<&Sale>| sale.map(|sale| setup.venue.days.day_of(sale.at));
        // In the order of time.
        let ends = day_of(sales.first()).zip(day_of(sales.last()));
        let sold_over = ends.and_then(|ends| known_days(ends, day, days));
        let within = |sale: &Sale| sold_over.as_ref().is_some_and(|d| d.contains(&setup.venue.days.day_of(sale.at)));
        sales.retain(within);
        let sold = sold_drinks(&setup, &sales);
        let rights = setup.venue.rights;
        let on_hand = situation.standing.items.iter().filter(|_| rights.sees_stock());
        let on_hand = on_hand.map(|(item, there)| (*item, there.level.amount)).collect();
        // What is not to be seen is not there at all: nothing of it can be shown, written or reckoned back.
        let costs = if rights.sees_costs() { situation.costs } else { Costs::default() };
        Ok(DrinksView { larder: Larder::with(&setup, costs, day), on_hand, sold, sold_over, setup })
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
pub fn keep(store: &Store, draft: &DrinkDraft, now: Moment) -> Result<DrinkId, DeskError> {
    store.write((Deed::Drink, now), |conn| {
        let setup = setup::load(conn)?;
        let name = typed(word!("the name"), &draft.name)?;
        if name.is_empty() {
            return Err(refused(word!("give the drink a name").to_owned()));
        }
        let same = setup.drinks.iter().find(|d| name_key(&d.name) == name_key(&name));
        if let Some(other) = same.filter(|other| Some(other.id) != draft.drink) {
            return Err(refused(say!(
                "there is a drink called {other} already: open it, or give another name",
                other = other.name
            )));
        }
        let had = draft.drink.and_then(|id| setup.drink(id));
        if draft.seen.is_some() && had != draft.seen.as_ref() {
            return Err(changed_meanwhile(&name));
        }
        let spec = checked_parts(&setup, &draft.spec)?;
        if spec.is_empty() {
            return Err(refused(word!("a drink takes something from stock: add an ingredient").to_owned()));
        }
        if let Some(part) = spec.iter().find(|part| part.amount > Ingredient::MOST) {
            return Err(refused(say!(
                "{part}: {written} in one serve?",
                part = setup.item_name(part.item),
                written = part.written
            )));
        }
        if let Some(part) = spec.iter().find(|part| part.waste > Ingredient::MOST_WASTE * 100) {
            let (name, most) = (setup.item_name(part.item), Ingredient::MOST_WASTE);
            return Err(refused(say!("{name}: expected waste from 0 to {most} percent", name, most)));
        }
        if draft.menu.price < Money::ZERO {
            return Err(refused(word!("expected a price of zero or more").to_owned()));
        }
        let glass = draft.menu.glass.as_deref().map(|glass| typed(word!("the glass"), glass)).transpose()?;
        let menu = Menu { glass: glass.filter(|glass| !glass.is_empty()), ..draft.menu.clone() };
        if let Some(glass) = &draft.glass {
            setup::put_glass(conn, &Glass { name: typed(word!("the glass"), &glass.name)?, ..glass.clone() })?;
        }
        let id = match draft.drink {
            Some(id) => {
                setup::rename_drink(conn, id, &name)?;
                id
            }
            None => setup::put_drink(conn, &name)?,
        };
        if begins_anew(had.map(|d| &d.menu), draft.from, &menu) {
            setup::put_menu(conn, id, draft.from, &menu)?;
        }
        if begins_anew(had.map(|d| &d.specs), draft.from, &spec) {
            setup::put_spec(conn, id, draft.from, &spec)?;
        }
        sound(conn)?;
        Ok(id)
    })
}

/// Whether what is to be so from a day on must be written: it differs from what is so on that day, or a version begins
/// on that very day and is written anew. A day before the first version has nothing that is so.
fn begins_anew<T: PartialEq>(had: Option<&Versions<T>>, from: Option<NaiveDate>, value: &T) -> bool {
    let Some(had) = had else { return true };
    let on = from.unwrap_or(NaiveDate::MIN);
    !had.has_begun(on) || had.at(on).is_none_or(|(_, was)| was != value) || had.iter().any(|(day, _)| *day == from)
}

/// Puts a drink on the menu or takes it off, from the running day on and in every version that begins later.
///
/// # Errors
/// [`DeskError`]: the drink has no price yet.
pub fn set_on(store: &Store, drink: DrinkId, on: bool, now: Moment) -> Result<(), DeskError> {
    store.write((Deed::Drink, now), |conn| {
        let setup = setup::load(conn)?;
        let day = setup.venue.days.day_of(now);
        let menus = &known(&setup, drink)?.menu;
        let (_, menu) =
            menus.at(day).ok_or_else(|| refused(word!("it has no price yet: change it first").to_owned()))?;
        let today = Some((Some(day), menu)).filter(|_| menus.has_begun(day));
        let later = menus.iter().filter(|(from, _)| *from > Some(day)).map(|(from, menu)| (*from, menu));
        for (from, menu) in today.into_iter().chain(later).filter(|(_, menu)| menu.on != on) {
            setup::put_menu(conn, drink, from, &Menu { on, ..menu.clone() })?;
        }
        Ok(())
    })
}

/// Takes away the versions of a drink that begin on a day or since ever. Nothing may have been sold by them: what was
/// sold by a version keeps it. A drink without any version left is taken away itself; says whether it was.
///
/// # Errors
/// [`DeskError`].
pub fn drop_version(store: &Store, drink: DrinkId, from: Option<NaiveDate>, now: Moment) -> Result<bool, DeskError> {
    store.write((Deed::Drink, now), |conn| {
        let setup = setup::load(conn)?;
        let what = known(&setup, drink)?;
        let means = |till: &&TillName| matches!(till.means, TillMeaning::Drink { drink: of, .. } if of == drink);
        let tills: Vec<&TillName> = setup.till.iter().filter(means).collect();
        let days = setup.venue.days;
        let spans = [span(&what.menu, from, days), span(&what.specs, from, days)];
        for (begins, ends) in spans.into_iter().flatten() {
            for till in &tills {
                if sales::any_between(conn, till.id, begins, ends)? {
                    let said = word!("sales are reckoned by this version: begin a new one instead");
                    return Err(refused(said.to_owned()));
                }
            }
        }
        setup::drop_versions(conn, drink, from)?;
        let left = [what.menu.has_besides(from), what.specs.has_besides(from)];
        let had = [!what.menu.is_empty(), !what.specs.is_empty()];
        if left == [false, false] {
            if let Some(till) = tills.first() {
                let said = say!(
                    "“{till}” on the till means {what}: it cannot be taken away",
                    till = till.name,
                    what = what.name
                );
                return Err(refused(said));
            }
            setup::drop_drink(conn, drink)?;
            return Ok(true);
        }
        if left != had {
            return Err(refused(say!(
                "{what} would be left without a price or a spec: change it instead",
                what = what.name
            )));
        }
        Ok(false)
    })
}

pub(super) fn known(setup: &Setup, drink: DrinkId) -> Result<&Drink, DeskError> {
    setup.drink(drink).ok_or_else(|| refused(word!("this drink is not in the book any more").to_owned()))
}

/// From when to before when the version that begins on a day is reckoned by: the first one for all that was before as well.
fn span<T>(versions: &Versions<T>, from: Option<NaiveDate>, days: DayRule) -> Option<(Moment, Moment)> {
    let begins: Vec<Option<NaiveDate>> = versions.iter().map(|(day, _)| *day).collect();
    let at = begins.iter().position(|day| *day == from)?;
    let moment = |day: &Option<NaiveDate>| day.map(|day| days.begins(day));
    let first = if at == 0 { None } else { moment(&from) };
    let next = begins.get(at + 1).and_then(moment);
    Some((first.unwrap_or(Moment(i64::MIN)), next.unwrap_or(Moment(i64::MAX))))
}

/// What was changed elsewhere while somebody wrote is not written over unseen.
pub(super) fn changed_meanwhile(name: &str) -> DeskError {
    refused(say!("{name} was changed elsewhere meanwhile: look at it once more before this is kept over it", name))
}

/// The set-up as it is now; a write that leaves something in it that cannot be worked out is refused.
pub(super) fn sound(conn: &Connection) -> Result<Setup, DeskError> {
    let (setup, unreadable) = setup::load_any(conn)?;
    match unreadable.into_iter().next() {
        None => Ok(setup),
        Some(StoreError::Unreadable { place, written, why }) => {
            Err(refused(say!("{place}, {written}, could not be worked out any more: {why}", place, written, why)))
        }
        Some(other) => Err(other.into()),
    }
}

/// Ingredients with their amounts worked out from what is written.
pub(super) fn checked_parts(setup: &Setup, parts: &[Ingredient]) -> Result<Vec<Ingredient>, DeskError> {
    let mut seen: HashSet<ItemId> = HashSet::new();
    let part = |part: &Ingredient| {
        let item = setup
            .item(part.item)
            .ok_or_else(|| refused(word!("an ingredient is not in the book any more").to_owned()))?;
        if !seen.insert(part.item) {
            return Err(refused(say!("{name} is there twice: put both amounts into one line", name = item.name)));
        }
        let amount = amount_of(item, &part.written, &setup.venue.small);
        let amount = amount.map_err(|e| refused(format!("{}: {e}", item.name)))?;
        let note = part.note.as_deref().map(|note| typed(word!("the note"), note)).transpose()?;
        let written = part.written.trim().to_owned();
        Ok(Ingredient { amount, written, note: note.filter(|note| !note.is_empty()), ..part.clone() })
    };
    parts.iter().map(part).collect()
}
