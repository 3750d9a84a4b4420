//! One search over everything: screens, what can be done on them, items, drinks, suppliers and the set-up.

use super::{App, Found, Overlay, Purpose};
use crate::domain::rows::{Card, CardOf};
use crate::domain::venue::Moment;
use crate::tui::keymap::{self, Action, Binding, Does, Scope, Tab};
use crate::tui::screen::Effect;
use crate::tui::widget::finder::{Entry, Finder};
use crate::words;

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
    Action::WriteFiles,
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
        (Tab::Stock, Action::New) => text!("new bottle product add"),
        (Tab::Stock, Action::TakeFile) => text!("import spreadsheet list csv paste items"),
        (Tab::Stock, Action::Change) => text!("edit rename item price size allergens barcode run out delist"),
        (Tab::Stock, Action::Worth) => text!("stock value money over time"),
        (Tab::Stock, Action::CarryUp) => text!("restock refill replenish fill up shelves"),
        (Tab::Till, Action::TakeFile) => text!("import sales pos export csv receipts"),
        (Tab::Till, Action::FilesTaken) => text!("import take back sales files"),
        (Tab::Receive, Action::TakeFile) => text!("import invoice delivery e-invoice xml"),
        (Tab::Receive, Action::Claims) => text!("credit missing short delivery damaged"),
        (Tab::Receive, Action::BookedBills) => text!("invoices deliveries booked take back"),
        (Tab::Losses, Action::NewLoss) => {
            text!("breakage broken spill waste spoiled comp staff drink transfer move write off")
        }
        (Tab::Orders, Action::MarkSent) => text!("send order place submit"),
        (Tab::Orders, Action::WriteFiles) => text!("send order print export pdf mail file"),
        (Tab::Orders, Action::AddItem) => text!("order more extra"),
        (Tab::Orders, Action::Budget) => text!("limit cash spend cap"),
        (Tab::Variance, Action::WriteReport) => text!("print export pdf report sheet weekly shrinkage"),
        (Tab::Par, Action::WriteReport) => text!("print export list pictures"),
        (Tab::Count, Action::WriteFiles) => text!("print export pdf count sheet list paper"),
        (Tab::Drinks, Action::WriteFiles) => text!("print export menu list"),
        (Tab::Variance, Action::LookBack) => text!("trend history weeks over time shrinkage"),
        (Tab::Variance, Action::AcceptCause) => text!("explain settle reason shrinkage"),
        (Tab::House, Action::MakeBatch) => text!("syrup batch produced made cooked prep"),
        (Tab::House, Action::New) => text!("syrup infusion recipe prep"),
        (Tab::Drinks, Action::New) => text!("cocktail recipe spec add"),
        (Tab::Drinks, Action::Change) => text!("cocktail recipe spec price edit rename"),
        (Tab::Drinks, Action::PriceChange) => text!("price margin pour cost increase"),
        (Tab::Drinks, Action::Corners) => text!("menu popular profit margin"),
        (Tab::Suppliers, Action::New) => text!("vendor distributor add"),
        (Tab::Suppliers, Action::Change) => text!("vendor distributor edit rename deadline minimum"),
        (Tab::Book, Action::SetUp) => text!("settings preferences configuration options"),
        (Tab::Book, Action::People) => text!("staff users pin sign in initials"),
        (Tab::Book, Action::Undo) => text!("undo revert history"),
        (_, Action::NextLook) => text!("theme colours colors contrast dark light"),
        (_, Action::Help) => text!("keys shortcuts"),
        _ => "",
    }
}

