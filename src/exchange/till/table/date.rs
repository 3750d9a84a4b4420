//! Days and times as tills write them: `20.11.26`, `11/20/2026`, `Fri 20 Nov 2026`, `9:14 pm`, `21h14`,
//! `2026-11-20T21:14:05+01:00`.

use crate::domain::till::{DateOrder, folded};
use chrono::{NaiveDate, NaiveTime};

/// A date of which the order of its numbers may not be known yet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Parts {
    /// It can only be this day.
    Day(NaiveDate),
    /// Two numbers before a year: which is the month?
    Two(u32, u32, i32),
}

impl Parts {
    /// The day, by an order where it takes one.
    pub(super) fn day(self, order: DateOrder) -> Option<NaiveDate> {
        match self {
            Parts::Day(day) => Some(day),
            Parts::Two(a, b, year) => match order {
                DateOrder::DayFirst => NaiveDate::from_ymd_opt(year, b, a),
                DateOrder::MonthFirst => NaiveDate::from_ymd_opt(year, a, b),
                DateOrder::YearFirst => None,
            },
        }
    }
}

/// Beginnings of the names of months in English, German, French, Spanish, Italian, Portuguese, Danish, Norwegian, Swedish
/// and Dutch, accents stripped.
const MONTHS: &[(&str, u32)] = &[
    ("jan", 1),
    ("ene", 1),
    ("gen", 1),
    ("feb", 2),
    ("fev", 2),
    ("mar", 3),
    ("maa", 3),
    ("mrt", 3),
    ("apr", 4),
    ("avr", 4),
    ("abr", 4),
    ("may", 5),
    ("mai", 5),
    ("mag", 5),
    ("maj", 5),
    ("mei", 5),
    ("jun", 6),
    ("juin", 6),
    ("giu", 6),
    ("jul", 7),
    ("juil", 7),
    ("lug", 7),
    ("aug", 8),
    ("aou", 8),
    ("ago", 8),
    ("sep", 9),
    ("set", 9),
    ("oct", 10),
    ("okt", 10),
    ("ott", 10),
    ("out", 10),
    ("nov", 11),
    ("dec", 12),
    ("dez", 12),
    ("dic", 12),
    ("des", 12),
];

/// Beginnings of the names of weekdays in the same languages.
const WEEKDAYS: &[&str] = &[
    "mon", "tue", "wed", "thu", "fri", "sat", "sun", "mo", "di", "mi", "do", "fr", "sa", "so", "lun", "mar", "mer",
    "jeu", "ven", "dim", "jue", "vie", "sab", "dom", "gio", "seg", "ter", "qua", "qui", "sex", "man", "tir", "ons",
    "tor", "lor", "ma", "wo", "vr", "za", "zo", "mie", "son", "tis", "fre", "die", "mit", "don", "zat", "zon", "woe",
    "din", "vri", "maa",
];

fn month(word: &str) -> Option<u32> {
    let word = folded(word);
    (word.len() >= 3 && word.len() <= 10)
        .then(|| MONTHS.iter().rev().find(|(start, _)| word.starts_with(start)).map(|(_, month)| *month))
        .flatten()
}

fn is_weekday(word: &str) -> bool {
    let word = folded(word);
    (2..=13).contains(&word.len())
        && WEEKDAYS.iter().any(|day| if day.len() < 3 { word == *day } else { word.starts_with(day) })
}

/// Years before this one sold nothing that a book of today holds.
const FIRST: i32 = 1990;

fn year(digits: &str) -> Option<i32> {
    let year: i32 = digits.parse().ok()?;
    match digits.len() {
        2 => Some(2000 + year),
        4 => (FIRST..=2199).contains(&year).then_some(year),
        _ => None,
    }
}

