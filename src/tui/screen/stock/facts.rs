//! What is known of one item: where it stands, who offers it, what is in it.

use super::StockScreen;
use super::draw::{Of, fullness};
use crate::domain::drink::allergens_of;
use crate::domain::measure::decimal;
use crate::domain::rows::StockRow;
use crate::domain::venue::{CountBy, Ingredient, Item, ItemId};
use crate::tui::screen::{Scene, serve, with_u};
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::facts::Facts;
use crate::tui::widget::level::level;
use crate::tui::widget::panel::panel;
use crate::tui::widget::scroll::Scroll;
use chrono::NaiveDate;
use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

/// Cells of the words before the facts.
const LABEL: usize = 15;

impl StockScreen {
    /// Draws the facts of an item over the list.
    pub(super) fn facts(&self, frame: &mut Frame, area: Rect, item: ItemId, scroll: &mut Scroll, scene: Scene) {
        let name = text::safe(self.setup.item_name(item));
        let inner = panel(frame, area, &name, scene.theme);
        let row = self.rows.iter().find(|row| row.item == item);
        let Some((row, item)) = row.zip(self.setup.item(item)) else { return };
        let day = self.setup.venue.days.day_of(scene.now);
        let lines = self.fact_lines(row, item, day, inner.width.into(), scene.theme);
        scroll.draw(frame, inner, lines, scene.theme);
    }

