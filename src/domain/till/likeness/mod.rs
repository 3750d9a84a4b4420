//! Which drink a till's name most likely means, and how much of it: by its words as tills cut them short, by what names
//! like it already mean, by measures and words of portions, and by what was taken for one.

mod alike;
mod words;

pub use words::{DISCOUNTS, MONEY};

use super::folded;
use crate::domain::measure::{Basis, Money, decimal};
use crate::domain::venue::{DrinkId, Setup, TillMeaning, name_key};
use alike::alike;
use chrono::NaiveDate;
use std::collections::HashMap;
use words::{BOTTLE, FILLERS, PORTIONS, Parts, SHARED, SMALL};

/// So many are worth showing.
const MOST: usize = 8;
/// Below this nothing is alike.
const LEAST: f64 = 0.25;
/// One word at least must be so much like its own: what only begins with the same letter, or has its letters in the same
/// order, is like half the menu.
const SOUND: f64 = 0.62;
/// The best is clear from here on …
const CLEAR: f64 = 0.72;
/// … or from here on, whatever it is called …
const SURE: f64 = 0.9;
/// … and so far ahead of the next.
const AHEAD: f64 = 0.08;
/// How far a price may be off before it speaks against a drink: the logarithm of the ratio; an eighth for rounding, happy
/// hours and old prices (chosen here, no source).
const PRICE_SPREAD: f64 = 0.13;

/// What a till's name may mean.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Meaning {
    /// A drink, and how much of it in thousandths: 1 000 is one.
    Drink {
        /// Which.
        drink: DrinkId,
        /// How much of it.
        portion: i64,
    },
    /// A deposit, a tip, a bag: nothing that stands on a shelf.
    NotStock,
}

impl From<Meaning> for TillMeaning {
    fn from(means: Meaning) -> TillMeaning {
        match means {
            Meaning::Drink { drink, portion } => TillMeaning::Drink { drink, portion },
            Meaning::NotStock => TillMeaning::Ignored,
        }
    }
}

/// One meaning and how likely it is.
#[derive(Clone, Debug, PartialEq)]
pub struct Candidate {
    /// What.
    pub means: Meaning,
    /// 0 to 1; not a probability.
    pub score: f64,
    /// Why, in a few words.
    pub why: String,
}

/// The likeliest meanings of a name, the best first.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Likely {
    /// At most eight.
    pub candidates: Vec<Candidate>,
    /// Whether the best is so good, and so far ahead, that one key may accept it.
    pub clear: bool,
}

/// What is compared with a till's name: a drink's own name, or one of the till's that is already explained.
#[derive(Debug)]
struct Text {
    tokens: Vec<usize>,
    weights: Vec<f64>,
    /// All words run together.
    run: String,
    initials: String,
    fold: String,
    volume: Option<i64>,
    /// The portion that its own words say, in thousandths of the usual.
    says: i64,
    means: TextMeans,
}

#[derive(Clone, Copy, Debug)]
enum TextMeans {
    Menu(usize),
    Till(Option<(usize, i64)>),
}

/// What must be known of a drink.
#[derive(Debug)]
struct Known {
    id: DrinkId,
    name: String,
    /// The form in which two names are the same.
    key: String,
    /// What the house keeps of its price, in minor units.
    net: Option<i64>,
    /// What one takes of the one thing it is, and what a container of that holds, in microlitres.
    pour: Option<(i64, i64)>,
}

/// The menu of a day and the till's names that are explained, made ready to be compared with.
#[derive(Debug)]
pub struct Likeness {
    drinks: Vec<Known>,
    texts: Vec<Text>,
    vocabulary: Vec<String>,
    codes: HashMap<String, Meaning>,
    usual_weight: f64,
}

/// A word of a till's name.
struct Word {
    /// How alike it is to each word of the vocabulary.
    alike: Vec<f64>,
    speaks_of_portion: bool,
    /// How much it says where it is like nothing.
    weight: f64,
}

/// A till's name while it is compared.
struct Asked {
    parts: Parts,
    run: String,
    fold: String,
    key: String,
    words: Vec<Word>,
    net: Option<Money>,
}

