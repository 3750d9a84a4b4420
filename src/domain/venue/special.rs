//! Days that are not as usual: festivals, closed days, and days on which a supplier does not come or comes besides.

mod named;

use crate::words;
pub use named::{NamedDay, NamedDayError, Nth, Stretch, easter};

use super::calendar::Deadline;
use super::day::{DayRule, Moment, parse_day, said_day};
use super::{SpecialDayId, SupplierId, name_key};
use crate::domain::measure::{Decimal, decimal};
use chrono::{Days, NaiveDate, NaiveDateTime, NaiveTime};
use std::collections::HashMap;
use std::fmt;

/// How much of a usual day's demand a day has, in thousandths: 1 600 is 1.6 times as much; 0 is a closed day.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Factor(pub i64);

/// Why a factor was refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{}", word!("expected how many times the usual demand, from 0 to 20 with at most 3 decimals, such as 1.6, or closed"))]
pub struct FactorError;

impl Factor {
    /// The bar is closed.
    pub const CLOSED: Factor = Factor(0);
    /// As on any other day.
    pub const USUAL: Factor = Factor(1_000);
    /// More than twenty times is a slip of the keyboard.
    pub const MOST: Factor = Factor(20_000);
    /// The word for [`Factor::CLOSED`].
    const CLOSED_WORD: &'static str = "closed";

    /// Reads `1.6`, `0` or `closed`.
    ///
    /// # Errors
    /// [`FactorError`].
    pub fn parse(text: &str) -> Result<Factor, FactorError> {
        if text.trim().eq_ignore_ascii_case(Factor::CLOSED_WORD) {
            return Ok(Factor::CLOSED);
        }
        let read = Decimal::parse(text).ok().and_then(|d| d.exact(3)).map(Factor);
        read.filter(|factor| (Factor::CLOSED..=Factor::MOST).contains(factor)).ok_or(FactorError)
    }

    /// As a number: 1.6.
    pub fn value(self) -> f64 {
        self.0 as f64 / 1_000.0
    }
}

impl fmt::Display for Factor {
    /// As it is written.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Factor::CLOSED => f.write_str(Factor::CLOSED_WORD),
            Factor(thousandths) => f.write_str(&decimal::plain(thousandths, 3)),
        }
    }
}

/// The deadline of an extra van, wall clock: the date and the hour to the minute.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct OrderBy(NaiveDateTime);

/// Why the deadline of an extra van was refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum OrderByError {
    /// Not a time of a clock.
    #[error("{}", word!("expected a date and an hour such as 2026-12-22 10:00"))]
    Form,
    /// The van would come before it, or long after.
    #[error("{}", word!("expected a time on the day that it comes, or up to 60 days before"))]
    OtherDay,
    /// The day is not one date.
    #[error("{}", word!("expected nothing: an extra van comes on one date such as 2026-12-24, and this is none"))]
    NoDate,
}

impl OrderBy {
    /// An extra van is ordered at most so many days before it comes; more is a slip of the keyboard.
    const EARLIEST: i64 = 60;

    /// Reads `2026-12-22 10:00`.
    ///
    /// # Errors
    /// [`OrderByError::Form`].
    pub fn parse(text: &str) -> Result<OrderBy, OrderByError> {
        OrderBy::read(text, |day| parse_day(day).ok())
    }

    /// As [`OrderBy::parse`], the day also as a person says it: `tue 10:00`.
    ///
    /// # Errors
    /// [`OrderByError::Form`].
    pub fn said(text: &str, today: NaiveDate) -> Result<OrderBy, OrderByError> {
        OrderBy::read(text, |day| said_day(day, today).ok())
    }

    fn read(text: &str, day: impl FnOnce(&str) -> Option<NaiveDate>) -> Result<OrderBy, OrderByError> {
        let (date, hour) = text.trim().rsplit_once(' ').ok_or(OrderByError::Form)?;
        let hour = Some(hour).filter(|hour| hour.len() == 5);
        let hour = hour.and_then(|hour| NaiveTime::parse_from_str(hour, "%H:%M").ok()).ok_or(OrderByError::Form)?;
        Ok(OrderBy(day(date).ok_or(OrderByError::Form)?.and_time(hour)))
    }

