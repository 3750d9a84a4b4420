//! The Orders screen: what each supplier would get, line by line, and what nobody can be asked for.

mod aside;
mod draw;

use super::Effect;
use super::when;
use crate::domain::measure::{Money, number_of};
use crate::domain::order::{Draft, DraftLine, offer_of};
use crate::domain::rows::{DraftView, OrdersView};
use crate::domain::venue::{Gtin, ItemId, Moment, Setup, SupplierId};
use crate::tui::keymap::{Action, Scope};
use crate::tui::widget::field::Field;
use crate::tui::widget::notice::Notice;
use crate::tui::widget::window::Window;
use aside::Aside;
use std::sync::Arc;

/// Room for a bar code and more: what is too long is refused in words, not dropped.
const PACKS_LENGTH: usize = 24;
/// No bar orders ten thousand packs of one thing.
const MOST_PACKS: i64 = 9_999;
/// More than so many packs, and than so many times the suggestion, is asked about once.
const UNUSUAL: i64 = 24;
const UNUSUAL_TIMES: i64 = 10;

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
    entry: Option<(ItemId, Field)>,
    /// What the key `0` has just set to none, and its packs before: a bar code may begin with that digit.
    zeroed: Option<(ItemId, i64)>,
}

impl OrdersScreen {
    /// Opens at the supplier with the nearest deadline that something would be ordered from.
    pub fn new(setup: Arc<Setup>, view: OrdersView) -> OrdersScreen {
        let wanted = view.drafts.iter().enumerate().filter(|(_, d)| ordered(&d.draft) > 0);
        let nearest = wanted.min_by_key(|(_, d)| d.draft.deadline.map_or(Moment(i64::MAX), |d| d.by));
        let page = nearest.map_or(0, |(n, _)| n);
        let aside = aside::rows(&view);
        OrdersScreen { setup, view, aside, page, window: Window::default(), entry: None, zeroed: None }
    }

