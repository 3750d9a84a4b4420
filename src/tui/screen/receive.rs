//! The Receive screen: what was carried in, against what was ordered.

mod bill;
mod booked;
mod claims;
mod draw;

use super::Effect;
use crate::domain::ledger::Check;
use crate::domain::measure::decimal::pointed;
use crate::domain::measure::{Money, Price, number_of};
use crate::domain::receive::{Bill, KeptClaim, is_unusual};
use crate::domain::rows::{BillView, Checking, ReceiveLine, ReceiveView};
use crate::domain::venue::{Gtin, ItemId, OrderId, PlaceId, Setup, SupplierId};
use crate::tui::keymap::{Action, Scope};
use crate::tui::text;
use crate::tui::widget::confirm::Confirm;
use crate::tui::widget::field::Field;
use crate::tui::widget::notice::Notice;
use crate::tui::widget::window::Window;
use bill::BillPage;
use booked::BookedPage;
use claims::ClaimsPage;
use std::sync::Arc;

/// Longest figure, with its price, and longest document number that can be typed.
const ENTRY_LENGTH: usize = 24;
const DOCUMENT_LENGTH: usize = 60;
/// No van carries a million of one thing; more is a slip of the finger.
const MOST: i64 = 999_999;

/// Orders that were sent, one at a time, and what of each was carried in.
#[derive(Debug)]
pub struct ReceiveScreen {
    setup: Arc<Setup>,
    orders: Vec<ReceiveView>,
    /// What is to be claimed.
    claims: Vec<KeptClaim>,
    /// The bills that were booked last.
    booked: Vec<Bill>,
    at: usize,
    window: Window,
    /// What is being typed for the line under the cursor.
    entry: Option<Field>,
    /// What the book had of the line that is being typed, when typing began.
    began: Option<(i64, Option<Check>)>,
    /// The number of the delivery's paper, while it is typed.
    document: Option<Field>,
    /// The number typed last, in case the book refuses the delivery.
    numbered: Option<(OrderId, String)>,
    asking: Option<Asking>,
    /// A supplier's bill, over the orders.
    bill: Option<BillPage>,
    /// What is to be claimed, over the orders.
    to_claim: Option<ClaimsPage>,
    /// The bills that were booked, over the orders.
    of_bills: Option<BookedPage>,
}

/// What is being asked over the lines.
#[derive(Debug)]
enum Asking {
    /// Whether all that was not looked at came as ordered.
    AsOrdered,
    /// Whether so many of the line under the cursor really came.
    Many { came: i64, charged: Option<Price> },
    /// What becomes of what did not come; the number of the delivery's paper is known.
    Rest { document: String },
}

impl ReceiveScreen {
    /// The orders that can be received, in the order in which they are shown, what is to be claimed, and the bills booked.
    pub fn new(
        setup: Arc<Setup>,
        orders: Vec<ReceiveView>,
        claims: Vec<KeptClaim>,
        booked: Vec<Bill>,
    ) -> ReceiveScreen {
        ReceiveScreen {
            setup,
            orders,
            claims,
            booked,
            at: 0,
            window: Window::default(),
            entry: None,
            began: None,
            document: None,
            numbered: None,
            asking: None,
            bill: None,
            to_claim: None,
            of_bills: None,
        }
    }

    /// Which keys are live.
    pub fn scope(&self) -> Scope {
        if let Some(bill) = &self.bill {
            return bill.scope();
        }
        if let Some(claims) = &self.to_claim {
            return claims.scope();
        }
        if let Some(booked) = &self.of_bills {
            return booked.scope();
        }
        if let Some(asking) = &self.asking {
            match asking {
                Asking::AsOrdered | Asking::Many { .. } => Scope::Confirm,
                Asking::Rest { .. } => Scope::ReceiveRest,
            }
        } else if self.document.is_some() {
            Scope::ReceiveDocument
        } else if self.entry.is_some() {
            Scope::ReceiveEntry
        } else if self.orders.is_empty() {
            Scope::ReceiveNothing
        } else {
            Scope::Receive
        }
    }

