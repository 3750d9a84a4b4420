//! Deadlines by the minute, over closed days, extra vans, leap days and clock changes.

use super::*;
use crate::domain::venue::{DayEffect, NamedDay, OrderBy, SpecialDay, SpecialDayId, SpecialDays, Stretch, SupplierId};
use chrono::DateTime;
use proptest::prelude::*;

const VAN: SupplierId = SupplierId(1);

fn rule(zone: &str) -> DayRule {
    DayRule { zone: zone.parse().unwrap(), starts: NaiveTime::from_hms_opt(5, 0, 0).unwrap() }
}

fn berlin() -> DayRule {
    rule("Europe/Berlin")
}

fn utc(text: &str) -> Moment {
    Moment(DateTime::parse_from_rfc3339(text).unwrap().timestamp_millis())
}

fn calendar(text: &str) -> OrderCalendar {
    OrderCalendar::parse(text).unwrap()
}

/// Closed stretches and extra vans of one supplier: `12-24 to 01-02`, `2026-12-29 by 2026-12-28 10:00`.
fn days(rows: &[&str]) -> SupplierDays {
    let named = |text: &str| NamedDay::parse(text).unwrap();
    let row = |(id, text): (i64, &&str)| {
        let (days, effect) = match text.split_once(" by ") {
            Some((day, by)) => {
                let by = OrderBy::parse(by).unwrap();
                (Stretch::of_one(named(day)), DayEffect::ExtraVan { supplier: VAN, by })
            }
            None => {
                let (from, until) = text.split_once(" to ").map_or((*text, None), |(from, until)| (from, Some(until)));
                (Stretch::new(named(from), until.map(named)).unwrap(), DayEffect::SupplierClosed(VAN))
            }
        };
        SpecialDay { id: SpecialDayId(id), days, what: format!("row {id}"), effect }
    };
    SpecialDays::new((1..).zip(rows).map(row).collect()).of_supplier(VAN).clone()
}

/// The first deadlines after a time as `by > comes`.
fn vans(schedule: &str, after: &str, days: &SupplierDays, number: usize) -> Vec<String> {
    let (calendar, rule) = (calendar(schedule), berlin());
    let found = calendar.vans(rule.parse(after).unwrap(), &rule, days).take(number);
    found.map(|van| format!("{} > {}", rule.plain(van.by), van.comes)).collect()
}

#[test]
fn the_next_deadline_and_its_delivery() {
    let (usual, rule) = (SupplierDays::default(), berlin());
    let week = calendar("Mon 14:00 > Wed; Thu 14:00 > Sat");
    // 2026-11-23 is a Monday.
    for (now, by, comes) in [
        ("2026-11-23 13:59", "2026-11-23 14:00", "2026-11-25"),
        ("2026-11-23 14:00", "2026-11-26 14:00", "2026-11-28"),
        ("2026-11-26 14:01", "2026-11-30 14:00", "2026-12-02"),
    ] {
        let next = week.next(rule.parse(now).unwrap(), &rule, &usual).unwrap();
        assert_eq!((rule.plain(next.by).as_str(), next.comes.to_string().as_str()), (by, comes), "{now}");
    }
    // The only weekday, just passed: a week later. Same weekday to come: a week after the deadline.
    assert_eq!(vans("Mon 14:00 > Mon", "2026-11-23 14:00", &usual, 1), ["2026-11-30 14:00 > 2026-12-07"]);
    assert_eq!(OrderCalendar::default().next(Moment(0), &rule, &usual), None);
}

#[test]
fn a_deadline_is_there_until_its_last_millisecond() {
    let (rule, usual, week) = (berlin(), SupplierDays::default(), calendar("any 16:00 > 1 day"));
    let by = rule.parse("2026-11-23 16:00").unwrap();
    let next = |after: i64| week.next(Moment(by.0 + after), &rule, &usual).unwrap();
    assert_eq!((next(-1).by, next(-1).comes.to_string().as_str()), (by, "2026-11-24"));
    assert_eq!((next(0).by, next(1).by), (Moment(by.0 + Moment::DAY), Moment(by.0 + Moment::DAY)));
}

