//! An order as it leaves the house. Text, table, page, e-mail and electronic order are all made of this, so that they
//! cannot disagree.

use super::{Draft, DraftLine};
use crate::domain::measure::{Amount, Basis, Currency, Money};
use crate::domain::venue::{Contact, Gtin, Item, Party, Setup, one_line};
use crate::words::Speech;
use chrono::NaiveDate;

/// One side of an order.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Side {
    /// What it is called.
    pub name: String,
    /// Where it is, and its numbers.
    pub party: Party,
}

/// What is ordered of one thing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DocumentLine {
    /// The supplier's own number.
    pub code: Option<String>,
    /// What it is.
    pub name: String,
    /// What one container holds, as its label says it; none of what is counted singly.
    pub size: Option<String>,
    /// Packs ordered.
    pub packs: i64,
    /// Containers in a pack.
    pub pack: i64,
    /// Price of a pack, without tax.
    pub price: Money,
    /// The number under the bar code of what is ordered. A case has another than the bottle in it, so there is one only
    /// where the pack is the container, and where the container has no more than one that others know too.
    pub gtin: Option<Gtin>,
}

impl DocumentLine {
    /// Containers ordered.
    pub fn containers(&self) -> i64 {
        self.packs.saturating_mul(self.pack)
    }

    /// Price of the line, without tax.
    pub fn total(&self) -> Money {
        self.price.times(self.packs, 1)
    }

    /// The name with the size: `Harbour gin, 700 ml`.
    pub fn full_name(&self) -> String {
        match &self.size {
            Some(size) => format!("{}, {size}", self.name),
            None => self.name.clone(),
        }
    }

    /// What a pack is: `single` or `case of 6`.
    pub fn pack_words(&self) -> String {
        if self.pack == 1 { word!("single").to_owned() } else { say!("case of {pack}", pack = self.pack) }
    }
}

/// An order. No text in it has a line break or anything that does not show.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OrderDocument {
    /// The language that it is written in for people, and its marks.
    pub speech: Speech,
    /// What it is called; that is its number too.
    pub name: String,
    /// The business day it is written on.
    pub date: NaiveDate,
    /// The day on which it should come.
    pub wanted: Option<NaiveDate>,
    /// The coin of every amount in it.
    pub currency: Currency,
    /// Who orders.
    pub buyer: Side,
    /// Whom to ask about it.
    pub contact: Contact,
    /// Who delivers.
    pub seller: Side,
    /// Where it goes.
    pub email: Option<String>,
    /// What the seller calls the buyer.
    pub customer_no: Option<String>,
    /// Where and how to deliver.
    pub deliver_to: Option<String>,
    /// Anything else to be said.
    pub note: Option<String>,
    /// What is ordered, at least one pack of each.
    pub lines: Vec<DocumentLine>,
    /// Sum of the lines, without tax.
    pub goods: Money,
    /// Cost of the delivery, without tax.
    pub fee: Money,
}

fn tidy(text: Option<&String>) -> Option<String> {
    text.map(|text| one_line(text)).filter(|text| !text.is_empty())
}

fn tidy_party(party: &Party) -> Party {
    Party { address: party.address.iter().map(|line| one_line(line)).collect(), ..party.clone() }
}

impl OrderDocument {
    /// The order that a draft makes: its lines with packs, in their order. `name` is what it is called, `date` the
    /// business day.
    pub fn new(setup: &Setup, draft: &Draft, name: &str, date: NaiveDate) -> OrderDocument {
        let venue = &setup.venue;
        let supplier = setup.supplier(draft.supplier);
        let ordered = draft.lines.iter().filter(|line| line.packs > 0);
        let totals = draft.totals(setup);
        OrderDocument {
            speech: setup.venue.speech(),
            name: one_line(name),
            date,
            wanted: draft.deadline.map(|deadline| deadline.comes),
            currency: venue.currency,
            buyer: Side { name: one_line(&venue.name), party: tidy_party(&venue.party) },
            contact: Contact {
                name: tidy(venue.contact.name.as_ref()),
                phone: venue.contact.phone.clone(),
                email: tidy(venue.contact.email.as_ref()),
            },
            seller: supplier.map(|s| Side { name: one_line(&s.name), party: tidy_party(&s.party) }).unwrap_or_default(),
            email: tidy(supplier.and_then(|s| s.email.as_ref())),
            customer_no: tidy(supplier.and_then(|s| s.customer_no.as_ref())),
            deliver_to: tidy(venue.deliver_to.as_ref()),
            note: None,
            lines: ordered.map(|line| document_line(setup, line)).collect(),
            goods: totals.goods,
            fee: totals.fee,
        }
    }

    /// The same with a note to the supplier.
    pub fn with_note(self, note: &str) -> OrderDocument {
        OrderDocument { note: tidy(Some(&note.to_owned())), ..self }
    }

    /// Goods and delivery, without tax.
    pub fn total(&self) -> Money {
        self.goods + self.fee
    }

    /// An amount of money as it stands in the document, without the coin.
    pub fn money(&self, money: Money) -> String {
        self.currency.shown(money)
    }
}

/// The bar code number of an item, where it has just one and others know it too.
fn only_gtin(item: &Item) -> Option<Gtin> {
    let [gtin] = &item.gtins[..] else { return None };
    Some(gtin.clone()).filter(|gtin| !gtin.is_restricted())
}

fn document_line(setup: &Setup, line: &DraftLine) -> DocumentLine {
    let item = setup.item(line.item);
    // One of what is counted singly needs no size.
    let sized = item.filter(|i| (i.basis, i.size) != (Basis::Each, Amount(1_000)));
    DocumentLine {
        code: tidy(line.code.as_ref()),
        name: one_line(setup.item_name(line.item)),
        size: sized.map(|i| setup.venue.show().label(i.basis, i.size)),
        packs: line.packs,
        pack: line.pack,
        price: line.price,
        gtin: item.filter(|_| line.pack == 1).and_then(only_gtin),
    }
}
