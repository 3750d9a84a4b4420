//! Density of sugar solutions.
//!
//! The form in which ICUMSA (Specification and Standard SPS-4) gives the density of sucrose solutions: that of water
//! at the temperature, and a polynomial in the mass fraction of sucrose and the temperature; kg/m³, °C.

use super::numeric::{halved, polynomial};

const A: [f64; 6] = [385.176_1, 135.370_5, 40.929_9, -3.964_3, 13.485_3, -17.289];
const B: [f64; 5] = [-46.272, -7.172, 1.159_7, 5.112_6, 17.525_4];
const C: [f64; 4] = [59.771_2, 7.249_1, 12.363, -35.479_1];
const D: [f64; 3] = [-47.220_7, -21.697_7, 27.630_1];
const E: [f64; 2] = [18.318_4, 12.308_1];
const WATER: [f64; 6] = [999.839_52, 16.952_577, -0.007_990_512_7, -4.6241757e-05, 1.0584601e-07, -2.8103006e-10];
const WATER_BELOW: f64 = 0.016_887_236;

/// Density of pure water (kg/m³) at 0 to 80 °C, in the form of Kell (1975).
pub fn water(celsius: f64) -> f64 {
    polynomial(&WATER, 0, celsius) / (1.0 + WATER_BELOW * celsius)
}

/// Density (kg/m³) of a solution of sucrose in water, `brix` in percent by mass, at a temperature.
pub fn density(brix: f64, celsius: f64) -> f64 {
    let w = brix.clamp(0.0, 100.0) / 100.0;
    let t = (celsius - 20.0) / 100.0;
    let by_power: [&[f64]; 5] = [&A, &B, &C, &D, &E];
    // A polynomial in the temperature, whose coefficients are polynomials in the mass fraction.
    water(celsius) + polynomial(&by_power.map(|set| polynomial(set, 1, w)), 0, t)
}

/// What a gram of sucrose fills in water, in ml at 20 °C, where there are so many grams in a litre of the solution.
pub fn apparent_volume(grams_per_litre: f64) -> f64 {
    let grams = grams_per_litre.max(1e-3);
    (1.0 - (density(brix_of(grams), 20.0) - grams) / water(20.0)) * 1_000.0 / grams
}

/// The Brix of a solution that holds so many grams of sucrose in a litre at 20 °C.
pub fn brix_of(grams_per_litre: f64) -> f64 {
    // ρ(w) × w grows with w, so halving the interval always finds it.
    halved(0.0, 100.0, |brix| density(brix, 20.0) * brix / 100.0 < grams_per_litre)
}
