//! What is said of one line of a bill: what it is, and how many came.

use super::{Asking, At, BillPage, Typing};
use crate::domain::measure::Decimal;
use crate::domain::receive::{AgainstLine, DocumentKind, Likely, Means, Rate, Status, is_unusual};
use crate::domain::rows::BillChoice;
use crate::domain::venue::{Gtin, ItemId};
use crate::tui::keymap::Action;
use crate::tui::screen::Effect;
use crate::tui::text;
use crate::tui::widget::field::Field;
use crate::tui::widget::notice::Notice;

/// Longest figure that can be typed.
const LENGTH: usize = 10;
/// No van carries a million of one thing.
const MOST: i64 = 999_999;

impl BillPage {
    pub(super) fn begin(&mut self, typed: &str) -> Effect {
        match self.here() {
            Some(At::Item(_)) if self.item().is_some_and(|line| self.view.is_booked(line)) => {
                Effect::Say(Notice::info(word!("it was booked already what came; this bill only says what it costs")))
            }
            Some(At::Item(_)) => {
                self.typing = Some(Typing::Came(Field::with(LENGTH, typed)));
                Effect::None
            }
            Some(At::Open(line)) => self.begin_open(line, typed),
            Some(At::Apart(_)) | None => Effect::None,
        }
    }

    /// A line that nobody has explained: with an item known or plain, a figure says how many containers of it the line is;
    /// else the item is chosen first.
    fn begin_open(&mut self, line: usize, typed: &str) -> Effect {
        let Some(Status::Question { perhaps, .. }) = self.status(line) else { return self.too_early(line, typed) };
        let Some(item) = self.plain_item(line) else { return self.too_early(line, typed) };
        let usual = perhaps.map_or_else(|| self.whole_quantity(line), |perhaps| perhaps.to_string());
        let mut field = Field::with(LENGTH, if typed.is_empty() { &usual } else { typed });
        if typed.is_empty() {
            field.mark();
        }
        self.typing = Some(Typing::Holds { field, line, item });
        Effect::None
    }

    /// Containers typed of a line of which the item is not known: they are kept until it is, and what comes first is said.
    fn too_early(&mut self, line: usize, typed: &str) -> Effect {
        if typed.is_empty() {
            return self.other_item();
        }
        let mut early = self.early.take().filter(|(of, _)| *of == line).map_or(String::new(), |(_, early)| early);
        if early.len() < LENGTH {
            early.push_str(typed);
        }
        let first = if self.view.supplier.is_none() {
            word!("whose bill it is: b")
        } else {
            word!("which item the line is: o")
        };
        let said = say!("say first {first}; the {early} is kept for then", first, early);
        self.early = Some((line, early));
        Effect::Say(Notice::info(said))
    }

    /// The item that a line which nobody has explained is, as far as one is known or much likelier than the others.
    pub(super) fn plain_item(&self, line: usize) -> Option<ItemId> {
        match self.status(line)? {
            Status::Question { item, likely, .. } => item.or_else(|| Likely::plain(likely)),
            _ => None,
        }
    }

    pub(super) fn other_item(&mut self) -> Effect {
        let line = match self.here() {
            Some(At::Open(line) | At::Apart(line)) => Some(line),
            Some(At::Item(at)) => {
                let invoiced = self.view.against.lines.get(at).and_then(|line| line.invoiced.as_ref());
                invoiced.and_then(|invoiced| invoiced.lines.first().copied())
            }
            None => None,
        };
        let Some(line) = line else {
            return Effect::Say(Notice::info(word!("the bill has no line for this: it was only ordered")));
        };
        if self.view.supplier.is_none() {
            return Effect::Say(Notice::info(word!("say first whose bill it is: b chooses the supplier")));
        }
        if self.view.file.invoice.lines.get(line).is_some_and(|billed| billed.quantity == Decimal::ZERO) {
            return Effect::Say(Notice::info(word!(
                "none of an item is on this line, only money: w says so, or d a deposit"
            )));
        }
        self.picking = Some(line);
        let called = self.view.file.invoice.lines.get(line).map_or("", |line| line.called());
        let likely = match self.status(line) {
            Some(Status::Question { item, likely, .. }) => {
                let likely = likely.iter().map(|likely| likely.item).filter(|likely| Some(*likely) != *item);
                item.iter().copied().chain(likely).collect()
            }
            Some(Status::Deposit { likely, .. } | Status::NotStock { likely, .. }) => {
                likely.iter().map(|likely| likely.item).collect()
            }
            Some(Status::Found { item, .. }) => vec![*item],
            None => Vec::new(),
        };
        Effect::Pick {
            title: say!("What “{called}” is:", called = text::fit(&text::safe(called), 24)),
            enter: word!("takes it"),
            items: None,
            likely: Some(likely),
            or_new: false,
        }
    }

    /// An item was picked for a line: how many containers the line is must be said too.
    pub(in crate::tui::screen::receive) fn picked(&mut self, item: ItemId) -> Effect {
        let Some(line) = self.picking.take() else { return Effect::None };
        let early = self.early.take().filter(|(of, _)| *of == line).map(|(_, early)| early);
        let mut field = Field::with(LENGTH, early.as_ref().unwrap_or(&self.whole_quantity(line)));
        if early.is_none() {
            field.mark();
        }
        self.typing = Some(Typing::Holds { field, line, item });
        Effect::None
    }

