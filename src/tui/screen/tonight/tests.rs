use super::*;
use crate::domain::gauge::Level;
use crate::domain::ledger::Count;
use crate::domain::measure::{Amount, Money};
use crate::domain::order::Totals;
use crate::domain::rows::Progress;
use crate::domain::venue::Moment;
use crate::domain::venue::parse_day;
use crate::tui::screen::Scene;
use crate::tui::screen::fixture::{at, bar};
use crate::tui::theme::Theme;
use crate::tui::widget::harness::{at_every_size, shown};

fn now() -> Moment {
    at("2026-11-23 01:30")
}

fn rows() -> Tonight {
    let low = |item, ml: i64, par: i64, on_order: i64, made_here| LowRow {
        item: ItemId(item),
        on_hand: Level { amount: Amount(ml * 1_000), u: 20_000.0 },
        par: Amount(par * 1_000),
        on_order: Amount(on_order * 1_000),
        made_here,
    };
    let unmapped = Unmapped { lines: 4, quantity: 7_000, net: Money(8_400) };
    Tonight {
        dry: Vec::new(),
        claims: Vec::new(),
        past_date: Vec::new(),
        day: parse_day("2026-11-22").unwrap(),
        open_count: None,
        counted: false,
        places: vec![(PlaceId(1), Some(at("2026-11-22 02:10"))), (PlaceId(2), None)],
        deadlines: vec![DeadlineRow {
            supplier: SupplierId(1),
            by: at("2026-11-23 14:00"),
            comes: parse_day("2026-11-25").unwrap(),
            lines: 3,
            totals: Totals { goods: Money(11_640), fee: Money(900), to_minimum: Money(8_360) },
        }],
        expected: vec![ExpectedRow {
            order: OrderId(5),
            name: "van-12".to_owned(),
            supplier: SupplierId(1),
            expected: parse_day("2026-11-20").ok(),
            late: true,
            lines: 4,
        }],
        low: vec![low(2, -80, 4_000, 0, true), low(1, 1_400, 4_200, 4_200, false)],
        unmapped: vec![("PROMO \x1b[2J".to_owned(), unmapped)],
    }
}

fn screen() -> TonightScreen {
    TonightScreen::new(Arc::new(bar()), rows())
}

fn drawn(screen: &mut TonightScreen, width: u16, height: u16) -> String {
    let theme = Theme::from_env(true);
    shown(width, height, |frame| screen.draw(frame, frame.area(), Scene { theme: &theme, now: now() }))
}

