//! Which items a line that nobody has explained yet may be, the likeliest first.

use super::invoice::{InvoiceLine, Party};
use super::text::{sizes, words};
use crate::domain::venue::{Item, ItemId, Setup, SupplierId, name_key};

/// An item that a line may be.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
pub struct Likely {
    /// Which.
    pub item: ItemId,
    /// How much alike, in thousandths.
    pub score: u16,
}

impl Likely {
    /// The first of several, the likeliest first, where it is likely enough to be taken with one key: much like what is
    /// written, and more so than the next.
    pub fn plain(likely: &[Likely]) -> Option<ItemId> {
        let first = likely.first()?;
        let next = likely.get(1).map_or(0, |next| next.score);
        (first.score >= PLAIN && first.score >= next + AHEAD).then_some(first.item)
    }
}

/// From here on an item is taken with one key, when it is so far ahead of the next (tried on names of bottles, no source).
const PLAIN: u16 = 600;
const AHEAD: u16 = 40;
/// So many are shown to choose from.
const SHOWN: usize = 5;
/// Below this two names have nothing in common (tried on names of bottles, no source).
const LEAST: f64 = 0.35;
/// From here on two words are the same word misspelt or bent (tried, no source).
const SAME_WORD: f64 = 0.86;

/// How much of `of` is found again in `among`, each word by its length.
fn found_again(of: &[String], among: &[String]) -> f64 {
    let weight = |word: &String| word.chars().count() as f64;
    let whole: f64 = of.iter().map(weight).sum();
    if whole == 0.0 {
        return 0.0;
    }
    let best = |word: &String| among.iter().map(|other| strsim::jaro_winkler(word, other)).fold(0.0, f64::max);
    of.iter().map(|word| weight(word) * Some(best(word)).filter(|best| *best >= SAME_WORD).unwrap_or(0.0)).sum::<f64>()
        / whole
}

/// Ranks the items of the book. `told` says what else speaks for an item, in thousandths: an order, an offer.
pub(super) fn likely(line: &InvoiceLine, setup: &Setup, told: impl Fn(ItemId) -> u16) -> Vec<Likely> {
    let written = words(&line.name);
    let mut said = sizes(&line.name);
    said.extend(line.description.iter().flat_map(|text| sizes(text)));
    let score = |item: &Item| {
        let name = words(&item.name);
        let mut score = 0.6 * found_again(&name, &written) + 0.4 * found_again(&written, &name);
        let same_size = |s: &super::text::Said| s.size.basis == item.basis && s.size.amount == item.size;
        if said.iter().any(same_size) {
            score += 0.1;
        } else if said.iter().any(|s| s.size.basis == item.basis) {
            score *= 0.8;
        }
        score + f64::from(told(item.id)) / 1_000.0
    };
    let mut all: Vec<Likely> = setup
        .items
        .iter()
        .map(|item| (item.id, score(item)))
        .filter(|(_, score)| *score >= LEAST)
        .map(|(item, score)| Likely { item, score: (score.min(1.0) * 1_000.0).round() as u16 })
        .collect();
    all.sort_by_key(|likely| std::cmp::Reverse(likely.score));
    all.truncate(SHOWN);
    all
}

/// The suppliers of the book that a seller may be, the likeliest first, with how much alike the names are, in thousandths:
/// 1 000 is the very name. Until somebody said which it is, this is no more than a suggestion.
pub fn likely_suppliers(seller: &Party, setup: &Setup) -> Vec<(SupplierId, u16)> {
    let names: Vec<&str> = std::iter::once(seller.name.as_str()).chain(seller.trading_name.as_deref()).collect();
    let alike = |name: &str, own: &str| {
        if name_key(name) == name_key(own) {
            return 1.0;
        }
        // What the book calls somebody is mostly shorter than what the register does, so it is that which must be found.
        0.9 * found_again(&words(own), &words(name)) + 0.09 * found_again(&words(name), &words(own))
    };
    let best = |own: &str| names.iter().map(|name| alike(name, own)).fold(0.0, f64::max);
    let mut all: Vec<(SupplierId, u16)> = setup
        .suppliers
        .iter()
        .map(|supplier| (supplier.id, best(&supplier.name)))
        .filter(|(_, score)| *score >= LEAST)
        .map(|(id, score)| (id, (score * 1_000.0).round() as u16))
        .collect();
    all.sort_by_key(|(_, score)| std::cmp::Reverse(*score));
    all
}
