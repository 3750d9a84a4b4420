//! Drawing the Orders screen.

use super::{OrdersScreen, aside, count, ordered};
use crate::domain::ledger::Order;
use crate::domain::measure::{Amount, Money};
use crate::domain::order::DraftLine;
use crate::domain::rows::{DraftView, filled_up_words, mixed_words, unproved_words};
use crate::domain::venue::SupplierId;
use crate::tui::screen::{Scene, containers_with_u, fitting, when};
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::columns::{self, Column, Row, Width};
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::{Clear, Paragraph};

/// The column that is typed in.
const PACKS: usize = 6;

const COLUMNS: &[Column] = &[
    Column::words("", Width::Fixed(1), 0),
    Column::words(text!("item"), Width::Flex(14), 0),
    Column::figures(text!("on hand"), 10, 2),
    Column::figures(text!("coming"), 6, 4),
    Column::figures(text!("par"), 5, 3),
    Column::figures(text!("sugg."), 5, 6),
    Column::figures(text!("packs"), 6, 0),
    Column::figures(text!("in each"), 7, 1),
    Column::figures(text!("pack at"), 7, 5),
    Column::figures(text!("total"), 8, 1),
    Column::words("", Width::Fixed(22), 7),
];

impl OrdersScreen {
    /// Draws the suppliers, the draft of the current one, and what the line under the cursor means.
    pub fn draw(&mut self, frame: &mut Frame, area: Rect, scene: Scene) {
        if self.why.is_some() {
            return self.draw_why(frame, area, scene);
        }
        let (wide, len, theme) = (usize::from(area.width), self.len(), scene.theme);
        let said = self.head(wide, scene);
        let tall = u16::try_from(said.len()).unwrap_or(u16::MAX);
        let [head, body, foot] =
            Layout::vertical([Constraint::Length(tall), Constraint::Fill(1), Constraint::Length(2)]).areas(area);
        frame.render_widget(Paragraph::new(said), head);
        frame.render_widget(Paragraph::new(self.foot(wide, scene)), foot);
        self.draw_budget_entry(frame, foot, theme);
        if len == 0 {
            frame.render_widget(Paragraph::new(self.nothing()), body);
            return;
        }
        let mut window = std::mem::take(&mut self.window);
        if self.current().is_some() {
            let typing_at = self.entry.is_some().then_some(window.selected());
            let row = |at: usize| self.row(at, Some(at) == typing_at, theme);
            let cells = columns::draw(frame, body, COLUMNS, len, &mut window, row, theme);
            if let (Some((_, field)), Some(Some(cell))) = (&self.entry, cells.get(PACKS)) {
                frame.render_widget(Clear, *cell);
                field.draw(frame, *cell, true, theme);
            }
        } else {
            let row = |at: usize| aside::row(&self.aside[at], &self.setup, &self.view, scene.now, theme);
            columns::draw(frame, body, aside::COLUMNS, len, &mut window, row, theme);
        }
        self.window = window;
    }

