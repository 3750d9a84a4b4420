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
            Skip::Blank => (word!("blank line"), word!("blank lines")),
            Skip::Heading => (word!("heading"), word!("headings")),
            Skip::Total => (word!("total"), word!("totals")),
            Skip::NoSale => (
                word!("line of an order, a transfer or a cancelled receipt"),
                word!("lines of orders, transfers and cancelled receipts"),
            ),
            Skip::Voided => (word!("line voided before it was paid"), word!("lines voided before they were paid")),
            Skip::Training => (word!("training line"), word!("training lines")),
            Skip::MoneyOnly => (word!("line of money without goods"), word!("lines of money without goods")),
            Skip::LeftUnsold => (word!("line of goods that left unsold"), word!("lines of goods that left unsold")),
            Skip::Part => (word!("part of another line"), word!("parts of other lines")),
            Skip::Zero => (word!("line of nothing sold"), word!("lines of nothing sold")),
            Skip::Unknown => {
                (word!("line of a kind that is not known here"), word!("lines of a kind that is not known here"))
            }
        };
        number_of(rows, one, more)
    }
}
