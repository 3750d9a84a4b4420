//! Beside every split there is, where there are few; and the rules one by one.

use super::*;
use proptest::prelude::*;

fn way(supplier: usize, goods: i64, cost: i64) -> Way {
    Way { supplier: Some(supplier), goods: Money(goods), cost }
}

fn nothing(cost: i64) -> Way {
    Way { supplier: None, goods: Money::ZERO, cost }
}

fn terms(minimum: Option<i64>, fee: Option<i64>, free_from: Option<i64>) -> Terms {
    Terms { minimum: minimum.map(Money), fee: fee.map(Money), free_from: free_from.map(Money) }
}

/// Cost and number of suppliers with terms of a choice, by the rule as it is written; `None` where an order is too small.
fn reckoned(wants: &[Vec<Way>], terms: &[Terms], ways: &[usize]) -> Option<(i64, usize)> {
    let (mut cost, mut suppliers) = (0, 0);
    for (supplier, terms) in terms.iter().enumerate() {
        let its = wants.iter().zip(ways).map(|(of, way)| of[*way]).filter(|way| way.supplier == Some(supplier));
        let goods: i64 = its.map(|way| way.goods.0).sum();
        if goods == 0 {
            continue;
        }
        if terms.minimum.is_some_and(|minimum| goods < minimum.0) {
            return None;
        }
        if terms.free_from.is_none_or(|from| goods < from.0) {
            cost += 1_000 * terms.fee.map_or(0, |fee| fee.0);
        }
        let free = terms.free_from.is_some_and(|from| from.0 <= 0);
        let asks = terms.minimum.is_some_and(|m| m.0 > 0) || terms.fee.is_some_and(|fee| fee.0 > 0 && !free);
        suppliers += usize::from(asks);
    }
    Some((cost + wants.iter().zip(ways).map(|(of, way)| of[*way].cost).sum::<i64>(), suppliers))
}

/// The least cost, and the fewest suppliers with terms at that cost, of every choice there is.
fn least(wants: &[Vec<Way>], terms: &[Terms], may: impl Fn(usize, usize) -> bool) -> Option<(i64, usize)> {
    let mut best = None;
    let mut ways = vec![0; wants.len()];
    loop {
        if ways.iter().enumerate().all(|(thing, way)| *way < wants[thing].len() && may(thing, *way))
            && let Some(found) = reckoned(wants, terms, &ways)
        {
            best = Some(best.map_or(found, |best: (i64, usize)| best.min(found)));
        }
        let Some(thing) = (0..wants.len()).find(|thing| ways[*thing] + 1 < wants[*thing].len()) else { return best };
        ways[..thing].fill(0);
        ways[thing] += 1;
    }
}

/// A split is what it says, and as good as the best of all.
fn held(wants: &[Vec<Way>], terms: &[Terms], found: &Result<Split, Unmet>, best: Option<(i64, usize)>) {
    match (found, best) {
        (Ok(split), Some((cost, _))) => {
            assert_eq!(reckoned(wants, terms, &split.ways).map(|found| found.0), Some(split.cost));
            assert_eq!((split.cost, split.is_proved()), (cost, true));
            for (supplier, terms) in terms.iter().enumerate() {
                let its = wants.iter().zip(&split.ways).map(|(of, way)| of[*way]);
                let goods: Money = its.filter(|way| way.supplier == Some(supplier)).map(|way| way.goods).sum();
                assert_eq!((split.goods[supplier], split.fees[supplier]), (goods, terms.fee_of(goods)));
            }
        }
        (Err(Unmet::NotFound), _) => panic!("gave up"),
        (Err(_), None) => {}
        other => panic!("{other:?}"),
    }
}

fn any_way(suppliers: usize) -> impl Strategy<Value = Way> {
    // Few values, so that there are ties; nothing may cost less than nothing; some things are given.
    (0..=suppliers, 0_i64..7, -3_i64..9).prop_map(move |(supplier, goods, cost)| {
        if supplier == suppliers { nothing(1_000 * cost) } else { way(supplier, goods, 1_000 * cost) }
    })
}

fn any_order() -> impl Strategy<Value = (Vec<Vec<Way>>, Vec<Terms>)> {
    (1_usize..=3, 1_usize..=6).prop_flat_map(|(suppliers, things)| {
        let ways = prop::collection::vec(any_way(suppliers), 1..=4);
        let amount = |most: i64| prop::option::of(0..=most);
        let terms = (amount(20), amount(4), amount(25)).prop_map(|(minimum, fee, free)| terms(minimum, fee, free));
        (prop::collection::vec(ways, things), prop::collection::vec(terms, suppliers))
    })
}

