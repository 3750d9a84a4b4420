use super::*;
use crate::domain::gauge::Level;
use crate::domain::ledger::Count;
use crate::domain::measure::{Amount, Money};
use crate::domain::order::Totals;
use crate::domain::rows::{DeadlineOrder, DryVan, Progress, SecondFault, SecondFolder};
use crate::domain::venue::{DrinkId, Item, Moment, parse_day};
use crate::tui::screen::Scene;
use crate::tui::screen::fixture::{self, at, bar};
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
        working_out: false,
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
            order: Some(DeadlineOrder {
                lines: 3,
                totals: Totals { goods: Money(11_640), fee: Money(900), to_minimum: Money(8_360) },
            }),
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
        at_every_size(|frame| {
            let mut screen = TonightScreen::new(Arc::new(bar()), Tonight { dry: dry(4), ..rows() });
            if last {
                screen.update(Action::PageDown);
            }
            screen.draw(frame, frame.area(), Scene { theme: &Theme::from_env(true), now: now() });
        });
    }
}

/// So many items that may run dry, the first bought and the second made here.
fn dry(many: i64) -> Vec<DryRow> {
    let row = |item: i64| DryRow {
        item: ItemId(item),
        on_hand: Level { amount: Amount(840_000), u: 20_000.0 },
        chance: 0.62,
        day: parse_day("2026-11-24").ok().filter(|_| item != 4),
        comes: parse_day("2026-11-25").ok().filter(|_| item != 2),
        ordered: item == 3,
        made_here: item == 2,
        vans: match item {
            1 => vec![DryVan {
                supplier: SupplierId(1),
                by: Some(at("2026-11-23 14:00")),
                comes: parse_day("2026-11-25").unwrap(),
            }],
            _ => Vec::new(),
        },
        sizes: if item == 1 { vec![ItemId(4)] } else { Vec::new() },
        drinks: if item == 1 { vec![DrinkId(1)] } else { Vec::new() },
    };
    (1..=many).map(row).collect()
}

