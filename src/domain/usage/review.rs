//! Which gaps of a period matter: all items screened together, each also over the periods before.

use super::budget::Spreads;
use super::gap::{GapRow, Grouping, Variance};
use super::groups::{GroupTrack, group_tracks};
use super::learned::learned;
use super::track::{Steady, Step, Track, limit_of};
use crate::domain::measure::Money;
use crate::domain::statistics::adjusted;
use crate::domain::venue::{ItemId, Setup};
use serde::Serialize;
use std::collections::{HashMap, HashSet};

/// What is thought of a gap.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// More than chance, among all that were looked at together, or steadily over the periods.
    LookInto,
    /// Unusual by itself, but among so many items chance does that; or on its way over the periods.
    Watch,
    /// Within what the counts can tell.
    Within,
}

impl Verdict {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Verdict::LookInto => word!("look into it"),
            Verdict::Watch => "watch",
            Verdict::Within => word!("within the count's exactness"),
        }
    }
}

/// What is thought of one item's gap, and why.
#[derive(Clone, Debug)]
pub struct Finding {
    /// What it is.
    pub item: ItemId,
    /// The chance that nothing but the counts' exactness makes a gap as wide as this.
    pub chance: f64,
    /// The same, adjusted for all items that were looked at together: at or below the book's rate it is told.
    pub adjusted: f64,
    /// What is thought of it.
    pub verdict: Verdict,
    /// By this period alone.
    pub by_itself: bool,
    /// By the periods together.
    pub over_periods: bool,
    /// The item over the periods, up to this one.
    pub track: Track,
    /// What goes steadily, where the periods together say so.
    pub steady: Option<Steady>,
}

/// Every gap of a period, judged; the same of the periods around it, as far as its charts need it.
#[derive(Clone, Debug, Default)]
pub struct Review {
    /// How eyes and pours scatter in this book.
    pub spreads: Option<Spreads>,
    /// By item.
    pub findings: HashMap<ItemId, Finding>,
    /// The share of what is told to look into that may be false.
    pub rate: f64,
    /// Beyond this a chart gives an alarm.
    pub limit: f64,
    /// Kinds and places over the periods.
    pub groups: Vec<GroupTrack>,
}

/// By itself a gap is unusual that chance makes as rarely as this.
const UNUSUAL: f64 = 0.05;

/// A sum that has come this far towards its limit is watched.
const HALFWAY: f64 = 0.5;

/// The chance of each gap of a period, and which are told by themselves.
struct Screened {
    chance: Vec<f64>,
    adjusted: Vec<f64>,
}

fn screened(rows: &[GapRow], spreads: &Spreads) -> Screened {
    let chance: Vec<f64> = rows.iter().map(|row| row.budget.distribution(spreads).beyond(row.likely())).collect();
    let adjusted = adjusted(&chance);
    Screened { chance, adjusted }
}

