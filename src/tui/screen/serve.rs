//! What is reckoned of a serve, in words.

use crate::domain::drink::{
    Allergens, Content, Costs, DilutionFrom, Serve, ServeCost, joins_after_ice, part_cost, price,
};
use crate::domain::measure::{Basis, Money};
use crate::domain::venue::{Ingredient, ItemId, Menu, Setup};
use crate::tui::text;
use crate::tui::widget::facts::Facts;
use crate::words;
use chrono::NaiveDate;

/// Cells before the facts.
pub(crate) const LABEL: usize = 11;

/// A share in percent: `12.4 %`.
pub(crate) fn percent(share: f64) -> String {
    format!("{} %", words::fixed(100.0 * share, 1))
}

/// Names of items, harmless and apart by commas.
pub(crate) fn names<'a>(setup: &Setup, items: impl IntoIterator<Item = &'a ItemId>) -> String {
    text::safe(&setup.item_names(items))
}

/// From when on a version is valid.
pub(crate) fn since(from: Option<NaiveDate>) -> String {
    from.map_or_else(
        || word!("from the beginning").to_owned(),
        |day| say!("since {day}", day = words::day(day, "%-d %b %Y")),
    )
}

/// Money with its coin.
pub(crate) fn money(setup: &Setup, money: Money) -> String {
    let show = setup.venue.show();
    format!("{} {}", show.money(money), show.currency)
}

/// What a serve costs, for a column: `> 1.20` where a part of it is not known, `?` where nothing is.
pub(crate) fn cost_words(setup: &Setup, cost: &ServeCost) -> String {
    let show = setup.venue.show();
    let known = show.money(cost.known.round(show.currency));
    match cost.whole() {
        Some(_) => known,
        None if cost.parts > cost.missing.len() => format!("> {known}"),
        None => "?".to_owned(),
    }
}

/// A figure that is at least so high where something is not known of it: `> 12.0`.
pub(crate) fn at_least(figure: String, unknown: &[ItemId]) -> String {
    if unknown.is_empty() { figure } else { format!("> {figure}") }
}

/// What an ingredient costs, for a column; `?` where that is not known.
pub(crate) fn part_cost_words(setup: &Setup, costs: &Costs, part: &Ingredient) -> String {
    let show = setup.venue.show();
    part_cost(costs, part).map_or("?".to_owned(), |cost| show.money(cost.round(show.currency)))
}

/// What a serve costs and earns. A menu whose price is still to be decided is not `priced`.
pub(crate) fn earns(page: &mut Facts, setup: &Setup, serve: &Serve, menu: Option<&Menu>, priced: bool) {
    let venue = &setup.venue;
    let known = money(setup, serve.cost.known.round(venue.currency));
    if !serve.cost.missing.is_empty() {
        let of = names(setup, &serve.cost.missing);
        page.fact(word!("Costs"), [say!("more than {known}", known), say!("no price is known of {of}", of)]);
    } else if let Some(cost) = serve.cost.whole() {
        let target = venue.target_pour_cost;
        let tax = menu.and_then(|menu| menu.tax);
        let aimed = price::for_target(cost, target, tax, venue);
        let share = crate::domain::measure::decimal::shown(target, 2);
        let aimed = aimed.map(|price| {
            say!("at a pour cost of {share} % it would sell for {price}", share, price = money(setup, price))
        });
        page.fact(word!("Costs"), std::iter::once(known).chain(aimed));
    }
    let Some(menu) = menu.filter(|_| priced) else { return };
    let mut said = vec![money(setup, menu.price)];
    let tax = menu.tax.map(|tax| crate::domain::measure::decimal::shown(tax, 2));
    match (tax, venue.prices_include_tax) {
        (Some(tax), true) => {
            let net = price::net(menu.price, menu.tax, venue);
            said.push(say!("{net} without {tax} % tax", net = money(setup, net), tax));
        }
        (Some(tax), false) => said.push(say!("and {tax} % tax", tax)),
        (None, true) => said.push(word!("no tax is set, so none is taken off").to_owned()),
        (None, false) => {}
    }
    if let Some(earning) = serve.earning {
        said.extend(earning.pour_cost.map(|share| say!("pour cost {share}", share = percent(share))));
        said.push(say!("brings in {margin}", margin = money(setup, earning.margin)));
    }
    page.fact(word!("Sells for"), said);
}

