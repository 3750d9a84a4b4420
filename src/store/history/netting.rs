//! Sums up the changes of an act: a row that was taken away and put in again as it was did not change, and one that changed
//! twice changed once.

use super::images;
use super::watching::{Column, columns};
use crate::store::StoreError;
use crate::store::error::Doing;
use crate::store::query::all;
use rusqlite::{Connection, named_params};
use std::collections::HashMap;

/// An act of more changes than this is a load of whole files: it is left as it is, not to hold all of it in memory.
const MOST: i64 = 20_000;

struct Net {
    table: String,
    before: Option<String>,
    after: Option<String>,
}

/// Sums up the changes behind a row of the history.
pub(super) fn net(conn: &Connection, behind: i64) -> Result<(), StoreError> {
    let doing = "summing up what was changed";
    let last: i64 = conn
        .prepare_cached("SELECT coalesce(max(seq), 0) FROM change")
        .and_then(|mut s| s.query_row([], |row| row.get(0)))
        .doing(doing)?;
    if last <= behind + 1 || last - behind > MOST {
        return Ok(());
    }
    let sql = "SELECT tab, before, after FROM change WHERE seq > :behind ORDER BY seq";
    let rows = all(doing, conn, sql, named_params! { ":behind": behind }, |row| {
        Ok(Net { table: row.get("tab")?, before: row.get("before")?, after: row.get("after")? })
    })?;
    let told = rows.len();
    let mut keys: HashMap<String, Vec<Column>> = HashMap::new();
    let mut place: HashMap<(String, String), usize> = HashMap::new();
    let mut nets: Vec<Net> = Vec::with_capacity(told);
    for row in rows {
        if !keys.contains_key(&row.table) {
            keys.insert(row.table.clone(), columns(conn, &row.table)?);
        }
        let key = |image: &Option<String>| image.as_ref().map(|image| key_of(image, &keys[&row.table])).transpose();
        let (was, is) = (key(&row.before)?, key(&row.after)?);
        if let (Some(was), Some(is)) = (&was, &is)
            && was != is
        {
            // A row that got another key: what follows would have to be told by two of them.
            return Ok(());
        }
        let Some(key) = was.or(is) else { continue };
        match place.get(&(row.table.clone(), key.clone())) {
            Some(at) => nets[*at].after = row.after,
            None => {
                place.insert((row.table.clone(), key), nets.len());
                nets.push(row);
            }
        }
    }
    nets.retain(|net| net.before != net.after);
    if nets.len() == told {
        return Ok(());
    }
    conn.prepare_cached("DELETE FROM change WHERE seq > :behind")
        .and_then(|mut s| s.execute(named_params! { ":behind": behind }))
        .doing(doing)?;
    let mut insert =
        conn.prepare_cached("INSERT INTO change (tab, before, after) VALUES (:table, :before, :after)").doing(doing)?;
    for net in &nets {
        insert
            .execute(named_params! { ":table": net.table, ":before": net.before, ":after": net.after })
            .doing(doing)?;
    }
    Ok(())
}

/// What tells a row from others of its table.
fn key_of(image: &str, columns: &[Column]) -> Result<String, StoreError> {
    let image = images::parse(image)?;
    let cells: Vec<String> =
        columns.iter().filter(|c| c.key).map(|c| format!("{:?}", images::cell(&image, &c.name))).collect();
    Ok(cells.join(" "))
}
