//! The drinks of the bar, as they are today.

use crate::domain::drink::matrix::{Matrix, Sold, matrix};
use crate::domain::drink::{Larder, Serve};
use crate::domain::measure::Amount;
use crate::domain::venue::{Drink, DrinkId, DrinkMethod, Glass, Ingredient, ItemId, Menu, Setup, words::words};
use crate::words;
use chrono::NaiveDate;
use std::collections::HashMap;
use std::ops::RangeInclusive;
use std::sync::Arc;

words! {
    /// Which drinks are looked at together.
    #[derive(Default)]
    Selection {
        /// Everything on the menu.
        #[default]
        Menu = "menu",
        /// On the menu and mixed of several ingredients.
        Mixed = "mixed",
        /// On the menu and of one ingredient.
        Straight = "straight",
        /// Everything, off the menu as well.
        All = "all",
    }
}

impl Selection {
    /// In words, as a heading.
    pub fn title(self) -> &'static str {
        match self {
            Selection::Menu => word!("on the menu"),
            Selection::Mixed => word!("mixed drinks on the menu"),
            Selection::Straight => word!("straight pours on the menu"),
            Selection::All => word!("all, off the menu too"),
        }
    }
}

/// The drinks, what is known of what goes into them, and how they sold lately.
#[derive(Clone, Debug)]
pub struct DrinksView {
    /// The bar.
    pub setup: Arc<Setup>,
    /// Costs, contents and allergens of today; no costs for whoever does not see them.
    pub larder: Larder,
    /// What there should be of every item that was ever counted; nothing for whoever is not to know that now.
    pub on_hand: HashMap<ItemId, Amount>,
    /// How many of each were sold, in thousandths.
    pub sold: HashMap<DrinkId, i64>,
    /// Over which business days; none without sales.
    pub sold_over: Option<RangeInclusive<NaiveDate>>,
}

/// One drink as it is today.
#[derive(Clone, Debug, PartialEq)]
pub struct DrinkLine {
    /// Which.
    pub drink: DrinkId,
    /// What it is reckoned to be; nothing without a spec.
    pub serve: Option<Serve>,
    /// On the menu.
    pub on: bool,
    /// How many were sold, in thousandths.
    pub sold: i64,
}

impl DrinksView {
    /// The drink's menu entry of today.
    pub fn menu<'a>(&self, drink: &'a Drink) -> Option<&'a Menu> {
        drink.menu.at(self.larder.day).map(|(_, menu)| menu)
    }

    /// Whether a drink is on the menu today: one that begins on a day to come is not.
    pub fn is_on(&self, drink: &Drink) -> bool {
        drink.menu.has_begun(self.larder.day) && self.menu(drink).is_some_and(|menu| menu.on)
    }

    /// What stands beside the name of a drink that is not on the menu today: `(off)`, `(from 1 Dec)`.
    pub fn when_on(&self, drink: &Drink) -> String {
        let first = drink.menu.iter().next().and_then(|(from, _)| *from).filter(|from| *from > self.larder.day);
        match first {
            _ if self.is_on(drink) => String::new(),
            Some(first) if self.menu(drink).is_some_and(|menu| menu.on) => {
                say!(" (from {what})", what = words::day(first, "%-d %b"))
            }
            _ => word!(" (off)").to_owned(),
        }
    }

    /// Whether whoever looks sees costs and prices.
    pub fn sees_costs(&self) -> bool {
        self.setup.venue.rights.sees_costs()
    }

    /// Whether a drink is among those looked at.
    pub fn is_in(&self, drink: &Drink, selection: Selection) -> bool {
        let on = self.is_on(drink);
        let parts = drink.specs.at(self.larder.day).map_or(0, |(_, spec)| spec.len());
        let poured = self.menu(drink).and_then(|menu| menu.method) == Some(DrinkMethod::Pour);
        match selection {
            Selection::All => true,
            Selection::Menu => on,
            Selection::Mixed => on && parts > 1 && !poured,
            Selection::Straight => on && (parts == 1 || poured),
        }
    }

    /// The drinks of a selection, by name.
    pub fn lines(&self, selection: Selection) -> Vec<DrinkLine> {
        self.lines_and(selection, None)
    }

    /// As [`DrinksView::lines`], and one more drink in its place.
    pub fn lines_and(&self, selection: Selection, also: Option<DrinkId>) -> Vec<DrinkLine> {
        let is_in = |drink: &&Drink| self.is_in(drink, selection) || also == Some(drink.id);
        let chosen = self.setup.drinks.iter().filter(is_in);
        chosen.map(|drink| self.line(drink)).collect()
    }

    /// One drink.
    pub fn line(&self, drink: &Drink) -> DrinkLine {
        DrinkLine {
            drink: drink.id,
            serve: Serve::today(&self.larder, &self.setup, drink),
            on: self.is_on(drink),
            sold: self.sold.get(&drink.id).copied().unwrap_or_default(),
        }
    }

    /// Whether a drink was on a menu in the days whose sales are looked at: one that came later cannot have sold.
    fn could_sell(&self, drink: DrinkId) -> bool {
        let drink = self.setup.drink(drink);
        self.sold_over.as_ref().zip(drink).is_some_and(|(days, drink)| drink.menu.has_begun(*days.end()))
    }

    /// Popularity against margin of some drinks, as far as their margin is known and they could be sold.
    pub fn matrix(&self, lines: &[DrinkLine]) -> Matrix {
        let lines = lines.iter().filter(|line| self.could_sell(line.drink));
        let earning = |line: &DrinkLine| line.serve.as_ref()?.earning;
        let sold =
            |line: &DrinkLine| Some(Sold { drink: line.drink, quantity: line.sold, margin: earning(line)?.margin });
        matrix(&lines.filter_map(sold).collect::<Vec<_>>())
    }
}

/// A drink as somebody wrote it.
#[derive(Clone, Debug, PartialEq)]
pub struct DrinkDraft {
    /// Which; none is a new one.
    pub drink: Option<DrinkId>,
    /// What it is called.
    pub name: String,
    /// The first business day it is so; `None` since ever.
    pub from: Option<NaiveDate>,
    /// Price and service.
    pub menu: Menu,
    /// What it takes; amounts are worked out from what is written.
    pub spec: Vec<Ingredient>,
    /// Size of a glass that the book does not know yet.
    pub glass: Option<Glass>,
    /// The drink as its writer saw it: what somebody else changed since is not written over.
    pub seen: Option<Drink>,
}
