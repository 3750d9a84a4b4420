//! A drink being written: its name, price and service, what it takes, and what that comes to as it is typed.

use crate::domain::drink::Serve;
use crate::domain::measure::{Basis, Quantity, decimal};
use crate::domain::rows::{DrinkDraft, DrinksView};
use crate::domain::venue::{Drink, DrinkId, DrinkMethod, Glass, Ingredient, Menu, Setup};
use crate::tui::keymap::Action;
use crate::tui::screen::parts::{OF_DRINK, Parts, percent};
use crate::tui::screen::writing::{
    Done, Form, FormPage, Head, Shown, Writing, begins, changed_meanwhile, from_hint, is_move,
};
use crate::tui::screen::{Scene, serve};
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::facts::Facts;
use crate::tui::widget::field::Field;
use crate::tui::widget::notice::Notice;
use chrono::NaiveDate;
use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::Line;

/// A field above the ingredients.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Of {
    Name,
    From,
    Price,
    Tax,
    On,
    Method,
    Glass,
    Holds,
    Water,
}

impl Head for Of {
    const ALL: &'static [Of] =
        &[Of::Name, Of::From, Of::Price, Of::Tax, Of::On, Of::Method, Of::Glass, Of::Holds, Of::Water];

    fn place(self) -> (&'static str, u16, usize) {
        match self {
            Of::Name => (word!("Name"), 34, 0),
            Of::From => (word!("day" => "From"), 11, 0),
            Of::Price => (word!("Price"), 10, 1),
            Of::Tax => (word!("Tax %"), 6, 1),
            Of::On => (word!("On the menu"), 5, 1),
            Of::Method => (word!("Method"), 8, 1),
            Of::Glass => (word!("Glass"), 18, 2),
            Of::Holds => (word!("holds"), 9, 2),
            Of::Water => (word!("Water from ice %"), 7, 2),
        }
    }
}

/// A drink being written.
pub(super) struct DrinkForm {
    drink: Option<DrinkId>,
    /// The drink as it was when the form was opened, or last said to have changed.
    seen: Option<Drink>,
    today: NaiveDate,
    writing: Writing<Of>,
    name: Field,
    from: Field,
    price: Field,
    tax: Field,
    on: bool,
    method: Option<DrinkMethod>,
    glass: Field,
    holds: Field,
    water: Field,
}

impl DrinkForm {
    /// A new drink, with the tax that most drinks have.
    pub(super) fn new(view: &DrinksView) -> DrinkForm {
        let tax = usual_tax(view);
        DrinkForm {
            drink: None,
            seen: None,
            today: view.larder.day,
            writing: Writing::new(Of::Name, Parts::new(&view.setup, OF_DRINK, &[])),
            name: Field::new(60),
            from: Field::new(10),
            price: Field::new(12),
            tax: Field::with(6, &tax.map_or(String::new(), |tax| decimal::shown(tax, 2))),
            on: true,
            method: None,
            glass: Field::new(40),
            holds: Field::new(12),
            water: Field::new(7),
        }
    }

    /// A drink as a version has it, or as it is today, from today on.
    pub(super) fn of(view: &DrinksView, drink: &Drink, version: Option<usize>) -> DrinkForm {
        let setup = &view.setup;
        let today = view.larder.day;
        let days = drink.version_days();
        let from = version.and_then(|n| days.get(n).copied());
        // A version is looked at as it is on its first day; without one, today's is meant.
        let day = from.map_or(today, |from| from.unwrap_or(NaiveDate::MIN));
        let menu = drink.menu.at(day).map(|(_, menu)| menu);
        let spec = drink.specs.at(day).map_or(&[][..], |(_, spec)| spec);
        let glass = menu.and_then(|menu| menu.glass.as_deref()).unwrap_or_default();
        // One that begins later is changed from then on; without a version, that is the first.
        let first = || days.first().copied().flatten();
        let begins = from.unwrap_or_else(first).filter(|from| *from > today).unwrap_or(today);
        DrinkForm {
            drink: Some(drink.id),
            seen: Some(drink.clone()),
            today,
            name: Field::with(60, &drink.name),
            from: Field::with(10, &begins.to_string()),
            price: menu.map_or(Field::new(12), |menu| Field::with(12, &setup.venue.currency.shown(menu.price))),
            tax: menu.and_then(|menu| menu.tax).map_or(Field::new(6), |tax| Field::with(6, &decimal::shown(tax, 2))),
            on: menu.is_none_or(|menu| menu.on),
            method: menu.and_then(|menu| menu.method),
            glass: Field::with(40, glass),
            holds: Field::with(12, &held(setup.glass(glass))),
            water: menu
                .and_then(|menu| menu.dilution)
                .map_or(Field::new(7), |water| Field::with(7, &decimal::shown(water, 2))),
            writing: Writing::new(Of::Name, Parts::new(setup, OF_DRINK, spec)),
        }
    }

