//! The list of the keys that work where one is, narrowed by typing.

use super::field::Field;
use super::panel::{centred, panel};
use super::window::Window;
use crate::domain::venue::Rights;
use crate::tui::keymap::{self, Action, Binding, Scope};
use crate::tui::text;
use crate::tui::theme::Theme;
use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

/// The widest and highest that the box gets.
const WIDTH: u16 = 76;
const HEIGHT: u16 = 22;
/// The column of keys.
const KEYS: usize = 18;

/// The help over one scope. While it is open, the keyboard is in [`Scope::Help`].
#[derive(Clone, Debug)]
pub struct Help {
    scope: Scope,
    rights: Rights,
    filter: Field,
    window: Window,
}

enum Entry {
    Title(Scope),
    Key(&'static Binding),
}

impl Help {
    /// The keys that are live in a scope for whoever has such rights.
    pub fn new(scope: Scope, rights: Rights) -> Help {
        Help { scope, rights, filter: Field::new(30), window: Window::default() }
    }

    /// Takes typing and scrolling; false for an action that is not its own (closing it, leaving the program).
    pub fn apply(&mut self, action: Action) -> bool {
        let lines = self.entries().len();
        if self.window.apply(action, lines) {
            if action == Action::PageDown {
                // A cursor that only moves to the end of the window looks as if nothing had happened.
                self.window.lead();
            }
            return true;
        }
        let typed = self.filter.apply(action);
        if typed {
            self.window = Window::default();
        }
        typed
    }

    /// Takes pasted text into the filter.
    pub fn paste(&mut self, pasted: &str) {
        self.filter.paste(pasted);
        self.window = Window::default();
    }

    /// Draws the box in the middle of the area.
    pub fn draw(&mut self, frame: &mut Frame, area: Rect, theme: &Theme) {
        let inner = panel(frame, centred(area, WIDTH, HEIGHT), word!("Keys that work here"), theme);
        if inner.is_empty() {
            return;
        }
        let [top, list] = [Rect { height: 1, ..inner }, Rect { y: inner.y + 1, height: inner.height - 1, ..inner }];
        let prompt = word!("A key or a word: ");
        let shown = text::fit(prompt, usize::from(top.width / 2));
        let used = u16::try_from(text::width(&shown)).unwrap_or(0);
        frame.render_widget(Span::styled(shown, theme.hint), top);
        let rest = Rect { x: top.x + used, width: top.width - used, ..top };
        let field = Rect { width: rest.width.min(30), ..rest };
        self.filter.draw(frame, field, true, theme);

        let entries = self.entries();
        let view = self.window.scroll(usize::from(list.height), entries.len());
        if entries.len() > view.len() && rest.width > field.width {
            let position = Line::from(Span::styled(self.window.position(entries.len()), theme.muted));
            let beside = Rect { x: field.right(), width: rest.width - field.width, ..rest };
            frame.render_widget(position.right_aligned(), beside);
        }
        if entries.is_empty() && list.height > 0 {
            frame.render_widget(Span::styled(word!("No key here is called that or does that."), theme.text), list);
        }
        let selected = self.window.selected();
        for ((at, entry), y) in entries.iter().enumerate().take(view.end).skip(view.start).zip(list.y..list.bottom()) {
            let place = Rect { y, height: 1, ..list };
            frame.render_widget(entry.line(list.width, theme), place);
            if at == selected {
                frame.buffer_mut().set_style(place, theme.selected);
            }
        }
    }

