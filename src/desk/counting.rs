//! Counting: beginning a walk, keeping lines, closing places and the count.

use super::expecting::ruling;
use super::filled;
use super::situation::{Situation, situation};
use super::{DeskError, refused, undoing};
use crate::domain::ledger::{Count, CountLine};
use crate::domain::measure::Amount;
use crate::domain::rows::{
    CountChoice, CountSheet, Entered, EntryMode, Filled, ItemFacts, Sheet, SheetLine, SheetPlace, suited,
};
use crate::domain::venue::{ActId, CountId, Deed, ItemId, Moment, PlaceId, Setup, Shelf};
use crate::store::{Connection, Store, counts, setup};
use std::collections::HashMap;

/// What can be counted now: all of the bar, what was counted last, and each place alone.
///
/// # Errors
/// [`DeskError`].
pub fn choices(store: &Store, now: Moment) -> Result<(Vec<CountChoice>, Option<Count>), DeskError> {
    store.read(|conn| {
        let setup = setup::load(conn)?;
        let latest = counts::latest(conn, now, None)?;
        let open = counts::open_count(conn)?;
        let choice = |label: String, places: Vec<PlaceId>| {
            let lines = setup.spots().filter(|s| places.contains(&s.place)).count();
            // A set of places was last counted when the one that waits longest was.
            let at = |p: &PlaceId| latest.iter().filter(|l| l.place == *p).map(|l| l.at).max();
            let last = places.iter().map(at).min().flatten();
            let newest = places.iter().filter_map(at).max();
            let mark = CountSheet::new(&setup, &places, setup.venue.days.day_of(now)).mark();
            CountChoice { label, places, lines, last, newest, mark }
        };
        let shelved = |p: &PlaceId| setup.shelves.iter().any(|s| s.place == *p);
        let all = || setup.places.iter().map(|p| p.id);
        // A bar that has set up no shelf yet can walk its places and add what stands there.
        let used: Vec<PlaceId> =
            if setup.shelves.is_empty() { all().collect() } else { all().filter(shelved).collect() };
        let bare = all().filter(|p| !used.contains(p));
        let mut out = vec![choice(word!("All of the bar").to_owned(), used.clone())];
        if let Some(newest) = counts::last_closed_before(conn, Moment(now.0 + 1), |_| true)? {
            let places = counts::places(conn, newest.count.id)?;
            if !places.is_empty() && places.len() > 1 && places.len() < used.len() {
                out.push(choice(say!("As last time ({places})", places = names(&setup, &places)), places));
            }
        }
        out.extend(used.iter().copied().chain(bare).map(|p| choice(setup.place_name(p).to_owned(), vec![p])));
        Ok((out, open))
    })
}

fn names(setup: &Setup, places: &[PlaceId]) -> String {
    places.iter().map(|p| setup.place_name(*p)).collect::<Vec<_>>().join(", ")
}

/// Begins a count of some places; named after its business day and places, with a number when the name is taken.
///
/// # Errors
/// [`DeskError`].
pub fn begin(
    store: &Store,
    places: &[PlaceId],
    blind: bool,
    by: Option<&str>,
    now: Moment,
) -> Result<CountId, DeskError> {
    store.write((Deed::CountBegun, now), |conn| {
        let setup = setup::load(conn)?;
        let day = setup.venue.days.day_of(now);
        let name = |what: &str| format!("{day} {what}");
        begin_named(conn, &setup, (places, &name), now, blind, by)
    })
}

/// Makes the name of a count of what is counted in it.
type Naming<'a> = &'a dyn Fn(&str) -> String;

/// Begins a count unless there is an open one; `name` makes its name of what is counted, and a number is put behind it
/// when it is taken.
pub(super) fn begin_named(
    conn: &Connection,
    setup: &Setup,
    (places, name): (&[PlaceId], Naming),
    at: Moment,
    blind: bool,
    by: Option<&str>,
) -> Result<CountId, DeskError> {
    none_open(conn)?;
    if places.is_empty() {
        return Err(refused(
            word!("there is no place to walk along yet: the Book takes one in (B, then s), or a places.csv").to_owned(),
        ));
    }
    let used = setup.places.iter().filter(|p| setup.shelves.iter().any(|s| s.place == p.id)).count();
    let base = name(&if places.len() >= used { "full".to_owned() } else { names(setup, places) });
    let mut unique = base.clone();
    let mut number = 2;
    while counts::is_named(conn, &unique)? {
        unique = format!("{base} {number}");
        number += 1;
    }
    Ok(counts::begin(conn, &unique, at, blind, by, places)?)
}

