//! What was rung on every business day: sums of the lines of receipts, kept so that years of them can be looked at.
//!
//! The sums are a cache. They say up to which line they go; lines that came after are added as they are read, and where a
//! line was changed, or the business day begins at another hour, all of them are summed anew.

use super::StoreError;
use super::error::Doing;
use super::query::all;
use crate::domain::ledger::{DayTotal, Sale};
use crate::domain::measure::Money;
use crate::domain::venue::{DayRule, Moment, TillId};
use chrono::{Days, NaiveDate};
use rusqlite::{Connection, named_params};
use std::collections::{BTreeMap, HashMap};

const EPOCH: NaiveDate = NaiveDate::from_ymd_opt(1970, 1, 1).expect("a date");

/// So many sums are held at most before they are added to those kept: years of sales may come in at once.
const HELD: usize = 16_384;

/// Sums of lines that are not yet among those kept.
#[derive(Debug, Default)]
pub struct DaySums {
    sums: HashMap<(NaiveDate, TillId), i64>,
    /// The day of the last line, and from when to when it runs: the next line is mostly of the same.
    running: Option<(NaiveDate, Moment, Moment)>,
}

impl DaySums {
    /// Adds a line, or takes it away.
    pub fn add(&mut self, rule: &DayRule, sale: &Sale, times: i64) {
        let took = sale.took();
        if took == 0 {
            return;
        }
        let day = match self.running {
            Some((day, from, to)) if from <= sale.at && sale.at < to => day,
            _ => {
                let day = rule.day_of(sale.at);
                let next = day.checked_add_days(Days::new(1)).unwrap_or(day);
                self.running = Some((day, rule.begins(day), rule.begins(next)));
                day
            }
        };
        *self.sums.entry((day, sale.till)).or_default() += took * times;
    }

    /// Takes the sums out, which are those of one day.
    fn of_one_day(&mut self) -> HashMap<TillId, i64> {
        std::mem::take(&mut self.sums).into_iter().map(|((_, till), took)| (till, took)).collect()
    }

    /// Adds a line, or takes it away, and keeps what was summed so far where that is much.
    pub(super) fn add_and_keep(
        &mut self,
        conn: &Connection,
        rule: &DayRule,
        sale: &Sale,
        times: i64,
    ) -> Result<(), StoreError> {
        self.add(rule, sale, times);
        if self.sums.len() >= HELD { put(conn, rule, std::mem::take(self)) } else { Ok(()) }
    }
}

fn number_of(day: NaiveDate) -> i64 {
    (day - EPOCH).num_days()
}

fn day_of(number: i64) -> Option<NaiveDate> {
    EPOCH.checked_add_signed(chrono::TimeDelta::try_days(number)?)
}

/// Up to which line the kept sums hold; none where they do not.
fn upto(conn: &Connection, rule: &DayRule) -> Result<Option<i64>, StoreError> {
    let found: (i64, String, String) = conn
        .prepare_cached("SELECT upto, zone, starts FROM sale_day_state")
        .and_then(|mut s| s.query_row([], |row| Ok((row.get("upto")?, row.get("zone")?, row.get("starts")?))))
        .doing("reading sums of sales")?;
    let (upto, zone, starts) = found;
    let same = zone == rule.zone.name() && starts == rule.starts.to_string();
    Ok((upto >= 0 && same).then_some(upto))
}

/// A kept sum, of a row of (day, till, took). By position: there may be half a million of them.
fn total_of(row: &rusqlite::Row<'_>) -> rusqlite::Result<DayTotal> {
    Ok(DayTotal { day: day_of(row.get(0)?).unwrap_or(EPOCH), till: row.get(1)?, took: row.get(2)? })
}

/// What a line took, of a row of (at, till, quantity, kind). By position: there may be a million of them.
fn took_of(row: &rusqlite::Row<'_>) -> rusqlite::Result<Sale> {
    Ok(Sale { at: row.get(0)?, till: row.get(1)?, quantity: row.get(2)?, net: Money::ZERO, kind: row.get(3)? })
}

