//! Times as people say them at the bar: how long is left, and which day something comes.

use crate::domain::venue::{DayRule, Moment};
use crate::words;
use chrono::NaiveDate;

const MINUTE: i64 = 60_000;
/// Up to so many minutes ahead, the time left says more than the day.
const SOON: i64 = 12 * 60;

/// How long it is from now until then: `35 min left`, `2 h 10 min left`; further off, the day and the clock:
/// `tomorrow 14:00`, `Thu 14:00`, `Thu 3 Dec 14:00`; `passed` once it is over. What is left is what really passes, so
/// an hour that the clock repeats counts twice.
pub(crate) fn time_left(now: Moment, then: Moment, days: &DayRule) -> String {
    if then <= now {
        return word!("passed").to_owned();
    }
    soon(now, then, days).unwrap_or_else(|| day_and_clock(now, then, days))
}

/// How long is left, where that is little.
fn soon(now: Moment, then: Moment, days: &DayRule) -> Option<String> {
    let minutes = then.since(now) / MINUTE;
    let is_soon = date_of(now, days) == date_of(then, days) || minutes < SOON;
    is_soon.then(|| match (minutes / 60, minutes % 60) {
        (0, 0) => word!("under 1 min left").to_owned(),
        (0, m) => say!("{m} min left", m),
        (h, 0) => say!("{h} h left", h),
        (h, m) => say!("{h} h {m} min left", h, m),
    })
}

/// A moment by its day and the clock: `today 14:00`, `Thu 14:00`, `Thu 3 Dec 14:00`.
pub(crate) fn day_and_clock(now: Moment, then: Moment, days: &DayRule) -> String {
    let clock = days.clock(then);
    date_of(then, days).map_or(clock.clone(), |date| format!("{} {clock}", day(now, date, days)))
}

/// A deadline in full: `14:00 today, 2 h 10 min left`, `tomorrow 14:00`, `14:00, passed`.
pub(crate) fn deadline(now: Moment, by: Moment, days: &DayRule) -> String {
    let clock = days.clock(by);
    if by <= now {
        let day = date_of(by, days).map_or(String::new(), |date| day(now, date, days));
        return format!("{day} {clock}, {}", word!("passed"));
    }
    match (date_of(by, days).map(|date| day(now, date, days)), soon(now, by, days)) {
        (Some(today), Some(left)) if today == word!("today") => say!("{clock} today, {left}", clock, left),
        (Some(other), Some(left)) => format!("{other} {clock}, {left}"),
        (_, left) => left.unwrap_or_else(|| day_and_clock(now, by, days)),
    }
}

/// A date: `today`, `tomorrow`, `yesterday`, the weekday within the week to come, else `Wed 2 Dec`. After midnight,
/// while the evening before still runs, nobody agrees what `tomorrow` is: then it is always the weekday.
pub(crate) fn day(now: Moment, date: NaiveDate, days: &DayRule) -> String {
    let Some(today) = date_of(now, days) else { return words::day(date, "%a %-d %b") };
    let clear = days.day_of(now) == today;
    match date.signed_duration_since(today).num_days() {
        0 if clear => word!("today").to_owned(),
        1 if clear => word!("tomorrow").to_owned(),
        -1 if clear => word!("yesterday").to_owned(),
        0..=6 => words::day(date, "%a"),
        _ => words::day(date, "%a %-d %b"),
    }
}

/// The date on the wall calendar, which after midnight is one further than the business day.
pub(crate) fn date_of(at: Moment, days: &DayRule) -> Option<NaiveDate> {
    Some(at.to_utc()?.with_timezone(&days.zone).date_naive())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tui::screen::fixture::{at, bar};

    /// 2026-11-23 is a Monday.
    #[test]
    fn time_left_in_words() {
        let days = bar().venue.days;
        for (now, then, left, full) in [
            ("2026-11-23 13:25", "2026-11-23 14:00", "35 min left", "14:00 today, 35 min left"),
            ("2026-11-23 11:50", "2026-11-23 14:00", "2 h 10 min left", "14:00 today, 2 h 10 min left"),
            ("2026-11-23 12:00", "2026-11-23 14:00", "2 h left", "14:00 today, 2 h left"),
            ("2026-11-23 13:59:30", "2026-11-23 14:00", "under 1 min left", "14:00 today, under 1 min left"),
            ("2026-11-23 14:00", "2026-11-23 14:00", "passed", "today 14:00, passed"),
            ("2026-11-23 14:00", "2026-11-22 14:00", "passed", "yesterday 14:00, passed"),
            ("2026-11-23 11:50", "2026-11-24 14:00", "tomorrow 14:00", "tomorrow 14:00"),
            ("2026-11-23 23:00", "2026-11-24 09:30", "10 h 30 min left", "tomorrow 09:30, 10 h 30 min left"),
            ("2026-11-23 11:50", "2026-11-26 14:00", "Thu 14:00", "Thu 14:00"),
            ("2026-11-23 11:50", "2026-11-30 14:00", "Mon 30 Nov 14:00", "Mon 30 Nov 14:00"),
            // Half past one at night: the evening is still Monday's, so neither today nor tomorrow is said.
            ("2026-11-24 01:30", "2026-11-24 14:00", "12 h 30 min left", "Tue 14:00, 12 h 30 min left"),
            ("2026-11-24 01:30", "2026-11-25 14:00", "Wed 14:00", "Wed 14:00"),
        ] {
            let (now, then) = (at(now), at(then));
            assert_eq!(time_left(now, then, &days), left);
            assert_eq!(deadline(now, then, &days), full);
        }
    }

    /// Berlin turns its clock back on 2026-10-25 at 03:00 and forward on 2026-03-29 at 02:00.
    #[test]
    fn what_is_left_is_right_across_a_clock_change() {
        let days = bar().venue.days;
        for (now, then, left) in [
            ("2026-10-25 00:30", "2026-10-25 09:00", "9 h 30 min left"),
            ("2026-03-29 00:30", "2026-03-29 09:00", "7 h 30 min left"),
            ("2026-10-24 22:00", "2026-10-25 09:00", "Sun 09:00"),
            ("2026-03-28 22:00", "2026-03-29 09:00", "10 h left"),
        ] {
            let got = time_left(at(now), at(then), &days);
            assert_eq!(got.replace("tomorrow", "Sun"), left, "{now}");
        }
    }

    #[test]
    fn dates_in_words() {
        let days = bar().venue.days;
        let on = |text: &str| crate::domain::venue::parse_day(text).unwrap();
        for (now, date, want) in [
            ("2026-11-23 12:00", "2026-11-23", "today"),
            ("2026-11-23 12:00", "2026-11-24", "tomorrow"),
            ("2026-11-23 12:00", "2026-11-22", "yesterday"),
            ("2026-11-23 12:00", "2026-11-29", "Sun"),
            ("2026-11-23 12:00", "2026-11-30", "Mon 30 Nov"),
            ("2026-11-23 12:00", "2026-11-20", "Fri 20 Nov"),
            ("2026-11-24 01:00", "2026-11-24", "Tue"),
        ] {
            assert_eq!(day(at(now), on(date), &days), want);
        }
    }
}
