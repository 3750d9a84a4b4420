//! The file under a table: its encoding, its text, its rows. Nothing is held but the row at hand.

use crate::exchange::{ReadError, opening};
use crate::system;
use encoding_rs::{Encoding, UTF_8, UTF_16BE, UTF_16LE, WINDOWS_1252};
use encoding_rs_io::DecodeReaderBytesBuilder;
use std::cell::Cell;
use std::fs::File;
use std::io::{self, Read, Seek, SeekFrom};
use std::path::{Path, PathBuf};
use std::rc::Rc;

/// The most that one row may hold, in bytes. A till's line has a few hundred; more is a quotation mark never closed.
pub(super) const LONGEST_ROW: u64 = 1 << 20;
/// Bytes read at a time.
const BUFFER: usize = 1 << 16;
/// Bytes from which the encoding is told.
const SNIFF: u64 = 1 << 13;
/// The byte order mark of UTF-8.
const MARK: [u8; 3] = [0xef, 0xbb, 0xbf];

/// What stands between the cells of a row.
pub(super) const DELIMITERS: [u8; 4] = [b';', b',', b'\t', b'|'];

/// A file, and what its bytes mean.
#[derive(Debug)]
pub(super) struct Source {
    pub(super) path: PathBuf,
    pub(super) encoding: &'static Encoding,
    pub(super) length: u64,
    /// Whether lines end with a carriage return alone.
    returns: bool,
    /// UTF-8 that holds, to be read as it is.
    plain: bool,
}

impl Source {
    /// Looks at a file: a byte order mark decides; then zeros at every other byte; then whether the whole of it is
    /// UTF-8; what is none of these is Windows-1252, in which every byte is a letter.
    pub(super) fn open(path: &Path) -> Result<Source, ReadError> {
        let mut file = opening::file(path).map_err(|e| io_error(path, word!("file" => "opened"), &e))?;
        let length = file.metadata().map_err(|e| io_error(path, word!("file" => "read"), &e))?.len();
        let mut start = Vec::new();
        file.by_ref().take(SNIFF).read_to_end(&mut start).map_err(|e| io_error(path, word!("file" => "read"), &e))?;
        if start.is_empty() {
            return Err(ReadError::new(path, word!("the file is empty; expected a table")));
        }
        let marked = Encoding::for_bom(&start).map(|(encoding, _)| encoding);
        let wide = marked.or_else(|| wide(&start));
        let mut plain = false;
        let encoding = match wide {
            Some(other) if other != UTF_8 => other,
            _ => {
                file.seek(SeekFrom::Start(0)).map_err(|e| io_error(path, word!("file" => "read"), &e))?;
                plain = is_utf8(&mut file).map_err(|e| io_error(path, word!("file" => "read"), &e))?;
                if plain || wide.is_some() { UTF_8 } else { WINDOWS_1252 }
            }
        };
        let mut source = Source { path: path.to_owned(), encoding, length, returns: false, plain };
        let mut text = String::new();
        // What is cut in the middle of a letter still says how lines end.
        let _ = source.text()?.take(SNIFF).read_to_string(&mut text);
        let odd =
            text.chars().filter(|c| c.is_control() && !matches!(c, '\n' | '\r' | '\t' | '\u{c}' | '\u{1a}')).count();
        if odd * 20 > text.chars().count() || start.starts_with(b"%PDF-") || start.starts_with(b"PK\x03\x04") {
            return Err(ReadError::new(path, word!("this is no text; expected a table of text such as a CSV file")));
        }
        source.returns = text.contains('\r') && !text.contains('\n');
        Ok(source)
    }

    /// The text from the beginning, without the mark.
    fn text(&self) -> Result<Box<dyn Read>, ReadError> {
        let mut file = opening::file(&self.path).map_err(|e| io_error(&self.path, word!("file" => "opened"), &e))?;
        if !self.plain {
            let mut builder = DecodeReaderBytesBuilder::new();
            return Ok(Box::new(builder.encoding(Some(self.encoding)).build(file)));
        }
        let mut start = Vec::new();
        file.by_ref().take(3).read_to_end(&mut start).map_err(|e| io_error(&self.path, word!("file" => "read"), &e))?;
        let skip = if start == MARK { 3 } else { 0 };
        file.seek(SeekFrom::Start(skip)).map_err(|e| io_error(&self.path, word!("file" => "read"), &e))?;
        Ok(Box::new(file))
    }

    /// The rows of the first `most` bytes of text, or of all of it.
    pub(super) fn rows(&self, delimiter: u8, most: Option<u64>) -> Result<Rows, ReadError> {
        let text = self.text()?;
        let text: Box<dyn Read> = match most {
            Some(most) => Box::new(text.take(most)),
            None => text,
        };
        let meter = Rc::new(Meter::default());
        let end = if self.returns { b'\r' } else { b'\n' };
        let reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .delimiter(delimiter)
            .terminator(csv::Terminator::Any(end))
            .buffer_capacity(BUFFER)
            .from_reader(Metered { text, meter: Rc::clone(&meter), end });
        Ok(Rows {
            path: self.path.clone(),
            reader,
            meter,
            returns: self.returns,
            record: csv::StringRecord::new(),
            line: 0,
            blank: 0,
            ended: 1,
        })
    }
}

