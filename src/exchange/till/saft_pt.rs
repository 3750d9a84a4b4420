//! SAF-T (PT), the audit file of Portugal, version 1.04_01 (Ordinance 302/2016): its sales invoices.
//!
//! A document counts unless it was cancelled (status `A`) or is already billed in another one (`F`): the ordinance leaves
//! both out of its totals. Invoices of types FT, FS, FR and VD are sales, a credit note (NC) gives back. Amounts are
//! without tax and after all discounts; what stands as a credit is sold, what stands as a debit is taken back: in a
//! credit note it came back from the guest; in an invoice it undoes an earlier line of the same article, or else was
//! returned. There is no training, no business day, and no mark of a void line in this format.

use super::element::{number, text};
use super::hand::{self, Hand};
use super::{Passed, Rung, Taker, Terms};
use crate::domain::measure::Money;
use crate::domain::till::Skip;
use crate::domain::venue::{Moment, SaleKind};
use crate::exchange::ReadError;
use crate::exchange::archive::Bundle;
use crate::exchange::plain::tamed;
use crate::exchange::stream::quoted;
use crate::exchange::xml::Xml;
use std::collections::{HashMap, HashSet};
use std::hash::{DefaultHasher, Hasher};
use std::path::Path;

/// Lines that a document may have, bytes of their texts, and documents that a file may have.
const LINES: usize = 20_000;
const BYTES: usize = 8 << 20;
const DOCUMENTS: usize = 3_500_000;
/// Lines without a number of their own are numbered from here, after any that have one.
const UNNUMBERED: i64 = 1_000_000_000;
/// Decimals that amounts are read with.
const READ: u32 = 9;
const LIFT: i128 = 10_i128.pow(hand::PLACES - READ);

/// Reads a file, or the one XML file in an archive.
///
/// # Errors
/// [`ReadError`] as `T::Error`, and whatever ends the reading.
pub fn read<T: Taker>(path: &Path, terms: &Terms, taker: &mut T) -> Result<Passed, T::Error> {
    let bundle = Bundle::open(path)?;
    let Some(entry) = bundle.only(".xml") else {
        return Err(ReadError::new(path, word!("expected one XML file in it; unpack it and choose one")).into());
    };
    let hand = Hand::new(path, terms, entry.size, taker);
    let member = (entry.name != path.file_name().unwrap_or_default().to_string_lossy()).then_some(entry.name.as_str());
    let mut xml = Xml::new(bundle.read(entry, &hand.passage)?, path, member)?;
    if !xml.child()? || xml.name() != "AuditFile" {
        return Err(xml.fail(word!("expected a Portuguese audit file (AuditFile)")).into());
    }
    let mut reader = Reader { hand, seen: HashSet::new() };
    let mut coin = None;
    while xml.child()? {
        match xml.name() {
            "Header" => {
                while xml.child()? {
                    match xml.name() {
                        "CurrencyCode" => {
                            let code = xml.text()?.to_owned();
                            hand::same_coin(terms, &code).map_err(|what| xml.fail(what))?;
                            coin = Some(code);
                        }
                        "CompanyName" => reader.hand.passed.from = reader.hand.some(xml.text()?),
                        _ => xml.skip()?,
                    }
                }
            }
            "SourceDocuments" => {
                if coin.is_none() {
                    hand::same_coin(terms, "EUR").map_err(|what| xml.fail(what))?;
                }
                while xml.child()? {
                    match xml.name() {
                        "SalesInvoices" => reader.invoices(&mut xml)?,
                        _ => reader.hand.pass_over(&mut xml, 2)?,
                    }
                }
            }
            _ => reader.hand.pass_over(&mut xml, 3)?,
        }
    }
    // What follows the root must be nothing.
    xml.child()?;
    if reader.seen.is_empty() {
        let what = word!("there are no sales invoices in it; have it exported with invoices (type F or C)");
        return Err(reader.hand.refuse(what).into());
    }
    reader.hand.done()
}

#[derive(Default)]
struct Document {
    number: String,
    status: String,
    kind: String,
    date: String,
    entered: String,
    lines: Vec<Line>,
    /// The line of the file that it begins on.
    place: u64,
}

