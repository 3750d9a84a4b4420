//! The nouns of a bar: its places, people, items, suppliers, drinks.

use super::{
    Allergen, Contact, CostRule, CountBy, DayRule, DrinkId, DrinkMethod, Gtin, ItemId, ItemShape, Kind, OrderCalendar,
    ParFrom, Party, PlaceId, PouredBy, Rights, Role, ServiceLevels, StandardDrink, SupplierId, TenthsOf, TillId,
    name_key,
};
use crate::domain::measure::{
    Amount, Basis, Currency, Decimal, Density, Money, Quantity, Show, SmallMeasures, Strength, Sugar, VolumeUnit,
};
use crate::words::Speech;
use chrono::NaiveDate;

/// The bar itself: what `venue.csv` says.
#[derive(Clone, Debug, PartialEq)]
pub struct Venue {
    /// What it is called.
    pub name: String,
    /// Its coin.
    pub currency: Currency,
    /// Its zone and the hour its day begins.
    pub days: DayRule,
    /// Whether menu prices contain tax.
    pub prices_include_tax: bool,
    /// The unit volumes are shown in.
    pub volume: VolumeUnit,
    /// BCP 47 tag of language and number format.
    pub language: String,
    /// Size of a dash and a barspoon here.
    pub small: SmallMeasures,
    /// Whether a count hides what is expected until a place is closed.
    pub blind_counts: bool,
    /// One step of the scale, in milligrams.
    pub scale_division: Amount,
    /// What a tenth by eye is a tenth of.
    pub tenths_of: TenthsOf,
    /// What stock is taken to cost.
    pub cost_rule: CostRule,
    /// The pour cost aimed at, in hundredths of a percent.
    pub target_pour_cost: i64,
    /// Menu prices are multiples of this.
    pub price_step: Money,
    /// How much ethanol is one standard drink here.
    pub standard_drink: StandardDrink,
    /// What an order says of the bar besides its name.
    pub party: Party,
    /// Whom suppliers ask.
    pub contact: Contact,
    /// Where and how to deliver, for whoever drives the van.
    pub deliver_to: Option<String>,
    /// The folder in which files of the till and of suppliers are looked for.
    pub watch_folder: Option<String>,
    /// The folder that copies of the book are put into besides the one beside it, by its whole path on this machine.
    pub copies_to: Option<String>,
    /// How evenly drinks are poured here.
    pub pours: Pours,
    /// Of what a variance tells to look into, the share that may be a false alarm: hundredths of a percent.
    pub false_alarms: i64,
    /// How surely stock must last.
    pub service_levels: ServiceLevels,
    /// What it costs to hold stock for a year, of its value: hundredths of a percent.
    pub holding_cost: i64,
    /// What whoever is at the terminal may see; no fact of the bar.
    pub rights: Rights,
}

/// How evenly drinks are poured: the standard deviation of one pour, by how it is measured out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pours {
    /// How items are poured of which nothing else is said.
    pub by: PouredBy,
    /// With a jigger, in microlitres.
    pub jigger: Amount,
    /// Free, in microlitres.
    pub free: Amount,
}

impl Default for Pours {
    /// 1.5 ml with a jigger and 4 ml free (common practice, no source; a verified measure of less than 100 ml is within
    /// 2 ml by OIML R 138).
    fn default() -> Pours {
        Pours { by: PouredBy::Jigger, jigger: Amount(1_500), free: Amount(4_000) }
    }
}

impl Pours {
    /// Wider than this is no measuring any more.
    pub const WIDEST: Amount = Amount(20_000);
}

impl Venue {
    /// One step of a kitchen scale, where the book does not say: 1 g.
    pub const SCALE_DIVISION: Amount = Amount(1_000);
    /// Aimed at where the book does not say: 20 % (common practice, no source).
    pub const TARGET_POUR_COST: i64 = 2_000;
    /// Where the book does not say: one false alarm in twenty.
    pub const FALSE_ALARMS: i64 = 500;
    /// Where the book does not say: 20 % of the value a year, for money, room and what goes off (common practice, no
    /// source).
    pub const HOLDING_COST: i64 = 2_000;

