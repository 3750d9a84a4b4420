//! Actions in, effects out; then what is drawn.

use super::*;
use crate::domain::gauge::Level;
use crate::domain::ledger::{Order, OrderLine};
use crate::domain::measure::Amount;
use crate::domain::order::{Waiting, Waits, Why};
use crate::domain::par::Need;
use crate::domain::venue::{MixedCase, Offer, OrderCalendar, OrderId, OrderState, ParFrom, Parts, Supplier, parse_day};
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
        offers: bar.offers.into_iter().chain([single_rum()]).collect(),
        drinks: bar.drinks,
        recipes: bar.recipes,
        till: bar.till,
        ..Parts::new(bar.venue)
    }))
}

/// The rum, which comes in sixes, by the bottle.
fn single_rum() -> Offer {
    Offer {
        mixed: None,
        until: None,
        supplier: SupplierId(1),
        item: ItemId(1),
        code: Some("V1s".to_owned()),
        pack: 1,
        price: Money(1_800),
        deposit: None,
        from: None,
    }
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
        DraftView {
            order: None,
            name: "2026-11-23 The".to_owned(),
            draft: Draft { supplier: id, lines, deadline },
            seen: Vec::new(),
        }
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
    assert_eq!(said(screen.picked(ItemId(2), at(NOON))), "it is on the list already: + orders one pack more");
    act(&mut screen, Action::Next);
    assert!(said(screen.picked(ItemId(1), at(NOON))).contains(": Harbour rum"));
}

