//! The screens that are open. Each is made when it is first gone to and stays, so that work begun on it is there when
//! one comes back.

use super::{App, Overlay};
use crate::desk::comparing::Choice;
use crate::desk::reviewing;
use crate::desk::{
    DeskError, book, carrying, counting, drinks, gauging, history, house, looking, losing, ordering, par, people,
    receiving, till, worth,
};
use crate::domain::ledger::Count;
use crate::domain::measure::Money;
use crate::domain::rows::{
    BillView, CarryView, CopiesState, Evidence, LookBack, OfferedFile, OrdersView, ParChange, PeriodView, SalesLook,
    Tonight, WhyView, WorthAt,
};
use crate::domain::venue::{ActId, DrinkId, ItemId, Moment, PlaceId, Setup, SupplierId};
use crate::tui::keymap::{Action, Scope, Tab};
use crate::tui::screen::book::BookScreen;
use crate::tui::screen::count::{CountScreen, CountStart};
use crate::tui::screen::drinks::DrinksScreen;
use crate::tui::screen::eye_check::EyeCheckScreen;
use crate::tui::screen::gauging::GaugingScreen;
use crate::tui::screen::house::HouseScreen;
use crate::tui::screen::losses::LossesScreen;
use crate::tui::screen::orders::OrdersScreen;
use crate::tui::screen::par::ParScreen;
use crate::tui::screen::receive::ReceiveScreen;
use crate::tui::screen::stock::StockScreen;
use crate::tui::screen::suppliers::SuppliersScreen;
use crate::tui::screen::till::TillScreen;
use crate::tui::screen::tonight::TonightScreen;
use crate::tui::screen::variance::{ManyPeriods, VarianceScreen};
use crate::tui::screen::{Effect, PeriodEnd, Scene};
use crate::tui::widget::confirm::Confirm;
use crate::tui::widget::notice::Notice;
use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::Line;
use ratatui::widgets::{Paragraph, Wrap};
use std::sync::Arc;

/// Bills booked that the Receive screen lists.
const BILLS: u32 = 200;
/// Acts shown at first, and as many more each time that earlier ones are wanted.
pub(super) const ACTS: usize = 100;
/// Losses shown at once.
const LOSSES: u32 = 200;

pub(super) struct Screens {
    tonight: TonightScreen,
    start: Option<CountStart>,
    pub(super) count: Option<CountScreen>,
    /// A check of the eye that counted, in the place of the choice of what to count, until it is left.
    pub(super) eye_check: Option<EyeCheckScreen>,
    pub(super) variance: Option<VarianceScreen>,
    /// Why there is no variance, when there is none.
    no_variance: Option<String>,
    orders: Option<OrdersScreen>,
    receive: Option<ReceiveScreen>,
    losses: Option<LossesScreen>,
    stock: Option<StockScreen>,
    par: Option<ParScreen>,
    drinks: Option<DrinksScreen>,
    house: Option<HouseScreen>,
    till: Option<TillScreen>,
    gauging: Option<GaugingScreen>,
    suppliers: Option<SuppliersScreen>,
    pub(super) book: Option<BookScreen>,
}

impl Screens {
    pub(super) fn new(setup: Arc<Setup>, rows: Tonight) -> Screens {
        Screens {
            tonight: TonightScreen::new(setup, rows),
            start: None,
            count: None,
            eye_check: None,
            variance: None,
            no_variance: None,
            orders: None,
            receive: None,
            losses: None,
            stock: None,
            par: None,
            drinks: None,
            house: None,
            till: None,
            gauging: None,
            suppliers: None,
            book: None,
        }
    }

