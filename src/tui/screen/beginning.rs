//! Where there is no book yet: a few questions, and there is one.

use super::asking::{Asked, Asking, Cell};
use super::writing::Step;
use crate::domain::measure::{Currency, VolumeUnit};
use crate::domain::rows::{Guess, NewBar};
use crate::domain::venue::{DayRule, name_key, parse_hour, parse_zone};
use crate::tui::keymap::Action;
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::field::Field;
use crate::tui::widget::notice::Notice;
use crate::tui::widget::panel::{centred, panel};
use crate::words::{self, Language, Speech};
use chrono::NaiveTime;
use chrono_tz::Tz;
use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::Line;
use ratatui::widgets::Paragraph;

/// The widest that the box gets, and cells of a field.
const WIDTH: u16 = 78;
const FIELD: u16 = 46;
/// Letters that initials have at most.
const INITIALS: usize = 6;
/// Places that one can name here; more can come later.
const MOST_PLACES: usize = 30;
/// Where most bars have stock, in the order in which most are walked.
fn usual_places() -> &'static str {
    word!("Back bar, Speed rail, Fridge, Cellar")
}

/// What came of an action.
#[derive(Debug)]
pub enum Begun {
    /// Nothing yet.
    NotYet,
    /// Something is to be said.
    Say(Notice),
    /// This bar is to get a book.
    Bar(Box<NewBar>),
    /// The invented bar is to be shown first.
    LookAround,
    /// Nothing is begun.
    Left,
}

/// The fields.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Of {
    Language,
    Name,
    Coin,
    Zone,
    Starts,
    Volume,
    Tax,
    Places,
    By,
}

const LANGUAGES: &[&str] = &[Language::English.name(), Language::German.name()];
const VOLUMES: &[VolumeUnit] = &[VolumeUnit::Ml, VolumeUnit::Cl, VolumeUnit::Oz];

struct Form {
    guess: Guess,
    language: usize,
    name: Field,
    coin: Field,
    zone: Field,
    starts: Field,
    volume: usize,
    tax: usize,
    places: Field,
    by: Field,
}

impl Form {
    fn of(guess: Guess) -> Form {
        Form {
            guess,
            language: Language::ALL.iter().position(|language| *language == guess.language).unwrap_or(0),
            name: Field::new(60),
            coin: Field::with(3, guess.currency.map_or("", Currency::code)),
            zone: Field::with(40, guess.zone.map_or("", Tz::name)),
            starts: Field::with(8, &DayRule::STARTS.format("%H:%M").to_string()),
            volume: if guess.american { 2 } else { 0 },
            tax: usize::from(guess.american),
            places: Field::with(200, usual_places()),
            by: Field::new(INITIALS),
        }
    }

    fn tag(&self) -> String {
        self.guess.tag(Language::ALL.get(self.language).copied().unwrap_or_default())
    }

    fn name(&self) -> Result<String, String> {
        let name = self.name.text().trim();
        if name.is_empty() {
            Err(word!("What the bar is called, as it stands on orders").to_owned())
        } else {
            Ok(name.to_owned())
        }
    }

    fn coin(&self) -> Result<Currency, String> {
        self.coin
            .text()
            .trim()
            .to_uppercase()
            .parse()
            .map_err(|_| word!("The currency of all prices, by its three letters: EUR, USD, GBP, JPY").to_owned())
    }

    fn zone(&self) -> Result<Tz, String> {
        parse_zone(self.zone.text()).map_err(|e| e.to_string())
    }

    fn starts(&self) -> Result<NaiveTime, String> {
        parse_hour(self.starts.text()).map_err(|e| say!("{e}, well after the last guest", e))
    }

