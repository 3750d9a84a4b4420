//! How heavy a liquid is: from its strength, its sugar, or both, each with how well that is known.

use super::uncertainty::rectangular;
use super::{alcohol, sugar};
use crate::domain::measure::{Amount, Strength, Sugar};
use std::ops::RangeInclusive;

/// Density at 20 °C with its standard uncertainty, both in g/ml.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heaviness {
    /// Grams of one millilitre.
    pub density: f64,
    /// Standard uncertainty.
    pub u: f64,
    /// Where it is from.
    pub from: DensityFrom,
    /// The part of it that rests on the average empty weight, 0 to 1: where full containers were weighed and the average
    /// taken off, an error of the average is in the density too.
    pub of_empty: f64,
}

/// Where a density is from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum DensityFrom {
    /// Said by the owner.
    Given,
    /// From strength: a spirit.
    Strength,
    /// From sugar: a syrup or juice.
    Sugar,
    /// From strength and sugar: a liqueur.
    Both,
    /// From a full and an empty container.
    Weighings,
}

impl DensityFrom {
    /// In words.
    pub fn word(self) -> &'static str {
        match self {
            DensityFrom::Given => word!("as given"),
            DensityFrom::Strength => word!("from strength"),
            DensityFrom::Sugar => word!("from sugar"),
            DensityFrom::Both => word!("from strength and sugar"),
            DensityFrom::Weighings => word!("from weighings"),
        }
    }
}

/// How far the strength on a label may be off, % vol: 0.3 (Regulation (EU) No 1169/2011, Annex XII; from memory).
const LABEL: f64 = 0.3;
/// How far sugar as the owner states it may be off, percent by mass: half a division of a hand refractometer (common
/// practice, no source).
const STATED_BRIX: f64 = 0.5;
/// How far sugar as the owner states it may be off in a liqueur, as a share (common practice, no source).
const STATED_SUGAR: f64 = 0.03;
/// Relative standard uncertainty of a density that the owner gives (common practice, no source).
const GIVEN: f64 = 0.001;

/// Density of air (kg/m³) at room conditions, and that of the masses that scales are set with (OIML D 28).
const AIR: f64 = 1.2;
const MASSES: f64 = 8_000.0;

/// What a scale shows for one litre, in grams, of a liquid of `density` (kg/m³): the air bears a part of it, about one
/// part in a thousand, and bore a part of the masses that the scale was set with.
pub fn in_air(density: f64) -> f64 {
    density * (1.0 - AIR / density) / (1.0 - AIR / MASSES)
}

/// Grams of a millilitre: nothing that is poured is lighter than half of what water weighs, or heavier than twice (common
/// practice, no source).
pub(super) const POURED: RangeInclusive<f64> = 0.5..=2.0;

/// Whether a full container of a volume may weigh so much; where no empty weight is known the glass may weigh anything.
pub fn believable_full(full: Amount, empty: Option<Amount>, size: Amount) -> bool {
    let density = (full - empty.unwrap_or_default()).per(size);
    density >= *POURED.start() && (density <= *POURED.end() || empty.is_none())
}

/// Density (kg/m³) of a mixture of ethanol, sugar and water: strength by volume at 20 °C from 0 to 1, grams of sugar in a
/// litre, temperature.
///
/// The sugar takes up its apparent volume in water, and a mixture of ethanol and water that holds all of the ethanol
/// fills the rest. No table of measured densities of such mixtures was to be had, so this is an estimate: the additive
/// rule (Tabarié 1830, the form in OIV-MA-AS2-03B) gives 0.3 % more at 40 % vol and 250 g/l, and measured mixtures
/// stray from the additive rule to this side.
pub fn of_mixture(strength: f64, grams_per_litre: f64, celsius: f64) -> f64 {
    if grams_per_litre <= 0.0 {
        return alcohol::density_of_strength(strength, celsius);
    }
    let volume = grams_per_litre * sugar::apparent_volume(grams_per_litre) / 1_000.0;
    let rest = (1.0 - volume).max(1e-6);
    let at = |celsius| alcohol::density_of_strength((strength / rest).min(1.0), celsius);
    // A litre at 20 °C; warmed, it swells as its mixture of ethanol and water does.
    let litre = at(20.0) * rest + grams_per_litre;
    litre * at(celsius) / at(20.0)
}

