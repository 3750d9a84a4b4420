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
        let (mut least, mut arrived) = (1.0_f64, Amount::ZERO);
        let behind = ahead.behind();
        for n in 1..=days.min(ahead.days.len() - behind) {
            let day = ahead.days[behind + n - 1].day;
            let by_now: Amount = coming.iter().filter(|(date, _)| *date <= day).map(|(_, amount)| *amount).sum();
            if by_now > arrived {
                (least, arrived) = (1.0, by_now);
            }
            let stock = (there.amount.max(Amount::ZERO) + arrived).as_f64();
            let lasts = outlook.over(ahead.first(n)).with_u(there.u).share_up_to(stock);
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
    use chrono::Days;

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
}
