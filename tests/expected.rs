//! What is expected of an item, and its par, through the whole program: small bars whose guests are so regular that every
//! figure can be reckoned by hand.

#![allow(clippy::unwrap_used)]

#[path = "support/bar.rs"]
mod bar;

use bar::Bar;
use chrono::{Datelike, Days, NaiveDate, Weekday};
use serde_json::Value;
use std::fmt::Write;
use tantalus::desk::{days, par};
use tantalus::domain::venue::Moment;
use tantalus::store::Store;

/// The bar is closed on Mondays. The supplier takes orders until Monday 14:00 for Wednesday. It is Friday, 20 November,
/// 16:00; the last night in the book is Thursday's.
const LAST_NIGHT: NaiveDate = NaiveDate::from_ymd_opt(2026, 11, 19).unwrap();
const WEEKS: u64 = 10;

/// So many serves of a night, each of 40 ml.
fn sales(serves: impl Fn(NaiveDate) -> u32) -> String {
    let mut out = "receipt,line,at,sold_as,quantity,net\n".to_owned();
    let first = LAST_NIGHT - Days::new(7 * WEEKS - 1);
    for day in first.iter_days().take_while(|day| *day <= LAST_NIGHT).filter(|day| day.weekday() != Weekday::Mon) {
        let many = serves(day);
        if many > 0 {
            writeln!(out, "G{day},1,{day} 22:30,Gin Tonic,{many},{}.00", 7 * many).unwrap();
        }
        // Something else is always sold, so that the bar was open.
        writeln!(out, "T{day},1,{day} 22:30,Tonic,1,3.00").unwrap();
    }
    out
}

const COUNTED: &str = "count,at,place,item,full,open,method,by\nNight,2026-11-19 23:50,Cellar,Gin,3,,,\n";

fn bar(serves: impl Fn(NaiveDate) -> u32, more: &[(&str, &str)]) -> Bar {
    let sales = sales(serves);
    let files = [
        ("sales.csv", sales.as_str()),
        ("drinks.csv", "drink,price,tax\nGin Tonic,9.00,19\nTonic,3.60,19\n"),
        ("specs.csv", "drink,ingredient,quantity\nGin Tonic,Gin,40 ml\nTonic,Tonic,200 ml\n"),
        ("pos.csv", "sold_as,drink\nGin Tonic,Gin Tonic\nTonic,Tonic\n"),
        ("counts.csv", COUNTED),
    ];
    // What stands last stands.
    let files: Vec<(&str, &str)> = files.iter().chain(more).copied().collect();
    Bar::with(&files)
}

fn of(bar: &Bar, item: &str) -> Value {
    bar.json(&["par", item, "--json"])["items"][0].clone()
}

/// Millilitres.
fn ml(value: &Value) -> f64 {
    value.as_f64().unwrap() / 1_000.0
}

fn day(day: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 11, day).unwrap()
}

/// From Friday the 20th to Tuesday, 1 December, are ten days of trade of 400 ml each.
#[test]
fn an_order_lasts_until_the_van_after_its_own_comes() {
    let bar = bar(|_| 10, &[]);
    let gin = of(&bar, "Gin");
    let par = &gin["pars"][0];
    assert_eq!((par["comes"].as_str(), par["until"].as_str()), (Some("2026-11-25"), Some("2026-12-02")));
    assert_eq!(par["order_by"], "2026-11-23T14:00:00+01:00");
    assert!((ml(&gin["asked_a_day"]) - 400.0).abs() < 0.01, "{gin}");
    assert_eq!((ml(&par["asked"]), par["enough"].as_f64()), (4_000.0, Some(0.95)));
    assert_eq!((gin["days_known"].as_u64(), gin["days_dry"].as_u64()), (Some(60), Some(0)));
    // Serves are 40 ml, and no par ends within one.
    let level = ml(&par["level"]);
    assert!(level > 4_000.0 && level % 40.0 == 0.0, "{level}");
    // 2,100 ml are enough for five nights, which the 25th is the fifth of; nothing is asked on the Monday.
    let lasts: Vec<f64> = gin["lasts"].as_array().unwrap().iter().map(|day| day["lasts"].as_f64().unwrap()).collect();
    assert_eq!(gin["lasts"][0]["day"], "2026-11-20");
    assert_eq!(lasts[2], lasts[3], "{lasts:?}");
    assert!(lasts.is_sorted_by(|a, b| a >= b) && lasts[4] > 0.9 && lasts[6] < 0.3, "{lasts:?}");
}