impl Likeness {
    /// For the drinks and till names of a set-up, at the prices and specs of a business day.
    pub fn new(setup: &Setup, day: NaiveDate) -> Likeness {
        let mut known: Vec<Known> = setup.drinks.iter().map(|drink| known(setup, drink, day)).collect();
        known.sort_by(|a, b| a.key.cmp(&b.key));
        let at: HashMap<DrinkId, usize> = known.iter().enumerate().map(|(n, drink)| (drink.id, n)).collect();
        let mut names: Vec<(String, TextMeans)> =
            known.iter().enumerate().map(|(n, drink)| (drink.name.clone(), TextMeans::Menu(n))).collect();
        let mut codes = HashMap::new();
        let mut till: Vec<_> = setup.till.iter().collect();
        till.sort_by_cached_key(|t| name_key(&t.name));
        for name in till {
            let (text, meaning) = match name.means {
                TillMeaning::Unknown => continue,
                TillMeaning::Ignored => (None, Meaning::NotStock),
                TillMeaning::Drink { drink, portion } => {
                    let Some(n) = at.get(&drink) else { continue };
                    (Some((*n, portion)), Meaning::Drink { drink, portion })
                }
            };
            if let Some(code) = &name.code {
                codes.entry(code.clone()).or_insert(meaning);
            }
            names.push((name.name.clone(), TextMeans::Till(text)));
        }
        let parts: Vec<Parts> = names.iter().map(|(name, means)| text_parts(name, *means)).collect();
        let mut vocabulary: HashMap<&str, usize> = HashMap::new();
        let mut list: Vec<String> = Vec::new();
        let mut found = Vec::new();
        for (part, (_, means)) in parts.iter().zip(&names) {
            let mut seen: Vec<usize> = Vec::new();
            for token in &part.tokens {
                let next = list.len();
                let id = *vocabulary.entry(token).or_insert(next);
                if id == next {
                    list.push(token.clone());
                    found.push(0_usize);
                }
                if matches!(means, TextMeans::Menu(_)) && !seen.contains(&id) {
                    found[id] += 1;
                }
                seen.push(id);
            }
        }
        // A word that few drinks share tells more (inverse document frequency).
        let all = known.len() as f64 + 1.0;
        let weight = |id: usize| {
            let small = if SMALL.contains(&list[id].as_str()) { 0.15 } else { 1.0 };
            small * (1.0 + all / (found[id] as f64 + 0.5)).ln()
        };
        let texts = names.iter().zip(&parts).map(|((name, means), part)| {
            let tokens: Vec<usize> = part.tokens.iter().filter_map(|t| vocabulary.get(t.as_str()).copied()).collect();
            Text {
                weights: tokens.iter().map(|id| weight(*id)).collect(),
                run: run(&part.tokens),
                initials: initials(&part.tokens),
                fold: folded(name),
                volume: part.volume,
                says: part.tokens.iter().find_map(|t| portion_word(t)).map_or(1_000, |says| says[0])
                    * part.times.unwrap_or(1_000)
                    / 1_000,
                tokens,
                means: *means,
            }
        });
        let texts: Vec<Text> = texts.collect();
        Likeness { drinks: known, usual_weight: (1.0 + all / 1.5).ln() * 0.7, texts, vocabulary: list, codes }
    }

