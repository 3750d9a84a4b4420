//! The question put in order: what each supplier with terms has for each thing, and what is there without any.

use super::stance::{Stance, THOUSAND, stances};
use super::{Short, Terms, Unmet, Way};
use crate::domain::measure::Money;

/// A way that is worth looking at.
#[derive(Clone, Copy, Debug)]
pub(super) struct Choice {
    /// Goods in minor units.
    pub(super) goods: i64,
    /// Reckoned cost in thousandths of a minor unit.
    pub(super) cost: i64,
    /// Its index among the thing's ways.
    pub(super) way: usize,
}

/// A supplier that asks for something.
#[derive(Debug)]
pub(super) struct Firm {
    /// Its index in the terms.
    pub(super) supplier: usize,
    /// How an order may stand with it, of what is in reach; empty where nothing is.
    pub(super) stances: Vec<Stance>,
    /// The choices of all things one after another. Those of a thing rise in goods and in cost: one that gives fewer goods
    /// for as much cost is of no use, as nothing is ever asked to be less.
    choices: Vec<Choice>,
    /// Where the choices of each thing begin, and where the last ones end.
    starts: Vec<usize>,
}

impl Firm {
    /// What it has for a thing, the cheapest first.
    pub(super) fn of(&self, thing: usize) -> &[Choice] {
        &self.choices[self.starts[thing]..self.starts[thing + 1]]
    }
}

/// The question.
#[derive(Debug)]
pub(super) struct Problem<'a> {
    pub(super) wants: &'a [Vec<Way>],
    pub(super) terms: &'a [Terms],
    /// For each thing its cheapest way that no terms stand against.
    pub(super) free: Vec<Option<Choice>>,
    /// The suppliers that ask for something, in the order in which they are decided on.
    pub(super) firms: Vec<Firm>,
    /// For each thing and way: it may be taken.
    allowed: Vec<Vec<bool>>,
}

