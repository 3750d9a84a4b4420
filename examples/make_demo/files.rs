//! Writes the folder of plain files.

use crate::calendar::{Moment, WEEKS, date, day_of};
use crate::catalogue::{ITEMS, Kind, PEOPLE, Place, SUPPLIERS};
use crate::measure::{amount, gtin, money, plain};
use crate::menu::{GLASSES, HOUSE, MENU_FROM, Menu};
use crate::plan::Plan;
use crate::trade::{Records, Row};
use crate::troubles;
use std::error::Error;
use std::path::Path;

const DAYS: [&str; 7] = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"];

/// Writes every file and says how many rows each has.
///
/// # Errors
/// When the folder or a file cannot be written.
pub(crate) fn write(
    folder: &Path,
    menu: &Menu,
    plan: &Plan,
    records: &Records,
) -> Result<Vec<(&'static str, usize)>, Box<dyn Error>> {
    std::fs::create_dir_all(folder)?;
    let rows_of = |rows: &[(Moment, Row)]| rows.iter().map(|(_, row)| row.clone()).collect();
    let files: Vec<(&'static str, &str, Vec<Row>)> = vec![
        ("venue.csv", "key,value", venue()),
        ("people.csv", "initials,name,role", people()),
        ("places.csv", "place,walk", places()),
        ("suppliers.csv", SUPPLIER_COLUMNS, suppliers()),
        ("days.csv", "day,until,what,factor,supplier,order_by", days()),
        (
            "profiles.csv",
            "profile,section,base,body_diameter,body_height,shoulder_height,neck_diameter,neck_height,fill_height",
            profiles(),
        ),
        ("fillings.csv", "profile,height,volume", fillings()),
        (
            "stock.csv",
            "item,kind,size,abv,density,sugar,empty_weight,profile,gtin,count_by,par,allergens,keeps_days,yields,par_from",
            stock(plan),
        ),
        ("shelves.csv", "place,item,position,par", shelves(plan)),
        ("offers.csv", "supplier,item,code,pack,price,deposit,from", offers(plan)),
        ("glasses.csv", "glass,holds,ice", glasses()),
        ("drinks.csv", "drink,from,price,tax,method,glass,menu", drinks(menu)),
        ("specs.csv", "drink,from,ingredient,quantity,waste", specs(menu)),
        ("house.csv", "item,from,yields,ingredient,quantity,water", house()),
        ("batches.csv", "at,item,made,by,note", rows_of(&records.batches)),
        ("pos.csv", "sold_as,drink,portion", pos(menu)),
        ("weighings.csv", "at,item,state,weight,seen,place,by", records.weighings.clone()),
        ("sales.csv", "receipt,line,at,sold_as,quantity,net,kind", records.sales.clone()),
        (
            "deliveries.csv",
            "document,line,at,supplier,item,containers,unit_price,place,deposit",
            rows_of(&records.deliveries),
        ),
        ("losses.csv", "at,item,quantity,reason,place,by,note", rows_of(&records.losses)),
        ("transfers.csv", "at,item,containers,from_place,to_place,by", rows_of(&records.transfers)),
        ("counts.csv", "count,at,place,item,full,open,method,by", records.counts.clone()),
        ("orders.csv", "order,line,supplier,item,packs,price,state,placed,expected", rows_of(&records.orders)),
    ];
    let mut written = Vec::new();
    for (name, header, rows) in files {
        let mut writer = csv::Writer::from_path(folder.join(name))?;
        writer.write_record(header.split(','))?;
        for row in &rows {
            writer.write_record(row)?;
        }
        writer.flush()?;
        written.push((name, rows.len()));
    }
    std::fs::write(folder.join("README.md"), README)?;
    std::fs::write(folder.join("TROUBLES.md"), troubles_text(records))?;
    Ok(written)
}

const SUPPLIER_COLUMNS: &str = "supplier,email,customer_no,schedule,minimum,fee,free_from,address,country,vat_id,\
                                gln,e_address";

fn row<const N: usize>(cells: [&str; N]) -> Row {
    cells.map(String::from).into()
}

