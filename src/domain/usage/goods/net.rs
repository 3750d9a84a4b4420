//! Net sales, and which kind of goods they were sales of.

use crate::domain::ledger::Sale;
use crate::domain::measure::{ExactCost, Money};
use crate::domain::usage::sold::{Sold, SoldPart};
use crate::domain::venue::{Kind, Setup, TillId, TillMeaning};
use std::collections::BTreeMap;

/// What sales brought, net of tax.
///
/// A drink holds goods of several kinds, and what it brought was paid for the whole. It is parted over the kinds by what
/// the goods in it cost: exact for a beer, a convention for a cocktail.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct NetSales {
    /// All sales of drinks, told apart or not: what pour cost is a part of.
    pub all: Money,
    /// Sales of what the book says is no stock, not among them.
    pub no_stock: Money,
    /// Sales that are of no kind that can be told, among all: the till name means nothing yet, or some of what the drink
    /// takes has no price or is in no sum.
    pub untold: Money,
    by_kind: Vec<(Kind, Money)>,
}

impl NetSales {
    /// The part of a kind.
    pub fn of_kind(&self, kind: Kind) -> Money {
        self.by_kind.iter().filter(|(of, _)| *of == kind).map(|(_, money)| *money).sum()
    }
}

/// Parts what each till name brought by `cost`, what the goods cost that it took; nothing where that is not known.
pub(super) fn net_sales(
    setup: &Setup,
    sales: &[Sale],
    sold: &Sold,
    cost: impl Fn(&SoldPart) -> Option<ExactCost>,
) -> NetSales {
    let mut brought: BTreeMap<TillId, Money> = BTreeMap::new();
    for sale in sales {
        *brought.entry(sale.till).or_default() += sale.money();
    }
    let mut took: BTreeMap<TillId, Option<BTreeMap<Kind, ExactCost>>> = BTreeMap::new();
    for part in &sold.parts {
        let kinds = took.entry(part.till).or_insert_with(|| Some(BTreeMap::new()));
        match (setup.item(part.item), cost(part)) {
            (Some(item), Some(cost)) => {
                if let Some(kinds) = kinds {
                    let sum = kinds.entry(item.kind).or_default();
                    *sum = *sum + cost;
                }
            }
            _ => *kinds = None,
        }
    }
    let (mut out, mut by_kind) = (NetSales::default(), BTreeMap::<Kind, Money>::new());
    for (till, money) in brought {
        if setup.meaning(till) == TillMeaning::Ignored {
            out.no_stock += money;
            continue;
        }
        out.all += money;
        match took.get(&till).and_then(Option::as_ref).and_then(|kinds| parted(setup, money, kinds)) {
            Some(parts) => parts.into_iter().for_each(|(kind, part)| *by_kind.entry(kind).or_default() += part),
            None => out.untold += money,
        }
    }
    out.by_kind = by_kind.into_iter().collect();
    out
}

/// Money parted by costs, to the coin: the largest part takes what rounding leaves.
fn parted(setup: &Setup, money: Money, kinds: &BTreeMap<Kind, ExactCost>) -> Option<Vec<(Kind, Money)>> {
    let minor = |cost: &ExactCost| cost.minor(setup.venue.currency).max(0.0);
    let all: f64 = kinds.values().map(minor).sum();
    if all <= 0.0 {
        return None;
    }
    let share = |cost: &ExactCost| Money((money.0 as f64 * (minor(cost) / all)).round() as i64);
    let mut parts: Vec<(Kind, Money)> = kinds.iter().map(|(kind, cost)| (*kind, share(cost))).collect();
    let rest = money - parts.iter().map(|(_, part)| *part).sum();
    let (_, largest) = kinds.values().zip(&mut parts).max_by_key(|(cost, _)| **cost)?;
    largest.1 += rest;
    Some(parts)
}
