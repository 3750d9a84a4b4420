//! What was done to a book, and what became of its rows by it.

use crate::domain::venue::{ActId, Deed, Moment};
use serde_json::{Map, Value};

/// Something that was done to the book.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Act {
    /// Its number.
    pub id: ActId,
    /// When.
    pub at: Moment,
    /// Who was at the screen, where somebody had signed in.
    pub by: Option<String>,
    /// What was done.
    pub deed: Deed,
    /// The act that it takes back.
    pub undoes: Option<ActId>,
    /// The last change of a row that belongs to it.
    pub changes: i64,
    /// The last counted line that belongs to it.
    pub lines: i64,
}

/// The cells of a row by the names of its columns.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Image(pub Map<String, Value>);

impl Image {
    /// A whole number, where the cell is one.
    pub fn number(&self, column: &str) -> Option<i64> {
        self.0.get(column).and_then(Value::as_i64)
    }

    /// A text, where the cell is one.
    pub fn text(&self, column: &str) -> Option<&str> {
        self.0.get(column).and_then(Value::as_str)
    }
}

/// How a row changed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RowChange {
    /// Its table.
    pub table: String,
    /// What it was; none where there was no such row.
    pub before: Option<Image>,
    /// What it is; none where there is none any more.
    pub after: Option<Image>,
}

impl RowChange {
    /// The row as it is, or as it was when it left.
    pub fn row(&self) -> Option<&Image> {
        self.after.as_ref().or(self.before.as_ref())
    }
}
