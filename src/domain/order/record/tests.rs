//! Late, short, dearer: by small histories.

use super::*;
use crate::domain::ledger::OrderLine;
use crate::domain::measure::{Money, Price};
use crate::domain::order::sample::{ANSEL, BROOK, at, day, item, parts};
use crate::domain::venue::{OrderId, Parts, Seq};

fn setup() -> Setup {
    Setup::new(Parts { items: vec![item(1, "Gin"), item(2, "Rum"), item(3, "Soda")], ..parts() })
}

/// An order of packs of six, placed at noon.
fn order(name: &str, placed: &str, expected: &str, state: OrderState, lines: &[(i64, i64)]) -> Order {
    let line = |(n, (item, packs)): (usize, &(i64, i64))| OrderLine {
        line: n as i64 + 1,
        item: ItemId(*item),
        packs: *packs,
        pack: 6,
        price: Money(1_000),
    };
    Order {
        id: OrderId(1),
        name: name.to_owned(),
        supplier: ANSEL,
        state,
        placed: Some(at(&format!("{placed} 12:00"))),
        expected: Some(day(expected)),
        lines: lines.iter().enumerate().map(line).collect(),
    }
}

fn delivery(on: &str, item: i64, containers: i64, price: i64) -> Delivery {
    Delivery {
        seq: Seq(0),
        document: "D".to_owned(),
        line: 1,
        at: at(&format!("{on} 11:00")),
        supplier: ANSEL,
        item: ItemId(item),
        containers,
        unit_price: Price(price),
        place: None,
        deposit: None,
    }
}

fn of(orders: &[Order], deliveries: &[Delivery]) -> Record {
    record(&setup(), ANSEL, orders, deliveries, day("2026-11-23"))
}

#[test]
fn who_is_late_and_who_is_short() {
    let sent = OrderState::Sent;
    let received = OrderState::Received;
    let one = |name: &str, placed, expected, state| order(name, placed, expected, state, &[(1, 1), (2, 2)]);
    let whole = |on| vec![delivery(on, 1, 6, 10), delivery(on, 2, 12, 10)];
    for (what, order, deliveries, late, orders, lines, short) in [
        ("on its day", one("a", "2026-11-02", "2026-11-04", received), whole("2026-11-04"), None, 1, 2, 0),
        ("before it", one("a", "2026-11-02", "2026-11-04", received), whole("2026-11-03"), None, 1, 2, 0),
        ("two days late", one("a", "2026-11-02", "2026-11-04", received), whole("2026-11-06"), Some(2), 1, 2, 0),
        (
            "a line short, one missing",
            one("a", "2026-11-02", "2026-11-04", received),
            vec![delivery("2026-11-04", 2, 11, 10)],
            None,
            1,
            2,
            2,
        ),
        (
            "more than ordered",
            one("a", "2026-11-02", "2026-11-04", received),
            {
                let mut all = whole("2026-11-04");
                all.push(delivery("2026-11-04", 1, 6, 10));
                all
            },
            None,
            1,
            2,
            0,
        ),
        ("not come yet, and late", one("a", "2026-11-16", "2026-11-18", sent), vec![], Some(5), 1, 0, 0),
        ("due today", one("a", "2026-11-20", "2026-11-23", sent), vec![], None, 0, 0, 0),
        ("given up", one("a", "2026-11-16", "2026-11-18", OrderState::Closed), vec![], None, 0, 0, 0),
        (
            "too late to be of this order",
            one("a", "2026-10-01", "2026-10-03", sent),
            whole("2026-10-25"),
            Some(51),
            1,
            0,
            0,
        ),
        (
            "the rest of an order",
            one("a rest", "2026-11-02", "2026-11-04", received),
            whole("2026-11-06"),
            None,
            0,
            0,
            0,
        ),
        (
            "came before it was placed",
            one("a", "2026-11-02", "2026-11-04", received),
            whole("2026-11-01"),
            None,
            0,
            0,
            0,
        ),
    ] {
        let got = of(&[order], &deliveries);
        let want: Vec<(String, i64)> = late.map(|days| ("a".to_owned(), days)).into_iter().collect();
        assert_eq!((got.late, got.orders, got.lines, got.short), (want, orders, lines, short), "{what}");
    }
}

#[test]
fn the_orders_of_others_are_not_his() {
    let order = Order { supplier: BROOK, ..order("b", "2026-11-02", "2026-11-04", OrderState::Received, &[(1, 1)]) };
    let late = Delivery { supplier: BROOK, ..delivery("2026-11-09", 1, 6, 10) };
    assert_eq!(of(&[order], &[late]), Record::default());
}

#[test]
fn prices_move_by_what_was_bought() {
    let deliveries = [
        // 10 to 12 on thirty containers, 20 to 19 on twelve, once bought only.
        delivery("2026-09-01", 1, 10, 1_000),
        delivery("2026-10-01", 1, 10, 1_500),
        delivery("2026-11-01", 1, 10, 1_200),
        delivery("2026-11-01", 2, 6, 1_900),
        delivery("2026-09-01", 2, 6, 2_000),
        delivery("2026-09-01", 3, 6, 500),
        // Taken back, and given for nothing.
        delivery("2026-11-02", 1, -1, 9_000),
    ];
    let got = of(&[], &deliveries);
    let (then, now) = (30.0 * 10.0 + 12.0 * 20.0, 30.0 * 12.0 + 12.0 * 19.0);
    assert!((got.drift.unwrap() - 100.0 * (now / then - 1.0)).abs() < 1e-9, "{:?}", got.drift);
    let dearer: Vec<(i64, i64)> = got.dearer.iter().map(|(item, p)| (item.0, (10.0 * p).round() as i64)).collect();
    assert_eq!(dearer, [(1, 200)]);
    assert_eq!(of(&[], &deliveries[5..6]).drift, None, "bought once says nothing");
    let given = [delivery("2026-09-01", 1, 10, 0), delivery("2026-11-01", 1, 10, 1_000)];
    assert_eq!((of(&[], &given).drift, of(&[], &given).dearer.len()), (None, 0), "from nothing there are no percent");
}

/// What one order got is not there for the next: a late order is late although another came meanwhile.
#[test]
fn a_delivery_belongs_to_one_order() {
    let received = OrderState::Received;
    let single = |mut order: Order, packs: i64| {
        order.lines[0].pack = 1;
        order.lines[0].packs = packs;
        order
    };
    let first = single(order("a", "2026-11-02", "2026-11-05", received, &[(1, 1)]), 1);
    let second = single(order("b", "2026-11-03", "2026-11-06", received, &[(1, 1)]), 6);
    let came = [delivery("2026-11-05", 1, 1, 10), delivery("2026-11-09", 1, 6, 10)];
    let found = of(&[second, first], &came);
    assert_eq!((found.orders, found.late, found.lines, found.short), (2, vec![("b".to_owned(), 3)], 2, 0));
    // Twelve and six in packs of two sizes, of which twelve came.
    let mut both = order("c", "2026-11-02", "2026-11-05", received, &[(1, 1), (1, 1)]);
    both.lines[0].pack = 12;
    let found = of(&[both], &[delivery("2026-11-05", 1, 12, 10)]);
    assert_eq!((found.lines, found.short), (2, 1));
}
