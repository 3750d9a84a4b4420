//! The form that a loss is written down in.

use super::word;
use crate::domain::ledger::Loss;
use crate::domain::measure::{Amount, Basis, Decimal, Quantity, decimal};
use crate::domain::venue::{Gtin, Item, ItemId, Moment, PlaceId, Reason, Seq, Setup};
use crate::tui::keymap::Action;
use crate::tui::screen::asking::chosen;
use crate::tui::widget::field::Field;
use crate::tui::widget::finder::Finder;

/// A larger number alone wants its unit.
const MOST_BARE: i64 = 9;
/// More containers than this are a slip of the finger.
const MOST: i64 = 1_000;

/// The fields, in the order in which they are gone through.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Part {
    Item,
    Quantity,
    Reason,
    Place,
    By,
    Note,
}

impl Part {
    pub(super) const ALL: [Part; 6] = [Part::Item, Part::Quantity, Part::Reason, Part::Place, Part::By, Part::Note];

    pub(super) fn title(self) -> &'static str {
        match self {
            Part::Item => word!("Item"),
            Part::Quantity => word!("How much"),
            Part::Reason => word!("Reason"),
            Part::Place => word!("Place"),
            Part::By => word!("By"),
            Part::Note => word!("Note"),
        }
    }

    fn step(self, by: isize) -> Option<Part> {
        let at = Part::ALL.iter().position(|part| *part == self)?;
        at.checked_add_signed(by).and_then(|at| Part::ALL.get(at)).copied()
    }
}

/// What came of an action.
pub(super) enum Done {
    /// The form is still open.
    NotYet,
    /// It would have been thrown away, with what was typed in it.
    Doubted,
    /// It was thrown away.
    Dropped,
    /// It is filled in.
    Kept(Loss),
}

/// A loss being written down.
pub(super) struct Form {
    pub(super) focus: Part,
    pub(super) finder: Finder<ItemId>,
    /// Whether the cursor was moved in the list of items, so that the one it is on is meant though nothing is typed.
    moved: bool,
    pub(super) item: Option<ItemId>,
    pub(super) quantity: Field,
    /// Why; none until it is chosen.
    pub(super) reason: Option<Reason>,
    /// The letters of the reason typed so far.
    pub(super) letters: String,
    pub(super) place: Option<PlaceId>,
    /// Whether the place was chosen by hand, so that another item does not change it.
    placed: bool,
    pub(super) by: Field,
    pub(super) note: Field,
    /// Whether it is thrown away by the same key once more.
    leaving: bool,
    /// What is wrong, and with which field.
    pub(super) error: Option<(Part, String)>,
}

impl Form {
    pub(super) fn new(setup: &Setup, by: Option<&str>) -> Form {
        Form {
            focus: Part::Item,
            finder: Finder::new("", setup.items.iter().map(|item| (item.id, item.name.clone()))),
            moved: false,
            item: None,
            quantity: Field::new(20),
            reason: None,
            letters: String::new(),
            place: None,
            placed: false,
            by: Field::with(12, by.unwrap_or_default()),
            note: Field::new(80),
            leaving: false,
            error: None,
        }
    }

    pub(super) fn apply(&mut self, action: Action, setup: &Setup, now: Moment) -> Done {
        let leaving = std::mem::take(&mut self.leaving);
        match action {
            Action::Cancel if self.is_begun() && !leaving => {
                self.leaving = true;
                return Done::Doubted;
            }
            Action::Cancel => return Done::Dropped,
            Action::Accept => return self.accept(setup, now),
            Action::Save => return self.keep(setup, now),
            Action::NextField => self.go(1, setup),
            Action::PreviousField => self.go(-1, setup),
            Action::Up | Action::Down if self.focus == Part::Item => {
                self.moved = true;
                self.finder.apply(action);
            }
            Action::Down => self.go(1, setup),
            Action::Up => self.go(-1, setup),
            _ => self.edit(action, setup),
        }
        Done::NotYet
    }

    /// Whether more was said than what it is of.
    fn is_begun(&self) -> bool {
        !self.quantity.is_empty() || self.reason.is_some() || !self.note.is_empty()
    }

    pub(super) fn paste(&mut self, text: &str) {
        self.error = None;
        match self.focus {
            Part::Item => self.finder.paste(text),
            Part::Quantity => self.quantity.paste(text),
            Part::By => self.by.paste(text),
            Part::Note => self.note.paste(text),
            Part::Reason | Part::Place => {}
        }
    }

    /// To another field, if the one that is left is sound; going back is always possible.
    fn go(&mut self, by: isize, setup: &Setup) {
        let Some(to) = self.focus.step(by) else { return };
        self.error = None;
        if by > 0
            && let Err(wrong) = self.check(self.focus, setup)
        {
            self.error = Some((self.focus, wrong));
            return;
        }
        self.focus = to;
        self.letters.clear();
    }

