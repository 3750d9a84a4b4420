//! What is asked of a filled sheet before it is typed in: when it was filled in, by whom, and its mark.

use crate::domain::measure::number_of;
use crate::domain::rows::{CountChoice, FilledSheet, SheetMark, parse_mark};
use crate::domain::venue::{Moment, Setup, name_key};
use crate::tui::keymap::Action;
use crate::tui::screen::{Effect, Scene, told};
use crate::tui::text;
use crate::tui::widget::field::Field;
use crate::tui::widget::panel::{centred, panel};
use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::Span;
use ratatui::widgets::Paragraph;

/// The form's box, cells of a field's name, and lines of what is said below the fields.
const WIDTH: u16 = 74;
const HEIGHT: u16 = 9;
const TITLE: u16 = 18;
const SAID: u16 = 3;

/// The fields, in the order in which they are gone through.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Part {
    At,
    By,
    Mark,
}

const PARTS: [Part; 3] = [Part::At, Part::By, Part::Mark];

/// What came of an action.
pub(super) enum Done {
    /// The form is still open.
    NotYet,
    /// It was thrown away.
    Dropped,
    /// It is filled in.
    Begin(Effect),
}

/// A sheet that is about to be typed in.
#[derive(Debug)]
pub(super) struct Form {
    choice: CountChoice,
    focus: Part,
    at: Field,
    by: Field,
    mark: Field,
}

impl Form {
    pub(super) fn new(choice: CountChoice, by: Option<&str>) -> Form {
        let mut by = Field::with(12, by.unwrap_or_default());
        by.mark();
        Form { choice, focus: Part::At, at: Field::new(30), by, mark: Field::new(8) }
    }

    fn field(&mut self) -> &mut Field {
        match self.focus {
            Part::At => &mut self.at,
            Part::By => &mut self.by,
            Part::Mark => &mut self.mark,
        }
    }

    pub(super) fn apply(&mut self, action: Action, setup: &Setup, choices: &[CountChoice], now: Moment) -> Done {
        match action {
            Action::Cancel => return Done::Dropped,
            Action::Accept if self.focus == Part::Mark => return self.accept(setup, choices, now),
            Action::Accept | Action::NextField => {
                if self.check(self.focus, setup, now).is_ok() {
                    self.go(1);
                }
            }
            Action::PreviousField => self.go(-1),
            _ => {
                self.field().apply(action);
            }
        }
        Done::NotYet
    }

    pub(super) fn paste(&mut self, text: &str) {
        self.field().paste(text);
    }

    fn go(&mut self, by: isize) {
        let here = PARTS.iter().position(|part| *part == self.focus).unwrap_or(0);
        if let Some(to) = here.checked_add_signed(by).and_then(|to| PARTS.get(to)) {
            self.focus = *to;
        }
    }

    /// Whether a field is sound.
    fn check(&self, part: Part, setup: &Setup, now: Moment) -> Result<(), String> {
        match part {
            Part::At => self.at(setup, now).map(|_| ()),
            Part::By => self.by(setup).map(|_| ()),
            Part::Mark => self.mark().map(|_| ()),
        }
    }

    fn at(&self, setup: &Setup, now: Moment) -> Result<Moment, String> {
        setup.venue.days.said_past(self.at.text(), now).map_err(|wrong| wrong.to_string())
    }

    /// Who filled it in, as the book knows them; in a book that knows nobody, whoever it was, or nobody.
    fn by(&self, setup: &Setup) -> Result<Option<String>, String> {
        let typed = self.by.text().trim();
        let all: Vec<&str> = setup.people.iter().map(|p| p.initials.as_str()).collect();
        let known = all.iter().find(|initials| name_key(initials) == name_key(typed));
        match known {
            Some(known) => Ok(Some((*known).to_owned())),
            None if all.is_empty() => Ok(Some(typed.to_owned()).filter(|typed| !typed.is_empty())),
            None if typed.is_empty() => Err(say!("type the initials of whoever counted: {all}", all = all.join(", "))),
            None => Err(say!("nobody here signs as {typed}; one of {all}", typed, all = all.join(", "))),
        }
    }

    /// The mark that was typed; none where nothing was.
    fn mark(&self) -> Result<Option<String>, String> {
        let typed = self.mark.text().trim();
        if typed.is_empty() {
            return Ok(None);
        }
        let mark = parse_mark(typed).ok_or(word!("no mark: it is four letters or digits, with no 0, 1, I or O"))?;
        Ok(Some(mark))
    }

