//! Which two counts a command compares.

use super::Refusal;
use crate::desk::book::Store;
use crate::desk::comparing::{self, Choice};
use crate::domain::venue::CountId;

/// The two counts, by name.
#[derive(Debug, clap::Args)]
pub(super) struct Between {
    /// The count to begin with; the one before that suits when not given
    #[arg(long, value_name = "COUNT")]
    from: Option<String>,
    /// The count to end with; the newest that covers the bar when not given
    #[arg(long, value_name = "COUNT")]
    to: Option<String>,
}

impl Between {
    /// The counts of these names.
    ///
    /// # Errors
    /// [`Refusal`]: there is none of a name, or it is not closed.
    pub(super) fn choice(&self, store: &Store) -> Result<Choice, Refusal> {
        let named = |name: &Option<String>| -> Result<Option<CountId>, Refusal> {
            Ok(name.as_deref().map(|name| comparing::count_named(store, name)).transpose()?.map(|count| count.id))
        };
        Ok(Choice { opening: named(&self.from)?, closing: named(&self.to)? })
    }
}
