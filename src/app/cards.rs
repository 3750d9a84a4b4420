//! Cards of the set-up: taken up, looked at, kept.

use super::{App, Overlay};
use crate::desk::{DeskError, book, cards, pasting};
use crate::domain::measure::number_of;
use crate::domain::rows::{Card, CardOf, PastedList};
use crate::domain::venue::{ItemId, Moment, PlaceId, SupplierId};
use crate::tui::keymap::{Action, Tab};
use crate::tui::screen::Effect;
use crate::tui::screen::card::{CardDone, CardScreen};
use crate::tui::screen::pasted::{ListDone, ListScreen};
use crate::tui::widget::notice::Notice;

impl App {
    /// Takes a card up, over whatever is shown.
    pub(super) fn open_card(&mut self, of: CardOf, id: Option<i64>, now: Moment) -> Result<(), DeskError> {
        self.overlay = Overlay::Card(CardScreen::new(cards::open(&self.store, of, id, now)?));
        Ok(())
    }

    /// An action on the card that is open.
    pub(super) fn on_card(&mut self, mut card: CardScreen, action: Action, now: Moment) {
        let done = card.update(action);
        if !matches!(done, CardDone::Dropped) {
            self.overlay = Overlay::Card(card);
        }
        match done {
            CardDone::NotYet | CardDone::Dropped => {}
            CardDone::Say(notice) => self.say(notice),
            CardDone::Look(card) => self.carry_out(Effect::LookAtCard(card), now),
            CardDone::Keep(card) => self.carry_out(Effect::KeepCard(card), now),
        }
    }

    pub(super) fn look_at_card(&mut self, card: &Card, now: Moment) -> Result<(), DeskError> {
        let faults = cards::look(&self.store, card, now)?;
        if let Overlay::Card(open) = &mut self.overlay {
            open.checked(faults);
        }
        Ok(())
    }

    pub(super) fn keep_card(&mut self, card: &Card, now: Moment) -> Result<(), DeskError> {
        match cards::keep(&self.store, card, now)? {
            Ok(kept) => {
                self.overlay = Overlay::None;
                self.refresh(now);
                if card.of == CardOf::Bar && book::language(&self.store)? != self.spoken.0 {
                    // All that stands on the screens was said in the language before.
                    let tab = self.tab;
                    self.begin_anew(now);
                    self.go(tab, now);
                }
                match (card.of, kept.id, self.tab) {
                    (CardOf::Item, Some(id), Tab::Stock) => {
                        // What is run out and not there any more has no line.
                        let _ = self.screens.find(Tab::Stock, ItemId(id));
                    }
                    (CardOf::Supplier, Some(id), Tab::Suppliers) => self.screens.find_supplier(SupplierId(id)),
                    (CardOf::Place, Some(id), Tab::Book) => self.screens.find_place(PlaceId(id)),
                    _ => {}
                }
                let also: String = kept.said.iter().map(|said| format!("; {said}")).collect();
                self.say(Notice::info(say!("kept: {kept}{also}", kept = kept.name, also)));
            }
            Err(faults) => {
                let said = match &mut self.overlay {
                    Overlay::Card(open) => open.refused(faults),
                    _ => None,
                };
                if let Some(said) = said {
                    self.say(Notice::error(said));
                }
            }
        }
        Ok(())
    }

    /// Shows a list of items, or the same one looked at anew.
    pub(super) fn show_list(&mut self, list: PastedList, now: Moment) -> Result<(), DeskError> {
        let look = pasting::look(&self.store, &list, now)?;
        match &mut self.overlay {
            Overlay::List(screen) => screen.looked(list, look),
            _ => self.overlay = Overlay::List(ListScreen::new(list, look, self.setup.clone())),
        }
        Ok(())
    }

    /// An action on the list that is shown.
    pub(super) fn on_list(&mut self, mut list: ListScreen, action: Action, now: Moment) {
        let done = list.update(action);
        if !matches!(done, ListDone::Dropped) {
            self.overlay = Overlay::List(list);
        }
        let effect = ListScreen::effect(done);
        self.carry_out(effect, now);
    }

    pub(super) fn take_list(&mut self, list: PastedList, now: Moment) -> Result<(), DeskError> {
        match pasting::take(&self.store, &list, now)? {
            Ok(took) => {
                self.overlay = Overlay::None;
                self.refresh(now);
                let new =
                    number_of(usize::try_from(took.new).unwrap_or(usize::MAX), word!("new item"), word!("new items"));
                let also: String = took.said.iter().map(|said| format!("; {said}")).collect();
                self.say(Notice::info(say!(
                    "taken in: {new}, {changed} changed{also}",
                    new,
                    changed = took.changed,
                    also
                )));
            }
            Err(look) => {
                if let Overlay::List(screen) = &mut self.overlay {
                    screen.looked(list, look);
                }
            }
        }
        Ok(())
    }

    pub(super) fn take_away(&mut self, of: CardOf, id: i64, now: Moment) -> Result<(), DeskError> {
        let name = cards::take_away(&self.store, of, id, now)?;
        self.refresh(now);
        self.say(Notice::info(say!("taken away: {name}; the Book (B) can take that back", name)));
        Ok(())
    }
}
