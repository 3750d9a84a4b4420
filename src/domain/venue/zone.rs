//! A time zone and an hour of the day as people write them.

use super::name_key;
use chrono::NaiveTime;
use chrono_tz::Tz;

/// Names that a message lists at most.
const LISTED: usize = 4;
/// So many letters of a city are enough.
const LETTERS: usize = 3;

/// Why a zone was refused.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ZoneError {
    /// There is none of that name.
    #[error("{}", word!("expected a large city with the same clock as the bar: Lisbon, Berlin, or in full America/New_York"))]
    Unknown,
    /// There are several that begin so.
    #[error("{}", say!("several zones begin so: {what}; type more of it", what = .0.join(", ")))]
    Several(Vec<&'static str>),
}

/// Why an hour was refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{}", word!("expected an hour of the day such as 05:00, 5 or 5:30"))]
pub struct HourError;

/// Reads a zone of the IANA database, however it is written; the city alone is enough, and of that its first letters.
///
/// # Errors
/// [`ZoneError`].
pub fn parse_zone(text: &str) -> Result<Tz, ZoneError> {
    let typed = name_key(text).replace(' ', "_");
    let whole = |zone: &Tz| zone.name().eq_ignore_ascii_case(&typed);
    if let Some(zone) = chrono_tz::TZ_VARIANTS.iter().find(|zone| whole(zone)) {
        return Ok(*zone);
    }
    // Zones without a region are old names of others.
    let cities = || chrono_tz::TZ_VARIANTS.iter().filter(|zone| zone.name().contains('/'));
    let city = |zone: &Tz| zone.name().rsplit('/').next().unwrap_or_default().to_lowercase();
    if let Some(zone) = cities().find(|zone| city(zone) == typed) {
        return Ok(*zone);
    }
    let begins = |zone: &&Tz| city(zone).starts_with(&typed) && typed.len() >= LETTERS;
    let found: Vec<&Tz> = cities().filter(begins).collect();
    match found.as_slice() {
        [] => Err(ZoneError::Unknown),
        [zone] => Ok(**zone),
        several => Err(ZoneError::Several(several.iter().take(LISTED).map(|zone| zone.name()).collect())),
    }
}

/// Reads an hour of the day: `05:00`, `5`, `5h30`, `0530`, `5.30`, `5 am`.
///
/// # Errors
/// [`HourError`].
pub fn parse_hour(text: &str) -> Result<NaiveTime, HourError> {
    let text = text.trim().to_lowercase();
    let (digits, half) = match (text.strip_suffix("am"), text.strip_suffix("pm")) {
        (Some(rest), _) => (rest.trim(), Some(0)),
        (_, Some(rest)) => (rest.trim(), Some(12)),
        _ => (text.as_str(), None),
    };
    let apart = |c: char| matches!(c, ':' | '.' | ',' | 'h' | ' ');
    let (hour, minute) = match digits.split_once(apart) {
        Some((hour, minute)) => (hour, minute.trim_end_matches('h')),
        // Three or four digits are both in one.
        None if digits.is_ascii() && (3..=4).contains(&digits.len()) => digits.split_at(digits.len() - 2),
        None => (digits, ""),
    };
    let number = |text: &str| match text.len() {
        1..=2 if text.bytes().all(|b| b.is_ascii_digit()) => text.parse::<u32>().map_err(|_| HourError),
        _ => Err(HourError),
    };
    let (hour, minute) = (number(hour)?, if minute.is_empty() { 0 } else { number(minute)? });
    let hour = match half {
        Some(half) if (1..=12).contains(&hour) => hour % 12 + half,
        Some(_) => return Err(HourError),
        None => hour,
    };
    NaiveTime::from_hms_opt(hour, minute, 0).ok_or(HourError)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hours_as_people_write_them() {
        for (text, want) in [
            ("05:00", "05:00"),
            ("5", "05:00"),
            (" 5h ", "05:00"),
            ("5h30", "05:30"),
            ("0530", "05:30"),
            ("530", "05:30"),
            ("05.00", "05:00"),
            ("5 am", "05:00"),
            ("12am", "00:00"),
            ("12:15 pm", "12:15"),
            ("0", "00:00"),
            ("23:59", "23:59"),
        ] {
            assert_eq!(parse_hour(text).map(|at| at.format("%H:%M").to_string()).as_deref(), Ok(want), "{text}");
        }
        for bad in ["", "24:00", "5:60", "-5", "five", "13 pm", "0 am", "12345", "5:5:5", "5:005", "٥"] {
            assert_eq!(parse_hour(bad), Err(HourError), "{bad}");
        }
    }

    #[test]
    fn zones_by_city_and_by_its_first_letters() {
        // Names of the IANA time zone database, which the crate carries.
        for (text, want) in [
            ("Europe/Lisbon", "Europe/Lisbon"),
            ("lisbon", "Europe/Lisbon"),
            ("lisb", "Europe/Lisbon"),
            ("new york", "America/New_York"),
            ("Atlantic/azores", "Atlantic/Azores"),
            ("utc", "UTC"),
        ] {
            assert_eq!(parse_zone(text).map(|zone| zone.name()), Ok(want), "{text}");
        }
        assert_eq!(parse_zone("Atlantis"), Err(ZoneError::Unknown));
        assert_eq!(parse_zone(""), Err(ZoneError::Unknown));
        assert!(matches!(parse_zone("san"), Err(ZoneError::Several(found)) if found.len() == LISTED));
    }
}
