//! The business day: the evening that a sale at half past one belongs to, right across a clock change.

use crate::words;
use chrono::{
    DateTime, Datelike, Days, MappedLocalTime, NaiveDate, NaiveDateTime, NaiveTime, Offset, TimeZone, Timelike, Utc,
};
use chrono_tz::Tz;
use serde::Serialize;

/// A point in time, in milliseconds since 1970 in UTC.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(transparent)]
pub struct Moment(pub i64);

impl Moment {
    /// A day of twenty-four hours, in milliseconds.
    pub const DAY: i64 = 86_400_000;

    /// From a time of chrono.
    pub fn from_utc(at: DateTime<Utc>) -> Moment {
        Moment(at.timestamp_millis())
    }

    /// As a time of chrono; `None` outside the years it knows.
    pub fn to_utc(self) -> Option<DateTime<Utc>> {
        DateTime::from_timestamp_millis(self.0)
    }

    /// For a message that knows no zone: `2026-11-16 03:40 UTC`.
    pub fn utc(self) -> String {
        self.to_utc().map_or_else(|| word!("at no time").to_owned(), |at| at.format("%Y-%m-%d %H:%M UTC").to_string())
    }

    /// Milliseconds from `earlier` to this.
    pub fn since(self, earlier: Moment) -> i64 {
        self.0.saturating_sub(earlier.0)
    }
}

/// The rule that gives each moment its business day: a zone, and the hour at which a day begins.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DayRule {
    /// The venue's zone.
    pub zone: Tz,
    /// A business day runs from here to the next day's same hour.
    pub starts: NaiveTime,
}

/// Why a time was refused.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum TimeError {
    /// Not a time.
    #[error("{}", word!("expected a time such as 2026-11-20 01:40, or with an offset 2026-11-20T01:40:00+01:00"))]
    NotATime,
    /// The clock was turned back over it.
    #[error("{}", say!("this time happens twice in {zone}, because the clock is turned back; write it with an offset, {first} or {second}", zone, first, second))]
    Twice {
        /// The zone.
        zone: &'static str,
        /// With the first offset.
        first: String,
        /// With the second offset.
        second: String,
    },
    /// The clock was turned forward over it.
    #[error("{}", say!("this time does not exist in {zone}, because the clock is turned forward over it", zone))]
    Never {
        /// The zone.
        zone: &'static str,
    },
}

/// Reads a business day.
///
/// # Errors
/// A sentence saying what was expected.
pub fn parse_day(text: &str) -> Result<NaiveDate, TimeError> {
    let text = text.trim();
    // The reader takes a sign as well, and a year with one does not sort as text.
    let digit = |(n, byte): (usize, u8)| if matches!(n, 4 | 7) { byte == b'-' } else { byte.is_ascii_digit() };
    if text.len() != 10 || !text.bytes().enumerate().all(digit) {
        return Err(TimeError::NotATime);
    }
    NaiveDate::parse_from_str(text, "%Y-%m-%d").map_err(|_| TimeError::NotATime)
}

/// Reads a business day as a person writes it: a date as [`parse_day`] reads it, `today`, `tomorrow`, `+3` days, a weekday
/// by its first letters (the next one that comes), or `30 nov`, this year's or, where that is past, the next.
///
/// # Errors
/// A sentence saying what was expected.
pub fn said_day(text: &str, today: NaiveDate) -> Result<NaiveDate, TimeError> {
    let said = text.trim().to_lowercase();
    let ahead = |days: u64| today.checked_add_days(Days::new(days)).ok_or(TimeError::NotATime);
    if let Ok(day) = parse_day(&said) {
        return Ok(day);
    }
    if let Some(days) = said.strip_prefix('+') {
        return days.trim().parse().ok().filter(|days| *days <= 3_660).map_or(Err(TimeError::NotATime), ahead);
    }
    if is_called(&said, ["today", word!("today")]) {
        return Ok(today);
    }
    if is_called(&said, ["tomorrow", word!("tomorrow")]) {
        return ahead(1);
    }
    let mut week = today.iter_days().skip(1).take(7);
    if let Some(day) = week.find(|day| is_weekday(&said, *day)) {
        return Ok(day);
    }
    let day = of_year(&said, today.year()).filter(|day| *day >= today).or_else(|| of_year(&said, today.year() + 1));
    day.ok_or(TimeError::NotATime)
}

