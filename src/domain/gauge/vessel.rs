//! What is known of an item's containers: what an empty one weighs, how heavy the content is, what shape it has.

use super::density::{self, DensityFrom, Heaviness};
use super::fill::u_sealed;
use super::profile::Outline;
use super::uncertainty::resolution;
use super::weighing::{WeighedAs, Weighing};
use crate::domain::measure::{Amount, Basis};
use crate::domain::venue::{CountBy, Item, Kind};

/// The empty weight of an item's containers, in milligrams.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EmptyWeight {
    /// The best estimate.
    pub weight: f64,
    /// Standard deviation of one container around the make's average.
    pub spread: f64,
    /// Standard uncertainty of that average.
    pub u: f64,
    /// How many empty ones it is from; the figure on file counts as one.
    pub number: usize,
}

/// What is known.
#[derive(Clone, Debug, PartialEq)]
pub struct Vessel {
    /// The item's name, for what is said to people.
    pub name: String,
    /// What it is measured by.
    pub basis: Basis,
    /// What one container holds.
    pub size: Amount,
    /// How opened ones are read.
    pub count_by: CountBy,
    /// Standard uncertainty of what a sealed one holds, base units.
    pub u_sealed: f64,
    /// The empty weight.
    pub empty: Option<EmptyWeight>,
    /// What sealed ones weighed on average, milligrams.
    pub full: Option<f64>,
    /// The density of the content, in grams of a millilitre (a gram, a piece); of what is measured by mass only where the
    /// owner says what a full one weighs.
    pub density: Option<Heaviness>,
    /// The shape.
    pub outline: Option<Outline>,
}

/// Containers of one make differ by about one percent in empty weight: 5 g for a bottle of 500 g (common practice, no
/// source). So much is assumed until several were weighed, and it then counts as so many of them.
const SPREAD: f64 = 0.01;
const SPREAD_COUNTS: f64 = 4.0;

impl Vessel {
    /// Puts together what the item, its container's shape and the weighings of it say.
    pub fn new(item: &Item, outline: Option<Outline>, weighings: &[&Weighing]) -> Vessel {
        // What is only counted whole is a number of containers, and their fill is nobody's business here.
        let u_sealed = if item.count_by == CountBy::Whole { 0.0 } else { u_sealed(item.basis, item.size) };
        let empty = empty_weight(item, weighings);
        let from_item = item.density.map(|d| density::given(d.0 as f64 / 1_000_000.0));
        let from_content = density::known(item.abv, item.sugar, item.kind != Kind::Spirit);
        let from_weighings = empty.and_then(|empty| weighed(item, &empty, u_sealed, weighings));
        let from_full =
            empty.and_then(|empty| full_on_file(item, &empty, u_sealed)).filter(|_| from_weighings.is_none());
        // What the owner says goes before what was worked out; of the rest the most exact.
        let worked_out = [from_content.filter(|_| item.basis == Basis::Volume), from_weighings].into_iter().flatten();
        let worked_out = || worked_out.min_by(|a, b| a.u.total_cmp(&b.u));
        let density = match item.basis {
            Basis::Volume => from_item.or(from_full).or_else(worked_out),
            Basis::Each => from_full.or_else(worked_out),
            // A gram weighs a gram, unless the owner says what a full one weighs.
            Basis::Mass => from_full,
        };
        Vessel {
            name: item.name.clone(),
            basis: item.basis,
            size: item.size,
            count_by: item.count_by,
            u_sealed,
            empty,
            full: full_weight(weighings),
            density,
            outline,
        }
    }

    /// Milligrams of one base unit of the content, with the relative standard uncertainty of that; `None` where a weight
    /// says nothing.
    pub fn per_unit(&self) -> Option<(f64, f64)> {
        // Grams of a millilitre are milligrams of a microlitre, and those of a piece of its thousandth.
        let known = self.density.map(|d| (d.density, d.u / d.density));
        known.or((self.basis == Basis::Mass).then_some((1.0, 0.0)))
    }

    /// Whether a weight of an opened one gives an amount.
    pub fn can_weigh(&self) -> bool {
        self.empty.is_some() && self.per_unit().is_some() && self.count_by != CountBy::Whole
    }

