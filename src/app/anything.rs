//! One search over everything: screens, what can be done on them, items, drinks, suppliers and the set-up.

use super::{App, Found, Overlay, Purpose};
use crate::domain::rows::CardOf;
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
            out.push(Entry::new(found, said(binding), &binding.keys[0].label()).also(binding.hint));
        }
        for &tab in Tab::ALL.iter().filter(|tab| **tab != self.tab && self.may_see(**tab)) {
            let Some(scope) = tab.scope() else { continue };
            for binding in keymap::active(scope, rights).filter(|binding| binding.scope == scope) {
                let Some(action) = act(binding).filter(|action| ALWAYS.contains(action)) else { continue };
                let keys = format!("{} {}", tab.letter(), binding.keys[0].label());
                let words = format!("{} {}", binding.hint, tab.title());
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
            let card =
                |of, id: i64, name: &str| Entry::new(Found::Card(of, Some(id)), &format!("Change {name}"), "card");
            out.extend(stocked.map(|item| card(CardOf::Item, item.id.0, &item.name)));
            out.extend(setup.suppliers.iter().map(|s| card(CardOf::Supplier, s.id.0, &s.name)));
            out.extend(setup.places.iter().map(|place| card(CardOf::Place, place.id.0, &place.name)));
            out.extend(setup.special.all().iter().map(|day| card(CardOf::Day, day.id.0, &day.what)));
            out.push(Entry::new(Found::Card(CardOf::Bar, None), "Change the bar itself", "card"));
            for of in [CardOf::Place, CardOf::Day] {
                out.push(Entry::new(Found::Card(of, None), &format!("Take in {}", of.new_word()), "card"));
            }
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
                    if self.tab != tab || Some(self.scope()) == tab.scope() || self.scope().is_typing() {
                        break;
                    }
                    let effect = self.screens.update(tab, Action::Back, now);
                    self.carry_out(effect, now);
                }
                if self.tab == tab && Some(self.scope()) == tab.scope() {
                    self.act(action, now);
                }
            }
            Found::Card(of, id) => self.carry_out(Effect::OpenCard(of, id), now),
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
