//! What is planned from whom, what waits, what a budget leaves out: small bars that can be reckoned by hand.

use super::*;
use crate::domain::ledger::OrderLine;
use crate::domain::measure::Amount;
use crate::domain::order::sample::{ANSEL, BROOK, CORVO, NOW, at, by_demand, by_hand, item, offer, parts};
use crate::domain::venue::{Containers, Item, OrderId, OrderState, Parts};

/// A bar with some items and offers; `terms` are smallest order, fee, and free from, of a supplier, in whole coins.
fn bar(items: Vec<Item>, offers: Vec<Offer>, terms: &[(SupplierId, [Option<i64>; 3])]) -> Setup {
    let mut parts = Parts { items, offers, ..parts() };
    for (id, of) in terms {
        let [minimum, fee, free_from] = of.map(|coins| coins.map(|coins| Money(100 * coins)));
        for supplier in parts.suppliers.iter_mut().filter(|supplier| supplier.id == *id) {
            (supplier.minimum, supplier.fee, supplier.free_from) = (minimum, fee, free_from);
        }
    }
    Setup::new(parts)
}

fn gin_and_rum() -> Vec<Item> {
    vec![item(1, "Gin"), item(2, "Rum")]
}

/// The lines that are suggested, by supplier: item, packs, containers in each.
fn lines(suggestion: &Suggestion) -> Vec<(SupplierId, i64, i64, i64)> {
    let of = |draft: &Draft| {
        let supplier = draft.supplier;
        draft.lines.iter().map(move |l| (supplier, l.item.0, l.packs, l.pack)).collect::<Vec<_>>()
    };
    let mut out: Vec<_> = suggestion.drafts.iter().flat_map(of).collect();
    out.sort_by_key(|(supplier, item, _, pack)| (*supplier, *item, -pack));
    out
}

fn waits(suggestion: &Suggestion) -> Vec<(i64, Waits)> {
    suggestion.waiting.iter().map(|waiting| (waiting.need.item.0, waiting.why)).collect()
}

fn suggested(setup: &Setup, pars: &[ItemPar], kept: &[Order]) -> Suggestion {
    let planning = Planning::new(setup, pars, kept, at(NOW));
    planning.suggestion(&planning.solve().unwrap())
}

/// A draft that somebody wrote, of packs at a price in whole coins.
fn kept(supplier: SupplierId, lines: &[(i64, i64, i64, i64)]) -> Order {
    let line = |(n, (item, packs, pack, price)): (usize, &(i64, i64, i64, i64))| OrderLine {
        line: n as i64 + 1,
        item: ItemId(*item),
        packs: *packs,
        pack: *pack,
        price: Money(100 * price),
    };
    Order {
        id: OrderId(1),
        name: "kept".to_owned(),
        supplier,
        state: OrderState::Draft,
        placed: None,
        expected: None,
        lines: lines.iter().enumerate().map(line).collect(),
    }
}

#[test]
fn the_cheapest_whole_is_taken() {
    // Ansel is cheaper by the bottle and takes nine for the delivery.
    let offers =
        || vec![offer(ANSEL, 1, 1, 20), offer(BROOK, 1, 1, 22), offer(ANSEL, 2, 1, 20), offer(BROOK, 2, 1, 22)];
    let setup = bar(gin_and_rum(), offers(), &[(ANSEL, [None, Some(9), None])]);
    let short = |gin: f64, rum: f64| [by_hand(&setup, 1, 10.0, 10.0 - gin), by_hand(&setup, 2, 10.0, 10.0 - rum)];
    for (gin, rum, want) in [
        (3.0, 0.0, vec![(BROOK, 1, 3, 1)]),
        (5.0, 0.0, vec![(ANSEL, 1, 5, 1)]),
        // Each by itself would go to Brook; together they pay the fee.
        (3.0, 2.0, vec![(ANSEL, 1, 3, 1), (ANSEL, 2, 2, 1)]),
        (0.0, 0.0, vec![]),
        (0.2, 0.0, vec![(BROOK, 1, 1, 1)]),
    ] {
        assert_eq!(lines(&suggested(&setup, &short(gin, rum), &[])), want, "{gin} {rum}");
    }
}