    /// Shows a bill, or the same one looked at anew.
    pub fn show_bill(&mut self, view: BillView) {
        match &mut self.bill {
            Some(page) => page.refresh(view),
            None => self.bill = Some(BillPage::new(view)),
        }
    }

    /// The bill that is shown, with what was said of it, to be looked at anew.
    pub fn bill(&self) -> Option<(&BillView, crate::domain::rows::BillChoice)> {
        self.bill.as_ref().map(|page| (page.view(), page.choice()))
    }

    /// Shows what is to be claimed.
    pub fn show_claims(&mut self) {
        self.to_claim = Some(ClaimsPage::default());
    }

    /// The bill is in the book.
    pub fn bill_booked(&mut self) {
        self.bill = None;
    }

    /// An item was picked for a line of the bill.
    pub fn picked(&mut self, item: ItemId) -> Effect {
        self.bill.as_mut().map_or(Effect::None, |page| page.picked(item))
    }

    /// A supplier was picked for the bill.
    pub fn picked_supplier(&mut self, supplier: SupplierId) -> Effect {
        self.bill.as_mut().map_or(Effect::None, |page| page.picked_supplier(supplier))
    }

    /// Shows an order.
    pub fn show(&mut self, order: OrderId) {
        if let Some(at) = self.orders.iter().position(|view| view.order.id == order) {
            self.turn_to(at);
        }
    }

    /// Whether whoever is at the screen sees costs and prices.
    fn sees_costs(&self) -> bool {
        self.setup.venue.rights.sees_costs()
    }

    fn current(&self) -> Option<&ReceiveView> {
        self.orders.get(self.at)
    }

    fn lines(&self) -> &[ReceiveLine] {
        self.current().map_or(&[], |view| &view.lines)
    }

    fn line(&self) -> Option<&ReceiveLine> {
        self.lines().get(self.window.selected())
    }

    fn line_mut(&mut self) -> Option<&mut ReceiveLine> {
        let at = self.window.selected();
        self.orders.get_mut(self.at)?.lines.get_mut(at)
    }

    fn supplier_name(&self) -> &str {
        self.current().and_then(|view| self.setup.supplier(view.order.supplier)).map_or("?", |s| &s.name)
    }

    fn turn_to(&mut self, at: usize) {
        self.at = at;
        self.window = Window::default();
        self.entry = None;
        self.document = None;
        self.asking = None;
    }

    fn step(&mut self, lines: isize) {
        let len = self.lines().len();
        self.window.step(lines, len);
    }

    /// What an action asks for.
    pub fn update(&mut self, action: Action) -> Effect {
        if let Some(bill) = &mut self.bill {
            let (effect, stays) = bill.update(action);
            if !stays {
                self.bill = None;
            }
            return effect;
        }
        if let Some(claims) = &mut self.to_claim {
            let (effect, stays) = claims.update(action, &self.claims);
            if !stays {
                self.to_claim = None;
            }
            return effect;
        }
        if let Some(page) = &mut self.of_bills {
            let (effect, stays) = page.update(action, &self.booked, &self.setup);
            if !stays {
                self.of_bills = None;
            }
            return effect;
        }
        if self.asking.is_some() {
            return self.answer(action);
        }
        if self.document.is_some() {
            return self.number(action);
        }
        if self.entry.is_some() {
            return self.type_figure(action);
        }
        match action {
            Action::TakeFile => {
                return Effect::ChooseFile(word!("A supplier's bill: Enter reads the file").to_owned());
            }
            Action::Claims => {
                self.to_claim = Some(ClaimsPage::default());
                return Effect::None;
            }
            Action::BookedBills => {
                self.of_bills = Some(BookedPage::default());
                return Effect::None;
            }
            _ => {}
        }
        if self.current().is_none() {
            return Effect::None;
        }
        match action {
            Action::Edit => self.begin(""),
            Action::Type(c) => self.begin(c.encode_utf8(&mut [0; 4])),
            Action::TakeAsOrdered => match self.line().map(|line| line.ordered) {
                Some(ordered) => self.keep(ordered, None),
                None => Effect::None,
            },
            Action::RestAsOrdered => {
                if self.open() == 0 {
                    return Effect::Say(Notice::info(word!(
                        "every line is looked at already; x takes the delivery in"
                    )));
                }
                self.asking = Some(Asking::AsOrdered);
                Effect::None
            }
            Action::ChangePlace => self.change_place(),
            Action::Next => self.turn(1),
            Action::Previous => self.turn(-1),
            Action::AcceptDelivery => self.accept(),
            Action::GiveUpOrder => self.give_up(),
            _ => {
                let len = self.lines().len();
                self.window.apply(action, len);
                Effect::None
            }
        }
    }

