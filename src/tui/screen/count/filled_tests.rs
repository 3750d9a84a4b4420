//! A filled sheet: keys in, effects and pictures out.

use super::tests::{CELLAR, NOW, RAIL, kept, press, said, sheet};
use super::*;
use crate::domain::rows::CountSheet;
use crate::tui::screen::Scene;
use crate::tui::screen::fixture::at;
use crate::tui::theme::Theme;
use crate::tui::widget::harness::{at_every_size, shown};

/// When the sheet of these tests was filled in; it is typed in later.
const FILLED: &str = "2026-11-23 01:30";

/// The sheet of the test bar: 1 rum and 2 lime on the rail, 3 rum, 4 sugar and 5 soda in the cellar.
fn paper(mark: Option<&str>) -> Sheet {
    let mut sheet = sheet(true, EntryMode::OneKey);
    let printed = CountSheet::new(&sheet.setup, &[RAIL, CELLAR], chrono::NaiveDate::default());
    let mark = mark.map(str::to_owned).or(Some(printed.mark()));
    let filled = Filled { mark, by: Some("IP".to_owned()), ..Filled::default() };
    sheet.filled = Some(filled.numbered(&printed));
    sheet
}

fn screen() -> CountScreen {
    CountScreen::new(paper(None), Some("OM".to_owned()))
}

fn picture(screen: &mut CountScreen, width: u16, height: u16) -> String {
    let theme = Theme::from_env(true);
    shown(width, height, |frame| screen.draw(frame, frame.area(), Scene { theme: &theme, now: at(NOW) }))
}

fn screen_at_number() -> CountScreen {
    let mut screen = screen();
    press(&mut screen, "g1");
    screen
}

/// The numbers of the lines that have an entry, with it.
fn entered(screen: &CountScreen) -> Vec<(usize, String)> {
    let sheet = screen.sheet();
    let lines = (0..sheet.lines.len()).filter_map(|n| Some((sheet.number(n)?, sheet.lines[n].entered.as_ref()?)));
    lines.map(|(number, entered)| (number, entered.entry.to_string())).collect()
}

fn told(pairs: &[(usize, &str)]) -> Vec<(usize, String)> {
    pairs.iter().map(|(number, entry)| (*number, (*entry).to_owned())).collect()
}

#[test]
fn the_lines_of_a_sheet_one_after_the_other() {
    let mut screen = screen();
    assert_eq!(screen.scope(), Scope::SheetList, "whatever way the place is counted in else");
    let effects = press(&mut screen, "1.4\n\n2 ,4\n0\nf\n");
    assert_eq!(entered(&screen), told(&[(1, "1.4"), (3, "2.4"), (4, "0"), (5, "1")]), "2 is empty on paper");
    let Effect::SaveLines(first) = &effects[0] else { panic!("{effects:?}") };
    // Of when it was filled in, and signed by whoever counted.
    assert_eq!((first[0].at, first[0].by.as_deref()), (at(FILLED), Some("IP")));
    assert_eq!(said(&effects), ["that was the last line. Without an entry: 2. x closes the count"]);
    assert_eq!(screen.selected(), 4, "from the last line nowhere");
}

#[test]
fn nothing_is_taken_as_expected() {
    let mut screen = screen();
    assert_eq!(kept(&press(&mut screen, "\n\n\n\n\n\n")), []);
    assert_eq!(screen.sheet().progress().done, 0);
    let picture = picture(&mut screen, 100, 20);
    assert!(!picture.contains("(1.4)") && !picture.contains("sold"), "{picture}");
}

#[test]
fn a_line_is_reached_by_its_number_and_no_figure_alone_is_one() {
    let mut screen = screen();
    press(&mut screen, "4:0\ng3\n2\n5*6\n");
    assert_eq!(entered(&screen), told(&[(3, "2"), (4, "0"), (5, "6")]));
    // A number alone is always what is there.
    press(&mut screen, "g1\n5\n");
    assert_eq!(entered(&screen)[0], (1, "5".to_owned()));
    assert_eq!(screen.selected(), 1);
}

