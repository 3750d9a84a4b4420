//! Weighings, batches, deliveries, losses and transfers.

use super::{FileReport, Loader, Touched, twice};
use crate::desk::{DeskError, rows};
use crate::domain::gauge::Weighing;
use crate::domain::ledger::{Batch, Delivery, Loss, Transfer};
use crate::domain::measure::Amount;
use crate::domain::venue::{ItemId, Moment, Seq};
use crate::exchange::plain::{BatchRow, DeliveryRow, Fault, LossRow, Plain, PlainRow, TransferRow, WeighingRow};
use crate::store::{journal, setup as book, weighings};
use std::collections::{HashMap, HashSet};

/// What became of a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Brought {
    /// It was new.
    Added,
    /// The book had it, with another content.
    Changed,
    /// The book had it.
    Already,
}

/// All of time.
const EVER: (Moment, Moment) = (Moment(i64::MIN), Moment(i64::MAX));

/// How often the book has each fact that no key tells apart; its row in the journal is left out of the comparison.
#[derive(Default)]
pub(super) struct Have<T>(HashMap<String, u64>, std::marker::PhantomData<T>);

impl<T: std::fmt::Debug> Have<T> {
    pub(super) fn of(facts: Vec<T>, unnumbered: impl Fn(T) -> T) -> Have<T> {
        let mut have = Have(HashMap::new(), std::marker::PhantomData);
        for fact in facts {
            *have.0.entry(key(&unnumbered(fact))).or_insert(0) += 1;
        }
        have
    }

    /// Takes one of the book's away; says whether there was one left.
    pub(super) fn take(&mut self, fact: &T) -> bool {
        match self.0.get_mut(&key(fact)) {
            Some(left) if *left > 0 => {
                *left -= 1;
                true
            }
            _ => false,
        }
    }
}

/// Every field of a fact, in one text.
pub(super) fn key<T: std::fmt::Debug>(fact: &T) -> String {
    format!("{fact:?}")
}

