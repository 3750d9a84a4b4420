//! Reviewing a period: what two counts say, which gaps matter, and what probably made them.

use super::comparing::{self, Choice};
use super::{DeskError, costing, gauging, refused};
use crate::domain::drink::Costs;
use crate::domain::gauge::Gauges;
use crate::domain::ledger::{Batch, Count, CountLine, Explanation, Movements, Sale, taken_by};
use crate::domain::rows::{Evening, Evidence, Look, PeriodView};
use crate::domain::usage::{
    Awaited, Facts, Period, PeriodFacts, Review, Spreads, Variance, Verdict, recounts, suspects, variance,
};
use crate::domain::venue::{CountId, ItemId, Moment, OrderState, Setup};
use crate::store::{Connection, Store, counts, explanations, journal, orders, sales, setup};
use std::collections::{HashMap, HashSet};

/// The facts of one period.
struct Read {
    opening: Vec<CountLine>,
    closing: Vec<CountLine>,
    latest: Vec<CountLine>,
    movements: Movements,
    sales: Vec<Sale>,
}

impl Read {
    fn new(conn: &Connection, opening: CountId, closing: CountId) -> Result<Read, DeskError> {
        let (opening, closing) = (counts::lines(conn, opening)?, counts::lines(conn, closing)?);
        let from = opening.iter().map(|l| l.at).min().unwrap_or_default();
        let to = closing.iter().map(|l| l.at).max().unwrap_or_default();
        Ok(Read {
            latest: counts::latest(conn, to, None)?,
            movements: journal::movements(conn, from, to)?,
            sales: sales::between(conn, from, to)?,
            opening,
            closing,
        })
    }

    /// When its last line was counted.
    fn ends(&self) -> Moment {
        self.closing.iter().map(|l| l.at).max().unwrap_or_default()
    }

    fn compare(&self, setup: &Setup, gauges: &Gauges, costs: &Costs) -> Variance {
        let period = Period {
            opening: &self.opening,
            closing: &self.closing,
            latest: &self.latest,
            movements: &self.movements,
            sales: &self.sales,
        };
        variance(setup, gauges, &period, costs)
    }
}

/// A period with those around it, reviewed.
struct Reviewed {
    setup: Setup,
    gauges: Gauges,
    /// What items cost at the end of the period that is asked about.
    costs: Costs,
    /// Every closed count, the newest first.
    all: Vec<Count>,
    /// The counts of the periods, in the order of time.
    counts: Vec<Count>,
    reads: Vec<Read>,
    variances: Vec<Variance>,
    /// Which of the periods is asked about.
    at: usize,
    review: Review,
    explanations: Vec<Explanation>,
    /// Whether the period is the one that ends with its closing: a cause is accepted of that, and says nothing of another
    /// stretch up to it.
    is_own: bool,
}

impl Reviewed {
    fn new(conn: &Connection, choice: Choice) -> Result<Reviewed, DeskError> {
        let (opening, closing, all) = comparing::choose(conn, choice)?;
        let (counts, closing_at) = comparing::chain(conn, &all, &opening, &closing)?;
        let setup = setup::load(conn)?;
        let gauges = gauging::gauges(conn, &setup)?;
        let reads: Vec<Read> =
            counts.windows(2).map(|ends| Read::new(conn, ends[0].id, ends[1].id)).collect::<Result<_, _>>()?;
        // A period lies between its two counts, so it has the number of its opening.
        let at = closing_at - 1;
        let costs = costing::costs_at(conn, &setup, &gauges, reads[at].ends())?;
        let unknown = Costs::default();
        let compare = |(number, read): (usize, &Read)| {
            read.compare(&setup, &gauges, if number == at { &costs } else { &unknown })
        };
        let mut variances: Vec<Variance> = reads.iter().enumerate().map(compare).collect();
        let explanations = explanations::list(conn)?;
        let period_of = |count: CountId| counts.iter().skip(1).position(|c| c.id == count);
        let usual = comparing::choose(conn, Choice { opening: None, closing: Some(closing.id) });
        let is_own = usual.is_ok_and(|(usual, ..)| usual.id == opening.id);
        let of_period = |e: &Explanation| period_of(e.closing).filter(|period| is_own || *period != at);
        let explained: HashSet<(usize, ItemId)> =
            explanations.iter().filter_map(|e| Some((of_period(e)?, e.item))).collect();
        let review = Review::new(&setup, &mut variances, at, &explained);
        Ok(Reviewed { setup, gauges, costs, all, counts, reads, variances, at, review, explanations, is_own })
    }

    /// What was ordered for the period that is asked about and is not booked at its end: orders still on their way though
    /// due, and what was booked in the two days after the count.
    fn awaited(&self, conn: &Connection) -> Result<Vec<Awaited>, DeskError> {
        let ends = self.reads[self.at].ends();
        let day = self.setup.venue.days.day_of(ends);
        let mut out = Vec::new();
        for order in orders::list(conn, &[OrderState::Sent])? {
            let due = order.expected.is_none_or(|expected| expected <= day);
            if due && order.placed.is_some_and(|placed| placed <= ends) {
                out.extend(order.lines.iter().map(|line| Awaited {
                    item: line.item,
                    containers: line.packs * line.pack,
                    order: order.name.clone(),
                }));
            }
        }
        for came in journal::deliveries(conn, ends, Moment(ends.0 + BOOKED_LATE))? {
            if came.containers > 0 {
                out.push(Awaited { item: came.item, containers: came.containers, order: came.document });
            }
        }
        Ok(out)
    }
}

