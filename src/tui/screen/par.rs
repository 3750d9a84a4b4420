//! The Par levels screen: the level to fill every item up to, by hand and by demand, and how long the stock lasts.

mod back;
mod draw;
mod many;
mod page;
#[cfg(test)]
mod tests;

use super::Effect;
use crate::domain::measure::{Amount, decimal};
use crate::domain::par::ItemPar;
use crate::domain::rows::{LookBack, ParChange, ParView, difference, typed_par};
use crate::domain::venue::{Containers, Gtin, ItemId, Kind, ParFrom};
use crate::tui::keymap::{Action, Scope};
use crate::tui::widget::field::Field;
use crate::tui::widget::notice::Notice;
use crate::tui::widget::scroll::Scroll;
use crate::tui::widget::window::Window;
use back::Back;
use many::Many;
use std::cmp::Reverse;

/// Room for a bar code and more: what is too long is refused in words, not dropped.
const PAR_LENGTH: usize = 24;

/// A par up to so many containers is believed as it is typed, and one up to so many times what there was before.
const MUCH: Containers = Containers(100_000);
const TIMES: i64 = 10;

/// By what the list is ordered.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum Order {
    #[default]
    Name,
    Dry,
    Difference,
}

impl Order {
    fn next(self) -> Order {
        match self {
            Order::Name => Order::Dry,
            Order::Dry => Order::Difference,
            Order::Difference => Order::Name,
        }
    }

    fn words(self) -> &'static str {
        match self {
            Order::Name => word!("by name"),
            Order::Dry => word!("soonest dry first"),
            Order::Difference => word!("largest difference of both pars in money first"),
        }
    }
}

/// What lies over the list.
#[derive(Debug)]
enum Over {
    Page(ItemId, Scroll),
    Many(Many),
    Back(Box<Back>),
}

/// The list, and what lies over it.
#[derive(Debug)]
pub struct ParScreen {
    view: ParView,
    order: Order,
    /// The kind that is shown alone.
    kind: Option<Kind>,
    /// The pars that are shown, by their place in the view.
    lines: Vec<usize>,
    window: Window,
    over: Option<Over>,
    /// The par being typed, and for what.
    entry: Option<(ItemId, Field)>,
    /// The one that was handed to the book, to come back if the book refuses it.
    handed: Option<(ItemId, Field)>,
    /// What was changed here, the last of it at the end.
    changed: Vec<Vec<ParChange>>,
}

impl ParScreen {
    /// All items, by name.
    pub fn new(view: ParView) -> ParScreen {
        let mut screen = ParScreen {
            view,
            order: Order::default(),
            kind: None,
            lines: Vec::new(),
            window: Window::default(),
            over: None,
            entry: None,
            handed: None,
            changed: Vec::new(),
        };
        screen.arrange(None);
        screen
    }

    /// Which keys are live.
    pub fn scope(&self) -> Scope {
        match (&self.entry, &self.over) {
            (Some(_), _) => Scope::ParEntry,
            (None, Some(Over::Page(..))) => Scope::ParPage,
            (None, Some(Over::Many(_))) => Scope::ParMany,
            (None, Some(Over::Back(_))) => Scope::ParBack,
            (None, None) => Scope::Par,
        }
    }

    fn par(&self, item: ItemId) -> Option<&ItemPar> {
        self.view.pars.iter().find(|par| par.item == item)
    }

    /// The item of the page, or that under the cursor.
    fn here(&self) -> Option<&ItemPar> {
        match &self.over {
            Some(Over::Page(item, _)) => self.par(*item),
            _ => self.lines.get(self.window.selected()).and_then(|at| self.view.pars.get(*at)),
        }
    }

    fn under_cursor(&self) -> Option<ItemId> {
        let at = self.lines.get(self.window.selected())?;
        self.view.pars.get(*at).map(|par| par.item)
    }

    fn kind_of(&self, item: ItemId) -> Option<Kind> {
        self.view.setup.item(item).map(|item| item.kind)
    }

