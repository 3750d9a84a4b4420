//! What all readers do with a line: check its time, hand it on, count what was left out, tell how far they are.

use super::{Passed, Rung, Taker, Terms};
use crate::domain::measure::decimal::round_half_even;
use crate::domain::measure::{Currency, Money};
use crate::domain::till::Skip;
use crate::domain::venue::{DayRule, Moment};
use crate::exchange::ReadError;
use crate::exchange::plain::{Hours, tamed};
use crate::exchange::stream::{Passage, quoted};
use crate::exchange::xml::Xml;
use chrono::{DateTime, NaiveDate, NaiveDateTime};
use std::collections::HashMap;
use std::path::{Path, PathBuf};

/// No till that writes these files is older: 1990-01-01. An earlier date is a till whose clock was never set.
const EARLIEST: Moment = Moment(631_152_000_000);
/// Bytes between two words about the pace.
const STEP: u64 = 256 << 10;
/// Decimals that sums of money are kept with until they are rounded, once.
pub(super) const PLACES: u32 = 12;

/// Lines go through here.
pub(super) struct Hand<'t, T: Taker> {
    path: PathBuf,
    pub(super) terms: Terms,
    taker: &'t mut T,
    pub(super) passed: Passed,
    pub(super) passage: Passage,
    total: u64,
    told: u64,
    notes: Vec<Note>,
    hours: Hours,
    /// Texts of the file and what became of them: a till has some hundred names and writes each a thousand times.
    tame: HashMap<String, String>,
}

/// Texts that are remembered.
const REMEMBERED: usize = 10_000;

/// Something noticed more than once.
struct Note {
    what: String,
    times: u64,
    first: String,
}

