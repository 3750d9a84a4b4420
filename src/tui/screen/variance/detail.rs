//! Drawing the evidence of one line: each figure followed to its source, as an addition anybody can check.

use super::ledger::{Section, Sign, addition};
use super::list::{USED_BELOW_NOTHING, WHISKER, gap_with_u, half_range, in_words, percent_text, verdict_style};
use super::{Detail, Listed, Page, VarianceScreen};
use crate::domain::measure::{Amount, Show};
use crate::domain::usage::{GapRow, Told};
use crate::domain::venue::Item;
use crate::tui::screen::{Scene, signed};
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::whisker::whisker;
use crate::words;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;

/// Cells of the column of entries, and of the column of sums.
const FIGURE: usize = 9;

/// Blanks before an entry.
const INDENT: usize = 4;

impl VarianceScreen {
    pub(super) fn draw_detail(&self, frame: &mut Frame, area: Rect, detail: &mut Detail, scene: Scene) {
        let row = &detail.evidence.row;
        let Some(item) = self.setup.item(row.item) else { return };
        let [head, body] =
            Layout::vertical([Constraint::Length(3.min(area.height / 2)), Constraint::Fill(1)]).areas(area);
        frame.render_widget(Paragraph::new(self.detail_head(row, item, head.width, scene.theme)), head);
        let cells = usize::from(body.width);
        let lines = match self.page {
            Page::Causes => self.causes_page(detail, item, cells, scene.theme),
            Page::Figures => self.figures_page(detail, item, cells, scene.theme),
            Page::Doubt => self.doubt_page(row, item, cells, scene.theme),
            Page::Chart => {
                let mut lines = self.evenings_of(item, cells, scene.theme);
                if let Some(finding) = self.view.review.of(item.id) {
                    lines.splice(0..0, self.chart_page(finding, item, cells, scene.theme));
                }
                lines
            }
        };
        detail.scroll.draw(frame, body, lines, scene.theme);
    }

