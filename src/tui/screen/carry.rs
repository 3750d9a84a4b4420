//! What to carry up before service: booked line by line or all at once, and taken back.

use super::{Effect, Scene};
use crate::domain::ledger::Transfer;
use crate::domain::measure::{Amount, decimal, number_of};
use crate::domain::order::Carry;
use crate::domain::rows::{CarryView, from_words};
use crate::domain::venue::{ItemId, PlaceId, Seq};
use crate::tui::keymap::Action;
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::columns::{self, Column, Row, Width};
use crate::tui::widget::notice::Notice;
use crate::tui::widget::window::Window;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;
use std::collections::{HashMap, HashSet};

const COLUMNS: &[Column] = &[
    Column::words(text!("item"), Width::Flex(20), 0),
    Column::figures(text!("there"), 5, 3),
    Column::figures(text!("par"), 5, 2),
    Column::figures(text!("carry"), 5, 0),
    Column::words(text!("from"), Width::Flex(22), 0),
];

/// A line of the page.
#[derive(Clone, Debug, PartialEq, Eq)]
enum At {
    /// What the lines below have in common.
    Heading(String),
    /// To be carried: what, and where to.
    Carry(ItemId, PlaceId),
    /// Missing, and nowhere to be had.
    Lacking(ItemId, PlaceId),
    /// Carried already.
    Carried(Seq),
}

/// The page, over the stock.
#[derive(Debug)]
pub(crate) struct CarryPage {
    view: CarryView,
    lines: Vec<At>,
    window: Window,
    /// Containers by which fewer are carried of a line than the list says.
    fewer: HashMap<(ItemId, PlaceId), i64>,
}

impl CarryPage {
    pub(crate) fn new(view: CarryView) -> CarryPage {
        let lines = lines(&view);
        let mut page = CarryPage { view, lines, window: Window::default(), fewer: HashMap::new() };
        page.settle();
        page
    }

    /// Takes a fresh list; the cursor stays on the same line, or where it was once that is done.
    pub(crate) fn refresh(&mut self, view: CarryView) {
        let here = self.here().cloned();
        self.view = view;
        self.lines = lines(&self.view);
        if let Some(at) = here.and_then(|here| self.lines.iter().position(|line| *line == here)) {
            self.window.select(at, self.lines.len());
        }
        // A line that is booked, or of which less is to be carried by now, is a line of its own again.
        let view = &self.view;
        self.fewer.retain(|(item, to), fewer| {
            view.list.iter().any(|carry| (carry.item, carry.to) == (*item, *to) && carry.containers() >= *fewer)
        });
        self.settle();
    }

    fn settle(&mut self) {
        let lines = &self.lines;
        self.window.settle(true, lines.len(), |at| lines.get(at).is_some_and(rests));
    }

    fn here(&self) -> Option<&At> {
        self.lines.get(self.window.selected())
    }

    fn line(&self, item: ItemId, to: PlaceId) -> Option<&Carry> {
        self.view.list.iter().find(|carry| (carry.item, carry.to) == (item, to))
    }

    /// A line as it is to be booked: the last places give less first.
    fn meant(&self, carry: &Carry) -> Carry {
        let mut fewer = self.fewer.get(&(carry.item, carry.to)).copied().unwrap_or(0);
        let mut out = carry.clone();
        for (_, containers) in out.from.iter_mut().rev() {
            let less = fewer.min(*containers);
            *containers -= less;
            fewer -= less;
        }
        out
    }

    /// What an action asks for; none if it closes the page.
    pub(crate) fn update(&mut self, action: Action) -> Option<Effect> {
        Some(match action {
            Action::Back => return None,
            Action::Accept => self.book(),
            Action::BookAll => self.book_all(),
            Action::Undo => self.take_back(),
            Action::OneMore | Action::OneLess => self.change(if action == Action::OneLess { 1 } else { -1 }),
            _ => {
                let lines = &self.lines;
                self.window.apply_past(action, lines.len(), |at| lines.get(at).is_some_and(rests));
                Effect::None
            }
        })
    }

    fn change(&mut self, fewer: i64) -> Effect {
        let Some(At::Carry(item, to)) = self.here().cloned() else { return say_nothing() };
        let most = self.line(item, to).map_or(0, Carry::containers);
        let now = self.fewer.get(&(item, to)).copied().unwrap_or(0) + fewer;
        if now < 0 {
            return Effect::Say(Notice::info(word!(
                "it is full with that; what is carried besides is a count's to find"
            )));
        }
        self.fewer.insert((item, to), now.min(most));
        Effect::None
    }