    fn entries(&self) -> Vec<Entry> {
        let words = self.filter.text().trim().to_lowercase();
        let live: Vec<&'static Binding> = keymap::active(self.scope, self.rights).collect();
        let mut found: Vec<&'static Binding> =
            live.iter().copied().filter(|binding| is_called(binding, self.filter.text().trim())).collect();
        // A single character is nearly always meant as a key; the words have it only if no key has.
        if found.is_empty() || text::width(&words) > 1 {
            found = live.into_iter().filter(|binding| says(binding, &words)).collect();
        }
        let mut entries = Vec::new();
        let mut under = None;
        for binding in found {
            if under != Some(binding.scope) {
                under = Some(binding.scope);
                entries.push(Entry::Title(binding.scope));
            }
            entries.push(Entry::Key(binding));
        }
        entries
    }
}

fn is_called(binding: &Binding, key: &str) -> bool {
    binding.keys.iter().any(|k| k.label() == key)
}

fn says(binding: &Binding, words: &str) -> bool {
    let all = format!("{} {} {}", binding.labels(), binding.said_hint(), binding.said_help()).to_lowercase();
    words.split_whitespace().all(|word| all.contains(word))
}

impl Entry {
    fn line(&self, width: u16, theme: &Theme) -> Line<'static> {
        match self {
            Entry::Title(scope) => Line::from(Span::styled(text::fit(scope.title(), width.into()), theme.title)),
            Entry::Key(binding) => {
                let keys = text::pad_right(&format!("  {}", binding.labels()), KEYS.min(width.into()));
                let help = text::fit(binding.said_help(), usize::from(width).saturating_sub(KEYS + 1));
                Line::from(vec![Span::styled(keys, theme.key), Span::styled(format!(" {help}"), theme.hint)])
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tui::widget::harness::{at_every_size, shown};

    fn typed(scope: Scope, filter: &str) -> Help {
        let mut help = Help::new(scope, Rights::Everything);
        for c in filter.chars() {
            assert!(help.apply(Action::Type(c)));
        }
        help
    }

    fn drawn(mut help: Help) -> String {
        shown(80, 14, |frame| help.draw(frame, frame.area(), &Theme::default()))
    }

    #[test]
    fn the_keys_of_the_scope_come_first() {
        insta::assert_snapshot!(drawn(Help::new(Scope::Losses, Rights::NoCosts)), @"
        ┌ Keys that work here ─────────────────────────────────────────────────────┐
        │ A key or a word:                                                    1/38 │
        │ Losses                                                                   │
        │   a                Write down what was broken, spilt or given away.      │
        │   u                Take the loss under the cursor back.                  │
        │ On every screen                                                          │
        │   /                Find an item by a few of its letters.                 │
        │   Ctrl-P           Find anything by its letters: go there, or do it.     │
        │   ?                Show every key that works here.                       │
        │   Tab              Go to the next screen.                                │
        │   Shift-Tab        Go to the screen before.                              │
        │   q                Leave the program; what was accepted is kept.         │
        │   T                Go to Tonight: what is due.                           │
        └──────────────────────────────────────────────────────────────────────────┘
        ");
    }

    #[test]
    fn narrowed_by_a_key_or_by_words() {
        insta::assert_snapshot!(drawn(typed(Scope::Orders, "w")), @r"
        ┌ Keys that work here ─────────────────────────────────────────────────────┐
        │ A key or a word: w                                                       │
        │ Orders                                                                   │
        │   w                Write PDF, e-mail, text, CSV and electronic order.    │
        │                                                                          │
        │                                                                          │
        │                                                                          │
        │                                                                          │
        │                                                                          │
        │                                                                          │
        │                                                                          │
        │                                                                          │
        │                                                                          │
        └──────────────────────────────────────────────────────────────────────────┘
        ");
        insta::assert_snapshot!(drawn(typed(Scope::Orders, "PACK more")), @r"
        ┌ Keys that work here ─────────────────────────────────────────────────────┐
        │ A key or a word: PACK more                                               │
        │ Orders                                                                   │
        │   +                Order one pack more.                                  │
        │                                                                          │
        │                                                                          │
        │                                                                          │
        │                                                                          │
        │                                                                          │
        │                                                                          │
        │                                                                          │
        │                                                                          │
        │                                                                          │
        └──────────────────────────────────────────────────────────────────────────┘
        ");
        assert!(drawn(typed(Scope::Orders, "zzz")).contains("No key here"));
    }

    #[test]
    fn a_window_down_scrolls_at_once() {
        let mut help = Help::new(Scope::Losses, Rights::Everything);
        let before = drawn(help.clone());
        help.window.scroll(11, help.entries().len());
        help.apply(Action::PageDown);
        let after = drawn(help.clone());
        let (last, first) = (before.lines().nth(12).unwrap(), after.lines().nth(2).unwrap());
        assert_eq!(last, first, "{before}\n{after}");
        help.window.scroll(11, help.entries().len());
        help.apply(Action::PageUp);
        assert_eq!(drawn(help), before);
    }

    #[test]
    fn every_live_key_can_be_scrolled_to() {
        for &scope in Scope::ALL {
            let mut help = Help::new(scope, Rights::Everything);
            let mut seen = String::new();
            for _ in 0..80 {
                seen += &shown(80, 24, |frame| help.draw(frame, frame.area(), &Theme::default()));
                assert!(help.apply(Action::Down));
            }
            for binding in keymap::active(scope, Rights::Everything) {
                assert!(seen.contains(binding.help), "{scope:?}: {}", binding.help);
            }
        }
        assert!(!Help::new(Scope::Stock, Rights::Everything).apply(Action::Cancel));
    }

    #[test]
    fn no_size_panics() {
        at_every_size(|frame| typed(Scope::CountList, "n").draw(frame, frame.area(), &Theme::from_env(true)));
        at_every_size(|frame| {
            Help::new(Scope::Find, Rights::Everything).draw(frame, frame.area(), &Theme::from_env(true))
        });
    }
}
