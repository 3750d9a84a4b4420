//! Opening a book.

use super::DeskError;
use std::path::Path;

/// An open book, as the front ends hold it.
pub use crate::store::Store;

/// Opens the book at a path, bringing an older one up to date.
///
/// # Errors
/// [`DeskError`]: there is no book there, or it cannot be used.
pub fn open(path: &Path) -> Result<Store, DeskError> {
    Ok(Store::open(path)?)
}
