//! Orders to suppliers.

use super::convert::Day;
use super::error::Doing;
use super::query::all;
use super::{StoreError, checks};
use crate::domain::ledger::{Order, OrderLine};
use crate::domain::venue::{Moment, OrderId, OrderState, name_key};
use chrono::NaiveDate;
use rusqlite::{Connection, OptionalExtension, Row, named_params};

/// What every order is called.
///
/// # Errors
/// [`StoreError`].
pub fn names(conn: &Connection) -> Result<Vec<(OrderId, String)>, StoreError> {
    all("reading the names of orders", conn, "SELECT id, name FROM purchase_order", [], |row| {
        Ok((row.get("id")?, row.get("name")?))
    })
}

/// The orders in some states, the newest first.
///
/// # Errors
/// [`StoreError`].
pub fn list(conn: &Connection, states: &[OrderState]) -> Result<Vec<Order>, StoreError> {
    placed_since(conn, states, Moment(i64::MIN))
}

/// The orders in some states that were placed at a moment or later, the newest first.
///
/// # Errors
/// [`StoreError`].
pub fn placed_since(conn: &Connection, states: &[OrderState], since: Moment) -> Result<Vec<Order>, StoreError> {
    let doing = "reading orders";
    let mut orders = Vec::new();
    for state in states {
        // A draft was not placed: it is only there when all of time is asked for.
        let sql = "SELECT * FROM purchase_order WHERE state = :state AND coalesce(placed, :never) >= :since";
        let never = Moment(i64::MIN);
        orders.extend(all(
            doing,
            conn,
            sql,
            named_params! { ":state": state, ":never": never, ":since": since },
            order,
        )?);
    }
    orders.sort_by_key(|o| std::cmp::Reverse(o.id));
    for order in &mut orders {
        order.lines = lines(conn, order.id)?;
    }
    Ok(orders)
}

/// One order.
///
/// # Errors
/// [`StoreError::NotFound`].
pub fn get(conn: &Connection, id: OrderId) -> Result<Order, StoreError> {
    let found = conn
        .prepare_cached("SELECT * FROM purchase_order WHERE id = :id")
        .and_then(|mut s| s.query_row(named_params! { ":id": id }, order).optional())
        .doing("reading an order")?;
    let mut order = found.ok_or(StoreError::NotFound { kind: "order", id: id.0 })?;
    order.lines = lines(conn, id)?;
    Ok(order)
}

/// An order by name.
///
/// # Errors
/// [`StoreError`].
pub fn find(conn: &Connection, name: &str) -> Result<Option<Order>, StoreError> {
    let found = conn
        .prepare_cached("SELECT * FROM purchase_order WHERE name_key = :key")
        .and_then(|mut s| s.query_row(named_params! { ":key": name_key(name) }, order).optional())
        .doing("looking for an order")?;
    let Some(mut order) = found else { return Ok(None) };
    order.lines = lines(conn, order.id)?;
    Ok(Some(order))
}

fn order(row: &Row<'_>) -> rusqlite::Result<Order> {
    let expected: Option<Day> = row.get("expected")?;
    Ok(Order {
        id: row.get("id")?,
        name: row.get("name")?,
        supplier: row.get("supplier")?,
        state: row.get("state")?,
        placed: row.get("placed")?,
        expected: expected.and_then(|day| day.0),
        lines: Vec::new(),
    })
}

fn lines(conn: &Connection, order: OrderId) -> Result<Vec<OrderLine>, StoreError> {
    let doing = "reading the lines of an order";
    let mut statement = conn
        .prepare_cached("SELECT * FROM purchase_order_line WHERE purchase_order = :order ORDER BY line")
        .doing(doing)?;
    let rows = statement
        .query_map(named_params! { ":order": order }, |row| {
            Ok(OrderLine {
                line: row.get("line")?,
                item: row.get("item")?,
                packs: row.get("packs")?,
                pack: row.get("pack")?,
                price: row.get("price")?,
            })
        })
        .doing(doing)?;
    rows.collect::<rusqlite::Result<_>>().doing(doing)
}

