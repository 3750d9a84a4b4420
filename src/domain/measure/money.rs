//! Money in integer minor units of a currency that knows its own number of decimals.

use super::{Amount, Decimal, decimal, show::set_apart};
use crate::words;
use iso_currency::IntoEnumIterator;
use serde::{Deserialize, Serialize};
use std::{fmt, iter::Sum, ops, str::FromStr};

/// A currency of ISO 4217.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Currency(iso_currency::Currency);

/// Why a currency code was refused.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{}", word!("unknown currency; expected a three-letter code of ISO 4217 such as EUR, USD or JPY"))]
pub struct CurrencyError;

impl FromStr for Currency {
    type Err = CurrencyError;
    fn from_str(code: &str) -> Result<Self, CurrencyError> {
        let found = iso_currency::Currency::from_code(code.trim()).ok_or(CurrencyError)?;
        // Codes without a minor unit (gold, testing) price no drink.
        found.exponent().map(|_| Currency(found)).ok_or(CurrencyError)
    }
}

impl Currency {
    /// The three letters.
    pub fn code(self) -> &'static str {
        self.0.code()
    }

    /// The coin of a country, by its two letters of ISO 3166; none where several are in use there, or none is known.
    pub fn of_country(letters: &str) -> Option<Currency> {
        let letters = letters.to_ascii_uppercase();
        let is_there = |coin: &iso_currency::Currency| {
            let is_money = !coin.is_fund() && !coin.is_special() && coin.is_superseded().is_none();
            is_money && coin.used_by().iter().any(|country| country.to_string() == letters)
        };
        let mut there = iso_currency::Currency::iter().filter(is_there);
        let only = there.next().filter(|_| there.next().is_none())?;
        only.code().parse().ok()
    }

    /// Decimals of the minor unit: 0 for JPY, 2 for EUR, 3 for TND.
    pub fn decimals(self) -> u32 {
        self.0.exponent().map_or(2, u32::from)
    }

    /// Reads an amount such as `12.50`; no more decimals than the currency has.
    ///
    /// # Errors
    /// [`MoneyError`].
    pub fn parse(self, text: &str) -> Result<Money, MoneyError> {
        let number = Decimal::parse(text.trim()).map_err(|_| self.bad())?;
        number.exact(self.decimals()).map(Money).ok_or_else(|| self.bad())
    }

    /// Reads a price per unit, which may have more decimals than the coin: `1.2345`, kept in millionths of the major unit.
    ///
    /// # Errors
    /// [`MoneyError`].
    pub fn parse_price(self, text: &str) -> Result<Price, MoneyError> {
        let number = Decimal::parse(text.trim()).map_err(|_| self.bad())?;
        number.exact(Price::PLACES).map(Price).ok_or_else(|| self.bad())
    }

    fn bad(self) -> MoneyError {
        MoneyError {
            code: self.code(),
            example: decimal::fixed(1_250, self.decimals().min(3)),
            decimals: self.decimals(),
        }
    }

    /// So many minor units in major ones: for charts.
    pub fn major(self, minor: f64) -> f64 {
        minor / 10_f64.powi(self.decimals() as i32)
    }

    /// `12.50`: the plain-file form.
    pub fn plain(self, money: Money) -> String {
        decimal::fixed(money.0, self.decimals())
    }

    /// A figure of somebody else's paper, for a sentence: never with fewer decimals than the coin has, with all those that
    /// it has, and thousands set apart as in sums.
    pub fn written(self, figure: Decimal) -> String {
        words::number(set_apart(
            figure.exact(self.decimals()).map_or_else(|| figure.to_string(), |minor| self.plain(Money(minor))),
        ))
    }

    /// The same as people read it here.
    pub fn shown(self, money: Money) -> String {
        words::number(self.plain(money))
    }

    /// A price to the nearest minor unit.
    pub fn round(self, price: Price) -> Money {
        let step = 10_i128.pow(Price::PLACES.saturating_sub(self.decimals()));
        Money(decimal::round_half_even(price.0.into(), step) as i64)
    }
}

impl fmt::Display for Currency {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.code())
    }
}

/// Why an amount of money was refused.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{}", say!("expected an amount of {code} such as {example}, with at most {decimals} decimals (6 for a unit price)", code, example = words::number(example.clone()), decimals))]
pub struct MoneyError {
    code: &'static str,
    example: String,
    decimals: u32,
}

