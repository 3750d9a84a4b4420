//! Carrying out what screens want: each effect is one use case of the desk.

use super::copying::CLOSED;
use super::jobs::Task;
use super::screens::ACTS;
use super::{App, Found, Overlay, Purpose};
use crate::desk::comparing::Choice;
use crate::desk::files::{self, LedTo};
use crate::desk::ordering::Form;
use crate::desk::reviewing;
use crate::desk::{
    DeskError, carrying, comparing, counting, drinks, explaining, filled, gauging, history, house, items, losing,
    ordering, pasting, people, receiving, reporting, till, undoing, worth,
};
use crate::domain::copies::Why;
use crate::domain::gauge::Weighing;
use crate::domain::ledger::{Check, CountLine, Order};
use crate::domain::measure::number_of;
use crate::domain::rows::{
    BillBooked, BillChoice, BillFile, BillTakenBack, BillView, Checking, DraftKept, DraftView, Entered, Listing,
    ReceiveView, cause_word, differ_words,
};
use crate::domain::venue::{ActId, CountId, Moment, OrderId, Setup, TenthsOf};
use crate::tui::keymap::Tab;
use crate::tui::screen::count::CountScreen;
use crate::tui::screen::eye_check::EyeCheckScreen;
use crate::tui::screen::{self, Effect, losses, when};
use crate::tui::widget::chooser::Chooser;
use crate::tui::widget::confirm::Confirm;
use crate::tui::widget::finder::Finder;
use crate::tui::widget::notice::Notice;
use crate::tui::widget::sign_in::SignIn;
use crate::words;
use std::ffi::OsStr;
use std::path::PathBuf;
use std::sync::Arc;

impl App {
    pub(super) fn carry_out(&mut self, effect: Effect, now: Moment) {
        if effect != Effect::None && self.follow_book(now) {
            return;
        }
        if let Err(refused) = self.try_to(effect, now) {
            self.notice = Some(Notice::error(refused.to_string()));
        }
    }

    /// Says something good or bad about what was done.
    pub(super) fn say(&mut self, notice: Notice) {
        self.notice = Some(notice);
    }

