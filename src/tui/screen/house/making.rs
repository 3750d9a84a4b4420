//! Booking a batch: how much was made, and what that takes from stock.

use super::HouseScreen;
use crate::domain::drink::{made_of, unusual_batches};
use crate::domain::ledger::Batch;
use crate::domain::measure::{Amount, Basis, Quantity};
use crate::domain::rows::HouseView;
use crate::domain::venue::{Item, ItemId, Moment, Seq};
use crate::tui::keymap::Action;
use crate::tui::screen::writing::{Done, is_move};
use crate::tui::screen::{Effect, Scene};
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::field::Field;
use crate::tui::widget::notice::Notice;
use crate::tui::widget::panel::{centred, panel};
use crate::words;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Part {
    Made,
    By,
    Note,
}

impl Part {
    const ALL: [Part; 3] = [Part::Made, Part::By, Part::Note];

    fn title(self) -> &'static str {
        match self {
            Part::Made => word!("Made"),
            Part::By => word!("By"),
            Part::Note => word!("Note"),
        }
    }
}

/// A batch being booked.
pub(super) struct MakeForm {
    item: ItemId,
    /// What the computing would make.
    advised: Option<Amount>,
    focus: Part,
    made: Field,
    by: Field,
    note: Field,
    error: Option<String>,
    /// Whether anything was typed, so that it is not thrown away by one key.
    changed: bool,
    leaving: bool,
}

impl MakeForm {
    pub(super) fn new(view: &HouseView, item: ItemId, advised: Option<Amount>, by: Option<&str>) -> MakeForm {
        let usual = view
            .recipe(item)
            .zip(view.setup.item(item))
            .map(|(recipe, item)| Quantity { basis: item.basis, amount: rounded(recipe.yields) }.to_string());
        let mut made = Field::with(16, &usual.unwrap_or_default());
        made.mark();
        MakeForm {
            item,
            advised,
            focus: Part::Made,
            made,
            by: Field::with(12, by.unwrap_or_default()),
            note: Field::new(80),
            error: None,
            changed: false,
            leaving: false,
        }
    }

    pub(super) fn apply(&mut self, action: Action, view: &HouseView, now: Moment) -> Done<Effect> {
        let at = Part::ALL.iter().position(|part| *part == self.focus).unwrap_or(0);
        let leaving = std::mem::take(&mut self.leaving);
        match action {
            Action::Cancel if self.changed && !leaving => {
                self.leaving = true;
                return Done::Say(Notice::warning(word!("Esc once more throws away what was typed")));
            }
            Action::Cancel => return Done::Dropped,
            Action::Accept if self.focus == Part::Note => return self.book(view, now),
            Action::Accept | Action::NextField => {
                if let Err(wrong) = self.amount(view).map(|_| ()) {
                    self.refuse(wrong);
                } else if let Some(next) = Part::ALL.get(at + 1) {
                    self.focus = *next;
                }
            }
            Action::PreviousField => self.focus = Part::ALL[at.saturating_sub(1)],
            _ => {
                self.error = None;
                self.changed |= self.field().apply(action) && !is_move(action);
            }
        }
        Done::NotYet
    }

    /// Back to how much was made, to be typed anew.
    fn refuse(&mut self, wrong: String) {
        self.error = Some(wrong);
        self.focus = Part::Made;
        self.made.mark();
    }

    fn field(&mut self) -> &mut Field {
        match self.focus {
            Part::Made => &mut self.made,
            Part::By => &mut self.by,
            Part::Note => &mut self.note,
        }
    }

    pub(super) fn paste(&mut self, text: &str) {
        self.error = None;
        self.changed = true;
        self.field().paste(text);
    }

    /// `1600 ml` as it is; a number alone as so many batches: `1`, `.5`, `2`.
    fn amount(&self, view: &HouseView) -> Result<Amount, String> {
        let item = view.setup.item(self.item).ok_or(word!("this item is not in the book any more"))?;
        let recipe = view.recipe(self.item).ok_or(word!("no recipe is valid today"))?;
        made_of(item, recipe, self.made.text(), &view.setup.venue.small)
    }

