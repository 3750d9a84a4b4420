//! `tantalus check`: whether the book is sound, and a new book of what can be read of one that is not.

use super::json::{self, FORM};
use super::page::Page;
use super::table::{Set, Table};
use super::{Refusal, Shared};
use crate::desk::salvaging::{Part, Salvaged, check_file, salvage};
use serde::Serialize;
use std::path::{Path, PathBuf};

/// Check that the book is sound and contradicts itself nowhere, or save what can be read of a damaged one
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Save what can be read of a damaged book into a new one of this name; the damaged one stays as it is
    #[arg(long, value_name = "NEWBOOK")]
    salvage: Option<PathBuf>,
    /// Write JSON
    #[arg(long)]
    json: bool,
}

/// The answer as JSON.
#[derive(Debug, Serialize)]
struct Form {
    form: u32,
    sound: bool,
    findings: Vec<String>,
}

/// What was saved, as JSON.
#[derive(Debug, Serialize)]
struct SalvagedForm {
    form: u32,
    from: String,
    book: String,
    version: usize,
    pages: u32,
    file: Vec<String>,
    parts: Vec<PartForm>,
    findings: Vec<String>,
}

/// A part of it.
#[derive(Debug, Serialize)]
struct PartForm {
    table: String,
    name: String,
    saved: u64,
    lost: u64,
    more_lost: bool,
    at_most_lost: Option<u64>,
    damaged_pages: u32,
    damaged_index_pages: u32,
    doubtful: u64,
    stood_apart: u64,
    rebuilt: u64,
    left_out: Vec<ReasonForm>,
    mended: Vec<ReasonForm>,
}

/// How many rows, and why.
#[derive(Debug, Serialize)]
struct ReasonForm {
    rows: u64,
    why: String,
}

impl PartForm {
    fn of(part: Part) -> PartForm {
        let reasons = |all: Vec<(String, u64)>| all.into_iter().map(|(why, rows)| ReasonForm { rows, why }).collect();
        PartForm {
            table: part.table,
            name: part.name,
            saved: part.saved,
            lost: part.lost,
            more_lost: part.more,
            at_most_lost: part.at_most,
            damaged_pages: part.pages,
            damaged_index_pages: part.index_pages,
            doubtful: part.doubtful,
            stood_apart: part.strayed,
            rebuilt: part.rebuilt,
            left_out: reasons(part.left_out),
            mended: reasons(part.mended),
        }
    }
}

/// Checks the book and returns what to print; without JSON it refuses with the findings when there are any.
pub(super) fn run(shared: &Shared, args: &Args) -> Result<String, Refusal> {
    let path = shared.path()?;
    if let Some(new) = &args.salvage {
        let done = salvage(&path, new)?;
        return if args.json { told(&path, new, done) } else { Ok(said(&path, new, &done)) };
    }
    let findings: Vec<String> = check_file(&path)?.iter().map(ToString::to_string).collect();
    if args.json {
        return json::text(&Form { form: FORM, sound: findings.is_empty(), findings });
    }
    if findings.is_empty() {
        return Ok("The book is sound.\n".to_owned());
    }
    let count = if findings.len() == 1 { "1 finding".to_owned() } else { format!("{} findings", findings.len()) };
    let refusal = Refusal::new(format!("the book is not sound: {count}")).details(findings);
    Err(refusal.hint(
        "leave this file as it is, and go back to a copy with `tantalus restore`, or save what can be read with \
         `tantalus check --salvage NEW`",
    ))
}

/// What was saved, for programs.
fn told(from: &Path, new: &Path, done: Salvaged) -> Result<String, Refusal> {
    json::text(&SalvagedForm {
        form: FORM,
        from: from.display().to_string(),
        book: new.display().to_string(),
        version: done.looked.version,
        pages: done.looked.pages,
        file: done.looked.file,
        parts: done.looked.parts.into_iter().map(PartForm::of).collect(),
        findings: done.findings.iter().map(ToString::to_string).collect(),
    })
}

/// What was saved, for people.
fn said(from: &Path, new: &Path, done: &Salvaged) -> String {
    let mut page = Page::new();
    let there = |part: &&Part| part.saved > 0 || !part.is_sound();
    let mut table = Table::new([
        ("of the book", Set::Name),
        ("saved", Set::Figure),
        ("not to be read", Set::Figure),
        ("left out", Set::Figure),
    ]);
    let none = |n: u64| if n == 0 { String::new() } else { n.to_string() };
    for part in done.looked.parts.iter().filter(there) {
        let lost = match (part.lost, part.more) {
            (_, true) if part.at_most.is_some() => format!("up to {}", part.at_most.unwrap_or_default()),
            (0, true) => "some".to_owned(),
            (lost, true) => format!("{lost} or more"),
            (lost, false) => none(lost),
        };
        let left: u64 = part.left_out.iter().map(|(_, rows)| rows).sum();
        table.row([part.name.clone(), part.saved.to_string(), lost, none(left)]);
    }
    page.table(&table);
    let mut block = |head: &str, lines: Vec<String>| {
        if !lines.is_empty() {
            page.gap();
            page.line(head);
            lines.iter().for_each(|line| page.line(format!("  {line}")));
        }
    };
    let troubles = done.looked.parts.iter().filter(|part| !part.is_sound());
    let troubles = troubles.map(|part| format!("{}: {}", part.name, part.troubles().join("; ")));
    let troubles: Vec<String> = done.looked.file.iter().cloned().chain(troubles).collect();
    let sound = troubles.is_empty();
    block("What is the matter with the damaged book:", troubles);
    block("What is to be looked at in the new one:", done.findings.iter().map(ToString::to_string).collect());
    page.gap();
    if sound {
        page.line(format!("Everything in {} can be read: it is not damaged.", from.display()));
    }
    page.line(format!("What can be read is in {}; {} is as it was.", new.display(), from.display()));
    page.line(
        "Before you go on with it, compare it with your newest copy: what is missing in one may be in the other.",
    );
    page.finish()
}