#[derive(Default)]
struct Line {
    number: String,
    code: String,
    name: String,
    unit: String,
    /// Thousandths.
    quantity: Option<i64>,
    credit: Option<i64>,
    debit: Option<i64>,
}

/// What a document is.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Is {
    Sale,
    CreditNote,
    Not(Skip),
    Unknown,
}

impl Document {
    fn read(xml: &mut Xml) -> Result<Document, ReadError> {
        let mut document = Document { place: xml.line(), ..Document::default() };
        let mut weight = 0;
        while xml.child()? {
            match xml.name() {
                "InvoiceNo" => document.number = text(xml)?,
                "InvoiceDate" => document.date = text(xml)?,
                "InvoiceType" => document.kind = text(xml)?,
                "SystemEntryDate" => document.entered = text(xml)?,
                "DocumentStatus" => {
                    while xml.child()? {
                        match xml.name() {
                            "InvoiceStatus" => document.status = text(xml)?,
                            _ => xml.skip()?,
                        }
                    }
                }
                "Line" => {
                    let line = line(xml)?;
                    weight += line.number.len() + line.code.len() + line.name.len() + line.unit.len();
                    if document.lines.len() >= LINES || weight > BYTES {
                        return Err(xml.fail(word!("an invoice has more lines than any can have; the file is damaged")));
                    }
                    document.lines.push(line);
                }
                _ => xml.skip()?,
            }
        }
        Ok(document)
    }

    fn is(&self) -> Is {
        match (self.status.as_str(), self.kind.as_str()) {
            ("A" | "F", _) => Is::Not(Skip::NoSale),
            (_, "FT" | "FS" | "FR" | "VD") => Is::Sale,
            (_, "NC") => Is::CreditNote,
            // A debit note asks for more money for what was sold before.
            (_, "ND") => Is::Not(Skip::MoneyOnly),
            _ => Is::Unknown,
        }
    }
}

fn line(xml: &mut Xml) -> Result<Line, ReadError> {
    let mut line = Line::default();
    while xml.child()? {
        match xml.name() {
            "LineNumber" => line.number = text(xml)?,
            "ProductCode" => line.code = text(xml)?,
            "ProductDescription" => line.name = text(xml)?,
            "UnitOfMeasure" => line.unit = text(xml)?,
            "Quantity" => line.quantity = number(xml, 3)?,
            "CreditAmount" => line.credit = number(xml, READ)?,
            "DebitAmount" => line.debit = number(xml, READ)?,
            _ => xml.skip()?,
        }
    }
    Ok(line)
}

/// Whether a unit means one piece, as Portuguese tills write it.
fn is_piece(unit: &str) -> bool {
    let unit = unit.trim_end_matches('.').to_lowercase();
    matches!(
        unit.as_str(),
        "" | "un" | "uni" | "und" | "unid" | "unidade" | "unidades" | "pc" | "pç" | "ea" | "c62" | "h87"
    )
}

struct Reader<'t, T: Taker> {
    hand: Hand<'t, T>,
    seen: HashSet<u64>,
}

