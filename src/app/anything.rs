//! One search over everything: screens, what can be done on them, items, drinks, suppliers and the set-up.

use super::{App, Found, Overlay, Purpose};
use crate::domain::rows::{Card, CardOf};
use crate::domain::venue::Moment;
use crate::tui::keymap::{self, Action, Binding, Does, Scope, Tab};
use crate::tui::screen::Effect;
use crate::tui::widget::finder::{Entry, Finder};

/// What was chosen last stands first, so much of it.
const RECENT: usize = 12;
/// Steps back from whatever is open on a screen that is gone to.
const BACK: usize = 4;

/// What can be done on a screen whatever its cursor is on.
const ALWAYS: &[Action] = &[
    Action::New,
    Action::NewLoss,
    Action::TakeFile,
    Action::CarryUp,
    Action::Worth,
    Action::WriteReport,
    Action::Budget,
    Action::Corners,
    Action::PriceChange,
    Action::LookBack,
    Action::FilesTaken,
    Action::Claims,
    Action::BookedBills,
    Action::People,
    Action::SetUp,
    Action::LastPeriod,
];

/// What moves about, or opens and closes: nothing that anybody looks for by its name.
fn moves(action: Action) -> bool {
    matches!(
        action,
        Action::Up
            | Action::Down
            | Action::PageUp
            | Action::PageDown
            | Action::First
            | Action::Last
            | Action::Back
            | Action::Open
            | Action::Next
            | Action::Previous
            | Action::PreviousLine
            | Action::Anything
            | Action::Find
            | Action::NextScreen
            | Action::PreviousScreen
    )
}

/// Where the keyboard is on a screen on which nothing is open.
fn at_rest(tab: Tab) -> Vec<Scope> {
    match tab {
        // With an order that is to come, and without one.
        Tab::Receive => vec![Scope::Receive, Scope::ReceiveNothing],
        other => other.scope().into_iter().collect(),
    }
}

/// What else people call it who know it by another word.
fn called(tab: Tab, action: Action) -> &'static str {
    match (tab, action) {
        (Tab::Stock, Action::New) => "new bottle product add",
        (Tab::Stock, Action::TakeFile) => "import spreadsheet list excel csv paste items",
        (Tab::Stock, Action::Change) => "edit rename item price size allergens barcode run out delist",
        (Tab::Stock, Action::Worth) => "stock value money over time",
        (Tab::Stock, Action::CarryUp) => "restock refill replenish fill up shelves",
        (Tab::Till, Action::TakeFile) => "import sales pos export csv receipts",
        (Tab::Till, Action::FilesTaken) => "import take back sales files",
        (Tab::Receive, Action::TakeFile) => "import invoice delivery e-invoice xml",
        (Tab::Receive, Action::Claims) => "credit missing short delivery damaged",
        (Tab::Receive, Action::BookedBills) => "invoices deliveries booked take back",
        (Tab::Losses, Action::NewLoss) => {
            "breakage broken spill waste spoiled comp staff drink transfer move write off"
        }
        (Tab::Orders, Action::MarkSent) => "send order place submit",
        (Tab::Orders, Action::WriteFiles) => "send order print export mail",
        (Tab::Orders, Action::AddItem) => "order more extra",
        (Tab::Orders, Action::Budget) => "limit cash spend cap",
        (Tab::Variance, Action::WriteReport) => "print export weekly shrinkage",
        (Tab::Variance, Action::AcceptCause) => "explain settle reason shrinkage",
        (Tab::House, Action::MakeBatch) => "syrup batch produced made cooked prep",
        (Tab::House, Action::New) => "syrup infusion recipe prep",
        (Tab::Drinks, Action::New) => "cocktail recipe spec add",
        (Tab::Drinks, Action::Change) => "cocktail recipe spec price edit rename",
        (Tab::Drinks, Action::PriceChange) => "price margin pour cost increase",
        (Tab::Drinks, Action::Corners) => "menu popular profit margin",
        (Tab::Suppliers, Action::New) => "vendor distributor add",
        (Tab::Suppliers, Action::Change) => "vendor distributor edit rename deadline minimum",
        (Tab::Book, Action::SetUp) => "settings preferences configuration options",
        (Tab::Book, Action::People) => "staff users pin sign in initials",
        (Tab::Book, Action::Undo) => "undo revert history",
        (_, Action::NextLook) => "theme colours colors contrast dark light",
        (_, Action::Help) => "keys shortcuts",
        _ => "",
    }
}

/// The same of a screen as a whole.
fn screen_called(tab: Tab) -> &'static str {
    match tab {
        Tab::Tonight => "home today watch list start",
        Tab::Count => "stocktake inventory counting",
        Tab::Variance => "shrinkage usage missing theft difference",
        Tab::Orders => "purchase reorder send order",
        Tab::Receive => "delivery invoice goods in van",
        Tab::Losses => "breakage waste spill",
        Tab::Stock => "bottles items inventory on hand",
        Tab::Par => "minimum level reorder",
        Tab::Drinks => "cocktails menu recipes price margin",
        Tab::House => "syrups batches prep infusions allergens",
        Tab::Till => "pos sales import mapping",
        Tab::Gauging => "weigh scale tare profiles bottle shape",
        Tab::Suppliers => "vendors distributors",
        Tab::Book => "history undo backup copies settings audit",
    }
}

/// A sentence of the help without its point.
fn said(binding: &Binding) -> &'static str {
    binding.help.trim_end_matches('.')
}

impl App {
    /// Opens the search.
    pub(super) fn search_anything(&mut self) {
        let mut entries = self.doings();
        entries.extend(self.things());
        // What was chosen before stands first, and stays first among what matches as well.
        let rank = |found: &Found| self.recent.iter().position(|recent| recent == found).unwrap_or(RECENT);
        entries.sort_by_key(|entry| rank(&entry.key));
        let finder = Finder::of("Find or do anything: Enter", entries);
        self.overlay = Overlay::Find(finder, Purpose::Anything);
    }

