//! How much of something: integers of a base unit, never floats.

use super::{Decimal, DecimalError, decimal, unit};
use serde::{Deserialize, Serialize};
use std::{fmt, iter::Sum, ops};

/// What an item is measured by.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Basis {
    /// Liquids: the base unit is the microlitre.
    Volume,
    /// Dry goods: the base unit is the milligram.
    Mass,
    /// Things that are counted: the base unit is the thousandth of one.
    Each,
}

impl Basis {
    /// The unit a plain file writes this basis in, and the base units in one of it.
    pub fn plain_unit(self) -> (&'static str, u32) {
        match self {
            Basis::Volume => ("ml", 3),
            Basis::Mass => ("g", 3),
            Basis::Each => ("each", 3),
        }
    }

    /// How much a price is usually said for, and how that is called: a litre, a kilogram, a piece.
    pub fn usual_one(self) -> (Amount, &'static str) {
        match self {
            Basis::Volume => (Amount(1_000_000), word!("a litre")),
            Basis::Mass => (Amount(1_000_000), word!("a kilogram")),
            Basis::Each => (Amount(1_000), word!("each")),
        }
    }

    /// In words.
    pub fn word(self) -> &'static str {
        match self {
            Basis::Volume => word!("a volume"),
            Basis::Mass => word!("a mass"),
            Basis::Each => word!("a number"),
        }
    }
}

/// An amount of one item in the base unit of the item's [`Basis`]: µl, mg or thousandths.
///
/// May be negative: a difference, or more sold than was there.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Amount(pub i64);

impl Amount {
    /// Nothing.
    pub const ZERO: Amount = Amount(0);

    /// `self × numerator ÷ denominator`, rounded once, half to even.
    ///
    /// Saturates rather than wraps: no bar holds 9 × 10^18 µl, so a saturated figure is visibly absurd, never subtly wrong.
    pub fn times(self, numerator: i64, denominator: i64) -> Amount {
        if denominator == 0 {
            return Amount::ZERO;
        }
        let (n, d) = if denominator < 0 {
            (-i128::from(numerator), -i128::from(denominator))
        } else {
            (numerator.into(), denominator.into())
        };
        let value = decimal::round_half_even(i128::from(self.0) * n, d);
        Amount(value.clamp(i64::MIN.into(), i64::MAX.into()) as i64)
    }

    /// The amount as a float of base units, for statistics.
    pub fn as_f64(self) -> f64 {
        self.0 as f64
    }

    /// The amount nearest to so many base units.
    pub fn rounded(base_units: f64) -> Amount {
        Amount(base_units.round() as i64)
    }

    /// How many of `size` this is, as a float, for display and statistics.
    pub fn per(self, size: Amount) -> f64 {
        if size.0 == 0 { 0.0 } else { self.0 as f64 / size.0 as f64 }
    }
}

impl ops::Add for Amount {
    type Output = Amount;
    fn add(self, other: Amount) -> Amount {
        Amount(self.0.saturating_add(other.0))
    }
}
impl ops::Sub for Amount {
    type Output = Amount;
    fn sub(self, other: Amount) -> Amount {
        Amount(self.0.saturating_sub(other.0))
    }
}
impl ops::Neg for Amount {
    type Output = Amount;
    fn neg(self) -> Amount {
        Amount(self.0.saturating_neg())
    }
}
impl ops::AddAssign for Amount {
    fn add_assign(&mut self, other: Amount) {
        *self = *self + other;
    }
}
impl ops::SubAssign for Amount {
    fn sub_assign(&mut self, other: Amount) {
        *self = *self - other;
    }
}
impl Sum for Amount {
    fn sum<I: Iterator<Item = Amount>>(parts: I) -> Amount {
        parts.fold(Amount::ZERO, |a, b| a + b)
    }
}

/// An amount together with what it measures: what a quantity string says.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Quantity {
    /// What is measured.
    pub basis: Basis,
    /// How much, in base units.
    pub amount: Amount,
}

