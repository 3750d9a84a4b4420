//! `index.xml`: what each table of an export is called, how it is written and which columns it has (description standard
//! of the German tax office's GDPdU, version 1.0, document type of 2002-08-01).
//!
//! The document type is passed over and never loaded.

use crate::exchange::ReadError;
use crate::exchange::archive::{Bundle, Entry, climbs};
use crate::exchange::stream::{Passage, quoted};
use crate::exchange::xml::Xml;
use std::path::Path;

/// Tables that an index may name, and columns of one.
const TABLES: usize = 200;
const COLUMNS: usize = 500;

/// The encodings that an index can name.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::exchange) enum Coding {
    Utf8,
    /// Windows-1252; also what holds where nothing is said, unless the bytes are sound UTF-8.
    Ansi,
    Oem,
    Macintosh,
    Utf16,
    Utf7,
}

/// What an index says of one table.
#[derive(Clone, Debug)]
pub(super) struct Sheet {
    /// The file, by its way from the index.
    pub(super) url: String,
    /// The German name.
    pub(super) name: String,
    pub(super) coding: Coding,
    pub(super) decimal: String,
    pub(super) grouping: String,
    /// First line with data, from 1: line 2 where there is a head.
    pub(super) from: u64,
    pub(super) delimiter: String,
    pub(super) record: String,
    pub(super) quote: String,
    pub(super) columns: Vec<String>,
    /// Columns of a fixed width, which are not read here.
    pub(super) fixed: bool,
}

impl Sheet {
    /// As the standard has it, with the official values of the export's own description.
    pub(super) fn usual(url: &str) -> Sheet {
        Sheet {
            url: url.to_owned(),
            name: String::new(),
            coding: Coding::Ansi,
            decimal: ",".to_owned(),
            grouping: ".".to_owned(),
            from: 1,
            delimiter: ";".to_owned(),
            record: "\r\n".to_owned(),
            quote: "\"".to_owned(),
            columns: Vec::new(),
            fixed: false,
        }
    }
}

/// The description of an export.
#[derive(Clone, Debug)]
pub(in crate::exchange) struct Index {
    /// The subfolder that it lies in; its tables are found from there.
    folder: String,
    sheets: Vec<Sheet>,
}

/// Opens the export that a path belongs to: where its index alone was chosen, the folder around it.
pub(in crate::exchange) fn open(path: &Path) -> Result<Bundle, ReadError> {
    let alone = path.file_name().is_some_and(|name| name.eq_ignore_ascii_case("index.xml"));
    match path.parent() {
        Some(folder) if alone => Bundle::open(if folder.as_os_str().is_empty() { Path::new(".") } else { folder }),
        _ => Bundle::open(path),
    }
}

/// The index of a bundle, if it has one: at the top or in a subfolder, whatever the case of its letters.
pub(in crate::exchange) fn find(bundle: &Bundle) -> Option<&Entry> {
    let like = |entry: &&Entry| entry.file_name().eq_ignore_ascii_case("index.xml");
    bundle.entries().iter().filter(like).min_by_key(|entry| entry.name.matches('/').count())
}

impl Index {
    /// Reads the index.
    pub(in crate::exchange) fn read(bundle: &Bundle, entry: &Entry, passage: &Passage) -> Result<Index, ReadError> {
        let stream = bundle.read(entry, passage)?;
        let mut xml = Xml::new(stream, bundle.path(), Some(&entry.name))?.passing_document_type();
        let mut sheets = Vec::new();
        if !xml.child()? || xml.name() != "DataSet" {
            return Err(xml.fail(word!("expected the description of tables (DataSet) that belongs to an export")));
        }
        while xml.child()? {
            match xml.name() {
                "Media" => {
                    while xml.child()? {
                        match xml.name() {
                            "Table" if sheets.len() < TABLES => sheets.push(table(&mut xml)?),
                            "Table" => return Err(xml.fail(say!("it names more than {TABLES} tables", TABLES))),
                            _ => xml.skip()?,
                        }
                    }
                }
                _ => xml.skip()?,
            }
        }
        Ok(Index { folder: entry.folder().to_owned(), sheets })
    }

