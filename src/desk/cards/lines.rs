//! What is written on a card as lines of plain files, and the faults of those lines back on the card.

use super::reading::now_asked;
use crate::desk::DeskError;
use crate::domain::measure::decimal;
use crate::domain::rows::{Card, CardFault, CardLine, CardOf, Fills, typed_size};
use crate::domain::venue::{ItemId, Moment, Offer, PlaceId, Setup, SpecialDayId, name_key};
use crate::exchange::plain::{Fault, Faults, Folder, Form, Plain, PlainRow};
use crate::store::{Connection, setup};
use crate::words::Language;
use chrono::NaiveDate;
use std::collections::HashMap;

/// A card as lines of files.
pub(super) struct Written {
    files: Vec<(Plain, Vec<Vec<String>>)>,
    /// Which part of the card each line is.
    from: HashMap<(Plain, usize), From>,
    /// Spots, offers and days that go.
    spots: Vec<(PlaceId, ItemId)>,
    offers: Vec<Offer>,
    day: Option<SpecialDayId>,
    /// What a person should know.
    pub(super) said: Vec<String>,
}

/// Where a line comes from.
#[derive(Clone, Copy, Debug)]
enum From {
    /// From these fields, each a column.
    Line(CardLine),
    /// From one field alone.
    Field(usize),
}

impl Written {
    /// The lines of a card; `had` is what the book has, the card's name brought up to date.
    pub(super) fn of(card: &Card, had: &Setup, now: Moment) -> Result<Written, Vec<CardFault>> {
        let mut written = Written {
            files: Vec::new(),
            from: HashMap::new(),
            spots: Vec::new(),
            offers: Vec::new(),
            day: None,
            said: Vec::new(),
        };
        let texts = texts(card, had)?;
        let text = |line: CardLine, column: &str| card.at(line, column).map_or("", |n| texts[n].as_str());
        let all = |file: Plain, line: CardLine| -> Vec<String> {
            file.spec().columns.iter().map(|column| text(line, column.name).to_owned()).collect()
        };
        match card.of {
            CardOf::Bar => {
                for (n, (field, was)) in card.fields.iter().zip(&card.was).enumerate() {
                    if texts[n] != *was {
                        written.line(Plain::Venue, From::Field(n), vec![field.ask.column.to_owned(), texts[n].clone()]);
                    }
                }
            }
            CardOf::Place => {
                let cells = all(Plain::Places, CardLine::Place);
                written.line(Plain::Places, From::Line(CardLine::Place), cells);
            }
            CardOf::Supplier => {
                let cells = all(Plain::Suppliers, CardLine::Supplier);
                written.line(Plain::Suppliers, From::Line(CardLine::Supplier), cells);
            }
            CardOf::Day => {
                // Its day and name tell it apart, so that it goes and comes again.
                written.day = card.id.map(SpecialDayId);
                written.line(Plain::Days, From::Line(CardLine::Day), all(Plain::Days, CardLine::Day));
            }
            CardOf::Item => {
                written.line(Plain::Stock, From::Line(CardLine::Stock), all(Plain::Stock, CardLine::Stock));
                written.shelves(card, had, text(CardLine::Spots, "places"))?;
                written.asked(card, had, now, &all)?;
            }
        }
        Ok(written)
    }

    fn line(&mut self, file: Plain, from: From, cells: Vec<String>) {
        let at = match self.files.iter().position(|(other, _)| *other == file) {
            Some(at) => at,
            None => {
                self.files.push((file, Vec::new()));
                self.files.len() - 1
            }
        };
        self.files[at].1.push(cells);
        // The head is the first line.
        self.from.insert((file, self.files[at].1.len() + 1), from);
    }

