//! One file as a table: its head checked, its lines in the order of [`FILES`](super::FILES)' columns.

use super::lines::OneEnd;
use super::{Cells, Fault, Faults, Plain};
use crate::exchange::{At, ExchangeError, opening};
use csv::ByteRecord;
use std::fs::File;
use std::io::{Cursor, Read, Seek, SeekFrom};
use std::path::{Path, PathBuf};

/// Bytes read at a time.
const BUFFER: usize = 1 << 18;

/// Where the bytes of a table come from.
#[derive(Debug)]
enum Source {
    File(File),
    /// What was written at the keyboard or pasted.
    Text(Cursor<Vec<u8>>),
}

impl Read for Source {
    fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
        match self {
            Source::File(file) => file.read(buffer),
            Source::Text(text) => text.read(buffer),
        }
    }
}

/// An open file whose head was read.
#[derive(Debug)]
pub struct Table {
    file: Plain,
    path: PathBuf,
    reader: csv::Reader<OneEnd<Source>>,
    record: ByteRecord,
    /// Line of the file that the record begins on, from 1.
    line: u64,
    /// For each column of the description, where it stands in the file.
    places: Vec<Option<usize>>,
    width: usize,
    cells: Cells,
}

impl Table {
    /// Opens a file and checks its head. `None` when the head is wrong: nothing under it can be told.
    ///
    /// # Errors
    /// [`ExchangeError::Io`].
    pub fn open(path: &Path, file: Plain, faults: &mut Faults) -> Result<Option<Table>, ExchangeError> {
        let mut opened = opening::file(path).at("opening", path)?;
        let mut start = Vec::with_capacity(3);
        opened.by_ref().take(3).read_to_end(&mut start).at("reading", path)?;
        if start.starts_with(&[0xff, 0xfe]) || start.starts_with(&[0xfe, 0xff]) {
            faults.push(Fault::of_file(
                file.name(),
                word!("expected UTF-8 text, but this is UTF-16; save it again as UTF-8"),
            ));
            return Ok(None);
        }
        let skip = if start == [0xef, 0xbb, 0xbf] { 3 } else { 0 };
        opened.seek(SeekFrom::Start(skip)).at("reading", path)?;
        Table::over(Source::File(opened), path, file, faults)
    }

    /// The same of a text that is no file.
    ///
    /// # Errors
    /// As [`Table::open`].
    pub fn of_text(text: &str, file: Plain, faults: &mut Faults) -> Result<Option<Table>, ExchangeError> {
        Table::over(Source::Text(Cursor::new(text.as_bytes().to_vec())), Path::new(file.name()), file, faults)
    }

    fn over(source: Source, path: &Path, file: Plain, faults: &mut Faults) -> Result<Option<Table>, ExchangeError> {
        let reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .buffer_capacity(BUFFER)
            .from_reader(OneEnd::new(source));
        let mut table = Table {
            file,
            path: path.to_owned(),
            reader,
            record: ByteRecord::new(),
            line: 0,
            places: Vec::new(),
            width: 0,
            cells: Cells::new(file),
        };
        Ok(table.head(faults)?.then_some(table))
    }

    /// Reads the head; says whether lines can be read under it.
    fn head(&mut self, faults: &mut Faults) -> Result<bool, ExchangeError> {
        let spec = self.file.spec();
        if !self.advance()? {
            faults.push(Fault::of_file(
                spec.name,
                say!("expected a head with the columns {heads}", heads = spec.heads()),
            ));
            return Ok(false);
        }
        let line = self.line();
        let fault = |read: &[u8], expected: String| Fault {
            read: Some(
                Fault::of_cell(self.file, line, "", &String::from_utf8_lossy(read), "").read.unwrap_or_default(),
            ),
            ..Fault::of_line(self.file, line, expected)
        };
        if self.record.len() == 1 && self.record[0].iter().any(|b| matches!(b, b';' | b'\t' | b'|')) {
            let read = self.record[0].to_vec();
            faults.push(fault(&read, word!("expected cells apart by commas; save it again with commas").to_owned()));
            return Ok(false);
        }
        let mut places = vec![None; spec.columns.len()];
        let mut good = true;
        for (n, cell) in self.record.iter().enumerate() {
            let name = String::from_utf8_lossy(cell).trim().to_lowercase();
            match spec.column(&name) {
                Some(column) if places[column].is_none() => places[column] = Some(n),
                Some(_) => {
                    good = false;
                    faults.push(fault(cell, word!("this column is there twice; expected it once").to_owned()));
                }
                None => {
                    good = false;
                    faults.push(fault(cell, say!("unknown column; expected {heads}", heads = spec.heads())));
                }
            }
        }
        for (column, place) in spec.columns.iter().zip(&places) {
            if column.required && place.is_none() {
                good = false;
                let missing = say!(
                    "the column {column} is missing; expected {heads}",
                    column = column.name,
                    heads = spec.heads()
                );
                faults.push(Fault::of_line(self.file, line, missing));
            }
        }
        self.width = self.record.len();
        self.places = places;
        Ok(good)
    }

