//! Drawing the count screen.

use super::CountScreen;
use crate::domain::gauge::{Entry, Reading};
use crate::domain::measure::{Amount, Basis, Show};
use crate::domain::rows::{Digit, Entered, Meaning, Progress};
use crate::domain::venue::{CountBy, CountMethod, Item, PlaceId};
use crate::tui::screen::{Scene, fitting, gap_style, signed, with_u};
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::columns::{self, Column, Row, Width};
use crate::tui::widget::level;
use crate::tui::widget::panel::{centred, panel};
use crate::tui::widget::whisker::whisker;
use crate::words;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::style::Style;
use ratatui::text::{Line, Span};
use ratatui::widgets::{Clear, Paragraph, Wrap};
use std::sync::LazyLock;

/// Cells of the whisker column.
const WHISKER: u16 = 13;

/// The head of the column that is typed in, and the cells of the field over it.
const COUNTED: &str = text!("counted");
const COUNTED_CELLS: u16 = 9;
const FIELD: u16 = 20;

/// The box in which an item is taken in, and its fields.
const NEW_WIDTH: u16 = 66;
const NEW_FIELD: u16 = 44;

/// What stands where in a row. `counted` comes before what it means, and stays when the window is narrow.
const COLUMNS: &[Column] = &[
    Column::words("", Width::Fixed(1), 0),
    Column::words(text!("item"), Width::Flex(18), 0),
    Column::words(COUNTED, Width::Fixed(COUNTED_CELLS), 0),
    Column::figures(text!("used"), 7, 3),
    Column::figures(text!("sold"), 7, 3),
    Column::figures(text!("gap"), 7, 1),
    Column::words(text!("0 = as sold"), Width::Fixed(WHISKER), 2),
    Column::figures(text!("par"), 5, 4),
    Column::figures(text!("coming"), 6, 6),
    Column::words(text!("order"), Width::Fixed(8), 5),
];

/// The numbers of the lines of a sheet of paper.
const NUMBERS: Column = Column::figures(text!("no."), 4, 0);

/// The same of a sheet of paper, where a place is closed.
static ON_PAPER_CLOSED: LazyLock<Vec<Column>> = LazyLock::new(|| {
    let mut columns = COLUMNS.to_vec();
    columns.insert(1, NUMBERS);
    columns
});

/// The same as long as it is blind: its numbers, and what one container holds, as printed.
const ON_PAPER: &[Column] = &[
    Column::words("", Width::Fixed(1), 0),
    NUMBERS,
    Column::words(text!("item"), Width::Flex(18), 0),
    Column::figures(text!("each"), 8, 1),
    Column::words(COUNTED, Width::Fixed(FIELD), 0),
];

