//! Causes of gaps in words: the same on screens, in tables and on pages.

use crate::domain::gauge::{Part, Source};
use crate::domain::measure::{Amount, Basis, decimal};
use crate::domain::usage::{Cause, Doubt, DoubtLine, End, Suspect};
use crate::domain::venue::{CauseWord, DrinkId, Item, ItemId, Setup, TillId};

/// Words for the causes of one item's gap.
#[derive(Clone, Copy, Debug)]
pub struct InWords<'a> {
    /// The bar.
    pub setup: &'a Setup,
    /// The item whose gap it is.
    pub item: &'a Item,
    /// The gap, to tell over from short.
    pub gap: Amount,
}

impl InWords<'_> {
    fn amount(&self, amount: Amount) -> String {
        self.setup.venue.show().amount(self.item.basis, amount)
    }

    /// An amount with its standard uncertainty: `58 ± 9 ml`.
    fn about(&self, value: f64, u: f64) -> String {
        let show = self.setup.venue.show();
        let (value, u) = (Amount::rounded(value), Amount::rounded(u));
        format!("{} ± {}", show.bare(self.item.basis, value), show.amount(self.item.basis, u))
    }

    fn containers(&self, number: i64) -> String {
        match number {
            1 => "a sealed one".to_owned(),
            n => format!("{n} sealed ones"),
        }
    }

    fn till(&self, till: TillId) -> &str {
        self.setup.till_name(till).map_or("a name", |name| &name.name)
    }

    fn name(&self, item: ItemId) -> &str {
        self.setup.item_name(item)
    }

    fn drink(&self, drink: DrinkId) -> &str {
        self.setup.drink(drink).map_or("a drink", |drink| &drink.name)
    }

    /// A cause in a few words, for a cell.
    pub fn headline(&self, cause: &Cause) -> String {
        let over = self.gap.0 > 0;
        match cause {
            Cause::Overlooked { end, containers, .. } => {
                format!("{} overlooked, {} count", self.containers(*containers), word(*end))
            }
            Cause::Twice { end, containers, .. } => {
                format!("{} counted twice, {} count", self.containers(*containers), word(*end))
            }
            Cause::NotCome { document, containers, booked, .. } if containers == booked => {
                format!("{containers} booked with {document} did not come")
            }
            Cause::NotCome { document, containers, booked, .. } => {
                format!("{containers} of {booked} booked with {document} did not come")
            }
            Cause::NotBooked { order: Some(order), containers } => {
                format!("{containers} came with {order}, not booked by then")
            }
            Cause::NotBooked { order: None, containers } => format!("{containers} came and are not booked"),
            Cause::Gone { containers } => format!("{} went, not written down", self.containers(*containers)),
            Cause::Twin { other, .. } if over => format!("poured instead of {}", self.name(*other)),
            Cause::Twin { other, .. } => format!("{} poured instead", self.name(*other)),
            Cause::Pours { percent, u, .. } => {
                let way = if *percent < 0.0 { "light" } else { "heavy" };
                format!("pours {:.1} ± {:.1} % {way}", percent.abs(), u)
            }
            Cause::Steady { rate, u, .. } => format!("{} goes every time", self.about(*rate, *u)),
            Cause::Portion { till, fits, said, .. } => {
                let portion = |thousandths: i64| decimal::plain(thousandths, 3);
                format!("{}: portion {}, not {}", self.till(*till), portion(*fits), portion(*said))
            }
            Cause::OtherDrink { till, drink, .. } => format!("{} is {}", self.till(*till), self.drink(*drink)),
            Cause::Unmapped { till, .. } => format!("{} has no meaning yet", self.till(*till)),
            Cause::RanDry { dry, other, .. } if *dry == self.item.id => match other {
                Some(other) => format!("ran dry, {} given", self.name(*other)),
                None => "ran dry, rung on".to_owned(),
            },
            Cause::RanDry { dry, .. } => format!("given instead of {}", self.name(*dry)),
            Cause::AsExpected => "opening left as expected".to_owned(),
            Cause::Unknown if over => "went, not written down".to_owned(),
            Cause::Unknown => "less went than was rung, not written down".to_owned(),
            Cause::Chance => "chance alone".to_owned(),
        }
    }

    /// What speaks for a cause, in figures.
    pub fn evidence(&self, cause: &Cause) -> String {
        let size = self.item.size.0.max(1);
        let gap = self.setup.venue.show().containers(Amount(self.gap.0.abs()), Amount(size));
        let slip = |containers: i64, end: End, reversed: Option<bool>| {
            let beside = match (end, reversed) {
                (End::Closing, None) => "the next count will tell, or another look before anything is poured",
                (End::Closing, Some(true)) => "the count after it has it the other way round",
                (End::Closing, Some(false)) => "but the count after it does not have it the other way round",
                (End::Opening, None) => "no count before it tells",
                (End::Opening, Some(true)) => "the period before has it the other way round",
                (End::Opening, Some(false)) => "but the period before does not have it the other way round",
            };
            format!("the gap is {gap} containers, which is {containers} give or take the reading; {beside}")
        };
        match cause {
            Cause::Overlooked { end, containers, reversed } | Cause::Twice { end, containers, reversed } => {
                slip(*containers, *end, *reversed)
            }
            Cause::NotCome { document, supplier, at, containers, booked } => format!(
                "the gap is {gap} containers; with {document} of {}, {}, {booked} were booked, {containers} of them would settle it",
                self.setup.supplier(*supplier).map_or("a supplier", |supplier| &supplier.name),
                self.setup.venue.days.short(*at)
            ),
            Cause::NotBooked { order: Some(order), containers } => format!(
                "{gap} containers too many were there; {containers} of {order} were not booked when it was counted"
            ),
            Cause::NotBooked { order: None, containers } => {
                format!("{gap} containers too many were there; {containers} are a pack of it")
            }
            Cause::Gone { containers } => {
                format!("the gap is {gap} containers, which is {containers} give or take the reading")
            }
            Cause::Twin { other, gap, periods } => format!(
                "its gap is {}, the other way round; {}",
                self.setup
                    .item(*other)
                    .map_or_else(String::new, |other| { self.setup.venue.show().amount(other.basis, *gap) }),
                in_a_row(*periods)
            ),
            Cause::Pours { percent, u, periods } => format!(
                "the gap goes with what is sold, {:.1} % of it; with 95 % between {:.1} and {:.1}; {}",
                percent,
                percent - 1.96 * u,
                percent + 1.96 * u,
                in_a_row(*periods)
            ),
            Cause::Steady { rate, u, periods } => {
                format!("{} each time, whatever is sold; {}", self.about(*rate, *u), in_a_row(*periods))
            }
            Cause::Portion { rung, settles, fits, .. } => format!(
                "{} were rung; with portion {} {}",
                decimal::plain(*rung, 3),
                decimal::plain(*fits, 3),
                settled(*settles)
            ),
            Cause::OtherDrink { till, rung, settles, .. } => format!(
                "{} were rung as {}; as this drink {}",
                decimal::plain(*rung, 3),
                self.till(*till),
                settled(*settles)
            ),
            Cause::Unmapped { till, rung, each, u, drink } => {
                let rung = decimal::plain(*rung, 3);
                match drink {
                    Some(drink) => format!(
                        "{rung} were rung as {}; as {} each takes {}",
                        self.till(*till),
                        self.drink(*drink),
                        self.amount(Amount::rounded(*each))
                    ),
                    None => format!(
                        "{rung} were rung as {}; {} of it in each would settle it",
                        self.till(*till),
                        self.about(*each, *u)
                    ),
                }
            }
            Cause::RanDry { dry, at, rung, .. } => {
                let basis = self.setup.item(*dry).map_or(Basis::Volume, |item| item.basis);
                format!(
                    "by the till {} was empty from {} on; {} of it was rung after that",
                    self.name(*dry),
                    self.setup.venue.days.short(*at),
                    self.setup.venue.show().amount(basis, *rung)
                )
            }
            Cause::AsExpected => {
                "nobody looked when the period began: what is missing may have gone in the one before".to_owned()
            }
            Cause::Unknown => "no count, delivery, till name or other item fits it".to_owned(),
            Cause::Chance => "as wide a gap may come of the counts' exactness alone".to_owned(),
        }
    }
}

