//! Typing in a sheet that was filled in by hand: its lines in its order and with its numbers, one after the other.

use super::{CountScreen, ENTRY_LENGTH};
use crate::domain::gauge::Entry;
use crate::domain::rows::ranges;
use crate::domain::venue::{ItemId, Moment, PlaceId};
use crate::tui::keymap::Action;
use crate::tui::screen::Effect;
use crate::tui::text;
use crate::tui::widget::field::Field;
use crate::tui::widget::notice::Notice;

/// Names of lines that are told in a question.
const NAMES: usize = 4;

impl CountScreen {
    /// Whether a sheet of paper is typed in.
    pub(super) fn on_paper(&self) -> bool {
        self.sheet.filled.is_some()
    }

    /// Whether its numbers hold.
    pub(super) fn has_numbers(&self) -> bool {
        self.sheet.filled.as_ref().is_some_and(|filled| !filled.numbers.is_empty())
    }

    /// The moment that a line is of: when the sheet was filled in.
    pub(super) fn moment(&self, now: Moment) -> Moment {
        if self.on_paper() { self.sheet.count.opened } else { now }
    }

    /// What an action asks for while a sheet is typed in; `None` where it is the same as in any count.
    pub(super) fn update_on_paper(&mut self, action: Action, now: Moment) -> Option<Effect> {
        let went_on = std::mem::take(&mut self.went_on);
        if let Some(field) = &mut self.number {
            match action {
                Action::Accept | Action::GoToNumber => {
                    let typed = field.text().to_owned();
                    self.number = None;
                    return Some(if typed.is_empty() { Effect::None } else { self.go_to_number(typed) });
                }
                Action::Cancel => self.number = None,
                _ => {
                    field.apply(action);
                }
            }
            return Some(Effect::None);
        }
        match (action, &self.entry) {
            // What was typed so far is no entry but the number of a line.
            (Action::GoToNumber, Some(field)) => {
                let typed = field.text().trim().to_owned();
                self.entry = None;
                self.doubted = None;
                Some(self.go_to_number(typed))
            }
            (Action::GoToNumber, None) => {
                // Where no number holds, the figure that comes next must not go into a line all the same.
                self.number = Some(Field::new(ENTRY_LENGTH));
                Some(if self.has_numbers() { Effect::None } else { Effect::Say(no_numbers()) })
            }
            (Action::Type(c), Some(field)) if self.quick && c.is_ascii_digit() && wants_a_tenth(field.text()) => {
                if let Some(field) = &mut self.entry {
                    field.apply(action);
                }
                let kept = self.accept(now);
                self.went_on = self.entry.is_none();
                Some(kept)
            }
            // Fingers that are used to it press Enter behind what went on by itself: that must not cost a line.
            (Action::Accept, None) if went_on => Some(Effect::Say(Notice::warning(word!(
                "kept without Enter already: - leaves this line out, m brings Enter back"
            )))),
            (Action::ToggleOneKey, None) => {
                self.quick = !self.quick;
                Some(Effect::Say(Notice::info(if self.quick {
                    word!("a tenth goes on by itself; a blank before or in an entry waits for Enter")
                } else {
                    word!("every entry ends with Enter")
                })))
            }
            (Action::Skip | Action::Accept, None) => {
                let at = self.selected();
                let skipped = self.skip();
                Some(self.end_of_paper(at).unwrap_or(skipped))
            }
            (Action::PreviousLine, None) => {
                self.window.step(-1, self.sheet.lines.len());
                self.again = Some(self.selected());
                Some(Effect::None)
            }
            _ => None,
        }
    }

    /// To the line of a number. Where there is none, what is typed next must not go anywhere: the number is asked for anew.
    fn go_to_number(&mut self, typed: String) -> Effect {
        let line = typed.parse().ok().and_then(|number| self.sheet.numbered(number));
        if let Some(line) = line {
            self.go_to(line);
            return Effect::None;
        }
        self.number = Some(Field::with(ENTRY_LENGTH, &typed));
        if !self.has_numbers() {
            return Effect::Say(no_numbers());
        }
        let most = (0..self.sheet.lines.len()).filter_map(|line| self.sheet.number(line)).max().unwrap_or(0);
        Effect::Say(Notice::warning(say!("the sheet has no line {typed}; its lines are 1 to {most}", typed, most)))
    }

