//! Characters that a reader cannot see.

/// Characters that do not show, or change how others show: controls, marks that turn the direction of writing, blanks
/// of no width.
pub fn is_hidden(c: char) -> bool {
    c.is_control()
        || matches!(c,
            '\u{00AD}' | '\u{034F}' | '\u{061C}' | '\u{115F}' | '\u{1160}' | '\u{17B4}' | '\u{17B5}' | '\u{180B}'..='\u{180F}'
            | '\u{200B}'..='\u{200F}' | '\u{2028}'..='\u{202E}' | '\u{2060}'..='\u{206F}' | '\u{3164}'
            | '\u{FEFF}' | '\u{FFA0}' | '\u{FFF9}'..='\u{FFFB}' | '\u{E0000}'..='\u{E0FFF}')
}

/// A text as it may stand in a document that leaves the house: on one line, nothing hidden in it, blanks single.
pub fn one_line(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for word in text.split(|c: char| c.is_whitespace() || matches!(c, '\u{2028}' | '\u{2029}')) {
        let at = out.len();
        out.extend(word.chars().filter(|c| !is_hidden(*c)));
        if at > 0 && out.len() > at {
            out.insert(at, ' ');
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_document_has_no_line_that_nobody_sees() {
        assert_eq!(one_line("  Gin\r\nBcc: all@example.com \u{1b}[2J"), "Gin Bcc: all@example.com [2J");
        assert_eq!(one_line("a\u{202e}b \u{200b} c\0d"), "ab cd");
    }

    proptest! {
        #[test]
        fn nothing_hidden_is_left(text in any::<String>()) {
            let line = one_line(&text);
            prop_assert!(!line.chars().any(is_hidden));
            prop_assert_eq!(one_line(&line), line);
        }
    }
}
