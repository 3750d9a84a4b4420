//! A count that is typed in from a sheet which was filled in by hand.

use super::paper::{CountSheet, parse_mark};
use crate::domain::gauge::{Entry, EntryError};
use crate::domain::ledger::Count;
use crate::domain::venue::{CountBy, ItemId, Moment, Person, PlaceId, parse_day};
use chrono::NaiveDate;
use std::collections::HashMap;

/// What was said of the mark in the head of a sheet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SheetMark {
    /// Nothing: the sheet is taken to be of today's shelves.
    Unsaid,
    /// This, which must be that of today's shelves.
    Said(String),
    /// It is of other shelves, so that its lines go by their names.
    ByNames,
}

/// A sheet that was filled in, before it is typed in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FilledSheet {
    /// The places that it is of.
    pub places: Vec<PlaceId>,
    /// When it was filled in: its lines are of then.
    pub at: Moment,
    /// Who filled it in.
    pub by: Option<String>,
    /// Its mark.
    pub mark: SheetMark,
    /// It may be older than the last count of its places.
    pub older: bool,
}

/// What makes a count one that is typed in from a sheet.
///
/// The name of the count says it (`2026-11-22 sheet K7QF by OM: full`), so that it is still known when the count is gone on
/// with another day. When the sheet was filled in is when the count was begun.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Filled {
    /// The mark of the sheet; `None` where it is of other shelves and goes by names.
    pub mark: Option<String>,
    /// Who filled it in.
    pub by: Option<String>,
    /// The numbers of its lines; none where the shelves are not, or not any more, those of the sheet.
    pub numbers: HashMap<(PlaceId, ItemId), usize>,
    /// What was typed in so far, in that order.
    pub typed: Vec<(PlaceId, ItemId)>,
}

impl Filled {
    /// The name of such a count. `what` are its places in words.
    pub fn name(day: NaiveDate, mark: Option<&str>, by: Option<&str>, what: &str) -> String {
        let mark = mark.map_or(String::new(), |mark| format!(" {mark}"));
        let by = by.map_or(String::new(), |by| format!(" by {by}"));
        format!("{day} sheet{mark}{by}: {what}")
    }

    /// What the name of a count says of the sheet that it is typed in from; `None` for a count that is not.
    pub fn of(count: &Count, people: &[Person]) -> Option<Filled> {
        let (day, rest) = count.name.split_once(" sheet")?;
        parse_day(day).ok()?;
        let (said, _) = rest.split_once(": ")?;
        let (mark, by) = match said.split_once(" by ") {
            Some((mark, by)) => (mark, Some(by)),
            None => (said, None),
        };
        let mark = match mark {
            "" => None,
            mark => Some(parse_mark(mark.strip_prefix(' ')?)?),
        };
        let by = by.filter(|by| people.iter().any(|person| person.initials == *by)).map(str::to_owned);
        Some(Filled { mark, by, ..Filled::default() })
    }

    /// With the numbers of the lines, where the sheet is still that of the shelves.
    #[must_use]
    pub fn numbered(self, sheet: &CountSheet) -> Filled {
        if self.mark.as_ref() != Some(&sheet.mark()) {
            return self;
        }
        let of_place = |place: PlaceId| move |(item, number): (ItemId, usize)| ((place, item), number);
        let numbers =
            sheet.places.iter().flat_map(|p| p.lines.iter().map(|l| (l.item, l.number)).map(of_place(p.place)));
        Filled { numbers: numbers.collect(), ..self }
    }
}

/// What came of a sheet that was typed in as a whole.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TypedIn {
    /// The count that it is now.
    pub count: Count,
    /// Who filled it in.
    pub by: Option<String>,
    /// The mark of the shelves that its numbers are of; `None` where it went by names.
    pub mark: Option<String>,
    /// Lines of the sheet, without those that were written below.
    pub lines: usize,
    /// Entries that were kept.
    pub kept: usize,
    /// Lines without an entry, in the order of the sheet, with their numbers.
    pub missing: Vec<(Option<usize>, PlaceId, ItemId)>,
}