#[test]
fn a_number_that_is_not_on_the_sheet_lets_nothing_slip_into_another_line() {
    for keys in ["9:2\n", "0:2.4\n", "2.4:3\n", "g99\n3\n", "99999999999999999999999:3\n"] {
        let mut screen = screen();
        let effects = press(&mut screen, keys);
        assert_eq!((kept(&effects), screen.scope()), (vec![], Scope::SheetNumber), "{keys}");
        assert!(said(&effects).concat().contains("its lines are 1 to 5"), "{effects:?}");
        press(&mut screen, "\u{1b}");
        assert_eq!((screen.scope(), screen.selected()), (Scope::SheetList, 0));
    }
}

#[test]
fn a_line_that_has_an_entry_is_not_typed_over_unawares() {
    let mut screen = screen();
    press(&mut screen, "1\n2\n1:");
    let effects = press(&mut screen, "3\n");
    assert_eq!(kept(&effects), []);
    assert_eq!(said(&effects), ["line 1 has 1 already: 3 instead of it? Enter once more if that is so"]);
    assert_eq!(kept(&press(&mut screen, "\n")), [(1, "3".to_owned())]);
    // The same once more, or after going back to it, needs no question.
    assert_eq!(kept(&press(&mut screen, "2\n")), [(2, "2".to_owned())]);
    assert_eq!(kept(&press(&mut screen, "\u{8}5\n")), [(2, "5".to_owned())]);
    // Neither does what was taken back.
    press(&mut screen, "u");
    assert_eq!(entered(&screen), told(&[(1, "3"), (2, "2")]));
}

#[test]
fn tenths_without_enter() {
    let mut screen = screen();
    press(&mut screen, "m");
    press(&mut screen, ".42.7");
    assert_eq!(entered(&screen), told(&[(1, ".4"), (2, "2.7")]));
    // Whoever presses Enter all the same has not left a line out.
    let effects = press(&mut screen, "\n");
    assert!(said(&effects)[0].contains("kept without Enter"), "{effects:?}");
    assert_eq!(screen.selected(), 2);
    press(&mut screen, "3\n- .4.7\n");
    assert_eq!(
        entered(&screen),
        told(&[(1, ".4"), (2, "2.7"), (3, "3"), (5, ".4.7")]).into_iter().take(3).collect::<Vec<_>>()
    );
    press(&mut screen, "\u{1b}m");
    press(&mut screen, "4:.4");
    assert_eq!(screen.scope(), Scope::SheetEntry, "it waits for Enter again");
}

#[test]
fn what_is_missing_is_asked_about_by_number() {
    let mut screen = screen();
    press(&mut screen, "1\n\n3\n");
    let question = |effects: &[Effect]| match effects {
        [Effect::Ask { question, .. }] => question.clone(),
        other => panic!("{other:?}"),
    };
    assert_eq!(
        question(&press(&mut screen, "x")),
        "2 of 5 lines of the sheet of Mon 23 Nov 01:30 have an entry. Without: 2, 4-5; they will tell nothing this time. \
         Once closed it stays as it is; only the Book (B) takes a closing back."
    );
    assert_eq!(
        question(&press(&mut screen, "d")),
        "Cellar: 2 of 3 lines have no entry: 4-5. They will tell nothing this time."
    );
    // A closed place shows what it means, and the figures of the next are still hidden.
    let notice = screen.place_closed(RAIL);
    assert!(notice.text.contains("Rail is done. Next: Cellar"), "{notice:?}");
    screen.go_to(0);
    let picture = picture(&mut screen, 100, 14);
    assert!(picture.contains("sold") && picture.contains("no."), "{picture}");
    assert!(!picture.contains("(12.6"), "{picture}");
    // A number leads out of it; an entry does not go into it.
    let effects = press(&mut screen, "5\n");
    assert!(said(&effects)[0].contains("Rail is closed in this count"), "{effects:?}");
    press(&mut screen, "\u{1b}5:");
    assert_eq!(screen.selected(), 4);
}

