//! Counts: walks over the places, line by line. Nothing is ever changed: a line entered again is a new row, a line
//! taken back is a row that says so, and a closing is a row of its own.

use super::StoreError;
use super::convert::entry;
use super::error::Doing;
use super::query::all;
use crate::domain::gauge::Reading;
use crate::domain::ledger::{Count, CountLine};
use crate::domain::venue::{CountId, CountMethod, ItemId, Moment, PlaceId, Seq, name_key};
use rusqlite::{Connection, OptionalExtension, Row, named_params};
use std::collections::BTreeSet;

/// One row of a count as it was written, in force or not.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CountRow {
    /// Its number; a later row of the same place and item counts instead of an earlier one.
    pub seq: Seq,
    /// What it says.
    pub line: CountLine,
    /// Whether it takes the line back instead.
    pub withdrawn: bool,
}

/// What a failed query was for.
const DOING: &str = "reading counts";

const COUNT: &str = "
    SELECT c.id, c.name, c.opened, c.blind, e.at AS closed
    FROM count c LEFT JOIN closing_in_force e ON e.count = c.id AND e.place IS NULL
    WHERE c.id NOT IN (SELECT count FROM count_given_up)";

/// A row counts unless a later one of its place and item in the same count stands instead, or it takes a line back.
pub(super) const IN_FORCE: &str = "l.withdrawn = 0 AND NOT EXISTS (
    SELECT 1 FROM count_line n WHERE n.count = l.count AND n.place = l.place AND n.item = l.item AND n.seq > l.seq)";

fn count(row: &Row<'_>) -> rusqlite::Result<Count> {
    Ok(Count {
        id: row.get("id")?,
        name: row.get("name")?,
        opened: row.get("opened")?,
        closed: row.get("closed")?,
        blind: row.get("blind")?,
    })
}

/// A row of `count_line`, whole. By position: ten thousand of them are read for one comparison.
fn line(row: &Row<'_>) -> rusqlite::Result<CountLine> {
    Ok(CountLine {
        count: row.get(1)?,
        place: row.get(2)?,
        item: row.get(3)?,
        at: row.get(4)?,
        entry: entry(row, 5, 6)?,
        method: row.get(7)?,
        by: row.get(8)?,
    })
}

fn row(row: &Row<'_>) -> rusqlite::Result<CountRow> {
    Ok(CountRow { seq: row.get("seq")?, line: line(row)?, withdrawn: row.get("withdrawn")? })
}

/// Closed counts with the places that they walk over, beginning with the one next to a moment: :before it the newest first,
/// :after it the oldest first.
const CLOSED: &str = "
    SELECT c.id, c.name, c.opened, c.blind, e.at AS closed,
        (SELECT group_concat(p.place, ' ') FROM count_place p WHERE p.count = c.id) AS places
    FROM count c CROSS JOIN closing_in_force e ON e.count = c.id AND e.place IS NULL
    WHERE c.id NOT IN (SELECT count FROM count_given_up)";

/// A closed count and the places that it walks over.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Walked {
    /// The count.
    pub count: Count,
    /// Its places; none means all.
    pub places: BTreeSet<PlaceId>,
}

impl Walked {
    fn of(row: &Row<'_>) -> rusqlite::Result<Walked> {
        let places: Option<String> = row.get("places")?;
        let places = places.iter().flat_map(|all| all.split(' ')).filter_map(|place| place.parse().ok().map(PlaceId));
        Ok(Walked { count: count(row)?, places: places.collect() })
    }
}

/// The first closed count that was opened before a moment and of which `wanted` says so, the newest first: no more of a long
/// history is read than that.
///
/// # Errors
/// [`StoreError`].
pub fn last_closed_before(
    conn: &Connection,
    before: Moment,
    wanted: impl FnMut(&Walked) -> bool,
) -> Result<Option<Walked>, StoreError> {
    let sql = format!("{CLOSED} AND c.opened < :moment ORDER BY c.opened DESC, c.id DESC");
    first_closed(conn, &sql, before, wanted)
}

/// The same of those that were opened after a moment, the oldest first.
///
/// # Errors
/// [`StoreError`].
pub fn first_closed_after(
    conn: &Connection,
    after: Moment,
    wanted: impl FnMut(&Walked) -> bool,
) -> Result<Option<Walked>, StoreError> {
    let sql = format!("{CLOSED} AND c.opened > :moment ORDER BY c.opened, c.id");
    first_closed(conn, &sql, after, wanted)
}

