//! What a bar has set up: read whole, written row by row under the name that is its key.

mod away;
mod drinks;
mod load;
mod profiles;
mod special;
mod stock;
mod venue;

pub use away::{Named, drop_named, drop_offer, drop_shelf, rename};
pub use drinks::{
    drop_drink, drop_versions, put_drink, put_glass, put_menu, put_recipe, put_spec, put_till, rename_drink, set_till,
    set_till_code,
};
pub use load::{load, load_any, people};
pub use profiles::{clear_fillings, put_filling, put_profile, set_shape};
pub use special::{drop_special_day, put_special_day, set_special_day};
pub use stock::{
    item_has_facts, place_entry, put_item, put_offer, put_person, put_place, put_shelf, put_supplier, set_place_entry,
};
pub use venue::{is_demo, mark_demo, put_venue, venue};
