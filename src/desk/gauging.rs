//! How containers are gauged: weighings, shapes, and how good each counter's eye is.

use super::DeskError;
use crate::domain::gauge::Gauges;
use crate::domain::venue::Setup;
use crate::store::{Connection, weighings};

/// The instruments of a book.
///
/// # Errors
/// [`DeskError`].
pub(super) fn gauges(conn: &Connection, setup: &Setup) -> Result<Gauges, DeskError> {
    Ok(Gauges::new(setup, &weighings::list(conn)?))
}
