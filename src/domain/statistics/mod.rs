//! The statistics behind the figures: distributions, many questions asked at once, and charts over time.

mod blurred;
mod cusum;
mod discoveries;
mod normal;

pub use blurred::Blurred;
pub use cusum::{Cusum, Reference, limit_for, run_length};
pub use discoveries::adjusted;
pub use normal::{normal_density, normal_loss, normal_quantile, normal_share};
