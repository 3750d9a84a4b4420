//! What a liquid is made of, and the volume and strength that follow.

use crate::domain::gauge::{alcohol, sugar};
use crate::domain::measure::Amount;
use std::ops;

/// Ethanol, sugar and water in grams. Whatever else there is (acid, egg, extract) is taken as water.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Mix {
    /// Ethanol.
    pub ethanol: f64,
    /// Sugar, taken as sucrose.
    pub sugar: f64,
    /// Water.
    pub water: f64,
}

impl Mix {
    /// Of so many millilitres of water at 20 °C.
    pub fn of_water(millilitres: f64) -> Mix {
        Mix { water: millilitres * alcohol::density(0.0, alcohol::REFERENCE) / 1_000.0, ..Mix::default() }
    }

    /// Of so many millilitres of a strength by volume (0 to 1) that hold so many grams of sugar in a litre.
    pub fn of_liquid(millilitres: f64, strength: f64, grams_per_litre: f64) -> Mix {
        let litres = millilitres / 1_000.0;
        let mass = crate::domain::gauge::density::of_mixture(strength, grams_per_litre, alcohol::REFERENCE);
        let ethanol = strength * alcohol::density(1.0, alcohol::REFERENCE);
        let water = (mass - ethanol - grams_per_litre).max(0.0);
        Mix { ethanol: ethanol * litres, sugar: grams_per_litre * litres, water: water * litres }
    }

    /// Its mass in grams.
    pub fn mass(self) -> f64 {
        self.ethanol + self.sugar + self.water
    }

    /// Its volume in millilitres at 20 °C. Ethanol and water together fill less than each alone, and a gram of dissolved
    /// sugar fills about 0.62 ml, so volumes do not simply add up.
    pub fn volume(self) -> f64 {
        let phase = self.ethanol + self.water;
        let liquid = if phase > 0.0 {
            phase * 1_000.0 / alcohol::density(self.ethanol / phase, alcohol::REFERENCE)
        } else {
            0.0
        };
        if self.sugar <= 0.0 {
            return liquid;
        }
        // What a gram of sugar fills depends a little on how much of it there is in a litre; a few rounds settle it.
        (0..6).fold(liquid + 0.62 * self.sugar, |volume, _| {
            liquid + self.sugar * sugar::apparent_volume(1_000.0 * self.sugar / volume)
        })
    }

    /// Its volume as an amount.
    pub fn amount(self) -> Amount {
        Amount::rounded(self.volume() * 1_000.0)
    }

    /// Strength by volume at 20 °C, 0 to 1: the volume of the ethanol, taken alone, per volume of the mixture.
    pub fn strength(self) -> f64 {
        self.share(self.ethanol * 1_000.0 / alcohol::density(1.0, alcohol::REFERENCE))
    }

    /// Grams of sugar in a litre.
    pub fn grams_per_litre(self) -> f64 {
        self.share(1_000.0 * self.sugar)
    }

    /// Sugar in percent by mass (degrees Brix).
    pub fn brix(self) -> f64 {
        if self.mass() > 0.0 { 100.0 * self.sugar / self.mass() } else { 0.0 }
    }

    fn share(self, of: f64) -> f64 {
        let volume = self.volume();
        if volume > 0.0 { of / volume } else { 0.0 }
    }

    /// So many times as much of it.
    pub fn times(self, factor: f64) -> Mix {
        Mix { ethanol: self.ethanol * factor, sugar: self.sugar * factor, water: self.water * factor }
    }
}

impl ops::Add for Mix {
    type Output = Mix;
    fn add(self, other: Mix) -> Mix {
        Mix { ethanol: self.ethanol + other.ethanol, sugar: self.sugar + other.sugar, water: self.water + other.water }
    }
}
impl std::iter::Sum for Mix {
    fn sum<I: Iterator<Item = Mix>>(parts: I) -> Mix {
        parts.fold(Mix::default(), |a, b| a + b)
    }
}
