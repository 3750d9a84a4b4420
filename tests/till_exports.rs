//! Statutory till exports, line by line against what the samples hold, and broken ones against their refusals.

#![allow(clippy::unwrap_used)]

#[path = "support/till.rs"]
mod till;

use serde_json::Value;
use std::collections::BTreeMap;
use std::path::Path;
use tantalus::domain::measure::Decimal;
use tantalus::domain::till::Skip;
use tantalus::domain::venue::SaleKind;
use tantalus::exchange::sniff::{What, sniff};
use tantalus::exchange::till::Rung;
use till::{Taken, read, sample, terms};

fn expected(name: &str) -> Value {
    let path = sample(&format!("{name}.expected.json"));
    serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap()
}

fn exact(value: &Value, places: u32) -> i64 {
    Decimal::parse(value.as_str().unwrap()).unwrap().exact(places).unwrap()
}

fn text<'v>(line: &'v Value, key: &str) -> &'v str {
    line[key].as_str().unwrap_or_default()
}

/// How a counted line's quantity moves stock or, for a return, would have: with its sign.
fn counts(rung: &Rung) -> bool {
    rung.goods && matches!(rung.kind, SaleKind::Sale | SaleKind::Void | SaleKind::Return)
}

/// Compares every line of a sample: what it counts is handed on with the same quantity, time, name and amount; what it
/// does not is handed on as something else than a sale, or not at all.
fn compare(taken: &Taken, expected: &Value, receipt: impl Fn(&Value) -> String, zone: &str) {
    let mut left: BTreeMap<(String, i64), &Rung> =
        taken.lines.iter().map(|rung| ((rung.receipt.clone(), rung.line), rung)).collect();
    assert_eq!(left.len(), taken.lines.len(), "each line has its own number");
    let days = terms("EUR", zone).days;
    let mut not_counted = 0;
    for line in expected["sales_lines"].as_array().unwrap() {
        let key = (receipt(line), text(line, "line").parse().unwrap());
        let found = left.remove(&key);
        if line["counted"] != true {
            assert!(found.is_none_or(|rung| !counts(rung)), "{line}");
            not_counted += u64::from(found.is_none());
            continue;
        }
        let rung = found.unwrap_or_else(|| panic!("{line} is missing"));
        assert!(counts(rung), "{line} is {rung:?}");
        assert_eq!(rung.quantity, exact(&line["qty"], 3), "{line}");
        assert_eq!(rung.at, days.parse(text(line, "sold_at")).unwrap(), "{line}");
        let unit = Some(text(line, "unit")).filter(|unit| !matches!(*unit, "" | "Stück"));
        let name = unit.map_or(text(line, "text").to_owned(), |unit| format!("{} [{unit}]", text(line, "text")));
        assert_eq!(rung.sold_as, name);
        assert_eq!(rung.code.as_deref().unwrap_or_default(), text(line, "article_no"));
        if line["net"].is_string() {
            assert_eq!(rung.net.0, exact(&line["net"], 2), "{line}");
        } else {
            // The gross and one rate: the net is within half a cent of what they come to.
            let rate = exact(&line["vat_percent"], 2);
            let net = (exact(&line["gross"], 2) * 10_000) as f64 / (10_000 + rate) as f64;
            assert!((rung.net.0 as f64 - net).abs() <= 0.5, "{line}: {:?} is not {net}", rung.net);
        }
    }
    assert!(left.is_empty(), "more than the sample holds: {left:?}");
    let skipped: u64 = taken.passed.skipped.iter().filter(|(why, _)| **why != Skip::Part).map(|(_, n)| n).sum();
    assert_eq!(skipped, not_counted, "every line is handed on or counted as skipped");
    let mut totals: BTreeMap<&str, i64> = BTreeMap::new();
    for rung in taken.lines.iter().filter(|rung| counts(rung)) {
        *totals.entry(rung.code.as_deref().unwrap_or_default()).or_default() += rung.quantity;
    }
    for total in expected["totals_by_article"].as_array().unwrap() {
        assert_eq!(totals.remove(text(total, "article_no")), Some(exact(&total["qty"], 3)), "{total}");
    }
    assert!(totals.is_empty(), "articles beyond the sample's: {totals:?}");
}

