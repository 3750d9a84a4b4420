//! Amounts as money: rounded once, and summed so that all that is printed adds up.

use super::cost::{Priced, Prices, Side};
use super::{Goods, GoodsBy, GoodsRow};
use crate::domain::measure::{Amount, Currency, ExactCost, Money, UnitCost};
use crate::domain::venue::{ItemId, Kind, PlaceId, Setup};
use std::collections::{BTreeMap, HashMap};
use std::iter::Sum;
use std::ops::Add;

/// What goods were worth over a stretch, by one method.
///
/// To the coin opening + bought + batches − closing = used, and used = sold + lost + gap.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Worth {
    /// At the beginning.
    pub opening: Money,
    /// Bought, less what went back, without tax and deposits.
    pub bought: Money,
    /// Carried here by batches, less what they carried away to what was made. In a sum over all items nothing is left of
    /// it, but for what came out of items that are in no sum or went into them.
    pub batches: Money,
    /// At the end.
    pub closing: Money,
    /// Cost of goods used: opening + bought + batches − closing.
    pub used: Money,
    /// Of that, what the specs say the sales took.
    pub sold: Money,
    /// Of that, recorded losses.
    pub lost: Money,
    /// Of that, the rest: above zero, more went than was sold and written off.
    pub gap: Money,
}

impl Add for Worth {
    type Output = Worth;
    fn add(self, other: Worth) -> Worth {
        Worth {
            opening: self.opening + other.opening,
            bought: self.bought + other.bought,
            batches: self.batches + other.batches,
            closing: self.closing + other.closing,
            used: self.used + other.used,
            sold: self.sold + other.sold,
            lost: self.lost + other.lost,
            gap: self.gap + other.gap,
        }
    }
}

/// The same by both methods.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct ByMethod {
    /// By the weighted average.
    pub average: Worth,
    /// First in, first out.
    pub fifo: Worth,
}

impl Sum for ByMethod {
    fn sum<I: Iterator<Item = ByMethod>>(parts: I) -> ByMethod {
        parts.fold(ByMethod::default(), |a, b| ByMethod { average: a.average + b.average, fifo: a.fifo + b.fifo })
    }
}

/// What became of what was used.
pub(super) struct Parts {
    pub(super) sold: Amount,
    pub(super) lost: Amount,
    pub(super) gap: Amount,
}

/// What batches carried to an item less what they carried away, by each method.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Carried {
    average: Money,
    fifo: Money,
}

/// What batches carried from item to item. It is rounded for each pair of items, so that what leaves one arrives whole in
/// the other.
pub(super) fn carried(setup: &Setup, prices: &Prices) -> HashMap<ItemId, Carried> {
    let mut pairs: BTreeMap<(ItemId, ItemId), (ExactCost, ExactCost)> = BTreeMap::new();
    for taken in prices.taken() {
        let Some(priced) = prices.of(taken.item) else { continue };
        let (average, fifo) = pairs.entry((taken.made, taken.item)).or_default();
        *average = *average + priced.average.out.exact(taken.amount);
        *fifo = *fifo + priced.fifo.out.exact(taken.amount);
    }
    let mut out: HashMap<ItemId, Carried> = HashMap::new();
    for ((made, item), (average, fifo)) in pairs {
        let (average, fifo) = (average.round(setup.venue.currency), fifo.round(setup.venue.currency));
        let to = out.entry(made).or_default();
        to.average += average;
        to.fifo += fifo;
        let from = out.entry(item).or_default();
        from.average = from.average - average;
        from.fifo = from.fifo - fifo;
    }
    out
}

impl ByMethod {
    pub(super) fn new(priced: &Priced, parts: &Parts, carried: Option<&Carried>, currency: Currency) -> ByMethod {
        let carried = carried.copied().unwrap_or_default();
        let worth = |side: &Side, batches| Worth::new(side, priced.bought, batches, parts, currency);
        ByMethod { average: worth(&priced.average, carried.average), fifo: worth(&priced.fifo, carried.fifo) }
    }
}

impl Worth {
    fn new(side: &Side, bought: ExactCost, batches: Money, parts: &Parts, currency: Currency) -> Worth {
        let (opening, bought) = (side.opening.round(currency), bought.round(currency));
        let closing = side.closing.round(currency);
        let used = opening + bought + batches - closing;
        let [sold, lost, gap] = apart(used, side.out, parts, currency);
        Worth { opening, bought, batches, closing, used, sold, lost, gap }
    }
}

/// Parts what was used into sold, lost and gap. The largest of them takes what rounding leaves: a gap of nothing must not
/// be shown as a cent.
fn apart(used: Money, unit: UnitCost, parts: &Parts, currency: Currency) -> [Money; 3] {
    let amounts = [parts.sold, parts.lost, parts.gap];
    let mut money = amounts.map(|amount| unit.of(amount, currency));
    let rest = used - money.iter().copied().sum();
    let largest = (0..3).max_by_key(|n| (amounts[*n].0.saturating_abs(), std::cmp::Reverse(*n))).unwrap_or(0);
    money[largest] += rest;
    money
}

/// The sums of some items.
#[derive(Clone, Debug, PartialEq)]
pub struct GoodsGroup {
    /// The item, place or kind.
    pub name: String,
    /// Items in it.
    pub items: usize,
    /// Those of them without a known price, which are in no sum.
    pub unpriced: usize,
    /// What all others were worth; nothing where no price is known of any.
    pub worth: Option<ByMethod>,
    /// Net sales of drinks, each parted over the kinds of what it takes by what that cost; only for kinds, and for all
    /// together.
    pub net: Option<Money>,
}

/// A cost as a percentage of net sales; nothing where there were none.
pub fn percent_of(cost: Money, net: Money) -> Option<f64> {
    (net > Money::ZERO).then(|| 100.0 * cost.0 as f64 / net.0 as f64)
}

fn group(name: String, rows: &[&GoodsRow], net: Option<Money>) -> GoodsGroup {
    let known: Vec<ByMethod> = rows.iter().filter_map(|row| row.worth).collect();
    GoodsGroup {
        name,
        items: rows.len(),
        unpriced: rows.len() - known.len(),
        worth: (!known.is_empty()).then(|| known.into_iter().sum()),
        net,
    }
}

/// The sums of all rows.
pub(super) fn total(goods: &Goods) -> GoodsGroup {
    group(String::new(), &goods.rows.iter().collect::<Vec<_>>(), Some(goods.net.all))
}

/// Sums rows by item, place or kind, in the order of the rows, of the walk or of the kinds.
pub fn goods_by(setup: &Setup, goods: &Goods, by: GoodsBy) -> Vec<GoodsGroup> {
    let rows = || goods.rows.iter();
    let groups: Vec<GoodsGroup> = match by {
        GoodsBy::Item => rows().map(|row| group(setup.item_name(row.item).to_owned(), &[row], None)).collect(),
        GoodsBy::Place => {
            let of = |place: PlaceId| rows().filter(|row| row.home == Some(place)).collect::<Vec<_>>();
            setup.places.iter().map(|place| group(place.name.clone(), &of(place.id), None)).collect()
        }
        GoodsBy::Kind => {
            let is = |row: &GoodsRow, kind: Kind| setup.item(row.item).is_some_and(|item| item.kind == kind);
            let of = |kind: Kind| rows().filter(|row| is(row, kind)).collect::<Vec<_>>();
            Kind::ALL
                .iter()
                .map(|kind| group(kind.word().to_owned(), &of(*kind), Some(goods.net.of_kind(*kind))))
                .collect()
        }
    };
    groups.into_iter().filter(|group| group.items > 0).collect()
}