    fn book(&mut self, view: &HouseView, now: Moment) -> Done<Effect> {
        let made = match self.amount(view) {
            Ok(made) => made,
            Err(wrong) => {
                self.refuse(wrong);
                return Done::NotYet;
            }
        };
        let said = |field: &Field| Some(field.text().trim().to_owned()).filter(|text| !text.is_empty());
        let (by, note) = (said(&self.by), said(&self.note));
        let batch = Batch { seq: Seq(0), at: now, item: self.item, made, by, note };
        let book = Effect::MakeBatch(batch);
        if let Some(batches) = view.recipe(self.item).and_then(|recipe| unusual_batches(recipe, made)) {
            let show = view.setup.venue.show();
            let basis = view.setup.item(self.item).map_or(Basis::Volume, |i| i.basis);
            let short: Vec<String> = self
                .taken(view, made)
                .filter_map(|(item, _, left)| Some((item, -left.filter(|left| *left < Amount::ZERO)?)))
                .map(|(item, lacks)| {
                    say!("{lacks} of {name}", lacks = show.amount(item.basis, lacks), name = text::safe(&item.name))
                })
                .collect();
            let short = if short.is_empty() {
                String::new()
            } else {
                say!(" It is short of {short}.", short = short.join(", "))
            };
            let question = say!(
                "{made} of {item}: that is {batches} batches at once.{short} Is it so much?",
                made = show.amount(basis, made),
                item = text::safe(view.setup.item_name(self.item)),
                batches = words::fixed(batches, 1),
                short
            );
            return Done::Kept(Effect::ask(question, word!("books it"), word!("goes back to the form"), book));
        }
        Done::Kept(book)
    }

    pub(super) fn draw(&self, view: &HouseView, frame: &mut Frame, area: Rect, scene: Scene) {
        let theme = scene.theme;
        let Some(item) = view.setup.item(self.item) else { return };
        let title = say!("A batch of {name}", name = text::safe(&item.name));
        let inner = panel(frame, centred(area, 74, area.height), &title, theme);
        let [fields, said, below] =
            Layout::vertical([Constraint::Length(3), Constraint::Length(2), Constraint::Fill(1)]).areas(inner);
        for (part, y) in Part::ALL.into_iter().zip(fields.y..fields.bottom()) {
            let has_focus = part == self.focus;
            let style = if has_focus { theme.title } else { theme.text };
            let mark = if has_focus { ">" } else { " " };
            let label = Rect { y, height: 1, width: 8.min(fields.width), ..fields };
            frame.render_widget(Span::styled(format!("{mark}{}", part.title()), style), label);
            let (field, cells) = match part {
                Part::Made => (&self.made, 16),
                Part::By => (&self.by, 12),
                Part::Note => (&self.note, fields.width),
            };
            let place = Rect { x: label.right(), y, width: cells.min(fields.width - label.width), height: 1 };
            field.draw(frame, place, has_focus, theme);
        }
        let words = match (&self.error, self.focus) {
            (Some(wrong), _) => Err(wrong.clone()),
            (None, Part::Made) => Ok(self.made_hint(view, item)),
            (None, Part::By) => Ok(word!("Initials; may stay empty").to_owned()),
            (None, Part::Note) => Ok(word!("Anything to remember; Enter books the batch").to_owned()),
        };
        frame.render_widget(Paragraph::new(crate::tui::screen::told(words, said.width.into(), theme)), said);
        frame.render_widget(Paragraph::new(self.takes(view, item, below.width.into(), theme)), below);
    }

    fn made_hint(&self, view: &HouseView, item: &Item) -> String {
        let show = view.setup.venue.show();
        let advised = self.advised.filter(|amount| *amount > Amount::ZERO);
        let advised = advised.map_or(String::new(), |amount| {
            say!("; for the days to come {amount} would do", amount = show.amount(item.basis, amount))
        });
        say!("How much came out, as measured; a number alone is so many batches: 1, .5{advised}", advised)
    }

