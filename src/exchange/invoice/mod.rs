//! Suppliers' electronic invoices: UBL 2.1, UN/CEFACT CII, and the XML inside a hybrid PDF (Factur-X, ZUGFeRD 2).
//!
//! What a file is, its root element says, never its name. Elements are those of EN 16931-1:2017 in its two syntaxes;
//! what else stands in a file is passed over. A file that lacks what a delivery needs is refused whole.

mod cii;
mod hybrid;
mod ubl;
mod xml;

use crate::domain::receive::Invoice;
use crate::exchange::{ReadError, opening};
use crate::system;
use std::io::Read;
use std::path::Path;

/// The largest file that is read: 32 MiB. A bill of ten thousand lines is about a tenth of it.
pub const LARGEST: u64 = 32 * 1024 * 1024;

/// Reads a supplier's invoice.
///
/// # Errors
/// [`ReadError`]: the file cannot be read, is too large, is no invoice, carries no lines, or lacks what a delivery needs.
pub fn read(path: &Path) -> Result<Invoice, ReadError> {
    let refused = |e: std::io::Error| ReadError::new(path, say!("cannot be read: {e}", e = system::words(&e)));
    let mut bytes = Vec::new();
    opening::file(path).map_err(refused)?.take(LARGEST + 1).read_to_end(&mut bytes).map_err(refused)?;
    read_bytes(path, &bytes)
}

/// Reads a supplier's invoice that is in memory already; `path` is only named in what is refused.
///
/// # Errors
/// As [`read`].
pub fn read_bytes(path: &Path, bytes: &[u8]) -> Result<Invoice, ReadError> {
    let refused = |refusal: xml::Refusal| ReadError { path: path.to_owned(), at: refusal.at, what: refusal.what };
    if bytes.len() as u64 > LARGEST {
        return Err(ReadError::new(path, word!("is larger than 32 MiB; expected an invoice, which is far smaller")));
    }
    if hybrid::is_pdf(bytes) {
        return hybrid::read(bytes).map_err(refused);
    }
    if bytes.starts_with(b"PK\x03\x04") {
        return Err(ReadError::new(path, word!("is a zip archive; unpack it and choose the invoice in it")));
    }
    from_xml(bytes).map_err(refused)
}

fn from_xml(bytes: &[u8]) -> Result<Invoice, xml::Refusal> {
    let text = xml::decoded(bytes)?;
    let tree = xml::parsed(&text)?;
    let root = xml::Element::root(&tree);
    let (namespace, name) = (root.namespace(), root.name());
    match (name, namespace) {
        ("Invoice", ubl::INVOICE) => ubl::read(root, ubl::Sort::Invoice),
        ("CreditNote", ubl::CREDIT_NOTE) => ubl::read(root, ubl::Sort::CreditNote),
        ("CrossIndustryInvoice", cii::INVOICE) => cii::read(root),
        _ => Err(root.refused(what_else(name, namespace))),
    }
}

/// What a file with another root is, and what to do.
fn what_else(name: &str, namespace: &str) -> String {
    let ubl = "urn:oasis:names:specification:ubl:schema:xsd:";
    match (name, namespace) {
        ("CrossIndustryDocument", _) => {
            word!("is an invoice of the old form ZUGFeRD 1.0, which is not read here: ask the supplier for ZUGFeRD 2 (Factur-X), CII or UBL").to_owned()
        }
        ("SCRDMCCBDACIOMessageStructure", _) => word!("is an order (Order-X), not an invoice").to_owned(),
        ("Order", n) if n.starts_with(ubl) => word!("is an order (UBL), not an invoice").to_owned(),
        ("auditfile" | "AuditFile", _) => word!("is an audit file of a till or a ledger, not an invoice").to_owned(),
        (_, n) if n.starts_with(ubl) => say!("is a UBL document of the sort {shown}, not an invoice or a credit note", shown = xml::shown(name)),
        ("Invoice" | "CreditNote" | "CrossIndustryInvoice", "") => {
            say!("begins with {shown} but without the namespace of a standard: expected UBL 2 or CII", shown = xml::shown(name))
        }
        _ => say!("begins with the element {shown}; expected an invoice as UBL 2, CII or a hybrid PDF", shown = xml::shown(name)),
    }
}
