//! What the items of a bar are made of: as stated, or, for what is made here, through its recipe.

use super::mix::Mix;
use super::serve::standard_drinks;
use crate::domain::gauge::density;
use crate::domain::measure::{Amount, Basis, Quantity, Sugar};
use crate::domain::venue::{Ingredient, Item, ItemId, Kind, Recipe, Setup};
use crate::words;
use chrono::NaiveDate;
use std::collections::HashMap;

/// What something is made of, as far as that is known.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Content {
    /// Of one base unit of an item (µl, mg, thousandth), or of all of a drink or batch.
    pub mix: Mix,
    /// Items whose strength nobody stated though they have one.
    pub strength_unknown: Vec<ItemId>,
    /// Liquids whose sugar nobody stated.
    pub sugar_unknown: Vec<ItemId>,
    /// Solids of which nothing is stated, taken to add nothing: what is strained out, spices, a garnish.
    pub left_out: Vec<ItemId>,
}

impl Content {
    /// Grams of alcohol and standard drinks, in words: at least so much where a strength is not known.
    pub fn alcohol_words(&self, setup: &Setup) -> Vec<String> {
        let standard = setup.venue.standard_drink;
        let drinks = standard_drinks(self.mix.ethanol, standard);
        let mut said = vec![
            say!(
                "{at_least}{ethanol} g alcohol",
                at_least = self.at_least(),
                ethanol = words::fixed(self.mix.ethanol, 1)
            ),
            format!("{} {} ({})", words::fixed(drinks, 1), standard.word(), standard.plain()),
        ];
        if !self.strength_unknown.is_empty() {
            said.push(say!(
                "no strength is known of {strength_unknown}",
                strength_unknown = setup.item_names(&self.strength_unknown)
            ));
        }
        said
    }

    /// `at least ` where a strength is not known, before what follows from it.
    pub fn at_least(&self) -> &'static str {
        if self.strength_unknown.is_empty() { "" } else { word!("at least ") }
    }

    /// Adds `amount` base units of something.
    pub(super) fn add(&mut self, other: &Content, amount: Amount) {
        self.mix = self.mix + other.mix.times(amount.as_f64());
        for (mine, theirs) in [
            (&mut self.strength_unknown, &other.strength_unknown),
            (&mut self.sugar_unknown, &other.sugar_unknown),
            (&mut self.left_out, &other.left_out),
        ] {
            for item in theirs {
                if !mine.contains(item) {
                    mine.push(*item);
                }
            }
        }
    }
}

/// Why the yield of a recipe cannot be computed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum YieldError {
    /// Pieces come out of it.
    #[error("{}", word!("how many pieces it makes cannot be computed: expected how much one batch yields"))]
    Pieces,
    /// Nothing that goes in is known to fill anything.
    #[error("{}", word!("nothing that goes in is known to fill anything, so the yield cannot be computed: expected how much one batch \
         yields, or water, or the sugar or strength of what goes in"))]
    Nothing,
}

/// What every item is made of on a business day.
#[derive(Clone, Debug, Default)]
pub struct Contents {
    of: HashMap<ItemId, Content>,
    /// What one batch makes by computing, of what is made here.
    batches: HashMap<ItemId, Result<Amount, YieldError>>,
}

impl Contents {
    /// Of all items, by the recipes of a day.
    pub fn new(setup: &Setup, day: NaiveDate) -> Contents {
        let mut contents = Contents::default();
        for item in &setup.items {
            contents.settle(setup, item, day, 0);
        }
        contents
    }

    /// What one batch of something makes by the recipes of a day, as [`Contents::batch`]. What is known of what is made here
    /// is worked out anew; what is stated of everything else does not depend on the day and stays.
    pub(super) fn batch_on(
        &mut self,
        setup: &Setup,
        item: ItemId,
        day: NaiveDate,
    ) -> Option<Result<Amount, YieldError>> {
        self.of.retain(|item, _| !setup.recipes.contains_key(item));
        self.batches.clear();
        self.settle(setup, setup.item(item)?, day, 0);
        self.batch(item)
    }

    /// Of one base unit of an item; nothing of one that the book does not have.
    pub fn of(&self, item: ItemId) -> Option<&Content> {
        self.of.get(&item)
    }

    /// What one batch of something made here makes, computed from what goes in.
    ///
    /// # Errors
    /// [`YieldError`].
    pub fn batch(&self, item: ItemId) -> Option<Result<Amount, YieldError>> {
        self.batches.get(&item).copied()
    }

    /// All that goes into something together, in its own amounts.
    pub fn together<'a>(&self, parts: impl IntoIterator<Item = &'a Ingredient>) -> Content {
        let mut sum = Content::default();
        for part in parts {
            if let Some(content) = self.of(part.item) {
                sum.add(content, part.amount);
            }
        }
        sum
    }

    /// All that goes into a batch, its water as well.
    pub fn of_batch(&self, recipe: &Recipe) -> Content {
        let mut sum = self.together(&recipe.takes);
        if let Some(water) = &recipe.water {
            sum.mix = sum.mix + water_of(water.quantity);
        }
        sum
    }

    fn settle(&mut self, setup: &Setup, item: &Item, day: NaiveDate, depth: usize) {
        if self.of.contains_key(&item.id) {
            return;
        }
        let recipe = setup.recipe(item.id, day).filter(|_| depth <= Recipe::DEEPEST);
        let Some(recipe) = recipe else {
            self.of.insert(item.id, stated(item));
            return;
        };
        for part in &recipe.takes {
            if let Some(part) = setup.item(part.item) {
                self.settle(setup, part, day, depth + 1);
            }
        }
        let all = self.of_batch(recipe);
        let computed = computed_yield(item.basis, all.mix);
        self.batches.insert(item.id, computed);
        self.of.insert(item.id, made(item, recipe, all, computed));
    }
}