fn first_closed(
    conn: &Connection,
    sql: &str,
    moment: Moment,
    mut wanted: impl FnMut(&Walked) -> bool,
) -> Result<Option<Walked>, StoreError> {
    let mut statement = conn.prepare_cached(sql).doing(DOING)?;
    let mut rows = statement.query(named_params! { ":moment": moment }).doing(DOING)?;
    while let Some(row) = rows.next().doing(DOING)? {
        let walked = Walked::of(row).doing(DOING)?;
        if wanted(&walked) {
            return Ok(Some(walked));
        }
    }
    Ok(None)
}

/// A count by its number.
///
/// # Errors
/// [`StoreError`].
pub fn get(conn: &Connection, id: CountId) -> Result<Option<Count>, StoreError> {
    conn.prepare_cached(&format!("{COUNT} AND c.id = :id"))
        .and_then(|mut s| s.query_row(named_params! { ":id": id }, count).optional())
        .doing("looking for a count")
}

/// Every count, the newest first.
///
/// # Errors
/// [`StoreError`].
pub fn list(conn: &Connection) -> Result<Vec<Count>, StoreError> {
    all(DOING, conn, &format!("{COUNT} ORDER BY c.opened DESC, c.id DESC"), [], count)
}

/// What every count is called, those that were given up too.
///
/// # Errors
/// [`StoreError`].
pub fn names(conn: &Connection) -> Result<Vec<(CountId, String)>, StoreError> {
    all(DOING, conn, "SELECT id, name FROM count", [], |row| Ok((row.get("id")?, row.get("name")?)))
}

/// A count by name.
///
/// # Errors
/// [`StoreError`].
pub fn find(conn: &Connection, name: &str) -> Result<Option<Count>, StoreError> {
    conn.prepare_cached(&format!("{COUNT} AND c.name_key = :key"))
        .and_then(|mut s| s.query_row(named_params! { ":key": name_key(name) }, count).optional())
        .doing("looking for a count")
}

/// Whether a count has a name, or had it and was given up: no two are ever called the same.
///
/// # Errors
/// [`StoreError`].
pub fn is_named(conn: &Connection, name: &str) -> Result<bool, StoreError> {
    conn.prepare_cached("SELECT EXISTS (SELECT 1 FROM count WHERE name_key = :key)")
        .and_then(|mut s| s.query_row(named_params! { ":key": name_key(name) }, |row| row.get(0)))
        .doing("looking for a count")
}

/// The newest count that is not closed.
///
/// # Errors
/// [`StoreError`].
pub fn open_count(conn: &Connection) -> Result<Option<Count>, StoreError> {
    conn.prepare_cached(&open_sql())
        .and_then(|mut s| s.query_row([], count).optional())
        .doing("looking for an open count")
}

/// Which closing holds is only looked up of counts that have none, or one that was taken back: with years of counts nearly
/// every one has one that was not.
fn open_sql() -> String {
    format!(
        "{COUNT} AND e.seq IS NULL AND c.id IN (
             SELECT id FROM count
             EXCEPT SELECT count FROM count_closing INDEXED BY count_closing_count WHERE place IS NULL
             UNION ALL SELECT count FROM count_closing WHERE reopens > 0)
         ORDER BY c.opened DESC, c.id DESC LIMIT 1"
    )
}

/// Whether a blind count is going on.
///
/// # Errors
/// [`StoreError`].
pub fn is_blind(conn: &Connection) -> Result<bool, StoreError> {
    Ok(open_count(conn)?.is_some_and(|count| count.blind))
}

/// When the last count was closed.
///
/// # Errors
/// [`StoreError`].
pub fn last_closed(conn: &Connection) -> Result<Option<Moment>, StoreError> {
    conn.prepare_cached("SELECT max(at) AS closed FROM closing_in_force WHERE place IS NULL")
        .and_then(|mut s| s.query_row([], |row| row.get("closed")))
        .doing(DOING)
}

