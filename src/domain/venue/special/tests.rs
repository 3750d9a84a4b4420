//! What falls on a day.

use super::*;
use proptest::prelude::*;

fn day(text: &str) -> NaiveDate {
    parse_day(text).unwrap()
}

fn special(id: i64, from: &str, until: &str, what: &str, effect: DayEffect) -> SpecialDay {
    let until = Some(until).filter(|until| !until.is_empty()).map(|until| NamedDay::parse(until).unwrap());
    let days = Stretch::new(NamedDay::parse(from).unwrap(), until).unwrap();
    SpecialDay { id: SpecialDayId(id), days, what: what.to_owned(), effect }
}

fn demand(text: &str) -> DayEffect {
    DayEffect::Demand(Factor::parse(text).unwrap())
}

fn bar() -> SpecialDays {
    let van = SupplierId(7);
    let by = OrderBy::parse("2026-12-28 10:00").unwrap();
    SpecialDays::new(vec![
        special(1, "12-31", "", "New year's eve", demand("2.5")),
        special(2, "12-27", "01-06", "The quiet days", demand("0.8")),
        special(3, "12-24", "12-25", "Christmas", demand("closed")),
        special(4, "12-25", "", "A party next door", demand("3")),
        special(5, "12-24", "01-02", "Their holidays", DayEffect::SupplierClosed(van)),
        special(6, "2026-12-29", "", "A van besides", DayEffect::ExtraVan { supplier: van, by }),
    ])
}

#[test]
fn factors_multiply_and_closed_wins() {
    let bar = bar();
    for (on, factor, names) in [
        ("2026-12-23", 1.0, &[][..]),
        ("2026-12-24", 0.0, &["Christmas"]),
        ("2026-12-25", 0.0, &["Christmas", "A party next door"]),
        ("2026-12-26", 1.0, &[]),
        ("2026-12-30", 0.8, &["The quiet days"]),
        ("2026-12-31", 2.0, &["The quiet days", "New year's eve"]),
        ("2027-01-06", 0.8, &["The quiet days"]),
        ("2027-01-07", 1.0, &[]),
    ] {
        assert!((bar.factor(day(on)) - factor).abs() < 1e-12, "{on}");
        assert_eq!(bar.names(day(on)), names, "{on}");
        assert_eq!(bar.closed(day(on)), factor == 0.0, "{on}");
    }
    assert_eq!((bar.factors(day("2026-12-31"), 0).len(), SpecialDays::default().factor(day("2026-12-31"))), (0, 1.0));
}

#[test]
fn what_is_coming_is_told_by_stretches() {
    let bar = bar();
    let told = |from: &str, days: u64| -> Vec<String> {
        let all = bar.upcoming(day(from), days);
        all.iter().map(|c| format!("{} to {} {}", c.first, c.last, c.special.what)).collect()
    };
    assert_eq!(
        told("2026-12-25", 7),
        [
            "2026-12-24 to 2026-12-25 Christmas",
            "2026-12-24 to 2027-01-02 Their holidays",
            "2026-12-25 to 2026-12-25 A party next door",
            "2026-12-27 to 2027-01-06 The quiet days",
            "2026-12-29 to 2026-12-29 A van besides",
            "2026-12-31 to 2026-12-31 New year's eve",
        ]
    );
    assert_eq!(told("2027-01-06", 1), ["2026-12-27 to 2027-01-06 The quiet days"]);
    assert!(told("2027-01-07", 30).is_empty() && told("2026-12-31", 0).is_empty());
    // Twice within two years.
    assert_eq!(told("2026-01-01", 730).iter().filter(|line| line.contains("New year")).count(), 2);
}

#[test]
fn days_of_a_supplier_are_its_own() {
    let bar = bar();
    let (van, other) = (bar.of_supplier(SupplierId(7)), bar.of_supplier(SupplierId(8)));
    assert!(van.closed(day("2026-12-29")) && !van.closed(day("2027-01-03")) && !other.closed(day("2026-12-29")));
    let rule = DayRule { zone: chrono_tz::Europe::Berlin, starts: NaiveTime::MIN };
    let extra: Vec<Deadline> = van.extra(&rule).collect();
    assert_eq!(extra, [Deadline { by: rule.parse("2026-12-28 10:00").unwrap(), comes: day("2026-12-29") }]);
    assert_eq!(other.extra(&rule).count(), 0);
}

#[test]
fn factors_are_read_or_refused() {
    for (text, thousandths, written) in [
        ("1.6", 1_600, "1.6"),
        ("1", 1_000, "1"),
        ("0.125", 125, "0.125"),
        ("20", 20_000, "20"),
        ("0", 0, "closed"),
        (" Closed ", 0, "closed"),
    ] {
        let read = Factor::parse(text).unwrap();
        assert_eq!((read.0, read.to_string().as_str()), (thousandths, written));
        assert_eq!(Factor::parse(written), Ok(read));
    }
    for bad in ["", "-1", "20.001", "1.6001", "1,6", "x2", "160 %", "open"] {
        assert_eq!(Factor::parse(bad), Err(FactorError), "{bad}");
    }
}

#[test]
fn an_extra_van_has_one_date_and_a_deadline_before_it() {
    let by = |text: &str| OrderBy::parse(text);
    assert_eq!(by("2026-12-22 10:00").unwrap().to_string(), "2026-12-22 10:00");
    for bad in [
        "",
        "2026-12-22",
        "10:00",
        "2026-12-22 10",
        "2026-12-22 9:00",
        "2026-12-22 25:00",
        "2026-12-22T10:00",
        "12-22 10:00",
    ] {
        assert_eq!(by(bad), Err(OrderByError::Form), "{bad}");
    }
    let on = |from: &str, until: &str| special(0, from, until, "", demand("1")).days;
    let check = |time: &str, days| by(time).unwrap().check(days);
    for (time, want) in [
        ("2026-12-24 23:59", Ok(())),
        ("2026-10-25 00:00", Ok(())),
        ("2026-10-24 23:59", Err(OrderByError::OtherDay)),
        ("2026-12-25 00:00", Err(OrderByError::OtherDay)),
    ] {
        assert_eq!(check(time, on("2026-12-24", "")), want, "{time}");
    }
    assert_eq!(check("2026-12-24 10:00", on("12-24", "")), Err(OrderByError::NoDate));
    assert_eq!(check("2026-12-24 10:00", on("2026-12-24", "2026-12-25")), Err(OrderByError::NoDate));
}

proptest! {
    #[test]
    fn many_days_at_once_are_each_day_by_itself(from in 0_u64..2_000, days in 0_usize..900) {
        let (bar, first) = (bar(), day("2024-02-01") + Days::new(from));
        let all = bar.factors(first, days);
        prop_assert_eq!(all.len(), days);
        for (factor, day) in all.iter().zip(first.iter_days()) {
            prop_assert!((factor - bar.factor(day)).abs() < 1e-12, "{}", day);
        }
    }
}
