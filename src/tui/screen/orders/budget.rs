//! A budget for all orders together: typed, told, taken away again.

use super::OrdersScreen;
use crate::domain::measure::{Money, decimal};
use crate::domain::order::Waits;
use crate::tui::keymap::Action;
use crate::tui::screen::{Effect, fitting};
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::field::Field;
use crate::tui::widget::notice::Notice;
use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

/// Room for any sum that a bar has.
const LENGTH: usize = 16;

impl OrdersScreen {
    /// What all orders together may cost, where somebody said. It is not kept in the book: it is what there is to spend
    /// today, and a program that is started anew begins without.
    pub fn budget(&self) -> Option<Money> {
        self.view.budget
    }

    /// Begins to type it; what it is so far can be typed over.
    pub(super) fn begin_budget(&mut self) -> Effect {
        let so_far = self.view.budget.map(|budget| self.setup.venue.currency.shown(budget));
        let mut field = Field::with(LENGTH, so_far.as_deref().unwrap_or_default());
        field.mark();
        self.budget_entry = Some(field);
        Effect::None
    }

    pub(super) fn type_budget(&mut self, action: Action) -> Effect {
        let Some(field) = &mut self.budget_entry else { return Effect::None };
        match action {
            Action::Accept => {
                let typed = decimal::pointed(field.text().trim());
                let budget = match (typed.as_str(), self.setup.venue.currency.parse(&typed)) {
                    ("", _) => None,
                    (_, Ok(budget)) if budget >= Money::ZERO => Some(budget),
                    (_, Ok(_)) => {
                        return Effect::Say(Notice::error(word!("a budget is a sum of nothing or more, such as 1500")));
                    }
                    (_, Err(wrong)) => return Effect::Say(Notice::error(say!("the budget: {wrong}", wrong))),
                };
                self.budget_entry = None;
                Effect::PlanOrders(budget)
            }
            Action::Cancel => {
                self.budget_entry = None;
                Effect::None
            }
            _ => {
                field.apply(action);
                Effect::None
            }
        }
    }

    /// Draws what is being typed over the first line of an area.
    pub(super) fn draw_budget_entry(&self, frame: &mut Frame, area: Rect, theme: &Theme) {
        let Some(field) = &self.budget_entry else { return };
        let label = say!("For all orders together, {currency}: ", currency = self.setup.venue.currency);
        let label = text::fit(&label, usize::from(area.width.saturating_sub(LENGTH as u16)));
        let room = u16::try_from(text::width(&label)).unwrap_or(0).min(area.width);
        let line = Rect { height: area.height.min(1), ..area };
        frame.render_widget(Line::from(Span::styled(label, theme.title)), line);
        let place = Rect { x: line.x + room, width: (line.width - room).min(LENGTH as u16 + 1), ..line };
        field.draw(frame, place, true, theme);
    }

    /// What the budget is, what all orders cost, and what it leaves out; none without a budget.
    pub(super) fn budget_line(&self, wide: usize, theme: &Theme) -> Option<Line<'static>> {
        let budget = self.view.budget?;
        let show = self.setup.venue.show();
        let paid = self.view.paid(&self.setup);
        let left = self.view.waiting_for(Waits::Budget).len();
        let all = if paid > budget {
            let over = show.money(paid - budget);
            Span::styled(say!("all orders {paid}, OVER by {over}", paid = show.money(paid), over), theme.warning)
        } else {
            Span::raw(say!("all orders {paid}", paid = show.money(paid)))
        };
        let left = match left {
            0 => word!("nothing left out").to_owned(),
            n => say!("{n} left out, on the last page", n),
        };
        let budget = Span::styled(say!("budget {budget}", budget = show.coin(budget)), theme.title);
        Some(fitting::line([budget, all, Span::raw(left)], wide))
    }
}
