//! Actions in, effects out; then what is drawn.

use super::*;
use crate::domain::drink::{Larder, Paid};
use crate::domain::gauge::{Level, Tally};
use crate::domain::ledger::{Order as Sent, OrderLine};
use crate::domain::measure::Money;
use crate::domain::par::{Hours, Prospects, Replayed, item_pars};
use crate::domain::rows::{Lately, LookBackRow, ParSet};
use crate::domain::usage::{Anchor, Asked, AskedDays, DayTold, OnHand, Standing};
use crate::domain::venue::{Containers, CountId, Moment, OrderId, OrderState, Setup, SupplierId, parse_day};
use crate::tui::keymap::resolve;
use crate::tui::screen::Scene;
use crate::tui::screen::fixture::{at, bar, pressed};
use crate::tui::theme::Theme;
use crate::tui::widget::harness::{at_every_size, shown};
use chrono::{Datelike, Days, NaiveDate, Weekday};
use std::collections::HashMap;
use std::sync::Arc;

const RUM: ItemId = ItemId(1);
const LIME: ItemId = ItemId(2);
const SUGAR: ItemId = ItemId(3);
const SODA: ItemId = ItemId(4);
/// Days of sales that the book knows.
const KNOWN: u64 = 70;

/// A Monday afternoon, an hour before the deadline.
fn now() -> Moment {
    at("2026-11-23 13:00")
}

fn day(text: &str) -> NaiveDate {
    parse_day(text).unwrap()
}

/// Rum is asked for in measures of 60 ml and was dry for two days, lime juice in such of 20 ml, a soda now and then; nobody
/// asks for sugar, which was never counted. Mondays are days without trade. Soda is on its way.
fn view_of(setup: Setup) -> ParView {
    let first = day("2026-11-22").checked_sub_days(Days::new(KNOWN - 1)).unwrap();
    let days: Vec<NaiveDate> = first.iter_days().take(KNOWN as usize).collect();
    let open = |day: &NaiveDate| day.weekday() != Weekday::Mon;
    let many = |day: &NaiveDate, n: usize| {
        if open(day) { 4 + (n * 5) % 7 + 3 * usize::from(day.weekday() == Weekday::Sat) } else { 0 }
    };
    let asked = |each: f64, of: &dyn Fn(usize) -> f64| {
        let daily = days.iter().enumerate().map(|(n, day)| each * of(n) * f64::from(u8::from(open(day)))).collect();
        Asked { daily, piece: each, ..Asked::default() }
    };
    let dry = |n: usize| (38..40).contains(&n);
    let serves = |n: usize| many(&days[n], n) as f64;
    let rum = asked(60_000.0, &|n| if dry(n) { 0.0 } else { serves(n) });
    let lime = asked(20_000.0, &serves);
    let soda = asked(200_000.0, &|n| if n.is_multiple_of(9) { 1.0 } else { 0.0 });
    let told: Vec<DayTold> = (0..days.len())
        .map(|n| match n {
            37 => DayTold::AtLeast,
            n if dry(n) => DayTold::Nothing,
            _ => DayTold::Whole,
        })
        .collect();
    let asked = AskedDays {
        first,
        rung: days.iter().enumerate().map(|(n, day)| 1_000 * many(day, n) as i64).collect(),
        items: HashMap::from([(RUM, rum), (LIME, lime), (SODA, soda)]),
    };
    let last_sale = Some(at("2026-11-23 01:00"));
    let prospects = Prospects::new(&setup, asked, HashMap::from([(RUM, told)]), Hours::default(), last_sale);
    let there = |item, millilitres: i64, u| {
        let level = Level { amount: Amount(millilitres * 1_000), u };
        let anchor = Anchor { at: at("2026-11-22 02:10"), count: CountId(1), seen: Vec::new() };
        let (seen, came, sold) = (Tally::default(), Amount::ZERO, Amount::ZERO);
        (item, OnHand { item, anchor, level, seen, came, sold, places: Vec::new() })
    };
    let on_hand = [there(RUM, 3_780, 28_577.0), there(LIME, 1_100, 29_000.0), there(SODA, 800, 0.0)];
    let standing = Standing { items: HashMap::from(on_hand), ..Standing::default() };
    let line = OrderLine { line: 1, item: SODA, packs: 1, pack: 24, price: Money(1_440) };
    let sent = Sent {
        id: OrderId(1),
        name: "B-1".to_owned(),
        supplier: SupplierId(1),
        state: OrderState::Sent,
        placed: Some(at("2026-11-20 12:00")),
        expected: Some(day("2026-11-26")),
        lines: vec![line],
    };
    let larder = Larder::new(&setup, Paid::default(), day("2026-11-23"));
    let pars = item_pars(&setup, &prospects, &standing, &[sent], &larder, now());
    let currency = setup.venue.currency;
    let cost = |item: &crate::domain::venue::Item| {
        Some((item.id, larder.costs.of(item.id)?.exact(Amount(1_000_000)).minor(currency) / 1e6))
    };
    let unit = setup.items.iter().filter_map(cost).collect();
    let known = Some(first..=day("2026-11-22"));
    let lately = Lately::of(&prospects);
    ParView { setup: Arc::new(setup), now: now(), pars, unit, known, last_sale, lately }
}

