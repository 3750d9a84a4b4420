//! A supplier's order calendar: until when to order, and when it comes.

use super::day::{DayRule, Moment};
use chrono::{Datelike, Days, NaiveDate, NaiveTime, Weekday};
use std::fmt;

/// One line of a supplier's week: order before this, it comes then.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Slot {
    /// The weekday of the deadline.
    pub weekday: Weekday,
    /// The hour of the deadline, wall clock.
    pub before: NaiveTime,
    /// The weekday of the delivery: the next such day after the deadline's date.
    pub comes: Weekday,
}

/// A supplier's week.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct OrderCalendar {
    /// In the order they were written.
    pub slots: Vec<Slot>,
}

/// A deadline and the delivery that it buys.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Deadline {
    /// The last moment to order.
    pub by: Moment,
    /// The calendar date of the delivery.
    pub comes: NaiveDate,
}

/// Why a schedule was refused.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "expected a schedule such as “Mon 14:00 > Wed; Thu 14:00 > Sat” (order before Monday 14:00, it comes on Wednesday)"
)]
pub struct ScheduleError;

impl OrderCalendar {
    /// Reads `Mon 14:00 > Wed; Thu 14:00 > Sat`; empty means no fixed days.
    ///
    /// # Errors
    /// [`ScheduleError`].
    pub fn parse(text: &str) -> Result<OrderCalendar, ScheduleError> {
        let mut slots = Vec::new();
        for part in text.split(';').map(str::trim).filter(|p| !p.is_empty()) {
            let (order, comes) = part.split_once('>').ok_or(ScheduleError)?;
            let (weekday, time) = order.trim().split_once(' ').ok_or(ScheduleError)?;
            slots.push(Slot {
                weekday: weekday.trim().parse().map_err(|_| ScheduleError)?,
                before: NaiveTime::parse_from_str(time.trim(), "%H:%M").map_err(|_| ScheduleError)?,
                comes: comes.trim().parse().map_err(|_| ScheduleError)?,
            });
        }
        Ok(OrderCalendar { slots })
    }

    /// The first deadline after `now`; `None` without fixed days.
    pub fn next(&self, now: Moment, rule: &DayRule) -> Option<Deadline> {
        let today = now.to_utc()?.with_timezone(&rule.zone).date_naive();
        let mut best: Option<Deadline> = None;
        for slot in &self.slots {
            // Today's may have passed, so look eight days ahead.
            for ahead in 0..8 {
                let date = today.checked_add_days(Days::new(ahead))?;
                if date.weekday() != slot.weekday {
                    continue;
                }
                let by = rule.at(date, slot.before);
                if by <= now {
                    continue;
                }
                let wait = match (7 + slot.comes.num_days_from_monday() - slot.weekday.num_days_from_monday()) % 7 {
                    0 => 7,
                    days => days,
                };
                let found = Deadline { by, comes: date.checked_add_days(Days::new(wait.into()))? };
                if best.is_none_or(|b| found.by < b.by) {
                    best = Some(found);
                }
            }
        }
        best
    }
}

impl fmt::Display for OrderCalendar {
    /// The plain-file form.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, slot) in self.slots.iter().enumerate() {
            let gap = if i == 0 { "" } else { "; " };
            write!(f, "{gap}{} {} > {}", slot.weekday, slot.before.format("%H:%M"), slot.comes)?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rule() -> DayRule {
        DayRule { zone: chrono_tz::Europe::Berlin, starts: NaiveTime::from_hms_opt(5, 0, 0).unwrap() }
    }

    #[test]
    fn the_next_deadline_and_its_delivery() {
        let calendar = OrderCalendar::parse("Mon 14:00 > Wed; Thu 14:00 > Sat").unwrap();
        // 2026-11-23 is a Monday.
        for (now, by, comes) in [
            ("2026-11-23 13:59", "2026-11-23 14:00", "2026-11-25"),
            ("2026-11-23 14:00", "2026-11-26 14:00", "2026-11-28"),
            ("2026-11-26 14:01", "2026-11-30 14:00", "2026-12-02"),
        ] {
            let next = calendar.next(rule().parse(now).unwrap(), &rule()).unwrap();
            assert_eq!((rule().plain(next.by).as_str(), next.comes.to_string().as_str()), (by, comes), "{now}");
        }
        // The only weekday, just passed: a week later. Same weekday to come: a week after the deadline.
        let weekly = OrderCalendar::parse("Mon 14:00 > Mon").unwrap();
        let next = weekly.next(rule().parse("2026-11-23 14:00").unwrap(), &rule()).unwrap();
        assert_eq!(
            (rule().plain(next.by).as_str(), next.comes.to_string().as_str()),
            ("2026-11-30 14:00", "2026-12-07")
        );
        assert_eq!(OrderCalendar::default().next(Moment(0), &rule()), None);
    }

    #[test]
    fn a_deadline_on_the_night_of_a_clock_change_keeps_its_wall_clock() {
        let calendar = OrderCalendar::parse("Sun 14:00 > Tue").unwrap();
        // Berlin turns the clock back on 2026-10-25: Saturday 14:00 to Sunday 14:00 are 25 hours.
        let now = rule().parse("2026-10-24 14:00").unwrap();
        assert_eq!(calendar.next(now, &rule()).unwrap().by.since(now), 25 * 3_600_000);
    }

    #[test]
    fn schedules_read_back_or_are_refused() {
        let text = "Mon 14:00 > Wed; Thu 09:30 > Sat";
        assert_eq!(OrderCalendar::parse(text).unwrap().to_string(), text);
        for bad in
            ["Mon 14:00", "Mon > Wed", "Noday 14:00 > Wed", "Mon 25:00 > Wed", "Mon 14:00 > Wed, Thu 14:00 > Sat"]
        {
            assert_eq!(OrderCalendar::parse(bad), Err(ScheduleError), "{bad}");
        }
    }
}