impl CountScreen {
    /// What the columns are: those of the paper where nothing else may be shown.
    fn columns(&self) -> &'static [Column] {
        let shows = || self.place().is_some_and(|place| !self.sheet.hidden(place));
        match (self.on_paper(), shows()) {
            (true, false) => ON_PAPER,
            (true, true) => &ON_PAPER_CLOSED,
            (false, _) => COLUMNS,
        }
    }

    /// Draws the walk: where one is, the lines, and what the line under the cursor means.
    pub fn draw(&mut self, frame: &mut Frame, area: Rect, scene: Scene) {
        let [head, body, foot] =
            Layout::vertical([Constraint::Length(2), Constraint::Fill(1), Constraint::Length(2)]).areas(area);
        let lines = self.head(head.width, scene.theme);
        let used = lines.get(1).map_or(0, Line::width);
        frame.render_widget(Paragraph::new(lines), head);
        self.draw_level(frame, head, used, scene.theme);
        let selected = self.selected();
        if self.bare.is_some() || self.sheet.lines.is_empty() {
            self.draw_bare(frame, body);
            self.draw_new(frame, area, scene);
            return;
        }
        let columns = self.columns();
        let paper = columns == ON_PAPER;
        let span = self.span();
        let row = |line: usize| {
            let at = span.start + line;
            if paper { self.paper_row(at, selected, scene.theme) } else { self.row(at, selected, scene.theme) }
        };
        let mut view = self.view;
        view.select(selected - span.start, span.len());
        let cells = columns::draw(frame, body, columns, span.len(), &mut view, row, scene.theme);
        self.view = view;
        self.window.leafs_as(&view);
        frame.render_widget(Paragraph::new(self.foot(foot.width, scene)).wrap(Wrap { trim: true }), foot);
        let counted = columns.iter().position(|column| column.title == COUNTED);
        let cell = counted.and_then(|counted| cells.get(counted)).copied().flatten();
        if let (Some(field), Some(cell)) = (&self.entry, cell) {
            // Over the cell and as far to the right as several readings need; with the terminal's own cursor in it.
            let area = Rect { width: (body.right() - cell.x).min(FIELD), ..cell };
            frame.render_widget(Clear, area);
            field.draw(frame, area, true, scene.theme);
        }
        if let Some(number) = &self.number {
            let number_of_line = word!("Line no.: ");
            let wide = u16::try_from(text::width(number_of_line)).unwrap_or(0);
            let asked = Rect { height: 1, ..foot };
            frame.render_widget(Clear, asked);
            frame.render_widget(Span::styled(number_of_line, scene.theme.title), asked);
            let area =
                Rect { x: asked.x + wide.min(asked.width), width: asked.width.saturating_sub(wide).min(8), ..asked };
            number.draw(frame, area, true, scene.theme);
        }
        self.draw_new(frame, area, scene);
    }

    /// The level of the opened one of the line under the cursor, to be clicked or pulled: at the right end of the head, where
    /// there is room for it.
    fn draw_level(&self, frame: &mut Frame, head: Rect, used: usize, theme: &Theme) {
        let opened = word!("opened ");
        let said = text::width(opened) as u16;
        let wide = level::PULLED + said;
        let by_tenths = self.sheet.item(self.selected()).is_some_and(|item| item.count_by == CountBy::Tenths);
        if !by_tenths || self.on_paper() || self.here().is_none() || head.height < 2 {
            return;
        }
        if usize::from(head.width) < used + 2 + usize::from(wide) {
            return;
        }
        let at = self.selected();
        let hidden = self.sheet.lines.get(at).is_none_or(|line| self.sheet.hidden(line.place));
        let entered = self.sheet.lines.get(at).and_then(|line| line.entered.as_ref()).map(|e| e.entry.clone());
        let expected = || if hidden { None } else { self.sheet.expected_entry(at) };
        let entry = self.typed_for(true).or(entered).or_else(expected);
        let tenths = entry.iter().flat_map(|entry| &entry.open).find_map(|reading| match reading {
            Reading::Sight(sight) => Some(sight.share() * 10.0),
            _ => None,
        });
        let row = Rect { x: head.right() - wide, y: head.y + 1, width: wide, height: 1 };
        frame.render_widget(Span::styled(opened, theme.muted), row);
        let place = Rect { x: row.x + said, width: level::PULLED, ..row };
        level::draw_pulled(frame, place, tenths.unwrap_or(0.0), theme);
    }

    /// A place in which nothing stands yet.
    fn draw_bare(&self, frame: &mut Frame, area: Rect) {
        let place = self.place().map_or(word!("here"), |place| self.sheet.setup.place_name(place));
        let said = say!(
            "Nothing stands in {place} yet, as far as the book knows.\n\nPress a and type what the first bottle is called: what the \
             book does not know is taken in with a few more keys, and you type how full it is. So on along the shelf; n goes on \
             to the next place.",
            place = text::safe(place)
        );
        let area = Rect { x: area.x + 2.min(area.width), width: area.width.saturating_sub(4), ..area };
        frame.render_widget(Paragraph::new(said).wrap(Wrap { trim: true }), area);
    }

    /// The item that is being taken in, over the sheet.
    fn draw_new(&mut self, frame: &mut Frame, area: Rect, scene: Scene) {
        let Some((place, asking)) = &mut self.new else { return };
        let title = say!("A new item in {place}", place = text::safe(self.sheet.setup.place_name(*place)));
        let height = asking.height() + 2;
        let inner = panel(frame, centred(area, NEW_WIDTH, height), &title, scene.theme);
        asking.draw(frame, inner, NEW_FIELD, scene.theme);
    }

    fn head(&self, width: u16, theme: &Theme) -> Vec<Line<'static>> {
        let mut places = Vec::new();
        for p in &self.sheet.places {
            let here = Some(p.place) == self.place();
            let Progress { done, of } = self.sheet.progress_in(p.place);
            let mark = if p.closed { word!(" done").to_owned() } else { format!(" {done}/{of}") };
            let name = text::safe(self.sheet.setup.place_name(p.place));
            let style = if here { theme.selected } else { theme.text };
            places.push(Span::styled(format!(" {name}{mark} "), style));
        }
        let mut first = shrunk(places, usize::from(width));
        first.push(Span::raw(" "));
        let Progress { done, of } = self.sheet.progress();
        if self.on_paper() {
            let left_out = self.skipped.len();
            let left_out = if left_out > 0 { say!("{left_out} left out", left_out) } else { String::new() };
            let at = self.sheet.setup.venue.days.short(self.sheet.count.opened);
            let second = [
                Span::styled(text::safe(&self.sheet.count.name), theme.title),
                Span::raw(say!("{done} of {of} lines", done, of)),
                Span::raw(left_out),
                Span::raw(say!("of {at}", at)),
                Span::raw(if self.quick { word!("no Enter") } else { "" }),
            ];
            return vec![Line::from(first), fitting::line(second, usize::from(width))];
        }
        let mut second = vec![
            Span::styled(text::safe(&self.sheet.count.name), theme.title),
            Span::raw(say!("  {done} of {of} lines", done, of)),
        ];
        if !self.skipped.is_empty() {
            second.push(Span::raw(say!(", {skipped} skipped", skipped = self.skipped.len())));
        }
        second.push(Span::raw(format!("  {}", self.how())));
        if self.sheet.count.blind {
            second.push(Span::styled(word!("  BLIND"), theme.warning));
        }
        if !self.others.is_empty() {
            let others = say!("  also here: {others}", others = self.others.join(", "));
            second.push(Span::styled(text::safe(&others), theme.muted));
        }
        vec![Line::from(first), Line::from(second)]
    }

    /// How far a line is.
    fn mark(&self, at: usize, theme: &Theme) -> &'static str {
        let line = &self.sheet.lines[at];
        match &line.entered {
            Some(Entered { method: CountMethod::Expected, .. }) => "=",
            Some(_) => theme.glyphs.done,
            None if self.skipped.contains(&(line.place, line.item)) => "?",
            None => " ",
        }
    }

    /// The number of a line as it is printed; `+` for what was written below, and nothing where no number holds.
    fn number_on_paper(&self, at: usize) -> String {
        let below = if self.has_numbers() { "+" } else { "" };
        self.sheet.number(at).map_or(below.to_owned(), |number| number.to_string())
    }

    /// A line as it is printed on paper, and what was typed in of it.
    fn paper_row(&self, at: usize, cursor: usize, theme: &Theme) -> Row {
        let line = &self.sheet.lines[at];
        let name = text::safe(self.sheet.setup.item_name(line.item));
        let show = self.sheet.setup.venue.show();
        let each = self.sheet.item(at).and_then(|item| holds(item, show)).unwrap_or_default();
        let entry = line.entered.as_ref().map(|entered| entered.entry.shown()).unwrap_or_default();
        // The field stands there instead.
        let entry = if at == cursor && self.entry.is_some() { String::new() } else { entry };
        Row::Cells(vec![
            Line::from(self.mark(at, theme)),
            Line::from(self.number_on_paper(at)),
            Line::from(name),
            Line::from(Span::styled(each, theme.muted)),
            Line::from(Span::styled(entry, theme.title)),
        ])
    }

    fn row(&self, at: usize, cursor: usize, theme: &Theme) -> Row {
        let selected = at == cursor;
        let line = &self.sheet.lines[at];
        let name = text::safe(self.sheet.setup.item_name(line.item));
        let Some(item) = self.sheet.item(at) else { return Row::Cells(vec![Line::from(""), Line::from(name)]) };
        let mark = self.mark(at, theme);
        let typed = self.typed_for(selected);
        let said = at.checked_sub(cursor).and_then(|ahead| self.said(ahead));
        let counted = match (&typed, &line.entered) {
            (Some(_), _) => Span::raw(""),
            _ if said.is_some() => Span::styled(said.unwrap_or_default(), theme.typed),
            (None, Some(entered)) => Span::styled(entered.entry.shown(), theme.title),
            (None, None) => Span::styled(self.expected(at, line.place), theme.muted),
        };
        let mut cells = vec![Line::from(mark), Line::from(name), Line::from(counted)];
        if self.on_paper() {
            cells.insert(1, Line::from(self.number_on_paper(at)));
        }
        if !self.sheet.hidden(line.place) {
            let typed = typed.as_ref().filter(|typed| self.sheet.check(at, typed).is_ok());
            let meaning = self.sheet.meaning(at, typed.map(|typed| (typed, self.by.as_deref())));
            cells.extend(self.figures(item, meaning, theme));
        }
        Row::Cells(cells)
    }

    /// What one-key entry has so far for the line so many ahead of the cursor: sealed ones, and the digit that waits to
    /// be its tenths, shown at once and kept when no scanner turns out to have typed it.
    fn said(&self, ahead: usize) -> Option<String> {
        let sealed = if ahead == 0 && self.sealed > 0 { self.sealed.to_string() } else { String::new() };
        match self.burst.chars().nth(ahead) {
            Some(digit) if self.digit() == Digit::Sealed => Some(format!("{sealed}{digit}")),
            Some(digit) => Some(format!("{sealed}.{digit}")),
            None if sealed.is_empty() => None,
            None => Some(format!("{sealed}+")),
        }
    }

    /// What is being typed, as far as it can be read already.
    fn typed_for(&self, selected: bool) -> Option<Entry> {
        let field = self.entry.as_ref().filter(|_| selected)?;
        self.entry_of(field.text()).ok()
    }

    fn expected(&self, at: usize, place: PlaceId) -> String {
        if self.sheet.hidden(place) {
            return String::new();
        }
        self.sheet.expected_entry(at).map_or(String::new(), |e| format!("({})", e.shown()))
    }

    fn figures(&self, item: &Item, meaning: Option<Meaning>, theme: &Theme) -> Vec<Line<'static>> {
        let show = self.sheet.setup.venue.show();
        let facts = self.sheet.facts_of(item.id);
        let amount = |a| show.bare(item.basis, a);
        let par = facts.par.map_or(String::new(), |p| show.containers(p, item.size));
        let coming = if facts.on_order.0 == 0 { String::new() } else { show.containers(facts.on_order, item.size) };
        let sold = if facts.since.is_some() { amount(facts.sold) } else { String::new() };
        let Some(m) = meaning else {
            let blank = || Line::from("");
            return vec![blank(), Line::from(sold), blank(), blank(), Line::from(par), Line::from(coming)];
        };
        let style = gap_style(m.gap.map_or(0.0, |g| g.as_f64()), m.u, theme);
        let gap = m.gap.map_or(String::new(), |g| signed(&amount(g), g.0));
        let half = (item.size.as_f64() * 0.5).max(1.0);
        let plot = m.gap.map(|g| whisker(g.as_f64(), m.u, half, WHISKER, theme));
        let order = m.order.map_or(String::new(), |(packs, pack)| packs_text(packs, pack));
        vec![
            Line::from(m.used.map_or(String::new(), amount)),
            Line::from(sold),
            Line::from(Span::styled(gap, style)),
            plot.unwrap_or_default(),
            Line::from(par),
            Line::from(coming),
            Line::from(order),
        ]
    }

    /// Two lines about the line under the cursor, in words, for windows that have dropped columns: what it means, and
    /// what Enter will do. What does not fit is left out whole; the name stands in the table.
    fn foot(&self, width: u16, scene: Scene) -> Vec<Line<'static>> {
        let at = self.selected();
        let (Some(line), Some(item)) = (self.sheet.lines.get(at), self.sheet.item(at)) else {
            return Vec::new();
        };
        let theme = scene.theme;
        if self.on_paper() && self.sheet.hidden(line.place) {
            return self.paper_foot(at, width, theme);
        }
        if self.sheet.hidden(line.place) {
            let hidden = Line::from(word!("What is expected is hidden until this place is done (d)"));
            return vec![hidden, self.enter_hint(at, theme.muted)];
        }
        let show = self.sheet.setup.venue.show();
        let size = holds(item, show).map_or(String::new(), |label| say!("{label} each", label));
        let size = Span::styled(size, theme.muted);
        let facts = self.sheet.facts_of(line.item);
        let since = facts.since.map_or(String::new(), |at| self.sheet.setup.venue.days.short(at));
        let since =
            Span::styled(if since.is_empty() { since } else { say!("last counted {since}", since) }, theme.muted);
        let typed = self.typed_for(true);
        if let Some(Err(refused)) = typed.as_ref().map(|typed| self.sheet.check(at, typed)) {
            return vec![Line::from(Span::styled(refused.to_string(), theme.error))];
        }
        let parts = match self.sheet.meaning(at, typed.as_ref().map(|typed| (typed, self.by.as_deref()))) {
            None => vec![since, size],
            Some(m) => {
                let gap = m.gap.map_or(Span::raw(""), |gap| {
                    let gap_text = signed(&show.amount(item.basis, gap), gap.0);
                    let u = show.bare(item.basis, Amount::rounded(m.u));
                    let cost =
                        m.cost.filter(|_| !show.hides_money).map_or(String::new(), |c| format!(" = {}", show.coin(c)));
                    let text = say!(
                        "gap {gap_text} {plus_minus} {u}{cost}",
                        gap_text,
                        plus_minus = theme.glyphs.plus_minus,
                        u,
                        cost
                    );
                    Span::styled(text, gap_style(gap.as_f64(), m.u, theme))
                });
                let here = Span::raw(say!("here {here}", here = with_u(show, item.basis, m.here, theme)));
                // What the column has no room for.
                let entry = typed.as_ref().or(line.entered.as_ref().map(|e| &e.entry)).map(Entry::shown);
                let long = entry.filter(|entry| text::width(entry) > usize::from(COUNTED_CELLS));
                let long = Span::raw(long.unwrap_or_default());
                let assumed = if m.assumed > 0 { word!("other places as expected") } else { "" };
                vec![gap, here, long, Span::styled(assumed, theme.muted), size, since]
            }
        };
        vec![fitting::line(parts, width.into()), self.enter_hint(at, theme.muted)]
    }

    /// What Enter and a number do, and how a line can be reached.
    fn paper_foot(&self, at: usize, width: u16, theme: &Theme) -> Vec<Line<'static>> {
        let width = usize::from(width);
        let typed = self.typed_for(true);
        if let Some(Err(refused)) = typed.as_ref().map(|typed| self.sheet.check(at, typed)) {
            return vec![Line::from(Span::styled(refused.to_string(), theme.error))];
        }
        let reach = if !self.has_numbers() {
            word!("The numbers on paper are those of other shelves: / finds a line by its name")
        } else if self.entry.is_some() {
            word!("A colon (or *) behind a figure makes it the number of a line: 17: goes there")
        } else {
            word!("17: (or g 17 Enter) goes to line 17; a figure alone is always what is there")
        };
        let hint = if self.entry.is_some() && self.quick {
            word!("A tenth ends it; Enter where there is none; a blank before or in it waits for Enter")
        } else if self.entry.is_some() {
            self.typing_hint(at)
        } else if self.sheet.lines[at].entered.is_some() {
            word!("Enter goes on; u takes the last entry back; Backspace goes a line up to mend it")
        } else {
            match self.quick {
                false => word!("Type what stands on paper: 2.4 Enter; 0 none; Enter alone leaves the line out"),
                true => word!("Tenths go on by themselves: 2.4; 3 Enter; 0 Enter none; - leaves the line out"),
            }
        };
        let line = |words: &'static str| Line::from(Span::styled(text::fit(words, width), theme.muted));
        vec![line(reach), line(hint)]
    }

    /// What can be typed for a line: by the scale and the ruler only where they say something.
    fn typing_hint(&self, at: usize) -> &'static str {
        let vessel = self.sheet.lines.get(at).and_then(|line| self.sheet.gauges.vessel(line.item));
        if vessel.is_some_and(|v| v.count_by == CountBy::Weight && v.can_weigh()) {
            return word!("Enter keeps it: 812 is grams, 2 812 two sealed ones besides; 3.4 by tenths; 0 none");
        }
        match vessel.map(|v| (v.can_weigh(), v.outline.is_some())) {
            Some((true, true)) => {
                word!("Enter keeps it: 3.4 is 3 sealed and one at .4; 812g on the scale; 143mm; 0 none")
            }
            Some((true, false)) => word!("Enter keeps it: 3.4 is 3 sealed and one at .4; 812g on the scale; 0 none"),
            Some((false, true)) => word!("Enter keeps it: 3.4 is 3 sealed and one at .4; 143mm by ruler; 0 none"),
            _ => word!("Enter keeps it: 3 sealed, 3.4 and one at four tenths, .4.7 two opened, 0 none"),
        }
    }

    /// What Enter will do, said before it is pressed.
    fn enter_hint(&self, at: usize, style: Style) -> Line<'static> {
        let Some(line) = self.sheet.lines.get(at) else { return Line::from("") };
        let closed = self.sheet.place(line.place).is_some_and(|p| p.closed);
        let hint = if closed {
            let place = text::safe(self.sheet.setup.place_name(line.place));
            say!("{place} is closed in this count; n goes on to the next place, x closes the count", place)
        } else if self.entry.is_some() {
            self.typing_hint(at).to_owned()
        } else if line.entered.is_some() {
            word!("Counted. Enter goes on; a digit counts it anew; u takes the last entry back").to_owned()
        } else if self.sheet.hidden(line.place) {
            word!("Enter does nothing here: type what is there, 0 if none").to_owned()
        } else {
            match self.sheet.expected_entry(at) {
                Some(expected) => say!(
                    "Enter confirms {expected} without a look, and marks it so",
                    expected = words::number(expected.to_string())
                ),
                None => word!("Nothing is expected here yet: type what is there, 0 if none").to_owned(),
            }
        };
        Line::from(Span::styled(hint, style))
    }
}

/// Packs for a narrow cell: `2×6`, or `3` single ones.
fn packs_text(packs: i64, pack: i64) -> String {
    if pack == 1 { packs.to_string() } else { format!("{packs} x{pack}") }
}

/// As many spans as fit, those around the highlighted one kept.
fn shrunk(spans: Vec<Span<'static>>, width: usize) -> Vec<Span<'static>> {
    let cells = |spans: &[Span]| spans.iter().map(|s| text::width(&s.content)).sum::<usize>();
    let mut spans = spans;
    while cells(&spans) > width && spans.len() > 1 {
        // The current place is the one with a style of its own; drop from the far end.
        let here = spans.iter().position(|s| s.style != Style::default()).unwrap_or(0);
        if here > spans.len() / 2 {
            spans.remove(0);
        } else {
            spans.pop();
        }
    }
    spans
}

/// What one container holds, in words; nothing of what is counted singly.
fn holds(item: &Item, show: Show) -> Option<String> {
    let single = (item.basis, item.size) == (Basis::Each, Amount(1_000));
    (!single).then(|| show.label(item.basis, item.size))
}
