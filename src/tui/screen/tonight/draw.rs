//! Drawing the screen Tonight.

use super::{Due, Section, TonightScreen};
use crate::domain::measure::{Money, decimal, number_of};
use crate::domain::rows::{ClaimsRow, DeadlineOrder, DeadlineRow, ExpectedRow, LowRow, OfferedFile, PastDateRow};
use crate::domain::usage::Unmapped;
use crate::domain::venue::{DayRule, Item, Moment};
use crate::tui::screen::Scene;
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::level::level;
use crate::tui::widget::window::Window;
use crate::words;
use chrono::NaiveDate;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::style::Style;
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;
use std::ops::Range;

/// From this width on there are two columns: what has a time, and what has none.
const TWO_COLUMNS: u16 = 110;

/// Cells that a name keeps before a fact beside it is left out.
const NAME: usize = 10;

/// Lines under the list that say the line under the cursor in full: as many as the longest takes, so that the list does
/// not move when the cursor does.
fn foot_lines(width: u16) -> u16 {
    if width < 80 { 4 } else { 3 }
}

/// The same at most, where what may run dry takes more.
const MOST_FOOT: u16 = 5;

/// One line, taken apart: the name may be cut, a fact stays whole or is left out, the last one first.
pub(super) struct Said {
    pub(super) name: String,
    pub(super) facts: Vec<String>,
    pub(super) style: Style,
    /// All of it in words.
    pub(super) tells: String,
}

impl TonightScreen {
    /// Draws the list, and below it the line under the cursor in words.
    pub fn draw(&mut self, frame: &mut Frame, area: Rect, scene: Scene) {
        let said_at_most = |row| text::wrap(&self.dry_line(row, scene).tells, usize::from(area.width)).len();
        let of_dry = self.rows.dry.iter().map(said_at_most).max().unwrap_or(0);
        let of_dry = u16::try_from(of_dry).unwrap_or(MOST_FOOT).min(MOST_FOOT);
        let foot = foot_lines(area.width).max(of_dry).min(area.height / 4);
        let [head, body, below] =
            Layout::vertical([Constraint::Length(1), Constraint::Fill(1), Constraint::Length(foot)]).areas(area);
        let day = say!("{day} so far", day = words::day(self.rows.day, "%A %-d %B"));
        let room = usize::from(head.width).saturating_sub(text::width(&day) + 2);
        frame.render_widget(self.last_copy(room, scene.theme), head);
        let said = Rect { width: u16::try_from(text::width(&day)).unwrap_or(head.width), ..head }.intersection(head);
        frame.render_widget(Span::styled(day, scene.theme.title), said);
        let timeless = |line: &Due| matches!(line, Due::Heading(Section::PastDate | Section::Till | Section::Low));
        let split = self.lines.iter().position(timeless);
        match split.filter(|_| area.width >= TWO_COLUMNS) {
            Some(split) => {
                let [left, _, right] =
                    Layout::horizontal([Constraint::Fill(1), Constraint::Length(3), Constraint::Fill(1)]).areas(body);
                let (mut window, mut beside) = (self.window, self.beside);
                self.list(frame, left, 0..split, &mut window, scene);
                self.list(frame, right, split..self.lines.len(), &mut beside, scene);
                // The offset of the left column only: its selection may lie in the right one.
                if self.window.selected() < split {
                    self.window = window;
                }
                self.beside = beside;
            }
            None => {
                let mut window = self.window;
                self.list(frame, body, 0..self.lines.len(), &mut window, scene);
                self.window = window;
            }
        }
        let tells = self.here().map_or_else(String::new, |due| self.said(due, scene).tells);
        let lines = text::wrap(&tells, usize::from(below.width));
        let lines: Vec<Line> = lines.into_iter().map(|line| Line::from(Span::styled(line, scene.theme.text))).collect();
        frame.render_widget(Paragraph::new(lines), below);
    }