#[test]
fn an_order_is_filled_up_to_its_smallest() {
    let offers = vec![offer(ANSEL, 1, 1, 20), offer(ANSEL, 2, 1, 20)];
    let setup = bar(gin_and_rum(), offers, &[(ANSEL, [Some(100), None, None])]);
    let pars = [by_hand(&setup, 1, 10.0, 7.0), by_hand(&setup, 2, 10.0, 10.0)];
    let suggestion = suggested(&setup, &pars, &[]);
    // One more of each lies less long than two more of one.
    assert_eq!(lines(&suggestion), [(ANSEL, 1, 4, 1), (ANSEL, 2, 1, 1)]);
    let fills = |line: &DraftLine| line.why.unwrap().fills_up;
    assert_eq!(suggestion.drafts[0].lines.iter().map(fills).collect::<Vec<_>>(), [false, true]);
    let filled = suggestion.drafts[0].filled_up(&setup);
    assert_eq!(filled, Some((Money(4_000), crate::domain::order::FilledUp::Minimum)));

    // What cannot be reached holds nothing back, and is told by the draft's sums.
    let setup = bar(gin_and_rum(), vec![offer(ANSEL, 1, 1, 20)], &[(ANSEL, [Some(10_000), None, None])]);
    let suggestion = suggested(&setup, &[by_hand(&setup, 1, 10.0, 7.0)], &[]);
    assert_eq!(lines(&suggestion), [(ANSEL, 1, 3, 1)]);
    assert_eq!(suggestion.drafts[0].totals(&setup).to_minimum, Money(994_000));
}

#[test]
fn what_can_wait_waits_when_that_is_cheaper() {
    // Three litres are asked, scattering by 0.6: with 3.8 there, one time in eleven is too little.
    for (fee, there, ordered, why) in [
        (Some(50), 3.8, false, Some(Waits::Cheaper)),
        (None, 3.8, true, None),
        (Some(50), 2.0, true, None),
        (Some(50), 4.0, false, None),
    ] {
        let setup = bar(gin_and_rum(), vec![offer(ANSEL, 1, 1, 20)], &[(ANSEL, [None, fee, None])]);
        let suggestion = suggested(&setup, &[by_demand(&setup, 1, 4.0, there, 3.0, &[])], &[]);
        assert_eq!(!lines(&suggestion).is_empty(), ordered, "{fee:?} {there}");
        assert_eq!(suggestion.waiting.first().map(|waiting| waiting.why), why, "{fee:?} {there}");
        if let Some(waiting) = suggestion.waiting.first() {
            assert!((waiting.risk.unwrap() - 0.0912).abs() < 1e-3, "{:?}", waiting.risk);
        }
    }
    // A par by hand is meant: it does not wait.
    let setup = bar(gin_and_rum(), vec![offer(ANSEL, 1, 1, 20)], &[(ANSEL, [None, Some(50), None])]);
    let suggestion = suggested(&setup, &[by_hand(&setup, 1, 4.0, 3.8)], &[]);
    assert_eq!((lines(&suggestion), waits(&suggestion)), (vec![(ANSEL, 1, 1, 1)], vec![]));
}

#[test]
fn what_cannot_be_ordered_says_why() {
    let roomy = |id, most: i64| Item { shelf_max: Some(Containers(1_000 * most)), ..item(id, &format!("Item {id}")) };
    let setup = bar(vec![roomy(1, 6)], vec![offer(ANSEL, 1, 12, 100)], &[]);
    let suggestion = suggested(&setup, &[by_hand(&setup, 1, 6.0, 1.0)], &[]);
    assert_eq!((lines(&suggestion), waits(&suggestion)), (vec![], vec![(1, Waits::NoRoom)]));

    // Each smallest order can be reached, but only one of them: of everything there is room for one.
    let offers = vec![offer(ANSEL, 1, 1, 60), offer(BROOK, 2, 1, 60), offer(ANSEL, 3, 1, 50), offer(BROOK, 3, 1, 50)];
    let setup = bar(
        vec![roomy(1, 1), roomy(2, 1), roomy(3, 1)],
        offers,
        &[(ANSEL, [Some(100), None, None]), (BROOK, [Some(100), None, None])],
    );
    let pars = [1, 2, 3].map(|id| by_hand(&setup, id, 1.0, 0.0));
    let suggestion = suggested(&setup, &pars, &[]);
    let [(left, why)] = waits(&suggestion)[..] else { panic!("{:?}", suggestion.waiting) };
    assert!(why == Waits::TooSmall && (left == 1 || left == 2), "{left} {why:?}");
    assert_eq!(lines(&suggestion).len(), 2);
}

