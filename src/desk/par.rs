//! Pars: looked at, set by hand, given over to demand, tried on the past.

use super::expecting::prospects;
use super::situation::{Situation, situation};
use super::{DeskError, Pace, gauging, refused};
use crate::domain::drink::Larder;
use crate::domain::measure::{Amount, number_of};
use crate::domain::par::{ItemPar, PastVan, Prospects, Trial, Tried, Wishes, item_pars};
use crate::domain::rows::{self, Lately, LookBack, LookBackRow, ParChange, ParSet, ParView, check_par};
use crate::domain::venue::{Containers, Deed, Item, ItemId, Moment, ParFrom, Setup, SupplierId};
use crate::store::{Connection, Store, setup};
use chrono::{Days, NaiveDate};
use std::collections::HashMap;
use std::sync::Arc;

/// Days before those that a look back goes over, so that there is something to expect by.
const LEARNED_FIRST: usize = 28;
/// Days after the last one of which orders must know.
const BEYOND: usize = 42;

/// Every item with its pars and its cover.
///
/// # Errors
/// [`DeskError`].
pub fn view(store: &Store, now: Moment) -> Result<ParView, DeskError> {
    store.read(|conn| {
        let situation = situation(conn, now, None)?;
        let (view, _) = view_of(conn, &situation)?;
        Ok(view)
    })
}

pub(super) fn view_of(conn: &Connection, situation: &Situation) -> Result<(ParView, Arc<Prospects>), DeskError> {
    let Situation { setup, gauges, now, standing, sent, costs, .. } = situation;
    let prospects = prospects(conn, setup, gauges, *now)?;
    let larder = Larder::with(setup, costs.clone(), setup.venue.days.day_of(*now));
    let pars = item_pars(setup, &prospects, standing, sent, &larder, *now);
    let unit = |item: &Item| {
        let cost = larder.costs.of(item.id)?.exact(Amount(1_000_000)).minor(setup.venue.currency) / 1e6;
        Some((item.id, cost))
    };
    let unit: HashMap<ItemId, f64> = setup.items.iter().filter_map(unit).collect();
    let asked = &prospects.asked;
    let known = (!asked.rung.is_empty()).then(|| asked.first..=asked.last());
    let last_sale = prospects.last_sale;
    let lately = Lately::of(&prospects);
    Ok((ParView { setup: setup.clone(), now: *now, pars, unit, known, last_sale, lately }, prospects))
}

/// Sets an item's par by hand, in containers as typed; nothing typed takes it away. From then on it rules. Says what was
/// changed; nothing where it was so already.
///
/// # Errors
/// [`DeskError`]: it is no number of containers.
pub fn set_by_hand(
    store: &Store,
    item: ItemId,
    containers: Option<Containers>,
    now: Moment,
) -> Result<Option<ParChange>, DeskError> {
    if let Some(par) = containers {
        check_par(par).map_err(refused)?;
    }
    store.write((Deed::Par, now), |conn| {
        let setup = setup::load(conn)?;
        let item = gauging::known(&setup, item)?;
        change(conn, item, ParSet { hand: containers, from: None })
    })
}

/// Lets the pars of some items be ruled by demand, or by hand again. Says what was changed. Those without a par set by
/// hand cannot be ruled by it and stay as they are.
///
/// # Errors
/// [`DeskError`].
pub fn rule(store: &Store, items: &[ItemId], from: ParFrom, now: Moment) -> Result<Vec<ParChange>, DeskError> {
    store.write((Deed::Par, now), |conn| {
        let setup = setup::load(conn)?;
        let mut changed = Vec::new();
        for id in items {
            let item = gauging::known(&setup, *id)?;
            if item.par_is_from() == from || (from == ParFrom::Hand && item.par.is_none()) {
                continue;
            }
            // What is usual is not written down.
            let usual = Item { par_from: None, ..item.clone() }.par_is_from() == from;
            changed.extend(change(conn, item, ParSet { hand: item.par, from: (!usual).then_some(from) })?);
        }
        Ok(changed)
    })
}

/// Puts pars back as they were before they were changed.
///
/// # Errors
/// [`DeskError`]: one of them was changed again since; then none is put back.
pub fn put_back(store: &Store, changes: &[ParChange], now: Moment) -> Result<(), DeskError> {
    store.write((Deed::Par, now), |conn| {
        let setup = setup::load(conn)?;
        for done in changes {
            let item = gauging::known(&setup, done.item)?;
            if set_of(item) != done.now {
                return Err(refused(say!(
                    "the par of {name} was changed elsewhere meanwhile, so nothing is put back; look at it anew",
                    name = item.name
                )));
            }
            change(conn, item, done.was)?;
        }
        Ok(())
    })
}

/// How an item's par is set.
fn set_of(item: &Item) -> ParSet {
    ParSet { hand: item.par, from: item.par_from }
}

/// Sets an item's par otherwise; nothing where it is so already.
fn change(conn: &Connection, item: &Item, to: ParSet) -> Result<Option<ParChange>, DeskError> {
    let was = set_of(item);
    if was == to {
        return Ok(None);
    }
    setup::put_item(conn, &Item { par: to.hand, par_from: to.from, ..item.clone() })?;
    Ok(Some(ParChange { item: item.id, was, now: to }))
}

