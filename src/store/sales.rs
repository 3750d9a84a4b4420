//! Lines of till receipts: a million of them go in, a week of them comes out.

use super::StoreError;
use super::convert::sale_kind_number;
use super::error::Doing;
use super::query::all;
use crate::domain::ledger::Sale;
use crate::domain::measure::Money;
use crate::domain::till::RungAs;
use crate::domain::venue::{FileId, Moment, SaleKind, TillId};
use rusqlite::{CachedStatement, Connection, named_params, params};

const BETWEEN: &str = "
    SELECT at, till, quantity, net, kind FROM sale INDEXED BY sale_at WHERE at > :after AND at <= :until ORDER BY at";

const RUNG: &str = "
    SELECT till, count(*) AS lines, sum(quantity) AS quantity, sum(net) AS net, max(at) AS last FROM sale INDEXED BY sale_at
    WHERE at >= :since AND kind NOT IN (:training, :return) AND NOT (kind = :void AND quantity > 0) GROUP BY till";

/// By the index on time, only the lines of one moment are sorted: sorting all of them would take them into memory.
const EACH: &str = "
    SELECT receipt, line, at, till, quantity, net, kind FROM sale INDEXED BY sale_at ORDER BY at, receipt, line";

/// The sales after one moment and up to another, in the order of time.
///
/// # Errors
/// [`StoreError`].
pub fn between(conn: &Connection, after: Moment, until: Moment) -> Result<Vec<Sale>, StoreError> {
    let doing = "reading sales";
    let mut statement = conn.prepare_cached(BETWEEN).doing(doing)?;
    let rows = statement
        .query_map(named_params! { ":after": after, ":until": until }, |row| {
            // By position: this is the one query that returns hundreds of thousands of rows.
            Ok(Sale { at: row.get(0)?, till: row.get(1)?, quantity: row.get(2)?, net: row.get(3)?, kind: row.get(4)? })
        })
        .doing(doing)?;
    rows.collect::<rusqlite::Result<_>>().doing(doing)
}

/// What was rung under every till name since a moment, in no order.
///
/// # Errors
/// [`StoreError`].
pub fn rung(conn: &Connection, since: Moment) -> Result<Vec<(TillId, RungAs)>, StoreError> {
    // As [`Sale::took`]: what was never made was not sold.
    let params = named_params! {
        ":since": since,
        ":training": sale_kind_number(SaleKind::Training),
        ":return": sale_kind_number(SaleKind::Return),
        ":void": sale_kind_number(SaleKind::Void),
    };
    all("adding up what was rung", conn, RUNG, params, |row| {
        let rung = RungAs {
            lines: row.get("lines")?,
            quantity: row.get("quantity")?,
            net: row.get("net")?,
            last: row.get("last")?,
        };
        Ok((row.get("till")?, rung))
    })
}

/// Whether anything was rung under a till name from a moment on and before another.
///
/// # Errors
/// [`StoreError`].
pub fn any_between(conn: &Connection, till: TillId, from: Moment, before: Moment) -> Result<bool, StoreError> {
    conn.prepare_cached("SELECT EXISTS (SELECT 1 FROM sale WHERE till = :till AND at >= :from AND at < :before)")
        .and_then(|mut s| {
            s.query_row(named_params! { ":till": till, ":from": from, ":before": before }, |row| row.get(0))
        })
        .doing("looking for sales of a drink")
}

/// The time of the last sale.
///
/// # Errors
/// [`StoreError`].
pub fn last(conn: &Connection) -> Result<Option<Moment>, StoreError> {
    conn.prepare_cached("SELECT max(at) AS last FROM sale")
        .and_then(|mut s| s.query_row([], |row| row.get("last")))
        .doing("looking for the last sale")
}

/// One line of a receipt as a file or the book has it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SaleLine<'a> {
    /// The receipt.
    pub receipt: &'a str,
    /// Line of the receipt.
    pub line: i64,
    /// What the till rang.
    pub sale: Sale,
}

/// What the book knew of a day's figure.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Known {
    /// Its last line; 0 for none.
    line: i64,
    quantity: i64,
    net: Money,
    /// Whether this writer has put any of it.
    mine: bool,
}

/// What became of a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Put {
    /// It is new.
    Added,
    /// The book had it already, the same.
    Same,
    /// The book has another line of that receipt and number, and keeps it.
    Different(Sale),
    /// This writer has put a line of that receipt and number already.
    Twice,
    /// The book had another figure for that day; what it lacked was added.
    Corrected,
}

/// Puts lines of receipts into the book within one transaction.
pub struct SaleWriter<'c> {
    insert: CachedStatement<'c>,
    find: CachedStatement<'c>,
    sum: CachedStatement<'c>,
    /// The file that the lines come from, where that is remembered.
    file: Option<FileId>,
    /// The last row that was there before.
    before: i64,
}

