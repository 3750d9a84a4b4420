//! The Orders screen: what each supplier would get, line by line, and what nobody can be asked for.

mod aside;
mod budget;
mod draw;
mod packs;
mod why;

use super::Effect;
use super::when;
use crate::domain::ledger::OrderLine;
use crate::domain::measure::{Money, number_of};
use crate::domain::order::{Draft, DraftLine, LineKey};
use crate::domain::rows::{DraftView, OrdersView, WhyView, mixed_words};
use crate::domain::venue::{ItemId, Moment, Setup, SupplierId};
use crate::tui::keymap::{Action, Scope, Tab};
use crate::tui::widget::field::Field;
use crate::tui::widget::notice::Notice;
use crate::tui::widget::scroll::Scroll;
use crate::tui::widget::window::Window;
use aside::Aside;
use packs::unusual;
use std::sync::Arc;

/// Drafts, one supplier at a time; after the last one, a page of what is not in any of them.
#[derive(Debug)]
pub struct OrdersScreen {
    setup: Arc<Setup>,
    view: OrdersView,
    /// What is short but in no draft, and what is still to come.
    aside: Vec<Aside>,
    /// Which page: a draft, or the one after the last.
    page: usize,
    window: Window,
    /// The packs being typed, and for what.
    entry: Option<(LineKey, Field)>,
    /// The packs of that line, and the kept lines of its draft, when typing began.
    began: Option<(i64, Vec<OrderLine>)>,
    /// What the key `0` has just set to none, and its packs before: a bar code may begin with that digit.
    zeroed: Option<(LineKey, i64)>,
    /// The budget being typed.
    budget_entry: Option<Field>,
    /// Why the item under the cursor is ordered as it is, while that is read.
    why: Option<(WhyView, Scroll)>,
}

impl OrdersScreen {
    /// Opens at the supplier with the nearest deadline that something would be ordered from.
    pub fn new(setup: Arc<Setup>, view: OrdersView) -> OrdersScreen {
        let wanted = view.drafts.iter().enumerate().filter(|(_, d)| ordered(&d.draft) > 0);
        let nearest = wanted.min_by_key(|(_, d)| d.draft.deadline.map_or(Moment(i64::MAX), |d| d.by));
        let page = nearest.map_or(0, |(n, _)| n);
        let aside = aside::rows(&view);
        OrdersScreen {
            setup,
            view,
            aside,
            page,
            window: Window::default(),
            entry: None,
            began: None,
            zeroed: None,
            budget_entry: None,
            why: None,
        }
    }

    /// Which keys are live.
    pub fn scope(&self) -> Scope {
        if self.budget_entry.is_some() {
            Scope::BudgetEntry
        } else if self.why.is_some() {
            Scope::OrderWhy
        } else if self.entry.is_some() {
            Scope::OrderEntry
        } else if self.current().is_some() {
            Scope::Orders
        } else {
            Scope::OrdersAside
        }
    }

    /// The supplier whose draft is shown; none on the last page.
    pub fn supplier(&self) -> Option<SupplierId> {
        self.current().map(|view| view.draft.supplier)
    }

    /// Shows a supplier's draft.
    pub fn show(&mut self, supplier: SupplierId) {
        if let Some(page) = self.view.drafts.iter().position(|d| d.draft.supplier == supplier) {
            self.turn_to(page);
        }
    }

    /// Shows the line of an item, wherever it is; else a supplier's draft, and says that the item is in none.
    pub fn show_line(&mut self, supplier: Option<SupplierId>, item: Option<ItemId>) -> Option<Notice> {
        let said = item.and_then(|item| self.find(item));
        if item.is_none() || said.is_some() {
            supplier.iter().for_each(|supplier| self.show(*supplier));
        }
        said
    }

    fn current(&self) -> Option<&DraftView> {
        self.view.drafts.get(self.page)
    }

    fn lines(&self) -> &[DraftLine] {
        self.current().map_or(&[], |view| &view.draft.lines)
    }

    /// Rows of the page that is shown.
    fn len(&self) -> usize {
        if self.current().is_some() { self.lines().len() } else { self.aside.len() }
    }

    fn line(&self) -> Option<&DraftLine> {
        self.lines().get(self.window.selected())
    }

    fn supplier_name(&self) -> &str {
        self.supplier().and_then(|id| self.setup.supplier(id)).map_or("?", |s| &s.name)
    }

