//! Points in a plane, with a line across and one down that divide it, for a terminal of any size.

use crate::tui::text;
use crate::tui::theme::Theme;
use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::style::Style;
use ratatui::text::{Line, Span};

/// One of the two directions.
#[derive(Clone, Debug)]
pub struct Axis {
    /// Where it begins.
    pub low: f64,
    /// Where it ends.
    pub high: f64,
    /// Where the dividing line stands.
    pub divided: Option<f64>,
    /// What it measures.
    pub title: String,
    /// How a figure on it is written.
    pub written: fn(f64) -> String,
}

impl Axis {
    /// An axis that all of some figures lie on with a little room beyond them, its dividing line among them.
    pub fn around(
        figures: impl IntoIterator<Item = f64>,
        divided: Option<f64>,
        title: &str,
        written: fn(f64) -> String,
    ) -> Axis {
        let all = figures.into_iter().chain(divided);
        let (low, high) = all.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), x| (low.min(x), high.max(x)));
        let (low, high) = if low <= high { (low, high) } else { (0.0, 1.0) };
        let room = ((high - low) * 0.05).max(1e-6);
        Axis { low: low - room, high: high + room, divided, title: title.to_owned(), written }
    }

    /// The cell of so many that a figure falls into.
    fn cell(&self, figure: f64, cells: u16) -> Option<u16> {
        let share = (figure - self.low) / (self.high - self.low);
        let last = cells.checked_sub(1)?;
        (0.0..=1.0).contains(&share).then(|| ((share * f64::from(cells)) as u16).min(last))
    }
}

/// A point.
#[derive(Clone, Copy, Debug)]
pub struct Point {
    /// Across.
    pub x: f64,
    /// Up.
    pub y: f64,
    /// How it is drawn.
    pub mark: char,
    /// Drawn over all others, and stressed.
    pub stressed: bool,
}

