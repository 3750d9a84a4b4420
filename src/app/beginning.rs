//! Where there is no book yet: the questions that make one, before any screen of it can be shown.

use super::run::{Stage, no_terminal, on_terminal};
use super::{Options, Wants};
use crate::desk::book::Store;
use crate::desk::{DeskError, init};
use crate::domain::measure::Currency;
use crate::domain::rows::Guess;
use crate::domain::venue::{Country, Moment, Rights};
use crate::system;
use crate::tui::keymap::{Action, Scope, resolve};
use crate::tui::pointer::{self, Target};
use crate::tui::screen::beginning::{BeginningScreen, Begun};
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::notice::Notice;
use crate::tui::widget::{footer, shell};
use crate::words::{Language, Speech};
use chrono_tz::Tz;
use ratatui::Frame;
use ratatui::crossterm::event::{KeyEvent, MouseButton, MouseEvent, MouseEventKind};
use ratatui::text::Line;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// Countries that measure drinks in ounces and write prices without tax: how it is done there (common practice, no source).
const AMERICAN: &[&str] = &["US"];

/// What somebody chose where there is no book.
#[derive(Debug)]
pub enum Outcome {
    /// A book was made, for whoever signs first in it.
    Book(Box<Store>, Option<String>),
    /// To look around in the invented bar.
    LookAround,
    /// To leave.
    Nothing,
}

/// The questions, without a terminal: keys in, frames out.
pub struct Beginning {
    path: PathBuf,
    screen: BeginningScreen,
    theme: Theme,
    notice: Option<Notice>,
    outcome: Option<Outcome>,
    wants: Wants,
}

impl Beginning {
    /// The questions for a book at a path.
    pub fn new(path: &Path, guess: Guess, theme: Theme) -> Beginning {
        guess.speech().speak();
        let screen = BeginningScreen::new(&path.display().to_string(), guess);
        Beginning { path: path.to_owned(), screen, theme, notice: None, outcome: None, wants: Wants::default() }
    }

    /// What was chosen, once anything was.
    pub fn outcome(self) -> Outcome {
        self.outcome.unwrap_or(Outcome::Nothing)
    }

    fn choose(&mut self, outcome: Outcome) {
        self.outcome = Some(outcome);
        self.wants.quit = true;
    }
}

impl Stage for Beginning {
    fn key(&mut self, event: KeyEvent, now: Moment) {
        let Some(action) = resolve(Scope::Beginning, event) else { return };
        self.notice = None;
        match action {
            Action::Quit => self.wants.quit = true,
            Action::Suspend => self.wants.suspend = true,
            Action::Redraw => self.wants.redraw = true,
            _ => match self.screen.update(action) {
                Begun::NotYet => {}
                Begun::Say(notice) => self.notice = Some(notice),
                Begun::LookAround => self.choose(Outcome::LookAround),
                Begun::Left => self.choose(Outcome::Nothing),
                Begun::Bar(bar) => match init::begin(&self.path, &bar, now) {
                    Ok(store) => self.choose(Outcome::Book(Box::new(store), bar.by)),
                    Err(refused) => self.notice = Some(Notice::error(refused.to_string())),
                },
            },
        }
    }

    fn mouse(&mut self, event: MouseEvent, now: Moment) {
        if event.kind != MouseEventKind::Down(MouseButton::Left) {
            return;
        }
        match pointer::at(event.column, event.row) {
            Some((_, Target::Key(key))) => self.key(key, now),
            Some((_, Target::Line(line, false))) => {
                let _ = self.screen.update(Action::Line(line));
            }
            _ => {}
        }
    }

    fn paste(&mut self, pasted: &str, _: Moment) {
        self.notice = None;
        self.screen.paste(&text::safe(pasted));
    }

    fn patience(&self) -> Duration {
        Duration::from_secs(1)
    }

    fn idle(&mut self, _: Moment) -> bool {
        false
    }

    fn wants(&mut self) -> Wants {
        std::mem::take(&mut self.wants)
    }

    fn draw(&mut self, frame: &mut Frame, _: Moment) {
        let theme = self.theme;
        pointer::begin();
        let Some(parts) = shell::shell(frame, &theme) else { return };
        frame.render_widget(Line::styled(word!("Tantalus"), theme.title), parts.header);
        self.screen.draw(frame, parts.body, &theme);
        footer::draw(frame, parts.footer, Scope::Beginning, Rights::Everything, &theme);
        if let Some(notice) = &self.notice {
            notice.draw(frame, parts.notice, &theme);
        }
        shell::finish(frame, &theme);
    }
}

/// A clock that was never set to a place says nothing of where the bar is.
fn is_somewhere(zone: &Tz) -> bool {
    zone.name().contains('/') && !zone.name().starts_with("Etc/")
}

/// What this machine lets one guess.
fn guess() -> Guess {
    let country = system::country();
    Guess {
        zone: system::zone().and_then(|zone| zone.parse().ok()).filter(is_somewhere),
        currency: country.as_deref().and_then(Currency::of_country),
        american: country.as_deref().is_some_and(|country| AMERICAN.contains(&country.to_ascii_uppercase().as_str())),
        language: system::language().as_deref().and_then(Language::of_tag).unwrap_or(Language::English),
        country: country.and_then(|country| Country::parse(&country).ok()),
    }
}

/// Asks what a new book needs, and makes it at a path.
///
/// # Errors
/// [`DeskError`] when there is no terminal to ask on.
pub fn begin(path: &Path, options: &Options) -> Result<Outcome, DeskError> {
    let mut beginning = Beginning::new(path, guess(), options.theme());
    let done = on_terminal(&mut beginning, options.mouse);
    Speech::PLAIN.speak();
    done.map_err(no_terminal)?;
    Ok(beginning.outcome())
}
