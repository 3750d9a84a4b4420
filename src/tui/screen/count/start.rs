//! Choosing what to count.

use super::form::{Done, Form};
use crate::domain::ledger::Count;
use crate::domain::rows::CountChoice;
use crate::domain::venue::{Moment, Setup};
use crate::tui::keymap::{Action, Scope};
use crate::tui::screen::{Effect, Scene};
use crate::tui::text;
use crate::tui::widget::columns::{self, Column, Row, Width};
use crate::tui::widget::notice::Notice;
use crate::tui::widget::window::Window;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::{Paragraph, Wrap};
use std::sync::Arc;

/// The list of what can be counted.
#[derive(Debug)]
pub struct CountStart {
    choices: Vec<CountChoice>,
    open: Option<Count>,
    setup: Arc<Setup>,
    /// Who signs.
    by: Option<String>,
    blind: bool,
    window: Window,
    /// What is asked of a filled sheet.
    form: Option<Form>,
}

const COLUMNS: &[Column] = &[
    Column::words(text!("What to count"), Width::Flex(24), 0),
    Column::figures(text!("lines"), 6, 1),
    Column::words(text!("last counted"), Width::Fixed(16), 0),
];

impl CountStart {
    /// The choices, and a count that was begun and not closed.
    pub fn new(choices: Vec<CountChoice>, open: Option<Count>, setup: Arc<Setup>, by: Option<&str>) -> CountStart {
        let (by, blind) = (by.map(str::to_owned), setup.venue.blind_counts);
        CountStart { choices, open, setup, by, blind, window: Window::default(), form: None }
    }

    /// Which keys are live.
    pub fn scope(&self) -> Scope {
        if self.form.is_some() { Scope::SheetForm } else { Scope::CountStart }
    }

    /// Text pasted into the form.
    pub fn paste(&mut self, text: &str) {
        self.form.iter_mut().for_each(|form| form.paste(text));
    }

    /// The sheet is begun, so that nothing is asked of it any more.
    pub fn sheet_begun(&mut self) {
        self.form = None;
    }

    /// Takes fresh choices; the cursor stays where it is.
    pub fn refresh(&mut self, choices: Vec<CountChoice>, open: Option<Count>, setup: Arc<Setup>) {
        self.setup = setup;
        self.choices = choices;
        self.open = open;
        self.window.select(self.window.selected(), self.choices.len());
    }

    /// What an action asks for.
    pub fn update(&mut self, action: Action, now: Moment) -> Effect {
        if let Some(form) = &mut self.form {
            return match form.apply(action, &self.setup, &self.choices, now) {
                Done::NotYet => Effect::None,
                Done::Dropped => {
                    self.form = None;
                    Effect::None
                }
                // It stays open until the book has begun the count.
                Done::Begin(effect) => effect,
            };
        }
        match action {
            Action::Open => match (&self.open, self.choices.get(self.window.selected())) {
                (Some(open), _) => Effect::OpenCount(open.id),
                (None, Some(choice)) => Effect::BeginCount { places: choice.places.clone(), blind: self.blind },
                (None, None) => Effect::None,
            },
            Action::WriteFiles => match self.choices.get(self.window.selected()) {
                Some(choice) => Effect::WriteCountSheet(choice.places.clone()),
                None => Effect::None,
            },
            Action::FromSheet => self.ask_for_sheet(),
            Action::ToggleBlind => {
                self.blind = !self.blind;
                Effect::None
            }
            _ => {
                self.window.apply(action, self.choices.len());
                Effect::None
            }
        }
    }

    fn ask_for_sheet(&mut self) -> Effect {
        if let Some(open) = &self.open {
            return Effect::Say(Notice::warning(say!(
                "“{open}” is not closed: go on with it (Enter), and close it first",
                open = open.name
            )));
        }
        match self.choices.get(self.window.selected()) {
            Some(choice) if choice.lines > 0 => self.form = Some(Form::new(choice.clone(), self.by.as_deref())),
            _ => {
                return Effect::Say(Notice::warning(word!(
                    "no item has a shelf there, so that there is no sheet of it"
                )));
            }
        }
        Effect::None
    }

