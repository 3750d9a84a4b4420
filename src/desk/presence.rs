//! Who has the book open.

use super::DeskError;
use crate::store::{Store, present};

/// That this terminal has the book open, for as long as it is held.
#[derive(Debug)]
pub struct Guard(present::Guard);

/// Says that the screens are open on a book until the guard is dropped, and who is where.
///
/// # Errors
/// [`DeskError`] when nothing can be written beside the book.
pub fn enter(store: &Store, says: &str) -> Result<Guard, DeskError> {
    Ok(Guard(present::enter(store.path(), says)?))
}

/// What every terminal that has the book open says of itself.
///
/// # Errors
/// [`DeskError`].
pub fn others(store: &Store) -> Result<Vec<String>, DeskError> {
    Ok(present::others(store.path())?.says)
}

impl Guard {
    /// Says something else from now on.
    ///
    /// # Errors
    /// [`DeskError`].
    pub fn say(&self, says: &str) -> Result<(), DeskError> {
        Ok(self.0.say(says)?)
    }

    /// What the others say.
    ///
    /// # Errors
    /// [`DeskError`].
    pub fn others(&self) -> Result<Vec<String>, DeskError> {
        Ok(self.0.others()?.says)
    }
}