    /// The likeliest meanings of a till's name. `code` is the till's number of the article, `net` what was taken for one on
    /// average, net of tax.
    pub fn candidates(&self, name: &str, code: Option<&str>, net: Option<Money>) -> Likely {
        let parts = words::parts(name);
        let last = parts.tokens.len().saturating_sub(1);
        let words = parts.tokens.iter().enumerate().map(|(n, token)| self.word(token, n == last)).collect();
        let asked = Asked { run: run(&parts.tokens), fold: folded(name), key: name_key(name), words, parts, net };
        let mut best: HashMap<Meaning, Candidate> = HashMap::new();
        let mut offer = |candidate: Candidate| {
            // Of one drink the likeliest portion only, so that the list shows drinks.
            let place = match candidate.means {
                Meaning::Drink { drink, .. } => Meaning::Drink { drink, portion: 0 },
                Meaning::NotStock => Meaning::NotStock,
            };
            match best.get_mut(&place) {
                Some(have) if have.score >= candidate.score => {}
                Some(have) => *have = candidate,
                None => drop(best.insert(place, candidate)),
            }
        };
        for text in &self.texts {
            if let Some(candidate) = self.compare(&asked, text) {
                offer(candidate);
            }
        }
        if let Some(means) = code.and_then(|code| self.codes.get(code)) {
            offer(Candidate { means: *means, score: 0.9, why: word!("the same article number").to_owned() });
        }
        let tokens: Vec<&str> = asked.parts.tokens.iter().map(String::as_str).collect();
        if let Some(word) = words::not_stock(&tokens) {
            let rival = best.values().filter(|c| c.means != Meaning::NotStock).map(|c| c.score).fold(0.0, f64::max);
            // A drink may be called so as well: the better it fits, the less the word says.
            let score = if rival > 0.9 { 0.3 } else { 0.85 - 0.25 * rival };
            let candidate = Candidate { means: Meaning::NotStock, score, why: say!("“{word}” is no stock", word) };
            if best.get(&Meaning::NotStock).is_none_or(|have| have.score < candidate.score) {
                best.insert(Meaning::NotStock, candidate);
            }
        }
        let place = |means: &Meaning| match means {
            Meaning::Drink { drink, .. } => self.drinks.iter().position(|d| d.id == *drink).unwrap_or(usize::MAX),
            Meaning::NotStock => usize::MAX,
        };
        let mut candidates: Vec<Candidate> = best.into_values().filter(|c| c.score >= LEAST).collect();
        candidates.sort_by(|a, b| b.score.total_cmp(&a.score).then_with(|| place(&a.means).cmp(&place(&b.means))));
        candidates.truncate(MOST);
        let next = candidates.get(1).map_or(0.0, |c| c.score);
        let vague = words::is_vague(&asked.parts.tokens);
        let sure = |best: &Candidate| best.score >= SURE || best.means == Meaning::NotStock || !vague;
        let clear =
            candidates.first().is_some_and(|best| best.score >= CLEAR && best.score - next >= AHEAD && sure(best));
        Likely { candidates, clear }
    }

    fn word(&self, token: &str, last: bool) -> Word {
        let little = SMALL.contains(&token) || FILLERS.contains(&token);
        Word {
            alike: self.vocabulary.iter().map(|word| alike(token, word, last)).collect(),
            speaks_of_portion: speaks_of_portion(token),
            weight: if little { 0.15 } else { 1.0 } * self.usual_weight,
        }
    }

    fn compare(&self, asked: &Asked, text: &Text) -> Option<Candidate> {
        if let TextMeans::Menu(n) = text.means {
            let drink = &self.drinks[n];
            let same = asked.key == drink.key;
            if same || (asked.fold == text.fold && !text.fold.is_empty()) {
                let means = Meaning::Drink { drink: drink.id, portion: 1_000 };
                let score = if same { 1.0 } else { 0.98 + 0.01 * price(drink, 1_000, asked.net).unwrap_or(1.0) };
                return Some(Candidate { means, score, why: word!("the same name").to_owned() });
            }
        }
        let (alike, portion_words) = self.words(asked, text);
        if alike < 0.2 {
            return None;
        }
        let score = |alike: f64, fit: Option<f64>| fit.map_or(alike * 0.93, |fit| alike * (0.8 + 0.2 * fit)).min(0.97);
        match text.means {
            TextMeans::Till(None) => Some(Candidate {
                means: Meaning::NotStock,
                score: score(alike, None),
                why: word!("like a name that is no stock").to_owned(),
            }),
            TextMeans::Menu(n) => {
                let drink = &self.drinks[n];
                let (portion, fit, said) = self.portion(asked, drink, text, &portion_words, 1_000);
                let mut why = vec![word!("the name").to_owned()];
                why.extend(said);
                why.extend(fit.filter(|fit| *fit > 0.6).map(|_| word!("the price").to_owned()));
                let means = Meaning::Drink { drink: drink.id, portion };
                Some(Candidate { means, score: score(alike, fit), why: why.join(", ") })
            }
            TextMeans::Till(Some((n, usual))) => {
                let drink = &self.drinks[n];
                let (portion, fit, said) = self.portion(asked, drink, text, &portion_words, usual);
                let mut why = vec![word!("like another name on the till").to_owned()];
                why.extend(said);
                let means = Meaning::Drink { drink: drink.id, portion };
                Some(Candidate { means, score: score(alike, fit) * 0.98, why: why.join(", ") })
            }
        }
    }

