//! A bar whose guests are simulated pour by pour, so that what would have been asked is known even where the shelf was
//! empty: items fast and slow, weeks that differ, busy nights, rates that drift, festivals, suppliers with calendars.
//!
//! The program is shown only what a bar would know: what was sold, what came, and counts. Nothing here asks the program how
//! demand is spread.

use chrono::{Datelike, Days, NaiveDate, NaiveTime};
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::collections::{BTreeMap, HashMap};
use tantalus::domain::measure::Amount;
use tantalus::domain::par::{Ahead, Outlook, Par, Past, Stretch, Wishes, outlooks};
use tantalus::domain::usage::{Asked, AskedDays, Look, told};
use tantalus::domain::venue::{DayRule, Deadline, ItemId, OrderCalendar, SupplierDays};

/// How the pars of a bar are set.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Rule {
    /// By the program.
    Computed,
    /// By hand, once: so many weeks of what was sold in the eight weeks before, in whole bottles.
    Once(f64),
    /// By hand, and anew before every order.
    Anew(f64),
}

/// How a bar is simulated.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Plan {
    /// Items on the shelf.
    pub(crate) items: usize,
    /// Weeks before pars are looked at; in them everything is on the shelf.
    pub(crate) before: usize,
    /// Weeks that are looked at; three more before them use up what was there at first.
    pub(crate) weeks: usize,
    /// The share of stretches that must not run dry.
    pub(crate) service: f64,
    /// Millilitres in a bottle; small ones show what whole bottles hide.
    pub(crate) size: f64,
}

impl Plan {
    pub(crate) const USUAL: Plan = Plan { items: 120, before: 26, weeks: 26, service: 0.95, size: 700.0 };
}

/// What came of some weeks.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Outcome {
    /// Weeks of all items, and those of them in which one ran dry.
    pub(crate) weeks: usize,
    pub(crate) dry_weeks: usize,
    /// Stretches between two vans of slow, middling and fast items: less than two, less than ten pours a day, and more.
    pub(crate) of: [Stretches; 3],
    /// Bottles on the shelf at the end of a day, on average of all days, summed over items.
    pub(crate) stock: f64,
    /// Millilitres asked, and not served.
    pub(crate) asked: f64,
    pub(crate) missed: f64,
    /// Orders that had at least one line.
    pub(crate) orders: usize,
}

/// Stretches between two vans.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Stretches {
    /// All of them, and those in which an item ran dry.
    pub(crate) all: usize,
    pub(crate) dry: usize,
    /// The chance of running dry that the program told of each when it was ordered for, summed.
    pub(crate) told: f64,
}

impl Stretches {
    /// The share that ran dry.
    pub(crate) fn dry_share(&self) -> f64 {
        self.dry as f64 / self.all.max(1) as f64
    }

    fn and(self, of: Stretches) -> Stretches {
        Stretches { all: self.all + of.all, dry: self.dry + of.dry, told: self.told + of.told }
    }
}

impl Outcome {
    /// With another one.
    pub(crate) fn and(&self, of: &Outcome) -> Outcome {
        let [slow, middling, fast] = self.of;
        Outcome {
            weeks: self.weeks + of.weeks,
            dry_weeks: self.dry_weeks + of.dry_weeks,
            of: [slow.and(of.of[0]), middling.and(of.of[1]), fast.and(of.of[2])],
            stock: self.stock + of.stock,
            asked: self.asked + of.asked,
            missed: self.missed + of.missed,
            orders: self.orders + of.orders,
        }
    }

    /// Of all items.
    pub(crate) fn stretches(&self) -> Stretches {
        self.of.into_iter().fold(Stretches::default(), Stretches::and)
    }
}

/// A bar, and what its guests ask.
pub(crate) struct Bar {
    things: Vec<Thing>,
    /// By day and item the pours, one by one, in millilitres.
    pub(crate) asked: Vec<Vec<Vec<f64>>>,
    festivals: BTreeMap<NaiveDate, f64>,
}

/// An item as it really is.
struct Thing {
    supplier: usize,
    /// Pours a day on average, and what each takes in millilitres.
    rate: f64,
    pours: Vec<f64>,
    /// Shares of an average day.
    week: [f64; 7],
    /// How the rate wanders from week to week.
    drift: f64,
    /// Guests order more than one at once.
    party: f64,
}

