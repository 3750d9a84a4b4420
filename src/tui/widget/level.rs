//! The level of an opened container: ten cells, one a tenth.

use crate::tui::pointer::{self, Target};
use crate::tui::theme::Theme;
use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

/// The cells that a level takes up.
pub const WIDTH: u16 = 10;

/// The cells of a level that can be clicked and pulled: two a tenth, since an eye tells half of one.
pub const PULLED: u16 = 2 * WIDTH;

/// Draws a level that can be clicked and pulled over the beginning of an area; `tenths` as in [`level`].
pub fn draw_pulled(frame: &mut Frame, area: Rect, tenths: f64, theme: &Theme) {
    let area = Rect { width: area.width.min(PULLED), height: area.height.min(1), ..area }.intersection(frame.area());
    let [full, _, empty] = theme.glyphs.level;
    let halves = (tenths.clamp(0.0, 10.0) * 2.0).round() as usize;
    let filled: String = std::iter::repeat_n(full, halves).collect();
    let rest: String = std::iter::repeat_n(empty, usize::from(PULLED) - halves).collect();
    let line = Line::from(vec![Span::styled(filled, theme.typed), Span::styled(rest, theme.muted)]);
    frame.render_widget(line, area);
    pointer::put(area, Target::Level);
}

/// Draws how full an opened container is, in tenths from 0 to 10; what lies outside is drawn as the nearer end, and no
/// number as empty. A tenth that is partly full has a glyph of its own, from a twentieth of it to nineteen.
pub fn level(tenths: f64, theme: &Theme) -> Line<'static> {
    let [full, partly, empty] = theme.glyphs.level;
    // In twentieths of a tenth, so that 0.1 + 0.2 is no partly full cell.
    let twentieths = (tenths.clamp(0.0, 10.0) * 20.0).round() as usize;
    let whole = twentieths / 20;
    let part = usize::from(!twentieths.is_multiple_of(20));
    let filled: String = std::iter::repeat_n(full, whole).chain(std::iter::repeat_n(partly, part)).collect();
    let rest: String = std::iter::repeat_n(empty, usize::from(WIDTH) - whole - part).collect();
    Line::from(vec![Span::styled(filled, theme.text), Span::styled(rest, theme.muted)])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tui::text::width;
    use crate::tui::widget::harness::at_every_size;

    #[test]
    fn a_cell_a_tenth() {
        let plain = Theme::default();
        for (tenths, drawn, ascii) in [
            (0.0, "▁▁▁▁▁▁▁▁▁▁", ".........."),
            (0.02, "▁▁▁▁▁▁▁▁▁▁", ".........."),
            (0.1 + 0.2, "▃▁▁▁▁▁▁▁▁▁", "+........."),
            (4.0, "▆▆▆▆▁▁▁▁▁▁", "####......"),
            (4.3, "▆▆▆▆▃▁▁▁▁▁", "####+....."),
            (3.9999, "▆▆▆▆▁▁▁▁▁▁", "####......"),
            (10.0, "▆▆▆▆▆▆▆▆▆▆", "##########"),
            (12.0, "▆▆▆▆▆▆▆▆▆▆", "##########"),
            (-1.0, "▁▁▁▁▁▁▁▁▁▁", ".........."),
            (f64::NAN, "▁▁▁▁▁▁▁▁▁▁", ".........."),
        ] {
            let line = level(tenths, &plain).to_string();
            assert_eq!(line, drawn, "{tenths}");
            assert_eq!(width(&line), usize::from(WIDTH));
            assert_eq!(level(tenths, &plain.ascii()).to_string(), ascii, "{tenths}");
        }
    }

    #[test]
    fn no_size_panics() {
        at_every_size(|frame| frame.render_widget(level(7.5, &Theme::from_env(true)), frame.area()));
    }
}
