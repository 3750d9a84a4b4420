//! Booking a bill: what came goes into stock, its order is done, what is short or dearer is put down to be claimed.

use super::{BACK, view_of};
use crate::desk::signing::{signed, typed};
use crate::desk::till::taken;
use crate::desk::{DeskError, ordering, refused};
use crate::domain::ledger::Delivery;
use crate::domain::measure::{Money, Price};
use crate::domain::receive::{Against, Bill, Credited, DocumentKind, Documents, Problem, Weight};
use crate::domain::rows::{Answers, BillBooked, BillView};
use crate::domain::till::TakenAs;
use crate::domain::venue::{BillId, Deed, FileId, ItemId, Moment, OrderId, OrderState, Seq, SupplierId};
use crate::exchange::plain::tamed;
use crate::store::bills::{BillDid, NewClaim};
use crate::store::{Connection, Store, bills, files, journal, orders};
use std::collections::HashMap;

/// Goods that came on an earlier day came in its afternoon, before that day was counted.
pub(super) const AFTERNOON: i64 = 9 * 3_600_000;

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
    store.write((Deed::Bill, now), |conn| {
        let mut view = view_of(conn, &seen.file, &seen.choice(), now)?;
        if view.answered() != seen.answered() {
            return Err(refused(
                word!("the order was changed meanwhile, from another terminal; look at it anew").to_owned(),
            ));
        }
        let supplier = ready(&view)?;
        let by = signed(conn, by)?;
        let by = by.as_deref();
        carry_over(seen, &mut view)?;
        let setup = view.setup.clone();
        let number = typed(word!("the number of the bill"), &view.file.invoice.number)?;
        if let Answers::Delivery(documents) = view.answered() {
            typed(word!("the numbers of the deliveries"), &documents.to_string())?;
        }
        let at = match view.delivered.filter(|_| on_its_day) {
            Some(day) => Moment(setup.venue.days.begins(day).0 + AFTERNOON),
            None => now,
        };
        let mut booking = Booking { conn, view: &view, supplier, number: &number, by, now, entries: Vec::new() };
        let (mut done, mut did) = (BillBooked::default(), BillDid::default());
        if let Answers::Delivery(documents) = view.answered() {
            done.corrected = booking.correct_prices(documents)?;
        }
        done.deliveries = booking.goods(at)?;
        if let Answers::Order(order) = *view.answered() {
            done.rest = finish_order(conn, &view, order, keep_rest, now)?;
            did.answers = Some(order);
            did.rest = done.rest.as_deref().map(|rest| orders::find(conn, rest)).transpose()?.flatten().map(|o| o.id);
        }
        let entries = std::mem::take(&mut booking.entries);
        did.file = Some(booking.keep_file((done.deliveries + done.corrected) as u64)?);
        let bill = bills::add(conn, &booking.bill(), &did)?;
        for seq in entries {
            bills::add_entry(conn, bill, seq)?;
        }
        booking.claim(bill, &mut done)?;
        if view.file.invoice.kind == DocumentKind::CreditNote {
            booking.settle_claims(bill, &mut done)?;
        }
        Ok(done)
    })
}

/// Whether a bill can be booked at all, and whose it is.
fn ready(view: &BillView) -> Result<SupplierId, DeskError> {
    let supplier = view.supplier.ok_or_else(|| refused(word!("say first whose bill it is").to_owned()))?;
    if let Some(before) = &view.before {
        let when = view.setup.venue.days.short(before.at);
        return Err(refused(say!(
            "“{number}” of this supplier was booked already, {when}",
            number = before.number,
            when
        )));
    }
    let fatal = |problem: &&Problem| problem.weight == Weight::Refused;
    if let Some(problem) = view.problems.iter().find(fatal) {
        return Err(refused(problem.what.clone()));
    }
    if let (Answers::Delivery(documents), false) = (view.answered(), view.certain) {
        return Err(refused(say!(
            "say first whether the bill is for “{documents}”, which is booked already",
            documents
        )));
    }
    if let Some(open) = view.against.open.first() {
        let line = view.file.invoice.lines.get(*open).map_or("?", |line| line.called());
        return Err(refused(say!("say first what “{line}” is", line)));
    }
    Ok(supplier)
}

