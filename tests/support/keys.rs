//! Whoever presses any key at all: keys, pastes, pauses and window sizes at random over every screen of the demo bar, in
//! the process. Nothing may panic, no state may hold anybody, and the book must be sound afterwards.

#![allow(dead_code, clippy::unwrap_used)]

use crate::demo;
use rand::seq::IndexedRandom;
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use ratatui::crossterm::event::{
    KeyCode, KeyEvent, KeyEventKind, KeyModifiers, MouseButton, MouseEvent, MouseEventKind,
};
use ratatui::{Terminal, backend::TestBackend};
use std::collections::{BTreeMap, HashMap, VecDeque};
use std::fmt::Write;
use std::fs;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};
use tantalus::app::{App, Beginning, Options, Outcome, Stage};
use tantalus::desk;
use tantalus::domain::rows::Guess;
use tantalus::domain::venue::{Moment, Rights};
use tantalus::store::Store;
use tantalus::tui::keymap::{Action, Binding, Does, Key, Scope, active, resolve};
use tantalus::tui::theme::{Depth, Look, Theme};
use tantalus::words::Speech;

/// So many times Esc, at most, lead from anywhere to where the letters of the screens work.
pub(crate) const OUT: usize = 4;
/// Events on one copy of the book, so that it does not grow without end.
const EVENING: usize = 4_000;
/// Lines of a report that takes long enough to be seen as work.
const LONG: usize = 60_000;

/// Ways into what chance would hardly find: `↵` is Enter, `⎋` Esc, `⌫` an empty field, `⌃` the search over everything, `◉` a drawing, `‹name›` the path of a file pasted; what
/// ends with `~` does not wait for work to end. Those that only a fresh book has come first.
const WAYS: &[&str] = &[
    "R",
    "IvGp",
    "Ivp⎋vp",
    "V",
    "Vz↵",
    "Vza",
    "V↵a",
    "Vb+-",
    "Vb↵",
    "V↵b↵",
    "V↵bb",
    "Vo",
    "Ox↵Rf‹bill-of-the-demo.xml›↵y↵wy5↵11↵A↵x↵◉↵m",
    "Ox↵Rf‹bill-of-the-demo.xml›↵y↵wy5↵11↵A↵x↵◉↵ms",
    "Cf01:30↵⌫OM↵↵1.2↵↵.8.3↵30:0↵2.⎋:5↵x↵⎋⎋",
    "Cb↵47↵m1.2↵↵mx↵⎋⎋",
    "C↵47398x↵↵918↵77",
    "Ox↵Rf‹bill-of-the-demo.xml›↵v",
    "C↵n47f+5+",
    "C↵m1.2↵.8.3↵0↵1.",
    "C↵m1.2↵↵x",
    "C↵m4↵3.8↵.3↵x↵↵9",
    "C47398x↵↵918↵77",
    "C↵aOne that nobody knows↵↵70cl",
    "Cf",
    "Cf01:30↵⌫OM↵↵",
    "Cf01:30↵⌫OM↵↵1.2↵↵.8.3↵",
    "Cf01:30↵⌫OM↵↵:",
    "Cf01:30↵⌫OM↵↵30:0↵2.",
    "O",
    "O↵",
    "Ob2000↵nnnnnn",
    "Ob",
    "O3",
    "Ox↵R",
    "Ox↵R0↵Ax",
    "Ox↵R0↵Ax↵",
    "Ox↵Rf‹bill-of-the-demo.xml›↵",
    "Ox↵Rf‹bill-of-the-demo.xml›↵y5",
    "Rf‹bill-of-the-demo.xml›↵v",
    "Ox↵Rf‹bill-of-the-demo.xml›↵y↵wy5↵11↵A↵x↵◉↵b",
    "Rf‹ubl-rechnung.xml›↵",
    "Rf‹hybrid-facturx.pdf›↵b",
    "La",
    "Larum↵60 ml↵b↵S↵↵knocked over↵",
    "S↵",
    "Sc",
    "Swj",
    "c",
    "cx↵",
    "E",
    "E/corvanel dark↵↵",
    "E4.5",
    "Em",
    "Eb",
    "D↵",
    "De",
    "Dc",
    "Dw",
    "Dwvarrow↵18",
    "D↵b",
    "DaNew one↵↵11↵",
    "H/shrub↵",
    "H↵",
    "Hb",
    "He",
    "I",
    "Ii",
    "If‹de_lines_windows1252.csv›↵",
    "If‹de_lines_windows1252.csv›↵↵",
    "If‹it_totals_one_day.csv›↵G↵",
    "If‹us_lines_am_pm.csv›↵xx",
    "If‹dsfinvk-zwei-abschluesse.zip›↵",
    "If‹dsfinvk-zwei-abschluesse.zip›↵x",
    "If‹dsfinvk-zwei-abschluesse.zip›↵xi",
    "If‹saft-no-kassasystem.xml›↵x",
    "If‹long.csv›↵~",
    "Eb~",
    "If",
    "U",
    "U/corvanel↵",
    "U/corvanel↵t143mm",
    "U/corvanel↵m↵↵76.5↵165↵4",
    "B",
    "B↵n",
    "Bju↵",
    "Bjr↵",
    "Bp",
    "Bpazz↵Zed↵",
    "Bpa",
    "TW",
    "TWom↵",
    "Bpn2",
    "P",
    "Pjjjv",
    "Pa",
    "Pe↵↵",
    "PaNew hands↵",
    "Pjx↵",
    "SaNew cordial↵hjuice",
    "Se↵↵↵",
    "S↵e",
    "Sf‹de_lines_windows1252.csv›↵fh x",
    "Sf‹us_lines_am_pm.csv›↵jn n np",
    "Sf‹us_lines_am_pm.csv›↵G↵",
    "Bs",
    "Bse↵",
    "Bsja",
    "BsGaX↵12-24↵",
    "Bsjx↵",
    "?",
    "/rum",
    "⌃",
    "⌃losses↵",
    "⌃quaymoss↵",
    "S⌃new loss↵",
    "⌃change the bar↵",
];

