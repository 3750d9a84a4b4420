//! What the screens say, in every language: that the template has every text of the source, that no catalogue lacks one, and
//! that what is filled in is filled in there too.
//!
//! `UPDATE_WORDS=1 cargo test --test words` writes the template anew and brings the catalogues up to it: what is said no more goes,
//! what is new comes in without a translation, which this test then asks for.

#![allow(clippy::unwrap_used)]

#[path = "support/demo.rs"]
mod demo;
#[path = "support/keys.rs"]
mod keys;
#[path = "support/said.rs"]
mod said;

use polib::po_file;
use said::{Text, names, texts};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;
use std::fs;
use std::path::{Path, PathBuf};
use tantalus::words::{Language, Speech, find};

/// One test of this file goes elsewhere, so every path is a whole one.
fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn folder() -> PathBuf {
    root().join("src/words")
}

/// What a catalogue may say of these otherwise than of the rest, as find_of asks for it: the heads of columns, the hints of keys,
/// and several of a thing.
const PLACES: &[&str] = &["head", "hint", "many"];

/// A text as gettext writes it.
fn quoted(text: &str) -> String {
    let escaped = text.replace('\\', "\\\\").replace('"', "\\\"").replace('\n', "\\n");
    format!("\"{escaped}\"")
}

/// The texts as a template or, with what is known of them, as a catalogue.
fn written(language: &str, texts: &[Text], known: &Catalogue) -> String {
    let mut out = format!(
        "msgid \"\"\nmsgstr \"\"\n\"Language: {language}\\n\"\n\"Content-Type: text/plain; charset=UTF-8\\n\"\n\
         \"Content-Transfer-Encoding: 8bit\\n\"\n"
    );
    for text in texts {
        let mut entry = |of: &str, said: &str| {
            writeln!(out, "\n#: {}", text.files.iter().cloned().collect::<Vec<_>>().join(" ")).unwrap();
            if let Some(most) = text.most {
                writeln!(out, "#. at most {most} cells").unwrap();
            }
            if !of.is_empty() {
                writeln!(out, "msgctxt {}", quoted(of)).unwrap();
            }
            writeln!(out, "msgid {}\nmsgstr {}", quoted(&text.text), quoted(said)).unwrap();
        };
        entry(&text.of, known.get(&(text.of.clone(), text.text.clone())).map_or("", String::as_str));
        for ((of, _), said) in known.iter().filter(|((of, id), _)| *id == text.text && PLACES.contains(&of.as_str())) {
            entry(of, said);
        }
    }
    out
}

/// From what a text is said of, if of anything, and the text to how it is said.
type Catalogue = BTreeMap<(String, String), String>;

fn catalogue(language: Language) -> Catalogue {
    let path = folder().join(format!("{}.po", language.tag()));
    let read = po_file::parse(&path).unwrap();
    let known = read.messages().filter(|message| message.is_translated());
    let said = known.map(|message| {
        let of = message.msgctxt().unwrap_or_default().to_owned();
        ((of, message.msgid().to_owned()), message.msgstr().unwrap().to_owned())
    });
    said.collect()
}

fn others() -> impl Iterator<Item = Language> {
    Language::ALL.iter().copied().filter(|language| *language != Language::English)
}

#[test]
fn the_template_has_every_text_and_nothing_else() {
    let texts = texts(root());
    assert!(texts.len() > 2_000, "{} texts are not all that the screens say", texts.len());
    let template = folder().join("template.pot");
    if std::env::var_os("UPDATE_WORDS").is_some() {
        fs::write(&template, written("", &texts, &BTreeMap::new())).unwrap();
        for language in others() {
            let path = folder().join(format!("{}.po", language.tag()));
            fs::write(&path, written(language.tag(), &texts, &catalogue(language))).unwrap();
        }
    }
    let there = fs::read_to_string(&template).unwrap();
    assert!(
        there == written("", &texts, &BTreeMap::new()),
        "{} is not what the source says: UPDATE_WORDS=1 cargo test --test words writes it anew",
        template.display()
    );
}

