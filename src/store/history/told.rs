//! Reads the history.

use super::act_of;
use super::images::{cell, parse_any};
use super::watching::columns;
use crate::domain::ledger::{Act, RowChange};
use crate::domain::venue::{ActId, Deed, Moment, Seq};
use crate::store::StoreError;
use crate::store::counts::{self, CountRow};
use crate::store::query::all;
use rusqlite::types::Value;
use rusqlite::{Connection, Params, named_params, params_from_iter};

/// What a failed query was for.
const DOING: &str = "reading the history";

/// How far back is looked for what was done lately, in acts.
const LATELY: u32 = 2_000;

/// The acts before one, or the last ones, the newest first.
///
/// # Errors
/// [`StoreError`].
pub fn acts(conn: &Connection, before: Option<ActId>, most: u32) -> Result<Vec<Act>, StoreError> {
    let before = before.unwrap_or(ActId(i64::MAX));
    let sql = "SELECT * FROM act WHERE id < :before ORDER BY id DESC LIMIT :most";
    all(DOING, conn, sql, named_params! { ":before": before, ":most": most }, act_of)
}

/// One act.
///
/// # Errors
/// [`StoreError::NotFound`].
pub fn act(conn: &Connection, id: ActId) -> Result<Act, StoreError> {
    let found = all(DOING, conn, "SELECT * FROM act WHERE id = :id", named_params! { ":id": id }, act_of)?;
    found.into_iter().next().ok_or(StoreError::NotFound { kind: "act in the history", id: id.0 })
}

/// The act that took another one back, where nobody did that one again since.
///
/// # Errors
/// [`StoreError`].
pub fn undone_by(conn: &Connection, id: ActId) -> Result<Option<ActId>, StoreError> {
    let (last, in_force) = last_of(conn, id)?;
    Ok((!in_force).then_some(last))
}

/// The last of the acts that took one back, did it again, and so on, itself where nobody did; and whether it is in force
/// with that.
///
/// # Errors
/// [`StoreError`].
pub fn last_of(conn: &Connection, id: ActId) -> Result<(ActId, bool), StoreError> {
    let (mut last, mut in_force) = (id, true);
    let sql = "SELECT max(id) AS id FROM act WHERE undoes = :id AND id > :id";
    loop {
        let next = all(DOING, conn, sql, named_params! { ":id": last }, |row| row.get::<_, Option<ActId>>("id"))?;
        let Some(next) = next.into_iter().next().flatten() else { return Ok((last, in_force)) };
        (last, in_force) = (next, !in_force);
    }
}

/// What an act takes back or does again, however often that went to and fro: itself where it does neither.
///
/// # Errors
/// [`StoreError`].
pub fn first_of(conn: &Connection, act: &Act) -> Result<Act, StoreError> {
    let mut first = act.clone();
    while let Some(undoes) = first.undoes {
        first = self::act(conn, undoes)?;
    }
    Ok(first)
}

/// The last act after one that changed the same row.
///
/// # Errors
/// [`StoreError`].
pub fn changed_since(conn: &Connection, act: &Act, change: &RowChange) -> Result<Option<Act>, StoreError> {
    let Some(row) = change.row() else { return Ok(None) };
    let keys = columns(conn, &change.table)?.into_iter().filter(|c| c.key);
    let (mut this, mut values) = (String::new(), vec![Value::Integer(act.changes), Value::Text(change.table.clone())]);
    for column in keys {
        this.push_str(&format!(" AND coalesce(after, before) ->> '$.{}' IS ?", column.name));
        values.push(cell(row, &column.name));
    }
    let sql = format!(
        "SELECT * FROM act WHERE changes >= (SELECT max(seq) FROM change WHERE seq > ? AND tab = ?{this}) ORDER BY id LIMIT 1"
    );
    Ok(all(DOING, conn, &sql, params_from_iter(values), act_of)?.into_iter().next())
}

/// When acts of a sort were done by somebody since a moment, the newest first.
///
/// # Errors
/// [`StoreError`].
pub fn lately(conn: &Connection, deed: Deed, by: &str, since: Moment) -> Result<Vec<Moment>, StoreError> {
    let sql = "SELECT at FROM (SELECT at, by, deed FROM act ORDER BY id DESC LIMIT :most)
        WHERE deed = :deed AND by = :by AND at > :since";
    let params = named_params! { ":most": LATELY, ":deed": deed, ":by": by, ":since": since };
    all(DOING, conn, sql, params, |row| row.get("at"))
}

