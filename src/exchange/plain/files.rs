//! Every plain file and every column, said once.

/// One of the files.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs)] // Each is described in `FILES`.
pub enum Plain {
    Venue,
    People,
    Places,
    Suppliers,
    Days,
    Profiles,
    Fillings,
    Stock,
    Shelves,
    Offers,
    Glasses,
    Drinks,
    Specs,
    House,
    Pos,
    Layouts,
    SupplierCodes,
    SupplierNames,
    Weighings,
    Batches,
    Deliveries,
    Losses,
    Transfers,
    Counts,
    Explained,
    Orders,
    Bills,
    Claims,
    Taken,
    Sales,
}

impl Plain {
    /// Every file in the order in which they are read: what is named comes before what names it.
    pub const ALL: &'static [Plain] = &[
        Plain::Venue,
        Plain::People,
        Plain::Places,
        Plain::Suppliers,
        Plain::Days,
        Plain::Profiles,
        Plain::Fillings,
        Plain::Stock,
        Plain::Shelves,
        Plain::Offers,
        Plain::Glasses,
        Plain::Drinks,
        Plain::Specs,
        Plain::House,
        Plain::Pos,
        Plain::Layouts,
        Plain::SupplierCodes,
        Plain::SupplierNames,
        Plain::Weighings,
        Plain::Batches,
        Plain::Deliveries,
        Plain::Losses,
        Plain::Transfers,
        Plain::Counts,
        Plain::Explained,
        Plain::Orders,
        Plain::Bills,
        Plain::Claims,
        Plain::Taken,
        Plain::Sales,
    ];

    /// Its description.
    pub fn spec(self) -> &'static FileSpec {
        &FILES[self as usize]
    }

    /// Its name, such as `stock.csv`.
    pub fn name(self) -> &'static str {
        self.spec().name
    }
}

/// A column of a file.
#[derive(Clone, Copy, Debug)]
pub struct Column {
    /// Its head.
    pub name: &'static str,
    /// Whether the file must have it.
    pub required: bool,
    /// What stands in it.
    pub about: &'static str,
}

/// A file.
#[derive(Clone, Copy, Debug)]
pub struct FileSpec {
    /// Its name in the folder.
    pub name: &'static str,
    /// What it holds.
    pub about: &'static str,
    /// The columns that tell two lines apart; none where equal lines are two facts.
    pub key: &'static [&'static str],
    /// Its columns, in the order in which they are written.
    pub columns: &'static [Column],
}

impl FileSpec {
    /// Place of a column.
    pub fn column(&self, name: &str) -> Option<usize> {
        self.columns.iter().position(|c| c.name == name)
    }

    /// The columns in words, optional ones in brackets.
    pub fn heads(&self) -> String {
        let heads: Vec<String> =
            self.columns.iter().map(|c| if c.required { c.name.to_owned() } else { format!("[{}]", c.name) }).collect();
        heads.join(",")
    }
}

const fn need(name: &'static str, about: &'static str) -> Column {
    Column { name, required: true, about }
}

const fn may(name: &'static str, about: &'static str) -> Column {
    Column { name, required: false, about }
}