/// Reads a date alone.
pub(super) fn date(text: &str) -> Option<Parts> {
    let text = text.trim();
    if text.len() > 40 || !text.bytes().any(|b| b.is_ascii_digit()) {
        return None;
    }
    if let [y1, y2, y3, y4, b'-', m1, m2, b'-', d1, d2] = text.as_bytes() {
        let value = |digits: &[u8]| {
            digits.iter().try_fold(0_u32, |n, b| b.is_ascii_digit().then(|| n * 10 + u32::from(b - b'0')))
        };
        let year = i32::try_from(value(&[*y1, *y2, *y3, *y4])?).ok().filter(|y| (FIRST..=2199).contains(y))?;
        return NaiveDate::from_ymd_opt(year, value(&[*m1, *m2])?, value(&[*d1, *d2])?).map(Parts::Day);
    }
    if let Some(two) = short(text.as_bytes()) {
        return two;
    }
    if text.len() == 8 && text.bytes().all(|b| b.is_ascii_digit()) {
        let part = |from: usize, to: usize| text[from..to].parse().ok();
        return NaiveDate::from_ymd_opt(year(&text[..4])?, part(4, 6)?, part(6, 8)?).map(Parts::Day);
    }
    let apart = |c: char| c.is_whitespace() || matches!(c, '.' | '/' | '-' | ',' | '_');
    let mut words = [""; 6];
    let mut count = 0;
    for word in text.split(apart).filter(|w| !w.is_empty()) {
        *words.get_mut(count)? = word;
        count += 1;
    }
    let mut words = &words[..count];
    let numeric = |word: &str| !word.is_empty() && word.bytes().all(|b| b.is_ascii_digit());
    // The name of the day says nothing new.
    if words.len() > 3 && words.last().is_some_and(|w| is_weekday(w)) {
        words = &words[..words.len() - 1];
    }
    while words.len() > 3 && words.first().is_some_and(|w| !numeric(w)) && is_weekday(words[0]) {
        words = &words[1..];
    }
    // `20 de noviembre de 2026`, `the 20th`.
    let small: Vec<&str> = words
        .iter()
        .copied()
        .filter(|w| !matches!(w.to_lowercase().as_str(), "de" | "of" | "del" | "den" | "the"))
        .collect();
    let [a, b, c] = small[..] else { return None };
    let ordinal = |word: &str| -> Option<u32> {
        let digits = word.trim_end_matches(|c: char| c.is_alphabetic() || c == 'º');
        let tail = &word[digits.len()..];
        if !matches!(tail, "" | "st" | "nd" | "rd" | "th" | "er" | "º" | "o") || digits.len() > 2 {
            return None;
        }
        digits.parse().ok()
    };
    if numeric(a) && numeric(b) && numeric(c) {
        if a.len() == 4 {
            return NaiveDate::from_ymd_opt(year(a)?, small_number(b)?, small_number(c)?).map(Parts::Day);
        }
        let (a, b, year) = (small_number(a)?, small_number(b)?, year(c)?);
        let possible = NaiveDate::from_ymd_opt(year, a, b).is_some() || NaiveDate::from_ymd_opt(year, b, a).is_some();
        return possible.then_some(Parts::Two(a, b, year));
    }
    if let (Some(day), Some(month)) = (ordinal(a), month(b).filter(|_| !numeric(b))) {
        return NaiveDate::from_ymd_opt(year(c).filter(|_| numeric(c))?, month, day).map(Parts::Day);
    }
    if let (Some(month), Some(day)) = (month(a).filter(|_| !numeric(a)), ordinal(b)) {
        return NaiveDate::from_ymd_opt(year(c).filter(|_| numeric(c))?, month, day).map(Parts::Day);
    }
    None
}

/// Whether a text is written as a date, though the calendar may have no such day: `31.11.2026`, `31 Nov 2026`.
pub(super) fn is_written_as_date(text: &str) -> bool {
    let text = text.trim();
    let mut words = text.split(|c: char| c.is_whitespace() || matches!(c, '.' | '-' | ',')).filter(|w| !w.is_empty());
    if let (Some(a), Some(b), Some(c), None) = (words.next(), words.next(), words.next(), words.next()) {
        let figures = |word: &str, most: usize| word.len() <= most && word.bytes().all(|b| b.is_ascii_digit());
        let named = |day: &str, name: &str| figures(day, 2) && month(name).is_some();
        if figures(c, 4) && (named(a, b) || named(b, a)) {
            return true;
        }
    }
    let Some(mark) = text.chars().find(|c| !c.is_ascii_digit()).filter(|c| matches!(c, '.' | '/' | '-')) else {
        return false;
    };
    let mut parts = [0; 3];
    let mut count = 0;
    for part in text.split(mark) {
        let Some(length) = parts.get_mut(count).filter(|_| part.bytes().all(|b| b.is_ascii_digit())) else {
            return false;
        };
        *length = part.len();
        count += 1;
    }
    count == 3 && matches!(parts, [1 | 2, 1 | 2, 2 | 4] | [4, 1 | 2, 1 | 2])
}

