//! How far a variance can be trusted, on simulated bars whose troubles are known: 160 items and 16 weeks each, drunk,
//! counted and told wrong by a simulator of its own.
//!
//! `cargo bench --bench variance [-- SEEDS]` prints the tables (20 seeds unless said); with `UPDATE_DOCS=1` it also writes
//! them into `README.md` and `docs/variance.md` between their markers. Seeded, so that every run gives the same figures.

#[path = "../tests/support/judged.rs"]
mod judged;
#[path = "../tests/support/pages.rs"]
mod pages;
#[path = "../tests/support/trade/mod.rs"]
mod trade;

use judged::{Outcome, bars, quiet};
use std::fmt::Write;
use trade::{Plan, Trouble};

/// Weeks that quiet bars are followed for.
const QUIET: usize = 40;

fn main() {
    let seeds: u64 = std::env::args().filter_map(|argument| argument.parse().ok()).next().unwrap_or(20);
    let scale = Plan { scale: true, ..Plan::USUAL };
    let free = Plan { pour: 4.0, ..Plan::USUAL };
    let [tenths, weighed, poured] = [Plan::USUAL, scale, free].map(|plan| bars(plan, 0..seeds));
    let alarms = [Plan::USUAL, scale].map(|plan| {
        let still = Plan { single: 0.0, lasting: false, weeks: QUIET, ..plan };
        quiet(still, 1_000..1_000 + seeds)
    });
    let short = summary(&tenths, &weighed, &alarms, seeds);
    let long = format!("{short}\n{}\n{}", pours(&poured), causes(&tenths));
    print!("{long}");
    if std::env::var_os("UPDATE_DOCS").is_some() {
        pages::put("README.md", "variance", &short);
        pages::put("docs/variance.md", "variance", &long);
    }
}

fn percent(of: (usize, usize)) -> String {
    format!("{:.1} %", 100.0 * of.0 as f64 / of.1.max(1) as f64)
}

/// What the rules find, side by side.
fn summary(tenths: &Outcome, weighed: &Outcome, alarms: &[f64; 2], seeds: u64) -> String {
    let mut out = String::new();
    let mut row = |cells: [String; 5]| {
        // Writing to a String cannot fail.
        let _ = writeln!(out, "| {} |", cells.join(" | "));
    };
    let words = |cells: [&str; 5]| cells.map(str::to_owned);
    row(words(["on simulated bars", "over 5 % of use", "two standard uncertainties", "Tantalus", "with a scale"]));
    row(words(["---", "---", "---", "---", "---"]));
    let wrong = |outcome: &Outcome, rule: usize| percent((outcome.rules[rule].wrong, outcome.rules[rule].told));
    let found = |outcome: &Outcome, rule: usize| percent((outcome.rules[rule].large_found, outcome.rules[rule].large));
    let told = |outcome: &Outcome, rule: usize| {
        format!("{:.0}", outcome.rules[rule].told as f64 / outcome.weeks.max(1) as f64)
    };
    let four = |of: &dyn Fn(&Outcome, usize) -> String| [of(tenths, 0), of(tenths, 1), of(tenths, 2), of(weighed, 2)];
    let mut line = |name: &str, cells: [String; 4]| {
        let [a, b, c, d] = cells;
        row([name.to_owned(), a, b, c, d]);
    };
    line("lines told in a week, of 160", four(&told));
    line("of these, nothing is the matter with", four(&wrong));
    line("gaps of 150 ml and more that are told", four(&found));
    let none = || "–".to_owned();
    let only = |of: &dyn Fn(&Outcome) -> String| [none(), none(), of(tenths), of(weighed)];
    line("a steady 60 ml a week found within 6 weeks", only(&|o| percent(o.steady)));
    line("weeks until it is found, on average", only(&|o| format!("{:.1}", o.steady_weeks)));
    line("first cause right on the same evening", only(&|o| percent(o.at_once.right())));
    line("first cause right one count later", only(&|o| percent(o.later.right())));
    line("weeks until all charts together cry wolf", [none(), none(), weeks(alarms[0]), weeks(alarms[1])]);
    let _ = writeln!(
        out,
        "\n{seeds} bars of 160 items over 16 weeks (quiet ones over {QUIET}); `cargo bench --bench variance`."
    );
    out
}

fn weeks(of: f64) -> String {
    format!("{of:.0}")
}

/// The same where drinks are poured free, and the setting still says jigger.
fn pours(poured: &Outcome) -> String {
    let rule = &poured.rules[2];
    format!(
        "Where pours scatter by 4 ml although `venue.csv` says 1.5: {} of what is told is nothing, {} of the gaps of 150 ml \
         and more are told; the book learns a spread of {:.1} ml.\n",
        percent((rule.wrong, rule.told)),
        percent((rule.large_found, rule.large)),
        1.5 * poured.pours
    )
}

/// How often the first cause is the right one, trouble by trouble.
fn causes(outcome: &Outcome) -> String {
    let mut out = "| what was the matter | told | first cause right on the evening | one count later | else mostly |\n\
                   | --- | --- | --- | --- | --- |\n"
        .to_owned();
    for (trouble, name) in TROUBLES {
        let of = |named: &judged::Named| named.of(trouble);
        let ((all, right), (later, later_right)) = (of(&outcome.at_once), of(&outcome.later));
        let else_mostly = outcome.at_once.mostly_else(trouble).unwrap_or_default();
        // Writing to a String cannot fail.
        let _ = writeln!(
            out,
            "| {name} | {all} | {} | {} | {else_mostly} |",
            percent((right, all)),
            percent((later_right, later))
        );
    }
    out
}

const TROUBLES: [(Trouble, &str); 14] = [
    (Trouble::Overlooked, "a sealed one overlooked"),
    (Trouble::Twice, "a sealed one counted twice"),
    (Trouble::NotCome, "booked, not in the van"),
    (Trouble::NotBooked, "came, not booked"),
    (Trouble::Gone, "a sealed one went"),
    (Trouble::Spilt, "some of an opened one went"),
    (Trouble::Steady, "60 ml every week"),
    (Trouble::Heavy, "pours 8 to 16 % heavy"),
    (Trouble::Twin, "another one poured instead"),
    (Trouble::Portion, "a till name's portion is wrong"),
    (Trouble::WrongDrink, "a till name's drink is wrong"),
    (Trouble::Unmapped, "a till name without a meaning"),
    (Trouble::RanDry, "ran dry and rung on"),
    (Trouble::AsExpected, "a count left as expected"),
];
