//! A drawn screen as a picture (SVG): letters as text in a fixed raster, blocks and lines of boxes as shapes, so that it looks
//! the same whatever font shows it.

#![allow(dead_code)]

use ratatui::buffer::{Buffer, Cell};
use ratatui::style::{Color, Modifier};
use std::fmt::Write;

/// A cell, and the margin around all of them.
const WIDE: f64 = 8.4;
const HIGH: f64 = 17.0;
const MARGIN: f64 = 10.0;

fn hex(color: Color) -> String {
    match color {
        Color::Rgb(r, g, b) => format!("#{r:02x}{g:02x}{b:02x}"),
        other => panic!("a picture is drawn in true colours, not in {other:?}"),
    }
}

/// Letters and ground of a cell, as it is shown.
fn colours(cell: &Cell) -> (String, String) {
    let (letters, ground) = (hex(cell.fg), hex(cell.bg));
    if cell.modifier.contains(Modifier::REVERSED) { (ground, letters) } else { (letters, ground) }
}

/// The part of a cell that a block fills, from its foot up; none of a sign that is no block.
fn block(symbol: &str) -> Option<f64> {
    let eighths = ["▁", "▂", "▃", "▄", "▅", "▆", "▇", "█"];
    eighths.iter().position(|block| *block == symbol).map(|n| (n + 1) as f64 / 8.0)
}

/// The arms of a line: left, right, up, down, and how thick.
fn arms(symbol: &str) -> Option<([bool; 4], f64)> {
    let thin = |arms: [u8; 4]| Some((arms.map(|arm| arm == 1), 1.0));
    match symbol {
        "─" | "┄" => thin([1, 1, 0, 0]),
        "│" | "┊" => thin([0, 0, 1, 1]),
        "┌" => thin([0, 1, 0, 1]),
        "┐" => thin([1, 0, 0, 1]),
        "└" => thin([0, 1, 1, 0]),
        "┘" => thin([1, 0, 1, 0]),
        "┼" => thin([1, 1, 1, 1]),
        "╶" => thin([0, 1, 0, 0]),
        "╴" => thin([1, 0, 0, 0]),
        "━" => Some(([true, true, false, false], 2.5)),
        "╺" => Some(([false, true, false, false], 2.5)),
        "╸" => Some(([true, false, false, false], 2.5)),
        _ => None,
    }
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}

/// The picture of a buffer; `title` says what it shows, for whoever cannot see it.
pub(crate) fn svg(buffer: &Buffer, title: &str) -> String {
    let area = buffer.area;
    let ground = colours(&buffer[(0, area.height - 1)]).1;
    let (wide, high) = (f64::from(area.width) * WIDE + 2.0 * MARGIN, f64::from(area.height) * HIGH + 2.0 * MARGIN);
    let mut out = String::new();
    writeln!(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {wide:.0} {high:.0}\" width=\"{wide:.0}\" role=\"img\" \
         font-family=\"ui-monospace,SFMono-Regular,Menlo,Consolas,'DejaVu Sans Mono',monospace\" font-size=\"14\">"
    )
    .unwrap();
    writeln!(out, "<title>{}</title>", escaped(title)).unwrap();
    writeln!(out, "<rect width=\"{wide:.0}\" height=\"{high:.0}\" rx=\"6\" fill=\"{ground}\"/>").unwrap();
    for y in 0..area.height {
        let mut x = 0;
        while x < area.width {
            let first = &buffer[(x, y)];
            let (letters, behind) = colours(first);
            let is_shape = |cell: &Cell| block(cell.symbol()).is_some() || arms(cell.symbol()).is_some();
            let same = |cell: &Cell| {
                colours(cell) == (letters.clone(), behind.clone())
                    && cell.modifier == first.modifier
                    && is_shape(cell) == is_shape(first)
            };
            let from = x;
            let mut text = String::new();
            while x < area.width && same(&buffer[(x, y)]) {
                text.push_str(buffer[(x, y)].symbol());
                x += 1;
            }
            let (left, top) = (MARGIN + f64::from(from) * WIDE, MARGIN + f64::from(y) * HIGH);
            let run = f64::from(x - from) * WIDE;
            if behind != ground {
                writeln!(
                    out,
                    "<rect x=\"{left:.1}\" y=\"{top:.1}\" width=\"{run:.1}\" height=\"{HIGH}\" fill=\"{behind}\"/>"
                )
                .unwrap();
            }
            if is_shape(first) {
                (from..x).for_each(|x| shape(&mut out, buffer[(x, y)].symbol(), x, top, &letters));
            } else if !text.trim().is_empty() {
                words(&mut out, &text, left, top, &letters, first.modifier);
            }
        }
    }
    out.push_str("</svg>\n");
    out
}

/// Each word where it begins, as wide as its cells: a font of other widths must not push the next one away.
fn words(out: &mut String, text: &str, left: f64, top: f64, letters: &str, modifier: Modifier) {
    let mut look = String::new();
    if modifier.contains(Modifier::BOLD) {
        look.push_str(" font-weight=\"bold\"");
    }
    if modifier.contains(Modifier::UNDERLINED) {
        look.push_str(" text-decoration=\"underline\"");
    }
    if modifier.contains(Modifier::DIM) {
        look.push_str(" opacity=\"0.7\"");
    }
    let base = top + 13.0;
    writeln!(out, "<g fill=\"{letters}\"{look}>").unwrap();
    let mut at = 0_usize;
    for word in text.split(' ') {
        let cells = word.chars().count();
        if cells > 0 {
            let (from, run) = (left + at as f64 * WIDE, cells as f64 * WIDE);
            let word = escaped(word);
            writeln!(
                out,
                "<text x=\"{from:.1}\" y=\"{base:.1}\" textLength=\"{run:.1}\" lengthAdjust=\"spacingAndGlyphs\">{word}</text>"
            )
            .unwrap();
        }
        at += cells + 1;
    }
    writeln!(out, "</g>").unwrap();
}

fn shape(out: &mut String, symbol: &str, x: u16, top: f64, letters: &str) {
    let left = MARGIN + f64::from(x) * WIDE;
    if let Some(part) = block(symbol) {
        let tall = HIGH * part;
        let y = top + HIGH - tall;
        // A hair apart, so that a level is read cell by cell.
        let wide = WIDE - 0.6;
        writeln!(
            out,
            "<rect x=\"{left:.1}\" y=\"{y:.1}\" width=\"{wide:.1}\" height=\"{tall:.1}\" fill=\"{letters}\"/>"
        )
        .unwrap();
        return;
    }
    let Some(([l, r, u, d], thick)) = arms(symbol) else { return };
    let (middle, centre) = (left + WIDE / 2.0, top + HIGH / 2.0);
    let mut line = |x1: f64, y1: f64, x2: f64, y2: f64| {
        writeln!(out, "<path d=\"M{x1:.1} {y1:.1}L{x2:.1} {y2:.1}\" stroke=\"{letters}\" stroke-width=\"{thick}\"/>")
            .unwrap();
    };
    if l || r {
        line(if l { left } else { middle }, centre, if r { left + WIDE } else { middle }, centre);
    }
    if u || d {
        line(middle, if u { top } else { centre }, middle, if d { top + HIGH } else { centre });
    }
}
