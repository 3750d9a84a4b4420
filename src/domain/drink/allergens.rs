//! Allergens of the fourteen groups, carried through what is made here. What nobody stated is unknown, never none.

use crate::domain::venue::{Allergen, Ingredient, ItemId, Recipe, Setup};
use chrono::NaiveDate;
use std::collections::{BTreeSet, HashMap};

/// What is known of the allergens of something. A reminder, never a clearance: the makers' labels and local codes decide.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Allergens {
    /// Stated to be in it.
    pub known: BTreeSet<Allergen>,
    /// Ingredients of which nobody stated anything.
    pub unknown: BTreeSet<ItemId>,
}

impl Allergens {
    /// In a few words, for a column: `egg milk and unknown`; `none` where all is stated and none is in it.
    pub fn words(&self) -> String {
        let known: Vec<&str> = self.known.iter().map(|allergen| allergen.said()).collect();
        match (known.is_empty(), self.unknown.is_empty()) {
            (true, true) => word!("none").to_owned(),
            (false, true) => known.join(" "),
            (true, false) => word!("unknown").to_owned(),
            (false, false) => say!("{known} and unknown", known = known.join(" ")),
        }
    }

    /// What is known, in words; nothing where only unknown things are in it.
    pub fn known_words(&self) -> Option<String> {
        match (self.known.is_empty(), self.unknown.is_empty()) {
            (false, _) => Some(self.known.iter().map(|allergen| allergen.said()).collect::<Vec<_>>().join(", ")),
            (true, true) => Some(word!("none of the 14 groups, as entered for everything in it").to_owned()),
            (true, false) => None,
        }
    }

    /// What nobody stated anything of, in words.
    pub fn unknown_words(&self, setup: &Setup) -> Option<String> {
        (!self.unknown.is_empty()).then(|| say!("UNKNOWN of {unknown}", unknown = setup.item_names(&self.unknown)))
    }

    fn add(&mut self, other: &Allergens) {
        self.known.extend(&other.known);
        self.unknown.extend(&other.unknown);
    }
}

/// The allergens of every item on a business day.
#[derive(Clone, Debug, Default)]
pub struct AllergenList(HashMap<ItemId, Allergens>);

/// The allergens of one item on a business day.
pub fn allergens_of(setup: &Setup, item: ItemId, day: NaiveDate) -> Allergens {
    let mut list = AllergenList::default();
    list.settle(setup, item, day, 0);
    list.of(item)
}

impl AllergenList {
    /// Of all items, by the recipes of a day.
    pub fn new(setup: &Setup, day: NaiveDate) -> AllergenList {
        let mut list = AllergenList::default();
        for item in &setup.items {
            list.settle(setup, item.id, day, 0);
        }
        list
    }

    /// Of one item; all is unknown of one that the book does not have.
    pub fn of(&self, item: ItemId) -> Allergens {
        let unknown = || Allergens { unknown: BTreeSet::from([item]), ..Allergens::default() };
        self.0.get(&item).cloned().unwrap_or_else(unknown)
    }

    /// Of all ingredients of something together.
    pub fn together<'a>(&self, parts: impl IntoIterator<Item = &'a Ingredient>) -> Allergens {
        let mut all = Allergens::default();
        for part in parts {
            all.add(&self.of(part.item));
        }
        all
    }

    /// What is made here has what goes into it, and what the owner states of it besides. A statement takes nothing away.
    fn settle(&mut self, setup: &Setup, id: ItemId, day: NaiveDate, depth: usize) {
        let Some(item) = setup.item(id).filter(|_| !self.0.contains_key(&id)) else { return };
        let mut found = Allergens::default();
        found.known.extend(item.allergens.iter().flatten());
        match setup.recipe(id, day).filter(|_| depth <= Recipe::DEEPEST) {
            Some(recipe) => {
                for part in &recipe.takes {
                    self.settle(setup, part.item, day, depth + 1);
                }
                found.add(&self.together(&recipe.takes));
            }
            None if item.allergens.is_none() => {
                found.unknown.insert(id);
            }
            None => {}
        }
        self.0.insert(id, found);
    }
}