#[test]
fn ranges_and_days_to_come() {
    let usual = SupplierDays::default();
    assert_eq!(
        vans("Mon-Fri 12:00 > 2 days", "2026-11-26 12:00", &usual, 3),
        ["2026-11-27 12:00 > 2026-11-29", "2026-11-30 12:00 > 2026-12-02", "2026-12-01 12:00 > 2026-12-03"]
    );
    // Two weekends of vans; those of one day by the hour, and two deadlines may buy one delivery.
    assert_eq!(
        vans("Sat-Mon 18:00 > Tue; Sun 9:00 > 2 days", "2026-11-28 00:00", &usual, 5),
        [
            "2026-11-28 18:00 > 2026-12-01",
            "2026-11-29 09:00 > 2026-12-01",
            "2026-11-29 18:00 > 2026-12-01",
            "2026-11-30 18:00 > 2026-12-01",
            "2026-12-05 18:00 > 2026-12-08",
        ]
    );
    // A later deadline may buy an earlier delivery.
    assert_eq!(
        vans("Mon 14:00 > 9 days; Tue 14:00 > 1 day", "2026-11-23 00:00", &usual, 3),
        ["2026-11-23 14:00 > 2026-12-02", "2026-11-24 14:00 > 2026-11-25", "2026-11-30 14:00 > 2026-12-09"]
    );
    // What is written twice is one deadline.
    assert_eq!(vans("Mon 14:00 > Wed; any 14:00 > 2 days", "2026-11-23 00:00", &usual, 2).len(), 2);
    let twice = vans("Mon 14:00 > Wed; Mon 14:00 > 2 days", "2026-11-23 00:00", &usual, 2);
    assert_eq!(twice, ["2026-11-23 14:00 > 2026-11-25", "2026-11-30 14:00 > 2026-12-02"]);
}

/// The weekdays of the winter of 2026: 24 December is a Thursday, 1 January a Friday (Python's datetime).
#[test]
fn closed_days_over_christmas_and_new_year() {
    let closed = days(&["12-24 to 01-02"]);
    assert_eq!(
        vans("Mon 14:00 > Wed; Thu 14:00 > Sat", "2026-12-17 14:00", &closed, 4),
        [
            "2026-12-21 14:00 > 2026-12-23",
            // Those of the 24th, 28th and 31st are left out.
            "2027-01-04 14:00 > 2027-01-06",
            "2027-01-07 14:00 > 2027-01-09",
            "2027-01-11 14:00 > 2027-01-13",
        ]
    );
    // The delivery alone falls on a closed day.
    assert_eq!(
        vans("Mon 14:00 > 9 days", "2026-12-14 00:00", &closed, 2),
        ["2026-12-14 14:00 > 2026-12-23", "2027-01-04 14:00 > 2027-01-13"]
    );
    // An extra van comes, though its day is one of the closed ones; it stands where its deadline does.
    let extra = days(&["12-24 to 01-02", "2026-12-29 by 2026-12-28 10:00", "2027-01-05 by 2027-01-04 14:00"]);
    assert_eq!(
        vans("Mon 14:00 > Wed; Thu 14:00 > Sat", "2026-12-21 14:00", &extra, 4),
        [
            "2026-12-28 10:00 > 2026-12-29",
            "2027-01-04 14:00 > 2027-01-05",
            "2027-01-04 14:00 > 2027-01-06",
            "2027-01-07 14:00 > 2027-01-09",
        ]
    );
    // Its deadline passes as any other.
    assert_eq!(vans("", "2026-12-28 09:59", &extra, 9).len(), 2);
    assert_eq!(vans("", "2026-12-28 10:00", &extra, 9), ["2027-01-04 14:00 > 2027-01-05"]);
    // Closed on Easter Monday, 2027-03-29 (python-dateutil 2.9.0).
    assert_eq!(
        vans("Mon 14:00 > Wed", "2027-03-22 14:00", &days(&["easter-2 to easter+1"]), 1),
        ["2027-04-05 14:00 > 2027-04-07"]
    );
}

#[test]
fn a_leap_day_is_a_day() {
    let usual = SupplierDays::default();
    assert_eq!(
        vans("any 10:00 > 1 day", "2028-02-28 09:00", &usual, 3),
        ["2028-02-28 10:00 > 2028-02-29", "2028-02-29 10:00 > 2028-03-01", "2028-03-01 10:00 > 2028-03-02"]
    );
    assert_eq!(
        vans("any 10:00 > 1 day", "2027-02-28 09:00", &usual, 2),
        ["2027-02-28 10:00 > 2027-03-01", "2027-03-01 10:00 > 2027-03-02"]
    );
    assert_eq!(
        vans("any 10:00 > 1 day", "2028-02-27 12:00", &days(&["02-29"]), 2),
        ["2028-03-01 10:00 > 2028-03-02", "2028-03-02 10:00 > 2028-03-03"]
    );
}

