//! Glasses, drinks, specs, house-made recipes and till names as lines.

use super::Plain;
use super::cells::{Form, Line, PlainRow, or_empty, plain_thousandths, yes_no, yes_no_word};
use crate::domain::measure::{Basis, Decimal, Quantity, decimal};
use crate::domain::venue::{DrinkMethod, Glass, Ingredient, Menu, Water};
use chrono::NaiveDate;

impl PlainRow for Glass {
    const FILE: Plain = Plain::Glasses;

    fn read(line: &mut Line<'_>) -> Option<Glass> {
        let small = line.form().small;
        let name = line.text("glass");
        let holds = line.with("holds", |text| Quantity::parse_as(text, Basis::Volume, &small));
        let ice = line.maybe("ice", |text| match (Quantity::parse_as(text, Basis::Volume, &small), holds) {
            (Ok(ice), Some(holds)) if ice >= holds => Err(word!("expected less than the glass holds").to_owned()),
            (read, _) => read.map_err(|e| e.to_string()),
        });
        Some(Glass { name: name?, holds: holds?, ice: ice? })
    }

    fn cells(&self, _: &Form) -> Vec<String> {
        let volume = |amount| Quantity { basis: Basis::Volume, amount }.to_string();
        vec![self.name.clone(), volume(self.holds), or_empty(self.ice, volume)]
    }
}

/// A line of `drinks.csv`.
#[derive(Clone, Debug, PartialEq)]
pub struct DrinkRow {
    /// Which.
    pub drink: String,
    /// First business day.
    pub from: Option<NaiveDate>,
    /// Price and service.
    pub menu: Menu,
}

impl PlainRow for DrinkRow {
    const FILE: Plain = Plain::Drinks;

    fn read(line: &mut Line<'_>) -> Option<DrinkRow> {
        let (drink, from, price) = (line.text("drink"), line.day("from"), line.money("price"));
        let tax = line.maybe_percent("tax", 100);
        let method = line.maybe("method", DrinkMethod::parse);
        let (glass, on) = (line.maybe_text("glass"), line.yes_or("menu", true));
        let dilution = line.maybe_percent("dilution", 300);
        let menu = Menu { price: price?, tax: tax?, method: method?, glass: glass?, on: on?, dilution: dilution? };
        Some(DrinkRow { drink: drink?, from: from?, menu })
    }

    fn cells(&self, form: &Form) -> Vec<String> {
        vec![
            self.drink.clone(),
            or_empty(self.from, |d| d.to_string()),
            form.money(self.menu.price),
            or_empty(self.menu.tax, |t| decimal::plain(t, 2)),
            or_empty(self.menu.method, |m| m.word().to_owned()),
            self.menu.glass.clone().unwrap_or_default(),
            yes_no_word(self.menu.on).to_owned(),
            or_empty(self.menu.dilution, |d| decimal::plain(d, 2)),
        ]
    }
}

/// A line of `specs.csv`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SpecRow {
    /// Which drink.
    pub drink: String,
    /// First business day.
    pub from: Option<NaiveDate>,
    /// What it takes.
    pub ingredient: String,
    /// How much, as written.
    pub quantity: String,
    /// Lost on top, hundredths of a percent.
    pub waste: i64,
    /// Anything to remember.
    pub note: Option<String>,
    /// Whether it is added after the ice; as its kind has it where that is not said.
    pub after_ice: Option<bool>,
}

impl PlainRow for SpecRow {
    const FILE: Plain = Plain::Specs;

    fn read(line: &mut Line<'_>) -> Option<SpecRow> {
        let (drink, from) = (line.name("drink", Plain::Drinks), line.day("from"));
        let ingredient = line.name("ingredient", Plain::Stock);
        let quantity = line.quantity("quantity", "ingredient");
        let (waste, note) = (line.maybe_percent("waste", Ingredient::MOST_WASTE), line.maybe_text("note"));
        let after_ice = line.maybe("after_ice", yes_no);
        Some(SpecRow {
            drink: drink?,
            from: from?,
            ingredient: ingredient?,
            quantity: quantity?,
            waste: waste?.unwrap_or(0),
            note: note?,
            after_ice: after_ice?,
        })
    }

