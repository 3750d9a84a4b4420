//! A supplier's bill while it is received: ordered, charged and carried in side by side.

mod doubts;
mod draw;
mod lines;
#[cfg(test)]
mod tests;

use crate::domain::receive::{AgainstLine, Mark, Status, Weight, likely_suppliers};
use crate::domain::rows::{Answers, BillChoice, BillView};
use crate::domain::venue::{ItemId, SupplierId};
use crate::tui::keymap::{Action, Scope};
use crate::tui::screen::Effect;
use crate::tui::text;
use crate::tui::widget::field::Field;
use crate::tui::widget::notice::Notice;
use crate::tui::widget::window::Window;
use doubts::Doubts;
use std::sync::Arc;

/// One line of the page.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum At {
    /// A line of the bill that nobody has explained, counted from 0.
    Open(usize),
    /// An item, by its place.
    Item(usize),
    /// A line of the bill that is a deposit, or nothing stocked.
    Apart(usize),
}

/// What is being typed.
#[derive(Debug)]
enum Typing {
    /// Containers that came.
    Came(Field),
    /// Containers that a line of the bill is, of an item.
    Holds { field: Field, line: usize, item: ItemId },
}

/// What is being asked.
#[derive(Debug)]
enum Asking {
    /// Whether all that was not looked at came as it is charged.
    AsCharged,
    /// Whether so many really came.
    Many(i64),
    /// What becomes of what did not come.
    Rest,
    /// Whether the bill is for the delivery that it is set beside.
    IsForIt,
    /// All that is doubtful, to be read and perhaps to be agreed to.
    Doubts(Doubts),
}

/// A bill, and what somebody said of it.
#[derive(Debug)]
pub(super) struct BillPage {
    view: BillView,
    window: Window,
    typing: Option<Typing>,
    asking: Option<Asking>,
    /// The line of the bill that an item is picked for.
    picking: Option<usize>,
    /// The goods came on the day that the bill says, not now.
    on_its_day: bool,
    /// Containers that were typed of a line before its item was known.
    early: Option<(usize, String)>,
}

impl BillPage {
    pub(super) fn new(view: BillView) -> BillPage {
        let on_its_day = view.delivered.is_some();
        BillPage { view, window: Window::default(), typing: None, asking: None, picking: None, on_its_day, early: None }
    }

    /// Takes the same bill looked at anew: what somebody said came stays with its item, as long as the same is charged of it.
    pub(super) fn refresh(&mut self, mut view: BillView) {
        let here = self.here();
        if view.answered() == self.view.answered() {
            let known = |line: &AgainstLine| {
                let back = |line: &AgainstLine| line.invoiced.as_ref().is_some_and(|invoiced| invoiced.containers < 0);
                self.view.against.lines.iter().find(|old| old.item == line.item && back(old) == back(line))
            };
            let charged = |line: &AgainstLine| line.invoiced.as_ref().map_or(0, |invoiced| invoiced.containers);
            let fresh: Vec<_> =
                view.against.lines.iter().map(|line| (known(line).cloned(), view.is_booked(line))).collect();
            for (line, (old, is_booked)) in view.against.lines.iter_mut().zip(fresh) {
                let Some(old) = old else { continue };
                line.place = old.place;
                if !is_booked && charged(&old) == charged(line) {
                    line.came = old.came;
                }
            }
        }
        let same = Arc::ptr_eq(&self.view.file, &view.file);
        self.view = view;
        self.typing = None;
        if !same {
            self.on_its_day = self.view.delivered.is_some();
        }
        let rows = self.rows();
        let at = here.and_then(|here| rows.iter().position(|row| *row == here));
        self.window.select(at.unwrap_or(self.window.selected()), rows.len());
    }

    pub(super) fn view(&self) -> &BillView {
        &self.view
    }

    /// What was said of the bill as a whole.
    pub(super) fn choice(&self) -> BillChoice {
        self.view.choice()
    }

    pub(super) fn scope(&self) -> Scope {
        match (&self.asking, &self.typing) {
            (Some(Asking::Rest), _) => Scope::ReceiveRest,
            (Some(Asking::Doubts(_)), _) => Scope::BillDoubts,
            (Some(_), _) => Scope::Confirm,
            (None, Some(_)) => Scope::BillEntry,
            (None, None) => Scope::Bill,
        }
    }

    /// Lines to explain first, then the items, then what stays apart.
    fn rows(&self) -> Vec<At> {
        let apart = self
            .view
            .matched
            .iter()
            .filter(|matched| matches!(matched.status, Status::Deposit { .. } | Status::NotStock { .. }));
        // Whose bill it is says what its lines may be.
        let all: Vec<usize> = match self.view.supplier {
            Some(_) => self.view.against.open.clone(),
            None => (0..self.view.file.invoice.lines.len()).collect(),
        };
        let open = all.into_iter().map(At::Open);
        let items = (0..self.view.against.lines.len()).map(At::Item);
        open.chain(items).chain(apart.map(|matched| At::Apart(matched.line))).collect()
    }

