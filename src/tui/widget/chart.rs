//! Figures over time as lines of text, so that they can stand in a text that is scrolled: bars day by day, and two ways
//! week by week.

use crate::tui::text;
use crate::tui::theme::Theme;
use ratatui::style::Style;
use ratatui::text::{Line, Span};

/// Cells between the figures at the left and the field.
const GAP: usize = 1;

/// Bars side by side.
#[derive(Clone, Copy)]
pub struct Bars<'a> {
    /// Their heights; nothing is drawn where there is none, a foot where it is nothing.
    pub bars: &'a [Option<f64>],
    /// A height that is drawn as a line behind them, and what it is called.
    pub level: Option<(f64, &'a str)>,
    /// Lines of the field.
    pub rows: usize,
    /// How a height is written.
    pub written: &'a dyn Fn(f64) -> String,
}

/// The margin at the left that some words need.
pub fn margin<S: AsRef<str>>(words: impl IntoIterator<Item = S>) -> usize {
    words.into_iter().map(|word| text::width(word.as_ref())).max().unwrap_or(0) + GAP
}

/// Cells of each of so many that stand side by side behind a margin: as many as fit, `most` at the most.
pub fn each(cells: usize, margin: usize, many: usize, most: usize) -> usize {
    (cells.saturating_sub(margin) / many.max(1)).clamp(1, most.max(1))
}

/// Draws bars from zero up, each so many cells wide, behind a margin of words.
pub fn bars(chart: &Bars, margin: usize, each: usize, theme: &Theme) -> Vec<Line<'static>> {
    let highest = chart.bars.iter().flatten().copied().chain(chart.level.map(|(level, _)| level)).fold(0.0, f64::max);
    let rows = chart.rows.max(1);
    // In eighths of a line.
    let height = |value: f64| match highest > 0.0 && value > 0.0 {
        true => ((value / highest * (rows * 8) as f64).round() as usize).clamp(1, rows * 8),
        false => 0,
    };
    let at_level = chart.level.map(|(level, name)| (height(level).saturating_sub(1) / 8, name));
    let line = |row: usize| {
        let is_level = at_level.filter(|(at, _)| *at == row);
        let word = match (is_level, row) {
            (Some((_, name)), _) => name.to_owned(),
            (None, row) if row + 1 == rows && highest > 0.0 => (chart.written)(highest),
            (None, 0) => (chart.written)(0.0),
            (None, _) => String::new(),
        };
        let mut spans = vec![label(&word, margin, theme)];
        for bar in chart.bars {
            let filled = bar.map_or(0, height).saturating_sub(row * 8).min(8);
            let [level, foot] = theme.glyphs.behind_bars;
            let (glyph, style) = match (filled.checked_sub(1), bar) {
                (Some(eighth), _) => (theme.glyphs.eighths[eighth], theme.text),
                (None, Some(_)) if row == 0 && bar.map_or(0, height) == 0 => (foot, theme.muted),
                (None, _) if is_level.is_some() => (level, theme.muted),
                (None, _) => (' ', theme.text),
            };
            spans.push(Span::styled(glyph.to_string().repeat(each), style));
        }
        Line::from(spans)
    };
    (0..rows).rev().map(line).collect()
}

/// Two figures of each week, each with a sign of its own, side by side.
#[derive(Clone, Copy)]
pub struct Pairs<'a> {
    /// The figures.
    pub pairs: &'a [[f64; 2]],
    /// Whether the field begins at zero; else a little below the lowest figure.
    pub from_zero: bool,
    /// Lines of the field.
    pub rows: usize,
    /// How a figure is written.
    pub written: &'a dyn Fn(f64) -> String,
}

/// The signs of the first and the second way.
pub fn signs(theme: &Theme) -> [char; 2] {
    [theme.glyphs.real.point, theme.glyphs.within.point]
}

/// Draws pairs, each so many cells wide, of which the first two are used.
pub fn pairs(chart: &Pairs, margin: usize, each: usize, theme: &Theme) -> Vec<Line<'static>> {
    let all = chart.pairs.iter().flatten().copied();
    let high = all.clone().fold(0.0, f64::max);
    let low = if chart.from_zero { 0.0 } else { all.fold(high, f64::min) };
    let rows = chart.rows.max(2);
    let row_of = |value: f64| match high > low {
        true => ((value - low) / (high - low) * (rows - 1) as f64).round() as usize,
        false => 0,
    };
    let line = |row: usize| {
        let word = match row {
            row if row + 1 == rows && high > low => (chart.written)(high),
            0 => (chart.written)(low),
            _ => String::new(),
        };
        let mut spans = vec![label(&word, margin, theme)];
        for pair in chart.pairs {
            let sign = |n: usize| if row_of(pair[n]) == row { signs(theme)[n] } else { ' ' };
            let both: String = [sign(0), sign(1)].into_iter().collect();
            spans.push(Span::raw(text::pad_right(&both, each)));
        }
        Line::from(spans)
    };
    (0..rows).rev().map(line).collect()
}

