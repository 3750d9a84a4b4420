//! Names of the till as the lines of a file bring them.

use crate::desk::DeskError;
use crate::domain::venue::{Setup, TillId, TillMeaning, name_key};
use crate::store::{Connection, setup as book};
use std::collections::HashMap;
use std::rc::Rc;

/// What a name of a file is in the book.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Named {
    /// What it is called there: by its number too, where two articles have one name.
    pub(super) name: Rc<str>,
    /// Its handle; none of one that the book has not got and that nobody asked to keep.
    pub(super) till: Option<TillId>,
    /// Whether it means something.
    pub(super) known: bool,
    /// Whether this file brings it.
    pub(super) is_new: bool,
}

struct Have {
    till: Option<TillId>,
    code: Option<String>,
    known: bool,
    is_new: bool,
}

/// The names of the book, and those that a file adds.
pub(super) struct TillNames {
    by_key: HashMap<String, Have>,
    /// What was found before, by name and number as the file has them.
    found: HashMap<(String, Option<String>), Named>,
}

impl TillNames {
    pub(super) fn of(setup: &Setup) -> TillNames {
        let have = |t: &crate::domain::venue::TillName| Have {
            till: Some(t.id),
            code: t.code.clone(),
            known: t.means != TillMeaning::Unknown,
            is_new: false,
        };
        TillNames { by_key: setup.till.iter().map(|t| (name_key(&t.name), have(t))).collect(), found: HashMap::new() }
    }

    /// Finds a name; with a book to keep it in, one that is new is put there. It means nothing yet, and waits as soon as
    /// anything with a quantity is sold under it.
    ///
    /// The till's number of an article tells two articles of the same name apart: the one that comes second is called by
    /// its number too, in this file and in every later one.
    pub(super) fn find(
        &mut self,
        conn: Option<&Connection>,
        sold_as: &str,
        code: Option<&str>,
    ) -> Result<Named, DeskError> {
        let asked = (sold_as.to_owned(), code.map(str::to_owned));
        if let Some(named) = self.found.get(&asked) {
            return Ok(named.clone());
        }
        let mut name = sold_as.to_owned();
        let other = |have: &Have| have.code.as_deref().zip(code).is_some_and(|(had, now)| had != now);
        if let (Some(have), Some(code)) = (self.by_key.get(&name_key(&name)), code)
            && other(have)
        {
            name = format!("{sold_as} #{code}");
        }
        let named = self.named(conn, &name, code)?;
        self.found.insert(asked, named.clone());
        Ok(named)
    }

    /// Whether nobody has met a name yet, neither the book nor the file so far.
    pub(super) fn is_unmet(&self, sold_as: &str) -> bool {
        !self.by_key.contains_key(&name_key(sold_as))
    }

    fn named(&mut self, conn: Option<&Connection>, name: &str, code: Option<&str>) -> Result<Named, DeskError> {
        if let Some(have) = self.by_key.get_mut(&name_key(name)) {
            if let (Some(code), None) = (code, &have.code) {
                have.code = Some(code.to_owned());
                if let (Some(conn), Some(till)) = (conn, have.till) {
                    book::set_till_code(conn, till, Some(code))?;
                }
            }
            return Ok(Named { name: name.into(), till: have.till, known: have.known, is_new: have.is_new });
        }
        let till = match conn {
            None => None,
            Some(conn) => {
                let till = book::put_till(conn, name, TillMeaning::Unknown)?;
                if let Some(code) = code {
                    book::set_till_code(conn, till, Some(code))?;
                }
                Some(till)
            }
        };
        self.by_key.insert(name_key(name), Have { till, code: code.map(str::to_owned), known: false, is_new: true });
        Ok(Named { name: name.into(), till, known: false, is_new: true })
    }
}
