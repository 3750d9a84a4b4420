//! A file of sales before it is taken in: what it holds, and for a table, how it is read.

use crate::domain::measure::decimal::{self, pointed};
use crate::domain::measure::{Decimal, number_of};
use crate::domain::rows::{FileSum, SalesLook, TableLook};
use crate::domain::till::{About, Amounts, DateOrder, DecimalMark, Field as Says, Layout as Reading};
use crate::domain::venue::{Setup, parse_day};
use crate::tui::keymap::{Action, Scope};
use crate::tui::screen::{Effect, Scene, fitting, told};
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::chooser::bytes;
use crate::tui::widget::columns::{self, Column, Row, Width};
use crate::tui::widget::field::Field;
use crate::tui::widget::notice::Notice;
use crate::tui::widget::window::Window;
use crate::words;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::{Clear, Paragraph};
use std::sync::Arc;

/// Longest text that can be typed for a setting.
const LENGTH: usize = 60;

const COLUMNS: &[Column] = &[
    Column::words(text!("of the file"), Width::Flex(14), 0),
    Column::words(text!("is"), Width::Fixed(18), 0),
    Column::words(text!("first cells"), Width::Flex(24), 1),
];
/// The cell that is typed in.
const IS: usize = 1;

const SALES: &[Column] = &[
    Column::words(text!("when"), Width::Fixed(16), 0),
    Column::words(text!("sold as"), Width::Flex(16), 0),
    Column::figures(text!("quantity"), 8, 0),
    Column::figures(text!("net"), 9, 0),
    Column::words("", Width::Fixed(8), 2),
];

/// One line of what can be corrected.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Setting {
    /// What a column says, by its place.
    Column(usize),
    Decimal,
    Dates,
    Amounts,
    Tax,
    Day,
    Name,
}

/// A file that is looked at.
#[derive(Debug)]
pub(super) struct LookPage {
    look: SalesLook,
    setup: Arc<Setup>,
    window: Window,
    /// What is being typed for the setting under the cursor.
    entry: Option<Field>,
}

impl LookPage {
    pub(super) fn new(look: SalesLook, setup: Arc<Setup>) -> LookPage {
        LookPage { look, setup, window: Window::default(), entry: None }
    }

    /// Whether another look is at the same file.
    pub(super) fn is_of(&self, look: &SalesLook) -> bool {
        self.look.path == look.path && self.look.print == look.print
    }

    /// Takes another look at the file, as it was asked for.
    pub(super) fn refresh(&mut self, look: SalesLook) {
        self.look = look;
    }

    pub(super) fn scope(&self) -> Scope {
        match (&self.entry, &self.look.table) {
            (Some(_), _) => Scope::TillLookEntry,
            (None, Some(_)) => Scope::TillLook,
            (None, None) => Scope::TillExport,
        }
    }

    pub(super) fn paste(&mut self, pasted: &str) {
        if let Some(field) = &mut self.entry {
            field.paste(pasted);
        }
    }

    fn settings(&self) -> Vec<Setting> {
        let Some(table) = &self.look.table else { return Vec::new() };
        let mut out: Vec<Setting> = (0..table.layout.columns.len()).map(Setting::Column).collect();
        let layout = &table.layout;
        out.extend([Setting::Decimal, Setting::Amounts]);
        if layout.column(Says::Date).or(layout.column(Says::DateTime)).is_some() {
            out.push(Setting::Dates);
        } else {
            out.push(Setting::Day);
        }
        if layout.column(Says::Net).is_none() && layout.column(Says::Gross).is_some() {
            let said = layout.column(Says::Tax).or(layout.column(Says::TaxRate)).is_some();
            if !said {
                out.push(Setting::Tax);
            }
        }
        out.push(Setting::Name);
        out
    }

    fn here(&self) -> Option<Setting> {
        self.settings().get(self.window.selected()).copied()
    }