fn word(end: End) -> &'static str {
    match end {
        End::Opening => "opening",
        End::Closing => "closing",
    }
}

fn in_a_row(periods: usize) -> String {
    match periods {
        1 => "in this period".to_owned(),
        n => format!("{n} periods in a row"),
    }
}

fn settled(items: usize) -> String {
    match items {
        1 => "this gap is settled".to_owned(),
        n => format!("{n} gaps are settled"),
    }
}

/// How likely a cause is, in tenths: `7 in 10`.
pub fn chances(suspect: &Suspect) -> String {
    match (10.0 * suspect.share).round() as i64 {
        0 => "under 1 in 20".to_owned(),
        10 => "almost sure".to_owned(),
        n => format!("{n} in 10"),
    }
}

/// A kept cause, as people read it.
pub fn cause_word(cause: CauseWord) -> &'static str {
    match cause {
        CauseWord::Overlooked => "a sealed one overlooked",
        CauseWord::Twice => "a sealed one counted twice",
        CauseWord::NotCome => "booked, did not come",
        CauseWord::NotBooked => "came, not booked",
        CauseWord::Gone => "whole ones went, not written down",
        CauseWord::Twin => "another one poured or rung instead",
        CauseWord::Heavy => "heavy pours",
        CauseWord::Light => "light pours",
        CauseWord::Steady => "a little every time",
        CauseWord::Portion => "till name: another portion",
        CauseWord::OtherDrink => "till name: another drink",
        CauseWord::Unmapped => "till name: had no meaning",
        CauseWord::RanDry => "ran dry and rung on",
        CauseWord::AsExpected => "a count left as expected",
        CauseWord::Unknown => "went, not written down",
        CauseWord::Chance => "nothing wrong",
    }
}