impl<'a> Problem<'a> {
    /// Puts a question in order.
    pub(super) fn new(
        wants: &'a [Vec<Way>],
        terms: &'a [Terms],
        may: impl Fn(usize, usize) -> bool,
    ) -> Result<Problem<'a>, Unmet> {
        check(wants, terms)?;
        let allowed: Vec<Vec<bool>> = wants
            .iter()
            .enumerate()
            .map(|(thing, ways)| (0..ways.len()).map(|way| may(thing, way)).collect())
            .collect();
        if let Some(thing) = allowed.iter().position(|ways| !ways.contains(&true)) {
            return Err(Unmet::NoWay { thing });
        }
        let all: Vec<Vec<Stance>> = terms.iter().map(stances).collect();
        let mut free = vec![None; wants.len()];
        let mut firms: Vec<Firm> = Vec::new();
        let mut place = vec![None; terms.len()];
        for (supplier, stances) in all.into_iter().enumerate().filter(|(_, stances)| !stances.is_empty()) {
            place[supplier] = Some(firms.len());
            firms.push(Firm { supplier, stances, choices: Vec::new(), starts: vec![0] });
        }
        let mut lists: Vec<Vec<Choice>> = vec![Vec::new(); firms.len()];
        for (thing, ways) in wants.iter().enumerate() {
            for (index, way) in ways.iter().enumerate().filter(|(index, _)| allowed[thing][*index]) {
                let choice = Choice { goods: way.goods.0, cost: way.cost, way: index };
                match way.supplier.and_then(|supplier| place[supplier]).filter(|_| choice.goods > 0) {
                    Some(firm) => lists[firm].push(choice),
                    None => {
                        let slot: &mut Option<Choice> = &mut free[thing];
                        if slot.is_none_or(|before| choice.cost < before.cost) {
                            *slot = Some(choice);
                        }
                    }
                }
            }
            for (firm, list) in firms.iter_mut().zip(&mut lists) {
                useful(list);
                firm.choices.append(list);
                firm.starts.push(firm.choices.len());
            }
        }
        let mut problem = Problem { wants, terms, free, firms, allowed };
        let short = problem.drop_what_is_out_of_reach();
        problem.explain(&short)?;
        problem.order_firms();
        Ok(problem)
    }

    /// How many things there are.
    pub(super) fn things(&self) -> usize {
        self.wants.len()
    }

    /// Leaves out stances that all the goods there are do not reach; says which suppliers have none left.
    fn drop_what_is_out_of_reach(&mut self) -> Vec<Short> {
        let (things, terms) = (self.things(), self.terms);
        let mut short = Vec::new();
        for firm in &mut self.firms {
            let most: i64 = (0..things).filter_map(|thing| firm.of(thing).last()).map(|choice| choice.goods).sum();
            firm.stances.retain(|stance| stance.floor <= most);
            if firm.stances.is_empty() {
                let minimum = terms[firm.supplier].minimum.unwrap_or_default();
                short.push(Short { supplier: firm.supplier, minimum, most: Money(most) });
            }
        }
        short
    }

    /// Refuses a thing that has no way left.
    fn explain(&self, short: &[Short]) -> Result<(), Unmet> {
        for thing in 0..self.things() {
            let has = |firm: &&Firm| !firm.of(thing).is_empty();
            let usable = self.firms.iter().any(|firm| !firm.stances.is_empty() && has(&firm));
            if self.free[thing].is_none() && !usable {
                let its = self.firms.iter().filter(has);
                let suppliers = its.filter_map(|firm| short.iter().find(|s| s.supplier == firm.supplier)).copied();
                return Err(Unmet::OutOfReach { thing, suppliers: suppliers.collect() });
            }
        }
        Ok(())
    }

    /// Suppliers without which most would be dearest come first, as what is decided early should matter; those that are
    /// out of reach go.
    fn order_firms(&mut self) {
        self.firms.retain(|firm| !firm.stances.is_empty());
        let mut missed = vec![0_i128; self.firms.len()];
        for thing in 0..self.things() {
            let mut costs: Vec<(i64, usize)> =
                self.firms.iter().enumerate().filter_map(|(n, firm)| Some((firm.of(thing).first()?.cost, n))).collect();
            costs.extend(self.free[thing].map(|choice| (choice.cost, usize::MAX)));
            costs.sort_unstable();
            let second = costs.get(1).map_or(i128::from(i64::MAX), |(cost, _)| i128::from(*cost));
            if let Some((cost, firm)) = costs.first().filter(|(_, firm)| *firm != usize::MAX) {
                missed[*firm] += second - i128::from(*cost);
            }
        }
        let mut ranked: Vec<(i128, Firm)> = missed.into_iter().zip(self.firms.drain(..)).collect();
        ranked.sort_by(|a, b| b.0.cmp(&a.0).then(a.1.supplier.cmp(&b.1.supplier)));
        self.firms = ranked.into_iter().map(|(_, firm)| firm).collect();
    }

    /// Ways that may be taken, as like those of a split under fewer conditions as can be; where a smallest order is then
    /// not reached, none.
    pub(super) fn likened(&self, ways: &[usize]) -> Option<Vec<usize>> {
        let mut out = ways.to_vec();
        for (thing, allowed) in self.allowed.iter().enumerate() {
            if !allowed.get(*out.get(thing)?).is_some_and(|allowed| *allowed) {
                let may = (0..allowed.len()).filter(|way| allowed[*way]);
                out[thing] = may.min_by_key(|way| self.wants[thing][*way].cost)?;
            }
        }
        self.is_taken(&out).then_some(out)
    }

    /// A way of a thing may be taken.
    pub(super) fn may(&self, thing: usize, way: usize) -> bool {
        self.allowed[thing][way]
    }

    /// Goods of each supplier.
    pub(super) fn goods(&self, ways: &[usize]) -> Vec<Money> {
        let mut goods = vec![Money::ZERO; self.terms.len()];
        for (way, ways) in ways.iter().zip(self.wants) {
            if let Some(supplier) = ways[*way].supplier {
                goods[supplier] += ways[*way].goods;
            }
        }
        goods
    }

    /// Every supplier takes its order.
    pub(super) fn is_taken(&self, ways: &[usize]) -> bool {
        self.goods(ways).iter().zip(self.terms).all(|(goods, terms)| terms.takes(*goods))
    }

    /// Goods and fee of each supplier.
    pub(super) fn paid(&self, ways: &[usize]) -> (Vec<Money>, Vec<Money>) {
        let goods = self.goods(ways);
        let fees = goods.iter().zip(self.terms).map(|(goods, terms)| terms.fee_of(*goods)).collect();
        (goods, fees)
    }

    /// What ways are reckoned to cost, with the fees, in thousandths of a minor unit.
    pub(super) fn cost(&self, ways: &[usize]) -> i64 {
        let fees: i64 = self.paid(ways).1.iter().map(|fee| fee.0 * THOUSAND).sum();
        fees + ways.iter().zip(self.wants).map(|(way, ways)| ways[*way].cost).sum::<i64>()
    }

    /// More than any split costs.
    pub(super) fn dearest(&self) -> i64 {
        let fees: i64 = self.terms.iter().map(|terms| terms.fee.unwrap_or_default().0 * THOUSAND).sum();
        let ways = self.wants.iter().map(|ways| ways.iter().map(|way| way.cost).max().unwrap_or_default());
        1 + fees + ways.sum::<i64>()
    }

    /// The suppliers with a smallest order that the things need which cannot come from elsewhere.
    pub(super) fn needed(&self) -> Vec<usize> {
        let bound = (0..self.things()).filter(|thing| self.free[*thing].is_none());
        let bound: Vec<usize> = bound.collect();
        let needed = self.firms.iter().filter(|firm| bound.iter().any(|thing| !firm.of(*thing).is_empty()));
        let mut needed: Vec<usize> =
            needed.map(|firm| firm.supplier).filter(|n| self.terms[*n].minimum.is_some()).collect();
        needed.sort_unstable();
        needed
    }
}

