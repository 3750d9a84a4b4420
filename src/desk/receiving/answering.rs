//! What of the book a bill may answer.

use super::BACK;
use crate::desk::DeskError;
use crate::domain::ledger::{Delivery, Order, OrderLine};
use crate::domain::measure::{Money, Price};
use crate::domain::receive::{Bill, Candidate, DocumentKind, Documents, Fit, Invoice};
use crate::domain::rows::Answers;
use crate::domain::venue::{ItemId, Moment, OrderId, OrderState, Setup, SupplierId};
use crate::store::{Connection, journal, orders};
use std::cmp::Reverse;
use std::collections::{BTreeMap, HashMap};

/// So many deliveries are tried as those of one bill.
const MOST_PAPERS: usize = 12;

/// What a supplier brought lately, by the papers that it came with.
pub(super) type Papers = BTreeMap<String, Vec<Delivery>>;

/// Reads what a supplier brought lately.
pub(super) fn papers(conn: &Connection, supplier: SupplierId, now: Moment) -> Result<Papers, DeskError> {
    let mut papers = Papers::new();
    for delivery in journal::deliveries(conn, Moment(now.0.saturating_sub(BACK)), now)? {
        if delivery.supplier == supplier {
            papers.entry(delivery.document.clone()).or_default().push(delivery);
        }
    }
    Ok(papers)
}

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
    /// Whether it is what somebody said.
    pub(super) fn is(&self, wanted: &Answers) -> bool {
        match wanted {
            Answers::Delivery(wanted) => self.is_for(wanted),
            other => self.answers == *other,
        }
    }

    fn is_for(&self, wanted: &Documents) -> bool {
        matches!(&self.answers, Answers::Delivery(documents) if documents.is_same(wanted))
    }

    /// Whether nobody need be asked. Of an order somebody says anyway what of it came.
    pub(super) fn is_certain(&self) -> bool {
        self.fit == Fit::Named || matches!(self.answers, Answers::Order(_))
    }
}

/// Everything of the supplier that `invoice` may answer, the likeliest first, and the deliveries that are `wanted`. A credit
/// note answers what was booked, never what is still to come.
pub(super) fn all(
    conn: &Connection,
    setup: &Setup,
    supplier: SupplierId,
    (invoice, charged): (&Invoice, &[(ItemId, i64)]),
    (came, bills): (&Papers, &[Bill]),
    wanted: Option<&Answers>,
) -> Result<Vec<MayAnswer>, DeskError> {
    if invoice.kind == DocumentKind::CreditNote {
        return Ok(Vec::new());
    }
    let mut out: Vec<MayAnswer> = Vec::new();
    for order in orders::list(conn, &[OrderState::Sent])?.into_iter().filter(|order| order.supplier == supplier) {
        let items = items_of(&order);
        let fit = Fit::of(invoice, charged, &Candidate { name: &order.name, items: &items, came: None, billed: false });
        let said = say!("order “{order}”", order = order.name);
        out.push(MayAnswer { answers: Answers::Order(order.id), said, fit, order, cost: HashMap::new() });
    }
    let booked = Booked::all(came, bills);
    out.extend(booked.iter().map(|one| one.may_answer(setup, supplier, invoice, charged)));
    out.extend(collected(setup, supplier, (invoice, charged), &booked));
    if let Some(Answers::Delivery(wanted)) = wanted
        && !out.iter().any(|may| may.is_for(wanted))
    {
        let papers: Vec<&Booked> = booked.iter().filter(|one| wanted.has(one.document)).collect();
        if papers.len() == wanted.each().count() {
            out.extend(together(setup, supplier, &papers, Fit::Shares));
        }
    }
    out.retain(|may| may.fit > Fit::None);
    out.sort_by_cached_key(|may| Reverse((may.fit, equal(charged, &may.order), shared(charged, &may.order))));
    Ok(out)
}

/// How many of the items charged an order has in just those containers.
fn equal(charged: &[(ItemId, i64)], order: &Order) -> usize {
    let items = items_of(order);
    charged.iter().filter(|of| items.contains(of)).count()
}

/// How many of the items charged an order has.
fn shared(charged: &[(ItemId, i64)], order: &Order) -> usize {
    order.lines.iter().filter(|line| charged.iter().any(|(item, _)| *item == line.item)).count()
}

fn items_of(order: &Order) -> Vec<(ItemId, i64)> {
    let mut items: BTreeMap<ItemId, i64> = BTreeMap::new();
    for line in &order.lines {
        let containers = items.entry(line.item).or_default();
        *containers = containers.saturating_add(line.containers());
    }
    items.into_iter().collect()
}

/// A delivery that was booked by its paper; what came with a bill has its bill.
struct Booked<'b> {
    document: &'b str,
    deliveries: &'b [Delivery],
    at: Moment,
    /// The bill that is for it already.
    bill: Option<&'b Bill>,
}

