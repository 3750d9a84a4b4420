//! Actions in, effects out; then what is drawn.

use super::*;
use crate::domain::ledger::Order;
use crate::domain::receive::{ClaimKind, DocumentKind};
use crate::domain::venue::{BillId, ClaimId, OrderState, SupplierId, parse_day};
use crate::tui::screen::Scene;
use crate::tui::screen::fixture::{at, bar};
use crate::tui::theme::Theme;
use crate::tui::widget::harness::{at_every_size, shown};

const NOON: &str = "2026-11-25 11:50";

fn order(id: i64, expected: &str, lines: Vec<(i64, i64, i64, i64)>) -> ReceiveView {
    let order = Order {
        id: OrderId(id),
        name: format!("2026-11-2{id} The"),
        supplier: SupplierId(1),
        state: OrderState::Sent,
        placed: None,
        expected: Some(parse_day(expected).unwrap()),
        lines: Vec::new(),
    };
    let line = |(n, (item, packs, pack, price)): (usize, (i64, i64, i64, i64))| ReceiveLine {
        line: n as i64 + 1,
        item: ItemId(item),
        ordered: packs * pack,
        pack,
        price: Price(price * 10_000),
        came: None,
        charged: None,
        place: bar().store_of(ItemId(item)),
        kept: None,
    };
    ReceiveView { order, lines: lines.into_iter().enumerate().map(line).collect() }
}

fn orders() -> Vec<ReceiveView> {
    vec![
        order(3, "2026-11-23", vec![(1, 2, 6, 1_700), (4, 1, 24, 60), (2, 3, 1, 500)]),
        order(4, "2026-11-25", vec![(3, 2, 1, 120)]),
    ]
}

fn screen() -> ReceiveScreen {
    ReceiveScreen::new(Arc::new(bar()), orders(), Vec::new(), Vec::new())
}

fn typed(screen: &mut ReceiveScreen, text: &str) -> Effect {
    for c in text.chars() {
        assert_eq!(screen.update(Action::Type(c)), Effect::None);
    }
    screen.update(Action::Accept)
}

fn said(effect: Effect) -> String {
    match effect {
        Effect::Say(notice) => notice.text,
        Effect::Ask { question, .. } => question,
        other => panic!("{other:?}"),
    }
}

/// The lines that are to be kept, and what came of each.
fn checked(effect: &Effect) -> Vec<(i64, i64)> {
    match effect {
        Effect::Check(_, lines) => lines.iter().map(|line| (line.now.line, line.now.came)).collect(),
        Effect::Both(first, _) => checked(first),
        _ => Vec::new(),
    }
}

fn came(screen: &ReceiveScreen) -> Vec<Option<i64>> {
    screen.lines().iter().map(|line| line.came).collect()
}

fn drawn(screen: &mut ReceiveScreen, width: u16, height: u16) -> String {
    let theme = Theme::from_env(true);
    let scene = Scene { theme: &theme, now: at(NOON) };
    shown(width, height, |frame| screen.draw(frame, frame.area(), scene))
}

#[test]
fn figures_are_typed_with_a_price_where_it_differs() {
    let mut screen = screen();
    assert_eq!(checked(&typed(&mut screen, "10 @ 17,25")), [(1, 10)]);
    assert_eq!(checked(&typed(&mut screen, "24@0.60")), [(2, 24)]);
    let lines = screen.lines();
    assert_eq!((lines[0].came, lines[0].charged), (Some(10), Some(Price(17_250_000))));
    assert_eq!((lines[1].came, lines[1].charged), (Some(24), None), "the price is as ordered");
    for (text, says) in
        [("x", "whole containers"), ("1.5", "whole containers"), ("3 @", "after the @"), ("@ 2", "whole containers")]
    {
        screen.update(Action::Edit);
        screen.paste(text);
        assert!(said(screen.update(Action::Accept)).contains(says), "{text}");
        assert_eq!(screen.scope(), Scope::ReceiveEntry, "what was refused can be mended");
        screen.update(Action::Cancel);
    }
    screen.update(Action::Edit);
    assert_eq!(screen.update(Action::Accept), Effect::None);
    assert_eq!(came(&screen), [Some(10), Some(24), None], "nothing typed leaves it");
}

