//! Writes a book as a folder of plain files: the set-up, and the facts in force.

use super::{DeskError, rows};
use crate::domain::venue::{CountId, Moment, OrderState, Setup, TillId, name_key};
use crate::exchange::plain::{FolderWriter, Form, Plain, PlainRow, SaleRow};
use crate::store::{Connection, Store, counts, explanations, journal, orders, sales, setup, weighings};
use std::collections::HashMap;
use std::path::Path;

/// What was written.
#[derive(Clone, Debug, Default, PartialEq, Eq, serde::Serialize)]
pub struct DumpReport {
    /// Each file with its lines.
    pub files: Vec<(Plain, u64)>,
}

/// Writes every file of a book into a folder: an empty one, or one that holds an earlier dump. What was taken back or
/// entered again is left out, and loading the folder gives a book of the same content. The order of the lines does
/// not depend on the order in which the book learned them.
///
/// # Errors
/// [`DeskError::Exchange`] when the folder holds anything else, or the disk refuses.
pub fn dump(store: &Store, folder: &Path) -> Result<DumpReport, DeskError> {
    store.read(|conn| {
        let setup = setup::load_any(conn)?.0;
        let form = Form::of(&setup.venue);
        let mut writer = FolderWriter::begin(folder)?;
        let mut report = DumpReport::default();
        for file in Plain::ALL.iter().copied() {
            let mut table = writer.table(file)?;
            match file {
                Plain::Sales => {
                    let till = TillNames::new(&setup);
                    sales::each::<DeskError>(conn, |line| {
                        let row = SaleRow {
                            receipt: line.receipt.to_owned(),
                            line: line.line,
                            at: line.sale.at,
                            sold_as: till.name(line.sale.till),
                            quantity: line.sale.quantity,
                            net: line.sale.net,
                            kind: line.sale.kind,
                        };
                        Ok(table.row(&row.cells(&form))?)
                    })?;
                }
                Plain::Counts => {
                    let mut all = counts::list(conn)?;
                    all.sort_by_cached_key(|c| (c.opened, name_key(&c.name)));
                    for count in &all {
                        let mut lines = counts::lines(conn, count.id)?;
                        lines.sort_by_cached_key(|l| {
                            (l.at, name_key(setup.place_name(l.place)), name_key(setup.item_name(l.item)))
                        });
                        for line in &lines {
                            table.row(&rows::count_line(&setup, count, line).cells(&form))?;
                        }
                    }
                }
                _ => {
                    for row in others(conn, &setup, file, &form)? {
                        table.row(&row)?;
                    }
                }
            }
            report.files.push((file, table.finish()?));
        }
        writer.finish()?;
        Ok(report)
    })
}

/// The lines of the files that fit in memory.
fn others(conn: &Connection, setup: &Setup, file: Plain, form: &Form) -> Result<Vec<Vec<String>>, DeskError> {
    let (first, last) = (Moment(i64::MIN), Moment(i64::MAX));
    /// Lines in the order of time, those of one moment by what they say.
    fn sorted<T, R: PlainRow>(
        facts: &[T],
        form: &Form,
        at: impl Fn(&T) -> Moment,
        row: impl Fn(&T) -> R,
    ) -> Vec<Vec<String>> {
        let mut rows: Vec<(Moment, Vec<String>)> = facts.iter().map(|f| (at(f), row(f).cells(form))).collect();
        rows.sort();
        rows.into_iter().map(|(_, cells)| cells).collect()
    }
    Ok(match file {
        Plain::Weighings => sorted(&weighings::list(conn)?, form, |f| f.at, |f| rows::weighing(setup, f)),
        Plain::Batches => sorted(&journal::batches(conn, first, last)?, form, |f| f.at, |f| rows::batch(setup, f)),
        Plain::Losses => sorted(&journal::losses(conn, first, last)?, form, |f| f.at, |f| rows::loss(setup, f)),
        Plain::Transfers => {
            sorted(&journal::transfers(conn, first, last)?, form, |f| f.at, |f| rows::transfer(setup, f))
        }
        Plain::Deliveries => {
            // In the order of the book: which of two at one moment goes first says what the stock of them is worth.
            let all = journal::deliveries(conn, first, last)?;
            all.iter().map(|d| rows::delivery(setup, d).cells(form)).collect()
        }
        Plain::Explained => {
            let all = counts::list(conn)?;
            let names: HashMap<CountId, &str> = all.iter().map(|count| (count.id, count.name.as_str())).collect();
            let name = |id: CountId| names.get(&id).copied().unwrap_or_default();
            sorted(&explanations::list(conn)?, form, |f| f.at, |f| rows::explanation(setup, name(f.closing), f))
        }
        Plain::Orders => {
            let mut all = orders::list(conn, OrderState::ALL)?;
            // Those not sent yet stand last.
            all.sort_by_cached_key(|o| (o.placed.is_none(), o.placed, name_key(&o.name)));
            all.iter().flat_map(|o| rows::order_lines(setup, o)).map(|row| row.cells(form)).collect()
        }
        Plain::Layouts | Plain::SupplierCodes | Plain::SupplierNames | Plain::Bills | Plain::Claims | Plain::Taken => {
            rows::kept_rows(conn, setup, file, form)?
        }
        file => rows::setup_rows(setup, file, form),
    })
}

/// Names of the till by handle, those that nobody has explained too.
struct TillNames(HashMap<TillId, String>);

impl TillNames {
    fn new(setup: &Setup) -> TillNames {
        TillNames(setup.till.iter().map(|t| (t.id, t.name.clone())).collect())
    }

    fn name(&self, id: TillId) -> String {
        self.0.get(&id).cloned().unwrap_or_default()
    }
}
