//! What is on its way, what is to be claimed, which bills were booked last; and taking one of them back.

use super::Args;
use super::form::ClaimForm;
use crate::cli::figures::{Figures, UNKNOWN};
use crate::cli::json::{self, FORM, MoneyForm};
use crate::cli::page::Page;
use crate::cli::table::{Set, Table};
use crate::cli::{Refusal, Shared, find};
use crate::clock;
use crate::desk::book::Store;
use crate::desk::{comparing, ordering, receiving};
use crate::domain::measure::{decimal, number_of};
use crate::domain::receive::Bill;
use serde::Serialize;

/// Bills that are listed.
const LATELY: u32 = 10;
/// Orders and claims that are printed; all of them stand in the JSON.
pub(super) const PRINTED: usize = 20;

/// How many more there are than are printed.
fn more(page: &mut Page, all: usize, one: &str, several: &str) {
    if let Some(left) = all.checked_sub(PRINTED).filter(|left| *left > 0) {
        page.line(format!("and {} more; --json has all.", number_of(left, one, several)));
    }
}

/// What taking a bill back changed, as JSON.
#[derive(Debug, Serialize)]
struct TakenBackForm {
    form: u32,
    number: String,
    deliveries: usize,
    into_stock_again: usize,
    prices_restored: usize,
    claims_dropped: usize,
    claims_reopened: usize,
    on_order_again: Option<String>,
    order_stays_done: Option<String>,
}

/// What is on its way, what is to be claimed and which bills were booked last, as JSON.
#[derive(Debug, Serialize)]
struct OpenForm {
    form: u32,
    on_order: Vec<OnOrderForm>,
    claims: Vec<ClaimForm>,
    booked: Vec<BookedBillForm>,
}

/// A bill that was booked, as JSON.
#[derive(Debug, Serialize)]
struct BookedBillForm {
    supplier: String,
    number: String,
    kind: &'static str,
    issued: String,
    goods: MoneyForm,
    payable: Option<MoneyForm>,
    booked: String,
    by: Option<String>,
}

/// An order on its way, as JSON.
#[derive(Debug, Serialize)]
struct OnOrderForm {
    name: String,
    supplier: String,
    comes: Option<String>,
    lines: usize,
}

pub(super) fn open(store: &Store, json: bool) -> Result<String, Refusal> {
    let setup = comparing::setup(store)?;
    let figures = Figures { setup: &setup };
    let sent = ordering::receivable(store, &setup)?;
    let claims = receiving::open_claims(store)?;
    let booked = receiving::newest(store, LATELY)?;
    let supplier = |id| setup.supplier(id).map_or(UNKNOWN, |s| &s.name).to_owned();
    if json {
        return json::text(&OpenForm {
            form: FORM,
            on_order: sent
                .iter()
                .map(|view| OnOrderForm {
                    name: view.order.name.clone(),
                    supplier: supplier(view.order.supplier),
                    comes: view.order.expected.map(|day| day.to_string()),
                    lines: view.lines.len(),
                })
                .collect(),
            claims: claims
                .iter()
                .map(|claim| ClaimForm {
                    supplier: Some(supplier(claim.supplier)),
                    document: claim.document.clone(),
                    item: claim.item.map(|item| figures.name(item)),
                    why: claim.kind.word(),
                    containers: claim.containers,
                    money: json::money(claim.money, setup.venue.currency),
                    words: claim.note.clone(),
                })
                .collect(),
            booked: booked
                .iter()
                .map(|bill| BookedBillForm {
                    supplier: supplier(bill.supplier),
                    number: bill.number.clone(),
                    kind: bill.kind.word(),
                    issued: bill.issued.to_string(),
                    goods: json::money(bill.goods, setup.venue.currency),
                    payable: bill.payable.map(|payable| json::money(payable, setup.venue.currency)),
                    booked: json::time(&setup.venue.days, bill.at),
                    by: bill.by.clone(),
                })
                .collect(),
        });
    }
    let mut page = Page::new();
    if sent.is_empty() {
        page.line("No order is on its way.");
    }
    for view in sent.iter().take(PRINTED) {
        let comes = view.order.expected.map_or_else(String::new, |day| format!(", expected {day}"));
        page.line(format!("On order: “{}” from {}{comes}", view.order.name, supplier(view.order.supplier)));
    }
    more(&mut page, sent.len(), "order", "orders");
    if !claims.is_empty() {
        page.gap();
        let mut table = Table::new([
            ("to claim from", Set::Name),
            ("bill", Set::Words),
            ("for", Set::Name),
            ("because", Set::Words),
            ("containers", Set::Figure),
            ("money", Set::Figure),
        ]);
        for claim in claims.iter().take(PRINTED) {
            table.row([
                supplier(claim.supplier),
                claim.document.clone(),
                claim.item.map_or_else(String::new, |item| figures.name(item)),
                claim.kind.word().to_owned(),
                decimal::plain(claim.containers, 0),
                figures.money(claim.money),
            ]);
        }
        page.table(&table);
        more(&mut page, claims.len(), "claim", "claims");
    }
    if !booked.is_empty() {
        page.gap();
        let mut table = Table::new([
            ("booked lately, from", Set::Name),
            ("bill", Set::Words),
            ("what", Set::Words),
            ("dated", Set::Words),
            ("goods", Set::Figure),
        ]);
        for bill in &booked {
            table.row([
                supplier(bill.supplier),
                bill.number.clone(),
                bill.kind.word().to_owned(),
                bill.issued.to_string(),
                figures.money(bill.goods),
            ]);
        }
        page.table(&table);
    }
    Ok(page.finish())
}

