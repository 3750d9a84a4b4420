//! What makes a line the same in every file that holds it: its receipt and its place in it, or its time and name, or the
//! day that it sums up, each with its register where the table says one. Memory is bounded by the days that are open at a
//! time.

use super::row::Sold;
use super::when::Written;
use crate::domain::measure::Money;
use crate::domain::venue::{Moment, SaleKind};
use crate::exchange::till::Rung;
use chrono::{NaiveDate, NaiveDateTime};
use std::borrow::Cow;
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
    /// How many lines a receipt, or a time and name, has so far; by the day that the lines themselves say.
    lines: HashMap<u64, u32>,
    /// What is left of what a receipt sold of a name, to be taken back; by business day, as a receipt may be open over
    /// midnight.
    left: HashMap<u64, i64>,
    touched: u64,
}

impl Open {
    fn size(&self) -> usize {
        self.lines.len() + self.left.len()
    }
}

/// Gives lines their keys.
#[derive(Debug, Default)]
pub(super) struct Keys {
    open: BTreeMap<NaiveDate, Open>,
    closed: HashSet<NaiveDate>,
    size: usize,
    clock: u64,
    /// The day at hand as it is written into keys.
    day: Option<(Written, String)>,
}

fn hashed(parts: impl Hash) -> u64 {
    let mut hasher = DefaultHasher::new();
    parts.hash(&mut hasher);
    hasher.finish()
}

/// A register as it stands behind a day or a time: whatever it is called, the first blank ends it.
fn register(name: Option<&str>) -> Cow<'_, str> {
    match name {
        None => Cow::Borrowed(""),
        Some(name) => Cow::Owned(format!("/{}", name.replace('%', "%25").replace(' ', "%20"))),
    }
}

impl Keys {
    /// A line of a receipt, or of no receipt.
    ///
    /// # Errors
    /// What is wrong, in words, where a line comes long after the others of its day.
    pub(super) fn line(&mut self, sold: Sold) -> Result<Rung, String> {
        self.clock += 1;
        let day = match &self.day {
            Some((day, written)) if *day == sold.written => written,
            _ => &self.day.insert((sold.written, prefix(sold.written))).1,
        };
        let name: &str = &sold.name;
        let key: &str = &sold.key;
        let of = register(sold.register.as_deref());
        let receipt = match &sold.receipt {
            Some(receipt) => format!("{day}{of} {receipt}"),
            None if sold.timed => format!("{}{of} {key}", stamp(sold.at, sold.clock)),
            None => format!("{day}{of} {key}"),
        };
        let line = match sold.line.filter(|_| sold.receipt.is_some()) {
            Some(line) => line,
            None => {
                let seen = self.of_day(sold.written.date, |open| {
                    let seen = open.lines.entry(hashed(&receipt)).or_default();
                    *seen += 1;
                    *seen
                })?;
                i64::from(seen)
            }
        };
        let on_it = hashed((&sold.register, &sold.receipt, key));
        let kind = match (sold.kind, sold.quantity) {
            (Some(kind), _) => kind,
            (None, 0..) => SaleKind::Sale,
            (None, back) => self.of_day(sold.day, |open| match open.left.get_mut(&on_it) {
                Some(left) if *left >= -back => {
                    *left += back;
                    SaleKind::Void
                }
                _ => SaleKind::Return,
            })?,
        };
        if kind == SaleKind::Sale && sold.quantity > 0 && sold.receipt.is_some() {
            self.of_day(sold.day, |open| *open.left.entry(on_it).or_default() += sold.quantity)?;
        }
        if self.size > MOST {
            self.close();
        }
        Ok(Rung {
            receipt,
            line,
            at: sold.at,
            timed: sold.timed,
            sold_as: name.to_owned(),
            code: sold.code,
            quantity: sold.quantity,
            net: sold.net,
            kind,
            goods: sold.goods,
            total: false,
        })
    }

    /// Does something to what is known of a day, and sees to its bounds.
    fn of_day<T>(&mut self, day: NaiveDate, to: impl FnOnce(&mut Open) -> T) -> Result<T, String> {
        if self.closed.contains(&day) {
            return Err(word!("this day comes back after too many others; expected the rows in the order of their days: sort the table and export it again").to_owned());
        }
        let open = self.open.entry(day).or_default();
        open.touched = self.clock;
        let before = open.size();
        let done = to(open);
        let now = open.size();
        if now > MOST_OF_DAY {
            return Err(say!(
                "more than {MOST_OF_DAY} receipts and names stand on one day; expected the sales of a bar",
                MOST_OF_DAY
            ));
        }
        self.size += now - before;
        Ok(done)
    }

    /// Closes the days that were touched longest ago, all but those of the line at hand: its date and its business day.
    fn close(&mut self) {
        while self.size > MOST / 2 && self.open.len() > 2 {
            let Some((day, _)) = self.open.iter().min_by_key(|(_, open)| open.touched) else { return };
            let day = *day;
            if let Some(open) = self.open.remove(&day) {
                self.size -= open.size();
            }
            self.closed.insert(day);
        }
    }
}

/// A day as it is written into keys.
fn prefix(day: Written) -> String {
    let early = if day.early { "-early" } else { "" };
    format!("{}{early}", day.date)
}

/// A time as the clock of the till shows it, or in UTC where the file says what that is: no later change of the venue's zone
/// gives a line another key.
fn stamp(at: Moment, clock: Option<NaiveDateTime>) -> String {
    match clock {
        Some(clock) => clock.format("%Y-%m-%dT%H:%M:%S").to_string(),
        None => at.to_utc().map_or_else(|| at.0.to_string(), |utc| utc.format("%Y-%m-%dT%H:%M:%SZ").to_string()),
    }
}

/// What a day's figure is of: a name, whatever its capitals, with its article number and its register.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
struct Article {
    key: Rc<str>,
    code: Option<String>,
    register: Option<String>,
}

/// The figures of days, summed by name, article number and register until the file ends.
#[derive(Debug, Default)]
pub(super) struct Totals {
    articles: HashMap<Article, u32>,
    /// The same in their order, each with its name as it is written first.
    list: Vec<(Article, Rc<str>)>,
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
        let article = Article { key: sold.key, code: sold.code, register: sold.register };
        let number = match self.articles.get(&article) {
            Some(number) => *number,
            None => {
                self.articles.insert(article.clone(), next);
                self.list.push((article, sold.name));
                next
            }
        };
        let kind = sold.kind.filter(|kind| *kind != SaleKind::Sale);
        let sum = self.sums.entry((sold.day, number, kind)).or_insert((0, Money::ZERO, sold.at));
        sum.0 = sum.0.saturating_add(sold.quantity);
        sum.1 += sold.net;
        if self.sums.len() > MOST_TOTALS {
            return Err(say!(
                "more than {MOST_TOTALS} figures of days; expected sums of a day for each name: are these lines of receipts?",
                MOST_TOTALS
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
            let (article, name) = list.get(number as usize)?;
            let kind = said.unwrap_or(if quantity < 0 { SaleKind::Return } else { SaleKind::Sale });
            let mut receipt = format!("day {day}{} {}", register(article.register.as_deref()), article.key);
            if let Some(code) = &article.code {
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
                code: article.code.clone(),
                quantity,
                net,
                kind,
                goods: quantity != 0,
                timed: false,
                total: true,
            })
        })
    }
}
