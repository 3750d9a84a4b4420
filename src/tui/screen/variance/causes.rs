//! The page of what probably made a gap, and the page of why it is not exact.

use super::list::{gap_with_u, percent_text};
use super::{Detail, VarianceScreen};
use crate::domain::measure::{Amount, number_of};
use crate::domain::rows::{InWords, cause_word, chances, doubt_words};
use crate::domain::usage::{GapRow, Spreads, Verdict};
use crate::domain::venue::{Item, PouredBy};
use crate::tui::screen::signed;
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::words;
use ratatui::text::{Line, Span};

/// Blanks before what belongs to the line above.
const INDENT: usize = 4;

/// Cells of a figure in the budget, and of its bar.
const FIGURE: usize = 12;
const BAR: usize = 20;

fn indented(said: &str, cells: usize, theme: &Theme, out: &mut Vec<Line<'static>>) {
    for line in text::wrap(said, cells.saturating_sub(INDENT)) {
        out.push(Line::from(Span::styled(format!("{}{line}", " ".repeat(INDENT)), theme.muted)));
    }
}

impl VarianceScreen {
    /// What is thought of a gap and why, in sentences.
    pub(super) fn verdict_in_words(&self, row: &GapRow, item: &Item, theme: &Theme) -> Vec<String> {
        let show = self.setup.venue.show();
        let Some(finding) = self.view.review.of(row.item) else { return Vec::new() };
        let way = if row.gap.0 > 0 { word!("more went than was sold") } else { word!("less went than was sold") };
        let rarely = |chance: f64| match () {
            () if chance >= 0.1 => {
                say!("in {chance} of 10 such periods", chance = words::fixed(10.0 * chance, 0))
            }
            () if chance >= 1e-6 => {
                say!("once in {chance} such periods", chance = words::fixed(1.0 / chance, 0))
            }
            () => word!("less than once in a million such periods").to_owned(),
        };
        let mut said = Vec::new();
        if finding.by_itself {
            said.push(say!("Look into it: {way}, by more than the counts can be wrong. Their exactness alone makes so wide a gap {chance}; \
                 of all lines told like this, one in {rate} may still be nothing.", way, chance = rarely(finding.chance), rate = words::fixed(1.0 / self.view.review.rate, 0)));
        } else if finding.over_periods {
            said.push(
                word!("Look into it: this period alone shows nothing much, but the periods together do; see the chart (v).")
                    .to_owned(),
            );
        } else if finding.verdict == Verdict::Watch && finding.chance > 0.05 {
            said.push(
                word!("Watch: this period shows nothing unusual, but the sums over the periods are half-way to their limit; see \
                 the chart (v).")
                    .to_owned(),
            );
        } else if finding.verdict == Verdict::Watch {
            said.push(say!("Watch: their exactness alone makes so wide a gap {chance}, and among {variance} such a gap is nothing unusual.", chance = rarely(finding.chance), variance = number_of(self.view.variance.rows.len(), word!("line"), word!("lines"))));
        } else if row.gap.0 == 0 {
            said.push(word!("What was used is what was sold.").to_owned());
        } else {
            said.push(word!("Within what the two counts can tell: this gap need not be real.").to_owned());
        }
        if let Some(steady) = finding.steady.filter(|_| finding.over_periods) {
            let periods = finding.track.points.len() - steady.since;
            let rate = gap_with_u(show, item.basis, Amount::rounded(steady.rate), steady.u, theme);
            said.push(say!(
                "About {rate} in each of the last {periods}.",
                rate,
                periods = number_of(periods, word!("period"), word!("periods"))
            ));
        }
        let lean = Amount::rounded(row.budget.lean());
        if lean.0.abs() * 20 > item.size.0 {
            let more = signed(&show.amount(item.basis, lean), lean.0);
            said.push(say!(
                "A bottle read at one tenth is likely emptier than that, one at nine fuller: judged with {more}.",
                more
            ));
        }
        said
    }

