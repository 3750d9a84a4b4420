//! The XML inside a hybrid PDF. The page that people see is not read.

use super::xml::Refusal;
use crate::domain::receive::Invoice;
use lopdf::{Dictionary, Document, LoadOptions, Object, Stream, decode_text_string};

/// The most that one stream of the PDF may unpack to; a bomb in a small file unpacks to gigabytes.
const UNPACKED: usize = super::LARGEST as usize;
/// So many attachments are looked into.
const MOST_FILES: usize = 32;
/// Names that the invoice has by the specifications of Factur-X, ZUGFeRD and XRechnung, in small letters.
const USUAL: &[&str] = &["factur-x.xml", "xrechnung.xml", "zugferd-invoice.xml"];
/// A PDF may have some bytes before its mark; readers allow 1 024 (ISO 32000-1, annex H.3.4.1, from memory).
const MARK_WITHIN: usize = 1_024;

/// Whether a file is a PDF: by its mark near the beginning, unless it begins as XML does.
pub(super) fn is_pdf(bytes: &[u8]) -> bool {
    let head = &bytes[..bytes.len().min(MARK_WITHIN)];
    let begins = head.iter().position(|byte| !byte.is_ascii_whitespace()).map(|at| head[at]);
    begins != Some(b'<') && head.windows(5).any(|five| five == b"%PDF-")
}

/// Reads the invoice that is attached. Which attachment it is, its root element says, not its name: there may be other XML.
pub(super) fn read(bytes: &[u8]) -> Result<Invoice, Refusal> {
    let options = LoadOptions { max_decompressed_size: Some(UNPACKED), ..LoadOptions::default() };
    let document = Document::load_mem_with_options(bytes, options).map_err(|e| {
        let what = match e {
            lopdf::Error::InvalidPassword | lopdf::Error::Decryption(_) => encrypted(),
            _ => word!("is no sound PDF, it may be cut off or damaged: fetch it anew").to_owned(),
        };
        Refusal::new(what)
    })?;
    let mut files = attached(&document);
    // Only so that it is not the one too many among other attachments.
    files.sort_by_key(|(name, _)| !USUAL.contains(&name.to_lowercase().as_str()));
    if files.is_empty() {
        return Err(Refusal::new(nothing_attached(&document, bytes)));
    }
    let mut invoices = Vec::new();
    let mut last = None;
    for (name, stream) in files.iter().take(MOST_FILES) {
        let content = match stream.decompressed_content_with_limit(UNPACKED) {
            Ok(content) => content,
            Err(e) => {
                last = Some(named(name, Refusal::new(unpacked(&e))));
                continue;
            }
        };
        if content.iter().find(|byte| !byte.is_ascii_whitespace()) == Some(&b'<')
            || name.to_lowercase().ends_with(".xml")
        {
            match super::from_xml(&content) {
                Ok(invoice) => {
                    if !invoices.contains(&invoice) {
                        invoices.push(invoice);
                    }
                }
                Err(refusal) => last = Some(better(last, named(name, refusal))),
            }
        }
    }
    match (invoices.len(), last) {
        (1, _) => invoices.pop().ok_or_else(|| Refusal::new(no_xml(files.len()))),
        (0, Some(refusal)) => Err(refusal),
        (0, None) => Err(Refusal::new(no_xml(files.len()))),
        (many, _) => Err(Refusal::new(say!(
            "has {many} different invoices attached; expected one: take the XML files out and choose",
            many
        ))),
    }
}

/// The more telling of two refusals: that of the file with a name that invoices have.
fn better(last: Option<Refusal>, new: Refusal) -> Refusal {
    let usual = |refusal: &Refusal| {
        let at = refusal.at.as_deref().unwrap_or_default().to_lowercase();
        USUAL.iter().any(|name| at.contains(name))
    };
    match last {
        Some(last) if usual(&last) || !usual(&new) => last,
        _ => new,
    }
}

