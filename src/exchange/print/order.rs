//! An order as a page: the letterhead of the bar, whom it goes to, what is wanted, what it comes to.

use super::embed::{About, pdf};
use super::press::{Paper, Press, Style};
use crate::domain::measure::Money;
use crate::domain::order::{DocumentLine, OrderDocument};
use crate::words;
use std::io;

const LEFT: f32 = 50.0;
const TOP: f32 = 48.0;
/// What is kept free below, the foot of the page in it.
const BOTTOM: f32 = 42.0;
/// Between columns of the table.
const GAP: f32 = 9.0;
/// An item's column is not made narrower than this by the others.
const LEAST_NAME: f32 = 110.0;
/// A supplier's number is broken into lines where it is wider than this.
const MOST_CODE: f32 = 95.0;

/// How close the lines of the table stand.
#[derive(Clone, Copy, Debug)]
struct Density {
    /// Size of its letters.
    size: f32,
    /// Height of a line of text.
    line: f32,
    /// Free above and below in a row, together.
    air: f32,
}

/// From airy to tight. An order goes on one page in the first of these in which it fits; one that fits in none gets more
/// pages, airy ones.
const DENSITIES: [Density; 5] = [
    Density { size: 9.5, line: 12.0, air: 6.0 },
    Density { size: 9.0, line: 11.0, air: 4.0 },
    Density { size: 8.0, line: 9.8, air: 2.6 },
    Density { size: 7.5, line: 9.0, air: 1.4 },
    Density { size: 7.2, line: 8.6, air: 0.8 },
];

/// The order as a PDF.
///
/// # Errors
/// When a built-in font is damaged.
pub fn order_pdf(order: &OrderDocument) -> io::Result<Vec<u8>> {
    let mut press = lay_out(order, DENSITIES[0])?;
    for density in &DENSITIES[1..] {
        if press.pages.len() == 1 {
            break;
        }
        let tighter = lay_out(order, *density)?;
        if tighter.pages.len() == 1 {
            press = tighter;
        }
    }
    feet(&mut press, order);
    let title = say!("Order {order}", order = order.name);
    pdf(&press, About { title: &title, author: &order.buyer.name, date: order.date })
}

fn lay_out(order: &OrderDocument, density: Density) -> io::Result<Press> {
    let press = Press::new(Paper::of(&order.buyer.party))?;
    let mut page = Page { y: TOP, right: press.paper.width - LEFT, low: press.paper.height - BOTTOM, press, density };
    page.letterhead(order);
    page.sides(order);
    page.notes(order);
    page.table(order);
    page.sums(order);
    page.signature();
    Ok(page.press)
}

/// A page being filled from the top.
struct Page {
    press: Press,
    density: Density,
    /// How far down it is filled.
    y: f32,
    right: f32,
    low: f32,
}

/// A column of figures: how wide, and where it ends.
#[derive(Clone, Copy)]
struct Columns {
    code: f32,
    name: f32,
    name_width: f32,
    packs: f32,
    pack: f32,
    containers: f32,
    price: f32,
    total: f32,
}

impl Page {
    fn wide(&self) -> f32 {
        self.right - LEFT
    }

    fn letterhead(&mut self, order: &OrderDocument) {
        let name = Style::bold(17.0);
        for line in self.press.wrap(name, &order.buyer.name, self.wide()) {
            self.press.text(LEFT, self.y, name, &line);
            self.y += 20.0;
        }
        self.y -= 5.0;
        let party = &order.buyer.party;
        let vat = party.vat_id.as_ref().map(|id| say!("VAT {id}", id));
        let where_ = party.lines().join(" · ");
        let how: Vec<String> =
            order.contact.phone.iter().map(ToString::to_string).chain(order.contact.email.clone()).chain(vat).collect();
        for text in [where_, how.join(" · ")] {
            if !text.is_empty() {
                self.paragraph(Style::pale(8.5), 11.0, LEFT, self.wide(), &text);
            }
        }
        self.press.rule(LEFT, self.y - 3.0, self.wide(), 1.2, 0.0);
        self.y += 22.0;
    }

    /// Text in as many lines as it takes; the next one stands below.
    fn paragraph(&mut self, style: Style, line: f32, x: f32, width: f32, text: &str) {
        for part in self.press.wrap(style, text, width) {
            self.press.text(x, self.y, style, &part);
            self.y += line;
        }
    }

