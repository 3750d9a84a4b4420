//! DSFinV-K: the export of German tills, versions 2.0 to 2.4, as a zip archive or a folder.
//!
//! An export is some twenty tables that `index.xml` describes; it is obeyed, not the norm, because exporters differ from
//! the norm and say so there. `lines.csv` is read receipt by receipt; the receipts' heads and the lines' amounts are read
//! beside it, and what comes before it is wanted is kept, up to a bound. Tables in another order than that are refused,
//! never joined wrongly. What a line is, [`receipt`] says.

mod coding;
mod follow;
pub(in crate::exchange) mod index;
mod receipt;
mod table;

use super::hand::{self, Hand};
use super::{Passed, Rung, Skip, Taker, Terms};
use crate::domain::measure::Money;
use crate::domain::venue::Moment;
use crate::exchange::ReadError;
use crate::exchange::archive::{Bundle, Entry};
use crate::exchange::plain::tamed;
use crate::exchange::stream::quoted;
use chrono::NaiveDate;
use follow::{Follower, Key, RECEIPT, RECEIPT_BYTES, Seen, TOO_LONG, key, told};
use index::{Index, Sheet};
use receipt::{AMOUNT_COLUMNS, HEAD_COLUMNS, Head, Is, LINE_COLUMNS, Line, Part, Rates, Sum, Type};
use std::collections::{HashMap, HashSet};
use std::path::Path;
use table::Table;

/// Tables by their file and their German name.
pub(in crate::exchange) const LINES: (&str, &str) = ("lines.csv", "Bonpos");
pub(in crate::exchange) const RECEIPTS: (&str, &str) = ("transactions.csv", "Bonkopf");
const AMOUNTS: (&str, &str) = ("lines_vat.csv", "Bonpos_USt");
const REFERENCES: (&str, &str) = ("references.csv", "Bon_Referenzen");
const PARTS: (&str, &str) = ("subitems.csv", "Bonpos_Zusatzinfo");
const CLOSINGS: (&str, &str) = ("cashpointclosing.csv", "Stamm_Abschluss");
const REGISTERS: (&str, &str) = ("cashregister.csv", "Stamm_Kassen");
const RATES: (&str, &str) = ("vat.csv", "Stamm_USt");

/// Receipts that one export may have: each takes some bytes of memory.
const RECEIPTS_AT_MOST: usize = 3_500_000;
/// Closings, and rates of them.
const CLOSINGS_AT_MOST: usize = 300_000;
/// Lines without a number of their own are numbered from here, after any that have one.
const UNNUMBERED: i64 = 1_000_000_000;
/// A register's name, a receipt's number: no longer than this, twice what the export's description allows.
const LONGEST: usize = 120;

/// Reads an export.
///
/// # Errors
/// [`ReadError`] as `T::Error`, and whatever ends the reading.
pub fn read<T: Taker>(path: &Path, terms: &Terms, taker: &mut T) -> Result<Passed, T::Error> {
    let bundle = index::open(path)?;
    let Some(entry) = index::find(&bundle) else {
        let what = "there is no index.xml in it, which says how its tables are written; choose the whole export";
        return Err(ReadError::new(path, what).into());
    };
    let index = Index::read(&bundle, entry, &Default::default())?;
    let export = Export { bundle: &bundle, index };
    let tables = [LINES, RECEIPTS, AMOUNTS, REFERENCES, PARTS, CLOSINGS, REGISTERS, RATES];
    let sizes = tables.iter().filter_map(|table| export.find(*table)).map(|(_, entry)| entry.size);
    let mut hand = Hand::new(path, terms, sizes.sum(), taker);
    let known = Known::read(&export, &mut hand)?;
    let mut lines = export.needed(LINES, LINE_COLUMNS, 9, &hand)?;
    let mut reader = Reader {
        heads: Follower::new(export.needed(RECEIPTS, HEAD_COLUMNS, 7, &hand)?),
        parts: Follower::new(export.needed(AMOUNTS, AMOUNT_COLUMNS, 5, &hand)?),
        seen: Seen::default(),
        known,
        hand,
    };
    let (mut of, mut next) = (Key::new(), Key::new());
    let mut receipt: Vec<Line> = Vec::new();
    let mut weight = 0;
    while lines.advance()? {
        key(&lines, &mut next);
        if next != of {
            if !receipt.is_empty() {
                reader.receipt(&of, &receipt)?;
                receipt.clear();
            }
            weight = 0;
            std::mem::swap(&mut of, &mut next);
            reader.begin(&of, &mut lines)?;
        }
        let line = Line::read(&mut lines, receipt.len() as u64 + 1)?;
        weight += line.weight();
        if receipt.len() >= RECEIPT || weight > RECEIPT_BYTES {
            return Err(lines.fail(TOO_LONG).into());
        }
        receipt.push(line);
    }
    if !receipt.is_empty() {
        reader.receipt(&of, &receipt)?;
    }
    let Reader { heads, parts, seen, mut hand, .. } = reader;
    heads.rest(&seen)?;
    hand.pace()?;
    if let (left, Some(first)) = parts.rest(&seen)? {
        hand.passed.warn(format!(
            "lines_vat.csv has amounts of {left} receipts that have no line in lines.csv, the first {}",
            told(&first)
        ));
    }
    export.count_parts(&mut hand)?;
    hand.done()
}