    /// A stretch of the lines, scrolled to the cursor if it lies within.
    fn list(&self, frame: &mut Frame, area: Rect, part: Range<usize>, window: &mut Window, scene: Scene) {
        let len = part.len();
        let selected = self.window.selected();
        let inside = part.contains(&selected);
        window.select(if inside { selected - part.start } else { 0 }, len);
        let scrolls = len > usize::from(area.height) && area.height > 1;
        let rows = if scrolls { area.height - 1 } else { area.height };
        let shown = window.scroll(usize::from(rows.max(1)), len);
        let area = area.intersection(frame.area());
        if area.is_empty() {
            return;
        }
        let lines = self.lines.get(part.start + shown.start..part.start + shown.end).unwrap_or_default();
        let said: Vec<Said> = lines.iter().map(|due| self.said(due, scene)).collect();
        let mut widths = Vec::new();
        for (n, (due, at)) in lines.iter().zip(part.start + shown.start..).enumerate().take(rows.into()) {
            let place = Rect { y: area.y + u16::try_from(n).unwrap_or(rows), height: 1, ..area };
            if n == 0 || !due.rests() {
                widths = widest(&said, lines, n);
            }
            frame.render_widget(self.line(due, said.get(n), &widths, area.width, scene), place);
            if inside && at == selected {
                frame.buffer_mut().set_style(place, scene.theme.selected);
            }
        }
        if scrolls {
            let [above, below] = scene.theme.glyphs.more;
            let mark = |more: bool, glyph: char| if more { glyph } else { ' ' };
            let more = format!("{}{}", mark(shown.start > 0, above), mark(shown.end < len, below));
            let more = Line::from(Span::styled(more, scene.theme.muted)).right_aligned();
            frame.render_widget(more, Rect { y: area.bottom() - 1, height: 1, ..area });
        }
    }