/// Hands on every line with a handle above one.
fn lines_after(
    conn: &Connection,
    after: i64,
    mut each: impl FnMut(Sale) -> Result<(), StoreError>,
) -> Result<(), StoreError> {
    let doing = "reading sales";
    let mut statement =
        conn.prepare_cached("SELECT at, till, quantity, kind FROM sale WHERE id > :after ORDER BY id").doing(doing)?;
    let mut rows = statement.query(named_params! { ":after": after }).doing(doing)?;
    while let Some(row) = rows.next().doing(doing)? {
        each(took_of(row).doing(doing)?)?;
    }
    Ok(())
}

/// Hands on what was rung on some business days, in the order of days and till names. One at a time: of five years there
/// are half a million.
///
/// # Errors
/// [`StoreError`].
pub fn each_between(
    conn: &Connection,
    rule: &DayRule,
    from: NaiveDate,
    to: NaiveDate,
    mut each: impl FnMut(DayTotal),
) -> Result<(), StoreError> {
    let doing = "reading sums of sales";
    let upto = upto(conn, rule)?;
    let mut later = DaySums::default();
    lines_after(conn, upto.unwrap_or(0), |sale| {
        later.add(rule, &sale, 1);
        Ok(())
    })?;
    let later: BTreeMap<_, _> = later.sums.into_iter().filter(|((day, _), _)| (from..=to).contains(day)).collect();
    let mut later = later.into_iter().peekable();
    let mut give = |(day, till), took| each(DayTotal { day, till, took });
    if upto.is_some() {
        let sql = "SELECT day, till, took FROM sale_day WHERE day BETWEEN :from AND :to ORDER BY day, till";
        let mut kept = conn.prepare_cached(sql).doing(doing)?;
        let params = named_params! { ":from": number_of(from), ":to": number_of(to) };
        let mut kept = kept.query(params).doing(doing)?;
        while let Some(row) = kept.next().doing(doing)? {
            let DayTotal { day, till, mut took } = total_of(row).doing(doing)?;
            while let Some((of, more)) = later.next_if(|(of, _)| *of <= (day, till)) {
                if of == (day, till) { took += more } else { give(of, more) }
            }
            give((day, till), took);
        }
    }
    later.for_each(|(of, took)| give(of, took));
    Ok(())
}

/// What was rung of every till name on some business days together, from the first to the last; nothing where the kept sums
/// do not hold.
///
/// # Errors
/// [`StoreError`].
pub fn took(
    conn: &Connection,
    rule: &DayRule,
    first: NaiveDate,
    last: NaiveDate,
) -> Result<Option<Vec<(TillId, i64)>>, StoreError> {
    if !are_whole(conn, rule)? {
        return Ok(None);
    }
    let sql = "SELECT till, sum(took) FROM sale_day WHERE day BETWEEN :first AND :last GROUP BY till";
    let params = named_params! { ":first": number_of(first), ":last": number_of(last) };
    all("reading sums of sales", conn, sql, params, |row| Ok((row.get(0)?, row.get(1)?))).map(Some)
}

/// The first and the last moment at which anything was rung.
///
/// # Errors
/// [`StoreError`].
pub fn ends(conn: &Connection) -> Result<Option<(Moment, Moment)>, StoreError> {
    // Each by itself: together they are no longer answered from the two ends of the index.
    let sql = "SELECT (SELECT min(at) FROM sale) AS first, (SELECT max(at) FROM sale) AS last";
    let (first, last): (Option<Moment>, Option<Moment>) = conn
        .prepare_cached(sql)
        .and_then(|mut s| s.query_row([], |row| Ok((row.get("first")?, row.get("last")?))))
        .doing("looking for sales")?;
    Ok(first.zip(last))
}

/// Whether the kept sums hold up to the last line.
///
/// # Errors
/// [`StoreError`].
pub(super) fn are_whole(conn: &Connection, rule: &DayRule) -> Result<bool, StoreError> {
    let upto = upto(conn, rule)?;
    Ok(upto == Some(last_line(conn)?))
}

fn last_line(conn: &Connection) -> Result<i64, StoreError> {
    conn.prepare_cached("SELECT coalesce(max(id), 0) FROM sale")
        .and_then(|mut s| s.query_row([], |row| row.get(0)))
        .doing("looking for the last sale")
}

