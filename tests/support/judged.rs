//! What the program makes of simulated bars, week by week, beside what was really the matter.

use super::trade::{Plan, Trade, Trouble, Truth, Week, trade};
use std::collections::{BTreeMap, HashSet};
use std::ops::Range;
use tantalus::desk::comparing::BACK;
use tantalus::domain::drink::Costs;
use tantalus::domain::gauge::Gauges;
use tantalus::domain::usage::{
    Awaited, Cause, Facts, Period, PeriodFacts, Review, Spreads, Suspect, Variance, Verdict, suspects, variance,
};
use tantalus::domain::venue::ItemId;

/// How a rule did.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Score {
    /// Lines that it told.
    pub(crate) told: usize,
    /// Of these, lines with which nothing was the matter.
    pub(crate) wrong: usize,
    /// Gaps of 150 ml and more that there were.
    pub(crate) large: usize,
    /// Of these, those that it told.
    pub(crate) large_found: usize,
}

impl Score {
    fn add(&mut self, told: bool, real: bool, truth: f64) {
        self.told += usize::from(told);
        self.wrong += usize::from(told && !real);
        let large = truth.abs() >= 150.0;
        self.large += usize::from(large);
        self.large_found += usize::from(told && large);
    }
}

/// How often the first cause was the right one: by trouble, of how many, how many, and what else was named.
#[derive(Debug, Default)]
pub(crate) struct Named(BTreeMap<Trouble, (usize, usize, BTreeMap<String, usize>)>);

impl Named {
    fn add(&mut self, truth: &Truth, suspects: &[Suspect]) {
        let mut troubles = truth.troubles.clone();
        troubles.sort_unstable();
        troubles.dedup();
        // Where two things are the matter at once, no single cause is right.
        let [trouble] = troubles.as_slice() else { return };
        let (all, right, else_named) = self.0.entry(*trouble).or_default();
        *all += 1;
        match suspects.first() {
            Some(first) if names(&first.cause, *trouble) => *right += 1,
            first => {
                let word = first.map_or("nothing".to_owned(), |first| first.cause.word().to_string());
                *else_named.entry(word).or_default() += 1;
            }
        }
    }

    /// How many were right, of all.
    pub(crate) fn right(&self) -> (usize, usize) {
        self.0.values().fold((0, 0), |(right, all), (of, good, _)| (right + good, all + of))
    }

    /// Of one trouble: all, and how many were right.
    pub(crate) fn of(&self, trouble: Trouble) -> (usize, usize) {
        self.0.get(&trouble).map_or((0, 0), |(all, right, _)| (*all, *right))
    }

    /// What it was mostly taken for instead.
    pub(crate) fn mostly_else(&self, trouble: Trouble) -> Option<String> {
        let (_, _, named) = self.0.get(&trouble)?;
        let most = named.iter().max_by_key(|(_, number)| **number)?;
        Some(format!("{} ({})", most.0, most.1))
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
        Trouble::Heavy => matches!(cause, Cause::Pours { percent, .. } if *percent > 0.0),
        Trouble::Twin => matches!(cause, Cause::Twin { .. }),
        Trouble::Portion => matches!(cause, Cause::Portion { .. }),
        Trouble::WrongDrink => matches!(cause, Cause::OtherDrink { .. }),
        Trouble::Unmapped => matches!(cause, Cause::Unmapped { .. }),
        Trouble::RanDry => matches!(cause, Cause::RanDry { .. }),
        Trouble::AsExpected => matches!(cause, Cause::AsExpected),
    }
}

/// A bar as the program sees it, week by week.
struct Seen {
    trade: Trade,
    gauges: Gauges,
    all: Vec<Variance>,
    weeks: Vec<Week>,
    awaited: Vec<Vec<Awaited>>,
    /// Weeks and items of which somebody accepted a cause.
    explained: HashSet<(usize, ItemId)>,
}

impl Seen {
    fn new(seed: u64, plan: Plan) -> Seen {
        let trade = trade(seed, plan);
        let gauges = Gauges::new(&trade.setup, &[]);
        Seen { trade, gauges, all: Vec::new(), weeks: Vec::new(), awaited: Vec::new(), explained: HashSet::new() }
    }

    /// One more week, reviewed; the periods that were looked back on end with it.
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
            let of_item = week.movements.deliveries.iter().filter(|came| came.item == line.item);
            let containers = line.packs * line.pack - of_item.map(|came| came.containers).sum::<i64>();
            (containers > 0).then(|| Awaited { item: line.item, containers, order: order.name.clone() })
        });
        self.awaited.push(missing.collect());
        self.weeks.push(week);
        let at = self.all.len() - 1;
        let from = (at + 1).saturating_sub(BACK);
        let mut periods: Vec<Variance> = self.all[from..=at].to_vec();
        let known = self.explained.iter().filter(|(week, _)| *week >= from).map(|(week, item)| (week - from, *item));
        let review = Review::new(&self.trade.setup, &mut periods, at - from, &known.collect());
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

    fn truth(&self, week: usize, item: ItemId) -> Truth {
        self.weeks[week].truth.get(&item).cloned().unwrap_or_default()
    }
}

