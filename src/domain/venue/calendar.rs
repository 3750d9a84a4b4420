//! A supplier's order calendar: until when to order, and when it comes.

mod vans;

use super::day::{DayRule, Moment};
use super::special::SupplierDays;
use crate::domain::measure::number_of;
use crate::words;
use chrono::{NaiveDate, NaiveTime, Weekday};
use std::fmt;

/// One line of a supplier's week: order before this, it comes then.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Slot {
    /// The weekdays of the deadline.
    pub order: Weekdays,
    /// The hour of the deadline, wall clock.
    pub before: NaiveTime,
    /// When the delivery is.
    pub comes: Comes,
}

/// The weekdays on which a deadline falls.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weekdays {
    /// One.
    One(Weekday),
    /// From one to another; it may go over the end of a week.
    Range(Weekday, Weekday),
    /// Every day.
    Any,
}

/// The day of a delivery, as seen from the date of its deadline.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Comes {
    /// The next such weekday after the date of the deadline.
    On(Weekday),
    /// So many calendar days after it, 1 to 60.
    After(u64),
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

/// What of a schedule was refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Wrong {
    Form,
    Weekdays,
    Hour,
    Comes,
}

/// Why a schedule was refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub struct ScheduleError {
    what: Wrong,
    /// Which of its deadlines it is, where there are several.
    number: Option<usize>,
}

impl fmt::Display for ScheduleError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(number) = self.number {
            f.write_str(&say!("deadline {number}: ", number))?;
        }
        f.write_str(match self.what {
            Wrong::Form => {
                word!("expected a schedule such as “Mon 14:00 > Wed; Thu 14:00 > Sat” (order before Monday 14:00, it comes on \
                 Wednesday), “Mon-Fri 12:00 > 2 days” or “any 16:00 > 1 day”")
            }
            Wrong::Weekdays => word!("expected a weekday such as Mon, some of them such as Mon-Fri, or any, then the hour"),
            Wrong::Hour => word!("expected the hour of the deadline such as 14:00"),
            Wrong::Comes => word!("expected when it comes: a weekday such as Wed, or 1 day, 2 days and so on to 60 days"),
        })
    }
}

impl Weekdays {
    fn parse(text: &str) -> Option<Weekdays> {
        if text.eq_ignore_ascii_case("any") {
            return Some(Weekdays::Any);
        }
        match text.split_once('-') {
            None => Some(Weekdays::One(text.parse().ok()?)),
            Some((first, last)) => {
                let (first, last): (Weekday, Weekday) = (first.trim().parse().ok()?, last.trim().parse().ok()?);
                // From a day to itself could be one day or a week.
                (first != last).then_some(Weekdays::Range(first, last))
            }
        }
    }

    /// Whether the deadline falls on a weekday.
    pub fn holds(self, weekday: Weekday) -> bool {
        match self {
            Weekdays::One(one) => one == weekday,
            Weekdays::Range(first, last) => weekday.days_since(first) <= last.days_since(first),
            Weekdays::Any => true,
        }
    }
}

impl Weekdays {
    /// As people say it here.
    pub fn shown(self) -> String {
        match self {
            Weekdays::One(one) => words::weekday(one),
            Weekdays::Range(first, last) => format!("{}-{}", words::weekday(first), words::weekday(last)),
            Weekdays::Any => word!("any").to_owned(),
        }
    }
}

impl fmt::Display for Weekdays {
    /// As it is written.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Weekdays::One(one) => write!(f, "{one}"),
            Weekdays::Range(first, last) => write!(f, "{first}-{last}"),
            Weekdays::Any => f.write_str("any"),
        }
    }
}

impl Comes {
    /// A delivery is at most so many days after its deadline; more is a slip of the keyboard.
    pub const LATEST: u64 = 60;

    fn parse(text: &str) -> Option<Comes> {
        if let Ok(weekday) = text.parse() {
            return Some(Comes::On(weekday));
        }
        let (number, unit) = text.split_once(' ')?;
        if !["day", "days"].iter().any(|word| unit.trim().eq_ignore_ascii_case(word)) {
            return None;
        }
        let number = Some(number).filter(|n| n.bytes().all(|b| b.is_ascii_digit()))?.parse().ok()?;
        (1..=Comes::LATEST).contains(&number).then_some(Comes::After(number))
    }

    /// Calendar days from a deadline on a weekday to the delivery.
    fn wait(self, order: Weekday) -> u64 {
        match self {
            Comes::On(weekday) => match weekday.days_since(order) {
                0 => 7,
                days => days.into(),
            },
            Comes::After(days) => days,
        }
    }
}

impl Comes {
    /// As people say it here.
    pub fn shown(self) -> String {
        match self {
            Comes::On(weekday) => words::weekday(weekday),
            Comes::After(days) => number_of(days, word!("day"), word!("days")),
        }
    }
}

impl fmt::Display for Comes {
    /// As it is written.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Comes::On(weekday) => write!(f, "{weekday}"),
            Comes::After(1) => f.write_str("1 day"),
            Comes::After(days) => write!(f, "{days} days"),
        }
    }
}