    fn book(&self) -> Effect {
        let Some(At::Carry(item, to)) = self.here() else { return say_nothing() };
        match self.line(*item, *to).map(|carry| self.meant(carry)) {
            Some(carry) if carry.containers() > 0 => Effect::BookCarried(vec![carry]),
            _ => Effect::Say(Notice::info(word!("none of it is carried: + carries one more"))),
        }
    }

    fn book_all(&self) -> Effect {
        let all: Vec<Carry> =
            self.view.list.iter().map(|carry| self.meant(carry)).filter(|carry| carry.containers() > 0).collect();
        if all.is_empty() {
            return Effect::Say(Notice::info(word!("nothing is to be carried")));
        }
        let containers: i64 = all.iter().map(Carry::containers).sum();
        let places = all.iter().map(|carry| carry.to).collect::<HashSet<PlaceId>>().len();
        Effect::ask(
            say!(
                "Was all of it carried? {containers} in {all}, to {places}. Each line is booked by itself and can be taken back.",
                containers = number_of(containers, word!("container"), word!("containers")),
                all = number_of(all.len(), word!("line"), word!("lines")),
                places = number_of(places, word!("place"), word!("places"))
            ),
            word!("books all of it"),
            word!("books nothing"),
            Effect::BookCarried(all),
        )
    }

    /// Takes the booking under the cursor back, else the newest.
    fn take_back(&self) -> Effect {
        let transfer = match self.here() {
            Some(At::Carried(seq)) => self.view.carried.iter().find(|transfer| transfer.seq == *seq),
            _ => self.view.carried.first(),
        };
        let Some(transfer) = transfer else {
            return Effect::Say(Notice::info(word!("nothing was carried on this business day")));
        };
        let setup = &self.view.setup;
        Effect::ask(
            say!(
                "Take back {containers} {transfer}, booked as carried from {from} to {to} at {transfer_2}? The journal keeps both.",
                containers = decimal::shown(transfer.containers.0, 3),
                transfer = text::safe(setup.item_name(transfer.item)),
                from = text::safe(setup.place_name(transfer.from)),
                to = text::safe(setup.place_name(transfer.to)),
                transfer_2 = setup.venue.days.clock(transfer.at)
            ),
            word!("takes it back"),
            word!("leaves it"),
            Effect::TakeBackCarried(transfer.seq),
        )
    }

    pub(crate) fn draw(&mut self, frame: &mut Frame, area: Rect, scene: Scene) {
        let foot = if area.height > 6 { 2 } else { 0 };
        let [head, body, below] =
            Layout::vertical([Constraint::Length(1), Constraint::Fill(1), Constraint::Length(foot)]).areas(area);
        let containers: i64 = self.view.list.iter().map(|carry| self.meant(carry).containers()).sum();
        let title = match containers {
            0 => word!("Carry up before service").to_owned(),
            n => say!("Carry up before service: {n}", n = number_of(n, word!("container"), word!("containers"))),
        };
        frame.render_widget(Span::styled(text::fit(&title, head.width.into()), scene.theme.title), head);
        if self.lines.is_empty() {
            let nothing = text::wrap(self.view.nothing_words(), body.width.into());
            frame.render_widget(Paragraph::new(nothing.into_iter().map(Line::from).collect::<Vec<_>>()), body);
            return;
        }
        let mut window = self.window;
        let row = |at: usize| self.row(&self.lines[at], scene.theme);
        columns::draw(frame, body, COLUMNS, self.lines.len(), &mut window, row, scene.theme);
        self.window = window;
        let said = text::wrap(&self.tells(), below.width.into());
        let said: Vec<Line> = said.into_iter().map(|line| Line::from(Span::styled(line, scene.theme.text))).collect();
        frame.render_widget(Paragraph::new(said), below);
    }

