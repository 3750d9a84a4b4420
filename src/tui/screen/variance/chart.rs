//! The page of an item over the periods: the sums of its surprises against their limit, and the periods in figures.

use super::VarianceScreen;
use crate::domain::measure::Amount;
use crate::domain::usage::{Finding, Point, Track};
use crate::domain::venue::Item;
use crate::tui::screen::signed;
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::words;
use ratatui::text::{Line, Span};

/// Lines of the chart to either side of nothing, and the most cells of a period.
const HALF: usize = 5;
const WIDEST: usize = 6;
/// Cells of the words before the chart.
const MARGIN: usize = 8;

impl VarianceScreen {
    /// The chart, and below it what it is made of.
    pub(super) fn chart_page(&self, finding: &Finding, item: &Item, cells: usize, theme: &Theme) -> Vec<Line<'static>> {
        let show = self.setup.venue.show();
        let track = &finding.track;
        let mut lines = Vec::new();
        let said = if finding.over_periods {
            word!("A sum is beyond its limit: a little goes steadily, though no single period need show it.")
        } else {
            word!("Each sum grows while gaps lie on its side, and falls back to nothing while they do not.")
        };
        lines.extend(text::wrap(said, cells).into_iter().map(Line::from));
        lines.extend(drawn(&track.points, track.limit, cells, theme));
        lines.push(Line::default());
        let heads = [word!("likely gap"), word!("surprise"), word!("gap" => "over"), word!("gap" => "short")];
        let figures: String = heads.iter().map(|head| text::pad_left(head, 10)).collect();
        let room = cells.saturating_sub(text::width(&figures));
        lines.push(Line::styled(format!("{}{figures}", text::pad_right(word!("period up to"), room)), theme.title));
        for (point, count) in track.points.iter().zip(&self.view.periods).rev() {
            let name = text::pad_right(&text::fit(&text::safe(&count.name), room.saturating_sub(1)), room);
            let figures = match point {
                None => text::pad_left(word!("not counted"), 10),
                Some(point) => {
                    let bare = |amount: f64| {
                        let amount = Amount::rounded(amount);
                        signed(&show.bare(item.basis, amount), amount.0)
                    };
                    let sums = [point.sums.high, point.sums.low].map(|sum| words::fixed(sum, 1));
                    let all = [bare(point.gap), format!("{} u", words::signed(point.standardised(), 1))]
                        .into_iter()
                        .chain(sums);
                    let note = if point.left_out { " *" } else { "" };
                    all.map(|figure| text::pad_left(&figure, 10)).collect::<String>() + note
                }
            };
            lines.push(Line::from(format!("{name}{figures}")));
        }
        if track.points.iter().flatten().any(|point| point.left_out) {
            lines.push(Line::styled(word!("* told by itself, so left out of the sums"), theme.muted));
        }
        let explained = say!(
            "A surprise is what the counts before did not lead to expect, in standard uncertainties: two gaps in a row share \
             a count, so a bottle misread once is one surprise and not two. A sum adds up what exceeds half of one. Limit \
             {limit}: by chance, all lines of the bar together cross it about once in 20 periods.",
            limit = words::fixed(track.limit, 1)
        );
        lines.push(Line::default());
        lines.extend(text::wrap(&explained, cells).into_iter().map(|line| Line::styled(line, theme.muted)));
        lines
    }
}

/// The same as plain lines, for a list.
pub(super) fn in_text(track: &Track) -> Vec<String> {
    let lines = drawn(&track.points, track.limit, MARGIN + WIDEST * track.points.len(), &Theme::default());
    lines.iter().map(|line| line.spans.iter().map(|span| span.content.as_ref()).collect()).collect()
}

/// Two sums against their limits: over to above, short to below.
fn drawn(points: &[Option<Point>], limit: f64, cells: usize, theme: &Theme) -> Vec<Line<'static>> {
    let each = (cells.saturating_sub(MARGIN) / points.len().max(1)).clamp(1, WIDEST);
    let most = points.iter().flatten().map(|point| point.sums.reach()).fold(limit * 1.2, f64::max);
    let level = |sum: f64| (sum / most * HALF as f64).round() as usize;
    let at_limit = level(limit).clamp(1, HALF);
    let (bar, line, zero) = if theme.is_ascii() { ('#', '.', '-') } else { ('█', '┄', '─') };
    let mut out = Vec::with_capacity(2 * HALF + 1);
    for row in (0..=2 * HALF).rev() {
        let (above, distance) = (row > HALF, row.abs_diff(HALF));
        let words = match distance {
            0 => "0",
            d if d == at_limit => word!("limit"),
            d if d == HALF && above => word!("gap" => "over"),
            d if d == HALF => word!("gap" => "short"),
            _ => "",
        };
        let mut spans = vec![Span::styled(text::pad_right(words, MARGIN), theme.muted)];
        for point in points {
            let sum = point.map_or(0.0, |point| if above { point.sums.high } else { point.sums.low });
            let reached = distance > 0 && level(sum) >= distance;
            let beyond = sum > limit;
            let blank = match distance {
                0 => zero,
                d if d == at_limit => line,
                _ => ' ',
            };
            let style = match (reached, beyond, above) {
                (true, true, true) => theme.over,
                (true, true, false) => theme.short,
                (true, false, _) => theme.text,
                _ => theme.muted,
            };
            let filled = each.saturating_sub(1).max(1);
            let glyph: String = std::iter::repeat_n(if reached { bar } else { blank }, filled)
                .chain(std::iter::repeat_n(blank, each - filled))
                .collect();
            spans.push(Span::styled(glyph, style));
        }
        out.push(Line::from(spans));
    }
    out
}
