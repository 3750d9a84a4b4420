//! What movements did to each item over a stretch of time.

use super::Movements;
use crate::domain::measure::{Amount, decimal::round_half_even};
use crate::domain::venue::{Ingredient, ItemId, Moment, PlaceId, Recipe, Setup};
use chrono::NaiveDate;
use std::collections::HashMap;

/// The stretch over which one item is looked at: after `from`, up to and with `to`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Span {
    /// Not itself in it.
    pub from: Moment,
    /// The last moment in it.
    pub to: Moment,
}

impl Span {
    /// Whether a moment lies in it.
    pub fn holds(&self, at: Moment) -> bool {
        self.from < at && at <= self.to
    }
}

/// The spans of all items that are looked at.
pub type Spans = HashMap<ItemId, Span>;

/// Says whether a movement of an item, in a place or in none that was named, at a moment, is looked at.
pub type Scope<'a> = &'a dyn Fn(ItemId, Option<PlaceId>, Moment) -> bool;

/// What came and went, but for what was sold. All in the item's base unit.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, serde::Serialize)]
pub struct Flow {
    /// Delivered, less what went back.
    pub delivered: Amount,
    /// Made here.
    pub made: Amount,
    /// Carried in, less carried out; nothing when all of the bar is looked at.
    pub moved: Amount,
    /// Recorded losses.
    pub lost: Amount,
    /// Taken by batches of house-made items.
    pub batched: Amount,
}

impl Flow {
    /// In less out.
    pub fn net(&self) -> Amount {
        self.delivered + self.made + self.moved - self.lost - self.batched
    }
}

/// Shares of ingredients that one base unit of a house-made item takes, as exact fractions.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Share {
    /// The ingredient.
    pub item: ItemId,
    /// Numerator.
    pub numerator: i128,
    /// Denominator, above zero.
    pub denominator: i128,
}

impl Share {
    /// So many of it, rounded once to the base unit.
    pub fn of(self, many: i64) -> Amount {
        let exact = self.numerator.saturating_mul(many.into());
        Amount(round_half_even(exact, self.denominator).clamp(i64::MIN.into(), i64::MAX.into()) as i64)
    }

    /// What of it a part of the item's recipe is, of which a batch yields so much.
    fn part(self, part: &Ingredient, yields: Amount) -> Share {
        let numerator =
            self.numerator.saturating_mul(part.amount.0.into()).saturating_mul((10_000 + part.waste).into());
        let denominator = self.denominator.saturating_mul(yields.0.max(1).into()).saturating_mul(10_000);
        let common = gcd(numerator, denominator);
        Share { item: part.item, numerator: numerator / common, denominator: (denominator / common).max(1) }
    }
}

/// The greatest common divisor, to keep fractions small.
pub(crate) fn gcd(a: i128, b: i128) -> i128 {
    let (mut a, mut b) = (a.abs(), b.abs());
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a.max(1)
}

/// Splits an amount of `item`, as a fraction, into what is counted as stock: itself when `counted` says so or when it
/// has no recipe, otherwise its ingredients by the recipe of that moment's business day, however deep.
pub(crate) fn explode(
    setup: &Setup,
    counted: &dyn Fn(ItemId) -> bool,
    at: Moment,
    share: Share,
    depth: usize,
    out: &mut Vec<Share>,
) {
    let recipe = (!counted(share.item)).then(|| setup.recipes.get(&share.item)).flatten();
    let recipe =
        recipe.filter(|_| depth <= Recipe::DEEPEST).and_then(|versions| versions.at(setup.venue.days.day_of(at)));
    let Some((_, recipe)) = recipe else {
        out.push(share);
        return;
    };
    for part in &recipe.takes {
        explode(setup, counted, at, share.part(part, recipe.yields), depth + 1, out);
    }
}

/// An item and all that goes into it by the recipes of a business day, however deep: each by itself, so that what is made
/// here is in it as well as what it is made of.
pub(crate) fn every_share(setup: &Setup, day: NaiveDate, share: Share, out: &mut Vec<Share>) {
    parts_of(setup, day, share, 0, out);
}

