//! Density of mixtures of ethanol and water, and what strength by volume means in mass.
//!
//! The general formula of OIML R 22 (1975), International alcoholometric tables, p. 13: density in kg/m³ as a function
//! of the mass fraction of ethanol and the temperature (Celsius), valid from −20 °C to 40 °C.

use super::numeric::{halved, polynomial};

/// Temperature that strengths and volumes on labels refer to, °C (OIML R 22; the European Union's labels).
pub const REFERENCE: f64 = 20.0;

/// Coldest and warmest temperature of the formula, °C.
pub const RANGE: std::ops::RangeInclusive<f64> = -20.0..=40.0;

const A: [f64; 12] = [
    998.201_23,
    -192.976_949_5,
    389.123_895_8,
    -1_668.103_923,
    13_522.154_41,
    -88_292.783_88,
    306_287.404_2,
    -613_838.123_4,
    747_017.299_8,
    -547_846.135_4,
    223_446.033_4,
    -39_032.854_26,
];
const B: [f64; 6] = [-0.206_185_13, -0.005_268_254_2, 3.6130013e-05, -3.8957702e-07, 7.169354e-09, -9.9739231e-11];
const C1: [f64; 11] = [
    0.169_344_346_153_008_7,
    -10.469_147_434_551_69,
    71.963_534_695_465_23,
    -704.747_805_427_279_2,
    3_924.090_430_035_045,
    -12_101.646_590_687_47,
    22_486.465_504_007_88,
    -26_055.629_821_881_64,
    18_523.739_220_694_67,
    -7_420.201_433_430_137,
    1_285.617_841_998_974,
];
const C2: [f64; 10] = [
    -0.011_930_130_050_570_1,
    0.251_739_963_380_346_1,
    -2.170_575_700_536_993,
    13.530_349_888_430_29,
    -50.299_887_585_470_14,
    109.635_566_657_757,
    -142.275_394_642_115_5,
    108.043_594_285_623,
    -44.141_532_368_173_92,
    7.442_971_530_188_783,
];
const C3: [f64; 9] = [
    -0.000_680_299_573_350_380_3,
    0.018_768_377_902_896_64,
    -0.200_256_181_373_415_6,
    1.022_992_966_719_22,
    -2.895_696_483_903_638,
    4.810_060_584_300_675,
    -4.672_147_440_794_683,
    2.458_043_105_903_461,
    -0.541_122_762_143_681_2,
];
const C4: [f64; 4] = [4.075376675622027e-06, -8.76305857347111e-06, 6.515031360099368e-06, -1.51578483698721e-06];
const C5: [f64; 2] = [-2.788074354782409e-08, 1.345612883493354e-08];

/// Density (kg/m³) of a mixture of ethanol and water: `mass` the mass fraction of ethanol, 0 to 1; `celsius` its
/// temperature. Outside of the formula's range the nearest end of it is taken.
pub fn density(mass: f64, celsius: f64) -> f64 {
    let p = mass.clamp(0.0, 1.0);
    let d = celsius.clamp(*RANGE.start(), *RANGE.end()) - REFERENCE;
    let mixed: [&[f64]; 5] = [&C1, &C2, &C3, &C4, &C5];
    let mixed: f64 = (1..).zip(mixed).map(|(i, c)| d.powi(i) * polynomial(c, 1, p)).sum();
    polynomial(&A, 0, p) + polynomial(&B, 1, d) + mixed
}

/// The mass fraction of ethanol in a mixture of a strength by volume at 20 °C, `volume` from 0 to 1.
///
/// Strength by volume q is the volume of the ethanol, taken alone, per volume of the mixture, both at 20 °C (OIML R 22):
/// q = p ρ(p) ÷ ρ(1). The right side grows with p, so halving the interval always finds it.
pub fn mass_fraction(volume: f64) -> f64 {
    let q = volume.clamp(0.0, 1.0) * density(1.0, REFERENCE);
    halved(0.0, 1.0, |p| p * density(p, REFERENCE) < q)
}

/// Density (kg/m³) at a temperature of a spirit of a strength by volume at 20 °C, `volume` from 0 to 1.
pub fn density_of_strength(volume: f64, celsius: f64) -> f64 {
    density(mass_fraction(volume), celsius)
}
