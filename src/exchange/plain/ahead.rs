//! Sales read ahead: while some lines are written into the book, the next ones are read on a thread of their own.

use super::{Faults, Form, SaleCells, SaleParser, Table};
use crate::domain::measure::Money;
use crate::domain::venue::{Moment, SaleKind};
use crate::exchange::ExchangeError;
use crate::words::Speech;
use std::borrow::Cow;
use std::ops::Range;
use std::sync::mpsc::sync_channel;
use std::thread;

/// Lines that are handed over together, and how many such heaps may wait.
const TOGETHER: usize = 4_096;
const WAITING: usize = 2;

/// A line whose texts stand among those of its heap.
#[derive(Debug)]
struct Kept {
    number: u64,
    receipt: Range<usize>,
    line: i64,
    at: Moment,
    sold_as: Range<usize>,
    quantity: i64,
    net: Money,
    kind: SaleKind,
}

/// Lines of `sales.csv` that follow each other.
#[derive(Debug, Default)]
pub struct SalesAhead {
    lines: Vec<Kept>,
    /// Their texts, one behind the other.
    texts: Vec<u8>,
    /// What was wrong with lines among them, which are not.
    pub faults: Faults,
    /// How many were read, those that were wrong included.
    pub read: u64,
    /// Bytes of the file up to their end.
    pub bytes: u64,
}

impl SalesAhead {
    /// The lines that were right, each with its number in the file, from 1.
    pub fn lines(&self) -> impl Iterator<Item = (u64, SaleCells<'_>)> {
        self.lines.iter().map(|kept| {
            // It was a text when it was put there.
            let receipt = std::str::from_utf8(&self.texts[kept.receipt.clone()]).unwrap_or_default();
            let cells = SaleCells {
                receipt: Cow::Borrowed(receipt),
                line: kept.line,
                at: kept.at,
                sold_as: Cow::Borrowed(&self.texts[kept.sold_as.clone()]),
                quantity: kept.quantity,
                net: kept.net,
                kind: kept.kind,
            };
            (kept.number, cells)
        })
    }

    fn text(&mut self, text: &[u8]) -> Range<usize> {
        let from = self.texts.len();
        self.texts.extend_from_slice(text);
        from..self.texts.len()
    }

    /// Reads the line at hand.
    fn take(&mut self, table: &mut Table, parser: &mut SaleParser) {
        self.read += 1;
        let number = table.line();
        let Some(cells) = parser.parse(table, &mut self.faults) else { return };
        let (receipt, sold_as) = (self.text(cells.receipt.as_bytes()), self.text(&cells.sold_as));
        let (line, at, quantity, net, kind) = (cells.line, cells.at, cells.quantity, cells.net, cells.kind);
        self.lines.push(Kept { number, receipt, line, at, sold_as, quantity, net, kind });
    }

    /// Reads the next lines; none are left where that were fewer than could be.
    fn fill(table: &mut Table, parser: &mut SaleParser) -> Result<(SalesAhead, bool), ExchangeError> {
        let mut ahead = SalesAhead::default();
        let mut more = true;
        while more && (ahead.read as usize) < TOGETHER {
            more = table.advance_to_line(&mut ahead.faults)?;
            if more {
                ahead.take(table, parser);
            }
        }
        ahead.bytes = table.bytes();
        Ok((ahead, more))
    }
}

/// Reads the rest of a table of sales and hands the lines on, heap by heap in the order of the file, to `take`, which is on
/// the thread of the caller. Reading ends when `take` refuses.
///
/// # Errors
/// [`ExchangeError::Io`], and what `take` says.
pub fn read_sales<E: From<ExchangeError>>(
    mut table: Table,
    form: Form,
    mut take: impl FnMut(SalesAhead) -> Result<(), E>,
) -> Result<(), E> {
    let (send, heaps) = sync_channel::<Result<SalesAhead, ExchangeError>>(WAITING);
    let speech = Speech::here();
    thread::scope(|scope| {
        scope.spawn(move || {
            speech.while_in(|| {
                let mut parser = SaleParser::new(form);
                loop {
                    let (heap, more) = match SalesAhead::fill(&mut table, &mut parser) {
                        Ok((heap, more)) => (Ok(heap), more),
                        Err(error) => (Err(error), false),
                    };
                    // Nobody takes any more when something was refused.
                    if send.send(heap).is_err() || !more {
                        return;
                    }
                }
            });
        });
        // Moved in, so that it is gone before the scope waits for the reader.
        heaps.into_iter().try_for_each(|heap| take(heap?))
    })
}
