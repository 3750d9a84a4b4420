//! Recipes that need what they make.

use crate::domain::venue::{ItemId, Recipe, Setup};
use std::collections::HashSet;

/// The way from an item through what its recipes need back to itself, the item first, if there is one; over all versions
/// of all recipes, and `with` as one more of the item's own.
pub fn circle_from(setup: &Setup, start: ItemId, with: Option<&Recipe>) -> Option<Vec<ItemId>> {
    let needs = |item: ItemId| -> Vec<ItemId> {
        let versions = setup.recipes.get(&item).into_iter().flat_map(|versions| versions.iter());
        let kept = versions.map(|(_, recipe)| recipe);
        let own = with.filter(|_| item == start);
        kept.chain(own).flat_map(|recipe| recipe.takes.iter().map(|part| part.item)).collect()
    };
    let mut seen = HashSet::from([start]);
    // A way, and what its last item still has to be looked at for.
    let mut way = vec![(start, needs(start).into_iter())];
    while let Some((_, rest)) = way.last_mut() {
        match rest.next() {
            None => {
                way.pop();
            }
            Some(next) if next == start => return Some(way.into_iter().map(|(item, _)| item).collect()),
            Some(next) => {
                if seen.insert(next) {
                    way.push((next, needs(next).into_iter()));
                }
            }
        }
    }
    None
}

/// A circle in words: `Cordial > Syrup > Cordial`.
pub fn circle_words(setup: &Setup, circle: &[ItemId]) -> String {
    let names: Vec<&str> = circle.iter().chain(circle.first()).map(|item| setup.item_name(*item)).collect();
    format!("this is made of itself: {}", names.join(" > "))
}