#[test]
fn days_that_are_not_as_usual_are_reckoned_with() {
    let bar = bar(|_| 10, &[]);
    let asked = |bar: &Bar| ml(&of(bar, "Gin")["pars"][0]["asked"]);
    let before = ml(&of(&bar, "Gin")["pars"][0]["level"]);
    bar.says(&["days", "add", "2026-11-21", "--what", "Lantern night", "--factor", "2"]);
    assert_eq!(asked(&bar), 4_400.0);
    assert!(ml(&of(&bar, "Gin")["pars"][0]["level"]) >= before + 400.0);
    bar.says(&["days", "add", "2026-11-24", "--until", "2026-11-25", "--what", "Works", "--closed"]);
    assert_eq!(asked(&bar), 3_600.0);
    // The supplier does not come on the 25th: an order now comes on 2 December and must last until the 9th.
    bar.says(&["days", "add", "2026-11-25", "--what", "Stocktaking", "--supplier", "Quendelbach"]);
    let par = of(&bar, "Gin")["pars"][0].clone();
    assert_eq!((par["comes"].as_str(), par["until"].as_str()), (Some("2026-12-02"), Some("2026-12-09")));
    assert_eq!(ml(&par["asked"]), 3_600.0 + 6.0 * 400.0);
    // One comes besides.
    let besides = ["--what", "Besides", "--supplier", "Quendelbach", "--order-by", "2026-11-20 18:00"];
    bar.says(&[&["days", "add", "2026-11-21"], &besides[..]].concat());
    let par = of(&bar, "Gin")["pars"][0].clone();
    assert_eq!((par["comes"].as_str(), par["until"].as_str()), (Some("2026-11-21"), Some("2026-12-02")));
    assert_eq!(ml(&par["asked"]), 3_600.0);
}

/// A festival that is in the calendar teaches nothing about usual days; one that nobody told of does.
#[test]
fn past_days_count_for_what_they_were() {
    let festival = |date: NaiveDate| if date == day(14) { 25 } else { 10 };
    let rate = |bar: &Bar| ml(&of(bar, "Gin")["asked_a_day"]);
    let asked = |bar: &Bar| ml(&of(bar, "Gin")["pars"][0]["asked"]);
    let untold = bar(festival, &[]);
    assert!(asked(&untold) > 4_020.0, "{}", asked(&untold));
    let days = "day,what,factor\n2026-11-14,Festival,2.5\n";
    let told = bar(festival, &[("days.csv", days)]);
    // Not to the last digit: of tonic no more was sold than usual, so that the bar's Saturday was not quite two and a half.
    assert!((rate(&told) - 400.0).abs() < 0.1 && (asked(&told) - 4_000.0).abs() < 5.0, "{}", asked(&told));
    // Closed by the calendar, and without any sale at all: no day of trade.
    let closed =
        bar(|date| u32::from(date != day(13)) * 10, &[("days.csv", "day,what,factor\n2026-11-13,Works,closed\n")]);
    assert!((rate(&closed) - 400.0).abs() < 0.01, "{}", rate(&closed));
    // The bar was open, and nobody asked.
    let nobody = bar(|date| u32::from(date != day(13)) * 10, &[]);
    assert!(asked(&nobody) < 3_980.0, "{}", asked(&nobody));
}

/// Counted as nothing on Sunday the 8th, and more came on Friday the 13th.
#[test]
fn days_on_which_it_was_dry_say_nothing() {
    let dry = |date: NaiveDate| u32::from(!(day(10)..=day(12)).contains(&date)) * 10;
    let silent = bar(dry, &[]);
    let gin = of(&silent, "Gin");
    assert!(ml(&gin["asked_a_day"]) < 395.0 && gin["days_dry"] == 0, "nobody says that it was dry: {gin}");
    let counts = "count,at,place,item,full,open,method,by\nSunday,2026-11-08 23:50,Cellar,Gin,0,,,\n\
                  Night,2026-11-19 23:50,Cellar,Gin,3,,,\n";
    let deliveries =
        "document,line,at,supplier,item,containers,unit_price\nL-1,1,2026-11-13 11:00,Quendelbach,Gin,12,10.00\n";
    let known = bar(dry, &[("counts.csv", counts), ("deliveries.csv", deliveries)]);
    let gin = of(&known, "Gin");
    assert_eq!((gin["days_dry"].as_u64(), gin["days_known"].as_u64()), (Some(3), Some(60)));
    // Not to the last digit: the bar's own week was quieter on those days.
    assert!((ml(&gin["asked_a_day"]) - 400.0).abs() < 1.0, "{gin}");
    assert!(known.says(&["par", "Gin"]).contains("without 3 days on which it was dry"));
}