    /// What one weighs with so much in it, milligrams.
    pub fn gross_of(&self, amount: f64) -> Option<f64> {
        Some(self.empty?.weight + amount * self.per_unit()?.0)
    }
}

fn empty_weight(item: &Item, weighings: &[&Weighing]) -> Option<EmptyWeight> {
    let weighed = weighings.iter().filter(|w| w.state == WeighedAs::Empty);
    let mut all: Vec<(f64, f64)> = weighed.map(|w| (w.weight.mg as f64, w.weight.step as f64)).collect();
    // What was weighed goes before what is on file, which nobody may have weighed here.
    if all.is_empty() {
        all.extend(item.empty_weight.map(|w| (w.as_f64(), 1_000.0)));
    }
    let number = all.len() as f64;
    if all.is_empty() {
        return None;
    }
    let weight = all.iter().map(|(w, _)| w).sum::<f64>() / number;
    let squares: f64 = all.iter().map(|(w, _)| (w - weight).powi(2)).sum();
    let assumed = SPREAD * weight;
    let spread = ((SPREAD_COUNTS * assumed * assumed + squares) / (SPREAD_COUNTS + number - 1.0)).sqrt();
    let step = all.iter().map(|(_, step)| resolution(*step).powi(2)).sum::<f64>().sqrt() / number;
    Some(EmptyWeight { weight, spread, u: (spread / number.sqrt()).hypot(step), number: all.len() })
}

fn full_weight(weighings: &[&Weighing]) -> Option<f64> {
    let sealed = || weighings.iter().filter(|w| w.state == WeighedAs::Sealed).map(|w| w.weight.mg as f64);
    let number = sealed().count() as f64;
    (number > 0.0).then(|| sealed().sum::<f64>() / number)
}

/// The density that sealed containers give, once the empty weight is known: what they hold weighs so much, and by law it
/// is what stands on them, within the tolerance. A sealed and an empty weighing of the same mark are one container, whose
/// own empty weight is known.
fn weighed(item: &Item, empty: &EmptyWeight, u_sealed: f64, weighings: &[&Weighing]) -> Option<Heaviness> {
    let of = |state: WeighedAs| weighings.iter().filter(move |w| w.state == state);
    let contents: Vec<(f64, f64, f64)> = of(WeighedAs::Sealed)
        .map(|full| {
            let same = |e: &&&Weighing| e.mark.is_some() && e.mark == full.mark && e.at >= full.at;
            let own = of(WeighedAs::Empty).find(same);
            let gross = full.weight.mg as f64;
            let step = resolution(full.weight.step as f64);
            match own {
                Some(own) => (gross - own.weight.mg as f64, step.hypot(resolution(own.weight.step as f64)), 0.0),
                None => (gross - empty.weight, step.hypot(empty.spread), 1.0),
            }
        })
        .collect();
    heaviness(item, empty, u_sealed, &contents)
}

/// The density that the full weight on file gives.
fn full_on_file(item: &Item, empty: &EmptyWeight, u_sealed: f64) -> Option<Heaviness> {
    let full = item.full_weight?;
    heaviness(item, empty, u_sealed, &[(full.as_f64() - empty.weight, resolution(1_000.0).hypot(empty.spread), 1.0)])
}

/// From contents of full containers, each with its mass, the standard uncertainty of that, and the part of it that rests
/// on the average empty weight.
fn heaviness(item: &Item, empty: &EmptyWeight, u_sealed: f64, contents: &[(f64, f64, f64)]) -> Option<Heaviness> {
    let number = contents.len() as f64;
    let size = item.size.as_f64();
    let content = contents.iter().map(|(mass, ..)| mass).sum::<f64>() / number;
    if contents.is_empty() || content <= 0.0 || size <= 0.0 {
        return None;
    }
    let own = contents.iter().map(|(_, u, _)| u * u).sum::<f64>().sqrt() / number;
    // The average empty weight is one and the same in all of them.
    let of_empty = contents.iter().map(|(.., of_empty)| of_empty).sum::<f64>() / number;
    let u_mass = own.hypot(of_empty * empty.u);
    let u_fill = u_sealed / number.sqrt() / size;
    let density = content / size;
    let u = density * (u_mass / content).hypot(u_fill);
    Some(Heaviness { density, u, from: DensityFrom::Weighings, of_empty })
}
