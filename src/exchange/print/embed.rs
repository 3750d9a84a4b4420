//! From laid-out pages to the bytes of a PDF: only the glyphs that are used are embedded, with what they stand for, so
//! that the text can be searched and copied.

use super::font::Font;
use super::press::{Mark, Press};
use crate::words::Speech;
use chrono::{Datelike, NaiveDate};
use flate2::Compression;
use flate2::write::ZlibEncoder;
use pdf_writer::types::{CidFontType, FontFlags, SystemInfo, UnicodeCmap};
use pdf_writer::{Content, Date, Filter, Finish, Name, Pdf, Rect, Ref, Str, TextStr};
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::io::{self, Write};
use subsetter::GlyphRemapper;

/// What the file says about itself.
#[derive(Clone, Copy, Debug)]
pub(super) struct About<'a> {
    pub(super) title: &'a str,
    pub(super) author: &'a str,
    /// The day it was written on.
    pub(super) date: NaiveDate,
}

/// The words on every page are English.
/// Code points are glyph numbers.
const IDENTITY: SystemInfo<'static> = SystemInfo { registry: Str(b"Adobe"), ordering: Str(b"Identity"), supplement: 0 };
const NAMES: [Name<'static>; 2] = [Name(b"F0"), Name(b"F1")];

/// The glyphs of one font that the pages use.
#[derive(Default)]
struct Used {
    numbers: GlyphRemapper,
    /// New number: what it stands for, and how far it advances.
    glyphs: BTreeMap<u16, (char, f32)>,
}

impl Used {
    /// A text as the numbers of its glyphs.
    fn encode(&mut self, font: &Font, text: &str) -> Vec<u8> {
        let mut out = Vec::with_capacity(text.len() * 2);
        for c in text.chars() {
            let (glyph, shown) = font.glyph(c);
            let number = self.numbers.remap(glyph.0);
            self.glyphs.entry(number).or_insert_with(|| (shown, font.advance(glyph)));
            out.extend(number.to_be_bytes());
        }
        out
    }
}

/// Numbers for the objects of the file, counted up.
struct Refs(i32);

impl Refs {
    fn next(&mut self) -> Ref {
        self.0 += 1;
        Ref::new(self.0)
    }
}

/// Sets the pages into a file.
///
/// # Errors
/// When a font cannot be cut down to the glyphs that are used.
pub(super) fn pdf(press: &Press, about: About) -> io::Result<Vec<u8>> {
    let mut pdf = Pdf::new();
    let mut refs = Refs(0);
    let [catalog, tree, info] = std::array::from_fn(|_| refs.next());
    let fonts: [Ref; 2] = std::array::from_fn(|_| refs.next());
    let mut used = [Used::default(), Used::default()];
    let mut mark = Sha256::new();
    mark.update(about.title.as_bytes());
    let pages: Vec<Ref> = press.pages.iter().map(|_| refs.next()).collect();
    for (marks, id) in press.pages.iter().zip(&pages) {
        let drawn = content(press, marks, &mut used);
        mark.update(&drawn);
        let content = refs.next();
        pdf.stream(content, &packed(&drawn)?).filter(Filter::FlateDecode);
        let mut page = pdf.page(*id);
        page.media_box(Rect::new(0.0, 0.0, press.paper.width, press.paper.height)).parent(tree).contents(content);
        let mut resources = page.resources();
        let mut named = resources.fonts();
        for (name, font) in NAMES.iter().zip(fonts) {
            named.pair(*name, font);
        }
    }
    pdf.catalog(catalog)
        .pages(tree)
        .lang(TextStr(Speech::here().language.tag()))
        .viewer_preferences()
        .display_doc_title(true);
    pdf.pages(tree).count(i32::try_from(pages.len()).unwrap_or(i32::MAX)).kids(pages);
    for ((font, used), id) in press.fonts.iter().zip(&used).zip(fonts) {
        embed(&mut pdf, &mut refs, font, used, id)?;
    }
    let day = |n: u32| u8::try_from(n).unwrap_or_default();
    let date = Date::new(u16::try_from(about.date.year()).unwrap_or_default())
        .month(day(about.date.month()))
        .day(day(about.date.day()));
    let mut says = pdf.document_info(info);
    says.title(TextStr(about.title)).author(TextStr(about.author)).creator(TextStr("Tantalus")).creation_date(date);
    says.finish();
    let id = mark.finalize()[..16].to_vec();
    pdf.set_file_id((id.clone(), id));
    Ok(pdf.finish())
}

fn packed(data: &[u8]) -> io::Result<Vec<u8>> {
    let mut encoder = ZlibEncoder::new(Vec::new(), Compression::best());
    encoder.write_all(data)?;
    encoder.finish()
}

/// One page as drawing orders. PDF measures from the lower left corner.
fn content(press: &Press, marks: &[Mark], used: &mut [Used; 2]) -> Vec<u8> {
    let up = |y: f32| press.paper.height - y;
    let mut content = Content::new();
    for mark in marks {
        match mark {
            Mark::Text { x, y, style, text } => {
                let at = style.weight as usize;
                let coded = used[at].encode(&press.fonts[at], text);
                content.set_fill_gray(style.grey);
                content.begin_text().set_font(NAMES[at], style.size).next_line(*x, up(*y)).show(Str(&coded)).end_text();
            }
            Mark::Rule { from, to, width, grey } => {
                content.set_stroke_gray(*grey).set_line_width(*width);
                content.move_to(from.0, up(from.1)).line_to(to.0, up(to.1)).stroke();
            }
            Mark::Frame { x, y, width, height, line, grey } => {
                content.set_stroke_gray(*grey).set_line_width(*line);
                content.rect(*x, up(y + height), *width, *height).stroke();
            }
            Mark::Fill { x, y, width, height, grey } => {
                content.set_fill_gray(*grey).rect(*x, up(y + height), *width, *height).fill_nonzero();
            }
        }
    }
    content.finish().into_vec()
}

/// Six letters that tell this subset of a font from others (ISO 32000-1, 9.6.4).
fn tag(subset: &[u8]) -> String {
    Sha256::digest(subset).iter().take(6).map(|byte| char::from(b'A' + byte % 26)).collect()
}

fn embed(pdf: &mut Pdf, refs: &mut Refs, font: &Font, used: &Used, id: Ref) -> io::Result<()> {
    let subset = subsetter::subset(font.data, 0, &used.numbers).map_err(io::Error::other)?;
    let name = format!("{}+{}", tag(&subset), font.name);
    let name = Name(name.as_bytes());
    let [cid, descriptor, cmap, file] = std::array::from_fn(|_| refs.next());
    pdf.type0_font(id).base_font(name).encoding_predefined(Name(b"Identity-H")).descendant_font(cid).to_unicode(cmap);
    let mut descendant = pdf.cid_font(cid);
    descendant
        .subtype(CidFontType::Type2)
        .base_font(name)
        .system_info(IDENTITY)
        .font_descriptor(descriptor)
        .default_width(0.0)
        .cid_to_gid_map_predefined(Name(b"Identity"));
    let mut widths = descendant.widths();
    for (number, (_, advance)) in &used.glyphs {
        widths.same(*number, *number, *advance);
    }
    widths.finish();
    descendant.finish();
    let face = &font.face;
    let bounds = face.global_bounding_box();
    let corner = |units: i16| font.thousandths(units);
    let bold = font.name == "DejaVuSans-Bold";
    pdf.font_descriptor(descriptor)
        .name(name)
        .flags(FontFlags::SYMBOLIC)
        .bbox(Rect::new(corner(bounds.x_min), corner(bounds.y_min), corner(bounds.x_max), corner(bounds.y_max)))
        .italic_angle(0.0)
        .ascent(corner(face.ascender()))
        .descent(corner(face.descender()))
        .cap_height(corner(face.capital_height().unwrap_or_else(|| face.ascender())))
        .stem_v(if bold { 140.0 } else { 80.0 })
        .font_file2(file);
    let mut unicode = UnicodeCmap::new(Name(b"Custom"), IDENTITY);
    for (number, (shown, _)) in &used.glyphs {
        unicode.pair(*number, *shown);
    }
    pdf.cmap(cmap, &unicode.finish()).name(Name(b"Custom")).system_info(IDENTITY);
    pdf.stream(file, &packed(&subset)?)
        .filter(Filter::FlateDecode)
        .pair(Name(b"Length1"), i32::try_from(subset.len()).unwrap_or(i32::MAX));
    Ok(())
}
