//! Drawing the Receive screen.

use super::{Asking, ReceiveScreen, worth};
use crate::domain::measure::{Currency, Price, number_of};
use crate::domain::rows::{ReceiveLine, ReceiveView};
use crate::tui::screen::{Scene, fitting, when};
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::columns::{self, Column, Row, Width};
use crate::tui::widget::panel::{centred, panel};
use crate::words;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span, Text};
use ratatui::widgets::{Clear, Paragraph, Wrap};

/// The column that is typed in, and the cells of the field over it: room for a figure and a price.
const CAME: usize = 4;
const FIELD: u16 = 15;

const COLUMNS: &[Column] = &[
    Column::words("", Width::Fixed(1), 0),
    Column::words(text!("item"), Width::Flex(14), 0),
    Column::figures(text!("packs"), 6, 3),
    Column::figures(text!("ordered"), 7, 0),
    Column::figures(text!("came"), 6, 0),
    Column::words("", Width::Fixed(11), 0),
    Column::figures(text!("each at"), 8, 1).of_money(),
    Column::words(text!("put in"), Width::Flex(7), 2),
    Column::words("", Width::Fixed(18), 4).of_money(),
];

impl ReceiveScreen {
    /// Draws the orders to come, the lines of the current one, and what is asked about them.
    pub fn draw(&mut self, frame: &mut Frame, area: Rect, scene: Scene) {
        if let Some(bill) = &mut self.bill {
            return bill.draw(&self.claims, frame, area, scene);
        }
        if let Some(page) = &mut self.to_claim {
            return page.draw(&self.setup, &self.claims, frame, area, scene);
        }
        if let Some(page) = &mut self.of_bills {
            return page.draw(&self.setup, &self.booked, frame, area, scene);
        }
        let [head, body, foot] =
            Layout::vertical([Constraint::Length(4), Constraint::Fill(1), Constraint::Length(2)]).areas(area);
        let (wide, theme) = (usize::from(area.width), scene.theme);
        let Some(view) = self.current() else {
            frame.render_widget(Paragraph::new(nothing(self.claims.len(), self.sees_costs(), theme)), area);
            return;
        };
        let len = view.lines.len();
        frame.render_widget(Paragraph::new(self.head(view, wide, scene)), head);
        frame.render_widget(Paragraph::new(self.foot(wide, theme)), foot);
        let mut window = std::mem::take(&mut self.window);
        let typing_at = self.entry.is_some().then_some(window.selected());
        let row = |at: usize| self.row(at, Some(at) == typing_at, theme);
        let columns = columns::seen(COLUMNS, self.sees_costs());
        let cells = columns::draw(frame, body, &columns, len, &mut window, row, theme);
        self.window = window;
        if let (Some(field), Some(Some(cell))) = (&self.entry, cells.get(CAME)) {
            let area = Rect { width: body.right().saturating_sub(cell.x).min(FIELD), ..*cell };
            frame.render_widget(Clear, area);
            field.draw(frame, area, true, theme);
        }
        if self.document.is_some() {
            self.draw_document(frame, area, theme);
        }
        if matches!(self.asking, Some(Asking::Rest { .. })) {
            draw_rest(frame, area, &self.rest_question(), self.sees_costs(), theme);
        } else if let Some(question) = self.question() {
            question.draw(frame, area, theme);
        }
    }

    fn draw_document(&self, frame: &mut Frame, area: Rect, theme: &Theme) {
        let (Some(field), Some(view)) = (&self.document, self.current()) else { return };
        let inner = panel(frame, centred(area, 56, 8), word!("Number on the delivery's paper"), theme);
        let [line, _, rest] =
            Layout::vertical([Constraint::Length(1), Constraint::Length(1), Constraint::Fill(1)]).areas(inner);
        field.draw(frame, line, true, theme);
        let wide = usize::from(inner.width);
        let lines = view.lines.iter().filter(|line| line.came != Some(0)).count();
        let worth = match self.sees_costs() {
            true => format!(", {}", self.setup.venue.show().coin(worth(&self.setup, charged(view)))),
            false => String::new(),
        };
        let empty = say!("Left empty: {order}", order = text::safe(&view.order.name));
        let short = view.lines.iter().any(|line| line.came < Some(line.ordered));
        let enter = if short { word!("Enter  asks about the rest, then books it") } else { word!("Enter  books it") };
        let said = [
            Line::from(Span::styled(text::fit(&empty, wide), theme.muted)),
            Line::from(text::fit(&say!("Lines that came: {lines}{worth}", lines, worth), wide)),
            Line::from(text::fit(enter, wide)),
            Line::from(text::fit(word!("Esc    goes back to the lines; nothing is booked"), wide)),
        ];
        frame.render_widget(Paragraph::new(said.to_vec()), rest);
    }

