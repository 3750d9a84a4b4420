//! What the invented bar stocks, where it stands and who sells it.
//!
//! Every name is made up. Par is not written here: it follows from the menu's expected demand
//! (`plan.rs`), so that changing a drink's popularity cannot leave the shelves absurd.

/// Where things stand, in walking order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Place {
    Rail,
    BackBar,
    Fridge,
    Cellar,
    Pantry,
}

impl Place {
    pub(crate) const ALL: [Place; 5] = [Place::Rail, Place::BackBar, Place::Fridge, Place::Cellar, Place::Pantry];

    pub(crate) fn name(self) -> &'static str {
        match self {
            Place::Rail => "Speed rail",
            Place::BackBar => "Back bar",
            Place::Fridge => "Fridge",
            Place::Cellar => "Cellar",
            Place::Pantry => "Pantry",
        }
    }
}

/// Initials, name, role. The first takes most of the Sunday counts.
pub(crate) const PEOPLE: [(&str, &str, &str); 4] = [
    ("OM", "Odalys Marrenby", "manager"),
    ("TV", "Teodric Vaskell", "counter"),
    ("IP", "Ilka Prennow", "counter"),
    ("RS", "Ruvane Sollick", "manager"),
];

/// One day in the week on which a supplier takes orders, and when that order comes.
/// Days count from Monday = 0; the order comes later in the same week.
pub(crate) struct Slot {
    pub order_day: i64,
    pub deadline: (i64, i64),
    pub comes_on: i64,
}

pub(crate) struct Supplier {
    pub name: &'static str,
    /// Stands at the end of an order's name and before a document's number.
    pub short: &'static str,
    pub prefix: &'static str,
    pub first_document: u32,
    pub email: &'static str,
    pub customer_no: &'static str,
    pub address: &'static str,
    /// Invented, and of no country's form.
    pub vat_id: &'static str,
    /// Of the prefix that GS1 keeps for demonstrations.
    pub gln: &'static str,
    /// Whether it receives electronic documents under its location number.
    pub receives: bool,
    pub slots: &'static [Slot],
    /// In cents: below the minimum no van; under `free_from` the fee is added.
    pub minimum: i64,
    pub fee: i64,
    pub free_from: i64,
    /// Delivery window of its van, local hours.
    pub hours: (i64, i64),
}

const fn slot(order_day: i64, deadline: (i64, i64), comes_on: i64) -> Slot {
    Slot { order_day, deadline, comes_on }
}

pub(crate) const SPIRITS: usize = 0;
pub(crate) const ISLAND: usize = 1;
pub(crate) const TRADE: usize = 2;
pub(crate) const PRODUCE: usize = 3;

pub(crate) const SUPPLIERS: [Supplier; 4] = [
    Supplier {
        name: "Haldervane Bonded Stores",
        short: "Haldervane",
        prefix: "HV",
        first_document: 20_931,
        email: "orders@haldervane.example.com",
        customer_no: "4471",
        address: "Bonded Shed 4; Haldervane Dock; 0021 Haldervane",
        vat_id: "PT000000021",
        gln: "9520000900021",
        receives: true,
        slots: &[slot(0, (14, 0), 2), slot(3, (14, 0), 5)],
        minimum: 18_000,
        fee: 1_800,
        free_from: 50_000,
        hours: (11, 13),
    },
    Supplier {
        name: "Quaymoss Cane and Agave",
        short: "Quaymoss",
        prefix: "QM",
        first_document: 7_702,
        email: "desk@quaymoss.example.net",
        customer_no: "QM-118",
        address: "118 Quaymoss Row; 0022 Ostermere",
        vat_id: "PT000000022",
        gln: "9520000900038",
        receives: false,
        slots: &[slot(1, (12, 0), 4)],
        minimum: 30_000,
        fee: 2_500,
        free_from: 90_000,
        hours: (12, 15),
    },
    Supplier {
        name: "Brindlepier Drinks Trade",
        short: "Brindlepier",
        prefix: "BP",
        first_document: 551_204,
        email: "van@brindlepier.example.com",
        customer_no: "0090213",
        address: "Brindlepier Trading Estate; Unit 12; 0023 Brindle",
        vat_id: "PT000000023",
        gln: "9520000900045",
        receives: true,
        slots: &[slot(0, (16, 0), 2), slot(3, (12, 0), 4)],
        minimum: 12_000,
        fee: 1_200,
        free_from: 40_000,
        hours: (12, 15),
    },
    Supplier {
        name: "Ossaline Market Garden",
        short: "Ossaline",
        prefix: "OG",
        first_document: 1_409,
        email: "hello@ossaline.example.net",
        customer_no: "",
        address: "Walled Garden; Ossaline; 0024 Upper Ostermere",
        vat_id: "",
        gln: "",
        receives: false,
        slots: &[slot(0, (18, 0), 1), slot(2, (18, 0), 3), slot(4, (12, 0), 5)],
        minimum: 2_500,
        fee: 600,
        free_from: 10_000,
        hours: (11, 12),
    },
];

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    Spirit,
    Liqueur,
    Wine,
    Beer,
    Mixer,
    Juice,
    HouseMade,
    Food,
    Other,
}

