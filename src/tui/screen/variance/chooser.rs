//! Which two counts are compared: choosing one from the list, and stepping to the neighbouring pair.

use super::is_before;
use crate::domain::ledger::Count;
use crate::domain::rows::PeriodView;
use crate::domain::venue::{CountId, Setup};
use crate::tui::screen::Effect;
use crate::tui::widget::finder::Finder;
use crate::tui::widget::notice::Notice;

/// The end of the period that is being chosen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum End {
    Opening,
    Closing,
}

/// A list of counts, and what the one that is picked will be.
pub(super) struct Chooser {
    pub(super) finder: Finder<CountId>,
    end: End,
}

impl Chooser {
    /// The counts that could open the period: those before its closing.
    pub(super) fn opening(view: &PeriodView, setup: &Setup) -> Result<Chooser, Notice> {
        let fits = |count: &&Count| count.opened < view.closing.opened;
        let counts: Vec<&Count> = view.counts.iter().filter(fits).collect();
        if counts.is_empty() {
            return Err(Notice::info(say!("no count was closed before “{closing}”", closing = view.closing.name)));
        }
        let title = say!("Which count opens it? It closes with {closing}", closing = view.closing.name);
        Ok(Chooser { finder: finder(&title, &counts, setup), end: End::Opening })
    }

    /// The counts that could close a period: all but the oldest, which has none before it.
    pub(super) fn closing(view: &PeriodView, setup: &Setup) -> Result<Chooser, Notice> {
        let oldest = view.counts.iter().map(|count| count.opened).min();
        let counts: Vec<&Count> = view.counts.iter().filter(|count| Some(count.opened) != oldest).collect();
        if counts.is_empty() {
            return Err(Notice::info(word!("only one count is closed yet; a variance needs two")));
        }
        Ok(Chooser { finder: finder(word!("Which count closes the period?"), &counts, setup), end: End::Closing })
    }

    /// The period with the picked count in it. A closing at or before the present opening takes an opening that suits
    /// it, which the book chooses.
    pub(super) fn chosen(&self, view: &PeriodView) -> Effect {
        let Some(&picked) = self.finder.picked() else { return Effect::None };
        match self.end {
            End::Opening => Effect::Compare { opening: Some(picked), closing: Some(view.closing.id) },
            End::Closing => {
                let opening = Some(view.opening.id).filter(|opening| is_before(view, *opening, picked));
                Effect::Compare { opening, closing: Some(picked) }
            }
        }
    }
}

fn finder(title: &str, counts: &[&Count], setup: &Setup) -> Finder<CountId> {
    let label = |count: &Count| format!("{}  {}", count.name, setup.venue.days.short(count.opened));
    Finder::new(title, counts.iter().map(|count| (count.id, label(count))))
}

/// The period before: it closes with the count that opens this one; which count opens it, the book chooses.
pub(super) fn earlier(view: &PeriodView) -> Effect {
    if !view.counts.iter().any(|count| count.opened < view.opening.opened) {
        let name = &view.opening.name;
        return Effect::Say(Notice::info(say!(
            "“{name}” is the first count: there is no period before this one",
            name
        )));
    }
    Effect::Compare { opening: None, closing: Some(view.opening.id) }
}

/// The period after: it opens with the count that closes this one, and closes with the next of the same extent, which
/// the last word of its name tells (`… full`, `… rail`).
pub(super) fn later(view: &PeriodView) -> Effect {
    let extent = |count: &Count| count.name.split_whitespace().next_back().map(str::to_lowercase);
    let kind = extent(&view.closing);
    let after = |count: &&Count| count.opened > view.closing.opened && extent(count) == kind;
    match view.counts.iter().filter(after).min_by_key(|count| count.opened) {
        Some(next) => Effect::Compare { opening: Some(view.closing.id), closing: Some(next.id) },
        None => {
            let name = &view.closing.name;
            Effect::Say(Notice::info(say!("no count like “{name}” was closed after it; c chooses any other", name)))
        }
    }
}
