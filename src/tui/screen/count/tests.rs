//! Keys in, effects and pictures out.

use super::*;
use crate::domain::gauge::{Gauges, Level, Part, Tally};
use crate::domain::ledger::Count;
use crate::domain::measure::{Amount, UnitCost};
use crate::domain::rows::{ItemFacts, SheetLine, SheetPlace};
use crate::domain::venue::CountId;
use crate::tui::keymap::resolve;
use crate::tui::screen::Scene;
use crate::tui::screen::fixture::{at, bar, pressed};
use crate::tui::theme::Theme;
use crate::tui::widget::harness::{at_every_size, shown};
use std::collections::HashMap;
use std::sync::Arc;

pub(super) const RAIL: PlaceId = PlaceId(1);
pub(super) const CELLAR: PlaceId = PlaceId(2);
const RUM: ItemId = ItemId(1);

/// The sheet of the test bar: the rum should be 2.4 bottles in all (one and 4 tenths on the rail), 60 ml sold since.
pub(super) fn sheet(blind: bool, mode: EntryMode) -> Sheet {
    let setup = Arc::new(bar());
    let line = |place, item, expected: Option<i64>| SheetLine {
        place,
        item: ItemId(item),
        entered: None,
        expected: expected.map(|ml| Amount(ml * 1_000)),
    };
    let rum = ItemFacts {
        on_hand: Some(Level { amount: Amount(1_680_000), u: 20_207.0 }),
        seen: Tally::exactly(Amount(1_740_000)).with_normal(Part::Ruler, 20_207.0),
        came: Amount(0),
        sold: Amount(60_000),
        since: Some(at("2026-11-16 02:00")),
        after: Amount(0),
        par: Some(Amount(4_200_000)),
        on_order: Amount(0),
        pack: Some(6),
        cost: UnitCost::new(crate::domain::measure::Price(17_000_000), Amount(700_000)),
    };
    Sheet {
        count: Count {
            id: CountId(7),
            name: "2026-11-22 full".to_owned(),
            opened: at("2026-11-23 01:30"),
            closed: None,
            blind,
        },
        places: [RAIL, CELLAR].map(|place| SheetPlace { place, closed: false, mode, digit: Digit::Tenths }).to_vec(),
        lines: vec![
            line(RAIL, 1, Some(980)),
            line(RAIL, 2, Some(2_500)),
            line(CELLAR, 1, Some(700)),
            line(CELLAR, 3, None),
            line(CELLAR, 4, Some(8_800)),
        ],
        facts: HashMap::from([(RUM, rum)]),
        elsewhere: HashMap::new(),
        filled: None,
        gauges: Arc::new(Gauges::new(&setup, &[])),
        setup,
    }
}

fn screen(mode: EntryMode) -> CountScreen {
    CountScreen::new(sheet(false, mode), Some("OM".to_owned()))
}

pub(super) const NOW: &str = "2026-11-23 01:40";

/// Types keys as a terminal sends them; every effect but none, in order.
pub(super) fn press(screen: &mut CountScreen, keys: &str) -> Vec<Effect> {
    pressed(keys, |event| resolve(screen.scope(), event).map(|action| screen.update(action, at(NOW))))
}

/// The entries that effects keep, by item; what is only said is passed over.
pub(super) fn kept(effects: &[Effect]) -> Vec<(i64, String)> {
    let mut out = Vec::new();
    for effect in effects {
        match effect {
            Effect::SaveLines(lines) => out.extend(lines.iter().map(|l| (l.item.0, l.entry.to_string()))),
            Effect::Both(first, then) => out.extend(kept(&[*first.clone(), *then.clone()])),
            Effect::Say(_) | Effect::None => {}
            other => panic!("{other:?}"),
        }
    }
    out
}

/// What effects say, in order.
pub(super) fn said(effects: &[Effect]) -> Vec<String> {
    let mut out = Vec::new();
    for effect in effects {
        match effect {
            Effect::Say(notice) => out.push(notice.text.clone()),
            Effect::Both(first, then) => out.extend(said(&[*first.clone(), *then.clone()])),
            _ => {}
        }
    }
    out
}

