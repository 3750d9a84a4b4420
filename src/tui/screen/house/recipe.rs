//! A recipe being written: what one batch takes and makes, and what that comes to as it is typed.

use crate::domain::drink::{amount_of, circle_from, circle_words, computed_yield, part_cost};
use crate::domain::measure::{Amount, Basis, Decimal, ExactCost, UnitCost};
use crate::domain::rows::{HouseView, Made, RecipeDraft};
use crate::domain::venue::{CountBy, Ingredient, Item, ItemId, Kind, Recipe, Water, parse_day};
use crate::tui::keymap::Action;
use crate::tui::screen::parts::{Left, OF_RECIPE, Parts};
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
    Holds,
    From,
    Makes,
    Water,
    Keeps,
}

impl Head {
    const ALL: [Head; 6] = [Head::Name, Head::From, Head::Holds, Head::Makes, Head::Water, Head::Keeps];

    /// Title, the cells of the field, and the line of the head it stands on.
    fn place(self) -> (&'static str, u16, usize) {
        match self {
            Head::Name => ("Name", 34, 0),
            Head::Holds => ("one holds", 9, 0),
            Head::From => ("From", 11, 0),
            Head::Makes => ("one batch makes", 10, 1),
            Head::Water => ("tap water", 10, 1),
            Head::Keeps => ("keeps days", 5, 1),
        }
    }
}

/// Lines of the head.
const HEAD_LINES: u16 = 2;

/// What came of an action.
pub(super) enum Done {
    NotYet,
    Say(Notice),
    Dropped,
    Kept(RecipeDraft),
}

/// A recipe being written.
pub(super) struct RecipeForm {
    item: Option<ItemId>,
    focus: Option<Head>,
    name: Field,
    holds: Field,
    from: Field,
    makes: Field,
    water: Field,
    keeps: Field,
    parts: Parts,
    error: Option<(Head, String)>,
    changed: bool,
    leaving: bool,
}

impl RecipeForm {
    /// Something new.
    pub(super) fn new(view: &HouseView) -> RecipeForm {
        RecipeForm {
            item: None,
            focus: Some(Head::Name),
            name: Field::new(60),
            holds: Field::with(12, "1 l"),
            from: Field::new(10),
            makes: Field::new(12),
            water: Field::new(12),
            keeps: Field::new(5),
            parts: Parts::new(&view.setup, OF_RECIPE, &[]),
            error: None,
            changed: false,
            leaving: false,
        }
    }

    /// The recipe of something as a version has it, or as it is today, from today on.
    pub(super) fn of(view: &HouseView, item: ItemId, version: Option<usize>) -> RecipeForm {
        let versions: Vec<&(Option<NaiveDate>, Recipe)> =
            view.setup.recipes.get(&item).into_iter().flat_map(|all| all.iter()).collect();
        let chosen = version.and_then(|n| versions.get(n)).map(|(from, recipe)| (*from, recipe));
        let today = view.larder.day;
        let (from, recipe) = match chosen {
            Some((from, recipe)) => (from.filter(|from| *from > today).unwrap_or(today), Some(recipe)),
            None => (today, view.recipe(item)),
        };
        let keeps = view.setup.item(item).and_then(|item| item.keeps_days);
        let water = recipe.and_then(|recipe| recipe.water.as_ref()).map(|water| water.written.as_str());
        let makes = recipe.and_then(|recipe| recipe.written.as_deref());
        RecipeForm {
            item: Some(item),
            focus: Some(Head::From),
            name: Field::with(60, view.setup.item_name(item)),
            from: Field::with(10, &from.to_string()),
            makes: Field::with(12, makes.unwrap_or_default()),
            water: Field::with(12, water.unwrap_or_default()),
            keeps: Field::with(5, &keeps.map_or(String::new(), |days| days.to_string())),
            parts: Parts::new(&view.setup, OF_RECIPE, recipe.map_or(&[][..], |recipe| &recipe.takes)),
            ..RecipeForm::new(view)
        }
    }

