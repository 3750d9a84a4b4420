//! Copies of the book, made on a thread of their own: whoever closes a count goes on at once, and hears of the copy when
//! it is made or cannot be.

use super::jobs::Aside;
use super::screens::Screens;
use super::{App, Overlay};
use crate::desk::{book, copying, looking, people};
use crate::domain::copies::Why;
use crate::domain::rows::CopiesState;
use crate::domain::venue::Moment;
use crate::tui::keymap::Tab;
use crate::tui::widget::notice::Notice;
use crate::words;
use std::time::Duration;

/// What is said when a count is closed, and what is known of its copy may be added to.
pub(super) const CLOSED: &str = text!("the count is closed and kept; this is what it says");

/// Minutes until the copies are looked at again: where a stick may be plugged in any time, where something else is wrong
/// (a full disk is filled once more by every try), where all is well, and after another terminal has written.
const FOR_A_STICK: i64 = 1;
const AFTER_TROUBLE: i64 = 15;
const USUALLY: i64 = 60;
const AFTER_OTHERS: i64 = 2;

/// How long leaving the program waits for a copy under way; what is not made by then is made at the next start.
const WHEN_LEAVING: Duration = Duration::from_secs(10);

/// What is known of the copies, and what is being made.
#[derive(Default)]
pub(super) struct Copies {
    making: Aside<Option<CopiesState>>,
    /// Somebody is to hear of the one being made.
    tell: bool,
    /// What nobody has heard yet, since something else was on the line.
    untold: Option<Notice>,
    /// The minute in which they are looked at next.
    next: i64,
}

impl App {
    /// Copies the book, aside, and tells of it.
    pub(super) fn copy_book(&mut self, why: Why, now: Moment) {
        self.copies.tell = true;
        // Whatever is under way: it may wait for a disk that does not answer.
        self.copies.making.begin(&self.store, move |store| copying::copy(store, why, now).map(Some));
    }

    /// Makes what is lacking of the copies, aside.
    pub(super) fn catch_up_copies(&mut self, now: Moment) {
        if self.store.known_then().is_none() && !self.copies.making.is_under_way() {
            self.copies.making.begin(&self.store, move |store| copying::catch_up(store, now).map(Some));
        }
    }

    /// Whether a copy is being made, or it is being looked what is lacking.
    pub fn is_copying(&self) -> bool {
        self.copies.making.is_under_way()
    }

    /// Looks at the copies when it is time to; `written` when another terminal has written.
    pub(super) fn mind_copies(&mut self, written: bool, now: Moment) {
        let minute = now.0 / 60_000;
        if written {
            self.copies.next = self.copies.next.min(minute + AFTER_OTHERS);
        }
        if minute >= self.copies.next {
            self.copies.next = minute + USUALLY;
            self.catch_up_copies(now);
        }
    }

    /// Takes what came of a copy. Says whether there is anything new to draw.
    pub(super) fn look_at_copies(&mut self, now: Moment) -> bool {
        let told = self.notice.is_none() && self.copies.untold.is_some();
        if told {
            self.notice = self.copies.untold.take();
        }
        let Some(made) = self.copies.making.answer(Duration::ZERO) else { return told };
        let tell = std::mem::take(&mut self.copies.tell);
        match made {
            Err(refused) if tell => {
                self.copies.untold = Some(Notice::warning(say!("the book is not copied: {refused}", refused)));
            }
            Ok(Some(state)) => {
                let soon = match state.trouble() {
                    None => USUALLY,
                    Some(_) if state.waits_for_a_stick() => FOR_A_STICK,
                    Some(_) => AFTER_TROUBLE,
                };
                self.copies.next = now.0 / 60_000 + soon;
                if tell {
                    self.tell_of_copies(&state);
                }
                self.screens.copied(state);
            }
            // Nobody asked, or the thread ended by a fault of the program: the next look says more.
            Err(_) | Ok(None) => {}
        }
        true
    }

    /// Says what became of a copy, without taking the place of anything else that is said.
    fn tell_of_copies(&mut self, state: &CopiesState) {
        let closed = self.notice.as_ref().is_some_and(|notice| notice.text == words::find(CLOSED));
        let whereabouts = state.whereabouts().unwrap_or_default();
        let (notice, matters) = match (state.trouble(), closed) {
            (Some(trouble), true) => {
                (Notice::warning(say!("the count is closed and kept, but {trouble}", trouble)), true)
            }
            (Some(trouble), false) => (Notice::warning(trouble), true),
            (None, true) => {
                (Notice::info(say!("the count is closed and kept; copied {whereabouts}", whereabouts)), false)
            }
            (None, false) => (Notice::info(say!("copied {whereabouts}", whereabouts)), false),
        };
        if closed || self.notice.is_none() {
            self.notice = Some(notice);
        } else if matters {
            self.copies.untold = Some(notice);
        }
    }

    /// Waits for a copy that is being made, when the program is left.
    pub(super) fn end_copies(&mut self) {
        let _ = self.copies.making.answer(WHEN_LEAVING);
    }

    /// Goes over to the book that stands where the open one stood, if another one does: what would be written into the
    /// old one is lost. Says whether it did.
    pub(super) fn follow_book(&mut self, now: Moment) -> bool {
        let Err(replaced) = self.store.still_there() else { return false };
        let before = self.store.who().ok().flatten();
        let there = book::open(self.store.path()).and_then(|store| {
            // A PIN that was given for another book proves nothing in this one.
            if let Some(who) = &before
                && people::list(&store)?.iter().any(|row| row.person.initials == who.initials)
            {
                people::sign_in(&store, &who.initials, None, now)?;
            }
            let (setup, rows) = looking::tonight(&store, now)?;
            Ok((store.data_version()?, store, setup, rows))
        });
        match there {
            Err(_) => self.notice = Some(Notice::error(replaced.to_string())),
            Ok((version, store, setup, rows)) => {
                (self.version, self.store) = (version, store);
                self.screens = Screens::new(setup.clone(), rows);
                self.setup = setup;
                self.options.by = book::who(&self.store).ok().flatten();
                (self.tab, self.overlay) = (Tab::Tonight, Overlay::None);
                let said = word!(
                    "another book was put in the place of the one that was open: these are its figures. What was \
                            being typed is not in it"
                );
                self.notice = Some(Notice::warning(said));
                self.look_ahead(now);
                self.watch(now);
                self.catch_up_copies(now);
                if !self.sees_costs()
                    && let Err(refused) = self.ask_who()
                {
                    self.say(Notice::error(refused.to_string()));
                }
            }
        }
        true
    }
}