#[test]
fn what_runs_dry_comes_first() {
    let mut screen = TonightScreen::new(Arc::new(bar()), Tonight { dry: dry(4), ..rows() });
    insta::assert_snapshot!(drawn(&mut screen, 80, 21), @"
    Sunday 22 November so far
    Likely to run dry before more of it comes: 4
      Harbour rum                1.2 ±0.03  Tue     likely, 62 %  order by Mon 14:00
      Lime juice                 0.8 ±0.02  Tue     likely, 62 %  make it
      Fine sugar                 0.8 ±0.02  Tue     likely, 62 %  on its way
      Soda                       4.2 ±0.10  by Wed  likely, 62 %  nobody offers it
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
    Running low
      nothing but what is likely to run dry
    Harbour rum: 1.2 left (840 ± 20 ml), most likely dry in the course of Tue. Dry
    before more comes Wed: likely, 62 %. Today: order by Mon 14:00 from The van,
    comes Wed; Soda is there; else off the menu: Harbour sour.
    ");
    assert_eq!(screen.update(Action::Open), Effect::Go(Tab::Orders));
    assert_eq!(screen.to_order(), (Some(SupplierId(1)), Some(ItemId(1))));
    screen.update(Action::Down);
    assert_eq!(screen.update(Action::Open), Effect::Go(Tab::House), "what is made here is made, not ordered");
    assert_eq!(screen.made_here(), Some(ItemId(2)));
    screen.update(Action::Down);
    let on_its_way = drawn(&mut screen, 80, 21);
    assert!(on_its_way.contains("before what is on its way comes Wed: likely, 62 %."), "{on_its_way}");
}

#[test]
fn none_left_is_said_as_it_is() {
    let empty = DryRow { on_hand: Level::default(), chance: 1.0, ..dry(1).remove(0) };
    let mut screen = TonightScreen::new(Arc::new(bar()), Tonight { dry: vec![empty], ..rows() });
    let drawn = drawn(&mut screen, 80, 21);
    assert!(drawn.contains("Harbour rum: none is left, before more comes Wed. Today: order by Mon 14:00"), "{drawn}");
}

#[test]
fn many_that_run_dry_do_not_hide_the_rest_of_the_evening() {
    let many = |n: i64| {
        let rows =
            Tonight { dry: (1..=n).map(|id| DryRow { item: ItemId(id), ..dry(1).remove(0) }).collect(), ..rows() };
        let mut parts = fixture::parts();
        for id in 5..=n {
            parts.items.push(Item { id: ItemId(id), name: format!("Item {id}"), ..parts.items[0].clone() });
        }
        TonightScreen::new(Arc::new(Setup::new(parts)), rows)
    };
    let listed = |screen: &TonightScreen| screen.lines.iter().filter(|due| matches!(due, Due::Dry(_))).count();
    assert_eq!(listed(&many(6)), 6, "a line that hides one is as long as that one");
    let mut screen = many(15);
    insta::assert_snapshot!(drawn(&mut screen, 80, 21), @"
    Sunday 22 November so far
    Likely to run dry before more of it comes: 15
      Harbour rum                   1.2 ±0.03  Tue  likely, 62 %  order by Mon 14:00
      Lime juice                    0.8 ±0.02  Tue  likely, 62 %  order by Mon 14:00
      Fine sugar                    0.8 ±0.02  Tue  likely, 62 %  order by Mon 14:00
      Soda                          4.2 ±0.10  Tue  likely, 62 %  order by Mon 14:00
      Item 5                        1.2 ±0.03  Tue  likely, 62 %  order by Mon 14:00
      and 10 more
    Closing count
      Not counted yet for this business day                            last counted:
      Rail                                                          Sun 22 Nov 02:10
      Cellar                                                           never counted
    Order before
      The van            12 h 30 min left  3 lines, 125.40 EUR  83.60 to the minimum
    Deliveries expected
      The van                                  LATE, due Fri 20 Nov  4 lines  van-12
    Till names: one means nothing yet
                                                                                   ▾
    Harbour rum: 1.2 left (840 ± 20 ml), most likely dry in the course of Tue. Dry
    before more comes Wed: likely, 62 %. Today: order by Mon 14:00 from The van,
    comes Wed; Soda is there; else off the menu: Harbour sour.
    ");
    for _ in 0..5 {
        screen.update(Action::Down);
    }
    assert_eq!((screen.here(), listed(&screen)), (Some(&Due::MoreDry(10)), 5));
    assert_eq!(screen.update(Action::Open), Effect::None);
    assert_eq!((screen.here(), listed(&screen)), (Some(&Due::Dry(ItemId(6))), 15), "on to the first of the others");
    for _ in 0..10 {
        screen.update(Action::Down);
    }
    screen.update(Action::Open);
    assert_eq!((screen.here(), listed(&screen)), (Some(&Due::Dry(ItemId(1))), 5));
}

fn copies(failed: Option<&str>, fault: Option<SecondFault>) -> CopiesState {
    CopiesState {
        days: bar().venue.days,
        folder: "/bar/book.copies".into(),
        last: Some(at("2026-11-22 03:12")),
        failed: failed.map(str::to_owned),
        second: Some(SecondFolder { folder: "/media/stick".into(), last: None, fault }),
    }
}

#[test]
fn the_head_says_when_the_last_copy_was_made_as_far_as_there_is_room() {
    let mut screen = screen();
    let mut head = |width| {
        let drawn =
            shown(width, 20, |frame| screen.draw(frame, frame.area(), Scene { theme: &Theme::default(), now: now() }));
        screen.copied(copies(None, None));
        drawn.lines().next().unwrap().to_owned()
    };
    assert_eq!(head(80).trim_end(), "Sunday 22 November so far", "nothing is known of them yet");
    assert!(head(100).ends_with(" last copy Sun 22 Nov 03:12 beside the book and in /media/stick"));
    assert!(head(80).ends_with(" last copy Sun 22 Nov 03:12, in both folders"));
    assert!(head(60).starts_with("Sunday 22 November so far ") && head(60).ends_with(" last copy Sun 22 Nov 03:12"));
    assert_eq!(head(40).trim_end(), "Sunday 22 November so far");
}

#[test]
fn what_is_wrong_with_the_copies_stands_where_it_hurts_and_enter_makes_one() {
    let mut screen = screen();
    let at = |screen: &TonightScreen| screen.lines.iter().position(|line| *line == Due::Copies);
    let section = |screen: &TonightScreen, section| screen.lines.iter().position(|line| *line == Due::Heading(section));
    screen.copied(copies(None, None));
    assert_eq!(at(&screen), None);
    screen.copied(copies(None, Some(SecondFault::NotThere)));
    assert!(at(&screen) > section(&screen, Section::Deliveries), "a stick that is not there can wait");
    screen.copied(copies(Some("the disk is full"), None));
    let urgent = at(&screen).unwrap();
    assert!(Some(urgent) < section(&screen, Section::Deadlines));
    screen.window.select(urgent, screen.lines.len());
    assert_eq!(screen.update(Action::Open), Effect::CopyBook);
    let drawn = shown(80, 20, |frame| screen.draw(frame, frame.area(), Scene { theme: &Theme::default(), now: now() }));
    assert!(drawn.contains("No copy since Sun 22 Nov 03:12: the disk is full; the newest stands only in"), "{drawn}");
}
