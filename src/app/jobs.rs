//! Long work: on its own thread with its own connection, telling how far it is, so that the screens never wait for it.

use super::{App, Overlay};
use crate::desk::book::{Address, Store};
use crate::desk::comparing::Choice;
use crate::desk::files::{self, Seen};
use crate::desk::till::{self, Ask};
use crate::desk::{DeskError, book, expecting, history, par, receiving, reviewing};
use crate::domain::measure::number_of;
use crate::domain::rows::{BillChoice, BillFile, LookBack, OfferedFile, SalesLook, TakenIn};
use crate::domain::till::Layout;
use crate::domain::venue::{ItemId, Moment};
use crate::tui::keymap::Tab;
use crate::tui::screen::variance::ManyPeriods;
use crate::tui::widget::notice::Notice;
use crate::tui::widget::work::Work;
use crate::words::Speech;
use chrono::NaiveDate;
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::Duration;

/// Work that is done in less time is never seen on the screen.
const UNSEEN: Duration = Duration::from_millis(60);

/// Something that takes long.
#[derive(Clone, Debug)]
pub(super) enum Task {
    /// Look at a file of sales.
    Look { path: PathBuf, table: Option<(Layout, Option<NaiveDate>)> },
    /// Read a supplier's bill.
    Bill { path: PathBuf },
    /// Take a file of sales in.
    Take {
        path: PathBuf,
        table: Option<(Layout, Option<NaiveDate>)>,
        by: Option<String>,
        digest: String,
        all_the_same: bool,
    },
    /// Try both pars on the last weeks.
    LookBack { weeks: usize },
    /// Compare many counts in a row, up to those that are chosen.
    OverPeriods { choice: Choice, item: Option<ItemId>, most: usize },
}

/// What came of it.
enum Done {
    Looked(Box<SalesLook>),
    Bill(Box<BillFile>),
    Taken(Box<TakenIn>),
    LookedBack(usize, Box<LookBack>),
    OverPeriods(ManyPeriods),
}

/// How far a thread is, and whether it is to stop.
#[derive(Debug, Default)]
struct Signals {
    done: AtomicU64,
    of: AtomicU64,
    stop: AtomicBool,
}

/// Work under way, with the box that shows it.
pub(super) struct Job {
    pub(super) work: Work,
    signals: Arc<Signals>,
    result: Receiver<Result<Done, DeskError>>,
}

impl Task {
    fn label(&self) -> String {
        let name = |path: &Path| path.file_name().map_or_else(String::new, |n| n.to_string_lossy().into_owned());
        match self {
            Task::Bill { path } => say!("reading {path}", path = name(path)),
            Task::Look { path, .. } => say!("looking at {path}", path = name(path)),
            Task::Take { path, .. } => say!("taking {path} in", path = name(path)),
            Task::LookBack { weeks } => say!("trying both pars on the last {weeks} weeks", weeks),
            Task::OverPeriods { .. } => word!("comparing many counts").to_owned(),
        }
    }

    fn run(&self, store: &Store, now: Moment, signals: &Signals) -> Result<Done, DeskError> {
        let mut pace = |done: u64, of: u64| {
            signals.done.store(done, Ordering::Relaxed);
            signals.of.store(of, Ordering::Relaxed);
            if signals.stop.load(Ordering::Relaxed) { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
        };
        match self {
            Task::Bill { path } => receiving::read(path).map(|bill| Done::Bill(Box::new(bill))),
            Task::Look { path, table } => {
                let ask = ask(path, table.as_ref());
                till::look(store, ask, now, &mut pace).map(|look| Done::Looked(Box::new(look)))
            }
            Task::Take { path, table, by, digest, all_the_same } => {
                let ask = Ask { digest: Some(digest), all_the_same: *all_the_same, ..ask(path, table.as_ref()) };
                till::take(store, ask, by.as_deref(), now, &mut pace).map(|taken| Done::Taken(Box::new(taken)))
            }
            Task::LookBack { weeks } => {
                par::look_back(store, *weeks, now, &mut pace).map(|back| Done::LookedBack(*weeks, Box::new(back)))
            }
            Task::OverPeriods { choice, item, most } => {
                let state = history::last(store)?;
                let periods = reviewing::over_periods(store, *choice, *item, *most, &mut pace)?;
                Ok(Done::OverPeriods(ManyPeriods { item: *item, asked: *most, periods, state }))
            }
        }
    }
}

fn ask<'a>(path: &'a Path, table: Option<&'a (Layout, Option<NaiveDate>)>) -> Ask<'a> {
    Ask { layout: table.map(|(layout, _)| layout), day: table.and_then(|(_, day)| *day), ..Ask::of(path) }
}

/// Does something on a thread of its own that speaks as this one does.
fn speaking_thread(work: impl FnOnce() + Send + 'static) {
    let speech = Speech::here();
    thread::spawn(move || speech.while_in(work));
}

impl Job {
    fn begin(task: Task, book: Result<Address, DeskError>, now: Moment) -> Job {
        let signals = Arc::new(Signals::default());
        let (send, result) = channel();
        let theirs = signals.clone();
        let work = Work::new(&task.label());
        speaking_thread(move || {
            let done = book.and_then(|book| task.run(&book::open_at(&book)?, now, &theirs));
            // Nobody waits any more when the program is left.
            let _ = send.send(done);
        });
        Job { work, signals, result }
    }

