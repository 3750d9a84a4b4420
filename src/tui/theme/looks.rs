//! The looks that one can choose, and what a terminal can show of them.
//!
//! The hues of the coloured ones are those that Okabe and Ito chose to stay apart for every common kind of colour blindness
//! (Color Universal Design, 2008; the values from memory), made lighter or darker until they can be read on their ground.

use super::Theme;
use super::{COLOURED, PLAIN};
use crate::domain::venue::words::words;
use ratatui::style::{Color, Modifier, Style};

words! {
    /// A look.
    #[derive(Default)]
    Look {
        /// The terminal's own colours and ground.
        #[default]
        Terminal = "terminal",
        /// Light letters on a dark ground.
        Dark = "dark",
        /// Dark letters on a light ground.
        Light = "light",
        /// Every figure as far from its ground as it can be.
        Contrast = "contrast",
        /// No colour in any cell.
        Plain = "plain",
    }
}

/// How many colours a terminal can show.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Depth {
    /// The sixteen that its owner chose.
    #[default]
    Sixteen,
    /// The fixed 256 of xterm.
    Palette,
    /// All of them.
    True,
}

impl Depth {
    /// What a terminal says of itself in `COLORTERM` and `TERM`.
    pub fn told(colorterm: &str, term: &str) -> Depth {
        match colorterm {
            "truecolor" | "24bit" => Depth::True,
            _ if term.ends_with("-direct") => Depth::True,
            _ if term.contains("256color") => Depth::Palette,
            _ => Depth::Sixteen,
        }
    }
}

/// Red, green, blue.
type Rgb = (u8, u8, u8);

/// The colours of a look on its own ground.
struct Colours {
    letters: Rgb,
    ground: Rgb,
    muted: Rgb,
    good: Rgb,
    over: Rgb,
    short: Rgb,
    warning: Rgb,
}

const DARK: Colours = Colours {
    letters: (222, 222, 216),
    ground: (24, 24, 27),
    muted: (160, 160, 155),
    good: (40, 178, 135),
    over: (240, 125, 60),
    short: (86, 180, 233),
    warning: (214, 143, 184),
};

const LIGHT: Colours = Colours {
    letters: (32, 32, 30),
    ground: (250, 249, 245),
    muted: (95, 95, 90),
    good: (0, 105, 76),
    over: (168, 62, 0),
    short: (0, 92, 146),
    warning: (140, 60, 108),
};

const CONTRAST: Colours = Colours {
    letters: (255, 255, 255),
    ground: (0, 0, 0),
    muted: (225, 225, 225),
    good: (90, 235, 180),
    over: (255, 170, 110),
    short: (130, 215, 255),
    warning: (255, 190, 225),
};

impl Look {
    /// The next one, and round again.
    pub fn next(self) -> Look {
        let at = Look::ALL.iter().position(|look| *look == self).unwrap_or(0);
        Look::ALL[(at + 1) % Look::ALL.len()]
    }

    /// What it is like on a terminal that can show so many colours. On one that has only its owner's sixteen, those that bring
    /// a ground of their own are as the terminal has it, and contrast is made of its brightest.
    pub fn theme(self, depth: Depth) -> Theme {
        match (self, depth) {
            (Look::Plain, _) => PLAIN,
            (Look::Terminal, _) | (Look::Dark | Look::Light, Depth::Sixteen) => COLOURED,
            (Look::Contrast, Depth::Sixteen) => bright(),
            (Look::Dark, _) => painted(&DARK, depth),
            (Look::Light, _) => painted(&LIGHT, depth),
            (Look::Contrast, _) => painted(&CONTRAST, depth),
        }
    }
}

const BOLD: Style = Style::new().add_modifier(Modifier::BOLD);

fn painted(colours: &Colours, depth: Depth) -> Theme {
    let shown = |(r, g, b): Rgb| match depth {
        Depth::True => Color::Rgb(r, g, b),
        Depth::Palette | Depth::Sixteen => Color::Indexed(nearest((r, g, b))),
    };
    Theme {
        muted: Style::new().fg(shown(colours.muted)),
        hint: Style::new().fg(shown(colours.muted)),
        good: Style::new().fg(shown(colours.good)),
        over: BOLD.fg(shown(colours.over)),
        short: BOLD.fg(shown(colours.short)),
        warning: BOLD.fg(shown(colours.warning)),
        error: BOLD.fg(shown(colours.over)),
        ground: Some((shown(colours.letters), shown(colours.ground))),
        ..PLAIN
    }
}

/// Contrast out of the sixteen colours of a terminal.
fn bright() -> Theme {
    Theme {
        good: BOLD.fg(Color::LightGreen),
        over: BOLD.fg(Color::LightRed),
        short: BOLD.fg(Color::LightCyan),
        warning: BOLD.fg(Color::LightMagenta),
        error: BOLD.fg(Color::LightRed),
        ground: Some((Color::White, Color::Black)),
        ..PLAIN
    }
}

/// The levels of the cube of colours among the 256 of xterm.
const CUBE: [u8; 6] = [0, 95, 135, 175, 215, 255];

/// The one of xterm's cube and greys that is nearest.
fn nearest(colour: Rgb) -> u8 {
    let apart = |(r, g, b): Rgb| {
        let square = |a: u8, b: u8| i32::from(a.abs_diff(b)).pow(2);
        square(r, colour.0) + square(g, colour.1) + square(b, colour.2)
    };
    (16..=255).min_by_key(|n| apart(indexed(*n))).unwrap_or(16)
}

