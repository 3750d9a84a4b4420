//! Orders as they are put together, sent and received.

use crate::domain::ledger::Order;
use crate::domain::measure::{Price, number_of};
use crate::domain::order::{Draft, Filled};
use crate::domain::par::Need;
use crate::domain::venue::{ItemId, OrderId, PlaceId};

/// A supplier's draft, and whether somebody has changed it.
#[derive(Clone, Debug, PartialEq)]
pub struct DraftView {
    /// The kept draft; `None` while it is only suggested.
    pub order: Option<OrderId>,
    /// What it will be called.
    pub name: String,
    /// Its lines.
    pub draft: Draft,
}

/// The Orders screen.
#[derive(Clone, Debug, Default)]
pub struct OrdersView {
    /// One for each supplier, by name.
    pub drafts: Vec<DraftView>,
    /// Orders sent and not received.
    pub sent: Vec<Order>,
    /// Short, but it costs more to order now than to wait for the next order, or cannot be had.
    pub waiting: Vec<Need>,
    /// Short, and made here.
    pub to_make: Vec<Need>,
    /// Short, and nobody offers it.
    pub without_offer: Vec<Need>,
    /// With a par, but never counted.
    pub never_counted: Vec<ItemId>,
}

/// How full the mixed cases of one name are.
pub fn mixed_words(filled: &Filled) -> String {
    let (name, holds) = (&filled.case.name, filled.case.holds);
    let cases = number_of(filled.cases() as u64, "mixed case", "mixed cases");
    match filled.missing() {
        0 => format!("{name}: {cases} of {holds}, full."),
        missing => format!("{name}: {} in {cases} of {holds}; {missing} more would fill it.", filled.containers),
    }
}

/// One line of a delivery being booked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ReceiveLine {
    /// What.
    pub item: ItemId,
    /// Containers ordered.
    pub ordered: i64,
    /// Containers in a pack.
    pub pack: i64,
    /// Price of one container as ordered.
    pub price: Price,
    /// Containers carried in; `None` until somebody said.
    pub came: Option<i64>,
    /// Price of one container as charged, where it differs.
    pub charged: Option<Price>,
    /// Where it is put.
    pub place: Option<PlaceId>,
}

/// An order being received.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ReceiveView {
    /// The order.
    pub order: Order,
    /// Its lines.
    pub lines: Vec<ReceiveLine>,
}
