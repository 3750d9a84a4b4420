//! A recipe being written: what one batch takes and makes, and what that comes to as it is typed.

use crate::domain::drink::change::{Touched, touched};
use crate::domain::drink::{amount_of, circle_from, circle_words, computed_yield, part_cost};
use crate::domain::measure::{Amount, Basis, Decimal, ExactCost, UnitCost, decimal, number_of};
use crate::domain::rows::{HouseView, Made, RecipeDraft};
use crate::domain::venue::{CountBy, Ingredient, Item, ItemId, Kind, Recipe, Setup, Versions, Water};
use crate::tui::keymap::Action;
use crate::tui::screen::parts::{OF_RECIPE, Parts};
use crate::tui::screen::writing::{
    Done, Form, FormPage, Head, Shown, Writing, begins, changed_meanwhile, from_hint, is_move,
};
use crate::tui::screen::{Scene, serve};
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::facts::Facts;
use crate::tui::widget::field::Field;
use crate::tui::widget::notice::Notice;
use crate::words;
use chrono::NaiveDate;
use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::Line;

/// A field above the ingredients.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Of {
    Name,
    Holds,
    From,
    Makes,
    Water,
    Keeps,
}

impl Head for Of {
    const ALL: &'static [Of] = &[Of::Name, Of::From, Of::Holds, Of::Makes, Of::Water, Of::Keeps];

    fn place(self) -> (&'static str, u16, usize) {
        match self {
            Of::Name => (word!("Name"), 34, 0),
            Of::From => (word!("day" => "From"), 11, 0),
            Of::Holds => (word!("one holds"), 9, 0),
            Of::Makes => (word!("one batch makes"), 10, 1),
            Of::Water => (word!("tap water"), 10, 1),
            Of::Keeps => (word!("keeps days"), 5, 1),
        }
    }
}

/// A recipe being written.
pub(super) struct RecipeForm {
    item: Option<ItemId>,
    /// Its recipes as they were when the form was opened, or last said to have changed.
    seen: Option<Versions<Recipe>>,
    today: NaiveDate,
    writing: Writing<Of>,
    name: Field,
    holds: Field,
    from: Field,
    makes: Field,
    water: Field,
    keeps: Field,
}

impl RecipeForm {
    /// Something new.
    pub(super) fn new(view: &HouseView) -> RecipeForm {
        RecipeForm {
            item: None,
            seen: None,
            today: view.larder.day,
            writing: Writing::new(Of::Name, Parts::new(&view.setup, OF_RECIPE, &[])),
            name: Field::new(60),
            holds: Field::with(12, "1 l"),
            from: Field::new(10),
            makes: Field::new(12),
            water: Field::new(12),
            keeps: Field::new(5),
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
            None => {
                let first = versions.first().and_then(|(from, _)| *from).filter(|from| *from > today);
                (first.unwrap_or(today), view.recipe(item))
            }
        };
        let keeps = view.setup.item(item).and_then(|item| item.keeps_days);
        let water = recipe.and_then(|recipe| recipe.water.as_ref()).map(|water| water.written.as_str());
        let makes = recipe.and_then(|recipe| recipe.written.as_deref());
        RecipeForm {
            item: Some(item),
            seen: view.setup.recipes.get(&item).cloned(),
            name: Field::with(60, view.setup.item_name(item)),
            from: Field::with(10, &from.to_string()),
            makes: Field::with(12, makes.unwrap_or_default()),
            water: Field::with(12, water.unwrap_or_default()),
            keeps: Field::with(5, &keeps.map_or(String::new(), |days| days.to_string())),
            writing: Writing::new(
                Of::From,
                Parts::new(&view.setup, OF_RECIPE, recipe.map_or(&[][..], |recipe| &recipe.takes)),
            ),
            ..RecipeForm::new(view)
        }
        .marked()
    }

    fn marked(mut self) -> RecipeForm {
        self.mark(Of::From);
        self
    }

    /// What an action comes to.
    pub(super) fn act(&mut self, action: Action, view: &HouseView) -> Done<Box<RecipeDraft>> {
        self.apply(action, &view.setup).or_save(|| self.save(view))
    }

    fn field_mut(&mut self, head: Of) -> &mut Field {
        match head {
            Of::Name => &mut self.name,
            Of::Holds => &mut self.holds,
            Of::From => &mut self.from,
            Of::Makes => &mut self.makes,
            Of::Water => &mut self.water,
            Of::Keeps => &mut self.keeps,
        }
    }

    fn field(&self, head: Of) -> &Field {
        match head {
            Of::Name => &self.name,
            Of::Holds => &self.holds,
            Of::From => &self.from,
            Of::Makes => &self.makes,
            Of::Water => &self.water,
            Of::Keeps => &self.keeps,
        }
    }

    fn typed(&self, head: Of) -> Option<String> {
        let typed = decimal::pointed(self.field(head).text());
        (!typed.is_empty()).then_some(typed)
    }

