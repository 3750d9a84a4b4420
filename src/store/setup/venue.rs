//! The bar itself: keys and values.

use crate::domain::measure::{Amount, Basis, Currency, Decimal, Quantity, SmallMeasures, VolumeUnit, decimal};
use crate::domain::venue::{
    Contact, CostRule, Country, DayRule, EAddress, Gln, Party, Phone, PouredBy, Pours, ServiceLevels, StandardDrink,
    TenthsOf, VatId, Venue,
};
use crate::store::error::Doing;
use crate::store::{StoreError, people};
use chrono::NaiveTime;
use rusqlite::{Connection, named_params};
use std::collections::HashMap;
use std::convert::Infallible;

/// The settings of a book, each with its key.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
enum Key {
    /// What the bar is called.
    Name,
    /// Its coin.
    Currency,
    /// Its zone.
    TimeZone,
    /// When its day begins.
    DayStarts,
    /// Whether menu prices contain tax.
    PricesIncludeTax,
    /// The unit of volumes.
    ShowVolumeIn,
    /// Language and number format.
    Language,
    /// Size of a dash.
    Dash,
    /// Size of a barspoon.
    Barspoon,
    /// Whether counts hide what is expected.
    BlindCounts,
    /// One step of the scale.
    ScaleDivision,
    /// What a tenth by eye is a tenth of.
    TenthsOf,
    /// What stock is taken to cost.
    CostRule,
    /// The pour cost aimed at.
    TargetPourCost,
    /// Step of menu prices.
    PriceStep,
    /// How much ethanol is one standard drink.
    StandardDrink,
    /// Lines of the bar's address.
    Address,
    /// Country of the address.
    Country,
    /// Number for value added tax.
    VatId,
    /// Global Location Number.
    Gln,
    /// Where electronic documents are received.
    EAddress,
    /// Whom suppliers ask.
    ContactName,
    /// Their telephone.
    ContactPhone,
    /// Their e-mail address.
    ContactEmail,
    /// Where and how to deliver.
    DeliverTo,
    /// The folder that is watched for files.
    WatchFolder,
    /// The second folder for copies of the book.
    CopiesTo,
    /// How drinks are measured out.
    PouredBy,
    /// How evenly with a jigger.
    JiggerSpread,
    /// How evenly free.
    FreeSpread,
    /// The share of alarms that may be false.
    FalseAlarms,
    /// How surely stock must last.
    ServiceLevel,
    /// What holding stock costs a year.
    HoldingCost,
}

impl Key {
    /// Every one.
    const ALL: &'static [Key] = &[
        Key::Name,
        Key::Currency,
        Key::TimeZone,
        Key::DayStarts,
        Key::PricesIncludeTax,
        Key::ShowVolumeIn,
        Key::Language,
        Key::Dash,
        Key::Barspoon,
        Key::BlindCounts,
        Key::ScaleDivision,
        Key::TenthsOf,
        Key::CostRule,
        Key::TargetPourCost,
        Key::PriceStep,
        Key::StandardDrink,
        Key::Address,
        Key::Country,
        Key::VatId,
        Key::Gln,
        Key::EAddress,
        Key::ContactName,
        Key::ContactPhone,
        Key::ContactEmail,
        Key::DeliverTo,
        Key::WatchFolder,
        Key::CopiesTo,
        Key::PouredBy,
        Key::JiggerSpread,
        Key::FreeSpread,
        Key::FalseAlarms,
        Key::ServiceLevel,
        Key::HoldingCost,
    ];

    fn word(self) -> &'static str {
        match self {
            Key::Name => "name",
            Key::Currency => "currency",
            Key::TimeZone => "time_zone",
            Key::DayStarts => "day_starts",
            Key::PricesIncludeTax => "prices_include_tax",
            Key::ShowVolumeIn => "show_volume_in",
            Key::Language => "language",
            Key::Dash => "dash",
            Key::Barspoon => "barspoon",
            Key::BlindCounts => "blind_counts",
            Key::ScaleDivision => "scale_division",
            Key::TenthsOf => "tenths_of",
            Key::CostRule => "cost_rule",
            Key::TargetPourCost => "target_pour_cost",
            Key::PriceStep => "price_step",
            Key::StandardDrink => "standard_drink",
            Key::Address => "address",
            Key::Country => "country",
            Key::VatId => "vat_id",
            Key::Gln => "gln",
            Key::EAddress => "e_address",
            Key::ContactName => "contact_name",
            Key::ContactPhone => "contact_phone",
            Key::ContactEmail => "contact_email",
            Key::DeliverTo => "deliver_to",
            Key::WatchFolder => "watch_folder",
            Key::CopiesTo => "copies_to",
            Key::PouredBy => "poured_by",
            Key::JiggerSpread => "jigger_spread",
            Key::FreeSpread => "free_spread",
            Key::FalseAlarms => "false_alarms",
            Key::ServiceLevel => "service_level",
            Key::HoldingCost => "holding_cost",
        }
    }
}

