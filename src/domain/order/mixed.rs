//! Cases that a supplier fills with whatever one wants of certain items: how full they are in an order, and with what they
//! are best filled.

use super::DraftLine;
use super::split::{Split, Terms, Way, cheapest_of};
use super::ways::{Choice, Thing, is_out_of_question};
use crate::domain::venue::{MixedCase, SupplierId};
use std::collections::HashMap;

/// How full the mixed cases of one name are in an order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Filled {
    /// Which.
    pub case: MixedCase,
    /// Containers in the order.
    pub containers: i64,
}

impl Filled {
    /// Containers that are missing to the next whole case; none where all are full.
    pub fn missing(&self) -> i64 {
        (-self.containers).rem_euclid(self.case.holds)
    }

    /// Whole cases, and a broken one as one.
    pub fn cases(&self) -> i64 {
        (self.containers + self.case.holds - 1) / self.case.holds
    }
}

/// The mixed cases of an order, in the order of its lines.
pub(super) fn filled_cases(lines: &[DraftLine]) -> Vec<Filled> {
    let mut out: Vec<Filled> = Vec::new();
    for line in lines.iter().filter(|line| line.packs > 0) {
        let Some(case) = &line.mixed else { continue };
        let containers = line.containers();
        match out.iter_mut().find(|filled| filled.case == *case) {
            Some(filled) => filled.containers = filled.containers.saturating_add(containers),
            None => out.push(Filled { case: case.clone(), containers }),
        }
    }
    out
}

/// A supplier's case.
type Case<'a> = (SupplierId, &'a MixedCase);

/// How many containers of a choice go into a case.
fn goes_into(choice: &Choice, (supplier, case): Case) -> i64 {
    let of = choice.packs.iter().filter(|p| p.offer.supplier == supplier && p.offer.mixed.as_ref() == Some(case));
    of.map(|packs| packs.packs.saturating_mul(packs.offer.pack)).sum()
}

/// A split in which the mixed cases are full, where they can be: from whom each item comes is left as it was, and of the
/// items of a case the cheapest quantities are taken that fill it, something that is not short among them, or something
/// that can wait left out. What else there is, is split anew around them. Only ways that `may` be taken are.
pub(super) fn filled(
    things: &[Thing],
    wants: &[Vec<Way>],
    terms: &[Terms],
    split: Split,
    may: &dyn Fn(usize, usize) -> bool,
) -> Split {
    let mut cases: Vec<Case> = Vec::new();
    for packs in things.iter().flat_map(|thing| &thing.choices).flat_map(|choice| &choice.packs) {
        if let Some(case) = &packs.offer.mixed {
            let case = (packs.offer.supplier, case);
            if !cases.contains(&case) {
                cases.push(case);
            }
        }
    }
    let mut split = split;
    // What is settled by a case that was looked at stays.
    let mut settled: HashMap<usize, usize> = HashMap::new();
    for case in cases {
        let Some(picks) = fill(things, &split, case, &settled, may) else { continue };
        let mut with = settled.clone();
        with.extend(picks);
        let around = |thing: usize, way: usize| match with.get(&thing) {
            Some(picked) => *picked == way,
            None => !things[thing].choices[way].spare && may(thing, way),
        };
        // Where the rest cannot be had around it, the case is left as it was: whoever orders is told.
        if let Ok(around) = cheapest_of(wants, terms, None, around) {
            (split, settled) = (around, with);
        }
    }
    split
}

/// What of each thing that may go into a case is cheapest so that it is full: ways by thing. Nothing where it cannot be
/// filled.
fn fill(
    things: &[Thing],
    split: &Split,
    case: Case,
    settled: &HashMap<usize, usize>,
    may: &dyn Fn(usize, usize) -> bool,
) -> Option<Vec<(usize, usize)>> {
    let holds = usize::try_from(case.1.holds).ok().filter(|holds| *holds > 0)?;
    let may_go: Vec<usize> =
        (0..things.len()).filter(|n| things[*n].choices.iter().any(|choice| goes_into(choice, case) > 0)).collect();
    let now = |thing: usize| &things[thing].choices[split.ways[thing]];
    let there: i64 = may_go.iter().map(|thing| goes_into(now(*thing), case)).sum();
    if there == 0 {
        return None;
    }
    // By what is over whole cases: the least cost, and by which ways of the things so far.
    let mut best: Vec<Option<(i128, Vec<usize>)>> = vec![None; holds];
    best[0] = Some((0, Vec::new()));
    for thing in &may_go {
        let mut next: Vec<Option<(i128, Vec<usize>)>> = vec![None; holds];
        for way in options(things, split, case, *thing, settled, may) {
            let choice = &things[*thing].choices[way];
            let step = usize::try_from(goes_into(choice, case)).unwrap_or(0) % holds;
            for over in 0..holds {
                let Some((cost, ways)) = &best[over] else { continue };
                let cost = cost + i128::from(choice.way.cost);
                let at = &mut next[(over + step) % holds];
                if at.as_ref().is_none_or(|(least, _)| cost < *least) {
                    *at = Some((cost, ways.iter().copied().chain([way]).collect()));
                }
            }
        }
        best = next;
    }
    let (_, ways) = best.swap_remove(0)?;
    Some(may_go.into_iter().zip(ways).collect())
}

