//! What looking once more would settle: the lines of the newest count at which another look is worth most.

use super::Spreads;
use super::cause::Suspect;
use super::gap::{GapRow, Variance};
use super::review::{Review, Verdict};
use crate::domain::measure::Money;
use crate::domain::statistics::{normal_quantile, normal_share};
use crate::domain::venue::{ItemId, Setup};
use std::collections::HashMap;

/// Looking again at one line, and what it is expected to settle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Recount {
    /// What to look at.
    pub item: ItemId,
    /// The chance that a sealed one was overlooked or counted twice.
    pub slip: f64,
    /// The chance that reading the opened ones finer, in quarter-tenths or on the scale, changes what is thought of the
    /// gap.
    pub finer: f64,
    /// The money that is expected to be settled: what is at stake, by these chances.
    pub gain: Money,
}

/// How long one more look takes, with the way to it (common practice, no source).
pub const SECONDS: i64 = 20;

/// No more lines than this are worth a walk at closing time.
const MOST: usize = 5;

/// A reading by eye in quarter-tenths has a quarter of the step, so a sixteenth of the variance.
const FINER: f64 = 1.0 / 16.0;

/// Less than this share of all that could be settled is not worth a look.
const LEAST: f64 = 0.03;

/// The lines at which another look is expected to settle most, the most first; none whose cost is not known.
pub fn recounts(
    setup: &Setup,
    variance: &Variance,
    review: &Review,
    suspects: &HashMap<ItemId, Vec<Suspect>>,
) -> Vec<Recount> {
    let spreads = review.spreads.unwrap_or(Spreads::AS_SET);
    // The chance at which a gap is told, of those that were; the first one that would be, where none was.
    let told = review.findings.values().filter(|finding| finding.by_itself).map(|finding| finding.chance);
    let first = review.rate / variance.rows.len().max(1) as f64;
    let limit = normal_quantile(1.0 - told.fold(first, f64::max) / 2.0);
    let mut all: Vec<Recount> = variance
        .rows
        .iter()
        .filter(|row| review.verdict(row.item) != Verdict::Within)
        .filter_map(|row| {
            let slip: f64 = suspects
                .get(&row.item)?
                .iter()
                .filter(|suspect| suspect.cause.settled_by_looking_again())
                .map(|suspect| suspect.share)
                .sum();
            let finer = (1.0 - slip) * changes(row, &spreads, limit);
            let stake = review.stake(row)?.0.saturating_abs() as f64;
            let gain = Money(((slip + finer) * stake).round() as i64);
            Some(Recount { item: row.item, slip, finer, gain })
        })
        .filter(|recount| recount.gain > Money::ZERO)
        .collect();
    all.sort_by(|a, b| b.gain.cmp(&a.gain).then_with(|| setup.item_name(a.item).cmp(setup.item_name(b.item))));
    let most: i64 = all.iter().map(|recount| recount.gain.0).sum();
    all.retain(|recount| recount.gain.0 as f64 >= LEAST * most as f64);
    all.truncate(MOST);
    all
}

/// The chance that a finer reading at the closing takes a gap across the limit at which it is told, in standard
/// uncertainties. The gap will then be what it is now, give or take what the reading leaves out now.
fn changes(row: &GapRow, spreads: &Spreads, limit: f64) -> f64 {
    let now = row.budget.of_closing(spreads);
    let less = now * (1.0 - FINER);
    if less <= 0.0 {
        return 0.0;
    }
    let (gap, u) = (row.likely().abs(), (row.u * row.u - less).max(0.0).sqrt());
    let within = |at: f64| normal_share((at - gap) / less.sqrt());
    let inside = within(limit * u) - within(-limit * u);
    if gap > limit * row.u { inside } else { 1.0 - inside }
}