/// Keeps what gives more goods than everything that costs no more, the cheapest first; of equal ones the earliest.
fn useful(choices: &mut Vec<Choice>) {
    choices.sort_unstable_by_key(|choice| (choice.cost, -choice.goods, choice.way));
    let mut most = 0;
    choices.retain(|choice| {
        let more = choice.goods > most;
        most = most.max(choice.goods);
        more
    });
}

/// Everything is in range, and no sum can overflow.
fn check(wants: &[Vec<Way>], terms: &[Terms]) -> Result<(), Unmet> {
    let (mut cost, mut goods) = (0_i128, 0_i128);
    for (supplier, terms) in terms.iter().enumerate() {
        let amounts = [terms.minimum, terms.fee, terms.free_from];
        if amounts.iter().flatten().any(|money| money.0 < 0) {
            return Err(Unmet::WrongTerms { supplier });
        }
        cost += i128::from(terms.fee.unwrap_or_default().0) * i128::from(THOUSAND);
    }
    for (thing, ways) in wants.iter().enumerate() {
        for (index, way) in ways.iter().enumerate() {
            let known = way.supplier.is_none_or(|supplier| supplier < terms.len());
            let unpaid = way.supplier.is_none() && way.goods != Money::ZERO;
            if way.goods.0 < 0 || !known || unpaid {
                return Err(Unmet::WrongWay { thing, way: index });
            }
        }
        cost += ways.iter().map(|way| i128::from(way.cost).abs()).max().unwrap_or_default();
        goods += ways.iter().map(|way| i128::from(way.goods.0)).max().unwrap_or_default();
    }
    // A quarter of the range, so that differences of sums are in it as well.
    let limit = i128::from(i64::MAX / 4);
    if cost > limit || goods > limit { Err(Unmet::TooLarge) } else { Ok(()) }
}
