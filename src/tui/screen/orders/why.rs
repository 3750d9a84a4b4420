//! Why the item under the cursor is ordered as it is, and what it would cost from others.

use super::OrdersScreen;
use crate::domain::rows::WhyView;
use crate::domain::venue::ItemId;
use crate::tui::keymap::Action;
use crate::tui::screen::{Effect, Scene};
use crate::tui::text;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};

/// Cells by which what is said is set in.
const INDENT: usize = 2;

impl OrdersScreen {
    /// Shows why; the same item stays scrolled where it was.
    pub fn show_why(&mut self, view: WhyView) {
        let scroll = self.why.take().filter(|(before, _)| before.item == view.item).map(|(_, scroll)| scroll);
        self.why = Some((view, scroll.unwrap_or_default()));
    }

    /// The item that it is read of.
    pub fn explained(&self) -> Option<ItemId> {
        self.why.as_ref().map(|(view, _)| view.item)
    }

    pub(super) fn on_why(&mut self, action: Action) -> Effect {
        match action {
            Action::Back | Action::Open => self.why = None,
            Action::Next => return self.why_of_other(1),
            Action::Previous => return self.why_of_other(-1),
            _ => {
                if let Some((_, scroll)) = &mut self.why {
                    scroll.apply(action);
                }
            }
        }
        Effect::None
    }

    /// On to the next line that is about an item.
    fn why_of_other(&mut self, step: isize) -> Effect {
        let (here, len) = (self.window.selected(), self.len());
        loop {
            let before = self.window.selected();
            self.window.step(step, len);
            match self.item_here() {
                _ if self.window.selected() == before => break,
                Some(item) => return Effect::ExplainOrder(item),
                None => {}
            }
        }
        self.window.select(here, len);
        Effect::None
    }

    pub(super) fn draw_why(&mut self, frame: &mut Frame, area: Rect, scene: Scene) {
        let [head, body] = Layout::vertical([Constraint::Length(1), Constraint::Fill(1)]).areas(area);
        let Some((view, mut scroll)) = self.why.take() else { return };
        let (setup, theme) = (&self.setup, scene.theme);
        let name = text::safe(setup.item_name(view.item));
        let size = setup.item(view.item).map_or(String::new(), |item| {
            say!(", {size} a container", size = setup.venue.show().amount(item.basis, item.size))
        });
        frame.render_widget(
            Span::styled(text::fit(&say!("Why: {name}{size}", name, size), head.width.into()), theme.title),
            head,
        );
        let mut lines: Vec<Line<'static>> = Vec::new();
        let mut part = |title: &'static str, said: Vec<String>| {
            if said.is_empty() {
                return;
            }
            lines.push(Line::from(Span::styled(title, theme.title)));
            for words in said {
                let words = text::sentence(&text::safe(&words));
                for (n, line) in
                    text::wrap(&words, usize::from(body.width).saturating_sub(2 * INDENT)).iter().enumerate()
                {
                    let indent = " ".repeat(if n == 0 { INDENT } else { 2 * INDENT });
                    lines.push(Line::from(Span::styled(format!("{indent}{line}"), theme.text)));
                }
            }
        };
        part(word!("What is there, and what is asked"), view.because.clone());
        part(word!("What is ordered"), view.ordered_words(setup));
        part(word!("From others"), view.elsewhere_words(setup));
        scroll.draw(frame, body, lines, theme);
        self.why = Some((view, scroll));
    }
}
