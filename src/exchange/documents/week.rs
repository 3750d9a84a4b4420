//! A variance as a table for a spreadsheet (RFC 4180).

use super::cell::cell;
use crate::domain::measure::{Amount, Basis, Money};
use crate::domain::rows::{InWords, PeriodView, cause_word};
use crate::domain::usage::{Finding, GapRow, Suspect, Verdict};
use crate::domain::venue::{Item, Setup};
use crate::exchange::plain::legible;

/// The heads of the table.
const HEADS: [&str; 30] = [
    "opening_count",
    "closing_count",
    "item",
    "kind",
    "place",
    "unit",
    "opening",
    "in",
    "out",
    "closing",
    "used",
    "sold",
    "gap",
    "u",
    "chance",
    "adjusted",
    "verdict",
    "over_periods",
    "currency",
    "cost",
    "stake",
    "cause",
    "cause_in_words",
    "evidence",
    "share",
    "second_cause",
    "second_share",
    "accepted_cause",
    "accepted_by",
    "note",
];

/// A comparison of two counts as a table: one record for each item, what matters most first, each ended by CR and LF.
/// Amounts are exact, in the unit that `unit` names; `chance`, `adjusted` and the shares are parts of one. What is not known
/// is empty.
///
/// # Errors
/// What the writer says; writing into memory does not fail.
pub fn week_table(setup: &Setup, view: &PeriodView) -> std::io::Result<Vec<u8>> {
    let mut table = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    table.write_record(HEADS).map_err(std::io::Error::from)?;
    for row in &view.variance.rows {
        if let Some(item) = setup.item(row.item) {
            table.write_record(record(setup, view, row, item)).map_err(std::io::Error::from)?;
        }
    }
    table.into_inner().map_err(|e| e.into_error())
}

fn record(setup: &Setup, view: &PeriodView, row: &GapRow, item: &Item) -> [String; HEADS.len()] {
    let show = setup.venue.show();
    let text = |text: &str| cell(&legible(text));
    let number = |amount: Amount| show.exact(item.basis, amount);
    let money = |money: Option<Money>| money.map_or_else(String::new, |money| show.currency.plain(money));
    let finding = view.review.of(row.item);
    let of = |figure: &dyn Fn(&Finding) -> String| finding.map_or_else(String::new, figure);
    let words = InWords { setup, item, gap: row.gap };
    let suspects = view.suspects(row.item);
    let (first, second) = (suspects.first(), suspects.get(1));
    let word = |suspect: Option<&Suspect>| suspect.map_or("", |suspect| suspect.cause.word().word()).to_owned();
    let share = |suspect: Option<&Suspect>| suspect.map_or_else(String::new, |suspect| part_of_one(suspect.share));
    let settled = view.explained.get(&row.item);
    let flow = row.flow;
    let (carried_in, carried_out) = (flow.moved.max(Amount::ZERO), -flow.moved.min(Amount::ZERO));
    [
        text(&view.opening.name),
        text(&view.closing.name),
        text(&item.name),
        item.kind.word().to_owned(),
        text(setup.place_name(row.home)),
        unit(setup, item.basis).to_owned(),
        number(row.opening.amount),
        number(flow.delivered + flow.made + carried_in),
        number(flow.lost + flow.batched + carried_out),
        number(row.closing.amount),
        number(row.usage),
        number(row.sold),
        number(row.gap),
        number(Amount::rounded(row.u)),
        of(&|finding| part_of_one(finding.chance)),
        of(&|finding| part_of_one(finding.adjusted)),
        verdict(view.review.verdict(row.item)).to_owned(),
        of(&|finding| if finding.over_periods { "yes" } else { "no" }.to_owned()),
        show.currency.code().to_owned(),
        money(row.cost),
        money(view.review.stake(row)),
        word(first),
        first.map_or_else(String::new, |first| text(&words.headline(&first.cause))),
        first.map_or_else(String::new, |first| text(&words.evidence(&first.cause))),
        share(first),
        word(second),
        share(second),
        settled.map_or("", |settled| cause_word(settled.cause)).to_owned(),
        settled.and_then(|settled| settled.by.as_deref()).map(text).unwrap_or_default(),
        settled.and_then(|settled| settled.note.as_deref()).map(text).unwrap_or_default(),
    ]
}

/// The unit of an item's figures.
fn unit(setup: &Setup, basis: Basis) -> &'static str {
    setup.venue.show().symbol(basis)
}

/// The verdict in one word, as `variance --json` has it.
fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::LookInto => "look-into",
        Verdict::Watch => "watch",
        Verdict::Within => "within",
    }
}

/// A part of one; what is very small in powers of ten.
fn part_of_one(part: f64) -> String {
    match part {
        p if !p.is_finite() => String::new(),
        p if p == 0.0 || p >= 1e-4 => format!("{p:.4}"),
        p => format!("{p:.2e}"),
    }
}
