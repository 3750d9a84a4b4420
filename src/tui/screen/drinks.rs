//! The drinks: what a serve takes, costs, brings in and contains; which sell; what another price would do.

mod change;
mod corners;
mod draw;
mod form;
mod many;
mod page;
#[cfg(test)]
mod tests;

use super::Effect;
use super::writing::{Done, Form as _};
use crate::domain::measure::number_of;
use crate::domain::rows::{DrinkDraft, DrinkLine, DrinksView, Selection};
use crate::domain::venue::{DrinkId, ItemId, name_key};
use crate::tui::keymap::{Action, Scope};
use crate::tui::text;
use crate::tui::widget::notice::Notice;
use crate::tui::widget::window::Window;
use change::PriceChange;
use corners::Corners;
pub(crate) use corners::nothing_to_compare;
use form::DrinkForm;
use many::ForMany;
pub(crate) use many::{BATCH_CAUTION, batch_cost, batch_short, batch_strength};
use page::Page;
pub use page::page_text;

/// By what the list is ordered.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum Order {
    #[default]
    Name,
    PourCost,
    Margin,
    Sold,
}

impl Order {
    const ALL: [Order; 4] = [Order::Name, Order::PourCost, Order::Margin, Order::Sold];

    /// Those that tell nothing of money.
    const OF_COUNTERS: [Order; 2] = [Order::Name, Order::Sold];

    fn word(self) -> &'static str {
        match self {
            Order::Name => word!("by name"),
            Order::PourCost => word!("highest pour cost first"),
            Order::Margin => word!("what brings in least first"),
            Order::Sold => word!("most sold first"),
        }
    }
}

/// What lies over the list.
enum Over {
    Page(Page),
    Corners(Corners),
    Change(Box<PriceChange>),
    Many(DrinkId, ForMany),
}

/// The list, and what lies over it; a form lies over all.
pub struct DrinksScreen {
    view: DrinksView,
    selection: Selection,
    order: Order,
    lines: Vec<DrinkLine>,
    window: Window,
    /// A drink that is shown though it is not among those chosen: it was just put on the menu or taken off, and the same
    /// key undoes that.
    held: Option<DrinkId>,
    over: Option<Over>,
    /// What a page was opened from, if it was not the list.
    behind: Option<Corners>,
    form: Option<Box<DrinkForm>>,
}

impl DrinksScreen {
    /// The drinks on the menu, by name.
    pub fn new(view: DrinksView) -> DrinksScreen {
        let mut screen = DrinksScreen {
            view,
            selection: Selection::default(),
            order: Order::default(),
            lines: Vec::new(),
            window: Window::default(),
            held: None,
            over: None,
            behind: None,
            form: None,
        };
        screen.arrange(None);
        screen
    }

    /// Which keys are live.
    pub fn scope(&self) -> Scope {
        match (&self.form, &self.over) {
            (Some(_), _) => Scope::DrinkForm,
            (None, Some(Over::Page(_))) => Scope::DrinkPage,
            (None, Some(Over::Corners(_))) => Scope::DrinkCorners,
            (None, Some(Over::Change(change))) if change.is_choosing() => Scope::Find,
            (None, Some(Over::Change(_))) => Scope::PriceChange,
            (None, Some(Over::Many(..))) => Scope::DrinkForMany,
            (None, None) => Scope::Drinks,
        }
    }

    /// Sorts the chosen drinks anew, with the cursor on a drink or where it was.
    fn arrange(&mut self, on: Option<DrinkId>) {
        self.lines = self.view.lines_and(self.selection, self.held);
        let earning = |line: &DrinkLine| line.serve.as_ref().and_then(|serve| serve.earning);
        match self.order {
            Order::Name => {}
            // What is not known stands first: it is what one comes here to see to.
            Order::PourCost => {
                let share = |line: &DrinkLine| earning(line).and_then(|e| e.pour_cost).unwrap_or(f64::INFINITY);
                self.lines.sort_by(|a, b| share(b).total_cmp(&share(a)));
            }
            Order::Margin => self.lines.sort_by_key(|line| earning(line).map(|e| e.margin)),
            Order::Sold => self.lines.sort_by_key(|line| std::cmp::Reverse(line.sold)),
        }
        let at = on.and_then(|drink| self.lines.iter().position(|line| line.drink == drink));
        self.window.select(at.unwrap_or(self.window.selected()), self.lines.len());
    }

    fn here(&self) -> Option<DrinkId> {
        self.lines.get(self.window.selected()).map(|line| line.drink)
    }

