//! What the lines of a table are known by: the same in every file that holds them, and never that of another line. All by
//! hand.

#![allow(clippy::unwrap_used)]

#[path = "support/table.rs"]
mod table;

use std::collections::BTreeSet;
use table::{figures, said, seen, terms, terms_of};
use tantalus::domain::till::{Amounts, Field, Layout, Skip};
use tantalus::domain::venue::SaleKind;
use tantalus::exchange::till::{Rung, Terms};

/// The lines of a text, read as it looks.
fn lines(text: &str, terms: &Terms) -> Vec<Rung> {
    let look = seen(text, terms);
    assert!(look.questions.is_empty(), "{:?}", look.questions);
    said(text, &look.layout, terms).unwrap().0
}

fn keys(lines: &[Rung]) -> BTreeSet<(String, i64)> {
    let keys: BTreeSet<_> = lines.iter().map(|line| (line.receipt.clone(), line.line)).collect();
    assert_eq!(keys.len(), lines.len(), "a key twice: {keys:?}");
    keys
}

#[test]
fn a_day_s_figure_of_nothing_is_handed_on_and_a_line_of_nothing_is_not() {
    let head = "Business day;Item;Quantity;Net\n";
    let rows = "2026-11-20;Negroni;0;0.00\n2026-11-20;Tonic;2;9.00\n";
    let layout = seen(&format!("{head}{rows}"), &terms()).layout;
    assert_eq!(layout.amounts, Amounts::Totals);
    let (totals, passed) = said(&format!("{head}{rows}"), &layout, &terms()).unwrap();
    assert_eq!(figures(&totals), [(0, 0), (2_000, 900)]);
    assert!(totals.iter().all(|line| line.total) && !totals[0].goods && totals[0].kind == SaleKind::Sale);
    assert_eq!(passed.skipped.get(&Skip::Zero), None);
    // Of what it was a figure, it still is.
    let kinds = "Business day;Item;Type;Quantity;Net\n2026-11-20;Negroni;Staff;0;0.00\n2026-11-20;Tonic;Sale;2;9.00\n";
    let (staff, _) = said(kinds, &seen(kinds, &terms()).layout, &terms()).unwrap();
    let staff = staff.iter().find(|line| line.quantity == 0).unwrap();
    assert!(staff.receipt.starts_with("staff day 2026-11-20 ") && staff.kind == SaleKind::Staff, "{staff:?}");
    // Nothing but zeros is a report too.
    let (zeros, _) = said(&format!("{head}2026-11-20;Negroni;0;0.00\n"), &layout, &terms()).unwrap();
    assert_eq!(figures(&zeros), [(0, 0)]);
    let lines = Layout { amounts: Amounts::Lines, ..layout };
    let (kept, passed) = said(&format!("{head}{rows}"), &lines, &terms()).unwrap();
    assert_eq!((figures(&kept), passed.skipped[&Skip::Zero]), (vec![(2_000, 900)], 1));
}

/// The reviewer's case: two tills number their receipts by themselves.
#[test]
fn two_registers_of_one_report_stay_two() {
    let text = "Date;Time;Register;Receipt;Item;Quantity;Net\n\
        2026-11-20;21:00;A;2;Negroni;2;20.00\n2026-11-20;21:05;B;2;Negroni;-2;-20.00\n2026-11-20;21:06;A;2;Negroni;-1;-10.00\n";
    let both = lines(text, &terms());
    assert_eq!(keys(&both).len(), 3);
    let kinds: Vec<SaleKind> = both.iter().map(|line| line.kind).collect();
    assert_eq!(kinds, [SaleKind::Sale, SaleKind::Return, SaleKind::Void], "only A can take back what A sold");
    assert_eq!(both[0].receipt, "2026-11-20/A 2");
    // A register of any name cannot be taken for part of a receipt.
    let one = "Date;Time;Register;Receipt;Item;Quantity;Net\n2026-11-20;21:00;1 2;3;Negroni;2;20.00\n";
    let other = "Date;Time;Register;Receipt;Item;Quantity;Net\n2026-11-20;21:00;1;2 3;Negroni;2;20.00\n";
    assert!(keys(&lines(one, &terms())).is_disjoint(&keys(&lines(other, &terms()))));
}

