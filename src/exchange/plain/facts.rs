//! Batches, deliveries, losses, transfers, counts and orders as lines.

use super::Plain;
use super::cells::{Form, Line, PlainRow, or_empty, plain_thousandths, price, thousandths, whole};
use crate::domain::gauge::{Entry, Reading};
use crate::domain::measure::{Money, Price};
use crate::domain::venue::{Containers, CountMethod, Moment, OrderState, Reason, name_key, parse_day};
use chrono::NaiveDate;

/// A line of `batches.csv`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BatchRow {
    /// When.
    pub at: Moment,
    /// What.
    pub item: String,
    /// How much, as written.
    pub made: String,
    /// Who.
    pub by: Option<String>,
    /// Anything to remember.
    pub note: Option<String>,
}

impl PlainRow for BatchRow {
    const FILE: Plain = Plain::Batches;

    fn read(line: &mut Line<'_>) -> Option<BatchRow> {
        let (at, item) = (line.time("at"), line.name("item", Plain::Stock));
        let made = line.quantity("made", "item");
        let (by, note) = (line.maybe_name("by", Plain::People), line.maybe_text("note"));
        Some(BatchRow { at: at?, item: item?, made: made?, by: by?, note: note? })
    }

    fn cells(&self, form: &Form) -> Vec<String> {
        vec![
            form.time(self.at),
            self.item.clone(),
            self.made.clone(),
            self.by.clone().unwrap_or_default(),
            self.note.clone().unwrap_or_default(),
        ]
    }
}

/// A line of `deliveries.csv`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DeliveryRow {
    /// The supplier's document.
    pub document: String,
    /// Its line.
    pub line: i64,
    /// When.
    pub at: Moment,
    /// Who.
    pub supplier: String,
    /// What.
    pub item: String,
    /// How many.
    pub containers: i64,
    /// Of one.
    pub unit_price: Price,
    /// Where to.
    pub place: Option<String>,
    /// On one.
    pub deposit: Option<Money>,
}

impl PlainRow for DeliveryRow {
    const FILE: Plain = Plain::Deliveries;

    fn read(line: &mut Line<'_>) -> Option<DeliveryRow> {
        let form = line.form();
        let (document, number, at) = (line.text("document"), line.whole("line", 0..=i64::MAX), line.time("at"));
        let (supplier, item) = (line.name("supplier", Plain::Suppliers), line.name("item", Plain::Stock));
        let containers = line.with("containers", |text| match whole(text, -1_000_000..=1_000_000) {
            Ok(0) => Err(word!("expected how many came, or below zero how many went back").to_owned()),
            other => other,
        });
        let unit_price = line.with("unit_price", |text| price(&form, text));
        let (place, deposit) = (line.maybe_name("place", Plain::Places), line.maybe_money("deposit"));
        Some(DeliveryRow {
            document: document?,
            line: number?,
            at: at?,
            supplier: supplier?,
            item: item?,
            containers: containers?,
            unit_price: unit_price?,
            place: place?,
            deposit: deposit?,
        })
    }

    fn cells(&self, form: &Form) -> Vec<String> {
        vec![
            self.document.clone(),
            self.line.to_string(),
            form.time(self.at),
            self.supplier.clone(),
            self.item.clone(),
            self.containers.to_string(),
            form.price(self.unit_price),
            self.place.clone().unwrap_or_default(),
            or_empty(self.deposit, |m| form.money(m)),
        ]
    }
}

/// A line of `losses.csv`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LossRow {
    /// When.
    pub at: Moment,
    /// What.
    pub item: String,
    /// How much, as written.
    pub quantity: String,
    /// Why.
    pub reason: Reason,
    /// Where.
    pub place: Option<String>,
    /// Who.
    pub by: Option<String>,
    /// Anything to remember.
    pub note: Option<String>,
}

impl PlainRow for LossRow {
    const FILE: Plain = Plain::Losses;

    fn read(line: &mut Line<'_>) -> Option<LossRow> {
        let (at, item) = (line.time("at"), line.name("item", Plain::Stock));
        let (quantity, reason) = (line.quantity("quantity", "item"), line.with("reason", Reason::parse));
        let (place, by) = (line.maybe_name("place", Plain::Places), line.maybe_name("by", Plain::People));
        let note = line.maybe_text("note");
        Some(LossRow {
            at: at?,
            item: item?,
            quantity: quantity?,
            reason: reason?,
            place: place?,
            by: by?,
            note: note?,
        })
    }

    fn cells(&self, form: &Form) -> Vec<String> {
        vec![
            form.time(self.at),
            self.item.clone(),
            self.quantity.clone(),
            self.reason.word().to_owned(),
            self.place.clone().unwrap_or_default(),
            self.by.clone().unwrap_or_default(),
            self.note.clone().unwrap_or_default(),
        ]
    }
}

/// A line of `transfers.csv`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TransferRow {
    /// When.
    pub at: Moment,
    /// What.
    pub item: String,
    /// How many.
    pub containers: Containers,
    /// From where.
    pub from: String,
    /// To where.
    pub to: String,
    /// Who.
    pub by: Option<String>,
}

impl PlainRow for TransferRow {
    const FILE: Plain = Plain::Transfers;

