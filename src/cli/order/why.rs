//! Why an item is ordered as it is, and what it would cost from others.

use crate::cli::figures::Figures;
use crate::cli::json::{self, FORM, MoneyForm};
use crate::cli::page::Page;
use crate::cli::{Refusal, find};
use crate::desk::book::Store;
use crate::desk::{ordering, par};
use crate::domain::measure::{Money, number_of};
use crate::domain::order::{DraftLine, Elsewhere};
use crate::domain::rows::par_words;
use crate::domain::venue::{ItemId, Moment, Setup, SupplierId};
use serde::Serialize;

/// The answer as JSON.
#[derive(Debug, Serialize)]
struct Form {
    form: u32,
    item: String,
    because: Vec<String>,
    lines: Vec<LineForm>,
    elsewhere: Vec<ElsewhereForm>,
}

/// A line of an order.
#[derive(Debug, Serialize)]
struct LineForm {
    supplier: String,
    packs: i64,
    pack_containers: i64,
    pack_price: MoneyForm,
}

/// Another supplier.
#[derive(Debug, Serialize)]
struct ElsewhereForm {
    supplier: String,
    packs: Vec<PacksForm>,
    dearer: MoneyForm,
}

/// Packs of one size.
#[derive(Debug, Serialize)]
struct PacksForm {
    packs: i64,
    pack_containers: i64,
    pack_price: MoneyForm,
}

pub(super) fn run(store: &Store, setup: &Setup, typed: &str, as_json: bool, now: Moment) -> Result<String, Refusal> {
    let item = find::one("item", &setup.items, |item| &item.name, typed)?;
    let orders = ordering::orders(store, now)?;
    let lines: Vec<(SupplierId, DraftLine)> = orders
        .drafts
        .iter()
        .flat_map(|view| view.draft.lines.iter().map(|line| (view.draft.supplier, line.clone())))
        .filter(|(_, line)| line.item == item.id)
        .collect();
    let elsewhere = ordering::elsewhere(store, item.id, now)?;
    let view = par::view(store, now)?;
    let found = view.pars.iter().find(|par| par.item == item.id);
    let because = found.map(|par| par_words(&view, par)).unwrap_or_default();
    let figures = Figures { setup };
    if as_json {
        return json::text(&form(figures, item.id, because, &lines, &elsewhere));
    }
    let mut page = Page::new();
    page.line(format!("{}, {} a container", item.name, figures.amount(item.id, item.size)));
    for words in &because {
        page.line(words);
    }
    page.gap();
    if lines.is_empty() {
        page.line("Nothing of it is in the orders.");
    }
    for (supplier, line) in &lines {
        page.line(line_words(figures, *supplier, line));
    }
    for other in &elsewhere {
        page.line(elsewhere_words(figures, other));
    }
    Ok(page.finish())
}

fn supplier(figures: Figures, id: SupplierId) -> String {
    figures.setup.supplier(id).map_or_else(|| "?".to_owned(), |s| s.name.clone())
}

/// So many packs of so many, at so much.
fn packs_words(figures: Figures, (packs, pack, price): (i64, i64, Money)) -> String {
    match pack {
        1 => format!("{} at {}", number_of(packs, "container", "containers"), figures.coin(price)),
        pack => format!("{} of {pack} at {}", number_of(packs, "pack", "packs"), figures.coin(price)),
    }
}

fn line_words(figures: Figures, from: SupplierId, line: &DraftLine) -> String {
    let times = |risk: f64| format!("{:.0} %", 100.0 * risk);
    let mut out = format!("{}: {}", supplier(figures, from), packs_words(figures, (line.packs, line.pack, line.price)));
    if line.packs != line.suggested {
        out.push_str(&format!(" ({} suggested)", line.suggested));
    }
    let Some(why) = line.why else { return out };
    match (why.risk_without, why.risk_with) {
        (Some(without), Some(with)) => out.push_str(&format!(
            "; without it, it runs dry with a chance of {} before the order after the next has come, with it {}",
            times(without),
            times(with)
        )),
        _ => out.push_str("; nobody knows how likely it is to run dry"),
    }
    if let Some(before) = why.risk_before.filter(|risk| *risk >= 0.005) {
        out.push_str(&format!("; before this order comes, with {}", times(before)));
    }
    if why.fills_up {
        out.push_str("; it is not short, and fills the order up");
    }
    out
}

fn elsewhere_words(figures: Figures, other: &Elsewhere) -> String {
    let packs: Vec<String> = other.packs.iter().map(|packs| packs_words(figures, *packs)).collect();
    let all = match other.dearer.0 {
        0 => "as dear in all".to_owned(),
        dearer if dearer > 0 => format!("{} dearer in all", figures.coin(other.dearer)),
        cheaper => format!("{} cheaper in all", figures.coin(Money(-cheaper))),
    };
    format!("From {} instead: {}; {all}", supplier(figures, other.supplier), packs.join(" and "))
}

fn form(
    figures: Figures,
    item: ItemId,
    because: Vec<String>,
    lines: &[(SupplierId, DraftLine)],
    elsewhere: &[Elsewhere],
) -> Form {
    let money = |amount| json::money(amount, figures.setup.venue.currency);
    Form {
        form: FORM,
        item: figures.name(item),
        because,
        lines: lines
            .iter()
            .map(|(from, line)| LineForm {
                supplier: supplier(figures, *from),
                packs: line.packs,
                pack_containers: line.pack,
                pack_price: money(line.price),
            })
            .collect(),
        elsewhere: elsewhere
            .iter()
            .map(|other| ElsewhereForm {
                supplier: supplier(figures, other.supplier),
                packs: other
                    .packs
                    .iter()
                    .map(|(packs, pack, price)| PacksForm {
                        packs: *packs,
                        pack_containers: *pack,
                        pack_price: money(*price),
                    })
                    .collect(),
                dearer: money(other.dearer),
            })
            .collect(),
    }
}