fn venue() -> Vec<Row> {
    vec![
        row(["name", "The Ninth Lantern"]),
        row(["currency", "EUR"]),
        row(["time_zone", "Atlantic/Azores"]),
        row(["day_starts", "05:00"]),
        row(["prices_include_tax", "yes"]),
        row(["tenths_of", "volume"]),
        row(["show_volume_in", "ml"]),
        row(["language", "en-IE"]),
        row(["address", "9 Lantern Stair; Ostermere Quay; 0009 Ostermere"]),
        row(["country", "PT"]),
        row(["vat_id", "PT000000009"]),
        row(["gln", "9520000900014"]),
        row(["e_address", "0088:9520000900014"]),
        row(["contact_name", "Odalys Marrenby"]),
        row(["contact_phone", "+351 200 000 009"]),
        row(["contact_email", "bar@ninthlantern.example.com"]),
        row(["deliver_to", "Cellar door on Ropewalk Lane, ring twice; nobody is in before 11:00"]),
    ]
}

fn people() -> Vec<Row> {
    PEOPLE.iter().map(|&(initials, name, role)| row([initials, name, role])).collect()
}

fn places() -> Vec<Row> {
    Place::ALL.iter().zip(1..).map(|(place, walk)| vec![place.name().into(), walk.to_string()]).collect()
}

fn suppliers() -> Vec<Row> {
    SUPPLIERS
        .iter()
        .map(|supplier| {
            let schedule: Vec<String> = supplier
                .slots
                .iter()
                .map(|slot| {
                    let (hour, minute) = slot.deadline;
                    format!(
                        "{} {hour:02}:{minute:02} > {}",
                        DAYS[slot.order_day as usize], DAYS[slot.comes_on as usize]
                    )
                })
                .collect();
            vec![
                supplier.name.into(),
                supplier.email.into(),
                supplier.customer_no.into(),
                schedule.join("; "),
                money(supplier.minimum),
                money(supplier.fee),
                money(supplier.free_from),
                supplier.address.into(),
                "PT".into(),
                supplier.vat_id.into(),
                supplier.gln.into(),
                if supplier.receives { format!("0088:{}", supplier.gln) } else { String::new() },
            ]
        })
        .collect()
}

/// What is to come after the story: no night of trade was ever other than usual.
fn days() -> Vec<Row> {
    let week = |number: u32, day: i64| day_of(WEEKS + number, day).to_string();
    let supplier = |short: &str| SUPPLIERS.iter().find(|s| s.short == short).expect("a supplier of the catalogue").name;
    vec![
        row([&week(2, 4), &week(2, 5), "Lantern nights on the quay", "1.6", "", ""]),
        row([
            &week(2, 2),
            "",
            "A van before the lantern nights",
            "",
            supplier("Quaymoss"),
            &format!("{} 12:00", week(2, 0)),
        ]),
        row(["12-31", "", "Last night of the year", "1.8", "", ""]),
        row(["12-24", "01-02", "Between the years", "", supplier("Haldervane"), ""]),
    ]
}

fn stock(plan: &Plan) -> Vec<Row> {
    ITEMS
        .iter()
        .enumerate()
        .map(|(index, item)| {
            // House-made items carry no number; neither do loose fruit and eggs.
            let numbered = item.kind != Kind::HouseMade && item.size != "1 each";
            // Only the bottles at the wells were ever put on the scale empty.
            let weighed = item.home == Place::Rail && amount(item.size) >= 700.0;
            vec![
                item.name.into(),
                item.kind.name().into(),
                item.size.into(),
                item.abv.map(plain).unwrap_or_default(),
                item.density.into(),
                sugar(index).unwrap_or_default(),
                if weighed { format!("{} g", empty_weight(index)) } else { String::new() },
                profile(index).into(),
                if numbered { gtin(index) } else { String::new() },
                if item.whole { "whole" } else { "tenths" }.into(),
                plan.par[index].map(|par| par.to_string()).unwrap_or_default(),
                item.allergens.into(),
                item.keeps_days.map(|days| days.to_string()).unwrap_or_default(),
                yields(item.name).into(),
                // The bar has begun to try it on what is cheap to be wrong about.
                if matches!(item.kind, Kind::Mixer | Kind::Beer) { "demand" } else { "" }.into(),
            ]
        })
        .collect()
}

