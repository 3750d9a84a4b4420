//! A list out of a spreadsheet before it is taken in: what each column is taken for, and what every line comes to.

use super::{Effect, Scene};
use crate::domain::measure::number_of;
use crate::domain::rows::{ListColumn, ListLook, PastedList, Taken};
use crate::domain::venue::{Kind, Setup};
use crate::tui::keymap::{Action, Scope};
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::columns::{self, Column, Row, Width};
use crate::tui::widget::field::Field;
use crate::tui::widget::notice::Notice;
use crate::tui::widget::window::Window;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::{Clear, Paragraph};
use std::sync::Arc;

const COLUMNS: &[Column] = &[
    Column::words(text!("of the list"), Width::Flex(16), 0),
    Column::words(text!("is"), Width::Fixed(16), 0),
    Column::words(text!("for instance"), Width::Flex(24), 1),
];

/// Cells of a column that are shown.
const INSTANCES: usize = 4;
/// The longest that a cell is mended to.
const LONGEST: usize = 200;
/// Where nothing is said for all lines.
const NOTHING: &str = "–";

/// One line of the page.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Entry {
    Heading(&'static str),
    /// What a column of the list means.
    Column(usize),
    /// What sort of thing a line is that does not say it; where all of it stands; who sells all of it.
    Kind,
    Place,
    Supplier,
    /// A line of the list.
    Line(usize),
}

/// What came of an action.
#[derive(Debug)]
pub enum ListDone {
    /// Nothing yet.
    NotYet,
    /// Something is to be said.
    Say(Notice),
    /// It is to be looked at anew.
    Look(Box<PastedList>),
    /// What stands over its columns is on this of its rows, or on none: it is to be read anew.
    Heads(Box<PastedList>, Option<usize>),
    /// It is to be taken in.
    Take(Box<PastedList>),
    /// It is thrown away.
    Dropped,
}

/// A cell that is being mended.
#[derive(Debug)]
struct Mending {
    line: usize,
    column: usize,
    field: Field,
}

/// A list that is looked at.
#[derive(Debug)]
pub struct ListScreen {
    list: PastedList,
    look: ListLook,
    setup: Arc<Setup>,
    window: Window,
    mending: Option<Mending>,
}

impl ListScreen {
    /// The list, and what it comes to; the cursor on the first thing that is wrong, or on the first column.
    pub fn new(list: PastedList, look: ListLook, setup: Arc<Setup>) -> ListScreen {
        let mut screen = ListScreen { list, look, setup, window: Window::default(), mending: None };
        screen.window.select(1, screen.entries().len());
        screen
    }

    /// What the list comes to, looked at anew.
    pub fn looked(&mut self, list: PastedList, look: ListLook) {
        (self.list, self.look) = (list, look);
        self.window.select(self.window.selected(), self.entries().len());
    }

    fn entries(&self) -> Vec<Entry> {
        let mut out = vec![Entry::Heading(word!("What the columns are: Left and Right change it"))];
        out.extend((0..self.list.columns.len()).map(Entry::Column));
        out.push(Entry::Heading(word!("Where the lines do not say it")));
        let said = |column| self.list.at(column).is_some();
        out.push(Entry::Kind);
        if !said(ListColumn::Place) {
            out.push(Entry::Place);
        }
        if !said(ListColumn::Supplier) {
            out.push(Entry::Supplier);
        }
        out.push(Entry::Heading(word!("Its lines: Enter mends one, Space leaves one out")));
        out.extend((0..self.list.lines.len()).map(Entry::Line));
        out
    }

    fn here(&self) -> Option<Entry> {
        self.entries().get(self.window.selected()).copied()
    }

    /// Where the keyboard is.
    pub fn scope(&self) -> Scope {
        if self.mending.is_some() { Scope::ListCell } else { Scope::List }
    }

    /// Takes text that came in one piece into the cell that is being mended.
    pub fn paste(&mut self, pasted: &str) {
        if let Some(mending) = &mut self.mending {
            mending.field.paste(pasted);
        }
    }

    /// What an action comes to.
    pub fn update(&mut self, action: Action) -> ListDone {
        if let Some(mending) = self.mending.take() {
            return self.mend(mending, action);
        }
        match action {
            Action::Open => return self.open(),
            Action::Cancel => return ListDone::Dropped,
            Action::AcceptDelivery if self.look.wrong() > 0 => {
                let wrong = number_of(self.look.wrong(), word!("line is"), word!("lines are"));
                self.go_to_fault();
                return ListDone::Say(Notice::warning(say!(
                    "{wrong} not right: f goes to the next, Enter mends it, Space leaves it out",
                    wrong
                )));
            }
            Action::AcceptDelivery => return ListDone::Take(Box::new(self.list.clone())),
            Action::Next => return self.turn(1),
            Action::Previous => return self.turn(-1),
            Action::RemoveLine => return self.leave_out(),
            Action::HeadsHere => return self.heads_here(),
            Action::NextFault => self.go_to_fault(),
            _ => {
                let entries = self.entries();
                let rests = |at: usize| !matches!(entries.get(at), Some(Entry::Heading(_)));
                self.window.apply_past(action, entries.len(), rests);
                self.window.settle(true, entries.len(), rests);
            }
        }
        ListDone::NotYet
    }