    fn turn_to(&mut self, page: usize) {
        self.page = page.min(self.view.drafts.len());
        self.window = Window::default();
        self.entry = None;
        self.zeroed = None;
        self.why = None;
    }

    /// What an action asks for.
    pub fn update(&mut self, action: Action, now: Moment) -> Effect {
        if self.budget_entry.is_some() {
            return self.type_budget(action);
        }
        if self.why.is_some() {
            return self.on_why(action);
        }
        if self.entry.is_some() {
            return self.type_packs(action);
        }
        let zeroed = self.zeroed.take();
        match action {
            Action::Open => self.open(),
            Action::Budget => self.begin_budget(),
            Action::Edit => self.begin(""),
            Action::Type(c) if zeroed.is_some() => {
                self.zeroed = zeroed;
                self.begin(&format!("0{c}"))
            }
            Action::Type(c) => self.begin(c.encode_utf8(&mut [0; 4])),
            Action::OneMore => match self.line() {
                // The step that goes past it asks; what was said yes to goes on.
                Some(line) if line.packs == unusual(line) => self.ask(line.packs + 1),
                _ => self.change(|line| line.packs.saturating_add(1)),
            },
            Action::OneLess => self.change(|line| line.packs - 1),
            Action::OrderNone => {
                self.zeroed = self.line().map(|line| (line.key(), line.packs));
                self.change(|_| 0)
            }
            Action::TakeSuggestion => self.change(|line| line.suggested),
            Action::SuggestAnew => self.suggest_anew(),
            Action::AddItem => match self.current() {
                Some(view) => self.pick(view.draft.supplier, now),
                None => say_turn(),
            },
            Action::Next => self.turn(1),
            Action::Previous => self.turn(-1),
            Action::WriteFiles => match self.current() {
                Some(view) if ordered(&view.draft) > 0 => Effect::WriteOrder(Box::new(view.clone())),
                Some(_) => self.say_nothing_in_it(),
                None => say_turn(),
            },
            Action::MarkSent => self.send(now),
            _ => {
                self.window.apply(action, self.len());
                Effect::None
            }
        }
    }

    /// Opens what the cursor is on: why it is ordered so, or where an order on its way is booked in.
    fn open(&mut self) -> Effect {
        match (self.item_here(), self.aside.get(self.window.selected())) {
            (Some(item), _) => Effect::ExplainOrder(item),
            (None, Some(Aside::Sent(_))) if self.current().is_none() => Effect::Go(Tab::Receive),
            _ if self.current().is_some() => {
                Effect::Say(Notice::info(word!("there is no line yet; `a` adds an item of this supplier")))
            }
            _ => Effect::None,
        }
    }

    /// The item of the line under the cursor.
    fn item_here(&self) -> Option<ItemId> {
        match self.current() {
            Some(_) => self.line().map(|line| line.item),
            None => self.aside.get(self.window.selected()).and_then(Aside::item),
        }
    }

    fn turn(&mut self, step: isize) -> Effect {
        match self.page.checked_add_signed(step).filter(|page| *page <= self.view.drafts.len()) {
            Some(page) => {
                self.turn_to(page);
                Effect::None
            }
            None if step > 0 => Effect::Say(Notice::info(word!("this is the last page; p goes back"))),
            None => Effect::Say(Notice::info(word!("this is the first supplier; n goes to the next"))),
        }
    }

    fn suggest_anew(&mut self) -> Effect {
        let name = self.supplier_name();
        match self.current() {
            Some(DraftView { order: Some(order), .. }) => Effect::ask(
                say!(
                    "Drop every change of the draft for {name}, lines that were added too, and be suggested anew?",
                    name
                ),
                word!("drops the changes"),
                word!("leaves the draft as it is"),
                Effect::ForgetDraft(*order),
            ),
            Some(_) => Effect::Say(Notice::info(say!("nothing of {name} was changed: this is as suggested", name))),
            None => say_turn(),
        }
    }

    fn say_nothing_in_it(&self) -> Effect {
        let name = self.supplier_name();
        Effect::Say(Notice::warning(say!("nothing is ordered from {name} yet: give a line packs first", name)))
    }

