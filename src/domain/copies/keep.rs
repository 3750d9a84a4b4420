//! Which copies are kept: many of the last days, fewer the further back.

use super::Why;
use crate::domain::venue::{DayRule, Moment};
use chrono::Datelike;
use std::collections::HashSet;
use std::hash::Hash;

/// So many copies are kept in any case.
pub const LAST: usize = 7;
/// The newest copy of each of so many business days that have one.
pub const DAYS: usize = 7;
/// The newest copy of each of so many weeks, from Monday on, that have one.
pub const WEEKS: usize = 8;
/// The newest copy of each of so many months that have one.
pub const MONTHS: usize = 24;
/// So many of those that were made before a restore, whatever their age.
pub const APART: usize = 12;

/// Which of some copies are kept, each given as when and why it was made; the answer stands in the same order.
///
/// Days, weeks and months without a copy do not count: nothing goes away because time has passed, only because newer ones
/// have come, so that a bar that was closed for a year, or a clock that was wrong, takes nothing away. The newest is
/// always kept. Copies before a restore are reckoned apart.
pub fn kept(copies: &[(Moment, Why)], days: &DayRule) -> Vec<bool> {
    let newest_first = |routine: bool| {
        let mut some: Vec<usize> = (0..copies.len()).filter(|n| copies[*n].1.is_routine() == routine).collect();
        // Of the same minute, the one that stands later is the newer.
        some.sort_by_key(|n| std::cmp::Reverse((copies[*n].0, *n)));
        some
    };
    let routine = newest_first(true);
    let day = |n: usize| days.day_of(copies[n].0);
    let mut keep = vec![false; copies.len()];
    let last = routine.iter().copied().take(LAST);
    let of_days = newest_of_each(&routine, DAYS, day);
    let of_weeks = newest_of_each(&routine, WEEKS, |n| (day(n).iso_week().year(), day(n).iso_week().week()));
    let of_months = newest_of_each(&routine, MONTHS, |n| (day(n).year(), day(n).month()));
    let apart = newest_first(false).into_iter().take(APART);
    for n in last.chain(of_days).chain(of_weeks).chain(of_months).chain(apart) {
        keep[n] = true;
    }
    keep
}