#[test]
fn typed_entries_are_kept_and_the_cursor_moves_on() {
    let mut screen = screen(EntryMode::Typed);
    let effects = press(&mut screen, "1.4\n3,5\nn.4.7\n0\n12\n");
    let want = [(1, "1.4"), (2, "3.5"), (1, ".4.7"), (3, "0"), (4, "12")];
    assert_eq!(kept(&effects), want.map(|(item, entry)| (item, entry.to_owned())));
    assert_eq!(screen.sheet().progress().done, 5);
}

#[test]
fn one_key_sets_tenths_and_moves_on() {
    let mut screen = screen(EntryMode::OneKey);
    assert_eq!(press(&mut screen, "4"), [], "a digit waits to see whether a scanner typed it");
    assert!(screen.waits());
    assert_eq!(kept(&[screen.settle(at(NOW))]), [(1, ".4".to_owned())]);
    assert_eq!(screen.selected(), 1);
    // Quick fingers: digits that come together are each a line, as far as the place goes.
    let effects = press(&mut screen, "70e");
    assert_eq!(kept(&effects), [(2, ".7".to_owned())]);
    assert_eq!(
        said(&effects),
        ["Rail: all 2 lines are counted. d closes the place, a adds to it, n goes on to Cellar"]
    );
    assert_eq!(screen.selected(), 1, "going on to another place is the person's to decide");
    let effects = press(&mut screen, "nfe.7\n5");
    assert_eq!(kept(&effects), [(1, "1".to_owned()), (3, ".7".to_owned())]);
    assert_eq!(kept(&[screen.settle(at(NOW))]), [(4, "5".to_owned())]);
}

#[test]
fn in_a_store_a_digit_is_sealed_ones() {
    let mut screen = screen(EntryMode::OneKey);
    screen.sheet.places[1].digit = Digit::Sealed;
    press(&mut screen, "n8");
    assert_eq!(kept(&[screen.settle(at(NOW))]), [(1, "8".to_owned())]);
}

#[test]
fn a_point_in_one_key_entry_says_how_to_type_a_line_out() {
    let mut screen = screen(EntryMode::OneKey);
    assert_eq!(press(&mut screen, "1"), []);
    assert_eq!(kept(&[screen.settle(at(NOW))]), [(1, ".1".to_owned())]);
    let effects = press(&mut screen, ".");
    assert!(said(&effects)[0].contains("u takes it back, e types a line out"), "{effects:?}");
    // Quick fingers that are at the point already type the line out.
    assert_eq!(kept(&press(&mut screen, "1.4\n")), [(2, "1.4".to_owned())]);
}

#[test]
fn what_is_hard_to_believe_is_asked_once() {
    let mut screen = screen(EntryMode::Typed);
    let effects = press(&mut screen, "400\n");
    assert_eq!(
        (kept(&effects), said(&effects)),
        (vec![], vec!["400 sealed ones? Enter once more if that is so".to_owned()])
    );
    assert_eq!(kept(&press(&mut screen, "\n")), [(1, "400".to_owned())]);
}

#[test]
fn one_key_entry_takes_sealed_ones_first() {
    let mut screen = screen(EntryMode::OneKey);
    press(&mut screen, "++4");
    let mut effects = vec![screen.settle(at(NOW))];
    effects.extend(press(&mut screen, "+fn"));
    // Said too many: Backspace takes one back, Esc all of them; a line down forgets them.
    effects.extend(press(&mut screen, "++\u{8}f"));
    press(&mut screen, "+\u{1b}3");
    effects.push(screen.settle(at(NOW)));
    // What was said stays said when the rest is typed out.
    effects.extend(press(&mut screen, "p+e.5.6\n"));
    let want = [(1, "2.4"), (2, "2"), (1, "2"), (3, ".3"), (1, "1.5.6")];
    assert_eq!(kept(&effects), want.map(|(item, entry)| (item, entry.to_owned())));
}

