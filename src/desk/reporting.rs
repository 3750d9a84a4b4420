//! Pages to print, written as files.

use super::comparing::{Choice, setup};
use super::drinks::known;
use super::goods::{self, Asked, End};
use super::reviewing::review;
use super::{DeskError, refused};
use crate::domain::drink::BatchPlan;
use crate::domain::measure::Amount;
use crate::domain::rows::{CountSheet, DrinksView, Selection};
use crate::domain::venue::{DrinkId, Moment, PlaceId, Setup};
use crate::exchange::{documents, pages};
use crate::store::Store;
use crate::words::Speech;
use std::path::{Path, PathBuf};

/// Writes a sheet to count on by hand, of some places or of the whole bar where none is named, into a folder; says where.
///
/// # Errors
/// [`DeskError`]: there is nothing to count, or the file cannot be written.
pub fn write_count_sheet(setup: &Setup, places: &[PlaceId], now: Moment, folder: &Path) -> Result<PathBuf, DeskError> {
    let sheet = CountSheet::new(setup, places, setup.venue.days.day_of(now));
    if sheet.places.is_empty() {
        return Err(refused(
            word!("there is no place to walk along yet: the Book takes one in (B, then s), or a places.csv").to_owned(),
        ));
    }
    let all = CountSheet::new(setup, &[], sheet.date);
    let whole_bar = sheet.lines().count() == all.lines().count();
    Ok(setup.venue.speech().while_in(|| documents::write_count_sheet(folder, &sheet, whole_bar))?)
}

/// Writes the report of which drinks sell and which earn into a folder; says where.
///
/// # Errors
/// [`DeskError`].
pub fn write_menu(view: &DrinksView, selection: Selection, folder: &Path) -> Result<PathBuf, DeskError> {
    view.setup.venue.speech().while_in(|| {
        let page = pages::menu_page(view, selection, &view.lines(selection));
        Ok(documents::write_page(folder, &say!("{day} drinks {selection}", day = view.larder.day, selection), &page)?)
    })
}

/// Writes what the stock was worth over time into a folder, as a page; says where.
///
/// # Errors
/// [`DeskError`].
pub fn write_worth(store: &Store, now: Moment, folder: &Path) -> Result<PathBuf, DeskError> {
    let (setup, over) = super::worth::over_time(store, now)?;
    setup.venue.speech().while_in(|| {
        let page = pages::worth_page(&setup, &over);
        Ok(documents::write_page(folder, &say!("{now} worth of the stock", now = setup.venue.days.day_of(now)), &page)?)
    })
}

/// Writes the par levels with their pictures into a folder, as a page; says where.
///
/// # Errors
/// [`DeskError`].
pub fn write_pars(store: &Store, now: Moment, folder: &Path) -> Result<PathBuf, DeskError> {
    let view = super::par::view(store, now)?;
    let day = view.setup.venue.days.day_of(now);
    view.setup
        .venue
        .speech()
        .while_in(|| Ok(documents::write_page(folder, &say!("{day} par levels", day), &pages::par_page(&view, day))?))
}

/// Writes the sheet of a drink for many serves, filled into bottles of a size, into a folder; says where.
///
/// # Errors
/// [`DeskError`]: the drink takes nothing, or the file cannot be written.
pub fn write_batch(
    view: &DrinksView,
    drink: DrinkId,
    serves: i64,
    water: Option<f64>,
    vessel: Amount,
    folder: &Path,
) -> Result<PathBuf, DeskError> {
    let (setup, day) = (&view.setup, view.larder.day);
    let drink = known(setup, drink)?;
    let spec = drink.specs.at(day).map(|(_, spec)| spec);
    let spec = spec.ok_or_else(|| refused(say!("{drink} takes nothing yet", drink = drink.name)))?;
    let plan = BatchPlan::new(&view.larder, setup, spec, view.menu(drink), serves, water);
    setup.venue.speech().while_in(|| {
        let page = pages::batch_page(setup, &drink.name, &plan, vessel, &day.to_string());
        Ok(documents::write_page(folder, &say!("{day} {drink} for {serves}", day, drink = drink.name, serves), &page)?)
    })
}

/// Writes the report of a period into a folder, as a page and as a table; says where.
///
/// # Errors
/// [`DeskError`]: there are not two counts, or the files cannot be written.
pub fn write_week(store: &Store, choice: Choice, now: Moment, folder: &Path) -> Result<Vec<PathBuf>, DeskError> {
    let (setup, view) = (setup(store)?, review(store, choice)?);
    let asked = Asked { from: Some(End::Count(view.opening.id)), to: Some(End::Count(view.closing.id)) };
    let (_, goods) = goods::used(store, asked, now)?;
    let [from, day] = [&view.opening, &view.closing].map(|count| setup.venue.days.day_of(count.opened));
    // Other programs read the table.
    let table = Speech::PLAIN.while_in(|| documents::week_table(&setup, &view));
    setup.venue.speech().while_in(|| {
        let page = pages::week_page(&setup, &view, &goods);
        Ok(documents::write_page_and_table(folder, &say!("{from} to {day} variance", from, day), &page, table)?)
    })
}