    /// A bar of which no more is known than this, its prices without tax.
    pub fn new(name: &str, currency: Currency, days: DayRule) -> Venue {
        Venue {
            name: name.to_owned(),
            currency,
            days,
            prices_include_tax: false,
            volume: VolumeUnit::default(),
            language: "en".to_owned(),
            small: SmallMeasures::default(),
            blind_counts: false,
            scale_division: Venue::SCALE_DIVISION,
            tenths_of: TenthsOf::default(),
            cost_rule: CostRule::default(),
            target_pour_cost: Venue::TARGET_POUR_COST,
            price_step: Venue::usual_price_step(currency),
            standard_drink: StandardDrink::default(),
            party: Party::default(),
            contact: Contact::default(),
            deliver_to: None,
            watch_folder: None,
            copies_to: None,
            pours: Pours::default(),
            false_alarms: Venue::FALSE_ALARMS,
            service_levels: ServiceLevels::default(),
            holding_cost: Venue::HOLDING_COST,
            rights: Rights::Everything,
        }
    }

    /// The step of menu prices where the book does not say: half of the coin, or 10 of one without decimals.
    pub fn usual_price_step(currency: Currency) -> Money {
        match currency.decimals() {
            0 => Money(10),
            decimals => Money(10_i64.pow(decimals) / 2),
        }
    }

    /// The language and the marks of this bar, for its screens and papers.
    pub fn speech(&self) -> Speech {
        Speech::of_tag(&self.language)
    }

    /// How figures are written here.
    pub fn show(&self) -> Show {
        Show { volume: self.volume, currency: self.currency, hides_money: !self.rights.sees_costs() }
    }
}

/// Someone who counts or manages.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Person {
    /// How they sign.
    pub initials: String,
    /// Their name, if given.
    pub name: Option<String>,
    /// What they may do.
    pub role: Role,
}

/// Where stock stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Place {
    /// Handle.
    pub id: PlaceId,
    /// Name.
    pub name: String,
    /// Order in which the bar is walked.
    pub walk: i64,
}

/// Who delivers.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Supplier {
    /// Handle.
    pub id: SupplierId,
    /// Name.
    pub name: String,
    /// Where orders go.
    pub email: Option<String>,
    /// What they call us.
    pub customer_no: Option<String>,
    /// Until when to order, and when it comes.
    pub calendar: OrderCalendar,
    /// Smallest order, without tax.
    pub minimum: Option<Money>,
    /// Cost of a delivery.
    pub fee: Option<Money>,
    /// The order value from which the fee falls away.
    pub free_from: Option<Money>,
    /// What an order says of them besides their name.
    pub party: Party,
}

/// A number of containers in thousandths: 3.4 bottles is 3 400.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Containers(pub i64);

impl Containers {
    /// Reads `6` or `2.5`.
    ///
    /// # Errors
    /// What was expected, in words.
    pub fn parse(text: &str) -> Result<Containers, &'static str> {
        let read = Decimal::parse(text).ok().and_then(|decimal| decimal.exact(3)).filter(|n| *n >= 0);
        read.map(Containers).ok_or(word!("expected a number of containers such as 6 or 2.5, with at most 3 decimals"))
    }

    /// The amount that so many containers of `size` hold.
    pub fn of(self, size: Amount) -> Amount {
        size.times(self.0, 1_000)
    }
}