    fn here(&self) -> Option<At> {
        self.rows().get(self.window.selected()).copied()
    }

    fn step(&mut self) {
        let len = self.rows().len();
        self.window.step(1, len);
    }

    fn status(&self, line: usize) -> Option<&Status> {
        self.view.matched.iter().find(|matched| matched.line == line).map(|matched| &matched.status)
    }

    /// What an action asks for, and whether the page stays open.
    pub(super) fn update(&mut self, action: Action) -> (Effect, bool) {
        if self.asking.is_some() {
            return (self.answer(action), true);
        }
        if self.typing.is_some() {
            return (self.type_in(action), true);
        }
        let effect = match action {
            Action::Back => return (Effect::None, false),
            Action::SetAside => {
                let print = self.view.file.print.clone();
                return (Effect::SetAside { path: self.view.file.path.clone(), print }, false);
            }
            Action::Type(c) => self.begin(c.encode_utf8(&mut [0; 4])),
            Action::Edit => self.begin(""),
            Action::TakeAsOrdered => self.as_charged(),
            Action::RestAsOrdered => {
                if let Some(first) = self.first_open() {
                    return (first, true);
                }
                if self.unsaid() == 0 {
                    return (Effect::Say(Notice::info(word!("every line is looked at; x books the bill"))), true);
                }
                self.asking = Some(Asking::AsCharged);
                Effect::None
            }
            Action::ChangePlace => self.change_place(),
            Action::OtherItem => self.other_item(),
            Action::IsDeposit => self.is_deposit(),
            Action::NotStock => self.not_stock(),
            Action::ShareFreight => self.share_freight(),
            Action::Doubts => self.show_doubts(),
            Action::OtherDay => self.other_day(),
            Action::WhoseBill => {
                let seller = &self.view.file.invoice.seller;
                let likely = likely_suppliers(seller, &self.view.setup);
                Effect::PickSupplier {
                    title: say!("Whose bill this is: “{seller}”?", seller = text::fit(&text::safe(&seller.name), 30)),
                    first: likely.into_iter().map(|(supplier, _)| supplier).collect(),
                }
            }
            Action::Next => self.answer_next(1),
            Action::Previous => self.answer_next(-1),
            Action::AcceptDelivery => self.accept(),
            _ => {
                let len = self.rows().len();
                self.window.apply(action, len);
                Effect::None
            }
        };
        (effect, true)
    }

    /// Items of which nobody has said what came.
    fn unsaid(&self) -> usize {
        self.view.against.lines.iter().filter(|line| line.came.is_none()).count()
    }

    /// A supplier was picked for the bill.
    pub(super) fn picked_supplier(&mut self, supplier: SupplierId) -> Effect {
        let choice = BillChoice { supplier: Some(supplier), answers: None, certain: false, ..self.choice() };
        Effect::KnowSupplier { file: self.view.file.clone(), choice: Box::new(choice), supplier }
    }

    fn again(&self, choice: BillChoice) -> Effect {
        Effect::ViewBill { file: self.view.file.clone(), choice: Box::new(choice) }
    }

    fn share_freight(&mut self) -> Effect {
        if self.view.charges.0 == 0 {
            return Effect::Say(Notice::info(word!("the bill charges nothing and takes nothing off for all of it")));
        }
        self.again(BillChoice { spread: !self.view.spread, ..self.choice() })
    }

    fn other_day(&mut self) -> Effect {
        match self.view.delivered {
            Some(_) => {
                self.on_its_day = !self.on_its_day;
                Effect::None
            }
            None => Effect::Say(Notice::info(word!("the bill names no earlier day on which the goods came"))),
        }
    }

    fn answer_next(&mut self, by: isize) -> Effect {
        let len = self.view.may_answer.len();
        if len < 2 {
            return Effect::Say(Notice::info(word!("no order of this supplier is on its way that it could answer")));
        }
        let at = (self.view.answers as isize + by).rem_euclid(len as isize) as usize;
        let answers = self.view.may_answer.get(at).map(|(answers, _)| answers.clone());
        self.again(BillChoice { answers, certain: true, ..self.choice() })
    }

    fn change_place(&mut self) -> Effect {
        let places: Vec<_> = self.view.setup.places.iter().map(|place| place.id).collect();
        if let (Some(At::Item(at)), Some(&first)) = (self.here(), places.first())
            && let Some(line) = self.view.against.lines.get_mut(at)
        {
            let here = line.place.and_then(|place| places.iter().position(|p| *p == place));
            line.place = Some(here.and_then(|n| places.get(n + 1)).copied().unwrap_or(first));
        }
        Effect::None
    }

