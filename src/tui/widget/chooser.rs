//! Choosing a file: folders and files of one folder, narrowed by what is typed; a path can be typed or pasted whole.

use super::field::Field;
use super::panel::{centred, panel};
use super::window::Window;
use crate::domain::rows::{FileEntry, Listing};
use crate::domain::venue::DayRule;
use crate::tui::keymap::Action;
use crate::tui::text;
use crate::tui::theme::Theme;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;
use std::path::{MAIN_SEPARATOR, Path, PathBuf};

/// The widest and highest that the box gets.
const WIDTH: u16 = 76;
const HEIGHT: u16 = 20;
/// Longest path that can be typed.
const LENGTH: usize = 1_000;

/// What came of a key.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Chosen {
    /// Nothing that anybody else must know of.
    NotYet,
    /// Another folder is to be looked into.
    Look(PathBuf),
    /// This file.
    File(PathBuf),
}

/// A folder, what was typed, and the entries that match. While it is open, the keyboard is in
/// [`Scope::Files`](crate::tui::keymap::Scope::Files).
#[derive(Debug)]
pub struct Chooser {
    title: String,
    listing: Listing,
    typed: Field,
    hits: Vec<usize>,
    window: Window,
    days: DayRule,
}

impl Chooser {
    /// A chooser in a folder; its title says what for. `days` says when a file was written.
    pub fn new(title: &str, listing: Listing, days: DayRule) -> Chooser {
        let mut chooser = Chooser {
            title: text::safe(title),
            listing,
            typed: Field::new(LENGTH),
            hits: Vec::new(),
            window: Window::default(),
            days,
        };
        chooser.narrow();
        chooser
    }

    /// Takes what was looked into.
    pub fn listed(&mut self, listing: Listing) {
        self.listing = listing;
        self.typed = Field::new(LENGTH);
        self.narrow();
    }

    /// Takes typing, moving and choosing.
    pub fn apply(&mut self, action: Action) -> Chosen {
        match action {
            Action::Accept => return self.accept(),
            Action::EraseBack if self.typed.is_empty() => {
                return self.listing.folder.parent().map_or(Chosen::NotYet, |up| Chosen::Look(up.to_owned()));
            }
            _ => {}
        }
        if !self.window.apply(action, self.hits.len()) && self.typed.apply(action) {
            self.narrow();
        }
        Chosen::NotYet
    }

    /// Takes a pasted path.
    pub fn paste(&mut self, pasted: &str) {
        self.typed.paste(pasted);
        self.narrow();
    }

    /// What was typed as a path, when it is more than letters to look for.
    fn path(&self) -> Option<PathBuf> {
        // A file dropped on a terminal comes in quotes, or with a mark of its kind before it.
        let typed = self.typed.text().trim().trim_matches(['\'', '"']);
        let typed = typed.strip_prefix("file://").unwrap_or(typed);
        if typed == ".." {
            return self.listing.folder.parent().map(Path::to_owned);
        }
        // A folder that the program knows takes a path from there as well.
        typed.contains(MAIN_SEPARATOR).then(|| self.listing.folder.join(typed))
    }

    fn accept(&self) -> Chosen {
        if let Some(path) = self.path() {
            return Chosen::Look(path);
        }
        match self.here() {
            // A folder that is itself a file of sales is taken, not looked into.
            Some(entry) if entry.folder && !entry.export => Chosen::Look(entry.path.clone()),
            Some(entry) => Chosen::File(entry.path.clone()),
            None => Chosen::NotYet,
        }
    }

    fn entries(&self) -> &[FileEntry] {
        self.listing.entries.as_deref().unwrap_or_default()
    }

    fn here(&self) -> Option<&FileEntry> {
        self.entries().get(*self.hits.get(self.window.selected())?)
    }

    fn narrow(&mut self) {
        let wanted = self.typed.text().trim().to_lowercase();
        let all = self.path().is_some();
        let matches = |entry: &FileEntry| all || entry.name.to_lowercase().contains(&wanted);
        self.hits = self.entries().iter().enumerate().filter(|(_, entry)| matches(entry)).map(|(at, _)| at).collect();
        self.window = Window::default();
    }

    /// Draws the box in the middle of the area.
    pub fn draw(&mut self, frame: &mut Frame, area: Rect, theme: &Theme) {
        let inner = panel(frame, centred(area, WIDTH, HEIGHT), &self.title, theme);
        let [folder, typed, list] =
            Layout::vertical([Constraint::Length(1), Constraint::Length(1), Constraint::Fill(1)]).areas(inner);
        let wide = usize::from(inner.width);
        let shown = text::safe(&self.listing.folder.display().to_string());
        let cut = text::width(&shown).saturating_sub(wide);
        let shown = if cut > 0 { format!("…{}", tail(&shown, wide.saturating_sub(1))) } else { shown };
        frame.render_widget(Span::styled(shown, theme.muted), folder);
        self.typed.draw(frame, typed, true, theme);
        let lines = match (&self.listing.entries, self.hits.is_empty()) {
            (Err(why), _) => told(&text::safe(why), wide, theme),
            (Ok(_), true) => told(word!("nothing of that name is here; Backspace goes one folder up"), wide, theme),
            (Ok(_), false) => self.lines(usize::from(list.height), wide, theme),
        };
        frame.render_widget(Paragraph::new(lines), list);
    }

