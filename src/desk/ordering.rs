//! Putting orders together, sending them, booking what came.

use super::expecting::pars;
use super::signing::{signed, typed};
use super::situation::{Situation, situation};
use super::{DeskError, refused};
use crate::domain::ledger::{Check, Delivery, Order, OrderLine};
use crate::domain::measure::{Amount, Money, Price};
use crate::domain::order::{
    Draft, DraftLine, OrderDocument, Planned, Planning, Record, Suggestion, Unmet, offers_of, packs_for, record,
    why as why_ordered,
};
use crate::domain::par::ItemPar;
use crate::domain::rows::{Checking, DraftKept, DraftView, OrdersView, ReceiveLine, ReceiveView, WhyView, par_words};
use crate::domain::venue::{Deed, ItemId, Moment, OrderId, OrderState, Seq, Setup, SupplierId, name_key};
use crate::exchange::documents;
use crate::store::{Connection, Store, checks, journal, orders};
use std::path::{Path, PathBuf};

pub use crate::exchange::documents::Form;

/// What would be ordered now, supplier by supplier: kept drafts as they were changed, the rest as suggested.
///
/// # Errors
/// [`DeskError`].
pub fn orders(store: &Store, now: Moment) -> Result<OrdersView, DeskError> {
    orders_within(store, None, now)
}

/// The same for no more money than a budget, where there is one: what runs the least risk is left out. Kept drafts stay,
/// whatever they cost.
///
/// # Errors
/// [`DeskError`].
pub fn orders_within(store: &Store, budget: Option<Money>, now: Moment) -> Result<OrdersView, DeskError> {
    store.read(|conn| {
        let situation = situation(conn, now, None)?;
        view(conn, &situation, &pars(conn, &situation)?, budget)
    })
}

pub(super) fn view(
    conn: &Connection,
    situation: &Situation,
    pars: &[ItemPar],
    budget: Option<Money>,
) -> Result<OrdersView, DeskError> {
    let kept = orders::list(conn, &[OrderState::Draft])?;
    let planning = Planning::new(&situation.setup, pars, &kept, situation.now);
    let planned = planned(&planning, budget)?;
    view_of(conn, situation, pars, &kept, &planning, &planned, budget)
}

fn planned(planning: &Planning, budget: Option<Money>) -> Result<Planned, DeskError> {
    match budget {
        Some(budget) => planning.within(budget),
        None => planning.solve(),
    }
    .map_err(unmet)
}

/// What is planned, with kept drafts in their place.
fn view_of(
    conn: &Connection,
    situation: &Situation,
    pars: &[ItemPar],
    kept: &[Order],
    planning: &Planning,
    planned: &Planned,
    budget: Option<Money>,
) -> Result<OrdersView, DeskError> {
    let setup = &situation.setup;
    let suggestion = planning.suggestion(planned);
    let plain = match kept {
        [] => Suggestion::default(),
        _ => {
            let plain = Planning::new(setup, pars, &[], situation.now);
            plain.suggestion(&plain.solve().map_err(unmet)?)
        }
    };
    let mut drafts = Vec::new();
    for draft in suggestion.drafts {
        let of_supplier = kept.iter().find(|o| o.supplier == draft.supplier);
        drafts.push(match of_supplier {
            Some(order) => changed(setup, situation.now, draft, order, pars, &plain),
            None => {
                let name = name_for(conn, setup, draft.supplier, situation.now)?;
                DraftView { order: None, name, draft, seen: Vec::new() }
            }
        });
    }
    Ok(OrdersView {
        drafts,
        sent: situation.sent.clone(),
        waiting: suggestion.waiting,
        to_make: suggestion.to_make,
        without_offer: suggestion.without_offer,
        never_counted: suggestion.never_counted,
        budget,
        at_most_cheaper: planned.at_most_cheaper(),
    })
}