fn named(name: &str, refusal: Refusal) -> Refusal {
    let place = refusal.at.map_or_else(String::new, |at| format!(", {at}"));
    Refusal {
        at: Some(say!("its attachment {shown}{place}", shown = super::xml::shown(name), place)),
        what: refusal.what,
    }
}

fn encrypted() -> String {
    word!("is an encrypted PDF: what is attached cannot be read; ask for the invoice without a password").to_owned()
}

fn no_xml(files: usize) -> String {
    let files = if files == 1 { word!("a file").to_owned() } else { say!("{files} files", files) };
    say!(
        "has {files} attached, but none is an XML invoice: ask for a hybrid invoice (Factur-X, ZUGFeRD 2), or book it by hand",
        files
    )
}

fn nothing_attached(document: &Document, bytes: &[u8]) -> String {
    let tail = &bytes[bytes.len().saturating_sub(1_024)..];
    let complete = tail.windows(5).any(|five| five == b"%%EOF");
    if document.is_encrypted() {
        encrypted()
    } else if complete {
        word!("is a PDF without an invoice attached, a picture of one only: ask for a hybrid invoice (Factur-X, ZUGFeRD 2) or an XML one, or book it by hand").to_owned()
    } else {
        word!("is a PDF that is cut off: its end is missing; fetch it anew").to_owned()
    }
}

fn unpacked(error: &lopdf::Error) -> String {
    match error {
        lopdf::Error::Decompress(lopdf::DecompressError::MemoryLimitExceeded { .. }) => {
            word!("unpacks to more than 32 MiB, far more than any invoice; refused").to_owned()
        }
        _ => word!("cannot be unpacked, it is damaged: fetch the invoice anew").to_owned(),
    }
}

/// Every file that is attached, with its name, each once. They hang in the catalogue's tree of names, at `/AF` of the
/// catalogue or of a page; all of them are dictionaries with `/EF`, so that those are looked for, wherever they hang.
fn attached(document: &Document) -> Vec<(String, &Stream)> {
    let mut seen = std::collections::HashSet::new();
    let mut out = Vec::new();
    for object in document.objects.values() {
        let specs: Vec<&Dictionary> = match object {
            Object::Dictionary(dictionary) => vec![dictionary],
            Object::Array(array) => array.iter().filter_map(|object| object.as_dict().ok()).collect(),
            _ => continue,
        };
        for spec in specs.into_iter().flat_map(with_nested) {
            let Some(files) = spec.get(b"EF").ok().and_then(|files| follow(document, files)?.as_dict().ok()) else {
                continue;
            };
            let Some((id, stream)) = [b"UF".as_slice(), b"F"].iter().find_map(|key| file(document, files, key)) else {
                continue;
            };
            if seen.insert(id) {
                out.push((file_name(document, spec), stream));
            }
        }
    }
    out
}

/// A dictionary and those directly in it or in its arrays.
fn with_nested(dictionary: &Dictionary) -> Vec<&Dictionary> {
    let mut out = vec![dictionary];
    for (_, value) in dictionary {
        match value {
            Object::Dictionary(inner) => out.push(inner),
            Object::Array(array) => out.extend(array.iter().filter_map(|object| object.as_dict().ok())),
            _ => {}
        }
    }
    out
}

fn follow<'a>(document: &'a Document, object: &'a Object) -> Option<&'a Object> {
    document.dereference(object).ok().map(|(_, object)| object)
}

fn file<'a>(document: &'a Document, files: &'a Dictionary, key: &[u8]) -> Option<(lopdf::ObjectId, &'a Stream)> {
    let (id, object) = document.dereference(files.get(key).ok()?).ok()?;
    Some((id?, object.as_stream().ok()?))
}

fn file_name(document: &Document, spec: &Dictionary) -> String {
    let name = |key: &[u8]| decode_text_string(follow(document, spec.get(key).ok()?)?).ok();
    name(b"UF").or_else(|| name(b"F")).unwrap_or_default()
}
