//! What the lines of a table are known by: the same in every file that holds them, and never that of another line. All by
//! hand.

#![allow(clippy::unwrap_used)]

#[path = "support/table.rs"]
mod table;

use std::collections::BTreeSet;
use table::{figures, said, seen, terms, terms_of};
use tantalus::domain::till::{Amounts, Field, Layout};
use tantalus::domain::venue::SaleKind;
use tantalus::exchange::till::{Rung, Skip, Terms};

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
