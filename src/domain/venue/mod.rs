//! The nouns of a bar, and its days.

mod calendar;
mod container;
mod day;
mod deed;
mod gtin;
mod hidden;
mod ids;
mod levels;
mod nouns;
mod party;
mod past;
mod pin;
mod setup;
mod special;
mod standard;
pub(crate) mod words;
mod zone;

pub use calendar::{Comes, Deadline, OrderCalendar, ScheduleError, Slot, Weekdays};
pub use container::{Filling, ItemShape, LengthError, Measures, Profile, Section, Shape, parse_millimetres};
pub use day::{DayRule, Moment, TimeError, parse_day, said_day};
pub use deed::Deed;
pub use gtin::{Gtin, GtinError};
pub use hidden::{is_hidden, one_line};
pub use ids::{
    ActId, BillId, ClaimId, CountId, DrinkId, FileId, ItemId, OrderId, PlaceId, ProfileId, Seq, SpecialDayId,
    SupplierId, TillId,
};
pub use levels::{ServiceLevels, ServiceLevelsError};
pub use nouns::{
    Containers, Drink, Glass, Ingredient, Item, Menu, MixedCase, MixedCaseError, Offer, Person, Place, Pours, Recipe,
    Shelf, Supplier, TillMeaning, TillName, Venue, Versions, Water,
};
pub use party::{
    AddressError, Contact, Country, CountryError, EAddress, EAddressError, Gln, GlnError, Party, Phone, PhoneError,
    VatId, VatIdError,
};
pub use past::PastError;
pub use pin::parse_pin;
pub use setup::{Parts, Setup, name_key};
pub use special::{
    ComingDay, DayEffect, Factor, FactorError, NamedDay, NamedDayError, Nth, OrderBy, OrderByError, SpecialDay,
    SpecialDays, Stretch, SupplierDays, easter,
};
pub use standard::{StandardDrink, StandardDrinkError};
pub use words::{
    Allergen, CauseWord, CostRule, CountBy, CountMethod, DrinkMethod, Kind, OrderState, ParFrom, PouredBy, Reason,
    Rights, Role, SaleKind, TenthsOf, WordError,
};
pub use zone::{HourError, ZoneError, parse_hour, parse_zone};
