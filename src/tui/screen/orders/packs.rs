//! Packs: typed, scanned past, one more or less, and items added to a draft.

use super::{OrdersScreen, say_turn};
use crate::domain::order::{DraftLine, offer_of, offers_of};
use crate::domain::venue::{Gtin, ItemId, Moment, Offer, SupplierId};
use crate::tui::keymap::Action;
use crate::tui::screen::Effect;
use crate::tui::widget::field::Field;
use crate::tui::widget::notice::Notice;

/// Room for a bar code and more: what is too long is refused in words, not dropped.
const PACKS_LENGTH: usize = 24;
/// No bar orders ten thousand packs of one thing.
const MOST_PACKS: i64 = 9_999;
/// More than so many packs, and than so many times the suggestion, is asked about once.
const UNUSUAL: i64 = 24;
const UNUSUAL_TIMES: i64 = 10;

impl OrdersScreen {
    pub(super) fn begin(&mut self, typed: &str) -> Effect {
        match self.line().map(DraftLine::key) {
            Some(key) => {
                self.entry = Some((key, Field::with(PACKS_LENGTH, typed)));
                let seen = self.current().map(|view| view.seen.clone()).unwrap_or_default();
                self.began = self.line().map(|line| (line.packs, seen));
                Effect::None
            }
            None if self.current().is_some() => {
                Effect::Say(Notice::info(word!("there is no line yet; `a` adds an item of this supplier")))
            }
            None => say_turn(),
        }
    }

