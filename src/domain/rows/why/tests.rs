//! The sentences.

use super::*;
use crate::domain::order::Why;
use crate::domain::order::sample::{ANSEL, BROOK, by_hand, item, offer, parts};
use crate::domain::venue::{ParFrom, Parts};

fn setup() -> Setup {
    Setup::new(Parts { items: vec![item(1, "Gin")], offers: vec![offer(ANSEL, 1, 1, 20)], ..parts() })
}

fn line(packs: i64, pack: i64) -> DraftLine {
    DraftLine {
        mixed: None,
        item: ItemId(1),
        need: by_hand(&setup(), 1, 4.0, 1.0).need(),
        why: None,
        suggested: packs,
        packs,
        pack,
        price: Money(2_000 * pack),
        code: None,
        shelf_limits: false,
    }
}

fn view() -> WhyView {
    WhyView {
        item: ItemId(1),
        because: Vec::new(),
        lines: Vec::new(),
        waiting: None,
        elsewhere: Vec::new(),
        at_most_cheaper: Money::ZERO,
    }
}

#[test]
fn what_is_ordered() {
    let why = Why {
        from: ParFrom::Demand,
        fills_up: false,
        risk_without: Some(0.31),
        risk_with: Some(0.002),
        risk_before: Some(0.05),
    };
    let calm = Why { risk_before: Some(0.001), ..why };
    let filling = Why { fills_up: true, risk_without: None, risk_with: None, risk_before: None, ..why };
    let risks =
        "without it, it runs dry with a chance of 31 % before the order after the next has come, with it under 1 %";
    for (line, want) in [
        (line(2, 6), "Ansel: 2 packs of 6 at 120.00 EUR".to_owned()),
        (
            DraftLine { why: Some(why), ..line(1, 1) },
            format!("Ansel: 1 container at 20.00 EUR; {risks}; before this order comes, with 5 %"),
        ),
        (
            DraftLine { why: Some(calm), suggested: 3, shelf_limits: true, ..line(1, 1) },
            format!("Ansel: 1 container at 20.00 EUR (3 suggested); {risks}; the shelf holds no more"),
        ),
        (
            DraftLine { why: Some(filling), ..line(1, 6) },
            "Ansel: 1 pack of 6 at 120.00 EUR; nobody knows how likely it is to run dry; it is not short, and fills the \
             order up"
                .to_owned(),
        ),
    ] {
        let view = WhyView { lines: vec![(ANSEL, line, false)], ..view() };
        assert_eq!(view.ordered_words(&setup()), [want]);
    }
    let written = WhyView { lines: vec![(ANSEL, line(1, 1), true)], ..view() };
    assert!(written.ordered_words(&setup())[1].contains("stays as written"));
    assert_eq!(view().ordered_words(&setup()), ["Nothing of it is in the orders"]);
}

#[test]
fn why_nothing_is() {
    let need = by_hand(&setup(), 1, 4.0, 1.0).need().unwrap();
    for (why, risk, want) in [
        (
            Waits::Cheaper,
            Some(0.09),
            "Short, but cheaper to wait for the next order: it runs dry with a chance of 9 % before the order after the \
             next has come, and to order it now costs more, fee and all, than that is likely to cost",
        ),
        (
            Waits::Budget,
            Some(0.999),
            "Left out for the budget: it runs dry with a chance of over 99 % before the order after the next has come",
        ),
        (Waits::NoRoom, None, "Short, but its shelf has no room for a pack: nobody knows how likely it is to run dry"),
        (
            Waits::TooSmall,
            None,
            "Short, but its supplier's smallest order is not reached: nobody knows how likely it is to run dry",
        ),
    ] {
        let view = WhyView { waiting: Some(Waiting { need, why, risk }), ..view() };
        assert_eq!(view.ordered_words(&setup()), [want]);
    }
}

#[test]
fn what_it_would_cost_from_others() {
    let other = |dearer, proved| Elsewhere {
        supplier: BROOK,
        packs: vec![(1, 6, Money(12_000)), (2, 1, Money(2_100))],
        dearer: Money(dearer),
        more_paid: Money(16_200),
        proved,
    };
    let packs = "1 pack of 6 at 120.00 EUR and 2 containers at 21.00 EUR";
    for (other, lines, want) in [
        (other(320, true), 1, format!("From Brook instead: {packs}; 3.20 EUR dearer in all")),
        (other(320, false), 1, format!("From Brook instead: {packs}; at most 3.20 EUR dearer in all")),
        (other(0, true), 1, format!("From Brook instead: {packs}; as dear in all")),
        (other(-15, false), 1, format!("From Brook instead: {packs}; at least 0.15 EUR cheaper in all")),
        (other(-1_000_000, true), 0, format!("From Brook: {packs}; 162.00 EUR more to pay in all")),
    ] {
        let lines = (0..lines).map(|_| (ANSEL, line(1, 1), false)).collect();
        let view = WhyView { lines, elsewhere: vec![other], ..view() };
        assert_eq!(view.elsewhere_words(&setup())[0], want);
    }
    let alone = WhyView { lines: vec![(ANSEL, line(1, 1), false)], ..view() };
    assert_eq!(alone.elsewhere_words(&setup()), ["Nobody else offers it"]);
    let unsure = WhyView { at_most_cheaper: Money(40), ..view() };
    assert_eq!(
        unsure.elsewhere_words(&setup()),
        ["It is not proved that nothing is cheaper: something could be, by 0.40 EUR at most."]
    );
}
