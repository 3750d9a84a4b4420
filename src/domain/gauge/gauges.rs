//! Every instrument of a book put together: each item's vessel, each counter's eye, the scale, and how tenths are meant.

use super::eye::{Eye, Pair};
use super::profile::Outline;
use super::uncertainty::resolution;
use super::vessel::{EmptyWeight, Vessel};
use super::weighing::{WeighedAs, Weighing};
use super::{Mass, Reading, Sight};
use crate::domain::venue::{Item, ItemId, ItemShape, Setup, TenthsOf};
use std::borrow::Cow;
use std::collections::HashMap;

/// The instruments.
#[derive(Clone, Debug, Default)]
pub struct Gauges {
    vessels: HashMap<ItemId, Vessel>,
    /// By initials.
    eyes: Vec<(String, Eye)>,
    /// What one step of the book's scale is, in milligrams.
    division: f64,
    tenths_of: TenthsOf,
}

impl Gauges {
    /// What the set-up and all weighings in force say.
    pub fn new(setup: &Setup, weighings: &[Weighing]) -> Gauges {
        let mut of: HashMap<ItemId, Vec<&Weighing>> = HashMap::new();
        for weighing in weighings {
            of.entry(weighing.item).or_default().push(weighing);
        }
        let none = Vec::new();
        let vessel = |item: &Item| {
            let outline = item.shape.and_then(|shape| outline(setup, item, shape));
            (item.id, Vessel::new(item, outline, of.get(&item.id).unwrap_or(&none)))
        };
        let mut gauges = Gauges {
            vessels: setup.items.iter().map(vessel).collect(),
            eyes: Vec::new(),
            division: setup.venue.scale_division.as_f64(),
            tenths_of: setup.venue.tenths_of,
        };
        let mut pairs: HashMap<&str, Vec<Pair>> = HashMap::new();
        for weighing in weighings {
            if let (Some(by), Some(pair)) = (weighing.by.as_deref(), gauges.pair(weighing)) {
                pairs.entry(by).or_default().push(pair);
            }
        }
        let mut eyes: Vec<(String, Eye)> =
            pairs.into_iter().map(|(by, pairs)| (by.to_owned(), Eye::learned(&pairs))).collect();
        eyes.sort_by(|a, b| a.0.cmp(&b.0));
        gauges.eyes = eyes;
        gauges
    }

    /// Instruments for one vessel only, with no book behind them.
    pub fn of_one(item: ItemId, vessel: Vessel, division: f64, tenths_of: TenthsOf) -> Gauges {
        Gauges { vessels: [(item, vessel)].into(), eyes: Vec::new(), division, tenths_of }
    }

    /// What is known of an item's containers.
    pub fn vessel(&self, item: ItemId) -> Option<&Vessel> {
        self.vessels.get(&item)
    }

    /// What is known of an item's containers; of one that came to the book since, what the item itself says.
    pub(super) fn vessel_of(&self, item: &Item) -> Cow<'_, Vessel> {
        let known = self.vessels.get(&item.id).map(Cow::Borrowed);
        known.unwrap_or_else(|| Cow::Owned(Vessel::new(item, None, &[])))
    }

    /// Every counter whose eye was checked.
    pub fn eyes(&self) -> impl Iterator<Item = (&str, &Eye)> {
        self.eyes.iter().map(|(by, eye)| (by.as_str(), eye))
    }

    /// A counter's eye with its number; an unchecked one is taken at its word.
    pub(super) fn eye(&self, by: Option<&str>) -> (usize, Eye) {
        let at = by.and_then(|by| self.eyes.iter().position(|(who, _)| who == by));
        at.map_or((usize::MAX, Eye::default()), |at| (at, self.eyes[at].1))
    }

    /// What the eye of a counter is like; an unchecked one is taken at its word.
    pub fn eye_of(&self, by: Option<&str>) -> Eye {
        self.eye(by).1
    }

    /// The outline that a reading by eye goes by: where tenths are meant of the height and the shape is known.
    pub(super) fn outline_of_tenths<'a>(&self, vessel: &'a Vessel) -> Option<&'a Outline> {
        vessel.outline.as_ref().filter(|_| self.tenths_of == TenthsOf::Height)
    }

    /// A share of what a container holds as an eye should see it: of the height, where that is what a tenth is a tenth of.
    pub fn as_seen(&self, vessel: &Vessel, share: f64) -> f64 {
        self.outline_of_tenths(vessel).map_or(share, |outline| outline.height_share_of(share))
    }

    /// One step of the scale that showed a weight, in milligrams: as it was written, unless the book's scale has coarser
    /// steps.
    pub(super) fn step_of(&self, written: i64) -> f64 {
        (written as f64).max(self.division)
    }

    /// Standard uncertainty, in milligrams, of what is left of a weight once the empty weight is taken off: the scale's step,
    /// how one container differs from the make's average, and that average.
    pub(super) fn u_net(&self, mass: Mass, empty: &EmptyWeight) -> f64 {
        resolution(self.step_of(mass.step)).hypot(empty.spread).hypot(empty.u)
    }

    /// What the eye read less what the scale found, in the eye's own tenths, of a container that was read both ways.
    pub fn pair(&self, weighing: &Weighing) -> Option<Pair> {
        let (WeighedAs::Opened, Some(Reading::Sight(seen))) = (weighing.state, weighing.seen) else { return None };
        let vessel = self.vessels.get(&weighing.item)?;
        let (empty, (per_unit, u_per_unit)) = (vessel.empty?, vessel.per_unit()?);
        let size = vessel.size.as_f64();
        let net = (weighing.weight.mg as f64 - empty.weight) / per_unit;
        let share = net / size;
        let u_share = (self.u_net(weighing.weight, &empty) / per_unit / size).hypot(share * u_per_unit);
        // What the scale found, as the eye should have seen it, and how much of that one percent of the content is.
        let there = self.as_seen(vessel, share);
        let per_share = (self.as_seen(vessel, share + 0.005) - self.as_seen(vessel, share - 0.005)) / 0.01;
        let Sight { step, .. } = seen;
        let variance = step.half_width().powi(2) / 3.0 + (u_share * per_share).powi(2);
        Some(Pair { off: seen.share() - there, variance })
    }
}

/// The outline of an item's containers; none where the shape on file makes no container, which the files refuse.
fn outline(setup: &Setup, item: &Item, shape: ItemShape) -> Option<Outline> {
    match shape {
        ItemShape::Generic(shape) => Some(Outline::generic(shape, item.size)),
        ItemShape::Own(id) => Outline::of(setup.profiles.iter().find(|p| p.id == id)?, item.size).ok(),
    }
}