/// Why an item is ordered as it is within a budget, and what it would cost from others.
///
/// # Errors
/// [`DeskError`].
pub fn why(store: &Store, item: ItemId, budget: Option<Money>, now: Moment) -> Result<WhyView, DeskError> {
    store.read(|conn| {
        let situation = situation(conn, now, None)?;
        let (looked, _) = super::par::view_of(conn, &situation)?;
        let kept = orders::list(conn, &[OrderState::Draft])?;
        let planning = Planning::new(&situation.setup, &looked.pars, &kept, now);
        let planned = planned(&planning, budget)?;
        let view = view_of(conn, &situation, &looked.pars, &kept, &planning, &planned, budget)?;
        let of_item = |view: &DraftView| {
            let (supplier, written) = (view.draft.supplier, view.order.is_some());
            let lines = view.draft.lines.iter().filter(|line| line.item == item).cloned();
            lines.map(|line| (supplier, line, written)).collect::<Vec<_>>()
        };
        let par = looked.pars.iter().find(|par| par.item == item);
        Ok(WhyView {
            item,
            because: par.map(|par| par_words(&looked, par)).unwrap_or_default(),
            lines: view.drafts.iter().flat_map(of_item).collect(),
            waiting: view.waiting.iter().find(|waiting| waiting.need.item == item).copied(),
            elsewhere: planning.elsewhere(&planned, item).map_err(unmet)?,
            at_most_cheaper: planned.at_most_cheaper(),
        })
    })
}

fn unmet(unmet: Unmet) -> DeskError {
    refused(say!("no order can be put together: {unmet}", unmet))
}

/// How every supplier has delivered over the last half year, by name.
///
/// # Errors
/// [`DeskError`].
pub fn records(store: &Store, now: Moment) -> Result<Vec<(SupplierId, Record)>, DeskError> {
    store.read(|conn| {
        let setup = crate::store::setup::load(conn)?;
        let since = Moment(now.0 - RECORD_OVER * Moment::DAY);
        let placed = [OrderState::Sent, OrderState::Received, OrderState::Closed];
        let all = orders::placed_since(conn, &placed, since)?;
        let deliveries = journal::deliveries(conn, since, now)?;
        let today = setup.venue.days.date_of(now).unwrap_or_else(|| setup.venue.days.day_of(now));
        Ok(setup.suppliers.iter().map(|s| (s.id, record(&setup, s.id, &all, &deliveries, today))).collect())
    })
}

/// Days that a supplier's record goes over.
const RECORD_OVER: i64 = 182;

/// A kept draft as it was kept, and what is suggested besides. Of a line is suggested what would be if nobody had kept
/// anything, `plain`; where that has it from somebody else, what the other lines of its item leave to be wanted.
fn changed(
    setup: &Setup,
    now: Moment,
    suggested: Draft,
    kept: &Order,
    pars: &[ItemPar],
    plain: &Suggestion,
) -> DraftView {
    let plain = plain.drafts.iter().find(|draft| draft.supplier == kept.supplier);
    let day = setup.venue.days.day_of(now);
    let mut lines: Vec<DraftLine> = Vec::new();
    for line in &kept.lines {
        let offers = offers_of(setup, kept.supplier, line.item, day);
        let offer = offers.iter().find(|offer| offer.pack == line.pack);
        let par = pars.iter().find(|par| par.item == line.item);
        let need = par.and_then(|par| par.need_from(Some(kept.supplier)));
        let of_item = || kept.lines.iter().filter(|l| l.item == line.item);
        let others: i64 = of_item().filter(|l| l.line != line.line).map(OrderLine::containers).sum();
        let size = setup.item(line.item).map_or(Amount::ZERO, |item| item.size);
        let most = setup.item(line.item).and_then(|item| Some(item.shelf_max?.of(item.size)));
        let brought = size.times(others, 1);
        let short = need.and_then(|need| Some((need, need.short()? - brought)));
        let suggested =
            short.map(|(need, short)| packs_for(&need, short, size, line.pack, most.map(|most| most - brought)));
        let same = |of: &&DraftLine| of.key() == (line.item, line.pack);
        let plain = plain.and_then(|draft| draft.lines.iter().find(same));
        let (suggested, shelf_limits) = plain.map(|of| (of.packs, of.shelf_limits)).or(suggested).unwrap_or_default();
        lines.push(DraftLine {
            item: line.item,
            need,
            why: par.map(|par| why_ordered(setup, par, kept.supplier, of_item().map(OrderLine::containers).sum())),
            suggested,
            packs: line.packs,
            pack: line.pack,
            price: line.price,
            code: offer.and_then(|o| o.code.clone()),
            shelf_limits,
            mixed: offer.and_then(|offer| offer.mixed.clone()),
        });
    }
    // What has become short since is ordered without anybody's saying so, as everywhere else.
    lines.extend(suggested.lines);
    let draft = Draft { supplier: kept.supplier, lines, deadline: suggested.deadline };
    DraftView { order: Some(kept.id), name: kept.name.clone(), draft, seen: kept.lines.clone() }
}

