//! Whatever a file holds, a reader of till exports ends with an error in words or with lines that can be kept.
//!
//! `PROPTEST_CASES=100000 cargo test --release --test till_exports_any` tries longer.

#![allow(clippy::unwrap_used)]

#[path = "support/till.rs"]
mod till;

use proptest::prelude::*;
use std::collections::HashSet;
use std::fs;
use std::path::Path;
use tantalus::exchange::plain::checked;
use tantalus::exchange::sniff::{What, sniff};
use tantalus::exchange::till as readers;
use till::{Taken, sample, terms};

const KINDS: [What; 4] = [What::Dsfinvk, What::SaftCash, What::Xaa, What::SaftPt];
/// Pieces that mean something to one reader or another.
const PIECES: &[&str] = &[
    "<",
    ">",
    "</",
    "/>",
    "&",
    "&amp;",
    "&#0;",
    "&#x110000;",
    "&lol;",
    "]]>",
    "<![CDATA[",
    "<!--",
    "<!DOCTYPE a [<!ENTITY b 'c'>]>",
    "<?xml version='1.0' encoding='utf-16'?>",
    "<ctLine>",
    "</ctLine>",
    "<cashtransaction>",
    "<qnt>-0.0000001</qnt>",
    "<a xmlns='x'>",
    ";",
    "\"",
    "\"\"",
    "\r\n",
    "\n",
    "\r",
    "\0",
    "\u{feff}",
    "-",
    ",",
    ".",
    "1.000,00",
    "-9223372036854775808",
    "999999999999",
    "1e99",
    "2026-03-29T02:30:00",
    "2026-10-25T02:30:00+14:00",
    "9999-12-31T23:59:60Z",
    "0000-00-00",
    "=cmd|'/C'!A0",
    "\u{202e}",
    "\u{1b}[2J",
    "Umsatz",
    "Rabatt",
    "AVTraining",
    "true",
    "index.xml",
    "PK\u{3}\u{4}",
];

fn cases() -> ProptestConfig {
    let cases = std::env::var("PROPTEST_CASES").ok().and_then(|cases| cases.parse().ok()).unwrap_or(60);
    ProptestConfig { cases, failure_persistence: None, max_shrink_iters: 2_000, ..ProptestConfig::default() }
}