    /// What an action asks for, and whether the page stays open.
    pub(super) fn update(&mut self, action: Action) -> (Effect, bool) {
        if self.entry.is_some() {
            return (self.type_in(action), true);
        }
        match action {
            Action::Back => return (Effect::None, false),
            Action::SetAside => {
                let print = self.look.print.clone();
                return (Effect::SetAside { path: self.look.path.clone(), print }, false);
            }
            Action::AcceptDelivery => return (self.take(), true),
            Action::Next => return (self.turn(1), true),
            Action::Previous => return (self.turn(-1), true),
            Action::Open => return (self.open(), true),
            _ => {
                let len = self.settings().len();
                self.window.apply(action, len);
            }
        }
        (Effect::None, true)
    }

    fn open(&mut self) -> Effect {
        let Some((table, here)) = self.look.table.as_ref().zip(self.here()) else { return Effect::None };
        let text = match here {
            Setting::Tax => table.layout.tax.map_or(String::new(), |tax| decimal::shown(tax, 2)),
            Setting::Day => table.day.map_or(String::new(), |day| day.to_string()),
            Setting::Name => table.layout.name.clone(),
            Setting::Column(_) | Setting::Decimal | Setting::Dates | Setting::Amounts => return self.turn(1),
        };
        let mut field = Field::with(LENGTH, &text);
        field.mark();
        self.entry = Some(field);
        Effect::None
    }

    /// Changes the setting under the cursor to the one after or before it.
    fn turn(&mut self, by: isize) -> Effect {
        let (Some(here), Some(table)) = (self.here(), &mut self.look.table) else { return Effect::None };
        let layout = &mut table.layout;
        match here {
            Setting::Column(at) => {
                if let Some(column) = layout.columns.get_mut(at) {
                    column.field = turned(Says::ALL, column.field, by);
                }
            }
            Setting::Decimal => layout.decimal = turned(DecimalMark::ALL, layout.decimal, by),
            Setting::Dates => layout.dates = turned(DateOrder::ALL, layout.dates, by),
            Setting::Amounts => layout.amounts = turned(Amounts::ALL, layout.amounts, by),
            Setting::Tax | Setting::Day | Setting::Name => return self.open(),
        }
        self.again()
    }

    /// Looks at the file once more, as it is to be read now.
    fn again(&self) -> Effect {
        let table = self.look.table.as_ref().map(|table| (table.layout.clone(), table.day));
        Effect::LookAtSales { path: self.look.path.clone(), table }
    }

    fn type_in(&mut self, action: Action) -> Effect {
        let Some(field) = &mut self.entry else { return Effect::None };
        match action {
            Action::Accept => {
                let typed = field.text().trim().to_owned();
                match self.set(&typed) {
                    Ok(()) => {
                        self.entry = None;
                        self.again()
                    }
                    Err(refused) => Effect::Say(Notice::error(refused)),
                }
            }
            Action::Cancel => {
                self.entry = None;
                Effect::None
            }
            _ => {
                field.apply(action);
                Effect::None
            }
        }
    }

    fn set(&mut self, typed: &str) -> Result<(), String> {
        let here = self.here();
        let Some(table) = &mut self.look.table else { return Ok(()) };
        match here {
            Some(Setting::Tax) if typed.is_empty() => table.layout.tax = None,
            Some(Setting::Tax) => {
                let typed = pointed(typed.trim_end_matches('%').trim());
                let read =
                    Decimal::parse(&typed).ok().and_then(|d| d.exact(2)).filter(|tax| (0..=10_000).contains(tax));
                let read =
                    read.ok_or(word!("type the tax in percent, such as 20 or 8.5; empty if there is none in it"))?;
                table.layout.tax = Some(read);
            }
            Some(Setting::Day) => {
                let day = parse_day(typed).map_err(|e| e.to_string())?;
                table.day = Some(day);
            }
            Some(Setting::Name) if typed.is_empty() => {
                return Err(word!("the layout needs a name to be kept under").to_owned());
            }
            Some(Setting::Name) => typed.clone_into(&mut table.layout.name),
            _ => {}
        }
        Ok(())
    }