#[test]
fn figures_of_days_of_two_registers_stay_two() {
    let text =
        "Business day;Till;Item;Quantity;Net\n2026-11-20;Bar;Negroni;10;100.00\n2026-11-20;Terrace;Negroni;7;70.00\n";
    let both = lines(text, &terms());
    assert_eq!((figures(&both), keys(&both).len()), (vec![(10_000, 10_000), (7_000, 7_000)], 2));
    // One of them alone knows its own figure better, not the other's.
    let bar = lines(&text.replace("2026-11-20;Terrace;Negroni;7;70.00\n", "").replace(";10;", ";12;"), &terms());
    assert_eq!(keys(&bar).intersection(&keys(&both)).count(), 1);
}

#[test]
fn lines_of_a_minute_without_receipts_stay_apart_by_register() {
    let text = "Date;Time;POS terminal;Item;Quantity;Net\n2026-11-20;21:00;1;Negroni;1;10.00\n2026-11-20;21:00;2;Negroni;1;10.00\n";
    let (first, second) = text.split_at(text.len() - "2026-11-20;21:00;2;Negroni;1;10.00\n".len());
    let head = first.lines().next().unwrap();
    let both = keys(&lines(text, &terms()));
    let alone = keys(&lines(&format!("{head}\n{second}"), &terms()));
    assert!(alone.is_subset(&both), "each register by itself is the same as both in one: {alone:?} {both:?}");
}

/// Heads in the words of ten languages (common practice, no source).
#[test]
fn registers_are_known_by_their_heads() {
    for head in [
        "Register",
        "Till",
        "POS",
        "Terminal",
        "Kasse",
        "Kassen-Nr.",
        "Caisse",
        "Caixa",
        "Kassa",
        "Cassa",
        "Caja",
        "N° caisse",
        "Kassenummer",
        "Kasse nr.",
    ] {
        let text = format!(
            "Date;Time;{head};Receipt;Item;Quantity;Net\n2026-11-20;21:00;K1;7;Negroni;2;20.00\n\
             2026-11-20;21:05;K2;7;Negroni;1;10.00\n2026-11-20;21:09;K1;8;Tonic;1;4.50\n"
        );
        let fields: Vec<Field> = seen(&text, &terms()).layout.columns.iter().map(|column| column.field).collect();
        assert_eq!(fields[2], Field::Register, "{head}: {fields:?}");
        assert_eq!(fields[3], Field::Receipt, "{head}: {fields:?}");
    }
    // What is called so and is something else.
    for (head, cells, not) in [
        ("Kassendatum", ["2026-11-20", "2026-11-20", "2026-11-20"], Field::Register),
        ("Kassenbon", ["71", "72", "72"], Field::Register),
        ("Kasse", ["1.234,50", "10,00", "12,50"], Field::Register),
        ("Pos", ["1", "2", "1"], Field::Register),
    ] {
        let rows: String = cells.iter().map(|cell| format!("2026-11-20;21:00;{cell};Negroni;2;20,00\n")).collect();
        let layout = seen(&format!("Date;Time;{head};Item;Quantity;Net\n{rows}"), &terms()).layout;
        assert_ne!(layout.columns[2].field, not, "{head}: {layout:?}");
    }
}

#[test]
fn a_name_is_the_same_in_capitals() {
    let totals =
        |name: &str| format!("Business day;Item;Quantity;Net\n2026-11-20;{name};10;100.00\n2026-11-20;Tonic;2;9.00\n");
    assert_eq!(keys(&lines(&totals("Testbrew"), &terms())), keys(&lines(&totals("TESTBREW"), &terms())));
    let timed = |name: &str| {
        format!("Date;Time;Item;Quantity;Net\n2026-11-20;21:00;{name};1;10.00\n2026-11-20;21:05;Tonic;1;4.50\n")
    };
    assert_eq!(keys(&lines(&timed("Crème"), &terms())), keys(&lines(&timed("CRÈME"), &terms())));
    // In one file they are one figure, and one void takes the other's back.
    let both = format!("{}2026-11-20;TESTBREW;5;50.00\n", totals("Testbrew"));
    assert_eq!(figures(&lines(&both, &terms())), [(15_000, 15_000), (2_000, 900)]);
    let void = "Date;Time;Receipt;Item;Quantity;Net\n2026-11-20;21:00;1;Testbrew;2;10.00\n2026-11-20;21:01;1;TESTBREW;-1;-5.00\n";
    assert_eq!(lines(void, &terms())[1].kind, SaleKind::Void);
}