    fn cells(&self, _: &Form) -> Vec<String> {
        vec![
            self.drink.clone(),
            or_empty(self.from, |d| d.to_string()),
            self.ingredient.clone(),
            self.quantity.clone(),
            if self.waste == 0 { String::new() } else { decimal::plain(self.waste, 2) },
            self.note.clone().unwrap_or_default(),
            or_empty(self.after_ice, |after| yes_no_word(after).to_owned()),
        ]
    }
}

/// A line of `house.csv`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HouseRow {
    /// What is made.
    pub item: String,
    /// First business day.
    pub from: Option<NaiveDate>,
    /// What one batch makes, as written; nothing where it is computed.
    pub yields: Option<String>,
    /// What it takes.
    pub ingredient: String,
    /// How much, as written.
    pub quantity: String,
    /// Water from the tap, as written.
    pub water: Option<String>,
    /// Anything to remember.
    pub note: Option<String>,
}

impl PlainRow for HouseRow {
    const FILE: Plain = Plain::House;

    fn read(line: &mut Line<'_>) -> Option<HouseRow> {
        let (item, from) = (line.name("item", Plain::Stock), line.day("from"));
        let yields = line.maybe_quantity("yields", "item");
        let ingredient = line.name("ingredient", Plain::Stock);
        let quantity = line.quantity("quantity", "ingredient");
        let small = line.form().small;
        let water = line.maybe("water", |text| Water::parse(text, &small).map(|water| water.written));
        let note = line.maybe_text("note");
        Some(HouseRow {
            item: item?,
            from: from?,
            yields: yields?,
            ingredient: ingredient?,
            quantity: quantity?,
            water: water?,
            note: note?,
        })
    }

    fn cells(&self, _: &Form) -> Vec<String> {
        vec![
            self.item.clone(),
            or_empty(self.from, |d| d.to_string()),
            self.yields.clone().unwrap_or_default(),
            self.ingredient.clone(),
            self.quantity.clone(),
            self.water.clone().unwrap_or_default(),
            self.note.clone().unwrap_or_default(),
        ]
    }
}

/// A line of `pos.csv`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PosRow {
    /// As the till prints it.
    pub sold_as: String,
    /// Which drink; none is not stock.
    pub drink: Option<String>,
    /// How much of it, in thousandths.
    pub portion: i64,
    /// The till's number of it.
    pub code: Option<String>,
    /// Whether nobody has said yet what it means.
    pub open: bool,
}

impl PlainRow for PosRow {
    const FILE: Plain = Plain::Pos;
    /// A file that explains names need not say that each is explained.
    const UNSAID: &'static [&'static str] = &["state"];

    fn read(line: &mut Line<'_>) -> Option<PosRow> {
        let (sold_as, drink) = (line.text("sold_as"), line.maybe_name("drink", Plain::Drinks));
        let portion = line.maybe("portion", |text| {
            let read = Decimal::parse(text).ok().and_then(|d| d.exact(3));
            read.filter(|n| (1..=1_000_000).contains(n))
                .ok_or(word!("expected a number such as 1, 0.5 or 2, above zero"))
        });
        let code = line.maybe_text("article_number");
        let (means, numbered) = (matches!(drink, Some(Some(_))), matches!(code, Some(Some(_))));
        let open = line.maybe("state", |text| match text.eq_ignore_ascii_case("open") {
            true if means => Err(word!("expected nothing, because the drink says what it means")),
            // Its sales bring the name; here it is only for the number.
            true if !numbered => Err(word!("expected nothing, or the article_number that the name has")),
            true => Ok(()),
            false => Err(word!("expected open, or nothing")),
        });
        Some(PosRow {
            sold_as: sold_as?,
            drink: drink?,
            portion: portion?.unwrap_or(1_000),
            code: code?,
            open: open?.is_some(),
        })
    }

    fn cells(&self, _: &Form) -> Vec<String> {
        let portion = if self.drink.is_some() { plain_thousandths(self.portion) } else { String::new() };
        vec![
            self.sold_as.clone(),
            self.drink.clone().unwrap_or_default(),
            portion,
            self.code.clone().unwrap_or_default(),
            if self.open { "open".to_owned() } else { String::new() },
        ]
    }
}