#[test]
fn losses_are_asked_for_too_and_what_is_made_here_asks_its_ingredients() {
    let more = [
        ("stock.csv", "item,kind,size\nGin,spirit,700 ml\nTonic,mixer,200 ml\nSugar,food,1 kg\nSyrup,house-made,1 l\n"),
        ("specs.csv", "drink,ingredient,quantity\nGin Tonic,Gin,40 ml\nGin Tonic,Syrup,20 ml\nTonic,Tonic,200 ml\n"),
        ("house.csv", "item,yields,ingredient,quantity\nSyrup,1000 ml,Sugar,500 g\n"),
    ];
    let made = bar(|_| 10, &more);
    // 200 ml of syrup a night, never counted: 100 g of sugar.
    assert!((ml(&of(&made, "Sugar")["asked_a_day"]) - 100.0).abs() < 0.01, "{}", of(&made, "Sugar"));
    let losses = "at,item,quantity,reason\n2026-11-18 23:00,Gin,200 ml,spill\n";
    let spilled = bar(|_| 10, &[("losses.csv", losses)]);
    assert!(ml(&of(&spilled, "Gin")["asked_a_day"]) > 400.5, "{}", of(&spilled, "Gin"));
}

#[test]
fn what_holds_a_par_down() {
    let par_of = |kind: &str, columns: &str, cells: &str| {
        let text = format!("item,kind,size,{columns}\nGin,{kind},700 ml,{cells}\nTonic,mixer,200 ml,\n");
        of(&bar(|_| 10, &[("stock.csv", &text)]), "Gin")["pars"][0].clone()
    };
    let par = |columns: &str, cells: &str| par_of("spirit", columns, cells);
    let shelf = par("shelf_max", "4");
    assert_eq!((ml(&shelf["level"]), shelf["held_by"].as_str()), (2_800.0, Some("shelf")));
    // 2,800 ml for 4,000 that are asked.
    assert!(shelf["enough"].as_f64().unwrap() < 0.01, "{shelf}");
    // A juice comes on the 25th and keeps two days: what is asked up to the 26th is all that can be used, six nights of 400 ml.
    let keeps = par_of("juice", "keeps_days", "2");
    assert_eq!(keeps["held_by"], "keeps");
    let level = ml(&keeps["level"]);
    assert!((2_000.0..3_400.0).contains(&level) && keeps["enough"].as_f64().unwrap() < 0.1, "{keeps}");
    // What is sealed keeps.
    assert_eq!(par("keeps_days", "2")["held_by"], Value::Null);
    let surer = par("service_level", "99");
    assert_eq!((surer["enough"].as_f64(), surer["held_by"].as_str()), (Some(0.99), None));
    assert!(ml(&surer["level"]) > ml(&par("service_level", "80")["level"]));
}

/// What was worked out is kept while the facts are the same, and no longer.
#[test]
fn what_was_worked_out_before_is_not_taken_for_what_is_new() {
    let bar = bar(|_| 10, &[]);
    let store = Store::open(&bar.0.path().join("bar.tantalus")).unwrap();
    let at = |text: &str| {
        let (setup, _) = days::view(&store, Moment(0)).unwrap();
        setup.venue.days.parse(text).unwrap()
    };
    let looked = |text: &str| {
        let view = par::view(&store, at(text)).unwrap();
        let gin = view.setup.items.iter().find(|item| item.name == "Gin").unwrap().id;
        let par = view.pars.iter().find(|par| par.item == gin).unwrap();
        let asked = par.by_demand().unwrap().demand.mean.round() as i64 / 1_000;
        (asked, par.outlook.as_ref().unwrap().rate.round() as i64 / 1_000, par.outlook.as_ref().unwrap().dry)
    };
    let now = "2026-11-20 16:00";
    assert_eq!(looked(now), (4_000, 400, 0));
    assert_eq!(looked(now), (4_000, 400, 0));
    // A day that is not as usual.
    bar.says(&["days", "add", "2026-11-21", "--what", "Lantern night", "--factor", "2"]);
    assert_eq!(looked(now).0, 4_400);
    bar.says(&["days", "remove", "2026-11-21"]);
    assert_eq!(looked(now).0, 4_000);
    // Another spec.
    let more = |name: &str, file: &str, text: &str| {
        let folder = bar.0.path().join(name);
        std::fs::create_dir(&folder).unwrap();
        std::fs::write(folder.join(file), text).unwrap();
        bar.says(&["load", name]);
    };
    let spec = |quantity| format!("drink,ingredient,quantity\nGin Tonic,Gin,{quantity}\n");
    more("spec", "specs.csv", &spec("50 ml"));
    assert_eq!(looked(now).0, 5_000);
    more("spec back", "specs.csv", &spec("40 ml"));
    assert_eq!(looked(now).0, 4_000);
    // Something spilled, which counts as asked for.
    more("losses", "losses.csv", "at,item,quantity,reason\n2026-11-19 23:00,Gin,400 ml,spill\n");
    assert!(looked(now).1 > 400, "{:?}", looked(now));
    // More sales, of the next night.
    let sales = "receipt,line,at,sold_as,quantity,net\nN1,1,2026-11-20 22:00,Gin Tonic,60,420.00\n";
    more("sales", "sales.csv", sales);
    let (night, morning) = (looked("2026-11-20 23:00"), looked("2026-11-21 12:00"));
    assert!(morning.1 > looked(now).1 && night != morning, "{night:?} {morning:?}");
}