    fn try_to(&mut self, effect: Effect, now: Moment) -> Result<(), DeskError> {
        let by = self.options.by.clone();
        let by = by.as_deref();
        match effect {
            Effect::None => {}
            Effect::Say(notice) => self.say(notice),
            Effect::Go(tab) => {
                let (supplier, item) = self.screens.to_order(self.tab);
                let made_here = self.screens.made_here_under_cursor(self.tab);
                let claims = self.screens.is_on_claims(self.tab);
                let till_name = self.screens.till_name_under_cursor(self.tab);
                self.go(tab, now);
                if let (Tab::House, Some(item)) = (tab, made_here) {
                    let _ = self.screens.find(tab, item);
                }
                if tab == Tab::Receive && claims && self.sees_costs() {
                    self.screens.show_claims();
                }
                if let (Tab::Till, Some(name)) = (tab, till_name) {
                    self.screens.find_till_name(&name);
                }
                if tab == Tab::Orders
                    && let Some(notice) = self.screens.show_order(supplier, item)
                {
                    self.say(notice);
                }
            }
            Effect::Both(first, then) => {
                self.try_to(*first, now)?;
                self.try_to(*then, now)?;
            }
            Effect::Quit => self.wants.quit = true,
            Effect::Ask { question, yes, no, then, otherwise } => {
                self.overlay = Overlay::Ask(Confirm::new(question, yes, no), then, otherwise);
            }
            Effect::Pick { title, enter, items, likely, or_new } => {
                let finder = match likely {
                    None => self.finder(&title, enter, items.as_deref()),
                    Some(likely) => self.likely_finder(&title, enter, &likely),
                };
                self.overlay = match or_new {
                    true => Overlay::Find(finder.or_new(), Purpose::PickOrNew),
                    false => Overlay::Find(finder, Purpose::Pick),
                };
            }
            Effect::PickDrink(title) => {
                let drinks = self.setup.drinks.iter().map(|drink| (Found::Drink(drink.id), drink.name.clone()));
                let finder = Finder::new(&say!("{title} Enter takes it", title), drinks);
                self.overlay = Overlay::Find(finder, Purpose::Pick);
            }
            Effect::PickSupplier { title, first } => {
                let rank = |id| first.iter().position(|f| *f == id).unwrap_or(first.len());
                let mut suppliers: Vec<_> = self.setup.suppliers.iter().collect();
                suppliers.sort_by_key(|s| rank(s.id));
                let suppliers = suppliers.into_iter().map(|s| (Found::Supplier(s.id), s.name.clone()));
                let finder = Finder::new(&say!("{title} Enter takes it", title), suppliers);
                self.overlay = Overlay::Find(finder, Purpose::Pick);
            }
            Effect::ReadInvoice(_) | Effect::LookAtSales { .. } if !self.sees_costs() => {
                self.say(Notice::warning(word!("bills and sales are a manager's to take in: W signs one in")));
            }
            Effect::ReadInvoice(path) => {
                if self.tab != Tab::Receive {
                    self.go(Tab::Receive, now);
                }
                self.begin(Task::Bill { path }, now);
            }
            Effect::ViewBill { file, choice } => self.show_bill(&file, &choice, now)?,
            Effect::ExplainLine { file, choice, supplier, line, means } => {
                if let Some(billed) = file.invoice.lines.get(line) {
                    receiving::explain(&self.store, supplier, billed, means, now)?;
                }
                self.show_bill(&file, &choice, now)?;
            }
            Effect::KnowSupplier { file, choice, supplier } => {
                receiving::know_supplier(&self.store, &file.invoice, supplier, now)?;
                self.show_bill(&file, &choice, now)?;
            }
            Effect::AcceptBill { view, keep_rest, on_its_day } => {
                let booked = receiving::accept(&self.store, &view, keep_rest, on_its_day, by, now)?;
                self.screens.bill_booked();
                self.refresh(now);
                self.watch(now);
                self.say(Notice::info(bill_booked(&booked, &view, &self.setup)));
            }
            Effect::SettleClaim(claim, how) => {
                receiving::settle(&self.store, claim, &how, by, now)?;
                self.refresh(now);
                self.say(Notice::info(word!("the claim is settled; the book keeps what it was and how it ended")));
            }
            Effect::TakeBackBill(bill) => {
                let done = receiving::take_back(&self.store, bill, by, now)?;
                self.refresh(now);
                self.watch(now);
                self.say(Notice::info(bill_taken_back(&done)));
            }
            Effect::ChooseFile(title) => self.choose_file(&title),
            Effect::MapTill { till, means, said } => {
                till::map(&self.store, till, means, now)?;
                self.refresh(now);
                self.say(Notice::info(said));
            }
            Effect::LookAtSales { path, table } => {
                if self.tab != Tab::Till {
                    self.go(Tab::Till, now);
                }
                self.begin(Task::Look { path, table }, now);
            }
            Effect::TakeSales { path, table, digest, all_the_same } => {
                let by = by.map(str::to_owned);
                self.begin(Task::Take { path, table, by, digest, all_the_same }, now);
            }
            Effect::SetAside { print, .. } => {
                till::set_aside(&self.store, &print, by, now)?;
                self.refresh(now);
                self.watch(now);
                self.say(Notice::info(say!(
                    "{file} is set aside; Till (I), then i, offers it again",
                    file = print.name
                )));
            }
            Effect::WithdrawFile(file) => {
                let lines = till::withdraw(&self.store, file, by, now)?;
                self.refresh(now);
                self.watch(now);
                let lines = number_of(lines, word!("line"), word!("lines"));
                self.say(Notice::info(say!("taken back: {lines} of sales no longer count, and are kept apart", lines)));
            }
            Effect::OfferFile(file, name) => {
                till::withdraw(&self.store, file, by, now)?;
                self.refresh(now);
                self.watch(now);
                self.say(Notice::info(say!("{name} is not set aside any more: it is offered where it lies", name)));
            }
            Effect::BeginCount { places, blind } => {
                let id = counting::begin(&self.store, &places, blind, by, now)?;
                self.open_count(id, now)?;
            }
            Effect::BeginFromSheet(sheet) => {
                let id = filled::begin(&self.store, &sheet, now)?;
                self.screens.sheet_begun();
                self.open_count(id, now)?;
            }
            Effect::OpenCount(id) => {
                self.open_count(id, now)?;
                self.tab = Tab::Count;
            }
            Effect::SaveLines(lines) => self.save_lines(lines, now)?,
            Effect::ReplaceLine { ours, theirs } => self.replace_line(*ours, &theirs, now)?,
            Effect::TakeBackLine { taken, before } => {
                let done = counting::take_back(&self.store, &taken, before.as_ref(), by, now);
                if done.is_err() {
                    // What the book has stands, so the sheet shows that again.
                    self.refresh(now);
                }
                done?;
                let name = self.setup.item_name(taken.item).to_owned();
                self.say(Notice::info(say!("taken back: {name}", name)));
            }
            Effect::EnterDigits(digits) => {
                if let Some(screen) = &mut self.screens.count {
                    let entered = screen.enter_digits(&digits, now);
                    self.try_to(entered, now)?;
                }
            }
            Effect::ClosePlace(count, place) => {
                counting::close_place(&self.store, count, place, now)?;
                let said = self.screens.count.as_mut().map(|c| c.place_closed(place));
                self.notice = said;
            }
            Effect::CloseCount(count) => {
                counting::close(&self.store, count, now)?;
                // What stood on paper may have been poured from since: on the scale it would tell nothing of the eye.
                let on_paper = self.screens.count.take().is_some_and(|screen| screen.sheet().filled.is_some());
                if self.sees_costs() {
                    let choice = Choice { opening: None, closing: Some(count) };
                    match reviewing::review(&self.store, choice) {
                        Ok(view) => {
                            self.tab = Tab::Variance;
                            self.screens.compared(self.setup.clone(), view, self.options.by.clone());
                        }
                        // The first count of a book has nothing to be compared with: it says what there is.
                        Err(_) => {
                            self.tab = Tab::Stock;
                            self.refresh(now);
                        }
                    }
                    self.say(Notice::info(words::find(CLOSED)));
                } else {
                    self.refresh(now);
                    self.say(Notice::info(word!("the count is closed and kept")));
                }
                self.copy_book(Why::Closing, now);
                if !on_paper {
                    self.offer_eye_check(count, now)?;
                }
            }
            Effect::DropCount(count) => {
                counting::give_up(&self.store, count, now)?;
                self.screens.count = None;
                self.refresh(now);
                self.say(Notice::info(word!("the count is given up: nothing was in it")));
            }
            Effect::CopyBook => {
                self.copy_book(Why::Asked, now);
            }
            Effect::CheckEye(count) => {
                if let Some(check) = by.map(|by| gauging::eye_check(&self.store, count, by, now)).transpose()?.flatten()
                {
                    self.screens.eye_check = Some(EyeCheckScreen::new(check));
                    self.tab = Tab::Count;
                }
            }
            Effect::Weigh(fact) => self.weigh(fact, now)?,
            Effect::TakeBackWeighing(seq) => {
                let done = gauging::take_back(&self.store, seq, by, now)?;
                self.refresh(now);
                let said = if done {
                    word!("taken back; the book keeps both rows")
                } else {
                    word!("it was taken back already")
                };
                self.say(Notice::info(said));
            }
            Effect::SetShape(item, shapes) => {
                let shape = gauging::set_shape(&self.store, item, &shapes, now)?;
                self.refresh(now);
                let name = shape.map_or(word!("no shape"), |shape| self.setup.shape_name(shape)).to_owned();
                // A shape changes what a tenth is, and that is not to come as a surprise.
                let height = shape.is_some() && self.setup.venue.tenths_of == TenthsOf::Height;
                let tenths = if height { word!("; a tenth by eye is now a tenth of its height") } else { "" };
                self.say(Notice::info(format!("{}: {name}{tenths}", self.setup.item_name(item))));
            }
            Effect::PutShape(profile, item) => {
                if let Err(refused) = gauging::put_shape(&self.store, &profile, item, now) {
                    self.screens.shape_refused();
                    return Err(refused);
                }
                self.refresh(now);
                self.say(Notice::info(say!("the shape “{profile}” is kept", profile = profile.name)));
            }
            Effect::NewItem(place, item) => {
                if let Some(screen) = &self.screens.count {
                    let id = items::add(&self.store, screen.sheet(), place, &item, now)?;
                    self.screens.item_added(id);
                    self.refresh(now);
                    let _ = self.screens.find(Tab::Count, id);
                    self.say(Notice::info(say!("{name} is in the book: type what is there", name = item.name)));
                }
            }
            Effect::TakeBackItem(item) => {
                let name = self.setup.item_name(item).to_owned();
                items::take_back(&self.store, item, now)?;
                self.refresh(now);
                self.say(Notice::info(say!("taken back: {name} is not in the book any more", name)));
            }
            Effect::OpenCard(of, id) => self.open_card(of, id, now)?,
            Effect::ShowWorth => {
                let (_, over) = worth::over_time(&self.store, now)?;
                self.screens.show_worth(over);
            }
            Effect::WriteWorth => {
                let file = reporting::write_worth(&self.store, now, &self.options.orders)?;
                self.say(Notice::info(written(&[file])));
            }
            Effect::WritePars => {
                let file = reporting::write_pars(&self.store, now, &self.options.orders)?;
                self.say(Notice::info(written(&[file])));
            }
            Effect::LookAtCard(card) => self.look_at_card(&card, now)?,
            Effect::KeepCard(card) => self.keep_card(&card, now)?,
            Effect::TakeAway(of, id) => self.take_away(of, id, now)?,
            Effect::PasteList(_) | Effect::OpenList(_) if !self.sees_costs() => {
                self.say(Notice::warning(word!("a list of items is a manager's to take in: W signs one in")));
            }
            Effect::PasteList(text) => self.show_list(pasting::of_text(&self.store, &text)?, now)?,
            Effect::OpenList(path) => self.show_list(pasting::of_file(&self.store, &path)?, now)?,
            Effect::LookAtList(list) => self.show_list(*list, now)?,
            Effect::ReadListAnew(list, head) => self.show_list(pasting::under(&self.store, &list, head)?, now)?,
            Effect::TakeList(list) => self.take_list(*list, now)?,
            Effect::AddItem(place, item) => {
                if let Some(screen) = &self.screens.count {
                    counting::add_item(&self.store, screen.sheet(), place, item, now)?;
                    self.refresh(now);
                    let _ = self.screens.find(Tab::Count, item);
                }
            }
            Effect::SetMode(place, mode) => counting::set_mode(&self.store, place, mode, now)?,
            Effect::Compare { opening, closing } => {
                let view = reviewing::review(&self.store, Choice { opening, closing })?;
                self.screens.compared(self.setup.clone(), view, self.options.by.clone());
            }
            Effect::ListCounts(end) => {
                let counts = comparing::closed_counts(&self.store)?;
                if let Some(notice) = self.screens.list_counts(end, counts) {
                    self.say(notice);
                }
            }
            Effect::Explain(item) => {
                if let Some(screen) = &self.screens.variance {
                    let evidence = reviewing::evidence(&self.store, screen.view(), item)?;
                    self.screens.explained(evidence);
                }
            }
            Effect::AcceptCause(said) => {
                let accepted = explaining::Accepted {
                    closing: said.closing,
                    item: said.item,
                    cause: said.cause,
                    note: Some(said.note).filter(|note| !note.is_empty()),
                };
                if let Err(refused) = explaining::accept(&self.store, &accepted, Some(&said.by), now) {
                    self.screens.cause_refused();
                    return Err(refused);
                }
                self.refresh(now);
                let name = self.setup.item_name(accepted.item).to_owned();
                self.say(Notice::info(say!(
                    "accepted: {name}, {cause}; u takes it back",
                    name,
                    cause = cause_word(accepted.cause)
                )));
            }
            Effect::ReopenGap { closing, item } => {
                explaining::reopen(&self.store, closing, item, by, now)?;
                self.refresh(now);
                self.say(Notice::info(word!("taken back: the gap is open again; the book keeps both")));
            }
            Effect::WriteReport { opening, closing } => {
                let choice = Choice { opening: Some(opening), closing: Some(closing) };
                let files = reporting::write_week(&self.store, choice, now, &self.options.orders)?;
                self.say(Notice::info(written(&files)));
            }
            Effect::ExplainOrder(item) => {
                let view = ordering::why(&self.store, item, self.screens.budget(), now)?;
                self.screens.show_why(view);
            }
            Effect::PlanOrders(budget) => {
                let view = ordering::orders_within(&self.store, budget, now)?;
                self.screens.planned(self.setup.clone(), view);
                self.say(Notice::info(match budget {
                    Some(_) => word!("planned anew within the budget; drafts that were changed stay as they are"),
                    None => word!("no budget: planned anew, up to par"),
                }));
            }
            Effect::KeepDraft(view) => {
                let kept = ordering::keep_draft(&self.store, &view, now)?;
                self.refresh(now);
                if let DraftKept::Twice(theirs) = kept {
                    self.which_order_stands(*view, *theirs, Effect::KeepDraft);
                }
            }
            Effect::ForgetDraft(order) => {
                ordering::forget_draft(&self.store, order, now)?;
                self.refresh(now);
                self.say(Notice::info(word!("the changes are dropped; the order is as suggested")));
            }
            Effect::Send(view) => {
                let kept = ordering::send(&self.store, &view, now)?;
                let days = &self.setup.venue.days;
                let comes = view
                    .draft
                    .deadline
                    .map(|deadline| say!(", comes {comes}", comes = when::day(now, deadline.comes, days)));
                self.refresh(now);
                match kept {
                    DraftKept::Twice(theirs) => self.which_order_stands(*view, *theirs, Effect::Send),
                    DraftKept::Kept(_) => {
                        let comes = comes.unwrap_or_default();
                        self.say(Notice::info(say!("marked as sent{comes}; Receive (R) books it then", comes)));
                    }
                }
            }
            Effect::WriteOrder(view) => {
                let document = ordering::document(&self.setup, &view, None, now);
                let files = ordering::write_files(&document, &self.options.orders, Form::ALL)?;
                self.say(Notice::info(written(&files)));
            }
            Effect::WriteCountSheet(places) => {
                let file = reporting::write_count_sheet(&self.setup, &places, now, &self.options.orders)?;
                self.say(Notice::info(written(&[file])));
            }
            Effect::Check(order, checks) => {
                let theirs = ordering::check(&self.store, order, &checks, by, now);
                // Refused or not, the lines are to be as the book has them.
                self.refresh(now);
                let ask = |next, checking| self.which_check_stands(order, checking, next);
                let asked = theirs?.into_iter().rfold(Effect::None, ask);
                self.carry_out(asked, now);
            }
            Effect::Receive { view, document, keep_rest } => {
                let (booked, rest) = ordering::receive(&self.store, &view, &document, keep_rest, by, now)?;
                self.refresh(now);
                self.say(Notice::info(booked_in(&view, booked, rest.as_deref())));
            }
            Effect::GiveUp(order) => {
                ordering::give_up(&self.store, order, now)?;
                self.refresh(now);
                self.say(Notice::info(word!("the order is given up; nothing of it is on order any more")));
            }
            Effect::ShowCarry => {
                let view = carrying::view(&self.store, now)?;
                if self.tab != Tab::Stock {
                    self.go(Tab::Stock, now);
                }
                self.screens.show_carry(view);
            }
            Effect::BookCarried(list) => {
                let carried = carrying::book(&self.store, &list, by, now);
                // Refused or not, the list is to be as the book has it.
                self.refresh(now);
                let carried = number_of(carried?, word!("container"), word!("containers"));
                self.say(Notice::info(say!("booked as carried: {carried}; u takes the last line back", carried)));
            }
            Effect::TakeBackCarried(seq) => {
                carrying::take_back(&self.store, seq, by, now)?;
                self.refresh(now);
                self.say(Notice::info(word!("taken back; the journal keeps both rows")));
            }
            Effect::RecordLoss(loss) => {
                if let Err(refused) = losing::record(&self.store, &loss, now) {
                    self.screens.loss_refused();
                    return Err(refused);
                }
                self.refresh(now);
                let name = self.setup.item_name(loss.item).to_owned();
                self.say(Notice::info(say!(
                    "written down: {name}, {reason}",
                    name,
                    reason = losses::word(loss.reason)
                )));
            }
            Effect::KeepDrink(draft) => {
                let id = drinks::keep(&self.store, &draft, now)?;
                self.refresh(now);
                self.screens.drink_kept(id);
                let when = screen::serve::since(draft.from);
                let on = if draft.menu.on { word!("on the menu") } else { word!("off the menu") };
                let drink = self.setup.drink(id);
                let days = drink.into_iter().flat_map(|drink| drink.version_days());
                let until = days
                    .filter(|from| *from > draft.from)
                    .min()
                    .flatten()
                    .map_or(String::new(), |day| say!(", until {day}", day = words::day(day, "%-d %b %Y")));
                self.say(Notice::info(say!(
                    "{draft}: kept, valid {when}{until}, {on}",
                    draft = draft.name,
                    when,
                    until,
                    on
                )));
            }
            Effect::SetOnMenu(drink, on) => {
                drinks::set_on(&self.store, drink, on, now)?;
                self.refresh(now);
                let name = self.setup.drink(drink).map_or("?", |drink| &drink.name);
                let word = if on { word!("on the menu") } else { word!("off the menu") };
                self.say(Notice::info(say!("{name}: {word} from today on, and in what begins later", name, word)));
            }
            Effect::DropVersion(drink, from) => {
                let gone = drinks::drop_version(&self.store, drink, from, now)?;
                self.refresh(now);
                self.say(Notice::info(if gone {
                    word!("the drink is taken away")
                } else {
                    word!("the version is taken away")
                }));
            }
            Effect::WriteMenu(selection) => {
                let view = drinks::view(&self.store, now)?;
                let file = reporting::write_menu(&view, selection, &self.options.orders)?;
                self.say(Notice::info(written(&[file])));
            }
            Effect::WriteSheet { drink, serves, water, vessel } => {
                let view = drinks::view(&self.store, now)?;
                let file = reporting::write_batch(&view, drink, serves, water, vessel, &self.options.orders)?;
                self.say(Notice::info(written(&[file])));
            }
            Effect::KeepRecipe(draft) => {
                let id = house::keep_recipe(&self.store, &draft, now)?;
                self.refresh(now);
                self.screens.made_kept(id);
                let when = screen::serve::since(draft.from);
                self.say(Notice::info(say!(
                    "{id}: the recipe is kept, valid {when}",
                    id = self.setup.item_name(id),
                    when
                )));
            }
            Effect::MakeBatch(batch) => {
                let booked = house::make(&self.store, &batch, now)?;
                self.refresh(now);
                self.screens.made_kept(batch.item);
                let name = self.setup.item_name(batch.item).to_owned();
                self.say(Notice::info(say!("booked: {name}; {words}", name, words = booked.words())));
            }
            Effect::TakeBackBatch(seq) => {
                house::take_back(&self.store, seq, by, now)?;
                self.refresh(now);
                self.say(Notice::info(word!("taken back; the journal keeps both rows")));
            }
            Effect::SetPar(item, par) => self.set_par(item, par, now)?,
            Effect::RulePars(items, from) => self.rule_pars(&items, from, now)?,
            Effect::PutParsBack(changes) => self.put_pars_back(&changes, now)?,
            Effect::ShowAct(id) => {
                let (_, row) = history::told(&self.store, id)?;
                if let Some(screen) = &mut self.screens.book {
                    screen.show(row);
                }
            }
            Effect::EarlierActs => {
                let shown = self.screens.book.as_ref().map_or(0, |screen| screen.shown());
                let most = u32::try_from(shown + ACTS).unwrap_or(u32::MAX);
                let (view, known) = (history::view(&self.store, None, most)?, people::list(&self.store)?);
                if let Some(screen) = &mut self.screens.book {
                    screen.refresh(view, known, self.terminal.others.clone());
                }
            }
            Effect::UndoAct(id) => {
                undoing::undo(&self.store, id, now)?;
                self.turned(id, word!("taken back"), now)?;
            }
            Effect::RedoAct(id) => {
                undoing::redo(&self.store, id, now)?;
                self.turned(id, word!("done again"), now)?;
            }
            Effect::PutPerson(person) => {
                people::put(&self.store, &person, now)?;
                self.screens.book.iter_mut().for_each(|screen| screen.person_kept());
                self.refresh(now);
                self.say(Notice::info(say!(
                    "{initials} signs here as {role}",
                    initials = person.initials,
                    role = person.role
                )));
            }
            Effect::AskNewPin(initials) => self.overlay = Overlay::SignIn(SignIn::new_pin(&initials)),
            Effect::ClearPin(initials) => {
                people::set_pin(&self.store, &initials, None, now)?;
                self.refresh(now);
                self.say(Notice::info(say!("{initials} has no PIN any more", initials)));
            }
            Effect::OverPeriods { item, most, last: (opening, closing) } => {
                let choice = Choice { opening: Some(opening), closing: Some(closing) };
                self.begin(Task::OverPeriods { choice, item, most }, now);
            }
            Effect::LookBack(weeks) => self.begin(Task::LookBack { weeks }, now),
            Effect::TakeBackLoss(seq) => {
                losing::take_back(&self.store, seq, by, now)?;
                self.refresh(now);
                self.say(Notice::info(word!("taken back; the journal keeps both rows")));
            }
        }
        Ok(())
    }