    pub(super) fn stop(&self) {
        self.signals.stop.store(true, Ordering::Relaxed);
    }

    fn tell(&mut self) {
        let (done, of) = (self.signals.done.load(Ordering::Relaxed), self.signals.of.load(Ordering::Relaxed));
        self.work.tell(done, of);
    }

    /// What came of it, waiting no longer than so long; `None` while it goes on.
    fn result(&mut self, wait: Duration) -> Option<Result<Done, DeskError>> {
        match self.result.recv_timeout(wait) {
            Ok(done) => Some(done),
            Err(RecvTimeoutError::Timeout) => None,
            Err(RecvTimeoutError::Disconnected) => {
                let said = word!("the work ended by a fault of the program; the book is as it was").to_owned();
                Some(Err(DeskError::Refused(said)))
            }
        }
    }
}

impl App {
    /// Begins long work; what is done at once is never seen to be long.
    pub(super) fn begin(&mut self, task: Task, now: Moment) {
        let mut job = Job::begin(task, book::address(&self.store), now);
        match job.result(UNSEEN) {
            Some(done) => self.done(done, now),
            None => self.overlay = Overlay::Work(job),
        }
    }

    /// Whether long work is under way.
    pub fn is_working(&self) -> bool {
        matches!(self.overlay, Overlay::Work(_))
    }

    /// Looks how far the work is. Says whether there is anything new to draw.
    pub(super) fn look_at_work(&mut self, now: Moment) -> bool {
        let Overlay::Work(job) = &mut self.overlay else { return false };
        job.tell();
        if let Some(done) = job.result(Duration::ZERO) {
            self.overlay = Overlay::None;
            self.done(done, now);
        }
        true
    }

    fn done(&mut self, done: Result<Done, DeskError>, now: Moment) {
        match done {
            Err(refused) => self.notice = Some(Notice::error(refused.to_string())),
            Ok(Done::Looked(look)) => self.screens.sales_looked(*look),
            Ok(Done::Bill(bill)) => {
                if let Err(refused) = self.show_bill(&Arc::new(*bill), &BillChoice::default(), now) {
                    self.notice = Some(Notice::error(refused.to_string()));
                }
            }
            Ok(Done::LookedBack(weeks, back)) => self.screens.looked_back(weeks, *back),
            Ok(Done::OverPeriods(many)) => {
                self.screens.show_over(many);
                // What cannot be asked now is asked when anything is written.
                self.screens.compare_with(history::last(&self.store).unwrap_or_default());
            }
            Ok(Done::Taken(taken)) => {
                self.go(Tab::Till, now);
                self.screens.sales_taken();
                self.notice = Some(Notice::info(taken_words(&taken)));
                self.watch(now);
            }
        }
    }
}

/// What a file brought.
fn taken_words(taken: &TakenIn) -> String {
    let lines = |n: u64| number_of(n, word!("line"), word!("lines"));
    let mut said = vec![say!("{taken}: {added} new", taken = taken.name, added = lines(taken.sum.added))];
    if taken.sum.already > 0 {
        said.push(say!("{already} there already", already = taken.sum.already));
    }
    if taken.sum.corrected > 0 {
        let figures = number_of(taken.sum.corrected, word!("day's figure"), word!("days' figures"));
        said.push(say!("{figures} brought up to date", figures));
    }
    match taken.sum.unmapped {
        0 => {}
        n => said.push(say!("{n} under names that mean nothing yet", n = lines(n))),
    }
    said.join(", ")
}

/// Something small that is asked of a thread of its own, with a connection of its own; nobody waits for the answer.
pub(super) struct Aside<T>(Option<Receiver<Result<T, DeskError>>>);

impl<T> Default for Aside<T> {
    fn default() -> Self {
        Aside(None)
    }
}

impl<T: Default + Send + 'static> Aside<T> {
    /// Whether it is being worked at.
    pub(super) fn is_under_way(&self) -> bool {
        self.0.is_some()
    }