    fn take(&mut self) -> Effect {
        if let Some(asked) = self.look.table.as_ref().and_then(|table| table.questions.first()) {
            let said = text::sentence(&text::capital(&text::safe(&asked.asks)));
            self.go_to(asked.about);
            return Effect::Say(Notice::error(said));
        }
        if let Err(why) = &self.look.sum {
            return Effect::Say(Notice::error(why.lines().next().unwrap_or_default()));
        }
        let table = self.look.table.as_ref().map(|table| (table.layout.clone(), table.day));
        let doubts = &self.look.doubts;
        let effect = Effect::TakeSales {
            path: self.look.path.clone(),
            table,
            digest: self.look.print.digest.clone(),
            all_the_same: !doubts.is_empty(),
        };
        if !doubts.is_empty() {
            let doubts =
                doubts.iter().map(|doubt| text::sentence(&text::capital(&text::safe(doubt)))).collect::<Vec<_>>();
            let question = say!("{doubts} Take it in all the same?", doubts = doubts.join(" "));
            return Effect::ask(question, word!("takes it in"), word!("goes back"), effect);
        }
        match &self.look.taken {
            None => effect,
            Some(taken) => Effect::ask(
                say!(
                    "A file with just this in it was taken in on {taken}, as “{taken_2}”. Taken in again, it adds nothing twice.",
                    taken = self.setup.venue.days.short(taken.at),
                    taken_2 = text::safe(&taken.name)
                ),
                word!("takes it in again"),
                word!("goes back"),
                effect,
            ),
        }
    }

    /// Puts the cursor on what a question is about.
    fn go_to(&mut self, about: About) {
        let settings = self.settings();
        let setting = match about {
            About::Column(at) => Setting::Column(at),
            // A column that is passed over so far is the likeliest to say what no column says.
            About::Missing(_) => {
                let columns = self.look.table.iter().flat_map(|table| &table.layout.columns);
                Setting::Column(columns.map(|c| c.field).position(|field| field == Says::Ignore).unwrap_or(0))
            }
            About::Decimal => Setting::Decimal,
            About::Dates => Setting::Dates,
            About::Tax => Setting::Tax,
            About::Day => Setting::Day,
        };
        if let Some(at) = settings.iter().position(|one| *one == setting) {
            self.window.select(at, settings.len());
        }
    }

    pub(super) fn draw(&mut self, frame: &mut Frame, area: Rect, scene: Scene) {
        let theme = scene.theme;
        let wide = usize::from(area.width);
        let head = self.head(wide, theme);
        let heads = u16::try_from(head.len()).unwrap_or(u16::MAX).min(area.height / 3 + 2);
        let Some(table) = &self.look.table else {
            let mut lines = head;
            lines.extend(self.sums(wide, theme));
            frame.render_widget(Paragraph::new(lines), area);
            return;
        };
        let settings = self.settings();
        let wanted = u16::try_from(settings.len() + 1).unwrap_or(u16::MAX);
        let rows = u16::try_from(table.rows.len() + 1).unwrap_or(u16::MAX);
        let left = area.height.saturating_sub(heads);
        let below = rows.min(left / 2).max(left.saturating_sub(wanted + 1).min(rows));
        let [top, middle, gap, bottom] = Layout::vertical([
            Constraint::Length(heads),
            Constraint::Fill(1),
            Constraint::Length(u16::from(below > 0)),
            Constraint::Length(below),
        ])
        .areas(area);
        frame.render_widget(Paragraph::new(head), top);
        let mut window = std::mem::take(&mut self.window);
        let row = |at: usize| settings.get(at).map_or(Row::Cells(Vec::new()), |s| self.row(*s, table, theme));
        let cells = columns::draw(frame, middle, COLUMNS, settings.len(), &mut window, row, theme);
        if let (Some(field), Some(Some(cell))) = (&self.entry, cells.get(IS)) {
            let area = Rect { width: middle.right().saturating_sub(cell.x), ..*cell };
            frame.render_widget(Clear, area);
            field.draw(frame, area, true, theme);
        }
        let said = match (&self.look.sum, table.rows.is_empty()) {
            (_, true) => word!("no line of it can be understood so:"),
            (Ok(_), false) => word!("the first lines as they would be taken in:"),
            (Err(_), false) => word!("the first lines as far as they are understood:"),
        };
        frame.render_widget(Span::styled(text::fit(said, wide), theme.muted), gap);
        let show = self.setup.venue.show();
        let row = |at: usize| {
            let Some(row) = table.rows.get(at) else { return Row::Cells(Vec::new()) };
            Row::Cells(vec![
                Line::from(row.when.clone()),
                Line::from(text::safe(&row.sold_as)),
                Line::from(decimal::shown(row.quantity, 3)),
                Line::from(show.money(row.net)),
                Line::from(row.kind.clone()),
            ])
        };
        columns::draw_still(frame, bottom, SALES, table.rows.len(), row, theme);
        self.window = window;
    }

