//! Cards: the set-up as somebody changes it on a screen, one thing at a time. A card asks for what a line of a plain file
//! holds, in words of its own; what is written on it is read by whoever reads those files, so that both refuse the same.

use crate::domain::venue::{CostRule, CountBy, Kind, ParFrom, PouredBy, TenthsOf};
use crate::words;
use std::fmt;

/// What a card is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum CardOf {
    /// The bar itself.
    Bar,
    /// Something that is stocked, with its spots and its prices.
    Item,
    /// Where stock stands.
    Place,
    /// Who delivers.
    Supplier,
    /// A day that is not as usual.
    Day,
}

impl CardOf {
    /// Every one.
    pub const ALL: &'static [CardOf] = &[CardOf::Bar, CardOf::Item, CardOf::Place, CardOf::Supplier, CardOf::Day];

    /// What a new one is called.
    pub fn new_word(self) -> &'static str {
        match self {
            CardOf::Bar => word!("the bar"),
            CardOf::Item => word!("a new item"),
            CardOf::Place => word!("a new place"),
            CardOf::Supplier => word!("a new supplier"),
            CardOf::Day => word!("a new special day"),
        }
    }
}

/// Which line of the set-up a field belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum CardLine {
    /// The bar.
    Venue,
    /// The item.
    Stock,
    /// Where the item stands.
    Spots,
    /// What suppliers ask for the item, one after the other.
    Offer(usize),
    /// The place.
    Place,
    /// The supplier.
    Supplier,
    /// The special day.
    Day,
}

/// How a field is filled in.
#[derive(Clone, Copy, Debug)]
pub enum Fills {
    /// With a text.
    Text,
    /// With a figure, in the marks of the place.
    Figure,
    /// With an amount and its unit, or several of them, in the marks of the place.
    Amount,
    /// With what one container holds: a figure alone is meant in the unit that volumes are shown in.
    Size,
    /// With one of some words; nothing is one of them where the first is empty.
    Choice(fn() -> Vec<&'static str>),
}

/// A field of a card.
#[derive(Clone, Copy, Debug)]
pub struct Ask {
    /// The column of the plain file, or the setting of the bar, that it stands for.
    pub column: &'static str,
    /// What stands before it.
    pub title: &'static str,
    /// What it takes, in a sentence or two.
    pub about: &'static str,
    /// How it is filled in.
    pub fills: Fills,
    /// What is said above it, where something new begins.
    pub heading: Option<&'static str>,
}

/// A field with what is written in it.
#[derive(Clone, Debug)]
pub struct CardField {
    /// What it asks.
    pub ask: &'static Ask,
    /// Which line it belongs to.
    pub line: CardLine,
    /// What is written.
    pub text: String,
}

/// One thing of the set-up as it is being written.
#[derive(Clone, Debug)]
pub struct Card {
    /// What it is of.
    pub of: CardOf,
    /// Its handle; none for a new one.
    pub id: Option<i64>,
    /// What it was called when it was taken up.
    pub name: String,
    /// Its fields, in the order in which they are filled in.
    pub fields: Vec<CardField>,
    /// What was written in them when it was taken up.
    pub was: Vec<String>,
    /// What cannot be changed on it and helps to fill it in.
    pub notes: Vec<String>,
}

impl PartialEq for Card {
    fn eq(&self, other: &Card) -> bool {
        let written =
            |card: &Card| card.fields.iter().map(|f| (f.line, f.ask.column, f.text.clone())).collect::<Vec<_>>();
        (self.of, self.id) == (other.of, other.id) && written(self) == written(other)
    }
}

/// What is wrong with a card.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CardFault {
    /// The field; none where it is about all of it.
    pub field: Option<usize>,
    /// What was expected, or what is wrong, in words.
    pub said: String,
}

impl fmt::Display for CardFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.said)
    }
}

/// What came of keeping a card.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CardKept {
    /// The handle of what it is of; none for the bar, and for a day.
    pub id: Option<i64>,
    /// What it is called now.
    pub name: String,
    /// What a person should know: what was taken in besides.
    pub said: Vec<String>,
}

