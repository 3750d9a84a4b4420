//! One row of a table, by its layout: a line of sales, something to pass over, or what is wrong with it.

mod figures;
mod moment;
mod sums;

use super::fault::{Fault, MOST};
use super::number;
use super::said::{self, TotalWord, What};
use super::when::{Clock, Written};
use super::{date, heads};
use crate::domain::measure::Money;
use crate::domain::till::{Amounts, DecimalMark, Field, Layout, Skip};
use crate::domain::venue::{Moment, SaleKind, name_key};
use crate::exchange::ReadError;
use crate::exchange::plain::tamed;
use crate::exchange::till::{Passed, Terms};
use crate::words;
use chrono::{NaiveDate, NaiveDateTime};
use csv::StringRecord;
use std::collections::HashMap;
use std::path::Path;
use std::rc::Rc;
use sums::{Groups, Sums};

/// Names made safe that are remembered: a bar has some hundred.
const NAMES: usize = 4_096;

/// A line of sales as its row says it, before it has its place among the others.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Sold {
    /// The day that its receipt belongs to.
    pub(super) day: NaiveDate,
    /// When, and whether the row says it to the minute.
    pub(super) at: Moment,
    pub(super) timed: bool,
    /// What the clock of the till showed, where the row does not say how far that is from UTC.
    pub(super) clock: Option<NaiveDateTime>,
    /// What it says of it, whatever the venue's settings make of that.
    pub(super) written: Written,
    /// The register, where the table has a column for it.
    pub(super) register: Option<String>,
    pub(super) receipt: Option<String>,
    pub(super) line: Option<i64>,
    pub(super) name: Rc<str>,
    /// The form in which two names are one.
    pub(super) key: Rc<str>,
    pub(super) code: Option<String>,
    pub(super) quantity: i64,
    pub(super) net: Money,
    /// What the row says it was; none where it does not say.
    pub(super) kind: Option<SaleKind>,
    pub(super) goods: bool,
}

/// What a row is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Row {
    Sold(Sold),
    Skip(Skip),
    /// Faults were noted.
    Wrong,
}

/// Where the columns of a layout stand.
#[derive(Debug)]
struct Places {
    names: Vec<usize>,
    kinds: Vec<usize>,
    coins: Vec<usize>,
    date: Option<usize>,
    day: Option<usize>,
    time: Option<usize>,
    date_time: Option<usize>,
    receipt: Option<usize>,
    line: Option<usize>,
    register: Option<usize>,
    code: Option<usize>,
    quantity: usize,
    net: Option<usize>,
    gross: Option<usize>,
    tax: Option<usize>,
    rate: Option<usize>,
}

/// A name as its cells have it.
#[derive(Clone, Debug)]
struct Name {
    /// Made safe.
    text: Rc<str>,
    /// The form in which two names are one.
    key: Rc<str>,
    /// It is one of money alone.
    money: bool,
    /// It begins as totals do.
    total: Option<TotalWord>,
}

/// Reads rows by a layout.
#[derive(Debug)]
pub(super) struct RowReader<'l> {
    layout: &'l Layout,
    terms: Terms,
    places: Places,
    delimiter: char,
    clock: Clock,
    /// The mark before the decimals: the layout's, or once a row has told it, the file's.
    pub(super) mark: DecimalMark,
    /// A figure was read that could be another with the other mark: what is to be asked.
    pub(super) asks: Option<String>,
    /// A row said no day, and no column could.
    pub(super) lacks_a_day: bool,
    /// The day of rows that say none.
    day: Option<NaiveDate>,
    /// For a preview: tax that is not known yet is taken as none.
    lenient: bool,
    names: HashMap<String, Name>,
    sums: Sums,
    groups: Groups,
    pub(super) passed: Passed,
    pub(super) faults: Vec<Fault>,
}

