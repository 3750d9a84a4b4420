//! What is thought of gaps, in tables and as JSON: verdicts, causes, evenings, and what looking again would settle.

use crate::cli::figures::Figures;
use crate::cli::json::{self, MoneyForm};
use crate::cli::page::Page;
use crate::cli::table::{Set, Table};
use crate::domain::measure::{Amount, Money, number_of};
use crate::domain::rows::{InWords, PeriodView, cause_word, chances, doubt_words};
use crate::domain::usage::{GapRow, SECONDS, Spreads, Verdict, summed};
use serde::Serialize;

/// What is thought of one item's gap, as JSON.
#[derive(Debug, Serialize)]
pub(super) struct JudgedForm {
    verdict: Verdict,
    chance: f64,
    adjusted: f64,
    by_itself: bool,
    over_periods: bool,
    steady_rate: Option<i64>,
    steady_u: Option<i64>,
    steady_periods: Option<usize>,
    stake: Option<MoneyForm>,
    counted_by: Option<String>,
    causes: Vec<CauseForm>,
    accepted_cause: Option<&'static str>,
    accepted_by: Option<String>,
    accepted_note: Option<String>,
}

/// A likely cause as JSON.
#[derive(Debug, Serialize)]
struct CauseForm {
    cause: &'static str,
    share: f64,
    said: String,
    evidence: String,
}

/// A thousandth is fine enough for a share or a chance; what is rarer keeps three digits.
fn rounded(share: f64) -> f64 {
    if share >= 0.001 { (share * 1_000.0).round() / 1_000.0 } else { format!("{share:.2e}").parse().unwrap_or(share) }
}

pub(super) fn judged_form(row: &GapRow, view: &PeriodView, figures: Figures) -> JudgedForm {
    let finding = view.review.of(row.item);
    let steady = finding.and_then(|finding| finding.steady);
    let explained = view.explained.get(&row.item);
    let causes = figures.item(row.item).map(|item| {
        let words = InWords { setup: figures.setup, item, gap: row.gap };
        let form = |suspect: &crate::domain::usage::Suspect| CauseForm {
            cause: suspect.cause.word().word(),
            share: rounded(suspect.share),
            said: words.headline(&suspect.cause),
            evidence: words.evidence(&suspect.cause),
        };
        view.suspects(row.item).iter().map(form).collect()
    });
    JudgedForm {
        verdict: view.review.verdict(row.item),
        chance: rounded(finding.map_or(1.0, |finding| finding.chance)),
        adjusted: rounded(finding.map_or(1.0, |finding| finding.adjusted)),
        by_itself: finding.is_some_and(|finding| finding.by_itself),
        over_periods: finding.is_some_and(|finding| finding.over_periods),
        steady_rate: steady.map(|steady| json::whole(steady.rate)),
        steady_u: steady.map(|steady| json::whole(steady.u)),
        steady_periods: steady.and_then(|steady| Some(finding?.track.points.len() - steady.since)),
        stake: view.review.stake(row).map(|stake| json::money(stake, figures.setup.venue.currency)),
        counted_by: row.counted_by.clone(),
        causes: causes.unwrap_or_default(),
        accepted_cause: explained.map(|explained| explained.cause.word()),
        accepted_by: explained.and_then(|explained| explained.by.clone()),
        accepted_note: explained.and_then(|explained| explained.note.clone()),
    }
}

/// The likeliest cause of a gap, or the one that was accepted.
fn cause(row: &GapRow, view: &PeriodView, figures: Figures) -> (String, String) {
    if let Some(explained) = view.explained.get(&row.item) {
        let by = explained.by.as_deref().map_or("accepted".to_owned(), |by| format!("accepted, {}", by));
        return (cause_word(explained.cause).to_owned(), by);
    }
    let (Some(item), Some(first)) = (figures.item(row.item), view.suspects(row.item).first()) else {
        return (String::new(), String::new());
    };
    (InWords { setup: figures.setup, item, gap: row.gap }.headline(&first.cause), chances(first))
}

