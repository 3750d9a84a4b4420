//! How far a variance can be trusted, on simulated bars whose troubles are known.
//!
//! `cargo bench --bench variance [-- SEEDS]` prints the tables; `UPDATE_DOCS=1` writes them into `README.md`. See
//! benches/README.md.

#[path = "../tests/support/trade.rs"]
mod trade;

use std::collections::{BTreeMap, HashSet};
use tantalus::domain::drink::Costs;
use tantalus::domain::gauge::Gauges;
use tantalus::domain::usage::{
    Awaited, Cause, Facts, Period, PeriodFacts, Review, Spreads, Suspect, Variance, Verdict, suspects, variance,
};
use tantalus::domain::venue::ItemId;
use trade::{Plan, Trade, Trouble, Truth, Week, trade};

/// Periods that a review looks back on.
const BACK: usize = 16;

/// How a rule did.
#[derive(Clone, Copy, Default)]
struct Score {
    told: usize,
    wrong: usize,
    large: usize,
    large_found: usize,
}

impl Score {
    fn add(&mut self, told: bool, truth: f64) {
        self.told += usize::from(told);
        self.wrong += usize::from(told && truth.abs() < 1.0);
        let large = truth.abs() >= 150.0;
        self.large += usize::from(large);
        self.large_found += usize::from(told && large);
    }
}

/// What a bar shows week by week, with what was the matter.
struct Shown {
    trade: Trade,
    gauges: Gauges,
    all: Vec<Variance>,
    weeks: Vec<Week>,
    awaited: Vec<Vec<Awaited>>,
    explained: HashSet<(usize, ItemId)>,
}

impl Shown {
    fn new(seed: u64, plan: Plan) -> Shown {
        let trade = trade(seed, plan);
        let gauges = Gauges::new(&trade.setup, &[]);
        Shown { trade, gauges, all: Vec::new(), weeks: Vec::new(), awaited: Vec::new(), explained: HashSet::new() }
    }

    /// One more week, reviewed.
    fn next(&mut self) -> (Review, Vec<Variance>) {
        let week = self.trade.week();
        let period = Period {
            opening: &week.opening,
            closing: &week.closing,
            latest: &week.closing,
            movements: &week.movements,
            sales: &week.sales,
        };
        self.all.push(variance(&self.trade.setup, &self.gauges, &period, &Costs::default()));
        let order = &self.trade.orders[self.weeks.len()];
        let missing = order.lines.iter().filter_map(|line| {
            let booked: i64 =
                week.movements.deliveries.iter().filter(|d| d.item == line.item).map(|d| d.containers).sum();
            let containers = line.packs * line.pack - booked;
            (containers > 0).then(|| Awaited { item: line.item, containers, order: order.name.clone() })
        });
        self.awaited.push(missing.collect());
        self.weeks.push(week);
        let at = self.all.len() - 1;
        let from = (at + 1).saturating_sub(BACK);
        let mut periods: Vec<Variance> = self.all[from..=at].to_vec();
        let known =
            self.explained.iter().filter(|(week, _)| *week >= from).map(|(week, item)| (week - from, *item)).collect();
        let review = Review::new(&self.trade.setup, &mut periods, at - from, &known);
        (review, periods)
    }

    /// The likely causes of a gap of a week, as seen from the newest week.
    fn suspects(&self, periods: &[Variance], spreads: Spreads, week: usize, item: ItemId) -> Vec<Suspect> {
        let from = self.all.len() - periods.len();
        let facts: Vec<PeriodFacts> = periods
            .iter()
            .zip(self.weeks[from..].iter().zip(&self.awaited[from..]))
            .map(|(variance, (week, awaited))| PeriodFacts {
                variance,
                opening: &week.opening,
                deliveries: &week.movements.deliveries,
                sales: &week.sales,
                awaited,
            })
            .collect();
        suspects(&Facts::new(&self.trade.setup, &facts, week - from, spreads), item)
    }
}

/// Whether a cause names a trouble.
fn names(cause: &Cause, trouble: Trouble) -> bool {
    match trouble {
        Trouble::Overlooked => matches!(cause, Cause::Overlooked { .. }),
        Trouble::Twice => matches!(cause, Cause::Twice { .. }),
        Trouble::NotCome => matches!(cause, Cause::NotCome { .. }),
        Trouble::NotBooked => matches!(cause, Cause::NotBooked { .. }),
        Trouble::Gone => matches!(cause, Cause::Gone { .. }),
        Trouble::Spilt => matches!(cause, Cause::Unknown),
        Trouble::Steady => matches!(cause, Cause::Steady { .. }),
        Trouble::Heavy => matches!(cause, Cause::Pours { .. }),
        Trouble::Twin => matches!(cause, Cause::Twin { .. }),
        Trouble::Portion => matches!(cause, Cause::Portion { .. }),
        Trouble::WrongDrink => matches!(cause, Cause::OtherDrink { .. }),
        Trouble::Unmapped => matches!(cause, Cause::Unmapped { .. }),
        Trouble::RanDry => matches!(cause, Cause::RanDry { .. }),
        Trouble::AsExpected => matches!(cause, Cause::AsExpected),
    }
}

/// How often the first cause was the right one.
#[derive(Default)]
struct Named(BTreeMap<Trouble, (usize, usize, BTreeMap<String, usize>)>);

impl Named {
    fn add(&mut self, truth: &Truth, suspects: &[Suspect]) {
        let mut troubles = truth.troubles.clone();
        troubles.sort_unstable();
        troubles.dedup();
        let [trouble] = troubles.as_slice() else { return };
        let entry = self.0.entry(*trouble).or_default();
        entry.0 += 1;
        let right = suspects.first().is_some_and(|s| names(&s.cause, *trouble));
        entry.1 += usize::from(right);
        if !right {
            let word = suspects.first().map_or("nothing".to_owned(), |s| s.cause.word().to_string());
            *entry.2.entry(word).or_default() += 1;
            if std::env::var("SHOW").is_ok() {
                println!("wrong {trouble:?} truth {:.0}:", truth.gap);
                for s in suspects.iter().take(4) {
                    println!("    {:.3} {:?}", s.share, s.cause);
                }
            }
        }
    }