#[test]
fn sending_says_what_is_amiss() {
    let mut screen = screen();
    let question = said(act(&mut screen, Action::MarkSent));
    assert_eq!(
        question,
        "Has the order gone to The van? Nothing is sent from here: w writes it, you send it. 2 lines, 117.00 EUR and 9.00 for the delivery. It is 83.00 EUR below their minimum."
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

/// Three of the second line and one case of six of the first go into mixed cases of five.
#[test]
fn a_mixed_case_that_is_not_full_is_told() {
    let mut view = view();
    let case = MixedCase { name: "Odds".to_owned(), holds: 5 };
    for line in view.drafts[0].draft.lines.iter_mut().filter(|line| line.item != ItemId(4)) {
        line.mixed = Some(case.clone());
    }
    let mut screen = OrdersScreen::new(setup(), view);
    let words = "Odds: 9 in 2 mixed cases of 5; 1 more would fill it.";
    assert!(drawn(&mut screen, NOON, 100, 20).contains(words));
    assert!(said(act(&mut screen, Action::MarkSent)).contains(words));
    // One more of the last line fills it.
    act(&mut screen, Action::Last);
    assert_eq!(kept(act(&mut screen, Action::OneMore)), [1, 0, 4]);
    assert!(drawn(&mut screen, NOON, 100, 20).contains("Odds: 2 mixed cases of 5, full."));
    assert!(!said(act(&mut screen, Action::MarkSent)).contains("Odds"));
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
     The van: 2, 2 h 10 min left, 1 late  Wide Valley Cit… 0  Not ordered
    The van  as suggested, nothing changed  on hand, coming, par: containers
    order by 14:00 today, 2 h 10 min left  comes Wed
    goods 219.00 EUR  minimum 200.00 reached  delivery 9.00, free from 300.00
    Filled up by 102.00 EUR to reach the smallest order.
    LATE: “2026-11-19 The” should have come Sat 21 Nov; ask for it
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
     The van 2, late  Wide Va… 0  Not ordered
    The van  as suggested, nothing changed
    order by 14:00 today, 2 h 10 min left  comes Wed
    goods 117.00 EUR  83.00 below the minimum
    LATE: “2026-11-19 The” should have come Sat 21 Nov; ask for…
      item                 on hand   par  packs in each    total
      Harbour rum        3.4 ±0.03   6.0      1       6   102.00
    ! Soda               6.0 ±0.00  48.0      0      24     0.00
      Lime juice         1.5 ±0.03   4.0 12           1    15.00






    Lime juice (1000 ml)  singly at 5.00  their number V2
    Enter keeps the packs, 0 orders none; Esc leaves them
    ");
    act(&mut screen, Action::Accept);
    insta::assert_snapshot!(drawn(&mut screen, "2026-11-23 14:20", 120, 12), @"
     The van: 2 lines, 162.00, passed, 1 late  Wide Valley Cit…: 0 lines, 0.00, tomorrow 09:30  Not ordered here 3
    The van  as suggested, nothing changed  on hand, coming, par: containers
    order by today 14:00, passed  comes Wed
    goods 162.00 EUR  38.00 below the minimum  delivery 9.00, free from 300.00
    LATE: “2026-11-19 The” should have come Sat 21 Nov; ask for it
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
    insta::assert_snapshot!(drawn(&mut screen, NOON, 80, 8), @"
     The van 2, late  Wide Valley Cit…: 0, tomorrow 09:30  Not ordered
    Wide Valley Citrus  as suggested, nothing changed
    order by tomorrow 09:30  comes Thu
    goods 0.00 EUR  no minimum  delivery free
    Nothing that this supplier would get is below its par.
    `a` adds an item all the same.
    ");
    act(&mut screen, Action::Next);
    insta::assert_snapshot!(drawn(&mut screen, NOON, 80, 14), @"
     The van 2, late  Wide Valley Cit… 0  Not ordered
    What no draft above takes care of, and what is to come  figures: containers
    all orders together 126.00 EUR
    what                                on hand coming   par  short
    To make here: short, and house-made
    Fine sugar                              0.5          3.0    2.5
    Has a par, but was never counted
    Fine sugar                                           3.0        count it first
    Sent and still to come
    The van: 2026-11-19 The, 1 line                                 LATE: Sat 21 Nov
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
    for page in [0, 2] {
        at_every_size(|frame| {
            let within = OrdersView { budget: Some(Money(1)), at_most_cheaper: Money(1), ..deep() };
            let mut screen = OrdersScreen::new(setup(), within);
            screen.turn_to(page);
            screen.begin_budget();
            screen.draw(frame, frame.area(), Scene { theme: &theme, now: at(NOON) });
            screen.update(Action::Cancel, at(NOON));
            screen.show_why(told(1, "much"));
            screen.draw(frame, frame.area(), Scene { theme: &theme, now: at(NOON) });
        });
    }
    at_every_size(|frame| {
        let mut screen = OrdersScreen::new(setup(), OrdersView::default());
        screen.draw(frame, frame.area(), Scene { theme: &theme, now: at(NOON) });
    });
}

#[test]
fn one_item_in_packs_of_two_sizes() {
    let mut screen = screen();
    // Six of the rum stand on the list; picked once more, a single one is offered.
    screen.update(Action::Last, at(NOON));
    let Effect::Ask { question, then, .. } = screen.picked(ItemId(1), at(NOON)) else { panic!("no question") };
    assert_eq!(question, "Harbour rum is on the list already, in packs of 6. Order a single one besides?");
    let Effect::KeepDraft(both) = *then else { panic!("{then:?}") };
    let keys = |view: &DraftView| view.draft.lines.iter().map(|line| (line.item.0, line.pack)).collect::<Vec<_>>();
    assert_eq!(keys(&both), [(1, 6), (4, 24), (2, 1), (1, 1)]);
    assert_eq!(both.draft.lines[3].code.as_deref(), Some("V1s"));

    let mut fresh = view();
    fresh.drafts[0] = *both;
    screen.refresh(setup(), fresh.clone());
    assert_eq!(screen.line().map(DraftLine::key), Some((ItemId(1), 6)), "the cursor is on what was picked");
    assert_eq!(said(screen.picked(ItemId(1), at(NOON))), "it is on the list already: + orders one pack more");

    // Each line is changed, asked about and kept by itself.
    screen.update(Action::Last, at(NOON));
    assert_eq!(kept(act(&mut screen, Action::OneMore)), [1, 0, 3, 2]);
    typed(&mut screen, "60");
    let Effect::Ask { question, then, .. } = act(&mut screen, Action::Accept) else { panic!("no question") };
    assert!(question.starts_with("Order 60 packs of Harbour rum? With 1 in each that is 60;"), "{question}");
    assert_eq!(kept(*then), [1, 0, 3, 60]);

    // What is typed for one of them stays there when the other is gone, and goes with its own line.
    typed(&mut screen, "7");
    fresh.drafts[0].draft.lines.remove(0);
    screen.refresh(setup(), fresh.clone());
    assert_eq!((screen.scope(), screen.line().map(DraftLine::key)), (Scope::OrderEntry, Some((ItemId(1), 1))));
    fresh.drafts[0].draft.lines[2].pack = 6;
    screen.refresh(setup(), fresh);
    assert_eq!(screen.scope(), Scope::Orders);
}

/// The test bar's orders, where the first is filled up, one waits and one is late.
fn deep() -> OrdersView {
    let mut view = view();
    let why = Why {
        from: ParFrom::Demand,
        fills_up: true,
        risk_without: Some(0.04),
        risk_with: Some(0.001),
        risk_before: None,
    };
    let soda = &mut view.drafts[0].draft.lines[1];
    (soda.packs, soda.suggested, soda.shelf_limits, soda.why) = (6, 6, false, Some(why));
    soda.need = Some(need(4, 9_600, Some((9_600, 0.0)), 0));
    let rum = &mut view.drafts[0].draft.lines[0];
    rum.why = Some(Why { fills_up: false, ..why });
    let waiting = |item, why, risk| Waiting { need: need(item, 4_000, Some((3_500, 20.0)), 0), why, risk };
    view.waiting = vec![waiting(2, Waits::Cheaper, Some(0.04)), waiting(1, Waits::NoRoom, None)];
    view
}

#[test]
fn a_filled_up_and_a_late_order_drawn() {
    let mut screen = OrdersScreen::new(setup(), deep());
    screen.update(Action::Down, at(NOON));
    insta::assert_snapshot!(drawn(&mut screen, NOON, 80, 15), @"
     The van: 3, 2 h 10 min left, 1 late  Wide Valley Cit… 0  Not ordered
    The van  as suggested, nothing changed  on hand, coming, par: containers
    order by 14:00 today, 2 h 10 min left  comes Wed
    goods 203.40 EUR  minimum 200.00 reached  delivery 9.00, free from 300.00
    Filled up by 86.40 EUR to reach the smallest order.
    LATE: “2026-11-19 The” should have come Sat 21 Nov; ask for it
      item                on hand coming   par sugg.  packs in each pack at    total
      Harbour rum       3.4 ±0.03          6.0     1      1       6  102.00   102.00
    + Soda             48.0 ±0.00         48.0     6      6      24   14.40    86.40
      Lime juice        1.5 ±0.03          4.0     3      3       1    5.00    15.00



    Soda (200 ml)  24 in a pack at 14.40  their number V4
    not short: it fills the order up
    ");
    insta::assert_snapshot!(drawn(&mut screen, NOON, 130, 12), @"
     The van: 3 lines, 203.40, 2 h 10 min left, 1 late  Wide Valley Cit…: 0 lines, 0.00, tomorrow 09:30  Not ordered here 5
    The van  as suggested, nothing changed  on hand, coming, par: containers
    order by 14:00 today, 2 h 10 min left  comes Wed
    goods 203.40 EUR  minimum 200.00 reached  delivery 9.00, free from 300.00
    Filled up by 86.40 EUR to reach the smallest order.
    LATE: “2026-11-19 The” should have come Sat 21 Nov; ask for it
      item                                           on hand coming   par sugg.  packs in each pack at    total
      Harbour rum                                  3.4 ±0.03          6.0     1      1       6  102.00   102.00
    + Soda                                        48.0 ±0.00         48.0     6      6      24   14.40    86.40 fills the order up
      Lime juice                                   1.5 ±0.03          4.0     3      3       1    5.00    15.00
    Soda (200 ml)  24 in a pack at 14.40  their number V4
    not short: it fills the order up
    ");
}

#[test]
fn what_waits_drawn() {
    let mut screen = OrdersScreen::new(setup(), OrdersView { at_most_cheaper: Money(130), ..deep() });
    screen.turn_to(2);
    insta::assert_snapshot!(drawn(&mut screen, NOON, 80, 20), @"
     The van 3, late  Wide Valley Cit… 0  Not ordered
    What no draft above takes care of, and what is to come  figures: containers
    all orders together 212.40 EUR
    It is not proved that nothing is cheaper: something could be, by 1.30 EUR at
    most.
    what                                on hand coming   par  short
    To make here: short, and house-made
    Fine sugar                              0.5          3.0    2.5
    Short, but cheaper to wait for the next order
    Lime juice                              3.5          4.0    0.5 dry: 4 %
    Short, but its shelf has no room for a pack
    Harbour rum                             5.0          5.7    0.7
    Has a par, but was never counted
    Fine sugar                                           3.0        count it first
    Sent and still to come
    The van: 2026-11-19 The, 1 line                                 LATE: Sat 21 Nov
    ");
    act(&mut screen, Action::Down);
    act(&mut screen, Action::Down);
    act(&mut screen, Action::Down);
    assert_eq!(act(&mut screen, Action::Open), Effect::ExplainOrder(ItemId(2)));
    let foot = |screen: &mut OrdersScreen| drawn(screen, NOON, 160, 20).lines().skip(18).collect::<String>();
    assert!(foot(&mut screen).starts_with("Lime juice. Short, but cheaper to wait for the next order: it runs dry"));
    act(&mut screen, Action::First);
    act(&mut screen, Action::Down);
    assert_eq!(foot(&mut screen), "Fine sugar is made here: House-made (H) books a batch.");
    act(&mut screen, Action::Last);
    let late = "“2026-11-19 The” from The van, 1 line, should have come Sat 21 Nov; Enter goes to Receive.";
    assert_eq!(foot(&mut screen), late);
    assert_eq!(act(&mut screen, Action::Open), Effect::Go(Tab::Receive), "what is sent is booked in there");
    act(&mut screen, Action::First);
    assert_eq!(act(&mut screen, Action::Open), Effect::None, "a heading is nothing to open");
}

#[test]
fn late_is_by_the_calendar_and_not_by_the_business_day() {
    let due = |day: &str| {
        let mut view = view();
        view.sent[0].expected = parse_day(day).ok();
        view
    };
    for (now, day, late) in [
        ("2026-11-23 11:50", "2026-11-23", false),
        ("2026-11-23 11:50", "2026-11-22", true),
        // At half past one the evening still runs, but nothing more comes for it.
        ("2026-11-24 01:30", "2026-11-23", true),
        ("2026-11-24 01:30", "2026-11-24", false),
    ] {
        let mut screen = OrdersScreen::new(setup(), due(day));
        assert_eq!(drawn(&mut screen, now, 80, 20).contains("LATE"), late, "{now} {day}");
        screen.turn_to(2);
        assert_eq!(drawn(&mut screen, now, 80, 20).contains("LATE"), late, "{now} {day}");
    }
    let mut two = due("2026-11-20");
    two.sent.push(Order { id: OrderId(9), expected: parse_day("2026-11-19").ok(), ..two.sent[0].clone() });
    let drawn = drawn(&mut OrdersScreen::new(setup(), two), NOON, 80, 20);
    assert!(drawn.contains("LATE: 2 orders, the oldest should have come Thu 19 Nov; ask for them"), "{drawn}");
    assert!(drawn.contains("2 late"), "{drawn}");
}

fn told(item: i64, says: &str) -> WhyView {
    WhyView {
        item: ItemId(item),
        because: vec![format!("On hand {says}"), "Par by hand 6.0; it rules".to_owned()],
        lines: vec![(SupplierId(1), view().drafts[0].draft.lines[0].clone(), false)],
        waiting: None,
        elsewhere: Vec::new(),
        at_most_cheaper: Money(0),
    }
}

#[test]
fn why_a_line_is_ordered_is_read_and_left_again() {
    let mut screen = screen();
    assert_eq!(act(&mut screen, Action::Open), Effect::ExplainOrder(ItemId(1)));
    assert_eq!(screen.scope(), Scope::Orders, "nothing is known before the book was asked");
    screen.show_why(told(1, "2.4 (1680 ml ± 20 ml)"));
    assert_eq!((screen.scope(), screen.explained()), (Scope::OrderWhy, Some(ItemId(1))));
    insta::assert_snapshot!(drawn(&mut screen, NOON, 60, 12), @"
    Why: Harbour rum, 700 ml a container
    What is there, and what is asked
      On hand 2.4 (1680 ml ± 20 ml).
      Par by hand 6.0; it rules.
    What is ordered
      The van: 1 pack of 6 at 102.00 EUR.
    From others
      Nobody else offers it.
    ");
    assert_eq!(act(&mut screen, Action::Next), Effect::ExplainOrder(ItemId(4)));
    assert_eq!(act(&mut screen, Action::Next), Effect::ExplainOrder(ItemId(2)));
    assert_eq!(act(&mut screen, Action::Next), Effect::None, "there is no further line");
    assert_eq!(act(&mut screen, Action::Previous), Effect::ExplainOrder(ItemId(4)));
    assert_eq!(act(&mut screen, Action::Back), Effect::None);
    assert_eq!((screen.scope(), screen.explained()), (Scope::Orders, None));
    assert_eq!(screen.line().map(|line| line.item), Some(ItemId(4)), "the cursor went along");

    // Beside headings and sent orders, which have no why.
    screen.turn_to(2);
    act(&mut screen, Action::Down);
    screen.show_why(told(3, "none"));
    assert_eq!(act(&mut screen, Action::Next), Effect::ExplainOrder(ItemId(3)), "never counted");
    assert_eq!(act(&mut screen, Action::Next), Effect::None);
    let mut nothing =
        OrdersScreen::new(setup(), OrdersView { drafts: view().drafts[1..].to_vec(), ..Default::default() });
    assert!(said(act(&mut nothing, Action::Open)).contains("no line yet"));
}

#[test]
fn a_budget_is_typed_told_and_taken_away() {
    let mut screen = screen();
    assert_eq!((act(&mut screen, Action::Budget), screen.scope()), (Effect::None, Scope::BudgetEntry));
    typed(&mut screen, "150,5");
    assert!(drawn(&mut screen, NOON, 80, 20).contains("For all orders together, EUR: 150,5"));
    assert_eq!(act(&mut screen, Action::Accept), Effect::PlanOrders(Some(Money(15_050))));
    assert_eq!((screen.scope(), screen.budget()), (Scope::Orders, None), "it holds once it is planned by");

    let left = Waiting { need: need(2, 4_000, Some((3_500, 20.0)), 0), why: Waits::Budget, risk: Some(0.04) };
    let within = OrdersView { budget: Some(Money(15_050)), waiting: vec![left], ..view() };
    screen.refresh(setup(), within.clone());
    let lines = drawn(&mut screen, NOON, 80, 20);
    assert!(lines.contains("budget 150.50 EUR  all orders 126.00  1 left out, on the last page"), "{lines}");
    screen.turn_to(2);
    let lines = drawn(&mut screen, NOON, 80, 20);
    assert!(lines.contains("Left out for the budget") && lines.contains("dry: 4 %"), "{lines}");
    screen.refresh(setup(), OrdersView { budget: Some(Money(10_000)), ..within });
    let lines = drawn(&mut screen, NOON, 80, 20);
    assert!(lines.contains("all orders 126.00, OVER by 26.00"), "{lines}");

    // What it is can be typed over, or erased; what is no sum is refused and can be mended.
    act(&mut screen, Action::Budget);
    typed(&mut screen, "1.2.3");
    assert!(said(act(&mut screen, Action::Accept)).starts_with("the budget: "));
    assert_eq!(screen.scope(), Scope::BudgetEntry);
    act(&mut screen, Action::ClearField);
    screen.paste("-5");
    assert!(said(act(&mut screen, Action::Accept)).contains("a sum of nothing or more"));
    act(&mut screen, Action::ClearField);
    assert_eq!(act(&mut screen, Action::Accept), Effect::PlanOrders(None));
    act(&mut screen, Action::Budget);
    assert_eq!((act(&mut screen, Action::Cancel), screen.budget()), (Effect::None, Some(Money(10_000))));
}
