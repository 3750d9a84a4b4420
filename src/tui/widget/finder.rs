//! Finding one of many by a few of its letters.

use super::field::Field;
use super::panel::{centred, panel};
use super::window::Window;
use crate::tui::keymap::Action;
use crate::tui::pointer::{self, Target};
use crate::tui::text;
use crate::tui::theme::Theme;
use nucleo_matcher::pattern::{AtomKind, CaseMatching, Normalization, Pattern};
use nucleo_matcher::{Config, Matcher, Utf32Str};
use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

/// The widest and highest that the box gets.
const WIDTH: u16 = 66;
const HEIGHT: u16 = 16;

/// Something that can be found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry<K> {
    /// What it is, for whoever asks.
    pub key: K,
    /// What it is found by.
    label: String,
    /// What stands beside it, at the right.
    beside: String,
    /// What it is found by besides.
    also: String,
}

impl<K> Entry<K> {
    /// An entry; both texts are made harmless.
    pub fn new(key: K, label: &str, beside: &str) -> Entry<K> {
        Entry { key, label: text::safe(label), beside: text::safe(beside), also: String::new() }
    }

    /// The same, found by other words too.
    #[must_use]
    pub fn also(self, words: &str) -> Entry<K> {
        Entry { also: format!("{} {}", self.label, text::safe(words)), ..self }
    }

    fn score(
        &self,
        pattern: &Pattern,
        letters: AtomKind,
        buffer: &mut Vec<char>,
        matcher: &mut Matcher,
    ) -> Option<u32> {
        let mut of = |text: &str| pattern.score(Utf32Str::new(text, buffer), matcher);
        let own = of(&self.label).map(|score| score + 1);
        match letters {
            // Letters that stand apart are found in any number of words.
            AtomKind::Fuzzy => own,
            // By its own name it is found first.
            _ => own.or_else(|| of(&self.also)),
        }
    }
}

/// A list of keys and labels, what was typed, and the matches, best first. While it is open, the keyboard is in
/// [`Scope::Find`](crate::tui::keymap::Scope::Find).
pub struct Finder<K> {
    title: String,
    entries: Vec<Entry<K>>,
    query: Field,
    hits: Vec<usize>,
    window: Window,
    matcher: Matcher,
    /// Nothing is picked before something was typed or chosen: the first of all is no better than any other.
    wants_letters: bool,
    /// What is said where nothing is called that.
    none: &'static str,
    /// Whether what is typed can be taken in as a new one.
    new: bool,
}

impl<K> Finder<K> {
    /// A finder over the entries, none typed yet: all of them match, in the order given. Labels are made harmless.
    pub fn new(title: &str, entries: impl IntoIterator<Item = (K, String)>) -> Finder<K> {
        Finder::of(title, entries.into_iter().map(|(key, label)| Entry::new(key, &label, "")))
    }

    /// The same over entries with something beside them.
    pub fn of(title: &str, entries: impl IntoIterator<Item = Entry<K>>) -> Finder<K> {
        let mut config = Config::DEFAULT;
        config.prefer_prefix = true;
        let entries: Vec<Entry<K>> = entries.into_iter().collect();
        Finder {
            title: text::safe(title),
            hits: (0..entries.len()).collect(),
            entries,
            query: Field::new(60),
            window: Window::default(),
            matcher: Matcher::new(config),
            wants_letters: false,
            none: word!("Nothing is called that."),
            new: false,
        }
    }

    /// The same where what is not found can be taken in.
    #[must_use]
    pub fn or_new(mut self) -> Finder<K> {
        self.none = word!("Not known yet: Enter takes it in as a new item.");
        self.new = true;
        self
    }

    /// The same where the first entry is no likelier than any other: none is picked before one types or moves.
    #[must_use]
    pub fn after_letters(mut self) -> Finder<K> {
        self.wants_letters = true;
        self
    }

    /// Whether letters are wanted first.
    pub fn wants_letters(&self) -> bool {
        self.wants_letters && self.query.text().is_empty()
    }

