//! One table of an export, read row by row as the index says.

use super::coding;
use super::index::{Coding, Sheet};
use crate::domain::measure::Decimal;
use crate::exchange::ReadError;
use crate::exchange::archive::{Bundle, Entry};
use crate::exchange::encoding::as_utf8;
use crate::exchange::stream::{Capped, Passage, fill, quoted, said};
use csv::{ByteRecord, Terminator};
use std::borrow::Cow;
use std::io::{Cursor, Read};
use std::path::PathBuf;

/// Bytes that a row may have, those that are read ahead with them.
const ROW: usize = 1 << 20;
const BUFFER: usize = 1 << 16;
/// Bytes that a cell of text may have: the longest that the export's description allows has 255 letters.
const CELL: usize = 4 << 10;

/// A table being read. Columns are asked for by their place in the list that it was opened with.
pub(super) struct Table {
    reader: csv::Reader<Capped<Box<dyn Read + Send>>>,
    record: ByteRecord,
    path: PathBuf,
    file: String,
    names: &'static [&'static str],
    places: Vec<Option<usize>>,
    width: usize,
    /// Lines that the reader counts too few: with two signs at the end of a row it counts a line one row late.
    late: u64,
    /// The row at hand was read to look for a head and is none.
    held: bool,
    coding: Coding,
    decimal: u8,
    grouping: Vec<u8>,
    digits: String,
}

