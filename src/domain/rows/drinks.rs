//! The drinks of the bar, as they are today.

use crate::domain::drink::matrix::{Matrix, Sold, matrix};
use crate::domain::drink::{Larder, Serve};
use crate::domain::venue::{Drink, DrinkId, DrinkMethod, Glass, Ingredient, Menu, Setup, words::words};
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
            Selection::Menu => "on the menu",
            Selection::Mixed => "mixed drinks on the menu",
            Selection::Straight => "straight pours on the menu",
            Selection::All => "all, off the menu too",
        }
    }
}

/// The drinks, what is known of what goes into them, and how they sold lately.
#[derive(Clone, Debug)]
pub struct DrinksView {
    /// The bar.
    pub setup: Arc<Setup>,
    /// Costs, contents and allergens of today.
    pub larder: Larder,
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

    /// Whether a drink is among those looked at.
    pub fn is_in(&self, drink: &Drink, selection: Selection) -> bool {
        let on = self.menu(drink).is_some_and(|menu| menu.on);
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
        let chosen = self.setup.drinks.iter().filter(|drink| self.is_in(drink, selection));
        chosen.map(|drink| self.line(drink)).collect()
    }

    /// One drink.
    pub fn line(&self, drink: &Drink) -> DrinkLine {
        DrinkLine {
            drink: drink.id,
            serve: Serve::today(&self.larder, &self.setup, drink),
            on: self.menu(drink).is_some_and(|menu| menu.on),
            sold: self.sold.get(&drink.id).copied().unwrap_or_default(),
        }
    }

    /// Popularity against margin of some drinks, as far as their margin is known.
    pub fn matrix(&self, lines: &[DrinkLine]) -> Matrix {
        let earning = |line: &DrinkLine| line.serve.as_ref()?.earning;
        let sold =
            |line: &DrinkLine| Some(Sold { drink: line.drink, quantity: line.sold, margin: earning(line)?.margin });
        matrix(&lines.iter().filter_map(sold).collect::<Vec<_>>())
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
}
