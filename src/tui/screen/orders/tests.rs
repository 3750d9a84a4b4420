//! Actions in, effects out; then what is drawn.

use super::*;
use crate::domain::gauge::Level;
use crate::domain::ledger::{Order, OrderLine};
use crate::domain::measure::Amount;
use crate::domain::par::Need;
use crate::domain::venue::{OrderCalendar, OrderId, OrderState, Parts, Supplier, parse_day};
use crate::tui::screen::Scene;
use crate::tui::screen::fixture::{at, bar};
use crate::tui::theme::Theme;
use crate::tui::widget::harness::{at_every_size, shown};

/// A Monday; the van's deadline is at two.
const NOON: &str = "2026-11-23 11:50";

/// The test bar with a second supplier.
fn setup() -> Arc<Setup> {
    let bar = bar();
    let mut suppliers = bar.suppliers;
    suppliers.push(Supplier {
        id: SupplierId(2),
        name: "Wide Valley Citrus".to_owned(),
        email: None,
        customer_no: None,
        calendar: OrderCalendar::parse("Tue 09:30 > Thu").unwrap(),
        minimum: None,
        fee: None,
        free_from: None,
        party: Default::default(),
    });
    Arc::new(Setup::new(Parts {
        people: bar.people,
        places: bar.places,
        suppliers,
        items: bar.items,
        shelves: bar.shelves,
        offers: bar.offers,
        drinks: bar.drinks,
        recipes: bar.recipes,
        till: bar.till,
        ..Parts::new(bar.venue)
    }))
}

fn need(item: i64, par: i64, on_hand: Option<(i64, f64)>, on_order: i64) -> Need {
    let on_hand = on_hand.map(|(ml, u)| Level { amount: Amount(ml * 1_000), u: u * 1_000.0 });
    Need {
        item: ItemId(item),
        par: Amount(par * 1_000),
        on_hand,
        on_order: Amount(on_order * 1_000),
        least: Amount::ZERO,
    }
}

fn view() -> OrdersView {
    let setup = setup();
    let line = |need: Need, suggested, pack, price, shelf_limits| DraftLine {
        why: None,
        item: need.item,
        need: Some(need),
        suggested,
        packs: suggested,
        pack,
        price: Money(price),
        code: Some(format!("V{}", need.item.0)),
        shelf_limits,
        mixed: None,
    };
    let draft = |supplier, lines| {
        let id = SupplierId(supplier);
        let deadline = setup.next_van(id, at(NOON));
        DraftView { order: None, name: "2026-11-23 The".to_owned(), draft: Draft { supplier: id, lines, deadline } }
    };
    let lines = vec![
        line(need(1, 4_200, Some((2_380, 20.2)), 0), 1, 6, 10_200, false),
        line(need(4, 9_600, Some((1_200, 0.0)), 4_800), 0, 24, 1_440, true),
        line(need(2, 4_000, Some((1_500, 29.0)), 0), 3, 1, 500, false),
    ];
    OrdersView {
        drafts: vec![draft(1, lines), draft(2, Vec::new())],
        sent: vec![Order {
            id: OrderId(8),
            name: "2026-11-19 The".to_owned(),
            supplier: SupplierId(1),
            state: OrderState::Sent,
            placed: Some(at("2026-11-19 10:00")),
            expected: Some(parse_day("2026-11-21").unwrap()),
            lines: vec![OrderLine { line: 1, item: ItemId(4), packs: 1, pack: 24, price: Money(1_440) }],
        }],
        to_make: vec![need(3, 3_000, Some((500, 0.0)), 0)],
        never_counted: vec![ItemId(3)],
        ..OrdersView::default()
    }
}

fn screen() -> OrdersScreen {
    OrdersScreen::new(setup(), view())
}

fn act(screen: &mut OrdersScreen, action: Action) -> Effect {
    screen.update(action, at(NOON))
}

fn typed(screen: &mut OrdersScreen, text: &str) {
    for c in text.chars() {
        assert_eq!(act(screen, Action::Type(c)), Effect::None);
    }
}

