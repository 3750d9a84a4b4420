//! The application: the one place that joins the screens and the desk. A key becomes an action, the action an effect,
//! the effect a use case, and the screen gets fresh rows.

mod anything;
mod beginning;
mod cards;
mod copying;
mod effects;
mod habits;
mod jobs;
mod mouse;
mod pars;
mod run;
mod screens;
mod signing;
mod tour;

pub use beginning::{Beginning, Outcome, begin};
pub use habits::Habits;
pub use run::{Stage, run};

use crate::desk::book::{self, Store};
use crate::desk::files::{self, LedTo};
use crate::desk::{DeskError, looking};
use crate::domain::rows::{CardOf, Sheet};
use crate::domain::venue::{DrinkId, ItemId, Moment, Setup, SupplierId};
use crate::tui::keymap::{Action, Scope, Tab, kept_from, resolve};
use crate::tui::pointer::{self, Target};
use crate::tui::screen::card::CardScreen;
use crate::tui::screen::count::{CountScreen, SCANNER_PAUSE_MS};
use crate::tui::screen::pasted::ListScreen;
use crate::tui::screen::{Effect, Scene};
use crate::tui::text;
use crate::tui::theme::{Depth, Look, Theme};
use crate::tui::widget::chooser::{Chooser, Chosen};
use crate::tui::widget::confirm::Confirm;
use crate::tui::widget::finder::Finder;
use crate::tui::widget::help::Help;
use crate::tui::widget::notice::Notice;
use crate::tui::widget::sign_in::SignIn;
use crate::tui::widget::{footer, header, shell};
use crate::words::Speech;
use copying::Copies;
use jobs::{Aside, Job, Watcher};
use ratatui::Frame;
use ratatui::crossterm::event::{KeyEvent, KeyEventKind, KeyModifiers};
use ratatui::layout::Rect;
use screens::Screens;
use signing::Terminal;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;
use tour::Tour;

/// How the application is started.
#[derive(Clone, Debug, Default)]
pub struct Options {
    /// Who signs what is entered.
    pub by: Option<String>,
    /// Where order files are written.
    pub orders: PathBuf,
    /// The colours.
    pub look: Look,
    /// How many of them the terminal can show.
    pub depth: Depth,
    /// Glyphs of ASCII only.
    pub ascii: bool,
    /// Whether the mouse is the program's.
    pub mouse: bool,
    /// Where it is kept what of this somebody changes at the screen.
    pub habits: Option<PathBuf>,
    /// Said on the first screen.
    pub greeting: Option<String>,
    /// Begin with a look around.
    pub tour: bool,
}

impl Options {
    /// The look that they ask for.
    pub fn theme(&self) -> Theme {
        let theme = self.look.theme(self.depth);
        if self.ascii { theme.ascii() } else { theme }
    }
}

/// What the event loop must do for the application, since only it has the terminal.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Wants {
    /// End the program.
    pub quit: bool,
    /// Stop it until the shell brings it back.
    pub suspend: bool,
    /// Draw every cell anew.
    pub redraw: bool,
    /// Take the mouse, or leave it to the terminal.
    pub mouse: Option<bool>,
}

/// What lies over the screen.
enum Overlay {
    None,
    Help(Help),
    Find(Finder<Found>, Purpose),
    Ask(Confirm, Box<Effect>, Box<Effect>),
    Files(Chooser),
    Work(Job),
    SignIn(SignIn),
    Card(CardScreen),
    List(ListScreen),
    Tour(Tour),
}

/// What was found.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Found {
    Item(ItemId),
    Drink(DrinkId),
    Supplier(SupplierId),
    /// A screen.
    Screen(Tab),
    /// Something to do, here or on another screen.
    Do(Option<Tab>, Action),
    /// A card of the set-up.
    Card(CardOf, Option<i64>),
    /// A field of the bar's own card.
    OfTheBar(usize),
}

/// What an item is looked for.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Purpose {
    /// To go to its line.
    GoTo,
    /// Whatever it is: to go to it, or to do it.
    Anything,
    /// The screen asked for one.
    Pick,
    /// The screen asked for one, which may be one that the book does not know.
    PickOrNew,
}

