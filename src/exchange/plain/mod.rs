//! Plain files: a book as a folder of tables that a person can read, edit and load again.
//!
//! [`FILES`] describes every file and column once; reading, writing and the documentation walk it.

mod ahead;
mod bills;
mod cells;
mod days;
mod explained;
mod facts;
mod fault;
mod files;
mod folder;
mod gauging;
mod hours;
mod lines;
mod party;
mod sales;
mod stock;
mod table;
mod taken;
mod text;
mod till;
mod venue;
mod write;

pub use ahead::{SalesAhead, read_sales};
pub use bills::{BillRow, ClaimRow, CodeMeans, CodeRow, SupplierNameRow};
pub use cells::{Cells, Form, Line, NameBook, PlainRow, key_of};
pub use days::{DayRow, RowEffect};
pub use explained::ExplainedRow;
pub use facts::{BatchRow, CountRow, DeliveryRow, LossRow, OrderRow, TransferRow};
pub use fault::{Fault, Faults, SHOWN};
pub use files::{Column, FILES, FileSpec, Plain, markdown};
pub use folder::Folder;
pub use gauging::{FillingRow, ProfileRow, WeighingRow};
pub(in crate::exchange) use hours::Hours;
pub use sales::{SaleCells, SaleParser, SaleRow};
pub use stock::{ItemRow, OfferRow, PlaceRow, ShelfRow};
pub use table::Table;
pub use taken::{LayoutRow, TakenRow};
pub use text::{TextError, checked, legible, tamed};
pub use till::{DrinkRow, HouseRow, PosRow, SpecRow};
pub use venue::{read_venue, venue_rows};
pub use write::{FolderWriter, TableWriter};