    pub(super) fn scope(&self, tab: Tab) -> Scope {
        let scope = match tab {
            Tab::Tonight => None,
            Tab::Count => match (&self.count, &self.eye_check) {
                (Some(count), _) => Some(count.scope()),
                (None, Some(check)) => Some(check.scope()),
                (None, None) => self.start.as_ref().map(CountStart::scope),
            },
            Tab::Variance => self.variance.as_ref().map(VarianceScreen::scope),
            Tab::Orders => self.orders.as_ref().map(OrdersScreen::scope),
            Tab::Receive => self.receive.as_ref().map(ReceiveScreen::scope),
            Tab::Losses => self.losses.as_ref().map(LossesScreen::scope),
            Tab::Stock => self.stock.as_ref().map(StockScreen::scope),
            Tab::Par => self.par.as_ref().map(ParScreen::scope),
            Tab::Drinks => self.drinks.as_ref().map(DrinksScreen::scope),
            Tab::House => self.house.as_ref().map(HouseScreen::scope),
            Tab::Till => self.till.as_ref().map(TillScreen::scope),
            Tab::Gauging => self.gauging.as_ref().map(GaugingScreen::scope),
            Tab::Suppliers => self.suppliers.as_ref().map(SuppliersScreen::scope),
            Tab::Book => self.book.as_ref().map(BookScreen::scope),
        };
        scope.unwrap_or(match tab {
            Tab::Count => Scope::CountStart,
            Tab::Tonight => self.tonight.scope(),
            _ => Scope::Global,
        })
    }

    pub(super) fn update(&mut self, tab: Tab, action: Action, now: Moment) -> Effect {
        let effect = match tab {
            Tab::Tonight => Some(self.tonight.update(action)),
            Tab::Count => match (&mut self.count, &mut self.eye_check, &mut self.start) {
                (Some(count), ..) => Some(count.update(action, now)),
                (None, Some(check), _) => {
                    let effect = check.update(action, now);
                    if matches!(effect, Effect::Go(_)) {
                        self.eye_check = None;
                    }
                    Some(effect)
                }
                (None, None, Some(start)) => Some(start.update(action, now)),
                (None, None, None) => None,
            },
            Tab::Variance => self.variance.as_mut().map(|s| s.update(action)),
            Tab::Orders => self.orders.as_mut().map(|s| s.update(action, now)),
            Tab::Receive => self.receive.as_mut().map(|s| s.update(action)),
            Tab::Losses => self.losses.as_mut().map(|s| s.update(action, now)),
            Tab::Stock => self.stock.as_mut().map(|s| s.update(action)),
            Tab::Par => self.par.as_mut().map(|s| s.update(action)),
            Tab::Drinks => self.drinks.as_mut().map(|s| s.update(action)),
            Tab::House => self.house.as_mut().map(|s| s.update(action, now)),
            Tab::Till => self.till.as_mut().map(|s| s.update(action)),
            Tab::Gauging => self.gauging.as_mut().map(|s| s.update(action, now)),
            Tab::Suppliers => self.suppliers.as_mut().map(|s| s.update(action)),
            Tab::Book => self.book.as_mut().map(|s| s.update(action)),
        };
        effect.unwrap_or(Effect::None)
    }

    pub(super) fn paste(&mut self, tab: Tab, text: &str) -> Effect {
        let effect = match tab {
            Tab::Count => match (&mut self.count, &mut self.eye_check) {
                (Some(count), _) => Some(count.paste(text)),
                (None, Some(check)) => {
                    check.paste(text);
                    None
                }
                (None, None) => {
                    self.start.iter_mut().for_each(|s| s.paste(text));
                    None
                }
            },
            Tab::Gauging => {
                self.gauging.iter_mut().for_each(|s| s.paste(text));
                None
            }
            Tab::Drinks => {
                self.drinks.iter_mut().for_each(|s| s.paste(text));
                None
            }
            Tab::House => {
                self.house.iter_mut().for_each(|s| s.paste(text));
                None
            }
            Tab::Till => {
                self.till.iter_mut().for_each(|s| s.paste(text));
                None
            }
            Tab::Orders => self.orders.as_mut().map(|s| s.paste(text)),
            Tab::Par => self.par.as_mut().map(|s| s.paste(text)),
            Tab::Receive => self.receive.as_mut().map(|s| s.paste(text)),
            Tab::Losses => self.losses.as_mut().map(|s| s.paste(text)),
            Tab::Variance => {
                self.variance.iter_mut().for_each(|s| s.paste(text));
                None
            }
            Tab::Book => {
                self.book.iter_mut().for_each(|s| s.paste(text));
                None
            }
            Tab::Tonight | Tab::Stock | Tab::Suppliers => None,
        };
        effect.unwrap_or(Effect::None)
    }

    pub(super) fn settle(&mut self, now: Moment) -> Effect {
        match &mut self.count {
            Some(count) if count.waits() => count.settle(now),
            _ => Effect::None,
        }
    }

