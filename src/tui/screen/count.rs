//! The count screen: the walk along the shelves, and beside each line what it means now.

mod draw;
mod filled;
#[cfg(test)]
mod filled_tests;
mod form;
mod new_item;
mod start;
#[cfg(test)]
mod tests;

pub use start::CountStart;

use super::Effect;
use super::asking::Asking;
use super::writing::Step;
use crate::domain::gauge::{Entry, EntryError};
use crate::domain::ledger::CountLine;
use crate::domain::rows::{Digit, Entered, EntryMode, Filled, Sheet, entry_on_paper};
use crate::domain::venue::{CountBy, CountMethod, Gtin, ItemId, Moment, PlaceId};
use crate::tui::keymap::{Action, Scope};
use crate::tui::widget::field::Field;
use crate::tui::widget::notice::Notice;
use crate::tui::widget::window::Window;
use new_item::NewItem;

/// A scanner types its digits faster than anyone's fingers: in one-key entry a digit waits this long, in milliseconds,
/// for another one before it is an entry.
pub const SCANNER_PAUSE_MS: u64 = 70;

/// So many digits with no longer pause between them are a scanner's, whether or not they make a right bar code: nobody
/// enters six lines in four tenths of a second, and a misread scan must not become entries.
const SCAN: usize = 6;

/// Longest entry that can be typed.
const ENTRY_LENGTH: usize = 40;

/// A count in progress.
#[derive(Debug)]
pub struct CountScreen {
    sheet: Sheet,
    /// Who signs the lines.
    by: Option<String>,
    window: Window,
    /// The lines of the place that one stands in, as they are drawn.
    view: Window,
    entry: Option<Field>,
    /// Digits of one-key entry that wait to see whether a scanner typed them.
    burst: String,
    /// An entry that was hard to believe and said so: entered once more for that line, it is believed.
    doubted: Option<(usize, String)>,
    /// Sealed containers said with `+` for this line, before the key that goes on.
    sealed: i64,
    /// When the last `+` came, and whether the digits that wait came at once behind the only one: then it is the sign of a
    /// figure that a scale types.
    plus_at: Option<Moment>,
    signed: bool,
    /// Lines that were skipped, to be gone back to.
    skipped: Vec<(PlaceId, ItemId)>,
    /// What stood on the line that is being typed when typing began: what another terminal enters meanwhile is asked about.
    began: Option<(PlaceId, ItemId, Option<Entered>)>,
    /// What can be taken back, the newest last.
    done: Vec<Done>,
    /// The number of a line of paper that is being typed.
    number: Option<Field>,
    /// A line that one went back to, to enter it again.
    again: Option<usize>,
    /// Lines that were written below those of the sheet of paper.
    below: Vec<(PlaceId, ItemId)>,
    /// The place of the line that was typed in last, while the cursor is where it went on to.
    came_from: Option<PlaceId>,
    /// A tenth ends an entry of the sheet of paper, without Enter; and whether one has just done so.
    quick: bool,
    went_on: bool,
    /// What each other terminal that has the book open says of itself.
    others: Vec<String>,
    /// The place that one stands in, where nothing stands in it yet: no line says it then.
    bare: Option<PlaceId>,
    /// An item that is being taken in, and where it will stand.
    new: Option<(PlaceId, Asking<NewItem>)>,
    /// A bar code that was scanned in vain: what the next one begins with.
    unmet: Option<String>,
    /// Items that were taken in here, each with how many entries were made before: what was done last is taken back first.
    added: Vec<(usize, ItemId)>,
}

/// A line that was entered here, and what stood there before.
#[derive(Clone, Debug)]
struct Done {
    put: CountLine,
    before: Option<Entered>,
}

impl CountScreen {
    /// A sheet, opened at its first line that is not entered. Lines that the same person entered before, in an earlier
    /// sitting, can be taken back in the order they were made.
    pub fn new(sheet: Sheet, by: Option<String>) -> CountScreen {
        // Whoever looked at the bottles signs, not whoever types in what they wrote.
        let by = sheet.filled.as_ref().map_or(by, |filled| filled.by.clone());
        let mut kept: Vec<(usize, Moment, PlaceId, ItemId, &Entered)> = Vec::new();
        for line in &sheet.lines {
            let Some(entered) = line.entered.as_ref().filter(|entered| entered.by == by) else { continue };
            // What is typed in from paper is all of one moment.
            let typed = |filled: &Filled| filled.typed.iter().position(|l| *l == (line.place, line.item));
            let typed = sheet.filled.as_ref().and_then(typed).unwrap_or(0);
            kept.push((typed, entered.at, line.place, line.item, entered));
        }
        kept.sort_unstable_by_key(|(typed, at, place, item, _)| (*typed, *at, *place, *item));
        let put = |place, item, entered: &Entered| entered.clone().line(sheet.count.id, place, item);
        let done =
            kept.into_iter().map(|(_, _, place, item, e)| Done { put: put(place, item, e), before: None }).collect();
        let mut screen = CountScreen {
            sheet,
            by,
            window: Window::default(),
            view: Window::default(),
            entry: None,
            burst: String::new(),
            doubted: None,
            sealed: 0,
            plus_at: None,
            signed: false,
            skipped: Vec::new(),
            began: None,
            done,
            number: None,
            again: None,
            below: Vec::new(),
            came_from: None,
            quick: false,
            went_on: false,
            others: Vec::new(),
            bare: None,
            new: None,
            unmet: None,
            added: Vec::new(),
        };
        if let Some(first) = screen.next_open(0) {
            screen.go_to(first);
        }
        screen
    }

