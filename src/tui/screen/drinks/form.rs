//! A drink being written: its name, price and service, what it takes, and what that comes to as it is typed.

use crate::domain::drink::{Serve, part_cost};
use crate::domain::measure::{Basis, Quantity, decimal};
use crate::domain::rows::{DrinkDraft, DrinksView};
use crate::domain::venue::{Drink, DrinkId, DrinkMethod, Glass, Ingredient, Menu, parse_day};
use crate::tui::keymap::Action;
use crate::tui::screen::parts::{Left, OF_DRINK, Parts, percent};
use crate::tui::screen::{Scene, serve};
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::facts::Facts;
use crate::tui::widget::field::Field;
use crate::tui::widget::notice::Notice;
use chrono::NaiveDate;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;

/// A field above the ingredients.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Head {
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

impl Head {
    const ALL: [Head; 9] =
        [Head::Name, Head::From, Head::Price, Head::Tax, Head::On, Head::Method, Head::Glass, Head::Holds, Head::Water];

    /// Title, the cells of the field, and the line of the head it stands on.
    fn place(self) -> (&'static str, u16, usize) {
        match self {
            Head::Name => ("Name", 34, 0),
            Head::From => ("From", 11, 0),
            Head::Price => ("Price", 10, 1),
            Head::Tax => ("Tax %", 6, 1),
            Head::On => ("On the menu", 5, 1),
            Head::Method => ("Method", 8, 1),
            Head::Glass => ("Glass", 18, 2),
            Head::Holds => ("holds", 9, 2),
            Head::Water => ("Water from ice %", 7, 2),
        }
    }

    fn step(self, by: isize) -> Option<Head> {
        let at = Head::ALL.iter().position(|head| *head == self)?;
        at.checked_add_signed(by).and_then(|at| Head::ALL.get(at)).copied()
    }
}

/// Lines of the head.
const HEAD_LINES: u16 = 3;

/// What came of an action.
pub(super) enum Done {
    NotYet,
    Say(Notice),
    Dropped,
    Kept(DrinkDraft),
}

/// A drink being written.
pub(super) struct DrinkForm {
    drink: Option<DrinkId>,
    /// The field with the cursor; none while it is in the ingredients.
    focus: Option<Head>,
    name: Field,
    from: Field,
    price: Field,
    tax: Field,
    on: bool,
    method: Option<DrinkMethod>,
    glass: Field,
    holds: Field,
    water: Field,
    parts: Parts,
    error: Option<(Head, String)>,
    /// Whether anything was changed, so that it is not thrown away by one key.
    changed: bool,
    leaving: bool,
}

impl DrinkForm {
    /// A new drink, with the tax that most drinks have.
    pub(super) fn new(view: &DrinksView) -> DrinkForm {
        let tax = usual_tax(view);
        DrinkForm {
            drink: None,
            focus: Some(Head::Name),
            name: Field::new(60),
            from: Field::new(10),
            price: Field::new(12),
            tax: Field::with(6, &tax.map_or(String::new(), |tax| decimal::plain(tax, 2))),
            on: true,
            method: None,
            glass: Field::new(40),
            holds: Field::new(12),
            water: Field::new(7),
            parts: Parts::new(&view.setup, OF_DRINK, &[]),
            error: None,
            changed: false,
            leaving: false,
        }
    }

    /// A drink as a version has it, or as it is today, from today on.
    pub(super) fn of(view: &DrinksView, drink: &Drink, version: Option<usize>) -> DrinkForm {
        let setup = &view.setup;
        let today = view.larder.day;
        let days = super::page::versions(drink);
        let from = version.and_then(|n| days.get(n).copied());
        // A version is looked at as it is on its first day; without one, today's is meant.
        let day = from.map_or(today, |from| from.unwrap_or(NaiveDate::MIN));
        let menu = drink.menu.at(day).map(|(_, menu)| menu);
        let spec = drink.specs.at(day).map_or(&[][..], |(_, spec)| spec);
        let glass = menu.and_then(|menu| menu.glass.as_deref()).unwrap_or_default();
        let begins = match from {
            Some(Some(day)) if day > today => day,
            _ => today,
        };
        DrinkForm {
            drink: Some(drink.id),
            name: Field::with(60, &drink.name),
            from: Field::with(10, &begins.to_string()),
            price: menu.map_or(Field::new(12), |menu| Field::with(12, &setup.venue.currency.plain(menu.price))),
            tax: menu.and_then(|menu| menu.tax).map_or(Field::new(6), |tax| Field::with(6, &decimal::plain(tax, 2))),
            on: menu.is_none_or(|menu| menu.on),
            method: menu.and_then(|menu| menu.method),
            glass: Field::with(40, glass),
            holds: Field::with(12, &held(setup.glass(glass))),
            water: menu
                .and_then(|menu| menu.dilution)
                .map_or(Field::new(7), |water| Field::with(7, &decimal::plain(water, 2))),
            parts: Parts::new(setup, OF_DRINK, spec),
            ..DrinkForm::new(view)
        }
    }

