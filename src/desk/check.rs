//! Looks through the whole book.

use super::DeskError;
use crate::store::{Store, check};

pub use crate::store::check::Finding;

/// Everything wrong with a book; nothing is changed. An empty list is a sound book.
///
/// # Errors
/// [`DeskError::Store`] when the book cannot be read at all.
pub fn check(store: &Store) -> Result<Vec<Finding>, DeskError> {
    Ok(store.read(check::all)?)
}
