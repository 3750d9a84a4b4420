//! Every change of a row is written down by the database itself, whoever makes it.

use crate::store::StoreError;
use crate::store::error::Doing;
use crate::store::query::all;
use rusqlite::{Connection, named_params};

/// Tables that are no facts: what tells the history, and sums that can be made anew.
const APART: &[&str] = &["act", "change", "sale_day", "sale_day_state"];

/// Tables whose new rows are told otherwise: counted lines by their number, lines of receipts by their tally. There are too
/// many of them to write each down twice.
const MANY: &[&str] = &["count_line", "sale"];

/// One column of a table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Column {
    pub(super) name: String,
    /// Whether it is a part of the key that tells rows apart.
    pub(super) key: bool,
}

/// The tables whose rows are watched.
pub(super) fn tables(conn: &Connection) -> Result<Vec<String>, StoreError> {
    let sql =
        "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite\\_%' ESCAPE '\\' ORDER BY name";
    let tables: Vec<String> = all("reading which tables there are", conn, sql, [], |row| row.get("name"))?;
    Ok(tables.into_iter().filter(|table| !APART.contains(&table.as_str())).collect())
}

/// Whether a new row of a table is written down as a change.
pub(super) fn tells_new_rows(table: &str) -> bool {
    !MANY.contains(&table)
}

/// The columns of a table, in their order.
pub(super) fn columns(conn: &Connection, table: &str) -> Result<Vec<Column>, StoreError> {
    let sql = "SELECT name, pk FROM pragma_table_info(:table) ORDER BY cid";
    all("reading the columns of a table", conn, sql, named_params! { ":table": table }, |row| {
        Ok(Column { name: row.get("name")?, key: row.get::<_, i64>("pk")? > 0 })
    })
}

/// A row as JSON, in SQL.
pub(super) fn image(columns: &[Column], row: &str) -> String {
    let pairs: Vec<String> = columns.iter().map(|c| format!("'{0}', {row}\"{0}\"", c.name)).collect();
    format!("json_object({})", pairs.join(", "))
}

/// Makes the triggers that write changes down, in place of those that there were: a migration may have changed columns.
pub(super) fn watch(conn: &Connection) -> Result<(), StoreError> {
    let doing = "watching the tables of the book";
    for table in tables(conn)? {
        let columns = columns(conn, &table)?;
        let (old, new) = (image(&columns, "OLD."), image(&columns, "NEW."));
        let differs: Vec<String> = columns.iter().map(|c| format!("OLD.\"{0}\" IS NOT NEW.\"{0}\"", c.name)).collect();
        let put = |before: &str, after: &str| {
            format!("BEGIN INSERT INTO change (tab, before, after) VALUES ('{table}', {before}, {after}); END")
        };
        let mut sql = String::new();
        for (name, when, body) in [
            ("entered", "INSERT", put("NULL", &new)),
            ("changed", "UPDATE", put(&old, &new)),
            ("left", "DELETE", put(&old, "NULL")),
        ] {
            sql.push_str(&format!("DROP TRIGGER IF EXISTS \"{table}_{name}\";\n"));
            if name == "entered" && !tells_new_rows(&table) {
                continue;
            }
            let only = if name == "changed" { format!(" WHEN {}", differs.join(" OR ")) } else { String::new() };
            sql.push_str(&format!("CREATE TRIGGER \"{table}_{name}\" AFTER {when} ON \"{table}\"{only} {body};\n"));
        }
        conn.execute_batch(&sql).doing(doing)?;
    }
    Ok(())
}
