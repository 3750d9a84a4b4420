//! What the quiet items of a book say of its eyes and its pours.

use super::budget::{Spreads, Taught};
use super::gap::GapRow;
use crate::domain::many;
use crate::domain::statistics::normal_density;
use crate::domain::venue::Setup;

/// Spreads of an eye that are tried out, in shares of a container. In two of three books it is within a factor of 1.8 of a
/// sixth of a tenth (common practice, no source).
const EYES: [f64; 13] = [0.004, 0.006, 0.008, 0.01, 0.012, 0.015, 0.018, 0.022, 0.026, 0.031, 0.037, 0.045, 0.06];
const EYE_USUAL: f64 = 0.016;
const EYE_SURE: f64 = 0.59;

/// Factors on the spread of a pour that are tried out.
const POURS: [f64; 9] = [0.25, 0.4, 0.6, 0.8, 1.0, 1.3, 1.7, 2.4, 3.4];

/// Factors on the spread of a fill that are tried out. The law's tolerance is what it may be at worst.
const FILLS: [f64; 8] = [0.1, 0.2, 0.3, 0.45, 0.6, 0.8, 1.0, 1.3];

/// How sure the settings are taken to be: in two of three books within a factor of 1.6 for a pour, and of 2.7 for a fill
/// (common practice, no source).
const POUR_SURE: f64 = 0.47;
const FILL_SURE: f64 = 1.0;

/// The share of gaps that are taken to have a cause of their own, and how large such are, in containers.
const WITH_CAUSE: f64 = 0.05;
const CAUSED: f64 = 0.7;

/// An item of which less than this share of a container went is read twice at the same mark, and tells nothing.
const MOVED: f64 = 0.15;

/// Fewer gaps than this say nothing; more than that say no more.
const ENOUGH: usize = 20;
const PLENTY: usize = 1_500;

/// What gaps say of the spreads of unchecked eyes and of pours: both make gaps wide, the one by the size of the containers,
/// the other by the number of pours. Values of a grid are weighed by how likely they make the gaps, each with its own
/// steps, and by what was thought before; gaps with a cause of their own hardly matter, because each may be one. The three
/// are found one after the other, each with the others held, a few times over. Of the rows of `periods`, which come the
/// newest first; each is taken as a whole, so that it does not matter how its rows are sorted.
pub fn learned<'a>(setup: &Setup, periods: impl IntoIterator<Item = &'a [GapRow]>) -> Spreads {
    let mut facts: Vec<Lesson> = Vec::new();
    for rows in periods {
        if facts.len() >= PLENTY {
            break;
        }
        facts.extend(rows.iter().filter_map(|row| {
            let size = setup.item(row.item)?.size.as_f64();
            let moved = row.usage.as_f64().abs().max(row.sold.as_f64()) > MOVED * size;
            let lesson = || Lesson { gap: row.likely(), caused: CAUSED * size, taught: row.budget.taught() };
            (moved && row.budget.can_teach()).then(lesson)
        }));
    }
    if facts.len() < ENOUGH {
        return Spreads::AS_SET;
    }
    let likely = |spreads: &Spreads| -> f64 { facts.iter().map(|lesson| lesson.likely(spreads)).sum() };
    let mut found = Spreads { gaps: facts.len(), ..Spreads::AS_SET };
    for _ in 0..3 {
        found.eye =
            weighed(&EYES, |eye| likely(&Spreads { eye, ..found }) - 0.5 * ((eye / EYE_USUAL).ln() / EYE_SURE).powi(2));
        found.pours =
            weighed(&POURS, |pours| likely(&Spreads { pours, ..found }) - 0.5 * (pours.ln() / POUR_SURE).powi(2));
        found.fill = weighed(&FILLS, |fill| likely(&Spreads { fill, ..found }) - 0.5 * (fill.ln() / FILL_SURE).powi(2));
    }
    found
}

/// A gap, as far as it says how eyes, pours and fills scatter.
struct Lesson {
    gap: f64,
    /// How large gaps of the item are that have a cause of their own.
    caused: f64,
    taught: Taught,
}

impl Lesson {
    /// How likely the gap is, in logarithms.
    fn likely(&self, spreads: &Spreads) -> f64 {
        let variance = self.taught.variance(spreads);
        let caused = (variance + self.caused * self.caused).sqrt();
        let caused = normal_density(self.gap / caused) / caused;
        let quiet = self.taught.distribution(variance).density(self.gap);
        ((1.0 - WITH_CAUSE) * quiet + WITH_CAUSE * caused).max(f64::MIN_POSITIVE).ln()
    }
}

/// The mean of values, each weighed by its log likelihood, and one standard deviation more: a spread that is taken too
/// narrow cries wolf.
fn weighed(values: &[f64], likely: impl Fn(f64) -> f64 + Sync) -> f64 {
    let tried: Vec<(f64, f64)> = many::each(values, |value| (likely(*value), *value));
    let best = tried.iter().map(|(log, _)| *log).fold(f64::NEG_INFINITY, f64::max);
    let weights = || tried.iter().map(|(log, value)| ((log - best).exp(), *value));
    let total: f64 = weights().map(|(weight, _)| weight).sum();
    let mean = weights().map(|(weight, value)| weight * value).sum::<f64>() / total;
    let square = weights().map(|(weight, value)| weight * (value - mean).powi(2)).sum::<f64>() / total;
    mean + square.sqrt()
}