    /// The sheet as it stands.
    pub fn sheet(&self) -> &Sheet {
        &self.sheet
    }

    /// Where the cursor is.
    pub fn place_name(&self) -> Option<String> {
        self.place().map(|place| self.sheet.setup.place_name(place).to_owned())
    }

    /// Who else has the book open, and where they are.
    pub fn also_here(&mut self, says: &[String]) {
        self.others = says.to_vec();
    }

    /// The line under the cursor.
    pub fn selected(&self) -> usize {
        self.window.selected().min(self.sheet.lines.len().saturating_sub(1))
    }

    /// The lines of the place that one stands in: the walk is drawn place by place.
    fn span(&self) -> std::ops::Range<usize> {
        let place = self.sheet.lines.get(self.selected()).map(|line| line.place);
        let is_here = |line: &crate::domain::rows::SheetLine| Some(line.place) == place;
        let here = self.selected();
        let before = self.sheet.lines[..here].iter().rev().take_while(|line| is_here(line)).count();
        let after = self.sheet.lines[here..].iter().take_while(|line| is_here(line)).count();
        here - before..here + after
    }

    fn go_to(&mut self, line: usize) {
        self.sealed = 0;
        self.again = None;
        self.came_from = None;
        self.bare = None;
        self.window.select(line, self.sheet.lines.len());
    }

    fn here(&self) -> Option<(PlaceId, ItemId)> {
        if self.bare.is_some() {
            return None;
        }
        self.sheet.lines.get(self.selected()).map(|l| (l.place, l.item))
    }

    /// Where one stands: in the place of the line under the cursor, or where nothing stands yet.
    fn place(&self) -> Option<PlaceId> {
        let first = || self.sheet.places.first().filter(|_| self.sheet.lines.is_empty());
        self.bare.or(self.here().map(|(place, _)| place)).or_else(|| first().map(|place| place.place))
    }

    /// How lines are entered where the cursor is.
    pub fn mode(&self) -> EntryMode {
        if self.on_paper() {
            return EntryMode::Typed;
        }
        self.place().and_then(|p| self.sheet.place(p)).map_or(EntryMode::Typed, |p| p.mode)
    }

    /// What a digit means where the cursor is.
    fn digit(&self) -> Digit {
        self.place().and_then(|p| self.sheet.place(p)).map_or(Digit::Tenths, |p| p.digit)
    }

    /// Which keys are live.
    pub fn scope(&self) -> Scope {
        if self.new.is_some() {
            return Scope::ItemForm;
        }
        if self.on_paper() {
            return match (&self.number, &self.entry) {
                (Some(_), _) => Scope::SheetNumber,
                (None, Some(_)) => Scope::SheetEntry,
                (None, None) => Scope::SheetList,
            };
        }
        let hidden = self.here().is_some_and(|(place, _)| self.sheet.hidden(place));
        match (&self.entry, self.mode(), hidden) {
            (Some(_), ..) => Scope::CountEntry,
            (None, EntryMode::OneKey, false) => Scope::CountOneKey,
            (None, EntryMode::Typed, false) => Scope::CountList,
            (None, EntryMode::OneKey, true) => Scope::CountOneKeyBlind,
            (None, EntryMode::Typed, true) => Scope::CountListBlind,
        }
    }

    /// Whether a digit waits to see if a scanner typed it: [`CountScreen::settle`] is due after [`SCANNER_PAUSE_MS`].
    pub fn waits(&self) -> bool {
        !self.burst.is_empty()
    }

    /// Whether what waits is a scanner's: then the key that ends it is the scanner's too, be it Enter or Tab.
    pub fn scanning(&self) -> bool {
        self.burst.len() >= SCAN
    }

    /// Whether what waits is the figure of a scale that types like a keyboard: of an item that is counted on the scale, a
    /// number of three digits and more that came at once.
    fn on_scale(&self) -> bool {
        let by_weight = self.sheet.item(self.selected()).is_some_and(|i| i.count_by == CountBy::Weight);
        by_weight && self.burst.len() >= 3 && !self.scanning()
    }