    /// The fields that can be written: name and size only of something new.
    fn heads(&self) -> impl DoubleEndedIterator<Item = Head> + '_ {
        let new = self.item.is_none();
        Head::ALL.into_iter().filter(move |head| new || !matches!(head, Head::Name | Head::Holds))
    }

    pub(super) fn apply(&mut self, action: Action, view: &HouseView) -> Done {
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
                    let next = self.heads().find(|other| other.place().2 > head.place().2);
                    self.go(next, view);
                }
                None => {
                    self.parts.line(1, &view.setup);
                }
            },
            _ => {
                self.error = None;
                let did = match self.focus {
                    None => self.parts.edit(action),
                    Some(head) => self.field_mut(head).apply(action),
                };
                let moves =
                    matches!(action, Action::CursorLeft | Action::CursorRight | Action::CursorHome | Action::CursorEnd);
                self.changed |= did && !moves;
            }
        }
        Done::NotYet
    }

    fn field_mut(&mut self, head: Head) -> &mut Field {
        match head {
            Head::Name => &mut self.name,
            Head::Holds => &mut self.holds,
            Head::From => &mut self.from,
            Head::Makes => &mut self.makes,
            Head::Water => &mut self.water,
            Head::Keeps => &mut self.keeps,
        }
    }

    fn field(&self, head: Head) -> &Field {
        match head {
            Head::Name => &self.name,
            Head::Holds => &self.holds,
            Head::From => &self.from,
            Head::Makes => &self.makes,
            Head::Water => &self.water,
            Head::Keeps => &self.keeps,
        }
    }

    pub(super) fn paste(&mut self, pasted: &str) {
        self.changed = true;
        self.error = None;
        match self.focus {
            None => self.parts.paste(pasted),
            Some(head) => self.field_mut(head).paste(pasted),
        }
    }

    fn go(&mut self, to: Option<Head>, view: &HouseView) {
        self.error = None;
        if to.is_none() && self.focus.is_some() {
            self.parts.enter(&view.setup, false);
        }
        self.focus = to;
    }

    fn leave(&mut self, head: Head, view: &HouseView) -> Left {
        if let Err(wrong) = self.check(head, view) {
            self.error = Some((head, wrong));
            return Left::Stays;
        }
        let next = self.heads().skip_while(|other| *other != head).nth(1);
        self.go(next, view);
        Left::Within
    }

    fn back(&mut self, view: &HouseView, by_line: bool) {
        match self.focus {
            Some(head) => {
                let before = if by_line {
                    self.heads().find(|other| other.place().2 + 1 == head.place().2)
                } else {
                    self.heads().rev().skip_while(|other| *other != head).nth(1)
                };
                self.go(Some(before.unwrap_or(head)), view);
            }
            None => {
                let left = if by_line { self.parts.line(-1, &view.setup) } else { self.parts.previous(&view.setup) };
                if matches!(left, Left::Before) {
                    self.go(Some(if by_line { Head::Makes } else { Head::Keeps }), view);
                }
            }
        }
    }

    fn typed(&self, head: Head) -> Option<String> {
        let typed = self.field(head).text().trim().replace(',', ".");
        (!typed.is_empty()).then_some(typed)
    }

    /// What is made: as the book has it, or as it would be.
    fn item(&self, view: &HouseView) -> Option<Item> {
        if let Some(id) = self.item {
            return view.setup.item(id).cloned();
        }
        let holds = self.typed(Head::Holds)?;
        let read = crate::domain::measure::Quantity::parse(&holds, &view.setup.venue.small).ok()?;
        let name = self.name.text().trim();
        Some(Item::new(ItemId(0), name, Kind::HouseMade, read.basis, read.amount, CountBy::Tenths))
    }

    fn check(&self, head: Head, view: &HouseView) -> Result<(), String> {
        let small = &view.setup.venue.small;
        match head {
            Head::Name if self.name.text().trim().is_empty() => Err("give it a name".to_owned()),
            Head::Name => Ok(()),
            Head::Holds => match self.typed(Head::Holds) {
                None => Err("what one container of it holds, such as 1 l".to_owned()),
                Some(typed) => {
                    crate::domain::measure::Quantity::parse(&typed, small).map(|_| ()).map_err(|e| e.to_string())
                }
            },
            Head::From => self.begins().map(|_| ()),
            Head::Makes => match (self.typed(Head::Makes), self.item(view)) {
                (Some(typed), Some(item)) => amount_of(&item, &typed, small).map(|_| ()).map_err(|e| e.to_string()),
                _ => Ok(()),
            },
            Head::Water => self.water(view).map(|_| ()),
            Head::Keeps => self.kept_days().map(|_| ()),
        }
    }

    fn begins(&self) -> Result<Option<NaiveDate>, String> {
        match self.typed(Head::From) {
            None => Ok(None),
            Some(typed) => parse_day(&typed)
                .map(Some)
                .map_err(|_| "expected a date such as 2026-11-20, or nothing for since ever".to_owned()),
        }
    }

    fn water(&self, view: &HouseView) -> Result<Option<Water>, String> {
        self.typed(Head::Water).map(|typed| Water::parse(&typed, &view.setup.venue.small)).transpose()
    }

    fn kept_days(&self) -> Result<Option<i64>, String> {
        let Some(typed) = self.typed(Head::Keeps) else { return Ok(None) };
        let read = Decimal::parse(&typed).ok().and_then(|d| d.exact(0)).filter(|days| (1..=36_500).contains(days));
        read.map(Some).ok_or_else(|| "expected whole days, 1 or more, or nothing".to_owned())
    }

    fn save(&mut self, view: &HouseView) -> Done {
        let heads: Vec<Head> = self.heads().collect();
        for head in heads {
            if let Err(wrong) = self.check(head, view) {
                self.go(Some(head), view);
                self.error = Some((head, wrong));
                return Done::NotYet;
            }
        }
        let takes = match self.parts.all(&view.setup) {
            Ok(takes) => takes,
            Err(_) => {
                self.focus = None;
                return Done::NotYet;
            }
        };
        if takes.is_empty() {
            self.go(None, view);
            return Done::Say(Notice::error("a recipe takes something from stock: add what goes in"));
        }
        if let Some(circle) = self.circle(view, &takes) {
            self.focus = None;
            return Done::Say(Notice::error(circle));
        }
        if self.typed(Head::Makes).is_none()
            && let Some(Err(why)) = self.computed(view, &takes)
        {
            self.go(Some(Head::Makes), view);
            self.error = Some((Head::Makes, why));
            return Done::NotYet;
        }
        let made = match self.item {
            Some(item) => Made::Known(item),
            None => Made::New(self.name.text().trim().to_owned(), self.typed(Head::Holds).unwrap_or_default()),
        };
        match (self.begins(), self.kept_days()) {
            (Ok(from), Ok(keeps_days)) => Done::Kept(RecipeDraft {
                made,
                from,
                yields: self.typed(Head::Makes),
                water: self.typed(Head::Water),
                keeps_days,
                takes,
            }),
            _ => Done::NotYet,
        }
    }

    /// The circle that the recipe would close, in words.
    fn circle(&self, view: &HouseView, takes: &[Ingredient]) -> Option<String> {
        let item = self.item?;
        let recipe = Recipe { written: None, yields: Amount::ZERO, water: None, takes: takes.to_vec() };
        circle_from(&view.setup, item, Some(&recipe)).map(|circle| circle_words(&view.setup, &circle))
    }

    /// What a batch makes by computing, as far as it is written.
    fn computed(&self, view: &HouseView, takes: &[Ingredient]) -> Option<Result<Amount, String>> {
        let item = self.item(view)?;
        let water = self.water(view).ok()?;
        let recipe = Recipe { written: None, yields: Amount::ZERO, water, takes: takes.to_vec() };
        let all = view.larder.contents.of_batch(&recipe);
        Some(computed_yield(item.basis, all.mix).map_err(|e| e.to_string()))
    }

    fn hint(&self, head: Head) -> String {
        match head {
            Head::Name => "What it is called in stock",
            Head::Holds => "What one container of it holds when it is full, such as 1 l",
            Head::From => "From which business day on; batches and sales before it keep what was; empty is since ever",
            Head::Makes => {
                "What came out, as measured: 1600 ml. Empty: computed from what goes in, sugar and water by mass to \
                 volume as sucrose dissolves at 20 °C"
            }
            Head::Water => "Water from the tap, which is no stock: 1 kg or 1 l; weigh it, as you weigh the sugar",
            Head::Keeps => {
                "Days it keeps by your own food-safety plan, the day it is made being the first; check your local code"
            }
        }
        .to_owned()
    }

    pub(super) fn draw(&mut self, view: &HouseView, frame: &mut Frame, area: Rect, scene: Scene) {
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
        let words = match self.item {
            Some(item) => format!("The recipe of {}, from a day on", text::safe(view.setup.item_name(item))),
            None => "A new recipe".to_owned(),
        };
        frame.render_widget(Span::styled(text::fit(&words, title.width.into()), theme.title), title);
        self.draw_head(frame, head, theme);
        let costs = &view.larder.costs;
        let show = view.setup.venue.show();
        let cost = |part: &Ingredient| {
            part_cost(costs, part).map_or("?".to_owned(), |cost| show.money(cost.round(show.currency)))
        };
        self.parts.draw(frame, lines, &view.setup, self.focus.is_none(), cost, theme);
        let told = match self.focus {
            Some(head) => match self.error.as_ref().filter(|(at, _)| *at == head) {
                Some((_, wrong)) => Err(wrong.clone()),
                None => Ok(self.hint(head)),
            },
            None => self.parts.message(&view.setup, true),
        };
        frame.render_widget(Paragraph::new(crate::tui::screen::told(told, said.width.into(), theme)), said);
        frame.render_widget(Paragraph::new(figures), below);
        if self.focus.is_none() {
            self.parts.draw_matches(frame, area, theme);
        }
    }

    fn draw_head(&self, frame: &mut Frame, area: Rect, theme: &Theme) {
        let mut at = [area.x; HEAD_LINES as usize];
        for head in Head::ALL {
            let (title, cells, line) = head.place();
            if self.item.is_some() && head == Head::Holds {
                continue;
            }
            let y = area.y + u16::try_from(line).unwrap_or(0);
            let has_focus = self.focus == Some(head);
            let style = if has_focus { theme.title } else { theme.muted };
            let wide = u16::try_from(text::width(title)).unwrap_or(0) + 1;
            let room = |x: u16, width: u16| Rect { x, y, width: width.min(area.right().saturating_sub(x)), height: 1 };
            frame.render_widget(Span::styled(title, style), room(at[line], wide));
            let place = room(at[line] + wide, cells);
            if self.item.is_some() && head == Head::Name {
                let name = text::fit(&text::safe(self.name.text()), place.width.into());
                frame.render_widget(Span::styled(name, theme.text), place);
            } else {
                self.field(head).draw(frame, place, has_focus, theme);
            }
            at[line] += wide + cells + 2;
        }
    }

    /// What it comes to as far as it is written.
    fn figures(&self, view: &HouseView, wide: usize, theme: &Theme) -> Vec<Line<'static>> {
        let setup = &view.setup;
        let show = setup.venue.show();
        let mut page = Facts::new(serve::LABEL + 2, wide, theme);
        let takes = self.parts.so_far(setup);
        let (Some(item), false) = (self.item(view), takes.is_empty()) else { return page.lines };
        let water = self.water(view).ok().flatten();
        let measured = self.typed(Head::Makes).and_then(|typed| amount_of(&item, &typed, &setup.venue.small).ok());
        let recipe = Recipe { written: None, yields: Amount::ZERO, water, takes };
        let all = view.larder.contents.of_batch(&recipe);
        let computed = computed_yield(item.basis, all.mix).ok();
        let mut said = Vec::new();
        match (measured, computed) {
            (Some(measured), Some(computed)) => {
                said.push(format!("{} as measured", show.amount(item.basis, measured)));
                said.push(format!("{} computed", show.amount(item.basis, computed)));
            }
            (Some(measured), None) => said.push(format!("{} as measured", show.amount(item.basis, measured))),
            (None, Some(computed)) => said.push(format!("{} computed", show.amount(item.basis, computed))),
            (None, None) => said.push("say what one batch makes, or its water".to_owned()),
        }
        if item.basis == Basis::Volume && all.mix.sugar > 0.0 {
            said.push(format!("{:.1} brix, {:.0} g/l", all.mix.brix(), all.mix.grams_per_litre()));
        }
        if all.mix.ethanol > 0.0 {
            said.push(format!("{:.1} % vol", 100.0 * all.mix.strength()));
        }
        said.extend(serve::unreckoned(setup, &all));
        page.fact("One batch", said);
        page.fact("Costs", self.cost_words(view, &item, &recipe, measured.or(computed)));
        serve::allergens(&mut page, setup, &view.larder.allergens.together(&recipe.takes));
        page.lines
    }

    /// What a batch and a litre cost, and what that does to the drinks it goes into.
    fn cost_words(&self, view: &HouseView, item: &Item, recipe: &Recipe, makes: Option<Amount>) -> Vec<String> {
        let setup = &view.setup;
        let show = setup.venue.show();
        let costs: Vec<Option<ExactCost>> =
            recipe.takes.iter().map(|part| part_cost(&view.larder.costs, part)).collect();
        let known: ExactCost = costs.iter().flatten().copied().sum();
        let missing: Vec<ItemId> =
            recipe.takes.iter().zip(&costs).filter(|(_, cost)| cost.is_none()).map(|(part, _)| part.item).collect();
        let mut said = vec![format!("{} a batch", serve::money(setup, known.round(show.currency)))];
        if !missing.is_empty() {
            said.push(format!("and no price is known of {}", serve::names(setup, &missing)));
            return said;
        }
        let Some(unit) = makes.and_then(|makes| UnitCost::spread(known, makes)) else { return said };
        let (amount, word) = match item.basis {
            Basis::Volume => (Amount(1_000_000), "a litre"),
            Basis::Mass => (Amount(1_000_000), "a kilogram"),
            Basis::Each => (Amount(1_000), "each"),
        };
        said.push(format!("{} {word}", serve::money(setup, unit.of(amount, show.currency))));
        if let Some(id) = self.item {
            let after = view.larder.costs.with(setup, [(id, unit)]);
            let touched = crate::domain::drink::change::touched(setup, &view.larder.costs, &after, view.larder.day);
            if let Some(most) = touched.first() {
                let name = text::safe(setup.drink(most.drink).map_or("?", |drink| &drink.name));
                let cost = |cost: &crate::domain::drink::ServeCost| show.money(cost.known.round(show.currency));
                said.push(format!(
                    "{} drinks change, {name} most: {} to {}",
                    touched.len(),
                    cost(&most.before),
                    cost(&most.after)
                ));
            }
        }
        said
    }
}