/// Every file.
pub const FILES: &[FileSpec] = &[
    FileSpec {
        name: "venue.csv",
        about: "the bar itself, one setting a line",
        key: &["key"],
        columns: &[
            need(
                "key",
                "name, currency, time_zone, day_starts, prices_include_tax, show_volume_in, language, dash, barspoon, blind_counts, scale_division, tenths_of, cost_rule, target_pour_cost, price_step, standard_drink, address, country, vat_id, gln, e_address, contact_name, contact_phone, contact_email, deliver_to, watch_folder (a whole path: files of the till and of suppliers that lie there are offered on the first screen), copies_to (a whole path, such as that of a USB stick: copies of the book are put there too whenever it is there), poured_by (how drinks are measured out: jigger, free or whole), jigger_spread and free_spread (the standard deviation of one pour, such as 1.5 ml), false_alarms (percent of what a variance tells to look into that may be nothing), service_level (percent of orders after which stock must not run dry before the delivery after the next, kinds that differ behind it: 95 %; spirit 97 %; juice 90 %) or holding_cost (what it costs to hold stock for a year, percent of its value)",
            ),
            need(
                "value",
                "the setting; an address and its numbers as in suppliers.csv; left empty from `address` to `copies_to`, there is none",
            ),
        ],
    },
    FileSpec {
        name: "people.csv",
        about: "who counts and manages",
        key: &["initials"],
        columns: &[need("initials", "how they sign"), may("name", "their name"), need("role", "counter or manager")],
    },
    FileSpec {
        name: "places.csv",
        about: "where stock stands",
        key: &["place"],
        columns: &[
            need("place", "its name"),
            may("walk", "order in which the bar is walked; without it, the order of the file"),
        ],
    },
    FileSpec {
        name: "suppliers.csv",
        about: "who delivers",
        key: &["supplier"],
        columns: &[
            need("supplier", "the name"),
            may("email", "where orders go"),
            may("customer_no", "what they call the bar"),
            may(
                "schedule",
                "“Mon 14:00 > Wed; Thu 14:00 > Sat”: order before Monday 14:00, it comes on Wednesday; also “Mon-Fri 12:00 > 2 days” and “any 16:00 > 1 day”, counted in calendar days; days that differ stand in days.csv",
            ),
            may("minimum", "smallest order, without tax"),
            may("fee", "cost of a delivery"),
            may("free_from", "order value from which there is no fee"),
            may("address", "lines of the postal address, apart by semicolons, without the country"),
            may("country", "of the address, two letters of ISO 3166 such as PT"),
            may("vat_id", "their number for value added tax"),
            may("gln", "their Global Location Number, 13 digits"),
            may("e_address", "where they receive electronic documents, scheme:value such as 0088:9520000000004"),
        ],
    },
    FileSpec {
        name: "days.csv",
        about: "days that are not as usual: festivals, closed days, days on which a supplier is closed or comes besides its week",
        key: &["day", "what", "supplier"],
        columns: &[
            need(
                "day",
                "a date such as 2026-12-24, or a day of each year: 12-24, easter (Sunday of the western churches), easter-2, easter+1, 4 Thu of Nov, last Mon of May",
            ),
            may(
                "until",
                "last day of a stretch, in the form of the first; 12-24 to 01-02 goes over new year; empty, it is one day",
            ),
            need("what", "what it is called"),
            may(
                "factor",
                "of the bar: how many times the usual demand, such as 1.6, or closed; factors of one day multiply",
            ),
            may("supplier", "whose day it is; without `order_by` they are closed, take no orders and do not deliver"),
            may(
                "order_by",
                "date and hour such as 2026-12-22 10:00, by the clock of the bar: a van besides comes on that day, when ordered by then",
            ),
        ],
    },
    FileSpec {
        name: "profiles.csv",
        about: "shapes of containers, measured from outside with a ruler; lengths in millimetres",
        key: &["profile"],
        columns: &[
            need("profile", "the name; round, square and dumpy are in every book already"),
            may("section", "cross-section of the body: round or square; without it, round"),
            may("base", "how high above the table the liquid begins; without it, 0"),
            may("body_diameter", "of the body; of a square one, its side"),
            may("body_height", "length of the body, from the table to where the shoulder begins"),
            may("shoulder_height", "length of the shoulder, from the body to where the neck begins"),
            may("neck_diameter", "of the neck"),
            may("neck_height", "length of the neck"),
            may("fill_height", "how high above the table the liquid of a sealed one stands; without it, mid-neck"),
        ],
    },
    FileSpec {
        name: "fillings.csv",
        about: "heights and volumes of a shape, found by filling it; they go before what was measured",
        key: &["profile", "height"],
        columns: &[
            need("profile", "which shape"),
            need("height", "of the liquid above the table, in millimetres"),
            need("volume", "what was in it then, such as 350 ml"),
        ],
    },
    FileSpec {
        name: "stock.csv",
        about: "what is stocked",
        key: &["item"],
        columns: &[
            need("item", "the name"),
            need("kind", "spirit, liqueur, wine, beer, mixer, juice, house-made, food or other"),
            need("size", "what one container holds, such as 700 ml, 1 kg or 1 each"),
            may("abv", "percent by volume"),
            may("density", "grams per millilitre"),
            may("sugar", "percent by mass or grams in a litre: 50 brix or 250 g/l; of something solid also 100 %"),
            may("empty_weight", "of the empty container, a mass"),
            may("full_weight", "of the full container, a mass"),
            may("profile", "shape of the container: round, square, dumpy or one of profiles.csv"),
            may("gtin", "bar code numbers, apart by blanks"),
            may("count_by", "tenths, weight, height or whole; without it, tenths"),
            may(
                "service_level",
                "share of order cycles that should not run dry, such as 0.95 (or 95 for percent); without it, as venue.csv says",
            ),
            may("par", "containers that an order fills up to"),
            may("shelf_max", "most containers that fit"),
            may("allergens", "words of EU 1169/2011 annex II apart by blanks, or none; empty is unknown"),
            may(
                "keeps_days",
                "days it keeps, the day it is made or opened counting as the first; of juice, food and what is made here, from the delivery on, and no par is for more than is used by then",
            ),
            may("yields", "what one piece gives, such as 30 ml of juice; for what is counted by each"),
            may("poured_by", "jigger, free, or whole where nothing is measured out; without it, as venue.csv says"),
            may(
                "par_from",
                "hand: orders fill up to `par`; demand: to what demand asks for, `par` being kept beside it; without it, hand where there is a par, else demand",
            ),
            may(
                "stocked",
                "yes or no: what is not stocked any more is counted until it has run out, and not ordered; without it, yes",
            ),
        ],
    },
    FileSpec {
        name: "shelves.csv",
        about: "an item's spot in a place; it may stand in several",
        key: &["place", "item"],
        columns: &[
            need("place", "where"),
            need("item", "what"),
            may("position", "order along the shelf; without it, the order of the file"),
            may("par", "the place's own par in containers, for the carry-up list"),
        ],
    },
    FileSpec {
        name: "offers.csv",
        about: "what suppliers ask",
        key: &["supplier", "item", "pack", "from"],
        columns: &[
            need("supplier", "who"),
            need("item", "what"),
            may("code", "the supplier's own number"),
            need("pack", "containers in a case"),
            need("price", "of the whole pack, without tax"),
            may("deposit", "on the whole pack"),
            may("from", "first business day it is valid; empty since ever"),
            may(
                "mixed",
                "it comes only as a part of a case that is filled with whatever one wants of the items that name it, and how many containers fill it: Wines 6",
            ),
            may("until", "last business day it is valid; empty where they still ask it"),
        ],
    },
    FileSpec {
        name: "glasses.csv",
        about: "what drinks are served in",
        key: &["glass"],
        columns: &[
            need("glass", "the name that drinks give it"),
            need("holds", "to the brim, such as 350 ml"),
            may("ice", "the room that ice takes in it, where it is served over ice"),
        ],
    },
    FileSpec {
        name: "drinks.csv",
        about: "what is sold; a new `from` begins a new version",
        key: &["drink", "from"],
        columns: &[
            need("drink", "the name"),
            may("from", "first business day of the version; empty since ever"),
            need("price", "what the guest pays"),
            may("tax", "percent"),
            may("method", "shake, stir, build, throw, blend or pour"),
            may("glass", "what it is served in"),
            may("menu", "yes or no; without it, yes"),
            may("dilution", "percent of water that ice adds, as measured; without it, as the method usually has it"),
        ],
    },
    FileSpec {
        name: "specs.csv",
        about: "what a drink takes; the lines of one drink and `from` are one version",
        key: &["drink", "from", "ingredient"],
        columns: &[
            need("drink", "which drink"),
            may("from", "first business day of the version; empty since ever"),
            need("ingredient", "an item of stock.csv"),
            need("quantity", "such as 50 ml, 2 dash or 1 each"),
            may("waste", "percent lost on top"),
            may("note", "anything to remember"),
            may("after_ice", "yes or no: added once the ice has done its work; without it, mixers and beer are"),
        ],
    },
    FileSpec {
        name: "house.csv",
        about: "one batch of a house-made item; the lines of one item and `from` are one version",
        key: &["item", "from", "ingredient"],
        columns: &[
            need("item", "what is made"),
            may("from", "first business day of the version; empty since ever"),
            may(
                "yields",
                "what one batch makes as measured, the same on each of its lines; empty, it is computed from what goes in",
            ),
            need("ingredient", "an item of stock.csv"),
            need("quantity", "what one batch takes of it"),
            may("water", "water from the tap, such as 1 kg or 1 l, the same on each line of a version"),
            may("note", "anything to remember"),
        ],
    },
    FileSpec {
        name: "pos.csv",
        about: "what the till calls things",
        key: &["sold_as"],
        columns: &[
            need("sold_as", "as the till prints it"),
            need("drink", "which drink; empty: not stock, ignore it"),
            may("portion", "how much of the drink: 1, 0.5, 2; without it, 1"),
            may("article_number", "the till's number of it, which tells two articles of one name apart"),
            may("state", "open where nobody has said yet what it means; the drink is empty then"),
        ],
    },
    FileSpec {
        name: "layouts.csv",
        about: "how tables that the till writes are read, one column of a table a line; a table is read by the layout whose heads it has",
        key: &["layout", "position"],
        columns: &[
            need("layout", "its name"),
            need("position", "the column's place from the left: 1, 2, 3 and so on, each once"),
            may("head", "the column's head as the file has it; empty where it has none"),
            need(
                "is",
                "what the column says: date, business day, time, date and time, receipt, line, register, name, article number, quantity, net, gross, tax, tax rate, kind or ignore",
            ),
            need(
                "decimal",
                "the mark before the decimals: point, comma, or unknown while no figure has told it; the same on each line of a layout, as are dates, rows and tax",
            ),
            need("dates", "year-month-day, day-month-year or month-day-year"),
            need("rows", "lines of receipts, or day totals for each name: lines or day totals"),
            may("tax", "percent in gross figures where no column says it"),
        ],
    },
    FileSpec {
        name: "supplier_codes.csv",
        about: "what the lines of suppliers' bills stand for, as somebody explained them",
        key: &["supplier", "code", "unit"],
        columns: &[
            need("supplier", "whose code it is"),
            need(
                "code",
                "code and the supplier's number of it, or gtin and its bar code, or name and what the bill calls it: code 40017, gtin 9520000400170, name keg deposit",
            ),
            may("unit", "the unit on the bill, such as XBO or C62; capitals do not matter"),
            need("means", "item, deposit (on what goes back) or not-stock"),
            may("item", "which item, where it means one"),
            may("containers", "so many containers of it; without it, 1"),
            may("units", "are in so many units of the bill; without it, 1"),
        ],
    },
    FileSpec {
        name: "supplier_names.csv",
        about: "what suppliers call themselves on their bills, as somebody said whose they are",
        key: &["known_as"],
        columns: &[
            need(
                "known_as",
                "vat and the number for value added tax, or id and a scheme:number, or name and the name: vat DE123456788, id 0088:9520000000004, name Quendelbach",
            ),
            need("supplier", "who that is"),
        ],
    },
    FileSpec {
        name: "weighings.csv",
        about: "containers on the scale: what an empty one weighs, how heavy the content is, how good an eye is",
        key: &[],
        columns: &[
            need("at", "when"),
            need("item", "what"),
            need("state", "sealed, empty or opened"),
            need("weight", "as the scale showed it, such as 1234g or 21.5kg"),
            may("seen", "of an opened one, what the eye had read just before, such as .4"),
            may(
                "mark",
                "tells this very container from others: the same on a sealed and an empty one is one container",
            ),
            may("place", "where"),
            may("by", "initials; of an opened one, whose eye it was"),
        ],
    },
    FileSpec {
        name: "batches.csv",
        about: "batches made",
        key: &[],
        columns: &[
            need("at", "when"),
            need("item", "what; it has a recipe in house.csv"),
            need("made", "how much"),
            may("by", "initials"),
            may("note", "anything to remember"),
        ],
    },
    FileSpec {
        name: "deliveries.csv",
        about: "what came",
        key: &["supplier", "document", "line"],
        columns: &[
            need("document", "number of the supplier's document"),
            need("line", "line of the document"),
            need("at", "when it came"),
            need("supplier", "who brought it"),
            need("item", "what"),
            need("containers", "how many; below zero they went back"),
            need("unit_price", "of one container, without tax, up to 6 decimals"),
            may("place", "where it was put"),
            may("deposit", "on one container"),
        ],
    },
    FileSpec {
        name: "losses.csv",
        about: "what went without being sold",
        key: &[],
        columns: &[
            need("at", "when"),
            need("item", "what"),
            need("quantity", "how much"),
            need("reason", "spill, breakage, comp, staff, tasting, spoiled or returned-drink"),
            may("place", "where"),
            may("by", "initials"),
            may("note", "anything to remember"),
        ],
    },
    FileSpec {
        name: "transfers.csv",
        about: "what was carried from one place to another",
        key: &[],
        columns: &[
            need("at", "when"),
            need("item", "what"),
            need("containers", "how many, up to 3 decimals"),
            need("from_place", "from where"),
            need("to_place", "to where"),
            may("by", "initials"),
        ],
    },
    FileSpec {
        name: "counts.csv",
        about: "what was counted",
        key: &["count", "place", "item"],
        columns: &[
            need("count", "name of the count"),
            need("at", "when the line was entered"),
            need("place", "where"),
            need("item", "what"),
            need("full", "sealed containers"),
            may("open", "one reading for each opened container, apart by blanks: .4 .7, 812g, 143mm"),
            may("method", "tenths, weight, height, whole or expected; without it, what the readings say"),
            may("by", "initials"),
            may("state", "open on every line of a count that is not closed yet"),
        ],
    },
    FileSpec {
        name: "explained.csv",
        about: "causes of gaps that somebody accepted, so that these gaps are not open any more; one cause for each gap",
        key: &["count", "item"],
        columns: &[
            need("at", "when it was accepted"),
            need("count", "name of the count at which the gap shows: the later of the two, which is closed"),
            need("item", "what shows it"),
            need(
                "cause",
                "overlooked, counted-twice, did-not-come, not-booked, gone, other-one, heavy-pours, light-pours, steady-loss, wrong-portion, wrong-drink, unmapped-name, ran-dry, left-as-expected, not-written-down or nothing-wrong",
            ),
            may("by", "initials"),
            may("note", "anything to remember"),
        ],
    },
    FileSpec {
        name: "orders.csv",
        about: "orders to suppliers",
        key: &["order", "line"],
        columns: &[
            need("order", "name of the order"),
            need("line", "number of the line"),
            need("supplier", "to whom"),
            need("item", "what"),
            need("packs", "how many packs"),
            need("price", "of one pack, without tax"),
            need("state", "draft, sent, received or closed"),
            may("placed", "when it was sent"),
            may("expected", "the date it should come"),
            may("pack", "containers in a pack; without it, that of the offer"),
        ],
    },
    FileSpec {
        name: "bills.csv",
        about: "suppliers' bills that were booked; what they brought stands in deliveries.csv",
        key: &["supplier", "number", "kind"],
        columns: &[
            need("supplier", "whose bill"),
            need("number", "its number; blanks and capitals do not tell two bills apart"),
            need(
                "kind",
                "invoice, credit note, corrected invoice, prepayment invoice, self-billed invoice, partial invoice or other bill; one number stands for one credit note and one of the others",
            ),
            need("issued", "the date that it was written"),
            need(
                "goods",
                "what the goods cost, without tax and deposits; below zero for what is credited, and so are the others",
            ),
            need("deposits", "deposits on what goes back"),
            need("charges", "freight and the like, of the whole bill"),
            need("other", "what is not stocked"),
            may("payable", "what is to be paid, with tax, where the bill says it"),
            may(
                "delivery",
                "the document of the delivery that it answers, where that was booked before the bill came; of several `A; B`",
            ),
            need("at", "when it was booked"),
            may("by", "initials"),
        ],
    },
    FileSpec {
        name: "claims.csv",
        about: "what is to be claimed from suppliers, and what was settled of it",
        key: &[],
        columns: &[
            need("supplier", "from whom"),
            need("document", "number of the bill"),
            may("item", "for what"),
            need("because", "short, dearer or not credited"),
            need("containers", "for so many containers"),
            need("money", "how much, without tax, above zero"),
            need("note", "in a sentence"),
            need("at", "when it was put down"),
            may("by", "initials"),
            may("settled_at", "when it was settled; empty, it is open"),
            may("settled_by", "initials"),
            may("settled_note", "how it was settled; without it, settled"),
        ],
    },
    FileSpec {
        name: "taken.csv",
        about: "files of the till and of suppliers that were taken in, so that none is offered again; which sales came from which file is not kept here, so after a load none of them can be taken back",
        key: &[],
        columns: &[
            need("at", "when it was taken in"),
            need("name", "what the file was called"),
            need(
                "digest",
                "SHA-256 of what is in it, 64 hexadecimal digits: a file is known by it, whatever it is called",
            ),
            need("size", "its bytes"),
            may("modified", "when the file was last written to"),
            need("as", "sales, invoice or set-aside"),
            need("added", "lines that were new to the book"),
            may("by", "initials"),
        ],
    },
    FileSpec {
        name: "sales.csv",
        about: "lines of till receipts",
        key: &["receipt", "line"],
        columns: &[
            need("receipt", "number of the receipt"),
            need("line", "line of the receipt"),
            need("at", "when"),
            need("sold_as", "what the till calls it; a name that pos.csv lacks is kept and asked about"),
            need("quantity", "how many, up to 3 decimals"),
            need("net", "without tax"),
            may("kind", "sale, void, return, comp, staff or training; without it, sale"),
        ],
    },
];

