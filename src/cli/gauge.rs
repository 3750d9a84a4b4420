//! `tantalus gauge`: what a reading of an opened container is, with a book or without one.

use super::json::{self, FORM};
use super::page::Page;
use super::table::{Set, Table};
use super::{Refusal, Shared, find};
use crate::clock;
use crate::desk::gauging;
use crate::domain::gauge::{Entry, Gauges, Outline, Reading, Tally, Vessel, alcohol, density};
use crate::domain::measure::{Amount, Basis, Density, Quantity, Show, SmallMeasures, Strength, Sugar, VolumeUnit};
use crate::domain::venue::{
    CountBy, Filling, Item, ItemId, Kind, Measures, Profile, ProfileId, Section, Shape, TenthsOf, parse_millimetres,
};
use serde::Serialize;
use std::sync::Arc;

/// Tell what an opened container holds, from what the eye, a scale or a ruler says
///
/// Readings are as one types them while counting: 3.4 is three sealed and one at four tenths, .45 half a tenth more exact,
/// 812g a weight with the container, 143mm a height above the table. Without a reading it tells what is known: the
/// density, and what stands at each tenth. No book is needed unless --item names something in it.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    tantalus gauge 812g --size 700ml --abv 40 --empty 512g\n  \
    tantalus gauge 143mm --size 700ml --shape round\n  \
    tantalus gauge 21.5kg --size 30l --density 1.01 --empty 9.8kg\n  \
    tantalus gauge .45 --item \"Harbour rum\"")]
pub(super) struct Args {
    /// What was read, as it is typed while counting
    #[arg(value_name = "READING")]
    readings: Vec<String>,
    /// An item of the book, with all that is known of it
    #[arg(long, conflicts_with_all = ["size", "abv", "sugar", "density", "empty", "full", "shape", "body_diameter", "filling",
        "tenths_of_volume", "division"])]
    item: Option<String>,
    /// What one container holds: 700ml, 70cl, 30l
    #[arg(long, value_parser = volume, required_unless_present = "item")]
    size: Option<Amount>,
    /// Strength in percent by volume
    #[arg(long, value_parser = |text: &str| Strength::parse(text).map_err(|e| e.to_string()))]
    abv: Option<Strength>,
    /// Sugar: "50 brix" (percent by mass) or "250 g/l"
    #[arg(long, value_parser = |text: &str| Sugar::parse(text).map_err(|e| e.to_string()))]
    sugar: Option<Sugar>,
    /// Density in g/ml, where it is known
    #[arg(long, value_parser = |text: &str| Density::parse(text).map_err(|e| e.to_string()))]
    density: Option<Density>,
    /// Weight of an empty container: 512g
    #[arg(long, value_parser = mass, value_name = "WEIGHT")]
    empty: Option<Amount>,
    /// Weight of a full one, instead of strength or sugar
    #[arg(long, value_parser = mass, value_name = "WEIGHT", requires = "empty")]
    full: Option<Amount>,
    /// Shape of the container, one of those that every book knows
    #[arg(long, value_parser = shapes(), conflicts_with_all = ["body_diameter", "filling"])]
    shape: Option<Shape>,
    #[command(flatten)]
    measured: Measured,
    /// A height and what stands there, found by filling: 40mm=100ml; give several
    #[arg(long, value_parser = filling, value_name = "HEIGHT=VOLUME")]
    filling: Vec<Filling>,
    /// Tenths by eye are tenths of what it holds, not of the height of a full one
    #[arg(long)]
    tenths_of_volume: bool,
    /// One step of the scale
    #[arg(long, value_parser = mass, default_value = "1g", value_name = "WEIGHT")]
    division: Amount,
    /// Temperature of the liquid, °C
    #[arg(long, allow_negative_numbers = true, value_parser = celsius, value_name = "CELSIUS")]
    temperature: Option<f64>,
    /// Write JSON
    #[arg(long)]
    json: bool,
}

/// A container measured from outside, lengths in millimetres.
#[derive(Debug, clap::Args)]
struct Measured {
    /// Diameter (or side) of the body, mm
    #[arg(long, value_parser = parse_millimetres, value_name = "MM",
        requires_all = ["body_height", "shoulder_height", "neck_diameter", "neck_height"])]
    body_diameter: Option<i64>,
    /// Length of the body from the table up, mm
    #[arg(long, value_parser = parse_millimetres, value_name = "MM", requires = "body_diameter")]
    body_height: Option<i64>,
    /// Length of the shoulder, mm
    #[arg(long, value_parser = parse_millimetres, value_name = "MM", requires = "body_diameter")]
    shoulder_height: Option<i64>,
    /// Diameter of the neck, mm
    #[arg(long, value_parser = parse_millimetres, value_name = "MM", requires = "body_diameter")]
    neck_diameter: Option<i64>,
    /// Length of the neck, mm
    #[arg(long, value_parser = parse_millimetres, value_name = "MM", requires = "body_diameter")]
    neck_height: Option<i64>,
    /// How high above the table the liquid begins, mm
    #[arg(long, value_parser = parse_millimetres, value_name = "MM", requires = "body_diameter")]
    base: Option<i64>,
    /// How high above the table a full one stands, mm
    #[arg(long, value_parser = parse_millimetres, value_name = "MM", requires = "body_diameter")]
    fill_height: Option<i64>,
    /// The body is square
    #[arg(long, requires = "body_diameter")]
    square: bool,
}

