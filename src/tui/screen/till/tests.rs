//! Actions in, effects out; then what is drawn.

use super::*;
use crate::domain::measure::Money;
use crate::domain::rows::{FilePrint, FileSum, SampleColumn, TableLook, UnderstoodRow};
use crate::domain::till::{About, Amounts, DateOrder, DecimalMark, Field as Says, Layout, LayoutColumn, Skip};
use crate::domain::till::{Candidate, Likely, Question, RungAs, TakenAs, TakenFile};
use crate::domain::venue::{FileId, Setup, TillName, parse_day};
use crate::tui::screen::Scene;
use crate::tui::screen::fixture::{at, parts};
use crate::tui::theme::Theme;
use crate::tui::widget::harness::{at_every_size, shown};
use std::path::PathBuf;
use std::sync::Arc;

const SOUR: DrinkId = DrinkId(1);

fn drink(portion: i64) -> TillMeaning {
    TillMeaning::Drink { drink: SOUR, portion }
}

/// Two names that wait, a third that is known.
fn view(second: TillMeaning) -> TillView {
    let mut parts = parts();
    parts.till.push(TillName {
        id: TillId(2),
        name: "SOUR DBL".to_owned(),
        code: Some("4711".to_owned()),
        means: second,
    });
    parts.till.push(TillName {
        id: TillId(3),
        name: "BAG \x1b[2J".to_owned(),
        code: None,
        means: TillMeaning::Unknown,
    });
    let setup = Setup::new(parts);
    let rung =
        |lines, quantity, net| RungAs { lines, goods: lines, quantity, net: Money(net), last: at("2026-11-22 23:10") };
    let likely = |portion, score| Candidate {
        means: Meaning::Drink { drink: SOUR, portion },
        score,
        why: "double; the price fits".to_owned(),
    };
    let mut rows = vec![
        TillRow {
            till: TillId(2),
            rung: rung(40, 41_000, 90_000),
            likely: Likely { candidates: vec![likely(2_000, 0.9), likely(1_000, 0.5)], clear: true },
        },
        TillRow { till: TillId(3), rung: rung(9, 9_000, 90), likely: Likely::default() },
        TillRow { till: TillId(1), rung: rung(100, 100_000, 100_000), likely: Likely::default() },
    ];
    if second != TillMeaning::Unknown {
        rows.swap(0, 1);
        rows[1].likely = Likely::default();
    }
    let file = TakenFile {
        id: FileId(7),
        digest: "ab".to_owned(),
        name: "week 47.csv".to_owned(),
        size: 7,
        modified: None,
        what: TakenAs::Sales,
        form: None,
        added: 149,
        at: at("2026-11-22 10:00"),
        by: Some("OM".to_owned()),
        withdrawn: false,
    };
    TillView {
        setup: Arc::new(setup),
        since: at("2026-08-24 05:00"),
        rows,
        net: Money(190_090),
        lately: Money(90_090),
        files: vec![file],
        layouts: Vec::new(),
    }
}

fn screen() -> TillScreen {
    TillScreen::new(view(TillMeaning::Unknown))
}

fn drawn(screen: &mut TillScreen, width: u16, height: u16) -> String {
    let theme = Theme::from_env(true);
    let scene = Scene { theme: &theme, now: at("2026-11-23 01:30") };
    shown(width, height, |frame| screen.draw(frame, frame.area(), scene))
}

fn said(effect: Effect) -> String {
    match effect {
        Effect::Say(notice) => notice.text,
        Effect::Ask { question, .. } => question,
        other => panic!("{other:?}"),
    }
}

fn meant(effect: Effect) -> (TillId, TillMeaning) {
    match effect {
        Effect::MapTill { till, means, .. } => (till, means),
        other => panic!("{other:?}"),
    }
}

#[test]
fn one_key_takes_the_likeliest_and_a_digit_another() {
    let mut screen = screen();
    assert_eq!(meant(screen.update(Action::Accept)), (TillId(2), drink(2_000)));
    assert_eq!(meant(screen.update(Action::Type('2'))), (TillId(2), drink(1_000)));
    assert!(said(screen.update(Action::Type('3'))).contains("no suggestion 3"));
    assert_eq!(meant(screen.update(Action::NotStock)), (TillId(2), TillMeaning::Ignored));
    screen.update(Action::Down);
    assert!(said(screen.update(Action::Type('1'))).contains("no suggestion 1"), "no drink is like it");
    assert!(matches!(screen.update(Action::Accept), Effect::PickDrink(title) if title.contains("BAG [2J")));
    assert_eq!(meant(screen.picked(SOUR)), (TillId(3), drink(1_000)));
}