    /// Which keys are live.
    pub fn scope(&self) -> Scope {
        if self.entry.is_some() {
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
    }

    /// What an action asks for.
    pub fn update(&mut self, action: Action, now: Moment) -> Effect {
        if self.entry.is_some() {
            return self.type_packs(action);
        }
        let zeroed = self.zeroed.take();
        match action {
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
                self.zeroed = self.line().map(|line| (line.item, line.packs));
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

    fn begin(&mut self, typed: &str) -> Effect {
        match self.line().map(|line| line.item) {
            Some(item) => {
                self.entry = Some((item, Field::with(PACKS_LENGTH, typed)));
                Effect::None
            }
            None if self.current().is_some() => {
                Effect::Say(Notice::info("there is no line yet; `a` adds an item of this supplier"))
            }
            None => say_turn(),
        }
    }

    fn type_packs(&mut self, action: Action) -> Effect {
        let Some((_, field)) = &mut self.entry else { return Effect::None };
        match action {
            Action::Accept | Action::AcceptDown => {
                let typed = field.text().trim().to_owned();
                if let Ok(gtin) = Gtin::parse(&typed) {
                    return self.scanned(&gtin);
                }
                let packs = match packs_of(&typed) {
                    Ok(packs) => packs,
                    Err(refused) => return Effect::Say(Notice::error(refused)),
                };
                self.entry = None;
                self.zeroed = None;
                // Nothing typed changes nothing.
                let effect = packs.map_or(Effect::None, |packs| match self.line() {
                    Some(line) if packs > unusual(line).max(line.packs) => self.ask(packs),
                    _ => self.change(|_| packs),
                });
                self.window.step(isize::from(action == Action::AcceptDown), self.len());
                return effect;
            }
            Action::Cancel => {
                self.entry = None;
                self.zeroed = None;
            }
            _ => {
                field.apply(action);
            }
        }
        Effect::None
    }

    /// Text pasted or sent by a device all at once: a bar code goes to its line, all else into the packs being typed.
    pub fn paste(&mut self, text: &str) -> Effect {
        let text = text.trim();
        if let Ok(gtin) = Gtin::parse(text) {
            return self.scanned(&gtin);
        }
        if let Some((_, field)) = &mut self.entry {
            field.paste(text);
        }
        Effect::None
    }

    /// A bar code is no number of packs but an item: it is gone to. A line whose packs the code's first digit took away
    /// gets them back.
    fn scanned(&mut self, gtin: &Gtin) -> Effect {
        self.entry = None;
        let zeroed = self.zeroed.take().filter(|(item, _)| self.line().is_some_and(|line| line.item == *item));
        let back = zeroed.map_or(Effect::None, |(_, packs)| self.change(|_| packs));
        let page = self.page;
        let said = match self.setup.item_by_gtin(gtin).map(|item| (item.id, item.name.clone())) {
            None => Some(Notice::warning(format!("no item has the bar code {gtin}"))),
            Some((item, name)) => self.find(item).or_else(|| {
                let here = if self.current().is_some() { self.supplier_name() } else { "what is not ordered" };
                (self.page != page).then(|| Notice::warning(format!("this is another page, {here}: {name} is there")))
            }),
        };
        match (back, said.map_or(Effect::None, Effect::Say)) {
            (Effect::None, said) => said,
            (back, Effect::None) => back,
            (back, said) => Effect::Both(Box::new(back), Box::new(said)),
        }
    }

    /// The finder over what the supplier offers.
    fn pick(&self, supplier: SupplierId, now: Moment) -> Effect {
        let (name, day) = (self.supplier_name(), self.setup.venue.days.day_of(now));
        let offered = |item: &ItemId| offer_of(&self.setup, supplier, *item, day).is_some();
        let items: Vec<ItemId> = self.setup.items.iter().map(|item| item.id).filter(offered).collect();
        if items.is_empty() {
            return Effect::Say(Notice::warning(format!("{name} offers nothing yet: load offers.csv")));
        }
        Effect::Pick { title: format!("Order what from {name}?"), enter: "adds it", items: Some(items), likely: None }
    }

    /// Asks whether so many packs of the line under the cursor are meant.
    fn ask(&self, packs: i64) -> Effect {
        let (Some(view), Some(line)) = (self.current(), self.line()) else { return Effect::None };
        let (name, containers) = (self.setup.item_name(line.item), packs.saturating_mul(line.pack));
        let mut changed = view.clone();
        for same in changed.draft.lines.iter_mut().filter(|same| same.item == line.item) {
            same.packs = packs;
        }
        Effect::ask(
            format!(
                "Order {packs} packs of {name}? With {} in each that is {containers}; {} would be up to par.",
                line.pack,
                match line.suggested {
                    1 => "1 pack".to_owned(),
                    packs => format!("{packs} packs"),
                }
            ),
            format!("orders {packs} packs"),
            format!("leaves it at {}", line.packs),
            Effect::KeepDraft(Box::new(changed)),
        )
    }

    /// Changes the packs of the line under the cursor. The draft is kept at once, as every entry is.
    fn change(&mut self, packs: impl Fn(&DraftLine) -> i64) -> Effect {
        let at = self.window.selected();
        let Some(view) = self.view.drafts.get_mut(self.page) else { return say_turn() };
        let Some(line) = view.draft.lines.get_mut(at) else { return Effect::None };
        let packs = packs(line).clamp(0, MOST_PACKS);
        if packs == line.packs {
            return Effect::None;
        }
        line.packs = packs;
        Effect::KeepDraft(Box::new(view.clone()))
    }

    fn turn(&mut self, step: isize) -> Effect {
        match self.page.checked_add_signed(step).filter(|page| *page <= self.view.drafts.len()) {
            Some(page) => {
                self.turn_to(page);
                Effect::None
            }
            None if step > 0 => Effect::Say(Notice::info("this is the last page; p goes back")),
            None => Effect::Say(Notice::info("this is the first supplier; n goes to the next")),
        }
    }

    fn suggest_anew(&mut self) -> Effect {
        let name = self.supplier_name();
        match self.current() {
            Some(DraftView { order: Some(order), .. }) => Effect::ask(
                format!("Drop every change of the draft for {name}, lines that were added too, and be suggested anew?"),
                "drops the changes",
                "leaves the draft as it is",
                Effect::ForgetDraft(*order),
            ),
            Some(_) => Effect::Say(Notice::info(format!("nothing of {name} was changed: this is as suggested"))),
            None => say_turn(),
        }
    }

    fn say_nothing_in_it(&self) -> Effect {
        let name = self.supplier_name();
        Effect::Say(Notice::warning(format!("nothing is ordered from {name} yet: give a line packs first")))
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
        let mut question = format!("Is the order to {name} out? {}, {} {coin}", count(lines), show.money(totals.goods));
        if totals.fee > Money::ZERO {
            question.push_str(&format!(" and {} for the delivery", show.money(totals.fee)));
        }
        question.push('.');
        if totals.to_minimum > Money::ZERO {
            question.push_str(&format!(" It is {} {coin} below their minimum.", show.money(totals.to_minimum)));
        }
        if let Some(deadline) = view.draft.deadline.filter(|d| d.by <= now) {
            let (by, comes) = (days.short(deadline.by), when::day(now, deadline.comes, days));
            question.push_str(&format!(" The deadline, {by}, has passed: ask whether it still comes {comes}."));
        }
        Effect::ask(
            question,
            "marks it as sent: it is on order then",
            "goes on with the draft",
            Effect::Send(Box::new(view.clone())),
        )
    }

    /// An item was picked to be added to the draft that is shown: one pack of it, if the supplier offers it.
    pub fn picked(&mut self, item: ItemId, now: Moment) -> Effect {
        let Some(supplier) = self.supplier() else { return say_turn() };
        if let Some(at) = self.lines().iter().position(|line| line.item == item) {
            self.window.select(at, self.len());
            return Effect::Say(Notice::info("it is on the list already: + orders one pack more"));
        }
        let day = self.setup.venue.days.day_of(now);
        let Some(offer) = offer_of(&self.setup, supplier, item, day) else {
            let (name, who) = (self.setup.item_name(item), self.supplier_name());
            return Effect::Say(Notice::warning(format!("not offered by {who}: {name}")));
        };
        let line = DraftLine {
            why: None,
            item,
            need: None,
            suggested: 0,
            packs: 1,
            pack: offer.pack,
            price: offer.price,
            code: offer.code.clone(),
            shelf_limits: false,
            mixed: offer.mixed.clone(),
        };
        let Some(view) = self.view.drafts.get_mut(self.page) else { return Effect::None };
        view.draft.lines.push(line);
        let len = view.draft.lines.len();
        self.window.select(len - 1, len);
        Effect::KeepDraft(Box::new(view.clone()))
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
        match self.aside.iter().position(|row| row.item() == Some(item)) {
            Some(at) => {
                self.turn_to(drafts);
                self.window.select(at, self.len());
                None
            }
            None => Some(Notice::warning(format!("{name} is in no order; `a` adds it, if it is offered here"))),
        }
    }

    /// Takes a fresh view. The page stays at the same supplier and the cursor on the same item; what is being typed
    /// stays as long as its line does.
    pub fn refresh(&mut self, setup: Arc<Setup>, view: OrdersView) {
        let (supplier, item) = (self.supplier(), self.line().map(|line| line.item));
        let was = self.aside.get(self.window.selected()).cloned().filter(|_| supplier.is_none());
        self.setup = setup;
        self.view = view;
        self.aside = aside::rows(&self.view);
        let drafts = &self.view.drafts;
        let same = supplier.and_then(|id| drafts.iter().position(|d| d.draft.supplier == id));
        self.page = same.unwrap_or(if supplier.is_some() { 0 } else { drafts.len() });
        let at = match item {
            Some(item) => self.lines().iter().position(|line| line.item == item),
            None => was.and_then(|was| self.aside.iter().position(|row| row.is_same(&was))),
        };
        self.window.select(at.unwrap_or(self.window.selected()), self.len());
        let typed_for = self.entry.as_ref().map(|(item, _)| *item);
        if typed_for.is_some() && typed_for != self.line().map(|line| line.item) {
            self.entry = None;
        }
    }
}

/// The most packs of a line that nobody is asked about.
fn unusual(line: &DraftLine) -> i64 {
    line.suggested.saturating_mul(UNUSUAL_TIMES).max(UNUSUAL)
}

/// Packs as they are typed; none if nothing was.
fn packs_of(typed: &str) -> Result<Option<i64>, &'static str> {
    if typed.is_empty() {
        return Ok(None);
    }
    if !typed.bytes().all(|b| b.is_ascii_digit()) {
        return Err("type a whole number of packs such as 2, or 0 for none");
    }
    match typed.parse() {
        Ok(packs) if packs <= MOST_PACKS => Ok(Some(packs)),
        _ => Err("more than 9999 packs is no order, and no bar code has that number"),
    }
}

/// The lines of a draft that order something.
fn ordered(draft: &Draft) -> usize {
    draft.lines.iter().filter(|line| line.packs > 0).count()
}

fn count(lines: usize) -> String {
    number_of(lines, "line", "lines")
}

fn say_turn() -> Effect {
    Effect::Say(Notice::info("nothing is ordered on this page; p goes back to the suppliers"))
}

#[cfg(test)]
mod tests;
