//! What a copy is called: when it was made, in the bar's own time, and why. Such names sort by themselves.

use crate::domain::venue::{DayRule, Moment};
use chrono::{DateTime, FixedOffset, MappedLocalTime, NaiveDateTime, TimeZone, Timelike};
use std::fmt;

/// Why a copy was made.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Why {
    /// A count was closed.
    Closing,
    /// Somebody asked for one.
    Asked,
    /// Another copy was about to take the place of the book.
    Restore,
    /// The same, and what stood there could not be read: its files as they were.
    Damaged,
}

impl Why {
    /// Every one.
    pub const ALL: [Why; 4] = [Why::Closing, Why::Asked, Why::Restore, Why::Damaged];

    /// In words, as they stand in the name of the file.
    pub fn words(self) -> &'static str {
        match self {
            Why::Closing => "after closing",
            Why::Asked => "by hand",
            Why::Restore => "before restore",
            Why::Damaged => "damaged book",
        }
    }

    /// Whether it is one of those that are made evening after evening.
    pub fn is_routine(self) -> bool {
        matches!(self, Why::Closing | Why::Asked)
    }
}

/// Date and time of a name: without a colon, which not every disk takes.
const STAMP: &str = "%Y-%m-%dT%H%M";
/// The end of a name.
const END: &str = ".tantalus";

/// The name of a copy: `2026-11-22T0312 after closing.tantalus`. In the hour that a clock turned back repeats, the offset
/// stands behind the time; a second copy of the same minute has a number behind its words.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct CopyName {
    local: NaiveDateTime,
    offset: Option<FixedOffset>,
    /// Why it was made.
    pub why: Why,
    number: u32,
}

impl CopyName {
    /// The first name for a copy made at a moment; a moment outside the years that are known is taken as 1970.
    pub fn new(at: Moment, why: Why, days: &DayRule) -> CopyName {
        let local = at.to_utc().unwrap_or_default().with_timezone(&days.zone);
        let twice = matches!(days.zone.from_local_datetime(&local.naive_local()), MappedLocalTime::Ambiguous(..));
        let offset = twice.then(|| local.fixed_offset().timezone());
        let local = local.naive_local();
        let local = local.with_second(0).and_then(|local| local.with_nanosecond(0)).unwrap_or(local);
        CopyName { local, offset, why, number: 1 }
    }

    /// The next name for the same minute and reason.
    #[must_use]
    pub fn next(&self) -> CopyName {
        CopyName { number: self.number + 1, ..self.clone() }
    }

    /// Reads the name of a file; nothing of one that is no name of a copy to the letter.
    pub fn parse(file: &str) -> Option<CopyName> {
        let (stamp, words) = file.strip_suffix(END)?.split_once(' ')?;
        let why = Why::ALL.into_iter().find(|why| words.starts_with(why.words()))?;
        let number = match words.strip_prefix(why.words())? {
            "" => 1,
            number => number.strip_prefix(' ')?.parse().ok().filter(|n| *n > 1)?,
        };
        let (local, offset) = match NaiveDateTime::parse_from_str(stamp, STAMP) {
            Ok(local) => (local, None),
            Err(_) => {
                let at = DateTime::parse_from_str(stamp, &format!("{STAMP}%z")).ok()?;
                (at.naive_local(), Some(at.timezone()))
            }
        };
        let name = CopyName { local, offset, why, number };
        // A sign, a blank or a missing nought too many, and it is somebody else's name.
        (name.to_string() == file).then_some(name)
    }

    /// When it was made, to the minute.
    pub fn at(&self, days: &DayRule) -> Moment {
        let known = self.offset.and_then(|offset| self.local.and_local_timezone(offset).single());
        known.map_or_else(|| days.at(self.local.date(), self.local.time()), |at| Moment(at.timestamp_millis()))
    }