    /// What probably made it, the likeliest first, each with what speaks for it.
    pub(super) fn causes_page(&self, detail: &Detail, item: &Item, cells: usize, theme: &Theme) -> Vec<Line<'static>> {
        let row = &detail.evidence.row;
        let plus_minus = |said: String| text::safe(&said).replace('±', theme.glyphs.plus_minus);
        let mut lines = Vec::new();
        for said in self.verdict_in_words(row, item, theme) {
            lines.extend(text::wrap(&said, cells).into_iter().map(Line::from));
        }
        lines.push(Line::default());
        if let Some(explained) = self.view.explained.get(&row.item) {
            let by = explained.by.as_deref().map_or(String::new(), |by| say!(" by {by}", by = text::safe(by)));
            let at = self.setup.venue.days.short(explained.at);
            let said = say!("Accepted{by}, {at}: {cause}", by, at, cause = cause_word(explained.cause));
            lines.extend(text::wrap(&said, cells).into_iter().map(|line| Line::styled(line, theme.good)));
            if let Some(note) = &explained.note {
                indented(&text::safe(note), cells, theme, &mut lines);
            }
            indented(word!("u takes it back"), cells, theme, &mut lines);
            lines.push(Line::default());
        }
        let suspects = self.view.suspects(row.item);
        if suspects.is_empty() {
            return lines;
        }
        lines.push(Line::styled(word!("What probably made it"), theme.title));
        let words = InWords { setup: &self.setup, item, gap: row.gap };
        for suspect in suspects {
            let chances = chances(suspect);
            let room = cells.saturating_sub(text::width(&chances) + 2);
            let head = text::pad_right(&text::fit(&plus_minus(words.headline(&suspect.cause)), room), room);
            lines.push(Line::from(vec![Span::raw(head), Span::styled(format!("  {chances}"), theme.title)]));
            indented(&plus_minus(words.evidence(&suspect.cause)), cells, theme, &mut lines);
        }
        lines.push(Line::default());
        let looked = self.view.recounts.iter().find(|recount| recount.item == row.item);
        if let Some(recount) = looked {
            let show = self.setup.venue.show();
            let how = if recount.slip >= recount.finer {
                word!("count the sealed ones again, in every place")
            } else {
                word!("read the opened ones again in quarter-tenths, or weigh them")
            };
            let gain = format!("{} {}", show.money(recount.gain), show.currency);
            let said = say!("Looking again now is worth {gain} on average: {how}.", gain, how);
            lines.extend(text::wrap(&said, cells).into_iter().map(Line::from));
        }
        lines
    }

    /// Why the gap is not exact: the budget of its uncertainty, line by line.
    pub(super) fn doubt_page(&self, row: &GapRow, item: &Item, cells: usize, theme: &Theme) -> Vec<Line<'static>> {
        let show = self.setup.venue.show();
        let spreads = self.view.review.spreads.unwrap_or(Spreads::AS_SET);
        let amount = |u: f64| show.amount(item.basis, Amount::rounded(u));
        let mut lines = vec![Line::styled(
            say!("Why {plus_minus} {u}?", plus_minus = theme.glyphs.plus_minus, u = amount(row.u)),
            theme.title,
        )];
        let budget = row.budget.lines(&spreads);
        if budget.is_empty() {
            lines.push(Line::from(word!("Nothing about it is inexact: it is counted, not read.")));
            return lines;
        }
        let whole = row.u * row.u;
        let bar = if theme.is_ascii() { "#" } else { "■" };
        for line in &budget {
            let share = line.u * line.u / whole.max(f64::MIN_POSITIVE);
            let bars = if cells >= 70 { BAR } else { 0 };
            let filled = bar.repeat((share * bars as f64).round() as usize);
            let room = cells.saturating_sub(FIGURE + bars + 2);
            let said = text::pad_right(&text::fit(&text::safe(&doubt_words(line, &item.name)), room), room);
            let figure = text::pad_left(&amount(line.u), FIGURE);
            lines.push(Line::from(vec![
                Span::raw(said),
                Span::raw(figure),
                Span::styled(format!("  {}", text::pad_right(&filled, bars)), theme.muted),
            ]));
        }
        let room = cells.saturating_sub(FIGURE + if cells >= 70 { BAR } else { 0 } + 2);
        let sum = text::pad_left(&amount(row.u), FIGURE);
        lines.push(Line::styled(
            format!("{}{sum}", text::pad_right(word!("together: the root of the sum of squares"), room)),
            theme.title,
        ));
        lines.push(Line::default());
        let learned = if spreads.gaps == 0 {
            word!(
                "Eyes that were never checked are taken to err by no more than their step, and pours to be as even as \
             venue.csv says, until the book has enough counts to learn from."
            )
            .to_owned()
        } else {
            let pours = &self.setup.venue.pours;
            let (way, set) = match item.poured_by.unwrap_or(pours.by) {
                PouredBy::Free => (word!("a free pour"), pours.free),
                PouredBy::Jigger | PouredBy::Whole => (word!("a pour with a jigger"), pours.jigger),
            };
            let pour = Amount::rounded(set.as_f64() * spreads.pours);
            say!(
                "Learned from {gaps} of this book: an unchecked eye scatters by {percent} % of a bottle besides its step, {way} by \
                 {pour}, the fill of a sealed one by {fill} of what the law allows.",
                gaps = number_of(spreads.gaps, word!("gap"), word!("gaps")),
                percent = percent_text(100.0 * spreads.eye).trim_start_matches('+'),
                way,
                pour = show.amount(crate::domain::measure::Basis::Volume, pour),
                fill = format_args!("{:.0} %", 100.0 * spreads.fill)
            )
        };
        lines.extend(text::wrap(&learned, cells).into_iter().map(|line| Line::styled(line, theme.muted)));
        lines.extend(
            text::wrap(
                word!("Weighing or reading finer makes what comes of the readings smaller; see Gauging (U)."),
                cells,
            )
            .into_iter()
            .map(|line| Line::styled(line, theme.muted)),
        );
        lines
    }
}
