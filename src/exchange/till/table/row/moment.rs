//! When a row was rung: from a day and a time, from one of them, or from what is known of the whole table.

use super::super::date;
use super::super::fault::Fault;
use super::super::when::When;
use super::RowReader;
use crate::domain::till::DateOrder;
use crate::domain::venue::Moment;
use chrono::NaiveDate;
use csv::StringRecord;

impl RowReader<'_> {
    /// When the row was rung; `None` when no cell and nobody says.
    pub(super) fn when(&mut self, cells: &StringRecord, line: u64) -> Result<Option<When>, Fault> {
        let order = self.layout.dates;
        let day_in = |reader: &Self, n: usize| -> Result<Option<NaiveDate>, Fault> {
            let cell = cells.get(n).map_or("", str::trim);
            if cell.is_empty() {
                return Ok(None);
            }
            // Some tills write midnight behind every day.
            let parts = date::date(cell).or_else(|| date::date_time(cell).map(|(parts, _, _)| parts));
            let day = parts.and_then(|parts| parts.day(order));
            let expected = || {
                // In the other order it is a day.
                let other = parts.is_some() || !date::is_written_as_date(cell);
                let what =
                    if other { word!("expected a day") } else { word!("the calendar has no such day; expected one") };
                say!("{what} as {cell}", what, cell = shape(order, cell))
            };
            day.map(Some).ok_or_else(|| reader.fault(n, line, cell, &expected()))
        };
        let business = self.places.day.map(|n| day_in(self, n)).transpose()?.flatten();
        if let Some(n) = self.places.date_time {
            let cell = cells.get(n).map_or("", str::trim);
            if cell.is_empty() {
                return Ok(None);
            }
            let read = date::date_time(cell).and_then(|(parts, time, ahead)| Some((parts.day(order)?, time, ahead)));
            let Some((date, time, ahead)) = read else {
                let expected = say!("expected a day and a time as {cell} 21:40", cell = shape(order, cell));
                return Err(self.fault(n, line, cell, &expected));
            };
            return Ok(Some(self.clock.exactly(date, time, ahead, business)));
        }
        let date = self.places.date.map(|n| day_in(self, n)).transpose()?.flatten();
        let time = match self.places.time.map(|n| (n, cells.get(n).map_or("", str::trim))) {
            None | Some((_, "")) => None,
            Some((n, cell)) => Some(
                date::time(cell, true)
                    .ok_or_else(|| self.fault(n, line, cell, word!("expected a time such as 21:40 or 9:40 pm")))?,
            ),
        };
        let says_when = self.says_when();
        Ok(match (date, business.or(self.day.filter(|_| !says_when)), time) {
            (Some(date), business, Some(time)) => Some(self.clock.exactly(date, time, None, business)),
            (Some(date), business, None) => Some(self.clock.some_time(business.unwrap_or(date), date)),
            (None, Some(day), Some(time)) => Some(self.clock.in_day(day, time)),
            (None, Some(day), None) => Some(self.clock.some_time(day, day)),
            (None, None, _) => None,
        })
    }

    /// Nothing can have been sold that has not come yet.
    pub(super) fn time_that_is_past(&self, when: When, line: u64, cells: &StringRecord) -> Result<Moment, Fault> {
        let until = self.terms.until;
        match when.at {
            Some(at) if at <= until => Ok(at),
            // Of a day that has begun, and nobody knows when: at the latest now.
            None if self.terms.days.begins(when.day) <= until => Ok(when.evening.min(until)),
            _ => {
                let n = self.places.date_time.or(self.places.date).or(self.places.day).or(self.places.time);
                let read = n.and_then(|n| cells.get(n)).unwrap_or_default();
                let expected = word!("expected a time that is past; this one has not come yet");
                Err(n.map_or_else(|| Fault::of_row(line, expected), |n| self.fault(n, line, read, expected)))
            }
        }
    }
}

/// How a day is written; where a cell begins with the year, so.
fn shape(order: DateOrder, cell: &str) -> &'static str {
    let year = cell.get(..4).is_some_and(|start| start.bytes().all(|b| b.is_ascii_digit()));
    match order {
        _ if year => "2026-11-20",
        DateOrder::YearFirst => "2026-11-20",
        DateOrder::DayFirst => "20.11.2026",
        DateOrder::MonthFirst => "11/20/2026",
    }
}