impl<T: Taker> Reader<'_, T> {
    fn invoices(&mut self, xml: &mut Xml) -> Result<(), T::Error> {
        while xml.child()? {
            if xml.name() == "Invoice" {
                let document = Document::read(xml)?;
                self.document(&document)?;
            } else {
                xml.skip()?;
            }
            self.hand.pace()?;
        }
        Ok(())
    }

    fn document(&mut self, document: &Document) -> Result<(), T::Error> {
        let receipt = tamed(&document.number);
        if receipt.is_empty() {
            return Err(self
                .hand
                .refuse_at(&place_of(document), word!("this invoice has no number (InvoiceNo)"))
                .into());
        }
        let mut hasher = DefaultHasher::new();
        hasher.write(receipt.as_bytes());
        if !self.seen.insert(hasher.finish()) {
            let what = say!(
                "the invoice {receipt} stands in the file twice; have it exported again",
                receipt = quoted(&receipt)
            );
            return Err(self.hand.refuse_at(&place_of(document), what).into());
        }
        if self.seen.len() > DOCUMENTS {
            return Err(self
                .hand
                .refuse_at(&place_of(document), word!("there are too many invoices; export fewer days"))
                .into());
        }
        let place = &|| say!("invoice {receipt}", receipt = quoted(&receipt));
        let credit_note = match document.is() {
            Is::Sale => false,
            Is::CreditNote => true,
            Is::Not(why) => {
                document.lines.iter().for_each(|_| self.hand.skip(why));
                return Ok(());
            }
            Is::Unknown => {
                let what = say!(
                    "Lines of invoices of type {kind}, which is not known here, left out",
                    kind = quoted(&document.kind)
                );
                for _ in &document.lines {
                    self.hand.note(&what, place);
                    self.hand.skip(Skip::Unknown);
                }
                return Ok(());
            }
        };
        let at = self.time(document, place)?;
        let mut sold: HashMap<&str, i64> = HashMap::new();
        let mut numbers = HashSet::new();
        for (n, line) in document.lines.iter().enumerate() {
            let own = line.number.parse::<i64>().ok().filter(|number| (0..UNNUMBERED).contains(number));
            let number = own.filter(|number| numbers.insert(*number)).unwrap_or(UNNUMBERED + n as i64 + 1);
            let Some(quantity) = line.quantity else {
                self.hand.note(word!("Lines that do not say how many (Quantity is missing), left out"), place);
                self.hand.skip(Skip::Unknown);
                continue;
            };
            let credit = i128::from(line.credit.unwrap_or_default());
            let debit = i128::from(line.debit.unwrap_or_default());
            // Nothing to pay stands as a credit or a debit of zero: then the element that is there says which.
            let takes = debit > 0 || quantity < 0 || (line.debit.is_some() && line.credit.is_none());
            let Some(net) = hand::coins((credit - debit) * LIFT, self.hand.terms.currency) else {
                return Err(self.hand.refuse_at(&place_of(document), word!("an amount is too large")).into());
            };
            let quantity = if takes { quantity.saturating_abs().saturating_neg() } else { quantity };
            if quantity == 0 && net == Money::ZERO {
                self.hand.skip(Skip::Blank);
                continue;
            }
            let so_far = sold.entry(&line.code).or_default();
            let kind = match takes {
                false => SaleKind::Sale,
                true if !credit_note && so_far.saturating_add(quantity) >= 0 => SaleKind::Void,
                true => SaleKind::Return,
            };
            if kind != SaleKind::Return {
                *so_far = so_far.saturating_add(quantity);
            }
            let mut sold_as = self.hand.name_of(&[&line.name, &line.code]);
            if !is_piece(&line.unit) {
                sold_as = tamed(&format!("{sold_as} [{}]", line.unit));
            }
            let rung = Rung {
                receipt: receipt.clone(),
                line: number,
                at,
                sold_as,
                code: self.hand.some(&line.code),
                quantity,
                net,
                kind,
                goods: quantity != 0,
                timed: true,
                total: false,
            };
            self.hand.give(rung, None)?;
        }
        Ok(())
    }

    /// When a document was made: when it was entered, unless that is another day than its own by more than one, as with
    /// invoices written up later; then noon of its own.
    fn time(&mut self, document: &Document, place: &dyn Fn() -> String) -> Result<Moment, ReadError> {
        let days = self.hand.terms.days;
        let entered = self.hand.time(&document.entered);
        let day = hand::date(&document.date);
        let near = |at: &Moment| day.is_none_or(|day| (days.day_of(*at) - day).num_days().abs() <= 1);
        let at = match (entered.filter(near), day) {
            (Some(at), _) => at,
            (None, Some(day)) => {
                self.hand.note(
                    word!("Invoices entered on another day than their own, taken to be of noon of their own"),
                    place,
                );
                days.at(day, chrono::NaiveTime::from_hms_opt(12, 0, 0).unwrap_or_default())
            }
            (None, None) => {
                let what = say!(
                    "read {entered} as SystemEntryDate and {date} as InvoiceDate; expected such as 2026-04-10T18:01:00 and 2026-04-10",
                    entered = quoted(&document.entered),
                    date = quoted(&document.date)
                );
                return Err(self.hand.refuse_at(&place_of(document), what));
            }
        };
        self.hand.check_time(at, &|| place_of(document))?;
        Ok(at)
    }
}

/// Where a document stands.
fn place_of(document: &Document) -> String {
    say!("line {place}", place = document.place)
}
