//! Why an item is ordered as it is, and what it would cost from others.

use crate::cli::figures::Figures;
use crate::cli::json::{self, FORM, MoneyForm};
use crate::cli::page::Page;
use crate::cli::{Refusal, find};
use crate::desk::book::Store;
use crate::desk::ordering;
use crate::domain::rows::WhyView;
use crate::domain::venue::{Moment, Setup, SupplierId};
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
    more_paid: MoneyForm,
    proved: bool,
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
    let view = ordering::why(store, item.id, None, now)?;
    let figures = Figures { setup };
    if as_json {
        return json::text(&form(figures, view));
    }
    let mut page = Page::new();
    page.line(format!("{}, {} a container", item.name, figures.amount(item.id, item.size)));
    for words in &view.because {
        page.line(words);
    }
    page.gap();
    for words in view.ordered_words(setup).iter().chain(&view.elsewhere_words(setup)) {
        page.line(words);
    }
    Ok(page.finish())
}

fn supplier(figures: Figures, id: SupplierId) -> String {
    figures.setup.supplier(id).map_or_else(|| "?".to_owned(), |s| s.name.clone())
}

fn form(figures: Figures, view: WhyView) -> Form {
    let money = |amount| json::money(amount, figures.setup.venue.currency);
    Form {
        form: FORM,
        item: figures.name(view.item),
        lines: view
            .lines
            .iter()
            .map(|(from, line, _)| LineForm {
                supplier: supplier(figures, *from),
                packs: line.packs,
                pack_containers: line.pack,
                pack_price: money(line.price),
            })
            .collect(),
        elsewhere: view
            .elsewhere
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
                more_paid: money(other.more_paid),
                proved: other.proved,
            })
            .collect(),
        because: view.because,
    }
}
