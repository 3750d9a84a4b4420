//! Lists of items out of a spreadsheet, pasted or out of a file: looked at, and taken in whole.

use super::load::{bring, near};
use super::{DeskError, refused, rows, unwatched};
use crate::domain::measure::{Quantity, number_of};
use crate::domain::rows::{LineFault, LineLook, ListColumn, ListLook, PastedList, Taken, usual_size};
use crate::domain::venue::{CountBy, Deed, Item, Moment, Setup, name_key};
use crate::exchange::pasted::{self, Bottle, Known};
use crate::exchange::plain::{Fault, Faults, Folder, Form, Plain, PlainRow};
use crate::store::{Connection, Store, setup};
use std::collections::HashMap;
use std::path::Path;

/// The list in a text that was pasted.
///
/// # Errors
/// [`DeskError`]: there is no list in it, or one too long.
pub fn of_text(store: &Store, text: &str) -> Result<PastedList, DeskError> {
    let rows = pasted::rows(text).map_err(|why| refused(why.to_string()))?;
    Ok(pasted::list(rows, &known(store)?))
}

/// The same list, with what stands over its columns on this of its rows, or on none.
///
/// # Errors
/// [`DeskError`].
pub fn under(store: &Store, list: &PastedList, head: Option<usize>) -> Result<PastedList, DeskError> {
    let rows = list.heads.iter().cloned().chain(list.lines.iter().map(|line| line.cells.clone())).collect();
    let read = pasted::list_under(rows, head, &known(store)?);
    Ok(PastedList { kind: list.kind, place: list.place.clone(), supplier: list.supplier.clone(), ..read })
}

fn known(store: &Store) -> Result<Known, DeskError> {
    let setup = store.read(setup::load)?;
    let names = |of: &mut dyn Iterator<Item = &String>| of.cloned().collect::<Vec<_>>();
    Ok(Known {
        currency: setup.venue.currency,
        places: names(&mut setup.places.iter().map(|place| &place.name)),
        suppliers: names(&mut setup.suppliers.iter().map(|supplier| &supplier.name)),
    })
}

/// The list in a file that a spreadsheet wrote.
///
/// # Errors
/// As [`of_text`], and where the file cannot be read.
pub fn of_file(store: &Store, path: &Path) -> Result<PastedList, DeskError> {
    of_text(store, &pasted::file(path)?)
}

/// What a list comes to; nothing is kept.
///
/// # Errors
/// [`DeskError`].
pub fn look(store: &Store, list: &PastedList, now: Moment) -> Result<ListLook, DeskError> {
    let looked = store.write((Deed::SetUp, now), |conn| match put(conn, list, now) {
        Ok(look) | Err(Looked::Faults(look)) => Err::<(), _>(Looked::Faults(look)),
        Err(other) => Err(other),
    });
    match looked {
        Ok(()) => Ok(ListLook::default()),
        Err(Looked::Faults(look)) => Ok(look),
        Err(Looked::Failed(error)) => Err(error),
    }
}

/// Takes a list in: all of its lines that are taken, or, where anything is wrong with one of them, none.
///
/// # Errors
/// [`DeskError`].
pub fn take(store: &Store, list: &PastedList, now: Moment) -> Result<Result<ListLook, ListLook>, DeskError> {
    match store.write((Deed::SetUp, now), |conn| put(conn, list, now)) {
        Ok(look) => Ok(Ok(look)),
        Err(Looked::Faults(look)) => Ok(Err(look)),
        Err(Looked::Failed(error)) => Err(error),
    }
}

/// Why a list was not taken.
enum Looked {
    Faults(ListLook),
    Failed(DeskError),
}

impl<E: Into<DeskError>> From<E> for Looked {
    fn from(error: E) -> Looked {
        Looked::Failed(error.into())
    }
}

