//! Why an item is ordered as it is, and what it would cost from others.

use super::orders::{chance_words, unproved_words, waits_words};
use crate::domain::measure::{Money, Show, number_of};
use crate::domain::order::{DraftLine, Elsewhere, Waiting, Waits};
use crate::domain::venue::{ItemId, Setup, SupplierId};

/// Everything that speaks for ordering an item as it is.
#[derive(Clone, Debug, PartialEq)]
pub struct WhyView {
    /// What.
    pub item: ItemId,
    /// What is there and expected to be asked, and its pars, in sentences.
    pub because: Vec<String>,
    /// Its lines, in all drafts, and whether somebody wrote them.
    pub lines: Vec<(SupplierId, DraftLine, bool)>,
    /// Why nothing of it is ordered, where that is so although it is short.
    pub waiting: Option<Waiting>,
    /// What it would cost from others; nothing of what somebody wrote.
    pub elsewhere: Vec<Elsewhere>,
    /// By how much at most something could be cheaper.
    pub at_most_cheaper: Money,
}

impl WhyView {
    /// What is ordered of it, in sentences: packs and their price, how likely it runs dry without and with them; or why
    /// nothing is.
    pub fn ordered_words(&self, setup: &Setup) -> Vec<String> {
        let mut out: Vec<String> = self.lines.iter().map(|(from, line, _)| line_words(setup, *from, line)).collect();
        if self.lines.iter().any(|(.., written)| *written) {
            out.push(
                word!("The draft was changed by hand: it stays as written, and the rest is planned around it")
                    .to_owned(),
            );
        }
        if let Some(waiting) = &self.waiting {
            out.push(waiting_words(waiting));
        } else if self.lines.is_empty() {
            out.push(word!("Nothing of it is in the orders").to_owned());
        }
        out
    }

    /// What it would cost from others, in sentences, the cheapest first.
    pub fn elsewhere_words(&self, setup: &Setup) -> Vec<String> {
        let show = setup.venue.show();
        let ordered = !self.lines.is_empty();
        let mut out: Vec<String> =
            self.elsewhere.iter().map(|other| elsewhere_words(setup, show, other, ordered)).collect();
        let ours = |supplier| self.lines.iter().any(|(from, ..)| *from == supplier);
        if ordered
            && !setup
                .offers
                .iter()
                .any(|offer| offer.item == self.item && offer.until.is_none() && !ours(offer.supplier))
        {
            out.push(word!("Nobody else offers it").to_owned());
        }
        out.extend(unproved_words(show, self.at_most_cheaper));
        out
    }
}

fn supplier(setup: &Setup, id: SupplierId) -> &str {
    setup.supplier(id).map_or("?", |s| &s.name)
}

/// So many packs of so many, at so much.
fn packs_words(show: Show, (packs, pack, price): (i64, i64, Money)) -> String {
    match pack {
        1 => say!(
            "{packs} at {price}",
            packs = number_of(packs, word!("container"), word!("containers")),
            price = show.coin(price)
        ),
        pack => say!(
            "{packs} of {pack} at {price}",
            packs = number_of(packs, word!("pack"), word!("packs")),
            pack,
            price = show.coin(price)
        ),
    }
}

fn line_words(setup: &Setup, from: SupplierId, line: &DraftLine) -> String {
    let packs = packs_words(setup.venue.show(), (line.packs, line.pack, line.price));
    let mut out = format!("{}: {packs}", supplier(setup, from));
    if line.packs != line.suggested {
        out.push_str(&say!(" ({suggested} suggested)", suggested = line.suggested));
    }
    let Some(why) = line.why else { return out };
    match (why.risk_without, why.risk_with) {
        (Some(without), Some(with)) => out.push_str(&say!("; without it, it runs dry with a chance of {without} before the order after the next has come, with it {with}", without = chance_words(without), with = chance_words(with))),
        _ => out.push_str(word!("; nobody knows how likely it is to run dry")),
    }
    if let Some(before) = why.risk_before.filter(|risk| *risk >= 0.005) {
        out.push_str(&say!("; before this order comes, with {before}", before = chance_words(before)));
    }
    if line.shelf_limits {
        out.push_str(word!("; the shelf holds no more"));
    }
    if why.fills_up {
        out.push_str(word!("; it is not short, and fills the order up"));
    }
    out
}

/// Why something that is short is not ordered, in a sentence.
pub fn waiting_words(waiting: &Waiting) -> String {
    let mut out = waits_words(waiting.why).to_owned();
    match waiting.risk {
        Some(risk) => out.push_str(&say!(
            ": it runs dry with a chance of {risk} before the order after the next has come",
            risk = chance_words(risk)
        )),
        None => out.push_str(word!(": nobody knows how likely it is to run dry")),
    }
    if waiting.why == Waits::Cheaper {
        out.push_str(word!(", and to order it now costs more, fee and all, than that is likely to cost"));
    }
    out
}

fn elsewhere_words(setup: &Setup, show: Show, other: &Elsewhere, ordered: bool) -> String {
    let packs: Vec<String> = other.packs.iter().map(|packs| packs_words(show, *packs)).collect();
    let (from, packs) = (supplier(setup, other.supplier), packs.join(word!(" and ")));
    if !ordered {
        return say!(
            "From {from}: {packs}; {more_paid} more to pay in all",
            from,
            packs,
            more_paid = show.coin(other.more_paid)
        );
    }
    let (most, least) = if other.proved { ("", "") } else { (word!("at most "), word!("at least ")) };
    let all = match other.dearer.0 {
        0 => word!("as dear in all").to_owned(),
        dearer if dearer > 0 => say!("{most}{dearer} dearer in all", most, dearer = show.coin(other.dearer)),
        cheaper => say!(
            "{least}{saturating_neg} cheaper in all",
            least,
            saturating_neg = show.coin(Money(cheaper.saturating_neg()))
        ),
    };
    say!("From {from} instead: {packs}; {all}", from, packs, all)
}

#[cfg(test)]
mod tests;