impl Card {
    /// A card with all its fields, each with what `text` has for it.
    pub fn new(of: CardOf, id: Option<i64>, offers: usize, text: impl Fn(CardLine, &str) -> String) -> Card {
        let asked = |line: CardLine, asks: &'static [Ask]| asks.iter().map(move |ask| (line, ask));
        let lines: Vec<(CardLine, &'static Ask)> = match of {
            CardOf::Bar => asked(CardLine::Venue, BAR).collect(),
            CardOf::Place => asked(CardLine::Place, PLACE).collect(),
            CardOf::Supplier => asked(CardLine::Supplier, SUPPLIER).collect(),
            CardOf::Day => asked(CardLine::Day, DAY).collect(),
            CardOf::Item => asked(CardLine::Stock, ITEM)
                .chain(asked(CardLine::Spots, SPOTS))
                .chain((0..offers.max(1)).flat_map(|n| asked(CardLine::Offer(n), OFFER)))
                .chain(asked(CardLine::Stock, ITEM_MORE))
                .collect(),
        };
        let field = |(line, ask): (CardLine, &'static Ask)| {
            let text = text(line, ask.column);
            let text = if matches!(ask.fills, Figure | Amount | Size) { words::number(text) } else { text };
            CardField { ask, line, text }
        };
        let fields: Vec<CardField> = lines.into_iter().map(field).collect();
        let was = fields.iter().map(|field| field.text.clone()).collect();
        let mut card = Card { of, id, name: String::new(), fields, was, notes: Vec::new() };
        card.name = card.named().to_owned();
        card
    }

    /// What is written in a field.
    pub fn text(&self, line: CardLine, column: &str) -> &str {
        self.at(line, column).map_or("", |n| self.fields[n].text.trim())
    }

    /// Where a field is.
    pub fn at(&self, line: CardLine, column: &str) -> Option<usize> {
        self.fields.iter().position(|field| field.line == line && field.ask.column == column)
    }

    /// Whether anything of a line was changed.
    pub fn changed(&self, line: CardLine) -> bool {
        let changed = |(field, was): (&CardField, &String)| field.line == line && field.text.trim() != was.trim();
        self.fields.iter().zip(&self.was).any(changed)
    }

    /// What it is called as it is written.
    pub fn named(&self) -> &str {
        match self.of {
            CardOf::Bar => self.text(CardLine::Venue, "name"),
            CardOf::Item => self.text(CardLine::Stock, "item"),
            CardOf::Place => self.text(CardLine::Place, "place"),
            CardOf::Supplier => self.text(CardLine::Supplier, "supplier"),
            CardOf::Day => self.text(CardLine::Day, "what"),
        }
    }

    /// What stands over it.
    pub fn title(&self) -> String {
        if self.id.is_some() || self.of == CardOf::Bar { self.name.clone() } else { self.of.new_word().to_owned() }
    }
}

const fn ask(column: &'static str, title: &'static str, about: &'static str, fills: Fills) -> Ask {
    Ask { column, title, about, fills, heading: None }
}

const fn begin(heading: &'static str, asked: Ask) -> Ask {
    Ask { heading: Some(heading), ..asked }
}

use Fills::{Amount, Choice, Figure, Size, Text};

fn yes_no() -> Vec<&'static str> {
    vec!["yes", "no"]
}

/// The words of a list; with an empty one first where nothing may be said.
macro_rules! words_of {
    ($list:ty) => {
        || <$list>::ALL.iter().map(|word| word.word()).collect()
    };
    (maybe $list:ty) => {
        || std::iter::once("").chain(<$list>::ALL.iter().map(|word| word.word())).collect()
    };
}

/// What every item is asked.
const ITEM: &[Ask] = &[
    ask("item", "Name", "What it is called here", Text),
    ask("kind", "Kind", "What sort of thing it is", Choice(words_of!(Kind))),
    ask("size", "One holds", "What one container holds: 700 ml, 70 cl, 1 kg; 1 each for what is counted singly", Size),
    ask("abv", "% vol", "Strength as the label says it, or nothing", Figure),
    ask("count_by", "Counted by", "How an opened one is read", Choice(words_of!(CountBy))),
    ask("par", "Par", "Containers that an order fills up to; empty, what demand asks for", Figure),
    ask("gtin", "Bar codes", "Scan it; several with blanks between", Text),
];

/// Where an item stands.
const SPOTS: &[Ask] = &[ask(
    "places",
    "Stands in",
    "Places with commas between. A number in brackets is the place's own par, for carrying up: Back bar (3), Cellar",
    Text,
)];

