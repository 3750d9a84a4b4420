//! Which drinks sell and which earn: popularity against contribution margin.

use crate::domain::measure::Money;
use crate::domain::venue::{DrinkId, words::words};

words! {
    /// The four corners, in our own words.
    Corner {
        /// Sells and earns.
        Anchor = "anchor",
        /// Sells, and earns little each.
        Draw = "draw",
        /// Earns, and sells little.
        Secret = "secret",
        /// Neither.
        Ballast = "ballast",
    }
}

impl Corner {
    /// What it means, in words.
    pub fn meaning(self) -> &'static str {
        match self {
            Corner::Anchor => word!("sells and earns: keep it as it is"),
            Corner::Draw => word!("sells, earns little each: see to its cost or its price"),
            Corner::Secret => word!("earns, sells little: show it to more guests"),
            Corner::Ballast => word!("sells little and earns little: change it or let it go"),
        }
    }
}

/// A drink as it goes into the matrix.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Sold {
    /// Which.
    pub drink: DrinkId,
    /// How many were sold, in thousandths.
    pub quantity: i64,
    /// Net price − cost of one.
    pub margin: Money,
}

/// Where a drink stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Standing {
    /// The drink.
    pub sold: Sold,
    /// Its share of all that were sold, 0 to 1.
    pub share: f64,
    /// The corner.
    pub corner: Corner,
}

impl Standing {
    /// What all that were sold of it brought in, in thousandths of the coin's minor unit.
    fn in_all(&self) -> i128 {
        i128::from(self.sold.margin.0) * i128::from(self.sold.quantity)
    }
}

/// The matrix.
#[derive(Clone, Debug, PartialEq)]
pub struct Matrix {
    /// Every drink, in the order given.
    pub rows: Vec<Standing>,
    /// The share from which a drink is popular.
    pub popular: f64,
    /// The margin, in minor units, from which it is high.
    pub high: f64,
}

impl Matrix {
    /// Those first that brought in most in all.
    pub fn most_first(mut self) -> Matrix {
        self.rows.sort_by_key(|row| std::cmp::Reverse(row.in_all()));
        self
    }
}

/// Sorts drinks into the four corners by the rule of Kasavana and Smith (Menu Engineering, 1982; from memory, its cut
/// of 70 % confirmed in secondary texts): popular is a share of all sales of at least 70 % of an even share, high is a
/// margin of at least the average of all that were sold, weighted by how many. Without any sales there are no rows.
pub fn matrix(drinks: &[Sold]) -> Matrix {
    let sold = |d: &Sold| i128::from(d.quantity.max(0));
    let all: i128 = drinks.iter().map(sold).sum();
    let earned: i128 = drinks.iter().map(|d| sold(d) * i128::from(d.margin.0)).sum();
    let number = drinks.len() as i128;
    let share = |of: i128| if all > 0 { of as f64 / all as f64 } else { 0.0 };
    // Whole numbers: a drink that stands right on a line is not pushed over it by the last bits of a float.
    let corner = |d: &Sold| match (10 * sold(d) * number >= 7 * all, i128::from(d.margin.0) * all >= earned) {
        (true, true) => Corner::Anchor,
        (true, false) => Corner::Draw,
        (false, true) => Corner::Secret,
        (false, false) => Corner::Ballast,
    };
    // Where nothing was sold there is nothing to compare.
    let compared = drinks.iter().filter(|_| all > 0);
    let rows = compared.map(|d| Standing { sold: *d, share: share(sold(d)), corner: corner(d) }).collect();
    Matrix { rows, popular: 0.7 / drinks.len().max(1) as f64, high: share(earned) }
}
