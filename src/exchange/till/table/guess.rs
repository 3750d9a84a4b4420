//! What a table is, guessed from its heads and its cells: where its head stands, what each column says, how numbers and
//! days are written. Everything is scored, so that a person can be told how sure it is.

use super::facts::Facts;
use super::heads::{self, HeadSense, Sense};
use super::number::{self, Says};
use super::{date, said};
use crate::domain::measure::Currency;
use crate::domain::till::{Amounts, DateOrder, DecimalMark, Field, Layout, LayoutColumn};
use crate::domain::venue::{DayRule, Moment};
use crate::exchange::plain::tamed;

/// Rows in which the head is looked for.
const HEAD_WITHIN: usize = 60;
/// Rows from which columns are judged.
const JUDGED: usize = 300;
/// Columns that are looked at; a till's table has a dozen.
pub(super) const WIDEST: usize = 64;
/// A score that nothing makes good.
const NEVER: f64 = -20.0;
/// How much more a head weighs than a cell.
const HEAD: f64 = 6.0;

/// The beginning of a table as one delimiter cuts it.
#[derive(Clone, Debug)]
pub(super) struct Sample {
    pub(super) rows: Vec<Vec<String>>,
    pub(super) delimiter: u8,
}

/// What is taken for granted.
#[derive(Clone, Copy, Debug)]
pub(super) struct Known {
    pub(super) currency: Currency,
    pub(super) days: DayRule,
    pub(super) until: Moment,
}

/// How a column was understood.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Picked {
    pub(super) field: Field,
    pub(super) sure: f64,
    pub(super) why: String,
}

/// How sure the order of day and month is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Order {
    Certain,
    Likely,
    /// Nothing tells.
    Open,
    /// Days of both orders stand in the table.
    Both,
}

/// A table as guessed.
#[derive(Clone, Debug)]
pub(super) struct Guessed {
    /// The row of the sample that holds the heads.
    pub(super) head: Option<usize>,
    pub(super) heads: Vec<String>,
    pub(super) layout: Layout,
    pub(super) picked: Vec<Picked>,
    pub(super) order: Order,
    /// Nothing tells decimals from thousands, and it matters.
    pub(super) mark_open: bool,
    /// The amount's head does not say whether tax is in it.
    pub(super) amount_open: bool,
    /// Columns whose words seem to say what a line was, and some are not known.
    pub(super) odd_kinds: Vec<usize>,
    /// All quantities are thousands.
    pub(super) thousands: bool,
    /// How much of it was understood, to choose among delimiters.
    pub(super) score: f64,
}