/// The name of a new order: its business day and the supplier's first word, or whole name where another supplier has
/// that first word too; numbered when taken.
fn name_for(conn: &Connection, setup: &Setup, supplier: SupplierId, now: Moment) -> Result<String, DeskError> {
    let first = |name: &'_ str| name.split_whitespace().next().unwrap_or_default().to_owned();
    let same = |a: &str, b: &str| name_key(&first(a)) == name_key(&first(b));
    let name = setup.supplier(supplier).map_or("", |s| s.name.as_str());
    let alone = setup.suppliers.iter().filter(|s| same(&s.name, name)).count() == 1;
    let who = if alone { first(name) } else { name.to_owned() };
    let base = format!("{} {who}", setup.venue.days.day_of(now));
    let mut name = base.clone();
    let mut number = 2;
    while orders::find(conn, &name)?.is_some() {
        name = format!("{base} {number}");
        number += 1;
    }
    Ok(name)
}

/// The lines of an order that a draft makes.
pub fn order_lines(draft: &Draft) -> Vec<OrderLine> {
    let line = |(n, l): (usize, &DraftLine)| OrderLine {
        line: n as i64 + 1,
        item: l.item,
        packs: l.packs,
        pack: l.pack,
        price: l.price,
    };
    draft.lines.iter().enumerate().map(line).collect()
}

/// Keeps a draft as somebody changed it; not over what another terminal made of it meanwhile.
///
/// # Errors
/// [`DeskError`].
pub fn keep_draft(store: &Store, view: &DraftView, now: Moment) -> Result<DraftKept, DeskError> {
    store.write((Deed::Draft, now), |conn| keep(conn, view))
}

fn keep(conn: &Connection, view: &DraftView) -> Result<DraftKept, DeskError> {
    let lines = order_lines(&view.draft);
    let drafts = orders::list(conn, &[OrderState::Draft])?;
    let theirs = drafts.into_iter().find(|order| match view.order {
        Some(id) => order.id == id,
        None => order.supplier == view.draft.supplier,
    });
    if let Some(theirs) = theirs.filter(|theirs| theirs.lines != view.seen) {
        return Ok(DraftKept::Twice(Box::new(theirs)));
    }
    match view.order {
        Some(id) => {
            let there = orders::get(conn, id)?;
            if there.state != OrderState::Draft {
                let (name, state) = (there.name, there.state);
                return Err(refused(say!(
                    "“{name}” is {state} meanwhile, from another terminal; look at it anew",
                    name,
                    state
                )));
            }
            orders::put_lines(conn, id, &lines)?;
            Ok(DraftKept::Kept(id))
        }
        None => Ok(DraftKept::Kept(orders::create(
            conn,
            &Order {
                id: OrderId(0),
                name: view.name.clone(),
                supplier: view.draft.supplier,
                state: OrderState::Draft,
                placed: None,
                expected: None,
                lines,
            },
        )?)),
    }
}

/// Forgets the changes to a draft, so that it is as suggested again.
///
/// # Errors
/// [`DeskError`].
pub fn forget_draft(store: &Store, id: OrderId, now: Moment) -> Result<(), DeskError> {
    store.write((Deed::Draft, now), |conn| Ok(orders::delete_draft(conn, id)?))
}

/// Marks a draft as sent: it is on order from now on.
///
/// # Errors
/// [`DeskError`]: there is nothing in it.
pub fn send(store: &Store, view: &DraftView, now: Moment) -> Result<DraftKept, DeskError> {
    store.write((Deed::OrderSent, now), |conn| {
        let mut view = view.clone();
        view.draft.lines.retain(|l| l.packs > 0);
        if view.draft.lines.is_empty() {
            return Err(refused(word!("there is nothing in this order to send").to_owned()));
        }
        let kept = keep(conn, &view)?;
        if let DraftKept::Kept(id) = kept {
            let expected = view.draft.deadline.map(|d| d.comes);
            orders::set_state(conn, id, OrderState::Sent, Some(now), expected)?;
        }
        Ok(kept)
    })
}

/// The order that a draft makes on a day, with a note to the supplier where there is one.
pub fn document(setup: &Setup, view: &DraftView, note: Option<&str>, now: Moment) -> OrderDocument {
    let day = setup.venue.days.day_of(now);
    let document = setup.venue.speech().while_in(|| OrderDocument::new(setup, &view.draft, &view.name, day));
    match note {
        Some(note) => document.with_note(note),
        None => document,
    }
}

