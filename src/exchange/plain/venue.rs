//! `venue.csv`: the bar itself, one setting a line.

use super::cells::{or_empty, yes_no, yes_no_word};
use super::party::{PARTY, email, party_cells, take_party};
use super::text::checked;
use super::{Fault, Faults, Form, Plain, Table};
use crate::domain::measure::{Amount, Basis, Currency, Decimal, Money, Quantity, SmallMeasures, VolumeUnit, decimal};
use crate::domain::venue::{
    Contact, CostRule, DayRule, Party, Phone, PouredBy, Pours, ServiceLevels, StandardDrink, TenthsOf, Venue,
    parse_hour, parse_zone,
};
use crate::exchange::ExchangeError;
use chrono::NaiveTime;
use chrono_tz::Tz;

/// The keys, in the order in which they are written; the first three must be known.
const KEYS: [&str; 33] = [
    "name",
    "currency",
    "time_zone",
    "day_starts",
    "prices_include_tax",
    "show_volume_in",
    "language",
    "dash",
    "barspoon",
    "blind_counts",
    "scale_division",
    "tenths_of",
    "cost_rule",
    "target_pour_cost",
    "price_step",
    "standard_drink",
    PARTY[0],
    PARTY[1],
    PARTY[2],
    PARTY[3],
    PARTY[4],
    "contact_name",
    "contact_phone",
    "contact_email",
    "deliver_to",
    "watch_folder",
    "copies_to",
    "poured_by",
    "jigger_spread",
    "free_spread",
    "false_alarms",
    "service_level",
    "holding_cost",
];

/// The bar as lines of `venue.csv`; what is not known has no value.
pub fn venue_rows(venue: &Venue) -> Vec<[String; 2]> {
    let small = |amount| Quantity { basis: Basis::Volume, amount }.to_string();
    let [address, country, vat_id, gln, e_address] = party_cells(&venue.party);
    let contact = &venue.contact;
    let values = [
        venue.name.clone(),
        venue.currency.code().to_owned(),
        venue.days.zone.name().to_owned(),
        venue.days.starts.format("%H:%M").to_string(),
        yes_no_word(venue.prices_include_tax).to_owned(),
        venue.volume.word().to_owned(),
        venue.language.clone(),
        small(venue.small.dash),
        small(venue.small.barspoon),
        yes_no_word(venue.blind_counts).to_owned(),
        Quantity { basis: Basis::Mass, amount: venue.scale_division }.to_string(),
        venue.tenths_of.word().to_owned(),
        venue.cost_rule.word().to_owned(),
        decimal::plain(venue.target_pour_cost, 2),
        venue.currency.plain(venue.price_step),
        venue.standard_drink.plain(),
        address,
        country,
        vat_id,
        gln,
        e_address,
        contact.name.clone().unwrap_or_default(),
        or_empty(contact.phone.as_ref(), Phone::to_string),
        contact.email.clone().unwrap_or_default(),
        venue.deliver_to.clone().unwrap_or_default(),
        venue.watch_folder.clone().unwrap_or_default(),
        venue.copies_to.clone().unwrap_or_default(),
        venue.pours.by.word().to_owned(),
        small(venue.pours.jigger),
        small(venue.pours.free),
        decimal::plain(venue.false_alarms, 2),
        venue.service_levels.to_string(),
        decimal::plain(venue.holding_cost, 2),
    ];
    KEYS.iter().zip(values).map(|(key, value)| [(*key).to_owned(), value]).collect()
}

/// What is known of a bar so far.
#[derive(Default)]
struct Known {
    name: Option<String>,
    currency: Option<Currency>,
    zone: Option<Tz>,
    starts: Option<NaiveTime>,
    prices_include_tax: Option<bool>,
    volume: Option<VolumeUnit>,
    language: Option<String>,
    small: SmallMeasures,
    blind_counts: Option<bool>,
    scale_division: Option<Amount>,
    tenths_of: Option<TenthsOf>,
    cost_rule: Option<CostRule>,
    target_pour_cost: Option<i64>,
    /// As written: it can be read only once the coin is known, and the coin may come on a later line.
    price_step: Option<String>,
    standard_drink: Option<StandardDrink>,
    party: Party,
    contact: Contact,
    deliver_to: Option<String>,
    watch_folder: Option<String>,
    copies_to: Option<String>,
    pours: Pours,
    false_alarms: Option<i64>,
    service_levels: ServiceLevels,
    holding_cost: Option<i64>,
}

