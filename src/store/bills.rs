//! Suppliers' bills, what their codes stand for, and what is to be claimed.

use super::StoreError;
use super::convert::{Day, wrong};
use super::error::Doing;
use super::query::all;
use crate::domain::receive::{Bill, ClaimKind, CodeKey, KeptClaim, KnownAs, KnownCode, Means, Rate};
use crate::domain::venue::{BillId, ClaimId, ItemId, Moment, SupplierId, name_key};
use rusqlite::{Connection, OptionalExtension, Row, named_params};

/// Everything that was explained of suppliers' codes.
///
/// # Errors
/// [`StoreError`].
pub fn known_codes(conn: &Connection) -> Result<Vec<KnownCode>, StoreError> {
    all("reading suppliers' codes", conn, "SELECT * FROM supplier_code ORDER BY supplier, code, unit", [], known_code)
}

fn known_code(row: &Row<'_>) -> rusqlite::Result<KnownCode> {
    let means: String = row.get("means")?;
    let means = match means.as_str() {
        "deposit" => Means::Deposit,
        "not-stock" => Means::NotStock,
        _ => {
            let rate = Rate::new(row.get("containers")?, row.get("units")?);
            let rate = rate.ok_or_else(|| wrong(std::fmt::Error))?;
            Means::Item { item: row.get("item")?, rate }
        }
    };
    let code: String = row.get("code")?;
    Ok(KnownCode { supplier: row.get("supplier")?, key: CodeKey::kept(&code), unit: row.get("unit")?, means })
}

/// Remembers what a code stands for, in place of what it stood for before. Says whether anything changed.
///
/// A unit that differs only in its case is the same unit, and keeps the spelling that it had.
///
/// # Errors
/// [`StoreError`].
pub fn put_code(conn: &Connection, known: &KnownCode) -> Result<bool, StoreError> {
    let doing = "remembering a supplier's code";
    let (means, item, rate) = match known.means {
        Means::Item { item, rate } => ("item", Some(item), Some(rate)),
        Means::Deposit => ("deposit", None, None),
        Means::NotStock => ("not-stock", None, None),
    };
    let spelled = "SELECT unit FROM supplier_code WHERE supplier = :supplier AND code = :code ORDER BY unit";
    let of = named_params! { ":supplier": known.supplier, ":code": known.key.as_str() };
    let spelled = all(doing, conn, spelled, of, |row| row.get::<_, String>("unit"))?;
    let unit = spelled.iter().find(|had| name_key(had) == name_key(&known.unit)).unwrap_or(&known.unit);
    let changed = conn
        .prepare_cached(
            "INSERT INTO supplier_code (supplier, code, unit, means, item, containers, units)
             VALUES (:supplier, :code, :unit, :means, :item, :containers, :units)
             ON CONFLICT (supplier, code, unit) DO UPDATE SET
                 means = excluded.means, item = excluded.item, containers = excluded.containers, units = excluded.units
             WHERE means <> excluded.means OR item IS NOT excluded.item OR containers IS NOT excluded.containers
                 OR units IS NOT excluded.units",
        )
        .and_then(|mut s| {
            s.execute(named_params! {
                ":supplier": known.supplier, ":code": known.key.as_str(), ":unit": unit, ":means": means,
                ":item": item, ":containers": rate.map(|r| r.numerator), ":units": rate.map(|r| r.denominator),
            })
        })
        .doing(doing)?;
    Ok(changed > 0)
}

/// What suppliers call themselves on their bills.
///
/// # Errors
/// [`StoreError`].
pub fn aliases(conn: &Connection) -> Result<Vec<(KnownAs, SupplierId)>, StoreError> {
    all("reading suppliers' names", conn, "SELECT alias, supplier FROM supplier_alias ORDER BY alias", [], |row| {
        let alias: String = row.get("alias")?;
        Ok((KnownAs::kept(&alias), row.get("supplier")?))
    })
}

/// Remembers what a supplier calls itself. Says whether that was news.
///
/// # Errors
/// [`StoreError`].
pub fn put_alias(conn: &Connection, alias: &KnownAs, supplier: SupplierId) -> Result<bool, StoreError> {
    let changed = conn
        .prepare_cached(
            "INSERT INTO supplier_alias (alias, supplier) VALUES (:alias, :supplier)
             ON CONFLICT (alias) DO UPDATE SET supplier = excluded.supplier WHERE supplier <> excluded.supplier",
        )
        .and_then(|mut s| s.execute(named_params! { ":alias": alias.as_str(), ":supplier": supplier }))
        .doing("remembering a supplier's name")?;
    Ok(changed > 0)
}

fn bill(row: &Row<'_>) -> rusqlite::Result<Bill> {
    Ok(Bill {
        id: row.get("id")?,
        supplier: row.get("supplier")?,
        number: row.get("number")?,
        key: row.get("key")?,
        kind: row.get("kind")?,
        issued: row.get::<_, Day>("issued")?.0.unwrap_or_default(),
        delivery: row.get("delivery")?,
        goods: row.get("goods")?,
        deposits: row.get("deposits")?,
        charges: row.get("charges")?,
        other: row.get("other")?,
        payable: row.get("payable")?,
        at: row.get("at")?,
        by: row.get("by")?,
    })
}

/// Every bill, in the order in which they were booked.
///
/// # Errors
/// [`StoreError`].
pub fn list(conn: &Connection) -> Result<Vec<Bill>, StoreError> {
    all("reading bills", conn, "SELECT * FROM bill ORDER BY id", [], bill)
}

