//! What about a file of sales a person must say yes to before it is taken in.

use crate::desk::DeskError;
use crate::domain::measure::decimal;
use crate::domain::rows::FileSum;
use crate::domain::till::{Amounts, Layout, LinesForm};
use crate::domain::venue::{FileId, Setup};
use crate::exchange::sniff::What;
use crate::store::{Connection, sales};

/// What sort of lines a file has.
pub(super) fn form_of(what: &What, layout: Option<&Layout>) -> Option<LinesForm> {
    match (what, layout) {
        (What::Table, Some(layout)) if layout.amounts == Amounts::Totals => Some(LinesForm::Totals),
        (What::Table, _) => Some(LinesForm::Lines),
        (What::Dsfinvk, _) => Some(LinesForm::Dsfinvk),
        (What::SaftCash | What::Xaa, _) => Some(LinesForm::SaftCash),
        (What::SaftPt, _) => Some(LinesForm::SaftPt),
        _ => None,
    }
}

/// Figures of days that come down, and sales that another sort of file brought for the same days. `own` is the file itself
/// where its lines are in the book by now.
pub(super) fn doubts(
    conn: &Connection,
    setup: &Setup,
    (form, own): (Option<LinesForm>, Option<FileId>),
    sum: &FileSum,
) -> Result<Vec<String>, DeskError> {
    let mut out = Vec::new();
    if sum.lowered > 0 {
        let one = |lowered: &crate::domain::rows::Lowered| {
            let count = |quantity| decimal::plain(quantity, 3);
            let day = lowered.day.format("%a %-d %b");
            format!("{} on {day} from {} to {}", lowered.sold_as, count(lowered.from), count(lowered.to))
        };
        let named: Vec<String> = sum.lowest.iter().map(one).collect();
        let more = sum.lowered - named.len() as u64;
        let more = if more == 0 { String::new() } else { format!(" and {more} more") };
        out.push(format!(
            "figures of days that the book has come down: {}{more}; an older report, or one of another till, would do that",
            named.join(", ")
        ));
    }
    if let (Some(form), Some((first, last))) = (form, sum.days) {
        let days = setup.venue.days;
        let end = last.succ_opt().unwrap_or(last);
        let others = sales::in_other_forms(conn, form, own, (days.begins(first), days.begins(end)))?;
        let names: Vec<String> = others
            .into_iter()
            .map(|other| other.file.map_or_else(|| "plain files".to_owned(), |file| format!("“{file}”")))
            .collect();
        if !names.is_empty() && sum.added > 0 {
            out.push(format!(
                "the book has sales of these days from {}, in another form: if they are the same sales, they count twice",
                names.join(", ")
            ));
        }
    }
    Ok(out)
}