/// The lines that matter, the most pressing first; what is within the counts' exactness is only counted.
pub(super) fn matters(page: &mut Page, view: &PeriodView, figures: Figures) {
    let rows = &view.variance.rows;
    let mut table = Table::new([
        ("verdict", Set::Words),
        ("item", Set::Name),
        ("unit", Set::Words),
        ("used", Set::Spare),
        ("sold", Set::Spare),
        ("gap", Set::Figure),
        ("± u", Set::Figure),
        ("cost", Set::Figure),
        ("likeliest cause", Set::Name),
        ("how likely", Set::Words),
    ]);
    if !view.rung {
        page.line("Nothing was rung between the two counts, so every gap is all that was used.");
        page.line("Take in the till's file first (`tantalus sales FILE`); --all lists every line all the same.");
        return;
    }
    let shown: Vec<&GapRow> = rows
        .iter()
        .filter(|row| view.review.verdict(row.item) != Verdict::Within || view.explained.contains_key(&row.item))
        .collect();
    for row in &shown {
        let (cause, sure) = cause(row, view, figures);
        table.row([
            match view.review.verdict(row.item) {
                _ if view.explained.contains_key(&row.item) => "accepted".to_owned(),
                verdict => verdict.words().to_owned(),
            },
            figures.name(row.item),
            figures.symbol(row.item),
            figures.bare(row.item, row.usage),
            figures.bare(row.item, row.sold),
            figures.bare(row.item, row.gap),
            figures.u(row.item, row.u),
            figures.known(row.cost),
            cause,
            sure,
        ]);
    }
    if shown.is_empty() {
        page.line("Nothing to look into: every gap is within what the two counts can tell.");
    } else {
        page.table(&table);
    }
    page.gap();
    page.line(format!(
        "Look into {} of {}, {} at stake; {} within what the counts can tell (--all lists them).",
        view.open().count(),
        number_of(rows.len(), "line", "lines"),
        figures.coin(view.stake()),
        rows.len() - shown.len(),
    ));
    recounts(page, view, figures);
}

fn recounts(page: &mut Page, view: &PeriodView, figures: Figures) {
    if view.recounts.is_empty() {
        return;
    }
    let gain: Money = view.recounts.iter().map(|recount| recount.gain).sum();
    let names = figures.items(view.recounts.iter().map(|recount| recount.item));
    let seconds = SECONDS * view.recounts.len() as i64;
    page.line(format!(
        "Before anything is poured, look again at: {names}. It takes about {seconds} seconds and settles about {}.",
        figures.coin(gain)
    ));
}

/// What the verdicts rest on.
pub(super) fn explain(page: &mut Page, view: &PeriodView) {
    page.line("gap: used − sold; above zero, more went than was sold. u: its standard uncertainty.");
    page.line(format!(
        "All lines are screened together: of those to look into, {:.1} % may be nothing (false_alarms in venue.csv).",
        100.0 * view.review.rate
    ));
    page.line("A gap is a figure, and no accusation: find out before you judge.");
}

