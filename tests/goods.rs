//! Cost of goods used in small books, figures by hand: what comes in and goes out besides sales, what is made here, what is
//! not known; and on the demo bar beside the comparison of counts.

#![allow(clippy::unwrap_used)]

#[path = "support/bar.rs"]
mod bar;
#[path = "support/demo.rs"]
mod demo;

use bar::Bar;
use serde_json::Value;
use std::collections::HashMap;
use tantalus::desk::comparing::{Choice, all_counts};
use tantalus::desk::goods::{Asked, End, used};
use tantalus::desk::reviewing::review;
use tantalus::domain::measure::Money;
use tantalus::domain::rows::GoodsView;
use tantalus::domain::usage::{ByMethod, GoodsRow};
use tantalus::domain::venue::ItemId;
use tantalus::store::Store;

const STOCK: &str = "item,kind,size,count_by\nGin,spirit,1 l,tenths\nTonic,mixer,200 ml,whole\nSugar,food,1 kg,tenths\n\
                     Syrup,house-made,1 l,tenths\nBitters,other,200 ml,tenths\nSherry,wine,1 l,tenths\n";

/// Gin at 10.00 and then 13.00 a litre, a syrup of half sugar and half gin, and two counts a week apart.
///
/// Sugar is never counted and was bought at 2.00. Bitters were counted, and no price is known of them. Sherry came new.
fn files<'a>(deliveries: &'a str, counts: &'a str, more: &[(&'a str, &'a str)]) -> Bar {
    let all = [
        &[
            ("stock.csv", STOCK),
            ("offers.csv", "supplier,item,pack,price\nQuendelbach,Tonic,24,24.00\n"),
            ("orders.csv", "order,line,supplier,item,packs,price,state,placed,pack\n"),
            ("house.csv", "item,yields,ingredient,quantity\nSyrup,1 l,Gin,500 ml\nSyrup,1 l,Sugar,500 g\n"),
            ("deliveries.csv", deliveries),
            ("counts.csv", counts),
        ],
        more,
    ];
    Bar::with(&all.concat())
}

const DELIVERIES: &str = "document,line,at,supplier,item,containers,unit_price,place,deposit\n\
    A,1,2026-11-01 11:00,Quendelbach,Gin,10,10.00,,\nA,2,2026-11-01 11:00,Quendelbach,Sugar,5,2.00,,\n\
    B,1,2026-11-04 11:00,Quendelbach,Gin,6,13.00,,0.25\n";
const COUNTS: &str = "count,at,place,item,full,open\nfirst,2026-11-02 02:00,Cellar,Gin,4,\n\
    first,2026-11-02 02:10,Cellar,Syrup,1,\nfirst,2026-11-02 02:12,Cellar,Bitters,1,\n\
    second,2026-11-09 02:00,Cellar,Gin,5,\nsecond,2026-11-09 02:10,Cellar,Syrup,1,\nsecond,2026-11-09 02:12,Cellar,Bitters,1,.5\n";

fn item<'a>(said: &'a Value, name: &str) -> &'a Value {
    let rows = said["rows"].as_array().unwrap();
    rows.iter().find(|row| row["item"] == name).unwrap_or_else(|| panic!("no {name} in {said}"))
}

/// Opening, bought, batches, closing, used.
fn worth(of: &Value) -> [String; 5] {
    ["opening", "bought", "batches", "closing", "used"].map(|field| of[field]["text"].as_str().unwrap().to_owned())
}