impl Review {
    /// Judges the period `at` of `periods`, the oldest first, each beginning with the count that the one before ends with.
    /// What `explained` says of an item and a period has a cause that somebody accepted. Every row gets the uncertainty
    /// that the book's own spreads make, and rows are sorted: what matters first, then by direction and money.
    pub fn new(setup: &Setup, periods: &mut [Variance], at: usize, explained: &HashSet<(usize, ItemId)>) -> Review {
        let rate = setup.venue.false_alarms as f64 / 10_000.0;
        let spreads = learned(setup, periods.iter().take(at + 1).rev().map(|period| period.rows.as_slice()));
        for row in periods.iter_mut().flat_map(|period| &mut period.rows) {
            row.u = row.budget.u(&spreads);
        }
        let Some(shown) = periods.get(at) else { return Review::default() };
        let limit = limit_of(shown.rows.len());
        let mut steps: HashMap<ItemId, Vec<Option<Step>>> = HashMap::new();
        let mut left_out = explained.clone();
        let mut last = Screened { chance: Vec::new(), adjusted: Vec::new() };
        for (number, period) in periods.iter().take(at + 1).enumerate() {
            let screened = screened(&period.rows, &spreads);
            for (row, adjusted) in period.rows.iter().zip(&screened.adjusted) {
                if *adjusted <= rate {
                    left_out.insert((number, row.item));
                }
                let of_item = steps.entry(row.item).or_insert_with(|| vec![None; at + 1]);
                of_item[number] = Some(Step {
                    by_itself: *adjusted <= rate,
                    explained: explained.contains(&(number, row.item)),
                    ..Step::of(row, &spreads)
                });
            }
            last = screened;
        }
        let mut findings = HashMap::with_capacity(shown.rows.len());
        for ((row, chance), adjusted) in shown.rows.iter().zip(last.chance).zip(last.adjusted) {
            let steps = &steps[&row.item];
            let track = Track::new(steps, limit);
            let (by_itself, over_periods) = (adjusted <= rate, track.alarms());
            let nears = track.sums().reach() > HALFWAY * limit;
            let verdict = match () {
                () if by_itself || over_periods => Verdict::LookInto,
                () if chance <= UNUSUAL || nears => Verdict::Watch,
                () => Verdict::Within,
            };
            let steady = if over_periods || nears { track.steady(steps) } else { None };
            let finding = Finding { item: row.item, chance, adjusted, verdict, by_itself, over_periods, track, steady };
            findings.insert(row.item, finding);
        }
        let groups = group_tracks(setup, periods, at, &left_out, &spreads);
        let review = Review { spreads: Some(spreads), findings, rate, limit, groups };
        if let Some(shown) = periods.get_mut(at) {
            review.sort(setup, &mut shown.rows);
        }
        review
    }

    /// A kind or a place over the periods, by its name.
    pub fn group(&self, grouping: Grouping, name: &str) -> Option<&GroupTrack> {
        self.groups.iter().find(|group| group.grouping == grouping && group.name == name)
    }

    /// What is thought of an item's gap.
    pub fn of(&self, item: ItemId) -> Option<&Finding> {
        self.findings.get(&item)
    }

    /// What is thought of an item's gap, in one word.
    pub fn verdict(&self, item: ItemId) -> Verdict {
        self.of(item).map_or(Verdict::Within, |finding| finding.verdict)
    }

    /// The money at stake in a gap: what it cost, or what went steadily so far where that is more.
    pub fn stake(&self, row: &GapRow) -> Option<Money> {
        let cost = row.cost?;
        let steady = self.of(row.item).and_then(|finding| {
            let steady = finding.steady.filter(|_| finding.over_periods)?;
            let points = finding.track.points.iter().skip(steady.since).flatten();
            let so_far = steady.rate * points.filter(|point| !point.left_out).count() as f64;
            Some(Money((so_far * row.unit_cost?).round() as i64))
        });
        Some(steady.filter(|steady| steady.0.abs() > cost.0.abs()).unwrap_or(cost))
    }

    /// Whether less went than was sold: of what only the periods together tell, by them.
    pub fn is_short(&self, row: &GapRow) -> bool {
        let steady = self.of(row.item).filter(|finding| finding.over_periods && !finding.by_itself);
        steady.and_then(|finding| finding.steady).map_or(row.gap.0 < 0, |steady| steady.rate < 0.0)
    }

    /// Sorts rows: what matters most first; what went before what was too much; the most money first; rows without a
    /// known cost after them, by share of a container.
    fn sort(&self, setup: &Setup, rows: &mut [GapRow]) {
        let stake = |row: &GapRow| self.stake(row).map_or(-1, |stake| stake.0.saturating_abs());
        let share = |row: &GapRow| setup.item(row.item).map_or(0.0, |item| row.gap.per(item.size).abs());
        rows.sort_by(|a, b| {
            self.verdict(a.item)
                .cmp(&self.verdict(b.item))
                .then(self.is_short(a).cmp(&self.is_short(b)))
                .then(stake(b).cmp(&stake(a)))
                .then(share(b).total_cmp(&share(a)))
                .then_with(|| setup.item_name(a.item).cmp(setup.item_name(b.item)))
        });
    }
}
