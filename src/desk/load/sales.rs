//! Sales, streamed: their till names are found and their rows written while the next ones are read.

use super::{FileReport, Loader};
use crate::desk::DeskError;
use crate::domain::ledger::Sale;
use crate::domain::venue::{TillId, TillMeaning, name_key};
use crate::exchange::plain::{Fault, Plain, SaleCells, SalesAhead, checked, read_sales};
use crate::store::sales::{Put, SaleLine, SaleWriter};
use crate::store::setup as book;
use std::collections::HashMap;

/// Names of the till by the bytes they are written with in the file.
struct TillNames {
    by_bytes: HashMap<Vec<u8>, TillId>,
    by_key: HashMap<String, TillId>,
}

impl Loader<'_> {
    pub(super) fn sales(&mut self) -> Result<(), DeskError> {
        let Some(table) = self.open(Plain::Sales)? else { return Ok(()) };
        let mut names = self.till_names()?;
        let mut writer = SaleWriter::new(self.conn, None)?.summing(&self.form.days)?;
        let mut report = FileReport::of(Plain::Sales);
        read_sales(table, self.form, |mut heap: SalesAhead| {
            self.faults.append(std::mem::take(&mut heap.faults));
            report.read += heap.read;
            for (line, cells) in heap.lines() {
                self.sale((line, &cells), &mut names, &mut writer, &mut report)?;
            }
            self.tell(Plain::Sales, report.read, heap.bytes)
        })?;
        writer.finish(&self.form.days)?;
        self.close(report)
    }

    fn sale(
        &mut self,
        (line, cells): (u64, &SaleCells<'_>),
        names: &mut TillNames,
        writer: &mut SaleWriter<'_>,
        report: &mut FileReport,
    ) -> Result<(), DeskError> {
        let till = match names.by_bytes.get(cells.sold_as.as_ref()) {
            Some(till) => *till,
            None => match self.new_name(line, &cells.sold_as, names)? {
                Some(till) => till,
                None => return Ok(()),
            },
        };
        let sale = Sale { at: cells.at, till, quantity: cells.quantity, net: cells.net, kind: cells.kind };
        match writer.put(&SaleLine { receipt: &cells.receipt, line: cells.line, sale })? {
            Put::Added => report.added += 1,
            Put::Same => report.already += 1,
            Put::Twice | Put::Renamed | Put::Corrected { .. } | Put::Nothing => {
                let expected = say!(
                    "receipt {receipt} line {cells} is in this file already; expected it once",
                    receipt = cells.receipt,
                    cells = cells.line
                );
                self.faults.push(Fault::of_line(Plain::Sales, line, expected));
            }
            Put::Different(had) => {
                let expected = say!(
                    "the book has receipt {receipt} line {cells} as {quantity} for {net} at {had}; expected the same",
                    receipt = cells.receipt,
                    cells = cells.line,
                    quantity = crate::domain::measure::decimal::plain(had.quantity, 3),
                    net = self.form.money(had.net),
                    had = self.form.time(had.at)
                );
                self.faults.push(Fault::of_line(Plain::Sales, line, expected));
            }
        }
        Ok(())
    }

    fn till_names(&self) -> Result<TillNames, DeskError> {
        let till = match book::load_any(self.conn) {
            Ok((setup, _)) => setup.till,
            Err(_) => Vec::new(),
        };
        Ok(TillNames {
            by_bytes: till.iter().map(|t| (t.name.clone().into_bytes(), t.id)).collect(),
            by_key: till.iter().map(|t| (name_key(&t.name), t.id)).collect(),
        })
    }

    /// A spelling met for the first time: checked, found under another spelling, or new to the book.
    fn new_name(&mut self, line: u64, bytes: &[u8], names: &mut TillNames) -> Result<Option<TillId>, DeskError> {
        let text = String::from_utf8_lossy(bytes);
        let name = match std::str::from_utf8(bytes)
            .map_err(|_| word!("expected UTF-8 text; save the file again as UTF-8").to_owned())
        {
            Ok(text) => checked(text).map_err(|e| e.to_string()),
            Err(error) => Err(error),
        };
        let name = match name {
            Ok(name) if !name.is_empty() => name,
            Ok(_) => {
                self.fault(Fault::of_cell(Plain::Sales, line, "sold_as", "", word!("expected a text")));
                return Ok(None);
            }
            Err(expected) => {
                self.fault(Fault::of_cell(Plain::Sales, line, "sold_as", &text, expected));
                return Ok(None);
            }
        };
        let key = name_key(&name);
        let id = match names.by_key.get(&key) {
            Some(id) => *id,
            None => {
                let id = book::put_till(self.conn, &name, TillMeaning::Unknown)?;
                names.by_key.insert(key, id);
                self.report.new_till_names.push(name);
                id
            }
        };
        names.by_bytes.insert(bytes.to_vec(), id);
        Ok(Some(id))
    }
}
