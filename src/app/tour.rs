//! A look around in the invented bar: a few sentences over its screens, one after the other, left at any key.

use super::{App, Overlay};
use crate::domain::venue::Moment;
use crate::tui::keymap::{Action, Scope, Tab, resolve};
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::panel::panel;
use crate::words;
use ratatui::Frame;
use ratatui::crossterm::event::KeyEvent;
use ratatui::layout::Rect;
use ratatui::text::Line;
use ratatui::widgets::Paragraph;

/// One stop: the screen, what is done there, and what is said.
struct Stop {
    tab: Tab,
    then: &'static [Action],
    said: &'static str,
}

const fn stop(tab: Tab, then: &'static [Action], said: &'static str) -> Stop {
    Stop { tab, then, said }
}

/// The stops, in the order of an evening and a week.
const STOPS: &[Stop] = &[
    stop(
        Tab::Tonight,
        &[],
        "This is The Ninth Lantern, an invented bar with ten weeks of trade. Tonight is what is due: what may run dry, the closing \
         count, orders before their deadlines, vans. A capital letter goes to a screen, and so does a click.",
    ),
    stop(
        Tab::Count,
        &[],
        "The closing count: choose what to walk along, then bottle by bottle in shelf order. 3.4 Enter is three sealed and one open at \
         four tenths; on a shelf of open bottles one key does, 7 for seven tenths. Each entry is kept as you make it.",
    ),
    stop(
        Tab::Variance,
        &[],
        "The week: what was used against what was sold. Only what is really off is told, since a bottle read by eye is never exact: \
         the small bar beside each gap says how sure it is. Nine things are wrong in this bar.",
    ),
    stop(
        Tab::Variance,
        &[Action::Open],
        "Behind each line stands what probably made it, and what speaks for that: every figure as a sum that you can check. It is a \
         figure and no accusation.",
    ),
    stop(
        Tab::Orders,
        &[],
        "A draft for each supplier, up to par, in whole cases, over the minimum, the cheapest way. Enter on a line says why it is \
         there; w writes the order as a page and an e-mail; x marks it as sent.",
    ),
    stop(
        Tab::Stock,
        &[],
        "What should be there now, and what it is worth. a takes a new item in, e changes one: its places, its par, its prices. A list \
         out of a spreadsheet can be pasted here as it is.",
    ),
    stop(
        Tab::Drinks,
        &[],
        "What every drink costs to make and brings in, with its strength and its allergens. b reckons one for a punch bowl. Labels and \
         local rules decide about allergens, never a program.",
    ),
    stop(
        Tab::Tonight,
        &[],
        "Lost? ? shows every key that works where you are, Ctrl-P finds anything by a few letters, u takes back. All you do here is \
         kept in the invented bar's own book: demo --fresh begins anew. Now it is yours.",
    ),
];

/// Where the look around is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Tour {
    at: usize,
}

impl App {
    /// Begins to look around.
    pub(super) fn begin_tour(&mut self, now: Moment) {
        self.show_stop(0, now);
    }

    /// A key while one looks around: on, back, or out of it; any other does what it always does. False where the key is none of
    /// the tour's.
    pub(super) fn on_tour(&mut self, tour: Tour, event: KeyEvent, now: Moment) -> bool {
        self.overlay = Overlay::None;
        match resolve(Scope::Tour, event) {
            Some(Action::Next) => match tour.at + 1 {
                on if on < STOPS.len() => self.show_stop(on, now),
                _ => {}
            },
            Some(Action::Previous) => self.show_stop(tour.at.saturating_sub(1), now),
            Some(Action::Cancel) => {}
            _ => return false,
        }
        true
    }

    fn show_stop(&mut self, at: usize, now: Moment) {
        let Some(stop) = STOPS.get(at) else { return };
        // Out of what the stop before has opened.
        let effect = self.screens.update(self.tab, Action::Back, now);
        self.carry_out(effect, now);
        self.go(stop.tab, now);
        for action in stop.then {
            let effect = self.screens.update(self.tab, *action, now);
            self.carry_out(effect, now);
        }
        self.notice = None;
        self.overlay = Overlay::Tour(Tour { at });
    }
}

impl Tour {
    /// Draws what is said over the end of the screen.
    pub(super) fn draw(self, frame: &mut Frame, area: Rect, theme: &Theme) {
        let Some(stop) = STOPS.get(self.at) else { return };
        let said = text::wrap(words::find(stop.said), usize::from(area.width.saturating_sub(4)));
        let tall = u16::try_from(said.len() + 2).unwrap_or(5).min(area.height);
        let place = Rect { y: area.bottom() - tall, height: tall, ..area };
        let title = say!(
            "A look around, {at} of {n}: Enter goes on, any other key leaves it",
            at = self.at + 1,
            n = STOPS.len()
        );
        let inner = panel(frame, place, &title, theme);
        frame.render_widget(Paragraph::new(said.into_iter().map(Line::from).collect::<Vec<_>>()), inner);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_is_read_in_two_minutes() {
        // Silent reading of English takes 238 words a minute on average (Brysbaert 2019, a review of 190 studies; from memory).
        let words: usize = STOPS.iter().map(|stop| stop.said.split_whitespace().count()).sum();
        assert!(words <= 2 * 238, "{words} words");
    }
}