fn of_dsfinvk(expected: &Value) -> impl Fn(&Value) -> String + use<> {
    let made: BTreeMap<i64, String> = expected["closings"]
        .as_array()
        .unwrap()
        .iter()
        .map(|closing| (closing["z_nr"].as_i64().unwrap(), text(closing, "created")[..10].to_owned()))
        .collect();
    move |line| {
        let closing = line["z_nr"].as_i64().unwrap();
        format!("{} {closing} {} {}", text(line, "register"), made[&closing], text(line, "bon_id"))
    }
}

fn skipped(taken: &Taken, why: Skip) -> u64 {
    taken.passed.skipped.get(&why).copied().unwrap_or_default()
}

/// Written by the PyPI library dsfinvk 2.4.0.
#[test]
fn a_zip_of_two_closings_is_read_line_by_line() {
    let path = sample("dsfinvk-zwei-abschluesse.zip");
    assert_eq!(sniff(&path).unwrap(), What::Dsfinvk);
    let expected = expected("dsfinvk-zwei-abschluesse");
    let taken = read(&path, &terms("EUR", "Europe/Berlin")).unwrap();
    compare(&taken, &expected, of_dsfinvk(&expected), "Europe/Berlin");
    let of = |bon: &str| taken.lines.iter().filter(|rung| rung.receipt.ends_with(bon)).collect::<Vec<_>>();
    let kinds = |bon: &str| of(bon).iter().map(|rung| (rung.kind, rung.quantity, rung.goods)).collect::<Vec<_>>();
    // The reversal takes back; the counter-posting of a line too; staff and training are what they are.
    assert_eq!(kinds("211-0008"), [(SaleKind::Void, -2_000, true)]);
    assert_eq!(kinds("212-0006"), [(SaleKind::Sale, 2_000, true), (SaleKind::Void, -1_000, true)]);
    assert_eq!(kinds("211-0010"), [(SaleKind::Staff, 1_000, true)]);
    assert_eq!(kinds("211-0004"), [(SaleKind::Training, 5_000, true)]);
    // The discount is money without goods; the voided line and the tip of its receipt are not there.
    assert_eq!(kinds("211-0003"), [(SaleKind::Sale, 2_000, true), (SaleKind::Sale, 0, false)]);
    assert_eq!(of("211-0003")[1].net.0, -160);
    let counts =
        [Skip::Voided, Skip::NoSale, Skip::MoneyOnly, Skip::Part, Skip::Unknown].map(|why| skipped(&taken, why));
    assert_eq!(counts, [1, 2, 5, 2, 0]);
    let days = taken.passed.days.unwrap();
    assert_eq!((days.0.to_string(), days.1.to_string()), ("2026-03-06".to_owned(), "2026-03-07".to_owned()));
    assert_eq!(taken.passed.from.as_deref(), Some("Kajüte Vierzehn Barbetrieb UG"));
    // What the lines are made of is told; every printed total is the sum of its lines.
    assert_eq!(taken.passed.warnings.len(), 1, "{:?}", taken.passed.warnings);
    assert!(taken.passed.warnings[0].contains("made of"));
}

/// Written by the PyPI library dsfinvk 2.4.0.
#[test]
fn a_folder_is_read_as_an_archive_is() {
    let path = sample("dsfinvk-ordner");
    assert_eq!(sniff(&path).unwrap(), What::Dsfinvk);
    assert_eq!(sniff(&path.join("index.xml")).unwrap(), What::Dsfinvk);
    let expected = expected("dsfinvk-ordner");
    for path in [path.clone(), path.join("index.xml")] {
        let taken = read(&path, &terms("EUR", "Europe/Berlin")).unwrap();
        compare(&taken, &expected, of_dsfinvk(&expected), "Europe/Berlin");
        // No business day in the file: that of the times.
        let days = taken.passed.days.unwrap();
        assert_eq!((days.0.to_string(), days.1.to_string()), ("2026-03-09".to_owned(), "2026-03-09".to_owned()));
    }
}

fn of_saft(line: &Value) -> String {
    format!("{} {}", text(line, "register"), text(line, "trans_nr"))
}