impl Table {
    /// Opens a table. Of `columns` the first `needed` must be there.
    pub(super) fn open(
        bundle: &Bundle,
        sheet: &Sheet,
        entry: &Entry,
        columns: &'static [&'static str],
        needed: usize,
        passage: &Passage,
    ) -> Result<Table, ReadError> {
        let refuse = |what: String| ReadError::at(bundle.path(), entry.name.clone(), what);
        let told = |what: &str, text: &str| {
            refuse(say!("index.xml gives {quoted} as {what}, which is not read here", quoted = quoted(text), what))
        };
        if sheet.fixed {
            return Err(refuse(
                word!("index.xml says that its columns have a fixed width; expected cells apart by a sign").into(),
            ));
        }
        if sheet.coding == Coding::Utf7 {
            return Err(refuse(
                word!("index.xml says that it is in UTF-7, which is not read here; export it as UTF-8").into(),
            ));
        }
        let one = |what: &str, text: &str| match sign(text).as_bytes() {
            [byte] if byte.is_ascii() && !byte.is_ascii_alphanumeric() => Ok(*byte),
            _ => Err(told(what, text)),
        };
        let delimiter = one(word!("the sign between cells"), &sheet.delimiter)?;
        let decimal = one(word!("the decimal sign"), &sheet.decimal)?;
        let quote =
            if sheet.quote.is_empty() { None } else { Some(one(word!("the sign around texts"), &sheet.quote)?) };
        let end = match sheet.record.as_str() {
            text if text.trim().is_empty() => Terminator::CRLF,
            text => Terminator::Any(one(word!("the end of a row"), text)?),
        };
        let mut stream = bundle.read(entry, passage)?;
        let mut start = [0; 3];
        let have = fill(&mut stream, &mut start).map_err(|error| refuse(said(&error)))?;
        let mut coding = sheet.coding;
        let (skip, stream) = match &start[..have] {
            [0xef, 0xbb, 0xbf] => {
                coding = Coding::Utf8;
                (3, stream)
            }
            _ => (0, stream),
        };
        let mut stream: Box<dyn Read + Send> = Box::new(Cursor::new(start[skip..have].to_vec()).chain(stream));
        if coding == Coding::Utf16 {
            let big = start.starts_with(&[0xfe, 0xff]) || start[0] == 0;
            stream = as_utf8(stream, if big { encoding_rs::UTF_16BE } else { encoding_rs::UTF_16LE });
        }
        let words = word!("a row is longer than a megabyte; a quotation mark is opened and never closed");
        let mut builder = csv::ReaderBuilder::new();
        builder.has_headers(false).flexible(true).buffer_capacity(BUFFER).delimiter(delimiter).terminator(end);
        match quote {
            Some(quote) => builder.quote(quote),
            None => builder.quoting(false),
        };
        let mut table = Table {
            reader: builder.from_reader(Capped::new(stream, ROW, words)),
            record: ByteRecord::new(),
            path: bundle.path().to_owned(),
            file: entry.name.clone(),
            names: columns,
            places: Vec::new(),
            width: 0,
            late: 0,
            held: false,
            coding,
            decimal,
            grouping: sheet.grouping.trim_matches(['\r', '\n', '\t']).as_bytes().to_vec(),
            digits: String::new(),
        };
        table.head(sheet)?;
        for (name, place) in columns.iter().zip(&table.places).take(needed) {
            if place.is_none() {
                let what =
                    say!("the column {name} is missing, without which its rows say nothing; export it again", name);
                return Err(refuse(what));
            }
        }
        Ok(table)
    }

    /// Finds the columns: by the head where there is one, else by the index.
    fn head(&mut self, sheet: &Sheet) -> Result<(), ReadError> {
        let said = |names: &[String], wanted: &str| names.iter().position(|name| name.eq_ignore_ascii_case(wanted));
        let mut head = None;
        // Rows before the head, if the data begin later than in the second line.
        for _ in 0..sheet.from.saturating_sub(1).max(1) {
            if !self.read()? {
                break;
            }
            head = Some(self.cells());
        }
        let began = self.record.position().map_or(0, csv::Position::line);
        self.late = u64::from(self.reader.position().line() == began && began == 1);
        // An index that says nothing of a head may be wrong about it.
        let is_head =
            |cells: &[String]| sheet.from > 1 || sheet.columns.is_empty() || said(cells, self.names[0]).is_some();
        self.held = head.as_deref().is_some_and(|cells| !is_head(cells));
        let columns = match head {
            // A head in other words than the standard's: the index knows the order.
            Some(head) if said(&head, self.names[0]).is_none() && !sheet.columns.is_empty() => &sheet.columns,
            Some(ref head) => head,
            None => &sheet.columns,
        };
        self.width = columns.iter().rposition(|name| !name.is_empty()).map_or(0, |last| last + 1);
        self.places = self.names.iter().map(|name| said(columns, name)).collect();
        Ok(())
    }

    fn cells(&self) -> Vec<String> {
        self.record.iter().map(|cell| String::from_utf8_lossy(cell).trim().to_owned()).collect()
    }

    fn read(&mut self) -> Result<bool, ReadError> {
        self.reader.get_mut().allow(ROW);
        let read = self.reader.read_byte_record(&mut self.record);
        read.map_err(|error| {
            let what = match error.kind() {
                csv::ErrorKind::Io(error) => said(error),
                _ => word!("the rows cannot be told apart").to_owned(),
            };
            self.fail(what)
        })
    }

    /// Goes to the next row with anything in it.
    pub(super) fn advance(&mut self) -> Result<bool, ReadError> {
        while std::mem::take(&mut self.held) || self.read()? {
            if self.record.as_slice().trim_ascii().is_empty() {
                continue;
            }
            // A sign after the last cell makes one more, which is empty.
            let more = self.record.iter().skip(self.width).any(|cell| !cell.trim_ascii().is_empty());
            if self.record.len() < self.width || more {
                let found = self.record.len();
                let what = say!(
                    "expected {width} cells as in the head, found {found}; the file is damaged",
                    width = self.width,
                    found
                );
                return Err(self.fail(what));
            }
            return Ok(true);
        }
        Ok(false)
    }

    /// A cell as it stands, without blanks around it; empty where there is no such column.
    pub(super) fn raw(&self, column: usize) -> &[u8] {
        self.places[column].and_then(|place| self.record.get(place)).unwrap_or_default().trim_ascii()
    }

    /// A cell as text.
    pub(super) fn text(&self, column: usize) -> Result<Cow<'_, str>, ReadError> {
        let size = self.raw(column).len();
        if size > CELL {
            let what = say!(
                "{column} holds a text of {size} bytes; a quotation mark may never be closed",
                column = self.names[column],
                size
            );
            return Err(self.fail(what));
        }
        coding::text(self.coding, self.raw(column)).ok_or_else(|| {
            let cell = quoted(&String::from_utf8_lossy(self.raw(column)));
            self.fail(say!(
                "{cell} in {column} is no text in UTF-8, which index.xml says it is",
                cell,
                column = self.names[column]
            ))
        })
    }

    /// A cell as a number, in units of `10^-places`, rounded once; nothing for an empty cell.
    pub(super) fn number(&mut self, column: usize, places: u32) -> Result<Option<i64>, ReadError> {
        self.scaled(column, places, Groups::BeforeDecimals)
    }

    /// A cell of a column that counts, in thousandths; nothing for an empty cell.
    pub(super) fn count(&mut self, column: usize) -> Result<Option<i64>, ReadError> {
        self.scaled(column, 3, Groups::Anywhere)
    }

    /// Writes a cell in UTF-8; as it stands where it is no text.
    pub(super) fn write_text(&self, column: usize, into: &mut Vec<u8>) {
        let raw = self.raw(column);
        match coding::text(self.coding, raw) {
            Some(text) => into.extend_from_slice(text.as_bytes()),
            None => into.extend_from_slice(raw),
        }
    }

    /// Writes a cell of a column that counts as it stands, without what stands between its thousands.
    pub(super) fn write_count(&self, column: usize, into: &mut Vec<u8>) {
        let mut rest = self.raw(column);
        let by = self.grouping.as_slice();
        while let Some(at) = rest.windows(by.len().max(1)).position(|part| part == by) {
            into.extend_from_slice(&rest[..at]);
            rest = &rest[at + by.len()..];
        }
        into.extend_from_slice(rest);
    }

    fn scaled(&mut self, column: usize, places: u32, groups: Groups) -> Result<Option<i64>, ReadError> {
        let cell = self.places[column].and_then(|place| self.record.get(place)).unwrap_or_default().trim_ascii();
        if cell.is_empty() {
            return Ok(None);
        }
        let mut digits = std::mem::take(&mut self.digits);
        let plain = ungrouped(cell, self.decimal, &self.grouping, groups, &mut digits);
        let number = plain.and_then(|()| Decimal::parse(&digits).ok());
        self.digits = digits;
        match number.and_then(|number| number.scaled(10_i128.pow(places), 1).ok()) {
            Some(number) => Ok(Some(number)),
            None => Err(self.no_number(column)),
        }
    }

    fn no_number(&self, column: usize) -> ReadError {
        let cell = quoted(&String::from_utf8_lossy(self.raw(column)));
        let mark = char::from(self.decimal);
        let what = say!(
            "read {cell} in {column}; expected a number such as 1{mark}500, with {mark} as the decimal sign, as index.xml says",
            cell,
            column = self.names[column],
            mark
        );
        self.fail(what)
    }

    /// Whether a cell says yes: `1`, or `true` as some write it.
    pub(super) fn yes(&self, column: usize) -> bool {
        let cell = self.raw(column);
        cell == b"1" || cell.eq_ignore_ascii_case(b"true")
    }

    /// The line at which the row begins.
    pub(super) fn line(&self) -> u64 {
        self.record.position().map_or(1, csv::Position::line) + self.late
    }

    /// Refuses the row.
    pub(super) fn fail(&self, what: impl Into<String>) -> ReadError {
        ReadError::at(&self.path, say!("{file} line {line}", file = self.file, line = self.line()), what)
    }
}

