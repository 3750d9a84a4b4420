//! Names that change, and what is taken away again.

use crate::domain::venue::{ItemId, Offer, PlaceId, SupplierId, name_key};
use crate::store::StoreError;
use crate::store::convert::Day;
use crate::store::error::Doing;
use rusqlite::{Connection, ErrorCode, ToSql, named_params};

/// What has a name under which it is found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Named {
    /// An item.
    Item(ItemId),
    /// A place.
    Place(PlaceId),
    /// A supplier.
    Supplier(SupplierId),
}

impl Named {
    fn table(self) -> (&'static str, i64) {
        match self {
            Named::Item(id) => ("item", id.0),
            Named::Place(id) => ("place", id.0),
            Named::Supplier(id) => ("supplier", id.0),
        }
    }
}

/// Gives something another name, which no other of its sort has.
///
/// # Errors
/// [`StoreError::NotFound`].
pub fn rename(conn: &Connection, named: Named, name: &str) -> Result<(), StoreError> {
    let (table, id) = named.table();
    let changed = conn
        .prepare_cached(&format!("UPDATE {table} SET name = :name, name_key = :key WHERE id = :id"))
        .and_then(|mut s| s.execute(named_params! { ":id": id, ":name": name.trim(), ":key": name_key(name) }))
        .doing("renaming")?;
    if changed == 0 { Err(StoreError::NotFound { kind: table, id }) } else { Ok(()) }
}

/// Takes something away; false where anything names it, and then it stays.
///
/// # Errors
/// [`StoreError`].
pub fn drop_named(conn: &Connection, named: Named) -> Result<bool, StoreError> {
    let (table, id) = named.table();
    let done = conn
        .prepare_cached(&format!("DELETE FROM {table} WHERE id = :id"))
        .and_then(|mut s| s.execute(named_params! { ":id": id }));
    match done {
        Err(error) if error.sqlite_error_code() == Some(ErrorCode::ConstraintViolation) => Ok(false),
        other => other.doing("taking it away").map(|_| true),
    }
}

/// Takes an item's spot in a place away.
///
/// # Errors
/// [`StoreError`].
pub fn drop_shelf(conn: &Connection, place: PlaceId, item: ItemId) -> Result<(), StoreError> {
    drop_row(
        conn,
        "DELETE FROM shelf WHERE place = :place AND item = :item",
        named_params! { ":place": place, ":item": item },
    )
}

/// Takes an offer away, found by supplier, item, pack and first day.
///
/// # Errors
/// [`StoreError`].
pub fn drop_offer(conn: &Connection, offer: &Offer) -> Result<(), StoreError> {
    drop_row(
        conn,
        "DELETE FROM offer WHERE supplier = :supplier AND item = :item AND pack = :pack AND from_day = :from",
        named_params! {
            ":supplier": offer.supplier, ":item": offer.item, ":pack": offer.pack, ":from": Day(offer.from),
        },
    )
}

fn drop_row(conn: &Connection, sql: &str, of: &[(&str, &dyn ToSql)]) -> Result<(), StoreError> {
    conn.prepare_cached(sql).and_then(|mut s| s.execute(of)).doing("taking it away").map(|_| ())
}
