//! What stands above a table: the name of the place, and the day or days that the report is of.

use super::date::{self, Parts};
use super::said;
use crate::domain::till::DateOrder;
use crate::domain::venue::DayRule;
use crate::exchange::plain::tamed;
use chrono::{NaiveDate, NaiveTime};

/// Words of a line that are looked at.
const WORDS: usize = 40;

/// What the lines above a table say.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Page {
    /// The name of the place.
    pub(super) from: Option<String>,
    /// First and last business day of the report.
    pub(super) days: Option<(NaiveDate, NaiveDate)>,
    /// A day of it could be read two ways.
    pub(super) two_ways: bool,
    /// The other order of day and month is certain from the page itself.
    pub(super) order: Option<DateOrder>,
}

/// Reads the lines above a table.
pub(super) fn page(lines: &[Vec<String>], order: DateOrder, known: bool, days: DayRule) -> Page {
    let mut out = Page::default();
    let mut found: Vec<(Parts, Option<NaiveTime>)> = Vec::new();
    for line in lines.iter().take(60) {
        let text = line.join(" ");
        if said::printed(&text) {
            continue;
        }
        let dates = dates(&text);
        if out.from.is_none() && dates.is_empty() {
            out.from = place(line);
        }
        if found.is_empty() {
            found = dates;
        }
    }
    // A day above twelve tells the order of all.
    for (parts, _) in &found {
        match parts {
            Parts::Two(a, b, _) if *a > 12 && *b <= 12 => out.order = Some(DateOrder::DayFirst),
            Parts::Two(a, b, _) if *b > 12 && *a <= 12 => out.order = Some(DateOrder::MonthFirst),
            _ => {}
        }
    }
    let order = if known { order } else { out.order.unwrap_or(order) };
    let two = |parts: &Parts| matches!(parts, Parts::Two(a, b, _) if a != b);
    out.two_ways = !known && out.order.is_none() && found.iter().any(|(parts, _)| two(parts));
    let days_of: Option<Vec<(NaiveDate, Option<NaiveTime>)>> =
        found.iter().map(|(parts, time)| Some((parts.day(order)?, *time))).collect();
    let Some(days_of) = days_of else { return out };
    out.days = match days_of.as_slice() {
        [] => None,
        [(day, _)] => Some((*day, *day)),
        [(first, from), (last, to), ..] => match (from, to) {
            // From the hour a day begins to the same hour: the days between.
            (Some(from), Some(to)) => {
                let end = crate::domain::venue::Moment(days.at(*last, *to).0 - 1);
                Some((days.day_of(days.at(*first, *from)), days.day_of(end)))
            }
            _ => Some((*first, *last)),
        },
    };
    out.days = out.days.filter(|(first, last)| first <= last);
    out
}

/// The name of a place in a line: what stands behind a word such as “venue”, or a line that is about nothing else.
fn place(line: &[String]) -> Option<String> {
    let mut cells = line.iter().map(|c| tamed(c)).filter(|c| !c.is_empty());
    let first = cells.next()?;
    let (label, rest) = first.split_once(':').map_or((first.as_str(), ""), |(label, rest)| (label, rest.trim()));
    let is_label = matches!(
        crate::domain::till::folded(label).as_str(),
        "venue"
            | "store"
            | "location"
            | "outlet"
            | "site"
            | "bar"
            | "restaurant"
            | "filiale"
            | "betrieb"
            | "standort"
            | "etablissement"
            | "magasin"
            | "local"
            | "establecimiento"
            | "locale"
            | "esercizio"
            | "estabelecimento"
            | "loja"
            | "sted"
            | "butik"
            | "utsalgssted"
            | "stalle"
            | "zaak"
            | "vestiging"
    );
    let name = if is_label && !rest.is_empty() {
        rest.to_owned()
    } else if is_label {
        cells.next()?
    } else {
        first
    };
    said::names_a_place(&name).then_some(name)
}

/// The dates in a text, in their order, with the time behind each.
fn dates(text: &str) -> Vec<(Parts, Option<NaiveTime>)> {
    let spaced: String = text.chars().map(|c| if matches!(c, '–' | '—' | '(' | ')' | ';') { ' ' } else { c }).collect();
    let words: Vec<&str> = spaced.split_whitespace().take(WORDS).collect();
    let mut out = Vec::new();
    let mut at = 0;
    while at < words.len() {
        let window = (1..=6.min(words.len() - at)).rev().find_map(|length| {
            let text = words[at..at + length].join(" ");
            let text = text.trim_matches(|c: char| matches!(c, ':' | ',' | '.'));
            // A window that begins with anything but the date itself would swallow words before it.
            date::date(text).map(|date| (date, length))
        });
        if let Some((date, length)) = window {
            at += length;
            let time = words.get(at).and_then(|w| date::time(w.trim_end_matches(','), false));
            out.push((date, time));
        } else {
            let halves = words[at].split_once('-').map(|(a, b)| (date::date(a), date::date(b)));
            if let Some((Some(first), Some(last))) = halves {
                out.extend([(first, None), (last, None)]);
            } else if let Some((date, time, _)) = date::date_time(words[at]) {
                out.push((date, Some(time)));
            }
            at += 1;
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_page_says_where_and_when() {
        let days = DayRule { zone: chrono_tz::UTC, starts: NaiveTime::from_hms_opt(5, 0, 0).unwrap() };
        let day = |n| NaiveDate::from_ymd_opt(2026, 11, n).unwrap();
        let read = |lines: &[&[&str]]| {
            let lines: Vec<Vec<String>> = lines.iter().map(|l| l.iter().map(|c| (*c).to_owned()).collect()).collect();
            let page = page(&lines, DateOrder::DayFirst, false, days);
            (page.from, page.days, page.two_ways)
        };
        for (lines, from, want, two) in [
            (&[&["Bar Anzio"][..], &["Sales report"], &["20.11.2026"]][..], Some("Bar Anzio"), Some((20, 20)), false),
            (
                &[&["Venue", "Bar Anzio"][..], &["Period", "20/11/2026", "26/11/2026"]],
                Some("Bar Anzio"),
                Some((20, 26)),
                false,
            ),
            (&[&["Umsatzbericht vom 20.11.2026 05:00 bis 21.11.2026 05:00"][..]], None, Some((20, 20)), false),
            (&[&["Friday, 20 November 2026"][..], &["Printed 2026-11-21 04:10"]], None, Some((20, 20)), false),
            (&[&["Du 20/11/2026 au 26/11/2026"][..]], None, Some((20, 26)), false),
            (&[&["20.11.2026-26.11.2026"][..]], None, Some((20, 26)), false),
            (&[&["Report 05/11/2026"][..]], None, Some((5, 5)), true),
            (&[&["sep=", ""][..]], None, None, false),
        ] {
            let want = want.map(|(a, b)| (day(a), day(b)));
            assert_eq!(read(lines), (from.map(str::to_owned), want, two), "{lines:?}");
        }
    }
}
