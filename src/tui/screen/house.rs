//! What is made here: what there is and until when it keeps, how much to make, batches, recipes.

mod draw;
mod making;
mod page;
mod recipe;
#[cfg(test)]
mod tests;

use crate::words;
pub use page::page_text;

use super::Effect;
use super::writing::{Done, Form as _};
use crate::domain::ledger::Loss;
use crate::domain::measure::Amount;
use crate::domain::rows::{HouseLine, HouseView, MakeAdvice, RecipeDraft};
use crate::domain::venue::{ItemId, Moment, Reason, Seq};
use crate::tui::keymap::{Action, Scope};
use crate::tui::text;
use crate::tui::widget::notice::Notice;
use crate::tui::widget::window::Window;
use making::MakeForm;
use page::Page;
use recipe::RecipeForm;

/// Nobody makes for longer than this at once.
const MOST_DAYS: u64 = 60;

/// What is being written over the list or the page.
enum Form {
    Make(MakeForm),
    Recipe(Box<RecipeForm>),
}

/// The list, over it one item, and over that a form.
pub struct HouseScreen {
    view: HouseView,
    /// Who signs batches.
    by: Option<String>,
    /// For how many days to make, where somebody said; else as each keeps.
    days: Option<u64>,
    window: Window,
    page: Option<Page>,
    form: Option<Form>,
}

impl HouseScreen {
    /// What is made here, and who is at the keyboard.
    pub fn new(view: HouseView, by: Option<String>) -> HouseScreen {
        HouseScreen { view, by, days: None, window: Window::default(), page: None, form: None }
    }

    /// Which keys are live.
    pub fn scope(&self) -> Scope {
        match (&self.form, &self.page) {
            (Some(Form::Make(_)), _) => Scope::MakeForm,
            (Some(Form::Recipe(_)), _) => Scope::RecipeForm,
            (None, Some(_)) => Scope::HousePage,
            (None, None) => Scope::House,
        }
    }

    fn here(&self) -> Option<&HouseLine> {
        let at = match &self.page {
            Some(page) => self.view.lines.iter().position(|line| line.item == page.item)?,
            None => self.window.selected(),
        };
        self.view.lines.get(at)
    }

    /// How much to make of a line, for as many days as were said.
    fn advice(&self, line: &HouseLine) -> Option<MakeAdvice> {
        let item = self.view.setup.item(line.item)?;
        self.view.advice(line, self.days.unwrap_or_else(|| HouseView::usual_days(item)))
    }

    /// What an action asks for.
    pub fn update(&mut self, action: Action, now: Moment) -> Effect {
        match &mut self.form {
            Some(Form::Make(form)) => {
                return match form.apply(action, &self.view, now) {
                    Done::NotYet => Effect::None,
                    Done::Say(notice) => Effect::Say(notice),
                    Done::Dropped => {
                        self.form = None;
                        Effect::None
                    }
                    Done::Kept(effect) => effect,
                };
            }
            Some(Form::Recipe(form)) => {
                return match form.act(action, &self.view) {
                    Done::NotYet => Effect::None,
                    Done::Say(notice) => Effect::Say(notice),
                    Done::Dropped => {
                        self.form = None;
                        Effect::None
                    }
                    Done::Kept(draft) => self.keep(draft),
                };
            }
            None => {}
        }
        match action {
            Action::MakeBatch => self.begin_batch(),
            Action::Change => self.change(),
            Action::New => {
                self.form = Some(Form::Recipe(Box::new(RecipeForm::new(&self.view))));
                Effect::None
            }
            Action::OneMore | Action::OneLess => self.other_days(action == Action::OneMore),
            _ if self.page.is_some() => self.on_page(action, now),
            Action::Open => {
                self.page = self.here().map(|line| Page::of(line.item));
                Effect::None
            }
            _ => {
                self.window.apply(action, self.view.lines.len());
                Effect::None
            }
        }
    }

    fn on_page(&mut self, action: Action, now: Moment) -> Effect {
        match action {
            Action::Back | Action::Open => self.page = None,
            Action::Next | Action::Previous => {
                self.window.step(if action == Action::Next { 1 } else { -1 }, self.view.lines.len());
                let at = self.window.selected();
                self.page = self.view.lines.get(at).map(|line| Page::of(line.item));
            }
            Action::Spoiled => return self.spoiled(now),
            Action::Undo => return self.take_back(),
            _ => {
                if let Some(page) = &mut self.page {
                    page.apply(action, &self.view);
                }
            }
        }
        Effect::None
    }

    fn begin_batch(&mut self) -> Effect {
        let Some(line) = self.here() else {
            return Effect::Say(Notice::info(word!("nothing is made here yet: a writes the first recipe")));
        };
        let item = line.item;
        let advised = self.advice(line).map(|advice| advice.make);
        self.form = Some(Form::Make(MakeForm::new(&self.view, item, advised, self.by.as_deref())));
        Effect::None
    }

    fn change(&mut self) -> Effect {
        let version = self.page.as_ref().and_then(Page::version);
        let form = self.here().map(|line| RecipeForm::of(&self.view, line.item, version));
        self.form = form.map(|form| Form::Recipe(Box::new(form)));
        Effect::None
    }

