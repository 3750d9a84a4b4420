//! Par on simulated bars: how often the shelf runs dry beside what was promised, and what is held for it beside pars set by
//! hand; and how long it takes for years of sales.

#![allow(clippy::unwrap_used, missing_docs)]

#[path = "../tests/support/shelf.rs"]
mod shelf;

use shelf::{Outcome, Plan, Rule, shelf};

fn main() {
    let seeds: u64 = std::env::args().skip(1).find_map(|arg| arg.parse().ok()).unwrap_or(4);
    for (name, plan) in [
        ("700 ml", Plan::USUAL),
        ("50 ml", Plan { size: 50.0, ..Plan::USUAL }),
        ("700 ml, 98 %", Plan { service: 0.98, ..Plan::USUAL }),
        ("50 ml, 98 %", Plan { size: 50.0, service: 0.98, ..Plan::USUAL }),
        ("50 ml, 90 %", Plan { size: 50.0, service: 0.90, ..Plan::USUAL }),
    ] {
        let computed = all(plan, seeds, Rule::Computed);
        show(name, &computed);
        if plan.size > 100.0 {
            for (what, rule) in [("once", Rule::Once as fn(f64) -> Rule), ("anew", Rule::Anew)] {
                let (mut low, mut high) = (0.5, 8.0);
                for _ in 0..12 {
                    let middle = 0.5 * (low + high);
                    let hand = all(plan, seeds, rule(middle));
                    if hand.dry as f64 / hand.stretches as f64 > computed.dry as f64 / computed.stretches as f64 {
                        low = middle;
                    } else {
                        high = middle;
                    }
                }
                let hand = all(plan, seeds, rule(high));
                show(&format!("  by hand {what}, {high:.2} weeks"), &hand);
                println!("    computed holds {:.1} % less", 100.0 * (1.0 - computed.stock / hand.stock));
            }
        }
    }
}

fn all(plan: Plan, seeds: u64, rule: Rule) -> Outcome {
    let mut sum = Outcome::default();
    for seed in 0..seeds {
        let of_seed = shelf(plan, seed, rule);
        sum.weeks += of_seed.weeks;
        sum.dry_weeks += of_seed.dry_weeks;
        sum.stretches += of_seed.stretches;
        sum.dry += of_seed.dry;
        sum.told += of_seed.told;
        sum.stock += of_seed.stock;
        sum.asked += of_seed.asked;
        sum.missed += of_seed.missed;
        sum.orders += of_seed.orders;
    }
    sum
}

fn show(name: &str, out: &Outcome) {
    println!(
        "{name}: dry {:.2} % of {} stretches (told {:.2} %), {:.2} % of {} item-weeks, missed {:.2} % of what was asked; stock {:.1}, orders {}",
        100.0 * out.dry as f64 / out.stretches as f64,
        out.stretches,
        100.0 * out.told / out.stretches as f64,
        100.0 * out.dry_weeks as f64 / out.weeks as f64,
        out.weeks,
        100.0 * out.missed / out.asked,
        out.stock,
        out.orders,
    );
}