impl<'c> SaleWriter<'c> {
    /// Prepares to write the lines of a file.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn new(conn: &'c Connection, file: Option<FileId>) -> Result<SaleWriter<'c>, StoreError> {
        let doing = "preparing to keep sales";
        Ok(SaleWriter {
            file,
            sum: conn
                .prepare_cached(
                    "SELECT coalesce(max(line), 0) AS line, coalesce(sum(quantity), 0) AS quantity, coalesce(sum(net), 0) AS net,
                         coalesce(max(id), 0) AS last FROM sale WHERE receipt = ?1",
                )
                .doing(doing)?,
            insert: conn
                .prepare_cached(
                    "INSERT INTO sale (receipt, line, at, till, quantity, net, kind, file)
                     VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)
                     ON CONFLICT (receipt, line) DO NOTHING",
                )
                .doing(doing)?,
            find: conn.prepare_cached("SELECT * FROM sale WHERE receipt = ?1 AND line = ?2").doing(doing)?,
            before: conn
                .query_row("SELECT coalesce(max(id), 0) FROM sale", [], |row| row.get(0))
                .doing(doing)?,
        })
    }

    /// Puts one line, unless the book has its receipt and number already.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn put(&mut self, line: &SaleLine<'_>) -> Result<Put, StoreError> {
        let sale = &line.sale;
        let changed = self
            .insert
            .execute(params![
                line.receipt,
                line.line,
                sale.at,
                sale.till,
                sale.quantity,
                sale.net,
                sale_kind_number(sale.kind),
                self.file
            ])
            .doing("keeping a sale")?;
        if changed > 0 {
            return Ok(Put::Added);
        }
        let (id, had) = self
            .find
            .query_row(params![line.receipt, line.line], |row| {
                let had = Sale {
                    at: row.get("at")?,
                    till: row.get("till")?,
                    quantity: row.get("quantity")?,
                    net: row.get("net")?,
                    kind: row.get("kind")?,
                };
                Ok((row.get::<_, i64>("id")?, had))
            })
            .doing("comparing a sale")?;
        Ok(match id {
            id if id > self.before => Put::Twice,
            _ if had == *sale => Put::Same,
            _ => Put::Different(had),
        })
    }

    /// Puts the figure of a whole day, which a later file may know better: what the book lacks of it is added as a
    /// further line of the same receipt, so that the lines of the receipt sum to the figure.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn put_total(&mut self, receipt: &str, total: Sale) -> Result<Put, StoreError> {
        let before = self.before;
        let known = self
            .sum
            .query_row(params![receipt], |row| {
                Ok(Known {
                    line: row.get("line")?,
                    quantity: row.get("quantity")?,
                    net: row.get("net")?,
                    mine: row.get::<_, i64>("last")? > before,
                })
            })
            .doing("comparing a day's figure")?;
        if known.mine {
            return Ok(Put::Twice);
        }
        if known.line > 0 && (known.quantity, known.net) == (total.quantity, total.net) {
            return Ok(Put::Same);
        }
        let lacking = Sale { quantity: total.quantity - known.quantity, net: total.net - known.net, ..total };
        self.put(&SaleLine { receipt, line: known.line + 1, sale: lacking })?;
        Ok(if known.line == 0 { Put::Added } else { Put::Corrected })
    }
}

/// Hands every line of every receipt to `each`, in the order of time, then of receipt and line. Nothing is held in
/// memory.
///
/// # Errors
/// [`StoreError`], and whatever `each` refuses with.
pub fn each<E: From<StoreError>>(
    conn: &Connection,
    mut each: impl FnMut(&SaleLine<'_>) -> Result<(), E>,
) -> Result<(), E> {
    let doing = "reading sales";
    let mut statement = conn.prepare_cached(EACH).doing(doing)?;
    let mut rows = statement.query([]).doing(doing)?;
    while let Some(row) = rows.next().doing(doing)? {
        let sale = |row: &rusqlite::Row<'_>| -> rusqlite::Result<Sale> {
            Ok(Sale { at: row.get(2)?, till: row.get(3)?, quantity: row.get(4)?, net: row.get(5)?, kind: row.get(6)? })
        };
        let receipt = row.get_ref(0).doing(doing)?.as_str().map_err(rusqlite::Error::from).doing(doing)?;
        each(&SaleLine { receipt, line: row.get(1).doing(doing)?, sale: sale(row).doing(doing)? })?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::store::tests::plan;

    #[test]
    fn a_week_of_sales_is_read_from_the_index_alone() {
        let between = plan(BETWEEN);
        assert!(between.contains("SEARCH sale USING COVERING INDEX sale_at (at>? AND at<?)"), "{between}");
        assert!(!between.contains("TEMP B-TREE"), "{between}");
        assert!(plan(EACH).contains("USE TEMP B-TREE FOR LAST 2 TERMS OF ORDER BY"), "{}", plan(EACH));
    }
}