fn quantity(text: &str, basis: Basis) -> Result<Amount, String> {
    // `700ml` as well as `700 ml`.
    let at = text.find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ','))).unwrap_or(text.len());
    let (number, unit) = text.split_at(at);
    let written = format!("{} {}", number.replace(',', "."), unit.trim());
    let read = Quantity::parse_as(&written, basis, &SmallMeasures::default()).map_err(|e| e.to_string())?;
    if read > Amount::ZERO { Ok(read) } else { Err("expected more than nothing".to_owned()) }
}

fn volume(text: &str) -> Result<Amount, String> {
    quantity(text, Basis::Volume)
}

fn mass(text: &str) -> Result<Amount, String> {
    quantity(text, Basis::Mass)
}

fn celsius(text: &str) -> Result<f64, String> {
    let read = text.trim().parse::<f64>().ok().filter(|t| alcohol::RANGE.contains(t));
    read.ok_or_else(|| "expected degrees Celsius from -20 to 40".to_owned())
}

fn filling(text: &str) -> Result<Filling, String> {
    let expected = || "expected a height and a volume such as 40mm=100ml".to_owned();
    let (height, held) = text.split_once('=').ok_or_else(expected)?;
    match Reading::parse(height.trim()) {
        Ok(Reading::Height(height)) => Ok(Filling { height, volume: volume(held.trim())? }),
        _ => Err(expected()),
    }
}

fn shapes() -> impl clap::builder::TypedValueParser<Value = Shape> {
    use clap::builder::{PossibleValuesParser, TypedValueParser};
    PossibleValuesParser::new(Shape::ALL.iter().map(|s| s.word())).try_map(|word| Shape::parse(&word))
}

/// The answer as JSON.
#[derive(Debug, Serialize)]
struct Form {
    form: u32,
    item: Option<String>,
    unit: &'static str,
    size: i64,
    reading: Option<ReadingForm>,
    empty_mg: Option<i64>,
    u_empty_mg: Option<i64>,
    full_mg: Option<i64>,
    density_g_per_l: Option<f64>,
    u_density_g_per_l: Option<f64>,
    density_from: Option<&'static str>,
    celsius: Option<f64>,
    heights: Vec<HeightForm>,
}

/// What a reading is.
#[derive(Debug, Serialize)]
struct ReadingForm {
    read: String,
    amount: i64,
    u: i64,
    low: i64,
    high: i64,
    containers_milli: i64,
    at_temperature: Option<i64>,
    doubt: Option<String>,
}

/// A tenth of what a container holds, and how high it stands.
#[derive(Debug, Serialize)]
struct HeightForm {
    tenths: u8,
    amount: i64,
    height_um: i64,
}

/// What is gauged, and with what.
struct Bench {
    item: Item,
    named: bool,
    gauges: Arc<Gauges>,
    show: Show,
    by: Option<String>,
}

pub(super) fn run(shared: &Shared, args: &Args) -> Result<String, Refusal> {
    let bench = match &args.item {
        Some(typed) => Bench::of_book(shared, typed)?,
        None => Bench::alone(args)?,
    };
    let Some(vessel) = bench.gauges.vessel(bench.item.id) else {
        return Err(Refusal::new("nothing is known of this container"));
    };
    let read = bench.read(args)?;
    let heights = bench.heights(vessel);
    if args.json {
        return bench.json(args, vessel, read, heights);
    }
    let mut page = Page::new();
    let item = &bench.item;
    let show = bench.show;
    let head = if bench.named { format!("{}, {}", item.name, item.kind) } else { "One container".to_owned() };
    page.line(format!("{head}, {} a container", show.amount(item.basis, item.size)));
    if let Some((form, tally)) = &read {
        let amount = |v: i64| show.amount(item.basis, Amount(v));
        let bare = |v: i64| show.bare(item.basis, Amount(v));
        let at = if item.basis == Basis::Volume { " at 20 °C" } else { "" };
        page.line(format!("{} is {} ± {}{at}", form.read, bare(form.amount), amount(form.u)));
        page.line(format!(
            "  {} containers; in 95 of 100 cases between {} and {}",
            show.containers(tally.amount, item.size),
            bare(form.low),
            amount(form.high)
        ));
        if let (Some(there), Some(celsius)) = (form.at_temperature, args.temperature) {
            page.line(format!("  at {celsius} °C that is {} in the container", amount(there)));
        }
        if let Some(doubt) = &form.doubt {
            page.line(format!("  Hard to believe: {doubt}"));
        }
    }
    page.gap();
    for line in bench.known(args, vessel) {
        page.line(line);
    }
    if read.is_none() && !heights.is_empty() {
        page.gap();
        page.line("How high each tenth of what it holds stands:");
        let mut table = Table::new([("tenths", Set::Figure), ("that is", Set::Figure), ("height mm", Set::Figure)]);
        for h in &heights {
            let mm = format!("{:.0}", h.height_um as f64 / 1_000.0);
            table.row([h.tenths.to_string(), show.amount(item.basis, Amount(h.amount)), mm]);
        }
        page.table(&table);
    }
    Ok(page.finish())
}

