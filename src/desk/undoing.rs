//! Taking an act of the history back, and doing it again: facts by rows that take them back, set-up by what it was before.
//! Nothing is erased, and what was done since stays.

use super::counting::{count_of, none_open};
use super::receiving::taking_back;
use super::signing::own;
use super::{DeskError, filled, gauging, refused};
use crate::domain::ledger::{Act, RowChange};
use crate::domain::venue::{ActId, BillId, CountId, Deed, FileId, ItemId, Moment, Role, Seq};
use crate::store::counts::CountRow;
use crate::store::{
    Connection, Doing, Store, StoreError, counts, day_totals, explanations, files, history, journal, people, setup,
    weighings,
};

/// Acts among which one that has just been done is looked for.
const LATELY: u32 = 200;

/// Takes back the latest act of a kind that made a row of a table, told by the table and the row's number.
///
/// # Errors
/// As [`undo`], and where it was done too long ago to be found.
pub(super) fn undo_latest(
    store: &Store,
    deed: Deed,
    made: (&'static str, i64),
    now: Moment,
) -> Result<ActId, DeskError> {
    let (table, number) = made;
    let act = store.read(|conn| {
        for act in history::acts(conn, None, LATELY)? {
            if act.deed != deed {
                continue;
            }
            let of = history::changes_among(conn, &act, &[table], false)?;
            if of.iter().any(|change| change.row().and_then(|row| row.number("id")) == Some(number)) {
                return Ok(act.id);
            }
        }
        Err(refused(word!("it was done long ago: the Book (B) has when, and takes it back").to_owned()))
    })?;
    undo(store, act, now)
}

/// Takes an act back. What it says of rows that were changed since stays as it is, and nothing is taken back then.
///
/// # Errors
/// [`DeskError`]: it is taken back already, something rests on it, it was changed since, or whoever is at this terminal did
/// not do it and is no manager.
pub fn undo(store: &Store, id: ActId, now: Moment) -> Result<ActId, DeskError> {
    let (last, _) = store.read(|conn| Ok::<_, DeskError>(history::last_of(conn, id)?))?;
    store.write(Doing::undoing(Deed::Undone, now, last), |conn| {
        let (now_last, in_force) = history::last_of(conn, id)?;
        if !in_force {
            return Err(refused(say!(
                "act {id} is taken back already, by act {now_last}",
                id = id.0,
                now_last = now_last.0
            )));
        }
        if now_last != last {
            return Err(meanwhile(id));
        }
        // What was done again stands in the rows of that act.
        take_back(conn, &history::act(conn, last)?, now)?;
        Ok(id)
    })
}

fn meanwhile(id: ActId) -> DeskError {
    refused(say!(
        "act {id} was taken back or done again at another terminal meanwhile: look at it once more",
        id = id.0
    ))
}

/// Does an act again that was taken back.
///
/// # Errors
/// [`DeskError`]: it is not taken back, or as for [`undo`].
pub fn redo(store: &Store, id: ActId, now: Moment) -> Result<ActId, DeskError> {
    let (last, in_force) = store.read(|conn| Ok::<_, DeskError>(history::last_of(conn, id)?))?;
    if in_force {
        return Err(refused(say!("act {id} is not taken back, so it need not be done again", id = id.0)));
    }
    store.write(Doing::undoing(Deed::Redone, now, last), |conn| {
        if history::last_of(conn, id)?.0 != last {
            return Err(meanwhile(id));
        }
        take_back(conn, &history::act(conn, last)?, now)?;
        Ok(last)
    })
}

fn take_back(conn: &Connection, act: &Act, now: Moment) -> Result<(), DeskError> {
    may(conn, act)?;
    if act.deed.is_a_beginning() {
        return Err(refused(word!("with this the book began: it cannot be taken back").to_owned()));
    }
    let changes = history::changes_of(conn, act, u32::MAX)?;
    if act.deed.is_always_kept() && changes.is_empty() {
        return Err(refused(word!("it changed nothing that could be taken back").to_owned()));
    }
    let by = people::signed(conn)?;
    let has_manager =
        || -> Result<bool, DeskError> { Ok(setup::people(conn)?.iter().any(|person| person.role == Role::Manager)) };
    let had_manager = has_manager()?;
    let mut back = Back { conn, act, changes: &changes, by: by.as_deref(), now, items: Vec::new() };
    for (row, before) in history::lines_of(conn, act, u32::MAX)?.iter().rev() {
        back.line(row, before.as_ref())?;
    }
    if !back.as_a_whole()? {
        for change in changes.iter().rev() {
            back.change(change)?;
        }
    }
    if had_manager && !has_manager()? {
        return Err(refused(word!("nobody would be a manager any more: make somebody else one first").to_owned()));
    }
    back.still_sound()
}

/// A manager takes back what anybody did, and a counter what they did themselves.
fn may(conn: &Connection, act: &Act) -> Result<(), DeskError> {
    if people::rights(conn)?.sees_costs() {
        return Ok(());
    }
    // What takes another act back, or does it again, is as much a manager's as that was.
    let first = history::first_of(conn, act)?;
    if first.deed.is_a_managers() {
        return Err(StoreError::ForManagers { deed: first.deed }.into());
    }
    own(conn, act.by.as_deref())
}

struct Back<'a> {
    conn: &'a Connection,
    act: &'a Act,
    changes: &'a [RowChange],
    by: Option<&'a str>,
    now: Moment,
    /// Items whose containers are other ones now.
    items: Vec<ItemId>,
}

