//! The only caller of the clock: everywhere else the moment is a parameter.

use crate::domain::venue::Moment;
use chrono::Utc;
use std::sync::OnceLock;

/// Set this to a time with an offset (`2026-11-22T01:30:00-01:00`) and the program takes that for the moment it was
/// started; the clock runs on from there. For tests and for pictures of screens.
pub const PRETENDED: &str = "TANTALUS_NOW";

/// The moment at which this process first asked what time it is: a command is of one moment, however long it takes, so that
/// the next one sees all that it did.
pub fn started() -> Moment {
    static STARTED: OnceLock<Moment> = OnceLock::new();
    *STARTED.get_or_init(now)
}

/// The moment it is.
pub fn now() -> Moment {
    static SHIFT: OnceLock<i64> = OnceLock::new();
    let real = Moment::from_utc(Utc::now());
    let shift = SHIFT.get_or_init(|| {
        let pretended = std::env::var(PRETENDED).ok();
        let pretended = pretended.and_then(|text| chrono::DateTime::parse_from_rfc3339(&text).ok());
        pretended.map_or(0, |at| at.timestamp_millis() - real.0)
    });
    Moment(real.0 + shift)
}