impl Known {
    fn take(&mut self, key: &str, value: &str) -> Result<(), String> {
        let small = |value: &str| {
            Quantity::parse_as(value, Basis::Volume, &SmallMeasures::default()).map_err(|e| e.to_string())
        };
        match key {
            "name" => self.name = Some(named(value)?),
            "currency" => self.currency = Some(value.parse().map_err(|e| format!("{e}"))?),
            "time_zone" => {
                self.zone = Some(parse_zone(value).map_err(|e| e.to_string())?);
            }
            "day_starts" => {
                self.starts = Some(parse_hour(value).map_err(|e| e.to_string())?);
            }
            "prices_include_tax" => self.prices_include_tax = Some(yes_no(value)?),
            "show_volume_in" => {
                self.volume = Some(VolumeUnit::parse(value).ok_or(word!("expected ml, cl or oz"))?);
            }
            "language" => self.language = Some(language(value)?),
            "dash" => self.small.dash = small(value)?,
            "barspoon" => self.small.barspoon = small(value)?,
            "blind_counts" => self.blind_counts = Some(yes_no(value)?),
            "scale_division" => self.scale_division = Some(division(value)?),
            "tenths_of" => self.tenths_of = Some(TenthsOf::parse(value).map_err(|e| e.to_string())?),
            "cost_rule" => self.cost_rule = Some(CostRule::parse(value).map_err(|e| e.to_string())?),
            "target_pour_cost" => self.target_pour_cost = Some(target(value)?),
            "price_step" => self.price_step = Some(value.to_owned()),
            "standard_drink" => {
                self.standard_drink = Some(StandardDrink::parse(value).map_err(|e| e.to_string())?);
            }
            "contact_name" => self.contact.name = maybe(value, text)?,
            "contact_phone" => {
                self.contact.phone = maybe(value, |value| Phone::parse(value).map_err(|e| e.to_string()))?;
            }
            "contact_email" => self.contact.email = maybe(value, email)?,
            "deliver_to" => self.deliver_to = maybe(value, text)?,
            "watch_folder" => self.watch_folder = maybe(value, folder)?,
            "copies_to" => self.copies_to = maybe(value, folder)?,
            "poured_by" => self.pours.by = PouredBy::parse(value).map_err(|e| e.to_string())?,
            "jigger_spread" => self.pours.jigger = spread(value)?,
            "free_spread" => self.pours.free = spread(value)?,
            "false_alarms" => self.false_alarms = Some(false_alarms(value)?),
            "service_level" => {
                self.service_levels = ServiceLevels::parse(value).map_err(|e| e.to_string())?;
            }
            "holding_cost" => self.holding_cost = Some(holding_cost(value)?),
            _ => match take_party(&mut self.party, key, value) {
                Some(read) => read?,
                None => return Err(unknown()),
            },
        }
        Ok(())
    }
}

fn unknown() -> String {
    say!("unknown setting; expected one of {what}", what = KEYS.join(", "))
}

/// A setting that may be taken away by an empty value.
fn maybe<T>(value: &str, read: impl FnOnce(&str) -> Result<T, String>) -> Result<Option<T>, String> {
    if value.is_empty() { Ok(None) } else { read(value).map(Some) }
}

/// A folder by its whole path: the program is started from anywhere.
fn folder(value: &str) -> Result<String, String> {
    let path = text(value)?;
    if std::path::Path::new(&path).is_absolute() {
        Ok(path)
    } else {
        Err(word!("expected the whole path of a folder, from the root on").to_owned())
    }
}

fn text(value: &str) -> Result<String, String> {
    checked(value).map_err(|e| e.to_string())
}

/// One step of a scale: a tenth of a gram to a kilogram.
fn division(value: &str) -> Result<Amount, String> {
    let read = Quantity::parse_as(value, Basis::Mass, &SmallMeasures::default()).ok();
    let read = read.filter(|step| (Amount(100)..=Amount(1_000_000)).contains(step));
    read.ok_or_else(|| word!("expected one step of the scale, from 0.1 g to 1 kg, such as 1 g").to_owned())
}

/// Percent that a pour cost may aim at.
fn target(value: &str) -> Result<i64, String> {
    let hundredths = Decimal::parse(value).ok().and_then(|d| d.exact(2));
    let sound = hundredths.filter(|h| (100..=10_000).contains(h));
    sound.ok_or_else(|| word!("expected percent from 1 to 100, such as 20").to_owned())
}

/// The standard deviation of one pour.
fn spread(value: &str) -> Result<Amount, String> {
    let read = Quantity::parse_as(value, Basis::Volume, &SmallMeasures::default()).ok();
    let read = read.filter(|spread| *spread <= Pours::WIDEST);
    read.ok_or_else(|| {
        word!("expected by how much one pour differs from another, above zero and up to 20 ml, such as 1.5 ml")
            .to_owned()
    })
}

/// Percent of the alarms that may be false.
fn false_alarms(value: &str) -> Result<i64, String> {
    let hundredths = Decimal::parse(value).ok().and_then(|d| d.exact(2));
    let sound = hundredths.filter(|h| (10..=3_000).contains(h));
    sound.ok_or_else(|| word!("expected percent from 0.1 to 30, such as 5").to_owned())
}

/// Percent of its value that stock costs a year.
fn holding_cost(value: &str) -> Result<i64, String> {
    let hundredths = Decimal::parse(value).ok().and_then(|d| d.exact(2));
    let sound = hundredths.filter(|h| (0..=10_000).contains(h));
    sound.ok_or_else(|| word!("expected percent a year from 0 to 100, such as 20").to_owned())
}

