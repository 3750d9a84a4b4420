//! The lists at the beginning of a file: articles, and what its own codes stand for.

use crate::domain::till::Skip;
use crate::exchange::ReadError;
use crate::exchange::till::element::LONGEST;
use crate::exchange::xml::Xml;
use std::collections::HashMap;

/// Articles, codes, and bytes of them.
const ENTRIES: usize = 100_000;
const BYTES: usize = 8 << 20;

/// Article groups, discounts, surcharges, transactions among the kinds of codes.
const GROUPS: &str = "04";
const DISCOUNTS: &str = "08";
const RAISES: &str = "10";
const TRANSACTIONS: &str = "11";
/// The code of a tip among the surcharges.
const TIP: &str = "10001";

/// What codes stand for.
#[derive(Default)]
pub(super) struct Codes {
    articles: HashMap<String, String>,
    /// By kind and code: the code that the standard gives, if any, and the description.
    basics: HashMap<(String, String), (Option<String>, String)>,
    bytes: usize,
}

/// What a transaction is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Deal {
    /// A sale; `returns` when what is taken back in it is a return of products.
    Sale { returns: bool },
    /// No sale.
    Not(Skip),
    /// Its code stands for nothing that is known.
    Unknown,
}

impl Codes {
    /// Reads `articles`.
    pub(super) fn articles(&mut self, xml: &mut Xml) -> Result<(), ReadError> {
        while xml.child()? {
            if xml.name() != "article" {
                xml.skip()?;
                continue;
            }
            let (mut id, mut name) = (String::new(), String::new());
            while xml.child()? {
                match xml.name() {
                    "artID" => id = short(xml.text()?),
                    "artDesc" => name = short(xml.text()?),
                    _ => xml.skip()?,
                }
            }
            self.room(xml, id.len() + name.len())?;
            self.articles.insert(id, name);
        }
        Ok(())
    }

    /// Reads `basics`.
    pub(super) fn basics(&mut self, xml: &mut Xml) -> Result<(), ReadError> {
        while xml.child()? {
            if xml.name() != "basic" {
                xml.skip()?;
                continue;
            }
            let (mut kind, mut id, mut standard, mut name) = (String::new(), String::new(), None, String::new());
            while xml.child()? {
                match xml.name() {
                    "basicType" => kind = short(xml.text()?),
                    "basicID" => id = short(xml.text()?),
                    "predefinedBasicID" => standard = Some(short(xml.text()?)).filter(|code| !code.is_empty()),
                    "basicDesc" => name = short(xml.text()?),
                    _ => xml.skip()?,
                }
            }
            self.room(xml, kind.len() + id.len() + name.len())?;
            self.basics.insert((kind, id), (standard, name));
        }
        Ok(())
    }

    fn room(&mut self, xml: &Xml, bytes: usize) -> Result<(), ReadError> {
        self.bytes += bytes;
        if self.articles.len() + self.basics.len() >= ENTRIES || self.bytes > BYTES {
            return Err(xml.fail(word!("it lists more articles and codes than any bar has")));
        }
        Ok(())
    }

    /// What an article is called.
    pub(super) fn article(&self, id: &str) -> Option<&str> {
        self.articles.get(id).map(String::as_str)
    }

    fn basic(&self, kind: &str, id: &str) -> Option<&(Option<String>, String)> {
        self.basics.get(&(kind.to_owned(), id.to_owned()))
    }

    /// What an article group is called.
    pub(super) fn group(&self, id: &str) -> Option<&str> {
        self.basic(GROUPS, id).map(|(_, name)| name.as_str())
    }

    /// What a discount is called.
    pub(super) fn discount(&self, id: &str) -> Option<&str> {
        self.basic(DISCOUNTS, id).map(|(_, name)| name.as_str())
    }

    /// Whether a surcharge is a tip.
    pub(super) fn is_tip(&self, id: &str) -> bool {
        self.basic(RAISES, id).map_or(id, |(standard, _)| standard.as_deref().unwrap_or_default()) == TIP
    }

    /// What a transaction of a type is: by the standard's code that the file gives for it, or the type itself where it is
    /// such a code and the file says nothing else.
    ///
    /// The codes that count are those that an open validator of the Danish tax authority's rules counts; 11006 and 11013
    /// give back products, 11012 takes some in, 11016 and 11017 sell and give back at once.
    pub(super) fn deal(&self, kind: &str) -> Deal {
        let code = match self.basic(TRANSACTIONS, kind) {
            Some((standard, _)) => standard.as_deref().unwrap_or_default(),
            None => kind,
        };
        match code {
            "11001" | "11002" | "11004" | "11005" | "11009" | "11015" => Deal::Sale { returns: false },
            "11006" | "11012" | "11013" | "11016" | "11017" => Deal::Sale { returns: true },
            "11007" | "11008" | "11010" | "11011" => Deal::Not(Skip::MoneyOnly),
            "11003" | "11014" | "11999" => Deal::Not(Skip::NoSale),
            _ => Deal::Unknown,
        }
    }
}

fn short(text: &str) -> String {
    text.chars().take(LONGEST).collect()
}
