//! What the till calls things, and its files, as screens and tables show them.

use crate::domain::measure::Money;
use crate::domain::rows::FilePrint;
use crate::domain::till::{Layout, Likely, Question, RungAs, Skip, TakenFile};
use crate::domain::venue::{Moment, Setup, TillId, TillMeaning};
use chrono::NaiveDate;
use std::path::PathBuf;
use std::sync::Arc;

/// A name of the till.
#[derive(Clone, Debug, PartialEq)]
pub struct TillRow {
    /// Which; its name and meaning stand in the set-up.
    pub till: TillId,
    /// What was rung under it lately; under one that means nothing yet and was not rung lately, what ever was.
    pub rung: RungAs,
    /// What it may mean; only of one that means nothing yet.
    pub likely: Likely,
}

/// The names of the till and the files that came from it.
#[derive(Clone, Debug)]
pub struct TillView {
    /// The bar.
    pub setup: Arc<Setup>,
    /// What was rung is looked at from here on.
    pub since: Moment,
    /// Every name: those without a meaning first, the most money first.
    pub rows: Vec<TillRow>,
    /// Net sales since then, of all names.
    pub net: Money,
    /// The part of them under names that mean nothing yet.
    pub lately: Money,
    /// The files taken in last, the newest first.
    pub files: Vec<TakenFile>,
    /// How tables are read.
    pub layouts: Vec<Layout>,
}

impl TillView {
    /// How many names mean nothing yet; they stand first.
    pub fn waiting(&self) -> usize {
        self.rows.iter().take_while(|row| self.means(row.till) == TillMeaning::Unknown).count()
    }

    /// What a name means.
    pub fn means(&self, till: TillId) -> TillMeaning {
        self.setup.till_name(till).map_or(TillMeaning::Unknown, |name| name.means)
    }
}

/// What the lines of a file come to.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct FileSum {
    /// Lines that the till rang.
    pub lines: u64,
    /// How many were sold, in thousandths, less what was taken back.
    pub quantity: i64,
    /// Net of tax.
    pub net: Money,
    /// First and last business day.
    pub days: Option<(NaiveDate, NaiveDate)>,
    /// Rows passed over, by reason.
    pub skipped: Vec<(Skip, u64)>,
    /// What a person should know.
    pub warnings: Vec<String>,
    /// Lines new to the book.
    pub added: u64,
    /// Lines that the book has already.
    pub already: u64,
    /// Figures of days that are brought up to date.
    pub corrected: u64,
    /// Those of them that come down.
    pub lowered: u64,
    /// The first few of these.
    pub lowest: Vec<Lowered>,
    /// Lines whose name is another in the book; the book's stays.
    pub renamed: u64,
    /// Lines new to the book, or figures changed, from before the last count that was closed.
    pub before_count: u64,
    /// Names of the till that the book has not met yet, and under which something with a quantity is sold.
    pub new_names: Vec<String>,
    /// Names that mean nothing yet, new ones among them, and what was rung under them.
    pub unmapped: u64,
    /// Net of what was rung under those.
    pub unmapped_net: Money,
    /// What the file calls the place it comes from.
    pub from: Option<String>,
}

/// A day's figure that comes down.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Lowered {
    /// What the till calls it.
    pub sold_as: String,
    /// The business day.
    pub day: NaiveDate,
    /// What the book has: how many, in thousandths, for how much.
    pub from: (i64, Money),
    /// What the file says.
    pub to: (i64, Money),
}

/// One row of a table as it is understood.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UnderstoodRow {
    /// When; the day alone where it is a day's figure.
    pub when: String,
    /// What the till calls it.
    pub sold_as: String,
    /// How many, in thousandths.
    pub quantity: i64,
    /// Net of tax.
    pub net: Money,
    /// What the line was, where it was no plain sale.
    pub kind: String,
}

/// A column of a table with what stands in its first rows.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct SampleColumn {
    /// Cells of the first rows, made harmless.
    pub cells: Vec<String>,
}

/// A file of sales that was looked at and not taken in.
#[derive(Clone, Debug, PartialEq)]
pub struct SalesLook {
    /// Where it is.
    pub path: PathBuf,
    /// What makes it itself.
    pub print: FilePrint,
    /// What it is, in words.
    pub what: String,
    /// The file with the same content that was taken in before.
    pub taken: Option<TakenFile>,
    /// How it is read, when it is a table.
    pub table: Option<TableLook>,
    /// What its lines come to: of a table, only once its layout is settled.
    pub sum: Result<FileSum, String>,
    /// What a person must say yes to before it is taken in.
    pub doubts: Vec<String>,
}

/// A table of a till with how it would be read.
#[derive(Clone, Debug, PartialEq)]
pub struct TableLook {
    /// How it is read.
    pub layout: Layout,
    /// Whether the layout is one that the book keeps.
    pub known: bool,
    /// What a person must decide.
    pub questions: Vec<Question>,
    /// The business day of the whole table, where no column says it.
    pub day: Option<NaiveDate>,
    /// What stands in each column.
    pub samples: Vec<SampleColumn>,
    /// The first rows as they are understood.
    pub rows: Vec<UnderstoodRow>,
}

/// What taking a file of sales in brought.
#[derive(Clone, Debug, PartialEq)]
pub struct TakenIn {
    /// What it is called.
    pub name: String,
    /// What it is, in words.
    pub what: String,
    /// What its lines come to.
    pub sum: FileSum,
}