/// What people type, and what nobody should.
const TEXTS: &[&str] = &[
    "1.4",
    ".8",
    "9.9",
    "812g",
    "1.3kg",
    "143mm",
    "2 .4 .7",
    "0",
    "12",
    "60 ml",
    "700 g",
    "1.6 l",
    "3 each",
    "11.50",
    "2000",
    "-5",
    "0.0001",
    "99999999999",
    "1e9",
    "+5 %",
    "01:30",
    "yesterday 01:30",
    "2026-11-22 01:30",
    "2026-11-30",
    "2026-02-30",
    "OM",
    "TV",
    "nobody",
    "rum",
    "Corvanel",
    "gin",
    "New one",
    "coupe",
    "shake",
    "limes",
    "knocked over",
    "credit note 17",
    "=1+1",
    "-2+3",
    "@sum",
    "\"quoted\"",
    "a;b,c\td",
    "Straße",
    "e\u{301}",
    "梅酒",
    "🍸",
    "\u{202e}desrever",
    "\u{200b}",
    "\u{1b}[2J",
    "\r\n",
    "a\nb\nc",
    "",
    " ",
    "7=Harbour gin*6",
    "5012345678900",
    "52000014",
    "01:30 OM",
    "\u{feff}bom",
    "name with a very long tail that goes on and on until no field could hold it, and then some more of it, to be sure of it",
];

/// Files that are pasted into the choice of a file.
const FILES: &[&str] = &[
    "bill-of-the-demo.xml",
    "ubl-rechnung.xml",
    "ubl-gutschrift.xml",
    "cii-rechnung.xml",
    "hybrid-facturx.pdf",
    "de_lines_windows1252.csv",
    "us_lines_am_pm.csv",
    "pandas_index.csv",
    "no_receipts.csv",
    "it_totals_one_day.csv",
    "dsfinvk-zwei-abschluesse.zip",
    "saft-no-kassasystem.xml",
    "saft-pt-faturas.xml",
];

const SIZES: &[(u16, u16)] =
    &[(80, 24), (120, 40), (100, 30), (160, 50), (60, 20), (61, 21), (59, 20), (20, 8), (1, 1), (200, 60), (300, 9)];

