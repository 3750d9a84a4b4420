//! Whether a line is a deposit on what comes back: kegs, crates, bottles.
//!
//! Bills have no element for it (EN 16931-1:2017): it is a line like any other, or a charge of a line. So its name is
//! looked at, and what is found is only suggested: a person says what it is, once for each supplier and code.

use crate::domain::venue::name_key;

/// How a word must stand in a name.
#[derive(Clone, Copy)]
enum Stands {
    /// As a word of its own.
    Alone,
    /// At the beginning of a word.
    First,
    /// At the end of a word, or alone.
    Last,
    /// Anywhere in a word: languages that join words.
    Within,
}

/// What the trade calls deposits and empties (common practice, no source).
const WORDS: &[(&str, Stands)] = &[
    // German, Dutch
    ("pfand", Stands::Within),
    ("leergut", Stands::Within),
    ("statiegeld", Stands::Within),
    ("leeggoed", Stands::Within),
    // English
    ("deposit", Stands::Alone),
    ("deposits", Stands::Alone),
    ("empties", Stands::Alone),
    // French
    ("consigne", Stands::First),
    ("consigné", Stands::First),
    ("déconsign", Stands::First),
    ("vidange", Stands::Alone),
    ("vidanges", Stands::Alone),
    // Italian, Spanish, Portuguese
    ("cauzione", Stands::Alone),
    ("cauzioni", Stands::Alone),
    ("depósito", Stands::Alone),
    ("fianza", Stands::Alone),
    ("vasilhame", Stands::Alone),
    // Danish, Norwegian, Swedish, Finnish
    ("pant", Stands::Last),
    ("tomgods", Stands::Within),
    ("pantti", Stands::Within),
    // Polish, Czech, Hungarian
    ("kaucja", Stands::Alone),
    ("kaucji", Stands::Alone),
    ("záloh", Stands::First),
    ("betétdíj", Stands::Within),
];

/// Words before one of those that make it a remark on goods: `Quellperle inkl. Pfand`.
const REMARKS: &[&str] = &[
    "inkl",
    "incl",
    "inc",
    "including",
    "included",
    "exkl",
    "excl",
    "excluding",
    "zzgl",
    "plus",
    "mit",
    "ohne",
    "with",
    "without",
    "avec",
    "sans",
    "med",
    "uden",
    "uten",
    "utan",
    "con",
    "sin",
    "com",
    "sem",
];

/// Whether a name or a reason says that it is a deposit.
pub fn is_deposit(text: &str) -> bool {
    let key = name_key(text);
    let words: Vec<&str> = key.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
    words.iter().enumerate().any(|(n, word)| {
        let remark = n.checked_sub(1).is_some_and(|before| REMARKS.contains(&words[before]));
        !remark
            && WORDS.iter().any(|(known, stands)| match stands {
                Stands::Alone => word == known,
                Stands::First => word.starts_with(known),
                Stands::Last => word.ends_with(known),
                Stands::Within => word.contains(known),
            })
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn deposits_are_known_by_their_names() {
        for text in [
            "Pfand Keg 30 l",
            "Leergut Keg 30 l zurück",
            "KISTENPFAND 24er",
            "Flaskepant 33 cl",
            "Pant",
            "Keg deposit",
            "Empties returned",
            "Consignes fûts",
            "Statiegeld fust",
            "Cauzione fusto",
            "Záloha na přepravku",
        ] {
            assert!(is_deposit(text), "{text}");
        }
        for text in [
            "",
            "Hafenhell Keg 30 l",
            "Hafenhell inkl. Pfand",
            "Cider (without deposit)",
            "Consignment rum",
            "Elefant Gin",
            "Pantry vermouth",
            "Video",
        ] {
            assert!(!is_deposit(text), "{text}");
        }
    }
}
