//! Numbers and dates as they are written where the program is used.
//!
//! Only the decimal mark follows the country. Thousands are set apart by a blank everywhere, as ISO 80000-1 has it: a point or
//! comma there would be the decimal mark of somebody else who works at the same bar.

use super::{Language, Speech, find};
use chrono::{NaiveDate, Weekday};
use std::borrow::Borrow;

/// A number that is written with a point, with the decimal mark of this place.
pub fn number(text: impl Into<String>) -> String {
    let text = text.into();
    if Speech::here().comma { text.replace('.', ",") } else { text }
}

/// A number with so many decimals.
pub fn fixed(value: f64, places: usize) -> String {
    number(format!("{value:.places$}"))
}

/// The same with its sign, even where that is a plus.
pub fn signed(value: f64, places: usize) -> String {
    number(format!("{value:+.places$}"))
}

/// A day by a pattern of strftime, such as `%a %-d %b`: the pattern is a text like any other, so that a language may put the parts
/// in its own order.
pub fn day(day: impl Borrow<NaiveDate>, pattern: &'static str) -> String {
    let day = day.borrow();
    match Speech::here().language {
        Language::English => day.format(pattern).to_string(),
        other => day.format_localized(find(pattern), other.calendar()).to_string(),
    }
}

/// A name or a text of somebody in the quotation marks of the language.
pub fn quoted(text: impl std::fmt::Display) -> String {
    let (before, after) = Speech::here().language.quotes();
    format!("{before}{text}{after}")
}

/// A day of the week in short: `Mon`.
pub fn weekday(weekday: Weekday) -> String {
    NaiveDate::from_isoywd_opt(2024, 1, weekday).map_or_else(String::new, |date| day(date, "%a"))
}

/// The day of a month that somebody names in the language spoken here, such as `24 dez`: as English names it, which is what dates
/// are read by. Blanks and a point behind the day do not matter.
pub fn in_english(said: &str) -> String {
    let said = said.trim().to_lowercase();
    let language = Speech::here().language;
    if language == Language::English {
        return said;
    }
    let Some((number, month)) = said.split_once([' ', '.']) else { return said };
    let month = month.trim_start_matches(['.', ' ']);
    let named = |date: &NaiveDate| {
        let name = date.format_localized("%B", language.calendar()).to_string().to_lowercase();
        month.chars().count() >= 3 && name.starts_with(month)
    };
    let months = (1..=12).filter_map(|month| NaiveDate::from_ymd_opt(2024, month, 1));
    months.into_iter().find(named).map_or(said.clone(), |date| format!("{number} {}", date.format("%b")))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn in_german<T>(act: impl FnOnce() -> T) -> T {
        Speech::of_tag("de-AT").while_in(act)
    }

    #[test]
    fn numbers_have_the_mark_of_the_place() {
        let all = || [number("12 345.67"), fixed(-0.05, 1), fixed(2.0, 0), signed(4.25, 2), signed(-1.0, 1)];
        assert_eq!(all(), ["12 345.67", "-0.1", "2", "+4.25", "-1.0"]);
        assert_eq!(in_german(all), ["12 345,67", "-0,1", "2", "+4,25", "-1,0"]);
    }

    #[test]
    fn names_have_the_quotation_marks_of_the_language() {
        assert_eq!((quoted("rum"), in_german(|| quoted("rum"))), ("“rum”".to_owned(), "„rum“".to_owned()));
    }

    /// Source of the names and their order: Unicode CLDR 49, as the reference library Babel 2.19 (Python) writes `EEE d. MMM y` and
    /// `EEEE d. MMMM` in German; the points behind what is cut short are left out for the sake of narrow columns.
    #[test]
    fn days_have_the_names_of_the_language() {
        let written = |month: u32| {
            let date = NaiveDate::from_ymd_opt(2026, month, 16).unwrap();
            [day(date, "%a %-d %b %Y"), day(date, "%A %-d %B")]
        };
        assert_eq!(written(11), ["Mon 16 Nov 2026", "Monday 16 November"]);
        for (month, want) in [
            (2, ["Mo 16. Feb 2026", "Montag, 16. Februar"]),
            (11, ["Mo 16. Nov 2026", "Montag, 16. November"]),
            (12, ["Mi 16. Dez 2026", "Mittwoch, 16. Dezember"]),
        ] {
            assert_eq!(in_german(|| written(month)), want);
        }
        assert_eq!([weekday(Weekday::Mon), weekday(Weekday::Sun)], ["Mon", "Sun"]);
        assert_eq!(in_german(|| [weekday(Weekday::Mon), weekday(Weekday::Sun)]), ["Mo", "So"]);
    }

    #[test]
    fn a_month_is_read_in_the_language_that_is_spoken() {
        for (said, want) in [
            ("24 dez", "24 Dec"),
            ("24. Dezember", "24 Dec"),
            ("3.märz", "3 Mar"),
            ("1 okt", "1 Oct"),
            ("24 nov", "24 Nov"),
            ("de 24", "de 24"),
            ("morgen", "morgen"),
            ("", ""),
        ] {
            assert_eq!(in_german(|| in_english(said)), want, "{said}");
        }
        assert_eq!(in_english("24 dez"), "24 dez");
    }
}
