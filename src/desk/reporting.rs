//! Pages to print, written as files.

use super::drinks::known;
use super::{DeskError, refused};
use crate::domain::drink::BatchPlan;
use crate::domain::measure::Amount;
use crate::domain::rows::{DrinksView, Selection};
use crate::domain::venue::DrinkId;
use crate::exchange::{documents, pages};
use std::path::{Path, PathBuf};

/// Writes the report of which drinks sell and which earn into a folder; says where.
///
/// # Errors
/// [`DeskError`].
pub fn write_menu(view: &DrinksView, selection: Selection, folder: &Path) -> Result<PathBuf, DeskError> {
    let page = pages::menu_page(view, selection, &view.lines(selection));
    Ok(documents::write_page(folder, &format!("{} drinks {selection}", view.larder.day), &page)?)
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
