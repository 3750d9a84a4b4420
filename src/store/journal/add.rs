//! New rows of the journal.

use crate::domain::ledger::{Batch, Delivery, Loss, Transfer};
use crate::domain::venue::{Moment, Seq};
use crate::store::convert::Day;
use crate::store::error::Doing;
use crate::store::{StoreError, history};
use chrono::NaiveDate;
use rusqlite::{Connection, OptionalExtension, named_params};

/// The row that every fact has, whatever its kind.
struct Head<'a> {
    kind: &'static str,
    at: Moment,
    by: Option<&'a str>,
    entered: Moment,
    day: NaiveDate,
}

fn head(conn: &Connection, head: &Head<'_>) -> Result<Seq, StoreError> {
    conn.prepare_cached(
        "INSERT INTO journal (venue, kind, at, day, by, entered)
         SELECT value, :kind, :at, :day, :by, :entered FROM venue WHERE key = 'uid' RETURNING seq",
    )
    .and_then(|mut s| {
        s.query_row(
            named_params! {
                ":kind": head.kind, ":at": head.at, ":day": Day(Some(head.day)), ":by": head.by,
                ":entered": head.entered,
            },
            |row| row.get("seq"),
        )
    })
    .doing("adding to the journal")
}

/// Books a line of a delivery; `day` is the business day of its time. Its `seq` is not looked at.
///
/// # Errors
/// [`StoreError`].
pub fn add_delivery(
    conn: &Connection,
    fact: &Delivery,
    by: Option<&str>,
    entered: Moment,
    day: NaiveDate,
) -> Result<Seq, StoreError> {
    let seq = head(conn, &Head { kind: "delivery", at: fact.at, by, entered, day })?;
    conn.prepare_cached(
        "INSERT INTO delivery (seq, document, line, supplier, item, containers, unit_price, place, deposit)
         VALUES (:seq, :document, :line, :supplier, :item, :containers, :unit_price, :place, :deposit)",
    )
    .and_then(|mut s| {
        s.execute(named_params! {
            ":seq": seq, ":document": fact.document, ":line": fact.line, ":supplier": fact.supplier, ":item": fact.item,
            ":containers": fact.containers, ":unit_price": fact.unit_price, ":place": fact.place,
            ":deposit": fact.deposit,
        })
    })
    .doing("booking a delivery")?;
    Ok(seq)
}

/// Books a loss; signed by `by`, or else as the fact itself says.
///
/// # Errors
/// [`StoreError`].
pub fn add_loss(
    conn: &Connection,
    fact: &Loss,
    by: Option<&str>,
    entered: Moment,
    day: NaiveDate,
) -> Result<Seq, StoreError> {
    let seq = head(conn, &Head { kind: "loss", at: fact.at, by: by.or(fact.by.as_deref()), entered, day })?;
    conn.prepare_cached(
        "INSERT INTO loss (seq, item, amount, reason, place, note) VALUES (:seq, :item, :amount, :reason, :place, :note)",
    )
    .and_then(|mut s| {
        s.execute(named_params! {
            ":seq": seq, ":item": fact.item, ":amount": fact.amount, ":reason": fact.reason, ":place": fact.place,
            ":note": fact.note,
        })
    })
    .doing("booking a loss")?;
    Ok(seq)
}

/// Books a transfer; signed by `by`, or else as the fact itself says.
///
/// # Errors
/// [`StoreError`].
pub fn add_transfer(
    conn: &Connection,
    fact: &Transfer,
    by: Option<&str>,
    entered: Moment,
    day: NaiveDate,
) -> Result<Seq, StoreError> {
    let seq = head(conn, &Head { kind: "transfer", at: fact.at, by: by.or(fact.by.as_deref()), entered, day })?;
    conn.prepare_cached(
        "INSERT INTO transfer (seq, item, containers, from_place, to_place)
         VALUES (:seq, :item, :containers, :from, :to)",
    )
    .and_then(|mut s| {
        s.execute(named_params! {
            ":seq": seq, ":item": fact.item, ":containers": fact.containers, ":from": fact.from, ":to": fact.to,
        })
    })
    .doing("booking a transfer")?;
    Ok(seq)
}

/// Books a batch; signed by `by`, or else as the fact itself says.
///
/// # Errors
/// [`StoreError`].
pub fn add_batch(
    conn: &Connection,
    fact: &Batch,
    by: Option<&str>,
    entered: Moment,
    day: NaiveDate,
) -> Result<Seq, StoreError> {
    let seq = head(conn, &Head { kind: "batch", at: fact.at, by: by.or(fact.by.as_deref()), entered, day })?;
    conn.prepare_cached("INSERT INTO batch (seq, item, made, note) VALUES (:seq, :item, :made, :note)")
        .and_then(|mut s| {
            s.execute(named_params! { ":seq": seq, ":item": fact.item, ":made": fact.made, ":note": fact.note })
        })
        .doing("booking a batch")?;
    Ok(seq)
}

/// Enters a fact again that was taken back, as it was.
///
/// # Errors
/// [`StoreError::NotFound`] when there is no such fact.
pub fn again(conn: &Connection, seq: Seq, entered: Moment) -> Result<Seq, StoreError> {
    let new = history::again(conn, "journal", seq, entered)?;
    for detail in ["delivery", "loss", "transfer", "batch"] {
        let others = match detail {
            "delivery" => "document, line, supplier, item, containers, unit_price, place, deposit",
            "loss" => "item, amount, reason, place, note",
            "transfer" => "item, containers, from_place, to_place",
            _ => "item, made, note",
        };
        let sql = format!("INSERT INTO {detail} (seq, {others}) SELECT :new, {others} FROM {detail} WHERE seq = :seq");
        conn.prepare_cached(&sql)
            .and_then(|mut s| s.execute(named_params! { ":new": new, ":seq": seq }))
            .doing("entering a fact again")?;
    }
    Ok(new)
}

/// Who signed a fact.
///
/// # Errors
/// [`StoreError`].
pub fn signed_by(conn: &Connection, seq: Seq) -> Result<Option<String>, StoreError> {
    conn.prepare_cached("SELECT by FROM journal WHERE seq = :seq")
        .and_then(|mut s| s.query_row(named_params! { ":seq": seq }, |row| row.get("by")).optional())
        .doing("looking who signed a fact")
        .map(Option::flatten)
}

/// Takes a fact back. The reversal stands on the business day of what it takes back.
///
/// # Errors
/// [`StoreError::NotFound`] when there is no such row, or it was taken back before.
pub fn reverse(conn: &Connection, seq: Seq, by: Option<&str>, at: Moment) -> Result<Seq, StoreError> {
    let changed = conn
        .prepare_cached(
            "INSERT INTO journal (venue, kind, at, day, by, entered, reverses)
             SELECT j.venue, 'reversal', :at, j.day, :by, :at, j.seq FROM journal j
             WHERE j.seq = :seq AND j.kind <> 'reversal'
                 AND NOT EXISTS (SELECT 1 FROM journal r WHERE r.reverses = j.seq)",
        )
        .and_then(|mut s| s.execute(named_params! { ":seq": seq, ":by": by, ":at": at }))
        .doing("taking back a fact")?;
    if changed == 0 {
        return Err(StoreError::NotFound { kind: "fact in force", id: seq.0 });
    }
    Ok(Seq(conn.last_insert_rowid()))
}
