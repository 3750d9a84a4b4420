//! What can contradict itself among the causes of gaps that somebody accepted. Rows that name what is not there are found
//! with those of all other tables.

use super::Finding;
use crate::store::query::all as rows;
use crate::store::{StoreError, explanations};
use rusqlite::Connection;

/// Everything of that sort.
///
/// # Errors
/// [`StoreError`] when the book cannot even be read.
pub(in crate::store) fn all(conn: &Connection) -> Result<Vec<Finding>, StoreError> {
    let mut found = Vec::new();
    for look in [of_reversals, of_words, of_gaps] {
        match look(conn, &mut found) {
            // A word that cannot be read.
            Err(StoreError::Damaged { what }) => found.push(Finding::Contradiction(what)),
            other => other?,
        }
    }
    Ok(found)
}

fn of_reversals(conn: &Connection, found: &mut Vec<Finding>) -> Result<(), StoreError> {
    let doing = "checking which causes were taken back";
    let mut says = |what: String| found.push(Finding::Contradiction(what));
    let of_nothing = "SELECT e.seq, e.reverses FROM explanation e JOIN explanation r ON r.seq = e.reverses
        WHERE r.reverses IS NOT NULL ORDER BY e.seq";
    for (seq, of) in
        rows(doing, conn, of_nothing, [], |row| Ok((row.get::<_, i64>("seq")?, row.get::<_, i64>("reverses")?)))?
    {
        says(format!("explanation row {seq} takes row {of} back, which is no accepted cause"));
    }
    let of_both = "SELECT seq FROM explanation WHERE reverses IS NOT NULL
        AND (closing IS NOT NULL OR item IS NOT NULL OR cause IS NOT NULL) ORDER BY seq";
    for seq in rows(doing, conn, of_both, [], |row| row.get::<_, i64>("seq"))? {
        says(format!("explanation row {seq} takes a cause back and says one at once"));
    }
    Ok(())
}

fn of_words(conn: &Connection, _: &mut Vec<Finding>) -> Result<(), StoreError> {
    explanations::list(conn).map(|_| ())
}

fn of_gaps(conn: &Connection, found: &mut Vec<Finding>) -> Result<(), StoreError> {
    let mut says = |what: String| found.push(Finding::Contradiction(what));
    let of_gaps = "SELECT c.name AS count, i.name AS item, count(*) AS causes,
            EXISTS (SELECT 1 FROM closing_in_force x WHERE x.count = c.id AND x.place IS NULL) AS closed
        FROM explanation e JOIN \"count\" c ON c.id = e.closing JOIN item i ON i.id = e.item
        WHERE e.reverses IS NULL AND NOT EXISTS (SELECT 1 FROM explanation r WHERE r.reverses = e.seq)
        GROUP BY e.closing, e.item ORDER BY e.closing, e.item";
    let named = rows("checking the causes of gaps", conn, of_gaps, [], |row| {
        let names: [String; 2] = [row.get("count")?, row.get("item")?];
        Ok((names, row.get::<_, i64>("causes")?, row.get::<_, bool>("closed")?))
    })?;
    for ([count, item], causes, closed) in named {
        if causes > 1 {
            says(format!("the gap of “{item}” at the count “{count}” has {causes} causes"));
        }
        if !closed {
            says(format!("the gap of “{item}” has a cause at the count “{count}”, which is not closed"));
        }
    }
    Ok(())
}
