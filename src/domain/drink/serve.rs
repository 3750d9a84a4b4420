//! One serve: what it takes, costs and contains.

use super::allergens::{AllergenList, Allergens};
use super::content::{Content, Contents};
use super::cost::{Costs, Paid};
use super::dilution::{self, DilutionFrom};
use super::mix::Mix;
use super::price;
use crate::domain::gauge::alcohol;
use crate::domain::measure::{Amount, Basis, ExactCost, Money};
use crate::domain::venue::{Drink, DrinkMethod, Ingredient, ItemId, Kind, Menu, Setup, StandardDrink};
use chrono::NaiveDate;

/// What is known of everything that goes into drinks on a business day.
#[derive(Clone, Debug, Default)]
pub struct Larder {
    /// What it costs.
    pub costs: Costs,
    /// What it is made of.
    pub contents: Contents,
    /// What is in it that some must avoid.
    pub allergens: AllergenList,
    /// The day.
    pub day: NaiveDate,
}

impl Larder {
    /// The larder of a day.
    pub fn new(setup: &Setup, paid: Paid, day: NaiveDate) -> Larder {
        Larder::with(setup, Costs::new(setup, paid, day), day)
    }

    /// As [`Larder::new`], with costs that are known already.
    pub fn with(setup: &Setup, costs: Costs, day: NaiveDate) -> Larder {
        Larder { costs, contents: Contents::new(setup, day), allergens: AllergenList::new(setup, day), day }
    }
}

/// What a serve costs, as far as its ingredients' costs are known.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ServeCost {
    /// The sum of what is known.
    pub known: ExactCost,
    /// Ingredients without a known cost.
    pub missing: Vec<ItemId>,
    /// How many ingredients there are.
    pub parts: usize,
}

impl ServeCost {
    /// Of a spec, waste with it.
    pub fn of(costs: &Costs, spec: &[Ingredient]) -> ServeCost {
        let mut sum = ServeCost { parts: spec.len(), ..ServeCost::default() };
        for part in spec {
            match part_cost(costs, part) {
                Some(cost) => sum.known = sum.known + cost,
                None => sum.missing.push(part.item),
            }
        }
        sum
    }

    /// The cost, where all of it is known; of nothing at all it is not.
    pub fn whole(&self) -> Option<ExactCost> {
        (self.missing.is_empty() && self.parts > 0).then_some(self.known)
    }
}

/// What one ingredient of a serve costs, waste with it.
pub fn part_cost(costs: &Costs, part: &Ingredient) -> Option<ExactCost> {
    costs.of(part.item).map(|cost| cost.exact(part.with_waste()))
}

/// What a serve earns.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Earning {
    /// Menu price without tax.
    pub net: Money,
    /// Cost ÷ net price, 0 to 1 and beyond; nothing where it is given away.
    pub pour_cost: Option<f64>,
    /// Net price − cost, to the nearest coin: what a serve brings in towards everything else.
    pub margin: Money,
}

impl Earning {
    /// Of a serve that costs so much and is sold by a menu.
    pub fn of(cost: ExactCost, menu: &Menu, setup: &Setup) -> Earning {
        let venue = &setup.venue;
        let net = price::net(menu.price, menu.tax, venue);
        let pour_cost = price::pour_cost(cost, net, venue.currency);
        Earning { net, pour_cost, margin: net - cost.round(venue.currency) }
    }
}

/// What is in the glass.
#[derive(Clone, Debug, PartialEq)]
pub struct Poured {
    /// What meets the ice.
    pub before: Mix,
    /// The water that ice adds, as a share of the volume before.
    pub dilution: f64,
    /// How that is known.
    pub dilution_from: DilutionFrom,
    /// What is added after the ice has done its work.
    pub after: Mix,
    /// All of it, as it is handed over.
    pub glass: Mix,
    /// What is not known of it.
    pub content: Content,
}

impl Poured {
    /// Of a spec, served in a way.
    pub fn of(
        contents: &Contents,
        setup: &Setup,
        spec: &[Ingredient],
        method: Option<DrinkMethod>,
        measured: Option<i64>,
    ) -> Poured {
        let of = |after: bool| contents.together(spec.iter().filter(|part| joins_after_ice(setup, part) == after));
        let (iced, later) = (of(false), of(true));
        let (share, dilution_from) = dilution::share(method, measured, iced.mix.strength());
        let glass = dilution::diluted(iced.mix, share) + later.mix;
        let content = Content { mix: glass, ..contents.together(spec) };
        Poured { before: iced.mix, dilution: share, dilution_from, after: later.mix, glass, content }
    }

    /// With another share of water: what becomes of it when it is stirred longer.
    pub fn with_water(&self, share: f64) -> Mix {
        dilution::diluted(self.before, share) + self.after
    }
}

/// Whether an ingredient is added once the ice has done its work: as said, else mixers and beer are.
pub fn joins_after_ice(setup: &Setup, part: &Ingredient) -> bool {
    let usual = || setup.item(part.item).is_some_and(|item| matches!(item.kind, Kind::Mixer | Kind::Beer));
    part.after_ice.unwrap_or_else(usual)
}

/// How many standard drinks so many grams of ethanol are.
pub fn standard_drinks(ethanol: f64, rule: StandardDrink) -> f64 {
    let one = rule.ethanol();
    let thousands = one.amount.as_f64() / 1_000.0;
    let grams = match one.basis {
        Basis::Volume => thousands * alcohol::density(1.0, alcohol::REFERENCE) / 1_000.0,
        _ => thousands,
    };
    ethanol / grams
}

/// All that is reckoned of one version of a drink.
#[derive(Clone, Debug, PartialEq)]
pub struct Serve {
    /// What it costs.
    pub cost: ServeCost,
    /// What it earns, where its cost and price are known.
    pub earning: Option<Earning>,
    /// What is in the glass.
    pub poured: Poured,
    /// What of it some must avoid.
    pub allergens: Allergens,
    /// The glass's room, where its size is known.
    pub room: Option<Amount>,
}

impl Serve {
    /// Of a spec and a menu.
    pub fn of(larder: &Larder, setup: &Setup, spec: &[Ingredient], menu: Option<&Menu>) -> Serve {
        let cost = ServeCost::of(&larder.costs, spec);
        let method = menu.and_then(|menu| menu.method);
        let glass = menu.and_then(|menu| setup.glass(menu.glass.as_ref()?));
        Serve {
            earning: cost.whole().zip(menu).map(|(cost, menu)| Earning::of(cost, menu, setup)),
            poured: Poured::of(&larder.contents, setup, spec, method, menu.and_then(|menu| menu.dilution)),
            allergens: larder.allergens.together(spec),
            room: glass.map(|glass| glass.room()),
            cost,
        }
    }

    /// Of a drink as it is on the larder's day; nothing where it has no spec.
    pub fn today(larder: &Larder, setup: &Setup, drink: &Drink) -> Option<Serve> {
        let (_, spec) = drink.specs.at(larder.day)?;
        let menu = drink.menu.at(larder.day).map(|(_, menu)| menu);
        Some(Serve::of(larder, setup, spec, menu))
    }

    /// How much more there is than the glass has room for; nothing where it fits.
    pub fn too_much(&self) -> Option<Amount> {
        let over = self.poured.glass.amount() - self.room?;
        (over > Amount::ZERO).then_some(over)
    }
}
