//! All that is known of one item's par: in sentences, the days ahead, and what was asked lately.

use super::ParScreen;
use super::draw::{lasts_words, typing_words};
use crate::domain::measure::Amount;
use crate::domain::par::{COVERED, ItemPar};
use crate::domain::rows::{AskedOn, StripDay, par_words, strip};
use crate::domain::usage::DayTold;
use crate::domain::venue::{Item, ItemId};
use crate::tui::screen::{Scene, fitting};
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::chart::{self, Bars};
use crate::tui::widget::cover;
use crate::tui::widget::scroll::Scroll;
use crate::words;
use chrono::{Datelike, NaiveDate, Weekday};
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::style::Style;
use ratatui::text::{Line, Span};

/// From this width on, sentences and pictures stand side by side.
const WIDE: u16 = 130;
/// The fewest and the most lines of the bars, and the most cells of one.
const FEWEST_ROWS: usize = 4;
const MOST_ROWS: usize = 12;
const WIDEST: usize = 2;

impl ParScreen {
    pub(super) fn draw_page(&self, frame: &mut Frame, area: Rect, id: ItemId, scroll: &mut Scroll, scene: Scene) {
        let theme = scene.theme;
        let Some((par, item)) = self.par(id).zip(self.view.setup.item(id)) else { return };
        let typing = u16::from(self.entry.is_some());
        let [head, entry, body] =
            Layout::vertical([Constraint::Length(1), Constraint::Length(typing), Constraint::Fill(1)]).areas(area);
        let size = self.view.setup.venue.show().amount(item.basis, item.size);
        let place = self.window.position(self.lines.len());
        let title = Span::styled(format!("{} ({size})", text::safe(&item.name)), theme.title);
        let place = Span::styled(place, theme.muted);
        frame.render_widget(fitting::line([title, place], head.width.into()), head);
        if let Some((_, field)) = &self.entry {
            let label = word!("Par by hand: ");
            let (label_wide, field_wide) = (13, 12.min(entry.width));
            frame.render_widget(Span::styled(label, theme.title), entry);
            let at = Rect { x: entry.x + label_wide.min(entry.width), width: field_wide, ..entry };
            field.draw(frame, at.intersection(entry), true, theme);
            let after = Rect { x: at.right() + 2, width: entry.right().saturating_sub(at.right() + 2), ..entry };
            frame.render_widget(typing_words(after.width.into(), theme), after);
        }
        if area.width >= WIDE {
            let [left, right] = Layout::horizontal([Constraint::Percentage(45), Constraint::Fill(1)]).areas(body);
            let left = Rect { width: left.width.saturating_sub(2), ..left };
            scroll.draw(frame, left, self.sentences(par, left.width.into(), theme), theme);
            let pictures = self.pictures(par, item, (right.width.into(), right.height.into()), theme);
            frame.render_widget(ratatui::widgets::Paragraph::new(pictures), right);
        } else {
            let wide = usize::from(body.width);
            let mut lines = self.sentences(par, wide, theme);
            lines.push(Line::default());
            let left = usize::from(body.height).saturating_sub(lines.len());
            lines.extend(self.pictures(par, item, (wide, left), theme));
            scroll.draw(frame, body, lines, theme);
        }
    }

