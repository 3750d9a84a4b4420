//! Drawing the lines of a period.

use super::{Listed, Shown, VarianceScreen};
use crate::domain::ledger::Count;
use crate::domain::measure::{Amount, Basis, Money, Show, VolumeUnit, decimal, number_of};
use crate::domain::rows::{InWords, PeriodView, cause_word, chances};
use crate::domain::usage::{GapRow, GroupRow, Grouping, SECONDS, Told, Verdict};
use crate::domain::venue::Item;
use crate::tui::screen::{Scene, gap_style, signed};
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::columns::{self, Column, Row, Width};
use crate::tui::widget::whisker::whisker;
use crate::words;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::style::Style;
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;

/// Cells of the whisker column.
pub(super) const WHISKER: u16 = 13;

/// Stands before an item that was told although some of its stores were not counted.
const LEFT_OUT: &str = "*";

/// Why more can have been there at the end than at the beginning and all that came.
pub(super) const USED_BELOW_NOTHING: &str =
    text!("more was counted than could be there: a container missed the time before, or counted twice");

/// The heads of what was used, what was sold and the gap, with the book's unit of volumes.
pub(super) fn heads(volume: VolumeUnit) -> [&'static str; 3] {
    match volume {
        VolumeUnit::Ml => [word!("used ml"), word!("sold ml"), word!("gap ml")],
        VolumeUnit::Cl => [word!("used cl"), word!("sold cl"), word!("gap cl")],
        VolumeUnit::Oz => [word!("used oz"), word!("sold oz"), word!("gap oz")],
    }
}

/// An amount under those heads: what is no volume says its own unit.
pub(super) fn written(show: Show, basis: Basis, amount: Amount) -> String {
    match basis {
        Basis::Volume => show.bare(basis, amount),
        Basis::Mass | Basis::Each => show.amount(basis, amount),
    }
}

/// The scale that whiskers of sums share: the widest of them fills half the cell.
pub(super) fn scale_of<'a>(sums: impl Iterator<Item = &'a GroupRow>) -> f64 {
    sums.map(|sum| sum.gap.as_f64().abs() + 2.0 * sum.u).fold(1.0, f64::max)
}

/// At 80 columns the name has 20 cells, and the likeliest cause what is left.
fn items(volume: VolumeUnit) -> [Column; 11] {
    let [used, sold, gap] = heads(volume);
    [
        Column::words("", Width::Fixed(2), 2),
        Column::words(text!("item"), Width::Flex(20), 0),
        Column::figures(used, 7, 6),
        Column::figures(sold, 7, 7),
        Column::figures(gap, 6, 0),
        Column::words(text!("0 = as sold"), Width::Fixed(WHISKER), 3),
        Column::words(text!("verdict"), Width::Fixed(9), 4),
        Column::figures(text!("cost"), 7, 0),
        Column::figures(text!("containers"), 10, 9),
        Column::figures(text!("% of use"), 8, 8),
        Column::words(text!("likeliest cause"), Width::Flex(27), 1),
    ]
}

fn groups(volume: VolumeUnit) -> [Column; 8] {
    let [used, sold, gap] = heads(volume);
    [
        Column::words(text!("group"), Width::Flex(16), 0),
        Column::figures(text!("items"), 5, 4),
        Column::figures(used, 7, 5),
        Column::figures(sold, 7, 6),
        Column::figures(gap, 7, 0),
        Column::words(text!("0 = as sold"), Width::Fixed(WHISKER), 3),
        Column::words(text!("exactness"), Width::Fixed(9), 2),
        Column::figures(text!("cost"), 8, 0),
    ]
}

