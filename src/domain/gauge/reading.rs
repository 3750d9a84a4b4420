//! What was observed of an opened container, kept as it was observed.

use crate::domain::measure::{Decimal, decimal};
use crate::domain::venue::{CountBy, CountMethod};
use std::fmt;

/// One observation of one opened container.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Reading {
    /// By eye: tenths of the container, 0 to 9.
    Tenths(u8),
    /// On the scale: gross mass in milligrams.
    Mass(i64),
    /// With a ruler: height of the liquid in micrometres.
    Height(i64),
}

/// Why a reading was refused.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ReadingError {
    /// Not a form that anyone reads a container in.
    #[error("“{read}”: expected tenths such as .4, a weight such as 812g, or a height such as 143mm")]
    Form {
        /// What was read.
        read: String,
    },
}

impl Reading {
    /// Reads `.4`, `0.4`, `812g`, `812.5 g` without its blank, or `143mm`.
    ///
    /// # Errors
    /// [`ReadingError::Form`].
    pub fn parse(text: &str) -> Result<Reading, ReadingError> {
        let bad = || ReadingError::Form { read: text.to_owned() };
        let number =
            |digits: &str| Decimal::parse(digits).ok().and_then(|d| d.exact(3)).filter(|v| *v >= 0).ok_or_else(bad);
        let lower = text.to_ascii_lowercase();
        if let Some(height) = lower.strip_suffix("mm") {
            return number(height).map(Reading::Height);
        }
        if let Some(mass) = lower.strip_suffix('g') {
            return number(mass).map(Reading::Mass);
        }
        let digit = lower.strip_prefix("0.").or_else(|| lower.strip_prefix('.')).ok_or_else(bad)?;
        match digit.as_bytes() {
            [d] if d.is_ascii_digit() => Ok(Reading::Tenths(d - b'0')),
            _ => Err(bad()),
        }
    }

    /// Reads blank-separated readings, one for each opened container; an empty text is none.
    ///
    /// # Errors
    /// [`ReadingError::Form`] of the first that is wrong.
    pub fn parse_all(text: &str) -> Result<Vec<Reading>, ReadingError> {
        text.split_whitespace().map(Reading::parse).collect()
    }

    /// The plain-file form of several: `.4 .7`.
    pub fn plain_all(readings: &[Reading]) -> String {
        readings.iter().map(Reading::to_string).collect::<Vec<_>>().join(" ")
    }
}

impl fmt::Display for Reading {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Reading::Tenths(tenths) => write!(f, ".{tenths}"),
            Reading::Mass(mg) => write!(f, "{}g", decimal::plain(*mg, 3)),
            Reading::Height(um) => write!(f, "{}mm", decimal::plain(*um, 3)),
        }
    }
}

/// What a counter types for one line: sealed containers, then one reading for each opened one.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Entry {
    /// Sealed containers.
    pub full: i64,
    /// Opened ones.
    pub open: Vec<Reading>,
}

/// Why an entry was refused.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum EntryError {
    /// Nothing typed.
    #[error("expected 3 (three sealed), 3.4 (and one opened at four tenths), .4.7 (two opened) or 0 (none)")]
    Empty,
    /// A sealed count that no shelf holds.
    #[error("expected fewer than 10 000 sealed containers")]
    TooMany,
    /// A reading is wrong.
    #[error(transparent)]
    Reading(#[from] ReadingError),
}

