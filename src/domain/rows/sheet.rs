//! The count sheet: a walk, what was entered, and what each line means now.

use crate::domain::gauge::{Entry, Level, LevelError, Reading, as_entry, level};
use crate::domain::ledger::{Count, CountLine};
use crate::domain::measure::{Amount, Money, UnitCost};
use crate::domain::order::packs_for;
use crate::domain::par::Need;
use crate::domain::venue::{CountBy, CountMethod, Item, ItemId, Moment, PlaceId, Setup, words::words};
use std::collections::HashMap;
use std::sync::Arc;

words! {
    /// How a place's lines are entered.
    EntryMode {
        /// A single digit sets the tenths of the one opened container and moves on.
        OneKey = "one-key",
        /// Sealed and opened are typed and kept with Enter.
        Typed = "typed",
    }
}

/// What was entered for a line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entered {
    /// What was seen.
    pub entry: Entry,
    /// How.
    pub method: CountMethod,
    /// By whom.
    pub by: Option<String>,
    /// When.
    pub at: Moment,
}

/// One line: an item in a place.
#[derive(Clone, Debug, PartialEq)]
pub struct SheetLine {
    /// Where.
    pub place: PlaceId,
    /// What.
    pub item: ItemId,
    /// What was entered in this count.
    pub entered: Option<Entered>,
    /// How much should stand here; `None` when it was never counted here.
    pub expected: Option<Amount>,
}

/// One place of the walk.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SheetPlace {
    /// Where.
    pub place: PlaceId,
    /// Whether its part of the count is closed.
    pub closed: bool,
    /// How its lines are entered.
    pub mode: EntryMode,
}

/// What is known of an item besides this count.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ItemFacts {
    /// How much there should be in all; `None` when it was never counted before.
    pub on_hand: Option<Level>,
    /// What sales took since it was last counted.
    pub sold: Amount,
    /// When it was last counted.
    pub since: Option<Moment>,
    /// The level to fill up to.
    pub par: Option<Amount>,
    /// With a supplier already.
    pub on_order: Amount,
    /// Containers in the pack it would be ordered in.
    pub pack: Option<i64>,
    /// What it costs.
    pub cost: Option<UnitCost>,
}

/// What a line means, given all that was entered so far. Amounts in the item's base unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Meaning {
    /// Counted on this line.
    pub here: Level,
    /// In all places: as counted where this count has it, as expected elsewhere.
    pub total: Level,
    /// Places of the item that this count has not seen, so that they stand in as expected.
    pub assumed: usize,
    /// What really went since the item was last counted; `None` without an earlier count.
    pub used: Option<Amount>,
    /// What sales took since then.
    pub sold: Amount,
    /// used − sold.
    pub gap: Option<Amount>,
    /// Standard uncertainty of the gap.
    pub u: f64,
    /// Cost of the gap.
    pub cost: Option<Money>,
    /// The level to fill up to.
    pub par: Option<Amount>,
    /// With a supplier already.
    pub on_order: Amount,
    /// Packs to order now, and containers in each; `None` when nothing is short or nobody offers it.
    pub order: Option<(i64, i64)>,
}

/// A count in progress.
#[derive(Clone, Debug)]
pub struct Sheet {
    /// The bar.
    pub setup: Arc<Setup>,
    /// The count.
    pub count: Count,
    /// Its places in walking order.
    pub places: Vec<SheetPlace>,
    /// Its lines in walking order.
    pub lines: Vec<SheetLine>,
    /// What is known of the items, besides.
    pub facts: HashMap<ItemId, ItemFacts>,
    /// Where else an item stands, outside the sheet, and how much should be there.
    pub elsewhere: HashMap<ItemId, Vec<(PlaceId, Amount)>>,
}

/// Lines done and lines in all.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Progress {
    /// Entered.
    pub done: usize,
    /// In all.
    pub of: usize,
}

impl Sheet {
    /// The item of a line.
    pub fn item(&self, line: usize) -> Option<&Item> {
        self.setup.item(self.lines.get(line)?.item)
    }

    /// The line of an item in a place.
    pub fn find(&self, place: PlaceId, item: ItemId) -> Option<usize> {
        self.lines.iter().position(|l| l.place == place && l.item == item)
    }

    /// Whether what is expected must not be shown for a place: the count is blind and the place not closed.
    pub fn hidden(&self, place: PlaceId) -> bool {
        self.count.blind && self.count.closed.is_none() && !self.place(place).is_some_and(|p| p.closed)
    }

    /// A place of the sheet.
    pub fn place(&self, place: PlaceId) -> Option<&SheetPlace> {
        self.places.iter().find(|p| p.place == place)
    }

