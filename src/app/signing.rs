//! Who is at the screen, and who else has the book open.

use super::screens::Screens;
use super::{App, Overlay};
use crate::desk::people::SignedIn;
use crate::desk::presence::Guard;
use crate::desk::{DeskError, book, looking, people, presence};
use crate::domain::rows::Tonight;
use crate::domain::venue::{Moment, Rights};
use crate::tui::keymap::{Action, Tab};
use crate::tui::widget::notice::Notice;
use crate::tui::widget::sign_in::{SignIn, Signed};
use std::sync::Arc;

/// Where a PIN was given, whoever gave it is signed out when no key came for so long: a manager who is called away leaves
/// nothing open.
const LEFT_ALONE: i64 = 10 * 60_000;

/// This terminal among those that have the book open.
#[derive(Debug, Default)]
pub(super) struct Terminal {
    guard: Option<Guard>,
    /// What it says of itself.
    says: String,
    /// What the others say.
    pub(super) others: Vec<String>,
    /// When the last key came.
    touched: Moment,
}

impl App {
    /// Says to the others that the book is open here. Where nothing can be written beside the book, nobody hears of it, and
    /// all else goes on.
    pub(super) fn enter(&mut self, now: Moment) {
        self.terminal.touched = now;
        self.terminal.says = self.whereabouts();
        self.terminal.guard = presence::enter(&self.store, &self.terminal.says).ok();
        self.look_around();
    }

    /// Who is where: `IP at Cellar`.
    fn whereabouts(&self) -> String {
        let who = self.options.by.as_deref().unwrap_or(word!("somebody who has not signed in"));
        let place = self.screens.count.as_ref().filter(|_| self.tab == Tab::Count).and_then(|count| count.place_name());
        let at = place.map_or_else(|| say!("on {title}", title = self.tab.title()), |place| say!("at {place}", place));
        format!("{who} {at}")
    }

    /// Tells the others where this terminal is, when that changed, and looks where they are. Says whether they moved.
    pub(super) fn look_around(&mut self) -> bool {
        let says = self.whereabouts();
        if says != self.terminal.says {
            if let Some(guard) = &self.terminal.guard {
                // A disk that takes no writing is told of where something is kept, not here.
                let _ = guard.say(&says);
            }
            self.terminal.says = says;
        }
        let others = match &self.terminal.guard {
            Some(guard) => guard.others(),
            None => presence::others(&self.store),
        };
        let others = others.unwrap_or_default();
        let moved = others != self.terminal.others;
        if moved {
            self.terminal.others = others;
            self.screens.here(&self.terminal.others);
        }
        moved
    }

    /// A key came.
    pub(super) fn touched(&mut self, now: Moment) {
        self.terminal.touched = now;
    }

    /// Signs out whoever gave a PIN and left. Says whether anybody did.
    pub(super) fn left_alone(&mut self, now: Moment) -> bool {
        let proven = self.store.who().ok().flatten().is_some_and(|who| who.proven);
        if !proven || now.0 - self.terminal.touched.0 < LEFT_ALONE {
            return false;
        }
        self.now_here(None, now);
        self.say(Notice::info(word!("nobody pressed a key for ten minutes: signed out. W says who is at the screen")));
        true
    }

    /// Says or asks who is at the screen, when the program starts: where a PIN keeps something from others, it is asked.
    pub(super) fn greet(&mut self) {
        let Ok(known) = people::list(&self.store) else { return };
        if self.store.known_then().is_some() || self.options.by.is_some() || known.is_empty() {
            return;
        }
        if !self.setup.venue.rights.sees_costs() {
            self.overlay = Overlay::SignIn(SignIn::new(known));
        } else if self.notice.is_none() {
            self.say(Notice::info(word!("nobody has signed in: W says who is at the screen")));
        }
    }

    /// Asks who is at the screen.
    pub(super) fn ask_who(&mut self) -> Result<(), DeskError> {
        self.overlay = Overlay::SignIn(SignIn::new(people::list(&self.store)?));
        Ok(())
    }