    /// Lines that nobody has looked at.
    fn open(&self) -> usize {
        self.lines().iter().filter(|line| line.came.is_none()).count()
    }

    fn begin(&mut self, typed: &str) -> Effect {
        if let Some(line) = self.line() {
            self.began = Some((line.line, line.kept.clone()));
            self.entry = Some(Field::with(ENTRY_LENGTH, typed));
        }
        Effect::None
    }

    fn type_figure(&mut self, action: Action) -> Effect {
        let Some(field) = &mut self.entry else { return Effect::None };
        match action {
            Action::Accept | Action::AcceptDown => {
                let typed = field.text().to_owned();
                self.figure(&typed)
            }
            Action::Cancel => {
                (self.entry, self.began) = (None, None);
                Effect::None
            }
            _ => {
                field.apply(action);
                Effect::None
            }
        }
    }

    /// Keeps `12` or `12 @ 17.25` for the line under the cursor; nothing typed changes nothing. What a scanner sends is
    /// no figure but an item.
    fn figure(&mut self, typed: &str) -> Effect {
        if let Ok(gtin) = Gtin::parse(typed) {
            self.entry = None;
            return self.scanned(&gtin);
        }
        if typed.trim().is_empty() {
            self.entry = None;
            return Effect::None;
        }
        let (came, charged) = match self.read(typed) {
            Ok(read) => read,
            Err(refused) => return Effect::Say(Notice::error(refused)),
        };
        if is_unusual(came, self.line().map_or(0, |line| line.ordered)) {
            self.asking = Some(Asking::Many { came, charged });
            return Effect::None;
        }
        self.keep(came, charged)
    }

    /// What came of the line under the cursor is kept at once, and the next one is gone to. What the line held when typing
    /// began is what it replaces.
    fn keep(&mut self, came: i64, charged: Option<Price>) -> Effect {
        let began = self.began.take();
        let Some(line) = self.line_mut() else { return Effect::None };
        line.came = Some(came);
        line.charged = charged.filter(|price| *price != line.price);
        let began = began.filter(|(number, _)| *number == line.line);
        let known = began.map_or_else(|| line.kept.clone(), |(_, known)| known);
        let kept = line.check().map(|now| Checking { item: line.item, now, known });
        self.entry = None;
        self.step(1);
        self.check(kept)
    }

    fn check(&self, lines: impl IntoIterator<Item = Checking>) -> Effect {
        let lines: Vec<Checking> = lines.into_iter().collect();
        match self.current().filter(|_| !lines.is_empty()) {
            Some(view) => Effect::Check(view.order.id, lines),
            None => Effect::None,
        }
    }

    fn read(&self, typed: &str) -> Result<(i64, Option<Price>), String> {
        let (came, price) = typed.split_once('@').map_or((typed, None), |(came, price)| (came, Some(pointed(price))));
        let came = came.trim();
        let whole = came.parse::<i64>().ok().filter(|came| (0..=MOST).contains(came));
        let came = whole.ok_or(match self.sees_costs() {
            true => word!("type whole containers such as 12, or 12 @ 17.25 with the price of one"),
            false => word!("type whole containers such as 12"),
        })?;
        if price.is_some() && !self.sees_costs() {
            return Err(word!("type whole containers such as 12: prices are a manager's").to_owned());
        }
        let currency = self.setup.venue.currency;
        let price = match price {
            Some(price) => Some(currency.parse_price(&price).map_err(|e| say!("after the @: {e}", e))?),
            None => None,
        };
        if price.is_some_and(|price| price < Price::default()) {
            return Err(word!("a price is not below zero").to_owned());
        }
        Ok((came, price))
    }

