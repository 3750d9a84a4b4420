//! Causes of gaps in words: the same on screens, in tables and on pages.

use crate::domain::gauge::{Part, Source};
use crate::domain::measure::{Amount, Basis, decimal};
use crate::domain::usage::{Cause, Doubt, DoubtLine, End, Suspect};
use crate::domain::venue::{CauseWord, DrinkId, Item, ItemId, Setup, TillId};
use crate::words;

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
            1 => word!("a sealed one").to_owned(),
            n => say!("{n} sealed ones", n),
        }
    }

    fn till(&self, till: TillId) -> &str {
        self.setup.till_name(till).map_or(word!("a name"), |name| &name.name)
    }

    fn name(&self, item: ItemId) -> &str {
        self.setup.item_name(item)
    }

    fn drink(&self, drink: DrinkId) -> &str {
        self.setup.drink(drink).map_or(word!("a drink"), |drink| &drink.name)
    }

    /// A cause in a few words, for a cell.
    pub fn headline(&self, cause: &Cause) -> String {
        let over = self.gap.0 > 0;
        match cause {
            Cause::Overlooked { end, containers, .. } => {
                say!(
                    "{containers} overlooked, {end} count",
                    containers = self.containers(*containers),
                    end = word(*end)
                )
            }
            Cause::Twice { end, containers, .. } => {
                say!(
                    "{containers} counted twice, {end} count",
                    containers = self.containers(*containers),
                    end = word(*end)
                )
            }
            Cause::NotCome { document, containers, booked, .. } if containers == booked => {
                say!("{containers} booked with {document} did not come", containers, document)
            }
            Cause::NotCome { document, containers, booked, .. } => {
                say!("{containers} of {booked} booked with {document} did not come", containers, booked, document)
            }
            Cause::NotBooked { order: Some(order), containers } => {
                say!("{containers} came with {order}, not booked by then", containers, order)
            }
            Cause::NotBooked { order: None, containers } => say!("{containers} came and are not booked", containers),
            Cause::Gone { containers } => {
                say!("{containers} went, not written down", containers = self.containers(*containers))
            }
            Cause::Twin { other, .. } if over => say!("poured instead of {other}", other = self.name(*other)),
            Cause::Twin { other, .. } => say!("{other} poured instead", other = self.name(*other)),
            Cause::Pours { percent, u, .. } => {
                let way = if *percent < 0.0 { word!("pours" => "light") } else { word!("pours" => "heavy") };
                say!(
                    "pours {percent} ± {u} % {way}",
                    percent = words::fixed(percent.abs(), 1),
                    u = words::fixed(*u, 1),
                    way
                )
            }
            Cause::Steady { rate, u, .. } => say!("{u} goes every time", u = self.about(*rate, *u)),
            Cause::Portion { till, fits, said, .. } => {
                let portion = |thousandths: i64| decimal::shown(thousandths, 3);
                say!(
                    "{till}: portion {fits}, not {said}",
                    till = self.till(*till),
                    fits = portion(*fits),
                    said = portion(*said)
                )
            }
            Cause::OtherDrink { till, drink, .. } => {
                say!("{till} is {drink}", till = self.till(*till), drink = self.drink(*drink))
            }
            Cause::Unmapped { till, .. } => say!("{till} has no meaning yet", till = self.till(*till)),
            Cause::RanDry { dry, other, .. } if *dry == self.item.id => match other {
                Some(other) => say!("ran dry, {other} given", other = self.name(*other)),
                None => word!("ran dry, rung on").to_owned(),
            },
            Cause::RanDry { dry, .. } => say!("given instead of {dry}", dry = self.name(*dry)),
            Cause::AsExpected => word!("opening left as expected").to_owned(),
            Cause::Unknown if over => word!("went, not written down").to_owned(),
            Cause::Unknown => word!("less went than was rung, not written down").to_owned(),
            Cause::Chance => word!("chance alone").to_owned(),
        }
    }

    /// What speaks for a cause, in figures.
    pub fn evidence(&self, cause: &Cause) -> String {
        let size = self.item.size.0.max(1);
        let gap = self.setup.venue.show().containers(Amount(self.gap.0.abs()), Amount(size));
        let slip = |containers: i64, end: End, reversed: Option<bool>| {
            let beside = match (end, reversed) {
                (End::Closing, None) => word!("the next count will tell, or another look before anything is poured"),
                (End::Closing, Some(true)) => word!("the count after it has it the other way round"),
                (End::Closing, Some(false)) => word!("but the count after it does not have it the other way round"),
                (End::Opening, None) => word!("no count before it tells"),
                (End::Opening, Some(true)) => word!("the period before has it the other way round"),
                (End::Opening, Some(false)) => word!("but the period before does not have it the other way round"),
            };
            say!(
                "the gap is {gap} containers, which is {containers} give or take the reading; {beside}",
                gap,
                containers,
                beside
            )
        };
        match cause {
            Cause::Overlooked { end, containers, reversed } | Cause::Twice { end, containers, reversed } => {
                slip(*containers, *end, *reversed)
            }
            Cause::NotCome { document, supplier, at, containers, booked } => say!(
                "the gap is {gap} containers; with {document} of {supplier}, {at}, {booked} were booked, {containers} of them would settle it",
                gap,
                document,
                supplier = self.setup.supplier(*supplier).map_or(word!("a supplier"), |supplier| &supplier.name),
                at = self.setup.venue.days.short(*at),
                booked,
                containers
            ),
            Cause::NotBooked { order: Some(order), containers } => say!(
                "{gap} containers too many were there; {containers} of {order} were not booked when it was counted",
                gap,
                containers,
                order
            ),
            Cause::NotBooked { order: None, containers } => {
                say!("{gap} containers too many were there; {containers} are a pack of it", gap, containers)
            }
            Cause::Gone { containers } => {
                say!("the gap is {gap} containers, which is {containers} give or take the reading", gap, containers)
            }
            Cause::Twin { other, gap, periods } => say!(
                "its gap is {gap}, the other way round; {periods}",
                gap = self
                    .setup
                    .item(*other)
                    .map_or_else(String::new, |other| { self.setup.venue.show().amount(other.basis, *gap) }),
                periods = in_a_row(*periods)
            ),
            Cause::Pours { percent, u, periods } => say!(
                "the gap goes with what is sold, {percent} % of it; with 95 % between {u} and {u_2}; {periods}",
                percent = words::fixed(*percent, 1),
                u = words::fixed(percent - 1.96 * u, 1),
                u_2 = words::fixed(percent + 1.96 * u, 1),
                periods = in_a_row(*periods)
            ),
            Cause::Steady { rate, u, periods } => {
                say!(
                    "{u} each time, whatever is sold; {periods}",
                    u = self.about(*rate, *u),
                    periods = in_a_row(*periods)
                )
            }
            Cause::Portion { rung, settles, fits, .. } => say!(
                "{rung} were rung; with portion {fits} {settles}",
                rung = decimal::shown(*rung, 3),
                fits = decimal::shown(*fits, 3),
                settles = settled(*settles)
            ),
            Cause::OtherDrink { till, rung, settles, .. } => say!(
                "{rung} were rung as {till}; as this drink {settles}",
                rung = decimal::shown(*rung, 3),
                till = self.till(*till),
                settles = settled(*settles)
            ),
            Cause::Unmapped { till, rung, each, u, drink } => {
                let rung = decimal::shown(*rung, 3);
                match drink {
                    Some(drink) => say!(
                        "{rung} were rung as {till}; as {drink} each takes {each}",
                        rung,
                        till = self.till(*till),
                        drink = self.drink(*drink),
                        each = self.amount(Amount::rounded(*each))
                    ),
                    None => say!(
                        "{rung} were rung as {till}; {u} of it in each would settle it",
                        rung,
                        till = self.till(*till),
                        u = self.about(*each, *u)
                    ),
                }
            }
            Cause::RanDry { dry, at, rung, .. } => {
                let basis = self.setup.item(*dry).map_or(Basis::Volume, |item| item.basis);
                say!(
                    "by the till {dry} was empty from {at} on; {rung} of it was rung after that",
                    dry = self.name(*dry),
                    at = self.setup.venue.days.short(*at),
                    rung = self.setup.venue.show().amount(basis, *rung)
                )
            }
            Cause::AsExpected => {
                word!("nobody looked when the period began: what is missing may have gone in the one before").to_owned()
            }
            Cause::Unknown => word!("no count, delivery, till name or other item fits it").to_owned(),
            Cause::Chance => word!("as wide a gap may come of the counts' exactness alone").to_owned(),
        }
    }
}