    /// Goes to an item's line; `None` when the screen has no items, otherwise what there is to say about it.
    pub(super) fn find(&mut self, tab: Tab, item: ItemId) -> Option<Option<Notice>> {
        match tab {
            Tab::Count => self.count.as_mut().map(|s| s.find(item)),
            Tab::Variance => self.variance.as_mut().map(|s| s.find(item)),
            Tab::Orders => self.orders.as_mut().map(|s| s.find(item)),
            Tab::Receive => self.receive.as_mut().map(|s| s.find(item)),
            Tab::Losses => self.losses.as_mut().map(|s| s.find(item)),
            Tab::Stock => self.stock.as_mut().map(|s| s.find(item)),
            Tab::Par => self.par.as_mut().map(|s| s.find(item)),
            Tab::Drinks => self.drinks.as_mut().map(|s| s.find(item)),
            Tab::House => self.house.as_mut().map(|s| s.find(item)),
            Tab::Gauging => self.gauging.as_mut().map(|s| s.find(item)),
            Tab::Tonight | Tab::Suppliers | Tab::Till | Tab::Book => None,
        }
    }

    /// Shows what the stock was worth over time.
    pub(super) fn show_worth(&mut self, over: Vec<WorthAt>) {
        self.stock.iter_mut().for_each(|screen| screen.show_worth(over.clone()));
    }

    /// Goes to a supplier's line.
    pub(super) fn find_supplier(&mut self, supplier: SupplierId) {
        self.suppliers.iter_mut().for_each(|screen| screen.find(supplier));
    }

    /// Goes to a place's line in the set-up, where that is open.
    pub(super) fn find_place(&mut self, place: PlaceId) {
        self.book.iter_mut().for_each(|screen| screen.find_place(place));
    }

    /// Goes to a drink's line.
    pub(super) fn find_drink(&mut self, drink: DrinkId) {
        self.drinks.iter_mut().for_each(|screen| screen.find_drink(drink));
    }

    pub(super) fn picked(&mut self, tab: Tab, item: ItemId, now: Moment) -> Effect {
        match tab {
            Tab::Count => self.count.as_mut().map_or(Effect::None, |s| s.picked(item)),
            Tab::Orders => self.orders.as_mut().map_or(Effect::None, |s| s.picked(item, now)),
            Tab::Receive => self.receive.as_mut().map_or(Effect::None, |s| s.picked(item)),
            _ => Effect::None,
        }
    }

    /// What was looked for is none that the book knows.
    pub(super) fn unknown(&mut self, tab: Tab, name: &str) -> Effect {
        match tab {
            Tab::Count => self.count.as_mut().map_or(Effect::None, |s| s.unknown(name)),
            _ => Effect::None,
        }
    }

    /// The book has taken a new item in.
    pub(super) fn item_added(&mut self, item: ItemId) {
        self.count.iter_mut().for_each(|screen| screen.item_added(item));
    }

    pub(super) fn picked_drink(&mut self, tab: Tab, drink: DrinkId) -> Effect {
        match tab {
            Tab::Till => self.till.as_mut().map_or(Effect::None, |s| s.picked(drink)),
            _ => Effect::None,
        }
    }

    pub(super) fn picked_supplier(&mut self, tab: Tab, supplier: SupplierId) -> Effect {
        match tab {
            Tab::Receive => self.receive.as_mut().map_or(Effect::None, |s| s.picked_supplier(supplier)),
            _ => Effect::None,
        }
    }

    /// Shows a bill, or the same one looked at anew.
    pub(super) fn show_bill(&mut self, view: BillView) {
        if let Some(screen) = &mut self.receive {
            screen.show_bill(view);
        }
    }

    /// The bill is in the book.
    pub(super) fn bill_booked(&mut self) {
        self.receive.iter_mut().for_each(ReceiveScreen::bill_booked);
    }

    /// The sheet is begun: what was asked of it is closed.
    pub(super) fn sheet_begun(&mut self) {
        self.start.iter_mut().for_each(CountStart::sheet_begun);
    }

    /// Goes to a name of the till.
    pub(super) fn find_till_name(&mut self, name: &str) {
        self.till.iter_mut().for_each(|screen| screen.find_name(name));
    }

    /// Shows a file of sales that was looked at.
    pub(super) fn sales_looked(&mut self, look: SalesLook) {
        if let Some(screen) = &mut self.till {
            screen.looked(look);
        }
    }

