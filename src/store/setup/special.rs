//! Days that are not as usual.

use crate::domain::venue::{
    DayEffect, Factor, NamedDay, OrderBy, SpecialDay, SpecialDayId, Stretch, SupplierId, name_key,
};
use crate::store::StoreError;
use crate::store::error::Doing;
use crate::store::query::all;
use rusqlite::{Connection, named_params};

/// A row as it stands in the table.
struct Written {
    id: SpecialDayId,
    day: String,
    until: Option<String>,
    what: String,
    factor: Option<i64>,
    supplier: Option<SupplierId>,
    order_by: Option<String>,
}

/// Every special day, and the rows that have no meaning as [`StoreError::Unreadable`].
///
/// # Errors
/// [`StoreError`].
pub(super) fn special(
    conn: &Connection,
    doing: &'static str,
) -> Result<(Vec<SpecialDay>, Vec<StoreError>), StoreError> {
    let rows = all(doing, conn, "SELECT * FROM special_day ORDER BY id", [], |row| {
        Ok(Written {
            id: row.get("id")?,
            day: row.get("day")?,
            until: row.get("until")?,
            what: row.get("what")?,
            factor: row.get("factor")?,
            supplier: row.get("supplier")?,
            order_by: row.get("order_by")?,
        })
    })?;
    let (mut days, mut unreadable) = (Vec::new(), Vec::new());
    for row in rows {
        match row.read() {
            Ok(day) => days.push(day),
            Err(why) => {
                let written =
                    [&row.day, row.until.as_deref().unwrap_or_default(), row.order_by.as_deref().unwrap_or_default()];
                let written = written.into_iter().filter(|cell| !cell.is_empty()).collect::<Vec<_>>().join(", ");
                unreadable.push(StoreError::Unreadable {
                    place: format!("the special day {}", row.what),
                    written,
                    why,
                });
            }
        }
    }
    Ok((days, unreadable))
}

impl Written {
    fn read(&self) -> Result<SpecialDay, String> {
        let named = |text: &str| NamedDay::parse(text).map_err(|e| e.to_string());
        let until = self.until.as_deref().map(named).transpose()?;
        let days = Stretch::new(named(&self.day)?, until).map_err(|e| e.to_string())?;
        let effect = match (self.factor, self.supplier, &self.order_by) {
            (Some(thousandths), None, None) if (0..=Factor::MOST.0).contains(&thousandths) => {
                DayEffect::Demand(Factor(thousandths))
            }
            (None, Some(supplier), None) => DayEffect::SupplierClosed(supplier),
            (None, Some(supplier), Some(text)) => {
                let by = OrderBy::parse(text).map_err(|e| e.to_string())?;
                by.check(days).map_err(|e| e.to_string())?;
                DayEffect::ExtraVan { supplier, by }
            }
            _ => return Err("expected a factor or a supplier".to_owned()),
        };
        Ok(SpecialDay { id: self.id, days, what: self.what.clone(), effect })
    }
}

/// The columns that say what a special day does: factor, supplier, deadline.
fn columns(effect: DayEffect) -> (Option<i64>, Option<SupplierId>, Option<String>) {
    match effect {
        DayEffect::Demand(factor) => (Some(factor.0), None, None),
        DayEffect::SupplierClosed(supplier) => (None, Some(supplier), None),
        DayEffect::ExtraVan { supplier, by } => (None, Some(supplier), Some(by.to_string())),
    }
}

/// Keeps a special day, found by first day, name and supplier; its handle is not looked at.
///
/// # Errors
/// [`StoreError`].
pub fn put_special_day(conn: &Connection, day: &SpecialDay) -> Result<SpecialDayId, StoreError> {
    let (factor, supplier, order_by) = columns(day.effect);
    conn.prepare_cached(
        "INSERT INTO special_day (day, until, what, what_key, factor, supplier, order_by)
         VALUES (:day, :until, :what, :key, :factor, :supplier, :order_by)
         ON CONFLICT (day, what_key, ifnull(supplier, 0)) DO UPDATE SET until = excluded.until, what = excluded.what,
             factor = excluded.factor, order_by = excluded.order_by
         RETURNING id",
    )
    .and_then(|mut s| {
        s.query_row(
            named_params! {
                ":day": day.days.from().to_string(), ":until": day.days.until().map(|u| u.to_string()),
                ":what": day.what.trim(), ":key": name_key(&day.what), ":factor": factor, ":supplier": supplier,
                ":order_by": order_by,
            },
            |row| row.get("id"),
        )
    })
    .doing("saving a special day")
}

/// Keeps a special day in place of the one that has its handle.
///
/// # Errors
/// [`StoreError::NotFound`].
pub fn set_special_day(conn: &Connection, day: &SpecialDay) -> Result<(), StoreError> {
    let (factor, supplier, order_by) = columns(day.effect);
    let changed = conn
        .prepare_cached(
            "UPDATE special_day SET day = :day, until = :until, what = :what, what_key = :key, factor = :factor,
                 supplier = :supplier, order_by = :order_by WHERE id = :id",
        )
        .and_then(|mut s| {
            s.execute(named_params! {
                ":id": day.id, ":day": day.days.from().to_string(), ":until": day.days.until().map(|u| u.to_string()),
                ":what": day.what.trim(), ":key": name_key(&day.what), ":factor": factor, ":supplier": supplier,
                ":order_by": order_by,
            })
        })
        .doing("changing a special day")?;
    if changed == 0 { Err(StoreError::NotFound { kind: "special day", id: day.id.0 }) } else { Ok(()) }
}

/// Takes a special day away.
///
/// # Errors
/// [`StoreError::NotFound`].
pub fn drop_special_day(conn: &Connection, id: SpecialDayId) -> Result<(), StoreError> {
    let changed = conn
        .prepare_cached("DELETE FROM special_day WHERE id = :id")
        .and_then(|mut s| s.execute(named_params! { ":id": id }))
        .doing("taking a special day away")?;
    if changed == 0 { Err(StoreError::NotFound { kind: "special day", id: id.0 }) } else { Ok(()) }
}