    fn line(&self, due: &Due, said: Option<&Said>, widths: &[usize], width: u16, scene: Scene) -> Line<'static> {
        let cells = usize::from(width);
        let theme = scene.theme;
        match due {
            Due::Heading(section) => Line::from(Span::styled(text::fit(&self.heading(*section), cells), theme.title)),
            Due::Nothing(section) => {
                let nothing = match section {
                    Section::Deadlines => word!("  no supplier has a fixed deadline"),
                    Section::Deliveries => word!("  nothing is on its way"),
                    Section::Low if !self.setup.venue.rights.sees_stock() => {
                        word!("  not shown until the blind count is closed")
                    }
                    Section::Low if self.rows.working_out => word!("  what guests will ask is being worked out"),
                    Section::Low if !self.rows.low.is_empty() => word!("  nothing but what is likely to run dry"),
                    Section::Low => word!("  nothing has fallen to half its par"),
                    Section::Dry
                    | Section::Count
                    | Section::Till
                    | Section::PastDate
                    | Section::Files
                    | Section::Copies
                    | Section::Claims => word!("  nothing"),
                };
                Line::from(Span::styled(text::fit(nothing, cells), theme.muted))
            }
            _ => said.map_or_else(Line::default, |said| said_line(said, widths, cells, theme)),
        }
    }

    fn heading(&self, section: Section) -> String {
        match section {
            Section::Count => word!("Closing count").to_owned(),
            Section::Deadlines => word!("Order before").to_owned(),
            Section::Deliveries => word!("Deliveries expected").to_owned(),
            Section::Claims => word!("To claim from suppliers").to_owned(),
            Section::Copies => word!("Copies of the book").to_owned(),
            Section::Files => word!("New in the watched folder").to_owned(),
            Section::Dry => match self.rows.dry.len() {
                1 => word!("Likely to run dry before more of it comes").to_owned(),
                n => say!("Likely to run dry before more of it comes: {n}", n),
            },
            Section::Low => match (super::dry::low_besides(&self.rows).count(), self.rows.dry.is_empty()) {
                (0, _) => word!("Running low").to_owned(),
                (n, true) => say!("Running low: {n} at half their par or less", n),
                (n, false) => say!("Running low: {n} more at half their par or less", n),
            },
            Section::PastDate => word!("Past their date, by your setting").to_owned(),
            Section::Till => match self.rows.unmapped.len() {
                1 => word!("Till names: one means nothing yet").to_owned(),
                n => say!("Till names: {n} mean nothing yet", n),
            },
        }
    }

    fn said(&self, due: &Due, scene: Scene) -> Said {
        let said = match due {
            Due::Dry(item) => self.dry(*item).map(|row| self.dry_line(row, scene)),
            Due::MoreDry(more) => Some(super::dry::more_line(*more, self.all_dry, scene.theme)),
            Due::OpenCount(_) => self.open_count(scene.theme),
            Due::Counted(counted) => Some(counted_line(*counted, !self.setup.places.is_empty(), scene.theme)),
            Due::Place(place) => {
                let last = self.rows.places.iter().find(|(id, _)| id == place).and_then(|(_, at)| *at);
                let name = text::safe(self.setup.place_name(*place));
                let when = last.map_or(word!("never counted").to_owned(), |at| self.setup.venue.days.short(at));
                let tells = match last {
                    Some(at) => say!("{name} was last counted {at}.", name, at = self.setup.venue.days.short(at)),
                    None => say!("{name} was never counted: nothing is known of what stands there.", name),
                };
                Some(Said { name, facts: vec![when], style: scene.theme.text, tells })
            }
            Due::Deadline(supplier) => self.deadline(*supplier).map(|row| self.deadline_line(row, scene)),
            Due::Delivery(order) => self.delivery(*order).map(|row| self.delivery_line(row, scene.theme)),
            Due::File(path) => self.file(path).map(|file| file_line(file, scene.theme)),
            Due::Claims(supplier) => {
                self.rows.claims.iter().find(|row| row.supplier == *supplier).map(|row| self.claims_line(row, scene))
            }
            Due::NoFolder => Some(Said {
                name: word!("The watched folder cannot be looked into").to_owned(),
                facts: Vec::new(),
                style: scene.theme.warning,
                tells: text::safe(self.no_folder.as_deref().unwrap_or_default()),
            }),
            Due::Copies => self.copies_line(scene.theme),
            Due::PastDate(item, made) => {
                let row = self.past_date(*item, *made).zip(self.setup.item(*item));
                row.map(|(row, item)| self.past_line(row, item, scene.theme))
            }
            Due::Low(item) => {
                self.low(*item).zip(self.setup.item(*item)).map(|(row, item)| self.low_line(row, item, scene.theme))
            }
            Due::Till(name) => self.till(name).map(|sold| self.till_line(name, sold, scene.theme)),
            Due::Heading(_) | Due::Nothing(_) => None,
        };
        said.unwrap_or_else(|| Said {
            name: String::new(),
            facts: Vec::new(),
            style: scene.theme.text,
            tells: String::new(),
        })
    }

    fn open_count(&self, theme: &Theme) -> Option<Said> {
        let (count, progress) = self.rows.open_count.as_ref()?;
        let name = text::safe(&count.name);
        let done = say!("{done} of {progress} lines", done = progress.done, progress = progress.of);
        let since = self.setup.venue.days.clock(count.opened);
        let tells = say!(
            "“{name}” was begun at {since}, {done} are entered; all of them are kept. Enter goes on with it.",
            name,
            since,
            done
        );
        Some(Said {
            name: say!("Begun: {name}", name),
            facts: vec![done, say!("since {since}", since)],
            style: theme.warning,
            tells,
        })
    }

    fn deadline_line(&self, row: &DeadlineRow, scene: Scene) -> Said {
        let venue = &self.setup.venue;
        let show = venue.show();
        let supplier = self.setup.supplier(row.supplier).map_or("?", |s| &s.name);
        let name = text::safe(supplier);
        let left = time_left(row.by, scene.now, &venue.days);
        let money = |m: Money| format!("{} {}", show.money(m), show.currency);
        let mut facts = vec![left.clone()];
        let comes = words::day(row.comes, "%a %-d %b");
        let mut tells = say!(
            "Order from {name} before {by} ({left}); it comes {comes}. ",
            name,
            by = venue.days.short(row.by),
            left,
            comes
        );
        match row.order {
            None => facts.push(word!("being worked out").to_owned()),
            Some(DeadlineOrder { lines: 0, .. }) => {
                facts.push(word!("nothing to order").to_owned());
                tells.push_str(word!("Nothing of theirs is below par."));
            }
            Some(DeadlineOrder { lines, totals }) => {
                let lines = number_of(lines, word!("line"), word!("lines"));
                if show.hides_money {
                    facts.push(say!("{lines} to order", lines));
                    tells.push_str(&say!("{lines} to order, which a manager does.", lines));
                    return Said { name, facts, style: soon(row, scene), tells };
                }
                facts.push(format!("{lines}, {}", money(totals.goods + totals.fee)));
                tells.push_str(&say!("{lines} to order, {goods}", lines, goods = money(totals.goods)));
                if totals.fee > Money::ZERO {
                    tells.push_str(&say!(" and {fee} for the delivery", fee = money(totals.fee)));
                }
                if totals.to_minimum > Money::ZERO {
                    facts.push(say!("{to_minimum} to the minimum", to_minimum = show.money(totals.to_minimum)));
                    tells.push_str(&say!(
                        "; {to_minimum} are missing to their minimum",
                        to_minimum = money(totals.to_minimum)
                    ));
                }
                tells.push('.');
            }
        }
        Said { name, facts, style: soon(row, scene), tells }
    }

    fn delivery_line(&self, row: &ExpectedRow, theme: &Theme) -> Said {
        let name = text::safe(self.setup.supplier(row.supplier).map_or("?", |s| &s.name));
        let order = text::safe(&row.name);
        let date = row.expected.map(|date| words::day(date, "%a %-d %b"));
        let lines = number_of(row.lines, word!("line"), word!("lines"));
        let when = match (&date, row.late) {
            (Some(date), true) => say!("LATE, due {date}", date),
            (Some(date), false) => date.clone(),
            (None, _) => word!("no date").to_owned(),
        };
        let tells = match (&date, row.late) {
            (Some(date), true) => say!(
                "Order “{order}” of {lines} should have come {date} and is not booked. Ask {name}, or Enter books it in.",
                order,
                lines,
                date,
                name
            ),
            (Some(date), false) => say!(
                "Order “{order}” of {lines} from {name} comes {date}. Enter checks it in.",
                order,
                lines,
                name,
                date
            ),
            (None, _) => say!(
                "Order “{order}” of {lines} is with {name}; no date is known. Enter checks it in.",
                order,
                lines,
                name
            ),
        };
        let style = if row.late { theme.warning } else { theme.text };
        Said { name, facts: vec![when, lines, order], style, tells }
    }

    fn claims_line(&self, row: &ClaimsRow, scene: Scene) -> Said {
        let show = self.setup.venue.show();
        let name = text::safe(self.setup.supplier(row.supplier).map_or("?", |s| &s.name));
        let money = format!("{} {}", show.money(row.money), show.currency);
        let claims = number_of(row.claims, word!("difference"), word!("differences"));
        let since = self.setup.venue.days.short(row.since);
        let tells = say!(
            "{claims} with bills of {name}, {money} without tax, the oldest since {since}. Enter lists them, where each \
             can be settled.",
            claims,
            name,
            money,
            since
        );
        Said { name, facts: vec![money, claims], style: scene.theme.text, tells }
    }

    fn low_line(&self, row: &LowRow, item: &Item, theme: &Theme) -> Said {
        let show = self.setup.venue.show();
        let name = text::safe(&item.name);
        let containers = |amount| show.containers(amount, item.size);
        let (there, par) = (containers(row.on_hand.amount), containers(row.par));
        let (mut coming, mut made) = (String::new(), String::new());
        let mut tells = say!(
            "{name}: {there} of {par} containers should be left ({on_hand} of {par_2})",
            name,
            there,
            par,
            on_hand = show.amount(item.basis, row.on_hand.amount),
            par_2 = show.amount(item.basis, row.par)
        );
        if row.on_hand.amount.0 < 0 {
            tells.push_str(word!("; below nothing, so more was sold or written off than was counted: count it"));
        }
        if row.on_order.0 > 0 {
            coming = say!("{on_order} on order", on_order = containers(row.on_order));
            tells.push_str(&say!(", {on_order} on order", on_order = containers(row.on_order)));
        }
        if row.made_here {
            made = word!("made here").to_owned();
            tells.push_str(word!(". It is made here: a new batch is due, not an order"));
        } else if row.on_order.0 == 0 {
            tells.push_str(word!(", none on order"));
        }
        tells.push('.');
        let of_par = level(row.on_hand.amount.per(row.par) * 10.0, theme).to_string();
        let facts = vec![say!("{there} of {par}", there, par), coming, made, of_par];
        Said { name, facts, style: theme.text, tells }
    }

    fn past_line(&self, row: &PastDateRow, item: &Item, theme: &Theme) -> Said {
        let name = text::safe(&item.name);
        let (made, use_by) = (words::day(row.made, "%a %-d %b"), words::day(row.use_by, "%a %-d %b"));
        let left = row.left.map(|left| self.setup.venue.show().amount(item.basis, left));
        let there = left.as_ref().map_or(word!("perhaps some").to_owned(), |left| say!("{left} left", left));
        let tells = say!(
            "{name} of {made} kept until {use_by} by your setting; {there}. Look at it, and follow your own food-safety \
             plan and local code; Enter goes to it, where it can be written off.",
            name,
            made,
            use_by,
            there
        );
        Said {
            name,
            facts: vec![there, say!("until {use_by}", use_by), say!("made {made}", made)],
            style: theme.warning,
            tells,
        }
    }

    fn till_line(&self, name: &str, sold: &Unmapped, theme: &Theme) -> Said {
        let show = self.setup.venue.show();
        let name = text::safe(name);
        let times = decimal::shown(sold.quantity, 3);
        let net = say!("{net} {currency} net", net = show.money(sold.net), currency = show.currency);
        let tells = say!(
            "“{name}” was sold {times} times in four weeks, {net}. No drink is behind it yet, so the variance cannot \
             know what these sales took from which bottle.",
            name,
            times,
            net
        );
        Said {
            name: words::quoted(name),
            facts: vec![say!("sold {times} times", times), net],
            style: theme.text,
            tells,
        }
    }
}

