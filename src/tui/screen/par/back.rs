//! What both pars would have done over the last weeks.

use crate::domain::measure::{Amount, Money, number_of};
use crate::domain::par::Replayed;
use crate::domain::rows::{LOOK_BACK_LIMITS, LOOK_BACK_WAYS, LookBack, ParView};
use crate::domain::venue::ItemId;
use crate::tui::keymap::Action;
use crate::tui::screen::{Effect, Scene};
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::chart::{self, Pairs};
use crate::tui::widget::notice::Notice;
use crate::tui::widget::scroll::Scroll;
use crate::words;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::style::Style;
use ratatui::text::{Line, Span};

/// The weeks that can be looked back over, and those that are at first.
const WEEKS: [usize; 4] = [4, 8, 13, 26];
pub(super) const USUAL: usize = 13;
/// Lines of the two charts, and the most cells of a week.
const MONEY_ROWS: usize = 6;
const DRY_ROWS: usize = 4;
const WIDEST: usize = 6;
/// Where it is tight, names have so many cells at the least.
const LEAST_NAME: usize = 12;

/// A look back, over how many weeks it was asked for.
#[derive(Debug)]
pub(super) struct Back {
    weeks: usize,
    back: LookBack,
    scroll: Scroll,
}

impl Back {
    pub(super) fn new(weeks: usize, back: LookBack) -> Back {
        Back { weeks, back, scroll: Scroll::default() }
    }

    pub(super) fn apply(&mut self, action: Action) -> Effect {
        match action {
            Action::OneMore => match WEEKS.iter().find(|weeks| **weeks > self.weeks) {
                Some(more) => Effect::LookBack(*more),
                None => Effect::Say(Notice::info(word!("no more weeks than these are looked back over"))),
            },
            Action::OneLess => match WEEKS.iter().rev().find(|weeks| **weeks < self.weeks) {
                Some(fewer) => Effect::LookBack(*fewer),
                None => Effect::Say(Notice::info(word!("fewer weeks than these say too little"))),
            },
            _ => {
                self.scroll.apply(action);
                Effect::None
            }
        }
    }

    pub(super) fn draw(&mut self, view: &ParView, frame: &mut Frame, area: Rect, scene: Scene) {
        let theme = scene.theme;
        let [head, body] = Layout::vertical([Constraint::Length(1), Constraint::Fill(1)]).areas(area);
        frame.render_widget(Span::styled(text::fit(&self.back.title(), head.width.into()), theme.title), head);
        let lines = self.lines(view, body.width.into(), theme);
        self.scroll.draw(frame, body, lines, theme);
    }

