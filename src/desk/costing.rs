//! What things cost.

use super::DeskError;
use crate::domain::venue::{Costs, Moment};
use crate::store::{Store, journal, setup};

/// What every item costs at a moment: as paid up to then, else as offered, else as its ingredients cost.
///
/// # Errors
/// [`DeskError`].
pub fn costs(store: &Store, now: Moment) -> Result<Costs, DeskError> {
    store.read(|conn| {
        let setup = setup::load(conn)?;
        Ok(Costs::new(&setup, &journal::last_paid(conn, now)?, setup.venue.days.day_of(now)))
    })
}