/// IANA time zone database 2026f through Python's zoneinfo. Where an hour is skipped, Python counts on from before the gap;
/// here the deadline is at the end of the gap, as [`DayRule::at`] has it, so that what is given is when the gap ends.
#[test]
fn a_deadline_in_the_hour_of_a_clock_change() {
    for (zone, schedule, after, by) in [
        // Skipped.
        ("Europe/Berlin", "Sun 02:30 > Tue", "2026-03-28T12:00:00Z", "2026-03-29T01:00:00Z"),
        ("America/New_York", "Sun 02:30 > Tue", "2026-03-07T12:00:00Z", "2026-03-08T07:00:00Z"),
        ("Atlantic/Azores", "Sun 00:30 > Tue", "2026-03-28T12:00:00Z", "2026-03-29T01:00:00Z"),
        ("Australia/Lord_Howe", "Sun 02:10 > Tue", "2026-10-03T12:00:00Z", "2026-10-03T15:30:00Z"),
        // Repeated: the first time.
        ("Europe/Berlin", "Sun 02:30 > Tue", "2026-10-24T12:00:00Z", "2026-10-25T00:30:00Z"),
        ("America/New_York", "Sun 01:30 > Tue", "2026-10-31T12:00:00Z", "2026-11-01T05:30:00Z"),
        ("Atlantic/Azores", "Sun 00:30 > Tue", "2026-10-24T12:00:00Z", "2026-10-25T00:30:00Z"),
        ("Australia/Lord_Howe", "Sun 01:45 > Tue", "2026-04-04T12:00:00Z", "2026-04-04T14:45:00Z"),
        // A Friday that the islands skipped as a whole: 2011-12-30 ends as it begins.
        ("Pacific/Apia", "Fri 14:00 > 4 days", "2011-12-29T12:00:00Z", "2011-12-30T10:00:00Z"),
    ] {
        let (rule, usual, by) = (rule(zone), SupplierDays::default(), utc(by));
        let week = calendar(schedule);
        assert_eq!(week.next(utc(after), &rule, &usual).map(|van| van.by), Some(by), "{zone} {schedule} {after}");
        assert_eq!(week.next(Moment(by.0 - 1), &rule, &usual).map(|van| van.by), Some(by), "{zone}");
        // Once passed it does not come back with the hour that does; the next one is a week of wall clock later.
        let next = week.next(by, &rule, &usual).unwrap().by;
        let week = 7 * Moment::DAY;
        assert!((next.since(by) - week).abs() <= 3_600_000 * 14, "{zone}: {}", rule.plain(next));
        assert!(next.since(by) > week - Moment::DAY, "{zone}: {}", rule.plain(next));
    }
    // Berlin turns the clock back on 2026-10-25: Saturday 14:00 to Sunday 14:00 are 25 hours.
    let now = berlin().parse("2026-10-24 14:00").unwrap();
    let next = calendar("Sun 14:00 > Tue").next(now, &berlin(), &SupplierDays::default()).unwrap();
    assert_eq!(next.by.since(now), 25 * 3_600_000);
}

#[test]
fn it_ends_after_two_years() {
    let (rule, usual) = (berlin(), SupplierDays::default());
    let now = rule.parse("2026-11-23 14:00").unwrap();
    let all: Vec<Deadline> = calendar("Mon 14:00 > Wed").vans(now, &rule, &usual).collect();
    // 2028-11-20 is the 104th Monday after.
    assert_eq!((all.len(), rule.plain(all[103].by).as_str()), (104, "2028-11-20 14:00"));
    let shut = days(&["01-01 to 12-31", "2029-01-02 by 2028-12-28 10:00", "2028-11-21 by 2028-11-20 10:00"]);
    let found: Vec<Deadline> = calendar("any 14:00 > 1 day").vans(now, &rule, &shut).collect();
    assert_eq!(found.iter().map(|van| rule.plain(van.by)).collect::<Vec<_>>(), ["2028-11-20 10:00"]);
    for far in [i64::MIN, i64::MAX] {
        assert_eq!(calendar("Mon 14:00 > Wed").next(Moment(far), &rule, &shut), None);
    }
}

proptest! {
    #[test]
    fn one_after_the_other_is_all_of_them(
        ms in 1_700_000_000_000_i64..1_900_000_000_000, slots in prop::collection::vec(0_usize..7, 1..4),
        closed in any::<bool>(), hour in 0_u32..24,
    ) {
        let forms = ["Mon 02:30 > Wed", "Sun 02:00 > 3 days", "Fri-Mon 00:00 > Tue", "any 23:59 > 1 day",
            "Thu 01:15 > 12 days", "Sat-Sun 12:00 > Mon", "Sun 02:59 > Sun"];
        let week = calendar(&slots.iter().map(|n| forms[*n]).collect::<Vec<_>>().join("; "));
        let rows: &[&str] = if closed { &["12-24 to 01-02", "last Sun of Oct", "easter", "2026-03-31 by 2026-03-29 02:30"] } else { &[] };
        let (rule, shut) = (rule(["Europe/Berlin", "Australia/Lord_Howe"][hour as usize % 2]), days(rows));
        let all: Vec<Deadline> = week.vans(Moment(ms), &rule, &shut).take(40).collect();
        let mut now = Moment(ms);
        for van in &all {
            let next = week.next(now, &rule, &shut).unwrap();
            // Several may share a moment.
            prop_assert!(next.by == van.by && van.by >= now);
            let last = all.iter().rfind(|other| other.by == van.by).unwrap();
            if last == van { now = van.by; }
            let regular = rule.date_of(van.by).unwrap();
            let extra = van.comes.to_string() == "2026-03-31";
            prop_assert!(extra || (!shut.closed(van.comes) && !shut.closed(regular)));
        }
    }
}
