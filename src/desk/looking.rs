//! Looking: what is due tonight, what is in stock.

use super::DeskError;
use super::situation::{Situation, situation};
use super::{expecting, house, ordering};
use crate::domain::measure::Amount;
use crate::domain::par::ItemPar;
use crate::domain::rows::{
    ClaimsRow, DeadlineOrder, DeadlineRow, ExpectedRow, LowRow, Progress, StockRow, Tonight, dry_rows,
};
use crate::domain::usage::Unmapped;
use crate::domain::venue::{Moment, PlaceId, Setup, Supplier, SupplierId, TillMeaning, name_key};
use crate::store::{Connection, Store, bills, counts, sales};
use std::collections::HashSet;
use std::sync::Arc;

/// Sales of till names without a meaning are looked for over four weeks.
const UNMAPPED_DAYS: i64 = 28;

/// What is due.
///
/// # Errors
/// [`DeskError`].
pub fn tonight(store: &Store, now: Moment) -> Result<(Arc<Setup>, Tonight), DeskError> {
    store.read(|conn| {
        let situation = situation(conn, now, None)?;
        let setup = situation.setup.clone();
        let mut rows = tonight_of(conn, &situation)?;
        if !setup.venue.rights.sees_stock() {
            // What runs low tells a blind count what it should find.
            (rows.dry, rows.low) = (Vec::new(), Vec::new());
            rows.past_date.iter_mut().for_each(|row| row.left = None);
        }
        Ok((setup, rows))
    })
}

fn tonight_of(conn: &Connection, situation: &Situation) -> Result<Tonight, DeskError> {
    let (setup, now) = (&situation.setup, situation.now);
    let day = setup.venue.days.day_of(now);
    let open_count = match counts::open_count(conn)? {
        Some(count) => {
            let places = counts::places(conn, count.id)?;
            let done = counts::lines(conn, count.id)?.len();
            let of = setup.spots().filter(|s| places.contains(&s.place)).count().max(done);
            Some((count, Progress { done, of }))
        }
        None => None,
    };
    // Counted is an evening of which every place in use was seen, in one count or in several.
    let tonight = situation.latest.iter().filter(|l| setup.venue.days.day_of(l.at) == day);
    let seen: HashSet<PlaceId> = tonight.map(|l| l.place).collect();
    let counted = open_count.is_none() && !seen.is_empty() && setup.spots().all(|s| seen.contains(&s.place));
    let last_in = |place| situation.latest.iter().filter(|l| l.place == place).map(|l| l.at).max();
    // Nobody waits for years of sales to be gone through before the first screen stands.
    let quick = expecting::is_quick(conn, setup, now)?;
    let pars = if quick { Some(expecting::pars(conn, situation)?) } else { None };
    let view = pars.as_ref().map(|pars| ordering::view(conn, situation, pars, None)).transpose()?;
    let order = |supplier: SupplierId| {
        let draft = &view.as_ref()?.drafts.iter().find(|view| view.draft.supplier == supplier)?.draft;
        let lines = draft.lines.iter().filter(|l| l.packs > 0).count();
        Some(DeadlineOrder { lines, totals: draft.totals(setup) })
    };
    let deadline = |supplier: &Supplier| {
        let van = setup.next_van(supplier.id, now)?;
        Some(DeadlineRow { supplier: supplier.id, by: van.by, comes: van.comes, order: order(supplier.id) })
    };
    let mut deadlines: Vec<DeadlineRow> = setup.suppliers.iter().filter_map(deadline).collect();
    deadlines.sort_by_key(|d| d.by);
    let today = setup.venue.days.date_of(now);
    let mut expected: Vec<ExpectedRow> = situation
        .sent
        .iter()
        .map(|o| ExpectedRow {
            order: o.id,
            name: o.name.clone(),
            supplier: o.supplier,
            expected: o.expected,
            late: today.is_some_and(|today| o.late_by(today).is_some()),
            lines: o.lines.len(),
        })
        .collect();
    expected.sort_by(|a, b| (a.expected, &a.name).cmp(&(b.expected, &b.name)));
    let since = Moment(now.0 - UNMAPPED_DAYS * Moment::DAY);
    Ok(Tonight {
        day,
        counted,
        open_count,
        places: setup.places.iter().map(|p| (p.id, last_in(p.id))).collect(),
        deadlines,
        expected,
        past_date: house::past_date(conn, situation)?,
        claims: claims(conn)?,
        working_out: !quick,
        dry: pars.as_ref().map(|pars| dry_rows(setup, pars, now)).unwrap_or_default(),
        low: pars.as_deref().map(low).unwrap_or_default(),
        unmapped: unmapped(conn, setup, since)?,
    })
}