struct Export<'b> {
    bundle: &'b Bundle,
    index: Index,
}

impl Export<'_> {
    fn find(&self, (file, name): (&str, &str)) -> Option<(Sheet, &Entry)> {
        self.index.sheet(self.bundle, file, name)
    }

    /// Opens a table, if it is there.
    fn table<T: Taker>(
        &self,
        table: (&str, &str),
        columns: &'static [&'static str],
        needed: usize,
        hand: &Hand<'_, T>,
    ) -> Result<Option<Table>, ReadError> {
        let Some((sheet, entry)) = self.find(table) else { return Ok(None) };
        Table::open(self.bundle, &sheet, entry, columns, needed, &hand.passage).map(Some)
    }

    /// Opens a table without which nothing can be told.
    fn needed<T: Taker>(
        &self,
        table: (&str, &str),
        columns: &'static [&'static str],
        needed: usize,
        hand: &Hand<'_, T>,
    ) -> Result<Table, ReadError> {
        self.table(table, columns, needed, hand)?.ok_or_else(|| {
            let words = "without it nobody can tell what was sold; have the till export all tables";
            hand.refuse(format!("the table {} ({}) is missing; {words}", table.0, table.1))
        })
    }

    /// Counts what lines were made of: the lines themselves say what was sold.
    fn count_parts<T: Taker>(&self, hand: &mut Hand<'_, T>) -> Result<(), T::Error> {
        let columns = &["Z_KASSE_ID", "Z_ERSTELLUNG", "Z_NR", "BON_ID", "ZI_NAME"];
        let Some(mut parts) = self.table(PARTS, columns, 0, hand)? else { return Ok(()) };
        while parts.advance()? {
            if !hand.passed.skipped.contains_key(&Skip::Part) {
                let name = quoted(&parts.text(4)?);
                hand.passed.warn(format!(
                    "Some lines say what they are made of ({name} is the first part); the line is taken, not its parts, so \
                     its name needs a drink with all of them"
                ));
            }
            hand.skip(Skip::Part);
            hand.pace()?;
        }
        Ok(())
    }
}

/// What is known before the first line.
struct Known {
    /// Business days by closing.
    days: HashMap<u64, Option<NaiveDate>>,
    rates: Rates,
    /// Receipts that refer to another one.
    referring: Seen,
}

