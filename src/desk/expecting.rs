//! What the days to come will ask, from what was asked: read once, and looked at by pars, orders and batches.

use super::drinks::sales_of;
use super::situation::Situation;
use super::{DeskError, gauging};
use crate::domain::drink::Larder;
use crate::domain::gauge::Gauges;
use crate::domain::ledger::{Batch, CountLine, Delivery};
use crate::domain::measure::Amount;
use crate::domain::par::{Hours, ItemPar, Prospects, item_pars};
use crate::domain::usage::{AskedDays, AskedSoFar, DayTold, Look, known_days, seems_dry, told};
use crate::domain::venue::{CountId, Item, ItemId, Moment, ParFrom, PlaceId, Setup};
use crate::store::mark::{self, Mark};
use crate::store::{Connection, Store, counts, day_totals, journal, setup};
use chrono::NaiveDate;
use std::collections::{BTreeMap, HashMap, HashSet};
use std::ops::RangeInclusive;
use std::sync::{Arc, Mutex, PoisonError};

/// Days of sales that are looked at: five years.
const DAYS: u64 = 5 * 366;
/// How long ago it still matters that something was dry.
const DRY_BACK: i64 = 400 * Moment::DAY;
/// Sales of so many days say how trade is spread over the hours.
const HOURS_OVER: u64 = 28;

/// What was worked out last, by whatever thread: it takes a while over years of sales, and they do not change from one key
/// to the next.
static LAST: Mutex<Option<Last>> = Mutex::new(None);

/// Prospects, and what they were made of.
struct Last {
    from: From,
    setup: Arc<Setup>,
    prospects: Arc<Prospects>,
}

/// What prospects are made of besides the set-up.
#[derive(Clone, Debug, PartialEq)]
struct From {
    facts: Mark,
    days: RangeInclusive<NaiveDate>,
    /// The last sale, as far as it is behind.
    last: Moment,
    today: NaiveDate,
}

/// Whether sales ask for the same, and are told from days without trade in the same way, by both set-ups.
fn ask_alike(a: &Setup, b: &Setup) -> bool {
    let sizes = |setup: &Setup| setup.items.iter().map(|item| (item.id, item.size)).collect::<Vec<_>>();
    a.venue.days == b.venue.days
        && a.special == b.special
        && a.drinks == b.drinks
        && a.recipes == b.recipes
        && a.till == b.till
        && sizes(a) == sizes(b)
}

/// What there is to work prospects out of; nothing without sales.
struct Known {
    days: RangeInclusive<NaiveDate>,
    last: Moment,
    /// Nothing where that cannot be told.
    from: Option<From>,
}

impl Known {
    fn of(conn: &Connection, setup: &Setup, now: Moment) -> Result<Option<Known>, DeskError> {
        let rule = setup.venue.days;
        let Some((first, last)) = day_totals::ends(conn)? else { return Ok(None) };
        let (last, today) = (last.min(now), rule.day_of(now));
        let Some(days) = known_days((rule.day_of(first), rule.day_of(last)), today, DAYS) else { return Ok(None) };
        let from = mark::mark(conn)?.map(|facts| From { facts, days: days.clone(), last, today });
        Ok(Some(Known { days, last, from }))
    }

    /// What was worked out before, where it still holds.
    fn at_hand(&self, setup: &Setup) -> Option<Arc<Prospects>> {
        // Whoever panicked while holding it has left what was there before.
        let last = LAST.lock().unwrap_or_else(PoisonError::into_inner);
        let holds = |last: &&Last| self.from.as_ref() == Some(&last.from) && ask_alike(&last.setup, setup);
        last.as_ref().filter(holds).map(|last| last.prospects.clone())
    }

    /// Sums of sales to go through, about.
    fn sums(&self, setup: &Setup) -> usize {
        let days = (*self.days.end() - *self.days.start()).num_days();
        usize::try_from(days).unwrap_or(0) * setup.till.len()
    }
}

/// Up to so many sums of sales are gone through without anybody noticing.
const UNNOTICED: usize = 40_000;

