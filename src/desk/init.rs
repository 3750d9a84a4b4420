//! A new book.

use super::load::{LoadReport, load};
use super::{DeskError, Watch};
use crate::domain::venue::{Moment, Venue};
use crate::store::{Store, setup};
use std::path::Path;

/// Makes a new book for a bar.
///
/// # Errors
/// [`DeskError::Store`] when there is a file of that name, or it cannot be made; then nothing is left behind.
pub fn init(path: &Path, venue: &Venue) -> Result<Store, DeskError> {
    let store = Store::create(path)?;
    match store.write(|c| setup::put_venue(c, venue)) {
        Ok(()) => Ok(store),
        Err(refused) => {
            store.discard()?;
            Err(refused.into())
        }
    }
}

/// Makes a new book out of a folder of plain files.
///
/// # Errors
/// As [`init`] and [`load`]; then nothing is left behind.
pub fn init_from(
    path: &Path,
    folder: &Path,
    now: Moment,
    watch: &mut Watch<'_>,
) -> Result<(Store, LoadReport), DeskError> {
    let store = Store::create(path)?;
    match load(&store, folder, now, watch) {
        Ok(report) => Ok((store, report)),
        Err(refused) => {
            store.discard()?;
            Err(refused)
        }
    }
}