/// Whether a text is written as a time of day, though no clock may show it: `24:10`.
pub(super) fn is_written_as_time(text: &str) -> bool {
    let text = text.trim();
    let two = |part: &str, least: usize| (least..=2).contains(&part.len()) && part.bytes().all(|b| b.is_ascii_digit());
    let mut parts = text.split(':');
    parts.next().is_some_and(|hour| two(hour, 1))
        && parts.next().is_some_and(|minute| two(minute, 2))
        && parts.next().is_none_or(|second| two(second, 2))
        && parts.next().is_none()
}

/// The same of a date and a time in one.
pub(super) fn is_written_as_date_time(text: &str) -> bool {
    let halves = text.trim().split_once(['T', ' ']);
    halves.is_some_and(|(date, time)| is_written_as_date(date) && is_written_as_time(time.get(..5).unwrap_or(time)))
}

/// The commonest form, `20.11.2026`: two digits, two digits, a year of four; none where it is another form.
fn short(text: &[u8]) -> Option<Option<Parts>> {
    let [a1, a2, mark, b1, b2, again, year @ ..] = text else { return None };
    let value =
        |digits: &[u8]| digits.iter().try_fold(0_u32, |n, b| b.is_ascii_digit().then(|| n * 10 + u32::from(b - b'0')));
    if year.len() != 4 || mark != again || !matches!(mark, b'.' | b'/' | b'-') {
        return None;
    }
    let (a, b, year) = (value(&[*a1, *a2])?, value(&[*b1, *b2])?, value(year)? as i32);
    let possible = (FIRST..=2199).contains(&year)
        && (NaiveDate::from_ymd_opt(year, a, b).is_some() || NaiveDate::from_ymd_opt(year, b, a).is_some());
    Some(possible.then_some(Parts::Two(a, b, year)))
}

fn small_number(word: &str) -> Option<u32> {
    (word.len() <= 2).then(|| word.parse().ok()).flatten()
}

/// Reads a time of day. `21.14` is one only where the column is known to hold times (`dots`).
pub(super) fn time(text: &str, dots: bool) -> Option<NaiveTime> {
    let text = text.trim();
    if text.len() > 24 || !text.starts_with(|c: char| c.is_ascii_digit()) {
        return None;
    }
    // The commonest form.
    if let [a, b, b':', c, d] = text.as_bytes() {
        let two = |a: &u8, b: &u8| {
            (a.is_ascii_digit() && b.is_ascii_digit()).then(|| u32::from(a - b'0') * 10 + u32::from(b - b'0'))
        };
        return NaiveTime::from_hms_opt(two(a, b)?, two(c, d)?, 0);
    }
    let end = text.find(|c: char| !(c.is_ascii_digit() || matches!(c, ':' | '.' | 'h'))).unwrap_or(text.len());
    let (clock, tail) = text.split_at(end);
    let half = match folded(tail).replace(' ', "").as_str() {
        "" | "uhr" => None,
        "am" | "a" => Some(0),
        "pm" | "p" => Some(12),
        _ => return None,
    };
    let marks: &[char] = if dots { &[':', '.', 'h'] } else { &[':', 'h'] };
    let mut parts = clock.splitn(3, marks);
    let hour: u32 = two(parts.next()?)?;
    let minute = match parts.next() {
        Some("") if clock.ends_with('h') => 0,
        Some(minute) if minute.len() == 2 => two(minute)?,
        None if half.is_some() => 0,
        _ => return None,
    };
    let (second, milli) = match parts.next() {
        Some(second) => {
            let (second, fraction) = second.split_once('.').unwrap_or((second, ""));
            if second.len() != 2 || !fraction.bytes().all(|b| b.is_ascii_digit()) {
                return None;
            }
            let thousandths: String = fraction.chars().chain("000".chars()).take(3).collect();
            (two(second)?, thousandths.parse().ok()?)
        }
        None => (0, 0),
    };
    let hour = match half {
        None => hour,
        Some(_) if !(1..=12).contains(&hour) => return None,
        Some(half) => hour % 12 + half,
    };
    NaiveTime::from_hms_milli_opt(hour, minute, second, milli)
}

