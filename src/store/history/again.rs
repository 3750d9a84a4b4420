//! A fact that was taken back, entered once more.

use super::watching::columns;
use crate::domain::venue::{Moment, Seq};
use crate::store::StoreError;
use crate::store::error::Doing;
use rusqlite::{Connection, named_params};

/// Enters a row of a table whose rows only grow once more, as it was but for its number and when it was entered.
///
/// # Errors
/// [`StoreError::NotFound`] when there is no such row.
pub fn again(conn: &Connection, table: &str, seq: Seq, entered: Moment) -> Result<Seq, StoreError> {
    let columns = columns(conn, table)?;
    let others: Vec<&str> = columns.iter().map(|c| c.name.as_str()).filter(|name| *name != "seq").collect();
    let list: Vec<String> = others.iter().map(|name| format!("\"{name}\"")).collect();
    let values: Vec<String> = others
        .iter()
        .map(|name| match *name {
            "entered" => ":entered".to_owned(),
            "reverses" => "NULL".to_owned(),
            name => format!("\"{name}\""),
        })
        .collect();
    let sql = format!(
        "INSERT INTO \"{table}\" ({}) SELECT {} FROM \"{table}\" WHERE seq = :seq AND :entered IS NOT NULL",
        list.join(", "),
        values.join(", ")
    );
    let changed = conn
        .prepare_cached(&sql)
        .and_then(|mut s| s.execute(named_params! { ":seq": seq, ":entered": entered }))
        .doing("entering a fact again")?;
    if changed == 0 { Err(StoreError::NotFound { kind: "fact", id: seq.0 }) } else { Ok(Seq(conn.last_insert_rowid())) }
}