#[test]
fn a_guess_is_taken_by_its_digit_only() {
    let mut guessed = view(TillMeaning::Unknown);
    guessed.rows[0].likely.clear = false;
    let mut screen = TillScreen::new(guessed);
    assert!(said(screen.update(Action::Accept)).contains("a guess only"));
    assert_eq!(meant(screen.update(Action::Type('1'))), (TillId(2), drink(2_000)));
    assert!(drawn(&mut screen, 80, 20).contains("a guess only: the digit takes it"));
}

#[test]
fn the_cursor_goes_on_to_the_next_name_and_the_last_word_can_be_taken_back() {
    let mut screen = screen();
    let Effect::MapTill { said: told, .. } = screen.update(Action::Accept) else { panic!() };
    assert_eq!(told, "“SOUR DBL” is 2 x Harbour sour, 41 sold (u undoes)");
    screen.refresh(view(drink(2_000)));
    assert_eq!(screen.here().map(|row| row.till), Some(TillId(3)));
    assert_eq!(meant(screen.update(Action::Undo)), (TillId(2), TillMeaning::Unknown));
    screen.refresh(view(TillMeaning::Unknown));
    assert_eq!(screen.here().map(|row| row.till), Some(TillId(2)), "the cursor is where it was taken back");
    assert!(said(screen.update(Action::Undo)).contains("nothing was said"));
}

#[test]
fn a_portion_is_typed() {
    let mut screen = screen();
    screen.update(Action::Edit);
    assert_eq!(screen.scope(), Scope::TillPortion);
    screen.paste("1,5");
    assert_eq!(meant(screen.update(Action::Accept)), (TillId(2), drink(1_500)));
    for wrong in ["", "0", "-1", "x", "1000"] {
        screen.update(Action::Edit);
        screen.paste(wrong);
        assert!(said(screen.update(Action::Accept)).contains("2 is a double"), "{wrong}");
        screen.update(Action::Cancel);
    }
    screen.update(Action::Down);
    assert!(said(screen.update(Action::Edit)).contains("which drink"), "of what is nothing known");
}

#[test]
fn names_that_wait_with_what_they_may_mean() {
    insta::assert_snapshot!(drawn(&mut screen(), 80, 20));
    insta::assert_snapshot!(drawn(&mut screen(), 120, 20));
    let mut all = screen();
    all.update(Action::Grouping);
    assert!(drawn(&mut all, 80, 20).contains("Harbour sour"));
    let none = TillView { rows: Vec::new(), net: Money::ZERO, files: Vec::new(), ..view(TillMeaning::Unknown) };
    assert!(drawn(&mut TillScreen::new(none), 80, 20).contains("f takes the file in"));
}

#[test]
fn a_file_taken_in_can_be_taken_back_once_it_is_asked() {
    let mut screen = screen();
    screen.update(Action::FilesTaken);
    assert_eq!(screen.scope(), Scope::TillFiles);
    insta::assert_snapshot!(drawn(&mut screen, 80, 8));
    match screen.update(Action::Undo) {
        Effect::Ask { question, then, .. } => {
            assert!(question.contains("149 lines of sales"), "{question}");
            assert_eq!(*then, Effect::WithdrawFile(FileId(7)));
        }
        other => panic!("{other:?}"),
    }
    screen.update(Action::Back);
    assert_eq!(screen.scope(), Scope::Till);
}

fn print() -> FilePrint {
    FilePrint { digest: "cd".to_owned(), name: "week 47.csv".to_owned(), size: 12_345, modified: None }
}

fn table_look() -> SalesLook {
    let column = |head: &str, field| LayoutColumn { head: head.to_owned(), field };
    let cells = |cells: &[&str]| SampleColumn { cells: cells.iter().map(|c| (*c).to_owned()).collect() };
    SalesLook {
        path: PathBuf::from("/till/week 47.csv"),
        print: print(),
        what: "a table".to_owned(),
        taken: None,
        table: Some(TableLook {
            layout: Layout {
                name: "week".to_owned(),
                columns: vec![
                    column("Datum", Says::DateTime),
                    column("Artikel", Says::Name),
                    column("Menge", Says::Quantity),
                    column("Umsatz", Says::Gross),
                ],
                decimal: DecimalMark::Comma,
                dates: DateOrder::DayFirst,
                amounts: Amounts::Lines,
                tax: None,
            },
            known: false,
            questions: vec![Question { about: About::Tax, asks: "Tax is in “Umsatz”; at what rate?".to_owned() }],
            day: None,
            samples: vec![cells(&["20.11.2026 21:14"]), cells(&["SOUR"]), cells(&["2"]), cells(&["21,00"])],
            rows: vec![UnderstoodRow {
                when: "Fri 20 Nov 21:14".to_owned(),
                sold_as: "SOUR".to_owned(),
                quantity: 2_000,
                net: Money(2_100),
                kind: String::new(),
            }],
        }),
        sum: Err("line 2, Umsatz: the tax in this amount is not known".to_owned()),
        doubts: Vec::new(),
    }
}

