//! Many periods in a row, a line each: whether it gets better or worse over the years.

use super::reading::{Read, Reader, Sales};
use crate::desk::comparing::{self, BACK, Choice};
use crate::desk::{DeskError, Pace, costing, gauging};
use crate::domain::drink::Costs;
use crate::domain::ledger::Count;
use crate::domain::many;
use crate::domain::rows::PastPeriod;
use crate::domain::usage::{GapRow, GroupRow, Spreads, learned, summed};
use crate::domain::venue::ItemId;
use crate::store::{Store, setup};

/// Compares the counts of the same places up to those that are chosen, each with the one before: at most so many periods,
/// the oldest first. Summed over all items, or of one alone. Everything costs what it did at the end of the last of them, so
/// that periods can be told from prices; and how eyes and pours scatter is taken from the last quarter of a year.
///
/// # Errors
/// [`DeskError`]: as for a review of the last of them, or it was stopped.
pub fn over_periods(
    store: &Store,
    choice: Choice,
    item: Option<ItemId>,
    most: usize,
    pace: &mut Pace<'_>,
) -> Result<Vec<PastPeriod>, DeskError> {
    store.read(|conn| {
        let (opening, closing) = comparing::choose(conn, choice)?;
        let mut counts = comparing::back_from(conn, &opening, most.saturating_sub(1))?;
        counts.extend([opening, closing]);
        let setup = setup::load(conn)?;
        let gauges = gauging::gauges(conn, &setup)?;
        let mut costs_at_last: Option<Costs> = None;
        let mut out: Vec<PastPeriod> = Vec::with_capacity(counts.len());
        let mut known: Option<Spreads> = None;
        // From the newest on, a quarter of a year at a time: all lines of many years would not fit into memory.
        let mut end = counts.len();
        while end > 1 {
            if pace((counts.len() - end) as u64, counts.len() as u64).is_break() {
                return Err(DeskError::Stopped);
            }
            let begin = end.saturating_sub(BACK + 1);
            let chain = &counts[begin..end];
            let mut reader = Reader::new(conn, &setup, chain.iter().map(|count| count.id))?;
            let mut read = |two: &[Count]| reader.read(two[0].id, two[1].id, Sales::Took);
            let reads: Vec<Read> = chain.windows(2).map(&mut read).collect::<Result<_, DeskError>>()?;
            let costs = match &mut costs_at_last {
                Some(costs) => costs,
                none => {
                    let last = reads.last().map(Read::ends).unwrap_or_default();
                    none.insert(costing::costs_at(conn, &setup, &gauges, last)?)
                }
            };
            let mut variances = many::each(&reads, |read| read.compare(&setup, &gauges, costs));
            let spreads = *known.get_or_insert_with(|| {
                learned(&setup, variances.iter().rev().map(|variance| variance.rows.as_slice()))
            });
            for (two, variance) in chain.windows(2).zip(&mut variances).rev() {
                variance.rows.iter_mut().for_each(|row| row.u = row.budget.u(&spreads));
                let sum = match item {
                    None => summed(&setup, two[1].name.clone(), &variance.rows.iter().collect::<Vec<_>>()),
                    Some(item) => of_one(two[1].name.clone(), variance.rows.iter().find(|row| row.item == item)),
                };
                out.push(PastPeriod { opening: two[0].clone(), closing: two[1].clone(), sum });
            }
            end = begin + 1;
        }
        out.reverse();
        Ok(out)
    })
}

/// The sum of one row; of none where the period tells nothing about the item.
fn of_one(name: String, row: Option<&GapRow>) -> GroupRow {
    let Some(row) = row else { return GroupRow { name, ..GroupRow::default() } };
    GroupRow {
        name,
        items: 1,
        usage: row.usage,
        sold: row.sold,
        gap: row.gap,
        u: row.u,
        cost: row.cost.unwrap_or_default(),
        without_cost: usize::from(row.cost.is_none()),
    }
}
