//! The cells of one line, and how each sort of cell is read and written.

use super::hours::Hours;
use super::{Fault, Faults, Plain, text::checked};
use crate::domain::gauge::Entry;
use crate::domain::measure::{Amount, Basis, Currency, Decimal, Money, Price, Quantity, SmallMeasures, decimal};
use crate::domain::venue::{Containers, DayRule, Moment, Venue, WordError, name_key, parse_day};
use chrono::NaiveDate;
use std::cell::RefCell;
use std::fmt::Display;

/// What cells are read and written with: the book's coin, days and small measures.
#[derive(Clone, Copy, Debug)]
pub struct Form {
    /// The coin; none while it is not known because its own cell is wrong, and then amounts are only checked to be
    /// numbers, so that one wrong cell is not reported a thousand times.
    pub currency: Option<Currency>,
    /// Zone and beginning of the day.
    pub days: DayRule,
    /// Dash and barspoon.
    pub small: SmallMeasures,
    /// The last moment that a fact may be of, where that is looked at: what has not happened yet is no fact, and a count
    /// dated far ahead would stand for the last one for ever.
    pub until: Option<Moment>,
}

/// Nothing that a bar has on file is older: 1990-01-01. An earlier date is a slip.
const EARLIEST: Moment = Moment(631_152_000_000);

impl Form {
    /// Whether something can have happened then.
    pub(super) fn can_be(&self, at: Moment) -> bool {
        at >= EARLIEST && self.until.is_none_or(|until| at <= until)
    }

    /// As a bar has it.
    pub fn of(venue: &Venue) -> Form {
        Form { currency: Some(venue.currency), days: venue.days, small: venue.small, until: None }
    }

    /// Money as it is written.
    pub fn money(&self, money: Money) -> String {
        self.currency.map(|c| c.plain(money)).unwrap_or_default()
    }

    /// A unit price as it is written.
    pub fn price(&self, price: Price) -> String {
        self.currency.map(|c| price.plain(c)).unwrap_or_default()
    }

    /// A time as it is written.
    pub fn time(&self, at: Moment) -> String {
        self.days.plain(at)
    }
}

/// Whoever knows names: a cell that names something, or says how much of it, is judged with the other cells of its
/// line, so that all its faults are told at once. Each method gives what was expected, or nothing for a right cell.
pub trait NameBook {
    /// A name that `file` introduces.
    fn refuse_name(&self, file: Plain, name: &str) -> Option<String>;

    /// A quantity of an item, as it is written.
    fn refuse_amount(&self, item: &str, written: &str, small: &SmallMeasures) -> Option<String>;

    /// Readings of an item.
    fn refuse_entry(&self, item: &str, entry: &Entry) -> Option<String>;
}

/// Knows nothing and refuses nothing.
impl NameBook for () {
    fn refuse_name(&self, _: Plain, _: &str) -> Option<String> {
        None
    }

    fn refuse_amount(&self, _: &str, _: &str, _: &SmallMeasures) -> Option<String> {
        None
    }

    fn refuse_entry(&self, _: &str, _: &Entry) -> Option<String> {
        None
    }
}

/// A line of one of the files, as a value.
pub trait PlainRow: Sized {
    /// The file.
    const FILE: Plain;

    /// Columns that are taken as empty where a file does not have them, whatever the book has.
    const UNSAID: &'static [&'static str] = &[];

    /// Reads the cells; `None` when any was wrong, and then every wrong one was noted.
    fn read(line: &mut Line<'_>) -> Option<Self>;

    /// Writes the cells, in the order of the description.
    fn cells(&self, form: &Form) -> Vec<String>;
}

/// The cells of one line in the order of the description; a column that the file does not have has no cell.
#[derive(Clone, Debug)]
pub struct Cells {
    file: Plain,
    pub(super) line: u64,
    values: Vec<String>,
    there: Vec<bool>,
    /// Files of facts hold as many times as lines. One file is read with one form, so this serves one zone.
    hours: RefCell<Hours>,
}

