//! The facts that a book keeps: what came, went, moved, was made, was sold and was counted.

use crate::domain::gauge::Entry;
use crate::domain::measure::{Amount, Money, Price};
use crate::domain::venue::{
    CauseWord, Containers, CountId, CountMethod, ItemId, Moment, OrderId, OrderState, PlaceId, Reason, SaleKind, Seq,
    SupplierId, TillId,
};
use chrono::NaiveDate;

/// One line of a delivery; a negative number of containers went back.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Delivery {
    /// Its row in the journal.
    pub seq: Seq,
    /// The supplier's document.
    pub document: String,
    /// Line of the document.
    pub line: i64,
    /// When it came.
    pub at: Moment,
    /// Who brought it.
    pub supplier: SupplierId,
    /// What.
    pub item: ItemId,
    /// How many containers.
    pub containers: i64,
    /// Price of one container, without tax.
    pub unit_price: Price,
    /// Where it was put, if that was said.
    pub place: Option<PlaceId>,
    /// Deposit on one container.
    pub deposit: Option<Money>,
}

/// Stock that went without being sold.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Loss {
    /// Its row in the journal.
    pub seq: Seq,
    /// When.
    pub at: Moment,
    /// What.
    pub item: ItemId,
    /// How much.
    pub amount: Amount,
    /// Why.
    pub reason: Reason,
    /// Where, if that was said.
    pub place: Option<PlaceId>,
    /// Who wrote it down.
    pub by: Option<String>,
    /// Anything to remember.
    pub note: Option<String>,
}

/// Containers carried from one place to another.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Transfer {
    /// Its row in the journal.
    pub seq: Seq,
    /// When.
    pub at: Moment,
    /// What.
    pub item: ItemId,
    /// How many.
    pub containers: Containers,
    /// From where.
    pub from: PlaceId,
    /// To where.
    pub to: PlaceId,
    /// Who.
    pub by: Option<String>,
}

/// A house-made item made: adds to it, takes its ingredients.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Batch {
    /// Its row in the journal.
    pub seq: Seq,
    /// When.
    pub at: Moment,
    /// What.
    pub item: ItemId,
    /// How much was made.
    pub made: Amount,
    /// Who.
    pub by: Option<String>,
    /// Anything to remember.
    pub note: Option<String>,
}

/// What somebody took to be the cause of the gap that an item shows at a count.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Explanation {
    /// Its row.
    pub seq: Seq,
    /// When it was accepted.
    pub at: Moment,
    /// The count at which the gap shows: the closing of the two that were compared.
    pub closing: CountId,
    /// What.
    pub item: ItemId,
    /// The cause.
    pub cause: CauseWord,
    /// Who accepted it.
    pub by: Option<String>,
    /// Anything to remember.
    pub note: Option<String>,
}

/// One line of a till receipt, as the computing needs it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Sale {
    /// When.
    pub at: Moment,
    /// What the till called it.
    pub till: TillId,
    /// How many, in thousandths.
    pub quantity: i64,
    /// Net of tax.
    pub net: Money,
    /// What the line was.
    pub kind: SaleKind,
}

impl Sale {
    /// The quantity that took stock, in thousandths: sold, comped and staff lines did; a return gives money back but
    /// the drink is gone; training was never made; a void with a negative quantity takes an earlier line back, with a
    /// positive one it was never made.
    pub fn took(&self) -> i64 {
        match self.kind {
            SaleKind::Sale | SaleKind::Comp | SaleKind::Staff => self.quantity,
            SaleKind::Void => self.quantity.min(0),
            SaleKind::Return | SaleKind::Training => 0,
        }
    }

    /// The money of it: training is none, nor is what was rung and cancelled before it was made.
    pub fn money(&self) -> Money {
        match self.kind {
            SaleKind::Training => Money::ZERO,
            SaleKind::Void if self.quantity > 0 => Money::ZERO,
            _ => self.net,
        }
    }
}

