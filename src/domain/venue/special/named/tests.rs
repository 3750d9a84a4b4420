//! Days by their rules, against an independent library.

use super::*;
use proptest::prelude::*;

fn day(text: &str) -> NaiveDate {
    parse_day(text).unwrap()
}

fn named(text: &str) -> NamedDay {
    NamedDay::parse(text).unwrap()
}

fn stretch(from: &str, until: &str) -> Stretch {
    Stretch::new(named(from), Some(named(until))).unwrap()
}

/// Easter Sunday of the years 1900 to 2199 as python-dateutil 2.9.0 reckons it, a letter a year: `A` is 22 March, `J` is
/// 31 March, `K` 1 April, `Z` 16 April, `a` 17 April and `i` 25 April.
const EASTERS: [&str; 3] = [
    "YQIVMgYJcUFZQBVNgRJdNFZKdVNaRJdOFZKeVGaSCWOiSKePGaSDWObTKePHaLfXHbTEXPHULfXIbTEYPcUMfQIcMEYJcUMZQIVN",
    "gYJdUFZRBVNhRJdOFZKeVNaSJdOGZKeWGaSDWOiTKePHaSDXObTLePHbLfXIbTEYPHUMfXIcTEYQcUMgQIcNEYJdUMZRIVNhYJdV",
    "GaSDWObTKePHaLfXHbTEXPHULfXIbTEYPcUMfQIcMEYJcUMZQIVNgYJdUFZRBVNhRJdOFZKeVNaSJdOGZKeWGaSDWOiTKePHaSDX",
];

#[test]
fn easter_is_what_an_independent_library_says() {
    let letters = EASTERS.iter().flat_map(|century| century.bytes());
    let mut years = 0;
    for (year, letter) in (1900..).zip(letters) {
        let after = u64::from(if letter >= b'a' { letter - b'a' + 26 } else { letter - b'A' });
        let want = NaiveDate::from_ymd_opt(year, 3, 22).unwrap() + Days::new(after);
        assert_eq!(easter(year), Some(want), "{year}");
        years += 1;
    }
    assert_eq!(years, 300);
    // From memory: the earliest and the latest that there can be, and three that many remember.
    for sunday in ["1818-03-22", "1943-04-25", "2000-04-23", "2024-03-31", "2025-04-20", "2038-04-25"] {
        assert_eq!(easter(day(sunday).year()), Some(day(sunday)));
    }
}

/// python-dateutil 2.9.0, `rrule`, yearly from 2023 to 2032.
#[test]
fn weekdays_of_a_month_are_what_an_independent_library_says() {
    for (text, days) in [
        ("last Mon of May", "05-29 05-27 05-26 05-25 05-31 05-29 05-28 05-27 05-26 05-31"),
        ("4 Thu of Nov", "11-23 11-28 11-27 11-26 11-25 11-23 11-22 11-28 11-27 11-25"),
        ("1 Mon of Sep", "09-04 09-02 09-01 09-07 09-06 09-04 09-03 09-02 09-01 09-06"),
        ("last Sun of Feb", "02-26 02-25 02-23 02-22 02-28 02-27 02-25 02-24 02-23 02-29"),
        ("last Sat of Dec", "12-30 12-28 12-27 12-26 12-25 12-30 12-29 12-28 12-27 12-25"),
        ("2 Fri of Jan", "01-13 01-12 01-10 01-09 01-08 01-14 01-12 01-11 01-10 01-09"),
    ] {
        for (year, want) in (2023..).zip(days.split(' ')) {
            assert_eq!(named(text).in_year(year), Some(day(&format!("{year}-{want}"))), "{text} {year}");
        }
    }
}

#[test]
fn days_read_back_in_one_spelling_or_are_refused() {
    for text in ["2026-12-24", "12-24", "02-29", "easter", "easter+1", "easter-80", "easter+100", "4 Thu of Nov"] {
        assert_eq!(named(text).to_string(), text);
    }
    for (loose, written) in [(" EASTER-2 ", "easter-2"), ("LAST mon OF may", "last Mon of May")] {
        assert_eq!(named(loose).to_string(), written);
    }
    let not = NamedDayError::NotADay;
    for (bad, why) in [
        ("", not),
        ("Christmas", not),
        ("24-12", not),
        ("02-30", not),
        ("4-1", not),
        ("+1-01", not),
        ("2026-02-29", not),
        ("24.12.2026", not),
        ("easter 1", not),
        ("easter+01", not),
        ("easter+0", not),
        ("easter+-1", not),
        ("easter+", not),
        ("easter+1000", not),
        ("easter-81", NamedDayError::FarFromEaster),
        ("easter+101", NamedDayError::FarFromEaster),
        ("5 Mon of May", not),
        ("0 Mon of May", not),
        ("last Monday of May", not),
        ("last Mon of Mai", not),
        ("last  Mon of May", not),
        ("last Mon in May", not),
        ("first Mon of May", not),
    ] {
        assert_eq!(NamedDay::parse(bad), Err(why), "{bad}");
    }
    let today = day("2026-11-23");
    for (said, date) in [("today", "2026-11-23"), ("fri", "2026-11-27"), ("+10", "2026-12-03"), ("12-24", "12-24")] {
        assert_eq!(NamedDay::said(said, today).unwrap().to_string(), date);
    }
    assert_eq!(NamedDay::said("someday", today), Err(not));
    assert_eq!(NamedDay::said("easter+101", today), Err(NamedDayError::FarFromEaster));
}

