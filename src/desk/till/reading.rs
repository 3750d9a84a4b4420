//! Reading a file of sales: what all of its lines come to, whether they are kept or only looked at.

use super::names::TillNames;
use crate::desk::{DeskError, refused};
use crate::domain::ledger::Sale;
use crate::domain::measure::decimal;
use crate::domain::rows::{FileSum, UnderstoodRow};
use crate::domain::till::Layout;
use crate::domain::venue::{DayRule, Moment, SaleKind, Setup};
use crate::exchange::till::{Passed, Rung, Taker, Terms};
use crate::exchange::{sniff, till};
use crate::store::Connection;
use crate::store::sales::{Put, SaleLine, SaleWriter};
use chrono::NaiveDate;
use std::ops::ControlFlow;
use std::path::Path;

/// How far the clock of a till may be ahead of this one's.
const AHEAD: i64 = Moment::DAY;
/// Letters that a cell of a plain file may have.
const MOST_LETTERS: usize = 500;
/// Lines that contradict the book are named up to so many.
const NAMED: usize = 12;

/// What tells how far the work is, in bytes of so many; it may stop it.
pub type Pace<'p> = dyn FnMut(u64, u64) -> ControlFlow<()> + 'p;

/// What a reader must know of the book.
pub(super) fn terms(setup: &Setup, now: Moment) -> Terms {
    Terms { currency: setup.venue.currency, days: setup.venue.days, until: Moment(now.0.saturating_add(AHEAD)) }
}

/// What the lines of a file did to the book.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Kept {
    pub(super) added: u64,
    pub(super) already: u64,
    pub(super) corrected: u64,
}

/// Takes lines: sums them, and keeps them where there is a book to keep them in.
pub(super) struct Lines<'a> {
    names: TillNames,
    days: DayRule,
    sum: FileSum,
    /// The book, and the writer into it.
    book: Option<(&'a Connection, SaleWriter<'a>)>,
    pub(super) kept: Kept,
    /// Lines that contradict the book, in words.
    faults: Vec<String>,
    more_faults: u64,
    pace: &'a mut Pace<'a>,
}

impl<'a> Lines<'a> {
    /// Lines that are looked at, or with a book, kept.
    pub(super) fn new(
        setup: &Setup,
        book: Option<(&'a Connection, SaleWriter<'a>)>,
        pace: &'a mut Pace<'_>,
    ) -> Lines<'a> {
        Lines {
            names: TillNames::of(setup),
            days: setup.venue.days,
            sum: FileSum::default(),
            book,
            kept: Kept::default(),
            faults: Vec::new(),
            more_faults: 0,
            pace,
        }
    }

    /// Reads a file to its end.
    pub(super) fn read(
        mut self,
        path: &Path,
        what: &sniff::What,
        table: Option<(&Layout, Option<NaiveDate>)>,
        terms: &Terms,
    ) -> Result<Read, DeskError> {
        let passed = match table {
            Some((layout, day)) => till::table::read(path, layout, day, terms, &mut self)?,
            None => till::read(path, what, terms, &mut self)?,
        };
        if !self.faults.is_empty() {
            return Err(DeskError::Refused(self.contradictions(path)));
        }
        let Lines { names, sum, kept, .. } = self;
        Ok(Read { sum: summed(sum, names.new, passed), kept })
    }

    fn contradictions(&self, path: &Path) -> String {
        let lines = self.faults.len() as u64 + self.more_faults;
        let name = path.file_name().map_or_else(String::new, |n| n.to_string_lossy().into_owned());
        let mut out = format!(
            "{lines} {} of {name} contradict the book, so nothing of it was taken in; if the earlier file was read \
             wrongly, take that one back first\n{}",
            if lines == 1 { "line" } else { "lines" },
            self.faults.join("\n")
        );
        if self.more_faults > 0 {
            out.push_str(&format!("\nand {} more", self.more_faults));
        }
        out
    }

    fn put(&mut self, line: &Rung, sale: Sale) -> Result<(), DeskError> {
        let Some((_, writer)) = &mut self.book else { return Ok(()) };
        let put = if line.total {
            writer.put_total(&line.receipt, sale)?
        } else {
            writer.put(&SaleLine { receipt: &line.receipt, line: line.line, sale })?
        };
        let fault = match put {
            Put::Added => {
                self.kept.added += 1;
                return Ok(());
            }
            Put::Same => {
                self.kept.already += 1;
                return Ok(());
            }
            Put::Corrected => {
                self.kept.corrected += 1;
                return Ok(());
            }
            Put::Twice => format!("receipt {} line {} stands in this file twice", line.receipt, line.line),
            Put::Different(had) => format!(
                "receipt {} line {}: the book has {} at {}, this file {} at {}",
                line.receipt,
                line.line,
                decimal::plain(had.quantity, 3),
                self.days.short(had.at),
                decimal::plain(sale.quantity, 3),
                self.days.short(sale.at)
            ),
        };
        if self.faults.len() < NAMED {
            self.faults.push(fault)
        } else {
            self.more_faults += 1
        }
        Ok(())
    }
}