fn view() -> ParView {
    view_of(bar())
}

fn screen() -> ParScreen {
    ParScreen::new(view())
}

/// The item under the cursor.
fn on(screen: &ParScreen) -> ItemId {
    screen.under_cursor().unwrap()
}

fn drawn_in(screen: &mut ParScreen, (width, height): (u16, u16), theme: &Theme) -> String {
    let scene = Scene { theme, now: now() };
    // Twice: a window learns from the first drawing how many rows it has.
    shown(width, height, |frame| screen.draw(frame, frame.area(), scene));
    shown(width, height, |frame| screen.draw(frame, frame.area(), scene))
}

fn drawn(screen: &mut ParScreen, width: u16, height: u16) -> String {
    drawn_in(screen, (width, height), &Theme::from_env(true))
}

/// The room that a screen has in windows of 80x24, 100x30 and 160x50.
const SIZES: [(u16, u16); 3] = [(80, 21), (100, 27), (160, 47)];

fn press(screen: &mut ParScreen, keys: &str) -> Vec<Effect> {
    pressed(keys, |key| resolve(screen.scope(), key).map(|action| screen.update(action)))
}

fn said(effects: &[Effect]) -> &str {
    match effects {
        [Effect::Say(notice)] => &notice.text,
        other => panic!("{other:?}"),
    }
}

#[test]
fn all_items_with_both_pars_and_their_cover() {
    let mut screen = screen();
    screen.update(Action::Down);
    for size in SIZES {
        insta::assert_snapshot!(format!("par-list-{}", size.0), drawn(&mut screen, size.0, size.1));
    }
    let ascii = Theme::from_env(true).ascii();
    insta::assert_snapshot!("par-list-ascii", drawn_in(&mut screen, (80, 21), &ascii));
}

#[test]
fn one_item_with_all_that_is_known_of_it() {
    let mut screen = screen();
    screen.find(RUM);
    assert_eq!(screen.update(Action::Open), Effect::None);
    assert_eq!(screen.scope(), Scope::ParPage);
    for size in SIZES {
        insta::assert_snapshot!(format!("par-item-{}", size.0), drawn(&mut screen, size.0, size.1));
    }
    let ascii = Theme::from_env(true).ascii();
    drawn_in(&mut screen, (80, 21), &ascii);
    screen.update(Action::Last);
    insta::assert_snapshot!("par-item-ascii", drawn_in(&mut screen, (80, 21), &ascii));
    screen.update(Action::Next);
    assert_eq!(on(&screen), LIME);
    let text = drawn(&mut screen, 80, 40);
    assert!(text.contains("Lime juice") && !text.contains("dry all day"), "{text}");
    screen.find(SUGAR);
    let text = drawn(&mut screen, 80, 21);
    assert!(text.contains("Never counted") && text.contains("No par by demand"), "{text}");
    screen.update(Action::Back);
    assert_eq!(screen.scope(), Scope::Par);
}

#[test]
fn a_par_is_typed_by_hand() {
    let mut screen = screen();
    screen.find(RUM);
    assert_eq!(press(&mut screen, "4.5\n"), [Effect::SetPar(RUM, Some(Containers(4_500)))]);
    assert_eq!(screen.scope(), Scope::Par);
    // Nothing typed changes nothing, and neither does what was thrown away.
    assert_eq!(press(&mut screen, "4\u{8}\n"), []);
    assert_eq!(press(&mut screen, "4\u{1b}"), []);
    screen.find(LIME);
    assert_eq!(press(&mut screen, "2,5↓"), [Effect::SetPar(LIME, Some(Containers(2_500)))]);
    assert_eq!(on(&screen), SODA, "one line down");
    for (typed, want) in [("4..5\n", "expected a number of containers"), ("10001\n", "expected a par from 0 to 10000")]
    {
        let effects = press(&mut screen, typed);
        assert!(said(&effects).contains(want), "{effects:?}");
        assert_eq!(screen.scope(), Scope::ParEntry, "it can be mended");
        press(&mut screen, "\u{1b}");
    }
    // On the page as well; the arrow goes on to the next item's page.
    screen.find(LIME);
    screen.update(Action::Open);
    press(&mut screen, "3");
    assert!(drawn(&mut screen, 80, 21).contains("Par by hand: 3"));
    assert_eq!(press(&mut screen, "↓"), [Effect::SetPar(LIME, Some(Containers(3_000)))]);
    assert_eq!((screen.here().map(|par| par.item), screen.scope()), (Some(SODA), Scope::ParPage));
}