    /// Text pasted or sent by a device all at once: a bar code goes to its line, all else into what is being typed.
    pub fn paste(&mut self, text: &str) -> Effect {
        let text = text.trim();
        if let Some(bill) = &mut self.bill {
            return bill.paste(text);
        }
        if let Some(claims) = &mut self.to_claim {
            claims.paste(text);
            return Effect::None;
        }
        if self.of_bills.is_some() {
            return Effect::None;
        }
        if self.asking.is_some() {
            return Effect::None;
        }
        if let Some(field) = &mut self.document {
            field.paste(text);
        } else if let Ok(gtin) = Gtin::parse(text) {
            self.entry = None;
            return self.scanned(&gtin);
        } else if let Some(field) = &mut self.entry {
            field.paste(text);
        }
        Effect::None
    }

    fn scanned(&mut self, gtin: &Gtin) -> Effect {
        match self.setup.item_by_gtin(gtin).map(|item| item.id) {
            Some(item) => self.find(item).map_or(Effect::None, Effect::Say),
            None => Effect::Say(Notice::warning(say!("no item has the bar code {gtin}", gtin))),
        }
    }

    fn answer(&mut self, action: Action) -> Effect {
        let Some(asking) = self.asking.take() else { return Effect::None };
        match (asking, action) {
            (Asking::AsOrdered, Action::Yes) => {
                let mut kept = Vec::new();
                for line in self.orders.get_mut(self.at).into_iter().flat_map(|view| &mut view.lines) {
                    if line.came.is_none() {
                        line.came = Some(line.ordered);
                        kept.extend(line.check().map(|now| Checking { item: line.item, now, known: None }));
                    }
                }
                let said =
                    Effect::Say(Notice::info(word!("all the rest is taken as ordered; x takes the delivery in")));
                Effect::Both(Box::new(self.check(kept)), Box::new(said))
            }
            (Asking::Many { came, charged }, Action::Yes) => self.keep(came, charged),
            (Asking::Rest { document }, Action::Accept) => self.receive(document, true),
            (Asking::Rest { document }, Action::GiveUpOrder) => self.receive(document, false),
            (_, Action::No | Action::Cancel) => Effect::None,
            (asking, _) => {
                self.asking = Some(asking);
                Effect::None
            }
        }
    }

    /// The question that wants yes or no.
    fn question(&self) -> Option<Confirm> {
        match self.asking.as_ref()? {
            Asking::AsOrdered => {
                let open = self.open();
                let lines = number_of(open, word!("line is"), word!("lines are"));
                let price = if self.sees_costs() { word!(", at the price it was ordered at") } else { "" };
                Some(Confirm::new(
                    say!("{lines} not looked at. Did all of it come as it was ordered{price}?", lines, price),
                    word!("takes the rest as ordered"),
                    word!("goes on looking"),
                ))
            }
            Asking::Many { came, .. } => {
                let line = self.line()?;
                let name = self.setup.item_name(line.item);
                Some(Confirm::new(
                    say!(
                        "Did {came} containers of {name} come? {ordered} were ordered.",
                        came,
                        name,
                        ordered = line.ordered
                    ),
                    say!("yes, {came} came", came),
                    word!("goes back to the figure"),
                ))
            }
            Asking::Rest { .. } => None,
        }
    }

    /// What is asked about what did not come in full: the question alone.
    fn rest_question(&self) -> String {
        let short: Vec<&ReceiveLine> = self.lines().iter().filter(|line| line.came < Some(line.ordered)).collect();
        let name = short.first().map_or("", |line| self.setup.item_name(line.item));
        let others = match short.len().saturating_sub(1) {
            0 => String::new(),
            1 => word!(", nor did 1 other line").to_owned(),
            others => say!(", nor did {others} other lines", others),
        };
        let name = text::fit(&text::safe(name), 40);
        let then = if self.sees_costs() { word!(" What is given up is suggested again once it is short.") } else { "" };
        say!("{name} did not come in full{others}.{then}", name, others, then)
    }

