//! Days as a calendar names them: a date, a day of each year, Easter, the last Monday of May; and stretches of days.

use crate::domain::venue::day::{parse_day, said_day};
use chrono::{Datelike, Days, NaiveDate, Weekday};
use std::fmt;

/// A day, or a rule that gives one in each year.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NamedDay {
    /// That day and no other.
    Date(NaiveDate),
    /// The same day of each year; 29 February only in leap years.
    Yearly {
        /// 1 to 12.
        month: u32,
        /// Of the month.
        day: u32,
    },
    /// So many days after Easter Sunday of the western churches; below zero, before it.
    Easter(i64),
    /// A weekday of a month.
    Weekday {
        /// Which of those in the month.
        nth: Nth,
        /// The weekday.
        weekday: Weekday,
        /// 1 to 12.
        month: u32,
    },
}

/// Which of the same weekdays of a month.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Nth {
    /// 1 to 4: every month has them.
    From(u8),
    /// The last one, be it the fourth or the fifth.
    Last,
}

/// Why a day or a stretch of days was refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NamedDayError {
    /// Not a day.
    #[error("{}", word!("expected a date such as 2026-12-24, or a day of each year: 12-24, easter, easter+1, easter-2, 4 Thu of Nov or \
         last Mon of May"))]
    NotADay,
    /// Too far from Easter.
    #[error("{}", word!("expected no more than 80 days before Easter and 100 after it"))]
    FarFromEaster,
    /// A stretch whose ends are not of one form, or of one that has no stretches.
    #[error("{}", word!("expected the last day in the form of the first: two dates, two days of the year such as 12-24 and 01-02, or two \
         of Easter"))]
    OtherForm,
    /// A stretch that ends before it begins.
    #[error("{}", word!("expected a last day that is not before the first"))]
    Backwards,
    /// A stretch of years.
    #[error("{}", word!("expected a stretch of a year at most"))]
    TooLong,
}

const MONTHS: [&str; 12] = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

/// Days before Easter that still lie in its year, and days after it that calendars go by.
const AROUND_EASTER: std::ops::RangeInclusive<i64> = -80..=100;

/// Easter Sunday of the western churches in a year of the Gregorian calendar.
///
/// Source: the anonymous rule of 1876 as J. Meeus gives it (Astronomical Algorithms, chapter on the date of Easter), from
/// memory; held against python-dateutil in the tests.
pub fn easter(year: i32) -> Option<NaiveDate> {
    let (golden, century, of_century) = (year.rem_euclid(19), year.div_euclid(100), year.rem_euclid(100));
    let moon = (century - (century + 8) / 25 + 1) / 3;
    let epact = (19 * golden + century - century / 4 - moon + 15).rem_euclid(30);
    let weekday = (32 + 2 * (century % 4) + 2 * (of_century / 4) - epact - of_century % 4).rem_euclid(7);
    let late = (golden + 11 * epact + 22 * weekday) / 451;
    let (month, day) = ((epact + weekday - 7 * late + 114) / 31, (epact + weekday - 7 * late + 114) % 31 + 1);
    NaiveDate::from_ymd_opt(year, u32::try_from(month).ok()?, u32::try_from(day).ok()?)
}

fn weekday_of(nth: Nth, weekday: Weekday, month: u32, year: i32) -> Option<NaiveDate> {
    match nth {
        Nth::From(n) => NaiveDate::from_weekday_of_month_opt(year, month, weekday, n),
        // The last one lies within the seven days before the next month.
        Nth::Last => {
            let next = if month == 12 { (year + 1, 1) } else { (year, month + 1) };
            let first = NaiveDate::from_ymd_opt(next.0, next.1, 1)?;
            let back = match first.weekday().days_since(weekday) {
                0 => 7,
                days => days,
            };
            first.checked_sub_days(Days::new(back.into()))
        }
    }
}