    /// Shows a bill beside what was ordered.
    pub(super) fn show_bill(
        &mut self,
        file: &Arc<BillFile>,
        choice: &BillChoice,
        now: Moment,
    ) -> Result<(), DeskError> {
        let view = receiving::view(&self.store, file, choice, now)?;
        self.setup = view.setup.clone();
        self.screens.show_bill(view);
        Ok(())
    }

    /// Lets the person choose a file: from where one was chosen last, else from the watched folder, else from here.
    fn choose_file(&mut self, title: &str) {
        let watched = self.setup.venue.watch_folder.as_ref().map(PathBuf::from);
        let folder = self.folder.clone().or(watched).or_else(|| std::env::current_dir().ok()).unwrap_or_default();
        let listing = match files::look_into(&folder) {
            LedTo::Folder(listing) => listing,
            LedTo::File(_) => Listing { folder, entries: Ok(Vec::new()) },
        };
        self.overlay = Overlay::Files(Chooser::new(title, listing, self.setup.venue.days));
    }

    /// Whoever signs and has read enough opened containers by eye is asked whether to weigh some of them: often at first,
    /// later now and then.
    fn offer_eye_check(&mut self, count: CountId, now: Moment) -> Result<(), DeskError> {
        let Some(by) = self.options.by.as_deref() else { return Ok(()) };
        let Some(number) = gauging::eye_check_due(&self.store, count, by, now)? else { return Ok(()) };
        let question = say!(
            "{number} of the opened ones on the scale tell how good your eye is: a minute's work. Weigh them now?",
            number
        );
        let confirm = Confirm::new(question, word!("shows which"), word!("not tonight"));
        self.overlay = Overlay::Ask(confirm, Box::new(Effect::CheckEye(count)), Box::new(Effect::None));
        Ok(())
    }