/// Reads what stands on a line of paper: as it is typed in any count, with `f` for an opened one that is marked as full. It
/// counts as one more sealed.
///
/// # Errors
/// [`EntryError`].
pub fn entry_on_paper(written: &str, count_by: CountBy) -> Result<Entry, EntryError> {
    let full = |c: char| matches!(c, 'f' | 'F');
    let rest: String = written
        .chars()
        .map(|c| {
            if full(c) {
                ' '
            } else if c == ',' {
                '.'
            } else {
                c
            }
        })
        .collect();
    let marked = written.chars().filter(|c| full(*c)).count();
    let rest = if marked > 0 && rest.trim().is_empty() { "0" } else { &rest };
    let mut entry = Entry::parse_for(rest, count_by)?;
    entry.full += i64::try_from(marked).unwrap_or(0);
    Ok(entry)
}

/// Numbers in order, as people write them: `4, 17-19, 55`; when it gets long, the first of them and how many more there
/// are.
pub fn ranges(numbers: &[usize]) -> String {
    /// So many are read at a glance.
    const MOST: usize = 12;
    let mut runs: Vec<(usize, usize)> = Vec::new();
    for &number in numbers {
        match runs.last_mut() {
            Some((_, last)) if *last + 1 == number => *last = number,
            _ => runs.push((number, number)),
        }
    }
    let run = |(from, to): &(usize, usize)| if from == to { from.to_string() } else { format!("{from}-{to}") };
    let told: Vec<String> = runs.iter().take(MOST).map(run).collect();
    let rest: usize = runs.iter().skip(MOST).map(|(from, to)| to - from + 1).sum();
    let more = if rest > 0 { say!(" and {rest} more", rest) } else { String::new() };
    format!("{}{more}", told.join(", "))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::venue::{CountId, Role};

    fn count(name: &str) -> Count {
        Count { id: CountId(1), name: name.to_owned(), opened: Moment(0), closed: None, blind: true }
    }

    #[test]
    fn a_name_says_what_it_was_made_of() {
        let people = ["OM", "Ana by night"].map(|i| Person { initials: i.to_owned(), name: None, role: Role::Counter });
        let day = parse_day("2026-11-22").unwrap();
        for mark in [None, Some("K7QF")] {
            for by in [None, Some("OM"), Some("Ana by night")] {
                for what in ["full", "Bar: back", "Rail, Cellar 2"] {
                    let name = Filled::name(day, mark, by, what);
                    let read = Filled::of(&count(&name), &people).expect(&name);
                    assert_eq!((read.mark.as_deref(), read.by.as_deref()), (mark, by), "{name}");
                }
            }
        }
        assert_eq!(Filled::name(day, Some("K7QF"), Some("OM"), "full"), "2026-11-22 sheet K7QF by OM: full");
        for other in
            ["2026-11-22 full", "2026-11-22 sheet", "2026-11-22 sheets: x", "My sheet: x", "2026-11-22 sheet metal"]
        {
            assert_eq!(Filled::of(&count(other), &people), None, "{other}");
        }
        // Somebody whom the book does not know can sign nothing.
        assert_eq!(Filled::of(&count("2026-11-22 sheet by XX: full"), &people), Some(Filled::default()));
    }

    #[test]
    fn what_stands_on_paper() {
        for (written, by, want) in [
            ("2 .4", CountBy::Tenths, "2.4"),
            ("2,4", CountBy::Tenths, "2.4"),
            ("f", CountBy::Tenths, "1"),
            ("2F", CountBy::Tenths, "3"),
            ("2f.4", CountBy::Tenths, "3.4"),
            (".4 f", CountBy::Tenths, "1.4"),
            ("ff", CountBy::Tenths, "2"),
            ("1 812", CountBy::Weight, "1 812g"),
        ] {
            assert_eq!(entry_on_paper(written, by).map(|e| e.to_string()).as_deref(), Ok(want), "{written}");
        }
        assert_eq!(entry_on_paper(" ", CountBy::Tenths), Err(EntryError::Empty));
        assert!(entry_on_paper("fx", CountBy::Tenths).is_err());
    }

    #[test]
    fn numbers_as_people_write_them() {
        for (numbers, want) in [
            (vec![], ""),
            (vec![4], "4"),
            (vec![4, 17, 18, 19, 55], "4, 17-19, 55"),
            ((1..=40).map(|n| n * 2).collect(), "2, 4, 6, 8, 10, 12, 14, 16, 18, 20, 22, 24 and 28 more"),
            ((1..=118).collect(), "1-118"),
        ] {
            assert_eq!(ranges(&numbers), want);
        }
    }
}