#[test]
fn a_batch_carries_value_and_is_no_use() {
    let bar = files(DELIVERIES, COUNTS, &[("batches.csv", "at,item,made\n2026-11-05 16:00,Syrup,2 l\n")]);
    let said = bar.json(&["goods", "--json"]);
    // By the average (4 × 10 + 6 × 13) ÷ 10 = 11.80 a litre. Two litres of syrup take one of gin and one kilogram of sugar;
    // 5 of 10 are left, so 4 were used. FIFO: 5 × 13 are left, and what went cost (118 − 65) ÷ 5 = 10.60.
    let gin = item(&said, "Gin");
    assert_eq!(worth(&gin["average"]), ["40.00", "78.00", "-11.80", "59.00", "47.20"]);
    assert_eq!(worth(&gin["fifo"]), ["40.00", "78.00", "-10.60", "65.00", "42.40"]);
    // The deposit is no part of it, and nothing was sold: all of it is gap.
    assert_eq!((&gin["average"]["gap"]["text"], &gin["used"]), (&"47.20".into(), &4_000_000.into()));
    // A litre of syrup took 5.00 of gin and 1.00 of sugar at the beginning; what was made since took 11.80 (10.60) and 2.00
    // for two. (6.00 + 13.80) ÷ 3 = 6.60; FIFO keeps the newest, 12.60 ÷ 2.
    let syrup = item(&said, "Syrup");
    assert_eq!(worth(&syrup["average"]), ["6.00", "0.00", "13.80", "6.60", "13.20"]);
    assert_eq!(worth(&syrup["fifo"]), ["6.00", "0.00", "12.60", "6.30", "12.30"]);
    // The sugar was never counted, so what the batch took of it comes into the sum from outside.
    assert_eq!(worth(&said["average"]), ["46.00", "78.00", "2.00", "65.60", "60.40"]);
    let out = said["left_out"].as_array().unwrap();
    assert_eq!((&out[0]["item"], &out[0]["because"]), (&"Sugar".into(), &"never-counted".into()));
    assert_eq!(said["without_cost"], serde_json::json!(["Bitters"]));
    let text = bar.says(&["goods"]);
    for said in [
        "+ by batches, of what is in no sum",
        "No price is known, so in no sum: Bitters.",
        "Sugar: in no sum, it was never counted.",
    ] {
        assert!(text.contains(said), "{said}: {text}");
    }
}

#[test]
fn what_goes_back_is_free_or_new() {
    let deliveries = "document,line,at,supplier,item,containers,unit_price\nA,1,2026-11-01 11:00,Quendelbach,Gin,4,10.00\n\
        B,1,2026-11-04 11:00,Quendelbach,Gin,4,13.00\nB,2,2026-11-04 11:00,Quendelbach,Sherry,3,8.00\n\
        C,1,2026-11-05 11:00,Quendelbach,Gin,-2,13.00\nD,1,2026-11-06 11:00,Quendelbach,Gin,2,0.00\n";
    let counts = "count,at,place,item,full\nfirst,2026-11-02 02:00,Cellar,Gin,4\nfirst,2026-11-02 02:00,Cellar,Tonic,30\n\
        second,2026-11-09 02:00,Cellar,Gin,5\nsecond,2026-11-09 02:00,Cellar,Sherry,2\nsecond,2026-11-09 02:00,Cellar,Bitters,1\n";
    let bar = files(deliveries, counts, &[]);
    let said = bar.json(&["goods", "--json"]);
    // 40 + 52 − 26 for 4 + 4 − 2 + 2 free: 66 ÷ 8 = 8.25; FIFO keeps the two free ones, two of 13 and one of 10.
    let gin = item(&said, "Gin");
    assert_eq!(worth(&gin["average"]), ["40.00", "26.00", "0.00", "41.25", "24.75"]);
    assert_eq!(worth(&gin["fifo"]), ["40.00", "26.00", "0.00", "36.00", "30.00"]);
    // Sherry came for the first time: it was nothing at the beginning.
    let sherry = item(&said, "Sherry");
    assert_eq!(worth(&sherry["average"]), ["0.00", "24.00", "0.00", "16.00", "8.00"]);
    assert_eq!(sherry["opening_looked"], Value::Null);
    // Of the bitters there is some, and none came: nobody knows how much there was. The tonic was not counted again, and
    // nothing happened to it.
    let out = said["left_out"].as_array().unwrap();
    assert_eq!(
        (&out[0]["item"], &out[0]["because"], out.len()),
        (&"Bitters".into(), &"unknown-at-beginning".into(), 1)
    );
    assert_eq!(worth(&item(&said, "Tonic")["average"]), ["30.00", "0.00", "0.00", "30.00", "0.00"]);
    let text = bar.says(&["goods"]);
    for said in [
        "Not in the count at the end, so reckoned from an earlier one: Tonic.",
        "Nobody counted in between, so that no gap can show: Tonic.",
        "New, taken to have been nothing at the beginning: Sherry.",
        "Bitters: in no sum, nobody had counted it by the beginning.",
    ] {
        assert!(text.contains(said), "{said}: {text}");
    }
}