    /// Keeps a weighing, whoever asked for it.
    fn weigh(&mut self, fact: Weighing, now: Moment) -> Result<(), DeskError> {
        let seq = gauging::weigh(&self.store, &fact, now)?;
        let fact = Weighing { seq, ..fact };
        match (self.tab, &mut self.screens.eye_check) {
            (Tab::Count, Some(screen)) => {
                let eye = gauging::eye_of(&self.store, screen.by())?;
                self.notice = screen.weighed(fact, eye);
            }
            _ => {
                self.refresh(now);
                let name = self.setup.item_name(fact.item).to_owned();
                self.say(Notice::info(say!(
                    "{name}: {state} {weight} is kept",
                    name,
                    state = fact.state,
                    weight = fact.weight
                )));
            }
        }
        Ok(())
    }

    /// An act was taken back or done again: all that is shown is read anew.
    fn turned(&mut self, id: ActId, done: &str, now: Moment) -> Result<(), DeskError> {
        self.screens.count = None;
        self.setup = Arc::new(comparing::setup(&self.store)?);
        self.refresh(now);
        if self.screens.book.as_ref().is_some_and(|screen| screen.read() == Some(id)) {
            let (_, row) = history::told(&self.store, id)?;
            self.screens.book.iter_mut().for_each(|screen| screen.show(row.clone()));
        }
        self.say(Notice::info(say!("act {id} is {done}; the history keeps both", id = id.0, done)));
        Ok(())
    }

