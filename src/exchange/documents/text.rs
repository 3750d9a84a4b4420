//! An order as a plain text: to be sent as it is, read out on the telephone, or put into a web form.

use crate::domain::order::OrderDocument;
use crate::words;
use std::fmt::Write;
use unicode_width::UnicodeWidthStr;

/// So many blanks fill a text up to a width.
fn fill(text: &str, width: usize) -> String {
    " ".repeat(width.saturating_sub(text.width()))
}

/// The order as a text; every line ends with a line feed.
pub fn order_text(order: &OrderDocument) -> String {
    let mut out = head(order);
    out.push('\n');
    lines(&mut out, order);
    out.push('\n');
    sums(&mut out, order);
    out
}

/// What stands before the lines.
fn head(order: &OrderDocument) -> String {
    let mut out = String::new();
    // Writing to a String cannot fail, so the results carry nothing.
    let mut put = |label: &str, text: &str| {
        let _ = writeln!(out, "{label}{}{text}", fill(label, 12));
    };
    let day = |date: chrono::NaiveDate| words::day(date, "%A %-d %B %Y");
    put(word!("Order:"), &order.name);
    put(word!("Date:"), &day(order.date));
    put(word!("To:"), &order.seller.name);
    for line in order.seller.party.lines() {
        put("", &line);
    }
    if let Some(email) = &order.email {
        put(word!("E-mail:"), email);
    }
    put(word!("From:"), &order.buyer.name);
    for line in order.buyer.party.lines() {
        put("", &line);
    }
    if let Some(vat_id) = &order.buyer.party.vat_id {
        put(word!("VAT:"), &vat_id.to_string());
    }
    if let Some(number) = &order.customer_no {
        put(word!("Customer:"), number);
    }
    if let Some(wanted) = order.wanted {
        put(word!("Wanted:"), &day(wanted));
    }
    if let Some(place) = &order.deliver_to {
        put(word!("Deliver to:"), place);
    }
    let contact = order.contact.parts();
    if !contact.is_empty() {
        put(word!("Questions:"), &contact.join(", "));
    }
    if let Some(note) = &order.note {
        put(word!("Note:"), note);
    }
    out
}

/// One line for each item, figures to the right.
fn lines(out: &mut String, order: &OrderDocument) {
    let rows: Vec<[String; 6]> = order
        .lines
        .iter()
        .map(|line| {
            [
                line.code.clone().unwrap_or_default(),
                line.packs.to_string(),
                line.pack_words(),
                line.full_name(),
                order.money(line.price),
                order.money(line.total()),
            ]
        })
        .collect();
    let width = |n: usize| rows.iter().map(|row| row[n].width()).max().unwrap_or(0);
    let widths: [usize; 6] = std::array::from_fn(width);
    for row in &rows {
        let [code, packs, pack, name, price, total] = row;
        let [codes, many, packing, names, prices, totals] = widths;
        if codes > 0 {
            let _ = write!(out, "{code}{}  ", fill(code, codes));
        }
        let _ = writeln!(
            out,
            "{}{packs} x {pack}{}  {name}{}  {} {}{price}  = {}{total}",
            fill(packs, many),
            fill(pack, packing),
            fill(name, names),
            word!("at"),
            fill(price, prices),
            fill(total, totals),
        );
    }
}

fn sums(out: &mut String, order: &OrderDocument) {
    let coin = order.currency;
    let sum = |money| format!("{} {coin}", order.money(money));
    let _ = writeln!(out, "{}", say!("Goods, without tax: {sum}", sum = sum(order.goods)));
    if order.fee != crate::domain::measure::Money::ZERO {
        let _ = writeln!(out, "{}", say!("Delivery: {sum}", sum = sum(order.fee)));
        let _ = writeln!(out, "{}", say!("In all, without tax: {sum}", sum = sum(order.total())));
    }
}
