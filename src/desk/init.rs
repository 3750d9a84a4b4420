//! A new book.

use super::load::{LoadReport, load};
use super::signing::{signed, typed};
use super::{DeskError, Watch, refused};
use crate::domain::rows::NewBar;
use crate::domain::venue::{Deed, Moment, Venue, name_key};
use crate::exchange::plain::checked;
use crate::store::{Store, setup};
use std::collections::HashSet;
use std::path::Path;

/// Makes a new book for a bar.
///
/// # Errors
/// [`DeskError::Store`] when there is a file of that name, or it cannot be made; then nothing is left behind.
pub fn init(path: &Path, venue: &Venue, now: Moment) -> Result<Store, DeskError> {
    checked(&venue.name).map_err(|why| refused(say!("the name of the bar: {why}", why)))?;
    let (store, ()) = Store::make(path, |store| {
        Ok::<_, DeskError>(store.write((Deed::Begun, now), |c| setup::put_venue(c, venue))?)
    })?;
    Ok(store)
}

/// Makes a new book for a bar as its owner describes it: with its places, and with whoever signs first.
///
/// # Errors
/// As [`init`], and where a place has no name or two have the same; then nothing is left behind.
pub fn begin(path: &Path, bar: &NewBar, now: Moment) -> Result<Store, DeskError> {
    let name = typed(word!("the name of the bar"), &bar.name)?;
    if name.is_empty() {
        return Err(refused(word!("give the bar a name").to_owned()));
    }
    let venue = Venue { name, ..bar.venue() };
    let (store, ()) = Store::make(path, |store| {
        store.write((Deed::Begun, now), |conn| {
            setup::put_venue(conn, &venue)?;
            let mut met = HashSet::new();
            for (place, walk) in bar.places.iter().zip(1_i64..) {
                let place = typed(word!("a place"), place)?;
                if place.is_empty() || !met.insert(name_key(&place)) {
                    return Err(refused(say!(
                        "expected each place with a name of its own, not “{place}” twice",
                        place
                    )));
                }
                setup::put_place(conn, &place, walk)?;
            }
            signed(conn, bar.by.as_deref()).map(|_| ())
        })
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