/// The application, without a terminal: keys in, frames out.
pub struct App {
    store: Store,
    setup: Arc<Setup>,
    /// The tag of the book's language, and what it comes to.
    spoken: (String, Speech),
    options: Options,
    theme: Theme,
    tab: Tab,
    screens: Screens,
    overlay: Overlay,
    notice: Option<Notice>,
    watcher: Watcher,
    copies: Copies,
    /// What guests will ask, while it is being worked out.
    foresight: Aside<()>,
    /// The folder that a file was chosen from last.
    folder: Option<PathBuf>,
    /// The book's own mark of other terminals' writing, as last seen.
    version: i64,
    wants: Wants,
    minute: i64,
    terminal: Terminal,
    /// What was chosen last of everything, the newest first.
    recent: Vec<Found>,
    /// The level that is being pulled, as long as the button is down.
    pulled: Option<Rect>,
}

impl App {
    /// Opens on what is due tonight.
    ///
    /// # Errors
    /// [`DeskError`] when the book cannot be read.
    pub fn new(store: Store, options: Options, now: Moment) -> Result<App, DeskError> {
        let tag = book::language(&store)?;
        let speech = Speech::of_tag(&tag);
        speech.speak();
        let (setup, rows) = looking::tonight(&store, now)?;
        let theme = options.theme();
        let version = store.data_version()?;
        let mut app = App {
            watcher: Watcher::default(),
            copies: Copies::default(),
            foresight: Aside::default(),
            folder: None,
            screens: Screens::new(setup.clone(), rows),
            notice: options.greeting.as_deref().map(Notice::info),
            terminal: Terminal::default(),
            recent: Vec::new(),
            pulled: None,
            store,
            setup,
            spoken: (tag, speech),
            options,
            theme,
            tab: Tab::Tonight,
            overlay: Overlay::None,
            version,
            wants: Wants::default(),
            minute: now.0 / 60_000,
        };
        app.watch(now);
        app.look_ahead(now);
        app.mind_copies(false, now);
        app.enter(now);
        app.greet();
        if app.options.tour {
            app.begin_tour(now);
        }
        Ok(app)
    }

    /// Whatever is said from here on, until somebody else speaks on this thread, is said as the book has it.
    fn speak(&mut self) {
        if self.spoken.0 != self.setup.venue.language {
            let tag = self.setup.venue.language.clone();
            self.spoken = (tag.clone(), Speech::of_tag(&tag));
        }
        self.spoken.1.speak();
    }

    /// The sheet of the count in progress, if one is open.
    pub fn sheet(&self) -> Option<&Sheet> {
        self.screens.count.as_ref().map(|screen| screen.sheet())
    }

    /// What the event loop must do; asked once after each event.
    pub fn wants(&mut self) -> Wants {
        std::mem::take(&mut self.wants)
    }

    /// How long the loop may wait for a key before [`App::idle`] is due.
    pub fn patience(&self) -> Duration {
        let waits = self.screens.count.as_ref().is_some_and(|c| c.waits());
        let quick = self.is_working() || self.foresight.is_under_way() || self.is_copying();
        Duration::from_millis(if waits || quick { SCANNER_PAUSE_MS } else { 250 })
    }

    /// Which keys are live.
    pub fn scope(&self) -> Scope {
        match &self.overlay {
            Overlay::None => self.screens.scope(self.tab),
            Overlay::Help(_) => Scope::Help,
            Overlay::Find(_, Purpose::PickOrNew) => Scope::FindOrNew,
            Overlay::Find(..) => Scope::Find,
            Overlay::Ask(..) => Scope::Confirm,
            Overlay::Files(_) => Scope::Files,
            Overlay::Work(_) => Scope::Work,
            Overlay::SignIn(asked) => asked.scope(),
            Overlay::Card(_) => Scope::Card,
            Overlay::List(list) => list.scope(),
            Overlay::Tour(_) => Scope::Tour,
        }
    }

    /// A key was pressed.
    pub fn key(&mut self, event: KeyEvent, now: Moment) {
        self.speak();
        if let Overlay::Tour(tour) = self.overlay
            && event.kind != KeyEventKind::Release
            && self.on_tour(tour, event, now)
        {
            return;
        }
        let Some(action) = resolve(self.scope(), event) else { return };
        self.notice = None;
        self.touched(now);
        if let Some(said) = kept_from(self.scope(), action, self.setup.venue.rights) {
            self.say(Notice::warning(said));
            return;
        }
        match action {
            Action::Quit => {
                // Digits that waited for a scanner were a person's: they are kept before the program ends.
                self.settle(now);
                let by_letter = !event.modifiers.contains(KeyModifiers::CONTROL);
                let counting = self.screens.count.as_ref().filter(|_| self.tab == Tab::Count);
                match counting.map(CountScreen::so_far) {
                    Some(so_far) if by_letter => {
                        let question =
                            say!("Leave the program? The count stays open: {so_far}, all of it kept.", so_far);
                        let (leaves, stays) =
                            (word!("leaves; it goes on from here next time"), word!("goes on counting"));
                        self.carry_out(Effect::ask(question, leaves, stays, Effect::Quit), now);
                    }
                    _ => self.wants.quit = true,
                }
            }
            Action::Suspend => self.wants.suspend = true,
            Action::Redraw => self.wants.redraw = true,
            _ => self.act(action, now),
        }
    }

