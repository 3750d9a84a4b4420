//! The journal: what came, went, moved and was made. Rows are only added; a mistake is taken back by another row.

mod add;
mod paid;

pub use add::{add_batch, add_delivery, add_loss, add_transfer, again, reverse, signed_by};
pub use paid::{Bought, bought_for, last_paid};

use super::StoreError;
use super::error::Doing;
use super::query::all;
use crate::domain::ledger::{Batch, Delivery, Loss, Movements, Transfer};
use crate::domain::venue::{Moment, Seq, SupplierId};
use rusqlite::{Connection, Row, named_params};

/// What a failed query was for.
const DOING: &str = "reading the journal";

/// A row of the journal is in force unless another one takes it back.
const IN_FORCE: &str = "NOT EXISTS (SELECT 1 FROM journal r WHERE r.reverses = j.seq)";

const SPAN: &str = "AND j.at > :after AND j.at <= :until ORDER BY j.at, j.seq";

fn select(kind: &str, rest: &str) -> String {
    format!(
        "SELECT j.at, j.by, d.* FROM journal j JOIN {kind} d ON d.seq = j.seq WHERE j.kind = '{kind}' AND {IN_FORCE} {rest}"
    )
}

fn delivery(row: &Row<'_>) -> rusqlite::Result<Delivery> {
    Ok(Delivery {
        seq: row.get("seq")?,
        document: row.get("document")?,
        line: row.get("line")?,
        at: row.get("at")?,
        supplier: row.get("supplier")?,
        item: row.get("item")?,
        containers: row.get("containers")?,
        unit_price: row.get("unit_price")?,
        place: row.get("place")?,
        deposit: row.get("deposit")?,
    })
}

fn loss(row: &Row<'_>) -> rusqlite::Result<Loss> {
    Ok(Loss {
        seq: row.get("seq")?,
        at: row.get("at")?,
        item: row.get("item")?,
        amount: row.get("amount")?,
        reason: row.get("reason")?,
        place: row.get("place")?,
        by: row.get("by")?,
        note: row.get("note")?,
    })
}

fn transfer(row: &Row<'_>) -> rusqlite::Result<Transfer> {
    Ok(Transfer {
        seq: row.get("seq")?,
        at: row.get("at")?,
        item: row.get("item")?,
        containers: row.get("containers")?,
        from: row.get("from_place")?,
        to: row.get("to_place")?,
        by: row.get("by")?,
    })
}

fn batch(row: &Row<'_>) -> rusqlite::Result<Batch> {
    Ok(Batch {
        seq: row.get("seq")?,
        at: row.get("at")?,
        item: row.get("item")?,
        made: row.get("made")?,
        by: row.get("by")?,
        note: row.get("note")?,
    })
}

/// The facts in force after one moment and up to another, each kind in the order of time.
///
/// # Errors
/// [`StoreError`].
pub fn movements(conn: &Connection, after: Moment, until: Moment) -> Result<Movements, StoreError> {
    Ok(Movements {
        deliveries: deliveries(conn, after, until)?,
        losses: losses(conn, after, until)?,
        transfers: transfers(conn, after, until)?,
        batches: batches(conn, after, until)?,
    })
}

/// Makes a reader of each kind.
macro_rules! kinds {
    ($($name:ident: $kind:literal, $fact:ident, $make:ident;)+) => {$(
        /// As [`movements`], this kind alone.
        ///
        /// # Errors
        /// [`StoreError`].
        pub fn $name(conn: &Connection, after: Moment, until: Moment) -> Result<Vec<$fact>, StoreError> {
            all(DOING, conn, &select($kind, SPAN), named_params! { ":after": after, ":until": until }, $make)
        }
    )+};
}

kinds! {
    deliveries: "delivery", Delivery, delivery;
    losses: "loss", Loss, loss;
    transfers: "transfer", Transfer, transfer;
    batches: "batch", Batch, batch;
}

/// The losses in force, the newest first.
///
/// # Errors
/// [`StoreError`].
pub fn recent_losses(conn: &Connection, limit: u32) -> Result<Vec<Loss>, StoreError> {
    let sql = select("loss", "ORDER BY j.at DESC, j.seq DESC LIMIT :limit");
    all(DOING, conn, &sql, named_params! { ":limit": limit }, loss)
}

/// The delivery line in force with this place on a supplier's document.
///
/// # Errors
/// [`StoreError`].
pub fn delivery_line(
    conn: &Connection,
    supplier: SupplierId,
    document: &str,
    line: i64,
) -> Result<Option<Delivery>, StoreError> {
    // Cross join: from the document to the journal, whose rows by kind are many. The latest is picked here: an ORDER BY
    // makes the engine plan the query anew whenever its values change.
    let sql = format!(
        "SELECT j.at, j.by, d.* FROM delivery d CROSS JOIN journal j ON j.seq = d.seq
         WHERE d.supplier = :supplier AND d.document = :document AND d.line = :line AND {IN_FORCE}"
    );
    let params = named_params! { ":supplier": supplier, ":document": document, ":line": line };
    Ok(all(DOING, conn, &sql, params, delivery)?.into_iter().max_by_key(|found| found.seq))
}

/// What a delivery said, and whether it is in force.
///
/// # Errors
/// [`StoreError::NotFound`] when no such line was ever booked.
pub fn delivery_once(conn: &Connection, seq: Seq) -> Result<(Delivery, bool), StoreError> {
    let sql = format!(
        "SELECT j.at, d.*, {IN_FORCE} AS in_force FROM delivery d JOIN journal j ON j.seq = d.seq WHERE d.seq = :seq"
    );
    let found =
        all(DOING, conn, &sql, named_params! { ":seq": seq }, |row| Ok((delivery(row)?, row.get("in_force")?)))?;
    found.into_iter().next().ok_or(StoreError::NotFound { kind: "delivery", id: seq.0 })
}

/// Whether a line of this document of a supplier is in force.
///
/// # Errors
/// [`StoreError`].
pub fn has_document(conn: &Connection, supplier: SupplierId, document: &str) -> Result<bool, StoreError> {
    conn.prepare_cached(
        "SELECT EXISTS (SELECT 1 FROM delivery d WHERE d.supplier = :supplier AND d.document = :document
             AND NOT EXISTS (SELECT 1 FROM journal r WHERE r.reverses = d.seq)) AS found",
    )
    .and_then(|mut s| {
        s.query_row(named_params! { ":supplier": supplier, ":document": document }, |row| row.get("found"))
    })
    .doing("looking for a delivery document")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::store::tests::plan;

    #[test]
    fn a_week_of_the_journal_is_sought_by_its_time() {
        for kind in ["delivery", "loss", "transfer", "batch"] {
            let plan = plan(&select(kind, SPAN));
            assert!(plan.contains("SEARCH j USING INDEX journal_at (kind=? AND at>? AND at<?)"), "{plan}");
            assert!(plan.contains("SEARCH d USING INTEGER PRIMARY KEY"), "{plan}");
            assert!(!plan.contains("SCAN") && !plan.contains("TEMP B-TREE"), "{plan}");
        }
    }
}