    /// Keeps counted lines, each with a commit of its own. When the book refuses one, it and those after it are not on
    /// the sheet either.
    fn save_lines(&mut self, lines: Vec<CountLine>, now: Moment) -> Result<(), DeskError> {
        let mut twice = Vec::new();
        for (n, line) in lines.iter().enumerate() {
            let Some(screen) = &mut self.screens.count else { return Ok(()) };
            let known = screen.before(line);
            match counting::save_line(&self.store, screen.sheet(), line, known.as_ref(), now) {
                Ok(None) => {}
                Ok(Some(theirs)) => {
                    screen.refused(&lines[n..=n]);
                    twice.push((line.clone(), theirs));
                }
                Err(refused) => {
                    screen.refused(&lines[n..]);
                    screen.typed_again(line);
                    return Err(refused);
                }
            }
        }
        if !twice.is_empty() {
            self.refresh(now);
            let asked =
                twice.into_iter().rfold(Effect::None, |next, (ours, theirs)| self.which_stands(ours, theirs, next));
            self.carry_out(asked, now);
        }
        Ok(())
    }

    /// Asks which of two entries of one line stands, then goes on with the next question.
    fn which_stands(&self, ours: CountLine, theirs: CountLine, next: Effect) -> Effect {
        let (item, place) = (self.setup.item_name(ours.item), self.setup.place_name(ours.place));
        let who = theirs.by.as_deref().unwrap_or(word!("another terminal"));
        let at = self.setup.venue.days.clock(theirs.at);
        let question = say!(
            "{item}, {place}: {who} entered {entry} at {at}, you {entry_2} now. Which stands?",
            item,
            place,
            who,
            entry = theirs.entry.shown(),
            at,
            entry_2 = ours.entry
        );
        let (yes, no) =
            (say!("yours, {entry}", entry = ours.entry.shown()), say!("theirs, {entry}", entry = theirs.entry.shown()));
        let replace = Effect::ReplaceLine { ours: Box::new(ours), theirs: Box::new(theirs) };
        ours_or_theirs(question, (yes, no), replace, next)
    }

