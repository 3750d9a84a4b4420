//! From what a serve costs to what it is sold for, and back.

use crate::domain::measure::{Currency, ExactCost, Money};
use crate::domain::venue::Venue;

/// Ten thousand hundredths of a percent are the whole.
const WHOLE: i64 = 10_000;

/// What is left of a menu price without tax (hundredths of a percent), to the nearest coin.
pub fn net(price: Money, tax: Option<i64>, venue: &Venue) -> Money {
    match tax.filter(|_| venue.prices_include_tax) {
        Some(tax) => price.times(WHOLE, WHOLE + tax),
        None => price,
    }
}

/// Pour cost: cost ÷ price without tax; nothing where the price is zero.
pub fn pour_cost(cost: ExactCost, net: Money, currency: Currency) -> Option<f64> {
    (net > Money::ZERO).then(|| cost.minor(currency) / net.0 as f64)
}

/// The menu price at which a cost is a share (`target`, hundredths of a percent) of the price without tax: cost ÷ target,
/// with tax where menu prices have it, up to the next step of the menu; nothing for a target of zero.
pub fn for_target(cost: ExactCost, target: i64, tax: Option<i64>, venue: &Venue) -> Option<Money> {
    if target <= 0 {
        return None;
    }
    let with_tax = tax.filter(|_| venue.prices_include_tax).unwrap_or(0);
    let exact = cost.minor(venue.currency) * WHOLE as f64 / target as f64 * (WHOLE + with_tax) as f64 / WHOLE as f64;
    Some(stepped(exact, venue.price_step))
}

/// Up to the next step of the menu; a price that hits it but for the last bits of a float is not raised.
fn stepped(exact: f64, step: Money) -> Money {
    let step = step.0.max(1);
    let steps = (exact / step as f64 - 1e-9).ceil().max(0.0);
    Money((steps as i64).saturating_mul(step))
}
