//! What suppliers' bills say and call themselves, the bills that were booked, and what is claimed.

use super::facts::{Brought, key};
use super::{FileReport, Loader, Met};
use crate::desk::{DeskError, rows};
use crate::domain::receive::{Bill, KeptClaim, KnownCode, Means};
use crate::domain::venue::{BillId, ClaimId};
use crate::exchange::plain::{BillRow, ClaimRow, CodeMeans, CodeRow, Fault, Plain, PlainRow, SupplierNameRow, key_of};
use crate::store::bills::{self, BillDid, NewClaim};
use crate::store::setup as book;
use std::collections::HashMap;

/// Claims that say the same but for their settlement: those of the book, and the lines of the file.
#[derive(Default)]
struct Same {
    book: Vec<KeptClaim>,
    lines: Vec<(u64, KeptClaim)>,
}

impl Loader<'_> {
    pub(super) fn supplier_codes(&mut self) -> Result<(), DeskError> {
        let mut met = Met::default();
        let had: Vec<KnownCode> = bills::known_codes(self.conn)?;
        self.each_line::<CodeRow>(|loader, line, row| {
            let again = met.again(Plain::SupplierCodes, line, key_of(Plain::SupplierCodes, &row.cells(&loader.form)));
            if let Some(fault) = again {
                loader.fault(fault);
                return Ok(None);
            }
            let Some(supplier) = loader.names.suppliers.get(&row.supplier) else { return Ok(None) };
            let means = match row.means {
                CodeMeans::Deposit => Means::Deposit,
                CodeMeans::NotStock => Means::NotStock,
                CodeMeans::Item(item, rate) => match loader.names.items.get(&item) {
                    Some(item) => Means::Item { item, rate },
                    None => return Ok(None),
                },
            };
            let known = KnownCode { supplier, key: row.code, unit: row.unit, means };
            let before = had.iter().any(|had| had.is_of(&known));
            let changed = bills::put_code(loader.conn, &known)?;
            Ok(Some(brought(before, changed)))
        })
    }

    pub(super) fn supplier_names(&mut self) -> Result<(), DeskError> {
        let mut met = Met::default();
        let had: Vec<_> = bills::aliases(self.conn)?.into_iter().map(|(known_as, _)| known_as).collect();
        self.each_line::<SupplierNameRow>(|loader, line, row| {
            let again = met.again(Plain::SupplierNames, line, key_of(Plain::SupplierNames, &row.cells(&loader.form)));
            if let Some(fault) = again {
                loader.fault(fault);
                return Ok(None);
            }
            let Some(supplier) = loader.names.suppliers.get(&row.supplier) else { return Ok(None) };
            let changed = bills::put_alias(loader.conn, &row.known_as, supplier)?;
            Ok(Some(brought(had.contains(&row.known_as), changed)))
        })
    }

    pub(super) fn bills(&mut self) -> Result<(), DeskError> {
        // Lines of this file, so that one that stands there twice is told from one that the book had.
        let mut mine: HashMap<BillId, u64> = HashMap::new();
        self.lines::<BillRow>(|loader, line, row| {
            let supplier = loader.names.suppliers.get(&row.supplier);
            let by = loader.names.people.maybe(row.by.as_deref());
            let (Some(supplier), Some(by)) = (supplier, by) else { return Ok(None) };
            let bill = Bill {
                id: BillId(0),
                supplier,
                key: Bill::key(&row.number, row.kind),
                number: row.number,
                kind: row.kind,
                issued: row.issued,
                delivery: row.delivery,
                goods: row.goods,
                deposits: row.deposits,
                charges: row.charges,
                other: row.other,
                payable: row.payable,
                at: row.at,
                by,
            };
            let Some(had) = bills::find(loader.conn, supplier, &bill.key)? else {
                mine.insert(bills::add(loader.conn, &bill, &BillDid::default())?, line);
                return Ok(Some(true));
            };
            let expected = if let Some(first) = mine.get(&had.id) {
                say!("this bill stands on line {first} already; expected it once", first)
            } else if (Bill { id: BillId(0), ..had.clone() }) == bill {
                return Ok(Some(false));
            } else {
                say!("the book has this bill as {had}; expected the same", had = loader.written_bill(&had))
            };
            loader.fault(Fault::of_cell(Plain::Bills, line, "number", &bill.number, expected));
            Ok(None)
        })
    }

    /// A bill of the book as its line would be written.
    fn written_bill(&self, had: &Bill) -> String {
        match book::load_any(self.conn) {
            Ok((setup, _)) => rows::bill(&setup, had).cells(&self.form).join(","),
            Err(_) => had.number.clone(),
        }
    }

    /// Claims are compared as often as they stand there, and settled where the file says so. Which of several equal claims
    /// is the settled one can only be told once all of them are known.
    pub(super) fn claims(&mut self) -> Result<(), DeskError> {
        if !self.folder.has(Plain::Claims) {
            return Ok(());
        }
        let bare = |claim: &KeptClaim| key(&KeptClaim { id: ClaimId(0), settled: None, ..claim.clone() });
        let mut same: HashMap<String, Same> = HashMap::new();
        for had in bills::claims(self.conn)? {
            same.entry(bare(&had)).or_default().book.push(had);
        }
        let mut order: Vec<String> = Vec::new();
        let Some(mut table) = self.open(Plain::Claims)? else { return Ok(()) };
        let mut report = FileReport::of(Plain::Claims);
        while let Some(cells) = table.next(&mut self.faults)? {
            report.read += 1;
            let line = cells.line();
            let Some(row) = cells.read::<ClaimRow>(&self.form, &self.names, &mut self.faults) else { continue };
            let Some(claim) = self.claim(row) else { continue };
            let bare = bare(&claim);
            let group = same.entry(bare.clone()).or_default();
            if group.lines.is_empty() {
                order.push(bare);
            }
            group.lines.push((line, claim));
            self.pace(&table, Plain::Claims, report.read)?;
        }
        for group in order.iter().filter_map(|bare| same.remove(bare)) {
            self.put_claims(group, &mut report)?;
        }
        self.close(report)
    }

    /// A line with its names found.
    fn claim(&self, row: ClaimRow) -> Option<KeptClaim> {
        let names = &self.names;
        let supplier = names.suppliers.get(&row.supplier);
        let (item, by) = (names.items.maybe(row.item.as_deref()), names.people.maybe(row.by.as_deref()));
        let settled = match row.settled {
            None => None,
            Some((at, by, how)) => Some((at, names.people.maybe(by.as_deref())?, how)),
        };
        Some(KeptClaim {
            id: ClaimId(0),
            supplier: supplier?,
            document: row.document,
            item: item?,
            kind: row.because,
            containers: row.containers,
            money: row.money,
            note: row.note,
            at: row.at,
            by: by?,
            settled,
        })
    }

    fn put_claims(&mut self, group: Same, report: &mut FileReport) -> Result<(), DeskError> {
        let Same { mut book, mut lines } = group;
        // First those of one settlement, or of none in both.
        lines.retain(|(_, claim)| match book.iter().position(|had| had.settled == claim.settled) {
            Some(at) => {
                book.remove(at);
                report.count(Brought::Already, 1);
                false
            }
            None => true,
        });
        for (line, claim) in lines {
            // Then those of which one of the two knows more; what the book knows stays.
            let open = book.iter().position(|had| had.settled.is_none() != claim.settled.is_none());
            match (open.map(|at| book.remove(at)), &claim.settled) {
                (Some(had), Some((at, by, how))) => {
                    bills::settle(self.conn, had.id, how, None, by.as_deref(), *at)?;
                    report.count(Brought::Changed, 1);
                }
                (Some(_), None) => report.count(Brought::Already, 1),
                (None, settled) => match (book.pop().and_then(|had| had.settled), settled) {
                    (Some((at, by, how)), Some((said, ..))) => {
                        let by = by.map_or(String::new(), |by| say!(" by {by}", by));
                        let was = format!("{}{by}, {how}", self.form.time(at));
                        let expected = say!("the book has this claim settled {was}; expected the same", was);
                        let said = self.form.time(*said);
                        self.fault(Fault::of_cell(Plain::Claims, line, "settled_at", &said, expected));
                    }
                    _ => {
                        self.add_claim(&claim)?;
                        report.count(Brought::Added, 1);
                    }
                },
            }
        }
        Ok(())
    }

    fn add_claim(&self, claim: &KeptClaim) -> Result<(), DeskError> {
        let new = NewClaim {
            supplier: claim.supplier,
            document: &claim.document,
            item: claim.item,
            kind: claim.kind,
            containers: claim.containers,
            money: claim.money,
            note: &claim.note,
            bill: None,
        };
        let id = bills::add_claim(self.conn, &new, claim.by.as_deref(), claim.at)?;
        if let Some((at, by, how)) = &claim.settled {
            bills::settle(self.conn, id, how, None, by.as_deref(), *at)?;
        }
        Ok(())
    }
}

/// What became of a line that says anew what the book may have said before.
fn brought(before: bool, changed: bool) -> Brought {
    match (before, changed) {
        (_, false) => Brought::Already,
        (true, true) => Brought::Changed,
        (false, true) => Brought::Added,
    }
}