/// Guesses what a table is.
pub(super) fn guess(sample: &Sample, known: &Known) -> Option<Guessed> {
    let widest = sample.rows.iter().map(|r| r.len()).max().unwrap_or(0);
    if widest < 2 {
        return None;
    }
    let head = find_head(&sample.rows, known.currency);
    let first = head.map_or(0, |h| h + 1);
    let width = match head {
        Some(h) => sample.rows[h].len(),
        None => usual_width(&sample.rows)?,
    }
    .min(WIDEST);
    if width < 2 {
        return None;
    }
    let mut heads: Vec<String> = match head {
        Some(h) => sample.rows[h].iter().map(|cell| tamed(cell)).collect(),
        None => vec![String::new(); width],
    };
    heads.truncate(WIDEST);
    let data: Vec<&Vec<String>> = sample.rows[first..].iter().filter(|row| is_data(row, width, &heads)).take(JUDGED).collect();
    let senses: Vec<HeadSense> = heads.iter().map(|head| heads::sense(head)).collect();
    let column = |n: usize| data.iter().map(move |row| row.get(n).map_or("", String::as_str));
    let (mark, mark_open) = mark(&senses, sample.delimiter, known.currency, &column);
    let facts: Vec<Facts> =
        (0..width).map(|n| Facts::of(column(n), &heads[n], mark, known.currency)).collect();
    let relations = Relations::of(&facts);
    let (picked, odd_kinds) = pick(&heads, &senses, &facts, &relations);
    let dated: Vec<usize> = (0..width)
        .filter(|n| matches!(picked[*n].field, Field::Date | Field::Day | Field::DateTime))
        .collect();
    let foreign = senses.iter().filter(|s| s.foreign && !s.english).count();
    let english = senses.iter().filter(|s| s.english).count();
    let cells: Vec<&str> = dated.iter().flat_map(|n| column(*n)).collect();
    let clocks: Vec<&str> = (0..width).filter(|n| picked[*n].field == Field::Time).flat_map(column).collect();
    let (dates, order) = order(&cells, &clocks, foreign > english, known);
    let has = |field: Field| picked.iter().any(|p| p.field == field);
    let lines = has(Field::Receipt) || has(Field::Time) || has(Field::DateTime);
    let amount_open = !has(Field::Net)
        && picked.iter().enumerate().any(|(n, p)| p.field == Field::Gross && senses[n].of(Sense::Is(Field::Gross)) < 0.5 && !relations.gross.contains(&n));
    let thousands = picked.iter().enumerate().any(|(n, p)| {
        let values = || facts[n].values.iter().flatten().filter(|v| **v != 0);
        p.field == Field::Quantity && values().count() > 1 && values().all(|v| v % 1_000_000 == 0)
    });
    let straight = sample.rows[first..].iter().filter(|r| r.iter().any(|c| !c.trim().is_empty()));
    let (fit, all) = straight.fold((0_usize, 0_usize), |(fit, all), row| (fit + usize::from(row.len() == width), all + 1));
    let consistent = if all == 0 { 0.0 } else { fit as f64 / all as f64 };
    let known_heads: f64 = senses.iter().map(HeadSense::best).sum();
    let useful: f64 = picked.iter().filter(|p| p.field != Field::Ignore).map(|p| p.sure).sum();
    let whole = if has(Field::Name) && has(Field::Quantity) { 3.0 } else { 0.0 };
    let columns = heads.iter().zip(&picked).map(|(head, p)| LayoutColumn { head: head.clone(), field: p.field }).collect();
    let layout = Layout {
        name: String::new(),
        columns,
        decimal: mark,
        dates,
        amounts: if lines { Amounts::Lines } else { Amounts::Totals },
        tax: None,
    };
    Some(Guessed {
        head,
        heads,
        layout,
        picked,
        order,
        mark_open,
        amount_open,
        odd_kinds,
        thousands,
        score: known_heads + 2.0 * useful + whole + 4.0 * consistent,
    })
}

/// Whether a row may be a line of the table: enough of it is filled, nothing stands beside it, and it is neither a sum
/// nor the head once more.
fn is_data(row: &[String], width: usize, heads: &[String]) -> bool {
    let filled = row.iter().filter(|cell| !cell.trim().is_empty()).count();
    let first = row.iter().find(|cell| !cell.trim().is_empty());
    let beside = row.iter().skip(width).any(|cell| !cell.trim().is_empty());
    let again = row.iter().zip(heads).filter(|(cell, head)| !head.is_empty() && cell.trim() == **head).count();
    filled * 2 >= width.min(6) && filled > 1 && !beside && again < 2 && first.is_some_and(|cell| said::total_word(cell).is_none())
}

/// The width that most rows have.
fn usual_width(rows: &[Vec<String>]) -> Option<usize> {
    let mut counts = std::collections::BTreeMap::new();
    for row in rows.iter().filter(|row| row.len() > 1) {
        *counts.entry(row.len()).or_insert(0_usize) += 1;
    }
    counts.into_iter().max_by_key(|(width, count)| (*count, *width)).map(|(width, _)| width)
}

fn is_figure(cell: &str, currency: Currency) -> bool {
    let read = |mark| matches!(number::number(cell, mark, currency), Ok(Some(_)));
    read(DecimalMark::Point) || read(DecimalMark::Comma) || date::date(cell).is_some() || date::date_time(cell).is_some() || date::time(cell, false).is_some()
}

