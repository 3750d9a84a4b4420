//! What the system says: why it refuses a file, in words for people without numbers of errors, and where it thinks it is.

use std::io;

/// Why the system refused, as the end of a sentence: `there is no such file or folder`. Errors that this program made
/// say what they say.
pub fn words(error: &io::Error) -> String {
    use io::ErrorKind::{
        AlreadyExists, InvalidFilename, IsADirectory, NotADirectory, NotFound, PermissionDenied, QuotaExceeded,
        ReadOnlyFilesystem, ResourceBusy, StaleNetworkFileHandle, StorageFull, TimedOut,
    };
    // What says more than its kind was made by a program, and is read as it is.
    if error.get_ref().is_some() {
        return error.to_string();
    }
    let said = match error.kind() {
        NotFound => word!("there is no such file or folder"),
        PermissionDenied => word!("you are not allowed to read or write it; see whose it is"),
        IsADirectory => word!("it is a folder, not a file"),
        NotADirectory => word!("it is no folder, or it stands behind a name that is none"),
        AlreadyExists => word!("there is one already"),
        InvalidFilename => word!("the system takes no such name"),
        ReadOnlyFilesystem => word!("nothing can be written on this disk"),
        StorageFull => word!("the disk is full"),
        QuotaExceeded => word!("there is no room left for you on this disk"),
        ResourceBusy => word!("another program is using it; try again when it is done"),
        TimedOut | StaleNetworkFileHandle => word!("the disk or the network that it lies on does not answer"),
        _ => return numberless(&error.to_string()),
    };
    said.to_owned()
}

/// The system's own words without the number that it puts behind them.
fn numberless(said: &str) -> String {
    let words = said.rsplit_once(" (os error ").map_or(said, |(words, _)| words);
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_lowercase().chain(letters).collect())
}

/// The name of the zone that the clock runs in, such as `Europe/Lisbon`: as the terminal says it, else as the machine does.
pub fn zone() -> Option<String> {
    let said = std::env::var("TZ").ok().map(|zone| zone.trim_start_matches(':').to_owned());
    said.filter(|zone| !zone.is_empty()).or_else(|| iana_time_zone::get_timezone().ok())
}

/// Whether the terminal most likely has no other signs than ASCII: the console of Linux and old terminals, and wherever the
/// locale names another coding than UTF-8. Where nothing is said, it is a terminal of today.
pub fn shows_ascii_only() -> bool {
    let said = |name: &str| std::env::var(name).ok().filter(|value| !value.is_empty());
    let locale = ["LC_ALL", "LC_CTYPE", "LANG"].into_iter().find_map(said).unwrap_or_default();
    ascii_only(&said("TERM").unwrap_or_default(), &locale)
}

fn ascii_only(term: &str, locale: &str) -> bool {
    let old = matches!(term, "linux" | "dumb" | "ansi") || term.starts_with("vt");
    let coding = locale.split('@').next().and_then(|tag| tag.split_once('.')).map(|(_, coding)| coding.to_lowercase());
    old || coding.is_some_and(|coding| coding.replace('-', "") != "utf8")
}

/// The language that the machine speaks, as POSIX says it: of `de_AT.UTF-8` the `de`; none for `C` and `POSIX`.
pub fn language() -> Option<String> {
    let said = first_of(&["LC_ALL", "LC_MESSAGES", "LANG"])?;
    language_of(&said).map(str::to_owned)
}

fn language_of(locale: &str) -> Option<&str> {
    let tag = locale.split(['.', '@', '_', '-']).next()?;
    (matches!(tag.len(), 2 | 3) && tag.bytes().all(|b| b.is_ascii_lowercase())).then_some(tag)
}

/// The first of these variables that says anything: in the order in which they go before each other (POSIX.1-2024, XBD 8.2).
fn first_of(names: &[&str]) -> Option<String> {
    names.iter().find_map(|name| std::env::var(name).ok().filter(|value| !value.is_empty()))
}

/// The country whose formats the machine uses, by its two letters, as POSIX says it: `pt_PT.UTF-8` is `PT`.
pub fn country() -> Option<String> {
    let said = first_of(&["LC_ALL", "LC_MONETARY", "LANG"])?;
    country_of(&said).map(str::to_owned)
}

fn country_of(locale: &str) -> Option<&str> {
    let tag = locale.split(['.', '@']).next()?;
    let (_, country) = tag.split_once(['_', '-'])?;
    (country.len() == 2 && country.bytes().all(|b| b.is_ascii_alphabetic())).then_some(country)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_error_is_said_with_its_number() {
        for number in 1..=133 {
            let error = io::Error::from_raw_os_error(number);
            let said = words(&error);
            assert!(!said.is_empty() && !said.contains("os error"), "{number}: {said}");
        }
        // 5 is EIO on Linux and macOS (errno.h, from memory), which has no kind of its own.
        assert_eq!(words(&io::Error::from_raw_os_error(5)), "input/output error");
    }

    #[test]
    fn the_language_of_a_locale() {
        for (locale, language) in [
            ("de_AT.UTF-8", Some("de")),
            ("de", Some("de")),
            ("pt-PT", Some("pt")),
            ("nds_DE@euro", Some("nds")),
            ("C", None),
            ("C.UTF-8", None),
            ("POSIX", None),
            ("", None),
        ] {
            assert_eq!(language_of(locale), language, "{locale}");
        }
    }

    #[test]
    fn the_country_of_a_locale() {
        for (locale, country) in [
            ("pt_PT.UTF-8", Some("PT")),
            ("en_US", Some("US")),
            ("de-AT", Some("AT")),
            ("sr_RS@latin", Some("RS")),
            ("C.UTF-8", None),
            ("POSIX", None),
            ("es_419", None),
            ("", None),
        ] {
            assert_eq!(country_of(locale), country, "{locale}");
        }
    }

    #[test]
    fn what_happens_to_people_has_words_of_our_own() {
        for (kind, want) in [
            (io::ErrorKind::NotFound, "no such file"),
            (io::ErrorKind::PermissionDenied, "not allowed to read"),
            (io::ErrorKind::IsADirectory, "a folder, not a file"),
            (io::ErrorKind::StorageFull, "full"),
        ] {
            assert!(words(&kind.into()).contains(want), "{kind:?}");
        }
        assert_eq!(words(&io::Error::other("the archive is damaged")), "the archive is damaged");
    }
}