    /// No more digits came: a scanner's are looked up, a scale's are grams, a person's are an entry each.
    pub fn settle(&mut self, now: Moment) -> Effect {
        if self.on_scale() {
            // In a field, so that a weight that is refused or doubted stays to be mended or entered once more.
            return match self.type_weight("g") {
                Effect::None => self.accept(now),
                closed => closed,
            };
        }
        if self.scanning() {
            let scanned = std::mem::take(&mut self.burst);
            return self.scanned(&scanned);
        }
        let digits = std::mem::take(&mut self.burst);
        self.enter_digits(&digits, now)
    }

    /// Digits that a person typed in one-key entry, each a line of its own; as far as the place goes.
    pub fn enter_digits(&mut self, digits: &str, now: Moment) -> Effect {
        let mut kept = Vec::with_capacity(digits.len());
        for digit in digits.bytes().filter(u8::is_ascii_digit).map(|b| b - b'0') {
            if !kept.is_empty() && self.here_is_done() {
                return with_earlier(kept, self.end_of_place());
            }
            let item = self.sheet.item(self.selected());
            let whole = item.is_some_and(|i| i.count_by == CountBy::Whole);
            // What is only counted whole, and what stands sealed in a store, has no tenths: the digit is containers.
            let sealed = self.sealed;
            let typed = match digit {
                _ if whole || self.digit() == Digit::Sealed => (sealed + i64::from(digit)).to_string(),
                0 => sealed.to_string(),
                _ => format!("{sealed}.{digit}"),
            };
            match self.line_of(&typed, now) {
                Ok(line) => kept.push(self.keep(line)),
                Err(refused) => return with_earlier(kept, Effect::Say(refused)),
            }
        }
        if kept.is_empty() {
            return Effect::None;
        }
        let then = self.end_of_place();
        with_earlier(kept, then)
    }

    /// Whether every line of the place under the cursor is entered.
    fn here_is_done(&self) -> bool {
        self.place().is_some_and(|place| {
            let progress = self.sheet.progress_in(place);
            progress.done == progress.of
        })
    }

    /// Says what to do once the last line of a place is entered; nothing before that.
    fn end_of_place(&self) -> Effect {
        let Some(place) = self.place().filter(|_| self.here_is_done()) else { return Effect::None };
        let name = self.sheet.setup.place_name(place);
        let lines = match self.sheet.progress_in(place).of {
            1 => word!("its one line is counted").to_owned(),
            lines => say!("all {lines} lines are counted", lines),
        };
        let next = self.sheet.places.iter().skip_while(|p| p.place != place).nth(1);
        let on = next.map_or(word!("; x closes the count").to_owned(), |next| {
            say!(", n goes on to {place}", place = self.sheet.setup.place_name(next.place))
        });
        Effect::Say(Notice::info(say!("{name}: {lines}. d closes the place, a adds to it{on}", name, lines, on)))
    }

    /// What an action asks for.
    pub fn update(&mut self, action: Action, now: Moment) -> Effect {
        if let Some((place, asking)) = &mut self.new {
            return match asking.apply(action) {
                Step::Stay => Effect::None,
                Step::Say(notice) => Effect::Say(notice),
                Step::Drop => {
                    self.new = None;
                    Effect::None
                }
                // The form stays open until the book has taken it.
                Step::Save => match asking.form.item() {
                    Some(item) => Effect::NewItem(*place, Box::new(item)),
                    None => Effect::None,
                },
            };
        }
        if self.waits() && !matches!(action, Action::Tenths(_) | Action::NoneHere) {
            if self.scanning() || (self.on_scale() && action == Action::AsExpected) {
                // The key that ends a scan is the scanner's, and that which ends a weight the scale's.
                return self.settle(now);
            }
            // Digits at once, then a point or the letter of a unit, which is another key between entries: a scale types its
            // reading, or quick fingers type a line out.
            match action {
                Action::Type('.' | ',') => return self.type_weight("."),
                Action::First if self.burst.len() >= 2 => return self.type_weight("g"),
                Action::Up if self.burst.len() >= 2 => return self.type_weight("k"),
                Action::AsExpected if self.burst.len() >= 3 => {
                    let digits = std::mem::take(&mut self.burst);
                    let said = say!(
                        "{digits} and Enter all at once: nothing was entered. A scale has to type its unit, {digits}g, or \
                         the item be counted by weight",
                        digits
                    );
                    return Effect::Say(Notice::warning(said));
                }
                _ => {}
            }
            // The digits were a person's after all; then the new key does what it does, once they are kept.
            return match self.settle(now) {
                Effect::SaveLines(lines) => with_earlier(lines, self.update(action, now)),
                refused => refused,
            };
        }
        if self.on_paper()
            && let Some(effect) = self.update_on_paper(action, now)
        {
            return effect;
        }
        if let Action::Level(halves) = action {
            return self.pull(halves);
        }
        if let Some(field) = &mut self.entry {
            return match action {
                Action::Accept | Action::AcceptDown => self.accept(now),
                Action::Cancel => {
                    self.entry = None;
                    self.began = None;
                    self.doubted = None;
                    Effect::None
                }
                _ => {
                    field.apply(action);
                    if field.is_empty() && matches!(action, Action::EraseBack | Action::ClearField) {
                        self.entry = None;
                        self.began = None;
                    }
                    Effect::None
                }
            };
        }
        let lines = self.sheet.lines.len();
        match action {
            Action::Type('.' | ',') if self.mode() == EntryMode::OneKey => Effect::Say(Notice::warning(word!(
                "one key is an entry here, so the digit before is kept already: u takes it back, e types a line out"
            ))),
            Action::Type(c) => self.begin(&c.to_string()),
            Action::TypeOut => self.begin(""),
            Action::Tenths(tenths) => self.digit_typed(char::from(b'0' + tenths), now),
            Action::NoneHere => self.digit_typed('0', now),
            Action::OneSealed => self.enter(&(self.sealed + 1).to_string(), now),
            Action::OneMore => {
                self.sealed += 1;
                self.plus_at = Some(now);
                Effect::None
            }
            Action::Back => {
                self.sealed = 0;
                Effect::None
            }
            Action::AsExpected => self.as_expected(now),
            Action::PreviousLine if self.sealed > 0 => {
                self.sealed -= 1;
                Effect::None
            }
            Action::PreviousLine => {
                self.window.step(-1, lines);
                Effect::None
            }
            Action::Skip => self.skip(),
            Action::Undo => self.undo(),
            Action::AddItem => {
                let or_new = !self.on_paper();
                let place = self.place_for_adding().and_then(|place| self.sheet.place(place));
                if let Some(place) = place.filter(|place| or_new && place.closed) {
                    let name = self.sheet.setup.place_name(place.place);
                    return Effect::Say(Notice::warning(say!(
                        "{name} is closed in this count: add to it in the next",
                        name
                    )));
                }
                let enter = if or_new { word!("adds it, Ctrl-N new") } else { word!("adds it") };
                Effect::Pick { title: self.title_for_adding(), enter, items: None, likely: None, or_new }
            }
            Action::ToggleOneKey => self.toggle(),
            Action::Next => self.step_place(1),
            Action::Previous => self.step_place(-1),
            Action::ClosePlace => self.close_place(),
            Action::CloseCount => self.close_count(),
            Action::Line(line) => {
                let at = self.span().start + line;
                self.go_to(at);
                Effect::None
            }
            _ => {
                self.sealed = 0;
                if self.window.apply(action, lines) {
                    self.bare = None;
                }
                Effect::None
            }
        }
    }

