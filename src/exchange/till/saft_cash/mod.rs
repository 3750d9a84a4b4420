//! SAF-T Cash Register, the export of Norwegian (schema 1.00) and Danish tills, and the Dutch family that it was derived
//! from (XML Auditfile Afrekensystemen), which is read by the same names and is experimental: its schema was not at hand.
//!
//! Elements are known by their local names. Articles and codes come first and are kept; then one transaction after the
//! other is read, judged as a whole, because the marks of voids and training stand behind its lines, and handed on.
//!
//! What is taken back is a return, after which the drink is gone, in a transaction whose code says so (returned payment,
//! returned products, trade-in, sale with return); in any other it is a void, and the drink was never made.

mod codes;
mod deal;

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
use codes::Codes;
use deal::{Deal, Line, Sums, Worth, after_discount, compare, worth};
use std::collections::{HashMap, HashSet};
use std::hash::{DefaultHasher, Hasher};
use std::path::Path;

/// Transactions that a file may have, and registers: each takes some bytes of memory.
const TRANSACTIONS: usize = 3_500_000;
const REGISTERS: usize = 10_000;
/// Lines without a number of their own are numbered from here, after any that have one; the discount of a whole
/// transaction stands before them.
const UNNUMBERED: i64 = 1_000_000_000;
const WHOLE: i64 = UNNUMBERED - 1;

/// Reads a file, or the one XML file in an archive.
///
/// # Errors
/// [`ReadError`] as `T::Error`, and whatever ends the reading.
pub fn read<T: Taker>(path: &Path, terms: &Terms, experimental: bool, taker: &mut T) -> Result<Passed, T::Error> {
    let bundle = Bundle::open(path)?;
    let Some(entry) = bundle.only(".xml").or_else(|| bundle.only(".xaa")) else {
        return Err(ReadError::new(path, word!("expected one XML file in it; unpack it and choose one")).into());
    };
    let mut hand = Hand::new(path, terms, entry.size, taker);
    if experimental {
        hand.passed.warn(
            word!("Files of this kind (XML Auditfile Afrekensystemen) are read by the rules of the Norwegian one, which was made \
             after it: experimental. Compare the totals with a report of the till")
                .to_owned(),
        );
    }
    let member = (entry.name != path.file_name().unwrap_or_default().to_string_lossy()).then_some(entry.name.as_str());
    let mut xml = Xml::new(bundle.read(entry, &hand.passage)?, path, member)?;
    if !xml.child()? || !xml.name().eq_ignore_ascii_case("auditfile") {
        return Err(xml.fail(word!("expected an audit file of a cash register (auditfile)")).into());
    }
    let usual = match xml.namespace().rsplit(':').next() {
        Some("NO") => "NOK",
        Some("DK") => "DKK",
        _ => "EUR",
    };
    let mut reader = Reader {
        hand,
        codes: Codes::default(),
        register: String::new(),
        location: String::new(),
        company: String::new(),
        first_company: None,
        registers: HashMap::new(),
        seen: HashSet::new(),
        lines: 0,
        unexplained: false,
    };
    let mut coin = None;
    while xml.child()? {
        match xml.name() {
            "header" => {
                while xml.child()? {
                    if xml.name() == "curCode" {
                        let code = xml.text()?.to_owned();
                        hand::same_coin(terms, &code).map_err(|what| xml.fail(what))?;
                        coin = Some(code);
                    } else {
                        xml.skip()?;
                    }
                }
            }
            "company" => {
                if coin.is_none() {
                    hand::same_coin(terms, usual).map_err(|what| xml.fail(what))?;
                }
                reader.company.clear();
                reader.part(&mut xml, Part::Company)?;
            }
            _ => reader.hand.pass_over(&mut xml, 3)?,
        }
    }
    // What follows the root must be nothing.
    xml.child()?;
    if reader.lines == 0 {
        let what = if reader.seen.is_empty() {
            word!("there is no transaction in it; choose the file that holds the sales")
        } else {
            word!(
                "its transactions have no lines, only totals, which do not say what was sold; have the till export it with all \
             details"
            )
        };
        return Err(reader.hand.refuse(what).into());
    }
    reader.hand.done()
}

/// A part of the company.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Part {
    Company,
    Location,
    Other,
}

struct Reader<'t, T: Taker> {
    hand: Hand<'t, T>,
    codes: Codes,
    register: String,
    location: String,
    company: String,
    first_company: Option<String>,
    /// At which location a register was met first.
    registers: HashMap<String, String>,
    seen: HashSet<u64>,
    lines: u64,
    /// A code of a transaction meant nothing when it was met.
    unexplained: bool,
}

