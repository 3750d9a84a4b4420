//! What is likely to run dry before more of it comes, and what can be done today.

use crate::domain::gauge::Level;
use crate::domain::par::ItemPar;
use crate::domain::venue::{Drink, DrinkId, Ingredient, Item, ItemId, Moment, Recipe, Setup, SupplierId, name_key};
use chrono::NaiveDate;

/// With so much of a chance it is told that an item may run dry.
const LIKELY: f64 = 0.25;

/// A van that an item can come with if it is ordered now.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DryVan {
    /// Whose.
    pub supplier: SupplierId,
    /// The last moment to order; none where one orders whenever one likes.
    pub by: Option<Moment>,
    /// The day on which it comes.
    pub comes: NaiveDate,
}

/// An item that is likely to run dry before the next van, and what can be done today.
#[derive(Clone, Debug, PartialEq)]
pub struct DryRow {
    /// What.
    pub item: ItemId,
    /// What should be there.
    pub on_hand: Level,
    /// The chance that it is dry before anything of it can come.
    pub chance: f64,
    /// The day in the course of which it is more likely dry than not, where that is before it comes.
    pub day: Option<NaiveDate>,
    /// When something of it comes: what is on its way, or the usual van that an order now makes; for what is made here,
    /// never.
    pub comes: Option<NaiveDate>,
    /// Whether that is on its way already.
    pub ordered: bool,
    /// Made here, not bought.
    pub made_here: bool,
    /// The vans that an order now makes, the usual supplier's and those that come before it, the earliest first; of what is
    /// on its way, only those that come before that.
    pub vans: Vec<DryVan>,
    /// The same thing in containers of another size, of which there is some.
    pub sizes: Vec<ItemId>,
    /// Drinks on the menu that cannot be made without it, in the order of names.
    pub drinks: Vec<DrinkId>,
}

impl DryRow {
    /// Whether there is none of it.
    pub fn is_dry(&self) -> bool {
        self.on_hand.amount.0 <= 0
    }

    /// How likely it runs dry, in a word and a figure: `likely, 62 %`.
    pub fn chance_words(&self) -> String {
        if self.is_dry() {
            return word!("none left").to_owned();
        }
        let word = match self.chance {
            sure if sure >= 0.9 => word!("almost sure"),
            likely if likely >= 0.5 => word!("likely"),
            _ => word!("perhaps"),
        };
        // Nothing that is to come is certain.
        format!("{word}, {:.0} %", (100.0 * self.chance).min(99.0))
    }
}

/// The items that are likely to run dry before anything of them comes, the soonest first.
pub fn dry_rows(setup: &Setup, pars: &[ItemPar], now: Moment) -> Vec<DryRow> {
    let today = setup.venue.days.day_of(now);
    let mut rows: Vec<DryRow> = pars.iter().filter_map(|par| dry_row(setup, pars, par, today)).collect();
    rows.sort_by(|a, b| {
        let day = |row: &DryRow| row.day.or(row.comes).unwrap_or(NaiveDate::MAX);
        day(a).cmp(&day(b)).then(b.chance.total_cmp(&a.chance)).then(a.item.cmp(&b.item))
    });
    rows
}

