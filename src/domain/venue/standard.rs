//! Standard drinks: how much ethanol a country takes for one.

use crate::domain::measure::{Amount, Basis, Quantity, SmallMeasures};
use crate::words;

/// How much ethanol is one standard drink.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum StandardDrink {
    /// As the World Health Organization counts in its screening test: 10 g.
    #[default]
    Who,
    /// As a country defines it.
    Country(&'static Country),
    /// As the book says, milligrams.
    Grams(Amount),
}

/// A country's rule.
#[derive(Debug, PartialEq, Eq)]
pub struct Country {
    /// ISO 3166.
    code: &'static str,
    /// Milligrams, or microlitres where a volume is defined.
    ethanol: Quantity,
    /// What it is called there.
    word: &'static str,
}

const fn grams(code: &'static str, milligrams: i64) -> Country {
    Country {
        code,
        ethanol: Quantity { basis: Basis::Mass, amount: Amount(milligrams) },
        word: text!("standard drinks"),
    }
}

/// Grams of ethanol in one, from compilations: the United States 14, Australia 10, Canada 13.45 (13.5 and 13.6 go round
/// as well), Denmark 12, Austria 20, Japan 20; the United Kingdom defines 10 ml.
const COUNTRIES: &[Country] = &[
    grams("AT", 20_000),
    grams("AU", 10_000),
    grams("CA", 13_450),
    grams("DK", 12_000),
    Country { code: "GB", ethanol: Quantity { basis: Basis::Volume, amount: Amount(10_000) }, word: text!("units") },
    grams("JP", 20_000),
    grams("US", 14_000),
];

/// Why a rule was refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{}", word!("expected WHO, a country of which the rule is known (AT, AU, CA, DK, GB, JP, US), or a mass such as 12 g"))]
pub struct StandardDrinkError;

impl StandardDrink {
    /// Reads `WHO`, `GB` or `12 g`.
    ///
    /// # Errors
    /// [`StandardDrinkError`].
    pub fn parse(text: &str) -> Result<StandardDrink, StandardDrinkError> {
        let text = text.trim();
        if text.eq_ignore_ascii_case("who") {
            return Ok(StandardDrink::Who);
        }
        if let Some(country) = COUNTRIES.iter().find(|c| c.code.eq_ignore_ascii_case(text)) {
            return Ok(StandardDrink::Country(country));
        }
        let mass = Quantity::parse_as(text, Basis::Mass, &SmallMeasures::default()).map_err(|_| StandardDrinkError)?;
        let sound = (Amount(1_000)..=Amount(100_000)).contains(&mass);
        if sound { Ok(StandardDrink::Grams(mass)) } else { Err(StandardDrinkError) }
    }

    /// As it is written: `WHO`, `GB`, `12 g`.
    pub fn plain(self) -> String {
        match self {
            StandardDrink::Who => "WHO".to_owned(),
            StandardDrink::Country(country) => country.code.to_owned(),
            StandardDrink::Grams(amount) => Quantity { basis: Basis::Mass, amount }.to_string(),
        }
    }

    /// The ethanol in one: a mass, or a volume where that is what is defined.
    pub fn ethanol(self) -> Quantity {
        let grams = |amount| Quantity { basis: Basis::Mass, amount };
        match self {
            StandardDrink::Who => grams(Amount(10_000)),
            StandardDrink::Country(country) => country.ethanol,
            StandardDrink::Grams(milligrams) => grams(milligrams),
        }
    }

    /// What one is called: `standard drink`, or `unit` in the United Kingdom.
    pub fn word(self) -> &'static str {
        match self {
            StandardDrink::Country(country) => words::find(country.word),
            StandardDrink::Who | StandardDrink::Grams(_) => word!("standard drinks"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rules_are_read_and_written() {
        for text in ["WHO", "GB", "US", "12 g", "7.5 g"] {
            assert_eq!(StandardDrink::parse(text).map(StandardDrink::plain).as_deref(), Ok(text));
        }
        assert_eq!(StandardDrink::parse(" gb ").map(StandardDrink::word), Ok("units"));
        for text in ["", "XX", "12", "0 g", "12 ml", "500 g"] {
            assert_eq!(StandardDrink::parse(text), Err(StandardDrinkError), "{text}");
        }
    }
}
