//! What lines and sellers of bills are known again by, in the form in which it is compared and kept.

use super::invoice::{InvoiceLine, Party};
use crate::domain::venue::{Gtin, name_key};
use unicode_normalization::UnicodeNormalization;

/// Characters of a code or name that are kept: no two of a supplier's are the same up to here.
const LONGEST: usize = 400;

/// A name or code in the form in which it is compared.
///
/// Letters are made small after they were composed, and a few small ones compose anew: without that, what is kept would
/// be another text once it has passed through a file.
fn compared(text: &str) -> String {
    name_key(text).nfc().take(LONGEST).collect::<String>().trim_end().to_owned()
}

/// The same without any blanks: numbers are written with them or without.
pub(super) fn unspaced(text: &str) -> String {
    compared(&text.split_whitespace().collect::<String>())
}

/// What a line is known again by: the seller's code of it; else its bar code; else its name.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct CodeKey(String);

impl CodeKey {
    /// What a line is remembered by; `None` when it has neither code nor name.
    pub fn of(line: &InvoiceLine) -> Option<CodeKey> {
        let (code, gtin) = CodeKey::codes(line);
        code.or(gtin).or_else(|| CodeKey::new("name", compared(&line.name)))
    }

    fn codes(line: &InvoiceLine) -> (Option<CodeKey>, Option<CodeKey>) {
        let code = line.seller_code.as_deref().and_then(|code| CodeKey::new("code", compared(code)));
        (code, line.gtin().and_then(|gtin| CodeKey::new("gtin", gtin.key())))
    }

    /// Every key that may have been remembered, the best first.
    pub(super) fn all(line: &InvoiceLine) -> Vec<CodeKey> {
        match CodeKey::codes(line) {
            (None, None) => CodeKey::of(line).into_iter().collect(),
            (code, gtin) => code.into_iter().chain(gtin).collect(),
        }
    }

    fn new(sort: &str, text: String) -> Option<CodeKey> {
        (!text.is_empty()).then(|| CodeKey(format!("{sort} {text}")))
    }

    /// As it is kept in the book: `code 40017`, `gtin 09520000400170`, `name pfand keg 30 l`.
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// From the book.
    pub fn kept(text: &str) -> CodeKey {
        CodeKey(text.to_owned())
    }

    /// From what a person wrote, brought into the form in which it is compared.
    ///
    /// # Errors
    /// What was expected.
    pub fn parse(text: &str) -> Result<CodeKey, &'static str> {
        let expected = "expected code, gtin or name and what follows, such as code 40017 or name keg deposit";
        let (sort, rest) = text.trim().split_once(char::is_whitespace).ok_or(expected)?;
        let key = match sort.to_lowercase().as_str() {
            "code" => CodeKey::new("code", compared(rest)),
            "name" => CodeKey::new("name", compared(rest)),
            "gtin" => {
                let gtin = Gtin::parse(rest.trim()).map_err(|_| "expected a bar code number after gtin")?;
                CodeKey::new("gtin", gtin.key())
            }
            _ => None,
        };
        key.ok_or(expected)
    }
}

/// What a seller calls itself: its number for value added tax, another number of its own, or its name.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct KnownAs(String);

impl KnownAs {
    /// Everything that a seller may be known by, the surest first.
    pub fn all_of(seller: &Party) -> Vec<KnownAs> {
        let vat = seller.vat_id.as_deref().and_then(|vat| KnownAs::new("vat", unspaced(vat)));
        let ids = seller.endpoint.iter().chain(&seller.ids);
        let ids = ids.filter_map(|id| KnownAs::id(id.scheme.as_deref().unwrap_or_default(), &id.id));
        let names = [Some(&seller.name), seller.trading_name.as_ref()].into_iter().flatten();
        let names = names.filter_map(|name| KnownAs::new("name", compared(name)));
        vat.into_iter().chain(ids).chain(names).collect()
    }

    fn id(scheme: &str, id: &str) -> Option<KnownAs> {
        let id = unspaced(id);
        (!id.is_empty()).then(|| KnownAs(format!("id {}:{id}", unspaced(scheme))))
    }

    fn new(sort: &str, text: String) -> Option<KnownAs> {
        (!text.is_empty()).then(|| KnownAs(format!("{sort} {text}")))
    }

    /// As it is kept in the book: `vat de123456788`, `id 0088:9520000000004`, `name quendelbach`.
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// From the book.
    pub fn kept(text: &str) -> KnownAs {
        KnownAs(text.to_owned())
    }

