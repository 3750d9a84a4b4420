//! The keys that an entry of a count takes.

#![allow(dead_code)]

use tantalus::domain::gauge::{Entry, Reading, Sight, Step};
use tantalus::domain::rows::{Digit, EntryMode};
use tantalus::domain::venue::CountBy;

/// The keys for an entry in a mode.
pub(crate) fn keys_for(entry: &Entry, mode: EntryMode, digit: Digit, count_by: CountBy) -> String {
    let typed = format!("{entry}\n");
    if mode == EntryMode::Typed {
        return typed;
    }
    match (&entry.full, &entry.open[..]) {
        (full @ 0..=9, []) if count_by == CountBy::Whole || digit == Digit::Sealed => full.to_string(),
        (full @ 0..=3, [Reading::Sight(Sight { thousandths: thousandths @ 100.., step: Step::Tenth })]) => {
            format!("{}{}", "+".repeat(*full as usize), thousandths / 100)
        }
        (0, []) => "0".to_owned(),
        (full @ 1..=3, []) => format!("{}f", "+".repeat(*full as usize - 1)),
        (0, _) => typed,
        _ => format!("e{typed}"),
    }
}

/// The mode that takes the fewest keys for some entries, the key that changes to it among them.
pub(crate) fn shortest(entries: &[(Entry, CountBy)], here: EntryMode, digit: Digit) -> EntryMode {
    let cost = |mode| entries.iter().map(|(e, by)| keys_for(e, mode, digit, *by).len()).sum::<usize>();
    let other = if here == EntryMode::Typed { EntryMode::OneKey } else { EntryMode::Typed };
    if cost(other) + 1 < cost(here) { other } else { here }
}
