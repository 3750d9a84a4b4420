//! Keys in, effects out; then what is drawn.

use super::*;
use crate::domain::gauge::{Entry, Gauges, Sight, Step, Vessel, WeighedAs, Weighing};
use crate::domain::ledger::CountLine;
use crate::domain::measure::{Amount, Strength};
use crate::domain::venue::{CountId, CountMethod, Item, ItemId, PlaceId, Seq, Shelf};
use crate::tui::keymap::resolve;
use crate::tui::screen::fixture::{at, bar, pressed};
use crate::tui::theme::Theme;
use crate::tui::widget::harness::{at_every_size, shown};
use crate::tui::widget::notice::Tone;
use std::sync::Arc;

const NIGHT: &str = "2026-11-24 02:40";
const RAIL: PlaceId = PlaceId(1);

/// Three rums of 700 ml at 40 % vol in bottles of 500 g, read as .4, .45 and .9 on the rail.
fn check() -> EyeCheck {
    let mut setup = bar();
    let rum = setup.items.iter().find(|item| item.id == ItemId(1)).unwrap().clone();
    let names = ["Harbour rum", "Old Mole rum", "Overproof of the Long Lighthouse Quay"];
    for (name, id) in names.into_iter().zip(1..) {
        let item = setup.items.iter_mut().find(|item| item.id == ItemId(id)).unwrap();
        let (abv, empty_weight) = (Some(Strength(4_000)), Some(Amount(500_000)));
        *item = Item { id: item.id, name: name.to_owned(), abv, empty_weight, ..rum.clone() };
    }
    let shelf = |item| Shelf { place: RAIL, item: ItemId(item), position: item, par: None };
    setup.shelves = (1..=3).map(shelf).collect();
    let line = |(item, thousandths, step)| CountLine {
        count: CountId(7),
        place: RAIL,
        item: ItemId(item),
        at: at("2026-11-24 02:10"),
        entry: Entry { full: 0, open: vec![Reading::Sight(Sight { thousandths, step })] },
        method: CountMethod::Tenths,
        by: Some("OM".to_owned()),
    };
    let lines = [(1, 400, Step::Tenth), (2, 450, Step::HalfTenth), (3, 900, Step::Tenth)].map(line);
    let gauges = Arc::new(Gauges::new(&setup, &[]));
    let check = EyeCheck::pick(Arc::new(setup), gauges, CountId(7), "OM", &lines, 1).unwrap();
    assert!(check.lines.iter().all(|line| check.gauges.vessel(line.item).is_some_and(Vessel::can_weigh)));
    check
}

fn screen() -> EyeCheckScreen {
    EyeCheckScreen::new(check())
}

/// Types keys as a terminal sends them; every effect but none, in order.
fn press(screen: &mut EyeCheckScreen, keys: &str) -> Vec<Effect> {
    pressed(keys, |event| resolve(screen.scope(), event).map(|action| screen.update(action, at(NIGHT))))
}

/// Types a weight and has the book keep it; what is said then.
fn weighed(screen: &mut EyeCheckScreen, keys: &str) -> Option<Notice> {
    let effects = press(screen, keys);
    let [Effect::Weigh(fact)] = &effects[..] else { panic!("{effects:?}") };
    let eye = Eye { bias: 0.031, u_bias: 0.01, spread: 0.02, pairs: 9 };
    screen.weighed(Weighing { seq: Seq(41), ..fact.clone() }, eye)
}

fn said(effects: &[Effect]) -> &str {
    match effects {
        [Effect::Say(notice)] => &notice.text,
        other => panic!("{other:?}"),
    }
}

fn typed(screen: &EyeCheckScreen) -> Option<&str> {
    screen.entry.as_ref().map(Field::text)
}

fn drawn(screen: &mut EyeCheckScreen, width: u16, height: u16) -> String {
    let theme = Theme::from_env(true);
    shown(width, height, |frame| screen.draw(frame, frame.area(), Scene { theme: &theme, now: at(NIGHT) }))
}

