//! A card of the set-up: an item, a place, a supplier, a day or the bar itself, field by field.

use super::Scene;
use super::asking::{Asked, Asking, Cell};
use super::writing::Step;
use crate::domain::rows::{Card, CardFault, CardLine, Fills};
use crate::tui::keymap::Action;
use crate::tui::text;
use crate::tui::widget::field::Field;
use crate::tui::widget::notice::Notice;
use crate::tui::widget::panel::{centred, panel};
use crate::words;
use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;

/// The widest that the box gets, cells of a field, and the longest text of one.
const WIDTH: u16 = 84;
const FIELD: u16 = 56;
const LONGEST: usize = 300;
/// What stands in a choice where nothing is said.
const UNSAID: &str = text!("as the bar has it");

/// What stands over what another supplier asks.
const ALSO: &str = text!("Bought elsewhere too");

/// What came of an action.
#[derive(Debug)]
pub enum CardDone {
    /// Nothing yet.
    NotYet,
    /// Something is to be said.
    Say(Notice),
    /// It is to be looked at; the screen is told by `checked`.
    Look(Box<Card>),
    /// It is to be kept.
    Keep(Box<Card>),
    /// It is thrown away.
    Dropped,
}

/// How a field is filled in on this card.
#[derive(Debug)]
enum Filled {
    Typed(Field),
    Choice { at: usize, words: Vec<&'static str>, shown: Vec<&'static str> },
}

#[derive(Debug)]
struct Form {
    card: Card,
    filled: Vec<Filled>,
    /// What is wrong with a field, as long as it says what it said then.
    faults: Vec<(usize, String, String)>,
}

impl Form {
    fn text(&self, n: usize) -> String {
        match self.filled.get(n) {
            Some(Filled::Typed(field)) => field.text().trim().to_owned(),
            Some(Filled::Choice { at, words, .. }) => words.get(*at).copied().unwrap_or_default().to_owned(),
            None => String::new(),
        }
    }

    /// The card as it is written now.
    fn written(&self) -> Card {
        let mut card = self.card.clone();
        for (n, field) in card.fields.iter_mut().enumerate() {
            field.text = self.text(n);
        }
        card
    }
}

impl Asked for Form {
    type Of = usize;

    fn all(&self) -> Vec<usize> {
        (0..self.filled.len()).collect()
    }

    fn title(&self, of: usize) -> &'static str {
        self.card.fields.get(of).map_or("", |field| words::find(field.ask.title))
    }

    fn heading(&self, of: usize) -> Option<&'static str> {
        let field = self.card.fields.get(of)?;
        match field.line {
            CardLine::Offer(1..) => field.ask.heading.map(|_| words::find(ALSO)),
            _ => field.ask.heading.map(words::find),
        }
    }

    fn cell(&mut self, of: usize) -> Cell<'_> {
        match &mut self.filled[of] {
            Filled::Typed(field) => Cell::Typed(field),
            Filled::Choice { at, shown, .. } => Cell::Choice(at, shown),
        }
    }

    fn said(&self, of: usize) -> Result<String, String> {
        let text = self.text(of);
        match self.faults.iter().find(|(n, written, _)| *n == of && *written == text) {
            Some((.., said)) => Err(said.clone()),
            None => Ok(match self.card.fields.get(of) {
                Some(field) => match &self.filled[of] {
                    Filled::Choice { shown, .. } => {
                        let shown: Vec<&str> = shown.iter().map(|word| words::find(word)).collect();
                        format!("{}: {}", words::find(field.ask.about), shown.join(", "))
                    }
                    Filled::Typed(_) => words::find(field.ask.about).to_owned(),
                },
                None => String::new(),
            }),
        }
    }
}

/// A card that is being written.
#[derive(Debug)]
pub struct CardScreen {
    asking: Asking<Form>,
    /// What was in the fields when they were looked at last.
    looked: Card,
    /// The field that was left, until it was looked at.
    left: Option<usize>,
}