    /// How much of the sheet is entered: `12 of 180 lines are entered`.
    pub fn so_far(&self) -> String {
        let lines = &self.sheet.lines;
        let entered = lines.iter().filter(|line| line.entered.is_some()).count();
        match lines.len() {
            1 => say!("{entered} of 1 line is entered", entered),
            all => say!("{entered} of {all} lines are entered", entered, all),
        }
    }

    /// An item was looked for that the book does not know: it is taken in where the cursor is.
    pub fn unknown(&mut self, name: &str) -> Effect {
        if let Some(place) = self.place_for_adding() {
            let code = self.unmet.as_deref();
            self.new = Some((place, NewItem::asking(self.sheet.setup.clone(), name, code, place)));
        }
        Effect::None
    }

    /// The book has taken the new item in.
    pub fn item_added(&mut self, item: ItemId) {
        self.added.push((self.done.len(), item));
        self.new = None;
        self.unmet = None;
    }

    /// The level was clicked or pulled: it is typed as what an opened container holds, behind the sealed ones that are typed
    /// already, for Enter to keep.
    fn pull(&mut self, halves: u8) -> Effect {
        let typed = self.entry.as_ref().map(|field| field.text().to_owned()).unwrap_or_default();
        let sealed: String = typed.chars().take_while(char::is_ascii_digit).collect();
        let sealed = match self.sealed {
            0 => sealed,
            many => many.to_string(),
        };
        // A full one is a sealed one less the seal: as full as can be said.
        let halves = halves.min(19);
        let half = if halves.is_multiple_of(2) { "" } else { "5" };
        self.entry = None;
        self.begin(&format!("{sealed}.{}{half}", halves / 2))
    }

    /// A digit in one-key entry, which waits to see whether a scanner or a scale typed it.
    fn digit_typed(&mut self, digit: char, now: Moment) -> Effect {
        if self.burst.is_empty() {
            let at_once = |plus: Moment| now.0 - plus.0 <= SCANNER_PAUSE_MS as i64;
            self.signed = self.sealed == 1 && self.plus_at.take().is_some_and(at_once);
        }
        self.burst.push(digit);
        Effect::None
    }

    /// The digits that wait are the beginning of a figure with this behind it: it goes on in the field.
    fn type_weight(&mut self, behind: &str) -> Effect {
        let figure = std::mem::take(&mut self.burst);
        if std::mem::take(&mut self.signed) {
            self.sealed = (self.sealed - 1).max(0);
        }
        self.begin(&format!("{figure}{behind}"))
    }