    /// To the next line with something wrong, and round again.
    fn go_to_fault(&mut self) {
        let entries = self.entries();
        let wrong = |at: &usize| match entries.get(*at) {
            Some(Entry::Line(n)) => self.look.lines.get(*n).is_some_and(|line| !line.faults.is_empty()),
            _ => false,
        };
        let here = self.window.selected();
        if let Some(at) = (here + 1..entries.len()).chain(0..=here).find(wrong) {
            self.window.select(at, entries.len());
        }
    }

    /// A cell of the line under the cursor is mended: the first that is wrong, or else its name.
    fn open(&mut self) -> ListDone {
        let Some(Entry::Line(n)) = self.here() else { return self.turn(1) };
        if self.list.lines.get(n).is_none_or(|line| line.taken != Taken::Yes) {
            return ListDone::Say(Notice::info(word!("it is left out: Space takes it again")));
        }
        let wrong = self.look.lines.get(n).and_then(|look| look.faults.iter().find_map(|fault| fault.column));
        let column = wrong.or_else(|| self.list.at(ListColumn::Name)).or_else(|| self.meant().first().copied());
        match column {
            Some(column) => {
                self.begin(n, column);
                ListDone::NotYet
            }
            None => ListDone::Say(Notice::info(word!("no column means anything yet: Home goes up to them"))),
        }
    }

    /// The columns that mean something.
    fn meant(&self) -> Vec<usize> {
        let columns = self.list.columns.iter().enumerate();
        columns.filter(|(_, column)| **column != ListColumn::Nothing).map(|(n, _)| n).collect()
    }

    fn begin(&mut self, line: usize, column: usize) {
        let cell = self.list.lines.get(line).and_then(|line| line.cells.get(column)).map_or("", String::as_str);
        let mut field = Field::with(LONGEST, cell);
        field.mark();
        self.mending = Some(Mending { line, column, field });
    }

    /// An action while a cell is being mended.
    fn mend(&mut self, mut mending: Mending, action: Action) -> ListDone {
        let by = match action {
            Action::Cancel => return ListDone::NotYet,
            Action::Accept | Action::Save => 0,
            Action::NextField => 1,
            Action::PreviousField => -1,
            _ => {
                mending.field.apply(action);
                self.mending = Some(mending);
                return ListDone::NotYet;
            }
        };
        let Mending { line, column, field } = mending;
        if let Some(cells) = self.list.lines.get_mut(line).map(|line| &mut line.cells) {
            // A line may be shorter than others.
            cells.resize(cells.len().max(column + 1), String::new());
            field.text().trim().clone_into(&mut cells[column]);
        }
        let meant = self.meant();
        if let (Some(here), true) = (meant.iter().position(|other| *other == column), by != 0) {
            let to = here.saturating_add_signed(by).min(meant.len() - 1);
            self.begin(line, meant[to]);
        }
        ListDone::Look(Box::new(self.list.clone()))
    }

    /// Takes what is under the cursor for the next of what it can be.
    fn turn(&mut self, by: isize) -> ListDone {
        let around = |here: usize, len: usize| here.saturating_add_signed(by.rem_euclid(len as isize)) % len;
        match self.here() {
            Some(Entry::Column(n)) => {
                let here = self.list.columns.get(n).copied().unwrap_or(ListColumn::Nothing);
                let at = ListColumn::ALL.iter().position(|column| *column == here).unwrap_or(0);
                let to = ListColumn::ALL[around(at, ListColumn::ALL.len())];
                self.list.set(n, to);
            }
            Some(Entry::Kind) => {
                let at = Kind::ALL.iter().position(|kind| *kind == self.list.kind).unwrap_or(0);
                self.list.kind = Kind::ALL[around(at, Kind::ALL.len())];
            }
            Some(Entry::Place) => {
                let names: Vec<&str> = self.setup.places.iter().map(|place| place.name.as_str()).collect();
                self.list.place = turned(self.list.place.as_deref(), &names, around);
            }
            Some(Entry::Supplier) => {
                let names: Vec<&str> = self.setup.suppliers.iter().map(|supplier| supplier.name.as_str()).collect();
                self.list.supplier = turned(self.list.supplier.as_deref(), &names, around);
            }
            Some(Entry::Line(_) | Entry::Heading(_)) | None => {
                return ListDone::Say(Notice::info(word!(
                    "Left and Right change what a column is; Home goes up to them"
                )));
            }
        }
        ListDone::Look(Box::new(self.list.clone()))
    }

