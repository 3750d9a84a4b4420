//! Alcoholic strength and density, as fixed-point integers.

use super::{Amount, Decimal, decimal};

/// Alcoholic strength in hundredths of a percent by volume: 40 % vol is 4 000.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Strength(pub i64);

/// Density in micrograms per microlitre × 1000, that is g/m³: water is about 998 200.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Density(pub i64);

/// Sugar in a liquid.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sugar {
    /// Percent by mass (degrees Brix), in hundredths.
    Brix(i64),
    /// Grams in a litre, in tenths.
    GramsPerLitre(i64),
}

/// Why a strength, density or sugar was refused.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum StrengthError {
    /// Not between 0 and 100.
    #[error("{}", word!("expected percent by volume between 0 and 100, such as 40 or 42.5"))]
    Strength,
    /// Not a density of anything drunk or eaten.
    #[error("{}", word!("expected grams per millilitre between 0.1 and 5, such as 1.33"))]
    Density,
    /// Not sugar, or more than dissolves.
    #[error("{}", word!("expected sugar such as 50 brix (percent by mass, up to 85) or 250 g/l (up to 1200)"))]
    Sugar,
    /// Not sugar, or more than all.
    #[error("{}", word!("expected sugar in percent by mass such as 100 % or 80 brix"))]
    SugarOfSolid,
}

impl Sugar {
    /// More than any solution holds, in hundredths of a percent by mass.
    const DISSOLVED: i64 = 8_500;

    /// Reads `50 brix`, `50 bx`, `50 °Bx` or `250 g/l`.
    ///
    /// # Errors
    /// [`StrengthError::Sugar`].
    pub fn parse(text: &str) -> Result<Sugar, StrengthError> {
        let lower = text.trim().to_lowercase();
        let number = |digits: &str, places, most| {
            let value = Decimal::parse(digits.trim()).ok().and_then(|d| d.exact(places));
            value.filter(|v| (0..=most).contains(v))
        };
        let brix = ["°brix", "°bx", "brix", "bx"].iter().find_map(|unit| lower.strip_suffix(unit));
        let read = match (brix, lower.strip_suffix("g/l")) {
            (Some(digits), _) => number(digits, 2, Sugar::DISSOLVED).map(Sugar::Brix),
            (None, Some(digits)) => number(digits, 1, 12_000).map(Sugar::GramsPerLitre),
            (None, None) => None,
        };
        read.ok_or(StrengthError::Sugar)
    }

    /// Reads the sugar of something solid: besides what a liquid may have, any percent by mass up to 100, `99.8 %`.
    ///
    /// # Errors
    /// [`StrengthError::SugarOfSolid`].
    pub fn parse_of_solid(text: &str) -> Result<Sugar, StrengthError> {
        let percent = text.trim().strip_suffix('%').map(|digits| Decimal::parse(digits.trim()).ok()?.exact(2));
        match percent {
            Some(read) => read.filter(|v| (0..=10_000).contains(v)).map(Sugar::Brix),
            None => Sugar::parse(text).ok(),
        }
        .ok_or(StrengthError::SugarOfSolid)
    }

    /// The plain-file form: `50 brix`, `250 g/l`; of something solid that has more than a solution can, `100 %`.
    pub fn plain(self) -> String {
        match self {
            Sugar::Brix(hundredths) if hundredths > Sugar::DISSOLVED => format!("{} %", decimal::plain(hundredths, 2)),
            Sugar::Brix(hundredths) => say!("{hundredths} brix", hundredths = decimal::plain(hundredths, 2)),
            Sugar::GramsPerLitre(tenths) => format!("{} g/l", decimal::plain(tenths, 1)),
        }
    }
}

impl Strength {
    /// Reads `42.5`, in percent by volume.
    ///
    /// # Errors
    /// [`StrengthError::Strength`].
    pub fn parse(text: &str) -> Result<Strength, StrengthError> {
        let hundredths = Decimal::parse(text.trim()).ok().and_then(|d| d.exact(2));
        hundredths.filter(|h| (0..=10_000).contains(h)).map(Strength).ok_or(StrengthError::Strength)
    }

    /// The plain-file form: `42.5`.
    pub fn plain(self) -> String {
        decimal::plain(self.0, 2)
    }
}

impl Density {
    /// Reads `1.33`, in grams per millilitre.
    ///
    /// # Errors
    /// [`StrengthError::Density`].
    pub fn parse(text: &str) -> Result<Density, StrengthError> {
        let value = Decimal::parse(text.trim()).ok().and_then(|d| d.exact(6));
        value.filter(|v| (100_000..=5_000_000).contains(v)).map(Density).ok_or(StrengthError::Density)
    }

    /// The plain-file form: `1.33`.
    pub fn plain(self) -> String {
        decimal::plain(self.0, 6)
    }

    /// Volume (µl) of a mass (mg).
    pub fn volume_of(self, mass: Amount) -> Amount {
        mass.times(1_000_000, self.0)
    }

    /// Mass (mg) of a volume (µl).
    pub fn mass_of(self, volume: Amount) -> Amount {
        volume.times(self.0, 1_000_000)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn read_and_refused() {
        assert_eq!(Strength::parse("42.5"), Ok(Strength(4_250)));
        assert_eq!(Density::parse("1.33").unwrap().volume_of(Amount(1_330_000)), Amount(1_000_000));
        for bad in ["101", "-1", "40%", "", "40.123"] {
            assert_eq!(Strength::parse(bad), Err(StrengthError::Strength), "{bad}");
        }
        assert_eq!(Sugar::parse("66.67 °Bx"), Ok(Sugar::Brix(6_667)));
        assert_eq!(Sugar::parse("250 g/l").map(Sugar::plain).as_deref(), Ok("250 g/l"));
        for bad in ["", "50", "86 brix", "-1 bx", "1300 g/l", "brix", "50 %"] {
            assert_eq!(Sugar::parse(bad), Err(StrengthError::Sugar), "{bad}");
        }
        for bad in ["0", "1330", "water"] {
            assert_eq!(Density::parse(bad), Err(StrengthError::Density), "{bad}");
        }
    }

    proptest! {
        #[test]
        fn mass_of_the_volume_of_a_mass(mass in 0_i64..50_000_000_000, density in 500_000_i64..2_000_000) {
            let density = Density(density);
            let back = density.mass_of(density.volume_of(Amount(mass)));
            // One rounding to a microlitre weighs at most half a density's worth, and one more to a milligram.
            prop_assert!((back.0 - mass).abs() <= density.0 / 2_000_000 + 2);
        }
    }
}