    /// The table of that file name or German name, and the file it is in, if that is there. A table that the index leaves
    /// out but that lies beside it is read as the standard has it.
    pub(super) fn sheet<'b>(&self, bundle: &'b Bundle, file: &str, name: &str) -> Option<(Sheet, &'b Entry)> {
        let stem = |url: &str| url.replace('\\', "/").rsplit('/').next().unwrap_or_default().to_lowercase();
        let by_file = self.sheets.iter().find(|sheet| stem(&sheet.url) == file);
        let sheet = by_file.or_else(|| self.sheets.iter().find(|sheet| sheet.name.eq_ignore_ascii_case(name)));
        let sheet = sheet.cloned().unwrap_or_else(|| Sheet::usual(file));
        let url = sheet.url.replace('\\', "/");
        let url = url.trim_start_matches("./");
        if climbs(url) {
            return None;
        }
        let entry = bundle.find(&format!("{}{url}", self.folder)).or_else(|| bundle.find(url))?;
        Some((sheet, entry))
    }

    /// Whether it describes the lines and receipts of a till.
    pub(in crate::exchange) fn of_a_till(&self, bundle: &Bundle) -> bool {
        self.sheet(bundle, super::LINES.0, super::LINES.1).is_some()
            && self.sheet(bundle, super::RECEIPTS.0, super::RECEIPTS.1).is_some()
    }
}

fn table(xml: &mut Xml) -> Result<Sheet, ReadError> {
    let mut sheet = Sheet::usual("");
    while xml.child()? {
        match xml.name() {
            "URL" => sheet.url = xml.text()?.to_owned(),
            "Name" => sheet.name = xml.text()?.to_owned(),
            "UTF8" => coding(xml, &mut sheet, Coding::Utf8)?,
            "ANSI" => coding(xml, &mut sheet, Coding::Ansi)?,
            "OEM" => coding(xml, &mut sheet, Coding::Oem)?,
            "Macintosh" => coding(xml, &mut sheet, Coding::Macintosh)?,
            "UTF16" => coding(xml, &mut sheet, Coding::Utf16)?,
            "UTF7" => coding(xml, &mut sheet, Coding::Utf7)?,
            "DecimalSymbol" => sheet.decimal = xml.text()?.to_owned(),
            // A blank may be the symbol.
            "DigitGroupingSymbol" => sheet.grouping = xml.raw_text()?.to_owned(),
            "Range" => {
                while xml.child()? {
                    if xml.name() == "From" {
                        let text = xml.text()?.to_owned();
                        sheet.from = text.parse().ok().filter(|from| (1..=1_000).contains(from)).ok_or_else(|| {
                            xml.fail(say!(
                                "read {quoted} as the first line; expected a number such as 2",
                                quoted = quoted(&text)
                            ))
                        })?;
                    } else {
                        xml.skip()?;
                    }
                }
            }
            "VariableLength" => variable(xml, &mut sheet)?,
            "FixedLength" => {
                sheet.fixed = true;
                xml.skip()?;
            }
            _ => xml.skip()?,
        }
    }
    Ok(sheet)
}

fn coding(xml: &mut Xml, sheet: &mut Sheet, coding: Coding) -> Result<(), ReadError> {
    sheet.coding = coding;
    xml.skip()
}

fn variable(xml: &mut Xml, sheet: &mut Sheet) -> Result<(), ReadError> {
    while xml.child()? {
        match xml.name() {
            "ColumnDelimiter" => sheet.delimiter = xml.raw_text()?.to_owned(),
            "RecordDelimiter" => sheet.record = xml.raw_text()?.to_owned(),
            "TextEncapsulator" => sheet.quote = xml.text()?.to_owned(),
            "VariableColumn" | "VariablePrimaryKey" => {
                if sheet.columns.len() >= COLUMNS {
                    return Err(xml.fail(say!("a table has more than {COLUMNS} columns", COLUMNS)));
                }
                let mut name = String::new();
                while xml.child()? {
                    if xml.name() == "Name" {
                        name = xml.text()?.to_owned();
                    } else {
                        xml.skip()?;
                    }
                }
                sheet.columns.push(name);
            }
            _ => xml.skip()?,
        }
    }
    Ok(())
}