    /// Draws the list, and over it what is asked of a filled sheet.
    pub fn draw(&mut self, frame: &mut Frame, area: Rect, scene: Scene) {
        let theme = scene.theme;
        let [head, body, foot] =
            Layout::vertical([Constraint::Length(2), Constraint::Fill(1), Constraint::Length(3)]).areas(area);
        let title = match &self.open {
            Some(open) => say!("“{open}” is not closed. Enter goes on with it.", open = text::safe(&open.name)),
            None if self.choices.first().is_none_or(|c| c.places.is_empty()) => {
                word!("There is no place to count yet: B, then s, takes one in (a on Places); so does the card of an item, under Stands in (S, then a).").to_owned()
            }
            None if self.choices.first().is_none_or(|c| c.lines == 0) => {
                word!("Nothing stands anywhere yet: choose where to begin, and a takes in one bottle after the other.")
                    .to_owned()
            }
            None => word!("Choose what to walk along. Lines are kept one by one as you enter them.").to_owned(),
        };
        let title = Paragraph::new(Line::from(Span::styled(title, theme.title))).wrap(Wrap { trim: true });
        frame.render_widget(title, head);
        let (choices, days) = (&self.choices, self.setup.venue.days);
        let row = |at: usize| {
            let choice = &choices[at];
            let last = choice.last.map_or(word!("never").to_owned(), |at: Moment| days.short(at));
            Row::Cells(vec![
                Line::from(text::safe(&choice.label)),
                Line::from(choice.lines.to_string()),
                Line::from(last),
            ])
        };
        columns::draw(frame, body, COLUMNS, choices.len(), &mut self.window, row, theme);
        let blind = if self.blind { word!("Blind: yes") } else { word!("Blind: no") };
        let lines = vec![
            Line::from(vec![Span::styled(blind, theme.title), Span::raw(word!("  (b changes it)"))]),
            Line::from(word!(
                "A blind count hides what is expected and sold of a place until that place is done, so that nobody \
                 counts what they think should be there."
            )),
        ];
        frame.render_widget(Paragraph::new(lines).wrap(Wrap { trim: true }), foot);
        if let Some(form) = &self.form {
            form.draw(&self.setup, frame, area, scene);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::rows::{FilledSheet, SheetMark};
    use crate::domain::venue::{Person, PlaceId, Role};
    use crate::tui::keymap::resolve;
    use crate::tui::screen::fixture::{at, bar, pressed};
    use crate::tui::theme::Theme;
    use crate::tui::widget::harness::{at_every_size, shown};

    const NOW: &str = "2026-11-23 10:00";

    fn start(by: Option<&str>, people: &[&str]) -> CountStart {
        let choice = |label: &str, places: &[i64], lines, mark: &str| CountChoice {
            label: label.to_owned(),
            places: places.iter().map(|id| PlaceId(*id)).collect(),
            lines,
            last: Some(at("2026-11-16 02:00")),
            newest: Some(at("2026-11-16 02:10")),
            mark: mark.to_owned(),
        };
        let choices = vec![
            choice("All", &[1, 2], 5, "AAAA"),
            choice("Cellar", &[2], 3, "CCCC"),
            choice("Attic", &[3], 0, "2222"),
        ];
        let mut setup = bar();
        setup.people =
            people.iter().map(|i| Person { initials: (*i).to_owned(), name: None, role: Role::Counter }).collect();
        CountStart::new(choices, None, Arc::new(setup), by)
    }

    fn press(start: &mut CountStart, keys: &str) -> Vec<Effect> {
        pressed(keys, |event| resolve(start.scope(), event).map(|action| start.update(action, at(NOW))))
    }

    fn picture(start: &mut CountStart) -> String {
        let theme = Theme::from_env(true);
        shown(80, 24, |frame| start.draw(frame, frame.area(), Scene { theme: &theme, now: at(NOW) }))
    }

    /// Answers every question with yes; what is asked, and what comes of it.
    fn yes(effect: &Effect) -> (Vec<String>, FilledSheet) {
        match effect {
            Effect::BeginFromSheet(sheet) => (Vec::new(), *sheet.clone()),
            Effect::Ask { question, then, .. } => {
                let (mut asked, sheet) = yes(then);
                asked.insert(0, question.clone());
                (asked, sheet)
            }
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn a_sheet_is_written_of_what_is_chosen() {
        let mut screen = start(None, &[]);
        assert_eq!(press(&mut screen, "w"), [Effect::WriteCountSheet(vec![PlaceId(1), PlaceId(2)])]);
        assert_eq!(press(&mut screen, "jw"), [Effect::WriteCountSheet(vec![PlaceId(2)])]);
        let mut nothing = CountStart::new(Vec::new(), None, Arc::new(bar()), None);
        assert_eq!(press(&mut nothing, "w"), []);
        assert!(matches!(&press(&mut nothing, "f")[..], [Effect::Say(_)]));
        assert!(matches!(&press(&mut screen, "jf")[..], [Effect::Say(_)]), "no line, no sheet");
    }

    #[test]
    fn a_filled_sheet_begins_with_three_enters() {
        let mut screen = start(Some("om"), &["OM", "IP"]);
        let effects = press(&mut screen, "f\n\n\n");
        let want = FilledSheet {
            places: vec![PlaceId(1), PlaceId(2)],
            at: at(NOW),
            by: Some("OM".to_owned()),
            mark: SheetMark::Unsaid,
            older: false,
        };
        assert_eq!(effects.iter().map(yes).collect::<Vec<_>>(), [(vec![], want)]);
        // Until the book has begun it, nothing is lost of what was typed.
        assert_eq!(screen.scope(), Scope::SheetForm);
        screen.sheet_begun();
        assert_eq!(screen.scope(), Scope::CountStart);
    }

    #[test]
    fn when_by_whom_and_the_mark() {
        let mut screen = start(None, &["OM", "IP"]);
        press(&mut screen, "jf25:00\n");
        assert!(picture(&mut screen).contains("expected a time such as 01:30"), "{}", picture(&mut screen));
        press(&mut screen, &"\u{8}".repeat(5));
        press(&mut screen, "2026-11-23 11:00\n");
        assert!(picture(&mut screen).contains("is still to come"), "{}", picture(&mut screen));
        press(&mut screen, &"\u{8}".repeat(16));
        press(&mut screen, "01:30");
        assert!(picture(&mut screen).contains("Mon 23 Nov 01:30, 8 h 30 min ago"), "{}", picture(&mut screen));
        assert_eq!(press(&mut screen, "\n\n"), [], "somebody counted");
        assert!(picture(&mut screen).contains("whoever counted: OM, IP"), "{}", picture(&mut screen));
        press(&mut screen, "xx\n");
        assert!(picture(&mut screen).contains("nobody here signs as xx"), "{}", picture(&mut screen));
        let effects = press(&mut screen, "\u{8}\u{8}ip\nc ccc\n");
        let (asked, sheet) = yes(&effects[0]);
        assert!(asked.is_empty(), "{asked:?}");
        assert_eq!((sheet.at, sheet.by.as_deref()), (at("2026-11-23 01:30"), Some("IP")));
        assert_eq!((sheet.places, sheet.mark), (vec![PlaceId(2)], SheetMark::Said("CCCC".to_owned())));
    }

    #[test]
    fn what_wants_a_question() {
        // Older than the last count.
        let (asked, sheet) = yes(&press(&mut start(None, &[]), "f2026-11-16 02:10\n\n\n")[0]);
        assert!(asked[0].contains("no later than the last count of All"), "{asked:?}");
        assert!(sheet.older);
        // The mark of other places: those are typed in.
        let (asked, sheet) = yes(&press(&mut start(None, &[]), "f\n\ncccc\n")[0]);
        assert!(asked[0].contains("CCCC is the mark of a sheet of “Cellar”, 3 lines"), "{asked:?}");
        assert_eq!((sheet.places, sheet.mark), (vec![PlaceId(2)], SheetMark::Said("CCCC".to_owned())));
        // Of no shelves that there are now: by names.
        let (asked, sheet) = yes(&press(&mut start(None, &[]), "f\n\n7777\n")[0]);
        assert!(asked[0].contains("7777 was printed of other shelves"), "{asked:?}");
        assert_eq!((sheet.places.len(), sheet.mark), (2, SheetMark::ByNames));
        // None at all.
        let mut screen = start(None, &[]);
        assert_eq!(press(&mut screen, "f\n\n77O7\n"), []);
        assert!(picture(&mut screen).contains("no mark"), "{}", picture(&mut screen));
        assert_eq!((press(&mut screen, "\u{1b}"), screen.scope()), (vec![], Scope::CountStart));
    }

    #[test]
    fn an_open_count_comes_first() {
        let mut screen = start(None, &[]);
        let open = Count {
            id: crate::domain::venue::CountId(1),
            name: "2026-11-22 full".to_owned(),
            opened: at("2026-11-23 01:30"),
            closed: None,
            blind: false,
        };
        screen.refresh(screen.choices.clone(), Some(open), screen.setup.clone());
        let said = press(&mut screen, "f");
        assert!(matches!(&said[..], [Effect::Say(notice)] if notice.text.contains("is not closed")), "{said:?}");
    }

    #[test]
    fn no_size_panics() {
        let theme = Theme::from_env(true);
        at_every_size(|frame| {
            let mut screen = start(None, &["OM"]);
            press(&mut screen, "f\n");
            screen.draw(frame, frame.area(), Scene { theme: &theme, now: at(NOW) });
        });
    }
}