impl CardScreen {
    /// The card, the cursor in its first field.
    pub fn new(card: Card) -> CardScreen {
        let filled = card.fields.iter().map(|field| match field.ask.fills {
            Fills::Text | Fills::Figure | Fills::Amount | Fills::Size => {
                Filled::Typed(Field::with(LONGEST, &field.text))
            }
            Fills::Choice(words) => {
                let words = words();
                let at = words.iter().position(|word| *word == field.text).unwrap_or(0);
                let shown = words.iter().map(|word| if word.is_empty() { UNSAID } else { word }).collect();
                Filled::Choice { at, words, shown }
            }
        });
        let form = Form { filled: filled.collect(), faults: Vec::new(), card };
        CardScreen { looked: form.written(), asking: Asking::new(form, 0), left: None }
    }

    /// What an action comes to.
    pub fn update(&mut self, action: Action) -> CardDone {
        let before = self.asking.focus();
        if action == Action::Save && self.asking.form.written() != self.looked {
            // What was wrong may be sound with what was written since: keeping it tells.
            self.asking.form.faults.clear();
        }
        match self.asking.apply(action) {
            Step::Stay => {
                let written = self.asking.form.written();
                if self.asking.focus() == before || written == self.looked {
                    return CardDone::NotYet;
                }
                self.left = Some(before);
                self.looked = written.clone();
                CardDone::Look(Box::new(written))
            }
            Step::Say(notice) => CardDone::Say(notice),
            Step::Drop => CardDone::Dropped,
            Step::Save => CardDone::Keep(Box::new(self.asking.form.written())),
        }
    }

    /// The cursor in another field.
    pub fn go_to(&mut self, field: usize) {
        self.asking.apply(Action::Line(field));
    }

    /// Takes text that came in one piece.
    pub fn paste(&mut self, pasted: &str) {
        self.asking.paste(pasted);
    }

    /// What is wrong with the card as it was looked at: whoever has just left such a field is back in it.
    pub fn checked(&mut self, faults: Vec<CardFault>) {
        self.note(&faults);
        if let Some(left) = self.left.take().filter(|left| faults.iter().any(|fault| fault.field == Some(*left))) {
            self.asking.refuse(left);
        }
    }

    /// The card was not kept: the cursor is in the first field that is wrong. Gives what is said of no field.
    pub fn refused(&mut self, faults: Vec<CardFault>) -> Option<String> {
        self.note(&faults);
        match faults.iter().filter_map(|fault| fault.field).min() {
            Some(first) => {
                self.asking.refuse(first);
                None
            }
            None => faults.into_iter().next().map(|fault| fault.said),
        }
    }

    /// Keeps what is wrong. One thing that is wrong may hide another, so what was wrong with a field that says the same still
    /// is wrong, until all of the card is sound.
    fn note(&mut self, faults: &[CardFault]) {
        let form = &mut self.asking.form;
        let new: Vec<(usize, String, String)> = faults
            .iter()
            .filter_map(|fault| {
                let n = fault.field?;
                Some((n, form.text(n), fault.said.clone()))
            })
            .collect();
        let mut had = std::mem::take(&mut form.faults);
        had.retain(|(n, text, _)| !faults.is_empty() && *text == form.text(*n) && new.iter().all(|(m, ..)| m != n));
        form.faults = new;
        form.faults.append(&mut had);
    }

    /// Draws the card over the middle of the area.
    pub fn draw(&mut self, frame: &mut Frame, area: Rect, scene: Scene) {
        let wide = WIDTH.min(area.width);
        let card = &self.asking.form.card;
        let notes: Vec<Line<'static>> = card
            .notes
            .iter()
            .flat_map(|note| text::wrap(&text::safe(note), usize::from(wide.saturating_sub(4))))
            .map(|line| Line::from(Span::styled(line, scene.theme.muted)))
            .collect();
        let above = u16::try_from(notes.len()).unwrap_or(0).min(area.height / 4);
        let title = text::safe(&card.title());
        let height = self.asking.height().saturating_add(2 + above);
        let inner = panel(frame, centred(area, WIDTH, height), &title, scene.theme);
        let above = above.min(inner.height);
        frame.render_widget(Paragraph::new(notes), Rect { height: above, ..inner });
        let fields = Rect { y: inner.y + above, height: inner.height - above, ..inner };
        self.asking.draw(frame, fields, FIELD, scene.theme);
    }
}