    pub(super) fn apply(&mut self, action: Action, view: &DrinksView) -> Done {
        let leaving = std::mem::take(&mut self.leaving);
        match action {
            Action::Cancel if self.changed && !leaving => {
                self.leaving = true;
                return Done::Say(Notice::warning("Esc once more throws away what was written; Ctrl-S keeps it"));
            }
            Action::Cancel => return Done::Dropped,
            Action::Save => return self.save(view),
            Action::RemoveLine => {
                if self.focus.is_none() {
                    self.changed = true;
                    self.parts.remove(&view.setup);
                }
            }
            Action::Accept | Action::NextField => {
                let left = match self.focus {
                    Some(head) => self.leave(head, view),
                    None if action == Action::Accept => self.parts.accept(&view.setup),
                    None => self.parts.next(&view.setup),
                };
                if matches!(left, Left::Done) {
                    return self.save(view);
                }
            }
            Action::PreviousField => self.back(view, false),
            Action::Up | Action::Down if self.focus.is_none() && self.parts.is_choosing() => {
                self.parts.edit(action);
            }
            Action::Up => self.back(view, true),
            Action::Down => match self.focus {
                Some(head) => {
                    let (.., line) = head.place();
                    let next = Head::ALL.into_iter().find(|other| other.place().2 > line);
                    self.go(next, view);
                }
                None => {
                    self.parts.line(1, &view.setup);
                }
            },
            _ => self.edit(action, view),
        }
        Done::NotYet
    }

    fn edit(&mut self, action: Action, view: &DrinksView) {
        self.error = None;
        let Some(head) = self.focus else {
            self.changed |= self.parts.edit(action);
            return;
        };
        let known = self.glass.text().to_owned();
        let did = match head {
            Head::On => match action {
                Action::CursorLeft | Action::CursorRight | Action::Type(' ') => {
                    self.on = !self.on;
                    true
                }
                Action::Type('y' | 'Y') => std::mem::replace(&mut self.on, true) != self.on,
                Action::Type('n' | 'N') => std::mem::replace(&mut self.on, false) != self.on,
                _ => false,
            },
            Head::Method => {
                let before = self.method;
                self.method = chosen_method(action, before);
                self.method != before
            }
            Head::Name => self.name.apply(action),
            Head::From => self.from.apply(action),
            Head::Price => self.price.apply(action),
            Head::Tax => self.tax.apply(action),
            Head::Glass => self.glass.apply(action),
            Head::Holds => self.holds.apply(action),
            Head::Water => self.water.apply(action),
        };
        if head == Head::Glass && known != self.glass.text() {
            self.holds = Field::with(12, &held(view.setup.glass(self.glass.text())));
        }
        let moves = matches!(action, Action::CursorLeft | Action::CursorRight | Action::CursorHome | Action::CursorEnd);
        self.changed |= did && (!moves || matches!(head, Head::On | Head::Method));
    }

    pub(super) fn paste(&mut self, pasted: &str) {
        self.changed = true;
        self.error = None;
        match self.focus {
            None => self.parts.paste(pasted),
            Some(Head::Name) => self.name.paste(pasted),
            Some(Head::From) => self.from.paste(pasted),
            Some(Head::Price) => self.price.paste(pasted),
            Some(Head::Tax) => self.tax.paste(pasted),
            Some(Head::Glass) => self.glass.paste(pasted),
            Some(Head::Holds) => self.holds.paste(pasted),
            Some(Head::Water) => self.water.paste(pasted),
            Some(Head::On | Head::Method) => {}
        }
    }

