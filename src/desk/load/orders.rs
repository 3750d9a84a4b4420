//! Orders. What the book has of an order wins: a file that says the same lines is taken as there already, whatever
//! state it gives, and one that says other lines is refused.

use super::{FileReport, Loader, Met};
use crate::desk::DeskError;
use crate::domain::ledger::{Order, OrderLine};
use crate::domain::measure::Money;
use crate::domain::venue::{ItemId, OrderId, SupplierId, name_key};
use crate::exchange::plain::{Fault, OrderRow, Plain, PlainRow, key_of};
use crate::store::orders;
use chrono::NaiveDate;
use std::collections::HashMap;

/// An order being gathered.
struct Gathered {
    order: Order,
    first: (u64, OrderRow),
    rows: u64,
    wrong: bool,
}

impl Loader<'_> {
    pub(super) fn orders(&mut self) -> Result<(), DeskError> {
        let Some(mut table) = self.open(Plain::Orders)? else { return Ok(()) };
        let (mut report, mut met) = (FileReport::of(Plain::Orders), Met::default());
        let mut gathered: Vec<Gathered> = Vec::new();
        let mut places: HashMap<String, usize> = HashMap::new();
        while let Some(cells) = table.next(&mut self.faults)? {
            report.read += 1;
            let line = cells.line();
            let Some(row) = cells.read::<OrderRow>(&self.form, &self.names, &mut self.faults) else { continue };
            if let Some(fault) = met.again(Plain::Orders, line, key_of(Plain::Orders, &row.cells(&self.form))) {
                self.fault(fault);
                continue;
            }
            let supplier = self.names.suppliers.get(&row.supplier);
            let item = self.names.items.get(&row.item);
            let at = *places.entry(name_key(&row.order)).or_insert_with(|| {
                let order = Order {
                    id: OrderId::default(),
                    name: row.order.clone(),
                    supplier: supplier.unwrap_or_default(),
                    state: row.state,
                    placed: row.placed,
                    expected: row.expected,
                    lines: Vec::new(),
                };
                gathered.push(Gathered { order, first: (line, row.clone()), rows: 0, wrong: false });
                gathered.len() - 1
            });
            let Some(order) = gathered.get_mut(at) else { continue };
            order.rows += 1;
            let (first, said) = &order.first;
            if let Some((column, read, was)) = contradiction(&row, said) {
                let expected = say!("expected {was} as on line {first}: it is one order", was, first);
                self.faults.push(Fault::of_cell(Plain::Orders, line, column, &read, expected));
                order.wrong = true;
                continue;
            }
            let pack = match (supplier, item) {
                (Some(supplier), Some(item)) => self.pack(line, supplier, item, &row),
                _ => None,
            };
            match (item, pack) {
                (Some(item), Some(pack)) => {
                    let line = OrderLine { line: row.line, item, packs: row.packs, pack, price: row.price };
                    order.order.lines.push(line);
                }
                _ => order.wrong = true,
            }
        }
        for Gathered { mut order, first, rows, .. } in gathered.into_iter().filter(|g| !g.wrong) {
            order.lines.sort_by_key(|line| line.line);
            match orders::find(self.conn, &order.name)? {
                None => {
                    orders::create(self.conn, &order)?;
                    report.added += rows;
                }
                Some(had) if had.supplier == order.supplier && same(&had.lines, &order.lines) => {
                    report.already += rows;
                }
                Some(_) => {
                    let expected = word!(
                        "the book has an order of this name with other lines; expected the same lines, or another name"
                    );
                    self.fault(Fault::of_cell(Plain::Orders, first.0, "order", &order.name, expected));
                }
            }
        }
        self.close(report)
    }

    /// How many containers a pack of an order has: as the file says, or else as in the offer that was valid when it was
    /// placed, or else the latest. Of several packs, the one of the line's own price, or else the smallest.
    fn pack(&mut self, line: u64, supplier: SupplierId, item: ItemId, row: &OrderRow) -> Option<i64> {
        if row.pack.is_some() {
            return row.pack;
        }
        let day = row.placed.map(|at| self.form.days.day_of(at));
        let theirs = || self.offers.iter().filter(|o| o.supplier == supplier && o.item == item);
        let mut latest: HashMap<i64, (Option<NaiveDate>, Money)> = HashMap::new();
        let valid = |from: Option<NaiveDate>| day.is_none_or(|day| from.is_none_or(|from| from <= day));
        let mut any = theirs().any(|o| valid(o.from));
        for offer in theirs().filter(|o| !any || valid(o.from)) {
            let found = latest.entry(offer.pack).or_insert((offer.from, offer.price));
            if offer.from > found.0 {
                *found = (offer.from, offer.price);
            }
        }
        any = !latest.is_empty();
        if !any {
            if !self.doubtful.contains(&Plain::Offers) {
                let expected = say!(
                    "{supplier} has no offer of this, so the size of a pack is not known; expected one in offers.csv",
                    supplier = row.supplier
                );
                self.fault(Fault::of_cell(Plain::Orders, line, "item", &row.item, expected));
            }
            return None;
        }
        let priced = latest.iter().filter(|(_, (_, price))| *price == row.price).map(|(pack, _)| *pack).min();
        priced.or_else(|| latest.keys().copied().min())
    }
}

/// Whether lines order the same, whatever the pack: a file may not say it.
fn same(had: &[OrderLine], wanted: &[OrderLine]) -> bool {
    let said = |l: &OrderLine| (l.line, l.item, l.packs, l.price);
    had.len() == wanted.len() && had.iter().zip(wanted).all(|(a, b)| said(a) == said(b))
}

/// The first column of what an order says as a whole that differs from its first line.
fn contradiction(row: &OrderRow, first: &OrderRow) -> Option<(&'static str, String, String)> {
    let time = |at: Option<crate::domain::venue::Moment>| {
        at.and_then(|at| at.to_utc()).map(|at| at.to_rfc3339()).unwrap_or_default()
    };
    let date = |day: Option<NaiveDate>| day.map(|d| d.to_string()).unwrap_or_default();
    let said = |r: &OrderRow| {
        [
            ("supplier", name_key(&r.supplier), r.supplier.clone()),
            ("state", r.state.word().to_owned(), r.state.word().to_owned()),
            ("placed", time(r.placed), time(r.placed)),
            ("expected", date(r.expected), date(r.expected)),
        ]
    };
    let pairs = said(row).into_iter().zip(said(first));
    pairs.into_iter().find(|((_, a, _), (_, b, _))| a != b).map(|((column, _, read), (_, _, was))| {
        let was = if was.is_empty() { word!("nothing").to_owned() } else { was };
        (column, read, was)
    })
}