fn word(end: End) -> &'static str {
    match end {
        End::Opening => word!("opening"),
        End::Closing => word!("closing"),
    }
}

fn in_a_row(periods: usize) -> String {
    match periods {
        1 => word!("in this period").to_owned(),
        n => say!("{n} periods in a row", n),
    }
}

fn settled(items: usize) -> String {
    match items {
        1 => word!("this gap is settled").to_owned(),
        n => say!("{n} gaps are settled", n),
    }
}

/// How likely a cause is, in tenths: `7 in 10`.
pub fn chances(suspect: &Suspect) -> String {
    match (10.0 * suspect.share).round() as i64 {
        0 => word!("under 1 in 20").to_owned(),
        10 => word!("almost sure").to_owned(),
        n => say!("{n} in 10", n),
    }
}

/// A kept cause, as people read it.
pub fn cause_word(cause: CauseWord) -> &'static str {
    match cause {
        CauseWord::Overlooked => word!("a sealed one overlooked"),
        CauseWord::Twice => word!("a sealed one counted twice"),
        CauseWord::NotCome => word!("booked, did not come"),
        CauseWord::NotBooked => word!("came, not booked"),
        CauseWord::Gone => word!("whole ones went, not written down"),
        CauseWord::Twin => word!("another one poured or rung instead"),
        CauseWord::Heavy => word!("heavy pours"),
        CauseWord::Light => word!("light pours"),
        CauseWord::Steady => word!("a little every time"),
        CauseWord::Portion => word!("till name: another portion"),
        CauseWord::OtherDrink => word!("till name: another drink"),
        CauseWord::Unmapped => word!("till name: had no meaning"),
        CauseWord::RanDry => word!("ran dry and rung on"),
        CauseWord::AsExpected => word!("a count left as expected"),
        CauseWord::Unknown => word!("went, not written down"),
        CauseWord::Chance => word!("nothing wrong"),
    }
}

