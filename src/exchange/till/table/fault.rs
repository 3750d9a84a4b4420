//! What does not fit in a table: line, column, what was read, what was expected.

use crate::exchange::ReadError;
use crate::exchange::plain::legible;
use std::fmt::Write;
use std::path::Path;

/// So many are told; with more than that, the layout is wrong and not the file.
pub(super) const MOST: usize = 20;
/// Characters of a cell that are shown.
const LONGEST: usize = 60;

/// One thing that does not fit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Fault {
    line: u64,
    column: Option<String>,
    read: Option<String>,
    expected: String,
}

impl Fault {
    /// About a row.
    pub(super) fn of_row(line: u64, expected: impl Into<String>) -> Fault {
        Fault { line, column: None, read: None, expected: expected.into() }
    }

    /// About a cell of a column, by its head.
    pub(super) fn of_cell(line: u64, column: &str, read: &str, expected: impl Into<String>) -> Fault {
        Fault { line, column: Some(column.to_owned()), read: Some(shown(read)), expected: expected.into() }
    }

    fn what(&self) -> String {
        let mut out = self.column.as_ref().map_or_else(String::new, |column| format!("{column}: "));
        match self.read.as_deref() {
            Some("") => out.push_str(word!("nothing is written; ")),
            Some(read) => {
                let _ = write!(out, "“{read}”: ");
            }
            None => {}
        }
        out.push_str(&self.expected);
        out
    }

    /// For the row's own place in a preview, where the line is known.
    pub(super) fn words(&self) -> String {
        self.what()
    }
}

/// A cell, fit to be shown.
pub(super) fn shown(cell: &str) -> String {
    let tame = legible(&cell.chars().take(4 * LONGEST).collect::<String>());
    match tame.char_indices().nth(LONGEST) {
        Some((at, _)) => format!("{}…", &tame[..at]),
        None => tame,
    }
}

/// The faults of a file as its refusal.
pub(super) fn refusal(path: &Path, faults: &[Fault]) -> ReadError {
    match faults {
        [one] => ReadError::at(path, say!("line {one}", one = one.line), one.what()),
        _ => {
            let many = if faults.len() >= MOST { say!("{MOST} or more", MOST) } else { faults.len().to_string() };
            let mut what = say!("nothing was taken in: {many} cells do not fit how this table is read", many);
            for fault in faults.iter().take(MOST) {
                let _ = what.write_str(&say!("\n  line {fault}, {what}", fault = fault.line, what = fault.what()));
            }
            ReadError::new(path, what)
        }
    }
}
