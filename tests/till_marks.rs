//! The decimal mark of a table: told by the file, asked of a person, or not known yet; never guessed in silence. All
//! figures by hand.

#![allow(clippy::unwrap_used)]

#[path = "support/table.rs"]
mod table;

use table::{figures, file, said, seen, taken, terms, terms_of};
use tantalus::domain::till::{About, DecimalMark, Layout};
use tantalus::exchange::till::table::{Meant, Preview, preview};

const HEAD: &str = "Datum;Artikel;Menge;Netto\n";

fn report(rows: &str) -> String {
    format!("{HEAD}{rows}")
}

/// Whole numbers of some evening.
fn whole() -> String {
    report("20.11.2026;Negroni;95;950\n20.11.2026;Tonic;9;90\n")
}

fn asks_for_the_mark(preview: &Preview) -> bool {
    preview.questions.iter().any(|question| question.about == About::Decimal)
}

#[test]
fn whole_numbers_leave_the_mark_open_and_ask_nothing() {
    for coin in ["EUR", "JPY", "TND"] {
        let terms = terms_of(coin, 5);
        let look = seen(&whole(), &terms);
        assert_eq!(look.layout.decimal, DecimalMark::Unknown, "{coin}");
        assert!(look.questions.is_empty(), "{coin}: {:?}", look.questions);
        let minor = 10_i64.pow(terms.currency.decimals());
        let (lines, passed) = said(&whole(), &look.layout, &terms).unwrap();
        assert_eq!(figures(&lines), [(95_000, 950 * minor), (9_000, 90 * minor)], "{coin}");
        assert_eq!(passed.decimal, None, "{coin}: the file told nothing");
    }
}

/// The reviewer's case: 13.75 was taken in where 13,750 had been sold.
#[test]
fn what_can_be_read_both_ways_is_asked_and_refused_with_its_line() {
    let kept = seen(&whole(), &terms()).layout;
    let next = report("21.11.2026;Tonic;9;90\n21.11.2026;Negroni;95;1,250\n21.11.2026;Spritz;900;12,500\n");
    let refused = said(&next, &kept, &terms()).unwrap_err();
    assert!(refused.contains("line 3: Netto: “1,250”: this could be 1.25 as well as 1250"), "{refused}");
    assert!(refused.contains("say whether decimals stand after a point or a comma"), "{refused}");
    let here = file(&next);
    let preview = preview(here.path(), &kept, None, &terms()).unwrap();
    assert!(asks_for_the_mark(&preview), "{:?}", preview.questions);
    let wrong = preview.rows.iter().filter(|row| matches!(row.means, Meant::Wrong(_))).count();
    assert_eq!(wrong, 2, "no figure is shown for what is not known");
    // Whichever a person says.
    let by = |decimal| Layout { decimal, ..kept.clone() };
    let (lines, _) = taken(here.path(), &by(DecimalMark::Comma), &terms()).unwrap();
    assert_eq!(figures(&lines), [(9_000, 9_000), (95_000, 125), (900_000, 1_250)]);
    let (lines, _) = taken(here.path(), &by(DecimalMark::Point), &terms()).unwrap();
    assert_eq!(figures(&lines), [(9_000, 9_000), (95_000, 125_000), (900_000, 1_250_000)]);
}

#[test]
fn a_first_look_asks_the_same() {
    let look = seen(&report("21.11.2026;Tonic;9;90\n21.11.2026;Negroni;95;1,250\n"), &terms());
    assert_eq!(look.layout.decimal, DecimalMark::Unknown);
    assert!(look.questions.iter().any(|question| question.about == About::Decimal), "{:?}", look.questions);
}

#[test]
fn one_figure_that_tells_decides_for_the_whole_file_wherever_it_stands() {
    let kept = seen(&whole(), &terms()).layout;
    for (telling, mark, want) in [("90,5", DecimalMark::Comma, 125), ("90.5", DecimalMark::Point, 125_000)] {
        let before = format!("21.11.2026;Tonic;9;{telling}\n21.11.2026;Negroni;95;1,250\n");
        let after = format!("21.11.2026;Negroni;95;1,250\n21.11.2026;Tonic;9;{telling}\n");
        for rows in [before, after] {
            let (lines, passed) = said(&report(&rows), &kept, &terms()).unwrap();
            let negroni = lines.iter().find(|line| line.sold_as == "Negroni").unwrap();
            assert_eq!((passed.decimal, negroni.net.0), (Some(mark), want), "{rows}");
        }
    }
    // Beyond all that a look sees, and told by a sum.
    let mut long = report("21.11.2026;Negroni;95;1,250\n");
    (0..20_000).for_each(|n| long.push_str(&format!("21.11.2026;Tonic {n};9;90\n")));
    let refused = said(&long, &kept, &terms()).unwrap_err();
    assert!(refused.contains("line 2: Netto"), "{refused}");
    long.push_str("Summe;;180095;1.800.001,25\n");
    let (lines, passed) = said(&long, &kept, &terms()).unwrap();
    assert_eq!((passed.decimal, lines[0].net.0, lines.len()), (Some(DecimalMark::Comma), 125, 20_001));
}