/// What is booked so soon after a count may have come before it.
const BOOKED_LATE: i64 = 2 * Moment::DAY;

/// Compares two counts, the last two that cover the bar when none are chosen; judges the gaps, and weighs the causes of
/// those that matter.
///
/// # Errors
/// [`DeskError`]: there are not two counts, or the closing is not after the opening.
pub fn review(store: &Store, choice: Choice) -> Result<PeriodView, DeskError> {
    store.read(|conn| {
        let read = Reviewed::new(conn, choice)?;
        let awaited = read.awaited(conn)?;
        let facts: Vec<PeriodFacts> = read
            .reads
            .iter()
            .zip(&read.variances)
            .enumerate()
            .map(|(number, (read_one, variance))| PeriodFacts {
                variance,
                opening: &read_one.opening,
                deliveries: &read_one.movements.deliveries,
                sales: &read_one.sales,
                awaited: if number == read.at { &awaited } else { &[] },
            })
            .collect();
        let spreads = read.review.spreads.unwrap_or(Spreads::AS_SET);
        let facts = Facts::new(&read.setup, &facts, read.at, spreads);
        // Where nothing was rung, everything is missing from what was sold, and no cause can be told from another.
        let rung = !read.reads[read.at].sales.is_empty();
        let matter = |item: &ItemId| rung && read.review.verdict(*item) != Verdict::Within;
        let items = read.variances[read.at].rows.iter().map(|row| row.item).filter(matter);
        let suspects: HashMap<ItemId, _> = items.map(|item| (item, suspects(&facts, item))).collect();
        let opening = read.counts[read.at].clone();
        let closing = read.counts[read.at + 1].clone();
        let evenings = evenings(conn, &read, &opening, &closing)?;
        // Once something is poured, looking again says nothing of the count any more.
        let newest = rung
            && read.all.first().is_some_and(|count| count.id == closing.id)
            && sales::between(conn, read.reads[read.at].ends(), Moment(i64::MAX))?.is_empty();
        let variance = &read.variances[read.at];
        let mut recounts = if newest { recounts(&read.setup, variance, &read.review, &suspects) } else { Vec::new() };
        let of_closing = read.explanations.iter().filter(|e| read.is_own && e.closing == closing.id);
        // The newest of an item holds.
        let explained: HashMap<ItemId, Explanation> = of_closing.map(|e| (e.item, e.clone())).collect();
        // What is settled needs no other look.
        recounts.retain(|recount| !explained.contains_key(&recount.item));
        let Reviewed { all, counts, mut variances, at, review, .. } = read;
        Ok(PeriodView {
            variance: variances.swap_remove(at),
            opening,
            closing,
            counts: all,
            periods: counts[1..=at + 1].to_vec(),
            review,
            suspects,
            explained,
            evenings,
            recounts,
            rung,
        })
    })
}

/// The evenings between two counts, where some places were counted on them. The counts in between are compared one by one,
/// of whatever each two of them looked at.
fn evenings(conn: &Connection, read: &Reviewed, opening: &Count, closing: &Count) -> Result<Vec<Evening>, DeskError> {
    let within = |count: &&Count| count.opened > opening.opened && count.opened < closing.opened;
    let mut ends: Vec<&Count> = read.all.iter().filter(within).collect();
    if ends.is_empty() {
        return Ok(Vec::new());
    }
    ends.reverse();
    let ends: Vec<&Count> = std::iter::once(opening).chain(ends).chain([closing]).collect();
    let spreads = read.review.spreads.unwrap_or(Spreads::AS_SET);
    let evening = |two: &[&Count]| {
        let part = Read::new(conn, two[0].id, two[1].id)?;
        let mut rows = part.compare(&read.setup, &read.gauges, &read.costs).rows;
        rows.iter_mut().for_each(|row| row.u = row.budget.u(&spreads));
        Ok(Evening { from: two[0].clone(), to: two[1].clone(), rows })
    };
    ends.windows(2).map(evening).collect()
}

/// The facts behind one line of a comparison, as it was reviewed.
///
/// # Errors
/// [`DeskError`]: the comparison has no line for the item.
pub fn evidence(store: &Store, view: &PeriodView, item: ItemId) -> Result<Evidence, DeskError> {
    store.read(|conn| {
        let setup = setup::load(conn)?;
        let gauges = gauging::gauges(conn, &setup)?;
        let period = Read::new(conn, view.opening.id, view.closing.id)?;
        // Lines of a count with what they amount to.
        let looks = |lines: &[CountLine]| -> Vec<Look> {
            let look = |line: &CountLine| {
                let level = gauges.level(setup.item(line.item)?, &line.entry, line.eye()).level();
                Some(Look { line: line.clone(), level })
            };
            lines.iter().filter_map(look).collect()
        };
        let (opening, closing) = (looks(&period.opening), looks(&period.closing));
        let stocked: HashSet<ItemId> = period.latest.iter().map(|l| l.item).collect();
        let counted = |id: ItemId| stocked.contains(&id);
        let takes = |batch: &Batch| {
            counted(batch.item) && taken_by(&setup, &counted, batch.item, batch.at).iter().any(|s| s.item == item)
        };
        let store = setup.store_of(item);
        Evidence::gather(item, &view.variance, &opening, &closing, &period.movements, store, takes).ok_or_else(|| {
            refused(say!("these two counts tell nothing about {item_name}", item_name = setup.item_name(item)))
        })
    })
}
