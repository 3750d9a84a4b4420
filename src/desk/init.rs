//! A new book.

use super::load::{LoadReport, load};
use super::{DeskError, Watch, refused};
use crate::domain::venue::{Deed, Moment, Venue};
use crate::exchange::plain::checked;
use crate::store::{Store, setup};
use std::path::Path;

/// Makes a new book for a bar.
///
/// # Errors
/// [`DeskError::Store`] when there is a file of that name, or it cannot be made; then nothing is left behind.
pub fn init(path: &Path, venue: &Venue, now: Moment) -> Result<Store, DeskError> {
    checked(&venue.name).map_err(|why| refused(format!("the name of the bar: {why}")))?;
    let (store, ()) = Store::make(path, |store| {
        Ok::<_, DeskError>(store.write((Deed::Begun, now), |c| setup::put_venue(c, venue))?)
    })?;
    Ok(store)
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
    Store::make(path, |store| load(store, folder, now, watch))
}
