//! What each column says: every field is scored for every column by its head, its cells and what it comes to with others,
//! and the surest are given first.

use super::facts::Facts;
use super::heads::{HeadSense, Sense};
use super::relations::Relations;
use super::said;
use crate::domain::till::Field;

/// A score that nothing makes good.
const NEVER: f64 = -20.0;
/// How much more a head weighs than a cell.
const HEAD: f64 = 6.0;

/// How a column was understood.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Picked {
    pub(super) field: Field,
    pub(super) sure: f64,
    pub(super) why: String,
}

/// What the cells of a column say for a field.
fn fits(field: Field, facts: &Facts, head: &HeadSense, name: &str) -> f64 {
    let says = head.of(Sense::Is(field));
    let numbers = facts.may_be(facts.numbers, 0, says);
    let date_times = facts.may_be(facts.date_times, facts.no_date_times, says);
    let midnight = facts.date_times > 0 && facts.midnights == facts.date_times;
    let dates = facts.may_be(facts.dates, facts.no_dates, says) || (date_times && midnight);
    let big = facts.median() >= 1_000_000;
    if facts.filled == 0 {
        // Nothing contradicts the head, and nothing supports it.
        return if says > 0.5 { -2.0 } else { NEVER };
    }
    match field {
        Field::Date if dates => 4.0,
        Field::Day if dates && says > 0.0 => 4.0,
        Field::Time if facts.may_be(facts.times, facts.no_times, says) || (says > 0.0 && facts.are(facts.dotted)) => {
            4.0
        }
        Field::DateTime if date_times && !midnight => 4.5,
        Field::Date | Field::Day | Field::Time | Field::DateTime => NEVER,
        Field::Receipt if facts.cents * 10 > facts.filled || facts.are(facts.dates) || facts.are(facts.times) => NEVER,
        Field::Receipt if says > 0.0 => 0.5 + f64::from(u8::from(facts.repeats > 0)),
        // Without a head: numbers that stand in runs and go up.
        Field::Receipt
            if numbers
                && facts.are(facts.wholes)
                && facts.median() > 99_000
                && facts.repeats > 0
                && facts.distinct > 1 =>
        {
            2.5
        }
        Field::Receipt => NEVER,
        Field::Line if !facts.are(facts.wholes) || facts.median() > 500_000 => NEVER,
        Field::Line if says > 0.0 => 1.0,
        Field::Line
            if facts.filled > 4
                && facts.ones > 1
                && facts.counting > 1
                && facts.ones + facts.counting >= facts.filled =>
        {
            3.5
        }
        Field::Line => NEVER,
        // A bar has a few of them.
        Field::Register
            if says == 0.0
                || facts.cents * 10 > facts.filled
                || facts.are(facts.dates)
                || facts.are(facts.times)
                || facts.are(facts.date_times)
                || (facts.distinct > 20 && facts.distinct * 3 > facts.filled) =>
        {
            NEVER
        }
        Field::Register => 0.5 + f64::from(u8::from(facts.repeats > 0)) / 4.0,
        Field::Name if facts.texts * 10 < facts.filled * 6 => NEVER,
        Field::Name => {
            let kinds = if facts.are(facts.kinds) { -4.0 } else { 0.0 };
            1.5 + 2.0 * (facts.distinct as f64 * 3.0 / facts.filled as f64).min(1.0) + kinds
        }
        Field::Code if says == 0.0 || facts.are(facts.dates) || facts.cents * 10 > facts.filled => NEVER,
        Field::Code => 1.0,
        Field::Quantity if !numbers || facts.coins > 0 || facts.percents > 0 => NEVER,
        Field::Quantity => {
            let whole = facts.share(facts.wholes);
            let small = if big { -3.0 } else { 0.5 };
            let running = if facts.runs() { -6.0 } else { 0.0 };
            let thousandths = if facts.are(facts.wholes) && facts.cents > 0 { 0.0 } else { 0.5 };
            2.0 * whole + small + running + thousandths - if whole < 0.5 { 1.5 } else { 0.0 }
        }
        Field::Net | Field::Gross | Field::Tax if !numbers || facts.percents > 0 => NEVER,
        Field::Net | Field::Gross | Field::Tax => {
            let written = 2.0 * facts.share(facts.cents);
            let coin = if facts.coins > 0 { 1.5 } else { 0.0 };
            let running = if facts.runs() { -6.0 } else { 0.0 };
            // Where nothing is said, what guests paid is likelier.
            let own = match field {
                Field::Tax if says == 0.0 => NEVER,
                Field::Gross => 0.1,
                _ => 0.0,
            };
            written + coin + running + own - 0.5
        }
        Field::TaxRate if !numbers || facts.distinct > 6 || facts.median() > 40_000 => NEVER,
        // A number of a rate, 1 or 2, is no rate.
        Field::TaxRate
            if facts.percents == 0 && facts.wholes == facts.filled && facts.median() < 4_000 && facts.median() > 0 =>
        {
            NEVER
        }
        Field::TaxRate if says > 0.0 => 1.5,
        Field::TaxRate if facts.percents > 0 && facts.distinct <= 3 && facts.median() >= 3_000 => 1.5,
        Field::TaxRate => NEVER,
        Field::Kind if facts.are(facts.flags) && said::names_a_kind(name) => 4.0,
        Field::Kind if facts.kinds == facts.filled && (says > 0.0 || facts.distinct > 1) => 3.0,
        Field::Kind => NEVER,
        Field::Ignore => 1.0,
    }
}

