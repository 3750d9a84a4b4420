//! The papers of deliveries that a bill is for: one, or those of a while.

use crate::domain::venue::name_key;
use std::fmt::{self, Display, Formatter};

/// What stands between two papers where they are written as one text.
const BETWEEN: &str = "; ";

/// Papers of deliveries, one at least, in the order in which the goods came.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Documents(Vec<String>);

impl Documents {
    /// Several; nothing where there is none.
    pub fn all(documents: Vec<String>) -> Option<Documents> {
        (!documents.is_empty()).then_some(Documents(documents))
    }

    /// Whether a paper is one of them.
    pub fn has(&self, document: &str) -> bool {
        self.0.iter().any(|had| name_key(had) == name_key(document))
    }

    /// Whether a text, as they are written as one, has a paper. A paper may be called what several are written as.
    pub fn written_has(written: &str, document: &str) -> bool {
        let key = name_key(document);
        name_key(written) == key || written.split(BETWEEN).any(|one| name_key(one) == key)
    }

    /// Each of them.
    pub fn each(&self) -> impl Iterator<Item = &str> {
        self.0.iter().map(String::as_str)
    }

    /// Whether two are the same papers, in whatever order.
    pub fn is_same(&self, other: &Documents) -> bool {
        self.0.len() == other.0.len() && self.each().all(|document| other.has(document))
    }
}

impl From<String> for Documents {
    fn from(document: String) -> Documents {
        Documents(vec![document])
    }
}

impl Display for Documents {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0.join(BETWEEN))
    }
}
