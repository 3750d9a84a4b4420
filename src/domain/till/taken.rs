//! Files that were taken into the book.

use crate::domain::venue::words::words;
use crate::domain::venue::{FileId, Moment};

words! {
    /// What a file was taken as.
    TakenAs {
        /// Sales of a till.
        Sales = "sales",
        /// A supplier's invoice or credit note.
        Invoice = "invoice",
        /// Nothing: somebody said that it is not for this book.
        SetAside = "set-aside",
    }
}

words! {
    /// What sort of lines a file of sales has. The same sales in two sorts have nothing to be known again by.
    LinesForm {
        /// Lines of a table.
        Lines = "lines",
        /// Figures of whole days.
        Totals = "day totals",
        /// DSFinV-K.
        Dsfinvk = "dsfinvk",
        /// SAF-T Cash Register and its kin.
        SaftCash = "saf-t cash",
        /// SAF-T (PT).
        SaftPt = "saf-t pt",
    }
}

/// A file that was taken in: known by what is in it, wherever it lies and whatever it is called.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TakenFile {
    /// Handle; zero in one that is about to be kept.
    pub id: FileId,
    /// SHA-256 of what is in it, in hexadecimal digits.
    pub digest: String,
    /// What it was called, without its folder.
    pub name: String,
    /// Its bytes.
    pub size: i64,
    /// When it was last written to, as the file system has it.
    pub modified: Option<Moment>,
    /// What it was taken as.
    pub what: TakenAs,
    /// What sort of lines it has, where that is known.
    pub form: Option<LinesForm>,
    /// Lines that were new to the book.
    pub added: i64,
    /// When it was taken in.
    pub at: Moment,
    /// Who took it.
    pub by: Option<String>,
    /// Whether it was taken back since.
    pub withdrawn: bool,
}
