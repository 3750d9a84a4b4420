//! Days, weeks and moments of the invented island, with its clock change.

use chrono::{Days, Duration, NaiveDate, NaiveDateTime, Timelike, Weekday};

/// The business day of the opening count, a Sunday.
pub(crate) const OPENING: (i32, u32, u32) = (2026, 8, 30);
pub(crate) const WEEKS: u32 = 11;

pub(crate) fn date((year, month, day): (i32, u32, u32)) -> NaiveDate {
    NaiveDate::from_ymd_opt(year, month, day).expect("a date of the calendar")
}

/// A day of a week: week 1 begins the Monday after the opening count; Monday is day 0.
pub(crate) fn day_of(week: u32, day: i64) -> NaiveDate {
    date(OPENING) + Days::new(1 + 7 * u64::from(week - 1) + day.unsigned_abs())
}

/// An instant, in UTC.
///
/// The Azores are at UTC in summer and one hour behind from 2026-10-25 01:00 UTC, so the local
/// hour from midnight to one comes twice that night. One rule is enough for eleven weeks, and
/// spares the generator a time zone database.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Moment(NaiveDateTime);

fn clock_change() -> NaiveDateTime {
    date((2026, 10, 25)).and_hms_opt(1, 0, 0).expect("one o'clock exists")
}

impl Moment {
    /// A local time on a business day; hours past 24 are the night after it. Of a repeated hour
    /// this is the first.
    pub(crate) fn local(day: NaiveDate, hour: i64, minute: i64) -> Moment {
        let local = day.and_time(chrono::NaiveTime::MIN) + Duration::minutes(hour * 60 + minute);
        if local < clock_change() { Moment(local) } else { Moment(local + Duration::hours(1)) }
    }

    pub(crate) fn plus_seconds(self, seconds: i64) -> Moment {
        Moment(self.0 + Duration::seconds(seconds))
    }

    pub(crate) fn plus_minutes(self, minutes: i64) -> Moment {
        self.plus_seconds(minutes * 60)
    }

    pub(crate) fn seconds_since(self, earlier: Moment) -> i64 {
        (self.0 - earlier.0).num_seconds()
    }

    fn in_local(self) -> NaiveDateTime {
        if self.0 < clock_change() { self.0 } else { self.0 - Duration::hours(1) }
    }

    /// Local time to the minute, with its offset where the clock says the same hour twice.
    pub(crate) fn to_minute(self) -> String {
        self.write("%Y-%m-%d %H:%M", false)
    }

    /// The same to the second; for lines that follow each other within a minute.
    pub(crate) fn to_second(self) -> String {
        self.write("%Y-%m-%d %H:%M:%S", true)
    }

    fn write(self, pattern: &str, seconds: bool) -> String {
        let local = self.in_local();
        let repeated = local.date() == clock_change().date() && local.hour() == 0;
        if !repeated {
            return local.format(pattern).to_string();
        }
        let local = if seconds { local } else { local.with_second(0).expect("every minute begins") };
        let offset = if self.0 < clock_change() { "+00:00" } else { "-01:00" };
        format!("{}{offset}", local.format("%Y-%m-%dT%H:%M:%S"))
    }
}

/// A night of trade.
#[derive(Clone, Copy)]
pub(crate) struct Night {
    pub day: NaiveDate,
    pub week: u32,
    /// Monday is 0; the bar is closed then.
    pub weekday: i64,
    pub opens: Moment,
    /// The last sale.
    pub closes: Moment,
}

impl Night {
    pub(crate) fn of(week: u32, weekday: i64) -> Night {
        let day = day_of(week, weekday);
        let late = matches!(chrono::Datelike::weekday(&day), Weekday::Fri | Weekday::Sat);
        Night {
            day,
            week,
            weekday,
            opens: Moment::local(day, 17, 0),
            closes: if late { Moment::local(day, 26, 30) } else { Moment::local(day, 25, 45) },
        }
    }
}