impl Known {
    fn read<T: Taker>(export: &Export<'_>, hand: &mut Hand<'_, T>) -> Result<Known, T::Error> {
        let mut known = Known { days: HashMap::new(), rates: Rates::new(), referring: Seen::default() };
        let columns = &["Z_KASSE_ID", "Z_ERSTELLUNG", "Z_NR", "Z_BUCHUNGSTAG", "NAME"];
        if let Some(mut table) = export.table(CLOSINGS, columns, 3, hand)? {
            while table.advance()? {
                whole_number(&mut table)?;
                let text = table.text(3)?;
                let day = match text.is_empty() {
                    true => None,
                    false => Some(hand::date(&text).ok_or_else(|| {
                        table.fail(format!(
                            "read {} as the business day; expected a date such as 2026-03-06",
                            quoted(&text)
                        ))
                    })?),
                };
                if known.days.insert(closing_of(&table), day).is_some() {
                    return Err(table.fail("this closing stands here a second time").into());
                }
                if hand.passed.from.is_none() {
                    hand.passed.from = hand.some(&table.text(4)?);
                }
                if known.days.len() > CLOSINGS_AT_MOST {
                    return Err(too_much(&table).into());
                }
                hand.pace()?;
            }
        }
        let mut coins: HashSet<String> = HashSet::new();
        let columns = &["Z_KASSE_ID", "Z_ERSTELLUNG", "Z_NR", "KASSE_BASISWAEH_CODE"];
        if let Some(mut table) = export.table(REGISTERS, columns, 0, hand)? {
            while table.advance()? {
                let coin = table.text(3)?;
                if !coin.is_empty() {
                    hand::same_coin(&hand.terms, &coin).map_err(|what| table.fail(what))?;
                    coins.insert(coin.into_owned());
                }
                hand.pace()?;
            }
        }
        if coins.is_empty() {
            // The export is that of a law of the euro zone.
            hand::same_coin(&hand.terms, "EUR").map_err(|what| hand.refuse(what))?;
        }
        let columns = &["Z_KASSE_ID", "Z_ERSTELLUNG", "Z_NR", "UST_SCHLUESSEL", "UST_SATZ"];
        if let Some(mut table) = export.table(RATES, columns, 5, hand)? {
            while table.advance()? {
                if let Some(rate) = table.number(4, 4)? {
                    let key = follow::print(table.text(3)?.as_bytes());
                    known.rates.insert((closing_of(&table), key), rate);
                }
                if known.rates.len() > CLOSINGS_AT_MOST {
                    return Err(too_much(&table).into());
                }
                hand.pace()?;
            }
        }
        let columns = &["Z_KASSE_ID", "Z_ERSTELLUNG", "Z_NR", "BON_ID", "REF_TYP"];
        if let Some(mut table) = export.table(REFERENCES, columns, 5, hand)? {
            let mut of = Key::new();
            while table.advance()? {
                if table.raw(4).eq_ignore_ascii_case(b"Transaktion") {
                    key(&table, &mut of);
                    known.referring.insert(&of);
                }
                if known.referring.len() > RECEIPTS_AT_MOST {
                    return Err(too_much(&table).into());
                }
                hand.pace()?;
            }
        }
        Ok(known)
    }
}

fn too_much(table: &Table) -> ReadError {
    table.fail("there is too much in this export to keep in mind; have the till export fewer days at a time")
}

/// The closing of the row at hand, as 64 bits.
fn closing_of(table: &Table) -> u64 {
    let mut of = Key::new();
    key(table, &mut of);
    closing_in(&of, table.raw(3).len())
}

/// The closing in a key whose last part is so long.
fn closing_in(of: &[u8], number: usize) -> u64 {
    follow::print(&of[..of.len() - number])
}

/// The number of a closing counts up from the first.
fn whole_number(table: &mut Table) -> Result<(), ReadError> {
    match table.number(2, 3)? {
        Some(number) if number >= 0 && number % 1_000 == 0 => Ok(()),
        _ => {
            let cell = quoted(&String::from_utf8_lossy(table.raw(2)));
            Err(table.fail(format!("read {cell} as the number of a closing (Z_NR); expected a whole number from 0")))
        }
    }
}

struct Reader<'t, T: Taker> {
    heads: Follower<Head>,
    parts: Follower<Part>,
    seen: Seen,
    known: Known,
    hand: Hand<'t, T>,
}