/// What a batch makes of all that goes in: for a liquid its volume, where the sugar fills what it fills once it is
/// dissolved; for what is measured by mass its mass.
///
/// # Errors
/// [`YieldError`].
pub fn computed_yield(basis: Basis, all: Mix) -> Result<Amount, YieldError> {
    let thousands = match basis {
        Basis::Volume => all.volume(),
        Basis::Mass => all.mass(),
        Basis::Each => return Err(YieldError::Pieces),
    };
    let amount = Amount::rounded(thousands * 1_000.0);
    if amount > Amount::ZERO { Ok(amount) } else { Err(YieldError::Nothing) }
}

fn water_of(quantity: Quantity) -> Mix {
    let thousands = quantity.amount.as_f64() / 1_000.0;
    match quantity.basis {
        Basis::Mass => Mix { water: thousands, ..Mix::default() },
        _ => Mix::of_water(thousands),
    }
}

/// Of one base unit of a house-made item. Where less comes out than goes in, what is missing stayed in the pot or the
/// leaves as it was mixed: nothing is stronger than what went in. Where more comes out, something that is not reckoned
/// filled the rest, and counts as water. What the owner states of strength and sugar goes before.
fn made(item: &Item, recipe: &Recipe, all: Content, computed: Result<Amount, YieldError>) -> Content {
    let measured = if recipe.written.is_some() { recipe.yields } else { Amount::ZERO };
    let computed = computed.unwrap_or_default();
    let whole = computed.max(measured);
    if whole <= Amount::ZERO {
        return stated(item);
    }
    let missing = if item.basis == Basis::Each { 0.0 } else { (whole - computed).as_f64() / 1_000.0 };
    let filled = match item.basis {
        Basis::Volume => Mix::of_water(missing),
        _ => Mix { water: missing, ..Mix::default() },
    };
    let mut content = Content { mix: (all.mix + filled).times(1.0 / whole.as_f64()), ..all };
    if item.basis == Basis::Volume && (item.abv.is_some() || item.sugar.is_some()) {
        let strength = item.abv.map_or_else(|| content.mix.strength(), |abv| abv.0 as f64 / 10_000.0);
        let sugar = match item.sugar {
            Some(sugar) => density::grams_per_litre(sugar, strength),
            None => content.mix.grams_per_litre(),
        };
        content.mix = Mix::of_liquid(0.001, strength, sugar);
        if item.abv.is_some() {
            content.strength_unknown.clear();
        }
        if item.sugar.is_some() {
            content.sugar_unknown.clear();
        }
    }
    content
}

/// Of one base unit of an item, as it is stated.
fn stated(item: &Item) -> Content {
    match (item.basis, item.yields) {
        (Basis::Volume, _) => liquid(item, 0.001),
        (Basis::Mass, _) => solid(item, 0.001),
        (Basis::Each, Some(Quantity { basis: Basis::Volume, amount })) => liquid(item, amount.as_f64() / 1e6),
        (Basis::Each, Some(Quantity { basis: Basis::Mass, amount })) => solid(item, amount.as_f64() / 1e6),
        (Basis::Each, _) => nothing(item),
    }
}

/// Whether something has alcohol as a rule, so that silence about its strength is not none. What is made here without a
/// recipe may be anything.
fn is_strong(item: &Item) -> bool {
    matches!(item.kind, Kind::Spirit | Kind::Liqueur | Kind::Wine | Kind::Beer | Kind::HouseMade)
}

/// The item itself, if that is so.
fn itself(item: &Item, so: bool) -> Vec<ItemId> {
    if so { vec![item.id] } else { Vec::new() }
}

/// So many millilitres of a liquid.
fn liquid(item: &Item, millilitres: f64) -> Content {
    let strength = item.abv.map_or(0.0, |abv| abv.0 as f64 / 10_000.0);
    let sugar = item.sugar.map_or(0.0, |sugar| density::grams_per_litre(sugar, strength));
    Content {
        mix: Mix::of_liquid(millilitres, strength, sugar),
        strength_unknown: itself(item, is_strong(item) && item.abv.is_none()),
        // A spirit is not sweetened; anything else may be.
        sugar_unknown: itself(item, item.sugar.is_none() && item.kind != Kind::Spirit),
        left_out: Vec::new(),
    }
}

/// So many grams of something solid: dissolved where its sugar is stated, else as so much liquid where its density is,
/// else nothing. By mass and with a strength it is a liquid whose volume follows from both.
fn solid(item: &Item, grams: f64) -> Content {
    let strong = item.abv.is_some_and(|abv| abv.0 > 0);
    let heavy = item.density.map(|density| density.0 as f64 / 1e6);
    let heavy = heavy.or_else(|| density::at(item.abv, item.sugar, 20.0).filter(|_| strong).map(|rho| rho / 1_000.0));
    match (item.sugar, heavy) {
        (Some(Sugar::Brix(hundredths)), _) if !strong => {
            let sugar = grams * hundredths as f64 / 10_000.0;
            let strength_unknown = itself(item, is_strong(item) && item.abv.is_none());
            Content { mix: Mix { sugar, water: grams - sugar, ethanol: 0.0 }, strength_unknown, ..Content::default() }
        }
        (_, Some(heavy)) => liquid(item, grams / heavy),
        (_, None) => nothing(item),
    }
}

/// Something of which it is not known what it fills; its alcohol is not known to be none.
fn nothing(item: &Item) -> Content {
    let strong = item.abv.map_or(is_strong(item), |abv| abv.0 > 0);
    Content { left_out: vec![item.id], strength_unknown: itself(item, strong), ..Content::default() }
}
