//! Reviewing a period: what two counts say, which gaps matter, and what probably made them.

mod past;
mod reading;

pub use past::over_periods;

use super::comparing::{self, Choice, EVER};
use super::{DeskError, costing, gauging, refused};
use crate::domain::drink::Costs;
use crate::domain::ledger::{Batch, Count, CountLine, Explanation, taken_by};
use crate::domain::many;
use crate::domain::rows::{Evening, Evidence, Look, PeriodView};
use crate::domain::usage::{Awaited, Facts, PeriodFacts, Review, Spreads, Variance, Verdict, recounts, suspects};
use crate::domain::venue::{ItemId, Moment, OrderState, Setup};
use crate::store::{Connection, Store, counts, explanations, journal, orders, sales, setup};
use reading::{Read, Reader, Sales};
use std::collections::{HashMap, HashSet};

/// A period with those around it, reviewed.
struct Reviewed {
    setup: Setup,
    /// The counts of the periods, in the order of time.
    counts: Vec<Count>,
    reads: Vec<Read>,
    variances: Vec<Variance>,
    /// The evenings within the period that is asked about.
    evenings: Vec<Evening>,
    /// Which of the periods is asked about.
    at: usize,
    review: Review,
    /// What was accepted of each period.
    explanations: Vec<Vec<Explanation>>,
    /// Whether the period is the one that ends with its closing: a cause is accepted of that, and says nothing of another
    /// stretch up to it.
    is_own: bool,
}

impl Reviewed {
    fn new(conn: &Connection, choice: Choice) -> Result<Reviewed, DeskError> {
        let (opening, closing) = comparing::choose(conn, choice)?;
        let (counts, closing_at) = comparing::chain(conn, &opening, &closing)?;
        let setup = setup::load(conn)?;
        let gauges = gauging::gauges(conn, &setup)?;
        // A period lies between its two counts, so it has the number of its opening.
        let at = closing_at - 1;
        let within = comparing::closed_within(conn, opening.opened, closing.opened)?;
        let ids = || counts.iter().chain(&within).map(|count| count.id);
        let mut reader = Reader::new(conn, &setup, ids())?;
        let mut reads = Vec::with_capacity(counts.len());
        for (number, ends) in counts.windows(2).enumerate() {
            // Only of the one that is asked about it matters what was sold when.
            reads.push(reader.read(ends[0].id, ends[1].id, if number == at { Sales::Each } else { Sales::Took })?);
        }
        let costs = costing::costs_at(conn, &setup, &gauges, reads[at].ends())?;
        let unknown = Costs::default();
        let numbered: Vec<(usize, &Read)> = reads.iter().enumerate().collect();
        let mut variances: Vec<Variance> = many::each(&numbered, |(number, read)| {
            read.compare(&setup, &gauges, if *number == at { &costs } else { &unknown })
        });
        // The evenings between the two counts, where some places were counted on them, are compared one by one, of whatever
        // each two of them looked at.
        let mut evenings = Vec::new();
        let ends: Vec<&Count> = std::iter::once(&opening).chain(&within).chain([&closing]).collect();
        for two in ends.windows(2).filter(|_| !within.is_empty()) {
            let part = reader.read(two[0].id, two[1].id, Sales::Among(&reads[at]))?;
            let rows = part.compare(&setup, &gauges, &costs).rows;
            evenings.push(Evening { from: two[0].clone(), to: two[1].clone(), rows });
        }
        let of_closings = counts.iter().skip(1).map(|count| explanations::of_closing(conn, count.id));
        let explanations: Vec<Vec<Explanation>> = of_closings.collect::<Result<_, _>>()?;
        let usual = comparing::choose(conn, Choice { opening: None, closing: Some(closing.id) });
        let is_own = usual.is_ok_and(|(usual, _)| usual.id == opening.id);
        let of_periods = explanations.iter().enumerate().filter(|(period, _)| is_own || *period != at);
        let explained: HashSet<(usize, ItemId)> =
            of_periods.flat_map(|(period, all)| all.iter().map(move |e| (period, e.item))).collect();
        let review = Review::new(&setup, &mut variances, at, &explained);
        let spreads = review.spreads.unwrap_or(Spreads::AS_SET);
        for row in evenings.iter_mut().flat_map(|evening| &mut evening.rows) {
            row.u = row.budget.u(&spreads);
        }
        Ok(Reviewed { setup, counts, reads, variances, evenings, at, review, explanations, is_own })
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
        let items: Vec<ItemId> = read.variances[read.at].rows.iter().map(|row| row.item).filter(matter).collect();
        let suspects = many::each(&items, |item| suspects(&facts, *item));
        let suspects: HashMap<ItemId, _> = items.into_iter().zip(suspects).collect();
        let opening = read.counts[read.at].clone();
        let closing = read.counts[read.at + 1].clone();
        // Once something is poured, looking again says nothing of the count any more.
        let newest = rung
            && counts::last_closed_before(conn, EVER, |_| true)?.is_some_and(|last| last.count.id == closing.id)
            && sales::between(conn, read.reads[read.at].ends(), Moment(i64::MAX))?.is_empty();
        let variance = &read.variances[read.at];
        let mut recounts = if newest { recounts(&read.setup, variance, &read.review, &suspects) } else { Vec::new() };
        let of_closing = read.explanations[read.at].iter().filter(|_| read.is_own);
        // The newest of an item holds.
        let explained: HashMap<ItemId, Explanation> = of_closing.map(|e| (e.item, e.clone())).collect();
        // What is settled needs no other look.
        recounts.retain(|recount| !explained.contains_key(&recount.item));
        let Reviewed { counts, mut variances, evenings, at, review, .. } = read;
        let is_first = counts::last_closed_before(conn, opening.opened, |_| true)?.is_none();
        let next = comparing::next_alike(conn, &closing)?;
        Ok(PeriodView {
            variance: variances.swap_remove(at),
            opening,
            closing,
            is_first,
            next,
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
