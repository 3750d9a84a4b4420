//! Rows into the new book.

use super::parts::{self, Tally};
use super::plan::Table;
use super::prune::Why;
use super::read::Taken;
use super::walk::Row;
use crate::store::StoreError;
use crate::store::error::Doing;
use rusqlite::config::DbConfig;
use rusqlite::types::Value;
use rusqlite::{Connection, ErrorCode, Transaction, TransactionBehavior, ffi};

const DOING: &str = "putting rows into the new book";

/// Works in one transaction, with references not enforced and no trigger run: rows come in any order, also into what only
/// grows.
pub(super) fn unguarded<T>(
    conn: &Connection,
    work: impl FnOnce(&Connection) -> Result<T, StoreError>,
) -> Result<T, StoreError> {
    let guards = [DbConfig::SQLITE_DBCONFIG_ENABLE_FKEY, DbConfig::SQLITE_DBCONFIG_ENABLE_TRIGGER];
    for guard in guards {
        conn.set_db_config(guard, false).doing(DOING)?;
    }
    let transaction = Transaction::new_unchecked(conn, TransactionBehavior::Immediate).doing(DOING)?;
    let done = work(&transaction)?;
    transaction.commit().doing(DOING)?;
    for guard in guards {
        conn.set_db_config(guard, true).doing(DOING)?;
    }
    Ok(done)
}

/// Takes out what a new book comes with, and says of which tables that was.
pub(super) fn take_out(conn: &Connection, tables: &[Table]) -> Result<Vec<String>, StoreError> {
    let mut fresh = Vec::new();
    for name in tables.iter().map(|table| &table.name).filter(|name| parts::is_told(name)) {
        let some = format!("SELECT EXISTS (SELECT 1 FROM main.\"{name}\") AS some");
        if conn.query_row(&some, [], |row| row.get("some")).doing(DOING)? {
            conn.execute_batch(&format!(
                "CREATE TEMP TABLE \"fresh_{name}\" AS SELECT * FROM main.\"{name}\"; DELETE FROM main.\"{name}\";"
            ))
            .doing(DOING)?;
            fresh.push(name.clone());
        }
    }
    Ok(fresh)
}

/// Puts back what a new book comes with where nothing was saved in its place.
pub(super) fn put_back(conn: &Connection, fresh: &[String]) -> Result<(), StoreError> {
    // The journal still says by what the book is told from others.
    let handle = "INSERT OR IGNORE INTO venue (key, value)
        SELECT 'uid', venue FROM journal WHERE venue <> '' GROUP BY venue ORDER BY count(*) DESC LIMIT 1";
    conn.execute(handle, []).doing(DOING)?;
    for name in fresh {
        conn.execute_batch(&format!(
            "INSERT OR IGNORE INTO main.\"{name}\" SELECT * FROM temp.\"fresh_{name}\"; DROP TABLE temp.\"fresh_{name}\";"
        ))
        .doing(DOING)?;
    }
    Ok(())
}

/// Puts one row into the new book.
pub(super) fn put(
    conn: &Connection,
    table: &Table,
    row: &Row,
    tally: &mut Tally,
    sequences: &mut Vec<(String, i64)>,
) -> Result<Taken, StoreError> {
    if table.name == "sqlite_sequence" {
        if let [Value::Text(of), Value::Integer(last)] = &row.values[..] {
            sequences.push((of.clone(), *last));
        }
        return Ok(Taken::Yes);
    }
    if !parts::is_told(&table.name) {
        return Ok(Taken::Yes);
    }
    let columns: Vec<String> = table.columns.iter().map(|column| format!("\"{}\"", column.name)).collect();
    let marks: Vec<String> = (1..=columns.len()).map(|n| format!("?{n}")).collect();
    let sql = format!("INSERT INTO \"{}\" ({}) VALUES ({})", table.name, columns.join(", "), marks.join(", "));
    let put = conn.prepare_cached(&sql).and_then(|mut s| s.execute(rusqlite::params_from_iter(&row.values)));
    let why = match put {
        Ok(_) => return Ok(Taken::Yes),
        Err(rusqlite::Error::SqliteFailure(error, _)) if error.code == ErrorCode::ConstraintViolation => {
            match error.extended_code {
                ffi::SQLITE_CONSTRAINT_PRIMARYKEY | ffi::SQLITE_CONSTRAINT_ROWID | ffi::SQLITE_CONSTRAINT_UNIQUE => {
                    let same: Vec<String> =
                        columns.iter().zip(&marks).map(|(column, mark)| format!("{column} IS {mark}")).collect();
                    let sql = format!(
                        "SELECT EXISTS (SELECT 1 FROM \"{}\" WHERE {}) AS same",
                        table.name,
                        same.join(" AND ")
                    );
                    let same = conn
                        .prepare_cached(&sql)
                        .and_then(|mut s| s.query_row(rusqlite::params_from_iter(&row.values), |row| row.get("same")));
                    if same.doing(DOING)? {
                        return Ok(Taken::Already);
                    }
                    Why::Twice
                }
                _ => Why::Senseless,
            }
        }
        // A number that the engine cannot take where it stands.
        Err(rusqlite::Error::SqliteFailure(error, _))
            if matches!(error.code, ErrorCode::TypeMismatch | ErrorCode::TooBig) =>
        {
            Why::Senseless
        }
        Err(error) => return Err(error).doing(DOING),
    };
    let taken = if why == Why::Twice { Taken::Already } else { Taken::No };
    *tally.entry((table.name.clone(), why)).or_default() += 1;
    Ok(taken)
}

/// Numbers that were given out are not given out again, although their rows may be lost. A number far beyond all rows is a
/// damaged one.
pub(super) fn go_on_from(conn: &Connection, sequences: &[(String, i64)]) -> Result<(), StoreError> {
    for (of, last) in sequences {
        conn.execute(
            "UPDATE sqlite_sequence SET seq = ?2 WHERE name = ?1 AND ?2 > seq AND ?2 - seq < 100000",
            rusqlite::params![of, last],
        )
        .doing(DOING)?;
    }
    Ok(())
}