/// What was taken out of the book that has a name: its table, its number, and what it was called last.
///
/// # Errors
/// [`StoreError`].
pub fn gone(conn: &Connection) -> Result<Vec<(&'static str, i64, String)>, StoreError> {
    const NAMED: [&str; 4] = ["item", "place", "supplier", "drink"];
    let mut out = Vec::new();
    for table in NAMED {
        let rows = all(
            "reading what is gone",
            conn,
            "SELECT json_extract(before, '$.id') AS id, json_extract(before, '$.name') AS name FROM change
             WHERE tab = :table AND after IS NULL ORDER BY seq",
            named_params! { ":table": table },
            |row| Ok((table, row.get("id")?, row.get("name")?)),
        )?;
        out.extend(rows);
    }
    Ok(out)
}

/// Where the act before one ended: its last change and its last counted line.
pub(super) fn behind(conn: &Connection, act: &Act) -> Result<(i64, i64), StoreError> {
    let sql = "SELECT changes, lines FROM act WHERE id = :id";
    let before = named_params! { ":id": act.id.0 - 1 };
    let found = all(DOING, conn, sql, before, |row| Ok((row.get("changes")?, row.get("lines")?)))?;
    Ok(found.into_iter().next().unwrap_or_default())
}

/// The changes of rows that belong to an act, in their order; at most so many of them.
///
/// # Errors
/// [`StoreError`].
pub fn changes_of(conn: &Connection, act: &Act, most: u32) -> Result<Vec<RowChange>, StoreError> {
    let (from, _) = behind(conn, act)?;
    let sql = "SELECT tab, before, after FROM change WHERE seq > :from AND seq <= :to ORDER BY seq LIMIT :most";
    changes(conn, sql, named_params! { ":from": from, ":to": act.changes, ":most": most })
}

/// The same of some tables alone, or of all others.
///
/// # Errors
/// [`StoreError`].
pub fn changes_among(
    conn: &Connection,
    act: &Act,
    tables: &[&str],
    others: bool,
) -> Result<Vec<RowChange>, StoreError> {
    let (from, _) = behind(conn, act)?;
    // By their tables, or in their order: of a folder of plain files few are asked for by table, of other acts nearly all.
    let sql = if others { OTHERS } else { AMONG };
    let tables = serde_json::Value::from(tables).to_string();
    changes(conn, sql, named_params! { ":from": from, ":to": act.changes, ":tables": tables })
}

const AMONG: &str = "
    SELECT tab, before, after FROM change INDEXED BY change_tab
    WHERE tab IN (SELECT value FROM json_each(:tables)) AND seq > :from AND seq <= :to ORDER BY seq";

const OTHERS: &str = "
    SELECT tab, before, after FROM change NOT INDEXED
    WHERE tab NOT IN (SELECT value FROM json_each(:tables)) AND seq > :from AND seq <= :to ORDER BY seq";

fn changes(conn: &Connection, sql: &str, params: impl Params) -> Result<Vec<RowChange>, StoreError> {
    let rows = all(DOING, conn, sql, params, |row| {
        Ok((
            row.get::<_, String>("tab")?,
            row.get::<_, Option<String>>("before")?,
            row.get::<_, Option<String>>("after")?,
        ))
    })?;
    rows.into_iter()
        .map(|(table, before, after)| Ok(RowChange { table, before: parse_any(before)?, after: parse_any(after)? }))
        .collect()
}

/// How many changes of rows belong to an act, by table.
///
/// # Errors
/// [`StoreError`].
pub fn tables_of(conn: &Connection, act: &Act) -> Result<Vec<(String, usize)>, StoreError> {
    let (from, _) = behind(conn, act)?;
    all(DOING, conn, TABLES, named_params! { ":from": from, ":to": act.changes }, |row| {
        Ok((row.get("tab")?, row.get::<_, i64>("rows")?.unsigned_abs() as usize))
    })
}

/// From one table to the next, and of each the stretch of its index: no change itself is read.
const TABLES: &str = "
    WITH RECURSIVE tables(tab) AS (
        SELECT min(tab) FROM change
        UNION ALL SELECT (SELECT min(tab) FROM change c WHERE c.tab > t.tab) FROM tables t WHERE t.tab IS NOT NULL
    )
    SELECT tab, rows FROM (
        SELECT t.tab, (
            SELECT count(*) FROM change c INDEXED BY change_tab WHERE c.tab = t.tab AND c.seq > :from AND c.seq <= :to
        ) AS rows FROM tables t WHERE t.tab IS NOT NULL
    ) WHERE rows > 0 ORDER BY tab";

/// The counted lines that belong to an act, each with what its place and item said before in that count.
///
/// # Errors
/// [`StoreError`].
pub fn lines_of(conn: &Connection, act: &Act, most: u32) -> Result<Vec<(CountRow, Option<CountRow>)>, StoreError> {
    let (_, from) = behind(conn, act)?;
    let mut out = Vec::new();
    for row in counts::rows_between(conn, Seq(from), Seq(act.lines), most)? {
        let before = counts::row_before(conn, &row)?;
        out.push((row, before));
    }
    Ok(out)
}