    /// Asks which of two things that were said of a line of a delivery stands, then goes on with the next question.
    fn which_check_stands(&self, order: OrderId, checking: Checking, next: Effect) -> Effect {
        let Some(theirs) = &checking.known else { return next };
        let ours = &checking.now;
        let said = |check: &Check| {
            let price = check.charged.filter(|_| self.sees_costs() && ours.charged != theirs.charged);
            let price = price.map(|price| say!(" at {currency}", currency = price.shown(self.setup.venue.currency)));
            let place = check.place.filter(|_| ours.place != theirs.place);
            let place = place.map(|place| say!(", put in {place}", place = self.setup.place_name(place)));
            format!("{}{}{}", check.came, price.unwrap_or_default(), place.unwrap_or_default())
        };
        let who = theirs.by.as_deref().unwrap_or(word!("another terminal"));
        let question = say!(
            "Of {checking} came, as {who} said, {theirs}; you say {ours}. Which stands?",
            checking = self.setup.item_name(checking.item),
            who,
            theirs = said(theirs),
            ours = said(ours)
        );
        let (yes, no) = (say!("yours, {ours}", ours = said(ours)), say!("theirs, {theirs}", theirs = said(theirs)));
        ours_or_theirs(question, (yes, no), Effect::Check(order, vec![checking]), next)
    }

