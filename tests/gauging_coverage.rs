//! On simulated bottles of known content the intervals must hold the truth as often as they claim, for every method.

#![allow(clippy::unwrap_used)]

#[path = "support/simulated.rs"]
mod simulated;

use simulated::{METHODS, convergence, run};

/// 95 % intervals of six thousand bottles: the share that holds the truth is sure to 0.3 % (one standard deviation of
/// a binomial), so it must lie between 94 and 96 %, as often as the GUM's definition of such an interval says (6.2.2).
/// And no method may read too much or too little on average, beyond three standard errors and a quarter of a millilitre,
/// nor state another uncertainty than the error it makes.
#[test]
fn intervals_hold_the_truth_as_often_as_they_say() {
    let mut wrong = String::new();
    for method in METHODS {
        let score = run(method, 20_261_125, 6_000);
        let free = 3.0 * score.rms() / f64::from(score.tried).sqrt() + 0.25;
        let honest = (score.stated() / score.rms() - 1.0).abs() < 0.04;
        if !(0.94..=0.96).contains(&score.coverage()) || score.bias().abs() > free || !honest {
            let (held, bias, rms, stated) = (100.0 * score.coverage(), score.bias(), score.rms(), score.stated());
            let name = method.name;
            wrong.push_str(&format!("\n{name}: {held:.2} % held, off {bias:+.2}, by {rms:.2}, stated {stated:.2} ml"));
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
}

#[test]
fn an_eye_is_known_better_with_every_check() {
    let found: Vec<(f64, f64, f64)> = [0, 3, 10, 40].iter().map(|n| convergence(*n, 7, 2_000)).collect();
    assert!(found.windows(2).all(|w| w[1].0 < w[0].0 && w[1].2 < w[0].2), "{found:?}");
    // Of an eye off by three tenths of a tenth a reading is off by more than its rounding allows; forty pairs undo that.
    assert!(found[0].0 > 0.27 && found[3].0 < 0.1, "{found:?}");
}