#[test]
fn whole_things_take_a_digit_as_containers_in_one_key_entry() {
    let mut screen = screen(EntryMode::OneKey);
    press(&mut screen, "↓↓↓↓");
    press(&mut screen, "8");
    assert_eq!(kept(&[screen.settle(at(NOW))]), [(4, "8".to_owned())]);
}

#[test]
fn a_scanner_goes_to_the_item_in_both_ways_of_counting() {
    for mode in [EntryMode::Typed, EntryMode::OneKey] {
        let mut screen = screen(mode);
        press(&mut screen, "↓");
        assert_eq!(press(&mut screen, "2000000000015\n"), [], "{mode:?}");
        assert_eq!(screen.selected(), 0, "{mode:?}");
        assert_eq!(screen.sheet().progress().done, 0, "{mode:?}: a bar code is no entry");
    }
    // A bar code that no item has, and one that was misread, are said, and nothing is entered, however the scan ends.
    let mut screen = self::screen(EntryMode::OneKey);
    let effects = press(&mut screen, "2000000000022\n");
    assert!(said(&effects).concat().contains("no item has") && kept(&effects).is_empty(), "{effects:?}");
    for scan in ["2000000000016\n", "20000000\n", "777777\n"] {
        let mut screen = self::screen(EntryMode::OneKey);
        let effects = press(&mut screen, scan);
        let [Effect::Ask { question, then, otherwise, .. }] = &effects[..] else { panic!("{scan}: {effects:?}") };
        // Enter, which a scanner may type once more, enters nothing; what was typed over a slow line is not lost.
        assert!(question.contains("are no bar code") && **then == Effect::None, "{scan}: {question}");
        assert!(matches!(&**otherwise, Effect::EnterDigits(digits) if *digits == scan.trim()), "{scan}");
        assert_eq!(screen.sheet().progress().done, 0);
    }
    let mut screen = self::screen(EntryMode::OneKey);
    let entered = screen.enter_digits("77", at(NOW));
    assert_eq!(kept(&[entered]).len(), 2);
    let mut screen = self::screen(EntryMode::OneKey);
    press(&mut screen, "2000000000015");
    assert!(kept(&[screen.settle(at(NOW))]).is_empty() && screen.scanning() == screen.waits());
}

#[test]
fn enter_confirms_what_is_expected_and_marks_it() {
    let mut screen = screen(EntryMode::Typed);
    let effects = press(&mut screen, "\n");
    let [Effect::SaveLines(lines)] = &effects[..] else { panic!("{effects:?}") };
    assert_eq!((lines[0].entry.to_string(), lines[0].method), ("1.4".to_owned(), CountMethod::Expected));
    // A line that was looked at is not turned into a guess: Enter only goes on.
    let mut screen = screen_at_counted();
    assert_eq!(press(&mut screen, "\n"), []);
    // Nothing is expected of what was never counted.
    press(&mut screen, "↓↓");
    assert!(matches!(&press(&mut screen, "\n")[..], [Effect::Say(_)]));
}

fn screen_at_counted() -> CountScreen {
    let mut screen = screen(EntryMode::Typed);
    press(&mut screen, "1.1\n\u{8}");
    screen
}

#[test]
fn a_blind_count_hides_and_does_not_confirm() {
    let mut screen = CountScreen::new(sheet(true, EntryMode::Typed), None);
    assert!(matches!(&press(&mut screen, "\n")[..], [Effect::Say(_)]));
    press(&mut screen, "1.1\n");
    let scene = |screen: &mut CountScreen| {
        shown(100, 20, |frame| {
            let theme = Theme::from_env(true);
            screen.draw(frame, frame.area(), Scene { theme: &theme, now: at(NOW) });
        })
    };
    let picture = scene(&mut screen);
    assert!(!picture.contains("60") && !picture.contains("(1.4)") && picture.contains("BLIND"), "{picture}");
    screen.place_closed(RAIL);
    press(&mut screen, "k");
    let picture = scene(&mut screen);
    assert!(picture.contains("+210"), "closed, the place shows what it means\n{picture}");
}

