//! Rows of a till's file that are no sales.

use crate::domain::measure::number_of;

/// Why a row of a file is no sale.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Skip {
    /// Nothing in it.
    Blank,
    /// The head of a page, or a line of words.
    Heading,
    /// A sum of other rows.
    Total,
    /// An order, a transfer, an aborted or cancelled receipt: its sale stands elsewhere or never was.
    NoSale,
    /// Taken back before it was paid.
    Voided,
    /// Rung to practise.
    Training,
    /// Deposits, vouchers, tips, payments: money, and no goods.
    MoneyOnly,
    /// Goods that left without being sold, for a person to look at.
    LeftUnsold,
    /// A part of another line.
    Part,
    /// None sold, for no money.
    Zero,
    /// Of a kind that the reader does not know.
    Unknown,
}

impl Skip {
    /// So many of them in words: `1 total`, `12 totals`.
    pub fn counted(self, rows: u64) -> String {
        let (one, more) = match self {
            Skip::Blank => ("blank line", "blank lines"),
            Skip::Heading => ("heading", "headings"),
            Skip::Total => ("total", "totals"),
            Skip::NoSale => (
                "line of an order, a transfer or a cancelled receipt",
                "lines of orders, transfers and cancelled receipts",
            ),
            Skip::Voided => ("line voided before it was paid", "lines voided before they were paid"),
            Skip::Training => ("training line", "training lines"),
            Skip::MoneyOnly => ("line of money without goods", "lines of money without goods"),
            Skip::LeftUnsold => ("line of goods that left unsold", "lines of goods that left unsold"),
            Skip::Part => ("part of another line", "parts of other lines"),
            Skip::Zero => ("line of nothing sold", "lines of nothing sold"),
            Skip::Unknown => ("line of a kind that is not known here", "lines of a kind that is not known here"),
        };
        number_of(rows, one, more)
    }
}
