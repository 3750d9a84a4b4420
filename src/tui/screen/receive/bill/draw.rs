//! Drawing a bill beside its order.

use super::doubts::worded;
use super::{Asking, At, BillPage, Typing, presses};
use crate::domain::measure::{Decimal, Money, number_of};
use crate::domain::receive::{AgainstLine, DocumentKind, InvoiceLine, KeptClaim, Mark, Status, Weight, units};
use crate::domain::rows::Answers;
use crate::tui::screen::receive::draw::{draw_rest, shown};
use crate::tui::screen::{Scene, fitting};
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::columns::{self, Column, Row, Width};
use crate::tui::widget::confirm::Confirm;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::{Clear, Paragraph};

const COLUMNS: &[Column] = &[
    Column::words("", Width::Fixed(1), 0),
    Column::words("item", Width::Flex(14), 0),
    Column::figures("ordered", 7, 0),
    Column::figures("charged", 7, 0),
    Column::figures("came", 6, 0),
    Column::words("", Width::Fixed(15), 0),
    Column::figures("agreed at", 9, 2),
    Column::figures("each at", 9, 1),
    Column::words("put in", Width::Flex(9), 3),
];
/// The column that is typed in, and the cells of the field over it.
const CAME: usize = 4;
const FIELD: u16 = 11;
/// Lines of doubts that are shown at once.
const DOUBTS: usize = 6;
/// The least cells of a name before number and day of the bill, and those that go with the name of one unknown.
const NAME: usize = 8;
const WHOSE: usize = 18;
/// Charges of the whole bill that are named one by one, and the cells of such a name.
const CHARGES: usize = 3;
const REASON: usize = 20;

impl BillPage {
    /// `claims` are those that nobody has settled, of any supplier.
    pub(in crate::tui::screen::receive) fn draw(
        &mut self,
        claims: &[KeptClaim],
        frame: &mut Frame,
        area: Rect,
        scene: Scene,
    ) {
        let (wide, theme) = (usize::from(area.width), scene.theme);
        let head = self.head(claims, wide, usize::from(area.height / 2), theme);
        let heads = u16::try_from(head.len()).unwrap_or(u16::MAX).min(area.height / 2);
        let [top, body, foot] =
            Layout::vertical([Constraint::Length(heads), Constraint::Fill(1), Constraint::Length(3)]).areas(area);
        frame.render_widget(Paragraph::new(head), top);
        frame.render_widget(Paragraph::new(self.foot(wide, theme)), foot);
        let rows = self.rows();
        let mut window = std::mem::take(&mut self.window);
        let typing_at = self.typing.is_some().then_some(window.selected());
        let row =
            |at: usize| rows.get(at).map_or(Row::Cells(Vec::new()), |r| self.row(*r, Some(at) == typing_at, theme));
        let cells = columns::draw(frame, body, COLUMNS, rows.len(), &mut window, row, theme);
        self.window = window;
        if let (Some(Typing::Came(field) | Typing::Holds { field, .. }), Some(Some(cell))) =
            (&self.typing, cells.get(CAME))
        {
            let area = Rect { width: body.right().saturating_sub(cell.x).min(FIELD), ..*cell };
            frame.render_widget(Clear, area);
            field.draw(frame, area, true, theme);
        }
        let mut asking = self.asking.take();
        match &mut asking {
            Some(Asking::Doubts(doubts)) => doubts.draw(&self.view.problems, frame, area, theme),
            Some(Asking::Rest) => {
                let asked = "Not all that was ordered came. What is given up is suggested again once it is short.";
                draw_rest(frame, area, asked, true, theme);
            }
            Some(Asking::IsForIt) => {
                let (_, said) = self.answers();
                let question = format!(
                    "Is this the bill for what was {said}? Then none of that goes into stock again; the bill only says what it costs.{}",
                    self.claimed()
                );
                Confirm::new(question, "yes, it is", "goes back: n sets it beside something else")
                    .draw(frame, area, theme);
            }
            Some(Asking::AsCharged) => {
                let n = self.unsaid();
                let lines = number_of(n, "line is", "lines are");
                let (came, takes) = match self.view.file.invoice.kind {
                    DocumentKind::CreditNote => ("go back as it is credited", "takes the rest as gone back"),
                    _ => ("come as it is charged", "takes the rest as charged"),
                };
                let question = format!("{lines} not looked at. Did all of it {came}?");
                Confirm::new(question, takes, "goes on looking").draw(frame, area, theme);
            }
            Some(Asking::Many(came)) => {
                let item = self.item().map(|line| self.view.setup.item_name(line.item)).unwrap_or_default();
                let question = format!("Did {came} containers of {item} come?");
                let yes = format!("yes, {came} came");
                Confirm::new(question, yes, "goes back to the figure").draw(frame, area, theme);
            }
            None => {}
        }
        self.asking = asking;
    }