/// The packs of the draft that an effect keeps.
fn kept(effect: Effect) -> Vec<i64> {
    match effect {
        Effect::KeepDraft(view) => view.draft.lines.iter().map(|line| line.packs).collect(),
        other => panic!("{other:?}"),
    }
}

fn said(effect: Effect) -> String {
    match effect {
        Effect::Say(notice) => notice.text,
        Effect::Ask { question, .. } => question,
        other => panic!("{other:?}"),
    }
}

fn drawn(screen: &mut OrdersScreen, now: &str, width: u16, height: u16) -> String {
    let theme = Theme::from_env(true);
    let scene = Scene { theme: &theme, now: at(now) };
    shown(width, height, |frame| screen.draw(frame, frame.area(), scene))
}

#[test]
fn every_change_is_kept_at_once() {
    let mut screen = screen();
    assert_eq!(kept(act(&mut screen, Action::OneMore)), [2, 0, 3]);
    assert_eq!(kept(act(&mut screen, Action::OneLess)), [1, 0, 3]);
    assert_eq!(kept(act(&mut screen, Action::OrderNone)), [0, 0, 3]);
    assert_eq!(act(&mut screen, Action::OneLess), Effect::None, "there is no less than none");
    assert_eq!(kept(act(&mut screen, Action::TakeSuggestion)), [1, 0, 3]);
    assert_eq!(act(&mut screen, Action::TakeSuggestion), Effect::None, "nothing changed, nothing to keep");
}

#[test]
fn packs_are_typed() {
    let mut screen = screen();
    act(&mut screen, Action::Edit);
    assert_eq!(screen.scope(), Scope::OrderEntry);
    typed(&mut screen, "12");
    assert_eq!(kept(act(&mut screen, Action::AcceptDown)), [12, 0, 3]);
    assert_eq!(screen.scope(), Scope::Orders);
    typed(&mut screen, "4");
    assert_eq!(kept(act(&mut screen, Action::Accept)), [12, 4, 3], "a digit begins, and the cursor had gone on");
    act(&mut screen, Action::Edit);
    assert_eq!(act(&mut screen, Action::Accept), Effect::None, "nothing typed leaves it");
    typed(&mut screen, "9");
    assert_eq!(act(&mut screen, Action::Cancel), Effect::None);
    assert_eq!(screen.scope(), Scope::Orders);
    act(&mut screen, Action::Edit);
    screen.paste("-3");
    assert!(said(act(&mut screen, Action::Accept)).contains("a whole number of packs"));
    assert_eq!(screen.scope(), Scope::OrderEntry, "what was refused can be mended");
}

#[test]
fn suppliers_are_turned_through() {
    let mut screen = screen();
    assert_eq!(screen.supplier(), Some(SupplierId(1)), "the only one that gets something");
    act(&mut screen, Action::Next);
    assert_eq!(screen.supplier(), Some(SupplierId(2)));
    assert!(said(act(&mut screen, Action::Edit)).contains("no line yet"));
    act(&mut screen, Action::Next);
    assert_eq!(screen.supplier(), None);
    for action in [Action::Next, Action::OneMore, Action::MarkSent, Action::WriteFiles, Action::AddItem, Action::Edit] {
        assert!(said(act(&mut screen, action)).contains("goes back"), "{action:?}");
    }
    screen.show(SupplierId(1));
    assert!(said(act(&mut screen, Action::Previous)).contains("first supplier"));
}

#[test]
fn an_item_of_the_supplier_is_added() {
    let mut screen = screen();
    assert!(matches!(act(&mut screen, Action::AddItem), Effect::Pick { title, .. } if title.contains("The van")));
    assert_eq!(kept(screen.picked(ItemId(3), at(NOON))), [1, 0, 3, 1]);
    assert_eq!(kept(act(&mut screen, Action::OneMore)), [1, 0, 3, 2], "the cursor is on it");
    assert!(said(screen.picked(ItemId(1), at(NOON))).contains("already"));
    act(&mut screen, Action::Next);
    assert!(said(screen.picked(ItemId(1), at(NOON))).contains(": Harbour rum"));
}