/// What the head says for a field, the open senses given to what they may be.
fn says(field: Field, head: &HeadSense) -> f64 {
    let own = head.of(Sense::Is(field));
    let (amount, price) = (head.of(Sense::Amount), head.of(Sense::Price));
    match field {
        Field::Gross => own.max(0.8 * amount).max(0.5 * price),
        Field::Net => own.max(0.7 * amount).max(0.4 * price),
        Field::DateTime => own.max(0.8 * head.of(Sense::Is(Field::Date))).max(0.6 * head.of(Sense::Is(Field::Time))),
        Field::Date => own.max(0.7 * head.of(Sense::Is(Field::DateTime))),
        Field::Time => own.max(0.5 * head.of(Sense::Is(Field::DateTime))),
        Field::Ignore => [Sense::Other, Sense::Each, Sense::Coin].into_iter().map(|s| head.of(s)).fold(0.0, f64::max),
        _ => own,
    }
}

/// Gives every column what it says: the surest first, each field once.
pub(super) fn pick(
    heads: &[String],
    senses: &[HeadSense],
    facts: &[Facts],
    relations: &Relations,
) -> (Vec<Picked>, Vec<usize>) {
    let score = |n: usize, field: Field| {
        let by_relation = match field {
            Field::Net | Field::Gross | Field::Quantity
                if relations.each.contains(&n) && !relations.amount.contains(&n) =>
            {
                -8.0
            }
            Field::Net | Field::Gross if relations.amount.contains(&n) => 2.0,
            _ => 0.0,
        };
        let by_tax = match field {
            Field::Net if relations.net.contains(&n) => 3.0,
            Field::Gross if relations.gross.contains(&n) => 3.0,
            Field::Tax if relations.tax.contains(&n) => 3.0 + if senses[n].best() < 0.5 { -NEVER + 1.0 } else { 0.0 },
            _ => 0.0,
        };
        HEAD * says(field, &senses[n]) + fits(field, &facts[n], &senses[n], &heads[n]) + by_relation + by_tax
    };
    let mut all: Vec<(f64, usize, Field)> = Vec::new();
    for n in 0..facts.len() {
        for field in Field::ALL {
            all.push((score(n, *field), n, *field));
        }
    }
    all.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)).then(a.2.cmp(&b.2)));
    let mut out: Vec<Option<Picked>> = vec![None; facts.len()];
    for (score, n, field) in &all {
        let taken = *field != Field::Ignore && out.iter().flatten().any(|p| p.field == *field);
        // Day and time in one need no day, and no time, beside them.
        let has = |field: Field| out.iter().flatten().any(|p| p.field == field);
        let besides = match field {
            Field::Date | Field::Time => has(Field::DateTime),
            Field::DateTime => has(Field::Time),
            _ => false,
        };
        if out[*n].is_some() || taken || besides || (*field != Field::Ignore && *score < 1.5) {
            continue;
        }
        let rivals = all.iter().filter(|(_, m, f)| m == n && f != field && !(is_money(*f) && is_money(*field)));
        let second = rivals.filter(|(_, _, f)| *f == Field::Ignore || !has(*f)).map(|(s, _, _)| *s);
        let margin = score - second.fold(0.0, f64::max);
        let sure = (0.5 + margin / 12.0).clamp(0.1, 0.99);
        out[*n] = Some(Picked { field: *field, sure, why: why(*field, &heads[*n], &senses[*n], &facts[*n]) });
    }
    let mut out: Vec<Picked> =
        out.into_iter().map(|p| p.unwrap_or(Picked { field: Field::Ignore, sure: 0.5, why: String::new() })).collect();
    let mut odd = Vec::new();
    let named = out.iter().any(|p| p.field == Field::Name);
    for n in 0..out.len() {
        if out[n].field != Field::Ignore {
            continue;
        }
        let (head, facts) = (&senses[n], &facts[n]);
        let words = facts.share(facts.texts) > 0.5;
        if facts.are(facts.flags) && facts.filled > 0 && said::names_a_kind(&heads[n]) {
            out[n] = Picked { field: Field::Kind, sure: 0.8, why: say!("“{n}” with yes and no", n = heads[n]) };
        } else if named && head.of(Sense::Variant) > 0.8 && words && facts.distinct > 1 {
            out[n] = Picked {
                field: Field::Name,
                sure: 0.6,
                why: say!("“{n}” tells apart what has the same name", n = heads[n]),
            };
        } else if facts.kinds > 0 && facts.kinds < facts.filled && head.of(Sense::Is(Field::Kind)) > 0.5 {
            odd.push(n);
        }
    }
    (out, odd)
}

fn is_money(field: Field) -> bool {
    matches!(field, Field::Net | Field::Gross)
}

/// In a few words, for the person who confirms.
fn why(field: Field, head: &str, sense: &HeadSense, facts: &Facts) -> String {
    let looks = match field {
        Field::Date | Field::Day => word!("days"),
        Field::Time => word!("times"),
        Field::DateTime => word!("days with times"),
        Field::Quantity => word!("small numbers"),
        Field::Net | Field::Gross | Field::Tax => word!("amounts"),
        Field::TaxRate => word!("rates"),
        Field::Name => word!("names"),
        Field::Receipt | Field::Line | Field::Code => word!("numbers"),
        Field::Register => word!("a few of the same"),
        Field::Kind => word!("words for what a line was"),
        Field::Ignore => return String::new(),
    };
    match (says(field, sense) > 0.0, facts.filled > 0) {
        (true, true) => say!("the head says so, the cells look like {looks}", looks),
        (true, false) => say!("the head “{head}” says so, no cell is filled", head),
        (false, _) => say!("the cells look like {looks}", looks),
    }
}