pub(super) fn take_back(store: &Store, shared: &Shared, args: &Args, number: &str) -> Result<String, Refusal> {
    let setup = comparing::setup(store)?;
    let whose = match &args.supplier {
        Some(name) => Some(find::one("supplier", &setup.suppliers, |s| &s.name, name)?.id),
        None => None,
    };
    let said = |bill: &Bill| {
        let supplier = setup.supplier(bill.supplier).map_or("?", |supplier| &supplier.name);
        format!("{} {} of {supplier}, of {}", bill.kind.word(), bill.number, bill.issued)
    };
    // An invoice and a credit note of one supplier may share a number: then its kind is said before it.
    let numbered = |bill: &Bill| Bill::is_numbered(&bill.number, number);
    let called = |bill: &Bill| Bill::is_numbered(&format!("{} {}", bill.kind.word(), bill.number), number);
    let mut all = receiving::newest(store, u32::MAX)?;
    all.retain(|bill| whose.is_none_or(|whose| whose == bill.supplier));
    let of_number: Vec<Bill> = match all.iter().any(numbered) {
        true => all.into_iter().filter(numbered).collect(),
        false => all.into_iter().filter(called).collect(),
    };
    let bill = match of_number.as_slice() {
        [] => {
            return Err(Refusal::new(format!("no bill “{number}” is booked"))
                .hint("`tantalus receive` lists the bills booked last"));
        }
        [bill] => bill,
        several => {
            let of_one =
                several.iter().all(|bill| several.first().is_some_and(|first| first.supplier == bill.supplier));
            let by_kind = || {
                let ways: Vec<String> = several
                    .iter()
                    .map(|bill| format!("--take-back \"{} {}\"", bill.kind.word(), bill.number))
                    .collect();
                ways.join(" or ")
            };
            return Err(Refusal::new(format!("several bills have the number “{number}”"))
                .details(several.iter().map(said).collect())
                .hint(if of_one { by_kind() } else { "--supplier NAME says whose".to_owned() }));
        }
    };
    let done = receiving::take_back(store, bill.id, shared.signer().as_deref(), clock::now())?;
    if args.json {
        return json::text(&TakenBackForm {
            form: FORM,
            number: done.number,
            deliveries: done.deliveries,
            into_stock_again: done.in_again,
            prices_restored: done.prices,
            claims_dropped: done.dropped,
            claims_reopened: done.reopened,
            on_order_again: done.order,
            order_stays_done: done.order_done,
        });
    }
    let mut page = Page::new();
    page.line(format!("Taken back: {}.", said(bill)));
    for (n, what) in [
        (done.deliveries - done.in_again, "left stock again"),
        (done.in_again, "came into stock again"),
        (
            done.prices,
            if done.prices == 1 { "costs again what it did before" } else { "cost again what they did before" },
        ),
    ] {
        if n > 0 {
            page.line(format!("{} {what}.", number_of(n, "line", "lines")));
        }
    }
    for (n, what) in [(done.dropped, "dropped"), (done.reopened, "open again")] {
        if n > 0 {
            page.line(format!("{} {what}.", number_of(n, "claim", "claims")));
        }
    }
    if let Some(order) = &done.order {
        page.line(format!("On order again: “{order}”."));
    }
    if let Some(order) = &done.order_done {
        page.line(format!("“{order}” stays done: what did not come of it has come or been given up since."));
    }
    Ok(page.finish())
}