    fn is_counted(&self, view: &HouseView) -> bool {
        view.on_hand.contains_key(&self.item)
    }

    /// What so much takes of each item, and what is left of that then; nothing of one that is not counted.
    fn taken<'a>(&self, view: &'a HouseView, made: Amount) -> impl Iterator<Item = (&'a Item, Amount, Option<Amount>)> {
        let counted = self.is_counted(view);
        view.recipe(self.item).into_iter().flat_map(move |recipe| {
            recipe.takes.iter().filter_map(move |part| {
                let amount = part.amount.times(made.0, recipe.yields.0.max(1));
                let there = HouseScreen::there(view, part.item);
                let left = there.map(|there| if counted { there - amount } else { there });
                Some((view.setup.item(part.item)?, amount, left))
            })
        })
    }

    /// What the batch takes, and what will be left of each.
    fn takes(&self, view: &HouseView, item: &Item, wide: usize, theme: &Theme) -> Vec<Line<'static>> {
        let setup = &view.setup;
        let show = setup.venue.show();
        let (Ok(made), Some(recipe)) = (self.amount(view), view.recipe(self.item)) else { return Vec::new() };
        let batches = say!(
            "{yields} batches of {yields_2}",
            yields = words::fixed(made.per(recipe.yields), 2),
            yields_2 = show.amount(item.basis, recipe.yields)
        );
        let name_cells = wide.saturating_sub(42).clamp(10, 30);
        let head = format!(
            "{} {} {}",
            text::pad_right(word!("takes from stock"), name_cells),
            text::pad_left(word!("amount"), 12),
            text::pad_left(word!("left then"), 14)
        );
        let mut lines =
            vec![Line::from(Span::styled(batches, theme.muted)), Line::from(Span::styled(head, theme.title))];
        for (takes, amount, left) in self.taken(view, made) {
            let (words, style) = match left {
                None => (word!("not counted").to_owned(), theme.muted),
                Some(left) if left < Amount::ZERO => {
                    (say!("{left} short", left = show.amount(takes.basis, -left)), theme.warning)
                }
                Some(left) => (show.amount(takes.basis, left), theme.text),
            };
            let row = format!(
                "{} {} ",
                text::pad_right(&text::safe(&takes.name), name_cells),
                text::pad_left(&show.amount(takes.basis, amount), 12)
            );
            lines.push(Line::from(vec![Span::raw(row), Span::styled(text::pad_left(&words, 14), style)]));
        }
        if let Some(water) = &recipe.water {
            let scale = made.per(recipe.yields);
            let amount = Amount::rounded(water.quantity.amount.as_f64() * scale);
            let row = format!(
                "{} {} ",
                text::pad_right(word!("Water from the tap"), name_cells),
                text::pad_left(&show.amount(water.quantity.basis, amount), 12)
            );
            lines.push(Line::from(row));
        }
        if !self.is_counted(view) {
            let said =
                say!("{name} was never counted: what goes in leaves the stock as drinks are sold.", name = item.name);
            lines.extend(text::wrap(&text::safe(&said), wide).into_iter().map(Line::from));
        }
        lines.push(Line::default());
        let keeps = match item.keeps_days {
            Some(days) => {
                let last = crate::domain::drink::last_day(view.larder.day, days);
                say!(
                    "Made today it keeps until {last} by your setting ({days} days, today the first). ",
                    last = words::day(last, "%a %-d %b"),
                    days
                )
            }
            None => word!("No keeping time is set for it. ").to_owned(),
        };
        let caution = say!(
            "{keeps}Keeping time is your decision under your own food-safety plan; check your local code. A batch keeps \
             no longer than the oldest thing in it.",
            keeps
        );
        lines.extend(text::wrap(&caution, wide).into_iter().map(|line| Line::from(Span::styled(line, theme.muted))));
        lines
    }
}

/// To a whole millilitre, gram or thousandth: nobody measures finer, and it is only proposed.
fn rounded(amount: Amount) -> Amount {
    if amount.0 > 10_000 { amount.times(1, 1_000).times(1_000, 1) } else { amount }
}
