//! When a row was rung, from what a till writes of it: local times, dates alone, business days.

use crate::domain::venue::{DayRule, Moment};
use chrono::{DateTime, Days, NaiveDate, NaiveDateTime, NaiveTime, Offset, TimeZone, Timelike};

/// A day's figure stands so long after the day begins: in the evening of a bar (common practice, no source). A count at
/// closing has it behind it, one before service before it.
const EVENING: i64 = 15 * 3_600_000;

/// A till begins its numbers anew at midnight, or when its night ends: few ring at this hour (common practice, no source).
const MORNING: u32 = 6;

/// What a row says of its day, by which its receipt is known: nothing that the venue's settings could change.
///
/// A receipt's number may come again the next night or after midnight, so the date alone would make two of them one. It is
/// the line's own date, so that every report that holds the line says the same, wherever it begins and ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) struct Written {
    /// The date of the calendar; of a table that does not say it, the business day.
    pub(super) date: NaiveDate,
    /// A time of that date before the morning.
    pub(super) early: bool,
}

impl Written {
    /// A day without a time.
    fn day(date: NaiveDate) -> Written {
        Written { date, early: false }
    }
}

/// When a row was rung.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct When {
    /// The business day: the till's own where it says one.
    pub(super) day: NaiveDate,
    /// The moment, where the row says one.
    pub(super) at: Option<Moment>,
    /// What the clock of the till showed, where the row does not say how far that is from UTC.
    pub(super) clock: Option<NaiveDateTime>,
    /// The evening of that day.
    pub(super) evening: Moment,
    /// What the row itself says.
    pub(super) written: Written,
}

/// Turns local times into moments; remembers the day at hand, as rows of one day follow each other.
#[derive(Debug)]
pub(super) struct Clock {
    days: DayRule,
    /// A date on which the clock is not changed, and what it is ahead of UTC, in milliseconds.
    still: Option<(NaiveDate, i64)>,
    /// A date, its beginning and that of the next one.
    begins: Option<(NaiveDate, Moment, Moment)>,
}

impl Clock {
    pub(super) fn new(days: DayRule) -> Clock {
        Clock { days, still: None, begins: None }
    }

    /// A local time on a date; of two in the hour that is turned back the first, as a till cannot say which.
    fn local(&mut self, date: NaiveDate, time: NaiveTime) -> Moment {
        if self.still.is_none_or(|(still, _)| still != date) {
            self.still = None;
            let ahead = |local: chrono::NaiveDateTime| {
                let offset = self.days.zone.offset_from_local_datetime(&local).single()?;
                Some(i64::from(offset.fix().local_minus_utc()) * 1_000)
            };
            let next = date.checked_add_days(Days::new(1));
            let ends = next
                .and_then(|next| Some((ahead(date.and_time(NaiveTime::MIN))?, ahead(next.and_time(NaiveTime::MIN))?)));
            self.still = ends.filter(|(first, last)| first == last).map(|(first, _)| (date, first));
        }
        match self.still {
            Some((_, ahead)) => Moment(date.and_time(time).and_utc().timestamp_millis() - ahead),
            None => self.days.at(date, time),
        }
    }

    fn day_of(&mut self, at: Moment) -> NaiveDate {
        if let Some((day, _, _)) = self.begins.filter(|(_, begins, ends)| *begins <= at && at < *ends) {
            return day;
        }
        let day = self.days.day_of(at);
        if let Some(next) = day.checked_add_days(Days::new(1)) {
            self.begins = Some((day, self.days.begins(day), self.days.begins(next)));
        }
        day
    }

    /// A date and a time of the calendar; `ahead` is what the time is ahead of UTC, in seconds, where it says so.
    pub(super) fn exactly(
        &mut self,
        date: NaiveDate,
        time: NaiveTime,
        ahead: Option<i32>,
        business: Option<NaiveDate>,
    ) -> When {
        let at = match ahead {
            Some(seconds) => {
                let utc: DateTime<chrono::Utc> = date.and_time(time).and_utc();
                Moment(utc.timestamp_millis() - i64::from(seconds) * 1_000)
            }
            None => self.local(date, time),
        };
        let day = business.unwrap_or_else(|| self.day_of(at));
        let clock = ahead.is_none().then(|| date.and_time(time));
        When { day, at: Some(at), clock, evening: at, written: Written { date, early: time.hour() < MORNING } }
    }

    /// A time of a business day: before its beginning it is of the next date of the calendar.
    pub(super) fn in_day(&mut self, day: NaiveDate, time: NaiveTime) -> When {
        let date = if time < self.days.starts { day.checked_add_days(Days::new(1)).unwrap_or(day) } else { day };
        let at = self.local(date, time);
        When { day, at: Some(at), clock: Some(date.and_time(time)), evening: at, written: Written::day(day) }
    }

    /// Some time on a business day, of which the row says a date.
    pub(super) fn some_time(&mut self, day: NaiveDate, date: NaiveDate) -> When {
        When {
            day,
            at: None,
            clock: None,
            evening: Moment(self.days.begins(day).0 + EVENING),
            written: Written::day(date),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn the_remembered_day_changes_nothing(minutes in proptest::collection::vec(26_000_000_i64..32_000_000, 1..20), zone in prop_oneof![
            Just("Europe/Berlin"), Just("America/New_York"), Just("Australia/Lord_Howe"), Just("Atlantic/Azores")]) {
            let days = DayRule { zone: zone.parse().unwrap(), starts: NaiveTime::from_hms_opt(5, 0, 0).unwrap() };
            let mut clock = Clock::new(days);
            for minute in minutes {
                let local = Moment(minute * 60_000).to_utc().unwrap().with_timezone(&days.zone).naive_local();
                let when = clock.exactly(local.date(), local.time(), None, None);
                let at = days.at(local.date(), local.time());
                prop_assert_eq!(when.at, Some(at));
                prop_assert_eq!(when.day, days.day_of(at));
            }
        }
    }

    #[test]
    fn an_hour_after_midnight_is_of_the_evening_before() {
        let days =
            DayRule { zone: "Europe/Berlin".parse().unwrap(), starts: NaiveTime::from_hms_opt(5, 0, 0).unwrap() };
        let mut clock = Clock::new(days);
        let (day, next) =
            (NaiveDate::from_ymd_opt(2026, 11, 20).unwrap(), NaiveDate::from_ymd_opt(2026, 11, 21).unwrap());
        let time = NaiveTime::from_hms_opt(1, 30, 0).unwrap();
        let want = days.parse("2026-11-21 01:30").unwrap();
        assert_eq!(clock.in_day(day, time).at, Some(want));
        assert_eq!(clock.exactly(next, time, None, None).day, day);
        assert_eq!(clock.exactly(next, time, Some(0), None).at, Some(Moment(want.0 + 3_600_000)));
        assert_eq!(clock.some_time(day, day).evening, days.parse("2026-11-20 20:00").unwrap());
    }
}