/// One item's verdict, causes and budget, below its addition.
pub(super) fn item(page: &mut Page, row: &GapRow, view: &PeriodView, figures: Figures) {
    let Some(item) = figures.item(row.item) else { return };
    let spreads = view.review.spreads.unwrap_or(Spreads::AS_SET);
    let verdict = view.review.verdict(row.item);
    let amount = |u: f64| figures.amount(row.item, Amount(json::whole(u)));
    page.line(format!("Verdict: {}.", verdict.words()));
    if let Some(finding) = view.review.of(row.item) {
        if finding.by_itself {
            page.line("This period alone shows it.");
        }
        if let Some(steady) = finding.steady.filter(|_| finding.over_periods) {
            let periods = finding.track.points.len() - steady.since;
            page.line(format!(
                "The periods together show it: about {} ± {} in each of {}.",
                figures.bare(row.item, Amount(json::whole(steady.rate))),
                amount(steady.u),
                number_of(periods, "period", "periods"),
            ));
        }
    }
    if let Some(explained) = view.explained.get(&row.item) {
        let by = explained.by.as_deref().map_or(String::new(), |by| format!(" by {}", by));
        let note = explained.note.as_deref().map_or(String::new(), |note| format!(" ({})", note));
        page.line(format!("Accepted{by}: {}{note}.", cause_word(explained.cause)));
    }
    let words = InWords { setup: figures.setup, item, gap: row.gap };
    let suspects = view.suspects(row.item);
    if !suspects.is_empty() {
        page.gap();
        let mut table = Table::new([("likely cause", Set::Name), ("how likely", Set::Words), ("why", Set::Name)]);
        for suspect in suspects {
            table.row([words.headline(&suspect.cause), chances(suspect), words.evidence(&suspect.cause)]);
        }
        page.table(&table);
    }
    page.gap();
    let budget = row.budget.lines(&spreads);
    if budget.is_empty() {
        page.line("Nothing about it is inexact: it is counted, not read.");
    } else {
        let mut table = Table::new([("why it is not exact", Set::Name), ("u", Set::Figure)]);
        for line in &budget {
            table.row([doubt_words(line, &item.name), amount(line.u)]);
        }
        table.sum(["together: the root of the sum of squares".to_owned(), amount(row.u)]);
        page.table(&table);
    }
    let evenings: Vec<(&str, &GapRow)> = view
        .evenings
        .iter()
        .filter_map(|evening| {
            let row = evening.rows.iter().find(|of| of.item == row.item)?;
            Some((evening.to.name.as_str(), row))
        })
        .collect();
    if !evenings.is_empty() {
        page.gap();
        let mut table = Table::new([("up to the count", Set::Name), ("gap", Set::Figure), ("± u", Set::Figure)]);
        for (name, row) in evenings {
            table.row([name.to_owned(), figures.bare(row.item, row.gap), figures.u(row.item, row.u)]);
        }
        page.table(&table);
    }
}

/// The evenings of a period, each summed over what was counted on it.
pub(super) fn evenings(page: &mut Page, view: &PeriodView, figures: Figures) {
    if view.evenings.is_empty() {
        page.line("Nothing was counted between the two counts, so there are no evenings to tell apart.");
        return;
    }
    let show = figures.setup.venue.show();
    let unit = show.symbol(crate::domain::measure::Basis::Volume);
    let gap = format!("gap {unit}");
    let mut table = Table::new([
        ("evening", Set::Words),
        ("up to the count", Set::Name),
        ("items", Set::Figure),
        (gap.as_str(), Set::Figure),
        ("± u", Set::Figure),
        ("cost", Set::Figure),
        ("most of it", Set::Name),
    ]);
    for evening in &view.evenings {
        let rows: Vec<&GapRow> = evening.rows.iter().collect();
        let sum = summed(figures.setup, String::new(), &rows);
        let most = rows.iter().max_by_key(|row| row.cost.map_or(0, |cost| cost.0.abs()));
        let bare = |amount| show.bare(crate::domain::measure::Basis::Volume, amount);
        table.row([
            figures.setup.venue.days.day_of(evening.to.opened).format("%a %Y-%m-%d").to_string(),
            evening.to.name.clone(),
            sum.items.to_string(),
            bare(sum.gap),
            bare(Amount(json::whole(sum.u))),
            figures.money(sum.cost),
            most.map_or(String::new(), |row| {
                format!("{} {}", figures.name(row.item), figures.amount(row.item, row.gap))
            }),
        ]);
    }
    page.table(&table);
    page.gap();
    page.line("Of whatever the count before and the count after each looked at; volumes over items by volume.");
}
