//! A bottle that the book does not know yet, taken in as one comes to it: what it is called and what one holds. The rest can
//! come later.

use crate::domain::measure::{Amount, Basis, Quantity, Show, SmallMeasures, Strength, decimal};
use crate::domain::venue::{CountBy, Gtin, Item, ItemId, Kind, Setup, name_key};
use crate::tui::screen::asking::{Asked, Asking, Cell};
use crate::tui::widget::field::Field;

/// The fields.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Of {
    Name,
    Kind,
    Size,
    Strength,
    Code,
}

/// What the next one most likely is, since the shelves are walked along: as the one before.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Last {
    pub(super) kind: Kind,
    pub(super) basis: Basis,
    pub(super) size: Amount,
}

impl Default for Last {
    /// Most of a back bar stands in bottles of 700 ml (common practice, no source).
    fn default() -> Last {
        Last { kind: Kind::Spirit, basis: Basis::Volume, size: Amount(700_000) }
    }
}

/// An item as far as it is written.
#[derive(Debug)]
pub(super) struct NewItem {
    name: Field,
    kind: usize,
    size: Field,
    strength: Field,
    code: Field,
    kinds: Vec<&'static str>,
    small: SmallMeasures,
    show: Show,
    /// What the book has already, by the keys of names and of bar codes.
    names: Vec<(String, String)>,
    codes: Vec<(String, String)>,
}

impl NewItem {
    /// A form that begins with what was looked for, and with the bar code that was scanned in vain.
    pub(super) fn asking(setup: &Setup, name: &str, code: Option<&str>, last: Last) -> Asking<NewItem> {
        let size = Quantity { basis: last.basis, amount: last.size }.to_string();
        let of = |item: &Item| item.gtins.iter().map(|code| (code.key(), item.name.clone())).collect::<Vec<_>>();
        let form = NewItem {
            name: Field::with(60, name.trim()),
            kind: Kind::ALL.iter().position(|kind| *kind == last.kind).unwrap_or(0),
            size: Field::with(14, &size),
            strength: Field::new(6),
            code: Field::with(14, code.unwrap_or_default()),
            kinds: Kind::ALL.iter().map(|kind| kind.word()).collect(),
            small: setup.venue.small,
            show: setup.venue.show(),
            names: setup.items.iter().map(|item| (name_key(&item.name), item.name.clone())).collect(),
            codes: setup.items.iter().flat_map(of).collect(),
        };
        // What was typed to find it is its name.
        let first = if name.trim().is_empty() { Of::Name } else { Of::Kind };
        Asking::new(form, first)
    }

    fn name(&self) -> Result<String, String> {
        let name = self.name.text().trim();
        if name.is_empty() {
            return Err("What it is called here: Harbour gin".to_owned());
        }
        let key = name_key(name);
        match self.names.iter().find(|(known, _)| *known == key) {
            Some((_, known)) => {
                Err(format!("there is an item called {known} already: Esc, and choose it from the list"))
            }
            None => Ok(name.to_owned()),
        }
    }

    fn kind(&self) -> Kind {
        Kind::ALL.get(self.kind).copied().unwrap_or(Kind::Other)
    }

    /// A number alone is meant in the unit that volumes are shown in here.
    fn size(&self) -> Result<Quantity, String> {
        let mut typed = decimal::pointed(self.size.text());
        if typed.chars().all(|c| c.is_ascii_digit() || c == '.') && !typed.is_empty() {
            typed = format!("{typed} {}", self.show.symbol(Basis::Volume));
        }
        let read = Quantity::parse(&typed, &self.small).map_err(|e| e.to_string())?;
        if read.amount <= Amount::ZERO { Err("expected a size above zero".to_owned()) } else { Ok(read) }
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
        match self.codes.iter().find(|(key, _)| *key == code.key()) {
            Some((_, item)) => Err(format!("that is the bar code of {item} already")),
            None => Ok(Some(code)),
        }
    }

    /// What was written, once all of it is sound.
    pub(super) fn item(&self) -> Option<(Item, Last)> {
        let (name, size, kind) = (self.name().ok()?, self.size().ok()?, self.kind());
        let count_by = if size.basis == Basis::Each { CountBy::Whole } else { CountBy::Tenths };
        let item = Item {
            abv: self.strength().ok()?,
            gtins: self.code().ok()?.into_iter().collect(),
            ..Item::new(ItemId(0), &name, kind, size.basis, size.amount, count_by)
        };
        Some((item, Last { kind, basis: size.basis, size: size.amount }))
    }
}

impl Asked for NewItem {
    type Of = Of;

    const ALL: &'static [Of] = &[Of::Name, Of::Kind, Of::Size, Of::Strength, Of::Code];

    fn title(of: Of) -> &'static str {
        match of {
            Of::Name => "Name",
            Of::Kind => "Kind",
            Of::Size => "One holds",
            Of::Strength => "% vol",
            Of::Code => "Bar code",
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
            Of::Name => self.name().map(|_| "What it is called here".to_owned()),
            Of::Kind => Ok("A letter, or Left and Right; Ctrl-S keeps it as it stands".to_owned()),
            Of::Size => self.size().map(|size| {
                let how = if size.basis == Basis::Each { "counted whole" } else { "counted by tenths" };
                format!("{}, {how}; 700 ml, 70 cl, 1 kg, 6 each", self.show.label(size.basis, size.amount))
            }),
            Of::Strength => self.strength().map(|_| "Strength as the label says it, or nothing".to_owned()),
            Of::Code => self.code().map(|_| "Scan it, or leave it empty. Enter keeps the item".to_owned()),
        }
    }
}
