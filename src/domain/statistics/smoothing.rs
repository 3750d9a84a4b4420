//! Forecasts by smoothing: of what is asked for every day, and of what is asked for now and then.
//!
//! Every method follows a rate per unit of *exposure*: how much of a usual day a day is. With an exposure of one each
//! day they are the textbook's: simple exponential smoothing; Croston's method with the correction by Syntetos and
//! Boylan (2005); the method of Teunter, Syntetos and Babai (2011). A Monday that is half a usual day moves the level by
//! half as much, and a day of which nothing is known by nothing.

/// A way of smoothing, with its constants.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Method {
    /// Simple exponential smoothing.
    Level {
        /// How much of an error moves the level.
        alpha: f64,
    },
    /// Size and gap smoothed apart when something is asked, their quotient times 1 − α ÷ 2.
    Gaps {
        /// How much of an error moves size and gap.
        alpha: f64,
    },
    /// Probability smoothed every day, size when something is asked: what is asked no more fades out.
    Chance {
        /// How much of an error moves the size.
        size: f64,
        /// How much of an error moves the probability.
        chance: f64,
    },
}

/// A series as it is smoothed.
#[derive(Clone, Copy, Debug)]
pub struct Smoother {
    method: Method,
    /// Level; or size; nothing seen yet.
    size: Option<f64>,
    /// Gap between two askings, or the chance of one.
    other: Option<f64>,
    /// Exposure since the last asking.
    since: f64,
    /// Whether it begins as the plain average.
    settles: bool,
    /// Exposure seen, and how often something was asked.
    seen: f64,
    times: f64,
}

impl Smoother {
    /// Before anything was seen; the first day is taken at its word, as the textbooks have it.
    pub fn new(method: Method) -> Smoother {
        Smoother { method, size: None, other: None, since: 0.0, settles: false, seen: 0.0, times: 0.0 }
    }

    /// The same, but the plain average of what was seen until that moves slower than the constants say: a first day that
    /// was out of the common is soon outweighed.
    pub fn settling(method: Method) -> Smoother {
        Smoother { settles: true, ..Smoother::new(method) }
    }

    /// Sees a day: how much was asked, and how much of a usual day it was, above zero.
    pub fn see(&mut self, asked: f64, exposure: f64) {
        self.since += exposure;
        self.seen += exposure;
        if asked > 0.0 {
            self.times += 1.0;
        }
        let daily = if self.settles { exposure / self.seen } else { 0.0 };
        let timely = if self.settles { 1.0 / self.times } else { 0.0 };
        let moved = |was: Option<f64>, now: f64, step: f64| was.map_or(now, |was| was + step.min(1.0) * (now - was));
        match self.method {
            Method::Level { alpha } => {
                self.size = Some(moved(self.size, asked / exposure, daily.max(alpha * exposure)));
            }
            Method::Gaps { alpha } if asked > 0.0 => {
                let step = timely.max(alpha);
                self.size = Some(moved(self.size, asked, step));
                self.other = Some(moved(self.other, self.since, step));
                self.since = 0.0;
            }
            Method::Gaps { .. } => {}
            Method::Chance { size, chance } => {
                let here = if asked > 0.0 { 1.0 / exposure } else { 0.0 };
                self.other = Some(moved(self.other, here, daily.max(chance * exposure)));
                if asked > 0.0 {
                    self.size = Some(moved(self.size, asked, timely.max(size)));
                }
            }
        }
    }

    /// What a usual day is expected to ask; nothing before anything was seen.
    pub fn rate(&self) -> f64 {
        match (self.method, self.size, self.other) {
            (Method::Level { .. }, Some(level), _) => level,
            (Method::Gaps { alpha }, Some(size), Some(gap)) if gap > 0.0 => size / gap * (1.0 - 0.5 * alpha),
            (Method::Chance { .. }, Some(size), Some(chance)) => size * chance,
            _ => 0.0,
        }
    }
}