    fn change_place(&mut self) -> Effect {
        let places: Vec<PlaceId> = self.setup.places.iter().map(|place| place.id).collect();
        let Some(&first) = places.first() else {
            return Effect::Say(Notice::warning(word!("the book has no places yet: B, then s, takes one in")));
        };
        if let Some(line) = self.line_mut() {
            let here = line.place.and_then(|place| places.iter().position(|p| *p == place));
            line.place = Some(here.and_then(|n| places.get(n + 1)).copied().unwrap_or(first));
            let known = line.kept.clone();
            let kept = line.check().map(|now| Checking { item: line.item, now, known });
            return self.check(kept);
        }
        Effect::None
    }

    fn turn(&mut self, step: isize) -> Effect {
        match self.at.checked_add_signed(step).filter(|at| *at < self.orders.len()) {
            Some(at) => {
                self.turn_to(at);
                Effect::None
            }
            None => Effect::Say(Notice::info(word!("there is no further order to receive"))),
        }
    }

    fn accept(&mut self) -> Effect {
        let Some(view) = self.current() else { return Effect::None };
        if let Some(first) = view.lines.iter().position(|line| line.came.is_none()) {
            let (open, len) = (self.open(), view.lines.len());
            self.window.select(first, len);
            return Effect::Say(Notice::warning(say!(
                "not looked at yet: {open} of {len} lines; A takes them as ordered",
                open,
                len
            )));
        }
        if view.lines.iter().all(|line| line.came == Some(0)) {
            return self.nothing_came(view);
        }
        let kept = self.numbered.as_ref().filter(|(order, _)| *order == view.order.id);
        let typed = kept.map_or("", |(_, number)| number.as_str());
        self.document = Some(Field::with(DOCUMENT_LENGTH, typed));
        Effect::None
    }

    /// Without a delivery there is no paper to number, only an order to wait for.
    fn nothing_came(&self, view: &ReceiveView) -> Effect {
        let or = if self.sees_costs() { word!(" D gives the whole order up.") } else { "" };
        Effect::ask(
            say!("Nothing of “{order}” came.{or}", order = view.order.name, or),
            word!("keeps it on order, for the next delivery"),
            word!("goes back to the lines"),
            Effect::Receive { view: Box::new(view.clone()), document: view.order.name.clone(), keep_rest: true },
        )
    }

    fn number(&mut self, action: Action) -> Effect {
        let Some(field) = &mut self.document else { return Effect::None };
        match action {
            Action::Accept => {
                let typed = field.text().trim().to_owned();
                self.document = None;
                self.book(&typed)
            }
            Action::Cancel => {
                self.document = None;
                Effect::None
            }
            _ => {
                field.apply(action);
                Effect::None
            }
        }
    }

    fn book(&mut self, typed: &str) -> Effect {
        let Some(view) = self.current() else { return Effect::None };
        let document = if typed.is_empty() { view.order.name.clone() } else { typed.to_owned() };
        let is_short = view.lines.iter().any(|line| line.came < Some(line.ordered));
        self.numbered = Some((view.order.id, typed.to_owned()));
        if is_short {
            self.asking = Some(Asking::Rest { document });
            return Effect::None;
        }
        self.receive(document, false)
    }

    fn receive(&self, document: String, keep_rest: bool) -> Effect {
        let Some(view) = self.current() else { return Effect::None };
        Effect::Receive { view: Box::new(view.clone()), document, keep_rest }
    }

    fn give_up(&self) -> Effect {
        let Some(view) = self.current() else { return Effect::None };
        Effect::ask(
            say!(
                "Give “{order}” up, all of it? It is not on order any more then, and what is short is suggested again.",
                order = view.order.name
            ),
            word!("gives the whole order up"),
            word!("leaves it on order"),
            Effect::GiveUp(view.order.id),
        )
    }

