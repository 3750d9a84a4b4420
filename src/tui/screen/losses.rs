//! The Losses screen: what went without being sold, and the form that one more is written down in.

mod draw;
mod form;

use super::Effect;
use crate::domain::ledger::Loss;
use crate::domain::measure::{Amount, Basis};
use crate::domain::venue::{ItemId, Moment, Reason, Setup};
use crate::tui::keymap::{Action, Scope};
use crate::tui::text;
use crate::tui::widget::confirm::Confirm;
use crate::tui::widget::notice::Notice;
use crate::tui::widget::window::Window;
use chrono::Days;
use form::{Done, Form};
use std::sync::Arc;

/// More containers than this, or of what is counted singly more pieces, are asked about before they are written down.
const UNUSUAL: i64 = 3;
const UNUSUAL_EACH: i64 = 24;
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
    /// A loss so large that it is asked about before it is written down; its form stays open.
    asking: Option<Loss>,
    /// Whether a loss was handed over whose row is yet to come.
    written: bool,
    /// Who signs, unless the form says another.
    by: Option<String>,
}

impl LossesScreen {
    /// The newest losses, the newest first, and who is at the keyboard.
    pub fn new(setup: Arc<Setup>, rows: Vec<Loss>, by: Option<String>) -> LossesScreen {
        let window = Window::default();
        LossesScreen { setup, rows, window, form: None, handed: None, asking: None, written: false, by }
    }

    /// Which keys are live.
    pub fn scope(&self) -> Scope {
        if self.asking.is_some() {
            Scope::Confirm
        } else if self.form.is_some() {
            Scope::LossForm
        } else {
            Scope::Losses
        }
    }

    /// What an action asks for.
    pub fn update(&mut self, action: Action, now: Moment) -> Effect {
        if let Some(loss) = self.asking.take() {
            return match action {
                Action::Yes => self.hand_over(loss),
                // The form is still there, as it was.
                Action::No => Effect::None,
                _ => {
                    self.asking = Some(loss);
                    Effect::None
                }
            };
        }
        if let Some(form) = &mut self.form {
            return match form.apply(action, &self.setup, now) {
                Done::NotYet => Effect::None,
                Done::Doubted => {
                    Effect::Say(Notice::warning(word!("Esc once more throws away what was typed; Enter goes on")))
                }
                Done::Dropped => {
                    self.form = None;
                    Effect::None
                }
                Done::Kept(loss) if self.is_unusual(&loss) => {
                    self.asking = Some(loss);
                    Effect::None
                }
                Done::Kept(loss) => self.hand_over(loss),
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

    fn hand_over(&mut self, loss: Loss) -> Effect {
        self.handed = self.form.take();
        self.written = true;
        Effect::RecordLoss(loss)
    }

    /// Whether so much of it rarely goes at once: some containers, or of what is counted singly, some dozens.
    fn is_unusual(&self, loss: &Loss) -> bool {
        self.setup.item(loss.item).is_some_and(|item| {
            let most = if item.basis == Basis::Each { UNUSUAL_EACH } else { UNUSUAL };
            loss.amount.0 > item.size.0.saturating_mul(most)
        })
    }

    /// The question about a large loss.
    fn question(&self) -> Option<Confirm> {
        let loss = self.asking.as_ref()?;
        let item = self.setup.item(loss.item)?;
        let containers = self.setup.venue.show().containers(loss.amount, item.size);
        let (amount, reason) = (self.amount(loss), word(loss.reason));
        Some(Confirm::new(
            say!(
                "{amount} of {name}, {reason}: that is {containers} containers. Is it so much?",
                amount,
                name = item.name,
                reason,
                containers
            ),
            word!("writes it down"),
            word!("goes back to the form"),
        ))
    }

    fn open_form(&mut self) -> Effect {
        if self.setup.items.is_empty() {
            return Effect::Say(Notice::warning(word!("the book has no items yet: S, then a, takes them in")));
        }
        self.form = Some(Form::new(&self.setup, self.by.as_deref()));
        Effect::None
    }

    /// The book did not take the loss: the form is there again as it was.
    pub fn refused(&mut self) {
        self.written = false;
        if let Some(form) = self.handed.take() {
            self.form = Some(form);
        }
    }

    fn take_back(&mut self) -> Effect {
        let Some(loss) = self.rows.get(self.window.selected()) else {
            return Effect::Say(Notice::info(word!("there is no loss to take back")));
        };
        let (amount, name, reason) = (self.amount(loss), self.setup.item_name(loss.item), word(loss.reason));
        let by = loss.by.as_ref().map_or(String::new(), |by| say!(" by {by}", by));
        let at = self.setup.venue.days.short(loss.at);
        Effect::ask(
            say!(
                "Take back {amount} of {name}, {reason}, written down{by} for {at}? It counts as never lost; the \
                 journal keeps both.",
                amount,
                name,
                reason,
                by,
                at
            ),
            word!("takes the loss back"),
            word!("leaves it as it is"),
            Effect::TakeBackLoss(loss.seq),
        )
    }

    fn amount(&self, loss: &Loss) -> String {
        let basis = self.setup.item(loss.item).map_or(Basis::Volume, |item| item.basis);
        self.setup.venue.show().amount(basis, loss.amount)
    }

    /// Text pasted or sent by a device all at once; it goes into the field that is being typed in.
    pub fn paste(&mut self, text: &str) -> Effect {
        if let Some(form) = self.form.as_mut().filter(|_| self.asking.is_none()) {
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
            None => Some(Notice::info(say!("no loss of {item} is in the list", item = self.setup.item_name(item)))),
        }
    }

    /// Takes fresh losses and keeps the cursor on the same one, or goes to the one just written down. A form that is open
    /// stays as it is.
    pub fn refresh(&mut self, setup: Arc<Setup>, rows: Vec<Loss>) {
        let here = self.rows.get(self.window.selected()).map(|loss| loss.seq);
        self.setup = setup;
        self.rows = rows;
        self.handed = None;
        let newest = last_of(&self.rows).map(|loss| loss.seq);
        let here = if std::mem::take(&mut self.written) { newest } else { here };
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
                out.push(format!("{} {}", word(reason), parts.join(" + ")));
            }
        }
        out
    }

    /// A note or a name for one cell; nothing is a blank.
    fn words(text: Option<&String>) -> String {
        text.map_or(String::new(), |text| text::safe(text))
    }
}

/// A reason as it is read: `returned drink`.
pub(crate) fn word(reason: Reason) -> String {
    reason.said().replace('-', " ")
}

/// The loss that was written down last, which need not be the one that happened last.
fn last_of(rows: &[Loss]) -> Option<&Loss> {
    rows.iter().max_by_key(|loss| loss.seq)
}

#[cfg(test)]
mod tests;