/// A line of the budget of an uncertainty, in words.
pub fn doubt_words(line: &DoubtLine, name: &str) -> String {
    let number = line.number.map_or(0.0, |n| n.round());
    let at = |end: End| match end {
        End::Opening => word!("at the opening"),
        End::Closing => word!("at the closing"),
    };
    match line.doubt {
        Doubt::Reading(end, Part::EyeStep) => say!("read by eye in steps, {end}", end = at(end)),
        Doubt::Reading(end, Part::EyeScatter) => say!("how the counter's eye scatters, {end}", end = at(end)),
        Doubt::Reading(end, Part::ScaleStep) => say!("the scale's step, {end}", end = at(end)),
        Doubt::Reading(end, Part::EmptySpread) => {
            say!("how one empty {name} differs from another, {end}", name, end = at(end))
        }
        Doubt::Reading(end, Part::Ruler) => say!("the ruler, {end}", end = at(end)),
        Doubt::Reading(end, Part::Unreadable) => say!("a reading that says nothing any more, {end}", end = at(end)),
        Doubt::Reading(end, Part::WholePieces) => say!("cut pieces count whole or not at all, {end}", end = at(end)),
        Doubt::Unchecked(end) => say!("how eyes scatter that were never checked, {end}", end = at(end)),
        Doubt::Shared(Source::Eye(_)) => word!("what is not known of an eye's bias").to_owned(),
        Doubt::Shared(Source::EmptyWeight) => word!("the average empty weight").to_owned(),
        Doubt::Shared(Source::Density) => word!("the density of the content").to_owned(),
        Doubt::Shared(Source::Profile) => word!("the shape of the container").to_owned(),
        Doubt::Fill => say!("fill of {number} opened in between", number = words::fixed(number, 0)),
        Doubt::Pours => say!("{number} pours, none exactly like another", number = words::fixed(number, 0)),
        Doubt::Waste => word!("the waste that the specs allow for").to_owned(),
        Doubt::Losses => word!("losses written down by estimate").to_owned(),
    }
}
