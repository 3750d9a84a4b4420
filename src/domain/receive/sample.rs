//! Bills for tests.

use super::{Charge, DocumentKind, Invoice, InvoiceLine, Party, Totals};
use crate::domain::measure::Decimal;

fn number(text: &str) -> Decimal {
    Decimal::parse(text).unwrap()
}

pub(crate) fn line(id: &str, name: &str, quantity: &str, unit: &str, price: &str, net: &str) -> InvoiceLine {
    InvoiceLine {
        id: id.to_owned(),
        quantity: number(quantity),
        unit: unit.to_owned(),
        price: Some(number(price)),
        base_quantity: Decimal::ONE,
        base_unit: None,
        net: number(net),
        gross_price: None,
        price_discount: None,
        charges: Vec::new(),
        name: name.to_owned(),
        description: None,
        seller_code: None,
        buyer_code: None,
        gtin: None,
        order_line: None,
        tax_category: Some("S".to_owned()),
        tax_rate: Some(number("19")),
    }
}

pub(crate) fn charge(charge: bool, amount: &str, reason: &str) -> Charge {
    Charge {
        charge,
        amount: number(amount),
        reason: Some(reason.to_owned()),
        reason_code: None,
        percent: None,
        base: None,
        tax_category: None,
        tax_rate: None,
    }
}

/// A bill of the tenth of March 2026 in euros, with the sum of its lines.
pub(crate) fn bill(lines: Vec<InvoiceLine>) -> Invoice {
    let sum = lines.iter().try_fold(Decimal::ZERO, |sum, line| sum.plus(line.net));
    Invoice {
        kind: DocumentKind::Invoice,
        type_code: "380".to_owned(),
        number: "R-26-0318".to_owned(),
        issued: "2026-03-10".parse().unwrap(),
        due: None,
        currency: "EUR".to_owned(),
        order_ref: None,
        despatch_ref: None,
        delivered: None,
        preceding: Vec::new(),
        seller: Party { name: "Quendelbach".to_owned(), ..Party::default() },
        buyer: Party::default(),
        lines,
        left_out: Vec::new(),
        charges: Vec::new(),
        taxes: Vec::new(),
        totals: Totals { lines: sum, ..Totals::default() },
        profile: "urn:cen.eu:en16931:2017".to_owned(),
    }
}
