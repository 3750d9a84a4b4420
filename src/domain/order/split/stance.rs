//! How an order may stand with a supplier: below which value of goods it may not be, and what delivery costs then.

use super::Terms;
use crate::domain::measure::Money;

/// Thousandths of a minor unit in one.
pub(super) const THOUSAND: i64 = 1_000;

/// One way for an order to stand with a supplier. That fewer goods than `free_from` are needed for a fee to be paid is
/// not asked for: whoever reaches it pays nothing in the other stance.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Stance {
    /// The goods are worth at least this, in minor units.
    pub(super) floor: i64,
    /// The fee, in thousandths of a minor unit.
    pub(super) fee: i64,
}

/// The stances that terms allow besides no order at all; none where nothing is asked for.
pub(super) fn stances(terms: &Terms) -> Vec<Stance> {
    let amount = |of: Option<Money>| of.map_or(0, |money| money.0);
    let (minimum, fee) = (amount(terms.minimum), amount(terms.fee).saturating_mul(THOUSAND));
    let free = Stance { floor: minimum.max(amount(terms.free_from)), fee: 0 };
    let paid = Stance { floor: minimum, fee };
    match terms.free_from {
        _ if fee == 0 && minimum == 0 => Vec::new(),
        _ if fee == 0 => vec![paid],
        None => vec![paid],
        // An order has goods above zero, so that this is as good as no fee.
        Some(from) if from.0 <= 0 && minimum == 0 => Vec::new(),
        Some(from) if from.0 <= minimum => vec![free],
        Some(_) => vec![paid, free],
    }
}