    /// What the file is, what is to be decided, or what is wrong with it.
    fn head(&self, wide: usize, theme: &Theme) -> Vec<Line<'static>> {
        let look = &self.look;
        let name = Span::styled(text::safe(&look.print.name), theme.title);
        let what = Span::raw(text::safe(&look.what));
        let size = Span::styled(bytes(look.print.size), theme.muted);
        let mut out = vec![fitting::line([name, what, size], wide)];
        if let Some(taken) = &look.taken {
            let when = self.setup.venue.days.short(taken.at);
            out.push(Line::from(Span::styled(
                text::fit(&say!("! the same was taken in on {when}: nothing is added twice", when), wide),
                theme.warning,
            )));
        }
        let Some(table) = &look.table else { return out };
        for question in &table.questions {
            out.extend(told_plainly(&format!("? {}", question.asks), wide, theme.warning));
        }
        match &look.sum {
            // What is asked says it in fewer words.
            Err(_) if !table.questions.is_empty() => {}
            Err(why) => out.extend(refused(why, wide, theme).into_iter().take(6)),
            Ok(sum) => {
                let lines = number_of(sum.lines, word!("line"), word!("lines"));
                let said = say!("{lines}, {net} net", lines, net = self.coin(sum.net));
                let days = sum.days.map_or(String::new(), |(first, last)| days_words(first, last));
                let skipped: u64 = sum.skipped.iter().map(|(_, n)| n).sum();
                let skipped = match skipped {
                    0 => String::new(),
                    rows => say!("{rows} passed over", rows = number_of(rows, word!("row"), word!("rows"))),
                };
                out.push(fitting::line([Span::raw(said), Span::raw(days), Span::styled(skipped, theme.muted)], wide));
                if let Some(beside) = beside_the_book(sum) {
                    out.push(Line::from(text::fit(&beside, wide)));
                }
                for warning in self.look.doubts.iter().chain(&sum.warnings) {
                    out.extend(told_plainly(&format!("! {warning}"), wide, theme.warning));
                }
            }
        }
        out
    }

    /// What the lines of an export come to.
    fn sums(&self, wide: usize, theme: &Theme) -> Vec<Line<'static>> {
        let sum = match &self.look.sum {
            Err(why) => return refused(why, wide, theme),
            Ok(sum) => sum,
        };
        let mut out = vec![Line::from("")];
        if let Some(from) = &sum.from {
            out.push(Line::from(text::fit(&say!("from     {from}", from = text::safe(from)), wide)));
        }
        if let Some((first, last)) = sum.days {
            out.push(Line::from(text::fit(&say!("days     {last}", last = days_words(first, last)), wide)));
        }
        let sold = say!(
            "sold     {quantity} in {lines}, {net} net",
            quantity = decimal::shown(sum.quantity, 3),
            lines = number_of(sum.lines, word!("line"), word!("lines")),
            net = self.coin(sum.net)
        );
        out.push(Line::from(text::fit(&sold, wide)));
        let names = match (sum.new_names.len(), sum.unmapped) {
            (_, 0) => word!("every name is known").to_owned(),
            (new, lines) => say!(
                "{lines}, {unmapped_net} net, under {lines_2} nothing yet, {new} of them new",
                lines = number_of(lines, word!("line"), word!("lines")),
                unmapped_net = self.coin(sum.unmapped_net),
                lines_2 = if lines == 1 { word!("a name that means") } else { word!("names that mean") },
                new
            ),
        };
        out.push(Line::from(text::fit(&say!("names    {names}", names), wide)));
        for (n, (why, rows)) in sum.skipped.iter().enumerate() {
            let label = if n == 0 { word!("passed   ") } else { "         " };
            out.push(Line::from(Span::styled(text::fit(&format!("{label}{}", why.counted(*rows)), wide), theme.muted)));
        }
        if let Some(beside) = beside_the_book(sum) {
            out.push(Line::from(text::fit(&say!("book     {beside}", beside), wide)));
        }
        for warning in self.look.doubts.iter().chain(&sum.warnings) {
            out.extend(told_plainly(&format!("! {warning}"), wide, theme.warning));
        }
        out
    }

    fn coin(&self, money: crate::domain::measure::Money) -> String {
        let show = self.setup.venue.show();
        format!("{} {}", show.money(money), show.currency)
    }

    fn row(&self, setting: Setting, table: &TableLook, theme: &Theme) -> Row {
        let layout: &Reading = &table.layout;
        let (what, is, cells) = match setting {
            Setting::Column(at) => {
                let column = layout.columns.get(at);
                let head = column.map_or("", |c| &c.head);
                let head = if head.is_empty() { say!("column {at}", at = at + 1) } else { text::safe(head) };
                let is = column.map_or("", |c| if c.field == Says::Ignore { "-" } else { c.field.said() });
                let cells = table.samples.get(at).map_or(String::new(), |sample| sample.cells.join(" | "));
                (head, is.to_owned(), cells)
            }
            Setting::Decimal => (word!("decimal mark").to_owned(), layout.decimal.said().to_owned(), String::new()),
            Setting::Dates => (word!("dates").to_owned(), layout.dates.said().to_owned(), String::new()),
            Setting::Amounts => (word!("each row").to_owned(), layout.amounts.said().to_owned(), String::new()),
            Setting::Tax => {
                let tax = layout.tax.map_or(word!("none").to_owned(), |tax| format!("{} %", decimal::shown(tax, 2)));
                (word!("tax in the gross").to_owned(), tax, word!("no column says it").to_owned())
            }
            Setting::Day => {
                let day = table.day.map_or("?".to_owned(), |day| words::day(day, "%a %-d %b %Y"));
                (word!("business day").to_owned(), day, word!("no column says it").to_owned())
            }
            Setting::Name => {
                let known =
                    if table.known { word!("read so without asking") } else { word!("kept, and read so from then on") };
                (word!("layout").to_owned(), text::safe(&layout.name), known.to_owned())
            }
        };
        Row::Cells(vec![
            Line::from(what),
            Line::from(Span::styled(is, theme.title)),
            Line::from(Span::styled(cells, theme.muted)),
        ])
    }
}

