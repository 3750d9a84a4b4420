//! The count sheet: a walk, what was entered, and what each line means now.

use super::filled::Filled;
use crate::domain::gauge::{Entry, Gauges, Level, LevelError, Tally};
use crate::domain::ledger::{Count, CountLine};
use crate::domain::measure::{Amount, Money, UnitCost};
use crate::domain::order::packs_for;
use crate::domain::par::Need;
use crate::domain::venue::{CountBy, CountId, CountMethod, Item, ItemId, Moment, PlaceId, Setup, words::words};
use std::borrow::Cow;
use std::collections::HashMap;
use std::sync::Arc;

/// What a single digit means where one key is an entry.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Digit {
    /// So many tenths of the one opened container.
    Tenths,
    /// So many sealed containers: the place only stores them.
    Sealed,
}

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

impl Entered {
    /// The line of a count that says so.
    pub fn line(self, count: CountId, place: PlaceId, item: ItemId) -> CountLine {
        CountLine { count, place, item, at: self.at, entry: self.entry, method: self.method, by: self.by }
    }

    /// What a line of a count says.
    pub fn of(line: &CountLine) -> Entered {
        Entered { entry: line.entry.clone(), method: line.method, by: line.by.clone(), at: line.at }
    }

    /// Whose eye read it.
    pub fn eye(&self) -> Option<&str> {
        self.method.eye(self.by.as_deref())
    }
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
    /// What a digit means there in one-key entry.
    pub digit: Digit,
}

/// What is known of an item besides this count.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ItemFacts {
    /// How much there should be in all; `None` when it was never counted before.
    pub on_hand: Option<Level>,
    /// What was seen when it was last counted, in all places.
    pub seen: Tally,
    /// What came less what went since then, but for sales.
    pub came: Amount,
    /// What sales took since it was last counted.
    pub sold: Amount,
    /// When it was last counted.
    pub since: Option<Moment>,
    /// What came less what went since its lines were entered in this count: a van that came, drinks rung while the count
    /// was open. It is neither gap nor missing.
    pub after: Amount,
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
    /// Its instruments.
    pub gauges: Arc<Gauges>,
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
    /// The sheet of paper that it is typed in from, where it is.
    pub filled: Option<Filled>,
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

    /// The number of a line on the sheet of paper; `None` where it has none, or none that holds.
    pub fn number(&self, line: usize) -> Option<usize> {
        let line = self.lines.get(line)?;
        self.filled.as_ref()?.numbers.get(&(line.place, line.item)).copied()
    }

    /// The line that has a number on the sheet of paper.
    pub fn numbered(&self, number: usize) -> Option<usize> {
        (0..self.lines.len()).find(|line| self.number(*line) == Some(number))
    }

    /// Whether what is expected must not be shown for a place: the count is blind and the place not closed. A sheet of paper
    /// is always blind.
    pub fn hidden(&self, place: PlaceId) -> bool {
        (self.count.blind || self.filled.is_some())
            && self.count.closed.is_none()
            && !self.place(place).is_some_and(|p| p.closed)
    }

    /// A place of the sheet.
    pub fn place(&self, place: PlaceId) -> Option<&SheetPlace> {
        self.places.iter().find(|p| p.place == place)
    }

    /// Takes over what was kept for a line; an item that had no line here gets one at the end of the place.
    pub fn put(&mut self, kept: &CountLine) {
        let index = self.line_for(kept.place, kept.item);
        if let Some(facts) = self.facts.get_mut(&kept.item) {
            facts.after = Amount::ZERO;
        }
        self.lines[index].entered = Some(Entered::of(kept));
    }

    /// The line of an item in a place; one that had none gets one at the end of the place, until the sheet is read anew.
    pub fn line_for(&mut self, place: PlaceId, item: ItemId) -> usize {
        self.find(place, item).unwrap_or_else(|| {
            let end = self.lines.iter().rposition(|l| l.place == place).map_or(self.lines.len(), |n| n + 1);
            self.lines.insert(end, SheetLine { place, item, entered: None, expected: None });
            end
        })
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

    /// What is known of an item besides this count.
    pub fn facts_of(&self, item: ItemId) -> Cow<'_, ItemFacts> {
        self.facts.get(&item).map_or_else(Cow::default, Cow::Borrowed)
    }

    /// What the line would be entered as if it held what is expected.
    pub fn expected_entry(&self, line: usize) -> Option<Entry> {
        let expected = self.lines.get(line)?.expected?;
        Some(self.gauges.as_entry(self.item(line)?, expected))
    }

    /// More sealed containers than one would believe at a glance: more than a dozen, and more than three times what is
    /// expected or wanted of the item in all of the bar. Worth a second look, never refused.
    fn hard_to_believe(&self, line: usize, entry: &Entry) -> bool {
        let Some(item) = self.item(line) else { return false };
        let facts = self.facts_of(item.id);
        let here = self.lines.get(line).and_then(|l| l.expected).unwrap_or_default();
        let known = [here, facts.on_hand.unwrap_or_default().amount, facts.par.unwrap_or_default()];
        let most = known.into_iter().max().unwrap_or_default().per(item.size) * 3.0;
        // Nothing to go by at all: a pallet is still hard to believe.
        let anything = facts.on_hand.is_some() || facts.par.is_some();
        entry.full as f64 > if anything { most.max(12.0) } else { Entry::MANY as f64 }
    }

    /// Whether an entry can be one of a line's item: an error when it cannot, a question when that is hard to believe.
    ///
    /// # Errors
    /// [`LevelError`].
    pub fn check(&self, line: usize, entry: &Entry) -> Result<Option<String>, LevelError> {
        let doubt = self.item(line).map_or(Ok(None), |item| self.gauges.check(item, entry))?;
        let many = self.hard_to_believe(line, entry).then(|| say!("{full} sealed ones", full = entry.full));
        Ok(many.or(doubt))
    }

    /// What a line means with `typed` in it, by `by` (or with what was kept, when nothing is typed); `None` for an empty
    /// line.
    ///
    /// The gap is what was expected in all − what is there in all: the same as usage − sold, since
    /// usage = opening + in − out − closing and expected = opening + in − out − sold.
    pub fn meaning(&self, line: usize, typed: Option<(&Entry, Option<&str>)>) -> Option<Meaning> {
        let (row, item) = (self.lines.get(line)?, self.item(line)?);
        let kept = || row.entered.as_ref().map(|e| (&e.entry, e.eye()));
        let (entry, by) = typed.or_else(kept)?;
        let here = self.gauges.level(item, entry, by);
        let mut total = here.clone();
        let mut assumed = 0;
        for other in self.lines.iter().filter(|l| l.item == row.item && l.place != row.place) {
            match (&other.entered, other.expected) {
                (Some(entered), _) => {
                    total = total.plus(&self.gauges.level(item, &entered.entry, entered.eye()));
                }
                (None, Some(expected)) => {
                    assumed += 1;
                    total = total.plus(&as_expected(item, expected));
                }
                (None, None) => assumed += 1,
            }
        }
        for (_, amount) in self.elsewhere.get(&row.item).into_iter().flatten() {
            assumed += 1;
            total = total.plus(&as_expected(item, *amount));
        }
        let facts = self.facts_of(row.item);
        // Typed anew, a line is of now, and nothing has come or gone since.
        let after = if typed.is_some() { Amount::ZERO } else { facts.after };
        let gap = facts.on_hand.map(|expected| expected.amount - after - total.amount);
        let u = match facts.on_hand {
            Some(_) => facts.seen.used(facts.came, &total, item.size).u(),
            None => total.u(),
        };
        let total = total.level();
        let need = facts
            .par
            .map(|par| Need::new(item, par, Some(Level { amount: total.amount + after, ..total }), facts.on_order));
        let order = need.zip(facts.pack).and_then(|(need, pack)| {
            let most = item.shelf_max.map(|m| m.of(item.size));
            let (packs, _) = packs_for(&need, need.short()?, item.size, pack, most);
            (packs > 0).then_some((packs, pack))
        });
        Some(Meaning {
            here: here.level(),
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
        })
    }
}

