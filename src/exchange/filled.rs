//! A count sheet that was filled in by hand, as plain text: `number entry` a line.

use super::ReadError;
use super::plain::{legible, tamed};
use crate::domain::gauge::Entry;
use crate::domain::rows::{CountSheet, PaperPlace, entry_on_paper};
use crate::domain::venue::{CountBy, ItemId, PlaceId, Setup, name_key, one_line};
use std::collections::HashMap;
use std::io::{self, Read};
use std::path::Path;

/// More than any sheet has.
const LARGEST: u64 = 1 << 20;
/// So much of what was read is said again in a fault.
const TOLD: usize = 40;

/// What one line says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FilledLine {
    /// Where it stands in the text, counted from 1.
    pub line: usize,
    /// The place.
    pub place: PlaceId,
    /// The item.
    pub item: ItemId,
    /// What was counted.
    pub entry: Entry,
}

/// What is wrong with one line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FilledFault {
    /// Where it stands in the text, counted from 1.
    pub line: usize,
    /// What was read and what was expected.
    pub what: String,
}

/// The text of a file; of standard input where the path is `-`.
///
/// # Errors
/// [`ReadError`]: it cannot be read, is larger than any sheet, or is no UTF-8.
pub fn text_of(path: &Path) -> Result<String, ReadError> {
    let failed = |error: io::Error| {
        ReadError::new(path, say!("it cannot be read: {error}", error = crate::system::words(&error)))
    };
    let mut bytes = Vec::new();
    if path == Path::new("-") {
        io::stdin().lock().take(LARGEST + 1).read_to_end(&mut bytes).map_err(failed)?;
    } else {
        super::opening::file(path).and_then(|file| file.take(LARGEST + 1).read_to_end(&mut bytes)).map_err(failed)?;
    }
    if bytes.len() as u64 > LARGEST {
        return Err(ReadError::new(path, word!("it is larger than any count sheet; expected lines such as “17 2.4”")));
    }
    let text = String::from_utf8(bytes);
    text.map_err(|_| ReadError::new(path, word!("it is no plain text in UTF-8; save it as that")))
}

/// Reads lines of a number on the sheet and what was counted there: `17 2 .4`, `17: 2.4`. The name of an item may stand
/// instead of the number; a line with the name of a place and a colon says where the names below it stand. Empty lines,
/// and what follows a `#`, are passed over. Without `numbered`, only names are taken: the numbers are those of other
/// shelves.
///
/// What is right and what is wrong is given back, each in the order of the text.
pub fn read(text: &str, sheet: &CountSheet, setup: &Setup, numbered: bool) -> (Vec<FilledLine>, Vec<FilledFault>) {
    let mut reading = Reading {
        sheet,
        setup,
        numbered,
        names: setup.items.iter().map(|item| (key(&item.name), item.id)).collect(),
        heading: None,
        seen: HashMap::new(),
    };
    let (mut lines, mut faults) = (Vec::new(), Vec::new());
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    for (line, written) in (1..).zip(text.lines()) {
        match reading.line(line, written) {
            Ok(found) => lines.extend(found),
            // What a reading says of itself may quote anything.
            Err(what) => faults.push(FilledFault { line, what: legible(&what) }),
        }
    }
    (lines, faults)
}

struct Reading<'a> {
    sheet: &'a CountSheet,
    setup: &'a Setup,
    numbered: bool,
    names: HashMap<String, ItemId>,
    /// The place that was named last.
    heading: Option<PlaceId>,
    /// Where in the text each line of the sheet was given.
    seen: HashMap<(PlaceId, ItemId), usize>,
}

/// A line of the sheet and what was counted there, or what is wrong.
type Found = Result<((PlaceId, ItemId), Entry), String>;