/// The mark of the book of the invented bar.
const DEMO: &str = "demo";

/// Marks the book as the invented bar's, which may be thrown away and made anew.
///
/// # Errors
/// [`StoreError`].
pub fn mark_demo(conn: &Connection) -> Result<(), StoreError> {
    let sql =
        "INSERT INTO venue (key, value) VALUES (:key, 'yes') ON CONFLICT (key) DO UPDATE SET value = excluded.value";
    conn.execute(sql, named_params! { ":key": DEMO }).doing("marking the demo's book").map(|_| ())
}

/// Whether the book is marked as the invented bar's.
///
/// # Errors
/// [`StoreError`].
pub fn is_demo(conn: &Connection) -> Result<bool, StoreError> {
    conn.prepare_cached("SELECT EXISTS (SELECT 1 FROM venue WHERE key = :key) AS found")
        .and_then(|mut s| s.query_row(named_params! { ":key": DEMO }, |row| row.get("found")))
        .doing("looking whether the book is the demo's")
}

/// The settings as they stand in the book, without those that are its own business.
fn settings(conn: &Connection) -> Result<HashMap<Key, String>, StoreError> {
    let doing = "reading the settings of the bar";
    let mut statement = conn.prepare_cached("SELECT key, value FROM venue").doing(doing)?;
    let rows = statement.query_map([], |row| Ok((row.get("key")?, row.get("value")?))).doing(doing)?;
    let all: HashMap<String, String> = rows.collect::<rusqlite::Result<_>>().doing(doing)?;
    Ok(Key::ALL.iter().filter_map(|key| all.get(key.word()).map(|value| (*key, value.clone()))).collect())
}

fn put_setting(conn: &Connection, key: Key, value: &str) -> Result<(), StoreError> {
    conn.prepare_cached(
        "INSERT INTO venue (key, value) VALUES (:key, :value) ON CONFLICT (key) DO UPDATE SET value = excluded.value",
    )
    .and_then(|mut s| s.execute(named_params! { ":key": key.word(), ":value": value }))
    .doing("saving a setting of the bar")
    .map(|_| ())
}