#[test]
fn as_ordered_by_one_key_or_all_the_rest() {
    let mut screen = screen();
    screen.update(Action::TakeAsOrdered);
    assert_eq!((came(&screen), screen.window.selected()), (vec![Some(12), None, None], 1));
    screen.update(Action::RestAsOrdered);
    assert_eq!(screen.scope(), Scope::Confirm);
    screen.update(Action::No);
    assert_eq!((came(&screen)[2], screen.scope()), (None, Scope::Receive));
    screen.update(Action::RestAsOrdered);
    assert_eq!(checked(&screen.update(Action::Yes)), [(2, 24), (3, 3)], "what was said before stays");
    assert_eq!(came(&screen), [Some(12), Some(24), Some(3)]);
    assert!(said(screen.update(Action::RestAsOrdered)).contains("looked at already"));
}

#[test]
fn places_go_round() {
    let mut screen = screen();
    let mut seen = Vec::new();
    for _ in 0..3 {
        seen.push(screen.lines()[0].place);
        assert_eq!(screen.update(Action::ChangePlace), Effect::None);
    }
    assert_eq!(seen, [2, 1, 2].map(|id| Some(PlaceId(id))));
    // Once it is said what came, the place is kept with it.
    screen.update(Action::TakeAsOrdered);
    screen.update(Action::First);
    let Effect::Check(_, lines) = screen.update(Action::ChangePlace) else { panic!() };
    assert_eq!((lines[0].now.came, lines[0].now.place), (12, Some(PlaceId(2))));
}

#[test]
fn a_delivery_is_booked_under_its_number() {
    let mut screen = screen();
    assert!(said(screen.update(Action::AcceptDelivery)).contains("not looked at yet: 3 of 3 lines"));
    for _ in 0..3 {
        screen.update(Action::TakeAsOrdered);
    }
    screen.update(Action::AcceptDelivery);
    assert_eq!(screen.scope(), Scope::ReceiveDocument);
    match typed(&mut screen, "LS 4711") {
        Effect::Receive { view, document, keep_rest } => {
            assert_eq!((view.order.id, document.as_str(), keep_rest), (OrderId(3), "LS 4711", false));
            assert!(view.lines.iter().all(|line| line.came == Some(line.ordered)));
        }
        other => panic!("{other:?}"),
    }
    // The book refused it: the number is still there. Erased, the order's name stands for it.
    screen.update(Action::AcceptDelivery);
    assert_eq!(screen.document.as_ref().map(Field::text), Some("LS 4711"));
    screen.update(Action::ClearField);
    assert!(matches!(screen.update(Action::Accept), Effect::Receive { document, .. } if document == "2026-11-23 The"));
    screen.update(Action::AcceptDelivery);
    screen.update(Action::Cancel);
    assert_eq!(screen.scope(), Scope::Receive);
}

#[test]
fn the_rest_is_kept_or_given_up() {
    let mut screen = screen();
    typed(&mut screen, "10");
    typed(&mut screen, "30");
    typed(&mut screen, "0");
    screen.update(Action::AcceptDelivery);
    assert_eq!(screen.update(Action::Accept), Effect::None);
    assert_eq!(screen.scope(), Scope::ReceiveRest);
    assert!(screen.rest_question().starts_with("Harbour rum did not come in full, nor did 1 other line."));
    // Back: nothing is booked, and what was typed is there.
    assert_eq!(screen.update(Action::Cancel), Effect::None);
    assert_eq!((screen.scope(), came(&screen)), (Scope::Receive, vec![Some(10), Some(30), Some(0)]));
    for (answer, keeps) in [(Action::Accept, true), (Action::GiveUpOrder, false)] {
        screen.update(Action::AcceptDelivery);
        screen.update(Action::Accept);
        assert!(matches!(screen.update(answer), Effect::Receive { keep_rest, .. } if keep_rest == keeps));
    }
}

#[test]
fn nothing_came_or_never_will() {
    let mut screen = screen();
    for _ in 0..3 {
        typed(&mut screen, "0");
    }
    match screen.update(Action::AcceptDelivery) {
        Effect::Ask { then, otherwise, .. } => {
            assert!(matches!(*then, Effect::Receive { keep_rest: true, .. }));
            assert_eq!(*otherwise, Effect::None);
        }
        other => panic!("{other:?}"),
    }
    match screen.update(Action::GiveUpOrder) {
        Effect::Ask { then, .. } => assert_eq!(*then, Effect::GiveUp(OrderId(3))),
        other => panic!("{other:?}"),
    }
    let mut none = ReceiveScreen::new(Arc::new(bar()), Vec::new(), Vec::new(), Vec::new());
    assert_eq!(none.scope(), Scope::ReceiveNothing, "no key is shown that would do nothing");
    assert!(drawn(&mut none, 80, 20).contains("on the screen Orders (O)"));
}