#[test]
fn what_is_due_at_half_past_one() {
    insta::assert_snapshot!(drawn(&mut screen(), 80, 21), @"
    Sunday 22 November so far
    Closing count
      Not counted yet for this business day                            last counted:
      Rail                                                          Sun 22 Nov 02:10
      Cellar                                                           never counted
    Order before
      The van            12 h 30 min left  3 lines, 125.40 EUR  83.60 to the minimum
    Deliveries expected
      The van                                  LATE, due Fri 20 Nov  4 lines  van-12
    Till names: one means nothing yet
      “PROMO [2J”                                        sold 7 times  84.00 EUR net
    Running low: 2 at half their par or less
      Lime juice                    -0.1 of 4.0                made here  ▁▁▁▁▁▁▁▁▁▁
      Harbour rum                    2.0 of 6.0  6.0 on order             ▆▆▆▃▁▁▁▁▁▁




    Nothing was counted for this business day yet. Enter chooses what to walk along.
    ");
}

#[test]
fn two_columns_where_there_is_room() {
    insta::assert_snapshot!(drawn(&mut screen(), 120, 16), @"
    Sunday 22 November so far
    Closing count                                                 Till names: one means nothing yet
      Not counted yet for this business day       last counted:     “PROMO [2J”                  sold 7 times  84.00 EUR net
      Rail                                     Sun 22 Nov 02:10   Running low: 2 at half their par or less
      Cellar                                      never counted     Lime juice          -0.1 of 4.0                made here
    Order before                                                    Harbour rum          2.0 of 6.0  6.0 on order
      The van             12 h 30 min left  3 lines, 125.40 EUR
    Deliveries expected
      The van             LATE, due Fri 20 Nov  4 lines  van-12




    Nothing was counted for this business day yet. Enter chooses what to walk along.
    ");
}

#[test]
fn the_least_important_facts_go_in_a_small_window() {
    let mut screen = screen();
    for _ in 0..3 {
        screen.update(Action::Down);
    }
    insta::assert_snapshot!(drawn(&mut screen, 60, 17), @"
    Sunday 22 November so far
    Closing count
      Not counted yet for this business day        last counted:
      Rail                                      Sun 22 Nov 02:10
      Cellar                                       never counted
    Order before
      The van              12 h 30 min left  3 lines, 125.40 EUR
    Deliveries expected
      The van              LATE, due Fri 20 Nov  4 lines  van-12
    Till names: one means nothing yet
      “PROMO [2J”                    sold 7 times  84.00 EUR net
    Running low: 2 at half their par or less
                                                               ▾
    Order from The van before Mon 23 Nov 14:00 (12 h 30 min
    left); it comes Wed 25 Nov. 3 lines to order, 116.40 EUR and
    9.00 EUR for the delivery; 83.60 EUR are missing to their
    minimum.
    ");
}

#[test]
fn enter_goes_to_where_it_is_dealt_with() {
    let mut screen = screen();
    let mut went = Vec::new();
    for _ in 0..8 {
        went.push(screen.update(Action::Open));
        assert_eq!(screen.update(Action::Down), Effect::None);
    }
    let tabs = [Tab::Count, Tab::Count, Tab::Count, Tab::Orders, Tab::Receive, Tab::Till, Tab::House, Tab::Orders];
    assert_eq!(went, tabs.map(Effect::Go));
}

#[test]
fn a_count_that_was_begun_comes_first_and_is_gone_on_with() {
    let opened = at("2026-11-23 01:05");
    let count = Count { id: CountId(9), name: "Sunday".to_owned(), opened, closed: None, blind: false };
    let mut screen = TonightScreen::new(
        Arc::new(bar()),
        Tonight { open_count: Some((count, Progress { done: 12, of: 40 })), ..rows() },
    );
    assert_eq!(screen.update(Action::Open), Effect::OpenCount(CountId(9)));
    let drawn = drawn(&mut screen, 80, 21);
    assert!(drawn.contains("Begun: Sunday") && drawn.contains("12 of 40 lines"), "{drawn}");
    assert!(!drawn.contains("Not counted yet"), "{drawn}");
}

#[test]
fn an_evening_without_anything_due_says_so_in_few_words() {
    let quiet = Tonight { day: parse_day("2026-11-22").unwrap(), counted: true, ..Tonight::default() };
    let mut screen = TonightScreen::new(Arc::new(bar()), quiet);
    let drawn = drawn(&mut screen, 80, 21);
    for said in ["Counted for this business day", "no supplier has", "nothing is on its way", "nothing has fallen"] {
        assert!(drawn.contains(said), "{said} in\n{drawn}");
    }
    assert!(!drawn.contains("Till names"), "{drawn}");
    assert_eq!(screen.update(Action::Open), Effect::Go(Tab::Count));
}

#[test]
fn the_cursor_stays_on_its_thing_in_fresh_rows() {
    let mut screen = screen();
    screen.update(Action::Last);
    assert_eq!(screen.here(), Some(&Due::Low(ItemId(1))));
    let counted = Tonight { counted: true, ..rows() };
    screen.refresh(Arc::new(bar()), counted.clone());
    assert_eq!(screen.here(), Some(&Due::Low(ItemId(1))));
    screen.refresh(Arc::new(bar()), Tonight { low: Vec::new(), unmapped: Vec::new(), ..counted });
    assert_eq!(screen.here(), Some(&Due::Delivery(OrderId(5))), "what is done gives way to what is left");
}

#[test]
fn no_size_panics() {
    for last in [false, true] {
        at_every_size(|frame| {
            let mut screen = screen();
            if last {
                screen.update(Action::Last);
            }
            screen.draw(frame, frame.area(), Scene { theme: &Theme::from_env(true), now: now() });
        });
    }
}
