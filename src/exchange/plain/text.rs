//! Text from files: one form for each name, and nothing that acts on a terminal or in a spreadsheet.

use crate::domain::venue::is_hidden;
use unicode_normalization::{UnicodeNormalization, is_nfc};

/// Characters that a cell may have.
const LONGEST: usize = 500;

/// Why a text was refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum TextError {
    /// Something that does not show, or acts on what shows.
    #[error("expected text without hidden characters, but it holds U+{0:04X}")]
    Hidden(u32),
    /// A line break: seldom meant.
    #[error("{}", word!("expected text on one line; a line break in a cell often means that a quotation mark is never closed"))]
    LineBreak,
    /// A spreadsheet would run it.
    #[error("{}", say!("expected text that does not begin with {what}: a spreadsheet would run it as a formula", what = .0))]
    Formula(char),
    /// A whole file in one cell.
    #[error("{}", word!("expected at most 500 characters"))]
    TooLong,
}

/// A text in the form in which it is kept: trimmed and in Unicode NFC. What a person types into a screen passes here
/// as well as what a file holds, so that every book can be dumped and loaded again.
///
/// # Errors
/// [`TextError`].
pub fn checked(text: &str) -> Result<String, TextError> {
    let text = text.trim();
    if let Some(hidden) = text.chars().find(|c| is_hidden(*c)) {
        let line_break = matches!(hidden, '\n' | '\r');
        return Err(if line_break { TextError::LineBreak } else { TextError::Hidden(hidden.into()) });
    }
    if let Some(first) = text.chars().next().filter(|c| is_sign(*c)) {
        return Err(TextError::Formula(first));
    }
    if text.chars().count() > LONGEST {
        return Err(TextError::TooLong);
    }
    Ok(if is_nfc(text) { text.to_owned() } else { text.nfc().collect() })
}

/// What a spreadsheet takes for the beginning of a formula; the wide forms of East Asia too.
fn is_sign(c: char) -> bool {
    matches!(c, '=' | '+' | '-' | '@' | '＝' | '＋' | '－' | '＠')
}

/// A text of a file that nobody here wrote, brought into the form in which texts are kept: [`legible`], and signs that a
/// spreadsheet would take for a formula stand in brackets, so that two names that differ by them stay two.
pub fn tamed(text: &str) -> String {
    let legible = legible(text);
    let rest = legible.trim_start_matches(|c: char| c == ' ' || is_sign(c));
    if rest.len() == legible.len() || rest.is_empty() {
        return rest.to_owned();
    }
    let before = &legible[..legible.len() - rest.len()];
    let signs: String = before.chars().filter(|c| is_sign(*c)).collect();
    let blank = if before.ends_with(' ') { " " } else { "" };
    let cut: String = format!("({signs}){blank}{rest}").chars().take(LONGEST).collect();
    cut.trim_end().to_owned()
}

/// A text of a file that nobody here wrote, to be read on a terminal and nowhere else: line breaks and runs of blanks
/// become one blank; hidden characters go; what is too long is cut.
pub fn legible(text: &str) -> String {
    if is_plain(text) {
        return text.to_owned();
    }
    // What is hidden goes first: a mark that stood behind it may belong to the letter before it.
    let shown = text.chars().map(|c| if c.is_whitespace() { ' ' } else { c }).filter(|c| !is_hidden(*c));
    let plain: String = shown.nfc().collect();
    let mut out = String::with_capacity(plain.len());
    for word in plain.split_whitespace() {
        if !out.is_empty() {
            out.push(' ');
        }
        out.push_str(word);
    }
    let cut: String = out.chars().take(LONGEST).collect();
    cut.trim_end().to_owned()
}

/// A text that is surely in the form in which it is kept, as most are: short plain ASCII that begins with a letter or a
/// digit, with single blanks inside.
fn is_plain(text: &str) -> bool {
    let bytes = text.as_bytes();
    bytes.len() <= LONGEST
        && bytes.first().is_some_and(u8::is_ascii_alphanumeric)
        && bytes.last().is_some_and(u8::is_ascii_graphic)
        && bytes.iter().all(|b| matches!(b, b' '..=b'~'))
        && !bytes.windows(2).any(|pair| pair == b"  ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_stranger_s_text_is_tamed() {
        assert_eq!(tamed("  Gin\u{1b}[2J \r\n Tonic "), "Gin[2J Tonic");
        assert_eq!(tamed("=+cmd|' /C'!A0"), "(=+)cmd|' /C'!A0");
        assert_eq!(tamed("\u{202e}- @x"), "(-@)x");
        assert_eq!(tamed("+ Tonic"), "(+) Tonic");
        assert_eq!(tamed("\u{ff0b}1 shot"), "(\u{ff0b})1 shot");
        assert_eq!(tamed(" --- "), "");
        assert_eq!(tamed("w\u{13}\u{301}"), "\u{1e83}", "one form, also where something hidden stood between");
        assert_eq!(legible(" -8,\u{1b}50\n"), "-8,50");
    }

    proptest! {
        #[test]
        fn what_is_tamed_is_kept_as_it_is(text in any::<String>()) {
            let tame = tamed(&text);
            prop_assert_eq!(checked(&tame), Ok(tame.clone()));
        }

        #[test]
        fn what_is_plain_is_left_alone(text in "[ -~]{0,40}") {
            if is_plain(&text) {
                // A hidden character in front takes the long way and leaves the same.
                prop_assert_eq!(tamed(&format!("\u{200b}{text}")), text);
            }
        }
    }

    #[test]
    fn text_is_kept_in_one_form_or_refused() {
        assert_eq!(checked("  Cura\u{0063}\u{0327}ao "), Ok("Cura\u{00E7}ao".to_owned()));
        assert_eq!(checked("Kräuterbrand 0.7 (alt)"), Ok("Kräuterbrand 0.7 (alt)".to_owned()));
        assert_eq!(checked(""), Ok(String::new()));
        for (text, hidden) in
            [("a\u{1b}[2J", 0x1b), ("a\u{202e}b", 0x202e), ("a\u{200b}b", 0x200b), ("\u{85}x\u{9b}y", 0x9b)]
        {
            assert_eq!(checked(text), Err(TextError::Hidden(hidden)), "{text:?}");
        }
        assert_eq!(checked("a\nb"), Err(TextError::LineBreak));
        for text in ["=1+1", "+49", "-gin", "@SUM(A1)", " =1"] {
            assert!(matches!(checked(text), Err(TextError::Formula(_))), "{text}");
        }
        assert_eq!(checked(&"x".repeat(501)), Err(TextError::TooLong));
    }
}