/// Writes an order in some forms; says where. Files that are there already are replaced.
///
/// # Errors
/// [`DeskError`]: nothing is in the order, or a file cannot be written.
pub fn write_files(document: &OrderDocument, folder: &Path, forms: &[Form]) -> Result<Vec<PathBuf>, DeskError> {
    if document.lines.is_empty() {
        return Err(refused(word!("there is nothing in this order to write").to_owned()));
    }
    Ok(documents::write_order(folder, document, forms)?)
}

/// Orders that can be received, the earliest expected first.
///
/// # Errors
/// [`DeskError`].
pub fn receivable(store: &Store, setup: &Setup) -> Result<Vec<ReceiveView>, DeskError> {
    store.read(|conn| {
        let mut sent = orders::list(conn, &[OrderState::Sent])?;
        sent.sort_by(|a, b| (a.expected, &a.name).cmp(&(b.expected, &b.name)));
        let view = |order: Order| {
            let checks = checks::of(conn, order.id)?;
            let line = |l: &OrderLine| {
                let kept = checks.iter().find(|check| check.line == l.line).cloned();
                ReceiveLine {
                    line: l.line,
                    item: l.item,
                    ordered: l.containers(),
                    pack: l.pack,
                    price: per_container(setup, l.price, l.pack),
                    came: kept.as_ref().map(|check| check.came),
                    charged: kept.as_ref().and_then(|check| check.charged),
                    place: kept.as_ref().map_or_else(|| setup.store_of(l.item), |check| check.place),
                    kept,
                }
            };
            Ok(ReceiveView { lines: order.lines.iter().map(line).collect(), order })
        };
        sent.into_iter().map(view).collect()
    })
}

/// Keeps what somebody said came of lines of an order on its way. What somebody else said of a line since is left as it is
/// and given back, for a person to say which of the two stands.
///
/// # Errors
/// [`DeskError`]: the order is not on its way any more.
pub fn check(
    store: &Store,
    id: OrderId,
    checks: &[Checking],
    by: Option<&str>,
    now: Moment,
) -> Result<Vec<Checking>, DeskError> {
    store.write((Deed::Checked, now), |conn| {
        let order = orders::get(conn, id)?;
        if order.state != OrderState::Sent {
            return Err(refused(say!(
                "the order “{order}” is {state} meanwhile, at another terminal",
                order = order.name,
                state = order.state
            )));
        }
        let by = signed(conn, by)?;
        let there = checks::of(conn, id)?;
        let mut theirs = Vec::new();
        for Checking { item, now: ours, known } in checks {
            let stands = there.iter().find(|check| check.line == ours.line);
            let other = stands.filter(|stands| !known.as_ref().is_some_and(|known| known.says_as(stands)));
            match other.filter(|other| !other.says_as(ours)) {
                Some(other) => theirs.push(Checking { item: *item, now: ours.clone(), known: Some(other.clone()) }),
                None if stands.is_some_and(|stands| stands.says_as(ours)) => {}
                None => checks::put(conn, id, &Check { by: by.clone(), ..ours.clone() }, now)?,
            }
        }
        Ok(theirs)
    })
}

fn per_container(setup: &Setup, pack_price: Money, pack: i64) -> Price {
    let whole = Price::from_money(pack_price, setup.venue.currency);
    Price(Money(whole.0).times(1, pack).0)
}

