//! Seeded chance. Only additions, multiplications and comparisons are used on the numbers drawn,
//! so that the files come out the same on every machine: `ln` and `cos` may differ in the last
//! bit from one mathematical library to the next.

use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

pub(crate) struct Chance(ChaCha8Rng);

impl Chance {
    /// A stream of its own for each source of chance: a change in how one is drawn from leaves
    /// the others as they were.
    pub(crate) fn stream(number: u64) -> Chance {
        let mut generator = ChaCha8Rng::seed_from_u64(0x7A17_A1B5);
        generator.set_stream(number);
        Chance(generator)
    }

    pub(crate) fn unit(&mut self) -> f64 {
        self.0.random()
    }

    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// A whole number from `low` to `high`, both included.
    pub(crate) fn whole(&mut self, low: i64, high: i64) -> i64 {
        self.0.random_range(low..=high)
    }

    pub(crate) fn happens(&mut self, probability: f64) -> bool {
        self.unit() < probability
    }

    pub(crate) fn pick<'a, T>(&mut self, from: &'a [T]) -> &'a T {
        &from[self.0.random_range(0..from.len())]
    }

    /// A standard normal deviate, as the sum of twelve uniform ones less six.
    pub(crate) fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.unit()).sum::<f64>() - 6.0
    }

    /// An index, in proportion to its weight.
    pub(crate) fn weighted(&mut self, weights: &[f64]) -> usize {
        let mut left = self.unit() * weights.iter().sum::<f64>();
        for (index, weight) in weights.iter().enumerate() {
            left -= weight;
            if left < 0.0 {
                return index;
            }
        }
        weights.len() - 1
    }
}