fn two(digits: &str) -> Option<u32> {
    (matches!(digits.len(), 1 | 2) && digits.bytes().all(|b| b.is_ascii_digit())).then(|| digits.parse().ok()).flatten()
}

/// A date and a time, and what the time is ahead of UTC, in seconds, where it says so.
pub(super) type Whole = (Parts, NaiveTime, Option<i32>);

/// Reads a date and a time in one.
pub(super) fn date_time(text: &str) -> Option<Whole> {
    let text = text.trim();
    if text.len() > 60 {
        return None;
    }
    let joint = |(at, c): (usize, char)| {
        let before = text[..at].chars().next_back().is_some_and(|c| c.is_ascii_digit());
        let after = text[at + c.len_utf8()..].chars().next().is_some_and(|c| c.is_ascii_digit());
        (c == 'T' && before && after) || c.is_whitespace() || c == ','
    };
    // The time has no blank inside but before `pm`: the joint is one of the last.
    for (at, c) in text.char_indices().filter(|found| joint(*found)) {
        let (left, right) = (text[..at].trim_end_matches(','), text[at + c.len_utf8()..].trim());
        let (clock, ahead) = offset(right);
        // A dot between hour and minute is known by the date before it.
        let Some(time) = time(clock, true) else { continue };
        if let Some(date) = date(left) {
            return Some((date, time, ahead));
        }
    }
    None
}