impl<T: Taker> Reader<'_, T> {
    /// A receipt begins in the lines.
    fn begin(&mut self, of: &[u8], lines: &mut Table) -> Result<(), ReadError> {
        whole_number(lines)?;
        if lines.raw(3).is_empty() {
            return Err(lines.fail("this line belongs to no receipt (BON_ID is empty); export it again"));
        }
        if of.split(|byte| *byte == 0).any(|part| part.len() > LONGEST) {
            return Err(lines.fail(format!("a register or receipt has a name of more than {LONGEST} letters")));
        }
        if !self.seen.insert(of) {
            let words = "its lines stand in two places of the file, or it was exported twice; have it exported again";
            return Err(lines.fail(format!("{} stands here again: {words}", told(of))));
        }
        if self.seen.len() > RECEIPTS_AT_MOST {
            return Err(too_much(lines));
        }
        Ok(())
    }

    /// A receipt with all its lines.
    fn receipt(&mut self, of: &[u8], lines: &[Line]) -> Result<(), T::Error> {
        self.hand.pace()?;
        let mut heads = self.heads.of(of, &self.seen)?;
        let parts = self.parts.of(of, &self.seen)?;
        let name = || told(of);
        if let Some(second) = heads.get(1) {
            let what = format!("{} has a second head; export it again", told(of));
            return Err(self.hand.refuse_at(&place_of(second), what).into());
        }
        let Some(head) = heads.pop() else {
            for _ in lines {
                self.hand.note("Lines whose receipt is not in transactions.csv, left out", &name);
                self.hand.skip(Skip::Unknown);
            }
            return Ok(());
        };
        let rung = match Type::of(&head.kind) {
            Type::Counted(rung) => rung,
            Type::Not(why) => {
                for _ in lines {
                    if why == Skip::LeftUnsold {
                        let what = format!(
                            "Lines of goods that left without a sale (receipts of type {}), which may be losses or \
                             transfers to write down",
                            quoted(&head.kind)
                        );
                        self.hand.note(&what, &name);
                    }
                    self.hand.skip(why);
                }
                return Ok(());
            }
            Type::Unknown => {
                let what =
                    format!("Lines of receipts of type {}, which is not known here, left out", quoted(&head.kind));
                for _ in lines {
                    self.hand.note(&what, &name);
                    self.hand.skip(Skip::Unknown);
                }
                return Ok(());
            }
        };
        let at = self.time(of, &head)?;
        let number = of.rsplit(|byte| *byte == 0).next().map_or(0, <[u8]>::len);
        let closing = closing_in(of, number);
        let day = self.known.days.get(&closing).copied().flatten();
        let rates = &self.known.rates;
        let sums = receipt::sums(&parts, |rate| rates.get(&(closing, follow::print(rate.as_bytes()))).copied());
        let judged = receipt::judge(rung, &head, self.known.referring.has(of), lines);
        self.check_total(of, &head, lines, &judged, &sums);
        let receipt = receipt_key(of);
        let mut numbers = HashMap::with_capacity(lines.len());
        for (line, is) in lines.iter().zip(judged) {
            let line_number = self.line_number(of, &head, line, &mut numbers)?;
            let (kind, money) = match is {
                Is::Goods(kind) => (kind, false),
                Is::Money(kind) => (kind, true),
                Is::Not(why) => {
                    self.hand.skip(why);
                    continue;
                }
                Is::UnknownKind => {
                    let what = format!("Lines of kind {}, which is not known here, left out", quoted(&line.kind));
                    self.hand.note(&what, &name);
                    self.hand.skip(Skip::Unknown);
                    continue;
                }
                Is::NoQuantity => {
                    self.hand.note("Lines that do not say how many (MENGE is empty), left out", &name);
                    self.hand.skip(Skip::Unknown);
                    continue;
                }
            };
            let net = self.net(of, line, &head, sums.get(line.number.as_str()))?;
            let quantity = if money { 0 } else { line.quantity.unwrap_or_default() };
            if quantity == 0 && net == Money::ZERO {
                self.hand.skip(Skip::Blank);
                continue;
            }
            let mut sold_as = self.hand.name_of(&[&line.name, &line.code]);
            if !money && !receipt::is_piece(&line.unit) {
                sold_as = tamed(&format!("{sold_as} [{}]", line.unit));
            }
            let rung = Rung {
                receipt: receipt.clone(),
                line: line_number,
                at,
                sold_as,
                code: self.hand.some(&line.code),
                quantity,
                net,
                kind,
                goods: quantity != 0,
                total: false,
            };
            self.hand.give(rung, day)?;
        }
        Ok(())
    }

    fn time(&mut self, of: &[u8], head: &Head) -> Result<Moment, ReadError> {
        let closed = || {
            let part = of.split(|byte| *byte == 0).nth(1).unwrap_or_default();
            String::from_utf8_lossy(part).into_owned()
        };
        let text = if head.at.is_empty() { closed() } else { head.at.clone() };
        let Some(at) = self.hand.time(&text) else {
            let what =
                format!("read {} as the time of {}; expected one such as 2026-03-06T18:04:40", quoted(&text), told(of));
            return Err(self.hand.refuse_at(&place_of(head), what));
        };
        if head.at.is_empty() {
            self.hand.note("Receipts without a time, taken to be of the time of their closing", &|| told(of));
        }
        self.hand.check_time(at, &|| place_of(head))?;
        Ok(at)
    }

    /// Notes a printed total that is not the sum of the lines, where there is one to compare with.
    fn check_total(
        &mut self,
        of: &[u8],
        head: &Head,
        lines: &[Line],
        judged: &[Is],
        sums: &std::collections::BTreeMap<&str, Sum>,
    ) {
        let all_void = judged.iter().all(|is| *is == Is::Not(Skip::Voided));
        let Some(printed) = receipt::printed(head).filter(|_| !all_void && head.kind == "Beleg") else { return };
        let of_line = |line: &Line| sums.get(line.number.as_str()).map_or(Some(0), |sum| sum.gross);
        let sum: Option<i128> = lines.iter().filter(|line| !line.voided).map(of_line).sum();
        let cent = 10_i128.pow(hand::PLACES - 2);
        if sum.is_some_and(|sum| (sum - printed).abs() > cent) {
            self.hand.note("Receipts whose printed total is not the sum of their lines", &|| told(of));
        }
        if lines.iter().filter(|line| sums.contains_key(line.number.as_str())).count() < sums.len() {
            self.hand.note("Receipts with amounts in lines_vat.csv that belong to none of their lines", &|| told(of));
        }
    }

    fn net(&mut self, of: &[u8], line: &Line, head: &Head, sum: Option<&Sum>) -> Result<Money, ReadError> {
        let Some(sum) = sum else {
            self.hand.note("Lines without an amount in lines_vat.csv, taken to have cost nothing", &|| told(of));
            return Ok(Money::ZERO);
        };
        sum.net.and_then(|net| hand::coins(net, self.hand.terms.currency)).ok_or_else(|| {
            let what = format!(
                "nothing says what line {} of {} came to without tax: lines_vat.csv has neither POS_NETTO nor POS_UST, and \
                 vat.csv no rate for it",
                quoted(&line.number),
                told(of)
            );
            self.hand.refuse_at(&place_of(head), what)
        })
    }

    /// The number of a line: its own where it is one, else its place in the receipt, after all numbers.
    fn line_number<'l>(
        &self,
        of: &[u8],
        head: &Head,
        line: &'l Line,
        numbers: &mut HashMap<i64, &'l str>,
    ) -> Result<i64, ReadError> {
        let own = line.number.parse::<i64>().ok().filter(|number| (0..UNNUMBERED).contains(number));
        if let Some(number) = own {
            match numbers.get(&number) {
                None => {
                    numbers.insert(number, &line.number);
                    return Ok(number);
                }
                Some(other) if *other == line.number => {
                    let what =
                        format!("line {} of {} stands in lines.csv twice; export it again", quoted(other), told(of));
                    return Err(self.hand.refuse_at(&place_of(head), what));
                }
                Some(_) => {}
            }
        }
        Ok(UNNUMBERED + i64::try_from(line.place).unwrap_or_default())
    }
}

/// Where a head stands.
fn place_of(head: &Head) -> String {
    format!("{} line {}", RECEIPTS.0, head.place)
}

/// What makes the receipt one of its kind: register, number and date of the closing, number of the receipt.
fn receipt_key(of: &[u8]) -> String {
    let [register, made, closing, number] = follow::parts(of);
    let date: String = made.chars().take(10).collect();
    tamed(&format!("{register} {closing} {date} {number}"))
}