    fn act(&mut self, action: Action, now: Moment) {
        let overlay = std::mem::replace(&mut self.overlay, Overlay::None);
        match overlay {
            Overlay::None => self.on_screen(action, now),
            Overlay::Help(mut help) => {
                if help.apply(action) || action != Action::Cancel {
                    self.overlay = Overlay::Help(help);
                }
            }
            Overlay::Find(finder, Purpose::PickOrNew)
                if action == Action::New || (action == Action::Accept && finder.matches() == 0) =>
            {
                let effect = self.screens.unknown(self.tab, finder.query());
                self.carry_out(effect, now);
            }
            Overlay::Find(mut finder, purpose) => match action {
                Action::Accept => {
                    if finder.wants_letters() {
                        self.say(Notice::info(word!("type a few letters of it first, or go to it with the arrows")));
                        self.overlay = Overlay::Find(finder, purpose);
                    } else if let Some(found) = finder.picked().copied() {
                        self.found(found, purpose, now);
                    }
                }
                Action::Cancel => {}
                _ => {
                    finder.apply(action);
                    self.overlay = Overlay::Find(finder, purpose);
                }
            },
            Overlay::Ask(confirm, then, otherwise) => match action {
                Action::Yes => self.carry_out(*then, now),
                Action::No => self.carry_out(*otherwise, now),
                _ => self.overlay = Overlay::Ask(confirm, then, otherwise),
            },
            Overlay::Files(mut chooser) => {
                if action == Action::Cancel {
                    return;
                }
                let chosen = chooser.apply(action);
                self.overlay = Overlay::Files(chooser);
                self.chosen(chosen, now);
            }
            Overlay::Work(job) => {
                if action == Action::Cancel {
                    job.stop();
                }
                self.overlay = Overlay::Work(job);
            }
            Overlay::SignIn(asked) => self.signing_in(asked, action, now),
            Overlay::Card(card) => self.on_card(card, action, now),
            Overlay::List(list) => self.on_list(list, action, now),
            // Keys leave it before they come here; what the mouse does, it does not hear of.
            Overlay::Tour(tour) => self.overlay = Overlay::Tour(tour),
        }
    }

    fn on_screen(&mut self, action: Action, now: Moment) {
        if let Some(tab) = self.tab.after(action) {
            // A scanner may end with Tab, which is then no wish to go anywhere; a person's digits are kept first.
            let scanned = self.screens.count.as_ref().is_some_and(|count| count.scanning());
            self.settle(now);
            if !scanned {
                self.go(tab, now);
            }
            return;
        }
        match action {
            Action::WhoIsHere => {
                if let Err(refused) = self.ask_who() {
                    self.say(Notice::error(refused.to_string()));
                }
            }
            Action::Help => {
                self.overlay = Overlay::Help(Help::new(self.screens.scope(self.tab), self.setup.venue.rights))
            }
            Action::Anything => {
                self.settle(now);
                self.search_anything();
            }
            Action::NextLook => self.next_look(),
            Action::ToggleMouse => self.toggle_mouse(),
            Action::Find => {
                let finder = match self.tab {
                    Tab::Drinks => self.drink_finder(),
                    _ => self.finder(word!("Find an item:"), word!("goes to it"), None),
                };
                self.overlay = Overlay::Find(finder, Purpose::GoTo);
            }
            _ => {
                let effect = self.screens.update(self.tab, action, now);
                self.carry_out(effect, now);
            }
        }
    }

    /// Another look, kept for the next time.
    fn next_look(&mut self) {
        self.options.look = self.options.look.next();
        self.theme = self.options.theme();
        self.wants.redraw = true;
        self.keep_habits(say!("colours: {look}", look = self.options.look));
    }

    /// The mouse is the program's, or the terminal's again.
    fn toggle_mouse(&mut self) {
        self.options.mouse = !self.options.mouse;
        self.wants.mouse = Some(self.options.mouse);
        let said = if self.options.mouse {
            word!("the mouse is the program's: with Shift it marks text, as in most terminals")
        } else {
            word!("the mouse is the terminal's: it marks text")
        };
        self.keep_habits(said.to_owned());
    }

