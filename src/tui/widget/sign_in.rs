//! Who is at the screen: their initials, and their PIN where they have one.

use super::field::Field;
use super::panel::{centred, panel};
use crate::domain::rows::PersonRow;
use crate::domain::venue::{name_key, parse_pin};
use crate::tui::keymap::{Action, Scope};
use crate::tui::text;
use crate::tui::theme::Theme;
use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;

/// The widest and highest that the box gets.
const WIDTH: u16 = 60;
const HEIGHT: u16 = 14;
/// Longest initials and PIN that can be typed.
const INITIALS: usize = 12;
const PIN: usize = 12;

/// What came of a key.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Signed {
    /// Nothing yet.
    NotYet,
    /// Somebody wants to sign in, with a PIN where one was typed.
    In {
        /// As typed.
        initials: String,
        /// As typed.
        pin: Option<String>,
    },
    /// A new PIN was typed twice.
    NewPin {
        /// Whose.
        initials: String,
        /// As typed.
        pin: String,
    },
}

#[derive(Debug)]
enum Step {
    Who,
    Pin(String),
    NewPin(String),
    Again(String, String),
}

/// Asks who is at the screen.
#[derive(Debug)]
pub struct SignIn {
    people: Vec<PersonRow>,
    step: Step,
    typed: Field,
    cursor: usize,
    said: Option<String>,
}

impl SignIn {
    /// Asks which of these people it is.
    pub fn new(people: Vec<PersonRow>) -> SignIn {
        SignIn { people, step: Step::Who, typed: Field::new(INITIALS), cursor: 0, said: None }
    }

    /// Asks for somebody's new PIN, twice.
    pub fn new_pin(initials: &str) -> SignIn {
        let step = Step::NewPin(initials.to_owned());
        SignIn { people: Vec::new(), step, typed: Field::new(PIN), cursor: 0, said: None }
    }

    /// Which keys are live.
    pub fn scope(&self) -> Scope {
        match self.step {
            Step::Who => Scope::SignIn,
            Step::Pin(_) | Step::NewPin(_) | Step::Again(..) => Scope::Pin,
        }
    }

    /// That person has a PIN, which is wanted.
    pub fn wants_pin(&mut self, initials: &str) {
        self.step = Step::Pin(initials.to_owned());
        self.typed = Field::new(PIN);
        self.said = None;
    }

    /// The book did not take it; it is asked anew.
    pub fn refused(&mut self, why: &str) {
        self.said = Some(text::safe(why));
        self.typed = Field::new(PIN);
        if let Step::Again(initials, _) = &self.step {
            self.step = Step::NewPin(initials.clone());
        }
    }

    /// Those whose initials or name begin with what was typed.
    fn likely(&self) -> Vec<&PersonRow> {
        let typed = name_key(self.typed.text());
        let fits = |row: &&PersonRow| {
            let name = row.person.name.as_deref().map(name_key).unwrap_or_default();
            name_key(&row.person.initials).starts_with(&typed) || name.starts_with(&typed)
        };
        self.people.iter().filter(fits).collect()
    }

    /// Takes an action.
    pub fn apply(&mut self, action: Action) -> Signed {
        match action {
            Action::Accept => return self.accept(),
            Action::Up => self.cursor = self.cursor.saturating_sub(1),
            Action::Down => self.cursor = (self.cursor + 1).min(self.likely().len().saturating_sub(1)),
            _ => {
                self.typed.apply(action);
                self.cursor = 0;
                self.said = None;
            }
        }
        Signed::NotYet
    }

    /// Takes what was pasted.
    pub fn paste(&mut self, pasted: &str) {
        self.typed.paste(pasted);
    }

    fn accept(&mut self) -> Signed {
        let typed = self.typed.text().trim().to_owned();
        match &self.step {
            Step::Who => {
                let likely = self.likely();
                let exact = likely.iter().find(|row| name_key(&row.person.initials) == name_key(&typed));
                let person = exact.or_else(|| likely.get(self.cursor)).map(|row| row.person.initials.clone());
                match person {
                    Some(initials) => Signed::In { initials, pin: None },
                    None if typed.is_empty() => Signed::NotYet,
                    None => Signed::In { initials: typed, pin: None },
                }
            }
            Step::Pin(initials) => Signed::In { initials: initials.clone(), pin: Some(typed) },
            Step::NewPin(initials) => {
                match parse_pin(&typed) {
                    Ok(pin) => {
                        self.step = Step::Again(initials.clone(), pin.to_owned());
                        self.typed = Field::new(PIN);
                    }
                    Err(why) => self.refused(&why),
                }
                Signed::NotYet
            }
            Step::Again(initials, first) if *first == typed => {
                Signed::NewPin { initials: initials.clone(), pin: typed }
            }
            Step::Again(..) => {
                self.refused(word!("the two are not alike"));
                Signed::NotYet
            }
        }
    }

