//! A press: text, rules and boxes put on pages, lengths in points from the upper left corner.

use super::font::{Font, Weight};
use crate::domain::venue::Party;
use std::io;

/// A sheet of paper, upright.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Paper {
    pub(super) width: f32,
    pub(super) height: f32,
}

impl Paper {
    /// ISO 216 A4: 210 by 297 mm.
    pub(super) const A4: Paper = Paper { width: 595.28, height: 841.89 };
    /// US Letter: 8.5 by 11 inches.
    pub(super) const LETTER: Paper = Paper { width: 612.0, height: 792.0 };

    /// The paper that is in the printer where a party is.
    pub(super) fn of(party: &Party) -> Paper {
        let letter = party.country.is_some_and(|country| country.writes_on_letter());
        if letter { Paper::LETTER } else { Paper::A4 }
    }
}

/// How a text looks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Style {
    pub(super) weight: Weight,
    /// In points.
    pub(super) size: f32,
    /// From 0, black, to 1, white.
    pub(super) grey: f32,
}

impl Style {
    pub(super) const fn plain(size: f32) -> Style {
        Style { weight: Weight::Regular, size, grey: 0.0 }
    }

    pub(super) const fn bold(size: f32) -> Style {
        Style { weight: Weight::Bold, size, grey: 0.0 }
    }

    pub(super) const fn pale(size: f32) -> Style {
        Style { weight: Weight::Regular, size, grey: 0.35 }
    }
}

/// Something on a page.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Mark {
    /// A text; its point is where its base line begins.
    Text { x: f32, y: f32, style: Style, text: String },
    /// A straight line.
    Rule { from: (f32, f32), to: (f32, f32), width: f32, grey: f32 },
    /// A rectangle by its upper left corner, drawn with a line.
    Frame { x: f32, y: f32, width: f32, height: f32, line: f32, grey: f32 },
    /// A rectangle by its upper left corner, filled.
    Fill { x: f32, y: f32, width: f32, height: f32, grey: f32 },
}

/// Pages being laid out.
pub(super) struct Press {
    pub(super) paper: Paper,
    pub(super) fonts: [Font; 2],
    pub(super) pages: Vec<Vec<Mark>>,
    /// The page that is being laid out.
    at: usize,
}

impl Press {
    /// A press with one empty page.
    ///
    /// # Errors
    /// When a built-in font is damaged.
    pub(super) fn new(paper: Paper) -> io::Result<Press> {
        let fonts = [Font::load(Weight::Regular)?, Font::load(Weight::Bold)?];
        Ok(Press { paper, fonts, pages: vec![Vec::new()], at: 0 })
    }

    /// Begins another page at the end.
    pub(super) fn next_page(&mut self) {
        self.pages.push(Vec::new());
        self.at = self.pages.len() - 1;
    }

    /// Goes back to a page, counted from 0: feet are put on once it is known how many there are.
    pub(super) fn turn_to(&mut self, page: usize) {
        self.at = page.min(self.pages.len() - 1);
    }

    pub(super) fn put(&mut self, mark: Mark) {
        self.pages[self.at].push(mark);
    }

    fn font(&self, weight: Weight) -> &Font {
        &self.fonts[weight as usize]
    }

    /// How wide a text is.
    pub(super) fn width(&self, style: Style, text: &str) -> f32 {
        self.font(style.weight).width(text, style.size)
    }

    /// A text that begins at `x`.
    pub(super) fn text(&mut self, x: f32, y: f32, style: Style, text: &str) {
        if !text.is_empty() {
            self.put(Mark::Text { x, y, style, text: text.to_owned() });
        }
    }

    /// A text that ends at `x`.
    pub(super) fn right(&mut self, x: f32, y: f32, style: Style, text: &str) {
        let width = self.width(style, text);
        self.text(x - width, y, style, text);
    }

    /// A text about `x`.
    pub(super) fn middle(&mut self, x: f32, y: f32, style: Style, text: &str) {
        let width = self.width(style, text);
        self.text(x - width / 2.0, y, style, text);
    }

    /// A level line.
    pub(super) fn rule(&mut self, x: f32, y: f32, length: f32, width: f32, grey: f32) {
        self.put(Mark::Rule { from: (x, y), to: (x + length, y), width, grey });
    }

    /// An empty box to write into.
    pub(super) fn frame(&mut self, x: f32, y: f32, width: f32, height: f32) {
        self.put(Mark::Frame { x, y, width, height, line: 0.8, grey: 0.0 });
    }

    /// A shade behind a head.
    pub(super) fn fill(&mut self, x: f32, y: f32, width: f32, height: f32, grey: f32) {
        self.put(Mark::Fill { x, y, width, height, grey });
    }

    /// A text in lines that are no wider than `width`, broken between words, and within a word that is wider alone.
    pub(super) fn wrap(&self, style: Style, text: &str, width: f32) -> Vec<String> {
        let mut lines: Vec<String> = Vec::new();
        let mut line = String::new();
        for word in text.split_whitespace() {
            let joined = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
            if self.width(style, &joined) <= width {
                line = joined;
                continue;
            }
            if !line.is_empty() {
                lines.push(std::mem::take(&mut line));
            }
            for c in word.chars() {
                line.push(c);
                if self.width(style, &line) > width && line.chars().count() > 1 {
                    line.pop();
                    lines.push(std::mem::replace(&mut line, c.to_string()));
                }
            }
        }
        if !line.is_empty() || lines.is_empty() {
            lines.push(line);
        }
        lines
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::venue::Country;
    use proptest::prelude::*;

    #[test]
    fn paper_is_that_of_the_country() {
        let party = |code| Party { country: Country::parse(code).ok(), ..Party::default() };
        assert_eq!(Paper::of(&party("PT")), Paper::A4);
        assert_eq!(Paper::of(&party("US")), Paper::LETTER);
        assert_eq!(Paper::of(&Party::default()), Paper::A4);
    }

    proptest! {
        #[test]
        fn a_broken_text_fits_and_loses_no_letter(text in "[a-zäß ]{0,60}", width in 12.0_f32..200.0) {
            let press = Press::new(Paper::A4).unwrap();
            let style = Style::plain(9.0);
            let lines = press.wrap(style, &text, width);
            for line in &lines {
                prop_assert!(press.width(style, line) <= width || line.chars().count() == 1);
            }
            let letters = |text: &str| text.chars().filter(|c| !c.is_whitespace()).collect::<String>();
            prop_assert_eq!(letters(&lines.concat()), letters(&text));
        }
    }
}