/// Keeps every setting of a bar.
///
/// # Errors
/// [`StoreError`].
pub fn put_venue(conn: &Connection, venue: &Venue) -> Result<(), StoreError> {
    let yes_no = |yes| if yes { "yes" } else { "no" };
    let volume = |amount| Quantity { basis: Basis::Volume, amount }.to_string();
    for (key, value) in [
        (Key::Name, venue.name.trim()),
        (Key::Currency, venue.currency.code()),
        (Key::TimeZone, venue.days.zone.name()),
        (Key::DayStarts, &venue.days.starts.format("%H:%M").to_string()),
        (Key::PricesIncludeTax, yes_no(venue.prices_include_tax)),
        (Key::ShowVolumeIn, venue.volume.word()),
        (Key::Language, &venue.language),
        (Key::Dash, &volume(venue.small.dash)),
        (Key::Barspoon, &volume(venue.small.barspoon)),
        (Key::BlindCounts, yes_no(venue.blind_counts)),
        (Key::ScaleDivision, &Quantity { basis: Basis::Mass, amount: venue.scale_division }.to_string()),
        (Key::TenthsOf, venue.tenths_of.word()),
        (Key::CostRule, venue.cost_rule.word()),
        (Key::TargetPourCost, &decimal::plain(venue.target_pour_cost, 2)),
        (Key::PriceStep, &venue.currency.plain(venue.price_step)),
        (Key::StandardDrink, &venue.standard_drink.plain()),
        (Key::Address, &venue.party.plain_address()),
        (Key::Country, &or_empty(venue.party.country.as_ref())),
        (Key::VatId, &or_empty(venue.party.vat_id.as_ref())),
        (Key::Gln, &or_empty(venue.party.gln.as_ref())),
        (Key::EAddress, &or_empty(venue.party.e_address.as_ref())),
        (Key::ContactName, venue.contact.name.as_deref().unwrap_or_default()),
        (Key::ContactPhone, &or_empty(venue.contact.phone.as_ref())),
        (Key::ContactEmail, venue.contact.email.as_deref().unwrap_or_default()),
        (Key::DeliverTo, venue.deliver_to.as_deref().unwrap_or_default()),
        (Key::WatchFolder, venue.watch_folder.as_deref().unwrap_or_default()),
        (Key::CopiesTo, venue.copies_to.as_deref().unwrap_or_default()),
        (Key::PouredBy, venue.pours.by.word()),
        (Key::JiggerSpread, &volume(venue.pours.jigger)),
        (Key::FreeSpread, &volume(venue.pours.free)),
        (Key::FalseAlarms, &decimal::plain(venue.false_alarms, 2)),
        (Key::ServiceLevel, &venue.service_levels.to_string()),
        (Key::HoldingCost, &decimal::plain(venue.holding_cost, 2)),
    ] {
        put_setting(conn, key, value)?;
    }
    Ok(())
}

/// A value as it is kept; nothing is kept as an empty text.
fn or_empty(value: Option<&impl ToString>) -> String {
    value.map(ToString::to_string).unwrap_or_default()
}

/// The bar as the book has it.
///
/// # Errors
/// [`StoreError::NotSetUp`] before its name, coin and zone are known, [`StoreError::Damaged`] for a value of no meaning.
pub fn venue(conn: &Connection) -> Result<Venue, StoreError> {
    Ok(Venue { rights: people::rights(conn)?, ..venue_from(&settings(conn)?)? })
}

