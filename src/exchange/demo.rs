//! The demo bar: the files of `demo-data/`, built in, with all dates moved so that the evening to count is tonight.

use super::{At, ExchangeError};
use crate::domain::venue::{DayRule, Moment, parse_day};
use chrono::{Days, NaiveDate};
use std::collections::HashSet;
use std::fs;
use std::path::Path;

/// A built-in file: its name, its text, the columns that hold times of what happened and those that begin with a date.
struct Built {
    name: &'static str,
    text: &'static str,
    times: &'static [&'static str],
    dates: &'static [&'static str],
}

macro_rules! built {
    ($($name:literal $times:expr, $dates:expr;)+) => {
        &[$(Built {
            name: $name,
            text: include_str!(concat!("../../demo-data/", $name)),
            times: &$times,
            dates: &$dates,
        }),+]
    };
}

const FILES: &[Built] = built! {
    "venue.csv" [], [];
    "people.csv" [], [];
    "places.csv" [], [];
    "suppliers.csv" [], [];
    "days.csv" [], ["day", "until", "order_by"];
    "profiles.csv" [], [];
    "fillings.csv" [], [];
    "stock.csv" [], [];
    "shelves.csv" [], [];
    "offers.csv" [], ["from"];
    "glasses.csv" [], [];
    "drinks.csv" [], ["from"];
    "specs.csv" [], ["from"];
    "house.csv" [], ["from"];
    "batches.csv" ["at"], [];
    "pos.csv" [], [];
    "weighings.csv" ["at"], [];
    "sales.csv" ["at"], [];
    "deliveries.csv" ["at"], [];
    "losses.csv" ["at"], [];
    "transfers.csv" ["at"], [];
    "counts.csv" ["at"], [];
    "orders.csv" ["placed"], ["expected"];
};

/// How the demo's dates are moved and where its story is cut.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Cut {
    days: DayRule,
    /// Whole weeks, so that every weekday stays what it is: Fridays are busy and vans come on their days.
    weeks: i64,
    now: Moment,
    /// The evening whose count is due: what the files have of its count is left out.
    due: NaiveDate,
}

/// Writes the demo's files into a folder as of `now`: moved by whole weeks, nothing after `now`, the last evening of
/// trade not counted yet, and orders whose van has not come still with the supplier.
///
/// # Errors
/// [`ExchangeError::Io`] when the folder cannot be written.
pub fn write(folder: &Path, now: Moment) -> Result<(), ExchangeError> {
    let cut = Cut::new(now);
    let came = deliveries(&cut);
    for file in FILES {
        let path = folder.join(file.name);
        fs::write(&path, moved(file, &cut, &came)).at("writing the demo's", &path)?;
    }
    Ok(())
}

fn text_of(name: &str) -> &'static str {
    FILES.iter().find(|f| f.name == name).map_or("", |f| f.text)
}

/// The rows of a built-in file. That they are sound is what `tests/demo.rs` holds, so a bad row is passed over here.
fn rows(text: &'static str) -> (csv::StringRecord, impl Iterator<Item = csv::StringRecord>) {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let head = reader.headers().cloned().unwrap_or_default();
    (head, reader.into_records().filter_map(Result::ok))
}

fn column(head: &csv::StringRecord, name: &str) -> usize {
    head.iter().position(|h| h == name).unwrap_or(usize::MAX)
}

fn rule() -> DayRule {
    let (_, rows) = rows(text_of("venue.csv"));
    let mut rule = DayRule { zone: chrono_tz::UTC, starts: chrono::NaiveTime::MIN };
    for row in rows {
        match (row.get(0), row.get(1)) {
            (Some("time_zone"), Some(zone)) => rule.zone = zone.parse().unwrap_or(rule.zone),
            (Some("day_starts"), Some(at)) => {
                rule.starts = chrono::NaiveTime::parse_from_str(at, "%H:%M").unwrap_or(rule.starts);
            }
            _ => {}
        }
    }
    rule
}

impl Cut {
    fn new(now: Moment) -> Cut {
        let days = rule();
        let (head, rows) = rows(text_of("sales.csv"));
        let at = column(&head, "at");
        let sales: Vec<Moment> = rows.filter_map(|row| days.parse(row.get(at)?).ok()).collect();
        let last = sales.iter().max().map_or(NaiveDate::default(), |m| days.day_of(*m));
        let today = days.day_of(now);
        // The first whole number of weeks that puts the end of the story at or after today …
        let weeks = (today - last).num_days().div_euclid(7) + i64::from((today - last).num_days().rem_euclid(7) > 0);
        let mut cut = Cut { days, weeks, now, due: last };
        cut.due = cut.last_evening(&sales);
        // … or one less, when nothing of its last week has been sold yet: then the week before is the last.
        if (cut.moved_day(last) - cut.due).num_days() >= 7 {
            cut.weeks -= 1;
            cut.due = cut.last_evening(&sales);
        }
        cut
    }

    /// The newest evening that has begun to sell.
    fn last_evening(&self, sales: &[Moment]) -> NaiveDate {
        let moved = sales.iter().filter_map(|at| self.days.shifted(*at, self.weeks * 7));
        moved.filter(|at| *at <= self.now).max().map_or(self.due, |at| self.days.day_of(at))
    }

    fn moved_day(&self, day: NaiveDate) -> NaiveDate {
        let days = self.weeks * 7;
        let step = Days::new(days.unsigned_abs());
        if days < 0 { day.checked_sub_days(step) } else { day.checked_add_days(step) }.unwrap_or(day)
    }

    fn moved_time(&self, text: &str) -> Option<Moment> {
        self.days.shifted(self.days.parse(text).ok()?, self.weeks * 7)
    }
}

