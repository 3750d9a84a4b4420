//! Times in the zone of the bar, read fast: where an hour begins is looked up once and remembered.

use crate::domain::venue::Moment;
use chrono::{MappedLocalTime, NaiveDate, TimeZone};
use chrono_tz::Tz;
use std::collections::HashMap;

/// The hours met so far. One of these serves one zone.
#[derive(Clone, Debug)]
pub(in crate::exchange) struct Hours {
    last: (u64, Option<i64>),
    hours: HashMap<u64, Option<i64>>,
}

impl Default for Hours {
    fn default() -> Hours {
        Hours { last: (u64::MAX, None), hours: HashMap::new() }
    }
}

impl Hours {
    /// `2026-11-20 01:40`, `2026-11-20 01:40:12` or `2026-11-20 01:40:12.345` in the zone of the bar; nothing for any
    /// other form, and for an hour in which the clock is turned: those are left to the careful way.
    pub(in crate::exchange) fn time(&mut self, zone: Tz, text: &[u8]) -> Option<Moment> {
        let (text, thousandths) = match text {
            [text @ .., b'.', a, b, c] if text.len() == 19 => (text, two(*a, *b)? * 10 + two(b'0', *c)?),
            _ => (text, 0),
        };
        let seconds = match text {
            [.., b':', a, b] if text.len() == 19 => two(*a, *b).filter(|s| *s < 60)?,
            _ if text.len() == 16 => 0,
            _ => return None,
        };
        let [y1, y2, y3, y4, b'-', m1, m2, b'-', d1, d2, b' ', h1, h2, b':', n1, n2, ..] = *text else { return None };
        let year = two(y1, y2)? * 100 + two(y3, y4)?;
        let (month, day, hour) = (two(m1, m2)?, two(d1, d2)?, two(h1, h2)?);
        let minute = two(n1, n2).filter(|m| *m < 60)?;
        let key = ((year * 100 + month) * 100 + day) * 100 + hour;
        if self.last.0 != key {
            let begins = *self.hours.entry(key).or_insert_with(|| hour_begins(zone, year, month, day, hour));
            self.last = (key, begins);
        }
        let begins = self.last.1?;
        Some(Moment(begins + (minute * 60_000 + seconds * 1_000 + thousandths) as i64))
    }
}

/// When an hour of the wall clock begins; `None` when it is no hour, or the clock is turned within it: then each time
/// in it has to be looked at by itself.
fn hour_begins(zone: Tz, year: u64, month: u64, day: u64, hour: u64) -> Option<i64> {
    let date = NaiveDate::from_ymd_opt(i32::try_from(year).ok()?, month as u32, day as u32)?;
    let single = |minute, second| match zone.from_local_datetime(&date.and_hms_opt(hour as u32, minute, second)?) {
        MappedLocalTime::Single(at) => Some(at.timestamp_millis()),
        _ => None,
    };
    let (first, last) = (single(0, 0)?, single(59, 59)?);
    (last - first == 3_599_000).then_some(first)
}

fn two(a: u8, b: u8) -> Option<u64> {
    (a.is_ascii_digit() && b.is_ascii_digit()).then(|| u64::from(a - b'0') * 10 + u64::from(b - b'0'))
}
