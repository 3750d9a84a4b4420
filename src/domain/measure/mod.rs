//! Quantities and money: exact types, their arithmetic, parsing and formatting.

pub mod decimal;
mod money;
mod number_of;
mod quantity;
mod show;
mod strength;
pub mod unit;

pub use decimal::{Decimal, DecimalError};
pub use money::{Currency, CurrencyError, ExactCost, Money, MoneyError, Price, UnitCost};
pub use number_of::number_of;
pub use quantity::{Amount, Basis, Quantity, QuantityError, SmallMeasures};
pub use show::{HIDDEN, Show, VolumeUnit};
pub use strength::{Density, Strength, StrengthError, Sugar};
