//! How many containers a line is, once its item is known.
//!
//! A unit code says at most what sort of package it is. How many containers are in one is found by looking at
//! everything that is known: what packs the supplier offers, what was ordered, and which reading the price fits. Where
//! that leaves a doubt, a person is asked; nothing is guessed.

use super::invoice::InvoiceLine;
use super::known::Rate;
use super::text::sizes;
use super::units::{self, Unit};
use crate::domain::measure::{Basis, Currency, Decimal, Money, Price, decimal::round_half_even};
use crate::domain::venue::Item;

/// A pack that is known of an item, and what it costs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct KnownPack {
    /// Containers in it.
    pub(super) pack: i64,
    /// Price of it.
    pub(super) price: Money,
}

/// What a bar code told about a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Scanned {
    /// Nothing.
    Not,
    /// That it is one container.
    Container,
    /// That it is a grouping of several.
    Grouping,
}

/// Everything that is looked at.
pub(super) struct Evidence<'a> {
    pub(super) item: &'a Item,
    pub(super) line: &'a InvoiceLine,
    /// The line's net without the deposit in it.
    pub(super) goods: Decimal,
    /// Packs that the supplier offers or that were ordered.
    pub(super) packs: Vec<KnownPack>,
    /// Containers ordered, of each order line with this item.
    pub(super) ordered: Vec<i64>,
    pub(super) scanned: Scanned,
    pub(super) currency: Currency,
}

/// What came of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Sized {
    /// So many containers in one unit, and how that was found.
    Rate(Rate, String),
    /// A person has to say; perhaps this.
    Ask { why: String, perhaps: Option<Rate> },
}

/// One way to read a unit, and what speaks for it.
struct Reading {
    rate: Rate,
    /// By the sort of unit, the price, the order, the bar code: `None` where that says nothing of any reading.
    told: [bool; 4],
}