fn put(conn: &Connection, list: &PastedList, now: Moment) -> Result<ListLook, Looked> {
    let had = setup::load(conn)?;
    let mut reading = Reading::new(list, &had, now);
    reading.read();
    let Reading { files, from, mut look, prices, unowned, .. } = reading;
    if look.wrong() > 0 {
        return Err(Looked::Faults(look));
    }
    match bring(conn, &Folder::of_lines(&files), Some(had), Faults::default(), now, &mut unwatched) {
        Ok(report) => {
            if let Some(stock) = report.file(Plain::Stock) {
                (look.new, look.changed, look.already) = (stock.added, stock.changed, stock.already);
            }
            if prices > 0 {
                look.said.push(number_of(prices, word!("price"), word!("prices")));
            }
            if unowned > 0 {
                let prices = number_of(unowned, word!("price is"), word!("prices are"));
                look.said.push(say!("{prices} left out: no column says who asks them, and s says it for all", prices));
            }
            Ok(look)
        }
        Err(DeskError::Faults(faults)) => {
            for fault in &faults.list {
                told(&mut look, list, &from, fault);
            }
            Err(Looked::Faults(look))
        }
        Err(other) => Err(other.into()),
    }
}

/// Puts a fault of a file where the line of the list is that it comes from.
fn told(look: &mut ListLook, list: &PastedList, from: &HashMap<(Plain, usize), usize>, fault: &Fault) {
    let file = Plain::ALL.iter().find(|file| file.name() == fault.file);
    let line = fault.line.and_then(|line| usize::try_from(line).ok());
    let at = file.zip(line).and_then(|(file, line)| from.get(&(*file, line)));
    let column = fault.column.and_then(|column| {
        let meant = match column {
            "item" => &[ListColumn::Name][..],
            "kind" => &[ListColumn::Kind],
            "size" => &[ListColumn::Size],
            "abv" => &[ListColumn::Strength],
            "place" => &[ListColumn::Place],
            "par" => &[ListColumn::Par],
            "gtin" => &[ListColumn::BarCode],
            "supplier" => &[ListColumn::Supplier],
            "pack" => &[ListColumn::Pack],
            "price" => &[ListColumn::PackPrice, ListColumn::OnePrice],
            "code" => &[ListColumn::TheirNumber],
            _ => &[],
        };
        meant.iter().find_map(|column| list.at(*column))
    });
    match at.and_then(|at| look.lines.get_mut(*at)) {
        Some(line) => line.faults.push(LineFault { column, said: fault.expected.clone() }),
        None => look.said.push(fault.to_string()),
    }
}

/// A list as it becomes lines of files.
struct Reading<'a> {
    list: &'a PastedList,
    had: &'a Setup,
    form: Form,
    now: Moment,
    files: Vec<(Plain, Vec<Vec<String>>)>,
    /// Which line of the list each line of a file comes from.
    from: HashMap<(Plain, usize), usize>,
    /// Places and suppliers that are new, by the form in which names are compared.
    new: Vec<(Plain, String)>,
    look: ListLook,
    prices: usize,
    unowned: usize,
}