    fn begin(&mut self, typed: &str) -> Effect {
        if self.here().is_none() {
            return Effect::Say(Notice::warning(word!("nothing stands here yet: a adds what does, n goes on")));
        }
        match self.place().and_then(|p| self.sheet.place(p)) {
            // On paper it may be the number of a line elsewhere.
            Some(place) if place.closed && !self.on_paper() => self.closed_here(),
            Some(_) => {
                // Sealed ones said already stay said when the rest is typed out.
                let said = if self.sealed > 0 { self.sealed.to_string() } else { String::new() };
                self.sealed = 0;
                // Apart from a figure, close to the point of tenths.
                let figure = typed.starts_with(|c: char| c.is_ascii_digit());
                let apart = if figure && !said.is_empty() { " " } else { "" };
                self.entry = Some(Field::with(ENTRY_LENGTH, &format!("{said}{apart}{typed}")));
                self.remember();
                Effect::None
            }
            None => Effect::None,
        }
    }

    /// Typing has begun on the line under the cursor.
    fn remember(&mut self) {
        let line = self.sheet.lines.get(self.selected());
        self.began = line.map(|line| (line.place, line.item, line.entered.clone()));
    }

    /// What is being typed, and for what.
    pub fn being_typed(&self) -> Option<(String, ItemId)> {
        let typed =
            self.entry.as_ref().map(|field| field.text().trim().to_owned()).filter(|typed| !typed.is_empty())?;
        Some((typed, self.here()?.1))
    }

    fn closed_here(&self) -> Effect {
        let place = self.place().map_or("", |p| self.sheet.setup.place_name(p));
        Effect::Say(Notice::warning(say!("{place} is closed in this count; what was counted there stays", place)))
    }

    /// Text pasted or typed by a device all at once.
    pub fn paste(&mut self, text: &str) -> Effect {
        if let Some((_, asking)) = &mut self.new {
            asking.paste(text);
            return Effect::None;
        }
        let text = text.trim();
        if is_scan(text) {
            return self.scanned(text);
        }
        let reads = self.entry_of(text).is_ok();
        match self.number.as_mut().or(self.entry.as_mut()) {
            Some(field) => field.paste(text),
            None if reads => return self.begin(text),
            None => {}
        }
        Effect::None
    }

    fn accept(&mut self, now: Moment) -> Effect {
        let Some(field) = &self.entry else { return Effect::None };
        let typed = field.text().to_owned();
        if is_scan(&typed) {
            self.entry = None;
            return self.scanned(&typed);
        }
        self.enter(&typed, now)
    }

    /// Keeps what was typed for the line under the cursor and goes on to the next.
    fn enter(&mut self, typed: &str, now: Moment) -> Effect {
        match self.line_of(typed, now) {
            Ok(line) => {
                self.entry = None;
                let at = self.selected();
                let kept = self.keep(line);
                let then = if self.on_paper() { self.end_of_paper(at) } else { Some(self.end_of_place()) };
                with_earlier(vec![kept], then.unwrap_or(Effect::None))
            }
            Err(refused) => {
                self.doubted = Some((self.selected(), typed.to_owned()));
                Effect::Say(refused)
            }
        }
    }

    /// The line that a typed entry would be, or why it cannot be one.
    fn line_of(&self, typed: &str, now: Moment) -> Result<CountLine, Notice> {
        let say = |e: EntryError| Notice::error(e.to_string());
        let entry = self.entry_of(typed).map_err(say)?;
        let doubt = self.sheet.check(self.selected(), &entry).map_err(|e| Notice::error(e.to_string()))?;
        let doubts: Vec<String> = self.replaces(&entry).into_iter().chain(doubt).collect();
        let doubt = (!doubts.is_empty()).then(|| doubts.join(word!(", and ")));
        if let Some(doubt) = doubt.filter(|_| self.doubted != Some((self.selected(), typed.to_owned()))) {
            return Err(Notice::doubt(&doubt));
        }
        self.checked(entry, None, now)
    }

    /// What a typed text says for the line under the cursor.
    fn entry_of(&self, typed: &str) -> Result<Entry, EntryError> {
        let count_by = self.sheet.item(self.selected()).map_or(CountBy::Tenths, |item| item.count_by);
        if self.on_paper() {
            return entry_on_paper(typed, count_by);
        }
        Entry::parse_for(&typed.replace(',', "."), count_by)
    }

    fn checked(&self, entry: Entry, method: Option<CountMethod>, now: Moment) -> Result<CountLine, Notice> {
        let at = self.selected();
        let (Some((place, item)), Some(what)) = (self.here(), self.sheet.item(at)) else {
            return Err(Notice::warning(word!("nothing stands here yet: a adds what does, n goes on")));
        };
        if self.sheet.place(place).is_some_and(|p| p.closed) {
            let place = self.sheet.setup.place_name(place);
            return Err(Notice::warning(say!("{place} is closed in this count; what was counted there stays", place)));
        }
        self.sheet.check(at, &entry).map_err(|e| Notice::error(e.to_string()))?;
        let method = method.unwrap_or_else(|| entry.method(what.count_by));
        let at = self.moment(now);
        Ok(CountLine { count: self.sheet.count.id, place, item, at, entry, method, by: self.by.clone() })
    }

