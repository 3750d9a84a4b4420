//! Keys in, bookings out; then what is drawn.

use super::*;
use crate::domain::venue::{Containers, Moment, PlaceId, Setup};
use crate::tui::screen::fixture::{at, bar};
use crate::tui::widget::harness::{at_every_size, shown};
use std::sync::Arc;

const RAIL: PlaceId = PlaceId(1);
const CELLAR: PlaceId = PlaceId(2);

fn carry(item: i64, from: &[(PlaceId, i64)], lacking: i64) -> Carry {
    let (par, there) = (Amount(2_100_000), Amount(840_000));
    Carry { item: ItemId(item), to: RAIL, par, there, from: from.to_vec(), lacking }
}

fn transfer(seq: i64, item: i64) -> Transfer {
    Transfer {
        seq: Seq(seq),
        at: now(),
        item: ItemId(item),
        containers: Containers(2_000),
        from: CELLAR,
        to: RAIL,
        by: Some("IP".to_owned()),
    }
}

fn now() -> Moment {
    at("2026-11-23 17:20")
}

fn view() -> CarryView {
    CarryView {
        setup: Arc::new(bar()),
        list: vec![
            carry(1, &[(CELLAR, 2)], 0),
            carry(2, &[], 3),
            carry(4, &[(CELLAR, 3), (PlaceId(9), 1)], 2),
            Carry { to: CELLAR, ..carry(3, &[(RAIL, 1)], 0) },
        ],
        carried: vec![transfer(8, 2), transfer(7, 1)],
    }
}

fn act(page: &mut CarryPage, action: Action) -> Effect {
    page.update(action).expect("the page stays open")
}

fn booked(effect: Effect) -> Vec<(i64, Vec<i64>)> {
    let Effect::BookCarried(list) = effect else { panic!("{effect:?}") };
    list.into_iter().map(|c| (c.item.0, c.from.into_iter().map(|(_, n)| n).collect())).collect()
}

fn said(effect: Effect) -> String {
    match effect {
        Effect::Say(notice) => notice.text,
        Effect::Ask { question, .. } => question,
        other => panic!("{other:?}"),
    }
}

fn drawn(page: &mut CarryPage, width: u16, height: u16) -> String {
    let theme = Theme::from_env(true);
    shown(width, height, |frame| page.draw(frame, frame.area(), Scene { theme: &theme, now: now() }))
}

#[test]
fn line_by_line_or_all_at_once() {
    let mut page = CarryPage::new(view());
    assert_eq!(booked(act(&mut page, Action::Accept)), [(1, vec![2])]);
    act(&mut page, Action::Down);
    // Fewer of the soda: the last place gives less first.
    for _ in 0..2 {
        assert_eq!(act(&mut page, Action::OneLess), Effect::None);
    }
    assert_eq!(booked(act(&mut page, Action::Accept)), [(4, vec![2, 0])]);
    let Effect::Ask { question, then, .. } = act(&mut page, Action::BookAll) else { panic!("no question") };
    assert!(question.starts_with("Was all of it carried? 5 containers in 3 lines, to 2 places."), "{question}");
    assert_eq!(booked(*then), [(1, vec![2]), (4, vec![2, 0]), (3, vec![1])]);
    for _ in 0..9 {
        act(&mut page, Action::OneLess);
    }
    assert!(said(act(&mut page, Action::Accept)).contains("+ carries one more"), "none of it");
    for _ in 0..4 {
        assert_eq!(act(&mut page, Action::OneMore), Effect::None);
    }
    assert!(said(act(&mut page, Action::OneMore)).contains("full"), "no more than the list says");
    assert_eq!(booked(act(&mut page, Action::Accept)), [(4, vec![3, 1])]);
    assert_eq!(page.update(Action::Back), None);
}

#[test]
fn what_is_nowhere_to_be_had_and_what_was_carried_cannot_be_booked() {
    let mut page = CarryPage::new(view());
    for _ in 0..3 {
        act(&mut page, Action::Down);
    }
    assert_eq!(page.here(), Some(&At::Lacking(ItemId(2), RAIL)));
    for action in [Action::Accept, Action::OneLess, Action::OneMore] {
        assert!(said(act(&mut page, action)).contains("nothing to carry"));
    }
    act(&mut page, Action::Down);
    assert!(said(act(&mut page, Action::Accept)).contains("nothing to carry"));
    let nothing = CarryView { list: vec![carry(2, &[], 3)], carried: Vec::new(), ..view() };
    let mut page = CarryPage::new(nothing);
    assert!(said(act(&mut page, Action::BookAll)).contains("nothing is to be carried"));
    assert!(said(act(&mut page, Action::Undo)).contains("nothing was carried"));
}