    fn name(&self, item: ItemId) -> &str {
        self.view.setup.item_name(item)
    }

    /// Chooses and sorts the lines anew, with the cursor on an item or where it was.
    fn arrange(&mut self, on: Option<ItemId>) {
        let view = &self.view;
        let shown = |par: &ItemPar| self.kind.is_none_or(|kind| self.kind_of(par.item) == Some(kind));
        let mut lines: Vec<usize> = (0..view.pars.len()).filter(|at| shown(&view.pars[*at])).collect();
        match self.order {
            Order::Name => {}
            Order::Dry => {
                let key = |at: &usize| {
                    let cover = &view.pars[*at].cover;
                    let lasts = cover.days.last().map_or(f64::INFINITY, |day| day.lasts);
                    (cover.days.is_empty(), cover.dry_by(0.5).is_none(), cover.dry_by(0.5), lasts)
                };
                lines.sort_by(|a, b| {
                    let (a, b) = (key(a), key(b));
                    (a.0, a.1, a.2).cmp(&(b.0, b.1, b.2)).then(a.3.total_cmp(&b.3))
                });
            }
            Order::Difference => {
                // Those of which one par only is known last.
                let key = |at: &usize| difference(view, &view.pars[*at]);
                lines.sort_by_cached_key(|at| {
                    Reverse(key(at).map(|(apart, worth)| {
                        (worth.map_or(0, |worth| worth.0.abs()), (apart.abs() * 1_000.0).round() as i64)
                    }))
                });
            }
        }
        let at = on.and_then(|item| lines.iter().position(|at| view.pars[*at].item == item));
        self.lines = lines;
        self.window.select(at.unwrap_or(self.window.selected()), self.lines.len());
    }

    /// What an action asks for.
    pub fn update(&mut self, action: Action) -> Effect {
        if self.entry.is_some() {
            return self.type_par(action);
        }
        match (self.over.take(), action) {
            (over @ (None | Some(Over::Page(..))), _) => {
                self.over = over;
                self.on_list_or_page(action)
            }
            (Some(Over::Many(_) | Over::Back(_)), Action::Back) => Effect::None,
            (Some(Over::Many(mut many)), _) => {
                let effect = many.apply(action, &self.view);
                self.over = Some(Over::Many(many));
                effect
            }
            (Some(Over::Back(mut back)), _) => {
                let effect = back.apply(action);
                self.over = Some(Over::Back(back));
                effect
            }
        }
    }

    fn on_list_or_page(&mut self, action: Action) -> Effect {
        match action {
            Action::Type(c) => return self.begin(c),
            Action::RuleByDemand => return self.rule_here(ParFrom::Demand),
            Action::RuleByHand => return self.rule_here(ParFrom::Hand),
            Action::TakeParAway => return self.take_away(),
            Action::Undo => return self.put_back(),
            Action::LookBack => return Effect::LookBack(back::USUAL),
            Action::WriteReport => return Effect::WritePars,
            Action::RuleMany => {
                let kind = self.here().and_then(|par| self.kind_of(par.item));
                self.over = Some(Over::Many(Many::new(kind)));
                return Effect::None;
            }
            _ => {}
        }
        if let Some(Over::Page(_, scroll)) = &mut self.over {
            match action {
                Action::Back | Action::Open => self.over = None,
                Action::Next => self.turn(1),
                Action::Previous => self.turn(-1),
                _ => {
                    scroll.apply(action);
                }
            }
            return Effect::None;
        }
        match action {
            Action::Open => self.over = self.under_cursor().map(|item| Over::Page(item, Scroll::default())),
            Action::Sort => {
                self.order = self.order.next();
                // One sorts to see what then stands first.
                self.window.select(0, self.lines.len());
                self.arrange(None);
            }
            Action::Grouping => self.next_kind(),
            _ => {
                self.window.apply(action, self.lines.len());
            }
        }
        Effect::None
    }

