//! What a sealed container holds.

use crate::domain::measure::{Amount, Basis};

/// Tolerable negative error of a package (Directive 76/211/EEC, Annex I, 2.4): up to a nominal size in millilitres or
/// grams, a share of it or a fixed number of millilitres. The directive ends at 10 l or 10 kg; above that as OIML R 87 has
/// it (from memory): 150 up to 15 l, then 1 %.
const TOLERANCES: [(f64, Tolerance); 9] = [
    (50.0, Tolerance::Share(0.09)),
    (100.0, Tolerance::Fixed(4.5)),
    (200.0, Tolerance::Share(0.045)),
    (300.0, Tolerance::Fixed(9.0)),
    (500.0, Tolerance::Share(0.03)),
    (1_000.0, Tolerance::Fixed(15.0)),
    (10_000.0, Tolerance::Share(0.015)),
    (15_000.0, Tolerance::Fixed(150.0)),
    (f64::INFINITY, Tolerance::Share(0.01)),
];

#[derive(Clone, Copy)]
enum Tolerance {
    Share(f64),
    Fixed(f64),
}

/// The tolerable negative error of a container of a nominal size, in ml or g.
pub fn tolerance(nominal: f64) -> f64 {
    let row = TOLERANCES.iter().find(|(up_to, _)| nominal <= *up_to);
    match row.map(|(_, tolerance)| tolerance) {
        Some(Tolerance::Share(share)) => nominal * share,
        Some(Tolerance::Fixed(fixed)) => *fixed,
        None => 0.0,
    }
}

/// Standard uncertainty of what a sealed container holds, in base units.
///
/// By the directive the packages of a lot hold the nominal quantity on average, and the reference test lets at most 2.5
/// in 100 fall short by more than the tolerable error (Annex II, from memory). A normal distribution that just passes
/// has 1.96 standard deviations to that error. Things that are counted are all there.
pub fn u_sealed(basis: Basis, size: Amount) -> f64 {
    match basis {
        Basis::Each => 0.0,
        Basis::Volume | Basis::Mass => tolerance(size.as_f64() / 1_000.0) * 1_000.0 / 1.96,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Directive 76/211/EEC, Annex I, 2.4: the table, at its edges and within.
    #[test]
    fn the_tolerances_of_the_directive() {
        for (nominal, error) in [
            (5.0, 0.45),
            (50.0, 4.5),
            (75.0, 4.5),
            (100.0, 4.5),
            (200.0, 9.0),
            (250.0, 9.0),
            (300.0, 9.0),
            (350.0, 10.5),
            (500.0, 15.0),
            (700.0, 15.0),
            (1_000.0, 15.0),
            (1_500.0, 22.5),
            (10_000.0, 150.0),
            (30_000.0, 300.0),
        ] {
            assert!((tolerance(nominal) - error).abs() < 1e-9, "{nominal}");
        }
        assert!((u_sealed(Basis::Volume, Amount(700_000)) - 7_653.06).abs() < 0.01);
        assert_eq!(u_sealed(Basis::Each, Amount(40_000)), 0.0);
    }
}