/// Adds sums to those kept, which then hold up to the last line.
pub(super) fn put(conn: &Connection, rule: &DayRule, sums: DaySums) -> Result<(), StoreError> {
    let doing = "keeping sums of sales";
    let mut add = conn
        .prepare_cached(
            "INSERT INTO sale_day (day, till, took) VALUES (:day, :till, :took)
             ON CONFLICT (day, till) DO UPDATE SET took = took + excluded.took",
        )
        .doing(doing)?;
    for ((day, till), took) in sums.sums {
        add.execute(named_params! { ":day": number_of(day), ":till": till, ":took": took }).doing(doing)?;
    }
    let upto = last_line(conn)?;
    conn.prepare_cached(
        "UPDATE sale_day_state SET upto = :upto, zone = :zone, starts = :starts, written = written + 1",
    )
    .and_then(|mut s| {
        s.execute(named_params! {
            ":upto": upto, ":zone": rule.zone.name(), ":starts": rule.starts.to_string(),
        })
    })
    .doing(doing)?;
    Ok(())
}

/// Brings the kept sums up to the last line; where they no longer hold, makes them anew.
///
/// # Errors
/// [`StoreError`].
pub fn refresh(conn: &Connection, rule: &DayRule) -> Result<(), StoreError> {
    let upto = upto(conn, rule)?;
    if upto.is_none() {
        conn.execute("DELETE FROM sale_day", []).doing("keeping sums of sales")?;
    }
    let mut sums = DaySums::default();
    lines_after(conn, upto.unwrap_or(0), |sale| sums.add_and_keep(conn, rule, &sale, 1))?;
    put(conn, rule, sums)
}

/// The days on which the kept sums are not what the lines say, where they claim to hold; in the order of time. Lines and
/// sums are gone through side by side, a day at a time.
///
/// # Errors
/// [`StoreError`].
pub(super) fn wrong(conn: &Connection, rule: &DayRule) -> Result<Vec<NaiveDate>, StoreError> {
    let doing = "checking sums of sales";
    let Some(upto) = upto(conn, rule)? else { return Ok(Vec::new()) };
    let mut kept = conn.prepare_cached("SELECT day, till, took FROM sale_day ORDER BY day").doing(doing)?;
    let mut kept = kept.query([]).doing(doing)?;
    let mut next_kept =
        || -> Result<Option<DayTotal>, StoreError> { kept.next().doing(doing)?.map(total_of).transpose().doing(doing) };
    let mut ahead = next_kept()?;
    let mut wrong = Vec::new();
    // Compares what lines of a day come to, and all sums of days before it, of which there are no lines.
    let mut compare = |day: Option<NaiveDate>, mut sums: HashMap<TillId, i64>| -> Result<(), StoreError> {
        while let Some(DayTotal { day: of, till, took }) = ahead.filter(|of| day.is_none_or(|day| of.day <= day)) {
            if Some(of) == day {
                *sums.entry(till).or_default() -= took;
            } else if took != 0 {
                wrong.push(of);
            }
            ahead = next_kept()?;
        }
        wrong.extend(day.filter(|_| sums.values().any(|off| *off != 0)));
        Ok(())
    };
    let sql = "SELECT at, till, quantity, kind FROM sale INDEXED BY sale_at WHERE +id <= :upto ORDER BY at";
    let mut lines = conn.prepare_cached(sql).doing(doing)?;
    let mut lines = lines.query(named_params! { ":upto": upto }).doing(doing)?;
    let mut running = DaySums::default();
    while let Some(row) = lines.next().doing(doing)? {
        let sale = took_of(row).doing(doing)?;
        let over = running.running.filter(|(_, _, to)| sale.at >= *to);
        if let Some((day, ..)) = over {
            compare(Some(day), running.of_one_day())?;
        }
        running.add(rule, &sale, 1);
    }
    if let Some((day, ..)) = running.running {
        compare(Some(day), running.of_one_day())?;
    }
    compare(None, HashMap::new())?;
    wrong.sort_unstable();
    wrong.dedup();
    Ok(wrong)
}
