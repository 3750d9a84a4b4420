//! The facts of periods that follow each other, as far as a comparison needs them: what several of them share is read once,
//! and of a week that lies back only what it comes to.

use super::DeskError;
use crate::domain::drink::Costs;
use crate::domain::gauge::Gauges;
use crate::domain::ledger::{CountLine, Movements, Sale};
use crate::domain::measure::Money;
use crate::domain::usage::{Period, Variance, changes, variance};
use crate::domain::venue::{CountId, ItemId, Moment, PlaceId, SaleKind, Setup, TillId};
use crate::store::{Connection, counts, day_totals, journal, sales};
use chrono::{Days, NaiveDate};
use std::collections::{BTreeSet, HashMap};
use std::sync::Arc;

/// The facts of one period.
pub(super) struct Read {
    pub(super) opening: Arc<[CountLine]>,
    pub(super) closing: Arc<[CountLine]>,
    pub(super) latest: Vec<CountLine>,
    pub(super) movements: Movements,
    pub(super) sales: Vec<Sale>,
}

/// From the first opening line of a period to its last closing line.
fn ends(opening: &[CountLine], closing: &[CountLine]) -> (Moment, Moment) {
    let from = opening.iter().map(|l| l.at).min().unwrap_or_default();
    (from, closing.iter().map(|l| l.at).max().unwrap_or_default())
}

impl Read {
    /// One period by itself, with every sale.
    pub(super) fn new(conn: &Connection, opening: CountId, closing: CountId) -> Result<Read, DeskError> {
        let (opening, closing) = (counts::lines(conn, opening)?, counts::lines(conn, closing)?);
        let (from, to) = ends(&opening, &closing);
        Ok(Read {
            latest: counts::latest(conn, to, None)?,
            movements: journal::movements(conn, from, to)?,
            sales: sales::between(conn, from, to)?,
            opening: opening.into(),
            closing: closing.into(),
        })
    }

    /// When its last line was counted.
    pub(super) fn ends(&self) -> Moment {
        ends(&[], &self.closing).1
    }

    pub(super) fn compare(&self, setup: &Setup, gauges: &Gauges, costs: &Costs) -> Variance {
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

/// What sales of a period are read for.
#[derive(Clone, Copy)]
pub(super) enum Sales<'s> {
    /// Every line of them.
    Each,
    /// The same, of what mostly is a part of a period that was read.
    Among(&'s Read),
    /// What they took: lines may be summed, and nothing is said of money.
    Took,
}

/// A spot: what stands where.
type Spot = (ItemId, PlaceId);

/// A line among those of its count.
type Known = (Arc<[CountLine]>, usize);

/// Reads periods of one chain of counts.
pub(super) struct Reader<'a> {
    conn: &'a Connection,
    setup: &'a Setup,
    /// Lines of counts that were read.
    lines: HashMap<CountId, Arc<[CountLine]>>,
    /// The same by spot and moment.
    known: HashMap<(Spot, Moment), Known>,
    /// The newest line of every spot at the end of the first count …
    before: Vec<CountLine>,
    /// … and when it was looked at after that, in the order of time.
    looked: HashMap<Spot, Vec<Moment>>,
}

impl<'a> Reader<'a> {
    /// Of periods that begin and end with any of these counts.
    pub(super) fn new(
        conn: &'a Connection,
        setup: &'a Setup,
        counts: impl Iterator<Item = CountId>,
    ) -> Result<Reader<'a>, DeskError> {
        let mut reader = Reader {
            conn,
            setup,
            lines: HashMap::new(),
            known: HashMap::new(),
            before: Vec::new(),
            looked: HashMap::new(),
        };
        let closings: Vec<Moment> =
            counts.map(|count| Ok(ends(&[], &reader.lines(count)?).1)).collect::<Result<_, DeskError>>()?;
        let first = closings.iter().min().copied().unwrap_or_default();
        let last = closings.iter().max().copied().unwrap_or_default();
        reader.before = counts::latest(conn, first, None)?;
        for (item, place, at) in counts::looked_at(conn, first, last)? {
            reader.looked.entry((item, place)).or_default().push(at);
        }
        Ok(reader)
    }