#[test]
fn every_catalogue_says_all_of_it_with_the_same_names_and_no_longer_than_there_is_room() {
    let texts = texts(root());
    for language in others() {
        let known = catalogue(language);
        let mut wrong = Vec::new();
        for text in &texts {
            let Some(said) = known.get(&(text.of.clone(), text.text.clone())).filter(|said| !said.trim().is_empty())
            else {
                wrong.push(format!("not said: {}", text.text));
                continue;
            };
            if names(said) != names(&text.text) {
                wrong.push(format!("other names: {} / {said}", text.text));
            }
            let blanks = |text: &str| (text.starts_with(' '), text.ends_with(' '));
            if blanks(said) != blanks(&text.text) {
                wrong.push(format!("other blanks at its ends: “{}” / “{said}”", text.text));
            }
            if text.most.is_some_and(|most| said.chars().count() > most) {
                wrong.push(format!("too long: {said}"));
            }
        }
        let is_said = |(of, id): &(String, String)| {
            texts.iter().any(|text| text.text == *id && (text.of == *of || PLACES.contains(&of.as_str())))
        };
        wrong.extend(known.keys().filter(|key| !is_said(key)).map(|(of, id)| format!("said no more: {of} {id}")));
        assert!(wrong.is_empty(), "{language:?}:\n{}", wrong.join("\n"));
    }
}

#[test]
fn what_is_said_on_a_thread_is_in_its_own_language() {
    let known = catalogue(Language::German);
    let ((_, text), said) = known.iter().find(|((of, text), said)| of.is_empty() && text != *said).unwrap();
    let text: &'static str = text.clone().leak();
    assert_eq!(find(text), text);
    Speech::of_tag("de-AT").while_in(|| assert_eq!(find(text), said));
    assert_eq!(find(text), text);
    Speech::of_tag("de").speak();
    let theirs = std::thread::spawn(move || find(text)).join().unwrap();
    assert_eq!((theirs, find(text)), (text, said.as_str()));
}

/// The words of a text: letters that stand together, three at least.
fn words_of(text: &str) -> impl Iterator<Item = &str> {
    text.split(|c: char| !c.is_alphabetic()).filter(|word| word.chars().count() > 2)
}

/// The words of all that is no text of the screens: of the demo bar, of what is typed on the ways, of names of files.
fn data() -> BTreeSet<String> {
    let mut out = BTreeSet::new();
    let mut folders = vec![root().join("demo-data"), root().join("tests/samples")];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            out.extend(words_of(&path.file_name().unwrap().to_string_lossy()).map(str::to_owned));
            match path.is_dir() {
                true => folders.push(path),
                false => {
                    let bytes = fs::read(&path).unwrap();
                    out.extend(words_of(&String::from_utf8_lossy(&bytes)).map(str::to_owned));
                }
            }
        }
    }
    out.extend(words_of(include_str!("support/keys.rs")).map(str::to_owned));
    out
}

#[test]
fn no_english_is_left_on_the_screens_of_another_language() {
    let known = catalogue(Language::German);
    let german: BTreeSet<&str> = known.values().flat_map(|said| words_of(said)).collect();
    let english: BTreeSet<&str> = known.keys().flat_map(|(_, text)| words_of(text)).collect();
    let data = data();
    let mut left: BTreeMap<String, String> = BTreeMap::new();
    keys::along("de-AT", |way, lines| {
        for line in lines {
            for word in words_of(line) {
                if english.contains(word) && !german.contains(word) && !data.contains(word) {
                    left.entry(word.to_owned()).or_insert_with(|| format!("{way}: {}", line.trim()));
                }
            }
        }
    });
    let told: Vec<String> = left.iter().map(|(word, line)| format!("{word}: {line}")).collect();
    assert!(told.is_empty(), "{} words:\n{}", told.len(), told.join("\n"));
}
