//! A supplier's bill being received: beside what was ordered and what was carried in.

use crate::domain::ledger::Order;
use crate::domain::measure::Money;
use crate::domain::receive::{Against, AgainstLine, Bill, Documents, Invoice, Matched, Problem};
use crate::domain::rows::FilePrint;
use crate::domain::venue::{OrderId, Setup, SupplierId};
use chrono::NaiveDate;
use std::collections::BTreeSet;
use std::path::PathBuf;
use std::sync::Arc;

/// A file with a bill in it, as it was read.
#[derive(Clone, Debug, PartialEq)]
pub struct BillFile {
    /// Where it is.
    pub path: PathBuf,
    /// What makes it itself.
    pub print: FilePrint,
    /// What is in it.
    pub invoice: Invoice,
}

/// What a bill answers.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Answers {
    /// An order that was sent, whose goods are carried in with it.
    Order(OrderId),
    /// Deliveries that were booked already, by the numbers on their papers.
    Delivery(Documents),
    /// Nothing that the book knows of.
    Nothing,
}

/// What a person said of a bill as a whole; what was not said is found out.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct BillChoice {
    /// Whose it is.
    pub supplier: Option<SupplierId>,
    /// What it answers.
    pub answers: Option<Answers>,
    /// Nobody need be asked any more whether it does.
    pub certain: bool,
    /// Lines that are nothing stocked on this bill alone, counted from 0.
    pub money_only: BTreeSet<usize>,
    /// Freight and the like are shared out over the goods.
    pub spread: bool,
}

/// A bill beside what was ordered.
#[derive(Clone, Debug)]
pub struct BillView {
    /// The bar.
    pub setup: Arc<Setup>,
    /// The bill.
    pub file: Arc<BillFile>,
    /// Whose it is; nobody's that the book knows.
    pub supplier: Option<SupplierId>,
    /// What is wrong with it.
    pub problems: Vec<Problem>,
    /// What it may answer, the likeliest first, nothing last.
    pub may_answer: Vec<(Answers, String)>,
    /// What it answers, by its place in `may_answer`.
    pub answers: usize,
    /// Whether the bill itself or a person says so.
    pub certain: bool,
    /// Lines that are nothing stocked on this bill alone, counted from 0.
    pub money_only: BTreeSet<usize>,
    /// The orders that it stands beside: one that was sent, or a booked delivery in the form of one.
    pub orders: Vec<Order>,
    /// Line by line, what it was found to be.
    pub matched: Vec<Matched>,
    /// Item by item, beside the orders.
    pub against: Against,
    /// Freight and the like of the whole bill.
    pub charges: Money,
    /// Whether they are shared out over the goods.
    pub spread: bool,
    /// The bill of the same number that was booked before.
    pub before: Option<Bill>,
    /// The business day on which it says that the goods came, when that is past.
    pub delivered: Option<NaiveDate>,
}

impl PartialEq for BillView {
    /// The same bill, with the same said of it; the set-up it is looked at with is not compared.
    fn eq(&self, other: &BillView) -> bool {
        let said = |view: &BillView| {
            (view.supplier, view.answered().clone(), view.certain, view.money_only.clone(), view.spread)
        };
        self.file == other.file && said(self) == said(other) && self.against == other.against
    }
}

impl BillView {
    /// What it answers.
    pub fn answered(&self) -> &Answers {
        self.may_answer.get(self.answers).map_or(&Answers::Nothing, |(answers, _)| answers)
    }

    /// Everything that was said of it, to look at it anew with.
    pub fn choice(&self) -> BillChoice {
        BillChoice {
            supplier: self.supplier,
            answers: Some(self.answered().clone()),
            certain: self.certain,
            money_only: self.money_only.clone(),
            spread: self.spread,
        }
    }

    /// Whether it was booked before the bill was there how much of a line came: then nobody says it again.
    pub fn is_booked(&self, line: &AgainstLine) -> bool {
        matches!(self.answered(), Answers::Delivery(_)) && line.ordered.is_some()
    }
}

/// What taking a bill back changed.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct BillTakenBack {
    /// Its number.
    pub number: String,
    /// Lines of deliveries that are in stock no more.
    pub deliveries: usize,
    /// Lines of an earlier delivery that cost again what they did before.
    pub prices: usize,
    /// Claims that are dropped.
    pub dropped: usize,
    /// Claims that it had settled, and that are open again.
    pub reopened: usize,
    /// The order that is on its way again.
    pub order: Option<String>,
}

/// What booking a bill brought.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct BillBooked {
    /// Lines of deliveries booked.
    pub deliveries: usize,
    /// Lines of an earlier delivery whose price was corrected.
    pub corrected: usize,
    /// Differences to claim.
    pub claims: usize,
    /// How much they are, without tax.
    pub claimed: Money,
    /// Claims that a credit note settled.
    pub settled: usize,
    /// Claims of which it settled a part.
    pub reduced: usize,
    /// Claims on the bills that it names which it does not reach.
    pub unsettled: usize,
    /// What did not come stays on order under this name.
    pub rest: Option<String>,
}