/// A line of the budget of an uncertainty, in words.
pub fn doubt_words(line: &DoubtLine, name: &str) -> String {
    let number = line.number.map_or(0.0, |n| n.round());
    let at = |end: End| match end {
        End::Opening => "at the opening",
        End::Closing => "at the closing",
    };
    match line.doubt {
        Doubt::Reading(end, Part::EyeStep) => format!("read by eye in steps, {}", at(end)),
        Doubt::Reading(end, Part::EyeScatter) => format!("how the counter's eye scatters, {}", at(end)),
        Doubt::Reading(end, Part::ScaleStep) => format!("the scale's step, {}", at(end)),
        Doubt::Reading(end, Part::EmptySpread) => format!("how one empty {name} differs from another, {}", at(end)),
        Doubt::Reading(end, Part::Ruler) => format!("the ruler, {}", at(end)),
        Doubt::Reading(end, Part::Unreadable) => format!("a reading that says nothing any more, {}", at(end)),
        Doubt::Reading(end, Part::WholePieces) => format!("cut pieces count whole or not at all, {}", at(end)),
        Doubt::Unchecked(end) => format!("how eyes scatter that were never checked, {}", at(end)),
        Doubt::Shared(Source::Eye(_)) => "what is not known of an eye's bias".to_owned(),
        Doubt::Shared(Source::EmptyWeight) => "the average empty weight".to_owned(),
        Doubt::Shared(Source::Density) => "the density of the content".to_owned(),
        Doubt::Shared(Source::Profile) => "the shape of the container".to_owned(),
        Doubt::Fill => format!("fill of {number:.0} opened in between"),
        Doubt::Pours => format!("{number:.0} pours, none exactly like another"),
        Doubt::Waste => "the waste that the specs allow for".to_owned(),
        Doubt::Losses => "losses written down by estimate".to_owned(),
    }
}