impl<'a> Reading<'a> {
    fn new(list: &'a PastedList, had: &'a Setup, now: Moment) -> Reading<'a> {
        let look = ListLook { lines: vec![LineLook::default(); list.lines.len()], ..ListLook::default() };
        Reading {
            list,
            had,
            form: Form::of(&had.venue),
            now,
            files: Vec::new(),
            from: HashMap::new(),
            new: Vec::new(),
            look,
            prices: 0,
            unowned: 0,
        }
    }

    fn read(&mut self) {
        let taken = |n: &usize| self.list.lines[*n].taken == Taken::Yes;
        let bottles: Vec<(usize, Bottle, Vec<LineFault>)> = (0..self.list.lines.len())
            .filter(taken)
            .map(|n| {
                let (bottle, faults) = pasted::bottle(self.list, n, self.had.venue.currency);
                (n, bottle, faults)
            })
            .collect();
        // Where no line says what one holds, each holds what is usual of its kind.
        let sized =
            bottles.iter().any(|(_, bottle, _)| bottle.size.is_some()) || self.list.at(ListColumn::Size).is_some();
        let mut met: HashMap<String, usize> = HashMap::new();
        for (n, bottle, faults) in bottles {
            self.look.lines[n].faults = faults;
            if let Some(first) = met.insert(name_key(&bottle.name), n).filter(|_| !bottle.name.is_empty()) {
                self.wrong(
                    n,
                    ListColumn::Name,
                    say!("the same name as on line {what}; expected it once", what = first + 1),
                );
            }
            self.line(n, &bottle, sized);
        }
        if self.look.lines.iter().all(|line| line.understood.is_empty() && line.faults.is_empty()) {
            self.look.said.push(word!("no line of it is taken").to_owned());
        }
    }

    fn wrong(&mut self, at: usize, column: ListColumn, said: String) {
        let column = self.list.at(column);
        self.look.lines[at].faults.push(LineFault { column, said });
    }

    fn put(&mut self, file: Plain, at: usize, cells: Vec<String>) {
        let known = self.files.iter().position(|(other, _)| *other == file);
        let place = known.unwrap_or_else(|| {
            self.files.push((file, Vec::new()));
            self.files.len() - 1
        });
        let lines = &mut self.files[place].1;
        lines.push(cells);
        // The head is the first line.
        self.from.insert((file, lines.len() + 1), at);
    }

    fn line(&mut self, at: usize, bottle: &Bottle, sized: bool) {
        if bottle.name.is_empty() {
            return;
        }
        let known: Option<&'a Item> = self.had.item_by_name(&bottle.name);
        self.look.lines[at].known = known.is_some();
        let kind = bottle.kind.or(known.map(|item| item.kind)).unwrap_or(self.list.kind);
        let usual = (!sized).then(|| usual_size(kind, self.had.venue.volume));
        let held = known.map(|item| Quantity { basis: item.basis, amount: item.size });
        let Some(size) = bottle.size.or(held).or(usual) else {
            // What is wrong with its cell was told there.
            if self.look.lines[at].faults.is_empty() {
                self.wrong(at, ListColumn::Size, word!("expected what one holds, such as 700 ml").to_owned());
            }
            return;
        };
        let spec = Plain::Stock.spec();
        let mut cells = match known {
            Some(item) => rows::item_row(self.had, item).cells(&self.form),
            None => vec![String::new(); spec.columns.len()],
        };
        let count_by = match known {
            Some(item) => item.count_by,
            None if size.basis == crate::domain::measure::Basis::Each => CountBy::Whole,
            None => CountBy::Tenths,
        };
        let mut set = |column: &str, text: Option<String>| {
            if let (Some(n), Some(text)) = (spec.column(column), text) {
                cells[n] = text;
            }
        };
        // A name that the book spells otherwise stays as it is there.
        set("item", Some(known.map_or_else(|| bottle.name.clone(), |item| item.name.clone())));
        set("kind", Some(kind.word().to_owned()));
        set("size", Some(size.to_string()));
        set("count_by", Some(count_by.word().to_owned()));
        set("abv", bottle.abv.clone());
        set("par", bottle.par.clone());
        set("gtin", bottle.gtin.clone());
        let name = cells[0].clone();
        self.put(Plain::Stock, at, cells);
        let show = self.had.venue.show();
        let mut understood = vec![name.clone(), kind.word().to_owned(), show.label(size.basis, size.amount)];
        understood.extend(bottle.abv.as_ref().map(|abv| say!("{abv} % vol", abv)));
        self.spots(at, &name, bottle, &mut understood);
        understood.extend(bottle.par.as_ref().map(|par| say!("par {par}", par)));
        self.offer(at, &name, known, bottle, &mut understood);
        understood.extend(bottle.gtin.clone());
        self.look.lines[at].understood = understood;
    }

    fn spots(&mut self, at: usize, name: &str, bottle: &Bottle, understood: &mut Vec<String>) {
        for place in &bottle.places {
            let known: Vec<&str> = self.had.places.iter().map(|place| place.name.as_str()).collect();
            if !self.introduced(Plain::Places, place, &known) {
                if let Some(near) = near(place, known.iter().copied()) {
                    let said = say!("no place is called “{place}”: did you mean “{near}”?", place, near);
                    return self.wrong(at, ListColumn::Place, said);
                }
                self.put(Plain::Places, at, vec![place.clone(), String::new()]);
                self.look.said.push(say!("{place} is a new place", place));
                self.new.push((Plain::Places, name_key(place)));
            }
            self.put(Plain::Shelves, at, vec![place.clone(), name.to_owned(), String::new(), String::new()]);
        }
        if !bottle.places.is_empty() {
            understood.push(say!("in {places}", places = bottle.places.join(", ")));
        }
    }

    /// Whether a name is one of the book, or of an earlier line.
    fn introduced(&self, file: Plain, name: &str, known: &[&str]) -> bool {
        let key = name_key(name);
        known.iter().any(|known| name_key(known) == key) || self.new.iter().any(|(of, new)| *of == file && *new == key)
    }

    fn offer(&mut self, at: usize, name: &str, known: Option<&Item>, bottle: &Bottle, understood: &mut Vec<String>) {
        let Some(price) = &bottle.price else { return };
        let Some(supplier) = &bottle.supplier else {
            self.unowned += 1;
            return;
        };
        let suppliers: Vec<&str> = self.had.suppliers.iter().map(|supplier| supplier.name.as_str()).collect();
        if !self.introduced(Plain::Suppliers, supplier, &suppliers) {
            if let Some(near) = near(supplier, suppliers.iter().copied()) {
                let said = say!("no supplier is called “{supplier}”: did you mean “{near}”?", supplier, near);
                return self.wrong(at, ListColumn::Supplier, said);
            }
            let mut cells = vec![String::new(); Plain::Suppliers.spec().columns.len()];
            cells[0].clone_from(supplier);
            self.put(Plain::Suppliers, at, cells);
            self.look.said.push(say!("{supplier} is a new supplier", supplier));
            self.new.push((Plain::Suppliers, name_key(supplier)));
        }
        let pack = bottle.pack.unwrap_or(1);
        let today = self.had.venue.days.day_of(self.now);
        let asked = known.map(|item| self.had.offers_for(item.id, today)).unwrap_or_default();
        let same = asked.iter().find(|offer| {
            let theirs = self.had.supplier(offer.supplier).is_some_and(|s| name_key(&s.name) == name_key(supplier));
            theirs && offer.pack == pack
        });
        let is_asked = same.is_some_and(|offer| {
            self.form.money(offer.price) == *price && (bottle.code.is_none() || offer.code == bottle.code)
        });
        understood.push(say!("{pack} for {price} from {supplier}", pack, price, supplier));
        if is_asked {
            return;
        }
        self.prices += 1;
        // What was asked before today stays for the days before.
        let from = known.filter(|item| self.had.offers.iter().any(|offer| offer.item == item.id)).map(|_| today);
        let spec = Plain::Offers.spec();
        let mut cells = match same {
            Some(offer) => rows::offer_row(self.had, offer).cells(&self.form),
            None => vec![String::new(); spec.columns.len()],
        };
        let mut set = |column: &str, text: String| {
            if let Some(n) = spec.column(column) {
                cells[n] = text;
            }
        };
        set("supplier", supplier.clone());
        set("item", name.to_owned());
        set("pack", pack.to_string());
        set("price", price.clone());
        set("from", from.map(|day| day.to_string()).unwrap_or_default());
        if let Some(code) = &bottle.code {
            set("code", code.clone());
        }
        self.put(Plain::Offers, at, cells);
    }
}
