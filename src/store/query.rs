//! Running a query and taking all of its rows.

use super::StoreError;
use super::error::Doing;
use rusqlite::{Connection, Params, Row};

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