    /// What an action comes to.
    pub(super) fn act(&mut self, action: Action, view: &DrinksView) -> Done<Box<DrinkDraft>> {
        self.apply(action, &view.setup).or_save(|| self.save(&view.setup))
    }

    /// Another glass than before holds what the book has of it, or nothing yet.
    fn other_glass(&mut self, before: &str, setup: &Setup) {
        if before != self.glass.text() {
            self.holds = Field::with(12, &held(setup.glass(self.glass.text())));
        }
    }

    /// A glass of which only the beginning is typed, if there is one that begins so.
    fn complete_glass(&mut self, setup: &Setup) {
        let typed = self.glass.text().trim().to_lowercase();
        let mut fit = setup.glasses.iter().filter(|glass| glass.name.to_lowercase().starts_with(&typed));
        if typed.is_empty() || setup.glass(&typed).is_some() {
            return;
        }
        if let (Some(only), None) = (fit.next(), fit.next()) {
            self.glass = Field::with(40, &only.name);
            self.holds = Field::with(12, &held(Some(only)));
        }
    }

    /// A field of the head that is typed into.
    fn typed_mut(&mut self, head: Of) -> Option<&mut Field> {
        Some(match head {
            Of::Name => &mut self.name,
            Of::From => &mut self.from,
            Of::Price => &mut self.price,
            Of::Tax => &mut self.tax,
            Of::Glass => &mut self.glass,
            Of::Holds => &mut self.holds,
            Of::Water => &mut self.water,
            Of::On | Of::Method => return None,
        })
    }

    fn begins(&self) -> Result<Option<NaiveDate>, String> {
        begins(self.from.text(), self.today)
    }

    fn asked(&self, setup: &Setup) -> Result<crate::domain::measure::Money, String> {
        let typed = decimal::pointed(self.price.text());
        let read = setup.venue.currency.parse(&typed).map_err(|e| e.to_string())?;
        if read.0 < 0 { Err(word!("expected a price of zero or more").to_owned()) } else { Ok(read) }
    }

    /// A percentage in hundredths; nothing typed is none at all.
    fn percent_of(&self, field: &Field, most: i64) -> Result<Option<i64>, String> {
        if field.text().trim().is_empty() {
            return Ok(None);
        }
        let read = percent(field.text()).filter(|p| *p <= most * 100);
        read.map(Some).ok_or_else(|| say!("expected percent from 0 to {most}, or nothing", most))
    }

    /// The glass with what it holds, where that was typed and is not what the book has.
    fn vessel(&self, setup: &Setup) -> Result<Option<Glass>, String> {
        let (name, typed) = (self.glass.text().trim(), decimal::pointed(self.holds.text()));
        let known = setup.glass(name);
        if name.is_empty() || typed.is_empty() || typed == held(known) {
            return Ok(None);
        }
        let holds = Quantity::parse_as(&typed, Basis::Volume, &setup.venue.small).map_err(|e| e.to_string())?;
        let ice = known.and_then(|glass| glass.ice);
        if ice.is_some_and(|ice| ice >= holds) {
            return Err(word!("the ice alone takes more room than that").to_owned());
        }
        Ok(Some(Glass { name: known.map_or(name, |glass| &glass.name).to_owned(), holds, ice }))
    }

    /// Price and service as far as they can be read; no price is one of zero, and nothing else is held up by it.
    fn menu(&self, setup: &Setup) -> Menu {
        let glass = self.glass.text().trim();
        Menu {
            price: self.asked(setup).unwrap_or_default(),
            tax: self.percent_of(&self.tax, 100).ok().flatten(),
            method: self.method,
            glass: (!glass.is_empty()).then(|| glass.to_owned()),
            on: self.on,
            dilution: self.percent_of(&self.water, 300).ok().flatten(),
        }
    }

    fn save(&mut self, setup: &Setup) -> Done<Box<DrinkDraft>> {
        let Some(spec) = self.sound(setup) else { return Done::NotYet };
        let is = self.drink.and_then(|id| setup.drink(id));
        if is != self.seen.as_ref() {
            self.seen = is.cloned();
            return Done::Say(changed_meanwhile(self.name.text()));
        }
        if spec.is_empty() {
            self.writing.go(None, setup);
            return Done::Say(Notice::error(word!("a drink takes something from stock: add an ingredient")));
        }
        match (self.begins(), self.vessel(setup)) {
            (Ok(from), Ok(glass)) => {
                let (name, menu) = (self.name.text().trim().to_owned(), self.menu(setup));
                Done::Kept(Box::new(DrinkDraft {
                    drink: self.drink,
                    name,
                    from,
                    menu,
                    spec,
                    glass,
                    seen: self.seen.clone(),
                }))
            }
            _ => Done::NotYet,
        }
    }