impl Kind {
    pub(crate) fn name(self) -> &'static str {
        match self {
            Kind::Spirit => "spirit",
            Kind::Liqueur => "liqueur",
            Kind::Wine => "wine",
            Kind::Beer => "beer",
            Kind::Mixer => "mixer",
            Kind::Juice => "juice",
            Kind::HouseMade => "house-made",
            Kind::Food => "food",
            Kind::Other => "other",
        }
    }
}

#[derive(Clone, Copy, Debug)]
pub(crate) struct Item {
    pub name: &'static str,
    pub kind: Kind,
    /// What a person writes, e.g. `700 ml`; `measure::amount` reads it.
    pub size: &'static str,
    pub abv: Option<f64>,
    /// Grams per millilitre, as written; blank where strength gives it.
    pub density: &'static str,
    /// Words of the EU list of 14; `none` = known to have none; empty = not known.
    pub allergens: &'static str,
    pub keeps_days: Option<u32>,
    /// Counted in whole containers, never opened on the shelf.
    pub whole: bool,
    /// The one place where it is opened and poured.
    pub home: Place,
    /// Opened containers in use at once: a busy bottle stands at both wells.
    pub wells: usize,
    /// Cents for one container, bought by the usual case, without tax.
    pub cost: i64,
    pub supplier: usize,
    pub pack: u32,
    /// Cents of deposit on one container.
    pub deposit: i64,
    /// A par set by hand where demand alone would say too little.
    pub par: Option<u32>,
    /// Made and used up within a day or so, on no shelf and never counted.
    pub uncounted: bool,
    /// A straight measure of it is sold: price in cents, popularity.
    pub measure: Option<(i64, f64)>,
}

impl Item {
    const fn new(name: &'static str, kind: Kind, size: &'static str, cost: i64) -> Item {
        Item {
            name,
            kind,
            size,
            abv: None,
            density: "",
            allergens: "",
            keeps_days: None,
            whole: false,
            home: Place::BackBar,
            wells: 1,
            cost,
            supplier: SPIRITS,
            pack: 1,
            deposit: 0,
            par: None,
            uncounted: false,
            measure: None,
        }
    }
    const fn abv(mut self, percent: f64) -> Item {
        self.abv = Some(percent);
        self
    }
    const fn at(mut self, home: Place) -> Item {
        self.home = home;
        self
    }
    const fn rail(self) -> Item {
        self.at(Place::Rail)
    }
    const fn wells(mut self, wells: usize) -> Item {
        self.wells = wells;
        self
    }
    const fn size(mut self, size: &'static str) -> Item {
        self.size = size;
        self
    }
    const fn from(mut self, supplier: usize) -> Item {
        self.supplier = supplier;
        self
    }
    const fn pack(mut self, pack: u32) -> Item {
        self.pack = pack;
        self
    }
    const fn par(mut self, par: u32) -> Item {
        self.par = Some(par);
        self
    }
    const fn density(mut self, density: &'static str) -> Item {
        self.density = density;
        self
    }
    const fn allergens(mut self, words: &'static str) -> Item {
        self.allergens = words;
        self
    }
    const fn keeps(mut self, days: u32) -> Item {
        self.keeps_days = Some(days);
        self
    }
    const fn whole(mut self) -> Item {
        self.whole = true;
        self
    }
    const fn deposit(mut self, cents: i64) -> Item {
        self.deposit = cents;
        self
    }
    const fn uncounted(mut self) -> Item {
        self.uncounted = true;
        self
    }
    /// Also sold straight, at this price in cents and with this popularity.
    const fn sold(mut self, price: i64, weight: f64) -> Item {
        self.measure = Some((price, weight));
        self
    }
}

