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
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Blurred {
    /// Half-widths, the widest first, as many as are kept.
    halves: [f64; KEPT],
    kept: usize,
    sigma: f64,
}

impl Blurred {
    /// A sum of rectangular errors of these half-widths and of a normal one of a variance. All but the widest are counted
    /// into the normal one, with their variance a²/3.
    pub fn new(halves: impl IntoIterator<Item = f64>, variance: f64) -> Blurred {
        let mut all: Vec<f64> = halves.into_iter().filter(|half| *half > 0.0).collect();
        all.sort_by(|a, b| b.total_cmp(a));
        Blurred::of_sorted(&all, variance)
    }

    /// The same of half-widths above nothing that come with the widest first.
    pub fn of_sorted(all: &[f64], variance: f64) -> Blurred {
        let (mut halves, mut kept, mut variance) = ([0.0; KEPT], 0, variance.max(0.0));
        for half in all {
            if kept < KEPT && *half > VISIBLE * variance.sqrt() {
                halves[kept] = *half;
                kept += 1;
            } else {
                variance += half * half / 3.0;
            }
        }
        let sharpest = halves[..kept].last().map_or(0.0, |half| SHARPEST * half);
        Blurred { halves, kept, sigma: variance.sqrt().max(sharpest) }
    }

    /// Sums the signs: the repeated integral of the order that the number of parts and `lower` make.
    fn summed(&self, x: f64, lower: usize) -> f64 {
        let halves = &self.halves[..self.kept];
        let sum = self.signs(halves, x, halves.len() - lower.min(halves.len()), halves.len() < lower);
        let widths: f64 = halves.iter().map(|half| 2.0 * half / self.sigma).product();
        (sum / widths).max(0.0)
    }

    /// The sum over the signs of some parts, those of the others being in `at`. Parts of one width are taken together: of k
    /// such, the sum ∑ sᵢa is (k − 2j)·a for as many signs as there are ways to choose j of k, with the sign (−1)ʲ.
    fn signs(&self, halves: &[f64], at: f64, order: usize, density: bool) -> f64 {
        let Some(half) = halves.first() else { return repeated(at / self.sigma, order, density) };
        let alike = halves.iter().take_while(|other| *other == half).count();
        let (mut sum, mut ways) = (0.0, 1.0);
        for j in 0..=alike {
            let of_others = self.signs(&halves[alike..], at + (alike as f64 - 2.0 * j as f64) * half, order, density);
            sum += ways * of_others;
            ways *= -((alike - j) as f64) / (j + 1) as f64;
        }
        sum
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
            // The same on both sides; on the lower one what is added up is small where the sum is.
            _ => self.summed(-x.abs(), 1) / self.sigma,
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