    /// Takes over what was kept for a line; an item that had no line here gets one at the end of the place.
    pub fn put(&mut self, kept: &CountLine) {
        let index = self.find(kept.place, kept.item).unwrap_or_else(|| {
            let end = self.lines.iter().rposition(|l| l.place == kept.place).map_or(self.lines.len(), |n| n + 1);
            let line = SheetLine { place: kept.place, item: kept.item, entered: None, expected: None };
            self.lines.insert(end, line);
            end
        });
        self.lines[index].entered =
            Some(Entered { entry: kept.entry.clone(), method: kept.method, by: kept.by.clone(), at: kept.at });
    }

    /// Takes back what was entered for a line.
    pub fn withdraw(&mut self, place: PlaceId, item: ItemId) {
        if let Some(line) = self.find(place, item) {
            self.lines[line].entered = None;
        }
    }

    /// Progress in one place.
    pub fn progress_in(&self, place: PlaceId) -> Progress {
        progress(self.lines.iter().filter(|l| l.place == place))
    }

    /// Progress of the whole walk.
    pub fn progress(&self) -> Progress {
        progress(self.lines.iter())
    }

    /// What the line would be entered as if it held what is expected.
    pub fn expected_entry(&self, line: usize) -> Option<Entry> {
        let expected = self.lines.get(line)?.expected?;
        Some(as_entry(self.item(line)?, expected))
    }

    /// What a line means with `typed` in it (or with what was kept, when nothing is typed); `None` for an empty line.
    ///
    /// The gap is what was expected in all − what is there in all: the same as usage − sold, since
    /// usage = opening + in − out − closing and expected = opening + in − out − sold.
    ///
    /// # Errors
    /// [`LevelError`] when the entry cannot be one of this item.
    pub fn meaning(&self, line: usize, typed: Option<&Entry>) -> Result<Option<Meaning>, LevelError> {
        let (Some(row), Some(item)) = (self.lines.get(line), self.item(line)) else { return Ok(None) };
        let Some(entry) = typed.or(row.entered.as_ref().map(|e| &e.entry)) else { return Ok(None) };
        let here = level(item, entry)?;
        let mut total = here;
        let mut assumed = 0;
        for other in self.lines.iter().filter(|l| l.item == row.item && l.place != row.place) {
            match (&other.entered, other.expected) {
                (Some(entered), _) => total = total.plus(level(item, &entered.entry)?),
                (None, Some(expected)) => {
                    assumed += 1;
                    total.amount += expected;
                }
                (None, None) => assumed += 1,
            }
        }
        for (_, amount) in self.elsewhere.get(&row.item).into_iter().flatten() {
            assumed += 1;
            total.amount += *amount;
        }
        let facts = self.facts.get(&row.item).copied().unwrap_or_default();
        let gap = facts.on_hand.map(|expected| expected.amount - total.amount);
        let u = total.u.hypot(facts.on_hand.map_or(0.0, |l| l.u));
        let need = facts.par.map(|par| Need { item: row.item, par, on_hand: Some(total), on_order: facts.on_order });
        let order = need.zip(facts.pack).and_then(|(need, pack)| {
            let most = item.shelf_max.map(|m| m.of(item.size));
            let (packs, _) = packs_for(&need, need.short()?, item.size, pack, most);
            (packs > 0).then_some((packs, pack))
        });
        Ok(Some(Meaning {
            here,
            total,
            assumed,
            used: gap.map(|gap| facts.sold + gap),
            sold: facts.sold,
            gap,
            u,
            cost: gap.zip(facts.cost).map(|(gap, cost)| cost.of(gap, self.setup.venue.currency)),
            par: facts.par,
            on_order: facts.on_order,
            order,
        }))
    }
}

fn progress<'a>(lines: impl Iterator<Item = &'a SheetLine>) -> Progress {
    lines.fold(Progress::default(), |p, l| Progress { done: p.done + usize::from(l.entered.is_some()), of: p.of + 1 })
}

/// The mode that suits a place: the one in which its last entries would have taken fewer keys. Typed, an entry is its
/// own length and Enter; with one key, a line of nothing, of tenths alone or of one sealed container is one key, a small
/// number of whole things too, each further sealed container is one more, and any other line is typed out behind a key.
pub fn suited_mode<'a>(last: impl Iterator<Item = (&'a Entry, CountBy)>) -> EntryMode {
    let (mut one_key, mut typed) = (0, 0);
    for (entry, count_by) in last {
        let length = entry.to_string().chars().count() + 1;
        typed += length;
        one_key += match (entry.full, &entry.open[..]) {
            (0, []) => 1,
            (1..=9, []) if count_by == CountBy::Whole => 1,
            (full, []) => (full as usize).min(length + 1),
            (full, [Reading::Tenths(1..=9)]) => (full as usize + 1).min(length + 1),
            _ => length + 1,
        };
    }
    if one_key < typed { EntryMode::OneKey } else { EntryMode::Typed }
}
