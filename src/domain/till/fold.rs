//! The form in which words of strangers are compared: no case, no accents, no punctuation.

use unicode_normalization::UnicodeNormalization;
use unicode_normalization::char::is_combining_mark;

/// A text with its letters in lower case and without accents, `ß` as `ss`, `æ` as `ae`, and one blank for each run of
/// anything else; `%` becomes the word `percent`, `&` and `+` become `and`.
///
/// `Größe (cl)` is `grosse cl`, `MwSt.-%` is `mwst percent`.
pub fn folded(text: &str) -> String {
    let mut out = Folding { text: String::with_capacity(text.len()), gap: false };
    let mut buffer = [0; 4];
    for c in text.nfkd().flat_map(char::to_lowercase) {
        match c {
            'ß' => out.put("ss"),
            'æ' => out.put("ae"),
            'œ' => out.put("oe"),
            'ø' => out.put("o"),
            'đ' | 'ð' => out.put("d"),
            'ł' => out.put("l"),
            'þ' => out.put("th"),
            'ı' => out.put("i"),
            '%' => out.word("percent"),
            '&' | '+' => out.word("and"),
            '\'' | '’' | '`' | '´' => {}
            c if is_combining_mark(c) => {}
            c if c.is_alphanumeric() => out.put(c.encode_utf8(&mut buffer)),
            _ => out.gap = true,
        }
    }
    out.text
}

struct Folding {
    text: String,
    /// Whether a blank comes before the next letter.
    gap: bool,
}

impl Folding {
    fn put(&mut self, part: &str) {
        if self.gap && !self.text.is_empty() {
            self.text.push(' ');
        }
        self.gap = false;
        self.text.push_str(part);
    }

    fn word(&mut self, word: &str) {
        self.gap = true;
        self.put(word);
        self.gap = true;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn words_are_compared_without_their_dress() {
        for (text, want) in [
            ("  Größe (cl) ", "grosse cl"),
            ("MwSt.-%", "mwst percent"),
            ("G+T", "g and t"),
            ("Quantité", "quantite"),
            ("Beløb", "belob"),
            ("Gull's", "gulls"),
            ("...", ""),
            ("½ Gin", "1 2 gin"),
            ("%", "percent"),
        ] {
            assert_eq!(folded(text), want, "{text}");
        }
    }

    proptest! {
        #[test]
        fn folding_ends_in_plain_words(text in any::<String>()) {
            let fold = folded(&text);
            prop_assert!(!fold.starts_with(' ') && !fold.ends_with(' ') && !fold.contains("  "), "{:?}", fold);
        }
    }
}