    /// What is made: as the book has it, or as it would be.
    fn item(&self, setup: &Setup) -> Option<Item> {
        if let Some(id) = self.item {
            return setup.item(id).cloned();
        }
        let holds = self.typed(Of::Holds)?;
        let read = crate::domain::measure::Quantity::parse(&holds, &setup.venue.small).ok()?;
        let name = self.name.text().trim();
        Some(Item::new(ItemId(0), name, Kind::HouseMade, read.basis, read.amount, CountBy::Tenths))
    }

    fn begins(&self) -> Result<Option<NaiveDate>, String> {
        begins(self.from.text(), self.today)
    }

    fn water(&self, setup: &Setup) -> Result<Option<Water>, String> {
        self.typed(Of::Water).map(|typed| Water::parse(&typed, &setup.venue.small)).transpose()
    }

    fn kept_days(&self) -> Result<Option<i64>, String> {
        let Some(typed) = self.typed(Of::Keeps) else { return Ok(None) };
        let read = Decimal::parse(&typed).ok().and_then(|d| d.exact(0)).filter(|days| (1..=36_500).contains(days));
        read.map(Some).ok_or_else(|| word!("expected whole days, 1 or more, or nothing").to_owned())
    }

    fn save(&mut self, view: &HouseView) -> Done<Box<RecipeDraft>> {
        let setup = &view.setup;
        let Some(takes) = self.sound(setup) else { return Done::NotYet };
        if takes.is_empty() {
            self.writing.go(None, setup);
            return Done::Say(Notice::error(word!("a recipe takes something from stock: add what goes in")));
        }
        let are = self.item.and_then(|item| setup.recipes.get(&item));
        if are != self.seen.as_ref() {
            self.seen = are.cloned();
            return Done::Say(changed_meanwhile(self.name.text()));
        }
        if let Some(circle) = self.circle(view, &takes) {
            self.writing.focus = None;
            return Done::Say(Notice::error(circle));
        }
        if self.typed(Of::Makes).is_none()
            && let Some(Err(why)) = self.computed(view, &takes)
        {
            self.refuse(Of::Makes, why, setup);
            return Done::NotYet;
        }
        let made = match self.item {
            Some(item) => Made::Known(item),
            None => Made::New(self.name.text().trim().to_owned(), self.typed(Of::Holds).unwrap_or_default()),
        };
        match (self.begins(), self.kept_days()) {
            (Ok(from), Ok(keeps_days)) => Done::Kept(Box::new(RecipeDraft {
                made,
                from,
                yields: self.typed(Of::Makes),
                water: self.typed(Of::Water),
                keeps_days,
                takes,
                seen: self.seen.clone(),
            })),
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
        let item = self.item(&view.setup)?;
        let water = self.water(&view.setup).ok()?;
        let recipe = Recipe { written: None, yields: Amount::ZERO, water, takes: takes.to_vec() };
        let all = view.larder.contents.of_batch(&recipe);
        Some(computed_yield(item.basis, all.mix).map_err(|e| e.to_string()))
    }

    fn hint(&self, head: Of) -> String {
        match head {
            Of::Name => word!("What it is called in stock"),
            Of::Holds => word!("What one container of it holds when it is full, such as 1 l"),
            Of::From => return from_hint(self.from.text(), self.today, word!("batches and sales before it keep what was")),
            Of::Makes => {
                word!("What came out, as measured: 1600 ml. Empty: computed from what goes in, sugar and water by mass to \
                 volume as sucrose dissolves at 20 °C")
            }
            Of::Water => word!("Water from the tap, which is no stock: 1 kg or 1 l; weigh it, as you weigh the sugar"),
            Of::Keeps => {
                word!("Days it keeps by your own food-safety plan, the day it is made being the first; check your local code")
            }
        }
        .to_owned()
    }

    pub(super) fn draw(&mut self, view: &HouseView, frame: &mut Frame, area: Rect, scene: Scene) {
        let (setup, theme) = (&view.setup, scene.theme);
        let cost = |part: &Ingredient| serve::part_cost_words(setup, &view.larder.costs, part);
        let page = FormPage {
            setup,
            theme,
            title: match self.item {
                Some(item) => {
                    say!("The recipe of {item}, from a day on", item = text::safe(setup.item_name(item)))
                }
                None => word!("A new recipe").to_owned(),
            },
            hint: self.writing.focus.map_or(String::new(), |head| self.hint(head)),
            cost: &cost,
            figures: self.figures(view, area.width.into(), theme),
        };
        self.draw_form(frame, area, page);
    }

    /// What it comes to as far as it is written.
    fn figures(&self, view: &HouseView, wide: usize, theme: &Theme) -> Vec<Line<'static>> {
        let setup = &view.setup;
        let show = setup.venue.show();
        let mut page = Facts::new(serve::LABEL + 2, wide, theme);
        let takes = self.writing.parts.so_far(setup);
        let chosen = self.writing.parts.chosen();
        if !chosen.is_empty() {
            serve::allergens(&mut page, setup, &view.larder.allergens.together(&chosen));
        }
        let (Some(item), false) = (self.item(setup), takes.is_empty()) else { return page.lines };
        let water = self.water(setup).ok().flatten();
        let measured = self.typed(Of::Makes).and_then(|typed| amount_of(&item, &typed, &setup.venue.small).ok());
        let recipe = Recipe { written: None, yields: Amount::ZERO, water, takes };
        let all = view.larder.contents.of_batch(&recipe);
        let computed = computed_yield(item.basis, all.mix).ok();
        let mut said = Vec::new();
        match (measured, computed) {
            (Some(measured), Some(computed)) => {
                said.push(say!("{measured} as measured", measured = show.amount(item.basis, measured)));
                said.push(say!("{computed} computed", computed = show.amount(item.basis, computed)));
            }
            (Some(measured), None) => {
                said.push(say!("{measured} as measured", measured = show.amount(item.basis, measured)))
            }
            (None, Some(computed)) => {
                said.push(say!("{computed} computed", computed = show.amount(item.basis, computed)))
            }
            (None, None) => said.push(word!("say what one batch makes, or its water").to_owned()),
        }
        if item.basis == Basis::Volume && all.mix.sugar > 0.0 {
            said.push(say!(
                "{brix} brix, {grams_per_litre} g/l",
                brix = words::fixed(all.mix.brix(), 1),
                grams_per_litre = words::fixed(all.mix.grams_per_litre(), 0)
            ));
        }
        if all.mix.ethanol > 0.0 {
            said.push(say!("{strength} % vol", strength = words::fixed(100.0 * all.mix.strength(), 1)));
        }
        said.extend(serve::unreckoned(setup, &all));
        page.fact(word!("One batch"), said);
        page.fact(word!("Costs"), self.cost_words(view, &item, &recipe, measured.or(computed)));
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
        let mut said = vec![say!("{currency} a batch", currency = serve::money(setup, known.round(show.currency)))];
        if !missing.is_empty() {
            said.push(say!("and no price is known of {missing}", missing = serve::names(setup, &missing)));
            return said;
        }
        let Some(unit) = makes.and_then(|makes| UnitCost::spread(known, makes)) else { return said };
        let (amount, word) = item.basis.usual_one();
        said.push(format!("{} {word}", serve::money(setup, unit.of(amount, show.currency))));
        if let Some(id) = self.item {
            let after = view.larder.costs.with(setup, [(id, unit)]);
            let touched = touched(setup, &view.larder.costs, &after, view.larder.day);
            let cost = |cost: &crate::domain::drink::ServeCost| show.money(cost.known.round(show.currency));
            let seen = |touched: &&Touched| cost(&touched.before) != cost(&touched.after);
            if let Some(most) = touched.first().filter(seen) {
                let name = text::safe(setup.drink(most.drink).map_or("?", |drink| &drink.name));
                said.push(say!(
                    "{touched}, {name} most: {before} to {after}",
                    touched = number_of(touched.len(), word!("drink changes"), word!("drinks change")),
                    name,
                    before = cost(&most.before),
                    after = cost(&most.after)
                ));
            }
        }
        said
    }
}