proptest! {
    #[test]
    fn nothing_is_cheaper_among_all_there_is((wants, terms) in any_order()) {
        let found = cheapest(&wants, &terms);
        let best = least(&wants, &terms, |_, _| true);
        held(&wants, &terms, &found, best);
        if let Ok(split) = found {
            prop_assert_eq!(reckoned(&wants, &terms, &split.ways), best, "fewest suppliers");
            prop_assert_eq!(cheapest(&wants, &terms), Ok(split));
        }
    }

    #[test]
    fn conditions_leave_the_best_of_what_they_allow(
        (wants, terms) in any_order(), thing in 0_usize..6, place in 0_usize..4, supplier in 0_usize..3,
    ) {
        let thing = thing % wants.len();
        let (place, supplier) = (place % wants[thing].len(), supplier % terms.len());
        let Ok(best) = cheapest(&wants, &terms) else { return Ok(()) };
        let fixed = |t: usize, w: usize| t != thing || w == place;
        held(&wants, &terms, &cheapest_of(&wants, &terms, Some(&best), fixed), least(&wants, &terms, fixed));
        let from = |t: usize, w: usize| t != thing || wants[t][w].supplier == Some(supplier);
        held(&wants, &terms, &cheapest_of(&wants, &terms, Some(&best), from), least(&wants, &terms, from));
        let without = |t: usize, w: usize| wants[t][w].supplier != Some(supplier);
        held(&wants, &terms, &cheapest_of(&wants, &terms, Some(&best), without), least(&wants, &terms, without));
    }

    /// With next to no room to search in, what is found may be dear, but what it says of the cheapest holds.
    #[test]
    fn an_early_end_is_owned_up_to((wants, terms) in any_order(), width in 1_usize..4, made in 0_usize..40, nodes in 0_usize..20) {
        let Ok(problem) = problem::Problem::new(&wants, &terms, |_, _| true) else { return Ok(()) };
        let best = least(&wants, &terms, |_, _| true).map(|best| best.0);
        match search::search(&problem, None, None, Limits { widths: [1, 1, width], made, nodes }) {
            Ok((ways, bound)) => {
                let cost = reckoned(&wants, &terms, &ways).map(|found| found.0);
                prop_assert!(cost >= best && Some(bound) <= best, "{bound} {best:?} {cost:?}");
            }
            Err(Unmet::NotFound) => {}
            Err(_) => prop_assert_eq!(best, None),
        }
    }

    /// No single thing could take an earlier way at the same cost.
    #[test]
    fn of_equal_ways_the_earlier((wants, terms) in any_order()) {
        let Ok(split) = cheapest(&wants, &terms) else { return Ok(()) };
        let before = reckoned(&wants, &terms, &split.ways);
        for (thing, now) in split.ways.iter().enumerate() {
            for earlier in 0..*now {
                let mut ways = split.ways.clone();
                ways[thing] = earlier;
                let used = |ways: &[usize]| {
                    let goods = |s: usize| wants.iter().zip(ways).any(|(of, way)| of[*way].supplier == Some(s) && of[*way].goods.0 > 0);
                    (0..terms.len()).filter(|s| goods(*s)).count()
                };
                let after = reckoned(&wants, &terms, &ways);
                let same = after.map(|found| found.0) == before.map(|found| found.0);
                let further = used(&ways) > used(&split.ways) || after.map(|found| found.1) > before.map(|found| found.1);
                prop_assert!(!same || further, "thing {thing} could take way {earlier}");
            }
        }
    }
}

#[test]
fn nothing_wanted_costs_nothing() {
    let split = cheapest(&[], &[terms(Some(5_000), Some(900), None)]).unwrap();
    assert_eq!((split.cost, split.goods, split.fees), (0, vec![Money::ZERO], vec![Money::ZERO]));
}

#[test]
fn a_fee_falls_away_from_the_very_coin() {
    let ways = [way(0, 9_999, 9_999_000), way(0, 10_000, 10_000_000)];
    let asks = [terms(None, Some(700), Some(10_000))];
    // One coin more of goods saves a fee of seven hundred.
    assert_eq!(cheapest(&[ways.to_vec()], &asks).unwrap().ways, [1]);
    let split = cheapest(&[ways[..1].to_vec()], &asks).unwrap();
    assert_eq!((split.cost, split.fees), (10_699_000, vec![Money(700)]));
}

#[test]
fn what_is_less_urgent_fills_an_order_up() {
    // 80.00 are needed, 100.00 is the smallest order; of two things that can wait the one that costs less to keep is taken.
    let wants = [
        vec![way(0, 8_000, 8_000_000)],
        vec![nothing(0), way(0, 2_000, 90_000)],
        vec![nothing(0), way(0, 2_400, 60_000)],
    ];
    let split = cheapest(&wants, &[terms(Some(10_000), None, None)]).unwrap();
    assert_eq!((split.ways, split.cost), (vec![0, 0, 1], 8_060_000));
}

#[test]
fn given_things_make_no_order() {
    // Nothing is paid for it, so there is no order that could be too small, and no fee.
    let split = cheapest(&[vec![way(0, 0, 500)]], &[terms(Some(10_000), Some(900), None)]).unwrap();
    assert_eq!((split.cost, split.fees), (500, vec![Money::ZERO]));
}

