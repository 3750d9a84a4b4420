//! Par: the level a new order fills up to, by hand or by demand, and what is missing to it.

mod ahead;
mod cover;
mod demand;
mod items;
mod level;
mod need;
mod outlook;
mod past;
mod prospects;
mod replay;
mod stakes;

pub use ahead::{AHEAD, Ahead, Hours, Stretch};
pub use cover::{Cover, CoverDay};
pub use demand::{Demand, MOST_SERVICE};
pub use items::{COVERED, ItemPar, item_pars, made_for};
pub use level::{Held, Par, Wishes};
pub use need::{Need, on_order};
pub use outlook::{DayAhead, KNOWN_DAYS, Outlook, outlooks};
pub use past::{Past, WEEK, place_of};
pub use prospects::Prospects;
pub use replay::{PastVan, Replayed, Trial, Tried};
pub use stakes::Stakes;