/// Whether what is to be expected is at hand, or worked out in no time.
///
/// # Errors
/// [`DeskError`].
pub(super) fn is_quick(conn: &Connection, setup: &Setup, now: Moment) -> Result<bool, DeskError> {
    let known = Known::of(conn, setup, now)?;
    // What cannot be told apart from other facts cannot be worked out beforehand either.
    Ok(known
        .is_none_or(|known| known.sums(setup) <= UNNOTICED || known.from.is_none() || known.at_hand(setup).is_some()))
}

/// Works out what is to be expected, so that it is at hand for whoever asks next.
///
/// # Errors
/// [`DeskError`].
pub fn prepare(store: &Store, now: Moment) -> Result<(), DeskError> {
    store.read(|conn| {
        let setup = Arc::new(setup::load(conn)?);
        let gauges = gauging::gauges(conn, &setup)?;
        prospects(conn, &setup, &gauges, now).map(drop)
    })
}

/// What is to be expected, as far as sales say.
///
/// # Errors
/// [`DeskError`].
pub(super) fn prospects(
    conn: &Connection,
    setup: &Arc<Setup>,
    gauges: &Gauges,
    now: Moment,
) -> Result<Arc<Prospects>, DeskError> {
    let Some(known) = Known::of(conn, setup, now)? else { return Ok(Arc::default()) };
    if let Some(prospects) = known.at_hand(setup) {
        return Ok(prospects);
    }
    let prospects = Arc::new(worked_out(conn, setup, gauges, (known.days, known.last), now)?);
    if let Some(from) = known.from {
        let last = Last { from, setup: setup.clone(), prospects: prospects.clone() };
        *LAST.lock().unwrap_or_else(PoisonError::into_inner) = Some(last);
    }
    Ok(prospects)
}

fn worked_out(
    conn: &Connection,
    setup: &Setup,
    gauges: &Gauges,
    (days, last): (RangeInclusive<NaiveDate>, Moment),
    now: Moment,
) -> Result<Prospects, DeskError> {
    let rule = setup.venue.days;
    let mut asked = AskedSoFar::new(setup, days.clone());
    day_totals::each_between(conn, &rule, *days.start(), *days.end(), |total| asked.add(&total))?;
    let mut asked = asked.done();
    let since = Moment(rule.begins(*days.start()).0 - 1);
    let told = dry_days(conn, setup, gauges, &asked, now)?;
    asked.add_losses(setup, &journal::losses(conn, since, now)?);
    let hours = Hours::new(rule, &sales_of(conn, now, HOURS_OVER)?);
    Ok(Prospects::new(setup, asked, told, hours, Some(last)))
}

/// Every item with its pars and its cover, by the demand that is to be expected.
///
/// # Errors
/// [`DeskError`].
pub(super) fn pars(conn: &Connection, situation: &Situation) -> Result<Vec<ItemPar>, DeskError> {
    let Situation { setup, gauges, now, standing, sent, costs, .. } = situation;
    let prospects = prospects(conn, setup, gauges, *now)?;
    let larder = Larder::with(setup, costs.clone(), setup.venue.days.day_of(*now));
    Ok(item_pars(setup, &prospects, standing, sent, &larder, *now))
}

/// The pars that rule, by item. Where all of them are set by hand, demand is not even looked at.
///
/// # Errors
/// [`DeskError`].
pub(super) fn ruling(conn: &Connection, situation: &Situation) -> Result<HashMap<ItemId, Amount>, DeskError> {
    let setup = &situation.setup;
    let by_hand = |item: &Item| Some((item.id, setup.par(item).filter(|_| item.stocked)?));
    if setup.items.iter().all(|item| item.par_is_from() == ParFrom::Hand) {
        return Ok(setup.items.iter().filter_map(by_hand).collect());
    }
    Ok(pars(conn, situation)?.iter().filter_map(|par| Some((par.item, par.rules()?))).collect())
}