fn file_line(file: &OfferedFile, theme: &Theme) -> Said {
    let name = text::safe(&file.name);
    let what = text::safe(&file.what);
    let does =
        if file.sales { word!("shows what it would bring in") } else { word!("shows it beside what was ordered") };
    let tells = say!("“{name}”: {what}. Enter {does}; nothing is booked before you say so.", name, what, does);
    Said { name, facts: vec![what], style: theme.text, tells }
}

fn counted_line(counted: bool, any_place: bool, theme: &Theme) -> Said {
    if counted {
        return Said {
            name: say!("{done} Counted for this business day", done = theme.glyphs.done),
            facts: Vec::new(),
            style: theme.good,
            tells: word!("This business day was counted. Enter goes to the counts, to count something again.")
                .to_owned(),
        };
    }
    Said {
        name: word!("Not counted yet for this business day").to_owned(),
        facts: vec![word!("last counted:").to_owned()],
        style: theme.warning,
        tells: match any_place {
            true => word!("Nothing was counted for this business day yet. Enter chooses what to walk along."),
            false => word!(
                "There is no place to count yet: B, then s, takes one in (a on Places). Then C counts it, and takes its bottles in."
            ),
        }
        .to_owned(),
    }
}

/// Loud where something is to be ordered within a day.
fn soon(row: &DeadlineRow, scene: Scene) -> Style {
    let soon = row.order.is_some_and(|order| order.lines > 0) && row.by.since(scene.now) < 24 * HOUR;
    if soon { scene.theme.warning } else { scene.theme.text }
}