#[test]
fn a_weight_is_kept_with_what_the_eye_had_read() {
    for (keys, mg, step) in [
        ("812\n", 812_000, 1_000),
        ("812g\n", 812_000, 1_000),
        ("812 g↓", 812_000, 1_000),
        ("812,5\n", 812_500, 100),
        ("0.812kg\n", 812_000, 1_000),
        // As a scale types it that sets sign and unit apart.
        ("+  812.0 g\n", 812_000, 100),
        ("\n812\n", 812_000, 1_000),
    ] {
        let mut screen = screen();
        press(&mut screen, "↓");
        let want = Weighing {
            seq: Seq::default(),
            at: at(NIGHT),
            item: ItemId(2),
            state: WeighedAs::Opened,
            weight: Mass { mg, step },
            seen: Some(Reading::Sight(Sight { thousandths: 450, step: Step::HalfTenth })),
            mark: None,
            place: Some(RAIL),
            by: Some("OM".to_owned()),
        };
        assert_eq!(press(&mut screen, keys), [Effect::Weigh(want)], "{keys:?}");
    }
}

#[test]
fn the_next_one_that_is_not_weighed_is_selected_and_the_last_one_is_thanked_for() {
    let mut screen = screen();
    press(&mut screen, "↓");
    assert_eq!(weighed(&mut screen, "812\n"), None);
    assert_eq!((screen.window.selected(), screen.scope()), (2, Scope::EyeCheck));
    assert_eq!(screen.check.lines[1].weighed.as_ref().map(|w| (w.seq, w.weight)), Some((Seq(41), Mass::grams(812))));
    assert_eq!(weighed(&mut screen, "1100\n"), None);
    assert_eq!(screen.window.selected(), 0, "around the end to the one that was left out");
    let thanks = weighed(&mut screen, "760\n").unwrap();
    assert_eq!(
        thanks,
        Notice::info(
            "Thank you. Your eye reads 0.3 tenths high, give or take 0.2 (9 weighed). Esc goes on to the variance"
        )
    );
    assert_eq!(press(&mut screen, "\u{1b}"), [Effect::Go(Tab::Variance)]);
}

#[test]
fn the_one_being_weighed_stays_selected_until_the_book_has_it() {
    let mut screen = screen();
    assert!(matches!(&press(&mut screen, "812\n")[..], [Effect::Weigh(_)]));
    // Until then the book may still refuse it, and what was typed is there to be mended.
    assert_eq!((screen.window.selected(), typed(&screen), screen.scope()), (0, Some("812"), Scope::EyeCheckEntry));
    assert!(screen.check.lines.iter().all(|line| line.weighed.is_none()));
}

#[test]
fn one_weighed_once_more_takes_the_place_of_the_weighing_before() {
    let mut screen = screen();
    weighed(&mut screen, "812\n");
    press(&mut screen, "↑");
    let effects = press(&mut screen, "821\n");
    let [Effect::Both(first, then)] = &effects[..] else { panic!("{effects:?}") };
    assert_eq!(**first, Effect::TakeBackWeighing(Seq(41)));
    assert!(matches!(&**then, Effect::Weigh(fact) if (fact.item, fact.weight) == (ItemId(1), Mass::grams(821))));
}

#[test]
fn wrong_and_impossible_weights_are_refused_and_stay_to_be_mended() {
    for (keys, text, says) in [
        ("\n\n", "", "expected a weight such as 812g"),
        ("8mm\n", "8mm", "expected a weight such as 812g"),
        ("8..1\n", "8..1", "expected a weight such as 812g"),
        ("300\n", "300", "300g of Harbour rum is lighter than an empty container (500 g)"),
        ("1400 g\n", "1400 g", "1400g of Harbour rum is heavier than a full container (1163 g)"),
    ] {
        let mut screen = screen();
        for effects in [press(&mut screen, keys), press(&mut screen, "\n")] {
            assert!(said(&effects).contains(says), "{keys:?}: {effects:?}");
            assert!(matches!(&effects[..], [Effect::Say(Notice { tone: Tone::Error, .. })]));
            assert_eq!((typed(&screen), screen.scope()), (Some(text), Scope::EyeCheckEntry));
        }
    }
}