impl NamedDay {
    /// Reads one of the forms that it is written in; capitals do not matter.
    ///
    /// # Errors
    /// [`NamedDayError`].
    pub fn parse(text: &str) -> Result<NamedDay, NamedDayError> {
        let text = text.trim().to_ascii_lowercase();
        if let Ok(day) = parse_day(&text) {
            return Ok(NamedDay::Date(day));
        }
        if let Some(rest) = text.strip_prefix("easter") {
            return NamedDay::of_easter(rest);
        }
        let yearly = NamedDay::yearly(&text).or_else(|| NamedDay::weekday(&text));
        yearly.ok_or(NamedDayError::NotADay)
    }

    /// As [`NamedDay::parse`], or a date as a person says it: `tomorrow`, `fri`, `30 nov`.
    ///
    /// # Errors
    /// [`NamedDayError`].
    pub fn said(text: &str, today: NaiveDate) -> Result<NamedDay, NamedDayError> {
        match NamedDay::parse(text) {
            Err(NamedDayError::NotADay) => {
                said_day(text, today).map(NamedDay::Date).map_err(|_| NamedDayError::NotADay)
            }
            read => read,
        }
    }

    fn of_easter(rest: &str) -> Result<NamedDay, NamedDayError> {
        if rest.is_empty() {
            return Ok(NamedDay::Easter(0));
        }
        let digits = rest.strip_prefix(['+', '-']).ok_or(NamedDayError::NotADay)?;
        // Each day in one spelling, so that two lines of a file can be told apart.
        let sound = (1..=3).contains(&digits.len()) && digits.bytes().all(|b| b.is_ascii_digit());
        let sound = sound && !digits.starts_with('0');
        let days: i64 = rest.parse().ok().filter(|_| sound).ok_or(NamedDayError::NotADay)?;
        if AROUND_EASTER.contains(&days) { Ok(NamedDay::Easter(days)) } else { Err(NamedDayError::FarFromEaster) }
    }

    fn yearly(text: &str) -> Option<NamedDay> {
        let two = |text: &str| {
            let sound = text.len() == 2 && text.bytes().all(|b| b.is_ascii_digit());
            text.parse().ok().filter(|_| sound)
        };
        let (month, day) = text.split_once('-')?;
        let (month, day) = (two(month)?, two(day)?);
        // Of a leap year, so that 29 February is one.
        NaiveDate::from_ymd_opt(2024, month, day).map(|_| NamedDay::Yearly { month, day })
    }

    fn weekday(text: &str) -> Option<NamedDay> {
        let [nth, weekday, of, month] = text.split(' ').collect::<Vec<_>>().try_into().ok()?;
        let nth = match nth {
            "last" => Nth::Last,
            "1" | "2" | "3" | "4" => Nth::From(nth.parse().ok()?),
            _ => return None,
        };
        let month = (1..).zip(MONTHS).find(|(_, name)| name.eq_ignore_ascii_case(month))?.0;
        let weekday = Some(weekday).filter(|name| name.len() == 3)?.parse().ok()?;
        (of == "of").then_some(NamedDay::Weekday { nth, weekday, month })
    }

    /// The day in a year, if it has one.
    pub fn in_year(self, year: i32) -> Option<NaiveDate> {
        match self {
            NamedDay::Date(date) => Some(date).filter(|date| date.year() == year),
            NamedDay::Yearly { month, day } => NaiveDate::from_ymd_opt(year, month, day),
            NamedDay::Easter(days) => {
                let (sunday, step) = (easter(year)?, Days::new(days.unsigned_abs()));
                if days < 0 { sunday.checked_sub_days(step) } else { sunday.checked_add_days(step) }
            }
            NamedDay::Weekday { nth, weekday, month } => weekday_of(nth, weekday, month, year),
        }
    }

    /// Whether it is one date, not a day of each year.
    pub fn is_date(self) -> bool {
        matches!(self, NamedDay::Date(_))
    }
}