pub(super) fn none_open(conn: &Connection) -> Result<(), DeskError> {
    match counts::open_count(conn)? {
        Some(open) => Err(refused(say!(
            "the count “{open}” is not closed yet; go on with it or close it first",
            open = open.name
        ))),
        None => Ok(()),
    }
}

/// The sheet of a count, with what each of its lines is compared to.
///
/// # Errors
/// [`DeskError`].
pub fn sheet(store: &Store, id: CountId, now: Moment) -> Result<Sheet, DeskError> {
    store.read(|conn| sheet_of(conn, id, now))
}

/// A count by its number.
pub(super) fn count_of(conn: &Connection, id: CountId) -> Result<Count, DeskError> {
    counts::get(conn, id)?.ok_or_else(|| refused(say!("there is no count number {id}", id = id.0)))
}

pub(super) fn sheet_of(conn: &Connection, id: CountId, now: Moment) -> Result<Sheet, DeskError> {
    let count = count_of(conn, id)?;
    let filled = Filled::of(&count, &setup::load(conn)?.people);
    // What was written on paper is compared with what should have been there then.
    let now = if filled.is_some() { count.opened } else { now };
    let situation = situation(conn, now, Some(id))?;
    let places = counts::places(conn, id)?;
    let closed = counts::closed_places(conn, id)?;
    let kept = counts::lines(conn, id)?;
    let bar = situation.setup.clone();
    let spots = bar.shelves.iter().filter(|s| places.contains(&s.place)).map(|s| (s.place, s.item));
    // What is not stocked any more is counted as long as something of it should be there.
    let runs_out = |line: &SheetLine| line.expected.is_some_and(|amount| amount > Amount::ZERO);
    let stocked = |line: &SheetLine| bar.item(line.item).is_some_and(|item| item.stocked) || runs_out(line);
    let mut lines: Vec<SheetLine> = spots.map(|(place, item)| blank(&situation, place, item)).filter(stocked).collect();
    // What was counted without a spot of its own stands at the end of its place.
    for line in &kept {
        if !lines.iter().any(|l| l.place == line.place && l.item == line.item) {
            let end = lines.iter().rposition(|l| l.place == line.place).map_or(lines.len(), |n| n + 1);
            lines.insert(end, blank(&situation, line.place, line.item));
        }
    }
    let mut sheet_places = Vec::with_capacity(places.len());
    for place in &places {
        let chosen = setup::place_entry(conn, *place)?.and_then(|word| EntryMode::parse(&word).ok());
        let here = situation.latest.iter().filter(|l| l.place == *place);
        let last = here.filter_map(|l| Some((&l.entry, bar.item(l.item)?.count_by)));
        let (suits, digit) = suited(last);
        let mode = chosen.unwrap_or(suits);
        sheet_places.push(SheetPlace { place: *place, closed: closed.contains(place), mode, digit });
    }
    let pars = ruling(conn, &situation)?;
    let facts = lines.iter().map(|l| (l.item, facts(&situation, &pars, l.item))).collect();
    let mut elsewhere: HashMap<ItemId, Vec<(PlaceId, Amount)>> = HashMap::new();
    for item in lines.iter().map(|l| l.item).collect::<std::collections::HashSet<_>>() {
        let on_hand = situation.standing.items.get(&item);
        let off_sheet = on_hand.into_iter().flat_map(|o| &o.places);
        let off_sheet = off_sheet.filter(|(p, _)| !lines.iter().any(|l| l.place == *p && l.item == item));
        let off_sheet: Vec<_> = off_sheet.copied().collect();
        if !off_sheet.is_empty() {
            elsewhere.insert(item, off_sheet);
        }
    }
    let filled = filled.map(|said| filled::numbered(conn, said, &bar, &places, &count)).transpose()?;
    if let Some(filled) = &filled {
        // Places with the same number in the walk are apart on paper.
        let place = |line: &SheetLine| places.iter().position(|p| *p == line.place);
        let number = |line: &SheetLine| filled.numbers.get(&(line.place, line.item)).copied();
        lines.sort_by_key(|line| (place(line), number(line).unwrap_or(usize::MAX)));
    }
    let gauges = situation.gauges.clone();
    let mut sheet = Sheet { setup: bar, gauges, count, places: sheet_places, lines, facts, elsewhere, filled };
    for line in &kept {
        sheet.put(line);
    }
    since_entered(conn, &mut sheet, &kept, now)?;
    Ok(sheet)
}