    fn head(&self, view: &ReceiveView, wide: usize, scene: Scene) -> Vec<Line<'static>> {
        let theme = scene.theme;
        let entry = |view: &ReceiveView| {
            let who = self.setup.supplier(view.order.supplier).map_or("?", |s| &s.name);
            let who = text::fit(&text::safe(who), 16);
            let looked = view.lines.iter().filter(|line| line.came.is_some()).count();
            let due = match view.order.expected {
                Some(date) => when::day(scene.now, date, &self.setup.venue.days),
                None => word!("no date").to_owned(),
            };
            let of = view.lines.len();
            vec![format!("{who}, {due}: {looked}/{of}"), format!("{who} {looked}/{of}"), text::fit(&who, 8)]
        };
        let entries: Vec<Vec<String>> = self.orders.iter().map(entry).collect();
        let name = Span::styled(text::safe(self.supplier_name()), theme.title);
        let order = Span::raw(say!("order “{order}”", order = text::safe(&view.order.name)));
        let looked = view.lines.len() - self.open();
        let looked = Span::raw(say!("{looked} of {lines} lines looked at", looked, lines = view.lines.len()));
        let units = Span::styled(word!("ordered, came: containers"), theme.muted);
        vec![
            fitting::strip(&entries, self.at, wide, theme),
            fitting::line([name, order], wide),
            fitting::line([self.due(view, scene), looked, units], wide),
            self.sums(view, wide, theme),
        ]
    }

    fn due(&self, view: &ReceiveView, scene: Scene) -> Span<'static> {
        let days = &self.setup.venue.days;
        let today = days.day_of(scene.now);
        match view.order.expected {
            Some(date) if date < today => {
                let late = today.signed_duration_since(date).num_days();
                let late = number_of(late, word!("day late"), word!("days late"));
                let due = words::day(date, "%a %-d %b");
                Span::styled(say!("{late}: was due {due}", late, due), scene.theme.warning)
            }
            Some(date) => Span::raw(say!("due {date}", date = when::day(scene.now, date, days))),
            None => Span::raw(word!("no date is set")),
        }
    }

    fn sums(&self, view: &ReceiveView, wide: usize, theme: &Theme) -> Line<'static> {
        if !self.sees_costs() {
            let sum = |of: fn(&ReceiveLine) -> i64| view.lines.iter().map(of).fold(0_i64, i64::saturating_add);
            let carried = say!("carried in {came}", came = sum(|line| line.came.unwrap_or(0)));
            let ordered = Span::raw(say!("ordered {ordered}", ordered = sum(|line| line.ordered)));
            return fitting::line([Span::styled(carried, theme.title), ordered], wide);
        }
        let show = self.setup.venue.show();
        let ordered = worth(&self.setup, view.lines.iter().map(|line| (line.ordered, line.price)));
        let came = worth(&self.setup, charged(view));
        let carried = say!("carried in {came} {currency}", came = show.money(came), currency = show.currency);
        let ordered = Span::raw(say!("ordered {ordered}", ordered = show.money(ordered)));
        let claims = match self.claims.len() {
            0 => String::new(),
            n => say!("{n} to claim (m)", n),
        };
        let claims = Span::styled(claims, theme.warning);
        fitting::line([Span::styled(carried, theme.title), ordered, claims], wide)
    }

    fn row(&self, at: usize, typing: bool, theme: &Theme) -> Row {
        let Some(line) = self.lines().get(at) else { return Row::Cells(Vec::new()) };
        let currency = self.setup.venue.currency;
        let packs = if line.pack > 1 { format!("{} x{}", line.ordered / line.pack, line.pack) } else { String::new() };
        let came = if typing { String::new() } else { line.came.map_or(String::new(), |came| came.to_string()) };
        let difference = if typing { String::new() } else { difference(line) };
        let style = if difference.is_empty() { theme.text } else { theme.warning };
        // The star is what stays of the last column in a narrow window.
        let star = if line.charged.is_some() { "*" } else { " " };
        let price = format!("{}{star}", shown(line.charged.unwrap_or(line.price), currency));
        let other = line
            .charged
            .map_or(String::new(), |_| say!("ordered at {currency}", currency = shown(line.price, currency)));
        let place = line.place.map_or(word!("not said").to_owned(), |place| text::safe(self.setup.place_name(place)));
        Row::Cells(vec![
            Line::from(if line.came.is_some() { theme.glyphs.done } else { "" }),
            Line::from(text::safe(self.setup.item_name(line.item))),
            Line::from(packs),
            Line::from(line.ordered.to_string()),
            Line::from(Span::styled(came, theme.title)),
            Line::from(Span::styled(difference, style)),
            Line::from(price),
            Line::from(place),
            Line::from(other),
        ])
    }

    /// Two lines about the line under the cursor, in words, for windows that have dropped columns.
    fn foot(&self, wide: usize, theme: &Theme) -> Vec<Line<'static>> {
        let Some(line) = self.line() else { return Vec::new() };
        let Some(item) = self.setup.item(line.item) else { return Vec::new() };
        let (currency, show) = (self.setup.venue.currency, self.setup.venue.show());
        let name = format!("{} ({})", text::safe(&item.name), show.amount(item.basis, item.size));
        let place = line.place.map_or(word!("no place is said").to_owned(), |place| {
            say!("goes to {place}", place = text::safe(self.setup.place_name(place)))
        });
        let first = fitting::line([Span::styled(name, theme.title), Span::raw(place)], wide);
        let second = if self.entry.is_some() {
            let how = match self.sees_costs() {
                true => word!("12 is containers; 12 @ 17.25 says the price of one too"),
                false => word!("12 is containers"),
            };
            vec![Span::styled(how, theme.muted)]
        } else {
            let ordered = match self.sees_costs() {
                true => say!(
                    "{ordered} ordered at {currency}",
                    ordered = line.ordered,
                    currency = shown(line.price, currency)
                ),
                false => say!("{ordered} ordered", ordered = line.ordered),
            };
            let mut said = vec![Span::raw(ordered)];
            match line.came {
                Some(came) => said.push(Span::raw(say!("{came} came", came))),
                None => said.push(Span::styled(word!("not looked at: y if it is as ordered"), theme.muted)),
            }
            if let Some(charged) = line.charged.filter(|_| self.sees_costs()) {
                let way = if charged > line.price { word!("dearer") } else { word!("cheaper") };
                said.push(Span::styled(
                    say!("charged {currency}, {way}", currency = shown(charged, currency), way),
                    theme.warning,
                ));
            }
            said
        };
        vec![first, fitting::line(second, wide)]
    }
}

