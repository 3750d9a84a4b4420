//! Suppliers' bills, what their codes stand for, and what is to be claimed.

use super::StoreError;
use super::convert::{Day, wrong};
use super::error::Doing;
use super::query::all;
use crate::domain::measure::Money;
use crate::domain::receive::{Bill, ClaimKind, CodeKey, KeptClaim, KnownAs, KnownCode, Means, Rate};
use crate::domain::venue::{BillId, ClaimId, FileId, ItemId, Moment, OrderId, Seq, SupplierId, name_key};
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

const IN_FORCE: &str = "NOT EXISTS (SELECT 1 FROM bill_withdrawal w WHERE w.bill = b.id)";

/// Every bill that is not taken back, in the order in which they were booked.
///
/// # Errors
/// [`StoreError`].
pub fn list(conn: &Connection) -> Result<Vec<Bill>, StoreError> {
    all("reading bills", conn, &format!("SELECT * FROM bill b WHERE {IN_FORCE} ORDER BY id"), [], bill)
}

/// Those of one supplier that are not taken back, in the order in which they were booked.
///
/// # Errors
/// [`StoreError`].
pub fn of_supplier(conn: &Connection, supplier: SupplierId) -> Result<Vec<Bill>, StoreError> {
    let sql = format!("SELECT * FROM bill b WHERE supplier = :supplier AND {IN_FORCE} ORDER BY id");
    all("reading bills", conn, &sql, named_params! { ":supplier": supplier }, bill)
}

/// The bills that were booked last and are not taken back, the newest first.
///
/// # Errors
/// [`StoreError`].
pub fn newest(conn: &Connection, most: u32) -> Result<Vec<Bill>, StoreError> {
    let sql = format!("SELECT * FROM bill b WHERE {IN_FORCE} ORDER BY id DESC LIMIT :most");
    all("reading bills", conn, &sql, named_params! { ":most": most }, bill)
}

/// The bill of a supplier with a key, unless it is taken back.
///
/// # Errors
/// [`StoreError`].
pub fn find(conn: &Connection, supplier: SupplierId, key: &str) -> Result<Option<Bill>, StoreError> {
    conn.prepare_cached(&format!("SELECT * FROM bill b WHERE supplier = :supplier AND key = :key AND {IN_FORCE}"))
        .and_then(|mut s| s.query_row(named_params! { ":supplier": supplier, ":key": key }, bill).optional())
        .doing("looking for a bill")
}

/// What a bill did to the rest of the book, for taking it back.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct BillDid {
    /// The order that it answered.
    pub answers: Option<OrderId>,
    /// The order of what did not come.
    pub rest: Option<OrderId>,
    /// The file that it came as; none of a bill out of plain files, of which nothing else is known either.
    pub file: Option<FileId>,
    /// What it put into the journal, in the order of the journal.
    pub entries: Vec<Entry>,
}

/// What a bill put into the journal.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Entry {
    /// A delivery.
    Booked(Seq),
    /// That a delivery of before was taken back; which.
    TookBack(Seq),
}

/// What a bill did.
///
/// # Errors
/// [`StoreError::NotFound`] when it is not there, or taken back.
pub fn did(conn: &Connection, id: BillId) -> Result<(Bill, BillDid), StoreError> {
    let doing = "reading a bill";
    let found = conn
        .prepare_cached(&format!("SELECT * FROM bill b WHERE id = :id AND {IN_FORCE}"))
        .and_then(|mut s| {
            s.query_row(named_params! { ":id": id }, |row| {
                let (answers, rest, file) = (row.get("answers")?, row.get("rest")?, row.get("file")?);
                Ok((bill(row)?, BillDid { answers, rest, file, entries: Vec::new() }))
            })
            .optional()
        })
        .doing(doing)?;
    let (bill, mut did) = found.ok_or(StoreError::NotFound { kind: "bill in force", id: id.0 })?;
    let entries =
        "SELECT e.seq, j.reverses FROM bill_entry e JOIN journal j ON j.seq = e.seq WHERE e.bill = :id ORDER BY e.seq";
    did.entries = all(doing, conn, entries, named_params! { ":id": id }, |row| {
        Ok(match row.get::<_, Option<Seq>>("reverses")? {
            Some(had) => Entry::TookBack(had),
            None => Entry::Booked(row.get("seq")?),
        })
    })?;
    Ok((bill, did))
}