/// What is taken to stand where this count has not looked: sealed ones and a rest, of no uncertainty of its own.
fn as_expected(item: &Item, amount: Amount) -> Tally {
    Tally::exactly(amount).with_sealed((amount.0 / item.size.0.max(1)).max(0))
}

fn progress<'a>(lines: impl Iterator<Item = &'a SheetLine>) -> Progress {
    lines.fold(Progress::default(), |p, l| Progress { done: p.done + usize::from(l.entered.is_some()), of: p.of + 1 })
}

/// How a place is best entered, from its last lines. A digit is sealed containers where nothing was open, as in a
/// cellar, else tenths. One key suits where most lines were one key's worth; where sealed and opened containers stand
/// mixed, typing them out says better what is meant.
pub fn suited<'a>(last: impl Iterator<Item = (&'a Entry, CountBy)>) -> (EntryMode, Digit) {
    let (mut all, mut opened, mut by_tenths, mut by_number) = (0_usize, 0_usize, 0_usize, 0_usize);
    for (entry, count_by) in last {
        let small = entry.full <= 9 && entry.open.is_empty();
        let single = entry.full == 0 && entry.open.len() <= 1;
        all += 1;
        opened += usize::from(!entry.open.is_empty());
        by_tenths += usize::from(single || (small && count_by == CountBy::Whole));
        by_number += usize::from(small);
    }
    let digit = if all > 0 && opened == 0 { Digit::Sealed } else { Digit::Tenths };
    let simple = if digit == Digit::Sealed { by_number } else { by_tenths };
    (if all > 0 && simple * 5 >= all * 3 { EntryMode::OneKey } else { EntryMode::Typed }, digit)
}
