//! What a table of sales leaves open.

use super::Field;

/// What a question is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum About {
    /// What a column says, by its place from 0.
    Column(usize),
    /// A column that is needed and was not found.
    Missing(Field),
    /// The decimal mark.
    Decimal,
    /// The order of day and month.
    Dates,
    /// Whether tax is in the amounts, and at what rate.
    Tax,
    /// The business day of the whole table.
    Day,
}

/// Something that the file does not tell.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Question {
    /// What it is about.
    pub about: About,
    /// In words, made safe for a terminal.
    pub asks: String,
}
