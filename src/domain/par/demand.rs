//! What will be asked over a stretch, as a distribution.

use crate::domain::statistics::{Counted, normal_loss, normal_quantile, normal_share};

/// Up to so many askings over the stretch are counted one by one; more are spread normally.
const COUNTED: f64 = 2_000.0;
/// A quantile further out than this is all tail.
pub const MOST_SERVICE: f64 = 0.999;

/// Demand over some days to come.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Demand {
    /// What is expected, in base units.
    pub mean: f64,
    /// Its variance, in base units squared.
    pub variance: f64,
    /// The size of one asking, in base units; nothing where demand is not in pieces.
    pub piece: f64,
}

impl Demand {
    /// Standard deviation.
    pub fn sd(&self) -> f64 {
        self.variance.sqrt()
    }

    /// The same, when what it is set against is itself uncertain by a standard uncertainty.
    pub fn with_u(self, u: f64) -> Demand {
        Demand { variance: self.variance + u * u, ..self }
    }

    /// The askings, where there are few enough to be counted: negative binomial with the demand's mean and variance, or
    /// Poisson where it scatters no more than that.
    fn counted(&self) -> Option<Counted> {
        let many = self.mean / self.piece;
        (self.piece > 0.0 && many <= COUNTED).then(|| Counted::new(many, self.variance / (self.mean * self.piece)))
    }

    /// The smallest level that is not exceeded in at least a share of times.
    pub fn quantile(&self, share: f64) -> f64 {
        let share = share.min(MOST_SERVICE);
        if self.mean <= 0.0 {
            return 0.0;
        }
        match self.counted() {
            Some(counted) => counted.quantile(share) * self.piece,
            None => (self.mean + self.sd() * normal_quantile(share)).max(0.0),
        }
    }

    /// The share of times in which a level suffices.
    pub fn share_up_to(&self, level: f64) -> f64 {
        if self.mean <= 0.0 {
            return 1.0;
        }
        match self.counted() {
            // What is less than one asking serves nobody.
            Some(counted) => counted.share_up_to((level / self.piece + 1e-9).floor()),
            None if self.variance <= 0.0 => f64::from(u8::from(level >= self.mean)),
            None => normal_share((level - self.mean) / self.sd()),
        }
    }

    /// What is expected to be missing when a level is had.
    pub fn missing(&self, level: f64) -> f64 {
        match self.counted() {
            Some(counted) => counted.excess((level / self.piece).max(0.0)) * self.piece,
            None if self.variance <= 0.0 => (self.mean - level).max(0.0),
            None => self.sd() * normal_loss((level - self.mean) / self.sd()),
        }
    }

    /// What is expected to be left of a level.
    pub fn left(&self, level: f64) -> f64 {
        (level - self.mean + self.missing(level)).max(0.0)
    }
}
