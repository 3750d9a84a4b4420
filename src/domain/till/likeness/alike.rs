//! How alike two words are, as tills cut words short: at the end, at the vowels, or by a slip of the finger.

/// How much a till's word may stand for a word of the menu, 0 to 1. `last` says that the till's name ends with it, where
/// the till may have run out of letters.
pub(super) fn alike(till: &str, menu: &str, last: bool) -> f64 {
    if till == menu {
        return 1.0;
    }
    if till.chars().next() != menu.chars().next() {
        return 0.0;
    }
    let (short, long) = (till.chars().count(), menu.chars().count());
    if short == 0 || long == 0 {
        return 0.0;
    }
    let share = short as f64 / long as f64;
    if menu.starts_with(till) {
        return match short {
            1 if last => 0.55,
            1 => 0.5,
            2 if last => 0.65 + 0.3 * share,
            2 => 0.6 + 0.3 * share,
            _ => 0.75 + 0.22 * share,
        };
    }
    if long >= 4 && till.starts_with(menu) {
        // A plural, or more letters of the same word.
        return if short - long <= 2 { 0.9 } else { 0.6 * long as f64 / short as f64 };
    }
    if short < 2 {
        return 0.0;
    }
    let mut best: f64 = 0.0;
    if short < long && is_within(till, menu) {
        let bones = bones(menu);
        best = if bones == till {
            0.88
        } else if short >= 3 && bones.starts_with(till) {
            0.78
        } else if short >= 3 {
            0.45 + 0.3 * share
        } else {
            0.35
        };
    }
    if short >= 4 && long >= 4 && short.abs_diff(long) <= 2 {
        let near = strsim::normalized_damerau_levenshtein(till, menu);
        if near >= 0.7 {
            best = best.max(0.95 * near);
        }
    }
    best
}

/// Whether the letters of one stand in the other in the same order.
fn is_within(short: &str, long: &str) -> bool {
    let mut rest = long.chars();
    short.chars().all(|c| rest.any(|d| d == c))
}

/// The first letter and the consonants behind it, doubled ones once: what is left of a word that is cut at its vowels.
fn bones(word: &str) -> String {
    let mut out = String::with_capacity(word.len());
    for c in word.chars() {
        if out.is_empty() || !(matches!(c, 'a' | 'e' | 'i' | 'o' | 'u') || out.ends_with(c)) {
            out.push(c);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn short_words_stand_for_long_ones() {
        for (till, menu, at_least) in [
            ("ngrn", "negroni", 0.7),
            ("ngrni", "negroni", 0.55),
            ("marg", "margarita", 0.8),
            ("espr", "espresso", 0.8),
            ("frzn", "frozen", 0.85),
            ("daquiri", "daiquiri", 0.8),
            ("whisky", "whiskey", 0.8),
            ("olive", "olives", 0.9),
            ("g", "gin", 0.5),
        ] {
            assert!(alike(till, menu, false) >= at_least, "{till} {menu} {}", alike(till, menu, false));
        }
        for (till, menu) in [("gin", "rum"), ("cola", "cider"), ("red", "ale"), ("tonic", "gin")] {
            assert!(alike(till, menu, false) < 0.4, "{till} {menu}");
        }
    }

    proptest! {
        #[test]
        fn likeness_is_a_share(a in "[a-zé0-9]{0,12}", b in "[a-zé0-9]{0,12}", last in any::<bool>()) {
            prop_assert!((0.0..=1.0).contains(&alike(&a, &b, last)));
        }
    }
}