/// Whether three letters or more begin one of these names.
pub(super) fn is_called(said: &str, names: [&str; 2]) -> bool {
    said.len() >= 3 && names.iter().any(|name| name.starts_with(said))
}

/// The day of a year that is said as `30 nov` or `24.12.`; `24.12.2026` is of its own year.
pub(super) fn of_year(said: &str, year: i32) -> Option<NaiveDate> {
    if let Some((day, month, own)) = with_points(said) {
        return NaiveDate::from_ymd_opt(own.unwrap_or(year), month, day);
    }
    NaiveDate::parse_from_str(&format!("{} {year}", words::in_english(said)), "%d %b %Y").ok()
}

/// A day as it is written with points, the day first: `24.12.2026`, or `24.12.` without its year.
fn with_points(said: &str) -> Option<(u32, u32, Option<i32>)> {
    let mut parts = said.trim().splitn(3, '.').map(str::trim);
    let (day, month) = (parts.next()?.parse().ok()?, parts.next()?.parse().ok()?);
    match parts.next().unwrap_or_default() {
        "" => Some((day, month, None)),
        year if year.len() == 4 => Some((day, month, Some(year.parse().ok()?))),
        _ => None,
    }
}

/// Whether two letters or more begin the name of the day's weekday, in English or in the language spoken here.
pub(super) fn is_weekday(said: &str, day: NaiveDate) -> bool {
    let names = [day.format("%A").to_string(), words::day(day, "%A")];
    said.len() >= 2 && names.iter().any(|name| name.to_lowercase().starts_with(said))
}

/// Reads a naive local time: date and time apart by a blank or `T`, seconds optional.
fn parse_local(text: &str) -> Option<NaiveDateTime> {
    ["%Y-%m-%d %H:%M", "%Y-%m-%d %H:%M:%S", "%Y-%m-%dT%H:%M", "%Y-%m-%dT%H:%M:%S", "%Y-%m-%d %H:%M:%S%.3f"]
        .iter()
        .find_map(|form| NaiveDateTime::parse_from_str(text, form).ok())
}

impl DayRule {
    /// When a business day begins unless it is said: 05:00.
    pub const STARTS: NaiveTime = match NaiveTime::from_hms_opt(5, 0, 0) {
        Some(time) => time,
        None => NaiveTime::MIN,
    };

    /// Reads `2026-11-20 01:40` in the venue's zone, or RFC 3339 with an offset.
    ///
    /// # Errors
    /// [`TimeError::Twice`] and [`TimeError::Never`] inside the hour of a clock change.
    pub fn parse(&self, text: &str) -> Result<Moment, TimeError> {
        let text = text.trim();
        if let Some(local) = parse_local(text) {
            return self.resolve(local);
        }
        DateTime::parse_from_rfc3339(text).map(|at| Moment(at.timestamp_millis())).map_err(|_| TimeError::NotATime)
    }

    /// The moment of a local time.
    pub(super) fn resolve(&self, local: NaiveDateTime) -> Result<Moment, TimeError> {
        match self.zone.from_local_datetime(&local) {
            MappedLocalTime::Single(at) => Ok(Moment(at.timestamp_millis())),
            MappedLocalTime::Ambiguous(a, b) => {
                Err(TimeError::Twice { zone: self.zone.name(), first: a.to_rfc3339(), second: b.to_rfc3339() })
            }
            MappedLocalTime::None => Err(TimeError::Never { zone: self.zone.name() }),
        }
    }

