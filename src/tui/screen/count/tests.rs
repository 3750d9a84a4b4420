//! Keys in, effects and pictures out.

use super::*;
use crate::domain::gauge::{Gauges, Level, Tally};
use crate::domain::ledger::Count;
use crate::domain::measure::{Amount, UnitCost};
use crate::domain::rows::{ItemFacts, SheetLine, SheetPlace};
use crate::domain::venue::CountId;
use crate::tui::keymap::resolve;
use crate::tui::screen::Scene;
use crate::tui::screen::fixture::{at, bar};
use crate::tui::theme::Theme;
use crate::tui::widget::harness::{at_every_size, shown};
use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use std::collections::HashMap;
use std::sync::Arc;

const RAIL: PlaceId = PlaceId(1);
const CELLAR: PlaceId = PlaceId(2);
const RUM: ItemId = ItemId(1);

/// The sheet of the test bar: the rum should be 2.4 bottles in all (one and 4 tenths on the rail), 60 ml sold since.
fn sheet(blind: bool, mode: EntryMode) -> Sheet {
    let setup = Arc::new(bar());
    let line = |place, item, expected: Option<i64>| SheetLine {
        place,
        item: ItemId(item),
        entered: None,
        expected: expected.map(|ml| Amount(ml * 1_000)),
    };
    let rum = ItemFacts {
        on_hand: Some(Level { amount: Amount(1_680_000), u: 20_207.0 }),
        seen: Tally::exactly(Amount(1_740_000)).with_normal(20_207.0),
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
        gauges: Arc::new(Gauges::new(&setup, &[])),
        setup,
    }
}

fn screen(mode: EntryMode) -> CountScreen {
    CountScreen::new(sheet(false, mode), Some("OM".to_owned()))
}

const NOW: &str = "2026-11-23 01:40";

/// Types keys as a terminal sends them; every effect but none, in order.
fn press(screen: &mut CountScreen, keys: &str) -> Vec<Effect> {
    let now = at(NOW);
    let mut effects = Vec::new();
    for key in keys.chars() {
        let code = match key {
            '\n' => KeyCode::Enter,
            '\u{8}' => KeyCode::Backspace,
            '\u{1b}' => KeyCode::Esc,
            '↓' => KeyCode::Down,
            c => KeyCode::Char(c),
        };
        if let Some(action) = resolve(screen.scope(), KeyEvent::new(code, KeyModifiers::NONE)) {
            effects.push(screen.update(action, now));
        }
    }
    effects.retain(|e| *e != Effect::None);
    effects
}

/// The entries that effects keep, by item; what is only said is passed over.
fn kept(effects: &[Effect]) -> Vec<(i64, String)> {
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
fn said(effects: &[Effect]) -> Vec<String> {
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
    assert_eq!(said(&effects), ["Rail: all 2 lines are counted. d closes the place, n goes on to Cellar"]);
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
    let effects = press(&mut screen, "1.");
    assert_eq!(kept(&effects), [(1, ".1".to_owned())]);
    assert!(said(&effects)[0].contains("u takes it back, e types a line out"), "{effects:?}");
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
    for (scan, says) in [("2000000000022\n", "no item has"), ("2000000000016\n", "misread"), ("20000000\n", "misread")]
    {
        let mut screen = screen(EntryMode::OneKey);
        let effects = press(&mut screen, scan);
        assert!(said(&effects).concat().contains(says) && kept(&effects).is_empty(), "{scan}: {effects:?}");
        assert_eq!(screen.sheet().progress().done, 0);
    }
    let mut screen = screen(EntryMode::OneKey);
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
