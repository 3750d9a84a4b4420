//! What is made here: batches booked, recipes kept.

use super::drinks::{changed_meanwhile, checked_parts, sound};
use super::expecting::prospects;
use super::signing::{known, own, typed};
use super::situation::{Situation, situation};
use super::{DeskError, gauging, refused};
use crate::domain::drink::{Batches, Larder, amount_of, circle_from, circle_words, too_deep, too_deep_words};
use crate::domain::gauge::Level;
use crate::domain::ledger::Batch;
use crate::domain::measure::{Amount, Basis};
use crate::domain::rows::{HouseLine, HouseView, Made, PastDateRow, RecipeDraft};
use crate::domain::usage::{Asked, LATELY};
use crate::domain::venue::{CountBy, Deed, Item, ItemId, Kind, Moment, Recipe, Seq, Setup, Water};
use crate::store::{Connection, Store, journal, setup};
use std::collections::HashMap;

/// Batches shown of one item.
const RECENT: usize = 12;
/// How far back batches are read: what keeps longer is no house-made food.
const BATCHES_BACK: i64 = 400 * Moment::DAY;

/// What is made here, as it stands.
///
/// # Errors
/// [`DeskError`].
pub fn view(store: &Store, now: Moment) -> Result<HouseView, DeskError> {
    store.read(|conn| {
        let situation = situation(conn, now, None)?;
        let setup = situation.setup.clone();
        let day = setup.venue.days.day_of(now);
        let prospects = prospects(conn, &setup, &situation.gauges, now)?;
        let known = &prospects.asked;
        let unseen = known.rung.len().saturating_sub(LATELY);
        let first = known.first + chrono::TimeDelta::days(unseen as i64);
        let asked_over = (!known.rung.is_empty()).then(|| first..=known.last());
        let made: Vec<ItemId> =
            setup.items.iter().map(|item| item.id).filter(|id| setup.recipes.contains_key(id)).collect();
        let all = journal::batches(conn, Moment(now.0 - BATCHES_BACK), now)?;
        let batches = batches(conn, &setup, all.clone(), now)?;
        let on_hand: HashMap<ItemId, Level> =
            situation.standing.items.iter().map(|(item, there)| (*item, there.level)).collect();
        let line = |id: &ItemId| {
            let there = on_hand.get(id).copied();
            let counted = situation.standing.items.get(id).map(|there| there.anchor.at);
            let asked = known.items.get(id).map_or_else(Asked::default, Asked::lately);
            HouseLine {
                item: *id,
                on_hand: there,
                left: batches.left(*id, there.map(|level| level.amount), day),
                batches: all.iter().rev().filter(|batch| batch.item == *id).take(RECENT).cloned().collect(),
                asked,
                outlook: prospects.outlooks.get(id).cloned(),
                ahead: prospects.ahead(&setup, counted, now),
            }
        };
        let lines = made.iter().map(line).collect();
        let larder = Larder::with(&setup, situation.costs.clone(), day);
        Ok(HouseView { larder, lines, asked_over, on_hand, setup })
    })
}

/// Batches, and what was written off since the first of them.
fn batches(conn: &Connection, setup: &Setup, all: Vec<Batch>, now: Moment) -> Result<Batches, DeskError> {
    let since = all.iter().map(|batch| batch.at).min().unwrap_or(now);
    Ok(Batches::new(setup, all, &journal::losses(conn, since, now)?))
}

/// Batches past their date of which something may be left, the oldest date first.
pub(super) fn past_date(conn: &Connection, situation: &Situation) -> Result<Vec<PastDateRow>, DeskError> {
    let (setup, now) = (&situation.setup, situation.now);
    let day = setup.venue.days.day_of(now);
    let batches = batches(conn, setup, journal::batches(conn, Moment(now.0 - BATCHES_BACK), now)?, now)?;
    let made = setup.items.iter().filter(|item| setup.recipes.contains_key(&item.id));
    let of = |item: &Item| {
        let there = situation.standing.items.get(&item.id).map(|there| there.level.amount);
        batches.left(item.id, there, day)
    };
    let mut rows: Vec<PastDateRow> = made.flat_map(of).filter_map(|left| PastDateRow::of(&left, day)).collect();
    rows.sort_by_key(|row| (row.use_by, row.item));
    Ok(rows)
}

/// A batch that is booked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Booked {
    /// Its row in the journal.
    pub seq: Seq,
    /// Whether its ingredients left the stock with it: of what was never counted they leave it as drinks are sold, since
    /// nobody knows how much of it is there.
    pub takes: bool,
}

impl Booked {
    /// What became of the ingredients, in words.
    pub fn words(self) -> &'static str {
        match self.takes {
            true => word!("what it takes is off the stock"),
            false => {
                word!(
                    "it was never counted, so what goes in leaves the stock as drinks are sold; once it is counted, batches \
                 take it"
                )
            }
        }
    }
}