    /// The same wall-clock time `days` later; a time the clock skips moves to the end of the gap, one that it repeats
    /// is taken the first time. Used to shift the demo's dates.
    pub fn shifted(&self, at: Moment, days: i64) -> Option<Moment> {
        let local = at.to_utc()?.with_timezone(&self.zone).naive_local();
        let moved = local.checked_add_signed(chrono::TimeDelta::try_days(days)?)?;
        self.first_at(moved)
    }

    /// The first moment at or after a local time.
    fn first_at(&self, local: NaiveDateTime) -> Option<Moment> {
        // A gap is at most a day long (a zone that crosses the date line); a quarter of an hour divides every offset.
        let mut probe = local;
        for _ in 0..=96 {
            match self.zone.from_local_datetime(&probe) {
                MappedLocalTime::Single(at) | MappedLocalTime::Ambiguous(at, _) => {
                    return Some(Moment(at.timestamp_millis()));
                }
                // A gap ends at a quarter of an hour, wherever in it the time is.
                MappedLocalTime::None => {
                    let past = probe.and_utc().timestamp().rem_euclid(15 * 60);
                    probe = probe.with_nanosecond(0)? + chrono::TimeDelta::seconds(15 * 60 - past);
                }
            }
        }
        None
    }

    /// The calendar date of a moment; `None` outside the years that are known.
    pub fn date_of(&self, at: Moment) -> Option<NaiveDate> {
        Some(at.to_utc()?.with_timezone(&self.zone).date_naive())
    }

    /// When a business day begins.
    pub fn begins(&self, day: NaiveDate) -> Moment {
        self.at(day, self.starts)
    }

    /// The first moment of a wall-clock time on a calendar date; a time that the clock skips is at the end of the gap.
    pub fn at(&self, date: NaiveDate, time: NaiveTime) -> Moment {
        self.first_at(date.and_time(time)).unwrap_or(Moment(date.and_time(time).and_utc().timestamp_millis()))
    }

    /// The business day of a moment.
    pub fn day_of(&self, at: Moment) -> NaiveDate {
        let Some(utc) = at.to_utc() else { return NaiveDate::default() };
        let date = utc.with_timezone(&self.zone).date_naive();
        // The beginning itself decides, not the wall clock: where the clock is turned back over it, the wall clock
        // shows the hour before the beginning a second time, inside the day that has already begun.
        if at < self.begins(date) {
            date.checked_sub_days(Days::new(1)).unwrap_or(date)
        } else {
            match date.checked_add_days(Days::new(1)) {
                Some(next) if at >= self.begins(next) => next,
                _ => date,
            }
        }
    }

    /// The wall-clock time, `2026-11-20 01:40`; with seconds only where they are not zero, with an offset where the
    /// time alone would not say which of two it is. [`DayRule::parse`] reads it back to the same moment.
    pub fn plain(&self, at: Moment) -> String {
        let Some(utc) = at.to_utc() else { return String::new() };
        let local = utc.with_timezone(&self.zone);
        if matches!(self.zone.from_local_datetime(&local.naive_local()), MappedLocalTime::Ambiguous(..)) {
            // Before zones there was the sun's time: an offset of seconds cannot be written.
            let whole = local.offset().fix().local_minus_utc() % 60 == 0;
            return if whole { local.to_rfc3339() } else { utc.to_rfc3339() };
        }
        let form = match (local.timestamp_subsec_millis(), local.second()) {
            (0, 0) => "%Y-%m-%d %H:%M",
            (0, _) => "%Y-%m-%d %H:%M:%S",
            _ => "%Y-%m-%d %H:%M:%S%.3f",
        };
        local.format(form).to_string()
    }

    /// The same to the minute, for people: nobody counts by seconds.
    pub fn minute(&self, at: Moment) -> String {
        self.plain(Moment(at.0 - at.0.rem_euclid(60_000)))
    }

    /// For a screen: `Fri 20 Nov 01:40`.
    pub fn short(&self, at: Moment) -> String {
        at.to_utc()
            .map(|utc| utc.with_timezone(&self.zone))
            .map(|local| format!("{} {}", words::day(local.date_naive(), "%a %d %b"), local.format("%H:%M")))
            .unwrap_or_default()
    }

