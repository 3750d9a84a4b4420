//! Cumulative sums: small steady shifts that no single value shows.

use super::normal::normal_share;

/// Cumulative sums of how far values lie from a target to either side (Page, 1954), as the NIST/SEMATECH e-Handbook of
/// Statistical Methods, 6.3.2.3, has it: each grows by what a value exceeds the target by, less the reference, and
/// starts again from nothing when that is below nothing.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Cusum {
    /// The sum of what lies above.
    pub high: f64,
    /// The sum of what lies below.
    pub low: f64,
}

/// What a chart compares with, in the unit of its values.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reference {
    /// Where values should lie.
    pub target: f64,
    /// The slack k that each value is given: half of the shift that is to be found fastest.
    pub slack: f64,
}

impl Reference {
    /// For values in standard deviations around nothing, and shifts of one.
    pub const STANDARD: Reference = Reference { target: 0.0, slack: 0.5 };
}

impl Cusum {
    /// The sums after one more value.
    #[must_use]
    pub fn with(self, value: f64, reference: Reference) -> Cusum {
        let Reference { target, slack } = reference;
        Cusum { high: (self.high + value - target - slack).max(0.0), low: (self.low + target - slack - value).max(0.0) }
    }

    /// The larger of the two.
    pub fn reach(self) -> f64 {
        self.high.max(self.low)
    }
}

/// States that the sum is cut into where its run length is computed: the error is far below a percent.
const STATES: usize = 120;

/// How many independent standard normal values it takes on average until one of the two sums exceeds `limit`, from
/// nothing: by the Markov chain of Brook and Evans (1972) for one sum, and half of that for two that are alike.
pub fn run_length(limit: f64, slack: f64) -> f64 {
    // States 0 to STATES − 1 hold the sum to a width; the first also all that was cut off at nothing.
    let width = 2.0 * limit / (2.0 * STATES as f64 - 1.0);
    let step = |from: usize, to: usize| {
        let middle = (to as f64 - from as f64) * width + slack;
        let upper = normal_share(middle + width / 2.0);
        if to == 0 { upper } else { upper - normal_share(middle - width / 2.0) }
    };
    // (I − Q) L = 1, by elimination: the diagonal dominates, so no rows need to be exchanged.
    let mut rows: Vec<Vec<f64>> = (0..STATES)
        .map(|from| {
            let mut row: Vec<f64> = (0..STATES).map(|to| f64::from(from == to) - step(from, to)).collect();
            row.push(1.0);
            row
        })
        .collect();
    for pivot in (1..STATES).rev() {
        let from = rows[pivot].clone();
        for row in &mut rows[..pivot] {
            let share = row[pivot] / from[pivot];
            for at in (0..pivot).chain([STATES]) {
                row[at] -= share * from[at];
            }
        }
    }
    rows[0][STATES] / rows[0][0] / 2.0
}

/// The limit at which a chart that nothing is wrong with gives a false alarm once in `length` values on average.
pub fn limit_for(length: f64, slack: f64) -> f64 {
    let (mut low, mut high) = (0.1, 20.0);
    // The run length grows with the limit, so halving finds it; thirty halvings reach a millionth.
    for _ in 0..30 {
        let middle = 0.5 * (low + high);
        if run_length(middle, slack) < length {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}