#[derive(Clone, Debug)]
enum Change {
    Flip(prop::sample::Index, u8),
    Cut(prop::sample::Index),
    Insert(prop::sample::Index, Vec<u8>),
    Piece(prop::sample::Index, &'static str),
    Replace(prop::sample::Index, &'static str),
    Remove(prop::sample::Index, usize),
    Repeat(prop::sample::Index, usize, prop::sample::Index),
    Double(prop::sample::Index, usize, usize),
}

fn change() -> impl Strategy<Value = Change> {
    let at = any::<prop::sample::Index>;
    let piece = || prop::sample::select(PIECES);
    prop_oneof![
        3 => (at(), any::<u8>()).prop_map(|(at, bits)| Change::Flip(at, bits)),
        1 => at().prop_map(Change::Cut),
        2 => (at(), prop::collection::vec(any::<u8>(), 0..20)).prop_map(|(at, bytes)| Change::Insert(at, bytes)),
        4 => (at(), piece()).prop_map(|(at, piece)| Change::Piece(at, piece)),
        4 => (at(), piece()).prop_map(|(at, piece)| Change::Replace(at, piece)),
        2 => (at(), 0_usize..400).prop_map(|(at, many)| Change::Remove(at, many)),
        2 => (at(), 0_usize..2_000, at()).prop_map(|(from, many, to)| Change::Repeat(from, many, to)),
        1 => (at(), 1_usize..200, 1_usize..400).prop_map(|(from, many, times)| Change::Double(from, many, times)),
    ]
}

fn changed(mut bytes: Vec<u8>, changes: &[Change]) -> Vec<u8> {
    for change in changes {
        if bytes.is_empty() {
            break;
        }
        let size = bytes.len();
        let part = |from: usize, many: usize| from..(from + many).min(size);
        match change {
            Change::Flip(at, bits) => bytes[at.index(size)] ^= bits,
            Change::Cut(at) => bytes.truncate(at.index(size)),
            Change::Insert(at, more) => {
                let at = at.index(size);
                bytes.splice(at..at, more.iter().copied());
            }
            Change::Piece(at, piece) => {
                let at = at.index(size);
                bytes.splice(at..at, piece.bytes());
            }
            Change::Replace(at, piece) => {
                // A whole cell or text: from one mark to the next.
                let mark = |byte: &u8| matches!(byte, b';' | b'<' | b'>' | b'\n');
                let from = at.index(size);
                let from = bytes[..from].iter().rposition(mark).map_or(0, |at| at + 1);
                let to = bytes[from..].iter().position(mark).map_or(size, |many| from + many);
                bytes.splice(from..to, piece.bytes());
            }
            Change::Remove(at, many) => {
                bytes.drain(part(at.index(size), *many));
            }
            Change::Repeat(from, many, to) => {
                let copy = bytes[part(from.index(size), *many)].to_vec();
                let to = to.index(size);
                bytes.splice(to..to, copy);
            }
            Change::Double(from, many, times) => {
                let copy = bytes[part(from.index(size), *many)].repeat(*times);
                let at = from.index(size);
                bytes.splice(at..at, copy);
            }
        }
    }
    bytes
}

/// Reads by every reader that it may be for, and by the one that it is.
fn hold(path: &Path) -> Result<(), TestCaseError> {
    let found = sniff(path);
    if let Err(error) = &found {
        prop_assert!(!error.to_string().chars().any(char::is_control), "{error:?}");
    }
    if let Ok(What::Nothing(why)) = &found {
        prop_assert!(!why.chars().any(char::is_control), "{why:?}");
    }
    for what in KINDS.iter().chain(found.iter()) {
        for coin in ["EUR", "NOK", "DKK"] {
            let mut taken = Taken::default();
            let terms = terms(coin, "Europe/Berlin");
            match readers::read(path, what, &terms, &mut taken) {
                Ok(passed) => taken.passed = passed,
                Err(error) => prop_assert!(!error.to_string().chars().any(char::is_control), "{error:?}"),
            }
            let mut keys = HashSet::new();
            for rung in &taken.lines {
                prop_assert_eq!(checked(&rung.sold_as), Ok(rung.sold_as.clone()));
                prop_assert_eq!(checked(&rung.receipt), Ok(rung.receipt.clone()));
                prop_assert!(!rung.sold_as.is_empty() && !rung.receipt.is_empty());
                prop_assert!(rung.at <= terms.until);
                prop_assert_eq!(rung.goods, rung.quantity != 0);
                prop_assert!(keys.insert((&rung.receipt, rung.line)), "a line twice: {:?}", rung);
            }
            for said in taken.passed.warnings.iter().chain(&taken.passed.from) {
                prop_assert!(!said.chars().any(char::is_control), "{said:?}");
            }
        }
    }
    Ok(())
}

const FILES: &[&str] = &[
    "dsfinvk-zwei-abschluesse.zip",
    "saft-no-kassasystem.xml",
    "saft-dk-kassesystem.xml",
    "xaa-ungeprueft.xml",
    "saft-pt-faturas.xml",
];
const TABLES: &[&str] = &[
    "index.xml",
    "lines.csv",
    "lines_vat.csv",
    "transactions.csv",
    "cashpointclosing.csv",
    "cashregister.csv",
    "vat.csv",
];

/// The big sample as a folder.
fn unpacked(home: &Path) {
    let file = fs::File::open(sample("dsfinvk-zwei-abschluesse.zip")).unwrap();
    let mut archive = zip::ZipArchive::new(file).unwrap();
    for n in 0..archive.len() {
        let mut member = archive.by_index(n).unwrap();
        let mut out = fs::File::create(home.join(member.name().unwrap().as_ref())).unwrap();
        std::io::copy(&mut member, &mut out).unwrap();
    }
}

proptest! {
    #![proptest_config(cases())]

    #[test]
    fn any_bytes_end_in_words_or_lines(bytes in prop::collection::vec(any::<u8>(), 0..3_000), mark in prop::sample::select(PIECES)) {
        let home = tempfile::tempdir().unwrap();
        let path = home.path().join("file");
        fs::write(&path, [mark.as_bytes(), &bytes].concat()).unwrap();
        hold(&path)?;
    }

    #[test]
    fn any_pieces_end_in_words_or_lines(pieces in prop::collection::vec(prop::sample::select(PIECES), 0..200)) {
        let home = tempfile::tempdir().unwrap();
        let path = home.path().join("file");
        fs::write(&path, pieces.concat()).unwrap();
        hold(&path)?;
    }

    #[test]
    fn a_changed_file_ends_in_words_or_lines(name in prop::sample::select(FILES), changes in prop::collection::vec(change(), 1..6)) {
        let home = tempfile::tempdir().unwrap();
        let path = home.path().join("file");
        fs::write(&path, changed(fs::read(sample(name)).unwrap(), &changes)).unwrap();
        hold(&path)?;
    }

    #[test]
    fn a_folder_with_changed_tables_ends_in_words_or_lines(
        changes in prop::collection::vec((prop::sample::select(TABLES), prop::collection::vec(change(), 1..4)), 1..3)
    ) {
        let home = tempfile::tempdir().unwrap();
        unpacked(home.path());
        for (name, changes) in &changes {
            let path = home.path().join(name);
            fs::write(&path, changed(fs::read(&path).unwrap(), changes)).unwrap();
        }
        hold(home.path())?;
    }
}