    /// The quantity of a line, where it is a whole number: mostly what is counted in containers.
    fn whole_quantity(&self, line: usize) -> String {
        let quantity = self.view.file.invoice.lines.get(line).map(|line| line.quantity.size());
        quantity.and_then(|quantity| quantity.exact(0)).map_or(String::new(), |n| n.to_string())
    }

    pub(super) fn type_in(&mut self, action: Action) -> Effect {
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
            (_, None) => Effect::Say(Notice::error(word!("type whole containers, such as 12"))),
            (Some(Typing::Holds { line, item, .. }), Some(containers)) => {
                let (line, item) = (*line, *item);
                let Some(billed) = self.view.file.invoice.lines.get(line) else { return Effect::None };
                match Rate::of(containers, billed.quantity) {
                    Some(rate) => {
                        self.typing = None;
                        self.explain_line(line, Means::Item { item, rate })
                    }
                    None => Effect::Say(Notice::error(word!(
                        "a line is at least one container; w says that it is no stock"
                    ))),
                }
            }
            (_, Some(came)) => {
                let charged = self.item().and_then(|line| line.invoiced.as_ref()).map_or(0, |i| i.containers.abs());
                if is_unusual(came, charged) {
                    self.asking = Some(Asking::Many(came));
                    return Effect::None;
                }
                self.keep(came);
                Effect::None
            }
        }
    }

    pub(super) fn item(&self) -> Option<&AgainstLine> {
        match self.here()? {
            At::Item(at) => self.view.against.lines.get(at),
            At::Open(_) | At::Apart(_) => None,
        }
    }

    /// Keeps how much came; of what goes back, how much went.
    pub(super) fn keep(&mut self, came: i64) {
        if let Some(At::Item(at)) = self.here()
            && let Some(line) = self.view.against.lines.get_mut(at)
        {
            let back = line.invoiced.as_ref().is_some_and(|invoiced| invoiced.containers < 0);
            line.came = Some(if back { -came } else { came });
        }
        self.typing = None;
        self.step();
    }

    pub(super) fn as_charged(&mut self) -> Effect {
        match self.here() {
            Some(At::Item(at)) => {
                let is_booked = self.item().is_some_and(|line| self.view.is_booked(line));
                if let Some(line) = self.view.against.lines.get_mut(at).filter(|_| !is_booked) {
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
        let perhaps = match self.status(line) {
            Some(Status::Question { perhaps, .. }) => *perhaps,
            _ => None,
        };
        let billed = self.view.file.invoice.lines.get(line);
        let rate = billed.zip(perhaps).and_then(|(billed, perhaps)| Rate::of(perhaps, billed.quantity));
        match self.plain_item(line).zip(rate) {
            Some((item, rate)) => self.explain_line(line, Means::Item { item, rate }),
            None => self.begin_open(line, ""),
        }
    }

    /// The line of the bill under the cursor, where it is one.
    fn line_here(&self) -> Result<usize, Notice> {
        match self.here() {
            Some(At::Open(line) | At::Apart(line)) => Ok(line),
            Some(At::Item(at)) => {
                let invoiced = self.view.against.lines.get(at).and_then(|line| line.invoiced.as_ref());
                match invoiced.map(|invoiced| invoiced.lines.as_slice()) {
                    Some([line]) => Ok(*line),
                    Some(_) => Err(Notice::info(word!("several lines of the bill are this item; o tells them apart"))),
                    None => Err(Notice::info(word!("the bill has no line for this: it was only ordered"))),
                }
            }
            None => Err(Notice::info(word!("the bill has no lines"))),
        }
    }

    /// The line under the cursor is a deposit.
    pub(super) fn is_deposit(&self) -> Effect {
        match self.line_here() {
            Ok(line) => self.explain_line(line, Means::Deposit),
            Err(notice) => Effect::Say(notice),
        }
    }

    /// The line under the cursor is nothing stocked: on this bill alone where it was goods or may only be money for once,
    /// and when said again, on every later one too.
    pub(super) fn not_stock(&mut self) -> Effect {
        let line = match self.line_here() {
            Ok(line) => line,
            Err(notice) => return Effect::Say(notice),
        };
        let is_goods = matches!(self.status(line), Some(Status::Found { .. }));
        let for_once = is_goods || self.view.file.invoice.kind == DocumentKind::CreditNote;
        let mut choice = self.choice();
        if for_once && choice.money_only.insert(line) {
            return self.again(choice);
        }
        choice.money_only.remove(&line);
        self.explain_with(choice, line, Means::NotStock)
    }

    fn explain_line(&self, line: usize, means: Means) -> Effect {
        let mut choice = self.choice();
        choice.money_only.remove(&line);
        self.explain_with(choice, line, means)
    }

    fn explain_with(&self, choice: BillChoice, line: usize, means: Means) -> Effect {
        let Some(supplier) = self.view.supplier else {
            return Effect::Say(Notice::info(word!("say first whose bill it is: b chooses the supplier")));
        };
        Effect::ExplainLine { file: self.view.file.clone(), choice: Box::new(choice), supplier, line, means }
    }

    /// Text that came in one piece: a bar code goes to its line.
    pub(in crate::tui::screen::receive) fn paste(&mut self, pasted: &str) -> Effect {
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
            None => Effect::Say(Notice::warning(say!("no item has the bar code {gtin}", gtin))),
        }
    }
}