/// The step of menu prices, in a coin.
fn step(value: &str, currency: Currency) -> Result<Money, String> {
    let read = currency.parse(value).map_err(|e| e.to_string())?;
    if read > Money::ZERO { Ok(read) } else { Err(word!("expected a step of prices above zero").to_owned()) }
}

fn named(value: &str) -> Result<String, String> {
    if value.is_empty() {
        return Err(word!("expected the name of the bar").to_owned());
    }
    text(value)
}

/// A language tag: a language of two or three letters, then parts of up to eight (RFC 5646, its general form).
fn language(value: &str) -> Result<String, String> {
    let mut parts = value.split('-');
    let first = parts.next().is_some_and(|p| (2..=3).contains(&p.len()) && p.bytes().all(|b| b.is_ascii_alphabetic()));
    if first && parts.all(|p| (1..=8).contains(&p.len()) && p.bytes().all(|b| b.is_ascii_alphanumeric())) {
        Ok(value.to_owned())
    } else {
        Err(word!("expected a language tag such as en, de-AT or pt-PT").to_owned())
    }
}

/// Reads `venue.csv` over what the book has. Gives the bar, if it is whole, what the other files are to be read with
/// in any case, and how many lines were read.
///
/// # Errors
/// [`ExchangeError::Io`].
pub fn read_venue(
    table: Option<Table>,
    had: Option<&Venue>,
    faults: &mut Faults,
) -> Result<(Option<Venue>, Form, u64), ExchangeError> {
    let mut known = Known::default();
    for [key, value] in had.map(venue_rows).unwrap_or_default() {
        // What the book itself says was checked when it was kept.
        let _ = known.take(&key, &value);
    }
    let (mut seen, mut wrong, mut rows) = (Vec::new(), Vec::new(), 0);
    let mut step_line = None;
    if let Some(mut table) = table {
        while let Some(cells) = table.next(faults)? {
            rows += 1;
            let (key, value) = (cells.get("key").to_lowercase(), cells.get("value"));
            let line = cells.line();
            if seen.contains(&key) {
                let expected = word!("this setting is there twice; expected it once");
                faults.push(Fault::of_cell(Plain::Venue, line, "key", &key, expected));
            } else if !KEYS.contains(&key.as_str()) {
                faults.push(Fault::of_cell(Plain::Venue, line, "key", cells.get("key"), unknown()));
            } else if let Err(expected) = known.take(&key, value) {
                faults.push(Fault::of_cell(Plain::Venue, line, "value", value, expected));
                wrong.push(key.clone());
            }
            if key == "price_step" {
                step_line = Some(line);
            }
            seen.push(key);
        }
    }
    let missing = [known.name.is_none(), known.currency.is_none(), known.zone.is_none()];
    for (key, _) in KEYS.iter().zip(missing).filter(|(key, missing)| *missing && !wrong.iter().any(|w| w == *key)) {
        faults.push(Fault::of_file(
            Plain::Venue.name(),
            say!("expected a line for {key}, which the book does not know yet", key),
        ));
    }
    let currency_is_wrong = wrong.iter().any(|w| w == "currency");
    let days = DayRule {
        zone: known.zone.unwrap_or(Tz::UTC),
        starts: known.starts.or(NaiveTime::from_hms_opt(5, 0, 0)).unwrap_or_default(),
    };
    let form = Form { currency: known.currency.filter(|_| !currency_is_wrong), days, small: known.small, until: None };
    let venue = match (known.name, known.currency, known.zone) {
        (Some(name), Some(currency), Some(_)) => {
            let usual = Venue::new(&name, currency, days);
            let price_step = match known.price_step.as_deref().map(|value| (value, step(value, currency))) {
                Some((_, Ok(read))) => read,
                Some((value, Err(expected))) => {
                    // A step that the book has in another coin is not the folder's fault.
                    if let Some(line) = step_line {
                        faults.push(Fault::of_cell(Plain::Venue, line, "value", value, expected));
                    }
                    usual.price_step
                }
                None => usual.price_step,
            };
            Some(Venue {
                prices_include_tax: known.prices_include_tax.unwrap_or(usual.prices_include_tax),
                volume: known.volume.unwrap_or(usual.volume),
                language: known.language.unwrap_or(usual.language),
                small: known.small,
                blind_counts: known.blind_counts.unwrap_or(usual.blind_counts),
                scale_division: known.scale_division.unwrap_or(usual.scale_division),
                tenths_of: known.tenths_of.unwrap_or(usual.tenths_of),
                cost_rule: known.cost_rule.unwrap_or(usual.cost_rule),
                target_pour_cost: known.target_pour_cost.unwrap_or(usual.target_pour_cost),
                price_step,
                standard_drink: known.standard_drink.unwrap_or(usual.standard_drink),
                party: known.party,
                contact: known.contact,
                deliver_to: known.deliver_to,
                watch_folder: known.watch_folder,
                copies_to: known.copies_to,
                pours: known.pours,
                false_alarms: known.false_alarms.unwrap_or(usual.false_alarms),
                service_levels: known.service_levels,
                holding_cost: known.holding_cost.unwrap_or(usual.holding_cost),
                ..usual
            })
        }
        _ => None,
    };
    Ok((venue, form, rows))
}
