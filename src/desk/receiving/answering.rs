//! What of the book a bill may answer.

use super::BACK;
use crate::desk::DeskError;
use crate::domain::ledger::{Delivery, Order, OrderLine};
use crate::domain::measure::{Money, Price};
use crate::domain::receive::{Bill, Candidate, DocumentKind, Fit, Invoice};
use crate::domain::rows::Answers;
use crate::domain::venue::{ItemId, Moment, OrderId, OrderState, Setup, SupplierId, name_key};
use crate::store::{Connection, journal, orders};
use std::cmp::Reverse;
use std::collections::{BTreeMap, HashMap};

/// Something that a bill may answer.
pub(super) struct MayAnswer {
    pub(super) answers: Answers,
    /// What it is, in words.
    pub(super) said: String,
    /// How well the bill answers it.
    pub(super) fit: Fit,
    /// It, or a delivery in the form of an order; a price in that is of one container, rounded to the coin.
    pub(super) order: Order,
    /// What the items of a delivery were booked at, rounded once for each line.
    pub(super) cost: HashMap<ItemId, Money>,
}

impl MayAnswer {
    /// Whether nobody need be asked. Of an order somebody says anyway what of it came.
    pub(super) fn is_certain(&self) -> bool {
        self.fit == Fit::Named || matches!(self.answers, Answers::Order(_))
    }
}

/// Everything of the supplier that `invoice` may answer, the likeliest first. A credit note answers what was booked, never
/// what is still to come.
pub(super) fn all(
    conn: &Connection,
    setup: &Setup,
    supplier: SupplierId,
    invoice: &Invoice,
    charged: &[(ItemId, i64)],
    bills: &[&Bill],
    now: Moment,
) -> Result<Vec<MayAnswer>, DeskError> {
    if invoice.kind == DocumentKind::CreditNote {
        return Ok(Vec::new());
    }
    let mut out: Vec<MayAnswer> = Vec::new();
    for order in orders::list(conn, &[OrderState::Sent])?.into_iter().filter(|order| order.supplier == supplier) {
        let items = items_of(&order);
        let fit = Fit::of(invoice, charged, &Candidate { name: &order.name, items: &items, came: None, billed: false });
        let said = format!("order “{}”", order.name);
        out.push(MayAnswer { answers: Answers::Order(order.id), said, fit, order, cost: HashMap::new() });
    }
    out.extend(deliveries(conn, setup, supplier, invoice, charged, bills, now)?);
    out.retain(|may| may.fit > Fit::None);
    out.sort_by_key(|may| Reverse((may.fit, shared(charged, &may.order))));
    Ok(out)
}

/// How many of the items charged an order has.
fn shared(charged: &[(ItemId, i64)], order: &Order) -> usize {
    order.lines.iter().filter(|line| charged.iter().any(|(item, _)| *item == line.item)).count()
}

fn items_of(order: &Order) -> Vec<(ItemId, i64)> {
    let mut items: BTreeMap<ItemId, i64> = BTreeMap::new();
    for line in &order.lines {
        let containers = items.entry(line.item).or_default();
        *containers = containers.saturating_add(line.packs.saturating_mul(line.pack));
    }
    items.into_iter().collect()
}

/// Deliveries that were booked by their paper, the newest first; what came with a bill has its bill.
fn deliveries(
    conn: &Connection,
    setup: &Setup,
    supplier: SupplierId,
    invoice: &Invoice,
    charged: &[(ItemId, i64)],
    bills: &[&Bill],
    now: Moment,
) -> Result<Vec<MayAnswer>, DeskError> {
    let answered_by = |document: &str| {
        bills.iter().find(|bill| bill.delivery.as_deref().is_some_and(|had| name_key(had) == name_key(document)))
    };
    let mut by_document: BTreeMap<String, Vec<Delivery>> = BTreeMap::new();
    for delivery in journal::deliveries(conn, Moment(now.0.saturating_sub(BACK)), now)? {
        let with_bill = bills.iter().any(|bill| Bill::is_numbered(&bill.number, &delivery.document));
        if delivery.supplier == supplier && (!with_bill || answered_by(&delivery.document).is_some()) {
            by_document.entry(delivery.document.clone()).or_default().push(delivery);
        }
    }
    let mut out: Vec<MayAnswer> = Vec::new();
    for (document, deliveries) in by_document {
        let days = setup.venue.days;
        let (order, cost) = as_order(setup, supplier, &document, &deliveries);
        let Some(at) = order.placed else { continue };
        let bill = answered_by(&document);
        let items = items_of(&order);
        let candidate =
            Candidate { name: &document, items: &items, came: Some(days.day_of(at)), billed: bill.is_some() };
        let has = bill.map_or(String::new(), |bill| format!(", which has the bill “{}”", bill.number));
        out.push(MayAnswer {
            fit: Fit::of(invoice, charged, &candidate),
            said: format!("booked {}, “{document}”{has}", days.short(at)),
            answers: Answers::Delivery(document),
            order,
            cost,
        });
    }
    out.sort_by_key(|may| Reverse(may.order.placed));
    Ok(out)
}

/// A delivery in the form of an order, and what its items were booked at.
fn as_order(
    setup: &Setup,
    supplier: SupplierId,
    document: &str,
    deliveries: &[Delivery],
) -> (Order, HashMap<ItemId, Money>) {
    let currency = setup.venue.currency;
    let came = || deliveries.iter().filter(|delivery| delivery.containers > 0);
    let line = |delivery: &Delivery| OrderLine {
        line: delivery.line,
        item: delivery.item,
        packs: delivery.containers,
        pack: 1,
        price: currency.round(delivery.unit_price),
    };
    let order = Order {
        id: OrderId(0),
        name: document.to_owned(),
        supplier,
        state: OrderState::Received,
        placed: deliveries.first().map(|delivery| delivery.at),
        expected: None,
        lines: came().map(line).collect(),
    };
    let mut cost: HashMap<ItemId, Money> = HashMap::new();
    for delivery in came() {
        let whole = Price(delivery.unit_price.0.saturating_mul(delivery.containers));
        *cost.entry(delivery.item).or_default() += currency.round(whole);
    }
    (order, cost)
}