/// What was met.
#[derive(Default)]
pub(crate) struct Met {
    pub(crate) scopes: HashMap<Scope, u64>,
    pub(crate) actions: BTreeMap<String, u64>,
    /// The most times that Esc had to be pressed, and where.
    pub(crate) furthest: Option<(usize, Scope)>,
    pub(crate) events: usize,
    pub(crate) drawn: usize,
    pub(crate) evenings: usize,
    pub(crate) outs: usize,
}

impl Met {
    /// The scopes in which the keyboard can be, and that were never met. The first two are never where it is, only live
    /// besides.
    pub(crate) fn never(&self) -> Vec<Scope> {
        let all = Scope::ALL.iter().filter(|s| !matches!(s, Scope::Always | Scope::Global));
        all.filter(|scope| !self.scopes.contains_key(scope)).copied().collect()
    }

    /// The actions of the key table that were never asked for.
    pub(crate) fn never_asked(&self) -> Vec<Action> {
        Action::ALL.iter().filter(|action| !self.actions.contains_key(&word(**action))).copied().collect()
    }

    /// How often each scope and action was met, as text.
    pub(crate) fn told(&self) -> String {
        let mut out = String::new();
        for scope in Scope::ALL {
            if let Some(times) = self.scopes.get(scope) {
                let _ = writeln!(out, "{times:>9} {scope:?}");
            }
        }
        for (action, times) in &self.actions {
            let _ = writeln!(out, "{times:>9} {action}");
        }
        let furthest =
            self.furthest.map_or_else(String::new, |(times, scope)| format!(", {times} at most from {scope:?}"));
        let _ = writeln!(
            out,
            "{} events on {} books, {} drawn; out by Esc {} times{furthest}",
            self.events, self.evenings, self.drawn, self.outs
        );
        out
    }
}

fn word(action: Action) -> String {
    match action {
        Action::Type(_) => "Type".to_owned(),
        Action::Tenths(_) => "Tenths".to_owned(),
        plain => format!("{plain:?}"),
    }
}

/// The last events, told when the test fails.
struct Trail {
    seed: u64,
    last: VecDeque<String>,
}

impl Trail {
    fn push(&mut self, event: String) {
        if self.last.len() == 300 {
            self.last.pop_front();
        }
        self.last.push_back(event);
    }
}

impl Drop for Trail {
    fn drop(&mut self) {
        if std::thread::panicking() {
            let last: Vec<_> = self.last.iter().map(String::as_str).collect();
            eprintln!("seed {}; the last events: {}", self.seed, last.join(" "));
        }
    }
}

/// A folder with the demo's book, and the files to choose from.
struct Home {
    folder: tempfile::TempDir,
    book: PathBuf,
}

impl Home {
    fn new() -> Home {
        let folder = tempfile::tempdir().unwrap();
        let book = demo::book(folder.path());
        let samples = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/samples");
        for name in FILES {
            let from = ["", "tables", "till", "invoice"].map(|sub| samples.join(sub).join(name));
            fs::copy(from.iter().find(|path| path.exists()).unwrap(), folder.path().join(name)).unwrap();
        }
        let mut long = "Date;Time;Receipt;Item;Quantity;Net\n".to_owned();
        for n in 0..LONG {
            let _ = writeln!(long, "2026-11-{:02};{:02}:{:02};{n};Long {};1;7.50", 1 + n % 20, n % 24, n % 60, n % 90);
        }
        fs::write(folder.path().join("long.csv"), long).unwrap();
        // Where nothing else says it, the choice of a file begins here.
        std::env::set_current_dir(folder.path()).unwrap();
        Home { folder, book }
    }

    fn app(&self, evening: usize) -> (App, PathBuf) {
        let own = self.folder.path().join(format!("evening-{evening}.tantalus"));
        fs::copy(&self.book, &own).unwrap();
        let options = Options {
            by: (evening % 3 != 2).then(|| "IP".to_owned()),
            look: Look::ALL[evening % Look::ALL.len()],
            depth: [Depth::Sixteen, Depth::Palette, Depth::True][evening % 3],
            mouse: true,
            habits: None,
            ascii: evening.is_multiple_of(5),
            orders: self.folder.path().join("orders"),
            greeting: None,
            tour: evening % 4 == 1,
        };
        (App::new(Store::open(&own).unwrap(), options, demo::now()).unwrap(), own)
    }
}

