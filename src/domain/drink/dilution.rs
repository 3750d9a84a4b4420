//! The water that ice adds.

use super::mix::Mix;
use crate::domain::venue::DrinkMethod;

/// How the water of a drink is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum DilutionFrom {
    /// As it was measured here.
    Measured,
    /// As the method usually has it.
    Method,
    /// The method is not said, or the ice becomes part of the drink: nothing is added.
    Unknown,
}

/// What ice adds in a glass while it is handed over: a tenth (common practice, no source).
const BUILT: f64 = 0.10;

/// The water that a method usually adds, as a share of the volume before, for a strength by volume before ice (0 to 1);
/// `None` where the ice itself becomes part of the drink.
///
/// Stirred −1.21 a² + 1.246 a + 0.145 and shaken −1.567 a² + 1.742 a + 0.203: regressions attributed to D. Arnold,
/// Liquid Intelligence (2014), p. 123, for about 15 to 40 % vol; the book itself was not read, and copies disagree about
/// the sign of 1.567 (the other sign would more than double a strong drink). A planning figure, not a fact: ice, tins and
/// hands differ, so measure your own. Thrown is taken as stirred (common practice, no source). Past the strength where a
/// regression peaks, its peak is taken.
pub fn usual(method: DrinkMethod, strength: f64) -> Option<f64> {
    let a = strength.max(0.0);
    let peaked = |square: f64, linear: f64, constant: f64| {
        let a = a.min(linear / (2.0 * square));
        constant + linear * a - square * a * a
    };
    match method {
        DrinkMethod::Stir | DrinkMethod::Throw => Some(peaked(1.21, 1.246, 0.145)),
        DrinkMethod::Shake => Some(peaked(1.567, 1.742, 0.203)),
        DrinkMethod::Build => Some(BUILT),
        DrinkMethod::Pour => Some(0.0),
        DrinkMethod::Blend => None,
    }
}

/// The share of water that a drink gets, and how that is known: as measured (hundredths of a percent), else as the
/// method usually has it.
pub fn share(method: Option<DrinkMethod>, measured: Option<i64>, strength: f64) -> (f64, DilutionFrom) {
    match (measured, method.and_then(|method| usual(method, strength))) {
        (Some(hundredths), _) => (hundredths as f64 / 10_000.0, DilutionFrom::Measured),
        (None, Some(share)) => (share, DilutionFrom::Method),
        (None, None) => (0.0, DilutionFrom::Unknown),
    }
}

/// A drink with water of so large a share of its volume.
pub fn diluted(before: Mix, share: f64) -> Mix {
    before + Mix::of_water(before.volume() * share)
}
