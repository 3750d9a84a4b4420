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
use crate::words;
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
        page.fact(
            word!("kind"),
            [item.kind.said().to_owned(), say!("{size} a container", size), counted_by(item.count_by)],
        );
        if !item.stocked {
            page.fact(word!("stocked"), [word!("no more: counted until none is left, and not ordered")]);
        }
        self.on_hand(&mut page, row, item);
        let containers = |amount| show.containers(amount, item.size);
        let par = row.par.map_or(word!("none set").to_owned(), |par| {
            say!("{par} containers ({par_2})", par = containers(par), par_2 = show.amount(item.basis, par))
        });
        let most = item.shelf_max.map(|most| say!("at most {most} fit", most = containers(most.of(item.size))));
        page.fact(word!("par"), [par, most.unwrap_or_default()]);
        if row.on_order.0 != 0 {
            page.fact(word!("on order"), [say!("{on_order} containers", on_order = containers(row.on_order))]);
        }
        self.offers(&mut page, item, day);
        let codes: Vec<String> = item.gtins.iter().map(|code| text::safe(&code.to_string())).collect();
        page.fact(word!("bar codes"), if codes.is_empty() { vec![word!("none on file").to_owned()] } else { codes });
        let allergens = match &item.allergens {
            // What is made here has what goes into it, whatever is stated of it besides.
            _ if self.setup.recipes.contains_key(&item.id) => {
                serve::allergen_words(&self.setup, &allergens_of(&self.setup, item.id, day))
            }
            None => vec![word!("unknown").to_owned()],
            Some(known) if known.is_empty() => vec![word!("declared to have none").to_owned()],
            Some(known) => vec![known.iter().map(|allergen| allergen.said()).collect::<Vec<_>>().join(", ")],
        };
        page.fact(word!("allergens"), allergens);
        page.fact("", [word!("A reminder: the maker's label and local rules decide.")]);
        let keeps = item.keeps_days.map_or(word!("not on file").to_owned(), |days| match days {
            1 => word!("1 day").to_owned(),
            days => say!("{days} days", days),
        });
        page.fact(word!("keeps"), [keeps]);
        let strength = item
            .abv
            .map_or(word!("not on file").to_owned(), |abv| say!("{abv} % vol", abv = words::number(abv.plain())));
        page.fact(word!("strength"), [strength]);
        let density = item
            .density
            .map_or(word!("not on file").to_owned(), |density| format!("{} g/ml", words::number(density.plain())));
        page.fact(word!("density"), [density]);
        let sugar = item.sugar.map_or(word!("not on file").to_owned(), |sugar| words::number(sugar.plain()));
        page.fact(word!("sugar"), [sugar]);
        if let Some(one) = item.yields {
            page.fact(word!("one gives"), [one.to_string()]);
        }
        page.fact(word!("goes into"), self.goes_into(item.id, day));
        let shape = item.shape.map_or(word!("no shape on file"), |shape| self.setup.shape_name(shape));
        page.fact(word!("container"), [text::safe(shape)]);
        let weight = |weight: Option<crate::domain::measure::Amount>, what: &str| {
            weight.map(|w| format!("{what} {} g", decimal::shown(w.0, 3)))
        };
        let weights = [weight(item.empty_weight, word!("empty")), weight(item.full_weight, word!("full"))];
        let weights: Vec<String> = weights.into_iter().flatten().collect();
        if !weights.is_empty() {
            page.fact(word!("weight"), weights);
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
        if names.is_empty() { vec![word!("no drink or recipe of today").to_owned()] } else { names }
    }

    fn on_hand(&self, page: &mut Facts<'_>, row: &StockRow, item: &Item) {
        let show = self.setup.venue.show();
        let days = self.setup.venue.days;
        let Some(there) = row.on_hand else {
            page.fact(word!("on hand"), [word!("not known: never counted")]);
            let places: Vec<String> =
                self.setup.places_of(item.id).map(|place| text::safe(self.setup.place_name(place))).collect();
            page.fact(
                word!("stands in"),
                if places.is_empty() { vec![word!("no place yet").to_owned()] } else { places },
            );
            return;
        };
        let containers = show.containers(there.amount, item.size);
        page.fact(
            word!("on hand"),
            [say!("{containers} containers", containers), with_u(show, item.basis, there, page.theme)],
        );
        if there.amount.0 < 0 {
            page.fact("", [word!("Below nothing: more was sold or written off than was counted. Count it.")]);
        }
        if let Some((tenths, of)) = fullness(row, None, item) {
            let of = match of {
                Of::Par => word!("of par"),
                Of::Opened => word!("of the opened one"),
            };
            let mut line = level(tenths, page.theme);
            line.spans.insert(0, page.label(word!("level")));
            line.spans.push(Span::raw(format!("  {:.0} % {of}", tenths * 10.0)));
            page.lines.push(line);
        }
        if !show.hides_money {
            let value = row.value.map_or(word!("no known cost").to_owned(), |value| show.coin(value));
            page.fact(word!("value"), [value]);
        }
        let counted = row.counted.map_or(word!("never").to_owned(), |at| days.short(at));
        page.fact(
            word!("last counted"),
            [counted, say!("{sold} sold since", sold = show.amount(item.basis, row.sold))],
        );
        for (n, (place, amount)) in row.places.iter().enumerate() {
            let name = text::safe(self.setup.place_name(*place));
            let there = show.containers(*amount, item.size);
            let label = if n == 0 { word!("stands in") } else { "" };
            page.fact(label, [name, say!("{there} containers", there), show.amount(item.basis, *amount)]);
        }
    }

    fn offers(&self, page: &mut Facts<'_>, item: &Item, day: NaiveDate) {
        let show = self.setup.venue.show();
        let offers = self.setup.offers_for(item.id, day);
        if offers.is_empty() {
            let made = self.setup.recipes.contains_key(&item.id);
            page.fact(word!("offers"), [if made { word!("made here") } else { word!("nobody offers it") }]);
        }
        let lowest = self.setup.cheapest_offer(item.id, day);
        let several = offers.len() > 1;
        for (n, offer) in offers.into_iter().enumerate() {
            let supplier = self.setup.supplier(offer.supplier).map_or("?", |s| &s.name);
            let each = offer.price.times(1, offer.pack.max(1));
            let mut parts = vec![
                text::safe(supplier),
                if offer.pack == 1 { word!("single").to_owned() } else { say!("pack of {pack}", pack = offer.pack) },
            ];
            if !show.hides_money {
                parts.extend([show.coin(offer.price), say!("{each} each", each = show.money(each))]);
                parts.extend(offer.deposit.map(|deposit| say!("deposit {deposit}", deposit = show.money(deposit))));
            }
            parts.extend(offer.code.as_ref().map(|code| say!("their no. {code}", code = text::safe(code))));
            if several && lowest == Some(offer) && !show.hides_money {
                parts.push(word!("the lowest price").to_owned());
            }
            page.fact(if n == 0 { word!("offers") } else { "" }, parts);
        }
    }
}

fn counted_by(count_by: CountBy) -> String {
    match count_by {
        CountBy::Tenths => word!("counted by tenths"),
        CountBy::Weight => word!("counted on the scale"),
        CountBy::Height => word!("counted by height"),
        CountBy::Whole => word!("counted whole"),
    }
    .to_owned()
}
