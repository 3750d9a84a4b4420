//! Names of a folder found in the folder and the book.

use crate::domain::drink::amount_of;
use crate::domain::gauge::{Entry, Gauges};
use crate::domain::measure::SmallMeasures;
use crate::domain::venue::{CountId, DrinkId, Item, ItemId, PlaceId, ProfileId, Setup, Shape, SupplierId, name_key};
use crate::exchange::plain::{NameBook, Plain};
use std::collections::HashMap;

/// One sort of name.
#[derive(Debug)]
pub(super) struct Register<Id> {
    /// The file that introduces it.
    file: Plain,
    /// What it is, in words.
    what: &'static str,
    /// As it is spelled, and its handle; none for one whose own line is wrong.
    known: HashMap<String, (String, Option<Id>)>,
    /// The same by its spelling alone, which files of a million lines mostly keep to.
    exact: HashMap<String, Id>,
    /// Whether the whole file that introduces them could not be read.
    doubtful: bool,
}

impl<Id: Clone> Register<Id> {
    fn new<'n>(file: Plain, what: &'static str, known: impl Iterator<Item = (&'n str, Id)>) -> Register<Id> {
        let mut register = Register { file, what, known: HashMap::new(), exact: HashMap::new(), doubtful: false };
        known.for_each(|(name, id)| register.put(name, id));
        register
    }

    pub(super) fn put(&mut self, name: &str, id: Id) {
        self.known.insert(name_key(name), (name.to_owned(), Some(id.clone())));
        self.exact.insert(name.to_owned(), id);
    }

    /// Remembers a name whose line is wrong, so that lines that name it are not reported as well.
    pub(super) fn doubt(&mut self, name: &str) {
        self.known.entry(name_key(name)).or_insert((name.to_owned(), None));
    }

    /// The handle of a name; nothing for one that is not known, or whose own line is wrong.
    pub(super) fn get(&self, name: &str) -> Option<Id> {
        match self.exact.get(name) {
            Some(id) => Some(id.clone()),
            None => self.known.get(&name_key(name)).and_then(|(_, id)| id.clone()),
        }
    }

    /// A name as it is spelled, from the form in which names are compared.
    pub(super) fn spelled<'s>(&'s self, key: &'s str) -> &'s str {
        self.known.get(key).map_or(key, |(spelled, _)| spelled)
    }

    /// What was expected instead of a name that neither folder nor book has.
    fn refuse(&self, name: &str) -> Option<String> {
        if self.doubtful || self.exact.contains_key(name) || self.known.contains_key(&name_key(name)) {
            return None;
        }
        let mut expected = say!("expected {what} of {file}", what = self.what, file = self.file.name());
        if let Some(near) = self.near(name) {
            expected.push_str(&say!("; did you mean “{near}”?", near));
        }
        Some(expected)
    }

    /// As [`Register::get`] where a name may be left out.
    pub(super) fn maybe(&self, name: Option<&str>) -> Option<Option<Id>> {
        match name {
            None => Some(None),
            Some(name) => self.get(name).map(Some),
        }
    }

    /// The known name that is a slip or two away.
    fn near(&self, name: &str) -> Option<&str> {
        near(name, self.known.values().map(|(spelled, _)| spelled.as_str()))
    }
}

/// The one of some names that is a slip or two away from what was written.
pub(in crate::desk) fn near<'n>(name: &str, known: impl Iterator<Item = &'n str>) -> Option<&'n str> {
    let wanted = name_key(name);
    let slips = (wanted.chars().count() / 4).min(2);
    let names = known.map(|spelled| (slips_between(&wanted, &name_key(spelled)), spelled));
    names.filter(|(n, _)| *n <= slips).min_by_key(|(n, spelled)| (*n, name_key(spelled))).map(|(_, spelled)| spelled)
}

/// Letters to put in, take out or exchange to make one text of another (Levenshtein 1966).
fn slips_between(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, x) in a.chars().enumerate() {
        let mut before = i;
        row[0] = i + 1;
        for (j, y) in b.iter().enumerate() {
            let here = (before + usize::from(x != *y)).min(row[j] + 1).min(row[j + 1] + 1);
            before = row[j + 1];
            row[j + 1] = here;
        }
    }
    row[b.len()]
}

/// Every sort of name.
pub(super) struct Names {
    pub(super) people: Register<String>,
    pub(super) places: Register<PlaceId>,
    pub(super) suppliers: Register<SupplierId>,
    pub(super) items: Register<ItemId>,
    pub(super) drinks: Register<DrinkId>,
    pub(super) profiles: Register<ProfileId>,
    /// Those of book and folder, once the counts of the folder are read.
    pub(super) counts: Register<CountId>,
    /// How readings of the items are to be understood, once that is known.
    pub(super) gauges: Gauges,
    /// The items themselves, as the folder leaves them.
    pub(super) item: HashMap<ItemId, Item>,
}

