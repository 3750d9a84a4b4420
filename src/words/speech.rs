//! Which language is spoken on a thread, and how figures are written there.

use icu_decimal::DecimalFormatter;
use icu_decimal::input::Decimal;
use icu_locale_core::Locale;
use std::cell::Cell;

/// A language that the screens speak.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Language {
    /// English, in which the texts are written.
    #[default]
    English,
    /// German.
    German,
}

impl Language {
    /// Every one.
    pub const ALL: &'static [Language] = &[Language::English, Language::German];

    /// Its subtag of BCP 47.
    pub fn tag(self) -> &'static str {
        match self {
            Language::English => "en",
            Language::German => "de",
        }
    }

    /// What it calls itself.
    pub const fn name(self) -> &'static str {
        match self {
            Language::English => "English",
            Language::German => "Deutsch",
        }
    }

    /// The language of a tag, such as `de-AT`; `None` where the screens do not speak it.
    pub fn of_tag(tag: &str) -> Option<Language> {
        let first = tag.split(['-', '_', '.']).next().unwrap_or_default();
        Language::ALL.iter().copied().find(|language| language.tag().eq_ignore_ascii_case(first))
    }

    /// The language that is called so, by itself or in English.
    pub fn named(name: &str) -> Option<Language> {
        let name = name.trim().to_lowercase();
        let called = |language: &Language| [language.name(), language.english_name()].map(str::to_lowercase);
        Language::ALL.iter().copied().find(|language| called(language).contains(&name))
    }

    /// What English calls it.
    pub const fn english_name(self) -> &'static str {
        match self {
            Language::English => "English",
            Language::German => "German",
        }
    }

    /// Its tag in the country of another tag: German in that of `en-IE` is `de-IE`.
    pub fn in_the_country_of(self, tag: &str) -> String {
        self.in_country(tag.split(['-', '_']).skip(1).find(|part| part.len() == 2))
    }

    /// Its tag in a country of ISO 3166, where one is said.
    pub fn in_country(self, country: Option<&str>) -> String {
        country.map_or(self.tag().to_owned(), |country| format!("{}-{}", self.tag(), country.to_uppercase()))
    }

    /// What stands before and after a text of somebody else.
    pub(super) fn quotes(self) -> (&'static str, &'static str) {
        match self {
            Language::English => ("“", "”"),
            Language::German => ("„", "“"),
        }
    }

    /// Whose names of days and months it uses.
    pub(super) fn calendar(self) -> chrono::Locale {
        match self {
            Language::English => chrono::Locale::POSIX,
            Language::German => chrono::Locale::de_DE,
        }
    }
}

/// What is spoken, and the decimal mark of figures.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Speech {
    /// The language of texts, days and months.
    pub language: Language,
    /// Figures have a comma where the decimals begin; a point otherwise.
    pub comma: bool,
}

thread_local! {
    static HERE: Cell<Speech> = const { Cell::new(Speech::PLAIN) };
}

impl Speech {
    /// As files and commands speak: English, with a point.
    pub const PLAIN: Speech = Speech { language: Language::English, comma: false };

    /// That of a tag of BCP 47 (RFC 5646) such as `de-AT`: the language as far as the screens speak it, otherwise English, and the
    /// decimal mark that the Unicode CLDR has for the tag, a point where it is no tag.
    pub fn of_tag(tag: &str) -> Speech {
        Speech { language: Language::of_tag(tag).unwrap_or(Language::English), comma: has_comma(tag) }
    }

    /// What is spoken on this thread.
    pub fn here() -> Speech {
        HERE.get()
    }

    /// From now on this is spoken on this thread.
    pub fn speak(self) {
        HERE.set(self);
    }

    /// Does something while this is spoken, and goes back to what was spoken before.
    pub fn while_in<T>(self, act: impl FnOnce() -> T) -> T {
        let before = HERE.replace(self);
        let done = act();
        HERE.set(before);
        done
    }
}

fn has_comma(tag: &str) -> bool {
    let Ok(locale) = tag.parse::<Locale>() else { return false };
    let half =
        Decimal::try_from_str("0.5").ok().zip(DecimalFormatter::try_new((&locale).into(), Default::default()).ok());
    half.is_some_and(|(half, formatter)| formatter.format(&half).to_string().contains(','))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source of the marks: Unicode CLDR 49, as the reference library Babel 2.19 (Python) gives them by `get_decimal_symbol`.
    #[test]
    fn the_decimal_mark_of_a_tag() {
        let marks = [
            (
                ",",
                "en-ZA en-DE en-AT en-PT de-DE de-AT de-LU fr-FR fr-CH fr-CA it-IT es-ES es-AR pt-PT pt-BR nl-NL da-DK nb-NO",
            ),
            (",", "sv-SE fi-FI pl-PL cs-CZ tr-TR el-GR ru-RU"),
            (".", "en-IE en-GB en-US en-AU en-CH en-150 de-CH de-LI it-CH es-MX ja-JP ko-KR he-IL th-TH"),
        ];
        for (mark, tags) in marks {
            for tag in tags.split(' ') {
                assert_eq!(Speech::of_tag(tag).comma, mark == ",", "{tag}");
            }
        }
        for (tag, comma) in [("de", true), ("en", false), ("", false), ("no tag at all", false), ("de-Latn-AT", true)] {
            assert_eq!(Speech::of_tag(tag).comma, comma, "{tag}");
        }
    }

    #[test]
    fn the_language_of_a_tag() {
        for (tag, language) in [
            ("de-AT", Language::German),
            ("DE", Language::German),
            ("de", Language::German),
            ("en-IE", Language::English),
            // Not spoken here.
            ("pt-PT", Language::English),
            ("deu", Language::English),
            ("", Language::English),
        ] {
            assert_eq!(Speech::of_tag(tag).language, language, "{tag}");
        }
        for language in Language::ALL {
            assert_eq!(Language::of_tag(language.tag()), Some(*language));
            assert_eq!(Language::named(&language.name().to_uppercase()), Some(*language));
        }
    }

    #[test]
    fn a_language_by_its_name_keeps_the_country() {
        for (name, tag, want) in [
            ("Deutsch", "en-IE", Some("de-IE")),
            (" german ", "en", Some("de")),
            ("English", "de-Latn-AT", Some("en-AT")),
            ("de-AT", "en-IE", None),
            ("Volapük", "en-IE", None),
        ] {
            let language = Language::named(name).map(|language| language.in_the_country_of(tag));
            assert_eq!(language.as_deref(), want, "{name}");
        }
    }

    #[test]
    fn what_is_spoken_ends_where_it_is_said_to() {
        let german = Speech::of_tag("de");
        assert_eq!(german.while_in(|| (Speech::here(), Speech::PLAIN.while_in(Speech::here))), (german, Speech::PLAIN));
        assert_eq!(Speech::here(), Speech::PLAIN);
    }
}