    /// The lines of a count.
    fn lines(&mut self, count: CountId) -> Result<Arc<[CountLine]>, DeskError> {
        if let Some(lines) = self.lines.get(&count) {
            return Ok(lines.clone());
        }
        let lines: Arc<[CountLine]> = counts::lines(self.conn, count)?.into();
        for (n, line) in lines.iter().enumerate() {
            self.known.insert(((line.item, line.place), line.at), (lines.clone(), n));
        }
        self.lines.insert(count, lines.clone());
        Ok(lines)
    }

    /// The facts of a period that lies within the chain.
    pub(super) fn read(&mut self, opening: CountId, closing: CountId, of: Sales<'_>) -> Result<Read, DeskError> {
        let (opening, closing) = (self.lines(opening)?, self.lines(closing)?);
        let (from, to) = ends(&opening, &closing);
        let sales = match of {
            Sales::Each => sales::between(self.conn, from, to)?,
            Sales::Among(whole) => {
                let (begins, ends) = ends(&whole.opening, &whole.closing);
                let upto = |moment: Moment| whole.sales.partition_point(|sale| sale.at <= moment);
                // Counts that were read from a file may overlap.
                match begins <= from && to <= ends {
                    true => whole.sales[upto(from)..upto(to).max(upto(from))].to_vec(),
                    false => sales::between(self.conn, from, to)?,
                }
            }
            Sales::Took => self.took(&opening, &closing)?,
        };
        Ok(Read {
            latest: self.latest(to)?,
            movements: journal::movements(self.conn, from, to)?,
            sales,
            opening,
            closing,
        })
    }

    /// The newest line of every spot up to a moment at which one of the counts ended, as [`counts::latest`] has it.
    fn latest(&self, until: Moment) -> Result<Vec<CountLine>, DeskError> {
        let mut out = Vec::with_capacity(self.before.len());
        let looked_since = |spot: &Spot| self.looked.get(spot)?.iter().rev().find(|at| **at <= until).copied();
        out.extend(self.before.iter().filter(|line| looked_since(&(line.item, line.place)).is_none()).cloned());
        for spot in self.looked.keys() {
            let Some(at) = looked_since(spot) else { continue };
            match self.known.get(&(*spot, at)) {
                Some((lines, n)) => out.push(lines[*n].clone()),
                None => out.extend(counts::latest_of(self.conn, *spot, until)?),
            }
        }
        Ok(out)
    }