/// The bill of a supplier with a key.
///
/// # Errors
/// [`StoreError`].
pub fn find(conn: &Connection, supplier: SupplierId, key: &str) -> Result<Option<Bill>, StoreError> {
    conn.prepare_cached("SELECT * FROM bill WHERE supplier = :supplier AND key = :key")
        .and_then(|mut s| s.query_row(named_params! { ":supplier": supplier, ":key": key }, bill).optional())
        .doing("looking for a bill")
}

/// Keeps a bill; its `id` is not looked at.
///
/// # Errors
/// [`StoreError`].
pub fn add(conn: &Connection, bill: &Bill) -> Result<BillId, StoreError> {
    conn.prepare_cached(
        "INSERT INTO bill
             (supplier, number, key, kind, issued, delivery, goods, deposits, charges, other, payable, at, by)
         VALUES
             (:supplier, :number, :key, :kind, :issued, :delivery, :goods, :deposits, :charges, :other, :payable, :at, :by)
         RETURNING id",
    )
    .and_then(|mut s| {
        s.query_row(
            named_params! {
                ":supplier": bill.supplier, ":number": bill.number, ":key": bill.key, ":kind": bill.kind,
                ":issued": Day(Some(bill.issued)), ":delivery": bill.delivery, ":goods": bill.goods, ":deposits": bill.deposits,
                ":charges": bill.charges, ":other": bill.other, ":payable": bill.payable, ":at": bill.at, ":by": bill.by,
            },
            |row| row.get("id"),
        )
    })
    .doing("keeping a bill")
}

const CLAIMS: &str = "SELECT c.*, s.note AS settled_note, s.at AS settled_at, s.by AS settled_by FROM claim c
    LEFT JOIN claim_settlement s ON s.claim = c.id";

fn claim(row: &Row<'_>) -> rusqlite::Result<KeptClaim> {
    let settled: Option<Moment> = row.get("settled_at")?;
    Ok(KeptClaim {
        id: row.get("id")?,
        supplier: row.get("supplier")?,
        document: row.get("document")?,
        item: row.get("item")?,
        kind: row.get("kind")?,
        containers: row.get("containers")?,
        money: row.get("amount")?,
        note: row.get("note")?,
        at: row.get("at")?,
        by: row.get("by")?,
        settled: match settled {
            Some(at) => Some((at, row.get("settled_by")?, row.get("settled_note")?)),
            None => None,
        },
    })
}

/// Every claim, in the order in which they were made.
///
/// # Errors
/// [`StoreError`].
pub fn claims(conn: &Connection) -> Result<Vec<KeptClaim>, StoreError> {
    all("reading claims", conn, &format!("{CLAIMS} ORDER BY c.id"), [], claim)
}

/// Claims that nobody has settled, in the order in which they were made.
///
/// # Errors
/// [`StoreError`].
pub fn open_claims(conn: &Connection) -> Result<Vec<KeptClaim>, StoreError> {
    all("reading claims", conn, &format!("{CLAIMS} WHERE s.claim IS NULL ORDER BY c.id"), [], claim)
}

/// What is to be claimed, as it is put down.
#[derive(Clone, Copy, Debug)]
pub struct NewClaim<'a> {
    /// From whom.
    pub supplier: SupplierId,
    /// On which document.
    pub document: &'a str,
    /// For what.
    pub item: Option<ItemId>,
    /// Why.
    pub kind: ClaimKind,
    /// For so many containers.
    pub containers: i64,
    /// How much, without tax.
    pub money: crate::domain::measure::Money,
    /// In a sentence.
    pub note: &'a str,
}

/// Puts a claim down.
///
/// # Errors
/// [`StoreError`].
pub fn add_claim(conn: &Connection, claim: &NewClaim<'_>, by: Option<&str>, at: Moment) -> Result<ClaimId, StoreError> {
    conn.prepare_cached(
        "INSERT INTO claim (supplier, document, item, kind, containers, amount, note, at, by)
         VALUES (:supplier, :document, :item, :kind, :containers, :amount, :note, :at, :by) RETURNING id",
    )
    .and_then(|mut s| {
        s.query_row(
            named_params! {
                ":supplier": claim.supplier, ":document": claim.document, ":item": claim.item, ":kind": claim.kind,
                ":containers": claim.containers, ":amount": claim.money, ":note": claim.note, ":at": at, ":by": by,
            },
            |row| row.get("id"),
        )
    })
    .doing("keeping a claim")
}

/// Settles a claim.
///
/// # Errors
/// [`StoreError::NotFound`] when it is not there, or settled already.
pub fn settle(conn: &Connection, claim: ClaimId, note: &str, by: Option<&str>, at: Moment) -> Result<(), StoreError> {
    let changed = conn
        .prepare_cached(
            "INSERT INTO claim_settlement (claim, note, at, by) SELECT c.id, :note, :at, :by FROM claim c
             WHERE c.id = :claim AND NOT EXISTS (SELECT 1 FROM claim_settlement s WHERE s.claim = c.id)",
        )
        .and_then(|mut s| s.execute(named_params! { ":note": note, ":at": at, ":by": by, ":claim": claim }))
        .doing("settling a claim")?;
    if changed == 0 { Err(StoreError::NotFound { kind: "open claim", id: claim.0 }) } else { Ok(()) }
}
