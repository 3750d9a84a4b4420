//! Names of the till as the lines of a file bring them.

use crate::desk::DeskError;
use crate::domain::venue::{Setup, TillId, TillMeaning, name_key};
use crate::store::{Connection, setup as book};
use std::collections::HashMap;

/// What a name of a file is in the book.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Named {
    /// Its handle; none of one that the book has not got and that nobody asked to keep.
    pub(super) till: Option<TillId>,
    /// Whether it means something.
    pub(super) known: bool,
}

struct Have {
    till: Option<TillId>,
    code: Option<String>,
    known: bool,
}

/// The names of the book, and those that a file adds.
pub(super) struct TillNames {
    by_key: HashMap<String, Have>,
    /// What was found before, by name and number as the file has them.
    found: HashMap<(String, Option<String>), Named>,
    /// Names met for the first time.
    pub(super) new: Vec<String>,
}

impl TillNames {
    pub(super) fn of(setup: &Setup) -> TillNames {
        let have = |t: &crate::domain::venue::TillName| Have {
            till: Some(t.id),
            code: t.code.clone(),
            known: t.means != TillMeaning::Unknown,
        };
        TillNames {
            by_key: setup.till.iter().map(|t| (name_key(&t.name), have(t))).collect(),
            found: HashMap::new(),
            new: Vec::new(),
        }
    }

    /// Finds a name; with a book to keep it in, one that is new is put there. What is no goods takes nothing of the stock,
    /// so nobody is asked about it.
    ///
    /// The till's number of an article tells two articles of the same name apart: the one that comes second is called by
    /// its number too, in this file and in every later one.
    pub(super) fn find(
        &mut self,
        conn: Option<&Connection>,
        sold_as: &str,
        code: Option<&str>,
        goods: bool,
    ) -> Result<Named, DeskError> {
        let asked = (sold_as.to_owned(), code.map(str::to_owned));
        if let Some(named) = self.found.get(&asked) {
            return Ok(*named);
        }
        let mut name = sold_as.to_owned();
        let other = |have: &Have| have.code.as_deref().zip(code).is_some_and(|(had, now)| had != now);
        if let (Some(have), Some(code)) = (self.by_key.get(&name_key(&name)), code)
            && other(have)
        {
            name = format!("{sold_as} #{code}");
        }
        let named = self.named(conn, &name, code, goods)?;
        self.found.insert(asked, named);
        Ok(named)
    }

    fn named(
        &mut self,
        conn: Option<&Connection>,
        name: &str,
        code: Option<&str>,
        goods: bool,
    ) -> Result<Named, DeskError> {
        if let Some(have) = self.by_key.get_mut(&name_key(name)) {
            if let (Some(code), None) = (code, &have.code) {
                have.code = Some(code.to_owned());
                if let (Some(conn), Some(till)) = (conn, have.till) {
                    book::set_till_code(conn, till, Some(code))?;
                }
            }
            return Ok(Named { till: have.till, known: have.known });
        }
        let means = if goods { TillMeaning::Unknown } else { TillMeaning::Ignored };
        let till = match conn {
            None => None,
            Some(conn) => {
                let till = book::put_till(conn, name, means)?;
                if let Some(code) = code {
                    book::set_till_code(conn, till, Some(code))?;
                }
                Some(till)
            }
        };
        self.by_key.insert(name_key(name), Have { till, code: code.map(str::to_owned), known: !goods });
        if goods {
            self.new.push(name.to_owned());
        }
        Ok(Named { till, known: !goods })
    }
}
