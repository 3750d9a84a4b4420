//! Numbers of things that happen: Poisson, and negative binomial where they scatter more than that.

use libm::lgamma;

/// How often something happens in a stretch: its mean, and its variance for each of its mean. One is Poisson; above one
/// it comes in clusters, and the negative binomial distribution with size m ÷ (v − 1) and probability 1 ÷ v has that mean
/// and variance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Counted {
    mean: f64,
    ratio: f64,
}

/// A ratio as near to one as this is Poisson: the size of the negative binomial would be beyond what can be reckoned with.
const POISSON: f64 = 1.0 + 1e-6;
/// So far below the mean, in standard deviations, nothing of a distribution is left that a sum of doubles would show.
const BELOW: f64 = 12.0;
/// The logarithm of what is too small to begin with: a double would take it for nothing, and all that follows too.
const TOO_SMALL: f64 = -600.0;

impl Counted {
    /// A distribution with a mean of at least nothing and so many times the mean as variance, at least once.
    pub fn new(mean: f64, ratio: f64) -> Counted {
        Counted { mean: mean.max(0.0), ratio: ratio.max(1.0) }
    }

    /// The logarithm of the probability of just so many.
    fn log_of(&self, many: f64) -> f64 {
        let Counted { mean, ratio } = *self;
        if ratio <= POISSON {
            return many * mean.ln() - mean - lgamma(many + 1.0);
        }
        let size = mean / (ratio - 1.0);
        lgamma(many + size) - lgamma(many + 1.0) - lgamma(size) - size * ratio.ln()
            + many * ((ratio - 1.0) / ratio).ln()
    }

    /// The probability of one more, as a multiple of that of `many`.
    fn next(&self, many: f64) -> f64 {
        let Counted { mean, ratio } = *self;
        if ratio <= POISSON {
            return mean / (many + 1.0);
        }
        let size = mean / (ratio - 1.0);
        (many + size) / (many + 1.0) * (ratio - 1.0) / ratio
    }

    /// From where on there is anything to add up.
    fn from(&self) -> f64 {
        let mut from = (self.mean - BELOW * (self.mean * self.ratio).sqrt()).floor().max(0.0);
        while self.log_of(from) < TOO_SMALL && self.mean - from > 1.0 {
            from = (0.5 * (from + self.mean)).floor();
        }
        from
    }

    /// The share of times with at most so many.
    pub fn share_up_to(&self, most: f64) -> f64 {
        if most < 0.0 {
            return 0.0;
        }
        if self.mean <= 0.0 {
            return 1.0;
        }
        let (mut many, mut sum) = (self.from(), 0.0);
        let mut each = self.log_of(many).exp();
        while many <= most {
            sum += each;
            each *= self.next(many);
            many += 1.0;
            if each < f64::MIN_POSITIVE && many > self.mean {
                break;
            }
        }
        sum.min(1.0)
    }

    /// The smallest number that is not exceeded in at least a share of times; the share below one.
    pub fn quantile(&self, share: f64) -> f64 {
        if self.mean <= 0.0 {
            return 0.0;
        }
        let (mut many, mut sum) = (self.from(), 0.0);
        let mut each = self.log_of(many).exp();
        loop {
            sum += each;
            // What is left of the sum past the mean is below what a double can add.
            if sum >= share || (many > self.mean && each < 1e-17) {
                return many;
            }
            each *= self.next(many);
            many += 1.0;
        }
    }

    /// By how much a level is expected to be exceeded: the sum of (n − level) P(n) over all n above it.
    pub fn excess(&self, level: f64) -> f64 {
        if self.mean <= 0.0 {
            return 0.0;
        }
        // E(N − L)⁺ = mean − L + E(L − N)⁺, and the last sum is finite.
        let (mut many, mut left) = (self.from(), 0.0);
        let mut each = self.log_of(many).exp();
        while many < level {
            left += (level - many) * each;
            each *= self.next(many);
            many += 1.0;
        }
        (self.mean - level + left).max(0.0)
    }
}
