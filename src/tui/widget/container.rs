//! A container seen from the side, with the liquid in it.

use crate::domain::gauge::Outline;
use crate::tui::theme::Theme;
use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

/// Draws a container into an area, as high as the area and as wide as its shape asks for; `level` is how high the liquid
/// stands, in millimetres above the table, `None` for an empty drawing. Where a sealed one is filled to is marked beside
/// it.
pub fn draw(frame: &mut Frame, area: Rect, outline: &Outline, level: Option<f64>, theme: &Theme) {
    let area = area.intersection(frame.area());
    let lines = picture(outline, level, area.width, area.height, theme);
    for (line, y) in lines.into_iter().zip(area.y..) {
        frame.render_widget(line, Rect { y, height: 1, ..area });
    }
}

/// The lines from the top down, the last of them the bottom.
fn picture(outline: &Outline, level: Option<f64>, width: u16, height: u16, theme: &Theme) -> Vec<Line<'static>> {
    const MARK: u16 = 7;
    const STRETCHED: f64 = 1.7;
    if height < 3 || width < 5 {
        return Vec::new();
    }
    let (base, fill, top) = outline.marks();
    let [wall, bottom, left, right, liquid] = theme.glyphs.container;
    let heights = (0..=40).map(|n| base + (top - base) * f64::from(n) / 40.0);
    let wide = heights.map(|h| outline.width_at(h)).fold(1.0, f64::max);
    // Nearly in its proportions: a cell is about twice as high as it is wide. Drawn somewhat wider than it is, so that a
    // neck can be told from a body in a small window. What limits it is the width or the height.
    let slender = (top - base) / wide / 2.0 / STRETCHED;
    let room = f64::from(width.saturating_sub(MARK));
    let across = room.min(f64::from(height - 1) / slender).max(3.0);
    let rows = ((across * slender).round() as u16).clamp(2, height - 1);
    // An odd number of cells everywhere, so that the neck stands in the middle.
    let half = ((across - 3.0) / 2.0).floor().max(0.0);
    let inner = |height: f64| (outline.width_at(height) / wide * half).round() as usize * 2 + 1;
    let widest = half as usize * 2 + 1;
    let middle = |row: u16| base + (top - base) * (f64::from(rows - row) - 0.5) / f64::from(rows);
    let step = (top - base) / f64::from(rows);
    // It stands on the bottom line, whatever room there is above it.
    let mut lines = vec![Line::default(); usize::from(height - 1 - rows)];
    for row in 0..rows {
        let here = middle(row);
        let cells = inner(here);
        let pad = " ".repeat(widest.saturating_sub(cells) / 2);
        let full = level.is_some_and(|level| level >= here && level > base);
        let content = if full { liquid } else { ' ' };
        let mut spans = vec![
            Span::raw(pad.clone()),
            Span::styled(wall.to_string(), theme.muted),
            Span::styled(content.to_string().repeat(cells), theme.text),
            Span::styled(wall.to_string(), theme.muted),
        ];
        if (fill - here).abs() <= step / 2.0 {
            spans.push(Span::raw(pad));
            spans.push(Span::styled(word!(" - full"), theme.muted));
        }
        lines.push(Line::from(spans));
    }
    let cells = inner(base);
    let pad = " ".repeat(widest.saturating_sub(cells) / 2);
    let floor = format!("{pad}{left}{}{right}", bottom.to_string().repeat(cells));
    lines.push(Line::from(Span::styled(floor, theme.muted)));
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::measure::Amount;
    use crate::domain::venue::Shape;
    use crate::tui::widget::harness::at_every_size;

    fn drawn(shape: Shape, share: f64, theme: Theme) -> String {
        let outline = Outline::generic(shape, Amount(700_000));
        let level = outline.height_of(share);
        let lines = picture(&outline, Some(level), 24, 14, &theme);
        lines.iter().map(|line| line.to_string().trim_end().to_owned()).collect::<Vec<_>>().join("\n")
    }

    #[test]
    fn shapes_with_their_levels() {
        let theme = Theme::from_env(true);
        insta::assert_snapshot!(drawn(Shape::Round, 0.5, theme));
        insta::assert_snapshot!(drawn(Shape::Dumpy, 0.9, theme));
        insta::assert_snapshot!(drawn(Shape::Square, 0.1, theme.ascii()));
    }

    #[test]
    fn no_size_panics() {
        let outline = Outline::generic(Shape::Round, Amount(700_000));
        at_every_size(|frame| draw(frame, frame.area(), &outline, Some(100.0), &Theme::from_env(true)));
    }
}