impl VarianceScreen {
    pub(super) fn draw_list(&mut self, frame: &mut Frame, area: Rect, scene: Scene) {
        let theme = scene.theme;
        let head = self.head(area.width);
        let tall = u16::try_from(head.len()).unwrap_or(3).min(area.height / 3);
        // As many as the longest takes, so that the list does not move when the cursor does.
        let wordy = self.view.variance.rows.iter().any(|row| row.usage.0 < 0) && area.width < 80;
        let longest = if wordy { 4 } else { 3 };
        let foot = if area.height > 10 { longest } else { 0 };
        let [above, body, below] =
            Layout::vertical([Constraint::Length(tall), Constraint::Fill(1), Constraint::Length(foot)]).areas(area);
        let head: Vec<Line> = head.into_iter().map(|line| Line::from(Span::styled(line, theme.text))).collect();
        frame.render_widget(Paragraph::new(head), above);
        let by_item = self.shows == Shown::By(Grouping::Item) || self.only.is_some();
        let volume = self.setup.venue.show().volume;
        let (items, groups) = (items(volume), groups(volume));
        let columns: &[Column] = if by_item { &items } else { &groups };
        let scale = scale_of(self.groups.iter());
        let mut window = self.window;
        let row = |at: usize| match self.lines.get(at) {
            Some(Listed::Row(row)) => self.item_cells(&self.view.variance.rows[*row], true, theme),
            Some(Listed::OfEvening(evening, row)) => {
                self.item_cells(&self.view.evenings[*evening].rows[*row], false, theme)
            }
            Some(Listed::Group(group)) => self.group_cells(&self.groups[*group], scale, theme),
            Some(Listed::Heading(heading)) => {
                Row::Heading(Line::from(Span::styled(text::fit(heading, body.width.into()), theme.title)))
            }
            Some(line @ (Listed::Untold(_) | Listed::Exploded(_))) => {
                let why = format!("  {}", text::safe(&self.why(line)));
                Row::Heading(Line::from(Span::styled(text::fit(&why, body.width.into()), theme.text)))
            }
            None => Row::Cells(Vec::new()),
        };
        columns::draw(frame, body, columns, self.lines.len(), &mut window, row, theme);
        self.window = window;
        if self.lines.is_empty() && body.height > 1 {
            let nothing = if self.hides {
                word!("Nothing to look into: every line is within the count's exactness; z shows them.")
            } else {
                word!("The two counts have no item in common.")
            };
            frame.render_widget(Span::raw(nothing), Rect { y: body.y + 1, height: 1, ..body });
        }
        frame.render_widget(Paragraph::new(self.foot(below.width, theme)), below);
    }

    /// The period, its money, and what is not in it.
    fn head(&self, width: u16) -> Vec<String> {
        let cells = usize::from(width);
        let venue = &self.setup.venue;
        let show = venue.show();
        let (opening, closing) = (&self.view.opening, &self.view.closing);
        let day = |count: &Count| venue.days.day_of(count.opened);
        let days = day(closing).signed_duration_since(day(opening)).num_days();
        let days = number_of(days, word!("day"), word!("days"));
        let named = |count: &Count| format!("{}, {}", text::safe(&count.name), venue.days.short(count.opened));
        let mut lines = text::flow([named(opening), say!("to {closing}", closing = named(closing)), days], cells);
        let variance = &self.view.variance;
        let rows = &variance.rows;
        let all = match self.view.open().count() {
            0 => say!("nothing to look into of {items}", items = number_of(rows.len(), word!("line"), word!("lines"))),
            n => say!(
                "look into {n} of {items}, {stake} {currency} at stake",
                n,
                items = number_of(rows.len(), word!("line"), word!("lines")),
                stake = show.money(self.view.stake()),
                currency = show.currency
            ),
        };
        let (cost, unknown) = self.view.cost();
        let mut money = vec![
            say!("net sales {net} {currency}", net = show.money(variance.sold.net), currency = show.currency),
            all,
            say!("gaps cost {cost} {currency}", cost = signed(&show.money(cost), cost.0), currency = show.currency),
        ];
        if unknown > 0 {
            money.push(say!("{unknown} without a known cost", unknown));
        }
        if let Some(only) = &self.only {
            money.insert(0, say!("only {only} (Esc: all)", only = text::safe(only)));
        }
        lines.extend(text::flow(money, cells));
        let unmapped = variance.sold.unmapped;
        let known = if !self.view.rung {
            word!("Nothing was rung between the two counts, so every gap is all that was used: take in the till's file (I) first.")
                .to_owned()
        } else if unmapped.lines == 0 {
            word!("Every till name has a meaning: no sale is missing from “sold”.").to_owned()
        } else {
            say!(
                "Not in “sold”: {lines} ({quantity} sold, {net} {currency}), till names not mapped yet: {unmapped_names}",
                lines = number_of(unmapped.lines, word!("sales line"), word!("sales lines")),
                quantity = decimal::shown(unmapped.quantity, 3),
                net = show.money(unmapped.net),
                currency = show.currency,
                unmapped_names = self.unmapped_names()
            )
        };
        lines.extend(text::wrap(&known, cells));
        lines.extend(self.recounts_in_words().map(|said| text::wrap(&said, cells)).into_iter().flatten());
        lines
    }

