//! Which claims a credit note settles: those on the bills that it names, item by item, as far as its money goes.

use super::against::Against;
use super::kept::{Bill, KeptClaim};
use crate::domain::measure::Money;
use crate::domain::venue::{ClaimId, ItemId};
use std::collections::BTreeMap;

/// What a credit note gives back besides the price of what went back.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Credited {
    /// Of items, above zero.
    items: BTreeMap<ItemId, Money>,
    /// Of no item, above zero.
    other: Money,
}

/// What a credit note does to claims.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Crediting {
    /// Claims that it settles.
    pub settles: Vec<ClaimId>,
    /// Claims on the same bills that it does not reach.
    pub leaves: Vec<ClaimId>,
}

impl Credited {
    /// What `against`, a credit note of which somebody said what went back, gives back in money alone: what went back is
    /// paid for by leaving the shelf, and settles nothing.
    pub fn of(against: &Against) -> Credited {
        let mut items: BTreeMap<ItemId, Money> = BTreeMap::new();
        for line in &against.lines {
            let Some(invoiced) = line.invoiced.as_ref().filter(|invoiced| invoiced.containers < 0) else { continue };
            let went_back = line.came.unwrap_or(0).clamp(invoiced.containers, 0);
            let for_goods = invoiced.cost.times(went_back, invoiced.containers);
            *items.entry(line.item).or_default() += for_goods - invoiced.cost;
        }
        items.retain(|_, money| *money > Money::ZERO);
        Credited { items, other: (Money::ZERO - against.not_stock).max(Money::ZERO) }
    }

    /// Settles open claims of the supplier, the oldest first, on the bills of which the credit note says the numbers. A
    /// claim is settled when what is credited for its item covers it, or the money credited for nothing in particular is
    /// just what it is, or what all that is left is.
    pub fn settle(mut self, open: &[KeptClaim], preceding: &[String]) -> Crediting {
        let about = |claim: &&KeptClaim| preceding.iter().any(|number| Bill::is_numbered(number, &claim.document));
        let mut out = Crediting::default();
        let mut left: Vec<&KeptClaim> = Vec::new();
        for claim in open.iter().filter(about) {
            let credited = claim.item.and_then(|item| self.items.get_mut(&item));
            match credited.filter(|credited| **credited >= claim.money) {
                Some(credited) => {
                    *credited = *credited - claim.money;
                    out.settles.push(claim.id);
                }
                None => left.push(claim),
            }
        }
        let all: Money = left.iter().map(|claim| claim.money).sum();
        if self.other >= all {
            out.settles.extend(left.drain(..).map(|claim| claim.id));
        } else if let Some(at) = left.iter().position(|claim| claim.money == self.other) {
            out.settles.push(left.remove(at).id);
        }
        out.leaves = left.into_iter().map(|claim| claim.id).collect();
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::receive::{AgainstLine, ClaimKind, Invoiced};
    use crate::domain::venue::{Moment, SupplierId};

    const GIN: ItemId = ItemId(1);
    const RUM: ItemId = ItemId(2);

    fn claim(id: i64, document: &str, item: ItemId, money: i64) -> KeptClaim {
        KeptClaim {
            id: ClaimId(id),
            supplier: SupplierId(1),
            document: document.to_owned(),
            item: Some(item),
            kind: ClaimKind::Short,
            containers: 1,
            money: Money(money),
            note: String::new(),
            at: Moment(id),
            by: None,
            settled: None,
        }
    }

    /// So many containers credited for so much, of which so many went back.
    fn line(item: ItemId, containers: i64, cost: i64, went_back: i64) -> AgainstLine {
        let invoiced = Invoiced { containers: -containers, cost: Money(-cost), ..Invoiced::default() };
        AgainstLine { item, ordered: None, invoiced: Some(invoiced), came: Some(-went_back), place: None }
    }

    fn settled(lines: Vec<AgainstLine>, not_stock: i64) -> (Vec<i64>, Vec<i64>) {
        let open = [claim(1, "R-1", GIN, 5_140), claim(2, "R-1", RUM, 600), claim(3, "R-2", GIN, 5_140)];
        let against = Against { lines, not_stock: Money(-not_stock), ..Against::default() };
        let done = Credited::of(&against).settle(&open, &["r-1".to_owned()]);
        let ids = |claims: Vec<ClaimId>| claims.into_iter().map(|claim| claim.0).collect();
        (ids(done.settles), ids(done.leaves))
    }

    #[test]
    fn claims_are_settled_item_by_item_as_far_as_the_money_goes() {
        // Two that did not come are credited at 25.70 each.
        assert_eq!(settled(vec![line(GIN, 2, 5_140, 0)], 0), (vec![1], vec![2]));
        // The same two went back to the supplier: they were paid for by that.
        assert_eq!(settled(vec![line(GIN, 2, 5_140, 2)], 0), (vec![], vec![1, 2]));
        // Four are credited, two of them went back.
        assert_eq!(settled(vec![line(GIN, 4, 10_280, 2)], 0), (vec![1], vec![2]));
        // One euro settles nothing.
        assert_eq!(settled(vec![line(GIN, 1, 100, 0)], 0), (vec![], vec![1, 2]));
        assert_eq!(settled(vec![line(GIN, 2, 5_140, 0), line(RUM, 6, 600, 0)], 0), (vec![1, 2], vec![]));
    }

    #[test]
    fn money_for_nothing_in_particular_settles_what_it_equals() {
        assert_eq!(settled(vec![], 5_740), (vec![1, 2], vec![]));
        assert_eq!(settled(vec![], 600), (vec![2], vec![1]));
        assert_eq!(settled(vec![], 700), (vec![], vec![1, 2]));
        assert_eq!(settled(vec![line(GIN, 2, 5_140, 0)], 600), (vec![1, 2], vec![]));
    }
}
