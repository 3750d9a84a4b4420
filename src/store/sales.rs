//! Lines of till receipts: a million of them go in, a week of them comes out.

use super::StoreError;
use super::convert::sale_kind_number;
use super::day_totals::{self, DaySums};
use super::error::Doing;
use super::history::{self, Tally};
use super::query::all;
use crate::domain::ledger::Sale;
use crate::domain::measure::Money;
use crate::domain::till::{Likewise, LinesForm, RungAs, likewise, restated};
use crate::domain::venue::{DayRule, FileId, Moment, SaleKind, TillId};
use rusqlite::{CachedStatement, Connection, OptionalExtension, Row, named_params, params};

const BETWEEN: &str = "
    SELECT at, till, quantity, net, kind FROM sale INDEXED BY sale_at WHERE at > :after AND at <= :until ORDER BY at";

const RUNG: &str = "
    SELECT till, count(*) AS lines, sum(quantity <> 0) AS goods, sum(quantity) AS quantity, sum(net) AS net, max(at) AS last
    FROM sale INDEXED BY sale_at
    WHERE at >= :since AND kind NOT IN (:training, :return) AND NOT (kind = :void AND quantity > 0)";

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
    rung_as(conn, &format!("{RUNG} GROUP BY till"), since)
}

/// The same, only of till names that mean nothing yet: lines of all others are not added up.
///
/// # Errors
/// [`StoreError`].
pub fn rung_unmapped(conn: &Connection, since: Moment) -> Result<Vec<(TillId, RungAs)>, StoreError> {
    rung_as(conn, &format!("{RUNG} AND till IN (SELECT id FROM till_name WHERE mapped = 0) GROUP BY till"), since)
}

fn rung_as(conn: &Connection, sql: &str, since: Moment) -> Result<Vec<(TillId, RungAs)>, StoreError> {
    // As [`Sale::took`]: what was never made was not sold.
    let params = named_params! {
        ":since": since,
        ":training": sale_kind_number(SaleKind::Training),
        ":return": sale_kind_number(SaleKind::Return),
        ":void": sale_kind_number(SaleKind::Void),
    };
    all("adding up what was rung", conn, sql, params, |row| {
        let rung = RungAs {
            lines: row.get("lines")?,
            goods: row.get("goods")?,
            quantity: row.get("quantity")?,
            net: row.get("net")?,
            last: row.get("last")?,
        };
        Ok((row.get("till")?, rung))
    })
}

/// Whether anything was rung after a moment and up to another.
///
/// # Errors
/// [`StoreError`].
pub fn any_within(conn: &Connection, after: Moment, until: Moment) -> Result<bool, StoreError> {
    conn.prepare_cached("SELECT EXISTS (SELECT 1 FROM sale WHERE at > :after AND at <= :until)")
        .and_then(|mut s| s.query_row(named_params! { ":after": after, ":until": until }, |row| row.get(0)))
        .doing("looking for sales")
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

/// What became of a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Put {
    /// It is new.
    Added,
    /// The book had it already, the same.
    Same,
    /// The book had it already, under another name of its article, which it keeps.
    Renamed,
    /// The book has another line of that receipt and number, and keeps it.
    Different(Sale),
    /// This writer has put a line of that receipt and number already.
    Twice,
    /// The book had another figure for that day; what it lacked was added.
    Corrected {
        /// How many it had, in thousandths.
        quantity: i64,
        /// For how much.
        net: Money,
    },
    /// Nothing was sold, and the book knows of nothing.
    Nothing,
}

/// What the book knows of a day's figure.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct KnownTotal {
    /// The lines that sum to it.
    lines: Vec<Sale>,
    /// Their handles, and the files that they came from.
    rows: Vec<(i64, Option<FileId>)>,
    /// Its last line; 0 for none.
    last: i64,
}

impl KnownTotal {
    /// Whether there is one.
    pub fn is_there(&self) -> bool {
        !self.lines.is_empty()
    }

    /// What putting `total` would come to.
    pub fn compared(&self, total: Sale) -> Put {
        match (restated(&self.lines, total).is_empty(), self.is_there()) {
            (true, true) => Put::Same,
            (true, false) => Put::Nothing,
            (false, true) => Put::Corrected { quantity: self.quantity(), net: self.net() },
            (false, false) => Put::Added,
        }
    }

    /// For how much, net of tax.
    pub fn net(&self) -> Money {
        self.lines.iter().map(|line| line.net).sum()
    }

    /// How many it is, in thousandths.
    pub fn quantity(&self) -> i64 {
        self.lines.iter().fold(0, |sum, line| sum.saturating_add(line.quantity))
    }

    /// The file that said it last, where that is remembered.
    pub fn said_by(&self) -> Option<FileId> {
        self.rows.iter().filter_map(|(_, file)| *file).max()
    }
}

