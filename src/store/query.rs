//! Running a query and taking all of its rows.

use super::StoreError;
use super::error::Doing;
use crate::domain::venue::{Moment, Seq};
use rusqlite::{Connection, Params, Row, named_params};

/// Every row of a query, made into a value; `doing` says what it was for, should it fail.
pub(super) fn all<T>(
    doing: &'static str,
    conn: &Connection,
    sql: &str,
    params: impl Params,
    make: impl FnMut(&Row<'_>) -> rusqlite::Result<T>,
) -> Result<Vec<T>, StoreError> {
    let mut statement = conn.prepare_cached(sql).doing(doing)?;
    let rows = statement.query_map(params, make).doing(doing)?;
    rows.collect::<rusqlite::Result<_>>().doing(doing)
}

/// Takes a row of a table back whose rows only grow: by another that names it, signed and timed. `kind` says what the row is,
/// for when it is not there or taken back already.
pub(super) fn reverse(
    conn: &Connection,
    table: &'static str,
    kind: &'static str,
    (seq, by, at): (Seq, Option<&str>, Moment),
) -> Result<(), StoreError> {
    let sql = format!(
        "INSERT INTO {table} (at, by, entered, reverses) SELECT :at, :by, :at, f.seq FROM {table} f
         WHERE f.seq = :seq AND f.reverses IS NULL AND NOT EXISTS (SELECT 1 FROM {table} r WHERE r.reverses = f.seq)"
    );
    let changed = conn
        .prepare_cached(&sql)
        .and_then(|mut s| s.execute(named_params! { ":at": at, ":by": by, ":seq": seq }))
        .doing("taking a row back")?;
    if changed == 0 { Err(StoreError::NotFound { kind, id: seq.0 }) } else { Ok(()) }
}
