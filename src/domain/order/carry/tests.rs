//! Who gives what to whom.

use super::*;
use crate::domain::gauge::Level;
use crate::domain::order::sample::{item, litres, parts};
use crate::domain::usage::{Anchor, OnHand};
use crate::domain::venue::{Parts, Shelf};

const RAIL: PlaceId = PlaceId(1);
const BACK_BAR: PlaceId = PlaceId(2);
const CELLAR: PlaceId = PlaceId(3);

/// Where to, how many from where, and how many are nowhere to be had.
type Carried = (PlaceId, Vec<(PlaceId, i64)>, i64);

/// The list for one item, by the par and the level of each of its places, in tenths of a container.
fn carried(places: &[(PlaceId, Option<i64>, i64)]) -> Vec<Carried> {
    let shelves = places.iter().map(|(place, par, _)| Shelf {
        place: *place,
        item: ItemId(1),
        position: 1,
        par: par.map(|tenths| Containers(100 * tenths)),
    });
    let setup = Setup::new(Parts { items: vec![item(1, "Gin")], shelves: shelves.collect(), ..parts() });
    let on_hand = OnHand {
        item: ItemId(1),
        anchor: Anchor { at: Default::default(), count: Default::default(), seen: Vec::new() },
        level: Level::default(),
        seen: Default::default(),
        came: Amount::ZERO,
        sold: Amount::ZERO,
        places: places.iter().map(|(place, _, tenths)| (*place, litres(*tenths as f64 / 10.0))).collect(),
    };
    let standing = Standing { items: [(ItemId(1), on_hand)].into(), ..Standing::default() };
    carry_up(&setup, &standing).into_iter().map(|carry| (carry.to, carry.from, carry.lacking)).collect()
}

#[test]
fn places_are_filled_up_from_the_last_one_first() {
    let none = Vec::new;
    for (what, places, list) in [
        ("full", &[(RAIL, Some(20), 20), (CELLAR, None, 60)][..], vec![]),
        ("half of one is missing", &[(RAIL, Some(20), 15), (CELLAR, None, 60)], vec![]),
        ("more than half of one", &[(RAIL, Some(20), 14), (CELLAR, None, 60)], vec![(RAIL, vec![(CELLAR, 1)], 0)]),
        ("two and a half", &[(RAIL, Some(40), 15), (CELLAR, None, 60)], vec![(RAIL, vec![(CELLAR, 2)], 0)]),
        ("two and more than a half", &[(RAIL, Some(40), 14), (CELLAR, None, 60)], vec![(RAIL, vec![(CELLAR, 3)], 0)]),
        ("not enough", &[(RAIL, Some(50), 0), (CELLAR, None, 29)], vec![(RAIL, vec![(CELLAR, 2)], 3)]),
        ("nothing anywhere", &[(RAIL, Some(20), 0), (CELLAR, None, 9)], vec![(RAIL, none(), 2)]),
        (
            "below nothing counts as none",
            &[(RAIL, Some(20), -7), (CELLAR, None, 60)],
            vec![(RAIL, vec![(CELLAR, 2)], 0)],
        ),
        ("no place has a par", &[(RAIL, None, 0), (CELLAR, None, 60)], vec![]),
        (
            "the cellar first, then the back bar",
            &[(RAIL, Some(50), 0), (BACK_BAR, None, 20), (CELLAR, None, 40)],
            vec![(RAIL, vec![(CELLAR, 4), (BACK_BAR, 1)], 0)],
        ),
        (
            "who has a par gives only what is above it",
            &[(RAIL, Some(50), 0), (BACK_BAR, Some(20), 35), (CELLAR, None, 10)],
            vec![(RAIL, vec![(CELLAR, 1), (BACK_BAR, 1)], 3)],
        ),
        (
            "what one place takes, the next does not have",
            &[(RAIL, Some(20), 0), (BACK_BAR, Some(20), 0), (CELLAR, None, 30)],
            vec![(RAIL, vec![(CELLAR, 2)], 0), (BACK_BAR, vec![(CELLAR, 1)], 1)],
        ),
    ] {
        assert_eq!(carried(places), list, "{what}");
    }
}

#[test]
fn what_was_never_counted_is_not_carried() {
    let shelf = Shelf { place: RAIL, item: ItemId(1), position: 1, par: Some(Containers(2_000)) };
    let setup = Setup::new(Parts { items: vec![item(1, "Gin")], shelves: vec![shelf], ..parts() });
    assert_eq!(carry_up(&setup, &Standing::default()), []);
}