/// What is in the glass: volume, strength, alcohol, sugar.
pub(crate) fn glass(page: &mut Facts, setup: &Setup, serve: &Serve, menu: Option<&Menu>) {
    let venue = &setup.venue;
    let show = venue.show();
    let poured = &serve.poured;
    if poured.glass.volume() <= 0.0 {
        page.fact(word!("In the glass"), [word!("nothing that is known to fill it")]);
        return;
    }
    let mut said = vec![show.amount(Basis::Volume, poured.glass.amount())];
    let name = menu.and_then(|menu| menu.glass.as_deref()).map(text::safe);
    match (name, serve.room) {
        (Some(glass), Some(room)) => {
            said.push(say!("of {room} in “{glass}”", room = show.amount(Basis::Volume, room), glass));
            said.extend(
                serve.too_much().map(|over| say!("TOO MUCH by {over}", over = show.amount(Basis::Volume, over))),
            );
        }
        (Some(glass), None) => said.push(say!("“{glass}” has no size yet", glass)),
        (None, _) => {}
    }
    let method = menu.and_then(|menu| menu.method);
    match (poured.dilution_from, method) {
        (DilutionFrom::Measured, _) => {
            said.push(say!("ice adds {dilution} water, as measured", dilution = percent(poured.dilution)))
        }
        (DilutionFrom::Method, Some(_)) if poured.dilution <= 0.0 => said.push(word!("no ice").to_owned()),
        (DilutionFrom::Method, Some(method)) => {
            said.push(say!(
                "ice adds about {dilution} water, {done}",
                dilution = percent(poured.dilution),
                done = method.done()
            ));
        }
        (DilutionFrom::Method, None) => {}
        (DilutionFrom::Unknown, Some(method)) => {
            said.push(say!("how much water the ice adds is not known, {done}: measure it", done = method.done()));
        }
        (DilutionFrom::Unknown, None) => said.push(word!("before ice: no method is set").to_owned()),
    }
    page.fact(word!("In the glass"), said);

    let content = &poured.content;
    let mut said = vec![say!(
        "{at_least}{strength} % vol",
        at_least = content.at_least(),
        strength = words::fixed(100.0 * poured.glass.strength(), 1)
    )];
    if poured.dilution > 0.0 {
        said.push(say!("{strength} % before ice", strength = words::fixed(100.0 * poured.before.strength(), 1)));
    }
    said.extend(content.alcohol_words(setup).iter().map(|words| text::safe(words)));
    page.fact(word!("Strength"), said);

    let least = if content.sugar_unknown.is_empty() { "" } else { word!("at least ") };
    let mut said = vec![
        format!("{least}{:.0} g/l", poured.glass.grams_per_litre()),
        format!("{} g", words::fixed(poured.glass.sugar, 1)),
    ];
    said.extend(unreckoned(setup, content));
    page.fact(word!("Sugar"), said);
}

/// What the figures leave out.
pub(crate) fn unreckoned(setup: &Setup, content: &Content) -> Vec<String> {
    let mut said = Vec::new();
    if !content.sugar_unknown.is_empty() {
        said.push(say!("none is known of {sugar_unknown}", sugar_unknown = names(setup, &content.sugar_unknown)));
    }
    if !content.left_out.is_empty() {
        said.push(say!("taken to add nothing: {left_out}", left_out = names(setup, &content.left_out)));
    }
    said
}

/// What some must avoid, in words. Unknown is never none.
pub(crate) fn allergen_words(setup: &Setup, found: &Allergens) -> Vec<String> {
    found.known_words().into_iter().chain(found.unknown_words(setup)).map(|words| text::safe(&words)).collect()
}

/// What some must avoid, as a fact.
pub(crate) fn allergens(page: &mut Facts, setup: &Setup, found: &Allergens) {
    page.fact(word!("Allergens"), allergen_words(setup, found));
}

/// The usual caution about allergens and alcohol, in place and short.
pub(crate) fn caution(page: &mut Facts, alcohol: bool) {
    let mut said = vec![word!(
        "Allergens as entered are a reminder, never a clearance: the makers' labels and local rules decide."
    )];
    if alcohol {
        said.push(word!("Alcohol is reckoned from labels; the law where you are decides what may be served and said."));
    }
    page.aside(said);
}

/// What a line of a spec says besides its amount: `3 % waste`, `after the ice`, its note.
pub(crate) fn beside(setup: &Setup, part: &Ingredient) -> String {
    let mut said = Vec::new();
    if part.waste > 0 {
        said.push(say!("{waste} % waste", waste = crate::domain::measure::decimal::shown(part.waste, 2)));
    }
    if joins_after_ice(setup, part) {
        said.push(word!("after the ice").to_owned());
    }
    said.extend(part.note.as_deref().map(text::safe));
    said.join(", ")
}