/// A time and what stands after it: `Z`, `+01:00`, `-0500`.
fn offset(text: &str) -> (&str, Option<i32>) {
    if let Some(clock) = text.strip_suffix('Z') {
        return (clock, Some(0));
    }
    let Some(at) = text.rfind(['+', '-']).filter(|at| *at >= 4) else { return (text, None) };
    let digits: String = text[at + 1..].chars().filter(|c| *c != ':').collect();
    if !matches!(digits.len(), 2 | 4) || !digits.bytes().all(|b| b.is_ascii_digit()) {
        return (text, None);
    }
    let part = |range: std::ops::Range<usize>| digits.get(range).and_then(|d| d.parse::<i32>().ok()).unwrap_or(0);
    let seconds = part(0..2) * 3_600 + part(2..4) * 60;
    if seconds > 15 * 3_600 {
        return (text, None);
    }
    (text[..at].trim_end(), Some(if text.as_bytes()[at] == b'-' { -seconds } else { seconds }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn day(text: &str) -> NaiveDate {
        NaiveDate::parse_from_str(text, "%Y-%m-%d").unwrap()
    }

    #[test]
    fn days_as_tills_write_them() {
        use DateOrder::{DayFirst, MonthFirst, YearFirst};
        let november = Some(day("2026-11-20"));
        for (text, order, want) in [
            ("2026-11-20", DayFirst, november),
            ("2026/11/20", YearFirst, november),
            ("20261120", YearFirst, november),
            ("20.11.2026", DayFirst, november),
            ("20.11.26", DayFirst, november),
            ("20-11-2026", DayFirst, november),
            ("11/20/2026", MonthFirst, november),
            ("11/20/26", MonthFirst, november),
            ("20/11/2026", MonthFirst, None),
            ("20/11/2026", YearFirst, None),
            ("Fri 20 Nov 2026", DayFirst, november),
            ("Freitag, 20. November 2026", DayFirst, november),
            ("vendredi 20 novembre 2026", DayFirst, november),
            ("20 de noviembre de 2026", DayFirst, november),
            ("Nov 20, 2026", DayFirst, november),
            ("November 20th, 2026", DayFirst, november),
            ("20-Nov-26", DayFirst, november),
            ("1er août 2026", DayFirst, Some(day("2026-08-01"))),
            ("12 dicembre 2026", DayFirst, Some(day("2026-12-12"))),
            ("3. mai 2026", DayFirst, Some(day("2026-05-03"))),
            ("14 juillet 2026", DayFirst, Some(day("2026-07-14"))),
            ("14 juin 2026", DayFirst, Some(day("2026-06-14"))),
            ("vr 20-11-2026", DayFirst, november),
            ("31.02.2026", DayFirst, None),
            ("2026-13-01", DayFirst, None),
            ("46345", DayFirst, None),
            ("20.11.", DayFirst, None),
            ("12.50", DayFirst, None),
            ("1.2.3", DayFirst, None),
            ("Gin 20 2026", DayFirst, None),
            ("", DayFirst, None),
        ] {
            assert_eq!(date(text).and_then(|d| d.day(order)), want, "{text}");
        }
    }

    #[test]
    fn times_as_tills_write_them() {
        let at = |h, m, s| NaiveTime::from_hms_opt(h, m, s);
        for (text, dots, want) in [
            ("21:14", false, at(21, 14, 0)),
            ("21:14:05", false, at(21, 14, 5)),
            ("9:14 PM", false, at(21, 14, 0)),
            ("9:14pm", false, at(21, 14, 0)),
            ("12:05 a.m.", false, at(0, 5, 0)),
            ("12:05 PM", false, at(12, 5, 0)),
            ("9 PM", false, at(21, 0, 0)),
            ("21h14", false, at(21, 14, 0)),
            ("21h", false, at(21, 0, 0)),
            ("21:14 Uhr", false, at(21, 14, 0)),
            ("21.14", true, at(21, 14, 0)),
            ("21.14", false, None),
            ("13:05 PM", false, None),
            ("24:00", false, None),
            ("21:60", false, None),
            ("21", false, None),
            ("21:1", false, None),
        ] {
            assert_eq!(time(text, dots), want, "{text}");
        }
        assert_eq!(time("21:14:05.250", false), NaiveTime::from_hms_milli_opt(21, 14, 5, 250));
    }

    #[test]
    fn days_and_times_in_one() {
        let at = |h, m, s| NaiveTime::from_hms_opt(h, m, s).unwrap();
        for (text, want) in [
            ("2026-11-20T21:14:05", Some((Parts::Day(day("2026-11-20")), at(21, 14, 5), None))),
            ("2026-11-20T21:14:05Z", Some((Parts::Day(day("2026-11-20")), at(21, 14, 5), Some(0)))),
            ("2026-11-20 21:14:05+01:00", Some((Parts::Day(day("2026-11-20")), at(21, 14, 5), Some(3_600)))),
            ("2026-11-20T21:14-0530", Some((Parts::Day(day("2026-11-20")), at(21, 14, 0), Some(-19_800)))),
            ("20.11.2026 21:14", Some((Parts::Two(20, 11, 2026), at(21, 14, 0), None))),
            ("20.11.2026, 21.14", Some((Parts::Two(20, 11, 2026), at(21, 14, 0), None))),
            ("11/20/2026 9:14 PM", Some((Parts::Two(11, 20, 2026), at(21, 14, 0), None))),
            ("Fri, 20 Nov 2026 21:14", Some((Parts::Day(day("2026-11-20")), at(21, 14, 0), None))),
            ("2026-11-20", None),
            ("21:14", None),
            ("Gin 2 4", None),
        ] {
            assert_eq!(date_time(text), want, "{text}");
        }
    }

    proptest! {
        #[test]
        fn any_cell_is_read_or_refused(cell in ".{0,60}") {
            let _ = (date(&cell), time(&cell, true), date_time(&cell));
        }

        #[test]
        fn what_is_written_is_read(days in 0_i64..20_000, seconds in 0_u32..86_400, form in 0_usize..8) {
            let day = NaiveDate::from_ymd_opt(2000, 1, 1).unwrap() + chrono::Days::new(days as u64);
            let clock = NaiveTime::from_num_seconds_from_midnight_opt(seconds, 0).unwrap();
            let (shape, order) = [
                ("%Y-%m-%d %H:%M:%S", DateOrder::YearFirst), ("%d.%m.%Y %H:%M:%S", DateOrder::DayFirst),
                ("%m/%d/%Y %I:%M:%S %p", DateOrder::MonthFirst), ("%d/%m/%y %H:%M:%S", DateOrder::DayFirst),
                ("%Y-%m-%dT%H:%M:%S", DateOrder::YearFirst), ("%a %d %b %Y %H:%M:%S", DateOrder::DayFirst),
                ("%A, %B %e, %Y %l:%M:%S %P", DateOrder::MonthFirst), ("%Y/%m/%d, %H:%M:%S", DateOrder::YearFirst),
            ][form];
            let text = day.and_time(clock).format(shape).to_string();
            let read = date_time(&text).map(|(parts, time, _)| (parts.day(order), time));
            prop_assert_eq!(read, Some((Some(day), clock)), "{}", text);
        }
    }
}