impl Bench {
    fn of_book(shared: &Shared, typed: &str) -> Result<Bench, Refusal> {
        let view = gauging::gauging(&shared.open()?, clock::started())?;
        let item = find::one("item", &view.setup.items, |i| &i.name, typed)?.clone();
        Ok(Bench { item, named: true, show: view.setup.venue.show(), gauges: view.gauges, by: shared.signer() })
    }

    fn alone(args: &Args) -> Result<Bench, Refusal> {
        let size = args.size.unwrap_or_default();
        // Told nothing of sugar, a strength alone is a spirit's.
        let kind = if args.sugar.is_some() { Kind::Liqueur } else { Kind::Spirit };
        let item = Item {
            abv: args.abv,
            sugar: args.sugar,
            density: args.density,
            empty_weight: args.empty,
            full_weight: args.full,
            ..Item::new(ItemId(1), "this one", kind, Basis::Volume, size, CountBy::Tenths)
        };
        if let (Some(full), Some(empty)) = (args.full, args.empty)
            && !density::believable_full(full, Some(empty), size)
        {
            let said = "a full one would hold less than half of what water weighs, or more than twice";
            return Err(Refusal::new(said).hint("--full and --empty are both weighed with the container"));
        }
        let vessel = Vessel::new(&item, args.outline(size)?, &[]);
        let tenths_of = if args.tenths_of_volume { TenthsOf::Volume } else { TenthsOf::Height };
        let gauges = Arc::new(Gauges::of_one(item.id, vessel, args.division.as_f64(), tenths_of));
        let currency = "EUR".parse().map_err(|_| Refusal::new("no coin is known"))?;
        let show = Show { volume: VolumeUnit::Ml, currency, hides_money: false };
        Ok(Bench { item, named: false, gauges, show, by: None })
    }

    /// What the readings are; nothing without any.
    fn read(&self, args: &Args) -> Result<Option<(ReadingForm, Tally)>, Refusal> {
        if args.readings.is_empty() {
            return Ok(None);
        }
        let typed = args.readings.join(" ").replace(',', ".");
        let refuse = |why: String| Refusal::new(why);
        let entry = Entry::parse_for(&typed, self.item.count_by).map_err(|e| refuse(e.to_string()))?;
        let doubt = self.gauges.check(&self.item, &entry).map_err(|e| refuse(e.to_string()))?;
        let many = (entry.full > Entry::MANY)
            .then(|| format!("{} sealed ones; a weight wants its unit, such as {0}g", entry.full));
        let doubt = many.or(doubt);
        let mut tally = self.gauges.level(&self.item, &entry, self.by.as_deref());
        let mut there = None;
        if let Some(swell) = args.temperature.and_then(|celsius| self.swell(celsius)) {
            // A weight, like what a label says, is of the liquid itself; eye and ruler see how much room it takes.
            let seen = entry.open.iter().copied().filter(|r| !matches!(r, Reading::Mass(_))).collect();
            let seen = Entry { full: 0, open: seen };
            let room = self.gauges.level(&self.item, &seen, self.by.as_deref()).amount;
            let itself = tally.amount - room;
            tally = tally.shifted(scaled(room, 1.0 / swell) - room);
            there = Some((scaled(itself, swell) + room).0);
        }
        let half = tally.half_width();
        let containers = tally.amount.per(self.item.size) * 1_000.0;
        let form = ReadingForm {
            read: entry.to_string(),
            amount: tally.amount.0,
            u: json::whole(tally.u()),
            low: (tally.amount.as_f64() - half).round().max(0.0) as i64,
            high: (tally.amount.as_f64() + half).round() as i64,
            containers_milli: containers.round() as i64,
            at_temperature: there,
            doubt,
        };
        Ok(Some((form, tally)))
    }

    /// By how much the content is larger at a temperature than at 20 °C; nothing where that is not known.
    fn swell(&self, celsius: f64) -> Option<f64> {
        let at = |celsius| density::at(self.item.abv, self.item.sugar, celsius);
        Some(at(20.0)? / at(celsius)?)
    }

