//! The statistics of a variance, each against something that was not made here.

#![allow(clippy::unwrap_used)]

use tantalus::domain::statistics::{Blurred, Cusum, Reference, adjusted, limit_for, normal_share, run_length};

/// Half-widths, standard deviation, where, the share beyond it on both sides and the density there.
type Case = (&'static [f64], f64, f64, f64, f64);

/// Shares beyond by scipy 1.17.1: `stats.norm.sf` integrated over each rectangle with `integrate.quad`. Densities, and
/// the shares of four parts and more, from the characteristic function by `numpy.fft`.
const SUMS: &[Case] = &[
    (&[35.0, 35.0], 0.0, 50.0, 8.162_793e-2, 4.081_633e-3),
    (&[35.0], 10.0, 60.0, 5.726_106_23e-4, 8.870_95e-5),
    (&[35.0, 35.0], 8.0, 75.0, 2.152_300_68e-3, 2.643_59e-4),
    (&[35.0, 35.0, 17.5], 12.0, 100.0, 2.763_925_69e-4, 2.882_63e-5),
    (&[35.0, 35.0, 35.0, 35.0], 10.0, 130.0, 3.424_0e-4, 2.839_99e-5),
    (&[50.0, 35.0, 25.0, 12.5], 5.0, -90.0, 1.202_398e-2, 6.814_90e-4),
    (&[35.0, 35.0], 20.0, 150.0, 2.522_618_86e-7, 2.916_4e-8),
    (&[], 10.0, 25.0, 1.241_933_07e-2, 1.752_83e-3),
];

#[test]
fn the_sum_of_rectangular_and_normal_errors() {
    for (halves, sigma, x, beyond, density) in SUMS {
        let sum = Blurred::new(halves.iter().copied(), sigma * sigma);
        let close = |found: f64, expected: f64| (found / expected - 1.0).abs() < 2e-3;
        assert!(close(sum.beyond(*x), *beyond), "{halves:?} {sigma} {x}: {}", sum.beyond(*x));
        assert!(close(sum.density(*x), *density), "{halves:?} {sigma} {x}: {}", sum.density(*x));
    }
    // Narrow parts, and those beyond the sixth, are taken for normal: a little too likely, never too little.
    assert!((Blurred::new([20.0, 3.0], 225.0).beyond(40.0) / 3.261_161e-2 - 1.0).abs() < 0.01);
    let eight = Blurred::new([10.0; 8], 16.0).beyond(55.0);
    assert!((1.0..1.3).contains(&(eight / 5.489_7e-4)), "{eight}");
    // Nothing uncertain: any difference is real.
    // The density of two of half-width 35 and a normal one of 20, by mpmath 1.3: the integral of
    // (Φ((x−t+35)/20) − Φ((x−t−35)/20))/70 over t from −35 to 35, over 70, to forty digits.
    let two = Blurred::new([35.0, 35.0], 400.0);
    let at = [(0.0, 0.011_029_520_004_220_3), (90.0, 3.400_574_782_187_56e-4), (-300.0, 2.306_867_288_019_48e-34)];
    for (x, density) in at {
        assert!((two.density(x) / density - 1.0).abs() < 1e-9, "{x}: {}", two.density(x));
        assert_eq!(two.density(x), two.density(-x));
    }
    let exact = Blurred::new([], 0.0);
    assert_eq!((exact.beyond(0.0), exact.beyond(0.1)), (1.0, 0.0));
}

/// Far out, where a normal distribution of the same variance is wrong by orders of magnitude.
#[test]
fn two_readings_by_tenths_cannot_be_further_off_than_two_half_tenths() {
    let sum = Blurred::new([35.0, 35.0], 0.0);
    let normal = 2.0 * normal_share(-75.0 / (2.0 * 35.0 * 35.0 / 3.0_f64).sqrt());
    assert!(sum.beyond(75.0) < 1e-9 && normal > 8e-3, "{} {normal}", sum.beyond(75.0));
}

/// Benjamini, Hochberg: Controlling the false discovery rate, J. R. Statist. Soc. B 57 (1995), the example of 15 tests:
/// four are rejected at 0.05; at 0.10, nine (adjusted values by statsmodels 0.15.0).
#[test]
fn the_example_of_benjamini_and_hochberg() {
    const EXAMPLE: [(f64, f64); 15] = [
        (0.0001, 0.0015),
        (0.0004, 0.003),
        (0.0019, 0.0095),
        (0.0095, 0.035625),
        (0.0201, 0.0603),
        (0.0278, 0.063857),
        (0.0298, 0.063857),
        (0.0344, 0.0645),
        (0.0459, 0.0765),
        (0.324, 0.486),
        (0.4262, 0.581182),
        (0.5719, 0.714875),
        (0.6528, 0.753231),
        (0.759, 0.813214),
        (1.0, 1.0),
    ];
    // In another order than that of the paper: the answer must not depend on it.
    let shuffled: Vec<(f64, f64)> = (0..15).map(|n| EXAMPLE[n * 7 % 15]).collect();
    let p: Vec<f64> = shuffled.iter().map(|(p, _)| *p).collect();
    let found = adjusted(&p);
    for ((p, expected), found) in shuffled.iter().zip(&found) {
        assert!((found - expected).abs() < 1e-6, "{p}: {found}");
    }
    let rejected = |rate: f64| found.iter().filter(|p| **p <= rate).count();
    assert_eq!((rejected(0.05), rejected(0.10)), (4, 9));
    assert!(adjusted(&[]).is_empty());
}

/// NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.3: twenty means around 325, k = 0.3175, h = 4.1959; the sums as
/// printed, and the fourteenth is the first beyond h.
#[test]
fn the_cusum_of_the_handbook() {
    const EXAMPLE: [(f64, f64, f64); 20] = [
        (324.925, 0.00, 0.00),
        (324.675, 0.00, 0.01),
        (324.725, 0.00, 0.00),
        (324.350, 0.00, 0.33),
        (325.350, 0.03, 0.00),
        (325.225, 0.00, 0.00),
        (324.125, 0.00, 0.56),
        (324.525, 0.00, 0.72),
        (325.225, 0.00, 0.17),
        (324.600, 0.00, 0.25),
        (324.625, 0.00, 0.31),
        (325.150, 0.00, 0.00),
        (328.325, 3.01, 0.00),
        (327.250, 4.94, 0.00),
        (327.825, 7.45, 0.00),
        (328.500, 10.63, 0.00),
        (326.675, 11.99, 0.00),
        (327.775, 14.44, 0.00),
        (326.875, 16.00, 0.00),
        (328.350, 19.04, 0.00),
    ];
    let reference = Reference { target: 325.0, slack: 0.3175 };
    let mut sums = Cusum::default();
    let mut beyond = Vec::new();
    for (n, (value, high, low)) in EXAMPLE.into_iter().enumerate() {
        sums = sums.with(value, reference);
        assert!((sums.high - high).abs() < 0.0051, "{n}: {sums:?}");
        assert!((sums.low - low).abs() < 0.0051, "{n}: {sums:?}");
        if sums.reach() > 4.1959 {
            beyond.push(n + 1);
        }
    }
    assert_eq!(beyond, (14..=20).collect::<Vec<_>>());
}

/// Average run lengths of two-sided charts with k = 0.5 that nothing is wrong with: 168 for h = 4 and 465 for h = 5
/// (Montgomery, Introduction to Statistical Quality Control, the table of run lengths; from memory), 370 for h = 4.77
/// (Hawkins 1993; from memory).
#[test]
fn run_lengths_are_those_of_the_tables() {
    for (limit, length) in [(4.0, 168.0), (5.0, 465.0), (4.77, 370.0)] {
        let found = run_length(limit, 0.5);
        assert!((found / length - 1.0).abs() < 0.01, "{limit}: {found}");
    }
    assert!((limit_for(465.0, 0.5) - 5.0).abs() < 0.01);
}