#[test]
fn a_bar_code_goes_to_its_line() {
    let mut screen = screen();
    screen.update(Action::Next);
    assert!(said(screen.paste("2000000000015")).contains("this is another order"));
    assert_eq!((screen.at, screen.window.selected()), (0, 0));
    screen.update(Action::Last);
    assert_eq!(typed(&mut screen, "2000000000015"), Effect::None);
    assert_eq!((screen.window.selected(), came(&screen)), (0, vec![None; 3]), "a scan is no figure");
    assert!(said(screen.paste("2000000000022")).contains("no item has the bar code"));
    assert!(screen.find(ItemId(9)).is_some());
}

#[test]
fn a_refresh_shows_what_the_book_has() {
    let mut screen = screen();
    typed(&mut screen, "10 @ 17.25");
    screen.update(Action::ChangePlace);
    screen.update(Action::Type('2'));
    // Somebody else has said what came of the first line and of the second, which is being typed here.
    let said_by = |line, came| Check { line, came, charged: None, place: Some(PlaceId(2)), by: Some("IP".to_owned()) };
    let mut fresh = orders();
    for (line, check) in fresh[0].lines.iter_mut().zip([said_by(1, 11), said_by(2, 20)]) {
        (line.came, line.place, line.kept) = (Some(check.came), check.place, Some(check));
    }
    fresh.rotate_left(1);
    assert_eq!(screen.refresh(Arc::new(bar()), fresh, Vec::new(), Vec::new()), None);
    assert_eq!(came(&screen), [Some(11), Some(20), None]);
    assert_eq!((screen.window.selected(), screen.scope()), (1, Scope::ReceiveEntry));
    screen.update(Action::Type('4'));
    let Effect::Check(OrderId(3), lines) = screen.update(Action::Accept) else { panic!() };
    assert_eq!((lines[0].now.came, &lines[0].known), (24, &None), "it is of the line as it was when typing began");
    // An order that is gone is told of, since something of it was looked at.
    let gone = screen.refresh(Arc::new(bar()), vec![orders().remove(1)], Vec::new(), Vec::new());
    assert!(gone.unwrap().text.contains("“2026-11-23 The” was taken in or given up"));
    assert_eq!((came(&screen), screen.scope()), (vec![None], Scope::Receive));
    assert_eq!(screen.refresh(Arc::new(bar()), Vec::new(), Vec::new(), Vec::new()), None);
    assert_eq!(screen.update(Action::Down), Effect::None);
}

