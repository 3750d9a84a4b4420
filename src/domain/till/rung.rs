//! What was rung under a name.

use crate::domain::measure::Money;
use crate::domain::venue::Moment;

/// What was rung under one till name over a stretch of time, leaving out what was never made.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, serde::Serialize)]
pub struct RungAs {
    /// Lines rung.
    pub lines: i64,
    /// Those of them with a quantity: the others are money alone, such as a discount.
    pub goods: i64,
    /// How many, in thousandths.
    pub quantity: i64,
    /// Net of tax.
    pub net: Money,
    /// When it was last rung.
    pub last: Moment,
}

impl RungAs {
    /// Net price of one, for comparing with the menu; none where nothing was rung or for nothing.
    pub fn each(&self) -> Option<Money> {
        (self.quantity > 0 && self.net > Money::ZERO).then(|| self.net.times(1_000, self.quantity))
    }
}