/// What a number of xterm's cube and greys looks like.
fn indexed(n: u8) -> Rgb {
    match n.checked_sub(232) {
        Some(grey) => {
            let level = 8 + 10 * grey;
            (level, level, level)
        }
        None => {
            let at = |n: u8| CUBE[usize::from(n % 6)];
            let n = n.saturating_sub(16);
            (at(n / 36), at(n / 6), at(n))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn linear(level: u8) -> f64 {
        // WCAG 2.2, definition of relative luminance (W3C Recommendation).
        let c = f64::from(level) / 255.0;
        if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
    }

    fn luminance((r, g, b): Rgb) -> f64 {
        0.2126 * linear(r) + 0.7152 * linear(g) + 0.0722 * linear(b)
    }

    /// WCAG 2.2, definition of contrast ratio.
    fn contrast(a: Rgb, b: Rgb) -> f64 {
        let (high, low) = (luminance(a).max(luminance(b)), luminance(a).min(luminance(b)));
        (high + 0.05) / (low + 0.05)
    }

    fn all(colours: &Colours) -> [Rgb; 6] {
        [colours.letters, colours.muted, colours.good, colours.over, colours.short, colours.warning]
    }

    #[test]
    fn contrast_is_reckoned_as_published() {
        // WCAG 2.2: black on white is 21 to 1; #767676 is known as the lightest grey that passes on white (4.54).
        assert!((contrast((0, 0, 0), (255, 255, 255)) - 21.0).abs() < 1e-9);
        assert!((contrast((0x76, 0x76, 0x76), (255, 255, 255)) - 4.54).abs() < 0.005);
    }

    #[test]
    fn every_colour_can_be_read_on_its_ground() {
        // WCAG 2.2: 1.4.3 asks for 4.5 to 1 at least, 1.4.6 for 7 to 1.
        for (look, least) in [(&DARK, 4.5), (&LIGHT, 4.5), (&CONTRAST, 7.0)] {
            for colour in all(look) {
                let reached = contrast(colour, look.ground);
                assert!(reached >= least, "{colour:?} on {:?}: {reached:.2}", look.ground);
                // As the 256 of xterm have it as well.
                let coarse = contrast(indexed(nearest(colour)), indexed(nearest(look.ground)));
                assert!(coarse >= least * 0.9, "{colour:?} on {:?}: {coarse:.2}", look.ground);
            }
        }
    }

    /// How a colour looks to somebody without one kind of cones: the projection of Viénot, Brettel and Mollon (1999), in the
    /// linear RGB matrices that they give (from memory).
    fn seen(colour: Rgb, without: &str) -> [f64; 3] {
        let [r, g, b] = [linear(colour.0), linear(colour.1), linear(colour.2)];
        match without {
            "red" => [0.1124 * r + 0.8876 * g, 0.1124 * r + 0.8876 * g, 0.0040 * r - 0.0040 * g + b],
            _ => [0.2928 * r + 0.7072 * g, 0.2928 * r + 0.7072 * g, -0.0223 * r + 0.0223 * g + b],
        }
    }

    #[test]
    fn over_and_short_stay_apart_for_the_colour_blind() {
        for look in [&DARK, &LIGHT, &CONTRAST] {
            for without in ["red", "green"] {
                let apart: f64 = seen(look.over, without)
                    .iter()
                    .zip(seen(look.short, without))
                    .map(|(a, b)| (a.max(0.0).powf(1.0 / 2.2) - b.max(0.0).powf(1.0 / 2.2)).powi(2))
                    .sum();
                assert!(
                    apart.sqrt() > 0.3,
                    "{:?} and {:?} without {without}: {:.2}",
                    look.over,
                    look.short,
                    apart.sqrt()
                );
            }
        }
    }

    #[test]
    fn no_look_tells_by_colour_alone_and_plain_has_none() {
        for look in Look::ALL {
            for depth in [Depth::Sixteen, Depth::Palette, Depth::True] {
                let theme = look.theme(depth);
                for loud in [theme.over, theme.short, theme.warning, theme.error] {
                    assert!(loud.add_modifier.contains(Modifier::BOLD), "{look} {depth:?}");
                }
                let coloured = theme.ground.is_some() || theme.over.fg.is_some();
                assert_eq!(coloured, *look != Look::Plain, "{look} {depth:?}");
            }
        }
        assert_eq!(Look::ALL.iter().fold(Look::Terminal, |look, _| look.next()), Look::Terminal);
    }

    #[test]
    fn the_palette_of_xterm() {
        // The 256 colours as xterm's 256colres.pl makes them (from memory): 196 is pure red, 231 white, 244 a middle grey.
        assert_eq!((indexed(196), indexed(231), indexed(244)), ((255, 0, 0), (255, 255, 255), (128, 128, 128)));
        assert_eq!((nearest((255, 0, 0)), nearest((254, 254, 254)), nearest((0, 0, 0))), (196, 231, 16));
        for (colorterm, term, want) in [
            ("truecolor", "xterm", Depth::True),
            ("", "xterm-direct", Depth::True),
            ("", "screen-256color", Depth::Palette),
            ("", "xterm", Depth::Sixteen),
            ("", "", Depth::Sixteen),
        ] {
            assert_eq!(Depth::told(colorterm, term), want);
        }
    }
}
