//! Rows into the new book.

use super::parts::{self, Tally};
use super::plan::Table;
use super::prune::Why;
use super::read::{Keeper, Taken};
use super::walk::Row;
use crate::store::StoreError;
use crate::store::error::Doing;
use crate::store::query::all;
use rusqlite::config::DbConfig;
use rusqlite::types::Value;
use rusqlite::{Connection, ErrorCode, Transaction, TransactionBehavior, ffi, params_from_iter};

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

/// Does something that is kept only when it says so first.
pub(super) fn within<T>(
    conn: &Connection,
    work: impl FnOnce(&Connection) -> Result<(bool, T), StoreError>,
) -> Result<T, StoreError> {
    conn.execute_batch("SAVEPOINT trying").doing(DOING)?;
    let done = work(conn);
    let keep = matches!(done, Ok((true, _)));
    conn.execute_batch(if keep { "RELEASE trying" } else { "ROLLBACK TO trying; RELEASE trying" }).doing(DOING)?;
    done.map(|(_, value)| value)
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

/// The new book, as rows come into it.
pub(super) struct NewBook<'c> {
    conn: &'c Connection,
    tally: &'c mut Tally,
    /// The last number that was given out in each table.
    pub(super) sequences: Vec<(String, i64)>,
}

/// What the new book says to a row.
enum Answer {
    Taken,
    Twice,
    Senseless,
}

impl<'c> NewBook<'c> {
    pub(super) fn new(conn: &'c Connection, tally: &'c mut Tally) -> NewBook<'c> {
        NewBook { conn, tally, sequences: Vec::new() }
    }

    fn left_out(&mut self, table: &Table, why: Why) {
        *self.tally.entry((table.name.clone(), why)).or_default() += 1;
    }

    fn insert(&self, table: &Table, row: &Row) -> Result<Answer, StoreError> {
        let marks = vec!["?"; table.columns.len()].join(", ");
        let sql = format!("INSERT INTO \"{}\" ({}) VALUES ({marks})", table.name, names(table));
        let put = self.conn.prepare_cached(&sql).and_then(|mut s| s.execute(params_from_iter(&row.values)));
        let error = match put {
            Ok(_) => return Ok(Answer::Taken),
            Err(error) => error,
        };
        match error.sqlite_error().map(|error| (error.code, error.extended_code)) {
            Some((
                ErrorCode::ConstraintViolation,
                ffi::SQLITE_CONSTRAINT_PRIMARYKEY | ffi::SQLITE_CONSTRAINT_ROWID | ffi::SQLITE_CONSTRAINT_UNIQUE,
            )) => Ok(Answer::Twice),
            // The latter two are a number that the engine cannot take where it stands.
            Some((ErrorCode::ConstraintViolation | ErrorCode::TypeMismatch | ErrorCode::TooBig, _)) => {
                Ok(Answer::Senseless)
            }
            _ => Err(error).doing(DOING),
        }
    }

    fn not_left_out(&mut self, table: &Table, why: Why) {
        let key = (table.name.clone(), why);
        if let Some(rows) = self.tally.get_mut(&key) {
            *rows -= 1;
            if *rows == 0 {
                self.tally.remove(&key);
            }
        }
    }

    /// Whether just this row is there.
    fn has(&self, table: &Table, row: &Row) -> Result<bool, StoreError> {
        let same: Vec<String> = table.columns.iter().map(|column| format!("\"{}\" IS ?", column.name)).collect();
        let sql = format!("SELECT EXISTS (SELECT 1 FROM \"{}\" WHERE {}) AS same", table.name, same.join(" AND "));
        let found = self.conn.prepare_cached(&sql);
        found.and_then(|mut s| s.query_row(params_from_iter(&row.values), |row| row.get("same"))).doing(DOING)
    }

    /// The rows that stand where a row would, of its number or key, or of what only one row may say: what they are known by,
    /// and what they say in the columns of indexes.
    fn in_place_of(&self, table: &Table, row: &Row) -> Result<Vec<Row>, StoreError> {
        let plain = || table.indexes.iter().filter(|index| index.plain);
        let only = plain().filter(|index| index.unique).map(|index| index.columns.iter().flatten().copied().collect());
        let groups: Vec<Vec<usize>> = table.identity().into_iter().chain(only).collect();
        if groups.is_empty() {
            return Ok(Vec::new());
        }
        let same: Vec<String> = groups.iter().map(|columns| same(table, columns)).collect();
        let asked = |place: &usize| {
            plain().any(|index| index.columns.contains(&Some(*place))) || groups.iter().any(|of| of.contains(place))
        };
        // A long note of one row would be read for each that it is in the way of.
        let names: Vec<String> = (0..table.columns.len())
            .map(|place| if asked(&place) { format!("\"{}\"", table.columns[place].name) } else { "NULL".to_owned() })
            .collect();
        let sql = format!("SELECT {} FROM \"{}\" WHERE {}", names.join(", "), table.name, same.join(" OR "));
        let values = params_from_iter(groups.iter().flatten().map(|place| &row.values[*place]));
        all(DOING, self.conn, &sql, values, |row| {
            let values: Vec<Value> = (0..table.columns.len()).map(|n| row.get(n)).collect::<rusqlite::Result<_>>()?;
            let number = match table.number.map(|n| &values[n]) {
                Some(Value::Integer(number)) => *number,
                _ => 0,
            };
            Ok(Row { number, values, sure: true })
        })
    }

    /// Puts a row in the place of others; says whether it could.
    fn put_instead(&self, table: &Table, row: &Row, others: &[Row]) -> Result<bool, StoreError> {
        let Some(columns) = table.identity() else { return Ok(false) };
        let sql = format!("DELETE FROM \"{}\" WHERE {}", table.name, same(table, &columns));
        within(self.conn, |conn| {
            for other in others {
                let values = params_from_iter(columns.iter().map(|place| &other.values[*place]));
                conn.prepare_cached(&sql).and_then(|mut s| s.execute(values)).doing(DOING)?;
            }
            let taken = matches!(self.insert(table, row)?, Answer::Taken);
            Ok((taken, taken))
        })
    }
}