/// What a supplier asks for an item.
const OFFER: &[Ask] = &[
    begin("Bought", ask("supplier", "From", "Who sells it; a name that is new here is taken in as a supplier", Text)),
    ask("pack", "In packs of", "Containers in a pack or case; 1 where they sell single ones", Figure),
    ask(
        "price",
        "Price of a pack",
        "Without tax. Another price holds from today on; those before stay as they were",
        Figure,
    ),
    ask("deposit", "Deposit", "On the whole pack, or nothing", Figure),
    ask("code", "Their number", "The supplier's own number of it, or nothing", Text),
    ask(
        "mixed",
        "Mixed case",
        "Where it comes only as a part of a mixed case: its name and what it holds, Wines 6",
        Text,
    ),
];

/// What can be known of an item besides.
const ITEM_MORE: &[Ask] = &[
    begin(
        "More of it",
        ask(
            "stocked",
            "Stocked",
            "No: it is run out. It is counted as long as some is left, and not ordered again",
            Choice(yes_no),
        ),
    ),
    ask(
        "allergens",
        "Allergens",
        "Of the 14 of EU 1169/2011, blanks between: milk nuts sulphites; none where there are none; empty is unknown. The label decides",
        Text,
    ),
    ask("keeps_days", "Keeps days", "Days it keeps once made, delivered or opened, the first one counted", Figure),
    ask("shelf_max", "Most that fit", "The most containers that there is room for", Figure),
    ask(
        "par_from",
        "Par ruled by",
        "The hand that set a par, or demand; nothing: the hand where a par is set",
        Choice(words_of!(maybe ParFrom)),
    ),
    ask(
        "service_level",
        "Must last in",
        "Percent of orders after which it must not run dry, such as 97; empty, as the bar has it",
        Figure,
    ),
    ask("yields", "One gives", "What one piece gives once pressed: 30 ml; only of what is counted singly", Amount),
    ask(
        "poured_by",
        "Poured by",
        "How it is measured out; nothing: as the bar has it",
        Choice(words_of!(maybe PouredBy)),
    ),
    ask("empty_weight", "Empty weighs", "What an empty container weighs: 480 g", Amount),
    ask("full_weight", "Full weighs", "What a full container weighs: 1140 g", Amount),
    ask("profile", "Shape", "Shape of the container: round, square, dumpy, or one measured under Gauging", Text),
    ask("density", "Density", "Grams in a millilitre, where it is known", Figure),
    ask("sugar", "Sugar", "Where it is known: 50 brix or 250 g/l", Amount),
];

/// A place.
const PLACE: &[Ask] = &[
    ask("place", "Name", "What the place is called", Text),
    ask(
        "walk",
        "In the walk",
        "Its number in the order in which the bar is walked; a new one goes last by itself",
        Figure,
    ),
];

/// A supplier.
const SUPPLIER: &[Ask] = &[
    ask("supplier", "Name", "What they are called, as it stands on orders", Text),
    ask(
        "schedule",
        "Order by, comes",
        "Mon 14:00 > Wed; Thu 14:00 > Sat: by Monday at two, it comes on Wednesday. Also Mon-Fri 12:00 > 2 days; any 16:00 > 1 day",
        Text,
    ),
    ask("email", "E-mail", "Where orders go", Text),
    ask("customer_no", "We are no.", "What they call this bar", Text),
    ask("minimum", "Smallest order", "Without tax, or nothing", Figure),
    ask("fee", "Delivery costs", "The fee of a delivery, or nothing", Figure),
    ask("free_from", "Free from", "The order value from which there is no fee, or nothing", Figure),
    begin(
        "On orders and invoices",
        ask("address", "Address", "Its lines with semicolons between, without the country", Text),
    ),
    ask("country", "Country", "Two letters such as PT", Text),
    ask("vat_id", "VAT number", "Their number for value added tax", Text),
    ask("gln", "Location no.", "Their Global Location Number of 13 digits", Text),
    ask("e_address", "E-address", "Where they receive electronic documents: 0088:9520000000004", Text),
];

/// A day that is not as usual.
const DAY: &[Ask] = &[
    ask("what", "Name", "What the day is called", Text),
    ask("day", "Day", "2026-12-24; or each year: 12-24, easter, easter+1, 4 Thu of Nov, last Mon of May", Text),
    ask("until", "Until", "The last day of a stretch, in the form of the first; empty, it is one day", Text),
    ask(
        "factor",
        "Demand",
        "How many times the usual demand, such as 1.6; or closed. Empty where it is a supplier's day",
        Figure,
    ),
    ask(
        "supplier",
        "Supplier",
        "Whose day it is: they are closed, or an extra van comes; empty, it is the bar's",
        Text,
    ),
    ask(
        "order_by",
        "Order by",
        "An extra van comes on that day when ordered by then: 2026-12-22 10:00. Empty, they are closed",
        Text,
    ),
];

