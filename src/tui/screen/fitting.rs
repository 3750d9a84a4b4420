//! Lines made of whole parts: what does not fit is left out, never cut in the middle of a figure.

use crate::tui::text;
use crate::tui::theme::Theme;
use ratatui::text::{Line, Span};

/// Blanks between two parts.
const GAP: &str = "  ";

fn cells(span: &Span) -> usize {
    text::width(&span.content)
}

/// As many of the parts as fit in one line, from the first on; those without text take up no room. Only the first part
/// may be cut: it is a name.
pub(crate) fn line(parts: impl IntoIterator<Item = Span<'static>>, width: usize) -> Line<'static> {
    lines(parts, width, 1).pop().unwrap_or_default()
}

/// The parts in up to so many lines, each filled before the next is begun.
pub(crate) fn lines(parts: impl IntoIterator<Item = Span<'static>>, width: usize, most: usize) -> Vec<Line<'static>> {
    let mut out: Vec<Line<'static>> = Vec::new();
    let mut used = 0;
    for (n, part) in parts.into_iter().filter(|part| !part.content.is_empty()).enumerate() {
        let part = if n == 0 { Span::styled(text::fit(&part.content, width), part.style) } else { part };
        let wide = cells(&part);
        let begun = out.len();
        if let Some(line) = out.last_mut().filter(|_| used + GAP.len() + wide <= width) {
            line.push_span(Span::raw(GAP));
            line.push_span(part);
            used += GAP.len() + wide;
        } else if begun < most && wide <= width {
            out.push(Line::from(part));
            used = wide;
        } else {
            break;
        }
    }
    out
}

/// One line of entries, the current one reversed and always in view. Each entry comes in several lengths, the longest
/// first; all but the current one get shorter until they fit, then those farthest from it are left out, and an arrow says on which side.
pub(crate) fn strip(entries: &[Vec<String>], current: usize, width: usize, theme: &Theme) -> Line<'static> {
    let lengths = entries.iter().map(Vec::len).max().unwrap_or(0);
    let mut best: Vec<String> = Vec::new();
    for length in 0..lengths {
        let own = |n: usize| if n == current { length.saturating_sub(1) } else { length };
        let pick = |(n, forms): (usize, &Vec<String>)| forms.get(own(n)).or(forms.last()).cloned().unwrap_or_default();
        best = entries.iter().enumerate().map(pick).collect();
        if needed(&best) <= width {
            break;
        }
    }
    let (mut from, mut to) = (0, best.len());
    let marks = |from: usize, to: usize| usize::from(from > 0) + usize::from(to < best.len());
    while to - from > 1 && needed(&best[from..to]) + marks(from, to) > width {
        if current.saturating_sub(from) >= to - 1 - current.min(to - 1) { from += 1 } else { to -= 1 }
    }
    let room = needed(&best[from..to]) + marks(from, to) <= width;
    let mut out = Line::default();
    if room && from > 0 {
        out.push_span(Span::styled(theme.glyphs.beyond_left.to_string(), theme.muted));
    }
    for (n, entry) in best.iter().enumerate().take(to).skip(from) {
        let style = if n == current { theme.selected } else { theme.text };
        out.push_span(Span::styled(text::fit(&format!(" {entry} "), width), style));
    }
    if room && to < best.len() {
        out.push_span(Span::styled(theme.glyphs.beyond_right.to_string(), theme.muted));
    }
    out
}

fn needed(entries: &[String]) -> usize {
    entries.iter().map(|entry| text::width(entry) + 2).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_part_is_whole_or_missing() {
        let parts = || ["Harbour rum", "", "12 345.67 EUR", "in the cellar"].map(Span::raw);
        for (width, want) in [
            (80, "Harbour rum  12 345.67 EUR  in the cellar"),
            (40, "Harbour rum  12 345.67 EUR"),
            (20, "Harbour rum"),
            (6, "Harbo…"),
            (0, ""),
        ] {
            assert_eq!(line(parts(), width).to_string(), want, "{width}");
        }
        let two: Vec<String> = lines(parts(), 28, 2).iter().map(Line::to_string).collect();
        assert_eq!(two, ["Harbour rum  12 345.67 EUR", "in the cellar"]);
    }

    #[test]
    fn the_current_entry_is_in_view() {
        let entries: Vec<Vec<String>> = ["Ansel", "Brook", "Corvo", "Delph"]
            .map(|name| vec![format!("{name} 3 lines 204.00"), format!("{name} 3"), name.to_owned()])
            .to_vec();
        let theme = Theme::from_env(true);
        for (width, current, want) in [
            (100, 1, " Ansel 3 lines 204.00  Brook 3 lines 204.00  Corvo 3 lines 204.00  Delph 3 lines 204.00 "),
            (50, 1, " Ansel 3  Brook 3 lines 204.00  Corvo 3  Delph 3 "),
            (32, 1, " Ansel  Brook 3  Corvo  Delph "),
            (20, 3, "◂ Corvo  Delph 3 "),
            (20, 0, " Ansel 3  Brook ▸"),
            (4, 2, " Co…"),
        ] {
            assert_eq!(strip(&entries, current, width, &theme).to_string(), want, "{width}");
        }
        assert_eq!(strip(&[], 0, 10, &theme).to_string(), "");
    }
}
