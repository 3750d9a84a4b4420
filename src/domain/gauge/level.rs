//! From readings to an amount and its standard uncertainty.

use super::{Entry, Reading};
use crate::domain::measure::{Amount, Basis};
use crate::domain::venue::{CountBy, Item};

/// An amount and its standard uncertainty, both in base units.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Level {
    /// How much.
    pub amount: Amount,
    /// One standard uncertainty of it.
    pub u: f64,
}

/// Half a tenth: the half-width of a reading by eye, as a share of the container.
pub const TENTH_HALF_WIDTH: f64 = 0.05;
/// Resolution of a kitchen scale, mg.
const SCALE_DIVISION: f64 = 1_000.0;
/// Spread of the empty weight of containers of one make, mg (common practice, no source).
const EMPTY_WEIGHT_SPREAD: f64 = 5_000.0;

/// Why readings give no amount.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum LevelError {
    /// Opened readings for something that is only counted whole.
    #[error("only whole containers of {item} are counted; expected a number such as 3")]
    WholeOnly {
        /// The item's name.
        item: String,
    },
    /// A weight without an empty weight to take off.
    #[error(
        "{item} has no empty weight and density (or full weight) on file, so a weight says nothing; expected tenths such as .4"
    )]
    NoEmptyWeight {
        /// The item's name.
        item: String,
    },
    /// A height without a profile of the container.
    #[error("the book has no profile of the container of {item}, so a height says nothing; expected tenths such as .4")]
    NoProfile {
        /// The item's name.
        item: String,
    },
    /// Lighter than empty or heavier than full.
    #[error("{reading} of {item} is {what} ({limit}); expected a weight between empty and full")]
    Impossible {
        /// The item's name.
        item: String,
        /// The reading.
        reading: String,
        /// Which way it is off.
        what: &'static str,
        /// The weight it passes.
        limit: String,
    },
}

impl Level {
    /// Nothing, exactly.
    pub const NONE: Level = Level { amount: Amount::ZERO, u: 0.0 };

    /// The sum of independent levels: uncertainties add in quadrature (GUM 5.1.2).
    pub fn plus(self, other: Level) -> Level {
        Level { amount: self.amount + other.amount, u: self.u.hypot(other.u) }
    }
}

/// What an entry for `item` amounts to.
///
/// A tenth read by eye stands for anything half a tenth to either side with equal chance: a rectangular distribution,
/// u = a ÷ √3 (GUM 4.3.7) with a = 0.05 of the container. Weights: (gross − empty) ÷ density, or by proportion between
/// the empty and the full weight; u from the scale's division (dx ÷ √12, GUM F.2.2.1) and the spread of empty weights.
///
/// # Errors
/// [`LevelError`].
pub fn level(item: &Item, entry: &Entry) -> Result<Level, LevelError> {
    let sealed = Level { amount: item.size.times(entry.full, 1), u: 0.0 };
    if item.count_by == CountBy::Whole && !entry.open.is_empty() {
        return Err(LevelError::WholeOnly { item: item.name.clone() });
    }
    entry.open.iter().try_fold(sealed, |sum, reading| Ok(sum.plus(opened(item, *reading)?)))
}

fn opened(item: &Item, reading: Reading) -> Result<Level, LevelError> {
    match reading {
        Reading::Tenths(tenths) => Ok(Level {
            amount: item.size.times(tenths.into(), 10),
            u: item.size.as_f64() * TENTH_HALF_WIDTH / 3_f64.sqrt(),
        }),
        Reading::Mass(gross) => weighed(item, reading, gross),
        Reading::Height(_) => Err(LevelError::NoProfile { item: item.name.clone() }),
    }
}