/// Somebody who presses any key.
struct Anybody<'a> {
    home: &'a Home,
    app: App,
    random: ChaCha8Rng,
    now: Moment,
    met: &'a mut Met,
    trail: &'a mut Trail,
}

impl Anybody<'_> {
    /// Where the keyboard is as something happens.
    fn scope(&mut self) -> Scope {
        let scope = self.app.scope();
        *self.met.scopes.entry(scope).or_default() += 1;
        scope
    }

    fn key(&mut self, event: KeyEvent) {
        let scope = self.scope();
        let action = resolve(scope, event);
        if let Some(action) = action {
            *self.met.actions.entry(word(action)).or_default() += 1;
        }
        self.trail.push(match event.code {
            KeyCode::Char(c) if event.modifiers.is_empty() => format!("{c:?}"),
            code => format!("{:?}+{code:?}", event.modifiers),
        });
        self.now.0 += self.random.random_range(1..400);
        self.app.key(event, self.now);
        let wants = self.app.wants();
        assert_eq!(wants.quit, action == Some(Action::Quit), "{scope:?}: {event:?}");
        assert_eq!(wants.suspend, action == Some(Action::Suspend), "{scope:?}: {event:?}");
        self.met.events += 1;
    }

    fn press(&mut self, code: KeyCode) {
        self.key(KeyEvent::new(code, KeyModifiers::NONE));
    }

    fn paste(&mut self, text: &str) {
        self.scope();
        self.trail.push(format!("‹{}›", text.escape_debug()));
        self.app.paste(text, self.now);
        self.met.events += 1;
    }

    /// The mouse does anything, anywhere on what was drawn last.
    fn mouse(&mut self) {
        self.scope();
        self.draw((80, 24));
        let left = MouseButton::Left;
        let kind = match self.random.random_range(0..8) {
            0 => MouseEventKind::ScrollUp,
            1 => MouseEventKind::ScrollDown,
            2 => MouseEventKind::Drag(left),
            3 => MouseEventKind::Up(left),
            4 => MouseEventKind::Down(MouseButton::Right),
            _ => MouseEventKind::Down(left),
        };
        let (column, row) = (self.random.random_range(0..82), self.random.random_range(0..25));
        self.trail.push(format!("({kind:?} {column},{row})"));
        self.app.mouse(MouseEvent { kind, column, row, modifiers: KeyModifiers::NONE }, self.now);
        // A click on a hint may leave, or stop: then somebody comes back.
        self.app.wants();
        self.met.events += 1;
    }

    fn idle(&mut self) {
        self.scope();
        self.trail.push("…".to_owned());
        self.now.0 += match self.random.random_range(0..200) {
            0 => 3_600_000 * self.random.random_range(1..20),
            1..20 => 60_000,
            _ => 250,
        };
        self.app.idle(self.now);
        self.met.events += 1;
    }

    /// The lines of the screen in a window of a size.
    fn lines(&mut self, (width, height): (u16, u16)) -> Vec<String> {
        let mut terminal = Terminal::new(TestBackend::new(width, height)).unwrap();
        terminal.draw(|frame| self.app.draw(frame, self.now)).unwrap();
        let cells = terminal.backend().buffer().content.chunks(width.into());
        cells.map(|row| row.iter().map(|cell| cell.symbol()).collect()).collect()
    }

    fn draw(&mut self, (width, height): (u16, u16)) {
        self.scope();
        let mut terminal = Terminal::new(TestBackend::new(width, height)).unwrap();
        terminal.draw(|frame| self.app.draw(frame, self.now)).unwrap();
        for cell in &terminal.backend().buffer().content {
            assert!(!cell.symbol().chars().any(char::is_control), "{:?}: {:?}", self.app.scope(), cell.symbol());
        }
        self.met.drawn += 1;
    }

    /// Waits for work, for a minute at most.
    fn wait(&mut self) {
        let since = Instant::now();
        while self.app.is_working() {
            assert!(since.elapsed() < Duration::from_secs(60), "the work does not end");
            std::thread::sleep(Duration::from_millis(2));
            self.app.idle(self.now);
        }
    }

    /// Out of everything, by Esc alone.
    fn out(&mut self) {
        let from = self.app.scope();
        let mut times = 0;
        let letter = KeyEvent::new(KeyCode::Char('T'), KeyModifiers::NONE);
        while resolve(self.app.scope(), letter) != Some(Action::GoTonight) {
            assert!(times < OUT, "{from:?}: {times} times Esc, and still {:?}", self.app.scope());
            self.press(KeyCode::Esc);
            self.wait();
            times += 1;
        }
        // What a scanner may still be typing is a person's after a pause.
        self.app.idle(self.now);
        self.press(KeyCode::Char('T'));
        assert_eq!(self.app.scope(), Scope::Tonight, "from {from:?}");
        if self.met.furthest.is_none_or(|(most, _)| times > most) {
            self.met.furthest = Some((times, from));
        }
        self.met.outs += 1;
    }

    /// Along a way into something deep: from the list of a screen, not from what is open on it.
    fn go(&mut self, way: &str) {
        self.out();
        // Whoever signed in as a counter sees only half of the screens.
        if !self.app.sees_costs() {
            "WOM".chars().for_each(|key| self.press(KeyCode::Char(key)));
            self.press(KeyCode::Enter);
            self.out();
        }
        let waits = !way.ends_with('~');
        let mut keys = way.trim_end_matches('~').chars();
        if let Some(letter) = way.chars().next().filter(char::is_ascii_uppercase) {
            keys.next();
            self.press(KeyCode::Char(letter));
            self.press(KeyCode::Esc);
            self.press(KeyCode::Esc);
        }
        while let Some(key) = keys.next() {
            match key {
                '‹' => {
                    let name: String = keys.by_ref().take_while(|key| *key != '›').collect();
                    let path = self.home.folder.path().join(name);
                    self.paste(path.to_str().unwrap());
                }
                '◉' => self.draw((80, 24)),
                '↵' => self.press(KeyCode::Enter),
                '⎋' => self.press(KeyCode::Esc),
                '⌫' => self.key(KeyEvent::new(KeyCode::Char('u'), KeyModifiers::CONTROL)),
                '⌃' => self.key(KeyEvent::new(KeyCode::Char('p'), KeyModifiers::CONTROL)),
                key => self.press(KeyCode::Char(key)),
            }
            self.app.idle(self.now);
            if waits {
                self.wait();
            }
        }
    }

    fn binding(&mut self) -> Option<&'static Binding> {
        let scope = self.app.scope();
        let own: Vec<&Binding> = active(scope, Rights::Everything).filter(|binding| binding.scope == scope).collect();
        let all: Vec<&Binding> = active(scope, Rights::Everything).collect();
        let mostly = if own.is_empty() || self.random.random_bool(0.15) { all } else { own };
        mostly.choose(&mut self.random).copied()
    }

    fn any_key(&mut self) -> KeyEvent {
        let code = match self.random.random_range(0..10) {
            0..4 => KeyCode::Char(self.random.random_range(' '..='~')),
            4 => KeyCode::Char(
                *['é', 'ß', '梅', '🍸', '\u{301}', '\u{202e}', '\u{7f}', '\u{85}', '\u{a0}']
                    .choose(&mut self.random)
                    .unwrap(),
            ),
            5 => KeyCode::F(self.random.random_range(1..13)),
            6 => KeyCode::Insert,
            _ => *[
                KeyCode::Enter,
                KeyCode::Esc,
                KeyCode::Tab,
                KeyCode::BackTab,
                KeyCode::Up,
                KeyCode::Down,
                KeyCode::Left,
                KeyCode::Right,
                KeyCode::Home,
                KeyCode::End,
                KeyCode::PageUp,
                KeyCode::PageDown,
                KeyCode::Backspace,
                KeyCode::Delete,
                KeyCode::Null,
            ]
            .choose(&mut self.random)
            .unwrap(),
        };
        let modifiers = match self.random.random_range(0..12) {
            0 => KeyModifiers::CONTROL,
            1 => KeyModifiers::ALT,
            2 => KeyModifiers::SHIFT,
            _ => KeyModifiers::NONE,
        };
        let kind = match self.random.random_range(0..20) {
            0 => KeyEventKind::Release,
            1 => KeyEventKind::Repeat,
            _ => KeyEventKind::Press,
        };
        KeyEvent::new_with_kind(code, modifiers, kind)
    }

    fn text(&mut self) -> String {
        if self.app.scope() == Scope::Files && self.random.random_bool(0.8) {
            let name = FILES.choose(&mut self.random).unwrap();
            return self.home.folder.path().join(name).to_str().unwrap().to_owned();
        }
        (*TEXTS.choose(&mut self.random).unwrap()).to_owned()
    }

    fn one(&mut self) {
        match self.random.random_range(0..100) {
            0..72 => {
                let Some(binding) = self.binding() else { return };
                let event = key_of(binding, &mut self.random);
                self.key(event);
                // Where one types, mostly a whole figure or name, and then Enter.
                if matches!(binding.does, Does::Type) && self.random.random_bool(0.4) {
                    let text = self.text();
                    text.chars().filter(|c| !c.is_control()).for_each(|c| self.press(KeyCode::Char(c)));
                    if self.random.random_bool(0.8) {
                        self.press(KeyCode::Enter);
                    }
                }
            }
            72..80 => {
                let event = self.any_key();
                self.key(event);
            }
            80..84 => {
                let text = self.text();
                self.paste(&text);
                if self.random.random_bool(0.5) {
                    self.press(KeyCode::Enter);
                }
            }
            84..89 => self.idle(),
            89..92 => self.mouse(),
            92..99 => {
                let size = *SIZES.choose(&mut self.random).unwrap();
                self.draw(size);
            }
            _ => {
                self.key(KeyEvent::new(KeyCode::Char('c'), KeyModifiers::CONTROL));
                self.out();
            }
        }
        if self.app.is_working() && self.random.random_bool(0.1) {
            self.wait();
        }
    }
}

