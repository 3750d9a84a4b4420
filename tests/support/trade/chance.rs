//! What falls by chance.

use rand::Rng;
use rand_chacha::ChaCha8Rng;

/// A source of it.
pub(super) struct Chance(pub(super) ChaCha8Rng);

impl Chance {
    pub(super) fn share(&mut self) -> f64 {
        self.0.random()
    }

    pub(super) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.share()
    }

    pub(super) fn below(&mut self, most: usize) -> usize {
        self.0.random_range(0..most.max(1))
    }

    /// Normal around nought (Box and Muller 1958).
    pub(super) fn normal(&mut self, sd: f64) -> f64 {
        let (a, b) = (self.share().max(1e-300), self.share());
        sd * (-2.0 * a.ln()).sqrt() * (std::f64::consts::TAU * b).cos()
    }

    /// Poisson, by counting exponential waits.
    pub(super) fn poisson(&mut self, mean: f64) -> u32 {
        let (mut at, mut number) = (0.0, 0);
        loop {
            at -= self.share().max(1e-300).ln();
            if at > mean {
                return number;
            }
            number += 1;
        }
    }

    pub(super) fn of<T: Copy>(&mut self, all: &[T]) -> T {
        all[self.below(all.len())]
    }
}