    /// What looking again at a few lines would settle.
    fn recounts_in_words(&self) -> Option<String> {
        let recounts = &self.view.recounts;
        let show = self.setup.venue.show();
        let gain: Money = recounts.iter().map(|recount| recount.gain).sum();
        let seconds = SECONDS * recounts.len() as i64;
        let names: Vec<String> = recounts.iter().map(|r| text::safe(self.setup.item_name(r.item))).collect();
        let time = if seconds < 60 { say!("{seconds} seconds", seconds) } else { word!("a minute or two").to_owned() };
        let these = if recounts.len() == 1 { word!("this one") } else { word!("these") };
        (!recounts.is_empty()).then(|| {
            let gain = format!("{} {}", show.money(gain), show.currency);
            say!(
                "Before anything is poured, look at {these} again: {names} ({time}, settles about {gain})",
                these,
                names = names.join(", "),
                time,
                gain
            )
        })
    }

    /// The till names that mean nothing yet: the two with the most money behind them, and how many more there are.
    fn unmapped_names(&self) -> String {
        let tills = &self.view.variance.sold.unmapped_tills;
        let name = |till| self.setup.till_name(till).map_or("?", |till| &till.name);
        let named: Vec<String> = tills.iter().take(2).map(|(till, _)| words::quoted(text::safe(name(*till)))).collect();
        match tills.len().saturating_sub(2) {
            0 => named.join(", "),
            more => say!("{named} and {more} more", named = named.join(", "), more),
        }
    }

    /// A row of the period, or of an evening, which is not judged by itself.
    fn item_cells(&self, row: &GapRow, judged: bool, theme: &Theme) -> Row {
        let show = self.setup.venue.show();
        let name = text::safe(self.setup.item_name(row.item));
        let Some(item) = self.setup.item(row.item) else { return Row::Cells(vec![Line::from(""), Line::from(name)]) };
        let verdict = if judged { self.view.review.verdict(row.item) } else { Verdict::Within };
        let settled = judged && self.view.explained.contains_key(&row.item);
        let sign = match verdict {
            _ if settled => theme.glyphs.done,
            Verdict::LookInto => "!",
            Verdict::Watch => "?",
            Verdict::Within => "",
        };
        let mark = format!("{sign}{}", if row.told == Told::Whole { "" } else { LEFT_OUT });
        let amount = |a| Line::from(written(show, item.basis, a));
        let style = verdict_style(row.gap, verdict, theme);
        let gap = signed(&written(show, item.basis, row.gap), row.gap.0);
        let cause = if judged { self.cause_in_words(row, item, theme) } else { String::new() };
        let cost = row.cost.map_or("?".to_owned(), |cost| signed(&show.money(cost), cost.0));
        let containers = signed(&show.containers(row.gap, item.size), row.gap.0);
        let percent = row.percent.map_or(String::new(), percent_text);
        Row::Cells(vec![
            Line::from(mark),
            Line::from(name),
            amount(row.usage),
            amount(row.sold),
            Line::from(Span::styled(gap, style)),
            whisker(row.gap.as_f64(), row.u, half_range(item), WHISKER, theme),
            Line::from(Span::styled(if judged { verdict_word(verdict) } else { "" }, style)),
            Line::from(cost),
            Line::from(containers),
            Line::from(percent),
            Line::from(cause),
        ])
    }

    /// What was accepted of a gap, or what probably made it.
    fn cause_in_words(&self, row: &GapRow, item: &Item, theme: &Theme) -> String {
        if let Some(explained) = self.view.explained.get(&row.item) {
            return cause_word(explained.cause).to_owned();
        }
        let words = InWords { setup: &self.setup, item, gap: row.gap };
        let first = self.view.suspects(row.item).first();
        first.map_or(String::new(), |suspect| {
            text::safe(&words.headline(&suspect.cause)).replace('±', theme.glyphs.plus_minus)
        })
    }

