//! The statistics behind the figures: distributions, many questions asked at once, charts and forecasts over time.

mod blurred;
mod counted;
mod cusum;
mod discoveries;
mod normal;
mod smoothing;

pub use blurred::Blurred;
pub use counted::Counted;
pub use cusum::{Cusum, Reference, limit_for, run_length};
pub use discoveries::adjusted;
pub use normal::{normal_density, normal_loss, normal_quantile, normal_share};
pub use smoothing::{Method, Smoother};