/// The lines of a count that are in force.
///
/// # Errors
/// [`StoreError`].
pub fn lines(conn: &Connection, id: CountId) -> Result<Vec<CountLine>, StoreError> {
    let sql = format!("SELECT * FROM count_line l WHERE l.count = :count AND {IN_FORCE} ORDER BY l.place, l.item");
    all(DOING, conn, &sql, named_params! { ":count": id }, line)
}

/// The newest line in force of each place and item up to a moment, over all counts but `except`: a count in progress is
/// compared with what was known before it.
///
/// One descent of the index (item, place, at) for each place and item, each of which stops at its first row in force:
/// what it costs depends on the size of the bar, not on the length of its history.
///
/// # Errors
/// [`StoreError`].
pub fn latest(conn: &Connection, until: Moment, except: Option<CountId>) -> Result<Vec<CountLine>, StoreError> {
    all(DOING, conn, &latest_sql(), named_params! { ":until": until, ":except": except }, line)
}

/// The newest line in force of one spot up to a moment.
///
/// # Errors
/// [`StoreError`].
pub fn latest_of(
    conn: &Connection,
    (item, place): (ItemId, PlaceId),
    until: Moment,
) -> Result<Option<CountLine>, StoreError> {
    let sql = format!(
        "SELECT l.* FROM count_line l INDEXED BY count_line_item
         WHERE l.item = :item AND l.place = :place AND l.at <= :until AND {IN_FORCE}
         ORDER BY l.at DESC, l.seq DESC LIMIT 1"
    );
    conn.prepare_cached(&sql)
        .and_then(|mut s| {
            s.query_row(named_params! { ":item": item, ":place": place, ":until": until }, line).optional()
        })
        .doing(DOING)
}

/// When each spot was looked at after a moment and up to another, in force or not, in the order of time. Answered from an
/// index alone, spot by spot.
///
/// # Errors
/// [`StoreError`].
pub fn looked_at(
    conn: &Connection,
    after: Moment,
    until: Moment,
) -> Result<Vec<(ItemId, PlaceId, Moment)>, StoreError> {
    let params = named_params! { ":after": after, ":until": until };
    all(DOING, conn, LOOKED, params, |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))
}

const LOOKED: &str = "
    SELECT l.item, l.place, l.at FROM item i CROSS JOIN place p CROSS JOIN count_line l INDEXED BY count_line_item
        ON l.item = i.id AND l.place = p.id AND l.at > :after AND l.at <= :until
    ORDER BY l.at";

fn latest_sql() -> String {
    format!(
        "SELECT r.* FROM item i CROSS JOIN place p CROSS JOIN count_line r ON r.seq = (
             SELECT l.seq FROM count_line l INDEXED BY count_line_item
             WHERE l.item = i.id AND l.place = p.id AND l.at <= :until AND l.count IS NOT :except AND {IN_FORCE}
             ORDER BY l.at DESC, l.seq DESC LIMIT 1)"
    )
}

/// The lines in force of one item at or after a moment, oldest first.
///
/// # Errors
/// [`StoreError`].
pub fn item_lines_since(conn: &Connection, item: ItemId, since: Moment) -> Result<Vec<CountLine>, StoreError> {
    all(DOING, conn, &since_sql(), named_params! { ":item": item, ":since": since }, line)
}

/// The items that some count found nothing of in a place, at or after a moment.
///
/// # Errors
/// [`StoreError`].
pub fn found_empty(conn: &Connection, since: Moment) -> Result<Vec<ItemId>, StoreError> {
    all(DOING, conn, EMPTY, named_params! { ":since": since }, |row| row.get("item"))
}

const EMPTY: &str = "
    SELECT DISTINCT item FROM count_line INDEXED BY count_line_empty
    WHERE sealed = 0 AND open = '' AND withdrawn = 0 AND at >= :since";

fn since_sql() -> String {
    format!(
        "SELECT l.* FROM place p CROSS JOIN count_line l INDEXED BY count_line_item
             ON l.item = :item AND l.place = p.id AND l.at >= :since AND {IN_FORCE}
         ORDER BY l.at, l.seq"
    )
}

/// Every row of a count, the newest first: what was entered, entered again and taken back.
///
/// # Errors
/// [`StoreError`].
pub fn history(conn: &Connection, count: CountId) -> Result<Vec<CountRow>, StoreError> {
    last_rows(conn, count, u32::MAX)
}