#[test]
fn a_table_is_shown_as_it_is_understood_and_corrected() {
    let mut screen = screen();
    screen.looked(table_look());
    assert_eq!(screen.scope(), Scope::TillLook);
    insta::assert_snapshot!(drawn(&mut screen, 80, 20));
    // Another meaning of the first column: the file is looked at anew.
    let Effect::LookAtSales { path, table } = screen.update(Action::Next) else { panic!() };
    assert_eq!(path, PathBuf::from("/till/week 47.csv"));
    assert_ne!(table.unwrap().0.columns[0].field, Says::DateTime);
    screen.looked(table_look());
    // Not while something is open: the cursor goes there.
    assert_eq!(said(screen.update(Action::AcceptDelivery)), "Tax is in “Umsatz”; at what rate?");
    screen.update(Action::Open);
    assert_eq!(screen.scope(), Scope::TillLookEntry);
    screen.paste("120");
    assert!(said(screen.update(Action::Accept)).contains("percent"));
    screen.update(Action::ClearField);
    screen.paste("19 %");
    let Effect::LookAtSales { table, .. } = screen.update(Action::Accept) else { panic!() };
    let (layout, _) = table.unwrap();
    assert_eq!(layout.tax, Some(1_900));
    let look = table_look();
    let table = TableLook { layout: layout.clone(), questions: Vec::new(), ..look.table.clone().unwrap() };
    let days = parse_day("2026-11-20").unwrap();
    let sum = FileSum { lines: 1, quantity: 2_000, net: Money(1_765), days: Some((days, days)), ..FileSum::default() };
    screen.looked(SalesLook { table: Some(table), sum: Ok(sum), ..look });
    insta::assert_snapshot!(drawn(&mut screen, 80, 20));
    let Effect::TakeSales { table, .. } = screen.update(Action::AcceptDelivery) else { panic!() };
    assert_eq!(table, Some((layout, None)));
    screen.taken();
    assert_eq!(screen.scope(), Scope::Till);
}

#[test]
fn an_export_says_what_it_would_bring() {
    let mut screen = screen();
    let day = |text| parse_day(text).unwrap();
    let sum = FileSum {
        lines: 21,
        quantity: 51_750,
        net: Money(121_369),
        days: Some((day("2026-11-20"), day("2026-11-21"))),
        skipped: vec![(Skip::MoneyOnly, 5)],
        warnings: vec!["some lines say what they are made of".to_owned()],
        new_names: vec!["Spritz".to_owned()],
        unmapped: 19,
        unmapped_net: Money(121_000),
        from: Some("Register 1 \x1b[2J".to_owned()),
        ..FileSum::default()
    };
    let taken = TakenFile { name: "earlier.zip".to_owned(), ..view(TillMeaning::Unknown).files[0].clone() };
    let look = SalesLook {
        what: "the export of a till".to_owned(),
        taken: Some(taken),
        table: None,
        sum: Ok(sum),
        ..table_look()
    };
    screen.looked(look);
    insta::assert_snapshot!(drawn(&mut screen, 80, 16));
    assert!(said(screen.update(Action::AcceptDelivery)).contains("adds nothing twice"));
    assert_eq!(
        screen.update(Action::SetAside),
        Effect::SetAside { path: PathBuf::from("/till/week 47.csv"), print: print() }
    );
    assert_eq!(screen.scope(), Scope::Till);
}

#[test]
fn no_size_panics() {
    let theme = Theme::from_env(true);
    let scene = Scene { theme: &theme, now: at("2026-11-23 01:30") };
    at_every_size(|frame| screen().draw(frame, frame.area(), scene));
    at_every_size(|frame| {
        let mut screen = screen();
        screen.looked(table_look());
        screen.draw(frame, frame.area(), scene);
    });
}
