//! What an order is filled up by, and whose offers there are.

use super::sample::{ANSEL, BROOK, by_hand, day, item, offer, parts};
use super::*;
use crate::domain::measure::Money;
use crate::domain::venue::Parts;

/// The first supplier with a smallest order, a fee, and a sum from which there is none, in whole coins.
fn bar(minimum: Option<i64>, fee: Option<i64>, free_from: Option<i64>) -> Setup {
    let mut parts = Parts {
        items: vec![item(1, "Gin"), item(2, "Rum")],
        offers: vec![
            offer(ANSEL, 1, 6, 108),
            offer(ANSEL, 1, 1, 20),
            offer(ANSEL, 1, 12, 192),
            offer(BROOK, 1, 1, 15),
            Offer { from: Some(day("2026-12-01")), ..offer(ANSEL, 1, 24, 24) },
        ],
        ..parts()
    };
    let coins = |coins: Option<i64>| coins.map(|coins| Money(100 * coins));
    let supplier = &mut parts.suppliers[0];
    (supplier.minimum, supplier.fee, supplier.free_from) = (coins(minimum), coins(fee), coins(free_from));
    Setup::new(parts)
}

/// Lines of (item, packs, containers in each) at 20 a container; of each item so much is short, in litres.
fn draft(setup: &Setup, lines: &[(i64, i64, i64)], short: &[(i64, f64)]) -> Draft {
    let line = |(id, packs, pack): &(i64, i64, i64)| {
        let lacks = short.iter().find(|(of, _)| of == id).map_or(0.0, |(_, lacks)| *lacks);
        DraftLine {
            mixed: None,
            item: ItemId(*id),
            need: by_hand(setup, *id, lacks, 0.0).need(),
            why: None,
            suggested: *packs,
            packs: *packs,
            pack: *pack,
            price: Money(2_000 * pack),
            code: None,
            shelf_limits: false,
        }
    };
    Draft { supplier: ANSEL, lines: lines.iter().map(line).collect(), deadline: None }
}

#[test]
fn what_an_order_is_filled_up_by_and_to_what_end() {
    use FilledUp::{Free, Minimum};
    for (what, (minimum, fee, free), lines, short, want) in [
        ("no terms", (None, None, None), &[(1, 9, 1)][..], &[(1, 2.0)][..], None),
        ("just what is short", (Some(100), None, None), &[(1, 5, 1)], &[(1, 5.0)], None),
        ("reached with what is short", (Some(100), None, None), &[(1, 7, 1)], &[(1, 5.0)], None),
        ("more of the same", (Some(100), None, None), &[(1, 5, 1)], &[(1, 2.0)], Some((60, Minimum))),
        ("something else", (Some(100), None, None), &[(1, 4, 1), (2, 1, 1)], &[(1, 4.0)], Some((20, Minimum))),
        ("not reached all the same", (Some(100), None, None), &[(1, 4, 1)], &[(1, 2.0)], None),
        ("to go without the fee", (None, Some(9), Some(100)), &[(1, 5, 1)], &[(1, 4.0)], Some((20, Free))),
        ("there is no fee", (None, None, Some(100)), &[(1, 5, 1)], &[(1, 4.0)], None),
        ("whole packs are no filling", (Some(100), None, None), &[(1, 1, 6)], &[(1, 1.5)], None),
        // Seven are short: six and one are wanted, not six and seven.
        ("two packs of one item", (Some(150), None, None), &[(1, 1, 6), (1, 2, 1)], &[(1, 7.0)], Some((20, Minimum))),
        ("two packs, none too many", (Some(150), None, None), &[(1, 1, 6), (1, 2, 1)], &[(1, 8.0)], None),
    ] {
        let setup = bar(minimum, fee, free);
        let got = draft(&setup, lines, short).filled_up(&setup);
        assert_eq!(got, want.map(|(coins, end)| (Money(100 * coins), end)), "{what}");
    }
}

#[test]
fn the_offers_of_a_supplier_by_what_one_container_costs() {
    let setup = bar(None, None, None);
    let packs = |supplier| -> Vec<i64> {
        offers_of(&setup, supplier, ItemId(1), day("2026-11-23")).iter().map(|offer| offer.pack).collect()
    };
    assert_eq!((packs(ANSEL), packs(BROOK)), (vec![12, 6, 1], vec![1]));
    assert_eq!(offer_of(&setup, ANSEL, ItemId(1), day("2026-12-01")).map(|offer| offer.pack), Some(24));
    assert_eq!(offer_of(&setup, ANSEL, ItemId(2), day("2026-11-23")), None);
}
