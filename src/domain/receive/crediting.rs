//! Which claims a credit note settles: those on the bills that it names, item by item, as far as its money goes.

use super::ClaimKind;
use super::against::Against;
use super::kept::{Bill, KeptClaim};
use crate::domain::measure::Money;
use crate::domain::venue::{ClaimId, ItemId};
use std::collections::BTreeMap;

/// What a credit note gives back.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Credited {
    /// Money of items besides the price of what went back, above zero.
    items: BTreeMap<ItemId, Money>,
    /// Money of no item, above zero.
    other: Money,
    /// Containers that went back, above zero: what was charged too dear for them is given back with their price.
    back: BTreeMap<ItemId, i64>,
}

/// The part of a claim that a credit note covers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Reduced {
    /// Of which claim.
    pub claim: ClaimId,
    /// How much money.
    pub money: Money,
    /// Containers of it that went back: the rest is for the others.
    pub containers: i64,
}

/// What a credit note does to claims.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Crediting {
    /// Claims that it settles.
    pub settles: Vec<ClaimId>,
    /// Claims that it covers a part of.
    pub reduces: Vec<Reduced>,
    /// Claims on the same bills that it does not reach.
    pub leaves: Vec<ClaimId>,
}

impl Credited {
    /// What `against`, a credit note of which somebody said what went back, gives back: in money alone, because what went
    /// back is paid for by leaving the shelf; `charges` are those of the whole note, below zero where they are given back.
    pub fn of(against: &Against, charges: Money) -> Credited {
        let mut items: BTreeMap<ItemId, Money> = BTreeMap::new();
        let mut back: BTreeMap<ItemId, i64> = BTreeMap::new();
        for line in &against.lines {
            let Some(invoiced) = line.invoiced.as_ref().filter(|invoiced| invoiced.containers < 0) else { continue };
            let went_back = line.came.unwrap_or(0).clamp(invoiced.containers, 0);
            let for_goods = invoiced.cost.times(went_back, invoiced.containers);
            *items.entry(line.item).or_default() += for_goods - invoiced.cost;
            *back.entry(line.item).or_default() -= went_back;
        }
        items.retain(|_, money| *money > Money::ZERO);
        Credited { items, other: (Money::ZERO - against.not_stock - charges).max(Money::ZERO), back }
    }

    /// Settles open claims of the supplier, the oldest first, on the bills of which the credit note says the numbers. A
    /// claim is settled when what is credited for its item covers it, but for half a coin that a price of one container may
    /// be rounded by, or the money credited for nothing in particular is just what it is, or what all that is left is. What
    /// covers a part of a claim settles that part.
    pub fn settle(mut self, open: &[KeptClaim], preceding: &[String]) -> Crediting {
        let about = |claim: &&KeptClaim| preceding.iter().any(|number| Bill::is_numbered(number, &claim.document));
        let mut out = Crediting::default();
        let mut left: Vec<&KeptClaim> = Vec::new();
        for claim in open.iter().filter(about) {
            let covers = self.covers(claim);
            let rest = (claim.money - covers.money).0;
            // Half a coin for each container, and no more than a hundredth of the claim.
            let rounded = rest.saturating_mul(2) <= claim.containers && rest.saturating_mul(100) <= claim.money.0;
            if covers.money <= Money::ZERO {
                left.push(claim);
            } else if rounded {
                out.settles.push(claim.id);
            } else {
                out.reduces.push(covers);
            }
        }
        let all: Money = left.iter().map(|claim| claim.money).sum();
        if self.other >= all {
            out.settles.extend(left.drain(..).map(|claim| claim.id));
        } else if let Some(at) = left.iter().position(|claim| claim.money == self.other) {
            out.settles.push(left.remove(at).id);
        } else if let ([one], true) = (&left[..], self.other > Money::ZERO) {
            out.reduces.push(Reduced { claim: one.id, money: self.other, containers: 0 });
            left.clear();
        }
        out.leaves = left.into_iter().map(|claim| claim.id).collect();
        out
    }
}