    /// An action in the box that asks.
    pub(super) fn signing_in(&mut self, mut asked: SignIn, action: Action, now: Moment) {
        if action == Action::Cancel {
            return;
        }
        let done = match asked.apply(action) {
            Signed::NotYet => Ok(false),
            Signed::NewPin { initials, pin } => people::set_pin(&self.store, &initials, Some(&pin), now).map(|who| {
                self.refresh(now);
                self.say(Notice::info(say!("the PIN of {who} is set; it is asked for when they sign in", who)));
                true
            }),
            Signed::In { initials, pin } => match people::sign_in(&self.store, &initials, pin.as_deref(), now) {
                Ok(SignedIn::In) => {
                    self.now_here(Some(initials), now);
                    Ok(true)
                }
                Ok(SignedIn::WantsPin) => {
                    asked.wants_pin(&initials);
                    Ok(false)
                }
                Err(refused) => Err(refused),
            },
        };
        match done {
            Ok(true) => {}
            Ok(false) => self.overlay = Overlay::SignIn(asked),
            Err(refused) => {
                asked.refused(&refused.to_string());
                self.overlay = Overlay::SignIn(asked);
            }
        }
    }

    /// Somebody else, or nobody, is at the screen from now on. What another person had open is closed: it may hold what this
    /// one does not see.
    fn now_here(&mut self, initials: Option<String>, now: Moment) {
        if initials.is_none()
            && let Err(refused) = people::sign_out(&self.store)
        {
            self.say(Notice::error(refused.to_string()));
        }
        self.options.by = book::who(&self.store).ok().flatten();
        self.begin_anew(now);
        let tab = if self.may_see(self.tab) { self.tab } else { Tab::Tonight };
        self.go(tab, now);
        self.watch(now);
        self.catch_up_copies(now);
        self.look_around();
    }

    /// Everything from the book once more: nothing stays of what was shown before.
    pub(super) fn begin_anew(&mut self, now: Moment) {
        self.overlay = Overlay::None;
        let (setup, rows) = looking::tonight(&self.store, now).unwrap_or_else(|refused| {
            self.say(Notice::error(refused.to_string()));
            let mut setup = self.setup.clone();
            Arc::make_mut(&mut setup).venue.rights = Rights::NoStock;
            (setup, Tonight::default())
        });
        self.screens = Screens::new(setup.clone(), rows);
        self.setup = setup;
        self.speak();
    }

    /// Another terminal may have set a PIN, made somebody a manager or a counter, or begun a blind count: what whoever is at
    /// this one must not see any more is not shown any more.
    pub(super) fn follow_rights(&mut self, now: Moment) {
        let (Ok(rights), had) = (self.store.rights(), self.setup.venue.rights) else { return };
        if rights == had {
            return;
        }
        if rights.sees_costs() == had.sees_costs() {
            Arc::make_mut(&mut self.setup).venue.rights = rights;
            self.screens.forget_stock();
        } else {
            self.begin_anew(now);
        }
        if !self.may_see(self.tab) {
            self.tab = Tab::Tonight;
            self.say(Notice::warning(word!(
                "what you may see was changed at another terminal: W says who is at the screen"
            )));
        }
    }

    /// Whether whoever is at the screen may see costs.
    pub fn sees_costs(&self) -> bool {
        self.setup.venue.rights.sees_costs()
    }

    pub(super) fn may_see(&self, tab: Tab) -> bool {
        let rights = self.setup.venue.rights;
        let stock = rights.sees_stock() || !matches!(tab, Tab::Stock | Tab::House);
        stock && (rights.sees_costs() || !tab.is_a_managers())
    }

    /// Whether whoever is at the screen may go to a screen; says why where they may not.
    pub(super) fn may_go(&mut self, tab: Tab) -> bool {
        let may = self.may_see(tab);
        if !may {
            let why = match tab.is_a_managers() {
                true => word!("shows costs or changes the set-up"),
                false => word!("shows what a blind count should find, until it is closed"),
            };
            self.say(Notice::warning(say!("{title} {why}: W signs a manager in", title = tab.title(), why)));
        }
        may
    }
}
