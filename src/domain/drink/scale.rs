//! A spec for many serves at once: how much of everything, in whole containers and a rest, and how much water.

use super::allergens::Allergens;
use super::content::Content;
use super::dilution;
use super::mix::Mix;
use super::serve::{Larder, Poured, ServeCost, joins_after_ice};
use crate::domain::measure::{Amount, Basis};
use crate::domain::venue::{Ingredient, ItemId, Menu, Setup};
use crate::words;

/// More serves than any bowl holds.
pub const MOST_SERVES: i64 = 10_000;

/// One ingredient of a batch.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BatchLine {
    /// What.
    pub item: ItemId,
    /// How much of it goes in.
    pub amount: Amount,
    /// Whole containers of that.
    pub whole: i64,
    /// What is missing after them.
    pub rest: Amount,
}

impl BatchLine {
    /// How much, in the bar's own unit.
    pub fn in_units(&self, setup: &Setup) -> String {
        self.shown(setup, self.amount)
    }

    /// In whole containers and a rest: `2 x 700 ml and 340 ml`; nothing for less than one. Of what is counted singly, how
    /// many whole ones that takes.
    pub fn in_containers(&self, setup: &Setup) -> String {
        let Some(item) = setup.item(self.item).filter(|_| self.whole > 0) else { return String::new() };
        if item.basis == Basis::Each && item.size == Amount(1_000) {
            let begun = i64::from(self.rest > Amount::ZERO);
            return if begun > 0 { say!("{begun} whole ones", begun = self.whole + begun) } else { String::new() };
        }
        let rest = match self.rest {
            Amount::ZERO => String::new(),
            rest => say!(" and {rest}", rest = self.shown(setup, rest)),
        };
        format!("{} x {}{rest}", self.whole, self.shown(setup, item.size))
    }

    fn shown(&self, setup: &Setup, amount: Amount) -> String {
        let basis = setup.item(self.item).map_or(Basis::Volume, |item| item.basis);
        setup.venue.show().amount(basis, amount)
    }
}

/// A batch of a drink.
#[derive(Clone, Debug, PartialEq)]
pub struct BatchPlan {
    /// Serves.
    pub serves: i64,
    /// What goes in together.
    pub lines: Vec<BatchLine>,
    /// What is added to each serve when it is poured: what has no place under a lid.
    pub later: Vec<BatchLine>,
    /// Water that stands for what ice would have added, and its share of the volume before.
    pub water: Amount,
    /// As a share of the volume before.
    pub dilution: f64,
    /// What the batch is, water with it, at 20 °C.
    pub mix: Mix,
    /// One serve as it is handed over, with what is added to it, and what is not known of that.
    pub serve: Content,
    /// What one serve costs.
    pub cost: ServeCost,
    /// What some must avoid.
    pub allergens: Allergens,
}

impl BatchPlan {
    /// Of a spec for so many serves, with water of so large a share of the volume, or as the menu's method has it.
    pub fn new(
        larder: &Larder,
        setup: &Setup,
        spec: &[Ingredient],
        menu: Option<&Menu>,
        serves: i64,
        water: Option<f64>,
    ) -> BatchPlan {
        let serves = serves.clamp(1, MOST_SERVES);
        let (method, measured) = (menu.and_then(|menu| menu.method), menu.and_then(|menu| menu.dilution));
        let one = Poured::of(&larder.contents, setup, spec, method, measured);
        let share = water.unwrap_or(one.dilution).max(0.0);
        let before = one.before.times(serves as f64);
        let line = |part: &Ingredient| {
            let amount = part.amount.times(serves, 1);
            let size = setup.item(part.item).map_or(1, |item| item.size.0.max(1));
            BatchLine { item: part.item, amount, whole: amount.0 / size, rest: Amount(amount.0 % size) }
        };
        let lines = |later: bool| spec.iter().filter(|part| joins_after_ice(setup, part) == later).map(line).collect();
        BatchPlan {
            serves,
            lines: lines(false),
            later: lines(true),
            water: Amount::rounded(before.volume() * share * 1_000.0),
            dilution: share,
            mix: dilution::diluted(before, share),
            serve: Content { mix: one.with_water(share), ..one.content },
            cost: ServeCost::of(&larder.costs, spec),
            allergens: larder.allergens.together(spec),
        }
    }

    /// The volume of the batch.
    pub fn volume(&self) -> Amount {
        self.mix.amount()
    }

    /// What one serve of it is.
    pub fn a_serve(&self) -> Amount {
        self.volume().times(1, self.serves)
    }

    /// How strong it is, and what of that is in a serve as it is handed over, in words.
    pub fn strength_words(&self, setup: &Setup) -> Vec<String> {
        let with = if self.later.is_empty() { word!("a serve") } else { word!("a serve, with what is added to it") };
        let mut said = vec![say!(
            "{at_least}{strength} % vol",
            at_least = self.serve.at_least(),
            strength = words::fixed(100.0 * self.mix.strength(), 1)
        )];
        let mut alcohol = self.serve.alcohol_words(setup).into_iter();
        said.extend(alcohol.next().map(|first| format!("{with}: {first}")));
        said.extend(alcohol);
        said
    }

    /// How many vessels of a size it fills, and what is in the last one.
    pub fn vessels(&self, size: Amount) -> Option<(i64, Amount)> {
        let (volume, size) = (self.volume().0, size.0);
        (size > 0).then(|| (volume / size, Amount(volume % size)))
    }
}
