//! Bills that were booked, to be looked up and taken back.

use crate::domain::receive::{Bill, DocumentKind};
use crate::domain::venue::Setup;
use crate::tui::keymap::{Action, Scope};
use crate::tui::screen::{Effect, Scene, fitting};
use crate::tui::text;
use crate::tui::widget::columns::{self, Column, Row, Width};
use crate::tui::widget::notice::Notice;
use crate::tui::widget::window::Window;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};

const COLUMNS: &[Column] = &[
    Column::words(text!("supplier"), Width::Flex(14), 0),
    Column::words(text!("number"), Width::Flex(12), 0),
    Column::words(text!("what"), Width::Fixed(12), 2),
    Column::words(text!("dated"), Width::Fixed(10), 1),
    Column::figures(text!("goods"), 10, 0),
    Column::figures(text!("to pay"), 10, 3),
    Column::words(text!("booked"), Width::Fixed(16), 1),
    Column::words(text!("by"), Width::Fixed(4), 4),
];

/// The column of what is to be paid.
const TO_PAY: usize = 5;

/// The cursor in the list of bills.
#[derive(Debug, Default)]
pub(super) struct BookedPage {
    window: Window,
}

impl BookedPage {
    pub(super) fn scope(&self) -> Scope {
        Scope::BookedBills
    }

    pub(super) fn refresh(&mut self, len: usize) {
        self.window.select(self.window.selected(), len);
    }

    /// What an action asks for, and whether the page stays open.
    pub(super) fn update(&mut self, action: Action, bills: &[Bill], setup: &Setup) -> (Effect, bool) {
        match action {
            Action::Back => (Effect::None, false),
            Action::Undo => {
                let Some(bill) = bills.get(self.window.selected()) else {
                    return (
                        Effect::Say(Notice::info(word!(
                            "no bill is booked; deliveries that came without one stand in the Book (B)"
                        ))),
                        true,
                    );
                };
                let who = setup.supplier(bill.supplier).map_or("?", |supplier| &supplier.name);
                let who = text::fit(&text::safe(who), 24);
                let stock = match bill.kind {
                    DocumentKind::CreditNote => {
                        word!("What went back comes into stock again, claims that it settled are open again")
                    }
                    _ => word!(
                        "What it brought leaves stock again, its claims are dropped, its order is on its way again"
                    ),
                };
                let question = say!(
                    "Take back {kind} “{number}” of {who}? {stock}; its file can be taken in anew.",
                    kind = bill.kind.said(),
                    number = bill.number,
                    who,
                    stock
                );
                (
                    Effect::ask(
                        question,
                        word!("takes the bill back"),
                        word!("leaves it booked"),
                        Effect::TakeBackBill(bill.id),
                    ),
                    true,
                )
            }
            _ => {
                self.window.apply(action, bills.len());
                (Effect::None, true)
            }
        }
    }

    pub(super) fn draw(&mut self, setup: &Setup, bills: &[Bill], frame: &mut Frame, area: Rect, scene: Scene) {
        let theme = scene.theme;
        let [head, body] = Layout::vertical([Constraint::Length(1), Constraint::Fill(1)]).areas(area);
        let show = setup.venue.show();
        let title = match bills.len() {
            0 => word!("no bill is booked; deliveries that came without one stand in the Book (B)").to_owned(),
            1 => word!("1 bill is booked").to_owned(),
            n => say!("the last {n} bills booked", n),
        };
        let row = |at: usize| {
            let Some(bill) = bills.get(at) else { return Row::Cells(Vec::new()) };
            let supplier = setup.supplier(bill.supplier).map_or("?", |supplier| &supplier.name);
            Row::Cells(vec![
                Line::from(text::safe(supplier)),
                Line::from(text::safe(&bill.number)),
                Line::from(bill.kind.said()),
                Line::from(bill.issued.to_string()),
                Line::from(show.money(bill.goods)),
                Line::from(bill.payable.map_or(String::new(), |payable| show.money(payable))),
                Line::from(setup.venue.days.short(bill.at)),
                Line::from(bill.by.as_deref().map_or(String::new(), text::safe)),
            ])
        };
        let cells = columns::draw(frame, body, COLUMNS, bills.len(), &mut self.window, row, theme);
        // The heading speaks of the columns that there is room for.
        let says = match cells.get(TO_PAY) {
            Some(Some(_)) => word!("goods without tax, to pay with it"),
            _ => word!("goods without tax"),
        };
        let coin = Span::styled(format!("{says}, {}", show.currency), theme.muted);
        frame.render_widget(fitting::line([Span::styled(title, theme.title), coin], head.width.into()), head);
    }
}
