//! Quantities that a person is asked about.

/// Containers that nobody wonders about, and how many times what was expected (chosen here, no source).
const FEW: i64 = 24;
const TIMES: i64 = 3;

/// Whether so many containers are more than anybody would expect where so many were ordered or charged.
pub fn is_unusual(many: i64, expected: i64) -> bool {
    many > expected.saturating_mul(TIMES).max(FEW)
}