    /// How heavy the content is, by what it is measured.
    fn heaviness(&self, vessel: &Vessel) -> Option<String> {
        let d = vessel.density?;
        match self.item.basis {
            Basis::Volume => Some(format!("The content is {:.4} ± {:.4} g/ml, {}.", d.density, d.u, d.from.word())),
            Basis::Each => Some(format!("A piece weighs {:.2} ± {:.2} g, {}.", d.density, d.u, d.from.word())),
            // A gram is a gram; what a full one weighs is said by itself.
            Basis::Mass => None,
        }
    }

    fn heights(&self, vessel: &Vessel) -> Vec<HeightForm> {
        let Some(outline) = &vessel.outline else { return Vec::new() };
        let row = |tenths: u8| HeightForm {
            tenths,
            amount: self.item.size.times(tenths.into(), 10).0,
            height_um: (outline.height_of(f64::from(tenths) / 10.0) * 1_000.0).round() as i64,
        };
        (0..=10).map(row).collect()
    }

    /// What is known of the container, in words.
    fn known(&self, args: &Args, vessel: &Vessel) -> Vec<String> {
        let mut out = Vec::new();
        match vessel.empty {
            Some(empty) => out.push(format!(
                "An empty one weighs {:.0} ± {:.0} g; one differs from another by {:.0} g.",
                empty.weight / 1_000.0,
                empty.u / 1_000.0,
                empty.spread / 1_000.0
            )),
            None => out.push("What an empty one weighs is not known, so it cannot be weighed.".to_owned()),
        }
        match self.heaviness(vessel) {
            Some(said) => out.push(said),
            None if vessel.per_unit().is_some() => {}
            None => out.push("How heavy the content is is not known, so it cannot be weighed.".to_owned()),
        }
        if let Some(gross) = vessel.gross_of(self.item.size.as_f64()) {
            out.push(format!("A full one weighs about {:.0} g.", gross / 1_000.0));
        }
        if let Some(outline) = &vessel.outline {
            let (base, fill, top) = outline.marks();
            out.push(format!("Its liquid begins at {base:.0} mm; a full one stands at {fill:.0} mm of {top:.0} mm."));
        }
        if let Some(celsius) = args.temperature {
            out.push(match density::at(self.item.abv, self.item.sugar, celsius) {
                Some(density) => format!("At {celsius} °C the content is {:.4} g/ml, in vacuum.", density / 1_000.0),
                None => "Neither strength nor sugar is known, so nothing is said of the temperature.".to_owned(),
            });
        }
        out
    }

    fn json(
        &self,
        args: &Args,
        vessel: &Vessel,
        read: Option<(ReadingForm, Tally)>,
        heights: Vec<HeightForm>,
    ) -> Result<String, Refusal> {
        let litre = |g_per_ml: f64| (g_per_ml * 1e6).round() / 1e3;
        let density = vessel.density.filter(|_| self.item.basis == Basis::Volume);
        json::text(&Form {
            form: FORM,
            item: self.named.then(|| self.item.name.clone()),
            unit: json::unit(self.item.basis),
            size: self.item.size.0,
            reading: read.map(|(form, _)| form),
            empty_mg: vessel.empty.map(|e| json::whole(e.weight)),
            u_empty_mg: vessel.empty.map(|e| json::whole(e.u)),
            full_mg: vessel.gross_of(self.item.size.as_f64()).map(json::whole),
            density_g_per_l: density.map(|d| litre(d.density)),
            u_density_g_per_l: density.map(|d| litre(d.u)),
            density_from: vessel.density.map(|d| d.from.word()),
            celsius: args.temperature,
            heights,
        })
    }
}

fn scaled(amount: Amount, by: f64) -> Amount {
    Amount::rounded(amount.as_f64() * by)
}

impl Args {
    /// The shape that the options describe, if they describe one.
    fn outline(&self, size: Amount) -> Result<Option<Outline>, Refusal> {
        if let Some(shape) = self.shape {
            return Ok(Some(Outline::generic(shape, size)));
        }
        let m = &self.measured;
        let lengths = [m.body_diameter, m.body_height, m.shoulder_height, m.neck_diameter, m.neck_height];
        let section = if m.square { Section::Square } else { Section::Round };
        let measures = Measures::complete(section, m.base, lengths, m.fill_height);
        if measures.is_none() && self.filling.is_empty() {
            return Ok(None);
        }
        let mut fillings = self.filling.clone();
        fillings.sort_by_key(|f| f.height);
        let profile = Profile { id: ProfileId(1), name: String::new(), measures, fillings };
        Outline::fits(&profile, size).map(Some).map_err(|why| Refusal::new(format!("this is no container: {why}")))
    }
}