#[test]
fn what_the_book_refuses_is_typed_again() {
    let mut screen = screen();
    screen.find(LIME);
    press(&mut screen, "2.5↓");
    screen.refused();
    assert_eq!((screen.scope(), on(&screen)), (Scope::ParEntry, LIME));
    assert_eq!(press(&mut screen, "\u{8}7\n"), [Effect::SetPar(LIME, Some(Containers(2_700)))]);
    screen.changed(vec![change(LIME)]);
    screen.refused();
    assert_eq!(screen.scope(), Scope::Par, "what was taken is not typed again");
}

#[test]
fn a_bar_code_goes_to_its_item() {
    let mut screen = screen();
    screen.find(SODA);
    assert_eq!(press(&mut screen, "2000000000015\n"), []);
    assert_eq!((on(&screen), screen.scope()), (RUM, Scope::Par));
    screen.find(SODA);
    screen.update(Action::Open);
    assert_eq!(screen.paste("2000000000015\r\n"), Effect::None);
    assert!(matches!(screen.over, Some(Over::Page(RUM, _))));
    let unknown = screen.paste("2000000000022");
    assert!(said(&[unknown]).contains("no item has the bar code"));
    press(&mut screen, "1");
    assert_eq!(screen.paste("2"), Effect::None);
    assert_eq!(press(&mut screen, "\n"), [Effect::SetPar(RUM, Some(Containers(12_000)))]);
}

#[test]
fn a_par_beyond_all_that_there_was_is_asked_about_once() {
    let mut screen = screen();
    screen.find(RUM);
    assert_eq!(press(&mut screen, "100\n"), [Effect::SetPar(RUM, Some(Containers(100_000)))]);
    let effects = press(&mut screen, "1712\n");
    let [Effect::Ask { question, then, .. }] = effects.as_slice() else { panic!("{effects:?}") };
    assert!(question.starts_with("A par of 1712 containers for "), "{question}");
    assert_eq!(**then, Effect::SetPar(RUM, Some(Containers(1_712_000))));
}

#[test]
fn which_par_rules_one_item() {
    let mut screen = screen();
    screen.find(RUM);
    assert_eq!(press(&mut screen, "d"), [Effect::RulePars(vec![RUM], ParFrom::Demand)]);
    let already = press(&mut screen, "h");
    assert_eq!(said(&already), "Harbour rum is ruled by hand already");
    assert_eq!(press(&mut screen, "x"), [Effect::SetPar(RUM, None)]);
    screen.find(SUGAR);
    let none = press(&mut screen, "d");
    assert_eq!(said(&none), "Fine sugar has no par by demand yet; Enter says why");
    // Without the one by hand it would have none at all, so it is asked.
    let [Effect::Ask { question, then, .. }] = &press(&mut screen, "x")[..] else { panic!("not asked") };
    assert!(question.contains("no par by demand yet") && question.contains("not ordered"), "{question}");
    assert_eq!(**then, Effect::SetPar(SUGAR, None));
    let mut setup = bar();
    setup.items.iter_mut().for_each(|item| item.par = None);
    let mut screen = ParScreen::new(view_of(setup));
    screen.find(RUM);
    let none = press(&mut screen, "h");
    assert_eq!(said(&none), "no par of Harbour rum is set by hand: type one");
    let none = press(&mut screen, "x");
    assert_eq!(said(&none), "no par of Harbour rum is set by hand");
}

