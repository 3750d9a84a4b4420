//! What the name of a line says besides the name: sizes such as `24 x 0,25 l`, and its words.

use crate::domain::measure::decimal::pointed_in;
use crate::domain::measure::{Amount, Basis, Decimal, Quantity};
use crate::domain::venue::name_key;

/// A size in a text: `0,7 l`, or `24 x 0,25 l`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Said {
    /// So many of them, where that is said.
    pub(super) times: Option<i64>,
    /// The size of one.
    pub(super) size: Quantity,
}

/// Units as labels and price lists write them, with the base units in one. Only those that leave no doubt.
const WRITTEN: &[(&str, Basis, i128)] = &[
    ("ml", Basis::Volume, 1_000),
    ("cl", Basis::Volume, 10_000),
    ("dl", Basis::Volume, 100_000),
    ("l", Basis::Volume, 1_000_000),
    ("lt", Basis::Volume, 1_000_000),
    ("ltr", Basis::Volume, 1_000_000),
    ("liter", Basis::Volume, 1_000_000),
    ("litre", Basis::Volume, 1_000_000),
    ("litri", Basis::Volume, 1_000_000),
    ("litro", Basis::Volume, 1_000_000),
    ("litros", Basis::Volume, 1_000_000),
    ("g", Basis::Mass, 1_000),
    ("gr", Basis::Mass, 1_000),
    ("kg", Basis::Mass, 1_000_000),
];

#[derive(Clone, Copy, PartialEq)]
enum Kind {
    Number,
    Word,
    Sign,
}

/// Splits a text where letters, numbers and signs meet; blanks go.
fn tokens(text: &str) -> Vec<(Kind, String)> {
    let mut out: Vec<(Kind, String)> = Vec::new();
    let mut open = false;
    for c in name_key(text).chars() {
        let last = out.last().map(|(kind, _)| *kind).filter(|_| open);
        let kind = if c.is_ascii_digit() || (matches!(c, '.' | ',') && last == Some(Kind::Number)) {
            Kind::Number
        } else if c.is_alphabetic() {
            Kind::Word
        } else {
            Kind::Sign
        };
        open = !c.is_whitespace();
        match out.last_mut().filter(|_| last == Some(kind) && kind != Kind::Sign) {
            Some((_, token)) => token.push(c),
            None if open => out.push((kind, c.to_string())),
            None => {}
        }
    }
    out
}

fn number(token: &(Kind, String)) -> Option<Decimal> {
    let (Kind::Number, text) = token else { return None };
    Decimal::parse(&pointed_in(text.trim_end_matches(['.', ',']), false)).ok()
}

/// Every size that a text says.
pub(super) fn sizes(text: &str) -> Vec<Said> {
    let all = tokens(text);
    let mut out = Vec::new();
    for (at, pair) in all.windows(2).enumerate() {
        let Some(figure) = number(&pair[0]) else { continue };
        let Some((_, basis, factor)) = WRITTEN.iter().find(|(written, ..)| *written == pair[1].1) else { continue };
        let Some(amount) = figure.scaled(*factor, 1).ok().filter(|amount| *amount > 0) else { continue };
        let times = at.checked_sub(2).and_then(|from| {
            let by = matches!(all[from + 1].1.as_str(), "x" | "×" | "*" | "/" | "à");
            number(&all[from]).filter(|_| by)?.exact(0).filter(|times| (2..1_000).contains(times))
        });
        out.push(Said { times, size: Quantity { basis: *basis, amount: Amount(amount) } });
    }
    out
}

/// The words of a name that tell one thing from another: without figures and units.
pub(super) fn words(text: &str) -> Vec<String> {
    let word = |(kind, token): (Kind, String)| {
        let unit = WRITTEN.iter().any(|(written, ..)| *written == token);
        (kind == Kind::Word && !unit && token.chars().count() > 1).then_some(token)
    };
    tokens(text).into_iter().filter_map(word).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn sizes_as_price_lists_write_them() {
        let ml = |times, amount: i64| Said {
            times,
            size: Quantity { basis: Basis::Volume, amount: Amount(amount * 1_000) },
        };
        for (text, want) in [
            ("Klarer Funken 32 % 0,7 l", vec![ml(None, 700)]),
            ("Klarer Funken 70cl", vec![ml(None, 700)]),
            ("Quellperle still 24 x 0,25 l", vec![ml(Some(24), 250)]),
            ("Quellperle 6x70CL MW", vec![ml(Some(6), 700)]),
            ("Hafenhell 12/0,33 l", vec![ml(Some(12), 330)]),
            ("Hafenhell Keg 30 l", vec![ml(None, 30_000)]),
            ("Nordmole Gin 1,0 l.", vec![ml(None, 1_000)]),
            ("Gin 44 % vol", vec![]),
            ("Gin 0 l", vec![]),
            ("", vec![]),
        ] {
            assert_eq!(sizes(text), want, "{text}");
        }
        assert_eq!(words("Klarer Funken 32 % 0,7 l (NEU)"), ["klarer", "funken", "neu"]);
    }

    proptest! {
        #[test]
        fn any_text_has_sizes_or_none(text in ".{0,60}") {
            let _ = (sizes(&text), words(&text));
        }
    }
}