/// What the pars by hand and by demand would have done over the last weeks that the book knows. `pace` is told how many
/// items were tried.
///
/// # Errors
/// [`DeskError`]: the book knows too few days, or it was stopped.
pub fn look_back(store: &Store, weeks: usize, now: Moment, pace: &mut Pace<'_>) -> Result<LookBack, DeskError> {
    store.read(|conn| {
        let situation = situation(conn, now, None)?;
        let (view, prospects) = view_of(conn, &situation)?;
        let setup = &situation.setup;
        let known = prospects.asked.rung.len();
        if known < LEARNED_FIRST + 7 {
            let known = number_of(known as u64, word!("day"), word!("days"));
            return Err(refused(say!(
                "the book knows sales of {known}; a look back needs four weeks to learn from and one to try a par on",
                known
            )));
        }
        let days = (7 * weeks).clamp(7, known - LEARNED_FIRST);
        let first = known - days;
        let from = day_after(prospects.asked.first, first);
        let shares: Vec<f64> = (0..known + BEYOND).map(|at| share(&prospects, setup, at)).collect();
        let vans = past_vans(setup, from, prospects.asked.last());
        let larder = Larder::with(setup, situation.costs.clone(), setup.venue.days.day_of(now));
        let mut rows = Vec::new();
        for (n, par) in view.pars.iter().enumerate().filter(|(_, par)| !par.made_here) {
            if pace(n as u64, view.pars.len() as u64).is_break() {
                return Err(DeskError::Stopped);
            }
            let row = tried(setup, &prospects, par, &larder, (first, &shares), &vans);
            rows.extend(row);
        }
        let unit = |item: ItemId| view.unit.get(&item).copied().unwrap_or_default();
        Ok(LookBack::new(from..=prospects.asked.last(), rows, unit))
    })
}

fn day_after(day: NaiveDate, days: usize) -> NaiveDate {
    day.checked_add_days(Days::new(days as u64)).unwrap_or(day)
}

/// How much of a usual day a day was, or is to be; nothing for one without trade.
fn share(prospects: &Prospects, setup: &Setup, at: usize) -> f64 {
    match prospects.past.factor.get(at) {
        Some(factor) => *factor,
        None => prospects.factor(setup, day_after(prospects.asked.first, at)),
    }
}

/// The vans of every supplier whose deadline was on some of the days.
fn past_vans(setup: &Setup, from: NaiveDate, to: NaiveDate) -> HashMap<SupplierId, Vec<PastVan>> {
    let rule = setup.venue.days;
    let before = Moment(rule.begins(from).0 - 1);
    let of = |supplier: SupplierId| {
        let mut out: Vec<PastVan> = Vec::new();
        for van in setup.vans(supplier, before) {
            let ordered = rule.day_of(van.by);
            if ordered > to {
                break;
            }
            let later = setup.vans(supplier, van.by).find(|later| later.comes > van.comes);
            let until = later.map_or_else(|| day_after(van.comes, 7), |later| later.comes);
            out.push(PastVan { ordered, comes: van.comes, until });
        }
        out
    };
    setup.suppliers.iter().map(|s| (s.id, of(s.id))).collect()
}

/// An item's pars, tried; nothing of one that nobody offers, without fixed days, or of which too little is known.
fn tried(
    setup: &Setup,
    prospects: &Prospects,
    par: &ItemPar,
    larder: &Larder,
    (first, shares): (usize, &[f64]),
    vans: &HashMap<SupplierId, Vec<PastVan>>,
) -> Option<LookBackRow> {
    let item = setup.item(par.item)?;
    let outlook = par.outlook.as_ref()?;
    let vans = vans.get(&par.usual?).filter(|vans| !vans.is_empty())?;
    let pack = setup.cheapest_offer(par.item, par.ahead.today)?.pack;
    let asked = prospects.asked.items.get(&par.item)?;
    let begins = prospects.asked.first_asked(par.item)?;
    let (asked, rates) = outlook.walked(&prospects.past, asked, prospects.told.get(&par.item).map(Vec::as_slice));
    let from = first.max(begins);
    let trial = Trial {
        outlook,
        first: day_after(prospects.asked.first, from),
        asked: &asked[from - begins..],
        rates: &rates[from - begins..],
        shares: &shares[from..],
        vans,
        size: item.size,
        pack,
    };
    let wishes = Wishes::of(setup, item, 0.0, prospects.asked.items.get(&par.item), larder);
    Some(LookBackRow {
        item: par.item,
        hand: par.hand.map(|hand| trial.run(Tried::Hand(hand))),
        computed: trial.run(Tried::Computed(&wishes)),
    })
}

/// A par as typed: a number of containers, or nothing.
///
/// # Errors
/// [`DeskError`], which says what was expected.
pub fn typed_par(text: &str) -> Result<Option<Containers>, DeskError> {
    rows::typed_par(text).map_err(refused)
}