    /// The file that was looked at is in the book.
    pub(super) fn sales_taken(&mut self) {
        self.till.iter_mut().for_each(TillScreen::taken);
    }

    /// What lies in the watched folder.
    pub(super) fn offered(&mut self, files: Vec<OfferedFile>, no_folder: Option<String>) {
        self.tonight.offered(files, no_folder);
    }

    /// How it stands with the copies of the book.
    pub(super) fn copied(&mut self, state: CopiesState) {
        self.tonight.copied(state);
    }

    pub(super) fn compared(&mut self, setup: Arc<Setup>, view: PeriodView, by: Option<String>) {
        self.no_variance = None;
        match &mut self.variance {
            Some(screen) => screen.refresh(setup, view),
            None => self.variance = Some(VarianceScreen::new(setup, view, by)),
        }
    }

    /// What is to be said where no count can be chosen.
    pub(super) fn list_counts(&mut self, end: PeriodEnd, counts: Vec<Count>) -> Option<Notice> {
        self.variance.as_mut()?.list_counts(end, counts)
    }

    pub(super) fn explained(&mut self, evidence: Evidence) {
        if let Some(screen) = &mut self.variance {
            screen.explain(evidence);
        }
    }

    /// Shows many periods in a row.
    pub(super) fn show_over(&mut self, many: ManyPeriods) {
        if let Some(screen) = &mut self.variance {
            screen.show_over(many);
        }
    }

    /// What the last act of the book is by now.
    pub(super) fn compare_with(&mut self, last: Option<ActId>) {
        self.variance.iter_mut().for_each(|screen| screen.compare_with(last));
    }

    /// The book did not take the loss: its form is there again, as it was typed.
    pub(super) fn loss_refused(&mut self) {
        self.losses.iter_mut().for_each(LossesScreen::refused);
    }

    /// The book did not take the cause: its form is there again, as it was typed.
    pub(super) fn cause_refused(&mut self) {
        self.variance.iter_mut().for_each(VarianceScreen::refused);
    }

    /// The book has kept what was written of a drink: its form is closed.
    pub(super) fn drink_kept(&mut self, drink: DrinkId) {
        self.drinks.iter_mut().for_each(|screen| screen.kept(drink));
    }

    /// The book has kept a recipe or a batch: the form is closed.
    pub(super) fn made_kept(&mut self, item: ItemId) {
        self.house.iter_mut().for_each(|screen| screen.kept(item));
    }

    /// The book did not take the shape: its form is there again.
    pub(super) fn shape_refused(&mut self) {
        self.gauging.iter_mut().for_each(GaugingScreen::refused);
    }

    /// Whether the first screen says that what is to be expected is being worked out.
    pub(super) fn lacks_foresight(&self) -> bool {
        self.tonight.is_working_out()
    }

    /// The book has changed pars.
    pub(super) fn pars_changed(&mut self, changes: Vec<ParChange>) {
        self.par.iter_mut().for_each(|screen| screen.changed(changes.clone()));
    }

    /// What was changed last about pars is put back, or cannot be any more.
    pub(super) fn pars_undone(&mut self) {
        self.par.iter_mut().for_each(ParScreen::undone);
    }

    /// The book did not take the par: it is being typed again.
    pub(super) fn par_refused(&mut self) {
        self.par.iter_mut().for_each(ParScreen::refused);
    }

    /// Shows what both pars would have done.
    pub(super) fn looked_back(&mut self, weeks: usize, back: LookBack) {
        if let Some(screen) = &mut self.par {
            screen.looked_back(weeks, back);
        }
    }

    /// From whom to order, and what, as the line says that the screen's cursor is on.
    pub(super) fn to_order(&self, tab: Tab) -> (Option<SupplierId>, Option<ItemId>) {
        match tab {
            Tab::Tonight => self.tonight.to_order(),
            Tab::Suppliers => (self.suppliers.as_ref().and_then(SuppliersScreen::selected), None),
            _ => (None, None),
        }
    }

    /// Whether the screen's cursor is on what is to be claimed.
    pub(super) fn is_on_claims(&self, tab: Tab) -> bool {
        tab == Tab::Tonight && self.tonight.is_on_claims()
    }

