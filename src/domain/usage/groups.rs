//! Kinds and places over the periods: a little of many items that no item shows by itself.

use super::budget::Spreads;
use super::gap::{GapRow, Grouping, Variance};
use super::track::{Steady, Step, Track, limit_of};
use crate::domain::venue::{ItemId, Setup};
use std::collections::{BTreeMap, HashSet};

/// A kind or a place over the periods. Amounts in containers, so that items of every size and sort add up.
#[derive(Clone, Debug)]
pub struct GroupTrack {
    /// Kind or place.
    pub grouping: Grouping,
    /// Its name, as sums by it have it.
    pub name: String,
    /// Its chart.
    pub track: Track,
    /// What goes steadily, where the periods together say so.
    pub steady: Option<Steady>,
}

/// The sum of one group in one period, in containers.
#[derive(Clone, Copy, Debug, Default)]
struct Sum {
    gap: f64,
    opening: f64,
    closing: f64,
    between: f64,
    items: f64,
}

impl Sum {
    fn add(&mut self, row: &GapRow, size: f64, spreads: &Spreads) {
        let square = size * size;
        self.gap += row.likely() / size;
        self.opening += row.budget.of_opening(spreads) / square;
        self.closing += row.budget.of_closing(spreads) / square;
        self.between += row.budget.of_rest(spreads) / square;
        self.items += 1.0;
    }

    /// As a chart takes it. One counter's eye errs alike in all that it reads, so its error adds up over the items instead of
    /// averaging out; how much that is at most is what eyes scatter in all.
    fn step(self, spreads: &Spreads) -> Step {
        let together = (spreads.eye * self.items).powi(2);
        Step {
            gap: self.gap,
            opening: self.opening + together,
            closing: self.closing + together,
            between: self.between,
            by_itself: false,
            explained: false,
        }
    }
}

/// Follows every kind and every place through the periods up to `at`. What `left_out` says of a period and an item is told
/// by itself or has a cause, and is not in the sums.
pub(super) fn group_tracks(
    setup: &Setup,
    periods: &[Variance],
    at: usize,
    left_out: &HashSet<(usize, ItemId)>,
    spreads: &Spreads,
) -> Vec<GroupTrack> {
    let mut sums: BTreeMap<(bool, String), Vec<Option<Sum>>> = BTreeMap::new();
    for (number, period) in periods.iter().take(at + 1).enumerate() {
        for row in period.rows.iter().filter(|row| !left_out.contains(&(number, row.item))) {
            let Some(item) = setup.item(row.item).filter(|item| item.size.0 > 0) else { continue };
            let names = [(true, item.kind.said().to_owned()), (false, setup.place_name(row.home).to_owned())];
            for name in names {
                let of_group = sums.entry(name).or_insert_with(|| vec![None; at + 1]);
                of_group[number].get_or_insert_with(Sum::default).add(row, item.size.as_f64(), spreads);
            }
        }
    }
    let limit = limit_of(sums.len());
    sums.into_iter()
        .map(|((by_kind, name), sums)| {
            let steps: Vec<Option<Step>> = sums.into_iter().map(|sum| sum.map(|sum| sum.step(spreads))).collect();
            let track = Track::new(&steps, limit);
            let steady = if track.alarms() { track.steady(&steps) } else { None };
            GroupTrack { grouping: if by_kind { Grouping::Kind } else { Grouping::Place }, name, track, steady }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::statistics::normal_quantile;
    use crate::domain::usage::track::Track;

    /// Forty items of which each reading scatters by 3 % of a container, and whoever counts errs by another 1 % in all of
    /// them alike; the errors are the quantiles of their distributions in a shuffled order.
    fn steps(each: f64, weeks: usize) -> Vec<Option<Step>> {
        let spreads = Spreads { eye: 0.01, ..Spreads::AS_SET };
        let eye = |count: usize| 0.01 * normal_quantile((((count * 7) % 12) as f64 + 0.5) / 12.0);
        let read =
            |count: usize, item: usize| 0.03 * normal_quantile((((count * 17 + item * 29) % 41) as f64 + 0.5) / 41.0);
        (0..weeks)
            .map(|week| {
                let mut sum = Sum::default();
                for item in 0..40 {
                    sum.gap += each + eye(week) - eye(week + 1) + read(week, item) - read(week + 1, item);
                    sum.opening += 0.03 * 0.03;
                    sum.closing += 0.03 * 0.03;
                    sum.between += 1e-4;
                    sum.items += 1.0;
                }
                Some(sum.step(&spreads))
            })
            .collect()
    }

    #[test]
    fn a_little_of_all_of_them_is_told_and_another_counter_is_not() {
        let limit = limit_of(14);
        assert!(!Track::new(&steps(0.0, 12), limit).alarms());
        // 14 ml of each 700 ml bottle a week: no single item can show that.
        let found = Track::new(&steps(0.02, 12), limit);
        assert!(found.alarms(), "{found:?}");
        let steady = found.steady(&steps(0.02, 12)).unwrap();
        assert!((steady.rate - 0.8).abs() < 3.0 * steady.u && steady.u < 0.2, "{steady:?}");
    }
}