/// The bar.
const BAR: &[Ask] = &[
    ask("name", "Name", "What the bar is called, as it stands on orders", Text),
    ask("currency", "Currency", "That of all prices, by its three letters; it stays once there are prices", Text),
    ask("time_zone", "Time zone", "Where the bar is: Lisbon, Europe/Lisbon or America/New_York", Text),
    ask("day_starts", "A day begins at", "What is sold before belongs to the evening before: 05:00", Text),
    ask(
        "show_volume_in",
        "Volumes in",
        "How volumes are shown; all of them can be typed",
        Choice(|| vec!["ml", "cl", "oz"]),
    ),
    ask("prices_include_tax", "Menu with tax", "Whether the tax is in what a guest pays", Choice(yes_no)),
    ask(
        "language",
        "Language",
        "In which screens and papers speak, and how figures are written: English, Deutsch, or a tag with the country, en-IE, de-AT",
        Text,
    ),
    begin(
        "Counting",
        ask(
            "blind_counts",
            "Blind counts",
            "Whether a count hides what is expected until a place is closed",
            Choice(yes_no),
        ),
    ),
    ask(
        "tenths_of",
        "A tenth is of",
        "What a tenth by eye is a tenth of, where a bottle's shape is known",
        Choice(words_of!(TenthsOf)),
    ),
    ask("scale_division", "Scale steps", "One step of the scale: 1 g", Amount),
    ask("false_alarms", "False alarms", "Percent of what a variance tells to look into that may be nothing: 5", Figure),
    begin("Pouring", ask("poured_by", "Poured by", "How drinks are measured out here", Choice(words_of!(PouredBy)))),
    ask("jigger_spread", "Jigger spread", "By how much one pour with a jigger differs from another: 1.5 ml", Amount),
    ask("free_spread", "Free spread", "By how much one free pour differs from another: 4 ml", Amount),
    ask("dash", "A dash", "What a dash is here: 0.8 ml", Amount),
    ask("barspoon", "A barspoon", "What a barspoon holds here: 5 ml", Amount),
    ask(
        "standard_drink",
        "Standard drink",
        "How much alcohol is in one: WHO, a country such as GB or US, or a mass such as 12 g",
        Amount,
    ),
    begin("Costs and orders", ask("cost_rule", "Costs by", "What stock is taken to cost", Choice(words_of!(CostRule)))),
    ask("target_pour_cost", "Pour cost", "The pour cost aimed at, in percent: 20", Figure),
    ask("price_step", "Price step", "Menu prices are multiples of this", Figure),
    ask(
        "service_level",
        "Must last in",
        "Percent of orders after which stock must not run dry; kinds that differ behind it: 95 %; spirit 97 %",
        Amount,
    ),
    ask("holding_cost", "Holding costs", "What it costs to hold stock for a year, in percent of its value: 20", Figure),
    begin("On orders", ask("address", "Address", "Its lines with semicolons between, without the country", Text)),
    ask("country", "Country", "Two letters such as PT", Text),
    ask("vat_id", "VAT number", "The bar's number for value added tax", Text),
    ask("gln", "Location no.", "Its Global Location Number of 13 digits", Text),
    ask("e_address", "E-address", "Where it receives electronic documents: 0088:9520000000004", Text),
    ask("contact_name", "Ask for", "Whom suppliers ask", Text),
    ask("contact_phone", "Telephone", "Their number: +351 292 555 0142", Text),
    ask("contact_email", "E-mail", "Their e-mail address", Text),
    ask("deliver_to", "Deliver to", "Where and how to deliver, for whoever drives the van", Text),
    begin(
        "Files",
        ask(
            "watch_folder",
            "Watched folder",
            "Its whole path: files of the till and of suppliers that lie there are offered on Tonight",
            Text,
        ),
    ),
    ask(
        "copies_to",
        "Copies to",
        "The whole path of a second folder for copies of the book, such as a USB stick's",
        Text,
    ),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fields_are_asked_once_and_in_few_words() {
        for of in CardOf::ALL {
            let card = Card::new(*of, None, 2, |_, _| String::new());
            for (n, field) in card.fields.iter().enumerate() {
                assert_eq!(card.at(field.line, field.ask.column), Some(n), "{}", field.ask.column);
                assert!(field.ask.title.len() <= 15 && !field.ask.about.ends_with('.'), "{}", field.ask.title);
            }
            assert!(!card.fields.is_empty() && !of.new_word().is_empty());
        }
    }
}