    /// The spots of an item.
    fn shelves(&mut self, card: &Card, had: &Setup, written: &str) -> Result<(), Vec<CardFault>> {
        let at = card.at(CardLine::Spots, "places");
        let name = card.named();
        let known: Vec<&str> = had.places.iter().map(|place| place.name.as_str()).collect();
        let mut met = Vec::new();
        // A comma in brackets is one of a figure.
        let mut inside = false;
        let apart = |c: char| {
            inside = matches!((c, inside), ('(', _) | (_, true)) && c != ')';
            c == ',' && !inside
        };
        for part in written.split(apart).map(str::trim).filter(|part| !part.is_empty()) {
            let (place, par) = match part.strip_suffix(')').and_then(|part| part.rsplit_once('(')) {
                Some((place, par)) => (place.trim(), decimal::pointed(par)),
                None => (part, String::new()),
            };
            let field = at.map_or(From::Line(CardLine::Spots), From::Field);
            let key = name_key(place);
            if met.contains(&key) {
                return Err(vec![CardFault { field: at, said: say!("“{place}” is there twice", place) }]);
            }
            met.push(key.clone());
            match known.iter().find(|known| name_key(known) == key) {
                Some(_) => {}
                None => {
                    unlike(place, &known, word!("place")).map_err(|said| vec![CardFault { field: at, said }])?;
                    self.line(Plain::Places, field, vec![place.to_owned(), String::new()]);
                    self.said.push(say!("{place} is a new place, last in the walk", place));
                }
            }
            self.line(Plain::Shelves, field, vec![place.to_owned(), name.to_owned(), String::new(), par]);
        }
        let item = card.id.map(ItemId);
        let gone = had.shelves.iter().filter(|shelf| Some(shelf.item) == item);
        let gone = gone.filter(|shelf| !met.contains(&name_key(had.place_name(shelf.place))));
        self.spots = gone.map(|shelf| (shelf.place, shelf.item)).collect();
        Ok(())
    }

    /// What suppliers ask from now on. A price that was asked before today stays for the days before.
    fn asked(
        &mut self,
        card: &Card,
        had: &Setup,
        now: Moment,
        all: &impl Fn(Plain, CardLine) -> Vec<String>,
    ) -> Result<(), Vec<CardFault>> {
        let form = Form::of(&had.venue);
        let today = had.venue.days.day_of(now);
        let item = card.id.map(ItemId);
        let before: Vec<&Offer> = item.map(|item| now_asked(had, item, today)).unwrap_or_default();
        let never = item.is_none_or(|item| !had.offers.iter().any(|offer| offer.item == item));
        let suppliers: Vec<&str> = had.suppliers.iter().map(|supplier| supplier.name.as_str()).collect();
        let column = |name: &str| Plain::Offers.spec().column(name).unwrap_or(0);
        let known = |name: &str| suppliers.iter().find(|known| name_key(known) == name_key(name));
        let mut new = Vec::new();
        for (n, line) in
            (0..).map(|n| (n, CardLine::Offer(n))).take_while(|(_, line)| card.at(*line, "supplier").is_some())
        {
            if !card.changed(line) {
                continue;
            }
            let mut cells = all(Plain::Offers, line);
            cells[column("item")] = card.named().to_owned();
            let (supplier, pack) = (cells[column("supplier")].clone(), cells[column("pack")].clone());
            let offer = before.get(n).copied();
            let wanted = ["supplier", "pack", "price", "code", "deposit", "mixed"];
            if wanted.iter().all(|name| cells[column(name)].is_empty()) || (offer.is_some() && supplier.is_empty()) {
                if let Some(offer) = offer {
                    self.end(had, offer, today, &form);
                }
                continue;
            }
            if !supplier.is_empty() && known(&supplier).is_none() && !new.contains(&name_key(&supplier)) {
                let at = card.at(line, "supplier");
                unlike(&supplier, &suppliers, word!("supplier")).map_err(|said| vec![CardFault { field: at, said }])?;
                let mut cells = vec![String::new(); Plain::Suppliers.spec().columns.len()];
                cells[0].clone_from(&supplier);
                self.line(Plain::Suppliers, From::Line(line), cells);
                self.said.push(say!("{supplier} is a new supplier: P has what else to say of them", supplier));
                new.push(name_key(&supplier));
            }
            let is = |offer: &Offer| {
                let same = had.supplier(offer.supplier).is_some_and(|s| name_key(&s.name) == name_key(&supplier));
                same && offer.pack.to_string() == pack
            };
            let asked =
                |name: &str| card.at(line, name).is_some_and(|n| all(Plain::Offers, line)[column(name)] != card.was[n]);
            let from = match offer {
                // Another supplier or pack: what was asked before ends.
                Some(offer) if !is(offer) => {
                    self.end(had, offer, today, &form);
                    Some(today)
                }
                // Another price from today on; its number and its case are no price.
                Some(offer) if asked("price") || asked("deposit") => {
                    let begun_today = offer.from == Some(today);
                    if begun_today { offer.from } else { Some(today) }
                }
                Some(offer) => offer.from,
                None if never => None,
                None => Some(today),
            };
            cells[column("from")] = from.map(|day| day.to_string()).unwrap_or_default();
            cells[column("until")] = String::new();
            self.line(Plain::Offers, From::Line(line), cells);
        }
        Ok(())
    }