    fn print(&self, when: &str) {
        let (all, right) = self.0.values().fold((0, 0), |(a, r), (all, right, _)| (a + all, r + right));
        println!("{when}: {:.1} % of {all}", 100.0 * right as f64 / all.max(1) as f64);
        for (trouble, (all, right, wrong)) in &self.0 {
            println!("   {trouble:?} {right} of {all} {wrong:?}");
        }
    }
}

fn main() {
    let seeds: u64 = std::env::args().filter_map(|a| a.parse().ok()).next().unwrap_or(20);
    for (name, plan) in [("tenths", Plan::USUAL), ("scale", Plan { scale: true, ..Plan::USUAL })] {
        let [mut five, mut two, mut alone, mut ours] = [Score::default(); 4];
        let (mut steady, mut steady_found) = (0, 0);
        let mut spreads = Spreads::AS_SET;
        let (mut at_once, mut later) = (Named::default(), Named::default());
        for seed in 0..seeds {
            let mut shown = Shown::new(seed, plan);
            let begun = shown.trade.steady();
            let mut found: HashSet<(usize, ItemId)> = HashSet::new();
            for at in 0..plan.weeks {
                let (review, periods) = shown.next();
                spreads = review.spreads.unwrap_or(spreads);
                let none = Truth::default();
                if at > 0 {
                    for (_, item) in found.iter().filter(|(week, _)| *week == at - 1) {
                        later.add(&shown.weeks[at - 1].truth[item], &shown.suspects(&periods, spreads, at - 1, *item));
                    }
                }
                let truths = shown.weeks[at].truth.clone();
                for row in &periods[periods.len() - 1].rows {
                    let truth = truths.get(&row.item).unwrap_or(&none);
                    let gap = row.gap.as_f64();
                    let finding = review.of(row.item).unwrap();
                    let told = finding.verdict == Verdict::LookInto;
                    five.add(gap.abs() > 0.05 * row.usage.as_f64().abs(), truth.gap);
                    two.add(gap.abs() > 2.0 * row.u, truth.gap);
                    alone.add(finding.by_itself, truth.gap);
                    let since = finding.steady.map_or(at, |s| at + 1 - periods.len() + s.since);
                    let before = (since..at).filter(|w| !shown.explained.contains(&(*w, row.item)));
                    let before = before.filter_map(|w| shown.weeks[w].truth.get(&row.item)).any(|t| t.gap.abs() >= 1.0);
                    let right = truth.gap.abs() >= 1.0 || finding.over_periods && before;
                    ours.add(told, if right { truth.gap.abs().max(1.0) } else { 0.0 });
                    if told {
                        shown.explained.insert((at, row.item));
                    }
                    if told && truth.gap.abs() >= 1.0 {
                        found.insert((at, row.item));
                        at_once.add(truth, &shown.suspects(&periods, spreads, at, row.item));
                        for what in &truth.troubles {
                            shown.trade.mend(row.item, *what);
                        }
                    }
                    if std::env::var("SHOW").is_ok() {
                        if told && truth.gap.abs() < 1.0 {
                            println!(
                                "false {seed} {at} {:?} gap {:.0} u {:.0} adj {:.3} chart {} {:?}",
                                row.item,
                                gap / 1e3,
                                row.u / 1e3,
                                finding.adjusted,
                                finding.over_periods,
                                finding
                                    .track
                                    .points
                                    .iter()
                                    .flatten()
                                    .map(|p| (p.standardised() * 10.0).round() / 10.0)
                                    .collect::<Vec<_>>()
                            );
                        }
                        if !told && truth.gap.abs() >= 150.0 {
                            println!(
                                "miss {seed} {at} {:?} gap {:.0} u {:.0} truth {:.0} adj {:.3} {:?}",
                                row.item,
                                gap / 1e3,
                                row.u / 1e3,
                                truth.gap,
                                finding.adjusted,
                                truth.troubles
                            );
                        }
                    }
                }
            }
            for (item, from) in &begun {
                steady += 1;
                steady_found += usize::from((*from..from + 6).any(|week| found.contains(&(week, *item))));
            }
        }
        println!("{name}: spreads {spreads:?}");
        for (rule, s) in [("5 %", five), ("two u", two), ("alone", alone), ("ours", ours)] {
            println!(
                "{rule:8} told {:6} false {:5.1} %  found {:5.1} % of {}",
                s.told,
                100.0 * s.wrong as f64 / s.told.max(1) as f64,
                100.0 * s.large_found as f64 / s.large.max(1) as f64,
                s.large
            );
        }
        println!("steady {steady_found} of {steady}");
        at_once.print("at once");
        later.print("one count later");
        // Quiet bars.
        let quiet = Plan { single: 0.0, lasting: false, ..plan };
        let (mut alarms, mut weeks) = (0, 0);
        for seed in 1000..1000 + seeds {
            let mut shown = Shown::new(seed, quiet);
            for at in 0..plan.weeks {
                let (review, _) = shown.next();
                for f in review.findings.values().filter(|f| f.over_periods) {
                    alarms += 1;
                    shown.explained.insert((at, f.item));
                }
                weeks += 1;
            }
        }
        println!(
            "quiet: {alarms} chart alarms in {weeks} weeks: one in {:.0}",
            weeks as f64 / f64::from(alarms.max(1))
        );
    }
}
