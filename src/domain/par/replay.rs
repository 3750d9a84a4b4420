//! A look back: what a par would have done on the days that a book knows.
//!
//! Every order of those days is placed again, with what was known then: the level that had been smoothed up to that day,
//! and the calendar. How an item is smoothed, how its week goes and how its demand scatters are as they are known today.
//! What was asked on a day on which the shelf was empty is not known; it is taken as expected.

use super::ahead::Stretch;
use super::level::{Par, Wishes};
use super::outlook::{DayAhead, Outlook};
use crate::domain::measure::Amount;
use chrono::{Days, NaiveDate};

/// An order of the past: placed in the course of a day, there before the trade of another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PastVan {
    /// The day of the deadline.
    pub ordered: NaiveDate,
    /// The day of the delivery.
    pub comes: NaiveDate,
    /// The day of the delivery after it.
    pub until: NaiveDate,
}

/// What a par is tried on: one item over some days.
#[derive(Clone, Copy, Debug)]
pub struct Trial<'a> {
    /// What is expected of it.
    pub outlook: &'a Outlook,
    /// The first of the days.
    pub first: NaiveDate,
    /// What was asked on each, in base units; what is expected where that is not known.
    pub asked: &'a [f64],
    /// The rate that had been smoothed up to each of them.
    pub rates: &'a [f64],
    /// How much of a usual day each of them is, and of those after them as far as orders look ahead.
    pub shares: &'a [f64],
    /// Orders, in the order of their days.
    pub vans: &'a [PastVan],
    /// What a container holds.
    pub size: Amount,
    /// Containers in a pack.
    pub pack: i64,
}

/// A par as it is tried.
#[derive(Clone, Copy, Debug)]
pub enum Tried<'a> {
    /// Set by hand: always the same.
    Hand(Amount),
    /// Worked out anew before each order.
    Computed(&'a Wishes),
}

/// What it came to.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Replayed {
    /// What was on the shelf at the end of each day, in base units.
    pub stock: Vec<f64>,
    /// Days on which it ran dry, in their order.
    pub dry: Vec<NaiveDate>,
    /// Of all days of trade.
    pub days: usize,
    /// Orders that asked for it.
    pub orders: usize,
    /// What could not be served, in base units.
    pub missed: f64,
}

impl Replayed {
    /// What was on the shelf on average, in base units.
    pub fn average(&self) -> f64 {
        self.stock.iter().sum::<f64>() / self.stock.len().max(1) as f64
    }
}

