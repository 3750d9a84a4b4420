//! From readings to an amount and its standard uncertainty.

use super::profile::Outline;
use super::uncertainty::{Source, Tally, resolution};
use super::vessel::Vessel;
use super::{Entry, Gauges, Mass, Reading, Sight, WeighedAs};
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

/// Why an entry cannot be one of its item.
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
        "no empty weight of {item} is known, so a weight says nothing; weigh an empty one, or use tenths such as .4"
    )]
    NoEmptyWeight {
        /// The item's name.
        item: String,
    },
    /// A weight without a density to divide by.
    #[error("how heavy {item} is is not known, so a weight says nothing; weigh a sealed one, or use tenths such as .4")]
    NoDensity {
        /// The item's name.
        item: String,
    },
    /// A height without a profile of the container.
    #[error("the container of {item} has no profile, so a height says nothing; expected tenths such as .4")]
    NoProfile {
        /// The item's name.
        item: String,
    },
    /// Lighter than empty, heavier than full, taller than the container.
    #[error("{reading} of {item} is {what} ({limit}); expected {expected}")]
    Impossible {
        /// The item's name.
        item: String,
        /// The reading.
        reading: String,
        /// Which way it is off.
        what: &'static str,
        /// The limit it passes.
        limit: String,
        /// What would do.
        expected: &'static str,
    },
}

/// A ruler is held with the naked eye against a curved wall: 1 mm around the true height (common practice, no source), on
/// top of its own division of 1 mm.
const HOLDING: f64 = 1.0;
const RULER: f64 = 1.0;

/// A weight is refused past so many standard uncertainties below empty or above full, and asked about past so many.
const REFUSED: f64 = 4.0;
const DOUBTED: f64 = 2.0;

/// Nodes and weights of Gauss–Hermite quadrature with three points, for a standard normal variable (Abramowitz and
/// Stegun 25.4.46, rescaled).
const NODES: [(f64, f64); 3] =
    [(-1.732_050_807_568_877_2, 1.0 / 6.0), (0.0, 2.0 / 3.0), (1.732_050_807_568_877_2, 1.0 / 6.0)];

impl Gauges {
    /// What an entry amounts to. `by` is the counter, whose eye may be known.
    ///
    /// It never fails: what was once accepted stays a reading. One that can no longer be read, because the empty weight it
    /// was weighed against was taken back, stands for anything between empty and full.
    pub fn level(&self, item: &Item, entry: &Entry, by: Option<&str>) -> Tally {
        let made;
        let vessel = match self.vessel(item.id) {
            Some(known) => known,
            None => {
                made = Vessel::new(item, None, &[]);
                &made
            }
        };
        let sealed = Tally::sealed(item.size, entry.full, vessel.u_sealed);
        entry.open.iter().fold(sealed, |sum, reading| sum.plus(&self.opened(vessel, *reading, by)))
    }

    /// Whether an entry can be one of its item: an error when it cannot, and a question when that is hard to believe.
    ///
    /// # Errors
    /// [`LevelError`].
    pub fn check(&self, item: &Item, entry: &Entry) -> Result<Option<String>, LevelError> {
        self.judge(item, entry, 1.0)
    }

    /// Whether an entry that was accepted earlier can still be read. What is known of the containers may have moved a
    /// little since, so the limits are twice as wide.
    ///
    /// # Errors
    /// [`LevelError`].
    pub fn check_kept(&self, item: &Item, entry: &Entry) -> Result<(), LevelError> {
        self.judge(item, entry, 2.0).map(|_| ())
    }

    fn judge(&self, item: &Item, entry: &Entry, wide: f64) -> Result<Option<String>, LevelError> {
        if item.count_by == CountBy::Whole && !entry.open.is_empty() {
            return Err(LevelError::WholeOnly { item: item.name.clone() });
        }
        let made;
        let vessel = match self.vessel(item.id) {
            Some(known) => known,
            None => {
                made = Vessel::new(item, None, &[]);
                &made
            }
        };
        let mut doubt = None;
        for reading in &entry.open {
            let doubted = match reading {
                Reading::Sight(_) => None,
                Reading::Mass(mass) => self.judge_weight(vessel, *mass, wide)?,
                Reading::Height(height) => judge_height(vessel, *height, wide)?,
            };
            doubt = doubt.or(doubted);
        }
        Ok(doubt)
    }

