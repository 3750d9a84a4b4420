//! One row of a table, by its layout: a line of sales, something to pass over, or what is wrong with it.

use super::fault::{Fault, MOST};
use super::number::{self, Wrong};
use super::said::{self, TotalWord, What};
use super::when::{Clock, When};
use super::{date, heads};
use crate::domain::measure::{Currency, Decimal, Money, decimal};
use crate::domain::till::{DateOrder, Field, Layout};
use crate::domain::venue::{Moment, SaleKind};
use crate::exchange::ReadError;
use crate::exchange::plain::tamed;
use crate::exchange::till::{Passed, Skip, Terms};
use chrono::NaiveDate;
use csv::StringRecord;
use std::collections::HashMap;
use std::path::Path;
use std::rc::Rc;

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
    pub(super) receipt: Option<String>,
    pub(super) line: Option<i64>,
    pub(super) name: Rc<str>,
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
    code: Option<usize>,
    quantity: usize,
    net: Option<usize>,
    gross: Option<usize>,
    tax: Option<usize>,
    rate: Option<usize>,
}

/// What the rows came to: a row that is a sum of others is known by it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
struct Sum {
    rows: u64,
    quantity: i64,
    money: i64,
}

impl Sum {
    fn add(&mut self, quantity: i64, money: i64) {
        self.rows += 1;
        self.quantity = self.quantity.saturating_add(quantity);
        self.money = self.money.saturating_add(money);
    }

    fn is(self, quantity: Option<i64>, money: Option<i64>) -> bool {
        self.rows > 0
            && (quantity.is_some() || money.is_some())
            && quantity.is_none_or(|q| q == self.quantity)
            && money.is_none_or(|m| m == self.money)
    }
}