#[test]
fn one_item_comes_in_packs_of_two_sizes() {
    let gin = Item { shelf_max: Some(Containers(8_000)), ..item(1, "Gin") };
    let setup = bar(vec![gin], vec![offer(ANSEL, 1, 1, 20), offer(ANSEL, 1, 6, 114)], &[]);
    let suggestion = suggested(&setup, &[by_hand(&setup, 1, 7.0, 0.0)], &[]);
    assert_eq!(lines(&suggestion), [(ANSEL, 1, 1, 6), (ANSEL, 1, 1, 1)]);
    let draft = &suggestion.drafts[0];
    let told: Vec<_> = draft.lines.iter().map(|l| (l.key(), l.code.clone().unwrap())).collect();
    assert_eq!(told, [((ItemId(1), 6), "1-1-6".to_owned()), ((ItemId(1), 1), "1-1-1".to_owned())]);
    assert_eq!(draft.totals(&setup).goods, Money(13_400));
}

#[test]
fn what_somebody_wrote_stays() {
    let offers = vec![offer(ANSEL, 1, 1, 20), offer(BROOK, 1, 1, 30), offer(ANSEL, 2, 1, 20), offer(BROOK, 2, 1, 30)];
    let setup = bar(gin_and_rum(), offers, &[(ANSEL, [Some(200), None, None])]);
    let pars = [by_hand(&setup, 1, 5.0, 0.0), by_hand(&setup, 2, 5.0, 0.0)];
    // Without it, all comes from Ansel.
    assert_eq!(lines(&suggested(&setup, &pars, &[])), [(ANSEL, 1, 5, 1), (ANSEL, 2, 5, 1)]);
    // Dear, and more than is short: gin is as written, and not planned a second time.
    let dear = kept(BROOK, &[(1, 9, 1, 30)]);
    let suggestion = suggested(&setup, &pars, std::slice::from_ref(&dear));
    assert_eq!(lines(&suggestion), [(ANSEL, 2, 10, 1)], "rum alone must reach Ansel's smallest order");
    // Written with no packs it is wanted from nobody.
    let none = kept(ANSEL, &[(1, 0, 1, 20)]);
    let suggestion = suggested(&setup, &pars, &[none]);
    assert_eq!((lines(&suggestion), waits(&suggestion)), (vec![(ANSEL, 2, 10, 1)], vec![]));
    // A draft is somebody's own: its supplier's smallest order binds no more.
    let small = kept(ANSEL, &[(1, 1, 1, 20)]);
    assert_eq!(lines(&suggested(&setup, &pars, &[small])), [(ANSEL, 2, 5, 1)]);
    let planning = Planning::new(&setup, &pars, std::slice::from_ref(&dear), at(NOW));
    let planned = planning.solve().unwrap();
    assert_eq!(planned.paid(), Money(27_000 + 20_000));
    assert_eq!(planning.elsewhere(&planned, ItemId(1)).unwrap(), [], "what is written is not weighed");
}