    pub(super) fn type_packs(&mut self, action: Action) -> Effect {
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
                self.as_when_begun();
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

    /// Where another terminal changed the line while it was being typed, what was typed is of the draft as it was before:
    /// which of the two stands is then asked.
    fn as_when_begun(&mut self) {
        let Some((packs, seen)) = self.began.take() else { return };
        if self.line().is_some_and(|line| line.packs != packs)
            && let Some(view) = self.view.drafts.get_mut(self.page)
        {
            view.seen = seen;
        }
    }

    /// Text pasted or sent by a device all at once: a bar code goes to its line, all else into what is being typed.
    pub fn paste(&mut self, text: &str) -> Effect {
        let text = text.trim();
        if let Some(field) = &mut self.budget_entry {
            field.paste(text);
            return Effect::None;
        }
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
        let zeroed = self.zeroed.take().filter(|(key, _)| self.line().is_some_and(|line| line.key() == *key));
        let back = zeroed.map_or(Effect::None, |(_, packs)| self.change(|_| packs));
        let page = self.page;
        let said = match self.setup.item_by_gtin(gtin).map(|item| (item.id, item.name.clone())) {
            None => Some(Notice::warning(say!("no item has the bar code {gtin}", gtin))),
            Some((item, name)) => self.find(item).or_else(|| {
                let here = if self.current().is_some() { self.supplier_name() } else { word!("what is not ordered") };
                (self.page != page)
                    .then(|| Notice::warning(say!("this is another page, {here}: {name} is there", here, name)))
            }),
        };
        match (back, said.map_or(Effect::None, Effect::Say)) {
            (Effect::None, said) => said,
            (back, Effect::None) => back,
            (back, said) => Effect::Both(Box::new(back), Box::new(said)),
        }
    }

    /// The finder over what the supplier offers.
    pub(super) fn pick(&self, supplier: SupplierId, now: Moment) -> Effect {
        let (name, day) = (self.supplier_name(), self.setup.venue.days.day_of(now));
        let offered = |item: &ItemId| offer_of(&self.setup, supplier, *item, day).is_some();
        let stocked = self.setup.items.iter().filter(|item| item.stocked);
        let items: Vec<ItemId> = stocked.map(|item| item.id).filter(offered).collect();
        if items.is_empty() {
            return Effect::Say(Notice::warning(say!("{name} offers nothing yet: load offers.csv", name)));
        }
        Effect::Pick {
            title: say!("Order what from {name}?", name),
            enter: word!("adds it"),
            items: Some(items),
            likely: None,
            or_new: false,
        }
    }

    /// Asks whether so many packs of the line under the cursor are meant.
    pub(super) fn ask(&self, packs: i64) -> Effect {
        let (Some(view), Some(line)) = (self.current(), self.line()) else { return Effect::None };
        let (name, containers) = (self.setup.item_name(line.item), packs.saturating_mul(line.pack));
        let mut changed = view.clone();
        for same in changed.draft.lines.iter_mut().filter(|same| same.key() == line.key()) {
            same.packs = packs;
        }
        Effect::ask(
            say!(
                "Order {packs} packs of {name}? With {pack} in each that is {containers}; {packs_2} would be up to par.",
                packs,
                name,
                pack = line.pack,
                containers,
                packs_2 = match line.suggested {
                    1 => word!("1 pack").to_owned(),
                    packs => say!("{packs} packs", packs),
                }
            ),
            say!("orders {packs} packs", packs),
            say!("leaves it at {packs}", packs = line.packs),
            Effect::KeepDraft(Box::new(changed)),
        )
    }

    /// Changes the packs of the line under the cursor. The draft is kept at once, as every entry is.
    pub(super) fn change(&mut self, packs: impl Fn(&DraftLine) -> i64) -> Effect {
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

    /// An item was picked to be added to the draft that is shown: one pack of it, if the supplier offers it. One that is in
    /// it already, in packs of another size, is asked about.
    pub fn picked(&mut self, item: ItemId, now: Moment) -> Effect {
        let Some(supplier) = self.supplier() else { return say_turn() };
        let day = self.setup.venue.days.day_of(now);
        let offers = offers_of(&self.setup, supplier, item, day);
        let name = self.setup.item_name(item);
        if offers.is_empty() {
            return Effect::Say(Notice::warning(say!(
                "not offered by {supplier_name}: {name}",
                supplier_name = self.supplier_name(),
                name
            )));
        }
        let listed = |offer: &&&Offer| self.lines().iter().any(|line| line.key() == (item, offer.pack));
        let new = offers.iter().find(|offer| !listed(offer)).map(|offer| added(offer));
        let here = self.lines().iter().position(|line| line.item == item);
        let (Some(view), Some(new)) = (self.current(), new) else {
            self.window.select(here.unwrap_or_default(), self.len());
            return Effect::Say(Notice::info(word!("it is on the list already: + orders one pack more")));
        };
        let mut changed = view.clone();
        let (pack, last) = (new.pack, changed.draft.lines.len());
        changed.draft.lines.push(new);
        let Some(here) = here else {
            self.view.drafts[self.page] = changed.clone();
            self.window.select(last, last + 1);
            return Effect::KeepDraft(Box::new(changed));
        };
        let question = say!(
            "{name} is on the list already, {pack}. Order {pack_2} besides?",
            name,
            pack = in_packs(view.draft.lines[here].pack),
            pack_2 = match pack {
                1 => word!("a single one").to_owned(),
                pack => say!("a pack of {pack}", pack),
            }
        );
        self.window.select(here, self.len());
        Effect::ask(question, word!("adds it"), word!("leaves the list as it is"), Effect::KeepDraft(Box::new(changed)))
    }
}

/// One pack that somebody adds.
fn added(offer: &Offer) -> DraftLine {
    DraftLine {
        why: None,
        item: offer.item,
        need: None,
        suggested: 0,
        packs: 1,
        pack: offer.pack,
        price: offer.price,
        code: offer.code.clone(),
        shelf_limits: false,
        mixed: offer.mixed.clone(),
    }
}

fn in_packs(pack: i64) -> String {
    if pack == 1 { word!("singly").to_owned() } else { say!("in packs of {pack}", pack) }
}

/// The most packs of a line that nobody is asked about.
pub(super) fn unusual(line: &DraftLine) -> i64 {
    line.suggested.saturating_mul(UNUSUAL_TIMES).max(UNUSUAL)
}

/// Packs as they are typed; none if nothing was.
fn packs_of(typed: &str) -> Result<Option<i64>, &'static str> {
    if typed.is_empty() {
        return Ok(None);
    }
    if !typed.bytes().all(|b| b.is_ascii_digit()) {
        return Err(word!("type a whole number of packs such as 2, or 0 for none"));
    }
    match typed.parse() {
        Ok(packs) if packs <= MOST_PACKS => Ok(Some(packs)),
        _ => Err(word!("more than 9999 packs is no order, and no bar code has that number")),
    }
}