/// The row of heads: of the first rows the one with the most words that heads have; else one of words alone above one
/// with figures.
fn find_head(rows: &[Vec<String>], currency: Currency) -> Option<usize> {
    let mut best: Option<(usize, f64)> = None;
    for (n, row) in rows.iter().enumerate().take(HEAD_WITHIN) {
        let filled = row.iter().filter(|c| !c.trim().is_empty());
        if filled.clone().count() < 2 || filled.clone().any(|cell| is_figure(cell, currency)) {
            continue;
        }
        let senses: Vec<f64> = row.iter().take(WIDEST).map(|cell| heads::sense(cell).best()).collect();
        let hits = senses.iter().filter(|s| **s >= 0.5).count();
        let score: f64 = senses.iter().filter(|s| **s >= 0.5).sum();
        // A line such as “Report: sales, date: today” has words too; a head stands above rows of its own width.
        let below = rows[n + 1..].iter().filter(|r| r.iter().any(|c| !c.trim().is_empty())).take(5);
        let (alike, all) = below.fold((0, 0), |(alike, all), r| (alike + usize::from(r.len() == row.len()), all + 1));
        let stands = all == 0 || alike > 0 || hits >= 3;
        if hits >= 2 && stands && best.is_none_or(|(_, most)| score > most + 0.01) {
            best = Some((n, score));
        }
    }
    if let Some((n, _)) = best {
        return Some(n);
    }
    let wordy = |row: &[String]| {
        let last = row.iter().rposition(|c| !c.trim().is_empty()).map_or(0, |last| last + 1);
        last >= 2 && row[..last].iter().all(|c| !c.trim().is_empty() && c.len() < 60 && !is_figure(c, currency))
    };
    let has_figure = |row: &[String]| row.iter().any(|cell| is_figure(cell, currency));
    (0..rows.len().min(20)).find(|n| {
        let below = rows[n + 1..].iter().find(|r| r.iter().any(|c| !c.trim().is_empty()));
        wordy(&rows[*n]) && below.is_some_and(|b| b.len() == rows[*n].len() && has_figure(b))
    })
}

/// The decimal mark, and whether that is open.
fn mark<'c, I: Iterator<Item = &'c str>>(
    senses: &[HeadSense],
    delimiter: u8,
    currency: Currency,
    column: &dyn Fn(usize) -> I,
) -> (DecimalMark, bool) {
    let (mut point, mut comma, mut either) = (0, 0, 0);
    for (n, sense) in senses.iter().enumerate() {
        let clock = [Field::Date, Field::Day, Field::Time, Field::DateTime, Field::Code, Field::Receipt];
        let strongest = clock.into_iter().map(|f| sense.of(Sense::Is(f))).fold(0.0, f64::max);
        if strongest > 0.0 && strongest >= sense.best() {
            continue;
        }
        for cell in column(n) {
            match number::says(cell, currency) {
                Says::Is(DecimalMark::Point) => point += 1,
                Says::Is(DecimalMark::Comma) => comma += 1,
                Says::Either => either += 1,
                Says::Nothing => {}
            }
        }
    }
    match point.cmp(&comma) {
        std::cmp::Ordering::Greater => (DecimalMark::Point, comma * 10 > point),
        std::cmp::Ordering::Less => (DecimalMark::Comma, point * 10 > comma),
        std::cmp::Ordering::Equal => {
            let likely = if delimiter == b';' { DecimalMark::Comma } else { DecimalMark::Point };
            (likely, either > 0 || point > 0)
        }
    }
}