    fn keep_habits(&mut self, said: String) {
        let habits = Habits { look: self.options.look, mouse: self.options.mouse };
        let notice = match self.options.habits.as_deref().map(|path| habits.write(path)) {
            Some(Err(why)) => Notice::warning(say!("{said}; it is not kept for the next time: {why}", said, why)),
            Some(Ok(())) => Notice::info(say!("{said}; kept for the next time", said)),
            None => Notice::info(said),
        };
        self.say(notice);
    }

    /// A finder over the items, or over some of them; its title says what Enter does.
    fn finder(&self, title: &str, enter: &str, only: Option<&[ItemId]>) -> Finder<Found> {
        let items = self.setup.items.iter().filter(|item| only.is_none_or(|only| only.contains(&item.id)));
        Finder::new(
            &say!("{title} Enter {enter}", title, enter),
            items.map(|item| (Found::Item(item.id), item.name.clone())),
        )
    }

    /// A finder over the items, the likely ones first; where none is likely, letters are wanted first.
    fn likely_finder(&self, title: &str, enter: &str, likely: &[ItemId]) -> Finder<Found> {
        let mut items: Vec<_> = self.setup.items.iter().collect();
        let rank = |item| likely.iter().position(|first| *first == item).unwrap_or(likely.len());
        items.sort_by_key(|item| rank(item.id));
        let items = items.into_iter().map(|item| (Found::Item(item.id), item.name.clone()));
        match likely {
            [] => Finder::new(&say!("{title} type a few letters", title), items).after_letters(),
            _ => Finder::new(&say!("{title} Enter {enter}", title, enter), items),
        }
    }

    /// A finder over the drinks, and over the items that drinks take.
    fn drink_finder(&self) -> Finder<Found> {
        let drinks = self.setup.drinks.iter().map(|drink| (Found::Drink(drink.id), drink.name.clone()));
        let items = self.setup.items.iter().map(|item| (Found::Item(item.id), say!("with {name}", name = item.name)));
        Finder::new(word!("Find a drink, or what one takes: Enter goes to it"), drinks.chain(items))
    }

    /// A file was chosen, or a folder is to be looked into.
    fn chosen(&mut self, chosen: Chosen, now: Moment) {
        let path = match chosen {
            Chosen::NotYet => return,
            Chosen::Look(path) => match files::look_into(&path) {
                LedTo::Folder(listing) => {
                    if let Overlay::Files(chooser) = &mut self.overlay {
                        chooser.listed(listing);
                    }
                    return;
                }
                LedTo::File(path) => path,
            },
            Chosen::File(path) => path,
        };
        self.overlay = Overlay::None;
        self.folder = path.parent().map(PathBuf::from);
        let effect = match self.tab {
            Tab::Receive => Effect::ReadInvoice(path),
            Tab::Stock => Effect::OpenList(path),
            _ => Effect::LookAtSales { path, table: None },
        };
        self.carry_out(effect, now);
    }

    fn found(&mut self, found: Found, purpose: Purpose, now: Moment) {
        if purpose == Purpose::Anything {
            return self.found_anything(found, now);
        }
        let item = match found {
            Found::Item(item) => item,
            Found::Drink(drink) if purpose == Purpose::Pick => {
                let effect = self.screens.picked_drink(self.tab, drink);
                return self.carry_out(effect, now);
            }
            Found::Drink(drink) => return self.screens.find_drink(drink),
            Found::Supplier(supplier) => {
                let effect = self.screens.picked_supplier(self.tab, supplier);
                return self.carry_out(effect, now);
            }
            // These are found among everything alone.
            Found::Screen(_) | Found::Do(..) | Found::Card(..) | Found::OfTheBar(_) => return,
        };
        match purpose {
            Purpose::Anything => {}
            Purpose::Pick | Purpose::PickOrNew => {
                let effect = self.screens.picked(self.tab, item, now);
                self.carry_out(effect, now);
            }
            Purpose::GoTo => match self.screens.find(self.tab, item) {
                Some(said) => self.notice = said,
                // A screen without items: the stock has them all.
                None => {
                    self.go(Tab::Stock, now);
                    self.screens.find(Tab::Stock, item);
                }
            },
        }
    }

