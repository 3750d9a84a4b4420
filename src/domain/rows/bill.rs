//! A supplier's bill being received: beside what was ordered and what was carried in.

use crate::domain::ledger::Order;
use crate::domain::measure::Money;
use crate::domain::receive::{
    Against, AgainstLine, Bill, DocumentKind, Documents, Invoice, KeptClaim, Matched, Problem, Status,
    named_charges as named,
};
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

    /// What its lines come to without what is told apart of them, deposits and what is not stocked: the goods, and lines
    /// that nobody has explained yet.
    pub fn goods_and_open(&self) -> Money {
        let invoiced = self.against.lines.iter().filter_map(|line| line.invoiced.as_ref());
        let apart = self.matched.iter().map(|matched| match &matched.status {
            Status::Deposit { amount, .. } | Status::NotStock { amount, .. } => *amount,
            Status::Found { .. } | Status::Question { .. } => Money::ZERO,
        });
        let apart = apart.chain(invoiced.map(|invoiced| invoiced.deposit)).sum::<Money>();
        self.file.invoice.sum_of_lines(self.setup.venue.currency) - apart
    }

    /// Deposits of all of it: in lines of their own, with the goods, and of the whole bill.
    pub fn deposits(&self) -> Money {
        let invoiced = self.against.lines.iter().filter_map(|line| line.invoiced.as_ref());
        invoiced.map(|invoiced| invoiced.deposit).sum::<Money>() + self.against.deposits
    }

    /// What is charged or taken off for the whole bill besides deposits, under the names that the bill gives it.
    pub fn named_charges(&self) -> Vec<(String, Money)> {
        named(&self.file.invoice, self.setup.venue.currency)
    }

    /// Of how many lines goods come into stock, and of how many they leave it.
    pub fn moves(&self) -> (usize, usize) {
        let new = || self.against.lines.iter().filter(|line| !self.is_booked(line)).filter_map(|line| line.came);
        (new().filter(|came| *came > 0).count(), new().filter(|came| *came < 0).count())
    }

    /// Open claims on this supplier that come to just what a credit note gives without tax, one of them or all on one
    /// bill: what it may be for when it names no bill. None for anything else.
    pub fn of_same_sum<'a>(&self, open: &'a [KeptClaim]) -> Vec<&'a KeptClaim> {
        let invoice = &self.file.invoice;
        if invoice.kind != DocumentKind::CreditNote || !invoice.preceding.is_empty() {
            return Vec::new();
        }
        let credited = Money::ZERO - self.goods_and_open() - self.against.not_stock - self.charges;
        let ours = || open.iter().filter(|claim| Some(claim.supplier) == self.supplier);
        let one: Vec<&KeptClaim> = ours().filter(|claim| claim.money == credited).collect();
        if !one.is_empty() {
            return one;
        }
        let on = |document: &str| ours().filter(|claim| claim.document == document).collect::<Vec<_>>();
        let sum = |claims: &[&KeptClaim]| claims.iter().map(|claim| claim.money).sum::<Money>();
        ours().map(|claim| on(&claim.document)).find(|claims| sum(claims) == credited).unwrap_or_default()
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
    /// Lines of deliveries that stock is rid of, or has again.
    pub deliveries: usize,
    /// Those of them that had gone back to the supplier, and are in stock again.
    pub in_again: usize,
    /// Lines of an earlier delivery that cost again what they did before.
    pub prices: usize,
    /// Claims that are dropped.
    pub dropped: usize,
    /// Claims that it had settled, and that are open again.
    pub reopened: usize,
    /// The order that is on its way again.
    pub order: Option<String>,
    /// The order that stays done, because what did not come of it has come or been given up since.
    pub order_done: Option<String>,
}

/// What booking a bill brought.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct BillBooked {
    /// Lines of deliveries booked, into stock or out of it.
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