    fn places(&self) -> Result<Vec<String>, String> {
        let names: Vec<String> =
            self.places.text().split(',').map(|name| name.trim().to_owned()).filter(|name| !name.is_empty()).collect();
        let twice = |n: &usize| names[..*n].iter().any(|name| name_key(name) == name_key(&names[*n]));
        match (0..names.len()).find(twice) {
            _ if names.is_empty() => {
                Err(word!("Where stock stands, in the order in which you walk along it, with commas between")
                    .to_owned())
            }
            _ if names.len() > MOST_PLACES => {
                Err(say!("{MOST_PLACES} places at most; more can be added later", MOST_PLACES))
            }
            Some(n) => Err(say!("“{n}” is there twice", n = names[n])),
            None => Ok(names),
        }
    }

    /// Initials stand beside every line that is entered, so they are short; none at all is fine too.
    fn by(&self) -> Result<&str, String> {
        let by = self.by.text().trim();
        match by.chars().all(char::is_alphanumeric) && by.chars().count() <= INITIALS {
            true => Ok(by),
            false => Err(say!("“{by}” is not initials: up to {INITIALS} letters or digits, or nothing", by, INITIALS)),
        }
    }

    fn bar(&self) -> Option<NewBar> {
        let by = self.by().ok()?;
        Some(NewBar {
            name: self.name().ok()?,
            currency: self.coin().ok()?,
            days: DayRule { zone: self.zone().ok()?, starts: self.starts().ok()? },
            volume: VOLUMES.get(self.volume).copied().unwrap_or_default(),
            with_tax: self.tax == 0,
            language: self.tag(),
            places: self.places().ok()?,
            by: (!by.is_empty()).then(|| by.to_owned()),
        })
    }
}

impl Asked for Form {
    type Of = Of;

    fn all(&self) -> Vec<Of> {
        vec![Of::Language, Of::Name, Of::Coin, Of::Zone, Of::Starts, Of::Volume, Of::Tax, Of::Places, Of::By]
    }

    fn title(&self, of: Of) -> &'static str {
        match of {
            Of::Language => word!("Language"),
            Of::Name => word!("The bar is called"),
            Of::Coin => word!("Its currency"),
            Of::Zone => word!("Its time zone"),
            Of::Starts => word!("A day begins at"),
            Of::Volume => word!("Volumes in"),
            Of::Tax => word!("Prices on the menu"),
            Of::Places => word!("Places, as you walk"),
            Of::By => word!("You sign as"),
        }
    }

    fn cell(&mut self, of: Of) -> Cell<'_> {
        match of {
            Of::Language => Cell::Choice(&mut self.language, LANGUAGES),
            Of::Name => Cell::Typed(&mut self.name),
            Of::Coin => Cell::Typed(&mut self.coin),
            Of::Zone => Cell::Typed(&mut self.zone),
            Of::Starts => Cell::Typed(&mut self.starts),
            Of::Volume => Cell::Choice(&mut self.volume, &["ml", "cl", "fl oz"]),
            Of::Tax => Cell::Choice(&mut self.tax, &[text!("with tax"), text!("without tax")]),
            Of::Places => Cell::Typed(&mut self.places),
            Of::By => Cell::Typed(&mut self.by),
        }
    }

    fn said(&self, of: Of) -> Result<String, String> {
        match of {
            Of::Language => Ok(say!(
                "In which the screens speak; a half is written {shown}: Left and Right choose",
                shown = words::fixed(0.5, 1)
            )),
            Of::Name => self.name().map(|_| word!("What the bar is called, as it stands on orders").to_owned()),
            Of::Coin => self.coin().map(|coin| {
                say!(
                    "All prices are in {code}, with {decimals} decimals",
                    code = coin.code(),
                    decimals = coin.decimals()
                )
            }),
            Of::Zone => self.zone().map(|zone| say!("The clocks of {zone}", zone = zone.name().replace('_', " "))),
            Of::Starts => self
                .starts()
                .map(|at| say!("What is sold before {at} belongs to the evening before", at = at.format("%H:%M"))),
            Of::Volume => {
                Ok(word!("How volumes are shown; either way all of them can be typed: Left and Right choose")
                    .to_owned())
            }
            Of::Tax => Ok(word!("Whether the tax is in what a guest pays: Left and Right choose").to_owned()),
            Of::Places => self.places().map(|names| match names.len() {
                1 => word!("One place to count; more can be added later").to_owned(),
                many => say!("{many} places, counted in this order; more can be added later", many),
            }),
            Of::By => self.by().map(|_| {
                word!("Two or three letters that stand beside what you enter; may stay empty. Enter makes the book")
                    .to_owned()
            }),
        }
    }

    fn complete(&mut self, of: Of) {
        match of {
            Of::Zone => {
                if let Ok(zone) = self.zone() {
                    self.zone = Field::with(40, zone.name());
                }
            }
            Of::Coin => self.coin = Field::with(3, &self.coin.text().to_uppercase()),
            Of::Starts => {
                if let Ok(starts) = self.starts() {
                    self.starts = Field::with(8, &starts.format("%H:%M").to_string());
                }
            }
            _ => {}
        }
    }
}