/// An amount of money in minor units of the book's currency.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Money(pub i64);

impl Money {
    /// None.
    pub const ZERO: Money = Money(0);

    /// `self × numerator ÷ denominator`, rounded once, half to even; zero when the denominator is.
    pub fn times(self, numerator: i64, denominator: i64) -> Money {
        Money(Amount(self.0).times(numerator, denominator).0)
    }
}

impl ops::Add for Money {
    type Output = Money;
    fn add(self, other: Money) -> Money {
        Money(self.0.saturating_add(other.0))
    }
}
impl ops::Sub for Money {
    type Output = Money;
    fn sub(self, other: Money) -> Money {
        Money(self.0.saturating_sub(other.0))
    }
}
impl ops::AddAssign for Money {
    fn add_assign(&mut self, other: Money) {
        *self = *self + other;
    }
}
impl Sum for Money {
    fn sum<I: Iterator<Item = Money>>(parts: I) -> Money {
        parts.fold(Money::ZERO, |a, b| a + b)
    }
}

/// A price of one container in millionths of the major unit: supplier prices carry more decimals than coins.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Price(pub i64);

impl Price {
    /// Decimals kept.
    pub const PLACES: u32 = 6;

    /// The plain-file form, without trailing zeros but never fewer than the coin's decimals.
    pub fn plain(self, currency: Currency) -> String {
        let short = decimal::plain(self.0, Price::PLACES);
        let have = short.split_once('.').map_or(0, |(_, f)| f.len() as u32);
        if have >= currency.decimals() {
            return short;
        }
        decimal::fixed(self.0 / 10_i64.pow(Price::PLACES - currency.decimals()), currency.decimals())
    }

    /// The same as people read it here.
    pub fn shown(self, currency: Currency) -> String {
        words::number(self.plain(currency))
    }

    /// What one container at this price costs, unrounded.
    pub fn exact(self) -> ExactCost {
        ExactCost(i128::from(self.0) * UnitCost::LIFT)
    }

    /// A price that a whole amount of money stands for.
    pub fn from_money(money: Money, currency: Currency) -> Price {
        Price(money.0.saturating_mul(10_i64.pow(Price::PLACES.saturating_sub(currency.decimals()))))
    }
}

/// What an item costs, as a decimal of 15 places of the major unit for each base unit (µl, mg, thousandth).
///
/// Fifteen places keep a litre's cost right to a millionth of a coin; it is rounded only when a real amount is costed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct UnitCost(i128);

/// A cost that has not been rounded to coins yet: 10^-15 of the major unit.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct ExactCost(i128);

impl UnitCost {
    const PLACES: u32 = 15;
    /// From the unit of a price to that of a cost.
    const LIFT: i128 = 10_i128.pow(Self::PLACES - Price::PLACES);
    /// What free goods cost.
    pub const FREE: UnitCost = UnitCost(0);

    /// `price` for `per` base units; `None` when `per` is not above zero.
    pub fn new(price: Price, per: Amount) -> Option<UnitCost> {
        (per.0 > 0).then(|| UnitCost(decimal::round_half_even(price.exact().0, per.0.into())))
    }

    /// The unit cost of a batch of `made` whose ingredients cost `total`.
    pub fn spread(total: ExactCost, made: Amount) -> Option<UnitCost> {
        (made.0 > 0).then(|| UnitCost(decimal::round_half_even(total.0, made.0.into())))
    }

    /// `self × numerator ÷ denominator`: another price by a share; zero when the denominator is.
    pub fn times(self, numerator: i64, denominator: i64) -> UnitCost {
        if denominator == 0 {
            return UnitCost(0);
        }
        UnitCost(decimal::round_half_even(self.0.saturating_mul(numerator.into()), denominator.into()))
    }

    /// Cost of `amount`, unrounded.
    pub fn exact(self, amount: Amount) -> ExactCost {
        ExactCost(self.0.saturating_mul(amount.0.into()))
    }

    /// Cost of `amount`, rounded once to the minor unit.
    pub fn of(self, amount: Amount, currency: Currency) -> Money {
        self.exact(amount).round(currency)
    }
}

