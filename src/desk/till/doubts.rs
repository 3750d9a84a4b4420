//! What about a file of sales a person must say yes to before it is taken in.

use crate::desk::DeskError;
use crate::domain::measure::{decimal, number_of};
use crate::domain::rows::FileSum;
use crate::domain::till::{Layout, LinesForm, TakenFile};
use crate::domain::venue::{FileId, Setup};
use crate::exchange::sniff::What;
use crate::store::{Connection, sales};
use crate::words;

/// What a file is, beside the sales of the book.
pub(super) struct Came<'a> {
    /// What sort of lines it has.
    pub(super) form: Option<LinesForm>,
    /// The file itself, where its lines are in the book by now.
    pub(super) own: Option<FileId>,
    /// The file of the same content that is in the book.
    pub(super) had: Option<&'a TakenFile>,
}

/// What sort of lines a file has.
pub(super) fn form_of(what: &What, layout: Option<&Layout>) -> Option<LinesForm> {
    match (what, layout) {
        (What::Table, Some(layout)) => Some(LinesForm::of(layout)),
        (What::Table, None) => None,
        (What::Dsfinvk, _) => Some(LinesForm::Dsfinvk),
        (What::SaftCash | What::Xaa, _) => Some(LinesForm::SaftCash),
        (What::SaftPt, _) => Some(LinesForm::SaftPt),
        _ => None,
    }
}

/// Figures of days that come down, lines of a file that the book has and that are new all the same, and sales that another
/// sort of file brought for the same days.
pub(super) fn doubts(
    conn: &Connection,
    setup: &Setup,
    came: &Came<'_>,
    sum: &FileSum,
) -> Result<Vec<String>, DeskError> {
    let mut out = Vec::new();
    if sum.lowered > 0 {
        let one = |lowered: &crate::domain::rows::Lowered| {
            let currency = setup.venue.currency;
            // Where as many were sold, it is the money that is less.
            let figure = |(quantity, net)| match lowered.from.0 == lowered.to.0 {
                true => format!("{} {currency}", currency.shown(net)),
                false => decimal::shown(quantity, 3),
            };
            let day = words::day(lowered.day, "%a %-d %b");
            say!(
                "{sold_as} on {day} from {from} to {to}",
                sold_as = lowered.sold_as,
                day,
                from = figure(lowered.from),
                to = figure(lowered.to)
            )
        };
        let named: Vec<String> = sum.lowest.iter().map(one).collect();
        let more = sum.lowered - named.len() as u64;
        let more = if more == 0 { String::new() } else { say!(" and {more} more", more) };
        out.push(say!("figures of days that the book has come down: {named}{more}; an older report, or one of another till, would do that", named = named.join(", "), more));
    }
    if let Some(had) = came.had.filter(|_| sum.added > 0) {
        out.push(say!("just this file was taken in {had}, and read so, {added} new beside what it brought then: the same sales would count twice; if it was read wrongly, take that back first", had = setup.venue.days.short(had.at), added = number_of(sum.added, word!("line is"), word!("lines are"))));
    } else if let (Some(form), Some((first, last))) = (came.form, sum.days) {
        let days = setup.venue.days;
        let end = last.succ_opt().unwrap_or(last);
        let others = sales::in_other_forms(conn, form, came.own, (days.begins(first), days.begins(end)))?;
        let names: Vec<String> = others
            .into_iter()
            .map(|other| other.file.map_or_else(|| word!("plain files").to_owned(), words::quoted))
            .collect();
        if !names.is_empty() && sum.added > 0 {
            out.push(say!("the book has sales of these days from {names}, in another form: if they are the same sales, they count twice", names = names.join(", ")));
        }
    }
    Ok(out)
}