    /// Draws the box in the middle of the area.
    pub fn draw(&self, frame: &mut Frame, area: Rect, theme: &Theme) {
        let area = area.intersection(frame.area());
        let (title, label, hidden) = match &self.step {
            Step::Who => (word!("Who is at the screen?").to_owned(), word!("initials "), false),
            Step::Pin(initials) => (say!("PIN of {initials}", initials = text::safe(initials)), word!("PIN "), true),
            Step::NewPin(initials) => {
                (say!("New PIN of {initials}", initials = text::safe(initials)), word!("PIN "), true)
            }
            Step::Again(initials, _) => {
                (say!("New PIN of {initials}, once more", initials = text::safe(initials)), word!("again "), true)
            }
        };
        let height = if hidden { 6 } else { HEIGHT };
        let inner = panel(frame, centred(area, WIDTH, height), &title, theme);
        let wide = u16::try_from(text::width(label)).unwrap_or(0).min(inner.width);
        frame.render_widget(Span::styled(label, theme.text), Rect { height: inner.height.min(1), ..inner });
        let field = Rect { x: inner.x + wide, width: inner.width - wide, height: inner.height.min(1), ..inner };
        if hidden {
            // So many marks as digits, and nothing of them.
            Field::with(PIN, &"*".repeat(self.typed.text().chars().count())).draw(frame, field, true, theme);
        } else {
            self.typed.draw(frame, field, true, theme);
        }
        let below = Rect { y: inner.y.saturating_add(2), height: inner.height.saturating_sub(2), ..inner };
        let lines = match &self.said {
            Some(said) => wrapped(said, below.width, theme.error),
            None if hidden => wrapped(
                word!("A PIN says who is at the screen. It does not protect the file of the book."),
                below.width,
                theme.muted,
            ),
            None => self.listed(below, theme),
        };
        frame.render_widget(Paragraph::new(lines), below);
    }

    fn listed(&self, area: Rect, theme: &Theme) -> Vec<Line<'static>> {
        let likely = self.likely();
        if self.people.is_empty() {
            return wrapped(
                word!("The book knows nobody yet: whoever signs first is taken in."),
                area.width,
                theme.muted,
            );
        }
        let rows = usize::from(area.height);
        let from = self.cursor.saturating_sub(rows.saturating_sub(1));
        let line = |(n, row): (usize, &&PersonRow)| {
            let name = row.person.name.as_deref().unwrap_or_default();
            let pin = if row.has_pin { word!(", PIN") } else { "" };
            let said = format!("{:<6} {name} ({}{pin})", text::safe(&row.person.initials), row.person.role);
            let style = if n == self.cursor { theme.selected } else { theme.text };
            Line::from(Span::styled(text::fit(&text::safe(&said), usize::from(area.width)), style))
        };
        likely.iter().enumerate().skip(from).take(rows).map(line).collect()
    }
}

fn wrapped(said: &str, cells: u16, style: ratatui::style::Style) -> Vec<Line<'static>> {
    text::wrap(said, usize::from(cells)).into_iter().map(|line| Line::from(Span::styled(line, style))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::venue::{Person, Role};
    use crate::tui::widget::harness::{at_every_size, shown};

    fn people() -> Vec<PersonRow> {
        let row = |initials: &str, name: &str, role, has_pin| PersonRow {
            person: Person { initials: initials.to_owned(), name: Some(name.to_owned()), role },
            has_pin,
        };
        vec![row("IP", "Inês", Role::Counter, false), row("OM", "Odete", Role::Manager, true)]
    }

    fn typed(box_: &mut SignIn, text: &str) {
        text.chars().for_each(|c| assert_eq!(box_.apply(Action::Type(c)), Signed::NotYet));
    }

    #[test]
    fn the_list_narrows_and_enter_takes_who_is_there() {
        let signed = |initials: &str, pin: Option<&str>| Signed::In {
            initials: initials.to_owned(),
            pin: pin.map(str::to_owned),
        };
        let mut box_ = SignIn::new(people());
        assert_eq!(box_.apply(Action::Accept), signed("IP", None), "the first");
        box_.apply(Action::Down);
        assert_eq!(box_.apply(Action::Accept), signed("OM", None));
        typed(&mut box_, "od");
        assert_eq!(box_.apply(Action::Accept), signed("OM", None), "by the name");
        box_.wants_pin("OM");
        typed(&mut box_, "1234");
        assert_eq!(box_.apply(Action::Accept), signed("OM", Some("1234")));
        let mut nobody = SignIn::new(Vec::new());
        assert_eq!(nobody.apply(Action::Accept), Signed::NotYet);
        typed(&mut nobody, "ZZ");
        assert_eq!(nobody.apply(Action::Accept), signed("ZZ", None));
    }

    #[test]
    fn a_new_pin_is_typed_twice_and_never_shown() {
        let mut box_ = SignIn::new_pin("OM");
        typed(&mut box_, "2222");
        assert_eq!(box_.apply(Action::Accept), Signed::NotYet);
        let refused = shown(60, 8, |frame| box_.draw(frame, frame.area(), &Theme::from_env(true)));
        assert!(refused.contains("the same digit all along") && !refused.contains("once more"), "{refused}");
        typed(&mut box_, "271828");
        let theme = Theme::from_env(true);
        let picture = shown(60, 8, |frame| box_.draw(frame, frame.area(), &theme));
        assert!(picture.contains("******") && !picture.contains('7'), "{picture}");
        box_.apply(Action::Accept);
        typed(&mut box_, "271829");
        assert_eq!(box_.apply(Action::Accept), Signed::NotYet);
        assert!(shown(60, 8, |frame| box_.draw(frame, frame.area(), &theme)).contains("not alike"));
        for _ in 0..2 {
            typed(&mut box_, "271828");
            let signed = box_.apply(Action::Accept);
            if signed != Signed::NotYet {
                assert_eq!(signed, Signed::NewPin { initials: "OM".to_owned(), pin: "271828".to_owned() });
                return;
            }
        }
        panic!("it was typed twice");
    }

    #[test]
    fn no_size_panics() {
        let theme = Theme::from_env(true);
        at_every_size(|frame| {
            SignIn::new(people()).draw(frame, frame.area(), &theme);
            let mut box_ = SignIn::new_pin("OM");
            box_.refused("no");
            box_.draw(frame, frame.area(), &theme);
        });
    }
}
