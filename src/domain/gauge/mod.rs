//! What a container holds: readings by eye, scale and ruler, and the amount and uncertainty each stands for.

pub mod alcohol;
mod check;
pub mod density;
mod eye;
mod fill;
mod gauges;
mod level;
mod numeric;
mod profile;
mod reading;
pub mod sugar;
mod uncertainty;
mod vessel;
mod weighing;

use level::{HOLDING, RULER};

pub use check::LevelError;
pub use density::{DensityFrom, Heaviness};
pub use eye::{Eye, PRIOR_BIAS, PRIOR_SPREAD, Pair};
pub use fill::{tolerance, u_sealed};
pub use gauges::Gauges;
pub use level::Level;
pub use profile::{Outline, ProfileError};
pub use reading::{Entry, EntryError, Mass, Reading, ReadingError, Sight, Step, Unread};
pub use uncertainty::{Part, Source, Tally, coverage_factor, rectangular, resolution};
pub use vessel::{EmptyWeight, Vessel};
pub use weighing::{WeighedAs, Weighing};
