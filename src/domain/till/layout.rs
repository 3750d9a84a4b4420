//! How a table that a till writes is to be read: once a person has confirmed it, every table with the same head is read
//! the same way.

use crate::domain::venue::words::words;

words! {
    /// What a column of a till's table says.
    Field {
        /// The day.
        Date = "date",
        /// The time of day.
        Time = "time",
        /// Day and time in one.
        DateTime = "date and time",
        /// The receipt.
        Receipt = "receipt",
        /// Line of the receipt.
        Line = "line",
        /// What the till calls it.
        Name = "name",
        /// The till's number of the article.
        Code = "article number",
        /// How many.
        Quantity = "quantity",
        /// What was taken for the line, without tax.
        Net = "net",
        /// What was taken for the line, with tax.
        Gross = "gross",
        /// The tax in it.
        Tax = "tax",
        /// The rate of the tax, in percent.
        TaxRate = "tax rate",
        /// What the line was: sale, void, return and so on.
        Kind = "kind",
        /// Nothing of use.
        Ignore = "ignore",
    }
}

words! {
    /// The mark before the decimals.
    DecimalMark {
        /// 12.50
        Point = "point",
        /// 12,50
        Comma = "comma",
    }
}

words! {
    /// The order of day, month and year.
    DateOrder {
        /// 2026-11-20
        YearFirst = "year-month-day",
        /// 20.11.2026
        DayFirst = "day-month-year",
        /// 11/20/2026
        MonthFirst = "month-day-year",
    }
}

words! {
    /// What the lines of a table are.
    Amounts {
        /// Lines of receipts.
        Lines = "lines",
        /// Sums of a day for each name.
        Totals = "day totals",
    }
}

/// A column of a layout.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LayoutColumn {
    /// Its head as the file has it, made safe; empty where it has none.
    pub head: String,
    /// What it says.
    pub field: Field,
}

/// How a table is read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Layout {
    /// What it is called.
    pub name: String,
    /// The columns, from the left; a file is of this layout when its heads are these.
    pub columns: Vec<LayoutColumn>,
    /// The mark before the decimals; the other one, a blank or an apostrophe may stand between thousands.
    pub decimal: DecimalMark,
    /// The order of day, month and year.
    pub dates: DateOrder,
    /// What the lines are.
    pub amounts: Amounts,
    /// Tax that is in a gross figure where no column says it, in hundredths of a percent.
    pub tax: Option<i64>,
}

impl Layout {
    /// The place of a column by what it says.
    pub fn column(&self, field: Field) -> Option<usize> {
        self.columns.iter().position(|column| column.field == field)
    }
}