#[test]
fn undo_takes_entries_back_one_by_one() {
    let mut screen = screen(EntryMode::Typed);
    press(&mut screen, "1.4\n3.5\n2\n");
    let effects = press(&mut screen, "uuu");
    let before: Vec<Option<String>> = effects
        .iter()
        .map(|e| match e {
            Effect::TakeBackLine { before, .. } => before.as_ref().map(|l| l.entry.to_string()),
            other => panic!("{other:?}"),
        })
        .collect();
    assert_eq!(before, [Some("3.5".to_owned()), None, None]);
    assert_eq!((screen.sheet().progress().done, screen.selected()), (0, 0));
    assert!(matches!(&press(&mut screen, "u")[..], [Effect::Say(_)]), "nothing is left");
}

#[test]
fn a_line_that_the_book_refuses_is_what_it_was() {
    let mut screen = screen(EntryMode::Typed);
    let effects = press(&mut screen, "1.4\n");
    let [Effect::SaveLines(lines)] = &effects[..] else { panic!() };
    screen.refused(lines);
    assert_eq!((screen.sheet().progress().done, screen.selected()), (0, 0));
    assert!(matches!(&press(&mut screen, "u")[..], [Effect::Say(_)]));
    // Nobody types twice what the disk had no room for.
    screen.typed_again(&lines[0]);
    assert_eq!(screen.scope(), Scope::CountEntry);
    let again = press(&mut screen, "\n");
    let [Effect::SaveLines(again)] = &again[..] else { panic!("{again:?}") };
    assert_eq!((again[0].item, &again[0].entry), (lines[0].item, &lines[0].entry));
}

#[test]
fn wrong_entries_say_what_was_expected_and_stay_to_be_mended() {
    let mut screen = screen(EntryMode::Typed);
    for (typed, says) in
        [("3.47\n", "half-tenths (.45)"), ("812g\n", "no empty weight"), ("1 2\n", "tenths such as .4")]
    {
        press(&mut screen, "\u{1b}");
        let effects = press(&mut screen, typed);
        let said = effects.iter().any(|e| matches!(e, Effect::Say(n) if n.text.contains(says)));
        assert!(said, "{typed}: {effects:?}");
        assert_eq!((screen.sheet().progress().done, screen.scope()), (0, Scope::CountEntry), "{typed}");
    }
}

#[test]
fn closing_a_place_asks_while_lines_are_open() {
    let mut screen = screen(EntryMode::Typed);
    press(&mut screen, "1.4\n");
    assert!(matches!(&press(&mut screen, "↓d")[..], [Effect::Ask { .. }]), "the cellar has open lines");
    press(&mut screen, "p");
    press(&mut screen, "2\n\u{8}");
    assert_eq!(press(&mut screen, "d"), [Effect::ClosePlace(CountId(7), RAIL)]);
    screen.place_closed(RAIL);
    assert_eq!(screen.place(), Some(CELLAR));
    press(&mut screen, "p");
    assert!(matches!(&press(&mut screen, "5")[..], [Effect::Say(_)]), "a closed place takes no entries");
}

#[test]
fn refresh_keeps_the_line_and_what_is_being_typed() {
    let mut screen = screen(EntryMode::Typed);
    press(&mut screen, "↓2.");
    let mut fresh = sheet(false, EntryMode::Typed);
    fresh.lines.remove(0);
    screen.refresh(fresh);
    assert_eq!((screen.selected(), screen.scope()), (0, Scope::CountEntry));
    assert_eq!(kept(&press(&mut screen, "5\n")), [(2, "2.5".to_owned())]);
}