fn dry_row(setup: &Setup, pars: &[ItemPar], par: &ItemPar, today: NaiveDate) -> Option<DryRow> {
    let on_hand = par.on_hand?;
    let on_its_way = par.coming.first().map(|(day, _)| *day);
    let usual = par.by_demand().filter(|_| par.usual.is_some()).map(|computed| computed.stretch.comes);
    let comes = on_its_way.into_iter().chain(usual).min();
    // What is made here can be made tomorrow; until then what there is must do.
    let tomorrow = today.succ_opt().unwrap_or(today);
    let until = if par.made_here { Some(tomorrow) } else { comes };
    let seen = par.cover.days.last()?.day.succ_opt()?;
    let chance = par.cover.dry_before(until.unwrap_or(seen));
    if chance < LIKELY {
        return None;
    }
    let day = par.cover.dry_by(0.5).filter(|day| until.is_none_or(|until| *day < until));
    let ordered = on_its_way.is_some() && on_its_way == comes;
    let mut vans: Vec<DryVan> = par
        .computed
        .iter()
        .filter_map(|(supplier, computed)| {
            let (supplier, stretch) = ((*supplier)?, computed.stretch);
            Some(DryVan { supplier, by: stretch.by, comes: stretch.comes })
        })
        .filter(|van| comes.is_none_or(|comes| van.comes < comes) || (!ordered && Some(van.supplier) == par.usual))
        .collect();
    vans.sort_by_key(|van| (van.comes, van.by, van.supplier));
    Some(DryRow {
        item: par.item,
        on_hand,
        chance,
        day,
        comes: if par.made_here { None } else { comes },
        ordered,
        made_here: par.made_here,
        vans,
        sizes: other_sizes(setup, pars, par.item),
        drinks: drinks_of(setup, par.item, today),
    })
}

/// The same thing in another size: items of the same kind whose name is the same but for a size in it, of which there is
/// some.
fn other_sizes(setup: &Setup, pars: &[ItemPar], item: ItemId) -> Vec<ItemId> {
    let Some(what) = setup.item(item) else { return Vec::new() };
    let own = without_size(&what.name);
    let some =
        |id: ItemId| pars.iter().any(|par| par.item == id && par.on_hand.is_some_and(|there| there.amount.0 > 0));
    let same = |other: &&Item| {
        other.id != item && other.kind == what.kind && other.basis == what.basis && other.size != what.size
    };
    let all = setup.items.iter().filter(same);
    all.filter(|other| without_size(&other.name) == own && some(other.id)).map(|other| other.id).collect()
}

/// The units in which a name says how much a container holds.
const UNITS: &[&str] = &["ml", "cl", "l", "g", "kg", "oz"];

/// A name without what says how much a container holds: `Gin 1 l` and `Gin 70cl` are one thing, `12-Year Rum` and
/// `21-Year Rum` are two.
fn without_size(name: &str) -> String {
    let key = name_key(name);
    let words: Vec<&str> = key.split_whitespace().collect();
    let number = |word: &str| {
        word.starts_with(|c: char| c.is_ascii_digit())
            && word.chars().all(|c| c.is_ascii_digit() || c == '.' || c == ',')
    };
    let unit = |at: usize| words.get(at).is_some_and(|word| UNITS.contains(word));
    let says_size = |at: usize| {
        let word = words[at];
        let glued = UNITS.iter().any(|unit| word.strip_suffix(unit).is_some_and(number));
        glued || (number(word) && unit(at + 1)) || (unit(at) && at > 0 && number(words[at - 1]))
    };
    (0..words.len()).filter(|at| !says_size(*at)).map(|at| words[at]).collect::<Vec<_>>().join(" ")
}

/// The drinks on the menu that take an item, itself or in what is made of it.
fn drinks_of(setup: &Setup, item: ItemId, today: NaiveDate) -> Vec<DrinkId> {
    let takes = |takes: &[Ingredient]| takes.iter().any(|part| made_of(setup, part.item, item, today, 0));
    let on_menu = |drink: &&Drink| drink.menu.at(today).is_some_and(|(_, menu)| menu.on);
    let all = setup.drinks.iter().filter(on_menu);
    all.filter(|drink| drink.specs.at(today).is_some_and(|(_, spec)| takes(spec))).map(|drink| drink.id).collect()
}

/// Whether something is an item, or made of it by the recipes of a day, however deep.
fn made_of(setup: &Setup, what: ItemId, item: ItemId, day: NaiveDate, depth: usize) -> bool {
    let within = |recipe: &Recipe| recipe.takes.iter().any(|part| made_of(setup, part.item, item, day, depth + 1));
    what == item || (depth <= Recipe::DEEPEST && setup.recipe(what, day).is_some_and(within))
}

#[cfg(test)]
mod tests;