#[test]
fn a_budget_leaves_out_what_runs_the_least_risk() {
    let items = || vec![item(1, "Gin"), item(2, "Rum"), item(3, "Rye")];
    let offers = || (1..=3).map(|id| offer(ANSEL, id, 1, 20)).collect();
    let setup = bar(items(), offers(), &[]);
    // Of three litres asked: dry nearly surely, every second time, one time in five.
    let pars = [(1, 2.5), (2, 3.0), (3, 3.5)].map(|(id, there)| by_demand(&setup, id, 4.0, there, 3.0, &[]));
    let planned = |budget: i64, kept: &[Order]| {
        let planning = Planning::new(&setup, &pars, kept, at(NOW));
        let planned = planning.within(Money(100 * budget)).unwrap();
        (planned.paid(), planning.suggestion(&planned))
    };
    for (budget, paid, left) in [
        (1_000, 80, &[][..]),
        (80, 80, &[]),
        (79, 60, &[3]),
        (60, 60, &[3]),
        (59, 40, &[2, 3]),
        (40, 40, &[2, 3]),
        // The gin is two bottles: one of rum comes back for what they leave.
        (39, 20, &[1, 3]),
        (20, 20, &[1, 3]),
        (19, 0, &[1, 2, 3]),
        (0, 0, &[1, 2, 3]),
    ] {
        let (got, suggestion) = planned(budget, &[]);
        assert_eq!(got, Money(100 * paid), "{budget}");
        let want: Vec<(i64, Waits)> = left.iter().map(|id| (*id, Waits::Budget)).collect();
        assert_eq!(waits(&suggestion), want, "{budget}");
    }
    // What somebody wrote stays, even where it alone is too much.
    let dear = kept(ANSEL, &[(3, 9, 1, 20)]);
    let (paid, suggestion) = planned(100, std::slice::from_ref(&dear));
    assert_eq!((paid, lines(&suggestion)), (Money(18_000), vec![]));
    assert_eq!(waits(&suggestion), [(1, Waits::Budget), (2, Waits::Budget)]);
}

#[test]
fn a_budget_does_not_take_what_was_not_wanted() {
    // The gin waits with or without a budget, and says so.
    let setup =
        bar(gin_and_rum(), vec![offer(ANSEL, 1, 1, 20), offer(BROOK, 2, 1, 20)], &[(ANSEL, [None, Some(50), None])]);
    let pars = [by_demand(&setup, 1, 4.0, 3.8, 3.0, &[]), by_demand(&setup, 2, 4.0, 3.0, 3.0, &[])];
    let planning = Planning::new(&setup, &pars, &[], at(NOW));
    let planned = planning.within(Money(0)).unwrap();
    assert_eq!(waits(&planning.suggestion(&planned)), [(1, Waits::Cheaper), (2, Waits::Budget)]);
}

#[test]
fn what_it_would_cost_from_others() {
    let offers = vec![offer(ANSEL, 1, 1, 20), offer(BROOK, 1, 1, 25), offer(CORVO, 1, 6, 150), offer(ANSEL, 2, 1, 20)];
    let setup = bar(gin_and_rum(), offers, &[(BROOK, [None, Some(7), None])]);
    let pars = [by_hand(&setup, 1, 6.0, 0.0), by_hand(&setup, 2, 6.0, 5.0)];
    let planning = Planning::new(&setup, &pars, &[], at(NOW));
    let planned = planning.solve().unwrap();
    let told = |planned: &Planned, id| {
        let all = planning.elsewhere(planned, ItemId(id)).unwrap().into_iter();
        all.map(|e| (e.supplier, e.packs, e.dearer.0 / 100, e.more_paid.0 / 100)).collect::<Vec<_>>()
    };
    assert_eq!(
        told(&planned, 1),
        [(CORVO, vec![(1, 6, Money(15_000))], 30, 30), (BROOK, vec![(6, 1, Money(2_500))], 37, 37),]
    );
    assert_eq!(told(&planned, 2), [], "nobody else has it");
    assert_eq!(told(&planned, 9), [], "nor of what nobody has");
    assert_eq!(planned.at_most_cheaper(), Money::ZERO, "so small a question is always answered to the end");

    // With a budget of nothing, what is left out stays so but for the one that is asked about.
    let nothing = planning.within(Money(0)).unwrap();
    let paid: Vec<(SupplierId, i64)> = told(&nothing, 1).into_iter().map(|(from, _, _, more)| (from, more)).collect();
    assert_eq!(paid.len(), 3);
    for (from, more) in [(ANSEL, 120), (BROOK, 157), (CORVO, 150)] {
        assert!(paid.contains(&(from, more)), "{from:?} {paid:?}");
    }
}