/// The questions where there is no book yet.
pub struct BeginningScreen {
    asking: Asking<Form>,
    /// Where the book will be.
    book: String,
}

impl BeginningScreen {
    /// The questions, with what can be guessed filled in; `book` is where the book will be.
    pub fn new(book: &str, guess: Guess) -> BeginningScreen {
        BeginningScreen { asking: Asking::new(Form::of(guess), Of::Name), book: text::safe(book) }
    }

    /// What an action comes to.
    pub fn update(&mut self, action: Action) -> Begun {
        if action == Action::LookAround {
            return Begun::LookAround;
        }
        let (before, usual) = (self.asking.form.language, usual_places());
        let step = self.asking.apply(action);
        if self.asking.form.language != before {
            // Said at once in the other language, what was only proposed as well.
            Speech::of_tag(&self.tag()).speak();
            if self.asking.form.places.text() == usual {
                self.asking.form.places = Field::with(200, usual_places());
            }
        }
        match step {
            Step::Stay => Begun::NotYet,
            Step::Say(notice) => Begun::Say(notice),
            Step::Drop => Begun::Left,
            Step::Save => self.asking.form.bar().map_or(Begun::NotYet, |bar| Begun::Bar(Box::new(bar))),
        }
    }

    /// The tag of the language that is chosen, in the country that was guessed.
    pub fn tag(&self) -> String {
        self.asking.form.tag()
    }

    /// Takes text that came in one piece.
    pub fn paste(&mut self, pasted: &str) {
        self.asking.paste(pasted);
    }

    /// Draws the questions in the middle of the area.
    pub fn draw(&mut self, frame: &mut Frame, area: Rect, theme: &Theme) {
        let said = word!(
            "No book of a bar is here yet. Nine answers make one, and counting can begin; all of them can be changed \
                    later. Have plain files or a copy of a book? `tantalus init DIR` and `tantalus restore COPY` take them."
        );
        let wide = WIDTH.min(area.width);
        let mut lines: Vec<Line<'static>> =
            text::wrap(said, usize::from(wide.saturating_sub(4))).into_iter().map(Line::from).collect();
        let at = word!("It will be ");
        let path = text::fit_end(&self.book, usize::from(wide.saturating_sub(4)).saturating_sub(at.len()));
        lines.push(Line::styled(format!("{at}{path}"), theme.muted));
        let above = u16::try_from(lines.len()).unwrap_or(u16::MAX);
        let height = above + 1 + self.asking.height() + 2;
        let inner = panel(frame, centred(area, WIDTH, height), word!("A first evening"), theme);
        let above = above.min(inner.height);
        frame.render_widget(Paragraph::new(lines), Rect { height: above, ..inner });
        let gap = u16::from(inner.height >= height.saturating_sub(2));
        let y = (inner.y + above + gap).min(inner.bottom());
        self.asking.draw(frame, Rect { y, height: inner.bottom() - y, ..inner }, FIELD, theme);
    }
}
