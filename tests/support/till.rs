//! Till exports: samples, a taker that keeps everything, and tables to break.

#![allow(dead_code)]

use std::path::{Path, PathBuf};
use tantalus::domain::venue::{DayRule, Moment};
use tantalus::exchange::ReadError;
use tantalus::exchange::sniff::sniff;
use tantalus::exchange::till::{self, Passed, Rung, Taker, Terms};

/// A sample by its name.
pub(crate) fn sample(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/samples/till").join(name)
}

/// The terms of a book that is looked at in November 2026.
pub(crate) fn terms(coin: &str, zone: &str) -> Terms {
    let starts = chrono::NaiveTime::from_hms_opt(5, 0, 0).unwrap();
    let days = DayRule { zone: zone.parse().unwrap(), starts };
    Terms { currency: coin.parse().unwrap(), days, until: Moment(1_795_824_000_000) }
}

/// Keeps everything.
#[derive(Debug, Default)]
pub(crate) struct Taken {
    pub(crate) lines: Vec<Rung>,
    pub(crate) pace: Vec<(u64, u64)>,
    pub(crate) passed: Passed,
}

impl Taker for Taken {
    type Error = ReadError;

    fn take(&mut self, line: Rung) -> Result<(), ReadError> {
        self.lines.push(line);
        Ok(())
    }

    fn pace(&mut self, read: u64, of: u64) -> Result<(), ReadError> {
        self.pace.push((read, of));
        Ok(())
    }
}

/// Looks at a file and reads it.
pub(crate) fn read(path: &Path, terms: &Terms) -> Result<Taken, ReadError> {
    let what = sniff(path)?;
    let mut taken = Taken::default();
    taken.passed = till::read(path, &what, terms, &mut taken)?;
    Ok(taken)
}
