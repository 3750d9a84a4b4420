//! Lists of items out of any spreadsheet: cells apart by tabs, semicolons or commas, under heads of their own or none at all.

mod cells;
mod guess;
mod words;

pub use cells::{Bottle, bottle};
pub use guess::{Known, list, list_under};

use super::ReadError;
use super::till::table::text_of;
use std::path::Path;

/// The most lines and columns of a list, and characters of it.
pub const LINES: usize = 2_000;
const COLUMNS: usize = 40;
const LONGEST: u64 = 2_000_000;

/// Why a text is no list.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ListError {
    /// There are no lines in it.
    #[error("{}", word!("there is no list in it; copy the cells of a spreadsheet, names in one column"))]
    Empty,
    /// More lines than anybody stocks.
    #[error("{}", say!("expected a list of at most {LINES} lines; take it in parts", LINES))]
    Long,
    /// More columns than a list has.
    #[error("{}", say!("expected at most {COLUMNS} columns; leave out those that say nothing of the items", COLUMNS))]
    Wide,
}

/// The text of a file, whatever its encoding.
///
/// # Errors
/// [`ReadError`]: it cannot be read, or is no text.
pub fn file(path: &Path) -> Result<String, ReadError> {
    text_of(path, LONGEST)
}

/// The rows of a text, each with as many cells as the widest; empty rows and columns are left out.
///
/// # Errors
/// [`ListError`].
pub fn rows(text: &str) -> Result<Vec<Vec<String>>, ListError> {
    let rows: Vec<Vec<String>> = cut(text, delimiter(text))
        .into_iter()
        .filter(|row| row.iter().any(|cell| !cell.is_empty()))
        .take(LINES + 2)
        .collect();
    let wide = rows.iter().map(Vec::len).max().unwrap_or(0);
    let filled: Vec<usize> =
        (0..wide).filter(|n| rows.iter().any(|row| row.get(*n).is_some_and(|cell| !cell.is_empty()))).collect();
    let cell = |row: &Vec<String>, n: usize| row.get(n).cloned().unwrap_or_default();
    let rows: Vec<Vec<String>> = rows.iter().map(|row| filled.iter().map(|n| cell(row, *n)).collect()).collect();
    match (rows.len(), filled.len()) {
        (0, _) => Err(ListError::Empty),
        (lines, _) if lines > LINES + 1 => Err(ListError::Long),
        (_, columns) if columns > COLUMNS => Err(ListError::Wide),
        _ => Ok(rows),
    }
}

/// What stands between the cells: a tab, as spreadsheets copy them, wherever there is one; else what cuts the most lines into
/// the same number of cells. A list of names alone has nothing between.
fn delimiter(text: &str) -> u8 {
    if text.contains('\t') {
        return b'\t';
    }
    let score = |delimiter: u8| {
        let widths: Vec<usize> = cut(text, delimiter).iter().take(200).map(Vec::len).collect();
        let usual = widths.iter().copied().max_by_key(|wide| widths.iter().filter(|other| *other == wide).count());
        let wide = usual.filter(|wide| *wide > 1)?;
        Some((widths.iter().filter(|other| **other == wide).count() * 100 / widths.len(), wide))
    };
    // A comma stands in names and figures too: it must cut nearly every line alike.
    let good =
        |delimiter: &u8| score(*delimiter).is_some_and(|(alike, _)| alike >= if *delimiter == b',' { 90 } else { 60 });
    [b';', b'|', b','].into_iter().filter(good).max_by_key(|delimiter| score(*delimiter)).unwrap_or(b'\t')
}

fn cut(text: &str, delimiter: u8) -> Vec<Vec<String>> {
    let mut reader =
        csv::ReaderBuilder::new().has_headers(false).flexible(true).delimiter(delimiter).from_reader(text.as_bytes());
    let row = |record: csv::StringRecord| record.iter().map(one_line).collect();
    reader.records().filter_map(Result::ok).map(row).collect()
}

/// A cell in one line and without what could harm a terminal or a file.
fn one_line(cell: &str) -> String {
    crate::exchange::plain::tamed(&cell.split_whitespace().collect::<Vec<_>>().join(" "))
}
