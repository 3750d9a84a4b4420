//! The report of a menu: which drinks sell and which earn, as a plot and as a table.

use super::page;
use super::svg::{picture, px};
use crate::domain::drink::matrix::{Corner, Matrix, Standing};
use crate::domain::measure::decimal;
use crate::domain::rows::{DrinkLine, DrinksView, Selection};
use crate::words::{self, Speech};
use maud::{Markup, html};

const WIDE: f64 = 640.0;
const HIGH: f64 = 360.0;
/// Room at the left for the figures, and below.
const LEFT: f64 = 56.0;
const BELOW: f64 = 34.0;

/// The report of some of the drinks.
pub fn menu_page(view: &DrinksView, selection: Selection, lines: &[DrinkLine]) -> String {
    let setup = &view.setup;
    let show = setup.venue.show();
    let matrix = view.matrix(lines).most_first();
    let over = view.sold_over.as_ref().map_or(word!("no sales yet").to_owned(), |days| {
        say!("sold {start} to {end}", start = days.start(), end = days.end())
    });
    let name = |row: &Standing| setup.drink(row.sold.drink).map_or("?", |drink| drink.name.as_str()).to_owned();
    let line = |row: &Standing| lines.iter().find(|line| line.drink == row.sold.drink);
    let left_out: Vec<String> = lines
        .iter()
        .filter(|line| !matrix.rows.iter().any(|row| row.sold.drink == line.drink))
        .filter_map(|line| setup.drink(line.drink).map(|drink| drink.name.clone()))
        .collect();
    let body = html! {
        h1 { (word!("Which drinks sell and which earn")) }
        p { (setup.venue.name) ": " (selection.title()) ", " (over) (word!(". Costs and prices of ")) (view.larder.day) "." }
        @if matrix.rows.is_empty() {
            p { (word!("Nothing of these was sold in those days, so nothing can be compared.")) }
        } @else {
            (plot(view, &matrix))
        }
        table {
            tr {
                th.n { (word!("no.")) } th { (word!("drink")) } th { (word!("corner")) } th.n { (word!("sold")) } th.n { (word!("share")) } th.n { (word!("price")) } th.n { (word!("cost")) }
                th.n { (word!("pour cost")) } th.n { (word!("brings in")) } th.n { (word!("in all")) }
            }
            @for (at, row) in matrix.rows.iter().enumerate() {
                @let serve = line(row).and_then(|line| line.serve.as_ref());
                @let price = setup.drink(row.sold.drink).and_then(|drink| view.menu(drink)).map(|menu| menu.price);
                @let cost = serve.and_then(|serve| serve.cost.whole()).map(|cost| cost.round(show.currency));
                @let share = serve.and_then(|serve| serve.earning).and_then(|earning| earning.pour_cost);
                tr {
                    td.n { (at + 1) }
                    td { (name(row)) }
                    td { (row.corner) }
                    td.n { (decimal::plain(row.sold.quantity, 3)) }
                    td.n { (format!("{} %", words::fixed(100.0 * row.share, 1))) }
                    td.n { (price.map(|price| show.money(price)).unwrap_or_default()) }
                    td.n { (cost.map(|cost| show.money(cost)).unwrap_or_default()) }
                    td.n { (share.map(|share| format!("{} %", words::fixed(100.0 * share, 1))).unwrap_or_default()) }
                    td.n { (show.money(row.sold.margin)) }
                    td.n { (show.money(row.sold.margin.times(row.sold.quantity, 1_000))) }
                }
            }
        }
        @if !left_out.is_empty() {
            p { (word!("Left out, since their cost or price is not known or they came later: ")) (left_out.join(", ")) "." }
        }
        h2 { (word!("The corners")) }
        @for corner in Corner::ALL {
            p { strong { (corner) } ": " (corner.meaning()) "." }
        }
        p.small {
            (word!("A drink sells when its share is at least 70 % of an even share, "))
            (format!("{} %", words::fixed(100.0 * matrix.popular, 1)))
            (word!("; it earns when what one brings in is at least the average of all that were sold, "))
            (words::fixed(show.currency.major(matrix.high), 2)) " " (show.currency.code())
            (word!(". What one brings in is its price without tax less what goes into it."))
        }
    };
    page(word!("Which drinks sell and which earn"), Speech::here().language.tag(), "", &body)
}

