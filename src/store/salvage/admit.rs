//! Rows that were read but say what no part of the program can read: found by letting it read them, and left out.

use super::parts::Tally;
use super::prune::{self, Why};
use super::put::within;
use crate::domain::venue::{Moment, OrderState, SaleKind};
use crate::store::check::{self, Finding};
use crate::store::error::Doing;
use crate::store::{StoreError, bills, explanations, files, journal, layouts, orders, setup, weighings};
use rusqlite::{Connection, named_params};

const DOING: &str = "leaving out what cannot be read";

/// A reader of the program, and the tables that it reads: first those that mean nothing without the others.
struct Probe {
    reads: fn(&Connection) -> Result<bool, StoreError>,
    tables: &'static [&'static str],
}

const PROBES: &[Probe] = &[
    Probe {
        reads: |conn| setup::load(conn).map(|_| true),
        tables: &[
            "venue",
            "person",
            "place",
            "profile_filling",
            "profile",
            "item",
            "item_gtin",
            "supplier",
            "special_day",
            "shelf",
            "offer",
            "glass",
            "drink",
            "drink_version",
            "spec_line",
            "recipe_line",
            "recipe",
            "till_name",
        ],
    },
    Probe { reads: |conn| weighings::list(conn).map(|_| true), tables: &["weighing"] },
    Probe {
        reads: |conn| {
            let (first, last) = (Moment(i64::MIN), Moment(i64::MAX));
            journal::deliveries(conn, first, last)?;
            journal::transfers(conn, first, last)?;
            journal::batches(conn, first, last)?;
            journal::losses(conn, first, last).map(|_| true)
        },
        tables: &["delivery", "transfer", "batch", "loss", "journal"],
    },
    Probe {
        reads: |conn| orders::list(conn, OrderState::ALL).map(|_| true),
        tables: &["purchase_order_line", "purchase_order"],
    },
    Probe { reads: |conn| files::newest(conn, u32::MAX).map(|_| true), tables: &["file_withdrawal", "taken_file"] },
    Probe {
        reads: |conn| {
            layouts::list(conn)?;
            finds_nothing(conn, check::files::of_layouts)
        },
        tables: &["till_layout_column", "till_layout"],
    },
    Probe {
        reads: |conn| finds_nothing(conn, check::files::of_suppliers),
        tables: &["supplier_code", "supplier_alias"],
    },
    Probe {
        reads: |conn| {
            bills::list(conn)?;
            finds_nothing(conn, check::files::of_bills)
        },
        tables: &["bill_withdrawal", "bill"],
    },
    Probe { reads: |conn| finds_nothing(conn, check::files::of_claims), tables: &["claim_settlement", "claim"] },
    Probe {
        reads: |conn| {
            explanations::list(conn)?;
            Ok(check::explanations::all(conn)?.is_empty())
        },
        tables: &["explanation"],
    },
];

fn finds_nothing(
    conn: &Connection,
    look: fn(&Connection, &mut Vec<Finding>) -> Result<(), StoreError>,
) -> Result<bool, StoreError> {
    let mut found = Vec::new();
    look(conn, &mut found)?;
    Ok(found.is_empty())
}

/// Whether a probe reads everything; the bar's own settings, where they are lost, stand in the way of nothing else.
fn reads(conn: &Connection, probe: &Probe) -> Result<bool, StoreError> {
    within(conn, |conn| {
        conn.execute(
            "INSERT OR IGNORE INTO venue (key, value) VALUES ('name', '-'), ('currency', 'EUR'), ('time_zone', 'UTC')",
            [],
        )
        .doing(DOING)?;
        match (probe.reads)(conn) {
            Ok(fine) => Ok((false, fine)),
            Err(StoreError::Busy { doing }) => Err(StoreError::Busy { doing }),
            Err(StoreError::CannotWrite { doing, why }) => Err(StoreError::CannotWrite { doing, why }),
            Err(_) => Ok((false, false)),
        }
    })
}