/// Keeps a new order with its lines; its handle is not looked at.
///
/// # Errors
/// [`StoreError::Sql`] when the name is taken.
pub fn create(conn: &Connection, order: &Order) -> Result<OrderId, StoreError> {
    let id: OrderId = conn
        .prepare_cached(
            "INSERT INTO purchase_order (name, name_key, supplier, state, placed, expected)
             VALUES (:name, :key, :supplier, :state, :placed, :expected) RETURNING id",
        )
        .and_then(|mut s| {
            s.query_row(
                named_params! {
                    ":name": order.name.trim(), ":key": name_key(&order.name), ":supplier": order.supplier,
                    ":state": order.state, ":placed": order.placed,
                    ":expected": order.expected.map(|day| Day(Some(day))),
                },
                |row| row.get("id"),
            )
        })
        .doing("saving an order")?;
    put_lines(conn, id, &order.lines)?;
    Ok(id)
}

/// Keeps the lines of an order in place of those it had.
///
/// # Errors
/// [`StoreError::NotFound`].
pub fn put_lines(conn: &Connection, id: OrderId, lines: &[OrderLine]) -> Result<(), StoreError> {
    let doing = "saving the lines of an order";
    let known: bool = conn
        .prepare_cached("SELECT EXISTS (SELECT 1 FROM purchase_order WHERE id = :id) AS known")
        .and_then(|mut s| s.query_row(named_params! { ":id": id }, |row| row.get("known")))
        .doing(doing)?;
    if !known {
        return Err(StoreError::NotFound { kind: "order", id: id.0 });
    }
    conn.prepare_cached("DELETE FROM purchase_order_line WHERE purchase_order = :id")
        .and_then(|mut s| s.execute(named_params! { ":id": id }))
        .doing(doing)?;
    let mut insert = conn
        .prepare_cached(
            "INSERT INTO purchase_order_line (purchase_order, line, item, packs, pack, price)
             VALUES (:order, :line, :item, :packs, :pack, :price)",
        )
        .doing(doing)?;
    for line in lines {
        insert
            .execute(named_params! {
                ":order": id, ":line": line.line, ":item": line.item, ":packs": line.packs, ":pack": line.pack,
                ":price": line.price,
            })
            .doing(doing)?;
    }
    Ok(())
}

/// Says where an order stands; a time or date that is not given stays as it was.
///
/// # Errors
/// [`StoreError::NotFound`].
pub fn set_state(
    conn: &Connection,
    id: OrderId,
    state: OrderState,
    placed: Option<Moment>,
    expected: Option<NaiveDate>,
) -> Result<(), StoreError> {
    let changed = conn
        .prepare_cached(
            "UPDATE purchase_order SET state = :state, placed = coalesce(:placed, placed),
                 expected = coalesce(:expected, expected) WHERE id = :id",
        )
        .and_then(|mut s| {
            s.execute(named_params! {
                ":id": id, ":state": state, ":placed": placed, ":expected": expected.map(|day| Day(Some(day))),
            })
        })
        .doing("saving where an order stands")?;
    if changed == 0 {
        return Err(StoreError::NotFound { kind: "order", id: id.0 });
    }
    if state == OrderState::Sent { Ok(()) } else { checks::forget(conn, id) }
}

/// Throws a draft away.
///
/// # Errors
/// [`StoreError::NotFound`] when there is no such order, or it was sent.
pub fn delete_draft(conn: &Connection, id: OrderId) -> Result<(), StoreError> {
    let changed = conn
        .prepare_cached("DELETE FROM purchase_order WHERE id = :id AND state = :draft")
        .and_then(|mut s| s.execute(named_params! { ":id": id, ":draft": OrderState::Draft }))
        .doing("throwing a draft away")?;
    if changed == 0 { Err(StoreError::NotFound { kind: "draft order", id: id.0 }) } else { Ok(()) }
}
