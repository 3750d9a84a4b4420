//! Changing pars, and putting back what was changed.

use super::App;
use crate::desk::{DeskError, par};
use crate::domain::rows::{ParChange, ruler};
use crate::domain::venue::{Containers, ItemId, Moment, ParFrom};
use crate::tui::widget::notice::Notice;

impl App {
    /// Sets a par by hand, or takes it away.
    pub(super) fn set_par(&mut self, item: ItemId, par: Option<Containers>, now: Moment) -> Result<(), DeskError> {
        match par::set_by_hand(&self.store, item, par, now) {
            Ok(changed) => {
                self.pars_changed(changed.into_iter().collect(), ParFrom::Hand, now);
                Ok(())
            }
            Err(refused) => {
                self.screens.par_refused();
                Err(refused)
            }
        }
    }

    /// Lets one of the two pars rule some items.
    pub(super) fn rule_pars(&mut self, items: &[ItemId], from: ParFrom, now: Moment) -> Result<(), DeskError> {
        let changed = par::rule(&self.store, items, from, now)?;
        self.pars_changed(changed, from, now);
        Ok(())
    }

    fn pars_changed(&mut self, changed: Vec<ParChange>, from: ParFrom, now: Moment) {
        self.refresh(now);
        let said = match changed.as_slice() {
            [] => word!("Nothing changed: it is so already").to_owned(),
            [one] => say!("{words}; u puts it back", words = one.words(&self.setup)),
            several => {
                say!(
                    "{several} items are ruled by {from} from now on; u puts them back",
                    several = several.len(),
                    from = ruler(from)
                )
            }
        };
        self.screens.pars_changed(changed);
        self.say(Notice::info(said));
    }

    /// Puts pars back as they were. What was changed again since never can be.
    pub(super) fn put_pars_back(&mut self, changes: &[ParChange], now: Moment) -> Result<(), DeskError> {
        let done = par::put_back(&self.store, changes, now);
        if matches!(done, Ok(()) | Err(DeskError::Refused(_))) {
            self.screens.pars_undone();
        }
        done?;
        self.refresh(now);
        self.say(Notice::info(ParChange::put_back_words(changes, &self.setup)));
        Ok(())
    }
}