/// Figures of both marks: the first that tells counts, and the other is named.
#[test]
fn a_file_of_two_marks_is_refused() {
    let kept = seen(&whole(), &terms()).layout;
    let refused = said(&report("21.11.2026;Negroni;95;9,50\n21.11.2026;Tonic;9;9.50\n"), &kept, &terms()).unwrap_err();
    assert!(
        refused.contains("line 3: Netto: “9.50”: expected a number whose decimals stand after a comma"),
        "{refused}"
    );
}

/// ISO 4217 gives the yen no decimals: three digits after a mark are thousands.
#[test]
fn a_coin_without_decimals_tells_by_itself() {
    let terms = terms_of("JPY", 5);
    let kept = seen(&whole(), &terms).layout;
    for (cell, mark) in [("12,500", DecimalMark::Point), ("12.500", DecimalMark::Comma)] {
        let text = report(&format!("21.11.2026;Negroni;9;{cell}\n"));
        let (lines, passed) = said(&text, &kept, &terms).unwrap();
        assert_eq!((figures(&lines), passed.decimal), (vec![(9_000, 12_500)], Some(mark)), "{cell}");
        let look = seen(&text, &terms);
        assert_eq!((look.layout.decimal, look.questions.len()), (mark, 0), "{cell}: {:?}", look.questions);
        // Heads that say nothing: the column is known by then.
        let own = seen(&format!("F1;F2;F3;F4\n2026-11-21;Negroni;9;¥{cell}\n2026-11-21;Tonic;3;¥{cell}\n"), &terms);
        assert_eq!(own.layout.decimal, mark, "{cell}: {:?}", own.layout);
    }
    // Of a quantity it can be either.
    let refused = said(&report("21.11.2026;Negroni;1,250;900\n"), &kept, &terms).unwrap_err();
    assert!(refused.contains("line 2: Menge: “1,250”: this could be 1.25 as well as 1250"), "{refused}");
}

/// ISO 4217 gives the Tunisian dinar three decimals: they may be just that, and a person is asked.
#[test]
fn a_coin_of_three_decimals_leans_to_them() {
    let terms = terms_of("TND", 5);
    for (cell, leans) in [("12.500", "point"), ("12,500", "comma")] {
        let text = report(&format!("21.11.2026;Negroni;9;{cell}\n21.11.2026;Tonic;2;{cell}\n"));
        let look = seen(&text, &terms);
        assert_eq!(look.layout.decimal, DecimalMark::Unknown);
        let [question] = &look.questions[..] else { panic!("{:?}", look.questions) };
        assert!(question.asks.contains(&format!("after a {leans}")), "{}", question.asks);
    }
    // 0.500 is no number of thousands, so it tells.
    let kept = seen(&whole(), &terms).layout;
    let (lines, passed) =
        said(&report("21.11.2026;Negroni;9;12.500\n21.11.2026;Bag;1;0.500\n"), &kept, &terms).unwrap();
    assert_eq!(figures(&lines), [(9_000, 12_500), (1_000, 500)]);
    assert_eq!(passed.decimal, Some(DecimalMark::Point));
}

/// No tax is a thousand percent.
#[test]
fn a_rate_of_tax_tells_by_itself() {
    let head = "Date;Item;Qty;Gross;Tax rate\n";
    let layout = seen(&format!("{head}2026-11-20;Negroni;1;12;8\n"), &terms()).layout;
    assert_eq!(layout.decimal, DecimalMark::Unknown);
    let (lines, passed) = said(&format!("{head}2026-11-20;Negroni;1;1,200;8.875\n"), &layout, &terms()).unwrap();
    // 1200 / 1.0888, the rate in hundredths of a percent.
    assert_eq!((lines[0].net.0, passed.decimal), (110_213, Some(DecimalMark::Point)));
}
