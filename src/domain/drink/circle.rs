//! Recipes that need what they make, or are made of others too deep to follow.

use crate::domain::venue::{ItemId, Recipe, Setup};
use std::collections::{HashMap, HashSet};

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
    say!("this is made of itself: {names}", names = names.join(" > "))
}

/// The items made here that are made of others deeper than [`Recipe::DEEPEST`], over all versions; for a set-up without
/// circles.
pub fn too_deep(setup: &Setup) -> Vec<ItemId> {
    let mut depths = HashMap::new();
    let mut deep: Vec<ItemId> =
        setup.recipes.keys().copied().filter(|item| depth(setup, *item, &mut depths) > Recipe::DEEPEST).collect();
    deep.sort_unstable();
    deep
}

fn depth(setup: &Setup, item: ItemId, known: &mut HashMap<ItemId, usize>) -> usize {
    if let Some(depth) = known.get(&item) {
        return *depth;
    }
    // Until it is known, an item on the way to itself counts as bought, so that even a circle comes to an end.
    known.insert(item, 0);
    let versions = setup.recipes.get(&item).into_iter().flat_map(|versions| versions.iter());
    let parts: HashSet<ItemId> = versions.flat_map(|(_, recipe)| recipe.takes.iter().map(|part| part.item)).collect();
    let below = parts.into_iter().map(|part| depth(setup, part, known) + 1).max().unwrap_or(0);
    known.insert(item, below);
    below
}

/// What is wrong with an item made too deep, in words.
pub fn too_deep_words(setup: &Setup, item: ItemId) -> String {
    let (name, most) = (setup.item_name(item), Recipe::DEEPEST);
    say!("{name} is made of things made here, more than {most} deep: nobody could follow what is in it", name, most)
}