const PREFACE: &str = "\
# Plain files: the way in and out of a book

A folder of plain files is a whole book, or a part of one, as tables that a person can read, edit in any spreadsheet and
keep under version control. `tantalus load DIR` reads such a folder into a book, `tantalus dump DIR` writes one; load,
dump and load again give the same book. `demo-data/` is an example.

Every file is UTF-8 (a byte order mark is accepted), comma-separated, with one head row, cells in quotation marks where
they hold a comma (RFC 4180), lines ending in LF or CR LF. Columns may stand in any order; one in [brackets] may be
missing. A folder need not have every file: names are looked for in the folder and in the book. A folder with any error
loads nothing, and every error is named with its file, line and column, what was read and what was expected. Loading
what is there already adds nothing twice.

- a **quantity** is a number and a unit: `700 ml`, `70 cl`, `0.7 l`, `2 fl oz` (US), `2 imp fl oz`, `812 g`, `1.5 kg`,
  `1 lb`, `3 each`. `oz` alone is the US fluid ounce where a volume is meant and is refused where a mass is meant. Specs
  also take `dash` and `barspoon`, whose size is a setting of the bar (custom, no standard).
- **money** is a decimal number in the bar's currency, with `.` as its mark.
- a **time** is `2026-11-20 01:40` in the bar's time zone, or RFC 3339 with an offset, which is needed in the hour that a
  clock change repeats; a **date** is `2026-11-20` and always means the business day.