fn sale(row: &Row<'_>) -> rusqlite::Result<Sale> {
    Ok(Sale {
        at: row.get("at")?,
        till: row.get("till")?,
        quantity: row.get("quantity")?,
        net: row.get("net")?,
        kind: row.get("kind")?,
    })
}

/// Compares lines of receipts with the book, and puts them into it within one transaction.
pub struct SaleWriter<'c> {
    conn: &'c Connection,
    /// What is put, summed by business day; nothing where the sums that are kept do not hold anyway.
    sums: Option<(DayRule, DaySums)>,
    insert: CachedStatement<'c>,
    find: CachedStatement<'c>,
    hold: CachedStatement<'c>,
    of_receipt: CachedStatement<'c>,
    undone: CachedStatement<'c>,
    /// The file that the lines come from, where that is remembered.
    file: Option<FileId>,
    /// The last row that was there before.
    before: i64,
    /// Of the lines that were put.
    tally: Tally,
}

impl<'c> SaleWriter<'c> {
    /// Prepares to write the lines of a file.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn new(conn: &'c Connection, file: Option<FileId>) -> Result<SaleWriter<'c>, StoreError> {
        let doing = "preparing to keep sales";
        Ok(SaleWriter {
            conn,
            sums: None,
            tally: Tally::default(),
            file,
            of_receipt: conn.prepare_cached("SELECT * FROM sale WHERE receipt = ?1 ORDER BY line").doing(doing)?,
            insert: conn
                .prepare_cached(
                    "INSERT INTO sale (receipt, line, at, till, quantity, net, kind, file)
                     VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)
                     ON CONFLICT (receipt, line) DO NOTHING",
                )
                .doing(doing)?,
            find: conn.prepare_cached("SELECT * FROM sale WHERE receipt = ?1 AND line = ?2").doing(doing)?,
            undone: conn.prepare_cached("UPDATE sale SET kind = ?2 WHERE id = ?1").doing(doing)?,
            hold: conn
                .prepare_cached(
                    "INSERT INTO sale_held (sale, file, kind) VALUES (?1, ?2, ?3) ON CONFLICT (sale, file) DO NOTHING",
                )
                .doing(doing)?,
            before: conn.query_row("SELECT coalesce(max(id), 0) FROM sale", [], |row| row.get(0)).doing(doing)?,
        })
    }

    /// Sums what is put as it goes, so that the sums of days need not be made from the lines again.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn summing(self, rule: &DayRule) -> Result<SaleWriter<'c>, StoreError> {
        let sums = day_totals::are_whole(self.conn, rule)?.then(|| (*rule, DaySums::default()));
        Ok(SaleWriter { sums, ..self })
    }

    /// Ends the writing: brings the sums of days up to what was put.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn finish(self, rule: &DayRule) -> Result<(), StoreError> {
        if self.tally.lines > 0 {
            history::put_tally(self.conn, history::tally(self.conn)?.and(self.tally))?;
        }
        match self.sums {
            Some((rule, sums)) => day_totals::put(self.conn, &rule, sums),
            None => day_totals::refresh(self.conn, rule),
        }
    }

    fn sum(&mut self, sale: &Sale, times: i64) -> Result<(), StoreError> {
        let Some((rule, sums)) = &mut self.sums else { return Ok(()) };
        sums.add_and_keep(self.conn, rule, sale, times)
    }

    /// Remembers that the file of this writer holds a line that another one brought; of what is taken back, what each of
    /// them takes it for.
    fn hold(&mut self, id: i64, brought_by: Option<FileId>, kinds: Option<[SaleKind; 2]>) -> Result<(), StoreError> {
        let (Some(file), Some(other)) = (self.file, brought_by) else { return Ok(()) };
        if file == other {
            return Ok(());
        }
        let doing = "keeping where a sale is from";
        if let Some([had, _]) = kinds {
            self.hold.execute(params![id, other, sale_kind_number(had)]).doing(doing)?;
        }
        let kind = kinds.map(|[_, said]| sale_kind_number(said));
        self.hold.execute(params![id, file, kind]).doing(doing).map(|_| ())
    }

    /// Puts one line, unless the book has its receipt and number already.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn put(&mut self, line: &SaleLine<'_>) -> Result<Put, StoreError> {
        self.put_unless(line, |had, said| if had == said { Likewise::Same } else { Likewise::No })
    }

    /// Puts one line of a till's file, which may say a line of the book in another way ([`likewise`]).
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn put_rung(&mut self, line: &SaleLine<'_>, timed: bool) -> Result<Put, StoreError> {
        self.put_unless(line, |had, said| likewise(had, said, timed))
    }

    fn put_unless(
        &mut self,
        line: &SaleLine<'_>,
        compared: impl Fn(&Sale, &Sale) -> Likewise,
    ) -> Result<Put, StoreError> {
        let said = &line.sale;
        let changed = self
            .insert
            .execute(params![
                line.receipt,
                line.line,
                said.at,
                said.till,
                said.quantity,
                said.net,
                sale_kind_number(said.kind),
                self.file
            ])
            .doing("keeping a sale")?;
        if changed > 0 {
            self.tally.add(line.receipt, [line.line, said.at.0, said.till.0, said.quantity, said.net.0]);
            self.sum(said, 1)?;
            return Ok(Put::Added);
        }
        let (id, had, file) = self
            .find
            .query_row(params![line.receipt, line.line], |row| {
                Ok((row.get::<_, i64>("id")?, sale(row)?, row.get::<_, Option<FileId>>("file")?))
            })
            .doing("comparing a sale")?;
        if id > self.before {
            return Ok(Put::Twice);
        }
        let compared = compared(&had, said);
        if compared == Likewise::No {
            return Ok(Put::Different(had));
        }
        let taken_back = said.quantity < 0 && matches!(said.kind, SaleKind::Void | SaleKind::Return);
        self.hold(id, file, taken_back.then_some([had.kind, said.kind]))?;
        if compared == Likewise::Undone {
            self.undone
                .execute(params![id, sale_kind_number(SaleKind::Void)])
                .doing("keeping what a sale took back")?;
            self.sum(&had, -1)?;
            self.sum(&Sale { kind: SaleKind::Void, ..had }, 1)?;
        }
        Ok(if compared == Likewise::Renamed { Put::Renamed } else { Put::Same })
    }

    /// A line as the book has it.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn line(&mut self, receipt: &str, line: i64) -> Result<Option<Sale>, StoreError> {
        self.find.query_row(params![receipt, line], sale).optional().doing("comparing a sale")
    }

    /// What the book knows of a day's figure.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn total(&mut self, receipt: &str) -> Result<KnownTotal, StoreError> {
        let doing = "comparing a day's figure";
        let mut known = KnownTotal::default();
        let mut rows = self.of_receipt.query(params![receipt]).doing(doing)?;
        while let Some(row) = rows.next().doing(doing)? {
            known.lines.push(sale(row).doing(doing)?);
            known.rows.push((row.get("id").doing(doing)?, row.get("file").doing(doing)?));
            known.last = row.get("line").doing(doing)?;
        }
        Ok(known)
    }

    /// Puts the figure of a whole day, which a later file may know better: what the book lacks of `known` is added as
    /// further lines of the same receipt, so that the lines of the receipt sum to the figure.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn put_total(&mut self, receipt: &str, known: &KnownTotal, total: Sale) -> Result<Put, StoreError> {
        if known.rows.iter().any(|(id, _)| *id > self.before) {
            return Ok(Put::Twice);
        }
        // The figure stands on all of its lines: none of them goes while this file is in force.
        for (id, file) in &known.rows {
            self.hold(*id, *file, None)?;
        }
        for (n, sale) in (1..).zip(restated(&known.lines, total)) {
            self.put(&SaleLine { receipt, line: known.last + n, sale })?;
        }
        Ok(known.compared(total))
    }
}

