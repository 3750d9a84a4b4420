//! The Losses screen: what went without being sold, and the form that one more is written down in.

mod draw;
mod form;

use super::Effect;
use crate::domain::ledger::Loss;
use crate::domain::measure::{Amount, Basis};
use crate::domain::venue::{ItemId, Moment, Reason, Setup};
use crate::tui::keymap::{Action, Scope};
use crate::tui::text;
use crate::tui::widget::notice::Notice;
use crate::tui::widget::window::Window;
use chrono::Days;
use form::{Done, Form};
use std::sync::Arc;

/// So many business days are summed up, the one that runs now among them.
const SUMMED_DAYS: u64 = 7;

/// The losses in force, and perhaps one being written down.
pub struct LossesScreen {
    setup: Arc<Setup>,
    rows: Vec<Loss>,
    window: Window,
    form: Option<Form>,
    /// The form as it was when it was handed over, in case the book refuses the loss.
    handed: Option<Form>,
    /// What the next form begins with.
    reason: Reason,
    by: Option<String>,
}

impl LossesScreen {
    /// The newest losses, the newest first, and who is at the keyboard.
    pub fn new(setup: Arc<Setup>, rows: Vec<Loss>, by: Option<String>) -> LossesScreen {
        let last = last_of(&rows);
        let reason = last.map_or(Reason::Spill, |loss| loss.reason);
        let by = by.or_else(|| last.and_then(|loss| loss.by.clone()));
        LossesScreen { setup, rows, window: Window::default(), form: None, handed: None, reason, by }
    }

    /// Which keys are live.
    pub fn scope(&self) -> Scope {
        if self.form.is_some() { Scope::LossForm } else { Scope::Losses }
    }

    /// What an action asks for.
    pub fn update(&mut self, action: Action, now: Moment) -> Effect {
        if let Some(form) = &mut self.form {
            return match form.apply(action, &self.setup, now) {
                Done::NotYet => Effect::None,
                Done::Dropped => {
                    self.form = None;
                    Effect::None
                }
                Done::Kept(loss) => {
                    self.reason = loss.reason;
                    self.by.clone_from(&loss.by);
                    self.handed = self.form.take();
                    Effect::RecordLoss(loss)
                }
            };
        }
        match action {
            Action::NewLoss => self.open_form(),
            Action::Undo => self.take_back(),
            _ => {
                self.window.apply(action, self.rows.len());
                Effect::None
            }
        }
    }

    fn open_form(&mut self) -> Effect {
        if self.setup.items.is_empty() {
            return Effect::Say(Notice::warning("the book has no items yet: load them first (`tantalus load DIR`)"));
        }
        self.form = Some(Form::new(&self.setup, self.reason, self.by.as_deref()));
        Effect::None
    }

    /// The book did not take the loss: the form is there again as it was.
    pub fn refused(&mut self) {
        if let Some(form) = self.handed.take() {
            self.form = Some(form);
        }
    }

    fn take_back(&mut self) -> Effect {
        let Some(last) = last_of(&self.rows) else {
            return Effect::Say(Notice::info("there is no loss to take back"));
        };
        let (amount, name) = (self.amount(last), self.setup.item_name(last.item));
        let by = last.by.as_ref().map_or(String::new(), |by| format!(" by {by}"));
        let at = self.setup.venue.days.short(last.at);
        Effect::Ask {
            question: format!(
                "Take back {amount} of {name}, {}, written down{by} for {at}? It counts as never lost; the journal \
                 keeps both.",
                last.reason
            ),
            yes: "takes the loss back".to_owned(),
            no: "leaves it as it is".to_owned(),
            then: Box::new(Effect::TakeBackLoss(last.seq)),
            otherwise: Box::new(Effect::None),
        }
    }

    fn amount(&self, loss: &Loss) -> String {
        let basis = self.setup.item(loss.item).map_or(Basis::Volume, |item| item.basis);
        self.setup.venue.show().amount(basis, loss.amount)
    }

    /// Text pasted or sent by a device all at once; it goes into the field that is being typed in.
    pub fn paste(&mut self, text: &str) -> Effect {
        if let Some(form) = &mut self.form {
            form.paste(text.trim());
        }
        Effect::None
    }

    /// Goes to the newest loss of an item.
    pub fn find(&mut self, item: ItemId) -> Option<Notice> {
        match self.rows.iter().position(|loss| loss.item == item) {
            Some(at) => {
                self.window.select(at, self.rows.len());
                None
            }
            None => Some(Notice::info(format!("no loss of {} is in the list", self.setup.item_name(item)))),
        }
    }

    /// Takes fresh losses and keeps the cursor on the same one. A form that is open stays as it is.
    pub fn refresh(&mut self, setup: Arc<Setup>, rows: Vec<Loss>) {
        let here = self.rows.get(self.window.selected()).map(|loss| loss.seq);
        self.setup = setup;
        self.rows = rows;
        self.handed = None;
        let at = here.and_then(|seq| self.rows.iter().position(|loss| loss.seq == seq));
        self.window.select(at.unwrap_or(self.window.selected()), self.rows.len());
    }

    /// Sums of the last business days by reason, in the order of the reasons: `spill 240 ml + 50 g`.
    fn sums(&self, now: Moment) -> Vec<String> {
        let days = &self.setup.venue.days;
        let today = days.day_of(now);
        let from = today.checked_sub_days(Days::new(SUMMED_DAYS - 1)).unwrap_or(today);
        let recent = |loss: &&Loss| (from..=today).contains(&days.day_of(loss.at));
        let basis_of = |loss: &Loss| self.setup.item(loss.item).map(|item| item.basis);
        let mut out = Vec::new();
        for &reason in Reason::ALL {
            let mut parts = Vec::new();
            for basis in [Basis::Volume, Basis::Mass, Basis::Each] {
                let of_basis = |loss: &&Loss| loss.reason == reason && basis_of(loss) == Some(basis);
                let sum: Amount = self.rows.iter().filter(recent).filter(of_basis).map(|loss| loss.amount).sum();
                if sum != Amount::ZERO {
                    parts.push(self.setup.venue.show().amount(basis, sum));
                }
            }
            if !parts.is_empty() {
                out.push(format!("{reason} {}", parts.join(" + ")));
            }
        }
        out
    }

    /// A note or a name for one cell; nothing is a blank.
    fn words(text: Option<&String>) -> String {
        text.map_or(String::new(), |text| text::safe(text))
    }
}

/// The loss that was written down last, which need not be the one that happened last.
fn last_of(rows: &[Loss]) -> Option<&Loss> {
    rows.iter().max_by_key(|loss| loss.seq)
}

#[cfg(test)]
mod tests;
