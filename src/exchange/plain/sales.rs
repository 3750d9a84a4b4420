//! `sales.csv`, the one file of a million lines: read from its bytes where they are plain, through the cells like any
//! other file where they are not.

use super::cells::{Form, Line, PlainRow, plain_thousandths, signed_money};
use super::hours::Hours;
use super::{Faults, Plain, Table};
use crate::domain::measure::{Decimal, Money};
use crate::domain::venue::{Moment, SaleKind};
use std::borrow::Cow;

/// Columns by their place in the description.
const RECEIPT: usize = 0;
const LINE: usize = 1;
const AT: usize = 2;
const SOLD_AS: usize = 3;
const QUANTITY: usize = 4;
const NET: usize = 5;
const KIND: usize = 6;

/// A line of `sales.csv`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SaleRow {
    /// Number of the receipt.
    pub receipt: String,
    /// Its line.
    pub line: i64,
    /// When.
    pub at: Moment,
    /// What the till calls it.
    pub sold_as: String,
    /// How many, in thousandths.
    pub quantity: i64,
    /// Net of tax.
    pub net: Money,
    /// What the line was.
    pub kind: SaleKind,
}

impl PlainRow for SaleRow {
    const FILE: Plain = Plain::Sales;

    fn read(line: &mut Line<'_>) -> Option<SaleRow> {
        let form = line.form();
        let (receipt, number, at) = (line.text("receipt"), line.whole("line", 0..=i64::MAX), line.time("at"));
        let sold_as = line.text("sold_as");
        let quantity = line.with("quantity", |text| {
            let read = Decimal::parse(text).ok().and_then(|d| d.exact(3));
            read.ok_or(word!("expected a number such as 1 or 0.5, with at most 3 decimals"))
        });
        let net = line.with("net", |text| signed_money(&form, text));
        let kind = line.word_or("kind", SaleKind::parse, SaleKind::Sale);
        Some(SaleRow {
            receipt: receipt?,
            line: number?,
            at: at?,
            sold_as: sold_as?,
            quantity: quantity?,
            net: net?,
            kind: kind?,
        })
    }

    fn cells(&self, form: &Form) -> Vec<String> {
        vec![
            self.receipt.clone(),
            self.line.to_string(),
            form.time(self.at),
            self.sold_as.clone(),
            plain_thousandths(self.quantity),
            form.money(self.net),
            self.kind.word().to_owned(),
        ]
    }
}

/// A line of `sales.csv` as it was read, its texts still in the reader's buffer where possible.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SaleCells<'t> {
    /// Number of the receipt.
    pub receipt: Cow<'t, str>,
    /// Its line.
    pub line: i64,
    /// When.
    pub at: Moment,
    /// What the till calls it, as it stands in the file: the same name is met again and again, so whoever keeps names
    /// looks the bytes up first.
    pub sold_as: Cow<'t, [u8]>,
    /// How many, in thousandths.
    pub quantity: i64,
    /// Net of tax.
    pub net: Money,
    /// What the line was.
    pub kind: SaleKind,
}

/// Reads lines of sales.
#[derive(Debug)]
pub struct SaleParser {
    form: Form,
    /// Decimals of money and 10 to their power; none while the coin is not known.
    decimals: Option<(usize, i64)>,
    hours: Hours,
}

impl SaleParser {
    /// For a book's form.
    pub fn new(form: Form) -> SaleParser {
        let decimals = form.currency.map(|c| (c.decimals() as usize, 10_i64.pow(c.decimals())));
        SaleParser { form, decimals, hours: Hours::default() }
    }

    /// The line at hand of `table`; `None` when anything was wrong with it, and then it was noted.
    pub fn parse<'t>(&mut self, table: &'t mut Table, faults: &mut Faults) -> Option<SaleCells<'t>> {
        // The borrow of the quick way must not outlive its failure, so what it needs is taken apart first.
        let quick = self.quick(table);
        let Some((line, at, quantity, net, kind)) = quick else {
            let row: SaleRow = table.here(faults)?.read(&self.form, &(), faults)?;
            return Some(SaleCells {
                receipt: Cow::Owned(row.receipt),
                line: row.line,
                at: row.at,
                sold_as: Cow::Owned(row.sold_as.into_bytes()),
                quantity: row.quantity,
                net: row.net,
                kind: row.kind,
            });
        };
        let receipt = plain_text(table.raw(RECEIPT)).unwrap_or_default();
        Some(SaleCells {
            receipt: Cow::Borrowed(receipt),
            line,
            at,
            sold_as: Cow::Borrowed(table.raw(SOLD_AS)),
            quantity,
            net,
            kind,
        })
    }

    /// The numbers of a line whose every cell is in its plainest form.
    fn quick(&mut self, table: &Table) -> Option<(i64, Moment, i64, Money, SaleKind)> {
        let (places, unit) = self.decimals?;
        plain_text(table.raw(RECEIPT))?;
        if table.raw(SOLD_AS).is_empty() {
            return None;
        }
        let line = number(table.raw(LINE), 0, 1).filter(|n| *n >= 0)?;
        let at = self.hours.time(self.form.days.zone, table.raw(AT)).filter(|at| self.form.can_be(*at))?;
        let quantity = number(table.raw(QUANTITY), 3, 1_000)?;
        let net = Money(number(table.raw(NET), places, unit)?);
        let kind = match table.raw(KIND) {
            b"" | b"sale" => SaleKind::Sale,
            other => SaleKind::parse(std::str::from_utf8(other).ok()?).ok()?,
        };
        Some((line, at, quantity, net, kind))
    }
}