/// Puts what somebody said came into the same bill read anew. What changed meanwhile was not looked at.
fn carry_over(seen: &BillView, fresh: &mut BillView) -> Result<(), DeskError> {
    let changed = || refused(word!("what is in the book changed meanwhile; look at the bill anew").to_owned());
    if seen.against.lines.len() != fresh.against.lines.len() {
        return Err(changed());
    }
    for (old, new) in seen.against.lines.iter().zip(&mut fresh.against.lines) {
        if (old.item, &old.invoiced, &old.ordered) != (new.item, &new.invoiced, &new.ordered) {
            return Err(changed());
        }
        (new.came, new.place) = (old.came, old.place);
    }
    // What came of a delivery that is booked stands in the book; a bill says only what it costs.
    let wrong = fresh
        .against
        .lines
        .iter()
        .find(|line| fresh.is_booked(line) && line.came != line.ordered.map(|ordered| ordered.containers));
    if let Some(line) = wrong {
        let name = fresh.setup.item_name(line.item);
        let booked = line.ordered.map_or(0, |ordered| ordered.containers);
        return Err(refused(say!(
            "{booked} of {name} are booked already; the bill only says what they cost",
            booked,
            name
        )));
    }
    Ok(())
}

/// A bill on its way into the book.
struct Booking<'a> {
    conn: &'a Connection,
    view: &'a BillView,
    supplier: SupplierId,
    number: &'a str,
    by: Option<&'a str>,
    now: Moment,
    /// What it put into the journal.
    entries: Vec<Seq>,
}

