//! What the page does not say and why, and how the gaps were judged.

use super::Week;
use crate::domain::measure::{decimal, number_of};
use crate::domain::usage::{GapRow, Told, Untold};
use crate::domain::venue::{ItemId, PlaceId};
use crate::exchange::plain::legible;
use crate::words;
use maud::{Markup, html};

/// So many till names are named.
const TILLS: usize = 5;

impl Week<'_> {
    /// What was left out, each with its reason.
    pub(super) fn not_told(&self) -> Markup {
        let said = self.left_out();
        html! {
            @if !said.is_empty() {
                section.long {
                    h2 { (word!("What is not told")) }
                    ul.said { @for sentence in said { li { (sentence) } } }
                }
            }
        }
    }

    fn left_out(&self) -> Vec<String> {
        let variance = &self.view.variance;
        let mut said = Vec::new();
        let mut add = |what: String, items: &[ItemId]| {
            if !items.is_empty() {
                said.push(format!("{what}: {}.", self.names(items)));
            }
        };
        let untold = |which: &dyn Fn(&Untold) -> bool| -> Vec<ItemId> {
            variance.untold.iter().filter(|(_, why)| which(why)).map(|(item, _)| *item).collect()
        };
        add(word!("Not counted at the beginning").to_owned(), &untold(&|why| *why == Untold::NotInOpening));
        add(word!("Not counted at the end").to_owned(), &untold(&|why| *why == Untold::NotInClosing));
        add(word!("Sold, but counted neither time").to_owned(), &untold(&|why| *why == Untold::NotCounted));
        let mut elsewhere: Vec<&Vec<PlaceId>> = Vec::new();
        for (_, why) in &variance.untold {
            if let Untold::PouredElsewhere(places) = why
                && !elsewhere.contains(&places)
            {
                elsewhere.push(places);
            }
        }
        for places in elsewhere {
            let of = untold(&|why| matches!(why, Untold::PouredElsewhere(others) if others == places));
            add(say!("Also poured in {places}, not counted both times", places = self.places(places)), &of);
        }
        let rows = &variance.rows;
        let left_out = |row: &&GapRow| matches!(row.told, Told::StoresLeftOut(_));
        let stores: Vec<ItemId> = rows.iter().filter(left_out).map(|row| row.item).collect();
        add(
            word!("Told without stores that were not counted both times; what was carried from there is on record")
                .to_owned(),
            &stores,
        );
        let unpriced: Vec<ItemId> = rows.iter().filter(|row| row.cost.is_none()).map(|row| row.item).collect();
        add(word!("No price is known").to_owned(), &unpriced);
        add(
            word!("Made here and not counted both times, so taken from the ingredients").to_owned(),
            &variance.exploded,
        );
        said.extend(self.unmapped());
        let no_stock = self.goods.goods.net.no_stock;
        if no_stock.0 != 0 {
            said.push(say!("Not among net sales: {no_stock} of what is no stock.", no_stock = self.coin(no_stock)));
        }
        said
    }

    /// Till names without a meaning, the most money first.
    fn unmapped(&self) -> Option<String> {
        let sold = &self.view.variance.sold;
        let name = |till| self.setup.till_name(till).map_or("?", |till| &till.name);
        let first: Vec<String> =
            sold.unmapped_tills.iter().take(TILLS).map(|(till, _)| format!("“{}”", legible(name(*till)))).collect();
        let names = match sold.unmapped_tills.len().saturating_sub(TILLS) {
            0 => first.join(", "),
            more => say!("{what} and {more} more", what = first.join(", "), more),
        };
        (sold.unmapped.lines > 0).then(|| {
            say!("Till names without a meaning: {names}; {quantity} rung in {lines}, {net} net. What they took is missing from “sold”.", names, quantity = decimal::plain(sold.unmapped.quantity, 3), lines = number_of(sold.unmapped.lines, word!("line"), word!("lines")), net = self.coin(sold.unmapped.net))
        })
    }

    fn places(&self, places: &[PlaceId]) -> String {
        places.iter().map(|place| legible(self.setup.place_name(*place))).collect::<Vec<_>>().join(", ")
    }

    /// By which rule gaps are told, and what a gap is not.
    pub(super) fn judged(&self) -> Markup {
        let review = &self.view.review;
        let rate = decimal::plain(self.setup.venue.false_alarms, 2);
        let lines = number_of(self.view.variance.rows.len(), word!("line"), word!("lines"));
        html! {
            section {
                h2 { (word!("How it was judged")) }
                p {
                    (word!("The gaps of ")) (lines) (word!(" were judged together, each with its own uncertainty, so that of those to look into by "))
                    (word!("this period alone about ")) (rate) (word!(" % may be nothing. Over the periods a line is told when a sum passes "))
                    (words::fixed(review.limit, 1)) (word!(", which chance alone makes one of all lines do once in 20 periods."))
                }
                p.take-care {
                    strong { (word!("A gap is a figure and no accusation.")) }
                    (word!(" A miscount, a delivery that was not booked or a spec that nobody follows makes one as well, and the likeliest "))
                    (word!("cause is no more than that. Talk with the people who were there before anybody judges."))
                }
            }
        }
    }
}
