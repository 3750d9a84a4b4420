//! The Till screen: what the till's names mean, and the files that its sales come from.

mod draw;
mod look;
mod taken;
#[cfg(test)]
mod tests;

use super::Effect;
use crate::domain::measure::Decimal;
use crate::domain::measure::decimal::{self, pointed};
use crate::domain::rows::{SalesLook, TillRow, TillView};
use crate::domain::till::Meaning;
use crate::domain::venue::{DrinkId, TillId, TillMeaning};
use crate::tui::keymap::{Action, Scope};
use crate::tui::text;
use crate::tui::widget::field::Field;
use crate::tui::widget::notice::Notice;
use crate::tui::widget::window::Window;
use look::LookPage;
use taken::TakenList;

/// Candidates that are shown, and that a digit takes.
const SHOWN: usize = 5;
/// Longest portion that can be typed.
const PORTION: usize = 8;
/// Nobody sells a thousand of a drink under one name.
const LARGEST: i64 = 100_000;

/// The names of the till, over them a file that is looked at or the list of files taken in.
#[derive(Debug)]
pub struct TillScreen {
    view: TillView,
    /// Names that mean something are listed as well.
    all: bool,
    window: Window,
    /// The portion that is being typed.
    portion: Option<Field>,
    /// What was said last, to be taken back: the name, what it meant before.
    said: Vec<(TillId, TillMeaning)>,
    /// The name whose meaning was taken back: the cursor goes to it once that is done.
    goes_to: Option<TillId>,
    look: Option<LookPage>,
    taken: Option<TakenList>,
}

impl TillScreen {
    /// The names, those that mean nothing yet.
    pub fn new(view: TillView) -> TillScreen {
        let all = view.waiting() == 0;
        let window = Window::default();
        TillScreen { view, all, window, portion: None, said: Vec::new(), goes_to: None, look: None, taken: None }
    }

    /// Which keys are live.
    pub fn scope(&self) -> Scope {
        match (&self.look, &self.taken, &self.portion) {
            (Some(look), ..) => look.scope(),
            (None, Some(_), _) => Scope::TillFiles,
            (None, None, Some(_)) => Scope::TillPortion,
            (None, None, None) => Scope::Till,
        }
    }

    /// How many names are listed.
    fn len(&self) -> usize {
        if self.all { self.view.rows.len() } else { self.view.waiting() }
    }

    fn here(&self) -> Option<&TillRow> {
        (self.window.selected() < self.len()).then(|| self.view.rows.get(self.window.selected())).flatten()
    }

    /// What an action asks for.
    pub fn update(&mut self, action: Action) -> Effect {
        if let Some(look) = &mut self.look {
            let (effect, stays) = look.update(action);
            if !stays {
                self.look = None;
            }
            return effect;
        }
        if let Some(taken) = &mut self.taken {
            if matches!(action, Action::Back) {
                self.taken = None;
                return Effect::None;
            }
            return taken.update(action, &self.view);
        }
        if self.portion.is_some() {
            return self.type_portion(action);
        }
        match action {
            Action::Accept => self.accept_first(),
            Action::Type(c) => self.accept(c.to_digit(10).unwrap_or(0) as usize),
            Action::NotStock => self.mean(TillMeaning::Ignored),
            Action::OtherDrink => self.other(),
            Action::Edit => self.begin_portion(),
            Action::Undo => self.undo(),
            Action::Grouping => self.show_others(),
            Action::TakeFile => Effect::ChooseFile(word!("Sales of the till: Enter takes the file").to_owned()),
            Action::FilesTaken => {
                self.taken = Some(TakenList::default());
                Effect::None
            }
            _ => {
                let len = self.len();
                self.window.apply(action, len);
                Effect::None
            }
        }
    }

    /// Takes the first suggestion where it is more than a guess; what is like nothing is chosen from all drinks.
    fn accept_first(&mut self) -> Effect {
        match self.here() {
            Some(row) if row.likely.candidates.is_empty() => self.other(),
            Some(row) if !row.likely.clear => Effect::Say(Notice::info(word!(
                "that is a guess only: 1 takes it, o chooses another drink, 0 is not stock"
            ))),
            _ => self.accept(1),
        }
    }

    fn accept(&mut self, nth: usize) -> Effect {
        let Some(row) = self.here() else {
            return Effect::Say(Notice::info(word!("no name waits; f takes a file of sales in, v lists all names")));
        };
        match row.likely.candidates.get(nth.wrapping_sub(1)).map(|likely| likely.means.into()) {
            Some(means) => self.mean(means),
            None => Effect::Say(Notice::info(say!("there is no suggestion {nth} here; o chooses any drink", nth))),
        }
    }

    fn other(&self) -> Effect {
        match self.here() {
            Some(row) => {
                Effect::PickDrink(say!("What “{till}” means:", till = text::fit(&text::safe(self.name(row.till)), 24)))
            }
            None => Effect::None,
        }
    }

    /// A drink was picked for the name under the cursor; how much of it stays as it was, or as the name says.
    pub fn picked(&mut self, drink: DrinkId) -> Effect {
        let Some(row) = self.here() else { return Effect::None };
        let guessed = row.likely.candidates.iter().find_map(|likely| match likely.means {
            Meaning::Drink { portion, .. } => Some(portion),
            Meaning::NotStock => None,
        });
        let portion = match self.view.means(row.till) {
            TillMeaning::Drink { portion, .. } => portion,
            _ => guessed.unwrap_or(1_000),
        };
        self.mean(TillMeaning::Drink { drink, portion })
    }