    /// How alike the words are, and those of the till's words that speak of a portion instead.
    fn words<'a>(&self, asked: &'a Asked, text: &Text) -> (f64, Vec<&'a str>) {
        let mut taken = vec![false; text.tokens.len()];
        let (mut said, mut had, mut got) = (0.0, 0.0, 0.0);
        let mut portions = Vec::new();
        let mut sound = false;
        let all: f64 = text.weights.iter().sum();
        for (n, token) in asked.parts.tokens.iter().enumerate() {
            let places = (0..text.tokens.len()).filter(|m| !taken[*m]);
            let word = &asked.words[n];
            let value = |m: usize| word.alike[text.tokens[m]];
            let best = places.max_by(|a, b| {
                (value(*a) * text.weights[*a]).total_cmp(&(value(*b) * text.weights[*b])).then(b.cmp(a))
            });
            let found = best.map(|m| (m, value(m)));
            if word.speaks_of_portion && found.is_none_or(|(_, alike)| alike < 1.0) {
                portions.push(token.as_str());
                continue;
            }
            match found.filter(|(_, alike)| *alike > 0.3) {
                Some((m, alike)) => {
                    taken[m] = true;
                    let whole = alike >= 1.0 || (alike >= SOUND && token.chars().count() > 2);
                    sound |= whole && !word.speaks_of_portion && word.weight > 0.5 * self.usual_weight;
                    had += text.weights[m];
                    said += text.weights[m] * alike;
                    got += text.weights[m] * alike;
                }
                None => had += word.weight,
            }
        }
        let precision = if had > 0.0 { said / had } else { 0.0 };
        let recall = if all > 0.0 { got / all } else { 0.0 };
        let mut alike = if sound { precision * (0.72 + 0.28 * recall) } else { 0.0 };
        alike = alike.max(self.run_together(asked, text));
        (alike.clamp(0.0, 1.0), portions)
    }

    /// Words run together, or only their first letters: `GINTONIC`, `DM`.
    fn run_together(&self, asked: &Asked, text: &Text) -> f64 {
        let (a, b) = (&asked.run, &text.run);
        if text.initials.chars().count() >= 2 {
            // `DBL` says how much, whatever stands beside it.
            let tokens = || asked.parts.tokens.iter().filter(|token| !speaks_of_portion(token));
            let small = |token: &String| SMALL.contains(&token.as_str()) || token.chars().count() == 1;
            let bare: String = tokens().filter(|t| *t != "and").map(String::as_str).collect();
            if bare == text.initials && (tokens().all(small) || tokens().count() == 1) {
                return 0.75;
            }
        }
        let letters = a.chars().count();
        if letters < 5 || a.as_bytes().first() != b.as_bytes().first() {
            return 0.0;
        }
        if b.starts_with(a.as_str()) {
            return 0.7 + 0.28 * letters as f64 / b.chars().count() as f64;
        }
        let near = if a.as_bytes().get(1) == b.as_bytes().get(1) && letters.abs_diff(b.chars().count()) <= 3 {
            strsim::normalized_damerau_levenshtein(a, b)
        } else {
            0.0
        };
        if near >= 0.8 { 0.93 * near } else { 0.0 }
    }

    /// How much of a drink, how well that fits the price, and what says so. `usual` is what the compared name means.
    fn portion(
        &self,
        asked: &Asked,
        drink: &Known,
        text: &Text,
        said: &[&str],
        usual: i64,
    ) -> (i64, Option<f64>, Option<String>) {
        let fit = |portion: i64| price(drink, portion, asked.net);
        let asked_times = asked.parts.times.unwrap_or(1_000);
        // A measure, against what one takes; the same measure in both names is one.
        if let Some(volume) = asked.parts.volume {
            if text.volume == Some(volume) {
                let portion = usual * asked_times / 1_000;
                return (portion, fit(portion), None);
            }
            let pour = text.volume.map(|v| (v, usual)).or(drink.pour.map(|(pour, _)| (pour, 1_000)));
            if let Some((pour, of)) = pour.filter(|(pour, _)| *pour > 0) {
                let portion = decimal::round_half_even(i128::from(volume) * i128::from(of), i128::from(pour)) as i64;
                if (50..=30_000).contains(&portion) {
                    let portion = portion * asked_times / 1_000;
                    return (portion, fit(portion), Some(format!("{} ml", decimal::plain(volume, 3))));
                }
            }
        }
        let whole = drink
            .pour
            .filter(|(pour, _)| *pour > 0)
            .map(|(pour, holds)| decimal::round_half_even(i128::from(holds) * 1_000, i128::from(pour)) as i64);
        let bottle = said.iter().any(|word| BOTTLE.contains(word));
        if let Some(portion) = whole.filter(|portion| bottle && *portion > 1_500) {
            return (portion, fit(portion), Some(word!("a bottle").to_owned()));
        }
        if said.iter().any(|word| SHARED.contains(word)) {
            let most = (2..=8)
                .map(|n| n * 1_000)
                .max_by(|a: &i64, b: &i64| fit(*a).unwrap_or(0.0).total_cmp(&fit(*b).unwrap_or(0.0)).then(b.cmp(a)));
            // Four to a jug where no price tells (common practice, no source).
            let portion = most.filter(|n| fit(*n).is_some_and(|fit| fit > 0.0)).unwrap_or(4_000);
            return (portion, fit(portion), Some(word!("several in one").to_owned()));
        }
        let word = said.iter().find_map(|word| portion_word(word).map(|says| (*word, says)));
        if let Some((word, says)) = word {
            let portions = says.iter().map(|says| says * usual / text.says.max(1) * asked_times / 1_000);
            // The first is what the word usually says; another must fit the price much better.
            let mut best: Option<(i64, f64)> = None;
            for portion in portions {
                let fits = fit(portion).unwrap_or(1.0);
                if best.is_none_or(|(_, have)| fits > have + 0.2) {
                    best = Some((portion, fits));
                }
            }
            if let Some((portion, _)) = best.filter(|(portion, _)| *portion > 0) {
                return (portion, fit(portion), Some(format!("“{word}”")));
            }
        }
        // What the compared name says of a portion and this one does not say, is not meant.
        let unsaid = if matches!(text.means, TextMeans::Till(_)) { usual * 1_000 / text.says.max(1) } else { usual };
        let portion = (unsaid * asked_times / 1_000).max(1);
        let times =
            (asked_times != 1_000).then(|| say!("{asked_times} of it", asked_times = decimal::plain(asked_times, 3)));
        (portion, fit(portion), times)
    }
}

