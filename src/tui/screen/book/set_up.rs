//! The set-up that has no screen of its own: the bar, its places, its special days.

use crate::domain::measure::number_of;
use crate::domain::rows::CardOf;
use crate::domain::venue::{PlaceId, Setup};
use crate::tui::keymap::Action;
use crate::tui::screen::{Effect, take_away};
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::columns::{self, Column, Row, Width};
use crate::tui::widget::notice::Notice;
use crate::tui::widget::window::Window;
use crate::words;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;

const COLUMNS: &[Column] =
    &[Column::words(text!("what"), Width::Flex(18), 0), Column::words(text!("as it is"), Width::Flex(30), 0)];

/// Where the rest of it is.
const ELSEWHERE: &str = text!(
    "Items are under Stock (S), drinks under Drinks (D), suppliers under Suppliers (P), shapes and weights \
    under Gauging (U); a folder of plain files changes all of it (tantalus load)."
);

/// One line: a heading, or something that has a card.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Entry {
    of: CardOf,
    /// None for the bar, and for a heading.
    id: Option<i64>,
    heading: Option<&'static str>,
}

/// The list of it.
#[derive(Debug)]
pub(super) struct SetUpPage {
    window: Window,
}

impl Default for SetUpPage {
    /// The cursor on the bar, which stands under the first heading.
    fn default() -> SetUpPage {
        let mut window = Window::default();
        window.select(1, 2);
        SetUpPage { window }
    }
}

fn entries(setup: &Setup) -> Vec<Entry> {
    let heading = |of, said| Entry { of, id: None, heading: Some(said) };
    let entry = |of, id| Entry { of, id, heading: None };
    let mut out = vec![heading(CardOf::Bar, word!("The bar")), entry(CardOf::Bar, None)];
    out.push(heading(CardOf::Place, word!("Places, as they are walked")));
    out.extend(setup.places.iter().map(|place| entry(CardOf::Place, Some(place.id.0))));
    out.push(heading(CardOf::Day, word!("Days that are not as usual")));
    out.extend(setup.special.all().iter().map(|day| entry(CardOf::Day, Some(day.id.0))));
    out
}

impl SetUpPage {
    /// What an action asks for.
    pub(super) fn update(&mut self, action: Action, setup: &Setup) -> Effect {
        let entries = entries(setup);
        let here = entries.get(self.window.selected()).copied();
        match (action, here) {
            (Action::Change, Some(Entry { heading: None, of, id })) => Effect::OpenCard(of, id),
            // Under a heading, or the bar itself, the next place is the likeliest.
            (Action::New, Some(Entry { of: CardOf::Day, .. })) => Effect::OpenCard(CardOf::Day, None),
            (Action::New, _) => Effect::OpenCard(CardOf::Place, None),
            (Action::TakeAway, Some(Entry { of, id: Some(id), .. })) => take_away(of, id, &name(setup, of, id)),
            (Action::TakeAway, _) => Effect::Say(Notice::info(word!("that stays; places and days can be taken away"))),
            (Action::Change, _) => {
                Effect::Say(Notice::info(word!("nothing is under this heading yet: a takes one in")))
            }
            _ => {
                // A heading with nothing under it can be gone to, so that the first can be taken in there.
                let rests = |at: usize| {
                    let next = entries.get(at + 1).is_none_or(|next| next.heading.is_some());
                    entries.get(at).is_some_and(|entry| entry.heading.is_none() || next)
                };
                self.window.apply_past(action, entries.len(), rests);
                self.window.settle(true, entries.len(), rests);
                Effect::None
            }
        }
    }

    /// Goes to the line of a place.
    pub(super) fn find_place(&mut self, place: PlaceId, setup: &Setup) {
        let entries = entries(setup);
        if let Some(at) = entries.iter().position(|entry| (entry.of, entry.id) == (CardOf::Place, Some(place.0))) {
            self.window.select(at, entries.len());
        }
    }

    /// Draws the list, and where the rest is.
    pub(super) fn draw(&mut self, frame: &mut Frame, area: Rect, setup: &Setup, theme: &Theme) {
        let foot: Vec<Line> = text::wrap(words::find(ELSEWHERE), area.width.into())
            .into_iter()
            .map(|line| Line::from(Span::styled(line, theme.muted)))
            .collect();
        let tall = u16::try_from(foot.len()).unwrap_or(0).min(area.height / 2);
        let [body, below] = Layout::vertical([Constraint::Fill(1), Constraint::Length(tall)]).areas(area);
        let entries = entries(setup);
        let row = |at: usize| match entries[at] {
            Entry { heading: Some(heading), .. } => Row::Heading(Line::from(Span::styled(heading, theme.title))),
            Entry { of, id, .. } => {
                let (name, said) = told(setup, of, id);
                Row::Cells(vec![Line::from(text::safe(&name)), Line::from(text::safe(&said))])
            }
        };
        columns::draw(frame, body, COLUMNS, entries.len(), &mut self.window, row, theme);
        frame.render_widget(Paragraph::new(foot), below);
    }
}

fn name(setup: &Setup, of: CardOf, id: i64) -> String {
    told(setup, of, Some(id)).0
}

/// What something is called, and what it is like.
fn told(setup: &Setup, of: CardOf, id: Option<i64>) -> (String, String) {
    let venue = &setup.venue;
    match (of, id) {
        (CardOf::Bar, _) => {
            let starts = venue.days.starts.format("%H:%M");
            let zone = venue.days.zone.name().replace('_', " ");
            let said = say!(
                "{currency}, {zone}, a day begins at {starts}, volumes in {volume}",
                currency = venue.currency,
                zone,
                starts,
                volume = venue.volume.word()
            );
            (venue.name.clone(), said)
        }
        (CardOf::Place, Some(id)) => {
            let items = setup.spots().filter(|shelf| shelf.place == PlaceId(id)).count();
            (
                setup.place_name(PlaceId(id)).to_owned(),
                number_of(items, word!("item stands there"), word!("items stand there")),
            )
        }
        (CardOf::Day, Some(id)) => match setup.special.all().iter().find(|day| day.id.0 == id) {
            Some(day) => (day.what.clone(), format!("{}: {}", day.days.words(), setup.day_words(day))),
            None => ("?".to_owned(), String::new()),
        },
        _ => ("?".to_owned(), String::new()),
    }
}