    fn hint(&self, head: Of, view: &DrinksView) -> String {
        match head {
            Of::Name => word!("What guests and the menu call it").to_owned(),
            Of::From => from_hint(self.from.text(), self.today, word!("sales before it keep what was")),
            Of::Price => {
                let tax = if view.setup.venue.prices_include_tax { word!("with") } else { word!("without") };
                say!("What the guest pays, {tax} tax", tax)
            }
            Of::Tax => word!("Percent; may stay empty").to_owned(),
            Of::On => say!("Whether it is on the menu: {yes} or {no}", yes = word!("yes"), no = word!("no")),
            Of::Method => word!("How it is made: its first letter, or Left and Right").to_owned(),
            Of::Glass => {
                let known: Vec<String> = view.setup.glasses.iter().map(|glass| text::safe(&glass.name)).collect();
                match known.is_empty() {
                    true => word!("What it is served in; say what it holds in the next field").to_owned(),
                    false => say!("What it is served in: {known}; or another", known = known.join(", ")),
                }
            }
            Of::Holds => word!("What the glass holds to the brim, such as 180 ml; for every drink in it").to_owned(),
            Of::Water => match self.method.and_then(|_| self.usual_water(view)) {
                Some(usual) => say!("Empty: as the method usually has it, {usual}; or as you measured it", usual),
                None => {
                    word!("Water that the ice adds, in percent of what was there before, as you measured it").to_owned()
                }
            },
        }
    }

    fn usual_water(&self, view: &DrinksView) -> Option<String> {
        let spec = self.writing.parts.so_far(&view.setup);
        let menu = Menu { dilution: None, ..self.menu(&view.setup) };
        let serve = Serve::of(&view.larder, &view.setup, &spec, Some(&menu));
        Some(serve::percent(serve.poured.dilution))
    }

    pub(super) fn draw(&mut self, view: &DrinksView, frame: &mut Frame, area: Rect, scene: Scene) {
        let (setup, theme) = (&view.setup, scene.theme);
        let cost = |part: &Ingredient| serve::part_cost_words(setup, &view.larder.costs, part);
        let named = self.drink.and_then(|id| setup.drink(id)).map(|drink| text::safe(&drink.name));
        let page = FormPage {
            setup,
            theme,
            title: named.map_or(word!("A new drink").to_owned(), |name| say!("{name}, from a day on", name)),
            hint: self.writing.focus.map_or(String::new(), |head| self.hint(head, view)),
            cost: &cost,
            figures: self.figures(view, area.width.into(), theme),
        };
        self.draw_form(frame, area, page);
    }

    /// What it comes to as far as it is written.
    fn figures(&self, view: &DrinksView, wide: usize, theme: &Theme) -> Vec<Line<'static>> {
        let mut page = Facts::new(serve::LABEL + 2, wide, theme);
        let (spec, chosen) = (self.writing.parts.so_far(&view.setup), self.writing.parts.chosen());
        if chosen.is_empty() {
            return page.lines;
        }
        // What some must avoid comes first: on a small screen the last lines are cut off.
        serve::allergens(&mut page, &view.setup, &view.larder.allergens.together(&chosen));
        if spec.is_empty() {
            return page.lines;
        }
        let menu = self.menu(&view.setup);
        let mut reckoned = Serve::of(&view.larder, &view.setup, &spec, Some(&menu));
        // A size that is being typed counts already.
        if let Ok(Some(glass)) = self.vessel(&view.setup) {
            reckoned.room = Some(glass.room());
        }
        serve::earns(&mut page, &view.setup, &reckoned, Some(&menu), self.asked(&view.setup).is_ok());
        serve::glass(&mut page, &view.setup, &reckoned, Some(&menu));
        page.lines
    }
}

impl Form for DrinkForm {
    type Head = Of;

    fn writing(&self) -> &Writing<Of> {
        &self.writing
    }

    fn writing_mut(&mut self) -> &mut Writing<Of> {
        &mut self.writing
    }

    /// A price is often decided last, when the cost is known.
    fn may_wait(&self, head: Of) -> bool {
        head == Of::Price && self.price.is_empty()
    }

    fn mark(&mut self, head: Of) {
        if head != Of::Name
            && let Some(field) = self.typed_mut(head)
        {
            field.mark();
        }
    }