/// The order of day and month.
fn order(cells: &[&str], clocks: &[&str], foreign: bool, known: &Known) -> (DateOrder, Order) {
    let (mut day, mut month, mut dots, mut dashes, mut named) = (0, 0, 0, 0, 0);
    let mut two: Vec<(u32, u32, i32)> = Vec::new();
    for cell in cells {
        let parts = date::date(cell).or_else(|| date::date_time(cell).map(|(parts, _, _)| parts));
        match parts {
            Some(date::Parts::Two(a, b, year)) => {
                day += usize::from(a > 12);
                month += usize::from(b > 12);
                let start = cell.trim_start_matches(|c: char| !c.is_ascii_digit()).trim_start_matches(|c: char| c.is_ascii_digit());
                dots += usize::from(start.starts_with('.'));
                dashes += usize::from(start.starts_with('-'));
                two.push((a, b, year));
            }
            Some(date::Parts::Day(_)) => named += 1,
            None => {}
        }
    }
    if two.is_empty() {
        let first = if named > 0 && cells.iter().any(|c| c.trim().get(..4).is_some_and(|y| y.bytes().all(|b| b.is_ascii_digit()))) {
            DateOrder::YearFirst
        } else {
            DateOrder::DayFirst
        };
        return (first, Order::Certain);
    }
    match (day > 0, month > 0) {
        (true, true) => return (if day >= month { DateOrder::DayFirst } else { DateOrder::MonthFirst }, Order::Both),
        (true, false) => return (DateOrder::DayFirst, Order::Certain),
        (false, true) => return (DateOrder::MonthFirst, Order::Certain),
        (false, false) => {}
    }
    // What has not come yet was not sold.
    let past = |order: DateOrder| {
        two.iter().all(|(a, b, y)| {
            date::Parts::Two(*a, *b, *y).day(order).is_some_and(|day| known.days.begins(day) <= known.until)
        })
    };
    match (past(DateOrder::DayFirst), past(DateOrder::MonthFirst)) {
        (true, false) => return (DateOrder::DayFirst, Order::Certain),
        (false, true) => return (DateOrder::MonthFirst, Order::Certain),
        _ => {}
    }
    // Dots stand between days and months; the month first is written with strokes (common practice, no source).
    if dots == two.len() {
        return (DateOrder::DayFirst, Order::Certain);
    }
    if two.iter().all(|(a, b, _)| a == b) {
        return (DateOrder::DayFirst, Order::Certain);
    }
    let half = |cell: &&str| cell.trim().to_lowercase().trim_end_matches('.').ends_with('m');
    let halves = cells.iter().chain(clocks).any(half);
    if !halves && (foreign || dashes == two.len()) {
        return (DateOrder::DayFirst, Order::Likely);
    }
    (if halves { DateOrder::MonthFirst } else { DateOrder::DayFirst }, Order::Open)
}

/// Columns that are what others come to.
#[derive(Debug, Default)]
struct Relations {
    /// A price: times the quantity it is the amount.
    each: Vec<usize>,
    amount: Vec<usize>,
    net: Vec<usize>,
    tax: Vec<usize>,
    gross: Vec<usize>,
}

impl Relations {
    fn of(facts: &[Facts]) -> Relations {
        let mut out = Relations::default();
        let numeric = |n: &usize| facts[*n].filled > 0 && facts[*n].are(facts[*n].numbers) && facts[*n].percents == 0;
        let columns: Vec<usize> = (0..facts.len()).filter(numeric).take(10).collect();
        for &q in &columns {
            for &p in &columns {
                for &a in &columns {
                    if p == q || a == q || a == p || !facts[q].are(facts[q].wholes) {
                        continue;
                    }
                    let (mut good, mut all, mut telling) = (0, 0, 0);
                    for ((q, p), a) in facts[q].values.iter().zip(&facts[p].values).zip(&facts[a].values) {
                        let (Some(q), Some(p), Some(a)) = (q, p, a) else { continue };
                        let made = i128::from(*q) * i128::from(*p);
                        all += 1;
                        good += usize::from((made - i128::from(*a) * 1_000).abs() <= 10_000 * i128::from(*q).abs().max(1) / 1_000);
                        telling += usize::from(q.abs() > 1_000 && *a != 0 && p != a);
                    }
                    if all >= 2 && good * 20 >= all * 19 && telling > 0 && facts[p].cents >= facts[q].cents {
                        out.each.push(p);
                        out.amount.push(a);
                    }
                }
            }
        }
        for &n in &columns {
            for &t in &columns {
                for &g in &columns {
                    if n == t || t == g || n == g {
                        continue;
                    }
                    let (mut good, mut all, mut telling) = (0, 0, 0);
                    for ((n, t), g) in facts[n].values.iter().zip(&facts[t].values).zip(&facts[g].values) {
                        let (Some(n), Some(t), Some(g)) = (n, t, g) else { continue };
                        all += 1;
                        good += usize::from((n + t - g).abs() <= 10);
                        telling += usize::from(*t != 0 && t.abs() < n.abs());
                    }
                    if all >= 2 && good * 20 >= all * 19 && telling * 2 > all {
                        (out.net.push(n), out.tax.push(t), out.gross.push(g));
                    }
                }
            }
        }
        out
    }
}

