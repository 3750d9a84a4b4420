//! `tantalus load`: plain files into the book.

use super::json::{self, FORM};
use super::page::Page;
use super::table::{Set, Table};
use super::{Refusal, Shared, backup};
use crate::clock;
use crate::desk::book::Store;
use crate::desk::load::{FileReport, LoadReport, load};
use crate::desk::{DeskError, Progress};
use crate::domain::measure::number_of;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use serde::Serialize;
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};

/// Load a folder of plain files into the book, all of it or nothing
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The folder
    dir: PathBuf,
    /// Write JSON
    #[arg(long)]
    json: bool,
}

/// What a load brought, as JSON; what is not asked for is left to the commands that say more.
#[derive(Debug, Default, Serialize)]
pub(super) struct Form {
    form: u32,
    files: Vec<FileForm>,
    new_till_names: Vec<String>,
    warnings: Vec<String>,
}

/// What one file brought, as JSON.
#[derive(Debug, Serialize)]
struct FileForm {
    file: &'static str,
    read: u64,
    added: u64,
    changed: u64,
    already: u64,
}

impl Form {
    /// A report as JSON has it.
    pub(super) fn of(report: &LoadReport) -> Form {
        let file = |f: &FileReport| FileForm {
            file: f.file.name(),
            read: f.read,
            added: f.added,
            changed: f.changed,
            already: f.already,
        };
        let files = report.files.iter().map(file).collect();
        let LoadReport { new_till_names, warnings, .. } = report.clone();
        Form { form: FORM, files, new_till_names, warnings }
    }
}

pub(super) fn run(shared: &Shared, args: &Args) -> Result<String, Refusal> {
    let store = shared.open()?;
    let mut report = load_folder(&store, &args.dir)?;
    report.warnings.extend(backup::catch_up(&store)?);
    answer(&report, args.json)
}

/// A report as it is printed.
pub(super) fn answer(report: &LoadReport, json: bool) -> Result<String, Refusal> {
    if json { json::text(&Form::of(report)) } else { Ok(told(report)) }
}

/// Loads the folder with a bar that shows how far it is.
pub(super) fn load_folder(store: &Store, folder: &Path) -> Result<LoadReport, Refusal> {
    watched(|bar| load(store, folder, clock::started(), &mut |p| bar.tell(p)))
}

/// Runs a load with a bar that shows how far it is.
pub(super) fn watched(work: impl FnOnce(&Bar) -> Result<LoadReport, DeskError>) -> Result<LoadReport, Refusal> {
    let bar = Bar::new();
    let report = work(&bar);
    bar.end();
    Ok(report?)
}

/// How far a load is, on standard error while that is a terminal.
pub(super) struct Bar(ProgressBar);

impl Bar {
    /// A bar that has not moved.
    pub(super) fn new() -> Bar {
        let bar = ProgressBar::with_draw_target(None, ProgressDrawTarget::stderr_with_hz(10));
        let style = ProgressStyle::with_template("{msg:<14} {wide_bar} {bytes:>10} of {total_bytes}, {eta} left");
        bar.set_style(style.unwrap_or_else(|_| ProgressStyle::default_bar()));
        Bar(bar)
    }

    /// Moves it. The work is never stopped from here: Ctrl-C ends the program, and the book stays as it was.
    pub(super) fn tell(&self, progress: Progress) -> ControlFlow<()> {
        self.0.set_length(progress.total);
        self.0.set_position(progress.bytes);
        self.0.set_message(progress.file.name());
        ControlFlow::Continue(())
    }

    /// Takes it away.
    pub(super) fn end(&self) {
        self.0.finish_and_clear();
    }
}

/// What a load brought, for people.
fn told(report: &LoadReport) -> String {
    let mut page = Page::new();
    let mut table = Table::new([
        ("file", Set::Name),
        ("read", Set::Figure),
        ("new", Set::Figure),
        ("changed", Set::Figure),
        ("there already", Set::Figure),
    ]);
    for file in &report.files {
        let numbers = [file.read, file.added, file.changed, file.already].map(|n| n.to_string());
        table.row([file.file.name().to_owned()].into_iter().chain(numbers));
    }
    page.table(&table);
    if !report.new_till_names.is_empty() {
        page.gap();
        page.line(format!(
            "{} nothing yet: {}. `tantalus sales --means`, the screen Till (I) or pos.csv says what they are.",
            number_of(report.new_till_names.len(), "name of the till means", "names of the till mean"),
            report.new_till_names.join(", ")
        ));
    }
    for warning in &report.warnings {
        page.line(format!("! {warning}"));
    }
    page.finish()
}
