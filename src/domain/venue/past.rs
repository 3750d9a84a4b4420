//! A time that is over, as people say it: `01:30`, `yesterday 23:10`, `sun 01:30`.

use super::day::{DayRule, Moment, TimeError, is_called, is_weekday, of_year, parse_day};
use chrono::{DateTime, Datelike, Days, NaiveDate, NaiveTime};

/// Why a time that somebody said was refused.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PastError {
    /// Not a time.
    #[error("{}", word!("expected a time such as 01:30, yesterday 01:30 or 2026-11-22 01:30"))]
    NotATime,
    /// It is not over.
    #[error("{}", say!("{what} is still to come", what = .0))]
    ToCome(String),
    /// The clock was changed over it.
    #[error(transparent)]
    Change(TimeError),
}

impl DayRule {
    /// Reads a time that is over, as a person says it: a time as [`DayRule::parse`] reads it; a clock time alone, which is
    /// the last time that the clock showed it; or a clock time behind `today`, `yesterday`, a weekday by its first letters
    /// (the last one that was) or `22 nov` (this year's or, where that is still to come, the last). Days are those of the
    /// calendar on the wall, as in a date that is written out. `now`, or nothing at all, is now.
    ///
    /// Of an hour that the clock shows twice, the one that is over is meant where the other is still to come.
    ///
    /// # Errors
    /// [`PastError`].
    pub fn said_past(&self, text: &str, now: Moment) -> Result<Moment, PastError> {
        let text = text.trim();
        let said = text.to_lowercase();
        if said.is_empty() || said == "now" {
            return Ok(now);
        }
        match self.parse(text) {
            Ok(at) if at <= now => return Ok(at),
            Ok(at) => return Err(PastError::ToCome(self.short(at))),
            Err(TimeError::NotATime) => {}
            Err(change) => return self.either(change, now),
        }
        let (day, clock) = said.rsplit_once(char::is_whitespace).map_or(("", said.as_str()), |(d, c)| (d.trim(), c));
        let clock = NaiveTime::parse_from_str(clock, "%H:%M").map_err(|_| PastError::NotATime)?;
        let today = now.to_utc().ok_or(PastError::NotATime)?.with_timezone(&self.zone);
        let over = clock <= today.time();
        let date = match day {
            "" if over => Some(today.date_naive()),
            "" => today.date_naive().pred_opt(),
            day => said_past_day(day, today.date_naive(), over),
        };
        match self.resolve(date.ok_or(PastError::NotATime)?.and_time(clock)) {
            Ok(at) if at <= now => Ok(at),
            Ok(at) => Err(PastError::ToCome(self.short(at))),
            Err(change) => self.either(change, now),
        }
    }

    /// Of a time that comes twice, the first, where only that is over.
    fn either(&self, change: TimeError, now: Moment) -> Result<Moment, PastError> {
        let TimeError::Twice { first, second, .. } = &change else { return Err(PastError::Change(change)) };
        let moment = |text: &str| DateTime::parse_from_rfc3339(text).ok().map(|at| Moment(at.timestamp_millis()));
        match (moment(first), moment(second)) {
            (Some(first), Some(second)) if first <= now && now < second => Ok(first),
            (Some(first), _) if now < first => Err(PastError::ToCome(self.short(first))),
            _ => Err(PastError::Change(change)),
        }
    }
}

