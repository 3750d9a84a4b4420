//! Looks through the whole book.

use super::{DeskError, gauging};
use crate::store::{Store, check, setup, weighings};

pub use crate::store::check::Finding;

/// Everything wrong with a book; nothing is changed. An empty list is a sound book.
///
/// # Errors
/// [`DeskError::Store`] when the book cannot be read at all.
pub fn check(store: &Store) -> Result<Vec<Finding>, DeskError> {
    store.to_look_through()?.read(|conn| {
        let mut findings = check::all(conn)?;
        // Where rows are missing or unreadable, what follows from them says nothing more.
        if findings.is_empty()
            && let Ok(setup) = setup::load(conn)
        {
            let gauges = gauging::gauges(conn, &setup)?;
            let weighings = weighings::list(conn)?;
            for item in &setup.items {
                if let Some((weighing, why)) = gauging::unweighed(&gauges, &weighings, item.id) {
                    let (when, state) = (setup.venue.days.short(weighing.at), weighing.state);
                    let said = say!(
                        "{weight}, weighed {state} on {when}, does not agree: {why}",
                        weight = weighing.weight,
                        state,
                        when,
                        why
                    );
                    findings.push(Finding::Impossible(said));
                }
                if let Some((line, why)) = gauging::unread(conn, &gauges, item)? {
                    let when = setup.venue.days.short(line.at);
                    let said = say!(
                        "what was counted on {when}, {entry}, cannot be read any more: {why}",
                        when,
                        entry = line.entry,
                        why
                    );
                    findings.push(Finding::Impossible(said));
                }
            }
        }
        Ok(findings)
    })
}
