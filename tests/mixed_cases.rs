//! Cases that a supplier fills with whatever one wants of certain items: orders fill them the cheapest way.

#![allow(clippy::unwrap_used)]

#[path = "support/bar.rs"]
mod bar;

use bar::Bar;
use serde_json::Value;
use std::collections::BTreeMap;

/// Wines of 750 ml that come singly, six to a case: on hand, par, price. Every par lasts a fortnight.
fn bar(wines: &[(&str, i64, i64, &str)], more: &[(&str, &str)]) -> Bar {
    let mut files = BTreeMap::from([
        ("stock.csv", "item,kind,size,par,shelf_max\nGin,spirit,700 ml,,\nTonic,mixer,200 ml,,\n".to_owned()),
        ("counts.csv", "count,at,place,item,full,open,method,by\n".to_owned()),
        ("offers.csv", "supplier,item,pack,price,mixed\n".to_owned()),
    ]);
    for (name, there, par, price) in wines {
        let mut add = |file, line: String| files.get_mut(file).unwrap().push_str(&line);
        add("stock.csv", format!("{name},wine,750 ml,{par},\n"));
        add("counts.csv", format!("Night,2026-11-19 23:50,Cellar,{name},{there},,,\n"));
        add("offers.csv", format!("Quendelbach,{name},1,{price},Wines 6\n"));
    }
    for (file, lines) in more {
        files.entry(file).or_default().push_str(lines);
    }
    let plain: Vec<(&str, &str)> = files.iter().map(|(name, text)| (*name, text.as_str())).collect();
    Bar::with(&[&plain[..], &[("orders.csv", "order,line,supplier,item,packs,price,state\n")]].concat())
}

fn ordered(bar: &Bar) -> (BTreeMap<String, i64>, Value) {
    let draft = bar.json(&["order", "--json"])["drafts"][0].clone();
    let lines = draft["lines"].as_array().unwrap();
    let packs = lines.iter().map(|line| (line["item"].as_str().unwrap().to_owned(), line["packs"].as_i64().unwrap()));
    (packs.collect(), draft["mixed_cases"].clone())
}

fn packs(expected: &[(&str, i64)]) -> BTreeMap<String, i64> {
    expected.iter().map(|(name, packs)| ((*name).to_owned(), *packs)).collect()
}

/// Four are short: two more are wanted. One more of each ties up less than two more of one, or one that lasts longer.
#[test]
fn a_case_is_filled_with_what_costs_least_to_have_early() {
    let two = bar(&[("Ash Red", 1, 3, "10.00"), ("Bay White", 1, 3, "10.00"), ("Coast Rosé", 1, 1, "10.00")], &[]);
    let (lines, cases) = ordered(&two);
    assert_eq!(lines, packs(&[("Ash Red", 3), ("Bay White", 3)]));
    assert_eq!(
        (&cases[0]["case"], cases[0]["containers"].as_i64(), cases[0]["missing"].as_i64()),
        (&"Wines".into(), Some(6), Some(0))
    );
    assert!(two.says(&["order"]).contains("Wines: 1 mixed case of 6, full."), "{}", two.says(&["order"]));
    // Of the house wine twelve are drunk in a fortnight: two of it are gone soonest.
    let house = bar(&[("Ash Red", 1, 3, "10.00"), ("Bay White", 1, 3, "10.00"), ("House", 12, 12, "10.00")], &[]);
    assert_eq!(ordered(&house).0, packs(&[("Ash Red", 2), ("Bay White", 2), ("House", 2)]));
    assert!(house.says(&["order"]).contains("not short: fills the order up"));
}

/// Two that are dear and one that is cheap: what fills the case is the least money lying still.
#[test]
fn what_is_cheap_is_had_early_rather_than_what_is_dear() {
    let bar = bar(&[("Ash Red", 0, 5, "60.00"), ("Bay White", 4, 4, "5.00")], &[]);
    assert_eq!(ordered(&bar).0, packs(&[("Ash Red", 5), ("Bay White", 1)]));
}

#[test]
fn whole_cases_need_nothing_and_cases_of_another_name_are_apart() {
    let full = bar(&[("Ash Red", 0, 4, "10.00"), ("Bay White", 1, 9, "10.00")], &[]);
    let (lines, cases) = ordered(&full);
    assert_eq!(lines, packs(&[("Ash Red", 4), ("Bay White", 8)]));
    assert_eq!(cases[0]["containers"], 12);
    let spirits = [
        ("stock.csv", "Rum,spirit,700 ml,2,\nRye,spirit,700 ml,2,\n"),
        ("counts.csv", "Night,2026-11-19 23:50,Cellar,Rum,1,,,\nNight,2026-11-19 23:50,Cellar,Rye,2,,,\n"),
        ("offers.csv", "Quendelbach,Rum,1,20.00,spirits 4\nQuendelbach,Rye,1,30.00,SPIRITS 4\n"),
    ];
    let apart = bar(&[("Ash Red", 0, 6, "10.00")], &spirits);
    let (lines, cases) = ordered(&apart);
    assert_eq!(lines["Ash Red"], 6);
    assert_eq!(lines["Rum"] + lines.get("Rye").copied().unwrap_or(0), 4, "{lines:?}");
    assert_eq!(cases.as_array().unwrap().len(), 2, "upper and lower case are one: {cases}");
}

/// There is room for four, and nothing else comes in that case: it is said, and nothing is left out that is short.
#[test]
fn a_case_that_cannot_be_filled_is_told() {
    let more = [
        ("stock.csv", "Ash Red,wine,750 ml,4,4\n"),
        ("counts.csv", "Night,2026-11-19 23:50,Cellar,Ash Red,0,,,\n"),
        ("offers.csv", "Quendelbach,Ash Red,1,10.00,Wines 6\n"),
    ];
    let bar = bar(&[], &more);
    let (lines, cases) = ordered(&bar);
    assert_eq!((lines, cases[0]["missing"].as_i64()), (packs(&[("Ash Red", 4)]), Some(2)));
    assert!(bar.says(&["order"]).contains("Wines: 4 in 1 mixed case of 6; 2 more would fill it."));
}

#[test]
fn what_is_no_case_is_refused() {
    for wrong in ["Wines", "6", "Wines 1", "Wines 121", "Wines six", "Wines -6"] {
        let bar = Bar::new();
        let folder = bar.0.path().join("more");
        std::fs::create_dir(&folder).unwrap();
        let text = format!("supplier,item,pack,price,mixed\nQuendelbach,Gin,1,10.00,{wrong}\n");
        std::fs::write(folder.join("offers.csv"), text).unwrap();
        let said = bar.refuses(&["load", "more"]);
        assert!(said.contains("offers.csv line 2, mixed: ") && said.contains("from 2 to 120: Wines 6"), "{said}");
    }
}