    fn advance(&mut self) -> Result<bool, ExchangeError> {
        let done = self.reader.read_byte_record(&mut self.record);
        let any = done.map_err(|error| {
            let source = match error.into_kind() {
                csv::ErrorKind::Io(source) => source,
                other => std::io::Error::other(format!("{other:?}")),
            };
            ExchangeError::Io { doing: "reading", path: self.path.clone(), source }
        })?;
        if any {
            // The reader counts from the end of the line before, empty ones included; its end is known for certain.
            let inside = match self.record.as_slice() {
                cells if cells.contains(&b'\n') => cells.iter().filter(|b| **b == b'\n').count() as u64,
                _ => 0,
            };
            let end = self.reader.position();
            let broken = self.record.iter().next_back().is_some_and(|cell| cell.ends_with(b"\n"));
            let after = end.line() + u64::from(self.reader.get_ref().ends_open_at(end.byte(), broken));
            self.line = after.saturating_sub(1 + inside);
        }
        Ok(any)
    }

    /// Moves to the next line that holds anything; a line with too many or too few cells is a fault and passed over.
    ///
    /// # Errors
    /// [`ExchangeError::Io`].
    pub fn advance_to_line(&mut self, faults: &mut Faults) -> Result<bool, ExchangeError> {
        while self.advance()? {
            if self.record.len() == self.width {
                // A spreadsheet writes the empty rows under a table as lines of commas.
                if self.record.as_slice().iter().all(u8::is_ascii_whitespace) {
                    continue;
                }
                return Ok(true);
            }
            let found = self.record.len();
            let expected = say!(
                "expected {width} cells as in the head, found {found}; a cell with a comma in it stands in quotation marks",
                width = self.width,
                found
            );
            faults.push(Fault::of_line(self.file, self.line(), expected));
        }
        Ok(false)
    }

    /// The next line as cells in the order of the description.
    ///
    /// # Errors
    /// [`ExchangeError::Io`].
    pub fn next(&mut self, faults: &mut Faults) -> Result<Option<&mut Cells>, ExchangeError> {
        while self.advance_to_line(faults)? {
            if self.take(faults) {
                return Ok(Some(&mut self.cells));
            }
        }
        Ok(None)
    }

    /// The line at hand as cells; `None` when it is not text.
    pub fn here(&mut self, faults: &mut Faults) -> Option<&mut Cells> {
        self.take(faults).then_some(&mut self.cells)
    }

    fn take(&mut self, faults: &mut Faults) -> bool {
        self.cells.line = self.line();
        for (n, place) in self.places.iter().enumerate() {
            let cell = match place.and_then(|p| self.record.get(p)) {
                None => None,
                Some(bytes) => match std::str::from_utf8(bytes) {
                    Ok(text) => Some(text.trim()),
                    Err(_) => {
                        let column = self.file.spec().columns[n].name;
                        let read = String::from_utf8_lossy(bytes);
                        let expected = word!("expected UTF-8 text; save the file again as UTF-8");
                        faults.push(Fault::of_cell(self.file, self.cells.line, column, &read, expected));
                        return false;
                    }
                },
            };
            self.cells.set(n, cell);
        }
        true
    }

    /// A cell of the line at hand as it stands; empty when the file has no such column.
    pub fn raw(&self, column: usize) -> &[u8] {
        self.places.get(column).copied().flatten().and_then(|p| self.record.get(p)).unwrap_or_default()
    }

    /// The line of the file that the line at hand begins on, from 1, as an editor counts them.
    pub fn line(&self) -> u64 {
        self.line
    }

    /// Bytes read so far.
    pub fn bytes(&self) -> u64 {
        self.reader.get_ref().taken()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_counted_as_an_editor_counts_them() {
        let text = "item,kind,size\n\nGin,spirit,700 ml\n\"Old\nTom\",spirit,700 ml\n\n\nRum,spirit\nAle,beer,5 l";
        for end in ["\n", "\r\n", "\r"] {
            for last in ["", end] {
                let file = tempfile::NamedTempFile::new().unwrap();
                std::fs::write(file.path(), text.replace('\n', end) + last).unwrap();
                let mut faults = Faults::default();
                let mut table = Table::open(file.path(), Plain::Stock, &mut faults).unwrap().unwrap();
                let mut lines = vec![table.line()];
                while table.advance_to_line(&mut faults).unwrap() {
                    lines.push(table.line());
                }
                assert_eq!(lines, [1, 3, 4, 9], "{end:?} {last:?}");
                assert_eq!(faults.list.iter().map(|f| f.line).collect::<Vec<_>>(), [Some(8)], "{end:?} {last:?}");
                assert_eq!(table.bytes(), std::fs::metadata(file.path()).unwrap().len());
            }
        }
        // A cell that ends with a line break, and one that is never closed.
        for (text, want) in
            [("item,kind,size\nA,\"b\n\",c\n\"D\n\",e,\"f\n\"\n", 4), ("item,kind,size\n\nA,b,\"c,d\nE,f,g\n", 3)]
        {
            let file = tempfile::NamedTempFile::new().unwrap();
            std::fs::write(file.path(), text).unwrap();
            let mut faults = Faults::default();
            let mut table = Table::open(file.path(), Plain::Stock, &mut faults).unwrap().unwrap();
            while table.advance().unwrap() {}
            assert_eq!(table.line(), want, "{text:?}");
        }
    }
}
