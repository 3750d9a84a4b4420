//! An order as it leaves the house: a text to send and rows for a spreadsheet.

use super::{Draft, DraftLine};
use crate::domain::measure::{Amount, Basis};
use crate::domain::venue::Setup;
use std::fmt::Write;

/// What a spreadsheet would run as a formula is put behind an apostrophe; numbers of our own never come here.
fn cell(text: &str) -> String {
    match text.chars().next() {
        Some('=' | '+' | '-' | '@' | '\t' | '\r') => format!("'{text}"),
        _ => text.to_owned(),
    }
}

fn ordered(draft: &Draft) -> impl Iterator<Item = &DraftLine> {
    draft.lines.iter().filter(|l| l.packs > 0)
}

/// Rows of the order, the first being the head: code, item, packs, containers in a pack, containers, price of a pack
/// and of the line.
pub fn order_csv(setup: &Setup, draft: &Draft) -> Vec<Vec<String>> {
    let currency = setup.venue.currency;
    let head = ["code", "item", "packs", "pack", "containers", "pack_price", "line_total"];
    let mut rows = vec![head.map(str::to_owned).to_vec()];
    for line in ordered(draft) {
        rows.push(vec![
            cell(line.code.as_deref().unwrap_or_default()),
            cell(setup.item_name(line.item)),
            line.packs.to_string(),
            line.pack.to_string(),
            line.packs.saturating_mul(line.pack).to_string(),
            currency.plain(line.price),
            currency.plain(line.total()),
        ]);
    }
    rows
}

/// The order as a plain text, ready to be sent. `name` is what the order is called.
pub fn order_text(setup: &Setup, draft: &Draft, name: &str) -> String {
    let venue = &setup.venue;
    let mut out = String::new();
    let supplier = setup.supplier(draft.supplier);
    // Writing to a String cannot fail, so the results carry nothing.
    let _ = writeln!(out, "To:       {}", supplier.map_or("", |s| &s.name));
    if let Some(email) = supplier.and_then(|s| s.email.as_deref()) {
        let _ = writeln!(out, "E-mail:   {email}");
    }
    let _ = writeln!(out, "From:     {}", venue.name);
    if let Some(number) = supplier.and_then(|s| s.customer_no.as_deref()) {
        let _ = writeln!(out, "Customer: {number}");
    }
    let _ = writeln!(out, "Order:    {name}");
    if let Some(deadline) = draft.deadline {
        let _ = writeln!(out, "For:      {}", deadline.comes.format("%A %-d %B %Y"));
    }
    let _ = writeln!(out);
    let codes = ordered(draft).filter_map(|l| l.code.as_deref()).map(|c| c.chars().count()).max().unwrap_or(0);
    for line in ordered(draft) {
        let code = line.code.as_deref().unwrap_or_default();
        let gap = if codes > 0 { "  " } else { "" };
        let pack = if line.pack == 1 { "single".to_owned() } else { format!("case of {}", line.pack) };
        // One of what is counted singly needs no size.
        let item = setup.item(line.item).filter(|i| (i.basis, i.size) != (Basis::Each, Amount(1_000)));
        let size = item.map_or(String::new(), |i| format!(" ({})", venue.show().amount(i.basis, i.size)));
        let name = setup.item_name(line.item);
        let _ = writeln!(out, "{code:<codes$}{gap}{:>4} × {pack:<11}  {name}{size}", line.packs);
    }
    let totals = draft.totals(setup);
    let _ = writeln!(out);
    let _ = writeln!(out, "Goods, without tax: {} {}", venue.currency.plain(totals.goods), venue.currency);
    out
}
