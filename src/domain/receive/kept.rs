//! Bills and claims as the book keeps them.

use super::keys::unspaced;
use super::{ClaimKind, DocumentKind, Documents, Invoice};
use crate::domain::measure::Money;
use crate::domain::venue::{BillId, ClaimId, ItemId, Moment, SupplierId};
use chrono::NaiveDate;

/// A bill that was booked, or noted for its money alone.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Bill {
    /// Handle; zero in one that is about to be kept.
    pub id: BillId,
    /// Whose.
    pub supplier: SupplierId,
    /// Its number.
    pub number: String,
    /// What makes it one of its kind among the supplier's ([`Bill::key_of`]).
    pub key: String,
    /// What it is.
    pub kind: DocumentKind,
    /// When it was written.
    pub issued: NaiveDate,
    /// The documents of deliveries that were booked before it came and that it answers, written as one text.
    pub delivery: Option<String>,
    /// Goods without tax and deposit; below zero for what is credited, and so are the others.
    pub goods: Money,
    /// Deposits.
    pub deposits: Money,
    /// Freight and the like, of the whole bill.
    pub charges: Money,
    /// What is not stocked.
    pub other: Money,
    /// What is to be paid, with tax, where the bill says it.
    pub payable: Option<Money>,
    /// When it was booked.
    pub at: Moment,
    /// Who booked it.
    pub by: Option<String>,
}

impl Bill {
    /// Number and type in the form in which they are compared: the same bill may come as a file of another kind, or be
    /// written with other blanks.
    pub fn key(number: &str, kind: DocumentKind) -> String {
        let credit = if kind == DocumentKind::CreditNote { "credit" } else { "invoice" };
        format!("{} {credit}", unspaced(number))
    }

    /// The same of a bill that was read.
    pub fn key_of(invoice: &Invoice) -> String {
        Bill::key(&invoice.number, invoice.kind)
    }

    /// Whether it is for a delivery that was booked before it came.
    pub fn is_for(&self, document: &str) -> bool {
        self.delivery.as_deref().is_some_and(|written| Documents::written_has(written, document))
    }

    /// Whether a number on another paper, such as that which a credit note says it is about, is the bill's.
    pub fn is_numbered(number: &str, other: &str) -> bool {
        unspaced(number) == unspaced(other)
    }
}

/// A claim as the book keeps it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeptClaim {
    /// Handle.
    pub id: ClaimId,
    /// From whom.
    pub supplier: SupplierId,
    /// On which document.
    pub document: String,
    /// For what.
    pub item: Option<ItemId>,
    /// Why.
    pub kind: ClaimKind,
    /// For so many containers.
    pub containers: i64,
    /// How much, without tax.
    pub money: Money,
    /// In a sentence.
    pub note: String,
    /// When it was put down.
    pub at: Moment,
    /// By whom.
    pub by: Option<String>,
    /// When, by whom and how it was settled, if it was.
    pub settled: Option<(Moment, Option<String>, String)>,
}
