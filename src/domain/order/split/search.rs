//! Which suppliers get an order, and how it stands with them: the most promising first, until nothing that is left can be
//! cheaper than what was found.

use super::Unmet;
use super::choose::chosen;
use super::effort::{Effort, Limits};
use super::leaf::{Leaf, Pick};
use super::problem::Problem;
use super::pulls;
use super::quick::quick;
use super::steps::{Base, Climb, Steps};
use std::cmp::Ordering;
use std::collections::{BinaryHeap, HashMap};

/// Decisions about the first suppliers.
#[derive(Debug)]
struct Node {
    /// Nothing under these decisions costs less.
    bound: i64,
    /// Suppliers that get an order by these decisions.
    opened: usize,
    /// For each decided supplier the place of its stance, `None` for no order.
    stances: Vec<Option<usize>>,
    /// The pulls, once they are found: then only the things are left to choose.
    pulls: Option<Vec<i64>>,
    /// How often that was tried.
    tried: usize,
    /// Which came first, so that the order is always the same.
    number: usize,
}

impl Node {
    /// Cheaper ones first, then those with fewer suppliers, then those that are decided further.
    fn rank(&self) -> impl Ord + use<> {
        let further = (usize::MAX - self.stances.len(), self.pulls.is_none());
        (self.bound, self.opened, further, self.number)
    }
}

impl PartialEq for Node {
    fn eq(&self, other: &Node) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}
impl Eq for Node {}
impl PartialOrd for Node {
    fn partial_cmp(&self, other: &Node) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for Node {
    fn cmp(&self, other: &Node) -> Ordering {
        other.rank().cmp(&self.rank())
    }
}

/// The cheapest found so far.
#[derive(Clone, Debug)]
struct Found {
    cost: i64,
    opened: usize,
    ways: Vec<usize>,
}

/// Sets of suppliers that are kept in mind at once, and steps of one supplier in one of them.
const BASES: usize = 2_000;
const STEPS: usize = 1_000;

/// What sets of suppliers cost at least, kept while the search goes on.
#[derive(Debug, Default)]
struct Known {
    bases: HashMap<Vec<bool>, Option<Base>>,
    steps: HashMap<(Vec<bool>, usize), Steps>,
}

impl Known {
    /// Everything at its cheapest.
    fn base(&mut self, problem: &Problem, open: &[bool]) -> Option<&Base> {
        if self.bases.len() >= BASES && !self.bases.contains_key(open) {
            self.bases.clear();
        }
        self.bases.entry(open.to_vec()).or_insert_with(|| Base::new(problem, open)).as_ref()
    }

    /// What it costs to reach a floor beyond everything at its cheapest; `None` where it cannot be reached.
    fn climb(&mut self, problem: &Problem, open: &[bool], firm: usize, floor: i64) -> Option<Climb> {
        if floor == 0 {
            return Some(Climb::default());
        }
        let key = (open.to_vec(), firm);
        if !self.steps.contains_key(&key) {
            if self.steps.len() >= STEPS {
                self.steps.clear();
            }
            let steps = Steps::new(problem, self.base(problem, open)?, firm);
            self.steps.insert(key.clone(), steps);
        }
        self.steps.get(&key)?.up_to(floor)
    }
}

struct Search<'a> {
    problem: &'a Problem<'a>,
    known: Known,
    heap: BinaryHeap<Node>,
    made: usize,
    effort: Effort,
    best: Option<Found>,
    /// Above what anything can cost.
    dearest: i64,
    /// The lowest bound of what was left out for its size.
    left_out: i64,
}

/// The ways of the cheapest split, and what no split costs less than. `least` is such a cost that is known beforehand,
/// `start` a split to begin with.
pub(super) fn search(
    problem: &Problem,
    least: Option<i64>,
    start: Option<Vec<usize>>,
    limits: Limits,
) -> Result<(Vec<usize>, i64), Unmet> {
    let best = start.map(|ways| Found { cost: problem.cost(&ways), opened: opened(problem, &ways), ways });
    if let Some(found) = best.as_ref().filter(|found| least == Some(found.cost)) {
        return Ok((found.ways.clone(), found.cost));
    }
    let mut search = Search {
        problem,
        known: Known::default(),
        heap: BinaryHeap::new(),
        made: 0,
        effort: Effort::new(limits, best.is_some()),
        best,
        dearest: problem.dearest(),
        left_out: i64::MAX,
    };
    search.add(Vec::new(), 0, least.unwrap_or(i64::MIN));
    search.run();
    let proved = search.left_out == i64::MAX;
    match search.best {
        Some(found) => Ok((found.ways, found.cost.min(search.left_out))),
        None if proved => Err(Unmet::NotTogether { suppliers: problem.needed() }),
        None => Err(Unmet::NotFound),
    }
}

/// Suppliers that ask for something and get an order.
fn opened(problem: &Problem, ways: &[usize]) -> usize {
    let goods = problem.goods(ways);
    problem.firms.iter().filter(|firm| goods[firm.supplier].0 > 0).count()
}

