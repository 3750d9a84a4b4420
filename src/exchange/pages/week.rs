//! The report of a period: what matters in it on one page.

use super::page;
use crate::domain::rows::{GoodsView, InWords, PeriodView};
use crate::domain::venue::Setup;
use maud::html;

/// The period on one page.
pub fn week_page(setup: &Setup, view: &PeriodView, _goods: &GoodsView) -> String {
    let show = setup.venue.show();
    let title = format!("{}: {} to {}", setup.venue.name, view.opening.name, view.closing.name);
    let rows = view.variance.rows.iter().filter(|row| view.is_open(row.item));
    let body = html! {
        h1 { (title) }
        table {
            @for row in rows {
                @if let Some(item) = setup.item(row.item) {
                    tr {
                        td { (item.name) }
                        td.n { (show.amount(item.basis, row.gap)) }
                        td {
                            @if let Some(first) = view.suspects(row.item).first() {
                                (InWords { setup, item, gap: row.gap }.headline(&first.cause))
                            }
                        }
                    }
                }
            }
        }
    };
    page(&title, &setup.venue.language, &body)
}
