//! What is charged for the whole bill, and money as bills have it.

use super::deposit::is_deposit;
use super::invoice::{Charge, Invoice};
use crate::domain::ledger::Order;
use crate::domain::measure::{Currency, Decimal, Money};
use crate::domain::venue::name_key;

/// A figure of the bill in minor units of the book's coin, rounded half to even where it has more decimals.
pub(super) fn money(amount: Decimal, currency: Currency) -> Money {
    Money(amount.scaled(10_i128.pow(currency.decimals()), 1).unwrap_or(if amount.sign() < 0 {
        i64::MIN
    } else {
        i64::MAX
    }))
}

/// Whether a charge of a line or of the whole bill is a deposit.
pub(super) fn charges_deposit(charge: &Charge) -> bool {
    charge.reason.as_deref().is_some_and(is_deposit)
}

/// Something that is charged or taken off for the whole bill: freight, a bonus, a deposit.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct Apart {
    /// Why, as the bill says; empty when it does not.
    pub why: String,
    /// How much without tax; below zero when it is taken off.
    pub amount: Money,
    /// A deposit on what goes back, by its name: never shared out over the goods.
    pub deposit: bool,
}

/// What is charged or taken off for the whole bill.
pub fn apart(invoice: &Invoice, currency: Currency) -> Vec<Apart> {
    let of = |charge: &Charge| Apart {
        why: charge.reason.clone().unwrap_or_default(),
        amount: Money(money(charge.adds(), currency).0.saturating_mul(invoice.sign())),
        deposit: charges_deposit(charge),
    };
    invoice.charges.iter().map(of).collect()
}

/// The order that a bill says it answers, by its name.
pub fn named_order<'a>(invoice: &Invoice, orders: &'a [Order]) -> Option<&'a Order> {
    let named = name_key(invoice.order_ref.as_deref()?);
    orders.iter().find(|order| name_key(&order.name) == named)
}
