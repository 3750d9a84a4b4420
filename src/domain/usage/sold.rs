//! Sold: what the specs say the sales took.

use super::budget::Poured;
use crate::domain::ledger::{Sale, Share, Span, Spans, explode, gcd};
use crate::domain::measure::{Amount, Money};
use crate::domain::venue::{DrinkId, ItemId, Moment, Setup, TillId, TillMeaning};
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// What one till name took of one item over the spans.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SoldPart {
    /// What the till called it.
    pub till: TillId,
    /// The drink it means.
    pub drink: DrinkId,
    /// The item it took.
    pub item: ItemId,
    /// The house-made item through which it took it, when that one is not counted itself.
    pub through: Option<ItemId>,
    /// How many were rung, in thousandths.
    pub quantity: i64,
    /// What that took, in the item's base unit.
    pub amount: Amount,
    /// What of it the spec allows for waste.
    pub waste: Amount,
}

/// Sales that nothing is known about: the till name has no meaning yet, or its drink has no spec.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, serde::Serialize)]
pub struct Unmapped {
    /// Lines.
    pub lines: i64,
    /// How many, in thousandths.
    pub quantity: i64,
    /// Net of tax.
    pub net: Money,
}

/// What sales took of each item.
#[derive(Clone, Debug, Default)]
pub struct Sold {
    /// By till name, drink and item, in no order.
    pub parts: Vec<SoldPart>,
    /// Sums by item.
    pub by_item: HashMap<ItemId, Amount>,
    /// What the pours of each item were like.
    pub poured: HashMap<ItemId, Poured>,
    /// What could not be told.
    pub unmapped: Unmapped,
    /// The same by till name, the most money first.
    pub unmapped_tills: Vec<(TillId, Unmapped)>,
    /// Items that sales took but that are not looked at.
    pub unseen: BTreeSet<ItemId>,
    /// Net sales of all lines in the whole stretch, mapped or not.
    pub net: Money,
}

/// What a thousandth of a till name rung takes of one item.
pub(super) struct Take {
    pub(super) till: TillId,
    pub(super) drink: DrinkId,
    pub(super) through: Option<ItemId>,
    pub(super) share: Share,
    /// What of it is for waste: hundredths of a percent of what is not.
    pub(super) waste: i64,
    /// How many pours it is: a double is two.
    pub(super) pours: f64,
    pub(super) quantity: i64,
}

/// The moments at which some spec or recipe changes, in order: between two of them every till name takes the same.
pub fn changes(setup: &Setup) -> Vec<Moment> {
    let days = setup.venue.days;
    let specs = setup.drinks.iter().flat_map(|d| d.specs.iter().filter_map(|(from, _)| *from));
    let recipes = setup.recipes.values().flat_map(|r| r.iter().filter_map(|(from, _)| *from));
    let mut out: Vec<Moment> = specs.chain(recipes).map(|day| days.begins(day)).collect();
    out.sort_unstable();
    out.dedup();
    out
}

/// Works out what sales took of every item in its span.
///
/// quantity × portion × spec amount × (1 + waste), by the spec and recipes valid on the sale's business day. Rung
/// quantities are summed first and multiplied once, so that the result is right to a microlitre however many lines
/// there are. House-made items that are not `counted` are taken from their ingredients.
pub fn sold(setup: &Setup, sales: &[Sale], spans: &Spans, counted: &dyn Fn(ItemId) -> bool) -> Sold {
    let changes = changes(setup);
    let mut takes: Vec<Take> = Vec::new();
    // Which takes a till name has between two changes, and from when to when each of their items is looked at.
    let mut known: HashMap<(TillId, usize), Vec<usize>> = HashMap::new();
    let mut looked_at: Vec<Option<Span>> = Vec::new();
    let mut unmapped: BTreeMap<TillId, Unmapped> = BTreeMap::new();
    let mut out = Sold::default();
    for sale in sales {
        out.net += sale.money();
        let took = sale.took();
        if took == 0 {
            continue;
        }
        let epoch = changes.partition_point(|c| *c <= sale.at);
        let indices = known.entry((sale.till, epoch)).or_insert_with(|| {
            let from = takes.len();
            if let TillMeaning::Drink { drink, portion } = setup.meaning(sale.till) {
                add_takes(setup, counted, (sale.till, drink, portion), sale.at, &mut takes);
            }
            for take in &takes[from..] {
                let span = spans.get(&take.share.item).copied();
                if span.is_none() {
                    out.unseen.insert(take.share.item);
                }
                looked_at.push(span);
            }
            (from..takes.len()).collect()
        });
        for &index in indices.iter() {
            if looked_at[index].is_some_and(|span| span.holds(sale.at)) {
                takes[index].quantity += took;
            }
        }
        if indices.is_empty() && setup.meaning(sale.till) != TillMeaning::Ignored {
            for sum in [&mut out.unmapped, unmapped.entry(sale.till).or_default()] {
                sum.lines += 1;
                sum.quantity += took;
                sum.net += sale.net;
            }
        }
    }
    out.unmapped_tills = unmapped.into_iter().collect();
    out.unmapped_tills.sort_by_key(|(_, sum)| std::cmp::Reverse(sum.net));
    for take in takes.into_iter().filter(|t| t.quantity != 0) {
        let amount = take.share.of(take.quantity);
        let waste = amount.times(take.waste, 10_000 + take.waste);
        if let Some(item) = setup.item(take.share.item) {
            let pours = take.pours * take.quantity as f64 / 1_000.0;
            let poured = take.share.of(1_000) - take.share.of(1_000).times(take.waste, 10_000 + take.waste);
            let one = Amount::rounded(poured.as_f64() / take.pours);
            out.poured.entry(item.id).or_default().add(setup, item, pours, one, waste);
        }
        *out.by_item.entry(take.share.item).or_default() += amount;
        out.parts.push(SoldPart {
            till: take.till,
            drink: take.drink,
            item: take.share.item,
            through: take.through,
            quantity: take.quantity,
            amount,
            waste,
        });
    }
    out
}

/// What a thousandth of a till name takes that stands for a drink and a portion of it in thousandths, at a moment.
pub(super) fn add_takes(
    setup: &Setup,
    counted: &dyn Fn(ItemId) -> bool,
    (till, drink, portion): (TillId, DrinkId, i64),
    at: Moment,
    takes: &mut Vec<Take>,
) {
    let day = setup.venue.days.day_of(at);
    let Some((_, spec)) = setup.drink(drink).and_then(|d| d.specs.at(day)) else { return };
    for part in spec {
        // µl × portion thousandths × (1 + waste), for a thousandth rung.
        let numerator = i128::from(part.amount.0) * i128::from(portion) * i128::from(10_000 + part.waste);
        let denominator = 1_000_i128 * 1_000 * 10_000;
        let common = gcd(numerator, denominator);
        let share = Share { item: part.item, numerator: numerator / common, denominator: denominator / common };
        let mut shares = Vec::new();
        explode(setup, counted, at, share, 0, &mut shares);
        takes.extend(shares.into_iter().map(|share| Take {
            till,
            drink,
            through: (share.item != part.item).then_some(part.item),
            share,
            waste: part.waste,
            pours: (portion as f64 / 1_000.0).max(1.0),
            quantity: 0,
        }));
    }
}