    fn group_cells(&self, group: &GroupRow, scale: f64, theme: &Theme) -> Row {
        let show = self.setup.venue.show();
        let amount = |a| show.bare(Basis::Volume, a);
        let style = gap_style(group.gap.as_f64(), group.u, theme);
        let cost = signed(&show.money(group.cost), group.cost.0);
        Row::Cells(vec![
            Line::from(text::safe(&group.name)),
            Line::from(group.items.to_string()),
            Line::from(amount(group.usage)),
            Line::from(amount(group.sold)),
            Line::from(Span::styled(signed(&amount(group.gap), group.gap.0), style)),
            whisker(group.gap.as_f64(), group.u, scale, WHISKER, theme),
            Line::from(Span::styled(
                match (
                    group.beyond_exactness(),
                    self.group_track(&group.name).is_some_and(|found| found.track.alarms()),
                ) {
                    (_, true) => word!("steadily"),
                    (true, false) => word!("beyond it"),
                    (false, false) => word!("within"),
                },
                style,
            )),
            Line::from(cost),
        ])
    }

    /// The line under the cursor in words, for windows that have dropped columns.
    fn foot(&self, width: u16, theme: &Theme) -> Vec<Line<'static>> {
        let said = match self.lines.get(self.window.selected()) {
            Some(Listed::Row(row)) => self.row_in_words(&self.view.variance.rows[*row], theme),
            Some(Listed::OfEvening(evening, row)) => {
                self.evening_in_words(&self.view.evenings[*evening].rows[*row], theme)
            }
            Some(Listed::Group(group)) => self.group_in_words(&self.groups[*group], theme),
            Some(line @ (Listed::Untold(_) | Listed::Exploded(_))) => vec![text::safe(&self.why(line))],
            Some(Listed::Heading(_)) | None => Vec::new(),
        };
        let lines = text::flow(said, width.into());
        lines.into_iter().map(|line| Line::from(Span::styled(line, theme.text))).collect()
    }

    /// The same of an evening's row, which is not judged by itself.
    fn evening_in_words(&self, row: &GapRow, theme: &Theme) -> Vec<String> {
        let Some(item) = self.setup.item(row.item) else { return Vec::new() };
        let show = self.setup.venue.show();
        let gap = gap_with_u(show, item.basis, row.gap, row.u, theme);
        let cost = row.cost.map_or(word!("no known cost").to_owned(), |cost| {
            format!("{} {}", signed(&show.money(cost), cost.0), show.currency)
        });
        vec![
            text::safe(&item.name),
            say!("gap {gap} on this evening", gap),
            cost,
            word!("Enter: all of the period").to_owned(),
        ]
    }

    fn row_in_words(&self, row: &GapRow, theme: &Theme) -> Vec<String> {
        let Some(item) = self.setup.item(row.item) else { return Vec::new() };
        let show = self.setup.venue.show();
        let mut said = vec![
            format!("{} ({})", text::safe(&item.name), show.amount(item.basis, item.size)),
            say!("gap {u}", u = gap_with_u(show, item.basis, row.gap, row.u, theme)),
        ];
        if row.usage.0 < 0 {
            said.push(words::find(USED_BELOW_NOTHING).to_owned());
        }
        said.push(in_words(&self.view, row));
        let cause = self.cause_in_words(row, item, theme);
        if !cause.is_empty() {
            let sure = self.view.suspects(row.item).first().map_or(String::new(), chances);
            let accepted = self.view.explained.contains_key(&row.item);
            said.push(if accepted { say!("accepted: {cause}", cause) } else { format!("{cause} ({sure})") });
        }
        match row.cost {
            Some(cost) => said.push(format!("{} {}", signed(&show.money(cost), cost.0), show.currency)),
            None => said.push(word!("no known cost").to_owned()),
        }
        said.push(say!("{gap} containers", gap = signed(&show.containers(row.gap, item.size), row.gap.0)));
        if let Some(percent) = row.percent {
            said.push(say!("{percent} % of use", percent = percent_text(percent)));
        }
        if let Told::StoresLeftOut(_) = &row.told {
            said.push(say!("{LEFT_OUT} without {left_out}", LEFT_OUT, left_out = self.left_out(row)));
        }
        said
    }

    /// The stores that were not counted both times, by name.
    pub(super) fn left_out(&self, row: &GapRow) -> String {
        let Told::StoresLeftOut(places) = &row.told else { return String::new() };
        places.iter().map(|place| text::safe(self.setup.place_name(*place))).collect::<Vec<_>>().join(", ")
    }

    fn group_in_words(&self, group: &GroupRow, theme: &Theme) -> Vec<String> {
        let show = self.setup.venue.show();
        let mut said = vec![
            format!("{}: {}", text::safe(&group.name), number_of(group.items, word!("item"), word!("items"))),
            say!("gap {u}", u = gap_with_u(show, Basis::Volume, group.gap, group.u, theme)),
            group_in_words(group).to_owned(),
            format!("{} {}", signed(&show.money(group.cost), group.cost.0), show.currency),
        ];
        if group.without_cost > 0 {
            said.push(say!("{without_cost} without a known cost", without_cost = group.without_cost));
        }
        if let Some(found) = self.group_track(&group.name) {
            let sums = found.track.sums();
            let limit = found.track.limit;
            match found.steady {
                Some(steady) => said.push(say!("over the periods beyond its limit ({reach} of {limit}): about {rate} {plus_minus} {u} containers each time", reach = words::fixed(sums.reach(), 1), limit = words::fixed(limit, 1), rate = words::fixed(steady.rate, 1), plus_minus = theme.glyphs.plus_minus, u = words::fixed(steady.u, 1))),
                None => said.push(say!("over the periods {reach} of {limit}", reach = words::fixed(sums.reach(), 1), limit = words::fixed(limit, 1))),
            }
        }
        said.push(word!("used, sold and gap sum the liquids only, cost sums everything").to_owned());
        said
    }
}

