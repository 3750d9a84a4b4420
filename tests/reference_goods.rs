//! Value of stock, cost of goods used and pour cost against worked examples of accounting texts, through the whole program:
//! plain files in, `tantalus goods --json` out.

#![allow(clippy::unwrap_used)]

#[path = "support/bar.rs"]
mod bar;

use bar::Bar;
use serde_json::Value;
use std::fmt::Write;

/// Units at a price: the first was there at the beginning, the others were bought.
struct Example {
    name: &'static str,
    layers: &'static [(i64, &'static str)],
    used: i64,
    fifo: (&'static str, &'static str),
    average: (&'static str, &'static str),
}

/// Cost of goods used and what is left.
///
/// “Oranges”: documentation of `cogs()` in the R package FinCal 0.6.3, which prints 23 and 15 for FIFO, 26.6 and 11.4 for
/// the weighted average. “Widgets”: an open accounting text, chapter 10.2, which prints 22 and 14, 24 and 12. “GPS units”:
/// OpenStax, Principles of Accounting 1, chapter 10.2, the numbers from memory; the text rounds the average to 27.62 and
/// prints 8283 and 7872, the exact average is 16155 ÷ 585.
const EXAMPLES: &[Example] = &[
    Example {
        name: "Oranges",
        layers: &[(2, "2.00"), (3, "3.00"), (5, "5.00")],
        used: 7,
        fifo: ("23.00", "15.00"),
        average: ("26.60", "11.40"),
    },
    Example {
        name: "Widgets",
        layers: &[(1, "10.00"), (1, "12.00"), (1, "14.00")],
        used: 2,
        fifo: ("22.00", "14.00"),
        average: ("24.00", "12.00"),
    },
    Example {
        name: "GPS units",
        layers: &[(150, "21.00"), (225, "27.00"), (210, "33.00")],
        used: 300,
        fifo: ("7200.00", "8955.00"),
        average: ("8284.62", "7870.38"),
    },
];

fn row<'a>(list: &'a Value, item: &str) -> &'a Value {
    list.as_array().unwrap().iter().find(|row| row["item"] == item).unwrap()
}

#[test]
fn inventory_examples() {
    let (mut stock, mut deliveries, mut counts) = (
        "item,kind,size,count_by\nGin,spirit,700 ml,\nTonic,mixer,200 ml,\n".to_owned(),
        "document,line,at,supplier,item,containers,unit_price\n".to_owned(),
        "count,at,place,item,full\n".to_owned(),
    );
    for (n, example) in EXAMPLES.iter().enumerate() {
        let name = example.name;
        writeln!(stock, "{name},other,1 each,whole").unwrap();
        for (day, (units, price)) in example.layers.iter().enumerate() {
            writeln!(
                deliveries,
                "D{n},{},2026-11-{:02} 11:00,Quendelbach,{name},{units},{price}",
                day + 1,
                day * 2 + 1
            )
            .unwrap();
        }
        let all: i64 = example.layers.iter().map(|(units, _)| units).sum();
        writeln!(counts, "first,2026-11-02 02:00,Cellar,{name},{}", example.layers[0].0).unwrap();
        writeln!(counts, "second,2026-11-09 02:00,Cellar,{name},{}", all - example.used).unwrap();
    }
    let bar = Bar::with(&[("stock.csv", &stock), ("deliveries.csv", &deliveries), ("counts.csv", &counts)]);
    let said = bar.json(&["goods", "--json"]);
    for example in EXAMPLES {
        let row = row(&said["rows"], example.name);
        assert_eq!(row["used"], example.used * 1_000, "{}", example.name);
        for (method, want) in [("fifo", example.fifo), ("average", example.average)] {
            let found =
                (row[method]["used"]["text"].as_str().unwrap(), row[method]["closing"]["text"].as_str().unwrap());
            assert_eq!(found, want, "{} {method}", example.name);
        }
    }
}

/// A worked question of a hotel management text, its page read: opening stock 7654, purchases 15876, closing stock 8732,
/// so cost of beverages sold 14798; sales 95786, so 15.449 % (the text cuts it to 15.44).
#[test]
fn cost_of_beverages_sold() {
    let bar = Bar::with(&[
        (
            "stock.csv",
            "item,kind,size,count_by\nGin,spirit,700 ml,\nTonic,mixer,200 ml,\nBeverages,other,1 each,whole\n",
        ),
        (
            "deliveries.csv",
            "document,line,at,supplier,item,containers,unit_price\nD1,1,2026-11-01 11:00,Quendelbach,Beverages,7654,1.00\n\
             D2,1,2026-11-03 11:00,Quendelbach,Beverages,15876,1.00\n",
        ),
        (
            "counts.csv",
            "count,at,place,item,full\nfirst,2026-11-02 02:00,Cellar,Beverages,7654\n\
             second,2026-11-09 02:00,Cellar,Beverages,8732\n",
        ),
        ("drinks.csv", "drink,price,tax\nGin Tonic,9.00,19\nDrink,9.00,19\n"),
        ("specs.csv", "drink,ingredient,quantity\nGin Tonic,Gin,40 ml\nDrink,Beverages,1 each\n"),
        ("pos.csv", "sold_as,drink\nDRINK,Drink\n"),
        ("sales.csv", "receipt,line,at,sold_as,quantity,net\n1,1,2026-11-05 21:00,DRINK,14798,95786.00\n"),
    ]);
    let said = bar.json(&["goods", "--json"]);
    for method in ["average", "fifo"] {
        let worth = &said[method];
        let figures = ["opening", "bought", "closing", "used", "gap"].map(|f| worth[f]["text"].as_str().unwrap());
        assert_eq!(figures, ["7654.00", "15876.00", "8732.00", "14798.00", "0.00"]);
    }
    assert_eq!((&said["pour_cost_average"], &said["pour_cost_fifo"]), (&15.449.into(), &15.449.into()));
}