/// The customary small measures, whose size a bar settles for itself.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SmallMeasures {
    /// One dash, µl.
    pub dash: Amount,
    /// One barspoon, µl.
    pub barspoon: Amount,
}

impl Default for SmallMeasures {
    /// 0.92 ml (1/32 US fl oz) and 5 ml: custom, texts disagree; measure the ones in use and set them in the book.
    fn default() -> Self {
        SmallMeasures { dash: Amount(920), barspoon: Amount(5_000) }
    }
}

/// Why a quantity string was refused; every variant says what was expected.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum QuantityError {
    /// No digits where the number should be.
    #[error("{}", word!("expected a number and a unit such as 700 ml, 70 cl, 812 g or 3 each"))]
    NoNumber,
    /// The number itself is off.
    #[error(transparent)]
    Number(#[from] DecimalError),
    /// A number alone.
    #[error("{}", say!("expected a unit after the number: one of {expected}", expected))]
    NoUnit {
        /// The units that would do.
        expected: String,
    },
    /// A unit nobody knows.
    #[error("{}", say!("unknown unit “{written}”; expected one of {expected}", written, expected))]
    UnknownUnit {
        /// What was written.
        written: String,
        /// The units that would do.
        expected: String,
    },
    /// A unit of the wrong sort for the item.
    #[error("{}", say!("“{written}” is {what}, but {what_2} is expected here: one of {expected}", written, what = .found.word(), what_2 = .wanted.word(), expected))]
    WrongBasis {
        /// What was written.
        written: String,
        /// What it measures.
        found: Basis,
        /// What the item is measured by.
        wanted: Basis,
        /// The units that would do.
        expected: String,
    },
    /// `oz` where a mass is meant.
    #[error("{}", word!("oz alone is the US fluid ounce, a volume; write a mass in g, kg or lb"))]
    OunceOfMass,
    /// Below zero where only an amount can stand.
    #[error("{}", word!("expected an amount above zero"))]
    NotPositive,
}

impl QuantityError {
    /// The same, naming only the units of what is wanted.
    fn wanting(self, wanted: Basis) -> QuantityError {
        let expected = unit::symbols(Some(wanted));
        match self {
            QuantityError::NoUnit { .. } => QuantityError::NoUnit { expected },
            QuantityError::UnknownUnit { written, .. } => QuantityError::UnknownUnit { written, expected },
            other => other,
        }
    }
}

impl Quantity {
    /// Reads a number and a unit (`700 ml`, `2 imp fl oz`, `1.5kg`), rounded once to the base unit.
    ///
    /// # Errors
    /// [`QuantityError`], which says what was expected.
    pub fn parse(text: &str, small: &SmallMeasures) -> Result<Quantity, QuantityError> {
        let text = text.trim();
        let end =
            text.find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | '-' | '+' | ','))).unwrap_or(text.len());
        let (number, written) = text.split_at(end);
        if number.is_empty() {
            return Err(QuantityError::NoNumber);
        }
        let number = Decimal::parse(number)?;
        let written = written.trim();
        if written.is_empty() {
            return Err(QuantityError::NoUnit { expected: unit::symbols(None) });
        }
        let unit = unit::find(written, small)
            .ok_or_else(|| QuantityError::UnknownUnit { written: written.to_owned(), expected: unit::symbols(None) })?;
        Ok(Quantity { basis: unit.basis, amount: Amount(unit.of(number)?) })
    }

    /// Reads a quantity that must measure `wanted` and be above zero.
    ///
    /// # Errors
    /// As [`Quantity::parse`], and [`QuantityError::WrongBasis`], [`QuantityError::OunceOfMass`] or [`QuantityError::NotPositive`].
    pub fn parse_as(text: &str, wanted: Basis, small: &SmallMeasures) -> Result<Amount, QuantityError> {
        let read = Quantity::parse(text, small).map_err(|refused| refused.wanting(wanted))?;
        if read.basis != wanted {
            let unit_text =
                text.trim().trim_start_matches(|c: char| c.is_ascii_digit() || matches!(c, '.' | '-' | '+')).trim();
            if wanted == Basis::Mass && unit_text.eq_ignore_ascii_case("oz") {
                return Err(QuantityError::OunceOfMass);
            }
            return Err(QuantityError::WrongBasis {
                written: text.trim().to_owned(),
                found: read.basis,
                wanted,
                expected: unit::symbols(Some(wanted)),
            });
        }
        if read.amount <= Amount::ZERO {
            return Err(QuantityError::NotPositive);
        }
        Ok(read.amount)
    }
}

