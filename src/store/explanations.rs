//! Causes of gaps that somebody accepted: only added; one that was a mistake is taken back by another row.

use super::StoreError;
use super::error::Doing;
use super::query::{self, all};
use crate::domain::ledger::Explanation;
use crate::domain::venue::{CountId, Moment, Seq};
use rusqlite::{Connection, Row, named_params};

/// The plus keeps the index on what is taken back out of it: nearly no row takes another back, so that it finds all of them.
const IN_FORCE: &str = "+e.reverses IS NULL AND NOT EXISTS (SELECT 1 FROM explanation r WHERE r.reverses = e.seq)";

fn explanation(row: &Row<'_>) -> rusqlite::Result<Explanation> {
    Ok(Explanation {
        seq: row.get("seq")?,
        at: row.get("at")?,
        closing: row.get("closing")?,
        item: row.get("item")?,
        cause: row.get("cause")?,
        by: row.get("by")?,
        note: row.get("note")?,
    })
}

/// Every one in force, in the order of time.
///
/// # Errors
/// [`StoreError`].
pub fn list(conn: &Connection) -> Result<Vec<Explanation>, StoreError> {
    let sql = format!("SELECT e.* FROM explanation e WHERE {IN_FORCE} ORDER BY e.at, e.seq");
    all("reading the causes of gaps", conn, &sql, [], explanation)
}

/// Those in force of the gaps at one count, in the order of time.
///
/// # Errors
/// [`StoreError`].
pub fn of_closing(conn: &Connection, closing: CountId) -> Result<Vec<Explanation>, StoreError> {
    all("reading the causes of gaps", conn, &of_closing_sql(), named_params! { ":closing": closing }, explanation)
}

fn of_closing_sql() -> String {
    format!("SELECT e.* FROM explanation e WHERE e.closing = :closing AND {IN_FORCE} ORDER BY e.at, e.seq")
}

/// Keeps one; its `seq` is not looked at.
///
/// # Errors
/// [`StoreError`].
pub fn add(conn: &Connection, fact: &Explanation, entered: Moment) -> Result<Seq, StoreError> {
    conn.prepare_cached(
        "INSERT INTO explanation (at, closing, item, cause, by, note, entered)
         VALUES (:at, :closing, :item, :cause, :by, :note, :entered) RETURNING seq",
    )
    .and_then(|mut s| {
        s.query_row(
            named_params! {
                ":at": fact.at, ":closing": fact.closing, ":item": fact.item, ":cause": fact.cause, ":by": fact.by,
                ":note": fact.note, ":entered": entered,
            },
            |row| row.get("seq"),
        )
    })
    .doing("keeping the cause of a gap")
}

/// Takes one back.
///
/// # Errors
/// [`StoreError::NotFound`] when it is not there, or taken back already.
pub fn reverse(conn: &Connection, seq: Seq, by: Option<&str>, at: Moment) -> Result<(), StoreError> {
    query::reverse(conn, "explanation", "accepted cause", (seq, by, at))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::store::tests::plan;

    #[test]
    fn causes_of_one_count_are_found_by_it() {
        let steps = plan(&of_closing_sql());
        assert!(steps.contains("SEARCH e USING INDEX explanation_closing (closing=?)"), "{steps}");
    }
}
