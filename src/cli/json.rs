//! The JSON of the reading commands; `docs/json.md` describes every form.

use super::Refusal;
use crate::domain::measure::{Basis, Currency, Money};
use crate::domain::venue::{DayRule, Moment};
use crate::tui::text::safe;
use chrono::SecondsFormat;
use serde::Serialize;
use std::fmt::Write;

/// The version of all forms: it rises when a field goes away or changes its meaning, not when one is added.
pub(super) const FORM: u32 = 1;

/// An amount of money.
#[derive(Debug, Serialize)]
pub(super) struct MoneyForm {
    minor: i64,
    currency: &'static str,
    text: String,
}

/// Money as JSON has it.
pub(super) fn money(amount: Money, currency: Currency) -> MoneyForm {
    MoneyForm { minor: amount.0, currency: currency.code(), text: currency.plain(amount) }
}

/// A time as JSON has it: RFC 3339 with the offset of the bar.
pub(super) fn time(days: &DayRule, at: Moment) -> String {
    let local = at.to_utc().map(|utc| utc.with_timezone(&days.zone));
    local.map(|at| at.to_rfc3339_opts(SecondsFormat::AutoSi, false)).unwrap_or_default()
}

/// The base unit in which the amounts of an item are whole numbers.
pub(super) fn unit(basis: Basis) -> &'static str {
    match basis {
        Basis::Volume => "ul",
        Basis::Mass => "mg",
        Basis::Each => "milli",
    }
}

/// A standard uncertainty to the whole base unit: no reading is finer.
pub(super) fn whole(u: f64) -> i64 {
    u.round() as i64
}

/// Writes a form. What could act on a terminal is written as `\u` escapes: a program reads the very text of the book,
/// and a person who looks at it is safe.
pub(super) fn text(form: &impl Serialize) -> Result<String, Refusal> {
    let plain = serde_json::to_string_pretty(form)
        .map_err(|error| Refusal::new(format!("the answer could not be written as JSON: {error}")))?;
    let mut out = String::with_capacity(plain.len() + 1);
    for c in plain.chars() {
        // Outside of strings JSON is ASCII, and inside them its own escapes cover the ASCII below the blank.
        if matches!(c, '\n' | ' '..='~') || harmless(c) {
            out.push(c);
        } else {
            for half in c.encode_utf16(&mut [0; 2]) {
                // Writing to a String cannot fail.
                let _ = write!(out, "\\u{half:04x}");
            }
        }
    }
    out.push('\n');
    Ok(out)
}

/// Whether a terminal shows the character and does nothing else.
fn harmless(c: char) -> bool {
    let mut bytes = [0; 4];
    let text = c.encode_utf8(&mut bytes);
    safe(text) == *text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_acts_on_a_terminal_is_escaped_and_reads_back() {
        let name = "Gin\x1b[2J\u{7f}\u{9b}31m\u{202e}\u{e0041}\u{2028}\"\\ Crème 梅";
        let written = text(&vec![name]).unwrap();
        assert!(written.chars().all(|c| c == '\n' || safe(&c.to_string()) == c.to_string()), "{written:?}");
        assert!(written.contains("Crème 梅"));
        let read: Vec<String> = serde_json::from_str(&written).unwrap();
        assert_eq!(read, [name]);
    }
}