/// Books a batch: adds what was made, takes what its recipe says. Its `seq` is not looked at.
///
/// # Errors
/// [`DeskError`]: there is no recipe, or nothing was made.
pub fn make(store: &Store, batch: &Batch, now: Moment) -> Result<Booked, DeskError> {
    store.write((Deed::Batch, now), |conn| {
        let situation = situation(conn, now, None)?;
        let setup = &situation.setup;
        let day = setup.venue.days.day_of(batch.at);
        let name = &gauging::known(setup, batch.item)?.name;
        if setup.recipe(batch.item, day).is_none() {
            return Err(refused(say!(
                "{name} has no recipe, so nobody knows what a batch takes: write one first",
                name
            )));
        }
        if batch.made <= Amount::ZERO {
            return Err(refused(word!("expected an amount above zero").to_owned()));
        }
        let kept = Batch {
            by: batch.by.as_deref().map(|by| known(conn, by)).transpose()?,
            note: batch.note.as_deref().map(|note| typed(word!("the note"), note)).transpose()?,
            ..batch.clone()
        };
        let seq = journal::add_batch(conn, &kept, kept.by.as_deref(), now, day)?;
        Ok(Booked { seq, takes: situation.standing.items.contains_key(&batch.item) })
    })
}

/// Takes a batch back: the row stays, a reversal beside it.
///
/// # Errors
/// [`DeskError`].
pub fn take_back(store: &Store, seq: Seq, by: Option<&str>, now: Moment) -> Result<(), DeskError> {
    store.write((Deed::BatchBack, now), |conn| {
        own(conn, journal::signed_by(conn, seq)?.as_deref())?;
        journal::reverse(conn, seq, by, now)?;
        Ok(())
    })
}

/// Keeps a recipe, as a new version from its day on or in place of the one that begins on that day. What was made before
/// is reckoned by the versions before.
///
/// # Errors
/// [`DeskError`], which says what is wrong with the draft.
pub fn keep_recipe(store: &Store, draft: &RecipeDraft, now: Moment) -> Result<ItemId, DeskError> {
    store.write((Deed::Recipe, now), |conn| {
        let setup = setup::load(conn)?;
        let small = &setup.venue.small;
        let item = match &draft.made {
            Made::Known(id) => gauging::known(&setup, *id)?.clone(),
            Made::New(name, size) => new_item(&setup, name, size)?,
        };
        if draft.seen.is_some() && setup.recipes.get(&item.id) != draft.seen.as_ref() {
            return Err(changed_meanwhile(&item.name));
        }
        let later = draft.from.filter(|from| *from > setup.venue.days.day_of(now));
        if let Some(later) = later.filter(|_| item.id != ItemId(0) && item.keeps_days != draft.keeps_days) {
            return Err(refused(say!(
                "how many days it keeps has no date and would change at once, not on {later}: leave it as it is, and \
                 change it when that day comes",
                later
            )));
        }
        let item = Item { keeps_days: draft.keeps_days, ..item };
        let takes = checked_parts(&setup, &draft.takes)?;
        if takes.is_empty() {
            return Err(refused(word!("a recipe takes something: add what goes in").to_owned()));
        }
        let yields = match &draft.yields {
            Some(written) => amount_of(&item, written, small).map_err(|e| refused(say!("it makes: {e}", e)))?,
            None => Amount::ZERO,
        };
        let water = draft.water.as_deref().map(|text| Water::parse(text, small)).transpose();
        let water = water.map_err(|e| refused(say!("water: {e}", e)))?;
        let recipe = Recipe { written: draft.yields.clone(), yields, water, takes };
        if let Some(circle) = circle_from(&setup, item.id, Some(&recipe)) {
            return Err(refused(circle_words(&setup, &circle)));
        }
        let id = setup::put_item(conn, &item)?;
        setup::put_recipe(conn, id, draft.from, &recipe)?;
        let after = sound(conn)?;
        match too_deep(&after).first() {
            Some(deep) => Err(refused(too_deep_words(&after, *deep))),
            None => Ok(id),
        }
    })
}

/// An item that is made here and that the book does not have yet.
fn new_item(setup: &Setup, name: &str, size: &str) -> Result<Item, DeskError> {
    let name = typed(word!("the name"), name)?;
    if name.is_empty() {
        return Err(refused(word!("give it a name").to_owned()));
    }
    if setup.item_by_name(&name).is_some() {
        return Err(refused(say!("the book has {name} already: open it, and change its recipe", name)));
    }
    let read = crate::domain::measure::Quantity::parse(size, &setup.venue.small);
    let read = read.map_err(|e| refused(say!("one container holds: {e}", e)))?;
    if read.amount <= Amount::ZERO {
        return Err(refused(word!("one container holds: expected an amount above zero").to_owned()));
    }
    let count_by = if read.basis == Basis::Each { CountBy::Whole } else { CountBy::Tenths };
    Ok(Item::new(ItemId(0), &name, Kind::HouseMade, read.basis, read.amount, count_by))
}