impl fmt::Display for Quantity {
    /// The plain-file form, exact: `700 ml`, `812.5 g`, `3 each`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (symbol, places) = self.basis.plain_unit();
        write!(f, "{} {symbol}", decimal::plain(self.amount.0, places))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn read(text: &str) -> Result<Quantity, QuantityError> {
        Quantity::parse(text, &SmallMeasures::default())
    }

    #[test]
    fn quantity_strings() {
        for (text, basis, amount) in [
            ("700 ml", Basis::Volume, 700_000),
            ("70 cl", Basis::Volume, 700_000),
            ("0.7 l", Basis::Volume, 700_000),
            (".7L", Basis::Volume, 700_000),
            ("2 fl oz", Basis::Volume, 59_147),
            ("2  FL  OZ", Basis::Volume, 59_147),
            ("2 imp fl oz", Basis::Volume, 56_826),
            ("812 g", Basis::Mass, 812_000),
            ("1.5kg", Basis::Mass, 1_500_000),
            ("3 each", Basis::Each, 3_000),
            ("2 dash", Basis::Volume, 1_840),
            ("1 barspoon", Basis::Volume, 5_000),
        ] {
            assert_eq!(read(text), Ok(Quantity { basis, amount: Amount(amount) }), "{text}");
        }
    }

    /// What is larger would be read, but not again once it is written down in millilitres.
    #[test]
    fn no_quantity_is_larger_than_its_plain_form_can_say() {
        let most = read("999999999999.999 ml").unwrap();
        assert_eq!(read(&most.to_string()), Ok(most));
        for text in ["1000000000 l", "999999999999 l", "1000000000 kg", "-1000000000 kg"] {
            assert_eq!(read(text), Err(QuantityError::Number(DecimalError::TooLarge)), "{text}");
        }
    }

    #[test]
    fn refused_quantities_say_what_was_expected() {
        let small = SmallMeasures::default();
        for (text, basis, says) in [
            ("", Basis::Volume, "a number and a unit"),
            ("ml", Basis::Volume, "a number and a unit"),
            ("700", Basis::Volume, "a unit after the number"),
            ("700 mls", Basis::Volume, "unknown unit “mls”"),
            ("700 g", Basis::Volume, "“700 g” is a mass, but a volume"),
            ("2 oz", Basis::Mass, "US fluid ounce"),
            ("0 ml", Basis::Volume, "above zero"),
            ("-5 ml", Basis::Volume, "above zero"),
            ("1,5 l", Basis::Volume, "a number such as"),
        ] {
            let refused = Quantity::parse_as(text, basis, &small).unwrap_err().to_string();
            assert!(refused.contains(says), "{text}: {refused}");
        }
    }

    proptest! {
        #[test]
        fn what_is_shown_reads_back(amount in -9_000_000_000_000_i64..9_000_000_000_000, basis in prop_oneof![Just(Basis::Volume), Just(Basis::Mass), Just(Basis::Each)]) {
            let quantity = Quantity { basis, amount: Amount(amount) };
            prop_assert_eq!(read(&quantity.to_string()), Ok(quantity));
        }

        #[test]
        fn any_text_is_read_or_refused(text in "\\PC{0,30}") {
            let _ = read(&text);
        }

        #[test]
        fn a_part_and_the_rest_are_the_whole(amount in -1_000_000_000_i64..1_000_000_000, n in 0_i64..1_000) {
            let whole = Amount(amount);
            let part = whole.times(n, 1_000);
            let rest = whole - part;
            prop_assert_eq!(part + rest, whole);
            prop_assert!((rest.0 - whole.times(1_000 - n, 1_000).0).abs() <= 1);
        }
    }
}