#[test]
fn a_booking_is_taken_back() {
    let mut page = CarryPage::new(view());
    let taken = |effect| match effect {
        Effect::Ask { question, then, .. } => (question, *then),
        other => panic!("{other:?}"),
    };
    let (question, then) = taken(act(&mut page, Action::Undo));
    assert_eq!(
        question,
        "Take back 2 Lime juice, booked as carried from Cellar to Rail at 17:20? The journal keeps both."
    );
    assert_eq!(then, Effect::TakeBackCarried(Seq(8)), "the newest, from wherever the cursor is");
    act(&mut page, Action::Last);
    assert_eq!(taken(act(&mut page, Action::Undo)).1, Effect::TakeBackCarried(Seq(7)), "else the one it is on");
}

#[test]
fn fresh_rows_keep_the_line_and_what_was_said_of_it() {
    let mut page = CarryPage::new(view());
    act(&mut page, Action::Down);
    act(&mut page, Action::OneLess);
    let mut fresh = view();
    fresh.list.remove(0);
    page.refresh(fresh.clone());
    assert_eq!(page.here(), Some(&At::Carry(ItemId(4), RAIL)));
    assert_eq!(booked(act(&mut page, Action::Accept)), [(4, vec![3, 0])]);
    // Booked, and to be filled up again later: what was said of it is over.
    let gone = CarryView { list: fresh.list[..1].to_vec(), ..fresh.clone() };
    page.refresh(gone);
    assert_eq!(page.here(), Some(&At::Lacking(ItemId(2), RAIL)));
    page.refresh(fresh);
    act(&mut page, Action::First);
    assert_eq!(booked(act(&mut page, Action::Accept)), [(4, vec![3, 1])]);
}

#[test]
fn the_list_drawn() {
    let mut page = CarryPage::new(view());
    act(&mut page, Action::Down);
    act(&mut page, Action::OneLess);
    insta::assert_snapshot!(drawn(&mut page, 80, 16), @"
    Carry up before service: 6 containers
    item                           there   par carry from
    To Rail
    Harbour rum                      1.2   3.0     2 Cellar
    Soda                             4.2  10.5    *3 Cellar, 2 nowhere to be had
    To Cellar
    Fine sugar                       0.8   2.1     1 Rail
    Missing, and nowhere to be had
    Lime juice                       0.8   2.1       3 to Rail
    Carried on this business day
    Lime juice                                     2 Cellar to Rail 17:20 IP
    Harbour rum                                    2 Cellar to Rail 17:20 IP


    Soda: 4.2 of 10.5 in Rail; carry 3 from Cellar, 2 nowhere to be had.
    ");
    insta::assert_snapshot!(drawn(&mut page, 48, 9), @"
    Carry up before service: 6 containers
    item                                       carry
    To Rail
    Harbour rum                                    2
    Soda                                          *3
    To Cellar
                                              ▾ 3/10
    Soda: 4.2 of 10.5 in Rail; carry 3 from Cellar,
    2 nowhere to be had.
    ");
    let full = CarryView { list: Vec::new(), carried: Vec::new(), ..view() };
    let mut setup: Setup = bar();
    assert!(drawn(&mut CarryPage::new(full.clone()), 80, 5).contains("No place has a par of its own"));
    setup.shelves[0].par = Some(Containers(2_000));
    let full = CarryView { setup: Arc::new(setup), ..full };
    assert!(drawn(&mut CarryPage::new(full), 80, 5).contains("Every place is filled up to its par."));
}

#[test]
fn no_size_panics() {
    let theme = Theme::from_env(true);
    for last in [false, true] {
        at_every_size(|frame| {
            let mut page = CarryPage::new(view());
            if last {
                act(&mut page, Action::Last);
            }
            page.draw(frame, frame.area(), Scene { theme: &theme, now: now() });
        });
    }
}
