//! What sales asked for, day by day.

use super::sold::{Take, add_takes, changes};
use crate::domain::ledger::Sale;
use crate::domain::measure::Amount;
use crate::domain::venue::{DrinkId, ItemId, Setup, TillMeaning};
use chrono::{Days, NaiveDate};
use std::collections::{BTreeMap, HashMap};
use std::ops::RangeInclusive;

/// How many of each drink were rung, in thousandths: double portions as two.
pub fn sold_drinks(setup: &Setup, sales: &[Sale]) -> HashMap<DrinkId, i64> {
    let mut of_till: HashMap<_, i64> = HashMap::new();
    for sale in sales {
        *of_till.entry(sale.till).or_default() += sale.took();
    }
    let mut out: HashMap<DrinkId, i64> = HashMap::new();
    for (till, took) in of_till {
        if let TillMeaning::Drink { drink, portion } = setup.meaning(till) {
            *out.entry(drink).or_default() += Amount(took).times(portion, 1_000).0;
        }
    }
    out
}

/// What was asked of one item.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Asked {
    /// On every business day looked at from the first on which it was asked, quiet ones with nothing: before, it was not
    /// yet on any menu. All of them with nothing where it never was.
    pub daily: BTreeMap<NaiveDate, Amount>,
    /// By drink: how many were rung, in thousandths, and what they took.
    pub by_drink: HashMap<DrinkId, (i64, Amount)>,
}

/// What sales asked of some items on the business days of a stretch, by the specs and recipes of each day; what is made
/// here of them asks for them as well. Quantities are summed before they are multiplied, as in [`sold`](super::sold()).
pub fn asked(
    setup: &Setup,
    sales: &[Sale],
    items: &[ItemId],
    days: RangeInclusive<NaiveDate>,
) -> HashMap<ItemId, Asked> {
    let changes = changes(setup);
    let mut takes: Vec<Take> = Vec::new();
    let mut known: HashMap<(_, usize), (Vec<usize>, Vec<usize>)> = HashMap::new();
    let mut rung: HashMap<(usize, NaiveDate), i64> = HashMap::new();
    // Every drink that asks for an item, once however many ways it takes it, and how many thousandths of it were rung.
    let mut drinks: Vec<(ItemId, DrinkId, i128)> = Vec::new();
    for sale in sales {
        let took = sale.took();
        let day = setup.venue.days.day_of(sale.at);
        if took == 0 || !days.contains(&day) {
            continue;
        }
        let epoch = changes.partition_point(|change| *change <= sale.at);
        let TillMeaning::Drink { drink, portion } = setup.meaning(sale.till) else { continue };
        let (indices, of_drink) = known.entry((sale.till, epoch)).or_insert_with(|| {
            let (from, from_drink) = (takes.len(), drinks.len());
            // Each by itself, so that what another of them takes of it is asked of it as well.
            for &item in items {
                let (own, before) = (|of: ItemId| of == item, takes.len());
                add_takes(setup, &own, (sale.till, drink, portion), sale.at, &mut takes);
                let others = takes.split_off(before);
                takes.extend(others.into_iter().filter(|take| own(take.share.item)));
                if takes.len() > before {
                    drinks.push((item, drink, 0));
                }
            }
            ((from..takes.len()).collect(), (from_drink..drinks.len()).collect())
        });
        for index in of_drink.iter() {
            drinks[*index].2 += i128::from(took) * i128::from(portion);
        }
        for index in indices.iter() {
            *rung.entry((*index, day)).or_default() += took;
        }
    }
    let quiet: BTreeMap<NaiveDate, Amount> =
        days.start().iter_days().take_while(|day| day <= days.end()).map(|day| (day, Amount::ZERO)).collect();
    let mut out: HashMap<ItemId, Asked> = HashMap::new();
    for &item in items {
        out.insert(item, Asked { daily: quiet.clone(), by_drink: HashMap::new() });
    }
    for ((index, day), quantity) in rung {
        let take = &takes[index];
        let Some(asked) = out.get_mut(&take.share.item) else { continue };
        let amount = take.share.of(quantity);
        *asked.daily.entry(day).or_default() += amount;
        asked.by_drink.entry(take.drink).or_default().1 += amount;
    }
    for (item, drink, thousandths) in drinks {
        if let Some(asked) = out.get_mut(&item) {
            let many = i64::try_from(thousandths / 1_000).unwrap_or(i64::MAX);
            let (sum, _) = asked.by_drink.entry(drink).or_default();
            *sum = sum.saturating_add(many);
        }
    }
    for asked in out.values_mut() {
        let first = asked.daily.iter().find(|(_, amount)| **amount != Amount::ZERO).map(|(day, _)| *day);
        if let Some(first) = first {
            asked.daily = asked.daily.split_off(&first);
        }
    }
    out
}

/// The business days of which a book can say what was asked: up to the last one with sales, since what is not imported
/// yet is unknown and not nothing; without the day that runs; from the first one with sales, and at most so many.
pub fn known_days(setup: &Setup, sales: &[Sale], running: NaiveDate, most: u64) -> Option<RangeInclusive<NaiveDate>> {
    let day_of = |sale: &Sale| setup.venue.days.day_of(sale.at);
    let first = day_of(sales.iter().min_by_key(|sale| sale.at)?);
    let last = day_of(sales.iter().max_by_key(|sale| sale.at)?).min(running.pred_opt()?);
    let earliest = last.checked_sub_days(Days::new(most.saturating_sub(1)))?;
    (first <= last).then(|| first.max(earliest)..=last)
}