    fn head(&self, wide: usize, scene: Scene) -> Vec<Line<'static>> {
        let theme = scene.theme;
        let mut entries: Vec<Vec<String>> = self.view.drafts.iter().map(|view| self.entry_of(view, scene)).collect();
        entries.push(vec![
            say!("Not ordered here {aside}", aside = aside::number(&self.aside)),
            word!("Not ordered").to_owned(),
        ]);
        let mut out = vec![fitting::strip(&entries, self.page, wide, theme)];
        let show = self.setup.venue.show();
        let Some(view) = self.current() else {
            let title = Span::styled(word!("What no draft above takes care of, and what is to come"), theme.title);
            let units = Span::styled(word!("figures: containers"), theme.muted);
            out.push(fitting::line([title, units], wide));
            if self.view.drafts.is_empty() {
                out.push(Line::from(word!(
                    "No supplier is in the book yet: P takes one in (a), and so does the price of an item (S, then e)"
                )));
            }
            let all = say!("all orders together {paid}", paid = show.coin(self.view.paid(&self.setup)));
            out.push(self.budget_line(wide, theme).unwrap_or_else(|| Line::from(all)));
            let unproved = unproved_words(show, self.view.at_most_cheaper).unwrap_or_default();
            out.extend(text::wrap(&unproved, wide).into_iter().map(Line::from));
            return out;
        };
        let state = match view.order {
            Some(_) => Span::raw(say!("draft kept as “{name}”", name = text::safe(&view.name))),
            None => match self.coming_from(view) {
                Some(order) => Span::styled(
                    say!("nothing more to order; “{order}” is on its way (R)", order = text::safe(&order.name)),
                    theme.good,
                ),
                None => Span::styled(word!("as suggested, nothing changed"), theme.muted),
            },
        };
        let units = Span::styled(word!("on hand, coming, par: containers"), theme.muted);
        out.push(fitting::line([Span::styled(text::safe(self.supplier_name()), theme.title), state, units], wide));
        out.push(self.times(view, wide, scene));
        out.push(self.sums(view, wide, theme));
        out.extend(self.budget_line(wide, theme));
        if let Some(filled_up) = view.draft.filled_up(&self.setup) {
            out.push(Line::from(text::fit(&filled_up_words(show, filled_up), wide)));
        }
        for filled in view.draft.mixed_cases() {
            let style = if filled.missing() > 0 { theme.warning } else { theme.text };
            out.push(Line::from(Span::styled(text::fit(&text::safe(&mixed_words(&filled)), wide), style)));
        }
        out.extend(self.late(view, wide, scene));
        out
    }

    /// What is on its way from the supplier, where nothing more is to be ordered there; the first that comes.
    fn coming_from(&self, view: &DraftView) -> Option<&Order> {
        let sent = self.view.sent.iter().filter(|order| order.supplier == view.draft.supplier);
        sent.min_by_key(|order| order.expected).filter(|_| ordered(&view.draft) == 0)
    }

    /// That orders to the supplier are late; nothing where none is.
    fn late(&self, view: &DraftView, wide: usize, scene: Scene) -> Option<Line<'static>> {
        let mut late = self.late_of(view.draft.supplier, scene);
        late.sort_by_key(|order| order.expected);
        let oldest = late.first()?;
        let due = when::day(scene.now, oldest.expected?, &self.setup.venue.days);
        let words = match late.len() {
            1 => say!("LATE: “{oldest}” should have come {due}; ask for it", oldest = text::safe(&oldest.name), due),
            n => say!("LATE: {n} orders, the oldest should have come {due}; ask for them", n, due),
        };
        Some(Line::from(Span::styled(text::fit(&words, wide), scene.theme.warning)))
    }

    fn late_of(&self, supplier: SupplierId, scene: Scene) -> Vec<&Order> {
        let of_supplier = self.view.sent.iter().filter(|order| order.supplier == supplier);
        of_supplier.filter(|order| aside::is_late(order, &self.setup, scene.now)).collect()
    }

    /// A supplier in the strip, from in full down to the bare name.
    fn entry_of(&self, view: &DraftView, scene: Scene) -> Vec<String> {
        let name = self.setup.supplier(view.draft.supplier).map_or("?", |s| &s.name);
        let name = text::fit(&text::safe(name), 16);
        let lines = ordered(&view.draft);
        let total = self.setup.venue.show().money(view.draft.totals(&self.setup).goods);
        let days = &self.setup.venue.days;
        let left =
            view.draft.deadline.map_or(word!("no deadline").to_owned(), |d| when::time_left(scene.now, d.by, days));
        let (late, short) = match self.late_of(view.draft.supplier, scene).len() {
            0 => (String::new(), ""),
            late => (say!(", {late} late", late), word!(", late")),
        };
        vec![
            format!("{name}: {}, {total}, {left}{late}", count(lines)),
            format!("{name}: {lines}, {total}, {left}{late}"),
            format!("{name}: {lines}, {left}{late}"),
            format!("{name} {lines}{short}"),
            format!("{} {lines}{short}", text::fit(&name, 8)),
        ]
    }

    fn times(&self, view: &DraftView, wide: usize, scene: Scene) -> Line<'static> {
        let days = &self.setup.venue.days;
        let Some(deadline) = view.draft.deadline else {
            return Line::from(Span::styled(word!("no fixed days: order whenever you like"), scene.theme.muted));
        };
        let passed = deadline.by <= scene.now;
        let by = say!("order by {by}", by = when::deadline(scene.now, deadline.by, days));
        let by = Span::styled(by, if passed { scene.theme.warning } else { scene.theme.text });
        fitting::line([by, Span::raw(say!("comes {comes}", comes = when::day(scene.now, deadline.comes, days)))], wide)
    }

    fn sums(&self, view: &DraftView, wide: usize, theme: &Theme) -> Line<'static> {
        let show = self.setup.venue.show();
        let supplier = self.setup.supplier(view.draft.supplier);
        let totals = view.draft.totals(&self.setup);
        let goods = Span::styled(
            say!("goods {goods} {currency}", goods = show.money(totals.goods), currency = show.currency),
            theme.title,
        );
        let minimum = supplier.and_then(|s| s.minimum).filter(|minimum| *minimum > Money::ZERO);
        let minimum = match minimum {
            Some(minimum) if totals.goods == Money::ZERO => {
                Span::styled(say!("minimum {minimum}", minimum = show.money(minimum)), theme.muted)
            }
            Some(_) if totals.to_minimum > Money::ZERO => Span::styled(
                say!("{to_minimum} below the minimum", to_minimum = show.money(totals.to_minimum)),
                theme.warning,
            ),
            Some(minimum) => Span::styled(say!("minimum {minimum} reached", minimum = show.money(minimum)), theme.good),
            None => Span::raw(word!("no minimum")),
        };
        let free = supplier.and_then(|s| s.free_from).map(|from| say!(", free from {from}", from = show.money(from)));
        let fee = match supplier.and_then(|s| s.fee) {
            Some(_) if totals.fee > Money::ZERO => {
                say!("delivery {fee}{free}", fee = show.money(totals.fee), free = free.unwrap_or_default())
            }
            Some(fee) if totals.goods == Money::ZERO => {
                say!("delivery {fee}{free}", fee = show.money(fee), free = free.unwrap_or_default())
            }
            _ => word!("delivery free").to_owned(),
        };
        fitting::line([goods, minimum, Span::raw(fee)], wide)
    }

    fn row(&self, at: usize, typing: bool, theme: &Theme) -> Row {
        let Some(line) = self.lines().get(at) else { return Row::Cells(Vec::new()) };
        let show = self.setup.venue.show();
        let size = self.setup.item(line.item).map_or(Amount::ZERO, |item| item.size);
        let figure = |amount| show.containers(amount, size);
        let changed = line.packs != line.suggested;
        let mark = match (changed, line.shelf_limits, fills_up(line)) {
            (true, ..) => "*",
            (false, true, _) => "!",
            (false, false, true) => "+",
            (false, false, false) => "",
        };
        let on_hand = line.need.and_then(|need| need.on_hand).map(|level| containers_with_u(show, size, level, theme));
        let coming = line.need.map(|need| need.on_order).filter(|amount| *amount != Amount::ZERO).map(figure);
        let note = match (changed, line.shelf_limits) {
            (true, true) => word!("changed, shelf limits"),
            (true, false) if line.need.is_none() => word!("not short"),
            (true, false) => word!("changed"),
            (false, true) => word!("the shelf limits"),
            (false, false) if fills_up(line) => word!("fills the order up"),
            (false, false) => "",
        };
        let packs = if typing { String::new() } else { line.packs.to_string() };
        Row::Cells(vec![
            Line::from(mark),
            Line::from(text::safe(self.setup.item_name(line.item))),
            Line::from(on_hand.unwrap_or_default()),
            Line::from(coming.unwrap_or_default()),
            Line::from(line.need.map_or(String::new(), |need| figure(need.par))),
            Line::from(line.suggested.to_string()),
            Line::from(Span::styled(packs, if line.packs > 0 { theme.title } else { theme.text })),
            Line::from(line.pack.to_string()),
            Line::from(show.money(line.price)),
            Line::from(show.money(line.total())),
            Line::from(note),
        ])
    }

    fn nothing(&self) -> Vec<Line<'static>> {
        match self.current() {
            Some(_) => vec![
                Line::from(word!("Nothing that this supplier would get is below its par.")),
                Line::from(word!("`a` adds an item all the same.")),
            ],
            None => vec![Line::from(word!("Nothing else is short, and no order is on its way."))],
        }
    }

    /// Two lines about the line under the cursor, in words, for windows that have dropped columns.
    fn foot(&self, wide: usize, scene: Scene) -> Vec<Line<'static>> {
        let theme = scene.theme;
        if self.budget_entry.is_some() {
            let hint = word!("Enter keeps it, with nothing typed there is none; Esc leaves it as it is");
            return vec![Line::from(""), Line::from(Span::styled(text::fit(hint, wide), theme.muted))];
        }
        if let (None, Some(row)) = (self.current(), self.aside.get(self.window.selected())) {
            let tells = aside::tells(row, &self.setup, &self.view, scene.now);
            return text::wrap(&tells, wide).into_iter().map(Line::from).collect();
        }
        let Some(line) = self.line() else { return Vec::new() };
        let show = self.setup.venue.show();
        let Some(item) = self.setup.item(line.item) else { return Vec::new() };
        let size = show.amount(item.basis, item.size);
        let code =
            line.code.as_ref().map_or(String::new(), |code| say!("their number {code}", code = text::safe(code)));
        let pack = match line.pack {
            1 => say!("singly at {price}", price = show.money(line.price)),
            pack => say!("{pack} in a pack at {price}", pack, price = show.money(line.price)),
        };
        let name = format!("{} ({size})", text::safe(&item.name));
        let first = fitting::line([Span::styled(name, theme.title), Span::raw(pack), Span::raw(code)], wide);
        if self.entry.is_some() {
            let hints =
                [word!("Enter keeps the packs, 0 orders none; Esc leaves them"), word!("a scan goes to its item")];
            return vec![first, fitting::line(hints.map(|hint| Span::styled(hint, theme.muted)), wide)];
        }
        vec![first, fitting::line(self.reasons(line, item.size, theme), wide)]
    }

    /// Why so many packs.
    fn reasons(&self, line: &DraftLine, size: Amount, theme: &Theme) -> Vec<Span<'static>> {
        let show = self.setup.venue.show();
        let mut out = Vec::new();
        if line.packs != line.suggested {
            out.push(Span::styled(
                say!("suggested {suggested}, ordered {packs}", suggested = line.suggested, packs = line.packs),
                theme.warning,
            ));
        }
        if line.shelf_limits {
            out.push(Span::styled(word!("the shelf holds no more"), theme.warning));
        }
        match line.need {
            Some(_) if fills_up(line) => out.push(Span::raw(word!("not short: it fills the order up"))),
            Some(need) => {
                if let Some(short) = need.short() {
                    let par = show.containers(need.par, size);
                    out.push(Span::raw(say!(
                        "short {containers} of par {par}",
                        containers = show.containers(short, size),
                        par
                    )));
                }
                if need.on_order != Amount::ZERO {
                    out.push(Span::raw(say!("{on_order} coming", on_order = show.containers(need.on_order, size))));
                }
            }
            None => out.push(Span::raw(word!("not short, or without a par"))),
        }
        out
    }
}

/// Whether a line is in the order though it is not short.
fn fills_up(line: &DraftLine) -> bool {
    line.packs > 0 && line.why.is_some_and(|why| why.fills_up)
}