    /// To whom on the left, what is called how and when on the right.
    fn sides(&mut self, order: &OrderDocument) {
        let top = self.y;
        let half = self.wide() * 0.46;
        self.press.text(LEFT, self.y, Style::pale(8.0), word!("To"));
        self.y += 14.0;
        self.paragraph(Style::bold(11.0), 13.5, LEFT, half, &order.seller.name);
        for line in order.seller.party.lines().into_iter().chain(order.email.clone()) {
            self.paragraph(Style::plain(9.5), 12.0, LEFT, half, &line);
        }
        let left = self.y;
        self.y = top;
        let x = LEFT + self.wide() * 0.52;
        self.press.text(x, self.y + 4.0, Style::bold(15.0), word!("Order"));
        self.y += 21.0;
        let day = |date: chrono::NaiveDate| words::day(date, "%a %-d %B %Y");
        let facts = [
            (word!("Order number"), Some(order.name.clone())),
            (word!("Date"), Some(day(order.date))),
            (word!("Wanted delivery"), order.wanted.map(day)),
            (word!("Customer number"), order.customer_no.clone()),
        ];
        for (label, fact) in facts {
            if let Some(fact) = fact {
                self.press.text(x, self.y, Style::pale(8.5), label);
                let style = if label == "Date" { Style::plain(9.5) } else { Style::bold(9.5) };
                let at = x + 84.0;
                self.paragraph(style, 13.0, at, self.right - at, &fact);
            }
        }
        self.y = self.y.max(left) + 12.0;
    }

    /// Where to deliver, whom to ask, anything else: what is read before the table.
    fn notes(&mut self, order: &OrderDocument) {
        let who = order.contact.parts().join(", ");
        let notes = [
            (word!("Deliver to"), order.deliver_to.as_deref().unwrap_or_default()),
            (word!("Questions to"), who.as_str()),
            (word!("Note"), order.note.as_deref().unwrap_or_default()),
        ];
        let style = Style::plain(9.0);
        let label_wide = 72.0;
        for (label, text) in notes {
            if !text.is_empty() {
                let lines = self.press.wrap(style, text, self.wide() - label_wide);
                if self.y + lines.len() as f32 * 11.5 > self.low {
                    self.continue_on_next(order);
                }
                self.press.text(LEFT, self.y, Style::bold(8.5), label);
                for line in lines {
                    self.press.text(LEFT + label_wide, self.y, style, &line);
                    self.y += 11.5;
                }
                self.y += 1.5;
            }
        }
        self.y += 6.0;
    }

    fn columns(&self, order: &OrderDocument) -> Columns {
        let style = Style::plain(self.density.size);
        let head = Style::bold(self.density.size - 1.0);
        let widest = |label: &str, each: &dyn Fn(&DocumentLine) -> String| {
            let lines = order.lines.iter().map(|line| self.press.width(style, &each(line)));
            lines.fold(self.press.width(head, label), f32::max)
        };
        let code = widest(heads()[0], &|line| line.code.clone().unwrap_or_default()).min(MOST_CODE);
        let code = if order.lines.iter().any(|line| line.code.is_some()) { code + GAP } else { 0.0 };
        let (total, price) = (
            widest(heads()[6], &|line| order.money(line.total())),
            widest(heads()[5], &|line| order.money(line.price)),
        );
        let containers = widest(heads()[4], &|line| line.containers().to_string());
        let (pack, packs) =
            (widest(heads()[3], &DocumentLine::pack_words), widest(heads()[2], &|line| line.packs.to_string()));
        let total_at = self.right - 4.0;
        let price_at = total_at - total - GAP;
        let containers_at = price_at - price - GAP;
        let pack_at = containers_at - containers - GAP - pack;
        let packs_at = pack_at - GAP * 0.6;
        let name_at = LEFT + 4.0 + code;
        Columns {
            code: LEFT + 4.0,
            name: name_at,
            name_width: (packs_at - packs - GAP - name_at).max(LEAST_NAME),
            packs: packs_at,
            pack: pack_at,
            containers: containers_at,
            price: price_at,
            total: total_at,
        }
    }

    fn table_head(&mut self, at: Columns, codes: bool) {
        let head = Style::bold(self.density.size - 1.0);
        let height = self.density.size + 8.0;
        self.press.fill(LEFT, self.y, self.wide(), height, 0.9);
        let base = self.y + height - 5.0;
        if codes {
            self.press.text(at.code, base, head, heads()[0]);
        }
        self.press.text(at.name, base, head, heads()[1]);
        self.press.right(at.packs, base, head, heads()[2]);
        self.press.text(at.pack, base, head, heads()[3]);
        self.press.right(at.containers, base, head, heads()[4]);
        self.press.right(at.price, base, head, heads()[5]);
        self.press.right(at.total, base, head, heads()[6]);
        self.y += height;
    }

