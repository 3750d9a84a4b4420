//! Decimal numbers as people write them, kept exact until they become integers of a base unit.

/// A decimal number exactly as it was written: `mantissa × 10^-scale`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Decimal {
    mantissa: i128,
    scale: u32,
}

/// Why a text is no number here.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum DecimalError {
    /// Something other than digits, one sign and one decimal point.
    #[error("expected a number such as 12 or 0.75")]
    NotANumber,
    /// A comma before exactly three digits.
    #[error("a comma before three digits may mean thousands: write it without, or with a point if it is a decimal one")]
    Comma,
    /// More digits than any amount in a bar needs.
    #[error("expected at most 12 digits before the point and 9 after it")]
    TooLong,
    /// The number does not fit once it is turned into the base unit.
    #[error("expected a smaller number")]
    TooLarge,
}

/// Divides and rounds half to even: the one rounding rule of the program.
///
/// Half to even keeps sums of many rounded figures free of drift.
/// `denominator` must be positive.
pub fn round_half_even(numerator: i128, denominator: i128) -> i128 {
    let quotient = numerator.div_euclid(denominator);
    let rest = numerator.rem_euclid(denominator);
    match (rest * 2).cmp(&denominator) {
        std::cmp::Ordering::Less => quotient,
        std::cmp::Ordering::Greater => quotient + 1,
        std::cmp::Ordering::Equal => quotient + (quotient & 1),
    }
}

impl Decimal {
    /// Reads `12`, `-0.75`, `.5` or `3.`; the decimal mark is a point.
    ///
    /// # Errors
    /// [`DecimalError::NotANumber`] for anything else, [`DecimalError::Comma`] for `1,600`, [`DecimalError::TooLong`] past
    /// 12 + 9 digits.
    pub fn parse(text: &str) -> Result<Decimal, DecimalError> {
        if may_be_thousands(text) {
            return Err(DecimalError::Comma);
        }
        let (negative, digits) = match text.strip_prefix('-') {
            Some(rest) => (true, rest),
            None => (false, text.strip_prefix('+').unwrap_or(text)),
        };
        let (whole, fraction) = digits.split_once('.').unwrap_or((digits, ""));
        if whole.is_empty() && fraction.is_empty() {
            return Err(DecimalError::NotANumber);
        }
        if !whole.bytes().chain(fraction.bytes()).all(|b| b.is_ascii_digit()) {
            return Err(DecimalError::NotANumber);
        }
        let fraction = fraction.trim_end_matches('0');
        let whole = whole.trim_start_matches('0');
        if whole.len() > 12 || fraction.len() > 9 {
            return Err(DecimalError::TooLong);
        }
        let mut mantissa: i128 = 0;
        for b in whole.bytes().chain(fraction.bytes()) {
            mantissa = mantissa * 10 + i128::from(b - b'0');
        }
        let scale = u32::try_from(fraction.len()).map_err(|_| DecimalError::TooLong)?;
        Ok(Decimal { mantissa: if negative { -mantissa } else { mantissa }, scale })
    }

    /// `self × numerator ÷ denominator`, rounded once, half to even.
    ///
    /// # Errors
    /// [`DecimalError::TooLarge`] when the result does not fit.
    pub fn scaled(self, numerator: i128, denominator: i128) -> Result<i64, DecimalError> {
        let top = self.mantissa.checked_mul(numerator).ok_or(DecimalError::TooLarge)?;
        let bottom = denominator.checked_mul(10_i128.pow(self.scale)).ok_or(DecimalError::TooLarge)?;
        i64::try_from(round_half_even(top, bottom)).map_err(|_| DecimalError::TooLarge)
    }

    /// The number in units of `10^-places`, if it has no more than `places` decimals.
    pub fn exact(self, places: u32) -> Option<i64> {
        let lift = places.checked_sub(self.scale)?;
        i64::try_from(self.mantissa.checked_mul(10_i128.checked_pow(lift)?)?).ok()
    }
}