/// What an invented maker puts into a liqueur, and about what there is in everything else that is sweet.
fn sugar(index: usize) -> Option<String> {
    let item = &ITEMS[index];
    let stated = |grams: i64| Some(format!("{grams} g/l"));
    if let Some((_, sugar)) = SUGAR.iter().find(|(name, _)| *name == item.name) {
        return Some((*sugar).to_owned());
    }
    match item.kind {
        Kind::Liqueur if item.density.is_empty() => stated(120 + (index * 23 % 200) as i64),
        Kind::Beer => stated(15),
        Kind::Wine if item.name.contains("Fortified") || item.name.contains("Late") => stated(90),
        Kind::Wine => stated(4),
        _ => None,
    }
}

const SUGAR: &[(&str, &str)] = &[
    ("Pressed Lime Juice", "17 g/l"),
    ("Pressed Lemon Juice", "24 g/l"),
    ("Pressed Pineapple Juice", "110 g/l"),
    ("Pink Grapefruit Juice", "75 g/l"),
    ("Orange Juice", "85 g/l"),
    ("Passion Fruit Pulp", "110 g/l"),
    ("Tomato Juice", "30 g/l"),
    ("Cranberry Juice", "110 g/l"),
    ("Fizzarow Indian Tonic", "82 g/l"),
    ("Fizzarow Dry Tonic", "50 g/l"),
    ("Fizzarow Citrus Tonic", "74 g/l"),
    ("Fizzarow Ginger Beer", "88 g/l"),
    ("Fizzarow Ginger Ale", "80 g/l"),
    ("Fizzarow Pink Grapefruit Soda", "72 g/l"),
    ("Tamberjack Cola", "105 g/l"),
    ("Tamberjack Zero Cola", "0 g/l"),
    ("Tamberjack Cloudy Lemonade", "92 g/l"),
    ("Basaltine Still Water", "0 g/l"),
    ("Basaltine Sparkling Water", "0 g/l"),
    ("Basaltine Soda Water", "0 g/l"),
    ("Orzalmande Orgeat", "62 brix"),
    ("Pencadulce Agave Nectar", "74 brix"),
    ("Fine Cane Sugar", "100 %"),
    ("Brown Cane Sugar", "97 %"),
    ("Limes", "17 g/l"),
    ("Lemons", "24 g/l"),
    ("Oranges", "85 g/l"),
    ("Pineapples", "110 g/l"),
    ("Cold Coffee Concentrate", "0 g/l"),
];

/// About what one piece gives.
fn yields(name: &str) -> &'static str {
    match name {
        "Limes" => "25 ml",
        "Lemons" => "40 ml",
        "Oranges" => "70 ml",
        "Pineapples" => "400 ml",
        "Eggs" => "45 ml",
        _ => "",
    }
}

fn glasses() -> Vec<Row> {
    let ice = |ice: i64| if ice > 0 { format!("{ice} ml") } else { String::new() };
    GLASSES.iter().map(|&(name, holds, room)| vec![name.into(), format!("{holds} ml"), ice(room)]).collect()
}

/// Shapes of our own: a stout litre with ridges, measured from outside; a jug that somebody filled from a measure.
const FLAGON: &str = "Ridged flagon";
const JUG: &str = "Stoppered jug";

fn profiles() -> Vec<Row> {
    vec![row([FLAGON, "round", "7", "92", "165", "42", "31", "85", "222"]), row([JUG, "", "", "", "", "", "", "", ""])]
}

fn fillings() -> Vec<Row> {
    [("28", "200 ml"), ("61", "400 ml"), ("97", "600 ml"), ("142", "800 ml"), ("205", "1000 ml"), ("224", "1040 ml")]
        .map(|(height, volume)| row([JUG, height, volume]))
        .into()
}

