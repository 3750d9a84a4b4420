//! Drawing the names of the till.

use super::{SHOWN, TillScreen};
use crate::domain::measure::{Money, decimal, number_of};
use crate::domain::rows::TillRow;
use crate::domain::till::TakenAs;
use crate::domain::venue::TillMeaning;
use crate::tui::screen::{Scene, fitting};
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::columns::{self, Column, Row, Width};
use crate::words;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::{Clear, Paragraph, Wrap};

const COLUMNS: &[Column] = &[
    Column::words(text!("on the till"), Width::Flex(18), 0),
    Column::figures(text!("rung"), 6, 0),
    Column::figures(text!("net"), 9, 0),
    Column::words(text!("last"), Width::Fixed(16), 2),
    Column::words(text!("is"), Width::Flex(20), 0),
    Column::words(text!("because"), Width::Flex(14), 3),
];
/// The cell that is typed in.
const IS: usize = 4;

impl TillScreen {
    /// Draws the names, or what lies over them.
    pub fn draw(&mut self, frame: &mut Frame, area: Rect, scene: Scene) {
        if let Some(look) = &mut self.look {
            return look.draw(frame, area, scene);
        }
        if let Some(taken) = &mut self.taken {
            return taken.draw(&self.view, frame, area, scene);
        }
        let theme = scene.theme;
        let foot = if area.height > 16 { 7 } else { 3 };
        let [head, body, foot] =
            Layout::vertical([Constraint::Length(2), Constraint::Fill(1), Constraint::Length(foot)]).areas(area);
        frame.render_widget(Paragraph::new(self.head(head.width.into(), theme)), head);
        if self.len() == 0 {
            let said = if self.view.rows.is_empty() {
                word!("No sales are in the book yet: f takes the file in that your till writes.")
            } else {
                word!("Every name of the till is known. v lists them all; f takes a file of sales in.")
            };
            frame.render_widget(Paragraph::new(said).wrap(Wrap { trim: true }), body);
            return;
        }
        let mut window = std::mem::take(&mut self.window);
        let len = self.len();
        let row = |at: usize| self.view.rows.get(at).map_or(Row::Cells(Vec::new()), |row| self.row(row, theme));
        let cells = columns::draw(frame, body, COLUMNS, len, &mut window, row, theme);
        self.window = window;
        if let (Some(field), Some(Some(cell))) = (&self.portion, cells.get(IS)) {
            let area = Rect { width: body.right().saturating_sub(cell.x), ..*cell };
            frame.render_widget(Clear, area);
            field.draw(frame, area, true, theme);
        }
        frame.render_widget(Paragraph::new(self.foot(foot.width.into(), theme)), foot);
    }

