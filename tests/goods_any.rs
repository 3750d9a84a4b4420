//! Cost of goods used for any stock and any purchases, beside a reckoning that keeps every single container apart.

#![allow(clippy::unwrap_used)]

use chrono::NaiveTime;
use proptest::prelude::*;
use std::collections::{HashMap, HashSet};
use tantalus::domain::drink::{Costs, Layers, Paid};
use tantalus::domain::gauge::{Entry, Gauges};
use tantalus::domain::ledger::{Batch, CountLine, Delivery, Loss, Movements, Span};
use tantalus::domain::measure::{Amount, Basis, Money, Price, UnitCost};
use tantalus::domain::usage::{ByMethod, Goods, Stretch, Worth, goods, standing};
use tantalus::domain::venue::*;

const PLACE: PlaceId = PlaceId(1);
const BOUGHT: ItemId = ItemId(1);
const MADE: ItemId = ItemId(2);
const ONE: i64 = 1_000;
/// The beginning and the end, in hours.
const FROM: i64 = 10;
const TO: i64 = 200;

fn hour(hour: i64) -> Moment {
    Moment(1_800_000_000_000 + hour * 3_600_000)
}

/// Something bought singly, and something made of two of it.
fn setup() -> Setup {
    let days = DayRule { zone: chrono_tz::UTC, starts: NaiveTime::from_hms_opt(5, 0, 0).unwrap() };
    let item = |id, name, kind| Item::new(id, name, kind, Basis::Each, Amount(ONE), CountBy::Whole);
    let recipe = Recipe {
        written: None,
        yields: Amount(ONE),
        water: None,
        takes: vec![Ingredient::new(BOUGHT, "2 each", Amount(2 * ONE))],
    };
    Setup::new(Parts {
        places: vec![Place { id: PLACE, name: "Cellar".to_owned(), walk: 1 }],
        items: vec![item(BOUGHT, "Bought", Kind::Other), item(MADE, "Made", Kind::HouseMade)],
        recipes: HashMap::from([(MADE, Versions::new(vec![(None, recipe)]))]),
        ..Parts::new(Venue::new("Any bar", "EUR".parse().unwrap(), days))
    })
}

/// A stock that was bought at prices in cents, and what came to it and went.
#[derive(Clone, Debug)]
struct Case {
    /// What each container that is there at the beginning had cost, the oldest first.
    there: Vec<i64>,
    /// Purchases: containers and price of one.
    came: Vec<(i64, i64)>,
    /// Of what was made, at the beginning, made since and at the end.
    made: [i64; 3],
    lost: i64,
    left: i64,
}

fn period(case: &Case) -> Goods {
    let setup = setup();
    let gauges = Gauges::new(&setup, &[]);
    let line = |count, at, item, containers: i64| CountLine {
        count: CountId(count),
        place: PLACE,
        item,
        at: hour(at),
        entry: Entry { full: containers, ..Entry::default() },
        method: CountMethod::Whole,
        by: None,
    };
    let opening_lines = [line(1, FROM, BOUGHT, case.there.len() as i64), line(1, FROM, MADE, case.made[0])];
    let closing_lines = [line(2, TO, BOUGHT, case.left), line(2, TO, MADE, case.made[2])];
    let came = (1..).zip(&case.came).map(|(n, (containers, cents))| Delivery {
        seq: Seq(n),
        document: "D".to_owned(),
        line: n,
        at: hour(FROM + n),
        supplier: SupplierId(1),
        item: BOUGHT,
        containers: *containers,
        unit_price: Price(cents * 10_000),
        place: None,
        deposit: Some(Money(25)),
    });
    let loss = Loss {
        seq: Seq(90),
        at: hour(TO - 1),
        item: BOUGHT,
        amount: Amount(case.lost * ONE),
        reason: Reason::Spill,
        place: None,
        by: None,
        note: None,
    };
    let batch =
        Batch { seq: Seq(91), at: hour(FROM + 50), item: MADE, made: Amount(case.made[1] * ONE), by: None, note: None };
    let movements = Movements {
        deliveries: came.collect(),
        losses: vec![loss],
        transfers: Vec::new(),
        batches: if case.made[1] > 0 { vec![batch] } else { Vec::new() },
    };
    let before = standing(&setup, &gauges, &opening_lines, &Movements::default(), &[], hour(FROM));
    let after = standing(&setup, &gauges, &[opening_lines, closing_lines].concat(), &movements, &[], hour(TO));
    let mut layers = Layers::default();
    for cents in &case.there {
        layers.receive(Amount(ONE), UnitCost::new(Price(cents * 10_000), Amount(ONE)).unwrap());
    }
    let last = HashMap::from([(BOUGHT, Price(case.there.last().copied().unwrap_or(100) * 10_000))]);
    let averages = layers.average().map(|average| (BOUGHT, average)).into_iter().collect();
    let day = setup.venue.days.day_of(hour(FROM));
    let average = Costs::by(CostRule::Average, &setup, Paid { averages, last: last.clone(), ..Paid::default() }, day);
    let layers = HashMap::from([(BOUGHT, layers)]);
    let fifo = Costs::by(CostRule::Fifo, &setup, Paid { layers, last, ..Paid::default() }, day);
    let stretch = Stretch {
        span: Span { from: hour(FROM), to: hour(TO) },
        opening: &before,
        closing: &after,
        movements: &movements,
        sales: &[],
        before: &HashSet::from([BOUGHT, MADE]),
        average: &average,
        fifo: &fifo,
    };
    goods(&setup, &stretch)
}