/// Keeps that a bill put a row into the journal.
///
/// # Errors
/// [`StoreError`].
pub fn add_entry(conn: &Connection, bill: BillId, seq: Seq) -> Result<(), StoreError> {
    conn.prepare_cached("INSERT INTO bill_entry (bill, seq) VALUES (:bill, :seq)")
        .and_then(|mut s| s.execute(named_params! { ":bill": bill, ":seq": seq }))
        .doing("keeping what a bill booked")
        .map(|_| ())
}

/// The bill that put a row into the journal, unless it is taken back.
///
/// # Errors
/// [`StoreError`].
pub fn that_booked(conn: &Connection, seq: Seq) -> Result<Option<BillId>, StoreError> {
    let sql = format!("SELECT b.id FROM bill_entry e JOIN bill b ON b.id = e.bill WHERE e.seq = :seq AND {IN_FORCE}");
    Ok(all("looking for a bill", conn, &sql, named_params! { ":seq": seq }, |row| row.get("id"))?.into_iter().next())
}

/// The bill in force that answers an order.
///
/// # Errors
/// [`StoreError`].
pub fn that_answers(conn: &Connection, order: OrderId) -> Result<Option<Bill>, StoreError> {
    let sql = format!("SELECT * FROM bill b WHERE answers = :order AND {IN_FORCE}");
    Ok(all("looking for a bill", conn, &sql, named_params! { ":order": order }, bill)?.into_iter().next())
}

/// Takes a bill back: it is in force no more, and neither is its file. What it did elsewhere is not touched.
///
/// # Errors
/// [`StoreError`], such as when it is taken back already.
pub fn withdraw(conn: &Connection, id: BillId, by: Option<&str>, at: Moment) -> Result<(), StoreError> {
    let doing = "taking a bill back";
    conn.prepare_cached("INSERT INTO bill_withdrawal (bill, at, by) VALUES (:id, :at, :by)")
        .and_then(|mut s| s.execute(named_params! { ":id": id, ":at": at, ":by": by }))
        .doing(doing)?;
    conn.prepare_cached(
        "INSERT INTO file_withdrawal (file, at, by) SELECT b.file, :at, :by FROM bill b
         WHERE b.id = :id AND b.file IS NOT NULL AND NOT EXISTS (SELECT 1 FROM file_withdrawal w WHERE w.file = b.file)",
    )
    .and_then(|mut s| s.execute(named_params! { ":id": id, ":at": at, ":by": by }))
    .doing(doing)
    .map(|_| ())
}

