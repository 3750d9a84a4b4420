//! Who has the book open.

use super::DeskError;
use crate::domain::venue::{DayRule, Moment};
use crate::store::{Store, present};

pub use crate::store::present::{Guard, Present};

/// Says that the screens are open on a book until the guard is dropped: by whom, since when, in which process.
///
/// # Errors
/// [`DeskError`] when nothing can be written beside the book.
pub fn enter(store: &Store, days: &DayRule, by: Option<&str>, now: Moment) -> Result<Guard, DeskError> {
    let who = by.unwrap_or("somebody who does not sign");
    let says = format!("{who}, since {}, process {}", days.short(now), std::process::id());
    Ok(present::enter(store.path(), &says)?)
}
