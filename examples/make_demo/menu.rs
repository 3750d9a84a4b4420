//! What the bar sells: drinks and their specs, house-made recipes, and what the till calls it all.

use crate::catalogue::ITEMS;

/// The first version of every drink and recipe is older than any sale.
pub(crate) const MENU_FROM: (i32, u32, u32) = (2026, 8, 1);

pub(crate) struct Line {
    pub ingredient: &'static str,
    pub quantity: &'static str,
    /// Percent lost on top.
    pub waste: u32,
}

/// Ingredient and quantity.
const fn of(ingredient: &'static str, quantity: &'static str) -> Line {
    lossy(ingredient, quantity, 0)
}

/// The same, with a loss in percent that the spec admits (straining, foam, pulp).
const fn lossy(ingredient: &'static str, quantity: &'static str, waste: u32) -> Line {
    Line { ingredient, quantity, waste }
}

pub(crate) struct Recipe {
    pub name: &'static str,
    /// Cents, tax included.
    pub price: i64,
    pub method: &'static str,
    pub glass: &'static str,
    pub section: &'static str,
    pub weight: f64,
    pub spec: &'static [Line],
}

const fn drink(
    name: &'static str,
    price: i64,
    (method, glass, section): (&'static str, &'static str, &'static str),
    weight: f64,
    spec: &'static [Line],
) -> Recipe {
    Recipe { name, price, method, glass, section, weight, spec }
}

const UP: (&str, &str, &str) = ("shake", "coupe", "Signatures");
const ROCKS: (&str, &str, &str) = ("shake", "rocks", "Signatures");
const STIRRED: (&str, &str, &str) = ("stir", "rocks", "Signatures");
const LONG: (&str, &str, &str) = ("build", "highball", "Signatures");
const CLASSIC: (&str, &str, &str) = ("shake", "coupe", "Classics");
const CLASSIC_STIRRED: (&str, &str, &str) = ("stir", "rocks", "Classics");
const CLASSIC_LONG: (&str, &str, &str) = ("build", "highball", "Classics");
const GLASS: (&str, &str, &str) = ("pour", "wine", "Wine");
const BOTTLE: (&str, &str, &str) = ("pour", "beer", "Beer");
const SOFT: (&str, &str, &str) = ("pour", "highball", "Soft");
const BITE: (&str, &str, &str) = ("pour", "bowl", "Bites");
pub(crate) const MEASURE: (&str, &str, &str) = ("pour", "sipping", "Measures");

pub(crate) const DRINKS: &[Recipe] = &[
    drink(
        "Saltwind Daiquiri",
        1_200,
        UP,
        8.0,
        &[of("Varrowmay White Rum", "60 ml"), lossy("Pressed Lime Juice", "25 ml", 3), of("Cane Syrup", "20 ml")],
    ),
    drink(
        "Tidewrack Punch",
        1_300,
        ("shake", "tiki", "Signatures"),
        6.0,
        &[
            of("Ostelbrine Gold Rum", "45 ml"),
            of("Hespergil Navy Strength Rum", "15 ml"),
            lossy("Pressed Pineapple Juice", "40 ml", 3),
            of("Pressed Lime Juice", "20 ml"),
            of("Hibiscus Syrup", "15 ml"),
            of("Gallowroot Aromatic Bitters", "2 dash"),
        ],
    ),
    drink(
        "The Ninth Lantern",
        1_300,
        STIRRED,
        3.5,
        &[
            of("Corvanel Dark Rum", "50 ml"),
            of("Ombracule Amaro", "20 ml"),
            of("Torvellin Sweet Vermouth", "20 ml"),
            of("Mollequin Mole Bitters", "1 dash"),
        ],
    ),
    drink(
        "Agave at Anchor",
        1_250,
        ROCKS,
        7.0,
        &[
            of("Merrovar Blanco Tequila", "50 ml"),
            lossy("Pressed Lime Juice", "25 ml", 3),
            of("Thinned Agave", "20 ml"),
            of("Naranquel Triple Sec", "10 ml"),
        ],
    ),
    drink(
        "Smoke over Solquay",
        1_350,
        ROCKS,
        4.5,
        &[
            of("Ombrevane Espadín Mezcal", "45 ml"),
            of("Pink Grapefruit Juice", "30 ml"),
            of("Pressed Lime Juice", "15 ml"),
            of("Cinnamon Syrup", "20 ml"),
        ],
    ),
    drink(
        "Harbourmaster's Sour",
        1_300,
        ROCKS,
        4.0,
        &[
            of("Quenzarel Reposado Tequila", "50 ml"),
            lossy("Pressed Lemon Juice", "25 ml", 3),
            of("Cane Syrup", "20 ml"),
            of("Eggs", "1 each"),
        ],
    ),
    drink(
        "Little Squall",
        1_250,
        ("shake", "tiki", "Signatures"),
        3.5,
        &[
            of("Pellimore Overproof Rum", "30 ml"),
            of("Clovenay Falernum", "15 ml"),
            of("Pressed Lime Juice", "20 ml"),
            of("Pineapple Shrub", "25 ml"),
        ],
    ),
    drink(
        "Cane Cutter's Cup",
        1_250,
        LONG,
        4.0,
        &[
            of("Tressadon Cane Juice Rum", "50 ml"),
            of("Pressed Lime Juice", "20 ml"),
            of("Clove and Lime Cordial", "20 ml"),
            lossy("Basaltine Soda Water", "60 ml", 5),
        ],
    ),
    drink(
        "Hibiscus Hour",
        1_250,
        LONG,
        4.0,
        &[
            of("Tolbrenque Blanco Tequila", "50 ml"),
            of("Hibiscus Syrup", "20 ml"),
            of("Pressed Lime Juice", "20 ml"),
            lossy("Basaltine Soda Water", "60 ml", 5),
        ],
    ),
    drink(
        "Low Barometer",
        1_250,
        ("stir", "coupe", "Signatures"),
        2.5,
        &[
            of("Corrimond London Dry Gin", "40 ml"),
            of("Torvellin Dry Vermouth", "20 ml"),
            of("Quinavesk Quinquina", "15 ml"),
            of("Zestrigo Orange Bitters", "1 dash"),
        ],
    ),
    drink(
        "Gull's Negotiation",
        1_250,
        STIRRED,
        5.0,
        &[
            of("Corrimond London Dry Gin", "30 ml"),
            of("Rossavesk Red Bitter", "30 ml"),
            of("Torvellin Sweet Vermouth", "30 ml"),
        ],
    ),
    drink(
        "Parrot Parliament",
        1_300,
        ("shake", "tiki", "Signatures"),
        4.0,
        &[
            of("Ostelbrine Gold Rum", "40 ml"),
            of("Bananquay Banana Liqueur", "15 ml"),
            lossy("Pressed Pineapple Juice", "40 ml", 3),
            of("Pressed Lime Juice", "20 ml"),
            of("Orzalmande Orgeat", "15 ml"),
        ],
    ),
    drink(
        "Lime Kiln",
        1_150,
        ("build", "rocks", "Signatures"),
        3.0,
        &[of("Jandarova Cachaça", "50 ml"), of("Limes", "1 each"), of("Cane Syrup", "25 ml")],
    ),
    drink(
        "Customs House Flip",
        1_300,
        ("shake", "coupe", "Signatures"),
        1.6,
        &[
            of("Marrowick 8-Year Rum", "50 ml"),
            lossy("Whipping Cream", "25 ml", 4),
            of("Cinnamon Syrup", "15 ml"),
            of("Eggs", "1 each"),
        ],
    ),
    drink(
        "Breakwater Buck",
        1_150,
        LONG,
        4.0,
        &[of("Quilleby Spiced Rum", "50 ml"), of("Pressed Lime Juice", "15 ml"), of("Fizzarow Ginger Beer", "200 ml")],
    ),
    drink(
        "Pink Quarter",
        1_150,
        LONG,
        3.5,
        &[
            of("Tolbrenque Blanco Tequila", "45 ml"),
            of("Pressed Lime Juice", "10 ml"),
            of("Fizzarow Pink Grapefruit Soda", "200 ml"),
        ],
    ),
    drink(
        "Velvet Mooring",
        1_300,
        UP,
        2.5,
        &[
            of("Corvanel Dark Rum", "40 ml"),
            of("Tostavesk Coffee Liqueur", "25 ml"),
            of("Cold Coffee Concentrate", "30 ml"),
            of("Cane Syrup", "10 ml"),
        ],
    ),
    drink(
        "Widow's Compass",
        1_250,
        UP,
        2.2,
        &[
            of("Hollumere Brandy", "45 ml"),
            of("Curazelde Dry Curaçao", "20 ml"),
            lossy("Pressed Lemon Juice", "20 ml", 3),
            of("Hibiscus Syrup", "1 barspoon"),
        ],
    ),
    drink(
        "Verdigris Bell",
        1_350,
        UP,
        2.4,
        &[
            of("Wrenmarrow London Dry Gin", "40 ml"),
            of("Herbarrow Green Herbal Liqueur", "20 ml"),
            of("Pressed Lime Juice", "20 ml"),
            of("Clove and Lime Cordial", "15 ml"),
        ],
    ),
    drink(
        "Ember and Brine",
        1_350,
        STIRRED,
        2.0,
        &[
            of("Ombrevane Espadín Mezcal", "40 ml"),
            of("Umbelarre Sotol", "15 ml"),
            of("Blancorel Bianco Vermouth", "20 ml"),
            of("Cherrevaun Maraschino", "1 barspoon"),
        ],
    ),
    drink(
        "Slow Ferry",
        1_350,
        ("shake", "tiki", "Signatures"),
        5.5,
        &[
            of("Ellowane Pot Still Rum", "45 ml"),
            of("Passion Fruit Pulp", "30 ml"),
            of("Pressed Lime Juice", "20 ml"),
            of("Cane Syrup", "15 ml"),
            of("Pimentarre Allspice Dram", "1 barspoon"),
        ],
    ),
    drink(
        "Old Ropewalk",
        1_400,
        STIRRED,
        3.6,
        &[
            of("Dunsarra 12-Year Rum", "60 ml"),
            of("Cane Syrup", "1 barspoon"),
            of("Gallowroot Aromatic Bitters", "2 dash"),
        ],
    ),
    drink(
        "Lighthouse Supper",
        1_200,
        ("throw", "highball", "Signatures"),
        1.6,
        &[
            of("Sternalow Vodka", "45 ml"),
            of("Tomato Juice", "100 ml"),
            of("Pressed Lemon Juice", "15 ml"),
            of("Celeriack Celery Bitters", "2 dash"),
            of("Green Olives", "10 g"),
        ],
    ),
    drink(
        "Apricot Gale",
        1_250,
        UP,
        2.4,
        &[
            of("Chollumay Pisco", "45 ml"),
            of("Albarelune Apricot Liqueur", "15 ml"),
            lossy("Pressed Lemon Juice", "20 ml", 3),
            of("Cane Syrup", "15 ml"),
        ],
    ),
    drink(
        "Cacao Current",
        1_250,
        UP,
        1.8,
        &[
            of("Quenzarel Reposado Tequila", "40 ml"),
            of("Cacavesk White Cacao", "20 ml"),
            of("Pressed Lemon Juice", "15 ml"),
            of("Mollequin Mole Bitters", "1 dash"),
        ],
    ),
    drink(
        "Elder Tide",
        1_300,
        ("build", "wine", "Signatures"),
        2.8,
        &[
            of("Saltmerrow Coastal Gin", "40 ml"),
            of("Sambrelde Elderflower Liqueur", "20 ml"),
            of("Pressed Lemon Juice", "20 ml"),
            lossy("Caldavento Bruma Sparkling", "60 ml", 4),
        ],
    ),
    drink(
        "Thornwick Hollow",
        1_200,
        ROCKS,
        2.8,
        &[
            of("Corrimond London Dry Gin", "45 ml"),
            lossy("Pressed Lemon Juice", "22 ml", 3),
            of("Cane Syrup", "15 ml"),
            of("Grosmerle Blackcurrant Liqueur", "12 ml"),
        ],
    ),
    drink(
        "The Drowned Bell",
        1_350,
        ROCKS,
        2.2,
        &[
            of("Murrenoche Ensamble Mezcal", "45 ml"),
            of("Solambray Aperitivo", "25 ml"),
            of("Pressed Lemon Juice", "20 ml"),
            of("Pineapple Shrub", "15 ml"),
        ],
    ),
    drink(
        "Ferryman's Coconut",
        1_250,
        ("blend", "tiki", "Signatures"),
        2.8,
        &[
            of("Varrowmay White Rum", "30 ml"),
            of("Ulverane Coconut Rum", "30 ml"),
            lossy("Cocobrume Coconut Cream", "40 ml", 4),
            lossy("Pressed Pineapple Juice", "60 ml", 3),
        ],
    ),
    drink(
        "Daiquiri",
        1_150,
        CLASSIC,
        3.5,
        &[of("Varrowmay White Rum", "60 ml"), lossy("Pressed Lime Juice", "22 ml", 3), of("Cane Syrup", "15 ml")],
    ),
    drink(
        "Margarita",
        1_200,
        CLASSIC,
        4.0,
        &[
            of("Merrovar Blanco Tequila", "45 ml"),
            of("Naranquel Triple Sec", "20 ml"),
            lossy("Pressed Lime Juice", "20 ml", 3),
        ],
    ),
    drink(
        "Mai Tai",
        1_350,
        ("shake", "tiki", "Classics"),
        3.2,
        &[
            of("Kestorane Column Still Rum", "30 ml"),
            of("Tressadon Cane Juice Rum", "30 ml"),
            of("Curazelde Dry Curaçao", "15 ml"),
            of("Orzalmande Orgeat", "15 ml"),
            lossy("Pressed Lime Juice", "25 ml", 3),
        ],
    ),
    drink(
        "Gin and Tonic",
        1_050,
        CLASSIC_LONG,
        5.5,
        &[of("Corrimond London Dry Gin", "50 ml"), of("Fizzarow Indian Tonic", "200 ml")],
    ),
    drink(
        "Wrenmarrow and Dry Tonic",
        1_200,
        CLASSIC_LONG,
        3.2,
        &[of("Wrenmarrow London Dry Gin", "50 ml"), of("Fizzarow Dry Tonic", "200 ml")],
    ),
    drink(
        "Coastal Gin and Citrus Tonic",
        1_250,
        CLASSIC_LONG,
        2.6,
        &[of("Saltmerrow Coastal Gin", "50 ml"), of("Fizzarow Citrus Tonic", "200 ml")],
    ),
    drink(
        "Rum and Ginger",
        1_050,
        CLASSIC_LONG,
        3.4,
        &[of("Corvanel Dark Rum", "50 ml"), of("Fizzarow Ginger Beer", "200 ml")],
    ),
    drink(
        "Rum and Cola",
        1_000,
        CLASSIC_LONG,
        4.4,
        &[of("Ostelbrine Gold Rum", "50 ml"), of("Pressed Lime Juice", "10 ml"), of("Tamberjack Cola", "200 ml")],
    ),
    drink(
        "Whiskey Sour",
        1_200,
        ("shake", "rocks", "Classics"),
        1.8,
        &[
            of("Dollivarn Rye Whiskey", "50 ml"),
            lossy("Pressed Lemon Juice", "25 ml", 3),
            of("Cane Syrup", "20 ml"),
            of("Eggs", "1 each"),
        ],
    ),
    drink(
        "Coffee Cocktail",
        1_250,
        CLASSIC,
        3.4,
        &[
            of("Sternalow Vodka", "40 ml"),
            of("Tostavesk Coffee Liqueur", "20 ml"),
            of("Cold Coffee Concentrate", "30 ml"),
            of("Cane Syrup", "10 ml"),
        ],
    ),
    drink(
        "Dry Martini",
        1_250,
        CLASSIC_STIRRED,
        1.8,
        &[
            of("Corrimond London Dry Gin", "60 ml"),
            of("Torvellin Dry Vermouth", "10 ml"),
            of("Zestrigo Orange Bitters", "1 dash"),
        ],
    ),
    drink(
        "Aperitivo Spritz",
        1_000,
        ("build", "wine", "Classics"),
        4.4,
        &[
            of("Solambray Aperitivo", "60 ml"),
            lossy("Caldavento Bruma Sparkling", "90 ml", 4),
            of("Basaltine Soda Water", "30 ml"),
        ],
    ),
    drink("Bruma Sparkling", 700, GLASS, 3.0, &[lossy("Caldavento Bruma Sparkling", "125 ml", 4)]),
    drink("Basalt White", 600, GLASS, 4.0, &[of("Sallimar Basalt White", "150 ml")]),
    drink("Slope White", 750, GLASS, 2.6, &[of("Quintaperra Slope White", "150 ml")]),
    drink("Dawn Rosé", 650, GLASS, 2.4, &[of("Rosquelay Dawn Rosé", "150 ml")]),
    drink("Ash Red", 600, GLASS, 3.0, &[of("Tormarroy Ash Red", "150 ml")]),
    drink("Terrace Red", 750, GLASS, 2.0, &[of("Pedravane Terrace Red", "150 ml")]),
    drink("Dry Fortified", 550, GLASS, 1.0, &[of("Finavesk Dry Fortified", "75 ml")]),
    drink("Nutty Fortified", 650, GLASS, 0.8, &[of("Almarrune Nutty Fortified", "75 ml")]),
    drink("Ruby Fortified", 600, GLASS, 0.8, &[of("Rubellinde Ruby Fortified", "75 ml")]),
    drink("Blanc de Lave, bottle", 5_400, GLASS, 0.4, &[of("Ostrelle Blanc de Lave Sparkling", "750 ml")]),
    drink("Salt White, bottle", 3_600, GLASS, 0.5, &[of("Vellaroque Salt White", "750 ml")]),
    drink("Old Vine White, bottle", 4_800, GLASS, 0.3, &[of("Marbelinde Old Vine White", "750 ml")]),
    drink("Cinder Red, bottle", 4_200, GLASS, 0.4, &[of("Cinzalune Cinder Red", "750 ml")]),
    drink("Reserve Red, bottle", 6_200, GLASS, 0.25, &[of("Orbaleque Reserve Red", "750 ml")]),
    drink("Late Harvest, bottle", 5_600, GLASS, 0.15, &[of("Melquarry Late Harvest", "750 ml")]),
    drink("Red Ale", 550, BOTTLE, 1.0, &[of("Lavanore Red Ale", "330 ml")]),
    drink("Gose", 600, BOTTLE, 0.8, &[of("Dorsalmoon Gose", "330 ml")]),
    drink("Amber Lager", 500, BOTTLE, 1.2, &[of("Tarnaquill Amber Lager", "330 ml")]),
    drink("Hazy Pale", 650, BOTTLE, 1.4, &[of("Osprellow Hazy Pale", "330 ml")]),
    drink("Ginger Ale", 350, SOFT, 0.9, &[of("Fizzarow Ginger Ale", "200 ml")]),
    drink("Pierhollow Draught", 650, ("pour", "pint", "Beer"), 8.0, &[lossy("Pierhollow Lager keg", "500 ml", 3)]),
    drink("Saltcoil Draught", 700, ("pour", "pint", "Beer"), 5.0, &[lossy("Saltcoil Pale Ale keg", "500 ml", 3)]),
    drink("Pierhollow Pilsner", 450, BOTTLE, 4.0, &[of("Pierhollow Pilsner", "330 ml")]),
    drink("Session IPA", 550, BOTTLE, 2.2, &[of("Saltcoil Session IPA", "330 ml")]),
    drink("Wheat Beer", 550, BOTTLE, 1.6, &[of("Grommetide Wheat Beer", "330 ml")]),
    drink("Cinderquay Stout", 550, BOTTLE, 1.2, &[of("Cinderquay Stout", "330 ml")]),
    drink("Zero Lager", 400, BOTTLE, 2.0, &[of("Brackwell Zero Lager", "330 ml")]),
    drink("Dry Cider", 500, BOTTLE, 1.6, &[of("Mistleport Dry Cider", "330 ml")]),
    drink("Cola", 350, SOFT, 2.0, &[of("Tamberjack Cola", "200 ml")]),
    drink("Zero Cola", 350, SOFT, 1.6, &[of("Tamberjack Zero Cola", "200 ml")]),
    drink("Cloudy Lemonade", 350, SOFT, 1.2, &[of("Tamberjack Cloudy Lemonade", "200 ml")]),
    drink("Still Water", 300, SOFT, 2.6, &[of("Basaltine Still Water", "500 ml")]),
    drink("Sparkling Water", 300, SOFT, 2.8, &[of("Basaltine Sparkling Water", "500 ml")]),
    drink("Cranberry and Orange", 450, SOFT, 0.8, &[of("Cranberry Juice", "100 ml"), of("Orange Juice", "100 ml")]),
    drink("Olives", 400, BITE, 2.0, &[of("Green Olives", "60 g")]),
    drink("Salted Almonds", 450, BITE, 1.8, &[of("Salted Almonds", "50 g")]),
    drink("Plantain Crisps", 350, BITE, 2.4, &[of("Plantain Crisps", "1 each")]),
];

/// A straight measure is one spirit and nothing else, and is named after it.
pub(crate) const MEASURE_ML: &str = "40 ml";

/// New versions that begin while the data runs: drink, first day, price, whole new spec.
pub(crate) struct NewVersion {
    pub drink: &'static str,
    pub from: (i32, u32, u32),
    pub price: i64,
    pub spec: &'static [Line],
}

pub(crate) const NEW_VERSIONS: &[NewVersion] = &[
    NewVersion {
        drink: "Saltwind Daiquiri",
        from: (2026, 9, 30),
        price: 1_250,
        spec: &[of("Varrowmay White Rum", "55 ml"), lossy("Pressed Lime Juice", "22 ml", 3), of("Cane Syrup", "18 ml")],
    },
    NewVersion {
        drink: "Gin and Tonic",
        from: (2026, 10, 7),
        price: 1_100,
        spec: &[of("Corrimond London Dry Gin", "50 ml"), of("Fizzarow Indian Tonic", "200 ml")],
    },
    NewVersion {
        drink: "Smoke over Solquay",
        from: (2026, 10, 14),
        price: 1_400,
        spec: &[
            of("Ombrevane Espadín Mezcal", "40 ml"),
            of("Umbelarre Sotol", "10 ml"),
            of("Pink Grapefruit Juice", "30 ml"),
            of("Pressed Lime Juice", "15 ml"),
            of("Cinnamon Syrup", "18 ml"),
        ],
    },
];

/// What one batch of a house-made item takes.
pub(crate) struct House {
    pub item: &'static str,
    pub yields: &'static str,
    /// Tap water, which is not stocked.
    pub water: &'static str,
    /// Whether the yield was measured; else the book computes it, and it comes to the same.
    pub measured: bool,
    pub ingredients: &'static [(&'static str, &'static str)],
}

pub(crate) const HOUSE: &[House] = &[
    House {
        item: "Clove and Lime Cordial",
        yields: "2000 ml",
        water: "530 ml",
        measured: true,
        ingredients: &[
            ("Fine Cane Sugar", "1000 g"),
            ("Limes", "14 each"),
            ("Whole Cloves", "20 g"),
            ("Pressed Lime Juice", "400 ml"),
            ("Threllow Harbour Rum", "100 ml"),
        ],
    },
    House {
        item: "Hibiscus Syrup",
        yields: "2000 ml",
        water: "1200 ml",
        measured: true,
        ingredients: &[("Fine Cane Sugar", "1100 g"), ("Dried Hibiscus", "80 g"), ("Lemons", "3 each")],
    },
    House {
        item: "Cinnamon Syrup",
        yields: "2000 ml",
        water: "1100 ml",
        measured: true,
        ingredients: &[("Brown Cane Sugar", "1200 g"), ("Cinnamon Bark", "50 g"), ("Oranges", "2 each")],
    },
    House {
        item: "Pineapple Shrub",
        yields: "2000 ml",
        water: "400 ml",
        measured: true,
        ingredients: &[("Brown Cane Sugar", "800 g"), ("Pineapples", "2 each"), ("Finavesk Dry Fortified", "250 ml")],
    },
    House {
        item: "Cane Syrup",
        yields: "2000 ml",
        water: "1218 g",
        measured: false,
        ingredients: &[("Fine Cane Sugar", "1250 g"), ("Sea Salt Flakes", "4 g")],
    },
    House {
        item: "Thinned Agave",
        yields: "2000 ml",
        water: "800 ml",
        measured: true,
        ingredients: &[("Pencadulce Agave Nectar", "1200 ml")],
    },
];

/// Glasses: to the brim, and the room that ice takes, in millilitres.
pub(crate) const GLASSES: &[(&str, i64, i64)] = &[
    ("coupe", 175, 0),
    ("rocks", 340, 150),
    ("highball", 420, 170),
    ("tiki", 480, 240),
    ("sipping", 190, 0),
    ("wine", 420, 0),
    ("beer", 400, 0),
    ("pint", 600, 0),
];

/// Keys of the till that are no stock: name, price in cents, popularity.
pub(crate) const NOT_STOCK: &[(&str, i64, f64)] =
    &[("CLOAKROOM", 200, 1.4), ("GIFT CARD", 5_000, 0.15), ("EVENT TICKET", 1_500, 0.4), ("CARD SURCHARGE", 50, 0.3)];

/// Other keys that sell a drink in another size: key, drink, portion, share of the price,
/// popularity.
pub(crate) const OTHER_SIZES: &[(&str, &str, f64, f64, f64)] = &[
    ("HALF PIERHOLLOW", "Pierhollow Draught", 0.5, 0.54, 2.4),
    ("HALF SALTCOIL", "Saltcoil Draught", 0.5, 0.54, 1.6),
    ("BTL BASALT WHITE", "Basalt White", 5.0, 4.4, 0.5),
    ("BTL SLOPE WHITE", "Slope White", 5.0, 4.4, 0.3),
    ("BTL ASH RED", "Ash Red", 5.0, 4.4, 0.4),
    ("JUG TIDEWRACK", "Tidewrack Punch", 4.0, 3.6, 0.6),
    ("DUNSARRA DBL", "Dunsarra 12-Year Rum 40 ml", 2.0, 1.8, 0.5),
    ("MARROWICK DBL", "Marrowick 8-Year Rum 40 ml", 2.0, 1.8, 0.5),
    ("VANDREQUE HALF", "Vandreque 15-Year Rum 40 ml", 0.5, 0.55, 0.4),
    ("FENMARISK HALF", "Fenmarisk 21-Year Rum 40 ml", 0.5, 0.55, 0.4),
    ("XIRRUMEL HALF", "Xirrumel Extra Añejo Tequila 40 ml", 0.5, 0.55, 0.3),
];

/// One version of a drink, in numbers.
#[derive(Clone, Debug)]
pub(crate) struct Version {
    pub from: (i32, u32, u32),
    pub price: i64,
    pub spec: Vec<SpecLine>,
}

#[derive(Clone, Debug)]
pub(crate) struct SpecLine {
    pub item: usize,
    /// As written, e.g. `2 dash`.
    pub quantity: &'static str,
    pub waste: u32,
    /// What one serving takes, waste included, in the item's base unit.
    pub takes: f64,
}

#[derive(Clone, Debug)]
pub(crate) struct Drink {
    pub name: String,
    pub method: &'static str,
    pub glass: &'static str,
    pub section: &'static str,
    pub weight: f64,
    pub versions: Vec<Version>,
}

impl Drink {
    /// The version that a sale of this business day is served by.
    pub(crate) fn version(&self, day: chrono::NaiveDate) -> &Version {
        self.versions
            .iter()
            .rev()
            .find(|version| crate::calendar::date(version.from) <= day)
            .unwrap_or(&self.versions[0])
    }
}

/// A key of the till.
#[derive(Clone, Debug)]
pub(crate) struct Key {
    pub sold_as: String,
    /// The drink, or nothing where the key is no stock.
    pub drink: Option<usize>,
    /// What `pos.csv` says.
    pub portion: f64,
    /// What is poured.
    pub really: f64,
    /// Share of the drink's price, or a price of its own in cents for what is no stock.
    pub price_share: f64,
    pub own_price: i64,
    pub weight: f64,
    /// False for a key that nobody has mapped yet.
    pub mapped: bool,
}

pub(crate) struct Menu {
    pub drinks: Vec<Drink>,
    pub keys: Vec<Key>,
}

/// Finds an item by its name.
///
/// # Panics
/// When a drink or recipe names something that the catalogue lacks: a slip in this program.
pub(crate) fn item(name: &str) -> usize {
    ITEMS.iter().position(|item| item.name == name).unwrap_or_else(|| panic!("no item is called {name:?}"))
}

fn spec(lines: &'static [Line]) -> Vec<SpecLine> {
    lines
        .iter()
        .map(|line| SpecLine {
            item: item(line.ingredient),
            quantity: line.quantity,
            waste: line.waste,
            takes: crate::measure::amount(line.quantity) * (1.0 + f64::from(line.waste) / 100.0),
        })
        .collect()
}

/// What a till of sixteen columns prints for a name.
fn till_name(name: &str) -> String {
    let upper: String =
        name.trim_start_matches("The ").replace('\'', "").replace(" and ", " & ").replace(',', "").to_uppercase();
    upper.chars().take(16).collect::<String>().trim_end().into()
}

impl Menu {
    pub(crate) fn build() -> Menu {
        let mut drinks: Vec<Drink> = DRINKS
            .iter()
            .map(|recipe| Drink {
                name: recipe.name.into(),
                method: recipe.method,
                glass: recipe.glass,
                section: recipe.section,
                weight: recipe.weight,
                versions: vec![Version { from: MENU_FROM, price: recipe.price, spec: spec(recipe.spec) }],
            })
            .collect();
        for new in NEW_VERSIONS {
            let drink = drinks
                .iter_mut()
                .find(|drink| drink.name == new.drink)
                .expect("a new version is of a drink that exists");
            drink.versions.push(Version { from: new.from, price: new.price, spec: spec(new.spec) });
        }
        for (index, item) in ITEMS.iter().enumerate() {
            if let Some((price, weight)) = item.measure {
                let (method, glass, section) = MEASURE;
                drinks.push(Drink {
                    name: format!("{} {MEASURE_ML}", item.name),
                    method,
                    glass,
                    section,
                    weight,
                    versions: vec![Version {
                        from: MENU_FROM,
                        price,
                        spec: vec![SpecLine {
                            item: index,
                            quantity: MEASURE_ML,
                            waste: 0,
                            takes: crate::measure::amount(MEASURE_ML),
                        }],
                    }],
                });
            }
        }
        let keys = keys(&drinks);
        Menu { drinks, keys }
    }
}

fn keys(drinks: &[Drink]) -> Vec<Key> {
    let find = |name: &str| {
        drinks.iter().position(|drink| drink.name == name).unwrap_or_else(|| panic!("no drink is called {name:?}"))
    };
    let mut keys: Vec<Key> = drinks
        .iter()
        .enumerate()
        .map(|(index, drink)| Key {
            sold_as: till_name(&drink.name),
            drink: Some(index),
            portion: 1.0,
            really: 1.0,
            price_share: 1.0,
            own_price: 0,
            weight: drink.weight,
            mapped: true,
        })
        .collect();
    for &(sold_as, drink, portion, price_share, weight) in OTHER_SIZES {
        keys.push(Key {
            sold_as: sold_as.into(),
            drink: Some(find(drink)),
            portion,
            really: portion,
            price_share,
            own_price: 0,
            weight,
            mapped: true,
        });
    }
    for &(sold_as, own_price, weight) in NOT_STOCK {
        keys.push(Key {
            sold_as: sold_as.into(),
            drink: None,
            portion: 1.0,
            really: 0.0,
            price_share: 1.0,
            own_price,
            weight,
            mapped: true,
        });
    }
    keys.push(crate::troubles::double_as_single(&find));
    keys.push(crate::troubles::unmapped_promotion(&find));
    for (at, key) in keys.iter().enumerate() {
        assert!(keys[..at].iter().all(|other| other.sold_as != key.sold_as), "two keys print {:?}", key.sold_as);
    }
    keys
}