    /// Whether a container can weigh so much, as it was put on the scale: an error when it cannot, and a question when that
    /// is hard to believe.
    ///
    /// # Errors
    /// [`LevelError`].
    pub fn check_weighing(&self, vessel: &Vessel, state: WeighedAs, mass: Mass) -> Result<Option<String>, LevelError> {
        let grams = |mg: f64| format!("{:.0} g", mg / 1_000.0);
        let impossible = |what, limit: f64, expected| LevelError::Impossible {
            item: vessel.name.clone(),
            reading: mass.to_string(),
            what,
            limit: grams(limit),
            expected,
        };
        let weight = mass.mg as f64;
        let size = vessel.size.as_f64();
        // Nothing that is drunk is lighter than half of water or heavier than twice.
        let content = match vessel.per_unit() {
            Some((per_unit, _)) => (size * per_unit * 0.9, size * per_unit * 1.1),
            None => (size * 0.5, size * 2.0),
        };
        match (state, vessel.empty) {
            (WeighedAs::Opened, _) => self.judge_weight(vessel, mass, 1.0),
            (WeighedAs::Sealed, Some(empty)) if weight <= empty.weight => {
                Err(impossible("no heavier than an empty container", empty.weight, "the weight of a full one"))
            }
            (WeighedAs::Sealed, Some(empty)) => {
                let (least, most) = (empty.weight + content.0, empty.weight + content.1);
                let odd = !(least..=most).contains(&weight);
                Ok(odd.then(|| format!("{mass} for a full one (expected {} to {})", grams(least), grams(most))))
            }
            (WeighedAs::Sealed, None) if weight <= content.0 => {
                Err(impossible("lighter than its content alone", content.0, "the weight of a full one"))
            }
            (WeighedAs::Empty, Some(empty)) => {
                let u = empty.spread.hypot(empty.u).max(resolution(self.step_of(mass.step)));
                let odd = (weight - empty.weight).abs() > REFUSED * u;
                Ok(odd.then(|| format!("{mass} for an empty one (known so far: {})", grams(empty.weight))))
            }
            (WeighedAs::Empty, None) if weight <= 0.0 => {
                Err(impossible("nothing on the scale", 0.0, "the weight of an empty one"))
            }
            // Glass weighs about as much as what it holds, thick glass twice; metal and card far less.
            (WeighedAs::Empty, None) => {
                let odd = vessel.basis == Basis::Volume && weight > 2.0 * size;
                Ok(odd.then(|| format!("{mass} for an empty one of {:.0} ml", size / 1_000.0)))
            }
            (WeighedAs::Sealed, None) => Ok(None),
        }
    }

    /// What an opened container holds.
    pub fn opened(&self, vessel: &Vessel, reading: Reading, by: Option<&str>) -> Tally {
        let half = vessel.size.as_f64() / 2.0;
        let anything = || Tally::exactly(amount(half)).with_rectangular(half);
        match reading {
            Reading::Sight(sight) => self.seen(vessel, sight, by),
            Reading::Mass(mass) => self.weighed(vessel, mass).unwrap_or_else(anything),
            Reading::Height(height) => match &vessel.outline {
                Some(outline) => measured(vessel, outline, height),
                None => anything(),
            },
        }
    }

    /// By eye. A reading stands for anything within half a step to either side with equal chance: rectangular, u = a ÷ √3
    /// (GUM 4.3.7). Of a checked eye, its bias is taken off, its spread added, and what is not known of the bias is shared
    /// by all that this eye reads.
    fn seen(&self, vessel: &Vessel, sight: Sight, by: Option<&str>) -> Tally {
        let (number, eye) = self.eye(by);
        let size = vessel.size.as_f64();
        let half = sight.step.half_width();
        let read = (sight.share() - eye.bias).clamp(0.0, 1.0);
        // Without a shape a tenth is a tenth of what it holds.
        let (share, slope, u_shape) = match self.outline_of_tenths(vessel) {
            None => (read, 1.0, 0.0),
            Some(outline) => {
                let u = (half * half / 3.0 + eye.spread * eye.spread).sqrt();
                let (share, u_share) = spread_over(read, u, |height| outline.share_of_height(height.clamp(0.0, 1.0)));
                (share, u_share / u, outline.u_of(share))
            }
        };
        Tally::exactly(amount(share * size))
            .with_rectangular(half * slope * size)
            .with_normal(eye.spread * slope * size)
            .with_shared(Source::Eye(number), -eye.u_bias * slope * size)
            .with_shared(Source::Profile, u_shape * size)
    }

    /// On the scale: (gross − empty weight) ÷ density. The scale's step is rectangular (GUM F.2.2.1); an empty container
    /// differs from the make's average, and that average, like the density, is the same for all readings of the item.
    fn weighed(&self, vessel: &Vessel, mass: Mass) -> Option<Tally> {
        let (empty, (per_unit, u_per_unit)) = (vessel.empty?, vessel.per_unit()?);
        let net = (mass.mg as f64 - empty.weight) / per_unit;
        // Over full by more than a fill can be is no content any more.
        let most = vessel.size.as_f64() + 4.0 * vessel.u_sealed;
        let held = net.clamp(0.0, most);
        let share = held / vessel.size.as_f64().max(1.0);
        // Where the density is from full ones less the same empty weight, an error there moves empty and not full; what
        // else is not known of the density is then apart from it.
        let rests = vessel.density.map_or(0.0, |d| d.of_empty);
        let u_apart =
            (u_per_unit.powi(2) - (rests * empty.u / (vessel.size.as_f64() * per_unit)).powi(2)).max(0.0).sqrt();
        Some(
            Tally::exactly(amount(held))
                .with_rectangular(self.step_of(mass.step) / 2.0 / per_unit)
                .with_normal(empty.spread / per_unit)
                .with_shared(Source::EmptyWeight, -(1.0 - rests * share) * empty.u / per_unit)
                .with_shared(Source::Density, -held * u_apart),
        )
    }