    /// The screens, and what can be done here and there.
    fn doings(&self) -> Vec<Entry<Found>> {
        let rights = self.setup.venue.rights;
        let here = self.screens.scope(self.tab);
        let mut out = Vec::new();
        let act = |binding: &Binding| match binding.does {
            Does::Act(action) if !moves(action) => Some(action),
            _ => None,
        };
        for binding in keymap::active(here, rights) {
            let Some(action) = act(binding).filter(|_| binding.scope != Scope::Always) else { continue };
            let to = self.tab.after(action);
            if to.is_some_and(|tab| !self.may_see(tab)) {
                continue;
            }
            let found = to.map_or(Found::Do(None, action), Found::Screen);
            let words = to.map_or_else(|| called(self.tab, action), screen_called);
            let words = format!("{} {words}", binding.hint);
            out.push(Entry::new(found, said(binding), &binding.keys[0].label()).also(&words));
        }
        for &tab in Tab::ALL.iter().filter(|tab| **tab != self.tab && self.may_see(**tab)) {
            let scopes = at_rest(tab);
            let Some(&scope) = scopes.first() else { continue };
            let does =
                |scope, action| keymap::active(scope, rights).any(|b| b.scope == scope && act(b) == Some(action));
            for binding in keymap::active(scope, rights).filter(|binding| binding.scope == scope) {
                let Some(action) = act(binding).filter(|action| ALWAYS.contains(action)) else { continue };
                if !scopes.iter().all(|scope| does(*scope, action)) {
                    continue;
                }
                let keys = format!("{} {}", tab.letter(), binding.keys[0].label());
                let words = format!("{} {} {}", binding.hint, tab.title(), called(tab, action));
                out.push(Entry::new(Found::Do(Some(tab), action), said(binding), &keys).also(&words));
            }
        }
        out
    }

    /// Items, drinks, suppliers; and the cards of what is set up, for whoever may change it.
    fn things(&self) -> Vec<Entry<Found>> {
        let setup = &self.setup;
        let manages = self.sees_costs();
        let stocked = setup.items.iter().filter(|item| item.stocked);
        let items = stocked.clone().map(|item| Entry::new(Found::Item(item.id), &item.name, "item"));
        let drinks = setup.drinks.iter().map(|drink| Entry::new(Found::Drink(drink.id), &drink.name, "drink"));
        let mut out: Vec<Entry<Found>> = items.chain(drinks).collect();
        if manages {
            let suppliers = setup.suppliers.iter();
            out.extend(suppliers.map(|s| Entry::new(Found::Supplier(s.id), &s.name, "supplier")));
            let card = |of, id: i64, name: &str| {
                Entry::new(Found::Card(of, Some(id)), &format!("Change {name}"), "change").also("edit rename")
            };
            out.extend(stocked.map(|item| card(CardOf::Item, item.id.0, &item.name)));
            out.extend(setup.suppliers.iter().map(|s| card(CardOf::Supplier, s.id.0, &s.name)));
            out.extend(setup.places.iter().map(|place| card(CardOf::Place, place.id.0, &place.name)));
            out.extend(setup.special.all().iter().map(|day| card(CardOf::Day, day.id.0, &day.what)));
            let bar = Entry::new(Found::Card(CardOf::Bar, None), "Change the bar itself", "change");
            out.push(bar.also("settings preferences configuration edit rename"));
            for of in [CardOf::Place, CardOf::Day] {
                let new = Entry::new(Found::Card(of, None), &format!("Take in {}", of.new_word()), "new");
                out.push(new.also(match of {
                    CardOf::Day => "holiday event closed",
                    _ => "add shelf room cellar",
                }));
            }
            let fields = Card::new(CardOf::Bar, None, 0, |_, _| String::new()).fields;
            out.extend(fields.iter().enumerate().map(|(n, field)| {
                let label = format!("The bar: {}", field.ask.title);
                Entry::new(Found::OfTheBar(n), &label, "change").also(&format!("settings {}", field.ask.about))
            }));
        }
        out
    }

    /// Goes to what was chosen, or does it.
    pub(super) fn found_anything(&mut self, found: Found, now: Moment) {
        self.recent.retain(|recent| *recent != found);
        self.recent.insert(0, found);
        self.recent.truncate(RECENT);
        match found {
            Found::Screen(tab) => {
                self.settle(now);
                self.go(tab, now);
            }
            Found::Do(None, action) => self.act(action, now),
            Found::Do(Some(tab), action) => {
                self.settle(now);
                self.go(tab, now);
                for _ in 0..BACK {
                    if self.tab != tab || at_rest(tab).contains(&self.scope()) || self.scope().is_typing() {
                        break;
                    }
                    let effect = self.screens.update(tab, Action::Back, now);
                    self.carry_out(effect, now);
                }
                if self.tab == tab && at_rest(tab).contains(&self.scope()) {
                    self.act(action, now);
                }
            }
            Found::Card(of, id) => self.carry_out(Effect::OpenCard(of, id), now),
            Found::OfTheBar(field) => {
                self.carry_out(Effect::OpenCard(CardOf::Bar, None), now);
                if let Overlay::Card(card) = &mut self.overlay {
                    card.go_to(field);
                }
            }
            Found::Item(_) => self.found(found, Purpose::GoTo, now),
            Found::Drink(drink) => {
                self.go(Tab::Drinks, now);
                self.screens.find_drink(drink);
            }
            Found::Supplier(supplier) => {
                self.go(Tab::Suppliers, now);
                self.screens.find_supplier(supplier);
            }
        }
    }
}