/// What is to be claimed, by supplier, the most money first.
fn claims(conn: &Connection) -> Result<Vec<ClaimsRow>, DeskError> {
    let mut rows: Vec<ClaimsRow> = Vec::new();
    for claim in bills::open_claims(conn)? {
        match rows.iter_mut().find(|row| row.supplier == claim.supplier) {
            Some(row) => {
                row.claims += 1;
                row.money += claim.money;
            }
            None => {
                let (supplier, money, since) = (claim.supplier, claim.money, claim.at);
                rows.push(ClaimsRow { supplier, claims: 1, money, since });
            }
        }
    }
    rows.sort_by_key(|row| std::cmp::Reverse(row.money));
    Ok(rows)
}

/// Till names that mean nothing yet, the most money first.
fn unmapped(conn: &Connection, setup: &Setup, since: Moment) -> Result<Vec<(String, Unmapped)>, DeskError> {
    if setup.till.iter().all(|name| name.means != TillMeaning::Unknown) {
        return Ok(Vec::new());
    }
    let rung = sales::rung_unmapped(conn, since)?.into_iter();
    let mut names: Vec<(String, Unmapped)> = rung
        .filter(|(_, r)| r.goods > 0)
        .filter_map(|(till, r)| {
            let sold = Unmapped { lines: r.goods, quantity: r.quantity, net: r.net };
            setup.till_name(till).map(|t| (t.name.clone(), sold))
        })
        .collect();
    names.sort_by_cached_key(|(name, sold)| (std::cmp::Reverse(sold.net), name_key(name)));
    Ok(names)
}

/// Items at half their par or less, those with the smallest part of it left first.
fn low(pars: &[ItemPar]) -> Vec<LowRow> {
    let mut rows: Vec<LowRow> = pars
        .iter()
        .filter_map(|par| {
            let need = par.need()?;
            let on_hand = need.on_hand?;
            let row =
                LowRow { item: need.item, on_hand, par: need.par, on_order: need.on_order, made_here: par.made_here };
            (need.par > Amount::ZERO && on_hand.amount.per(need.par) <= 0.5).then_some(row)
        })
        .collect();
    rows.sort_by(|a, b| a.on_hand.amount.per(a.par).total_cmp(&b.on_hand.amount.per(b.par)));
    rows
}

/// Everything in stock, by name.
///
/// # Errors
/// [`DeskError`].
pub fn stock(store: &Store, now: Moment) -> Result<(Arc<Setup>, Vec<StockRow>), DeskError> {
    store.read(|conn| {
        let situation = situation(conn, now, None)?;
        let setup = situation.setup.clone();
        let pars = expecting::ruling(conn, &situation)?;
        let row = |item: &crate::domain::venue::Item| {
            let there = situation.standing.items.get(&item.id);
            let value = there.and_then(|t| situation.costs.value(item.id, t.level.amount));
            StockRow {
                item: item.id,
                on_hand: there.map(|t| t.level),
                value: value.map(|value| value.round(setup.venue.currency)),
                par: pars.get(&item.id).copied(),
                on_order: situation.on_order.get(&item.id).copied().unwrap_or_default(),
                counted: there.map(|t| t.anchor.at),
                sold: there.map(|t| t.sold).unwrap_or_default(),
                places: there.map(|t| t.places.clone()).unwrap_or_default(),
            }
        };
        let there = |row: &StockRow| row.on_hand.is_some_and(|level| level.amount != Amount::ZERO);
        let stocked = |row: &StockRow| setup.item(row.item).is_some_and(|item| item.stocked) || there(row);
        let rows = setup.items.iter().map(row).filter(stocked).collect();
        Ok((setup.clone(), rows))
    })
}