    fn accept(&mut self) -> Effect {
        let view = &self.view;
        if let Some(problem) = view.problems.iter().find(|problem| problem.weight == Weight::Refused) {
            return Effect::Say(Notice::error(problem.what.clone()));
        }
        if let Some(before) = &view.before {
            let when = view.setup.venue.days.short(before.at);
            return Effect::Say(Notice::error(say!(
                "“{number}” was booked already, {when}",
                number = before.number,
                when
            )));
        }
        if view.supplier.is_none() {
            return Effect::Say(Notice::warning(word!("say first whose bill it is: b chooses the supplier")));
        }
        if let Some(first) = self.first_open() {
            return first;
        }
        let view = &self.view;
        if let Some(at) = view.against.lines.iter().position(|line| line.came.is_none()) {
            let (unsaid, of) = (self.unsaid(), view.against.lines.len());
            let rows = self.rows();
            let at = rows.iter().position(|row| *row == At::Item(at)).unwrap_or(0);
            self.window.select(at, rows.len());
            return Effect::Say(Notice::warning(say!(
                "not looked at yet: {unsaid} of {of} lines; A takes them as they are charged",
                unsaid,
                of
            )));
        }
        if matches!(view.answered(), Answers::Delivery(_)) && !view.certain {
            self.asking = Some(Asking::IsForIt);
            return Effect::None;
        }
        let short =
            |line: &AgainstLine| line.ordered.is_some_and(|ordered| line.came.unwrap_or(0) < ordered.containers);
        if matches!(view.answered(), Answers::Order(_)) && view.against.lines.iter().any(short) {
            self.asking = Some(Asking::Rest);
            return Effect::None;
        }
        self.book(false)
    }

    /// Goes to the first line that nobody has explained, and says what is to be done.
    fn first_open(&mut self) -> Option<Effect> {
        self.view.against.open.first()?;
        let len = self.rows().len();
        self.window.select(0, len);
        Some(Effect::Say(Notice::warning(word!("say first what this line is: y takes what is likeliest, o chooses"))))
    }

    /// Books it; what is doubtful about it is asked first.
    fn book(&mut self, keep_rest: bool) -> Effect {
        if self.view.problems.iter().any(|problem| problem.weight == Weight::Question) {
            self.asking = Some(Asking::Doubts(Doubts::to_book(keep_rest)));
            return Effect::None;
        }
        self.accepted(keep_rest)
    }

    fn accepted(&self, keep_rest: bool) -> Effect {
        Effect::AcceptBill { view: Box::new(self.view.clone()), keep_rest, on_its_day: self.on_its_day }
    }

    fn answer(&mut self, action: Action) -> Effect {
        let Some(asking) = self.asking.take() else { return Effect::None };
        match (asking, action) {
            (Asking::Doubts(doubts), action) => self.read_doubts(doubts, action),
            (Asking::AsCharged, Action::Yes) => {
                for line in self.view.against.lines.iter_mut().filter(|line| line.came.is_none()) {
                    line.came = Some(line.invoiced.as_ref().map_or(0, |invoiced| invoiced.containers));
                }
                Effect::Say(Notice::info(word!("all the rest is taken as charged; x books the bill")))
            }
            (Asking::Many(came), Action::Yes) => {
                self.keep(came);
                Effect::None
            }
            (Asking::IsForIt, Action::Yes) => {
                self.view.certain = true;
                self.accept()
            }
            (Asking::Rest, Action::Accept) => self.book(true),
            (Asking::Rest, Action::GiveUpOrder) => self.book(false),
            (_, Action::No | Action::Cancel) => Effect::None,
            (asking, _) => {
                self.asking = Some(asking);
                Effect::None
            }
        }
    }

    /// Goes to an item's line.
    pub(super) fn find(&mut self, item: ItemId) -> Option<Notice> {
        let rows = self.rows();
        let is =
            |row: &At| matches!(row, At::Item(at) if self.view.against.lines.get(*at).is_some_and(|l| l.item == item));
        match rows.iter().position(is) {
            Some(at) => {
                self.window.select(at, rows.len());
                None
            }
            None => {
                let name = text::safe(self.view.setup.item_name(item));
                Some(Notice::warning(say!("neither the bill nor the order has {name}", name)))
            }
        }
    }
}

/// Whether a mark wants a look: a difference that costs money or stock.
fn presses(mark: Mark) -> bool {
    matches!(
        mark,
        Mark::Short | Mark::Over | Mark::Dearer | Mark::NotOrdered | Mark::More | Mark::NotCredited | Mark::Kept
    )
}