/// Forgets that a file holds lines of others: it is not kept as one.
///
/// # Errors
/// [`StoreError`].
pub fn let_go(conn: &Connection, file: FileId) -> Result<(), StoreError> {
    conn.prepare_cached("DELETE FROM sale_held WHERE file = :file")
        .and_then(|mut s| s.execute(named_params! { ":file": file }))
        .doing("comparing sales")
        .map(|_| ())
}

/// A file in force that brought sales of some days as lines of another sort.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OtherForm {
    /// What it is called; nothing of sales that came out of plain files.
    pub file: Option<String>,
    /// Its lines of those days.
    pub lines: i64,
}

/// Who else brought sales from a moment on and before another, in lines of another sort than `form`: the same sales would
/// count twice. At most three, those with the most lines first. Of sales out of plain files only figures of days can be told
/// from lines, by the names of their receipts.
///
/// # Errors
/// [`StoreError`].
pub fn in_other_forms(
    conn: &Connection,
    form: LinesForm,
    own: Option<FileId>,
    (from, before): (Moment, Moment),
) -> Result<Vec<OtherForm>, StoreError> {
    let sql = "SELECT f.name AS file, count(*) AS lines
        FROM sale s INDEXED BY sale_at LEFT JOIN taken_file f ON f.id = s.file
        WHERE s.at >= :from AND s.at < :before AND (:own IS NULL OR s.file IS NOT :own) AND CASE
            WHEN f.form IS NOT NULL THEN f.form <> :form
            WHEN s.receipt GLOB 'day ????-??-??[ /]*' OR s.receipt GLOB '* day ????-??-??[ /]*' THEN NOT :of_days
            ELSE :of_days
        END
        GROUP BY s.file ORDER BY lines DESC LIMIT 3";
    let params =
        named_params! { ":form": form, ":own": own, ":from": from, ":before": before, ":of_days": form.is_of_days() };
    all("comparing what sales came from", conn, sql, params, |row| {
        Ok(OtherForm { file: row.get("file")?, lines: row.get("lines")? })
    })
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
