//! The normal distribution.

use std::f64::consts::{PI, SQRT_2};

/// Density of the standard normal distribution.
pub fn normal_density(z: f64) -> f64 {
    (-0.5 * z * z).exp() / (2.0 * PI).sqrt()
}

/// The share of a standard normal distribution that lies below `z`.
pub fn normal_share(z: f64) -> f64 {
    0.5 * libm::erfc(-z / SQRT_2)
}

/// Where a share of a standard normal distribution, between 0 and 1, lies below; at most 8 on either side.
pub fn normal_quantile(share: f64) -> f64 {
    let (mut low, mut high) = (-8.0, 8.0);
    // The share below grows with z, so halving always finds it; sixty halvings reach the last bit.
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if normal_share(middle) < share {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

/// The expected amount by which a standard normal variable exceeds `z`: φ(z) − z (1 − Φ(z)).
pub fn normal_loss(z: f64) -> f64 {
    normal_density(z) - z * normal_share(-z)
}