    /// What sales of a period took. Of the business days that lie between its two counts as a whole what each name took is
    /// known; lines are read only of the days of the counts themselves.
    fn took(&self, opening: &[CountLine], closing: &[CountLine]) -> Result<Vec<Sale>, DeskError> {
        let (from, to) = ends(opening, closing);
        let rule = self.setup.venue.days;
        let opened = opening.iter().map(|line| line.at).max().unwrap_or_default();
        let closed = closing.iter().map(|line| line.at).min().unwrap_or_default();
        let next = |day: NaiveDate| day.checked_add_days(Days::new(1)).unwrap_or(day);
        let first = next(rule.day_of(opened));
        let mut end = rule.day_of(closed);
        // Mostly the bar closes first and is counted then.
        if !sales::any_within(self.conn, closed, Moment(rule.begins(next(end)).0 - 1))? {
            end = next(end);
        }
        let whole = rule.begins(first)..rule.begins(end);
        if whole.is_empty() {
            return Ok(sales::between(self.conn, from, to)?);
        }
        let summed = |first: NaiveDate, end: NaiveDate| {
            let last = end.checked_sub_days(Days::new(1)).unwrap_or(end);
            day_totals::took(self.conn, &rule, first, last)
        };
        let mut out = sales::between(self.conn, from, Moment(whole.start.0 - 1))?;
        let days: BTreeSet<NaiveDate> = changes(self.setup).into_iter().map(|change| rule.day_of(change)).collect();
        // Where a spec or a recipe changes, a name takes something else from then on.
        let mut since = first;
        for until in days.into_iter().filter(|day| (next(first)..end).contains(day)).chain([end]) {
            let Some(took) = summed(since, until)? else { return Ok(sales::between(self.conn, from, to)?) };
            let sale = |(till, quantity): (TillId, i64)| Sale {
                at: rule.begins(since),
                till,
                quantity,
                net: Money::ZERO,
                kind: SaleKind::Sale,
            };
            out.extend(took.into_iter().map(sale));
            since = until;
        }
        // The last of the whole days may end after the last line was counted: nothing was sold in between.
        let behind = Moment(whole.end.0 - 1).max(from);
        if behind < to {
            out.extend(sales::between(self.conn, behind, to)?);
        }
        Ok(out)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::desk::comparing::{EVER, chain, closed_within};
    use crate::desk::gauging;
    use crate::domain::ledger::Count;
    use crate::store::Store;
    use crate::store::setup;

    /// The demo's book, and every closed count in it, the oldest first.
    fn demo(folder: &std::path::Path) -> (Store, Vec<Count>) {
        let path = folder.join("demo.tantalus");
        let now = chrono::DateTime::parse_from_rfc3339("2026-11-16T02:40:00-01:00").expect("a time");
        let now = Moment(now.timestamp_millis());
        crate::desk::demo::open(&path, false, now).expect("the demo's book");
        let store = Store::open(&path).expect("the book opens");
        let counts = store.read(|conn| closed_within(conn, Moment(i64::MIN), EVER)).expect("counts");
        (store, counts)
    }

    fn same(one: &Read, other: &Read, setup: &Setup, gauges: &Gauges, what: &str) {
        let sorted = |lines: &[CountLine]| {
            let mut lines = lines.to_vec();
            lines.sort_by_key(|line| (line.item, line.place));
            lines
        };
        assert_eq!(sorted(&one.latest), sorted(&other.latest), "{what}");
        let (one, other) =
            (one.compare(setup, gauges, &Costs::default()), other.compare(setup, gauges, &Costs::default()));
        assert_eq!(format!("{:?}", one.rows), format!("{:?}", other.rows), "{what}");
        assert_eq!((one.untold, one.exploded), (other.untold, other.exploded), "{what}");
        let took = |sold: &crate::domain::usage::Sold| {
            let mut unmapped: Vec<_> = sold.unmapped_tills.iter().map(|(till, sum)| (*till, sum.quantity)).collect();
            unmapped.sort_unstable();
            unmapped
        };
        assert_eq!(took(&one.sold), took(&other.sold), "{what}");
    }

    /// Whatever pair of counts it is, and whether or not what names took by day is kept.
    #[test]
    fn a_chain_of_periods_says_what_each_says_by_itself() {
        let folder = tempfile::tempdir().expect("a folder");
        let (store, counts) = demo(folder.path());
        assert!(counts.len() > 40, "{}", counts.len());
        let check = |kept: &str| {
            let summed = std::cell::Cell::new(0);
            store
                .read(|conn| {
                    let setup = setup::load(conn)?;
                    let gauges = gauging::gauges(conn, &setup)?;
                    // From each count to the next, and over a week and more.
                    for ends in counts.windows(9).step_by(4) {
                        for (opening, closing) in [(&ends[0], &ends[1]), (&ends[0], &ends[8])] {
                            let (chained, at) = chain(conn, opening, closing)?;
                            let mut reader = Reader::new(conn, &setup, chained.iter().map(|count| count.id))?;
                            for two in chained.windows(2).skip(at.saturating_sub(3)) {
                                let alone = Read::new(conn, two[0].id, two[1].id)?;
                                let took = reader.read(two[0].id, two[1].id, Sales::Took)?;
                                summed.set(summed.get() + usize::from(took.sales.len() < alone.sales.len()));
                                let what = format!("“{}” to “{}”, {kept}", two[0].name, two[1].name);
                                same(&took, &alone, &setup, &gauges, &what);
                                let among = reader.read(two[0].id, two[1].id, Sales::Among(&alone))?;
                                assert_eq!(among.sales, alone.sales, "{what}");
                            }
                        }
                    }
                    Ok::<_, DeskError>(())
                })
                .expect("the book is read");
            summed.get()
        };
        assert!(check("sums kept") > 20);
        rusqlite::Connection::open(folder.path().join("demo.tantalus"))
            .and_then(|conn| conn.execute("UPDATE sale_day_state SET upto = -1", []))
            .expect("the sums are dropped");
        assert_eq!(check("no sums"), 0);
    }
}
