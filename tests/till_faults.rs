//! What is wrong with a table is said where it is: line, cell, what was expected; and nothing untrue is asked.

#![allow(clippy::unwrap_used)]

#[path = "support/table.rs"]
mod table;

use table::{said, seen, terms};
use tantalus::domain::till::Field;

/// A table with one cell that is impossible, the line it stands on, and its refusal.
fn refused(text: &str) -> (Vec<Field>, Vec<String>, String) {
    let look = seen(text, &terms());
    let fields = look.layout.columns.iter().map(|column| column.field).collect();
    let asks = look.questions.iter().map(|question| question.asks.clone()).collect();
    (fields, asks, said(text, &look.layout, &terms()).unwrap_err())
}

#[test]
fn one_impossible_day_or_time_makes_a_column_no_other() {
    for (head, good, bad, field, wants) in [
        ("Date", "2026-11-20", "2026-11-31", Field::Date, "the calendar has no such day; expected one as 2026-11-20"),
        ("Datum", "20.11.2026", "31.11.2026", Field::Date, "the calendar has no such day; expected one as 20.11.2026"),
        ("Date", "20 Nov 2026", "31 Nov 2026", Field::Date, "the calendar has no such day"),
        ("Business day", "2026-11-20", "2026-13-20", Field::Day, "the calendar has no such day"),
        (
            "Date and time",
            "2026-11-20 21:00",
            "2026-11-31 21:00",
            Field::DateTime,
            "expected a day and a time as 2026-11-20 21:40",
        ),
        ("Date and time", "2026-11-20 21:00", "2026-11-20 25:00", Field::DateTime, "expected a day and a time as"),
        ("When sold", "2026-11-20", "2026-11-31", Field::Date, "the calendar has no such day"),
    ] {
        // One row of one, two, three and of many.
        for (before, after) in [(0, 0), (1, 0), (1, 1), (0, 2), (7, 5)] {
            // A head that says nothing needs some cells that do.
            if head == "When sold" && before + after == 0 {
                continue;
            }
            let row = |cell: &str| format!("{cell};Negroni;2;20.00\n");
            let text = format!(
                "{head};Item;Quantity;Net\n{}{}{}",
                row(good).repeat(before),
                row(bad),
                row(good).repeat(after)
            );
            let (fields, asks, why) = refused(&text);
            assert_eq!((fields[0], &asks[..]), (field, &[][..]), "{text}: {why}");
            let line = before + 2;
            assert!(why.contains(&format!("line {line}: {head}: “{bad}”: ")) && why.contains(wants), "{text}: {why}");
        }
    }
    let row = |time: &str| format!("2026-11-20;{time};Negroni;2;20.00\n");
    let text = format!("Date;Time;Item;Quantity;Net\n{}{}", row("21:00"), row("24:10"));
    let (fields, asks, why) = refused(&text);
    assert_eq!((fields[1], asks.len()), (Field::Time, 0));
    assert!(why.contains("line 3: Time: “24:10”: expected a time such as 21:40"), "{why}");
}

/// What only looks like a date is none.
#[test]
fn a_number_in_parts_is_a_receipt() {
    let row =
        |n: u32| format!("2026-11-20;21:00;{:02}-{:02}-{};Negroni;2;20.00\n", 40 + n % 50, 70 + n % 20, 1_000 + n);
    let text = format!("Date;Time;Receipt;Item;Quantity;Net\n{}", (0..9).map(row).collect::<String>());
    let look = seen(&text, &terms());
    assert_eq!(look.layout.columns[2].field, Field::Receipt, "{:?}", look.layout);
}

/// Lines as a person's editor counts them, whatever ends them and whatever stands within quotation marks.
#[test]
fn lines_are_counted_as_an_editor_counts_them() {
    for end in ["\n", "\r\n"] {
        let text = "Report\n\nDate;Item;Quantity;Net\n2026-11-20;\"Negroni\nlarge\";1;10.00\n\n2026-11-20;Tonic;x;4.50\n2026-11-20;\"Spritz\n\nbig\";y;8.00\n2026-11-20;Ale;2;8.00\n2026-11-20;Rum;2;8.00";
        let why = refused(&text.replace('\n', end)).2;
        assert!(why.contains("line 7, Quantity: “x”") && why.contains("line 8, Quantity: “y”"), "{end:?}: {why}");
    }
    // With a carriage return alone, as old tills write them.
    let why = refused("Date;Item;Quantity;Net\r2026-11-20;Negroni;1;10.00\r2026-11-20;Tonic;x;4.50\r").2;
    assert!(why.contains("line 3: Quantity: “x”"), "{why}");
}

/// Several faults, one a line.
#[test]
fn several_faults_stand_each_on_a_line_of_its_own() {
    let why = refused(
        "Date;Item;Quantity;Net\n2026-11-20;Negroni;1;10.00\n2026-11-31;Tonic;1;4.50\n2026-11-20;Tonic;x;4.50\n",
    )
    .2;
    let lines: Vec<&str> = why.lines().map(str::trim).collect();
    assert_eq!(lines.len(), 3, "{why}");
    assert!(lines[0].ends_with("nothing was taken in: 2 cells do not fit how this table is read"), "{why}");
    assert!(
        lines[1].starts_with("line 3, Date: “2026-11-31”: ") && lines[2].starts_with("line 4, Quantity: “x”: "),
        "{why}"
    );
}