    fn mean(&mut self, means: TillMeaning) -> Effect {
        let Some((till, sold)) = self.here().map(|row| (row.till, row.rung.quantity)) else { return Effect::None };
        self.said.push((till, self.view.means(till)));
        let (name, sold) = (text::safe(self.name(till)), decimal::shown(sold, 3));
        let said = say!("“{name}” is {means}, {sold} sold (u undoes)", name, means = self.words(means), sold);
        Effect::MapTill { till, means, said }
    }

    fn undo(&mut self) -> Effect {
        match self.said.pop() {
            Some((till, means)) => {
                self.goes_to = Some(till);
                let name = text::safe(self.name(till));
                let said = match means {
                    TillMeaning::Unknown => say!("“{name}” waits again", name),
                    means => say!("“{name}” is {means} again", name, means = self.words(means)),
                };
                Effect::MapTill { till, means, said }
            }
            None => Effect::Say(Notice::info(word!("nothing was said here yet that could be taken back"))),
        }
    }

    fn begin_portion(&mut self) -> Effect {
        let Some(row) = self.here() else { return Effect::None };
        let first = likeliest(row);
        match (self.view.means(row.till), first) {
            (TillMeaning::Drink { .. }, _) | (_, Some(TillMeaning::Drink { .. })) => {
                self.portion = Some(Field::new(PORTION));
                Effect::None
            }
            _ => Effect::Say(Notice::info(word!("say first which drink it is: o chooses one"))),
        }
    }

    fn type_portion(&mut self, action: Action) -> Effect {
        let Some(field) = &mut self.portion else { return Effect::None };
        match action {
            Action::Accept => {
                let typed = pointed(field.text());
                let read = Decimal::parse(&typed).ok().and_then(|d| d.exact(3)).filter(|p| (1..=LARGEST).contains(p));
                let Some(portion) = read else {
                    return Effect::Say(Notice::error(word!(
                        "type how much of the drink it is: 2 is a double, .5 a half"
                    )));
                };
                self.portion = None;
                let drink = self.here().and_then(|row| {
                    let first = likeliest(row);
                    [Some(self.view.means(row.till)), first].into_iter().flatten().find_map(|means| match means {
                        TillMeaning::Drink { drink, .. } => Some(drink),
                        _ => None,
                    })
                });
                drink.map_or(Effect::None, |drink| self.mean(TillMeaning::Drink { drink, portion }))
            }
            Action::Cancel => {
                self.portion = None;
                Effect::None
            }
            _ => {
                field.apply(action);
                Effect::None
            }
        }
    }

    fn show_others(&mut self) -> Effect {
        let here = self.here().map(|row| row.till);
        self.all = !self.all;
        let at = here.and_then(|till| self.view.rows.iter().position(|row| row.till == till));
        let len = self.len();
        self.window.select(at.unwrap_or(0), len);
        Effect::None
    }

    fn name(&self, till: TillId) -> &str {
        self.view.setup.till_name(till).map_or("?", |name| &name.name)
    }

    /// Text that came in one piece.
    pub fn paste(&mut self, pasted: &str) {
        match (&mut self.look, &mut self.portion) {
            (Some(look), _) => look.paste(pasted),
            (None, Some(field)) => field.paste(pasted),
            (None, None) => {}
        }
    }

    /// Goes to a name of the till, by what it says.
    pub fn find_name(&mut self, name: &str) {
        let at = self.view.rows.iter().position(|row| self.name(row.till) == name);
        if let Some(at) = at {
            self.select(at);
        }
    }

    /// Goes to a row, listing all names where it is none of those that wait.
    fn select(&mut self, at: usize) {
        self.all |= at >= self.view.waiting();
        let len = self.len();
        self.window.select(at, len);
    }

    /// Shows a file that was looked at.
    pub fn looked(&mut self, look: SalesLook) {
        match &mut self.look {
            Some(page) if page.is_of(&look) => page.refresh(look),
            _ => self.look = Some(LookPage::new(look, self.view.setup.clone())),
        }
    }

    /// The file that was looked at is in the book.
    pub fn taken(&mut self) {
        self.look = None;
        self.all = self.view.waiting() == 0;
        let len = self.len();
        self.window.select(0, len);
    }

    /// Takes a fresh view. The cursor stays on its name; of a name that was just explained, it goes on to the next.
    pub fn refresh(&mut self, view: TillView) {
        let (here, at) = (self.here().map(|row| row.till), self.window.selected());
        self.view = view;
        if let Some(till) = self.goes_to.take()
            && let Some(at) = self.view.rows.iter().position(|row| row.till == till)
        {
            self.select(at);
            return;
        }
        let len = self.len();
        let same = here.and_then(|till| self.view.rows[..len].iter().position(|row| row.till == till));
        self.window.select(same.unwrap_or(at), len);
        if same.is_none() {
            self.portion = None;
        }
        if let Some(taken) = &mut self.taken {
            taken.refresh(&self.view);
        }
    }
}

/// What a name most likely means.
fn likeliest(row: &TillRow) -> Option<TillMeaning> {
    row.likely.candidates.first().map(|likely| likely.means.into())
}
