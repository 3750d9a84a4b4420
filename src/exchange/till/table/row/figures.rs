//! The figures of a row: how many, for how much, with what tax, and what kind of line it was.

use super::super::fault::{Fault, shown};
use super::super::mark;
use super::super::number::{self, Dress, Says, Wrong};
use super::super::said::{self, What};
use super::RowReader;
use crate::domain::measure::{Currency, Decimal, Money, decimal};
use crate::domain::till::DecimalMark;
use crate::domain::venue::SaleKind;
use crate::exchange::plain::tamed;
use csv::StringRecord;

/// The figures of a row: thousandths and minor units, none where nothing is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Figures {
    pub(super) quantity: Option<i64>,
    net: Option<i64>,
    gross: Option<i64>,
    tax: Option<i64>,
}

impl Figures {
    /// What was taken, as the row writes it first.
    pub(super) fn money(self) -> Option<i64> {
        self.net.or(self.gross)
    }
}

/// Thousandths, net amount, and the kind where the row says one.
type Signed = (i64, Money, Option<SaleKind>);

impl RowReader<'_> {
    /// What the figures of a row say of the mark: nothing where one of them is no number, as in the heading of a page.
    pub(in crate::exchange::till::table) fn says_of_mark(&self, cells: &StringRecord) -> Says {
        let mut said = Says::Nothing;
        for (n, column) in self.layout.columns.iter().enumerate() {
            let Some((of, cell)) = mark::figures_of(column.field).zip(cells.get(n)) else { continue };
            if matches!(
                number::number(cell, DecimalMark::Unknown, self.terms.currency),
                Err(Wrong::NotANumber | Wrong::Mark | Wrong::Coin(_))
            ) {
                return Says::Nothing;
            }
            match (number::says(cell, of, self.terms.currency), said) {
                (Says::Nothing, _) | (Says::Either, Says::Is(_)) => {}
                // A row of two minds tells nothing; its fault is named when it is read.
                (Says::Is(one), Says::Is(other)) if one != other => return Says::Nothing,
                (says, _) => said = says,
            }
        }
        said
    }

    pub(super) fn number(
        &mut self,
        cells: &StringRecord,
        column: usize,
        line: u64,
        expected: &str,
    ) -> Result<Option<(Decimal, Dress)>, Fault> {
        let cell = cells.get(column).unwrap_or_default();
        number::number(cell, self.mark, self.terms.currency).map_err(|wrong| match wrong {
            Wrong::NotANumber => self.fault(column, line, cell, expected),
            Wrong::Mark => {
                let mark = match self.mark {
                    DecimalMark::Unknown => word!("point or a comma"),
                    known => known.word(),
                };
                self.fault(column, line, cell, &say!("expected a number whose decimals stand after a {mark}", mark))
            }
            Wrong::Either(point, comma) => {
                // The smaller one is the one with decimals.
                let (less, more) = if point.size().minus(comma.size()).is_some_and(|d| d.sign() < 0) {
                    (point, comma)
                } else {
                    (comma, point)
                };
                let could = say!("could be {less} as well as {more}", less, more);
                let shown = shown(cell);
                self.asks.get_or_insert_with(|| {
                    say!("Do decimals stand after a point or after a comma? “{shown}” on line {line} {could}.", shown, line, could)
                });
                let expected = say!("this {could}, and no figure of this file tells which; say whether decimals stand after a point or a comma", could);
                self.fault(column, line, cell, &expected)
            }
            Wrong::Coin(coin) => {
                let (own, coin) = (self.terms.currency, tamed(&coin));
                self.fault(column, line, cell, &say!("this is in {coin}; expected {own}, the coin of the book", coin, own))
            }
        })
    }

    pub(super) fn thousandths(&mut self, cells: &StringRecord, line: u64) -> Result<Option<i64>, Fault> {
        let expected = word!("expected how many, such as 1 or 0,5, with at most 3 decimals");
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

    pub(super) fn money(
        &mut self,
        cells: &StringRecord,
        column: Option<usize>,
        line: u64,
    ) -> Result<Option<i64>, Fault> {
        let Some(column) = column else { return Ok(None) };
        let expected = word!("expected an amount of money");
        let Some((number, dress)) = self.number(cells, column, line, expected)? else { return Ok(None) };
        let wrong = || self.fault(column, line, cells.get(column).unwrap_or_default(), expected);
        let minor = number.scaled(10_i128.pow(self.terms.currency.decimals()), 1).map_err(|_| wrong())?;
        if dress.percent || minor.abs() > 1_000_000_000_000_000 { Err(wrong()) } else { Ok(Some(minor)) }
    }

    /// The rate of the row's tax, in hundredths of a percent; `0.19` is 19 %, as no tax is less than one percent.
    pub(super) fn rate(&mut self, cells: &StringRecord, line: u64) -> Result<Option<i64>, Fault> {
        let Some(column) = self.places.rate else { return Ok(None) };
        let expected = word!("expected a rate of tax such as 19 %");
        let Some((number, dress)) = self.number(cells, column, line, expected)? else { return Ok(None) };
        let wrong = || self.fault(column, line, cells.get(column).unwrap_or_default(), expected);
        let rate = number.scaled(100, 1).map_err(|_| wrong())?;
        let rate = if !dress.percent && rate > 0 && rate < 100 {
            number.scaled(10_000, 1).map_err(|_| wrong())?
        } else {
            rate
        };
        if (0..=10_000).contains(&rate) { Ok(Some(rate)) } else { Err(wrong()) }
    }

    /// The quantity and the amounts of a row.
    pub(super) fn figures(&mut self, cells: &StringRecord, line: u64) -> Result<Figures, Fault> {
        Ok(Figures {
            quantity: self.thousandths(cells, line)?,
            net: self.money(cells, self.places.net, line)?,
            gross: self.money(cells, self.places.gross, line)?,
            tax: self.money(cells, self.places.tax, line)?,
        })
    }

    /// Net of tax: as it is written, else what is left of the whole without its tax.
    pub(super) fn net(&mut self, read: Figures, rate: Option<i64>, line: u64) -> Result<Money, Fault> {
        let Figures { net: None, gross, tax, .. } = read else { return Ok(Money(read.net.unwrap_or_default())) };
        let Some(gross) = gross else {
            if self.places.net.is_some() || self.places.gross.is_some() {
                self.passed.warn(word!("some lines have no amount: it is taken as zero").to_owned());
            }
            return Ok(Money::ZERO);
        };
        if let Some(tax) = tax {
            // Some write the tax of what is given back without its sign.
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
                let written = decimal::fixed(gross, self.terms.currency.decimals());
                let column = self.places.gross.unwrap_or_default();
                let expected = word!("the tax in this amount is not known; say its rate, 0 for none");
                Err(self.fault(column, line, &written, expected))
            }
        }
    }

    /// Quantity and amount with the signs that their kind has: what takes back is below zero, a discount takes no goods.
    pub(super) fn signed(&mut self, quantity: i64, net: Money, what: Option<What>, money_only: bool) -> Signed {
        let back = |n: i64| -n.abs();
        match what {
            Some(What::Discount) => (0, Money(back(net.0)), Some(SaleKind::Sale)),
            _ if quantity == 0 || (quantity > 0 && money_only && net.0 < 0) => (0, net, Some(SaleKind::Sale)),
            Some(What::Kind(SaleKind::Return)) => (back(quantity), Money(back(net.0)), Some(SaleKind::Return)),
            // A void that gives money back takes an earlier line back.
            Some(What::Kind(SaleKind::Void)) if net.0 < 0 => (back(quantity), net, Some(SaleKind::Void)),
            Some(What::Kind(kind)) if kind != SaleKind::Sale => (quantity, net, Some(kind)),
            _ if quantity > 0 && net.0 < 0 => {
                let said =
                    word!("lines that give money back are read as taken back, though their quantity is above zero");
                self.passed.warn(said.to_owned());
                (back(quantity), net, None)
            }
            _ if quantity < 0 && net.0 > 0 => {
                let said = word!(
                    "lines with a quantity below zero are read as giving money back, though their amount is above it"
                );
                self.passed.warn(said.to_owned());
                (quantity, Money(back(net.0)), None)
            }
            _ => (quantity, net, None),
        }
    }

    pub(super) fn kind(&self, cells: &StringRecord, line: u64) -> Result<Option<What>, Fault> {
        let mut found = None;
        for n in &self.places.kinds {
            let cell = cells.get(*n).unwrap_or_default();
            match said::what(cell, &self.layout.columns[*n].head) {
                Some(What::Kind(SaleKind::Sale)) => {}
                Some(what) => found = found.or(Some(what)),
                None => {
                    let words =
                        word!("expected what the line was, such as sale, void, return, comp, staff or training");
                    return Err(self.fault(*n, line, cell, words));
                }
            }
        }
        Ok(found)
    }

    pub(super) fn coin_is_ours(&self, cells: &StringRecord, line: u64) -> Result<(), Fault> {
        for n in &self.places.coins {
            let cell = cells.get(*n).map_or("", str::trim);
            if !cell.is_empty() && number::is_coin(cell, self.terms.currency) == Some(false) {
                return Err(self.fault(
                    *n,
                    line,
                    cell,
                    &say!("expected {currency}, the coin of the book", currency = self.terms.currency),
                ));
            }
        }
        Ok(())
    }
}

/// The coin that a head says in brackets or by its sign, where it is not the book's.
pub(super) fn foreign_coin(head: &str, currency: Currency) -> Option<String> {
    let words = head.split(|c: char| c.is_whitespace() || matches!(c, '(' | ')' | '[' | ']' | '/' | ':' | ','));
    let bracketed = |word: &str| head.contains(&format!("({word})")) || head.contains(&format!("[{word}]"));
    let sign =
        |word: &str| word.chars().any(|c| !c.is_alphanumeric() && !c.is_ascii_punctuation()) || word.contains('$');
    let mut words = words.filter(|word| !word.is_empty() && (bracketed(word) || sign(word)));
    words.find(|word| number::is_coin(word, currency) == Some(false)).map(str::to_owned)
}