/// Which suppliers' vans had come by now, and on which dates.
fn deliveries(cut: &Cut) -> HashSet<(String, NaiveDate)> {
    let (head, rows) = rows(text_of("deliveries.csv"));
    let (at, supplier) = (column(&head, "at"), column(&head, "supplier"));
    let came = rows.filter_map(|row| {
        let at = cut.moved_time(row.get(at)?).filter(|at| *at <= cut.now)?;
        Some((row.get(supplier)?.to_owned(), cut.days.day_of(at)))
    });
    came.collect()
}

fn moved(file: &Built, cut: &Cut, came: &HashSet<(String, NaiveDate)>) -> Vec<u8> {
    let (head, rows) = rows(file.text);
    let mut out = csv::Writer::from_writer(Vec::new());
    // Writing into memory does not fail.
    let _ = out.write_record(&head);
    let times: Vec<usize> = file.times.iter().map(|c| column(&head, c)).collect();
    let dates: Vec<usize> = file.dates.iter().map(|c| column(&head, c)).collect();
    let (state, supplier, expected) = (column(&head, "state"), column(&head, "supplier"), column(&head, "expected"));
    let count = (file.name == "counts.csv").then(|| column(&head, "count"));
    for row in rows {
        let mut cells: Vec<String> = row.iter().map(str::to_owned).collect();
        let mut kept = true;
        for &at in &times {
            let Some(moment) = cells.get(at).and_then(|text| cut.moved_time(text)) else { continue };
            kept &= moment <= cut.now && (count.is_none() || cut.days.day_of(moment) < cut.due);
            cells[at] = cut.days.plain(moment);
        }
        if !kept {
            continue;
        }
        for &at in &dates {
            // A deadline to come keeps its hour; a day of each year has no date and stays.
            cells.get_mut(at).into_iter().for_each(|cell| rename(cell, cut));
        }
        if file.name == "orders.csv" {
            let due = cells.get(expected).and_then(|text| parse_day(text).ok());
            let here = due.is_some_and(|due| came.contains(&(cells[supplier].clone(), due)));
            if !here {
                cells[state] = "sent".to_owned();
            }
            rename(&mut cells[0], cut);
        }
        if let Some(count) = count {
            rename(&mut cells[count], cut);
        }
        let _ = out.write_record(&cells);
    }
    out.into_inner().unwrap_or_default()
}

/// Moves the date that a text begins with; counts and orders are called by theirs.
fn rename(name: &mut String, cut: &Cut) {
    if let Some(day) = name.get(..10).and_then(|d| parse_day(d).ok()) {
        let rest = name.get(10..).unwrap_or_default().to_owned();
        *name = format!("{}{rest}", cut.moved_day(day));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str) -> Moment {
        rule().parse(text).unwrap()
    }

    /// The demo's bar is closed on Mondays and opens at five; its story ends on a Sunday.
    #[test]
    fn the_evening_that_is_due() {
        for (now, due) in [
            // Deep in the night after a Wednesday, in the afternoon and in the evening after it.
            ("2026-11-26 01:30", "2026-11-25"),
            ("2026-11-26 14:00", "2026-11-25"),
            ("2026-11-26 22:00", "2026-11-26"),
            // After the Sunday, on the closed Monday, and on Tuesday before it opens.
            ("2026-11-30 01:55", "2026-11-29"),
            ("2026-11-30 21:00", "2026-11-29"),
            ("2026-12-01 12:00", "2026-11-29"),
            ("2026-12-01 21:00", "2026-12-01"),
            // Before the story was written, and years after it.
            ("2025-03-07 23:00", "2025-03-07"),
            ("2031-08-16 23:00", "2031-08-16"),
        ] {
            let cut = Cut::new(at(now));
            assert_eq!(cut.due.to_string(), due, "{now}");
            let end = cut.moved_day(parse_day("2026-11-15").unwrap());
            assert!((0..7).contains(&(end - cut.due).num_days()), "{now}: in the last week of the story");
        }
    }

    /// 2026-11-26 is a Thursday, eleven days after the end of the story, which moves by two weeks.
    #[test]
    fn days_to_come_move_with_the_story_and_days_of_each_year_stay() {
        let cut = Cut::new(at("2026-11-26 14:00"));
        let file = FILES.iter().find(|file| file.name == "days.csv").unwrap();
        let text = String::from_utf8(moved(file, &cut, &HashSet::new())).unwrap();
        let days: Vec<&str> = text.lines().skip(1).map(|line| line.split(',').next().unwrap()).collect();
        assert_eq!(days, ["2026-12-11", "2026-12-09", "12-31", "12-24"]);
        assert!(text.contains("2026-12-11,2026-12-12,") && text.contains(",2026-12-07 12:00\n"), "{text}");
    }

    #[test]
    fn nothing_lies_in_the_future_and_tonight_is_not_counted() {
        let cut = Cut::new(at("2026-11-26 14:00"));
        let came = deliveries(&cut);
        for file in FILES {
            let text = String::from_utf8(moved(file, &cut, &came)).unwrap();
            let mut reader = csv::Reader::from_reader(text.as_bytes());
            let head = reader.headers().unwrap().clone();
            for row in reader.records() {
                let row = row.unwrap();
                for name in file.times {
                    let text = row.get(column(&head, name)).unwrap();
                    let moment = cut.days.parse(text).unwrap();
                    assert!(moment <= cut.now, "{}: {text}", file.name);
                    assert!(file.name != "counts.csv" || cut.days.day_of(moment) < cut.due, "{text}");
                }
            }
        }
    }
}
