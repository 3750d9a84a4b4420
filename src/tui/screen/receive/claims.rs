//! What is to be claimed from suppliers, until it is settled.

use crate::domain::measure::Money;
use crate::domain::receive::KeptClaim;
use crate::domain::venue::Setup;
use crate::tui::keymap::{Action, Scope};
use crate::tui::screen::{Effect, Scene, fitting};
use crate::tui::text;
use crate::tui::widget::columns::{self, Column, Row, Width};
use crate::tui::widget::field::Field;
use crate::tui::widget::panel::{centred, panel};
use crate::tui::widget::window::Window;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;

const COLUMNS: &[Column] = &[
    Column::words(text!("supplier"), Width::Flex(14), 0),
    Column::words(text!("bill"), Width::Flex(10), 0),
    Column::words(text!("for"), Width::Flex(14), 0),
    Column::words(text!("because"), Width::Fixed(12), 1),
    Column::figures(text!("containers"), 10, 2),
    Column::figures(text!("money"), 9, 0),
    Column::words(text!("since"), Width::Fixed(16), 3),
];
/// Longest word on how a claim was settled.
const LENGTH: usize = 100;

/// The cursor in the list of claims, and what is being typed.
#[derive(Debug, Default)]
pub(super) struct ClaimsPage {
    window: Window,
    how: Option<Field>,
}

impl ClaimsPage {
    pub(super) fn scope(&self) -> Scope {
        if self.how.is_some() { Scope::ClaimEntry } else { Scope::Claims }
    }

    pub(super) fn refresh(&mut self, len: usize) {
        self.window.select(self.window.selected(), len);
        if len == 0 {
            self.how = None;
        }
    }

    pub(super) fn paste(&mut self, pasted: &str) {
        if let Some(field) = &mut self.how {
            field.paste(pasted);
        }
    }

    /// What an action asks for, and whether the page stays open.
    pub(super) fn update(&mut self, action: Action, claims: &[KeptClaim]) -> (Effect, bool) {
        let here = claims.get(self.window.selected());
        match (&mut self.how, action) {
            (Some(field), Action::Accept) => {
                let how = field.text().trim().to_owned();
                self.how = None;
                (here.map_or(Effect::None, |claim| Effect::SettleClaim(claim.id, how)), true)
            }
            (Some(_), Action::Cancel) => {
                self.how = None;
                (Effect::None, true)
            }
            (Some(field), _) => {
                field.apply(action);
                (Effect::None, true)
            }
            (None, Action::Back) => (Effect::None, false),
            (None, Action::Settle) => {
                self.how = here.map(|_| Field::new(LENGTH));
                (Effect::None, true)
            }
            (None, _) => {
                self.window.apply(action, claims.len());
                (Effect::None, true)
            }
        }
    }

    pub(super) fn draw(&mut self, setup: &Setup, claims: &[KeptClaim], frame: &mut Frame, area: Rect, scene: Scene) {
        let theme = scene.theme;
        let [head, body, foot] =
            Layout::vertical([Constraint::Length(1), Constraint::Fill(1), Constraint::Length(2)]).areas(area);
        let show = setup.venue.show();
        let total: Money = claims.iter().map(|claim| claim.money).sum();
        let title = match claims.len() {
            0 => word!("nothing is to be claimed").to_owned(),
            n => say!(
                "{n} to claim, {total} {currency} without tax",
                n,
                total = show.money(total),
                currency = show.currency
            ),
        };
        frame.render_widget(fitting::line([Span::styled(title, theme.title)], head.width.into()), head);
        let row = |at: usize| {
            let Some(claim) = claims.get(at) else { return Row::Cells(Vec::new()) };
            let supplier = setup.supplier(claim.supplier).map_or("?", |supplier| &supplier.name);
            let item = claim.item.map_or("", |item| setup.item_name(item));
            Row::Cells(vec![
                Line::from(text::safe(supplier)),
                Line::from(text::safe(&claim.document)),
                Line::from(text::safe(item)),
                Line::from(claim.kind.said()),
                Line::from(claim.containers.to_string()),
                Line::from(show.money(claim.money)),
                Line::from(setup.venue.days.short(claim.at)),
            ])
        };
        columns::draw(frame, body, COLUMNS, claims.len(), &mut self.window, row, theme);
        let note = claims.get(self.window.selected()).map_or("", |claim| claim.note.as_str());
        let lines = text::wrap(&text::safe(note), foot.width.into());
        let lines: Vec<Line> = lines.into_iter().map(|line| Line::from(Span::styled(line, theme.muted))).collect();
        frame.render_widget(Paragraph::new(lines), foot);
        if let Some(field) = &self.how {
            let inner = panel(frame, centred(area, 60, 4), word!("How was it settled?"), theme);
            let [line, hint] = Layout::vertical([Constraint::Length(1), Constraint::Fill(1)]).areas(inner);
            field.draw(frame, line, true, theme);
            let said = word!("a credit note's number, paid, let go; may be left empty");
            frame.render_widget(Span::styled(text::fit(said, hint.width.into()), theme.muted), hint);
        }
    }
}