/// One of the keys of a binding.
fn key_of(binding: &Binding, random: &mut ChaCha8Rng) -> KeyEvent {
    let plain = |code| KeyEvent::new(code, KeyModifiers::NONE);
    match *binding.keys.choose(random).unwrap() {
        Key::Plain(code) => plain(code),
        Key::Ctrl(c) => KeyEvent::new(KeyCode::Char(c), KeyModifiers::CONTROL),
        Key::Range(from, to) => plain(KeyCode::Char(random.random_range(from..=to))),
        Key::AnyCharacter => plain(KeyCode::Char(
            *['a', 'r', 'u', 'm', 'G', '1', '2', '0', '.', ' ', ':', '-', 'é', '梅', '🍸'].choose(random).unwrap(),
        )),
    }
}

/// The same where there is no book yet: any keys at all on the questions that make one, until one is made or nothing is.
fn where_there_is_none(home: &Home, random: &mut ChaCha8Rng, met: &mut Met) {
    let path = home.folder.path().join("none.tantalus");
    let guess = Guess {
        zone: Some(chrono_tz::Europe::Lisbon),
        currency: "EUR".parse().ok(),
        american: random.random(),
        ..Guess::default()
    };
    let mut asked = Beginning::new(&path, guess, Theme::from_env(random.random()));
    let live: Vec<&Binding> = active(Scope::Beginning, Rights::Everything).collect();
    for _ in 0..400 {
        *met.scopes.entry(Scope::Beginning).or_default() += 1;
        met.events += 1;
        match random.random_range(0..10) {
            0 => Stage::paste(&mut asked, TEXTS.choose(random).unwrap(), demo::now()),
            1 => {
                let (width, height) = *SIZES.choose(random).unwrap();
                let mut terminal = Terminal::new(TestBackend::new(width, height)).unwrap();
                terminal.draw(|frame| asked.draw(frame, demo::now())).unwrap();
            }
            _ => {
                let event = key_of(live.choose(random).unwrap(), random);
                if let Some(action) = resolve(Scope::Beginning, event) {
                    *met.actions.entry(word(action)).or_default() += 1;
                }
                asked.key(event, demo::now());
                if asked.wants().quit {
                    break;
                }
            }
        }
    }
    if let Outcome::Book(store, _) = asked.outcome() {
        assert_eq!(desk::check::check(&store).unwrap(), []);
        store.discard().unwrap();
    }
    assert!(!path.exists());
}