    fn send(&mut self, now: Moment) -> Effect {
        let Some(view) = self.current() else { return say_turn() };
        let lines = ordered(&view.draft);
        if lines == 0 {
            return self.say_nothing_in_it();
        }
        let (name, show) = (self.supplier_name(), self.setup.venue.show());
        let totals = view.draft.totals(&self.setup);
        let (coin, days) = (show.currency, &self.setup.venue.days);
        let mut question = say!(
            "Has the order gone to {name}? Nothing is sent from here: w writes it, you send it. {lines}, {goods} {coin}",
            name,
            lines = count(lines),
            goods = show.money(totals.goods),
            coin
        );
        if totals.fee > Money::ZERO {
            question.push_str(&say!(" and {fee} for the delivery", fee = show.money(totals.fee)));
        }
        question.push('.');
        if totals.to_minimum > Money::ZERO {
            question.push_str(&say!(
                " It is {to_minimum} {coin} below their minimum.",
                to_minimum = show.money(totals.to_minimum),
                coin
            ));
        }
        for filled in view.draft.mixed_cases().iter().filter(|filled| filled.missing() > 0) {
            question.push_str(&format!(" {}", mixed_words(filled)));
        }
        if let Some(deadline) = view.draft.deadline.filter(|d| d.by <= now) {
            let (by, comes) = (days.short(deadline.by), when::day(now, deadline.comes, days));
            question.push_str(&say!(" The deadline, {by}, has passed: ask whether it still comes {comes}.", by, comes));
        }
        Effect::ask(
            question,
            word!("marks it as sent: it is on order then"),
            word!("goes on with the draft"),
            Effect::Send(Box::new(view.clone())),
        )
    }

    /// Goes to an item: its line in the draft that is shown, else in another one, else where it is said why it is in
    /// none.
    pub fn find(&mut self, item: ItemId) -> Option<Notice> {
        let drafts = self.view.drafts.len();
        let pages = std::iter::once(self.page).chain(0..drafts).filter(|page| *page < drafts);
        for page in pages {
            if let Some(at) = self.view.drafts[page].draft.lines.iter().position(|line| line.item == item) {
                if page != self.page {
                    self.turn_to(page);
                }
                self.window.select(at, self.len());
                return None;
            }
        }
        let name = self.setup.item_name(item);
        let sent = |row: &Aside| match row {
            Aside::Sent(id) => self.view.sent.iter().any(|o| o.id == *id && o.lines.iter().any(|l| l.item == item)),
            _ => false,
        };
        let about = self.aside.iter().position(|row| row.item() == Some(item));
        match about.or_else(|| self.aside.iter().position(sent)) {
            Some(at) => {
                self.turn_to(drafts);
                self.window.select(at, self.len());
                None
            }
            None => Some(Notice::warning(say!("{name} is in no order; `a` adds it, if it is offered here", name))),
        }
    }

    /// Takes a fresh view. The page stays at the same supplier and the cursor on the same line; what is being typed
    /// stays as long as its line does.
    pub fn refresh(&mut self, setup: Arc<Setup>, view: OrdersView) {
        let (supplier, key) = (self.supplier(), self.line().map(DraftLine::key));
        let was = self.aside.get(self.window.selected()).cloned().filter(|_| supplier.is_none());
        self.setup = setup;
        self.view = view;
        self.aside = aside::rows(&self.view);
        let drafts = &self.view.drafts;
        let same = supplier.and_then(|id| drafts.iter().position(|d| d.draft.supplier == id));
        self.page = same.unwrap_or(if supplier.is_some() { 0 } else { drafts.len() });
        let at = match key {
            Some(key) => self.lines().iter().position(|line| line.key() == key),
            None => was.and_then(|was| self.aside.iter().position(|row| row.is_same(&was))),
        };
        self.window.select(at.unwrap_or(self.window.selected()), self.len());
        let typed_for = self.entry.as_ref().map(|(key, _)| *key);
        if typed_for.is_some() && typed_for != self.line().map(DraftLine::key) {
            self.entry = None;
        }
    }
}

/// The lines of a draft that order something.
fn ordered(draft: &Draft) -> usize {
    draft.lines.iter().filter(|line| line.packs > 0).count()
}

fn count(lines: usize) -> String {
    number_of(lines, word!("line"), word!("lines"))
}

fn say_turn() -> Effect {
    Effect::Say(Notice::info(word!("nothing is ordered on this page; p goes back to the suppliers")))
}

#[cfg(test)]
mod tests;
