//! How long an item lasts, as it is drawn and said.

use crate::domain::par::ItemPar;
use crate::words;
use chrono::NaiveDate;

/// The least chance with which a stock is certain to last, with which it is likely to, and with which it may.
const CERTAIN: f64 = 0.95;
const LIKELY: f64 = 0.75;
const MAY: f64 = 0.25;

/// How surely something lasts to the end of a day.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lasts {
    /// In 95 of 100 cases, or more.
    Certain,
    /// In 75 of them, or more.
    Likely,
    /// In 25 of them, or more.
    Uncertain,
    /// In fewer.
    Dry,
}

impl Lasts {
    /// The surest first.
    pub const ALL: [Lasts; 4] = [Lasts::Certain, Lasts::Likely, Lasts::Uncertain, Lasts::Dry];

    /// Of a chance.
    pub fn of(chance: f64) -> Lasts {
        match chance {
            c if c >= CERTAIN => Lasts::Certain,
            c if c >= LIKELY => Lasts::Likely,
            c if c >= MAY => Lasts::Uncertain,
            _ => Lasts::Dry,
        }
    }

    /// In words.
    pub fn word(self) -> &'static str {
        match self {
            Lasts::Certain => word!("certain"),
            Lasts::Likely => word!("likely"),
            Lasts::Uncertain => word!("uncertain"),
            Lasts::Dry => word!("likely dry"),
        }
    }
}

/// A van that matters to an item.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Van {
    /// It brings something that was ordered.
    Ordered,
    /// An order now, or the one after it, could come with it.
    Possible,
}

impl Van {
    /// Both, in the order of a legend.
    pub const ALL: [Van; 2] = [Van::Ordered, Van::Possible];

    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Van::Ordered => word!("ordered, comes"),
            Van::Possible => word!("next vans"),
        }
    }
}

/// A day of the strip.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct StripDay {
    /// Which.
    pub day: NaiveDate,
    /// How surely it lasts to its end.
    pub lasts: Lasts,
    /// What comes before its trade.
    pub van: Option<Van>,
}

/// The days ahead of an item, today first; none where it is not known how long it lasts.
pub fn strip(par: &ItemPar) -> Vec<StripDay> {
    let possible = par.by_demand().filter(|_| par.usual.is_some()).map(|computed| computed.stretch);
    let van = |day: NaiveDate| {
        if par.coming.iter().any(|(on, _)| *on == day) {
            return Some(Van::Ordered);
        }
        possible.filter(|stretch| stretch.comes == day || stretch.until == day).map(|_| Van::Possible)
    };
    let days = par.cover.days.iter();
    days.map(|day| StripDay { day: day.day, lasts: Lasts::of(day.lasts), van: van(day.day) }).collect()
}

/// A day as tables and sentences have it.
pub(super) fn short(day: NaiveDate) -> String {
    words::day(day, "%a %-d %b")
}

/// The day in the course of which it is more likely dry than not, for a column; the days looked at where that is later,
/// nothing where it is not known.
pub fn lasts_into(par: &ItemPar) -> String {
    match par.cover.dry_by(0.5) {
        Some(day) => short(day),
        None if par.cover.days.is_empty() => String::new(),
        None => say!("{cover} days", cover = par.cover.days.len()),
    }
}

/// When the next order of it would come, for a column.
pub fn next_van(par: &ItemPar) -> String {
    if par.made_here {
        return word!("made here").to_owned();
    }
    par.by_demand().map(|computed| short(computed.stretch.comes)).unwrap_or_default()
}

/// How long it lasts, in a sentence; nothing where that is not known.
pub fn cover_words(par: &ItemPar) -> Option<String> {
    let last = par.cover.days.last()?;
    let surely = par.cover.days.iter().take_while(|day| Lasts::of(day.lasts) == Lasts::Certain).last();
    let surely = match surely {
        Some(day) if day.day == last.day => {
            return Some(say!("Lasts surely to {day}, and longer", day = short(day.day)));
        }
        Some(day) => say!("Lasts surely to {day}", day = short(day.day)),
        None => word!("May run dry today").to_owned(),
    };
    Some(match par.cover.dry_by(0.5) {
        Some(day) => say!("{surely}; more likely dry than not in the course of {day}", surely, day = short(day)),
        None => say!("{surely}; more likely than not to {day}, and longer", surely, day = short(last.day)),
    })
}