#[test]
fn what_one_key_entry_has_so_far_is_shown_at_once() {
    let mut screen = screen(EntryMode::OneKey);
    let picture = |screen: &mut CountScreen| {
        shown(80, 12, |frame| {
            let theme = Theme::from_env(true);
            screen.draw(frame, frame.area(), Scene { theme: &theme, now: at(NOW) });
        })
    };
    press(&mut screen, "↓+");
    assert!(picture(&mut screen).contains("Lime juice               1+"), "{}", picture(&mut screen));
    press(&mut screen, "7");
    assert!(picture(&mut screen).contains("Lime juice               1.7"), "{}", picture(&mut screen));
    assert_eq!(screen.sheet().progress().done, 0, "shown, not yet kept");
}

#[test]
fn no_size_panics() {
    at_every_size(|frame| {
        let mut screen = screen(EntryMode::Typed);
        press(&mut screen, "1.4\n2.");
        let theme = Theme::from_env(true);
        screen.draw(frame, frame.area(), Scene { theme: &theme, now: at(NOW) });
    });
}

#[test]
fn at_eighty_columns() {
    let mut screen = screen(EntryMode::Typed);
    press(&mut screen, ".9\n\n\u{8}\u{8}");
    let picture = shown(80, 12, |frame| {
        let theme = Theme::from_env(true);
        screen.draw(frame, frame.area(), Scene { theme: &theme, now: at(NOW) });
    });
    insta::assert_snapshot!(picture);
}

/// The cellar of the same sheet, where the rum is of 40 % vol in bottles of 500 g and is read in a way of its own.
fn with_scale(mode: EntryMode, count_by: CountBy) -> CountScreen {
    let mut sheet = sheet(false, mode);
    let mut setup = bar();
    let rum = setup.items.iter_mut().find(|item| item.id == RUM).unwrap();
    rum.abv = Some(crate::domain::measure::Strength(4_000));
    rum.empty_weight = Some(Amount(500_000));
    rum.count_by = count_by;
    sheet.gauges = Arc::new(Gauges::new(&setup, &[]));
    sheet.setup = Arc::new(setup);
    // So that an Enter too many would confirm the next line.
    sheet.lines[3].expected = Some(Amount(500_000));
    let mut screen = CountScreen::new(sheet, Some("OM".to_owned()));
    press(&mut screen, "n");
    assert_eq!((screen.here(), screen.selected()), (Some((CELLAR, RUM)), 2));
    screen
}

#[test]
fn a_scale_that_types_like_a_keyboard_enters_one_line() {
    for count_by in [CountBy::Tenths, CountBy::Weight] {
        for mode in [EntryMode::OneKey, EntryMode::Typed] {
            for (keys, entry) in [
                ("812g\n", "812g"),
                ("812.0 g\n", "812.0g"),
                ("  812.0 g\n", "812.0g"),
                ("812.5g\n", "812.5g"),
                ("1012 g\n", "1012g"),
            ] {
                let mut screen = with_scale(mode, count_by);
                let effects = press(&mut screen, keys);
                assert_eq!(kept(&effects), [(1, entry.to_owned())], "{mode:?} {count_by:?} {keys:?}");
                let [Effect::SaveLines(lines)] = &effects[..] else { panic!("{effects:?}") };
                assert_eq!((lines[0].method, lines[0].place), (CountMethod::Weight, CELLAR));
                assert_eq!((screen.sheet().progress().done, screen.selected(), screen.waits()), (1, 3, false));
            }
        }
    }
}

#[test]
fn of_what_is_counted_on_the_scale_three_digits_at_once_are_grams() {
    for mode in [EntryMode::OneKey, EntryMode::Typed] {
        let mut screen = with_scale(mode, CountBy::Weight);
        assert_eq!(kept(&press(&mut screen, "812\n")), [(1, "812g".to_owned())], "{mode:?}");
        assert_eq!(screen.sheet().progress().done, 1, "Enter is the scale's, and confirms no second line");
    }
    // A scale that sends no Enter is done when it stops.
    let mut screen = with_scale(EntryMode::OneKey, CountBy::Weight);
    assert_eq!(press(&mut screen, "1050"), []);
    assert_eq!(kept(&[screen.settle(at(NOW))]), [(1, "1050g".to_owned())]);
    // So is one that is followed by another key, which then does what it does.
    let mut screen = with_scale(EntryMode::OneKey, CountBy::Weight);
    assert_eq!(kept(&press(&mut screen, "812↓")), [(1, "812g".to_owned())]);
    assert_eq!(screen.selected(), 4);
}