    fn check(&self, head: Of, setup: &Setup) -> Result<(), String> {
        match head {
            Of::Name if self.name.text().trim().is_empty() => Err(word!("give the drink a name").to_owned()),
            Of::From => self.begins().map(|_| ()),
            Of::Price if self.price.is_empty() => Err(word!("give it a price").to_owned()),
            Of::Price => self.asked(setup).map(|_| ()),
            Of::Tax => self.percent_of(&self.tax, 100).map(|_| ()),
            Of::Holds => self.vessel(setup).map(|_| ()),
            Of::Water => self.percent_of(&self.water, 300).map(|_| ()),
            Of::Name | Of::On | Of::Method | Of::Glass => Ok(()),
        }
    }

    fn complete(&mut self, head: Of, setup: &Setup) {
        match (head, self.begins()) {
            (Of::Glass, _) => self.complete_glass(setup),
            (Of::From, Ok(Some(day))) => self.from = Field::with(10, &day.to_string()),
            _ => {}
        }
    }

    fn edit(&mut self, head: Of, action: Action, setup: &Setup) -> bool {
        match head {
            Of::On => {
                let before = self.on;
                self.on = match action {
                    Action::CursorLeft | Action::CursorRight | Action::Type(' ') => !before,
                    Action::Type(c) if starts(word!("yes"), c) => true,
                    Action::Type(c) if starts(word!("no"), c) => false,
                    _ => before,
                };
                self.on != before
            }
            Of::Method => {
                let before = self.method;
                self.method = chosen_method(action, before);
                self.method != before
            }
            _ => {
                let glass = self.glass.text().to_owned();
                let did = self.typed_mut(head).is_some_and(|field| field.apply(action));
                self.other_glass(&glass, setup);
                did && !is_move(action)
            }
        }
    }

    fn take(&mut self, head: Of, pasted: &str, setup: &Setup) {
        let glass = self.glass.text().to_owned();
        if let Some(field) = self.typed_mut(head) {
            field.paste(pasted);
        }
        self.other_glass(&glass, setup);
    }

    fn shown(&self, head: Of) -> Shown<'_> {
        match head {
            Of::Name => Shown::Field(&self.name),
            Of::From => Shown::Field(&self.from),
            Of::Price => Shown::Field(&self.price),
            Of::Tax => Shown::Field(&self.tax),
            Of::Glass => Shown::Field(&self.glass),
            Of::Holds => Shown::Field(&self.holds),
            Of::Water => Shown::Field(&self.water),
            Of::On => Shown::Choice(if self.on { word!("yes") } else { word!("no") }.to_owned()),
            Of::Method => Shown::Choice(self.method.map_or(word!("not said"), DrinkMethod::said).to_owned()),
        }
    }
}

/// What a glass holds, as it is written.
fn held(glass: Option<&Glass>) -> String {
    glass.map_or(String::new(), |glass| Quantity { basis: Basis::Volume, amount: glass.holds }.to_string())
}

/// The tax that most drinks have today.
fn usual_tax(view: &DrinksView) -> Option<i64> {
    let mut counts: Vec<(i64, usize)> = Vec::new();
    for tax in view.setup.drinks.iter().filter_map(|drink| view.menu(drink)?.tax) {
        match counts.iter_mut().find(|(known, _)| *known == tax) {
            Some((_, many)) => *many += 1,
            None => counts.push((tax, 1)),
        }
    }
    counts.into_iter().max_by_key(|(_, many)| *many).map(|(tax, _)| tax)
}

/// Whether a word begins with a letter, large or small.
fn starts(word: &str, letter: char) -> bool {
    word.to_lowercase().chars().next() == letter.to_lowercase().next()
}

/// Choosing a method: its first letter, or left and right; none is one of them.
fn chosen_method(action: Action, here: Option<DrinkMethod>) -> Option<DrinkMethod> {
    let all = DrinkMethod::ALL;
    let at = here.and_then(|method| all.iter().position(|m| *m == method)).map_or(0, |n| n + 1);
    let len = all.len() + 1;
    let nth = |n: usize| n.checked_sub(1).and_then(|n| all.get(n)).copied();
    match action {
        Action::CursorRight | Action::Type(' ') => nth((at + 1) % len),
        Action::CursorLeft => nth((at + len - 1) % len),
        Action::Type(c) => {
            let begins = |n: &usize| nth(*n).is_some_and(|method| starts(method.said(), c));
            (1..=len).map(|step| (at + step) % len).find(begins).map_or(here, nth)
        }
        Action::EraseBack | Action::EraseForward | Action::ClearField => None,
        _ => here,
    }
}