impl Loader<'_> {
    pub(super) fn facts(&mut self) -> Result<(), DeskError> {
        self.batches()?;
        self.deliveries()?;
        self.losses()?;
        self.transfers()
    }

    /// Reads the lines of a file; `put` says whether a line was added (or was there already), or could not be kept.
    pub(super) fn lines<R: PlainRow>(
        &mut self,
        mut put: impl FnMut(&mut Self, u64, R) -> Result<Option<bool>, DeskError>,
    ) -> Result<(), DeskError> {
        self.each_line::<R>(|loader, line, row| {
            let added = put(loader, line, row)?;
            Ok(added.map(|added| if added { Brought::Added } else { Brought::Already }))
        })
    }

    /// The same where a line may also change what the book has.
    pub(super) fn each_line<R: PlainRow>(
        &mut self,
        mut put: impl FnMut(&mut Self, u64, R) -> Result<Option<Brought>, DeskError>,
    ) -> Result<(), DeskError> {
        let Some(mut table) = self.open(R::FILE)? else { return Ok(()) };
        let mut report = FileReport::of(R::FILE);
        while let Some(cells) = table.next(&mut self.faults)? {
            report.read += 1;
            let line = cells.line();
            let Some(row) = cells.read::<R>(&self.form, &self.names, &mut self.faults) else { continue };
            if let Some(brought) = put(self, line, row)? {
                report.count(brought, 1);
            }
            self.pace(&table, R::FILE, report.read)?;
        }
        self.close(report)
    }

    /// An item and how much of it a line says.
    fn item_amount(&self, name: &str, written: &str) -> Option<(ItemId, Amount)> {
        let item = self.names.items.get(name)?;
        Some((item, self.amount(item, written)?))
    }

    pub(super) fn weighings(&mut self) -> Result<(), DeskError> {
        if !self.folder.has(Plain::Weighings) {
            return Ok(());
        }
        let mut have = Have::of(weighings::list(self.conn)?, |w| Weighing { seq: Seq(0), ..w });
        self.lines::<WeighingRow>(|loader, line, row| {
            let item = loader.names.items.get(&row.item);
            let place = loader.names.places.maybe(row.place.as_deref());
            let by = loader.names.people.maybe(row.by.as_deref());
            let (Some(item), Some(place), Some(by)) = (item, place, by) else { return Ok(None) };
            let WeighingRow { at, state, weight, seen, mark, .. } = row;
            let weighing = Weighing { seq: Seq(0), at, item, state, weight, seen, mark, place, by };
            if have.take(&weighing) {
                return Ok(Some(false));
            }
            weighings::add(loader.conn, &weighing, loader.now)?;
            loader.changed.push((Plain::Weighings, line, Touched::Item(item)));
            loader.weighed.push((line, weighing));
            Ok(Some(true))
        })
    }

    /// Whether what this folder put on the scale can weigh so much, once all weighings are known.
    pub(super) fn weighed_soundly(&mut self) {
        for (line, fact) in std::mem::take(&mut self.weighed) {
            let Some(vessel) = self.names.gauges.vessel(fact.item) else { continue };
            if let Err(why) = self.names.gauges.check_weighing_kept(vessel, fact.state, fact.weight) {
                let weight = fact.weight.to_string();
                self.faults.push(Fault::of_cell(Plain::Weighings, line, "weight", &weight, why.to_string()));
            }
        }
    }

    fn batches(&mut self) -> Result<(), DeskError> {
        if !self.folder.has(Plain::Batches) {
            return Ok(());
        }
        let mut have = Have::of(journal::batches(self.conn, EVER.0, EVER.1)?, |b| Batch { seq: Seq(0), ..b });
        let made: HashSet<ItemId> = match book::load_any(self.conn) {
            Ok((setup, _)) => setup.recipes.keys().copied().collect(),
            Err(_) => HashSet::new(),
        };
        self.lines::<BatchRow>(|loader, line, row| {
            let amount = loader.item_amount(&row.item, &row.made);
            let by = loader.names.people.maybe(row.by.as_deref());
            let (Some((item, made_amount)), Some(by)) = (amount, by) else { return Ok(None) };
            if !made.contains(&item) {
                if !loader.doubtful.contains(&Plain::House) {
                    let expected =
                        word!("house.csv has no recipe for this, so nobody knows what the batch took; expected one");
                    loader.fault(Fault::of_cell(Plain::Batches, line, "item", &row.item, expected));
                }
                return Ok(None);
            }
            let batch = Batch { seq: Seq(0), at: row.at, item, made: made_amount, by, note: row.note };
            if have.take(&batch) {
                return Ok(Some(false));
            }
            journal::add_batch(loader.conn, &batch, None, loader.now, loader.form.days.day_of(batch.at))?;
            Ok(Some(true))
        })
    }

    fn deliveries(&mut self) -> Result<(), DeskError> {
        // Lines of this file, so that one that stands there twice is told from one that the book had.
        let mut mine: HashMap<Seq, u64> = HashMap::new();
        self.lines::<DeliveryRow>(|loader, line, row| {
            let supplier = loader.names.suppliers.get(&row.supplier);
            let item = loader.names.items.get(&row.item);
            let place = loader.names.places.maybe(row.place.as_deref());
            let (Some(supplier), Some(item), Some(place)) = (supplier, item, place) else { return Ok(None) };
            let delivery = Delivery {
                seq: Seq(0),
                document: row.document,
                line: row.line,
                at: row.at,
                supplier,
                item,
                containers: row.containers,
                unit_price: row.unit_price,
                place,
                deposit: row.deposit,
            };
            let had = journal::delivery_line(loader.conn, supplier, &delivery.document, delivery.line)?;
            if let Some(had) = had {
                if let Some(first) = mine.get(&had.seq) {
                    loader.fault(Fault::of_line(Plain::Deliveries, line, twice(Plain::Deliveries, *first)));
                    return Ok(None);
                }
                if (Delivery { seq: Seq(0), ..had.clone() }) == delivery {
                    return Ok(Some(false));
                }
                let was = loader.written_delivery(&had);
                let expected = say!(
                    "the book has this line of {document} as {was}; expected the same",
                    document = delivery.document,
                    was
                );
                loader.fault(Fault::of_line(Plain::Deliveries, line, expected));
                return Ok(None);
            }
            let day = loader.form.days.day_of(delivery.at);
            let seq = journal::add_delivery(loader.conn, &delivery, None, loader.now, day)?;
            mine.insert(seq, line);
            Ok(Some(true))
        })
    }

    /// A delivery of the book as its line would be written.
    fn written_delivery(&self, had: &Delivery) -> String {
        match book::load_any(self.conn) {
            Ok((setup, _)) => rows::delivery(&setup, had).cells(&self.form).join(","),
            Err(_) => say!("{containers} containers", containers = had.containers),
        }
    }

    fn losses(&mut self) -> Result<(), DeskError> {
        if !self.folder.has(Plain::Losses) {
            return Ok(());
        }
        let mut have = Have::of(journal::losses(self.conn, EVER.0, EVER.1)?, |l| Loss { seq: Seq(0), ..l });
        self.lines::<LossRow>(|loader, _, row| {
            let amount = loader.item_amount(&row.item, &row.quantity);
            let place = loader.names.places.maybe(row.place.as_deref());
            let by = loader.names.people.maybe(row.by.as_deref());
            let (Some((item, amount)), Some(place), Some(by)) = (amount, place, by) else { return Ok(None) };
            let loss = Loss { seq: Seq(0), at: row.at, item, amount, reason: row.reason, place, by, note: row.note };
            if have.take(&loss) {
                return Ok(Some(false));
            }
            journal::add_loss(loader.conn, &loss, None, loader.now, loader.form.days.day_of(loss.at))?;
            Ok(Some(true))
        })
    }

    fn transfers(&mut self) -> Result<(), DeskError> {
        if !self.folder.has(Plain::Transfers) {
            return Ok(());
        }
        let mut have = Have::of(journal::transfers(self.conn, EVER.0, EVER.1)?, |t| Transfer { seq: Seq(0), ..t });
        self.lines::<TransferRow>(|loader, _, row| {
            let item = loader.names.items.get(&row.item);
            let from = loader.names.places.get(&row.from);
            let to = loader.names.places.get(&row.to);
            let by = loader.names.people.maybe(row.by.as_deref());
            let (Some(item), Some(from), Some(to), Some(by)) = (item, from, to, by) else { return Ok(None) };
            let transfer = Transfer { seq: Seq(0), at: row.at, item, containers: row.containers, from, to, by };
            if have.take(&transfer) {
                return Ok(Some(false));
            }
            journal::add_transfer(loader.conn, &transfer, None, loader.now, loader.form.days.day_of(transfer.at))?;
            Ok(Some(true))
        })
    }
}
