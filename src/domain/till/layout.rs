//! How a table that a till writes is to be read: once a person has confirmed it, every table with the same head is read
//! the same way.

use crate::domain::venue::name_key;
use crate::domain::venue::words::words;

words! {
    /// What a column of a till's table says.
    Field {
        /// The day, as the calendar has it.
        Date = "date",
        /// The business day: an hour before it begins belongs to the next date of the calendar.
        Day = "business day",
        /// The time of day.
        Time = "time",
        /// Day and time in one.
        DateTime = "date and time",
        /// The receipt.
        Receipt = "receipt",
        /// Line of the receipt.
        Line = "line",
        /// The register or till that rang it, where several number their receipts by themselves.
        Register = "register",
        /// What the till calls it; several such columns are read as one name, as of an article and its size.
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
        /// What the line was: sale, void, return and so on; or, under a head such as “void”, whether it was that.
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
        /// No figure that was read so far had decimals. Whole numbers need none; one that could be read both ways is asked
        /// about and never guessed.
        Unknown = "unknown",
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
    /// The mark before the decimals, as soon as it is known; the other one, a blank or an apostrophe may stand between
    /// thousands.
    pub decimal: DecimalMark,
    /// The order of day, month and year.
    pub dates: DateOrder,
    /// What the lines are.
    pub amounts: Amounts,
    /// Tax that is in a gross figure where no column says it, in hundredths of a percent.
    pub tax: Option<i64>,
}

impl Layout {
    /// The places of all columns that say the same.
    pub fn columns(&self, field: Field) -> impl Iterator<Item = usize> + '_ {
        self.columns.iter().enumerate().filter(move |(_, column)| column.field == field).map(|(n, _)| n)
    }

    /// Whether a table with these heads, made safe, is read by this layout: the same heads in the same order, whatever
    /// their case; empty heads at the end do not count. A layout without any heads fits nothing by itself: a person
    /// says so.
    pub fn fits<S: AsRef<str>>(&self, heads: &[S]) -> bool {
        let mine: Vec<String> = self.columns.iter().map(|column| name_key(&column.head)).collect();
        let theirs: Vec<String> = heads.iter().map(|head| name_key(head.as_ref())).collect();
        let full = |heads: &[String]| heads.iter().rposition(|head| !head.is_empty()).map_or(0, |last| last + 1);
        let (most, have) = (full(&mine), full(&theirs));
        most > 0 && mine[..most] == theirs[..have]
    }

    /// Whether a table that is read by one of the two is read by the other.
    pub fn reads_as(&self, other: &Layout) -> bool {
        let heads: Vec<&str> = other.columns.iter().map(|column| column.head.as_str()).collect();
        self.fits(&heads)
    }

    /// The place of a column by what it says.
    pub fn column(&self, field: Field) -> Option<usize> {
        self.columns.iter().position(|column| column.field == field)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_layout_fits_the_same_heads() {
        let layout = |heads: &[&str]| Layout {
            name: "Till".to_owned(),
            columns: heads.iter().map(|head| LayoutColumn { head: (*head).to_owned(), field: Field::Ignore }).collect(),
            decimal: DecimalMark::Comma,
            dates: DateOrder::DayFirst,
            amounts: Amounts::Lines,
            tax: None,
        };
        let mine = layout(&["Artikel", "Menge", "Umsatz", ""]);
        assert!(mine.fits(&["artikel", " MENGE", "Umsatz"]));
        assert!(mine.fits(&["Artikel", "Menge", "Umsatz", "", ""]));
        assert!(!mine.fits(&["Menge", "Artikel", "Umsatz"]));
        assert!(!mine.fits(&["Artikel", "Menge", "Umsatz", "Steuer"]));
        assert!(!mine.fits(&["Artikel", "Menge"]));
        assert!(!layout(&["", ""]).fits(&["", ""]));
        assert!(mine.reads_as(&layout(&["ARTIKEL", "Menge", "Umsatz"])));
        assert!(!mine.reads_as(&layout(&["Artikel", "Menge"])) && !layout(&[""]).reads_as(&layout(&[""])));
    }
}