/// The shape of a bottle, where the bar has looked at it.
fn profile(index: usize) -> &'static str {
    let item = &ITEMS[index];
    match item.kind {
        Kind::HouseMade if item.size == "1 l" => JUG,
        Kind::Spirit if item.size == "1 l" => FLAGON,
        Kind::Spirit | Kind::Liqueur if item.size == "700 ml" => ["round", "square", "round", "dumpy"][index % 4],
        _ => "",
    }
}

/// An invented glass weight: a litre of glass weighs more than 0.7, and no two makers agree.
pub(crate) fn empty_weight(index: usize) -> usize {
    let base = if ITEMS[index].size == "1 l" { 540 } else { 430 };
    base + index * 37 % 120
}

fn shelves(plan: &Plan) -> Vec<Row> {
    let mut rows = Vec::new();
    for (place, items) in &plan.shelves {
        for (&index, position) in items.iter().zip(1..) {
            let par = if *place == ITEMS[index].home && plan.in_cellar(index) {
                plan.home_par[index].to_string()
            } else {
                String::new()
            };
            rows.push(vec![place.name().into(), ITEMS[index].name.into(), position.to_string(), par]);
        }
    }
    rows
}

fn offers(plan: &Plan) -> Vec<Row> {
    plan.offers
        .iter()
        .map(|offer| {
            let item = &ITEMS[offer.item];
            let supplier = &SUPPLIERS[offer.supplier];
            let deposit = if item.deposit > 0 { money(item.deposit) } else { String::new() };
            vec![
                supplier.name.into(),
                item.name.into(),
                format!("{}{:04}", supplier.prefix, 1_000 + offer.item * 7),
                offer.pack.to_string(),
                money(offer.price),
                deposit,
                offer.from.to_string(),
            ]
        })
        .collect()
}

fn drinks(menu: &Menu) -> Vec<Row> {
    let mut rows = Vec::new();
    for drink in &menu.drinks {
        for version in &drink.versions {
            rows.push(vec![
                drink.name.clone(),
                date(version.from).to_string(),
                money(version.price),
                "23".into(),
                drink.method.into(),
                // A bottle goes to the table as it is.
                if drink.name.ends_with(", bottle") { "" } else { drink.glass }.into(),
                // Single measures are poured on asking; the printed menu has the rest.
                if drink.section == "Measures" { "no" } else { "yes" }.into(),
            ]);
        }
    }
    rows
}

fn specs(menu: &Menu) -> Vec<Row> {
    let mut rows = Vec::new();
    for drink in &menu.drinks {
        for version in &drink.versions {
            for line in &version.spec {
                rows.push(vec![
                    drink.name.clone(),
                    date(version.from).to_string(),
                    ITEMS[line.item].name.into(),
                    line.quantity.into(),
                    if line.waste > 0 { line.waste.to_string() } else { String::new() },
                ]);
            }
        }
    }
    rows
}

fn house() -> Vec<Row> {
    HOUSE
        .iter()
        .flat_map(|house| {
            house.ingredients.iter().map(|&(ingredient, quantity)| {
                vec![
                    house.item.into(),
                    date(MENU_FROM).to_string(),
                    if house.measured { house.yields } else { "" }.into(),
                    ingredient.into(),
                    quantity.into(),
                    house.water.into(),
                ]
            })
        })
        .collect()
}

fn pos(menu: &Menu) -> Vec<Row> {
    menu.keys
        .iter()
        .filter(|key| key.mapped)
        .map(|key| match key.drink {
            Some(drink) => vec![key.sold_as.clone(), menu.drinks[drink].name.clone(), plain(key.portion)],
            None => row([&key.sold_as, "", ""]),
        })
        .collect()
}

const README: &str = "\
# Demo data: The Ninth Lantern

An invented rum-and-agave bar with a good gin shelf, on an invented island in the Atlantic: its stock, shelves,
suppliers, drinks and eleven weeks of trade (2026-08-31 to 2026-11-15), with a full count every Sunday night and a
count of the speed rail after every other night of trade. Bottles, makers, suppliers, people and guests are all made
up; the bar codes are from the range that shops give out for themselves, the location numbers (GLN) from the one that
GS1 keeps for demonstrations. The format is described in the project's documentation of plain files.