fn weighed(item: &Item, reading: Reading, gross: i64) -> Result<Level, LevelError> {
    let unknown = || LevelError::NoEmptyWeight { item: item.name.clone() };
    let empty = item.empty_weight.ok_or_else(unknown)?;
    // The mass of what a full container holds, by weighing or by density; a mass-basis item is its own mass.
    let content = match (item.full_weight, item.basis, item.density) {
        (Some(full), _, _) if full > empty => full - empty,
        (None, Basis::Mass, _) => item.size,
        (None, Basis::Volume, Some(density)) => density.mass_of(item.size),
        _ => return Err(unknown()),
    };
    let impossible = |what, limit: Amount| LevelError::Impossible {
        item: item.name.clone(),
        reading: reading.to_string(),
        what,
        limit: Reading::Mass(limit.0).to_string(),
    };
    let net = Amount(gross) - empty;
    let u_mass = (SCALE_DIVISION / 12_f64.sqrt()).hypot(EMPTY_WEIGHT_SPREAD);
    if net.as_f64() < -2.0 * u_mass {
        return Err(impossible("lighter than the empty container", empty));
    }
    if (net - content).as_f64() > 2.0 * u_mass {
        return Err(impossible("heavier than the full container", empty + content));
    }
    let per_mass = item.size.per(content);
    Ok(Level { amount: item.size.times(net.0.clamp(0, content.0), content.0), u: u_mass * per_mass })
}

/// The entry that an expected amount would be read as: whole containers sealed, the rest opened to the nearest tenth.
pub fn as_entry(item: &Item, amount: Amount) -> Entry {
    let tenths = amount.times(10, item.size.0.max(1)).0.max(0);
    if item.count_by == CountBy::Whole {
        return Entry { full: amount.times(1, item.size.0.max(1)).0.max(0), open: Vec::new() };
    }
    let rest = (tenths % 10) as u8;
    Entry { full: tenths / 10, open: if rest == 0 { Vec::new() } else { vec![Reading::Tenths(rest)] } }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use crate::domain::measure::Density;
    use crate::domain::venue::{ItemId, Kind};

    /// A 700 ml bottle read in tenths.
    pub(crate) fn bottle(id: i64, name: &str) -> Item {
        Item::new(ItemId(id), name, Kind::Spirit, Basis::Volume, Amount(700_000), CountBy::Tenths)
    }

    fn read(item: &Item, typed: &str) -> Result<Level, LevelError> {
        level(item, &Entry::parse(typed).unwrap())
    }

    /// GUM (JCGM 100:2008) 4.3.7: a rectangular distribution of half-width a has u = a/√3. Half a tenth of 700 ml is
    /// 35 ml, so u = 20.2 ml; two readings combine to √2 of it, 28.6 ml.
    #[test]
    fn tenths_carry_a_rectangular_uncertainty() {
        let item = bottle(1, "Any");
        let one = read(&item, "3.4").unwrap();
        assert_eq!(one.amount, Amount(2_380_000));
        assert!((one.u - 20_207.259).abs() < 0.001);
        let two = read(&item, ".4.7").unwrap();
        assert_eq!(two.amount, Amount(770_000));
        assert!((two.u - 28_577.380).abs() < 0.001);
        assert_eq!(read(&item, "3").unwrap(), Level { amount: Amount(2_100_000), u: 0.0 });
    }

    #[test]
    fn a_weight_needs_something_to_compare_with() {
        let mut item = bottle(1, "Any");
        assert!(matches!(read(&item, "812g"), Err(LevelError::NoEmptyWeight { .. })));
        assert!(matches!(read(&item, "143mm"), Err(LevelError::NoProfile { .. })));
        item.empty_weight = Some(Amount(500_000));
        item.density = Some(Density(950_000));
        // (832.5 − 500) g ÷ 0.95 g/ml = 350 ml.
        let half = read(&item, "832.5g").unwrap();
        assert_eq!(half.amount, Amount(350_000));
        // By proportion of the weights the density is not needed: half way between 500 g and 1 165 g.
        item.density = None;
        item.full_weight = Some(Amount(1_165_000));
        assert_eq!(read(&item, "832.5g").unwrap().amount, Amount(350_000));
        assert!(read(&item, "400g").unwrap_err().to_string().contains("lighter than the empty container (500g)"));
        assert!(read(&item, "1300g").unwrap_err().to_string().contains("heavier than the full container (1165g)"));
        item.count_by = CountBy::Whole;
        assert!(matches!(read(&item, "1.4"), Err(LevelError::WholeOnly { .. })));
    }

    #[test]
    fn an_expected_amount_reads_as_containers() {
        let item = bottle(1, "Any");
        for (ml, want) in [(2_380, "3.4"), (700, "1"), (0, "0"), (-50, "0"), (34, "0"), (36, ".1"), (665, "1")] {
            assert_eq!(as_entry(&item, Amount(ml * 1_000)).to_string(), want, "{ml} ml");
        }
    }
}
