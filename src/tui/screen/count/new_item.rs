//! A bottle that the book does not know yet, taken in as one comes to it: what it is called and what one holds. The rest can
//! come later.

use crate::domain::measure::{Basis, Quantity, Strength, decimal};
use crate::domain::rows::{typed_size, usual_size};
use crate::domain::venue::{CountBy, Gtin, Item, ItemId, Kind, PlaceId, Setup};
use crate::tui::screen::asking::{Asked, Asking, Cell};
use crate::tui::widget::field::Field;
use crate::words;
use std::sync::Arc;

/// The fields.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Of {
    Name,
    Kind,
    Size,
    Strength,
    Code,
}

/// What another one most likely is: of the kind that most of its place are, and of the size that most of that kind have,
/// there or else in the whole bar. Of two that are as many, the one that the book had first.
fn likely(setup: &Setup, place: PlaceId) -> (Kind, Quantity) {
    let here = || setup.shelves.iter().filter(|shelf| shelf.place == place).filter_map(|shelf| setup.item(shelf.item));
    let kind = most(here().map(|item| item.kind)).unwrap_or(Kind::Spirit);
    let size = most(here().filter(|item| item.kind == kind).map(size_of));
    (kind, size.unwrap_or_else(|| likely_size(setup, kind)))
}

/// What most of a kind hold in this bar, or what is usual in the trade where it has none yet.
fn likely_size(setup: &Setup, kind: Kind) -> Quantity {
    let of_kind = setup.items.iter().filter(|item| item.kind == kind).map(size_of);
    most(of_kind).unwrap_or_else(|| usual_size(kind, setup.venue.volume))
}

fn size_of(item: &Item) -> Quantity {
    Quantity { basis: item.basis, amount: item.size }
}

/// What comes most often; the first of those that come as often.
fn most<T: PartialEq>(all: impl Iterator<Item = T>) -> Option<T> {
    let mut times: Vec<(T, usize)> = Vec::new();
    for one in all {
        match times.iter_mut().find(|(had, _)| *had == one) {
            Some((_, many)) => *many += 1,
            None => times.push((one, 1)),
        }
    }
    times.into_iter().rev().max_by_key(|(_, many)| *many).map(|(one, _)| one)
}

/// An item as far as it is written.
#[derive(Debug)]
pub(super) struct NewItem {
    name: Field,
    kind: usize,
    size: Field,
    strength: Field,
    code: Field,
    /// The size that was filled in, as long as nobody typed another, and the kind that it goes with.
    given: (Kind, Quantity),
    kinds: Vec<&'static str>,
    /// What the book has already.
    setup: Arc<Setup>,
}

impl NewItem {
    /// A form that begins with what was looked for, and with the bar code that was scanned in vain.
    pub(super) fn asking(setup: Arc<Setup>, name: &str, code: Option<&str>, place: PlaceId) -> Asking<NewItem> {
        let given = likely(&setup, place);
        let form = NewItem {
            name: Field::with(60, name.trim()),
            kind: Kind::ALL.iter().position(|kind| *kind == given.0).unwrap_or(0),
            size: Field::with(14, &given.1.to_string()),
            given,
            strength: Field::new(6),
            code: Field::with(14, code.unwrap_or_default()),
            kinds: Kind::ALL.iter().map(|kind| kind.word()).collect(),
            setup,
        };
        // What was typed to find it is its name.
        let first = if name.trim().is_empty() { Of::Name } else { Of::Kind };
        Asking::new(form, first)
    }

    fn name(&self) -> Result<String, String> {
        let name = self.name.text().trim();
        if name.is_empty() {
            return Err(word!("What it is called here: Harbour gin").to_owned());
        }
        match self.setup.item_by_name(name) {
            Some(known) => Err(say!(
                "there is an item called {known} already: Esc, and choose it from the list",
                known = known.name
            )),
            None => Ok(name.to_owned()),
        }
    }

    fn kind(&self) -> Kind {
        Kind::ALL.get(self.kind).copied().unwrap_or(Kind::Other)
    }

    fn size(&self) -> Result<Quantity, String> {
        typed_size(self.size.text(), &self.setup.venue)
    }

    fn strength(&self) -> Result<Option<Strength>, String> {
        let typed = decimal::pointed(self.strength.text()).trim_end_matches('%').trim().to_owned();
        if typed.is_empty() {
            return Ok(None);
        }
        Strength::parse(&typed).map(Some).map_err(|e| e.to_string())
    }

    fn code(&self) -> Result<Option<Gtin>, String> {
        let typed = self.code.text().trim();
        if typed.is_empty() {
            return Ok(None);
        }
        let code = Gtin::parse(typed).map_err(|e| e.to_string())?;
        match self.setup.item_by_gtin(&code) {
            Some(item) => Err(say!("that is the bar code of {name} already", name = item.name)),
            None => Ok(Some(code)),
        }
    }

    /// What was written, once all of it is sound.
    pub(super) fn item(&self) -> Option<Item> {
        let (name, size, kind) = (self.name().ok()?, self.size().ok()?, self.kind());
        let count_by = if size.basis == Basis::Each { CountBy::Whole } else { CountBy::Tenths };
        Some(Item {
            abv: self.strength().ok()?,
            gtins: self.code().ok()?.into_iter().collect(),
            ..Item::new(ItemId(0), &name, kind, size.basis, size.amount, count_by)
        })
    }
}

impl Asked for NewItem {
    type Of = Of;

    fn all(&self) -> Vec<Of> {
        vec![Of::Name, Of::Kind, Of::Size, Of::Strength, Of::Code]
    }

    fn title(&self, of: Of) -> &'static str {
        match of {
            Of::Name => word!("Name"),
            Of::Kind => word!("Kind"),
            Of::Size => word!("One holds"),
            Of::Strength => word!("% vol"),
            Of::Code => word!("Bar code"),
        }
    }

    fn cell(&mut self, of: Of) -> Cell<'_> {
        match of {
            Of::Name => Cell::Typed(&mut self.name),
            Of::Kind => Cell::Choice(&mut self.kind, &self.kinds),
            Of::Size => Cell::Typed(&mut self.size),
            Of::Strength => Cell::Typed(&mut self.strength),
            Of::Code => Cell::Typed(&mut self.code),
        }
    }

    fn said(&self, of: Of) -> Result<String, String> {
        match of {
            Of::Name => self.name().map(|_| word!("What it is called here").to_owned()),
            Of::Kind => Ok(say!(
                "{kinds}: its first letter, or Left and Right",
                kinds = self.kinds.iter().map(|kind| words::find(kind)).collect::<Vec<_>>().join(", ")
            )),
            Of::Size => self.size().map(|size| {
                let how = if size.basis == Basis::Each { word!("counted whole") } else { word!("counted by tenths") };
                say!(
                    "{label}, {how}; 700 ml, 70 cl, 1 kg, 6 each",
                    label = self.setup.venue.show().label(size.basis, size.amount),
                    how
                )
            }),
            Of::Strength => self.strength().map(|_| word!("Strength as the label says it, or nothing").to_owned()),
            Of::Code => self.code().map(|_| word!("Scan it, or leave it empty. Enter keeps the item").to_owned()),
        }
    }

    /// Another kind comes in other containers, unless somebody has said what one holds.
    fn complete(&mut self, of: Of) {
        if of == Of::Kind && self.kind() != self.given.0 && self.size.text() == self.given.1.to_string() {
            self.given = (self.kind(), likely_size(&self.setup, self.kind()));
            self.size = Field::with(14, &self.given.1.to_string());
        }
    }
}
