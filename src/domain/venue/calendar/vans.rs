//! The deadlines of a supplier one after the other, with the days on which it is closed and the vans that come besides.

use super::{Deadline, OrderCalendar};
use crate::domain::venue::day::{DayRule, Moment};
use crate::domain::venue::special::SupplierDays;
use chrono::{Datelike, Days, NaiveDate, NaiveTime};
use std::iter;

/// How far ahead deadlines are looked for: two years. Who delivers only after that does not deliver.
const HORIZON: usize = 731;

impl OrderCalendar {
    /// The deadlines after a moment, the earliest first, for two years ahead. Left out are those whose own date or whose
    /// delivery falls on a day on which the supplier is closed; extra vans are put in, also on such days.
    ///
    /// A deadline is wall clock: in the hour that the clock skips it is at the end of that hour, in the hour that it
    /// repeats the first time. Two deadlines may buy the same delivery, and a later one an earlier delivery.
    pub fn vans<'a>(
        &'a self,
        after: Moment,
        rule: &'a DayRule,
        days: &'a SupplierDays,
    ) -> impl Iterator<Item = Deadline> + 'a {
        let today = rule.date_of(after);
        let end = today.and_then(|today| today.checked_add_days(Days::new(HORIZON as u64 + 1)));
        let end = end.map(|day| rule.at(day, NaiveTime::MIN));
        let within = |van: &Deadline| van.by > after && end.is_some_and(|end| van.by < end);
        let mut extra: Vec<Deadline> = days.extra(rule).filter(within).collect();
        extra.sort_by_key(|van| (van.by, van.comes));
        // A deadline of yesterday's date may still come where the clock skips a midnight.
        let dates = today.and_then(|today| today.pred_opt()).filter(|_| !self.slots.is_empty());
        let dates = dates.into_iter().flat_map(|first| first.iter_days().take(HORIZON + 2));
        let mut regular = dates
            .filter(|date| !days.closed(*date))
            .flat_map(|date| self.of_date(date, rule))
            .filter(move |van| van.by > after && !days.closed(van.comes))
            .peekable();
        let mut extra = extra.into_iter().peekable();
        let mut merged = iter::from_fn(move || match (regular.peek(), extra.peek()) {
            (Some(van), Some(other)) if (other.by, other.comes) < (van.by, van.comes) => extra.next(),
            (None, _) => extra.next(),
            _ => regular.next(),
        })
        .peekable();
        // What is written twice is one deadline.
        iter::from_fn(move || {
            let van = merged.next()?;
            while merged.next_if_eq(&van).is_some() {}
            Some(van)
        })
    }

    /// The deadlines of a calendar date, the earliest first.
    fn of_date(&self, date: NaiveDate, rule: &DayRule) -> Vec<Deadline> {
        let weekday = date.weekday();
        let of_day = self.slots.iter().filter(|slot| slot.order.holds(weekday));
        let mut vans: Vec<Deadline> = of_day
            .filter_map(|slot| {
                let comes = date.checked_add_days(Days::new(slot.comes.wait(weekday)))?;
                Some(Deadline { by: rule.at(date, slot.before), comes })
            })
            .collect();
        vans.sort_by_key(|van| (van.by, van.comes));
        vans
    }
}

#[cfg(test)]
mod tests;