    /// Text that came in one piece: pasted, or from a device that types.
    pub fn paste(&mut self, pasted: &str, now: Moment) {
        self.speak();
        if self.is_list(pasted) {
            self.overlay = Overlay::None;
            if self.tab != Tab::Stock {
                self.settle(now);
                self.go(Tab::Stock, now);
            }
            // Cells stand apart by what would be taken out of any other text; each is made harmless by itself.
            return self.carry_out(Effect::PasteList(pasted.to_owned()), now);
        }
        let pasted = text::safe(pasted);
        match &mut self.overlay {
            Overlay::None => {
                let effect = self.screens.paste(self.tab, &pasted);
                self.carry_out(effect, now);
            }
            Overlay::Help(help) => help.paste(&pasted),
            Overlay::Find(finder, _) => finder.paste(&pasted),
            Overlay::Files(chooser) => chooser.paste(&pasted),
            Overlay::SignIn(asked) => asked.paste(&pasted),
            Overlay::Card(card) => card.paste(&pasted),
            Overlay::List(list) => list.paste(&pasted),
            Overlay::Ask(..) | Overlay::Work(_) | Overlay::Tour(_) => {}
        }
    }

    /// Whether what is pasted is cells of a spreadsheet, and nothing else wants it: rows of them wherever nothing is being
    /// typed, and on the stock a single row, or names alone, as well. One line of text is no list.
    fn is_list(&self, pasted: &str) -> bool {
        let cells = pasted.contains('\t');
        // Most terminals hand a line break on as a carriage return.
        let rows = pasted.trim().contains(['\n', '\r']);
        match (&self.overlay, self.tab) {
            (Overlay::None, Tab::Stock) => cells || rows,
            (Overlay::None, _) => cells && rows && !self.scope().is_typing() && self.may_see(Tab::Stock),
            (Overlay::Files(_), Tab::Stock) => cells && rows,
            _ => false,
        }
    }

    /// No key came for [`App::patience`]: keeps what waited, and looks whether another terminal has written. Says
    /// whether there is anything new to draw.
    pub fn idle(&mut self, now: Moment) -> bool {
        self.speak();
        if self.follow_book(now) {
            return true;
        }
        let settled = self.settle(now);
        let minute = now.0 / 60_000;
        let turned = std::mem::replace(&mut self.minute, minute) != minute;
        let version = self.store.data_version().unwrap_or(self.version);
        let written = std::mem::replace(&mut self.version, version) != version;
        if written {
            self.refresh(now);
        }
        if turned {
            self.watch(now);
        }
        self.mind_copies(written, now);
        let worked = self.look_at_work(now);
        let offered = self.look_at_watch();
        let foreseen = self.look_at_foresight(now);
        let copied = self.look_at_copies(now);
        let moved = self.look_around();
        let alone = self.left_alone(now);
        settled || turned || written || worked || offered || foreseen || copied || moved || alone
    }

    fn settle(&mut self, now: Moment) -> bool {
        let effect = self.screens.settle(now);
        let any = effect != Effect::None;
        self.carry_out(effect, now);
        any
    }

    /// Draws everything.
    pub fn draw(&mut self, frame: &mut Frame, now: Moment) {
        self.speak();
        let theme = self.theme;
        pointer::begin();
        let Some(parts) = shell::shell(frame, &theme) else { return };
        let mut status = self.setup.venue.days.clock(now);
        if let Some(by) = &self.options.by {
            status = format!("{by} {status}");
        }
        if let Some(then) = self.store.known_then() {
            status = say!("as known {then}", then = self.setup.venue.days.short(then));
        }
        header::draw(frame, parts.header, &self.setup.venue.name, self.tab, &status, &theme);
        self.screens.draw(self.tab, frame, parts.body, Scene { theme: &theme, now });
        footer::draw(frame, parts.footer, self.scope(), self.setup.venue.rights, &theme);
        if !matches!(self.overlay, Overlay::None) {
            pointer::put(parts.body, Target::Nothing);
        }
        match &mut self.overlay {
            Overlay::None => {}
            Overlay::Help(help) => help.draw(frame, parts.body, &theme),
            Overlay::Find(finder, _) => finder.draw(frame, parts.body, &theme),
            Overlay::Ask(confirm, ..) => confirm.draw(frame, parts.body, &theme),
            Overlay::Files(chooser) => chooser.draw(frame, parts.body, &theme),
            Overlay::Work(job) => job.work.draw(frame, parts.body, &theme),
            Overlay::SignIn(asked) => asked.draw(frame, parts.body, &theme),
            Overlay::Tour(tour) => tour.draw(frame, parts.body, &theme),
            Overlay::List(list) => list.draw(frame, parts.body, Scene { theme: &theme, now }),
            Overlay::Card(card) => card.draw(frame, parts.body, Scene { theme: &theme, now }),
        }
        // Last, since a long one lies over the last line of the body.
        if let Some(notice) = &self.notice {
            notice.draw(frame, parts.notice, &theme);
        }
        shell::finish(frame, &theme);
    }
}
