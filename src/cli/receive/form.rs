//! A bill as JSON.

use super::page::{goods, marks, price};
use crate::cli::figures::Figures;
use crate::cli::json::{self, FORM, MoneyForm};
use crate::domain::receive::{AgainstLine, Status, Weight};
use crate::domain::rows::{Answers, BillBooked, BillView};
use crate::domain::venue::ItemId;
use serde::Serialize;

/// A bill as JSON.
#[derive(Debug, Serialize)]
pub(super) struct BillForm {
    form: u32,
    file: String,
    kind: &'static str,
    number: String,
    issued: String,
    due: Option<String>,
    delivered: Option<String>,
    order_reference: Option<String>,
    preceding: Vec<String>,
    currency: String,
    seller: String,
    seller_vat_id: Option<String>,
    supplier: Option<String>,
    answers: String,
    answers_kind: &'static str,
    answers_certain: bool,
    booked_before: Option<String>,
    problems: Vec<ProblemForm>,
    lines: Vec<LineForm>,
    items: Vec<ItemForm>,
    goods: MoneyForm,
    deposits: MoneyForm,
    freight: MoneyForm,
    charges: Vec<ChargeForm>,
    freight_shared: bool,
    not_stock: MoneyForm,
    claims: Vec<ClaimForm>,
    booked: Option<BookedForm>,
}

/// Something about a bill, as JSON.
#[derive(Debug, Serialize)]
struct ProblemForm {
    weight: &'static str,
    line: Option<String>,
    what: String,
}

/// A line of a bill, as JSON; its figures as the file has them.
#[derive(Debug, Serialize)]
struct LineForm {
    line: String,
    name: String,
    code: Option<String>,
    gtin: Option<String>,
    quantity: String,
    unit: String,
    price: Option<String>,
    net: String,
    tax_percent: Option<String>,
    is: &'static str,
    item: Option<String>,
    containers: Option<i64>,
    unit_price: Option<String>,
    how: Option<String>,
    question: Option<String>,
    likely: Vec<String>,
}

/// An item of a bill beside its order, as JSON.
#[derive(Debug, Serialize)]
struct ItemForm {
    item: String,
    ordered: Option<i64>,
    ordered_unit_price: Option<String>,
    charged: Option<i64>,
    charged_unit_price: Option<String>,
    came: Option<i64>,
    marks: Vec<&'static str>,
    place: Option<String>,
}

/// Something charged or taken off for the whole bill, as JSON.
#[derive(Debug, Serialize)]
struct ChargeForm {
    why: String,
    money: MoneyForm,
}

/// A claim, as JSON.
#[derive(Debug, Serialize)]
pub(super) struct ClaimForm {
    pub(super) supplier: Option<String>,
    pub(super) document: String,
    pub(super) item: Option<String>,
    pub(super) why: &'static str,
    pub(super) containers: i64,
    pub(super) money: MoneyForm,
    pub(super) words: String,
}

/// What booking brought, as JSON.
#[derive(Debug, Serialize)]
struct BookedForm {
    deliveries: usize,
    prices_corrected: usize,
    claims: usize,
    claims_settled: usize,
    claims_reduced: usize,
    claims_left_open: usize,
    rest_on_order: Option<String>,
}

