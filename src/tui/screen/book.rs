//! The Book screen: what was done to the book, by whom and when; who signs here; who has it open.

mod draw;
mod people;
mod set_up;
#[cfg(test)]
mod tests;

use super::{Effect, Scene};
use crate::domain::rows::{ActRow, HistoryView, PersonRow};
use crate::domain::venue::{ActId, Deed, PlaceId};
use crate::tui::keymap::{Action, Scope};
use crate::tui::widget::notice::Notice;
use crate::tui::widget::scroll::Scroll;
use crate::tui::widget::window::Window;
use people::PeoplePage;
use ratatui::Frame;
use ratatui::layout::Rect;
use set_up::SetUpPage;

/// The book itself.
#[derive(Debug)]
pub struct BookScreen {
    view: HistoryView,
    window: Window,
    /// The act that is read, with all that it changed.
    reads: Option<(ActRow, Scroll)>,
    people: Option<PeoplePage>,
    set_up: Option<SetUpPage>,
    /// Everybody who signs.
    known: Vec<PersonRow>,
    /// What each terminal that has the book open says of itself.
    here: Vec<String>,
}

impl BookScreen {
    /// The history, the newest act first.
    pub fn new(view: HistoryView, known: Vec<PersonRow>, here: Vec<String>) -> BookScreen {
        BookScreen { view, window: Window::default(), reads: None, people: None, set_up: None, known, here }
    }

    /// Which keys are live.
    pub fn scope(&self) -> Scope {
        match (&self.people, &self.set_up, &self.reads) {
            (Some(people), ..) => people.scope(),
            (None, Some(_), _) => Scope::SetUp,
            (None, None, Some(_)) => Scope::BookAct,
            (None, None, None) => Scope::Book,
        }
    }

    /// How many acts are shown.
    pub fn shown(&self) -> usize {
        self.view.acts.len()
    }

    fn current(&self) -> Option<&ActRow> {
        self.view.acts.get(self.window.selected())
    }

    /// What an action asks for.
    pub fn update(&mut self, action: Action) -> Effect {
        if let Some(people) = &mut self.people {
            if action == Action::Back && people.scope() == Scope::People {
                self.people = None;
                return Effect::None;
            }
            return people.update(action, &self.known);
        }
        if let Some(page) = &mut self.set_up {
            if action == Action::Back {
                self.set_up = None;
                return Effect::None;
            }
            return page.update(action, &self.view.setup);
        }
        if let Some((_, scroll)) = &mut self.reads {
            match action {
                Action::Back => self.reads = None,
                Action::Next | Action::Previous => {
                    self.window.step(if action == Action::Next { 1 } else { -1 }, self.view.acts.len());
                    return self.current().map_or(Effect::None, |row| Effect::ShowAct(row.act.id));
                }
                Action::Undo | Action::Redo => return self.turn(action),
                _ => {
                    scroll.apply(action);
                }
            }
            return Effect::None;
        }
        match action {
            Action::Open => self.current().map_or(Effect::None, |row| Effect::ShowAct(row.act.id)),
            Action::Undo | Action::Redo => self.turn(action),
            Action::People => {
                self.people = Some(PeoplePage::default());
                Effect::None
            }
            Action::SetUp => {
                self.set_up = Some(SetUpPage::default());
                Effect::None
            }
            Action::Earlier if self.view.more => Effect::EarlierActs,
            Action::Earlier => Effect::Say(Notice::info(word!("these are all that the book knows of"))),
            _ => {
                self.window.apply(action, self.view.acts.len());
                Effect::None
            }
        }
    }

    /// Takes the act under the cursor back, or does it again.
    fn turn(&self, action: Action) -> Effect {
        let Some(row) = self.current() else { return Effect::None };
        let id = row.act.id;
        let deed = row.act.deed.said();
        let what = row.said.first().map_or_else(|| deed.to_owned(), |first| format!("{deed}, {first}"));
        match (action, row.undone) {
            _ if row.act.deed.is_a_beginning() => Effect::Say(Notice::info(word!("with this the book began"))),
            (Action::Undo, Some(_)) => Effect::Say(Notice::info(word!("it is taken back already; r does it again"))),
            (Action::Undo, None) => Effect::ask(
                say!("Take this back: {what}? Both stay in the history.", what),
                word!("takes it back"),
                word!("leaves it"),
                Effect::UndoAct(id),
            ),
            (_, None) => Effect::Say(Notice::info(word!("it stands as it was done; u takes it back"))),
            (_, Some(_)) => Effect::ask(
                say!("Do this again: {what}?", what),
                word!("does it again"),
                word!("leaves it"),
                Effect::RedoAct(id),
            ),
        }
    }

    /// Takes what was pasted.
    pub fn paste(&mut self, text: &str) {
        self.people.iter_mut().for_each(|people| people.paste(text));
    }

    /// Shows one act with all that it changed.
    pub fn show(&mut self, row: ActRow) {
        let scroll = match &self.reads {
            Some((before, scroll)) if before.act.id == row.act.id => *scroll,
            _ => Scroll::default(),
        };
        self.reads = Some((row, scroll));
    }

    /// The act that is read.
    pub fn read(&self) -> Option<ActId> {
        self.reads.as_ref().map(|(row, _)| row.act.id)
    }

    /// Takes fresh rows and keeps the cursor on the same act.
    pub fn refresh(&mut self, view: HistoryView, known: Vec<PersonRow>, here: Vec<String>) {
        let act = self.current().map(|row| row.act.id);
        let at = act.and_then(|id| view.acts.iter().position(|row| row.act.id == id));
        // At the top, what is new comes into view; not what was taken back there, or it would be taken back in its turn.
        let turned = view.acts.first().is_some_and(|row| matches!(row.act.deed, Deed::Undone | Deed::Redone));
        let comes_up = self.window.selected() == 0 && self.reads.is_none() && !turned;
        let at = if comes_up { 0 } else { at.unwrap_or(0) };
        self.window.select(at, view.acts.len());
        (self.view, self.known, self.here) = (view, known, here);
    }

    /// To the line of a place, where the set-up is open.
    pub fn find_place(&mut self, place: PlaceId) {
        self.set_up.iter_mut().for_each(|page| page.find_place(place, &self.view.setup));
    }

    /// To the newest act: where one begins who comes from another screen.
    pub fn to_newest(&mut self) {
        if self.reads.is_none() && self.people.is_none() && self.set_up.is_none() {
            self.window.select(0, self.view.acts.len());
        }
    }

    /// Who else has the book open.
    pub fn here(&mut self, says: &[String]) {
        self.here = says.to_vec();
    }

    /// A person was kept: the form is closed.
    pub fn person_kept(&mut self) {
        self.people.iter_mut().for_each(PeoplePage::kept);
    }

    /// Draws the page that is open.
    pub fn draw(&mut self, frame: &mut Frame, area: Rect, scene: Scene) {
        draw::draw(self, frame, area, scene);
    }
}