    /// Whether a field can be left as it is; the item is settled here.
    fn check(&mut self, part: Part, setup: &Setup) -> Result<(), String> {
        match part {
            Part::Item => self.settle(setup),
            Part::Quantity => self.amount(setup).map(|_| ()),
            Part::Reason if self.reason.is_none() => Err(match fitting_reasons(&self.letters) {
                several if self.letters.is_empty() => say!("say why: {several}", several = several.join(", ")),
                several => say!("more than one begins so: {several}", several = several.join(word!(" or "))),
            }),
            Part::Reason | Part::Place | Part::By | Part::Note => Ok(()),
        }
    }

    fn settle(&mut self, setup: &Setup) -> Result<(), String> {
        let typed = self.finder.query().trim();
        let scanned = Gtin::parse(typed).ok();
        let found = match scanned.and_then(|gtin| setup.item_by_gtin(&gtin)) {
            Some(item) => Some(item.id),
            None if typed.is_empty() && !self.moved => self.item,
            None => self.finder.picked().copied(),
        };
        let Some(found) = found else {
            return Err(match typed {
                "" => word!("type a few letters of the item's name").to_owned(),
                _ => word!("no item is called that; try fewer letters").to_owned(),
            });
        };
        self.item = Some(found);
        if !self.placed {
            let mut places = setup.places_of(found);
            // Where it must have been, if it stands in one place only.
            self.place = places.next().filter(|_| places.next().is_none());
        }
        Ok(())
    }

    fn edit(&mut self, action: Action, setup: &Setup) {
        self.error = None;
        match self.focus {
            Part::Item => {
                self.finder.apply(action);
                self.moved = false;
            }
            Part::Quantity => {
                self.quantity.apply(action);
            }
            Part::By => {
                self.by.apply(action);
            }
            Part::Note => {
                self.note.apply(action);
            }
            Part::Reason => {
                self.choose_reason(action);
            }
            Part::Place => {
                // The first choice is no place at all.
                let places = &setup.places;
                let here = self.place.and_then(|id| places.iter().position(|p| p.id == id)).map_or(0, |n| n + 1);
                let name = |n: usize| n.checked_sub(1).and_then(|n| places.get(n)).map_or("", |p| p.name.as_str());
                if let Some(n) = chosen(action, Some(here), places.len() + 1, name) {
                    self.place = n.checked_sub(1).and_then(|n| places.get(n)).map(|p| p.id);
                    self.placed = true;
                }
            }
        }
    }

    /// Letters are typed until one reason is left; Left and Right go through them.
    fn choose_reason(&mut self, action: Action) {
        let all = Reason::ALL;
        let letters = match action {
            Action::Type(c) if c != ' ' || !self.letters.is_empty() => {
                let c = c.to_lowercase().to_string();
                let longer = format!("{}{c}", self.letters);
                // What fits nothing begins anew; what even then fits nothing is no letter of a reason.
                match [longer, c].into_iter().find(|letters| !fitting_reasons(letters).is_empty()) {
                    Some(letters) => letters,
                    None => return,
                }
            }
            Action::EraseBack => {
                let mut letters = std::mem::take(&mut self.letters);
                letters.pop();
                letters
            }
            Action::ClearField => String::new(),
            _ => {
                // One further than the last is no reason at all, as at the beginning.
                let here = self.reason.and_then(|reason| all.iter().position(|r| *r == reason)).map_or(0, |n| n + 1);
                if let Some(n) = chosen(action, Some(here), all.len() + 1, |_| "") {
                    self.reason = n.checked_sub(1).and_then(|n| all.get(n)).copied();
                    self.letters.clear();
                }
                return;
            }
        };
        let mut fit =
            all.iter().filter(|reason| !letters.is_empty() && word(**reason).to_lowercase().starts_with(&letters));
        self.reason = fit.next().copied().filter(|_| fit.next().is_none());
        self.letters = letters;
    }

    fn accept(&mut self, setup: &Setup, now: Moment) -> Done {
        if self.focus != Part::Note {
            self.go(1, setup);
            return Done::NotYet;
        }
        self.keep(setup, now)
    }

    /// Writes it down as it stands, if all that is needed is there: from any field.
    fn keep(&mut self, setup: &Setup, now: Moment) -> Done {
        // Fields can be reached with Shift-Tab and changed, so all are looked at once more.
        for part in Part::ALL {
            if let Err(wrong) = self.check(part, setup) {
                self.focus = part;
                self.error = Some((part, wrong));
                return Done::NotYet;
            }
        }
        match (self.item, self.amount(setup), self.reason) {
            (Some(item), Ok(amount), Some(reason)) => Done::Kept(Loss {
                seq: Seq(0),
                at: now,
                item,
                amount,
                reason,
                place: self.place,
                by: said(&self.by),
                note: said(&self.note),
            }),
            _ => Done::NotYet,
        }
    }

    /// What the quantity amounts to, as far as it can be read.
    pub(super) fn amount(&self, setup: &Setup) -> Result<Amount, String> {
        let item = self.item.and_then(|id| setup.item(id)).ok_or(word!("choose the item first"))?;
        amount_of(self.quantity.text(), item, setup)
    }
}

