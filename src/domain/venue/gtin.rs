//! The number under a bar code.

use std::fmt;

/// A Global Trade Item Number of 8, 12, 13 or 14 digits with a right check digit, kept as written.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Gtin(String);

/// Why a number was refused.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum GtinError {
    /// Wrong length or no digits.
    #[error("{}", word!("expected a bar code number of 8, 12, 13 or 14 digits"))]
    Form,
    /// A digit was misread.
    #[error("{}", say!("the last digit should be {expected}: a digit was misread", expected))]
    CheckDigit {
        /// What the other digits give.
        expected: u32,
    },
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
        match wrong_check_digit(text) {
            None => Ok(Gtin(text.to_owned())),
            Some(expected) => Err(GtinError::CheckDigit { expected }),
        }
    }

    /// Whether the number is given out by a shop or a country for use within itself and may stand for anything elsewhere:
    /// prefixes 020–029, 040–049 and 200–299 of the thirteen-digit form (GS1 General Specifications, restricted
    /// circulation numbers). It never says what an item is outside of where it was given out.
    pub fn is_restricted(&self) -> bool {
        let key = self.key();
        // Eight digits have prefixes of their own; 0 and 2 are for use within a company (from memory).
        if self.0.len() == 8 {
            return self.0.starts_with(['0', '2']);
        }
        matches!(&key[1..3], "02" | "04") || key[1..2] == *"2"
    }

    /// The number of what a case of fourteen digits holds: the first digit says the kind of grouping, 1 to 8, and the
    /// twelve after it are those of the content. `None` for a number that is no such case.
    ///
    /// Source: GS1 General Specifications, indicator digit of a GTIN-14 (from memory).
    pub fn content(&self) -> Option<Gtin> {
        let grouped = self.0.len() == 14 && matches!(self.0.as_bytes()[0], b'1'..=b'8');
        grouped.then(|| {
            let body = &self.0[1..13];
            Gtin(format!("{body}{}", check_digit(body)))
        })
    }

    /// The fourteen-digit form: the same trade item whatever the length it was written in.
    pub fn key(&self) -> String {
        format!("{:0>14}", self.0)
    }
}

/// The digit that should be the last of a number of digits, where another one is (GS1 General Specifications 7.9).
pub(super) fn wrong_check_digit(digits: &str) -> Option<u32> {
    let (body, last) = digits.split_at_checked(digits.len().saturating_sub(1))?;
    let expected = check_digit(body);
    (last != expected.to_string()).then_some(expected)
}

/// The last digit that belongs to the others: weights 3 and 1 from the right, modulo 10. Of anything but digits it says
/// nothing.
fn check_digit(body: &str) -> u32 {
    let sum: u32 =
        body.bytes().rev().zip([3, 1].into_iter().cycle()).map(|(b, w)| u32::from(b.saturating_sub(b'0')) * w).sum();
    (10 - sum % 10) % 10
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
        // GS1's published example, check digit calculator: 629104150021 gives 3; GS1 Sweden's: 730001100001 gives 7.
        assert!(Gtin::parse("6291041500213").is_ok());
        assert!(Gtin::parse("7300011000017").is_ok());
        assert_eq!(Gtin::parse("6291041500214"), Err(GtinError::CheckDigit { expected: 3 }));
        for bad in ["", "123", "629104150021x", "62910415002133000"] {
            assert_eq!(Gtin::parse(bad), Err(GtinError::Form), "{bad}");
        }
        // The same item in twelve and in thirteen digits.
        assert_eq!(Gtin::parse("200000000004").unwrap().key(), Gtin::parse("0200000000004").unwrap().key());
    }

    #[test]
    fn numbers_for_use_within_walls() {
        for (number, restricted) in [
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
            assert_eq!(Gtin::parse(number).unwrap().is_restricted(), restricted, "{number}");
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
