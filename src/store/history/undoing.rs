//! Puts rows of the set-up back as they were before a change.

use super::images::{cell, parse_any};
use super::watching::{Column, columns};
use crate::domain::ledger::{Image, RowChange};
use crate::store::StoreError;
use crate::store::error::Doing;
use rusqlite::types::Value;
use rusqlite::{Connection, OptionalExtension, params_from_iter};

/// Puts a row back as it was before a change, or takes it away where there was none. Says no where it is not what the change
/// made of it any more: somebody has changed it since.
///
/// # Errors
/// [`StoreError`]: another row needs it, or the table only grows.
pub fn put_back(conn: &Connection, change: &RowChange) -> Result<bool, StoreError> {
    let doing = "putting a row back as it was";
    let Some(row) = change.row() else { return Ok(true) };
    let columns = columns(conn, &change.table)?;
    if now(conn, &change.table, &columns, row)? != change.after {
        return Ok(false);
    }
    let names: Vec<String> = columns.iter().map(|c| format!("\"{}\"", c.name)).collect();
    let (this, key) = which(&columns, row);
    let table = &change.table;
    let values = |image: &Image| -> Vec<Value> { columns.iter().map(|c| cell(image, &c.name)).collect() };
    match (&change.before, &change.after) {
        (None, _) => {
            let sql = format!("DELETE FROM \"{table}\" WHERE {this}");
            conn.execute(&sql, params_from_iter(key)).doing(doing)?;
        }
        (Some(before), None) => {
            let marks = vec!["?"; names.len()].join(", ");
            let sql = format!("INSERT INTO \"{table}\" ({}) VALUES ({marks})", names.join(", "));
            conn.execute(&sql, params_from_iter(values(before))).doing(doing)?;
        }
        (Some(before), Some(_)) => {
            let set: Vec<String> = names.iter().map(|name| format!("{name} = ?")).collect();
            let sql = format!("UPDATE \"{table}\" SET {} WHERE {this}", set.join(", "));
            conn.execute(&sql, params_from_iter(values(before).into_iter().chain(key))).doing(doing)?;
        }
    }
    Ok(true)
}

/// Whether a row could not be changed because others rest on it.
pub fn is_needed(error: &rusqlite::Error) -> bool {
    error.sqlite_error_code() == Some(rusqlite::ErrorCode::ConstraintViolation)
}

/// A row as it stands, by the columns of its key; none where there is no such row.
///
/// # Errors
/// [`StoreError`].
pub fn stands(conn: &Connection, table: &str, key: &Image) -> Result<Option<Image>, StoreError> {
    now(conn, table, &columns(conn, table)?, key)
}

/// The condition that a row is the one of an image, and its values.
fn which(columns: &[Column], row: &Image) -> (String, Vec<Value>) {
    let keys: Vec<&Column> = columns.iter().filter(|c| c.key).collect();
    let this: Vec<String> = keys.iter().map(|c| format!("\"{}\" IS ?", c.name)).collect();
    (this.join(" AND "), keys.iter().map(|c| cell(row, &c.name)).collect())
}

/// The row of that key as it stands now.
pub(super) fn now(
    conn: &Connection,
    table: &str,
    columns: &[Column],
    row: &Image,
) -> Result<Option<Image>, StoreError> {
    let (this, key) = which(columns, row);
    let sql = format!("SELECT {} FROM \"{table}\" WHERE {this}", super::watching::image(columns, ""));
    let found: Option<String> = conn
        .prepare_cached(&sql)
        .and_then(|mut s| s.query_row(params_from_iter(key), |row| row.get(0)).optional())
        .doing("comparing a row with the history")?;
    parse_any(found)
}