    fn table(&mut self, order: &OrderDocument) {
        let at = self.columns(order);
        let codes = order.lines.iter().any(|line| line.code.is_some());
        let style = Style::plain(self.density.size);
        self.table_head(at, codes);
        for line in &order.lines {
            let names = self.press.wrap(style, &line.full_name(), at.name_width);
            let code = line.code.as_deref().unwrap_or_default();
            let code = self.press.wrap(style, code, at.name - at.code - GAP);
            let height = names.len().max(code.len()) as f32 * self.density.line + self.density.air;
            if self.y + height > self.low {
                self.continue_on_next(order);
                self.table_head(at, codes);
            }
            let mut base = self.y + self.density.air / 2.0 + self.density.size;
            self.press.right(at.packs, base, Style::bold(self.density.size), &line.packs.to_string());
            self.press.text(at.pack, base, style, &line.pack_words());
            self.press.right(at.containers, base, style, &line.containers().to_string());
            self.press.right(at.price, base, style, &order.money(line.price));
            self.press.right(at.total, base, style, &order.money(line.total()));
            for n in 0..names.len().max(code.len()) {
                self.press.text(at.code, base, style, code.get(n).map_or("", String::as_str));
                self.press.text(at.name, base, style, names.get(n).map_or("", String::as_str));
                base += self.density.line;
            }
            self.y += height;
            self.press.rule(LEFT, self.y, self.wide(), 0.4, 0.7);
        }
    }

    fn continue_on_next(&mut self, order: &OrderDocument) {
        self.press.next_page();
        self.y = TOP;
        self.press.text(LEFT, self.y, Style::bold(10.0), &order.buyer.name);
        self.press.right(self.right, self.y, Style::plain(9.0), &say!("Order {order}, continued", order = order.name));
        self.y += 12.0;
    }

    fn sums(&mut self, order: &OrderDocument) {
        let tall = if order.fee == Money::ZERO { 27.0 } else { 55.0 };
        // The sums and the line to sign on stay together.
        if self.y + tall + SIGNATURE > self.low {
            self.continue_on_next(order);
        }
        self.y += 18.0;
        let coin = order.currency.code();
        let end = self.right - 4.0;
        self.press.text(LEFT, self.y, Style::pale(8.5), &say!("Prices in {coin}, without tax.", coin));
        let sum = |page: &mut Page, label: &str, amount: Money, style: Style| {
            let figure = order.money(amount);
            let label_end = end - page.press.width(Style::bold(10.5), &order.money(order.total())).max(50.0) - 14.0;
            page.press.right(label_end, page.y, style, label);
            page.press.right(end, page.y, style, &figure);
            page.y += 14.0;
        };
        if order.fee == Money::ZERO {
            sum(self, word!("Goods without tax"), order.goods, Style::bold(10.5));
        } else {
            sum(self, word!("Goods without tax"), order.goods, Style::plain(9.5));
            sum(self, word!("Delivery"), order.fee, Style::plain(9.5));
            sum(self, word!("In all without tax"), order.total(), Style::bold(10.5));
        }
    }

    /// Room for whoever confirms the order.
    fn signature(&mut self) {
        self.y += 32.0;
        let part = (self.wide() - 30.0) / 3.0;
        for (n, label) in
            [word!("Confirmed for delivery on"), word!("Name and signature"), word!("Date")].iter().enumerate()
        {
            let x = LEFT + n as f32 * (part + 15.0);
            self.press.rule(x, self.y, part, 0.6, 0.0);
            self.press.text(x, self.y + 10.0, Style::pale(7.5), label);
        }
    }
}

/// What the line to sign on takes.
const SIGNATURE: f32 = 46.0;
fn heads() -> [&'static str; 7] {
    [
        word!("Your no."),
        word!("Item"),
        word!("Packs"),
        word!("Pack"),
        word!("In all"),
        word!("Pack price"),
        word!("Total"),
    ]
}

/// The foot of each page: what this is, and which page of how many.
fn feet(press: &mut Press, order: &OrderDocument) {
    let pages = press.pages.len();
    let base = press.paper.height - 28.0;
    let right = press.paper.width - LEFT;
    for page in 0..pages {
        press.turn_to(page);
        let number = say!("page {page} of {pages}", page = page + 1, pages);
        let room = right - LEFT - press.width(Style::pale(7.5), &number) - 20.0;
        let what =
            say!("{buyer} · Order {order} · {date}", buyer = order.buyer.name, order = order.name, date = order.date);
        let first = press.wrap(Style::pale(7.5), &what, room).swap_remove(0);
        press.text(LEFT, base, Style::pale(7.5), &first);
        press.right(right, base, Style::pale(7.5), &number);
    }
}