    /// What an action asks for.
    pub fn update(&mut self, action: Action) -> Effect {
        if let Some(form) = &mut self.form {
            return match form.act(action, &self.view) {
                Done::NotYet => Effect::None,
                Done::Say(notice) => Effect::Say(notice),
                Done::Dropped => {
                    self.form = None;
                    Effect::None
                }
                Done::Kept(draft) => self.keep(draft),
            };
        }
        match self.over.take() {
            None => self.on_list(action),
            Some(Over::Page(page)) => self.on_page(page, action),
            Some(Over::Corners(corners)) => self.on_corners(corners, action),
            Some(Over::Change(mut change)) => {
                if !change.apply(action, &self.view) {
                    self.over = Some(Over::Change(change));
                }
                Effect::None
            }
            Some(Over::Many(drink, mut many)) => {
                let effect = match many.apply(action, drink, &self.view) {
                    many::Done::Back => {
                        self.over = Some(Over::Page(Page::of(drink)));
                        return Effect::None;
                    }
                    many::Done::NotYet => Effect::None,
                    many::Done::Write(effect) => effect,
                };
                self.over = Some(Over::Many(drink, many));
                effect
            }
        }
    }

    fn on_list(&mut self, action: Action) -> Effect {
        let here = self.here();
        match action {
            Action::Open => self.over = here.map(|drink| Over::Page(Page::of(drink))),
            Action::New => self.form = Some(Box::new(DrinkForm::new(&self.view))),
            Action::Change => self.change(here, None),
            Action::Corners => {
                // Only what is alike can be compared: a bottle of wine says nothing about a mixed drink.
                self.over = Some(Over::Corners(Corners::new(Selection::Mixed, &self.view, here)));
            }
            Action::PriceChange => self.over = Some(Over::Change(Box::new(PriceChange::new(&self.view)))),
            Action::ToggleMenu => return self.toggle_menu(here),
            Action::Sort => {
                let orders = if self.view.sees_costs() { &Order::ALL[..] } else { &Order::OF_COUNTERS };
                self.order = next(orders, self.order);
                self.held = None;
                // One sorts to see what then stands first.
                self.window.select(0, self.lines.len());
                self.arrange(None);
            }
            Action::Grouping => {
                self.held = None;
                self.selection = next(Selection::ALL, self.selection);
                self.arrange(here);
            }
            _ => {
                self.window.apply(action, self.lines.len());
            }
        }
        Effect::None
    }

    fn on_page(&mut self, mut page: Page, action: Action) -> Effect {
        let drink = page.drink();
        let effect = match action {
            Action::Back | Action::Open => {
                self.over = self.behind.take().map(Over::Corners);
                return Effect::None;
            }
            Action::Next | Action::Previous => {
                self.window.step(if action == Action::Next { 1 } else { -1 }, self.lines.len());
                page = self.here().map_or(page, Page::of);
                Effect::None
            }
            Action::Change => {
                self.change(Some(drink), page.version());
                Effect::None
            }
            Action::ForMany => {
                self.over = Some(Over::Many(drink, ForMany::new()));
                return Effect::None;
            }
            Action::ToggleMenu => self.toggle_menu(Some(drink)),
            Action::DropVersion => page.drop_version(&self.view),
            _ => {
                page.apply(action, &self.view);
                Effect::None
            }
        };
        self.over = Some(Over::Page(page));
        effect
    }

    fn on_corners(&mut self, mut corners: Corners, action: Action) -> Effect {
        match action {
            Action::Back => return Effect::None,
            Action::Open => {
                if let Some(drink) = corners.here() {
                    self.show(drink);
                    self.behind = Some(corners);
                    return Effect::None;
                }
            }
            Action::Grouping => {
                let selection = next(Selection::ALL, corners.selection());
                corners = Corners::new(selection, &self.view, corners.here());
            }
            Action::WriteFiles => {
                let selection = corners.selection();
                self.over = Some(Over::Corners(corners));
                return Effect::WriteMenu(selection);
            }
            _ => corners.apply(action),
        }
        self.over = Some(Over::Corners(corners));
        Effect::None
    }

    /// Opens the form of a drink as one of its versions has it.
    fn change(&mut self, drink: Option<DrinkId>, version: Option<usize>) {
        let drink = drink.and_then(|id| self.view.setup.drink(id));
        self.form = drink.map(|drink| Box::new(DrinkForm::of(&self.view, drink, version)));
    }

    /// Keeps what was written; a day that is past is asked about first, since sales since then are reckoned anew.
    fn keep(&mut self, draft: Box<DrinkDraft>) -> Effect {
        let today = self.view.larder.day;
        let had = draft.drink.and_then(|id| self.view.setup.drink(id));
        let past = draft.from.is_none_or(|from| from < today);
        let keep = self.ask_of_glass(&draft, Effect::KeepDrink(draft.clone()));
        match had.filter(|_| past) {
            None => keep,
            Some(drink) => {
                let name = text::safe(&drink.name);
                let when = super::serve::since(draft.from);
                Effect::ask(
                    say!(
                        "This changes what {name} took {when}: sales since then are reckoned by it. To change it from \
                         today on, go back and give today's date.",
                        name,
                        when
                    ),
                    word!("changes it back then"),
                    word!("goes back to the form"),
                    keep,
                )
            }
        }
    }