/// The widths of the facts in view of the section that begins at, or goes on from, line `from`.
fn widest(said: &[Said], lines: &[Due], from: usize) -> Vec<usize> {
    let mut widths: Vec<usize> = Vec::new();
    let section = lines.iter().zip(said).skip(from);
    for (_, (_, said)) in section.enumerate().take_while(|(n, (due, _))| *n == 0 || due.rests()) {
        for (at, fact) in said.facts.iter().enumerate() {
            match widths.get_mut(at) {
                Some(width) => *width = (*width).max(text::width(fact)),
                None => widths.push(text::width(fact)),
            }
        }
    }
    widths
}

/// The name to the left, as many facts as fit to the right of it, one below the other in columns of these widths.
fn said_line(said: &Said, widths: &[usize], cells: usize, theme: &Theme) -> Line<'static> {
    let room = cells.saturating_sub(2);
    let taken =
        |facts: usize| widths.iter().take(facts).filter(|width| **width > 0).map(|width| width + 2).sum::<usize>();
    let mut kept = widths.len();
    while kept > 0 && taken(kept) + NAME > room {
        kept -= 1;
    }
    let mut facts = String::new();
    for (n, width) in widths.iter().take(kept).enumerate().filter(|(_, width)| **width > 0) {
        let fact = said.facts.get(n).map_or("", String::as_str);
        // The first is mostly a figure or a time.
        let fact = if n == 0 { text::pad_left(fact, *width) } else { text::pad_right(fact, *width) };
        facts.push_str("  ");
        facts.push_str(&fact);
    }
    let name = text::pad_right(&said.name, room.saturating_sub(text::width(&facts)));
    Line::from(vec![Span::raw("  "), Span::styled(name, said.style), Span::styled(facts, theme.text)])
}