#[test]
fn which_par_rules_many_is_asked_first() {
    let mut screen = screen();
    screen.find(RUM);
    press(&mut screen, "m");
    assert_eq!(screen.scope(), Scope::ParMany);
    insta::assert_snapshot!("par-many", drawn(&mut screen, 80, 21));
    let [Effect::Ask { question, yes, then, .. }] = &press(&mut screen, "\n")[..] else { panic!("not asked") };
    assert!(question.starts_with("Let demand rule the items of kind spirit? 1 item changes to demand; "), "{question}");
    assert!(question.contains(" EUR before and ") && question.contains("u puts all back"), "{question}");
    assert_eq!(yes, "changes 1 item");
    assert_eq!(**then, Effect::RulePars(vec![RUM], ParFrom::Demand));
    let nothing = press(&mut screen, "↓\n");
    assert_eq!(said(&nothing), "nothing changes; 1 item is so already");
    let [Effect::Ask { then, .. }] = &press(&mut screen, "↓\n")[..] else { panic!("not asked") };
    assert_eq!(**then, Effect::RulePars(vec![RUM, LIME, SODA], ParFrom::Demand));
    screen.changed(vec![change(RUM)]);
    assert_eq!(screen.scope(), Scope::Par, "done, so it is closed");
    press(&mut screen, "m\u{1b}");
    assert_eq!(screen.scope(), Scope::Par);
}

fn change(item: ItemId) -> ParChange {
    let set = |hand| ParSet { hand: Some(Containers(hand)), from: None };
    ParChange { item, was: set(6_000), now: set(4_000) }
}

#[test]
fn the_last_change_is_put_back_and_then_the_one_before() {
    let mut screen = screen();
    let nothing = press(&mut screen, "u");
    assert!(said(&nothing).contains("nothing more was changed"));
    screen.changed(vec![change(RUM)]);
    screen.changed(vec![change(LIME), change(SODA)]);
    // What was so already is no change.
    screen.changed(Vec::new());
    assert_eq!(press(&mut screen, "u"), [Effect::PutParsBack(vec![change(LIME), change(SODA)])]);
    screen.undone();
    screen.update(Action::Open);
    assert_eq!(press(&mut screen, "u"), [Effect::PutParsBack(vec![change(RUM)])]);
    screen.undone();
    screen.undone();
    assert!(matches!(press(&mut screen, "u")[..], [Effect::Say(_)]));
}

#[test]
fn sorted_chosen_and_found() {
    let mut screen = screen();
    let order =
        |screen: &ParScreen| -> Vec<ItemId> { screen.lines.iter().map(|at| screen.view.pars[*at].item).collect() };
    assert_eq!(order(&screen), [SUGAR, RUM, LIME, SODA], "by name");
    press(&mut screen, "s");
    assert_eq!(order(&screen).last(), Some(&SUGAR), "what is not known stands last");
    let dry: Vec<_> = order(&screen)[..3].iter().map(|item| screen.par(*item).unwrap().cover.dry_by(0.5)).collect();
    assert!(dry.is_sorted_by_key(|day| day.unwrap_or(NaiveDate::MAX)), "{dry:?}");
    assert!(drawn(&mut screen, 80, 21).contains("soonest dry first"));
    press(&mut screen, "s");
    let apart: Vec<i64> = order(&screen)[..3]
        .iter()
        .map(|item| difference(&screen.view, screen.par(*item).unwrap()).unwrap().1.unwrap().0.abs())
        .collect();
    assert!(apart.is_sorted_by(|a, b| a >= b) && apart[0] > apart[2], "{apart:?}");
    press(&mut screen, "s");

    screen.find(SODA);
    press(&mut screen, "v");
    let kinds = drawn(&mut screen, 80, 21);
    assert!(kinds.contains("1 item, spirit, by name"), "{kinds}");
    assert_eq!(on(&screen), RUM);
    // Another kind than the one that is shown: all are shown again.
    assert_eq!(screen.find(LIME), None);
    assert_eq!((on(&screen), screen.lines.len()), (LIME, 4));
    for _ in 0..4 {
        press(&mut screen, "v");
        assert!(screen.kind.is_some());
    }
    press(&mut screen, "v");
    assert!(screen.kind.is_none(), "after the last kind all of them");
    assert!(screen.find(ItemId(99)).is_some());
}

#[test]
fn fresh_rows_leave_the_cursor_and_the_page_where_they_are() {
    let mut screen = screen();
    screen.find(SODA);
    screen.update(Action::Open);
    let mut fresh = view();
    fresh.pars.reverse();
    screen.refresh(fresh);
    assert_eq!((on(&screen), screen.scope()), (SODA, Scope::ParPage));
    press(&mut screen, "7");
    screen.refresh(view());
    assert_eq!(screen.scope(), Scope::ParEntry, "what is being typed stays");
    screen.refresh(ParView { pars: Vec::new(), ..view() });
    assert_eq!((screen.scope(), screen.under_cursor()), (Scope::Par, None));
    for keys in ["\n", "d", "x", "h"] {
        assert_eq!(press(&mut screen, keys), [], "{keys}");
    }
    assert!(said(&press(&mut screen, "5")).contains("no item here"));
    assert!(drawn(&mut screen, 80, 21).contains("There are no items yet"));
}