fn portion_word(token: &str) -> Option<&'static [i64]> {
    PORTIONS.iter().find(|(words, _)| words.contains(&token)).map(|(_, says)| *says)
}

fn speaks_of_portion(token: &str) -> bool {
    portion_word(token).is_some() || SHARED.contains(&token) || BOTTLE.contains(&token)
}

/// A text that names are compared with. A till that runs out of letters ends a name with the first letter of a word, which
/// says nothing of another name.
fn text_parts(name: &str, means: TextMeans) -> Parts {
    let mut parts = words::parts(name);
    let cut = matches!(means, TextMeans::Till(_)) && parts.tokens.len() > 1;
    if cut && parts.tokens.last().is_some_and(|token| token.chars().count() == 1) {
        parts.tokens.pop();
    }
    parts
}

/// The words run together, without those that carry little.
fn run(tokens: &[String]) -> String {
    tokens.iter().filter(|token| !SMALL.contains(&token.as_str())).map(String::as_str).collect()
}

fn initials(tokens: &[String]) -> String {
    tokens.iter().filter(|t| !SMALL.contains(&t.as_str())).filter_map(|t| t.chars().next()).collect()
}

/// How well a portion's price fits what was taken, 0 to 1; none where either is not known.
fn price(drink: &Known, portion: i64, taken: Option<Money>) -> Option<f64> {
    let (net, taken) = (drink.net.filter(|n| *n > 0)?, taken.filter(|t| t.0 > 0)?);
    let ratio = taken.0 as f64 * 1_000.0 / (net as f64 * portion.max(1) as f64);
    let off = ratio.ln() / PRICE_SPREAD;
    Some((-0.5 * off * off).exp())
}

fn known(setup: &Setup, drink: &crate::domain::venue::Drink, day: NaiveDate) -> Known {
    let menu = drink.menu.at(day).map(|(_, menu)| menu);
    let net = menu.map(|menu| match menu.tax.filter(|_| setup.venue.prices_include_tax) {
        Some(tax) => {
            decimal::round_half_even(i128::from(menu.price.0) * 10_000, i128::from(10_000 + tax.max(0))) as i64
        }
        None => menu.price.0,
    });
    let pour = drink.specs.at(day).and_then(|(_, spec)| match spec.as_slice() {
        [only] => {
            let item = setup.item(only.item).filter(|item| item.basis == Basis::Volume)?;
            Some((only.amount.0, item.size.0))
        }
        _ => None,
    });
    Known { id: drink.id, name: drink.name.clone(), key: name_key(&drink.name), net, pour }
}