    /// Closes what tells how much there should be.
    pub(super) fn forget_stock(&mut self) {
        (self.stock, self.house, self.drinks) = (None, None, None);
    }

    /// Shows what is to be claimed.
    pub(super) fn show_claims(&mut self) {
        self.receive.iter_mut().for_each(ReceiveScreen::show_claims);
    }

    /// The name of the till that the screen's cursor is on, where it is on one.
    pub(super) fn till_name_under_cursor(&self, tab: Tab) -> Option<String> {
        (tab == Tab::Tonight).then(|| self.tonight.till_name().map(str::to_owned)).flatten()
    }

    /// The item made here that the screen's cursor is on, where it is on one.
    pub(super) fn made_here_under_cursor(&self, tab: Tab) -> Option<ItemId> {
        (tab == Tab::Tonight).then(|| self.tonight.made_here()).flatten()
    }

    /// What all orders together may cost, where somebody said.
    pub(super) fn budget(&self) -> Option<Money> {
        self.orders.as_ref().and_then(OrdersScreen::budget)
    }

    /// The orders as they were planned anew.
    pub(super) fn planned(&mut self, setup: Arc<Setup>, view: OrdersView) {
        if let Some(screen) = &mut self.orders {
            screen.refresh(setup, view);
        }
    }

    /// Shows what to carry up.
    pub(super) fn show_carry(&mut self, view: CarryView) {
        if let Some(screen) = &mut self.stock {
            screen.show_carry(view);
        }
    }

    /// Shows why an item is ordered as it is.
    pub(super) fn show_why(&mut self, view: WhyView) {
        if let Some(screen) = &mut self.orders {
            screen.show_why(view);
        }
    }

    /// Shows the line of an order, or the order to a supplier. Says so where the item is in none.
    pub(super) fn show_order(&mut self, supplier: Option<SupplierId>, item: Option<ItemId>) -> Option<Notice> {
        self.orders.as_mut().and_then(|screen| screen.show_line(supplier, item))
    }

    /// Who else has the book open.
    pub(super) fn here(&mut self, says: &[String]) {
        self.count.iter_mut().for_each(|screen| screen.also_here(says));
        self.book.iter_mut().for_each(|screen| screen.here(says));
    }

    pub(super) fn draw(&mut self, tab: Tab, frame: &mut Frame, area: Rect, scene: Scene) {
        match tab {
            Tab::Tonight => self.tonight.draw(frame, area, scene),
            Tab::Count => match (&mut self.count, &mut self.eye_check, &mut self.start) {
                (Some(count), ..) => count.draw(frame, area, scene),
                (None, Some(check), _) => check.draw(frame, area, scene),
                (None, None, Some(start)) => start.draw(frame, area, scene),
                (None, None, None) => {}
            },
            Tab::Variance => match (&mut self.variance, &self.no_variance) {
                (_, Some(why)) => {
                    let said = Paragraph::new(Line::from(why.clone())).wrap(Wrap { trim: true });
                    frame.render_widget(said, area);
                }
                (Some(screen), None) => screen.draw(frame, area, scene),
                (None, None) => {}
            },
            Tab::Orders => self.orders.iter_mut().for_each(|s| s.draw(frame, area, scene)),
            Tab::Receive => self.receive.iter_mut().for_each(|s| s.draw(frame, area, scene)),
            Tab::Losses => self.losses.iter_mut().for_each(|s| s.draw(frame, area, scene)),
            Tab::Stock => self.stock.iter_mut().for_each(|s| s.draw(frame, area, scene)),
            Tab::Par => self.par.iter_mut().for_each(|s| s.draw(frame, area, scene)),
            Tab::Drinks => self.drinks.iter_mut().for_each(|s| s.draw(frame, area, scene)),
            Tab::House => self.house.iter_mut().for_each(|s| s.draw(frame, area, scene)),
            Tab::Till => self.till.iter_mut().for_each(|s| s.draw(frame, area, scene)),
            Tab::Gauging => self.gauging.iter_mut().for_each(|s| s.draw(frame, area, scene)),
            Tab::Suppliers => self.suppliers.iter_mut().for_each(|s| s.draw(frame, area, scene)),
            Tab::Book => self.book.iter_mut().for_each(|s| s.draw(frame, area, scene)),
        }
    }
}