impl<'t, T: Taker> Hand<'t, T> {
    /// `total`: bytes that will be read.
    pub(super) fn new(path: &Path, terms: &Terms, total: u64, taker: &'t mut T) -> Hand<'t, T> {
        Hand {
            path: path.to_owned(),
            terms: *terms,
            taker,
            passed: Passed::default(),
            passage: Passage::default(),
            total,
            told: 0,
            notes: Vec::new(),
            hours: Hours::default(),
            tame: HashMap::new(),
        }
    }

    /// Refuses the file.
    pub(super) fn refuse(&self, what: impl Into<String>) -> ReadError {
        ReadError::new(&self.path, what)
    }

    /// Refuses the file at a place.
    pub(super) fn refuse_at(&self, place: &str, what: impl Into<String>) -> ReadError {
        ReadError::at(&self.path, tamed(place), what)
    }

    /// A time as [`time`] reads it, quick where it has the usual form.
    pub(super) fn time(&mut self, text: &str) -> Option<Moment> {
        let days = self.terms.days;
        let mut plain = [0; 19];
        if let [date @ .., b'T', _, _, _, _, _, _, _, _] = text.as_bytes()
            && date.len() == 10
        {
            plain.copy_from_slice(text.as_bytes());
            plain[10] = b' ';
            if let Some(at) = self.hours.time(days.zone, &plain) {
                return Some(at);
            }
        }
        time(days, text)
    }

    /// A text of the file, made safe.
    pub(super) fn tame(&mut self, text: &str) -> String {
        if let Some(tame) = self.tame.get(text) {
            return tame.clone();
        }
        let tame = tamed(text);
        if self.tame.len() >= REMEMBERED {
            self.tame.clear();
        }
        if text.len() <= 500 {
            self.tame.insert(text.to_owned(), tame.clone());
        }
        tame
    }

    /// What the till calls what it rang: the first of these that says anything.
    pub(super) fn name_of(&mut self, candidates: &[&str]) -> String {
        let tame = candidates.iter().map(|text| self.tame(text)).find(|text| !text.is_empty());
        tame.unwrap_or_else(|| word!("(without a name)").to_owned())
    }

    /// The text, made safe, if it says anything.
    pub(super) fn some(&mut self, text: &str) -> Option<String> {
        Some(self.tame(text)).filter(|text| !text.is_empty())
    }

    /// Checks when something was rung.
    pub(super) fn check_time(&self, at: Moment, place: &dyn Fn() -> String) -> Result<(), ReadError> {
        let days = self.terms.days;
        if at > self.terms.until {
            let words = say!(
                "it was rung on {at}, which is still to come (now it is {until}); the clock of the till or of this computer is \
                 wrong",
                at = days.plain(at),
                until = days.plain(self.terms.until)
            );
            return Err(self.refuse_at(&place(), words));
        }
        if at < EARLIEST {
            let words = say!("it was rung on {at}; the clock of the till was not set", at = days.plain(at));
            return Err(self.refuse_at(&place(), words));
        }
        Ok(())
    }

    /// Hands a line on. `day` is its business day where the file says it.
    pub(super) fn give(&mut self, rung: Rung, day: Option<NaiveDate>) -> Result<(), T::Error> {
        self.passed.saw(day.unwrap_or_else(|| self.terms.days.day_of(rung.at)));
        self.taker.take(rung)
    }

    /// Counts lines that are no sales.
    pub(super) fn skip(&mut self, why: Skip) {
        self.passed.skip(why);
    }

    /// Notes something that may be met again: a sentence without its end, and where it was met first.
    pub(super) fn note(&mut self, what: &str, place: &dyn Fn() -> String) {
        if let Some(note) = self.notes.iter_mut().find(|note| note.what == what) {
            note.times += 1;
        } else if self.notes.len() < Passed::MOST {
            // More than a person can be told is counted among what was skipped all the same.
            self.notes.push(Note { what: what.to_owned(), times: 1, first: tamed(&place()) });
        }
    }

    /// Tells how far the reading is, now and then.
    pub(super) fn pace(&mut self) -> Result<(), T::Error> {
        let read = self.passage.bytes();
        if read < self.told.saturating_add(STEP) {
            return Ok(());
        }
        self.told = read;
        self.taker.pace(read.min(self.total), self.total)
    }

    /// Leaves an element that is not wanted, telling the pace between its children so many levels down: it may be most of
    /// the file.
    pub(super) fn pass_over(&mut self, xml: &mut Xml, levels: u32) -> Result<(), T::Error> {
        if levels == 0 {
            xml.skip()?;
            return self.pace();
        }
        while xml.child()? {
            self.pass_over(xml, levels - 1)?;
        }
        Ok(())
    }

    /// All was read.
    pub(super) fn done(mut self) -> Result<Passed, T::Error> {
        for note in std::mem::take(&mut self.notes) {
            let Note { what, times, first } = note;
            self.passed.warn(if times == 1 {
                format!("{what}: {first}")
            } else {
                say!("{what}: {times}, the first {first}", what, times, first)
            });
        }
        self.taker.pace(self.total, self.total)?;
        Ok(self.passed)
    }
}

/// A time as tills write it: `2026-03-06T18:04:40`, with a blank for the T, without seconds, with a fraction, with an
/// offset or `Z`. Without an offset it is the wall clock's in the bar's zone. Of an hour that the clock shows twice the
/// first is meant, because nothing says which; a time that the clock jumps over is the moment at which it jumped. Both
/// keep the business day, and the same text is always the same moment.
pub(super) fn time(days: DayRule, text: &str) -> Option<Moment> {
    let text = text.trim();
    if let Some(local) = local_time(text) {
        return Some(days.at(local.date(), local.time()));
    }
    let with_t = text.replacen(' ', "T", 1);
    DateTime::parse_from_rfc3339(&with_t).ok().map(|at| Moment(at.timestamp_millis()))
}

fn local_time(text: &str) -> Option<NaiveDateTime> {
    // A longer text is no time, and would only cost time.
    if text.len() > 40 || !text.is_ascii() {
        return None;
    }
    ["%Y-%m-%dT%H:%M:%S%.f", "%Y-%m-%d %H:%M:%S%.f", "%Y-%m-%dT%H:%M", "%Y-%m-%d %H:%M"]
        .iter()
        .find_map(|form| NaiveDateTime::parse_from_str(text, form).ok())
}

/// The date that a text begins with.
pub(super) fn date(text: &str) -> Option<NaiveDate> {
    text.trim().get(..10).and_then(|start| crate::domain::venue::parse_day(start).ok())
}

/// A sum of money of [`PLACES`] decimals in coins, rounded once, half to even.
pub(super) fn coins(sum: i128, currency: Currency) -> Option<Money> {
    let step = 10_i128.pow(PLACES.saturating_sub(currency.decimals()));
    i64::try_from(round_half_even(sum, step)).ok().map(Money)
}

/// Refuses a currency that is not the book's.
pub(super) fn same_coin(terms: &Terms, found: &str) -> Result<(), String> {
    let ours = terms.currency.code();
    if found.trim().eq_ignore_ascii_case(ours) {
        return Ok(());
    }
    Err(say!(
        "its amounts are in {found}, but this book is kept in {ours}; a book takes sales in its own currency only",
        found = quoted(found),
        ours
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::NaiveTime;

    struct Nobody;

    impl Taker for Nobody {
        type Error = ReadError;

        fn take(&mut self, _: Rung) -> Result<(), ReadError> {
            Ok(())
        }

        fn pace(&mut self, _: u64, _: u64) -> Result<(), ReadError> {
            Ok(())
        }
    }

    fn berlin() -> DayRule {
        DayRule { zone: "Europe/Berlin".parse().unwrap(), starts: NaiveTime::from_hms_opt(5, 0, 0).unwrap() }
    }

    /// The offsets of Europe/Berlin in 2026 are those of the IANA time zone database.
    #[test]
    fn times_are_read_as_tills_write_them() {
        let utc = |text: &str| Moment(DateTime::parse_from_rfc3339(text).unwrap().timestamp_millis());
        let terms = Terms { currency: "EUR".parse().unwrap(), days: berlin(), until: Moment(0) };
        let mut nobody = Nobody;
        let mut hand = Hand::new(Path::new("x"), &terms, 0, &mut nobody);
        let mut quick = |text: &str| hand.time(text);
        for (text, want) in [
            ("2026-03-06T18:04:40", "2026-03-06T17:04:40Z"),
            ("2026-03-06 18:04:40.250", "2026-03-06T17:04:40.250Z"),
            ("2026-03-06T18:04", "2026-03-06T17:04:00Z"),
            ("2026-03-06T18:04:40Z", "2026-03-06T18:04:40Z"),
            ("2026-03-06T18:04:40.5+02:00", "2026-03-06T16:04:40.5Z"),
            // Twice: the first. Never: the moment of the jump.
            ("2026-10-25T02:30:00", "2026-10-25T00:30:00Z"),
            ("2026-03-29T02:30:00", "2026-03-29T01:00:00Z"),
        ] {
            assert_eq!(time(berlin(), text), Some(utc(want)), "{text}");
            assert_eq!(quick(text), Some(utc(want)), "{text}");
        }
        for text in ["", "06.03.2026 18:04", "2026-13-01T00:00:00", "2026-03-06", "gestern"] {
            assert_eq!(time(berlin(), text), None, "{text}");
            assert_eq!(quick(text), None, "{text}");
        }
    }

    #[test]
    fn sums_are_rounded_once() {
        let euro: Currency = "EUR".parse().unwrap();
        let yen: Currency = "JPY".parse().unwrap();
        assert_eq!(coins(1_005_000_000_000, euro), Some(Money(100)));
        assert_eq!(coins(1_015_000_000_000, euro), Some(Money(102)));
        assert_eq!(coins(-1_015_000_000_000, euro), Some(Money(-102)));
        assert_eq!(coins(2_500_000_000_000, yen), Some(Money(2)));
    }
}
