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

/// What is charged or taken off for the whole bill besides deposits, each under the name that the bill gives it. What has
/// none is one sum of `charges` and one of `allowances`.
pub fn named_charges(invoice: &Invoice, currency: Currency) -> Vec<(String, Money)> {
    let mut out: Vec<(String, Money)> = Vec::new();
    for (charge, part) in invoice.charges.iter().zip(apart(invoice, currency)).filter(|(_, part)| !part.deposit) {
        let unnamed = if charge.charge { word!("charges") } else { word!("allowances") };
        let why = part.why.split_whitespace().collect::<Vec<_>>().join(" ");
        let why = if why.is_empty() { unnamed.to_owned() } else { why };
        match out.iter_mut().find(|(had, _)| name_key(had) == name_key(&why)) {
            Some((_, sum)) => *sum += part.amount,
            None => out.push((why, part.amount)),
        }
    }
    out.retain(|(_, sum)| *sum != Money::ZERO);
    out
}

/// The order that a bill says it answers, by its name.
pub fn named_order<'a>(invoice: &Invoice, orders: &'a [Order]) -> Option<&'a Order> {
    let named = name_key(invoice.order_ref.as_deref()?);
    orders.iter().find(|order| name_key(&order.name) == named)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::receive::sample::{bill, charge};

    #[test]
    fn what_is_charged_for_all_of_a_bill_goes_by_the_name_that_the_bill_gives_it() {
        let mut invoice = bill(Vec::new());
        let unnamed = |mut charge: Charge| {
            charge.reason = None;
            charge
        };
        invoice.charges = vec![
            charge(true, "12.50", "Freight"),
            charge(false, "5", "Loyalty  bonus"),
            charge(true, "30", "Keg deposit"),
            charge(true, "2", "freight"),
            unnamed(charge(true, "1", "")),
            unnamed(charge(false, "3", "")),
        ];
        let said = |invoice: &Invoice| {
            let euro: Currency = "EUR".parse().unwrap();
            named_charges(invoice, euro)
                .into_iter()
                .map(|(why, sum)| format!("{why} {}", euro.shown(sum)))
                .collect::<Vec<_>>()
        };
        assert_eq!(said(&invoice), ["Freight 14.50", "Loyalty bonus -5.00", "charges 1.00", "allowances -3.00"]);
        invoice.kind = super::super::DocumentKind::CreditNote;
        assert_eq!(said(&invoice)[0], "Freight -14.50");
    }
}
