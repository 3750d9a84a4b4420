//! Decimal numbers as people write them, kept exact until they become integers of a base unit.

use crate::words::{self, Speech};
use std::cmp::Ordering;
use std::fmt;

/// A decimal number exactly as it was written: `mantissa × 10^-scale`, with as small a scale as the number allows, so that
/// the same number is the same value.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Decimal {
    mantissa: i128,
    scale: u32,
}

/// Why a text is no number here.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum DecimalError {
    /// Something other than digits, one sign and one decimal point.
    #[error("{}", word!("expected a number such as 12 or 0.75"))]
    NotANumber,
    /// A mark before exactly three digits that may set thousands apart.
    #[error("{}", may_mean_thousands())]
    Thousands,
    /// More digits than any amount in a bar needs.
    #[error("{}", word!("expected at most 12 digits before the point and 9 after it"))]
    TooLong,
    /// The number does not fit once it is turned into the base unit.
    #[error("{}", word!("expected a smaller number"))]
    TooLarge,
}

fn may_mean_thousands() -> &'static str {
    if Speech::here().comma {
        word!(
            "a point before three digits may mean thousands: write it without, or with a comma if it is a decimal one"
        )
    } else {
        word!(
            "a comma before three digits may mean thousands: write it without, or with a point if it is a decimal one"
        )
    }
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
    /// Nothing.
    pub const ZERO: Decimal = Decimal { mantissa: 0, scale: 0 };
    /// One.
    pub const ONE: Decimal = Decimal { mantissa: 1, scale: 0 };
    /// The most decimals that a sum or product keeps track of.
    const DEEPEST: u32 = 36;

    /// So many units of `10^-places`: `(1_250, 3)` is 1.25.
    pub fn of(units: i64, places: u32) -> Decimal {
        Decimal { mantissa: units.into(), scale: places }.shortest()
    }

    /// Without the zeros at the end.
    fn shortest(mut self) -> Decimal {
        while self.scale > 0 && self.mantissa % 10 == 0 {
            self.mantissa /= 10;
            self.scale -= 1;
        }
        self
    }

    /// The mantissa that the number has at a greater scale; `None` when it does not fit.
    fn lifted(self, scale: u32) -> Option<i128> {
        self.mantissa.checked_mul(10_i128.checked_pow(scale.checked_sub(self.scale)?)?)
    }

    /// The exact sum; `None` when it does not fit.
    pub fn plus(self, other: Decimal) -> Option<Decimal> {
        let scale = self.scale.max(other.scale);
        Some(Decimal { mantissa: self.lifted(scale)?.checked_add(other.lifted(scale)?)?, scale }.shortest())
    }

    /// The exact difference; `None` when it does not fit.
    pub fn minus(self, other: Decimal) -> Option<Decimal> {
        self.plus(other.negated())
    }

    /// The exact product; `None` when it does not fit.
    pub fn product(self, other: Decimal) -> Option<Decimal> {
        let scale = Some(self.scale + other.scale).filter(|scale| *scale <= Decimal::DEEPEST)?;
        Some(Decimal { mantissa: self.mantissa.checked_mul(other.mantissa)?, scale }.shortest())
    }

    /// With the other sign.
    pub fn negated(self) -> Decimal {
        Decimal { mantissa: -self.mantissa, ..self }
    }

    /// Without its sign.
    pub fn size(self) -> Decimal {
        Decimal { mantissa: self.mantissa.abs(), ..self }
    }

    /// −1, 0 or 1.
    pub fn sign(self) -> i64 {
        self.mantissa.signum() as i64
    }

    /// Rounded to so many decimals, half to even.
    pub fn rounded(self, places: u32) -> Decimal {
        match self.scale.checked_sub(places) {
            Some(over) if over > 0 => match 10_i128.checked_pow(over) {
                Some(step) => Decimal { mantissa: round_half_even(self.mantissa, step), scale: places }.shortest(),
                None => Decimal::ZERO,
            },
            _ => self,
        }
    }

    /// Numerator and denominator of the number as a fraction.
    pub fn fraction(self) -> (i128, i128) {
        (self.mantissa, 10_i128.pow(self.scale))
    }

    /// Reads `12`, `-0.75`, `.5` or `3.`; the decimal mark is a point.
    ///
    /// # Errors
    /// [`DecimalError::NotANumber`] for anything else, [`DecimalError::Thousands`] for `1,600`, [`DecimalError::TooLong`] past
    /// 12 + 9 digits.
    pub fn parse(text: &str) -> Result<Decimal, DecimalError> {
        if may_be_thousands(text, ',') {
            return Err(DecimalError::Thousands);
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

impl Ord for Decimal {
    fn cmp(&self, other: &Decimal) -> Ordering {
        let scale = self.scale.max(other.scale);
        match (self.lifted(scale), other.lifted(scale)) {
            (Some(left), Some(right)) => left.cmp(&right),
            // Only one of the two is lifted; one that does not fit then is the one that is further from zero.
            (None, _) => self.mantissa.cmp(&0),
            (_, None) => 0.cmp(&other.mantissa),
        }
    }
}

impl PartialOrd for Decimal {
    fn partial_cmp(&self, other: &Decimal) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl fmt::Display for Decimal {
    /// With a point and without zeros at the end: `-12.5`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = if self.mantissa < 0 { "-" } else { "" };
        let (size, unit) = (self.mantissa.unsigned_abs(), 10_u128.pow(self.scale));
        if self.scale == 0 {
            return write!(f, "{sign}{size}");
        }
        let width = self.scale as usize;
        write!(f, "{sign}{}.{:0width$}", size / unit, size % unit)
    }
}

/// The text with a decimal comma as a point, as people type it; a mark that may stand for thousands becomes a comma, and the
/// number is refused with [`DecimalError::Thousands`]. Where decimals are written with a comma that is the point, otherwise
/// the comma.
pub fn pointed(typed: &str) -> String {
    pointed_in(typed, Speech::here().comma)
}

/// The same of a text of somebody else, who writes decimals with a comma or not.
pub fn pointed_in(typed: &str, comma: bool) -> String {
    let typed = typed.trim();
    if may_be_thousands(typed, if comma { '.' } else { ',' }) {
        typed.replace('.', ",")
    } else {
        typed.replace(',', ".")
    }
}

/// Whether the number that a text begins with has the mark before exactly three digits, and more than a zero before it.
fn may_be_thousands(text: &str, mark: char) -> bool {
    let Some((whole, rest)) = text.split_once(mark) else { return false };
    let digits = rest.bytes().take_while(u8::is_ascii_digit).count();
    digits == 3 && whole.trim_start_matches(['-', '+', '0']).bytes().any(|b| b.is_ascii_digit())
}

/// Shows an integer of `10^-places` units as a decimal without trailing zeros: `(1_250, 3)` is `1.25`.
pub fn plain(value: i64, places: u32) -> String {
    let text = fixed(value, places);
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

/// The same with the decimal mark of this place, for people.
pub fn shown(value: i64, places: u32) -> String {
    words::number(plain(value, places))
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
            assert_eq!(Decimal::parse(&pointed(text)), Err(DecimalError::Thousands), "{text}");
        }
        for (typed, want) in
            [("1,5", "1.5"), (",425", ".425"), ("0,750 l", "0.750 l"), (" 12,50 ", "12.50"), ("1,6000", "1.6000")]
        {
            assert_eq!(pointed(typed), want);
        }
        assert_eq!(Decimal::parse("1234567890123"), Err(DecimalError::TooLong));
        assert_eq!(Decimal::parse("0.0000000001"), Err(DecimalError::TooLong));
    }

    /// Where decimals are written with a comma, a point may set thousands apart; where they are not, a comma may.
    #[test]
    fn what_is_typed_is_read_as_it_is_written_there() {
        let read = |typed: &str| Decimal::parse(&pointed(typed)).map(|number| number.to_string());
        let number = |text: &str| Ok(text.to_owned());
        for (typed, point, comma) in [
            ("1,5", number("1.5"), number("1.5")),
            ("1.5", number("1.5"), number("1.5")),
            ("0,789", number("0.789"), number("0.789")),
            ("0.789", number("0.789"), number("0.789")),
            ("1,125", Err(DecimalError::Thousands), number("1.125")),
            ("1.125", number("1.125"), Err(DecimalError::Thousands)),
            ("12.345", number("12.345"), Err(DecimalError::Thousands)),
            ("1.1250", number("1.125"), number("1.125")),
            ("1.234,5", Err(DecimalError::NotANumber), Err(DecimalError::Thousands)),
        ] {
            assert_eq!(read(typed), point, "{typed}");
            assert_eq!(Speech::of_tag("de").while_in(|| read(typed)), comma, "{typed}");
        }
        assert_eq!(Speech::of_tag("de").while_in(|| [shown(1_250, 3), shown(-700, 0)]), ["1,25", "-700"]);
    }

    #[test]
    fn numbers_out_of_reach_are_still_compared() {
        let (huge, tiny) = (Decimal { mantissa: i128::MAX, scale: 0 }, Decimal { mantissa: 1, scale: 36 });
        let low = huge.negated();
        let orders = [huge.cmp(&tiny), tiny.cmp(&huge), low.cmp(&tiny), tiny.cmp(&low), low.cmp(&huge)];
        let (less, greater) = (Ordering::Less, Ordering::Greater);
        assert_eq!(orders, [greater, less, less, greater, less]);
        assert_eq!((huge.plus(tiny), huge.product(huge), tiny.product(tiny)), (None, None, None));
        assert_eq!(Decimal::of(-1_250, 2).to_string(), "-12.5");
        assert_eq!(Decimal::of(5, 3).to_string(), "0.005");
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
        fn sums_and_products_are_exact(a in -1_000_000_000_i64..1_000_000_000, b in -1_000_000_000_i64..1_000_000_000, p in 0_u32..=9, q in 0_u32..=9) {
            let (x, y) = (Decimal::of(a, p), Decimal::of(b, q));
            let lift = |value: i64, places: u32| i128::from(value) * 10_i128.pow(9 - places);
            let at = |number: Decimal, scale: u32| number.lifted(scale).unwrap();
            prop_assert_eq!(at(x.plus(y).unwrap(), 9), lift(a, p) + lift(b, q));
            prop_assert_eq!(at(x.minus(y).unwrap(), 9), lift(a, p) - lift(b, q));
            prop_assert_eq!(at(x.product(y).unwrap(), 18), lift(a, p) * lift(b, q));
            prop_assert_eq!(x.cmp(&y), lift(a, p).cmp(&lift(b, q)));
            prop_assert_eq!(x == y, lift(a, p) == lift(b, q));
            prop_assert_eq!(Decimal::parse(&x.to_string()), Ok(x));
            let (n, d) = x.fraction();
            prop_assert_eq!(n * 1_000_000_000, lift(a, p) * d);
        }

        #[test]
        fn a_rounded_number_is_the_nearest(a in -1_000_000_000_i64..1_000_000_000, p in 0_u32..=9, places in 0_u32..=9) {
            let (x, rounded) = (Decimal::of(a, p), Decimal::of(a, p).rounded(places));
            prop_assert!(rounded.exact(places).is_some());
            let off = x.minus(rounded).unwrap().size();
            prop_assert!(off.plus(off).unwrap() <= Decimal::of(1, places));
        }

        #[test]
        fn any_text_is_read_or_refused(text in ".{0,40}") {
            let _ = Decimal::parse(&text);
        }
    }
}