#[test]
fn why_a_line_is_ordered() {
    let setup = bar(gin_and_rum(), vec![offer(ANSEL, 1, 1, 20)], &[]);
    // Asked until the order after the next: three litres, scattering by 0.6. It comes on the third day.
    let par = by_demand(&setup, 1, 4.0, 3.0, 3.0, &[0.9, 0.8, 0.5]);
    let told = why(&setup, &par, ANSEL, 1);
    assert_eq!((told.from, told.fills_up), (ParFrom::Demand, false));
    assert!((told.risk_without.unwrap() - 0.5).abs() < 1e-9);
    assert!((told.risk_with.unwrap() - 0.0478).abs() < 1e-3, "{:?}", told.risk_with);
    assert!((told.risk_before.unwrap() - 0.2).abs() < 1e-9);
    let unknown = why(&setup, &by_hand(&setup, 1, 4.0, 4.0), ANSEL, 1);
    assert_eq!((unknown.fills_up, unknown.risk_without, unknown.risk_with), (true, None, None));
}

/// Somebody comes every day and asks twice as much, and nothing is wanted of him yet: what the cheap one's next van but one
/// would have to bring is ordered of the cheap one all the same.
#[test]
fn who_comes_often_and_is_dear_does_not_keep_an_order_from_who_is_cheap() {
    let order = |dear: i64| {
        let setup = bar(vec![item(1, "Gin")], vec![offer(ANSEL, 1, 1, 10), offer(BROOK, 1, 1, dear)], &[]);
        let mut par = by_demand(&setup, 1, 10.7, 4.0, 9.0, &[]);
        for (supplier, computed) in &mut par.computed {
            if *supplier == Some(BROOK) {
                computed.level = Amount(2_800_000);
            }
        }
        let pars = [par];
        let planning = Planning::new(&setup, &pars, &[], at(NOW));
        let suggestion = planning.suggestion(&planning.solve().unwrap());
        lines(&suggestion)
    };
    assert_eq!(order(20), [(ANSEL, 1, 7, 1)]);
    // At the same price he may bring it later: nothing need lie still for that.
    assert_eq!(order(10), []);
}

#[test]
fn a_great_deal_is_ordered_too() {
    let setup = bar(vec![item(1, "Soda")], vec![offer(ANSEL, 1, 24, 15)], &[]);
    for (par, packs) in [(604.0, 25), (605.0, 26), (9_604.0, 400)] {
        let pars = [by_hand(&setup, 1, par, 4.0)];
        let planning = Planning::new(&setup, &pars, &[], at(NOW));
        let suggestion = planning.suggestion(&planning.solve().unwrap());
        assert_eq!(lines(&suggestion), [(ANSEL, 1, packs, 24)], "{par}");
    }
    let setup = bar(vec![item(1, "Straws")], vec![offer(ANSEL, 1, 1_000, 9)], &[]);
    let pars = [by_hand(&setup, 1, 5.0, 0.0)];
    let planning = Planning::new(&setup, &pars, &[], at(NOW));
    assert_eq!(lines(&planning.suggestion(&planning.solve().unwrap())), [(ANSEL, 1, 1, 1_000)]);
}

/// One bottle of gin is short, and rum is not: a delivery costs 5, and nothing from 60 on.
#[test]
fn a_budget_takes_what_fills_an_order_up_first() {
    let setup = || {
        let mut parts = Parts {
            items: vec![item(1, "Gin"), item(2, "Rum")],
            offers: vec![offer(ANSEL, 1, 1, 20), offer(ANSEL, 2, 1, 20)],
            ..parts()
        };
        parts.suppliers[0].fee = Some(Money(500));
        parts.suppliers[0].free_from = Some(Money(6_000));
        Setup::new(parts)
    };
    let setup = setup();
    let pars = [by_hand(&setup, 1, 4.0, 3.0), by_hand(&setup, 2, 4.0, 4.0)];
    let planning = Planning::new(&setup, &pars, &[], at(NOW));
    let planned = |budget: i64| {
        let planned = planning.within(Money(100 * budget)).unwrap();
        (planned.paid(), lines(&planning.suggestion(&planned)))
    };
    // Forty early cost two, and save five.
    assert_eq!(planned(60).0, Money(6_000));
    // With less than that, what is needed is had and its delivery is paid.
    assert_eq!(planned(59), (Money(2_500), vec![(ANSEL, 1, 1, 1)]));
    assert_eq!(planned(24), (Money(0), vec![]));
}