impl Cells {
    pub(super) fn new(file: Plain) -> Cells {
        let columns = file.spec().columns.len();
        Cells {
            file,
            line: 0,
            values: vec![String::new(); columns],
            there: vec![false; columns],
            hours: RefCell::default(),
        }
    }

    pub(super) fn set(&mut self, column: usize, text: Option<&str>) {
        self.there[column] = text.is_some();
        self.values[column].clear();
        self.values[column].push_str(text.unwrap_or_default());
    }

    /// Line of the file.
    pub fn line(&self) -> u64 {
        self.line
    }

    /// A cell as it stands; empty when the file has no such column.
    pub fn get(&self, column: &str) -> &str {
        self.file.spec().column(column).and_then(|n| self.values.get(n)).map_or("", String::as_str)
    }

    /// Gives the columns that the file does not have what the book has for them, but for those of `unsaid`; and those of
    /// `if_empty` where their cell is empty.
    pub fn fill(&mut self, known: &[String], if_empty: &[&str], unsaid: &[&str]) {
        let columns = self.file.spec().columns;
        for (n, known) in known.iter().enumerate().take(columns.len()) {
            let missing = !self.there[n] && !unsaid.contains(&columns[n].name);
            if missing || (self.values[n].is_empty() && if_empty.contains(&columns[n].name)) {
                self.values[n].clone_from(known);
            }
        }
    }

    /// Gives some of the columns that the file does not have what the book has for them.
    pub fn fill_only(&mut self, known: &[String], only: &[&str]) {
        let columns = self.file.spec().columns;
        for (n, known) in known.iter().enumerate().take(columns.len()) {
            if !self.there[n] && only.contains(&columns[n].name) {
                self.values[n].clone_from(known);
            }
        }
    }

    /// Every cell in the order of the columns.
    pub fn values(&self) -> &[String] {
        &self.values
    }

    /// What tells the line apart from others of its file.
    pub fn key(&self) -> String {
        key_of(self.file, &self.values)
    }

    /// The value that the line stands for; `None` when any cell was wrong, and then every wrong one was noted.
    pub fn read<R: PlainRow>(&self, form: &Form, names: &dyn NameBook, faults: &mut Faults) -> Option<R> {
        debug_assert_eq!(R::FILE, self.file);
        R::read(&mut Line { cells: self, form, names, faults })
    }
}

/// What tells a line apart from others of its file: the cells of its key in the form in which names are compared.
pub fn key_of<T: AsRef<str>>(file: Plain, cells: &[T]) -> String {
    let spec = file.spec();
    let parts = spec.key.iter().filter_map(|name| cells.get(spec.column(name)?));
    parts.map(|cell| name_key(cell.as_ref())).collect::<Vec<_>>().join("\u{1f}")
}

/// Reads the cells of a line one by one and notes what is wrong. Each method gives `None` for a wrong cell.
pub struct Line<'a> {
    cells: &'a Cells,
    form: &'a Form,
    names: &'a dyn NameBook,
    faults: &'a mut Faults,
}

