//! A supplier's bill while it is received: ordered, charged and carried in side by side.

mod draw;

use crate::domain::receive::{Mark, Means, Rate, Status, Weight, likely_suppliers};
use crate::domain::rows::{Answers, BillChoice, BillView};
use crate::domain::venue::{Gtin, ItemId, SupplierId};
use crate::tui::keymap::{Action, Scope};
use crate::tui::screen::Effect;
use crate::tui::text;
use crate::tui::widget::field::Field;
use crate::tui::widget::notice::Notice;
use crate::tui::widget::window::Window;
use std::sync::Arc;

/// Longest figure that can be typed.
const LENGTH: usize = 10;
/// No van carries a million of one thing.
const MOST: i64 = 999_999;
/// More than so many containers, and than so many times what is charged, is asked about once.
const UNUSUAL: i64 = 24;
const UNUSUAL_TIMES: i64 = 3;

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
}

impl BillPage {
    pub(super) fn new(view: BillView) -> BillPage {
        let on_its_day = view.delivered.is_some();
        BillPage { view, window: Window::default(), typing: None, asking: None, picking: None, on_its_day }
    }

    /// Takes the same bill looked at anew: what somebody said came stays with its item.
    pub(super) fn refresh(&mut self, mut view: BillView) {
        let here = self.here();
        if view.answered() == self.view.answered() {
            for line in &mut view.against.lines {
                let back = line.invoiced.as_ref().is_some_and(|invoiced| invoiced.containers < 0);
                let known = self.view.against.lines.iter().find(|old| {
                    old.item == line.item
                        && old.invoiced.as_ref().is_some_and(|invoiced| invoiced.containers < 0) == back
                });
                if let Some(old) = known {
                    (line.came, line.place) = (old.came, old.place);
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
        BillChoice {
            supplier: self.view.supplier,
            answers: Some(self.view.answered().clone()),
            spread: self.view.spread,
        }
    }

    pub(super) fn scope(&self) -> Scope {
        match (&self.asking, &self.typing) {
            (Some(Asking::Rest), _) => Scope::ReceiveRest,
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
        let open = self.view.against.open.iter().map(|line| At::Open(*line));
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

    /// Whether what came was booked before the bill was there: then nobody says it again.
    fn is_booked(&self) -> bool {
        matches!(self.view.answered(), Answers::Delivery(_))
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
                if self.unsaid() == 0 {
                    return (Effect::Say(Notice::info("every line is looked at; x books the bill")), true);
                }
                self.asking = Some(Asking::AsCharged);
                Effect::None
            }
            Action::ChangePlace => self.change_place(),
            Action::OtherItem => self.other_item(),
            Action::IsDeposit => self.explain(Means::Deposit),
            Action::NotStock => self.explain(Means::NotStock),
            Action::ShareFreight => self.share_freight(),
            Action::OtherDay => self.other_day(),
            Action::WhoseBill => {
                let seller = &self.view.file.invoice.seller;
                let likely = likely_suppliers(seller, &self.view.setup);
                Effect::PickSupplier {
                    title: format!("Whose bill this is: “{}”?", text::fit(&text::safe(&seller.name), 30)),
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

    fn begin(&mut self, typed: &str) -> Effect {
        match self.here() {
            Some(At::Item(_)) if self.is_booked() => {
                Effect::Say(Notice::info("it was booked already what came; this bill only says what it costs"))
            }
            Some(At::Item(_)) => {
                self.typing = Some(Typing::Came(Field::with(LENGTH, typed)));
                Effect::None
            }
            Some(At::Open(line)) => self.begin_open(line, typed),
            Some(At::Apart(_)) | None => Effect::None,
        }
    }

    /// A line that nobody has explained: with an item known, a figure says how many containers it is; else Enter takes the
    /// likeliest item.
    fn begin_open(&mut self, line: usize, typed: &str) -> Effect {
        let Some(Status::Question { item, perhaps, likely, .. }) = self.status(line) else { return Effect::None };
        let Some(item) = item.or(likely.first().map(|likely| likely.item)) else { return self.other_item() };
        let usual = perhaps.map_or_else(|| self.whole_quantity(line), |perhaps| perhaps.to_string());
        let mut field = Field::with(LENGTH, if typed.is_empty() { &usual } else { typed });
        if typed.is_empty() {
            field.mark();
        }
        self.typing = Some(Typing::Holds { field, line, item });
        Effect::None
    }

    fn other_item(&mut self) -> Effect {
        let line = match self.here() {
            Some(At::Open(line) | At::Apart(line)) => Some(line),
            Some(At::Item(at)) => {
                let invoiced = self.view.against.lines.get(at).and_then(|line| line.invoiced.as_ref());
                invoiced.and_then(|invoiced| invoiced.lines.first().copied())
            }
            None => None,
        };
        let Some(line) = line else {
            return Effect::Say(Notice::info("the bill has no line for this: it was only ordered"));
        };
        if self.view.supplier.is_none() {
            return Effect::Say(Notice::info("say first whose bill it is: b chooses the supplier"));
        }
        self.picking = Some(line);
        let called = self.view.file.invoice.lines.get(line).map_or("", |line| line.called());
        Effect::Pick {
            title: format!("What “{}” is:", text::fit(&text::safe(called), 28)),
            enter: "takes it",
            items: None,
        }
    }

    /// An item was picked for a line: how many containers the line is must be said too.
    pub(super) fn picked(&mut self, item: ItemId) -> Effect {
        let Some(line) = self.picking.take() else { return Effect::None };
        let mut field = Field::with(LENGTH, &self.whole_quantity(line));
        field.mark();
        self.typing = Some(Typing::Holds { field, line, item });
        Effect::None
    }

    /// The quantity of a line, where it is a whole number: mostly what is counted in containers.
    fn whole_quantity(&self, line: usize) -> String {
        let quantity = self.view.file.invoice.lines.get(line).map(|line| line.quantity.size());
        quantity.and_then(|quantity| quantity.exact(0)).map_or(String::new(), |n| n.to_string())
    }

    /// A supplier was picked for the bill.
    pub(super) fn picked_supplier(&mut self, supplier: SupplierId) -> Effect {
        let choice = BillChoice { supplier: Some(supplier), answers: None, spread: self.view.spread };
        Effect::KnowSupplier { file: self.view.file.clone(), choice: Box::new(choice), supplier }
    }

    fn type_in(&mut self, action: Action) -> Effect {
        let Some(typing) = &mut self.typing else { return Effect::None };
        let field = match typing {
            Typing::Came(field) | Typing::Holds { field, .. } => field,
        };
        match action {
            Action::Accept | Action::AcceptDown => {
                let typed = field.text().trim().to_owned();
                self.figure(&typed)
            }
            Action::Cancel => {
                self.typing = None;
                Effect::None
            }
            _ => {
                field.apply(action);
                Effect::None
            }
        }
    }

    fn figure(&mut self, typed: &str) -> Effect {
        if let Ok(gtin) = Gtin::parse(typed) {
            self.typing = None;
            return self.scanned(&gtin);
        }
        let read = typed.parse::<i64>().ok().filter(|came| (0..=MOST).contains(came));
        match (&self.typing, read) {
            (_, None) => Effect::Say(Notice::error("type whole containers, such as 12")),
            (Some(Typing::Holds { line, item, .. }), Some(containers)) => {
                let (line, item) = (*line, *item);
                let Some(billed) = self.view.file.invoice.lines.get(line) else { return Effect::None };
                match Rate::of(containers, billed.quantity) {
                    Some(rate) => {
                        self.typing = None;
                        self.explain_line(line, Means::Item { item, rate })
                    }
                    None => Effect::Say(Notice::error("a line is at least one container; w says that it is no stock")),
                }
            }
            (_, Some(came)) => {
                let charged = self.item().and_then(|line| line.invoiced.as_ref()).map_or(0, |i| i.containers.abs());
                if came > charged.saturating_mul(UNUSUAL_TIMES).max(UNUSUAL) {
                    self.asking = Some(Asking::Many(came));
                    return Effect::None;
                }
                self.keep(came);
                Effect::None
            }
        }
    }

    fn item(&self) -> Option<&crate::domain::receive::AgainstLine> {
        match self.here()? {
            At::Item(at) => self.view.against.lines.get(at),
            At::Open(_) | At::Apart(_) => None,
        }
    }

    /// Keeps how much came; of what goes back, how much went.
    fn keep(&mut self, came: i64) {
        if let Some(At::Item(at)) = self.here()
            && let Some(line) = self.view.against.lines.get_mut(at)
        {
            let back = line.invoiced.as_ref().is_some_and(|invoiced| invoiced.containers < 0);
            line.came = Some(if back { -came } else { came });
        }
        self.typing = None;
        self.step();
    }

    fn as_charged(&mut self) -> Effect {
        match self.here() {
            Some(At::Item(at)) if !self.is_booked() => {
                if let Some(line) = self.view.against.lines.get_mut(at) {
                    line.came = Some(line.invoiced.as_ref().map_or(0, |invoiced| invoiced.containers));
                }
                self.step();
                Effect::None
            }
            // The likeliest item, in as many containers as it most likely is.
            Some(At::Open(line)) => self.take_likeliest(line),
            _ => {
                self.step();
                Effect::None
            }
        }
    }

    fn take_likeliest(&mut self, line: usize) -> Effect {
        let Some(Status::Question { item, perhaps, likely, .. }) = self.status(line) else { return Effect::None };
        let item = item.or(likely.first().map(|likely| likely.item));
        let billed = self.view.file.invoice.lines.get(line);
        let rate = billed.zip(*perhaps).and_then(|(billed, perhaps)| Rate::of(perhaps, billed.quantity));
        match item.zip(rate) {
            Some((item, rate)) => self.explain_line(line, Means::Item { item, rate }),
            None => self.begin_open(line, ""),
        }
    }

    /// What the line of the bill under the cursor is.
    fn explain(&mut self, means: Means) -> Effect {
        match self.here() {
            Some(At::Open(line) | At::Apart(line)) => self.explain_line(line, means),
            Some(At::Item(at)) => {
                let invoiced = self.view.against.lines.get(at).and_then(|line| line.invoiced.as_ref());
                match invoiced.map(|invoiced| invoiced.lines.clone()).as_deref() {
                    Some([line]) => self.explain_line(*line, means),
                    Some(_) => Effect::Say(Notice::info("several lines of the bill are this item; o tells them apart")),
                    None => Effect::Say(Notice::info("the bill has no line for this: it was only ordered")),
                }
            }
            None => Effect::None,
        }
    }

    fn explain_line(&self, line: usize, means: Means) -> Effect {
        let Some(supplier) = self.view.supplier else {
            return Effect::Say(Notice::info("say first whose bill it is: b chooses the supplier"));
        };
        let choice = Box::new(self.choice());
        Effect::ExplainLine { file: self.view.file.clone(), choice, supplier, line, means }
    }

    fn again(&self, choice: BillChoice) -> Effect {
        Effect::ViewBill { file: self.view.file.clone(), choice: Box::new(choice) }
    }

    fn share_freight(&mut self) -> Effect {
        if self.view.charges.0 == 0 {
            return Effect::Say(Notice::info("the bill has no freight or other charge for all of it"));
        }
        self.again(BillChoice { spread: !self.view.spread, ..self.choice() })
    }

    fn other_day(&mut self) -> Effect {
        match self.view.delivered {
            Some(_) => {
                self.on_its_day = !self.on_its_day;
                Effect::None
            }
            None => Effect::Say(Notice::info("the bill names no earlier day on which the goods came")),
        }
    }

    fn answer_next(&mut self, by: isize) -> Effect {
        let len = self.view.may_answer.len();
        if len < 2 {
            return Effect::Say(Notice::info("no order of this supplier is on its way that it could answer"));
        }
        let at = (self.view.answers as isize + by).rem_euclid(len as isize) as usize;
        let answers = self.view.may_answer.get(at).map(|(answers, _)| answers.clone());
        self.again(BillChoice { answers, ..self.choice() })
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
            return Effect::Say(Notice::error(format!("“{}” was booked already, {when}", before.number)));
        }
        if view.supplier.is_none() {
            return Effect::Say(Notice::warning("say first whose bill it is: b chooses the supplier"));
        }
        if !view.against.open.is_empty() {
            self.window.select(0, self.rows().len());
            return Effect::Say(Notice::warning("say first what this line is: y takes what is likeliest, o chooses"));
        }
        if let Some(at) = view.against.lines.iter().position(|line| line.came.is_none()) {
            let (unsaid, of) = (self.unsaid(), view.against.lines.len());
            let rows = self.rows();
            let at = rows.iter().position(|row| *row == At::Item(at)).unwrap_or(0);
            self.window.select(at, rows.len());
            return Effect::Say(Notice::warning(format!(
                "{unsaid} of {of} lines are not looked at; A takes them as they are charged"
            )));
        }
        let short = |line: &crate::domain::receive::AgainstLine| {
            line.ordered.is_some_and(|ordered| line.came.unwrap_or(0) < ordered.containers)
        };
        if matches!(view.answered(), Answers::Order(_)) && view.against.lines.iter().any(short) {
            self.asking = Some(Asking::Rest);
            return Effect::None;
        }
        self.book(false)
    }

    /// Books it; what is doubtful about it is asked first.
    fn book(&self, keep_rest: bool) -> Effect {
        let effect = Effect::AcceptBill { view: Box::new(self.view.clone()), keep_rest, on_its_day: self.on_its_day };
        let doubts: Vec<&str> = self
            .view
            .problems
            .iter()
            .filter(|problem| problem.weight == Weight::Question)
            .map(|problem| problem.what.as_str())
            .collect();
        match doubts[..] {
            [] => effect,
            [only] => Effect::ask(format!("{only} Book it all the same?"), "books it", "goes back", effect),
            [first, ..] => Effect::ask(
                format!("{first} That is one of {} doubts; the page names them. Book it all the same?", doubts.len()),
                "books it",
                "goes back",
                effect,
            ),
        }
    }

    fn answer(&mut self, action: Action) -> Effect {
        let Some(asking) = self.asking.take() else { return Effect::None };
        match (asking, action) {
            (Asking::AsCharged, Action::Yes) => {
                for line in self.view.against.lines.iter_mut().filter(|line| line.came.is_none()) {
                    line.came = Some(line.invoiced.as_ref().map_or(0, |invoiced| invoiced.containers));
                }
                Effect::Say(Notice::info("all the rest is taken as charged; x books the bill"))
            }
            (Asking::Many(came), Action::Yes) => {
                self.keep(came);
                Effect::None
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

    /// Text that came in one piece: a bar code goes to its line.
    pub(super) fn paste(&mut self, pasted: &str) -> Effect {
        if let Ok(gtin) = Gtin::parse(pasted.trim()) {
            self.typing = None;
            return self.scanned(&gtin);
        }
        if let Some(Typing::Came(field) | Typing::Holds { field, .. }) = &mut self.typing {
            field.paste(pasted);
        }
        Effect::None
    }

    fn scanned(&mut self, gtin: &Gtin) -> Effect {
        match self.view.setup.item_by_gtin(gtin).map(|item| item.id) {
            Some(item) => self.find(item).map_or(Effect::None, Effect::Say),
            None => Effect::Say(Notice::warning(format!("no item has the bar code {gtin}"))),
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
                Some(Notice::warning(format!("neither the bill nor the order has {name}")))
            }
        }
    }
}

/// Whether a mark wants a look: a difference that costs money or stock.
fn presses(mark: Mark) -> bool {
    matches!(mark, Mark::Short | Mark::Over | Mark::Dearer | Mark::NotOrdered | Mark::More)
}