impl Names {
    pub(super) fn new(had: Option<&Setup>) -> Names {
        let each = |setup: Option<&Setup>| setup.map(|s| s.items.clone()).unwrap_or_default();
        let people = had.into_iter().flat_map(|s| &s.people).map(|p| (p.initials.as_str(), p.initials.clone()));
        Names {
            people: Register::new(Plain::People, word!("initials"), people),
            places: Register::new(
                Plain::Places,
                word!("a place"),
                had.into_iter().flat_map(|s| &s.places).map(|p| (p.name.as_str(), p.id)),
            ),
            suppliers: Register::new(
                Plain::Suppliers,
                word!("a supplier"),
                had.into_iter().flat_map(|s| &s.suppliers).map(|s| (s.name.as_str(), s.id)),
            ),
            items: Register::new(
                Plain::Stock,
                word!("an item"),
                had.into_iter().flat_map(|s| &s.items).map(|i| (i.name.as_str(), i.id)),
            ),
            drinks: Register::new(
                Plain::Drinks,
                word!("a drink"),
                had.into_iter().flat_map(|s| &s.drinks).map(|d| (d.name.as_str(), d.id)),
            ),
            profiles: Register::new(
                Plain::Profiles,
                word!("round, square, dumpy or a profile"),
                had.into_iter().flat_map(|s| &s.profiles).map(|p| (p.name.as_str(), p.id)),
            ),
            counts: Register::new(Plain::Counts, word!("a count"), std::iter::empty()),
            gauges: Gauges::default(),
            item: each(had).into_iter().map(|i| (i.id, i)).collect(),
        }
    }

    /// A name whose own line is wrong.
    pub(super) fn doubt(&mut self, file: Plain, name: &str) {
        match file {
            Plain::People => self.people.doubt(name),
            Plain::Places => self.places.doubt(name),
            Plain::Suppliers => self.suppliers.doubt(name),
            Plain::Stock => self.items.doubt(name),
            Plain::Drinks => self.drinks.doubt(name),
            Plain::Profiles => self.profiles.doubt(name),
            Plain::Counts => self.counts.doubt(name),
            _ => {}
        }
    }

    /// The file that introduces some names could not be read at all.
    pub(super) fn doubt_all(&mut self, file: Plain) {
        match file {
            Plain::People => self.people.doubtful = true,
            Plain::Places => self.places.doubtful = true,
            Plain::Suppliers => self.suppliers.doubtful = true,
            Plain::Stock => self.items.doubtful = true,
            Plain::Drinks => self.drinks.doubtful = true,
            Plain::Profiles => self.profiles.doubtful = true,
            Plain::Counts => self.counts.doubtful = true,
            _ => {}
        }
    }
}

impl NameBook for Names {
    fn refuse_name(&self, file: Plain, name: &str) -> Option<String> {
        match file {
            Plain::People => self.people.refuse(name),
            Plain::Places => self.places.refuse(name),
            Plain::Suppliers => self.suppliers.refuse(name),
            Plain::Stock => self.items.refuse(name),
            Plain::Drinks => self.drinks.refuse(name),
            Plain::Profiles if Shape::parse(name).is_ok() => None,
            Plain::Profiles => self.profiles.refuse(name),
            Plain::Counts => self.counts.refuse(name),
            _ => None,
        }
    }

    fn refuse_amount(&self, item: &str, written: &str, small: &SmallMeasures) -> Option<String> {
        let item = self.item.get(&self.items.get(item)?)?;
        amount_of(item, written, small).err().map(|e| e.to_string())
    }

    fn refuse_entry(&self, item: &str, entry: &Entry) -> Option<String> {
        let item = self.item.get(&self.items.get(item)?)?;
        self.gauges.check_kept(item, entry).err().map(|e| e.to_string())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_misspelt_name_is_met_with_the_right_one() {
        for (a, b, want) in [("gin", "gin", 0), ("gim", "gin", 1), ("vermuth", "vermouth", 1), ("", "rum", 3)] {
            assert_eq!(slips_between(a, b), want, "{a} {b}");
        }
        let known = [("Dry vermouth", 1), ("Rum", 2)];
        let register: Register<i32> = Register::new(Plain::Stock, "an item", known.into_iter());
        assert_eq!(register.near("Dry Vermuth"), Some("Dry vermouth"));
        assert_eq!(register.near("Rym"), None);
        let says = register.refuse("dry vermuth");
        assert_eq!(says.as_deref(), Some("expected an item of stock.csv; did you mean “Dry vermouth”?"));
        assert_eq!(register.refuse(" RUM "), None);
    }
}