    /// The moment of it in a bar.
    pub fn moment(self, rule: &DayRule) -> Moment {
        rule.at(self.0.date(), self.0.time())
    }

    /// Whether a van that comes in a stretch of days can have this deadline.
    ///
    /// # Errors
    /// [`OrderByError`].
    pub fn check(self, days: Stretch) -> Result<(), OrderByError> {
        let (NamedDay::Date(comes), None) = (days.from(), days.until()) else { return Err(OrderByError::NoDate) };
        let before = (comes - self.0.date()).num_days();
        if (0..=OrderBy::EARLIEST).contains(&before) { Ok(()) } else { Err(OrderByError::OtherDay) }
    }
}

impl fmt::Display for OrderBy {
    /// As it is written.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0.format("%Y-%m-%d %H:%M"))
    }
}

/// What is not as usual.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DayEffect {
    /// Demand, times this; or the bar is closed.
    Demand(Factor),
    /// A supplier is closed: it takes no orders and does not deliver.
    SupplierClosed(SupplierId),
    /// A van comes besides those of the supplier's week.
    ExtraVan {
        /// Whose.
        supplier: SupplierId,
        /// Until when to order.
        by: OrderBy,
    },
}

impl DayEffect {
    /// What is not as usual, in words.
    pub fn words(self) -> String {
        match self {
            DayEffect::Demand(Factor::CLOSED) | DayEffect::SupplierClosed(_) => word!("day" => "closed").to_owned(),
            DayEffect::Demand(factor) => say!("demand × {factor}", factor = words::number(factor.to_string())),
            DayEffect::ExtraVan { by, .. } => say!("comes besides, order by {by}", by),
        }
    }

    /// The supplier that it is about, where it is not about the bar.
    pub fn supplier(self) -> Option<SupplierId> {
        match self {
            DayEffect::Demand(_) => None,
            DayEffect::SupplierClosed(supplier) | DayEffect::ExtraVan { supplier, .. } => Some(supplier),
        }
    }
}

/// A day, or a stretch of days, that is not as usual.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SpecialDay {
    /// Handle.
    pub id: SpecialDayId,
    /// When: business days of the bar; of a supplier, calendar dates.
    pub days: Stretch,
    /// What it is called.
    pub what: String,
    /// What is not as usual.
    pub effect: DayEffect,
}

impl SpecialDay {
    /// Whether two rows are about the same thing: the same first day, name and supplier.
    pub fn is_same(&self, other: &SpecialDay) -> bool {
        let key = |day: &SpecialDay| (day.days.from().to_string(), name_key(&day.what), day.effect.supplier());
        key(self) == key(other)
    }
}

/// A time that a special day comes round.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ComingDay<'a> {
    /// Its first day.
    pub first: NaiveDate,
    /// Its last day, the same where it is only one.
    pub last: NaiveDate,
    /// What it is.
    pub special: &'a SpecialDay,
}

/// Every special day of a bar.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SpecialDays {
    all: Vec<SpecialDay>,
    of_suppliers: HashMap<SupplierId, SupplierDays>,
    of_none: SupplierDays,
}

impl SpecialDays {
    /// Puts them in the order in which they are written.
    pub fn new(mut all: Vec<SpecialDay>) -> SpecialDays {
        all.sort_by_cached_key(|day| (day.days.from().to_string(), name_key(&day.what), day.effect.supplier(), day.id));
        let mut of_suppliers: HashMap<SupplierId, SupplierDays> = HashMap::new();
        for day in &all {
            match day.effect {
                DayEffect::Demand(_) => {}
                DayEffect::SupplierClosed(supplier) => {
                    of_suppliers.entry(supplier).or_default().closed.push(day.days);
                }
                DayEffect::ExtraVan { supplier, by } => {
                    // Its one date; it has no other form.
                    if let NamedDay::Date(comes) = day.days.from() {
                        of_suppliers.entry(supplier).or_default().extra.push((by, comes));
                    }
                }
            }
        }
        SpecialDays { all, of_suppliers, of_none: SupplierDays::default() }
    }