impl App {
    /// Goes to a screen, with fresh rows.
    pub(super) fn go(&mut self, tab: Tab, now: Moment) {
        if !self.may_go(tab) {
            return;
        }
        let came = std::mem::replace(&mut self.tab, tab) != tab;
        if came && tab == Tab::Book {
            self.screens.book.iter_mut().for_each(BookScreen::to_newest);
        }
        self.refresh(now);
    }

    /// Reads the rows of the current screen anew. A book that cannot be read is said; the old rows stay.
    pub(super) fn refresh(&mut self, now: Moment) {
        self.follow_rights(now);
        if let Err(refused) = self.fresh_rows(now) {
            self.notice = Some(Notice::error(refused.to_string()));
        }
    }

    fn fresh_rows(&mut self, now: Moment) -> Result<(), DeskError> {
        // These show the set-up and do not read it for themselves.
        if matches!(self.tab, Tab::Orders | Tab::Receive | Tab::Losses | Tab::Suppliers | Tab::Book) {
            self.setup = book::setup(&self.store)?;
        }
        let screens = &mut self.screens;
        match self.tab {
            Tab::Tonight => {
                let (setup, rows) = looking::tonight(&self.store, now)?;
                self.setup = setup.clone();
                screens.tonight.refresh(setup, rows);
                self.look_ahead(now);
            }
            Tab::Count => self.fresh_count(now)?,
            Tab::Variance => self.fresh_variance()?,
            Tab::Orders => {
                let view = ordering::orders_within(&self.store, screens.budget(), now)?;
                match &mut screens.orders {
                    Some(screen) => {
                        screen.refresh(self.setup.clone(), view);
                        if let Some(item) = screen.explained() {
                            screen.show_why(ordering::why(&self.store, item, screen.budget(), now)?);
                        }
                    }
                    None => screens.orders = Some(OrdersScreen::new(self.setup.clone(), view)),
                }
            }
            Tab::Receive => {
                let views = ordering::receivable(&self.store, &self.setup)?;
                let claims = receiving::open_claims(&self.store)?;
                let booked = receiving::newest(&self.store, BILLS)?;
                match &mut screens.receive {
                    Some(screen) => {
                        if let Some(gone) = screen.refresh(self.setup.clone(), views, claims, booked) {
                            self.notice = Some(gone);
                        }
                        let shown = screen.bill().map(|(view, choice)| (view.file.clone(), choice));
                        if let Some((file, choice)) = shown {
                            screen.show_bill(receiving::view(&self.store, &file, &choice, now)?);
                        }
                    }
                    None => screens.receive = Some(ReceiveScreen::new(self.setup.clone(), views, claims, booked)),
                }
            }
            Tab::Losses => {
                let rows = losing::recent(&self.store, LOSSES)?;
                match &mut screens.losses {
                    Some(screen) => screen.refresh(self.setup.clone(), rows),
                    None => {
                        let by = self.options.by.clone();
                        screens.losses = Some(LossesScreen::new(self.setup.clone(), rows, by));
                    }
                }
            }
            Tab::Stock => {
                let (setup, rows) = looking::stock(&self.store, now)?;
                self.setup = setup.clone();
                match &mut screens.stock {
                    Some(screen) => {
                        screen.refresh(setup, rows);
                        if screen.is_carrying() {
                            screen.show_carry(carrying::view(&self.store, now)?);
                        }
                        if screen.shows_worth() {
                            screen.show_worth(worth::over_time(&self.store, now)?.1);
                        }
                    }
                    None => screens.stock = Some(StockScreen::new(setup, rows)),
                }
            }
            Tab::Par => {
                let view = par::view(&self.store, now)?;
                self.setup = view.setup.clone();
                match &mut screens.par {
                    Some(screen) => screen.refresh(view),
                    None => screens.par = Some(ParScreen::new(view)),
                }
            }
            Tab::Drinks => {
                let view = drinks::view(&self.store, now)?;
                self.setup = view.setup.clone();
                match &mut screens.drinks {
                    Some(screen) => screen.refresh(view),
                    None => screens.drinks = Some(DrinksScreen::new(view)),
                }
            }
            Tab::House => {
                let view = house::view(&self.store, now)?;
                self.setup = view.setup.clone();
                match &mut screens.house {
                    Some(screen) => screen.refresh(view),
                    None => screens.house = Some(HouseScreen::new(view, self.options.by.clone())),
                }
            }
            Tab::Till => {
                let view = till::view(&self.store, now)?;
                self.setup = view.setup.clone();
                match &mut screens.till {
                    Some(screen) => screen.refresh(view),
                    None => screens.till = Some(TillScreen::new(view)),
                }
            }
            Tab::Gauging => {
                let view = gauging::gauging(&self.store, now)?;
                self.setup = view.setup.clone();
                match &mut screens.gauging {
                    Some(screen) => screen.refresh(view),
                    None => screens.gauging = Some(GaugingScreen::new(view, self.options.by.clone())),
                }
            }
            Tab::Suppliers => {
                let records = ordering::records(&self.store, now)?;
                match &mut screens.suppliers {
                    Some(screen) => screen.refresh(self.setup.clone(), records),
                    None => screens.suppliers = Some(SuppliersScreen::new(self.setup.clone(), records)),
                }
            }
            Tab::Book => {
                let most = screens.book.as_ref().map_or(0, BookScreen::shown).max(ACTS) as u32;
                let view = history::view(&self.store, None, most)?;
                let known = people::list(&self.store)?;
                let here = self.terminal.others.clone();
                match &mut screens.book {
                    Some(screen) => screen.refresh(view, known, here),
                    None => screens.book = Some(BookScreen::new(view, known, here)),
                }
            }
        }
        Ok(())
    }

