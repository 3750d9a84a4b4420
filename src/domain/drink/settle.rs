//! Fills in what batches make where that is computed from what goes into them.

use super::content::{Contents, YieldError};
use crate::domain::venue::{ItemId, Setup};
use chrono::NaiveDate;

/// Works out the yield of every recipe that does not state one, each as of its first day. Gives those that cannot be
/// worked out; their yield stays nothing.
pub fn settle_yields(setup: &mut Setup) -> Vec<(ItemId, YieldError)> {
    let recipes = setup.recipes.iter();
    let mut open: Vec<(ItemId, Option<NaiveDate>)> = recipes
        .flat_map(|(item, versions)| {
            let computed = versions.iter().filter(|(_, recipe)| recipe.written.is_none());
            computed.map(|(from, _)| (*item, *from))
        })
        .collect();
    open.sort_by_key(|(item, from)| (*from, *item));
    let mut failed = Vec::new();
    let mut contents = Contents::default();
    for (item, from) in open {
        match contents.batch_on(setup, item, from.unwrap_or(NaiveDate::MIN)) {
            Some(Ok(made)) => {
                let versions = setup.recipes.get_mut(&item).into_iter().flat_map(|versions| versions.iter_mut());
                versions.filter(|(day, _)| *day == from).for_each(|(_, recipe)| recipe.yields = made);
            }
            Some(Err(error)) => failed.push((item, error)),
            None => {}
        }
    }
    failed
}