#[test]
fn a_weight_that_is_hard_to_believe_is_asked_once() {
    let mut screen = screen();
    let effects = press(&mut screen, "482\n");
    assert_eq!(said(&effects), "482g, below the empty weight (500 g)? Enter once more if that is so");
    assert_eq!(typed(&screen), Some("482"));
    // Another one that is hard to believe is asked about too.
    assert!(said(&press(&mut screen, "\u{8}1\n")).starts_with("481g, below"));
    assert_eq!(weighed(&mut screen, "\n"), None);
    assert!(
        said(&press(&mut screen, "481\n")).starts_with("481g, below"),
        "what was believed of one is not of the next"
    );
    // Nor is what was asked of one and dropped.
    assert!(said(&press(&mut screen, "\u{1b}↓482\n")).starts_with("482g, below"));
    assert!(said(&press(&mut screen, "\u{1b}↑482\n")).starts_with("482g, below"));
}

#[test]
fn one_may_be_left_out_and_the_check_be_ended() {
    let mut screen = screen();
    assert_eq!(press(&mut screen, "ss↓↓↑"), []);
    assert_eq!(screen.window.selected(), 1);
    // Escape throws away what is being typed first, and only then the check.
    assert_eq!(press(&mut screen, "81\u{1b}"), []);
    assert_eq!((typed(&screen), screen.scope()), (None, Scope::EyeCheck));
    assert_eq!(press(&mut screen, "\u{1b}"), [Effect::Go(Tab::Variance)]);
}

#[test]
fn it_says_whose_eye_it_is() {
    let mut screen = screen();
    assert_eq!(screen.by(), "OM");
    assert!(drawn(&mut screen, 80, 21).contains("the eye of OM?"));
}

#[test]
fn what_is_pasted_goes_where_typing_goes() {
    let mut screen = screen();
    screen.paste("812 g\n");
    assert_eq!((typed(&screen), screen.scope()), (Some("812 g"), Scope::EyeCheckEntry));
    press(&mut screen, "\u{8}\u{8}");
    screen.paste(".5");
    let effects = press(&mut screen, "\n");
    assert!(matches!(&effects[..], [Effect::Weigh(w)] if w.weight == Mass { mg: 812_500, step: 100 }), "{effects:?}");
}

#[test]
fn a_check_drawn() {
    let mut screen = screen();
    weighed(&mut screen, "812\n");
    press(&mut screen, "↓91");
    insta::assert_snapshot!(drawn(&mut screen, 80, 12), @"
    How good is the eye of OM? Weigh these as they stand, with what was on them when
    their empty weight was taken. What the eye tends to is taken off from then on; a
    coarse eye is no fault, it is only told apart from what is missing.

      item                        place             you read on the scale   by scale
    ✓ Harbour rum                 Rail                    .4 812g                .47
      Old Mole rum                Rail                   .45
      Overproof of the Long Ligh… Rail                    .9 91
    ");
}

#[test]
fn no_size_panics() {
    let theme = Theme::from_env(true);
    for keys in ["", "81", "↓↓\n"] {
        at_every_size(|frame| {
            let mut screen = screen();
            weighed(&mut screen, "812\n");
            press(&mut screen, keys);
            screen.draw(frame, frame.area(), Scene { theme: &theme, now: at(NIGHT) });
        });
    }
}

/// 631 g less 500 g are 131 g, 138 ml of 700: two tenths. An eye that read nine of the same bottle looked at another.
#[test]
fn another_bottle_on_the_scale_is_asked_about_once() {
    let mut screen = screen();
    press(&mut screen, "↓↓");
    assert!(said(&press(&mut screen, "631\n")).contains(".9 by eye and .20 by scale of the same one?"));
    assert_eq!(typed(&screen), Some("631"));
    assert!(matches!(&press(&mut screen, "\n")[..], [Effect::Weigh(_)]));
}

/// Weighed once more, the first weight is taken back: one container is one pair.
#[test]
fn a_container_weighed_again_replaces_its_weight() {
    let mut screen = screen();
    assert_eq!(weighed(&mut screen, "760\n"), None);
    press(&mut screen, "↑");
    let effects = press(&mut screen, "765\n");
    let [Effect::Both(first, then)] = &effects[..] else { panic!("{effects:?}") };
    assert_eq!(**first, Effect::TakeBackWeighing(Seq(41)));
    assert!(matches!(&**then, Effect::Weigh(fact) if fact.weight == Mass::grams(765)));
}