impl Entry {
    /// Reads `3`, `3.4`, `.4.7`, `3 812g` or `0`: digits before the first point or blank are sealed containers, each
    /// point opens one at so many tenths, and readings with a unit stand apart by blanks.
    ///
    /// # Errors
    /// [`EntryError`], which says what was expected.
    pub fn parse(typed: &str) -> Result<Entry, EntryError> {
        let typed = typed.trim();
        if typed.is_empty() {
            return Err(EntryError::Empty);
        }
        let mut entry = Entry::default();
        for (n, word) in typed.split_whitespace().enumerate() {
            let has_unit = word.bytes().any(|b| b.is_ascii_alphabetic());
            if has_unit {
                entry.open.push(Reading::parse(word)?);
                continue;
            }
            let bad = || ReadingError::Form { read: word.to_owned() };
            let (sealed, tenths) = word.find('.').map_or((word, ""), |at| word.split_at(at));
            if !sealed.is_empty() {
                if n > 0 || !sealed.bytes().all(|b| b.is_ascii_digit()) {
                    return Err(bad().into());
                }
                let sealed = sealed.trim_start_matches('0');
                if sealed.len() > 4 {
                    return Err(EntryError::TooMany);
                }
                entry.full = sealed.parse().unwrap_or(0);
            }
            for part in tenths.split('.').skip(1) {
                match part.as_bytes() {
                    [d] if d.is_ascii_digit() => entry.open.push(Reading::Tenths(d - b'0')),
                    _ => return Err(bad().into()),
                }
            }
        }
        Ok(entry)
    }
}

impl Entry {
    /// How such an entry came about: by the instrument of its opened readings, or whole where nothing is open.
    pub fn method(&self, count_by: CountBy) -> CountMethod {
        let open = |is: fn(&Reading) -> bool| self.open.iter().any(is);
        if open(|r| matches!(r, Reading::Mass(_))) {
            CountMethod::Weight
        } else if open(|r| matches!(r, Reading::Height(_))) {
            CountMethod::Height
        } else if count_by == CountBy::Whole {
            CountMethod::Whole
        } else {
            CountMethod::Tenths
        }
    }
}

impl fmt::Display for Entry {
    /// As it could have been typed: `3.4`, `.4.7`, `0`, `3 812g`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.full > 0 || self.open.is_empty() {
            write!(f, "{}", self.full)?;
        }
        for reading in &self.open {
            match reading {
                Reading::Tenths(_) => write!(f, "{reading}")?,
                _ => write!(f, " {reading}")?,
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn entry(full: i64, tenths: &[u8]) -> Entry {
        Entry { full, open: tenths.iter().map(|t| Reading::Tenths(*t)).collect() }
    }

    #[test]
    fn what_a_counter_types() {
        for (typed, want) in [
            ("3", entry(3, &[])),
            ("3.4", entry(3, &[4])),
            (".4.7", entry(0, &[4, 7])),
            ("0.4", entry(0, &[4])),
            ("12.0", entry(12, &[0])),
            ("0", entry(0, &[])),
            ("3 .4 .7", entry(3, &[4, 7])),
            ("2 812g", Entry { full: 2, open: vec![Reading::Mass(812_000)] }),
            ("812g 640.5g", Entry { full: 0, open: vec![Reading::Mass(812_000), Reading::Mass(640_500)] }),
            ("143mm", Entry { full: 0, open: vec![Reading::Height(143_000)] }),
        ] {
            assert_eq!(Entry::parse(typed), Ok(want), "{typed}");
        }
        for bad in ["", " ", ".", "3.", "3.45", "-1", "3,4", "3 4", "x", ".4 3", "812kg", "3..4"] {
            assert!(Entry::parse(bad).is_err(), "{bad}");
        }
        assert_eq!(Entry::parse("12345"), Err(EntryError::TooMany));
    }

    proptest! {
        #[test]
        fn what_is_shown_reads_back(full in 0_i64..9_999, open in proptest::collection::vec(prop_oneof![
            (0_u8..10).prop_map(Reading::Tenths), (0_i64..9_000_000).prop_map(Reading::Mass), (0_i64..900_000).prop_map(Reading::Height)], 0..4)) {
            let text = Reading::plain_all(&open);
            prop_assert_eq!(Reading::parse_all(&text), Ok(open.clone()));
            // Typed entries put tenths first, as points close up to the sealed number.
            let mut open = open;
            open.sort_by_key(|r| !matches!(r, Reading::Tenths(_)));
            let entry = Entry { full, open };
            prop_assert_eq!(Entry::parse(&entry.to_string()), Ok(entry));
        }

        #[test]
        fn any_typing_is_read_or_refused(typed in "[0-9. gm]{0,12}") {
            let _ = Entry::parse(&typed);
        }
    }
}