- a **name** is its own key: blanks around it and capitals do not matter, and two names that differ only in those are
  the same. It must not begin with `=`, `+`, `-` or `@`, because a spreadsheet would run it as a formula.
- a **void** with a positive quantity was never made; one with a negative quantity takes an earlier line back. A
  **return** gives money back, but the drink is gone. A **training** line was never made.

What was taken back (a loss, a weighing, a line of a count, an accepted cause, a file of sales with its sales) stands in
no dump, nor does what a correction replaced: a dump holds what is in force.

";

/// The files as a table for the documentation.
pub fn markdown() -> String {
    let mut out = String::from(PREFACE);
    for file in FILES {
        out.push_str(&format!("### `{}`\n\n{}.\n\n| column | |\n| --- | --- |\n", file.name, capital(file.about)));
        for column in file.columns {
            let name = if column.required { format!("`{}`", column.name) } else { format!("[`{}`]", column.name) };
            out.push_str(&format!("| {name} | {} |\n", column.about));
        }
        out.push('\n');
    }
    out
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map(|c| c.to_uppercase().chain(chars).collect()).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::venue::CauseWord;

    #[test]
    fn each_file_is_described_once_and_its_key_is_among_its_columns() {
        assert_eq!(FILES.len(), Plain::ALL.len());
        for (n, plain) in Plain::ALL.iter().enumerate() {
            assert_eq!(*plain as usize, n);
            let spec = plain.spec();
            // `SupplierCodes` is `supplier_codes.csv`.
            let apart = |c: char| c.is_uppercase().then_some('_').into_iter().chain(c.to_lowercase());
            let words: String = format!("{plain:?}").chars().flat_map(apart).collect();
            assert_eq!(format!("{}.csv", words.trim_start_matches('_')), spec.name);
            for key in spec.key {
                assert!(spec.column(key).is_some(), "{} {key}", spec.name);
            }
            for (n, column) in spec.columns.iter().enumerate() {
                assert_eq!(spec.column(column.name), Some(n), "{} {} twice", spec.name, column.name);
            }
        }
        assert!(markdown().contains("| [`walk`] | order in which"));
    }

    #[test]
    fn the_words_of_a_cause_are_those_that_are_read() {
        let spec = Plain::Explained.spec();
        let about = spec.columns[spec.column("cause").unwrap()].about;
        let said: Vec<&str> = about.split(", ").flat_map(|words| words.split(" or ")).collect();
        let read: Vec<&str> = CauseWord::ALL.iter().map(|word| word.word()).collect();
        assert_eq!(said, read);
    }
}