impl Booking<'_> {
    /// Puts into stock what came with the bill: all of it but what was booked before. Says how many lines that are.
    fn goods(&mut self, at: Moment) -> Result<usize, DeskError> {
        let (conn, view, setup) = (self.conn, self.view, &self.view.setup);
        let not_said =
            |item| refused(say!("say how much {item_name} came; 0 if none did", item_name = setup.item_name(item)));
        let new = view.against.part(|line| !view.is_booked(line));
        let number = self.document(&new)?;
        let deliveries =
            new.deliveries(&number, self.supplier, at, setup.venue.currency).map_err(|unsaid| not_said(unsaid.item))?;
        let day = setup.venue.days.day_of(at);
        for delivery in &deliveries {
            priced(view, delivery.item, delivery.unit_price)?;
            self.entries.push(journal::add_delivery(conn, delivery, self.by, self.now, day)?);
        }
        Ok(deliveries.len())
    }

    /// What the delivery of the bill's goods is called: as the bill. Some number invoices and credit notes from 1 each, and
    /// a delivery may have been booked under the number of the bill that now adds to it.
    fn document(&self, new: &Against) -> Result<String, DeskError> {
        let number = self.number;
        if new.lines.is_empty() || !journal::has_document(self.conn, self.supplier, number)? {
            return Ok(number.to_owned());
        }
        let other = match (self.view.file.invoice.kind, self.view.answered()) {
            (DocumentKind::CreditNote, _) => tamed(&say!("{number} credit note", number)),
            (_, Answers::Delivery(_)) => tamed(&say!("{number} bill", number)),
            _ => number.to_owned(),
        };
        if journal::has_document(self.conn, self.supplier, &other)? {
            return Err(refused(say!(
                "a delivery with the number “{other}” of this supplier is booked already; choose it as what the bill answers",
                other
            )));
        }
        Ok(other)
    }

    /// Gives the lines of a delivery that was booked before its bill came the price and the deposit that are charged: each
    /// is taken back and booked again as it came. Says how many.
    fn correct_prices(&mut self, documents: &Documents) -> Result<usize, DeskError> {
        let (conn, view) = (self.conn, self.view);
        let currency = view.setup.venue.currency;
        let mut corrected = 0;
        let since = Moment(self.now.0.saturating_sub(BACK));
        for had in journal::deliveries(conn, since, self.now)? {
            if had.supplier != self.supplier || !documents.has(&had.document) || had.containers <= 0 {
                continue;
            }
            // What goes back is a line of its own.
            let lines = view.against.lines.iter().filter(|line| line.item == had.item && !line.is_free_beside());
            let Some(invoiced) = lines.filter_map(|line| line.invoiced.as_ref()).find(|i| i.containers > 0) else {
                continue;
            };
            let (unit_price, deposit) = (invoiced.booked_price(currency), invoiced.deposit_of_one().or(had.deposit));
            priced(view, had.item, unit_price)?;
            if (unit_price, deposit) == (had.unit_price, had.deposit) {
                continue;
            }
            self.entries.push(journal::reverse(conn, had.seq, self.by, self.now)?);
            let right = Delivery { seq: Seq(0), unit_price, deposit, ..had.clone() };
            let day = view.setup.venue.days.day_of(had.at);
            self.entries.push(journal::add_delivery(conn, &right, self.by, self.now, day)?);
            corrected += 1;
        }
        Ok(corrected)
    }

    fn claim(&self, bill: BillId, done: &mut BillBooked) -> Result<(), DeskError> {
        for claim in self.view.against.claims(&self.view.setup) {
            let new = NewClaim {
                supplier: self.supplier,
                document: self.number,
                item: Some(claim.item),
                kind: claim.kind,
                containers: claim.containers,
                money: claim.money,
                note: &tamed(&claim.words),
                bill: Some(bill),
            };
            bills::add_claim(self.conn, &new, self.by, self.now)?;
            done.claims += 1;
            done.claimed += claim.money;
        }
        Ok(())
    }

    /// Settles what the credit note is for.
    fn settle_claims(&self, bill: BillId, done: &mut BillBooked) -> Result<(), DeskError> {
        let mut open = bills::open_claims(self.conn)?;
        open.retain(|claim| claim.supplier == self.supplier);
        let credited = Credited::of(&self.view.against, self.view.charges);
        let crediting = credited.settle(&open, &self.view.file.invoice.preceding);
        let note = tamed(&say!("credit note {number}", number = self.number));
        for claim in &crediting.settles {
            bills::settle(self.conn, *claim, &note, Some(bill), self.by, self.now)?;
        }
        for covers in &crediting.reduces {
            let Some(claim) = open.iter().find(|claim| claim.id == covers.claim) else { continue };
            let currency = self.view.setup.venue.currency;
            let part = tamed(&say!(
                "{note}: {covers} of {claim}",
                note,
                covers = currency.shown(covers.money),
                claim = currency.shown(claim.money)
            ));
            let leaves = (claim.money - covers.money, (claim.containers - covers.containers).max(1));
            bills::settle_part(self.conn, claim.id, (&part, leaves), bill, self.by, self.now)?;
        }
        (done.settled, done.reduced, done.unsettled) =
            (crediting.settles.len(), crediting.reduces.len(), crediting.leaves.len());
        Ok(())
    }

    /// Keeps that the file is in the book, and says under which handle.
    fn keep_file(&self, lines: u64) -> Result<FileId, DeskError> {
        let print = &self.view.file.print;
        match files::of_content(self.conn, &print.digest)? {
            Some(had) if had.what == TakenAs::SetAside => {
                files::withdraw(self.conn, had.id, self.by, self.now)?;
            }
            Some(had) => return Ok(had.id),
            None => {}
        }
        let id = files::next(self.conn)?;
        files::add(self.conn, &taken(id, print, TakenAs::Invoice, lines, self.by, self.now))?;
        Ok(id)
    }

    fn bill(&self) -> Bill {
        let (view, invoice) = (self.view, &self.view.file.invoice);
        let (mut goods, mut deposits) = (Money::ZERO, view.against.deposits);
        for invoiced in view.against.lines.iter().filter_map(|line| line.invoiced.as_ref()) {
            goods += invoiced.cost;
            deposits += invoiced.deposit;
        }
        Bill {
            id: BillId(0),
            supplier: self.supplier,
            number: self.number.to_owned(),
            key: Bill::key_of(invoice),
            kind: invoice.kind,
            issued: invoice.issued,
            delivery: match view.answered() {
                Answers::Delivery(documents) => Some(documents.to_string()),
                Answers::Order(_) | Answers::Nothing => None,
            },
            goods,
            deposits,
            charges: view.charges,
            other: view.against.not_stock,
            payable: invoice.payable(view.setup.venue.currency),
            at: self.now,
            by: self.by.map(str::to_owned),
        }
    }
}

/// Refuses goods at less than nothing: stock that is worth less than nothing would spoil every cost after it.
fn priced(view: &BillView, item: ItemId, price: Price) -> Result<(), DeskError> {
    if price >= Price::default() {
        return Ok(());
    }
    let (name, currency) = (view.setup.item_name(item), view.setup.venue.currency);
    let price = price.shown(currency);
    let why = if view.spread && view.charges < Money::ZERO {
        word!(
            "what is taken off the whole bill is more than its goods cost: do not share it out, so that it stays apart"
        )
    } else {
        word!("a line that only takes money off is nothing stocked: say so of it, or ask for the bill anew")
    };
    Err(refused(say!("{name} would be booked at {price} {currency} for one; {why}", name, price, currency, why)))
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
        return Err(refused(say!("the order “{order}” is {state} already", order = order.name, state = order.state)));
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
            let taken = (*left).min(line.containers());
            *left -= taken;
            taken
        })
        .collect();
    ordering::finish(conn, &view.setup, &order, &per_line, keep_rest, now)
}