    fn other_days(&mut self, more: bool) -> Effect {
        let usual = self.here().and_then(|line| self.view.setup.item(line.item)).map_or(1, HouseView::usual_days);
        let days = self.days.unwrap_or(usual);
        let days = if more { days + 1 } else { days.saturating_sub(1) };
        self.days = Some(days.clamp(1, MOST_DAYS));
        Effect::None
    }

    /// Keeps a recipe; a day that is past is asked about first, since what was made and sold since then is reckoned anew.
    fn keep(&self, draft: Box<RecipeDraft>) -> Effect {
        let known = match &draft.made {
            crate::domain::rows::Made::Known(item) => Some(text::safe(self.view.setup.item_name(*item))),
            crate::domain::rows::Made::New(..) => None,
        };
        let past = draft.from.is_none_or(|from| from < self.view.larder.day);
        let when = super::serve::since(draft.from);
        let keep = Effect::KeepRecipe(draft);
        match known.filter(|_| past) {
            None => keep,
            Some(name) => Effect::ask(
                say!(
                    "This changes what {name} took {when}: batches and sales since then are reckoned by it. To change \
                     it from today on, go back and give today's date.",
                    name,
                    when
                ),
                word!("changes it back then"),
                word!("goes back to the form"),
                keep,
            ),
        }
    }

    /// Writes off what is left of the batch under the cursor.
    fn spoiled(&self, now: Moment) -> Effect {
        let Some((line, page)) = self.here().zip(self.page.as_ref()) else { return Effect::None };
        let Some(seq) = page.batch(line) else {
            return Effect::Say(Notice::info(word!("no batch of it is written down: write it down on Losses (L)")));
        };
        let Some(left) = line.left.iter().find(|left| left.batch.seq == seq) else {
            return Effect::Say(Notice::info(word!("nothing of this batch should be left")));
        };
        let amount = left.left.unwrap_or(left.batch.made);
        let setup = &self.view.setup;
        let Some(item) = setup.item(line.item) else { return Effect::None };
        let made = words::day(left.made, "%-d %b");
        let much = setup.venue.show().amount(item.basis, amount);
        let what = match left.left {
            Some(_) => say!("what should be left of the batch of {made}", made),
            None => say!("the whole batch of {made}, since how much is left of it is not known", made),
        };
        Effect::ask(
            say!(
                "Write off {much} of {name}, {what}, as spoiled? If it is another amount, write that down on Losses.",
                much,
                name = text::safe(&item.name),
                what
            ),
            word!("writes it off"),
            word!("leaves it"),
            Effect::RecordLoss(Loss {
                seq: Seq(0),
                at: now,
                item: line.item,
                amount,
                reason: Reason::Spoiled,
                place: setup.store_of(line.item),
                by: self.by.clone(),
                note: Some(say!("batch of {made}", made)),
            }),
        )
    }

    /// Takes the batch under the cursor back.
    fn take_back(&self) -> Effect {
        let Some((line, page)) = self.here().zip(self.page.as_ref()) else { return Effect::None };
        let batch = page.batch(line).and_then(|seq| line.batches.iter().find(|batch| batch.seq == seq));
        let Some(batch) = batch else { return Effect::Say(Notice::info(word!("there is no batch to take back"))) };
        let setup = &self.view.setup;
        let basis = setup.item(line.item).map_or(crate::domain::measure::Basis::Volume, |item| item.basis);
        let much = setup.venue.show().amount(basis, batch.made);
        Effect::ask(
            say!(
                "Take back the batch of {much} of {item}, booked for {batch}? It counts as never made; the journal keeps both.",
                much,
                item = text::safe(setup.item_name(line.item)),
                batch = setup.venue.days.short(batch.at)
            ),
            word!("takes it back"),
            word!("leaves it"),
            Effect::TakeBackBatch(batch.seq),
        )
    }

    /// The book has what the form said: it is closed, and the item shown.
    pub fn kept(&mut self, item: ItemId) {
        if self.form.take().is_some() {
            self.show(item);
        }
    }

    fn show(&mut self, item: ItemId) {
        if let Some(at) = self.view.lines.iter().position(|line| line.item == item) {
            self.window.select(at, self.view.lines.len());
            self.page = Some(Page::of(item));
        }
    }

    /// Text that came in one piece.
    pub fn paste(&mut self, text: &str) {
        match &mut self.form {
            Some(Form::Make(form)) => form.paste(text),
            Some(Form::Recipe(form)) => form.paste(text, &self.view.setup),
            None => {}
        }
    }

    /// Goes to an item made here.
    pub fn find(&mut self, item: ItemId) -> Option<Notice> {
        let name = text::safe(self.view.setup.item_name(item));
        if self.view.line(item).is_none() {
            return Some(Notice::info(say!("{name} is not made here: no recipe is written for it", name)));
        }
        self.form = None;
        self.show(item);
        None
    }

    /// Takes a fresh view; the cursor stays on the same item, and what is being written stays.
    pub fn refresh(&mut self, view: HouseView) {
        let here = self.view.lines.get(self.window.selected()).map(|line| line.item);
        self.view = view;
        let at = here.and_then(|item| self.view.lines.iter().position(|line| line.item == item));
        self.window.select(at.unwrap_or(self.window.selected()), self.view.lines.len());
        self.page = self.page.take().filter(|page| self.view.line(page.item).is_some());
    }

    /// What there should be of an item, for the forms.
    fn there(view: &HouseView, item: ItemId) -> Option<Amount> {
        view.on_hand.get(&item).map(|level| level.amount)
    }
}