    /// What a line held before it was entered as it is now, as far as this terminal knows.
    pub fn before(&self, line: &CountLine) -> Option<Entered> {
        let last = self.done.iter().rev().find(|done| (done.put.place, done.put.item) == (line.place, line.item));
        last.and_then(|done| done.before.clone())
    }

    /// Puts a line on the sheet as kept, remembers what it was, and goes on. If the book refuses it, the application
    /// calls [`CountScreen::refused`].
    fn keep(&mut self, line: CountLine) -> CountLine {
        let at = self.selected();
        let stands = self.sheet.lines.get(at).and_then(|l| l.entered.clone());
        let began = self.began.take().filter(|(place, item, _)| (*place, *item) == (line.place, line.item));
        let before = began.map_or(stands, |(_, _, before)| before);
        self.done.push(Done { put: line.clone(), before });
        self.skipped.retain(|s| *s != (line.place, line.item));
        self.sheet.put(&line);
        self.doubted = None;
        self.advance(at);
        line
    }

    /// The book did not take these lines: they are what they were, and the cursor is on the first of them.
    pub fn refused(&mut self, lines: &[CountLine]) {
        for line in lines.iter().rev() {
            let last = self.done.iter().rposition(|done| done.put == *line);
            if let Some(done) = last.map(|last| self.done.remove(last)) {
                self.restore(line.place, line.item, done.before);
            }
        }
        if let Some(at) = lines.first().and_then(|l| self.sheet.find(l.place, l.item)) {
            self.go_to(at);
        }
    }

    /// What was typed for a line that the disk did not take stands in the field again: Enter keeps it once there is room, and
    /// what is typed takes its place.
    pub fn typed_again(&mut self, line: &CountLine) {
        if line.method != CountMethod::Expected {
            let mut field = Field::with(ENTRY_LENGTH, &line.entry.shown());
            field.mark();
            self.entry = Some(field);
            self.remember();
        }
    }

    fn restore(&mut self, place: PlaceId, item: ItemId, before: Option<Entered>) {
        if let Some(at) = self.sheet.find(place, item) {
            self.sheet.lines[at].entered = before;
        }
    }

    /// To the next line of the place; from its last one back to the first that is not entered, and where none is left,
    /// it stays: going on to another place, where digits may mean something else, is the person's to decide.
    fn advance(&mut self, from: usize) {
        if self.on_paper() {
            return self.advance_on_paper(from);
        }
        let Some(place) = self.sheet.lines.get(from).map(|l| l.place) else { return };
        let here = |at: &usize| self.sheet.lines[*at].place == place;
        let next = Some(from + 1).filter(|at| *at < self.sheet.lines.len()).filter(here);
        let open = (0..self.sheet.lines.len()).filter(here).find(|at| self.sheet.lines[*at].entered.is_none());
        self.go_to(next.or(open).unwrap_or(from));
    }

    /// The first line at or after `from`, around the end, that is not entered and not in a closed place.
    fn next_open(&self, from: usize) -> Option<usize> {
        let len = self.sheet.lines.len();
        let open = |at: &usize| {
            let line = &self.sheet.lines[*at];
            line.entered.is_none() && !self.sheet.place(line.place).is_some_and(|p| p.closed)
        };
        (from..len).chain(0..from.min(len)).find(open)
    }

    fn as_expected(&mut self, now: Moment) -> Effect {
        let at = self.selected();
        let Some((place, _)) = self.here() else { return Effect::None };
        if self.sheet.hidden(place) {
            let why = word!("this count is blind: what is expected stays hidden, so type what is there");
            return Effect::Say(Notice::warning(why));
        }
        if self.sheet.lines[at].entered.is_some() {
            // Already counted: Enter only goes on, so that a look cannot turn into a guess.
            self.advance(at);
            return Effect::None;
        }
        let Some(entry) = self.sheet.expected_entry(at) else {
            return Effect::Say(Notice::warning(word!("nothing is expected here yet: type what is there, 0 if none")));
        };
        match self.checked(entry, Some(CountMethod::Expected), now) {
            Ok(line) => {
                let kept = self.keep(line);
                with_earlier(vec![kept], self.end_of_place())
            }
            Err(refused) => Effect::Say(refused),
        }
    }

    fn skip(&mut self) -> Effect {
        if self.bare.is_some() {
            return Effect::None;
        }
        let at = self.selected();
        if let Some(here) = self.here()
            && self.sheet.lines[at].entered.is_none()
            && !self.skipped.contains(&here)
        {
            self.skipped.push(here);
        }
        self.advance(at);
        Effect::None
    }