impl Slot {
    fn parse(text: &str) -> Result<Slot, Wrong> {
        let (order, comes) = text.split_once('>').ok_or(Wrong::Form)?;
        let (weekdays, hour) = order.trim().rsplit_once(' ').ok_or(Wrong::Form)?;
        Ok(Slot {
            order: Weekdays::parse(weekdays.trim()).ok_or(Wrong::Weekdays)?,
            before: NaiveTime::parse_from_str(hour, "%H:%M").map_err(|_| Wrong::Hour)?,
            comes: Comes::parse(comes.trim()).ok_or(Wrong::Comes)?,
        })
    }
}

impl fmt::Display for Slot {
    /// As it is written.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {} > {}", self.order, self.before.format("%H:%M"), self.comes)
    }
}

impl OrderCalendar {
    /// Reads `Mon 14:00 > Wed; Thu 14:00 > Sat`, `Mon-Fri 12:00 > 2 days` or `any 16:00 > 1 day`; empty means no fixed
    /// days.
    ///
    /// # Errors
    /// [`ScheduleError`].
    pub fn parse(text: &str) -> Result<OrderCalendar, ScheduleError> {
        let parts: Vec<&str> = text.split(';').map(str::trim).filter(|p| !p.is_empty()).collect();
        let several = parts.len() > 1;
        let slot = |(number, part): (usize, &&str)| {
            Slot::parse(part).map_err(|what| ScheduleError { what, number: several.then_some(number) })
        };
        Ok(OrderCalendar { slots: (1..).zip(&parts).map(slot).collect::<Result<_, _>>()? })
    }

    /// The first deadline after `now`; `None` without any.
    pub fn next(&self, now: Moment, rule: &DayRule, days: &SupplierDays) -> Option<Deadline> {
        self.vans(now, rule, days).next()
    }
}

impl fmt::Display for OrderCalendar {
    /// The plain-file form.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, slot) in self.slots.iter().enumerate() {
            let gap = if i == 0 { "" } else { "; " };
            write!(f, "{gap}{slot}")?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn schedules_read_back_or_are_refused() {
        for text in [
            "",
            "Mon 14:00 > Wed; Thu 09:30 > Sat",
            "Mon-Fri 12:00 > 2 days",
            "any 16:00 > 1 day",
            "Fri-Mon 00:00 > 60 days; Mon 23:59 > Mon",
        ] {
            assert_eq!(OrderCalendar::parse(text).unwrap().to_string(), text);
        }
        for (loose, written) in [
            (" monday  9:05>wednesday ;; tue 10:00 > 01 DAYS; ", "Mon 09:05 > Wed; Tue 10:00 > 1 day"),
            ("MON - fri 12:00 > 2 day", "Mon-Fri 12:00 > 2 days"),
            ("ANY 16:00 >Fri", "any 16:00 > Fri"),
        ] {
            assert_eq!(OrderCalendar::parse(loose).unwrap().to_string(), written);
        }
        for (bad, what) in [
            ("Mon 14:00", Wrong::Form),
            ("Mon > Wed", Wrong::Form),
            ("> Wed", Wrong::Form),
            ("Noday 14:00 > Wed", Wrong::Weekdays),
            ("Mon-Mon 14:00 > Wed", Wrong::Weekdays),
            ("Mon-Wed-Fri 14:00 > Sat", Wrong::Weekdays),
            ("Mon, Tue 14:00 > Sat", Wrong::Weekdays),
            ("Mon 25:00 > Wed", Wrong::Hour),
            ("Mon 14h > Wed", Wrong::Hour),
            ("Mon 14:00 > Wed, Thu 14:00 > Sat", Wrong::Comes),
            ("Mon 14:00 >", Wrong::Comes),
            ("Mon 14:00 > 0 days", Wrong::Comes),
            ("Mon 14:00 > 61 days", Wrong::Comes),
            ("Mon 14:00 > +2 days", Wrong::Comes),
            ("Mon 14:00 > 2", Wrong::Comes),
            ("Mon 14:00 > 2 weeks", Wrong::Comes),
        ] {
            assert_eq!(OrderCalendar::parse(bad), Err(ScheduleError { what, number: None }), "{bad}");
            let second = OrderCalendar::parse(&format!("Tue 10:00 > Fri; {bad}"));
            assert_eq!(second, Err(ScheduleError { what, number: Some(2) }), "{bad}");
        }
        let says = OrderCalendar::parse("Mon 14:00 > Wed; Thu 14:00 > soon").unwrap_err().to_string();
        assert!(says.starts_with("deadline 2: expected when it comes: a weekday such as Wed, or 1 day"), "{says}");
    }

    #[test]
    fn a_range_may_go_over_the_end_of_a_week() {
        use Weekday::*;
        let of = |text: &str| {
            let days = Weekdays::parse(text).unwrap();
            [Mon, Tue, Wed, Thu, Fri, Sat, Sun].into_iter().filter(|day| days.holds(*day)).collect::<Vec<_>>()
        };
        assert_eq!(of("Mon-Fri"), [Mon, Tue, Wed, Thu, Fri]);
        assert_eq!(of("Fri-Mon"), [Mon, Fri, Sat, Sun]);
        assert_eq!(of("Tue-Mon").len(), 7);
        assert_eq!((of("Sun"), of("any").len()), (vec![Sun], 7));
    }
}
