//! Cumulative sums: small steady shifts that no single value shows.

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

/// How many independent standard normal values it takes on average until one of the two sums exceeds `limit`, from
/// nothing: by the approximation of Siegmund (Sequential Analysis, 1985; from memory), which takes the limit for 1.166 more
/// than it is because a sum jumps over it, and half of it because there are two sums.
pub fn run_length(limit: f64, slack: f64) -> f64 {
    let (twice, far) = (2.0 * slack, limit + 1.166);
    ((twice * far).exp() - 1.0 - twice * far) / (twice * slack) / 2.0
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
