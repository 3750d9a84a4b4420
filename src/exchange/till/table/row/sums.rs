//! What the rows above came to: a row of figures that says neither what nor when is a sum where it equals them.

use chrono::NaiveDate;

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
struct Sum {
    rows: u64,
    quantity: i64,
    money: i64,
}

impl Sum {
    fn add(&mut self, quantity: i64, money: i64) {
        self.rows += 1;
        self.quantity = self.quantity.saturating_add(quantity);
        self.money = self.money.saturating_add(money);
    }

    fn is(self, quantity: Option<i64>, money: Option<i64>) -> bool {
        (quantity.is_some() || money.is_some())
            && quantity.is_none_or(|q| q == self.quantity)
            && money.is_none_or(|m| m == self.money)
    }
}

/// What the rows came to: all of them, those since the last sum, those of the day at hand.
#[derive(Debug, Default)]
pub(super) struct Sums {
    all: Sum,
    since: Sum,
    day: NaiveDate,
    of_day: Sum,
}

impl Sums {
    /// Adds a row: thousandths and minor units.
    pub(super) fn add(&mut self, day: NaiveDate, quantity: i64, money: i64) {
        if self.day != day {
            (self.day, self.of_day) = (day, Sum::default());
        }
        for sum in [&mut self.all, &mut self.since, &mut self.of_day] {
            sum.add(quantity, money);
        }
    }

    /// Whether figures are one of the sums of at least so many rows.
    pub(super) fn are(&self, quantity: Option<i64>, money: Option<i64>, rows: u64) -> bool {
        [self.all, self.since, self.of_day].into_iter().any(|sum| sum.rows >= rows && sum.is(quantity, money))
    }

    /// After a sum.
    pub(super) fn begin_again(&mut self) {
        self.since = Sum::default();
    }
}
