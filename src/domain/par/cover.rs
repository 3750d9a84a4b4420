//! Cover: how long what is there lasts, day by day.

use super::ahead::Ahead;
use super::outlook::Outlook;
use crate::domain::gauge::Level;
use crate::domain::measure::Amount;
use chrono::NaiveDate;

/// A day ahead.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CoverDay {
    /// Which.
    pub day: NaiveDate,
    /// The chance that there is enough to the end of it.
    pub lasts: f64,
}

/// How long an item lasts, with what is on its way.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Cover {
    /// Today first.
    pub days: Vec<CoverDay>,
}

impl Cover {
    /// Of what is there, with what is to come on days ahead, over so many days.
    pub fn new(outlook: &Outlook, ahead: &Ahead, there: Level, coming: &[(NaiveDate, Amount)], days: usize) -> Cover {
        let mut out = Vec::with_capacity(days);
        // What is once dry stays so until something comes; the chance of having lasted never grows before that.
        let mut least = 1.0_f64;
        // What there is from a day on, with what came on it, and the days before it.
        let (mut stock, mut from) = (there.amount.max(Amount::ZERO).as_f64(), 0);
        let behind = ahead.behind();
        for n in 1..=days.min(ahead.days.len() - behind) {
            let day = ahead.days[behind + n - 1].day;
            let comes: Amount = coming.iter().filter(|(date, _)| *date == day).map(|(_, amount)| *amount).sum();
            if comes > Amount::ZERO {
                // Whoever asked while it was dry is gone: what comes is there for those who ask from then on.
                let before = &ahead.first(n - 1)[from..];
                stock = outlook.over(before).with_u(there.u).left(stock) + comes.as_f64();
                (least, from) = (1.0, from + before.len());
            }
            let lasts = outlook.over(&ahead.first(n)[from..]).with_u(there.u).share_up_to(stock);
            least = least.min(lasts);
            out.push(CoverDay { day, lasts: least });
        }
        Cover { days: out }
    }

    /// The first day in the course of which it runs dry with at least this chance; none within the days looked at.
    pub fn dry_by(&self, chance: f64) -> Option<NaiveDate> {
        self.days.iter().find(|day| 1.0 - day.lasts >= chance).map(|day| day.day)
    }

    /// The chance that it runs dry before a date.
    pub fn dry_before(&self, date: NaiveDate) -> f64 {
        let last = self.days.iter().take_while(|day| day.day < date).last();
        last.map_or(0.0, |day| 1.0 - day.lasts)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::par::{Past, outlooks};
    use crate::domain::usage::{Asked, AskedDays};
    use crate::domain::venue::{DayRule, ItemId};
    use chrono::{Days, NaiveTime};
    use std::collections::{BTreeMap, HashMap};

    const FIRST: NaiveDate = NaiveDate::from_ymd_opt(2026, 11, 20).expect("a date");

    #[test]
    fn when_it_runs_dry() {
        let days = [1.0, 0.9, 0.4, 0.4, 0.8];
        let days = days.iter().zip(FIRST.iter_days()).map(|(lasts, day)| CoverDay { day, lasts: *lasts }).collect();
        let cover = Cover { days };
        let day = |at| FIRST + Days::new(at);
        assert_eq!([0.05, 0.5, 0.7].map(|chance| cover.dry_by(chance)), [Some(day(1)), Some(day(2)), None]);
        // What comes on a day is there on it: what counts is the evening before.
        assert_eq!([0, 1, 2, 3].map(|at| cover.dry_before(day(at))), [0.0, 0.0, 1.0 - 0.9, 1.0 - 0.4]);
        assert_eq!(Cover::default().dry_before(FIRST), 0.0);
    }

    /// Nothing is there, ten come on the fifth day, and one is asked every day: whoever asked before is gone, so that the ten
    /// are enough for ten days, and no less surely for the days without.
    #[test]
    fn what_comes_is_there_for_those_who_ask_from_then_on() {
        let daily = vec![700_000.0; 56];
        let asked = Asked { daily, by_drink: BTreeMap::new(), piece: 35_000.0 };
        let first = FIRST - Days::new(56);
        let asked = AskedDays { first, rung: vec![20_000; 56], items: HashMap::from([(ItemId(1), asked)]) };
        let outlook =
            outlooks(&Past::new(&asked, &[1.0; 56]), &asked, &HashMap::new()).remove(&ItemId(1)).expect("it is known");
        let rule = DayRule { zone: chrono_tz::UTC, starts: NaiveTime::MIN };
        let ahead = Ahead::new(&rule, rule.begins(FIRST), FIRST, |_| 1.0, |_| 1.0);
        let there = |bottles: i64| Level { amount: Amount(700_000 * bottles), u: 0.0 };
        let coming = [(FIRST + Days::new(4), Amount(7_000_000))];
        let dry_first = Cover::new(&outlook, &ahead, there(0), &coming, 20);
        let at_once = Cover::new(&outlook, &ahead, there(10), &[], 20);
        let lasts =
            |cover: &Cover, from: usize| -> Vec<f64> { cover.days[from..].iter().map(|day| day.lasts).collect() };
        assert!(lasts(&dry_first, 0)[..4].iter().all(|lasts| *lasts < 1e-6), "{dry_first:?}");
        assert!(
            lasts(&dry_first, 4).iter().zip(lasts(&at_once, 0)).all(|(a, b)| (a - b).abs() < 1e-6),
            "{dry_first:?}"
        );
        // Five of ten are left when ten more come, give or take: fifteen from then on.
        let both = Cover::new(&outlook, &ahead, there(9), &coming, 20);
        let fifteen = Cover::new(&outlook, &ahead, there(15), &[], 20);
        assert!(lasts(&both, 4).iter().zip(lasts(&fifteen, 0)).all(|(a, b)| (a - b).abs() < 0.02), "{both:?}");
    }
}