#[test]
fn sealed_ones_said_before_stay_said_when_a_weight_comes() {
    for (keys, count_by) in [("++812\n", CountBy::Weight), ("++812g\n", CountBy::Weight), ("++812g\n", CountBy::Tenths)]
    {
        let mut screen = with_scale(EntryMode::OneKey, count_by);
        assert_eq!(kept(&press(&mut screen, keys)), [(1, "2 812g".to_owned())], "{keys:?} {count_by:?}");
    }
}

#[test]
fn the_sign_that_a_scale_types_is_no_sealed_one() {
    for (keys, entry) in [("+812.0 g\n", "812.0g"), ("+ 812g\n", "812g"), ("+  0.812 kg\n", "812g")] {
        for count_by in [CountBy::Tenths, CountBy::Weight] {
            for mode in [EntryMode::OneKey, EntryMode::Typed] {
                let mut screen = with_scale(mode, count_by);
                assert_eq!(kept(&press(&mut screen, keys)), [(1, entry.to_owned())], "{keys:?} {count_by:?} {mode:?}");
                assert_eq!(screen.sheet().progress().done, 1);
            }
        }
    }
    let mut screen = with_scale(EntryMode::OneKey, CountBy::Weight);
    assert_eq!(kept(&press(&mut screen, "+812\n")), [(1, "812g".to_owned())]);
    // What a person said a while before the scale typed is sealed ones.
    let mut screen = with_scale(EntryMode::OneKey, CountBy::Weight);
    screen.update(Action::OneMore, at("2026-11-23 01:39"));
    assert_eq!(kept(&press(&mut screen, "812g\n")), [(1, "1 812g".to_owned())]);
}

#[test]
fn digits_and_enter_at_once_are_nothing_where_no_scale_is_used() {
    let mut screen = with_scale(EntryMode::OneKey, CountBy::Tenths);
    let effects = press(&mut screen, "812\n");
    assert!(said(&effects).concat().contains("nothing was entered. A scale has to type its unit, 812g"), "{effects:?}");
    assert_eq!((kept(&effects), screen.sheet().progress().done, screen.waits()), (vec![], 0, false));
}

#[test]
fn a_persons_digits_are_entries_on_the_scale_too() {
    let mut screen = with_scale(EntryMode::OneKey, CountBy::Weight);
    let mut effects = Vec::new();
    for key in ["8", "1", "2"] {
        effects.extend(press(&mut screen, key));
        assert!(screen.waits());
        effects.push(screen.settle(at(NOW)));
    }
    let want = [(1, ".8"), (3, ".1"), (4, "2")].map(|(item, entry)| (item, entry.to_owned()));
    assert_eq!(kept(&effects), want);
    // Two at once are no weight of anything.
    let mut screen = with_scale(EntryMode::OneKey, CountBy::Weight);
    press(&mut screen, "81");
    assert_eq!(kept(&[screen.settle(at(NOW))]), want[..2]);
    // Nor are three, of what is read by eye.
    let mut screen = with_scale(EntryMode::OneKey, CountBy::Tenths);
    press(&mut screen, "812");
    assert_eq!(kept(&[screen.settle(at(NOW))]), want);
}

#[test]
fn a_bar_code_is_no_weight() {
    for scan in ["2000000000015\n", "2000000000015"] {
        let mut screen = with_scale(EntryMode::OneKey, CountBy::Weight);
        press(&mut screen, "↓↓");
        let effects = press(&mut screen, scan);
        assert_eq!((kept(&effects), screen.settle(at(NOW))), (vec![], Effect::None), "{scan:?}");
        assert_eq!((screen.here(), screen.sheet().progress().done), (Some((CELLAR, RUM)), 0));
        // And where the scan lands on what is weighed, nor is the next one.
        let effects = press(&mut screen, "2000000000022\n");
        assert!(said(&effects).concat().contains("no item has"), "{effects:?}");
        assert_eq!(screen.sheet().progress().done, 0);
    }
}