    fn go(&mut self, to: Option<Head>, view: &DrinksView) {
        self.error = None;
        if to.is_none() && self.focus.is_some() {
            self.parts.enter(&view.setup, false);
        }
        self.focus = to;
    }

    /// Forwards out of a field of the head, if it is sound.
    fn leave(&mut self, head: Head, view: &DrinksView) -> Left {
        if head == Head::Glass {
            self.complete_glass(view);
        }
        if let Err(wrong) = self.check(head, view) {
            self.error = Some((head, wrong));
            return Left::Stays;
        }
        self.go(head.step(1), view);
        Left::Within
    }

    /// A glass of which only the beginning is typed, if there is one that begins so.
    fn complete_glass(&mut self, view: &DrinksView) {
        let typed = self.glass.text().trim().to_lowercase();
        let mut fit = view.setup.glasses.iter().filter(|glass| glass.name.to_lowercase().starts_with(&typed));
        if typed.is_empty() || view.setup.glass(&typed).is_some() {
            return;
        }
        if let (Some(only), None) = (fit.next(), fit.next()) {
            self.glass = Field::with(40, &only.name);
            self.holds = Field::with(12, &held(Some(only)));
        }
    }

    fn back(&mut self, view: &DrinksView, by_line: bool) {
        match self.focus {
            Some(head) if by_line => {
                let (.., line) = head.place();
                let before = Head::ALL.into_iter().find(|other| other.place().2 + 1 == line);
                self.go(Some(before.unwrap_or(head)), view);
            }
            Some(head) => self.go(Some(head.step(-1).unwrap_or(head)), view),
            None => {
                let left = if by_line { self.parts.line(-1, &view.setup) } else { self.parts.previous(&view.setup) };
                if matches!(left, Left::Before) {
                    self.go(Some(if by_line { Head::Glass } else { Head::Water }), view);
                }
            }
        }
    }

    fn check(&self, head: Head, view: &DrinksView) -> Result<(), String> {
        match head {
            Head::Name if self.name.text().trim().is_empty() => Err("give the drink a name".to_owned()),
            Head::From => self.begins().map(|_| ()),
            Head::Price => self.asked(view).map(|_| ()),
            Head::Tax => self.percent_of(&self.tax, 100).map(|_| ()),
            Head::Holds => self.vessel(view).map(|_| ()),
            Head::Water => self.percent_of(&self.water, 300).map(|_| ()),
            Head::Name | Head::On | Head::Method | Head::Glass => Ok(()),
        }
    }

    fn begins(&self) -> Result<Option<NaiveDate>, String> {
        let typed = self.from.text().trim();
        if typed.is_empty() {
            return Ok(None);
        }
        parse_day(typed)
            .map(Some)
            .map_err(|_| "expected a date such as 2026-11-20, or nothing for since ever".to_owned())
    }

    fn asked(&self, view: &DrinksView) -> Result<crate::domain::measure::Money, String> {
        let typed = self.price.text().trim().replace(',', ".");
        let read = view.setup.venue.currency.parse(&typed).map_err(|e| e.to_string())?;
        if read.0 < 0 { Err("expected a price of zero or more".to_owned()) } else { Ok(read) }
    }

    /// A percentage in hundredths; nothing typed is none at all.
    fn percent_of(&self, field: &Field, most: i64) -> Result<Option<i64>, String> {
        if field.text().trim().is_empty() {
            return Ok(None);
        }
        let read = percent(field.text()).filter(|p| *p <= most * 100);
        read.map(Some).ok_or_else(|| format!("expected percent from 0 to {most}, or nothing"))
    }

    /// The glass with what it holds, where that was typed and is not what the book has.
    fn vessel(&self, view: &DrinksView) -> Result<Option<Glass>, String> {
        let (name, typed) = (self.glass.text().trim(), self.holds.text().trim().replace(',', "."));
        let known = view.setup.glass(name);
        if name.is_empty() || typed.is_empty() || typed == held(known) {
            return Ok(None);
        }
        let holds = Quantity::parse_as(&typed, Basis::Volume, &view.setup.venue.small).map_err(|e| e.to_string())?;
        let ice = known.and_then(|glass| glass.ice);
        if ice.is_some_and(|ice| ice >= holds) {
            return Err("the ice alone takes more room than that".to_owned());
        }
        Ok(Some(Glass { name: known.map_or(name, |glass| &glass.name).to_owned(), holds, ice }))
    }