/// How much of a file the book has already; nothing where it has none of it.
fn beside_the_book(sum: &FileSum) -> Option<String> {
    if sum.already + sum.corrected == 0 {
        return None;
    }
    let lines = |n: u64| number_of(n, word!("line"), word!("lines"));
    let mut said =
        vec![say!("{added} new", added = lines(sum.added)), say!("{already} there already", already = sum.already)];
    if sum.corrected > 0 {
        let figures = number_of(sum.corrected, word!("day's figure"), word!("days' figures"));
        said.push(say!("{figures} brought up to date", figures));
    }
    Some(said.join(", "))
}

fn turned<T: Copy + PartialEq>(all: &[T], now: T, by: isize) -> T {
    let at = all.iter().position(|one| *one == now).unwrap_or(0) as isize;
    all.get((at + by).rem_euclid(all.len() as isize) as usize).copied().unwrap_or(now)
}

/// Why a file cannot be taken in: what is wrong with several lines of it, one to a line.
fn refused(why: &str, wide: usize, theme: &Theme) -> Vec<Line<'static>> {
    let mut lines = why.lines();
    let mut out = told(Err(lines.next().unwrap_or_default().to_owned()), wide, theme);
    out.extend(lines.flat_map(|line| told_plainly(line, wide, theme.error)));
    out
}

fn told_plainly(words: &str, wide: usize, style: ratatui::style::Style) -> Vec<Line<'static>> {
    text::wrap(&text::safe(words), wide).into_iter().map(|line| Line::from(Span::styled(line, style))).collect()
}

/// One day, or the first and the last.
fn days_words(first: chrono::NaiveDate, last: chrono::NaiveDate) -> String {
    if first == last {
        return words::day(first, "%a %-d %b %Y");
    }
    say!("{what} to {last}", what = words::day(first, "%a %-d %b %Y"), last = words::day(last, "%a %-d %b %Y"))
}
