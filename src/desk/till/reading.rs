//! Reading a file of sales: what all of its lines come to, whether they are kept or only looked at.

use super::names::{Named, TillNames};
use crate::desk::{DeskError, Pace, refused};
use crate::domain::ledger::Sale;
use crate::domain::measure::{Money, decimal, number_of};
use crate::domain::rows::{FileSum, Lowered, UnderstoodRow};
use crate::domain::till::{DecimalMark, Layout, Likewise, likewise};
use crate::domain::venue::{DayRule, Moment, SaleKind, Setup, TillMeaning};
use crate::exchange::till::{Passed, Rung, Taker, Terms};
use crate::exchange::{sniff, till};
use crate::store::sales::{KnownTotal, Put, SaleLine, SaleWriter};
use crate::store::{Connection, counts};
use crate::words;
use chrono::NaiveDate;
use std::collections::HashSet;
use std::collections::hash_map::DefaultHasher;
use std::hash::{Hash, Hasher};
use std::ops::ControlFlow;
use std::path::Path;
use std::rc::Rc;

/// How far the clock of a till may be ahead of this one's.
const AHEAD: i64 = Moment::DAY;
/// Letters that a cell of a plain file may have.
const MOST_LETTERS: usize = 500;
/// Lines that contradict the book are named up to so many.
const NAMED: usize = 12;
/// Figures that come down are named up to so many.
const LOWEST: usize = 3;

/// What a reader must know of the book.
pub(super) fn terms(setup: &Setup, now: Moment) -> Terms {
    Terms { currency: setup.venue.currency, days: setup.venue.days, until: Moment(now.0.saturating_add(AHEAD)) }
}

/// What is done with the lines of a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Doing {
    /// They are compared with the book.
    Looking,
    /// They are kept in it.
    Keeping,
}

/// Takes lines: sums them, compares them with the book, and keeps them where that is asked for.
pub(super) struct Lines<'a> {
    setup: &'a Setup,
    conn: &'a Connection,
    writer: SaleWriter<'a>,
    doing: Doing,
    /// When the last count was closed.
    counted: Option<Moment>,
    names: TillNames,
    sum: FileSum,
    /// Names with something sold that the book has not met.
    new_names: HashSet<Rc<str>>,
    /// Lines that contradict the book, in words.
    faults: Vec<String>,
    more_faults: u64,
    /// Those of them that contradict their own file.
    twice: u64,
    /// New lines that were looked at, by the hash of their receipt and number: what is kept, the book itself knows.
    looked_at: HashSet<u64>,
    pace: &'a mut Pace<'a>,
}

