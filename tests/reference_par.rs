//! Demand and par against published tables and independent libraries.

#![allow(clippy::unwrap_used)]

use tantalus::domain::par::{Demand, Stakes};
use tantalus::domain::statistics::{Counted, Method, Smoother};

fn near(found: f64, expected: f64, within: f64) {
    assert!((found - expected).abs() <= within, "found {found}, expected {expected}");
}

/// The smallest level that suffices in 90, 95 and 99 of 100 cycles: `scipy.stats.poisson.ppf`, and `nbinom.ppf` with size
/// m ÷ (v − 1) and probability 1 ÷ v for a variance of two and three times the mean, SciPy 1.17.
const BASE_STOCK: [(f64, [[f64; 3]; 3]); 9] = [
    (0.5, [[1.0, 2.0, 3.0], [2.0, 2.0, 5.0], [2.0, 3.0, 6.0]]),
    (1.0, [[2.0, 3.0, 4.0], [3.0, 4.0, 6.0], [3.0, 4.0, 8.0]]),
    (2.0, [[4.0, 5.0, 6.0], [5.0, 6.0, 9.0], [5.0, 7.0, 11.0]]),
    (3.0, [[5.0, 6.0, 8.0], [6.0, 8.0, 11.0], [7.0, 9.0, 13.0]]),
    (5.0, [[8.0, 9.0, 11.0], [9.0, 11.0, 14.0], [10.0, 12.0, 17.0]]),
    (8.0, [[12.0, 13.0, 15.0], [13.0, 15.0, 19.0], [15.0, 17.0, 23.0]]),
    (12.0, [[17.0, 18.0, 21.0], [19.0, 21.0, 26.0], [20.0, 23.0, 29.0]]),
    (20.0, [[26.0, 28.0, 31.0], [28.0, 31.0, 37.0], [30.0, 34.0, 42.0]]),
    (30.0, [[37.0, 39.0, 43.0], [40.0, 44.0, 50.0], [43.0, 47.0, 56.0]]),
];

#[test]
fn levels_for_demand_that_is_counted() {
    for (mean, levels) in BASE_STOCK {
        for (ratio, by_ratio) in [1.0, 2.0, 3.0].into_iter().zip(levels) {
            for (share, level) in [0.90, 0.95, 0.99].into_iter().zip(by_ratio) {
                let counted = Counted::new(mean, ratio);
                assert_eq!(counted.quantile(share), level, "{mean} {ratio} {share}");
                assert!(counted.share_up_to(level) >= share && counted.share_up_to(level - 1.0) < share);
                // The same as bottles: demand in pieces of 50 ml.
                let demand = Demand { mean: mean * 50.0, variance: ratio * mean * 50.0 * 50.0, piece: 50.0 };
                near(demand.quantile(share), level * 50.0, 1e-6);
            }
        }
    }
}

/// Mean, variance ÷ mean, level, share up to it, excess over it.
const COUNTED: &[(f64, f64, f64, f64, f64)] = &[
    (3.0, 1.0, 4.0, 0.815263244524, 0.319357311748),
    (3.0, 2.5, 4.0, 0.76672, 0.69984),
    (30.0, 1.7, 40.0, 0.922129097269, 0.342049294267),
    (90.0, 4.0, 120.0, 0.937199500689, 0.672414785108),
    (700.0, 1.0, 750.0, 0.970798515496, 0.321220497586),
    (900.0, 6.0, 1000.0, 0.911222157573, 3.32607892427),
    (2500.0, 1.3, 2400.0, 0.0396177946409, 100.872614824),
    (0.02, 1.5, 0.0, 0.98391220908, 0.02),
    (12.0, 40.0, 60.0, 0.958504893848, 1.33958464736),
];

/// `scipy.stats.poisson.cdf`, `nbinom.cdf` and `.expect` of what is above a level, SciPy 1.17; the large ones where a
/// first term would be too small to begin with.
#[test]
fn shares_and_excess_of_demand_that_is_counted() {
    for (mean, ratio, level, share, excess) in COUNTED {
        let counted = Counted::new(*mean, *ratio);
        near(counted.share_up_to(*level), *share, 1e-9);
        near(counted.excess(*level), *excess, 1e-7 * mean);
    }
}

/// Order up to S = μ(R+L) + k σ √(R+L), and what is expected to be short of it in a cycle: E. Silver, D. Pyke, R. Peterson,
/// Inventory Management and Production Planning and Scheduling, 3rd ed., periodic review; reckoned with SciPy. Mean and
/// standard deviation of a week, weeks between reviews and of lead, service, S, short.
#[test]
fn levels_for_demand_that_is_spread_normally() {
    for (mean, sd, review, lead, service, level, short) in [
        (5.0, 2.0, 1.0, 0.5, 0.95, 11.5291, 0.05118),
        (12.0, 4.0, 1.0, 1.0, 0.95, 33.3047, 0.11819),
        (2.5, 1.5, 1.0, 0.285_714_285_7, 0.98, 6.7074, 0.01249),
    ] {
        let weeks: f64 = review + lead;
        let demand = Demand { mean: mean * weeks, variance: sd * sd * weeks, piece: 0.0 };
        near(demand.quantile(service), level, 5e-5);
        near(demand.share_up_to(level), service, 1e-5);
        near(demand.missing(demand.quantile(service)), short, 6e-6);
        near(demand.left(level) - demand.missing(level), level - demand.mean, 1e-9);
    }
}