/// Reads `60 ml`, `2 cl` as they are, a number with `btl` as containers, and a small number alone as well: `1` is one,
/// `.3` three tenths of one. A large one without its unit is most likely none of containers.
fn amount_of(typed: &str, item: &Item, setup: &Setup) -> Result<Amount, String> {
    let typed = decimal::pointed(typed).to_lowercase();
    if typed.is_empty() {
        return Err(word!("type how much is gone, such as 60 ml, .3 or 1").to_owned());
    }
    let containers = typed.strip_suffix("btl").map(str::trim_end);
    let amount = match Decimal::parse(containers.unwrap_or(&typed)) {
        Ok(number) => {
            let amount = number.scaled(item.size.0.into(), 1).map_err(|e| e.to_string())?;
            if containers.is_none() && item.basis != Basis::Each && amount > item.size.0.saturating_mul(MOST_BARE) {
                let unit = setup.venue.show().symbol(item.basis);
                return Err(say!("say the unit: {typed} {unit}, or {typed} containers as {typed} btl", typed, unit));
            }
            Amount(amount)
        }
        Err(_) => Quantity::parse_as(&typed, item.basis, &setup.venue.small).map_err(|e| e.to_string())?,
    };
    if amount <= Amount::ZERO {
        return Err(word!("expected an amount above zero").to_owned());
    }
    if amount.0 > item.size.0.saturating_mul(MOST) {
        return Err(word!("more than 1000 containers is no loss of one evening; look at the unit").to_owned());
    }
    Ok(amount)
}

/// The reasons that begin with these letters; all of them for none.
pub(super) fn fitting_reasons(letters: &str) -> Vec<String> {
    Reason::ALL.iter().map(|reason| word(*reason)).filter(|word| word.to_lowercase().starts_with(letters)).collect()
}

fn said(field: &Field) -> Option<String> {
    let text = field.text().trim();
    (!text.is_empty()).then(|| text.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tui::screen::fixture::bar;

    #[test]
    fn quantities_of_a_loss() {
        let setup = bar();
        let (rum, sugar) = (setup.item(ItemId(1)).unwrap(), setup.item(ItemId(3)).unwrap());
        for (item, typed, want) in [
            (rum, "60 ml", Ok(60_000)),
            (rum, "2 cl", Ok(20_000)),
            (rum, "2,5cl", Ok(25_000)),
            (rum, ".3", Ok(210_000)),
            (rum, ",3", Ok(210_000)),
            (rum, "1", Ok(700_000)),
            (rum, "1.5", Ok(1_050_000)),
            (sugar, "50 g", Ok(50_000)),
            (sugar, ".1", Ok(100_000)),
            (rum, "9", Ok(6_300_000)),
            (rum, "60", Err("say the unit: 60 ml, or 60 containers as 60 btl")),
            (sugar, "50", Err("say the unit: 50 g")),
            (rum, "60 btl", Ok(42_000_000)),
            (rum, "2BTL", Ok(1_400_000)),
            (rum, "1001 btl", Err("more than 1000 containers")),
            (rum, "9000 l", Err("more than 1000 containers")),
            (rum, "btl", Err("")),
            (rum, "", Err("type how much")),
            (rum, "0", Err("above zero")),
            (rum, "-1", Err("above zero")),
            (rum, "0 ml", Err("above zero")),
            (rum, "50 g", Err("is a mass, but a volume")),
            (sugar, "60 ml", Err("is a volume, but a mass")),
            (sugar, "2 oz", Err("US fluid ounce")),
            (rum, "some", Err("a number and a unit")),
        ] {
            match (amount_of(typed, item, &setup), want) {
                (Ok(got), Ok(want)) => assert_eq!(got, Amount(want), "{typed}"),
                (Err(got), Err(want)) => assert!(got.contains(want), "{typed}: {got}"),
                (got, want) => panic!("{typed}: {got:?}, not {want:?}"),
            }
        }
    }

    #[test]
    fn a_reason_is_typed_until_one_is_left() {
        let mut form = Form::new(&bar(), None);
        form.focus = Part::Reason;
        for (c, want) in [
            ('s', None),
            ('t', Some(Reason::Staff)),
            ('a', Some(Reason::Staff)),
            ('s', None),
            ('P', None),
            ('o', Some(Reason::Spoiled)),
            ('z', Some(Reason::Spoiled)),
            ('r', Some(Reason::ReturnedDrink)),
            ('b', Some(Reason::Breakage)),
        ] {
            form.edit(Action::Type(c), &bar());
            assert_eq!(form.reason, want, "{c}");
        }
        form.edit(Action::EraseBack, &bar());
        assert_eq!(form.reason, None);
        form.edit(Action::CursorRight, &bar());
        assert_eq!(form.reason, Some(Reason::Spill));
        form.edit(Action::CursorLeft, &bar());
        assert_eq!(form.reason, None);
    }
}