impl Reading<'_> {
    fn line(&mut self, line: usize, written: &str) -> Result<Option<FilledLine>, String> {
        let said = written.split('#').next().unwrap_or_default().trim();
        // A name with the sign in it is looked for as it stands.
        let whole = written.trim();
        if said.is_empty() {
            return Ok(None);
        }
        if let Some(name) = said.strip_suffix(':').filter(|name| !is_number(name)) {
            let place = self.sheet.places.iter().find(|p| key(&p.name) == key(name));
            if let Some(place) = place {
                self.heading = Some(place.place);
                return Ok(None);
            }
            let none = || Err(say!("no place of this sheet is called “{told}”", told = told(name)));
            self.by_name(whole).unwrap_or_else(none)?;
        }
        let found = match self.by_number(said) {
            Some(Ok(found)) => Ok(found),
            // An item whose name begins with a number.
            Some(Err(wrong)) => self.by_name(whole).filter(Result::is_ok).unwrap_or(Err(wrong)),
            None => self.by_name(whole).unwrap_or_else(|| {
                let said = told(said);
                Err(say!(
                    "“{said}”: expected the number of a line or the name of an item, and what was counted: 17 2.4",
                    said
                ))
            }),
        };
        let ((place, item), entry) = found?;
        if let Some(before) = self.seen.insert((place, item), line) {
            let name = self.setup.item_name(item);
            return Err(say!(
                "line {before} has what was counted of {told} already; expected it once",
                before,
                told = told(name)
            ));
        }
        Ok(Some(FilledLine { line, place, item, entry }))
    }

    /// What a line says that begins with a number.
    fn by_number(&self, said: &str) -> Option<Found> {
        let (number, rest) = said.split_once(|c: char| c.is_whitespace() || c == ':').unwrap_or((said, ""));
        is_number(number).then(|| {
            if !self.numbered {
                return Err(say!(
                    "line {number} of the sheet is another now; expected the name of the item",
                    number = told(number)
                ));
            }
            let spot = self.numbered_spot(number)?;
            Ok((spot, self.entry(spot.1, rest)?))
        })
    }

    fn numbered_spot(&self, number: &str) -> Result<(PlaceId, ItemId), String> {
        let mut lines = self.sheet.places.iter().flat_map(|p| p.lines.iter().map(move |l| (p.place, l)));
        let of = self.sheet.lines().count();
        let found = lines.find(|(_, line)| number.parse() == Ok(line.number));
        let none =
            || say!("the sheet has no line {number}; expected a number from 1 to {of}", number = told(number), of);
        found.map(|(place, line)| (place, line.item)).ok_or_else(none)
    }

    /// What a line says that begins with the name of an item, the longest that fits.
    fn by_name(&self, said: &str) -> Option<Found> {
        let said = said.replace(':', ": ");
        let words: Vec<&str> = said.split_whitespace().collect();
        let name = |len: usize| key(words[..len].join(" ").trim_end_matches(':').trim_matches('"'));
        let (len, item) = (1..=words.len()).rev().find_map(|len| Some((len, *self.names.get(&name(len))?)))?;
        Some(self.spot(item).and_then(|spot| Ok((spot, self.entry(item, &words[len..].join(" "))?))))
    }

    /// Where an item stands on the sheet, or below it.
    fn spot(&self, item: ItemId) -> Result<(PlaceId, ItemId), String> {
        let here = |p: &&PaperPlace| self.heading.is_none_or(|heading| p.place == heading);
        let mut spots = self.sheet.places.iter().filter(here).filter(|p| p.lines.iter().any(|l| l.item == item));
        let name = told(self.setup.item_name(item));
        match (spots.next(), spots.next()) {
            (Some(place), None) => Ok((place.place, item)),
            (Some(one), Some(other)) => Err(say!(
                "{name} stands in {one} and in {other}; put its place with a colon on a line of its own above it",
                name,
                one = told(&one.name),
                other = told(&other.name)
            )),
            (None, _) => match (self.heading, &self.sheet.places[..]) {
                (Some(place), _) => Ok((place, item)),
                (None, [only]) => Ok((only.place, item)),
                (None, _) => Err(say!(
                    "{name} is not on this sheet; put the place where it stood with a colon on a line of its own above it",
                    name
                )),
            },
        }
    }

    fn entry(&self, item: ItemId, written: &str) -> Result<Entry, String> {
        let written = written.split('#').next().unwrap_or_default().trim();
        let count_by = self.setup.item(item).map_or(CountBy::Tenths, |item| item.count_by);
        let name = told(self.setup.item_name(item));
        if written.is_empty() {
            return Err(say!(
                "nothing is said of {name}; expected what was counted, 0 for none, or no such line",
                name
            ));
        }
        entry_on_paper(written, count_by).map_err(|wrong| format!("{name}: {wrong}"))
    }
}