fn worth(goods: &Goods, item: ItemId) -> Option<ByMethod> {
    goods.rows.iter().find(|row| row.item == item)?.worth
}

fn case(price: impl Strategy<Value = i64> + Clone) -> impl Strategy<Value = Case> {
    let came = prop::collection::vec((1..30_i64, price.clone()), 0..6);
    (prop::collection::vec(price, 0..12), came, [0..9_i64, 0..9_i64, 0..9_i64], 0..3_i64, 0..60_i64)
        .prop_map(|(there, came, made, lost, left)| Case { there, came, made, lost, left })
}

/// What holds of any line of any answer.
fn adds_up(worth: &Worth) {
    assert_eq!(worth.opening + worth.bought + worth.batches - worth.closing, worth.used);
    assert_eq!(worth.sold + worth.lost + worth.gap, worth.used);
}

proptest! {
    /// Containers kept apart: those that are left are the last that came, each at its own price; by the average each at the
    /// price of all together, to the coin.
    #[test]
    fn every_container_by_itself(case in case(0..5_000_i64)) {
        let mut each = case.there.clone();
        case.came.iter().for_each(|(containers, cents)| each.extend((0..*containers).map(|_| *cents)));
        prop_assume!(case.left <= each.len() as i64);
        let case = Case { made: [0, 0, 0], ..case };
        let goods = period(&case);
        let Some(found) = worth(&goods, BOUGHT) else { return Ok(()) };
        adds_up(&found.average);
        adds_up(&found.fifo);
        let (gone, left) = each.split_at(each.len() - case.left as usize);
        let (gone, left): (i64, i64) = (gone.iter().sum(), left.iter().sum());
        prop_assert_eq!((found.fifo.used, found.fifo.closing), (Money(gone), Money(left)));
        let bought: i64 = case.came.iter().map(|(containers, cents)| containers * cents).sum();
        prop_assert_eq!(found.average.bought, Money(bought));
        let average = (gone + left) as f64 / each.len().max(1) as f64 * case.left as f64;
        prop_assert!((found.average.closing.0 as f64 - average).abs() <= 0.51, "{found:?}");
        prop_assert!((found.average.used.0 as f64 - ((gone + left) as f64 - average)).abs() <= 0.51, "{found:?}");
    }

    /// With one price both methods say the same of all, also of what is made, also where more is left than ever came; and
    /// what batches carry from one item arrives in the other.
    #[test]
    fn with_one_price_both_agree(cents in 1..5_000_i64, case in case(Just(0))) {
        let case = Case {
            there: case.there.iter().map(|_| cents).collect(),
            came: case.came.iter().map(|(containers, _)| (*containers, cents)).collect(),
            ..case
        };
        prop_assume!(!case.there.is_empty());
        let goods = period(&case);
        let mut batches = Money::ZERO;
        for (item, price) in [(BOUGHT, cents), (MADE, 2 * cents)] {
            let Some(row) = goods.rows.iter().find(|row| row.item == item) else { continue };
            let found = row.worth.unwrap();
            adds_up(&found.average);
            prop_assert_eq!(found.average, found.fifo);
            prop_assert_eq!(found.average.used, Money(row.used.0 / ONE * price));
            prop_assert_eq!(found.average.closing, Money(row.closing.0 / ONE * price));
            prop_assert_eq!(found.average.lost, Money(row.lost.0 / ONE * price));
            batches += found.average.batches;
        }
        prop_assert_eq!(batches, Money::ZERO);
    }

    /// Whatever the prices and however little of it makes sense, all that is printed adds up, and money goes nowhere
    /// between items.
    #[test]
    fn money_is_neither_made_nor_lost(case in case(0..5_000_i64)) {
        let goods = period(&case);
        for row in &goods.rows {
            let found = row.worth.unwrap();
            adds_up(&found.average);
            adds_up(&found.fifo);
        }
        let total = goods.total().worth.unwrap_or_default();
        prop_assert_eq!((total.average.batches, total.fifo.batches), (Money::ZERO, Money::ZERO));
        prop_assert_eq!(total.average.opening + total.average.bought - total.average.closing, total.average.used);
        prop_assert_eq!(total.fifo.opening + total.fifo.bought - total.fifo.closing, total.fifo.used);
    }
}
