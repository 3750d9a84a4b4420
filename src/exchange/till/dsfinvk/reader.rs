//! Receipts as they are put together from three tables, and handed on line by line.

use super::follow::{self, Follower, Seen, told};
use super::known::{Known, closing_in, too_much, whole_number};
use super::receipt::{self, Head, Is, Line, Part, Sum, Type};
use super::table::Table;
use super::{RECEIPTS, RECEIPTS_AT_MOST};
use crate::domain::measure::Money;
use crate::domain::till::Skip;
use crate::domain::venue::Moment;
use crate::exchange::ReadError;
use crate::exchange::plain::tamed;
use crate::exchange::stream::quoted;
use crate::exchange::till::hand::{self, Hand};
use crate::exchange::till::{Rung, Taker};
use std::collections::{BTreeMap, HashMap};

/// Lines without a number of their own are numbered from here, after any that have one.
const UNNUMBERED: i64 = 1_000_000_000;
/// A register's name, a receipt's number: no longer than this, twice what the export's description allows.
const LONGEST: usize = 120;

pub(super) struct Reader<'t, T: Taker> {
    pub(super) heads: Follower<Head>,
    pub(super) parts: Follower<Part>,
    pub(super) seen: Seen,
    pub(super) known: Known,
    pub(super) hand: Hand<'t, T>,
}

impl<T: Taker> Reader<'_, T> {
    /// A receipt begins in the lines.
    pub(super) fn begin(&mut self, of: &[u8], lines: &mut Table) -> Result<(), ReadError> {
        whole_number(lines)?;
        if lines.raw(3).is_empty() {
            return Err(lines.fail(word!("this line belongs to no receipt (BON_ID is empty); export it again")));
        }
        if of.split(|byte| *byte == 0).any(|part| part.len() > LONGEST) {
            return Err(lines.fail(say!("a register or receipt has a name of more than {LONGEST} letters", LONGEST)));
        }
        if !self.seen.insert(of) {
            let words =
                word!("its lines stand in two places of the file, or it was exported twice; have it exported again");
            return Err(lines.fail(say!("{told} stands here again: {words}", told = told(of), words)));
        }
        if self.seen.len() > RECEIPTS_AT_MOST {
            return Err(too_much(lines));
        }
        Ok(())
    }

    /// A receipt with all its lines.
    pub(super) fn receipt(&mut self, of: &[u8], lines: &[Line]) -> Result<(), T::Error> {
        self.hand.pace()?;
        let mut heads = self.heads.of(of, &self.seen)?;
        let parts = self.parts.of(of, &self.seen)?;
        let name = || told(of);
        if let Some(second) = heads.get(1) {
            let what = say!("{told} has a second head; export it again", told = told(of));
            return Err(self.hand.refuse_at(&place_of(second), what).into());
        }
        let Some(head) = heads.pop() else {
            for _ in lines {
                self.hand.note(word!("Lines whose receipt is not in transactions.csv, left out"), &name);
                self.hand.skip(Skip::Unknown);
            }
            return Ok(());
        };
        let rung = match Type::of(&head.kind) {
            Type::Counted(rung) => rung,
            Type::Not(why) => {
                for _ in lines {
                    if why == Skip::LeftUnsold {
                        let what = say!(
                            "Lines of goods that left without a sale (receipts of type {kind}), which may be losses or \
                             transfers to write down",
                            kind = quoted(&head.kind)
                        );
                        self.hand.note(&what, &name);
                    }
                    self.hand.skip(why);
                }
                return Ok(());
            }
            Type::Unknown => {
                let what = say!(
                    "Lines of receipts of type {kind}, which is not known here, left out",
                    kind = quoted(&head.kind)
                );
                for _ in lines {
                    self.hand.note(&what, &name);
                    self.hand.skip(Skip::Unknown);
                }
                return Ok(());
            }
        };
        let at = self.time(of, &head)?;
        let closing = closing_in(of);
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
                    let what =
                        say!("Lines of kind {kind}, which is not known here, left out", kind = quoted(&line.kind));
                    self.hand.note(&what, &name);
                    self.hand.skip(Skip::Unknown);
                    continue;
                }
                Is::NoQuantity => {
                    self.hand.note(word!("Lines that do not say how many (MENGE is empty), left out"), &name);
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
                timed: true,
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
            let what = say!(
                "read {quoted} as the time of {told}; expected one such as 2026-03-06T18:04:40",
                quoted = quoted(&text),
                told = told(of)
            );
            return Err(self.hand.refuse_at(&place_of(head), what));
        };
        if head.at.is_empty() {
            self.hand.note(word!("Receipts without a time, taken to be of the time of their closing"), &|| told(of));
        }
        self.hand.check_time(at, &|| place_of(head))?;
        Ok(at)
    }

    /// Notes a printed total that is not the sum of the lines, where there is one to compare with.
    fn check_total(&mut self, of: &[u8], head: &Head, lines: &[Line], judged: &[Is], sums: &BTreeMap<&str, Sum>) {
        let all_void = judged.iter().all(|is| *is == Is::Not(Skip::Voided));
        let Some(printed) = receipt::printed(head).filter(|_| !all_void && head.kind == "Beleg") else { return };
        let of_line = |line: &Line| sums.get(line.number.as_str()).map_or(Some(0), |sum| sum.gross);
        let sum: Option<i128> = lines.iter().filter(|line| !line.voided).map(of_line).sum();
        let cent = 10_i128.pow(hand::PLACES - 2);
        if sum.is_some_and(|sum| (sum - printed).abs() > cent) {
            self.hand.note(word!("Receipts whose printed total is not the sum of their lines"), &|| told(of));
        }
        if lines.iter().filter(|line| sums.contains_key(line.number.as_str())).count() < sums.len() {
            self.hand
                .note(word!("Receipts with amounts in lines_vat.csv that belong to none of their lines"), &|| told(of));
        }
    }

    fn net(&mut self, of: &[u8], line: &Line, head: &Head, sum: Option<&Sum>) -> Result<Money, ReadError> {
        let Some(sum) = sum else {
            self.hand.note(word!("Lines without an amount in lines_vat.csv, taken to have cost nothing"), &|| told(of));
            return Ok(Money::ZERO);
        };
        sum.net.and_then(|net| hand::coins(net, self.hand.terms.currency)).ok_or_else(|| {
            let what = say!("nothing says what line {number} of {told} came to without tax: lines_vat.csv has neither POS_NETTO nor POS_UST, and \
                 vat.csv no rate for it", number = quoted(&line.number), told = told(of));
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
                    let what = say!(
                        "line {other} of {told} stands in lines.csv twice; export it again",
                        other = quoted(other),
                        told = told(of)
                    );
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
    say!("{what} line {place}", what = RECEIPTS.0, place = head.place)
}

/// What makes the receipt one of its kind: register, number and date of the closing, number of the receipt.
fn receipt_key(of: &[u8]) -> String {
    let [register, made, closing, number] = follow::parts(of);
    let date: String = made.chars().take(10).collect();
    tamed(&format!("{register} {closing} {date} {number}"))
}
