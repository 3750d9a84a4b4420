//! What a set of suppliers costs at least: everything at its cheapest among them, and for each of them that must reach a
//! value of goods, the cheapest steps up to it, things taken in parts.
//!
//! The steps of one supplier and those of another add up to a bound: a thing ends with one supplier only, so that what is
//! paid above its cheapest way counts towards the goods of that one alone.

use super::problem::{Choice, Problem};

/// Everything in its cheapest way among some suppliers.
#[derive(Debug)]
pub(super) struct Base {
    /// What that costs.
    pub(super) cost: i64,
    /// The cost of each thing.
    each: Vec<i64>,
}

impl Base {
    /// With the suppliers that are open; `None` where a thing has no way then.
    pub(super) fn new(problem: &Problem, open: &[bool]) -> Option<Base> {
        let mut each: Vec<i64> = problem.free.iter().map(|free| free.map_or(i64::MAX, |choice| choice.cost)).collect();
        for (firm, _) in problem.firms.iter().zip(open).filter(|(_, open)| **open) {
            for (thing, cost) in each.iter_mut().enumerate() {
                if let Some(choice) = firm.of(thing).first() {
                    *cost = choice.cost.min(*cost);
                }
            }
        }
        let cost = each.iter().try_fold(0, |sum, cost| (*cost != i64::MAX).then(|| sum + cost))?;
        Some(Base { cost, each })
    }
}

/// A step up: more goods for more money.
#[derive(Clone, Copy, Debug)]
struct Step {
    goods: i64,
    cost: i64,
}

impl Step {
    /// Fewer thousandths for each coin of goods than another.
    fn is_flatter(self, other: Step) -> bool {
        i128::from(self.cost) * i128::from(other.goods) < i128::from(other.cost) * i128::from(self.goods)
    }
}

/// The steps up in the goods of one supplier from a base, the flattest first.
#[derive(Debug)]
pub(super) struct Steps {
    /// Goods that the base has there anyway.
    from: i64,
    steps: Vec<Step>,
}

/// What reaching a value of goods costs at least beyond the base.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Climb {
    /// In thousandths of a minor unit, rounded up.
    pub(super) cost: i64,
    /// The steepness of the last step, in thousandths of a minor unit for each minor unit of goods.
    pub(super) steepness: f64,
}

impl Steps {
    /// Those of the firm of that place.
    pub(super) fn new(problem: &Problem, base: &Base, firm: usize) -> Steps {
        let (mut from, mut steps, mut hull) = (0, Vec::new(), Vec::new());
        for thing in 0..problem.things() {
            let choices = problem.firms[firm].of(thing);
            lower_hull(choices, base.each[thing], &mut hull);
            from += hull.first().map_or(0, |first: &Step| first.goods);
            steps.extend(
                hull.windows(2)
                    .map(|pair| Step { goods: pair[1].goods - pair[0].goods, cost: pair[1].cost - pair[0].cost }),
            );
        }
        steps.sort_unstable_by(|a, b| {
            let (left, right) = (i128::from(a.cost) * i128::from(b.goods), i128::from(b.cost) * i128::from(a.goods));
            left.cmp(&right).then(a.goods.cmp(&b.goods))
        });
        Steps { from, steps }
    }

    /// Up to a value of goods; `None` where all steps do not lead so far.
    pub(super) fn up_to(&self, floor: i64) -> Option<Climb> {
        let mut missing = floor - self.from;
        let mut climb = Climb::default();
        if missing <= 0 {
            return Some(climb);
        }
        for step in &self.steps {
            climb.steepness = step.cost as f64 / step.goods as f64;
            if step.goods >= missing {
                let part = i128::from(step.cost) * i128::from(missing);
                climb.cost += (part + i128::from(step.goods) - 1).div_euclid(i128::from(step.goods)) as i64;
                return Some(climb);
            }
            climb.cost += step.cost;
            missing -= step.goods;
        }
        None
    }
}

/// The corners of the cheapest mixtures of a thing's choices: goods above none, cost above the base. The first is what
/// costs nothing more.
fn lower_hull(choices: &[Choice], base: i64, out: &mut Vec<Step>) {
    out.clear();
    if choices.is_empty() {
        return;
    }
    out.push(Step { goods: 0, cost: 0 });
    for choice in choices {
        let next = Step { goods: choice.goods, cost: choice.cost - base };
        if next.cost == 0 {
            out[0] = next;
            continue;
        }
        while let [.., before, last] = out[..] {
            let (down, up) = (
                Step { goods: last.goods - before.goods, cost: last.cost - before.cost },
                Step { goods: next.goods - last.goods, cost: next.cost - last.cost },
            );
            if down.is_flatter(up) {
                break;
            }
            out.pop();
        }
        out.push(next);
    }
}
