//! The sheet of a drink for many serves: what goes in, to be ticked off, and what it makes.

use super::page;
use crate::domain::drink::{BatchLine, BatchPlan, standard_drinks};
use crate::domain::measure::{Amount, Basis};
use crate::domain::venue::Setup;
use maud::{Markup, html};

/// The sheet.
pub fn batch_page(setup: &Setup, drink: &str, plan: &BatchPlan, vessel: Amount, day: &str) -> String {
    let show = setup.venue.show();
    let volume = |amount| show.amount(Basis::Volume, amount);
    let (each, standard) = (plan.serve.mix.ethanol, setup.venue.standard_drink);
    let unknown = &plan.serve.strength_unknown;
    let least = if unknown.is_empty() { "" } else { "at least " };
    let with = if plan.later.is_empty() { "A serve" } else { "A serve, with what is added to it" };
    let strength = format!(
        "{least}{:.1} % vol. {with}: {least}{each:.1} g alcohol, {:.1} {}s ({})",
        100.0 * plan.mix.strength(),
        standard_drinks(each, standard),
        standard.word(),
        standard.plain()
    );
    let allergens = &plan.allergens;
    let names = |items: &std::collections::BTreeSet<_>| {
        items.iter().map(|item| setup.item_name(*item).to_owned()).collect::<Vec<_>>().join(", ")
    };
    let known = allergens.known.iter().map(|allergen| allergen.word()).collect::<Vec<_>>().join(", ");
    let body = html! {
        h1 { (drink) " for " (plan.serves) }
        p { (setup.venue.name) ", " (day) }
        h2 { "Goes in" }
        table {
            tr { th {} th { "what" } th.n { "amount" } th { "as" } }
            @for line in &plan.lines { (row(setup, line)) }
            @if plan.water > Amount::ZERO {
                tr {
                    td { span.box {} }
                    td { "Water, " (format!("{:.1} %", 100.0 * plan.dilution)) " in place of ice" }
                    td.n { (volume(plan.water)) }
                    td {}
                }
            }
        }
        @if !plan.later.is_empty() {
            h2 { "Added to each serve as it is poured" }
            table {
                tr { th {} th { "what" } th.n { "for all" } th { "as" } }
                @for line in &plan.later { (row(setup, line)) }
            }
        }
        h2 { "Makes" }
        p {
            (volume(plan.volume())) ", " (volume(plan.a_serve())) " a serve"
            @if let Some((full, rest)) = plan.vessels(vessel) {
                "; " (full) " bottles of " (volume(vessel)) " and " (volume(rest))
            }
            "."
        }
        p {
            (strength)
            @if !unknown.is_empty() {
                "; no strength is known of "
                (unknown.iter().map(|item| setup.item_name(*item)).collect::<Vec<_>>().join(", "))
            }
        }
        p {
            strong { "Allergens: " }
            @if known.is_empty() && allergens.unknown.is_empty() {
                "none of the 14 groups, as entered for everything in it"
            } @else { (known) }
            @if !allergens.unknown.is_empty() {
                @if !known.is_empty() { "; " }
                strong { "UNKNOWN of " (names(&allergens.unknown)) }
            }
        }
        p { "Made on ______________ by ______ keeps until ______________" }
        p.small {
            "Water that is in cannot be taken out again: begin with less, taste it cold, then add. Amounts at 20 °C. \
             Raw egg, cream and juice go off first. Allergens as entered are a reminder, never a clearance: the makers' labels and local rules decide. How long \
             it keeps is decided by your own food-safety plan and local code; a mixture keeps no longer than the oldest \
             thing in it. The law where you are decides what may be served."
        }
    };
    page(&format!("{drink} for {}", plan.serves), &setup.venue.language, &body)
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