/// The text of a file, whatever its encoding, up to so many bytes of it.
///
/// # Errors
/// [`ReadError`]: it cannot be read, is no text, or is longer.
pub(in crate::exchange) fn text_of(path: &Path, most: u64) -> Result<String, ReadError> {
    let source = Source::open(path)?;
    let mut text = String::new();
    let read = source.text()?.take(most + 1).read_to_string(&mut text);
    read.map_err(|e| io_error(path, word!("file" => "read"), &e))?;
    match text.len() as u64 {
        long if long > most => Err(ReadError::new(path, say!("the file has more than {most} bytes of text", most))),
        _ => Ok(text),
    }
}

/// UTF-16 without a mark: plain letters leave every other byte zero.
fn wide(start: &[u8]) -> Option<&'static Encoding> {
    let pairs = start.len() / 2;
    let zeros = |first: usize| start.iter().skip(first).step_by(2).filter(|b| **b == 0).count();
    let (even, odd) = (zeros(0), zeros(1));
    if pairs < 2 {
        None
    } else if odd * 10 > pairs * 6 && even * 10 < pairs {
        Some(UTF_16LE)
    } else if even * 10 > pairs * 6 && odd * 10 < pairs {
        Some(UTF_16BE)
    } else {
        None
    }
}

/// Whether all of it is UTF-8.
fn is_utf8(file: &mut File) -> io::Result<bool> {
    let mut buffer = vec![0; BUFFER];
    let mut kept = 0;
    loop {
        let read = file.read(&mut buffer[kept..])?;
        if read == 0 {
            return Ok(kept == 0);
        }
        let have = kept + read;
        match std::str::from_utf8(&buffer[..have]) {
            Ok(_) => kept = 0,
            Err(e) if e.error_len().is_some() => return Ok(false),
            Err(e) => {
                // A letter cut by the end of the buffer.
                buffer.copy_within(e.valid_up_to()..have, 0);
                kept = have - e.valid_up_to();
            }
        }
    }
}

fn io_error(path: &Path, doing: &str, error: &io::Error) -> ReadError {
    ReadError::new(path, say!("the file cannot be {doing}: {error}", doing, error = system::words(error)))
}

/// How much was read, and how much of it since the last row ended.
#[derive(Debug, Default)]
struct Meter {
    all: Cell<u64>,
    since: Cell<u64>,
    /// Whether the last byte of all ended a line.
    closed: Cell<bool>,
}

struct Metered {
    text: Box<dyn Read>,
    meter: Rc<Meter>,
    end: u8,
}

impl Read for Metered {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        if self.meter.since.get() > LONGEST_ROW {
            return Err(io::Error::new(io::ErrorKind::FileTooLarge, "row"));
        }
        let read = self.text.read(buffer)?;
        if read > 0 {
            self.meter.closed.set(buffer[read - 1] == self.end);
        }
        self.meter.all.set(self.meter.all.get() + read as u64);
        self.meter.since.set(self.meter.since.get() + read as u64);
        Ok(read)
    }
}

/// The rows of a text, one at a time.
pub(super) struct Rows {
    path: PathBuf,
    reader: csv::Reader<Metered>,
    meter: Rc<Meter>,
    returns: bool,
    record: csv::StringRecord,
    /// Line that the row at hand begins on, from 1.
    line: u64,
    /// Empty lines before the row at hand.
    blank: u64,
    /// The line after the row at hand.
    ended: u64,
}

impl Rows {
    /// Moves to the next row; false at the end.
    pub(super) fn advance(&mut self) -> Result<bool, ReadError> {
        self.meter.since.set(0);
        match self.reader.read_record(&mut self.record) {
            Ok(true) => {}
            Ok(false) => {
                // Empty lines at the end.
                self.blank = if self.returns { 0 } else { self.reader.position().line().saturating_sub(self.ended) };
                return Ok(false);
            }
            Err(error) => return Err(self.refused(&error)),
        }
        if self.returns {
            (self.line, self.blank) = (self.line + 1, 0);
            return Ok(true);
        }
        // The reader counts from the end of the row before, empty lines included; the row itself begins after them.
        let inside: usize = self.record.iter().map(|cell| cell.bytes().filter(|b| *b == b'\n').count()).sum();
        let end = self.reader.position().line() + u64::from(self.cut());
        self.line = end.saturating_sub(1 + inside as u64).max(self.ended);
        self.blank = self.line - self.ended;
        self.ended = end;
        Ok(true)
    }