    fn lines(&mut self, rows: usize, wide: usize, theme: &Theme) -> Vec<Line<'static>> {
        let shown = self.window.scroll(rows.max(1), self.hits.len());
        let selected = self.window.selected();
        shown
            .filter_map(|at| {
                let entry = self.entries().get(*self.hits.get(at)?)?;
                let about = if entry.folder {
                    word!("folder").to_owned()
                } else {
                    let when = entry.modified.map_or(String::new(), |at| self.days.short(at));
                    format!("{when} {:>8}", bytes(entry.size))
                };
                let room = wide.saturating_sub(text::width(&about) + 1);
                let name = text::pad_right(&text::fit(&text::safe(&entry.name), room), room);
                let line = Line::from(vec![Span::raw(name), Span::raw(" "), Span::styled(about, theme.muted)]);
                Some(if at == selected { line.style(theme.selected) } else { line })
            })
            .collect()
    }
}

fn told(words: &str, wide: usize, theme: &Theme) -> Vec<Line<'static>> {
    text::wrap(words, wide).into_iter().map(|line| Line::from(Span::styled(line, theme.muted))).collect()
}

/// The end of a text in at most so many cells.
fn tail(shown: &str, cells: usize) -> String {
    let mut kept: Vec<char> = Vec::new();
    let mut used = 0;
    for c in shown.chars().rev() {
        used += text::char_width(c);
        if used > cells {
            break;
        }
        kept.push(c);
    }
    kept.into_iter().rev().collect()
}

/// A size as people read it.
pub fn bytes(size: u64) -> String {
    match size {
        0..=999 => format!("{size} B"),
        1_000..=999_999 => say!("{size} kB", size = size / 1_000),
        _ => say!("{size}.{size_2} MB", size = size / 1_000_000, size_2 = size / 100_000 % 10),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::venue::Moment;
    use crate::tui::widget::harness::{at_every_size, shown};

    fn entry(name: &str, folder: bool) -> FileEntry {
        let path = Path::new("/till").join(name);
        let modified = Some(Moment(1_795_600_000_000));
        FileEntry { path, name: name.to_owned(), folder, export: false, size: 12_345, modified }
    }

    fn chooser() -> Chooser {
        let entries = vec![entry("2026", true), entry("week 47.csv", false), entry("week 46.csv", false)];
        let listing = Listing { folder: PathBuf::from("/till"), entries: Ok(entries) };
        let days = DayRule { zone: chrono_tz::UTC, starts: chrono::NaiveTime::MIN };
        Chooser::new("Sales of the till: Enter takes the file", listing, days)
    }

    fn type_in(chooser: &mut Chooser, text: &str) -> Chosen {
        text.chars().fold(Chosen::NotYet, |_, c| chooser.apply(Action::Type(c)))
    }

    #[test]
    fn letters_narrow_the_list_and_enter_chooses() {
        let mut chooser = chooser();
        type_in(&mut chooser, "47");
        assert_eq!(chooser.apply(Action::Accept), Chosen::File(PathBuf::from("/till/week 47.csv")));
        chooser.apply(Action::ClearField);
        assert_eq!(chooser.apply(Action::Accept), Chosen::Look(PathBuf::from("/till/2026")), "a folder is looked into");
        assert_eq!(chooser.apply(Action::EraseBack), Chosen::Look(PathBuf::from("/")), "one folder up");
    }

    #[test]
    fn a_path_can_be_typed_whole_as_a_file_manager_drops_it() {
        let mut chooser = chooser();
        chooser.paste("'/media/stick/week 47.csv'");
        assert_eq!(chooser.apply(Action::Accept), Chosen::Look(PathBuf::from("/media/stick/week 47.csv")));
    }

    #[test]
    fn a_folder_that_cannot_be_read_says_so() {
        let mut chooser = chooser();
        chooser.listed(Listing { folder: PathBuf::from("/gone"), entries: Err("no such folder".to_owned()) });
        let drawn = shown(80, 22, |frame| chooser.draw(frame, frame.area(), &Theme::default()));
        assert!(drawn.contains("no such folder"), "{drawn}");
        assert_eq!(chooser.apply(Action::Accept), Chosen::NotYet);
    }

    #[test]
    fn no_size_panics() {
        at_every_size(|frame| chooser().draw(frame, frame.area(), &Theme::from_env(true)));
    }
}
