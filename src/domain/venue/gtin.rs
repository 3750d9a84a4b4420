//! The number under a bar code.

use std::fmt;

/// A Global Trade Item Number of 8, 12, 13 or 14 digits with a right check digit, kept as written.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Gtin(String);

/// Why a number was refused.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum GtinError {
    /// Wrong length or no digits.
    #[error("expected a bar code number of 8, 12, 13 or 14 digits")]
    Form,
    /// A digit was misread.
    #[error("the last digit should be {expected}: a digit was misread")]
    CheckDigit {
        /// What the other digits give.
        expected: u32,
    },
}

/// The check digit that the digits before the last give, and the last: weights 3 and 1 from the right, modulo 10 (GS1
/// General Specifications 7.9). Of anything but digits it says nothing.
pub(super) fn check_digit(digits: &str) -> (u32, u32) {
    let mut values = digits.bytes().rev().map(|b| u32::from(b.saturating_sub(b'0')));
    let last = values.next().unwrap_or_default();
    let sum: u32 = values.zip([3, 1].into_iter().cycle()).map(|(value, weight)| value * weight).sum();
    ((10 - sum % 10) % 10, last)
}

impl Gtin {
    /// Reads a number and checks its last digit: weights 3 and 1 from the right, modulo 10 (GS1 General Specifications 7.9).
    ///
    /// # Errors
    /// [`GtinError`].
    pub fn parse(text: &str) -> Result<Gtin, GtinError> {
        let text = text.trim();
        if !matches!(text.len(), 8 | 12 | 13 | 14) || !text.bytes().all(|b| b.is_ascii_digit()) {
            return Err(GtinError::Form);
        }
        let (expected, last) = check_digit(text);
        if last == expected { Ok(Gtin(text.to_owned())) } else { Err(GtinError::CheckDigit { expected }) }
    }

    /// Whether the number is one that shops and makers give out for use within their own walls, so that it means nothing to
    /// anybody else: GS1 prefixes 020 to 029, 040 to 049 and 200 to 299, and GTIN-8 that begin with 0 or 2 (GS1 General
    /// Specifications 1.4, restricted circulation).
    pub fn is_in_house(&self) -> bool {
        if self.0.len() == 8 {
            return self.0.starts_with(['0', '2']);
        }
        let key = self.key();
        ["02", "04", "2"].iter().any(|prefix| key[1..].starts_with(prefix))
    }

    /// The fourteen-digit form: the same trade item whatever the length it was written in.
    pub fn key(&self) -> String {
        format!("{:0>14}", self.0)
    }
}

impl fmt::Display for Gtin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn check_digits() {
        // The worked example of the GS1 check digit calculator page: 629104150021 gives 3 (from memory).
        assert!(Gtin::parse("6291041500213").is_ok());
        assert_eq!(Gtin::parse("6291041500214"), Err(GtinError::CheckDigit { expected: 3 }));
        for bad in ["", "123", "629104150021x", "62910415002133000"] {
            assert_eq!(Gtin::parse(bad), Err(GtinError::Form), "{bad}");
        }
        // The same item in twelve and in thirteen digits.
        assert_eq!(Gtin::parse("200000000004").unwrap().key(), Gtin::parse("0200000000004").unwrap().key());
    }

    #[test]
    fn numbers_for_use_within_walls() {
        for (number, in_house) in [
            ("6291041500213", false),
            ("9520000900014", false),
            ("2000000000008", true),
            ("200000000004", true),
            ("400000000008", true),
            ("0200000000004", true),
            ("0300000000001", false),
            ("20000004", true),
            ("96385074", false),
        ] {
            assert_eq!(Gtin::parse(number).unwrap().is_in_house(), in_house, "{number}");
        }
    }

    #[test]
    fn any_single_misread_digit_is_noticed() {
        let good = "6291041500213";
        for at in 0..good.len() {
            for digit in b'0'..=b'9' {
                let mut misread = good.as_bytes().to_vec();
                misread[at] = digit;
                let misread = String::from_utf8(misread).unwrap();
                assert_eq!(Gtin::parse(&misread).is_ok(), misread == good);
            }
        }
    }
}