impl Evidence<'_> {
    pub(super) fn size(&self) -> Sized {
        let unit = units::find(&self.line.unit);
        let called = units::called(&self.line.unit);
        match unit {
            Unit::Measure(measure) if measure.basis == self.item.basis => self.measured(measure, called),
            Unit::Measure(_) => {
                self.ask(say!("a {called} says nothing about {item}", called, item = self.item.basis.word()), None)
            }
            Unit::PureAlcohol => {
                self.ask(word!("litres of pure alcohol are no containers: how many came?").to_owned(), None)
            }
            Unit::Service => self.ask(say!("the unit {called} is one of services: are these goods?", called), None),
            Unit::Unknown => {
                let perhaps = self.weighed(1, unit).ok();
                let why = match self.line.unit.trim() {
                    "" => word!("the line does not say its unit: how many containers is one?").to_owned(),
                    _ => say!("“{called}” is no known unit: how many containers is one?", called),
                };
                self.ask(why, perhaps)
            }
            Unit::Pieces(many) | Unit::Packs(many) => self.packed(many, unit, called),
            Unit::Container(_) | Unit::Pack(_) => self.packed(1, unit, called),
        }
    }

    /// What the text says is in one, when it says it in the item's own size: `24 x 0,25 l`.
    fn written(&self) -> Option<Rate> {
        let line = self.line;
        let mut said = sizes(&line.name);
        said.extend(line.description.iter().flat_map(|text| sizes(text)));
        let of_the_item = |s: &&super::text::Said| s.size.basis == self.item.basis && s.size.amount == self.item.size;
        let mut times = said.iter().filter(of_the_item).filter_map(|s| s.times);
        let first = times.next()?;
        times.all(|other| other == first).then_some(Rate::whole(first))
    }

    fn ask(&self, why: String, perhaps: Option<Rate>) -> Sized {
        Sized::Ask { why, perhaps: perhaps.or_else(|| self.written()) }
    }

    /// A volume or a mass is so many containers when it comes out whole, to the rounding of one base unit each.
    fn measured(&self, measure: units::Measure, called: &str) -> Sized {
        let size = self.item.size.0;
        let amount = measure.of(self.line.quantity);
        let (Some(amount), true) = (amount, size > 0) else {
            let quantity = units::counted(self.line.quantity, &self.line.unit);
            return self.ask(say!("{quantity} are too many to reckon with", quantity), None);
        };
        let containers = round_half_even(amount.0.into(), size.into());
        let off = (i128::from(amount.0) - containers * i128::from(size)).abs();
        let whole = i64::try_from(containers).ok().filter(|many| *many != 0 && off <= i128::from(many.unsigned_abs()));
        match whole.and_then(|many| Rate::of(many, self.line.quantity).map(|rate| (many, rate))) {
            Some((_, rate)) => Sized::Rate(rate, say!("{called} over what one holds", called)),
            None => {
                let show = crate::domain::measure::Quantity { basis: self.item.basis, amount: self.item.size };
                self.ask(say!("that is no whole number of {show}: how many containers came?", show), None)
            }
        }
    }

    fn packed(&self, many: i64, unit: Unit, called: &str) -> Sized {
        match self.weighed(many, unit) {
            Ok(rate) => Sized::Rate(rate, self.because(rate, many, called)),
            Err(why) => self.ask(say!("{why}: how many containers is one {called}?", why, called), None),
        }
    }

    fn because(&self, rate: Rate, many: i64, called: &str) -> String {
        let each = rate.times(Decimal::ONE).map_or_else(|| rate.to_string(), |each| each.to_string());
        if rate == Rate::whole(many) {
            say!("a {called} is {each}", called, each)
        } else {
            say!("a {called} is a pack of {each}", called, each)
        }
    }

    /// Weighs the ways to read a unit of `many` pieces against everything known; the containers in one unit, or why
    /// that stays open.
    fn weighed(&self, many: i64, unit: Unit) -> Result<Rate, String> {
        let mut packs: Vec<i64> = self.packs.iter().map(|known| known.pack).filter(|pack| *pack > 1).collect();
        packs.sort_unstable();
        packs.dedup();
        let mut rates = vec![Rate::whole(1)];
        rates.extend(packs.iter().map(|pack| Rate::whole(*pack)));
        // What is counted singly and stocked by the box: a piece may be one of the box.
        let single = if self.item.basis == Basis::Each { Rate::new(1_000, self.item.size.0) } else { None };
        rates.extend(single.filter(|rate| !rates.contains(rate)));
        let only_singles = packs.is_empty();
        let readings: Vec<Reading> = rates
            .into_iter()
            .map(|rate| Reading {
                rate,
                told: [
                    match unit {
                        Unit::Container(_) => rate == Rate::whole(1),
                        Unit::Pack(_) | Unit::Packs(_) => {
                            packs.iter().any(|pack| rate == Rate::whole(*pack))
                                || (only_singles && !self.packs.is_empty() && rate == Rate::whole(1))
                        }
                        _ => false,
                    },
                    self.price_fits(rate, many),
                    rate.times_many(many).is_some_and(|each| {
                        each.times(self.line.quantity.size()).is_some_and(|all| self.ordered.contains(&all))
                    }),
                    match self.scanned {
                        Scanned::Not => false,
                        Scanned::Container => rate == Rate::whole(1),
                        Scanned::Grouping => packs.iter().any(|pack| rate == Rate::whole(*pack)),
                    },
                ],
            })
            .collect();
        let speaks: Vec<usize> = (0..4).filter(|n| readings.iter().any(|reading| reading.told[*n])).collect();
        let left: Vec<&Reading> = readings.iter().filter(|reading| speaks.iter().all(|n| reading.told[*n])).collect();
        match left.as_slice() {
            [one] if !speaks.is_empty() || (readings.len() == 1 && !self.packs.is_empty()) => {
                if !self.price_is_within(one.rate, many, 2, 1) && self.price_of_one() != Some(0) {
                    return Err(word!("its price is far from what one is offered at").to_owned());
                }
                one.rate.times_many(many).ok_or_else(|| word!("too many to reckon with").to_owned())
            }
            [] => Err(word!("the unit, the price and the order do not agree on what is in one").to_owned()),
            _ if self.packs.is_empty() => Err(word!("no pack of it is known from an offer or an order").to_owned()),
            _ => Err(word!("it may be one container or a pack of them").to_owned()),
        }
    }

    /// Whether what is charged for one piece is near what one is offered or ordered at, read that way.
    ///
    /// Near is from three quarters to four thirds: prices move by less from one list to the next, and the smallest packs
    /// are of two (common practice, no source).
    fn price_fits(&self, rate: Rate, many: i64) -> bool {
        self.packs.iter().any(|known| known.pack > 0 && known.price > Money::ZERO)
            && self.price_is_within(rate, many, 4, 3)
    }

    /// Whether what is charged for one piece, read that way, is at most `times ÷ over` of what one is offered or ordered
    /// at, and at least the inverse; also when no price is known to compare with.
    fn price_is_within(&self, rate: Rate, many: i64, times: i128, over: i128) -> bool {
        let (Some(charged), Some(each)) = (self.price_of_one(), rate.times_many(many)) else { return false };
        let priced = self.packs.iter().filter(|known| known.pack > 0 && known.price > Money::ZERO);
        let within = |known: &KnownPack| {
            let pack = i128::from(Price::from_money(known.price, self.currency).0);
            // expected = pack price × containers in one ÷ containers in a pack
            let expected = pack.checked_mul(each.numerator.into())?;
            let charged = charged.checked_mul(known.pack.into())?.checked_mul(each.denominator.into())?;
            let not_over = charged.checked_mul(over)? <= expected.checked_mul(times)?;
            let not_under = charged.checked_mul(times)? >= expected.checked_mul(over)?;
            Some(not_over && not_under)
        };
        let mut any = false;
        for known in priced {
            any = true;
            if within(known) == Some(true) {
                return true;
            }
        }
        !any
    }

    /// What one unit of the line costs, in millionths, without deposits.
    fn price_of_one(&self) -> Option<i128> {
        let (net, net_scale) = self.goods.fraction();
        let (quantity, quantity_scale) = self.line.quantity.fraction();
        if quantity == 0 {
            return None;
        }
        let top = net.checked_mul(quantity_scale)?.checked_mul(1_000_000)?;
        let bottom = net_scale.checked_mul(quantity)?;
        let (top, bottom) = if bottom < 0 { (-top, -bottom) } else { (top, bottom) };
        Some(round_half_even(top, bottom))
    }
}
