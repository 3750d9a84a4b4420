//! What makes a line the same in every file that holds it: its receipt and its place in it, or its time and name, or the
//! day that it sums up. Memory is bounded by the days that are open at a time.

use super::row::Sold;
use crate::domain::measure::Money;
use crate::domain::venue::{Moment, SaleKind};
use crate::exchange::till::Rung;
use chrono::NaiveDate;
use std::collections::hash_map::DefaultHasher;
use std::collections::{BTreeMap, HashMap, HashSet};
use std::hash::{Hash, Hasher};
use std::rc::Rc;

/// Receipts and names that are remembered, over all days; past it, the days touched longest ago are closed.
const MOST: usize = 200_000;
/// The most of one day; no bar sells so much.
const MOST_OF_DAY: usize = 1_000_000;
/// The most figures of days in one file: five years of 500 names.
const MOST_TOTALS: usize = 1_000_000;

/// What went on in a day.
#[derive(Debug, Default)]
struct Open {
    /// How many lines a receipt, or a time and name, has so far.
    lines: HashMap<u64, u32>,
    /// What is left of what a receipt sold of a name, to be taken back.
    left: HashMap<u64, i64>,
    touched: u64,
}

/// Gives lines their keys.
#[derive(Debug, Default)]
pub(super) struct Keys {
    open: BTreeMap<NaiveDate, Open>,
    closed: HashSet<NaiveDate>,
    size: usize,
    clock: u64,
    /// The day at hand as it is written.
    day: Option<(NaiveDate, String)>,
}

fn hashed(parts: impl Hash) -> u64 {
    let mut hasher = DefaultHasher::new();
    parts.hash(&mut hasher);
    hasher.finish()
}

impl Keys {
    /// A line of a receipt, or of no receipt.
    ///
    /// # Errors
    /// What is wrong, in words, where a line comes long after the others of its day.
    pub(super) fn line(&mut self, sold: Sold) -> Result<Rung, String> {
        self.clock += 1;
        let clock = self.clock;
        if self.closed.contains(&sold.day) {
            return Err("this day comes back after too many others; expected the rows in the order of their days: sort the table and export it again".to_owned());
        }
        let day = match &self.day {
            Some((day, written)) if *day == sold.day => written,
            _ => &self.day.insert((sold.day, sold.day.to_string())).1,
        };
        let open = self.open.entry(sold.day).or_default();
        open.touched = clock;
        let before = open.lines.len() + open.left.len();
        let name: &str = &sold.name;
        let receipt = match &sold.receipt {
            Some(receipt) => [day, receipt.as_str()].join(" "),
            None if sold.timed => format!("{} {name}", stamp(sold.at)),
            None => [day, name].join(" "),
        };
        let line = match sold.line.filter(|_| sold.receipt.is_some()) {
            Some(line) => line,
            None => {
                let seen = open.lines.entry(hashed(&receipt)).or_default();
                *seen += 1;
                i64::from(*seen)
            }
        };
        let kind = match (sold.kind, sold.quantity) {
            (Some(kind), _) => kind,
            (None, 0..) => SaleKind::Sale,
            (None, back) => match open.left.get_mut(&hashed((&receipt, name))) {
                Some(left) if *left >= -back => {
                    *left += back;
                    SaleKind::Void
                }
                _ => SaleKind::Return,
            },
        };
        if kind == SaleKind::Sale && sold.quantity > 0 && sold.receipt.is_some() {
            *open.left.entry(hashed((&receipt, name))).or_default() += sold.quantity;
        }
        let now = open.lines.len() + open.left.len();
        if now > MOST_OF_DAY {
            return Err(format!(
                "more than {MOST_OF_DAY} receipts and names stand on one day; expected the sales of a bar"
            ));
        }
        self.size += now - before;
        if self.size > MOST {
            self.close();
        }
        Ok(Rung {
            receipt,
            line,
            at: sold.at,
            sold_as: name.to_owned(),
            code: sold.code,
            quantity: sold.quantity,
            net: sold.net,
            kind,
            goods: sold.goods,
            total: false,
        })
    }

    /// Closes the days that were touched longest ago, all but the one at hand.
    fn close(&mut self) {
        while self.size > MOST / 2 && self.open.len() > 1 {
            let Some((day, _)) = self.open.iter().min_by_key(|(_, open)| open.touched) else { return };
            let day = *day;
            if let Some(open) = self.open.remove(&day) {
                self.size -= open.lines.len() + open.left.len();
            }
            self.closed.insert(day);
        }
    }
}

/// A moment in UTC, so that no later change of the venue's zone gives a line another key.
fn stamp(at: Moment) -> String {
    at.to_utc().map_or_else(|| at.0.to_string(), |utc| utc.format("%Y-%m-%dT%H:%M:%SZ").to_string())
}

/// The figures of days, summed by name and article number until the file ends.
#[derive(Debug, Default)]
pub(super) struct Totals {
    names: HashMap<(Rc<str>, Option<String>), u32>,
    list: Vec<(Rc<str>, Option<String>)>,
    sums: BTreeMap<(NaiveDate, u32, Option<SaleKind>), Summed>,
}

/// How many, for how much, and when a day's figure stands.
type Summed = (i64, Money, Moment);

impl Totals {
    /// Adds a row.
    ///
    /// # Errors
    /// What is wrong, in words, where there are too many.
    pub(super) fn add(&mut self, sold: Sold) -> Result<(), String> {
        let next = self.list.len() as u32;
        let number = *self.names.entry((Rc::clone(&sold.name), sold.code.clone())).or_insert(next);
        if number == next {
            self.list.push((sold.name, sold.code));
        }
        let kind = sold.kind.filter(|kind| *kind != SaleKind::Sale);
        let sum = self.sums.entry((sold.day, number, kind)).or_insert((0, Money::ZERO, sold.at));
        sum.0 = sum.0.saturating_add(sold.quantity);
        sum.1 += sold.net;
        if self.sums.len() > MOST_TOTALS {
            return Err(format!(
                "more than {MOST_TOTALS} figures of days; expected sums of a day for each name: are these lines of receipts?"
            ));
        }
        Ok(())
    }

    /// None at all.
    pub(super) fn is_empty(&self) -> bool {
        self.sums.is_empty()
    }

    /// The figures, day by day. Each is a receipt of its own: a later file may know it better, and it alone.
    pub(super) fn into_rungs(self) -> impl Iterator<Item = Rung> {
        let list = self.list;
        self.sums.into_iter().filter_map(move |((day, number, said), (quantity, net, at))| {
            let (name, code) = list.get(number as usize)?;
            let kind = said.unwrap_or(if quantity < 0 { SaleKind::Return } else { SaleKind::Sale });
            let mut receipt = format!("day {day} {name}");
            if let Some(code) = code {
                receipt = format!("{receipt} #{code}");
            }
            if let Some(kind) = said {
                receipt = format!("{} {receipt}", kind.word());
            }
            Some(Rung {
                receipt,
                line: 1,
                at,
                sold_as: name.to_string(),
                code: code.clone(),
                quantity,
                net,
                kind,
                goods: quantity != 0,
                total: true,
            })
        })
    }
}