/// Refuses what no plain file could hold: every book can be dumped and loaded again. A name may be called by its number
/// too ([`TillNames::find`]).
fn short_enough(line: &Rung) -> Result<(), DeskError> {
    let code = line.code.as_deref().unwrap_or_default();
    let long = |parts: &[&str]| {
        let bytes: usize = parts.iter().map(|part| part.len()).sum();
        bytes > MOST_LETTERS && parts.iter().map(|part| part.chars().count()).sum::<usize>() > MOST_LETTERS
    };
    if !long(&[&line.receipt]) && !long(&[&line.sold_as, " #", code]) {
        return Ok(());
    }
    let begins: String = line.sold_as.chars().take(40).collect();
    Err(refused(format!(
        "what is sold as “{begins}…” has a name or a receipt of more than {MOST_LETTERS} letters; is another column the name?"
    )))
}

/// What a file holds.
pub(super) struct Read {
    pub(super) sum: FileSum,
    pub(super) kept: Kept,
}

fn summed(sum: FileSum, new: Vec<String>, passed: Passed) -> FileSum {
    FileSum {
        days: passed.days,
        skipped: passed.skipped.iter().map(|(why, rows)| (why.words(*rows), *rows)).collect(),
        warnings: passed.warnings,
        from: passed.from,
        new_names: new,
        ..sum
    }
}

impl Taker for Lines<'_> {
    type Error = DeskError;

    fn take(&mut self, line: Rung) -> Result<(), DeskError> {
        short_enough(&line)?;
        let conn = self.book.as_ref().map(|(conn, _)| *conn);
        let named = self.names.find(conn, &line.sold_as, line.code.as_deref(), line.goods)?;
        // Whatever has no handle is only looked at.
        let till = named.till.unwrap_or_default();
        let sale = Sale { at: line.at, till, quantity: line.quantity, net: line.net, kind: line.kind };
        self.sum.lines += 1;
        self.sum.quantity += sale.took();
        if line.kind != SaleKind::Training {
            self.sum.net += line.net;
            if !named.known {
                self.sum.unmapped += 1;
                self.sum.unmapped_net += line.net;
            }
        }
        self.put(&line, sale)
    }

    fn pace(&mut self, read: u64, of: u64) -> Result<(), DeskError> {
        match (self.pace)(read, of) {
            ControlFlow::Continue(()) => Ok(()),
            ControlFlow::Break(()) => Err(DeskError::Stopped),
        }
    }
}

/// A line as it is shown.
pub(super) fn understood(days: DayRule, line: &Rung) -> UnderstoodRow {
    let day = || days.day_of(line.at).format("%a %-d %b").to_string();
    UnderstoodRow {
        when: if line.total { day() } else { days.short(line.at) },
        sold_as: line.sold_as.clone(),
        quantity: line.quantity,
        net: line.net,
        kind: match (line.goods, line.kind) {
            (false, _) => "money".to_owned(),
            (true, SaleKind::Sale) => String::new(),
            (true, kind) => kind.word().to_owned(),
        },
    }
}