    fn undo(&mut self) -> Effect {
        if let Some((_, item)) = self.added.pop_if(|(before, _)| *before == self.done.len()) {
            return Effect::TakeBackItem(item);
        }
        let Some(Done { put, before }) = self.done.last().cloned() else {
            return Effect::Say(Notice::info(word!("nothing to take back in this count")));
        };
        let (place, item) = (put.place, put.item);
        if self.sheet.place(place).is_some_and(|p| p.closed) {
            let place = self.sheet.setup.place_name(place);
            return Effect::Say(Notice::warning(say!("the last entry was in {place}, which is closed", place)));
        }
        self.done.pop();
        let count = self.sheet.count.id;
        let line = before.clone().map(|entered| entered.line(count, place, item));
        let at = self.sheet.find(place, item);
        self.restore(place, item, before);
        if let Some(at) = at {
            self.go_to(at);
        }
        Effect::TakeBackLine { taken: Box::new(put), before: line }
    }

    /// Where an item is added: where the cursor is.
    fn place_for_adding(&self) -> Option<PlaceId> {
        self.came_from.or(self.place()).or(self.sheet.places.first().map(|p| p.place))
    }

    fn title_for_adding(&self) -> String {
        let place = self.place_for_adding();
        say!("What stands in {p}?", p = place.map_or("", |p| self.sheet.setup.place_name(p)))
    }

    /// An item was picked to be added where the cursor is.
    pub fn picked(&mut self, item: ItemId) -> Effect {
        let Some(place) = self.place_for_adding() else { return Effect::None };
        if let Some(at) = self.sheet.find(place, item) {
            self.go_to(at);
            return Effect::Say(Notice::info(word!("it is on the sheet of this place already")));
        }
        if self.on_paper() {
            return self.written_below(place, item);
        }
        Effect::AddItem(place, item)
    }

    /// Goes to an item: the line in this place, else the first line of it that is not entered, else any.
    pub fn find(&mut self, item: ItemId) -> Option<Notice> {
        let in_place = self.place().and_then(|p| self.sheet.find(p, item));
        let open = || self.sheet.lines.iter().position(|l| l.item == item && l.entered.is_none());
        let any = || self.sheet.lines.iter().position(|l| l.item == item);
        match in_place.or_else(open).or_else(any) {
            Some(at) => {
                self.go_to(at);
                None
            }
            None => {
                let name = self.sheet.setup.item_name(item);
                Some(Notice::warning(say!("{name} is not on this sheet; `a` adds it where you stand", name)))
            }
        }
    }

    fn scanned(&mut self, digits: &str) -> Effect {
        self.sealed = 0;
        let item = Gtin::parse(digits).ok().and_then(|g| self.sheet.setup.item_by_gtin(&g).map(|i| i.id));
        match item {
            Some(item) => self.find(item).map_or(Effect::None, Effect::Say),
            None if Gtin::parse(digits).is_ok() => {
                self.unmet = Some(digits.to_owned());
                Effect::Say(Notice::warning(say!(
                    "no item has the bar code {digits}; nothing was entered. a adds what it is on",
                    digits
                )))
            }
            // A line that stood still hands on at once what was typed one by one. Enter, which a scanner types as well, is the
            // answer that enters nothing.
            None => Effect::Ask {
                question: say!(
                    "{digits} digits came at once and are no bar code. Was it a scan, or did you type them over a slow line?",
                    digits = digits.len()
                ),
                yes: word!("was a scan: nothing is entered").to_owned(),
                no: word!("were mine: enter each as a line").to_owned(),
                then: Box::new(Effect::None),
                otherwise: Box::new(Effect::EnterDigits(digits.to_owned())),
            },
        }
    }

    fn toggle(&mut self) -> Effect {
        let Some(place) = self.place() else { return Effect::None };
        let mode = match self.mode() {
            EntryMode::OneKey => EntryMode::Typed,
            EntryMode::Typed => EntryMode::OneKey,
        };
        if let Some(p) = self.sheet.places.iter_mut().find(|p| p.place == place) {
            p.mode = mode;
        }
        Effect::SetMode(place, mode)
    }

    fn step_place(&mut self, step: isize) -> Effect {
        let here = self.place().and_then(|place| self.sheet.places.iter().position(|p| p.place == place));
        let Some(to) = here.and_then(|n| n.checked_add_signed(step)).filter(|n| *n < self.sheet.places.len()) else {
            let which = if step < 0 { word!("first") } else { word!("last") };
            return Effect::Say(Notice::info(say!("this is the {which} place of this count", which)));
        };
        let place = self.sheet.places[to].place;
        let first = self.sheet.lines.iter().position(|l| l.place == place);
        let open = self.sheet.lines.iter().position(|l| l.place == place && l.entered.is_none());
        let name = self.sheet.setup.place_name(place).to_owned();
        match open.or(first) {
            Some(at) => self.go_to(at),
            None => {
                self.bare = Some(place);
                return Effect::Say(Notice::info(say!("{name}: nothing stands here yet; a adds what does", name)));
            }
        }
        Effect::Say(Notice::info(format!("{name}: {}", self.how())))
    }