fn parts_of(setup: &Setup, day: NaiveDate, share: Share, depth: usize, out: &mut Vec<Share>) {
    out.push(share);
    let recipe = setup.recipe(share.item, day).filter(|_| depth <= Recipe::DEEPEST);
    for part in recipe.iter().flat_map(|recipe| &recipe.takes) {
        let yields = recipe.map_or(Amount::ZERO, |recipe| recipe.yields);
        parts_of(setup, day, share.part(part, yields), depth + 1, out);
    }
}

/// What movements did to every item, place by place.
#[derive(Clone, Debug, Default)]
pub struct Flows(HashMap<ItemId, Vec<(Option<PlaceId>, Flow)>>);

impl Flows {
    fn at(&mut self, item: ItemId, place: Option<PlaceId>) -> &mut Flow {
        let places = self.0.entry(item).or_default();
        let index = places.iter().position(|(p, _)| *p == place).unwrap_or_else(|| {
            places.push((place, Flow::default()));
            places.len() - 1
        });
        &mut places[index].1
    }

    /// Of one item, everywhere.
    pub fn of(&self, item: ItemId) -> Flow {
        let mut sum = Flow::default();
        for (_, flow) in self.0.get(&item).into_iter().flatten() {
            sum.delivered += flow.delivered;
            sum.made += flow.made;
            sum.moved += flow.moved;
            sum.lost += flow.lost;
            sum.batched += flow.batched;
        }
        sum
    }

    /// The places where something happened to an item.
    pub fn places(&self, item: ItemId) -> impl Iterator<Item = PlaceId> + '_ {
        self.0.get(&item).into_iter().flatten().filter_map(|(place, _)| *place)
    }

    /// In less out of one item in one place.
    pub fn net_in(&self, item: ItemId, place: PlaceId) -> Amount {
        let places = self.0.get(&item).into_iter().flatten();
        places.filter(|(p, _)| *p == Some(place)).map(|(_, flow)| flow.net()).sum()
    }
}

/// Sums the movements that `scope` looks at. The two ends of a transfer are looked at apart, so that they cancel where
/// both are seen. Batches of an item that is not `counted` are left out: what was sold of it is taken from its
/// ingredients instead, and both would take them twice.
pub fn flows(setup: &Setup, movements: &Movements, scope: Scope, counted: &dyn Fn(ItemId) -> bool) -> Flows {
    let size = |item| setup.item(item).map_or(Amount::ZERO, |i| i.size);
    let mut out = Flows::default();
    for d in &movements.deliveries {
        let place = d.place.or_else(|| setup.store_of(d.item));
        if scope(d.item, place, d.at) {
            out.at(d.item, place).delivered += size(d.item).times(d.containers, 1);
        }
    }
    for l in &movements.losses {
        if scope(l.item, l.place, l.at) {
            out.at(l.item, l.place).lost += l.amount;
        }
    }
    for t in &movements.transfers {
        let amount = t.containers.of(size(t.item));
        for (place, amount) in [(t.from, -amount), (t.to, amount)] {
            if scope(t.item, Some(place), t.at) {
                out.at(t.item, Some(place)).moved += amount;
            }
        }
    }
    for b in movements.batches.iter().filter(|b| counted(b.item)) {
        let store = setup.store_of(b.item);
        if scope(b.item, store, b.at) {
            out.at(b.item, store).made += b.made;
        }
        for share in taken_by(setup, counted, b.item, b.at) {
            if scope(share.item, None, b.at) {
                out.at(share.item, None).batched += share.of(b.made.0);
            }
        }
    }
    out
}

/// What one base unit of a batch takes from counted stock.
pub fn taken_by(setup: &Setup, counted: &dyn Fn(ItemId) -> bool, item: ItemId, at: Moment) -> Vec<Share> {
    let mut out = Vec::new();
    let whole = Share { item, numerator: 1, denominator: 1 };
    let own = |id: ItemId| id != item && counted(id);
    explode(setup, &own, at, whole, 0, &mut out);
    // Without a recipe there is nothing to take: the item itself came back.
    out.retain(|share| share.item != item);
    out
}