    /// Asks which of two changes of one order stands.
    fn which_order_stands(&mut self, ours: DraftView, theirs: Order, then: impl Fn(Box<DraftView>) -> Effect) {
        let differ = differ_words(&theirs.lines, &ordering::order_lines(&ours.draft), &self.setup, 3);
        let question = say!(
            "{theirs} was changed at another terminal meanwhile: {differ}. Which stands?",
            theirs = theirs.name,
            differ
        );
        let ours = DraftView { order: Some(theirs.id), name: theirs.name, seen: theirs.lines, ..ours };
        let asked = Confirm::new(question, word!("yours"), word!("theirs"));
        self.overlay = Overlay::Ask(asked, Box::new(then(Box::new(ours))), Box::new(Effect::None));
    }

    /// Keeps an entry in place of the one that another terminal made, unless that is another one by now.
    fn replace_line(&mut self, ours: CountLine, theirs: &CountLine, now: Moment) -> Result<(), DeskError> {
        let Some(screen) = &mut self.screens.count else { return Ok(()) };
        let known = Entered::of(theirs);
        let again = counting::save_line(&self.store, screen.sheet(), &ours, Some(&known), now)?;
        self.refresh(now);
        if let Some(theirs) = again {
            let asked = self.which_stands(ours, theirs, Effect::None);
            self.carry_out(asked, now);
        }
        Ok(())
    }