#[test]
fn a_delivery_drawn() {
    let mut screen = screen();
    typed(&mut screen, "10 @ 17.25");
    typed(&mut screen, "25");
    insta::assert_snapshot!(drawn(&mut screen, 80, 21), @"
     The van, Mon 23 Nov: 2/3  The van, today: 0/1
    The van  order “2026-11-23 The”
    2 days late: was due Mon 23 Nov  2 of 3 lines looked at
    carried in 187.50 EUR  ordered 233.40
      item                   packs ordered   came              each at put in
    ✓ Harbour rum             2 x6      12     10 short by 2    17.25* Cellar
    ✓ Soda                   1 x24      24     25 over by 1      0.60  Cellar
      Lime juice                         3                       5.00  Rail











    Lime juice (1000 ml)  goes to Rail
    3 ordered at 5.00  not looked at: y if it is as ordered
    ");
    screen.update(Action::Type('3'));
    insta::assert_snapshot!(drawn(&mut screen, 60, 17), @"
     The van, Mon 23 Nov: 2/3  The van, today: 0/1
    The van  order “2026-11-23 The”
    2 days late: was due Mon 23 Nov  2 of 3 lines looked at
    carried in 187.50 EUR  ordered 233.40
      item           ordered   came              each at put in
    ✓ Harbour rum         12     10 short by 2    17.25* Cellar
    ✓ Soda                24     25 over by 1      0.60  Cellar
      Lime juice           3 3                     5.00  Rail







    Lime juice (1000 ml)  goes to Rail
    12 is containers; 12 @ 17.25 says the price of one too
    ");
    screen.update(Action::Accept);
    screen.update(Action::First);
    insta::assert_snapshot!(drawn(&mut screen, 120, 12), @"
     The van, Mon 23 Nov: 3/3  The van, today: 0/1
    The van  order “2026-11-23 The”
    2 days late: was due Mon 23 Nov  3 of 3 lines looked at  ordered, came: containers
    carried in 202.50 EUR  ordered 233.40
      item                             packs ordered   came              each at put in
    ✓ Harbour rum                       2 x6      12     10 short by 2    17.25* Cellar                   ordered at 17.00
    ✓ Soda                             1 x24      24     25 over by 1      0.60  Cellar
    ✓ Lime juice                                   3      3                5.00  Rail


    Harbour rum (700 ml)  goes to Cellar
    12 ordered at 17.00  10 came  charged 17.25, dearer
    ");
}

#[test]
fn what_is_asked_drawn() {
    let mut screen = screen();
    screen.update(Action::RestAsOrdered);
    assert!(drawn(&mut screen, 80, 21).contains("Enter  takes the rest as ordered"));
    screen.update(Action::Yes);
    screen.update(Action::AcceptDelivery);
    insta::assert_snapshot!(drawn(&mut screen, 80, 21), @"
     The van, Mon 23 Nov: 3/3  The van, today: 0/1
    The van  order “2026-11-23 The”
    2 days late: was due Mon 23 Nov  3 of 3 lines looked at
    carried in 233.40 EUR  ordered 233.40
      item                   packs ordered   came              each at put in
    ✓ Harbour rum             2 x6      12     12               17.00  Cellar
    ✓ Soda      ┌ Number on the delivery's paper ──────────────────────┐ellar
    ✓ Lime juice│                                                      │ail
                │                                                      │
                │ Left empty: 2026-11-23 The                           │
                │ Lines that came: 3, 233.40 EUR                       │
                │ Enter  books it                                      │
                │ Esc    goes back to the lines; nothing is booked     │
                └──────────────────────────────────────────────────────┘





    Harbour rum (700 ml)  goes to Cellar
    12 ordered at 17.00  12 came
    ");
}

/// What stands in the lists of claims and of bills in a small window.
#[test]
fn lists_keep_the_number_of_the_bill_and_speak_of_columns_that_are_there() {
    let claim = KeptClaim {
        id: ClaimId(1),
        supplier: SupplierId(1),
        document: "R-26-0318".to_owned(),
        item: Some(ItemId(1)),
        kind: ClaimKind::Short,
        containers: 1,
        money: Money(1_700),
        note: "Harbour rum: 12 invoiced, 11 came: 1 at 17.00".to_owned(),
        at: at(NOON),
        by: None,
        settled: None,
    };
    let bill = Bill {
        id: BillId(1),
        supplier: SupplierId(1),
        number: "77".to_owned(),
        key: "77 credit".to_owned(),
        kind: DocumentKind::CreditNote,
        issued: parse_day("2026-11-24").unwrap(),
        delivery: None,
        goods: Money(-1_700),
        deposits: Money::ZERO,
        charges: Money::ZERO,
        other: Money::ZERO,
        payable: Some(Money(-2_040)),
        at: at(NOON),
        by: None,
    };
    let mut screen = ReceiveScreen::new(Arc::new(bar()), orders(), vec![claim], vec![bill]);
    screen.update(Action::Claims);
    for width in [60, 80, 120] {
        assert!(drawn(&mut screen, width, 17).contains("R-26-0318"), "{width}");
    }
    screen.update(Action::Back);
    screen.update(Action::BookedBills);
    for width in [60, 80, 120] {
        let shown = drawn(&mut screen, width, 17);
        assert_eq!(shown.contains("to pay with it"), shown.contains("-20.40"), "{width}: {shown}");
    }
    assert!(drawn(&mut screen, 120, 17).contains("-20.40"));
    assert!(said(screen.update(Action::Undo)).contains("comes into stock again"));
}

#[test]
fn no_size_panics() {
    let theme = Theme::from_env(true);
    let states: [&[Action]; 4] =
        [&[], &[Action::Edit], &[Action::RestAsOrdered], &[Action::RestAsOrdered, Action::Yes, Action::AcceptDelivery]];
    for keys in states {
        at_every_size(|frame| {
            let mut screen = screen();
            for key in keys {
                screen.update(*key);
            }
            screen.draw(frame, frame.area(), Scene { theme: &theme, now: at(NOON) });
        });
    }
    at_every_size(|frame| {
        let mut screen = ReceiveScreen::new(Arc::new(bar()), Vec::new(), Vec::new(), Vec::new());
        screen.draw(frame, frame.area(), Scene { theme: &theme, now: at(NOON) });
    });
}
