//! A table of a till written into a file, looked at and read by a book of some coin.

#![allow(dead_code, clippy::unwrap_used)]

use chrono::NaiveTime;
use std::io::Write;
use std::path::Path;
use tantalus::domain::till::Layout;
use tantalus::domain::venue::DayRule;
use tantalus::exchange::ReadError;
use tantalus::exchange::till::table::{Look, look, read};
use tantalus::exchange::till::{Passed, Rung, Taker, Terms};
use tempfile::NamedTempFile;

/// A book in Berlin whose day begins at an hour.
pub(crate) fn terms_of(coin: &str, begins: u32) -> Terms {
    let starts = NaiveTime::from_hms_opt(begins, 0, 0).unwrap();
    let days = DayRule { zone: "Europe/Berlin".parse().unwrap(), starts };
    Terms { currency: coin.parse().unwrap(), days, until: days.parse("2026-12-01 12:00").unwrap() }
}

/// A book in euros whose day begins at five.
pub(crate) fn terms() -> Terms {
    terms_of("EUR", 5)
}

/// Keeps what it is given.
#[derive(Default)]
pub(crate) struct Kept(pub(crate) Vec<Rung>);

impl Taker for Kept {
    type Error = ReadError;

    fn take(&mut self, line: Rung) -> Result<(), ReadError> {
        self.0.push(line);
        Ok(())
    }

    fn pace(&mut self, read: u64, of: u64) -> Result<(), ReadError> {
        assert!(read <= of);
        Ok(())
    }
}

/// A file that holds a text.
pub(crate) fn file(text: &str) -> NamedTempFile {
    let mut file = NamedTempFile::new().unwrap();
    file.write_all(text.as_bytes()).unwrap();
    file
}

/// Reads a whole file by a layout.
pub(crate) fn taken(path: &Path, layout: &Layout, terms: &Terms) -> Result<(Vec<Rung>, Passed), ReadError> {
    let mut kept = Kept::default();
    let passed = read(path, layout, None, terms, &mut kept)?;
    Ok((kept.0, passed))
}

/// What a text looks like.
pub(crate) fn seen(text: &str, terms: &Terms) -> Look {
    look(file(text).path(), terms).unwrap()
}

/// What a text says by a layout.
pub(crate) fn said(text: &str, layout: &Layout, terms: &Terms) -> Result<(Vec<Rung>, Passed), String> {
    taken(file(text).path(), layout, terms).map_err(|error| error.to_string())
}

/// Quantity in thousandths and net in minor units of each line.
pub(crate) fn figures(lines: &[Rung]) -> Vec<(i64, i64)> {
    lines.iter().map(|line| (line.quantity, line.net.0)).collect()
}