/// The columns of a table, as they are written in a statement.
fn names(table: &Table) -> String {
    table.columns.iter().map(|column| format!("\"{}\"", column.name)).collect::<Vec<_>>().join(", ")
}

/// That a row says certain values in these columns.
fn same(table: &Table, columns: &[usize]) -> String {
    let same = columns.iter().map(|place| format!("\"{}\" = ?", table.columns[*place].name));
    format!("({})", same.collect::<Vec<_>>().join(" AND "))
}

impl Keeper for NewBook<'_> {
    fn put(&mut self, table: &Table, row: &Row) -> Result<Taken, StoreError> {
        if table.name == "sqlite_sequence" {
            if let [Value::Text(of), Value::Integer(last)] = &row.values[..] {
                self.sequences.push((of.clone(), *last));
            }
            return Ok(Taken::Yes);
        }
        if !parts::is_told(&table.name) {
            return Ok(Taken::Yes);
        }
        match self.insert(table, row)? {
            Answer::Taken => Ok(Taken::Yes),
            Answer::Senseless => {
                self.left_out(table, Why::Senseless);
                Ok(Taken::No)
            }
            Answer::Twice if self.has(table, row)? => Ok(Taken::Already),
            Answer::Twice => {
                self.left_out(table, Why::Twice);
                Ok(Taken::Beaten)
            }
        }
    }

    fn put_again(
        &mut self,
        table: &Table,
        row: &Row,
        better: &dyn Fn(&[Row]) -> bool,
    ) -> Result<Option<Vec<Row>>, StoreError> {
        if let Answer::Taken = self.insert(table, row)? {
            self.not_left_out(table, Why::Twice);
            return Ok(Some(Vec::new()));
        }
        if self.has(table, row)? {
            self.not_left_out(table, Why::Twice);
            return Ok(None);
        }
        let others = self.in_place_of(table, row)?;
        if others.is_empty() || !better(&others) || !self.put_instead(table, row, &others)? {
            return Ok(None);
        }
        // It was left out itself so far: of one other as many are left out as before.
        others.iter().skip(1).for_each(|_| self.left_out(table, Why::Twice));
        Ok(Some(others))
    }
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::store::STEPS;

    /// One row after another comes to its place, whatever was in the way of it when it was first put, and nobody goes who is
    /// in nobody's way.
    #[test]
    fn what_was_in_the_way_before_is_not_what_is_in_the_way_now() {
        let conn = Connection::open_in_memory().unwrap();
        STEPS.iter().for_each(|step| conn.execute_batch(step).unwrap());
        for guard in [DbConfig::SQLITE_DBCONFIG_ENABLE_FKEY, DbConfig::SQLITE_DBCONFIG_ENABLE_TRIGGER] {
            conn.set_db_config(guard, false).unwrap();
        }
        let plans = super::super::plan::all().unwrap();
        let table = plans.last().unwrap().tables.iter().find(|table| table.name == "sale").unwrap();
        let row = |number: i64, receipt: &str| {
            let mut values: Vec<Value> = vec![Value::Integer(1); table.columns.len()];
            for (column, value) in table.columns.iter().zip(&mut values) {
                match column.name.as_str() {
                    "id" => *value = Value::Integer(number),
                    "receipt" => *value = Value::Text(receipt.to_owned()),
                    "file" => *value = Value::Null,
                    _ => {}
                }
            }
            Row { number, values, sure: true }
        };
        let mut tally = Tally::new();
        let mut new = NewBook::new(&conn, &mut tally);
        let (damaged, first, second) = (row(5, "two"), row(5, "one"), row(9, "two"));
        assert!(matches!(new.put(table, &damaged), Ok(Taken::Yes)));
        assert!(matches!(new.put(table, &damaged), Ok(Taken::Already)));
        for beaten in [&first, &second, &second] {
            assert!(matches!(new.put(table, beaten), Ok(Taken::Beaten)));
        }
        assert!(new.put_again(table, &second, &|_| false).unwrap().is_none());
        let gone = new.put_again(table, &first, &|others| others.len() == 1 && others[0].number == 5).unwrap();
        assert_eq!(gone.unwrap().len(), 1);
        // Its place is free by now, and the third is the same as the second.
        assert_eq!(new.put_again(table, &second, &|_| unreachable!()).unwrap().unwrap().len(), 0);
        assert!(new.put_again(table, &second, &|_| unreachable!()).unwrap().is_none());
        let there: Vec<(i64, String)> = all(DOING, &conn, "SELECT id, receipt FROM sale ORDER BY id", [], |row| {
            Ok((row.get("id")?, row.get("receipt")?))
        })
        .unwrap();
        assert_eq!(there, [(5, "one".to_owned()), (9, "two".to_owned())]);
        assert_eq!(tally.into_iter().collect::<Vec<_>>(), [(("sale".to_owned(), Why::Twice), 1)], "the damaged one");
    }
}