/// A sign that an index gives, without the blanks around it, unless it is one itself.
fn sign(text: &str) -> &str {
    let trimmed = text.trim();
    if !trimmed.is_empty() {
        return trimmed;
    }
    text.trim_matches(['\r', '\n', ' '])
}

/// Where a sign may stand between thousands.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Groups {
    /// In a number with a decimal sign: `1.500` may be meant as one and a half by a till whose index is wrong.
    BeforeDecimals,
    /// In any number, where none has decimals.
    Anywhere,
}

/// Writes a number without its grouping and with a decimal point. Groups must be of three digits.
fn ungrouped(cell: &[u8], decimal: u8, grouping: &[u8], groups: Groups, out: &mut String) -> Option<()> {
    out.clear();
    let at = cell.iter().position(|byte| *byte == decimal);
    let (whole, fraction) = at.map_or((cell, None), |at| (&cell[..at], Some(&cell[at + 1..])));
    let grouped =
        !grouping.is_empty() && grouping != [decimal] && whole.windows(grouping.len()).any(|part| part == grouping);
    let (sign, size) = match whole {
        [b'-', size @ ..] => ("-", size),
        [b'+', size @ ..] => ("", size),
        size => ("", size),
    };
    out.push_str(sign);
    if grouped {
        if groups == Groups::BeforeDecimals {
            fraction?;
        }
        let mut rest = size;
        let mut first = true;
        loop {
            let end = rest.windows(grouping.len()).position(|part| part == grouping);
            let group = &rest[..end.unwrap_or(rest.len())];
            if group.len() > 3 || group.is_empty() || (!first && group.len() != 3) {
                return None;
            }
            out.push_str(std::str::from_utf8(group).ok()?);
            first = false;
            match end {
                Some(end) => rest = &rest[end + grouping.len()..],
                None => break,
            }
        }
    } else {
        out.push_str(std::str::from_utf8(size).ok()?);
    }
    if let Some(fraction) = fraction {
        out.push('.');
        out.push_str(std::str::from_utf8(fraction).ok()?);
    }
    // Only what stands here may make it a number: no second sign, no other point.
    (out.bytes().all(|b| b.is_ascii_digit() || b == b'.' || b == b'-')
        && out.matches('.').count() == usize::from(at.is_some()))
    .then_some(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_read_as_the_index_says_and_not_otherwise() {
        let read = |cell: &str, decimal: u8, grouping: &str| {
            let mut out = String::new();
            ungrouped(cell.as_bytes(), decimal, grouping.as_bytes(), Groups::BeforeDecimals, &mut out).map(|()| out)
        };
        for (cell, want) in [
            ("1.190,00000", Some("1190.00000")),
            ("1190,00", Some("1190.00")),
            ("-2,000", Some("-2.000")),
            ("-1.234.567,5", Some("-1234567.5")),
            ("7", Some("7")),
            // A point that is said to group but stands as a decimal one would.
            ("4.80000", None),
            ("1.500", None),
            ("12.34,5", None),
            ("1,2,3", None),
        ] {
            assert_eq!(read(cell, b',', ".").as_deref(), want, "{cell}");
        }
        assert_eq!(read("4.80000", b'.', "").as_deref(), Some("4.80000"));
        assert_eq!(read("1,190.5", b'.', ",").as_deref(), Some("1190.5"));
        assert_eq!(read("1\u{a0}190,5", b',', "\u{a0}").as_deref(), Some("1190.5"));
        assert_eq!(read("4,80", b'.', ""), None);
    }

    /// The PyPI library dsfinvk 2.4.0 writes signs between the thousands of numbers of closings too.
    #[test]
    fn what_counts_may_have_groups_without_decimals() {
        let read = |cell: &str| {
            let mut out = String::new();
            ungrouped(cell.as_bytes(), b',', b".", Groups::Anywhere, &mut out).map(|()| out)
        };
        for (cell, want) in [
            ("1.000", Some("1000")),
            ("1.234.567", Some("1234567")),
            ("211", Some("211")),
            ("1.00", None),
            ("1234.567", None),
        ] {
            assert_eq!(read(cell).as_deref(), want, "{cell}");
        }
    }
}
