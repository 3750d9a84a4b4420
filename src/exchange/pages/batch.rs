//! The sheet of a drink for many serves: what goes in, to be ticked off, and what it makes.

use super::page;
use crate::domain::drink::{BatchLine, BatchPlan};
use crate::domain::measure::{Amount, Basis};
use crate::domain::venue::Setup;
use crate::words::{self, Speech};
use maud::{Markup, html};

/// The sheet.
pub fn batch_page(setup: &Setup, drink: &str, plan: &BatchPlan, vessel: Amount, day: &str) -> String {
    let show = setup.venue.show();
    let volume = |amount| show.amount(Basis::Volume, amount);
    let (known, unknown) = (plan.allergens.known_words(), plan.allergens.unknown_words(setup));
    let body = html! {
        h1 { (drink) (word!(" for ")) (plan.serves) }
        p { (setup.venue.name) ", " (day) }
        h2 { (word!("Goes in")) }
        table {
            tr { th {} th { (word!("what")) } th.n { (word!("amount")) } th { (word!("as")) } }
            @for line in &plan.lines { (row(setup, line)) }
            @if plan.water > Amount::ZERO {
                tr {
                    td { span.box {} }
                    td { (word!("Water, ")) (format!("{} %", words::fixed(100.0 * plan.dilution, 1))) (word!(" in place of ice")) }
                    td.n { (volume(plan.water)) }
                    td {}
                }
            }
        }
        @if !plan.later.is_empty() {
            h2 { (word!("Added to each serve as it is poured")) }
            table {
                tr { th {} th { (word!("what")) } th.n { (word!("for all")) } th { (word!("as")) } }
                @for line in &plan.later { (row(setup, line)) }
            }
        }
        h2 { (word!("Makes")) }
        p {
            (volume(plan.volume())) ", " (volume(plan.a_serve())) (word!(" a serve"))
            @if let Some((full, rest)) = plan.vessels(vessel) {
                "; " (full) (word!(" bottles of ")) (volume(vessel)) (word!(" and ")) (volume(rest))
            }
            "."
        }
        p { (plan.strength_words(setup).join("; ")) }
        p {
            strong { (word!("Allergens: ")) }
            @if let Some(known) = &known { (known) }
            @if let Some(unknown) = &unknown {
                @if known.is_some() { "; " }
                strong { (unknown) }
            }
        }
        p { (word!("Made on ______________ by ______ keeps until ______________")) }
        p.small {
            (word!("Water that is in cannot be taken out again: begin with less, taste it cold, then add. Amounts at 20 °C. \
             Raw egg, cream and juice go off first. Allergens as entered are a reminder, never a clearance: the makers' \
             labels and local rules decide. How long it keeps is decided by your own food-safety plan and local code; a \
             mixture keeps no longer than the oldest thing in it. The law where you are decides what may be served."))
        }
    };
    page(&say!("{drink} for {serves}", drink, serves = plan.serves), Speech::here().language.tag(), "", &body)
}

fn row(setup: &Setup, line: &BatchLine) -> Markup {
    html! {
        tr {
            td { span.box {} }
            td { (setup.item_name(line.item)) }
            td.n { (line.in_units(setup)) }
            td { (line.in_containers(setup)) }
        }
    }
}