/// The Norwegian sample passes the official schema 1.00.
#[test]
fn norwegian_and_danish_registers_are_read_line_by_line() {
    for (name, coin, zone, from) in [
        ("saft-no-kassasystem", "NOK", "Europe/Oslo", "Tangnes Mikrobar AS"),
        ("saft-dk-kassesystem", "DKK", "Europe/Copenhagen", "Bølgebryder Vinbar ApS"),
    ] {
        let path = sample(&format!("{name}.xml"));
        assert_eq!(sniff(&path).unwrap(), What::SaftCash);
        let taken = read(&path, &terms(coin, zone)).unwrap();
        compare(&taken, &expected(name), of_saft, zone);
        assert_eq!(taken.passed.from.as_deref(), Some(from));
        assert!(taken.passed.warnings.is_empty(), "{:?}", taken.passed.warnings);
    }
    let taken = read(&sample("saft-no-kassasystem.xml"), &terms("NOK", "Europe/Oslo")).unwrap();
    let kinds: Vec<(&str, SaleKind, i64)> =
        taken.lines.iter().map(|rung| (rung.receipt.as_str(), rung.kind, rung.quantity)).collect();
    assert!(kinds.contains(&("K1 4", SaleKind::Return, -1_000)), "{kinds:?}");
    assert!(kinds.contains(&("K1 6", SaleKind::Training, 9_000)), "{kinds:?}");
    assert_eq!(skipped(&taken, Skip::Voided), 1);
    // 01:20 belongs to the evening before.
    let days = taken.passed.days.unwrap();
    assert_eq!((days.0.to_string(), days.1.to_string()), ("2026-04-10".to_owned(), "2026-04-10".to_owned()));
}

/// Its structure is assumed, so it says that it is experimental.
#[test]
fn the_dutch_family_is_read_and_says_that_it_is_experimental() {
    let path = sample("xaa-ungeprueft.xml");
    assert_eq!(sniff(&path).unwrap(), What::Xaa);
    let taken = read(&path, &terms("EUR", "Europe/Amsterdam")).unwrap();
    compare(&taken, &expected("xaa-ungeprueft"), of_saft, "Europe/Amsterdam");
    assert!(taken.passed.warnings.iter().any(|said| said.contains("experimental")));
}

/// The sample passes the official schema, and the PyPI library saft-mcp 0.1.0 reads the same lines from it.
#[test]
fn portuguese_invoices_are_read_line_by_line() {
    let path = sample("saft-pt-faturas.xml");
    assert_eq!(sniff(&path).unwrap(), What::SaftPt);
    let taken = read(&path, &terms("EUR", "Europe/Lisbon")).unwrap();
    compare(&taken, &expected("saft-pt-faturas"), |line| text(line, "trans_nr").to_owned(), "Europe/Lisbon");
    let kinds: Vec<(&str, i64, SaleKind)> =
        taken.lines.iter().map(|rung| (rung.receipt.as_str(), rung.quantity, rung.kind)).collect();
    // What is undone in its own invoice was never made; what comes back by a credit note was.
    assert!(kinds.contains(&("FS A/2", -1_000, SaleKind::Void)), "{kinds:?}");
    assert!(kinds.contains(&("NC A/1", -1_000, SaleKind::Return)), "{kinds:?}");
    assert_eq!((skipped(&taken, Skip::NoSale), skipped(&taken, Skip::MoneyOnly)), (2, 1));
    assert_eq!(taken.passed.from.as_deref(), Some("Balcão da Âncora Lda"));
}

#[test]
fn the_pace_is_told_up_to_the_end() {
    for (name, coin) in [("dsfinvk-zwei-abschluesse.zip", "EUR"), ("saft-no-kassasystem.xml", "NOK")] {
        let taken = read(&sample(name), &terms(coin, "Europe/Berlin")).unwrap();
        let (read, of) = *taken.pace.last().unwrap();
        assert!(read == of && of > 0);
        assert!(taken.pace.is_sorted() && taken.pace.iter().all(|(read, of)| read <= of));
    }
}

#[test]
fn what_is_no_till_export_is_refused_by_its_name() {
    let what = What::UblInvoice;
    let mut taken = Taken::default();
    let terms = terms("EUR", "Europe/Berlin");
    let said = tantalus::exchange::till::read(Path::new("a.xml"), &what, &terms, &mut taken).unwrap_err().to_string();
    assert!(said.contains("this is an invoice (UBL)"), "{said}");
}