/// The additive rule for the same, for comparison: what ethanol takes from water's density and what sugar adds to it.
pub fn additive(strength: f64, grams_per_litre: f64) -> f64 {
    let sugared = sugar::density(sugar::brix_of(grams_per_litre), 20.0);
    alcohol::density_of_strength(strength, 20.0) + sugared - sugar::water(20.0)
}

/// Density (kg/m³, in vacuum) at a temperature of what has this strength and sugar; `None` with neither.
pub fn at(strength: Option<Strength>, sugar: Option<Sugar>, celsius: f64) -> Option<f64> {
    let by_volume = strength.filter(|s| s.0 > 0).map(|s| s.0 as f64 / 10_000.0);
    Some(match (by_volume, sugar) {
        (None, None) => return None,
        (Some(q), None) => alcohol::density_of_strength(q, celsius),
        (None, Some(Sugar::Brix(hundredths))) => sugar::density(hundredths as f64 / 100.0, celsius),
        (None, Some(sugar)) => sugar::density(sugar::brix_of(grams_per_litre(sugar, 0.0)), celsius),
        (Some(q), Some(sugar)) => of_mixture(q, grams_per_litre(sugar, q), celsius),
    })
}

/// Sugar as grams in a litre. Brix of a mixture with alcohol is taken as percent by mass of sugar, which depends on the
/// density that it is part of; a few rounds settle it.
pub(crate) fn grams_per_litre(sugar: Sugar, strength: f64) -> f64 {
    match sugar {
        Sugar::GramsPerLitre(tenths) => tenths as f64 / 10.0,
        Sugar::Brix(hundredths) => {
            let share = hundredths as f64 / 10_000.0;
            (0..30).fold(1_000.0 * share, |grams, _| share * of_mixture(strength, grams, 20.0))
        }
    }
}

/// What strength and sugar say of the density of a liquid, as a scale in air at 20 °C would find it; `None` where they
/// do not say enough.
///
/// The uncertainty: the label's tolerance in strength, the sugar as it was stated, and for a mixture of both the bound
/// of the estimate, 0.5 % up to 40 % vol and 1 % above, or as much as the additive rule differs where that is more.
/// `may_be_sweet` is whether what has no sugar on file may still hold some, as everything but a spirit does.
pub fn known(strength: Option<Strength>, sugar: Option<Sugar>, may_be_sweet: bool) -> Option<Heaviness> {
    if sugar.is_none() && may_be_sweet {
        return None;
    }
    let density = at(strength, sugar, 20.0)?;
    let moved = |strength: Option<Strength>, sugar: Option<Sugar>| at(strength, sugar, 20.0).unwrap_or(density);
    let label = strength.filter(|s| s.0 > 0).map_or(0.0, |s| {
        let up = Strength((s.0 + (LABEL * 100.0) as i64).min(10_000));
        rectangular((moved(Some(up), sugar) - density).abs())
    });
    let stated = sugar.map_or(0.0, |said| {
        let more = match said {
            Sugar::Brix(hundredths) => Sugar::Brix(hundredths + (STATED_BRIX * 100.0) as i64),
            Sugar::GramsPerLitre(tenths) => Sugar::GramsPerLitre(tenths + (tenths as f64 * STATED_SUGAR) as i64),
        };
        rectangular((moved(strength, Some(more)) - density).abs())
    });
    let (from, model) = match (strength.filter(|s| s.0 > 0), sugar) {
        (Some(s), Some(sugar)) => {
            let by_volume = s.0 as f64 / 10_000.0;
            let bound: f64 = if s.0 <= 4_000 { 0.005 } else { 0.01 };
            // Strong and very sweet at once, the two rules part further than the bound.
            let parted = additive(by_volume, grams_per_litre(sugar, by_volume)) / density - 1.0;
            (DensityFrom::Both, bound.max(parted.abs()))
        }
        (None, Some(_)) => (DensityFrom::Sugar, 0.0),
        _ => (DensityFrom::Strength, 0.0),
    };
    let u = label.hypot(stated).hypot(model * density);
    Some(Heaviness { density: in_air(density) / 1_000.0, u: u / 1_000.0, from, of_empty: 0.0 })
}

/// A density that the owner gives, in g/ml.
pub fn given(density: f64) -> Heaviness {
    Heaviness { density, u: density * GIVEN, from: DensityFrom::Given, of_empty: 0.0 }
}