#[test]
fn a_first_price_is_one_of_later() {
    let deliveries = "document,line,at,supplier,item,containers,unit_price\nB,1,2026-11-04 11:00,Quendelbach,Gin,1,0.00\n\
        B,2,2026-11-05 11:00,Quendelbach,Gin,6,13.00\n";
    let bar = files(deliveries, COUNTS, &[]);
    let said = bar.json(&["goods", "--json"]);
    // Nothing was paid before: four at 13.00, one free, six at 13.00; (52 + 78) ÷ 11 = 11.82, of which 5 are left.
    let gin = item(&said, "Gin");
    assert_eq!(gin["priced_later"], true);
    assert_eq!(worth(&gin["average"]), ["52.00", "78.00", "0.00", "59.09", "70.91"]);
    assert_eq!(worth(&gin["fifo"]), ["52.00", "78.00", "0.00", "65.00", "65.00"]);
    assert!(bar.says(&["goods"]).contains("taken as the first one after it: Gin."));
}

#[test]
fn days_are_reckoned_and_parted_by_kind() {
    let more = [
        ("drinks.csv", "drink,price,tax\nGin Tonic,9.00,19\nShot,5.00,19\nOdd,5.00,19\n"),
        (
            "specs.csv",
            "drink,ingredient,quantity\nGin Tonic,Gin,50 ml\nGin Tonic,Tonic,200 ml\nShot,Gin,50 ml\nOdd,Bitters,20 ml\n",
        ),
        ("pos.csv", "sold_as,drink\nGT,Gin Tonic\nSHOT,Shot\nODD,Odd\nCOAT,\n"),
        (
            "sales.csv",
            "receipt,line,at,sold_as,quantity,net,kind\n1,1,2026-11-03 22:00,GT,10,80.00,\n1,2,2026-11-03 22:00,SHOT,4,18.00,\n\
             1,3,2026-11-03 22:00,ODD,1,4.00,\n1,4,2026-11-03 22:00,COAT,1,2.00,\n1,5,2026-11-03 22:00,WHAT,1,3.00,\n\
             1,6,2026-11-04 04:59,SHOT,2,8.00,\n2,1,2026-11-04 05:00,GT,1,8.00,\n",
        ),
        ("losses.csv", "at,item,quantity,reason\n2026-11-03 23:00,Gin,100 ml,spill\n"),
    ];
    let counts = "count,at,place,item,full,open\nfirst,2026-11-02 02:00,Cellar,Gin,4,\nfirst,2026-11-02 02:00,Cellar,Tonic,30,\n\
        first,2026-11-02 02:00,Cellar,Bitters,1,\n";
    let bar = files(DELIVERIES, counts, &more);
    let said = bar.json(&["goods", "--from", "2026-11-03", "--to", "2026-11-03", "--json"]);
    assert_eq!((&said["from"]["day"], &said["to"]["day"]), (&"2026-11-03".into(), &"2026-11-03".into()));
    // 16 of 50 ml and 100 ml spilt, at 10.00 a litre; tonics at their offer, 1.00 each.
    let gin = item(&said, "Gin");
    assert_eq!((&gin["sold"], &gin["lost"], &gin["gap"]), (&800_000.into(), &100_000.into(), &0.into()));
    assert_eq!(worth(&gin["average"]), ["40.00", "0.00", "0.00", "31.00", "9.00"]);
    let parts = ["sold", "lost", "gap"].map(|f| gin["average"][f]["text"].as_str().unwrap());
    assert_eq!(parts, ["8.00", "1.00", "0.00"]);
    // Net of all but the coat check: 80 + 18 + 4 + 3 + 8. The long drink is 0.50 of gin and 1.00 of tonic a glass: a third
    // of its 80.00 and all of the 26.00 are of spirits. The bitters have no price, and one name means nothing.
    assert_eq!(said["net_sales"]["text"], "113.00");
    assert_eq!((&said["net_untold"]["text"], &said["net_no_stock"]["text"]), (&"7.00".into(), &"2.00".into()));
    let kind = |name: &str| said["groups"].as_array().unwrap().iter().find(|g| g["name"] == name).unwrap();
    assert_eq!(kind("spirit")["net_by_share_of_cost"]["text"], "52.67");
    assert_eq!(kind("mixer")["net_by_share_of_cost"]["text"], "53.33");
    // (9.00 + 10.00) ÷ 113.00, and 9.00 ÷ 52.67.
    assert_eq!(
        (&said["pour_cost_average"], &kind("spirit")["pour_cost_by_share_average"]),
        (&16.814.into(), &17.088.into())
    );
    let text = bar.says(&["goods", "--from", "2026-11-03", "--to", "2026-11-03"]);
    assert!(text.contains("Nobody counted in between, so that no gap can show: anything."), "{text}");
    // From a count to the end of a day that is not over, and what makes no sense.
    let open = bar.json(&["goods", "--from", "first", "--to", "2026-11-20", "--json"]);
    assert_eq!((&open["from"]["count"], &open["to"]["so_far"]), (&"first".into(), &true.into()));
    assert_eq!(open["to"]["at"], "2026-11-20T16:00:00+01:00");
    for (args, said) in [
        (&["--from", "2026-11-21"][..], "2026-11-21 is still to come"),
        (&["--to", "2026-11-03"], "from when on?"),
        (&["--from", "2026-11-05", "--to", "2026-11-04"], "it ends before it begins"),
        (&["--from", "third"], "a business day is written 2026-10-01"),
    ] {
        let refused = bar.refuses(&[&["goods"], args].concat());
        assert!(refused.contains(said), "{refused}, not {said}");
    }
}