    /// A size given to a glass that other drinks are served in as well is theirs at once, which is asked about first.
    fn ask_of_glass(&self, draft: &DrinkDraft, keep: Effect) -> Effect {
        let setup = &self.view.setup;
        let changed = draft.glass.as_ref().and_then(|glass| Some((setup.glass(&glass.name)?, glass)));
        let Some((was, glass)) = changed else { return keep };
        let is_in = |drink: &&crate::domain::venue::Drink| {
            let named = self.view.menu(drink).and_then(|menu| menu.glass.as_deref());
            Some(drink.id) != draft.drink && named.is_some_and(|name| name_key(name) == name_key(&glass.name))
        };
        let others = setup.drinks.iter().filter(is_in).count();
        if others == 0 {
            return keep;
        }
        let show = setup.venue.show();
        let amount = |amount| show.amount(crate::domain::measure::Basis::Volume, amount);
        Effect::ask(
            say!(
                "“{glass}” holds {holds} so far. {holds_2} instead changes it at once for {others} served in it as well. For another glass, go \
                 back and give it a name of its own.",
                glass = text::safe(&glass.name),
                holds = amount(was.holds),
                holds_2 = amount(glass.holds),
                others = number_of(others, word!("other drink"), word!("other drinks"))
            ),
            word!("changes the glass"),
            word!("goes back to the form"),
            keep,
        )
    }

    fn toggle_menu(&mut self, drink: Option<DrinkId>) -> Effect {
        self.held = drink;
        match drink.and_then(|id| self.view.setup.drink(id)) {
            Some(drink) => Effect::SetOnMenu(drink.id, !self.view.menu(drink).is_some_and(|menu| menu.on)),
            None => Effect::None,
        }
    }

    /// The book has kept what was written: its form is closed, and the drink shown.
    pub fn kept(&mut self, drink: DrinkId) {
        if self.form.take().is_some() {
            self.show(drink);
        }
    }

    fn show(&mut self, drink: DrinkId) {
        let listed = self.lines.iter().any(|line| line.drink == drink);
        if !listed && self.view.setup.drink(drink).is_some() {
            self.selection = Selection::All;
        }
        self.arrange(Some(drink));
        self.over = Some(Over::Page(Page::of(drink)));
    }

    /// Goes to a drink in the list.
    pub fn find_drink(&mut self, drink: DrinkId) {
        self.show(drink);
        (self.over, self.behind) = (None, None);
    }

    /// Text that came in one piece.
    pub fn paste(&mut self, text: &str) {
        match (&mut self.form, &mut self.over) {
            (Some(form), _) => form.paste(text, &self.view.setup),
            (None, Some(Over::Change(change))) => change.paste(text),
            (None, Some(Over::Many(_, many))) => many.paste(text),
            (None, _) => {}
        }
    }

    /// Goes to the first drink in the list that takes an item.
    pub fn find(&mut self, item: ItemId) -> Option<Notice> {
        let takes = |line: &DrinkLine| {
            let spec = self.view.setup.drink(line.drink).and_then(|drink| drink.specs.at(self.view.larder.day));
            spec.is_some_and(|(_, spec)| spec.iter().any(|part| part.item == item))
        };
        // Found once more, the next one.
        let after = self.window.selected() + 1;
        let len = self.lines.len();
        let found = (0..len).map(|n| (after + n) % len).find(|n| takes(&self.lines[*n]));
        let name = text::safe(self.view.setup.item_name(item));
        match found {
            Some(at) => {
                self.window.select(at, len);
                (self.over, self.behind) = (None, None);
                let many = self.lines.iter().filter(|line| takes(line)).count();
                Some(Notice::info(say!(
                    "{many} of these drinks take {name}; find it again for the next one",
                    many,
                    name
                )))
            }
            None => Some(Notice::info(say!("none of these drinks takes {name}", name))),
        }
    }

    /// Takes a fresh view; the cursor stays on the same drink, and what is being written stays.
    pub fn refresh(&mut self, view: DrinksView) {
        let here = self.here();
        self.view = view;
        self.arrange(here);
        let gone = |drink: DrinkId| self.view.setup.drink(drink).is_none();
        if let Some(corners) = &mut self.behind {
            *corners = Corners::new(corners.selection(), &self.view, corners.here());
        }
        match &mut self.over {
            Some(Over::Page(page)) if gone(page.drink()) => self.over = self.behind.take().map(Over::Corners),
            Some(Over::Many(drink, _)) if gone(*drink) => self.over = self.behind.take().map(Over::Corners),
            Some(Over::Corners(corners)) => *corners = Corners::new(corners.selection(), &self.view, corners.here()),
            Some(Over::Change(change)) => change.refresh(&self.view),
            _ => {}
        }
    }
}

/// The one after, and round again.
fn next<T: Copy + PartialEq>(all: &[T], here: T) -> T {
    let at = all.iter().position(|one| *one == here).unwrap_or(0);
    all[(at + 1) % all.len()]
}
