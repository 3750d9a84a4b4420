//! How the tables of tills are read.

use super::StoreError;
use super::error::Doing;
use super::query::all;
use crate::domain::till::{Layout, LayoutColumn};
use crate::domain::venue::name_key;
use rusqlite::{Connection, OptionalExtension, named_params};

/// Every layout, by name.
///
/// # Errors
/// [`StoreError`].
pub fn list(conn: &Connection) -> Result<Vec<Layout>, StoreError> {
    let doing = "reading the layouts of till tables";
    let heads = all(doing, conn, "SELECT * FROM till_layout ORDER BY name_key", [], |row| {
        let layout = Layout {
            name: row.get("name")?,
            columns: Vec::new(),
            decimal: row.get("decimal")?,
            dates: row.get("dates")?,
            amounts: row.get("amounts")?,
            tax: row.get("tax")?,
        };
        Ok((row.get::<_, i64>("id")?, layout))
    })?;
    let columns = "SELECT head, field FROM till_layout_column WHERE layout = :layout ORDER BY position";
    heads
        .into_iter()
        .map(|(id, layout)| {
            let columns = all(doing, conn, columns, named_params! { ":layout": id }, |row| {
                Ok(LayoutColumn { head: row.get("head")?, field: row.get("field")? })
            })?;
            Ok(Layout { columns, ..layout })
        })
        .collect()
}

/// Keeps a layout under its name, in place of an earlier one of that name and of any by which the same tables would be
/// read: two of them would leave to chance which one is. Says whether anything changed.
///
/// # Errors
/// [`StoreError`].
pub fn put(conn: &Connection, layout: &Layout) -> Result<bool, StoreError> {
    let doing = "keeping the layout of a till's table";
    let had = list(conn)?;
    let key = name_key(&layout.name);
    let other: Vec<&Layout> = had.iter().filter(|had| name_key(&had.name) != key && had.reads_as(layout)).collect();
    if other.is_empty() && had.contains(layout) {
        return Ok(false);
    }
    for other in other {
        forget(conn, &other.name)?;
    }
    let id: i64 = conn
        .query_row(
            "INSERT INTO till_layout (name, name_key, decimal, dates, amounts, tax)
             VALUES (:name, :key, :decimal, :dates, :amounts, :tax)
             ON CONFLICT (name_key) DO UPDATE SET name = excluded.name, decimal = excluded.decimal,
                 dates = excluded.dates, amounts = excluded.amounts, tax = excluded.tax
             RETURNING id",
            named_params! {
                ":name": layout.name, ":key": key, ":decimal": layout.decimal,
                ":dates": layout.dates, ":amounts": layout.amounts, ":tax": layout.tax,
            },
            |row| row.get("id"),
        )
        .doing(doing)?;
    conn.execute("DELETE FROM till_layout_column WHERE layout = :id", named_params! { ":id": id }).doing(doing)?;
    let mut statement = conn
        .prepare_cached(
            "INSERT INTO till_layout_column (layout, position, head, field) VALUES (:layout, :position, :head, :field)",
        )
        .doing(doing)?;
    for (position, column) in layout.columns.iter().enumerate() {
        statement
            .execute(named_params! {
                ":layout": id, ":position": position as i64, ":head": column.head, ":field": column.field,
            })
            .doing(doing)?;
    }
    Ok(true)
}

/// Forgets a layout, so that its tables are asked about again. Says whether there was one.
///
/// # Errors
/// [`StoreError`].
pub fn forget(conn: &Connection, name: &str) -> Result<bool, StoreError> {
    let found = conn
        .query_row(
            "DELETE FROM till_layout WHERE name_key = :key RETURNING id",
            named_params! { ":key": name_key(name) },
            |row| row.get::<_, i64>("id"),
        )
        .optional()
        .doing("forgetting the layout of a till's table")?;
    Ok(found.is_some())
}