pub(super) fn form(view: &BillView, booked: Option<&BillBooked>) -> BillForm {
    let figures = Figures { setup: &view.setup };
    let currency = view.setup.venue.currency;
    let money = |amount| json::money(amount, currency);
    let invoice = &view.file.invoice;
    let (answers, answers_kind) = match view.answered() {
        Answers::Order(_) => (view.orders.first().map(|o| o.name.clone()).unwrap_or_default(), "order"),
        Answers::Delivery(documents) => (documents.to_string(), "delivery"),
        Answers::Nothing => (String::new(), "nothing"),
    };
    let claim = |claim: crate::domain::receive::Claim| ClaimForm {
        supplier: view.supplier.and_then(|id| view.setup.supplier(id)).map(|s| s.name.clone()),
        document: invoice.number.clone(),
        item: Some(figures.name(claim.item)),
        why: claim.kind.word(),
        containers: claim.containers,
        money: money(claim.money),
        words: claim.words,
    };
    BillForm {
        form: FORM,
        file: view.file.print.name.clone(),
        kind: invoice.kind.word(),
        number: invoice.number.clone(),
        issued: invoice.issued.to_string(),
        due: invoice.due.map(|day| day.to_string()),
        delivered: invoice.delivered.map(|day| day.to_string()),
        order_reference: invoice.order_ref.clone(),
        preceding: invoice.preceding.clone(),
        currency: invoice.currency.clone(),
        seller: invoice.seller.name.clone(),
        seller_vat_id: invoice.seller.vat_id.clone(),
        supplier: view.supplier.and_then(|id| view.setup.supplier(id)).map(|s| s.name.clone()),
        answers,
        answers_kind,
        answers_certain: view.certain,
        booked_before: view.before.as_ref().map(|bill| json::time(&view.setup.venue.days, bill.at)),
        problems: view
            .problems
            .iter()
            .map(|problem| ProblemForm {
                weight: match problem.weight {
                    Weight::Refused => "refused",
                    Weight::Question => "question",
                    Weight::Note => "note",
                },
                line: problem.line.and_then(|line| invoice.lines.get(line)).map(|line| line.id.clone()),
                what: problem.what.clone(),
            })
            .collect(),
        lines: (0..invoice.lines.len()).map(|line| line_form(view, line, figures)).collect(),
        items: view.against.lines.iter().map(|line| item_form(line, figures)).collect(),
        goods: money(goods(view)),
        deposits: money(view.deposits()),
        freight: money(view.charges),
        charges: view.named_charges().into_iter().map(|(why, sum)| ChargeForm { why, money: money(sum) }).collect(),
        freight_shared: view.spread,
        not_stock: money(view.against.not_stock),
        claims: view.against.claims(&view.setup).into_iter().map(claim).collect(),
        booked: booked.map(|booked| BookedForm {
            deliveries: booked.deliveries,
            prices_corrected: booked.corrected,
            claims: booked.claims,
            claims_settled: booked.settled,
            claims_reduced: booked.reduced,
            claims_left_open: booked.unsettled,
            rest_on_order: booked.rest.clone(),
        }),
    }
}

fn line_form(view: &BillView, line: usize, figures: Figures) -> LineForm {
    let billed = &view.file.invoice.lines[line];
    let status = view.matched.iter().find(|matched| matched.line == line).map(|matched| &matched.status);
    let (mut is, mut item, mut containers, mut unit_price) = ("unread", None, None, None);
    let (mut how, mut question, mut likely) = (None, None, Vec::new());
    match status {
        Some(Status::Found { item: found, containers: n, unit_price: each, how: words, .. }) => {
            (is, item, containers) = ("item", Some(*found), Some(*n));
            unit_price = Some(price(figures, *each));
            how = Some(words.clone());
        }
        Some(Status::Deposit { .. }) => is = "deposit",
        Some(Status::NotStock { .. }) => is = "not-stock",
        Some(Status::Question { why, item: found, perhaps, likely: may, .. }) => {
            (is, item, containers, question) = ("question", *found, *perhaps, Some(why.clone()));
            likely = may.iter().map(|likely| figures.name(likely.item)).collect();
        }
        None => {}
    }
    let show = |d: crate::domain::measure::Decimal| d.to_string();
    LineForm {
        line: billed.id.clone(),
        name: billed.name.clone(),
        code: billed.seller_code.clone(),
        gtin: billed.gtin.clone(),
        quantity: show(billed.quantity),
        unit: billed.unit.clone(),
        price: billed.price.map(show),
        net: show(billed.net),
        tax_percent: billed.tax_rate.map(show),
        is,
        item: item.map(|item: ItemId| figures.name(item)),
        containers,
        unit_price,
        how,
        question,
        likely,
    }
}

fn item_form(line: &AgainstLine, figures: Figures) -> ItemForm {
    let currency = figures.setup.venue.currency;
    ItemForm {
        item: figures.name(line.item),
        ordered: line.ordered.map(|ordered| ordered.containers),
        ordered_unit_price: line.ordered.map(|ordered| price(figures, ordered.price(currency))),
        charged: line.invoiced.as_ref().map(|invoiced| invoiced.containers),
        charged_unit_price: line.invoiced.as_ref().map(|i| price(figures, i.booked_price(currency))),
        came: line.came,
        marks: marks(line),
        place: line.place.map(|place| figures.setup.place_name(place).to_owned()),
    }
}