#[test]
fn sending_says_what_is_amiss() {
    let mut screen = screen();
    let question = said(act(&mut screen, Action::MarkSent));
    assert_eq!(
        question,
        "Is the order to The van out? 2 lines, 117.00 EUR and 9.00 for the delivery. It is 83.00 EUR below their minimum."
    );
    let late = said(screen.update(Action::MarkSent, at("2026-11-23 14:20")));
    assert!(late.ends_with("The deadline, Mon 23 Nov 14:00, has passed: ask whether it still comes Wed."), "{late}");
    match act(&mut screen, Action::MarkSent) {
        Effect::Ask { then, otherwise, .. } => {
            assert!(matches!(*then, Effect::Send(view) if view.draft.lines.len() == 3));
            assert_eq!(*otherwise, Effect::None);
        }
        other => panic!("{other:?}"),
    }
    assert!(matches!(act(&mut screen, Action::WriteFiles), Effect::WriteOrder(_)));
    act(&mut screen, Action::Next);
    assert!(said(act(&mut screen, Action::MarkSent)).contains("nothing is ordered from Wide Valley Citrus"));
    assert!(said(act(&mut screen, Action::WriteFiles)).contains("give a line packs first"));
}

#[test]
fn a_kept_draft_can_be_forgotten() {
    let mut screen = screen();
    assert!(said(act(&mut screen, Action::SuggestAnew)).contains("as suggested"));
    let mut fresh = view();
    fresh.drafts[0].order = Some(OrderId(5));
    screen.refresh(setup(), fresh);
    match act(&mut screen, Action::SuggestAnew) {
        Effect::Ask { then, .. } => assert_eq!(*then, Effect::ForgetDraft(OrderId(5))),
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_refresh_keeps_the_line_and_what_is_typed() {
    let mut screen = screen();
    act(&mut screen, Action::Last);
    typed(&mut screen, "7");
    let mut fresh = view();
    fresh.drafts[0].draft.lines.remove(0);
    screen.refresh(setup(), fresh.clone());
    assert_eq!(kept(act(&mut screen, Action::Accept)), [0, 7]);
    typed(&mut screen, "8");
    fresh.drafts[0].draft.lines.pop();
    screen.refresh(setup(), fresh);
    assert_eq!(screen.scope(), Scope::Orders, "the line is gone, so nothing is typed for another");
    act(&mut screen, Action::Next);
    act(&mut screen, Action::Next);
    act(&mut screen, Action::Last);
    let mut fresh = view();
    fresh.to_make.clear();
    screen.refresh(setup(), fresh);
    assert_eq!(screen.aside[screen.window.selected()], Aside::Sent(OrderId(8)));
    screen.refresh(setup(), OrdersView::default());
    assert_eq!(screen.supplier(), None);
}

#[test]
fn items_are_found_wherever_they_are() {
    let mut screen = screen();
    act(&mut screen, Action::Next);
    assert_eq!(screen.find(ItemId(2)), None);
    assert_eq!((screen.supplier(), screen.line().map(|l| l.item)), (Some(SupplierId(1)), Some(ItemId(2))));
    assert_eq!(screen.find(ItemId(3)), None);
    assert_eq!(screen.supplier(), None, "it is among what is not ordered");
    assert!(screen.find(ItemId(9)).unwrap().text.contains("in no order"));
}

#[test]
fn a_draft_drawn() {
    let mut screen = screen();
    act(&mut screen, Action::OneMore);
    insta::assert_snapshot!(drawn(&mut screen, NOON, 80, 21), @"
     The van: 2, 2 h 10 min left  Wide Valley Cit… 0  Not ordered
    The van  as suggested, nothing changed  on hand, coming, par: containers
    order by 14:00 today, 2 h 10 min left  comes Wed
    goods 219.00 EUR  minimum 200.00 reached  delivery 9.00, free from 300.00
      item                on hand coming   par sugg.  packs in each pack at    total
    * Harbour rum       3.4 ±0.03          6.0     1      2       6  102.00   204.00
    ! Soda              6.0 ±0.00   24.0  48.0     0      0      24   14.40     0.00
      Lime juice        1.5 ±0.03          4.0     3      3       1    5.00    15.00











    Harbour rum (700 ml)  6 in a pack at 102.00  their number V1
    suggested 1, ordered 2  short 2.6 of par 6.0
    ");
}

#[test]
fn narrow_and_wide() {
    let mut screen = screen();
    act(&mut screen, Action::Last);
    typed(&mut screen, "12");
    insta::assert_snapshot!(drawn(&mut screen, NOON, 60, 17), @"
     The van 2  Wide Va… 0  Not ordered
    The van  as suggested, nothing changed
    order by 14:00 today, 2 h 10 min left  comes Wed
    goods 117.00 EUR  83.00 below the minimum
      item                 on hand   par  packs in each    total
      Harbour rum        3.4 ±0.03   6.0      1       6   102.00
    ! Soda               6.0 ±0.00  48.0      0      24     0.00
      Lime juice         1.5 ±0.03   4.0 12           1    15.00







    Lime juice (1000 ml)  singly at 5.00  their number V2
    Enter keeps the packs, 0 orders none; Esc leaves them
    ");
    act(&mut screen, Action::Accept);
    insta::assert_snapshot!(drawn(&mut screen, "2026-11-23 14:20", 120, 12), @"
     The van: 2 lines, 162.00, passed  Wide Valley Cit…: 0 lines, 0.00, tomorrow 09:30  Not ordered here 3
    The van  as suggested, nothing changed  on hand, coming, par: containers
    order by today 14:00, passed  comes Wed
    goods 162.00 EUR  38.00 below the minimum  delivery 9.00, free from 300.00
      item                                 on hand coming   par sugg.  packs in each pack at    total
      Harbour rum                        3.4 ±0.03          6.0     1      1       6  102.00   102.00
    ! Soda                               6.0 ±0.00   24.0  48.0     0      0      24   14.40     0.00 the shelf limits
    * Lime juice                         1.5 ±0.03          4.0     3     12       1    5.00    60.00 changed


    Lime juice (1000 ml)  singly at 5.00  their number V2
    suggested 3, ordered 12  short 2.5 of par 4.0
    ");
}

#[test]
fn what_is_not_ordered_here_drawn() {
    let mut screen = screen();
    act(&mut screen, Action::Next);
    insta::assert_snapshot!(drawn(&mut screen, NOON, 80, 8), @r"
     The van 2  Wide Valley Cit…: 0, tomorrow 09:30  Not ordered
    Wide Valley Citrus  as suggested, nothing changed
    order by tomorrow 09:30  comes Thu
    goods 0.00 EUR  no minimum  delivery free
    Nothing that this supplier would get is below its par.
    `a` adds an item all the same.
    ");
    act(&mut screen, Action::Next);
    insta::assert_snapshot!(drawn(&mut screen, NOON, 80, 14), @"
     The van: 2, 2 h 10 min left  Wide Valley Cit…: 0, tomorrow 09:30  Not ordered
    What no draft above takes care of, and what is to come  figures: containers


    what                                on hand coming   par  short
    To make here: short, and house-made
    Fine sugar                              0.5          3.0    2.5
    Has a par, but was never counted
    Fine sugar                                           3.0        count it first
    Sent and still to come
    The van: 2026-11-19 The, 1 line                                 late: Sat 21 Nov
    ");
}

#[test]
fn no_size_panics() {
    let theme = Theme::from_env(true);
    for page in 0..3 {
        for typing in [false, true] {
            at_every_size(|frame| {
                let mut screen = screen();
                screen.turn_to(page);
                if typing {
                    act(&mut screen, Action::Edit);
                }
                screen.draw(frame, frame.area(), Scene { theme: &theme, now: at(NOON) });
            });
        }
    }
    at_every_size(|frame| {
        let mut screen = OrdersScreen::new(setup(), OrdersView::default());
        screen.draw(frame, frame.area(), Scene { theme: &theme, now: at(NOON) });
    });
}