    /// For a narrow column: `01:40`.
    pub fn clock(&self, at: Moment) -> String {
        at.to_utc().map(|utc| utc.with_timezone(&self.zone).format("%H:%M").to_string()).unwrap_or_default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn rule(zone: &str, starts: &str) -> DayRule {
        DayRule { zone: zone.parse().unwrap(), starts: NaiveTime::parse_from_str(starts, "%H:%M").unwrap() }
    }
    fn utc(text: &str) -> Moment {
        Moment(DateTime::parse_from_rfc3339(text).unwrap().timestamp_millis())
    }
    fn day(text: &str) -> NaiveDate {
        parse_day(text).unwrap()
    }

    /// Transitions of the IANA time zone database, release 2026 (tzdata package), Europe/Berlin and America/New_York.
    #[test]
    fn a_shift_across_a_clock_change_is_one_business_day() {
        for (zone, open, close, hours, want) in [
            ("Europe/Berlin", "2026-10-24T18:00:00+02:00", "2026-10-25T04:00:00+01:00", 11, "2026-10-24"),
            ("Europe/Berlin", "2026-03-28T18:00:00+01:00", "2026-03-29T04:00:00+02:00", 9, "2026-03-28"),
            ("America/New_York", "2026-10-31T18:00:00-04:00", "2026-11-01T04:00:00-05:00", 11, "2026-10-31"),
            ("America/New_York", "2026-03-07T18:00:00-05:00", "2026-03-08T04:00:00-04:00", 9, "2026-03-07"),
            ("Europe/London", "2026-10-24T18:00:00+01:00", "2026-10-25T04:00:00+00:00", 11, "2026-10-24"),
            ("Europe/Berlin", "2026-10-23T18:00:00+02:00", "2026-10-24T04:00:00+02:00", 10, "2026-10-23"),
        ] {
            let rule = rule(zone, "05:00");
            let (open, close) = (utc(open), utc(close));
            assert_eq!(close.since(open), hours * 3_600_000, "{zone}");
            assert_eq!((rule.day_of(open), rule.day_of(close)), (day(want), day(want)), "{zone}");
        }
    }

    #[test]
    fn the_repeated_hour_asks_which_and_the_skipped_hour_is_refused() {
        for (zone, local, first, second) in [
            ("Europe/Berlin", "2026-10-25 02:30", "2026-10-25T00:30:00Z", "2026-10-25T01:30:00Z"),
            ("America/New_York", "2026-11-01 01:30", "2026-11-01T05:30:00Z", "2026-11-01T06:30:00Z"),
        ] {
            let rule = rule(zone, "05:00");
            let Err(TimeError::Twice { first: a, second: b, .. }) = rule.parse(local) else { panic!("{zone} {local}") };
            assert_eq!((rule.parse(&a), rule.parse(&b)), (Ok(utc(first)), Ok(utc(second))));
            // What is written out reads back to the same one of the two.
            for at in [utc(first), utc(second)] {
                assert_eq!(rule.parse(&rule.plain(at)), Ok(at));
            }
        }
        for (zone, local) in [("Europe/Berlin", "2026-03-29 02:30"), ("America/New_York", "2026-03-08 02:30")] {
            assert!(matches!(rule(zone, "05:00").parse(local), Err(TimeError::Never { .. })), "{zone} {local}");
        }
    }

    #[test]
    fn a_day_that_begins_inside_the_clock_change_begins_once() {
        // Begins at 02:30, which Berlin repeats on 25 October: the first one is the beginning.
        let turned_back = rule("Europe/Berlin", "02:30");
        assert_eq!(turned_back.day_of(utc("2026-10-25T00:29:59Z")), day("2026-10-24"));
        assert_eq!(turned_back.day_of(utc("2026-10-25T00:30:00Z")), day("2026-10-25"));
        // 02:10 for the second time: the wall clock shows less than 02:30, yet the day has begun.
        assert_eq!(turned_back.day_of(utc("2026-10-25T01:10:00Z")), day("2026-10-25"));
        // Skipped on 29 March: the day begins where the gap ends, at 03:00 summer time (01:00 UTC); so it does for every
        // time in the gap.
        for skipped in ["02:00", "02:07", "02:30", "02:59"] {
            assert_eq!(
                rule("Europe/Berlin", skipped).begins(day("2026-03-29")),
                utc("2026-03-29T01:00:00Z"),
                "{skipped}"
            );
        }
        assert_eq!(turned_back.begins(day("2026-03-29")), utc("2026-03-29T01:00:00Z"));
        assert_eq!(turned_back.day_of(utc("2026-03-29T00:59:59Z")), day("2026-03-28"));
    }

    #[test]
    fn a_sale_at_half_past_one_belongs_to_the_evening_before() {
        let rule = rule("Atlantic/Azores", "05:00");
        assert_eq!(rule.day_of(rule.parse("2026-11-21 01:30").unwrap()), day("2026-11-20"));
        assert_eq!(rule.day_of(rule.parse("2026-11-21 05:00").unwrap()), day("2026-11-21"));
        for bad in ["", "yesterday", "2026-13-01 10:00", "2026-11-21 25:00", "21/11/2026 10:00", "2026-11-21"] {
            assert_eq!(rule.parse(bad), Err(TimeError::NotATime), "{bad}");
        }
    }

    #[test]
    fn people_are_told_the_minute() {
        let rule = rule("Europe/Berlin", "05:00");
        assert_eq!(rule.minute(Moment(utc("2026-11-20T00:40:59+00:00").0 + 999)), "2026-11-20 01:40");
        // Where an hour happens twice, which of the two is said all the same.
        assert_eq!(rule.minute(utc("2026-10-25T01:30:12+00:00")), "2026-10-25T02:30:00+01:00");
    }

    /// IANA time zone database, file northamerica: New York kept its own time, -4:56:02, until 18 November 1883 (from memory).
    #[test]
    fn the_sun_s_own_time_is_read_back() {
        let rule = rule("America/New_York", "05:00");
        for at in ["1883-11-18T12:00:00+00:00", "1883-11-18T16:58:00+00:00", "1883-11-18T17:01:00+00:00"] {
            assert_eq!(rule.parse(&rule.plain(utc(at))), Ok(utc(at)), "{at}");
        }
        assert_eq!(rule.plain(utc("1883-11-18T12:00:00+00:00")), "1883-11-18 07:03:58");
        assert_eq!(rule.plain(utc("1883-11-18T16:58:00+00:00")), "1883-11-18T16:58:00+00:00");
    }

    proptest! {
        #[test]
        fn a_moment_of_any_year_in_any_zone_is_read_back(ms in -60_000_000_000_000_i64..60_000_000_000_000, zone in 0..chrono_tz::TZ_VARIANTS.len()) {
            let rule = DayRule { zone: chrono_tz::TZ_VARIANTS[zone], starts: NaiveTime::MIN };
            for at in [Moment(ms), Moment(ms - ms.rem_euclid(60_000))] {
                prop_assert_eq!(rule.parse(&rule.plain(at)), Ok(at), "{} {}", rule.zone, rule.plain(at));
            }
        }

        #[test]
        fn every_moment_lies_in_its_business_day(ms in 1_600_000_000_000_i64..1_950_000_000_000, hour in 0_u32..24, zone in prop_oneof![
            Just("Europe/Berlin"), Just("America/New_York"), Just("Atlantic/Azores"), Just("Australia/Lord_Howe"), Just("Asia/Kolkata")]) {
            let rule = DayRule { zone: zone.parse().unwrap(), starts: NaiveTime::from_hms_opt(hour, 30, 0).unwrap() };
            let at = Moment(ms);
            let day = rule.day_of(at);
            prop_assert!(rule.begins(day) <= at);
            prop_assert!(at < rule.begins(day + Days::new(1)));
            prop_assert_eq!(rule.parse(&rule.plain(at)), Ok(at));
        }
    }
}