/// Reads rows by a layout.
#[derive(Debug)]
pub(super) struct RowReader<'l> {
    layout: &'l Layout,
    terms: Terms,
    places: Places,
    delimiter: char,
    clock: Clock,
    /// The day of rows that say none.
    day: Option<NaiveDate>,
    /// For a preview: tax that is not known yet is taken as none.
    lenient: bool,
    names: HashMap<String, Rc<str>>,
    all: Sum,
    since: Sum,
    of_day: (NaiveDate, Sum),
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
            let what = format!("no column says {what}; expected one: choose it among the columns of the table");
            ReadError::new(path, what)
        };
        let names: Vec<usize> = layout.columns(Field::Name).collect();
        if names.is_empty() {
            return Err(missing("what was sold"));
        }
        let quantity = layout.column(Field::Quantity).ok_or_else(|| missing("how many were sold"))?;
        for column in layout.columns.iter().filter(|c| matches!(c.field, Field::Net | Field::Gross | Field::Tax)) {
            if let Some(coin) = foreign_coin(&column.head, terms.currency) {
                let (head, own) = (&column.head, terms.currency);
                return Err(ReadError::new(path, format!("the column “{head}” is in {coin}; expected {own}, the coin of the book")));
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
            code: layout.column(Field::Code),
            quantity,
            net: layout.column(Field::Net),
            gross: layout.column(Field::Gross),
            tax: layout.column(Field::Tax),
            rate: layout.column(Field::TaxRate),
        };
        let mut passed = Passed::default();
        if places.net.is_none() && places.gross.is_none() {
            passed.warn("no column says what was taken for a line: all amounts are zero".to_owned());
        }
        Ok(RowReader {
            layout,
            terms: *terms,
            places,
            delimiter: delimiter.into(),
            clock: Clock::new(terms.days),
            day,
            lenient,
            names: HashMap::new(),
            all: Sum::default(),
            since: Sum::default(),
            of_day: (NaiveDate::default(), Sum::default()),
            passed,
            faults: Vec::new(),
        })
    }

    /// Whether so much is wrong that the rest need not be read.
    pub(super) fn is_hopeless(&self) -> bool {
        self.faults.len() >= MOST
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
        let mut filled = (0..cells.len()).filter(|n| !cell(*n).is_empty());
        let Some(first) = filled.next() else { return Ok(Row::Skip(Skip::Blank)) };
        let filled = 1 + filled.count();
        self.never_closed(cells, line)?;
        let ruling = |text: &str| text.chars().all(|c| matches!(c, '-' | '=' | '_' | '*' | '–' | '—' | '.' | ' ' | '#'));
        if (0..cells.len()).all(|n| ruling(cell(n))) {
            return Ok(Row::Skip(Skip::Heading));
        }
        if self.is_head(cells) {
            return Ok(Row::Skip(Skip::Heading));
        }
        if cells.len() > self.layout.columns.len() && (self.layout.columns.len()..cells.len()).any(|n| !cell(n).is_empty()) {
            let (have, want) = (cells.len(), self.layout.columns.len());
            let what = format!("{have} cells stand here; expected {want} as in the head: a cell with “{}” in it stands in quotation marks", shown_mark(self.delimiter));
            return Err(Fault::of_row(line, what));
        }
        let figures = [Some(self.places.quantity), self.places.net, self.places.gross, self.places.tax];
        let has_figure = figures.into_iter().flatten().any(|n| !number::is_none(cell(n)));
        let whole = said::total_word(cell(first));
        let name_cell = self.places.names.iter().map(|n| cell(*n)).find(|c| !c.is_empty()).unwrap_or_default();
        if whole == Some(TotalWord::Whole) || said::total_word(name_cell) == Some(TotalWord::Whole) {
            self.since = Sum::default();
            return Ok(Row::Skip(Skip::Total));
        }
        if !has_figure {
            return self.wordy(cells, line, first, filled, cut);
        }
        let quantity = self.thousandths(cells, line)?;
        let (net, gross, tax) = (self.money(cells, self.places.net, line)?, self.money(cells, self.places.gross, line)?, self.money(cells, self.places.tax, line)?);
        let first_money = net.or(gross);
        let is_sum = |reader: &Self, rows: u64| {
            let sums = [reader.since, reader.all, reader.of_day.1];
            sums.into_iter().any(|sum| sum.rows >= rows && sum.is(quantity, first_money))
        };
        let begins = whole.is_some() || said::total_word(name_cell).is_some();
        if begins {
            // `Total bar`: a sum where it has none of what tells a line apart, or where it is one.
            let apart = [self.places.date, self.places.day, self.places.date_time, self.places.time, self.places.receipt, self.places.code];
            let mut apart = apart.into_iter().flatten().peekable();
            let bare = apart.peek().is_some() && apart.all(|n| n == first || cell(n).is_empty());
            if (whole.is_some() && !self.places.names.contains(&first)) || bare || is_sum(self, 2) {
                self.since = Sum::default();
                return Ok(Row::Skip(Skip::Total));
            }
        }
        let name = self.name(cells);
        let when = self.when(cells, line)?;
        if name.is_empty() {
            let known = self.places.receipt.is_some_and(|n| !cell(n).is_empty()) || when.is_some();
            let says_when = self.says_when();
            if is_sum(self, 1) || !(known && (says_when || self.places.receipt.is_some())) {
                self.since = Sum::default();
                return Ok(Row::Skip(Skip::Total));
            }
            let column = &self.layout.columns[self.places.names[0]].head;
            return Err(Fault::of_cell(line, self.head_or(column, Field::Name), name_cell, "expected what was sold"));
        }
        let Some(when) = when else {
            if self.says_when() {
                if is_sum(self, 1) {
                    self.since = Sum::default();
                    return Ok(Row::Skip(Skip::Total));
                }
                let n = self.places.date_time.or(self.places.date).or(self.places.day).unwrap_or_default();
                return Err(self.fault(n, line, "", "expected a day"));
            }
            return Err(Fault::of_row(line, "no column says the day; say of which business day this table is"));
        };
        self.coin_is_ours(cells, line)?;
        let receipt = match self.places.receipt {
            None => None,
            Some(n) => match tamed(cell(n)) {
                receipt if receipt.is_empty() => return Err(self.fault(n, line, cell(n), "expected the number of a receipt")),
                receipt => Some(receipt),
            },
        };
        let number = match self.places.line {
            None => None,
            Some(n) => {
                let read = cell(n).parse::<i64>().ok().filter(|number| *number >= 0);
                Some(read.ok_or_else(|| self.fault(n, line, cell(n), "expected the number of a line, such as 1"))?)
            }
        };
        let what = self.kind(cells, line)?;
        let at = self.time_that_is_past(when, line, cells)?;
        let mut taken = self.net(net, gross, tax, self.rate(cells, line)?, line)?;
        if what == Some(What::NoSale) {
            return Ok(Row::Skip(Skip::NoSale));
        }
        if what == Some(What::Money) {
            return Ok(Row::Skip(Skip::MoneyOnly));
        }
        let money_only = what == Some(What::Discount) || said::names_money(&name);
        let Some(mut quantity) = quantity.or((money_only && taken.0 < 0).then_some(0)) else {
            if is_sum(self, 1) {
                self.since = Sum::default();
                return Ok(Row::Skip(Skip::Total));
            }
            return Err(self.fault(self.places.quantity, line, "", "expected how many, such as 1 or 0,5"));
        };
        let (counted, money) = (quantity, first_money.unwrap_or_default());
        self.all.add(counted, money);
        self.since.add(counted, money);
        if self.of_day.0 != when.day {
            self.of_day = (when.day, Sum::default());
        }
        self.of_day.1.add(counted, money);
        if quantity == 0 && taken == Money::ZERO {
            return Ok(Row::Skip(Skip::Zero));
        }
        let mut kind = match what {
            Some(What::Kind(SaleKind::Sale)) | None => None,
            Some(What::Kind(kind)) => Some(kind),
            Some(_) => Some(SaleKind::Sale),
        };
        if what == Some(What::Discount) && taken.0 > 0 {
            taken = Money(-taken.0);
        }
        if what == Some(What::Discount) || (quantity > 0 && money_only && taken.0 < 0) {
            quantity = 0;
        }
        match kind {
            Some(SaleKind::Return) => {
                quantity = -quantity.abs();
                taken = Money(-taken.0.abs());
            }
            // A void that gives money back takes an earlier line back.
            Some(SaleKind::Void) if taken.0 < 0 => quantity = -quantity.abs(),
            None if quantity > 0 && taken.0 < 0 => {
                quantity = -quantity;
                self.passed.warn("lines that give money back are read as taken back, though their quantity is above zero".to_owned());
            }
            None if quantity < 0 && taken.0 > 0 => {
                taken = Money(-taken.0);
                self.passed.warn("lines with a quantity below zero are read as giving money back, though their amount is above zero".to_owned());
            }
            _ => {}
        }
        let goods = quantity != 0;
        if !goods && kind.is_none() {
            kind = Some(SaleKind::Sale);
        }
        let code = self.places.code.map(|n| tamed(cell(n))).filter(|code| !code.is_empty());
        if name.contains('\u{fffd}') {
            self.passed.warn(format!("line {line} holds a letter that could not be read"));
        }
        let sold = Sold { day: when.day, at, timed: when.at.is_some(), receipt, line: number, name, code, quantity, net: taken, kind, goods };
        Ok(Row::Sold(sold))
    }

    /// A row without a figure: words, or a line that lacks what it should say.
    fn wordy(&mut self, cells: &StringRecord, line: u64, first: usize, filled: usize, cut: bool) -> Result<Row, Fault> {
        let cell = |n: usize| cells.get(n).map_or("", str::trim);
        let words = cell(first);
        if !self.says_when() && filled == 1 {
            if let Some(day) = date::date(words.trim_end_matches(':')).and_then(|d| d.day(self.layout.dates)) {
                self.day = Some(day);
                return Ok(Row::Skip(Skip::Heading));
            }
        }
        let dated = [self.places.date, self.places.day, self.places.date_time].into_iter().flatten();
        let is_dated = dated.clone().any(|n| date::date(cell(n)).is_some() || date::date_time(cell(n)).is_some());
        let named = self.places.names.iter().any(|n| !cell(*n).is_empty());
        if cut && cells.len() < self.layout.columns.len() && (is_dated || (named && filled > 1)) {
            return Err(Fault::of_row(line, "the file ends in the middle of this row; expected all of it: export it again"));
        }
        let receipt = self.places.receipt.is_some_and(|n| !cell(n).is_empty());
        if named && filled > 2 && (is_dated || (receipt && dated.count() == 0)) {
            return Err(self.fault(self.places.quantity, line, "", "expected how many, such as 1"));
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
            Some(_) => Err(Fault::of_row(line, "a cell goes on over whole rows; expected a quotation mark at its end: one may never be closed")),
            None => Ok(()),
        }
    }

    fn is_head(&self, cells: &StringRecord) -> bool {
        let full = self.layout.columns.iter().position(|c| !c.head.is_empty());
        let Some(at) = full else { return false };
        let head = &self.layout.columns[at].head;
        // Nearly every row differs in the first letter already.
        let same = |a: &str, b: &str| a.trim().chars().flat_map(char::to_lowercase).next() == b.chars().flat_map(char::to_lowercase).next();
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
    fn name(&mut self, cells: &StringRecord) -> Rc<str> {
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
            return Rc::clone(known);
        }
        let tame: Rc<str> = tamed(raw).into();
        if self.names.len() < NAMES && raw.len() < 500 {
            self.names.insert(raw.to_owned(), Rc::clone(&tame));
        }
        tame
    }

    fn number(&self, cells: &StringRecord, column: usize, line: u64, expected: &str) -> Result<Option<(Decimal, number::Dress)>, Fault> {
        let cell = cells.get(column).unwrap_or_default();
        number::number(cell, self.layout.decimal, self.terms.currency).map_err(|wrong| match wrong {
            Wrong::NotANumber => self.fault(column, line, cell, expected),
            Wrong::Mark => {
                let mark = self.layout.decimal.word();
                self.fault(column, line, cell, &format!("expected a number whose decimals stand after a {mark}"))
            }
            Wrong::Coin(coin) => {
                let (own, coin) = (self.terms.currency, tamed(&coin));
                self.fault(column, line, cell, &format!("this is in {coin}; expected {own}, the coin of the book"))
            }
        })
    }

    fn thousandths(&self, cells: &StringRecord, line: u64) -> Result<Option<i64>, Fault> {
        let expected = "expected how many, such as 1 or 0,5, with at most 3 decimals";
        let column = self.places.quantity;
        let Some((number, dress)) = self.number(cells, column, line, expected)? else { return Ok(None) };
        let wrong = || self.fault(column, line, cells.get(column).unwrap_or_default(), expected);
        let thousandths = number.scaled(1_000, 1).map_err(|_| wrong())?;
        // Zeros behind the third decimal are none.
        let exact = number.exact(3).is_some() || number.exact(9) == thousandths.checked_mul(1_000_000);
        if dress.percent || dress.coin || !exact || thousandths.abs() > 1_000_000_000_000 {
            return Err(wrong());
        }
        Ok(Some(thousandths))
    }

    fn money(&self, cells: &StringRecord, column: Option<usize>, line: u64) -> Result<Option<i64>, Fault> {
        let Some(column) = column else { return Ok(None) };
        let expected = "expected an amount of money";
        let Some((number, dress)) = self.number(cells, column, line, expected)? else { return Ok(None) };
        let wrong = || self.fault(column, line, cells.get(column).unwrap_or_default(), expected);
        let minor = number.scaled(10_i128.pow(self.terms.currency.decimals()), 1).map_err(|_| wrong())?;
        if dress.percent || minor.abs() > 1_000_000_000_000_000 { Err(wrong()) } else { Ok(Some(minor)) }
    }

    /// The rate of the row's tax, in hundredths of a percent; `0.19` is 19 %, as no tax is less than one percent.
    fn rate(&self, cells: &StringRecord, line: u64) -> Result<Option<i64>, Fault> {
        let Some(column) = self.places.rate else { return Ok(None) };
        let expected = "expected a rate of tax such as 19 %";
        let Some((number, dress)) = self.number(cells, column, line, expected)? else { return Ok(None) };
        let wrong = || self.fault(column, line, cells.get(column).unwrap_or_default(), expected);
        let rate = number.scaled(100, 1).map_err(|_| wrong())?;
        let rate = if !dress.percent && rate > 0 && rate < 100 { number.scaled(10_000, 1).map_err(|_| wrong())? } else { rate };
        if (0..=10_000).contains(&rate) { Ok(Some(rate)) } else { Err(wrong()) }
    }

    /// Net of tax: as it is written, else what is left of the whole without its tax.
    fn net(&mut self, net: Option<i64>, gross: Option<i64>, tax: Option<i64>, rate: Option<i64>, line: u64) -> Result<Money, Fault> {
        if let Some(net) = net {
            return Ok(Money(net));
        }
        let Some(gross) = gross else {
            if self.places.net.is_some() || self.places.gross.is_some() {
                self.passed.warn("some lines have no amount: it is taken as zero".to_owned());
            }
            return Ok(Money::ZERO);
        };
        if let Some(tax) = tax {
            // Where the tax is written without the sign of what it is in.
            let tax = if gross < 0 { -tax.abs() } else { tax };
            return Ok(Money(gross - tax));
        }
        match rate.or(self.layout.tax) {
            Some(rate) => {
                let net = decimal::round_half_even(i128::from(gross) * 10_000, 10_000 + i128::from(rate.max(0)));
                Ok(Money(net as i64))
            }
            None if gross == 0 || self.lenient => Ok(Money(gross)),
            None => {
                let column = self.places.gross.unwrap_or_default();
                Err(self.fault(column, line, &decimal::fixed(gross, self.terms.currency.decimals()), "the tax in this amount is not known; say its rate, 0 for none"))
            }
        }
    }

    fn kind(&self, cells: &StringRecord, line: u64) -> Result<Option<What>, Fault> {
        let mut found = None;
        for n in &self.places.kinds {
            let cell = cells.get(*n).unwrap_or_default();
            match said::what(cell, &self.layout.columns[*n].head) {
                Some(What::Kind(SaleKind::Sale)) => {}
                Some(what) => found = found.or(Some(what)),
                None => {
                    let words = "expected what the line was, such as sale, void, return, comp, staff or training";
                    return Err(self.fault(*n, line, cell, words));
                }
            }
        }
        Ok(found)
    }

    fn coin_is_ours(&self, cells: &StringRecord, line: u64) -> Result<(), Fault> {
        for n in &self.places.coins {
            let cell = cells.get(*n).map_or("", str::trim);
            if !cell.is_empty() && number::is_coin(cell, self.terms.currency) == Some(false) {
                return Err(self.fault(*n, line, cell, &format!("expected {}, the coin of the book", self.terms.currency)));
            }
        }
        Ok(())
    }

    /// When the row was rung; `None` when no cell and nobody says.
    fn when(&mut self, cells: &StringRecord, line: u64) -> Result<Option<When>, Fault> {
        let order = self.layout.dates;
        let day_in = |reader: &Self, n: usize| -> Result<Option<NaiveDate>, Fault> {
            let cell = cells.get(n).map_or("", str::trim);
            if cell.is_empty() {
                return Ok(None);
            }
            // Some tills write midnight behind every day.
            let parts = date::date(cell).or_else(|| date::date_time(cell).map(|(parts, _, _)| parts));
            let day = parts.and_then(|parts| parts.day(order));
            day.map(Some).ok_or_else(|| reader.fault(n, line, cell, &format!("expected a day as {}", shape(order))))
        };
        let business = self.places.day.map(|n| day_in(self, n)).transpose()?.flatten();
        if let Some(n) = self.places.date_time {
            let cell = cells.get(n).map_or("", str::trim);
            if cell.is_empty() {
                return Ok(None);
            }
            let read = date::date_time(cell).and_then(|(parts, time, ahead)| Some((parts.day(order)?, time, ahead)));
            let Some((date, time, ahead)) = read else {
                let expected = format!("expected a day and a time as {} 21:40", shape(order));
                return Err(self.fault(n, line, cell, &expected));
            };
            return Ok(Some(self.clock.exactly(date, time, ahead, business)));
        }
        let date = self.places.date.map(|n| day_in(self, n)).transpose()?.flatten();
        let time = match self.places.time.map(|n| (n, cells.get(n).map_or("", str::trim))) {
            None | Some((_, "")) => None,
            Some((n, cell)) => {
                Some(date::time(cell, true).ok_or_else(|| self.fault(n, line, cell, "expected a time such as 21:40 or 9:40 pm"))?)
            }
        };
        let says_when = self.says_when();
        Ok(match (date, business.or(self.day.filter(|_| !says_when)), time) {
            (Some(date), business, Some(time)) => Some(self.clock.exactly(date, time, None, business)),
            (Some(date), business, None) => Some(self.clock.some_time(business.unwrap_or(date))),
            (None, Some(day), Some(time)) => Some(self.clock.in_day(day, time)),
            (None, Some(day), None) => Some(self.clock.some_time(day)),
            (None, None, _) => None,
        })
    }

    /// Nothing can have been sold that has not come yet.
    fn time_that_is_past(&self, when: When, line: u64, cells: &StringRecord) -> Result<Moment, Fault> {
        let until = self.terms.until;
        match when.at {
            Some(at) if at <= until => Ok(at),
            // Of a day that has begun, and nobody knows when: at the latest now.
            None if self.terms.days.begins(when.day) <= until => Ok(when.evening.min(until)),
            _ => {
                let n = self.places.date_time.or(self.places.date).or(self.places.day).or(self.places.time);
                let read = n.and_then(|n| cells.get(n)).unwrap_or_default();
                let expected = "expected a time that is past; this one has not come yet";
                Err(n.map_or_else(|| Fault::of_row(line, expected), |n| self.fault(n, line, read, expected)))
            }
        }
    }
}

/// How a day is written.
fn shape(order: DateOrder) -> &'static str {
    match order {
        DateOrder::YearFirst => "2026-11-20",
        DateOrder::DayFirst => "20.11.2026",
        DateOrder::MonthFirst => "11/20/2026",
    }
}

fn shown_mark(delimiter: char) -> String {
    if delimiter == '\t' { "a tab".to_owned() } else { delimiter.to_string() }
}

/// The coin that a head says in brackets or by its sign, where it is not the book's.
fn foreign_coin(head: &str, currency: Currency) -> Option<String> {
    let words = head.split(|c: char| c.is_whitespace() || matches!(c, '(' | ')' | '[' | ']' | '/' | ':' | ','));
    let bracketed = |word: &str| head.contains(&format!("({word})")) || head.contains(&format!("[{word}]"));
    let sign = |word: &str| word.chars().any(|c| !c.is_alphanumeric() && !c.is_ascii_punctuation()) || word.contains('$');
    let mut words = words.filter(|word| !word.is_empty() && (bracketed(word) || sign(word)));
    words.find(|word| number::is_coin(word, currency) == Some(false)).map(str::to_owned)
}
