//! Who signs here: taken in, made manager, given a PIN.

use super::super::Effect;
use crate::domain::rows::PersonRow;
use crate::domain::venue::{Person, Role};
use crate::tui::keymap::{Action, Scope};
use crate::tui::widget::field::Field;
use crate::tui::widget::notice::Notice;
use crate::tui::widget::window::Window;

/// Longest initials and name that can be typed.
const INITIALS: usize = 12;
const NAME: usize = 60;

/// The fields of somebody new.
#[derive(Debug)]
pub(super) struct Form {
    pub(super) initials: Field,
    pub(super) name: Field,
    pub(super) on_name: bool,
}

/// The list of people, and the form of a new one.
#[derive(Debug, Default)]
pub(super) struct PeoplePage {
    pub(super) window: Window,
    pub(super) form: Option<Form>,
}

impl PeoplePage {
    pub(super) fn scope(&self) -> Scope {
        if self.form.is_some() { Scope::PersonForm } else { Scope::People }
    }

    pub(super) fn update(&mut self, action: Action, known: &[PersonRow]) -> Effect {
        if self.form.is_some() {
            return self.type_in(action);
        }
        let row = known.get(self.window.selected());
        match (action, row) {
            (Action::AddPerson, _) => {
                self.form = Some(Form { initials: Field::new(INITIALS), name: Field::new(NAME), on_name: false });
                Effect::None
            }
            (Action::ChangeRole, Some(row)) => {
                let role = if row.person.role == Role::Manager { Role::Counter } else { Role::Manager };
                let means = match role {
                    Role::Manager => word!("A manager sees costs and changes the set-up."),
                    Role::Counter => word!("A counter counts and records, and sees no costs."),
                };
                let question = say!("Make {initials} a {role}? {means}", initials = row.person.initials, role, means);
                let person = Person { role, ..row.person.clone() };
                Effect::ask(
                    question,
                    say!("makes a {role} of them", role),
                    word!("leaves it"),
                    Effect::PutPerson(person),
                )
            }
            (Action::SetPin, Some(row)) => Effect::AskNewPin(row.person.initials.clone()),
            (Action::ClearPin, Some(row)) if row.has_pin => Effect::ask(
                say!("Take the PIN of {initials} away? Anybody can then sign as them.", initials = row.person.initials),
                word!("takes it away"),
                word!("leaves it"),
                Effect::ClearPin(row.person.initials.clone()),
            ),
            (Action::ClearPin, Some(_)) => Effect::Say(Notice::info(word!("there is no PIN to take away"))),
            (_, _) => {
                self.window.apply(action, known.len());
                Effect::None
            }
        }
    }

    fn type_in(&mut self, action: Action) -> Effect {
        let Some(form) = &mut self.form else { return Effect::None };
        match action {
            Action::Cancel => self.form = None,
            Action::NextField | Action::PreviousField => form.on_name = !form.on_name,
            Action::Accept if !form.on_name => form.on_name = true,
            Action::Accept => {
                let name = Some(form.name.text().trim().to_owned()).filter(|name| !name.is_empty());
                let initials = form.initials.text().trim().to_owned();
                return Effect::PutPerson(Person { initials, name, role: Role::Counter });
            }
            _ => {
                let field = if form.on_name { &mut form.name } else { &mut form.initials };
                field.apply(action);
            }
        }
        Effect::None
    }

    pub(super) fn paste(&mut self, text: &str) {
        if let Some(form) = &mut self.form {
            let field = if form.on_name { &mut form.name } else { &mut form.initials };
            field.paste(text);
        }
    }

    pub(super) fn kept(&mut self) {
        self.form = None;
    }
}
