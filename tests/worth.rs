//! What the stock was worth at each of the last counts, and the pages that are drawn of it and of the pars: a small bar, its
//! figures by hand.

#![allow(clippy::unwrap_used)]

#[path = "support/bar.rs"]
mod bar;
#[path = "support/typing.rs"]
mod typing;

use bar::{AT as NOW, Bar};
use std::fs;
use typing::{app_of, press};

/// Three evenings: gin was 10.00 a bottle, then 12.00 for what came on the 12th; nobody knows what the tonic costs.
fn three_counts() -> Bar {
    Bar::with(&[
        ("offers.csv", "supplier,item,pack,price\nQuendelbach,Gin,6,60.00\n"),
        (
            "deliveries.csv",
            "at,supplier,document,line,item,containers,unit_price,place\n2026-11-12 10:00,Quendelbach,D-1,1,Gin,6,12.00,Cellar\n",
        ),
        (
            "counts.csv",
            "count,at,place,item,full,open\nOne,2026-11-10 03:00,Cellar,Gin,4,\nTwo,2026-11-15 03:00,Cellar,Gin,7,.5\nTwo,2026-11-15 03:05,Cellar,Tonic,12,\nThree,2026-11-18 03:00,Cellar,Gin,3,\nThree,2026-11-18 03:05,Cellar,Tonic,0,\n",
        ),
    ])
}

#[test]
fn worth_is_that_of_the_evening_at_what_it_had_cost_then() {
    let bar = three_counts();
    let over = bar.json(&["stock", "--over-time", "--json"]);
    let told: Vec<(String, String, u64)> = over["counts"]
        .as_array()
        .unwrap()
        .iter()
        .map(|count| {
            let text = |value: &serde_json::Value| value.as_str().unwrap().to_owned();
            (text(&count["day"]), text(&count["value"]["text"]), count["without_value"].as_u64().unwrap())
        })
        .collect();
    let want = |day: &str, worth: &str, without| (day.to_owned(), worth.to_owned(), without);
    // 4 x 10.00; 7.5 x 12.00 and a tonic that nobody knows the cost of; 3 x 12.00 and no tonic left.
    assert_eq!(told, [want("2026-11-09", "40.00", 0), want("2026-11-14", "90.00", 1), want("2026-11-17", "36.00", 0)]);
    let table = bar.says(&["stock", "--over-time"]);
    assert!(table.contains("-54.00") && table.contains("50.00") && table.contains("In EUR"), "{table}");
    assert!(Bar::new().says(&["stock", "--over-time"]).contains("No count is closed yet"));
}

#[test]
fn the_pages_say_what_the_commands_say() {
    let bar = three_counts();
    for (args, says) in [
        (&["stock", "--over-time", "--into", "out"][..], &["90.00", "-54.00", "<svg", "9 Nov"][..]),
        (&["par", "--into", "out"][..], &["Gin", "Par levels", "A forecast is no promise"][..]),
    ] {
        let written = bar.says(args);
        let path = written.trim().strip_prefix("Written: ").unwrap();
        let page = fs::read_to_string(bar.0.path().join(path)).unwrap();
        for text in says {
            assert!(page.contains(text), "{args:?}: {text}: {page}");
        }
        assert!(!page.contains("<script") && !page.contains("http"), "{args:?}: nothing runs, nothing is fetched");
        let open = page.matches("<svg").count();
        assert_eq!(open, page.matches("</svg>").count());
        assert!(!page.contains("NaN") && !page.contains("inf"));
    }
}

#[test]
fn on_the_screen() {
    let bar = three_counts();
    let mut app = app_of(&bar.0.path().join("bar.tantalus"), None, NOW);
    let page = press(&mut app, "Sw", NOW);
    assert!(page.contains("Worth in EUR once each count was closed") && page.contains("90.00"), "{page}");
    assert!(page.contains("-54.00") && page.contains("1 of no known cost"), "{page}");
    let back = press(&mut app, "\u{1b}", NOW);
    assert!(back.contains("on hand"), "{back}");
}