/// The last `limit` rows of a count, the newest first.
///
/// # Errors
/// [`StoreError`].
pub fn last_rows(conn: &Connection, count: CountId, limit: u32) -> Result<Vec<CountRow>, StoreError> {
    all(
        DOING,
        conn,
        "SELECT * FROM count_line WHERE count = :count ORDER BY seq DESC LIMIT :limit",
        named_params! { ":count": count, ":limit": limit },
        row,
    )
}

/// The last row of all counts; zero before the first.
///
/// # Errors
/// [`StoreError`].
pub fn last_row(conn: &Connection) -> Result<Seq, StoreError> {
    conn.prepare_cached("SELECT coalesce(max(seq), 0) AS seq FROM count_line")
        .and_then(|mut s| s.query_row([], |row| row.get("seq")))
        .doing("looking for the last counted line")
}

/// The newest row of one place and item in a count, in force or not.
///
/// # Errors
/// [`StoreError`].
pub fn row_of(conn: &Connection, count: CountId, place: PlaceId, item: ItemId) -> Result<Option<CountRow>, StoreError> {
    // The newest is picked here: an ORDER BY makes the engine plan the query anew whenever its values change, which
    // costs several times the query itself.
    let rows = all(
        DOING,
        conn,
        "SELECT * FROM count_line WHERE count = :count AND place = :place AND item = :item",
        named_params! { ":count": count, ":place": place, ":item": item },
        row,
    )?;
    Ok(rows.into_iter().max_by_key(|row| row.seq))
}

/// The rows of all counts behind one and up to another, in their order; at most so many.
///
/// # Errors
/// [`StoreError`].
pub fn rows_between(conn: &Connection, after: Seq, upto: Seq, most: u32) -> Result<Vec<CountRow>, StoreError> {
    let sql = "SELECT * FROM count_line WHERE seq > :after AND seq <= :upto ORDER BY seq LIMIT :most";
    all(DOING, conn, sql, named_params! { ":after": after, ":upto": upto, ":most": most }, row)
}

/// The row that counted before another one of the same count, place and item.
///
/// # Errors
/// [`StoreError`].
pub fn row_before(conn: &Connection, of: &CountRow) -> Result<Option<CountRow>, StoreError> {
    let sql = "SELECT * FROM count_line WHERE count = :count AND place = :place AND item = :item AND seq < :seq";
    let (line, seq) = (&of.line, of.seq);
    let params = named_params! { ":count": line.count, ":place": line.place, ":item": line.item, ":seq": seq };
    Ok(all(DOING, conn, sql, params, row)?.into_iter().max_by_key(|row| row.seq))
}

/// The places that a count walks over; none means all.
///
/// # Errors
/// [`StoreError`].
pub fn places(conn: &Connection, count: CountId) -> Result<Vec<PlaceId>, StoreError> {
    all(
        DOING,
        conn,
        "SELECT c.place FROM count_place c JOIN place p ON p.id = c.place WHERE c.count = :count ORDER BY p.walk, p.id",
        named_params! { ":count": count },
        |row| row.get("place"),
    )
}

/// The places of a count that are closed.
///
/// # Errors
/// [`StoreError`].
pub fn closed_places(conn: &Connection, count: CountId) -> Result<Vec<PlaceId>, StoreError> {
    all(
        DOING,
        conn,
        "SELECT place FROM closing_in_force WHERE count = :count AND place IS NOT NULL ORDER BY seq",
        named_params! { ":count": count },
        |row| row.get("place"),
    )
}

/// Begins a count over some places.
///
/// # Errors
/// [`StoreError::Sql`] when the name is taken.
pub fn begin(
    conn: &Connection,
    name: &str,
    opened: Moment,
    blind: bool,
    by: Option<&str>,
    places: &[PlaceId],
) -> Result<CountId, StoreError> {
    let doing = "beginning a count";
    let id: CountId = conn
        .prepare_cached(
            "INSERT INTO count (name, name_key, opened, blind, by) VALUES (:name, :key, :opened, :blind, :by) RETURNING id",
        )
        .and_then(|mut s| {
            s.query_row(
                named_params! {
                    ":name": name.trim(), ":key": name_key(name), ":opened": opened, ":blind": blind, ":by": by,
                },
                |row| row.get("id"),
            )
        })
        .doing(doing)?;
    for place in places {
        add_place(conn, id, *place)?;
    }
    Ok(id)
}