/// Works out what came and went since the lines of an open count were entered: what should be there now by those very
/// lines, less what they say.
fn since_entered(conn: &Connection, sheet: &mut Sheet, kept: &[CountLine], now: Moment) -> Result<(), DeskError> {
    if kept.is_empty() {
        return Ok(());
    }
    let with_them = situation(conn, now, None)?;
    for (item, facts) in &mut sheet.facts {
        let Some(there) = with_them.standing.items.get(item).filter(|o| o.anchor.count == sheet.count.id) else {
            continue;
        };
        let Some(what) = sheet.setup.item(*item) else { continue };
        let mut counted = Amount::ZERO;
        for line in kept.iter().filter(|l| l.item == *item) {
            counted += sheet.gauges.level(what, &line.entry, line.eye()).amount;
        }
        // Places that this count has not seen stand in with what is expected there now, in the sheet as here.
        let others = there.places.iter().filter(|(p, _)| !kept.iter().any(|l| l.item == *item && l.place == *p));
        let others: Amount = others.map(|(_, amount)| *amount).sum();
        facts.after = there.level.amount - counted - others;
    }
    Ok(())
}

fn blank(situation: &Situation, place: PlaceId, item: ItemId) -> SheetLine {
    let on_hand = situation.standing.items.get(&item);
    let expected = on_hand.and_then(|o| o.places.iter().find(|(p, _)| *p == place)).map(|(_, amount)| *amount);
    SheetLine { place, item, entered: None::<Entered>, expected }
}

fn facts(situation: &Situation, pars: &HashMap<ItemId, Amount>, item: ItemId) -> ItemFacts {
    let setup = &situation.setup;
    let day = setup.venue.days.day_of(situation.now);
    let on_hand = situation.standing.items.get(&item);
    ItemFacts {
        on_hand: on_hand.map(|o| o.level),
        seen: on_hand.map(|o| o.seen.clone()).unwrap_or_default(),
        came: on_hand.map(|o| o.came).unwrap_or_default(),
        sold: on_hand.map(|o| o.sold).unwrap_or_default(),
        since: on_hand.map(|o| o.anchor.at),
        after: Amount::ZERO,
        par: pars.get(&item).copied(),
        on_order: situation.on_order.get(&item).copied().unwrap_or_default(),
        pack: setup.cheapest_offer(item, day).map(|o| o.pack),
        cost: situation.costs.of(item),
    }
}

/// Gives an item a spot at the end of a place, so that it is on this sheet and the next ones.
///
/// # Errors
/// [`DeskError`].
pub fn add_item(store: &Store, sheet: &Sheet, place: PlaceId, item: ItemId, now: Moment) -> Result<(), DeskError> {
    store.write((Deed::SpotGiven, now), |conn| {
        if sheet.find(place, item).is_some() {
            let (item, place) = (sheet.setup.item_name(item), sheet.setup.place_name(place));
            return Err(refused(say!("{item} is already on the sheet of {place}", item, place)));
        }
        put_on_sheet(conn, &setup::load(conn)?, sheet, place, item)
    })
}

/// Gives an item a spot at the end of a place that is still open in a count; `setup` is as the book has it now, since
/// another terminal may have put something there.
pub(super) fn put_on_sheet(
    conn: &Connection,
    setup: &Setup,
    sheet: &Sheet,
    place: PlaceId,
    item: ItemId,
) -> Result<(), DeskError> {
    if counts::closed_places(conn, sheet.count.id)?.contains(&place) {
        let place = sheet.setup.place_name(place);
        return Err(refused(say!("{place} is closed in this count: what is added there is counted next time", place)));
    }
    let last = setup.shelves.iter().filter(|s| s.place == place).map(|s| s.position).max().unwrap_or(0);
    Ok(setup::put_shelf(conn, &Shelf { place, item, position: last + 1, par: None })?)
}

