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
use std::path::{Path, PathBuf};

/// Writes a sheet to count on by hand, of some places or of the whole bar where none is named, into a folder; says where.
///
/// # Errors
/// [`DeskError`]: there is nothing to count, or the file cannot be written.
pub fn write_count_sheet(setup: &Setup, places: &[PlaceId], now: Moment, folder: &Path) -> Result<PathBuf, DeskError> {
    let sheet = CountSheet::new(setup, places, setup.venue.days.day_of(now));
    if sheet.places.is_empty() {
        return Err(refused("there is no place to walk along yet; load a places.csv first".to_owned()));
    }
    let all = CountSheet::new(setup, &[], sheet.date);
    Ok(documents::write_count_sheet(folder, &sheet, sheet.lines().count() == all.lines().count())?)
}

/// Writes the report of which drinks sell and which earn into a folder; says where.
///
/// # Errors
/// [`DeskError`].
pub fn write_menu(view: &DrinksView, selection: Selection, folder: &Path) -> Result<PathBuf, DeskError> {
    let page = pages::menu_page(view, selection, &view.lines(selection));
    Ok(documents::write_page(folder, &format!("{} drinks {selection}", view.larder.day), &page)?)
}

/// Writes what the stock was worth over time into a folder, as a page; says where.
///
/// # Errors
/// [`DeskError`].
pub fn write_worth(store: &Store, now: Moment, folder: &Path) -> Result<PathBuf, DeskError> {
    let (setup, over) = super::worth::over_time(store, now)?;
    let page = pages::worth_page(&setup, &over);
    Ok(documents::write_page(folder, &format!("{} worth of the stock", setup.venue.days.day_of(now)), &page)?)
}

/// Writes the par levels with their pictures into a folder, as a page; says where.
///
/// # Errors
/// [`DeskError`].
pub fn write_pars(store: &Store, now: Moment, folder: &Path) -> Result<PathBuf, DeskError> {
    let view = super::par::view(store, now)?;
    let day = view.setup.venue.days.day_of(now);
    Ok(documents::write_page(folder, &format!("{day} par levels"), &pages::par_page(&view, day))?)
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
    let spec = spec.ok_or_else(|| refused(format!("{} takes nothing yet", drink.name)))?;
    let plan = BatchPlan::new(&view.larder, setup, spec, view.menu(drink), serves, water);
    let page = pages::batch_page(setup, &drink.name, &plan, vessel, &day.to_string());
    Ok(documents::write_page(folder, &format!("{day} {} for {serves}", drink.name), &page)?)
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
    let page = pages::week_page(&setup, &view, &goods);
    let table = documents::week_table(&setup, &view);
    Ok(documents::write_page_and_table(folder, &format!("{from} to {day} variance"), &page, table)?)
}
