//! Suppliers' bills: read, put beside what was ordered and what came, booked, and what is to be claimed.

use super::signing::typed;
use super::till::taken;
use super::{DeskError, ordering, refused};
use crate::domain::ledger::{Delivery, Order, OrderLine};
use crate::domain::measure::{Money, Price};
use crate::domain::receive::{
    Against, Bill, Book, DocumentKind, Invoice, InvoiceLine, KeptClaim, KnownAs, KnownCode, Means, Party, Problem,
    Weight, apart, matched,
};
use crate::domain::rows::{Answers, BillBooked, BillChoice, BillFile, BillView};
use crate::domain::till::TakenAs;
use crate::domain::venue::{BillId, ClaimId, ItemId, Moment, OrderId, OrderState, Seq, Setup, SupplierId, name_key};
use crate::exchange::plain::tamed;
use crate::exchange::{inbox, invoice};
use crate::store::bills::NewClaim;
use crate::store::{Connection, Store, bills, files, journal, orders, setup as book};
use chrono::Datelike;
use std::collections::{BTreeMap, HashMap};
use std::path::Path;
use std::sync::Arc;

/// Deliveries that were booked before their bill came are looked for so far back.
const BACK: i64 = 60 * Moment::DAY;
/// Goods that came on an earlier day came in its afternoon, before that day was counted.
const AFTERNOON: i64 = 9 * 3_600_000;

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
    let problems = invoice.checks(setup.venue.currency, day);
    // A date before 1990 is a slip, and nothing of it could be dumped and loaded again.
    let delivered = invoice.delivered.filter(|came| *came < day && came.year() >= 1990);
    let (freight, deposits) = charges(invoice, &setup);
    let mut view = BillView {
        before: supplier.map(|s| bills::find(conn, s, &Bill::key_of(invoice))).transpose()?.flatten(),
        setup: setup.clone(),
        file: file.clone(),
        supplier,
        problems,
        may_answer: vec![(Answers::Nothing, "nothing in the book".to_owned())],
        answers: 0,
        orders: Vec::new(),
        matched: Vec::new(),
        against: Against::default(),
        charges: freight,
        spread: choice.spread,
        delivered,
    };
    let Some(supplier) = supplier else { return Ok(view) };
    let known = bills::known_codes(conn)?;
    let sent: Vec<Order> =
        orders::list(conn, &[OrderState::Sent])?.into_iter().filter(|o| o.supplier == supplier).collect();
    let unbilled = unbilled(conn, supplier, now)?;
    let look = |orders: &[Order]| {
        let book = Book { setup: &setup, supplier, known: &known, orders, day, spread: choice.spread };
        matched(invoice, &book)
    };
    // The likeliest is the one that has most of what is charged; one that is named in the bill goes before all.
    let first = look(&[]);
    let charged: Vec<_> = Against::new(&first, &[], &setup).lines.iter().map(|line| line.item).collect();
    let named = |name: &str| {
        let named = [&invoice.order_ref, &invoice.despatch_ref];
        named.into_iter().flatten().any(|reference| name_key(reference) == name_key(name))
    };
    let score = |order: &Order| {
        let hits = order.lines.iter().filter(|line| charged.contains(&line.item)).count();
        (named(&order.name), hits)
    };
    let mut may: Vec<((bool, usize), Answers, String, Order)> = Vec::new();
    for order in sent {
        let said = format!("order “{}”", order.name);
        may.push((score(&order), Answers::Order(order.id), said, order));
    }
    let mut booked: HashMap<String, HashMap<ItemId, Money>> = HashMap::new();
    for Unbilled { document, order, cost } in unbilled {
        let said =
            format!("booked {}, “{document}”", order.placed.map_or(String::new(), |at| setup.venue.days.short(at)));
        booked.insert(document.clone(), cost);
        may.push((score(&order), Answers::Delivery(document), said, order));
    }
    may.retain(|(score, ..)| *score != (false, 0));
    may.sort_by_key(|(score, ..)| std::cmp::Reverse(*score));
    // A credit note answers what was booked, never what is still to come.
    if invoice.kind == DocumentKind::CreditNote {
        may.clear();
    }
    let all: Vec<Answers> = may.iter().map(|(_, answers, ..)| answers.clone()).chain([Answers::Nothing]).collect();
    view.answers = match &choice.answers {
        Some(wanted) => all.iter().position(|answers| answers == wanted).unwrap_or(all.len() - 1),
        // Half of what is charged must be in it, or it must be named.
        None => match may.first() {
            Some(((true, _), ..)) => 0,
            Some(((false, hits), ..)) if hits * 2 >= charged.len().max(1) => 0,
            _ => all.len() - 1,
        },
    };
    view.orders = may.get(view.answers).map(|(.., order)| order.clone()).into_iter().collect();
    view.may_answer = may
        .into_iter()
        .map(|(_, answers, said, _)| (answers, said))
        .chain([(Answers::Nothing, "nothing in the book".to_owned())])
        .collect();
    view.matched = look(&view.orders);
    view.against = Against::new(&view.matched, &view.orders, &setup);
    view.against.deposits += deposits;
    if let Answers::Delivery(document) = view.answered() {
        let booked = booked.remove(document).unwrap_or_default();
        // What was booked is what came; what is charged and was not booked did not come.
        for line in &mut view.against.lines {
            line.came = Some(line.ordered.map_or(0, |ordered| ordered.containers));
            if let (Some(ordered), Some(cost)) = (&mut line.ordered, booked.get(&line.item)) {
                ordered.cost = *cost;
            }
        }
    }
    Ok(view)
}