    fn read(line: &mut Line<'_>) -> Option<TransferRow> {
        let (at, item) = (line.time("at"), line.name("item", Plain::Stock));
        let containers = line.with("containers", |text| match thousandths(text) {
            Ok(0) => Err(word!("expected more than zero containers")),
            other => other,
        });
        let (from, to) = (line.name("from_place", Plain::Places), line.name("to_place", Plain::Places));
        let by = line.maybe_name("by", Plain::People);
        let (from, to) = (from?, to?);
        if name_key(&from) == name_key(&to) {
            line.wrong("to_place", word!("expected another place than from_place"));
            return None;
        }
        Some(TransferRow { at: at?, item: item?, containers: Containers(containers?), from, to, by: by? })
    }

    fn cells(&self, form: &Form) -> Vec<String> {
        vec![
            form.time(self.at),
            self.item.clone(),
            plain_thousandths(self.containers.0),
            self.from.clone(),
            self.to.clone(),
            self.by.clone().unwrap_or_default(),
        ]
    }
}

/// A line of `counts.csv`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CountRow {
    /// Which count.
    pub count: String,
    /// When it was entered.
    pub at: Moment,
    /// Where.
    pub place: String,
    /// What.
    pub item: String,
    /// What was seen.
    pub entry: Entry,
    /// How, if that was said.
    pub method: Option<CountMethod>,
    /// Who.
    pub by: Option<String>,
    /// Whether its count is not closed yet.
    pub open: bool,
}

impl PlainRow for CountRow {
    const FILE: Plain = Plain::Counts;

    fn read(line: &mut Line<'_>) -> Option<CountRow> {
        let (count, at) = (line.text("count"), line.time("at"));
        let (place, item) = (line.name("place", Plain::Places), line.name("item", Plain::Stock));
        let full = line.whole("full", 0..=9_999);
        let readings = line.with("open", |text| {
            // Of several readings, the one that is wrong is named.
            Reading::parse_all(text).map_err(|e| if e.read == text { e.why.to_string() } else { e.to_string() })
        });
        let entry = match (full, readings) {
            (Some(full), Some(open)) => line.entry("open", "item", Entry { full, open }),
            _ => None,
        };
        let (method, by) = (line.maybe("method", CountMethod::parse), line.maybe_name("by", Plain::People));
        let open = line.maybe("state", |text| {
            if text.eq_ignore_ascii_case("open") { Ok(()) } else { Err(word!("expected open, or nothing")) }
        });
        Some(CountRow {
            count: count?,
            at: at?,
            place: place?,
            item: item?,
            entry: entry?,
            method: method?,
            by: by?,
            open: open?.is_some(),
        })
    }

    fn cells(&self, form: &Form) -> Vec<String> {
        vec![
            self.count.clone(),
            form.time(self.at),
            self.place.clone(),
            self.item.clone(),
            self.entry.full.to_string(),
            Reading::plain_all(&self.entry.open),
            or_empty(self.method, |m| m.word().to_owned()),
            self.by.clone().unwrap_or_default(),
            if self.open { "open".to_owned() } else { String::new() },
        ]
    }
}

/// A line of `orders.csv`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OrderRow {
    /// Which order.
    pub order: String,
    /// Its line.
    pub line: i64,
    /// To whom.
    pub supplier: String,
    /// What.
    pub item: String,
    /// How many packs.
    pub packs: i64,
    /// Of one pack.
    pub price: Money,
    /// Where the order stands.
    pub state: OrderState,
    /// When it was sent.
    pub placed: Option<Moment>,
    /// The date it should come.
    pub expected: Option<NaiveDate>,
    /// Containers in a pack, where the file says it.
    pub pack: Option<i64>,
}

impl PlainRow for OrderRow {
    const FILE: Plain = Plain::Orders;

    fn read(line: &mut Line<'_>) -> Option<OrderRow> {
        let days = line.form().days;
        let (order, number) = (line.text("order"), line.whole("line", 1..=i64::MAX));
        let (supplier, item) = (line.name("supplier", Plain::Suppliers), line.name("item", Plain::Stock));
        let (packs, price) = (line.whole("packs", 0..=1_000_000), line.money("price"));
        let state = line.with("state", OrderState::parse);
        let placed = line.maybe("placed", |text| days.parse(text));
        let expected =
            line.maybe("expected", |text| parse_day(text).map_err(|_| word!("expected a date such as 2026-11-20")));
        let pack = line.maybe("pack", |text| whole(text, 1..=1_000_000));
        Some(OrderRow {
            order: order?,
            line: number?,
            supplier: supplier?,
            item: item?,
            packs: packs?,
            price: price?,
            state: state?,
            placed: placed?,
            expected: expected?,
            pack: pack?,
        })
    }

    fn cells(&self, form: &Form) -> Vec<String> {
        vec![
            self.order.clone(),
            self.line.to_string(),
            self.supplier.clone(),
            self.item.clone(),
            self.packs.to_string(),
            form.money(self.price),
            self.state.word().to_owned(),
            or_empty(self.placed, |at| form.time(at)),
            or_empty(self.expected, |d| d.to_string()),
            or_empty(self.pack, |pack| pack.to_string()),
        ]
    }
}