    fn fact_lines(
        &self,
        row: &StockRow,
        item: &Item,
        day: NaiveDate,
        cells: usize,
        theme: &Theme,
    ) -> Vec<Line<'static>> {
        let mut page = Facts::new(LABEL, cells, theme);
        let show = self.setup.venue.show();
        let size = show.amount(item.basis, item.size);
        page.fact("kind", [item.kind.word().to_owned(), format!("{size} a container"), counted_by(item.count_by)]);
        if !item.stocked {
            page.fact("stocked", ["no more: counted until none is left, and not ordered"]);
        }
        self.on_hand(&mut page, row, item);
        let containers = |amount| show.containers(amount, item.size);
        let par = row.par.map_or("none set".to_owned(), |par| {
            format!("{} containers ({})", containers(par), show.amount(item.basis, par))
        });
        let most = item.shelf_max.map(|most| format!("at most {} fit", containers(most.of(item.size))));
        page.fact("par", [par, most.unwrap_or_default()]);
        if row.on_order.0 != 0 {
            page.fact("on order", [format!("{} containers", containers(row.on_order))]);
        }
        self.offers(&mut page, item, day);
        let codes: Vec<String> = item.gtins.iter().map(|code| text::safe(&code.to_string())).collect();
        page.fact("bar codes", if codes.is_empty() { vec!["none on file".to_owned()] } else { codes });
        let allergens = match &item.allergens {
            // What is made here has what goes into it, whatever is stated of it besides.
            _ if self.setup.recipes.contains_key(&item.id) => {
                serve::allergen_words(&self.setup, &allergens_of(&self.setup, item.id, day))
            }
            None => vec!["unknown".to_owned()],
            Some(known) if known.is_empty() => vec!["declared to have none".to_owned()],
            Some(known) => vec![known.iter().map(|allergen| allergen.word()).collect::<Vec<_>>().join(", ")],
        };
        page.fact("allergens", allergens);
        page.fact("", ["A reminder: the maker's label and local rules decide."]);
        let keeps = item.keeps_days.map_or("not on file".to_owned(), |days| match days {
            1 => "1 day".to_owned(),
            days => format!("{days} days"),
        });
        page.fact("keeps", [keeps]);
        let strength = item.abv.map_or("not on file".to_owned(), |abv| format!("{} % vol", abv.plain()));
        page.fact("strength", [strength]);
        let density = item.density.map_or("not on file".to_owned(), |density| format!("{} g/ml", density.plain()));
        page.fact("density", [density]);
        let sugar = item.sugar.map_or("not on file".to_owned(), |sugar| sugar.plain());
        page.fact("sugar", [sugar]);
        if let Some(one) = item.yields {
            page.fact("one gives", [one.to_string()]);
        }
        page.fact("goes into", self.goes_into(item.id, day));
        let shape = item.shape.map_or("no shape on file", |shape| self.setup.shape_name(shape));
        page.fact("container", [text::safe(shape)]);
        let weight = |weight: Option<crate::domain::measure::Amount>, what: &str| {
            weight.map(|w| format!("{what} {} g", decimal::plain(w.0, 3)))
        };
        let weights = [weight(item.empty_weight, "empty"), weight(item.full_weight, "full")];
        let weights: Vec<String> = weights.into_iter().flatten().collect();
        if !weights.is_empty() {
            page.fact("weight", weights);
        }
        page.lines
    }

    /// The drinks and house-made items that take an item today.
    fn goes_into(&self, item: ItemId, day: NaiveDate) -> Vec<String> {
        let takes = |parts: &[Ingredient]| parts.iter().any(|part| part.item == item);
        let drinks = self.setup.drinks.iter().filter(|d| d.specs.at(day).is_some_and(|(_, spec)| takes(spec)));
        let made = self.setup.items.iter().filter(|i| self.setup.recipe(i.id, day).is_some_and(|r| takes(&r.takes)));
        let names = drinks.map(|drink| &drink.name).chain(made.map(|item| &item.name));
        let names: Vec<String> = names.map(|name| text::safe(name)).collect();
        if names.is_empty() { vec!["no drink or recipe of today".to_owned()] } else { names }
    }

    fn on_hand(&self, page: &mut Facts<'_>, row: &StockRow, item: &Item) {
        let show = self.setup.venue.show();
        let days = self.setup.venue.days;
        let Some(there) = row.on_hand else {
            page.fact("on hand", ["not known: never counted"]);
            let places: Vec<String> =
                self.setup.places_of(item.id).map(|place| text::safe(self.setup.place_name(place))).collect();
            page.fact("stands in", if places.is_empty() { vec!["no place yet".to_owned()] } else { places });
            return;
        };
        let containers = show.containers(there.amount, item.size);
        page.fact("on hand", [format!("{containers} containers"), with_u(show, item.basis, there, page.theme)]);
        if there.amount.0 < 0 {
            page.fact("", ["Below nothing: more was sold or written off than was counted. Count it."]);
        }
        if let Some((tenths, of)) = fullness(row, None, item) {
            let of = match of {
                Of::Par => "of par",
                Of::Opened => "of the opened one",
            };
            let mut line = level(tenths, page.theme);
            line.spans.insert(0, page.label("level"));
            line.spans.push(Span::raw(format!("  {:.0} % {of}", tenths * 10.0)));
            page.lines.push(line);
        }
        if !show.hides_money {
            let value = row.value.map_or("no known cost".to_owned(), |value| show.coin(value));
            page.fact("value", [value]);
        }
        let counted = row.counted.map_or("never".to_owned(), |at| days.short(at));
        page.fact("last counted", [counted, format!("{} sold since", show.amount(item.basis, row.sold))]);
        for (n, (place, amount)) in row.places.iter().enumerate() {
            let name = text::safe(self.setup.place_name(*place));
            let there = show.containers(*amount, item.size);
            let label = if n == 0 { "stands in" } else { "" };
            page.fact(label, [name, format!("{there} containers"), show.amount(item.basis, *amount)]);
        }
    }

    fn offers(&self, page: &mut Facts<'_>, item: &Item, day: NaiveDate) {
        let show = self.setup.venue.show();
        let offers = self.setup.offers_for(item.id, day);
        if offers.is_empty() {
            let made = self.setup.recipes.contains_key(&item.id);
            page.fact("offers", [if made { "made here" } else { "nobody offers it" }]);
        }
        let lowest = self.setup.cheapest_offer(item.id, day);
        let several = offers.len() > 1;
        for (n, offer) in offers.into_iter().enumerate() {
            let supplier = self.setup.supplier(offer.supplier).map_or("?", |s| &s.name);
            let each = offer.price.times(1, offer.pack.max(1));
            let mut parts = vec![
                text::safe(supplier),
                if offer.pack == 1 { "single".to_owned() } else { format!("pack of {}", offer.pack) },
            ];
            if !show.hides_money {
                parts.extend([show.coin(offer.price), format!("{} each", show.money(each))]);
                parts.extend(offer.deposit.map(|deposit| format!("deposit {}", show.money(deposit))));
            }
            parts.extend(offer.code.as_ref().map(|code| format!("their no. {}", text::safe(code))));
            if several && lowest == Some(offer) && !show.hides_money {
                parts.push("the lowest price".to_owned());
            }
            page.fact(if n == 0 { "offers" } else { "" }, parts);
        }
    }
}

fn counted_by(count_by: CountBy) -> String {
    match count_by {
        CountBy::Tenths => "counted by tenths",
        CountBy::Weight => "counted on the scale",
        CountBy::Height => "counted by height",
        CountBy::Whole => "counted whole",
    }
    .to_owned()
}
