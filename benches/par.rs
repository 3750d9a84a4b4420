//! Par on simulated bars: how often the shelf runs dry beside what was promised, and what is held for it beside pars set by
//! hand that run dry as seldom.
//!
//! `cargo bench --bench par [-- SEEDS]` prints the tables (6 seeds unless said); with `UPDATE_DOCS=1` it also writes them
//! into `README.md` and `docs/par.md`. Seeded, so that every run gives the same figures.
//!
//! `cargo bench --bench par -- time` measures how long the pars of 400 items take over five years of sales, beside the
//! library statsforecast on the same series in the same run (see benches/README.md).

#![allow(clippy::unwrap_used, missing_docs)]

#[path = "../tests/support/pages.rs"]
mod pages;
#[path = "../tests/support/shelf.rs"]
mod shelf;

use chrono::{Days, NaiveDate, NaiveTime};
use shelf::{Outcome, Plan, Rule, Stretches, bar, shelf};
use std::collections::{BTreeMap, HashMap};
use std::fmt::Write;
use std::path::Path;
use std::process::Command;
use std::time::Instant;
use tantalus::domain::par::{Ahead, Outlook, Par, Past, Stretch, Wishes, outlooks};
use tantalus::domain::usage::{Asked, AskedDays};
use tantalus::domain::venue::{DayRule, ItemId};

/// What is sold in small pieces shows what whole bottles hide: how near the chance is that was promised.
const SMALL: f64 = 50.0;
const SERVICES: [f64; 3] = [0.90, 0.95, 0.98];

fn main() {
    if std::env::args().any(|arg| arg == "time") {
        return time();
    }
    let seeds: u64 = std::env::args().skip(1).find_map(|arg| arg.parse().ok()).unwrap_or(6);
    let short = beside_hand(seeds);
    let long = format!("{short}\n{}", promised(seeds));
    print!("{long}");
    if std::env::var_os("UPDATE_DOCS").is_some() {
        pages::put("README.md", "par", &short);
        pages::put("docs/par.md", "par", &long);
    }
}

/// All seeds, summed.
fn all(plan: Plan, seeds: u64, rule: Rule) -> Outcome {
    (0..seeds).map(|seed| shelf(plan, seed, rule)).fold(Outcome::default(), |sum, of| sum.and(&of))
}

/// Pars by hand, so many weeks of what is sold that they run dry as seldom as those that the program computes.
fn as_seldom(plan: Plan, seeds: u64, rule: fn(f64) -> Rule, dry: f64) -> (f64, Outcome) {
    let (mut low, mut high) = (0.5, 8.0);
    for _ in 0..12 {
        let middle = 0.5 * (low + high);
        if all(plan, seeds, rule(middle)).stretches().dry_share() > dry {
            low = middle;
        } else {
            high = middle;
        }
    }
    (high, all(plan, seeds, rule(high)))
}

fn percent(share: f64) -> String {
    format!("{:.1} %", 100.0 * share)
}

/// What is held, where the shelf runs dry as seldom.
fn beside_hand(seeds: u64) -> String {
    let plan = Plan::USUAL;
    let computed = all(plan, seeds, Rule::Computed);
    let dry = computed.stretches().dry_share();
    let (once_weeks, once) = as_seldom(plan, seeds, Rule::Once, dry);
    let (anew_weeks, anew) = as_seldom(plan, seeds, Rule::Anew, dry);
    let ways = [&computed, &once, &anew];
    let mut out = String::new();
    let mut row = |name: &str, cells: [String; 3]| {
        let _ = writeln!(out, "| {name} | {} |", cells.join(" | "));
    };
    let once_name = format!("by hand, once: {once_weeks:.1} weeks of sales");
    let anew_name = format!("by hand, anew for every order: {anew_weeks:.1} weeks");
    row("on simulated bars", ["by demand".to_owned(), once_name, anew_name]);
    row("---", ["---"; 3].map(str::to_owned));
    row("stretches between two vans that run dry", ways.map(|of| percent(of.stretches().dry_share())));
    row("bottles on the shelf, on average", ways.map(|of| format!("{:.0}", of.stock / seeds as f64)));
    row(
        "held beyond what is held by demand",
        ways.map(|of| format!("{:.0} %", 100.0 * (of.stock / computed.stock - 1.0))),
    );
    row("asked and not to be had", ways.map(|of| percent(of.missed / of.asked)));
    row("orders in a week", ways.map(|of| format!("{:.1}", of.orders as f64 / seeds as f64 / plan.weeks as f64)));
    let saved = |beside: &Outcome| format!("{:.0} %", 100.0 * (1.0 - computed.stock / beside.stock));
    let _ = writeln!(
        out,
        "\n{} less is held than by pars set once, {} less than by pars set anew. {seeds} bars of {} items over {} weeks, \
         bottles of {:.0} ml, a service level of {:.0} %; `cargo bench --bench par`.",
        saved(&once),
        saved(&anew),
        plan.items,
        plan.weeks,
        plan.size,
        100.0 * plan.service
    );
    out
}