impl Line<'_> {
    /// Notes that a cell is wrong.
    pub fn wrong(&mut self, column: &'static str, expected: impl Into<String>) {
        let fault = Fault::of_cell(self.cells.file, self.cells.line, column, self.cells.get(column), expected);
        self.faults.push(fault);
    }

    /// What cells are read with.
    pub fn form(&self) -> Form {
        *self.form
    }

    /// Whether nothing is written in a cell.
    pub fn is_empty(&self, column: &str) -> bool {
        self.cells.get(column).is_empty()
    }

    /// A cell that `read` understands.
    pub fn with<T, E: Display>(&mut self, column: &'static str, read: impl FnOnce(&str) -> Result<T, E>) -> Option<T> {
        match read(self.cells.get(column)) {
            Ok(value) => Some(value),
            Err(error) => {
                self.wrong(column, error.to_string());
                None
            }
        }
    }

    /// A cell that may be empty.
    pub fn maybe<T, E: Display>(
        &mut self,
        column: &'static str,
        read: impl FnOnce(&str) -> Result<T, E>,
    ) -> Option<Option<T>> {
        if self.cells.get(column).is_empty() { Some(None) } else { self.with(column, read).map(Some) }
    }

    /// Text that must be there.
    pub fn text(&mut self, column: &'static str) -> Option<String> {
        if self.cells.get(column).is_empty() {
            self.wrong(column, word!("expected a text"));
            return None;
        }
        self.with(column, checked)
    }

    /// Text that may be empty.
    pub fn maybe_text(&mut self, column: &'static str) -> Option<Option<String>> {
        self.maybe(column, checked)
    }

    /// A name that another file introduces.
    pub fn name(&mut self, column: &'static str, file: Plain) -> Option<String> {
        let name = self.text(column)?;
        match self.names.refuse_name(file, &name) {
            None => Some(name),
            Some(expected) => {
                self.wrong(column, expected);
                None
            }
        }
    }

    /// A name that another file introduces, or nothing.
    pub fn maybe_name(&mut self, column: &'static str, file: Plain) -> Option<Option<String>> {
        if self.cells.get(column).is_empty() { Some(None) } else { self.name(column, file).map(Some) }
    }

    /// One of some words, or the first of them when the cell is empty.
    pub fn word_or<T>(
        &mut self,
        column: &'static str,
        parse: impl FnOnce(&str) -> Result<T, WordError>,
        usual: T,
    ) -> Option<T> {
        self.maybe(column, parse).map(|word| word.unwrap_or(usual))
    }

    /// Yes or no.
    pub fn yes_or(&mut self, column: &'static str, usual: bool) -> Option<bool> {
        self.maybe(column, yes_no).map(|word| word.unwrap_or(usual))
    }

    /// A whole number within bounds.
    pub fn whole(&mut self, column: &'static str, bounds: std::ops::RangeInclusive<i64>) -> Option<i64> {
        self.with(column, |text| whole(text, bounds))
    }

    /// Money, zero or more.
    pub fn money(&mut self, column: &'static str) -> Option<Money> {
        let form = self.form();
        self.with(column, |text| money(&form, text))
    }

    /// Money, zero or more, or nothing.
    pub fn maybe_money(&mut self, column: &'static str) -> Option<Option<Money>> {
        let form = self.form();
        self.maybe(column, |text| money(&form, text))
    }

    /// A time.
    pub fn time(&mut self, column: &'static str) -> Option<Moment> {
        let (days, hours) = (self.form.days, &self.cells.hours);
        self.with(column, |text| {
            let quick = hours.borrow_mut().time(days.zone, text.as_bytes());
            let at = quick.map_or_else(|| days.parse(text), Ok).map_err(|e| e.to_string())?;
            match self.form.can_be(at) {
                true => Ok(at),
                false if at < EARLIEST => Err(word!("expected a time since 1990").to_owned()),
                false => Err(word!("expected a time that is past; this one has not come yet").to_owned()),
            }
        })
    }

    /// The first business day of a version; nothing is “since ever”.
    pub fn day(&mut self, column: &'static str) -> Option<Option<NaiveDate>> {
        self.maybe(column, |text| parse_day(text).map_err(|_| word!("expected a date such as 2026-11-20")))
    }

    /// A number of containers, zero or more.
    pub fn maybe_containers(&mut self, column: &'static str) -> Option<Option<Containers>> {
        self.maybe(column, Containers::parse)
    }

    /// A quantity of the item named in the column `item`, as it is written.
    pub fn quantity(&mut self, column: &'static str, item: &'static str) -> Option<String> {
        let (small, names, item) = (self.form.small, self.names, self.cells.get(item));
        self.with(column, |text| match Quantity::parse(text, &small) {
            Ok(read) if read.amount > Amount::ZERO => {
                names.refuse_amount(item, text, &small).map_or_else(|| Ok(text.to_owned()), Err)
            }
            Ok(_) => Err(word!("expected an amount above zero").to_owned()),
            Err(error) => Err(error.to_string()),
        })
    }

    /// As [`Line::quantity`], or nothing.
    pub fn maybe_quantity(&mut self, column: &'static str, item: &'static str) -> Option<Option<String>> {
        if self.cells.get(column).is_empty() { Some(None) } else { self.quantity(column, item).map(Some) }
    }

    /// Readings of the item named in the column `item`.
    pub fn entry(&mut self, column: &'static str, item: &'static str, entry: Entry) -> Option<Entry> {
        match self.names.refuse_entry(self.cells.get(item), &entry) {
            None => Some(entry),
            Some(expected) => {
                self.wrong(column, expected);
                None
            }
        }
    }

    /// A mass, or nothing.
    pub fn maybe_mass(&mut self, column: &'static str) -> Option<Option<Amount>> {
        let small = self.form.small;
        self.maybe(column, |text| Quantity::parse_as(text, Basis::Mass, &small))
    }

    /// Percent in hundredths, from zero to `most` percent, or nothing.
    pub fn maybe_percent(&mut self, column: &'static str, most: i64) -> Option<Option<i64>> {
        self.maybe(column, |text| {
            let hundredths = Decimal::parse(text).ok().and_then(|d| d.exact(2));
            hundredths
                .filter(|h| (0..=most * 100).contains(h))
                .ok_or_else(|| say!("expected percent from 0 to {most}, with at most 2 decimals", most))
        })
    }
}

