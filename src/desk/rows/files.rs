//! The same for what is kept of files from elsewhere: layouts, codes, bills, claims, files taken in.

use super::{item, supplier};
use crate::domain::receive::{Bill, KeptClaim, KnownCode, Means};
use crate::domain::till::Layout;
use crate::domain::venue::{Moment, Setup, name_key};
use crate::exchange::plain::{
    BillRow, ClaimRow, CodeMeans, CodeRow, Form, LayoutRow, Plain, PlainRow, SupplierNameRow, TakenRow,
};
use crate::store::{Connection, StoreError, bills, files, layouts};

/// The lines of such a file in a fixed order; none for another file.
pub(in crate::desk) fn kept_rows(
    conn: &Connection,
    setup: &Setup,
    file: Plain,
    form: &Form,
) -> Result<Vec<Vec<String>>, StoreError> {
    /// Lines in the order of time, those of one moment by what they say.
    fn sorted(rows: impl Iterator<Item = (Moment, Vec<String>)>) -> Vec<Vec<String>> {
        let mut rows: Vec<(Moment, Vec<String>)> = rows.collect();
        rows.sort();
        rows.into_iter().map(|(_, cells)| cells).collect()
    }
    Ok(match file {
        Plain::Layouts => layouts::list(conn)?.iter().flat_map(layout).map(|row| row.cells(form)).collect(),
        Plain::SupplierCodes => {
            let mut rows: Vec<CodeRow> = bills::known_codes(conn)?.iter().map(|known| code(setup, known)).collect();
            rows.sort_by_cached_key(|r| (name_key(&r.supplier), r.code.clone(), name_key(&r.unit)));
            rows.iter().map(|row| row.cells(form)).collect()
        }
        Plain::SupplierNames => {
            let names = bills::aliases(conn)?.into_iter();
            let row = |(known_as, id)| SupplierNameRow { known_as, supplier: supplier(setup, id) };
            names.map(|name| row(name).cells(form)).collect()
        }
        Plain::Bills => sorted(bills::list(conn)?.iter().map(|b| (b.at, bill(setup, b).cells(form)))),
        Plain::Claims => sorted(bills::claims(conn)?.iter().map(|c| (c.at, claim(setup, c).cells(form)))),
        Plain::Taken => sorted(files::in_force(conn)?.into_iter().map(|f| (f.at, TakenRow(f).cells(form)))),
        _ => Vec::new(),
    })
}

fn layout(layout: &Layout) -> Vec<LayoutRow> {
    let row = |(n, column): (usize, &crate::domain::till::LayoutColumn)| LayoutRow {
        layout: layout.name.clone(),
        position: n as i64 + 1,
        head: column.head.clone(),
        is: column.field,
        decimal: layout.decimal,
        dates: layout.dates,
        rows: layout.amounts,
        tax: layout.tax,
    };
    layout.columns.iter().enumerate().map(row).collect()
}

fn code(setup: &Setup, known: &KnownCode) -> CodeRow {
    CodeRow {
        supplier: supplier(setup, known.supplier),
        code: known.key.clone(),
        unit: known.unit.clone(),
        means: match known.means {
            Means::Item { item: id, rate } => CodeMeans::Item(item(setup, id), rate),
            Means::Deposit => CodeMeans::Deposit,
            Means::NotStock => CodeMeans::NotStock,
        },
    }
}

pub(in crate::desk) fn bill(setup: &Setup, bill: &Bill) -> BillRow {
    BillRow {
        supplier: supplier(setup, bill.supplier),
        number: bill.number.clone(),
        kind: bill.kind,
        issued: bill.issued,
        goods: bill.goods,
        deposits: bill.deposits,
        charges: bill.charges,
        other: bill.other,
        payable: bill.payable,
        delivery: bill.delivery.clone(),
        at: bill.at,
        by: bill.by.clone(),
    }
}

fn claim(setup: &Setup, claim: &KeptClaim) -> ClaimRow {
    ClaimRow {
        supplier: supplier(setup, claim.supplier),
        document: claim.document.clone(),
        item: claim.item.map(|id| item(setup, id)),
        because: claim.kind,
        containers: claim.containers,
        money: claim.money,
        note: claim.note.clone(),
        at: claim.at,
        by: claim.by.clone(),
        settled: claim.settled.clone(),
    }
}
