//! What a new book begins with.

use crate::domain::measure::{Currency, VolumeUnit};
use crate::domain::venue::{Country, DayRule, Venue};
use crate::words::{Language, Speech};
use chrono_tz::Tz;

/// What this machine lets one guess of the bar: nothing of it is sure.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Guess {
    /// The zone that the machine's clock runs in.
    pub zone: Option<Tz>,
    /// The coin of the country whose formats the machine uses.
    pub currency: Option<Currency>,
    /// Whether that country measures drinks in ounces and writes menu prices without tax.
    pub american: bool,
    /// The language that the machine speaks, as far as the screens do.
    pub language: Language,
    /// That country.
    pub country: Option<Country>,
}

impl Guess {
    /// The tag of a language in the country.
    pub fn tag(&self, language: Language) -> String {
        language.in_country(self.country.map(|country| country.code()).as_deref())
    }

    /// How it is spoken there.
    pub fn speech(&self) -> Speech {
        Speech::of_tag(&self.tag(self.language))
    }
}

/// A bar as its owner describes it before there is a book.
#[derive(Clone, Debug, PartialEq)]
pub struct NewBar {
    /// What it is called.
    pub name: String,
    /// Its coin.
    pub currency: Currency,
    /// Its zone and the hour its day begins.
    pub days: DayRule,
    /// The unit volumes are shown in.
    pub volume: VolumeUnit,
    /// Whether menu prices contain tax.
    pub with_tax: bool,
    /// The tag of its language and country.
    pub language: String,
    /// Where stock stands, in the order in which one walks.
    pub places: Vec<String>,
    /// Who signs what is entered; nobody where that stays empty.
    pub by: Option<String>,
}

impl NewBar {
    /// The bar as the book keeps it.
    pub fn venue(&self) -> Venue {
        Venue {
            prices_include_tax: self.with_tax,
            volume: self.volume,
            language: self.language.clone(),
            ..Venue::new(&self.name, self.currency, self.days)
        }
    }
}
