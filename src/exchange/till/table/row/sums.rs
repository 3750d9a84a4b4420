//! What the rows above came to: a row of figures that says neither what nor when is a sum where it equals them.

use chrono::NaiveDate;
use std::collections::VecDeque;
use std::rc::Rc;

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

/// Rows that may turn out to be the head of a group, with what the rows under each come to.
#[derive(Debug, Default)]
pub(super) struct Groups {
    above: VecDeque<Head>,
}

#[derive(Debug)]
struct Head {
    line: u64,
    name: Rc<str>,
    quantity: i64,
    money: i64,
    under: Sum,
}

impl Groups {
    /// Rows of a group that are looked back over.
    const LONGEST: usize = 64;

    /// Adds a row; gives back the line and the name of one above whose figures the rows under it come to exactly.
    pub(super) fn add(&mut self, line: u64, name: &Rc<str>, quantity: i64, money: i64) -> Option<(u64, Rc<str>)> {
        let mut found = None;
        for head in &mut self.above {
            head.under.add(quantity, money);
            // Two rows that come to a third may be chance where there is no money.
            if head.under.rows >= 2 && head.under.is(Some(head.quantity), Some(head.money)) && head.money != 0 {
                found = Some((head.line, Rc::clone(&head.name)));
            }
        }
        if self.above.len() == Self::LONGEST {
            self.above.pop_front();
        }
        self.above.push_back(Head { line, name: Rc::clone(name), quantity, money, under: Sum::default() });
        found
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_head_of_a_group_is_known_by_its_rows() {
        let mut groups = Groups::default();
        let mut add = |line, name: &str, quantity, money| groups.add(line, &name.into(), quantity, money);
        assert_eq!(add(2, "Cocktails", 5_000, 5_040), None);
        assert_eq!(add(3, "Negroni", 3_000, 3_024), None);
        assert_eq!(add(4, "Daiquiri", 2_000, 2_016), Some((2, "Cocktails".into())));
        assert_eq!(add(5, "Soft", 1_000, 294), None);
        assert_eq!(add(6, "Cola", 1_000, 294), None);
    }
}