    /// The figures as an addition that anybody can check.
    fn figures_page(&self, detail: &Detail, item: &Item, cells: usize, theme: &Theme) -> Vec<Line<'static>> {
        let sections = addition(&self.setup, &self.view, &detail.evidence, item, theme.glyphs.plus_minus);
        let unit = self.setup.venue.show().symbol(item.basis);
        let columns = format!("{}{}", text::pad_left(word!("entries"), FIGURE), text::pad_left(unit, FIGURE + 1));
        let heads = format!("{}{columns}", " ".repeat(cells.saturating_sub(text::width(&columns))));
        let mut lines = vec![Line::from(Span::styled(heads, theme.muted))];
        for section in &sections {
            written(section, item, self.setup.venue.show(), cells, theme, &mut lines);
        }
        lines.push(Line::default());
        for note in self.notes(&detail.evidence.row) {
            let note = text::wrap(&note, cells);
            lines.extend(note.into_iter().map(|line| Line::from(Span::styled(line, theme.muted))));
        }
        lines
    }

    /// The item's gap on each evening in between, where it was counted on them.
    fn evenings_of(&self, item: &Item, cells: usize, theme: &Theme) -> Vec<Line<'static>> {
        let show = self.setup.venue.show();
        let mut lines = Vec::new();
        for evening in &self.view.evenings {
            let Some(row) = evening.rows.iter().find(|row| row.item == item.id) else { continue };
            let gap = gap_with_u(show, item.basis, row.gap, row.u, theme);
            let plot = whisker(row.gap.as_f64(), row.u, half_range(item), WHISKER, theme);
            let name = text::pad_right(&self.evening_name(evening), 16);
            let mut spans = vec![Span::raw(name), Span::styled(text::pad_left(&gap, 18), theme.text), Span::raw("  ")];
            spans.extend(plot.spans);
            lines.push(Line::from(spans));
        }
        if !lines.is_empty() {
            let heading = text::fit(word!("Evening by evening"), cells);
            lines.splice(0..0, [Line::default(), Line::styled(heading, theme.title)]);
        }
        lines
    }

    /// The result, which stays while the page scrolls.
    fn detail_head(&self, row: &GapRow, item: &Item, width: u16, theme: &Theme) -> Vec<Line<'static>> {
        let show = self.setup.venue.show();
        let cells = usize::from(width);
        let rows: Vec<usize> = self
            .lines
            .iter()
            .filter_map(|line| match line {
                Listed::Row(at) => Some(*at),
                _ => None,
            })
            .collect();
        let here = rows.iter().position(|at| self.view.variance.rows[*at].item == row.item);
        let position = here.map_or(String::new(), |here| format!("{}/{}", here + 1, rows.len()));
        let name = format!("{} ({})", text::safe(&item.name), show.amount(item.basis, item.size));
        let room = cells.saturating_sub(text::width(&position) + 1);
        let first = Line::from(vec![
            Span::styled(text::pad_right(&name, room), theme.title),
            Span::styled(format!(" {position}"), theme.muted),
        ]);
        let verdict = self.view.review.verdict(row.item);
        let style = verdict_style(row.gap, verdict, theme);
        let cost = row.cost.map_or(word!("no known cost").to_owned(), |cost| {
            format!("{} {}", signed(&show.money(cost), cost.0), show.currency)
        });
        let gap = say!("gap {u}", u = gap_with_u(show, item.basis, row.gap, row.u, theme));
        let mut said = vec![Span::styled(gap, style), Span::raw("  ")];
        said.extend(whisker(row.gap.as_f64(), row.u, half_range(item), WHISKER, theme).spans);
        let words = text::fit(&format!("  {}  {cost}", in_words(&self.view, row)), cells);
        let used: usize = said.iter().map(|span| text::width(&span.content)).sum();
        if used + text::width(&words) > cells {
            // The plot goes before any word does.
            said.truncate(1);
        }
        said.push(Span::styled(words, style));
        let mut pages = Vec::new();
        for page in Page::ALL {
            let style = if page == self.page { theme.selected } else { theme.muted };
            pages.extend([Span::styled(format!(" {} ", page.title()), style), Span::raw(" ")]);
        }
        pages.push(Span::styled("v", theme.key));
        vec![first, Line::from(said), Line::from(pages)]
    }

    /// What the figures mean, in sentences.
    fn notes(&self, row: &GapRow) -> Vec<String> {
        let show = self.setup.venue.show();
        let mut notes = Vec::new();
        if row.usage.0 < 0 {
            notes.push(say!("Used is below nothing: {why}.", why = words::find(USED_BELOW_NOTHING)));
        }
        let money = match (row.cost, row.percent) {
            (Some(cost), percent) => {
                let share = percent.map_or(String::new(), |percent| {
                    say!(", {percent} % of what was used", percent = percent_text(percent))
                });
                say!(
                    "The gap costs {cost} {currency}{share}.",
                    cost = signed(&show.money(cost), cost.0),
                    currency = show.currency,
                    share
                )
            }
            (None, _) => word!("What it costs is not known: no delivery, offer or recipe says so.").to_owned(),
        };
        notes.push(money);
        if let Told::StoresLeftOut(_) = &row.told {
            notes.push(say!("Without {left_out}, not counted both times: sealed ones only stand there, so what was carried from there \
                 counts as carried in.", left_out = self.left_out(row)));
        }
        notes.push(word!("Each figure is rounded by itself, so the last digit of a sum may differ by one.").to_owned());
        notes
    }
}

/// A sum with its entries below it: entries in one column, sums in the one to the right, which is the addition.
fn written(section: &Section, item: &Item, show: Show, cells: usize, theme: &Theme, out: &mut Vec<Line<'static>>) {
    let result = section.sign == Sign::Makes;
    let style = if result { theme.title } else { theme.text };
    let bare = |amount: Amount| show.bare(item.basis, amount);
    let sum = if result && section.title == word!("Gap") {
        signed(&bare(section.sum), section.sum.0)
    } else {
        bare(section.sum)
    };
    let title = format!("{} {}", section.sign.text(), section.title);
    let room = cells.saturating_sub(FIGURE.max(text::width(&sum)) + 1);
    let (title, sum) = (text::pad_right(&title, room), text::pad_left(&sum, FIGURE + 1));
    out.push(Line::from(Span::styled(format!("{title}{sum}"), style)));
    for part in &section.parts {
        let figure = part.amount.map_or(String::new(), bare);
        let taken = FIGURE.max(text::width(&figure)) + FIGURE + 2 + INDENT;
        let room = cells.saturating_sub(taken).max(1);
        let said = text::flow(&part.said, room);
        let last = said.len().saturating_sub(1);
        for (n, line) in said.into_iter().enumerate() {
            // The figure stands on the last line of what is said, where the eye arrives at it.
            let figure = if n == last { text::pad_left(&figure, FIGURE) } else { String::new() };
            let style = if part.amount.is_some() { theme.text } else { theme.muted };
            let line = format!("{}{} {figure}", " ".repeat(INDENT), text::pad_right(&line, room));
            out.push(Line::from(Span::styled(line, style)));
        }
    }
}