impl<'b> Booked<'b> {
    /// All that came, the newest first.
    fn all(came: &'b Papers, bills: &'b [Bill]) -> Vec<Booked<'b>> {
        let booked = came.iter().filter_map(|(document, deliveries)| {
            let at = deliveries.first()?.at;
            let bill = bills.iter().find(|bill| bill.is_for(document));
            let with_bill = || bills.iter().any(|bill| Bill::is_numbered(&bill.number, document));
            (bill.is_some() || !with_bill()).then_some(Booked { document, deliveries, at, bill })
        });
        let mut out: Vec<Booked<'b>> = booked.collect();
        out.sort_by_key(|one| Reverse(one.at));
        out
    }

    fn may_answer(
        &self,
        setup: &Setup,
        supplier: SupplierId,
        invoice: &Invoice,
        charged: &[(ItemId, i64)],
    ) -> MayAnswer {
        let document = self.document;
        let (order, cost) = as_order(setup, supplier, document, &self.deliveries.iter().collect::<Vec<_>>());
        let items = items_of(&order);
        let came = Some(setup.venue.days.day_of(self.at));
        let candidate = Candidate { name: document, items: &items, came, billed: self.bill.is_some() };
        let has = self.bill.map_or(String::new(), |bill| say!(", which has the bill “{number}”", number = bill.number));
        MayAnswer {
            fit: Fit::of(invoice, charged, &candidate),
            said: say!("booked {at}, “{document}”{has}", at = setup.venue.days.short(self.at), document, has),
            answers: Answers::Delivery(document.to_owned().into()),
            order,
            cost,
        }
    }
}

/// Deliveries without a bill, one after another, of which a bill that was collected over a while charges just what came.
fn collected(
    setup: &Setup,
    supplier: SupplierId,
    (invoice, charged): (&Invoice, &[(ItemId, i64)]),
    booked: &[Booked<'_>],
) -> Vec<MayAnswer> {
    // One that names its paper is for that.
    if invoice.despatch_ref.is_some() {
        return Vec::new();
    }
    let days = setup.venue.days;
    let mut open: Vec<&Booked<'_>> = booked.iter().filter(|one| one.bill.is_none()).collect();
    open.retain(|one| invoice.may_collect(days.day_of(one.at)));
    // The newest come first; a bill goes from the oldest on.
    open.reverse();
    open.truncate(MOST_PAPERS);
    let mut out: Vec<(usize, MayAnswer)> = Vec::new();
    for first in 0..open.len() {
        for last in first + 1..open.len() {
            let papers = &open[first..=last];
            let Some(mut may) = together(setup, supplier, papers, Fit::OfThoseDays) else { continue };
            let each_is_charged = papers.iter().all(|one| {
                one.deliveries.iter().any(|delivery| charged.iter().any(|(item, _)| *item == delivery.item))
            });
            let equal = equal(charged, &may.order);
            // Several that come out to the container are no chance.
            if equal == charged.len() && equal > 1 && invoice.delivered.is_none() {
                may.fit = Fit::OfItsDay;
            }
            // Half of what is charged at least, as of one delivery.
            if each_is_charged && equal * 2 >= charged.len() {
                out.push((equal, may));
            }
        }
    }
    let best = out.iter().map(|(equal, _)| *equal).max().unwrap_or_default();
    out.into_iter().filter(|(equal, _)| *equal == best).map(|(_, may)| may).collect()
}

/// Several deliveries as one.
fn together(setup: &Setup, supplier: SupplierId, papers: &[&Booked<'_>], fit: Fit) -> Option<MayAnswer> {
    let documents = Documents::all(papers.iter().map(|one| one.document.to_owned()).collect())?;
    let name = documents.to_string();
    let deliveries: Vec<&Delivery> = papers.iter().flat_map(|one| one.deliveries).collect();
    let (order, cost) = as_order(setup, supplier, &name, &deliveries);
    let said = |one: &&Booked<'_>| format!("{}, “{}”", setup.venue.days.short(one.at), one.document);
    let said = say!("booked {papers}", papers = papers.iter().map(said).collect::<Vec<_>>().join(word!(", and ")));
    Some(MayAnswer { answers: Answers::Delivery(documents), said, fit, order, cost })
}

/// A delivery in the form of an order, and what its items were booked at.
fn as_order(
    setup: &Setup,
    supplier: SupplierId,
    document: &str,
    deliveries: &[&Delivery],
) -> (Order, HashMap<ItemId, Money>) {
    let currency = setup.venue.currency;
    let came = || deliveries.iter().filter(|delivery| delivery.containers > 0);
    let line = |delivery: &&Delivery| OrderLine {
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
