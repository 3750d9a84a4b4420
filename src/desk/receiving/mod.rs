//! Suppliers' bills: read, put beside what was ordered and what came, booked or taken back, and what is to be claimed.

mod answering;
mod booking;
mod doubting;
pub(super) mod taking_back;

pub use booking::accept;
pub use taking_back::take_back;

use super::signing::{signed, typed};
use super::{DeskError, refused};
use crate::domain::ledger::{Check, Order};
use crate::domain::measure::Money;
use crate::domain::receive::{
    Against, Bill, Book, Invoice, InvoiceLine, KeptClaim, KnownAs, KnownCode, Means, Party, apart, matched,
};
use crate::domain::rows::{Answers, BillChoice, BillFile, BillView};
use crate::domain::venue::{ClaimId, Deed, Moment, Setup, SupplierId, name_key};
use crate::exchange::{inbox, invoice};
use crate::store::{Connection, Store, bills, checks, setup as book};
use answering::MayAnswer;
use chrono::Datelike;
use std::collections::HashMap;
use std::path::Path;
use std::sync::Arc;

/// Deliveries that were booked before their bill came are looked for so far back.
const BACK: i64 = 60 * Moment::DAY;

/// Reads a bill; nothing of it is kept.
///
/// # Errors
/// [`DeskError`]: it is no bill that this program reads, or a broken one.
pub fn read(path: &Path) -> Result<BillFile, DeskError> {
    let print = inbox::print(path)?;
    Ok(BillFile { path: path.to_owned(), print, invoice: invoice::read(path)? })
}

/// Puts a bill beside what was ordered.
///
/// # Errors
/// [`DeskError`].
pub fn view(store: &Store, file: &Arc<BillFile>, choice: &BillChoice, now: Moment) -> Result<BillView, DeskError> {
    store.read(|conn| view_of(conn, file, choice, now))
}

fn view_of(conn: &Connection, file: &Arc<BillFile>, choice: &BillChoice, now: Moment) -> Result<BillView, DeskError> {
    let setup = Arc::new(book::load(conn)?);
    let invoice = &file.invoice;
    let day = setup.venue.days.day_of(now);
    let supplier = match choice.supplier {
        Some(supplier) => Some(supplier),
        None => supplier_of(conn, &setup, &invoice.seller)?,
    };
    // A date before 1990 is a slip, and nothing of it could be dumped and loaded again.
    let delivered = invoice.delivered.filter(|came| *came < day && came.year() >= 1990);
    let (freight, deposits) = charges(invoice, &setup);
    let mut view = BillView {
        before: supplier.map(|s| bills::find(conn, s, &Bill::key_of(invoice))).transpose()?.flatten(),
        setup: setup.clone(),
        file: file.clone(),
        supplier,
        problems: invoice.checks(setup.venue.currency, day),
        may_answer: vec![(Answers::Nothing, word!("nothing in the book").to_owned())],
        answers: 0,
        certain: true,
        money_only: choice.money_only.clone(),
        orders: Vec::new(),
        matched: Vec::new(),
        against: Against::default(),
        charges: freight,
        spread: choice.spread,
        delivered,
    };
    let Some(supplier) = supplier else { return Ok(view) };
    let booked = bills::of_supplier(conn, supplier)?;
    let known = bills::known_codes(conn)?;
    let look = |orders: &[Order]| {
        let (setup, known, money_only) = (&*setup, &known[..], &choice.money_only);
        matched(invoice, &Book { setup, supplier, known, orders, day, spread: choice.spread, money_only })
    };
    let charged = Against::new(&look(&[]), &[], &setup).charged();
    let came = answering::papers(conn, supplier, now)?;
    let may = answering::all(conn, &setup, supplier, (invoice, &charged), (&came, &booked), choice.answers.as_ref())?;
    let place = |wanted: &Answers| may.iter().position(|may| may.is(wanted)).unwrap_or(may.len());
    let likely = match may.first() {
        Some(first) if first.fit.is_likely() => 0,
        _ => may.len(),
    };
    view.answers = choice.answers.as_ref().map_or(likely, place);
    let answered: Option<&MayAnswer> = may.get(view.answers);
    view.certain = answered.is_none_or(|may| choice.certain || may.is_certain());
    view.orders = answered.map(|may| may.order.clone()).into_iter().collect();
    view.may_answer.splice(0..0, may.iter().map(|may| (may.answers.clone(), may.said.clone())));
    view.matched = look(&view.orders);
    view.against = Against::new(&view.matched, &view.orders, &setup);
    view.against.deposits += deposits;
    if let Some(MayAnswer { answers: Answers::Delivery(_), cost, .. }) = answered {
        for line in &mut view.against.lines {
            let Some(ordered) = &mut line.ordered else { continue };
            line.came = Some(ordered.containers);
            if let Some(cost) = cost.get(&line.item) {
                ordered.cost = *cost;
            }
        }
    }
    if let Answers::Order(order) = *view.answered() {
        looked_at(&mut view, &checks::of(conn, order)?);
    }
    let doubts = doubting::doubts(conn, &view, (&came, &booked), &charged, now)?;
    view.problems.extend(doubts);
    view.problems.sort_by_key(|problem| problem.weight);
    Ok(view)
}