    fn judge_weight(&self, vessel: &Vessel, mass: Mass, wide: f64) -> Result<Option<String>, LevelError> {
        let item = || vessel.name.clone();
        let empty = vessel.empty.ok_or_else(|| LevelError::NoEmptyWeight { item: item() })?;
        let (per_unit, u_per_unit) = vessel.per_unit().ok_or_else(|| LevelError::NoDensity { item: item() })?;
        let gross = mass.mg as f64;
        let full = vessel.size.as_f64() * per_unit;
        let u_empty = resolution(self.step_of(mass.step)).hypot(empty.spread).hypot(empty.u);
        let u_full = u_empty.hypot(vessel.u_sealed * per_unit).hypot(full * u_per_unit);
        let under = (empty.weight - gross) / u_empty;
        let over = (gross - empty.weight - full) / u_full;
        let grams = |mg: f64| format!("{:.0} g", mg / 1_000.0);
        if under > REFUSED * wide || over > REFUSED * wide {
            let (what, limit) = if under > 0.0 {
                ("lighter than an empty container", grams(empty.weight))
            } else {
                ("heavier than a full container", grams(empty.weight + full))
            };
            let expected = "a weight between empty and full";
            return Err(LevelError::Impossible { item: item(), reading: mass.to_string(), what, limit, expected });
        }
        Ok(if under > DOUBTED {
            Some(format!("{mass}, below the empty weight ({})", grams(empty.weight)))
        } else if over > DOUBTED {
            Some(format!("{mass}, above the weight of a full one ({})", grams(empty.weight + full)))
        } else {
            None
        })
    }
}

/// With a ruler: the height becomes a share by the container's outline. Reading and holding the ruler matter by how fast
/// the volume grows there; the shape is the same for all readings of the item.
fn measured(vessel: &Vessel, outline: &Outline, height: i64) -> Tally {
    let size = vessel.size.as_f64();
    let u = resolution(RULER).hypot(HOLDING);
    let (base, _, top) = outline.marks();
    let height = (height as f64 / 1_000.0).clamp(base, top);
    let (share, u_share) = spread_over(height, u, |mm| outline.share_at(mm));
    Tally::exactly(amount(share * size))
        .with_normal(u_share * size)
        .with_shared(Source::Profile, outline.u_of(share) * size)
}

fn judge_height(vessel: &Vessel, height: i64, wide: f64) -> Result<Option<String>, LevelError> {
    let item = || vessel.name.clone();
    let outline = vessel.outline.as_ref().ok_or_else(|| LevelError::NoProfile { item: item() })?;
    let (base, fill, top) = outline.marks();
    let mm = height as f64 / 1_000.0;
    let impossible = |what, limit: f64, expected| LevelError::Impossible {
        item: item(),
        reading: Reading::Height(height).to_string(),
        what,
        limit: format!("{limit:.0} mm"),
        expected,
    };
    let slack = top * 0.05 * (wide - 1.0);
    if mm > top + RULER + slack {
        return Err(impossible("taller than the container", top, "the height of the liquid above the table"));
    }
    if mm < base - 3.0 * HOLDING - slack {
        return Err(impossible("below where the liquid begins", base, "the height of the liquid above the table"));
    }
    let reading = Reading::Height(height);
    Ok((mm > fill + 3.0 * HOLDING).then(|| format!("{reading}, above the liquid of a sealed one ({fill:.0} mm)")))
}

/// Mean and standard deviation of `f` of a value that lies around `x` with standard uncertainty `u`.
fn spread_over(x: f64, u: f64, f: impl Fn(f64) -> f64) -> (f64, f64) {
    let values = NODES.map(|(node, weight)| (weight, f(x + node * u)));
    let mean: f64 = values.iter().map(|(w, v)| w * v).sum();
    let variance: f64 = values.iter().map(|(w, v)| w * (v - mean).powi(2)).sum();
    (mean, variance.sqrt())
}

fn amount(base_units: f64) -> Amount {
    Amount(base_units.round() as i64)
}

/// The entry that an expected amount would be read as: whole containers sealed, the rest opened to the nearest tenth.
pub fn as_entry(item: &Item, amount: Amount) -> Entry {
    let tenths = amount.times(10, item.size.0.max(1)).0.max(0);
    if item.count_by == CountBy::Whole {
        return Entry { full: amount.times(1, item.size.0.max(1)).0.max(0), open: Vec::new() };
    }
    let rest = (tenths % 10) as u8;
    Entry { full: tenths / 10, open: if rest == 0 { Vec::new() } else { vec![Reading::tenths(rest)] } }
}