/// Keeps a bill, with the orders and the file that `did` names; its `id` is not looked at.
///
/// # Errors
/// [`StoreError`].
pub fn add(conn: &Connection, bill: &Bill, did: &BillDid) -> Result<BillId, StoreError> {
    conn.prepare_cached(
        "INSERT INTO bill
             (supplier, number, key, kind, issued, delivery, answers, rest, goods, deposits, charges, other, payable, file, at, by)
         VALUES
             (:supplier, :number, :key, :kind, :issued, :delivery, :answers, :rest, :goods, :deposits, :charges, :other,
              :payable, :file, :at, :by)
         RETURNING id",
    )
    .and_then(|mut s| {
        s.query_row(
            named_params! {
                ":supplier": bill.supplier, ":number": bill.number, ":key": bill.key, ":kind": bill.kind,
                ":issued": Day(Some(bill.issued)), ":delivery": bill.delivery, ":goods": bill.goods, ":deposits": bill.deposits,
                ":charges": bill.charges, ":other": bill.other, ":payable": bill.payable, ":at": bill.at, ":by": bill.by,
                ":answers": did.answers, ":rest": did.rest, ":file": did.file,
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

/// Claims that a bill put down and that nobody has settled.
///
/// # Errors
/// [`StoreError`].
pub fn claims_of(conn: &Connection, bill: BillId) -> Result<Vec<KeptClaim>, StoreError> {
    let sql = format!("{CLAIMS} WHERE c.bill = :bill AND s.claim IS NULL ORDER BY c.id");
    all("reading the claims of a bill", conn, &sql, named_params! { ":bill": bill }, claim)
}

/// A claim that a credit note settled.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SettledClaim {
    /// The claim.
    pub claim: KeptClaim,
    /// What it did not cover, which is a claim of its own, and whether that is open.
    pub rest: Option<(ClaimId, Money, bool)>,
    /// The bill that it was put down with is in the book no more.
    pub gone: bool,
}

/// The claims that a credit note settled, or settled a part of.
///
/// # Errors
/// [`StoreError`].
pub fn settled_by(conn: &Connection, note: BillId) -> Result<Vec<SettledClaim>, StoreError> {
    let sql = "SELECT c.*, s.note AS settled_note, s.at AS settled_at, s.by AS settled_by, s.rest,
            (SELECT r.amount FROM claim r WHERE r.id = s.rest) AS rest_amount,
            NOT EXISTS (SELECT 1 FROM claim_settlement rs WHERE rs.claim = s.rest) AS rest_open,
            EXISTS (SELECT 1 FROM bill_withdrawal w WHERE w.bill = c.bill) AS gone
        FROM claim c JOIN claim_settlement s ON s.claim = c.id WHERE s.bill = :bill ORDER BY c.id";
    all("reading what a credit note settled", conn, sql, named_params! { ":bill": note }, |row| {
        let rest: Option<ClaimId> = row.get("rest")?;
        let rest = match rest {
            Some(rest) => Some((rest, row.get("rest_amount")?, row.get("rest_open")?)),
            None => None,
        };
        Ok(SettledClaim { claim: claim(row)?, rest, gone: row.get("gone")? })
    })
}

/// Puts so much of a claim, for so many containers, down once more, since when it was and by whom. Gives its handle.
///
/// # Errors
/// [`StoreError`].
pub fn reopen_claim(conn: &Connection, id: ClaimId, (amount, containers): (Money, i64)) -> Result<ClaimId, StoreError> {
    conn.prepare_cached(
        "INSERT INTO claim (supplier, document, item, kind, containers, amount, note, bill, at, by)
         SELECT supplier, document, item, kind, :containers, :amount, note, bill, at, by FROM claim WHERE id = :id
         RETURNING id",
    )
    .and_then(|mut s| {
        s.query_row(named_params! { ":id": id, ":amount": amount, ":containers": containers }, |row| row.get("id"))
    })
    .doing("opening a claim again")
}

/// Settles a part of a claim by the credit note `with`: what it leaves, so much for so many
/// containers, is a claim of its own from then on.
///
/// # Errors
/// [`StoreError::NotFound`] when it is not there, or settled already.
pub fn settle_part(
    conn: &Connection,
    claim: ClaimId,
    (note, leaves): (&str, (Money, i64)),
    with: BillId,
    by: Option<&str>,
    at: Moment,
) -> Result<(), StoreError> {
    let rest = reopen_claim(conn, claim, leaves)?;
    settling(conn, claim, (note, Some(rest)), Some(with), by, at)
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
    pub money: Money,
    /// In a sentence.
    pub note: &'a str,
    /// The bill that it is put down with.
    pub bill: Option<BillId>,
}

/// Puts a claim down.
///
/// # Errors
/// [`StoreError`].
pub fn add_claim(conn: &Connection, claim: &NewClaim<'_>, by: Option<&str>, at: Moment) -> Result<ClaimId, StoreError> {
    conn.prepare_cached(
        "INSERT INTO claim (supplier, document, item, kind, containers, amount, note, bill, at, by)
         VALUES (:supplier, :document, :item, :kind, :containers, :amount, :note, :bill, :at, :by) RETURNING id",
    )
    .and_then(|mut s| {
        s.query_row(
            named_params! {
                ":supplier": claim.supplier, ":document": claim.document, ":item": claim.item, ":kind": claim.kind,
                ":containers": claim.containers, ":amount": claim.money, ":note": claim.note, ":bill": claim.bill,
                ":at": at, ":by": by,
            },
            |row| row.get("id"),
        )
    })
    .doing("keeping a claim")
}

/// Settles a claim, where it is so by the credit note `with`.
///
/// # Errors
/// [`StoreError::NotFound`] when it is not there, or settled already.
pub fn settle(
    conn: &Connection,
    claim: ClaimId,
    note: &str,
    with: Option<BillId>,
    by: Option<&str>,
    at: Moment,
) -> Result<(), StoreError> {
    settling(conn, claim, (note, None), with, by, at)
}

fn settling(
    conn: &Connection,
    claim: ClaimId,
    (note, rest): (&str, Option<ClaimId>),
    with: Option<BillId>,
    by: Option<&str>,
    at: Moment,
) -> Result<(), StoreError> {
    let changed = conn
        .prepare_cached(
            "INSERT INTO claim_settlement (claim, note, bill, rest, at, by)
             SELECT c.id, :note, :with, :rest, :at, :by FROM claim c
             WHERE c.id = :claim AND NOT EXISTS (SELECT 1 FROM claim_settlement s WHERE s.claim = c.id)",
        )
        .and_then(|mut s| {
            s.execute(named_params! {
                ":note": note, ":with": with, ":rest": rest, ":at": at, ":by": by, ":claim": claim,
            })
        })
        .doing("settling a claim")?;
    if changed == 0 { Err(StoreError::NotFound { kind: "open claim", id: claim.0 }) } else { Ok(()) }
}