impl Back<'_> {
    /// Puts a counted line back to what it was.
    fn line(&self, row: &CountRow, before: Option<&CountRow>) -> Result<(), DeskError> {
        let line = &row.line;
        let (count, place, item) = (line.count, line.place, line.item);
        let of = count_of(self.conn, count)?;
        if of.closed.is_some() {
            return Err(refused(say!("the count “{name}” is closed: take its closing back first", name = of.name)));
        }
        if counts::closed_places(self.conn, count)?.contains(&place) {
            return Err(refused(word!("its place is closed in this count: take that back first").to_owned()));
        }
        if counts::row_of(self.conn, count, place, item)?.is_some_and(|there| there.seq != row.seq) {
            return Err(refused(word!("this line was entered again since, and that stays").to_owned()));
        }
        match before.filter(|before| !before.withdrawn) {
            Some(before) => counts::put_line(self.conn, &before.line)?,
            None => counts::withdraw(self.conn, count, place, item, filled::dated(&of, self.now), self.by)?,
        };
        Ok(())
    }

    /// What is taken back as one thing by rules of its own: a bill, a file of sales. Says whether it was that.
    fn as_a_whole(&self) -> Result<bool, DeskError> {
        let new = |table: &str, column: &str| -> Vec<i64> {
            let rows = self.changes.iter().filter(|change| change.table == table && change.before.is_none());
            rows.filter_map(|change| change.row()?.number(column)).collect()
        };
        let bills = new("bill", "id");
        for bill in &bills {
            taking_back::within(self.conn, BillId(*bill), self.by, self.now)?;
        }
        let taken = new("taken_file", "id");
        for file in taken.iter().filter(|_| bills.is_empty()) {
            files::withdraw(self.conn, FileId(*file), self.by, self.now)?;
        }
        if !taken.is_empty() {
            day_totals::refresh(self.conn, &setup::load(self.conn)?.venue.days)?;
        }
        Ok(!bills.is_empty() || !taken.is_empty())
    }

    fn change(&mut self, change: &RowChange) -> Result<(), DeskError> {
        let Some(row) = change.row() else { return Ok(()) };
        let number = |column: &str| row.number(column);
        let seq = Seq(number("seq").unwrap_or_default());
        match change.table.as_str() {
            // With the row of the journal that they are the detail of.
            "delivery" | "loss" | "transfer" | "batch" => {}
            "journal" => match number("reverses") {
                Some(taken_back) => journal::again(self.conn, Seq(taken_back), self.now).map(|_| ())?,
                None => journal::reverse(self.conn, seq, self.by, self.now).map(|_| ())?,
            },
            "weighing" => {
                self.items.extend(number("item").map(ItemId));
                match number("reverses") {
                    Some(taken_back) => history::again(self.conn, "weighing", Seq(taken_back), self.now).map(|_| ())?,
                    None => weighings::reverse(self.conn, seq, self.by, self.now)?,
                }
            }
            "explanation" => match number("reverses") {
                Some(taken_back) => self.explained_again(Seq(taken_back))?,
                None => explanations::reverse(self.conn, seq, self.by, self.now)?,
            },
            "count" => self.count(CountId(number("id").unwrap_or_default()))?,
            "count_place" if self.changes.iter().any(|other| other.table == "count") => {}
            "count_closing" => self.closing(change, seq)?,
            "count_given_up" => {
                match change.before {
                    // It would be open again, or given up again.
                    None => none_open(self.conn)?,
                    Some(_) => self.is_empty(CountId(number("count").unwrap_or_default()))?,
                }
                self.row(change)?;
            }
            "sale" | "sale_held" | "withdrawn_sale" | "sale_tally" | "file_withdrawal" => {
                return Err(refused(match self.act.deed {
                    Deed::FileBack | Deed::Undone => {
                        word!("the sales of a file come back when it is taken in again: Till (I), then i").to_owned()
                    }
                    _ => word!(
                        "sales that came with plain files cannot be taken back: nothing says which came with them"
                    )
                    .to_owned(),
                }));
            }
            "bill_withdrawal" => {
                return Err(refused(word!("book the bill again from its file: Receive (4)").to_owned()));
            }
            "claim" | "claim_settlement" | "bill_entry" => {
                return Err(refused(
                    word!("a claim that was settled stays so; write a new one down with its bill").to_owned(),
                ));
            }
            // Whoever signed anything stays known; where that came with other things, they are taken back all the same.
            "person"
                if change.before.is_none() && people::has_signed(self.conn, row.text("initials").unwrap_or("?"))? =>
            {
                if self.changes.iter().all(|change| matches!(change.table.as_str(), "person" | "person_pin")) {
                    let who = row.text("initials").unwrap_or("?");
                    return Err(refused(say!(
                        "{who} has signed something since, so the book goes on knowing them",
                        who
                    )));
                }
            }
            _ => self.row(change)?,
        }
        Ok(())
    }

    /// A count that was begun is given up, while nothing is in it.
    fn count(&self, count: CountId) -> Result<(), DeskError> {
        self.is_empty(count)?;
        Ok(counts::give_up(self.conn, count)?)
    }

    fn is_empty(&self, count: CountId) -> Result<(), DeskError> {
        let of = count_of(self.conn, count)?;
        if of.closed.is_some() || !counts::lines(self.conn, count)?.is_empty() {
            return Err(refused(say!(
                "something was counted in “{name}”: close it, or take its lines back first",
                name = of.name
            )));
        }
        Ok(())
    }

    /// A cause that somebody had taken back stands again, unless another one stands by now.
    fn explained_again(&self, seq: Seq) -> Result<(), DeskError> {
        let again = history::again(self.conn, "explanation", seq, self.now)?;
        let all = explanations::list(self.conn)?;
        if let Some(this) = all.iter().find(|fact| fact.seq == again)
            && all.iter().any(|other| other.seq != again && (other.closing, other.item) == (this.closing, this.item))
        {
            return Err(refused(
                word!("another cause was accepted of that gap since: take that one back first").to_owned(),
            ));
        }
        Ok(())
    }

    /// A closing is taken back while nothing was counted after it.
    fn closing(&self, change: &RowChange, seq: Seq) -> Result<(), DeskError> {
        let Some(row) = change.row() else { return Ok(()) };
        let whole = row.number("place").is_none();
        let count = CountId(row.number("count").unwrap_or_default());
        let reopens = row.number("reopens").is_some();
        let all = counts::list(self.conn)?;
        if whole && !reopens {
            if let Some(open) = all.iter().find(|other| other.closed.is_none()) {
                return Err(refused(say!(
                    "the count “{open}” is open: close it, or take its beginning back first",
                    open = open.name
                )));
            }
            let this = all.iter().find(|other| other.id == count);
            let later = all.iter().find(|other| this.is_some_and(|this| other.opened > this.opened));
            if let Some(later) = later {
                return Err(refused(say!("“{later}” was counted since, and rests on it", later = later.name)));
            }
            if !explanations::of_closing(self.conn, count)?.is_empty() {
                return Err(refused(
                    word!("causes were accepted of gaps at this count: take those back first, on Variance").to_owned(),
                ));
            }
        } else if !whole && all.iter().any(|other| other.id == count && other.closed.is_some()) {
            return Err(refused(word!("its count is closed: take that back first").to_owned()));
        }
        Ok(counts::take_closing_back(self.conn, seq, self.now)?)
    }

    /// A row of the set-up is again what it was, unless somebody changed it since.
    fn row(&mut self, change: &RowChange) -> Result<(), DeskError> {
        if change.table == "item" && change.before.is_some() {
            self.items.extend(change.row().and_then(|row| row.number("id")).map(ItemId));
        }
        match history::put_back(self.conn, change) {
            Ok(true) => Ok(()),
            Ok(false) => {
                let since = history::changed_since(self.conn, self.act, change)?;
                let by =
                    since.as_ref().and_then(|act| act.by.as_deref()).map(|by| say!(" by {by}", by)).unwrap_or_default();
                let act = since
                    .map(|act| say!(" with act {id} ({deed}{by})", id = act.id.0, deed = act.deed, by))
                    .unwrap_or_default();
                Err(refused(say!("what it changed was changed again since{act}: take that back first", act)))
            }
            Err(StoreError::Sql { source, .. }) if history::is_needed(&source) => {
                Err(refused(word!("something else in the book rests on it by now, so it stays").to_owned()))
            }
            Err(other) => Err(other.into()),
        }
    }

    /// What is put back must make sense with all that was entered since.
    fn still_sound(&self) -> Result<(), DeskError> {
        let setup = setup::load(self.conn)?;
        for item in &self.items {
            if let Some(item) = setup.item(*item) {
                gauging::still_read(self.conn, &setup, item)?;
            }
        }
        Ok(day_totals::refresh(self.conn, &setup.venue.days)?)
    }
}
