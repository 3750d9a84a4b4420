//! Drinks and what is made here: what a serve takes, costs and contains.

mod allergens;
pub mod change;
mod circle;
mod content;
mod cost;
pub mod dilution;
mod house;
mod layers;
pub mod matrix;
mod mix;
pub mod price;
mod scale;
mod serve;
mod settle;
mod written;

pub use allergens::{AllergenList, Allergens, allergens_of};
pub use circle::{circle_from, circle_words, too_deep, too_deep_words};
pub use content::{Content, Contents, YieldError, computed_yield};
pub use cost::{Costs, Paid};
pub use dilution::DilutionFrom;
pub use house::{BatchLeft, Batches, UseBy, last_day};
pub use layers::{Layer, Layers};
pub use mix::Mix;
pub use scale::{BatchLine, BatchPlan, MOST_SERVES};
pub use serve::{Earning, Larder, Poured, Serve, ServeCost, joins_after_ice, part_cost, standard_drinks};
pub use settle::settle_yields;
pub use written::{amount_of, made_of, unusual_batches};
