//! Writes the demo's folder of plain files: an invented bar and eleven weeks of its trade.
//!
//! `cargo run --example make_demo -- demo-data` writes it to `demo-data`, which is also the
//! default. The same seed gives the same bytes on every run and machine.

mod calendar;
mod catalogue;
mod chance;
mod files;
mod measure;
mod menu;
mod plan;
mod stock;
mod trade;
mod troubles;

use std::error::Error;
use std::path::PathBuf;

fn main() -> Result<(), Box<dyn Error>> {
    let folder: PathBuf = std::env::args_os().nth(1).map_or_else(|| "demo-data".into(), PathBuf::from);
    let menu = menu::Menu::build();
    let plan = plan::Plan::of(&menu);
    let records = trade::Bar::open(&menu, &plan).run();
    for (file, rows) in files::write(&folder, &menu, &plan, &records)? {
        println!("{rows:>6}  {file}");
    }
    Ok(())
}
