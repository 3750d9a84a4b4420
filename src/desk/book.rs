//! Opening a book.

use super::DeskError;
use crate::domain::venue::Setup;
use crate::store::setup;
use std::path::Path;
use std::sync::Arc;

/// An open book, as the front ends hold it.
pub use crate::store::{Address, Store};

/// The initials of whoever is at this terminal.
///
/// # Errors
/// [`DeskError`].
pub fn who(store: &Store) -> Result<Option<String>, DeskError> {
    Ok(store.who()?.map(|who| who.initials))
}

/// The set-up as it is now.
///
/// # Errors
/// [`DeskError`].
pub fn setup(store: &Store) -> Result<Arc<Setup>, DeskError> {
    Ok(Arc::new(store.read(setup::load)?))
}

/// The tag of the book's language, without the rest of the set-up.
///
/// # Errors
/// [`DeskError`].
pub fn language(store: &Store) -> Result<String, DeskError> {
    Ok(store.read(setup::venue)?.language)
}

/// What another thread needs to open the same book as the same person.
///
/// # Errors
/// [`DeskError`].
pub fn address(store: &Store) -> Result<Address, DeskError> {
    Ok(store.address()?)
}

/// Opens a book as somebody has it open already.
///
/// # Errors
/// As [`open`].
pub fn open_at(book: &Address) -> Result<Store, DeskError> {
    Ok(book.open()?)
}

/// Whether anything lies where the book is to be: a book, or what must not be written over.
pub fn is_there(path: &Path) -> bool {
    crate::exchange::inbox::about(path).is_some()
}

/// Opens the book at a path, bringing an older one up to date.
///
/// # Errors
/// [`DeskError`]: there is no book there, or it cannot be used.
pub fn open(path: &Path) -> Result<Store, DeskError> {
    Ok(Store::open(path)?)
}
