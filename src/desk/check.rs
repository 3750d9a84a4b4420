//! Looks through the whole book.

use super::{DeskError, gauging};
use crate::store::{Store, check, setup};

pub use crate::store::check::Finding;

/// Everything wrong with a book; nothing is changed. An empty list is a sound book.
///
/// # Errors
/// [`DeskError::Store`] when the book cannot be read at all.
pub fn check(store: &Store) -> Result<Vec<Finding>, DeskError> {
    store.read(|conn| {
        let mut findings = check::all(conn)?;
        // Where rows are missing or unreadable, what follows from them says nothing more.
        if findings.is_empty()
            && let Ok(setup) = setup::load(conn)
        {
            let gauges = gauging::gauges(conn, &setup)?;
            for item in &setup.items {
                if let Some((line, why)) = gauging::unread(conn, &gauges, item)? {
                    let when = setup.venue.days.short(line.at);
                    let said = format!("what was counted on {when}, {}, cannot be read any more: {why}", line.entry);
                    findings.push(Finding::Impossible(said));
                }
            }
        }
        Ok(findings)
    })
}