/// The ways of a thing that may be taken to fill a case.
fn options(
    things: &[Thing],
    split: &Split,
    case: Case,
    thing: usize,
    settled: &HashMap<usize, usize>,
    may: &dyn Fn(usize, usize) -> bool,
) -> Vec<usize> {
    let (now, of) = (split.ways[thing], &things[thing]);
    let elsewhere = now != 0 && goes_into(&of.choices[now], case) == 0;
    if of.written || settled.contains_key(&thing) || elsewhere {
        return vec![now];
    }
    let fills = |way: usize| goes_into(&of.choices[way], case) > 0;
    let nothing = |way: usize| way == 0 && !is_out_of_question(of.choices[0].way.cost);
    let ways = 0..of.choices.len();
    ways.filter(|way| *way == now || may(thing, *way) && (fills(*way) || nothing(*way))).collect()
}

#[cfg(test)]
mod tests {
    use super::super::split::cheapest;
    use super::super::ways::{Packs, nothing};
    use super::*;
    use crate::domain::measure::Money;
    use crate::domain::venue::{ItemId, Offer};
    use proptest::prelude::*;

    fn offer(item: usize, holds: i64) -> Offer {
        Offer {
            supplier: SupplierId(1),
            item: ItemId(item as i64),
            code: None,
            pack: 1,
            price: Money(100),
            deposit: None,
            from: None,
            until: None,
            mixed: Some(MixedCase { name: "Wines".to_owned(), holds }),
        }
    }

    /// Every choice of ways, and the least that one costs whose cases are full.
    fn by_trying(things: &[Thing], case: Case) -> Option<i64> {
        let mut all: Vec<(i64, i64)> = vec![(0, 0)];
        for thing in things {
            let with = |(cost, there): &(i64, i64)| {
                let (cost, there) = (*cost, *there);
                thing.choices.iter().map(move |c| (cost + c.way.cost, there + goes_into(c, case))).collect::<Vec<_>>()
            };
            all = all.iter().flat_map(with).collect();
        }
        all.iter().filter(|(_, there)| there % case.1.holds == 0).map(|(cost, _)| *cost).min()
    }

    proptest! {
        /// No smallest order and no fee: then what is left as it was is nothing, and the least is found by trying.
        #[test]
        fn the_cheapest_full_cases_are_found(
            holds in 2_i64..7,
            all in prop::collection::vec((prop::collection::vec((1_i64..6, 1_i64..900), 1..5), any::<bool>()), 1..6),
        ) {
            let offers: Vec<Offer> = (0..all.len()).map(|n| offer(n, holds)).collect();
            let thing = |n: usize| {
                let (ways, spare) = &all[n];
                let choice = |(way, (packs, cost)): (usize, &(i64, i64))| Choice {
                    way: Way { supplier: Some(0), goods: Money(100 * packs), cost: *cost },
                    packs: vec![Packs { offer: &offers[n], packs: *packs }],
                    containers: *packs,
                    shelf_limits: false,
                    spare: *spare && way > 0,
                    lean: false,
                };
                let choices = [nothing(1_000)].into_iter().chain(ways.iter().enumerate().map(choice)).collect();
                Thing { item: ItemId(n as i64), choices, written: false, can_wait: true }
            };
            let things: Vec<Thing> = (0..all.len()).map(thing).collect();
            let wants: Vec<Vec<Way>> = things.iter().map(|t| t.choices.iter().map(|c| c.way).collect()).collect();
            let terms = [Terms::default()];
            let case = (SupplierId(1), offers[0].mixed.as_ref().expect("a case"));
            let plain = cheapest_of(&wants, &terms, None, |t, w| !things[t].choices[w].spare).expect("a split");
            let full = filled(&things, &wants, &terms, plain, &|_, _| true);
            let there: i64 = things.iter().zip(&full.ways).map(|(t, w)| goes_into(&t.choices[*w], case)).sum();
            prop_assert_eq!(there % holds, 0);
            prop_assert_eq!(Some(full.cost), by_trying(&things, case).filter(|_| there > 0).or(Some(full.cost)));
            prop_assert!(cheapest(&wants, &terms).expect("a split").cost <= full.cost);
        }
    }

    #[test]
    fn what_is_missing_to_a_full_case() {
        let case = MixedCase { name: "Wines".to_owned(), holds: 6 };
        let of = |containers| Filled { case: case.clone(), containers };
        assert_eq!(
            [1, 5, 6, 7, 12].map(|n| (of(n).cases(), of(n).missing())),
            [(1, 5), (1, 1), (1, 0), (2, 5), (2, 0)]
        );
    }
}
