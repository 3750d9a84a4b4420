//! What the days to come will ask, from what was asked: read once, and looked at by pars, orders and batches.

use super::DeskError;
use super::drinks::sales_of;
use super::situation::Situation;
use crate::domain::drink::Larder;
use crate::domain::gauge::Gauges;
use crate::domain::ledger::{Batch, CountLine, Delivery};
use crate::domain::measure::Amount;
use crate::domain::par::{Hours, ItemPar, Prospects, item_pars};
use crate::domain::usage::{AskedDays, DayTold, Look, known_days, seems_dry, told};
use crate::domain::venue::{CountId, Item, ItemId, Moment, ParFrom, PlaceId, Setup};
use crate::store::{Connection, counts, day_totals, journal};
use chrono::NaiveDate;
use std::collections::{BTreeMap, HashMap, HashSet};

/// Days of sales that are looked at: five years.
const DAYS: u64 = 5 * 366;
/// How long ago it still matters that something was dry.
const DRY_BACK: i64 = 400 * Moment::DAY;
/// Sales of so many days say how trade is spread over the hours.
const HOURS_OVER: u64 = 28;

/// What is to be expected, as far as sales say.
///
/// # Errors
/// [`DeskError`].
pub(super) fn prospects(
    conn: &Connection,
    setup: &Setup,
    gauges: &Gauges,
    now: Moment,
) -> Result<Prospects, DeskError> {
    let rule = setup.venue.days;
    let Some((first, last)) = day_totals::ends(conn)? else { return Ok(Prospects::default()) };
    let last = last.min(now);
    let Some(days) = known_days((rule.day_of(first), rule.day_of(last)), rule.day_of(now), DAYS) else {
        return Ok(Prospects::default());
    };
    let totals = day_totals::between(conn, &rule, *days.start(), *days.end())?;
    let mut asked = AskedDays::new(setup, &totals, days.clone());
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
    let by_hand = |item: &Item| Some((item.id, setup.par(item)?));
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