    /// The two counts that were compared before, or the last two; with the line that was open, open again.
    fn fresh_variance(&mut self) -> Result<(), DeskError> {
        let before = self.screens.variance.as_ref().map(|screen| {
            let view = screen.view();
            let settled = |item: &ItemId| view.explained.contains_key(item);
            (view.opening.id, view.closing.id, screen.explained().map(|item| (item, settled(&item))))
        });
        let choice = before.map_or_else(Choice::default, |(opening, closing, _)| Choice {
            opening: Some(opening),
            closing: Some(closing),
        });
        match reviewing::review(&self.store, choice) {
            Ok(view) => self.screens.compared(self.setup.clone(), view, self.options.by.clone()),
            Err(DeskError::Refused(why)) => self.screens.no_variance = Some(why),
            Err(other) => return Err(other),
        }
        // One whose cause was just accepted stays closed: the cursor is on the next.
        if let Some((_, _, Some((item, was_settled)))) = before
            && let Some(view) = self.screens.variance.as_ref().map(VarianceScreen::view)
            && (was_settled || !view.explained.contains_key(&item))
            && let Ok(evidence) = reviewing::evidence(&self.store, view, item)
        {
            self.screens.explained(evidence);
        }
        self.screens.compare_with(history::last(&self.store)?);
        Ok(())
    }

    /// The sheet of the count in progress, or the choice of what to count.
    fn fresh_count(&mut self, now: Moment) -> Result<(), DeskError> {
        let (choices, open) = counting::choices(&self.store, now)?;
        match &mut self.screens.count {
            Some(screen) if open.as_ref().is_some_and(|o| o.id == screen.sheet().count.id) => {
                let sheet = counting::sheet(&self.store, screen.sheet().count.id, now)?;
                self.setup = sheet.setup.clone();
                screen.refresh(sheet);
                return Ok(());
            }
            Some(screen) => {
                // Closed, or given up, at another terminal: a key that was meant for it must not begin another one.
                let name = &screen.sheet().count.name;
                let typed = screen.being_typed().map_or(String::new(), |(typed, item)| {
                    say!(
                        " What was being typed, {typed} for {item}, is not in it.",
                        typed,
                        item = self.setup.item_name(item)
                    )
                });
                let question = say!("The count “{name}” was closed or given up meanwhile.{typed}", name, typed);
                let confirm = Confirm::new(question, word!("goes on to what can be counted"), word!("does so too"));
                self.overlay = Overlay::Ask(confirm, Box::new(Effect::None), Box::new(Effect::None));
                self.screens.count = None;
            }
            None => {}
        }
        let by = self.options.by.as_deref();
        match &mut self.screens.start {
            Some(start) => start.refresh(choices, open, self.setup.clone()),
            None => self.screens.start = Some(CountStart::new(choices, open, self.setup.clone(), by)),
        }
        Ok(())
    }
}
