//! How tables of the till are read, and the files that were taken in, as lines.

use super::Plain;
use super::cells::{Form, Line, PlainRow, or_empty};
use crate::domain::measure::decimal;
use crate::domain::till::{Amounts, DateOrder, DecimalMark, Field, TakenAs, TakenFile};
use crate::domain::venue::FileId;

/// A line of `layouts.csv`: a column of a layout, and what its columns share.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LayoutRow {
    /// Which layout.
    pub layout: String,
    /// The column's place, from 1.
    pub position: i64,
    /// Its head; empty where it has none.
    pub head: String,
    /// What it says.
    pub is: Field,
    /// The mark before the decimals.
    pub decimal: DecimalMark,
    /// The order of day, month and year.
    pub dates: DateOrder,
    /// What the rows are.
    pub rows: Amounts,
    /// Tax in a gross figure, in hundredths of a percent.
    pub tax: Option<i64>,
}

impl PlainRow for LayoutRow {
    const FILE: Plain = Plain::Layouts;

    fn read(line: &mut Line<'_>) -> Option<LayoutRow> {
        let (layout, position) = (line.text("layout"), line.whole("position", 1..=10_000));
        let (head, is) = (line.maybe_text("head"), line.with("is", Field::parse));
        let decimal = line.with("decimal", DecimalMark::parse);
        let (dates, rows) = (line.with("dates", DateOrder::parse), line.with("rows", Amounts::parse));
        let tax = line.maybe_percent("tax", 100);
        Some(LayoutRow {
            layout: layout?,
            position: position?,
            head: head?.unwrap_or_default(),
            is: is?,
            decimal: decimal?,
            dates: dates?,
            rows: rows?,
            tax: tax?,
        })
    }

    fn cells(&self, _: &Form) -> Vec<String> {
        vec![
            self.layout.clone(),
            self.position.to_string(),
            self.head.clone(),
            self.is.word().to_owned(),
            self.decimal.word().to_owned(),
            self.dates.word().to_owned(),
            self.rows.word().to_owned(),
            or_empty(self.tax, |tax| decimal::plain(tax, 2)),
        ]
    }
}

/// A line of `taken.csv`: the file, whose handle is not looked at and who took it as the line has it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TakenRow(pub TakenFile);

/// SHA-256 in hexadecimal digits, in small letters.
fn digest(text: &str) -> Result<String, &'static str> {
    let is_one = text.len() == 64 && text.bytes().all(|b| b.is_ascii_hexdigit());
    is_one.then(|| text.to_ascii_lowercase()).ok_or(word!("expected a SHA-256: 64 hexadecimal digits"))
}

impl PlainRow for TakenRow {
    const FILE: Plain = Plain::Taken;

    fn read(line: &mut Line<'_>) -> Option<TakenRow> {
        let days = line.form().days;
        let (at, name, digest) = (line.time("at"), line.text("name"), line.with("digest", digest));
        let size = line.whole("size", 0..=i64::MAX);
        // The clock of whoever wrote it may have said anything.
        let modified = line.maybe("modified", |text| days.parse(text));
        let (what, added) = (line.with("as", TakenAs::parse), line.whole("added", 0..=i64::MAX));
        let by = line.maybe_name("by", Plain::People);
        Some(TakenRow(TakenFile {
            id: FileId::default(),
            digest: digest?,
            name: name?,
            size: size?,
            modified: modified?,
            what: what?,
            form: None,
            added: added?,
            at: at?,
            by: by?,
            withdrawn: false,
        }))
    }

    fn cells(&self, form: &Form) -> Vec<String> {
        let file = &self.0;
        vec![
            form.time(file.at),
            file.name.clone(),
            file.digest.clone(),
            file.size.to_string(),
            or_empty(file.modified, |at| form.time(at)),
            file.what.word().to_owned(),
            file.added.to_string(),
            file.by.clone().unwrap_or_default(),
        ]
    }
}