/// How often it ran dry, beside what was promised and told.
fn promised(seeds: u64) -> String {
    let mut out = "| sold by | promised | told | ran dry | of which slow | middling | fast | of item-weeks |\n\
                   | --- | --- | --- | --- | --- | --- | --- | --- |\n"
        .to_owned();
    for (size, name) in [(SMALL, "the 50 ml"), (Plan::USUAL.size, "the bottle")] {
        for service in SERVICES {
            let found = all(Plan { size, service, ..Plan::USUAL }, seeds, Rule::Computed);
            let [slow, middling, fast] = found.of.map(|of: Stretches| percent(of.dry_share()));
            let sum = found.stretches();
            let (told, dry, weeks) =
                (sum.told / sum.all as f64, sum.dry_share(), found.dry_weeks as f64 / found.weeks as f64);
            let _ = writeln!(
                out,
                "| {name} | {} | {} | {} | {slow} | {middling} | {fast} | {} |",
                percent(1.0 - service),
                percent(told),
                percent(dry),
                percent(weeks)
            );
        }
    }
    out
}

const ITEMS: usize = 400;
const DAYS: usize = 5 * 365 + 1;
const RUNS: usize = 7;

/// How long all pars take, beside the library.
fn time() {
    let first = NaiveDate::from_ymd_opt(2021, 1, 4).unwrap();
    let guests = bar(ITEMS, DAYS, 1);
    let amount = |pours: &Vec<f64>| pours.iter().sum::<f64>() * 1_000.0;
    let mut asked = AskedDays {
        first,
        rung: guests.asked.iter().map(|day| day.iter().map(|pours| pours.len() as i64 * 1_000).sum()).collect(),
        items: HashMap::new(),
    };
    for item in 0..ITEMS {
        let daily: Vec<f64> = guests.asked.iter().map(|day| amount(&day[item])).collect();
        let of_item = Asked { daily, by_drink: BTreeMap::new(), piece: 50_000.0 };
        asked.items.insert(ItemId(item as i64 + 1), of_item);
    }
    let factors = vec![1.0; DAYS];
    let rule = DayRule { zone: chrono_tz::UTC, starts: NaiveTime::from_hms_opt(5, 0, 0).unwrap() };
    let today = first.checked_add_days(Days::new(DAYS as u64)).unwrap();
    let mut times: Vec<f64> = Vec::new();
    for _ in 0..RUNS {
        let begun = Instant::now();
        let past = Past::new(&asked, &factors);
        let found = outlooks(&past, &asked, &HashMap::new());
        let ahead = Ahead::new(&rule, rule.begins(today), today, |_| 1.0, |_| 1.0);
        let stretch = Stretch::new([], today);
        let wishes = Wishes { service: 0.95, u: 20_000.0, shelf_max: None, keeps_days: None, stakes: None };
        let par = |outlook: &Outlook| Par::new(outlook, &ahead, stretch, &wishes).level.0;
        let sum: i64 = found.values().map(par).sum();
        times.push(begun.elapsed().as_secs_f64());
        assert!(sum > 0 && found.len() > ITEMS * 9 / 10);
    }
    times.sort_by(f64::total_cmp);
    let ours = times[RUNS / 2];
    println!(
        "pars of {ITEMS} items over {DAYS} days: {:.0} ms ({:.0} to {:.0} in {RUNS} runs)",
        1e3 * ours,
        1e3 * times[0],
        1e3 * times[RUNS - 1]
    );
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let folder = root.join("target/bench-files");
    std::fs::create_dir_all(&folder).unwrap();
    let path = folder.join("par.csv");
    let mut text = String::new();
    for item in 0..ITEMS {
        let daily: Vec<String> = guests.asked.iter().map(|day| format!("{}", amount(&day[item]) / 1_000.0)).collect();
        let _ = writeln!(text, "{}", daily.join(","));
    }
    std::fs::write(&path, text).unwrap();
    let python = std::env::var("PYTHON").unwrap_or_else(|_| "python3".to_owned());
    let answer = Command::new(&python).arg(root.join("benches/par_statsforecast.py")).arg(&path).output();
    let said = answer.ok().filter(|answer| answer.status.success());
    let Some(theirs) = said.and_then(|said| String::from_utf8(said.stdout).ok()?.trim().parse::<f64>().ok()) else {
        println!("statsforecast: not to be had with {python}; set PYTHON to an interpreter that has it");
        return;
    };
    println!(
        "the same ways of smoothing by statsforecast, after it has warmed up: {:.0} ms, {:.1} times as long",
        1e3 * theirs,
        theirs / ours
    );
}
