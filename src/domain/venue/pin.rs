//! What a PIN is.

/// The fewest and the most digits.
const SHORTEST: usize = 4;
const LONGEST: usize = 12;

/// A PIN as it was typed, without what stands around it.
///
/// # Errors
/// Why it is none, as the end of a sentence.
pub fn parse_pin(typed: &str) -> Result<&str, String> {
    let pin = typed.trim();
    let digits = pin.chars().all(|c| c.is_ascii_digit());
    if !digits || !(SHORTEST..=LONGEST).contains(&pin.len()) {
        return Err(say!(
            "expected {SHORTEST} to {LONGEST} digits; six or more are hard to guess by looking",
            SHORTEST,
            LONGEST
        ));
    }
    let mut all = pin.bytes();
    let first = all.next();
    if all.all(|digit| Some(digit) == first) {
        return Err(word!("the same digit all along is the first that anybody tries").to_owned());
    }
    Ok(pin)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn four_to_twelve_digits_that_are_not_all_alike() {
        for pin in ["1234", " 271828 ", "123456789012", "0001"] {
            assert_eq!(parse_pin(pin), Ok(pin.trim()));
        }
        for no_pin in ["", "123", "1234567890123", "12a4", "7777", "١٢٣٤"] {
            assert!(parse_pin(no_pin).is_err(), "{no_pin}");
        }
    }
}