/// The first of each of the first `most` stretches that the copies fall into.
fn newest_of_each<K: Eq + Hash>(newest_first: &[usize], most: usize, stretch: impl Fn(usize) -> K) -> Vec<usize> {
    let mut seen = HashSet::new();
    newest_first.iter().copied().filter(|n| seen.len() < most && seen.insert(stretch(*n))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn rule() -> DayRule {
        DayRule { zone: "Europe/Berlin".parse().unwrap(), starts: chrono::NaiveTime::from_hms_opt(5, 0, 0).unwrap() }
    }

    fn at(text: &str) -> Moment {
        rule().parse(text).unwrap()
    }

    /// Makes a copy at each of these moments and keeps what is to be kept each time.
    fn lived(moments: impl IntoIterator<Item = Moment>) -> Vec<Moment> {
        let mut there: Vec<(Moment, Why)> = Vec::new();
        for moment in moments {
            there.push((moment, Why::Closing));
            let keep = kept(&there, &rule());
            let mut keep = keep.iter();
            there.retain(|_| *keep.next().unwrap());
        }
        there.into_iter().map(|(at, _)| at).collect()
    }

    #[test]
    fn three_years_of_evenings_leave_days_weeks_and_months() {
        let begun = at("2024-01-02 03:00");
        let evenings: Vec<Moment> = (0..3 * 365).map(|n| Moment(begun.0 + n * Moment::DAY)).collect();
        let newest = *evenings.last().unwrap();
        let there = lived(evenings);
        assert_eq!(there.last(), Some(&newest));
        // Seven evenings, the Sundays of seven weeks before this one, and the last evenings of the months before those: by
        // hand, for copies up to Thursday 31 December 2026 (the evening of Wednesday 30).
        let told: Vec<String> = there.iter().map(|at| rule().day_of(*at).to_string()).collect();
        let months = [
            "2025-01-31",
            "2025-02-28",
            "2025-03-31",
            "2025-04-30",
            "2025-05-31",
            "2025-06-30",
            "2025-07-31",
            "2025-08-31",
            "2025-09-30",
            "2025-10-31",
            "2025-11-30",
            "2025-12-31",
            "2026-01-31",
            "2026-02-28",
            "2026-03-31",
            "2026-04-30",
            "2026-05-31",
            "2026-06-30",
            "2026-07-31",
            "2026-08-31",
            "2026-09-30",
            "2026-10-31",
        ];
        let weeks = ["2026-11-15", "2026-11-22", "2026-11-29", "2026-11-30", "2026-12-06", "2026-12-13", "2026-12-20"];
        let days = ["2026-12-24", "2026-12-25", "2026-12-26", "2026-12-27", "2026-12-28", "2026-12-29", "2026-12-30"];
        let want: Vec<&str> = months.into_iter().chain(weeks).chain(days).collect();
        assert_eq!(told, want);
    }

    #[test]
    fn an_evening_of_many_copies_takes_no_other_evening_away() {
        let mut all: Vec<Moment> = (16..=22).map(|day| at(&format!("2026-11-{day} 03:00"))).collect();
        all.extend((0..40).map(|n| Moment(at("2026-11-22 04:00").0 + n * 60_000)));
        let there = lived(all);
        for day in 16..=21 {
            assert!(there.contains(&at(&format!("2026-11-{day} 03:00"))), "{day}");
        }
        assert!(there.len() <= LAST + DAYS + WEEKS + MONTHS, "{}", there.len());
    }

    #[test]
    fn a_year_without_copies_takes_nothing_away() {
        let there = lived(["2025-10-01 03:00", "2025-10-02 03:00", "2026-11-22 03:00"].map(at));
        assert_eq!(there.len(), 3);
    }

    #[test]
    fn copies_before_a_restore_are_reckoned_apart() {
        let restore = (at("2024-01-01 12:00"), Why::Restore);
        let damaged = (at("2024-01-02 12:00"), Why::Damaged);
        let evening = |n: i64| (Moment(at("2026-01-01 03:00").0 + n * Moment::DAY), Why::Closing);
        let all: Vec<(Moment, Why)> = [restore, damaged].into_iter().chain((0..300).map(evening)).collect();
        assert_eq!(kept(&all, &rule())[..2], [true, true]);
        let many: Vec<(Moment, Why)> = (0..40).map(|n| (Moment(restore.0.0 + n), Why::Restore)).collect();
        let keep = kept(&many, &rule());
        assert_eq!(keep.iter().filter(|keep| **keep).count(), APART);
        assert!(keep[40 - APART..].iter().all(|keep| *keep), "the newest of them");
    }

    proptest! {
        #[test]
        fn the_newest_stays_and_keeping_twice_keeps_the_same(
            made in proptest::collection::vec((1_600_000_000_000_i64..1_950_000_000_000, 0_usize..4), 1..200),
        ) {
            let copies: Vec<(Moment, Why)> = made.iter().map(|(ms, why)| (Moment(*ms), Why::ALL[*why])).collect();
            let keep = kept(&copies, &rule());
            for routine in [true, false] {
                let newest = (0..copies.len()).filter(|n| copies[*n].1.is_routine() == routine).max_by_key(|n| copies[*n].0);
                prop_assert!(newest.is_none_or(|n| keep[n]));
            }
            let left: Vec<(Moment, Why)> =
                copies.iter().zip(&keep).filter(|(_, keep)| **keep).map(|(copy, _)| *copy).collect();
            prop_assert!(left.len() <= LAST + DAYS + WEEKS + MONTHS + APART);
            prop_assert!(kept(&left, &rule()).into_iter().all(|keep| keep));
        }
    }
}
