//! Pars as they are looked at and changed, and what they would have done.

mod change;
mod cover;
mod lately;
#[cfg(test)]
mod tests;

pub use change::{ParChange, ParSet, Ruling, check_par, difference, far_apart, ruler, typed_par};
pub use cover::{Lasts, StripDay, Van, cover_words, lasts_into, next_van, strip};
pub use lately::{AskedOn, Lately};

use crate::domain::measure::{Amount, Money, number_of};
use crate::domain::par::{Held, ItemPar, KNOWN_DAYS, Replayed};
use crate::domain::statistics::Method;
use crate::domain::venue::{ItemId, Moment, ParFrom, Setup};
use crate::words;
use chrono::NaiveDate;
use std::collections::HashMap;
use std::ops::RangeInclusive;
use std::sync::Arc;

/// The Par screen.
#[derive(Clone, Debug)]
pub struct ParView {
    /// The bar.
    pub setup: Arc<Setup>,
    /// When it is looked at.
    pub now: Moment,
    /// Every item, by name.
    pub pars: Vec<ItemPar>,
    /// What one base unit costs, in minor units; nothing where that is not known.
    pub unit: HashMap<ItemId, f64>,
    /// The business days whose sales say what is asked; none without sales.
    pub known: Option<RangeInclusive<NaiveDate>>,
    /// The last sale that the book has.
    pub last_sale: Option<Moment>,
    /// What was asked lately.
    pub lately: Lately,
}

impl ParView {
    /// What an amount of an item costs; nothing where that is not known.
    pub fn worth(&self, item: ItemId, amount: Amount) -> Option<Money> {
        self.unit.get(&item).map(|unit| Money((unit * amount.as_f64()).round() as i64))
    }

    /// What all pars together tie up, by hand and by demand, of the items that have both.
    pub fn tied_up(&self) -> (Money, Money) {
        let (mut hand, mut computed) = (Money::ZERO, Money::ZERO);
        for par in &self.pars {
            let Some((by_hand, by_demand)) = par.hand.zip(par.by_demand()) else { continue };
            hand += self.worth(par.item, by_hand).unwrap_or_default();
            computed += self.worth(par.item, by_demand.level).unwrap_or_default();
        }
        (hand, computed)
    }

    /// The same in a sentence; nothing where no item has both.
    pub fn tied_up_words(&self) -> Option<String> {
        let both = self.pars.iter().filter(|par| par.hand.is_some() && par.by_demand().is_some()).count();
        let (hand, demand) = self.tied_up();
        let show = self.setup.venue.show();
        (both > 0).then(|| {
            say!(
                "Tied up by hand {hand} {coin}, by demand {demand} {coin}, of {both} with both",
                hand = show.money(hand),
                coin = show.currency,
                demand = show.money(demand),
                both = number_of(both as u64, word!("item"), word!("items"))
            )
        })
    }

    /// By which sales demand is known, in a sentence.
    pub fn known_words(&self) -> String {
        match &self.known {
            Some(days) => say!("By sales of {start} to {end}", start = days.start(), end = days.end()),
            None => word!("No sales are in the book, so nothing is known of demand").to_owned(),
        }
    }
}

/// What pars by hand and by demand would have done with an item.
#[derive(Clone, Debug, PartialEq)]
pub struct LookBackRow {
    /// What.
    pub item: ItemId,
    /// By hand; nothing of one without a par set by hand.
    pub hand: Option<Replayed>,
    /// By demand.
    pub computed: Replayed,
}

/// All items of one way.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct LookBackSum {
    /// Days of trade of all items.
    pub days: usize,
    /// Those on which one ran dry.
    pub dry: usize,
    /// What was on the shelves on average, in money.
    pub stock: Money,
    /// Lines of orders.
    pub orders: usize,
    /// What could not be served would have cost so much, in money of its ingredients.
    pub missed: Money,
}

impl LookBackSum {
    /// The share of days of trade on which one ran dry.
    pub fn dry_share(&self) -> f64 {
        self.dry as f64 / self.days.max(1) as f64
    }
}

/// A week of both ways.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LookBackWeek {
    /// Its first day.
    pub first: NaiveDate,
    /// What was on the shelves on average, by hand and by demand, in money.
    pub stock: [Money; 2],
    /// Items that ran dry on some day of it, by hand and by demand.
    pub dry: [usize; 2],
}