    /// What it is set beside, and in words.
    fn answers(&self) -> (Answers, String) {
        let view = &self.view;
        view.may_answer.get(view.answers).cloned().unwrap_or((Answers::Nothing, String::new()))
    }

    /// What would be put down to be claimed; empty for nothing.
    fn claimed(&self) -> String {
        let claims = self.view.against.claims(&self.view.setup);
        let money: Money = claims.iter().map(|claim| claim.money).sum();
        match claims.len() {
            0 => String::new(),
            1 => format!(" 1 difference of {} would be claimed.", self.coin(money)),
            n => format!(" {n} differences of {} would be claimed.", self.coin(money)),
        }
    }

    fn coin(&self, money: Money) -> String {
        self.view.setup.venue.show().money(money)
    }

    /// Whose bill it is, what it answers, its sums, and what is doubtful about it, in `most` lines.
    fn head(&self, claims: &[KeptClaim], wide: usize, most: usize, theme: &Theme) -> Vec<Line<'static>> {
        let view = &self.view;
        let invoice = &view.file.invoice;
        let (kind, day) = (invoice.kind.word(), invoice.issued.format(" of %a %-d %b").to_string());
        let number = wide.saturating_sub(text::width(kind) + 1 + text::width(&day));
        let what = format!("{kind} {}{day}", text::fit(&text::safe(&invoice.number), number));
        // A long name gives way: number and day say which bill it is. Where little is left of it, it has its own line.
        let least = if view.supplier.is_some() { NAME } else { NAME + WHOSE };
        let room = Some(wide.saturating_sub(text::width(&what) + 2)).filter(|room| *room >= least).unwrap_or(wide);
        let who = match view.supplier.and_then(|id| view.setup.supplier(id)) {
            Some(supplier) => Span::styled(text::fit(&text::safe(&supplier.name), room), theme.title),
            None => {
                let name = text::fit(&text::safe(&invoice.seller.name), room.saturating_sub(WHOSE));
                Span::styled(format!("“{name}”: whose is it? b"), theme.warning)
            }
        };
        let mut out = fitting::lines([who, Span::raw(what)], wide, 2);
        let (answered, answers) = self.answers();
        let more = match view.may_answer.len() {
            0..=1 => String::new(),
            n => format!("n shows the next of {n}"),
        };
        let answers = match answered {
            Answers::Delivery(_) => format!("only says the price of what was {}", text::safe(&answers)),
            Answers::Nothing if invoice.kind == DocumentKind::CreditNote => self.about(claims),
            Answers::Order(_) | Answers::Nothing => format!("beside {}", text::safe(&answers)),
        };
        let answers = Span::raw(answers);
        let day = match view.delivered {
            Some(day) if self.on_its_day => format!("came {}, as it says (t)", day.format("%a %-d %b")),
            Some(_) => "came today (t)".to_owned(),
            None => String::new(),
        };
        let more = Span::styled(more, theme.muted);
        out.push(fitting::line([answers, more, Span::styled(day, theme.muted)], wide));
        out.extend(self.sums(wide, theme));
        if let Some(before) = &view.before {
            let when = view.setup.venue.days.short(before.at);
            let said = format!("! it was booked already, {when}: nothing can be booked again");
            out.push(Line::from(Span::styled(text::fit(&said, wide), theme.error)));
        }
        let room = most.saturating_sub(out.len());
        out.extend(self.doubts(wide, room, theme));
        out
    }

    /// What is doubtful, as far as there is room for it; where there is not, how to see all of it.
    fn doubts(&self, wide: usize, room: usize, theme: &Theme) -> Vec<Line<'static>> {
        let doubts: Vec<_> = self.view.problems.iter().filter(|problem| problem.weight != Weight::Note).collect();
        let notes = self.view.problems.len() - doubts.len();
        let worded: Vec<Vec<Line<'static>>> = doubts.iter().map(|problem| worded(problem, wide, theme)).collect();
        let lines: usize = worded.iter().map(Vec::len).sum();
        let more = match (doubts.len(), notes) {
            (0, 0) => None,
            (0, notes) => Some(format!("{} on it: v", number_of(notes, "note", "notes"))),
            _ if lines <= room.min(DOUBTS) => None,
            (1, _) => Some("1 doubt: v shows all of it".to_owned()),
            (n, _) => Some(format!("{n} doubts: v shows all of them")),
        };
        let room = room.min(DOUBTS).saturating_sub(usize::from(more.is_some()));
        let more = more.map(|more| Line::from(Span::styled(text::fit(&more, wide), theme.key)));
        // Each is whole or left out; only the first may be cut.
        let mut out: Vec<Line<'static>> = Vec::new();
        for problem in worded {
            if !out.is_empty() && out.len() + problem.len() > room {
                break;
            }
            out.extend(problem);
        }
        out.truncate(room);
        out.extend(more);
        out
    }

    /// Which bills a credit note is about; of one that names none, which claims it may be for.
    fn about(&self, claims: &[KeptClaim]) -> String {
        let numbers = &self.view.file.invoice.preceding;
        if !numbers.is_empty() {
            return format!("about {}", text::safe(&numbers.join(", ")));
        }
        let mut same: Vec<&str> =
            self.view.of_same_sum(claims).into_iter().map(|claim| claim.document.as_str()).collect();
        same.dedup();
        match same[..] {
            [] => "names no bill: settles no claim".to_owned(),
            _ => format!("names no bill; of the same sum is open: {}", text::safe(&same.join(", "))),
        }
    }

    /// Its sums, in up to two lines.
    fn sums(&self, wide: usize, theme: &Theme) -> Vec<Line<'static>> {
        let view = &self.view;
        let against = &view.against;
        let first = match (view.supplier, against.open.is_empty()) {
            (None, _) => "all its lines",
            (Some(_), false) => "goods and open lines",
            (Some(_), true) => "goods",
        };
        let mut parts = vec![Span::styled(format!("{first} {}", self.coin(view.goods_and_open())), theme.title)];
        let charges = view.named_charges();
        let mut said: Vec<String> = charges
            .iter()
            .map(|(why, sum)| format!("{} {}", text::fit(&text::safe(why), REASON), self.coin(*sum)))
            .collect();
        if charges.len() > CHARGES {
            let all = charges.iter().map(|(_, sum)| *sum).sum();
            said = vec![format!("{} charges and allowances {}", charges.len(), self.coin(all))];
        }
        if let Some(last) = said.last_mut() {
            last.push_str(if view.spread { " shared out (s)" } else { " apart (s)" });
        }
        parts.extend(said.into_iter().map(Span::raw));
        let claimed: Money = against.claims(&view.setup).iter().map(|claim| claim.money).sum();
        if claimed > Money::ZERO {
            parts.push(Span::styled(format!("to claim {}", self.coin(claimed)), theme.warning));
        }
        for (what, sum) in [("deposits", view.deposits()), ("other", against.not_stock)] {
            if sum != Money::ZERO {
                parts.push(Span::raw(format!("{what} {}", self.coin(sum))));
            }
        }
        let mut out = fitting::lines(parts, wide, 2);
        // Said where there is room for it, never in a line of its own.
        let tax = format!("  without tax, {}", view.setup.venue.currency);
        if let Some(last) = out.last_mut().filter(|last| last.width() + text::width(&tax) <= wide) {
            last.push_span(Span::styled(tax, theme.muted));
        }
        out
    }

    fn billed(&self, line: usize) -> Option<&InvoiceLine> {
        self.view.file.invoice.lines.get(line)
    }

    fn row(&self, at: At, typing: bool, theme: &Theme) -> Row {
        // What stands right of the figure that is typed would show beside its end.
        let plain = |mut cells: [String; 9], style| {
            if typing {
                cells[CAME + 1].clear();
            }
            Row::Cells(cells.map(|c| Line::from(Span::styled(c, style))).to_vec())
        };
        let none = String::new;
        match at {
            At::Item(n) => match self.view.against.lines.get(n) {
                Some(line) => self.item_row(line, typing, theme),
                None => Row::Cells(Vec::new()),
            },
            At::Open(line) => {
                let billed = self.billed(line);
                let name = text::safe(billed.map_or("?", |billed| billed.called()));
                let what = match (self.view.supplier, self.plain_item(line)) {
                    (None, _) => String::new(),
                    (Some(_), None) => "what is it? o".to_owned(),
                    (Some(_), Some(_)) => "is it? y, o".to_owned(),
                };
                let quantity = billed.map_or(none(), quantity);
                plain(["?".to_owned(), name, none(), quantity, none(), what, none(), none(), none()], theme.warning)
            }
            At::Apart(line) => {
                let billed = self.billed(line);
                let name = text::safe(billed.map_or("?", |billed| billed.called()));
                let (what, amount) = match self.status(line) {
                    Some(Status::Deposit { amount, .. }) => ("deposit", *amount),
                    Some(Status::NotStock { amount, .. }) => ("not stock", *amount),
                    _ => ("", Money::ZERO),
                };
                let quantity = billed.map_or(none(), quantity);
                let amount = self.coin(amount);
                plain([none(), name, none(), quantity, none(), what.to_owned(), none(), amount, none()], theme.muted)
            }
        }
    }

    fn item_row(&self, line: &AgainstLine, typing: bool, theme: &Theme) -> Row {
        let setup = &self.view.setup;
        let currency = setup.venue.currency;
        let marks = line.marks();
        let mark = marks.first().copied();
        let style = if mark.is_some_and(presses) { theme.warning } else { theme.text };
        let words = mark.filter(|_| !typing).map_or(String::new(), |mark| mark_words(mark, line));
        let ordered = line.ordered.map_or(String::new(), |ordered| ordered.containers.to_string());
        let charged = line.invoiced.as_ref().map_or(String::new(), |invoiced| invoiced.containers.to_string());
        let came = if typing { String::new() } else { line.came.map_or(String::new(), |came| came.to_string()) };
        let agreed = line.ordered.map_or(String::new(), |ordered| shown(ordered.price(currency), currency));
        let each =
            line.invoiced.as_ref().map_or(String::new(), |invoiced| shown(invoiced.booked_price(currency), currency));
        let dear = marks.contains(&Mark::Dearer);
        let place = line.place.map_or("not said".to_owned(), |place| text::safe(setup.place_name(place)));
        Row::Cells(vec![
            Line::from(if line.came.is_some() { theme.glyphs.done } else { "" }),
            Line::from(text::safe(setup.item_name(line.item))),
            Line::from(ordered),
            Line::from(charged),
            Line::from(Span::styled(came, theme.title)),
            Line::from(Span::styled(words, style)),
            Line::from(agreed),
            Line::from(Span::styled(each, if dear { theme.warning } else { theme.text })),
            Line::from(place),
        ])
    }

    /// What the bill says in the line under the cursor, and what follows from it.
    fn foot(&self, wide: usize, theme: &Theme) -> Vec<Line<'static>> {
        let setup = &self.view.setup;
        let mut out = Vec::new();
        match self.here() {
            None => {}
            Some(At::Open(line)) => {
                out.push(self.as_billed(line, wide, theme));
                if let Some(Typing::Holds { item, .. }) = &self.typing {
                    let name = text::safe(setup.item_name(*item));
                    let said = format!("how many containers of {name} are all of this line?");
                    out.push(Line::from(Span::styled(text::fit(&said, wide), theme.title)));
                    return out;
                }
                if self.view.supplier.is_none() {
                    let said = "b: whose bill is it? That says what its lines may be";
                    out.push(Line::from(Span::styled(text::fit(said, wide), theme.warning)));
                }
                if let Some(Status::Question { why, item, likely, perhaps, .. }) = self.status(line) {
                    let said = text::wrap(&text::safe(why), wide);
                    out.extend(said.into_iter().take(1).map(|line| Line::from(Span::styled(line, theme.warning))));
                    let name = |item| text::safe(setup.item_name(item));
                    let is_none = self.billed(line).is_some_and(|billed| billed.quantity == Decimal::ZERO);
                    let first = match (self.plain_item(line), item.or(likely.first().map(|likely| likely.item))) {
                        (Some(item), _) => {
                            let many = match perhaps {
                                None => "Enter says how many".to_owned(),
                                Some(1) => "1 container".to_owned(),
                                Some(n) => format!("{n} containers"),
                            };
                            format!("y: {}, {many}", name(item))
                        }
                        (None, Some(item)) => format!("o: which item; perhaps {}", name(item)),
                        (None, None) => "o: which item".to_owned(),
                    };
                    let mut said = if is_none { Vec::new() } else { vec![first] };
                    if self.plain_item(line).is_some() && !is_none {
                        said.push("o: another item".to_owned());
                    }
                    let is_credit = self.view.file.invoice.kind == DocumentKind::CreditNote;
                    // A credit note is as likely about a price as about goods.
                    if is_credit {
                        said.insert(0, "w: money only".to_owned());
                    }
                    said.push("d: deposit".to_owned());
                    if !is_credit {
                        said.push("w: not stock".to_owned());
                    }
                    let said = said.into_iter().map(|part| Span::styled(part, theme.muted));
                    out.push(fitting::line(said, wide));
                }
            }
            Some(At::Apart(line)) => {
                out.push(self.as_billed(line, wide, theme));
                let said: [&str; 4] = if self.view.money_only.contains(&line) {
                    ["only money, on this bill alone", "w: on every later one too", "o: it is an item", "d: deposit"]
                } else {
                    ["stays apart from what stock costs", "o: it is an item", "d: deposit", "w: not stock"]
                };
                out.push(fitting::line(said.map(|part| Span::styled(part, theme.muted)), wide));
            }
            Some(At::Item(at)) => {
                let Some(line) = self.view.against.lines.get(at) else { return out };
                match line.invoiced.as_ref().and_then(|invoiced| invoiced.lines.first()) {
                    Some(first) => {
                        out.push(self.as_billed(*first, wide, theme));
                        if let Some(Status::Found { how, .. }) = self.status(*first) {
                            out.push(Line::from(Span::styled(text::fit(&text::safe(how), wide), theme.muted)));
                        }
                    }
                    None => {
                        let said = format!("{}: ordered, and not on this bill", setup.item_name(line.item));
                        out.push(Line::from(text::fit(&text::safe(&said), wide)));
                    }
                }
                let claims: Vec<String> =
                    crate::domain::receive::Against { lines: vec![line.clone()], ..Default::default() }
                        .claims(setup)
                        .into_iter()
                        .map(|claim| format!("to claim {}: {}", self.coin(claim.money), claim.words))
                        .collect();
                if let Some(first) = claims.first() {
                    out.push(Line::from(Span::styled(text::fit(&text::safe(first), wide), theme.warning)));
                } else if line.came.is_none() {
                    let back = self.view.file.invoice.kind == DocumentKind::CreditNote;
                    let said = if back {
                        "not looked at: did goods go back? y if as credited, 0 if it is money only"
                    } else {
                        "not looked at: y if it came as charged"
                    };
                    out.push(Line::from(Span::styled(text::fit(said, wide), theme.muted)));
                }
            }
        }
        out
    }

    /// A line of the bill as it stands there.
    fn as_billed(&self, line: usize, wide: usize, theme: &Theme) -> Line<'static> {
        let Some(billed) = self.billed(line) else { return Line::default() };
        let currency = self.view.setup.venue.currency;
        let mut parts = vec![
            Span::styled(format!("on the bill: {}", text::safe(billed.called())), theme.text),
            Span::raw(text::safe(&units::counted(billed.quantity, &billed.unit))),
        ];
        if let Some(price) = billed.price {
            parts.push(Span::raw(format!("at {}", currency.written(price))));
        }
        parts.push(Span::raw(format!("= {}", currency.written(billed.net))));
        if let Some(code) = &billed.seller_code {
            parts.push(Span::styled(format!("their number {}", text::safe(code)), theme.muted));
        }
        fitting::line(parts, wide)
    }
}

fn quantity(billed: &InvoiceLine) -> String {
    billed.quantity.to_string()
}

/// What stands out, with its figure.
fn mark_words(mark: Mark, line: &AgainstLine) -> String {
    let charged = line.invoiced.as_ref().map_or(0, |invoiced| invoiced.containers);
    let off = (line.came.unwrap_or(charged) - charged).abs();
    let ordered = line.ordered.map_or(0, |ordered| ordered.containers);
    match mark {
        Mark::Short | Mark::Over => format!("{} by {off}", mark.word()),
        Mark::NotCredited => format!("{off} not credited"),
        Mark::Kept => number_of(off, "stays here", "stay here"),
        Mark::Free => format!("{} free on top", (charged - ordered).abs()),
        Mark::More => "over the order".to_owned(),
        Mark::Less => "under the order".to_owned(),
        _ => mark.word().to_owned(),
    }
}
