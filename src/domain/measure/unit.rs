//! The units a person may write, in one table: parsing, formatting and the documentation walk it.

use super::{Basis, DecimalError, SmallMeasures};

/// A unit of the trade and what one of it is in base units, as an exact fraction.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Unit {
    /// How it is written.
    pub symbol: &'static str,
    /// What it measures.
    pub basis: Basis,
    /// Base units in one of it, numerator.
    pub numerator: i128,
    /// Base units in one of it, denominator.
    pub denominator: i128,
}

/// Every unit with a fixed size.
///
/// US fluid ounce 29.5735295625 ml, imperial fluid ounce 28.4130625 ml, avoirdupois pound and ounce: exact, NIST
/// Handbook 44 appendix C and SP 811 appendix B.
pub const UNITS: &[Unit] = &[
    unit("ml", Basis::Volume, 1_000, 1),
    unit("cl", Basis::Volume, 10_000, 1),
    unit("dl", Basis::Volume, 100_000, 1),
    unit("l", Basis::Volume, 1_000_000, 1),
    unit("fl oz", Basis::Volume, 295_735_295_625, 10_000_000),
    unit("imp fl oz", Basis::Volume, 284_130_625, 10_000),
    unit("oz", Basis::Volume, 295_735_295_625, 10_000_000),
    unit("mg", Basis::Mass, 1, 1),
    unit("g", Basis::Mass, 1_000, 1),
    unit("kg", Basis::Mass, 1_000_000, 1),
    unit("lb", Basis::Mass, 45_359_237, 100),
    unit("each", Basis::Each, 1_000, 1),
];

const fn unit(symbol: &'static str, basis: Basis, numerator: i128, denominator: i128) -> Unit {
    Unit { symbol, basis, numerator, denominator }
}

/// Finds a unit by the way it is written; case does not matter, inner blanks are folded.
///
/// `dash` and `barspoon` are customs, not standards (common practice, no source): their size comes from the book.
pub fn find(written: &str, small: &SmallMeasures) -> Option<Unit> {
    let folded = written.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase();
    match folded.as_str() {
        "dash" | "dashes" => Some(unit("dash", Basis::Volume, i128::from(small.dash.0), 1)),
        "barspoon" | "barspoons" => Some(unit("barspoon", Basis::Volume, i128::from(small.barspoon.0), 1)),
        name => UNITS.iter().copied().find(|u| u.symbol == name),
    }
}

/// The symbols that measure `basis` (or all of them), for an error that says what was expected.
pub fn symbols(basis: Option<Basis>) -> String {
    let mut names: Vec<&str> = UNITS.iter().filter(|u| basis.is_none_or(|b| u.basis == b)).map(|u| u.symbol).collect();
    if basis.is_none_or(|b| b == Basis::Volume) {
        names.extend(["dash", "barspoon"]);
    }
    names.join(", ")
}

/// Base units that are no quantity any more: twelve digits before the point and three after it, which is what
/// [`super::Decimal::parse`] reads of the units in which a quantity is written down. A million cubic metres.
const MOST: u64 = 1_000_000_000_000_000;

impl Unit {
    /// `number` of this unit in base units.
    ///
    /// # Errors
    /// [`DecimalError::TooLarge`] when it does not fit, or is more than the plain form of a quantity could say again.
    pub fn of(self, number: super::Decimal) -> Result<i64, DecimalError> {
        let units = number.scaled(self.numerator, self.denominator)?;
        if units.unsigned_abs() < MOST { Ok(units) } else { Err(DecimalError::TooLarge) }
    }
}