/// A run of a bar.
struct Run {
    stock: Vec<f64>,
    sold: Vec<Vec<f64>>,
    squares: Vec<(f64, f64)>,
    came: Vec<Vec<f64>>,
    looks: Vec<Vec<Look>>,
    /// Item, day on which it comes, bottles.
    coming: Vec<(usize, usize, f64)>,
    rung: Vec<i64>,
    /// Of each item the risk told for the stretch that began with its last van, and whether it has run dry in it.
    stretches: Vec<Option<(f64, bool)>>,
    /// Whether it has run dry this week.
    dry: Vec<bool>,
    /// Pars set once.
    pars: Vec<f64>,
}

/// Days at first in which what was there is used up.
const SETTLES: usize = 21;

fn poisson(chance: &mut ChaCha8Rng, mean: f64) -> usize {
    let (mut left, mut many) = (mean, 0);
    loop {
        left += chance.random::<f64>().max(1e-300).ln();
        if left < 0.0 {
            return many;
        }
        many += 1;
    }
}

fn normal(chance: &mut ChaCha8Rng) -> f64 {
    let (a, b): (f64, f64) = (chance.random(), chance.random());
    (-2.0 * a.max(1e-300).ln()).sqrt() * (std::f64::consts::TAU * b).cos()
}

fn rule() -> DayRule {
    DayRule { zone: chrono_tz::UTC, starts: NaiveTime::from_hms_opt(5, 0, 0).unwrap() }
}

const FIRST: NaiveDate = NaiveDate::from_ymd_opt(2025, 1, 6).unwrap(); // a Monday

fn day(at: usize) -> NaiveDate {
    FIRST.checked_add_days(Days::new(at as u64)).unwrap()
}

const CALENDARS: [&str; 4] =
    ["Mon 14:00 > Wed; Thu 14:00 > Sat", "Tue 12:00 > Fri", "Thu 18:00 > Fri", "Mon 16:00 > Tue; Thu 12:00 > Fri"];

/// The bar of a seed over so many days.
pub(crate) fn bar(items: usize, days: usize, seed: u64) -> Bar {
    let mut chance = ChaCha8Rng::seed_from_u64(seed);
    let bar_week = [0.0, 0.7, 0.8, 0.9, 1.4, 1.7, 0.5];
    let things: Vec<Thing> = (0..items)
        .map(|_| {
            let mut week = bar_week.map(|share: f64| share * (0.15 * normal(&mut chance)).exp());
            let mean = week.iter().sum::<f64>() / 6.0;
            week.iter_mut().for_each(|share| *share /= mean);
            // From two a month to forty a night.
            let rate = (0.07_f64.ln() + chance.random::<f64>() * (40.0_f64 / 0.07).ln()).exp();
            let sizes = [20.0, 40.0, 50.0, 60.0];
            let pours = (0..chance.random_range(1..4)).map(|_| sizes[chance.random_range(0..4)]).collect();
            let (drift, party) = (0.02 + 0.05 * chance.random::<f64>(), 0.3 * chance.random::<f64>());
            Thing { supplier: chance.random_range(0..CALENDARS.len()), rate, pours, week, drift, party }
        })
        .collect();
    let (asked, festivals) = guests(&things, days, &mut chance);
    Bar { things, asked, festivals }
}