/// What pars would have done on days that the book knows.
#[derive(Clone, Debug, PartialEq)]
pub struct LookBack {
    /// The days.
    pub days: RangeInclusive<NaiveDate>,
    /// Every item that was looked at, by name.
    pub rows: Vec<LookBackRow>,
    /// Of the items with both pars, by hand and by demand.
    pub sums: [LookBackSum; 2],
    /// Week by week, of the items with both pars.
    pub weeks: Vec<LookBackWeek>,
    /// Items with a par by demand only.
    pub without_hand: usize,
}

impl LookBack {
    /// Sums what was tried. `unit` is what one base unit costs, in minor units.
    pub fn new(days: RangeInclusive<NaiveDate>, rows: Vec<LookBackRow>, unit: impl Fn(ItemId) -> f64) -> LookBack {
        let number = usize::try_from((*days.end() - *days.start()).num_days() + 1).unwrap_or(0);
        let both: Vec<(f64, &Replayed, &Replayed)> =
            rows.iter().filter_map(|row| Some((unit(row.item), row.hand.as_ref()?, &row.computed))).collect();
        let sum = |of: &dyn Fn(&(f64, &Replayed, &Replayed)) -> Replayed| {
            let mut out = LookBackSum::default();
            let (mut stock, mut missed) = (0.0, 0.0);
            for entry in &both {
                let replayed = of(entry);
                out.days += replayed.days;
                out.dry += replayed.dry.len();
                out.orders += replayed.orders;
                stock += entry.0 * replayed.average();
                missed += entry.0 * replayed.missed;
            }
            LookBackSum { stock: Money(stock.round() as i64), missed: Money(missed.round() as i64), ..out }
        };
        let week = |from: usize| {
            let first = *days.start() + chrono::TimeDelta::days(from as i64);
            let last = first + chrono::TimeDelta::days(6);
            let to = (from + 7).min(number);
            let mut out = LookBackWeek { first, stock: [Money::ZERO; 2], dry: [0; 2] };
            let mut stock = [0.0; 2];
            for (unit, hand, computed) in &both {
                for (n, replayed) in [hand, computed].into_iter().enumerate() {
                    // One that was not asked for from the first day on has fewer days; they end together.
                    let late = number - replayed.stock.len();
                    let of_week = &replayed.stock[from.saturating_sub(late)..to.saturating_sub(late)];
                    stock[n] += unit * of_week.iter().sum::<f64>() / (to - from).max(1) as f64;
                    out.dry[n] += usize::from(replayed.dry.iter().any(|day| (first..=last).contains(day)));
                }
            }
            LookBackWeek { stock: stock.map(|stock| Money(stock.round() as i64)), ..out }
        };
        let weeks = (0..number).step_by(7).map(week).collect();
        let sums = [sum(&|(_, hand, _)| (*hand).clone()), sum(&|(_, _, computed)| (*computed).clone())];
        let without_hand = rows.iter().filter(|row| row.hand.is_none()).count();
        LookBack { days, sums, weeks, without_hand, rows }
    }
}

/// How a look back is reckoned, and what it does not know.
pub const LOOK_BACK_LIMITS: &str = text!(
    "Each order of those days is placed again by the level smoothed up to its day and the \
    supplier's calendar of today; how an item's week goes and how its demand scatters are as known today. Smallest orders \
    and fees are left out, prices are today's, and what was asked while an item was dry is taken as expected."
);

/// The two ways, as they are named.
pub const LOOK_BACK_WAYS: [&str; 2] = [text!("by hand"), text!("by demand")];

impl LookBack {
    /// What it is and over which days, as a title.
    pub fn title(&self) -> String {
        say!("What pars would have done, {start} to {end}", start = self.days.start(), end = self.days.end())
    }

    /// What its sums are in.
    pub fn units_words(setup: &Setup) -> String {
        say!("On the shelves on average, and not served, in {currency} of cost.", currency = setup.venue.currency)
    }

    /// The items, the largest difference of what is held first, in containers.
    pub fn by_difference(&self, setup: &Setup) -> Vec<&LookBackRow> {
        let mut rows: Vec<&LookBackRow> = self.rows.iter().collect();
        let difference = |row: &LookBackRow| {
            let size = setup.item(row.item).map_or(1.0, |item| item.size.as_f64().max(1.0));
            row.hand.as_ref().map_or(0.0, |hand| (hand.average() - row.computed.average()).abs() / size)
        };
        rows.sort_by(|a, b| difference(b).total_cmp(&difference(a)));
        rows
    }
}