    /// Leaves a line out, or takes it again.
    fn leave_out(&mut self) -> ListDone {
        let Some(Entry::Line(n)) = self.here() else {
            return ListDone::Say(Notice::info(word!("only a line is left out: go down to it")));
        };
        let Some(line) = self.list.lines.get_mut(n) else { return ListDone::NotYet };
        line.taken = if line.taken == Taken::Yes { Taken::No } else { Taken::Yes };
        self.window.step(1, self.entries().len());
        ListDone::Look(Box::new(self.list.clone()))
    }

    /// What stands over the columns is on this line; on none, where the cursor is on none.
    fn heads_here(&mut self) -> ListDone {
        // What was taken for heads is the first row.
        let above = usize::from(self.list.heads.is_some());
        match self.here() {
            Some(Entry::Line(n)) => ListDone::Heads(Box::new(self.list.clone()), Some(n + above)),
            _ if above == 1 => ListDone::Heads(Box::new(self.list.clone()), None),
            _ => ListDone::Say(Notice::info(word!("go down to the line that stands over the columns first"))),
        }
    }

    /// Draws the page over the whole area.
    pub fn draw(&mut self, frame: &mut Frame, area: Rect, scene: Scene) {
        frame.render_widget(Clear, area);
        let head = self.head(area.width.into(), scene.theme);
        let tall = u16::try_from(head.len()).unwrap_or(1).min(area.height / 3);
        let foot = self.foot(area.width.into(), scene.theme);
        let below = u16::try_from(foot.len()).unwrap_or(0).min(area.height / 3);
        let [above, body, under] =
            Layout::vertical([Constraint::Length(tall), Constraint::Fill(1), Constraint::Length(below)]).areas(area);
        frame.render_widget(Paragraph::new(head), above);
        let entries = self.entries();
        let mut window = std::mem::take(&mut self.window);
        let row = |at: usize| self.row(entries[at], usize::from(body.width), scene.theme);
        columns::draw(frame, body, COLUMNS, entries.len(), &mut window, row, scene.theme);
        self.window = window;
        frame.render_widget(Paragraph::new(foot), under);
        if let Some(mending) = &self.mending {
            let title = self.list.columns.get(mending.column).map_or("", |column| column.said());
            let line = Rect { height: under.height.min(1), ..under };
            let before = u16::try_from(text::width(title) + 4).unwrap_or(0).min(line.width);
            frame.render_widget(Span::styled(format!("> {title}"), scene.theme.typed), Rect { width: before, ..line });
            let field = Rect { x: line.x + before, width: line.width - before, ..line };
            mending.field.draw(frame, field, true, scene.theme);
        }
    }