    /// Every one, in the order in which they are written.
    pub fn all(&self) -> &[SpecialDay] {
        &self.all
    }

    /// One by its handle.
    pub fn get(&self, id: SpecialDayId) -> Option<&SpecialDay> {
        self.all.iter().find(|day| day.id == id)
    }

    /// What the bar's own days say of a business day.
    fn of_bar(&self, day: NaiveDate) -> impl Iterator<Item = (&SpecialDay, Factor)> {
        self.all.iter().filter_map(move |special| match special.effect {
            DayEffect::Demand(factor) if special.days.holds(day) => Some((special, factor)),
            _ => None,
        })
    }

    /// How many times the usual demand a business day has: the factors of all that falls on it, multiplied; 1 when
    /// nothing does, 0 when the bar is closed.
    pub fn factor(&self, day: NaiveDate) -> f64 {
        self.of_bar(day).map(|(_, factor)| factor.value()).product()
    }

    /// The factors of so many business days from one on: the same as [`SpecialDays::factor`] of each, for long stretches.
    pub fn factors(&self, from: NaiveDate, days: usize) -> Vec<f64> {
        let mut out = vec![1.0; days];
        let last = days.checked_sub(1).and_then(|days| from.checked_add_days(Days::new(days as u64)));
        let Some(last) = last else { return out };
        for special in &self.all {
            let DayEffect::Demand(factor) = special.effect else { continue };
            for (begins, ends) in special.days.between(from, last) {
                let at = |day: NaiveDate| usize::try_from((day - from).num_days()).unwrap_or(0);
                for day in &mut out[at(begins.max(from))..=at(ends.min(last))] {
                    *day *= factor.value();
                }
            }
        }
        out
    }

    /// What falls on a business day of the bar, by name.
    pub fn names(&self, day: NaiveDate) -> Vec<&str> {
        self.of_bar(day).map(|(special, _)| special.what.as_str()).collect()
    }

    /// Whether the bar is closed on a business day.
    pub fn closed(&self, day: NaiveDate) -> bool {
        self.of_bar(day).any(|(_, factor)| factor == Factor::CLOSED)
    }

    /// The days on which a supplier is closed or comes besides its week.
    pub fn of_supplier(&self, supplier: SupplierId) -> &SupplierDays {
        self.of_suppliers.get(&supplier).unwrap_or(&self.of_none)
    }

    /// What falls on any of so many days from one on, the earliest first.
    pub fn upcoming(&self, from: NaiveDate, days: u64) -> Vec<ComingDay<'_>> {
        let last = days.checked_sub(1).and_then(|days| from.checked_add_days(Days::new(days)));
        let Some(until) = last else { return Vec::new() };
        let of = |special: &'_ SpecialDay| special.days.between(from, until);
        let all = self
            .all
            .iter()
            .flat_map(|special| of(special).map(move |(first, last)| ComingDay { first, last, special }));
        let mut all: Vec<ComingDay<'_>> = all.collect();
        // Those of one day as they are written.
        all.sort_by_key(|coming| (coming.first, coming.last));
        all
    }
}

/// The days on which a supplier does not do as its week says.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct SupplierDays {
    closed: Vec<Stretch>,
    extra: Vec<(OrderBy, NaiveDate)>,
}

impl SupplierDays {
    /// Whether the supplier is closed on a date: it takes no orders and does not deliver.
    pub fn closed(&self, date: NaiveDate) -> bool {
        self.closed.iter().any(|days| days.holds(date))
    }

    /// The extra vans, in no order.
    pub fn extra<'a>(&'a self, rule: &'a DayRule) -> impl Iterator<Item = Deadline> + 'a {
        self.extra.iter().map(|(by, comes)| Deadline { by: by.moment(rule), comes: *comes })
    }
}

#[cfg(test)]
mod tests;
