//! How quick an order is split over suppliers: a bar that wants 400 things of six suppliers, each with a smallest order, a
//! fee, and a value of goods from which the fee falls away.
//!
//! `cargo bench --bench orders [-- SEEDS]` prints a table (50 seeds unless said); see benches/README.md.

use rand::seq::index::sample;
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::time::Instant;
use tantalus::domain::measure::Money;
use tantalus::domain::order::{Split, Terms, Way, cheapest, cheapest_of};

const THINGS: usize = 400;
const SUPPLIERS: usize = 6;

/// A sort of order: its name, how many smallest orders are above what is cheapest to order of that supplier, and the range
/// of free deliveries, as parts of what is cheapest.
const SORTS: [(&str, usize, (f64, f64)); 6] = [
    ("no smallest order binds", 0, (0.2, 0.9)),
    ("free deliveries a little further on", 0, (1.01, 1.15)),
    ("one binds", 1, (0.8, 1.2)),
    ("two bind", 2, (0.8, 1.2)),
    ("three bind", 3, (0.8, 1.3)),
    ("all six bind", 6, (1.1, 1.5)),
];

fn main() {
    let seeds: u64 = std::env::args().filter_map(|argument| argument.parse().ok()).next().unwrap_or(50);
    println!(
        "{SUPPLIERS} suppliers, {THINGS} things with 5 to 12 ways each, {seeds} orders of each sort; milliseconds\n"
    );
    println!(
        "| what binds | median | nine of ten | worst | one thing from elsewhere | without a supplier | unproved |"
    );
    println!("| --- | --- | --- | --- | --- | --- | --- |");
    for (name, bind, free) in SORTS {
        let (mut whole, mut elsewhere, mut without, mut unproved) = (Vec::new(), Vec::new(), Vec::new(), 0);
        for seed in 0..seeds {
            let mut rng = ChaCha8Rng::seed_from_u64(seed);
            let wants: Vec<Vec<Way>> = (0..THINGS).map(|_| ways(&mut rng)).collect();
            let terms = terms(&mut rng, &wants, bind, free);
            let best = timed(&mut whole, || cheapest(&wants, &terms)).expect("everything can be had");
            unproved += usize::from(!best.is_proved());
            // The questions of a screen: a few things, each from everybody else who has it; and each supplier left out.
            for thing in (0..THINGS).step_by(THINGS / 5) {
                let now = wants[thing][best.ways[thing]].supplier;
                for supplier in others(&wants[thing], now) {
                    let from =
                        |other: usize, way: usize| other != thing || wants[other][way].supplier == Some(supplier);
                    let other = timed(&mut elsewhere, || cheapest_of(&wants, &terms, Some(&best), from));
                    unproved += other.map_or(0, |split: Split| usize::from(!split.is_proved()));
                }
            }
            for supplier in 0..SUPPLIERS {
                // There may be no way without it; to know that takes time as well.
                let left_out = |thing: usize, way: usize| wants[thing][way].supplier != Some(supplier);
                let other = timed(&mut without, || cheapest_of(&wants, &terms, Some(&best), left_out));
                unproved += other.map_or(0, |split| usize::from(!split.is_proved()));
            }
        }
        let [worst, longest, slowest] = [&whole, &elsewhere, &without].map(|times| share(times, 1.0));
        println!(
            "| {name} | {:.2} | {:.2} | {worst:.2} | {:.2}, at worst {longest:.2} | {:.2}, at worst {slowest:.2} | {unproved} |",
            share(&whole, 0.5),
            share(&whole, 0.9),
            share(&elsewhere, 0.5),
            share(&without, 0.5),
        );
    }
}

fn timed<T>(times: &mut Vec<f64>, ask: impl FnOnce() -> T) -> T {
    let start = Instant::now();
    let answer = std::hint::black_box(ask());
    times.push(start.elapsed().as_secs_f64() * 1e3);
    answer
}

/// The time that such a share of all are below.
fn share(times: &[f64], of: f64) -> f64 {
    let mut sorted = times.to_vec();
    sorted.sort_by(f64::total_cmp);
    let last = sorted.len().saturating_sub(1);
    sorted.get((last as f64 * of).round() as usize).copied().unwrap_or_default()
}

fn others(ways: &[Way], now: Option<usize>) -> Vec<usize> {
    let mut all: Vec<usize> = ways.iter().filter_map(|way| way.supplier).filter(|s| Some(*s) != now).collect();
    all.sort_unstable();
    all.dedup();
    all
}

/// Singles and cases from two to four suppliers, some with a pack more than is wanted; what is left over is worth its price
/// less what it costs to keep. Every third thing may be left out for a price.
fn ways(rng: &mut ChaCha8Rng) -> Vec<Way> {
    let bottle: i64 = rng.random_range(600..4_200);
    let wanted: i64 = rng.random_range(1..9);
    let count: usize = rng.random_range(5..13);
    let nothing = rng.random_bool(0.33);
    let mut out = Vec::new();
    if nothing {
        let missed = [5, 20, 80, 400][rng.random_range(0..4)];
        out.push(Way { supplier: None, goods: Money::ZERO, cost: wanted * bottle * missed });
    }
    let from = rng.random_range(2..5);
    let suppliers: Vec<(usize, i64)> =
        sample(rng, SUPPLIERS, from).into_iter().map(|s| (s, bottle * rng.random_range(940..1_080) / 1_000)).collect();
    // What a year's money costs, and how long it takes to sell, by thing.
    let keeping: i64 = rng.random_range(5..80);
    let mut more = 0;
    while out.len() < count {
        for (supplier, price) in &suppliers {
            for pack in [1, 6] {
                let packs = (wanted + pack - 1) / pack + more;
                let off = if pack == 1 { 1_000 } else { rng.random_range(930..1_000) };
                let (goods, left) = (packs * pack * price * off / 1_000, packs * pack - wanted);
                let way = Way { supplier: Some(*supplier), goods: Money(goods), cost: 1_000 * goods };
                out.push(Way { cost: way.cost - left * price * (1_000 - keeping), ..way });
            }
        }
        more += 1;
    }
    out.truncate(count);
    out
}

/// Terms beside what would be ordered of each supplier if nobody asked for anything.
fn terms(rng: &mut ChaCha8Rng, wants: &[Vec<Way>], bind: usize, free: (f64, f64)) -> Vec<Terms> {
    let split = cheapest(wants, &[Terms::default(); SUPPLIERS]).expect("everything can be had");
    let binding = sample(rng, SUPPLIERS, bind).into_vec();
    let mut part = |of: Money, range: (f64, f64)| {
        Some(Money((of.0 as f64 * rng.random_range(range.0..range.1) / 500.0).round() as i64 * 500))
    };
    let terms = split.goods.iter().enumerate().map(|(supplier, goods)| Terms {
        minimum: part(*goods, if binding.contains(&supplier) { (1.05, 1.3) } else { (0.1, 0.8) }),
        free_from: part(*goods, free),
        fee: part(Money(2_000), (0.5, 2.0)),
    });
    terms.collect()
}