/// The question with its answers; giving up is a manager's. When it gets tight, the question gives way, never the answers.
pub(super) fn draw_rest(frame: &mut Frame, area: Rect, question: &str, may_give_up: bool, theme: &Theme) {
    let inner = panel(frame, centred(area, 60, 9), word!("What of the rest?"), theme);
    let [asked, said] = Layout::vertical([Constraint::Fill(1), Constraint::Length(3)]).areas(inner);
    let question = Text::styled(question.to_owned(), theme.text);
    frame.render_widget(Paragraph::new(question).wrap(Wrap { trim: true }), asked);
    let answer = |key, does| {
        let does = text::fit(does, usize::from(inner.width).saturating_sub(7));
        Line::from(vec![Span::styled(text::pad_right(key, 7), theme.key), Span::styled(does, theme.hint)])
    };
    let mut answers = vec![answer(word!("Enter"), word!("books it; the rest stays on order"))];
    answers.extend(may_give_up.then(|| answer("g", word!("books it; the rest is given up"))));
    answers.push(answer(word!("Esc"), word!("goes back; nothing is booked")));
    frame.render_widget(Paragraph::new(answers), said);
}

fn charged(view: &ReceiveView) -> impl Iterator<Item = (i64, Price)> + '_ {
    view.lines.iter().map(|line| (line.came.unwrap_or(0), line.charged.unwrap_or(line.price)))
}

/// What came against what was ordered, in words.
fn difference(line: &ReceiveLine) -> String {
    match line.came.map(|came| came.saturating_sub(line.ordered)) {
        None | Some(0) => String::new(),
        Some(_) if line.came == Some(0) => word!("none came").to_owned(),
        Some(over) if over > 0 => say!("over by {over}", over),
        Some(short) => say!("short by {containers}", containers = short.saturating_neg()),
    }
}

fn nothing(claims: usize, sees_costs: bool, theme: &Theme) -> Vec<Line<'static>> {
    let mut out = vec![
        Line::from(Span::styled(word!("No order is on its way."), theme.title)),
        Line::from(""),
        Line::from(word!("Orders are put together and marked as sent on the screen Orders (O);")),
        Line::from(word!("once sent, they wait here until the van comes.")),
    ];
    if !sees_costs {
        return out;
    }
    out.push(Line::from(""));
    out.push(Line::from(word!("f receives by a supplier's bill: its file is set beside what was ordered.")));
    if claims > 0 {
        let what = number_of(claims, word!("difference is"), word!("differences are"));
        out.push(Line::from(Span::styled(say!("{what} to be claimed: m shows what.", what), theme.warning)));
    }
    out
}

/// A price to four decimals at most: more say nothing at the back door. What is booked keeps all of them.
pub(super) fn shown(price: Price, currency: Currency) -> String {
    let step = 100;
    Price((price.0 + step / 2).div_euclid(step) * step).shown(currency)
}