const fn rum(name: &'static str, abv: f64, cost: i64) -> Item {
    Item::new(name, Kind::Spirit, "700 ml", cost).abv(abv).allergens("none").from(ISLAND)
}
const fn agave(name: &'static str, abv: f64, cost: i64) -> Item {
    rum(name, abv, cost)
}
const fn spirit(name: &'static str, abv: f64, cost: i64) -> Item {
    rum(name, abv, cost).from(SPIRITS)
}
const fn liqueur(name: &'static str, abv: f64, cost: i64) -> Item {
    Item::new(name, Kind::Liqueur, "700 ml", cost).abv(abv)
}
const fn vermouth(name: &'static str, abv: f64, cost: i64) -> Item {
    liqueur(name, abv, cost).size("750 ml").allergens("sulphites").at(Place::Fridge).keeps(45)
}
const fn bitters(name: &'static str, abv: f64, cost: i64) -> Item {
    liqueur(name, abv, cost).size("200 ml")
}
const fn wine(name: &'static str, abv: f64, cost: i64) -> Item {
    Item::new(name, Kind::Wine, "750 ml", cost).abv(abv).allergens("sulphites").from(TRADE).pack(6).at(Place::Fridge)
}
const fn beer(name: &'static str, abv: f64, cost: i64) -> Item {
    Item::new(name, Kind::Beer, "330 ml", cost)
        .abv(abv)
        .allergens("gluten")
        .from(TRADE)
        .pack(24)
        .at(Place::Fridge)
        .whole()
}
const fn keg(name: &'static str, abv: f64, cost: i64) -> Item {
    Item::new(name, Kind::Beer, "30 l", cost).abv(abv).allergens("gluten").from(TRADE).at(Place::Fridge).deposit(3_000)
}
const fn mixer(name: &'static str, cost: i64) -> Item {
    Item::new(name, Kind::Mixer, "200 ml", cost).allergens("none").from(TRADE).pack(24).at(Place::Fridge).whole()
}
const fn juice(name: &'static str, cost: i64, keeps: u32) -> Item {
    Item::new(name, Kind::Juice, "1 l", cost).allergens("none").from(PRODUCE).at(Place::Fridge).keeps(keeps)
}
const fn made(name: &'static str, density: &'static str, keeps: u32) -> Item {
    Item::new(name, Kind::HouseMade, "1 l", 0).density(density).at(Place::Fridge).keeps(keeps)
}
const fn food(name: &'static str, size: &'static str, cost: i64) -> Item {
    Item::new(name, Kind::Food, size, cost).allergens("none").from(PRODUCE).at(Place::Pantry)
}

