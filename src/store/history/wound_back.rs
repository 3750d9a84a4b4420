//! The book as it was known at a moment: a copy of it, wound back act by act.

use super::images::cell;
use super::watching::{Column, columns};
use super::{act, acts, changes_of};
use crate::domain::ledger::{Image, RowChange};
use crate::domain::venue::{ActId, Moment};
use crate::store::StoreError;
use crate::store::error::Doing;
use crate::store::query::all;
use rusqlite::types::Value;
use rusqlite::{Connection, named_params, params_from_iter};
use std::collections::HashMap;

/// What a failed query was for.
const DOING: &str = "winding a copy of the book back";

/// Acts that are read at a time.
const AT_A_TIME: u32 = 500;

/// Winds a copy of a book back to what was known at a moment, and says which act was the last then. Nothing watches the copy
/// any more, and it is not to be written to.
///
/// # Errors
/// [`StoreError::NotKnownThen`] when its history begins later.
pub fn wind_back(conn: &Connection, until: Moment) -> Result<ActId, StoreError> {
    let (first, to): (Option<Moment>, Option<ActId>) = conn
        .query_row(
            "SELECT (SELECT at FROM act ORDER BY id LIMIT 1) AS first, (SELECT max(id) FROM act WHERE at <= :until) AS id",
            named_params! { ":until": until },
            |row| Ok((row.get("first")?, row.get("id")?)),
        )
        .doing(DOING)?;
    let Some(to) = to else { return Err(StoreError::NotKnownThen { since: first.unwrap_or(until) }) };
    let sql = "SELECT name FROM sqlite_schema WHERE type = 'trigger'";
    for trigger in all(DOING, conn, sql, [], |row| row.get::<_, String>("name"))? {
        conn.execute_batch(&format!("DROP TRIGGER \"{trigger}\"")).doing(DOING)?;
    }
    let last = act(conn, to)?;
    let mut back = Back { conn, columns: HashMap::new() };
    let mut before = None;
    loop {
        let some: Vec<_> = acts(conn, before, AT_A_TIME)?.into_iter().take_while(|act| act.id > to).collect();
        for act in &some {
            for change in changes_of(conn, act, u32::MAX)?.iter().rev() {
                back.wind(change)?;
            }
        }
        match some.last() {
            Some(oldest) if some.len() == AT_A_TIME as usize => before = Some(oldest.id),
            _ => break,
        }
    }
    for (sql, upto) in [
        ("DELETE FROM count_line WHERE seq > ?1", last.lines),
        ("DELETE FROM change WHERE seq > ?1", last.changes),
        ("DELETE FROM act WHERE id > ?1", to.0),
    ] {
        conn.execute(sql, [upto]).doing(DOING)?;
    }
    conn.execute_batch("DELETE FROM sale_day; UPDATE sale_day_state SET upto = -1;").doing(DOING)?;
    Ok(to)
}

struct Back<'c> {
    conn: &'c Connection,
    columns: HashMap<String, Vec<Column>>,
}

impl Back<'_> {
    fn wind(&mut self, change: &RowChange) -> Result<(), StoreError> {
        let table = &change.table;
        if table == "sale_tally" {
            // New lines of receipts are told by the tally alone.
            let upto = change.before.as_ref().and_then(|tally| tally.number("upto")).unwrap_or(0);
            self.conn.execute("DELETE FROM sale WHERE id > ?1", [upto]).doing(DOING)?;
        }
        if !self.columns.contains_key(table) {
            self.columns.insert(table.clone(), columns(self.conn, table)?);
        }
        let columns = &self.columns[table];
        let Some(row) = change.row() else { return Ok(()) };
        let keys: Vec<&Column> = columns.iter().filter(|c| c.key).collect();
        let this: Vec<String> = keys.iter().map(|c| format!("\"{}\" IS ?", c.name)).collect();
        let key: Vec<Value> = keys.iter().map(|c| cell(row, &c.name)).collect();
        let sql = format!("DELETE FROM \"{table}\" WHERE {}", this.join(" AND "));
        self.conn.prepare_cached(&sql).and_then(|mut s| s.execute(params_from_iter(key))).doing(DOING)?;
        if let Some(before) = &change.before {
            self.put(table, columns, before)?;
        }
        Ok(())
    }

    fn put(&self, table: &str, columns: &[Column], row: &Image) -> Result<(), StoreError> {
        // A column that came with a later version begins as that says.
        let had: Vec<&Column> = columns.iter().filter(|c| row.0.contains_key(&c.name)).collect();
        let names: Vec<String> = had.iter().map(|c| format!("\"{}\"", c.name)).collect();
        let marks = vec!["?"; had.len()].join(", ");
        let sql = format!("INSERT INTO \"{table}\" ({}) VALUES ({marks})", names.join(", "));
        let values = had.iter().map(|c| cell(row, &c.name));
        self.conn.prepare_cached(&sql).and_then(|mut s| s.execute(params_from_iter(values))).doing(DOING).map(|_| ())
    }
}
