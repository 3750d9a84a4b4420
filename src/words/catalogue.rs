//! The texts of the other languages, out of their catalogues.

use super::Language;
use polib::po_file;
use std::borrow::Cow;
use std::collections::HashMap;
use std::sync::OnceLock;

/// From what it is said of, if of anything, and the English text to the one of the language.
pub(super) type Texts = HashMap<(Cow<'static, str>, Cow<'static, str>), &'static str>;

/// Under what a text is looked up.
pub(super) fn key<'a>(of: &'a str, text: &'a str) -> (Cow<'a, str>, Cow<'a, str>) {
    (of.into(), text.into())
}

/// The texts of a language; none of English, which stands where it is said.
pub(super) fn of(language: Language) -> Option<&'static Texts> {
    static GERMAN: OnceLock<Texts> = OnceLock::new();
    match language {
        Language::English => None,
        Language::German => Some(GERMAN.get_or_init(|| read(include_str!("de.po")))),
    }
}

/// A catalogue that cannot be read is none: the tests read every one.
fn read(text: &str) -> Texts {
    let Ok(catalogue) = po_file::parse_from_reader(text.as_bytes()) else {
        return Texts::new();
    };
    let known = catalogue.messages().filter(|message| message.is_translated() && !message.is_fuzzy());
    // A catalogue is read once in a run and spoken to its end.
    let kept = |text: &str| -> &'static str { Box::leak(text.to_owned().into_boxed_str()) };
    known
        .filter_map(|message| {
            let of = message.msgctxt().unwrap_or_default().to_owned();
            Some(((of.into(), message.msgid().to_owned().into()), kept(message.msgstr().ok()?)))
        })
        .collect()
}