/// The plot; each point bears the number that its drink has in the table, and says on hovering which it is.
fn plot(view: &DrinksView, matrix: &Matrix) -> Markup {
    let currency = view.setup.venue.currency;
    let high = currency.major(matrix.high);
    let span = |figures: &mut dyn Iterator<Item = f64>| {
        let (low, high) = figures.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), x| (l.min(x), h.max(x)));
        let room = ((high - low) * 0.06).max(1e-6);
        if low <= high { (low - room, high + room) } else { (0.0, 1.0) }
    };
    let share = |row: &Standing| 100.0 * row.share;
    let margin = |row: &Standing| currency.major(row.sold.margin.0 as f64);
    let (x_low, x_high) = span(&mut matrix.rows.iter().map(share).chain([100.0 * matrix.popular]));
    let (y_low, y_high) = span(&mut matrix.rows.iter().map(margin).chain([high]));
    let x = |figure: f64| LEFT + (figure - x_low) / (x_high - x_low) * (WIDE - LEFT - 8.0);
    let y = |figure: f64| 8.0 + (1.0 - (figure - y_low) / (y_high - y_low)) * (HIGH - BELOW - 8.0);
    let (down, across) = (x(100.0 * matrix.popular), y(high));
    let (bottom, right) = (HIGH - BELOW, WIDE - 8.0);
    let drawn = html! {
        rect x=(px(LEFT)) y="8" width=(px(right - LEFT)) height=(px(bottom - 8.0)) fill="none" stroke="#999" {}
        line x1=(px(down)) x2=(px(down)) y1="8" y2=(px(bottom)) stroke="#666" stroke-dasharray="4 3" {}
        line x1=(px(LEFT)) x2=(px(right)) y1=(px(across)) y2=(px(across)) stroke="#666" stroke-dasharray="4 3" {}
        text x=(px(LEFT + 4.0)) y="20" { (Corner::Secret) }
        text x=(px(right - 4.0)) y="20" text-anchor="end" { (Corner::Anchor) }
        text x=(px(LEFT + 4.0)) y=(px(bottom - 5.0)) { (Corner::Ballast) }
        text x=(px(right - 4.0)) y=(px(bottom - 5.0)) text-anchor="end" { (Corner::Draw) }
        text x=(px(LEFT - 4.0)) y=(px(across + 3.0)) text-anchor="end" { (words::fixed(high, 2)) }
        text x=(px(LEFT - 4.0)) y="16" text-anchor="end" { (words::fixed(y_high, 2)) }
        text x=(px(LEFT - 4.0)) y=(px(bottom)) text-anchor="end" { (words::fixed(y_low, 2)) }
        text x=(px(down)) y=(px(bottom + 12.0)) text-anchor="middle" { (format!("{} %", words::fixed(100.0 * matrix.popular, 1))) }
        text x=(px(right)) y=(px(bottom + 12.0)) text-anchor="end" { (format!("{} %", words::fixed(x_high, 1))) }
        text x=(px(right)) y=(px(bottom + 26.0)) text-anchor="end" { (word!("share of all that were sold")) }
        text x=(px(LEFT)) y=(px(bottom + 26.0)) { (word!("up: what one brings in")) }
        @for (at, row) in matrix.rows.iter().enumerate() {
            @let name = view.setup.drink(row.sold.drink).map_or("?", |drink| drink.name.as_str());
            g {
                circle cx=(px(x(share(row)))) cy=(px(y(margin(row)))) r="3.5" fill="#000" {}
                text x=(px(x(share(row)) + 5.0)) y=(px(y(margin(row)) - 3.0)) { (at + 1) }
                title { (name) ": " (row.corner) }
            }
        }
    };
    picture((WIDE, HIGH), "wide", word!("Share of sales against what one brings in"), &drawn)
}