#[test]
fn a_weight_that_is_hard_to_believe_is_asked_once() {
    for (mode, keys) in [(EntryMode::Typed, "482g\n"), (EntryMode::OneKey, "482g\n"), (EntryMode::OneKey, "482\n")] {
        let mut screen = with_scale(mode, CountBy::Weight);
        for round in 0..2 {
            let effects = press(&mut screen, keys);
            assert_eq!(kept(&effects), [], "{mode:?} {keys:?} {round}");
            assert_eq!(said(&effects), ["482g, below the empty weight (500 g)? Enter once more if that is so"]);
            assert_eq!(screen.selected(), 2);
            // Where it was typed out, Enter once more; where the scale typed it, the weight once more.
            let again = if screen.scope() == Scope::CountEntry { "\n" } else { keys };
            assert_eq!(kept(&press(&mut screen, again)), [(1, "482g".to_owned())]);
            assert_eq!(screen.selected(), 3);
            // What was believed once is asked about anew when it is entered anew.
            press(&mut screen, "\u{8}");
        }
    }
    // What was asked of one line and dropped is asked of another as well.
    let mut screen = with_scale(EntryMode::Typed, CountBy::Weight);
    for keys in ["482g\n", "\u{1b}p\u{8}\u{8}482g\n", "\u{1b}n482g\n"] {
        let effects = press(&mut screen, keys);
        assert!(said(&effects).concat().contains("482g, below the empty weight"), "{effects:?}");
        assert_eq!((screen.here().map(|(_, item)| item), screen.sheet().progress().done), (Some(RUM), 0));
    }
}

#[test]
fn an_impossible_weight_is_refused_with_the_reason() {
    for (mode, keys, says, stays) in [
        (EntryMode::Typed, "300g\n", "300g of Harbour rum is lighter than an empty container (500 g)", "300g"),
        (EntryMode::OneKey, "300.0 g\n", "lighter than an empty container (500 g)", "300.0 g"),
        (EntryMode::OneKey, "1400g\n", "heavier than a full container (1163 g)", "1400g"),
        (EntryMode::OneKey, "21.5kg\n", "21.5kg of Harbour rum is heavier than a full container", "21.5kg"),
        (EntryMode::OneKey, "21kg\n", "21kg of Harbour rum is heavier than a full container", "21kg"),
        (EntryMode::OneKey, "300\n", "lighter than an empty container (500 g)", "300g"),
    ] {
        let mut screen = with_scale(mode, CountBy::Weight);
        let effects = press(&mut screen, keys);
        assert!(said(&effects).concat().contains(says), "{mode:?} {keys:?}: {effects:?}");
        assert_eq!((kept(&effects), screen.selected()), (vec![], 2), "{keys:?}");
        assert_eq!(screen.sheet().progress().done, 0, "{keys:?}");
        assert_eq!(screen.entry.as_ref().map_or("", Field::text), stays, "what was typed out stays to be mended");
        // Enter again does not force it.
        if !stays.is_empty() {
            assert!(said(&press(&mut screen, "\n")).concat().contains(says), "{keys:?}");
        }
    }
}

#[test]
fn what_a_device_pastes_begins_an_entry() {
    for mode in [EntryMode::OneKey, EntryMode::Typed] {
        let mut screen = with_scale(mode, CountBy::Tenths);
        assert_eq!(screen.paste("812,0 g\n"), Effect::None);
        assert_eq!(screen.scope(), Scope::CountEntry);
        assert_eq!(kept(&press(&mut screen, "\n")), [(1, "812.0g".to_owned())]);
        // What reads as no entry is not begun with; into one that is being typed it goes as it is.
        assert_eq!((screen.paste("a page of text"), screen.scope() == Scope::CountEntry), (Effect::None, false));
        press(&mut screen, "\u{8}e");
        press(&mut screen, "2 ");
        screen.paste("812g");
        assert_eq!(screen.entry.as_ref().map(Field::text), Some("2 812g"), "{mode:?}");
    }
}

