//! Orders as they are put together, sent and received.

use crate::domain::ledger::{Check, Order, OrderLine};
use crate::domain::measure::{Money, Price, Show, number_of};
use crate::domain::order::{Draft, Filled, FilledUp, Waiting, Waits};
use crate::domain::par::Need;
use crate::domain::venue::{ItemId, OrderId, PlaceId, Setup};

/// A supplier's draft, and whether somebody has changed it.
#[derive(Clone, Debug, PartialEq)]
pub struct DraftView {
    /// The kept draft; `None` while it is only suggested.
    pub order: Option<OrderId>,
    /// What it will be called.
    pub name: String,
    /// Its lines.
    pub draft: Draft,
    /// The lines that the book kept of it when it was read: whoever finds others there writes over somebody's work.
    pub seen: Vec<OrderLine>,
}

/// What came of keeping or sending a draft.
#[derive(Clone, Debug, PartialEq)]
pub enum DraftKept {
    /// It is in the book.
    Kept(OrderId),
    /// Another terminal changed it meanwhile to this, and nothing is written.
    Twice(Box<Order>),
}

/// How two people's changes of one order differ: `Dry gin 2 × 6, not 3 × 6`, at most so many of them.
pub fn differ_words(theirs: &[OrderLine], ours: &[OrderLine], setup: &Setup, most: usize) -> String {
    let packs = |lines: &[OrderLine], item: ItemId, pack: i64| -> i64 {
        lines.iter().filter(|line| (line.item, line.pack) == (item, pack)).map(|line| line.packs).sum()
    };
    let mut keys: Vec<(ItemId, i64)> = theirs.iter().chain(ours).map(|line| (line.item, line.pack)).collect();
    keys.sort_unstable();
    keys.dedup();
    let differ: Vec<String> = keys
        .into_iter()
        .filter_map(|(item, pack)| {
            let (a, b) = (packs(theirs, item, pack), packs(ours, item, pack));
            (a != b).then(|| {
                say!("{item_name} {a} × {pack}, yours {b} × {pack}", item_name = setup.item_name(item), a, pack, b)
            })
        })
        .collect();
    let more = differ.len().saturating_sub(most);
    let told = differ.iter().take(most).cloned().collect::<Vec<_>>().join("; ");
    if more > 0 { say!("{told}; and {more} more", told, more) } else { told }
}

/// The Orders screen.
#[derive(Clone, Debug, Default)]
pub struct OrdersView {
    /// One for each supplier, by name.
    pub drafts: Vec<DraftView>,
    /// Orders sent and not received.
    pub sent: Vec<Order>,
    /// Short, and not ordered though somebody offers it.
    pub waiting: Vec<Waiting>,
    /// Short, and made here.
    pub to_make: Vec<Need>,
    /// Short, and nobody offers it.
    pub without_offer: Vec<Need>,
    /// With a par, but never counted.
    pub never_counted: Vec<ItemId>,
    /// What all orders together may cost, deliveries and all, where somebody said.
    pub budget: Option<Money>,
    /// By how much at most something could be cheaper; nothing where it is proved that nothing is.
    pub at_most_cheaper: Money,
}

impl OrdersView {
    /// What all orders together cost: goods and deliveries.
    pub fn paid(&self, setup: &Setup) -> Money {
        let totals = self.drafts.iter().map(|view| view.draft.totals(setup));
        totals.map(|totals| totals.goods + totals.fee).sum()
    }

    /// What waits for a reason; the most likely to run dry first.
    pub fn waiting_for(&self, why: Waits) -> Vec<Waiting> {
        let mut out: Vec<Waiting> = self.waiting.iter().filter(|waiting| waiting.why == why).copied().collect();
        // What nobody knows the risk of is short by its hand-set par, and taken for as likely as can be.
        let risk = |waiting: &Waiting| waiting.risk.unwrap_or(1.0);
        out.sort_by(|a, b| risk(b).total_cmp(&risk(a)));
        out
    }
}

/// What things that wait for a reason have in common.
pub fn waits_words(why: Waits) -> &'static str {
    match why {
        Waits::Cheaper => word!("Short, but cheaper to wait for the next order"),
        Waits::Budget => word!("Left out for the budget"),
        Waits::NoRoom => word!("Short, but its shelf has no room for a pack"),
        Waits::TooSmall => word!("Short, but its supplier's smallest order is not reached"),
    }
}

/// A chance as people read it: `4 %`, `under 1 %`.
pub fn chance_words(chance: f64) -> String {
    match 100.0 * chance {
        small if small < 0.5 => word!("under 1 %").to_owned(),
        large if large >= 99.5 => word!("over 99 %").to_owned(),
        percent => format!("{percent:.0} %"),
    }
}

/// By how much an order is filled up, and to what end.
pub fn filled_up_words(show: Show, (by, end): (Money, FilledUp)) -> String {
    let by = show.coin(by);
    match end {
        FilledUp::Minimum => say!("Filled up by {by} to reach the smallest order.", by),
        FilledUp::Free => say!("Filled up by {by} to go without the delivery fee.", by),
    }
}

/// That the search for the cheapest was not finished; nothing where it was.
pub fn unproved_words(show: Show, at_most: Money) -> Option<String> {
    let by = show.coin(at_most);
    (at_most > Money::ZERO)
        .then(|| say!("It is not proved that nothing is cheaper: something could be, by {by} at most.", by))
}

/// How full the mixed cases of one name are.
pub fn mixed_words(filled: &Filled) -> String {
    let (name, holds) = (&filled.case.name, filled.case.holds);
    let cases = number_of(filled.cases() as u64, word!("mixed case"), word!("mixed cases"));
    match filled.missing() {
        0 => say!("{name}: {cases} of {holds}, full.", name, cases, holds),
        missing => say!(
            "{name}: {containers} in {cases} of {holds}; {missing} more would fill it.",
            name,
            containers = filled.containers,
            cases,
            holds,
            missing
        ),
    }
}

/// One line of a delivery being booked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ReceiveLine {
    /// Its number in the order.
    pub line: i64,
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
    /// What the book has of it.
    pub kept: Option<Check>,
}

impl ReceiveLine {
    /// What is said of it; nothing until somebody said what came.
    pub fn check(&self) -> Option<Check> {
        Some(Check { line: self.line, came: self.came?, charged: self.charged, place: self.place, by: None })
    }
}

/// What is to be kept of a line of a delivery, in place of what was known of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Checking {
    /// Of what.
    pub item: ItemId,
    /// What is said now.
    pub now: Check,
    /// What the book had, as far as the screen knew; what somebody else said since is not written over.
    pub known: Option<Check>,
}

/// An order being received.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ReceiveView {
    /// The order.
    pub order: Order,
    /// Its lines.
    pub lines: Vec<ReceiveLine>,
}