    fn lines(&self, view: &ParView, wide: usize, theme: &Theme) -> Vec<Line<'static>> {
        let back = &self.back;
        let mut lines = Vec::new();
        let muted = |words: &str| said(words, wide, theme.muted);
        let days = (*back.days.end() - *back.days.start()).num_days() + 1;
        if days < 7 * self.weeks as i64 {
            let asked = number_of(self.weeks as u64, word!("week"), word!("weeks"));
            lines.extend(muted(&say!(
                "Asked for {asked}; the book has sales of these days only, after the four weeks that are learned from.",
                asked
            )));
        }
        if back.rows.is_empty() {
            lines.extend(said(
                word!("Nothing could be tried: it takes an item that a supplier with fixed days offers, and that was asked for."),
                wide,
                theme.text,
            ));
            return lines;
        }
        let both = back.rows.len() - back.without_hand;
        if both > 0 {
            lines.extend(self.sums(view, wide, theme));
            lines.extend(muted(&of_items(both, back.without_hand)));
            lines.push(Line::default());
            lines.extend(self.charts(view, wide, theme));
            lines.push(Line::default());
        } else {
            lines.extend(muted(word!(
                "No item has a par set by hand as well, so there is nothing to set beside demand."
            )));
        }
        lines.extend(self.items(view, wide, theme));
        lines.push(Line::default());
        lines.extend(muted(words::find(LOOK_BACK_LIMITS)));
        lines
    }

    /// The two ways beside each other.
    fn sums(&self, view: &ParView, wide: usize, theme: &Theme) -> Vec<Line<'static>> {
        let show = view.setup.venue.show();
        let heads =
            [word!("days dry"), word!("of"), "%", word!("on the shelves"), word!("lines ordered"), word!("not served")];
        let mut table = vec![heads.map(str::to_owned)];
        for sum in &self.back.sums {
            table.push([
                sum.dry.to_string(),
                sum.days.to_string(),
                words::fixed(100.0 * sum.dry_share(), 1),
                show.money(sum.stock),
                sum.orders.to_string(),
                show.money(sum.missed),
            ]);
        }
        let names = [String::new(), named(0, theme), named(1, theme)];
        let mut lines = laid(&names, &table, wide, theme);
        lines.extend(said(&LookBack::units_words(&view.setup), wide, theme.muted));
        lines
    }

    /// Money on the shelves, and items dry, week by week.
    fn charts(&self, view: &ParView, wide: usize, theme: &Theme) -> Vec<Line<'static>> {
        let weeks = &self.back.weeks;
        let show = view.setup.venue.show();
        let stock: Vec<[f64; 2]> = weeks.iter().map(|week| week.stock.map(|stock| stock.0 as f64)).collect();
        let dry: Vec<[f64; 2]> = weeks.iter().map(|week| week.dry.map(|dry| dry as f64)).collect();
        let money = |value: f64| show.money(Money(value.round() as i64));
        let number = |value: f64| words::fixed(value, 0);
        let all = stock.iter().flatten().map(|value| money(*value));
        let margin = chart::margin(all);
        let each = chart::each(wide, margin, weeks.len(), WIDEST).max(2);
        let keys = format!("{}, {}", named(0, theme), named(1, theme));
        let mut lines = vec![title(
            &say!("On the shelves by week, in {currency}: {keys}", currency = show.currency, keys),
            wide,
            theme,
        )];
        let chart = Pairs { pairs: &stock, from_zero: false, rows: MONEY_ROWS, written: &money };
        lines.extend(chart::pairs(&chart, margin, each, theme));
        lines.push(title(word!("Items dry on some day of the week"), wide, theme));
        let chart = Pairs { pairs: &dry, from_zero: true, rows: DRY_ROWS, written: &number };
        lines.extend(chart::pairs(&chart, margin, each, theme));
        let firsts = weeks.iter().enumerate().map(|(n, week)| (n * each, words::day(week.first, "%-d %b")));
        lines.push(chart::words_below(firsts, margin, word!("week"), theme.muted, theme));
        lines
    }

    /// The items, the largest difference first.
    fn items(&self, view: &ParView, wide: usize, theme: &Theme) -> Vec<Line<'static>> {
        let setup = &view.setup;
        let held = |item: ItemId, tried: &Replayed| {
            let size = setup.item(item).map_or(Amount::ZERO, |item| item.size);
            setup.venue.show().containers(Amount::rounded(tried.average()), size)
        };
        let heads = [word!("held by hand"), word!("by demand"), word!("days dry by hand"), word!("by demand")];
        let mut table = vec![heads.map(str::to_owned)];
        let mut names = vec![word!("item, largest difference first").to_owned()];
        for row in self.back.by_difference(setup) {
            let hand = row.hand.as_ref();
            names.push(text::safe(setup.item_name(row.item)));
            table.push([
                hand.map_or_else(String::new, |hand| held(row.item, hand)),
                held(row.item, &row.computed),
                hand.map_or_else(String::new, |hand| hand.dry.len().to_string()),
                row.computed.dry.len().to_string(),
            ]);
        }
        laid(&names, &table, wide, theme)
    }
}

/// Of which items the sums are.
fn of_items(both: usize, without: usize) -> String {
    let both = number_of(both as u64, word!("item"), word!("items"));
    match without {
        0 => say!("Of {both} with both pars.", both),
        without => {
            let rest = number_of(without as u64, word!("item has"), word!("items have"));
            say!("Of {both} with both pars; {rest} one by demand only.", both, rest)
        }
    }
}

/// A way with its sign.
fn named(way: usize, theme: &Theme) -> String {
    format!("{} {}", chart::signs(theme)[way], words::find(LOOK_BACK_WAYS[way]))
}

fn title(words: &str, wide: usize, theme: &Theme) -> Line<'static> {
    Line::from(Span::styled(text::fit(words, wide), theme.title))
}

fn said(words: &str, wide: usize, style: Style) -> Vec<Line<'static>> {
    text::wrap(words, wide).into_iter().map(|line| Line::from(Span::styled(line, style))).collect()
}

/// Names and figures below their heads; columns of figures that do not fit are left out from the right.
fn laid<const N: usize>(names: &[String], table: &[[String; N]], wide: usize, theme: &Theme) -> Vec<Line<'static>> {
    let widest = |column: usize| table.iter().map(|row| text::width(&row[column])).max().unwrap_or(0);
    let figures: usize = (0..N).map(|column| widest(column) + 2).sum();
    let name = names.iter().map(|name| text::width(name)).max().unwrap_or(0);
    let name = name.min(wide.saturating_sub(figures).max(LEAST_NAME)).min(wide);
    let mut columns: Vec<(usize, usize)> = Vec::new();
    let mut used = name;
    for column in 0..N {
        let cells = widest(column);
        if used + 2 + cells > wide {
            break;
        }
        used += 2 + cells;
        columns.push((column, cells));
    }
    let line = |(n, (words, row)): (usize, (&String, &[String; N]))| {
        let figures = columns.iter().map(|(column, cells)| format!("  {}", text::pad_left(&row[*column], *cells)));
        let line = text::pad_right(words, name) + &figures.collect::<String>();
        Line::from(Span::styled(line, if n == 0 { theme.title } else { theme.text }))
    };
    names.iter().zip(table).enumerate().map(line).collect()
}