impl Form for RecipeForm {
    type Head = Of;

    fn writing(&self) -> &Writing<Of> {
        &self.writing
    }

    fn writing_mut(&mut self) -> &mut Writing<Of> {
        &mut self.writing
    }

    /// Name and size only of something new.
    fn is_open(&self, head: Of) -> bool {
        self.item.is_none() || !matches!(head, Of::Name | Of::Holds)
    }

    fn mark(&mut self, head: Of) {
        if head != Of::Name {
            self.field_mut(head).mark();
        }
    }

    /// A day is written out once its field is left.
    fn complete(&mut self, head: Of, _: &Setup) {
        if let (Of::From, Ok(Some(day))) = (head, self.begins()) {
            self.from = Field::with(10, &day.to_string());
        }
    }

    fn check(&self, head: Of, setup: &Setup) -> Result<(), String> {
        let small = &setup.venue.small;
        match head {
            Of::Name if self.name.text().trim().is_empty() => Err(word!("give it a name").to_owned()),
            Of::Name => Ok(()),
            Of::Holds => match self.typed(Of::Holds) {
                None => Err(word!("what one container of it holds, such as 1 l").to_owned()),
                Some(typed) => {
                    crate::domain::measure::Quantity::parse(&typed, small).map(|_| ()).map_err(|e| e.to_string())
                }
            },
            Of::From => self.begins().map(|_| ()),
            Of::Makes => match (self.typed(Of::Makes), self.item(setup)) {
                (Some(typed), Some(item)) => amount_of(&item, &typed, small).map(|_| ()).map_err(|e| e.to_string()),
                _ => Ok(()),
            },
            Of::Water => self.water(setup).map(|_| ()),
            Of::Keeps => self.kept_days().map(|_| ()),
        }
    }

    fn edit(&mut self, head: Of, action: Action, _: &Setup) -> bool {
        self.field_mut(head).apply(action) && !is_move(action)
    }

    fn take(&mut self, head: Of, pasted: &str, _: &Setup) {
        self.field_mut(head).paste(pasted);
    }

    fn shown(&self, head: Of) -> Shown<'_> {
        match head {
            Of::Name if self.item.is_some() => Shown::Fixed(text::safe(self.name.text())),
            Of::Holds if self.item.is_some() => Shown::Nothing,
            _ => Shown::Field(self.field(head)),
        }
    }
}