    /// Goes to an item: its line in the order that is shown, else in another one.
    pub fn find(&mut self, item: ItemId) -> Option<Notice> {
        if let Some(bill) = &mut self.bill {
            return bill.find(item);
        }
        for at in std::iter::once(self.at).chain(0..self.orders.len()) {
            let Some(view) = self.orders.get(at) else { continue };
            let len = view.lines.len();
            if let Some(line) = view.lines.iter().position(|line| line.item == item) {
                if at == self.at {
                    self.window.select(line, len);
                    return None;
                }
                self.turn_to(at);
                self.window.select(line, len);
                let (name, order) = (self.setup.item_name(item), self.current().map_or("", |view| &view.order.name));
                return Some(Notice::warning(say!(
                    "this is another order, “{order}”: {name} is in that one",
                    order,
                    name
                )));
            }
        }
        Some(Notice::warning(say!("no order to come has {item}", item = self.setup.item_name(item))))
    }

    /// Takes fresh orders. The order that is shown stays, and so does the cursor and what is being typed, as long as there
    /// is something to type for. Says which order is not there any more of which something was looked at.
    pub fn refresh(
        &mut self,
        setup: Arc<Setup>,
        orders: Vec<ReceiveView>,
        claims: Vec<KeptClaim>,
        booked: Vec<Bill>,
    ) -> Option<Notice> {
        (self.claims, self.booked) = (claims, booked);
        if let Some(page) = &mut self.of_bills {
            page.refresh(self.booked.len());
        }
        if let Some(page) = &mut self.to_claim {
            page.refresh(self.claims.len());
        }
        let (order, item) = (self.current().map(|view| view.order.id), self.line().map(|line| line.item));
        let row = self.window.selected();
        let old = std::mem::replace(&mut self.orders, orders);
        self.setup = setup;
        for fresh in &mut self.orders {
            if let Some(known) = old.iter().find(|view| view.order.id == fresh.order.id) {
                carry_over(known, fresh);
            }
        }
        let looked_at = |view: &&ReceiveView| view.lines.iter().any(|line| line.came.is_some());
        let gone = order.and_then(|id| old.iter().find(|view| view.order.id == id)).filter(looked_at);
        let gone = gone.filter(|view| !self.orders.iter().any(|other| other.order.id == view.order.id));
        let gone = gone.map(|view| {
            Notice::warning(say!(
                "the order “{order}” was taken in or given up at another terminal",
                order = view.order.name
            ))
        });
        let same = order.and_then(|id| self.orders.iter().position(|view| view.order.id == id));
        match same {
            Some(at) => self.at = at,
            None => self.turn_to(self.at.min(self.orders.len().saturating_sub(1))),
        }
        let len = self.lines().len();
        let still = self.lines().get(row).is_some_and(|line| Some(line.item) == item);
        let found = if still { Some(row) } else { self.lines().iter().position(|line| Some(line.item) == item) };
        if same.is_some() {
            self.window.select(found.unwrap_or(row), len);
        }
        if found.is_none() {
            self.entry = None;
            if matches!(self.asking, Some(Asking::Many { .. })) {
                self.asking = None;
            }
        }
        gone
    }
}

/// Where lines go of which nobody has said yet what came: that is not in the book.
fn carry_over(known: &ReceiveView, fresh: &mut ReceiveView) {
    for line in fresh.lines.iter_mut().filter(|line| line.came.is_none()) {
        let same = known.lines.iter().find(|old| (old.line, old.item, old.came) == (line.line, line.item, None));
        line.place = same.map_or(line.place, |old| old.place);
    }
}

/// What so many containers cost, to the coin.
fn worth(setup: &Setup, lines: impl Iterator<Item = (i64, Price)>) -> Money {
    let exact = lines.fold(0_i64, |sum, (n, price)| sum.saturating_add(price.0.saturating_mul(n)));
    setup.venue.currency.round(Price(exact))
}

#[cfg(test)]
mod tests;
