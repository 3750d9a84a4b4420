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
use crate::words;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::{Clear, Paragraph};

const COLUMNS: &[Column] = &[
    Column::words("", Width::Fixed(1), 0),
    Column::words(text!("item"), Width::Flex(14), 0),
    Column::figures(text!("ordered"), 7, 0),
    Column::figures(text!("charged"), 7, 0),
    Column::figures(text!("came"), 6, 0),
    Column::words("", Width::Fixed(15), 0),
    Column::figures(text!("agreed at"), 9, 2),
    Column::figures(text!("each at"), 9, 1),
    Column::words(text!("put in"), Width::Flex(9), 3),
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
                let asked =
                    word!("Not all that was ordered came. What is given up is suggested again once it is short.");
                draw_rest(frame, area, asked, true, theme);
            }
            Some(Asking::IsForIt) => {
                let (_, said) = self.answers();
                let question = say!(
                    "Is this the bill for what was {said}? Then none of that goes into stock again; the bill only says what it costs.{claimed}",
                    said,
                    claimed = self.claimed()
                );
                Confirm::new(question, word!("yes, it is"), word!("goes back: n sets it beside something else"))
                    .draw(frame, area, theme);
            }
            Some(Asking::AsCharged) => {
                let n = self.unsaid();
                let lines = number_of(n, word!("line is"), word!("lines are"));
                let (came, takes) = match self.view.file.invoice.kind {
                    DocumentKind::CreditNote => {
                        (word!("go back as it is credited"), word!("takes the rest as gone back"))
                    }
                    _ => (word!("come as it is charged"), word!("takes the rest as charged")),
                };
                let question = say!("{lines} not looked at. Did all of it {came}?", lines, came);
                Confirm::new(question, takes, word!("goes on looking")).draw(frame, area, theme);
            }
            Some(Asking::Many(came)) => {
                let item = self.item().map(|line| self.view.setup.item_name(line.item)).unwrap_or_default();
                let question = say!("Did {came} containers of {item} come?", came, item);
                let yes = say!("yes, {came} came", came);
                Confirm::new(question, yes, word!("goes back to the figure")).draw(frame, area, theme);
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
            1 => say!(" 1 difference of {money} would be claimed.", money = self.coin(money)),
            n => say!(" {n} differences of {money} would be claimed.", n, money = self.coin(money)),
        }
    }

    fn coin(&self, money: Money) -> String {
        self.view.setup.venue.show().money(money)
    }

    /// Whose bill it is, what it answers, its sums, and what is doubtful about it, in `most` lines.
    fn head(&self, claims: &[KeptClaim], wide: usize, most: usize, theme: &Theme) -> Vec<Line<'static>> {
        let view = &self.view;
        let invoice = &view.file.invoice;
        let (kind, day) = (invoice.kind.said(), say!(" of {day}", day = words::day(invoice.issued, "%a %-d %b")));
        let number = wide.saturating_sub(text::width(kind) + 1 + text::width(&day));
        let what = format!("{kind} {}{day}", text::fit(&text::safe(&invoice.number), number));
        // A long name gives way: number and day say which bill it is. Where little is left of it, it has its own line.
        let least = if view.supplier.is_some() { NAME } else { NAME + WHOSE };
        let room = Some(wide.saturating_sub(text::width(&what) + 2)).filter(|room| *room >= least).unwrap_or(wide);
        let who = match view.supplier.and_then(|id| view.setup.supplier(id)) {
            Some(supplier) => Span::styled(text::fit(&text::safe(&supplier.name), room), theme.title),
            None => {
                let name = text::fit(&text::safe(&invoice.seller.name), room.saturating_sub(WHOSE));
                Span::styled(say!("“{name}”: whose is it? b", name), theme.warning)
            }
        };
        let mut out = fitting::lines([who, Span::raw(what)], wide, 2);
        let (answered, answers) = self.answers();
        let more = match view.may_answer.len() {
            0..=1 => String::new(),
            n => say!("n shows the next of {n}", n),
        };
        let answers = match answered {
            Answers::Delivery(_) => say!("only says the price of what was {answers}", answers = text::safe(&answers)),
            Answers::Nothing if invoice.kind == DocumentKind::CreditNote => self.about(claims),
            Answers::Order(_) | Answers::Nothing => say!("beside {answers}", answers = text::safe(&answers)),
        };
        let answers = Span::raw(answers);
        let day = match view.delivered {
            Some(day) if self.on_its_day => say!("came {day}, as it says (t)", day = words::day(day, "%a %-d %b")),
            Some(_) => word!("came today (t)").to_owned(),
            None => String::new(),
        };
        let more = Span::styled(more, theme.muted);
        out.push(fitting::line([answers, more, Span::styled(day, theme.muted)], wide));
        out.extend(self.sums(wide, theme));
        if let Some(before) = &view.before {
            let when = view.setup.venue.days.short(before.at);
            let said = say!("! it was booked already, {when}: nothing can be booked again", when);
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
            (0, notes) => Some(say!("{notes} on it: v", notes = number_of(notes, word!("note"), word!("notes")))),
            _ if lines <= room.min(DOUBTS) => None,
            (1, _) => Some(word!("1 doubt: v shows all of it").to_owned()),
            (n, _) => Some(say!("{n} doubts: v shows all of them", n)),
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
            return say!("about {numbers}", numbers = text::safe(&numbers.join(", ")));
        }
        let mut same: Vec<&str> =
            self.view.of_same_sum(claims).into_iter().map(|claim| claim.document.as_str()).collect();
        same.dedup();
        match same[..] {
            [] => word!("names no bill: settles no claim").to_owned(),
            _ => say!("names no bill; of the same sum is open: {same}", same = text::safe(&same.join(", "))),
        }
    }

    /// Its sums, in up to two lines.
    fn sums(&self, wide: usize, theme: &Theme) -> Vec<Line<'static>> {
        let view = &self.view;
        let against = &view.against;
        let first = match (view.supplier, against.open.is_empty()) {
            (None, _) => word!("all its lines"),
            (Some(_), false) => word!("goods and open lines"),
            (Some(_), true) => word!("goods"),
        };
        let mut parts = vec![Span::styled(format!("{first} {}", self.coin(view.goods_and_open())), theme.title)];
        let charges = view.named_charges();
        let mut said: Vec<String> = charges
            .iter()
            .map(|(why, sum)| format!("{} {}", text::fit(&text::safe(why), REASON), self.coin(*sum)))
            .collect();
        if charges.len() > CHARGES {
            let all = charges.iter().map(|(_, sum)| *sum).sum();
            said = vec![say!("{charges} charges and allowances {all}", charges = charges.len(), all = self.coin(all))];
        }
        if let Some(last) = said.last_mut() {
            last.push_str(if view.spread { word!(" shared out (s)") } else { word!(" apart (s)") });
        }
        parts.extend(said.into_iter().map(Span::raw));
        let claimed: Money = against.claims(&view.setup).iter().map(|claim| claim.money).sum();
        if claimed > Money::ZERO {
            parts.push(Span::styled(say!("to claim {claimed}", claimed = self.coin(claimed)), theme.warning));
        }
        for (what, sum) in [(word!("deposits"), view.deposits()), (word!("other"), against.not_stock)] {
            if sum != Money::ZERO {
                parts.push(Span::raw(format!("{what} {}", self.coin(sum))));
            }
        }
        let mut out = fitting::lines(parts, wide, 2);
        // Said where there is room for it, never in a line of its own.
        let tax = say!("  without tax, {currency}", currency = view.setup.venue.currency);
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
                    (Some(_), None) => word!("what is it? o").to_owned(),
                    (Some(_), Some(_)) => word!("is it? y, o").to_owned(),
                };
                let quantity = billed.map_or(none(), quantity);
                plain(["?".to_owned(), name, none(), quantity, none(), what, none(), none(), none()], theme.warning)
            }
            At::Apart(line) => {
                let billed = self.billed(line);
                let name = text::safe(billed.map_or("?", |billed| billed.called()));
                let (what, amount) = match self.status(line) {
                    Some(Status::Deposit { amount, .. }) => (word!("deposit"), *amount),
                    Some(Status::NotStock { amount, .. }) => (word!("not stock"), *amount),
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
        let place = line.place.map_or(word!("not said").to_owned(), |place| text::safe(setup.place_name(place)));
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
                    let said = say!("how many containers of {name} are all of this line?", name);
                    out.push(Line::from(Span::styled(text::fit(&said, wide), theme.title)));
                    return out;
                }
                if self.view.supplier.is_none() {
                    let said = word!("b: whose bill is it? That says what its lines may be");
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
                                None => word!("Enter says how many").to_owned(),
                                Some(1) => word!("1 container").to_owned(),
                                Some(n) => say!("{n} containers", n),
                            };
                            format!("y: {}, {many}", name(item))
                        }
                        (None, Some(item)) => say!("o: which item; perhaps {item}", item = name(item)),
                        (None, None) => word!("o: which item").to_owned(),
                    };
                    let mut said = if is_none { Vec::new() } else { vec![first] };
                    if self.plain_item(line).is_some() && !is_none {
                        said.push(word!("o: another item").to_owned());
                    }
                    let is_credit = self.view.file.invoice.kind == DocumentKind::CreditNote;
                    // A credit note is as likely about a price as about goods.
                    if is_credit {
                        said.insert(0, word!("w: money only").to_owned());
                    }
                    said.push(word!("d: deposit").to_owned());
                    if !is_credit {
                        said.push(word!("w: not stock").to_owned());
                    }
                    let said = said.into_iter().map(|part| Span::styled(part, theme.muted));
                    out.push(fitting::line(said, wide));
                }
            }
            Some(At::Apart(line)) => {
                out.push(self.as_billed(line, wide, theme));
                let said: [&str; 4] = if self.view.money_only.contains(&line) {
                    [
                        word!("only money, on this bill alone"),
                        word!("w: on every later one too"),
                        word!("o: it is an item"),
                        word!("d: deposit"),
                    ]
                } else {
                    [
                        word!("stays apart from what stock costs"),
                        word!("o: it is an item"),
                        word!("d: deposit"),
                        word!("w: not stock"),
                    ]
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
                        let said = say!("{item}: ordered, and not on this bill", item = setup.item_name(line.item));
                        out.push(Line::from(text::fit(&text::safe(&said), wide)));
                    }
                }
                let claims: Vec<String> =
                    crate::domain::receive::Against { lines: vec![line.clone()], ..Default::default() }
                        .claims(setup)
                        .into_iter()
                        .map(|claim| {
                            say!("to claim {claim}: {words}", claim = self.coin(claim.money), words = claim.words)
                        })
                        .collect();
                if let Some(first) = claims.first() {
                    out.push(Line::from(Span::styled(text::fit(&text::safe(first), wide), theme.warning)));
                } else if line.came.is_none() {
                    let back = self.view.file.invoice.kind == DocumentKind::CreditNote;
                    let said = if back {
                        word!("not looked at: did goods go back? y if as credited, 0 if it is money only")
                    } else {
                        word!("not looked at: y if it came as charged")
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
            Span::styled(say!("on the bill: {called}", called = text::safe(billed.called())), theme.text),
            Span::raw(text::safe(&units::counted(billed.quantity, &billed.unit))),
        ];
        if let Some(price) = billed.price {
            parts.push(Span::raw(say!("at {price}", price = currency.written(price))));
        }
        parts.push(Span::raw(format!("= {}", currency.written(billed.net))));
        if let Some(code) = &billed.seller_code {
            parts.push(Span::styled(say!("their number {code}", code = text::safe(code)), theme.muted));
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
        Mark::Short | Mark::Over => say!("{mark} by {off}", mark = mark.said(), off),
        Mark::NotCredited => say!("{off} not credited", off),
        Mark::Kept => number_of(off, word!("stays here"), word!("stay here")),
        Mark::Free => say!("{ordered} free on top", ordered = (charged - ordered).abs()),
        Mark::More => word!("over the order").to_owned(),
        Mark::Less => word!("under the order").to_owned(),
        _ => mark.said().to_owned(),
    }
}