/// A plot.
#[derive(Clone, Debug)]
pub struct Plot {
    /// Across.
    pub x: Axis,
    /// Up.
    pub y: Axis,
    /// Later ones lie over earlier ones, stressed ones over all.
    pub points: Vec<Point>,
    /// Words in the corners: upper left and right, lower left and right.
    pub corners: [&'static str; 4],
    /// Whether a cell that several points fall into says how many; a curve does not.
    pub counted: bool,
}

/// Draws a plot over an area: figures of the axis at the left, then the field, figures and title below it.
pub fn draw(frame: &mut Frame, area: Rect, plot: &Plot, theme: &Theme) {
    let area = area.intersection(frame.area());
    let y_words = [plot.y.high, plot.y.low].map(plot.y.written);
    let divided = plot.y.divided.map(plot.y.written);
    let left = y_words.iter().chain(&divided).map(|word| text::width(word)).max().unwrap_or(0) + 1;
    let left = u16::try_from(left).unwrap_or(u16::MAX);
    if area.height < 5 || area.width < left.saturating_add(12) {
        return;
    }
    let title = Rect { height: 1, ..area };
    frame.render_widget(Span::styled(text::fit(&plot.y.title, area.width.into()), theme.muted), title);
    let field = Rect { x: area.x + left, y: area.y + 1, width: area.width - left, height: area.height - 3 };
    // Where there is room, the words stand above and below the field, so that no point lies on them.
    let outside = area.height >= 9 && plot.corners.iter().any(|word| !word.is_empty());
    let inner = if outside { Rect { y: field.y + 1, height: field.height - 2, ..field } } else { field };
    draw_field(frame, inner, plot, theme);
    draw_corners(frame, field, plot, theme);
    draw_points(frame, inner, plot, theme);
    draw_figures(frame, area, inner, field.bottom(), plot, theme);
}

fn put(frame: &mut Frame, field: Rect, (x, y): (u16, u16), mark: char, style: Style) {
    if let Some(cell) = frame.buffer_mut().cell_mut((field.x + x, field.y + y)) {
        cell.set_char(mark).set_style(style);
    }
}

fn draw_field(frame: &mut Frame, field: Rect, plot: &Plot, theme: &Theme) {
    let down = plot.x.divided.and_then(|at| plot.x.cell(at, field.width));
    let across = plot.y.divided.and_then(|at| plot.y.cell(at, field.height)).map(|row| field.height - 1 - row);
    let glyphs = theme.glyphs;
    for y in 0..field.height {
        if let Some(x) = down {
            put(frame, field, (x, y), glyphs.zero, theme.muted);
        }
    }
    for x in 0..field.width {
        if let Some(y) = across {
            let mark = if down == Some(x) { glyphs.zero_crossed } else { glyphs.within.bar };
            put(frame, field, (x, y), mark, theme.muted);
        }
    }
}

fn draw_corners(frame: &mut Frame, field: Rect, plot: &Plot, theme: &Theme) {
    let right = |word: &str| field.width.saturating_sub(u16::try_from(text::width(word)).unwrap_or(u16::MAX));
    let bottom = field.height - 1;
    for (word, x, y) in [
        (plot.corners[0], 0, 0),
        (plot.corners[1], right(plot.corners[1]), 0),
        (plot.corners[2], 0, bottom),
        (plot.corners[3], right(plot.corners[3]), bottom),
    ] {
        for (c, x) in word.chars().zip(x..field.width) {
            put(frame, field, (x, y), c, theme.muted);
        }
    }
}

fn draw_points(frame: &mut Frame, field: Rect, plot: &Plot, theme: &Theme) {
    let mut seen: Vec<(u16, u16, u32)> = Vec::new();
    let order = plot.points.iter().filter(|p| !p.stressed).chain(plot.points.iter().filter(|p| p.stressed));
    for point in order {
        let (Some(x), Some(row)) = (plot.x.cell(point.x, field.width), plot.y.cell(point.y, field.height)) else {
            continue;
        };
        let y = field.height - 1 - row;
        let many = match seen.iter_mut().find(|(a, b, _)| (*a, *b) == (x, y)) {
            Some((.., many)) => {
                *many += 1;
                *many
            }
            None => {
                seen.push((x, y, 1));
                1
            }
        };
        let mark = match (point.stressed || !plot.counted, many) {
            (true, _) | (_, 1) => point.mark,
            (false, many) => char::from_digit(many.min(9), 10).unwrap_or(point.mark),
        };
        let style = if point.stressed { theme.selected } else { theme.text };
        put(frame, field, (x, y), mark, style);
    }
}

/// `below` is the line of the figures under the field.
fn draw_figures(frame: &mut Frame, area: Rect, field: Rect, below: u16, plot: &Plot, theme: &Theme) {
    let at = |y: u16| Rect { x: area.x, y, width: field.x - area.x, height: 1 };
    let figure = |frame: &mut Frame, y: u16, word: String| {
        let word = text::pad_left(&word, usize::from(field.x - area.x).saturating_sub(1));
        frame.render_widget(Span::styled(word, theme.muted), at(y));
    };
    figure(frame, field.y, (plot.y.written)(plot.y.high));
    figure(frame, field.bottom() - 1, (plot.y.written)(plot.y.low));
    if let Some((row, divided)) = plot.y.divided.and_then(|d| Some((plot.y.cell(d, field.height)?, d))) {
        let y = field.bottom() - 1 - row;
        if y > field.y && y + 1 < field.bottom() {
            figure(frame, y, (plot.y.written)(divided));
        }
    }
    let line = Rect { y: below, height: 1, ..field };
    let (low, high) = ((plot.x.written)(plot.x.low), (plot.x.written)(plot.x.high));
    frame.render_widget(Span::styled(low.clone(), theme.muted), line);
    frame.render_widget(Line::from(Span::styled(high.clone(), theme.muted)).right_aligned(), line);
    if let Some((cell, divided)) = plot.x.divided.and_then(|d| Some((plot.x.cell(d, field.width)?, d))) {
        let word = (plot.x.written)(divided);
        let wide = |word: &str| u16::try_from(text::width(word)).unwrap_or(u16::MAX);
        let from = cell.saturating_sub(wide(&word) / 2);
        if from > wide(&low) && from + wide(&word) + 1 + wide(&high) < field.width {
            frame.render_widget(
                Span::styled(word.clone(), theme.muted),
                Rect { x: line.x + from, width: wide(&word), ..line },
            );
        }
    }
    let title = Line::from(Span::styled(text::fit(&plot.x.title, field.width.into()), theme.muted)).right_aligned();
    frame.render_widget(title, Rect { y: below + 1, height: 1, ..field });
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tui::widget::harness::{at_every_size, shown};

    fn plot() -> Plot {
        let points = [(10.0, 5.0), (12.0, 5.1), (90.0, 8.0), (40.0, 2.0)];
        let point = |(x, y): (f64, f64)| Point { x, y, mark: if x == 90.0 { '*' } else { 'o' }, stressed: x == 90.0 };
        let written = |x: f64| format!("{x:.0}");
        Plot {
            x: Axis::around(points.iter().map(|p| p.0), Some(50.0), "sold", written),
            y: Axis::around(points.iter().map(|p| p.1), Some(6.0), "margin", written),
            points: points.into_iter().map(point).collect(),
            corners: ["secret", "anchor", "ballast", "draw"],
            counted: true,
        }
    }

    #[test]
    fn points_lie_in_their_corners() {
        insta::assert_snapshot!(shown(44, 12, |frame| draw(frame, frame.area(), &plot(), &Theme::default())), @"
        margin
          secret                              anchor
        8                      ┊                  *
                               ┊
        6 ─────────────────────┼────────────────────
           oo                  ┊
                               ┊
                               ┊
        2                 o    ┊
          ballast                               draw
          6                   50                  94
                                                sold
        ");
        insta::assert_snapshot!(shown(30, 8, |frame| draw(frame, frame.area(), &plot(), &Theme::default().ascii())), @"
        margin
        8 secret        :       anch*r
        6 --------------|-------------
           2            :
                        :
        2 ballast   o   :         draw
          6            50           94
                                  sold
        ");
    }

    #[test]
    fn nothing_to_show_is_no_reason_to_panic() {
        let none = Plot { points: Vec::new(), ..plot() };
        let flat = Axis::around([3.0, 3.0], None, "flat", |x| format!("{x}"));
        at_every_size(|frame| {
            draw(frame, frame.area(), &none, &Theme::from_env(true));
            draw(frame, frame.area(), &Plot { x: flat.clone(), ..plot() }, &Theme::from_env(true));
            draw(frame, frame.area(), &plot(), &Theme::from_env(true));
        });
    }
}