/// Both pars over weeks: by demand less is held, and it runs dry on one day more.
fn look_back(weeks: i64, hand: bool) -> LookBack {
    let last = day("2026-11-22");
    let first = last.checked_sub_days(Days::new(7 * weeks as u64 - 1)).unwrap();
    let days = (7 * weeks) as usize;
    let tried = |stock: f64, dry: &[u64]| Replayed {
        stock: (0..days).map(|n| stock + 100_000.0 * (n / 7 % 3) as f64).collect(),
        dry: dry.iter().map(|n| first.checked_add_days(Days::new(*n)).unwrap()).collect(),
        days,
        orders: weeks as usize,
        missed: 30_000.0 * dry.len() as f64,
    };
    let row = |item, by_hand: f64, computed: f64, dry: &[u64]| LookBackRow {
        item,
        hand: hand.then(|| tried(by_hand, &[])),
        computed: tried(computed, dry),
    };
    let rows = vec![row(LIME, 2_500_000.0, 2_000_000.0, &[9]), row(RUM, 4_000_000.0, 2_600_000.0, &[3, 10])];
    let rows = rows.into_iter().chain([LookBackRow { item: SODA, hand: None, computed: tried(1_000_000.0, &[]) }]);
    LookBack::new(first..=last, rows.collect(), |item| if item == RUM { 0.0024 } else { 0.0005 })
}

#[test]
fn what_both_pars_would_have_done() {
    let mut screen = screen();
    assert_eq!(press(&mut screen, "b"), [Effect::LookBack(13)]);
    screen.looked_back(13, look_back(13, true));
    assert_eq!(screen.scope(), Scope::ParBack);
    for size in SIZES {
        insta::assert_snapshot!(format!("par-back-{}", size.0), drawn(&mut screen, size.0, size.1));
    }
    let ascii = Theme::from_env(true).ascii();
    drawn_in(&mut screen, (80, 21), &ascii);
    press(&mut screen, "G");
    insta::assert_snapshot!("par-back-ascii", drawn_in(&mut screen, (80, 21), &ascii));
    assert_eq!(press(&mut screen, "+"), [Effect::LookBack(26)]);
    assert_eq!(press(&mut screen, "-"), [Effect::LookBack(8)]);
    screen.looked_back(26, look_back(26, true));
    let text = drawn(&mut screen, 80, 60);
    assert!(text.lines().all(|line| line.chars().count() <= 80) && text.contains("25 May"), "{text}");
    assert!(said(&press(&mut screen, "+")).contains("no more weeks"));
    screen.looked_back(4, look_back(4, true));
    assert!(said(&press(&mut screen, "-")).contains("too little"));
    // A scan goes to the list.
    screen.find(LIME);
    assert_eq!((screen.scope(), on(&screen)), (Scope::Par, LIME));
}

#[test]
fn what_a_look_back_cannot_say_is_said() {
    let mut screen = screen();
    screen.looked_back(13, look_back(5, false));
    let text = drawn(&mut screen, 80, 30);
    assert!(text.contains("Asked for 13 weeks; the book has sales of these days only"), "{text}");
    assert!(text.contains("No item has a par set by hand as well") && !text.contains("lines ordered"), "{text}");
    let days = day("2026-10-26")..=day("2026-11-22");
    screen.looked_back(4, LookBack::new(days, Vec::new(), |_| 0.0));
    assert!(drawn(&mut screen, 80, 30).contains("Nothing could be tried"));
}

#[test]
fn no_size_panics() {
    for keys in ["", "4", "\n", "\n4", "m", "ssv"] {
        at_every_size(|frame| {
            let mut screen = screen();
            screen.find(RUM);
            press(&mut screen, keys);
            screen.draw(frame, frame.area(), Scene { theme: &Theme::from_env(true), now: now() });
        });
    }
    for back in [look_back(26, true), look_back(1, true), look_back(4, false)] {
        at_every_size(|frame| {
            let mut screen = screen();
            screen.looked_back(13, back.clone());
            screen.draw(frame, frame.area(), Scene { theme: &Theme::from_env(true), now: now() });
        });
    }
    at_every_size(|frame| {
        let mut screen = ParScreen::new(ParView { pars: Vec::new(), ..view() });
        screen.draw(frame, frame.area(), Scene { theme: &Theme::from_env(true), now: now() });
    });
}