impl<'a> Lines<'a> {
    /// Lines that are compared with a book or kept in it, by its writer.
    pub(super) fn new(
        setup: &'a Setup,
        (conn, writer): (&'a Connection, SaleWriter<'a>),
        doing: Doing,
        pace: &'a mut Pace<'_>,
    ) -> Result<Lines<'a>, DeskError> {
        Ok(Lines {
            setup,
            conn,
            writer,
            doing,
            counted: counts::last_closed(conn)?,
            names: TillNames::of(setup),
            sum: FileSum::default(),
            new_names: HashSet::new(),
            faults: Vec::new(),
            more_faults: 0,
            twice: 0,
            looked_at: HashSet::new(),
            pace,
        })
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
        let decimal = passed.decimal;
        let rule = self.setup.venue.days;
        let (sum, writer) = self.summed(passed);
        if let Some(writer) = writer {
            writer.finish(&rule)?;
        }
        Ok(Read { sum, decimal })
    }

    /// What came of it, with the writer where it kept lines.
    fn summed(self, passed: Passed) -> (FileSum, Option<SaleWriter<'a>>) {
        let Lines { sum, setup, counted, writer, doing, .. } = self;
        let mut warnings = passed.warnings;
        if sum.renamed > 0 {
            warnings.push(say!(
                "{renamed} in the book under another name; the name of the book stays",
                renamed = number_of(sum.renamed, word!("line is"), word!("lines are"))
            ));
        }
        if let Some(counted) = counted.filter(|_| sum.before_count > 0) {
            let (n, when) = (sum.before_count, setup.venue.days.short(counted));
            let lines = number_of(n, word!("new line is"), word!("new lines are"));
            warnings.push(say!(
                "{lines} from before the count closed {when}: what was used and sold up to it changes",
                lines,
                when
            ));
        }
        let skipped = passed.skipped.into_iter().collect();
        let sum = FileSum { days: passed.days, skipped, warnings, from: passed.from, ..sum };
        (sum, matches!(doing, Doing::Keeping).then_some(writer))
    }

    fn contradictions(&self, path: &Path) -> String {
        let lines = self.faults.len() as u64 + self.more_faults;
        let name = path.file_name().map_or_else(String::new, |n| n.to_string_lossy().into_owned());
        let (whom, what_to_do) = if self.twice == lines {
            (word!("one before"), "")
        } else {
            (word!("the book"), word!("; if the earlier file was read wrongly, take that one back first"))
        };
        let mut out = say!(
            "{lines} {whom}, so nothing of {name} was taken in{what_to_do}\n{faults}",
            lines = number_of(lines, word!("line contradicts"), word!("lines contradict")),
            whom,
            name,
            what_to_do,
            faults = self.faults.join("\n")
        );
        if self.more_faults > 0 {
            out.push_str(&say!("\nand {more_faults} more", more_faults = self.more_faults));
        }
        out
    }

    /// Compares a line with the book and keeps it where that is asked for.
    fn put(&mut self, line: &Rung, named: Named, sale: Sale) -> Result<(), DeskError> {
        let put = match self.doing {
            Doing::Keeping => {
                self.writer.put_rung(&SaleLine { receipt: &line.receipt, line: line.line, sale }, line.timed)?
            }
            Doing::Looking => match self.writer.line(&line.receipt, line.line)? {
                None if self.looked_at.insert(hash_of(line)) => Put::Added,
                None => Put::Twice,
                Some(had) => match likewise(&had, &sale, line.timed) {
                    Likewise::Same | Likewise::Undone => Put::Same,
                    Likewise::Renamed => Put::Renamed,
                    Likewise::No => Put::Different(had),
                },
            },
        };
        match put {
            Put::Added => self.is_new(&sale),
            Put::Same => self.sum.already += 1,
            // A till that renames an article may call it so in what it sold before, too.
            Put::Renamed => {
                self.sum.already += 1;
                self.sum.renamed += 1;
            }
            Put::Twice => {
                self.twice += 1;
                self.fault(say!(
                    "receipt {receipt} line {line} stands in this file twice",
                    receipt = line.receipt,
                    line = line.line
                ));
            }
            Put::Different(had) => {
                let had_name = self.setup.till_name(had.till).map_or("?", |name| name.name.as_str());
                let fault = say!(
                    "receipt {receipt} line {line}: the book has {had_name}; this file has {named}",
                    receipt = line.receipt,
                    line = line.line,
                    had_name = self.said(&had, had_name),
                    named = self.said(&sale, &named.name)
                );
                self.fault(fault);
            }
            Put::Corrected { .. } | Put::Nothing => {}
        }
        Ok(())
    }

    /// The name that the book has for a line which it knows, where the file calls that by a name that nobody has met: the
    /// book's stays, and the new one is not kept for it.
    fn under_another_name(&mut self, line: &Rung) -> Result<Option<Named>, DeskError> {
        if line.total || !self.names.is_unmet(&line.sold_as) {
            return Ok(None);
        }
        let Some(had) = self.writer.line(&line.receipt, line.line)? else { return Ok(None) };
        let Some(name) = self.setup.till_name(had.till) else { return Ok(None) };
        self.sum.renamed += 1;
        let known = name.means != TillMeaning::Unknown;
        Ok(Some(Named { name: name.name.as_str().into(), till: Some(had.till), known, is_new: false }))
    }

    /// The same for the figure of a day.
    fn put_total(&mut self, line: &Rung, known: &KnownTotal, sale: Sale) -> Result<(), DeskError> {
        let put = match self.doing {
            Doing::Keeping => self.writer.put_total(&line.receipt, known, sale)?,
            Doing::Looking => known.compared(sale),
        };
        match put {
            Put::Added => self.is_new(&sale),
            Put::Same | Put::Renamed | Put::Different(_) => self.sum.already += 1,
            Put::Nothing => {}
            Put::Twice => {
                self.twice += 1;
                self.fault(say!("{receipt} stands in this file twice", receipt = line.receipt));
            }
            Put::Corrected { quantity, net } => {
                self.sum.corrected += 1;
                // A figure of nothing takes back what it was.
                let change = Sale { quantity: sale.quantity.saturating_sub(quantity), ..sale };
                self.is_before_count(&if quantity == sale.quantity { sale } else { change });
                let cheaper = sale.quantity == quantity && quantity > 0 && sale.net < net;
                if sale.quantity < quantity || cheaper {
                    self.sum.lowered += 1;
                    if self.sum.lowest.len() < LOWEST {
                        let day = self.setup.venue.days.day_of(sale.at);
                        let sold_as = line.sold_as.clone();
                        let (from, to) = ((quantity, net), (sale.quantity, sale.net));
                        self.sum.lowest.push(Lowered { sold_as, day, from, to });
                    }
                }
            }
        }
        Ok(())
    }

    fn is_new(&mut self, sale: &Sale) {
        self.sum.added += 1;
        self.is_before_count(sale);
    }

    fn is_before_count(&mut self, sale: &Sale) {
        if self.counted.is_some_and(|counted| sale.at <= counted) && sale.took() != 0 {
            self.sum.before_count += 1;
        }
    }

    fn fault(&mut self, fault: String) {
        if self.faults.len() < NAMED { self.faults.push(fault) } else { self.more_faults += 1 }
    }

    /// A line with all that two lines may differ in.
    fn said(&self, sale: &Sale, name: &str) -> String {
        let venue = &self.setup.venue;
        let kind = if sale.kind == SaleKind::Sale { String::new() } else { format!(" ({})", sale.kind.said()) };
        say!(
            "{quantity} {name}{kind} at {sale} for {net}",
            quantity = decimal::shown(sale.quantity, 3),
            name,
            kind,
            sale = venue.days.short(sale.at),
            net = venue.currency.shown(sale.net)
        )
    }
}

