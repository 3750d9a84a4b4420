//! Times of several runs, and how they are told.

use std::time::{Duration, Instant};

/// What several runs took, in milliseconds, the shortest first.
pub(crate) struct Spread(Vec<f64>);

impl Spread {
    pub(crate) fn of(times: impl IntoIterator<Item = Duration>) -> Spread {
        let mut times: Vec<f64> = times.into_iter().map(|time| time.as_secs_f64() * 1_000.0).collect();
        times.sort_by(f64::total_cmp);
        Spread(times)
    }

    pub(crate) fn at(&self, share: f64) -> f64 {
        self.0[((self.0.len() - 1) as f64 * share).round() as usize]
    }

    pub(crate) fn median(&self) -> f64 {
        self.at(0.5)
    }

    /// Median, and from the shortest to the longest.
    pub(crate) fn told(&self) -> String {
        format!("{} ({} – {})", told(self.median()), told(self.at(0.0)), told(self.at(1.0)))
    }
}

/// As many digits as are worth reading.
pub(crate) fn told(ms: f64) -> String {
    match ms {
        ms if ms >= 10_000.0 => format!("{:.1} s", ms / 1_000.0),
        ms if ms >= 1_000.0 => format!("{:.2} s", ms / 1_000.0),
        ms if ms >= 100.0 => format!("{ms:.0} ms"),
        ms if ms >= 10.0 => format!("{ms:.1} ms"),
        ms => format!("{ms:.2} ms"),
    }
}

pub(crate) fn timed(work: impl FnOnce()) -> Duration {
    let begun = Instant::now();
    work();
    begun.elapsed()
}

/// Two things in turn, so that a machine that grows slower does so for both: how long each took, and the median of the
/// ratios of the first to the second, run by run.
pub(crate) fn in_turn(
    runs: usize,
    mut one: impl FnMut() -> Duration,
    mut other: impl FnMut() -> Duration,
) -> (Spread, Spread, f64) {
    let pairs: Vec<(Duration, Duration)> = (0..runs).map(|_| (one(), other())).collect();
    let mut ratios: Vec<f64> = pairs.iter().map(|(one, other)| one.as_secs_f64() / other.as_secs_f64()).collect();
    ratios.sort_by(f64::total_cmp);
    let ratio = ratios[ratios.len() / 2];
    (Spread::of(pairs.iter().map(|pair| pair.0)), Spread::of(pairs.iter().map(|pair| pair.1)), ratio)
}