#[test]
fn why_there_is_none() {
    let asks = [terms(Some(5_000), None, None), terms(Some(5_000), None, None)];
    let one = vec![way(0, 3_000, 0)];
    assert_eq!(cheapest(&[one.clone(), Vec::new()], &asks), Err(Unmet::NoWay { thing: 1 }));
    let short = Short { supplier: 0, minimum: Money(5_000), most: Money(3_000) };
    let wanted = cheapest(std::slice::from_ref(&one), &asks);
    assert_eq!(wanted, Err(Unmet::OutOfReach { thing: 0, suppliers: vec![short] }));
    // The third thing lets each of the two reach its smallest order, but not both.
    let wants = [one, vec![way(1, 3_000, 0)], vec![way(0, 2_000, 0), way(1, 2_000, 0)]];
    assert_eq!(cheapest(&wants, &asks), Err(Unmet::NotTogether { suppliers: vec![0, 1] }));
    let without = cheapest_of(&wants, &asks, None, |thing, _| thing != 1);
    assert_eq!(without, Err(Unmet::NoWay { thing: 1 }));
}

#[test]
fn what_cannot_be_meant_is_refused() {
    let fine = [Terms::default()];
    for wrong in [way(0, -1, 0), way(1, 1, 0), Way { supplier: None, goods: Money(1), cost: 0 }] {
        let found = cheapest(&[vec![way(0, 1, 0)], vec![nothing(0), wrong]], &fine);
        assert_eq!(found, Err(Unmet::WrongWay { thing: 1, way: 1 }));
    }
    for wrong in [terms(Some(-1), None, None), terms(None, Some(-1), None), terms(None, None, Some(-1))] {
        assert_eq!(cheapest(&[], &[Terms::default(), wrong]), Err(Unmet::WrongTerms { supplier: 1 }));
    }
    let large = [vec![way(0, i64::MAX, 0)], vec![way(0, 1, i64::MIN)], vec![way(0, i64::MAX, i64::MAX)]];
    for ways in large {
        assert_eq!(cheapest(&[ways], &fine), Err(Unmet::TooLarge));
    }
    assert_eq!(cheapest(&[], &[terms(None, Some(i64::MAX), None)]), Err(Unmet::TooLarge));
}

#[test]
fn large_amounts_are_as_exact_as_small_ones() {
    // A coin of goods and a thousandth of cost decide, at amounts that no float of 64 bits holds apart.
    let huge = 1_i64 << 58;
    let wants = [vec![way(0, huge / 4, huge), way(0, huge / 4 + 1, huge + 1), nothing(huge + 2)], vec![way(0, 1, 1)]];
    let asks = [terms(Some(huge / 4 + 2), None, None)];
    let split = cheapest(&wants, &asks).unwrap();
    assert_eq!((split.ways, split.cost), (vec![1, 0], huge + 2));
}

/// Hard by design: every pack is worth the same a coin, so that the smallest order is a sum to be met as closely as can be.
/// What is not proved says so, and the bound that it gives holds.
#[test]
fn sums_that_are_hard_to_meet_are_met_or_owned_up_to() {
    for things in [8_i64, 16, 24] {
        let goods = |n: i64| 100_003 + 7_919 * n * n % 60_000;
        let wants: Vec<Vec<Way>> = (0..things)
            .map(|n| vec![nothing(0), way(0, goods(n), 40 * goods(n)), way(1, goods(n) + n, 40 * goods(n) + n)])
            .collect();
        let all: i64 = (0..things).map(goods).sum();
        let asks = [terms(Some(all / 3), Some(90_000), None), terms(Some(all / 3), Some(90_000), None)];
        let anyhow = cheapest(&wants, &asks).unwrap();
        assert_eq!((anyhow.cost, anyhow.is_proved()), (0, true));
        // The last thing must be had.
        let mut wants = wants;
        wants[0].remove(0);
        let split = cheapest(&wants, &asks).unwrap();
        assert!(split.least <= split.cost && split.least >= 39 * (all / 3) + 90_000_000, "{split:?}");
        assert_eq!(reckoned(&wants, &asks, &split.ways).map(|found| found.0), Some(split.cost));
        // With no room the proof is missing, and not claimed.
        let problem = problem::Problem::new(&wants, &asks, |_, _| true).unwrap();
        let limits = Limits { widths: [1, 1, 1], ..Limits::USUAL };
        let (ways, bound) = search::search(&problem, None, None, limits).unwrap();
        let cost = reckoned(&wants, &asks, &ways).unwrap().0;
        assert!(bound < cost && bound <= split.cost && split.cost <= cost, "{bound} {cost} {}", split.cost);
        if things == 8 {
            assert_eq!(Some(split.cost), least(&wants, &asks, |_, _| true).map(|found| found.0));
            assert!(split.is_proved());
        }
    }
}