    /// Price and service as far as they can be read.
    fn menu(&self, view: &DrinksView) -> Option<Menu> {
        let glass = self.glass.text().trim();
        Some(Menu {
            price: self.asked(view).ok()?,
            tax: self.percent_of(&self.tax, 100).ok()?,
            method: self.method,
            glass: (!glass.is_empty()).then(|| glass.to_owned()),
            on: self.on,
            dilution: self.percent_of(&self.water, 300).ok()?,
        })
    }

    fn save(&mut self, view: &DrinksView) -> Done {
        for head in Head::ALL {
            if let Err(wrong) = self.check(head, view) {
                self.go(Some(head), view);
                self.error = Some((head, wrong));
                return Done::NotYet;
            }
        }
        let spec = match self.parts.all(&view.setup) {
            Ok(spec) => spec,
            Err(_) => {
                self.focus = None;
                return Done::NotYet;
            }
        };
        if spec.is_empty() {
            self.go(None, view);
            return Done::Say(Notice::error(
                "a drink takes something from stock: add an ingredient; what takes none is ignored in pos.csv",
            ));
        }
        match (self.begins(), self.menu(view), self.vessel(view)) {
            (Ok(from), Some(menu), Ok(glass)) => {
                let name = self.name.text().trim().to_owned();
                Done::Kept(DrinkDraft { drink: self.drink, name, from, menu, spec, glass })
            }
            _ => Done::NotYet,
        }
    }

    fn hint(&self, head: Head, view: &DrinksView) -> String {
        match head {
            Head::Name => "What guests and the menu call it".to_owned(),
            Head::From if self.drink.is_some() => {
                "From which business day on it is so; sales before it keep what was".to_owned()
            }
            Head::From => "From which business day on; empty is since ever".to_owned(),
            Head::Price => {
                let tax = if view.setup.venue.prices_include_tax { "with" } else { "without" };
                format!("What the guest pays, {tax} tax")
            }
            Head::Tax => "Percent; may stay empty".to_owned(),
            Head::On => "Whether it is on the menu: y or n".to_owned(),
            Head::Method => "How it is made: its first letter, or Left and Right".to_owned(),
            Head::Glass => {
                let known: Vec<String> = view.setup.glasses.iter().map(|glass| text::safe(&glass.name)).collect();
                match known.is_empty() {
                    true => "What it is served in; say what it holds in the next field".to_owned(),
                    false => format!("What it is served in: {}; or another", known.join(", ")),
                }
            }
            Head::Holds => "What the glass holds to the brim, such as 180 ml; for every drink in it".to_owned(),
            Head::Water => match self.method.and_then(|_| self.usual_water(view)) {
                Some(usual) => format!("Empty: as the method usually has it, {usual}; or as you measured it"),
                None => "Water that the ice adds, in percent of what was there before, as you measured it".to_owned(),
            },
        }
    }

    fn usual_water(&self, view: &DrinksView) -> Option<String> {
        let spec = self.parts.so_far(&view.setup);
        let serve = Serve::of(&view.larder, &view.setup, &spec, Some(&Menu { dilution: None, ..self.menu(view)? }));
        Some(serve::percent(serve.poured.dilution))
    }

    pub(super) fn draw(&mut self, view: &DrinksView, frame: &mut Frame, area: Rect, scene: Scene) {
        let theme = scene.theme;
        let figures = self.figures(view, area.width.into(), theme);
        // What it comes to keeps some lines, the ingredients have what they need of the rest.
        let tall = u16::try_from(figures.len()).unwrap_or(u16::MAX).clamp(3, 6);
        let room = area.height.saturating_sub(1 + HEAD_LINES + 2 + tall);
        let rows = self.parts.height().clamp(3, room.max(3));
        // What is said stands above the lines: the matches of an ingredient lie over what is below.
        let [title, head, said, lines, below] = Layout::vertical([
            Constraint::Length(1),
            Constraint::Length(HEAD_LINES),
            Constraint::Length(2),
            Constraint::Length(rows),
            Constraint::Fill(1),
        ])
        .areas(area);
        let named = self.drink.and_then(|id| view.setup.drink(id)).map(|drink| text::safe(&drink.name));
        let words = named.map_or("A new drink".to_owned(), |name| format!("{name}, from a day on"));
        frame.render_widget(Span::styled(text::fit(&words, title.width.into()), theme.title), title);
        self.draw_head(frame, head, theme);
        let costs = &view.larder.costs;
        let show = view.setup.venue.show();
        let cost = |part: &Ingredient| {
            part_cost(costs, part).map_or("?".to_owned(), |cost| show.money(cost.round(show.currency)))
        };
        self.parts.draw(frame, lines, &view.setup, self.focus.is_none(), cost, theme);
        frame.render_widget(Paragraph::new(self.said(view, said.width.into(), theme)), said);
        frame.render_widget(Paragraph::new(figures), below);
        if self.focus.is_none() {
            self.parts.draw_matches(frame, area, theme);
        }
    }