/// The same of a screen as a whole.
fn screen_called(tab: Tab) -> &'static str {
    match tab {
        Tab::Tonight => text!("home today watch list start"),
        Tab::Count => text!("stocktake inventory counting"),
        Tab::Variance => text!("shrinkage usage missing theft difference"),
        Tab::Orders => text!("purchase reorder send order"),
        Tab::Receive => text!("delivery invoice goods in van"),
        Tab::Losses => text!("breakage waste spill"),
        Tab::Stock => text!("bottles items inventory on hand"),
        Tab::Par => text!("minimum level reorder"),
        Tab::Drinks => text!("cocktails menu recipes price margin"),
        Tab::House => text!("syrups batches prep infusions allergens"),
        Tab::Till => text!("pos sales import mapping"),
        Tab::Gauging => text!("weigh scale tare profiles bottle shape"),
        Tab::Suppliers => text!("vendors distributors"),
        Tab::Book => text!("history undo backup copies settings audit"),
    }
}

/// By the words of the language spoken here and by those of English: many know the screens of other programs by these.
fn both(words: &'static str) -> String {
    format!("{words} {}", words::find(words))
}

/// A sentence of the help without its point.
fn said(binding: &Binding) -> &'static str {
    binding.said_help().trim_end_matches('.')
}

impl App {
    /// Opens the search.
    pub(super) fn search_anything(&mut self) {
        let mut entries = self.doings();
        entries.extend(self.things());
        // What was chosen before stands first, and stays first among what matches as well.
        let rank = |found: &Found| self.recent.iter().position(|recent| recent == found).unwrap_or(RECENT);
        entries.sort_by_key(|entry| rank(&entry.key));
        let finder = Finder::of(word!("Find or do anything: Enter"), entries);
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
            let words = both(to.map_or_else(|| called(self.tab, action), screen_called));
            let words = format!("{} {words}", binding.said_hint());
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
                let words = format!("{} {} {}", binding.said_hint(), tab.title(), both(called(tab, action)));
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
        let items = stocked.clone().map(|item| Entry::new(Found::Item(item.id), &item.name, word!("item")));
        let drinks = setup.drinks.iter().map(|drink| Entry::new(Found::Drink(drink.id), &drink.name, word!("drink")));
        let mut out: Vec<Entry<Found>> = items.chain(drinks).collect();
        if manages {
            let suppliers = setup.suppliers.iter();
            out.extend(suppliers.map(|s| Entry::new(Found::Supplier(s.id), &s.name, word!("supplier"))));
            let card = |of, id: i64, name: &str| {
                Entry::new(Found::Card(of, Some(id)), &say!("Change {name}", name), word!("change"))
                    .also(word!("edit rename"))
            };
            out.extend(stocked.map(|item| card(CardOf::Item, item.id.0, &item.name)));
            out.extend(setup.suppliers.iter().map(|s| card(CardOf::Supplier, s.id.0, &s.name)));
            out.extend(setup.places.iter().map(|place| card(CardOf::Place, place.id.0, &place.name)));
            out.extend(setup.special.all().iter().map(|day| card(CardOf::Day, day.id.0, &day.what)));
            let bar = Entry::new(Found::Card(CardOf::Bar, None), word!("Change the bar itself"), word!("change"));
            out.push(bar.also(word!("settings preferences configuration edit rename")));
            for of in [CardOf::Place, CardOf::Day] {
                let new = Entry::new(
                    Found::Card(of, None),
                    &say!("Take in {new_word}", new_word = of.new_word()),
                    word!("new"),
                );
                out.push(new.also(match of {
                    CardOf::Day => word!("holiday event closed"),
                    _ => word!("add shelf room cellar"),
                }));
            }
            let fields = Card::new(CardOf::Bar, None, 0, |_, _| String::new()).fields;
            out.extend(fields.iter().enumerate().map(|(n, field)| {
                let label = say!("The bar: {title}", title = words::find(field.ask.title));
                let about = words::find(field.ask.about);
                // Whoever cannot read the language that is set looks for it in another.
                let tongues = if field.ask.column == "language" {
                    "language Sprache English Deutsch German Englisch"
                } else {
                    ""
                };
                Entry::new(Found::OfTheBar(n), &label, word!("change")).also(&say!(
                    "settings {about} {tongues}",
                    about,
                    tongues
                ))
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