/// A line below a field: signs at their places.
pub fn below(
    signs: impl IntoIterator<Item = (usize, char)>,
    margin: usize,
    name: &str,
    style: Style,
    theme: &Theme,
) -> Line<'static> {
    line_below(signs.into_iter().map(|(at, sign)| (at, sign.to_string())), 0, (margin, name), style, theme)
}

/// The same with words where they begin; one that would touch the word before it is left out.
pub fn words_below(
    words: impl IntoIterator<Item = (usize, String)>,
    margin: usize,
    name: &str,
    style: Style,
    theme: &Theme,
) -> Line<'static> {
    line_below(words, 1, (margin, name), style, theme)
}

fn line_below(
    words: impl IntoIterator<Item = (usize, String)>,
    apart: usize,
    (margin, name): (usize, &str),
    style: Style,
    theme: &Theme,
) -> Line<'static> {
    let mut out = String::new();
    for (at, word) in words {
        let used = text::width(&out);
        if used == 0 || at >= used + apart {
            out.push_str(&" ".repeat(at.saturating_sub(used)));
            out.push_str(&word);
        }
    }
    Line::from(vec![label(name, margin, theme), Span::styled(out, style)])
}

fn label(word: &str, margin: usize, theme: &Theme) -> Span<'static> {
    let word = text::pad_left(word, margin.saturating_sub(GAP));
    Span::styled(text::pad_right(&word, margin), theme.muted)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drawn(lines: Vec<Line<'static>>) -> String {
        lines.iter().map(|line| line.to_string().trim_end().to_owned()).collect::<Vec<_>>().join("\n")
    }

    #[test]
    fn bars_with_a_level() {
        let written = |value: f64| format!("{value:.0}");
        let heights = [Some(80.0), None, Some(0.0), Some(10.0), Some(45.0), Some(0.1)];
        let chart = Bars { bars: &heights, level: Some((30.0, "level")), rows: 4, written: &written };
        insta::assert_snapshot!(drawn(bars(&chart, 6, 2, &Theme::default())), @"
           80 ██
              ██      ▂▂
        level ██┄┄┄┄┄┄██┄┄
            0 ██  ··▄▄██▁▁
        ");
        insta::assert_snapshot!(drawn(bars(&chart, 6, 1, &Theme::default().ascii())), @"
           80 #
              #   .
        level #---#-
            0 # _:#.
        ");
        let nothing = Bars { bars: &[None, Some(0.0)], level: None, rows: 2, written: &written };
        assert_eq!(drawn(bars(&nothing, 3, 1, &Theme::default())), "\n 0  ·");
    }

    #[test]
    fn pairs_are_told_by_their_signs() {
        let written = |value: f64| format!("{value:.0}");
        let figures = [[30.0, 20.0], [28.0, 22.0], [20.0, 20.0], [25.0, 30.0]];
        let chart = Pairs { pairs: &figures, from_zero: false, rows: 5, written: &written };
        insta::assert_snapshot!(drawn(pairs(&chart, 4, 3, &Theme::default())), @"
        30 ●         ○
              ●
                    ●
               ○
        20  ○    ●○
        ");
        let same = Pairs { pairs: &[[0.0, 0.0]], from_zero: true, ..chart };
        assert_eq!(drawn(pairs(&same, 4, 3, &Theme::default().ascii())), "\n\n\n\n  0 @o");
    }

    #[test]
    fn words_below_do_not_run_into_each_other() {
        let theme = Theme::from_env(true);
        let words = [(0, "2 Nov"), (4, "3 Nov"), (7, "9 Nov"), (14, "x")].map(|(at, word)| (at, word.to_owned()));
        assert_eq!(words_below(words, 4, "day", theme.muted, &theme).to_string(), "day 2 Nov  9 Nov  x");
        let signs = [(0, 'M'), (1, 'T'), (3, 'x')];
        assert_eq!(below(signs, 4, "", theme.muted, &theme).to_string(), "    MT x");
    }
}
