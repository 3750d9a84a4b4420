//! How figures are written for people: the book's own unit and coin.

use super::{Amount, Basis, Currency, Money, decimal, unit};
use crate::words;
use serde::{Deserialize, Serialize};

/// The unit that volumes are shown in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum VolumeUnit {
    /// Millilitres, whole.
    #[default]
    Ml,
    /// Centilitres, one decimal.
    Cl,
    /// US fluid ounces, one decimal.
    Oz,
}

impl VolumeUnit {
    /// Reads `ml`, `cl` or `oz`.
    pub fn parse(text: &str) -> Option<VolumeUnit> {
        match text.trim().to_lowercase().as_str() {
            "ml" => Some(VolumeUnit::Ml),
            "cl" => Some(VolumeUnit::Cl),
            "oz" | "fl oz" => Some(VolumeUnit::Oz),
            _ => None,
        }
    }

    /// As written in `venue.csv`.
    pub fn word(self) -> &'static str {
        match self {
            VolumeUnit::Ml => "ml",
            VolumeUnit::Cl => "cl",
            VolumeUnit::Oz => "oz",
        }
    }
}

/// What stands in the place of a figure that whoever looks may not see.
pub const HIDDEN: &str = text!("hidden");

/// Writes amounts and money the way the book wants them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Show {
    /// The unit of volumes.
    pub volume: VolumeUnit,
    /// The coin.
    pub currency: Currency,
    /// Money is not shown to whoever looks.
    pub hides_money: bool,
}

impl Show {
    /// Minor units as whole coins, for the margin of a picture.
    pub fn whole_coins(self, minor: f64) -> String {
        words::fixed(self.currency.major(minor), 0)
    }

    /// An amount with its unit: `1 250 ml`, `125.0 cl`, `42.3 oz`, `812 g`, `3 each`. Thousands are set apart by a
    /// narrow gap that is a plain blank, so that nothing depends on the terminal's fonts.
    pub fn amount(self, basis: Basis, amount: Amount) -> String {
        let (number, symbol) = self.parts(basis, amount);
        format!("{number} {symbol}")
    }

    /// What one container holds, as its label says it: `700 ml` (or `70 cl` where the bar counts in those), `1.5 l`,
    /// `250 g`, `1 kg`, `24 pieces`. What is no whole number of millilitres was bottled by another measure, and stands
    /// in the unit of the bar.
    pub fn label(self, basis: Basis, size: Amount) -> String {
        let (whole, large) = (size.0 % 1_000 == 0, size.0 >= 1_000_000);
        match basis {
            Basis::Volume if !whole => self.amount(basis, size),
            Basis::Volume if large => format!("{} l", decimal::shown(size.0, 6)),
            Basis::Volume if self.volume == VolumeUnit::Cl && size.0 % 10_000 == 0 => {
                format!("{} cl", decimal::shown(size.0, 4))
            }
            Basis::Volume => format!("{} ml", decimal::shown(size.0, 3)),
            Basis::Mass if large => format!("{} kg", decimal::shown(size.0, 6)),
            Basis::Mass => format!("{} g", decimal::shown(size.0, 3)),
            Basis::Each if size.0 == 1_000 => word!("1 piece").to_owned(),
            Basis::Each => say!("{size} pieces", size = decimal::shown(size.0, 3)),
        }
    }

    /// An amount without its unit, for a column that names the unit in its head.
    pub fn bare(self, basis: Basis, amount: Amount) -> String {
        self.parts(basis, amount).0
    }

    /// An amount in the unit of [`Show::symbol`] as a number that another program reads: no thousands set apart, a point, and
    /// exact, but for fluid ounces, which stand to a hundred-thousandth.
    pub fn exact(self, basis: Basis, amount: Amount) -> String {
        match (basis, self.volume) {
            (Basis::Volume, VolumeUnit::Cl) => decimal::plain(amount.0, 4),
            (Basis::Volume, VolumeUnit::Oz) => decimal::plain(in_ounces(amount, 100_000), 5),
            _ => decimal::plain(amount.0, 3),
        }
    }

    /// The unit that [`Show::amount`] will use.
    pub fn symbol(self, basis: Basis) -> &'static str {
        match (basis, self.volume) {
            (Basis::Volume, unit) => unit.word(),
            (Basis::Mass, _) => "g",
            (Basis::Each, _) => word!("each"),
        }
    }

    fn parts(self, basis: Basis, amount: Amount) -> (String, &'static str) {
        let symbol = self.symbol(basis);
        let number = match (basis, self.volume) {
            (Basis::Volume, VolumeUnit::Cl) => grouped(scaled(amount, 1, 1_000), 1),
            (Basis::Volume, VolumeUnit::Oz) => grouped(in_ounces(amount, 10), 1),
            (Basis::Volume, VolumeUnit::Ml) | (Basis::Mass, _) => grouped(scaled(amount, 1, 1_000), 0),
            (Basis::Each, _) if amount.0 % 1_000 == 0 => grouped(amount.0 / 1_000, 0),
            (Basis::Each, _) => grouped(scaled(amount, 1, 100), 1),
        };
        (number, symbol)
    }

    /// Containers to one decimal: `3.4`.
    pub fn containers(self, amount: Amount, size: Amount) -> String {
        if size.0 == 0 {
            return "–".to_owned();
        }
        grouped(scaled(amount, 10, size.0.into()), 1)
    }

    /// Money with all its decimals, without the coin's name; [`HIDDEN`] for whoever may not see it.
    pub fn money(self, money: Money) -> String {
        if self.hides_money {
            return words::find(HIDDEN).to_owned();
        }
        grouped(money.0, self.currency.decimals())
    }

    /// The same with it: `12 345.67 EUR`.
    pub fn coin(self, money: Money) -> String {
        format!("{} {}", self.money(money), self.currency)
    }
}