/// What is to be said of an item's par, in sentences: what is expected until when, how surely it must last, what holds it
/// down, from what that is known, and how the two pars compare.
pub fn par_words(view: &ParView, par: &ItemPar) -> Vec<String> {
    let setup = &view.setup;
    let Some(item) = setup.item(par.item) else { return Vec::new() };
    let show = setup.venue.show();
    let amount = |amount: Amount| show.amount(item.basis, amount);
    let containers = |amount: Amount| show.containers(amount, item.size);
    let day = cover::short;
    let mut out = Vec::new();
    match par.on_hand {
        Some(there) => out.push(say!(
            "On hand {there} ({there_2}{u}){comes}",
            there = containers(there.amount),
            there_2 = amount(there.amount),
            u = match Amount::rounded(there.u) {
                Amount::ZERO => String::new(),
                u => format!(" ± {}", amount(u)),
            },
            comes = if par.on_order == Amount::ZERO {
                String::new()
            } else {
                let comes = par.coming.iter().map(|(on, amount)| {
                    say!(", {containers} on {on}", containers = containers(*amount), on = day(*on))
                });
                say!(
                    ", on order {on_order}{comes}",
                    on_order = containers(par.on_order),
                    comes = comes.collect::<String>()
                )
            }
        )),
        None => out.push(word!("Never counted, so nobody knows what is there").to_owned()),
    }
    if let Some(hand) = par.hand {
        let worth = view
            .worth(par.item, hand)
            .map_or(String::new(), |money| format!(", {} {}", show.money(money), show.currency));
        let rules = if par.from == ParFrom::Hand { word!("; it rules") } else { "" };
        out.push(say!("Par by hand {hand}{worth}{rules}", hand = containers(hand), worth, rules));
    }
    let Some(outlook) = &par.outlook else {
        out.push(say!(
            "No par by demand: the sales in the book say what is asked of it on fewer than {KNOWN_DAYS} days of trade",
            KNOWN_DAYS
        ));
        return out;
    };
    for (supplier, computed) in &par.computed {
        let from = supplier.and_then(|id| setup.supplier(id)).map(|s| s.name.as_str());
        let usual = *supplier == par.usual;
        let rules = if usual && par.from == ParFrom::Demand { word!("; it rules") } else { "" };
        let worth = view.worth(par.item, computed.level);
        let worth = worth.map_or(String::new(), |money| format!(", {} {}", show.money(money), show.currency));
        let whom = match (from, par.made_here) {
            (Some(from), _) => say!(
                "Par by demand from {from} {level}{worth}{rules}",
                from,
                level = containers(computed.level),
                worth,
                rules
            ),
            (None, _) => say!("Par by demand {level}{worth}{rules}", level = containers(computed.level), worth, rules),
        };
        let stretch = computed.stretch;
        let until = match (stretch.by, par.made_here) {
            (Some(by), _) => say!(
                "ordered by {by} it comes {comes} and must last until {until}",
                by = setup.venue.days.short(by),
                comes = day(stretch.comes),
                until = day(stretch.until)
            ),
            (None, true) => say!("made today it must last until {until}", until = day(stretch.until)),
            (None, false) => {
                say!(
                    "ordered now it comes about {comes} and must last until {until}",
                    comes = day(stretch.comes),
                    until = day(stretch.until)
                )
            }
        };
        out.push(say!(
            "{whom}: {until}; {mean} ± {sd} are asked until then; enough {round} times of 100",
            whom,
            until,
            mean = amount(Amount::rounded(computed.demand.mean)),
            sd = amount(Amount::rounded(computed.demand.sd())),
            round = (1_000.0 * computed.enough()).round() / 10.0
        ));
        match computed.held {
            Some(Held::Shelf) => out.push(word!("The shelf holds no more than that").to_owned()),
            Some(Held::Keeps) => out.push(say!(
                "It keeps {keeps_days}: what would be thrown away is weighed against what running out costs",
                keeps_days = number_of(item.keeps_days.unwrap_or_default(), word!("day"), word!("days"))
            )),
            None => {}
        }
    }
    let method = match outlook.method {
        Method::Level { alpha } => {
            say!("a level that moves by {alpha} % of each day's error", alpha = words::fixed(100.0 * alpha, 0))
        }
        Method::Gaps { .. } => word!("size and gap of askings, smoothed apart").to_owned(),
        Method::Chance { .. } => word!("chance and size of askings, smoothed apart").to_owned(),
    };
    let dry = match outlook.dry {
        0 => String::new(),
        dry => say!(", without {dry} on which it was dry", dry = number_of(dry as u64, word!("day"), word!("days"))),
    };
    out.push(say!(
        "{rate} on an average day of trade, by {outlook}{dry}: {method}",
        rate = amount(Amount::rounded(outlook.rate)),
        outlook = number_of(outlook.days as u64, word!("day"), word!("days")),
        dry,
        method
    ));
    out.extend(change::comparing_words(view, par));
    out
}