impl<T: Taker> Reader<'_, T> {
    /// Reads the company, or a part of it that may hold registers or lists: the schemas do not agree where these stand.
    fn part(&mut self, xml: &mut Xml, part: Part) -> Result<(), T::Error> {
        while xml.child()? {
            match xml.name() {
                "companyIdent" if part == Part::Company => self.company = xml.text()?.to_owned(),
                "companyName" if part == Part::Company => {
                    let name = self.hand.some(xml.text()?);
                    self.hand.passed.from = self.hand.passed.from.take().or(name);
                }
                "articles" => self.codes.articles(xml)?,
                "basics" => {
                    self.codes.basics(xml)?;
                    if self.unexplained {
                        let what =
                            word!("what its codes stand for is said only after the sales; it cannot be read in one go");
                        return Err(xml.fail(what).into());
                    }
                }
                "location" => {
                    self.location.clear();
                    self.part(xml, Part::Location)?;
                }
                "name" if part == Part::Location => self.location = xml.text()?.chars().take(100).collect(),
                "cashregister" => self.register(xml)?,
                "cashtransaction" => self.transaction(xml)?,
                "journal" => {
                    let what =
                        word!("this is the file of a ledger, not of a till: it holds bookings, no sales of items");
                    return Err(xml.fail(what).into());
                }
                "customersSuppliers" | "employees" | "periods" | "vatCodeDetails" | "event" | "streetAddress"
                | "postalAddress" => self.hand.pass_over(xml, 2)?,
                _ => self.part(xml, Part::Other)?,
            }
        }
        Ok(())
    }

    fn register(&mut self, xml: &mut Xml) -> Result<(), T::Error> {
        self.register.clear();
        while xml.child()? {
            match xml.name() {
                "registerID" => {
                    self.register = xml.text()?.chars().take(100).collect();
                    if self.registers.len() >= REGISTERS {
                        return Err(xml.fail(say!("it has more than {REGISTERS} registers", REGISTERS)).into());
                    }
                    self.registers.entry(self.register.clone()).or_insert_with(|| self.location.clone());
                }
                "cashtransaction" => self.transaction(xml)?,
                _ => self.hand.pass_over(xml, 1)?,
            }
        }
        Ok(())
    }

    /// What makes the receipt one of its kind: register and number, and what tells registers of one name apart.
    fn key(&mut self, deal: &Deal) -> String {
        let number = if deal.number.is_empty() { &deal.id } else { &deal.number };
        let mut key = String::new();
        let first = self.first_company.get_or_insert_with(|| self.company.clone());
        if *first != self.company {
            key = format!("{} ", self.company);
        }
        if self.registers.get(&self.register).is_some_and(|location| *location != self.location) {
            key.push_str(&format!("{} ", self.location));
        }
        tamed(&format!("{key}{} {number}", self.register))
    }

    fn transaction(&mut self, xml: &mut Xml) -> Result<(), T::Error> {
        let deal = Deal::read(xml)?;
        self.hand.pace()?;
        if deal.number.is_empty() && deal.id.is_empty() {
            return Err(self.hand.refuse_at(&place_of(&deal), word!("this transaction has no number (nr)")).into());
        }
        let key = self.key(&deal);
        let mut hasher = DefaultHasher::new();
        hasher.write(key.as_bytes());
        if !self.seen.insert(hasher.finish()) {
            let what =
                say!("the transaction {key} stands in the file twice; have it exported again", key = quoted(&key));
            return Err(self.hand.refuse_at(&place_of(&deal), what).into());
        }
        if self.seen.len() > TRANSACTIONS {
            return Err(self
                .hand
                .refuse_at(&place_of(&deal), word!("there are too many transactions; export fewer days"))
                .into());
        }
        self.lines += deal.lines.len() as u64;
        if deal.lines.is_empty() {
            return Ok(());
        }
        let receipt = || say!("receipt {key}", key = quoted(&key));
        let returns = match self.codes.deal(&deal.kind) {
            _ if deal.voided => return self.leave_out(&deal, Skip::Voided),
            codes::Deal::Sale { returns } => returns,
            codes::Deal::Not(why) => return self.leave_out(&deal, why),
            codes::Deal::Unknown => {
                self.unexplained = true;
                let what = say!(
                    "Lines of transactions of type {kind}, which stands for no type that is known, left out",
                    kind = quoted(&deal.kind)
                );
                deal.lines.iter().for_each(|_| self.hand.note(&what, &receipt));
                return self.leave_out(&deal, Skip::Unknown);
            }
        };
        self.sale(&deal, &key, returns)
    }

    fn leave_out(&mut self, deal: &Deal, why: Skip) -> Result<(), T::Error> {
        deal.lines.iter().for_each(|_| self.hand.skip(why));
        Ok(())
    }

    fn sale(&mut self, deal: &Deal, key: &str, returns: bool) -> Result<(), T::Error> {
        let receipt = &|| say!("receipt {key}", key = quoted(key));
        let worths: Vec<Worth> =
            deal.lines.iter().map(|line| worth(deal, line, line.quantity.unwrap_or_default(), returns)).collect();
        let raised: i128 =
            deal.raised.iter().filter(|(code, _)| !self.codes.is_tip(code)).map(|(_, amount)| *amount).sum();
        let sums = compare(deal, &worths, raised);
        match sums {
            Sums::Differ => self.hand.note(word!("Receipts whose total is not the sum of their lines"), receipt),
            Sums::BeforeDiscounts => self.hand.note(
                word!("Receipts whose lines are written before their discounts; the discounts were taken off"),
                receipt,
            ),
            Sums::Agree | Sums::BesidesWhole => {}
        }
        let mut numbers = HashSet::with_capacity(deal.lines.len());
        let mut net_of_lines = 0;
        for (place, (line, worth)) in deal.lines.iter().zip(&worths).enumerate() {
            let own = line.id.parse::<i64>().ok().filter(|number| (0..WHOLE).contains(number));
            let own = own.filter(|number| numbers.insert(*number));
            let number = own.unwrap_or(UNNUMBERED + place as i64 + 1);
            let net = match sums {
                Sums::BeforeDiscounts => after_discount(worth, line.off),
                _ => worth.net,
            };
            net_of_lines += net.unwrap_or_default();
            if line.quantity.is_none() {
                self.hand.note(word!("Lines that do not say how many (qnt is missing), left out"), receipt);
                self.hand.skip(Skip::Unknown);
                continue;
            }
            let Some(net) = net.and_then(|net| hand::coins(net, self.hand.terms.currency)) else {
                self.hand
                    .note(word!("Lines that do not say what they came to (lineAmntEx is missing), left out"), receipt);
                self.hand.skip(Skip::Unknown);
                continue;
            };
            if worth.contradicts {
                let what = word!("Lines that say they are sold (C) but of a quantity below zero, taken as returns");
                self.hand.note(what, receipt);
            }
            if worth.quantity == 0 && net == Money::ZERO {
                self.hand.skip(Skip::Blank);
                continue;
            }
            let at = self.time(deal, line)?;
            let sold_as = self.name(line);
            let rung = Rung {
                receipt: key.to_owned(),
                line: number,
                at,
                sold_as,
                code: self.hand.some(&line.article),
                quantity: worth.quantity,
                net,
                kind: if deal.training { SaleKind::Training } else { worth.kind },
                goods: worth.quantity != 0,
                timed: true,
                total: false,
            };
            self.hand.give(rung, None)?;
        }
        if sums == Sums::BesidesWhole && !deal.training {
            self.whole(deal, key, net_of_lines)?;
        }
        Ok(())
    }

    /// Hands on what a discount or a surcharge of the whole transaction takes off or adds, net of tax: what its total has
    /// that its lines have not.
    fn whole(&mut self, deal: &Deal, key: &str, net_of_lines: i128) -> Result<(), T::Error> {
        let takes = deal.way == Some(deal::Way::Takes);
        let Some(total) = deal.net.map(|net| if takes { -net.abs() } else { net }) else { return Ok(()) };
        let net = hand::coins(total - net_of_lines, self.hand.terms.currency);
        let Some(net) = net.filter(|net| *net != Money::ZERO) else { return Ok(()) };
        let words = deal.off.first().and_then(|(code, _)| self.codes.discount(code)).unwrap_or_default();
        let sold_as = self.hand.name_of(&[words, "Discount"]);
        let rung = Rung {
            receipt: key.to_owned(),
            line: WHOLE,
            at: self.time(deal, &Line::default())?,
            sold_as,
            code: None,
            quantity: 0,
            net,
            kind: SaleKind::Sale,
            goods: false,
            timed: true,
            total: false,
        };
        self.hand.give(rung, None)
    }

    fn name(&mut self, line: &Line) -> String {
        let Reader { hand, codes, .. } = self;
        if line.article.is_empty() {
            return hand.name_of(&[&line.words, codes.group(&line.group).unwrap_or_default(), &line.group]);
        }
        hand.name_of(&[codes.article(&line.article).unwrap_or_default(), &line.words, &line.article])
    }

    /// When a line was rung: its own time, else that of its transaction.
    fn time(&mut self, deal: &Deal, line: &Line) -> Result<Moment, ReadError> {
        let own = !line.date.is_empty() && !line.time.is_empty();
        let (date, time) = if own { (&line.date, &line.time) } else { (&deal.date, &deal.time) };
        // A date may carry an offset of its own, which says no more than that of the time.
        let day = date.get(..10).unwrap_or(date);
        let text = format!("{day}T{time}");
        let Some(at) = self.hand.time(&text) else {
            let what = say!(
                "read {quoted} as a date and a time; expected such as 2026-04-10 and 18:01:00",
                quoted = quoted(&text)
            );
            return Err(self.hand.refuse_at(&place_of(deal), what));
        };
        self.hand.check_time(at, &|| place_of(deal))?;
        Ok(at)
    }
}

/// Where a transaction stands.
fn place_of(deal: &Deal) -> String {
    say!("line {place}", place = deal.place)
}