    /// Takes typing and moving; false for an action that is not its own (picking, closing).
    pub fn apply(&mut self, action: Action) -> bool {
        // With nothing typed there is nothing to move the cursor in but the list.
        let moves = match action {
            Action::CursorHome if self.query.text().is_empty() => Action::First,
            Action::CursorEnd if self.query.text().is_empty() => Action::Last,
            other => other,
        };
        if self.window.apply(moves, self.hits.len()) {
            self.wants_letters = false;
            return true;
        }
        let before = self.query.text().to_owned();
        let taken = self.query.apply(action);
        if self.query.text() != before {
            self.search();
        }
        taken
    }

    /// Takes pasted text, or what a scanner sent, into the query.
    pub fn paste(&mut self, pasted: &str) {
        self.query.paste(pasted);
        self.search();
    }

    /// What was typed.
    pub fn query(&self) -> &str {
        self.query.text()
    }

    /// How many entries match.
    pub fn matches(&self) -> usize {
        self.hits.len()
    }

    /// The key of the match under the cursor; none if nothing matches, or letters are wanted first.
    pub fn picked(&self) -> Option<&K> {
        if self.wants_letters() {
            return None;
        }
        let hit = self.hits.get(self.window.selected())?;
        self.entries.get(*hit).map(|entry| &entry.key)
    }

    /// Ranks the entries anew. Case and accents do not matter, words may come in any order, and entries that match
    /// equally well stay in the order they were given in. Letters that stand far apart are a match only where nothing has
    /// them in a row: whoever writes a word out means that word.
    fn search(&mut self) {
        self.hits = self.ranked(AtomKind::Substring);
        if self.hits.is_empty() {
            self.hits = self.ranked(AtomKind::Fuzzy);
        }
        self.window = Window::default();
    }

    fn ranked(&mut self, letters: AtomKind) -> Vec<usize> {
        let pattern = Pattern::new(self.query.text(), CaseMatching::Ignore, Normalization::Smart, letters);
        let mut buffer = Vec::new();
        let mut ranked: Vec<(u32, usize)> = Vec::new();
        for (at, entry) in self.entries.iter().enumerate() {
            if let Some(score) = entry.score(&pattern, letters, &mut buffer, &mut self.matcher) {
                ranked.push((score, at));
            }
        }
        ranked.sort_by_key(|&(score, at)| (std::cmp::Reverse(score), at));
        ranked.into_iter().map(|(_, at)| at).collect()
    }

    /// Draws the box in the middle of the area, the matches in view only.
    pub fn draw(&mut self, frame: &mut Frame, area: Rect, theme: &Theme) {
        let inner = panel(frame, centred(area, WIDTH, HEIGHT), &self.title, theme);
        self.draw_inside(frame, inner, theme);
    }