/// A week whose nights go on after midnight, receipt 7 open over it.
fn night(dates: [&str; 2]) -> String {
    let [eve, after] = dates;
    format!(
        "{eve};23:50;7;Negroni;2;20.00\n{eve};23:55;8;Tonic;1;4.50\n{after};00:10;7;Spritz;1;8.00\n{after};00:12;7;Negroni;-1;-10.00\n\
         {after};03:30;9;Tonic;1;4.50\n{after};20:00;7;Tonic;3;13.50\n"
    )
}

#[test]
fn the_hour_at_which_a_day_begins_changes_no_key() {
    let text = format!("Date;Time;Receipt;Item;Quantity;Net\n{}", night(["2026-11-20", "2026-11-21"]));
    let at_five = lines(&text, &terms());
    for hour in [0, 3, 4, 8] {
        assert_eq!(keys(&lines(&text, &terms_of("EUR", hour))), keys(&at_five), "from {hour}:00 on");
    }
    // In one column as well, and with the till's own business day beside them.
    let one = format!(
        "Date and time;Receipt;Item;Quantity;Net\n{}",
        night(["2026-11-20", "2026-11-21"]).replace("-20;", "-20 ").replace("-21;", "-21 ")
    );
    assert_eq!(keys(&lines(&one, &terms())), keys(&at_five));
    // Where the table says nothing but its business days, these are what it says.
    let days = format!(
        "Business day;Time;Receipt;Item;Quantity;Net\n{}",
        night(["2026-11-20", "2026-11-20"]).rsplit_once("2026-11-20;20:00").unwrap().0
    );
    assert_eq!(keys(&lines(&days, &terms())), keys(&lines(&days, &terms_of("EUR", 0))));
    assert_eq!(lines(&days, &terms())[4].receipt, "2026-11-20 9");
}

/// A receipt that is open over midnight is one for what takes back; its lines are known by their own dates, so that reports
/// that end at midnight and reports that end in the morning hold the same ones.
#[test]
fn a_receipt_over_midnight_is_the_same_in_reports_that_end_at_midnight_and_in_the_morning() {
    let head = "Date;Time;Receipt;Item;Quantity;Net\n";
    let rows = night(["2026-11-20", "2026-11-21"]);
    let rows: Vec<&str> = rows.lines().collect();
    let part = |range: std::ops::Range<usize>| format!("{head}{}\n", rows[range].join("\n"));
    let layout = seen(&part(0..6), &terms()).layout;
    let read = |range| said(&part(range), &layout, &terms()).unwrap().0;
    let whole = read(0..6);
    assert_eq!(whole[3].kind, SaleKind::Void, "{:?}", whole[3]);
    // By the calendar, and by the night.
    for cut in [2, 5] {
        let (first, second) = (keys(&read(0..cut)), keys(&read(cut..6)));
        assert!(first.is_disjoint(&second), "{first:?} {second:?}");
        assert_eq!(first.union(&second).cloned().collect::<BTreeSet<_>>(), keys(&whole));
    }
}

/// Tills begin their numbers anew at midnight, or when the night ends, or never.
#[test]
fn numbers_that_begin_anew_make_no_two_receipts_one() {
    let head = "Date;Time;Receipt;Item;Quantity;Net\n";
    let in_the_morning = "2026-11-20;20:00;150;Tonic;1;4.50\n2026-11-21;00:30;151;Negroni;1;10.00\n2026-11-21;23:30;151;Negroni;1;10.00\n";
    let at_midnight =
        "2026-11-20;20:00;1;Tonic;1;4.50\n2026-11-21;00:30;1;Tonic;1;4.50\n2026-11-21;20:00;2;Tonic;1;4.50\n";
    for rows in [in_the_morning, at_midnight] {
        let whole = lines(&format!("{head}{rows}"), &terms());
        let receipts: BTreeSet<&str> = whole.iter().map(|line| line.receipt.as_str()).collect();
        assert_eq!(receipts.len(), 3, "{receipts:?}");
    }
}