#[test]
fn a_weight_says_what_it_means_while_it_is_typed() {
    let mut screen = with_scale(EntryMode::Typed, CountBy::Weight);
    let picture = |screen: &mut CountScreen| {
        shown(80, 12, |frame| {
            let theme = Theme::from_env(true);
            screen.draw(frame, frame.area(), Scene { theme: &theme, now: at(NOW) });
        })
    };
    press(&mut screen, "812");
    let item = screen.sheet().item(2).unwrap().clone();
    let entry = Entry::parse("812g").unwrap();
    let level = screen.sheet().gauges.level(&item, &entry, Some("OM")).level();
    let want = format!("here {} ± {:.0} ml", level.amount.times(1, 1_000).0, level.u / 1_000.0);
    let drawn = picture(&mut screen);
    assert!(drawn.contains(&want), "{want}\n{drawn}");
    assert!(drawn.contains("812 is grams"), "{drawn}");
    press(&mut screen, "0g");
    let drawn = picture(&mut screen);
    assert!(drawn.contains("8120g of Harbour rum is heavier than a full container (1163 g)"), "{drawn}");
}

/// A scale without a unit, at an item that is not counted on it: three digits and Enter at once are no three entries of a
/// person and no confirmation of a fourth line.
#[test]
fn a_bare_figure_and_enter_at_once_are_refused_where_they_could_mean_tenths() {
    let mut screen = with_scale(EntryMode::OneKey, CountBy::Tenths);
    let effects = press(&mut screen, "812\n");
    assert!(said(&effects).concat().contains("nothing was entered"), "{effects:?}");
    assert_eq!((kept(&effects), screen.selected(), screen.sheet().progress().done), (vec![], 2, 0));
    assert!(!screen.waits());
}

#[test]
fn the_sign_and_the_kilograms_of_a_scale_are_understood() {
    for (keys, entry) in [
        ("+812.0 g\n", "812.0g"),
        ("+ 812 g\n", "812g"),
        ("0.812 kg\n", "812g"),
        ("0.81kg\n", "0.81kg"),
        ("+0.81 kg\n", "0.81kg"),
    ] {
        let mut screen = with_scale(EntryMode::OneKey, CountBy::Tenths);
        assert_eq!(kept(&press(&mut screen, keys)), [(1, entry.to_owned())], "{keys:?}");
    }
    // A plus that was pressed before the scale was asked for is a sealed one.
    let mut screen = with_scale(EntryMode::OneKey, CountBy::Tenths);
    press(&mut screen, "+");
    screen.plus_at = Some(Moment(at(NOW).0 - 1_000));
    assert_eq!(kept(&press(&mut screen, "812g\n")), [(1, "1 812g".to_owned())]);
}

#[test]
fn what_is_doubted_of_one_line_is_not_believed_of_the_next() {
    let mut screen = with_scale(EntryMode::Typed, CountBy::Tenths);
    assert!(said(&press(&mut screen, "480g\n")).concat().contains("below the empty weight"));
    // Left as it was, and entered anew: it is asked about anew.
    press(&mut screen, "\u{1b}");
    assert!(said(&press(&mut screen, "480g\n")).concat().contains("below the empty weight"));
    assert_eq!(kept(&press(&mut screen, "\n")), [(1, "480g".to_owned())]);
}

#[test]
fn an_entry_too_long_for_its_column_is_told_below() {
    let mut screen = with_scale(EntryMode::Typed, CountBy::Tenths);
    press(&mut screen, "2.4 812g 640g\n");
    press(&mut screen, "\u{7f}");
    screen.go_to(2);
    let theme = Theme::from_env(true);
    let picture = shown(100, 20, |frame| screen.draw(frame, frame.area(), Scene { theme: &theme, now: at(NOW) }));
    assert!(picture.contains("2.4 812g 640g"), "{picture}");
}
