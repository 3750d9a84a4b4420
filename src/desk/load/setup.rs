//! The set-up files: lines brought into the book under the name that is their key.

use super::{FileReport, Loader, Met, Touched};
use crate::desk::{DeskError, gauging, rows};
use crate::domain::gauge::Outline;
use crate::domain::measure::Quantity;
use crate::domain::venue::{
    DayEffect, Glass, Item, ItemId, ItemShape, Moment, Offer, Person, PlaceId, Setup, Shape, Shelf, SpecialDay,
    SpecialDayId, Supplier, TillMeaning, Venue, name_key,
};
use crate::exchange::plain::{
    DayRow, DrinkRow, Fault, FillingRow, Form, ItemRow, OfferRow, PlaceRow, Plain, PlainRow, PosRow, ProfileRow,
    RowEffect, ShelfRow, read_venue, venue_rows,
};
use crate::store::{StoreError, bills, journal, sales, setup as book, weighings};
use std::collections::{BTreeMap, HashMap};

/// The lines that the book would write of a file, by what tells them apart.
pub(super) type Known = HashMap<String, Vec<String>>;

/// Columns that, left empty, mean “as it was, or else next in the order of the file”.
const ORDERED: [&str; 2] = ["walk", "position"];

impl Loader<'_> {
    /// Reads all set-up files.
    pub(super) fn setup(&mut self) -> Result<(), DeskError> {
        self.venue()?;
        self.merge::<Person>(|loader, _, person| {
            // The same initials in another case are the same person, under the spelling that the book has.
            let initials = loader.names.people.get(&person.initials).unwrap_or_else(|| person.initials.clone());
            book::put_person(loader.conn, &Person { initials: initials.clone(), ..person })?;
            loader.names.people.put(&initials, initials.clone());
            Ok(true)
        })?;
        let mut walk = self.had.iter().flat_map(|s| &s.places).map(|p| p.walk).max().unwrap_or(0);
        self.merge::<PlaceRow>(|loader, _, place| {
            walk = place.walk.unwrap_or(walk + 1);
            let id = book::put_place(loader.conn, &place.place, walk)?;
            loader.names.places.put(&place.place, id);
            Ok(true)
        })?;
        self.merge::<Supplier>(|loader, _, supplier| {
            let id = book::put_supplier(loader.conn, &supplier)?;
            loader.names.suppliers.put(&supplier.name, id);
            Ok(true)
        })?;
        self.merge::<DayRow>(|loader, _, row| loader.special_day(row))?;
        self.merge::<ProfileRow>(|loader, line, row| {
            let id = book::put_profile(loader.conn, &row.profile, row.measures.as_ref())?;
            loader.changed.push((Plain::Profiles, line, Touched::Profile(id)));
            loader.names.profiles.put(&row.profile, id);
            Ok(true)
        })?;
        self.merge::<FillingRow>(|loader, line, row| {
            let Some(profile) = loader.names.profiles.get(&row.profile) else { return Ok(false) };
            book::put_filling(loader.conn, profile, row.filling)?;
            loader.changed.push((Plain::Fillings, line, Touched::Profile(profile)));
            Ok(true)
        })?;
        self.stock()?;
        self.shelves()?;
        self.merge::<OfferRow>(|loader, _, row| loader.offer(row))?;
        self.merge::<Glass>(|loader, _, glass| {
            book::put_glass(loader.conn, &glass)?;
            Ok(true)
        })?;
        self.merge::<DrinkRow>(|loader, _, row| {
            let id = book::put_drink(loader.conn, &row.drink)?;
            loader.names.drinks.put(&row.drink, id);
            book::put_menu(loader.conn, id, row.from, &row.menu)?;
            Ok(true)
        })?;
        self.specs()?;
        self.house()?;
        self.merge::<PosRow>(|loader, _, row| loader.till_name(&row))?;
        self.layouts()?;
        self.supplier_codes()?;
        self.supplier_names()?;
        self.written_in_the_book()
    }

    fn venue(&mut self) -> Result<(), DeskError> {
        let there = self.folder.has(Plain::Venue);
        let table = self.open(Plain::Venue)?;
        let had: Option<Venue> = self.had.as_ref().map(|s| s.venue.clone());
        let (venue, form, read) = read_venue(table, had.as_ref(), &mut self.faults)?;
        self.form = Form { until: self.form.until, ..form };
        let mut report = FileReport { read, ..FileReport::of(Plain::Venue) };
        if let Some(venue) = venue {
            if let Some(had) = had.as_ref().filter(|had| had.currency != venue.currency)
                && self.has_amounts()?
            {
                let expected =
                    say!("the book keeps its amounts in {currency}; expected the same", currency = had.currency);
                let read = venue.currency.code();
                let fault = Fault { read: Some(read.to_owned()), ..Fault::of_file(Plain::Venue.name(), expected) };
                self.fault(fault);
            }
            let before = had.as_ref().map(venue_rows);
            report.changed = before
                .as_ref()
                .map_or(0, |before| before.iter().zip(venue_rows(&venue)).filter(|(a, b)| *a != b).count() as u64);
            if had.as_ref() != Some(&venue) {
                book::put_venue(self.conn, &venue)?;
            }
            match before {
                None => report.added = read,
                Some(_) => report.already = read.saturating_sub(report.changed),
            }
        }
        if there { self.close(report) } else { Ok(()) }
    }

    /// Whether the book holds money, which another coin would give another worth.
    fn has_amounts(&self) -> Result<bool, StoreError> {
        let set_up = self.had.as_ref().is_some_and(|s| !s.offers.is_empty() || !s.drinks.is_empty());
        let billed =
            || Ok::<_, StoreError>(!bills::list(self.conn)?.is_empty() || !bills::claims(self.conn)?.is_empty());
        Ok(set_up
            || sales::last(self.conn)?.is_some()
            || billed()?
            || !journal::last_paid(self.conn, Moment(i64::MAX))?.is_empty())
    }

    /// What the book has of a file.
    pub(super) fn known(&self, file: Plain) -> Known {
        let Some(had) = &self.had else { return Known::new() };
        let rows = rows::setup_rows(had, file, &self.form);
        rows.into_iter().map(|cells| (crate::exchange::plain::key_of(file, &cells), cells)).collect()
    }

    /// Brings the lines of a file into the book. A column that the file does not have keeps what the book has; a line
    /// that says what the book says is left alone. `put` says whether it could keep a line.
    fn merge<R: PlainRow>(
        &mut self,
        mut put: impl FnMut(&mut Self, u64, R) -> Result<bool, DeskError>,
    ) -> Result<(), DeskError> {
        let Some(mut table) = self.open(R::FILE)? else { return Ok(()) };
        let known = self.known(R::FILE);
        let (mut report, mut met, before) = (FileReport::of(R::FILE), Met::default(), self.faults.count);
        let name = R::FILE.spec().columns[0].name;
        while let Some(cells) = table.next(&mut self.faults)? {
            report.read += 1;
            if let Some(had) = known.get(&cells.key()) {
                cells.fill(had, &ORDERED, R::UNSAID);
            }
            let line = cells.line();
            let Some(row) = cells.read::<R>(&self.form, &self.names, &mut self.faults) else {
                self.names.doubt(R::FILE, cells.get(name));
                continue;
            };
            let text = row.cells(&self.form);
            let key = crate::exchange::plain::key_of(R::FILE, &text);
            if let Some(fault) = met.again(R::FILE, line, key.clone()) {
                self.fault(fault);
                continue;
            }
            match known.get(&key) {
                Some(had) if *had == text => report.already += 1,
                had => match (put(self, line, row)?, had) {
                    (true, Some(_)) => report.changed += 1,
                    (true, None) => report.added += 1,
                    (false, _) => {}
                },
            }
            self.pace(&table, R::FILE, report.read)?;
        }
        if self.faults.count > before {
            self.doubtful.insert(R::FILE);
        }
        self.close(report)
    }

    fn stock(&mut self) -> Result<(), DeskError> {
        // Whose bar code each one is.
        let mut codes: HashMap<String, String> = HashMap::new();
        for item in self.had.iter().flat_map(|s| &s.items) {
            codes.extend(item.gtins.iter().map(|g| (g.key(), name_key(&item.name))));
        }
        self.merge::<ItemRow>(|loader, line, row| {
            let shape = match row.profile.as_deref() {
                None => None,
                Some(name) => match (Shape::parse(name), loader.names.profiles.get(name)) {
                    (Ok(shape), _) => Some(ItemShape::Generic(shape)),
                    (_, Some(id)) => Some(ItemShape::Own(id)),
                    // Its own line is wrong, which was said there.
                    (Err(_), None) => return Ok(false),
                },
            };
            let item = Item { shape, ..row.item };
            let key = name_key(&item.name);
            // The item's own codes are free for others from here on, unless it keeps them.
            codes.retain(|_, owner| *owner != key);
            for gtin in &item.gtins {
                if let Some(owner) = codes.insert(gtin.key(), key.clone()) {
                    let named = loader.names.items.spelled(&owner);
                    let expected = say!("this is the bar code of {named} already; expected each under one item", named);
                    loader.fault(Fault::of_cell(Plain::Stock, line, "gtin", &gtin.to_string(), expected));
                    return Ok(false);
                }
            }
            let had = loader.names.items.get(&item.name).and_then(|id| loader.names.item.get(&id));
            if let Some(had) = had.filter(|had| (had.basis, had.size) != (item.basis, item.size))
                && book::item_has_facts(loader.conn, had.id)?
            {
                let size = |item: &Item| Quantity { basis: item.basis, amount: item.size }.to_string();
                let expected = say!("{had} was counted or moved in containers of {had_2}; expected the same, or another name for the new size", had = had.name, had_2 = size(had));
                let fault = Fault::of_cell(Plain::Stock, line, "size", &size(&item), expected);
                loader.fault(fault);
                return Ok(false);
            }
            let reads = |item: &Item| Item {
                name: String::new(),
                par: None,
                par_from: None,
                gtins: Vec::new(),
                ..item.clone()
            };
            let changed = had.is_some_and(|had| reads(had) != reads(&item));
            let id = book::put_item(loader.conn, &item)?;
            loader.names.items.put(&item.name, id);
            loader.names.item.insert(id, Item { id, ..item });
            if changed {
                loader.changed.push((Plain::Stock, line, Touched::Item(id)));
            }
            Ok(true)
        })
    }

    /// Looks whether what was counted of the items that this folder changes can still be read, once all that tells how
    /// they are gauged is known.
    pub(super) fn still_read(&mut self) -> Result<(), DeskError> {
        // Of several lines that touch an item, the last is named.
        let mut touched: BTreeMap<ItemId, (Plain, u64)> = BTreeMap::new();
        for (file, line, what) in std::mem::take(&mut self.changed) {
            let is = |item: &&Item| match what {
                Touched::Item(id) => item.id == id,
                Touched::Profile(id) => item.shape == Some(ItemShape::Own(id)),
            };
            touched.extend(self.names.item.values().filter(is).map(|item| (item.id, (file, line))));
        }
        let weighings = if touched.is_empty() { Vec::new() } else { weighings::list(self.conn)? };
        for (id, (file, line)) in touched {
            let Some(item) = self.names.item.get(&id) else { continue };
            // Weighings that this folder adds were looked at already, each by itself.
            let weighings = if self.faults.is_empty() { &weighings[..] } else { &[] };
            let when = |at| self.form.days.plain(at);
            if let Some(said) = gauging::contradicted(self.conn, &self.names.gauges, weighings, item, when)? {
                self.fault(Fault::of_line(file, line, said));
            }
        }
        Ok(())
    }

    fn shelves(&mut self) -> Result<(), DeskError> {
        let mut last: HashMap<PlaceId, i64> = HashMap::new();
        for shelf in self.had.iter().flat_map(|s| &s.shelves) {
            let position = last.entry(shelf.place).or_default();
            *position = (*position).max(shelf.position);
        }
        self.merge::<ShelfRow>(|loader, _, row| {
            let place = loader.names.places.get(&row.place);
            let item = loader.names.items.get(&row.item);
            let (Some(place), Some(item)) = (place, item) else { return Ok(false) };
            let position = last.entry(place).or_default();
            *position = row.position.unwrap_or(*position + 1);
            book::put_shelf(loader.conn, &Shelf { place, item, position: *position, par: row.par })?;
            Ok(true)
        })
    }

    fn offer(&mut self, row: OfferRow) -> Result<bool, DeskError> {
        let supplier = self.names.suppliers.get(&row.supplier);
        let item = self.names.items.get(&row.item);
        let (Some(supplier), Some(item)) = (supplier, item) else { return Ok(false) };
        let offer = Offer {
            supplier,
            item,
            code: row.code,
            pack: row.pack,
            price: row.price,
            deposit: row.deposit,
            from: row.from,
            until: row.until,
            mixed: row.mixed,
        };
        book::put_offer(self.conn, &offer)?;
        Ok(true)
    }

    fn special_day(&mut self, row: DayRow) -> Result<bool, DeskError> {
        let supplier = |name: &str| self.names.suppliers.get(name);
        let effect = match &row.effect {
            RowEffect::Demand(factor) => Some(DayEffect::Demand(*factor)),
            RowEffect::SupplierClosed(name) => supplier(name).map(DayEffect::SupplierClosed),
            RowEffect::ExtraVan(name, by) => supplier(name).map(|supplier| DayEffect::ExtraVan { supplier, by: *by }),
        };
        // A supplier whose own line is wrong was told there.
        let Some(effect) = effect else { return Ok(false) };
        let day = SpecialDay { id: SpecialDayId::default(), days: row.days, what: row.what, effect };
        book::put_special_day(self.conn, &day)?;
        Ok(true)
    }

    fn till_name(&mut self, row: &PosRow) -> Result<bool, DeskError> {
        let means = match &row.drink {
            None if row.open => TillMeaning::Unknown,
            None => TillMeaning::Ignored,
            Some(drink) => {
                let Some(drink) = self.names.drinks.get(drink) else { return Ok(false) };
                TillMeaning::Drink { drink, portion: row.portion }
            }
        };
        let till = book::put_till(self.conn, &row.sold_as, means)?;
        if row.open {
            book::set_till(self.conn, till, means)?;
            let key = name_key(&row.sold_as);
            if !self.had.iter().flat_map(|s| &s.till).any(|t| name_key(&t.name) == key) {
                self.report.new_till_names.push(row.sold_as.clone());
            }
        }
        book::set_till_code(self.conn, till, row.code.as_deref())?;
        Ok(true)
    }

    /// Looks at the set-up as the folder leaves it: an item that changed may have made lines of the book unreadable
    /// that the folder does not even mention.
    fn written_in_the_book(&mut self) -> Result<(), DeskError> {
        match book::load_any(self.conn) {
            Ok((setup, unreadable)) => {
                self.shapes(&setup);
                self.offers.clone_from(&setup.offers);
                self.left = Some(setup);
                for line in unreadable {
                    // With other faults the lines that would have mended it may be missing.
                    if self.faults.is_empty() {
                        self.fault(Fault::of_file(Plain::Stock.name(), line.to_string()));
                    }
                }
                Ok(())
            }
            Err(StoreError::NotSetUp { .. }) => Ok(()),
            Err(other) => Err(other.into()),
        }
    }

    /// Looks at the shapes of containers as a whole: fillings make sense only together, and a shape only with the size of
    /// the items that have it.
    fn shapes(&mut self, setup: &Setup) {
        if !self.faults.is_empty() {
            return;
        }
        for profile in &setup.profiles {
            let file = if profile.fillings.is_empty() { Plain::Profiles } else { Plain::Fillings };
            let of = |item: &&Item| item.shape == Some(ItemShape::Own(profile.id));
            let wrong = match Outline::sound(profile) {
                Err(why) => Some(format!("“{}”: {why}", profile.name)),
                Ok(()) => setup.items.iter().filter(of).find_map(|item| {
                    let why = Outline::fits(profile, item.size).err()?;
                    Some(say!("“{profile}” of {name}: {why}", profile = profile.name, name = item.name, why))
                }),
            };
            if let Some(wrong) = wrong {
                self.fault(Fault::of_file(file.name(), wrong));
            }
        }
    }

    /// The item behind a handle.
    pub(super) fn item(&self, id: ItemId) -> Option<&Item> {
        self.names.item.get(&id)
    }
}