/// A decimal number as an integer of `10^-places`; `unit` is 10 to that power. Only what is plain and surely fits.
fn number(text: &[u8], places: usize, unit: i64) -> Option<i64> {
    let (negative, digits) = match text {
        [b'-', rest @ ..] => (true, rest),
        _ => (false, text),
    };
    let dot = digits.iter().position(|b| *b == b'.').unwrap_or(digits.len());
    let (whole, fraction) = (digits.get(..dot)?, digits.get(dot + 1..).unwrap_or_default());
    if whole.is_empty() || whole.len() > 9 || fraction.len() > places {
        return None;
    }
    let digits_of =
        |part: &[u8]| part.iter().try_fold(0_i64, |n, b| b.is_ascii_digit().then(|| n * 10 + i64::from(b - b'0')));
    let lift = 10_i64.pow((places - fraction.len()) as u32);
    let value = digits_of(whole)? * unit + digits_of(fraction)? * lift;
    Some(if negative { -value } else { value })
}

/// A text that is surely in the form in which it is kept: short, plain ASCII, no blanks outside, no formula.
fn plain_text(text: &[u8]) -> Option<&str> {
    let first = text.first()?;
    let plain = text.len() <= 64
        && first.is_ascii_alphanumeric()
        && text.last().is_some_and(u8::is_ascii_graphic)
        && text.iter().all(|b| matches!(b, b' '..=b'~'));
    if plain { std::str::from_utf8(text).ok() } else { None }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::measure::SmallMeasures;
    use crate::domain::venue::DayRule;
    use proptest::prelude::*;

    fn parser(zone: &str, coin: &str) -> SaleParser {
        SaleParser::new(Form {
            currency: Some(coin.parse().unwrap()),
            days: DayRule { zone: zone.parse().unwrap(), starts: chrono::NaiveTime::from_hms_opt(5, 0, 0).unwrap() },
            small: SmallMeasures::default(),
            until: None,
        })
    }

    #[test]
    fn the_hour_of_a_clock_change_is_left_to_the_careful_way() {
        // Berlin skips 02:00 to 03:00 on 29 March 2026 and repeats it on 25 October; Lord Howe shifts by half an hour.
        for (zone, text) in [
            ("Europe/Berlin", "2026-03-29 02:30"),
            ("Europe/Berlin", "2026-10-25 02:30"),
            ("Australia/Lord_Howe", "2026-10-04 02:45"),
            ("Australia/Lord_Howe", "2026-04-05 01:15"),
            ("Europe/Berlin", "2026-02-30 12:00"),
            ("Europe/Berlin", "2026-02-20 24:00"),
            ("Europe/Berlin", "2026-02-20 12:60"),
            ("Europe/Berlin", "2026-02-20T12:00"),
            ("Europe/Berlin", "2026-02-20 12:00:61"),
        ] {
            assert_eq!(Hours::default().time(zone.parse().unwrap(), text.as_bytes()), None, "{zone} {text}");
        }
    }

    #[test]
    fn numbers_are_read_exactly_or_left() {
        for (text, want) in [
            ("1", Some(1_000)),
            ("-0.5", Some(-500)),
            ("2.125", Some(2_125)),
            ("1.", Some(1_000)),
            (".5", None),
            ("1.2345", None),
            ("", None),
            ("1e3", None),
            ("+1", None),
            ("1234567890", None),
        ] {
            assert_eq!(number(text.as_bytes(), 3, 1_000), want, "{text}");
        }
    }

    proptest! {
        #[test]
        fn the_quick_way_reads_what_the_careful_way_reads(
            minutes in 26_000_000_i64..32_000_000, ms in 0_i64..60_000, whole in any::<bool>(), zone in prop_oneof![
                Just("Europe/Berlin"), Just("America/New_York"), Just("Australia/Lord_Howe"), Just("Asia/Kolkata")],
            value in -10_000_000_i64..10_000_000, coin in prop_oneof![Just("EUR"), Just("JPY"), Just("TND")],
        ) {
            let mut parser = parser(zone, coin);
            let form = parser.form;
            let at = Moment(minutes * 60_000 + if whole { ms / 1_000 * 1_000 } else { ms });
            let text = form.time(at);
            if let Some(read) = parser.hours.time(form.days.zone, text.as_bytes()) {
                prop_assert_eq!(read, at);
            } else {
                // Only around a clock change.
                let near = [-7_200_000, 7_200_000].map(|d| {
                    let local = Moment(at.0 + d).to_utc().unwrap().with_timezone(&form.days.zone);
                    local.naive_local().and_utc().timestamp_millis() - (at.0 + d)
                });
                prop_assert!(near[0] != near[1], "{} {}", zone, text);
            }
            let money = form.money(Money(value));
            let (places, unit) = parser.decimals.unwrap();
            prop_assert_eq!(number(money.as_bytes(), places, unit), Some(value));
            prop_assert_eq!(number(plain_thousandths(value).as_bytes(), 3, 1_000), Some(value));
        }
    }
}