    /// The page of the item after or before.
    fn turn(&mut self, by: isize) {
        self.window.step(by, self.lines.len());
        self.over = self.under_cursor().map(|item| Over::Page(item, Scroll::default()));
    }

    /// All items, then those of each kind that there is.
    fn next_kind(&mut self) {
        let here = self.under_cursor();
        let is_there = |kind: &Kind| self.view.setup.items.iter().any(|item| item.kind == *kind);
        let kinds: Vec<Kind> = Kind::ALL.iter().copied().filter(is_there).collect();
        let at = self.kind.and_then(|kind| kinds.iter().position(|k| *k == kind));
        self.kind = kinds.get(at.map_or(0, |at| at + 1)).copied();
        self.arrange(here);
    }

    fn begin(&mut self, typed: char) -> Effect {
        let Some(item) = self.here().map(|par| par.item) else {
            return Effect::Say(Notice::info(word!("there is no item here to give a par")));
        };
        self.entry = Some((item, Field::with(PAR_LENGTH, typed.encode_utf8(&mut [0; 4]))));
        Effect::None
    }

    fn type_par(&mut self, action: Action) -> Effect {
        let Some((item, field)) = &mut self.entry else { return Effect::None };
        match action {
            Action::Accept | Action::AcceptDown => {
                let item = *item;
                if let Ok(gtin) = Gtin::parse(field.text().trim()) {
                    return self.scanned(&gtin);
                }
                let par = match typed_par(field.text()) {
                    Ok(par) => par,
                    Err(refused) => return Effect::Say(Notice::error(refused)),
                };
                self.handed = self.entry.take();
                if action == Action::AcceptDown {
                    match self.over {
                        Some(_) => self.turn(1),
                        None => self.window.step(1, self.lines.len()),
                    }
                }
                // Nothing typed changes nothing.
                par.map_or(Effect::None, |par| self.believed(item, par))
            }
            Action::Cancel => {
                self.entry = None;
                Effect::None
            }
            _ => {
                field.apply(action);
                Effect::None
            }
        }
    }

    /// A par that is far beyond all that there ever was is asked about once: a price or a bar code may have been typed.
    fn believed(&self, item: ItemId, par: Containers) -> Effect {
        let set = Effect::SetPar(item, Some(par));
        let size = self.view.setup.item(item).map_or(Amount::ZERO, |item| item.size);
        let known = self.par(item);
        let hand = known.and_then(|known| known.hand);
        let demand = known.and_then(|known| known.by_demand()).map(|par| par.level);
        let there = hand
            .into_iter()
            .chain(demand)
            .chain(known.and_then(|known| Some(known.on_hand.as_ref()?.amount)))
            .max()
            .unwrap_or(Amount::ZERO);
        let typed = par.of(size);
        if par.0 <= MUCH.0 || typed.0 <= there.0.saturating_mul(TIMES) {
            return set;
        }
        let show = self.view.setup.venue.show();
        let question = say!(
            "A par of {par} containers for {name}? So far {there} is the most that was there, set or asked for.",
            par = decimal::shown(par.0, 3),
            name = self.name(item),
            there = show.containers(there, size)
        );
        Effect::ask(question, word!("sets it"), word!("leaves it as it is"), set)
    }

    /// Text pasted or sent by a device all at once: a bar code goes to its item, all else into the par being typed.
    pub fn paste(&mut self, text: &str) -> Effect {
        if let Ok(gtin) = Gtin::parse(text.trim()) {
            return self.scanned(&gtin);
        }
        if let Some((_, field)) = &mut self.entry {
            field.paste(text);
        }
        Effect::None
    }

    /// A bar code is no par but an item: it is gone to.
    fn scanned(&mut self, gtin: &Gtin) -> Effect {
        self.entry = None;
        match self.view.setup.item_by_gtin(gtin).map(|item| item.id) {
            Some(item) => self.find(item).map_or(Effect::None, Effect::Say),
            None => Effect::Say(Notice::warning(say!("no item has the bar code {gtin}", gtin))),
        }
    }