/// The bar that some settings describe; what is not said has its default.
fn venue_from(settings: &HashMap<Key, String>) -> Result<Venue, StoreError> {
    let needed = |key: Key| settings.get(&key).ok_or(StoreError::NotSetUp { key: key.word() });
    let bad = |key: Key| StoreError::Damaged { what: format!("the setting {} has no meaning", key.word()) };
    let currency: Currency = needed(Key::Currency)?.parse().map_err(|_| bad(Key::Currency))?;
    let zone = needed(Key::TimeZone)?.parse().map_err(|_| bad(Key::TimeZone))?;
    let starts = settings.get(&Key::DayStarts).map_or("05:00", String::as_str);
    let yes = |key: Key| settings.get(&key).is_some_and(|value| value == "yes");
    let volume = match settings.get(&Key::ShowVolumeIn) {
        Some(value) => VolumeUnit::parse(value).ok_or_else(|| bad(Key::ShowVolumeIn))?,
        None => VolumeUnit::default(),
    };
    let small = |key: Key, usual: Amount| match settings.get(&key) {
        Some(value) => Quantity::parse_as(value, Basis::Volume, &SmallMeasures::default()).map_err(|_| bad(key)),
        None => Ok(usual),
    };
    let percent = |key: Key, usual: i64| match settings.get(&key) {
        Some(value) => Decimal::parse(value).ok().and_then(|d| d.exact(2)).ok_or_else(|| bad(key)),
        None => Ok(usual),
    };
    let days = DayRule { zone, starts: NaiveTime::parse_from_str(starts, "%H:%M").map_err(|_| bad(Key::DayStarts))? };
    let usual = Venue::new(needed(Key::Name)?, currency, days);
    Ok(Venue {
        prices_include_tax: yes(Key::PricesIncludeTax),
        volume,
        language: settings.get(&Key::Language).cloned().unwrap_or(usual.language),
        small: SmallMeasures {
            dash: small(Key::Dash, usual.small.dash)?,
            barspoon: small(Key::Barspoon, usual.small.barspoon)?,
        },
        blind_counts: yes(Key::BlindCounts),
        scale_division: match settings.get(&Key::ScaleDivision) {
            Some(value) => Quantity::parse_as(value, Basis::Mass, &usual.small).map_err(|_| bad(Key::ScaleDivision))?,
            None => usual.scale_division,
        },
        tenths_of: match settings.get(&Key::TenthsOf) {
            Some(value) => TenthsOf::parse(value).map_err(|_| bad(Key::TenthsOf))?,
            None => usual.tenths_of,
        },
        cost_rule: match settings.get(&Key::CostRule) {
            Some(value) => CostRule::parse(value).map_err(|_| bad(Key::CostRule))?,
            None => usual.cost_rule,
        },
        target_pour_cost: percent(Key::TargetPourCost, usual.target_pour_cost)?,
        price_step: match settings.get(&Key::PriceStep) {
            Some(value) => currency.parse(value).map_err(|_| bad(Key::PriceStep))?,
            None => usual.price_step,
        },
        standard_drink: match settings.get(&Key::StandardDrink) {
            Some(value) => StandardDrink::parse(value).map_err(|_| bad(Key::StandardDrink))?,
            None => usual.standard_drink,
        },
        party: party(settings)?,
        contact: Contact {
            name: maybe(settings, Key::ContactName, |text| Ok::<_, Infallible>(text.to_owned()))?,
            phone: maybe(settings, Key::ContactPhone, Phone::parse)?,
            email: maybe(settings, Key::ContactEmail, |text| Ok::<_, Infallible>(text.to_owned()))?,
        },
        deliver_to: maybe(settings, Key::DeliverTo, |text| Ok::<_, Infallible>(text.to_owned()))?,
        watch_folder: maybe(settings, Key::WatchFolder, |text| Ok::<_, Infallible>(text.to_owned()))?,
        copies_to: maybe(settings, Key::CopiesTo, |text| Ok::<_, Infallible>(text.to_owned()))?,
        pours: Pours {
            by: match settings.get(&Key::PouredBy) {
                Some(value) => PouredBy::parse(value).map_err(|_| bad(Key::PouredBy))?,
                None => usual.pours.by,
            },
            jigger: small(Key::JiggerSpread, usual.pours.jigger)?,
            free: small(Key::FreeSpread, usual.pours.free)?,
        },
        false_alarms: percent(Key::FalseAlarms, usual.false_alarms)?,
        service_levels: match settings.get(&Key::ServiceLevel) {
            Some(value) => ServiceLevels::parse(value).map_err(|_| bad(Key::ServiceLevel))?,
            None => usual.service_levels.clone(),
        },
        holding_cost: percent(Key::HoldingCost, usual.holding_cost)?,
        ..usual
    })
}

/// A setting that need not be there; an empty one is none.
fn maybe<T, E>(
    settings: &HashMap<Key, String>,
    key: Key,
    read: impl FnOnce(&str) -> Result<T, E>,
) -> Result<Option<T>, StoreError> {
    let text = settings.get(&key).filter(|text| !text.is_empty());
    let bad = |_| StoreError::Damaged { what: format!("the setting {} has no meaning", key.word()) };
    text.map(|text| read(text).map_err(bad)).transpose()
}

fn party(settings: &HashMap<Key, String>) -> Result<Party, StoreError> {
    Ok(Party {
        address: maybe(settings, Key::Address, Party::parse_address)?.unwrap_or_default(),
        country: maybe(settings, Key::Country, Country::parse)?,
        vat_id: maybe(settings, Key::VatId, VatId::parse)?,
        gln: maybe(settings, Key::Gln, Gln::parse)?,
        e_address: maybe(settings, Key::EAddress, EAddress::parse)?,
    })
}