/// The days that do not say what was asked of an item: only of items that were found empty, or that nobody asked for just
/// before they came, anything more is read.
fn dry_days(
    conn: &Connection,
    setup: &Setup,
    gauges: &Gauges,
    asked: &AskedDays,
    now: Moment,
) -> Result<HashMap<ItemId, Vec<DayTold>>, DeskError> {
    let rule = setup.venue.days;
    let since = rule.begins(asked.first).max(Moment(now.0 - DRY_BACK));
    let came = came(setup, asked, &journal::deliveries(conn, since, now)?, &journal::batches(conn, since, now)?);
    let mut suspects: HashSet<ItemId> = counts::found_empty(conn, since)?.into_iter().collect();
    let open: Vec<bool> = asked.rung.iter().map(|rung| *rung > 0).collect();
    for (item, came) in &came {
        if asked.items.get(item).is_some_and(|asked| seems_dry(&asked.daily, came, &open, asked.piece)) {
            suspects.insert(*item);
        }
    }
    let nothing = vec![0.0; asked.rung.len()];
    let mut out = HashMap::new();
    for item in suspects {
        let Some(of_item) = asked.items.get(&item) else { continue };
        let looks = looks(setup, gauges, asked.first, &counts::item_lines_since(conn, item, since)?);
        let told = told(&of_item.daily, came.get(&item).unwrap_or(&nothing), &looks, of_item.piece);
        if told.iter().any(|day| *day != DayTold::Whole) {
            out.insert(item, told);
        }
    }
    Ok(out)
}

/// What came of each item on each of the days, in base units.
fn came(setup: &Setup, asked: &AskedDays, deliveries: &[Delivery], batches: &[Batch]) -> HashMap<ItemId, Vec<f64>> {
    let mut out: HashMap<ItemId, Vec<f64>> = HashMap::new();
    let mut add = |item: ItemId, at: Moment, amount: Amount| {
        let day = usize::try_from((setup.venue.days.day_of(at) - asked.first).num_days());
        if let Ok(day) = day.map_err(drop).and_then(|day| if day < asked.rung.len() { Ok(day) } else { Err(()) }) {
            out.entry(item).or_insert_with(|| vec![0.0; asked.rung.len()])[day] += amount.as_f64();
        }
    };
    for delivery in deliveries.iter().filter(|delivery| delivery.containers > 0) {
        let size = setup.item(delivery.item).map_or(Amount::ZERO, |item| item.size);
        add(delivery.item, delivery.at, size.times(delivery.containers, 1));
    }
    for batch in batches {
        add(batch.item, batch.at, batch.made);
    }
    out
}

/// What counts found of an item: only of those that saw every place in which it was ever seen.
fn looks(setup: &Setup, gauges: &Gauges, first: NaiveDate, lines: &[CountLine]) -> Vec<Look> {
    let places: HashSet<PlaceId> = lines.iter().map(|line| line.place).collect();
    let mut by_count: BTreeMap<(Moment, CountId), Vec<&CountLine>> = BTreeMap::new();
    let begun: HashMap<CountId, Moment> = lines.iter().rev().map(|line| (line.count, line.at)).collect();
    for line in lines {
        let at = begun.get(&line.count).copied().unwrap_or(line.at);
        by_count.entry((at, line.count)).or_default().push(line);
    }
    let mut out = Vec::new();
    for of_count in by_count.into_values() {
        let mut newest: HashMap<PlaceId, &CountLine> = HashMap::new();
        for line in &of_count {
            newest.insert(line.place, line);
        }
        let Some(at) = of_count.iter().map(|line| line.at).max().filter(|_| newest.len() == places.len()) else {
            continue;
        };
        let Ok(day) = usize::try_from((setup.venue.days.day_of(at) - first).num_days()) else { continue };
        let amount = |line: &&CountLine| {
            let item = setup.item(line.item)?;
            Some(gauges.level(item, &line.entry, line.eye()).amount.as_f64())
        };
        out.push(Look { day, there: newest.values().filter_map(amount).sum() });
    }
    out
}
