//! Files of others: what tills and suppliers write, archives, and sheets typed in.

use super::held::{NOW, days, harmless, laid_down, sources};
use std::collections::HashSet;
use std::fs;
use std::io::Read;
use std::path::Path;
use tantalus::desk;
use tantalus::domain::measure::Currency;
use tantalus::domain::rows::CountSheet;
use tantalus::domain::till::Field;
use tantalus::domain::venue::Setup;
use tantalus::exchange::archive::Bundle;
use tantalus::exchange::plain::checked;
use tantalus::exchange::sniff::{What, sniff};
use tantalus::exchange::till::{self, Passed, Rung, Taker, Terms, table};
use tantalus::exchange::{Passage, ReadError, invoice};

/// Of what a member holds, so much is looked at: enough to reach everything that is read.
const ENOUGH: u64 = 1 << 20;

#[derive(Default)]
struct Taken(Vec<Rung>);

impl Taker for Taken {
    type Error = ReadError;

    fn take(&mut self, line: Rung) -> Result<(), ReadError> {
        self.0.push(line);
        Ok(())
    }

    fn pace(&mut self, read: u64, of: u64) -> Result<(), ReadError> {
        assert!(read <= of, "{read} of {of}");
        Ok(())
    }
}

fn terms(coin: &str) -> Terms {
    let currency: Currency = coin.parse().expect("a coin");
    Terms { currency, days: days(), until: NOW }
}

/// Lines as they may be kept. A table that numbers its lines itself may say a number twice; the book takes none of it then.
fn kept(taken: &Taken, terms: &Terms, numbered: bool) {
    let mut keys = HashSet::new();
    for rung in &taken.0 {
        assert_eq!(checked(&rung.sold_as), Ok(rung.sold_as.clone()));
        assert_eq!(checked(&rung.receipt), Ok(rung.receipt.clone()));
        assert!(!rung.sold_as.is_empty() && !rung.receipt.is_empty(), "{rung:?}");
        assert!(rung.at <= terms.until, "{rung:?}");
        assert_eq!(rung.goods, rung.quantity != 0, "{rung:?}");
        assert!(keys.insert((&rung.receipt, rung.line)) || numbered, "a line twice: {rung:?}");
    }
}

fn passed(read: Result<Passed, ReadError>) {
    match read {
        Ok(passed) => passed.warnings.iter().chain(&passed.from).for_each(|said| harmless(said)),
        Err(refused) => harmless(&refused.to_string()),
    }
}

fn by_each_reader(path: &Path) {
    let found = sniff(path);
    match &found {
        Err(refused) => harmless(&refused.to_string()),
        Ok(What::Nothing(why)) => harmless(why),
        Ok(_) => {}
    }
    let readers = [What::Dsfinvk, What::SaftCash, What::Xaa, What::SaftPt];
    for what in readers.iter().chain(&found) {
        for coin in ["EUR", "NOK"] {
            let (terms, mut taken) = (terms(coin), Taken::default());
            passed(till::read(path, what, &terms, &mut taken));
            kept(&taken, &terms, false);
        }
    }
}

/// An export of a till in one file: SAF-T, XAF, or a zip archive.
pub fn till_export(bytes: &[u8]) {
    let (_folder, path) = laid_down("export", bytes);
    by_each_reader(&path);
}

/// An export of a till in many files: each after a line `=== name`.
pub fn till_folder(bytes: &[u8]) {
    let folder = tempfile::tempdir().expect("a folder");
    let text = bytes.split(|byte| *byte == b'\n').collect::<Vec<_>>();
    let mut files = 0;
    for part in text.split(|line| line.starts_with(b"=== ")).skip(1).zip(text.iter().filter(|l| l.starts_with(b"=== ")))
    {
        let (lines, head) = part;
        let name: String = String::from_utf8_lossy(&head[4..])
            .chars()
            .filter(|c| c.is_ascii_alphanumeric() || "._-".contains(*c))
            .collect();
        if !name.trim_matches('.').is_empty() && name.len() < 100 && files < 40 {
            fs::write(folder.path().join(name), lines.join(&b'\n')).expect("a file");
            files += 1;
        }
    }
    by_each_reader(folder.path());
}

