//! Which two counts are compared: choosing one from the list, and stepping to the neighbouring pair.

use crate::domain::ledger::Count;
use crate::domain::rows::PeriodView;
use crate::domain::venue::{CountId, Setup};
use crate::tui::screen::{Effect, PeriodEnd};
use crate::tui::widget::finder::Finder;
use crate::tui::widget::notice::Notice;

/// A list of counts, and what the one that is picked will be.
pub(super) struct Chooser {
    pub(super) finder: Finder<CountId>,
    end: PeriodEnd,
    /// Those that are listed.
    counts: Vec<Count>,
}

impl Chooser {
    /// Of the closed counts, the newest first, those that could open the period, because they were opened before its
    /// closing; or those that could close one: all but the oldest, which has none before it.
    pub(super) fn new(end: PeriodEnd, all: Vec<Count>, view: &PeriodView, setup: &Setup) -> Result<Chooser, Notice> {
        let closing = &view.closing;
        let oldest = all.iter().map(|count| count.opened).min();
        let fits = |count: &Count| match end {
            PeriodEnd::Opening => count.opened < closing.opened,
            PeriodEnd::Closing => Some(count.opened) != oldest,
        };
        let counts: Vec<Count> = all.into_iter().filter(fits).collect();
        let title = match end {
            PeriodEnd::Opening if counts.is_empty() => {
                return Err(Notice::info(say!("no count was closed before “{closing}”", closing = closing.name)));
            }
            PeriodEnd::Closing if counts.is_empty() => {
                return Err(Notice::info(word!("only one count is closed yet; a variance needs two")));
            }
            PeriodEnd::Opening => say!("Which count opens it? It closes with {closing}", closing = closing.name),
            PeriodEnd::Closing => word!("Which count closes the period?").to_owned(),
        };
        Ok(Chooser { finder: finder(&title, &counts, setup), end, counts })
    }

    /// The period with the picked count in it. A closing at or before the present opening takes an opening that suits
    /// it, which the book chooses.
    pub(super) fn chosen(&self, view: &PeriodView) -> Effect {
        let Some(&picked) = self.finder.picked() else { return Effect::None };
        match self.end {
            PeriodEnd::Opening => Effect::Compare { opening: Some(picked), closing: Some(view.closing.id) },
            PeriodEnd::Closing => {
                let picked_opened = self.counts.iter().find(|count| count.id == picked).map(|count| count.opened);
                let after = picked_opened.is_some_and(|opened| opened > view.opening.opened);
                Effect::Compare { opening: after.then_some(view.opening.id), closing: Some(picked) }
            }
        }
    }
}

fn finder(title: &str, counts: &[Count], setup: &Setup) -> Finder<CountId> {
    let label = |count: &Count| format!("{}  {}", count.name, setup.venue.days.short(count.opened));
    Finder::new(title, counts.iter().map(|count| (count.id, label(count))))
}

/// The period before: it closes with the count that opens this one; which count opens it, the book chooses.
pub(super) fn earlier(view: &PeriodView) -> Effect {
    if view.is_first {
        let name = &view.opening.name;
        return Effect::Say(Notice::info(say!(
            "“{name}” is the first count: there is no period before this one",
            name
        )));
    }
    Effect::Compare { opening: None, closing: Some(view.opening.id) }
}

/// The period after: it opens with the count that closes this one, and closes with the next of the same extent.
pub(super) fn later(view: &PeriodView) -> Effect {
    match &view.next {
        Some(next) => Effect::Compare { opening: Some(view.closing.id), closing: Some(next.id) },
        None => {
            let name = &view.closing.name;
            Effect::Say(Notice::info(say!("no count like “{name}” was closed after it; c chooses any other", name)))
        }
    }
}