/// What somebody said came of the order before its bill was there.
fn looked_at(view: &mut BillView, checks: &[Check]) {
    for line in &mut view.against.lines {
        let lines = view.orders.iter().flat_map(|order| &order.lines).filter(|ordered| ordered.item == line.item);
        let said: Vec<Option<&Check>> =
            lines.map(|ordered| checks.iter().find(|check| check.line == ordered.line)).collect();
        let goes_back = line.invoiced.as_ref().is_some_and(|invoiced| invoiced.containers < 0);
        // Of an item of which a line was not looked at nobody knows yet how many came.
        if let Some(all) = said.into_iter().collect::<Option<Vec<_>>>()
            && let Some(first) = all.first().filter(|_| !goes_back)
        {
            line.came = Some(all.iter().map(|check| check.came).fold(0, i64::saturating_add));
            line.place = first.place;
        }
    }
}

/// What the whole bill charges, with its sign: freight and the like, and deposits.
fn charges(invoice: &Invoice, setup: &Setup) -> (Money, Money) {
    let (mut freight, mut deposits) = (Money::ZERO, Money::ZERO);
    for part in apart(invoice, setup.venue.currency) {
        *(if part.deposit { &mut deposits } else { &mut freight }) += part.amount;
    }
    (freight, deposits)
}

/// The supplier that a seller is: as somebody said before, by the numbers of the supplier, else by name.
fn supplier_of(conn: &Connection, setup: &Setup, seller: &Party) -> Result<Option<SupplierId>, DeskError> {
    let known: HashMap<KnownAs, SupplierId> = bills::aliases(conn)?.into_iter().collect();
    if let Some(supplier) = KnownAs::all_of(seller).iter().find_map(|alias| known.get(alias)) {
        return Ok(Some(*supplier));
    }
    let plain = |text: &str| name_key(text).split_whitespace().collect::<String>();
    let is = |ours: Option<String>, theirs: Option<&str>| ours.zip(theirs).is_some_and(|(a, b)| plain(&a) == plain(b));
    let by_number = setup.suppliers.iter().find(|supplier| {
        let party = &supplier.party;
        let gln = party.gln.as_ref().map(ToString::to_string);
        let e_address = party.e_address.as_ref().map(ToString::to_string);
        let ids = || seller.endpoint.iter().chain(&seller.ids);
        is(party.vat_id.as_ref().map(ToString::to_string), seller.vat_id.as_deref())
            || ids().any(|id| id.scheme.as_deref() == Some("0088") && is(gln.clone(), Some(&id.id)))
            || ids().any(|id| {
                let theirs = format!("{}:{}", id.scheme.as_deref().unwrap_or_default(), id.id);
                is(e_address.clone(), Some(&theirs))
            })
    });
    let names = [Some(&seller.name), seller.trading_name.as_ref()];
    let by_name = || {
        let named = |s: &&crate::domain::venue::Supplier| {
            names.into_iter().flatten().any(|name| name_key(name) == name_key(&s.name))
        };
        setup.suppliers.iter().find(named)
    };
    Ok(by_number.or_else(by_name).map(|supplier| supplier.id))
}

/// Remembers that a bill's seller is a supplier of the book.
///
/// # Errors
/// [`DeskError`].
pub fn know_supplier(store: &Store, invoice: &Invoice, supplier: SupplierId, now: Moment) -> Result<(), DeskError> {
    store.write((Deed::BillExplained, now), |conn| {
        for alias in KnownAs::all_of(&invoice.seller) {
            bills::put_alias(conn, &alias, supplier)?;
        }
        Ok(())
    })
}

/// Remembers what a line of a bill stands for, on this bill and on every later one of the supplier.
///
/// # Errors
/// [`DeskError`]: the line has neither code nor name to be known again by.
pub fn explain(
    store: &Store,
    supplier: SupplierId,
    line: &InvoiceLine,
    means: Means,
    now: Moment,
) -> Result<(), DeskError> {
    let known = KnownCode::learned(supplier, line, means).ok_or_else(|| {
        refused(say!("line {id} has neither a code nor a name to be known again by; ask the supplier", id = line.id))
    })?;
    store.write((Deed::BillExplained, now), |conn| bills::put_code(conn, &known).map(|_| ()).map_err(DeskError::from))
}

/// The bills that were booked last, the newest first.
///
/// # Errors
/// [`DeskError`].
pub fn newest(store: &Store, most: u32) -> Result<Vec<Bill>, DeskError> {
    Ok(store.read(|conn| bills::newest(conn, most))?)
}

/// Claims that nobody has settled, the newest first.
///
/// # Errors
/// [`DeskError`].
pub fn open_claims(store: &Store) -> Result<Vec<KeptClaim>, DeskError> {
    let mut open = store.read(bills::open_claims)?;
    open.reverse();
    Ok(open)
}

/// Settles a claim, with a word on how.
///
/// # Errors
/// [`DeskError`]: it is settled already.
pub fn settle(store: &Store, claim: ClaimId, note: &str, by: Option<&str>, now: Moment) -> Result<(), DeskError> {
    let note = typed(word!("how it was settled"), note)?;
    let note = if note.is_empty() { "settled".to_owned() } else { note };
    store.write((Deed::Claim, now), |conn| {
        Ok(bills::settle(conn, claim, &note, None, signed(conn, by)?.as_deref(), now)?)
    })
}