/// A table of a till: looked at, shown, and read as it was guessed.
pub fn till_table(bytes: &[u8]) {
    let (_folder, path) = laid_down("table.csv", bytes);
    let terms = terms("EUR");
    let look = match table::look(&path, &terms) {
        Ok(look) => look,
        Err(refused) => return harmless(&refused.to_string()),
    };
    look.heads.iter().for_each(|head| assert!(!head.chars().any(char::is_control), "{head:?}"));
    look.guesses.iter().for_each(|guess| assert!((0.0..=1.0).contains(&guess.sure), "{}", guess.why));
    look.questions.iter().for_each(|question| harmless(&question.asks));
    match table::preview(&path, &look.layout, look.day, &terms) {
        Ok(preview) => preview.questions.iter().for_each(|question| harmless(&question.asks)),
        Err(refused) => harmless(&refused.to_string()),
    }
    for day in [look.day, chrono::NaiveDate::from_ymd_opt(2026, 11, 20)] {
        let mut taken = Taken::default();
        let read = table::read(&path, &look.layout, day, &terms, &mut taken);
        // Who is refused keeps none of the lines.
        if read.is_ok() {
            kept(&taken, &terms, look.layout.column(Field::Line).is_some());
        }
        passed(read);
    }
}

/// An archive: every member is read to its end, or refused in words.
pub fn archive(bytes: &[u8]) {
    let (_folder, path) = laid_down("archive.zip", bytes);
    let bundle = match Bundle::open(&path) {
        Ok(bundle) => bundle,
        Err(refused) => return harmless(&refused.to_string()),
    };
    for entry in bundle.entries() {
        let passage = Passage::default();
        match bundle.read(entry, &passage) {
            Ok(reader) => {
                let mut out = Vec::new();
                // A member that is not what the archive says of it ends with an error.
                if let Ok(read) = reader.take(ENOUGH).read_to_end(&mut out) {
                    assert!(read as u64 <= entry.size.max(bytes.len() as u64), "{} of {}", read, entry.size);
                }
            }
            Err(refused) => harmless(&refused.to_string()),
        }
    }
}

/// A supplier's bill: UBL, CII, or a PDF with one of them inside.
pub fn bill(bytes: &[u8]) {
    match invoice::read_bytes(Path::new("bill"), bytes) {
        Ok(invoice) => {
            assert!(!invoice.lines.is_empty(), "a bill without lines");
            let said = format!("{} {} {}", invoice.number, invoice.seller.name, invoice.lines[0].name);
            assert!(!said.chars().any(char::is_control), "{said:?}");
        }
        Err(refused) => harmless(&refused.to_string()),
    }
}

thread_local! {
    static PAPER: (CountSheet, Setup) = paper();
}

/// A sheet of the whole of a small bar.
fn paper() -> (CountSheet, Setup) {
    let folder = tempfile::tempdir().expect("a folder");
    let good = sources().join("tests/good_folder");
    let made = desk::init::init_from(&folder.path().join("book"), &good, NOW, &mut desk::unwatched);
    let (store, _) = made.unwrap_or_else(|refused| panic!("the good folder: {refused}"));
    let setup = desk::comparing::setup(&store).unwrap_or_else(|refused| panic!("the set-up: {refused}"));
    let places: Vec<_> = setup.places.iter().map(|place| place.id).collect();
    let sheet = CountSheet::new(&setup, &places, setup.venue.days.day_of(NOW));
    (sheet, Setup::clone(&setup))
}

/// A sheet that was filled in by hand, typed in: each line is right or wrong, and says so once.
pub fn filled(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    PAPER.with(|(sheet, setup)| {
        for numbered in [true, false] {
            let (lines, faults) = tantalus::exchange::filled::read(text, sheet, setup, numbered);
            assert!(lines.is_sorted_by_key(|line| line.line) && faults.is_sorted_by_key(|fault| fault.line));
            faults.iter().for_each(|fault| harmless(&fault.what));
        }
    });
}