    /// Begins it, in the place of whatever was asked before.
    pub(super) fn begin(&mut self, store: &Store, work: impl FnOnce(&Store) -> Result<T, DeskError> + Send + 'static) {
        let (send, result) = channel();
        let book = book::address(store);
        speaking_thread(move || {
            // Nobody waits any more when the program is left.
            let _ = send.send(book.and_then(|book| work(&book::open_at(&book)?)));
        });
        self.0 = Some(result);
    }

    /// The answer, once it is there, waiting no longer than so long; what is nothing where the thread ended by a fault of
    /// the program.
    pub(super) fn answer(&mut self, wait: Duration) -> Option<Result<T, DeskError>> {
        let answer = match self.0.as_ref()?.recv_timeout(wait) {
            Err(RecvTimeoutError::Timeout) => return None,
            Err(RecvTimeoutError::Disconnected) => Ok(T::default()),
            Ok(answer) => answer,
        };
        self.0 = None;
        Some(answer)
    }
}

impl App {
    /// Begins to work out what is to be expected, if the first screen lacks it and nobody is at it already.
    pub(super) fn look_ahead(&mut self, now: Moment) {
        // Over years of sales this takes long enough to be felt, and the first screen does not wait for it.
        if !self.foresight.is_under_way() && self.screens.lacks_foresight() {
            self.foresight.begin(&self.store, move |store| expecting::prepare(store, now));
        }
    }

    /// Takes what is to be expected once it is worked out. Says whether there is anything new to draw.
    pub(super) fn look_at_foresight(&mut self, now: Moment) -> bool {
        let Some(done) = self.foresight.answer(Duration::ZERO) else { return false };
        match done {
            Err(refused) => self.notice = Some(Notice::error(refused.to_string())),
            // Another screen asks anew when it is gone to.
            Ok(()) if self.tab == Tab::Tonight => self.refresh(now),
            Ok(()) => {}
        }
        true
    }
}

/// Watches the folder that the book names: on a thread of its own, because a folder may lie where it takes long to look.
#[derive(Default)]
pub(super) struct Watcher {
    seen: Arc<Mutex<Seen>>,
    found: Aside<Vec<OfferedFile>>,
    /// What was offered last.
    pub(super) offered: Vec<OfferedFile>,
    /// Why the folder cannot be looked into.
    pub(super) fault: Option<String>,
}

impl App {
    /// Looks into the watched folder, if there is one and nobody is looking already.
    pub(super) fn watch(&mut self, _now: Moment) {
        let Some(folder) = self.setup.venue.watch_folder.clone().map(PathBuf::from) else {
            self.watcher.offered.clear();
            self.watcher.fault = None;
            return;
        };
        if self.watcher.found.is_under_way() {
            return;
        }
        let seen = self.watcher.seen.clone();
        self.watcher.found.begin(&self.store, move |store| {
            // Whoever panicked while holding it has left nothing half-done that matters.
            let mut seen = seen.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
            files::offered(store, &folder, &mut seen)
        });
    }

    /// Takes what was found in the watched folder. Says whether there is anything new to draw.
    pub(super) fn look_at_watch(&mut self) -> bool {
        let Some(found) = self.watcher.found.answer(Duration::ZERO) else { return false };
        match found {
            Ok(offered) => (self.watcher.offered, self.watcher.fault) = (offered, None),
            Err(refused) => {
                let fault =
                    say!("{refused}; watch_folder in venue.csv names it: mend the folder, or load another", refused);
                (self.watcher.offered, self.watcher.fault) = (Vec::new(), Some(fault));
            }
        }
        self.screens.offered(self.watcher.offered.clone(), self.watcher.fault.clone());
        true
    }
}