The folder is written by `cargo run --example make_demo -- demo-data`, from a fixed seed, so that it comes out the
same to the byte each time. The program keeps the true level of every container through each pour, spill, van and
batch, and lets the files see only what a bar would see: the till, the papers, and an eye that reads tenths. Some
things go wrong on purpose; `TROUBLES.md` says which, for whoever wants to know after looking.

From week 4 on, five opened bottles of the speed rail were weighed after each full count, so that the eyes of those who
counted are known a little. The eyes here allow for the shape of a bottle: `tenths_of` is volume.

What is out of the ordinary lies ahead (`days.csv`): two lantern nights on the quay in the second week after the story,
with a van besides before them, the last night of the year, and a supplier that is closed between the years.
";

fn troubles_text(records: &Records) -> String {
    let ran_dry = records.ran_dry.expect("the planted item runs dry").to_minute();
    let sunday = |week| day_of(week, 6);
    format!(
        "\
# What is wrong at The Ninth Lantern

The bar is invented and so are its troubles: they are here to be found. A week runs from one Sunday's full count to
the next; week 1 ends {w1}, week 8 {w8}, week 9 {w9}, week 10 {w10}, week 11
{w11} (dates as in the files; the demo moves them). *Over* means that more went than was sold, *short* that
less did.

1. **Heavy pours.** {heavy} is poured 12 % heavy in weeks 8 to 11. Over, in proportion to what was sold.
2. **A case that never came.** The delivery note was booked whole, one case was not in the van: six bottles of
   {came1} in week 10, six bottles of {came2} in week 11. Over by the whole case, once.
3. **Twins.** From week 9 on about 45 % of the drinks with {rung} are poured from
   {poured}, which looks the same and stands beside it. One is short, the other over by as much.
4. **A bottle overlooked.** One sealed {overlooked} in the cellar was not seen by the count that ends
   week 9. Over by a bottle in week 9, short by a bottle in week 10.
5. **A till name nobody mapped.** `SUNDOWN SPECIAL` is a promotion on Corvanel Dark Rum (50 ml) with a ginger beer
   (one bottle), rung about 25 times a week from week 9 on. Both are over.
6. **A double mapped as a single.** `OMBREVANE LARGE` pours 80 ml of Ombrevane Espadín Mezcal; `pos.csv` says
   portion 1 of a 40 ml measure. Over by 40 ml a serving, all weeks.
7. **A little, every week.** {steady} loses 60 ml a week that no one rings or writes down. No single
   week shows it; all of them together do.
8. **Ran dry.** {dry} was forgotten in the orders of weeks 9 and 10. The last of it went on the
   Saturday of week 10 ({ran_dry}), and there was none that night nor on the Sunday; the next van
   came on Tuesday. Some guests who asked for it were given {stood_in} instead, and the till does not
   know: {dry} is short, {stood_in} over.
9. **A bottle gone.** One whole bottle of {gone} went in week 8 and one in week 11.

Two things are no trouble but leave a small gap. Cane Syrup and Thinned Agave are mixed every day and stand on no
shelf: what is mixed is written down in steps, so that up to 25 ml of each goes into the wrong week. And an opened
bottle with less than half a tenth in it is read as one tenth, a nearly full one as nine.
",
        w1 = sunday(1),
        w8 = sunday(8),
        w9 = sunday(9),
        w10 = sunday(10),
        w11 = sunday(11),
        heavy = troubles::HEAVY,
        came1 = troubles::NEVER_CAME[0].0,
        came2 = troubles::NEVER_CAME[1].0,
        rung = troubles::RUNG,
        poured = troubles::POURED,
        overlooked = troubles::OVERLOOKED.0,
        steady = troubles::STEADY,
        dry = troubles::RAN_DRY,
        stood_in = troubles::STOOD_IN,
        gone = troubles::GONE,
    )
}