    /// Draws what was typed over the first line of an area and the matches under it, without a box: for a form.
    pub fn draw_inside(&mut self, frame: &mut Frame, inner: Rect, theme: &Theme) {
        let inner = inner.intersection(frame.area());
        if inner.is_empty() {
            return;
        }
        let count = Line::from(Span::styled(format!(" {}", self.window.position(self.hits.len())), theme.muted));
        let count_width = u16::try_from(count.width()).unwrap_or(u16::MAX).min(inner.width / 2);
        let field = Rect { height: 1, width: inner.width - count_width, ..inner };
        self.query.draw(frame, field, true, theme);
        let beside = Rect { x: field.right(), width: count_width, ..field };
        frame.render_widget(count.right_aligned(), beside);

        let mut list = Rect { y: inner.y + 1, height: inner.height - 1, ..inner };
        // What is typed may be part of a name that is known and yet a name of its own.
        let typed = self.query.text().trim().to_lowercase();
        let known = |hit: &usize| self.entries.get(*hit).is_some_and(|entry| entry.label.to_lowercase() == typed);
        if self.new && !typed.is_empty() && !self.hits.is_empty() && !self.hits.iter().any(known) && list.height > 1 {
            list.height -= 1;
            let said = say!("Ctrl-N takes “{name}” in as a new item", name = self.query.text().trim());
            let last = Rect { y: list.bottom(), height: 1, ..list };
            frame.render_widget(Span::styled(text::fit(&said, last.width.into()), theme.hint), last);
        }
        if self.hits.is_empty() && list.height > 0 {
            frame.render_widget(Span::styled(text::fit(self.none, list.width.into()), theme.text), list);
        }
        let view = self.window.scroll(usize::from(list.height), self.hits.len());
        let in_view = self.hits.iter().enumerate().take(view.end).skip(view.start);
        for ((at, hit), y) in in_view.zip(list.y..list.bottom()) {
            let Some(Entry { label, beside, .. }) = self.entries.get(*hit) else { continue };
            let is_picked = at == self.window.selected() && !self.wants_letters();
            let style = if is_picked { theme.selected } else { theme.text };
            let row = Rect { y, height: 1, ..list };
            pointer::put(row, Target::Line(at, is_picked));
            let aside = u16::try_from(text::width(beside)).unwrap_or(u16::MAX).min(row.width / 3);
            let wide = usize::from(row.width - aside);
            frame.render_widget(Span::styled(text::pad_right(label, wide), style), row);
            let at = Rect { x: row.right() - aside, width: aside, ..row };
            let muted = if is_picked { theme.selected } else { theme.muted };
            frame.render_widget(Span::styled(text::fit(beside, aside.into()), muted), at);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tui::widget::harness::{at_every_size, shown};

    fn finder(typed: &str) -> Finder<usize> {
        let labels = ["Pelmarsh Gin", "Ginger syrup", "Crème de mûre", "Aged rum 8 years", "Sloe gin", "梅酒"];
        let mut finder = Finder::new("Find an item", labels.into_iter().map(str::to_owned).enumerate());
        for c in typed.chars() {
            assert!(finder.apply(Action::Type(c)));
        }
        finder
    }

    #[test]
    fn a_few_letters_find_it() {
        for (typed, want) in [
            ("", Some(0)),
            ("mure", Some(2)),
            ("rum8", Some(3)),
            ("gin sl", Some(4)),
            ("GINGER", Some(1)),
            ("梅", Some(5)),
            ("xyz", None),
            ("^!'$", None),
        ] {
            assert_eq!(finder(typed).picked().copied(), want, "{typed}");
        }
    }

    #[test]
    fn moving_and_typing_on() {
        let mut finder = finder("gin");
        assert!(finder.apply(Action::Down));
        let second = finder.picked().copied();
        assert_ne!(second, Some(*super::tests::finder("gin").picked().unwrap()));
        finder.apply(Action::CursorLeft);
        assert_eq!(finder.picked().copied(), second, "moving in the query keeps the match");
        finder.apply(Action::EraseBack);
        assert_eq!(finder.query(), "gn");
        assert!(!finder.apply(Action::Accept));
    }

    #[test]
    fn where_none_is_likelier_nothing_is_picked_before_one_types_or_moves() {
        let fresh = || Finder::new("Which?", ["Gin", "Rum"].map(str::to_owned).into_iter().enumerate()).after_letters();
        let mut finder = fresh();
        assert_eq!((finder.picked(), finder.wants_letters()), (None, true));
        finder.apply(Action::Type('g'));
        assert_eq!(finder.picked(), Some(&0));
        finder.apply(Action::EraseBack);
        assert_eq!(finder.picked(), None);
        let mut finder = fresh();
        finder.apply(Action::Down);
        assert_eq!(finder.picked(), Some(&1));
    }

    #[test]
    fn home_and_end_are_of_the_list_until_something_is_typed() {
        let mut finder = finder("");
        assert!(finder.apply(Action::CursorEnd));
        assert_eq!(finder.picked(), Some(&5));
        finder.apply(Action::CursorHome);
        assert_eq!(finder.picked(), Some(&0));
        finder.apply(Action::Type('g'));
        finder.apply(Action::CursorHome);
        finder.apply(Action::Type('x'));
        assert_eq!(finder.query(), "xg");
    }

    #[test]
    fn drawn() {
        let mut finder = finder("gin");
        insta::assert_snapshot!(shown(40, 8, |frame| finder.draw(frame, frame.area(), &Theme::default())), @r"
        ┌ Find an item ────────────────────────┐
        │ gin                              1/3 │
        │ Ginger syrup                         │
        │ Sloe gin                             │
        │ Pelmarsh Gin                         │
        │                                      │
        │                                      │
        └──────────────────────────────────────┘
        ");
    }

    #[test]
    fn no_size_panics() {
        for typed in ["", "gin", "nothing at all"] {
            at_every_size(|frame| finder(typed).draw(frame, frame.area(), &Theme::from_env(true)));
        }
    }
}
