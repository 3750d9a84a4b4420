//! The two fonts that pages are set in, and how wide a text is in them.

use std::io;
use ttf_parser::{Face, GlyphId};

/// Which font.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Weight {
    Regular,
    Bold,
}

/// What stands where a font has no glyph: seen by everyone, so that nothing goes missing in silence.
pub(super) const REPLACEMENT: char = '\u{FFFD}';

/// A font that the program carries.
pub(super) struct Font {
    /// The whole file.
    pub(super) data: &'static [u8],
    /// Its PostScript name.
    pub(super) name: &'static str,
    pub(super) face: Face<'static>,
}

impl Font {
    /// Reads one of the fonts.
    ///
    /// # Errors
    /// When the file that was built in is damaged.
    pub(super) fn load(weight: Weight) -> io::Result<Font> {
        let (data, name): (&[u8], _) = match weight {
            Weight::Regular => (include_bytes!("fonts/DejaVuSans.ttf"), "DejaVuSans"),
            Weight::Bold => (include_bytes!("fonts/DejaVuSans-Bold.ttf"), "DejaVuSans-Bold"),
        };
        let face = Face::parse(data, 0).map_err(io::Error::other)?;
        Ok(Font { data, name, face })
    }

    /// Units of the font in one em.
    fn em(&self) -> f32 {
        f32::from(self.face.units_per_em())
    }

    /// A length of the font in thousandths of an em, as PDF wants it.
    pub(super) fn thousandths(&self, units: impl Into<f32>) -> f32 {
        units.into() * 1_000.0 / self.em()
    }

    /// The glyph of a character, and the character that it shows: the same, or [`REPLACEMENT`].
    pub(super) fn glyph(&self, c: char) -> (GlyphId, char) {
        match self.face.glyph_index(c).filter(|glyph| glyph.0 != 0) {
            Some(glyph) => (glyph, c),
            None => (self.face.glyph_index(REPLACEMENT).unwrap_or_default(), REPLACEMENT),
        }
    }

    /// How far a glyph advances, in thousandths of an em.
    pub(super) fn advance(&self, glyph: GlyphId) -> f32 {
        self.thousandths(self.face.glyph_hor_advance(glyph).unwrap_or_default())
    }

    /// How wide a text is at a size, in points.
    pub(super) fn width(&self, text: &str, size: f32) -> f32 {
        text.chars().map(|c| self.advance(self.glyph(c).0)).sum::<f32>() * size / 1_000.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_font_lacks_is_seen() {
        for weight in [Weight::Regular, Weight::Bold] {
            let font = Font::load(weight).unwrap();
            assert_eq!(font.glyph('é').1, 'é');
            assert_eq!(font.glyph('\u{1F378}').1, REPLACEMENT, "a cocktail glass");
            assert_eq!(font.glyph('梅').1, REPLACEMENT);
            assert_ne!(font.glyph('梅').0, GlyphId(0));
            assert!(font.width("梅", 10.0) > 1.0);
        }
    }

    #[test]
    fn a_text_is_as_wide_as_its_letters() {
        // DejaVu Sans has 2048 units in an em, and “i” is 569 of them wide (its table hmtx).
        let font = Font::load(Weight::Regular).unwrap();
        assert!((font.width("ii", 10.0) - 2.0 * 569.0 / 204.8).abs() < 0.001);
    }
}