/// L. Snyder and Z.-J. Shen, Fundamentals of Supply Chain Theory, 2nd ed., as stored in the library stockpyl 1.0.2:
/// example 4.3, holding 0.18, shortage 0.70, demand 50 ± 8: level 56.604, expected cost 1.9976; the same with Poisson
/// demand of 50: level 56, cost 1.7972; example 4.4, four periods of lead and one of review: level 264.767.
#[test]
fn newsvendor_levels() {
    let stakes = Stakes { short: 0.70, over: 0.18 };
    let cost = |demand: Demand, level: f64| demand.left(level) * stakes.over + demand.missing(level) * stakes.short;
    let ratio = stakes.ratio().unwrap();
    let normal = Demand { mean: 50.0, variance: 64.0, piece: 0.0 };
    near(normal.quantile(ratio), 56.603_955_93, 1e-6);
    near(cost(normal, normal.quantile(ratio)), 1.997_605_193, 1e-6);
    let poisson = Demand { mean: 50.0, variance: 50.0, piece: 1.0 };
    near(poisson.quantile(ratio), 56.0, 0.0);
    near(cost(poisson, 56.0), 1.797_235_212, 1e-7);
    let five = Demand { mean: 250.0, variance: 320.0, piece: 0.0 };
    near(five.quantile(ratio), 264.766_894_4, 1e-6);
    assert_eq!(Stakes { short: 0.0, over: 0.0 }.ratio(), None);
}

/// Monthly scripts of the group J06, July 1991 to June 2008 (Pharmaceutical Benefits Scheme, Australia), as shipped with
/// the library sktime 1.2.0: many months without any, the last 24 and more all nothing.
const SCRIPTS: [f64; 204] = [
    1.0, 1.0, 1.0, 0.0, 0.0, 1.0, 3.0, 1.0, 1.0, 1.0, 1.0, 1.0, 2.0, 1.0, 1.0, 0.0, 0.0, 2.0, 0.0, 0.0, 1.0, 2.0, 0.0,
    1.0, 0.0, 0.0, 1.0, 1.0, 1.0, 1.0, 0.0, 0.0, 2.0, 1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 3.0, 3.0, 2.0, 4.0, 1.0, 1.0, 3.0,
    3.0, 1.0, 0.0, 4.0, 1.0, 3.0, 0.0, 1.0, 2.0, 5.0, 14.0, 2.0, 0.0, 0.0, 3.0, 6.0, 2.0, 2.0, 2.0, 5.0, 1.0, 6.0, 3.0,
    3.0, 2.0, 0.0, 1.0, 1.0, 0.0, 0.0, 0.0, 1.0, 4.0, 12.0, 4.0, 0.0, 7.0, 0.0, 2.0, 1.0, 4.0, 1.0, 3.0, 1.0, 0.0, 6.0,
    9.0, 3.0, 1.0, 3.0, 1.0, 7.0, 1.0, 3.0, 3.0, 3.0, 5.0, 6.0, 10.0, 5.0, 1.0, 3.0, 1.0, 1.0, 1.0, 2.0, 1.0, 3.0, 7.0,
    11.0, 10.0, 5.0, 5.0, 2.0, 2.0, 1.0, 0.0, 3.0, 6.0, 5.0, 8.0, 9.0, 1.0, 1.0, 0.0, 0.0, 0.0, 1.0, 2.0, 2.0, 0.0,
    0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 2.0, 1.0, 1.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0,
    0.0, 0.0, 1.0, 0.0, 1.0, 3.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0,
    0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0,
];

/// Ours, short enough to be followed by hand.
const SHORT: [f64; 20] =
    [0.0, 0.0, 5.0, 0.0, 0.0, 3.0, 0.0, 0.0, 0.0, 4.0, 0.0, 2.0, 0.0, 0.0, 0.0, 0.0, 6.0, 0.0, 3.0, 0.0];

fn rate(method: Method, series: &[f64]) -> f64 {
    let mut smoother = Smoother::new(method);
    series.iter().for_each(|asked| smoother.see(*asked, 1.0));
    smoother.rate()
}

/// The forecast for the period after the last, by statsforecast 2.1.1 (SimpleExponentialSmoothing, CrostonSBA with 0.1,
/// TSB), to the digits that were noted.
#[test]
fn forecasts_by_smoothing() {
    let level = |alpha| Method::Level { alpha };
    let chance = |size| Method::Chance { size, chance: 0.1 };
    for (series, expected) in [
        (&SHORT[..], [1.084_981_104, 1.325_479_301, 1.373_982_226, 1.245_643_775, 1.152_247_408]),
        (&SCRIPTS[..60], [2.437_284_963, 2.355_887_500, 2.472_761_399, 2.213_501_148, 2.907_659_497]),
        (&SCRIPTS[..], [0.011_749_019, 0.000_001_578, 0.825_447_503, 0.015_193_592, 0.011_535_845]),
    ] {
        let methods = [level(0.1), level(0.3), Method::Gaps { alpha: 0.1 }, chance(0.1), chance(0.2)];
        for (method, expected) in methods.into_iter().zip(expected) {
            near(rate(method, series), expected, 5e-10);
        }
    }
}

/// A day that is half a usual one and asks half as much says nothing new, and a plain average is where settling begins.
#[test]
fn exposure_and_settling() {
    for method in [Method::Level { alpha: 0.1 }, Method::Chance { size: 0.1, chance: 0.05 }] {
        let mut smoother = Smoother::settling(method);
        for (asked, exposure) in [(4.0, 1.0), (8.0, 1.0)] {
            smoother.see(asked, exposure);
        }
        near(smoother.rate(), 6.0, 1e-12);
    }
    let mut smoother = Smoother::new(Method::Level { alpha: 0.2 });
    for exposure in [1.0, 0.5, 1.6, 1.0] {
        smoother.see(10.0 * exposure, exposure);
    }
    near(smoother.rate(), 10.0, 1e-12);
}