/// Along every way once, by a book that speaks the language of a tag; `seen` is told what stands on the screen at the end of each.
pub(crate) fn along(tag: &str, mut seen: impl FnMut(&str, &[String])) {
    let home = Home::new();
    let folder = home.folder.path().join("speaks");
    fs::create_dir(&folder).unwrap();
    fs::write(folder.join("venue.csv"), format!("key,value\nlanguage,{tag}\n")).unwrap();
    desk::load::load(&Store::open(&home.book).unwrap(), &folder, demo::now(), &mut desk::unwatched).unwrap();
    let mut met = Met::default();
    let mut trail = Trail { seed: 0, last: VecDeque::new() };
    let (app, book) = home.app(0);
    let random = ChaCha8Rng::seed_from_u64(0);
    let mut anybody = Anybody { home: &home, app, random, now: demo::now(), met: &mut met, trail: &mut trail };
    for way in WAYS {
        anybody.go(way);
        seen(way, &anybody.lines((160, 50)));
        anybody.press(KeyCode::Char('?'));
        seen(&format!("{way} ?"), &anybody.lines((160, 50)));
        anybody.press(KeyCode::Esc);
    }
    anybody.out();
    drop(anybody);
    Speech::PLAIN.speak();
    is_sound(&book, &home, 0);
}

