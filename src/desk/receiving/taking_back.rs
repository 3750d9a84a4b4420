//! A bill that was booked by mistake, taken back with all that it did.

use crate::desk::signing::signed;
use crate::desk::{DeskError, refused};
use crate::domain::ledger::Delivery;
use crate::domain::rows::BillTakenBack;
use crate::domain::venue::{BillId, Deed, Moment, OrderState, Seq};
use crate::store::bills::{BillDid, Entry, SettledClaim};
use crate::store::{Connection, Store, bills, journal, orders, setup as book};

/// Takes a bill back: what it brought into stock leaves it again, deliveries of before cost again what they did, its
/// claims are dropped and those that it settled are open again, its order is on its way again, and its file can be taken
/// in anew. All of it stays in the journal.
///
/// The order stays done when what did not come of it, on order under a new name, has come or been given up since.
///
/// # Errors
/// [`DeskError`]: it is taken back already, nothing says what it did, or something else changed that since.
pub fn take_back(store: &Store, bill: BillId, by: Option<&str>, now: Moment) -> Result<BillTakenBack, DeskError> {
    store.write((Deed::BillBack, now), |conn| within(conn, bill, signed(conn, by)?.as_deref(), now))
}

/// The same within a transaction.
pub(in crate::desk) fn within(
    conn: &Connection,
    bill: BillId,
    by: Option<&str>,
    now: Moment,
) -> Result<BillTakenBack, DeskError> {
    let (bill, did) = bills::did(conn, bill)?;
    if did.file.is_none() {
        return Err(refused(say!(
            "“{number}” was loaded from plain files, which do not say what it booked: write down as a delivery or a loss what is wrong in stock",
            number = bill.number
        )));
    }
    let mut done = BillTakenBack { number: bill.number.clone(), ..BillTakenBack::default() };
    undo_deliveries(conn, &bill.number, &did, by, now, &mut done)?;
    reopen_order(conn, &did, &mut done)?;
    let why = say!("“{number}” was taken back", number = bill.number);
    done.reopened = reopen_claims(conn, bill.id, &why, by, now)?;
    for claim in bills::claims_of(conn, bill.id)? {
        bills::settle(conn, claim.id, &why, Some(bill.id), by, now)?;
        done.dropped += 1;
    }
    bills::withdraw(conn, bill.id, by, now)?;
    Ok(done)
}

fn undo_deliveries(
    conn: &Connection,
    number: &str,
    did: &BillDid,
    by: Option<&str>,
    now: Moment,
    done: &mut BillTakenBack,
) -> Result<(), DeskError> {
    let days = book::load(conn)?.venue.days;
    let mut booked: Vec<(Delivery, bool)> = Vec::new();
    for entry in &did.entries {
        if let Entry::Booked(seq) = *entry {
            booked.push(journal::delivery_once(conn, seq)?);
        }
    }
    // A later bill that changed its price, and was taken back, left the same line anew.
    let in_force = |of: &Delivery| {
        booked.iter().any(|(had, in_force)| *in_force && (&had.document, had.line) == (&of.document, of.line))
    };
    if let Some((changed, _)) = booked.iter().find(|(delivery, _)| !in_force(delivery)) {
        return Err(refused(say!(
            "what “{number}” booked as “{document}” was changed by a later bill: take that one back first",
            number,
            document = changed.document
        )));
    }
    for (delivery, _) in booked.iter().filter(|(_, in_force)| *in_force) {
        journal::reverse(conn, delivery.seq, by, now)?;
        done.deliveries += 1;
        done.in_again += usize::from(delivery.containers < 0);
    }
    for entry in &did.entries {
        let Entry::TookBack(seq) = *entry else { continue };
        let (delivery, _) = journal::delivery_once(conn, seq)?;
        let again = Delivery { seq: Seq(0), ..delivery };
        let again = journal::add_delivery(conn, &again, by, now, days.day_of(again.at))?;
        if let Some(owner) = bills::that_booked(conn, seq)? {
            bills::add_entry(conn, owner, again)?;
        }
        // Booked at the price of the bill was the same line, so that it left no stock.
        done.deliveries -= 1;
        done.prices += 1;
    }
    Ok(())
}

/// Opens the claims again that a credit note settled, as far as it covered them; but not those on a bill that is in the
/// book no more. Says how many.
fn reopen_claims(
    conn: &Connection,
    note: BillId,
    why: &str,
    by: Option<&str>,
    now: Moment,
) -> Result<usize, DeskError> {
    let mut reopened = 0;
    for SettledClaim { claim, rest, gone } in bills::settled_by(conn, note)? {
        if gone {
            continue;
        }
        let covered = match rest {
            Some((rest, _, true)) => {
                bills::settle(conn, rest, why, None, by, now)?;
                claim.money
            }
            // Somebody, or another credit note, settled what was left.
            Some((_, left, false)) => claim.money - left,
            None => claim.money,
        };
        bills::reopen_claim(conn, claim.id, (covered, claim.containers))?;
        reopened += 1;
    }
    Ok(reopened)
}

/// Puts the order that a bill answered on its way again, and drops what was put on order of its rest.
fn reopen_order(conn: &Connection, did: &BillDid, done: &mut BillTakenBack) -> Result<(), DeskError> {
    let Some(order) = did.answers else { return Ok(()) };
    let order = orders::get(conn, order)?;
    let rest = did.rest.map(|rest| orders::get(conn, rest)).transpose()?;
    if let Some(rest) = &rest
        && let Some(later) = bills::that_answers(conn, rest.id)?
    {
        return Err(refused(say!(
            "what did not come with “{number}” was booked with “{number_2}” since: take that bill back first",
            number = done.number,
            number_2 = later.number
        )));
    }
    let went_on = rest.as_ref().is_some_and(|rest| rest.state != OrderState::Sent);
    if order.state != OrderState::Received || went_on {
        done.order_done = Some(order.name);
        return Ok(());
    }
    if let Some(rest) = rest {
        orders::set_state(conn, rest.id, OrderState::Closed, rest.placed, rest.expected)?;
    }
    orders::set_state(conn, order.id, OrderState::Sent, order.placed, order.expected)?;
    done.order = Some(order.name);
    Ok(())
}