/// The whisker's scale: half a container to each side.
pub(super) fn half_range(item: &Item) -> f64 {
    (item.size.as_f64() * 0.5).max(1.0)
}

/// The word in the column.
fn verdict_word(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::LookInto => word!("look into"),
        Verdict::Watch => word!("watch"),
        Verdict::Within => word!("within"),
    }
}

/// The verdict in full.
pub(super) fn in_words(view: &PeriodView, row: &GapRow) -> String {
    let verdict = view.review.verdict(row.item);
    let over_periods = view.review.of(row.item).is_some_and(|of| of.over_periods && !of.by_itself);
    let way = if view.review.is_short(row) { word!("gap" => "short") } else { word!("gap" => "over") };
    match verdict {
        Verdict::Within => verdict.words().to_owned(),
        _ if over_periods => say!("{way} period after period, {words}", way, words = verdict.words()),
        _ if row.gap.0 == 0 => verdict.words().to_owned(),
        _ => format!("{way}, {}", verdict.words()),
    }
}

/// What is over or short stands out if it is to be looked into.
pub(super) fn verdict_style(gap: Amount, verdict: Verdict, theme: &Theme) -> Style {
    match (verdict, gap.0 > 0) {
        (Verdict::LookInto, true) => theme.over,
        (Verdict::LookInto, false) => theme.short,
        _ => theme.text,
    }
}

/// The same of a sum, which is not screened.
pub(super) fn group_in_words(sum: &GroupRow) -> &'static str {
    match (sum.beyond_exactness(), sum.gap.0 > 0) {
        (false, _) => word!("within exactness"),
        (true, true) => word!("over, beyond exactness"),
        (true, false) => word!("short, beyond exactness"),
    }
}

/// With its sign, unless it rounds to nothing.
pub(super) fn percent_text(percent: f64) -> String {
    let text = words::signed(percent, 1);
    if text.contains(|c| matches!(c, '1'..='9')) { text } else { "0.0".to_owned() }
}

/// `+600 ± 29 ml`.
pub(super) fn gap_with_u(show: Show, basis: Basis, gap: Amount, u: f64, theme: &Theme) -> String {
    let gap_text = signed(&show.bare(basis, gap), gap.0);
    let u = show.amount(basis, Amount::rounded(u));
    format!("{gap_text} {} {u}", theme.glyphs.plus_minus)
}
