//! The files that were taken in, and taking one back.

use crate::domain::measure::number_of;
use crate::domain::rows::TillView;
use crate::domain::till::{TakenAs, TakenFile};
use crate::tui::keymap::Action;
use crate::tui::screen::{Effect, Scene};
use crate::tui::text;
use crate::tui::widget::columns::{self, Column, Row, Width};
use crate::tui::widget::notice::Notice;
use crate::tui::widget::window::Window;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};

const COLUMNS: &[Column] = &[
    Column::words(text!("file"), Width::Flex(24), 0),
    Column::words(text!("taken in"), Width::Fixed(16), 0),
    Column::words(text!("as"), Width::Fixed(13), 0),
    Column::figures(text!("new lines"), 9, 1),
    Column::words(text!("by"), Width::Fixed(6), 2),
];

/// The cursor in the list of files.
#[derive(Debug, Default)]
pub(super) struct TakenList {
    window: Window,
}

impl TakenList {
    pub(super) fn update(&mut self, action: Action, view: &TillView) -> Effect {
        match action {
            Action::Undo => match view.files.get(self.window.selected()) {
                None => Effect::None,
                Some(file) if file.withdrawn => {
                    let what = match file.what {
                        TakenAs::Sales => word!("it is taken back already; its sales are kept apart"),
                        TakenAs::Invoice => word!("it is taken back already"),
                        TakenAs::SetAside => word!("it is not set aside any more"),
                    };
                    Effect::Say(Notice::info(what))
                }
                Some(file) if file.what == TakenAs::Invoice => Effect::Say(Notice::info(word!(
                    "a bill is taken back on the screen Receive (R), where b lists them"
                ))),
                Some(file) => ask(file),
            },
            _ => {
                self.window.apply(action, view.files.len());
                Effect::None
            }
        }
    }

    pub(super) fn refresh(&mut self, view: &TillView) {
        self.window.select(self.window.selected(), view.files.len());
    }

    pub(super) fn draw(&mut self, view: &TillView, frame: &mut Frame, area: Rect, scene: Scene) {
        let theme = scene.theme;
        let [head, body] = Layout::vertical([Constraint::Length(2), Constraint::Fill(1)]).areas(area);
        let title = match view.files.len() {
            0 => word!("No file was taken in yet.").to_owned(),
            1 => word!("1 file was taken in; a file is known by what is in it, whatever it is called").to_owned(),
            n => say!("{n} files were taken in last; a file is known by what is in it, whatever it is called", n),
        };
        frame.render_widget(Span::styled(text::fit(&title, head.width.into()), theme.title), head);
        let days = view.setup.venue.days;
        let row = |at: usize| {
            let Some(file) = view.files.get(at) else { return Row::Cells(Vec::new()) };
            let (what, style) = match (file.what, file.withdrawn) {
                (TakenAs::SetAside, true) => (word!("offered again"), theme.muted),
                (_, true) => (word!("taken back"), theme.warning),
                (TakenAs::Sales, false) => (word!("sales"), theme.text),
                (TakenAs::Invoice, false) => (word!("a bill"), theme.text),
                (TakenAs::SetAside, false) => (word!("set aside"), theme.text),
            };
            Row::Cells(vec![
                Line::from(text::safe(&file.name)),
                Line::from(days.short(file.at)),
                Line::from(Span::styled(what, style)),
                Line::from(if file.what == TakenAs::SetAside { String::new() } else { file.added.to_string() }),
                Line::from(text::safe(file.by.as_deref().unwrap_or_default())),
            ])
        };
        columns::draw(frame, body, COLUMNS, view.files.len(), &mut self.window, row, theme);
    }
}

fn ask(file: &TakenFile) -> Effect {
    let name = text::safe(&file.name);
    if file.what == TakenAs::SetAside {
        return Effect::ask(
            say!("“{name}” was set aside. Offer it again?", name),
            word!("offers it again"),
            word!("leaves it"),
            Effect::OfferFile(file.id, name),
        );
    }
    let lines = number_of(file.added, word!("line of sales"), word!("lines of sales"));
    Effect::ask(
        say!(
            "Take “{name}” back? Its {lines} no longer count; the book keeps them apart, and the file can be taken in \
             again, read another way.",
            name,
            lines
        ),
        word!("takes it back"),
        word!("leaves it"),
        Effect::WithdrawFile(file.id),
    )
}