impl Credited {
    /// How much of a claim is covered by what is credited for its item; that much of it is used up.
    fn covers(&mut self, claim: &KeptClaim) -> Reduced {
        let mut covers = Reduced { claim: claim.id, money: Money::ZERO, containers: 0 };
        let Some(item) = claim.item else { return covers };
        if let (ClaimKind::Dearer, Some(back)) = (claim.kind, self.back.get_mut(&item)) {
            let of_claim = (*back).min(claim.containers);
            covers.money += claim.money.times(of_claim, claim.containers);
            covers.containers = of_claim;
            *back -= of_claim;
        }
        if let Some(credited) = self.items.get_mut(&item) {
            let used = (*credited).min(claim.money - covers.money);
            covers.money += used;
            *credited = *credited - used;
        }
        covers
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::receive::{AgainstLine, Invoiced};
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
        let done = Credited::of(&against, Money::ZERO).settle(&open, &["r-1".to_owned()]);
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
        // One euro settles a euro of it.
        assert_eq!(settled(vec![line(GIN, 1, 100, 0)], 0), (vec![], vec![2]));
        // The price of one container, rounded to the coin, may be half a coin off.
        assert_eq!(settled(vec![line(GIN, 1, 5_139, 0)], 0), (vec![], vec![2]));
        assert_eq!(settled(vec![line(GIN, 2, 5_140, 0), line(RUM, 6, 600, 0)], 0), (vec![1, 2], vec![]));
    }

    #[test]
    fn money_for_nothing_in_particular_settles_what_it_equals() {
        assert_eq!(settled(vec![], 5_740), (vec![1, 2], vec![]));
        assert_eq!(settled(vec![], 600), (vec![2], vec![1]));
        assert_eq!(settled(vec![], 700), (vec![], vec![1, 2]));
        assert_eq!(settled(vec![line(GIN, 2, 5_140, 0)], 600), (vec![1, 2], vec![]));
    }

    /// By hand: 2 at 34.105 are 68.21 and credited at 34.10 each 68.20; 6 at 2.00 too much, of which 2 went back.
    #[test]
    fn a_part_is_settled_where_no_more_is_covered() {
        let of = |kind, containers, money| KeptClaim { kind, containers, ..claim(1, "R-1", GIN, money) };
        let done = |claim: KeptClaim, line: AgainstLine, charges: i64| {
            let against = Against { lines: vec![line], ..Against::default() };
            Credited::of(&against, Money(charges)).settle(&[claim], &["R-1".to_owned()])
        };
        let reduced = |money, containers| Reduced { claim: ClaimId(1), money: Money(money), containers };
        let short = || of(ClaimKind::Short, 2, 6_821);
        assert_eq!(done(short(), line(GIN, 2, 6_820, 0), 0).settles, [ClaimId(1)]);
        assert_eq!(done(short(), line(GIN, 1, 3_410, 0), 0).reduces, [reduced(3_410, 0)]);
        let dearer = || of(ClaimKind::Dearer, 6, 1_200);
        assert_eq!(done(dearer(), line(GIN, 2, 6_820, 2), 0).reduces, [reduced(400, 2)]);
        assert_eq!(done(dearer(), line(GIN, 6, 20_460, 6), 0).settles, [ClaimId(1)]);
        assert_eq!(done(short(), line(GIN, 6, 20_460, 6), 0).leaves, [ClaimId(1)], "what did not come cannot go back");
        // A small claim for many containers is not settled by what is credited for something else.
        let small = of(ClaimKind::Dearer, 480, 200);
        assert_eq!(done(small, line(RUM, 1, 500, 0), 0).leaves, [ClaimId(1)]);
        // What is given back on the whole note is for nothing in particular.
        assert_eq!(done(dearer(), line(RUM, 1, 0, 0), -1_200).settles, [ClaimId(1)]);
        assert_eq!(done(dearer(), line(RUM, 1, 0, 0), -150).reduces, [reduced(150, 0)]);
    }
}