#[test]
fn a_leap_day_is_there_in_leap_years_only() {
    let years: Vec<i32> = (2019..2030).filter(|year| named("02-29").in_year(*year).is_some()).collect();
    assert_eq!(years, [2020, 2024, 2028]);
    let one = Stretch::of_one(named("02-29"));
    assert!(one.holds(day("2028-02-29")) && !one.holds(day("2027-02-28")) && !one.holds(day("2027-03-01")));
    // As an end of a stretch it is the end of February.
    let held = |stretch: Stretch, year: i32| {
        let first = NaiveDate::from_ymd_opt(year, 1, 1).unwrap();
        first.iter_days().take_while(|day| day.year() == year).filter(|day| stretch.holds(*day)).count()
    };
    assert_eq!([2027, 2028].map(|year| held(stretch("02-27", "02-29"), year)), [2, 3]);
    assert_eq!([2027, 2028].map(|year| held(stretch("02-29", "03-02"), year)), [2, 3]);
    assert_eq!([2027, 2028].map(|year| held(stretch("02-29", "02-29"), year)), [0, 1]);
}

#[test]
fn stretches_go_over_new_year_and_not_backwards() {
    let days = |stretch: Stretch, from: &str, until: &str| -> Vec<String> {
        stretch.between(day(from), day(until)).map(|(first, last)| format!("{first} to {last}")).collect()
    };
    let winter = stretch("12-24", "01-02");
    assert_eq!(days(winter, "2026-01-01", "2027-12-23"), ["2025-12-24 to 2026-01-02", "2026-12-24 to 2027-01-02"]);
    for (text, holds) in
        [("2026-12-23", false), ("2026-12-24", true), ("2026-12-31", true), ("2027-01-02", true), ("2027-01-03", false)]
    {
        assert_eq!(winter.holds(day(text)), holds, "{text}");
    }
    // Easter 2026 is 5 April, 2027 28 March (python-dateutil 2.9.0).
    let easters = ["2026-04-03 to 2026-04-06", "2027-03-26 to 2027-03-29"];
    assert_eq!(days(stretch("easter-2", "easter+1"), "2026-04-06", "2027-03-26"), easters);
    assert_eq!(days(stretch("2026-11-27", "2026-11-28"), "2026-11-28", "2030-01-01"), ["2026-11-27 to 2026-11-28"]);
    assert!(days(stretch("2026-11-27", "2026-11-28"), "2026-11-29", "2030-01-01").is_empty());
    assert_eq!(days(stretch("2026-12-30", "2027-12-31"), "2027-12-31", "2027-12-31").len(), 1);
    for (from, until, why) in [
        ("2026-11-28", "2026-11-27", NamedDayError::Backwards),
        ("2026-11-28", "2027-11-30", NamedDayError::TooLong),
        ("easter+1", "easter", NamedDayError::Backwards),
        ("2026-11-28", "12-24", NamedDayError::OtherForm),
        ("12-24", "easter", NamedDayError::OtherForm),
        ("last Mon of May", "last Wed of May", NamedDayError::OtherForm),
    ] {
        assert_eq!(Stretch::new(named(from), Some(named(until))), Err(why), "{from} {until}");
    }
}

proptest! {
    /// A day is in a stretch when it is in one of those that are told between two days around it.
    #[test]
    fn what_is_held_is_what_is_told(
        form in 0_usize..3, a in 0_u64..366, b in 0_u64..366, at in 0_u64..3_000,
    ) {
        let base = day("2024-01-01");
        let (one, other) = (base + Days::new(a), base + Days::new(b));
        let yearly = |d: NaiveDate| NamedDay::Yearly { month: d.month(), day: d.day() };
        let (from, until) = match form {
            0 => (NamedDay::Date(one), NamedDay::Date(one.max(other))),
            1 => (yearly(one), yearly(other)),
            _ => (NamedDay::Easter(a as i64 % 180 - 80), NamedDay::Easter((a as i64 % 180 - 80).max(b as i64 % 180 - 80))),
        };
        let stretch = Stretch::new(from, Some(until)).unwrap();
        let asked = day("2022-01-01") + Days::new(at);
        let told: Vec<_> = stretch.between(day("2021-06-01"), day("2031-06-01")).collect();
        prop_assert_eq!(stretch.holds(asked), told.iter().any(|(first, last)| (*first..=*last).contains(&asked)));
        prop_assert!(told.windows(2).all(|pair| pair[0].0 < pair[1].0));
    }

    #[test]
    fn no_text_panics(text in ".{0,24}") {
        if let Ok(read) = NamedDay::parse(&text) {
            prop_assert_eq!(NamedDay::parse(&read.to_string()), Ok(read));
        }
    }
}
