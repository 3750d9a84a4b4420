//! What a supplier's codes stand for, once somebody said so.

use super::invoice::InvoiceLine;
use super::keys::CodeKey;
use crate::domain::measure::Decimal;
use crate::domain::venue::{ItemId, SupplierId, name_key};
use std::fmt;

/// Containers in one unit of a bill, as an exact fraction in its lowest terms, above zero.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Rate {
    /// Containers.
    pub numerator: i64,
    /// In so many units.
    pub denominator: i64,
}

impl Rate {
    /// So many containers in so many units; `None` unless both are above zero.
    pub fn new(containers: i64, units: i64) -> Option<Rate> {
        if containers <= 0 || units <= 0 {
            return None;
        }
        let (mut a, mut b) = (containers, units);
        while b != 0 {
            (a, b) = (b, a % b);
        }
        Some(Rate { numerator: containers / a, denominator: units / a })
    }

    /// So many containers in one; `many` must be above zero.
    pub(super) fn whole(many: i64) -> Rate {
        Rate { numerator: many, denominator: 1 }
    }

    /// The rate at which `quantity` units are so many containers, whatever their signs; `None` when one of the two is zero
    /// or the fraction does not fit.
    pub fn of(containers: i64, quantity: Decimal) -> Option<Rate> {
        let (top, bottom) = quantity.size().fraction();
        let top = i64::try_from(top).ok()?;
        let bottom = i64::try_from(bottom).ok()?;
        Rate::new(containers.checked_abs()?.checked_mul(bottom)?, top)
    }

    /// So many units in containers, if that is a whole number.
    pub fn times(self, quantity: Decimal) -> Option<i64> {
        let (top, bottom) = quantity.fraction();
        let top = top.checked_mul(self.numerator.into())?;
        let bottom = bottom.checked_mul(self.denominator.into())?;
        (top % bottom == 0).then(|| i64::try_from(top / bottom).ok()).flatten()
    }

    pub(super) fn times_many(self, many: i64) -> Option<Rate> {
        Rate::new(self.numerator.checked_mul(many)?, self.denominator)
    }
}

impl fmt::Display for Rate {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.denominator {
            1 => write!(f, "{}", self.numerator),
            denominator => f.write_str(&say!("{numerator} in {denominator}", numerator = self.numerator, denominator)),
        }
    }
}

/// What a supplier's code stands for, once somebody said so.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Means {
    /// An item, and how many containers of it one unit is.
    Item {
        /// Which.
        item: ItemId,
        /// Containers in one unit.
        rate: Rate,
    },
    /// A deposit on what goes back.
    Deposit,
    /// Nothing that is stocked.
    NotStock,
}

/// A code that somebody explained.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KnownCode {
    /// Whose code.
    pub supplier: SupplierId,
    /// Which.
    pub key: CodeKey,
    /// The unit it was explained in, as the bill had it.
    pub unit: String,
    /// What it stands for.
    pub means: Means,
}

impl KnownCode {
    /// Whether it explains the same code in the same unit, whatever it means.
    pub fn is_of(&self, other: &KnownCode) -> bool {
        let of = |known: &KnownCode| (known.supplier, known.key.clone(), name_key(&known.unit));
        of(self) == of(other)
    }

    /// What is to be remembered of a line that somebody explained; `None` when it has nothing to be known again by.
    pub fn learned(supplier: SupplierId, line: &InvoiceLine, means: Means) -> Option<KnownCode> {
        Some(KnownCode { supplier, key: CodeKey::of(line)?, unit: line.unit.trim().to_owned(), means })
    }
}