/// Yes or no, as written.
pub(super) fn yes_no(text: &str) -> Result<bool, &'static str> {
    match text.to_lowercase().as_str() {
        "yes" => Ok(true),
        "no" => Ok(false),
        _ => Err(word!("expected yes or no")),
    }
}

/// Yes or no, to be written.
pub(super) fn yes_no_word(yes: bool) -> &'static str {
    if yes { "yes" } else { "no" }
}

pub(super) fn whole(text: &str, bounds: std::ops::RangeInclusive<i64>) -> Result<i64, String> {
    let read = Decimal::parse(text).ok().and_then(|d| d.exact(0));
    read.filter(|n| bounds.contains(n)).ok_or_else(|| match (*bounds.start(), *bounds.end()) {
        (low, i64::MAX) => say!("expected a whole number, {low} or more", low),
        (low, high) => say!("expected a whole number from {low} to {high}", low, high),
    })
}

pub(super) fn thousandths(text: &str) -> Result<i64, &'static str> {
    let read = Decimal::parse(text).ok().and_then(|d| d.exact(3));
    read.filter(|n| *n >= 0).ok_or(word!("expected a number of containers such as 6 or 2.5, with at most 3 decimals"))
}

fn money(form: &Form, text: &str) -> Result<Money, String> {
    let read = signed_money(form, text)?;
    if read.0 < 0 { Err(word!("expected an amount of money of zero or more").to_owned()) } else { Ok(read) }
}

/// Money of either sign.
pub(super) fn signed_money(form: &Form, text: &str) -> Result<Money, String> {
    match form.currency {
        Some(currency) => currency.parse(text).map_err(|e| e.to_string()),
        None => Decimal::parse(text).map(|_| Money::ZERO).map_err(|e| e.to_string()),
    }
}

/// A unit price, zero or more.
pub(super) fn price(form: &Form, text: &str) -> Result<Price, String> {
    let read = match form.currency {
        Some(currency) => currency.parse_price(text).map_err(|e| e.to_string())?,
        None => Decimal::parse(text).map(|_| Price::default()).map_err(|e| e.to_string())?,
    };
    if read.0 < 0 { Err(word!("expected a price of zero or more").to_owned()) } else { Ok(read) }
}

/// Thousandths as written.
pub(super) fn plain_thousandths(value: i64) -> String {
    decimal::plain(value, 3)
}

/// Something that may be absent, as written.
pub(super) fn or_empty<T>(value: Option<T>, write: impl FnOnce(T) -> String) -> String {
    value.map(write).unwrap_or_default()
}