/// A bar of a seed, and its pars by a rule: the same guests come whatever the rule.
pub(crate) fn shelf(plan: Plan, seed: u64, how: Rule) -> Outcome {
    let days = 7 * (plan.before + plan.weeks) + SETTLES;
    let Bar { things, asked: demand, festivals } = bar(plan.items, days, seed);
    let factor = |day: NaiveDate| festivals.get(&day).copied().unwrap_or(1.0);
    let calendars = CALENDARS.map(|text| OrderCalendar::parse(text).unwrap());
    let mut run = Run {
        stock: vec![f64::INFINITY; plan.items],
        sold: vec![Vec::new(); plan.items],
        squares: vec![(0.0, 0.0); plan.items],
        came: vec![vec![0.0; days]; plan.items],
        looks: vec![Vec::new(); plan.items],
        coming: Vec::new(),
        rung: Vec::new(),
        stretches: vec![None; plan.items],
        dry: vec![false; plan.items],
        pars: Vec::new(),
    };
    let mut out = Outcome::default();
    let start = 7 * plan.before;
    let looked = start + SETTLES;
    let mut awaited: HashMap<(usize, usize), f64> = HashMap::new();
    for (today, guests) in demand.iter().enumerate() {
        if today == start {
            // A first order fills the shelf, and it is counted.
            for (n, thing) in things.iter().enumerate() {
                run.stock[n] = (thing.rate * 45.0 * 14.0 / plan.size).ceil().max(1.0) * plan.size;
                run.looks[n].push(Look { day: today - 1, there: run.stock[n] * 1_000.0 });
            }
        }
        // Vans, before trade.
        let (here, later): (Vec<_>, Vec<_>) = run.coming.drain(..).partition(|(_, comes, _)| *comes == today);
        run.coming = later;
        for (n, _, bottles) in here {
            run.stock[n] += bottles * plan.size;
            run.came[n][today] += bottles * plan.size * 1_000.0;
        }
        for (n, thing) in things.iter().enumerate() {
            if let Some(risk) = awaited.remove(&(n, today)) {
                let begun = run.stretches[n].replace((risk, false));
                close(thing.rate, begun.filter(|_| today > looked), &mut out);
            }
        }
        // Deadlines, all of them before the night's trade.
        for (supplier, calendar) in calendars.iter().enumerate().filter(|_| today >= start) {
            let van = calendar.next(rule().at(day(today), NaiveTime::MIN), &rule(), &SupplierDays::default()).unwrap();
            if rule().day_of(van.by) != day(today) {
                continue;
            }
            let comes = (van.comes - FIRST).num_days() as usize;
            let shelf = Shelf { plan: &plan, things: &things, factor: &factor };
            let wanted = shelf.order(&mut run, (supplier, calendar), van, today, how);
            out.orders += usize::from(today >= looked && wanted.iter().any(|(_, bottles, _)| *bottles > 0.0));
            for (n, bottles, risk) in wanted {
                if bottles > 0.0 {
                    run.coming.push((n, comes, bottles));
                }
                awaited.insert((n, comes), risk);
            }
        }
        trade(&plan, guests, &mut run, &mut out, (today, start, looked));
    }
    out
}

/// A stretch is over.
fn close(rate: f64, stretch: Option<(f64, bool)>, out: &mut Outcome) {
    let of = &mut out.of[usize::from(rate >= 2.0) + usize::from(rate >= 10.0)];
    if let Some((risk, dry)) = stretch {
        of.all += 1;
        of.dry += usize::from(dry);
        of.told += risk;
    }
}

/// What guests ask on each day: by item the pours, one by one; and the festivals.
fn guests(things: &[Thing], days: usize, chance: &mut ChaCha8Rng) -> (Vec<Vec<Vec<f64>>>, BTreeMap<NaiveDate, f64>) {
    let mut rates: Vec<f64> = things.iter().map(|thing| thing.rate).collect();
    let mut festivals = BTreeMap::new();
    let mut out = Vec::with_capacity(days);
    for today in 0..days {
        if today % 7 == 0 {
            for (rate, thing) in rates.iter_mut().zip(things) {
                let pull = 0.05 * (thing.rate / *rate).ln();
                *rate *= (pull + thing.drift * normal(chance)).exp();
            }
        }
        // Now and then a festival, known beforehand.
        if day(today).weekday().num_days_from_monday() == 5 && chance.random::<f64>() < 0.08 {
            festivals.insert(day(today), 1.6);
        }
        let festival = festivals.get(&day(today)).copied().unwrap_or(1.0);
        let busy = (0.18 * normal(chance)).exp() * festival;
        let of_day = things.iter().zip(&rates).map(|(thing, rate)| {
            let mean = rate * busy * thing.week[today % 7];
            let mut pours = Vec::new();
            for _ in 0..poisson(chance, mean * (1.0 - thing.party)) {
                let pour = thing.pours[chance.random_range(0..thing.pours.len())];
                pours.push(pour);
                // A party takes the same.
                while chance.random::<f64>() < thing.party {
                    pours.push(pour);
                }
            }
            pours
        });
        out.push(of_day.collect());
    }
    (out, festivals)
}

/// A night's trade: what is there is sold, the rest is missed.
fn trade(
    plan: &Plan,
    demand: &[Vec<f64>],
    run: &mut Run,
    out: &mut Outcome,
    (today, start, looked): (usize, usize, usize),
) {
    let mut rung = 0;
    for (n, pours) in demand.iter().enumerate() {
        let (mut sold, mut missed) = (0.0, 0.0);
        for pour in pours {
            if run.stock[n] < *pour {
                missed += pour;
                continue;
            }
            run.stock[n] -= pour;
            sold += pour;
            run.squares[n].0 += pour;
            run.squares[n].1 += pour * pour;
            rung += 1_000;
        }
        run.sold[n].push(sold);
        run.dry[n] |= missed > 0.0;
        if let Some((_, dry)) = &mut run.stretches[n] {
            *dry |= missed > 0.0;
        }
        if today >= start && today % 7 == 6 {
            // A full count on Sunday night, by tenths.
            let tenth = plan.size / 10.0;
            run.looks[n].push(Look { day: today, there: (run.stock[n] / tenth).round() * tenth * 1_000.0 });
        }
        if today >= looked {
            out.asked += sold + missed;
            out.missed += missed;
            out.stock += run.stock[n] / plan.size / (7.0 * plan.weeks as f64);
            out.weeks += usize::from(today % 7 == 6);
            out.dry_weeks += usize::from(today % 7 == 6 && run.dry[n]);
        }
        if today % 7 == 6 {
            run.dry[n] = false;
        }
    }
    run.rung.push(rung);
}