/// What came of some bars.
#[derive(Default)]
pub(crate) struct Outcome {
    /// More than 5 % of use; more than two standard uncertainties; the program.
    pub(crate) rules: [Score; 3],
    /// Weeks that were looked at.
    pub(crate) weeks: usize,
    /// Steady losses found within six weeks, of how many.
    pub(crate) steady: (usize, usize),
    /// Weeks until they were found, on average.
    pub(crate) steady_weeks: f64,
    /// First causes on the evening, and one count later.
    pub(crate) at_once: Named,
    pub(crate) later: Named,
    /// What the last bar learned: the factor on the set spread of a pour.
    pub(crate) pours: f64,
}

/// What lasts is mended once it is told, so that a later count says nothing more of it: for such the answer of the evening
/// stands.
fn lasts(trouble: Trouble) -> bool {
    use Trouble::*;
    matches!(trouble, Steady | Heavy | Twin | Portion | WrongDrink | Unmapped)
}

/// A steady loss must be found within so many weeks.
const WITHIN: usize = 6;

/// Runs bars: what the program tells is looked into, and what lasts is mended from then on.
pub(crate) fn bars(plan: Plan, seeds: Range<u64>) -> Outcome {
    let mut out = Outcome::default();
    let mut waits: Vec<usize> = Vec::new();
    for seed in seeds {
        let mut seen = Seen::new(seed, plan);
        let begun = seen.trade.steady();
        let mut found: HashSet<(usize, ItemId)> = HashSet::new();
        for at in 0..plan.weeks {
            let (review, periods) = seen.next();
            let spreads = review.spreads.unwrap_or(Spreads::AS_SET);
            out.pours = spreads.pours;
            out.weeks += 1;
            for (_, item) in found.iter().filter(|(week, _)| at > 0 && *week == at - 1) {
                let truth = seen.truth(at - 1, *item);
                if !truth.troubles.iter().any(|trouble| lasts(*trouble)) {
                    out.later.add(&truth, &seen.suspects(&periods, spreads, at - 1, *item));
                }
            }
            for row in &periods[periods.len() - 1].rows {
                let truth = seen.truth(at, row.item);
                let (gap, matters) = (row.gap.as_f64(), truth.gap.abs() >= 1.0);
                let Some(finding) = review.of(row.item) else { continue };
                let told = finding.verdict == Verdict::LookInto;
                // A chart speaks of the periods since its sum began to grow: it is right if something went in any of them.
                let since = finding.steady.map_or(at, |steady| at + 1 - periods.len() + steady.since);
                let before = (since..at).filter(|week| !seen.explained.contains(&(*week, row.item)));
                let went =
                    finding.over_periods && before.into_iter().any(|week| seen.truth(week, row.item).gap.abs() >= 1.0);
                out.rules[0].add(gap.abs() > 0.05 * row.usage.as_f64().abs(), matters, truth.gap);
                out.rules[1].add(gap.abs() > 2.0 * row.u, matters, truth.gap);
                out.rules[2].add(told, matters || went, truth.gap);
                if !told {
                    continue;
                }
                seen.explained.insert((at, row.item));
                if matters {
                    found.insert((at, row.item));
                    let suspects = seen.suspects(&periods, spreads, at, row.item);
                    out.at_once.add(&truth, &suspects);
                    if truth.troubles.iter().any(|trouble| lasts(*trouble)) {
                        out.later.add(&truth, &suspects);
                    }
                    truth.troubles.iter().for_each(|what| seen.trade.mend(row.item, *what));
                }
            }
        }
        for (item, from) in begun {
            out.steady.1 += 1;
            if let Some(week) = (from..plan.weeks).find(|week| found.contains(&(*week, item))) {
                out.steady.0 += usize::from(week < from + WITHIN);
                waits.push(week + 1 - from);
            }
        }
    }
    out.steady_weeks = waits.iter().sum::<usize>() as f64 / waits.len().max(1) as f64;
    out
}

/// Runs bars with which nothing is the matter: weeks until any chart gives an alarm, on average.
pub(crate) fn quiet(plan: Plan, seeds: Range<u64>) -> f64 {
    let (mut alarms, mut weeks) = (0, 0);
    for seed in seeds {
        let mut seen = Seen::new(seed, plan);
        for at in 0..plan.weeks {
            let (review, _) = seen.next();
            for finding in review.findings.values().filter(|finding| finding.over_periods) {
                alarms += 1;
                seen.explained.insert((at, finding.item));
            }
            weeks += 1;
        }
    }
    f64::from(weeks) / f64::from(alarms.max(1))
}