/// What the cells of a column say for a field.
fn fits(field: Field, facts: &Facts, head: &HeadSense, name: &str) -> f64 {
    let says = head.of(Sense::Is(field));
    let numbers = facts.are(facts.numbers);
    let big = facts.median() >= 1_000_000;
    if facts.filled == 0 {
        // Nothing contradicts the head, and nothing supports it.
        return if says > 0.5 { -2.0 } else { NEVER };
    }
    match field {
        Field::Date if facts.are(facts.dates) => 4.0,
        Field::Date if facts.are(facts.date_times) && facts.midnights == facts.date_times => 4.0,
        Field::Day if facts.are(facts.dates) && says > 0.0 => 4.0,
        Field::Day if facts.are(facts.date_times) && facts.midnights == facts.date_times && says > 0.0 => 4.0,
        Field::Time if facts.are(facts.times) || (says > 0.0 && facts.are(facts.dotted)) => 4.0,
        Field::DateTime if facts.are(facts.date_times) && facts.midnights < facts.date_times => 4.5,
        Field::Date | Field::Day | Field::Time | Field::DateTime => NEVER,
        Field::Receipt if facts.cents * 10 > facts.filled || facts.are(facts.dates) || facts.are(facts.times) => NEVER,
        Field::Receipt if says > 0.0 => 0.5 + f64::from(u8::from(facts.repeats > 0)),
        // Without a head: numbers that stand in runs and go up.
        Field::Receipt if numbers && facts.are(facts.wholes) && facts.median() > 99_000 && facts.repeats > 0 && facts.distinct > 1 => 2.5,
        Field::Receipt => NEVER,
        Field::Line if !facts.are(facts.wholes) || facts.median() > 500_000 => NEVER,
        Field::Line if says > 0.0 => 1.0,
        Field::Line if facts.filled > 4 && facts.ones > 1 && facts.counting > 1 && facts.ones + facts.counting >= facts.filled => 3.5,
        Field::Line => NEVER,
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
        Field::TaxRate if facts.percents == 0 && facts.wholes == facts.filled && facts.median() < 4_000 && facts.median() > 0 => NEVER,
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
fn pick(heads: &[String], senses: &[HeadSense], facts: &[Facts], relations: &Relations) -> (Vec<Picked>, Vec<usize>) {
    let score = |n: usize, field: Field| {
        let by_relation = match field {
            Field::Net | Field::Gross | Field::Quantity if relations.each.contains(&n) && !relations.amount.contains(&n) => -8.0,
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
            out[n] = Picked { field: Field::Kind, sure: 0.8, why: format!("“{}” with yes and no", heads[n]) };
        } else if named && head.of(Sense::Variant) > 0.8 && words && facts.distinct > 1 {
            out[n] = Picked { field: Field::Name, sure: 0.6, why: format!("“{}” tells apart what has the same name", heads[n]) };
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
        Field::Date | Field::Day => "days",
        Field::Time => "times",
        Field::DateTime => "days with times",
        Field::Quantity => "small numbers",
        Field::Net | Field::Gross | Field::Tax => "amounts",
        Field::TaxRate => "rates",
        Field::Name => "names",
        Field::Receipt | Field::Line | Field::Code => "numbers",
        Field::Kind => "words for what a line was",
        Field::Ignore => return String::new(),
    };
    match (says(field, sense) > 0.0, facts.filled > 0) {
        (true, true) => format!("the head says so, the cells look like {looks}"),
        (true, false) => format!("the head “{head}” says so, no cell is filled"),
        (false, _) => format!("the cells look like {looks}"),
    }
}