    fn head(&self, wide: usize, theme: &Theme) -> Vec<Line<'static>> {
        let lines = self.list.lines.iter().filter(|line| line.taken == Taken::Yes).count();
        let items = number_of(lines, word!("line is an item"), word!("lines are items"));
        let mut parts = vec![match self.look.wrong() {
            0 => items,
            wrong => say!("{items}, {wrong} of them not right", items, wrong),
        }];
        let mut count = |many: u64, one: &str, more: &str| {
            if many > 0 {
                parts.push(number_of(usize::try_from(many).unwrap_or(usize::MAX), one, more));
            }
        };
        count(self.look.new, word!("new"), word!("new"));
        count(self.look.changed, word!("changed"), word!("changed"));
        count(self.look.already, word!("as the book has it"), word!("as the book has them"));
        parts.extend(self.look.said.iter().cloned());
        let style = if self.look.wrong() > 0 { theme.warning } else { theme.title };
        text::flow(parts, wide).into_iter().map(|line| Line::from(Span::styled(text::safe(&line), style))).collect()
    }

    /// What is wrong with the line under the cursor, and its cells as they were pasted.
    fn foot(&self, wide: usize, theme: &Theme) -> Vec<Line<'static>> {
        let Some(Entry::Line(n)) = self.here() else { return Vec::new() };
        let (Some(line), look) = (self.list.lines.get(n), self.look.lines.get(n)) else { return Vec::new() };
        let cells: Vec<&str> = line.cells.iter().map(String::as_str).filter(|cell| !cell.is_empty()).collect();
        let is = match &self.mending {
            // The field is drawn over it.
            Some(_) => String::new(),
            None => say!("pasted: {cells}", cells = cells.join(" | ")),
        };
        let mut out = vec![Line::from(Span::styled(text::fit(&text::safe(&is), wide), theme.muted))];
        for fault in look.into_iter().flat_map(|look| &look.faults).take(2) {
            let head = fault.column.and_then(|column| self.list.columns.get(column));
            let said = match head {
                Some(column) => say!("Not so: {column}: {said}", column = column.said(), said = fault.said),
                None => say!("Not so: {said}", said = fault.said),
            };
            let wrapped = text::wrap(&text::safe(&said), wide);
            out.extend(wrapped.into_iter().map(|line| Line::from(Span::styled(line, theme.error))));
        }
        out
    }

    fn row(&self, entry: Entry, wide: usize, theme: &Theme) -> Row {
        let plain = |text: &str| Line::from(Span::styled(text::safe(text), theme.text));
        let said = |what: &str, is: &str, about: &str| Row::Cells(vec![plain(what), plain(is), plain(about)]);
        match entry {
            Entry::Heading(heading) => Row::Heading(Line::from(Span::styled(heading, theme.title))),
            Entry::Column(n) => {
                let head = self.list.heads.as_ref().and_then(|heads| heads.get(n)).filter(|head| !head.is_empty());
                let head = head.cloned().unwrap_or_else(|| say!("column {n}", n = n + 1));
                let is = self.list.columns.get(n).map_or(NOTHING, |column| column.said());
                let cells = self.list.lines.iter().filter(|line| line.taken == Taken::Yes);
                let cells = cells.filter_map(|line| line.cells.get(n)).filter(|cell| !cell.is_empty());
                let cells: Vec<&str> = cells.take(INSTANCES).map(String::as_str).collect();
                said(&head, is, &cells.join(" / "))
            }
            Entry::Kind => said(word!("kind"), self.list.kind.said(), word!("of a line that says none")),
            Entry::Place => {
                said(word!("all stand in"), self.list.place.as_deref().unwrap_or(NOTHING), word!("no column says it"))
            }
            Entry::Supplier => said(
                word!("all come from"),
                self.list.supplier.as_deref().unwrap_or(NOTHING),
                word!("no column says it"),
            ),
            Entry::Line(n) => {
                let number = format!("{:>4} ", n + 1);
                let (words, style) = match (self.list.lines.get(n).map(|line| line.taken), self.look.lines.get(n)) {
                    (Some(Taken::No), _) => (say!("left out: {n}", n = self.name_of(n)), theme.muted),
                    (Some(Taken::Heading(kind)), _) => {
                        let said = self.list.lines[n].cells.iter().find(|cell| !cell.is_empty());
                        let what =
                            kind.map_or(word!("a heading").to_owned(), |kind| say!("what follows is {kind}", kind));
                        (format!("{}: {what}", said.map_or("", String::as_str)), theme.muted)
                    }
                    (_, Some(look)) if !look.faults.is_empty() => {
                        let first = &look.faults[0].said;
                        (format!("! {}: {first}", self.name_of(n)), theme.error)
                    }
                    (_, Some(look)) => {
                        let known = if look.known { word!("; in the book already") } else { "" };
                        (format!("{}{known}", look.understood.join(", ")), theme.text)
                    }
                    _ => (String::new(), theme.text),
                };
                let line = text::fit(&text::safe(&format!("{number}{words}")), wide.saturating_sub(1));
                Row::Heading(Line::from(Span::styled(line, style)))
            }
        }
    }

    /// What a line says the item is called; else the first that it says at all.
    fn name_of(&self, line: usize) -> &str {
        let Some(line) = self.list.lines.get(line) else { return "" };
        let name = self.list.at(ListColumn::Name).and_then(|at| line.cells.get(at)).filter(|cell| !cell.is_empty());
        name.or_else(|| line.cells.iter().find(|cell| !cell.is_empty())).map_or("", String::as_str)
    }

    /// What of that is the application's to do.
    pub fn effect(done: ListDone) -> Effect {
        match done {
            ListDone::NotYet | ListDone::Dropped => Effect::None,
            ListDone::Say(notice) => Effect::Say(notice),
            ListDone::Look(list) => Effect::LookAtList(list),
            ListDone::Heads(list, at) => Effect::ReadListAnew(list, at),
            ListDone::Take(list) => Effect::TakeList(list),
        }
    }
}

/// The next of some names, with nothing among them.
fn turned(here: Option<&str>, names: &[&str], around: impl Fn(usize, usize) -> usize) -> Option<String> {
    let at = here.and_then(|here| names.iter().position(|name| *name == here)).map_or(0, |at| at + 1);
    around(at, names.len() + 1).checked_sub(1).and_then(|at| names.get(at)).map(|name| (*name).to_owned())
}