    fn draw_head(&self, frame: &mut Frame, area: Rect, theme: &Theme) {
        let mut at = [area.x; HEAD_LINES as usize];
        for head in Head::ALL {
            let (title, cells, line) = head.place();
            let y = area.y + u16::try_from(line).unwrap_or(0);
            let has_focus = self.focus == Some(head);
            let style = if has_focus { theme.title } else { theme.muted };
            let wide = u16::try_from(text::width(title)).unwrap_or(0) + 1;
            let x = at[line];
            let label = Rect { x, y, width: wide.min(area.right().saturating_sub(x)), height: 1 };
            frame.render_widget(Span::styled(title, style), label);
            let place = Rect { x: x + wide, y, width: cells.min(area.right().saturating_sub(x + wide)), height: 1 };
            let word = match head {
                Head::On => Some(if self.on { "yes" } else { "no" }.to_owned()),
                Head::Method => Some(self.method.map_or("not said", DrinkMethod::word).to_owned()),
                _ => None,
            };
            match (word, self.field(head)) {
                (Some(word), _) => {
                    let style = if has_focus { theme.selected } else { theme.typed };
                    frame.render_widget(Span::styled(text::pad_right(&word, cells.into()), style), place);
                }
                (None, Some(field)) => field.draw(frame, place, has_focus, theme),
                (None, None) => {}
            }
            at[line] = x + wide + cells + 2;
        }
    }

    fn field(&self, head: Head) -> Option<&Field> {
        Some(match head {
            Head::Name => &self.name,
            Head::From => &self.from,
            Head::Price => &self.price,
            Head::Tax => &self.tax,
            Head::Glass => &self.glass,
            Head::Holds => &self.holds,
            Head::Water => &self.water,
            Head::On | Head::Method => return None,
        })
    }

    fn said(&self, view: &DrinksView, wide: usize, theme: &Theme) -> Vec<Line<'static>> {
        let said = match self.focus {
            Some(head) => match self.error.as_ref().filter(|(at, _)| *at == head) {
                Some((_, wrong)) => Err(wrong.clone()),
                None => Ok(self.hint(head, view)),
            },
            None => self.parts.message(&view.setup, true),
        };
        crate::tui::screen::told(said, wide, theme)
    }

    /// What it comes to as far as it is written.
    fn figures(&self, view: &DrinksView, wide: usize, theme: &Theme) -> Vec<Line<'static>> {
        let mut page = Facts::new(serve::LABEL + 2, wide, theme);
        let spec = self.parts.so_far(&view.setup);
        if spec.is_empty() {
            return page.lines;
        }
        let menu = self.menu(view);
        let mut reckoned = Serve::of(&view.larder, &view.setup, &spec, menu.as_ref());
        // A size that is being typed counts already.
        if let Ok(Some(glass)) = self.vessel(view) {
            reckoned.room = Some(glass.room());
        }
        serve::earns(&mut page, &view.setup, &reckoned, menu.as_ref());
        serve::glass(&mut page, &view.setup, &reckoned, menu.as_ref());
        serve::allergens(&mut page, &view.setup, &reckoned.allergens);
        page.lines
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
            let c = c.to_ascii_lowercase();
            let begins = |n: &usize| nth(*n).is_some_and(|method| method.word().starts_with(c));
            (1..=len).map(|step| (at + step) % len).find(begins).map_or(here, nth)
        }
        Action::EraseBack | Action::EraseForward | Action::ClearField => None,
        _ => here,
    }
}
