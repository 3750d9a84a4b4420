//! The hint line: which keys do what here.

use crate::domain::venue::Rights;
use crate::tui::keymap::{self, Action, Binding, Does, Scope};
use crate::tui::pointer::{self, Target};
use crate::tui::text;
use crate::tui::theme::Theme;
use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

/// Blank cells between two hints.
const GAP: usize = 2;

/// Draws as many hints of the scope as fit, in the order of the key table, for whoever has such rights. The one for help stands at the right end and
/// is the last to go.
pub fn draw(frame: &mut Frame, area: Rect, scope: Scope, rights: Rights, theme: &Theme) {
    frame.render_widget(line(scope, rights, area.width, theme), area);
    // Where each hint stands is looked up in the line that was drawn: it is the one that knows which of them fit.
    let shown = line(scope, rights, area.width, theme);
    let mut x = area.x;
    let mut spans = shown.spans.iter().peekable();
    while let Some(span) = spans.next() {
        let wide = u16::try_from(text::width(&span.content)).unwrap_or(u16::MAX);
        let does = spans.peek().map_or(0, |does| u16::try_from(text::width(&does.content)).unwrap_or(u16::MAX));
        let named = |binding: &&Binding| binding.keys.first().is_some_and(|key| key.label() == span.content);
        let hinted = |binding: &&Binding| !binding.hint.is_empty() && named(binding);
        let key = keymap::active(scope, rights).find(hinted).and_then(|binding| binding.keys.first()?.pressed());
        if let Some(key) = key.filter(|_| span.style == theme.key) {
            pointer::put(Rect { x, width: wide + does, ..area }.intersection(area), Target::Key(key));
        }
        x = x.saturating_add(wide);
    }
}

/// The hint line at a width in cells.
pub fn line(scope: Scope, rights: Rights, width: u16, theme: &Theme) -> Line<'static> {
    let is_help = |binding: &Binding| matches!(binding.does, Does::Act(Action::Help));
    let help = keymap::active(scope, rights).find(|binding| is_help(binding)).and_then(hint);
    let room = usize::from(width);
    let reserved = help.as_ref().map_or(0, |help| cells(help) + GAP);
    let mut spans = Vec::new();
    let mut used = 0;
    for binding in keymap::active(scope, rights).filter(|binding| !is_help(binding)) {
        let Some(hint) = hint(binding) else { continue };
        let before = if used == 0 { 0 } else { GAP };
        if used + before + cells(&hint) + reserved > room {
            break;
        }
        used += before + cells(&hint);
        push(&mut spans, before, hint, theme);
    }
    if let Some(help) = help.filter(|help| cells(help) <= room) {
        push(&mut spans, room - used - cells(&help), help, theme);
    }
    Line::from(spans)
}

fn hint(binding: &Binding) -> Option<(String, &'static str)> {
    let key = binding.keys.first()?;
    (!binding.hint.is_empty()).then(|| (key.label(), binding.said_hint()))
}

fn cells((key, does): &(String, &str)) -> usize {
    text::width(key) + 1 + text::width(does)
}

fn push(spans: &mut Vec<Span<'static>>, before: usize, (key, does): (String, &'static str), theme: &Theme) {
    spans.push(Span::raw(" ".repeat(before)));
    spans.push(Span::styled(key, theme.key));
    spans.push(Span::styled(format!(" {does}"), theme.hint));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tui::widget::harness::at_every_size;

    #[test]
    fn help_is_the_last_to_go() {
        let theme = Theme::default();
        let at = |width| line(Scope::CountList, Rights::Everything, width, &theme).to_string();
        insta::assert_snapshot!([80, 60, 30, 8, 6, 5].map(|width| format!("[{}]", at(width))).join("\n"), @r"
        [0-9 type it  u undo  d place done  x count done  a add  n next place      ? help]
        [0-9 type it  u undo  d place done  x count done       ? help]
        [0-9 type it  u undo     ? help]
        [  ? help]
        [? help]
        []
        ");
        for &scope in Scope::ALL {
            for width in 0..200 {
                let line = line(scope, Rights::NoStock, width, &theme).to_string();
                assert!(text::width(&line) <= usize::from(width));
                let has_help =
                    keymap::active(scope, Rights::NoStock).any(|b| matches!(b.does, Does::Act(Action::Help)));
                assert_eq!(line.ends_with("? help"), has_help && width >= 6, "{scope:?} at {width}");
            }
        }
    }

    #[test]
    fn what_is_a_managers_is_not_hinted_to_a_counter() {
        let hints = |rights| line(Scope::Drinks, rights, 140, &Theme::default()).to_string();
        assert!(hints(Rights::Everything).contains("e change") && hints(Rights::Everything).contains("what if"));
        let seen = hints(Rights::NoCosts).split_whitespace().collect::<Vec<_>>().join(" ");
        assert_eq!(seen, "Enter open s sort v which / find Ctrl-P anything Tab screen q quit ? help");
    }

    #[test]
    fn while_typing_only_what_works_is_named() {
        insta::assert_snapshot!(line(Scope::CountEntry, Rights::NoCosts, 60, &Theme::default()).to_string(), @r"Enter keep  Down keep, line down  Esc leave as it was");
    }

    #[test]
    fn no_size_panics() {
        for &scope in Scope::ALL {
            at_every_size(|frame| draw(frame, frame.area(), scope, Rights::Everything, &Theme::from_env(true)));
        }
    }
}