/// The text with a decimal comma as a point, as people type it; a comma that may stand for thousands stays, and the number
/// is refused with [`DecimalError::Comma`].
pub fn pointed(typed: &str) -> String {
    let typed = typed.trim();
    if may_be_thousands(typed) { typed.to_owned() } else { typed.replace(',', ".") }
}

/// Whether the number that a text begins with has a comma before exactly three digits, and more than a zero before it.
fn may_be_thousands(text: &str) -> bool {
    let Some((whole, rest)) = text.split_once(',') else { return false };
    let digits = rest.bytes().take_while(u8::is_ascii_digit).count();
    digits == 3 && whole.trim_start_matches(['-', '+', '0']).bytes().any(|b| b.is_ascii_digit())
}

/// Shows an integer of `10^-places` units as a decimal without trailing zeros: `(1_250, 3)` is `1.25`.
pub fn plain(value: i64, places: u32) -> String {
    let text = fixed(value, places);
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

/// Shows an integer of `10^-places` units with all its decimals: `(1_250, 3)` is `1.250`.
pub fn fixed(value: i64, places: u32) -> String {
    let sign = if value < 0 { "-" } else { "" };
    let size = value.unsigned_abs();
    if places == 0 {
        return format!("{sign}{size}");
    }
    let unit = 10_u64.pow(places);
    let width = places as usize;
    format!("{sign}{}.{:0width$}", size / unit, size % unit)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn numbers_as_people_write_them() {
        for (text, places, want) in [
            ("12", 0, Some(12)),
            (".5", 1, Some(5)),
            ("3.", 0, Some(3)),
            ("-0.75", 2, Some(-75)),
            ("1.250", 2, Some(125)),
            ("1.234", 2, None),
        ] {
            assert_eq!(Decimal::parse(text).unwrap().exact(places), want, "{text}");
        }
        for text in ["", ".", "-", "1,5", "1.2.3", "1e3", "٣", "--1", "0x10", "1 000"] {
            assert_eq!(Decimal::parse(text), Err(DecimalError::NotANumber), "{text}");
        }
        for text in ["1,600", "12,345"] {
            assert_eq!(Decimal::parse(&pointed(text)), Err(DecimalError::Comma), "{text}");
        }
        for (typed, want) in
            [("1,5", "1.5"), (",425", ".425"), ("0,750 l", "0.750 l"), (" 12,50 ", "12.50"), ("1,6000", "1.6000")]
        {
            assert_eq!(pointed(typed), want);
        }
        assert_eq!(Decimal::parse("1234567890123"), Err(DecimalError::TooLong));
        assert_eq!(Decimal::parse("0.0000000001"), Err(DecimalError::TooLong));
    }

    #[test]
    fn halves_round_to_even() {
        for (n, want) in [(5, 0), (15, 2), (25, 2), (-5, 0), (-15, -2), (26, 3), (-26, -3)] {
            assert_eq!(round_half_even(n, 10), want, "{n}/10");
        }
    }

    proptest! {
        #[test]
        fn what_is_shown_reads_back(value in -1_000_000_000_000_i64..1_000_000_000_000, places in 0_u32..=9) {
            let read = Decimal::parse(&plain(value, places)).unwrap();
            prop_assert_eq!(read.exact(places), Some(value));
            let read = Decimal::parse(&fixed(value, places)).unwrap();
            prop_assert_eq!(read.exact(places), Some(value));
        }

        #[test]
        fn rounding_is_never_off_by_more_than_half(n in -1_000_000_000_i128..1_000_000_000, d in 1_i128..1_000_000) {
            let r = round_half_even(n, d);
            prop_assert!((n - r * d).abs() * 2 <= d);
        }

        #[test]
        fn any_text_is_read_or_refused(text in ".{0,40}") {
            let _ = Decimal::parse(&text);
        }
    }
}