pub(crate) const ITEMS: &[Item] = &[
    // Rum and its kin.
    rum("Varrowmay White Rum", 37.5, 1_590).size("1 l").rail().pack(6).wells(2).sold(550, 0.5),
    rum("Ostelbrine Gold Rum", 40.0, 1_740).rail().pack(6).sold(600, 1.6),
    rum("Corvanel Dark Rum", 40.0, 1_690).rail().pack(6).sold(600, 1.0),
    rum("Pellimore Overproof Rum", 63.0, 2_480).rail().sold(750, 0.5),
    rum("Tressadon Cane Juice Rum", 50.0, 2_310).rail().sold(750, 0.6),
    rum("Quilleby Spiced Rum", 35.0, 1_620).rail().sold(600, 1.1),
    rum("Marrowick 8-Year Rum", 40.0, 2_640).sold(850, 1.9),
    rum("Dunsarra 12-Year Rum", 43.0, 3_480).sold(1_100, 2.2),
    rum("Ellowane Pot Still Rum", 46.0, 3_150).sold(1_000, 1.2),
    rum("Hespergil Navy Strength Rum", 57.0, 2_890).sold(950, 0.9),
    rum("Vandreque 15-Year Rum", 43.0, 4_980).sold(1_450, 1.3),
    rum("Solmarrow Reserve Rum", 40.0, 3_720).sold(1_150, 1.0),
    rum("Ibbelune Aged Cane Rum", 45.0, 3_390).sold(1_050, 0.8),
    rum("Kestorane Column Still Rum", 42.0, 2_270).sold(800, 0.6),
    rum("Tavvigal Black Rum", 40.0, 2_120).sold(750, 0.9),
    rum("Orsulent Molasses Rum", 44.0, 2_980).sold(950, 0.6),
    rum("Fenmarisk 21-Year Rum", 45.0, 11_900).par(3).sold(3_200, 0.7),
    rum("Bracketide Pineapple Rum", 38.0, 2_390).sold(800, 1.0),
    rum("Ulverane Coconut Rum", 30.0, 1_540).sold(600, 0.5),
    rum("Palisquay Single Estate Rum", 48.0, 4_350).sold(1_300, 0.7),
    rum("Jorrabeld Smoked Cane Rum", 46.0, 3_870).sold(1_200, 0.6),
    rum("Nymmerose Port Cask Rum", 43.0, 4_120).sold(1_250, 0.7),
    rum("Cassivore Cane Juice Rum", 55.0, 3_640).sold(1_150, 0.5),
    rum("Threllow Harbour Rum", 40.0, 1_980).sold(700, 0.9),
    // Agave.
    agave("Merrovar Blanco Tequila", 38.0, 1_780).size("1 l").rail().pack(6).wells(2).sold(600, 1.4),
    agave("Tolbrenque Blanco Tequila", 38.0, 1_830).size("1 l").rail().pack(6).sold(600, 0.9),
    agave("Quenzarel Reposado Tequila", 38.0, 2_260).rail().sold(750, 1.4),
    agave("Halpetec Añejo Tequila", 40.0, 3_980).sold(1_200, 1.4),
    agave("Xirrumel Extra Añejo Tequila", 40.0, 9_450).par(2).sold(2_600, 0.5),
    agave("Ombrevane Espadín Mezcal", 42.0, 2_790).rail().sold(850, 0.9),
    agave("Tarrascol Joven Mezcal", 45.0, 3_060).sold(950, 1.0),
    agave("Velderuna Tobalá Mezcal", 47.0, 6_880).sold(1_950, 0.6),
    agave("Murrenoche Ensamble Mezcal", 46.0, 3_570).sold(1_100, 0.4),
    agave("Sarrapeque Cuishe Mezcal", 48.0, 6_120).sold(1_800, 0.5),
    agave("Ixtolume Arroqueño Mezcal", 47.5, 6_540).sold(1_900, 0.4),
    agave("Caldrezza Pechuga Mezcal", 49.0, 7_790).sold(2_200, 0.4),
    agave("Brasquel Raicilla", 42.0, 4_460).sold(1_350, 0.5),
    agave("Umbelarre Sotol", 43.0, 3_690).sold(1_150, 0.5),
    agave("Dorrachel Bacanora", 44.0, 4_580).sold(1_350, 0.4),
    agave("Pencavarre Cristalino Tequila", 40.0, 4_890).sold(1_450, 0.8),
    agave("Lumbrisel High Proof Blanco Tequila", 52.0, 3_330).sold(1_050, 0.6),
    agave("Varrucal Reposado Tequila", 40.0, 3_240).sold(1_000, 1.0),
    agave("Tambrisel Añejo Tequila", 40.0, 4_290).sold(1_300, 0.7),
    agave("Ostrayan Blanco Tequila", 40.0, 2_860).sold(900, 0.9),
    agave("Halquezza Tepextate Mezcal", 48.5, 7_150).sold(2_050, 0.4),
    agave("Rosquemar Rosa Tequila", 38.0, 3_120).sold(950, 0.7),
    agave("Esquilume Still Proof Tequila", 46.0, 3_560).sold(1_100, 0.5),
    agave("Zandurrel Island Agave Spirit", 40.0, 2_540).sold(850, 0.7),
    // Gin.
    spirit("Corrimond London Dry Gin", 40.0, 1_560).size("1 l").rail().pack(6).wells(2).sold(550, 0.4),
    spirit("Wrenmarrow London Dry Gin", 42.0, 2_190).sold(750, 0.8),
    spirit("Ostrillane Citrus Gin", 41.5, 2_430).sold(800, 0.9),
    spirit("Thessalby Navy Strength Gin", 57.0, 2_960).sold(950, 0.7),
    spirit("Lindquarry Old Tom Gin", 42.0, 2_350).sold(800, 0.6),
    spirit("Saltmerrow Coastal Gin", 43.0, 2_580).sold(850, 0.9),
    spirit("Ivorspike Sloe Gin", 28.0, 2_080).sold(750, 0.6),
    spirit("Pellaquoin Pink Gin", 38.0, 1_870).sold(700, 1.0),
    spirit("Harrivesk Dry Gin", 44.0, 2_640).sold(850, 0.6),
    spirit("Yarrumist Botanical Gin", 43.0, 2_770).sold(900, 0.8),
    spirit("Cullaspray Seaweed Gin", 42.5, 2_840).sold(900, 0.7),
    spirit("Fennilowe Fennel Gin", 41.0, 2_620).sold(850, 0.4),
    spirit("Gorsemantle Gin", 43.0, 2_710).sold(900, 0.6),
    spirit("Vellaquist Barrel Aged Gin", 46.0, 3_380).sold(1_050, 0.5),
    spirit("Orrisdune Gin", 44.0, 2_690).sold(850, 0.5),
    spirit("Tindersalt Dry Gin", 45.0, 2_520).sold(850, 0.6),
    spirit("Luggersand Gin", 41.0, 2_260).sold(750, 0.5),
    spirit("Quernmoss Gin", 47.0, 2_930).sold(950, 0.4),
    // The rest of the back bar.
    spirit("Sternalow Vodka", 37.5, 1_290).size("1 l").rail().pack(6).allergens("").sold(500, 1.2),
    spirit("Brinnaskal Vodka", 40.0, 2_050).sold(700, 0.8),
    spirit("Oppelith Potato Vodka", 40.0, 2_740).sold(900, 0.4),
    spirit("Zestermund Citrus Vodka", 38.0, 1_990).sold(700, 0.4),
    spirit("Hollumere Brandy", 38.0, 1_820).rail().sold(650, 0.7),
    spirit("Chandravesk XO Brandy", 40.0, 7_240).sold(2_100, 0.4),
    spirit("Perribeck Apple Brandy", 42.0, 3_190).sold(1_000, 0.4),
    spirit("Chollumay Pisco", 42.0, 2_210).rail().sold(750, 0.3),
    spirit("Ballarrumi Acholado Pisco", 43.0, 2_890).sold(950, 0.3),
    spirit("Jandarova Cachaça", 40.0, 1_760).from(ISLAND).rail().sold(650, 0.3),
    spirit("Mirrabuça Aged Cachaça", 41.0, 2_680).from(ISLAND).sold(900, 0.4),
    spirit("Dollivarn Rye Whiskey", 46.0, 2_570).rail().sold(850, 0.7),
    spirit("Kettlequay Corn Whiskey", 43.0, 2_360).sold(800, 0.6),
    spirit("Orramund Blended Whisky", 40.0, 2_140).sold(750, 0.8),
    spirit("Skarnhult Aquavit", 42.0, 2_490).sold(850, 0.2),
    spirit("Vertabrume Absinthe", 62.0, 3_870).sold(1_150, 0.3),
    spirit("Lorventesk Grappa", 42.0, 2_780).sold(900, 0.2),
    spirit("Poirevesk Pear Spirit", 42.0, 3_640).sold(1_100, 0.2),
    spirit("Batterune Arrack", 50.0, 3_090).from(ISLAND).sold(950, 0.3),
    // Liqueurs, vermouths, bitters.
    liqueur("Naranquel Triple Sec", 38.0, 1_470).rail().allergens("none"),
    liqueur("Curazelde Dry Curaçao", 40.0, 2_390).rail().allergens("none"),
    liqueur("Cherrevaun Maraschino", 32.0, 2_120).rail().allergens("none"),
    liqueur("Rossavesk Red Bitter", 25.0, 1_680).rail().allergens("none").sold(550, 0.4),
    liqueur("Solambray Aperitivo", 11.0, 1_390).rail().allergens("sulphites"),
    liqueur("Ombracule Amaro", 29.0, 2_060).rail().sold(650, 0.7),
    liqueur("Quassimund Bitter Amaro", 39.0, 2_280).sold(700, 0.8),
    liqueur("Tostavesk Coffee Liqueur", 24.0, 1_790).rail().allergens("none"),
    liqueur("Sambrelde Elderflower Liqueur", 20.0, 1_930).rail(),
    liqueur("Clovenay Falernum", 11.0, 1_720).rail().allergens("nuts"),
    liqueur("Pimentarre Allspice Dram", 22.5, 2_340),
    liqueur("Albarelune Apricot Liqueur", 24.0, 1_880),
    liqueur("Cacavesk White Cacao", 24.0, 1_790).allergens("none"),
    liqueur("Bananquay Banana Liqueur", 25.0, 1_830),
    liqueur("Grosmerle Blackcurrant Liqueur", 16.0, 1_640).allergens("sulphites"),
    liqueur("Herbarrow Green Herbal Liqueur", 55.0, 3_890).sold(1_150, 0.4),
    liqueur("Mandorquel Almond Liqueur", 26.0, 1_750).allergens("nuts").sold(600, 0.4),
    liqueur("Zinzarelde Ginger Liqueur", 28.0, 2_190).sold(700, 0.2),
    liqueur("Vellonmoor Island Cream", 17.0, 1_560).allergens("milk").keeps(120).at(Place::Fridge).sold(600, 0.6),
    vermouth("Torvellin Sweet Vermouth", 16.0, 1_180),
    vermouth("Torvellin Dry Vermouth", 17.0, 1_150),
    vermouth("Blancorel Bianco Vermouth", 16.0, 1_210),
    vermouth("Quinavesk Quinquina", 17.0, 1_640),
    bitters("Gallowroot Aromatic Bitters", 44.7, 1_340).rail(),
    bitters("Zestrigo Orange Bitters", 39.0, 1_290).rail(),
    bitters("Mollequin Mole Bitters", 44.0, 1_580),
    bitters("Celeriack Celery Bitters", 44.0, 1_520).allergens("celery"),
    // Wine.
    wine("Caldavento Bruma Sparkling", 11.5, 890),
    wine("Ostrelle Blanc de Lave Sparkling", 12.0, 1_690).pack(1).whole(),
    wine("Sallimar Basalt White", 12.5, 720),
    wine("Quintaperra Slope White", 13.0, 940),
    wine("Vellaroque Salt White", 12.0, 1_080).whole(),
    wine("Marbelinde Old Vine White", 13.0, 1_540).pack(1).whole(),
    wine("Rosquelay Dawn Rosé", 12.5, 760),
    wine("Tormarroy Ash Red", 13.5, 740).at(Place::BackBar),
    wine("Pedravane Terrace Red", 13.5, 960).at(Place::BackBar),
    wine("Cinzalune Cinder Red", 14.0, 1_290).pack(1).whole().at(Place::BackBar),
    wine("Orbaleque Reserve Red", 14.0, 1_980).pack(1).whole().at(Place::BackBar),
    wine("Finavesk Dry Fortified", 15.0, 1_120).pack(1),
    wine("Almarrune Nutty Fortified", 18.0, 1_480).pack(1).at(Place::BackBar),
    wine("Rubellinde Ruby Fortified", 19.5, 1_360).pack(1).at(Place::BackBar),
    wine("Melquarry Late Harvest", 13.5, 1_720).pack(1).whole(),
    // Beer.
    keg("Pierhollow Lager keg", 4.6, 8_900),
    keg("Saltcoil Pale Ale keg", 5.1, 10_400),
    beer("Pierhollow Pilsner", 4.8, 112),
    beer("Saltcoil Session IPA", 4.3, 148).pack(12),
    beer("Grommetide Wheat Beer", 5.0, 139).pack(12),
    beer("Cinderquay Stout", 5.6, 156).pack(12),
    beer("Lavanore Red Ale", 5.2, 144).pack(12),
    beer("Dorsalmoon Gose", 4.2, 162).pack(12),
    beer("Tarnaquill Amber Lager", 4.9, 121).pack(12),
    beer("Osprellow Hazy Pale", 5.5, 169).pack(12),
    beer("Brackwell Zero Lager", 0.5, 108).pack(12),
    beer("Mistleport Dry Cider", 4.5, 131).pack(12).allergens("sulphites"),
    // Mixers: small bottles are opened for one guest and never kept, so they are counted whole.
    mixer("Fizzarow Indian Tonic", 62),
    mixer("Fizzarow Dry Tonic", 64),
    mixer("Fizzarow Citrus Tonic", 68),
    mixer("Fizzarow Ginger Beer", 66),
    mixer("Fizzarow Ginger Ale", 62).pack(12),
    mixer("Fizzarow Pink Grapefruit Soda", 67),
    mixer("Tamberjack Cola", 58),
    mixer("Tamberjack Zero Cola", 58).pack(12),
    mixer("Tamberjack Cloudy Lemonade", 63).pack(12),
    mixer("Basaltine Still Water", 54).pack(12).size("500 ml"),
    mixer("Basaltine Sparkling Water", 56).pack(12).size("500 ml"),
    Item::new("Basaltine Soda Water", Kind::Mixer, "1 l", 95)
        .allergens("none")
        .from(TRADE)
        .pack(6)
        .at(Place::Fridge)
        .keeps(3),
    Item::new("Orzalmande Orgeat", Kind::Other, "700 ml", 940)
        .density("1.31")
        .allergens("nuts")
        .from(TRADE)
        .at(Place::Fridge),
    Item::new("Cocobrume Coconut Cream", Kind::Other, "1 l", 560)
        .density("1.05")
        .allergens("sulphites")
        .from(TRADE)
        .keeps(7)
        .at(Place::Fridge),
    Item::new("Pencadulce Agave Nectar", Kind::Other, "1 l", 1_150)
        .density("1.36")
        .allergens("none")
        .from(ISLAND)
        .at(Place::Pantry),
    // Juices and fruit pulp.
    juice("Pressed Lime Juice", 620, 5).wells(2),
    juice("Pressed Lemon Juice", 540, 5),
    juice("Pressed Pineapple Juice", 480, 4),
    juice("Pink Grapefruit Juice", 410, 5),
    juice("Orange Juice", 360, 4),
    juice("Passion Fruit Pulp", 980, 6).density("1.05"),
    juice("Tomato Juice", 240, 7),
    juice("Cranberry Juice", 250, 10),
    // House-made: four stand in the fridge, two are mixed every day and never counted.
    made("Clove and Lime Cordial", "1.21", 21),
    made("Hibiscus Syrup", "1.23", 28),
    made("Cinnamon Syrup", "1.23", 28),
    made("Pineapple Shrub", "1.16", 14),
    made("Cane Syrup", "1.23", 10).uncounted(),
    made("Thinned Agave", "1.22", 10).uncounted(),
    // Pantry and kitchen.
    food("Fine Cane Sugar", "1 kg", 165).pack(6).par(8),
    food("Brown Cane Sugar", "1 kg", 210),
    food("Dried Hibiscus", "500 g", 980),
    food("Cinnamon Bark", "250 g", 720),
    food("Whole Cloves", "250 g", 840),
    food("Sea Salt Flakes", "1 kg", 390),
    food("Limes", "1 each", 22).whole().pack(24).keeps(14).at(Place::Fridge),
    food("Lemons", "1 each", 28).whole().pack(6).par(6).keeps(14).at(Place::Fridge),
    food("Oranges", "1 each", 31).whole().pack(6).keeps(14).at(Place::Fridge),
    food("Pineapples", "1 each", 260).whole().pack(6).par(4).keeps(6),
    food("Eggs", "1 each", 24).whole().pack(24).allergens("egg").keeps(21).at(Place::Fridge),
    food("Whipping Cream", "500 ml", 310).density("1.00").allergens("milk").keeps(7).at(Place::Fridge),
    food("Green Olives", "1 kg", 890),
    food("Salted Almonds", "1 kg", 1_340).allergens("nuts"),
    food("Plantain Crisps", "1 each", 95).whole().pack(12),
    Item::new("Cold Coffee Concentrate", Kind::Other, "1 l", 740)
        .allergens("none")
        .from(PRODUCE)
        .keeps(10)
        .at(Place::Fridge),
];