const MINUTE: i64 = 60_000;
const HOUR: i64 = 60 * MINUTE;

/// How long there is still time, in words: hours and minutes up to eighteen hours, then the day and the hour.
fn time_left(by: Moment, now: Moment, days: &DayRule) -> String {
    let left = by.since(now);
    if left <= 0 {
        return word!("past").to_owned();
    }
    if left < MINUTE {
        return word!("less than a minute left").to_owned();
    }
    if left < 18 * HOUR {
        let (hours, minutes) = (left / HOUR, left % HOUR / MINUTE);
        return match (hours, minutes) {
            (0, minutes) => say!("{minutes} min left", minutes),
            (hours, 0) => say!("{hours} h left", hours),
            (hours, minutes) => say!("{hours} h {minutes} min left", hours, minutes),
        };
    }
    let date = |at: Moment| at.to_utc().map(|utc| utc.with_timezone(&days.zone).date_naive());
    let (Some(due), Some(today)) = (date(by), date(now)) else { return String::new() };
    let clock = days.clock(by);
    // After midnight and before the day begins, people disagree about what "tomorrow" is: then the weekday says it.
    let same_evening = days.day_of(now) == today;
    match due.signed_duration_since(today).num_days() {
        1 if same_evening => say!("tomorrow {clock}", clock),
        0..=6 => format!("{} {clock}", weekday(due)),
        _ => format!("{} {clock}", words::day(due, "%-d %b")),
    }
}

fn weekday(date: NaiveDate) -> String {
    words::day(date, "%a")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tui::screen::fixture::{at, bar};

    #[test]
    fn the_time_left_in_words() {
        let days = bar().venue.days;
        for (now, by, want) in [
            ("2026-11-23 11:50", "2026-11-23 14:00", "2 h 10 min left"),
            ("2026-11-23 13:15", "2026-11-23 14:00", "45 min left"),
            ("2026-11-23 11:00", "2026-11-23 14:00", "3 h left"),
            ("2026-11-23 13:59:30", "2026-11-23 14:00", "less than a minute left"),
            ("2026-11-23 14:00", "2026-11-23 14:00", "past"),
            ("2026-11-22 19:00", "2026-11-23 14:00", "tomorrow 14:00"),
            // At half past one on Sunday it is still Saturday evening behind the bar.
            ("2026-11-22 01:30", "2026-11-23 14:00", "Mon 14:00"),
            ("2026-11-22 19:00", "2026-11-26 14:00", "Thu 14:00"),
            ("2026-11-22 19:00", "2026-12-03 14:00", "3 Dec 14:00"),
            // Berlin turns the clock back in this night: it is an hour longer than the wall clock says.
            ("2026-10-24 23:00", "2026-10-25 14:00", "16 h left"),
        ] {
            assert_eq!(time_left(at(by), at(now), &days), want, "{now} to {by}");
        }
    }
}