    fn refused(&self, error: &csv::Error) -> ReadError {
        let at = say!("line {ended}", ended = self.ended);
        let long = matches!(error.kind(), csv::ErrorKind::Io(e) if e.kind() == io::ErrorKind::FileTooLarge);
        if long {
            let what = word!(
                "no row ends within a million bytes; expected one line for each sale: a quotation mark may never be closed"
            );
            return ReadError::at(&self.path, at, what);
        }
        let why = match error.kind() {
            csv::ErrorKind::Io(error) => system::words(error),
            _ => error.to_string(),
        };
        ReadError::at(&self.path, at, say!("the file cannot be read: {why}", why))
    }

    /// The cells of the row at hand.
    pub(super) fn cells(&self) -> &csv::StringRecord {
        &self.record
    }

    /// Line that the row at hand begins on, from 1.
    pub(super) fn line(&self) -> u64 {
        self.line
    }

    /// Empty lines before the row at hand; after the last row, those at the end.
    pub(super) fn blank(&self) -> u64 {
        self.blank
    }

    /// Bytes of text read so far.
    pub(super) fn read(&self) -> u64 {
        self.meter.all.get()
    }

    /// Whether the row at hand is the last one and nothing ends it: the file may have been cut.
    pub(super) fn cut(&self) -> bool {
        self.reader.position().byte() == self.meter.all.get() && !self.meter.closed.get()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Write;

    fn file(bytes: &[u8]) -> tempfile::NamedTempFile {
        let mut file = tempfile::NamedTempFile::new().unwrap();
        file.write_all(bytes).unwrap();
        file
    }

    fn lines(bytes: &[u8]) -> Vec<(u64, u64, Vec<String>)> {
        let file = file(bytes);
        let mut rows = Source::open(file.path()).unwrap().rows(b';', None).unwrap();
        let mut out = Vec::new();
        while rows.advance().unwrap() {
            out.push((rows.line(), rows.blank(), rows.cells().iter().map(|c| c.trim().to_owned()).collect()));
        }
        out
    }

    #[test]
    fn a_row_knows_its_line() {
        let want = |rows: &[(u64, u64, &[&str])]| -> Vec<(u64, u64, Vec<String>)> {
            rows.iter().map(|(l, b, c)| (*l, *b, c.iter().map(|c| (*c).to_owned()).collect())).collect()
        };
        assert_eq!(
            lines(b"a;b\n\n\n\"c\nd\";e\nf;g"),
            want(&[(1, 0, &["a", "b"]), (4, 2, &["c\nd", "e"]), (6, 0, &["f", "g"])])
        );
        assert_eq!(
            lines(b"a;b\r\n\"c\r\nd\";e\r\nf;g\r\n"),
            want(&[(1, 0, &["a", "b"]), (2, 0, &["c\r\nd", "e"]), (4, 0, &["f", "g"])])
        );
        assert_eq!(lines(b"a;b\rc;d\r"), want(&[(1, 0, &["a", "b"]), (2, 0, &["c", "d"])]));
    }

    #[test]
    fn bytes_are_told_apart() {
        let wide = |text: &str, big: bool| -> Vec<u8> {
            text.encode_utf16().flat_map(|u| if big { u.to_be_bytes() } else { u.to_le_bytes() }).collect()
        };
        for (bytes, want) in [
            ("Menge;Rosé\n".as_bytes().to_vec(), UTF_8),
            ([&MARK[..], "Menge;Rosé\n".as_bytes()].concat(), UTF_8),
            (b"Menge;Ros\xe9\n".to_vec(), WINDOWS_1252),
            (wide("Menge;Rosé\n", false), UTF_16LE),
            (wide("Menge;Rosé\n", true), UTF_16BE),
            (wide("\u{feff}Menge;Rosé\n", true), UTF_16BE),
        ] {
            let file = file(&bytes);
            let source = Source::open(file.path()).unwrap();
            assert_eq!(source.encoding, want, "{bytes:?}");
            let mut rows = source.rows(b';', None).unwrap();
            assert!(rows.advance().unwrap());
            assert_eq!(rows.cells().iter().map(str::trim).collect::<Vec<_>>(), ["Menge", "Rosé"]);
        }
        // A letter of two bytes across the end of the buffer.
        let long = format!("{}é\n", "x".repeat(BUFFER - 1));
        assert_eq!(Source::open(file(long.as_bytes()).path()).unwrap().encoding, UTF_8);
    }

    #[test]
    fn what_is_no_text_or_never_ends_is_refused() {
        let refused = |bytes: &[u8]| Source::open(file(bytes).path()).unwrap_err().what;
        assert!(refused(b"").contains("empty"));
        assert!(refused(b"PK\x03\x04 and so on").contains("no text"));
        assert!(refused(&[1, 2, 3, 4, 5, 6, 7, 8]).contains("no text"));
        let open = file(format!("a;b\n\"{}", "c;d\n".repeat(400_000)).as_bytes());
        let mut rows = Source::open(open.path()).unwrap().rows(b';', None).unwrap();
        assert!(rows.advance().unwrap());
        let error = rows.advance().unwrap_err();
        assert!(error.to_string().contains("line 2: no row ends within a million bytes"), "{error}");
    }
}
