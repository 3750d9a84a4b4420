//! What the cells of a column look like, whatever its head says.

use super::{date, number, said};
use crate::domain::measure::Currency;
use crate::domain::till::DecimalMark;
use std::collections::HashSet;

/// Counts over the cells of a column that are not empty.
#[derive(Clone, Debug, Default)]
pub(super) struct Facts {
    /// Cells that hold something, and those that do not.
    pub(super) filled: usize,
    pub(super) empty: usize,
    pub(super) dates: usize,
    pub(super) times: usize,
    /// Times with a dot, which may be numbers.
    pub(super) dotted: usize,
    pub(super) date_times: usize,
    /// Of those, at midnight.
    pub(super) midnights: usize,
    /// Written as a date, a time, or both, and none: a day that the calendar has not, an hour that no clock shows.
    pub(super) no_dates: usize,
    pub(super) no_times: usize,
    pub(super) no_date_times: usize,
    pub(super) numbers: usize,
    pub(super) wholes: usize,
    /// Written with a decimal mark.
    pub(super) cents: usize,
    pub(super) percents: usize,
    pub(super) coins: usize,
    /// With a letter in it, and nothing of the above.
    pub(super) texts: usize,
    pub(super) kinds: usize,
    pub(super) flags: usize,
    pub(super) distinct: usize,
    /// Cells equal to the one above.
    pub(super) repeats: usize,
    /// Numbers one above the one above, and ones.
    pub(super) counting: usize,
    pub(super) ones: usize,
    /// The numbers by row, in thousandths.
    pub(super) values: Vec<Option<i64>>,
}

impl Facts {
    /// Looks at a column.
    pub(super) fn of<'c>(
        cells: impl Iterator<Item = &'c str>,
        head: &str,
        mark: DecimalMark,
        currency: Currency,
    ) -> Facts {
        let mut facts = Facts::default();
        let point = if mark == DecimalMark::Comma { ',' } else { '.' };
        let mut seen = HashSet::new();
        let (mut above, mut above_value) = ("", None);
        for cell in cells {
            let cell = cell.trim();
            if number::is_none(cell) {
                facts.empty += 1;
                facts.values.push(None);
                continue;
            }
            facts.filled += 1;
            facts.repeats += usize::from(cell == above);
            above = cell;
            seen.insert(cell.to_lowercase());
            let value = number::number(cell, mark, currency).ok().flatten();
            if date::date(cell).is_some() {
                facts.dates += 1;
            } else if let Some((_, time, _)) = date::date_time(cell) {
                facts.date_times += 1;
                facts.midnights += usize::from(time == chrono::NaiveTime::MIN);
            } else if date::time(cell, false).is_some() {
                facts.times += 1;
            } else if date::is_written_as_date(cell) {
                facts.no_dates += 1;
            } else if date::is_written_as_date_time(cell) {
                facts.no_date_times += 1;
            } else if date::is_written_as_time(cell) {
                facts.no_times += 1;
            } else if value.is_none() && cell.chars().any(char::is_alphabetic) {
                facts.texts += 1;
            }
            facts.dotted += usize::from(date::time(cell, true).is_some());
            let thousandths = value.and_then(|(n, _)| n.scaled(1_000, 1).ok());
            if let (Some((n, dress)), Some(thousandths)) = (value, thousandths) {
                facts.numbers += 1;
                facts.wholes += usize::from(n.exact(0).is_some());
                facts.cents += usize::from(cell.contains(point));
                facts.percents += usize::from(dress.percent);
                facts.coins += usize::from(dress.coin);
                facts.ones += usize::from(thousandths == 1_000);
                facts.counting += usize::from(above_value.is_some_and(|above: i64| thousandths == above + 1_000));
                above_value = Some(thousandths);
            }
            facts.values.push(thousandths);
            // Numbers one and nought are answers as well, and seldom meant so: the head decides.
            facts.flags += usize::from(said::yes_or_no(cell));
            facts.kinds += usize::from(value.is_none() && said::what(cell, head).is_some());
        }
        facts.distinct = seen.len();
        facts
    }

    /// The share of the filled cells that are so.
    pub(super) fn share(&self, so: usize) -> f64 {
        if self.filled == 0 { 0.0 } else { so as f64 / self.filled as f64 }
    }

    /// Nearly all filled cells are so; a heading or a slip among them is no matter.
    pub(super) fn are(&self, so: usize) -> bool {
        let not = self.filled.saturating_sub(so);
        self.filled > 0 && (not * 10 <= self.filled || (not == 1 && self.filled > 4))
    }

    /// So many filled cells are so, and `nearly` as many more are written like it: enough for a column that its head says
    /// (`says`, 0 to 1) where half of them are, and for one of which it says nothing where nearly all are. What does not
    /// fit is named when it is read; it does not make the column another one.
    pub(super) fn may_be(&self, so: usize, nearly: usize, says: f64) -> bool {
        let half = so > 0 && so * 2 >= self.filled;
        self.are(so) || (self.are(so + nearly) && (half || says > 0.5)) || (half && says > 0.5)
    }

    /// The number in the middle, in thousandths, sign aside.
    pub(super) fn median(&self) -> i64 {
        let mut values: Vec<i64> = self.values.iter().flatten().map(|v| v.abs()).collect();
        values.sort_unstable();
        values.get(values.len() / 2).copied().unwrap_or(0)
    }

    /// Numbers that do nothing but go up by one: a rank or a running number.
    pub(super) fn runs(&self) -> bool {
        self.filled > 3 && self.counting + 1 == self.filled
    }
}