/// Something that is stocked.
#[derive(Clone, Debug, PartialEq)]
pub struct Item {
    /// Handle.
    pub id: ItemId,
    /// Name.
    pub name: String,
    /// What sort of thing.
    pub kind: Kind,
    /// What it is measured by.
    pub basis: Basis,
    /// What one container holds.
    pub size: Amount,
    /// Strength, where it has one.
    pub abv: Option<Strength>,
    /// Density, where it is known.
    pub density: Option<Density>,
    /// Sugar, where it is known.
    pub sugar: Option<Sugar>,
    /// Mass of an empty container, mg.
    pub empty_weight: Option<Amount>,
    /// Mass of a full container, mg.
    pub full_weight: Option<Amount>,
    /// The shape of a container, where it is known.
    pub shape: Option<ItemShape>,
    /// Bar codes.
    pub gtins: Vec<Gtin>,
    /// How an opened one is read.
    pub count_by: CountBy,
    /// Share of order cycles that should not run dry, in thousandths.
    pub service_level: Option<i64>,
    /// The level a new order fills up to, set by hand.
    pub par: Option<Containers>,
    /// Most that fits.
    pub shelf_max: Option<Containers>,
    /// Known allergens; `None` is unknown, an empty list is a statement that there are none.
    pub allergens: Option<Vec<Allergen>>,
    /// Days it keeps.
    pub keeps_days: Option<i64>,
    /// What one piece gives once it is pressed or opened, for what is counted singly: a lemon's juice.
    pub yields: Option<Quantity>,
    /// How it is measured out, where not as the book says.
    pub poured_by: Option<PouredBy>,
    /// Whether its par is the one set by hand, where that is said.
    pub par_from: Option<ParFrom>,
    /// Whether it is stocked: what is not any more is counted until it has run out, and not ordered again.
    pub stocked: bool,
}

impl Item {
    /// Days from the delivery, or from when it is made, in which it must be used: what is fresh or made here. All else keeps
    /// while it is sealed, and its days count from when it is opened.
    pub fn spoils_in(&self) -> Option<i64> {
        self.keeps_days.filter(|_| matches!(self.kind, Kind::Juice | Kind::Food | Kind::HouseMade))
    }

    /// An item of which no more is known than this: no strength, no weights, no par, allergens unknown.
    pub fn new(id: ItemId, name: &str, kind: Kind, basis: Basis, size: Amount, count_by: CountBy) -> Item {
        Item {
            id,
            name: name.to_owned(),
            kind,
            basis,
            size,
            abv: None,
            density: None,
            sugar: None,
            empty_weight: None,
            full_weight: None,
            shape: None,
            gtins: Vec::new(),
            count_by,
            service_level: None,
            par: None,
            shelf_max: None,
            allergens: None,
            keeps_days: None,
            yields: None,
            poured_by: None,
            par_from: None,
            stocked: true,
        }
    }

    /// Where its par comes from: where nothing is said, from the hand that set one, else from demand. What follows demand
    /// may have a hand-set par beside it, and what is set by hand may have none: then it is not ordered.
    pub fn par_is_from(&self) -> ParFrom {
        let usual = if self.par.is_some() { ParFrom::Hand } else { ParFrom::Demand };
        self.par_from.unwrap_or(usual)
    }
}

/// An item's spot in a place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Shelf {
    /// Where.
    pub place: PlaceId,
    /// What.
    pub item: ItemId,
    /// Order along the shelf.
    pub position: i64,
    /// The place's own par.
    pub par: Option<Containers>,
}

/// A case that a supplier fills with whatever one wants of certain items, so many containers in all.
#[derive(Clone, Debug)]
pub struct MixedCase {
    /// What it is called; cases of one name and size are the same.
    pub name: String,
    /// Containers that fill it.
    pub holds: i64,
}

impl MixedCase {
    /// `Wines 6`: a name, and how many containers fill it.
    ///
    /// # Errors
    /// [`MixedCaseError`].
    pub fn parse(text: &str) -> Result<MixedCase, MixedCaseError> {
        let (name, holds) = text.trim().rsplit_once(char::is_whitespace).ok_or(MixedCaseError)?;
        let holds = holds.parse().ok().filter(|holds| (2..=MOST_HELD).contains(holds)).ok_or(MixedCaseError)?;
        Ok(MixedCase { name: name.split_whitespace().collect::<Vec<_>>().join(" "), holds })
    }
}

/// What is no mixed case.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{}", say!("expected a name and how many containers fill it, from 2 to {MOST_HELD}: Wines 6", MOST_HELD))]
pub struct MixedCaseError;

/// No case holds more.
const MOST_HELD: i64 = 120;