    /// What was asked until yesterday stays known; what began today was never asked.
    fn end(&mut self, had: &Setup, offer: &Offer, today: NaiveDate, form: &Form) {
        let same =
            |other: &&Offer| (other.supplier, other.item, other.pack) == (offer.supplier, offer.item, offer.pack);
        let began_before = |other: &&Offer| other.from.is_none_or(|from| from < today);
        self.offers.extend(had.offers.iter().filter(same).filter(|other| other.from == Some(today)).cloned());
        let last = had.offers.iter().filter(same).filter(began_before).max_by_key(|other| other.from);
        if let (Some(last), Some(yesterday)) = (last, today.pred_opt()) {
            let until = last.until.map_or(yesterday, |until| until.min(yesterday));
            let ended = Offer { until: Some(until), ..last.clone() };
            let cells = crate::desk::rows::offer_row(had, &ended).cells(form);
            self.line(Plain::Offers, From::Line(CardLine::Stock), cells);
        }
    }

    /// The spots that are given up.
    pub(super) fn spots(&self) -> &[(PlaceId, ItemId)] {
        &self.spots
    }

    /// Takes away what is not on the card any more.
    pub(super) fn take_away(&self, conn: &Connection) -> Result<(), DeskError> {
        for (place, item) in &self.spots {
            setup::drop_shelf(conn, *place, *item)?;
        }
        for offer in &self.offers {
            setup::drop_offer(conn, offer)?;
        }
        if let Some(day) = self.day {
            setup::drop_special_day(conn, day)?;
        }
        Ok(())
    }

    /// The lines as a folder of files.
    pub(super) fn folder(&self) -> Folder {
        Folder::of_lines(&self.files)
    }

    /// What is wrong with the lines, where it stands on the card.
    pub(super) fn faults(&self, card: &Card, faults: &Faults) -> Vec<CardFault> {
        let of = |fault: &Fault| {
            let file = Plain::ALL.iter().find(|file| file.name() == fault.file)?;
            match self.from.get(&(*file, usize::try_from(fault.line?).ok()?))? {
                From::Field(n) => Some(*n),
                From::Line(line) => card.at(*line, fault.column?),
            }
        };
        // Whoever is at a screen has no files.
        let without_files = |said: &str| {
            Plain::ALL.iter().fold(said.to_owned(), |said, file| said.replace(&format!(" of {}", file.name()), ""))
        };
        let said = |fault: &Fault| CardFault { field: of(fault), said: without_files(&fault.expected) };
        faults.list.iter().map(said).collect()
    }
}

/// What is written in the fields, in the form in which the files have it.
fn texts(card: &Card, had: &Setup) -> Result<Vec<String>, Vec<CardFault>> {
    let mut faults = Vec::new();
    let mut texts = Vec::with_capacity(card.fields.len());
    for (n, field) in card.fields.iter().enumerate() {
        let text = field.text.trim();
        texts.push(match field.ask.fills {
            _ if text.is_empty() => String::new(),
            // As it is called, in the country that was said before.
            Fills::Text if field.ask.column == "language" => match Language::named(text) {
                Some(language) => language.in_the_country_of(&had.venue.language),
                None => text.to_owned(),
            },
            Fills::Text | Fills::Choice(_) => text.to_owned(),
            Fills::Amount => decimal::pointed(text),
            Fills::Figure => decimal::pointed(text).trim_end_matches('%').trim().to_owned(),
            Fills::Size => match typed_size(text, &had.venue) {
                Ok(size) => size.to_string(),
                Err(said) => {
                    faults.push(CardFault { field: Some(n), said });
                    String::new()
                }
            },
        });
    }
    if faults.is_empty() { Ok(texts) } else { Err(faults) }
}

/// Whether a name that is new is no slip of one that is known.
fn unlike(name: &str, known: &[&str], what: &str) -> Result<(), String> {
    match crate::desk::load::near(name, known.iter().copied()) {
        Some(near) => Err(say!("no {what} is called “{name}”: did you mean “{near}”?", what, name, near)),
        None => Ok(()),
    }
}
