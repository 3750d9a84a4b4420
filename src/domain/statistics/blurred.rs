//! The sum of some rectangular errors and a normal one: what readings in steps make of a difference.

use super::normal::{normal_density, normal_share};

/// Rectangular parts that are kept as they are; a sum of more is as good as normal.
const KEPT: usize = 6;

/// A part narrower than this share of the normal one disappears in it.
const VISIBLE: f64 = 0.3;

/// A normal part narrower than this share of the narrowest rectangular one is widened to it, so that the sum stays
/// computable; that moves no share by more than a few thousandths of one, and only at an edge.
const SHARPEST: f64 = 1e-3;

/// The distribution of a sum of independent errors around nothing.
///
/// Reading in steps makes rectangular errors, whose tails are short: taken for normal they would hide what they can
/// tell apart. With half-widths aᵢ and standard deviation σ the share below x is a sum over all signs sᵢ = ±1,
/// ∏sᵢ · Iₙ((x + Σ sᵢaᵢ)/σ) ÷ ∏(2aᵢ/σ), where I₋₁ = φ, I₀ = Φ and n·Iₙ(z) = z·Iₙ₋₁(z) + Iₙ₋₂(z): the repeated
/// integrals of the error function (Abramowitz and Stegun 7.2.5, rescaled; from memory).
#[derive(Clone, Debug, PartialEq)]
pub struct Blurred {
    /// Half-widths, the widest first.
    halves: Vec<f64>,
    sigma: f64,
}

impl Blurred {
    /// A sum of rectangular errors of these half-widths and of a normal one of a variance. All but the widest are counted
    /// into the normal one, with their variance a²/3.
    pub fn new(halves: impl IntoIterator<Item = f64>, variance: f64) -> Blurred {
        let mut all: Vec<f64> = halves.into_iter().filter(|half| *half > 0.0).collect();
        all.sort_by(|a, b| b.total_cmp(a));
        let (mut kept, mut variance) = (Vec::with_capacity(KEPT), variance.max(0.0));
        for half in all {
            if kept.len() < KEPT && half > VISIBLE * variance.sqrt() {
                kept.push(half);
            } else {
                variance += half * half / 3.0;
            }
        }
        let sharpest = kept.last().map_or(0.0, |half| SHARPEST * half);
        Blurred { halves: kept, sigma: variance.sqrt().max(sharpest) }
    }

    /// Sums the signs: the repeated integral of the order that the number of parts and `lower` make.
    fn summed(&self, x: f64, lower: usize) -> f64 {
        let n = self.halves.len();
        let mut sum = 0.0;
        for signs in 0..1_usize << n {
            let (mut at, mut sign) = (x, 1.0);
            for (bit, half) in self.halves.iter().enumerate() {
                if signs >> bit & 1 == 1 {
                    at += half;
                } else {
                    at -= half;
                    sign = -sign;
                }
            }
            sum += sign * repeated(at / self.sigma, n - lower.min(n), n < lower);
        }
        let widths: f64 = self.halves.iter().map(|half| 2.0 * half / self.sigma).product();
        (sum / widths).max(0.0)
    }

    /// The chance of an error at least as far from nothing as `x`, to either side.
    pub fn beyond(&self, x: f64) -> f64 {
        match self.sigma {
            0.0 if x == 0.0 => 1.0,
            0.0 => 0.0,
            _ => (2.0 * self.summed(-x.abs(), 0)).min(1.0),
        }
    }

    /// The density at `x`. That of an error that cannot be is infinite at nothing.
    pub fn density(&self, x: f64) -> f64 {
        match self.sigma {
            0.0 if x == 0.0 => f64::INFINITY,
            0.0 => 0.0,
            _ => self.summed(x, 1) / self.sigma,
        }
    }
}

/// The repeated integral of the normal density of an order; `density` gives the density itself.
fn repeated(z: f64, order: usize, density: bool) -> f64 {
    let (mut before, mut here) = (normal_density(z), normal_share(z));
    if density {
        return before;
    }
    for n in 1..=order {
        (before, here) = (here, (z * here + before) / n as f64);
    }
    here
}
