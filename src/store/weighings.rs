//! Weighings: only added; a mistake is taken back by another row.

use super::StoreError;
use super::convert::wrong;
use super::error::Doing;
use super::query::{self, all};
use crate::domain::gauge::{Mass, Reading, Weighing};
use crate::domain::venue::{Moment, Seq};
use rusqlite::{Connection, Row, named_params};

const IN_FORCE: &str = "w.reverses IS NULL AND NOT EXISTS (SELECT 1 FROM weighing r WHERE r.reverses = w.seq)";

fn weighing(row: &Row<'_>) -> rusqlite::Result<Weighing> {
    let weight: String = row.get("weight")?;
    let seen: Option<String> = row.get("seen")?;
    Ok(Weighing {
        seq: row.get("seq")?,
        at: row.get("at")?,
        item: row.get("item")?,
        state: row.get("state")?,
        weight: Mass::parse(&weight).map_err(wrong)?,
        seen: seen.map(|text| Reading::parse(&text)).transpose().map_err(wrong)?,
        mark: row.get("mark")?,
        place: row.get("place")?,
        by: row.get("by")?,
    })
}

/// Every weighing in force, in the order of time.
///
/// # Errors
/// [`StoreError`].
pub fn list(conn: &Connection) -> Result<Vec<Weighing>, StoreError> {
    let sql = format!("SELECT w.* FROM weighing w WHERE {IN_FORCE} ORDER BY w.at, w.seq");
    all("reading the weighings", conn, &sql, [], weighing)
}

/// Keeps a weighing; its `seq` is not looked at.
///
/// # Errors
/// [`StoreError`].
pub fn add(conn: &Connection, fact: &Weighing, entered: Moment) -> Result<Seq, StoreError> {
    conn.prepare_cached(
        "INSERT INTO weighing (at, item, state, weight, seen, mark, place, by, entered)
         VALUES (:at, :item, :state, :weight, :seen, :mark, :place, :by, :entered) RETURNING seq",
    )
    .and_then(|mut s| {
        s.query_row(
            named_params! {
                ":at": fact.at, ":item": fact.item, ":state": fact.state, ":weight": fact.weight.to_string(),
                ":seen": fact.seen.map(|seen| seen.to_string()), ":mark": fact.mark, ":place": fact.place,
                ":by": fact.by, ":entered": entered,
            },
            |row| row.get("seq"),
        )
    })
    .doing("keeping a weighing")
}

/// Takes a weighing back.
///
/// # Errors
/// [`StoreError::NotFound`] when it is not there, or taken back already.
pub fn reverse(conn: &Connection, seq: Seq, by: Option<&str>, at: Moment) -> Result<(), StoreError> {
    query::reverse(conn, "weighing", "weighing in force", (seq, by, at))
}