impl PartialEq for MixedCase {
    fn eq(&self, other: &MixedCase) -> bool {
        self.holds == other.holds && name_key(&self.name) == name_key(&other.name)
    }
}

impl Eq for MixedCase {}

impl std::fmt::Display for MixedCase {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} {}", self.name, self.holds)
    }
}

/// What a supplier asks for an item.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Offer {
    /// Who.
    pub supplier: SupplierId,
    /// What.
    pub item: ItemId,
    /// The supplier's own number.
    pub code: Option<String>,
    /// Containers in a pack.
    pub pack: i64,
    /// Price of the whole pack, without tax.
    pub price: Money,
    /// Deposit on the whole pack.
    pub deposit: Option<Money>,
    /// First business day it is valid; `None` since ever.
    pub from: Option<NaiveDate>,
    /// Last business day it is valid; `None` where they still ask it.
    pub until: Option<NaiveDate>,
    /// It comes only as a part of such a case.
    pub mixed: Option<MixedCase>,
}

impl Offer {
    /// Whether the supplier asks it on a business day, as far as no later offer has taken its place.
    pub fn holds(&self, day: NaiveDate) -> bool {
        self.from.is_none_or(|from| from <= day) && self.until.is_none_or(|until| day <= until)
    }
}

/// Values that change from dates on.
#[derive(Clone, Debug, PartialEq)]
pub struct Versions<T>(Vec<(Option<NaiveDate>, T)>);

impl<T> Default for Versions<T> {
    fn default() -> Self {
        Versions(Vec::new())
    }
}

impl<T> Versions<T> {
    /// Orders versions by their first day; one without a day comes first.
    pub fn new(mut all: Vec<(Option<NaiveDate>, T)>) -> Versions<T> {
        all.sort_by_key(|(from, _)| *from);
        Versions(all)
    }

    /// The version of a business day, and its place in the list. A day before the first version takes the first: the
    /// thing was sold, so it was made in some way, and the earliest known way is the best guess.
    pub fn at(&self, day: NaiveDate) -> Option<(usize, &T)> {
        let after = self.0.partition_point(|(from, _)| from.is_none_or(|from| from <= day));
        let index = after.saturating_sub(1);
        self.0.get(index).map(|(_, value)| (index, value))
    }

    /// Every version with its first day.
    pub fn iter(&self) -> impl Iterator<Item = &(Option<NaiveDate>, T)> {
        self.0.iter()
    }

    /// Every version, to be changed; their days stay.
    pub(crate) fn iter_mut(&mut self) -> impl Iterator<Item = (Option<NaiveDate>, &mut T)> {
        self.0.iter_mut().map(|(from, value)| (*from, value))
    }

    /// Whether any version has begun on a business day.
    pub fn has_begun(&self, day: NaiveDate) -> bool {
        self.0.first().is_some_and(|(from, _)| from.is_none_or(|from| from <= day))
    }

    /// None at all.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Whether there is any besides the one that begins on a day.
    pub fn has_besides(&self, from: Option<NaiveDate>) -> bool {
        self.0.iter().any(|(day, _)| *day != from)
    }
}

/// What a drink costs and how it is served, from a day on.
#[derive(Clone, Debug, PartialEq)]
pub struct Menu {
    /// What the guest pays.
    pub price: Money,
    /// Tax in hundredths of a percent.
    pub tax: Option<i64>,
    /// How it is made.
    pub method: Option<DrinkMethod>,
    /// What it is served in.
    pub glass: Option<String>,
    /// On the menu.
    pub on: bool,
    /// The water that ice adds, measured here: hundredths of a percent of what was there before; without it, as the
    /// method usually has it.
    pub dilution: Option<i64>,
}

/// What drinks are served in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Glass {
    /// Name, as drinks name it.
    pub name: String,
    /// What it holds to the brim.
    pub holds: Amount,
    /// The room that ice takes in it, where it is served over ice.
    pub ice: Option<Amount>,
}

impl Glass {
    /// The room for the drink itself.
    pub fn room(&self) -> Amount {
        self.holds - self.ice.unwrap_or_default()
    }
}