    /// Orders names that were given in the same zone: by time, then as they were numbered.
    pub fn order(&self, days: &DayRule) -> (Moment, u32) {
        (self.at(days), self.number)
    }
}

impl fmt::Display for CopyName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.local.format(STAMP))?;
        if let Some(offset) = self.offset {
            write!(f, "{}", offset.to_string().replace(':', ""))?;
        }
        write!(f, " {}", self.why.words())?;
        if self.number > 1 {
            write!(f, " {}", self.number)?;
        }
        f.write_str(END)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn rule(zone: &str) -> DayRule {
        DayRule { zone: zone.parse().unwrap(), starts: chrono::NaiveTime::from_hms_opt(5, 0, 0).unwrap() }
    }

    fn utc(text: &str) -> Moment {
        Moment(DateTime::parse_from_rfc3339(text).unwrap().timestamp_millis())
    }

    #[test]
    fn a_name_says_when_and_why() {
        let azores = rule("Atlantic/Azores");
        let at = utc("2026-11-22T04:12:41Z");
        let name = CopyName::new(at, Why::Closing, &azores);
        assert_eq!(name.to_string(), "2026-11-22T0312 after closing.tantalus");
        assert_eq!(name.next().to_string(), "2026-11-22T0312 after closing 2.tantalus");
        assert_eq!(name.at(&azores), utc("2026-11-22T04:12:00Z"));
        // Transitions of the IANA time zone database, Europe/Berlin: 02:30 comes twice on 25 October 2026.
        let berlin = rule("Europe/Berlin");
        let [first, second] = ["2026-10-25T00:30:00Z", "2026-10-25T01:30:00Z"].map(utc);
        let names = [first, second].map(|at| CopyName::new(at, Why::Restore, &berlin));
        assert_eq!(names[0].to_string(), "2026-10-25T0230+0200 before restore.tantalus");
        assert_eq!(names[1].to_string(), "2026-10-25T0230+0100 before restore.tantalus");
        assert_eq!(names.map(|name| name.at(&berlin)), [first, second]);
    }

    #[test]
    fn what_somebody_else_called_a_file_is_no_name_of_a_copy() {
        for file in [
            "",
            "book.tantalus",
            "2026-11-22T0312.tantalus",
            "2026-11-22T0312 after closing",
            "2026-11-22T0312 after closing 1.tantalus",
            "2026-11-22T0312 after closing 02.tantalus",
            "2026-11-22T0312 after closing +2.tantalus",
            "2026-11-22T0312 after closing old.tantalus",
            "2026-11-22T312 after closing.tantalus",
            "2026-11-22 03:12 after closing.tantalus",
            "2026-11-31T0312 after closing.tantalus",
            "2026-11-22T0312  after closing.tantalus",
            "copy of 2026-11-22T0312 after closing.tantalus",
            "2026-11-22T0312 after closing.tantalus.part-1-0",
        ] {
            assert_eq!(CopyName::parse(file), None, "{file}");
        }
    }

    proptest! {
        #[test]
        fn every_name_reads_back_and_sorts(
            ms in 1_600_000_000_000_i64..1_950_000_000_000, more in 0_i64..100_000_000_000, why in 0_usize..4, number in 0_u32..30,
            zone in prop_oneof![Just("Europe/Berlin"), Just("Atlantic/Azores"), Just("Australia/Lord_Howe"), Just("Asia/Kolkata")],
        ) {
            let days = rule(zone);
            let made = |ms| CopyName::new(Moment(ms), Why::ALL[why], &days);
            let mut name = made(ms);
            for _ in 0..number {
                name = name.next();
            }
            let text = name.to_string();
            prop_assert!(!text.contains([':', '/', '\\']));
            prop_assert_eq!(CopyName::parse(&text), Some(name.clone()));
            prop_assert_eq!(name.at(&days).0, ms - ms.rem_euclid(60_000));
            let later = made(ms + more);
            prop_assert!(later.order(&days) >= made(ms).order(&days));
        }
    }
}
