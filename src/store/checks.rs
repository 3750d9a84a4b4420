//! What somebody said came of an order on its way, before its delivery is taken in.

use super::StoreError;
use super::error::Doing;
use super::query::all;
use crate::domain::ledger::Check;
use crate::domain::venue::{Moment, OrderId};
use rusqlite::{Connection, named_params};

/// What was said of the lines of an order, by their numbers.
///
/// # Errors
/// [`StoreError`].
pub fn of(conn: &Connection, order: OrderId) -> Result<Vec<Check>, StoreError> {
    all(
        "reading what came of an order",
        conn,
        "SELECT line, came, charged, place, by FROM delivery_check WHERE purchase_order = :order ORDER BY line",
        named_params! { ":order": order },
        |row| {
            Ok(Check {
                line: row.get("line")?,
                came: row.get("came")?,
                charged: row.get("charged")?,
                place: row.get("place")?,
                by: row.get("by")?,
            })
        },
    )
}

/// Keeps what was said of a line, in place of what was said of it before.
///
/// # Errors
/// [`StoreError`].
pub fn put(conn: &Connection, order: OrderId, check: &Check, at: Moment) -> Result<(), StoreError> {
    conn.prepare_cached(
        "INSERT INTO delivery_check (purchase_order, line, came, charged, place, by, at)
         VALUES (:order, :line, :came, :charged, :place, :by, :at)
         ON CONFLICT (purchase_order, line) DO UPDATE SET came = excluded.came, charged = excluded.charged,
             place = excluded.place, by = excluded.by, at = excluded.at",
    )
    .and_then(|mut s| {
        s.execute(named_params! {
            ":order": order, ":line": check.line, ":came": check.came, ":charged": check.charged,
            ":place": check.place, ":by": check.by, ":at": at,
        })
    })
    .doing("keeping what came of an order")
    .map(|_| ())
}

/// Forgets what was said of an order that is not on its way any more.
///
/// # Errors
/// [`StoreError`].
pub(super) fn forget(conn: &Connection, order: OrderId) -> Result<(), StoreError> {
    conn.prepare_cached("DELETE FROM delivery_check WHERE purchase_order = :order")
        .and_then(|mut s| s.execute(named_params! { ":order": order }))
        .doing("forgetting what came of an order")
        .map(|_| ())
}
