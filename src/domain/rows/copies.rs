//! What is known of the copies of a book, in rows and in words.

use crate::domain::copies::{Holds, Why};
use crate::domain::measure::number_of;
use crate::domain::venue::{DayRule, Moment};
use std::path::{Path, PathBuf};

/// How it stands with the copies of a book.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CopiesState {
    /// The days of the bar.
    pub days: DayRule,
    /// The folder beside the book.
    pub folder: PathBuf,
    /// When the newest copy there was made.
    pub last: Option<Moment>,
    /// Why there is no newer one, if one was wanted.
    pub failed: Option<String>,
    /// The second folder, if the bar has one.
    pub second: Option<SecondFolder>,
}

/// How it stands with the copies in a second folder.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SecondFolder {
    /// The folder, as the bar names it.
    pub folder: PathBuf,
    /// When the newest copy in it was made; nothing while it cannot be looked into.
    pub last: Option<Moment>,
    /// Why the newest copy is not in it.
    pub fault: Option<SecondFault>,
}

/// Why a copy is not in the second folder.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SecondFault {
    /// There is no such folder now: a stick that is not plugged in.
    NotThere,
    /// It is there and takes no copy; why not, as the end of a sentence.
    Refused(String),
}

impl CopiesState {
    /// What is wrong with the copies, if anything is, in a sentence.
    pub fn trouble(&self) -> Option<String> {
        let second = self.second.as_ref();
        let in_second = second.filter(|second| second.fault.is_none()).map(|second| second.folder.display());
        if let Some(why) = &self.failed {
            let since = match self.last {
                Some(at) => say!("no copy since {at}", at = self.days.short(at)),
                None => word!("there is no copy of the book yet").to_owned(),
            };
            let only = in_second.map_or(String::new(), |folder| say!("; the newest stands only in {folder}", folder));
            return Some(format!("{since}: {why}{only}"));
        }
        let second = second?;
        let why = match second.fault.as_ref()? {
            SecondFault::NotThere => word!("is not there").to_owned(),
            SecondFault::Refused(why) => say!("takes no copy ({why})", why),
        };
        let newest = self
            .last
            .map_or_else(|| word!("the copies").to_owned(), |at| say!("the copy of {at}", at = self.days.short(at)));
        let stands = if self.last.is_some() { word!("stands") } else { word!("stand") };
        Some(say!(
            "{display} {why}: {newest} {stands} only beside the book",
            display = second.folder.display(),
            why,
            newest,
            stands
        ))
    }

    /// Where the newest copy stands, as the end of a sentence; nothing where there is none.
    pub fn whereabouts(&self) -> Option<String> {
        self.last?;
        let second = self.second.as_ref().filter(|second| second.fault.is_none());
        Some(match second {
            Some(second) => say!("beside the book and in {display}", display = second.folder.display()),
            None => word!("beside the book").to_owned(),
        })
    }

    /// Whether trying again soon may help: a stick is plugged in from one moment to the next.
    pub fn waits_for_a_stick(&self) -> bool {
        self.failed.is_none() && self.second.as_ref().is_some_and(|second| second.fault == Some(SecondFault::NotThere))
    }
}

/// A copy of the book, wherever it lies.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CopyRow {
    /// When it was made, as far as that is known.
    pub at: Option<Moment>,
    /// Why.
    pub made: CopyMade,
    /// Where it lies: beside the book, in the second folder, or in both under the same name.
    pub paths: Vec<PathBuf>,
    /// Bytes of it.
    pub size: u64,
    /// What it holds, or why it does not open, as the end of a sentence.
    pub holds: Result<Holds, String>,
}

/// Why a copy was made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CopyMade {
    /// As its name says.
    For(Why),
    /// Before the book was brought to this version.
    BeforeVersion(i64),
}

impl CopyMade {
    /// In words: `after closing`, `before version 9`.
    pub fn words(self) -> String {
        match self {
            CopyMade::For(why) => why.words().to_owned(),
            CopyMade::BeforeVersion(version) => say!("before version {version}", version),
        }
    }
}

impl CopyRow {
    /// Where it lies, in a word, for a book in whose folder `beside` its copies lie.
    pub fn place(&self, beside: &Path) -> &'static str {
        let here = |path: &PathBuf| path.starts_with(beside) || path.parent() == beside.parent();
        match (self.paths.iter().any(here), self.paths.iter().any(|path| !here(path))) {
            (true, true) => word!("both"),
            (true, false) => word!("here"),
            _ => word!("second"),
        }
    }
}

/// Bytes in words, in thousands as disks are sold by: `1.9 MB`.
pub fn size_words(bytes: u64) -> String {
    let tenths = |unit: u64| (bytes.saturating_mul(10) + unit / 2) / unit;
    let (unit, word) = match bytes {
        0..1_000 => return number_of(bytes, word!("byte"), word!("bytes")),
        1_000..1_000_000 => (1_000, word!("kB")),
        1_000_000..1_000_000_000 => (1_000_000, word!("MB")),
        _ => (1_000_000_000, word!("GB")),
    };
    let tenths = tenths(unit);
    format!("{}.{} {word}", tenths / 10, tenths % 10)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn state() -> CopiesState {
        let days = DayRule {
            zone: "Europe/Berlin".parse().unwrap(),
            starts: chrono::NaiveTime::from_hms_opt(5, 0, 0).unwrap(),
        };
        let last = days.parse("2026-11-17 03:12").ok();
        CopiesState { days, folder: "/bar/book.copies".into(), last, failed: None, second: None }
    }

    fn second(fault: Option<SecondFault>) -> Option<SecondFolder> {
        Some(SecondFolder { folder: "/media/stick".into(), last: None, fault })
    }

    #[test]
    fn trouble_is_said_in_a_sentence_and_nothing_else_is() {
        assert_eq!(state().trouble(), None);
        assert_eq!(CopiesState { second: second(None), ..state() }.trouble(), None);
        let full = CopiesState { failed: Some("the disk is full".to_owned()), ..state() };
        assert_eq!(full.trouble().unwrap(), "no copy since Tue 17 Nov 03:12: the disk is full");
        let never = CopiesState { last: None, ..full.clone() };
        assert_eq!(never.trouble().unwrap(), "there is no copy of the book yet: the disk is full");
        let only_there = CopiesState { second: second(None), ..full };
        let want = "no copy since Tue 17 Nov 03:12: the disk is full; the newest stands only in /media/stick";
        assert_eq!(only_there.trouble().unwrap(), want);
        let gone = CopiesState { second: second(Some(SecondFault::NotThere)), ..state() };
        let want = "/media/stick is not there: the copy of Tue 17 Nov 03:12 stands only beside the book";
        assert_eq!(gone.trouble().unwrap(), want);
        assert!(gone.waits_for_a_stick());
        let refused = SecondFault::Refused("nothing can be written there".to_owned());
        let refused = CopiesState { second: second(Some(refused)), ..state() };
        let want = "/media/stick takes no copy (nothing can be written there): the copy of Tue 17 Nov 03:12 stands only \
                    beside the book";
        assert_eq!(refused.trouble().unwrap(), want);
        assert!(!refused.waits_for_a_stick());
    }

    #[test]
    fn sizes_in_words() {
        for (bytes, want) in [
            (0, "0 bytes"),
            (1, "1 byte"),
            (999, "999 bytes"),
            (1_000, "1.0 kB"),
            (1_949_999, "1.9 MB"),
            (1_950_000, "2.0 MB"),
            (12_345_678_901, "12.3 GB"),
        ] {
            assert_eq!(size_words(bytes), want);
        }
    }
}