    fn open_count(&mut self, id: CountId, now: Moment) -> Result<(), DeskError> {
        let sheet = counting::sheet(&self.store, id, now)?;
        self.setup = sheet.setup.clone();
        let mut screen = CountScreen::new(sheet, self.options.by.clone());
        screen.also_here(&self.terminal.others);
        self.screens.count = Some(screen);
        Ok(())
    }
}

/// Asks which of two entries stands, then goes on with the next question.
fn ours_or_theirs(question: String, (yes, no): (String, String), replace: Effect, next: Effect) -> Effect {
    let then = match &next {
        Effect::None => replace,
        next => Effect::Both(Box::new(replace), Box::new(next.clone())),
    };
    Effect::Ask { question, yes, no, then: Box::new(then), otherwise: Box::new(next) }
}

/// What booking a bill brought.
fn bill_booked(booked: &BillBooked, view: &BillView, setup: &Setup) -> String {
    let mut said = Vec::new();
    match view.moves() {
        (0, 0) => said.push(word!("the bill is kept; no stock moved").to_owned()),
        (came, 0) => said.push(say!("booked into stock: {came}", came = lines(came))),
        (0, went) => said.push(say!("booked out of stock: {went}", went = lines(went))),
        (came, went) => {
            said.push(say!("booked into stock: {came}; out of stock: {went}", came = lines(came), went = lines(went)))
        }
    }
    if booked.corrected > 0 {
        said.push(say!("{corrected} now at the price charged", corrected = lines(booked.corrected)));
    }
    if booked.claims > 0 {
        let show = setup.venue.show();
        said.push(say!(
            "to claim {claimed} {currency} (m)",
            claimed = show.money(booked.claimed),
            currency = show.currency
        ));
    }
    if booked.settled > 0 {
        said.push(say!("{settled} settled", settled = claims(booked.settled)));
    }
    if booked.reduced > 0 {
        said.push(say!("a part settled of {reduced}", reduced = claims(booked.reduced)));
    }
    if booked.unsettled > 0 {
        said.push(say!("{unsettled} on that bill still open (m)", unsettled = claims(booked.unsettled)));
    }
    if let Some(rest) = &booked.rest {
        said.push(say!("rest on order: “{rest}”", rest));
    }
    said.join("; ")
}

/// What taking a bill back changed.
fn bill_taken_back(done: &BillTakenBack) -> String {
    let mut said = vec![say!("taken back: “{number}”", number = done.number)];
    let out = done.deliveries - done.in_again;
    if out > 0 {
        said.push(say!("{out} left stock again", out = lines(out)));
    }
    if done.in_again > 0 {
        said.push(say!("{in_again} came into stock again", in_again = lines(done.in_again)));
    }
    if done.prices > 0 {
        said.push(say!("{prices} at the price of before", prices = lines(done.prices)));
    }
    if done.dropped > 0 {
        said.push(say!("{dropped} dropped", dropped = claims(done.dropped)));
    }
    if done.reopened > 0 {
        said.push(say!("{reopened} open again", reopened = claims(done.reopened)));
    }
    if let Some(order) = &done.order {
        said.push(say!("on order again: “{order}”", order));
    }
    if let Some(order) = &done.order_done {
        said.push(say!("“{order}” stays done: what did not come of it has come or been given up since", order));
    }
    said.join("; ")
}

fn lines(n: usize) -> String {
    number_of(n, word!("line"), word!("lines"))
}

fn claims(n: usize) -> String {
    number_of(n, word!("claim"), word!("claims"))
}

/// What became of a delivery: the lines booked, and what did not come.
fn booked_in(view: &ReceiveView, booked: usize, kept: Option<&str>) -> String {
    let lines = match booked {
        0 => word!("nothing is booked").to_owned(),
        1 => word!("booked into stock: 1 line").to_owned(),
        lines => say!("booked into stock: {lines} lines", lines),
    };
    let short = view.lines.iter().any(|line| line.came.unwrap_or(0) < line.ordered);
    match kept {
        Some(name) => say!("{lines}; rest on order: “{name}”", lines, name),
        None if short => say!("{lines}; the rest is given up, not on order any more", lines),
        None => say!("{lines}, all that was ordered", lines),
    }
}

/// The files of one thing, their name first: a folder may be long. Several differ in their ends.
fn written(files: &[PathBuf]) -> String {
    let part = |part: Option<&OsStr>| part.map_or(String::new(), |part| part.to_string_lossy().into_owned());
    let ends: Vec<String> = files.iter().map(|file| format!(".{}", part(file.extension()))).collect();
    let name = files.first().map_or(String::new(), |file| part(file.file_stem()));
    let folder = files.first().and_then(|file| file.parent()).map_or(String::new(), |dir| dir.display().to_string());
    let apart = if files.len() > 1 { " " } else { "" };
    say!("written: {name}{apart}{ends}, in {folder}", name, apart, ends = ends.join(" "), folder)
}
