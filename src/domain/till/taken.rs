//! Files that were taken into the book.

use super::{Amounts, Field, Layout};
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
        /// Lines of receipts in a table.
        Lines = "lines",
        /// The same, with the register of each.
        RegisterLines = "lines of registers",
        /// Lines of receipts with their numbers there.
        NumberedLines = "numbered lines",
        /// The same, with the register of each.
        RegisterNumberedLines = "numbered lines of registers",
        /// Lines of a table without receipts, with their times.
        Moments = "lines without receipts",
        /// The same, with the register of each.
        RegisterMoments = "lines of registers without receipts",
        /// Lines of a table without receipts and times.
        Bare = "lines without receipts and times",
        /// The same, with the register of each.
        RegisterBare = "lines of registers without receipts and times",
        /// Figures of whole days.
        Totals = "day totals",
        /// The same, with the register of each.
        RegisterTotals = "day totals of registers",
        /// The same, with the number of the article.
        NumberedTotals = "day totals by article number",
        /// The same, with both.
        RegisterNumberedTotals = "day totals of registers by article number",
        /// DSFinV-K.
        Dsfinvk = "dsfinvk",
        /// SAF-T Cash Register and its kin.
        SaftCash = "saf-t cash",
        /// SAF-T (PT).
        SaftPt = "saf-t pt",
    }
}

impl LinesForm {
    /// The sort of lines of a table: by what they are known again.
    pub fn of(layout: &Layout) -> LinesForm {
        let has = |field| layout.column(field).is_some();
        match (layout.amounts, has(Field::Register)) {
            (Amounts::Totals, register) => match (register, has(Field::Code)) {
                (false, false) => LinesForm::Totals,
                (true, false) => LinesForm::RegisterTotals,
                (false, true) => LinesForm::NumberedTotals,
                (true, true) => LinesForm::RegisterNumberedTotals,
            },
            (Amounts::Lines, register) if has(Field::Receipt) => match (register, has(Field::Line)) {
                (false, false) => LinesForm::Lines,
                (true, false) => LinesForm::RegisterLines,
                (false, true) => LinesForm::NumberedLines,
                (true, true) => LinesForm::RegisterNumberedLines,
            },
            (Amounts::Lines, register) => match (register, has(Field::Time) || has(Field::DateTime)) {
                (false, true) => LinesForm::Moments,
                (true, true) => LinesForm::RegisterMoments,
                (false, false) => LinesForm::Bare,
                (true, false) => LinesForm::RegisterBare,
            },
        }
    }

    /// Whether they are figures of whole days.
    pub fn is_of_days(self) -> bool {
        use LinesForm::{NumberedTotals, RegisterNumberedTotals, RegisterTotals, Totals};
        matches!(self, Totals | RegisterTotals | NumberedTotals | RegisterNumberedTotals)
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