/// One ingredient of a spec or of a house-made recipe.
#[derive(Clone, Debug, PartialEq)]
pub struct Ingredient {
    /// What.
    pub item: ItemId,
    /// How much, as the owner wrote it.
    pub written: String,
    /// How much, in the item's base unit.
    pub amount: Amount,
    /// Lost on top, in hundredths of a percent.
    pub waste: i64,
    /// Anything to remember.
    pub note: Option<String>,
    /// Whether it is added once the ice has done its work; where it is not said, mixers and beer are.
    pub after_ice: Option<bool>,
}

impl Ingredient {
    /// So much of an item, none of it lost and nothing more said.
    pub fn new(item: ItemId, written: &str, amount: Amount) -> Ingredient {
        Ingredient { item, written: written.to_owned(), amount, waste: 0, note: None, after_ice: None }
    }

    /// What goes of it from stock: the amount with what is lost on top.
    pub fn with_waste(&self) -> Amount {
        self.amount.times(10_000 + self.waste, 10_000)
    }
}

/// What is sold.
#[derive(Clone, Debug, PartialEq)]
pub struct Drink {
    /// Handle.
    pub id: DrinkId,
    /// Name.
    pub name: String,
    /// Price and service by day.
    pub menu: Versions<Menu>,
    /// Ingredients by day.
    pub specs: Versions<Vec<Ingredient>>,
}

impl Drink {
    /// The first days of its versions, of price or of spec, in order; none is since ever.
    pub fn version_days(&self) -> Vec<Option<NaiveDate>> {
        let menus = self.menu.iter().map(|(from, _)| *from);
        let mut days: Vec<Option<NaiveDate>> = menus.chain(self.specs.iter().map(|(from, _)| *from)).collect();
        days.sort_unstable();
        days.dedup();
        days
    }
}

/// One batch of a house-made item.
#[derive(Clone, Debug, PartialEq)]
pub struct Recipe {
    /// How much one batch makes, as measured and written; none where it is computed from what goes in.
    pub written: Option<String>,
    /// How much one batch makes.
    pub yields: Amount,
    /// Water from the tap, which is no stock.
    pub water: Option<Water>,
    /// What it takes from stock.
    pub takes: Vec<Ingredient>,
}

impl Ingredient {
    /// The most that one serve takes of anything, in base units: 10 l, 10 kg or 10,000 pieces. More is a slip of the
    /// keyboard.
    pub const MOST: Amount = Amount(10_000_000);
    /// The most that is lost on top, in percent.
    pub const MOST_WASTE: i64 = 100;
}

impl Recipe {
    /// How deep what is made here may be made of what is made here. More is refused on entry; where it is computed, the
    /// bound keeps a damaged book from hanging the program.
    pub const DEEPEST: usize = 16;
}

/// Water from the tap in a recipe.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Water {
    /// As written.
    pub written: String,
    /// A volume or a mass.
    pub quantity: Quantity,
}

impl Water {
    /// Reads `500 ml` or `1 kg`.
    ///
    /// # Errors
    /// What was expected, in words.
    pub fn parse(text: &str, small: &SmallMeasures) -> Result<Water, String> {
        let quantity = Quantity::parse(text, small).map_err(|e| e.to_string())?;
        if quantity.basis == Basis::Each || quantity.amount <= Amount::ZERO {
            return Err(word!("expected water as a volume or a mass above zero, such as 500 ml or 1 kg").to_owned());
        }
        Ok(Water { written: text.trim().to_owned(), quantity })
    }
}

/// What the till calls something.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TillName {
    /// Handle.
    pub id: TillId,
    /// As printed.
    pub name: String,
    /// The till's number of the article, where it is known.
    pub code: Option<String>,
    /// What it means, or nothing yet.
    pub means: TillMeaning,
}

/// What a till name stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TillMeaning {
    /// Seen in sales, not explained yet.
    Unknown,
    /// Not stock.
    Ignored,
    /// A drink, and how much of it in thousandths.
    Drink {
        /// Which.
        drink: DrinkId,
        /// 1 000 is one.
        portion: i64,
    },
}