/// Leaves out every row that stands in the way of reading the others.
pub(super) fn admit(conn: &Connection, tally: &mut Tally) -> Result<(), StoreError> {
    let mut left = |table: &str, rows: usize| {
        if rows > 0 {
            *tally.entry((table.to_owned(), Why::Senseless)).or_default() += rows as u64;
        }
    };
    for found in check::readings(conn)? {
        if let Finding::Reading { seq, .. } = found {
            let rows = conn.execute("DELETE FROM count_line WHERE seq = :seq", named_params! { ":seq": seq });
            left("count_line", rows.doing(DOING)?);
        }
    }
    let kinds = SaleKind::ALL.len() as i64;
    for table in ["sale", "withdrawn_sale"] {
        let sql = format!("DELETE FROM {table} WHERE kind NOT BETWEEN 0 AND :last");
        left(table, conn.execute(&sql, named_params! { ":last": kinds - 1 }).doing(DOING)?);
    }
    let states: Vec<String> = OrderState::ALL.iter().map(|state| format!("'{}'", state.word())).collect();
    let sql = format!("DELETE FROM purchase_order WHERE state NOT IN ({})", states.join(", "));
    left("purchase_order", conn.execute(&sql, []).doing(DOING)?);
    // A cause of a count that is not closed any more.
    let open = "DELETE FROM explanation WHERE closing IS NOT NULL
        AND NOT EXISTS (SELECT 1 FROM count_closing c WHERE c.count = explanation.closing AND c.place IS NULL)";
    let rows = conn.execute(open, []).doing(DOING)?;
    if rows > 0 {
        *tally.entry(("explanation".to_owned(), Why::Names("count_closing".to_owned()))).or_default() += rows as u64;
    }
    for probe in PROBES {
        if !reads(conn, probe)? {
            sift(conn, probe, tally)?;
        }
    }
    Ok(())
}

/// Takes all rows of a probe's tables out and puts them in again, as many at once as can be read.
fn sift(conn: &Connection, probe: &Probe, tally: &mut Tally) -> Result<(), StoreError> {
    let mut counts = Vec::new();
    for table in probe.tables {
        conn.execute_batch(&format!(
            "DROP TABLE IF EXISTS temp.\"sifted_{table}\";
             CREATE TEMP TABLE \"sifted_{table}\" AS SELECT row_number() OVER () AS sifted_row, t.* FROM main.\"{table}\" t;
             DELETE FROM main.\"{table}\";"
        ))
        .doing(DOING)?;
        let sql = format!("SELECT count(*) FROM temp.\"sifted_{table}\"");
        counts.push(conn.query_row(&sql, [], |row| row.get::<_, i64>(0)).doing(DOING)?);
    }
    let mut refused = Vec::new();
    for (table, count) in probe.tables.iter().zip(counts) {
        let columns = columns(conn, table)?;
        let mut stretches = vec![(1, count)];
        while let Some((from, to)) = stretches.pop() {
            if from > to || put(conn, probe, table, &columns, from, to)? {
                continue;
            }
            if from == to {
                refused.push((*table, columns.clone(), from));
            } else {
                let middle = from + (to - from) / 2;
                // The last that is pushed comes first.
                stretches.extend([(middle + 1, to), (from, middle)]);
            }
        }
    }
    for (table, columns, row) in refused {
        // What was refused for want of something that came later.
        if !put(conn, probe, table, &columns, row, row)? {
            let why = within(conn, |conn| {
                insert(conn, table, &columns, row, row)?;
                Ok((false, prune::dangling(conn, table)?.map_or(Why::Senseless, Why::Names)))
            })?;
            *tally.entry((table.to_owned(), why)).or_default() += 1;
        }
    }
    for table in probe.tables {
        conn.execute_batch(&format!("DROP TABLE temp.\"sifted_{table}\"")).doing(DOING)?;
    }
    Ok(())
}

fn columns(conn: &Connection, table: &str) -> Result<String, StoreError> {
    let mut statement = conn.prepare("SELECT name FROM pragma_table_info(:table)").doing(DOING)?;
    let names = statement.query_map(named_params! { ":table": table }, |row| row.get("name")).doing(DOING)?;
    let names: Vec<String> = names.collect::<rusqlite::Result<_>>().doing(DOING)?;
    Ok(names.iter().map(|name| format!("\"{name}\"")).collect::<Vec<_>>().join(", "))
}

/// Puts a stretch of rows in again, if everything can then be read.
fn put(conn: &Connection, probe: &Probe, table: &str, columns: &str, from: i64, to: i64) -> Result<bool, StoreError> {
    within(conn, |conn| {
        insert(conn, table, columns, from, to)?;
        let fine = reads(conn, probe)?;
        Ok((fine, fine))
    })
}

fn insert(conn: &Connection, table: &str, columns: &str, from: i64, to: i64) -> Result<(), StoreError> {
    let sql = format!(
        "INSERT INTO main.\"{table}\" ({columns}) SELECT {columns} FROM temp.\"sifted_{table}\"
         WHERE sifted_row BETWEEN :from AND :to ORDER BY sifted_row"
    );
    conn.execute(&sql, named_params! { ":from": from, ":to": to }).doing(DOING).map(|_| ())
}
