//! What is wrong in this bar, on purpose: each is something that the week's variance should find.
//! Weeks count from 1; week 10 ends with the count of 2026-11-08.

use crate::calendar::day_of;
use crate::menu::Key;
use chrono::NaiveDate;

/// A rum poured heavy in the last four weeks.
pub(crate) const HEAVY: &str = "Ostelbrine Gold Rum";
pub(crate) const HEAVY_FROM: u32 = 8;
pub(crate) const HEAVY_FACTOR: f64 = 1.12;

/// A case that stands on the delivery note and never came: item, week.
pub(crate) const NEVER_CAME: [(&str, u32); 2] = [("Corrimond London Dry Gin", 10), ("Sternalow Vodka", 11)];

/// One tequila rung, its twin poured.
pub(crate) const RUNG: &str = "Merrovar Blanco Tequila";
pub(crate) const POURED: &str = "Tolbrenque Blanco Tequila";
pub(crate) const TWINS_FROM: u32 = 9;
pub(crate) const TWINS_SHARE: f64 = 0.45;

/// One sealed bottle not seen in the cellar by the count that ends this week.
pub(crate) const OVERLOOKED: (&str, u32) = ("Hollumere Brandy", 9);

/// The promotion that nobody has mapped begins in this week.
pub(crate) const PROMOTION_FROM: u32 = 9;

/// A little goes every week without a sale.
pub(crate) const STEADY: &str = "Wrenmarrow London Dry Gin";
pub(crate) const STEADY_ML: f64 = 60.0;

/// Forgotten in every order of nearly two weeks; empty on the Saturday of this week and all Sunday. Guests who ask
/// for it afterwards are sometimes served with something else, and the till does not know.
pub(crate) const RAN_DRY: &str = "Passion Fruit Pulp";
pub(crate) const RAN_DRY_WEEK: u32 = 10;
pub(crate) const STOOD_IN: &str = "Orange Juice";

/// Whether nobody thinks of this item when ordering on this day.
pub(crate) fn forgotten(item: &str, day: NaiveDate) -> bool {
    item == RAN_DRY && day > day_of(RAN_DRY_WEEK - 1, 0) && day < day_of(RAN_DRY_WEEK + 1, 0)
}

/// A whole bottle gone in each of these weeks.
pub(crate) const GONE: &str = "Fenmarisk 21-Year Rum";
pub(crate) const GONE_WEEKS: [u32; 2] = [8, 11];

/// A key that pours a double and is mapped as one portion, in all weeks.
pub(crate) fn double_as_single(find: &dyn Fn(&str) -> usize) -> Key {
    Key {
        sold_as: "OMBREVANE LARGE".into(),
        drink: Some(find("Ombrevane Espadín Mezcal 40 ml")),
        portion: 1.0,
        really: 2.0,
        price_share: 1.85,
        own_price: 0,
        weight: 2.6,
        mapped: true,
    }
}

/// A key that the till has from week 9 on and `pos.csv` lacks.
pub(crate) fn unmapped_promotion(find: &dyn Fn(&str) -> usize) -> Key {
    Key {
        sold_as: "SUNDOWN SPECIAL".into(),
        drink: Some(find("Rum and Ginger")),
        portion: 1.0,
        really: 1.0,
        price_share: 0.8,
        own_price: 0,
        weight: 6.6,
        mapped: false,
    }
}