/// Presses so many keys, the same for the same seed, and looks at the book after each evening: it is sound, and what was
/// written goes out as plain files and comes in again as the same book. Between two ways into something deep, `stray`
/// events are left to chance.
pub(crate) fn anybody(events: usize, stray: usize, seed: u64) -> Met {
    let home = Home::new();
    let mut met = Met::default();
    let mut trail = Trail { seed, last: VecDeque::new() };
    let mut way = 0;
    while met.events < events {
        let (app, book) = home.app(met.evenings);
        let mut random = ChaCha8Rng::seed_from_u64(seed.wrapping_add(met.evenings as u64));
        (0..8).for_each(|_| where_there_is_none(&home, &mut random, &mut met));
        trail.push(format!("[evening {}]", met.evenings));
        let until = (met.events + EVENING).min(events);
        let mut anybody = Anybody { home: &home, app, random, now: demo::now(), met: &mut met, trail: &mut trail };
        // All the ways once as they lead, and then with what chance adds to them.
        while way < WAYS.len() || anybody.met.events < until {
            anybody.go(WAYS[way % WAYS.len()]);
            way += 1;
            let next = anybody.met.events + if way < WAYS.len() { 0 } else { stray };
            while anybody.met.events < next {
                anybody.one();
            }
        }
        anybody.out();
        anybody.press(KeyCode::Char('q'));
        drop(anybody);
        is_sound(&book, &home, met.evenings);
        met.evenings += 1;
    }
    met
}

fn is_sound(book: &Path, home: &Home, evening: usize) {
    let store = Store::open(book).unwrap();
    let findings = desk::check::check(&store).unwrap();
    assert!(findings.is_empty(), "evening {evening}: {findings:?}");
    let folder = |name: &str| home.folder.path().join(format!("{name}-{evening}"));
    desk::dump::dump(&store, &folder("out")).unwrap();
    // Later than any moment that was written.
    let later = Moment(demo::now().0 + 400 * Moment::DAY);
    let other = folder("again").with_extension("tantalus");
    let made = desk::init::init_from(&other, &folder("out"), later, &mut desk::unwatched);
    let (other, _) = made.unwrap_or_else(|refused| panic!("evening {evening}: {refused}"));
    desk::dump::dump(&other, &folder("again")).unwrap();
    for entry in fs::read_dir(folder("out")).unwrap() {
        let path = entry.unwrap().path();
        let back = folder("again").join(path.file_name().unwrap());
        let (out, back) = (fs::read_to_string(&path).unwrap(), fs::read_to_string(&back).unwrap());
        let differs = out.lines().zip(back.lines()).find(|(a, b)| a != b);
        assert!(out == back, "evening {evening}: {} differs: {differs:?}", path.display());
    }
    for name in ["out", "again"] {
        fs::remove_dir_all(folder(name)).unwrap();
    }
    other.discard().unwrap();
    store.discard().unwrap();
}