    fn row(&self, line: &At, theme: &Theme) -> Row {
        let setup = &self.view.setup;
        match line {
            At::Heading(title) => Row::Heading(Line::from(Span::styled(text::safe(title), theme.title))),
            At::Carry(item, to) | At::Lacking(item, to) => {
                let Some(carry) = self.line(*item, *to) else { return Row::Cells(Vec::new()) };
                let size = setup.item(*item).map_or(Amount::ZERO, |item| item.size);
                let figure = |amount| Line::from(setup.venue.show().containers(amount, size));
                let as_meant = self.meant(carry);
                let meant = as_meant.containers();
                let changed = if meant == carry.containers() { "" } else { "*" };
                let style = if meant > 0 { theme.title } else { theme.text };
                let many = if carry.containers() == 0 { String::new() } else { format!("{changed}{meant}") };
                let from = match line {
                    At::Lacking(..) => say!("{lacking} to {to}", lacking = carry.lacking, to = setup.place_name(*to)),
                    _ => from_words(setup, &as_meant),
                };
                Row::Cells(vec![
                    Line::from(text::safe(setup.item_name(*item))),
                    figure(carry.there),
                    figure(carry.par),
                    Line::from(Span::styled(many, style)),
                    Line::from(text::safe(&from)),
                ])
            }
            At::Carried(seq) => {
                let Some(transfer) = self.view.carried.iter().find(|transfer| transfer.seq == *seq) else {
                    return Row::Cells(Vec::new());
                };
                Row::Cells(vec![
                    Line::from(text::safe(setup.item_name(transfer.item))),
                    Line::from(""),
                    Line::from(""),
                    Line::from(decimal::shown(transfer.containers.0, 3)),
                    Line::from(text::safe(&self.moved(transfer))),
                ])
            }
        }
    }

    /// From where to where, when, and by whom: `Cellar to Rail 17:20 OM`.
    fn moved(&self, transfer: &Transfer) -> String {
        let setup = &self.view.setup;
        let (from, to) = (setup.place_name(transfer.from), setup.place_name(transfer.to));
        let by = transfer.by.as_deref().map_or(String::new(), |by| format!(" {by}"));
        say!("{from} to {to} {transfer}{by}", from, to, transfer = setup.venue.days.clock(transfer.at), by)
    }

    /// The line under the cursor in words, for windows that have cut it.
    fn tells(&self) -> String {
        let setup = &self.view.setup;
        let said = match self.here() {
            Some(At::Carry(item, to) | At::Lacking(item, to)) => self.line(*item, *to).map(|carry| {
                let size = setup.item(*item).map_or(Amount::ZERO, |item| item.size);
                let (show, meant) = (setup.venue.show(), self.meant(carry));
                say!(
                    "{item}: {there} of {par} in {to}; carry {from}",
                    item = setup.item_name(*item),
                    there = show.containers(carry.there, size),
                    par = show.containers(carry.par, size),
                    to = setup.place_name(*to),
                    from = match (meant.containers(), from_words(setup, &meant)) {
                        (0, from) if from.is_empty() => word!("carry" => "none").to_owned(),
                        (0, from) => say!("none: {from}", from),
                        (meant, from) => say!("{meant} from {from}", meant, from),
                    }
                )
            }),
            Some(At::Carried(seq)) => {
                let transfer = self.view.carried.iter().find(|transfer| transfer.seq == *seq);
                transfer.map(|t| say!("{t}: carried, {t_2}", t = setup.item_name(t.item), t_2 = self.moved(t)))
            }
            Some(At::Heading(_)) | None => None,
        };
        said.map_or(String::new(), |said| text::sentence(&text::safe(&said)))
    }
}

fn rests(line: &At) -> bool {
    !matches!(line, At::Heading(_))
}

fn say_nothing() -> Effect {
    Effect::Say(Notice::info(word!("there is nothing to carry on this line")))
}

/// What is to be carried, place by place as they are walked; then what is nowhere to be had, and what was carried.
fn lines(view: &CarryView) -> Vec<At> {
    let mut out = Vec::new();
    let mut to = None;
    for carry in view.list.iter().filter(|carry| carry.containers() > 0) {
        if to.replace(carry.to) != Some(carry.to) {
            out.push(At::Heading(say!("To {to}", to = view.setup.place_name(carry.to))));
        }
        out.push(At::Carry(carry.item, carry.to));
    }
    let mut part = |title: &str, lines: Vec<At>| {
        if !lines.is_empty() {
            out.push(At::Heading(title.to_owned()));
            out.extend(lines);
        }
    };
    let lacking = view.list.iter().filter(|carry| carry.containers() == 0);
    part(word!("Missing, and nowhere to be had"), lacking.map(|carry| At::Lacking(carry.item, carry.to)).collect());
    part(
        word!("Carried on this business day"),
        view.carried.iter().map(|transfer| At::Carried(transfer.seq)).collect(),
    );
    out
}

#[cfg(test)]
mod tests;