/// What the whole bill charges, with its sign: freight and the like, and deposits.
fn charges(invoice: &Invoice, setup: &Setup) -> (Money, Money) {
    let (mut freight, mut deposits) = (Money::ZERO, Money::ZERO);
    for part in apart(invoice, setup.venue.currency) {
        *(if part.deposit { &mut deposits } else { &mut freight }) += part.amount;
    }
    (freight, deposits)
}

/// A delivery without a bill.
struct Unbilled {
    document: String,
    /// In the form of an order; a price in it is that of one container, rounded to the coin.
    order: Order,
    /// What it was booked at, rounded once for each line.
    cost: HashMap<ItemId, Money>,
}

/// Deliveries of a supplier without a bill, the newest first.
fn unbilled(conn: &Connection, supplier: SupplierId, now: Moment) -> Result<Vec<Unbilled>, DeskError> {
    let currency = book::load(conn)?.venue.currency;
    let bills: Vec<Bill> = bills::list(conn)?.into_iter().filter(|bill| bill.supplier == supplier).collect();
    let billed = |document: &str| {
        let answered = |bill: &Bill| bill.delivery.as_deref().is_some_and(|had| name_key(had) == name_key(document));
        bills.iter().any(|bill| answered(bill) || Bill::is_numbered(&bill.number, document))
    };
    let mut by_document: BTreeMap<String, Vec<Delivery>> = BTreeMap::new();
    for delivery in journal::deliveries(conn, Moment(now.0.saturating_sub(BACK)), now)? {
        if delivery.supplier == supplier && !billed(&delivery.document) {
            by_document.entry(delivery.document.clone()).or_default().push(delivery);
        }
    }
    let mut out: Vec<Unbilled> = by_document
        .into_iter()
        .map(|(document, deliveries)| {
            let came = || deliveries.iter().filter(|d| d.containers > 0);
            let line = |d: &Delivery| OrderLine {
                line: d.line,
                item: d.item,
                packs: d.containers,
                pack: 1,
                price: currency.round(d.unit_price),
            };
            let order = Order {
                id: OrderId(0),
                name: document.clone(),
                supplier,
                state: OrderState::Received,
                placed: deliveries.first().map(|d| d.at),
                expected: None,
                lines: came().map(line).collect(),
            };
            let mut cost: HashMap<ItemId, Money> = HashMap::new();
            for delivery in came() {
                let whole = Price(delivery.unit_price.0.saturating_mul(delivery.containers));
                *cost.entry(delivery.item).or_default() += currency.round(whole);
            }
            Unbilled { document, order, cost }
        })
        .collect();
    out.sort_by_key(|unbilled| std::cmp::Reverse(unbilled.order.placed));
    Ok(out)
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
pub fn know_supplier(store: &Store, invoice: &Invoice, supplier: SupplierId) -> Result<(), DeskError> {
    store.write(|conn| {
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
pub fn explain(store: &Store, supplier: SupplierId, line: &InvoiceLine, means: Means) -> Result<(), DeskError> {
    let known = KnownCode::learned(supplier, line, means).ok_or_else(|| {
        refused(format!("line {} has neither a code nor a name to be known again by; ask the supplier", line.id))
    })?;
    store.write(|conn| bills::put_code(conn, &known).map(|_| ()).map_err(DeskError::from))
}

/// Books a bill: what came goes into stock at what is charged, the order is done, what is short or dearer is put down to
/// be claimed. What did not come stays on order when `keep_rest`, else it is given up.
///
/// `came` is when the goods came: the afternoon of the day that the bill says when that is earlier and `on_its_day`.
///
/// # Errors
/// [`DeskError`]: the bill was booked before, is refused, or has a line that nobody has explained or looked at.
pub fn accept(
    store: &Store,
    seen: &BillView,
    keep_rest: bool,
    on_its_day: bool,
    by: Option<&str>,
    now: Moment,
) -> Result<BillBooked, DeskError> {
    store.write(|conn| {
        let choice =
            BillChoice { supplier: seen.supplier, answers: Some(seen.answered().clone()), spread: seen.spread };
        let mut view = view_of(conn, &seen.file, &choice, now)?;
        if view.answered() != seen.answered() {
            return Err(refused("the order was changed meanwhile, from another terminal; look at it anew".to_owned()));
        }
        let supplier = ready(&view)?;
        carry_over(&seen.against, &mut view.against)?;
        let invoice = &view.file.invoice;
        let setup = view.setup.clone();
        let number = typed("the number of the bill", &invoice.number)?;
        let at = match view.delivered.filter(|_| on_its_day) {
            Some(day) => Moment(setup.venue.days.begins(day).0 + AFTERNOON),
            None => now,
        };
        let mut done = BillBooked::default();
        match view.answered().clone() {
            Answers::Delivery(document) => {
                done.corrected = correct_prices(conn, &view, supplier, &document, by, now)?;
            }
            answers => {
                book_goods(conn, &view, supplier, &number, (at, now), by, &mut done)?;
                if let Answers::Order(order) = answers {
                    done.rest = finish_order(conn, &view, order, keep_rest, now)?;
                }
            }
        }
        for claim in view.against.claims(&setup) {
            let new = NewClaim {
                supplier,
                document: &number,
                item: Some(claim.item),
                kind: claim.kind,
                containers: claim.containers,
                money: claim.money,
                note: &tamed(&claim.words),
            };
            bills::add_claim(conn, &new, by, now)?;
            done.claims += 1;
            done.claimed += claim.money;
        }
        if invoice.kind == DocumentKind::CreditNote {
            done.settled = settle_by(conn, invoice, supplier, by, now)?;
        }
        bills::add(conn, &bill_of(&view, supplier, &number, by, now))?;
        if files::of_content(conn, &view.file.print.digest)?.is_none() {
            let lines = (done.deliveries + done.corrected) as u64;
            files::add(conn, &taken(files::next(conn)?, &view.file.print, TakenAs::Invoice, lines, by, now))?;
        }
        Ok(done)
    })
}

/// Whether a bill can be booked at all, and whose it is.
fn ready(view: &BillView) -> Result<SupplierId, DeskError> {
    let supplier = view.supplier.ok_or_else(|| refused("say first whose bill it is".to_owned()))?;
    if let Some(before) = &view.before {
        let when = view.setup.venue.days.short(before.at);
        return Err(refused(format!("“{}” of this supplier was booked already, {when}", before.number)));
    }
    let fatal = |problem: &&Problem| problem.weight == Weight::Refused;
    if let Some(problem) = view.problems.iter().find(fatal) {
        return Err(refused(problem.what.clone()));
    }
    if let Some(open) = view.against.open.first() {
        let line = view.file.invoice.lines.get(*open).map_or("?", |line| line.called());
        return Err(refused(format!("say first what “{line}” is")));
    }
    Ok(supplier)
}

/// Puts what somebody said came into the same bill read anew. What changed meanwhile was not looked at.
fn carry_over(seen: &Against, fresh: &mut Against) -> Result<(), DeskError> {
    if seen.lines.len() != fresh.lines.len() {
        return Err(refused("what is in the book changed meanwhile; look at the bill anew".to_owned()));
    }
    for (old, new) in seen.lines.iter().zip(&mut fresh.lines) {
        if (old.item, &old.invoiced, &old.ordered) != (new.item, &new.invoiced, &new.ordered) {
            return Err(refused("what is in the book changed meanwhile; look at the bill anew".to_owned()));
        }
        (new.came, new.place) = (old.came, old.place);
    }
    Ok(())
}

fn book_goods(
    conn: &Connection,
    view: &BillView,
    supplier: SupplierId,
    number: &str,
    (at, now): (Moment, Moment),
    by: Option<&str>,
    done: &mut BillBooked,
) -> Result<(), DeskError> {
    let setup = &view.setup;
    // Some number invoices and credit notes from 1 each.
    let same_number =
        view.file.invoice.kind == DocumentKind::CreditNote && journal::has_document(conn, supplier, number)?;
    let number = &if same_number { tamed(&format!("{number} credit note")) } else { number.to_owned() };
    if journal::has_document(conn, supplier, number)? {
        return Err(refused(format!(
            "a delivery with the number “{number}” of this supplier is booked already; choose it as what the bill answers"
        )));
    }
    let deliveries = view
        .against
        .deliveries(number, supplier, at, setup.venue.currency)
        .map_err(|not_said| refused(format!("say how much {} came; 0 if none did", setup.item_name(not_said.item))))?;
    let day = setup.venue.days.day_of(at);
    for delivery in &deliveries {
        priced(setup, delivery.item, delivery.unit_price)?;
        journal::add_delivery(conn, delivery, by, now, day)?;
    }
    done.deliveries = deliveries.len();
    Ok(())
}

/// Refuses goods at less than nothing: stock that is worth less than nothing would spoil every cost after it.
fn priced(setup: &Setup, item: ItemId, price: Price) -> Result<(), DeskError> {
    if price >= Price::default() {
        return Ok(());
    }
    let (name, currency) = (setup.item_name(item), setup.venue.currency);
    let price = price.plain(currency);
    Err(refused(format!(
        "{name} would be booked at {price} {currency} for one; a line that only takes money off is nothing stocked: say so of it, or ask for the bill anew"
    )))
}

/// Gives the lines of a delivery that was booked before its bill came the price and the deposit that are charged: each is
/// taken back and booked again as it came.
fn correct_prices(
    conn: &Connection,
    view: &BillView,
    supplier: SupplierId,
    document: &str,
    by: Option<&str>,
    now: Moment,
) -> Result<usize, DeskError> {
    let currency = view.setup.venue.currency;
    let mut corrected = 0;
    let since = Moment(now.0.saturating_sub(BACK));
    for had in journal::deliveries(conn, since, now)? {
        if had.supplier != supplier || had.document != document || had.containers <= 0 {
            continue;
        }
        // What goes back is a line of its own.
        let lines = view.against.lines.iter().filter(|line| line.item == had.item);
        let Some(invoiced) = lines.filter_map(|line| line.invoiced.as_ref()).find(|i| i.containers > 0) else {
            continue;
        };
        let (unit_price, deposit) = (invoiced.booked_price(currency), invoiced.deposit_of_one().or(had.deposit));
        priced(&view.setup, had.item, unit_price)?;
        if (unit_price, deposit) == (had.unit_price, had.deposit) {
            continue;
        }
        journal::reverse(conn, had.seq, by, now)?;
        let right = Delivery { seq: Seq(0), unit_price, deposit, ..had.clone() };
        journal::add_delivery(conn, &right, by, now, view.setup.venue.days.day_of(had.at))?;
        corrected += 1;
    }
    Ok(corrected)
}

/// What did not come of an order stays on order under a new name, or is given up; the order is done.
fn finish_order(
    conn: &Connection,
    view: &BillView,
    order: OrderId,
    keep_rest: bool,
    now: Moment,
) -> Result<Option<String>, DeskError> {
    let order = orders::get(conn, order)?;
    if order.state != OrderState::Sent {
        return Err(refused(format!("the order “{}” is {} already", order.name, order.state)));
    }
    let mut came: HashMap<_, i64> = HashMap::new();
    for line in &view.against.lines {
        *came.entry(line.item).or_default() += line.came.unwrap_or(0).max(0);
    }
    let per_line: Vec<i64> = order
        .lines
        .iter()
        .map(|line| {
            let left = came.entry(line.item).or_default();
            let taken = (*left).min(line.packs.saturating_mul(line.pack));
            *left -= taken;
            taken
        })
        .collect();
    ordering::finish(conn, &view.setup, &order, &per_line, keep_rest, now)
}

/// Claims that a credit note is about: those on the bills that it names.
fn settle_by(
    conn: &Connection,
    invoice: &Invoice,
    supplier: SupplierId,
    by: Option<&str>,
    now: Moment,
) -> Result<usize, DeskError> {
    let mut settled = 0;
    for claim in bills::open_claims(conn)? {
        let about = || invoice.preceding.iter().any(|number| Bill::is_numbered(number, &claim.document));
        if claim.supplier == supplier && about() {
            bills::settle(conn, claim.id, &tamed(&format!("credit note {}", invoice.number)), by, now)?;
            settled += 1;
        }
    }
    Ok(settled)
}

fn bill_of(view: &BillView, supplier: SupplierId, number: &str, by: Option<&str>, now: Moment) -> Bill {
    let invoice = &view.file.invoice;
    let (mut goods, mut deposits) = (Money::ZERO, view.against.deposits);
    for invoiced in view.against.lines.iter().filter_map(|line| line.invoiced.as_ref()) {
        goods += invoiced.cost;
        deposits += invoiced.deposit;
    }
    let minor = 10_i128.pow(view.setup.venue.currency.decimals());
    let payable = invoice.totals.payable.and_then(|payable| payable.scaled(minor, 1).ok());
    Bill {
        id: BillId(0),
        supplier,
        number: number.to_owned(),
        key: Bill::key_of(invoice),
        kind: invoice.kind,
        issued: invoice.issued,
        delivery: match view.answered() {
            Answers::Delivery(document) => Some(document.clone()),
            Answers::Order(_) | Answers::Nothing => None,
        },
        goods,
        deposits,
        charges: view.charges,
        other: view.against.not_stock,
        payable: payable.map(|payable| Money(payable * invoice.sign())),
        at: now,
        by: by.map(str::to_owned),
    }
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
    let note = typed("how it was settled", note)?;
    let note = if note.is_empty() { "settled".to_owned() } else { note };
    store.write(|conn| Ok(bills::settle(conn, claim, &note, by, now)?))
}
