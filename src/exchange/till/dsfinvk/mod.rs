//! DSFinV-K: the export of German tills, versions 2.0 to 2.4, as a zip archive or a folder.
//!
//! An export is some twenty tables that `index.xml` describes; it is obeyed, not the norm, because exporters differ from
//! the norm and say so there. `lines.csv` is read receipt by receipt; the receipts' heads and the lines' amounts are read
//! beside it, and what comes before it is wanted is kept, up to a bound. Tables in another order than that are refused,
//! never joined wrongly. What a line is, [`receipt`] says.

mod coding;
mod follow;
pub(in crate::exchange) mod index;
mod known;
mod reader;
mod receipt;
mod table;

use super::hand::Hand;
use super::{Passed, Taker, Terms};
use crate::domain::measure::number_of;
use crate::domain::till::Skip;
use crate::exchange::ReadError;
use crate::exchange::archive::{Bundle, Entry};
use crate::exchange::stream::quoted;
use crate::words;
use follow::{Follower, Key, RECEIPT, RECEIPT_BYTES, Seen, TOO_LONG, key, told};
use index::{Index, Sheet};
use known::Known;
use reader::Reader;
use receipt::{AMOUNT_COLUMNS, HEAD_COLUMNS, LINE_COLUMNS, Line};
use std::path::Path;
use table::Table;

/// Tables by their file and their German name.
pub(in crate::exchange) const LINES: (&str, &str) = ("lines.csv", "Bonpos");
pub(in crate::exchange) const RECEIPTS: (&str, &str) = ("transactions.csv", "Bonkopf");
const AMOUNTS: (&str, &str) = ("lines_vat.csv", "Bonpos_USt");
const REFERENCES: (&str, &str) = ("references.csv", "Bon_Referenzen");
const PARTS: (&str, &str) = ("subitems.csv", "Bonpos_Zusatzinfo");
const CLOSINGS: (&str, &str) = ("cashpointclosing.csv", "Stamm_Abschluss");
const REGISTERS: (&str, &str) = ("cashregister.csv", "Stamm_Kassen");
const RATES: (&str, &str) = ("vat.csv", "Stamm_USt");

/// Receipts that one export may have: each takes some bytes of memory.
const RECEIPTS_AT_MOST: usize = 3_500_000;

/// Reads an export.
///
/// # Errors
/// [`ReadError`] as `T::Error`, and whatever ends the reading.
pub fn read<T: Taker>(path: &Path, terms: &Terms, taker: &mut T) -> Result<Passed, T::Error> {
    let bundle = index::open(path)?;
    let Some(entry) = index::find(&bundle) else {
        let what = word!("there is no index.xml in it, which says how its tables are written; choose the whole export");
        return Err(ReadError::new(path, what).into());
    };
    let index = Index::read(&bundle, entry, &Default::default())?;
    let export = Export { bundle: &bundle, index };
    let tables = [LINES, RECEIPTS, AMOUNTS, REFERENCES, PARTS, CLOSINGS, REGISTERS, RATES];
    let sizes = tables.iter().filter_map(|table| export.find(*table)).map(|(_, entry)| entry.size);
    let mut hand = Hand::new(path, terms, sizes.sum(), taker);
    let known = Known::read(&export, &mut hand)?;
    let mut lines = export.needed(LINES, LINE_COLUMNS, 9, &hand)?;
    let mut reader = Reader {
        heads: Follower::new(export.needed(RECEIPTS, HEAD_COLUMNS, 7, &hand)?),
        parts: Follower::new(export.needed(AMOUNTS, AMOUNT_COLUMNS, 5, &hand)?),
        seen: Seen::default(),
        known,
        hand,
    };
    let (mut of, mut next) = (Key::new(), Key::new());
    let mut receipt: Vec<Line> = Vec::new();
    let mut weight = 0;
    while lines.advance()? {
        key(&lines, &mut next);
        if next != of {
            if !receipt.is_empty() {
                reader.receipt(&of, &receipt)?;
                receipt.clear();
            }
            weight = 0;
            std::mem::swap(&mut of, &mut next);
            reader.begin(&of, &mut lines)?;
        }
        let line = Line::read(&mut lines, receipt.len() as u64 + 1)?;
        weight += line.weight();
        if receipt.len() >= RECEIPT || weight > RECEIPT_BYTES {
            return Err(lines.fail(words::find(TOO_LONG)).into());
        }
        receipt.push(line);
    }
    if !receipt.is_empty() {
        reader.receipt(&of, &receipt)?;
    }
    let Reader { heads, parts, seen, mut hand, .. } = reader;
    heads.rest(&seen)?;
    hand.pace()?;
    if let (left, Some(first)) = parts.rest(&seen)? {
        hand.passed.warn(say!(
            "lines_vat.csv has amounts of {left} with no line in lines.csv, the first {told}",
            left = number_of(left, word!("receipt"), word!("receipts")),
            told = told(&first)
        ));
    }
    export.count_parts(&mut hand)?;
    hand.done()
}

struct Export<'b> {
    bundle: &'b Bundle,
    index: Index,
}

impl Export<'_> {
    fn find(&self, (file, name): (&str, &str)) -> Option<(Sheet, &Entry)> {
        self.index.sheet(self.bundle, file, name)
    }

    /// Opens a table, if it is there.
    fn table<T: Taker>(
        &self,
        table: (&str, &str),
        columns: &'static [&'static str],
        needed: usize,
        hand: &Hand<'_, T>,
    ) -> Result<Option<Table>, ReadError> {
        let Some((sheet, entry)) = self.find(table) else { return Ok(None) };
        Table::open(self.bundle, &sheet, entry, columns, needed, &hand.passage).map(Some)
    }

    /// Opens a table without which nothing can be told.
    fn needed<T: Taker>(
        &self,
        table: (&str, &str),
        columns: &'static [&'static str],
        needed: usize,
        hand: &Hand<'_, T>,
    ) -> Result<Table, ReadError> {
        self.table(table, columns, needed, hand)?.ok_or_else(|| {
            let words = word!("without it nobody can tell what was sold; have the till export all tables");
            hand.refuse(say!(
                "the table {table} ({table_2}) is missing; {words}",
                table = table.0,
                table_2 = table.1,
                words
            ))
        })
    }

    /// Counts what lines were made of: the lines themselves say what was sold.
    fn count_parts<T: Taker>(&self, hand: &mut Hand<'_, T>) -> Result<(), T::Error> {
        let columns = &["Z_KASSE_ID", "Z_ERSTELLUNG", "Z_NR", "BON_ID", "ZI_NAME"];
        let Some(mut parts) = self.table(PARTS, columns, 0, hand)? else { return Ok(()) };
        while parts.advance()? {
            if !hand.passed.skipped.contains_key(&Skip::Part) {
                let name = quoted(&parts.text(4)?);
                hand.passed.warn(say!("Some lines say what they are made of ({name} is the first part); the line is taken, not its parts, so \
                     its name needs a drink with all of them", name));
            }
            hand.skip(Skip::Part);
            hand.pace()?;
        }
        Ok(())
    }
}