/// Books a delivery against its order. Lines that came in part or not at all stay on order under a new name when
/// `keep_rest`, and are given up otherwise. Says how many lines were booked, and the name of the rest.
///
/// # Errors
/// [`DeskError`]: a line was not looked at, the document was booked before, or nothing came.
pub fn receive(
    store: &Store,
    view: &ReceiveView,
    document: &str,
    keep_rest: bool,
    by: Option<&str>,
    now: Moment,
) -> Result<(usize, Option<String>), DeskError> {
    store.write((Deed::Delivery, now), |conn| {
        let setup = crate::store::setup::load(conn)?;
        let order = orders::get(conn, view.order.id)?;
        if order.state != OrderState::Sent {
            return Err(refused(say!(
                "the order “{order}” is {state} already",
                order = order.name,
                state = order.state
            )));
        }
        let known = |check: &Check| view.lines.iter().filter_map(ReceiveLine::check).any(|line| line.says_as(check));
        if let Some(other) = checks::of(conn, order.id)?.into_iter().find(|check| !known(check)) {
            let name = view.lines.iter().find(|line| line.line == other.line).map_or("?", |l| setup.item_name(l.item));
            let who = other.by.as_deref().unwrap_or(word!("another terminal"));
            return Err(refused(say!(
                "{who} said meanwhile that {came} {name} came: look at it once more",
                who,
                came = other.came,
                name
            )));
        }
        if let Some(open) = view.lines.iter().find(|l| l.came.is_none()) {
            let name = setup.item_name(open.item);
            return Err(refused(say!("say how much {name} came; 0 if none did", name)));
        }
        let document = typed(word!("the document"), document)?;
        if document.is_empty() {
            return Err(refused(word!("the delivery needs a document number; the order's name will do").to_owned()));
        }
        if journal::has_document(conn, order.supplier, &document)? {
            return Err(refused(say!(
                "a delivery with document “{document}” of this supplier is booked already",
                document
            )));
        }
        let day = setup.venue.days.day_of(now);
        let mut booked = 0;
        for (n, line) in view.lines.iter().enumerate() {
            let came = line.came.unwrap_or(0);
            if came == 0 {
                continue;
            }
            let delivery = Delivery {
                seq: Seq(0),
                document: document.clone(),
                line: n as i64 + 1,
                at: now,
                supplier: order.supplier,
                item: line.item,
                containers: came,
                unit_price: line.charged.unwrap_or(line.price),
                place: line.place,
                deposit: None,
            };
            journal::add_delivery(conn, &delivery, by, now, day)?;
            booked += 1;
        }
        if booked == 0 && !keep_rest {
            return Err(refused(word!("nothing came; keep the rest on order, or type what was carried in").to_owned()));
        }
        let came: Vec<i64> = view.lines.iter().map(|line| line.came.unwrap_or(0)).collect();
        Ok((booked, finish(conn, &setup, &order, &came, keep_rest, now)?))
    })
}

/// An order came: it is done. With `keep_rest`, what did not come of it is on order again; says under which name.
pub(super) fn finish(
    conn: &Connection,
    setup: &Setup,
    order: &Order,
    came: &[i64],
    keep_rest: bool,
    now: Moment,
) -> Result<Option<String>, DeskError> {
    orders::set_state(conn, order.id, OrderState::Received, order.placed, order.expected)?;
    let rest = rest_of(order, came);
    if !keep_rest || rest.is_empty() {
        return Ok(None);
    }
    let name = rest_name(conn, order)?;
    let next = setup.next_van(order.supplier, now);
    let still_to_come =
        Order { id: OrderId(0), name: name.clone(), expected: next.map(|d| d.comes), lines: rest, ..order.clone() };
    orders::create(conn, &still_to_come)?;
    Ok(Some(name))
}

/// What did not come, given how many containers of each line did: whole packs where whole packs are missing, else one
/// pack of the containers missing.
fn rest_of(order: &Order, came: &[i64]) -> Vec<OrderLine> {
    let mut out = Vec::new();
    for (line, came) in order.lines.iter().zip(came) {
        let missing = line.containers() - came;
        if missing <= 0 {
            continue;
        }
        let number = out.len() as i64 + 1;
        out.push(if missing % line.pack == 0 {
            OrderLine { line: number, packs: missing / line.pack, ..line.clone() }
        } else {
            // One pack of just what is missing: its price is rounded once, not container by container.
            OrderLine {
                line: number,
                packs: 1,
                pack: missing,
                price: line.price.times(missing, line.pack),
                ..line.clone()
            }
        });
    }
    out
}

/// What is on order of an order once more of it came: `B-11 rest`, then `B-11 rest 2`, never the rest of a rest.
fn rest_name(conn: &Connection, order: &Order) -> Result<String, DeskError> {
    let base = format!("{} rest", order.first_name());
    let mut rest = base.clone();
    let mut number = 2;
    while orders::find(conn, &rest)?.is_some() {
        rest = format!("{base} {number}");
        number += 1;
    }
    Ok(rest)
}

/// Gives up an order that was sent: it is not on order any more.
///
/// # Errors
/// [`DeskError`].
pub fn give_up(store: &Store, id: OrderId, now: Moment) -> Result<(), DeskError> {
    store.write((Deed::OrderGivenUp, now), |conn| {
        let order = orders::get(conn, id)?;
        if order.state != OrderState::Sent {
            return Err(refused(say!(
                "“{order}” is {state} and cannot be given up",
                order = order.name,
                state = order.state
            )));
        }
        Ok(orders::set_state(conn, id, OrderState::Closed, order.placed, order.expected)?)
    })
}