/// What adds up on every page: opening + bought + batches − closing = used = sold + lost + gap, by items, kinds and in all,
/// and nothing is left of what batches carried.
fn adds_up(view: &GoodsView) {
    let total = view.goods.total().worth.unwrap();
    for method in [|w: &ByMethod| w.average, |w: &ByMethod| w.fifo] {
        let all: Vec<_> = view.goods.rows.iter().filter_map(|row| row.worth.as_ref()).map(method).collect();
        for w in all.iter().chain([&method(&total)]) {
            assert_eq!(w.opening + w.bought + w.batches - w.closing, w.used);
            assert_eq!(w.sold + w.lost + w.gap, w.used);
        }
        assert_eq!(all.iter().map(|w| w.used).sum::<Money>(), method(&total).used);
    }
    assert_eq!((total.average.batches.0, total.fifo.batches.0), (0, 0));
}

/// Over every pair of neighbouring full counts of the demo, amounts are those of the comparison of the two counts, which
/// reckons them in another way; what is on hand first in, first out at the end of one period is what the next begins with.
#[test]
fn the_demo_agrees_with_the_comparison_of_its_counts() {
    let folder = tempfile::tempdir().unwrap();
    let store = Store::open(&demo::book(folder.path())).unwrap();
    let mut full: Vec<_> = all_counts(&store).unwrap().into_iter().filter(|c| c.name.ends_with("full")).collect();
    full.reverse();
    let mut last: Option<HashMap<ItemId, (i64, i64)>> = None;
    let (mut rows, mut chained) = (0, 0);
    for pair in full.windows(2) {
        let (from, to) = (pair[0].id, pair[1].id);
        let asked = Asked { from: Some(End::Count(from)), to: Some(End::Count(to)) };
        let (setup, view) = used(&store, asked, demo::now()).unwrap();
        adds_up(&view);
        let compared = review(&store, Choice { opening: Some(from), closing: Some(to) }).unwrap().variance;
        for row in &view.goods.rows {
            let beside = compared.rows.iter().find(|other| other.item == row.item).unwrap();
            let name = setup.item_name(row.item);
            assert_eq!((row.used - row.lost, row.sold, row.gap), (beside.usage, beside.sold, beside.gap), "{name}");
            rows += 1;
        }
        let fifo = |row: &GoodsRow| row.worth.map(|w| w.fifo);
        let bought = |item: ItemId| !setup.recipes.contains_key(&item);
        // Of what was on the shelves before the book begins nobody knows what it cost; by then it is gone.
        if let Some(last) = last.as_ref().filter(|_| pair[0].name.as_str() >= "2026-09-27") {
            chained += 1;
            for row in view.goods.rows.iter().filter(|row| bought(row.item)) {
                let began = fifo(row).map(|w| (row.opening.0, w.opening.0));
                assert_eq!(last.get(&row.item).copied(), began, "{}", setup.item_name(row.item));
            }
        }
        let ended = |row: &GoodsRow| Some((row.item, (row.closing.0, fifo(row)?.closing.0)));
        last = Some(view.goods.rows.iter().filter_map(ended).collect());
    }
    assert!(rows > 1_000 && chained > 5, "{rows} {chained}");
}

/// The page of the demo's last week: it fits a terminal of 80 columns, but for the sentences under the tables.
#[test]
fn the_demo_for_people() {
    let folder = tempfile::tempdir().unwrap();
    let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_tantalus"));
    command.arg("--book").arg(demo::book(folder.path())).arg("goods").env("TANTALUS_NOW", demo::NOW);
    let output = command.output().unwrap();
    let text = String::from_utf8(output.stdout).unwrap();
    let (tables, _) = text.split_once("\n\nbatches: ").unwrap();
    assert!(tables.lines().all(|line| line.chars().count() <= 80), "{text}");
    insta::assert_snapshot!(text);
}
