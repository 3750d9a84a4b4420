//! What to carry from where to where before service: places that have a par of their own are filled up from the others.

use crate::domain::measure::Amount;
use crate::domain::usage::Standing;
use crate::domain::venue::{Containers, ItemId, PlaceId, Setup};

/// Containers to bring to a place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Carry {
    /// What.
    pub item: ItemId,
    /// Where to.
    pub to: PlaceId,
    /// The place's own par.
    pub par: Amount,
    /// What should be there.
    pub there: Amount,
    /// From where, and how many.
    pub from: Vec<(PlaceId, i64)>,
    /// Containers that are missing and nowhere to be had.
    pub lacking: i64,
}

impl Carry {
    /// How many are carried.
    pub fn containers(&self) -> i64 {
        self.from.iter().map(|(_, containers)| containers).sum()
    }
}

/// Half a container.
const HALF: i64 = 500;

/// The list, in the order in which places and their shelves are walked. Whole containers only; where less than half of one
/// is missing, none is carried. Stores come last in the walk, so they are taken from first; a place with a par of its own
/// gives only what it has above it.
pub fn carry_up(setup: &Setup, standing: &Standing) -> Vec<Carry> {
    let mut out = Vec::new();
    for shelf in &setup.shelves {
        let (Some(par), Some(item)) = (shelf.par, setup.item(shelf.item)) else { continue };
        let Some(on_hand) = standing.items.get(&shelf.item).filter(|_| item.size > Amount::ZERO) else { continue };
        let in_place = |place: PlaceId| {
            let found = on_hand.places.iter().find(|(of, _)| *of == place);
            found.map_or(Amount::ZERO, |(_, amount)| (*amount).max(Amount::ZERO))
        };
        let there = in_place(shelf.place);
        let thousandths = |amount: Amount| i128::from(amount.0) * 1_000 / i128::from(item.size.0);
        let missing = i128::from(par.0) - thousandths(there);
        let mut wanted = i64::try_from((missing + i128::from(HALF) - 1) / 1_000).unwrap_or(0).max(0);
        if missing <= i128::from(HALF) {
            continue;
        }
        let mut from = Vec::new();
        for other in setup.shelves.iter().rev().filter(|other| other.item == shelf.item && other.place != shelf.place) {
            let own = other.par.unwrap_or(Containers(0));
            let spare = thousandths(in_place(other.place)) - i128::from(own.0);
            let given: i64 = out
                .iter()
                .filter(|carry: &&Carry| carry.item == shelf.item)
                .flat_map(|carry| &carry.from)
                .filter(|(place, _)| *place == other.place)
                .map(|(_, containers)| containers)
                .sum();
            let gives = i64::try_from(spare / 1_000).unwrap_or(0).max(0) - given;
            let taken = gives.min(wanted).max(0);
            if taken > 0 {
                from.push((other.place, taken));
                wanted -= taken;
            }
        }
        out.push(Carry { item: shelf.item, to: shelf.place, par: par.of(item.size), there, from, lacking: wanted });
    }
    out
}

#[cfg(test)]
mod tests;