    /// Lets one of the two pars rule the item.
    fn rule_here(&self, from: ParFrom) -> Effect {
        let Some(item) = self.here().map(|par| par.item) else { return Effect::None };
        let ruling = self.view.ruling(from, |id| id == item);
        match ruling.items.is_empty() {
            true => {
                let name = self.name(item);
                let by = from.said();
                Effect::Say(Notice::info(match from {
                    _ if ruling.already > 0 => say!("{name} is ruled by {by} already", name, by),
                    ParFrom::Hand => say!("no par of {name} is set by hand: type one", name),
                    ParFrom::Demand => say!("{name} has no par by demand yet; Enter says why", name),
                }))
            }
            false => Effect::RulePars(ruling.items, from),
        }
    }

    fn take_away(&self) -> Effect {
        let Some(par) = self.here() else { return Effect::None };
        let name = self.name(par.item);
        if par.hand.is_none() {
            return Effect::Say(Notice::info(say!("no par of {name} is set by hand", name)));
        }
        let take = Effect::SetPar(par.item, None);
        match par.by_demand() {
            Some(_) => take,
            None => Effect::ask(
                say!("{name} has no par by demand yet: without the one by hand it has none, and is not ordered.", name),
                word!("takes it away"),
                word!("leaves it"),
                take,
            ),
        }
    }

    fn put_back(&self) -> Effect {
        match self.changed.last() {
            Some(changes) => Effect::PutParsBack(changes.clone()),
            None => Effect::Say(Notice::info(word!("nothing more was changed here that could be put back"))),
        }
    }

    /// The book has changed pars.
    pub fn changed(&mut self, changes: Vec<ParChange>) {
        self.handed = None;
        if matches!(self.over, Some(Over::Many(_))) {
            self.over = None;
        }
        if !changes.is_empty() {
            self.changed.push(changes);
        }
    }

    /// The book has put back what was changed last, or never will.
    pub fn undone(&mut self) {
        self.changed.pop();
    }

    /// The book did not take the par: it is being typed again.
    pub fn refused(&mut self) {
        if let Some((item, field)) = self.handed.take() {
            if self.over.is_some() {
                self.over = Some(Over::Page(item, Scroll::default()));
            }
            self.arrange(Some(item));
            self.entry = Some((item, field));
        }
    }

    /// Shows what both pars would have done.
    pub fn looked_back(&mut self, weeks: usize, back: LookBack) {
        self.over = Some(Over::Back(Box::new(Back::new(weeks, back))));
    }

    /// Goes to an item, on the list or the page, whichever is open.
    pub fn find(&mut self, item: ItemId) -> Option<Notice> {
        if self.par(item).is_none() {
            return Some(Notice::warning(say!("{item} is not in this book", item = self.name(item))));
        }
        self.entry = None;
        if self.kind.is_some() && self.kind != self.kind_of(item) {
            self.kind = None;
        }
        self.arrange(Some(item));
        self.over = matches!(self.over, Some(Over::Page(..))).then(|| Over::Page(item, Scroll::default()));
        None
    }

    /// Takes a fresh view; the cursor and the page stay on the same item, and what is being typed stays.
    pub fn refresh(&mut self, view: ParView) {
        let here = self.under_cursor();
        self.view = view;
        self.arrange(here);
        let pars = &self.view.pars;
        let is_gone = |item: ItemId| !pars.iter().any(|par| par.item == item);
        self.over = self.over.take().filter(|over| !matches!(over, Over::Page(item, _) if is_gone(*item)));
        self.entry = self.entry.take().filter(|(item, _)| !is_gone(*item));
    }

    /// An amount of an item in containers.
    fn containers(&self, item: ItemId, amount: Amount) -> String {
        let size = self.view.setup.item(item).map_or(Amount::ZERO, |item| item.size);
        self.view.setup.venue.show().containers(amount, size)
    }
}
