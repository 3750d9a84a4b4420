//! Reads the history.

use super::{Act, Image, RowChange, act_of};
use crate::domain::venue::{ActId, Seq};
use crate::store::StoreError;
use crate::store::counts::{self, CountRow};
use crate::store::query::all;
use rusqlite::{Connection, named_params};

/// What a failed query was for.
const DOING: &str = "reading the history";

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

/// The act that takes another one back and was not taken back itself.
///
/// # Errors
/// [`StoreError`].
pub fn undone_by(conn: &Connection, id: ActId) -> Result<Option<ActId>, StoreError> {
    let by = |id: ActId| -> Result<Vec<ActId>, StoreError> {
        let sql = "SELECT id FROM act WHERE undoes = :id ORDER BY id DESC";
        all(DOING, conn, sql, named_params! { ":id": id }, |row| row.get("id"))
    };
    for undo in by(id)? {
        if by(undo)?.is_empty() {
            return Ok(Some(undo));
        }
    }
    Ok(None)
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
    let params = named_params! { ":from": from, ":to": act.changes, ":most": most };
    let rows = all(DOING, conn, sql, params, |row| {
        Ok((
            row.get::<_, String>("tab")?,
            row.get::<_, Option<String>>("before")?,
            row.get::<_, Option<String>>("after")?,
        ))
    })?;
    let image = |text: Option<String>| text.map(|text| Image::parse(&text)).transpose();
    rows.into_iter()
        .map(|(table, before, after)| Ok(RowChange { table, before: image(before)?, after: image(after)? }))
        .collect()
}

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
