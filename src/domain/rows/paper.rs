//! A count sheet on paper: what to look at, in the order in which it stands, and nothing of what should be there.

use crate::domain::measure::{Amount, Basis};
use crate::domain::venue::{CountBy, ItemId, Party, PlaceId, Setup, name_key, one_line};
use chrono::NaiveDate;
use sha2::{Digest, Sha256};

/// What a mark is made of: letters and digits that nobody takes for one another on paper.
const SIGNS: &[u8; 32] = b"23456789ABCDEFGHJKLMNPQRSTUVWXYZ";
/// How many make a mark: of a million changes of the shelves, one goes unnoticed.
const MARK: usize = 4;

/// One line to be filled in by hand.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PaperLine {
    /// The number of the line, from 1 on through the whole sheet.
    pub number: usize,
    /// What.
    pub item: ItemId,
    /// Its name.
    pub name: String,
    /// What one container holds, as its label says it; none of what is counted singly.
    pub size: Option<String>,
    /// How an opened one is read.
    pub by: CountBy,
}

/// One place of the walk.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PaperPlace {
    /// Where.
    pub place: PlaceId,
    /// Its name.
    pub name: String,
    /// What stands there, in shelf order.
    pub lines: Vec<PaperLine>,
}

/// A sheet to be printed and filled in by hand. It is blind: it holds no figure of the book.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CountSheet {
    /// What the bar is called.
    pub venue: String,
    /// Where the bar is: that decides the paper.
    pub party: Party,
    /// The business day it was printed for.
    pub date: NaiveDate,
    /// Its places in walking order.
    pub places: Vec<PaperPlace>,
}

impl CountSheet {
    /// The sheet of some places, in walking order whatever order they are given in; of all places where none is given.
    /// The same set-up and places give each line the same number.
    pub fn new(setup: &Setup, places: &[PlaceId], date: NaiveDate) -> CountSheet {
        let show = setup.venue.show();
        let mut number = 0;
        let mut walked = Vec::new();
        let wanted = |id: PlaceId| places.is_empty() || places.contains(&id);
        for place in setup.places.iter().filter(|place| wanted(place.id)) {
            let spots = setup.spots().filter(|shelf| shelf.place == place.id);
            let lines = spots.filter_map(|shelf| setup.item(shelf.item)).map(|item| {
                number += 1;
                let single = (item.basis, item.size) == (Basis::Each, Amount(1_000));
                PaperLine {
                    number,
                    item: item.id,
                    name: one_line(&item.name),
                    size: (!single).then(|| show.label(item.basis, item.size)),
                    by: item.count_by,
                }
            });
            walked.push(PaperPlace { place: place.id, name: one_line(&place.name), lines: lines.collect() });
        }
        CountSheet { venue: one_line(&setup.venue.name), party: setup.venue.party.clone(), date, places: walked }
    }

    /// Four signs that stand for the list of lines: what is numbered in which order, and where. A sheet that was printed
    /// before the shelves changed, or of other places, has another mark, and its numbers mean other lines.
    pub fn mark(&self) -> String {
        let mut list = Sha256::new();
        for place in self.places.iter().filter(|place| !place.lines.is_empty()) {
            list.update(format!("{}\n", name_key(&place.name)));
            for line in &place.lines {
                list.update(format!("\t{}\n", name_key(&line.name)));
            }
        }
        // Five bits make a sign.
        let bits = list.finalize().iter().take(3).fold(0_usize, |bits, byte| bits << 8 | usize::from(*byte));
        (0..MARK).map(|n| char::from(SIGNS[bits >> (5 * n) & 31])).collect()
    }

    /// Its lines.
    pub fn lines(&self) -> impl Iterator<Item = &PaperLine> {
        self.places.iter().flat_map(|place| &place.lines)
    }
}

/// Reads a mark as somebody types it, in small letters or with blanks in it; `None` if it cannot be one.
pub fn parse_mark(typed: &str) -> Option<String> {
    let signs: String = typed.chars().filter(|c| !c.is_whitespace()).map(|c| c.to_ascii_uppercase()).collect();
    (signs.len() == MARK && signs.bytes().all(|sign| SIGNS.contains(&sign))).then_some(signs)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::measure::Amount;
    use crate::domain::venue::{DayRule, Item, Kind, Parts, Place, Shelf, Venue};

    fn sheet(shelves: &[(i64, i64)], places: &[i64]) -> CountSheet {
        let days = DayRule { zone: chrono_tz::UTC, starts: chrono::NaiveTime::MIN };
        let mut parts = Parts::new(Venue::new("Bar", "EUR".parse().unwrap(), days));
        for (id, name) in [(1, "Rail"), (2, "Cellar"), (3, "Attic")] {
            parts.places.push(Place { id: PlaceId(id), name: name.to_owned(), walk: id });
        }
        for (id, name) in [(1, "Gin"), (2, "Rum"), (3, "Ale")] {
            let plain = Item::new(ItemId(id), name, Kind::Spirit, Basis::Volume, Amount(700_000), CountBy::Tenths);
            parts.items.push(plain);
        }
        for (position, (place, item)) in (1..).zip(shelves) {
            parts.shelves.push(Shelf { place: PlaceId(*place), item: ItemId(*item), position, par: None });
        }
        let places: Vec<PlaceId> = places.iter().map(|id| PlaceId(*id)).collect();
        CountSheet::new(&Setup::new(parts), &places, NaiveDate::default())
    }

    #[test]
    fn a_mark_stands_for_the_list_of_lines() {
        let shelves = [(1, 1), (1, 2), (2, 1)];
        let mark = sheet(&shelves, &[]).mark();
        assert_eq!(parse_mark(&format!(" {} ", mark.to_lowercase())), Some(mark.clone()));
        assert_eq!(mark, sheet(&shelves, &[2, 1]).mark(), "the walk decides the order");
        assert_eq!(mark, sheet(&shelves, &[1, 2]).mark(), "a place without lines has no numbers");
        for other in [
            sheet(&[(1, 2), (1, 1), (2, 1)], &[]),
            sheet(&[(1, 1), (1, 2), (2, 3)], &[]),
            sheet(&[(1, 1), (2, 2), (2, 1)], &[]),
            sheet(&[(1, 1), (1, 2), (1, 3), (2, 1)], &[]),
            sheet(&shelves, &[1]),
        ] {
            assert_ne!(mark, other.mark(), "{other:?}");
        }
    }

    /// The sum of SHA-256 over the list, made with the program sha256sum of GNU coreutils:
    /// `printf 'rail\n\tgin\n\trum\ncellar\n\tgin\n' | sha256sum` begins with f6bba4, of which five bits from the right are a sign each.
    #[test]
    fn a_mark_is_the_same_on_every_machine() {
        assert_eq!(sheet(&[(1, 1), (1, 2), (2, 1)], &[]).mark(), "6XGF");
    }

    #[test]
    fn what_cannot_be_a_mark() {
        for typed in ["", "ABC", "ABCDE", "AB1D", "ABO2", "AB-D", "ÄBCD"] {
            assert_eq!(parse_mark(typed), None, "{typed}");
        }
        assert_eq!(parse_mark("k7 qf").as_deref(), Some("K7QF"));
    }
}