/// What a till name was rung on a business day.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DayTotal {
    /// The business day.
    pub day: NaiveDate,
    /// What the till called it.
    pub till: TillId,
    /// The quantity that took stock, in thousandths, as [`Sale::took`] says of each line.
    pub took: i64,
}

/// A count: a walk over places that closes a period.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Count {
    /// Handle.
    pub id: CountId,
    /// What it is called.
    pub name: String,
    /// When it was begun.
    pub opened: Moment,
    /// When it was closed, if it was.
    pub closed: Option<Moment>,
    /// Whether expected figures were hidden.
    pub blind: bool,
}

/// One line of a count: what was seen of one item in one place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CountLine {
    /// The count.
    pub count: CountId,
    /// Where.
    pub place: PlaceId,
    /// What.
    pub item: ItemId,
    /// When it was entered.
    pub at: Moment,
    /// What was seen.
    pub entry: Entry,
    /// How.
    pub method: CountMethod,
    /// By whom.
    pub by: Option<String>,
}

impl CountLine {
    /// Whose eye read it.
    pub fn eye(&self) -> Option<&str> {
        self.method.eye(self.by.as_deref())
    }
}

/// An order to a supplier.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Order {
    /// Handle.
    pub id: OrderId,
    /// What it is called.
    pub name: String,
    /// To whom.
    pub supplier: SupplierId,
    /// Where it stands.
    pub state: OrderState,
    /// When it was sent.
    pub placed: Option<Moment>,
    /// The date it should come.
    pub expected: Option<NaiveDate>,
    /// What.
    pub lines: Vec<OrderLine>,
}

impl Order {
    /// The days by which it is late on a date; nothing of one that is not on its way, not due, or of no known date.
    pub fn late_by(&self, today: NaiveDate) -> Option<i64> {
        let days = (today - self.expected.filter(|_| self.state == OrderState::Sent)?).num_days();
        (days > 0).then_some(days)
    }

    /// Whether it is what is left of an order that came in part.
    pub fn is_rest(&self) -> bool {
        self.first_name() != self.name
    }

    /// The name that the order had at first: what is left of `B-11` is `B-11 rest`, then `B-11 rest 2`, never the rest of a
    /// rest.
    pub fn first_name(&self) -> &str {
        let name = self.name.as_str();
        let numbered = name.rsplit_once(' ').filter(|(_, number)| number.parse::<u32>().is_ok());
        [Some(name), numbered.map(|(name, _)| name)]
            .into_iter()
            .flatten()
            .find_map(|name| name.strip_suffix(" rest"))
            .map_or(name, |first| if first.trim().is_empty() { name } else { first })
    }
}

/// What somebody said came of a line of an order on its way, before its delivery is taken in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Check {
    /// The number of the line.
    pub line: i64,
    /// Containers carried in.
    pub came: i64,
    /// Price of one container as charged, where it is not the one that it was ordered at.
    pub charged: Option<Price>,
    /// Where it is put.
    pub place: Option<PlaceId>,
    /// Who said so.
    pub by: Option<String>,
}

impl Check {
    /// Whether another one says the same of the same line, whoever said it.
    pub fn says_as(&self, other: &Check) -> bool {
        let said = |check: &Check| (check.line, check.came, check.charged, check.place);
        said(self) == said(other)
    }
}

/// One line of an order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OrderLine {
    /// Line number, from 1.
    pub line: i64,
    /// What.
    pub item: ItemId,
    /// Packs.
    pub packs: i64,
    /// Containers in a pack.
    pub pack: i64,
    /// Price of a pack, without tax.
    pub price: Money,
}

impl OrderLine {
    /// Containers in all of its packs.
    pub fn containers(&self) -> i64 {
        self.packs.saturating_mul(self.pack)
    }
}

/// The movements of a stretch of time.
#[derive(Clone, Debug, Default)]
pub struct Movements {
    /// Deliveries.
    pub deliveries: Vec<Delivery>,
    /// Losses.
    pub losses: Vec<Loss>,
    /// Transfers.
    pub transfers: Vec<Transfer>,
    /// Batches.
    pub batches: Vec<Batch>,
}
