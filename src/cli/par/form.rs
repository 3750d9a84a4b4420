//! Pars as JSON; amounts in the unit that each item names.

use crate::cli::json::{self, MoneyForm};
use crate::domain::par::{Held, ItemPar, Par};
use crate::domain::rows::ParView;
use serde::Serialize;

/// The answer.
#[derive(Debug, Serialize)]
pub(super) struct Form {
    form: u32,
    at: String,
    asked_from: Option<String>,
    asked_to: Option<String>,
    last_sale: Option<String>,
    tied_up_by_hand: MoneyForm,
    tied_up_by_demand: MoneyForm,
    items: Vec<ItemForm>,
}

/// One item.
#[derive(Debug, Serialize)]
struct ItemForm {
    item: String,
    unit: &'static str,
    size: i64,
    on_hand: Option<i64>,
    u_on_hand: Option<i64>,
    on_order: i64,
    rules: Option<&'static str>,
    by_hand: Option<i64>,
    by_demand: Option<i64>,
    asked_a_day: Option<f64>,
    days_known: Option<usize>,
    days_dry: Option<usize>,
    made_here: bool,
    pars: Vec<ParForm>,
    lasts: Vec<DayForm>,
}

/// A par by demand, when the item comes from a supplier.
#[derive(Debug, Serialize)]
struct ParForm {
    supplier: Option<String>,
    usual: bool,
    level: i64,
    order_by: Option<String>,
    comes: String,
    until: String,
    asked: i64,
    asked_sd: i64,
    enough: f64,
    held_by: Option<&'static str>,
}

/// How surely it lasts to the end of a day.
#[derive(Debug, Serialize)]
struct DayForm {
    day: String,
    lasts: f64,
    comes: Option<i64>,
}

pub(super) fn form(view: &ParView, shown: &[&ItemPar], form: u32) -> Form {
    let venue = &view.setup.venue;
    let (hand, demand) = view.tied_up();
    Form {
        form,
        at: json::time(&venue.days, view.now),
        asked_from: view.known.as_ref().map(|days| days.start().to_string()),
        asked_to: view.known.as_ref().map(|days| days.end().to_string()),
        last_sale: view.last_sale.map(|at| json::time(&venue.days, at)),
        tied_up_by_hand: json::money(hand, venue.currency),
        tied_up_by_demand: json::money(demand, venue.currency),
        items: shown.iter().filter_map(|par| item(view, par)).collect(),
    }
}

fn item(view: &ParView, par: &ItemPar) -> Option<ItemForm> {
    let item = view.setup.item(par.item)?;
    let comes = |day| par.coming.iter().find(|(on, _)| *on == day).map(|(_, amount)| amount.0);
    Some(ItemForm {
        item: item.name.clone(),
        unit: json::unit(item.basis),
        size: item.size.0,
        on_hand: par.on_hand.map(|level| level.amount.0),
        u_on_hand: par.on_hand.map(|level| json::whole(level.u)),
        on_order: par.on_order.0,
        rules: par.rules().map(|_| par.from.word()),
        by_hand: par.hand.map(|par| par.0),
        by_demand: par.by_demand().map(|par| par.level.0),
        asked_a_day: par.outlook.as_ref().map(|outlook| outlook.rate),
        days_known: par.outlook.as_ref().map(|outlook| outlook.days),
        days_dry: par.outlook.as_ref().map(|outlook| outlook.dry),
        made_here: par.made_here,
        pars: par
            .computed
            .iter()
            .map(|(supplier, computed)| {
                let name = supplier.and_then(|id| view.setup.supplier(id)).map(|s| s.name.clone());
                par_form(view, computed, name, *supplier == par.usual)
            })
            .collect(),
        lasts: par
            .cover
            .days
            .iter()
            .map(|day| DayForm { day: day.day.to_string(), lasts: day.lasts, comes: comes(day.day) })
            .collect(),
    })
}

fn par_form(view: &ParView, par: &Par, supplier: Option<String>, usual: bool) -> ParForm {
    ParForm {
        supplier,
        usual,
        level: par.level.0,
        order_by: par.stretch.by.map(|by| json::time(&view.setup.venue.days, by)),
        comes: par.stretch.comes.to_string(),
        until: par.stretch.until.to_string(),
        asked: json::whole(par.demand.mean),
        asked_sd: json::whole(par.demand.sd()),
        enough: par.enough(),
        held_by: par.held.map(|held| match held {
            Held::Shelf => "shelf",
            Held::Keeps => "keeps",
        }),
    }
}