impl Search<'_> {
    fn run(&mut self) {
        while let Some(node) = self.heap.pop() {
            if !self.may_better(node.bound, node.opened) {
                break;
            }
            self.effort.look();
            if self.effort.is_spent() {
                self.left_out = self.left_out.min(node.bound);
                break;
            }
            if node.stances.len() < self.problem.firms.len() {
                self.branch(&node);
            } else if node.pulls.is_some() {
                self.choose(node);
            } else {
                self.refine(node);
            }
        }
    }

    /// A cost with so many suppliers would be better than what was found.
    fn may_better(&self, cost: i64, opened: usize) -> bool {
        self.best.as_ref().is_none_or(|best| (cost, opened) < (best.cost, best.opened))
    }

    fn take(&mut self, cost: i64, ways: Vec<usize>) {
        let opened = opened(self.problem, &ways);
        if self.may_better(cost, opened) {
            self.effort.found = true;
            self.best = Some(Found { cost, opened, ways });
        }
    }

    /// Puts decisions on the heap that may lead to something better.
    fn add(&mut self, stances: Vec<Option<usize>>, opened: usize, least: i64) {
        if let Some(bound) = self.bound(&stances).map(|bound| bound.max(least))
            && self.may_better(bound, opened)
        {
            self.made += 1;
            self.heap.push(Node { bound, opened, stances, pulls: None, tried: 0, number: self.made });
        }
    }

    /// Who may get an order.
    fn open(&self, stances: &[Option<usize>]) -> Vec<bool> {
        let open = |firm: usize| stances.get(firm).is_none_or(Option::is_some);
        (0..self.problem.firms.len()).map(open).collect()
    }

    /// What decisions lead to costs at least this; `None` where they cannot be.
    fn bound(&mut self, stances: &[Option<usize>]) -> Option<i64> {
        let (problem, open) = (self.problem, self.open(stances));
        let mut bound = self.known.base(problem, &open)?.cost;
        for (firm, stance) in stances.iter().enumerate() {
            let Some(stance) = stance.map(|at| problem.firms[firm].stances[at]) else { continue };
            bound += stance.fee;
            bound = bound.saturating_add(self.known.climb(problem, &open, firm, stance.floor)?.cost);
        }
        Some(bound)
    }

    fn branch(&mut self, node: &Node) {
        let stances = self.problem.firms[node.stances.len()].stances.len();
        for stance in [None].into_iter().chain((0..stances).map(Some)) {
            let mut next = node.stances.clone();
            next.push(stance);
            self.add(next, node.opened + usize::from(stance.is_some()), node.bound);
        }
    }

    /// Finds the pulls of a whole decision and what they say that it costs at least.
    fn refine(&mut self, node: Node) {
        let leaf = Leaf::new(self.problem, &node.stances);
        let cheapest = vec![0; leaf.things()];
        if leaf.missing(&cheapest).iter().all(|missing| *missing <= 0) {
            return self.take(leaf.cost(&cheapest), leaf.ways(&cheapest));
        }
        let open = self.open(&node.stances);
        let mut start = Vec::new();
        for (firm, stance) in node.stances.iter().enumerate() {
            let floor = stance.map_or(0, |at| self.problem.firms[firm].stances[at].floor);
            if floor > 0 {
                let climb = self.known.climb(self.problem, &open, firm, floor);
                start.push(climb.unwrap_or_default().steepness);
            }
        }
        self.effort.make(2 * leaf.things());
        let things: Vec<&[Pick]> = leaf.each().collect();
        let pulls = pulls::whole(&pulls::bettered(&things, &leaf.floors, &start));
        let bound = pulls::rounded_up(pulls::bound(&leaf, &pulls)).max(node.bound);
        if let Some(taken) = quick(&leaf, &pulls) {
            self.take(leaf.cost(&taken), leaf.ways(&taken));
        }
        if self.may_better(bound, node.opened) {
            self.heap.push(Node { bound, pulls: Some(pulls), ..node });
        }
    }

    /// Chooses the things of a whole decision.
    fn choose(&mut self, node: Node) {
        let (Some(pulls), Some(width)) = (&node.pulls, self.effort.width(node.tried)) else { return };
        let leaf = Leaf::new(self.problem, &node.stances);
        // As much as what was found is good enough where it takes fewer suppliers.
        let below = self.best.as_ref().map_or(self.dearest, |best| best.cost + i64::from(node.opened < best.opened));
        let chosen = chosen(&leaf, pulls, below, width, &mut self.effort);
        if let Some(taken) = chosen.taken {
            self.take(leaf.cost(&taken), leaf.ways(&taken));
        }
        let bound = chosen.left_out.max(node.bound);
        if chosen.left_out == i64::MAX || !self.may_better(bound, node.opened) {
            return;
        }
        let tried = node.tried + 1;
        if self.effort.width(tried).is_some() {
            self.heap.push(Node { bound, tried, ..node });
        } else {
            self.left_out = self.left_out.min(bound);
        }
    }
}