    /// How entries end, in words.
    pub(super) fn how_on_paper(&self) -> &'static str {
        if self.quick { word!("as on paper, tenths without Enter") } else { word!("as on paper, Enter behind each") }
    }

    /// To the next line of the sheet, whatever place it is in; from the last one nowhere, so that fingers that go on type
    /// over nothing.
    pub(super) fn advance_on_paper(&mut self, from: usize) {
        self.go_to((from + 1).min(self.sheet.lines.len().saturating_sub(1)));
        // What was written below the lines of a place is still to come when its last line is typed in.
        self.came_from = self.sheet.lines.get(from).map(|line| line.place);
    }

    /// A question about an entry for a line that has one already: in a pile of torn pages the same may come twice. None when
    /// one went back to it, or when it says the same.
    pub(super) fn replaces(&self, entry: &Entry) -> Option<String> {
        let at = self.selected();
        let had = self.sheet.lines.get(at)?.entered.as_ref().filter(|had| had.entry != *entry)?;
        let closed = self.place().and_then(|p| self.sheet.place(p)).is_some_and(|p| p.closed);
        if !self.on_paper() || closed || self.again == Some(at) {
            return None;
        }
        let line = self.sheet.number(at).map_or(word!("this line").to_owned(), |number| say!("line {number}", number));
        Some(say!(
            "{line} has {entry_2} already: {entry} instead of it",
            line,
            entry_2 = had.entry.shown(),
            entry = entry.shown()
        ))
    }

    /// What is said behind the last line of the sheet.
    pub(super) fn end_of_paper(&self, line: usize) -> Option<Effect> {
        (line + 1 == self.sheet.lines.len()).then(|| {
            let said = match self.without_entry(None) {
                (0, _) => word!("that was the last line, and every line has an entry. x closes the count").to_owned(),
                (_, which) => say!("that was the last line. Without an entry: {which}. x closes the count", which),
            };
            Effect::Say(Notice::info(said))
        })
    }

    /// How many lines have no entry, in a place or in all of the sheet, and which: their numbers, and names of those that
    /// have none.
    pub(super) fn without_entry(&self, place: Option<PlaceId>) -> (usize, String) {
        let lines = self.sheet.lines.iter().enumerate();
        let open = lines.filter(|(_, l)| l.entered.is_none() && place.is_none_or(|place| l.place == place));
        let open: Vec<usize> = open.map(|(at, _)| at).collect();
        let numbers: Vec<usize> = open.iter().filter_map(|at| self.sheet.number(*at)).collect();
        let named: Vec<usize> = open.iter().copied().filter(|at| self.sheet.number(*at).is_none()).collect();
        let mut told: Vec<String> = Vec::new();
        if !numbers.is_empty() {
            told.push(ranges(&numbers));
        }
        let name = |at: &usize| text::safe(self.sheet.setup.item_name(self.sheet.lines[*at].item));
        told.extend(named.iter().take(NAMES).map(name));
        let more = named.len().saturating_sub(NAMES);
        let more = if more > 0 { say!(" and {more} more", more) } else { String::new() };
        (open.len(), format!("{}{more}", told.join(", ")))
    }

    /// The question before a place of the sheet is closed; none when it has all entries.
    pub(super) fn place_question(&self, place: PlaceId) -> Option<String> {
        let (open, which) = self.without_entry(Some(place));
        let of = self.sheet.progress_in(place).of;
        let name = self.sheet.setup.place_name(place);
        let have = if open == 1 { word!("has") } else { word!("have") };
        (open > 0).then(|| {
            say!(
                "{name}: {open} of {of} lines {have} no entry: {which}. They will tell nothing this time.",
                name,
                open,
                of,
                have,
                which
            )
        })
    }

    /// The question before the sheet is closed.
    pub(super) fn count_question(&self) -> String {
        let progress = self.sheet.progress();
        let (open, which) = self.without_entry(None);
        let at = self.sheet.setup.venue.days.short(self.sheet.count.opened);
        let which =
            if open == 0 { String::new() } else { say!(" Without: {which}; they will tell nothing this time.", which) };
        say!(
            "{done} of {progress} lines of the sheet of {at} have an entry.{which} Once closed it stays as it is; only the Book (B) takes a closing back.",
            done = progress.done,
            progress = progress.of,
            at,
            which
        )
    }

    /// What was written below the lines of a place: a line of its own there, until the count is closed.
    pub(super) fn written_below(&mut self, place: PlaceId, item: ItemId) -> Effect {
        let line = self.sheet.line_for(place, item);
        self.below.push((place, item));
        self.go_to(line);
        Effect::None
    }
}

/// Whether the next digit is the tenth that ends what was typed: a point behind no more than two digits, and no blank.
fn wants_a_tenth(typed: &str) -> bool {
    let sealed = typed.strip_suffix(['.', ',']);
    sealed.is_some_and(|sealed| sealed.len() <= 2 && sealed.bytes().all(|b| b.is_ascii_digit() || b == b'f'))
}

fn no_numbers() -> Notice {
    Notice::warning(word!("the numbers on this sheet are those of other shelves: / finds a line by its name"))
}