impl<'l> RowReader<'l> {
    /// For a layout.
    ///
    /// # Errors
    /// A layout that lacks what every line needs, or amounts of another coin by their head.
    pub(super) fn new(
        path: &Path,
        layout: &'l Layout,
        day: Option<NaiveDate>,
        terms: &Terms,
        delimiter: u8,
        lenient: bool,
    ) -> Result<RowReader<'l>, ReadError> {
        let missing = |what: &str| {
            let what = say!("no column says {what}; expected one: choose it among the columns of the table", what);
            ReadError::new(path, what)
        };
        let names: Vec<usize> = layout.columns(Field::Name).collect();
        if names.is_empty() {
            return Err(missing(word!("what was sold")));
        }
        let quantity = layout.column(Field::Quantity).ok_or_else(|| missing(word!("how many were sold")))?;
        for column in layout.columns.iter().filter(|c| matches!(c.field, Field::Net | Field::Gross | Field::Tax)) {
            if let Some(coin) = figures::foreign_coin(&column.head, terms.currency) {
                let (head, own) = (&column.head, terms.currency);
                return Err(ReadError::new(
                    path,
                    say!("the column “{head}” is in {coin}; expected {own}, the coin of the book", head, coin, own),
                ));
            }
        }
        let coins = (0..layout.columns.len()).filter(|n| {
            let column = &layout.columns[*n];
            column.field == Field::Ignore && heads::sense(&column.head).of(heads::Sense::Coin) > 0.8
        });
        let places = Places {
            names,
            kinds: layout.columns(Field::Kind).collect(),
            coins: coins.collect(),
            date: layout.column(Field::Date),
            day: layout.column(Field::Day),
            time: layout.column(Field::Time),
            date_time: layout.column(Field::DateTime),
            receipt: layout.column(Field::Receipt),
            line: layout.column(Field::Line),
            register: layout.column(Field::Register),
            code: layout.column(Field::Code),
            quantity,
            net: layout.column(Field::Net),
            gross: layout.column(Field::Gross),
            tax: layout.column(Field::Tax),
            rate: layout.column(Field::TaxRate),
        };
        let mut passed = Passed::default();
        if places.net.is_none() && places.gross.is_none() {
            passed.warn(word!("no column says what was taken for a line: all amounts are zero").to_owned());
        }
        Ok(RowReader {
            layout,
            terms: *terms,
            places,
            delimiter: delimiter.into(),
            clock: Clock::new(terms.days),
            mark: layout.decimal,
            asks: None,
            lacks_a_day: false,
            day,
            lenient,
            names: HashMap::new(),
            sums: Sums::default(),
            groups: Groups::default(),
            passed,
            faults: Vec::new(),
        })
    }

    /// Whether so much is wrong that the rest need not be read: what is asked for one figure is asked for all.
    pub(super) fn is_hopeless(&self) -> bool {
        self.faults.len() >= MOST || self.asks.is_some()
    }

    /// Reads a row that begins on a line; `cut` when nothing ends it.
    pub(super) fn read(&mut self, cells: &StringRecord, line: u64, cut: bool) -> Row {
        let before = self.faults.len();
        match self.understand(cells, line, cut) {
            Ok(row) => {
                match &row {
                    Row::Skip(why) => self.passed.skip(*why),
                    Row::Sold(sold) => self.passed.saw(sold.day),
                    Row::Wrong => {}
                }
                row
            }
            Err(fault) => {
                self.faults.truncate(before);
                self.faults.push(fault);
                Row::Wrong
            }
        }
    }

    fn understand(&mut self, cells: &StringRecord, line: u64, cut: bool) -> Result<Row, Fault> {
        let cell = |n: usize| cells.get(n).map_or("", str::trim);
        let Some(first) = (0..cells.len()).find(|n| !cell(*n).is_empty()) else { return Ok(Row::Skip(Skip::Blank)) };
        self.never_closed(cells, line)?;
        if is_ruling(cells) || self.is_head(cells) {
            return Ok(Row::Skip(Skip::Heading));
        }
        self.nothing_beside(cells, line)?;
        let name = self.name(cells);
        let begins = said::total_word(cell(first));
        if begins == Some(TotalWord::Whole) || name.total == Some(TotalWord::Whole) {
            return Ok(self.a_total());
        }
        let figures = [Some(self.places.quantity), self.places.net, self.places.gross, self.places.tax];
        if figures.into_iter().flatten().all(|n| number::is_none(cell(n))) {
            return self.wordy(cells, line, first, cut);
        }
        let read = self.figures(cells, line)?;
        // `Total bar`: a sum where it has none of what tells a line apart, or where it is one.
        let outside = begins.is_some() && !self.places.names.contains(&first);
        let named = begins.is_some() || name.total.is_some();
        let sums = || !self.is_told_apart(cells) && self.sums.are(read.quantity, read.money(), 2);
        if outside || (named && (self.is_bare(cells, begins.map(|_| first)) || sums())) {
            return Ok(self.a_total());
        }
        let when = self.when(cells, line)?;
        let is_sum = self.sums.are(read.quantity, read.money(), 1);
        if name.text.is_empty() {
            let receipt = self.places.receipt.is_some_and(|n| !cell(n).is_empty());
            let apart = (receipt || when.is_some()) && (self.says_when() || self.places.receipt.is_some());
            if is_sum || !apart {
                return Ok(self.a_total());
            }
            return Err(self.fault(
                self.places.names[0],
                line,
                cell(self.places.names[0]),
                word!("expected what was sold"),
            ));
        }
        let Some(when) = when else {
            if is_sum && self.says_when() {
                return Ok(self.a_total());
            }
            return Err(self.no_day(line));
        };
        self.coin_is_ours(cells, line)?;
        let (receipt, number) = (self.receipt(cells, line)?, self.line_number(cells, line)?);
        let what = self.kind(cells, line)?;
        let at = self.time_that_is_past(when, line, cells)?;
        let rate = self.rate(cells, line)?;
        let net = self.net(read, rate, line)?;
        match what {
            Some(What::NoSale) => return Ok(Row::Skip(Skip::NoSale)),
            Some(What::Money) => return Ok(Row::Skip(Skip::MoneyOnly)),
            _ => {}
        }
        let money_only = what == Some(What::Discount) || name.money;
        let Some(quantity) = read.quantity.or((money_only && net.0 < 0).then_some(0)) else {
            if is_sum {
                return Ok(self.a_total());
            }
            return Err(self.fault(self.places.quantity, line, "", word!("expected how many, such as 1 or 0,5")));
        };
        let money = read.money().unwrap_or_default();
        self.sums.add(when.day, quantity, money);
        let group = self.layout.amounts == Amounts::Totals;
        if let Some((head, of)) = group.then(|| self.groups.add(line, &name.text, quantity, money)).flatten() {
            self.passed.warn(say!("line {head} (“{of}”) is what the lines under it come to; if it is the head of a group, they count twice", head, of));
        }
        // A day's figure of nothing may take back what an earlier report said.
        if quantity == 0 && net == Money::ZERO && self.layout.amounts == Amounts::Lines {
            return Ok(Row::Skip(Skip::Zero));
        }
        let (quantity, net, kind) = match what {
            // What nothing was of is still that figure, and no other.
            Some(What::Kind(kind)) if quantity == 0 && net == Money::ZERO => (quantity, net, Some(kind)),
            _ => self.signed(quantity, net, what, money_only),
        };
        if name.text.contains('\u{fffd}') {
            self.passed.warn(say!("line {line} holds a letter that could not be read", line));
        }
        Ok(Row::Sold(Sold {
            day: when.day,
            at,
            timed: when.at.is_some(),
            clock: when.clock,
            written: when.written,
            register: self.places.register.map(|n| tamed(cell(n))),
            receipt,
            line: number,
            name: name.text,
            key: name.key,
            code: self.places.code.map(|n| tamed(cell(n))).filter(|code| !code.is_empty()),
            quantity,
            net,
            kind,
            goods: quantity != 0,
        }))
    }

    fn a_total(&mut self) -> Row {
        self.sums.begin_again();
        Row::Skip(Skip::Total)
    }

    /// Whether a row has none of what tells a line apart, though the table has columns for it; `label` is the cell in which
    /// it says that it is a total, which tells nothing apart.
    fn is_bare(&self, cells: &StringRecord, label: Option<usize>) -> bool {
        let places = &self.places;
        let apart = [places.date, places.day, places.date_time, places.time, places.receipt, places.code];
        let mut apart = apart.into_iter().flatten().peekable();
        apart.peek().is_some()
            && apart.all(|n| label == Some(n) || cells.get(n).is_none_or(|cell| cell.trim().is_empty()))
    }

    /// Whether a row has all of what tells a line apart, and more than its day: no sum has a receipt, a time and so on.
    fn is_told_apart(&self, cells: &StringRecord) -> bool {
        let places = &self.places;
        let more = [places.time, places.date_time, places.receipt, places.line, places.code];
        let filled = |n: &usize| cells.get(*n).is_some_and(|cell| !cell.trim().is_empty());
        let has_more = more.iter().flatten().next().is_some();
        has_more && more.iter().chain(&[places.date, places.day]).flatten().all(filled)
    }

    /// Cells beyond the head are a cell cut in two.
    fn nothing_beside(&self, cells: &StringRecord, line: u64) -> Result<(), Fault> {
        let (have, want) = (cells.len(), self.layout.columns.len());
        if cells.iter().skip(want).all(|cell| cell.trim().is_empty()) {
            return Ok(());
        }
        let mark = if self.delimiter == '\t' { word!("a tab").to_owned() } else { words::quoted(self.delimiter) };
        let what = say!(
            "{have} cells stand here; expected {want} as in the head: a cell with {mark} in it stands in quotation marks",
            have,
            want,
            mark
        );
        Err(Fault::of_row(line, what))
    }

    fn no_day(&mut self, line: u64) -> Fault {
        self.lacks_a_day |= !self.says_when();
        match self.places.date_time.or(self.places.date).or(self.places.day) {
            Some(n) => self.fault(n, line, "", word!("expected a day")),
            None => Fault::of_row(line, word!("no column says the day; say of which business day this table is")),
        }
    }

    fn receipt(&self, cells: &StringRecord, line: u64) -> Result<Option<String>, Fault> {
        let Some(n) = self.places.receipt else { return Ok(None) };
        let cell = cells.get(n).unwrap_or_default();
        match tamed(cell) {
            receipt if receipt.is_empty() => Err(self.fault(n, line, cell, word!("expected the number of a receipt"))),
            receipt => Ok(Some(receipt)),
        }
    }

    fn line_number(&self, cells: &StringRecord, line: u64) -> Result<Option<i64>, Fault> {
        let Some(n) = self.places.line else { return Ok(None) };
        let cell = cells.get(n).unwrap_or_default();
        let read = cell.trim().parse::<i64>().ok().filter(|number| *number >= 0);
        read.map(Some).ok_or_else(|| self.fault(n, line, cell, word!("expected the number of a line, such as 1")))
    }

    /// A row without a figure: words, or a line that lacks what it should say.
    fn wordy(&mut self, cells: &StringRecord, line: u64, first: usize, cut: bool) -> Result<Row, Fault> {
        let cell = |n: usize| cells.get(n).map_or("", str::trim);
        let filled = cells.iter().filter(|cell| !cell.trim().is_empty()).count();
        let words = cell(first);
        let day = date::date(words.trim_end_matches(':')).and_then(|d| d.day(self.layout.dates));
        if let Some(day) = day.filter(|_| !self.says_when() && filled == 1) {
            self.day = Some(day);
            return Ok(Row::Skip(Skip::Heading));
        }
        let dated = [self.places.date, self.places.day, self.places.date_time].into_iter().flatten();
        let is_dated = dated.clone().any(|n| date::date(cell(n)).is_some() || date::date_time(cell(n)).is_some());
        let named = self.places.names.iter().any(|n| !cell(*n).is_empty());
        if cut && cells.len() < self.layout.columns.len() && (is_dated || (named && filled > 1)) {
            return Err(Fault::of_row(
                line,
                word!("the file ends in the middle of this row; expected all of it: export it again"),
            ));
        }
        let receipt = self.places.receipt.is_some_and(|n| !cell(n).is_empty());
        if named && filled > 2 && (is_dated || (receipt && dated.count() == 0)) {
            return Err(self.fault(self.places.quantity, line, "", word!("expected how many, such as 1")));
        }
        Ok(Row::Skip(Skip::Heading))
    }

    /// A quotation mark that is never closed makes one cell of the rest of the file: it is seen by the rows inside.
    fn never_closed(&self, cells: &StringRecord, line: u64) -> Result<(), Fault> {
        if !cells.as_slice().contains('\n') {
            return Ok(());
        }
        let most = self.layout.columns.len().saturating_sub(1).max(1);
        let swallowed = |cell: &str| {
            let inner = cell.split('\n').skip(1).any(|row| row.matches(self.delimiter).count() >= most);
            inner || (cells.len() == 1 && self.layout.columns.len() > 1 && cell.contains(self.delimiter))
        };
        match cells.iter().find(|cell| cell.contains('\n') && swallowed(cell)) {
            Some(_) => Err(Fault::of_row(
                line,
                word!("a cell goes on over whole rows; expected a quotation mark at its end: one may never be closed"),
            )),
            None => Ok(()),
        }
    }

    fn is_head(&self, cells: &StringRecord) -> bool {
        let full = self.layout.columns.iter().position(|c| !c.head.is_empty());
        let Some(at) = full else { return false };
        let head = &self.layout.columns[at].head;
        // Nearly every row differs in the first letter already.
        let same = |a: &str, b: &str| {
            a.trim().chars().flat_map(char::to_lowercase).next() == b.chars().flat_map(char::to_lowercase).next()
        };
        if !cells.get(at).is_some_and(|cell| same(cell, head)) {
            return false;
        }
        let tame: Vec<String> = cells.iter().map(tamed).collect();
        self.layout.fits(&tame)
    }

    /// Whether a column says the day.
    fn says_when(&self) -> bool {
        self.places.date.is_some() || self.places.day.is_some() || self.places.date_time.is_some()
    }

    fn head_or<'a>(&self, head: &'a str, field: Field) -> &'a str {
        if head.is_empty() { field.word() } else { head }
    }

    fn fault(&self, column: usize, line: u64, read: &str, expected: &str) -> Fault {
        let column = &self.layout.columns[column];
        Fault::of_cell(line, self.head_or(&column.head, column.field), read, expected)
    }

    /// The name, made safe; from several columns with a blank between them.
    fn name(&mut self, cells: &StringRecord) -> Name {
        let cell = |n: &usize| cells.get(*n).map_or("", str::trim);
        let joined;
        let raw = match self.places.names.as_slice() {
            [one] => cell(one),
            many => {
                let parts: Vec<&str> = many.iter().map(cell).filter(|c| !number::is_none(c)).collect();
                joined = parts.join(" ");
                &joined
            }
        };
        if let Some(known) = self.names.get(raw) {
            return known.clone();
        }
        let tame = tamed(raw);
        let name = Name {
            money: said::names_money(&tame),
            total: said::total_word(raw),
            key: name_key(&tame).into(),
            text: tame.into(),
        };
        if self.names.len() < NAMES && raw.len() < 500 {
            self.names.insert(raw.to_owned(), name.clone());
        }
        name
    }
}

/// A row of nothing but strokes.
fn is_ruling(cells: &StringRecord) -> bool {
    let stroke = |c: char| matches!(c, '-' | '=' | '_' | '*' | '–' | '—' | '.' | '#') || c.is_whitespace();
    cells.as_slice().chars().all(stroke)
}