    /// From what a person wrote, brought into the form in which it is compared.
    ///
    /// # Errors
    /// What was expected.
    pub fn parse(text: &str) -> Result<KnownAs, &'static str> {
        let expected = "expected vat, id or name and what follows, such as vat DE123456788, id 0088:9520000000004 or name Quendelbach";
        let (sort, rest) = text.trim().split_once(char::is_whitespace).ok_or(expected)?;
        let known = match sort.to_lowercase().as_str() {
            "vat" => KnownAs::new("vat", unspaced(rest)),
            "name" => KnownAs::new("name", compared(rest)),
            "id" => rest.split_once(':').and_then(|(scheme, id)| KnownAs::id(scheme, id)),
            _ => None,
        };
        known.ok_or(expected)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::receive::PartyId;
    use crate::domain::receive::sample::line;
    use proptest::prelude::*;

    #[test]
    fn what_a_person_writes_is_brought_into_one_form() {
        for (text, kept) in [
            ("code HS-101", Ok("code hs-101")),
            (" Code   Äpfel 7 ", Ok("code äpfel 7")),
            ("gtin 9520000400170", Ok("gtin 09520000400170")),
            ("name Pfand Keg", Ok("name pfand keg")),
            ("gtin 9520000400171", Err("expected a bar code number after gtin")),
        ] {
            assert_eq!(CodeKey::parse(text).as_ref().map(CodeKey::as_str).map_err(|e| *e), kept, "{text}");
        }
        for text in ["", "code", "code  ", "40017", "number 40017"] {
            assert!(CodeKey::parse(text).is_err(), "{text}");
        }
        for (text, kept) in [
            ("vat DE 123 456 788", "vat de123456788"),
            ("id 0088:952 0000 000004", "id 0088:9520000000004"),
            ("id EM:Van@Example.com", "id em:van@example.com"),
            ("id :K-7", "id :k-7"),
            ("NAME Quendelbach  GmbH", "name quendelbach  gmbh"),
        ] {
            assert_eq!(KnownAs::parse(text).unwrap().as_str(), kept, "{text}");
        }
        for text in ["", "vat", "Quendelbach", "id 0088", "id 0088:", "iban DE1"] {
            assert!(KnownAs::parse(text).is_err(), "{text}");
        }
    }

    #[test]
    fn a_seller_is_known_by_its_numbers_before_its_names() {
        let id = |scheme: Option<&str>, id: &str| PartyId { scheme: scheme.map(str::to_owned), id: id.to_owned() };
        let seller = Party {
            name: "Getränkelager Quendelbach GmbH".to_owned(),
            trading_name: Some("Quendelbach".to_owned()),
            vat_id: Some("DE 123456788".to_owned()),
            ids: vec![id(None, "K 9")],
            endpoint: Some(id(Some("0088"), "9520000000004")),
        };
        let known: Vec<String> = KnownAs::all_of(&seller).iter().map(|k| k.as_str().to_owned()).collect();
        let want = [
            "vat de123456788",
            "id 0088:9520000000004",
            "id :k9",
            "name getränkelager quendelbach gmbh",
            "name quendelbach",
        ];
        assert_eq!(known, want);
    }

    proptest! {
        /// Whatever stands on a bill is kept in a form that a file can hold, and reads back as it is.
        #[test]
        fn what_is_kept_reads_back_as_it_is(text in "\\PC{0,500}", code in any::<bool>()) {
            let mut said = line("1", &text, "1", "C62", "1", "1");
            said.seller_code = code.then(|| text.clone());
            if let Some(key) = CodeKey::of(&said) {
                prop_assert_eq!(CodeKey::parse(key.as_str()), Ok(key.clone()));
                prop_assert!(key.as_str().chars().count() <= 500);
                prop_assert!(unicode_normalization::is_nfc(key.as_str()));
            }
            let seller = Party {
                name: text.clone(),
                vat_id: code.then(|| text.clone()),
                ids: vec![PartyId { scheme: code.then(|| "0088".to_owned()), id: text.clone() }],
                ..Party::default()
            };
            for known in KnownAs::all_of(&seller) {
                prop_assert_eq!(KnownAs::parse(known.as_str()), Ok(known.clone()));
                prop_assert!(unicode_normalization::is_nfc(known.as_str()));
            }
        }
    }
}