/// What an order is made from.
struct Shelf<'a> {
    plan: &'a Plan,
    things: &'a [Thing],
    factor: &'a dyn Fn(NaiveDate) -> f64,
}

impl Shelf<'_> {
    /// What is ordered of each item of a supplier: item, bottles, and the risk that the program tells.
    fn order(
        &self,
        run: &mut Run,
        (supplier, calendar): (usize, &OrderCalendar),
        van: Deadline,
        today: usize,
        how: Rule,
    ) -> Vec<(usize, f64, f64)> {
        let Shelf { plan, things, .. } = self;
        let weeks_of = |run: &Run, n: usize| run.sold[n][today - 56..].iter().sum::<f64>() / 8.0;
        if let (Rule::Once(weeks), true) = (how, run.pars.is_empty()) {
            run.pars = (0..plan.items).map(|n| weeks * weeks_of(run, n)).collect();
        }
        let outlooks = if how == Rule::Computed { self.outlooks(run, today) } else { HashMap::new() };
        let stretch =
            Stretch::new([van, calendar.next(van.by, &rule(), &SupplierDays::default()).unwrap()], day(today));
        let mut out = Vec::new();
        for n in (0..things.len()).filter(|n| things[*n].supplier == supplier) {
            let coming: f64 = run.coming.iter().filter(|(m, ..)| *m == n).map(|(_, _, bottles)| bottles).sum();
            let position = run.stock[n] + coming * plan.size;
            let whole = |level: f64| ((level - position) / plan.size - 1e-9).ceil().max(0.0);
            let by_hand = |level: f64| (n, whole((level / plan.size).ceil().max(1.0) * plan.size), 0.0);
            out.push(match (how, outlooks.get(&ItemId(n as i64 + 1))) {
                (Rule::Once(_), _) => by_hand(run.pars[n]),
                (Rule::Anew(weeks), _) => by_hand(weeks * weeks_of(run, n)),
                (Rule::Computed, None) => by_hand(1.0),
                (Rule::Computed, Some(outlook)) => {
                    let known = rule().begins(day(today));
                    let ahead = Ahead::new(&rule(), known, day(today), |_| 1.0, self.factor);
                    // Half a tenth either way.
                    let u = plan.size * 1_000.0 / 10.0 / 12.0_f64.sqrt();
                    let wishes = Wishes { service: plan.service, u, shelf_max: None, keeps_days: None, stakes: None };
                    let par = Par::new(outlook, &ahead, stretch, &wishes);
                    let bottles = whole(par.level.as_f64() / 1_000.0);
                    let had = Amount::rounded((position + bottles * plan.size) * 1_000.0);
                    (n, bottles, par.risk(had))
                }
            });
        }
        out
    }

    /// What the program expects, from what the bar knows.
    fn outlooks(&self, run: &Run, today: usize) -> HashMap<ItemId, Outlook> {
        let mut asked = AskedDays { first: FIRST, rung: run.rung.clone(), items: HashMap::new() };
        let mut said = HashMap::new();
        for n in 0..self.things.len() {
            let (sum, squares) = run.squares[n];
            if sum <= 0.0 {
                continue;
            }
            let daily: Vec<f64> = run.sold[n].iter().map(|ml| ml * 1_000.0).collect();
            let (item, piece) = (ItemId(n as i64 + 1), squares / sum * 1_000.0);
            if !run.looks[n].is_empty() {
                said.insert(item, told(&daily, &run.came[n][..today], &run.looks[n], piece));
            }
            asked.items.insert(item, Asked { daily, by_drink: BTreeMap::new(), piece });
        }
        let factors: Vec<f64> = (0..today).map(|at| (self.factor)(day(at))).collect();
        outlooks(&Past::new(&asked, &factors), &asked, &said)
    }
}