impl fmt::Display for NamedDay {
    /// As it is written.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NamedDay::Date(date) => write!(f, "{date}"),
            NamedDay::Yearly { month, day } => write!(f, "{month:02}-{day:02}"),
            NamedDay::Easter(0) => f.write_str("easter"),
            NamedDay::Easter(days) => write!(f, "easter{days:+}"),
            NamedDay::Weekday { nth, weekday, month } => {
                let month = MONTHS.get(*month as usize - 1).copied().unwrap_or_default();
                match nth {
                    Nth::From(n) => write!(f, "{n} {weekday} of {month}"),
                    Nth::Last => write!(f, "last {weekday} of {month}"),
                }
            }
        }
    }
}

/// A day, or all days from one to another; in each year, where its days are days of each year.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stretch {
    from: NamedDay,
    until: Option<NamedDay>,
}

impl Stretch {
    /// One day.
    pub fn of_one(day: NamedDay) -> Stretch {
        Stretch { from: day, until: None }
    }

    /// In words: `12-24 to 01-02`.
    pub fn words(self) -> String {
        self.until.map_or(self.from.to_string(), |until| say!("{from} to {until}", from = self.from, until))
    }

    /// From a day to another, both in it. Days of the year may go over its end: 12-24 to 01-02.
    ///
    /// # Errors
    /// [`NamedDayError`], all of which are about the last day.
    pub fn new(from: NamedDay, until: Option<NamedDay>) -> Result<Stretch, NamedDayError> {
        match (from, until) {
            (_, None) => {}
            (NamedDay::Date(first), Some(NamedDay::Date(last))) => {
                let days = (last - first).num_days();
                if days < 0 {
                    return Err(NamedDayError::Backwards);
                }
                if days > 366 {
                    return Err(NamedDayError::TooLong);
                }
            }
            (NamedDay::Yearly { .. }, Some(NamedDay::Yearly { .. })) => {}
            (NamedDay::Easter(first), Some(NamedDay::Easter(last))) if first <= last => {}
            (NamedDay::Easter(_), Some(NamedDay::Easter(_))) => return Err(NamedDayError::Backwards),
            (_, Some(_)) => return Err(NamedDayError::OtherForm),
        }
        Ok(Stretch { from, until })
    }

    /// The first day.
    pub fn from(self) -> NamedDay {
        self.from
    }

    /// The last day, where it is said.
    pub fn until(self) -> Option<NamedDay> {
        self.until
    }

    /// The stretch that begins in a year: its first and its last day.
    fn begun_in(self, year: i32) -> Option<(NaiveDate, NaiveDate)> {
        let Some(until) = self.until else {
            let day = self.from.in_year(year)?;
            return Some((day, day));
        };
        if let (NamedDay::Date(first), NamedDay::Date(last)) = (self.from, until) {
            return (first.year() == year).then_some((first, last));
        }
        // Where there is no 29 February, a stretch that begins on it begins on the next day, and one that ends on it ends
        // on the day before.
        let leap = |day: NamedDay, other: (u32, u32), year: i32| match day {
            NamedDay::Yearly { month: 2, day: 29 } => {
                day.in_year(year).or_else(|| NaiveDate::from_ymd_opt(year, other.0, other.1))
            }
            day => day.in_year(year),
        };
        let over_new_year = match (self.from, until) {
            (NamedDay::Yearly { month, day }, NamedDay::Yearly { month: m, day: d }) => (m, d) < (month, day),
            _ => false,
        };
        let first = leap(self.from, (3, 1), year)?;
        let last = leap(until, (2, 28), if over_new_year { year + 1 } else { year })?;
        (first <= last).then_some((first, last))
    }

    /// Every time that any of it lies between two days, both in: its first and its last day, the earliest first.
    pub fn between(self, first: NaiveDate, last: NaiveDate) -> impl Iterator<Item = (NaiveDate, NaiveDate)> {
        let years = match self.from {
            NamedDay::Date(date) => date.year()..=date.year(),
            // What began the year before may still go on.
            _ => first.year().saturating_sub(1)..=last.year(),
        };
        let found = years.filter_map(move |year| self.begun_in(year));
        found.filter(move |(begins, ends)| *ends >= first && *begins <= last)
    }

    /// Whether a day is in it.
    pub fn holds(self, day: NaiveDate) -> bool {
        self.between(day, day).next().is_some()
    }
}

#[cfg(test)]
mod tests;