/// Keeps a line; the commit is made before this returns. `known` is what the line held when it was entered anew: when the
/// book holds something else by now, another terminal entered it. Then nothing is kept and that entry is given back, for a
/// person to say which of the two stands.
///
/// # Errors
/// [`DeskError`]: the entry cannot be one of this item, the place is closed, or the count is.
pub fn save_line(
    store: &Store,
    sheet: &Sheet,
    line: &CountLine,
    known: Option<&Entered>,
    now: Moment,
) -> Result<Option<CountLine>, DeskError> {
    let Some(item) = sheet.setup.item(line.item) else {
        return Err(refused(word!("this item is not in the book any more").to_owned()));
    };
    sheet.gauges.check(item, &line.entry)?;
    store.write((Deed::Counted, now), |conn| {
        if counts::closed_places(conn, line.count)?.contains(&line.place) {
            let place = sheet.setup.place_name(line.place);
            return Err(refused(say!("{place} is closed in this count; what was counted there stays", place)));
        }
        let there = counts::row_of(conn, line.count, line.place, line.item)?.filter(|row| !row.withdrawn);
        let others = |row: &counts::CountRow| {
            known.is_none_or(|k| k.entry != row.line.entry || k.at != row.line.at) && row.line.entry != line.entry
        };
        if let Some(row) = there.filter(others) {
            return Ok(Some(row.line));
        }
        counts::put_line(conn, line)?;
        Ok(None)
    })
}

/// Takes back what was entered for a line: it is again what it was `before`, or empty.
///
/// # Errors
/// [`DeskError`]: another terminal has entered something else meanwhile, or the place is closed.
pub fn take_back(
    store: &Store,
    taken: &CountLine,
    before: Option<&CountLine>,
    by: Option<&str>,
    now: Moment,
) -> Result<(), DeskError> {
    let (count, place, item) = (taken.count, taken.place, taken.item);
    store.write((Deed::LineBack, now), |conn| {
        if counts::closed_places(conn, count)?.contains(&place) {
            return Err(refused(word!("this place is closed in this count; what was counted there stays").to_owned()));
        }
        let there = counts::row_of(conn, count, place, item)?.filter(|row| !row.withdrawn);
        let Some(there) = there else {
            return Err(refused(word!("another terminal has taken that line back already").to_owned()));
        };
        if there.line != *taken {
            let who = there.line.by.as_deref().unwrap_or(word!("another terminal"));
            return Err(refused(say!(
                "{who} has entered {entry} meanwhile, and that stays",
                who,
                entry = there.line.entry.shown()
            )));
        }
        match before {
            Some(before) => counts::put_line(conn, before)?,
            None => counts::withdraw(conn, count, place, item, filled::dated(&count_of(conn, count)?, now), by)?,
        };
        Ok(())
    })
}

/// Closes a place of a count.
///
/// # Errors
/// [`DeskError`].
pub fn close_place(store: &Store, id: CountId, place: PlaceId, now: Moment) -> Result<(), DeskError> {
    store.write((Deed::PlaceClosed, now), |conn| {
        let at = filled::dated(&count_of(conn, id)?, now);
        Ok(counts::close_place(conn, id, place, at)?)
    })
}

/// Gives up a count that was begun, while nothing is in it.
///
/// # Errors
/// [`DeskError`]: something was counted in it, or it was begun too long ago to be found.
pub fn give_up(store: &Store, id: CountId, now: Moment) -> Result<ActId, DeskError> {
    undoing::undo_latest(store, Deed::CountBegun, ("count", id.0), now)
}

/// Closes a count: its lines end a period and begin the next.
///
/// # Errors
/// [`DeskError`]: there is nothing in it.
pub fn close(store: &Store, id: CountId, now: Moment) -> Result<(), DeskError> {
    store.write((Deed::CountClosed, now), |conn| close_it(conn, &count_of(conn, id)?, now))
}

pub(super) fn close_it(conn: &Connection, count: &Count, now: Moment) -> Result<(), DeskError> {
    if counts::lines(conn, count.id)?.is_empty() {
        return Err(refused(word!("nothing was counted yet, so there is nothing to close").to_owned()));
    }
    filled::give_spots(conn, count)?;
    Ok(counts::close(conn, count.id, filled::dated(count, now))?)
}

/// Remembers how the lines of a place are entered.
///
/// # Errors
/// [`DeskError`].
pub fn set_mode(store: &Store, place: PlaceId, mode: EntryMode, now: Moment) -> Result<(), DeskError> {
    store.write((Deed::EntryChosen, now), |conn| Ok(setup::set_place_entry(conn, place, mode.word())?))
}
