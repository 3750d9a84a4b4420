//! Orders split over suppliers against an independent solver: 400 made-up orders with the least cost that
//! `scipy.optimize.milp` (HiGHS) of scipy 1.17.1 found for each; `reference_orders/README.md` says how they are made.

#![allow(clippy::unwrap_used)]

use std::collections::BTreeMap;
use tantalus::domain::measure::Money;
use tantalus::domain::order::{Terms, Unmet, Way, cheapest};

const CASES: &str = include_str!("reference_orders/cases.txt");

/// An order, and what it costs at least; `None` where it cannot be had.
#[derive(Default)]
struct Case {
    name: String,
    terms: Vec<Terms>,
    wants: Vec<Vec<Way>>,
    cost: Option<i64>,
}

fn amount(cell: &str) -> Option<i64> {
    (cell != "-").then(|| cell.parse().unwrap())
}

fn terms(cells: &str) -> Terms {
    let amounts: Vec<Option<Money>> = cells.split(' ').map(|cell| amount(cell).map(Money)).collect();
    let [minimum, fee, free_from] = amounts[..] else { panic!("{cells}") };
    Terms { minimum, fee, free_from }
}

fn way(cell: &str) -> Way {
    let cells: Vec<Option<i64>> = cell.split(':').map(amount).collect();
    let [supplier, Some(goods), Some(cost)] = cells[..] else { panic!("{cell}") };
    Way { supplier: supplier.map(|supplier| supplier as usize), goods: Money(goods), cost }
}

fn cases() -> Vec<Case> {
    let (mut out, mut case) = (Vec::new(), Case::default());
    for line in CASES.lines().filter(|line| !line.starts_with('#')) {
        let (word, rest) = line.split_once(' ').unwrap();
        match word {
            "case" => case.name = rest.to_owned(),
            "supplier" => case.terms.push(terms(rest)),
            "thing" => case.wants.push(rest.split(' ').map(way).collect()),
            "cost" => {
                case.cost = amount(rest);
                out.push(std::mem::take(&mut case));
            }
            _ => panic!("{line}"),
        }
    }
    out
}

/// What a choice costs by the rule itself; an order below the smallest fails.
fn reckoned(case: &Case, ways: &[usize]) -> i64 {
    let taken = || case.wants.iter().zip(ways).map(|(of, way)| of[*way]);
    let fees = case.terms.iter().enumerate().map(|(supplier, terms)| {
        let goods: i64 = taken().filter(|way| way.supplier == Some(supplier)).map(|way| way.goods.0).sum();
        let least = terms.minimum.map_or(0, |minimum| minimum.0);
        assert!(goods == 0 || goods >= least, "{}: {goods} from {supplier}", case.name);
        let free = goods == 0 || terms.free_from.is_some_and(|from| goods >= from.0);
        if free { 0 } else { terms.fee.map_or(0, |fee| 1_000 * fee.0) }
    });
    fees.sum::<i64>() + taken().map(|way| way.cost).sum::<i64>()
}

#[test]
fn every_order_costs_what_the_independent_solver_found() {
    let cases = cases();
    let mut sorts: BTreeMap<String, (usize, usize)> = BTreeMap::new();
    for case in &cases {
        let found = cheapest(&case.wants, &case.terms);
        let sort = case.name.trim_start_matches(|c: char| c.is_ascii_digit() || c == ' ');
        let counts = sorts.entry(sort.to_owned()).or_default();
        counts.0 += 1;
        match &found {
            Ok(split) => {
                assert_eq!((Some(split.cost), split.is_proved()), (case.cost, true), "{}", case.name);
                assert_eq!(reckoned(case, &split.ways), split.cost, "{}", case.name);
            }
            Err(unmet) => {
                assert_eq!(case.cost, None, "{}: {unmet}", case.name);
                assert!(
                    matches!(unmet, Unmet::OutOfReach { .. } | Unmet::NotTogether { .. }),
                    "{}: {unmet}",
                    case.name
                );
                counts.1 += 1;
            }
        }
    }
    // The file has what it is said to have.
    let impossible: usize = sorts.values().map(|(_, impossible)| impossible).sum();
    assert_eq!((cases.len(), sorts.len()), (400, 14), "{sorts:?}");
    assert!(impossible >= 20 && sorts["impossible"].0 > sorts["impossible"].1, "{sorts:?}");
}
