//! Of splits that cost the same, always the same one.

use super::Way;
use super::problem::Problem;
use super::stance::{THOUSAND, stances};
use crate::domain::measure::Money;

/// Empties suppliers that nothing has to come from at the same cost, the last first. Then each thing takes the earliest
/// way that costs the same altogether and needs no further supplier, with or without terms, thing by thing, until nothing changes.
pub(super) fn settled(problem: &Problem, ways: Vec<usize>) -> Vec<usize> {
    let mut ways = ways;
    for supplier in (0..problem.terms.len()).rev() {
        if let Some(emptied) = emptied(problem, &ways, supplier) {
            ways = emptied;
        }
    }
    let mut goods = problem.goods(&ways);
    loop {
        let mut changed = false;
        for (thing, now) in ways.iter_mut().enumerate() {
            let of = &problem.wants[thing];
            let mut earlier = (0..*now).filter(|way| problem.may(thing, *way));
            if let Some(way) = earlier.find(|way| is_as_good(problem, &goods, of[*now], of[*way])) {
                moved(&mut goods, of[*now], of[way]);
                (*now, changed) = (way, true);
            }
        }
        if !changed {
            return ways;
        }
    }
}

/// The same without one supplier, if that costs the same and needs no other instead.
fn emptied(problem: &Problem, ways: &[usize], supplier: usize) -> Option<Vec<usize>> {
    let goods = problem.goods(ways);
    if goods[supplier] == Money::ZERO {
        return None;
    }
    let mut out = ways.to_vec();
    for (thing, now) in out.iter_mut().enumerate() {
        let of = &problem.wants[thing];
        let from = |way: &Way| way.supplier.filter(|_| way.goods > Money::ZERO);
        if from(&of[*now]) == Some(supplier) {
            let used = |way: &Way| from(way).is_none_or(|other| other != supplier && goods[other] > Money::ZERO);
            let cost = of[*now].cost;
            *now = (0..of.len()).find(|way| problem.may(thing, *way) && used(&of[*way]) && of[*way].cost == cost)?;
        }
    }
    (problem.is_taken(&out) && problem.cost(&out) <= problem.cost(ways)).then_some(out)
}

fn moved(goods: &mut [Money], now: Way, then: Way) {
    if let Some(supplier) = now.supplier {
        goods[supplier] = goods[supplier] - now.goods;
    }
    if let Some(supplier) = then.supplier {
        goods[supplier] += then.goods;
    }
}

/// One way of a thing instead of another leaves the cost and the number of suppliers as they are, or better.
fn is_as_good(problem: &Problem, goods: &[Money], now: Way, then: Way) -> bool {
    let mut after: Vec<(usize, Money)> = now.supplier.into_iter().chain(then.supplier).map(|s| (s, goods[s])).collect();
    after.dedup();
    for (supplier, goods) in &mut after {
        if now.supplier == Some(*supplier) {
            *goods = *goods - now.goods;
        }
        if then.supplier == Some(*supplier) {
            *goods += then.goods;
        }
    }
    let fee = |supplier: usize, goods: Money| problem.terms[supplier].fee_of(goods).0 * THOUSAND;
    let fees: i64 = after.iter().map(|(supplier, then)| fee(*supplier, *then) - fee(*supplier, goods[*supplier])).sum();
    let opened = |goods: Money| i64::from(goods > Money::ZERO);
    let further = |counts: &dyn Fn(usize) -> bool| -> i64 {
        let its = after.iter().filter(|(supplier, _)| counts(*supplier));
        its.map(|(supplier, then)| opened(*then) - opened(goods[*supplier])).sum()
    };
    let asks = |supplier: usize| !stances(&problem.terms[supplier]).is_empty();
    let taken = after.iter().all(|(supplier, goods)| problem.terms[*supplier].takes(*goods));
    taken && further(&|_| true) <= 0 && further(&asks) <= 0 && then.cost - now.cost + fees <= 0
}