impl ExactCost {
    /// In minor units of the currency, unrounded: for shares and charts.
    pub fn minor(self, currency: Currency) -> f64 {
        self.0 as f64 / 10_f64.powi((UnitCost::PLACES.saturating_sub(currency.decimals())) as i32)
    }

    /// So many times as much.
    pub fn times(self, many: i64) -> ExactCost {
        ExactCost(self.0.saturating_mul(many.into()))
    }

    /// To the nearest minor unit.
    pub fn round(self, currency: Currency) -> Money {
        let step = 10_i128.pow(UnitCost::PLACES.saturating_sub(currency.decimals()));
        Money(decimal::round_half_even(self.0, step).clamp(i64::MIN.into(), i64::MAX.into()) as i64)
    }
}

impl ops::Add for ExactCost {
    type Output = ExactCost;
    fn add(self, other: ExactCost) -> ExactCost {
        ExactCost(self.0.saturating_add(other.0))
    }
}
impl ops::Sub for ExactCost {
    type Output = ExactCost;
    fn sub(self, other: ExactCost) -> ExactCost {
        ExactCost(self.0.saturating_sub(other.0))
    }
}
impl Sum for ExactCost {
    fn sum<I: Iterator<Item = ExactCost>>(parts: I) -> ExactCost {
        parts.fold(ExactCost::default(), |a, b| a + b)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn currencies_have_their_own_decimals() {
        // ISO 4217 table A.1, entities (from memory): one coin, several, and funds besides it.
        for (country, coin) in [
            ("PT", Some("EUR")),
            ("us", Some("USD")),
            ("CH", Some("CHF")),
            ("JP", Some("JPY")),
            ("HR", Some("EUR")),
            ("PA", None),
            ("XX", None),
        ] {
            assert_eq!(Currency::of_country(country).map(Currency::code), coin, "{country}");
        }
        // ISO 4217 table A.1, minor units (from memory; the crate iso_currency carries the table).
        for (code, decimals, text, minor) in
            [("JPY", 0, "1250", 1_250), ("EUR", 2, "12.50", 1_250), ("TND", 3, "1.250", 1_250)]
        {
            let currency: Currency = code.parse().unwrap();
            assert_eq!(currency.decimals(), decimals);
            assert_eq!(currency.parse(text), Ok(Money(minor)));
            assert_eq!(currency.plain(Money(minor)), text);
        }
        let yen: Currency = "JPY".parse().unwrap();
        assert!(yen.parse("12.5").unwrap_err().to_string().contains("at most 0 decimals"));
        for bad in ["", "EURO", "XAU", "ZZZ"] {
            assert!(bad.parse::<Currency>().is_err(), "{bad}");
        }
    }

    #[test]
    fn a_measure_costs_its_share_of_the_bottle() {
        // Bottle 24.00, 700 ml, a 40 ml measure: 1.3714, to the cent 1.37 (worked example of the trade, arithmetic only).
        let euro: Currency = "EUR".parse().unwrap();
        let cost = UnitCost::new(euro.parse_price("24.00").unwrap(), Amount(700_000)).unwrap();
        assert_eq!(cost.of(Amount(40_000), euro), Money(137));
        assert_eq!(cost.of(Amount(-40_000), euro), Money(-137));
        assert_eq!(UnitCost::new(Price(1), Amount(0)), None);
    }

    #[test]
    fn unit_prices_keep_their_decimals() {
        let euro: Currency = "EUR".parse().unwrap();
        for text in ["1.2345", "12.00", "0.10", "7.5"] {
            let price = euro.parse_price(text).unwrap();
            assert_eq!(euro.parse_price(&price.plain(euro)).unwrap(), price, "{text}");
        }
        assert_eq!(euro.parse_price("7.5").unwrap().plain(euro), "7.50");
        assert_eq!(euro.round(euro.parse_price("1.235").unwrap()), Money(124));
        assert!(euro.parse_price("1.2345678").is_err());
    }

    proptest! {
        #[test]
        fn money_reads_back(minor in -1_000_000_000_i64..1_000_000_000, code in prop_oneof![Just("JPY"), Just("EUR"), Just("TND")]) {
            let currency: Currency = code.parse().unwrap();
            prop_assert_eq!(currency.parse(&currency.plain(Money(minor))), Ok(Money(minor)));
        }
    }
}