/// What tells a line from others of its file, but for one chance in 2⁶⁴ for each two.
fn hash_of(line: &Rung) -> u64 {
    let mut hasher = DefaultHasher::new();
    (&line.receipt, line.line).hash(&mut hasher);
    hasher.finish()
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
    Err(refused(say!(
        "what is sold as “{begins}…” has a name or a receipt of more than {MOST_LETTERS} letters; is another column the name?",
        begins,
        MOST_LETTERS
    )))
}

/// What a file holds.
pub(super) struct Read {
    pub(super) sum: FileSum,
    /// The decimal mark that the file told where its layout did not know it.
    pub(super) decimal: Option<DecimalMark>,
}

impl Taker for Lines<'_> {
    type Error = DeskError;

    fn take(&mut self, line: Rung) -> Result<(), DeskError> {
        short_enough(&line)?;
        let known = if line.total { Some(self.writer.total(&line.receipt)?) } else { None };
        // Nothing sold, and nothing known to be sold: not even a name.
        if known.as_ref().is_some_and(|known| !known.is_there()) && (line.quantity, line.net) == (0, Money::ZERO) {
            return Ok(());
        }
        let conn = (self.doing == Doing::Keeping).then_some(self.conn);
        let named = match self.under_another_name(&line)? {
            Some(named) => named,
            None => self.names.find(conn, &line.sold_as, line.code.as_deref())?,
        };
        // Whatever has no handle is only looked at.
        let till = named.till.unwrap_or_default();
        let sale = Sale { at: line.at, till, quantity: line.quantity, net: line.net, kind: line.kind };
        self.sum.lines += 1;
        self.sum.quantity += sale.took();
        self.sum.net += sale.money();
        if !named.known && sale.took() != 0 {
            self.sum.unmapped += 1;
            self.sum.unmapped_net += sale.money();
            if named.is_new && self.new_names.insert(named.name.clone()) {
                self.sum.new_names.push(named.name.to_string());
            }
        }
        match known {
            Some(known) => self.put_total(&line, &known, sale),
            None => self.put(&line, named, sale),
        }
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
    let day = || words::day(days.day_of(line.at), "%a %-d %b");
    UnderstoodRow {
        when: if line.total { day() } else { days.short(line.at) },
        sold_as: line.sold_as.clone(),
        quantity: line.quantity,
        net: line.net,
        kind: match (line.goods, line.kind) {
            (false, _) => "money".to_owned(),
            (true, SaleKind::Sale) => String::new(),
            (true, kind) => kind.said().to_owned(),
        },
    }
}
