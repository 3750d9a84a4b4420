//! A count sheet on paper: what to look at, in the order in which it stands, and nothing of what should be there.

use crate::domain::measure::{Amount, Basis};
use crate::domain::venue::{CountBy, ItemId, Party, PlaceId, Setup, one_line};
use chrono::NaiveDate;

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
            let spots = setup.shelves.iter().filter(|shelf| shelf.place == place.id);
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

    /// Its lines.
    pub fn lines(&self) -> impl Iterator<Item = &PaperLine> {
        self.places.iter().flat_map(|place| &place.lines)
    }
}
