//! The top line: whose book, which screens there are, what time it is.

use crate::tui::keymap::Tab;
use crate::tui::pointer::{self, Target};
use crate::tui::text;
use crate::tui::theme::Theme;
use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::style::Modifier;
use ratatui::text::{Line, Span};

/// Draws the top line over the first line of the area. The screens come first, the letter that goes to each of them
/// underlined and the current one reversed; then the status at the right end; then as much of the book's name at the
/// left as there is room for. If screens and status do not fit, the screens shrink to their letters, the last ones first
/// and never the current one.
pub fn draw(frame: &mut Frame, area: Rect, book: &str, current: Tab, status: &str, theme: &Theme) {
    let line = line(book, current, status, area.width, theme);
    // Each name is the letters between two blanks, in the order of the screens.
    let mut x = area.x;
    let mut tabs = Tab::ALL.iter().copied();
    let (mut from, mut named) = (area.x, None);
    for span in &line.spans {
        let wide = u16::try_from(text::width(&span.content)).unwrap_or(u16::MAX);
        let is_letter = span.style.add_modifier.contains(Modifier::UNDERLINED);
        if span.content.trim().is_empty() && !span.content.is_empty() {
            if let Some(tab) = named.take() {
                pointer::put(Rect { x: from, width: x - from, ..area }, Target::Screen(tab));
            }
            from = x.saturating_add(wide);
        } else if is_letter {
            named = tabs.next();
        }
        x = x.saturating_add(wide);
    }
    frame.render_widget(line, area);
}

fn line(book: &str, current: Tab, status: &str, width: u16, theme: &Theme) -> Line<'static> {
    let room = usize::from(width);
    let (book, status) = (text::safe(book), text::safe(status));
    let beside = text::width(&status) + 1;
    let shrunk = |named| tabs(current, named, theme);
    let fitting = (0..=Tab::ALL.len()).rev().map(shrunk).find(|tabs| cells(tabs) + beside <= room);
    let screens = fitting.unwrap_or_else(|| tabs(current, 0, theme));
    let used = cells(&screens);
    let status = if used + 1 + text::width(&status) <= room { status } else { String::new() };
    let left = room.saturating_sub(used + text::width(&status) + usize::from(!status.is_empty()));
    // Less than a word says nothing.
    let book = if left >= 9 { text::fit(&book, left - 1) } else { String::new() };
    let mut spans = Vec::new();
    if !book.is_empty() {
        spans.push(Span::styled(book, theme.title));
        spans.push(Span::raw(" "));
    }
    spans.extend(screens);
    let blank = room.saturating_sub(cells(&spans) + text::width(&status));
    spans.push(Span::raw(" ".repeat(blank)));
    spans.push(Span::styled(status, theme.text));
    Line::from(spans)
}

fn cells(spans: &[Span]) -> usize {
    spans.iter().map(|span| text::width(&span.content)).sum()
}

/// The screens, the first so many and the current one by name.
fn tabs(current: Tab, named: usize, theme: &Theme) -> Vec<Span<'static>> {
    let mut spans = Vec::new();
    for (at, &tab) in Tab::ALL.iter().enumerate() {
        if !spans.is_empty() {
            spans.push(Span::raw(" "));
        }
        let style = if tab == current { theme.selected } else { theme.hint };
        let letter = style.patch(theme.key).add_modifier(Modifier::UNDERLINED);
        if at >= named && tab != current {
            spans.push(Span::styled(tab.letter().to_string(), letter));
            continue;
        }
        let title = tab.title();
        let at = title.find(tab.letter()).or_else(|| title.find(tab.letter().to_ascii_lowercase()));
        // Of a language whose word has not got the letter, it stands before the word.
        let (head, rest) = title.split_at(at.unwrap_or(0));
        let rest = if at.is_some() { &rest[1..] } else { rest };
        spans.push(Span::styled(head, style));
        // In capitals within the word too: the key is the capital.
        spans.push(Span::styled(tab.letter().to_string(), letter));
        if at.is_none() {
            spans.push(Span::styled(" ", style));
        }
        spans.push(Span::styled(rest, style));
    }
    spans
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tui::widget::harness::{at_every_size, marked, painted, rows};

    fn top(width: u16, current: Tab) -> ratatui::buffer::Buffer {
        painted(width, 1, |frame| {
            draw(frame, frame.area(), "The Long Bar", current, "Sun 22:14", &Theme::from_env(true));
        })
    }

    #[test]
    fn everything_has_its_place_at_eighty_cells() {
        let drawn = [120, 80, 70, 60, 59, 32].map(|width| rows(&top(width, Tab::Variance)).remove(0)).join("\n");
        insta::assert_snapshot!(drawn, @"
        Tonight Count Variance Orders Receive Losses Stock Par lEvels Drinks House-made TIll GaUging SuPpliers Book    Sun 22:14
        Tonight Count Variance Orders Receive Losses Stock E D H I U P B       Sun 22:14
        Tonight Count Variance Orders Receive Losses S E D H I U P B Sun 22:14
        Tonight Count Variance Orders R L S E D H I U P B  Sun 22:14
        Tonight Count Variance Orders R L S E D H I U P B Sun 22:14
        T C Variance O R L S E D H I U P
        ");
        assert_eq!(marked(&top(80, Tab::Variance), 0, Modifier::REVERSED), "Variance");
        assert_eq!(marked(&top(80, Tab::Variance), 0, Modifier::UNDERLINED), "TCVORLSEDHIUPB");
    }

    #[test]
    fn the_current_screen_is_named_at_sixty() {
        for &tab in Tab::ALL {
            for width in [60, 80] {
                let buffer = top(width, tab);
                assert_eq!(marked(&buffer, 0, Modifier::REVERSED).to_lowercase(), tab.title().to_lowercase());
                assert_eq!(marked(&buffer, 0, Modifier::UNDERLINED), "TCVORLSEDHIUPB");
            }
        }
    }

    #[test]
    fn no_size_panics() {
        at_every_size(|frame| {
            draw(frame, frame.area(), "Bar 梅酒\x1b[2J", Tab::Suppliers, "Sun 22:14", &Theme::from_env(true));
        });
    }
}