/// A name as it is looked for.
fn key(name: &str) -> String {
    name_key(&one_line(&name.replace(':', ": ")))
}

fn is_number(text: &str) -> bool {
    !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit())
}

/// What somebody wrote, fit to be said again.
fn told(text: &str) -> String {
    let text = tamed(text);
    match text.char_indices().nth(TOLD) {
        Some((cut, _)) => format!("{}…", &text[..cut]),
        None => text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::measure::{Amount, Basis};
    use crate::domain::venue::{DayRule, Item, Kind, Parts, Place, Shelf, Venue};
    use proptest::prelude::*;

    /// Rail: 1 Gin, 2 Gin 12, 3 Keg (on the scale). Cellar: 4 Gin, 5 Bar: gin. 1848 and Rum stand nowhere.
    fn bar() -> Setup {
        let days = DayRule { zone: chrono_tz::UTC, starts: chrono::NaiveTime::MIN };
        let mut parts = Parts::new(Venue::new("Bar", "EUR".parse().unwrap(), days));
        for (id, name) in [(1, "Rail"), (2, "Cellar")] {
            parts.places.push(Place { id: PlaceId(id), name: name.to_owned(), walk: id });
        }
        for (id, name) in (1..).zip(["Gin", "Gin 12", "Keg", "Bar: gin", "1848 Brandy", "Rum"]) {
            let by = if name == "Keg" { CountBy::Weight } else { CountBy::Tenths };
            parts.items.push(Item::new(ItemId(id), name, Kind::Spirit, Basis::Volume, Amount(700_000), by));
        }
        for (position, (place, item)) in (1..).zip([(1, 1), (1, 2), (1, 3), (2, 1), (2, 4)]) {
            parts.shelves.push(Shelf { place: PlaceId(place), item: ItemId(item), position, par: None });
        }
        Setup::new(parts)
    }

    /// Line of the text, place, item and entry.
    type Read = (usize, i64, i64, String);

    fn all(text: &str) -> (Vec<Read>, Vec<String>) {
        of(text, &[], true)
    }

    fn of(text: &str, places: &[PlaceId], numbered: bool) -> (Vec<Read>, Vec<String>) {
        let setup = bar();
        let sheet = CountSheet::new(&setup, places, chrono::NaiveDate::default());
        let (lines, faults) = read(text, &sheet, &setup, numbered);
        let line = |l: FilledLine| (l.line, l.place.0, l.item.0, l.entry.to_string());
        (lines.into_iter().map(line).collect(), faults.into_iter().map(|f| format!("{}: {}", f.line, f.what)).collect())
    }

    fn right(text: &str) -> Vec<Read> {
        let (lines, faults) = all(text);
        assert_eq!(faults, Vec::<String>::new(), "{text}");
        lines
    }

    #[test]
    fn numbers_and_what_was_counted() {
        let text = "\u{feff}# the rail\r\n1 2 .4\r\n\n2: 2,4 # wet\n3\t812\n 4   0\n5 f\n";
        let want = [(2, 1, 1, "2.4"), (4, 1, 2, "2.4"), (5, 1, 3, "812g"), (6, 2, 1, "0"), (7, 2, 4, "1")];
        assert_eq!(right(text), want.map(|(line, place, item, entry)| (line, place, item, entry.to_owned())));
    }

    #[test]
    fn names_instead_of_numbers() {
        let text = "Gin 12 3\n gin  12:\n";
        let (lines, faults) = all(text);
        assert_eq!(lines, [(1, 1, 2, "3".to_owned())], "the longest name that fits");
        assert_eq!(faults, ["2: nothing is said of Gin 12; expected what was counted, 0 for none, or no such line"]);
        assert_eq!(right("bar: gin .4\n\"keg\" 812g"), [(1, 2, 4, ".4".to_owned()), (2, 1, 3, "812g".to_owned())]);
        assert_eq!(right("Keg:812 # heavy"), [(1, 1, 3, "812g".to_owned())]);
        // In two places: which is said above it.
        let (_, faults) = all("gin .4");
        assert!(faults[0].contains("Gin stands in Rail and in Cellar"), "{faults:?}");
        assert_eq!(right("cellar:\ngin .4\nRail:\ngin .5"), [(2, 2, 1, ".4".to_owned()), (4, 1, 1, ".5".to_owned())]);
    }

    /// An entry is quoted in what is wrong with it.
    #[test]
    fn what_does_not_show_is_not_said_again() {
        for text in ["1\u{0} 2.4", "Rail:\nGin 2 \u{1b}[2J\u{7}.x", "Gin\u{202e} \u{85}5"] {
            let (_, faults) = all(text);
            assert!(
                !faults.is_empty() && faults.iter().all(|f| !f.chars().any(crate::domain::venue::is_hidden)),
                "{faults:?}"
            );
        }
    }

    #[test]
    fn what_is_not_on_the_sheet() {
        let (_, faults) = all("rum 3");
        assert!(faults[0].contains("Rum is not on this sheet; put the place"), "{faults:?}");
        assert_eq!(right("Cellar:\n1848 Brandy 2"), [(2, 2, 5, "2".to_owned())], "and no line 1848");
        assert_eq!(of("rum 3", &[PlaceId(2)], true).0, [(1, 2, 6, "3".to_owned())], "there is one place only");
    }

    #[test]
    fn everything_that_is_wrong_is_said() {
        let (lines, faults) = all("1 1\n1 2\n6 1\n0 1\n2\n2 2.44\nvodka 3\nattic:\n17.4\n\u{1b}[2J 1\n");
        assert_eq!(lines.len(), 1);
        for (fault, want) in faults.iter().zip([
            "2: line 1 has what was counted of Gin already; expected it once",
            "3: the sheet has no line 6; expected a number from 1 to 5",
            "4: the sheet has no line 0; expected a number from 1 to 5",
            "5: nothing is said of Gin 12;",
            "6: Gin 12: “.44”: expected tenths",
            "7: “vodka 3”: expected the number of a line or the name of an item",
            "8: no place of this sheet is called “attic”",
            "9: “17.4”: expected the number",
            "10: “[2J 1”: expected the number",
        ]) {
            assert!(fault.starts_with(want), "{fault}");
        }
        assert_eq!(faults.len(), 9);
    }

    #[test]
    fn numbers_of_other_shelves_are_refused_and_names_are_not() {
        let (lines, faults) = of("1 1\nkeg 812\n1848 Brandy 1", &[PlaceId(1)], false);
        assert_eq!(lines.iter().map(|l| l.2).collect::<Vec<_>>(), [3, 5]);
        assert_eq!(faults, ["1: line 1 of the sheet is another now; expected the name of the item"]);
    }

    #[test]
    fn a_file_that_is_no_text_is_refused_whole() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("sheet.txt");
        let refused = |bytes: &[u8]| {
            std::fs::write(&path, bytes).unwrap();
            text_of(&path).unwrap_err().what
        };
        assert!(refused(b"1 2\n\xff").contains("UTF-8"));
        assert!(refused(&vec![b'\n'; 1 << 21]).contains("larger than any count sheet"));
        assert!(text_of(&folder.path().join("none")).unwrap_err().what.contains("cannot be read"));
    }

    proptest! {
        /// Whatever is written: no panic, nothing twice, and no word of it can act on a terminal.
        #[test]
        fn any_text(text in "([0-9]{1,2}|Gin|gin 12|Cellar:|\\PC|[ .:,#f\n\t])*") {
            let (lines, faults) = all(&text);
            let mut spots: Vec<_> = lines.iter().map(|l| (l.1, l.2)).collect();
            spots.sort_unstable();
            spots.dedup();
            prop_assert_eq!(spots.len(), lines.len());
            prop_assert!(faults.iter().all(|f| !f.chars().any(crate::domain::venue::is_hidden)));
        }
    }
}
