//! An order as a table for a spreadsheet (RFC 4180).

use super::cell::cell;
use crate::domain::order::OrderDocument;

/// The heads of the table.
const HEADS: [&str; 8] = ["code", "item", "size", "packs", "pack", "containers", "pack_price", "line_total"];

/// The order as a table: one record for each line, ended by CR and LF.
///
/// # Errors
/// What the writer says; writing into memory does not fail.
pub fn order_table(order: &OrderDocument) -> std::io::Result<Vec<u8>> {
    let mut table = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    table.write_record(HEADS).map_err(std::io::Error::from)?;
    for line in &order.lines {
        let record = [
            cell(line.code.as_deref().unwrap_or_default()),
            cell(&line.name),
            cell(line.size.as_deref().unwrap_or_default()),
            line.packs.to_string(),
            line.pack.to_string(),
            line.containers().to_string(),
            order.money(line.price),
            order.money(line.total()),
        ];
        table.write_record(record).map_err(std::io::Error::from)?;
    }
    table.into_inner().map_err(|e| e.into_error())
}