impl Trial<'_> {
    /// Goes through the days with a par. The shelf is full to it on the first.
    pub fn run(&self, tried: Tried) -> Replayed {
        let mut out = Replayed::default();
        let mut coming: Vec<(NaiveDate, f64)> = Vec::new();
        let mut vans = self.vans.iter().peekable();
        let start = self.vans.first().map(|van| self.level(tried, *van)).unwrap_or_default();
        let mut stock = start.as_f64();
        for (at, day) in self.first.iter_days().take(self.asked.len()).enumerate() {
            coming.retain(|(comes, amount)| {
                let here = *comes <= day;
                stock += if here { *amount } else { 0.0 };
                !here
            });
            while let Some(van) = vans.next_if(|van| van.ordered <= day) {
                let position = stock + coming.iter().map(|(_, amount)| amount).sum::<f64>();
                let pack = self.size.as_f64() * self.pack as f64;
                let packs = ((self.level(tried, *van).as_f64() - position) / pack - 1e-9).ceil();
                if van.ordered == day && packs > 0.0 {
                    coming.push((van.comes, packs * pack));
                    out.orders += 1;
                }
            }
            let asked = self.asked[at];
            let served = asked.min(stock);
            stock -= served;
            out.days += usize::from(self.shares[at] > 0.0);
            // Less than half of an asking is a rounding.
            if asked - served > 0.5 * self.outlook.piece {
                out.dry.push(day);
                out.missed += asked - served;
            }
            out.stock.push(stock);
        }
        out
    }

    /// The level before an order.
    fn level(&self, tried: Tried, van: PastVan) -> Amount {
        match tried {
            Tried::Hand(level) => level,
            Tried::Computed(wishes) => {
                let at = usize::try_from((van.ordered - self.first).num_days()).unwrap_or(0);
                let rate = self.rates.get(at).copied().unwrap_or(self.outlook.rate);
                let outlook = self.outlook.at_rate(rate);
                let stretch = Stretch { by: None, comes: van.comes, until: van.until };
                Par::over(&outlook, stretch, wishes, |until| self.days(at, until)).level
            }
        }
    }

    /// The days from one on and before another.
    fn days(&self, at: usize, until: NaiveDate) -> Vec<DayAhead> {
        let from = self.first.checked_add_days(Days::new(at as u64)).unwrap_or(self.first);
        let days = from.iter_days().take_while(|day| *day < until);
        days.zip(&self.shares[at.min(self.shares.len())..])
            .map(|(day, share)| DayAhead { day, share: *share })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::par::{Past, outlooks};
    use crate::domain::usage::{Asked, AskedDays};
    use crate::domain::venue::ItemId;
    use std::collections::{BTreeMap, HashMap};

    const FIRST: NaiveDate = NaiveDate::from_ymd_opt(2026, 11, 2).expect("a Monday");

    fn day(at: u64) -> NaiveDate {
        FIRST + Days::new(at)
    }

    fn van(ordered: u64, comes: u64) -> PastVan {
        PastVan { ordered: day(ordered), comes: day(comes), until: day(comes + 7) }
    }

    /// Something of which 300 are asked every day, in pieces of 100.
    fn outlook() -> Outlook {
        let daily = vec![300.0; 56];
        let asked = Asked { daily, by_drink: BTreeMap::new(), piece: 100.0 };
        let first = FIRST - Days::new(56);
        let asked = AskedDays { first, rung: vec![3_000; 56], items: HashMap::from([(ItemId(1), asked)]) };
        outlooks(&Past::new(&asked, &[1.0; 56]), &asked, &HashMap::new()).remove(&ItemId(1)).expect("it is known")
    }

    fn tried(tried: Tried) -> Replayed {
        let outlook = outlook();
        let trial = Trial {
            outlook: &outlook,
            first: FIRST,
            asked: &[300.0; 14],
            rates: &[300.0; 14],
            shares: &[1.0; 40],
            vans: &[van(0, 2), van(7, 9)],
            size: Amount(500),
            pack: 2,
        };
        trial.run(tried)
    }

    /// Full to 2,000 on the first day, nothing is ordered on it. By the seventh it runs dry, and stays so until the two packs
    /// of 1,000 come that were ordered on the eighth.
    #[test]
    fn a_par_by_hand_day_by_day() {
        let found = tried(Tried::Hand(Amount(2_000)));
        let stock =
            [1_700, 1_400, 1_100, 800, 500, 200, 0, 0, 0, 1_700, 1_400, 1_100, 800, 500].map(|ml: i64| ml as f64);
        assert_eq!(found.stock, stock);
        assert_eq!(found.dry, [day(6), day(7), day(8)]);
        assert_eq!((found.days, found.orders, found.missed, found.average()), (14, 1, 700.0, 800.0));
    }

    /// An order of the first day must last until the second van comes: nine days of 300, and something for chance.
    #[test]
    fn a_par_by_demand_covers_until_the_van_after() {
        let wishes = Wishes { service: 0.95, u: 0.0, shelf_max: None, keeps_days: None, stakes: None };
        let found = tried(Tried::Computed(&wishes));
        assert_eq!((found.dry.len(), found.missed), (0, 0.0));
        // In whole pieces of 100.
        let level = found.stock[0] + 300.0;
        assert!((2_800.0..4_000.0).contains(&level) && level % 100.0 == 0.0, "{level}");
        let held = Wishes { shelf_max: Some(Amount(1_500)), ..wishes };
        assert_eq!(tried(Tried::Computed(&held)).stock[0], 1_200.0);
    }
}