    fn head(&self, wide: usize, theme: &Theme) -> Vec<Line<'static>> {
        let view = &self.view;
        let waiting = view.waiting();
        let show = view.setup.venue.show();
        let unmapped: Money = view.rows[..waiting].iter().map(|row| row.rung.net).sum();
        let weeks = word!("in thirteen weeks");
        let first = if waiting == 0 {
            vec![Span::styled(word!("every name of the till is known"), theme.title)]
        } else {
            let names = number_of(waiting, word!("name waits"), word!("names wait"));
            let share = match (view.net.0, view.lately.0) {
                (net, of) if net > 0 && of > 0 => {
                    say!("{net} % of net sales {weeks}", net = words::fixed(100.0 * of as f64 / net as f64, 1), weeks)
                }
                _ => String::new(),
            };
            let sold = say!("{unmapped} {currency} net", unmapped = show.money(unmapped), currency = show.currency);
            vec![Span::styled(names, theme.title), Span::raw(sold), Span::styled(share, theme.warning)]
        };
        let last = view.files.iter().find(|file| !file.withdrawn && file.what == TakenAs::Sales);
        let file = last.map_or(word!("no file was taken in here yet").to_owned(), |file| {
            say!(
                "last file: {file}, {file_2}",
                file = text::safe(&file.name),
                file_2 = view.setup.venue.days.short(file.at)
            )
        });
        vec![fitting::line(first, wide), Line::from(Span::styled(text::fit(&file, wide), theme.muted))]
    }

    fn row(&self, row: &TillRow, theme: &Theme) -> Row {
        let setup = &self.view.setup;
        let name = setup.till_name(row.till);
        let rung = &row.rung;
        let means = self.view.means(row.till);
        let (is, why) = match (means, row.likely.candidates.first()) {
            (TillMeaning::Unknown, Some(likely)) => {
                let mark = if row.likely.clear { "" } else { "?" };
                let style = if row.likely.clear { theme.text } else { theme.muted };
                let words = format!("{}{mark}", self.words(likely.means.into()));
                (Span::styled(words, style), likely.why.clone())
            }
            (TillMeaning::Unknown, None) => (Span::styled(word!("nothing like it"), theme.muted), String::new()),
            (means, _) => (Span::styled(self.words(means), theme.title), String::new()),
        };
        let last = if rung.lines > 0 { setup.venue.days.short(rung.last) } else { word!("not lately").to_owned() };
        Row::Cells(vec![
            Line::from(text::safe(name.map_or("?", |name| &name.name))),
            Line::from(decimal::shown(rung.quantity, 3)),
            Line::from(setup.venue.show().money(rung.net)),
            Line::from(last),
            Line::from(is),
            Line::from(Span::styled(text::safe(&why), theme.muted)),
        ])
    }

    /// A meaning in words: `Negroni`, `2 × Negroni`, `not stock`.
    pub(super) fn words(&self, means: TillMeaning) -> String {
        match means {
            TillMeaning::Unknown => "?".to_owned(),
            TillMeaning::Ignored => word!("not stock").to_owned(),
            TillMeaning::Drink { drink, portion } => {
                let name = self.view.setup.drink(drink).map_or("?", |drink| &drink.name);
                let name = text::safe(name);
                if portion == 1_000 { name } else { format!("{} x {name}", decimal::shown(portion, 3)) }
            }
        }
    }

    /// The suggestions for the name under the cursor, each with the digit that takes it.
    fn foot(&self, wide: usize, theme: &Theme) -> Vec<Line<'static>> {
        let Some(row) = self.here() else { return Vec::new() };
        let show = self.view.setup.venue.show();
        let name = self.view.setup.till_name(row.till);
        let mut about = vec![Span::styled(text::safe(name.map_or("?", |name| &name.name)), theme.title)];
        if let Some(code) = name.and_then(|name| name.code.as_deref()) {
            about.push(Span::raw(say!("number {code}", code = text::safe(code))));
        }
        if let Some(each) = row.rung.each() {
            about.push(Span::raw(say!("{each} net each", each = show.money(each))));
        }
        if self.portion.is_some() {
            about.push(Span::styled(word!("how much of the drink: 2 is a double, .5 a half"), theme.muted));
        }
        let mut out = vec![fitting::line(about, wide)];
        if self.view.means(row.till) != TillMeaning::Unknown {
            let said = word!("o gives it another drink, p another portion, 0 is not stock, u takes the last word back");
            out.extend(text::wrap(said, wide).into_iter().map(|line| Line::from(Span::styled(line, theme.muted))));
            return out;
        }
        if !row.likely.clear && !row.likely.candidates.is_empty() {
            let said = word!("a guess only: the digit takes it, o chooses another drink, 0 says it is not stock");
            out.push(Line::from(Span::styled(text::fit(said, wide), theme.muted)));
        }
        for (n, likely) in row.likely.candidates.iter().take(SHOWN).enumerate() {
            let key = if n == 0 && row.likely.clear { word!("Enter 1").to_owned() } else { format!("      {}", n + 1) };
            let parts = [
                Span::styled(format!("{key}  {}", self.words(likely.means.into())), theme.text),
                Span::styled(text::safe(&likely.why), theme.muted),
            ];
            out.push(fitting::line(parts, wide));
        }
        if row.likely.candidates.is_empty() {
            let said = word!("No drink is like it: o chooses one, 0 says that it takes nothing of the stock.");
            out.push(Line::from(Span::styled(text::fit(said, wide), theme.muted)));
        }
        out
    }
}
