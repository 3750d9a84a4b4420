//! What a table is, guessed from its heads and its cells: where its head stands, what each column says, how numbers and
//! days are written. Everything is scored, so that a person can be told how sure it is.

use super::columns::{Picked, pick};
use super::facts::Facts;
use super::heads::{self, HeadSense, Sense};
use super::mark::{self, Marks, Verdict};
use super::number::{self, Of};
use super::relations::Relations;
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
    /// The mark by which the columns were judged: the table's, or the likelier where nothing tells.
    pub(super) likelier: DecimalMark,
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
    let data: Vec<&Vec<String>> =
        sample.rows[first..].iter().filter(|row| is_data(row, width, &heads)).take(JUDGED).collect();
    let senses: Vec<HeadSense> = heads.iter().map(|head| heads::sense(head)).collect();
    let column = |n: usize| data.iter().map(move |row| row.get(n).map_or("", String::as_str));
    let marks_of = |of: &dyn Fn(usize) -> Option<Of>| {
        let mut marks = Marks::default();
        for n in 0..width {
            let Some(of) = of(n) else { continue };
            column(n).for_each(|cell| marks.see(cell, of, known.currency));
        }
        marks
    };
    let by = |mark: DecimalMark| {
        let facts: Vec<Facts> = (0..width).map(|n| Facts::of(column(n), &heads[n], mark, known.currency)).collect();
        let relations = Relations::of(&facts);
        let picked = pick(&heads, &senses, &facts, &relations);
        (facts, relations, picked)
    };
    let all = marks_of(&|n| figures_by_head(&senses[n]));
    let mut likelier = all.likelier(sample.delimiter);
    let (mut facts, mut relations, mut columns) = by(likelier);
    // Once the columns are known, their figures count before those of others.
    let figures = marks_of(&|n| mark::figures_of(columns.0[n].field));
    let (decimal, mark_open) = match (figures.verdict(), all.verdict()) {
        (Verdict::Is(mark), _) => (mark, false),
        (Verdict::Mixed(mark), _) => (mark.unwrap_or(DecimalMark::Unknown), true),
        (Verdict::Open | Verdict::Nothing, Verdict::Is(mark)) => (mark, false),
        (open, _) => (DecimalMark::Unknown, open == Verdict::Open),
    };
    let now = if decimal == DecimalMark::Unknown { figures.likelier(sample.delimiter) } else { decimal };
    if now != likelier {
        likelier = now;
        (facts, relations, columns) = by(likelier);
    }
    let (picked, odd_kinds) = columns;
    let dated: Vec<usize> =
        (0..width).filter(|n| matches!(picked[*n].field, Field::Date | Field::Day | Field::DateTime)).collect();
    let foreign = senses.iter().filter(|s| s.foreign && !s.english).count();
    let english = senses.iter().filter(|s| s.english).count();
    let cells: Vec<&str> = dated.iter().flat_map(|n| column(*n)).collect();
    let clocks: Vec<&str> = (0..width).filter(|n| picked[*n].field == Field::Time).flat_map(column).collect();
    let (dates, order) = order(&cells, &clocks, foreign > english, known);
    let has = |field: Field| picked.iter().any(|p| p.field == field);
    let lines = has(Field::Receipt) || has(Field::Time) || has(Field::DateTime);
    let amount_open = !has(Field::Net)
        && picked.iter().enumerate().any(|(n, p)| {
            p.field == Field::Gross && senses[n].of(Sense::Is(Field::Gross)) < 0.5 && !relations.gross.contains(&n)
        });
    let thousands = picked.iter().enumerate().any(|(n, p)| {
        let values = || facts[n].values.iter().flatten().filter(|v| **v != 0);
        p.field == Field::Quantity && values().count() > 1 && values().all(|v| v % 1_000_000 == 0)
    });
    let straight = sample.rows[first..].iter().filter(|r| r.iter().any(|c| !c.trim().is_empty()));
    let (fit, all) =
        straight.fold((0_usize, 0_usize), |(fit, all), row| (fit + usize::from(row.len() == width), all + 1));
    let consistent = if all == 0 { 0.0 } else { fit as f64 / all as f64 };
    let known_heads: f64 = senses.iter().map(HeadSense::best).sum();
    let useful: f64 = picked.iter().filter(|p| p.field != Field::Ignore).map(|p| p.sure).sum();
    let whole = if has(Field::Name) && has(Field::Quantity) { 3.0 } else { 0.0 };
    let columns =
        heads.iter().zip(&picked).map(|(head, p)| LayoutColumn { head: head.clone(), field: p.field }).collect();
    let layout = Layout {
        name: String::new(),
        columns,
        decimal,
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
        likelier,
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
    filled * 2 >= width.min(6)
        && filled > 1
        && !beside
        && again < 2
        && first.is_some_and(|cell| said::total_word(cell).is_none())
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
    read(DecimalMark::Point)
        || read(DecimalMark::Comma)
        || date::date(cell).is_some()
        || date::date_time(cell).is_some()
        || date::time(cell, false).is_some()
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
        // A column that only numbers the rows has often no head.
        let first = usize::from(row.first().is_some_and(|c| c.trim().is_empty()));
        last >= first + 2
            && row[first..last].iter().all(|c| !c.trim().is_empty() && c.len() < 60 && !is_figure(c, currency))
    };
    let has_figure = |row: &[String]| row.iter().any(|cell| is_figure(cell, currency));
    (0..rows.len().min(20)).find(|n| {
        let below = rows[n + 1..].iter().find(|r| r.iter().any(|c| !c.trim().is_empty()));
        wordy(&rows[*n]) && below.is_some_and(|b| b.len() == rows[*n].len() && has_figure(b))
    })
}

/// What the numbers of a column are of, as far as its head says; none of one that has no figures, where a dot says nothing.
fn figures_by_head(sense: &HeadSense) -> Option<Of> {
    let strongest = |senses: &[Sense]| senses.iter().map(|s| sense.of(*s)).fold(0.0, f64::max);
    let is = Sense::Is;
    let apart = [Field::Date, Field::Day, Field::Time, Field::DateTime, Field::Code, Field::Receipt].map(is);
    let money = [is(Field::Net), is(Field::Gross), is(Field::Tax), Sense::Amount, Sense::Price, Sense::Each];
    let best = sense.best();
    match best > 0.0 {
        true if strongest(&apart) >= best => None,
        true if strongest(&money) >= best => Some(Of::Money),
        _ => Some(Of::Anything),
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
                let start = cell
                    .trim_start_matches(|c: char| !c.is_ascii_digit())
                    .trim_start_matches(|c: char| c.is_ascii_digit());
                dots += usize::from(start.starts_with('.'));
                dashes += usize::from(start.starts_with('-'));
                two.push((a, b, year));
            }
            Some(date::Parts::Day(_)) => named += 1,
            None => {}
        }
    }
    if two.is_empty() {
        let first = if named > 0
            && cells.iter().any(|c| c.trim().get(..4).is_some_and(|y| y.bytes().all(|b| b.is_ascii_digit())))
        {
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