/// Adds a place to the walk of a count; one that is there already stays.
///
/// # Errors
/// [`StoreError`].
pub fn add_place(conn: &Connection, count: CountId, place: PlaceId) -> Result<(), StoreError> {
    conn.prepare_cached("INSERT INTO count_place (count, place) VALUES (:count, :place) ON CONFLICT DO NOTHING")
        .and_then(|mut s| s.execute(named_params! { ":count": count, ":place": place }))
        .doing("adding a place to a count")
        .map(|_| ())
}

/// Keeps a counted line, instead of an earlier one of the same place and item.
///
/// # Errors
/// [`StoreError::NotFound`] when the count is closed or is not there.
pub fn put_line(conn: &Connection, line: &CountLine) -> Result<Seq, StoreError> {
    insert(conn, line, false)
}

/// Takes back the line of a place and item.
///
/// # Errors
/// [`StoreError::NotFound`] when the count is closed or is not there.
pub fn withdraw(
    conn: &Connection,
    count: CountId,
    place: PlaceId,
    item: ItemId,
    at: Moment,
    by: Option<&str>,
) -> Result<Seq, StoreError> {
    let nothing = CountLine {
        count,
        place,
        item,
        at,
        entry: crate::domain::gauge::Entry::default(),
        method: CountMethod::Whole,
        by: by.map(str::to_owned),
    };
    insert(conn, &nothing, true)
}

const INSERT: &str = "
    INSERT INTO count_line (count, place, item, at, sealed, open, method, by, withdrawn)
    SELECT c.id, :place, :item, :at, :sealed, :open, :method, :by, :withdrawn FROM count c
    WHERE c.id = :count AND NOT EXISTS (SELECT 1 FROM closing_in_force e WHERE e.count = c.id AND e.place IS NULL)
        AND NOT EXISTS (SELECT 1 FROM count_given_up g WHERE g.count = c.id)";

fn insert(conn: &Connection, line: &CountLine, withdrawn: bool) -> Result<Seq, StoreError> {
    let changed = conn
        .prepare_cached(INSERT)
        .and_then(|mut s| {
            s.execute(named_params! {
                ":count": line.count, ":place": line.place, ":item": line.item, ":at": line.at,
                ":sealed": line.entry.full, ":open": Reading::plain_all(&line.entry.open), ":method": line.method,
                ":by": line.by, ":withdrawn": withdrawn,
            })
        })
        .doing("saving a counted line")?;
    if changed == 0 {
        return Err(StoreError::NotFound { kind: "open count", id: line.count.0 });
    }
    Ok(Seq(conn.last_insert_rowid()))
}

/// Closes a place of a count.
///
/// # Errors
/// [`StoreError::NotFound`] when the count or its place is closed, or is not there.
pub fn close_place(conn: &Connection, count: CountId, place: PlaceId, at: Moment) -> Result<(), StoreError> {
    closing(conn, count, Some(place), at)
}

/// Closes a count.
///
/// # Errors
/// [`StoreError::NotFound`] when it is closed or is not there.
pub fn close(conn: &Connection, count: CountId, at: Moment) -> Result<(), StoreError> {
    closing(conn, count, None, at)
}

/// Opens a count, or a place of it, again that was closed: the closing stays, and another row takes it back. Closes it anew
/// at the same time where that row is itself the one to take back.
///
/// # Errors
/// [`StoreError::NotFound`] when it is not there, or taken back already.
pub fn take_closing_back(conn: &Connection, seq: Seq, at: Moment) -> Result<(), StoreError> {
    let sql = "INSERT INTO count_closing (count, place, at, reopens)
        SELECT c.count, c.place, CASE WHEN c.reopens IS NULL THEN :at ELSE o.at END, CASE WHEN c.reopens IS NULL THEN c.seq END
        FROM count_closing c LEFT JOIN count_closing o ON o.seq = c.reopens
        WHERE c.seq = :seq AND NOT EXISTS (SELECT 1 FROM count_closing r WHERE r.reopens = c.seq)
            AND (c.reopens IS NULL OR NOT EXISTS (
                SELECT 1 FROM closing_in_force e WHERE e.count = c.count AND e.place IS c.place))";
    let changed = conn
        .prepare_cached(sql)
        .and_then(|mut s| s.execute(named_params! { ":seq": seq, ":at": at }))
        .doing("opening a count again")?;
    if changed == 0 { Err(StoreError::NotFound { kind: "closing in force", id: seq.0 }) } else { Ok(()) }
}