    fn accept(&mut self, setup: &Setup, choices: &[CountChoice], now: Moment) -> Done {
        for part in PARTS {
            if self.check(part, setup, now).is_err() {
                self.focus = part;
                return Done::NotYet;
            }
        }
        let (Ok(at), Ok(by), Ok(mark)) = (self.at(setup, now), self.by(setup), self.mark()) else {
            return Done::NotYet;
        };
        let strange = mark.clone().filter(|mark| *mark != self.choice.mark);
        // Of other places, the mark says of which.
        let other = strange.as_ref().and_then(|strange| choices.iter().find(|choice| choice.mark == *strange));
        let choice = other.unwrap_or(&self.choice);
        let older = choice.newest.filter(|newest| *newest >= at);
        let sheet = FilledSheet {
            places: choice.places.clone(),
            at,
            by,
            mark: match mark {
                Some(_) if strange.is_some() && other.is_none() => SheetMark::ByNames,
                Some(mark) => SheetMark::Said(mark),
                None => SheetMark::Unsaid,
            },
            older: older.is_some(),
        };
        let mut then = Effect::BeginFromSheet(Box::new(sheet));
        if let Some(newest) = older {
            let days = setup.venue.days;
            let question = say!(
                "Filled in {at}, which is no later than the last count of {label}: {newest}. It would stand before that one.",
                at = days.short(at),
                label = choice.label,
                newest = days.short(newest)
            );
            then = Effect::ask(question, word!("types it in as the older count"), word!("goes back"), then);
        }
        let ours = &self.choice.label;
        match (strange, other) {
            (Some(strange), Some(other)) => {
                let question = say!(
                    "{strange} is the mark of a sheet of “{label}”, {lines} lines, not of “{ours}”.",
                    strange,
                    label = other.label,
                    lines = other.lines,
                    ours
                );
                then = Effect::ask(
                    question,
                    say!("types that one in: {label}", label = other.label),
                    word!("goes back"),
                    then,
                );
            }
            (Some(strange), None) => {
                let question = say!(
                    "A sheet with the mark {strange} was printed of other shelves than now stand in “{ours}”: its numbers \
                     are other lines.",
                    strange,
                    ours
                );
                then = Effect::ask(question, word!("types it in by names, without numbers"), word!("goes back"), then);
            }
            (None, _) => {}
        }
        Done::Begin(then)
    }

    pub(super) fn draw(&self, setup: &Setup, frame: &mut Frame, area: Rect, scene: Scene) {
        let theme = scene.theme;
        let lines = number_of(self.choice.lines, word!("line"), word!("lines"));
        let title = say!("Type in a filled sheet: {label}, {lines}", label = text::safe(&self.choice.label), lines);
        let inner = panel(frame, centred(area, WIDTH, HEIGHT), &title, theme);
        for ((part, label, field), y) in [
            (Part::At, word!("Filled in at"), &self.at),
            (Part::By, word!("By (initials)"), &self.by),
            (Part::Mark, word!("Mark in its head"), &self.mark),
        ]
        .into_iter()
        .zip(inner.y..inner.bottom())
        {
            let has_focus = part == self.focus;
            let title = Rect { y, height: 1, width: TITLE.min(inner.width), ..inner };
            let style = if has_focus { theme.title } else { theme.text };
            let mark = if has_focus { ">" } else { " " };
            frame.render_widget(Span::styled(format!("{mark}{label}"), style), title);
            let value = Rect { x: title.right(), y, height: 1, width: (inner.width - title.width).min(32) };
            field.draw(frame, value, has_focus, theme);
        }
        let y = (inner.y + 4).min(inner.bottom());
        let said = Rect { y, height: SAID.min(inner.bottom() - y), ..inner };
        let words = self.said(setup, scene.now);
        frame.render_widget(Paragraph::new(told(words, said.width.into(), theme)), said);
    }

    /// What the field under the cursor takes, what is understood of it, or what is wrong.
    fn said(&self, setup: &Setup, now: Moment) -> Result<String, String> {
        let days = setup.venue.days;
        match self.focus {
            Part::At => {
                let at = self.at(setup, now)?;
                let now_then = self.at.text().trim().is_empty();
                let when = if now_then {
                    word!("now").to_owned()
                } else {
                    format!("{}, {}", days.short(at), ago(now.since(at)))
                };
                Ok(say!(
                    "{when}. What was sold later is not part of it. 01:30 (the last one), yesterday 01:30, sun 01:30 and \
                     2026-11-22 01:30 are understood.",
                    when
                ))
            }
            // Nothing is wrong before anything is typed.
            Part::By if self.by.is_empty() && !setup.people.is_empty() => Ok(self.by(setup).err().unwrap_or_default()),
            Part::By => match self.by(setup)? {
                Some(_) => Ok(word!("Who looked at the bottles, whoever types it in.").to_owned()),
                None => Ok(word!("Who looked at the bottles; nobody where nobody signs.").to_owned()),
            },
            Part::Mark => match self.mark()? {
                None => Ok(word!(
                    "The four signs at the top right of the paper: they say whether its numbers are still right. \
                            Nothing takes it to be so. Enter begins."
                )
                .to_owned()),
                Some(mark) if mark == self.choice.mark => {
                    Ok(word!("The mark is right: the numbers are those of the shelves. Enter begins.").to_owned())
                }
                Some(_) => {
                    Err(word!("that is the mark of other shelves or places; Enter says what can be done").to_owned())
                }
            },
        }
    }
}

/// How long it is, in words.
fn ago(ms: i64) -> String {
    let minutes = ms / 60_000;
    match (minutes / 1_440, minutes / 60 % 24, minutes % 60) {
        (0, 0, 0) => word!("this minute").to_owned(),
        (0, 0, m) => say!("{m} min ago", m),
        (0, h, 0) => say!("{h} h ago", h),
        (0, h, m) => say!("{h} h {m} min ago", h, m),
        (1, ..) => word!("a day ago").to_owned(),
        (d, ..) => say!("{d} days ago", d),
    }
}
