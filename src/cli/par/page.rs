//! Pars for people.

use crate::cli::figures::{Figures, UNKNOWN};
use crate::cli::page::Page;
use crate::cli::table::{Set, Table};
use crate::domain::measure::{Amount, number_of};
use crate::domain::par::{ItemPar, KNOWN_DAYS};
use crate::domain::rows::{ParView, lasts_into, next_van, par_words};
use crate::domain::venue::{Item, ParFrom};
use crate::tui::text;
use chrono::NaiveDate;

/// A day as tables have it.
fn short(day: NaiveDate) -> String {
    day.format("%a %-d %b").to_string()
}

/// The table of all items that are shown.
pub(super) fn list(view: &ParView, shown: &[&ItemPar]) -> String {
    let figures = Figures { setup: &view.setup };
    let mut page = Page::new();
    let mut table = Table::new([
        ("item", Set::Name),
        ("on hand", Set::Figure),
        ("on order", Set::Spare),
        ("by hand", Set::Figure),
        ("by demand", Set::Figure),
        ("rules", Set::Words),
        ("a day", Set::Spare),
        ("lasts into", Set::Words),
        ("next van", Set::Words),
    ]);
    let (mut rows, mut without) = (0, 0);
    for par in shown {
        if par.rules().is_none() && par.hand.is_none() {
            without += 1;
            continue;
        }
        rows += 1;
        let containers = |amount: Amount| figures.containers(par.item, amount);
        let known = |amount: Option<Amount>| amount.map_or_else(|| UNKNOWN.to_owned(), containers);
        table.row([
            figures.name(par.item),
            known(par.on_hand.map(|level| level.amount)),
            if par.on_order == Amount::ZERO { String::new() } else { containers(par.on_order) },
            known(par.hand),
            known(par.by_demand().map(|computed| computed.level)),
            par.rules().map_or(UNKNOWN, |_| par.from.word()).to_owned(),
            par.outlook.as_ref().map(|outlook| containers(Amount::rounded(outlook.rate))).unwrap_or_default(),
            lasts_into(par),
            next_van(par),
        ]);
    }
    if rows > 0 {
        page.table(&table);
        page.gap();
        page.line("In containers. Lasts into: the day in the course of which it is more likely dry than not.");
    }
    if let Some(words) = view.tied_up_words() {
        page.line(text::sentence(&words));
    }
    page.line(text::sentence(&view.known_words()));
    if without > 0 {
        let items = number_of(without, "item has", "items have");
        page.line(format!(
            "{items} no par: none by hand, and sales of fewer than {KNOWN_DAYS} days of trade to say what is asked."
        ));
    }
    page.finish()
}

/// All that is known of one item's par.
pub(super) fn one(view: &ParView, item: &Item) -> String {
    let figures = Figures { setup: &view.setup };
    let mut page = Page::new();
    let Some(par) = view.pars.iter().find(|par| par.item == item.id) else { return page.finish() };
    page.line(format!("{}, {} a container", item.name, figures.amount(item.id, item.size)));
    for line in par_words(view, par) {
        page.line(line);
    }
    if !par.cover.days.is_empty() {
        page.gap();
        let mut table = Table::new([
            ("day", Set::Name),
            ("lasts to its end", Set::Figure),
            ("comes", Set::Figure),
            ("", Set::Words),
        ]);
        for day in par.cover.days.iter().take(14) {
            let comes = par.coming.iter().find(|(on, _)| *on == day.day);
            let van = par.by_demand().filter(|computed| computed.stretch.comes == day.day && par.usual.is_some());
            let next = par.by_demand().filter(|computed| computed.stretch.until == day.day && par.usual.is_some());
            table.row([
                short(day.day),
                format!("{:.0} %", 100.0 * day.lasts),
                comes.map(|(_, amount)| figures.containers(item.id, *amount)).unwrap_or_default(),
                match (van, next) {
                    (Some(_), _) => "an order now comes".to_owned(),
                    (None, Some(_)) => "the order after it comes".to_owned(),
                    (None, None) => String::new(),
                },
            ]);
        }
        page.table(&table);
    }
    if par.from == ParFrom::Hand && par.hand.is_some() && par.by_demand().is_some() {
        page.gap();
        page.line("--rule demand lets the par by demand rule; the one set by hand stays beside it.");
    }
    page.finish()
}