/// Gives a count up that was begun by mistake: it is listed no more.
///
/// # Errors
/// [`StoreError`].
pub fn give_up(conn: &Connection, count: CountId) -> Result<(), StoreError> {
    conn.prepare_cached("INSERT INTO count_given_up (count) VALUES (:count) ON CONFLICT DO NOTHING")
        .and_then(|mut s| s.execute(named_params! { ":count": count }))
        .doing("giving a count up")
        .map(|_| ())
}

fn closing(conn: &Connection, count: CountId, place: Option<PlaceId>, at: Moment) -> Result<(), StoreError> {
    // Two rows without a place are not equal to the unique index, so the closed count is looked for.
    let changed = conn
        .prepare_cached(
            "INSERT INTO count_closing (count, place, at) SELECT c.id, :place, :at FROM count c
             WHERE c.id = :count AND NOT EXISTS (
                 SELECT 1 FROM closing_in_force e WHERE e.count = c.id AND (e.place IS NULL OR e.place IS :place))",
        )
        .and_then(|mut s| s.execute(named_params! { ":count": count, ":place": place, ":at": at }))
        .doing("closing a count")?;
    if changed == 0 {
        let kind = if place.is_some() { "open place in the count" } else { "open count" };
        return Err(StoreError::NotFound { kind, id: count.0 });
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::store::tests::plan;

    /// A closing is sought by its count, and counts are gone through in their order.
    #[test]
    fn closed_counts_are_gone_through_from_a_moment_on() {
        let before = plan(&format!("{CLOSED} AND c.opened < :moment ORDER BY c.opened DESC, c.id DESC"));
        assert!(before.contains("SEARCH c USING INDEX count_opened (opened<?)"), "{before}");
        assert!(before.contains("SEARCH c USING INDEX count_closing_count (count=? AND place=?)"), "{before}");
        assert!(!before.contains("TEMP B-TREE"), "{before}");
        let list = plan(&format!("{COUNT} ORDER BY c.opened DESC, c.id DESC"));
        assert!(list.contains("SEARCH c USING INDEX count_closing_count (count=? AND place=?)"), "{list}");
    }

    /// All counts are held against an index of closings, in the order of both; only of what is left closings are looked up.
    #[test]
    fn an_open_count_is_one_without_a_closing_or_with_one_taken_back() {
        let open = plan(&open_sql());
        assert!(open.contains("MERGE (EXCEPT)"), "{open}");
        assert!(open.contains("SCAN count_closing USING COVERING INDEX count_closing_count"), "{open}");
        assert!(
            open.contains("SEARCH count_closing USING INDEX sqlite_autoindex_count_closing_1 (reopens>?)"),
            "{open}"
        );
        assert!(open.contains("SEARCH c USING INTEGER PRIMARY KEY (rowid=?)"), "{open}");
    }

    /// Neither may walk over the lines of past counts.
    #[test]
    fn what_was_last_seen_is_sought_and_not_searched_for() {
        let latest = plan(&latest_sql());
        assert!(latest.contains("SEARCH l USING INDEX count_line_item (item=? AND place=? AND at<?)"), "{latest}");
        assert!(latest.contains("SEARCH r USING INTEGER PRIMARY KEY"), "{latest}");
        assert!(!latest.contains("TEMP B-TREE"), "{latest}");
        let looked = plan(LOOKED);
        assert!(
            looked.contains("SEARCH l USING COVERING INDEX count_line_item (item=? AND place=? AND at>?"),
            "{looked}"
        );
        let since = plan(&since_sql());
        assert!(since.contains("SEARCH l USING INDEX count_line_item (item=? AND place=? AND at>?)"), "{since}");
        for plan in [latest, since] {
            assert!(!["SCAN l", "SCAN n", "SCAN r"].iter().any(|scan| plan.contains(scan)), "{plan}");
        }
    }
}