    /// What is to be said of it.
    fn sentences(&self, par: &ItemPar, wide: usize, theme: &Theme) -> Vec<Line<'static>> {
        let said = par_words(&self.view, par).into_iter();
        said.flat_map(|sentence| text::wrap(&text::sentence(&text::safe(&sentence)), wide))
            .map(|line| Line::from(Span::styled(line, theme.text)))
            .collect()
    }

    /// The strip of the days ahead, and the bars of the days behind, which are as high as there is room for.
    fn pictures(&self, par: &ItemPar, item: &Item, room: (usize, usize), theme: &Theme) -> Vec<Line<'static>> {
        let (wide, high) = room;
        let mut lines: Vec<Line> =
            text::wrap(&text::sentence(&lasts_words(par)), wide).into_iter().map(Line::from).collect();
        let days = strip(par);
        if !days.is_empty() {
            lines.extend(dated_strip(&days, wide, theme));
        }
        let asked = self.view.asked_lately(par.item);
        if !asked.is_empty() {
            lines.push(Line::default());
            // What is written around the bars takes four lines, mostly.
            let rows = high.saturating_sub(lines.len() + 4).clamp(FEWEST_ROWS, MOST_ROWS);
            lines.extend(self.asked(&asked, par, item, (wide, rows), theme));
        }
        lines
    }

    /// What was asked lately, day by day, with the level that is expected on an average day.
    fn asked(
        &self,
        asked: &[AskedOn],
        par: &ItemPar,
        item: &Item,
        (wide, rows): (usize, usize),
        theme: &Theme,
    ) -> Vec<Line<'static>> {
        let show = self.view.setup.venue.show();
        let written = |value: f64| show.bare(item.basis, Amount::rounded(value));
        let bars: Vec<Option<f64>> = asked.iter().map(|day| day.open.then_some(day.asked)).collect();
        let level = par.daily().map(|rate| (rate, written(rate)));
        let highest = bars.iter().flatten().copied().fold(0.0, f64::max);
        let margin =
            chart::margin([written(highest), word!("lasts").to_owned()].into_iter().chain(level.clone().map(|l| l.1)));
        let each = chart::each(wide, margin, asked.len(), WIDEST);
        let level = level.as_ref().map(|(rate, name)| (*rate, name.as_str()));
        let unit = show.symbol(item.basis);
        let [line, foot] = theme.glyphs.behind_bars;
        let mut title = vec![say!("Asked in {unit} each day", unit)];
        if level.is_some() {
            title.push(say!("{line}{line} on an average day of trade", line));
        }
        title.push(say!("{foot} nothing asked", foot));
        title.push(word!("blank: no trade").to_owned());
        let dry = asked.iter().any(|day| day.told != DayTold::Whole);
        if dry {
            title.push(say!("{dry} dry all day", dry = theme.glyphs.dry));
            title.push(word!("! ran dry in the course of it").to_owned());
        }
        let mut lines: Vec<Line> =
            text::flow(title, wide).into_iter().map(|line| Line::from(Span::styled(line, theme.muted))).collect();
        lines.extend(chart::bars(&Bars { bars: &bars, level, rows, written: &written }, margin, each, theme));
        if dry {
            let mark = |(n, day): (usize, &AskedOn)| match day.told {
                DayTold::Whole => None,
                DayTold::AtLeast => Some((n * each, '!')),
                DayTold::Nothing => Some((n * each, theme.glyphs.dry)),
            };
            lines.push(chart::below(
                asked.iter().enumerate().filter_map(mark),
                margin,
                word!("dry"),
                theme.warning,
                theme,
            ));
        }
        let days = asked.iter().map(|day| day.day);
        lines.push(weeks(days, margin, each, theme.muted, theme));
        lines
    }
}

/// The strip with the weekdays above it and the dates of the weeks below.
fn dated_strip(days: &[StripDay], wide: usize, theme: &Theme) -> Vec<Line<'static>> {
    let margin = chart::margin([word!("lasts")]);
    let each = chart::each(wide, margin, COVERED, WIDEST);
    let apart = " ".repeat(each - 1);
    let first = days.first().map_or(NaiveDate::MIN, |day| day.day);
    let count = u16::try_from(days.len()).unwrap_or(cover::MOST);
    let letters = cover::weekdays(first, count).chars().enumerate().map(|(n, c)| (n * each, c));
    let mut strip = vec![Span::styled(text::pad_right(word!("lasts"), margin), theme.muted)];
    for day in days {
        strip.push(cover::sign(day, theme));
        strip.push(Span::raw(apart.clone()));
    }
    let mut lines = vec![
        chart::below(letters, margin, "", theme.muted, theme),
        Line::from(strip),
        weeks(days.iter().map(|day| day.day), margin, each, theme.muted, theme),
    ];
    let legend = text::flow(cover::legend(theme), wide);
    lines.extend(legend.into_iter().map(|line| Line::from(Span::styled(line, theme.muted))));
    lines
}

/// The date of the first day and of each Monday, below where it stands.
fn weeks(
    days: impl Iterator<Item = NaiveDate>,
    margin: usize,
    each: usize,
    style: Style,
    theme: &Theme,
) -> Line<'static> {
    let named = days.enumerate().filter(|(n, day)| *n == 0 || day.weekday() == Weekday::Mon);
    chart::words_below(named.map(|(n, day)| (n * each, words::day(day, "%-d %b"))), margin, "", style, theme)
}
