//! `tantalus check`: whether the book is sound.

use super::json::{self, FORM};
use super::{Refusal, Shared};
use crate::desk::check::check;
use serde::Serialize;

/// Check that the book is sound and contradicts itself nowhere
#[derive(Debug, clap::Args)]
pub(super) struct Args {
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

/// Checks the book and returns what to print; without JSON it refuses with the findings when there are any.
pub(super) fn run(shared: &Shared, args: &Args) -> Result<String, Refusal> {
    let findings: Vec<String> = check(&shared.open()?)?.iter().map(ToString::to_string).collect();
    if args.json {
        return json::text(&Form { form: FORM, sound: findings.is_empty(), findings });
    }
    if findings.is_empty() {
        return Ok("The book is sound.\n".to_owned());
    }
    let refusal = Refusal::new(format!("the book is not sound: {} findings", findings.len())).details(findings);
    Err(refusal.hint("keep this file as it is and go back to a copy, or `tantalus dump` what can still be read"))
}
