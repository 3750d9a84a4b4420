//! Arithmetic that several formulas share.

/// The polynomial whose term of the least power is `first`, by Horner's rule.
pub(super) fn polynomial(coefficients: &[f64], first: i32, x: f64) -> f64 {
    coefficients.iter().rev().fold(0.0, |sum, c| sum * x + c) * x.powi(first)
}

/// Where a rising function reaches what is sought, between `low` and `high`, by halving; `is_below` tells whether it is
/// still below that at a point. Sixty halvings reach the last bit of a number.
pub(super) fn halved(mut low: f64, mut high: f64, is_below: impl Fn(f64) -> bool) -> f64 {
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if is_below(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}