/// Fluid ounces, in so many parts of one.
fn in_ounces(amount: Amount, parts: i128) -> i64 {
    let ounce = unit::UNITS.iter().find(|u| u.symbol == "fl oz");
    let (n, d) = ounce.map_or((1, 1), |u| (u.numerator, u.denominator));
    scaled(amount, d * parts, n)
}

fn scaled(amount: Amount, n: i128, d: i128) -> i64 {
    decimal::round_half_even(i128::from(amount.0) * n, d).clamp(i64::MIN.into(), i64::MAX.into()) as i64
}

/// Sets thousands apart: `(1_234_567, 2)` is `12 345.67`. A figure that rounds to nothing carries no sign.
fn grouped(value: i64, places: u32) -> String {
    words::number(set_apart(decimal::fixed(value, places)))
}

/// The same of a number that is written already.
pub(super) fn set_apart(text: String) -> String {
    let (sign, digits) = text.strip_prefix('-').map_or(("", text.as_str()), |rest| ("-", rest));
    let (whole, fraction) = digits.split_once('.').map_or((digits, None), |(w, f)| (w, Some(f)));
    if whole.len() < 5 {
        return text;
    }
    let mut out = String::from(sign);
    for (i, c) in whole.chars().enumerate() {
        if i > 0 && (whole.len() - i).is_multiple_of(3) {
            out.push(' ');
        }
        out.push(c);
    }
    if let Some(fraction) = fraction {
        out.push('.');
        out.push_str(fraction);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn amounts_in_the_books_unit() {
        let euro = "EUR".parse().unwrap();
        let show = |volume| Show { volume, currency: euro, hides_money: false };
        for (unit, amount, want) in [
            (VolumeUnit::Ml, 700_000, "700 ml"),
            (VolumeUnit::Ml, -1_499, "-1 ml"),
            (VolumeUnit::Ml, -400, "0 ml"),
            (VolumeUnit::Ml, 12_345_678, "12 346 ml"),
            (VolumeUnit::Cl, 700_000, "70.0 cl"),
            (VolumeUnit::Oz, 59_147, "2.0 oz"),
            (VolumeUnit::Oz, 750_000, "25.4 oz"),
        ] {
            assert_eq!(show(unit).amount(Basis::Volume, Amount(amount)), want);
        }
        for (unit, basis, size, want) in [
            (VolumeUnit::Ml, Basis::Volume, 700_000, "700 ml"),
            (VolumeUnit::Cl, Basis::Volume, 700_000, "70 cl"),
            (VolumeUnit::Cl, Basis::Volume, 375_000, "375 ml"),
            (VolumeUnit::Oz, Basis::Volume, 750_000, "750 ml"),
            (VolumeUnit::Oz, Basis::Volume, 354_882, "12.0 oz"),
            (VolumeUnit::Cl, Basis::Volume, 30_000_000, "30 l"),
            (VolumeUnit::Ml, Basis::Mass, 250_000, "250 g"),
            (VolumeUnit::Ml, Basis::Mass, 1_500_000, "1.5 kg"),
            (VolumeUnit::Ml, Basis::Each, 24_000, "24 pieces"),
        ] {
            assert_eq!(show(unit).label(basis, Amount(size)), want);
        }
        let ml = show(VolumeUnit::Ml);
        assert_eq!(ml.amount(Basis::Mass, Amount(812_000)), "812 g");
        assert_eq!(ml.amount(Basis::Each, Amount(3_000)), "3 each");
        // 29.5735295625 ml are a fluid ounce (NIST Handbook 44, appendix C).
        for (unit, basis, amount, want) in [
            (VolumeUnit::Ml, Basis::Volume, -12_345_678, "-12345.678"),
            (VolumeUnit::Ml, Basis::Volume, 700_000, "700"),
            (VolumeUnit::Cl, Basis::Volume, 12_345_678, "1234.5678"),
            (VolumeUnit::Oz, Basis::Volume, 59_147, "2"),
            (VolumeUnit::Oz, Basis::Volume, 1_000_000, "33.81402"),
            (VolumeUnit::Oz, Basis::Mass, 250_500, "250.5"),
            (VolumeUnit::Ml, Basis::Each, 2_500, "2.5"),
        ] {
            assert_eq!(show(unit).exact(basis, Amount(amount)), want);
        }
        assert_eq!(ml.amount(Basis::Each, Amount(2_500)), "2.5 each");
        assert_eq!(ml.containers(Amount(2_380_000), Amount(700_000)), "3.4");
        assert_eq!(ml.money(Money(-1_234_567)), "-12 345.67");
    }
}