/// Some things can be had from a second supplier: item, supplier, pack, price of one container
/// in thousandths of the usual cost. Larger cases are cheaper, single bottles dearer.
pub(crate) const SECOND_OFFERS: &[(&str, usize, u32, i64)] = &[
    ("Varrowmay White Rum", SPIRITS, 6, 1_035),
    ("Ostelbrine Gold Rum", SPIRITS, 12, 965),
    ("Corvanel Dark Rum", SPIRITS, 6, 1_020),
    ("Quilleby Spiced Rum", SPIRITS, 1, 1_080),
    ("Marrowick 8-Year Rum", SPIRITS, 1, 1_045),
    ("Dunsarra 12-Year Rum", SPIRITS, 6, 980),
    ("Merrovar Blanco Tequila", SPIRITS, 12, 958),
    ("Tolbrenque Blanco Tequila", SPIRITS, 6, 1_030),
    ("Quenzarel Reposado Tequila", SPIRITS, 1, 1_090),
    ("Ombrevane Espadín Mezcal", SPIRITS, 6, 985),
    ("Halpetec Añejo Tequila", SPIRITS, 1, 1_060),
    ("Corrimond London Dry Gin", TRADE, 12, 962),
    ("Wrenmarrow London Dry Gin", TRADE, 6, 1_015),
    ("Pellaquoin Pink Gin", TRADE, 6, 1_025),
    ("Saltmerrow Coastal Gin", TRADE, 1, 1_070),
    ("Sternalow Vodka", TRADE, 12, 955),
    ("Brinnaskal Vodka", TRADE, 6, 990),
    ("Hollumere Brandy", TRADE, 1, 1_065),
    ("Dollivarn Rye Whiskey", TRADE, 1, 1_050),
    ("Jandarova Cachaça", SPIRITS, 1, 1_075),
    ("Naranquel Triple Sec", TRADE, 1, 1_085),
    ("Rossavesk Red Bitter", TRADE, 6, 972),
    ("Solambray Aperitivo", TRADE, 6, 968),
    ("Tostavesk Coffee Liqueur", TRADE, 1, 1_055),
    ("Torvellin Sweet Vermouth", TRADE, 6, 978),
    ("Torvellin Dry Vermouth", TRADE, 6, 978),
    ("Caldavento Bruma Sparkling", SPIRITS, 12, 1_010),
    ("Sallimar Basalt White", SPIRITS, 12, 995),
    ("Tormarroy Ash Red", SPIRITS, 12, 990),
    ("Cranberry Juice", TRADE, 12, 940),
    ("Tomato Juice", TRADE, 12, 945),
    ("Orange Juice", TRADE, 6, 1_040),
    ("Fine Cane Sugar", TRADE, 12, 1_060),
    ("Plantain Crisps", TRADE, 24, 940),
];

/// Prices that rose while the data runs: item, from when, thousandths of the price before.
pub(crate) const PRICE_RISES: &[(&str, (i32, u32, u32), i64)] = &[
    ("Merrovar Blanco Tequila", (2026, 10, 1), 1_058),
    ("Ombrevane Espadín Mezcal", (2026, 10, 1), 1_064),
    ("Pressed Lime Juice", (2026, 10, 20), 1_145),
    ("Fizzarow Indian Tonic", (2026, 11, 2), 1_048),
    ("Pierhollow Lager keg", (2026, 11, 2), 1_035),
    ("Corvanel Dark Rum", (2026, 9, 15), 970),
];