#[test]
fn what_was_written_below_gets_a_line_and_shifts_no_number() {
    let mut screen = screen();
    press(&mut screen, "1\n2\n");
    // The cursor is in the cellar already, and the line below the rail is still meant.
    let asked = press(&mut screen, "a");
    assert!(matches!(&asked[..], [Effect::Pick { title, .. }] if title == "What stands in Rail?"), "{asked:?}");
    assert_eq!(screen.picked(ItemId(4)), Effect::None);
    assert_eq!((screen.selected(), screen.sheet().number(2)), (2, None));
    assert_eq!(kept(&press(&mut screen, "24\n")), [(4, "24".to_owned())]);
    assert_eq!(screen.sheet().number(screen.selected()), Some(3));
    // It stays until it is in the book, whatever another terminal writes.
    press(&mut screen, "1:");
    screen.picked(ItemId(3));
    screen.refresh(paper(None));
    assert!(screen.sheet().find(RAIL, ItemId(3)).is_some());
    press(&mut screen, "5:");
    assert_eq!(screen.here(), Some((CELLAR, ItemId(4))));
}

#[test]
fn numbers_of_other_shelves_are_neither_shown_nor_followed() {
    let mut screen = CountScreen::new(paper(Some("2222")), None);
    assert!(!picture(&mut screen, 80, 24).contains("  1 Harbour"), "{}", picture(&mut screen, 80, 24));
    for keys in ["3:2\n", ":3\n", "g3\n"] {
        let effects = press(&mut screen, keys);
        assert_eq!(kept(&effects), []);
        assert!(said(&effects)[0].contains("/ finds a line by its name"), "{effects:?}");
        press(&mut screen, "\u{1b}");
    }
    screen.find(ItemId(3));
    assert_eq!(kept(&press(&mut screen, "2\n")), [(3, "2".to_owned())]);
    let effects = press(&mut screen, "x");
    let [Effect::Ask { question, .. }] = &effects[..] else { panic!("{effects:?}") };
    assert!(question.contains("Without: Harbour rum, Lime juice, Harbour rum, Soda;"), "{question}");
}

#[test]
fn what_was_typed_in_before_is_taken_back_in_its_order() {
    let mut sheet = paper(None);
    for (place, item) in [(CELLAR, 3), (RAIL, 1), (CELLAR, 1)] {
        let line = CountLine {
            count: sheet.count.id,
            place,
            item: ItemId(item),
            at: at(FILLED),
            entry: Entry { full: 1, open: Vec::new() },
            method: CountMethod::Tenths,
            by: sheet.filled.as_ref().unwrap().by.clone(),
        };
        sheet.put(&line);
        sheet.filled.as_mut().unwrap().typed.push((place, ItemId(item)));
    }
    let mut screen = CountScreen::new(sheet, None);
    assert_eq!(screen.selected(), 1, "at the first line without an entry");
    for left in [vec![(1, "1"), (4, "1")], vec![(4, "1")], vec![]] {
        press(&mut screen, "u");
        assert_eq!(entered(&screen), told(&left));
    }
}

#[test]
fn pictures_of_a_sheet() {
    let mut screen = screen();
    press(&mut screen, "1.4\n\n3:2.");
    insta::assert_snapshot!(picture(&mut screen, 80, 14));
    press(&mut screen, "\u{1b}g1");
    insta::assert_snapshot!(picture(&mut screen, 60, 14));
    at_every_size(|frame| {
        let theme = Theme::from_env(true);
        let mut screen = screen_at_number();
        screen.draw(frame, frame.area(), Scene { theme: &theme, now: at(NOW) });
    });
}
