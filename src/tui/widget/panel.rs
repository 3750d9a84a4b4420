//! A box over the screen.

use crate::tui::pointer::{self, Target};
use crate::tui::text;
use crate::tui::theme::Theme;
use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::widgets::{Block, Clear, Padding};

/// The middle of an area, no larger than the area itself.
pub fn centred(area: Rect, width: u16, height: u16) -> Rect {
    let (width, height) = (width.min(area.width), height.min(area.height));
    Rect { x: area.x + (area.width - width) / 2, y: area.y + (area.height - height) / 2, width, height }
}

/// Draws a box with a title over whatever is there, and gives the room inside it, a blank cell clear of the sides.
pub fn panel(frame: &mut Frame, area: Rect, title: &str, theme: &Theme) -> Rect {
    let area = area.intersection(frame.area());
    let title = text::fit(title, usize::from(area.width).saturating_sub(4));
    let block = Block::bordered()
        .border_set(theme.glyphs.border)
        .border_style(theme.muted)
        .title_style(theme.title)
        .title(if title.is_empty() { title } else { format!(" {title} ") })
        .padding(Padding::horizontal(1));
    let inner = block.inner(area);
    // What it lies over cannot be clicked through it.
    pointer::put(area, Target::Nothing);
    frame.render_widget(Clear, area);
    frame.render_widget(block, area);
    inner
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tui::widget::harness::{at_every_size, shown};

    #[test]
    fn a_box_in_the_middle() {
        let paint = |theme: Theme| {
            shown(20, 5, |frame| {
                let area = centred(frame.area(), 14, 3);
                assert_eq!(panel(frame, area, "Find an item", &theme), Rect::new(5, 2, 10, 1));
            })
        };
        insta::assert_snapshot!(paint(Theme::default()), @r"

        ┌ Find an i… ┐
        │            │
        └────────────┘
        ");
        insta::assert_snapshot!(paint(Theme::default().ascii()), @r"

        + Find an i… +
        |            |
        +------------+
        ");
    }

    #[test]
    fn no_size_panics() {
        at_every_size(|frame| {
            let area = centred(frame.area(), 30, 9);
            let inner = panel(frame, area, "A title", &Theme::from_env(true));
            assert_eq!(inner.intersection(frame.area()).area(), inner.area());
        });
    }
}