    /// How lines are entered here, in words.
    fn how(&self) -> &'static str {
        if self.on_paper() {
            return self.how_on_paper();
        }
        match (self.mode(), self.digit()) {
            (EntryMode::Typed, _) => word!("typed, 3.4 is 3 sealed and one at .4"),
            (EntryMode::OneKey, Digit::Tenths) => word!("one key, a digit is tenths"),
            (EntryMode::OneKey, Digit::Sealed) => word!("one key, a digit is sealed ones"),
        }
    }

    fn close_place(&mut self) -> Effect {
        let Some(place) = self.place() else { return Effect::None };
        if self.sheet.place(place).is_some_and(|p| p.closed) {
            return self.closed_here();
        }
        let progress = self.sheet.progress_in(place);
        let name = self.sheet.setup.place_name(place).to_owned();
        let open = progress.of - progress.done;
        let then = Effect::ClosePlace(self.sheet.count.id, place);
        if open == 0 {
            return then;
        }
        let usual = || {
            say!(
                "{name}: {open} of {progress} lines are not counted. They will tell nothing this time.",
                name,
                open,
                progress = progress.of
            )
        };
        let on_paper = self.on_paper().then(|| self.place_question(place)).flatten();
        Effect::ask(
            on_paper.unwrap_or_else(usual),
            say!("closes {name} as it is", name),
            word!("goes on counting"),
            then,
        )
    }

    /// A place was closed in the book.
    pub fn place_closed(&mut self, place: PlaceId) -> Notice {
        if let Some(p) = self.sheet.places.iter_mut().find(|p| p.place == place) {
            p.closed = true;
        }
        let name = self.sheet.setup.place_name(place).to_owned();
        match self.next_open(self.selected()) {
            Some(at) => {
                self.go_to(at);
                let next = self.place().map_or("", |p| self.sheet.setup.place_name(p));
                Notice::info(say!("{name} is done. Next: {next}, {how}", name, next, how = self.how()))
            }
            None if self.sheet.places.iter().all(|place| place.closed) => {
                Notice::info(say!("{name} is done, and so are all places. x closes the count", name))
            }
            None => Notice::info(say!("{name} is done, and no line is left to count. x closes the count", name)),
        }
    }

    fn close_count(&mut self) -> Effect {
        if self.on_paper() {
            let then = Effect::CloseCount(self.sheet.count.id);
            return Effect::ask(self.count_question(), word!("closes the count"), word!("goes on typing it in"), then);
        }
        let progress = self.sheet.progress();
        if progress.done == 0 {
            return Effect::ask(
                say!(
                    "Nothing was counted in “{name}” yet. Give it up, as if it had not been begun?",
                    name = self.sheet.count.name
                ),
                word!("gives the count up"),
                word!("goes on counting"),
                Effect::DropCount(self.sheet.count.id),
            );
        }
        let open = progress.of - progress.done;
        let guessed = self.sheet.lines.iter().filter_map(|l| l.entered.as_ref());
        let guessed = guessed.filter(|e| e.method == CountMethod::Expected).count();
        let mut question = say!("{done} of {progress} lines are counted", done = progress.done, progress = progress.of);
        if guessed > 0 {
            question.push_str(&say!(", {guessed} of them left as expected", guessed));
        }
        question.push('.');
        if open > 0 {
            question.push_str(&say!(" The other {open} will tell nothing this time.", open));
        }
        if !self.others.is_empty() {
            question.push_str(&say!(" Also here: {others}.", others = self.others.join(", ")));
        }
        question.push_str(word!(" Once closed it stays as it is; only the Book (B) takes a closing back."));
        Effect::ask(
            question,
            word!("closes the count"),
            word!("goes on counting"),
            Effect::CloseCount(self.sheet.count.id),
        )
    }

    /// Takes a fresh sheet and keeps the cursor on the same line, wherever it now is. What is being typed stays.
    pub fn refresh(&mut self, sheet: Sheet) {
        let here = self.here();
        let again = self.again;
        self.sheet = sheet;
        for (place, item) in &self.below {
            self.sheet.line_for(*place, *item);
        }
        if let Some(at) = here.and_then(|(place, item)| self.sheet.find(place, item)) {
            self.go_to(at);
            self.again = again;
        }
        // Another terminal may have put something there.
        if let Some(at) = self.bare.and_then(|place| self.sheet.lines.iter().position(|line| line.place == place)) {
            self.go_to(at);
        }
    }
}

/// Digits that only a scanner types.
fn is_scan(text: &str) -> bool {
    Gtin::parse(text).is_ok()
}

/// Keeps lines, then does what else was asked.
fn with_earlier(mut kept: Vec<CountLine>, then: Effect) -> Effect {
    match then {
        Effect::None => Effect::SaveLines(kept),
        Effect::SaveLines(more) => {
            kept.extend(more);
            Effect::SaveLines(kept)
        }
        other if kept.is_empty() => other,
        other => Effect::Both(Box::new(Effect::SaveLines(kept)), Box::new(other)),
    }
}
