//! What the program says, in the language and with the figures of whoever reads it.
//!
//! The texts stand in English where they are said, as `say!` and `word!`; other languages are catalogues beside this file, in
//! the form of gettext. What no catalogue knows is said in English. Files, commands and what programs read stay as they are: only
//! what has said [`Speech::speak`] on its own thread speaks otherwise.

mod catalogue;
mod figures;
mod speech;

pub use figures::{day, fixed, in_english, number, quoted, signed, weekday};
pub use speech::{Language, Speech};

/// A sentence with what is filled in: `say!("{n} of {all} are counted", n, all = lines.len())`. Every name in the text is given a
/// value; in another language the names may stand in another order.
#[macro_export]
macro_rules! say {
    ($text:literal $(,)?) => {
        $crate::words::find($text).to_owned()
    };
    ($text:literal, $($name:ident $(= $value:expr)?),+ $(,)?) => {
        match $crate::words::translated($text) {
            None => ::std::format!($text, $($name = $crate::said_value!($name $(= $value)?)),+),
            Some(text) => $crate::words::filled(
                text,
                &[$((::std::stringify!($name), &$crate::said_value!($name $(= $value)?) as &dyn ::std::fmt::Display)),+],
            ),
        }
    };
}

/// The value of one name of `say!`.
#[doc(hidden)]
#[macro_export]
macro_rules! said_value {
    ($name:ident) => {
        $name
    };
    ($name:ident = $value:expr) => {
        $value
    };
}

/// A text without anything to fill in, as it is said here; `word!("pours" => "light")` where the same word of English is another
/// elsewhere.
#[macro_export]
macro_rules! word {
    ($text:literal $(,)?) => {
        $crate::words::find($text)
    };
    ($of:literal => $text:literal) => {
        $crate::words::find_of($of, $text)
    };
}

/// A text that stands in a table and is said elsewhere, by [`find`]: it is only marked as one here.
#[macro_export]
macro_rules! text {
    ($text:literal $(,)?) => {
        $text
    };
}

/// A text as it is said here; as it is where the catalogue does not know it, or where English is spoken.
pub fn find(text: &'static str) -> &'static str {
    translated(text).unwrap_or(text)
}

/// The same of a text that is said otherwise of some things, such as `head` of columns or `hint` of keys: as the catalogue has it
/// of these, or else as it has it of anything.
pub fn find_of(of: &str, text: &'static str) -> &'static str {
    translated_of(of, text).unwrap_or_else(|| find(text))
}

/// The text in the language spoken here; `None` where that is English or the text is not known in it.
pub fn translated(text: &str) -> Option<&'static str> {
    translated_of("", text)
}

/// The same as it is said of some things only.
pub fn translated_of(of: &str, text: &str) -> Option<&'static str> {
    catalogue::of(Speech::here().language)?.get(&catalogue::key(of, text)).copied()
}

/// The text with its names, `{so}`, filled in; a name that nothing is known of stays.
#[doc(hidden)]
pub fn filled(text: &str, values: &[(&str, &dyn std::fmt::Display)]) -> String {
    let mut out = String::with_capacity(text.len() + 16);
    let mut rest = text;
    while let Some(at) = rest.find('{') {
        out.push_str(&rest[..at]);
        let after = &rest[at + 1..];
        let name = after.find('}').map(|end| &after[..end]);
        match name.and_then(|name| values.iter().find(|(known, _)| *known == name)) {
            Some((name, value)) => {
                out.push_str(&value.to_string());
                rest = &after[name.len() + 1..];
            }
            None => {
                out.push('{');
                rest = after;
            }
        }
    }
    out.push_str(rest);
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_filled_in_wherever_they_stand() {
        let n = 3;
        assert_eq!(say!("{n} of {all}", n, all = "five"), "3 of five");
        let values: &[(&str, &dyn std::fmt::Display)] = &[("n", &n), ("all", &"{n}")];
        for (text, want) in [
            ("von {all} sind es {n}", "von {n} sind es 3"),
            ("{n}{n}", "33"),
            ("{more} und {n", "{more} und {n"),
            ("nichts", "nichts"),
        ] {
            assert_eq!(filled(text, values), want);
        }
    }
}