/// A day that was, or today; `over` says whether the time that is meant was today already.
fn said_past_day(said: &str, today: NaiveDate, over: bool) -> Option<NaiveDate> {
    let before = |days: u64| today.checked_sub_days(Days::new(days));
    if let Ok(day) = parse_day(said) {
        return Some(day);
    }
    if is_called(said, ["today", word!("today")]) {
        return Some(today);
    }
    if is_called(said, ["yesterday", word!("yesterday")]) {
        return before(1);
    }
    let mut week = (u64::from(!over)..8).filter_map(before);
    if let Some(day) = week.find(|day| is_weekday(said, *day)) {
        return Some(day);
    }
    of_year(said, today.year()).filter(|day| *day <= today).or_else(|| of_year(said, today.year() - 1))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn berlin() -> DayRule {
        DayRule { zone: chrono_tz::Europe::Berlin, starts: NaiveTime::from_hms_opt(5, 0, 0).unwrap() }
    }

    /// What is said at a moment, as the wall clock has it.
    fn said(text: &str, now: &str) -> Result<String, PastError> {
        let days = berlin();
        days.said_past(text, days.parse(now).unwrap()).map(|at| days.plain(at))
    }

    /// 2026-11-23 is a Monday.
    #[test]
    fn a_time_that_is_over_as_it_is_said() {
        for (text, now, want) in [
            ("", "2026-11-23 10:00", "2026-11-23 10:00"),
            (" Now ", "2026-11-23 10:00", "2026-11-23 10:00"),
            ("01:30", "2026-11-23 10:00", "2026-11-23 01:30"),
            ("1:30", "2026-11-23 10:00", "2026-11-23 01:30"),
            ("10:00", "2026-11-23 10:00", "2026-11-23 10:00"),
            // Later than now, it can only have been the evening before.
            ("23:10", "2026-11-23 10:00", "2026-11-22 23:10"),
            ("today 01:30", "2026-11-23 10:00", "2026-11-23 01:30"),
            ("yesterday 01:30", "2026-11-23 10:00", "2026-11-22 01:30"),
            ("Yes 01:30", "2026-11-23 10:00", "2026-11-22 01:30"),
            ("mon 01:30", "2026-11-23 10:00", "2026-11-23 01:30"),
            ("mon 11:30", "2026-11-23 10:00", "2026-11-16 11:30"),
            ("Sunday  01:30", "2026-11-23 10:00", "2026-11-22 01:30"),
            ("tu 23:00", "2026-11-23 10:00", "2026-11-17 23:00"),
            ("22 nov 01:30", "2026-11-23 10:00", "2026-11-22 01:30"),
            ("22.11. 01:30", "2026-11-23 10:00", "2026-11-22 01:30"),
            ("24.11. 01:30", "2026-11-23 10:00", "2025-11-24 01:30"),
            ("15.11.2026 01:30", "2026-11-23 10:00", "2026-11-15 01:30"),
            ("24 nov 01:30", "2026-11-23 10:00", "2025-11-24 01:30"),
            ("2026-11-22 01:30", "2026-11-23 10:00", "2026-11-22 01:30"),
            ("2026-11-22T01:30:00+02:00", "2026-11-23 10:00", "2026-11-22 00:30"),
        ] {
            assert_eq!(said(text, now).as_deref(), Ok(want), "{text} at {now}");
        }
    }

    #[test]
    fn what_is_no_time_or_not_over_is_refused() {
        for text in
            ["half past one", "25:00", "0130", "tomorrow 01:30", "monday", "2026-11-22", "30 feb 01:30", "m 1:30"]
        {
            assert_eq!(said(text, "2026-11-23 10:00"), Err(PastError::NotATime), "{text}");
        }
        for (text, when) in [("today 10:01", "Mon 23 Nov 10:01"), ("2026-11-24 01:30", "Tue 24 Nov 01:30")] {
            assert_eq!(said(text, "2026-11-23 10:00"), Err(PastError::ToCome(when.to_owned())), "{text}");
        }
    }

    /// Transitions of the IANA time zone database: Berlin goes back from 03:00 to 02:00 on 2026-10-25 and forward from
    /// 02:00 to 03:00 on 2026-03-29.
    #[test]
    fn an_hour_that_comes_twice_or_never() {
        let twice = |text, now| matches!(said(text, now), Err(PastError::Change(TimeError::Twice { .. })));
        for text in ["02:30", "today 02:30", "sun 02:30", "25 oct 02:30", "2026-10-25 02:30"] {
            assert!(twice(text, "2026-10-25 10:00"), "{text}");
            // Between the two, only the first is over.
            let first = said(text, "2026-10-25T02:40:00+02:00");
            assert_eq!(first.as_deref(), Ok("2026-10-25T02:30:00+02:00"), "{text}");
        }
        assert_eq!(
            said("2026-10-25T02:30:00+01:00", "2026-10-25 10:00").as_deref(),
            Ok("2026-10-25T02:30:00+01:00"),
            "with its offset it is one of them"
        );
        assert!(matches!(said("today 02:30", "2026-10-25 01:00"), Err(PastError::ToCome(_))));
        for text in ["02:30", "sunday 02:30", "2026-03-29 02:30"] {
            let never = said(text, "2026-03-29 10:00");
            assert!(matches!(never, Err(PastError::Change(TimeError::Never { .. }))), "{text}: {never:?}");
        }
    }
}
